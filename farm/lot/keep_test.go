package lot

import (
	"math"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/science/process"
)

// What is expected of a pressed and of a dried lot stands on the dry matter of
// each stage (process.Stages: drained 8 to 12 %, pressed 15 to 27 %, dried 93 to
// 97 %, sources there).
func TestExpected(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "one") // 1200 g drained: 96 to 144 g dry, 120 in the middle
	l := s.lot("one")
	e := l.Steps[0].Expected
	if e == nil || e.Off || math.Abs(e.MassG.Mid-600) > 1e-9 || math.Abs(e.MassG.Low-96/0.27) > 1e-9 || math.Abs(e.MassG.High-144/0.15) > 1e-9 {
		t.Fatalf("pressed: %+v, want 600 g, from 96/0.27 to 144/0.15", e)
	}
	if a := l.Ahead["dried"]; math.Abs(a.Mid-120/0.95) > 1e-9 || a.Low > 96/0.93 || a.High < 144/0.97 {
		t.Errorf("dried: %+v, want 120/0.95 = 126.3 g", a)
	}
	s.typed("lot_step", m{"lot": "one", "step": "weighed", "mass_g": 420})
	s.typed("lot_step", m{"lot": "one", "step": "pressed", "mass_g": 300})
	l = s.lot("one")
	if e := l.Steps[2].Expected; e == nil || !e.Off {
		t.Errorf("300 g of 600 g that had 90 g dry at the least by the press: %+v", e)
	}
}

// A dryer that stalls is seen from the weights, where the farm told what its air
// carries; one that still dries is not.
func TestStalled(t *testing.T) {
	for _, c := range []struct {
		second float64
		air    float64
		want   string
	}{{594, 60, "lots.next.stalled"}, {400, 60, "lots.next.weigh"}, {594, 0, "lots.next.weigh"}} {
		s := newStation(t)
		s.note("", "setting", m{"key": "dryer_g_per_h", "value": c.air})
		s.harvested("pond", "one")
		s.typed("lot_step", m{"lot": "one", "step": "into_dryer", "mass_g": 598, "temp_c": 40, "tools": []string{"tray"}})
		s.wait(2 * time.Hour)
		s.typed("lot_step", m{"lot": "one", "step": "weighed", "mass_g": c.second, "temp_c": 40})
		l := s.lot("one")
		if n := l.Next[len(l.Next)-1]; n.Key != c.want {
			t.Errorf("598 g, two hours later %g g, air for %g g/h: %s, want %s", c.second, c.air, n.Key, c.want)
		} else {
			heard(t, n)
		}
	}
}

// Keeping is counted from when the form was reached, by process.Life, and the
// released lots that keep shortest stand first.
func TestKeep(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "dry")
	s.dried("dry")
	s.typed("lot_check", m{"lot": "dry", "check": "dry", "water_activity": 0.4})
	s.typed("released", m{"lot": "dry", "reason": "all seen"})
	s.harvested("basin", "cold")
	s.typed("lot_step", m{"lot": "cold", "step": "into_cold", "temp_c": 3})
	s.typed("released", m{"lot": "cold", "reason": "all seen"})
	s.harvested("basin", "held")
	s.typed("lot_step", m{"lot": "held", "step": "into_freezer", "temp_c": -20})
	for _, c := range []struct {
		lot  string
		form process.Form
	}{{"dry", process.DriedSealed}, {"cold", process.FreshUnwashed}, {"held", process.FrozenPaste}} {
		l := s.lot(c.lot)
		if l.Keep == nil || l.Keep.Form != c.form {
			t.Fatalf("%s: keeps %+v, want as %s", c.lot, l.Keep, c.form)
		}
		days, _ := process.Life(c.form, l.Keep.TempC)
		if got := l.Keep.BestBy.Sub(l.Keep.From).Hours() / 24; math.Abs(got-days.Low) > 1e-6 || l.Keep.SellBy.After(l.Keep.BestBy) {
			t.Errorf("%s: keeps %g days until %v, sold until %v, want %g", c.lot, got, l.Keep.BestBy, l.Keep.SellBy, days.Low)
		}
	}
	// What ended long ago is left out of the list, whether it was folded before
	// or not, until something else is told of it.
	s.note("", "discarded", m{"lot": "held"})
	for range 2 {
		if l := s.book().List(s.now.Add(time.Hour)); len(l) != 2 {
			t.Errorf("%d lots are left, want 2", len(l))
		}
		if l := s.book().List(morning); len(l) != 3 {
			t.Errorf("%d lots since the morning, want 3", len(l))
		}
	}
	last := s.p.LotRefs("held")
	s.p.Apply(func() farm.Entry {
		e := s.entry("", "withdrawn", m{})
		e.Corrects = last[len(last)-1].ID
		return e
	}())
	if l := s.book().List(s.now.Add(time.Hour)); len(l) != 3 {
		t.Errorf("%d lots are left after its end was taken back, want 3", len(l))
	}
	first := Soonest(s.book().List(time.Time{}))
	if len(first) != 2 || first[0].ID != "cold" || first[1].ID != "dry" {
		t.Errorf("eaten first: %d lots, want cold, then dry", len(first))
	}
}

