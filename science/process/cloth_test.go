package process

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.8g, want %.8g ± %g (%s)", what, got, want, tolerance, source)
	}
}

func TestMassBalance(t *testing.T) {
	const source = "dry matter that neither comes nor goes, product at 5 % of water"
	rows := []struct{ solids, dry, paste, water float64 }{
		{0.08, 11.500, 11.875, 10.875}, {0.10, 9.000, 9.500, 8.500}, {0.15, 5.667, 6.333, 5.333}, {0.20, 4.000, 4.750, 3.750}, {0.25, 3.000, 3.800, 2.800},
	}
	for _, r := range rows {
		near(t, "water on dry matter", DryBasis(1-r.solids), r.dry, 5e-4, source)
		near(t, "paste", PastePerProduct(r.solids, 0.05), r.paste, 5e-4, source)
		near(t, "water to leave", WaterToLeave(1000*r.paste, r.solids, 0.95), 1000*r.water, 0.6, source)
	}
	// The pastes that were dried in Burkina Faso and France: 2.73 and 3.12 on dry matter.
	near(t, "solids of 2.73", 1-WetBasis(2.73), 0.268, 5e-4, "tiendrebeogo2015")
	near(t, "solids of 3.12", 1-WetBasis(3.12), 0.243, 5e-4, "tiendrebeogo2015")
	near(t, "0.075 on dry matter", WetBasis(0.075), 0.070, 3e-4, "tiendrebeogo2015")
	rapid.Check(t, func(t *rapid.T) {
		w := rapid.Float64Range(0, 0.999).Draw(t, "wet")
		if math.Abs(WetBasis(DryBasis(w))-w) > 1e-12 {
			t.Fatal(w)
		}
		m := rapid.Float64Range(1, 1e5).Draw(t, "dry")
		s := rapid.Float64Range(0.01, 1).Draw(t, "solids")
		if math.Abs(Solids(m, Mass(m, s))-s) > 1e-12 {
			t.Fatal(m, s)
		}
		to := rapid.Float64Range(0.01, 1).Draw(t, "to")
		left := Mass(m, s) - WaterToLeave(Mass(m, s), s, to)
		if to >= s && math.Abs(left*to-m) > 1e-9*m {
			t.Fatalf("%g of dry matter became %g", m, left*to)
		}
	})
	for _, x := range []float64{DryBasis(-0.1), DryBasis(1.1), WetBasis(-1), Mass(1, 0), Solids(2, 1), PastePerProduct(0.97, 0.05), WaterToLeave(1, 0, 1)} {
		if !math.IsNaN(x) {
			t.Errorf("%g where there is no answer", x)
		}
	}
	if WetBasis(math.Inf(1)) != 1 || Caught(10, 0.1, 0.2, 1) != 0 {
		t.Error("ends")
	}
	near(t, "caught", Caught(500, 0.5, 0, 0.95), 237.5, 1e-9, "by hand")
	for _, s := range Stages() {
		if got, ok := StageOf(s.Name); !ok || got != s || !(s.Low < s.Mid && s.Mid < s.High) {
			t.Errorf("%+v", s)
		}
	}
}

// A textbook's problem: calcium carbonate at 46.2 kN/m² on 0.0439 m², 23.47 kg
// of solid in a cubic metre of filtrate; answers 1.106·10¹¹ m/kg and 6.40·10¹⁰ 1/m.
func TestFilterProblem(t *testing.T) {
	const source = "geankoplis2003, problem 14.2-1; read from the line by eye there, so 3 and 6 %"
	poured := []Poured{{17.3, 0.5}, {41.3, 1.0}, {72.0, 1.5}, {108.3, 2.0}, {152.0, 2.5}, {201.7, 3.0}}
	c, err := FitCloth(poured, 0.0439, 23.47)
	if err != nil {
		t.Fatal(err)
	}
	// Back to resistances, water at 25 °C: 0.8937 mPa·s.
	const mu = 0.8937e-3
	rm := 46.2e3 / (mu * c.StartLM2H / 3.6e6)
	alpha := rm / (c.HalfLoadGM2 / 1e3)
	near(t, "cake", alpha, 1.106e11, 0.03*1.106e11, source)
	near(t, "cloth", rm, 6.40e10, 0.06*6.40e10, source)
	for _, p := range poured {
		near(t, "time", c.TimeS(p.VolumeL, 0.0439, 23.47), p.TimeS, 0.02*p.TimeS, "its own readings")
	}
	// The law of the book with its own constants gives the flux and the load.
	k := Cake{CakeMPerKg: 1.106e11, ClothPerM: 6.40e10, PressureKPa: 46.2, ViscosityPaS: 0.8937e-3}.Cloth()
	near(t, "flux", k.StartLM2H, 46.2e3/(mu*6.40e10)*3.6e6, 1, "Δp/(μ R_m)")
	near(t, "load", k.HalfLoadGM2, 1e3*6.40e10/1.106e11, 1e-6, "R_m/α")
	near(t, "2.5 L", k.TimeS(2.5, 0.0439, 23.47), 152, 3, source)
}

