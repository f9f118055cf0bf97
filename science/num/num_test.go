package num

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestQuantile(t *testing.T) {
	// Type 7 of Hyndman & Fan 1996 on 1…5: h = 4p, so 0.1 gives 1.4.
	got := BandOf([]float64{5, 1, 4, math.NaN(), 2, 3})
	want := Band{1.4, 3, 4.6}
	if math.Abs(got.Low-want.Low) > 1e-12 || math.Abs(got.Mid-want.Mid) > 1e-12 || math.Abs(got.High-want.High) > 1e-12 {
		t.Errorf("BandOf = %v, want %v (Hyndman & Fan 1996, type 7)", got, want)
	}
	if !math.IsNaN(BandOf(nil).Mid) {
		t.Error("no values must give NaN")
	}
}

func TestRoot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.Float64Range(-5, 5).Draw(t, "root")
		f := func(x float64) float64 { return math.Expm1(x - want) }
		got, err := Root(f, -6, 6, 1e-10)
		if err != nil || math.Abs(got-want) > 1e-9 {
			t.Fatalf("root of exp(x-%g)-1 = %g, %v", want, got, err)
		}
	})
	if _, err := Root(func(float64) float64 { return 1 }, 0, 1, 1e-9); err == nil {
		t.Error("no crossing must be an error")
	}
}
