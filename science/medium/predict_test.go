package medium_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"

	"pgregory.net/rapid"
)

const (
	generalCode = "general geochemistry code (PHREEQC 3) with the interaction set of Harvie, Møller & Weare 1984, run in 2025"
	byHand      = "arithmetic from C 47, N 10, P 1.0, K 2.0, Mg 0.33, Fe 0.05 % of dry matter (Animals 2023, 13:1275, table 2, and the formula of Cornet & Dussap 2009)"
)

func mix(t testing.TB, gPerL map[string]float64) medium.Mix {
	t.Helper()
	m, err := medium.NewMix(gPerL, medium.US)
	if err != nil {
		t.Fatal(err)
	}
	m.Pure()
	return m
}

func predict(t testing.TB, m medium.Mix, at medium.Setting) medium.Prediction {
	t.Helper()
	p, err := medium.Predict(brine.New(brine.Pitzer), &m, at, growth.DefaultComposition())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The density that each element of the published media can feed.
func TestNutrientCeilings(t *testing.T) {
	const no = -1
	for _, row := range []struct {
		recipe                                string
		n, p, fe, mg, carbonHalf, carbonWhole float64
	}{
		{"zarrouk", 4.1, 8.9, 4.0, 6.0, 2.6, 5.1},
		{"bicarbonate-farm", 3.0, 2.7, 2.0, 6.0, 1.2, 2.4},
		{"npk-10-26-26", 0.8, 8.6, no, no, 1.5, 3.0},
		{"school", 2.8, 2.3, no, 3.0, 2.4, 4.9},
	} {
		r, ok := medium.Find(row.recipe)
		if !ok {
			t.Fatalf("no recipe %s", row.recipe)
		}
		got := map[medium.Element]float64{}
		last := 0.0
		for _, c := range predict(t, mix(t, r.Weighed()), medium.Plain()).Carries {
			got[c.Element] = c.GPerL
			if c.GPerL < last {
				t.Errorf("%s: ceilings are not in order", row.recipe)
			}
			last = c.GPerL
		}
		got[medium.Calcium] = got[medium.Carbon] / 2 // half of the carbon used
		for _, x := range []struct {
			e    medium.Element
			want float64
		}{{medium.Nitrogen, row.n}, {medium.Phosphorus, row.p}, {medium.Iron, row.fe}, {medium.Magnesium, row.mg}, {medium.Carbon, row.carbonWhole}, {medium.Calcium, row.carbonHalf}} {
			if x.want == no {
				continue
			}
			if math.Abs(got[x.e]-x.want) > 0.06 { // the table has one decimal
				t.Errorf("%s: %v carries %.3f g/L, want %.1f (%s)", row.recipe, x.e, got[x.e], x.want, byHand)
			}
		}
	}
}

// pH as mixed and in balance with air, and carbon to pH 10.5, against a general
// code.
func TestPredictionAgainstAGeneralCode(t *testing.T) {
	for _, row := range []struct {
		salts       map[string]float64
		mixed, open float64
		carbonGL    float64
	}{
		{map[string]float64{"NaHCO3": 8}, 8.093, 9.711, 0.499},
		{map[string]float64{"baking soda": 16.8}, 8.014, 9.849, 1.072},
		{map[string]float64{"NaHCO3": 8, "soda ash": 5}, 9.591, math.NaN(), math.NaN()},
	} {
		p := predict(t, mix(t, row.salts), medium.Plain())
		if math.Abs(p.PH25-row.mixed) > 0.02 {
			t.Errorf("%v: pH %.4f as mixed, want %.3f ± 0.02 (%s)", row.salts, p.PH25, row.mixed, generalCode)
		}
		if !math.IsNaN(row.open) && math.Abs(p.OpenPH25-row.open) > 0.02 {
			t.Errorf("%v: pH %.4f in air, want %.3f ± 0.02 (%s)", row.salts, p.OpenPH25, row.open, generalCode)
		}
		if math.IsNaN(row.carbonGL) {
			continue
		}
		mol, err := medium.CarbonUntil(brine.New(brine.Pitzer), &p.Solution.Totals, 25, 10.5)
		if err != nil {
			t.Fatal(err)
		}
		if got := mol * p.Solution.KgWaterPerL * 12.011; math.Abs(got-row.carbonGL) > 0.01 {
			t.Errorf("%v: %.4f g/L of carbon until pH 10.5, want %.3f (%s)", row.salts, got, row.carbonGL, generalCode)
		}
	}
}

// Chalk out of a hard water, once the medium has reached pH 10.
func TestHardWaterClouds(t *testing.T) {
	a := medium.Analysis{CalciumMgL: 80, MagnesiumMgL: 25, AlkalinityMeqL: 250 / 61.017, SodiumMgL: 15, ChlorideMgL: 30, SulfateMgL: 40}
	w, err := a.Prepare()
	if err != nil {
		t.Fatal(err)
	}
	m := mix(t, map[string]float64{"NaHCO3": 8})
	m.Water = w
	for _, f := range predict(t, m, medium.Plain()).FallsOut {
		if f.Mineral == brine.Calcite {
			// 80 mg/L of calcium are 200 mg/L of chalk: 199 leaves next to none.
			if math.Abs(f.PondMgL-199) > 2 {
				t.Errorf("%.4g mg/L of calcite, want 199 ± 2 (%s)", f.PondMgL, generalCode)
			}
			return
		}
	}
	t.Error("hard water gave no chalk")
}

// Free ammonia as a share of all, with the pH of a pond: the brine's fractions.
func TestFreeAmmoniaAtPondPH(t *testing.T) {
	p := predict(t, mix(t, map[string]float64{"NaHCO3": 8, "NH4Cl": 0.05349}), medium.Plain())
	total := 1.0 // 53.49 mg/L of NH4Cl is 1 mM
	if got := p.FreeNH3Pond / total; math.Abs(got-0.79) > 0.02 {
		t.Errorf("share of free ammonia at pH 10: %.3f, want 0.79 ± 0.02 (%s)", got, generalCode)
	}
	// Urea counts twice: two ammonia each.
	u := predict(t, mix(t, map[string]float64{"NaHCO3": 8, "urea": 0.030028}), medium.Plain())
	if math.Abs(u.FreeNH3Pond-p.FreeNH3Pond) > 0.01 {
		t.Errorf("half a millimole of urea comes to %.3f mM, a millimole of ammonium to %.3f", u.FreeNH3Pond, p.FreeNH3Pond)
	}
	if u.FreeNH3Now > 1e-9 {
		t.Errorf("urea shows %.3g mM of ammonia before it has split", u.FreeNH3Now)
	}
	if math.Abs(u.ReducedMgL-30.028) > 0.01 {
		t.Errorf("reduced nitrogen as urea %.4g mg/L, want what was weighed in, 30.03", u.ReducedMgL)
	}
}

// The hard guards of a recipe.
func TestStartsThatAreRefused(t *testing.T) {
	codes := func(salts map[string]float64) map[string]bool {
		m := mix(t, salts)
		p := predict(t, m, medium.Plain())
		out := map[string]bool{}
		for _, f := range medium.Check(&m, &p, true) {
			if f.Stop {
				out[f.Code] = true
			}
		}
		return out
	}
	base := func(more map[string]float64) map[string]float64 {
		out := map[string]float64{"NaHCO3": 10, "KNO3": 1, "KH2PO4": 0.1}
		for k, v := range more {
			out[k] = v
		}
		return out
	}
	for _, row := range []struct {
		salts map[string]float64
		stop  string // the code that must stand, or empty
		why   string
	}{
		{base(nil), "", "nitrate has no cap"},
		{base(map[string]float64{"KNO3": 5}), "", "nitrate has no cap"},
		{base(map[string]float64{"urea": 0.0599}), "", "60 mg/L may stand"},
		{base(map[string]float64{"urea": 0.0601}), "urea", "60 mg/L may stand (growers; Méndez & Uribe 2012: half of the growth gone at 80)"},
		{base(map[string]float64{"urea": 0.2}), "urea", "the start mix that growers copy"},
		{base(map[string]float64{"urea": 0.04, "NH4Cl": 0.06}), "reduced", "urea and ammonium add up"},
		{base(map[string]float64{"20-20-20 urea-N 20": 0.2}), "urea", "urea by a label is urea"},
		{base(map[string]float64{"10-26-26": 0.76}), "reduced", "a label that does not tell its nitrogen counts as ammonium"},
		{base(map[string]float64{"cobalt nitrate": 0.00001}), "not_food", "not offered for food"},
		{base(map[string]float64{"CuSO4.5H2O": 0.001}), "metal", "copper"},
	} {
		got := codes(row.salts)
		if row.stop == "" && len(got) > 0 || row.stop != "" && !got[row.stop] {
			t.Errorf("%v: refused for %v, want %q (%s)", row.salts, got, row.stop, row.why)
		}
	}
	for _, r := range medium.Recipes() {
		got := codes(r.Weighed())
		if refused := len(got) > 0; refused != (r.Name == "npk-10-26-26") {
			t.Errorf("%s: refused for %v", r.Name, got)
		}
	}
}

// Air lifts a fresh bicarbonate water and lowers a carbonate one, towards the
// same end, the faster the more it is stirred and the shallower it is.
func TestStanding(t *testing.T) {
	at := medium.Plain()
	at.Days = 365
	fresh := predict(t, mix(t, map[string]float64{"NaHCO3": 8}), at)
	if len(fresh.Standing) < 10 || fresh.Standing[0].Days != 0 || math.Abs(fresh.Standing[0].PH.Mid-fresh.PH25) > 1e-6 {
		t.Fatalf("the curve starts at %+v, the water as mixed reads %.4f", fresh.Standing[0], fresh.PH25)
	}
	for i := 1; i < len(fresh.Standing); i++ {
		a, b := fresh.Standing[i-1].PH, fresh.Standing[i].PH
		if b.Mid < a.Mid-1e-9 || b.Mid > fresh.OpenPH25+1e-3 {
			t.Errorf("day %g: pH %.4f after %.4f, end %.4f", fresh.Standing[i].Days, b.Mid, a.Mid, fresh.OpenPH25)
		}
		if !(b.Low < b.Mid && b.Mid < b.High) && b.Mid < fresh.OpenPH25-0.002 {
			t.Errorf("day %g: no spread, %+v", fresh.Standing[i].Days, b)
		}
	}
	if end := fresh.Standing[len(fresh.Standing)-1].PH.Mid; math.Abs(end-fresh.OpenPH25) > 0.03 {
		t.Errorf("after a year it reads %.3f, in balance %.3f", end, fresh.OpenPH25)
	}
	carbonate := predict(t, mix(t, map[string]float64{"NaHCO3": 1, "Na2CO3": 5}), at)
	if c := carbonate.Standing; !(c[0].PH.Mid > 10 && c[len(c)-1].PH.Mid < c[0].PH.Mid-0.3) {
		t.Errorf("a carbonate medium must come down in air: %+v to %+v", c[0], c[len(c)-1])
	}
	at.Days = 7
	day7 := func(change func(s *medium.Setting)) float64 {
		s := at
		change(&s)
		p := predict(t, mix(t, map[string]float64{"NaHCO3": 8}), s)
		return p.Standing[len(p.Standing)-1].PH.Mid
	}
	plain := day7(func(*medium.Setting) {})
	if deep := day7(func(s *medium.Setting) { s.DepthM = 0.5 }); !(deep < plain-0.05) {
		t.Errorf("half a metre deep it reads %.3f after a week, at 15 cm %.3f", deep, plain)
	}
	if still := day7(func(s *medium.Setting) { s.Stirred = false }); !(still < plain-0.01) {
		t.Errorf("left alone it reads %.3f after a week, stirred %.3f", still, plain)
	}
}

// A published balance of carbon: Zarrouk's water of 16.8 g/L loses carbon
// dioxide to the air near pH 9 and takes it up near pH 10.5 (signs as in
// Livansky et al. 2006, Archiv für Hydrobiologie 165:365, abstract).
func TestSignOfTheExchange(t *testing.T) {
	s := brine.New(brine.Pitzer)
	m := mix(t, map[string]float64{"NaHCO3": 16.8})
	sol, err := m.Dissolve(s)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		ph   float64
		rise bool
	}{{9, true}, {9.5, true}, {10.3, false}, {10.6, false}} {
		w, _, err := medium.LivingWater(s, &sol, row.ph, 25)
		if err != nil {
			t.Fatal(err)
		}
		later, err := medium.StandUntil(s, &w, sol.KgWaterPerL, row.ph+map[bool]float64{true: 0.02, false: -0.02}[row.rise], medium.Plain())
		if err != nil {
			t.Fatal(err)
		}
		if math.IsInf(later.Mid, 1) || later.Mid <= 0 {
			t.Errorf("from pH %g standing in air must go %v: %+v", row.ph, row.rise, later)
		}
	}
}

