package twin

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestBuffers(t *testing.T) {
	const (
		nbs   = "Hamer, Pinching & Acree 1946 (J. Res. NBS 36:47): pH = 4.000 + 0.0000479 (t − 15)², abstract; the scale was moved by 0.003 later"
		iupac = "Buck et al. 2002 (Pure Appl. Chem. 74:2169), table 2, from memory"
		maker = "a maker's table of buffers by temperature, to 0.01"
	)
	for _, c := range []struct {
		b      Buffer
		tempC  float64
		want   float64
		tol    float64
		source string
	}{
		{Phthalate4, 15, 4.000, 0.004, nbs}, {Phthalate4, 40, 4.030, 0.006, nbs}, {Phthalate4, 0, 4.011, 0.009, nbs},
		{Phthalate4, 25, 4.005, 0.004, iupac}, {Phosphate7, 25, 6.865, 0.001, iupac}, {Borax9, 25, 9.180, 0.001, iupac}, {Carbonate10, 25, 10.012, 0.001, iupac},
		{Technical7, 20, 7.02, 0.005, maker}, {Technical7, 0, 7.12, 0.005, maker}, {Carbonate10, 20, 10.06, 0.006, maker}, {Carbonate10, 30, 9.97, 0.006, maker},
		{Carbonate10, 10, 10.18, 0.006, maker}, {Carbonate10, 35, 9.93, 0.006, maker}, {Carbonate10, 50, 9.83, 0.006, maker}, {Borax9, 0, 9.46, 0.006, maker},
		{Borax9, 10, 9.33, 0.006, maker}, {Phosphate7, 0, 6.98, 0.006, maker}, {Phosphate7, 10, 6.92, 0.006, maker},
	} {
		if got := c.b.PH(c.tempC); math.Abs(got-c.want) > c.tol {
			t.Errorf("buffer %s at %g °C: %.3f, want %.3f ± %g (%s)", c.b, c.tempC, got, c.want, c.tol, c.source)
		}
	}
	for b := range numBuffers {
		if got, ok := ParseBuffer(b.String()); !ok || got != b {
			t.Errorf("the name %q is not read back", b)
		}
		if math.Abs(b.PH(22.5)-(b.PH(20)+b.PH(25))/2) > 1e-12 || !math.IsNaN(b.PH(51)) || !math.IsNaN(b.PH(-1)) {
			t.Errorf("buffer %s: not straight between its rows, or told outside them", b)
		}
	}
	if got := NernstMV(25); math.Abs(got-59.159) > 0.002 {
		t.Errorf("Nernst slope at 25 °C %.3f mV, want 59.159 (CODATA)", got)
	}
}

// A meter with any offset and slope is found by two buffers, and what it shows
// in water is brought back to the truth.
func TestMeterIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		off, slope := rapid.Float64Range(-0.6, 0.6).Draw(t, "offset"), rapid.Float64Range(0.8, 1.1).Draw(t, "slope")
		tempC, waterC := rapid.Float64Range(5, 40).Draw(t, "temp"), rapid.Float64Range(5, 40).Draw(t, "water")
		ph := rapid.Float64Range(8.5, 11).Draw(t, "ph")
		compensated := rapid.Bool().Draw(t, "compensated")
		shows := func(ph, at float64) float64 {
			k := slope
			if !compensated {
				k *= (at + 273.15) / (tempC + 273.15)
			}
			return 7 + off + k*(ph-7)
		}
		m, err := CheckMeter(InBuffer{Carbonate10, tempC, shows(Carbonate10.PH(tempC), tempC)}, InBuffer{Technical7, tempC, shows(Technical7.PH(tempC), tempC)}, compensated)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(m.Offset-off) > 1e-9 || math.Abs(m.Slope-slope) > 1e-9 {
			t.Errorf("offset %.4f slope %.4f, want %.4f %.4f", m.Offset, m.Slope, off, slope)
		}
		if got := m.True(shows(ph, waterC), waterC); math.Abs(got-ph) > 1e-9 {
			t.Errorf("pH %.3f came back as %.3f", ph, got)
		}
		bias, sd := m.Bias(ph, waterC)
		if math.Abs(bias-(shows(ph, waterC)-ph)) > 1e-9 || !(sd > 0.015 && sd < 0.08) {
			t.Errorf("bias %.3f ± %.3f, want %.3f", bias, sd, shows(ph, waterC)-ph)
		}
	})
}

