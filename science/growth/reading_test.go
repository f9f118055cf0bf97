package growth

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestSecchi(t *testing.T) {
	const handbook = "Jourdan, handbook 2006–2014: about 0.6 g/L at 2 cm, 0.4 at 3, 0.3 at 4, 0.2–0.25 at 5–6; from memory"
	for _, r := range []struct{ cm, gl, tol float64 }{{2, 0.6, 0.02}, {3, 0.4, 0.02}, {4, 0.3, 0.02}, {5, 0.25, 0.02}, {6, 0.2, 0.02}} {
		near(t, "density", DensityFromSecchi(r.cm, SecchiConstant), r.gl, r.tol, handbook)
	}
	// At 1.7 cm, 2–3 mm of reading and 15 % on the constant are ±19–23 %.
	s := NewSecchi(1.7)
	s.ConstantSD = 0.15
	for _, r := range []struct{ cm, want float64 }{{0.2, 0.19}, {0.3, 0.23}} {
		s.ReadErrorCM = r.cm
		near(t, "spread", s.Density().LogSD, r.want, 0.005, "propagation of error, worked by hand")
	}
	for _, cm := range []float64{0, -1, math.NaN()} {
		if !math.IsNaN(DensityFromSecchi(cm, 1.2)) || !math.IsNaN(SecchiFromDensity(cm, 1.2)) {
			t.Errorf("depth or density %g gave a number", cm)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0.01, 5).Draw(t, "x")
		k := rapid.Float64Range(0.5, 2).Draw(t, "k")
		if back := DensityFromSecchi(SecchiFromDensity(x, k), k); math.Abs(back/x-1) > 1e-14 {
			t.Fatalf("%g there and back %g", x, back)
		}
	})
}

func TestSecchiWithFiltrate(t *testing.T) {
	plain := NewSecchi(3)
	s := plain
	s.FiltrateCM = 20
	near(t, "filtrate taken off", s.Density().MedianGL, 1.2*(1.0/3-1.0/20), 1e-12, "X = K(1/d − 1/d_f)")
	if s.Density().LogSD <= plain.Density().LogSD || s.Density().Below {
		t.Error("a second reading cannot narrow the first")
	}
	clear := plain
	clear.FiltrateCM = 1e6
	near(t, "clear filtrate", clear.Density().MedianGL, plain.Density().MedianGL, 1e-5, "nothing to take off")
	near(t, "clear filtrate", clear.Density().LogSD, plain.Density().LogSD, 1e-5, "nothing to take off")
	muddy := plain
	muddy.FiltrateCM = 3.05
	if d := muddy.Density(); !d.Below || math.Abs(d.MedianGL-0.4) > 1e-9 {
		t.Errorf("filtrate as dark as the culture: %+v, want only an upper bound", d)
	}
	muddy.FiltrateCM = 2
	if d := muddy.Density(); !d.Below || !(d.MedianGL > 0) {
		t.Errorf("filtrate darker than the culture: %+v, want only an upper bound", d)
	}
	// With a filtrate the cloud is known: no bias is left of it.
	green := s
	green.Flags = Greens | Chalk
	near(t, "greens with filtrate", green.Density().MedianGL, s.Density().MedianGL, 1e-12, "bias taken off by the filtrate")
	if green.Density().LogSD <= s.Density().LogSD {
		t.Error("greens add no doubt")
	}
}

func TestFlags(t *testing.T) {
	// What makes the disc vanish sooner reads too dark, so the median comes down.
	base := NewSecchi(3)
	for _, r := range []struct {
		flag Flag
		sign float64
	}{{Unstirred, 0}, {Chalk, -1}, {Greens, -1}, {Pale, 1}, {LowSun, -1}} {
		s := base
		s.Flags = r.flag
		d, d0 := s.Density(), base.Density()
		moved := math.Log(d.MedianGL / d0.MedianGL)
		if r.sign == 0 && math.Abs(moved) > 1e-12 || r.sign*moved < 0 || r.sign != 0 && moved == 0 {
			t.Errorf("flag %b moved the median by %g", r.flag, moved)
		}
		if d.LogSD <= d0.LogSD {
			t.Errorf("flag %b adds no doubt", r.flag)
		}
	}
	all := base
	all.Flags = Unstirred | Chalk | Greens | Pale | LowSun
	near(t, "flags add", math.Log(all.Density().MedianGL/base.Density().MedianGL), -(0.25 + 0.20 - 0.20 + 0.08), 1e-12, "sum of the biases")
}

func TestSeenToFloor(t *testing.T) {
	s := NewSecchi(10)
	s.ToFloor = true
	d := s.Density()
	if !d.Below {
		t.Fatal("not one-sided")
	}
	if thin, thick := d.LogLikelihood(0.02), d.LogLikelihood(0.6); !(thin > -0.01 && thick < -5) {
		t.Errorf("likelihoods %g at 0.02 g/L, %g at 0.6: want all but certain and all but excluded", thin, thick)
	}
	near(t, "at the bound", d.LogLikelihood(d.MedianGL), math.Log(0.5), 1e-12, "half of a normal")
	two := Density{0.4, 0.2, false}
	near(t, "best at the median", two.LogLikelihood(0.4), 0, 0, "normal in the logarithm")
	near(t, "one sd off", two.LogLikelihood(0.4*math.Exp(0.2)), -0.5, 1e-12, "normal in the logarithm")
	if !math.IsInf(two.LogLikelihood(0), -1) {
		t.Error("no biomass is possible")
	}
}

func TestOtherReadings(t *testing.T) {
	const karemore = "Karemore et al. 2020: OD750 1.5 is 0.75 g/L"
	near(t, "OD 1.5", DensityFromOD(1.5, ODPerUnit, ODPerUnitSD, 0).MedianGL, 0.75, 1e-12, karemore)
	if a, b := DensityFromOD(0.05, ODPerUnit, 0.25, 0), DensityFromOD(0.5, ODPerUnit, 0.25, 0); a.LogSD <= b.LogSD {
		t.Error("a faint reading is not less sure")
	}
	near(t, "dry weight", DensityFromDryWeight(0.4, 0.02, 0).LogSD, math.Hypot(0.05, 0.05), 1e-12, "propagation of error")
	near(t, "dry weight of pale cells", DensityFromDryWeight(0.4, 0.02, Pale|LowSun).LogSD, math.Hypot(0.05, 0.05), 1e-12, "a balance sees no colour")
	for _, d := range []Density{DensityFromOD(0, 0.5, 0.25, 0), DensityFromDryWeight(-1, 0.02, 0), DensityFromColour(0, 0), DensityFromColour(99, 0)} {
		if !math.IsNaN(d.MedianGL) {
			t.Errorf("nonsense gave %+v", d)
		}
	}
	last := 0.0
	for c := ColourClear; c <= ColourNearBlack; c++ {
		d := DensityFromColour(c, 0)
		if d.MedianGL <= last || d.LogSD < 0.4 {
			t.Errorf("%v: %+v, want darker than the word before and wide", c, d)
		}
		last = d.MedianGL
		if back, ok := ParseColour(c.String()); !ok || back != c {
			t.Errorf("word %q comes back as %v", c, back)
		}
	}
	if c, ok := ParseColour("Dark-Green"); !ok || c != ColourDarkGreen {
		t.Error("spelling matters")
	}
	if _, ok := ParseColour("mauve"); ok {
		t.Error("mauve is known")
	}
}
