package units

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Digits follow the usual rule of reporting: the spread has one significant
// digit and the value ends where it ends. Source: JCGM 100:2008 (GUM), 7.2.6,
// allows at most two; one is the common practice of the bench, no source.
func TestFormat(t *testing.T) {
	rows := []struct {
		value  float64
		kind   Kind
		sys    System
		spread float64
		want   string
	}{
		{0.0237, Length, Metric, 0.002, "2.4 cm"},
		{0.0237, Length, Metric, 0.0002, "2.37 cm"},
		{0.0237, Length, Metric, 0.0015, "2.4 cm"},
		{0.0237, Length, Metric, 0.02, "2 cm"},
		{1234, Volume, Metric, 30, "1230 L"},
		{1234, Volume, Metric, 0.5, "1234.0 L"},
		{1234, Volume, Metric, 400, "1200 L"},
		{0.2365882365, Volume, Metric, 0, "237 mL"},
		{18.92705892, Volume, US, 0, "5 gal"},
		{18.92705892, Volume, US, 0.4, "5.0 gal"},
		{0.0591470591250, Volume, US, 0, "2 fl oz"},
		{35, Temperature, Metric, 0, "35 °C"},
		{35.04, Temperature, Metric, 0.3, "35.0 °C"},
		{35, Temperature, US, 0, "95 °F"},
		{-40, Temperature, US, 1, "-40 °F"},
		{-0.02, Temperature, Metric, 0.3, "0.0 °C"},
		{5, TemperatureDifference, US, 0.5, "9.0 °F"},
		{10.18, PH, Metric, 0.05, "10.18"},
		{10.18, PH, Metric, 0.2, "10.2"},
		{10.18, PH, Metric, 0, "10.2"},
		{0.512, Density, Metric, 0.06, "0.51 g/L"},
		{0.040, Density, Metric, 0, "40 mg/L"},
		{0.1, Ratio, Metric, 0, "1:10"},
		{0.1, Ratio, Metric, 0.02, "1:10"},
		{4, Ratio, Metric, 0, "4:1"},
		{0.3, Share, Metric, 0.02, "30 %"},
		{20 * 28.349523125, Mass, US, 0, "1.25 lb"},
		{9000, Time, Metric, 0, "2.5 h"},
		{3.3e-5, Length, US, 0, "33 µm"},
		{0, Volume, Metric, 0, "0 µL"},
		{99.96, Mass, Metric, 0.3, "100.0 g"},
		{math.NaN(), Volume, Metric, 1, "not known"},
		{math.Inf(1), Volume, Metric, 1, "not known"},
		{2, Volume, Metric, math.NaN(), "2 L"},
		{2, Volume, Metric, math.Inf(1), "2 L"},
	}
	for _, r := range rows {
		if got := Format(r.value, r.kind, r.sys, r.spread); got != r.want {
			t.Errorf("Format(%v, %v, %v, %v) = %q, want %q", r.value, r.kind, r.sys, r.spread, got, r.want)
		}
	}
}

func TestFormatInAndBand(t *testing.T) {
	for _, r := range []struct{ got, want string }{
		{FormatIn(0.0237, Length, "cm", 0.002), "2.4 cm"},
		{FormatIn(0.30, Length, "cm", 0.001), "30.0 cm"},
		{FormatIn(35, Temperature, "°F", 0.3), "95.0 °F"},
		{FormatIn(35, Temperature, "°C", 0.3), "35.0 °C"},
		{FormatIn(0.3, Share, "%", 0.02), "30 %"},
		{FormatIn(18.92705892, Volume, "L", 0.2), "18.9 L"},
		{FormatBand(0.022, 0.026, Length, Metric), "2.2–2.6 cm"},
		{FormatBand(-3, 4, Temperature, Metric), "-3 to 4 °C"},
		{FormatBand(0.2, 0.2, Density, Metric), "0.2 g/L"},
		{FormatBand(0.480, 0.524, Density, Metric), "0.48–0.52 g/L"},
		{FormatBand(math.NaN(), 1, Density, Metric), "not known"},
	} {
		if r.got != r.want {
			t.Errorf("got %q, want %q", r.got, r.want)
		}
	}
	for _, wrong := range []func(){
		func() { FormatIn(1, Length, "L", 0) },
		func() { FormatIn(1, Temperature, "K", 0) },
		func() { Format(1, numKinds, Metric, 0) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Error("a caller's mistake went unnoticed")
				}
			}()
			wrong()
		}()
	}
}

