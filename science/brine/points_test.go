package brine_test

import (
	"errors"
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

func near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.5g, want %.5g ± %.2g (%s)", what, got, want, tol, source)
	}
}

// The carbonate buffer sits where a pond lives: it is the one measured
// yardstick, at an ionic strength of 0.1 mol/kg.
func TestCarbonateBuffer(t *testing.T) {
	const source = "NIST SRM 2191a/2192a, 0.025 mol/kg NaHCO3 + 0.025 mol/kg Na2CO3 (third decimals other than at 25 °C, and 0, 5, 45 and 50 °C, from memory)"
	buffer, err := brine.FromSaltsPerKg(map[string]float64{"NaHCO3": 25, "Na2CO3": 25})
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ tempC, want float64 }{
		{0, 10.317}, {5, 10.245}, {10, 10.179}, {15, 10.118}, {20, 10.062}, {25, 10.012}, {30, 9.966}, {35, 9.926}, {40, 9.889}, {45, 9.856}, {50, 9.828},
	} {
		for _, m := range []struct {
			model brine.Model
			tol   float64 // the certificate says ± 0.005
		}{{brine.Pitzer, 0.0035}, {brine.Pairs, 0.0055}} {
			if row.tempC < 10 || row.tempC > 40 {
				m.tol *= 2.2 // the constants were measured between, mostly
			}
			w := solved(t, brine.New(m.model), &buffer, row.tempC)
			near(t, m.model.String()+" pH", w.PH, row.want, m.tol, source)
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
		// half a unit of its last digit, and the density of the solution
		near(t, "pH", w.PH, row.want, 0.002, generalCode)
	}
}

func TestBicarbonateOpenToAir(t *testing.T) {
	for _, row := range []struct{ gPerL, want float64 }{{8, 9.711}, {16.8, 9.849}} {
		totals := made(t, map[string]float64{"NaHCO3": row.gPerL})
		alk := totals.AlkalinityEqKg()
		var w brine.Water
		if err := brine.New(brine.Pitzer).OpenTo(&totals, 25, 420e-6, &w); err != nil {
			t.Fatal(err)
		}
		near(t, "pH in air", w.PH, row.want, 0.002, generalCode)
		near(t, "pCO2", w.PCO2Atm, 420e-6, 1e-11, "what was asked")
		near(t, "alkalinity", totals.AlkalinityEqKg(), alk, 1e-15, "carbon dioxide brings no charge")
	}
}

func TestCarbonUntilPH(t *testing.T) {
	for _, row := range []struct{ gPerL, want float64 }{{16.8, 1.072}, {8, 0.499}} {
		totals, kgPerL, err := brine.FromSalts(map[string]float64{"NaHCO3": row.gPerL})
		if err != nil {
			t.Fatal(err)
		}
		left := totals
		var w brine.Water
		if err := brine.New(brine.Pitzer).HoldPH(&left, 25, 10.5, brine.ByCO2, &w); err != nil {
			t.Fatal(err)
		}
		near(t, "g C/L", (totals[brine.DIC]-left[brine.DIC])*12.011*kgPerL, row.want, 0.01*row.want, generalCode)
	}
}

func TestFreeAmmonia(t *testing.T) {
	const source = generalCode + "; ammonia a trace, pH set with base"
	for _, row := range []struct{ ph, want float64 }{{9, 0.29}, {9.5, 0.55}, {10, 0.79}, {10.5, 0.92}} {
		totals := made(t, map[string]float64{"NaHCO3": 8, "NH4Cl": 0.005})
		var w brine.Water
		if err := brine.New(brine.Pitzer).HoldPH(&totals, 25, row.ph, brine.ByStrong, &w); err != nil {
			t.Fatal(err)
		}
		near(t, "free share", w.FreeAmmoniaShare(), row.want, 0.02, source)
	}
}

// farmWater is bicarbonate with table salt and saltpetre, as ponds are filled.
func farmWater(t testing.TB) brine.Totals {
	return made(t, map[string]float64{"NaHCO3": 8, "NaCl": 5, "KNO3": 2})
}

func TestColderReadsHigher(t *testing.T) {
	const source = "computed for this project from the constants of Plummer & Busenberg 1982, two decimals"
	s := brine.New(brine.Pitzer)
	totals := farmWater(t)
	var w brine.Water
	if err := s.HoldPH(&totals, 25, 10.30, brine.ByCO2, &w); err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct{ tempC, want float64 }{{8, 10.51}, {20, 10.36}, {35, 10.21}} {
		w := solved(t, s, &totals, row.tempC)
		near(t, "pH", w.PH, row.want, 0.012, source)
		at25, err := s.PHAt25(&totals, w)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "pH at 25 °C", at25, 10.30, 1e-6, "the same water")
	}
}

func TestTwoWaysToHoldAPH(t *testing.T) {
	const source = "computed for this project: 8 g/L NaHCO3 held at 10.2"
	s := brine.New(brine.Pitzer)
	start, kgPerL, err := brine.FromSalts(map[string]float64{"NaHCO3": 8})
	if err != nil {
		t.Fatal(err)
	}
	var w brine.Water
	strong, carbon := start, start
	if err := s.HoldPH(&strong, 25, 10.2, brine.ByStrong, &w); err != nil {
		t.Fatal(err)
	}
	near(t, "caustic g/L", (strong[brine.Na]-start[brine.Na])*39.997*kgPerL, 2.5, 0.08, source)
	near(t, "alkalinity meq/kg", 1e3*strong.AlkalinityEqKg(), 159, 1.5, source)
	near(t, "carbon kept", strong[brine.DIC], start[brine.DIC], 1e-15, "by its name")
	if err := s.HoldPH(&carbon, 25, 10.2, brine.ByCO2, &w); err != nil {
		t.Fatal(err)
	}
	near(t, "carbon out g/L", (start[brine.DIC]-carbon[brine.DIC])*12.011*kgPerL, 0.44, 0.01, source)
	near(t, "DIC mmol/kg", 1e3*carbon[brine.DIC], 58, 1, source)
	// downwards by acid, and back
	if err := s.HoldPH(&strong, 25, 8.5, brine.ByStrong, &w); err != nil {
		t.Fatal(err)
	}
	near(t, "pH after acid", w.PH, 8.5, 1e-8, "what was asked")
	if strong[brine.Cl] <= start[brine.Cl] {
		t.Error("lowering the pH by acid brought no chloride")
	}
}

