package units

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The sizes are those of TestFactors; the wording is ours.
func TestKitchen(t *testing.T) {
	rows := []struct {
		volumeL float64
		sys     System
		r       Rounding
		want    string
	}{
		{0.315, US, Nearest, "1 1/3 US cups"},
		{0.040, US, Nearest, "2 tbsp and 2 tsp"},
		{0.040, Metric, Nearest, "2 tbsp and 2 tsp"},
		{0.2365882365, US, Down, "1 US cup"},
		{0.2365882365, US, Up, "1 US cup"},
		{0.250, Metric, Down, "1 metric cup"},
		{0.100, US, Down, "1/3 US cup, 1 tbsp and 1 tsp"},
		{0.100, US, Up, "1/3 US cup and 1 1/2 tbsp"},
		{0.300, US, Up, "1 1/4 US cups and 1 tsp"},
		{0.700, Metric, Down, "2 3/4 metric cups"},
		{5, US, Nearest, "1 gal and 5 US cups"},
		{19, US, Nearest, "5 gal"},
		{19, US, Up, "5 gal and 1/3 US cup"},
		{19, Metric, Nearest, "19 L"},
		{0.00061, US, Nearest, "1/8 tsp"},
		{0.0125, Metric, Nearest, "2 1/2 tsp"},
	}
	for _, r := range rows {
		m, err := Kitchen(r.volumeL, r.sys, r.r)
		if err != nil || m.Text != r.want {
			t.Errorf("Kitchen(%v L, %v, %v) = %q, %v; want %q", r.volumeL, r.sys, r.r, m.Text, err, r.want)
		}
	}
	for _, r := range []struct {
		volumeL float64
		r       Rounding
		key     string
	}{
		{0.0003, Down, "too_small"}, {0, Nearest, "not_positive"}, {-1, Nearest, "not_positive"},
		{math.NaN(), Nearest, "not_positive"}, {math.Inf(1), Nearest, "not_positive"}, {1e7, Nearest, "too_large"},
	} {
		_, err := Kitchen(r.volumeL, US, r.r)
		var e *Error
		if !errors.As(err, &e) || e.Key != r.key {
			t.Errorf("Kitchen(%v L) = %v, want %s", r.volumeL, err, r.key)
		}
	}
}

// Whatever the volume: the words read back as what they hold, the error told is
// the error made, a limit is not crossed, and a dose of two spoons or more is hit within 4 %,
// 7 % on one side.
func TestKitchenProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sys := anySystem(t)
		way := Rounding(rapid.IntRange(0, 2).Draw(t, "way"))
		v := math.Pow(10, rapid.Float64Range(-3, 2.5).Draw(t, "exponent"))
		m, err := Kitchen(v, sys, way)
		if err != nil {
			t.Fatalf("%v L: %v", v, err)
		}
		q, err := Parse(m.Text, Volume, sys)
		if err != nil || !near(q.Value, m.VolumeL, 1e-12) {
			t.Fatalf("%v L is %q, which reads as %v, %v; it holds %v", v, m.Text, q.Value, err, m.VolumeL)
		}
		if !near(m.VolumeL, v*(1+m.ErrorShare), 1e-11) {
			t.Fatalf("%v L is %q: error told %v, held %v", v, m.Text, m.ErrorShare, m.VolumeL)
		}
		if way == Down && m.VolumeL > v*(1+2e-9) || way == Up && m.VolumeL < v*(1-2e-9) {
			t.Fatalf("%v L: %q crosses the limit (%v)", v, m.Text, m.VolumeL)
		}
		allowed := 0.04
		if way != Nearest {
			allowed = 0.07
		}
		if v < 0.03 {
			allowed *= 2 // quarters of a spoon are coarse here
		}
		if v > 0.01 && math.Abs(m.ErrorShare) > allowed {
			t.Fatalf("%v L: %q misses by %.1f %%", v, m.Text, 100*m.ErrorShare)
		}
		sum := 0.0
		for _, s := range m.Scoops {
			unit := strings.NewReplacer("us_cup", "US cup", "metric_cup", "metric cup", "litre", "L").Replace(s.Unit)
			one, err := Parse("1 "+unit, Volume, sys)
			if err != nil || s.Den < 1 {
				t.Fatalf("scoop %+v: %v", s, err)
			}
			sum += one.Value * (float64(s.Whole) + float64(s.Num)/float64(s.Den))
		}
		if !near(sum, m.VolumeL, 1e-12) {
			t.Fatalf("%q: the scoops hold %v, not %v", m.Text, sum, m.VolumeL)
		}
	})
}

func TestKitchenMass(t *testing.T) {
	m, err := KitchenMass(240, 240/usCupL, US, Nearest)
	if err != nil || m.Text != "1 US cup" || !near(m.MassG, 240, 1e-12) {
		t.Errorf("240 g of a powder of 240 g to the cup: %+v, %v", m, err)
	}
	m, err = KitchenMass(100, 900, Metric, Down)
	if err != nil || m.MassG > 100 || m.MassG < 95 || !near(m.MassG, 900*m.VolumeL, 1e-12) {
		t.Errorf("at most 100 g: %+v, %v", m, err)
	}
	for _, bulk := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if _, err := KitchenMass(100, bulk, US, Nearest); err == nil {
			t.Errorf("a bulk density of %v went unnoticed", bulk)
		}
	}
}
