package sky

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/air"
)

func TestVapourOf(t *testing.T) {
	// A moist day whose night is saturated still has the day's mean.
	w := newDaySwing(6)
	var es [24]float64
	for h := range es {
		es[h] = air.Saturation(20 + 10*w.at(float64(h)+0.5))
	}
	for _, rh := range []float64{20, 60, 85, 95} {
		e, mean := vapourOf(rh, &es), 0.0
		for _, s := range es {
			mean += 100 * math.Min(1, e/s) / 24
		}
		check(t, "mean humidity", mean, rh, 0.2, "what was asked for")
	}
}

func TestAlmanacDays(t *testing.T) {
	for _, r := range table(t, "days.csv") {
		n := func(c string) float64 { return r.num(t, c) }
		src := r["id"] + ", " + r["source"]
		site := Site{LatDeg: n("lat"), LonDeg: n("lon"), ElevationM: n("elevation_m")}
		a := NewAlmanac(site, r.time(t, "window_start_utc"), 1)
		if len(a.days) != 1 || len(a.hours) != 24 || a.first != 0 {
			t.Fatalf("%s: %d days of %d hours, first %d", src, len(a.days), len(a.hours), a.first)
		}
		// the declination of noon stands for the day
		check(t, "extraterrestrial", a.days[0].extraMJ, n("extraterrestrial_mj_m2"), 1e-3*n("extraterrestrial_mj_m2"), src)
		// quarter hours instead of minutes
		check(t, "clear sky", a.days[0].clearMJ, n("ineichen_tl3_ghi_mj_m2"), 3e-3*n("ineichen_tl3_ghi_mj_m2"), src)
		sum := 0.0
		for _, h := range a.hoursOf(0) {
			sum += h.share
		}
		if a.days[0].clearMJ > 0 {
			check(t, "shares", sum, 1, 1e-9, "of one day")
		}
	}
}

func TestDaySwing(t *testing.T) {
	for _, half := range []float64{3, 4.5, 6, 7, 9.5} {
		w := newDaySwing(half)
		lo, hi, sum := math.Inf(1), math.Inf(-1), 0.0
		at := 0.0
		for i := range 24000 {
			v := w.at(float64(i) / 1000)
			if v > hi {
				hi, at = v, float64(i)/1000
			}
			lo = math.Min(lo, v)
			sum += v / 24000
		}
		check(t, "mean", sum, 0, 1e-4, "about the day's mean")
		check(t, "range", hi-lo, 1, 2e-3, "from lowest to highest")
		check(t, "warmest hour", at, 12+1.86-0.17, 0.05, "Parton & Logan 1981: 1.86 h after noon, less 0.17")
		check(t, "end of the night meets its beginning", w.at(w.lowest-1e-9), w.at(w.lowest), 1e-6, "continuous")
		check(t, "sunset", w.at(w.lowest+w.day-1e-9), w.at(w.lowest+w.day+1e-9), 1e-6, "continuous")
	}
}

func TestYearCourse(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var m [12]float64
		for i := range m {
			m[i] = rapid.Float64Range(-20, 40).Draw(rt, "month")
		}
		y := newYearCourse(m)
		for i := range m {
			if got := yearMonthMean(&y, i); math.Abs(got-m[i]) > 0.01 {
				rt.Fatalf("month %d has mean %v, want %v", i, got, m[i])
			}
		}
		if math.Abs(y.at(0)-y.at(365)) > 1e-9 {
			rt.Fatalf("the year does not close: %v, %v", y.at(0), y.at(365))
		}
	})
}
