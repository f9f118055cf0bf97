package brine_test

import (
	"errors"
	"math"
	"testing"

	"sodalake/science/brine"

	"pgregory.net/rapid"
)

// holds lists what one molecule of each species holds of the totals.
var holds = map[brine.Species]map[brine.Total]float64{
	brine.SpNa: {brine.Na: 1}, brine.SpK: {brine.K: 1}, brine.SpNH4: {brine.Ammonia: 1}, brine.SpNH3: {brine.Ammonia: 1},
	brine.SpCa: {brine.Ca: 1}, brine.SpMg: {brine.Mg: 1}, brine.SpMgOH: {brine.Mg: 1}, brine.SpCaOH: {brine.Ca: 1},
	brine.SpCaHCO3: {brine.Ca: 1, brine.DIC: 1}, brine.SpMgHCO3: {brine.Mg: 1, brine.DIC: 1},
	brine.SpCaH2PO4: {brine.Ca: 1, brine.PO4: 1}, brine.SpMgH2PO4: {brine.Mg: 1, brine.PO4: 1},
	brine.SpCl: {brine.Cl: 1}, brine.SpSO4: {brine.SO4: 1}, brine.SpHSO4: {brine.SO4: 1}, brine.SpNO3: {brine.NO3: 1}, brine.SpNO2: {brine.NO2: 1},
	brine.SpHCO3: {brine.DIC: 1}, brine.SpCO3: {brine.DIC: 1}, brine.SpCO2: {brine.DIC: 1},
	brine.SpH2PO4: {brine.PO4: 1}, brine.SpHPO4: {brine.PO4: 1}, brine.SpPO4: {brine.PO4: 1}, brine.SpH3PO4: {brine.PO4: 1},
	brine.SpBOH4: {brine.Borate: 1}, brine.SpBOH3: {brine.Borate: 1}, brine.SpCaPO4: {brine.Ca: 1, brine.PO4: 1}, brine.SpMgPO4: {brine.Mg: 1, brine.PO4: 1},
	brine.SpNaSO4: {brine.Na: 1, brine.SO4: 1}, brine.SpKSO4: {brine.K: 1, brine.SO4: 1},
	brine.SpH2EDTA: {brine.EDTA: 1}, brine.SpHEDTA: {brine.EDTA: 1}, brine.SpEDTA: {brine.EDTA: 1},
	brine.SpNaEDTA: {brine.Na: 1, brine.EDTA: 1}, brine.SpKEDTA: {brine.K: 1, brine.EDTA: 1},
	brine.SpCaEDTA: {brine.Ca: 1, brine.EDTA: 1}, brine.SpMgEDTA: {brine.Mg: 1, brine.EDTA: 1},
	brine.SpFeEDTA: {brine.EDTA: 1, brine.Iron: 1}, brine.SpFeOHEDTA: {brine.EDTA: 1, brine.Iron: 1},
	brine.SpUrea: {brine.Urea: 1}, brine.SpMgCO3: {brine.Mg: 1, brine.DIC: 1}, brine.SpCaCO3: {brine.Ca: 1, brine.DIC: 1},
	brine.SpCaSO4: {brine.Ca: 1, brine.SO4: 1}, brine.SpMgSO4: {brine.Mg: 1, brine.SO4: 1},
	brine.SpCaHPO4: {brine.Ca: 1, brine.PO4: 1}, brine.SpMgHPO4: {brine.Mg: 1, brine.PO4: 1},
}

// balanced checks charge and every total of a solved water.
func balanced(t rapid.TB, totals *brine.Totals, w *brine.Water) {
	t.Helper()
	var sum brine.Totals
	var charge, size float64
	for i, m := range w.Species {
		s := brine.Species(i)
		if !(m >= 0) || math.IsInf(m, 0) {
			t.Fatalf("%v is %g mol/kg", s, m)
		}
		charge += m * s.Charge()
		size += m * math.Abs(s.Charge())
		for total, n := range holds[s] {
			sum[total] += n * m
		}
	}
	if !(math.Abs(charge) <= 1e-12*size) {
		t.Fatalf("charges: %g of %g left over", charge, size)
	}
	for i, want := range totals {
		if brine.Total(i) == brine.Iron { // what EDTA does not hold has fallen out
			want = math.Min(want, totals[brine.EDTA])
		}
		if !(math.Abs(sum[i]-want) <= 1e-12*want+1e-30) { // 1e-30 is less than an atom in a pond
			t.Fatalf("%v: species hold %.17g, the water has %.17g", brine.Total(i), sum[i], want)
		}
	}
}

