package medium_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/units"

	"pgregory.net/rapid"
)

func doses(t testing.TB, salts map[string]float64, volumeL float64) []medium.Dose {
	t.Helper()
	m := mix(t, salts)
	var out []medium.Dose
	for i := range m.Parts {
		out = append(out, medium.Dose{Of: m.Parts[i].Of, MassG: m.Parts[i].GPerL * volumeL, Purity: 1})
	}
	return out
}

// The measures are told with what they do to the mix, and what is told is true.
func TestScoopTellsWhatItDoes(t *testing.T) {
	r, _ := medium.Find("bicarbonate-farm")
	for _, sys := range []units.System{units.US, units.Metric} {
		k, err := medium.Scoop(doses(t, r.SaltsGPerL, 1000), 1000, medium.Amounts{}, medium.Amounts{}, sys)
		if err != nil {
			t.Fatal(err)
		}
		var want, made medium.Amounts
		for _, d := range k.Doses {
			y, err := d.Of.Yield(1)
			if err != nil {
				t.Fatal(err)
			}
			var none medium.Metals
			a := medium.Elements(&y.Totals, &none)
			for e := range a {
				want[e] += a[e] * d.MassG
				made[e] += a[e] * d.MadeG
			}
			if d.Spoons {
				q, err := units.ParseMass(d.Measure.Text, sys, d.Of.BulkGPerL)
				if err != nil || math.Abs(q.Value-d.MadeG) > 1e-6*d.MadeG {
					t.Errorf("%q of %s reads back as %v, %v, told %g g", d.Measure.Text, d.Of.Kitchen, q.Value, err, d.MadeG)
				}
				if math.Abs(d.MadeG/d.MassG-1) > 0.2 {
					t.Errorf("%s: %g g for %g g", d.Of.Kitchen, d.MadeG, d.MassG)
				}
			}
		}
		for e := range want {
			if want[e] > 1e-9 && math.Abs(k.Off[e]-(made[e]/want[e]-1)) > 1e-9 {
				t.Errorf("%v is told to be off by %g, it is off by %g", medium.Element(e), k.Off[e], made[e]/want[e]-1)
			}
		}
		if math.Abs(k.Worst) > 0.05 {
			t.Errorf("a thousand litres by %v cups are off by %.3f in %v", sys, k.Worst, k.Of)
		}
	}
}

// No rounding crosses the cap of urea that the exact batch keeps.
func TestScoopKeepsTheCap(t *testing.T) {
	tight := 0
	rapid.Check(t, func(t *rapid.T) {
		volume := rapid.Float64Range(5, 3000).Draw(t, "volume")
		urea := rapid.Float64Range(0.5, 1).Draw(t, "urea") * medium.PoolUreaMgL / 1000
		salts := map[string]float64{"NaHCO3": 8, "KNO3": rapid.Float64Range(0.5, 3).Draw(t, "nitrate"), "KH2PO4": 0.1, "MgSO4.7H2O": 0.2, "urea": urea}
		var d []medium.Dose
		for name, g := range salts {
			in, err := medium.Lookup(name, medium.US)
			if err != nil {
				t.Fatal(err)
			}
			d = append(d, medium.Dose{Of: in, MassG: g * volume, Purity: 1, BulkGPerL: in.BulkGPerL * rapid.Float64Range(0.8, 1.2).Draw(t, "bulk")})
		}
		var high medium.Amounts
		high[medium.Reduced] = medium.PoolMolL
		sys := rapid.SampledFrom([]units.System{units.US, units.Metric}).Draw(t, "system")
		k, err := medium.Scoop(d, volume, medium.Amounts{}, high, sys)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range k.Doses {
			if s.Of.ID == "urea" {
				if mg := s.MadeG / volume * 1000; mg > medium.PoolUreaMgL*(1+1e-6) {
					t.Fatalf("%s for %g g in %g L: %.3f mg/L", s.Measure.Text, s.MassG, volume, mg)
				}
				if s.Spoons && urea > 0.97*medium.PoolUreaMgL/1000 {
					tight++
				}
			}
		}
	})
	if tight == 0 {
		t.Log("no draw came near the cap")
	}
}

