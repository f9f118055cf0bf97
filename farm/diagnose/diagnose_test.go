package diagnose

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/num"
)

func find(t interface{ Fatal(...any) }, seen Seen, rec Record) Finding {
	f, err := Default().Find(seen, rec)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// sure is a number without a spread.
func sure(x float64) num.Band { return num.Band{Low: x, Mid: x, High: x} }

func allSure(facts map[string]float64) map[string]num.Band {
	out := map[string]num.Band{}
	for id, x := range facts {
		out[id] = sure(x)
	}
	return out
}

func chances(f Finding) map[string]float64 {
	m := map[string]float64{}
	for _, r := range f.Causes {
		m[r.ID] = r.Chance
	}
	return m
}

// anything draws what was told and what the record holds.
func anything(t *rapid.T) (Seen, Record) {
	tab := Default()
	seen := Seen{Signs: map[string]bool{}, Checks: map[string]string{}}
	for _, s := range tab.Signs {
		switch rapid.IntRange(0, 5).Draw(t, s.ID) {
		case 0:
			seen.Signs[s.ID] = true
		case 1:
			seen.Signs[s.ID] = false
		}
	}
	for _, c := range tab.Checks {
		if k := rapid.IntRange(0, 3*len(c.Outcomes)).Draw(t, c.ID); k < len(c.Outcomes) {
			seen.Checks[c.ID] = c.Outcomes[k]
		}
	}
	rec := Record{Facts: map[string]num.Band{}, Held: rapid.Bool().Draw(t, "held")}
	for _, f := range tab.Facts {
		if rapid.Bool().Draw(t, f.ID+" known") {
			mid, wide := rapid.Float64Range(-20, 400).Draw(t, f.ID), rapid.Float64Range(0, 60).Draw(t, f.ID+" spread")
			rec.Facts[f.ID] = num.Band{Low: mid - wide, Mid: mid, High: mid + 2*wide}
		}
	}
	return seen, rec
}

// Probabilities add up, whatever was told; the verdict is one of two words.
func TestNormalised(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		f := find(t, seen, rec)
		sum := 0.0
		for i, r := range f.Causes {
			if !(r.Chance >= 0 && r.Chance <= 1) || i > 0 && r.Chance > f.Causes[i-1].Chance {
				t.Fatalf("%s has %g behind %v", r.ID, r.Chance, f.Causes[:i])
			}
			sum += r.Chance
		}
		if math.Abs(sum-1) > 1e-9 || len(f.Causes) != len(Default().Causes) {
			t.Fatalf("chances of %d causes add up to %g", len(f.Causes), sum)
		}
		if f.Eat != EatNo && f.Eat != EatNotShown {
			t.Fatalf("eat %q", f.Eat)
		}
		if rec.Held && f.Eat != EatNo {
			t.Fatal("a vessel on hold may not be eaten from")
		}
		if f.Days.Low > f.Days.High || math.IsInf(f.Days.Low, 0) {
			t.Fatalf("days %v", f.Days)
		}
	})
}

// No sign, no fact and no outcome makes every cause more likely, or every one
// less; and each sign of the table moves them.
func TestNoSignRaisesAll(t *testing.T) {
	tab := Default()
	moves := func(t interface {
		Fatal(...any)
		Errorf(string, ...any)
	}, name string, was, is map[string]float64, must bool) {
		up, down := 0, 0
		for id, p := range is {
			switch {
			case p > was[id]*(1+1e-9):
				up++
			case p < was[id]*(1-1e-9):
				down++
			}
		}
		if (up == 0) != (down == 0) || must && up == 0 {
			t.Errorf("%s raises %d causes and lowers %d", name, up, down)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		s := rapid.SampledFrom(tab.Signs).Draw(t, "sign").ID
		delete(seen.Signs, s)
		was := chances(find(t, seen, rec))
		for _, there := range []bool{true, false} {
			seen.Signs[s] = there
			moves(t, s, was, chances(find(t, seen, rec)), false)
		}
	})
	empty := chances(find(t, Seen{}, Record{}))
	for _, s := range tab.Signs {
		moves(t, s.ID, empty, chances(find(t, Seen{Signs: map[string]bool{s.ID: true}}, Record{})), true)
	}
	for _, c := range tab.Checks {
		for _, o := range c.Outcomes {
			moves(t, c.ID+" "+o, empty, chances(find(t, Seen{Checks: map[string]string{c.ID: o}}, Record{})), true)
		}
	}
}