// anyWater draws a water as it may stand in a pond, a bucket or a mistake. It
// is made of salts, so that its charges can be balanced.
func anyWater(t *rapid.T) brine.Totals {
	var w brine.Totals
	some := func(name string, most float64) float64 {
		if rapid.Bool().Draw(t, "has "+name) {
			return 0
		}
		return most * math.Pow(10, rapid.Float64Range(-4, 0).Draw(t, name))
	}
	w[brine.Na] = some("Na", 0.8)
	w[brine.K] = some("K", 0.3)
	w[brine.Ca] = some("Ca", 0.01)
	w[brine.Mg] = some("Mg", 0.03)
	w[brine.Cl] = some("Cl", 0.5)
	w[brine.SO4] = some("SO4", 0.1)
	w[brine.NO3] = some("NO3", 0.1)
	w[brine.NO2] = some("NO2", 0.01)
	w[brine.Ammonia] = some("ammonia", 0.02)
	w[brine.Urea] = some("urea", 0.01)
	w[brine.PO4] = some("PO4", 0.02)
	w[brine.Borate] = some("borate", 0.01)
	w[brine.EDTA] = some("EDTA", 0.002)
	w[brine.DIC] = some("DIC", 0.5)
	w[brine.Iron] = some("iron", 0.001)
	return w
}

func modelOf(t *rapid.T) brine.Model {
	if rapid.Bool().Draw(t, "pairs") {
		return brine.Pairs
	}
	return brine.Pitzer
}

func TestChargeAndMassBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		totals, tempC := anyWater(t), rapid.Float64Range(0, 50).Draw(t, "temp")
		s := brine.New(modelOf(t))
		var w brine.Water
		if err := s.Solve(&totals, tempC, &w); err != nil {
			t.Fatalf("%v: %v", totals, err)
		}
		balanced(t, &totals, &w)
		if !(w.PH > -1 && w.PH < 15) || !(w.WaterActivity > 0.8 && w.WaterActivity <= 1) || !(w.PCO2Atm >= 0) {
			t.Fatalf("pH %g, water activity %g, pCO2 %g", w.PH, w.WaterActivity, w.PCO2Atm)
		}
	})
}

// pondWater draws a soda water.
func pondWater(t *rapid.T) brine.Totals {
	w := brine.Totals{
		brine.K: rapid.Float64Range(0, 0.05).Draw(t, "K"), brine.Ca: rapid.Float64Range(0, 0.001).Draw(t, "Ca"),
		brine.Mg: rapid.Float64Range(0, 0.002).Draw(t, "Mg"), brine.Cl: rapid.Float64Range(0, 0.3).Draw(t, "Cl"),
		brine.SO4: rapid.Float64Range(0, 0.02).Draw(t, "SO4"), brine.NO3: rapid.Float64Range(0, 0.03).Draw(t, "NO3"),
		brine.Ammonia: rapid.Float64Range(0, 0.003).Draw(t, "ammonia"), brine.PO4: rapid.Float64Range(0, 0.004).Draw(t, "PO4"),
	}
	alk := rapid.Float64Range(0.02, 0.4).Draw(t, "alkalinity")
	w[brine.Na] = math.Max(0, alk-w.AlkalinityEqKg())
	w[brine.DIC] = w.AlkalinityEqKg() * rapid.Float64Range(0.3, 1.02).Draw(t, "carbon per alkalinity")
	return w
}

func TestLessCarbonHigherPH(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		totals, tempC := pondWater(t), rapid.Float64Range(0, 50).Draw(t, "temp")
		s := brine.New(modelOf(t))
		var w brine.Water
		alk, last := totals.AlkalinityEqKg(), math.Inf(-1)
		for range 8 {
			if err := s.Solve(&totals, tempC, &w); err != nil {
				t.Fatal(err)
			}
			if w.PH <= last {
				t.Fatalf("pH went from %g to %g with less carbon", last, w.PH)
			}
			if math.Abs(w.AlkalinityEqKg-alk) > 1e-15 {
				t.Fatalf("alkalinity moved with carbon: %g to %g", alk, w.AlkalinityEqKg)
			}
			last = w.PH
			totals[brine.DIC] *= 0.9
		}
	})
}

