package process

import (
	"errors"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestPlank(t *testing.T) {
	// A sphere of 7 cm in air at −40 °C, 250 kJ/kg, freezing from −1.25 °C, k 1.2,
	// h 50: 2.6·10³ s.
	f := Freezing{Sphere, 70, 1000, 250e3, -1.25, -40, 50, 1.2}
	s, err := f.TimeS()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sphere", s, 2603, 1, "singhheldman2014, example on Plank's equation; h and answer from memory")
	// A potato of 2 cm: 88 % of water at 333.2 kJ/kg gives 293.2 kJ/kg and 704 s. A
	// student's solution prints 1.955 h, from 2932 kJ/kg: a slip of ten.
	p := Freezing{Sphere, 20, 950, 0.88 * 333.2e3, -2, -40, 40, 1.3}
	s, _ = p.TimeS()
	near(t, "potato", s, 703.7, 1.5, "singhheldman2014, problem 7.10, a public solution with its slip of ten taken out")
	// Slabs of paste: 1 cm in 1.5 to 4 h, 5 cm in 8 to 19 h, from fan to still air.
	for _, r := range []struct{ mm, low, high float64 }{{10, 1.5, 4}, {50, 8, 19}} {
		fan, _ := PasteSlab(r.mm, 0.2, -18, FanAir).TimeS()
		still, _ := PasteSlab(r.mm, 0.2, -18, StillAir).TimeS()
		near(t, "fan", fan/hour, r.low, 0.15*r.low, "Plank's equation worked for a home freezer")
		near(t, "still", still/hour, r.high, 0.1*r.high, "Plank's equation worked for a home freezer")
	}
	rapid.Check(t, func(t *rapid.T) {
		f := PasteSlab(rapid.Float64Range(1, 200).Draw(t, "mm"), rapid.Float64Range(0.05, 0.4).Draw(t, "solids"), rapid.Float64Range(-40, -5).Draw(t, "air"), rapid.Float64Range(3, 60).Draw(t, "h"))
		slab, err := f.TimeS()
		if err != nil {
			t.Fatal(err)
		}
		f.Shape = Cylinder
		cylinder, _ := f.TimeS()
		f.Shape = Sphere
		sphere, _ := f.TimeS()
		// The three have half, a quarter and a sixth, an eighth, a sixteenth and a 24th.
		if math.Abs(cylinder/slab-0.5) > 1e-12 || math.Abs(sphere/slab-1.0/3) > 1e-12 {
			t.Fatalf("%g, %g, %g", slab, cylinder, sphere)
		}
		f.Shape, f.ThicknessMM = Slab, 2*f.ThicknessMM
		thicker, _ := f.TimeS()
		if thicker < 2*slab || thicker > 4*slab {
			t.Fatalf("twice as thick takes %g of %g", thicker, slab)
		}
	})
	for _, r := range []struct {
		f     Freezing
		field string
	}{{Freezing{Shape: "cube"}, "shape"}, {PasteSlab(0, 0.2, -18, 6), "thickness_mm"}, {PasteSlab(10, 0.2, 0, 6), "freezer_c"}, {PasteSlab(10, 1, -18, 6), "solids_pct"}, {PasteSlab(math.NaN(), 0.2, -18, 6), "thickness_mm"}} {
		_, err := r.f.TimeS()
		var in *InputError
		if !errors.As(err, &in) || in.Field != r.field {
			t.Errorf("%+v: %v", r.f, err)
		}
	}
}

func TestShelfLife(t *testing.T) {
	for _, r := range [][2]float64{{60, 2.253}, {80, 2.953}, {100, 3.871}} {
		near(t, "Q10 from 20 to 30 °C", Faster(r[0], 20, 30), r[1], 6e-4, "arrhenius1889 with codata2018, worked by an independent program")
	}
	fresh, ok := Life(FreshUnwashed, 3)
	if !ok || fresh.Low != 3 || fresh.High != 7 {
		t.Errorf("%+v", fresh)
	}
	for _, r := range []struct {
		form  Form
		tempC float64
	}{{FreshUnwashed, 10}, {FreshWashed, 20}, {FrozenPaste, -10}, {DriedSealed, 60}, {"canned", 20}, {FreshUnwashed, -5}, {DriedSealed, math.NaN()}} {
		if b, ok := Life(r.form, r.tempC); ok || !math.IsNaN(b.Mid) {
			t.Errorf("%s at %g: %+v", r.form, r.tempC, b)
		}
	}
	washed, _ := Life(FreshWashed, 3)
	if washed.High >= fresh.Low {
		t.Error("washed paste keeps as long as unwashed")
	}
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(-20, 44).Draw(t, "c")
		a, _ := Life(DriedSealed, c)
		b, _ := Life(DriedSealed, c+1)
		if b.Mid > a.Mid || b.Low > a.Low || b.High > a.High || !(a.Low < a.Mid && a.Mid < a.High) {
			t.Fatalf("%g: %+v, then %+v", c, a, b)
		}
		if c > 26 && (a.High/a.Low) < 730.0/180 {
			t.Fatal("warmth makes the band narrower")
		}
	})
	warm, _ := Life(DriedSealed, 35)
	near(t, "low at 35 °C", warm.Low, 180/Faster(100, 25, 35), 1e-9, "arrhenius1889, 100 kJ/mol")
	near(t, "high at 35 °C", warm.High, 730/Faster(60, 25, 35), 1e-9, "arrhenius1889, 60 kJ/mol")
	for _, k := range Keepings() {
		if k.Source == "" || !(k.FromC < k.AtC) {
			t.Errorf("%+v", k)
		}
	}
}

