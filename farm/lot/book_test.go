package lot

import (
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/science/process"
	"sodalake/words"
)

// The farm of these tests is invented: a co-operative in a retired lighthouse
// with two ponds. ines is its owner, tomas works there.

type m = map[string]any

type station struct {
	t   testing.TB
	p   *farm.Present
	r   *Reader
	ids *farm.IDs
	now time.Time
	all []farm.Entry // that were noted
}

var morning = time.Date(2031, 5, 4, 8, 0, 0, 0, time.UTC)

func newStation(t testing.TB) *station {
	s := &station{t: t, p: farm.NewPresent(), r: NewReader(), ids: farm.NewIDs(rand.NewChaCha8([32]byte{6})), now: morning.Add(-30 * 24 * time.Hour)}
	s.note("", "site", m{"id": "light", "lat_deg": 20.9, "lon_deg": -17.0, "timezone": "UTC", "measures": "metric"})
	s.note("", "person", m{"id": "ines", "role": "owner"})
	s.note("", "person", m{"id": "tomas", "role": "worker"})
	for _, tool := range []string{"cloth", "press", "tray"} {
		s.note("", "tool", m{"id": tool})
	}
	for _, v := range []string{"pond", "basin"} {
		s.note("", "vessel", m{"id": v, "use": "grow", "shape": m{"kind": "box", "length_m": 4, "width_m": 2, "depth_m": 0.4}})
	}
	s.now = morning
	return s
}

// entry is one of ines's, a minute after the last.
func (s *station) entry(vessel, kind string, b m) farm.Entry {
	s.t.Helper()
	s.now = s.now.Add(time.Minute)
	return s.at(s.now, vessel, kind, b)
}

func (s *station) at(at time.Time, vessel, kind string, b m) farm.Entry {
	s.t.Helper()
	raw, err := json.Marshal(b)
	if err != nil {
		s.t.Fatal(err)
	}
	id, err := s.ids.Make(s.now)
	if err != nil {
		s.t.Fatal(err)
	}
	return farm.Entry{ID: id, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: s.now, ReceivedAt: s.now, By: "ines", Body: raw}
}

func (s *station) take(e farm.Entry) farm.Entry {
	s.t.Helper()
	if _, bad := farm.Check(e, s.p, farm.Sent, s.now); bad != nil {
		s.t.Fatalf("%s %s: %v", e.Kind, e.Body, bad)
	}
	s.p.Apply(e)
	s.all = append(s.all, e)
	return e
}

func (s *station) note(vessel, kind string, b m) farm.Entry {
	s.t.Helper()
	return s.take(s.entry(vessel, kind, b))
}

// typed notes what a form takes: the rules of lots have nothing against it.
func (s *station) typed(kind string, b m) farm.Entry {
	s.t.Helper()
	e := s.entry("", kind, b)
	if bad := Try(s.p, s.r, e, s.now); bad != nil {
		s.t.Fatalf("%s %s is refused: %v (%s)", kind, e.Body, bad, bad.Hint)
	}
	return s.take(e)
}

// refused wants a form's refusal of an entry.
func (s *station) refused(who, kind string, b m, code farm.Code, field, part string) {
	s.t.Helper()
	e := s.entry("", kind, b)
	e.By = who
	bad := Try(s.p, s.r, e, s.now)
	switch {
	case bad == nil:
		s.t.Errorf("%s %s is taken, want it refused: %s", kind, e.Body, part)
	case bad.Code != code || bad.Field != field || !strings.Contains(bad.Message, part):
		s.t.Errorf("%s %s: %s at %s: %q, want %s at %s with %q", kind, e.Body, bad.Code, bad.Field, bad.Message, code, field, part)
	}
}

func (s *station) wait(d time.Duration) { s.now = s.now.Add(d) }

func (s *station) book() *Book { return NewBook(s.p, s.r, s.now) }

func (s *station) lot(id string) Lot {
	s.t.Helper()
	l, ok := s.book().Lot(id)
	if !ok {
		s.t.Fatalf("no lot %s", id)
	}
	return l
}

func (s *station) wantState(id string, want State) Lot {
	s.t.Helper()
	l := s.lot(id)
	for _, c := range l.Checks {
		heard(s.t, c.Why)
	}
	for _, n := range append(l.Next, l.Clock.Warning) {
		heard(s.t, n)
	}
	if l.State != want {
		s.t.Errorf("lot %s is %s (%s), want %s", id, l.State, l.Why, want)
	}
	return l
}

