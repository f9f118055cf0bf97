package lot

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/farm"
	"sodalake/science/process"
)

// anyEntry draws an entry about one of a few lots, sense or nonsense, at any time
// of two days.
func anyEntry(t *rapid.T, s *station) farm.Entry {
	one := func(name string, xs ...string) string { return rapid.SampledFrom(xs).Draw(t, name) }
	id := one("lot", "a", "b", "c", "d")
	b := m{}
	vessel := ""
	maybe := func(key string, draw func() any) {
		if rapid.Bool().Draw(t, "has "+key) {
			b[key] = draw()
		}
	}
	g := func() any { return rapid.SampledFrom([]float64{1, 10, 60, 100, 100.5, 400}).Draw(t, "g") }
	kind := one("kind", "harvested", "lot", "lot_step", "lot_step", "lot_step", "lot_check", "lot_check", "lot_deviation", "packed", "sold", "gave", "used", "discarded", "held", "released", "released", "rejected", "recalled")
	b["lot"] = id
	switch kind {
	case "harvested":
		vessel = one("vessel", "pond", "basin")
		b["mass_g"] = g()
		maybe("for_food", func() any { return rapid.Bool().Draw(t, "food") })
		maybe("minutes", func() any { return 30.0 })
	case "lot":
		b["from_lots"] = []string{one("from", "a", "b", "c", "d"), one("also", "a", "b", "c", "d")}
		if b["from_lots"].([]string)[0] == b["from_lots"].([]string)[1] {
			b["from_lots"] = b["from_lots"].([]string)[:1]
		}
		maybe("from_g", func() any { return m{b["from_lots"].([]string)[0]: g()} })
		maybe("mass_g", g)
	case "lot_step":
		b["step"] = one("step", "drained", "rinsed", "pressed", "shaped", "into_dryer", "out_of_dryer", "into_cold", "out_of_cold", "into_freezer", "out_of_freezer", "weighed", "sieved", "packed")
		maybe("mass_g", g)
		maybe("dry_g", func() any { return 12.0 })
		maybe("temp_c", func() any { return rapid.SampledFrom([]float64{-18, 4, 25, 45}).Draw(t, "temp") })
		maybe("packs", func() any { return 3.0 })
	case "lot_check":
		b["check"] = one("check", Microscope, Smell, Acidity, Colour, Cleaning, TimeClock, Dryness, Laboratory, "sieve")
		b["outcome"] = one("outcome", "passed", "passed", "failed")
		maybe("water_activity", func() any { return rapid.SampledFrom([]float64{0.3, 0.59, 0.95}).Draw(t, "aw") })
		maybe("analyte", func() any { return one("analyte", "lead", "s-aureus", "b-cereus") })
		maybe("found", func() any { return one("found", "<0.05 mg/kg", "12 mg/kg", "<10 CFU/g", "absent in 25 g", "much") })
	case "lot_deviation":
		b["check"], b["reason"], b["what"] = one("of", Microscope, TimeClock, Dryness, Laboratory), "why", "done"
	case "packed", "sold", "gave", "used":
		maybe("mass_g", g)
		maybe("packs", func() any { return float64(rapid.IntRange(1, 4).Draw(t, "packs")) })
	case "discarded":
		maybe("mass_g", g)
		maybe("all", func() any { return true })
	case "held", "rejected":
		b["reason"] = "so"
	case "recalled":
		b["reason"], b["mock"] = "so", rapid.Bool().Draw(t, "mock")
	case "released":
		b["reason"] = "so"
		if held := s.p.KindRefs("held", time.Time{}, time.Time{}); len(held) > 0 && rapid.Bool().Draw(t, "end") {
			b["hold"] = held[len(held)-1].ID
		}
	}
	s.now = s.now.Add(time.Minute)
	e := s.at(morning.Add(time.Duration(rapid.IntRange(0, 48*4).Draw(t, "quarter"))*15*time.Minute), vessel, kind, b)
	e.By = one("by", "ines", "ines", "tomas")
	return e
}

