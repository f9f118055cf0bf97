package twin

import (
	"math"
	"testing"

	"sodalake/science/pond"
)

// TestMend empties a few members by an act that took more than they held: they
// are given up for copies of others, and the next reading is taken.
func TestMend(t *testing.T) {
	e := started(t, Config{Members: 60, Draws: 6, Seed: 81})
	draws := make([]int, len(e.Members))
	for i := range e.Members {
		draws[i] = e.Members[i].Draw
	}
	was, _ := lnDensity(e)
	e.Do(func(i int, m *Member) {
		litres := 300.0
		if i%7 == 3 {
			litres = 1e6
		}
		m.Do(&pond.Act{DrawL: litres})
	})
	now, sd := lnDensity(e)
	if math.Abs(now-was) > 0.05 || !(sd < 0.3) {
		t.Errorf("ln density went from %.3f to %.3f ± %.3f by drawing", was, now, sd)
	}
	for i := range e.Members {
		m := &e.Members[i]
		if !(m.Pond.BiomassG > 0) || !(m.Pond.WaterKg > 0) || m.Draw != draws[i] {
			t.Fatalf("member %d: %.3g g in %.3g kg under weather %d", i, m.Pond.BiomassG, m.Pond.WaterKg, m.Draw)
		}
	}
	if v := e.Assimilate(ReadSecchi(2.8)); !v.Believed {
		t.Errorf("a reading after that: %+v", v)
	}
	// A copy goes a way of its own.
	w := wrap(flatWeather(begins, 3, 750, 23))
	e.Advance(begins.AddDate(0, 0, 2), w, nil)
	seen := map[float64]int{}
	for i := range e.Members {
		x := e.Members[i].Pond.BiomassG
		if j, twice := seen[x]; twice {
			t.Errorf("members %d and %d are the same to the last bit", j, i)
		}
		seen[x] = i
	}
}

// TestMendAtReading loses a member between two readings: one that cannot be read
// does not blind the rest.
func TestMendAtReading(t *testing.T) {
	e := started(t, Config{Members: 40, Draws: 1, Seed: 82})
	e.Members[5].Pond.BiomassG = 0
	e.Members[9].Pond.BiomassG = math.NaN()
	if v := e.Assimilate(ReadSecchi(2.8)); !v.Believed || math.IsNaN(v.Spread) {
		t.Errorf("a reading beside two lost members: %+v", v)
	}
	if m, sd := lnDensity(e); math.IsNaN(m) || math.IsInf(m, 0) || !(sd < 0.3) {
		t.Errorf("ln density %.3f ± %.3f", m, sd)
	}
}

// TestEmptyStaysEmpty asks that a vessel which most members hold to be empty is
// not filled again by mending.
func TestEmptyStaysEmpty(t *testing.T) {
	e := started(t, Config{Members: 40, Draws: 1, Seed: 83})
	e.Do(func(i int, m *Member) {
		if i%4 > 0 {
			m.Do(&pond.Act{DrawL: 1e6})
		}
	})
	if s := e.Share(func(m *Member) bool { return m.Pond.BiomassG > 0 }); math.Abs(s-0.25) > 1e-9 {
		t.Errorf("culture in %.2f of the members, want 0.25", s)
	}
}

// TestOpenedLevelRunsNotDry asks that two sticks which agree empty no member.
func TestOpenedLevelRunsNotDry(t *testing.T) {
	for _, cm := range []float64{4, 9, 24, 30} {
		e := started(t, Config{Members: 150, Draws: 1, Seed: 84})
		e.Tell(ReadLevel(cm))
		v := e.Tell(ReadLevel(cm))
		if !v.Believed || !v.Opened {
			t.Errorf("%.0f cm twice: %+v", cm, v)
		}
		e.Tell(ReadLevel(cm))
		if b := e.Band(func(m *Member) float64 { return m.Expect(Level, nil) }); math.Abs(b.Mid-cm) > 0.1*cm {
			t.Errorf("%.0f cm three times: %+v is expected now", cm, b)
		}
		for i := range e.Members {
			if l := e.Members[i].Expect(Level, nil); !(l > 1) {
				t.Fatalf("%.0f cm twice: member %d stands at %.2f cm", cm, i, l)
			}
		}
	}
}

// TestAgrees asks which doubted readings bear each other out.
func TestAgrees(t *testing.T) {
	for _, c := range []struct {
		last       streak
		value, off float64
		want       bool
	}{
		{streak{}, 20, 5, false},                 // nothing was doubted
		{streak{1, 20, 5}, 20.5, 5.5, true},      // the same stick
		{streak{1, 20, 5}, 17, 5.4, true},        // as far off, where water has gone
		{streak{1, 20, 5}, 20.4, 1, true},        // the same value, where the twin has moved
		{streak{1, 20, 5}, 4, -8, false},         // another slip
		{streak{2, 20, math.NaN()}, 4, 2, false}, // never what was expected
	} {
		if got := c.last.agrees(c.value, c.off, 0.3); got != c.want {
			t.Errorf("%+v and %g, %g off: %v", c.last, c.value, c.off, got)
		}
	}
}

// TestUnrest asks that the noise rises with what readings show beyond what was
// expected of them, and only of what they tell.
func TestUnrest(t *testing.T) {
	e := started(t, Config{Members: 20, Draws: 1, Seed: 85})
	if u := e.unrest(); u != calm {
		t.Errorf("before any reading: %+v", u)
	}
	for range 8 {
		e.note(Secchi, 1.1, '=')
		e.note(PH, 2, '=')
		e.note(Temp, 9, '=')
	}
	e.note(Level, 3.9, '=')
	if u := e.unrest(); u.growth != 1 || math.Abs(u.carbon-4) > 1e-9 || math.Abs(u.warmth-unrestMost) > 1e-9 || u.water != 1 {
		t.Errorf("%+v, want growth as it is, carbon 4, warmth %g, water as it is (one reading)", u, unrestMost)
	}
	for range 30 {
		e.note(PH, 0.8, '=')
	}
	if u := e.unrest(); u.carbon != 1 {
		t.Errorf("carbon %g after readings that fit", u.carbon)
	}
	spread := func(far float64) float64 {
		e := started(t, Config{Members: 200, Draws: 1, Seed: 86})
		for range 10 {
			e.note(Secchi, far, '=')
		}
		e.Advance(begins.AddDate(0, 0, 1), wrap(flatWeather(begins, 2, 0, 23)), nil)
		_, sd := lnDensity(e)
		return sd
	}
	if a, b := spread(1), spread(2); b < a+0.005 {
		t.Errorf("a day leaves a spread of %.4f where readings fit and %.4f where they do not", a, b)
	}
}