// The choice of measures is as good as trying all of them.
func TestScoopIsTheBestOfAll(t *testing.T) {
	r, _ := medium.Find("school")
	few := map[string]float64{}
	for _, n := range []string{"NaHCO3", "KNO3", "MgSO4.7H2O"} {
		few[n] = r.SaltsGPerL[n]
	}
	all := doses(t, few, 100)
	k, err := medium.Scoop(all, 100, medium.Amounts{}, medium.Amounts{}, units.US)
	if err != nil {
		t.Fatal(err)
	}
	score := func(grams []float64) float64 {
		var want, made medium.Amounts
		for i, d := range all {
			y, _ := d.Of.Yield(1)
			var none medium.Metals
			a := medium.Elements(&y.Totals, &none)
			for e := range a {
				want[e] += a[e] * d.MassG
				made[e] += a[e] * grams[i]
			}
		}
		sum := 0.0
		for _, e := range []medium.Element{medium.Carbon, medium.Alkalinity, medium.Nitrogen, medium.Potassium, medium.Magnesium, medium.Sulfur} {
			sum += math.Pow(made[e]/want[e]-1, 2)
		}
		return sum
	}
	var got []float64
	for _, d := range k.Doses {
		got = append(got, d.MadeG)
	}
	best := score(got)
	for _, d := range []struct{ i, down int }{{0, 0}, {1, 0}, {2, 0}} {
		for _, round := range []units.Rounding{units.Down, units.Up, units.Nearest} {
			m, err := units.KitchenMass(all[d.i].MassG, all[d.i].Of.BulkGPerL, units.US, round)
			if err != nil {
				t.Fatal(err)
			}
			other := append([]float64(nil), got...)
			other[d.i] = m.MassG
			if s := score(other); s < best-1e-12 {
				t.Errorf("%s as %s comes nearer: %.3g, not %.3g", all[d.i].Of.Kitchen, m.Text, s, best)
			}
		}
	}
}

// What is too little for a spoon goes through a stock that comes to the same.
func TestStockForTraces(t *testing.T) {
	k, err := medium.Scoop(doses(t, map[string]float64{"NaHCO3": 16, "FeSO4.7H2O": 0.01, "CuSO4.5H2O": 0.0001}, 20), 20, medium.Amounts{}, medium.Amounts{}, units.US)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range k.Doses {
		switch d.Of.ID {
		case "iron-sulfate", "copper-sulfate":
			if d.Spoons || d.Stock == nil || math.Abs(d.Stock.TakeML/1000*d.Stock.MassG/d.Stock.InL-d.MassG) > 1e-9 {
				t.Errorf("%s: %+v, stock %+v", d.Of.ID, d, d.Stock)
			}
			if d.Of.NoSpoon && d.Stock.Measure != "" {
				t.Errorf("%s is measured by the spoon", d.Of.ID)
			}
		case "baking-soda":
			if !d.Spoons || d.Stock != nil {
				t.Errorf("soda: %+v", d)
			}
		}
	}
}

// Calcium last, soda apart, chelator before iron; every dose poured once.
func TestOrderOfMixing(t *testing.T) {
	r, _ := medium.Find("zarrouk")
	d := doses(t, r.SaltsGPerL, 10)
	seen := map[int]int{}
	at := map[string]int{}
	iron := -1
	for n, p := range medium.Order(d) {
		at[p.Code] = n
		for k, i := range p.Doses {
			seen[i]++
			if d[i].Of.ID == "iron-sulfate" {
				iron = k
			}
			if d[i].Of.ID == "edta" && iron >= 0 {
				t.Error("the iron goes in before the chelator")
			}
		}
		if (p.Code == "soda" || p.Code == "calcium") && !p.Jug {
			t.Errorf("%s goes in without a jug of its own", p.Code)
		}
	}
	for i := range d {
		if seen[i] != 1 {
			t.Errorf("%s is poured %d times", d[i].Of.Kitchen, seen[i])
		}
	}
	if !(at["water"] == 0 && at["soda"] == 1 && at["calcium"] > at["iron"] && at["calcium"] > at["phosphate"] && at["fill"] == at["calcium"]+1 && at["wait"] == at["fill"]+1) {
		t.Errorf("order %v: soda apart and first, calcium last (a laboratory protocol after Zarrouk 1966)", at)
	}
}