// Taking carbon at constant alkalinity lifts the pH; growth takes what the cells
// are made of and no more.
func TestGrownClosesTheBalance(t *testing.T) {
	s := brine.New(brine.Pitzer)
	c := growth.DefaultComposition()
	r, _ := medium.Find("bicarbonate-farm")
	m := mix(t, r.SaltsGPerL)
	sol, err := m.Dissolve(s)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.Float64Range(0, 1).Draw(t, "grams")
		after := medium.Grown(sol.Totals, g, c, true)
		for _, x := range []struct {
			total brine.Total
			per   float64
		}{{brine.DIC, c.C}, {brine.NO3, c.N}, {brine.PO4, c.P}, {brine.SO4, c.S}, {brine.K, c.K}, {brine.Mg, c.Mg}} {
			if d := sol.Totals[x.total] - after[x.total]; math.Abs(d-g*x.per) > 1e-12 {
				t.Fatalf("%v: %.9g taken, %.9g in the cells", x.total, d, g*x.per)
			}
		}
		// The alkalinity moves as the explicit conservative form says (Wolf-Gladrow et al. 2007).
		took := g // calcium and iron may run out first
		want := took * (c.N + c.P + 2*c.S - c.K - 2*c.Mg)
		want -= 2 * (sol.Totals[brine.Ca] - after[brine.Ca])
		if d := after.AlkalinityEqKg() - sol.Totals.AlkalinityEqKg(); math.Abs(d-want) > 1e-9 {
			t.Fatalf("alkalinity moved by %.9g, want %.9g", d, want)
		}
	})
	g, err := medium.GrowthUntil(s, &sol.Totals, 25, 10.5, c, true)
	if err != nil {
		t.Fatal(err)
	}
	var w brine.Water
	end := medium.Grown(sol.Totals, g, c, true)
	if err := s.Solve(&end, 25, &w); err != nil || math.Abs(w.PH-10.5) > 1e-3 {
		t.Errorf("%.4f g/kg later the pH is %.4f, %v", g, w.PH, err)
	}
	urea, err := medium.GrowthUntil(s, &sol.Totals, 25, 10.5, c, false)
	if err != nil || urea <= g {
		t.Errorf("fed with urea %.4f g/kg grow until pH 10.5, with nitrate %.4f: nitrate lifts the alkalinity", urea, g)
	}
	// Urea-fed growth leaves the alkalinity nearly alone (−0.1 eq/kg): what grows is the carbon that leaves, over its own content less what urea brings.
	mol, err := medium.CarbonUntil(s, &sol.Totals, 25, 10.5)
	if err != nil {
		t.Fatal(err)
	}
	if rough := mol / (c.C - c.N/2); math.Abs(urea/rough-1) > 0.05 {
		t.Errorf("fed with urea %.4f g/kg grow, %.4f by the carbon alone", urea, rough)
	}
}

