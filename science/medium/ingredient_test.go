package medium_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/medium"
	"sodalake/science/units"
)

func TestEveryIngredientIsWhole(t *testing.T) {
	for _, in := range medium.Ingredients() {
		if in.ID == "" || in.Name == "" || in.Kitchen == "" || in.Grade == "" || in.Step == "" || in.Food == "" {
			t.Errorf("%s lacks a name, a grade, a step or a word on food", in.ID)
		}
		if !(in.Purity > 0.5) || in.Purity > 1 {
			t.Errorf("%s: purity %g", in.ID, in.Purity)
		}
		if (in.BulkGPerL > 0) != (in.BulkSource != "") {
			t.Errorf("%s: a bulk density needs a source or the words that it has none", in.ID)
		}
		if in.BulkGPerL > 0 && (in.BulkGPerL < 300 || in.BulkGPerL > 1500) {
			t.Errorf("%s: a heap of powder weighs no %g g/L", in.ID, in.BulkGPerL)
		}
		if (in.Safety.Signal == "") != (len(in.Safety.Codes) == 0) {
			t.Errorf("%s: a signal word stands with hazard statements and not without", in.ID)
		}
		for _, c := range in.Safety.Codes {
			if medium.HazardWords(c) == c {
				t.Errorf("%s: hazard statement %s has no words", in.ID, c)
			}
		}
		if !(in.MolarMass() > 30) {
			t.Errorf("%s: %q weighs %g g/mol", in.ID, in.Formula, in.MolarMass())
		}
		for _, word := range append([]string{in.ID, in.Name, strings.ToUpper(in.Kitchen)}, in.Aliases...) {
			if got, err := medium.Lookup(word, medium.US); err != nil || got.ID != in.ID {
				t.Errorf("%q finds %v, %v, want %s", word, got, err, in.ID)
			}
		}
		y, err := in.Yield(in.Purity)
		if in.Step == medium.StepDechlorinate {
			if err == nil {
				t.Errorf("%s was let into a medium", in.ID)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", in.ID, err)
			continue
		}
		for k, x := range y.Totals {
			if !(x >= 0) {
				t.Errorf("%s leaves %g mol of %v in a gram", in.ID, x, brine.Total(k))
			}
		}
	}
}

func TestLookupRefuses(t *testing.T) {
	for _, word := range []string{"", "  ", "Zz", "NaCl2", "baking powder", "soda", "Na+", "plant food", "C6H12O6", strings.Repeat("Na", 80)} {
		in, err := medium.Lookup(word, medium.EU)
		var ie *medium.InputError
		if err == nil || !errors.As(err, &ie) {
			t.Errorf("%q was taken as %+v, %v", word, in, err)
			continue
		}
		if ie.Field == "" && strings.TrimSpace(word) != "" || strings.HasSuffix(ie.Reason, ".") {
			t.Errorf("%q: field %q, %q", word, ie.Field, ie.Reason)
		}
	}
	// A formula that is not in the table is taken as pure.
	in, err := medium.Lookup("Na2HPO4.12H2O", medium.EU)
	if err != nil || in.Purity < 1 || in.BulkGPerL > 0 {
		t.Errorf("disodium phosphate with twelve waters: %+v, %v", in, err)
	}
	for _, p := range []float64{0, -0.1, 1.01, math.NaN()} {
		if _, err := in.Yield(p); err == nil {
			t.Errorf("a purity of %g was taken", p)
		}
	}
}

// Rules of thumb of kitchens and growers: the only checks of a bulk density
// that there are.
func TestCupsAndSpoons(t *testing.T) {
	const (
		cup  = 0.2365882365 // US cup, 16 in^3 x 14.4375/16 (NIST Handbook 44, appendix C) [L]
		tsp  = cup / 48
		gal5 = 5 * 3.785411784
	)
	bulk := func(word string) float64 {
		in, err := medium.Lookup(word, medium.US)
		if err != nil {
			t.Fatal(err)
		}
		return in.BulkGPerL
	}
	for _, row := range []struct {
		what            string
		got, low, high  float64
		unit, rationale string
	}{
		{"a US cup of baking soda", cup * bulk("baking soda"), 220, 240, "g", "common practice, no source"},
		{"a US cup of baking soda to five US gallons", cup * bulk("baking soda") / gal5, 11.4, 12.6, "g/L", "common practice, no source: about 12"},
		{"a level teaspoon of baking soda", tsp * bulk("baking soda"), 4.55, 4.65, "g", "USDA National Nutrient Database SR28, item 18372: 4.6 (from memory)"},
		{"a US cup of table salt", cup * bulk("salt"), 291, 293, "g", "USDA National Nutrient Database SR28, item 2047: 292 (from memory)"},
		{"a level teaspoon of table salt", tsp * bulk("salt"), 5.9, 6.2, "g", "USDA National Nutrient Database SR28, item 2047: 6 (from memory)"},
		{"a level teaspoon of saltpetre to five US gallons", tsp * bulk("saltpetre") / gal5, 0.22, 0.32, "g/L", "common practice, no source: a teaspoon of a hydroponic salt, about 0.26"},
		{"granular urea", bulk("urea"), 705, 769, "g/L", "Estimated Physical Characteristics of Fertilizer Material: 44 to 48 lb/ft3"},
		{"ammonium sulfate crystals", bulk("ammonium sulfate"), 1009, 1057, "g/L", "the same: 63 to 66 lb/ft3"},
		{"monoammonium phosphate", bulk("monoammonium phosphate"), 961, 1041, "g/L", "the same: 60 to 65 lb/ft3"},
		{"diammonium phosphate", bulk("diammonium phosphate"), 881, 961, "g/L", "the same: 55 to 60 lb/ft3"},
		{"granular potassium chloride", bulk("muriate of potash"), 929, 1041, "g/L", "the same: 58 to 65 lb/ft3"},
	} {
		if !(row.got >= row.low && row.got <= row.high) {
			t.Errorf("%s: %.4g %s, want %g to %g (%s)", row.what, row.got, row.unit, row.low, row.high, row.rationale)
		}
	}
}

func TestRecipesAreWhole(t *testing.T) {
	for _, r := range medium.Recipes() {
		if r.Title == "" || r.Suits == "" || r.Source == "" {
			t.Errorf("%s does not say what it is, what for, or from where", r.Name)
		}
		m, err := medium.NewMix(r.SaltsGPerL, medium.US)
		if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		m.Pure()
		s := brine.New(brine.Pitzer)
		sol, err := m.Dissolve(s)
		if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		// What brine makes of the same salts, it makes of the mix.
		want, kg, err := brine.FromSalts(r.SaltsGPerL)
		if err != nil {
			t.Errorf("%s: %v", r.Name, err)
			continue
		}
		if math.Abs(kg-sol.KgWaterPerL) > 1e-6 {
			t.Errorf("%s: %.7f kg of water in a litre, brine says %.7f", r.Name, sol.KgWaterPerL, kg)
		}
		for k := range want {
			if math.Abs(want[k]-sol.Totals[k]) > 1e-9 {
				t.Errorf("%s: %v %.9g, brine says %.9g", r.Name, brine.Total(k), sol.Totals[k], want[k])
			}
		}
		// A recipe with a fertiliser says the same in salts.
		w, err := medium.NewMix(r.Weighed(), medium.US)
		if err != nil {
			t.Errorf("%s as weighed: %v", r.Name, err)
			continue
		}
		w.Pure()
		as, err := w.Dissolve(s)
		if err != nil {
			t.Errorf("%s as weighed: %v", r.Name, err)
			continue
		}
		a, b := sol.Elements(), as.Elements()
		for _, e := range []medium.Element{medium.Carbon, medium.Nitrogen, medium.Phosphorus, medium.Potassium, medium.Calcium, medium.Magnesium} {
			if math.Abs(a[e]-b[e]) > 0.01*a[e]+1e-6 {
				t.Errorf("%s: %v %.5g mol/L as salts, %.5g as weighed", r.Name, e, a[e], b[e])
			}
		}
		for name := range r.TracesMLPerL {
			if tm, ok := medium.TraceMixByName(name); !ok || tm.Food == medium.NotFood {
				t.Errorf("%s: trace solution %s is not known, or not for food", r.Name, name)
			}
		}
	}
}

func TestTraceSolutions(t *testing.T) {
	a5, ok := medium.TraceMixByName("A5")
	if !ok {
		t.Fatal("no A5")
	}
	got := a5.UGPerL(1)
	for _, row := range []struct {
		el        string
		want, tol float64
	}{{"B", 500, 1}, {"Mn", 502, 1}, {"Zn", 50.5, 0.1}, {"Cu", 20.1, 0.1}, {"Mo", 154.7, 0.5}} {
		if math.Abs(got[row.el]-row.want) > row.tol {
			t.Errorf("1 mL/L of A5 brings %.4g µg/L of %s, want %g ± %g (%s)", got[row.el], row.el, row.want, row.tol, iupac)
		}
	}
	b6, ok := medium.TraceMixByName("b6")
	if !ok || b6.Food != medium.NotFood {
		t.Error("B6 must be there to be named and flagged: not for food")
	}
	if m := b6.UGPerL(1); m["Cr"] < 5 || m["Ni"] < 5 || m["V"] < 5 || m["Co"] < 5 {
		t.Errorf("B6 brings %v µg/L: chromium, nickel, vanadium and cobalt must show", m)
	}
}

func TestNaturalFeedsGiveNoDoseWhereNitrogenIsUnknown(t *testing.T) {
	for _, f := range medium.NaturalFeeds() {
		if f.Title == "" || len(f.Brings) == 0 || len(f.Carries) == 0 || f.Instead == "" || f.How == "" || f.Source == "" {
			t.Errorf("card %s is not whole", f.ID)
		}
		if _, err := medium.Lookup(f.Substitute, medium.US); err != nil {
			t.Errorf("card %s: its substitute: %v", f.ID, err)
		}
		nitrogen := false
		for _, b := range f.Brings {
			nitrogen = nitrogen || strings.Contains(b.What, "nitrogen")
			if b.Low > b.High {
				t.Errorf("card %s: %s from %g to %g", f.ID, b.What, b.Low, b.High)
			}
		}
		if nitrogen && (f.Dose != "none" || f.Food != medium.NotFood) {
			t.Errorf("card %s: a dose is given though its nitrogen is unknown", f.ID)
		}
	}
	for _, word := range []string{"ash lye", "Nettle tea", "digestate", "seawater", "urine"} {
		if _, ok := medium.NaturalFeedByName(word); !ok {
			t.Errorf("no card for %q", word)
		}
	}
}

func TestHardnessUnits(t *testing.T) {
	for _, row := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		{"a millimole", medium.HardnessMmol, 100.09, 0.01, "weight of CaCO3"},
		{"a German degree", medium.GermanDegree, 17.85, 0.01, "10 mg/L CaO; tables print 17.8"},
		{"a French degree", medium.FrenchDegree, 10, 1e-12, "definition"},
		{"an English degree", medium.EnglishDegree, 14.254, 0.001, "a grain in an imperial gallon; tables print 14.3"},
		{"a grain per US gallon", medium.GrainPerGallon, 17.118, 0.001, "tables print 17.1"},
		{"72 mg/L Ca with 26 mg/L Mg", medium.HardnessMgL(72, 26), 286.5, 1, "worked example in an aquarium keepers' forum, 286 to 287"},
	} {
		if math.Abs(row.got-row.want) > row.tol {
			t.Errorf("%s: %.5g mg/L as CaCO3, want %g ± %g (%s)", row.what, row.got, row.want, row.tol, row.source)
		}
	}
	// The reader of what people say agrees: 10 °dH in mmol/L.
	q, err := units.Parse("10 dH", units.Hardness, units.Metric)
	if err == nil && math.Abs(q.Value*medium.HardnessMmol-10*medium.GermanDegree) > 0.05 {
		t.Errorf("10 °dH is %.4g mmol/L in units, %.4g here", q.Value, 10*medium.GermanDegree/medium.HardnessMmol)
	}
}

