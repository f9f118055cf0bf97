package words

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sodalake/farm/advice"
	"sodalake/science/num"
)

// The digits that a spread earns. The rule is our own (design: no digit that
// the spread does not earn), so the rows state what a careful person would
// write by hand.
func TestBand(t *testing.T) {
	s := New("en", Metric, nil)
	for _, c := range []struct {
		name           string
		low, mid, high float64
		want           string
	}{
		{"density_g_per_l", .552, .618, .688, "0.62 g/L (0.55–0.69)"},
		{"ph_25c", 10.13, 10.21, 10.33, "10.2 (10.1–10.3)"},
		{"temp_c", 16.2, 17.1, 18.3, "17 °C (16–18)"},
		{"volume_l", 664, 691, 716, "690 L (660–720)"},
		{"growth_g_per_d", 15.7, 19.2, 23.1, "19 g/day (16–23)"},
		{"temp_c", -3.2, -1.1, 1.4, "−1 °C (−3 to 1)"},
		{"density_g_per_l", .5, .5, .5, "0.50 g/L"},
		{"density_g_per_l", .2, .3, .9, "0.3 g/L (0.2–0.9)"},
		{"density_g_per_l", .561, .66, .758, "0.66 g/L (0.56–0.76)"},
		{"volume_l", 11900, 12345, 13100, "12,300 L (11,900–13,100)"},
		{"secchi_cm", 2.41, 2.69, 3.02, "2.7 cm (2.4–3.0)"},
	} {
		got := s.Band(c.name, num.Band{Low: c.low, Mid: c.mid, High: c.high}).Full()
		if got != c.want {
			t.Errorf("Band(%s, %g, %g, %g) = %q, want %q (our rule: the step is the power of ten not above half the spread)", c.name, c.low, c.mid, c.high, got, c.want)
		}
	}
}

// NIST SP 811 (2008), appendix B.8: 1 US gallon = 3.785412 L, 1 lb = 0.4535924
// kg, t/°F = 1.8 t/°C + 32.
func TestUS(t *testing.T) {
	s := New("en", US, nil)
	for _, c := range []struct {
		name string
		x    float64
		want string
	}{
		{"volume_l", 3.785412, "1 gal"},
		{"cake_kg", 0.4535924, "1 lb"},
		{"temp_c", 25, "77 °F"},
		{"temp_c", -40, "−40 °F"},
		{"secchi_cm", 2.4, "2.4 cm"},
		{"density_g_per_l", .62, "0.62 g/L"},
	} {
		if got := s.Number(c.name, c.x).Plain(); got != c.want {
			t.Errorf("Number(%s, %g) = %q, want %q (NIST SP 811 B.8)", c.name, c.x, got, c.want)
		}
		if back := s.Stored(c.name, s.Shown(c.name, c.x)); back < c.x-1e-9 || back > c.x+1e-9 {
			t.Errorf("Stored(Shown(%s, %g)) = %g", c.name, c.x, back)
		}
	}
}

func TestRead(t *testing.T) {
	s := New("en", Metric, nil)
	for x, want := range map[float64]string{2.4: "2.4", 9.62: "9.62", 24: "24", 10.2: "10.2", 0.7: "0.7"} {
		if got := s.Read("ph", x).Value; got != want {
			t.Errorf("Read(%g) = %q, want %q: a reading is shown as it was noted", x, got, want)
		}
	}
}

func TestAmount(t *testing.T) {
	for _, c := range []struct {
		m    Measures
		a    advice.Amount
		want string
	}{
		{Metric, advice.Amount{Value: 320, Unit: "L", Low: 280, High: 360}, "320 L (280–360)"},
		{Metric, advice.Amount{Value: 140, Unit: "g", Low: 120, High: 160}, "140 g (120–160)"},
		{Metric, advice.Amount{Value: 26, Unit: "L"}, "26 L"},
		{Metric, advice.Amount{Value: 20, Unit: "fields"}, "20 fields"},
		{US, advice.Amount{Value: 320, Unit: "L", Low: 280, High: 360}, "85 gal (74–95)"}, // 320/3.785 = 84.5
		{US, advice.Amount{Value: 300, Unit: "g"}, "10.6 oz"},                             // 300/28.35 = 10.58, NIST SP 811
		{US, advice.Amount{Value: 50, Unit: "g"}, "50 g"},
	} {
		if got := New("en", c.m, nil).Amount(c.a).Full(); got != c.want {
			t.Errorf("%s Amount(%+v) = %q, want %q", c.m, c.a, got, c.want)
		}
	}
}

// Whatever the numbers, something that can be read is said, the ends of a
// spread stand in order, and no digit is finer than a tenth of the spread.
func TestAnyBand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := New("en", rapid.SampledFrom([]Measures{Metric, US}).Draw(t, "measures"), nil)
		x := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-1e6, 1e6), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e-300, 1e300}))
		name := rapid.SampledFrom([]string{"density_g_per_l", "ph", "temp_c", "volume_l", "cake_kg", "odd", "", "_", "x_low", "g"}).Draw(t, "name")
		b := num.Band{Low: x.Draw(t, "low"), Mid: x.Draw(t, "mid"), High: x.Draw(t, "high")}
		for _, got := range []string{s.Band(name, b).Full(), s.Number(name, b.Mid).Plain(), s.Read(name, b.Mid).Plain(), s.Amount(advice.Amount{Value: b.Mid, Low: b.Low, High: b.High, Unit: "g"}).Full()} {
			if got == "" || strings.Contains(got, "NaN") || strings.Contains(got, "Inf") {
				t.Fatalf("%s %v is said %q", name, b, got)
			}
		}
	})
	for w := 1e-6; w < 1e7; w *= 1.7 {
		step := Step(w, 0)
		if step > w/2*(1+1e-6) || step < w/20*(1-1e-6) {
			t.Errorf("a spread of %g is rounded to %g, which is not between a twentieth and a half of it", w, step)
		}
	}
}

func BenchmarkSentence(b *testing.B) {
	s := New("en", Metric, nil)
	r := advice.Reason{Key: "reason.harvest.ready", Args: map[string]any{
		"density_g_per_l": .618, "density_g_per_l_low": .552, "density_g_per_l_high": .688, "ready_g_per_l": .5, "chance": .81}}
	b.ReportAllocs()
	for b.Loop() {
		_ = s.Sentence(r)
	}
}
