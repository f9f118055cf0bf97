package keeper_test

import (
	"context"
	"encoding/json"
	"math"
	"testing"
	"time"

	"sodalake/keeper"
)

// few keeps the plans of tests quick.
var few = keeper.Options{Members: 10, Draws: 4, Seed: 7}

// ripe is pond one for five June days, dark and at a pH of a harvest, on the
// sixth morning.
func ripe(t *testing.T, opt keeper.Options) *world {
	w := newWorld(t, "2026-06-06T07:44:00Z", opt)
	w.describe("2026-06-01T08:00:00Z", nil)
	medium := body{"salts_g_per_l": body{"NaHCO3": 4, "Na2CO3": 7, "NaCl": 4, "KNO3": 2, "K2SO4": 0.8, "K2HPO4": 0.2, "MgSO4.7H2O": 0.2}}
	w.note("2026-06-01T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": medium})
	w.note("2026-06-02T07:05:00Z", "one", "ph", body{"ph": 10.2, "temp_c": 21})
	w.note("2026-06-05T07:20:00Z", "one", "secchi", body{"secchi_cm": 2.1})
	w.note("2026-06-05T07:25:00Z", "one", "ph", body{"ph": 10.3, "temp_c": 22})
	return w
}

// choose makes choices of the farm.
func (w *world) choose(choices body) {
	w.t.Helper()
	for key, value := range choices {
		w.note("2026-06-05T20:00:00Z", "", "setting", body{"key": key, "value": value})
	}
}

func (w *world) plan() *keeper.HarvestPlan {
	w.t.Helper()
	p, err := w.k.HarvestPlanNow(context.Background(), time.Time{}, nil)
	if err != nil {
		w.t.Fatal(err)
	}
	return p
}

func asText(t *testing.T, v any) string {
	t.Helper()
	raw, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return string(raw)
}

// of is a vessel's part of a plan.
func of(t *testing.T, p *keeper.HarvestPlan, id string) keeper.PlanOf {
	t.Helper()
	for _, v := range p.Vessels {
		if v.Vessel == id {
			return v
		}
	}
	t.Fatalf("the plan has no part of %s", id)
	return keeper.PlanOf{}
}

// The plan is the same for the same journal and seed, from another keeper too,
// and says of every harvest what the arithmetic of a cloth says.
func TestHarvestPlan(t *testing.T) {
	w := ripe(t, few)
	p := w.plan()
	if again := w.open(few); true {
		other, err := again.HarvestPlanNow(context.Background(), time.Time{}, nil)
		if err != nil {
			t.Fatal(err)
		}
		if a, b := asText(t, p), asText(t, other); a != b {
			t.Errorf("another keeper plans otherwise: %s", firstDifference(a, b))
		}
	}
	if len(p.Days) != 10 || p.Days[0].Date != "2026-06-06" {
		t.Fatalf("%d days from %s, not ten from today", len(p.Days), p.Days[0].Date)
	}
	one := of(t, p, "one")
	if of(t, p, "two").Left != "empty" || of(t, p, "shelf").Left != "reserve" {
		t.Errorf("what is empty or a reserve is planned for: %q %q", of(t, p, "two").Left, of(t, p, "shelf").Left)
	}
	taken, harvests := 0.0, 0
	for i, a := range one.Acts {
		taken += a.DryG.Mid
		if a.Share == 0 {
			continue
		}
		harvests++
		// Dry matter on the cloth is litres times density, and what is left is
		// the rest of it in the same volume: the filtrate goes back. Medians of
		// products move a little against products of medians.
		if want := a.LitresL * a.BeforeGL.Mid; math.Abs(a.DryG.Mid-want) > 0.05*want {
			t.Errorf("%s: %.0f L of %.2f g/L are %.0f g, not %.0f", a.Date, a.LitresL, a.BeforeGL.Mid, want, a.DryG.Mid)
		}
		if want := a.BeforeGL.Mid * (1 - a.Share); math.Abs(a.AfterGL.Mid-want) > 0.02*want {
			t.Errorf("%s: a share of %.2f leaves %.3f g/L, not %.3f", a.Date, a.Share, want, a.AfterGL.Mid)
		}
		if a.Share > 0.5+1e-9 || a.Below > 0.1+1e-9 {
			t.Errorf("%s: share %.2f, chance to leave too little %.2f", a.Date, a.Share, a.Below)
		}
		// Potassium nitrate is 13.85 % nitrogen (IUPAC weights), dry matter a tenth.
		if want := a.DryG.Mid * 0.1 / 0.1385; a.FeedSalt != "KNO3" || math.Abs(a.FeedG-want) > 0.01*want {
			t.Errorf("%s: %.0f g dry matter is fed back by %.0f g %s, not %.0f g KNO3", a.Date, a.DryG.Mid, a.FeedG, a.FeedSalt, want)
		}
		if day := p.Days[i]; day.Vessels != 1 || math.Abs(day.LitresL-a.LitresL) > 1e-6 || a.TopUpL <= 0 {
			t.Errorf("%s: the day asks %d vessels and %.1f L, the pond %.1f L and %.1f L of water", a.Date, day.Vessels, day.LitresL, a.LitresL, a.TopUpL)
		}
	}
	if harvests == 0 || math.Abs(taken-p.Total.DryG.Mid) > 0.1*taken {
		t.Errorf("%d harvests bring %.0f g, the plan says %.0f", harvests, taken, p.Total.DryG.Mid)
	}
	if len(p.Against) != 1 || p.Against[0].Rule != "half" {
		t.Errorf("the plan is set beside %v, not beside half whenever dark alone: no harvest was noted", p.Against)
	}
	if !one.Spared {
		t.Error("no living reserve stands behind the pond, and it is not spared")
	}
	// Without a reserve less than a third is taken at once.
	for _, a := range one.Acts {
		if a.Share > 0.3+1e-9 {
			t.Errorf("%s: share %.2f without a living reserve", a.Date, a.Share)
		}
	}
}

