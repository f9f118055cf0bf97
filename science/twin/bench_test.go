package twin

import (
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/pond"
)

// BenchmarkEnsemble60Days carries 500 members over 60 days, cut at midnights.
func BenchmarkEnsemble60Days(b *testing.B) {
	w := wrap(flatWeather(begins, 61, 800, 25))
	e := started(b, Config{Members: 500, Draws: 1, Seed: 71})
	fill := pond.Act{FillToM: 0.15}
	b.ReportAllocs()
	for b.Loop() {
		c := e.Copy()
		for d := 1; d <= 60; d++ {
			c.Advance(begins.AddDate(0, 0, d), w, nil)
			c.Do(func(_ int, m *Member) { m.Do(&fill) })
		}
	}
}

// BenchmarkAssimilate corrects 500 members by one reading.
func BenchmarkAssimilate(b *testing.B) {
	for _, r := range []Reading{ReadSecchi(2.8), ReadPH(9.85, false), ReadConductivity(16)} {
		b.Run(r.Kind.String(), func(b *testing.B) {
			e := started(b, Config{Members: 500, Draws: 1, Seed: 72})
			b.ReportAllocs()
			for b.Loop() {
				c := e.Copy()
				c.Tell(r)
			}
		})
	}
}

// BenchmarkForecasts runs 20 vessels of 120 members ten days ahead under 60
// drawn weathers, with their traces.
func BenchmarkForecasts(b *testing.B) {
	p := &places()[0]
	draws := p.draws(begins, 11, weatherDraws, 1)
	vessels := make([]*Ensemble, 20)
	for i := range vessels {
		vessels[i] = started(b, Config{Members: 120, Draws: weatherDraws, Seed: uint64(100 + i)})
	}
	var times []time.Time
	for at := begins; at.Before(begins.AddDate(0, 0, 10)); at = at.Add(3 * time.Hour) {
		times = append(times, at)
	}
	days := []time.Time{begins, begins.AddDate(0, 0, 1), begins.AddDate(0, 0, 10)}
	b.ReportAllocs()
	for b.Loop() {
		for _, e := range vessels {
			c := e.Copy()
			tr := NewTrace(120, times, days, 0.5)
			for d := 1; d <= 10; d++ {
				c.Advance(begins.AddDate(0, 0, d), draws, tr)
			}
			tr.Bands(Density)
			tr.Crossing()
		}
	}
}

func BenchmarkFreeze(b *testing.B) {
	e := started(b, Config{Members: 120, Draws: 1, Seed: 73})
	story(e)
	base := e.Members[0].Pond
	blob := e.Freeze()
	b.Run("freeze", func(b *testing.B) {
		b.ReportMetric(float64(len(blob)), "bytes")
		b.ReportAllocs()
		for b.Loop() {
			e.Freeze()
		}
	})
	b.Run("thaw", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Thaw(&base, blob); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// TestStepAllocatesNothing asks that the steps of a member make no garbage: a
// run of four days allocates what one of a day does, its one record of what was
// seen. An ensemble adds its workers and nothing that grows faster than members.
func TestStepAllocatesNothing(t *testing.T) {
	w := flatWeather(begins, 80, 800, 25)
	e := started(t, Config{Members: 1, Draws: 1, Seed: 74})
	m := &e.Members[0]
	m.Pond.Use(brine.New(brine.Pitzer))
	at := begins
	fill := pond.Act{FillToM: 0.15} // it would dry up
	for _, days := range []int{1, 4} {
		if n := testing.AllocsPerRun(3, func() {
			m.Pond.Do(&fill, nil)
			m.Pond.Settle()
			m.Pond.Run(at, at.AddDate(0, 0, days), w, nil, nil, nil, nil)
			at = at.AddDate(0, 0, days)
		}); n > 1 {
			t.Errorf("%d days of a member allocate %.0f times", days, n)
		}
	}
	const members = 96
	e = started(t, Config{Members: members, Draws: 1, Seed: 75})
	at = begins
	ws := wrap(w)
	if n := testing.AllocsPerRun(2, func() {
		at = at.AddDate(0, 0, 2)
		e.Advance(at, ws, nil)
	}); n > members+12 {
		t.Errorf("two days of %d members allocate %.0f times", members, n)
	}
}
