package medium_test

import (
	"math"
	"testing"

	"sodalake/science/medium"
)

// Whatever is written for a salt is understood or refused, and what is
// understood leaves amounts that can be weighed.
func FuzzLookup(f *testing.F) {
	for _, s := range []string{"NaHCO3", "baking soda", "CaCl2·2H2O", "20-20-20", "Na2EDTA.2H2O", "5Ca(NO3)2.NH4NO3.10H2O", "N 5%", "K2SO4.2MgSO4", "formula NaCl", "·", "0.5H2O"} {
		f.Add(s, "eu")
		f.Add(s, "us")
	}
	f.Fuzz(func(t *testing.T, word, law string) {
		in, err := medium.Lookup(word, medium.Law(law))
		if (err == nil) == (in == nil) {
			t.Fatalf("%q: %v, %v: exactly one must be set", word, in, err)
		}
		if err != nil || in.Step == medium.StepDechlorinate {
			return
		}
		y, err := in.Yield(in.Purity)
		if err != nil {
			t.Fatalf("%q was taken and leaves nothing: %v", word, err)
		}
		for k, x := range y.Totals {
			if !(x >= 0) || math.IsInf(x, 0) {
				t.Fatalf("%q leaves %g of total %d", word, x, k)
			}
		}
		if !(y.CrystalG >= 0) || y.CrystalG > 1.0001 {
			t.Fatalf("%q holds %g of its weight as water", word, y.CrystalG)
		}
	})
}