// Whatever is told of lots in whatever order: no lot is released but by an owner
// on passed checks without a hold; what came in is what is told of where it
// went; what a form took raises no doubt; and the order of arrival says nothing.
func TestAnyHistory(t *testing.T) {
	met := map[State]int{}
	defer func() { t.Logf("states met: %v", met) }()
	rapid.Check(t, func(rt *rapid.T) {
		s := newStation(t)
		typed := rapid.Bool().Draw(rt, "typed")
		for _, v := range []string{"pond", "basin"} {
			s.now = morning.Add(-time.Hour)
			if rapid.Bool().Draw(rt, "looked") {
				s.looked(v)
			}
		}
		for _, id := range []string{"a", "b"} { // two that can well be let go
			s.now = morning.Add(-30 * time.Minute)
			if rapid.Bool().Draw(rt, "worked") {
				s.note("pond", "harvested", m{"mass_g": 400, "volume_l": 50, "lot": id})
				s.note("", "lot_step", m{"lot": id, "step": "into_cold", "temp_c": 3})
			}
		}
		for _, key := range []string{"require_cleaning", "require_smell", "require_ph"} {
			s.take(s.at(morning.Add(-48*time.Hour), "", "setting", m{"key": key, "value": false}))
		}
		s.take(s.at(morning.Add(-48*time.Hour), "", "setting", m{"key": "sell_fresh", "value": true}))
		var all []farm.Entry
		end := morning.Add(72 * time.Hour)
		for range rapid.IntRange(1, 40).Draw(rt, "n") {
			e := anyEntry(rt, s)
			if _, bad := farm.Check(e, s.p, farm.Sent, end); bad != nil {
				continue
			}
			if typed {
				if bad := Try(s.p, s.r, e, end); bad != nil {
					if bad.Message == "" || bad.Code == "" {
						rt.Fatalf("refused without a word: %+v", bad)
					}
					continue
				}
			}
			all = append(all, e)
			s.p.Apply(e)
			if !typed {
				continue
			}
			for _, id := range []string{"a", "b", "c", "d"} {
				if l, ok := NewBook(s.p, s.r, end).Lot(id); ok && slices.ContainsFunc(l.Doubts, func(d Doubt) bool { return d.EntryID == e.ID }) {
					rt.Fatalf("a form took %s %s, and it is doubted: %+v", e.Kind, e.Body, l.Doubts)
				}
			}
		}
		again := farm.NewPresent()
		mixed := slices.Concat(s.all, all)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "order"), 1)).Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		for _, e := range mixed {
			again.Apply(e)
		}
		book, turned := NewBook(s.p, s.r, end), NewBook(again, NewReader(), end)
		for _, id := range s.p.Lots() {
			l, _ := book.Lot(id)
			sound(rt, book, &l)
			met[l.State]++
			o, _ := turned.Lot(id)
			a, err := json.Marshal(l)
			if err != nil {
				rt.Fatal(err)
			}
			if b, _ := json.Marshal(o); string(a) != string(b) {
				rt.Fatalf("lot %s is\n%s\nand told in another order\n%s", id, a, b)
			}
			book.Recall(From{Lot: id}, nil)
			book.Origin(id, nil)
		}
		book.List(morning)
		book.Hazards(morning, end)
	})
}

// sound wants a lot to be what lots can be.
func sound(t *rapid.T, b *Book, l *Lot) {
	if !slices.Contains(States, l.State) {
		t.Fatalf("state %q", l.State)
	}
	if l.State == Released {
		switch {
		case l.Release == nil || l.Release.By != "ines":
			t.Fatalf("released by nobody who may: %+v", l.Release)
		case l.Rejection != nil || l.NotFood || slices.ContainsFunc(l.Holds, func(h Hold) bool { return h.Stands() }):
			t.Fatalf("released though rejected, not for food or held: %+v", l)
		case slices.ContainsFunc(l.Release.Evidence, func(c Check) bool { return c.Required && c.State != process.Passed || c.State == process.Failed }):
			t.Fatalf("released on %+v", l.Release.Evidence)
		case slices.ContainsFunc(l.Checks, func(c Check) bool { return c.State == process.Failed }):
			t.Fatalf("released with a failed check: %+v", l.Checks)
		}
	}
	x := b.Balance(l.ID)
	out := x.LostG + x.LeftG + x.SoldG + x.GivenG + x.UsedG + x.DestroyedG + x.MadeG
	if x.Unknown == 0 && math.Abs(x.InG-out) > 1e-6*math.Max(1, x.InG) {
		raw, _ := json.Marshal(l)
		t.Fatalf("lot %s: %g g came in and %g g are told of: %+v\n%s", l.ID, x.InG, out, x, raw)
	}
	if x.LeftG < 0 || l.LeftG != nil && *l.LeftG < 0 || l.PacksLeft < 0 {
		t.Fatalf("less than nothing is left: %+v", l)
	}
}