func TestColour(t *testing.T) {
	f := Fadings()
	near(t, "19 min", f[0].PerS*60, 0.03648, 5e-6, "chaiklahan2012: half-life 19 min")
	near(t, "67 min", f[1].PerS*60, 0.01035, 5e-6, "chaiklahan2012: half-life 67 min")
	near(t, "30 min", f[2].PerS*60, 0.0231, 5e-5, "chaiklahan2012: half-life 30 min")
	near(t, "44 min", f[3].PerS*60, 0.0158, 5e-5, "chaiklahan2012: half-life 44 min")
	near(t, "dark and cold", f[5].PerS*day, 0.00121, 5e-6, "applsci2018: about 93 % left after two months")
	near(t, "dark and cold", HalfLifeS(f[5].PerS)/day, 573, 1, "applsci2018")
	near(t, "left", Left(f[0].PerS, 19*60), 0.5, 1e-12, "a half-life")
	low, high := DryingLoss(55)
	if low > 0.37 || high < 0.50 {
		t.Errorf("%g to %g does not hold the two figures in print (oliveira2010 0.37, sarada1999 0.50)", low, high)
	}
	if low, _ := DryingLoss(20); !math.IsNaN(low) || !math.IsNaN(Left(-1, 1)) {
		t.Error("outside the domain")
	}
	if _, high := DryingLoss(80); high != 1 {
		t.Error("over 60 °C only a lower bound is known")
	}
}

func TestEnergy(t *testing.T) {
	const source = "usdasr28, item 11667; the factors of each convention"
	kj, kcal := Energy(MacrosPer100, Specific)
	if !math.IsNaN(kj) {
		t.Error("the specific factors have no kilojoules for a label")
	}
	near(t, "specific", kcal, 290.17, 0.005, source+"; the table prints 290")
	var eu float64
	kj, eu = Energy(MacrosPer100, EU)
	near(t, "EU kJ", kj, 1636.5, 0.1, source)
	near(t, "EU kcal", eu, 387.8, 0.06, source)
	none, us := Energy(MacrosPer100, US)
	near(t, "US", us, 395.0, 0.05, source)
	if !math.IsNaN(none) {
		t.Error("290 or 395 kcal must not become kilojoules by themselves")
	}
	if a, b := Energy(MacrosPer100, "other"); !math.IsNaN(a) || !math.IsNaN(b) {
		t.Error("a convention that is none")
	}
	near(t, "salt", SaltOfSodium(1.048), 2.62, 1e-12, "eu1169: 2.5 times sodium")
	// The table closes: water, protein, fat, ash and carbohydrate make 100 g.
	sum := 0.0
	for _, k := range []string{"water_g", "protein_g", "fat_g", "ash_g", "carbohydrate_g"} {
		n, ok := NutrientOf(k)
		if !ok {
			t.Fatal(k)
		}
		sum += n.Per100
	}
	near(t, "sum", sum, 100, 1e-9, source)
	protein, _ := NutrientOf("protein_g")
	if MacrosPer100.ProteinG != protein.Per100 {
		t.Error("two figures for protein")
	}
}

