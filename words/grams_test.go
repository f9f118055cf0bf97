package words

import (
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/farm/advice"
	"sodalake/science/units"
)

// Property 6 of the day list: rounding to cups never crosses a limit, and farms
// that think in US measures get the same grams as metric ones. Both are this
// program's own rules: there is nothing outside to hold them against.
func TestCupsNeverCrossALimit(t *testing.T) {
	us, metric := New("en", US, time.UTC), New("en", Metric, time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		salt := rapid.SampledFrom([]string{"NaHCO3", "KNO3", "NaNO3", "CO(NH2)2", "K2HPO4", "MgSO4", "NaCl"}).Draw(t, "salt")
		grams := rapid.Float64Range(0.5, 20000).Draw(t, "grams")
		it := advice.Item{Act: "feed", Class: advice.Do, Amount: &advice.Amount{Value: grams, Unit: "g", Low: grams * 0.8, High: grams}, Reason: advice.Reason{Key: "reason.feed.low", Args: map[string]any{"salt": salt}}}
		if m, err := units.KitchenMass(grams, bulk[salt], units.US, units.Down); err == nil {
			if had := m.VolumeL * bulk[salt]; had > grams*(1+1e-9) {
				t.Fatalf("%g g of %s are said as %s, which hold %g g", grams, salt, m.Text, had)
			}
		}
		a, b := us.Item(it), metric.Item(it)
		if !reflect.DeepEqual(a.Amount, b.Amount) || a.Amount.Value != it.Amount.Value {
			t.Fatalf("%+v and %+v", *a.Amount, *b.Amount)
		}
	})
}