// What cannot be is said, with what holds it back: nobody there, nothing to dry
// with, a wish too large. More room never brings less.
func TestHarvestPlanLimits(t *testing.T) {
	w := ripe(t, few)
	free := w.plan().Total.DryG.Mid
	holds := func(p *keeper.HarvestPlan) string {
		if len(p.Holds) == 0 {
			return ""
		}
		return p.Holds[0].Kind
	}
	w.choose(body{"plan_weekdays": "none"})
	if p := w.plan(); p.Total.DryG.High != 0 || holds(p) != "days" || p.Days[0].Here {
		t.Errorf("nobody is there and %.0f g are harvested; held back by %q", p.Total.DryG.High, holds(p))
	}
	w.choose(body{"plan_weekdays": "", "plan_away": "2026-06-06 2026-06-07"})
	p := w.plan()
	if one := of(t, p, "one"); one.Acts[0].Share > 0 || one.Acts[1].Share > 0 || one.Acts[0].Why != "nobody" || p.Days[2].Date != "2026-06-08" || !p.Days[2].Here {
		t.Errorf("two days away are not kept: %+v", one.Acts[:2])
	}
	w.choose(body{"plan_away": "", "plan_dryer_g": 0})
	if p := w.plan(); p.Total.DryG.High != 0 || holds(p) != "dryer" {
		t.Errorf("there is no place to dry and %.0f g are harvested; held back by %q", p.Total.DryG.High, holds(p))
	}
	last := 0.0
	for _, g := range []float64{20, 60, 1e5} {
		w.choose(body{"plan_dryer_g": g})
		p := w.plan()
		// The search is within 1 % of the best on small cases.
		if got := p.Total.DryG.Mid; got < 0.98*last {
			t.Errorf("a dryer for %.0f g brings %.0f g, a smaller one %.0f", g, got, last)
		}
		for _, d := range p.Days {
			if d.DryG.Mid > g*1.001 {
				t.Errorf("%s: %.0f g for a dryer of %.0f", d.Date, d.DryG.Mid, g)
			}
		}
		last = p.Total.DryG.Mid
	}
	if math.Abs(last-free) > 0.03*free {
		t.Errorf("a dryer that holds nothing back brings %.0f g, none told %.0f", last, free)
	}
	w.choose(body{"plan_goal": "steady", "plan_week_g": 5000})
	p = w.plan()
	if p.Short == nil || p.Short.WantedG != 5000 || p.Short.PossibleG <= 0 || p.Short.PossibleG > 2000 || len(p.Holds) == 0 {
		t.Errorf("five kilograms a week from one pond are promised: %+v, %v", p.Short, p.Holds)
	}
	w.choose(body{"plan_goal": "fewest", "plan_by": "2026-06-01"})
	if p := w.plan(); !p.Wish.Past || p.Short != nil || p.Total.Days > 9 {
		t.Errorf("a date gone by: %+v, short %v, %.0f days", p.Wish, p.Short, p.Total.Days)
	}
}