// Two waters poured together come to the same in either order, and mixing a mix
// with itself changes nothing.
func TestMixingIsCommutative(t *testing.T) {
	s := brine.New(brine.Pitzer)
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"NaHCO3", "Na2CO3", "KNO3", "NaCl", "K2HPO4", "MgSO4.7H2O", "urea", "20-20-20"}
		draw := func(tag string) medium.Solution {
			g := map[string]float64{}
			for _, n := range names {
				g[n] = rapid.Float64Range(0, 5).Draw(t, tag+n)
			}
			g["NaHCO3"] += 1
			m, err := medium.NewMix(g, medium.EU)
			if err != nil {
				t.Fatal(err)
			}
			sol, err := m.Dissolve(s)
			if err != nil {
				t.Fatal(err)
			}
			return sol
		}
		a, b := draw("a"), draw("b")
		x, y := rapid.Float64Range(0.1, 10).Draw(t, "x"), rapid.Float64Range(0.1, 10).Draw(t, "y")
		ab, ba := brine.Mix(&a.Totals, x, &b.Totals, y), brine.Mix(&b.Totals, y, &a.Totals, x)
		alk := (x*a.Totals.AlkalinityEqKg() + y*b.Totals.AlkalinityEqKg()) / (x + y)
		for k := range ab {
			if math.Abs(ab[k]-ba[k]) > 1e-12 {
				t.Fatalf("%v: %.12g one way, %.12g the other", brine.Total(k), ab[k], ba[k])
			}
		}
		if math.Abs(ab.AlkalinityEqKg()-alk) > 1e-9 {
			t.Fatalf("alkalinity %.9g, want %.9g", ab.AlkalinityEqKg(), alk)
		}
	})
}

