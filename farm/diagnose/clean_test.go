package diagnose

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestDisinfect(t *testing.T) {
	// A tablespoon (15 mL) of household bleach of 5.25 % to a US gallon (3.785 L)
	// is sold to kitchens as 200 parts in a million: leaflets on food hygiene in
	// the United States, from memory; they round, so within a tenth.
	d, err := Disinfect(0, 5.25)
	if err != nil {
		t.Fatal(err)
	}
	if perGallon := d.BleachML / d.SolutionL * 3.785; math.Abs(perGallon-15)/15 > 0.1 {
		t.Errorf("%.1f mL to a gallon, want about a tablespoon", perGallon)
	}
	// 10 L at 200 mg/L is 2 g of chlorine, in 40 mL of 5 %; 2.5 g of ascorbic
	// acid for each gram of it: land2005.
	if d, err = Disinfect(20, 5); err != nil || d.SolutionL != 10 || math.Abs(d.BleachML-40) > 1e-9 || math.Abs(d.AscorbicG-5) > 1e-9 {
		t.Errorf("%+v, %v", d, err)
	}
	for _, bad := range [][2]float64{{10, 0}, {10, 0.5}, {10, 40}, {-1, 5}, {math.NaN(), 5}, {10, math.NaN()}, {math.Inf(1), 5}} {
		if d, err := Disinfect(bad[0], bad[1]); err == nil {
			t.Errorf("%v is taken: %+v", bad, d)
		}
	}
	rapid.Check(t, func(t *rapid.T) { // the chlorine that goes in is the chlorine that is there
		d, err := Disinfect(rapid.Float64Range(0, 5000).Draw(t, "m2"), rapid.Float64Range(1, 15).Draw(t, "pct"))
		if err != nil {
			t.Fatal(err)
		}
		if in, there := d.BleachML*d.BleachPct*10, d.SolutionL*d.ChlorineMg; math.Abs(in-there) > 1e-6*there || d.SolutionL < d.WallM2*litresPerM2-1e-6 {
			t.Fatalf("%g mg in, %g there, %g L on %g m²", in, there, d.SolutionL, d.WallM2)
		}
	})
}
