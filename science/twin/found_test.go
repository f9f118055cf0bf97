package twin

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A check as a journal keeps it, one buffer and the slope, gives the meter that
// two buffers gave.
func TestFoundMeter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		off, slope := rapid.Float64Range(-0.5, 0.5).Draw(t, "offset"), rapid.Float64Range(0.82, 1.08).Draw(t, "slope")
		shows := func(ph float64) float64 { return 7 + off + slope*(ph-7) }
		low := Technical7.PH(20)
		m, err := FoundMeter(low, shows(low), slope, 20)
		if err != nil {
			t.Fatal(err)
		}
		bias, sd := m.Bias(10.2, 20)
		if math.Abs(bias-(shows(10.2)-10.2)) > 1e-9 {
			t.Errorf("at 10.2 it shows %.3f too much, want %.3f", bias, shows(10.2)-10.2)
		}
		two, err := CheckMeter(InBuffer{Technical7, 20, shows(low)}, InBuffer{Carbonate10, 20, shows(Carbonate10.PH(20))}, true)
		if err != nil {
			t.Fatal(err)
		}
		if b, s := two.Bias(10.2, 20); math.Abs(b-bias) > 1e-9 || math.Abs(s-sd) > 0.002 {
			t.Errorf("two buffers say %.3f ± %.3f, the journal's form %.3f ± %.3f", b, s, bias, sd)
		}
	})
	// One buffer says nothing of the slope: what it is taken for counts.
	one, err := FoundMeter(7, 7.1, math.NaN(), 25)
	if err != nil {
		t.Fatal(err)
	}
	bias, sd := one.Bias(10, 25)
	// Propagation by hand: 0.1 too much throughout; 0.03 in quadrature with 3 units
	// of a slope unsure by 0.05.
	if math.Abs(bias-0.1) > 1e-9 || math.Abs(sd-math.Hypot(0.03, 0.15)) > 1e-9 {
		t.Errorf("one buffer: %.3f ± %.3f at pH 10, want 0.100 ± 0.153 (propagation of error)", bias, sd)
	}
	for _, c := range []struct {
		field            string
		ph, shown, slope float64
	}{{"expected", 15, 7, 1}, {"read", 7, math.NaN(), 1}, {"slope_pct", 7, 7, 0.2}} {
		_, err := FoundMeter(c.ph, c.shown, c.slope, 25)
		var me *MeterError
		if !errors.As(err, &me) || me.Field != c.field {
			t.Errorf("%+v: %v, want an error of %q", c, err, c.field)
		}
	}
}

// What is expected to be read is what reads as that density.
func TestCurveReadAt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom([]Kind{Secchi, OD}).Draw(t, "kind")
		c := Curve{Kind: k, LnConstant: rapid.Float64Range(-0.8, 0.5).Draw(t, "constant"), SD: 0.1, Slope: rapid.Float64Range(0.7, 1.3).Draw(t, "slope"), LnAt: rapid.Float64Range(-1, 2).Draw(t, "at")}
		x := rapid.Float64Range(0.05, 2).Draw(t, "density")
		read := c.ReadAt(x, c.LnConstant)
		if got := c.DensityGL(read).Mid; math.Abs(got-x) > 1e-9*x {
			t.Errorf("%g g/L is read as %g, which is %g g/L", x, read, got)
		}
	})
}