// What goes fresh, to the dryer and to the freezer never adds up to more than
// there is nor to more than there is room for; without sun nothing is dried in
// the sun.
func TestToday(t *testing.T) {
	plan := Plan{Dryer: "sun", DryerG: 2000, FreezerG: 1500, FridgeG: 300, FreshG: 200}
	for _, c := range []struct {
		sky    string
		paste  float64
		fresh  float64
		dried  float64
		frozen float64
		waits  float64
	}{
		{"bright", 3000, 500, 2000, 500, 0},
		{"hazy", 3000, 500, 1000, 1500, 0},
		{"grey", 3000, 500, 0, 1500, 1000},
		{"unknown", 400, 400, 0, 0, 0},
		{"bright", 0, 0, 0, 0, 0},
	} {
		got := map[string]float64{}
		for _, s := range plan.Today(c.paste, 0.2, c.sky, nil) {
			got[s.Way] = s.MassG
			for _, w := range s.Why {
				heard(t, w)
			}
			if len(s.Why) == 0 {
				t.Errorf("%s: %s has no reason", c.sky, s.Way)
			}
		}
		for way, want := range map[string]float64{"fresh": c.fresh, "dried": c.dried, "frozen": c.frozen, "waits": c.waits} {
			if math.Abs(got[way]-want) > 1e-6 {
				t.Errorf("%s, %g g: %s %g g, want %g g", c.sky, c.paste, way, got[way], want)
			}
		}
	}
	// An order is met out of the same room: 100 g dried want 475 g of paste.
	ordered := Plan{Dryer: "powered", DryerG: 1000, DriedG: 100}
	if got := ordered.Today(3000, 0.2, "grey", nil); len(got) != 2 || got[0].MassG != 1000 || got[1].MassG != 2000 {
		t.Errorf("a dryer of 1000 g: %+v", got)
	}
	// A powered dryer takes what its air carries in 12 h: of paste at 20 % that is
	// to hold 95 %, 1 - 0.2/0.95 = 0.7895 g of water leave each gram.
	plan = Plan{Dryer: "powered", DryerG: 5000, DryerGH: 100}
	got := plan.Today(3000, 0.2, "grey", nil)
	if len(got) != 2 || got[0].Way != "dried" || math.Abs(got[0].MassG-1200/0.78947368) > 0.01 {
		t.Errorf("100 g/h for 12 h: %+v", got)
	}
}

// A setting that can mean nothing is left aside and named; a choice counts from
// when it was made.
func TestPlan(t *testing.T) {
	s := newStation(t)
	def := PlanAt(s.p, s.now)
	for _, c := range Choices() {
		if !c.YesNo && !c.Text && c.Words == nil && c.into != nil && (c.Default < c.Low || c.Default > c.High) {
			t.Errorf("%s: default %g lies outside %g to %g", c.Key, c.Default, c.Low, c.High)
		}
	}
	if !slices.Contains(def.Required, Microscope) || slices.Contains(def.Required, Fitness) || def.LeastPH < 9.79 || def.SellFresh {
		t.Errorf("defaults: %+v", def)
	}
	s.note("", "setting", m{"key": "ph_least_25c", "value": "high"})
	s.note("", "setting", m{"key": "require_smell", "value": false})
	s.note("", "setting", m{"key": "checks_own", "value": "sieve, magnet"})
	now := PlanAt(s.p, s.now)
	if !slices.Equal(now.Unread, []string{"ph_least_25c"}) || slices.Contains(now.Required, Smell) || !slices.Equal(now.Own, []string{"sieve", "magnet"}) {
		t.Errorf("unread %v, required %v, own %v", now.Unread, now.Required, now.Own)
	}
	if was := PlanAt(s.p, s.now.Add(-time.Hour)); !slices.Contains(was.Required, Smell) || len(was.Own) != 0 {
		t.Errorf("an hour ago: required %v, own %v", was.Required, was.Own)
	}
	s.harvested("pond", "one")
	s.typed("lot_step", m{"lot": "one", "step": "into_cold"})
	s.typed("lot_check", m{"lot": "one", "check": "sieve", "outcome": "passed"})
	if l := s.lot("one"); l.check("sieve").State != process.Passed || l.check("magnet").State != process.Missing {
		t.Errorf("own checks: sieve %s, magnet %s", l.check("sieve").State, l.check("magnet").State)
	}
}

// A blend carries the worst of its parts: the longest clock, the oldest birth,
// the failed check.
func TestBlend(t *testing.T) {
	s := newStation(t)
	s.harvested("pond", "old")
	s.typed("lot_step", m{"lot": "old", "step": "into_cold", "temp_c": 4})
	s.wait(20 * time.Hour)
	s.note("basin", "smell", m{"smell": "rotten"})
	s.harvested("basin", "new")
	old, fresh := s.lot("old"), s.lot("new")
	s.typed("lot", m{"lot": "both", "from_lots": []string{"old", "new"}})
	l := s.wantState("both", OnHold)
	if l.Born != old.Born || len(l.Harvests) != 2 || *l.LeftG != *old.LeftG+*fresh.LeftG {
		t.Errorf("born %v of %d harvests, %v g", l.Born, len(l.Harvests), *l.LeftG)
	}
	var wet, wetOld float64
	for _, st := range l.Clock.Stages {
		if st.Where == process.Wet {
			wet = st.SpentH
		}
	}
	for _, st := range old.Clock.Stages {
		if st.Where == process.Wet {
			wetOld = st.SpentH
		}
	}
	if wet < wetOld {
		t.Errorf("the blend was wet for %.2f h, its older part for %.2f h", wet, wetOld)
	}
}
