package sky

import (
	"math"
	"testing"
)

func TestMonthGlobal(t *testing.T) {
	for _, c := range []struct {
		name             string
		lat              float64
		month            int
		sunH, want, toll float64
		source           string
	}{
		// 220 h of sunshine in May give 7.1 h a day; the handbook takes the 15th
		// for the month, we all its days.
		{"Rio de Janeiro in May", -22.9, 4, 220.0 / 31, 14.5, 0.15, "FAO 56 (Allen et al. 1998), example 10"},
		{"no sunshine at all is a quarter of what lies above the air", 0, 2, 0, 0.25 * 37.9, 0.2, "FAO 56, eq. 35 and annex 2, table 2.6: 37.9 MJ/m²/d at the equator in March, from memory"},
	} {
		got := MonthGlobal(Site{LatDeg: c.lat}, c.month, c.sunH)
		if math.Abs(got-c.want) > c.toll {
			t.Errorf("%s: %.2f MJ/m²/d, want %.2f ± %.2f (%s)", c.name, got, c.want, c.toll, c.source)
		}
	}
	if a, b := MonthGlobal(Site{LatDeg: 60}, 11, 12), MonthGlobal(Site{LatDeg: 60}, 11, 24); a != b {
		t.Errorf("more sunshine than the day is long changes it: %.2f, %.2f", a, b)
	}
}
