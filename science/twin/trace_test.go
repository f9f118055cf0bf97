package twin

import (
	"math"
	"testing"
	"time"

	"sodalake/science/num"
)

// TestTrace holds what a trace wrote against members asked at the same moments.
func TestTrace(t *testing.T) {
	e := started(t, Config{Members: 40, Draws: 1, Seed: 61})
	w := wrap(flatWeather(begins, 4, 800, 25))
	times := []time.Time{begins.Add(7 * time.Hour), begins.Add(26 * time.Hour), begins.Add(49 * time.Hour)}
	days := []time.Time{begins, begins.AddDate(0, 0, 1), begins.AddDate(0, 0, 2), begins.AddDate(0, 0, 3)}
	tr := NewTrace(len(e.Members), times, days, 0.45)
	// Cut elsewhere than at the moments asked for.
	c := e.Copy()
	for _, at := range []time.Time{begins.Add(20 * time.Hour), begins.Add(50 * time.Hour), begins.Add(72 * time.Hour)} {
		c.Advance(at, w, tr)
	}
	d := e.Copy()
	d.Advance(begins.Add(20*time.Hour), w, nil)
	d.Advance(times[1], w, nil)
	// The second cut adds its noise at another moment, so only the first moment
	// can be asked of a second run.
	first := e.Copy()
	first.Advance(times[0], w, nil)
	for i := range first.Members {
		m := &first.Members[i]
		// Before the noise of the cut: take the temperature and the level, which have little.
		if got := tr.Values(TempC, 0)[i]; math.Abs(got-m.Pond.Heat.WaterC) > 1e-9 {
			t.Fatalf("member %d: %.6f °C in the trace, %.6f asked", i, got, m.Pond.Heat.WaterC)
		}
	}
	x := append([]float64(nil), tr.Values(Density, 1)...)
	if got, want := tr.Bands(Density)[1], num.BandOf(x); got != want {
		t.Errorf("band %+v, want the quantiles of the values %+v", got, want)
	}
	low, high := tr.Extremes()
	if len(low) != 3 || len(high) != 3 {
		t.Fatalf("%d days", len(low))
	}
	for i := range low {
		// Coldest in the morning, warmest in the afternoon, and all of it in the
		// range of the air ± 20.
		if !(low[i].Mid < high[i].Mid) || low[i].Low < 5 || high[i].High > 45 {
			t.Errorf("day %d: %+v to %+v", i, low[i], high[i])
		}
	}
	l := tr.MeanLimits()
	for what, s := range map[string]float64{"light": l.Light, "temperature": l.Temperature, "damage": l.Damage, "carbon": l.Carbon, "nutrient": l.Nutrient, "ammonia": l.Ammonia, "oxygen": l.Oxygen, "salt": l.Salt} {
		if !(s > 0 && s <= 1) {
			t.Errorf("%s: share %g", what, s)
		}
	}
}

// TestCrossing asks for the moments at which a tenth, half and nine tenths have
// passed, against counting by hand.
func TestCrossing(t *testing.T) {
	e := started(t, Config{Members: 50, Draws: 1, Seed: 62})
	w := wrap(flatWeather(begins, 9, 900, 28))
	days := []time.Time{begins, begins.AddDate(0, 0, 8)}
	tr := NewTrace(50, nil, days, 0.5)
	var passed [50]time.Time
	c := e.Copy()
	for at := begins.Add(24 * time.Hour); !at.After(begins.AddDate(0, 0, 8)); at = at.Add(24 * time.Hour) {
		c.Advance(at, w, tr)
		for i := range c.Members {
			if passed[i].IsZero() && tr.crossed[i] != (time.Time{}) {
				passed[i] = at
			}
		}
	}
	early, mid, late := tr.Crossing()
	count := func(by time.Time) int {
		n := 0
		for i := range tr.crossed {
			if !tr.crossed[i].IsZero() && !tr.crossed[i].After(by) {
				n++
			}
		}
		return n
	}
	if early.IsZero() || mid.IsZero() || early.After(mid) {
		t.Fatalf("%v, %v, %v", early, mid, late)
	}
	if n := count(early); n < 6 || n > 8 {
		t.Errorf("%d of 50 have passed at the early moment", n)
	}
	if n := count(mid); n < 26 || n > 28 {
		t.Errorf("%d of 50 have passed at the middle moment", n)
	}
	if !late.IsZero() && count(late) < 45 {
		t.Errorf("%d of 50 have passed at the late moment", count(late))
	}
	for i, at := range passed {
		if !at.IsZero() && (tr.crossed[i].After(at) || at.Sub(tr.crossed[i]) > 24*time.Hour) {
			t.Errorf("member %d passed at %v, seen by %v", i, tr.crossed[i], at)
		}
	}
	for i, d := range tr.Crossings(begins) {
		if tr.crossed[i].IsZero() != math.IsInf(d, 1) || !math.IsInf(d, 1) && math.Abs(tr.crossed[i].Sub(begins).Hours()/24-d) > 1e-9 {
			t.Errorf("member %d passes after %.3f d, at %v", i, d, tr.crossed[i])
		}
	}
	// None passes what none reaches, and no days are no reason to panic.
	far := NewTrace(50, nil, nil, 1e9)
	e.Advance(begins.AddDate(0, 0, 1), w, far)
	if a, b, c := far.Crossing(); !a.IsZero() || !b.IsZero() || !c.IsZero() {
		t.Errorf("%v %v %v passed the impossible", a, b, c)
	}
}