// anyValue draws an amount that a kind may have.
func anyValue(t *rapid.T, k Kind) float64 {
	v := math.Pow(10, rapid.Float64Range(-5, 5).Draw(t, "exponent"))
	switch k {
	case Temperature:
		return rapid.Float64Range(-50, 150).Draw(t, "tempC")
	case TemperatureDifference, PH:
		return rapid.Float64Range(-20, 20).Draw(t, "value")
	case Share:
		return math.Pow(10, rapid.Float64Range(-4, 0).Draw(t, "exponent of the share"))
	case Ratio:
		return math.Pow(10, rapid.Float64Range(-2, 2).Draw(t, "exponent of the ratio"))
	}
	return v
}

func anyKind(t *rapid.T) Kind {
	return Kind(rapid.IntRange(int(Any)+1, int(numKinds)-1).Draw(t, "kind"))
}

func anySystem(t *rapid.T) System {
	return System(rapid.IntRange(0, 1).Draw(t, "system"))
}

// What is printed reads back within half a spread (or half a unit of the third
// digit), and printing it again changes nothing.
func TestPrintThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, sys := anyKind(t), anySystem(t)
		v := anyValue(t, k)
		spread := 0.0
		if rapid.Bool().Draw(t, "spread known") {
			spread = math.Abs(v)*math.Pow(10, rapid.Float64Range(-4, 0).Draw(t, "share")) + 1e-9
		}
		text := Format(v, k, sys, spread)
		q, err := Parse(text, k, sys)
		if err != nil {
			t.Fatalf("%v of %v printed as %q: %v", v, k, text, err)
		}
		allowed := spread/2*1.001 + 1e-12*math.Abs(v)
		if spread == 0 {
			allowed = 0.00501 * math.Abs(v)
			if k == Temperature || k == TemperatureDifference || k == PH {
				allowed = 0.0501
			}
		} else if k == Ratio {
			allowed = 0.6*spread + 0.02*v*math.Pow(spread/v, 2) + 1e-12 // 1/x is not straight
			if spread > 0.3*v {
				return
			}
		}
		if math.Abs(q.Value-v) > allowed {
			t.Fatalf("%v of %v ± %v printed as %q, read as %v", v, k, spread, text, q.Value)
		}
		if spread == 0 {
			if again := Format(q.Value, k, sys, 0); again != text {
				if r, err := Parse(again, k, sys); err != nil || math.Abs(r.Value-q.Value) > 1e-9*math.Abs(q.Value) {
					t.Fatalf("%q printed again as %q", text, again)
				}
			}
		}
	})
}

// What Exact prints reads back bit for bit.
func TestExactThenParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k, sys := anyKind(t), anySystem(t)
		v := anyValue(t, k)
		if rapid.Bool().Draw(t, "wild") {
			v = math.Abs(rapid.Float64().Draw(t, "wild value"))
		}
		if k == Share {
			v = math.Min(v, 1)
		}
		if v == 0 {
			v = 0 // without its sign
		}
		text := Exact(v, k)
		q, err := Parse(text, k, sys)
		if err != nil {
			t.Fatalf("%q: %v", text, err)
		}
		if math.Float64bits(q.Value) != math.Float64bits(v) { // bits are the promise here
			t.Fatalf("%q reads as %v", text, q.Value)
		}
	})
}

// Parse is linear: twice the number is twice the amount, in every unit.
func TestEveryUnitIsLinear(t *testing.T) {
	for i := range table {
		u := &table[i]
		if u.when == whenSaid || u.offset != "" {
			continue
		}
		name, _, _ := cut(u.names)
		for k := Any + 1; k < numKinds; k++ {
			for _, sys := range []System{Metric, US} {
				a, errA := Parse("1 "+name, k, sys)
				b, errB := Parse("2 "+name, k, sys)
				if (errA == nil) != (errB == nil) || errA == nil && !near(b.Value, 2*a.Value, 1e-15) {
					t.Errorf("1 %s is %v (%v), 2 of it %v (%v)", name, a.Value, errA, b.Value, errB)
				}
			}
		}
	}
}

func cut(names string) (first, rest string, more bool) {
	for i, r := range names {
		if r == '|' {
			return names[:i], names[i+1:], true
		}
	}
	return names, "", false
}

func TestDecimals(t *testing.T) {
	for _, r := range []struct {
		spread float64
		want   int
	}{{0.2, 1}, {0.15, 1}, {0.05, 2}, {1, 0}, {2, 0}, {30, -1}, {12, -1}, {100, -2}, {0.99, 1}, {0.001, 3}} {
		if got := Decimals(r.spread); got != r.want {
			t.Errorf("Decimals(%v) = %d, want %d", r.spread, got, r.want)
		}
	}
}
