package web_test

import (
	"strings"
	"testing"

	"sodalake/web/canned"
)

// Above the chart stands in plain words what it shows; below it what limits, what
// is worth reading and where the model is in doubt.
func TestVesselSays(t *testing.T) {
	h := handler(canned.New())
	for _, c := range []struct {
		page string
		says []string
		not  []string
	}{
		{"/vessels/boat-pond", []string{"It holds 0.47 g/L (0.42–0.51).", "It is ready, at 0.60 g/L, about Mon 18: from Sat 16 on", "What holds it back most is temperature.", "Which reading is worth taking", "41 %"}, []string{"Where the model is in doubt"}},
		{"/vessels/lantern-pond", []string{"where it counts as ready", "how much there is to take"}, nil},
		{"/vessels/cistern-tank", []string{"Where the model is in doubt", "Readings of pH lie 2.4 times as far", "The size of the vessel lies at the end"}, []string{"Which reading is worth taking"}},
		{"/vessels/sill-bottles", []string{"It holds"}, []string{"It is ready", "It is not ready"}},
	} {
		page := text(parse(t, get(t, h, c.page)))
		for _, s := range c.says {
			if !strings.Contains(page, s) {
				t.Errorf("%s does not say %q", c.page, s)
			}
		}
		for _, s := range c.not {
			if strings.Contains(page, s) {
				t.Errorf("%s says %q", c.page, s)
			}
		}
	}
}
