package twin

import (
	"math"
	"testing"

	"sodalake/science/growth"
)

// TestReadings holds each reading against its value and error worked out by hand.
func TestReadings(t *testing.T) {
	const byHand = "worked out by hand from the errors as said in the doc comments"
	for _, c := range []struct {
		what         string
		r            Reading
		value, sigma float64 // at the reading itself
	}{
		{"disc at 2.5 cm", ReadSecchi(2.5), math.Log(2.5), 0.1},
		{"optical density 1", ReadOD(1), 0, 0.03606},
		{"optical density 0.1", ReadOD(0.1), math.Log(0.1), 0.2022},
		{"dry weight", ReadDryWeight(0.5), math.Log(0.5), 0.07},
		{"pH by meter", ReadPH(10.2, false), 10.2, 0.05},
		{"pH by strip", ReadPH(10.2, true), 10.2, 0.35},
		{"temperature", ReadTemp(24), 24, 0.6},
		{"level", ReadLevel(15), 15, 0.3},
		{"conductivity", ReadConductivity(15), math.Log(15), 0.03},
		{"nitrate", ReadNitrate(10), math.Log(10), 0.25},
		{"ammonia", ReadAmmonia(0.5), math.Log(0.5), 0.25},
		{"500 g pressed from 250 L", ReadCake(500, 250, false), math.Log(0.4), 0.13},
		{"100 g dried from 250 L", ReadCake(100, 250, true), math.Log(0.4), 0.0781},
		{"flagged", ReadSecchi(2.5).Spoiled(-0.25, 0.25), math.Log(2.5) + 0.25, 0.2618},
	} {
		if !c.r.Usable() || math.Abs(c.r.Value-c.value) > 1e-12 || math.Abs(c.r.at(c.r.Value)-c.sigma) > 1e-4 {
			t.Errorf("%s: %.4f ± %.4f, want %.4f ± %.4f (%s)", c.what, c.r.Value, c.r.at(c.r.Value), c.value, c.sigma, byHand)
		}
	}
	// The error of the stick is that of where the disc is thought to go.
	if r := ReadSecchi(0.25); math.Abs(r.at(math.Log(2.5))-0.1) > 1e-12 {
		t.Errorf("± %.3f at 2.5 cm", r.at(math.Log(2.5)))
	}
	// A disc at 1.7 cm, 2–3 mm of reading error and 15 % on the constant: the
	// density is known to 19–23 %.
	for _, mm := range []float64{2, 3} {
		sd := math.Hypot(mm/17, 0.15)
		if sd < 0.185 || sd > 0.235 {
			t.Errorf("%.3f (propagation of error)", sd)
		}
	}
	dark := ReadSecchi(1.7)
	if got := math.Hypot(dark.at(math.Log(1.7)), 0.15); math.Abs(got-0.21) > 0.003 {
		t.Errorf("a disc at 1.7 cm leaves %.3f, want 0.21 (propagation of error with 2.5 mm)", got)
	}
}

// The words keep their order and are wider than any instrument.
func TestColourWords(t *testing.T) {
	last := math.Inf(-1)
	for _, w := range []string{"pale", "green", "blue_green", "dark"} {
		r := ReadColour(w)
		if !r.Usable() || !(r.Value > last) || r.Sigma < 0.4 || r.Op != '=' {
			t.Errorf("%s: %+v", w, r)
		}
		last = r.Value
	}
	// Package growth has its own words for the same; they must not disagree.
	for w, c := range map[string]growth.Colour{"pale": growth.ColourLightGreen, "green": growth.ColourGreen, "dark": growth.ColourDarkGreen} {
		if d := growth.DensityFromColour(c, 0); math.Abs(math.Log(d.MedianGL)-ReadColour(w).Value) > 0.3 {
			t.Errorf("%s stands for %.2f g/L here and %.2f in package growth", w, math.Exp(ReadColour(w).Value), d.MedianGL)
		}
	}
	for _, w := range []string{"yellow", "milky", "brown", ""} {
		if r := ReadColour(w); r.Usable() {
			t.Errorf("%q tells a density", w)
		}
	}
	e := started(t, Config{Members: 150, Draws: 1, Seed: 91})
	mean, sd := lnDensity(e)
	v := e.Tell(ReadColour("pale"))
	m, s := lnDensity(e)
	if !v.Believed || !(m < mean) || !(s < sd) || s < 0.7*sd {
		t.Errorf("pale: mean %.3f from %.3f, spread %.3f from %.3f: it should say a little", m, mean, s, sd)
	}
}

// TestTell holds the memory for doubted readings: two sticks that agree win,
// two dead meters do not, and what lies between breaks the run.
func TestTell(t *testing.T) {
	e := started(t, Config{Members: 150, Draws: 1, Seed: 92})
	first := e.Tell(ReadSecchi(0.9))
	if first.Believed || first.Again != 1 {
		t.Fatalf("0.9 cm at once: %+v", first)
	}
	if v := e.Tell(ReadSecchi(1.9)); v.Believed {
		t.Log("1.9 cm is believed")
	}
	e = started(t, Config{Members: 150, Draws: 1, Seed: 92})
	e.Tell(ReadSecchi(0.9))
	v := e.Tell(ReadSecchi(1.0))
	if !v.Believed || !v.Opened || v.Again != 0 {
		t.Fatalf("0.9 and 1.0 cm: %+v", v)
	}
	if m, _ := lnDensity(e); m < math.Log(0.75) {
		t.Errorf("after two dark readings the density is %.2f", math.Exp(m))
	}
	if v = e.Tell(ReadSecchi(1.0)); !v.Believed || v.Opened {
		t.Errorf("a third that agrees: %+v", v)
	}
	e = started(t, Config{Members: 150, Draws: 1, Seed: 93})
	before, _ := lnDensity(e)
	for i := range 5 {
		if v = e.Tell(ReadPH(7, false)); v.Believed || v.Again != i+1 {
			t.Errorf("dead meter, time %d: %+v", i+1, v)
		}
	}
	if after, _ := lnDensity(e); after != before {
		t.Error("a dead meter moved the density")
	}
	// Two that do not agree with each other.
	e = started(t, Config{Members: 150, Draws: 1, Seed: 94})
	e.Tell(ReadLevel(30))
	if v = e.Tell(ReadLevel(3)); v.Believed || v.Again != 2 {
		t.Errorf("levels of 30 and 3 cm: %+v", v)
	}
	if k := Kind(77).String() + Var(77).String(); k != "unknownunknown" {
		t.Error(k)
	}
}
