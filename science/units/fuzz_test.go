package units

import (
	"errors"
	"math"
	"testing"
	"unicode/utf8"
)

// No text panics; what is understood is finite, printed exactly reads back as
// itself, and printed for people reads back near it; what is not understood
// says why in one line.
func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"1 1/2 cups", "3 five-gallon buckets", "2,4 cm", "1:10", "95 F", "400 µmol m⁻² s⁻¹", "1,000 L", "2 tbsp and 2 tsp",
		"180 mg/L as CaCO3", `5'3"`, "5 g per 100 mL", "half a cup", "-40 °C", "1e3 L", "1 oz", "6 bottles of 2 L", "10 %", "/", "^", "-", "1 m^", "of", "a", "1 a", "1 x", "1 sq", "1 us", "1..", "1,,1", "1 L a",
	} {
		for _, k := range []Kind{Any, Volume, Length, Ratio} {
			f.Add(s, int(k), 1)
		}
	}
	f.Fuzz(func(t *testing.T, text string, kind, system int) {
		k := Kind(uint(kind) % uint(numKinds))
		sys := System(uint(system) % 2)
		q, err := Parse(text, k, sys)
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Message == "" || e.Key == "" || q.Value != 0 {
				t.Fatalf("%q: %#v", text, err)
			}
			if utf8.ValidString(text) && !utf8.ValidString(e.Error()) {
				t.Fatalf("%q: the message is not text: %q", text, e.Error())
			}
			return
		}
		if math.IsNaN(q.Value) || math.IsInf(q.Value, 0) || q.Value < 0 && !q.Kind.info().signed {
			t.Fatalf("%q reads as %v", text, q.Value)
		}
		if q.Kind == Any || k != Any && q.Kind != k {
			t.Fatalf("%q as %v is a %v", text, k, q.Kind)
		}
		if q.Kind == Share && q.Value > 1 { // a bare 3 would be asked about
			return
		}
		again, err := Parse(Exact(q.Value, q.Kind), q.Kind, sys)
		if err != nil || math.Float64bits(again.Value) != math.Float64bits(q.Value) {
			t.Fatalf("%q reads as %v, its exact print %q as %v, %v", text, q.Value, Exact(q.Value, q.Kind), again.Value, err)
		}
		if v := math.Abs(q.Value); v > 1e-9 && v < 1e12 && q.Kind != Temperature && q.Kind != TemperatureDifference && q.Kind != PH && q.Kind != Ratio {
			printed := Format(q.Value, q.Kind, sys, 0)
			if p, err := Parse(printed, q.Kind, sys); err != nil || math.Abs(p.Value-q.Value) > 0.0051*v {
				t.Fatalf("%q reads as %v, prints as %q, reads as %v, %v", text, q.Value, printed, p.Value, err)
			}
		}
	})
}

func BenchmarkParse(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Parse("3 five-gallon buckets", Volume, US); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFormat(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Format(0.0237, Length, Metric, 0.002)
	}
}

func BenchmarkKitchen(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Kitchen(0.100, US, Down); err != nil {
			b.Fatal(err)
		}
	}
}