func TestPredictRefusesNonsense(t *testing.T) {
	m := mix(t, map[string]float64{"NaHCO3": 8})
	for _, change := range []func(*medium.Setting){
		func(s *medium.Setting) { s.TempC = -1 }, func(s *medium.Setting) { s.TempC = math.NaN() }, func(s *medium.Setting) { s.DepthM = 0 },
		func(s *medium.Setting) { s.PCO2Atm = 0 }, func(s *medium.Setting) { s.YieldGM2D = 1e3 }, func(s *medium.Setting) { s.Days = -1 },
	} {
		at := medium.Plain()
		change(&at)
		if _, err := medium.Predict(brine.New(brine.Pitzer), &m, at, growth.DefaultComposition()); err == nil {
			t.Errorf("%+v was taken", at)
		}
	}
	for _, g := range []float64{-1, math.NaN(), math.Inf(1), 1e4} {
		if _, err := medium.NewMix(map[string]float64{"NaCl": g}, medium.US); err == nil {
			t.Errorf("%g g/L were taken", g)
		}
	}
	thick := mix(t, map[string]float64{"NaCl": 400, "NaHCO3": 400})
	if _, err := medium.Predict(brine.New(brine.Pitzer), &thick, medium.Plain(), growth.DefaultComposition()); err == nil {
		t.Error("a litre cannot hold 800 g of salts")
	}
}