func TestClothWithoutCake(t *testing.T) {
	// At a flux that does not fall, time is volume over area and flux.
	for _, r := range []struct{ flux, minutes float64 }{{100, 1200}, {500, 240}, {1000, 120}, {3000, 40}} {
		c := Cloth{StartLM2H: r.flux, HalfLoadGM2: 1e12}
		near(t, "500 L on 0.25 m²", c.TimeS(500, 0.25, 0.5)/60, r.minutes, 1e-3, "volume over area and flux")
	}
	// The default: a kilogram on a square metre at 500 L/m²/h on the average.
	near(t, "default", 2000/(HandRaked.TimeS(2000, 1, 0.5)/3600), 500, 0.5, "what the default says of itself")
}

func TestClothLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Cloth{rapid.Float64Range(10, 1e4).Draw(t, "flux"), rapid.Float64Range(5, 1e4).Draw(t, "load")}
		v, a, x := rapid.Float64Range(1, 1e4).Draw(t, "volume"), rapid.Float64Range(0.01, 10).Draw(t, "area"), rapid.Float64Range(0.05, 3).Draw(t, "density")
		s := c.TimeS(v, a, x)
		if got := c.VolumeL(s, a, x); math.Abs(got-v) > 1e-9*v {
			t.Fatalf("%g L became %g", v, got)
		}
		if got := c.AreaM2(v, s, x); math.Abs(got-a) > 1e-9*a {
			t.Fatalf("%g m² became %g", a, got)
		}
		if c.TimeS(2*v, a, x) < 2*s {
			t.Fatal("the second half ran faster than the first")
		}
		if c.TimeS(v, 2*a, x) > s/2 {
			t.Fatal("twice the cloth took more than half of the time")
		}
		// The flux is the slope of volume over time.
		d := 1e-5 * s
		slope := (c.VolumeL(s+d, a, x) - c.VolumeL(s-d, a, x)) / (2 * d) * 3600 / a
		if got := c.FluxLM2H(v, a, x); math.Abs(got-slope) > 1e-4*slope {
			t.Fatalf("flux %g, slope %g", got, slope)
		}
		var poured []Poured
		for i := 1; i <= 5; i++ {
			poured = append(poured, Poured{c.TimeS(v*float64(i)/5, a, x), v * float64(i) / 5})
		}
		fit, err := FitCloth(poured, a, x)
		if x*v/a < 0.01*c.HalfLoadGM2 {
			return // no cake to speak of: the slope is lost
		}
		if err != nil || math.Abs(fit.StartLM2H-c.StartLM2H) > 1e-6*c.StartLM2H || math.Abs(fit.HalfLoadGM2-c.HalfLoadGM2) > 1e-5*c.HalfLoadGM2 {
			t.Fatalf("%+v fitted as %+v, %v", c, fit, err)
		}
	})
}

