package medium_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/medium"

	"pgregory.net/rapid"
)

func TestDechlorinationRatios(t *testing.T) {
	const (
		by    = "stoichiometry of the reaction and the IUPAC weights"
		field = "field table of disinfection guides, by way of USDA Forest Service 0523-1301 (Land 2005)"
	)
	for _, row := range []struct {
		reagent           string
		best, slow, worst float64
		fieldMg           float64
	}{
		{"ascorbic acid", 2.484, 2.484, 2.484, 2.5},
		{"sodium ascorbate", 2.794, 2.794, 2.794, 2.8},
		{"sodium thiosulfate", 0.875, 3.500, 7.000, 1.9},
		{"sodium sulfite", 1.778, 1.778, 1.778, 1.96},
		{"sodium metabisulfite", 1.341, 1.341, 1.341, 1.47},
		{"sodium bisulfite", 1.468, 1.468, 1.468, 1.61},
	} {
		r, ok := medium.ReagentByName(row.reagent)
		if !ok {
			t.Errorf("no %s", row.reagent)
			continue
		}
		got := r.MgPerMg()
		for i, want := range []float64{row.best, row.slow, row.worst} {
			if math.Abs(got[i]-want) > 0.001 {
				t.Errorf("%s: %.4f mg for a milligram of chlorine, want %.3f (%s)", row.reagent, got[i], want, by)
			}
		}
		if math.Abs(r.FieldMgMg-row.fieldMg) > 1e-9 {
			t.Errorf("%s: %g in the field, want %g (%s)", row.reagent, r.FieldMgMg, row.fieldMg, field)
		}
	}
	// 500 L at 0.8 mg/L of free chlorine.
	for _, row := range []struct {
		reagent      string
		dose, atMost float64
	}{{"vitamin c", 1000, 1100}, {"sodium ascorbate", 1120, 1232}, {"hypo", 760, 1540}} {
		r, _ := medium.ReagentByName(row.reagent)
		d := r.Dechlorinate(500, 0.8, 0)
		if math.Abs(d.DoseMg-row.dose) > 0.5 || math.Abs(d.MostMg-row.atMost) > 1 {
			t.Errorf("%s for 400 mg of chlorine: %.1f, at most %.1f mg, want %g and %g (%s; a tenth of doubt; thiosulfate's slow way is 1400)", row.reagent, d.DoseMg, d.MostMg, row.dose, row.atMost, field)
		}
	}
	// Land 2005: a gram of ascorbic acid for 1 mg/L in 100 US gallons.
	r, _ := medium.ReagentByName("vitamin c")
	if d := r.Dechlorinate(378.54, 1, 0); math.Abs(d.DoseMg-1000) > 60 {
		t.Errorf("100 US gallons at 1 mg/L: %.0f mg, want about 1000 (USDA Forest Service 0523-1301)", d.DoseMg)
	}
	// Chloramine leaves its ammonia: 0.1975 mg of nitrogen for each milligram.
	if d := r.Dechlorinate(100, 0, 2); math.Abs(d.AmmoniaNMgL-0.395) > 0.001 {
		t.Errorf("2 mg/L of chloramine leave %.4f mg/L of nitrogen, want 0.395 (NH2Cl)", d.AmmoniaNMgL)
	}
}

func TestStandingOfChlorine(t *testing.T) {
	// The middle guess: nine tenths in 24 h.
	b := medium.StandHours(1)
	if math.Abs(b.Mid-24) > 1e-9 || !(b.Low < b.Mid && b.Mid < b.High) {
		t.Errorf("1 mg/L: %+v h, want 24 in the middle (assumption)", b)
	}
	if !(b.Low <= 24 && b.High >= 24) {
		t.Errorf("1 mg/L: %+v h must span a day standing (common practice, no source)", b)
	}
	if b.High < 96 || b.High > 120 {
		t.Errorf("1 mg/L takes %.0f h at worst, want four to five days for a 19 L bucket (popular pages)", b.High)
	}
	if z := medium.StandHours(0.05); z.High != 0 {
		t.Errorf("0.05 mg/L: %+v h", z)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(0, 5).Draw(t, "a"), rapid.Float64Range(0, 5).Draw(t, "b")
		if x, y := medium.StandHours(math.Min(a, b)), medium.StandHours(math.Max(a, b)); x.Mid > y.Mid+1e-12 {
			t.Fatalf("more chlorine takes less time: %+v, %+v", x, y)
		}
	})
}