func TestMoreBaseHigherPH(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		totals, tempC := pondWater(t), rapid.Float64Range(0, 50).Draw(t, "temp")
		s := brine.New(modelOf(t))
		var w brine.Water
		last := math.Inf(-1)
		for range 6 {
			if err := s.Solve(&totals, tempC, &w); err != nil {
				t.Fatal(err)
			}
			if w.PH <= last {
				t.Fatalf("pH went from %g to %g with more base", last, w.PH)
			}
			last = w.PH
			totals[brine.Na] += 0.005
		}
	})
}

// Of carbon, alkalinity, pH and carbon dioxide any two give the others back.
func TestAnyTwoGiveTheRest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		totals, tempC := pondWater(t), rapid.Float64Range(0, 50).Draw(t, "temp")
		s := brine.New(modelOf(t))
		var w, back brine.Water
		if err := s.Solve(&totals, tempC, &w); err != nil {
			t.Fatal(err)
		}
		byAir := totals
		byAir[brine.DIC] = 0.01
		if err := s.OpenTo(&byAir, tempC, w.PCO2Atm, &back); err != nil {
			t.Fatal(err)
		}
		if math.Abs(byAir[brine.DIC]-totals[brine.DIC]) > 1e-6*totals[brine.DIC] || math.Abs(back.PH-w.PH) > 1e-6 {
			t.Fatalf("carbon by pressure: %g, want %g; pH %g, want %g", byAir[brine.DIC], totals[brine.DIC], back.PH, w.PH)
		}
		byPH := totals
		byPH[brine.DIC] *= 0.5
		if err := s.HoldPH(&byPH, tempC, w.PH, brine.ByCO2, &back); err != nil {
			t.Fatal(err)
		}
		if math.Abs(byPH[brine.DIC]-totals[brine.DIC]) > 1e-5*totals[brine.DIC] {
			t.Fatalf("carbon by pH: %g, want %g", byPH[brine.DIC], totals[brine.DIC])
		}
		byBase := totals
		byBase[brine.Cl] += 0.004
		if err := s.HoldPH(&byBase, tempC, w.PH, brine.ByStrong, &back); err != nil {
			t.Fatal(err)
		}
		if got, want := byBase.AlkalinityEqKg(), totals.AlkalinityEqKg(); math.Abs(got-want) > 0.02*want+1e-4 {
			t.Fatalf("alkalinity by pH: %g, want about %g", got, want)
		}
		balanced(t, &byBase, &back)
	})
}

func TestMixingCommutes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := pondWater(t), pondWater(t)
		kgA, kgB := rapid.Float64Range(0, 100).Draw(t, "kg a"), rapid.Float64Range(0.1, 100).Draw(t, "kg b")
		ab, ba := brine.Mix(&a, kgA, &b, kgB), brine.Mix(&b, kgB, &a, kgA)
		for i := range ab {
			if math.Abs(ab[i]-ba[i]) > 1e-15 {
				t.Fatalf("%v: %g one way, %g the other", brine.Total(i), ab[i], ba[i])
			}
			if sum := a[i]*kgA + b[i]*kgB; math.Abs(ab[i]*(kgA+kgB)-sum) > 1e-12*sum+1e-18 {
				t.Fatalf("%v: %g of %g mol after mixing", brine.Total(i), ab[i]*(kgA+kgB), sum)
			}
		}
		want := (a.AlkalinityEqKg()*kgA + b.AlkalinityEqKg()*kgB) / (kgA + kgB)
		if math.Abs(ab.AlkalinityEqKg()-want) > 1e-12 {
			t.Fatalf("alkalinity does not mix: %g, want %g", ab.AlkalinityEqKg(), want)
		}
	})
}

// An answer depends on the question, not on what was asked before.
func TestSolverForgets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		model := modelOf(t)
		a, b := anyWater(t), pondWater(t)
		used, fresh := brine.New(model), brine.New(model)
		var w1, w2, scratch brine.Water
		_ = used.Solve(&a, 13, &scratch)
		_ = used.SolveWarm(&a, 13.2, &scratch)
		if err := used.Solve(&b, 21, &w1); err != nil {
			t.Fatal(err)
		}
		if err := fresh.Solve(&b, 21, &w2); err != nil {
			t.Fatal(err)
		}
		if math.Float64bits(w1.PH) != math.Float64bits(w2.PH) || w1.Species != w2.Species {
			t.Fatalf("pH %.17g after another water, %.17g alone", w1.PH, w2.PH)
		}
	})
}