func TestRounding(t *testing.T) {
	of := func(key string, g float64) float64 {
		n, ok := NutrientOf(key)
		if !ok {
			t.Fatal(key)
		}
		_, mid, _ := n.In(g)
		return mid
	}
	const us = "cfr1019, fdanlea (the guide's table), by hand on usdasr28"
	const eu = "eurounding, by hand on usdasr28"
	rows := []struct {
		by     Convention
		key    string
		amount float64
		want   float64
		less   bool
		source string
	}{
		{US, "energy_kcal", 14.5, 15, false, us}, {US, "fat_g", of("fat_g", 5), 0, false, us}, {US, "saturated_g", of("saturated_g", 5), 0, false, us},
		{US, "sodium_mg", of("sodium_mg", 5), 50, false, us}, {US, "carbohydrate_g", of("carbohydrate_g", 5), 1, false, us}, {US, "fibre_g", of("fibre_g", 5), 0, false, us},
		{US, "sugars_g", of("sugars_g", 5), 0, false, us}, {US, "protein_g", of("protein_g", 5), 3, false, us},
		{US, "energy_kcal", 29, 30, false, us}, {US, "sodium_mg", of("sodium_mg", 10), 105, false, us}, {US, "protein_g", of("protein_g", 10), 6, false, us},
		{US, "fat_g", of("fat_g", 10), 1, false, us}, {US, "carbohydrate_g", of("carbohydrate_g", 10), 2, false, us},
		{US, "energy_kcal", 4.9, 0, false, us}, {US, "energy_kcal", 50, 50, false, us}, {US, "energy_kcal", 52, 50, false, us}, {US, "energy_kcal", 56, 60, false, us},
		{US, "cholesterol_mg", 1.9, 0, false, us}, {US, "cholesterol_mg", 3, 5, true, us}, {US, "cholesterol_mg", 8, 10, false, us},
		{US, "fibre_g", 0.7, 1, true, us}, {US, "sodium_mg", 144, 140, false, us}, {US, "sodium_mg", 146, 150, false, us}, {US, "fat_g", 4.74, 4.5, false, us}, {US, "fat_g", 5.4, 5, false, us},
		{US, "daily_pct", 7.92, 8, false, us}, {US, "daily_pct", 33.9, 35, false, us}, {US, "daily_pct", 4.13, 4, false, us}, {US, "daily_pct", 9.92, 10, false, us},
		{US, "daily_pct", 14.1, 15, false, us}, {US, "daily_pct", 4.0, 4, false, us}, {US, "daily_pct", 1.06, 2, false, us + " (0 is allowed too)"}, {US, "daily_pct", 0.4, 0, false, us}, {US, "daily_pct", 56, 60, false, us},
		{EU, "energy_kj", 1636.5, 1637, false, eu}, {EU, "energy_kcal", 387.8, 388, false, eu}, {EU, "fat_g", 7.72, 7.7, false, eu},
		{EU, "saturated_g", 2.65, 2.7, false, eu + "; a half goes up"}, {EU, "carbohydrate_g", 20.3, 20, false, eu}, {EU, "sugars_g", 3.1, 3.1, false, eu},
		{EU, "fibre_g", 3.6, 3.6, false, eu}, {EU, "protein_g", 57.47, 57, false, eu}, {EU, "salt_g", 2.62, 2.6, false, eu},
		{EU, "fat_g", 0.5, 0.5, true, eu}, {EU, "fat_g", 0, 0, false, eu}, {EU, "saturated_g", 0.08, 0.1, true, eu}, {EU, "salt_g", 0.0125, 0.01, true, eu}, {EU, "salt_g", 0.014, 0.01, false, eu}, {EU, "salt_g", 0.996, 1, false, eu},
		{EU, "iron_mg", 28.5, 29, false, eu}, {EU, "potassium_mg", 1363, 1360, false, eu}, {EU, "thiamin_mg", 2.38, 2.4, false, eu},
	}
	for _, r := range rows {
		d, ok := Declare(r.by, r.key, r.amount)
		if !ok || math.Abs(d.Value-r.want) > 1e-9 || d.Less != r.less {
			t.Errorf("%s %s of %g: %+v, %v; want %g (%s)", r.by, r.key, r.amount, d, ok, r.want, r.source)
		}
	}
	// What is printed has no tail: 53 tenths are 5.3.
	if d, _ := Declare(EU, "fat_g", 5.26); strconv.FormatFloat(d.Value, 'g', -1, 64) != "5.3" {
		t.Errorf("5.26 g prints as %v", d.Value)
	}
	// Shares of the daily values of 2016, of 5 g.
	for _, r := range []struct {
		key string
		pct float64
	}{{"iron_mg", 7.92}, {"copper_mg", 33.9}, {"manganese_mg", 4.13}, {"thiamin_mg", 9.92}, {"riboflavin_mg", 14.1}, {"niacin_mg", 4.0}, {"vitamin_k_ug", 1.06}} {
		for _, d := range Dailies(US) {
			if d.Key == r.key {
				near(t, r.key, 100*of(r.key, 5)/d.Amount, r.pct, 0.06, "daily values of 2016, from memory")
			}
		}
	}
	for _, key := range []string{"energy_kcal", "fat_g", "sodium_mg", "salt_g", "iron_mg", "daily_pct"} {
		for _, by := range []Convention{US, EU} {
			if _, ok := Declare(by, key, -1); ok {
				t.Error("a negative amount is declared")
			}
		}
	}
	if _, ok := Declare(US, "iron_mg", 1); ok {
		t.Error("US minerals are declared by their daily share here")
	}
	rapid.Check(t, func(t *rapid.T) {
		by := rapid.SampledFrom([]Convention{US, EU}).Draw(t, "by")
		key := rapid.SampledFrom([]string{"energy_kcal", "fat_g", "protein_g", "daily_pct"}).Draw(t, "key")
		a := rapid.Float64Range(0, 500).Draw(t, "a")
		b := a + rapid.Float64Range(0, 50).Draw(t, "more")
		da, _ := Declare(by, key, a)
		db, _ := Declare(by, key, b)
		if db.Value < da.Value {
			t.Fatalf("%s %s: %g is %g and %g is %g", by, key, a, da.Value, b, db.Value)
		}
		if again, _ := Declare(by, key, da.Value); !da.Less && math.Abs(again.Value-da.Value) > 1e-9 {
			t.Fatalf("%s %s: %g is rounded again to %g", by, key, da.Value, again.Value)
		}
	})
}