// heard wants the sentence of a key to be said with all that it needs, in both
// measures.
func heard(t testing.TB, said Said) {
	t.Helper()
	if said.Key == "" {
		return
	}
	for _, measures := range []words.Measures{words.Metric, words.US} {
		text, ok := words.New("en", measures, time.UTC).Try(said.Key, said.Args)
		if !ok || strings.ContainsAny(text, "?{<") || strings.Contains(text, "NaN") || strings.Contains(text, "%!") {
			t.Errorf("%s is said %q of %v", said.Key, text, said.Args)
		}
	}
}

func (l *Lot) check(key string) Check {
	if i := slices.IndexFunc(l.Checks, func(c Check) bool { return c.Key == key }); i >= 0 {
		return l.Checks[i]
	}
	return Check{}
}

// looked notes what the default plan asks to be seen before a harvest.
func (s *station) looked(vessel string) {
	s.note(vessel, "microscope", m{"filaments_seen": 300, "foreign_seen": 0})
	s.note(vessel, "reading", m{"smell": "grassy", "colour": "dark_green", "ph": 10.2, "temp_c": 25})
}

func (s *station) cleaned() {
	s.note("", "cleaned", m{"tools": []string{"cloth", "press", "tray"}, "result": "good"})
}

// harvested takes 1200 g of paste off the cloth into a lot, pressed to 600 g.
func (s *station) harvested(vessel, id string) {
	s.looked(vessel)
	s.cleaned()
	s.note(vessel, "harvested", m{"volume_l": 200, "mass_g": 1200, "lot": id, "tools": []string{"cloth"}, "temp_c": 25, "fit": true})
	s.wait(20 * time.Minute)
	s.typed("lot_step", m{"lot": id, "step": "pressed", "mass_g": 600, "tools": []string{"press"}, "temp_c": 25})
}

// dried dries a pressed lot to 126 g in five hours.
func (s *station) dried(id string) {
	s.typed("lot_step", m{"lot": id, "step": "into_dryer", "tools": []string{"tray"}, "temp_c": 45})
	s.wait(3 * time.Hour)
	s.typed("lot_step", m{"lot": id, "step": "out_of_dryer", "mass_g": 126})
}

// The whole way of a lot: it cannot go while a check is missing, a worker cannot
// let it go, an owner can, and it ends as what became of it.
func TestWay(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "one")
	s.wantState("one", Running)
	s.dried("one")
	l := s.wantState("one", OnHold)
	if c := l.check(Dryness); c.State != process.Missing {
		t.Errorf("dryness is %s before it was measured", c.State)
	}
	s.refused("ines", "released", m{"lot": "one", "reason": "looks good"}, farm.Invalid, "body.lot", "dry missing")
	s.refused("ines", "sold", m{"lot": "one", "mass_g": 50, "whom": "market"}, farm.Invalid, "body.lot", "not released")
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.45})
	s.refused("tomas", "released", m{"lot": "one", "reason": "looks good"}, farm.Denied, "by", "no owner")
	release := s.typed("released", m{"lot": "one", "reason": "all seen"})
	l = s.wantState("one", Released)
	if l.Release == nil || l.Release.EntryID != release.ID || l.Release.By != "ines" || len(l.Release.Evidence) < 7 {
		t.Errorf("the release says %+v", l.Release)
	}
	s.typed("packed", m{"lot": "one", "packs": 12, "mass_g": 120})
	s.refused("ines", "packed", m{"lot": "one", "packs": 5, "mass_g": 50}, farm.Invalid, "body.mass_g", "more than")
	s.typed("sold", m{"lot": "one", "packs": 5, "whom": "market"})
	s.typed("gave", m{"lot": "one", "packs": 1, "whom": "neighbour"})
	l = s.lot("one")
	if l.PacksLeft != 6 || l.LeftG == nil || *l.LeftG < 65.9 || *l.LeftG > 66.1 {
		t.Errorf("after 6 packs of 10 g went: %d packs, %v g", l.PacksLeft, *l.LeftG)
	}
	s.refused("ines", "sold", m{"lot": "one", "mass_g": 90}, farm.Invalid, "body.mass_g", "more than the 66 g")
	s.typed("used", m{"lot": "one"})
	l = s.wantState("one", UsedUp) // 66 g eaten, 50 g sold, 10 g given
	s.refused("ines", "sold", m{"lot": "one", "packs": 1}, farm.Invalid, "body.lot", "used already")
	b := s.book().Balance("one")
	if sum := b.LostG + b.LeftG + b.SoldG + b.GivenG + b.UsedG; b.InG != 1200 || sum < 1199.99 || sum > 1200.01 || b.Unknown != 0 {
		t.Errorf("the balance does not close: %+v", b)
	}
}

