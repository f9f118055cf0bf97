package lot

import (
	"math"
	"testing"

	"sodalake/science/brine"
)

// The pH of a medium falls with warmth by about what at25 takes: by the water
// chemistry of science/brine, for a bicarbonate medium with sea salt and
// saltpetre whose soda is a third to two thirds carbonate.
func TestAt25(t *testing.T) {
	for _, carbonate := range []float64{0.3, 0.5, 0.65} {
		const soda = 0.15 // mol/kg of inorganic carbon
		var m brine.Totals
		m[brine.DIC] = soda
		m[brine.Na] = soda*(1+carbonate) + 0.07
		m[brine.Cl], m[brine.K], m[brine.NO3] = 0.07, 0.02, 0.02
		ph := func(tempC float64) float64 {
			var w brine.Water
			if err := brine.New(brine.Pitzer).Solve(&m, tempC, &w); err != nil {
				t.Fatal(err)
			}
			return w.PH
		}
		for _, tempC := range []float64{15, 20, 30, 35} {
			if got, want := at25(ph(tempC), tempC), ph(25); math.Abs(got-want) > 0.04 {
				t.Errorf("carbonate %g of the soda, read at %g °C: pH %.3f at 25 °C, the water has %.3f (science/brine)", carbonate, tempC, got, want)
			}
		}
	}
}
