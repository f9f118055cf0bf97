package lot

import (
	"cmp"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/farm"
)

// shared are the deeds with a tool around deed i that no verified cleaning parts
// from it.
func (h *history) shared(tool string, i int, back bool) []int {
	list := h.byTool[tool]
	at, _ := slices.BinarySearch(list, i)
	var out []int
	for _, k := range list[at:] {
		if h.deeds[k].verified {
			break
		}
		out = append(out, k)
	}
	for k := at - 1; back && k >= 0 && !h.deeds[list[k]].verified; k-- {
		out = append(out, list[k])
	}
	return out
}

// search is the plain one: labels are the time since which a lot is reached.
type search struct {
	h     *history
	since map[string]time.Time
	open  []string
}

func (s *search) mark(lot string, t time.Time) {
	if was, known := s.since[lot]; lot == "" || known && !t.Before(was) {
		return
	}
	s.since[lot] = t
	s.open = append(s.open, lot)
}

func (s *search) run() map[string]time.Time {
	for len(s.open) > 0 {
		lot := s.open[len(s.open)-1] // depth first, unlike the other
		s.open = s.open[:len(s.open)-1]
		for _, i := range s.h.byLot[lot] {
			d := &s.h.deeds[i]
			if d.at.Before(s.since[lot]) {
				continue
			}
			if d.kind == "lot" && d.lot != lot {
				s.mark(d.lot, d.at)
			}
			for _, tool := range d.tools {
				for _, k := range s.h.shared(tool, i, false) {
					for _, l := range s.h.deeds[k].lots() {
						s.mark(l, s.h.deeds[k].at)
					}
				}
			}
		}
	}
	return s.since
}

func (h *history) ancestors(lot string) []string {
	seen := map[string]bool{}
	var visit func(l string)
	visit = func(l string) {
		if seen[l] {
			return
		}
		seen[l] = true
		for _, i := range h.byLot[l] {
			if d := h.deeds[i]; d.kind == "lot" && d.lot == l {
				for _, f := range d.from {
					visit(f)
				}
			}
		}
	}
	visit(lot)
	return slices.Sorted(maps.Keys(seen))
}

func (h *history) recallLot(lot string) map[string]time.Time {
	s := &search{h: h, since: map[string]time.Time{}}
	for _, a := range h.ancestors(lot) {
		s.mark(a, time.Time{})
		for _, i := range h.byLot[a] {
			d := &h.deeds[i]
			if d.kind == "harvested" {
				for _, o := range h.deeds {
					if o.kind == "harvested" && o.vessel == d.vessel && o.at.Sub(d.at).Abs() <= 14*24*time.Hour {
						s.mark(o.lot, time.Time{})
					}
				}
			}
			for _, tool := range d.tools {
				for _, k := range h.shared(tool, i, true) {
					for _, l := range h.deeds[k].lots() {
						s.mark(l, time.Time{})
					}
				}
			}
		}
	}
	return s.run()
}

// spread is where culture of a vessel went, and since when: by going over all
// deeds until nothing changes.
func (h *history) spread(since map[string]time.Time) {
	for changed := true; changed; {
		changed = false
		for _, d := range h.deeds {
			s, reached := since[d.vessel]
			if d.kind != "moved" || !reached || d.at.Before(s) {
				continue
			}
			if was, known := since[d.to]; !known || d.at.Before(was) {
				since[d.to] = d.at
				changed = true
			}
		}
	}
}

func (h *history) recallVessels(since map[string]time.Time) map[string]time.Time {
	h.spread(since)
	s := &search{h: h, since: map[string]time.Time{}}
	for _, d := range h.deeds {
		if t, reached := since[d.vessel]; d.kind == "harvested" && reached && !d.at.Before(t) {
			s.mark(d.lot, time.Time{})
		}
	}
	return s.run()
}

// people are the masses that reached people, by name [g].
func (h *history) people(since map[string]time.Time) map[string]float64 {
	out := map[string]float64{}
	for _, d := range h.deeds {
		if t, reached := since[d.lot]; d.kind == "sold" && reached && !d.at.Before(t) {
			out[d.whom] += d.massG
		}
	}
	return out
}