func TestWorstMetals(t *testing.T) {
	find := func(n string) *medium.Ingredient {
		in, err := medium.Lookup(n, medium.EU)
		if err != nil {
			t.Fatal(err)
		}
		return in
	}
	mkp := find("mkp")
	perKgP := func(p float64) float64 { return p / 0.2276 / mkp.Purity } // g of salt for p g of phosphorus
	for _, row := range []struct {
		what      string
		fed       medium.Fed
		want, tol float64
	}{
		{"phosphate at the law's limit, 10 g P", medium.Fed{Of: mkp, GPerKg: perKgP(10), Grade: medium.GradeFertiliser}, 1.37, 0.01},
		{"the same at 13.5 g P", medium.Fed{Of: mkp, GPerKg: perKgP(13.5), Grade: medium.GradeFertiliser}, 1.86, 0.02},
		{"with a certificate of 20 mg", medium.Fed{Of: mkp, GPerKg: perKgP(10), Grade: medium.GradeFertiliser, CdPerP2O5: 20}, 0.458, 0.005},
	} {
		got := medium.WorstMetals([]medium.Fed{row.fed}, nil, 0)["Cd"]
		if math.Abs(got-row.want) > row.tol {
			t.Errorf("%s: %.3f mg/kg of cadmium, want %.3f (60 mg/kg P2O5, EU 2019/1009, from memory; 22.9 g of P2O5 in 10 g of P)", row.what, got, row.want)
		}
	}
	over := medium.Over(medium.WorstMetals([]medium.Fed{{Of: mkp, GPerKg: perKgP(10), Grade: medium.GradeFertiliser}}, nil, 0), medium.ProductLimits())
	if len(over) == 0 || over[0] != "As" && over[0] != "Cd" {
		t.Errorf("over the limits: %v, cadmium must be among them", over)
	}
	// Water: 10 µg/L of arsenic, 200 L for a kilogram.
	if got := medium.WorstMetals(nil, map[string]float64{"As": 10}, 200)["As"]; math.Abs(got-2) > 1e-12 {
		t.Errorf("arsenic of the water: %g mg/kg, want 2", got)
	}
	own := medium.WorstMetals([]medium.Fed{{Of: mkp, GPerKg: 50, Grade: medium.GradeFood, MgPerKg: map[string]float64{"Pb": 0.1}}}, nil, 0)
	if math.Abs(own["Pb"]-0.005) > 1e-12 {
		t.Errorf("a certificate of 0.1 mg/kg: %g mg/kg", own["Pb"])
	}
}

func TestSaltCreep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := medium.Creep{
			Now: rapid.Float64Range(10, 30).Draw(t, "now"), Fill: rapid.Float64Range(0, 9).Draw(t, "fill"), TopUp: rapid.Float64Range(0, 1).Draw(t, "topup"),
			Fed: rapid.Float64Range(0, 0.2).Draw(t, "fed"), VolumeL: rapid.Float64Range(10, 5000).Draw(t, "volume"), LostLD: rapid.Float64Range(0, 100).Draw(t, "lost"),
			CarriedD: rapid.Float64Range(0, 5).Draw(t, "carried"),
		}
		c.Limit = c.Now + rapid.Float64Range(0.1, 20).Draw(t, "room")
		// The days, by small steps.
		d := c.Days()
		x := c
		at := 0.0
		for at < math.Min(d, 400) {
			h := 0.02
			mid := x
			mid.Now += h / 2 * x.RatePerDay()
			x.Now += h * mid.RatePerDay()
			at += h
		}
		if d < 400 && math.Abs(x.Now-c.Limit) > 0.02*(c.Limit-c.Now)+0.03*math.Abs(c.RatePerDay()) {
			t.Fatalf("after %.3f days it is at %.5g, limit %.5g", d, x.Now, c.Limit)
		}
		if d >= 400 && x.Now > c.Limit+1e-6 {
			t.Fatalf("over the limit after %.1f days, told %.1f", at, d)
		}
		// One draw, and many, come to the target.
		target := c.Fill + rapid.Float64Range(0.2, 0.95).Draw(t, "target")*(c.Now-c.Fill)
		out := c.Once(target)
		if got := c.Now + (c.Fill-c.Now)*out/c.VolumeL; math.Abs(got-target) > 1e-9 {
			t.Fatalf("one draw of %g L leads to %g, want %g", out, got, target)
		}
		n := rapid.IntRange(1, 8).Draw(t, "draws")
		each := c.InParts(target, n)
		now := c.Now
		for range n {
			now += (c.Fill - now) * each / c.VolumeL
		}
		if math.Abs(now-target) > 1e-9 || float64(n)*each < out-1e-9 {
			t.Fatalf("%d draws of %g L lead to %g, want %g; one takes %g L", n, each, now, target, out)
		}
		// A steady purge holds the limit.
		p := c.Steady()
		hold := c
		hold.Now, hold.CarriedD = c.Limit, c.CarriedD+p
		if p > 0 && math.Abs(hold.RatePerDay()) > 1e-9 || p == 0 && hold.RatePerDay() > 1e-9 {
			t.Fatalf("with %g L a day it moves by %g a day", p, hold.RatePerDay())
		}
	})
	c := medium.Creep{Now: 30, Limit: 25, VolumeL: 100, Fill: 26}
	if c.Days() != 0 || !math.IsNaN(c.Once(25)) || !math.IsNaN(c.InParts(25, 3)) {
		t.Error("filling up with more salt than the target cannot help")
	}
}