// What was seen at the pond decides: each row spoils one thing before the
// harvest, and the lot is not let go for that reason.
func TestChecks(t *testing.T) {
	for _, c := range []struct {
		what  string
		note  func(s *station)
		check string
		state process.State
		why   string
	}{
		{"nothing is spoilt", func(s *station) { s.looked("pond"); s.cleaned() }, Microscope, process.Passed, "lots.why.none_foreign"},
		{"no look", func(s *station) {
			s.note("pond", "reading", m{"smell": "grassy", "colour": "green", "ph": 10.2, "temp_c": 25})
			s.cleaned()
		}, Microscope, process.Missing, "lots.why.no_look"},
		{"too few filaments", func(s *station) { s.note("pond", "microscope", m{"filaments_seen": 40, "foreign_seen": 0}) }, Microscope, process.Missing, "lots.why.few_seen"},
		{"foreign cells", func(s *station) { s.note("pond", "microscope", m{"filaments_seen": 400, "foreign_seen": 2}) }, Microscope, process.Failed, "lots.why.foreign"},
		{"a look of the week before", func(s *station) {
			s.at7(func() { s.note("pond", "microscope", m{"filaments_seen": 400, "foreign_seen": 0}) })
		}, Microscope, process.Missing, "lots.why.no_look"},
		{"it smelled rotten", func(s *station) { s.note("pond", "smell", m{"smell": "rotten"}) }, Smell, process.Failed, "lots.why.bad_smell"},
		{"nobody smelled", func(s *station) {}, Smell, process.Missing, "lots.why.no_smell"},
		{"yellow", func(s *station) { s.note("pond", "colour", m{"colour": "yellow"}) }, Colour, process.Failed, "lots.why.bad_colour"},
		{"pH 9.5 at 25 °C", func(s *station) { s.note("pond", "ph", m{"ph": 9.5, "temp_c": 25}) }, Acidity, process.Failed, "lots.why.low_ph"},
		{"pH 9.8 at 25 °C is just enough", func(s *station) { s.note("pond", "ph", m{"ph": 9.8, "temp_c": 25}) }, Acidity, process.Passed, "lots.why.good_ph"},
		{"pH 9.75 at 35 °C is 9.86 at 25", func(s *station) { s.note("pond", "ph", m{"ph": 9.75, "temp_c": 35}) }, Acidity, process.Passed, "lots.why.good_ph"},
		{"pH 9.85 without a temperature may be either", func(s *station) { s.note("pond", "ph", m{"ph": 9.85}) }, Acidity, process.Missing, "lots.why.ph_unsure"},
		{"low a day before", func(s *station) {
			s.note("pond", "ph", m{"ph": 9.4, "temp_c": 25})
			s.wait(20 * time.Hour)
			s.note("pond", "ph", m{"ph": 10.1, "temp_c": 25})
		}, Acidity, process.Failed, "lots.why.low_ph"},
		{"the cloth was never cleaned", func(s *station) { s.looked("pond") }, Cleaning, process.Missing, "lots.why.never_cleaned"},
		{"the cleaning failed", func(s *station) {
			s.note("", "cleaned", m{"tools": []string{"cloth"}, "result": "failed"})
		}, Cleaning, process.Failed, "lots.why.cleaning_failed"},
		{"cleaned ninety days before", func(s *station) {
			now := s.now
			s.now = now.AddDate(0, 0, -90)
			s.cleaned()
			s.now = now
		}, Cleaning, process.Passed, "lots.why.cleaned"},
		{"used on another lot since", func(s *station) {
			s.cleaned()
			s.note("basin", "harvested", m{"volume_l": 50, "mass_g": 300, "lot": "other", "tools": []string{"cloth"}})
		}, Cleaning, process.Missing, "lots.why.used_since"},
	} {
		s := newStation(t)
		c.note(s)
		s.note("pond", "harvested", m{"volume_l": 200, "mass_g": 1200, "lot": "one", "tools": []string{"cloth"}})
		l := s.lot("one")
		for _, all := range l.Checks {
			heard(t, all.Why)
		}
		got := l.check(c.check)
		if got.State != c.state || got.Why.Key != c.why {
			t.Errorf("%s: %s is %s (%s %v), want %s (%s)", c.what, c.check, got.State, got.Why.Key, got.Why.Args, c.state, c.why)
		}
		if (c.state == process.Failed) != (l.State == OnHold) {
			t.Errorf("%s: the lot is %s", c.what, l.State)
		}
		for _, w := range []string{"approved", "certified", " safe"} {
			if raw, _ := json.Marshal(l); strings.Contains(string(raw), w) {
				t.Errorf("%s: the word %q stands in %s", c.what, w, raw)
			}
		}
	}
}