// origin is the plain search backwards: supplies and harvests of a lot.
func (h *history) origin(lot string) (harvests, supplies map[string]bool) {
	harvests, supplies = map[string]bool{}, map[string]bool{}
	seen := map[string]bool{}
	var visit func(vessel string, until int)
	visit = func(vessel string, until int) {
		if key := fmt.Sprint(vessel, until); seen[key] {
			return
		} else {
			seen[key] = true
		}
		for i := until; i >= 0; i-- {
			d := &h.deeds[i]
			switch {
			case d.kind == "moved" && d.vessel == vessel && d.all && i < until:
				return
			case d.kind == "moved" && d.to == vessel:
				visit(d.vessel, i)
			case d.kind == "fed" && d.vessel == vessel:
				supplies[d.supply] = true
			}
		}
	}
	for _, a := range h.ancestors(lot) {
		for _, i := range h.byLot[a] {
			if d := &h.deeds[i]; d.kind == "harvested" {
				harvests[d.id] = true
				visit(d.vessel, i)
			}
		}
	}
	return harvests, supplies
}

func sinceOf(r Recall) map[string]time.Time {
	out := map[string]time.Time{}
	for _, l := range r.Lots {
		out[l.Lot] = l.Since
	}
	return out
}

// same compares a recall with what the plain search found.
func (h *history) same(t testing.TB, what string, got Recall, want map[string]time.Time) {
	t.Helper()
	have := sinceOf(got)
	for _, l := range slices.Sorted(maps.Keys(want)) {
		if s, reached := have[l]; !reached || !s.Equal(want[l]) {
			t.Fatalf("%s: lot %s since %v, a plain search has it since %v; %d lots against %d", what, l, s, want[l], len(have), len(want))
		}
	}
	if len(have) != len(want) {
		t.Fatalf("%s: %d lots, a plain search has %d", what, len(have), len(want))
	}
	people := h.people(want)
	if len(got.People) != len(people) {
		t.Fatalf("%s: %d people, a plain search has %d", what, len(got.People), len(people))
	}
	for _, p := range got.People {
		if d := p.MassG - people[p.Whom]; d > 1e-6 || d < -1e-6 {
			t.Fatalf("%s: %s has %g g, a plain search says %g g", what, p.Whom, p.MassG, people[p.Whom])
		}
	}
}

// every compares recalls from lots, vessels, tools and supplies, and origins.
func (h *history) every(t testing.TB, lots []string, vessels, tools, supplies int) {
	t.Helper()
	shelf := farm.NewShelfReader().Shelf(h.s.p, h.s.now.Add(time.Second))
	sources := SourcesOf(shelf)
	b := NewBook(h.s.p, NewReader(), h.s.now)
	for _, l := range lots {
		h.same(t, "from "+l, b.Recall(From{Lot: l}, sources), h.recallLot(l))
		o := b.Origin(l, sources)
		harvests, taken := h.origin(l)
		for _, x := range o.Harvests {
			if !harvests[x.EntryID] {
				t.Fatalf("%s: harvest %s of %s is not its", l, x.EntryID, x.Vessel)
			}
		}
		for _, x := range o.Supplies {
			if !taken[x.Supply] || !x.Told {
				t.Fatalf("%s: supply %s is not in it (told %v)", l, x.Supply, x.Told)
			}
		}
		if len(o.Harvests) != len(harvests) || len(o.Supplies) != len(taken) {
			t.Fatalf("%s: %d harvests and %d supplies, a plain search has %d and %d", l, len(o.Harvests), len(o.Supplies), len(harvests), len(taken))
		}
	}
	for i := range vessels {
		v := fmt.Sprintf("v-%d", i)
		at := h.deeds[len(h.deeds)/2].at
		h.same(t, "from "+v, b.Recall(From{Vessel: v, Since: at}, sources), h.recallVessels(map[string]time.Time{v: at}))
	}
	for i := range supplies {
		id := fmt.Sprintf("s-%d", i)
		since := map[string]time.Time{}
		for _, d := range h.deeds {
			if t, known := since[d.vessel]; d.supply == id && (!known || d.at.Before(t)) {
				since[d.vessel] = d.at
			}
		}
		h.same(t, "from "+id, b.Recall(From{Supply: id}, sources), h.recallVessels(since))
	}
	for i := range tools {
		tool := fmt.Sprintf("t-%d", i)
		s := &search{h: h, since: map[string]time.Time{}}
		for _, k := range slices.Backward(h.byTool[tool]) {
			if h.deeds[k].verified {
				break
			}
			for _, l := range h.deeds[k].lots() {
				s.mark(l, time.Time{})
			}
		}
		h.same(t, "from "+tool, b.Recall(From{Tool: tool}, sources), s.run())
	}
}