// Holding pH 10.3 to 10.6 with baking soda alone takes many kilograms for one of
// growth; carbon dioxide takes two.
func TestCarbonToHold(t *testing.T) {
	const source = "39.1 mol of carbon in a kilogram over 1 − DIC/alkalinity of 0.43 to 0.47, alkalinity +7.0 eq/kg on nitrate (Wolf-Gladrow et al. 2007), worked apart from this package"
	s := brine.New(brine.Pitzer)
	r, _ := medium.Find("bicarbonate-farm")
	m := mix(t, r.SaltsGPerL)
	sol, err := m.Dissolve(s)
	if err != nil {
		t.Fatal(err)
	}
	c := growth.DefaultComposition()
	for _, row := range []struct {
		ph, soda, tol float64
		nitrate       bool
	}{
		{10.3, 8.4, 0.25, true}, {10.6, 7.8, 0.25, true},
		// On urea 7.6 and 7.1, less the half carbon that each nitrogen of urea brings: 0.70 and 0.64.
		{10.3, 6.9, 0.25, false}, {10.6, 6.5, 0.25, false},
	} {
		h, err := medium.CarbonToHold(s, &sol.Totals, row.ph, c, row.nitrate)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(h.SodaGG-row.soda) > row.tol {
			t.Errorf("pH %g, nitrate %v: %.3f kg of soda for a kilogram, want %.1f (%s)", row.ph, row.nitrate, h.SodaGG, row.soda, source)
		}
		if row.nitrate && !(h.CO2GG > 1.65 && h.CO2GG < 1.95) {
			t.Errorf("pH %g: %.3f kg of carbon dioxide for a kilogram, want 1.7 to 1.9 (%s)", row.ph, h.CO2GG, source)
		}
		// Given that much while a gram grows, the pH stands still.
		g := 0.05
		x := sol.Totals
		var w brine.Water
		if err := s.HoldPH(&x, 25, row.ph, brine.ByCO2, &w); err != nil {
			t.Fatal(err)
		}
		x = medium.Grown(x, g, c, row.nitrate)
		mol := g * h.SodaGG / 84.007
		x[brine.Na] += mol
		x[brine.DIC] += mol
		if err := s.Solve(&x, 25, &w); err != nil || math.Abs(w.PH-row.ph) > 0.01 {
			t.Errorf("pH %g, nitrate %v: it goes to %.4f, %v", row.ph, row.nitrate, w.PH, err)
		}
	}
}