func (s *station) at7(f func()) {
	now := s.now
	s.now = now.Add(-7 * 24 * time.Hour)
	f()
	s.now = now
}

// The clock warns before its limit and holds the lot by itself after it: in the
// wet stage after three hours (process.DefaultRules, judgement, no source), in
// the dryer after eight. Cold stops it, a longer limit of the farm moves it.
func TestClock(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "one")
	s.wait(time.Hour + 20*time.Minute)
	l := s.wantState("one", Running)
	if l.Clock.Warning.Key != "lots.clock.next" || l.Clock.Stands {
		t.Errorf("after 1 h 40 min: %+v", l.Clock.Warning)
	}
	s.wait(40 * time.Minute)
	if l = s.wantState("one", Running); l.Clock.Warning.Key != "lots.clock.plan_passed_next" {
		t.Errorf("after 2 h 20 min: %+v", l.Clock.Warning)
	}
	s.wait(time.Hour)
	l = s.wantState("one", OnHold)
	h := l.Holds[len(l.Holds)-1]
	if h.Key != "clock" || l.Clock.Warning.Key != "lots.clock.passed" {
		t.Errorf("after 3 h 20 min: hold %+v, warning %+v", h, l.Clock.Warning)
	}
	passed := l.Born.Add(3 * time.Hour)
	if d := h.Since.Sub(passed).Abs(); d > 2*time.Minute {
		t.Errorf("it passed at %v, want about %v", h.Since, passed)
	}
	s.refused("ines", "released", m{"lot": "one", "reason": "it looks well"}, farm.Invalid, "body.lot", "clock failed")
	// What sets it right: a deviation, and a laboratory's two results.
	s.typed("lot_deviation", m{"lot": "one", "check": "clock", "reason": "the press broke", "what": "a second press was bought"})
	s.typed("lot_step", m{"lot": "one", "step": "into_cold", "temp_c": 4})
	s.wantState("one", OnHold)
	s.typed("lot_check", m{"lot": "one", "check": "laboratory", "analyte": "s-aureus", "found": "<10 CFU/g", "laboratory": "the district's"})
	s.wantState("one", OnHold)
	s.typed("lot_check", m{"lot": "one", "check": "laboratory", "analyte": "b-cereus", "found": "<10 CFU/g"})
	l = s.lot("one")
	if c := l.check(TimeClock); c.State != process.Passed || !c.Settled {
		t.Errorf("with both results the clock is %s (%s)", c.State, c.Why.Key)
	}
	s.typed("released", m{"lot": "one", "reason": "both results are there"})
	s.wantState("one", Released)

	s = newStation(t)
	s.harvested("pond", "two")
	s.typed("lot_step", m{"lot": "two", "step": "into_cold", "temp_c": 4})
	s.wait(10 * time.Hour)
	if l := s.lot("two"); l.Where != process.Cold || l.check(TimeClock).State != process.Passed {
		t.Errorf("ten hours in the cold: %s %s", l.Where, l.check(TimeClock).State)
	}

	s = newStation(t)
	s.note("", "setting", m{"key": "clock_wet_hold_h", "value": 6})
	s.harvested("pond", "three")
	s.wait(4 * time.Hour)
	s.wantState("three", Running)

	s = newStation(t)
	s.harvested("pond", "four")
	s.typed("lot_step", m{"lot": "four", "step": "into_dryer", "temp_c": 45, "tools": []string{"tray"}})
	s.wait(9 * time.Hour)
	s.wantState("four", OnHold)
}