// Salt and a meter: conductivities of sodium chloride at 25 °C.
func TestVolumeBySalt(t *testing.T) {
	s := brine.New(brine.Pitzer)
	const source = "equivalent conductivity of NaCl at 25 °C, CRC Handbook (after Shedlovsky 1932): 118.45 at 0.01, 115.70 at 0.02, 111.01 at 0.05 mol/L (from memory)"
	for _, row := range []struct{ molL, lambda float64 }{{0.01, 118.45}, {0.02, 115.70}, {0.05, 111.01}} {
		x := medium.Tracer{SaltG: row.molL * 58.44 * 250, BeforeMS: 0, AfterMS: row.molL * row.lambda, MeterErr: 0.01, StepMS: 0.001, SaltErrG: 1}
		v, err := x.Volume(s)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(v.Mid/250-1) > 0.01 {
			t.Errorf("%g mol/L: %.2f L, want 250 ± 1 %% (%s)", row.molL, v.Mid, source)
		}
		if !(v.Low < 250 && 250 < v.High) {
			t.Errorf("%g mol/L: 250 L lie outside %+v", row.molL, v)
		}
	}
	// The interval covers what it says, in tap water with honest errors.
	r := rand.New(rand.NewPCG(3, 5))
	inside, total := 0, 400
	for range total {
		volume := 100 + 900*r.Float64()
		before := 0.2 + 0.5*r.Float64()
		grams := volume * (0.5 + r.Float64())
		after, err := conduct(s, before, grams/volume)
		if err != nil {
			t.Fatal(err)
		}
		gain := 1 + 0.005*r.NormFloat64()
		read := func(x float64) float64 { return math.Round(x*gain*(1+0.005*r.NormFloat64())*100) / 100 }
		x := medium.Tracer{SaltG: grams, BeforeMS: read(before), AfterMS: read(after), MeterErr: 0.01, StepMS: 0.01}
		v, err := x.Volume(s)
		if err != nil {
			t.Fatal(err)
		}
		if v.Low <= volume && volume <= v.High {
			inside++
		}
	}
	if share := float64(inside) / float64(total); share < 0.75 || share > 0.99 {
		t.Errorf("the 80 %% band holds the volume %.0f %% of the time", 100*share)
	}
	for _, x := range []medium.Tracer{
		{SaltG: 100, BeforeMS: 17, AfterMS: 17.85, MeterErr: 0.01}, // half a gram a litre drowns in a medium
		{SaltG: 100, BeforeMS: 0.5, AfterMS: 0.5, MeterErr: 0.01}, {SaltG: 0, BeforeMS: 0.5, AfterMS: 1, MeterErr: 0.01},
		{SaltG: 1, BeforeMS: 0.5, AfterMS: 0.502, MeterErr: 0.01}, {SaltG: 1, BeforeMS: math.NaN(), AfterMS: 1},
	} {
		var ie *medium.InputError
		if _, err := x.Volume(s); !errors.As(err, &ie) || ie.Field == "" {
			t.Errorf("%+v was taken: %v", x, err)
		}
	}
}

// conduct returns the conductivity of tap water that conducts before, half of it
// by sodium chloride, with gPerL of salt in it.
func conduct(s *brine.Solver, before, gPerL float64) (float64, error) {
	var x brine.Totals
	var w brine.Water
	lo, hi := 0.0, 0.1
	for range 60 {
		c := (lo + hi) / 2
		x = brine.Totals{}
		x[brine.Na], x[brine.Cl], x[brine.Ca], x[brine.DIC] = c/2, c/2, c/4, c/2
		if err := s.Solve(&x, 25, &w); err != nil {
			return 0, err
		}
		if brine.ConductivityMSCm25(&w) < before {
			lo = c
		} else {
			hi = c
		}
	}
	x[brine.Na] += gPerL / 58.44
	x[brine.Cl] += gPerL / 58.44
	if err := s.Solve(&x, 25, &w); err != nil {
		return 0, err
	}
	return brine.ConductivityMSCm25(&w), nil
}

func TestVolumeByTitration(t *testing.T) {
	// 840 g of soda are 10 mol; 50 mL of water take 5 mL of 0.1 mol/L acid more: 10 meq/L more.
	x := medium.Titrated{AddedMol: 10, SampleML: 50, TitrantEq: 0.1, BeforeML: 1.2, AfterML: 6.2, ReadML: 0.05}
	v, err := x.Volume()
	if err != nil || math.Abs(v.Mid-1000) > 1e-9 || !(v.Low < 1000 && v.High > 1000 && v.High < 1050) {
		t.Errorf("%+v, %v, want 1000 L (dilution)", v, err)
	}
	for _, bad := range []medium.Titrated{
		{AddedMol: 10, SampleML: 50, TitrantEq: 0.1, BeforeML: 5, AfterML: 5}, {AddedMol: 10, SampleML: 0, TitrantEq: 0.1, BeforeML: 1, AfterML: 5},
		{AddedMol: 10, SampleML: 50, TitrantEq: 0.1, BeforeML: 5, AfterML: 5.1, ReadML: 0.1}, {SampleML: 50, TitrantEq: 0.1, BeforeML: 1, AfterML: 5},
	} {
		var ie *medium.InputError
		if _, err := bad.Volume(); !errors.As(err, &ie) || ie.Field == "" {
			t.Errorf("%+v was taken: %v", bad, err)
		}
	}
}