func TestPortions(t *testing.T) {
	const source = "who1998: 0.04 µg/kg a day; arithmetic"
	for _, r := range []struct{ body, portion, want float64 }{{60, 2, 1.200}, {60, 3, 0.800}, {60, 5, 0.480}, {60, 10, 0.240}, {70, 5, 0.560}, {20, 3, 0.267}, {15, 2, 0.300}} {
		near(t, "limit", ToxinLimit(0.04, r.body, r.portion), r.want, 5e-4, source)
		near(t, "and back", MostByToxin(0.04, r.body, ToxinLimit(0.04, r.body, r.portion)), r.portion, 1e-9, source)
	}
	near(t, "lead of 3 mg/kg in 5 g", MetalInPortion(3, 5), 15, 1e-12, "arithmetic")
	near(t, "most by 5 µg of lead", MostByMetal(5, 3), 5.0/3, 1e-12, "usp2232, from memory")
	phe, _ := NutrientOf("phenylalanine_g")
	low, mid, high := phe.In(5)
	near(t, "phenylalanine in 5 g", mid*1000, 138.9, 0.06, "usdasr28, item 11667")
	near(t, "exchanges", mid/Exchange, 2.8, 0.03, "50 mg to an exchange, from memory")
	if !(low < mid && mid < high) {
		t.Error("no spread")
	}
	near(t, "purines in 5 g", Purines*5/100, 63, 0.5, "purinetext")
	k, _ := NutrientOf("vitamin_k_ug")
	_, mid, _ = k.In(5)
	near(t, "vitamin K in 5 g", mid, 1.3, 0.03, "usdasr28, item 11667")
	for _, x := range []float64{ToxinLimit(0, 60, 3), ToxinLimit(0.04, 60, 0), MostByToxin(0.04, 60, 0), MostByMetal(0, 1), MostByMetal(1, 0)} {
		if !math.IsNaN(x) {
			t.Errorf("%g where there is no answer", x)
		}
	}
}
