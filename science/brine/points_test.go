package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
)

// made returns the totals of salts in grams per litre of finished solution.
func made(t testing.TB, gPerL map[string]float64) brine.Totals {
	t.Helper()
	totals, _, err := brine.FromSalts(gPerL)
	if err != nil {
		t.Fatal(err)
	}
	return totals
}

func solved(t testing.TB, s *brine.Solver, totals *brine.Totals, tempC float64) *brine.Water {
	t.Helper()
	var w brine.Water
	if err := s.Solve(totals, tempC, &w); err != nil {
		t.Fatal(err)
	}
	return &w
}

// The carbonate buffer sits where a pond lives: it is the one measured
// yardstick, at an ionic strength of 0.1 mol/kg.
func TestCarbonateBuffer(t *testing.T) {
	const source = "NIST SRM 2191a/2192a, 0.025 mol/kg NaHCO3 + 0.025 mol/kg Na2CO3 (third decimals other than at 25 °C from memory of the certificate)"
	buffer, err := brine.FromSaltsPerKg(map[string]float64{"NaHCO3": 25, "Na2CO3": 25})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ tempC, want float64 }{
		{10, 10.179}, {15, 10.118}, {20, 10.062}, {25, 10.012}, {30, 9.966}, {35, 9.926}, {40, 9.889},
	} {
		for _, m := range []struct {
			model brine.Model
			tol   float64
		}{
			{brine.Pitzer, 0.0035}, // certificate ±0.005
			{brine.Pairs, 0.006},
		} {
			w := solved(t, brine.New(m.model), &buffer, row.tempC)
			if math.Abs(w.PH-row.want) > m.tol {
				t.Errorf("%v at %g °C: pH %.4f, want %.3f ± %g (%s)", m.model, row.tempC, w.PH, row.want, m.tol, source)
			}
		}
	}
}

const generalCode = "general geochemistry code (PHREEQC 3) with the interaction set of Harvie, Moller & Weare 1984, run in 2025"

func TestClosedBicarbonateWaters(t *testing.T) {
	for _, row := range []struct {
		salts map[string]float64
		want  float64
	}{
		{map[string]float64{"NaHCO3": 8}, 8.093},
		{map[string]float64{"NaHCO3": 16.8}, 8.014},
		{map[string]float64{"NaHCO3": 8, "NaOH": 1}, 9.508},
		{map[string]float64{"NaHCO3": 8, "NaOH": 3}, 10.472},
		{map[string]float64{"NaHCO3": 8, "Na2CO3": 5}, 9.591},
	} {
		totals := made(t, row.salts)
		w := solved(t, brine.New(brine.Pitzer), &totals, 25)
		if math.Abs(w.PH-row.want) > 0.002 { // half a unit of its last digit, and the density of the solution
			t.Errorf("%v: pH %.4f, want %.3f (%s)", row.salts, w.PH, row.want, generalCode)
		}
	}
}