// Nothing happens twice, before it began, after it ended or out of order.
func TestRefusals(t *testing.T) {
	s := newStation(t)
	s.refused("ines", "lot_step", m{"lot": "none", "step": "pressed"}, farm.Invalid, "at", "had not begun")
	s.harvested("pond", "one")
	early := s.entry("", "lot_step", m{"lot": "one", "step": "into_cold"})
	early.At = morning.Add(-time.Hour)
	if bad := Try(s.p, s.r, early, s.now); bad == nil || bad.Field != "at" {
		t.Errorf("a step before the harvest: %v", bad)
	}
	s.refused("ines", "lot_step", m{"lot": "one", "step": "out_of_dryer"}, farm.Invalid, "body.step", "is not in the dryer")
	s.refused("ines", "lot_step", m{"lot": "one", "step": "weighed", "mass_g": 900}, farm.Invalid, "body.mass_g", "more than the 600 g")
	s.typed("lot_step", m{"lot": "one", "step": "weighed", "mass_g": 604}) // two scales
	s.refused("ines", "lot", m{"lot": "two", "from_lots": []string{"nowhere"}}, farm.Invalid, "body.from_lots", "not known")
	s.refused("ines", "lot", m{"lot": "two", "from_lots": []string{"one"}, "from_g": m{"one": 700}}, farm.Invalid, "body.mass_g", "more than")
	s.typed("lot", m{"lot": "two", "from_lots": []string{"one"}, "from_g": m{"one": 200}})
	s.typed("lot", m{"lot": "three", "from_lots": []string{"one"}})
	s.wantState("one", UsedUp)
	s.refused("ines", "lot", m{"lot": "four", "from_lots": []string{"one"}}, farm.Invalid, "body.lot", "used already")
	if l := s.lot("three"); l.LeftG == nil || *l.LeftG != 404 {
		t.Errorf("of 604 g, 200 g went into two: three has %v", l.LeftG)
	}
	s.typed("rejected", m{"lot": "two", "reason": "it fell on the floor"})
	s.refused("ines", "released", m{"lot": "two", "reason": "washed"}, farm.Invalid, "body.lot", "rejected")
	s.refused("ines", "sold", m{"lot": "two", "mass_g": 10}, farm.Invalid, "body.lot", "rejected")
	s.refused("ines", "lot_step", m{"lot": "two", "step": "into_freezer"}, farm.Invalid, "body.lot", "rejected")
	s.wantState("two", Rejected)
	s.typed("discarded", m{"lot": "two"})
	s.wantState("two", Destroyed)
	// More out than in on paper, from a phone that was away: kept, and on hold.
	s.note("", "discarded", m{"lot": "three", "mass_g": 900})
	if l := s.lot("three"); len(l.Doubts) == 0 || l.Doubts[0].Key != "doubt.lot.more_out" {
		t.Errorf("900 g out of 404 g: %+v", l.Doubts)
	}
}

// A hold on the vessel goes into the lot, stays when it is ended on the vessel,
// and goes on into what is made of the lot.
func TestHoldsFlow(t *testing.T) {
	s := newStation(t)
	s.looked("pond")
	sign := s.note("pond", "event", m{"event": "smoke"})
	s.harvested("pond", "one")
	l := s.wantState("one", OnHold)
	if len(l.Holds) != 1 || l.Holds[0].EntryID != sign.ID || l.Holds[0].Reason != "smoke" {
		t.Fatalf("holds %+v", l.Holds)
	}
	s.note("pond", "released", m{"hold": sign.ID, "reason": "the wind turned"})
	s.wantState("one", OnHold)
	s.typed("lot", m{"lot": "two", "from_lots": []string{"one"}, "from_g": m{"one": 100}})
	s.wantState("two", OnHold)
	s.refused("tomas", "released", m{"lot": "one", "hold": sign.ID, "reason": "smells of nothing"}, farm.Denied, "by", "no owner")
	s.typed("released", m{"lot": "one", "hold": sign.ID, "reason": "PAH looked for, not found"})
	s.typed("released", m{"lot": "one", "reason": "all seen"})
	s.wantState("one", Released)
	if l := s.wantState("two", OnHold); l.Holds[0].Key != "vessel" {
		t.Errorf("the part's hold is %+v", l.Holds[0])
	}
	held := s.typed("held", m{"lot": "one", "reason": "a guest fell ill"})
	s.wantState("one", OnHold)
	s.typed("released", m{"lot": "one", "hold": held.ID, "reason": "it was the soup"})
	s.wantState("one", Released) // the release stands, the hold is gone
	s.typed("recalled", m{"lot": "one", "reason": "practice", "mock": true})
	s.wantState("one", Released)
	back := s.typed("recalled", m{"lot": "one", "reason": "a stone was found", "mass_g": 10})
	s.wantState("one", OnHold)
	s.typed("released", m{"lot": "one", "hold": back.ID, "reason": "it was a lentil"})
	s.wantState("one", Released)
}