func TestBadPouring(t *testing.T) {
	rows := []struct {
		readings []Poured
		area, x  float64
		field    string
	}{
		{nil, 1, 1, "readings"}, {[]Poured{{10, 1}}, 1, 1, "readings"}, {[]Poured{{10, 1}, {10, 1}}, 1, 1, "readings"},
		{[]Poured{{10, 10}, {15, 20}}, 1, 1, "readings"},  // speeds up
		{[]Poured{{1, 10}, {400, 200}}, 1, 1, "readings"}, // from nothing
		{[]Poured{{-1, 10}, {400, 200}}, 1, 1, "readings"},
		{[]Poured{{10, 10}, {25, 20}}, 0, 1, "area_m2"}, {[]Poured{{10, 10}, {25, 20}}, 1, 0, "density_g_per_l"},
	}
	for _, r := range rows {
		_, err := FitCloth(r.readings, r.area, r.x)
		var in *InputError
		if !errors.As(err, &in) || in.Field != r.field {
			t.Errorf("%v: %v", r, err)
		}
	}
	if !math.IsNaN(HandRaked.TimeS(-1, 1, 1)) || !math.IsNaN(HandRaked.VolumeL(1, 0, 1)) || !math.IsNaN(Cloth{}.AreaM2(1, 1, 1)) || !math.IsNaN(HandRaked.FluxLM2H(1, 1, -1)) {
		t.Error("outside the domain")
	}
}

func TestRinse(t *testing.T) {
	const source = "the models themselves, worked by an independent program"
	ratios := []float64{0.5, 1, 1.5, 2, 3}
	rows := []struct {
		name string
		f    func(n float64) float64
		want []float64
	}{
		{"displacement 0.86", func(n float64) float64 { return Displaced(n, 0.86) }, []float64{0.3742, 0.1400, 0.0524, 0.0196, 0.0027}},
		{"displacement 0.70", func(n float64) float64 { return Displaced(n, 0.70) }, []float64{0.5477, 0.3000, 0.1643, 0.0900, 0.0270}},
		{"mixed", Flushed, []float64{0.6065, 0.3679, 0.2231, 0.1353, 0.0498}},
		{"one step", func(n float64) float64 { return Stirred(n, 1) }, []float64{0.6667, 0.5000, 0.4000, 0.3333, 0.2500}},
		{"two steps", func(n float64) float64 { return Stirred(n, 2) }, []float64{0.6400, 0.4444, 0.3265, 0.2500, 0.1600}},
	}
	for _, r := range rows {
		for i, n := range ratios {
			near(t, r.name, r.f(n), r.want[i], 6e-5, source)
		}
		near(t, r.name+" without water", r.f(0), 1, 1e-15, source)
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(0, 20).Draw(t, "n")
		k := rapid.IntRange(1, 50).Draw(t, "steps")
		if Stirred(n, k+1) > Stirred(n, k)+1e-15 || Flushed(n) > Stirred(n, k)+1e-15 {
			t.Fatal("more steps left more salt")
		}
		if n >= 1 && (Displaced(n, 0.86) > Stirred(n, 2) || Stirred(n, 2) > Stirred(n, 1)) {
			t.Fatal("order of the models")
		}
		if math.Abs(Stirred(n, 1<<30)-Flushed(n)) > 1e-6 {
			t.Fatal("endless steps are not a flush")
		}
	})
	// 5.667 g of sodium in a litre of the classic medium; 0.5 to 2 kg of liquor on a kilogram.
	for _, r := range [][2]float64{{0.5, 2.83}, {1.0, 5.67}, {1.5, 8.50}, {2.0, 11.33}} {
		near(t, "sodium of the medium", SaltInCake(5.667, 0.2, r[0]/4, 1), r[1], 0.006, "zarrouk1966: 16.8 g NaHCO3, 2.5 g NaNO3 and 1 g NaCl in a litre")
	}
	near(t, "sodium by weights", 16.8/84.007*22.990+2.5/84.994*22.990+1.0/58.44*22.990, 5.667, 2e-3, "ciaaw2024")
	if DefaultRinse != 0 {
		t.Error("rinsing shortens life: none is the default")
	}
	for _, x := range []float64{Displaced(-1, 0.5), Displaced(1, 1.5), Stirred(1, 0), Stirred(-1, 1), Flushed(-1), SaltInCake(1, 0, 1, 1)} {
		if !math.IsNaN(x) {
			t.Errorf("%g where there is no answer", x)
		}
	}
}