// How long the carbon lasts: by growth alone where growth is fast, without end
// where the air keeps up.
func TestCarbonDays(t *testing.T) {
	s := brine.New(brine.Pitzer)
	c := growth.DefaultComposition()
	m := mix(t, map[string]float64{"NaHCO3": 16.8, "KNO3": 3, "KH2PO4": 0.2, "MgSO4.7H2O": 0.2, "K2SO4": 1})
	sol, err := m.Dissolve(s)
	if err != nil {
		t.Fatal(err)
	}
	if sol.Totals, _, err = medium.LivingWater(s, &sol, 9.8, 25); err != nil {
		t.Fatal(err)
	}
	g, err := medium.GrowthUntil(s, &sol.Totals, 25, 10.5, c, true)
	if err != nil {
		t.Fatal(err)
	}
	at := medium.Plain()
	at.YieldGM2D = 60
	b, err := medium.CarbonDays(s, &sol, at, 10.5, c)
	want := g * sol.KgWaterPerL / (at.YieldGM2D / (1000 * at.DepthM))
	if err != nil || math.Abs(b.Mid/want-1) > 0.05 || !(b.Low < b.Mid && b.Mid < b.High) {
		t.Errorf("at 60 g/m2 a day it lasts %+v days, %v, growth alone makes %.3f (air brings at most 2.5 g of the 60)", b, err, want)
	}
	// Air feeds 1.9 to 2.8 g/m2 a day at pH 10.3 to 10.6 (Hoover & Berkshire 1969, ±25 %).
	at.YieldGM2D = 1
	if b, err = medium.CarbonDays(s, &sol, at, 10.5, c); err != nil || !math.IsInf(b.Mid, 1) {
		t.Errorf("at 1 g/m2 a day it lasts %+v days, %v: the air keeps up", b, err)
	}
	// Soft water: the carbon ends before the pH gets anywhere.
	soft := mix(t, map[string]float64{"NaHCO3": 0.05, "NaCl": 1})
	if sol, err = soft.Dissolve(s); err != nil {
		t.Fatal(err)
	}
	g, err = medium.GrowthUntil(s, &sol.Totals, 25, 11.4, c, false)
	if want := sol.Totals[brine.DIC] / (c.C - c.N/2); err != nil || math.Abs(g/want-1) > 0.01 {
		t.Errorf("soft water carries %g g/kg, %v, its carbon makes %g", g, err, want)
	}
}