// What is added to a lot after it was let go was not looked at then.
func TestAdded(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "one")
	s.typed("lot_step", m{"lot": "one", "step": "into_cold", "temp_c": 3})
	s.typed("released", m{"lot": "one", "reason": "all seen"})
	s.wantState("one", Released)
	s.looked("basin")
	s.cleaned()
	s.note("basin", "harvested", m{"mass_g": 100, "volume_l": 20, "lot": "one", "tools": []string{"cloth"}, "temp_c": 20})
	s.wantState("one", OnHold)
	s.typed("released", m{"lot": "one", "reason": "all seen again"})
	s.wantState("one", Released)
	s.note("basin", "harvested", m{"mass_g": 50, "volume_l": 9, "lot": "one", "tools": []string{"cloth"}, "for_food": false})
	s.wantState("one", OnHold)
	s.refused("ines", "released", m{"lot": "one", "reason": "for the hens"}, farm.Invalid, "body.lot", "not for food")
}

// A failed check is set right by a deviation and a later result, never by a
// release alone.
func TestDeviation(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "one")
	s.dried("one")
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.66})
	s.wantState("one", OnHold)
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.5})
	if l := s.lot("one"); l.check(Dryness).State != process.Failed {
		t.Error("a second measurement alone undid a failed one")
	}
	s.typed("lot_deviation", m{"lot": "one", "check": "smell", "reason": "another matter", "what": "nothing"})
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.5})
	s.refused("ines", "released", m{"lot": "one", "reason": "dry now"}, farm.Invalid, "body.lot", "dry failed")
	s.typed("lot_deviation", m{"lot": "one", "check": "dry", "reason": "the trays were full", "what": "dried again, half as much on a tray from now on"})
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.5})
	s.typed("released", m{"lot": "one", "reason": "dried again"})
	s.wantState("one", Released)
	// A deviation after the release asks for a new one.
	s.typed("lot_check", m{"lot": "one", "check": "dry", "water_activity": 0.7})
	s.wantState("one", OnHold)
}

// A result of a laboratory is held against the limits of the farm, by lot; one
// below detection counts by its bound, and one without a unit says nothing.
func TestLaboratory(t *testing.T) {
	s := newStation(t)
	s.note("", "setting", m{"key": "lab_needed", "value": "lead, salmonella"})
	s.harvested("pond", "one")
	s.typed("lot_step", m{"lot": "one", "step": "into_cold", "temp_c": 3})
	s.refused("ines", "released", m{"lot": "one", "reason": "all seen"}, farm.Invalid, "body.lot", "laboratory missing")
	s.refused("ines", "lot_check", m{"lot": "one", "check": "laboratory", "analyte": "lead", "found": "0.05"}, farm.Invalid, "body.found", "unit")
	s.typed("lot_check", m{"lot": "one", "check": "laboratory", "analyte": "lead", "found": "<0.05 mg/kg"})
	l := s.lot("one")
	if len(l.Lab) != 1 || l.Lab[0].State != process.Passed {
		t.Fatalf("lead under 0.05 mg/kg: %+v", l.Lab)
	}
	s.typed("lot_check", m{"lot": "one", "check": "laboratory", "analyte": "salmonella", "found": "absent in 25 g"})
	s.typed("released", m{"lot": "one", "reason": "results are there"})
	s.wantState("one", Released)
	s.typed("lot_check", m{"lot": "one", "check": "laboratory", "analyte": "lead", "found": "12 mg/kg"})
	s.wantState("one", OnHold)
	s.typed("lot_deviation", m{"lot": "one", "check": "laboratory", "reason": "the salt", "what": "another salt from now on"})
	// no word undoes what was found
	if l := s.wantState("one", OnHold); l.check(Laboratory).State != process.Failed {
		t.Errorf("a deviation made the laboratory's result %s", l.check(Laboratory).State)
	}
}