func TestSourceWaterBalances(t *testing.T) {
	for _, a := range []medium.Analysis{
		{}, {HardnessMgL: 300}, {HardnessMgL: 300, AlkalinityMeqL: 4}, {CalciumMgL: 80, MagnesiumMgL: 25, SodiumMgL: 15, ChlorideMgL: 30, SulfateMgL: 40, AlkalinityMeqL: 4.1},
		{CalciumMgL: 80, HardnessMgL: 300}, {NitrateMgL: 50, ChlorideMgL: 100},
		{ConductivityMS: 0.8}, {ConductivityMS: 0.8, HardnessMgL: 200},
	} {
		w, err := a.Prepare()
		if err != nil {
			t.Errorf("%+v: %v", a, err)
			continue
		}
		want := a.AlkalinityMeqL / 1000
		if want == 0 {
			want = 2 * (w.PerL[brine.Ca] + w.PerL[brine.Mg])
		}
		if got := w.PerL.AlkalinityEqKg(); math.Abs(got-want) > 1e-12 {
			t.Errorf("%+v: alkalinity %.6g, want %.6g", a, got, want)
		}
		for k, x := range w.PerL {
			if !(x >= 0) {
				t.Errorf("%+v: %v is %g", a, brine.Total(k), x)
			}
		}
	}
	// A rule of analysts: 10 meq/L of cations for a mS/cm (Standard Methods 1030 E, from memory).
	w, err := (&medium.Analysis{ConductivityMS: 0.8, HardnessMgL: 200}).Prepare()
	if meq := 1000 * (2*w.PerL[brine.Ca] + 2*w.PerL[brine.Mg] + w.PerL[brine.Na]); err != nil || math.Abs(meq-8) > 1e-9 {
		t.Errorf("0.8 mS/cm comes to %g meq/L, %v", meq, err)
	}
	for _, a := range []medium.Analysis{{HardnessMgL: -1}, {HardnessMgL: math.NaN()}, {HardnessMgL: 500, CalciumMgL: 10, MagnesiumMgL: 10}, {NitrateMgL: 1e9}} {
		var ie *medium.InputError
		if _, err := a.Prepare(); !errors.As(err, &ie) || ie.Field == "" {
			t.Errorf("%+v was taken: %v", a, err)
		}
	}
}