// The order of taps does not matter: to the last bit.
func TestOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		f := find(t, seen, rec)
		var keys []string
		for k := range seen.Signs {
			keys = append(keys, k)
		}
		slices.Sort(keys)
		keys = rapid.Permutation(keys).Draw(t, "order")
		again := Seen{Signs: map[string]bool{}, Checks: map[string]string{}}
		for _, k := range keys {
			again.Signs[k] = seen.Signs[k]
		}
		for i := len(Default().Checks) - 1; i >= 0; i-- {
			if o, ok := seen.Checks[Default().Checks[i].ID]; ok {
				again.Checks[Default().Checks[i].ID] = o
			}
		}
		if g := find(t, again, rec); !reflect.DeepEqual(f, g) {
			t.Fatalf("another order gives\n%+v\nnot\n%+v", g, f)
		}
	})
}

// Missing is not absent: a sign that was not looked for says nothing, one that
// was looked for and is not there does; between seen and absent lies not told.
func TestMissingIsNotAbsent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		s := rapid.SampledFrom(Default().Signs).Draw(t, "sign")
		delete(seen.Signs, s.ID)
		none := find(t, seen, rec)
		seen.Signs[s.ID] = false
		absent := find(t, seen, rec)
		seen.Signs[s.ID] = true
		there := find(t, seen, rec)
		if reflect.DeepEqual(chances(none), chances(absent)) {
			t.Fatalf("%s looked for and not there says nothing", s.ID)
		}
		a, n, y := chances(absent), chances(none), chances(there)
		for id := range n {
			lo, hi := min(a[id], y[id]), max(a[id], y[id])
			if n[id] < lo*(1-1e-9) || n[id] > hi*(1+1e-9) {
				t.Fatalf("%s: %s not told %g, absent %g, seen %g", s.ID, id, n[id], a[id], y[id])
			}
		}
	})
	rec := Record{Facts: map[string]num.Band{}}
	was := chances(find(t, Seen{}, rec))
	rec.Facts["free_ammonia_mm"] = sure(math.NaN())
	if !reflect.DeepEqual(was, chances(find(t, Seen{}, rec))) {
		t.Error("a fact that is not a number is not the same as one that is not known")
	}
}

// Monotone: of two causes the one that brings a sign more often gains on the
// other when it is seen, and loses when it is looked for in vain; more of a fact
// moves a cause the way its curve goes.
func TestMonotone(t *testing.T) {
	tab := Default()
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		s := rapid.IntRange(0, len(tab.Signs)-1).Draw(t, "sign")
		a, b := rapid.IntRange(0, len(tab.Causes)-1).Draw(t, "a"), rapid.IntRange(0, len(tab.Causes)-1).Draw(t, "b")
		if tab.Causes[a].sign[s] < tab.Causes[b].sign[s] {
			a, b = b, a
		}
		odds := func() float64 {
			ln := tab.weigh(seen, rec)
			return ln[a] - ln[b]
		}
		delete(seen.Signs, tab.Signs[s].ID)
		none := odds()
		seen.Signs[tab.Signs[s].ID] = true
		there := odds()
		seen.Signs[tab.Signs[s].ID] = false
		if absent := odds(); there < none-1e-9 || absent > none+1e-9 {
			t.Fatalf("odds of %s on %s by %s: seen %g, not told %g, absent %g", tab.Causes[a].ID, tab.Causes[b].ID, tab.Signs[s].ID, there, none, absent)
		}
	})
	for _, c := range []struct {
		cause, fact  string
		lower, upper float64
		up           bool
	}{
		{"ammonia", "free_ammonia_mm", 0, 5, true}, {"ammonia", "urea_given_mg_per_l", 0, 120, true},
		{"nitrogen_short", "nitrogen_carries_g_per_l", 0, 3, false}, {"other_short", "other_carries_g_per_l", 0, 3, false},
		{"carbon_short", "ph_25c_high", 9, 12, true}, {"other_greens", "ph_25c_low", 8, 11, false}, {"heat", "water_c_high", 10, 48, true},
		{"cold_bright", "morning_c_low", 0, 30, false}, {"bleached", "bare_density_g_per_l", 0.02, 1, false}, {"dark", "light_share_pct", 0, 100, true},
		{"thinned", "taken_share_pct", 0, 100, true}, {"salt", "salts_ms_per_cm_25c", 2, 80, true}, {"unstirred", "still_h", 0, 72, true},
		{"old_medium", "medium_age_d", 0, 900, true}, {"straightened", "straight_pct", 0, 100, true}, {"poison", "chlorine_mg_per_l", 0, 5, true},
	} {
		was := math.NaN()
		for i := range 101 {
			x := c.lower + (c.upper-c.lower)*float64(i)/100
			p := chances(find(t, Seen{Signs: map[string]bool{"slow_growth": true}}, Record{Facts: map[string]num.Band{c.fact: sure(x)}}))[c.cause]
			if c.up && p < was-1e-12 || !c.up && p > was+1e-12 {
				t.Errorf("%s at %s %g: %g after %g", c.cause, c.fact, x, p, was)
			}
			was = p
		}
	}
}

