package keeper_test

import (
	"slices"
	"testing"

	"sodalake/keeper"
)

func changes(v keeper.Vessel) []string {
	var out []string
	for _, c := range v.Change {
		out = append(out, c.Key)
	}
	return out
}

// The day list opens with what moved: a cold morning is told where the water
// was cold, and not in a warm room; what was poured in is told with its litres.
func TestChange(t *testing.T) {
	w := newWorld(t, "2026-01-06T12:44:00Z", small)
	w.describe("2026-01-01T08:00:00Z", func(site body) {
		months := normals()
		for i := range months {
			months[i].TMinC, months[i].TMaxC = 3, 9
		}
		site["normals"] = months
	})
	w.begin("2026-01-01T09:00:00Z")
	w.note("2026-01-02T08:00:00Z", "shelf", "inoculated", body{"volume_l": 9, "density_g_per_l": 0.5, "medium": soda})
	got := changes(w.vessel("one"))
	if !slices.Contains(got, "change.cold") {
		t.Errorf("a January morning of 3 °C outdoors: %v", got)
	}
	if got := changes(w.vessel("shelf")); slices.Contains(got, "change.cold") {
		t.Errorf("in a warm room: %v", got)
	}
	w.note("2026-01-06T12:40:00Z", "one", "harvested", body{"volume_l": 300})
	w.note("2026-01-06T12:41:00Z", "one", "topped_up", body{"with": "medium", "volume_l": 90, "medium": soda})
	v := w.vessel("one")
	got = changes(v)
	if len(got) < 3 || got[0] != "change.thinner" || got[1] != "change.harvested" || got[2] != "change.medium" || v.Change[2].Args["volume_l"] != 90.0 {
		t.Errorf("after a harvest and medium: %v", v.Change)
	}
	if slices.Contains(got, "change.level_up") || slices.Contains(got, "change.level_down") {
		t.Errorf("the level is told although water was moved: %v", got)
	}
	if got := changes(w.vessel("two")); len(got) != 0 {
		t.Errorf("nothing was ever in it: %v", got)
	}
}