// A dry kilogram takes its own ions out of the totals; what that does to
// alkalinity is arithmetic.
func TestGrowthAndAlkalinity(t *testing.T) {
	const source = "Wolf-Gladrow et al. 2007, explicit conservative form, with N 100, P 10, S 8, K 20, Mg 3.28 and Ca 3.0 g per kg dry matter"
	body := brine.Totals{
		brine.PO4: 10 / 30.974, brine.SO4: 8 / 32.06, brine.K: 20 / 39.098, brine.Mg: 3.28 / 24.305, brine.Ca: 3.0 / 40.078,
	}
	for _, row := range []struct {
		feed brine.Total
		n    float64 // moles of the feed per mole of nitrogen
		want float64
	}{{brine.NO3, 1, 7.0}, {brine.Urea, 0.5, -0.1}, {brine.Ammonia, 1, -7.25}} {
		var before brine.Totals
		for i := range before {
			before[i] = 10
		}
		after := before
		for i, x := range body {
			after[i] -= x
		}
		after[row.feed] -= row.n * 100 / 14.007
		near(t, row.feed.String()+" eq/kg", after.AlkalinityEqKg()-before.AlkalinityEqKg(), row.want, 0.06, source)
	}
	// urea splits into two ammonia and one carbon dioxide
	var w brine.Totals
	w[brine.Urea] = 1
	before := w.AlkalinityEqKg()
	w[brine.Urea], w[brine.Ammonia], w[brine.DIC] = 0, 2, 1
	near(t, "urea split", w.AlkalinityEqKg()-before, 2, 1e-12, source)
}

func TestChalkFromHardWater(t *testing.T) {
	totals := hardWater(t)
	for _, row := range []struct {
		model brine.Model
		tol   float64
	}{{brine.Pitzer, 0.01}, {brine.Pairs, 0.05}} {
		s := brine.New(row.model)
		water := totals
		var w brine.Water
		if err := s.HoldPH(&water, 25, 10, brine.ByStrong, &w); err != nil {
			t.Fatal(err)
		}
		before := water
		fell, err := s.Precipitate(&water, 25, []brine.Mineral{brine.Calcite}, &w)
		if err != nil {
			t.Fatal(err)
		}
		near(t, row.model.String()+" mg/L", 1e3*fell[brine.Calcite]*brine.Calcite.MolarMass(), 199, 199*row.tol, generalCode)
		near(t, "saturation index", s.SaturationIndex(&w, brine.Calcite), 0, 1e-5, "in balance")
		near(t, "calcium", before[brine.Ca]-water[brine.Ca], fell[brine.Calcite], 1e-15, "mass")
		near(t, "carbon", before[brine.DIC]-water[brine.DIC], fell[brine.Calcite], 1e-15, "mass")
	}
}

// hardWater is a hard tap water made to 8 g/L bicarbonate.
func hardWater(t testing.TB) brine.Totals {
	totals := made(t, map[string]float64{"NaHCO3": 8})
	for i, mgPerL := range map[brine.Total]float64{brine.Ca: 80 / 40.078, brine.Mg: 25 / 24.305, brine.DIC: 250 / 61.016, brine.Na: 15 / 22.990, brine.Cl: 30 / 35.45, brine.SO4: 40 / 96.06} {
		totals[i] += 1e-3 * mgPerL
	}
	return totals
}

func TestEDTAHoldsCalcium(t *testing.T) {
	const source = "general geochemistry code with published EDTA constants: about 60 % of the calcium in the full medium"
	totals := made(t, fullMedium)
	w := solved(t, brine.New(brine.Pitzer), &totals, 25)
	near(t, "share of calcium", w.Species[brine.SpCaEDTA]/totals[brine.Ca], 0.6, 0.05, source)
}

func TestUnreachablePH(t *testing.T) {
	s := brine.New(brine.Pitzer)
	var w brine.Water
	weak := brine.Totals{brine.Na: 1e-3, brine.DIC: 1e-3}
	kept := weak
	var none *brine.NoSolutionError
	if err := s.HoldPH(&weak, 25, 12, brine.ByCO2, &w); !errors.As(err, &none) {
		t.Errorf("pH 12 by taking CO2 from weak water: %v, want a *NoSolutionError", err)
	}
	var bad *brine.InputError
	if err := s.HoldPH(&weak, 25, 15, brine.ByStrong, &w); !errors.As(err, &bad) || bad.Field != "ph" {
		t.Errorf("pH 15: %v, want an *InputError about ph", err)
	}
	if err := s.OpenTo(&weak, 25, -1, &w); !errors.As(err, &bad) || bad.Field != "pco2_atm" {
		t.Errorf("negative pressure: %v, want an *InputError about pco2_atm", err)
	}
	if weak != kept {
		t.Error("a refused wish changed the water")
	}
}
