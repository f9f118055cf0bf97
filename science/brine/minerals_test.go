package brine_test

import (
	"errors"
	"math"
	"testing"

	"sodalake/science/brine"

	"pgregory.net/rapid"
)

// calciteUnder returns the calcium [mol/kg] of water on calcite under a
// pressure of carbon dioxide [atm].
func calciteUnder(t *testing.T, s *brine.Solver, pco2, tempC float64) (ca, ph float64) {
	lo, hi := 1e-5, 0.1
	var w brine.Water
	for range 60 {
		x := math.Sqrt(lo * hi)
		totals := brine.Totals{brine.Ca: x}
		if err := s.OpenTo(&totals, tempC, pco2, &w); err != nil {
			t.Fatal(err)
		}
		if s.SaturationIndex(&w, brine.Calcite) > 0 {
			hi = x
		} else {
			lo = x
		}
	}
	return lo, w.PH
}

func TestCalciteSolubility(t *testing.T) {
	pitzer, pairs := brine.New(brine.Pitzer), brine.New(brine.Pairs)
	for _, row := range []struct {
		s        *brine.Solver
		pco2     float64
		ca, relT float64
		ph, phT  float64
		source   string
	}{
		{pairs, 1, 8.95e-3, 0.06, 6.03, 0.05, "Plummer & Busenberg 1982, fig. 4, about 9 mmol/kg under one atmosphere at 25 °C (from memory)"},
		{pairs, math.Pow(10, -3.5), 0.50e-3, 0.05, 8.30, 0.03, "textbook: calcite in air, Ca about 0.5 mmol/L, pH 8.3 (Stumm & Morgan 1996, from memory)"},
		{pitzer, 1, 8.95e-3, 0.08, 6.03, 0.05, "as above; the interaction set has no pairs of calcium and its own constant"},
		{pitzer, math.Pow(10, -3.5), 0.50e-3, 0.08, 8.30, 0.04, "as above"},
	} {
		ca, ph := calciteUnder(t, row.s, row.pco2, 25)
		near(t, "calcium", ca, row.ca, row.ca*row.relT, row.source)
		near(t, "pH", ph, row.ph, row.phT, row.source)
	}
}

func TestBruciteAndStruviteSolubility(t *testing.T) {
	s := brine.New(brine.Pitzer)
	var w brine.Water
	milk := brine.Totals{brine.Mg: 0.01}
	if _, err := s.Precipitate(&milk, 25, []brine.Mineral{brine.Brucite}, &w); err != nil {
		t.Fatal(err)
	}
	near(t, "pH of milk of magnesia", w.PH, 10.45, 0.1, "textbook: 10.4 to 10.5 (from memory)")
	stones := brine.Totals{brine.Mg: 0.01, brine.Ammonia: 0.01, brine.PO4: 0.01}
	fell, err := s.Precipitate(&stones, 25, []brine.Mineral{brine.Struvite}, &w)
	if err != nil {
		t.Fatal(err)
	}
	left := (0.01 - fell[brine.Struvite]) * 245.4 * 1000
	near(t, "struvite mg/kg", left, 169, 90, "Aage et al. 1997, 169 mg/L at 25 °C (from memory); its band is a unit of log K")
}

func TestApatiteIndex(t *testing.T) {
	const source = "log K of Ca5(PO4)3OH in its own ions is −54.45 at 25 °C with pKw 13.995 (−40.459 as written with H+)"
	s := brine.New(brine.Pitzer)
	totals := hardWater(t)
	totals[brine.PO4] = 1e-4
	w := solved(t, s, &totals, 25)
	lg := func(sp brine.Species) float64 { return math.Log10(w.Species[sp]) + w.LnGamma[sp]/math.Ln10 }
	want := 5*lg(brine.SpCa) + 3*lg(brine.SpPO4) + lg(brine.SpOH) + 54.454
	near(t, "index", s.SaturationIndex(w, brine.Hydroxyapatite), want, 0.002, source)
	if b := brine.Hydroxyapatite.Band(); b < 1 {
		t.Errorf("the band of a phosphate is %g, want one to two units", b)
	}
	if x := s.SaturationIndex(solved(t, s, &brine.Totals{brine.Na: 0.1, brine.DIC: 0.1}, 25), brine.Calcite); !math.IsInf(x, -1) {
		t.Errorf("calcite without calcium has the index %g, want −Inf", x)
	}
}

// Whatever is listed: nothing stays over its solubility, what fell is in
// balance, and what left the water is in the solids.
func TestPrecipitateSettles(t *testing.T) {
	all := []brine.Mineral{brine.Calcite, brine.Aragonite, brine.Brucite, brine.Hydroxyapatite, brine.Struvite}
	rapid.Check(t, func(t *rapid.T) {
		s := brine.New(modelOf(t))
		totals := pondWater(t)
		totals[brine.Ca] += 1e-5
		totals[brine.Mg] += 1e-5
		totals[brine.PO4] += 1e-6
		totals[brine.Na] += 0.01
		var listed []brine.Mineral
		for _, m := range all {
			if rapid.Bool().Draw(t, m.String()) {
				listed = append(listed, m)
			}
		}
		tempC := rapid.Float64Range(2, 45).Draw(t, "temp")
		start := totals
		var w brine.Water
		fell, err := s.Precipitate(&totals, tempC, listed, &w)
		if err != nil {
			t.Fatal(err)
		}
		want := start
		for m, x := range fell {
			for total, n := range inMineral[m] {
				want[total] -= n * x
			}
		}
		for i := range want {
			if math.Abs(want[i]-totals[i]) > 1e-15+1e-12*start[i] {
				t.Fatalf("%v: %g left, want %g", brine.Total(i), totals[i], want[i])
			}
		}
		for _, m := range listed {
			si := s.SaturationIndex(&w, m)
			if si > 2e-6 {
				t.Fatalf("%v stays over its solubility by %g", m, si)
			}
			if fell[m] > 0 && si < -2e-6 {
				t.Fatalf("%v fell though its index is %g", m, si)
			}
		}
		balanced(t, &totals, &w)
	})
}

var inMineral = [brine.NMinerals]map[brine.Total]float64{
	brine.Calcite:        {brine.Ca: 1, brine.DIC: 1},
	brine.Aragonite:      {brine.Ca: 1, brine.DIC: 1},
	brine.Brucite:        {brine.Mg: 1},
	brine.Hydroxyapatite: {brine.Ca: 5, brine.PO4: 3},
	brine.Struvite:       {brine.Mg: 1, brine.Ammonia: 1, brine.PO4: 1},
}

func TestPrecipitateRefuses(t *testing.T) {
	s := brine.New(brine.Pitzer)
	totals := hardWater(t)
	var w brine.Water
	var bad *brine.InputError
	if _, err := s.Precipitate(&totals, 25, []brine.Mineral{99}, &w); !errors.As(err, &bad) {
		t.Errorf("mineral 99: %v, want an *InputError", err)
	}
	if m, ok := brine.MineralByName("struvite"); !ok || m != brine.Struvite {
		t.Errorf("struvite by name: %v, %v", m, ok)
	}
}