// A vessel on hold is left out; one harvested today is left until tomorrow; and a
// day that is too far gone begins tomorrow.
func TestHarvestPlanToday(t *testing.T) {
	w := ripe(t, few)
	w.note("2026-06-06T07:30:00Z", "one", "harvested", body{"volume_l": 200})
	if a := of(t, w.plan(), "one").Acts[0]; a.Share != 0 || a.Why != "done" {
		t.Errorf("a second harvest on one day: %+v", a)
	}
	w.set("2026-06-06T15:00:00Z")
	if p := w.plan(); p.Days[0].Date != "2026-06-07" || of(t, p, "one").Acts[0].Why == "done" {
		t.Errorf("in the afternoon the plan begins on %s, %+v", p.Days[0].Date, of(t, p, "one").Acts[0])
	}
	w.note("2026-06-06T14:30:00Z", "one", "held", body{"reason": "a smell of rot"})
	if p := w.plan(); of(t, p, "one").Left != "held" || p.Total.DryG.High != 0 {
		t.Errorf("a vessel on hold is planned for: %+v", of(t, p, "one"))
	}
}

// The own rule is what the journal shows: a quarter of the water on four days.
func TestOwnRule(t *testing.T) {
	w := ripe(t, few)
	for _, day := range []string{"02", "03", "04", "05"} {
		w.note("2026-06-"+day+"T08:00:00Z", "one", "harvested", body{"volume_l": 265})
	}
	p := w.plan()
	if len(p.Against) != 2 || p.Against[1].Rule != "own" || p.Against[1].Seen != 4 {
		t.Fatalf("beside %+v, not beside the own rule", p.Against)
	}
	if own := p.Against[1]; math.Abs(own.Share-0.25) > 0.02 || own.AboveGL < 0.2 || own.AboveGL > 0.5 {
		t.Errorf("own rule: a share of %.3f above %.2f g/L", own.Share, own.AboveGL)
	}
}

// The plan is worked out behind the answer, once for what is noted, and anew
// when something is.
func TestHarvestPlanBehind(t *testing.T) {
	w := ripe(t, few)
	ctx := context.Background()
	ask := func() keeper.PlanState {
		t.Helper()
		for range 400 {
			s, err := w.k.HarvestPlan(ctx, time.Time{}, 100*time.Millisecond)
			if err != nil {
				t.Fatal(err)
			}
			if !s.Running {
				return s
			}
			if s.Progress < 0 || s.Progress > 1 {
				t.Fatalf("progress is %g", s.Progress)
			}
		}
		t.Fatal("the plan is never done")
		return keeper.PlanState{}
	}
	first := ask()
	if first.Plan == nil || first.Trouble != nil || first.Old {
		t.Fatalf("no plan: %+v", first)
	}
	if again := ask(); again.Plan != first.Plan {
		t.Error("the plan is worked out again though nothing was noted")
	}
	w.choose(body{"plan_weekdays": "none"})
	if changed := ask(); changed.Plan == first.Plan || changed.Plan.Total.DryG.High != 0 {
		t.Error("a new choice does not change the plan")
	}
	// A page that only mentions the plan begins no other within minutes, and says
	// that something was noted since; later it does.
	w.note("2026-06-06T07:40:00Z", "one", "temperature", body{"temp_c": 21})
	quiet := func() keeper.PlanState {
		t.Helper()
		s, err := w.k.HarvestPlan(ctx, time.Time{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	if s := quiet(); s.Running || !s.Old || s.Plan == nil {
		t.Errorf("within minutes of a plan: %+v", s)
	}
	w.set("2026-06-06T07:58:00Z")
	if s := quiet(); !s.Running || !s.Old {
		t.Errorf("a quarter of an hour after a plan: %+v", s)
	}
	if s := ask(); s.Old {
		t.Error("a new plan is called old")
	}
	now := w.plan()
	if kept := ask(); asText(t, kept.Plan) != asText(t, now) {
		t.Error("the plan behind the answer and the one that is waited for differ")
	}
}