// Outside the buffers the error grows: 4 and 7 say less of a pond than 7 and 10.
func TestMeterFarFromBuffers(t *testing.T) {
	near, _ := CheckMeter(InBuffer{Technical7, 25, 7.0}, InBuffer{Carbonate10, 25, 10.0}, true)
	far, _ := CheckMeter(InBuffer{Phthalate4, 25, 4.0}, InBuffer{Technical7, 25, 7.0}, true)
	_, a := near.Bias(10.3, 25)
	_, b := far.Bias(10.3, 25)
	// Propagation of error by hand: weights (10.3−7)/3.01 and its rest; (10.3−4.008)/2.992 and its rest.
	wa, wb := 0.03*math.Hypot(1.096, 0.096), 0.03*math.Hypot(2.103, 1.103)
	if math.Abs(a-wa) > 0.0005 || math.Abs(b-wb) > 0.0005 {
		t.Errorf("± %.4f and ± %.4f, want %.4f and %.4f (propagation of error)", a, b, wa, wb)
	}
	if near.State() != "good" {
		t.Errorf("a meter that shows its buffers is %q", near.State())
	}
}

func TestMeterRefuses(t *testing.T) {
	ok := InBuffer{Technical7, 25, 7}
	for _, c := range []struct {
		field string
		b     InBuffer
	}{
		{"high.temp_c", InBuffer{Carbonate10, 60, 10}}, {"high.shown", InBuffer{Carbonate10, 25, 15}}, {"high.buffer", InBuffer{Phosphate7, 25, 6.9}},
		{"high.shown", InBuffer{Carbonate10, 25, 7.1}},
	} {
		_, err := CheckMeter(ok, c.b, true)
		var me *MeterError
		if !errors.As(err, &me) || me.Field != c.field && !(c.field == "high.buffer" && me.Field == "high.buffer") {
			t.Errorf("%+v: error %v, want one of %q", c.b, err, c.field)
		}
	}
}

// A check teaches the members their meter, and through it what it said of
// carbon: a meter that reads 0.15 too much made the pond look poorer in carbon
// than it is.
func TestCheckTeaches(t *testing.T) {
	e := started(t, Config{Members: 200, Draws: 1, Seed: 8})
	dic := func() float64 { return e.Band(func(m *Member) float64 { return m.Pond.Mol[0+dicIndex] }).Mid }
	truth := e.Band(func(m *Member) float64 { return m.Expect(PH, e.workers[0]) - m.PHBias }).Mid
	was := dic()
	for range 3 {
		e.Assimilate(ReadPH(truth+0.15, false))
	}
	fooled := dic()
	e.Assimilate(Reading{Kind: MeterCheck, Value: 0.15, Sigma: 0.03, Op: '=', Slip: 4})
	after := dic()
	if !(fooled < was && after > fooled && math.Abs(after-was) < math.Abs(fooled-was)) {
		t.Errorf("carbon %.3f mol, after a biased meter %.3f, after its check %.3f", was, fooled, after)
	}
	bias := e.Band(func(m *Member) float64 { return m.PHBias })
	if math.Abs(bias.Mid-0.15) > 0.04 {
		t.Errorf("bias %.3f, the check said 0.15", bias.Mid)
	}
	e.Adjusted(0.03)
	bias = e.Band(func(m *Member) float64 { return m.PHBias })
	if math.Abs(bias.Mid) > 0.01 || math.Abs(bias.High-tenth*0.03) > 0.01 {
		t.Errorf("after setting the meter the bias is %+v, want 0 ± 0.03", bias)
	}
}