func TestExtremes(t *testing.T) {
	s := brine.New(brine.Pitzer)
	for _, row := range []struct {
		name   string
		totals brine.Totals
		want   float64
		tol    float64
		source string
	}{
		{"pure water", brine.Totals{}, 6.998, 0.005, "pKw 13.995 at 25 °C, Marshall & Franck 1981"},
		{"urea only", brine.Totals{brine.Urea: 0.1}, 6.998, 0.005, "urea has no charge"},
		{"salt only", brine.Totals{brine.Na: 0.1, brine.Cl: 0.1}, 7.0, 0.2, "neutral salt"},
		{"hydrochloric acid", brine.Totals{brine.Cl: 0.1}, 1.10, 0.02, "0.1 mol/kg HCl, NIST paH 1.094 (from memory)"},
		{"caustic soda", brine.Totals{brine.Na: 0.1}, 12.88, 0.05, "0.1 mol/kg NaOH, γ 0.77"},
		{"carbonic acid", brine.Totals{brine.DIC: 0.034}, 3.91, 0.03, "water under one atmosphere of CO2, textbook value (from memory)"},
		{"boric acid", brine.Totals{brine.Borate: 0.1}, 5.12, 0.05, "√(K c) with pK 9.24"},
		{"ammonia", brine.Totals{brine.Ammonia: 0.1}, 11.12, 0.03, "textbook value for 0.1 mol/L NH3 (from memory)"},
	} {
		var w brine.Water
		if err := s.Solve(&row.totals, 25, &w); err != nil {
			t.Errorf("%s: %v", row.name, err)
			continue
		}
		near(t, row.name, w.PH, row.want, row.tol, row.source)
		balanced(t, &row.totals, &w)
	}
}

func TestRefusesWhatIsNoWater(t *testing.T) {
	s := brine.New(brine.Pitzer)
	for _, row := range []struct {
		totals brine.Totals
		tempC  float64
		field  string
	}{
		{brine.Totals{brine.Na: -0.1}, 25, "Na"},
		{brine.Totals{brine.DIC: math.NaN()}, 25, "DIC"},
		{brine.Totals{brine.Cl: math.Inf(1)}, 25, "Cl"},
		{brine.Totals{brine.PO4: 50}, 25, "PO4"},
		{brine.Totals{}, 120, "temp_c"},
		{brine.Totals{}, math.NaN(), "temp_c"},
	} {
		for name, solve := range map[string]func(*brine.Totals, float64, *brine.Water) error{"Solve": s.Solve, "SolveWarm": s.SolveWarm} {
			var w brine.Water
			var bad *brine.InputError
			if err := solve(&row.totals, row.tempC, &w); !errors.As(err, &bad) || bad.Field != row.field {
				t.Errorf("%s of %v at %g °C: %v, want an *InputError about %s", name, row.totals, row.tempC, err, row.field)
			}
		}
	}
}

func FuzzSolve(f *testing.F) {
	f.Add(0.2, 0.01, 0.001, 0.002, 0.1, 0.01, 0.001, 0.005, 0.0001, 0.2, 25.0)
	f.Add(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
	f.Add(1e-9, 0.0, 1.0, 1.0, 0.0, 0.0, 0.0, 1.0, 1.0, 1.0, 50.0)
	s, p := brine.New(brine.Pitzer), brine.New(brine.Pairs)
	f.Fuzz(func(t *testing.T, na, k, ca, mg, cl, so4, nh, po4, edta, dic, tempC float64) {
		totals := brine.Totals{brine.Na: na, brine.K: k, brine.Ca: ca, brine.Mg: mg, brine.Cl: cl, brine.SO4: so4, brine.Ammonia: nh, brine.PO4: po4, brine.EDTA: edta, brine.DIC: dic}
		for _, solver := range []*brine.Solver{s, p} {
			var w brine.Water
			err := solver.Solve(&totals, tempC, &w)
			var bad *brine.InputError
			var none *brine.NoSolutionError
			switch {
			case errors.As(err, &bad) || errors.As(err, &none):
				continue
			case err != nil:
				t.Fatalf("%v: an error of no known kind: %v", totals, err)
			}
			if math.IsNaN(w.PH) || w.PH < -6 || w.PH > 22 {
				t.Fatalf("%v at %g °C: pH %g", totals, tempC, w.PH)
			}
			var charge, size float64
			for i, m := range w.Species {
				z := brine.Species(i).Charge()
				charge += z * m
				size += math.Abs(z) * m
			}
			if !(math.Abs(charge) <= 1e-9*size) {
				t.Fatalf("%v at %g °C: charge %g of %g left over", totals, tempC, charge, size)
			}
		}
	})
}