// Any small farm: every recall and every origin is what a plain search finds.
func TestRecallSmall(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n, v, tl := rapid.IntRange(1, 40).Draw(rt, "lots"), rapid.IntRange(1, 5).Draw(rt, "vessels"), rapid.IntRange(1, 6).Draw(rt, "tools")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		h := randomFarm(t, n, v, tl, 3, rapid.IntRange(0, 30).Draw(rt, "care"), r.IntN)
		h.every(t, h.lots, v, tl, 3)
	})
}

// Ten thousand lots: the same for a lot in a hundred, all tools, and some
// vessels and supplies.
func TestRecallOfTenThousand(t *testing.T) {
	if testing.Short() {
		t.Skip("a large farm")
	}
	r := rand.New(rand.NewPCG(5, 6))
	h := randomFarm(t, 10000, 30, 40, 12, 40, r.IntN)
	var some []string
	for i := 0; i < len(h.lots); i += 100 {
		some = append(some, h.lots[i])
	}
	h.every(t, some, 4, 40, 2)
	sizes := 0
	b := h.s.book()
	for _, l := range some {
		sizes += len(b.Recall(From{Lot: l}, nil).Lots)
	}
	if mean := float64(sizes) / float64(len(some)); mean < 5 || mean > 5000 {
		t.Errorf("a recall reaches %.0f lots on the average: this farm tests little", mean)
	} else {
		t.Logf("%d deeds; a recall reaches %.0f lots on the average", len(h.deeds), mean)
	}
}

// A verified cleaning parts what the tool touched; one that nobody looked at
// does not. A gift counts like a sale.
func TestRecallStops(t *testing.T) {
	for _, c := range []struct {
		result string
		want   string
	}{{"good", "a"}, {"", "a b"}, {"failed", "a b"}} {
		s := newStation(t)
		s.note("pond", "harvested", m{"volume_l": 9, "mass_g": 100, "lot": "a", "tools": []string{"cloth"}})
		b := m{"tools": []string{"cloth"}}
		if c.result != "" {
			b["result"] = c.result
		}
		s.note("", "cleaned", b)
		s.note("basin", "harvested", m{"volume_l": 9, "mass_g": 100, "lot": "b", "tools": []string{"cloth"}})
		s.note("", "gave", m{"lot": "a", "mass_g": 20, "whom": "neighbour"})
		r := s.book().Recall(From{Lot: "a"}, nil)
		got := ""
		for _, l := range r.Lots {
			got += l.Lot + " "
		}
		if got != c.want+" " {
			t.Errorf("cleaned with result %q: reached %s, want %s", c.result, got, c.want)
		}
		if len(r.People) != 1 || !r.People[0].Gift || cmp.Compare(r.Total.GivenG, 20) != 0 {
			t.Errorf("people %+v, total %+v", r.People, r.Total)
		}
	}
}

// Trace of one jar among ten thousand lots: where it comes from and its recall.
func BenchmarkTrace(b *testing.B) {
	r := rand.New(rand.NewPCG(5, 6))
	h := randomFarm(b, 10000, 30, 40, 12, 40, r.IntN)
	sources := SourcesOf(farm.NewShelfReader().Shelf(h.s.p, h.s.now.Add(time.Second)))
	jar := ""
	for book := h.s.book(); len(book.Recall(From{Lot: jar}, sources).Lots) < 200; { // more than most reach
		jar = h.lots[r.IntN(len(h.lots))]
	}
	for _, c := range []struct {
		what   string
		reader func() *Reader
	}{{"cold", NewReader}, {"warm", func() *Reader { return h.s.r }}} {
		b.Run(c.what, func(b *testing.B) {
			b.ReportAllocs()
			reached := 0
			for b.Loop() {
				book := NewBook(h.s.p, c.reader(), h.s.now)
				o := book.Origin(jar, sources)
				reached = len(book.Recall(From{Lot: jar}, sources).Lots) + len(o.Pours)*0
			}
			b.ReportMetric(float64(reached), "lots")
		})
	}
}