// What is done is never what a likely cause forbids; every act that is asked for
// and forbidden waits.
func TestActs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		f := find(t, seen, rec)
		for _, r := range f.Causes {
			if r.Chance < Likely {
				continue
			}
			c := Default().Causes[Default().causeIndex(r.ID)]
			for _, a := range c.Dont {
				if slices.Contains(f.Hour, a) || slices.Contains(f.Do, a) {
					t.Fatalf("%s is asked for, and %s (%g) forbids it", a, r.ID, r.Chance)
				}
				if !slices.Contains(f.Dont, a) {
					t.Fatalf("%s of %s is not among what to leave", a, r.ID)
				}
			}
			if r.Eat == EatNo && f.Eat != EatNo {
				t.Fatalf("%s at %g forbids eating, and the answer is %s", r.ID, r.Chance, f.Eat)
			}
		}
		// Never two acts that undo each other.
		asked := slices.Concat(f.Hour, f.Do)
		for _, pair := range [][2]string{{"shade", "unshade"}, {"feed_nitrate", "stop_feeding"}, {"feed_whole", "stop_feeding"}, {"cool", "warm"}, {"soda_small", "stop_salts"}, {"feed_whole", "stop_salts"}} {
			if slices.Contains(asked, pair[0]) && slices.Contains(asked, pair[1]) {
				t.Fatalf("%v are asked for together", pair)
			}
		}
		for _, s := range Default().Signs {
			if s.Eat == EatNo && seen.Signs[s.ID] && f.Eat != EatNo {
				t.Fatalf("%s is seen, and the answer is %s", s.ID, f.Eat)
			}
		}
	})
}

// The expected gain is never below zero, never above what is undecided, and by
// the chain rule the outcomes' probabilities come back as they were.
func TestProbes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seen, rec := anything(t)
		tab := Default()
		f := find(t, seen, rec)
		p := normal(tab.weigh(seen, rec))
		was := chances(f)
		for _, s := range f.Checks {
			sum := 0.0
			back := map[string]float64{}
			for _, o := range s.Outcomes {
				sum += o.Chance
				told := Seen{Signs: seen.Signs, Checks: map[string]string{s.ID: o.ID}}
				for k, v := range seen.Checks {
					told.Checks[k] = v
				}
				then := find(t, told, rec)
				if top := then.Causes[0]; top.ID != o.Leads && math.Abs(top.Chance-o.Then) > 1e-9 {
					t.Fatalf("%s %s leads to %s %g, told %s %g", s.ID, o.ID, top.ID, top.Chance, o.Leads, o.Then)
				}
				for id, x := range chances(then) {
					back[id] += o.Chance * x
				}
			}
			if math.Abs(sum-1) > 1e-9 || s.Gain < 0 || s.Gain > entropy(p)+1e-9 {
				t.Fatalf("%s: outcomes %g, gain %g of %g", s.ID, sum, s.Gain, entropy(p))
			}
			for id, x := range back {
				if math.Abs(x-was[id]) > 1e-9 {
					t.Fatalf("%s: the mean over the outcomes of %s is %g, it was %g", s.ID, id, x, was[id])
				}
			}
		}
	})
}

func BenchmarkFind(b *testing.B) {
	seen := Seen{Signs: map[string]bool{"yellow": true, "clumps": true, "foam": false}}
	rec := Record{Facts: map[string]num.Band{"water_c_high": sure(31), "nitrogen_carries_g_per_l": sure(0.4)}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Default().Find(seen, rec); err != nil {
			b.Fatal(err)
		}
	}
}

// A record that is less sure of a fact says less: the wider the spread around
// the same middle, the nearer the causes stay to what they were without it.
func TestSpreadSoftens(t *testing.T) {
	seen := Seen{Signs: map[string]bool{"yellow": true}}
	of := func(low, mid, high float64) float64 {
		return chances(find(t, seen, Record{Facts: map[string]num.Band{"nitrogen_carries_g_per_l": {Low: low, Mid: mid, High: high}}}))["nitrogen_short"]
	}
	none := chances(find(t, seen, Record{}))["nitrogen_short"]
	if a, b := of(0, 0, 0), of(0, 0, 2); !(a > b && b > none) {
		t.Errorf("nothing left %.3f, perhaps nothing %.3f, not known %.3f", a, b, none)
	}
}