// A ready mix: no reading tells little, a pH and a conductivity tell more, what
// cannot be is said, and the feed is capped by the worst case.
func TestReadyMix(t *testing.T) {
	s := brine.New(brine.Pitzer)
	c := growth.DefaultComposition()
	// An invented powder: 70 % soda, 10 % saltpetre, 15 % salt, 5 % others.
	truth := map[string]float64{"NaHCO3": 14, "KNO3": 2, "NaCl": 3, "K2SO4": 0.6, "KH2PO4": 0.2, "MgSO4.7H2O": 0.2}
	p := predict(t, mix(t, truth), medium.Plain())
	guess := func(r medium.ReadyMix) medium.Guess {
		g, err := r.Guess(s, c)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range []struct{ low, mid, high float64 }{{g.SodaGL.Low, g.SodaGL.Mid, g.SodaGL.High}, {g.CarriesN.Low, g.CarriesN.Mid, g.CarriesN.High}} {
			if !(b.low <= b.mid && b.mid <= b.high) {
				t.Errorf("a band out of order: %+v", b)
			}
		}
		return g
	}
	blind := guess(medium.ReadyMix{GPerL: 20})
	told := guess(medium.ReadyMix{GPerL: 20, PH: p.PH25 + 0.1, PHErr: 0.1, MSCm: p.MSCm25, MSErr: 0.03})
	if w, n := blind.SodaGL.High-blind.SodaGL.Low, told.SodaGL.High-told.SodaGL.Low; !(n < w) {
		t.Errorf("readings leave the soda within %.2f g/L, without them %.2f", n, w)
	}
	if !(told.SodaGL.Low <= 14 && 14 <= told.SodaGL.High) || !(blind.SodaGL.Low <= 14 && 14 <= blind.SodaGL.High) {
		t.Errorf("14 g/L of soda lie outside %+v or %+v", told.SodaGL, blind.SodaGL)
	}
	// A powder with soda ash reads higher: it is taken to hold more of it, and its
	// carbon is less for its alkalinity.
	high := guess(medium.ReadyMix{GPerL: 20, PH: 9.6, PHErr: 0.1})
	fresh := guess(medium.ReadyMix{GPerL: 20, PH: 8.2, PHErr: 0.1})
	if !(high.SodaGL.Mid/high.CarriesC.Mid > 1.1*fresh.SodaGL.Mid/fresh.CarriesC.Mid) {
		t.Errorf("pH 9.6: soda %+v carries %+v; pH 8.2: soda %+v carries %+v", high.SodaGL, high.CarriesC, fresh.SodaGL, fresh.CarriesC)
	}
	strange := guess(medium.ReadyMix{GPerL: 20, PH: 6.2, PHErr: 0.1, MSCm: 3, MSErr: 0.03})
	if strange.Fits > 1e-3 || told.Fits < 0.01 {
		t.Errorf("a mix of pH 6.2 fits by %g, the invented one by %g", strange.Fits, told.Fits)
	}
	for _, g := range []medium.Guess{blind, told, strange} {
		if g.MostDayGL*g.Reduced.High > medium.DayUreaMgL+1e-9 || g.MostDayGL*100 > medium.DayUreaMgL+1e-9 || g.MostPoolGL*g.Reduced.High > medium.PoolUreaMgL+1e-9 {
			t.Errorf("the feed of %g g/L a day passes the cap at %g mg/g", g.MostDayGL, g.Reduced.High)
		}
	}
	if again := guess(medium.ReadyMix{GPerL: 20}); again != blind {
		t.Error("the same question has two answers")
	}
	for _, r := range []medium.ReadyMix{{}, {GPerL: -1}, {GPerL: 20, PH: 3}, {GPerL: math.NaN()}} {
		if _, err := r.Guess(s, c); err == nil {
			t.Errorf("%+v was taken", r)
		}
	}
}
