package lot

import (
	"strconv"
	"time"

	"sodalake/farm"
	"sodalake/science/process"
)

// HazardPlan is the farm's own plan of control: at each step what can hurt, what
// holds it, and what the journal shows of that between two moments. Its form
// follows the principles and the worksheet of the Codex.
//
// Source: cxc1, from memory (seven principles; the worksheet of limits,
// monitoring, correction, verification and records).
type HazardPlan struct {
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Controls []Control `json:"controls"`
	Lots     []Lot     `json:"lots"` // begun in between, the newest first
	Plan     Plan      `json:"-"`
	Names    Names     `json:"names"`
}

// Control is one step with what holds its hazards. What it says stands in the
// catalogue under hazard.KEY: step, hazard, limit, how, correct, verify, record.
type Control struct {
	Key      string         `json:"key"`
	Critical bool           `json:"critical"` // no lot goes where it failed or is missing
	Check    string         `json:"check,omitempty"`
	Limit    map[string]any `json:"limit,omitempty"` // what the limit's sentence needs
	Counts   Counts         `json:"counts"`
	Shown    []Said         `json:"shown,omitempty"`
}

// Counts is how a check came out on the lots of a time.
type Counts struct {
	Lots       int      `json:"lots"` // that it applies to
	Passed     int      `json:"passed"`
	Failed     int      `json:"failed"`
	Missing    int      `json:"missing"`
	Settled    int      `json:"settled"`             // of those passed: failed first, then set right
	Deviations int      `json:"deviations"`          // written down
	Open       []string `json:"open_lots,omitempty"` // lots where it failed or is missing though required
}

// Hazards is the farm's plan with what its journal shows from from up to to.
func (b *Book) Hazards(from, to time.Time) HazardPlan {
	plan := b.plan(b.at)
	out := HazardPlan{From: from, To: to, Plan: *plan, Names: NamesOf(b.p)}
	cold := false
	for _, l := range b.List(from) {
		if !l.Began.Before(from) && l.Began.Before(to) {
			out.Lots = append(out.Lots, l)
		}
		cold = cold || l.Where == process.Cold
		for _, st := range l.Steps {
			cold = cold || st.Step == "into_cold"
		}
	}
	rule := map[process.Where]process.Rule{}
	for _, r := range plan.Clock {
		rule[r.Where] = r
	}
	hours := func(s float64) float64 { return s / 3600 }
	out.add(plan, "salts", "", nil, b.salts())
	out.add(plan, "culture", Microscope, map[string]any{"filaments": plan.LeastSeen, "within_h": plan.LookH}, b.looks(from, to))
	out.add(plan, "acidity", Acidity, map[string]any{"limit_ph": plan.LeastPH, "within_h": plan.PHH}, b.meters(from, to))
	out.add(plan, "people", Fitness, nil, nil)
	out.add(plan, "tools", Cleaning, nil, b.cleanedIn(from, to))
	wet := rule[process.Wet]
	out.add(plan, "wet", TimeClock, map[string]any{"plan_h": hours(wet.PlanS), "hold_h": hours(wet.HoldS), "stop_h": hours(wet.DiscardS), "cold_c": process.RefrigeratorC}, nil)
	if plan.Dryer != "none" || out.any(func(l *Lot) bool { return l.Form == process.DriedSealed || l.Where == process.Drying }) {
		dry := rule[process.Drying]
		out.add(plan, "dryer", TimeClock, map[string]any{"plan_h": hours(dry.PlanS), "hold_h": hours(dry.HoldS)}, nil)
		out.add(plan, "dry", Dryness, map[string]any{"activity": plan.Activity, "moisture_pct": plan.MoisturePc}, nil)
	}
	if cold || plan.SellFresh {
		r := rule[process.Cold]
		out.add(plan, "cold", TimeClock, map[string]any{"fridge_c": plan.FridgeC, "plan_d": r.PlanS / 86400, "stop_d": r.DiscardS / 86400}, nil)
	}
	if plan.FreezerG > 0 || out.any(func(l *Lot) bool { return l.Form == process.FrozenPaste }) {
		out.add(plan, "frozen", "", map[string]any{"freezer_c": plan.FreezerC}, nil)
	}
	out.add(plan, "bodies", "", nil, b.accidents(from, to))
	out.add(plan, "laboratory", Laboratory, map[string]any{"analytes": plan.LabNeeded}, b.results(from, to))
	out.add(plan, "release", "", map[string]any{"every_d": plan.DrillDays}, b.decisions(from, to))
	return out
}

func (h *HazardPlan) any(is func(l *Lot) bool) bool {
	for i := range h.Lots {
		if is(&h.Lots[i]) {
			return true
		}
	}
	return false
}

// stages are the stages of the clock that controls speak of.
var stages = map[string]process.Where{"wet": process.Wet, "dryer": process.Drying, "cold": process.Cold}

// atStage is the clock's check c as it came out at one stage; false where the
// lot spent no time there.
func (l *Lot) atStage(c Check, where process.Where) (Check, bool) {
	for _, st := range l.Clock.Stages {
		if st.Where != where {
			continue
		}
		if rank(st.Due) < rank(process.Hold) {
			c.State, c.Settled = process.Passed, false
		}
		return c, st.SpentH > 0
	}
	return c, false
}

// add adds a control with how its check came out.
func (h *HazardPlan) add(plan *Plan, key, check string, limit map[string]any, shown []Said) {
	c := Control{Key: key, Check: check, Limit: limit, Shown: shown}
	for _, r := range plan.Required {
		c.Critical = c.Critical || r == check
	}
	c.Critical = c.Critical || check == Laboratory && len(plan.LabNeeded) > 0
	for i := range h.Lots {
		l := &h.Lots[i]
		for _, one := range l.Checks {
			if check == "" || one.Key != check {
				continue
			}
			if check == TimeClock {
				var spent bool
				if one, spent = l.atStage(one, stages[key]); !spent {
					continue // it was never there
				}
			}
			c.Counts.Lots++
			switch one.State {
			case process.Passed:
				c.Counts.Passed++
				if one.Settled {
					c.Counts.Settled++
				}
			case process.Failed:
				c.Counts.Failed++
			default:
				c.Counts.Missing++
			}
			if one.State == process.Failed || one.State == process.Missing && one.Required {
				c.Counts.Open = append(c.Counts.Open, l.ID)
			}
		}
		for _, d := range l.Deviations {
			if check != "" && d.Check == check {
				c.Counts.Deviations++
			}
		}
	}
	h.Controls = append(h.Controls, c)
}

// salts says of which grade the salts on the shelf are.
func (b *Book) salts() []Said {
	all, food, papers := 0, 0, 0
	for _, s := range b.p.Supplies() {
		all++
		if s.Grade == "food" || s.Grade == "pure" {
			food++
		}
		if s.Certificate != "" {
			papers++
		}
	}
	return []Said{said("lots.shown.salts", "all", whole(all), "food", whole(food), "papers", whole(papers))}
}

// whole is a count as sentences take it: no unit, no digits behind the point.
func whole(n int) string { return strconv.Itoa(n) }

func (b *Book) looks(from, to time.Time) []Said {
	n, foreign := 0, 0
	for _, v := range b.p.Vessels() {
		for _, r := range b.p.Readings(v.ID, from, to, "foreign_seen") {
			n++
			if r.Value > 0 {
				foreign++
			}
		}
	}
	return []Said{said("lots.shown.looks", "n", whole(n), "foreign", whole(foreign))}
}

func (b *Book) meters(from, to time.Time) []Said {
	n, failed := 0, 0
	for _, r := range b.p.KindRefs("checked", from, to) {
		if x := b.fact(r); x != nil {
			n++
			if x.result == "failed" {
				failed++
			}
		}
	}
	return []Said{said("lots.shown.meters", "n", whole(n), "failed", whole(failed))}
}

func (b *Book) cleanedIn(from, to time.Time) []Said {
	n, looked, failed := 0, 0, 0
	for _, r := range b.p.KindRefs("cleaned", from, to) {
		x := b.fact(r)
		if x == nil {
			continue
		}
		n++
		if isVerified(x) {
			looked++
		}
		if x.result == "failed" {
			failed++
		}
	}
	return []Said{said("lots.shown.cleanings", "n", whole(n), "good", whole(looked), "failed", whole(failed))}
}

// accidents are what fell in or broke.
func (b *Book) accidents(from, to time.Time) []Said {
	n := 0
	for _, r := range b.p.KindRefs("event", from, to) {
		if ev, ok := b.p.Event(r.ID); ok {
			for _, bad := range []string{"glass", "soil", "ash", "dust"} {
				if ev.Body.Text("event") == bad {
					n++
				}
			}
		}
	}
	return []Said{said("lots.shown.accidents", "n", whole(n))}
}

func (b *Book) results(from, to time.Time) []Said {
	count := map[process.State]int{}
	for _, r := range b.p.KindRefs("lot_check", from, to) {
		if x := b.fact(r); x != nil && x.analyte != "" {
			count[labOf(x, x.lot, b.plan(x.At)).State]++
		}
	}
	return []Said{said("lots.shown.results", "passed", whole(count[process.Passed]), "failed", whole(count[process.Failed]), "missing", whole(count[process.Missing]))}
}

func (b *Book) decisions(from, to time.Time) []Said {
	released := 0
	for _, r := range b.p.KindRefs("released", from, to) {
		if x := b.fact(r); x != nil && x.lot != "" && x.hold == "" {
			released++
		}
	}
	out := []Said{said("lots.shown.decisions", "released", whole(released), "rejected", whole(len(b.p.KindRefs("rejected", from, to))), "recalled", whole(len(b.p.KindRefs("recalled", from, to))))}
	if last, due := b.Drill(); !last.IsZero() {
		out = append(out, said("lots.shown.drill", "time", last))
	} else if !due.IsZero() && due.Before(b.at) {
		out = append(out, said("lots.shown.drill_due", "time", due))
	}
	return out
}

// Register is what an inspector reads behind the plan: cleanings, checks of
// instruments and deviations of a time, the oldest first.
type Register struct {
	Kind, By, What, Result string
	At                     time.Time
	EntryID                string
}

// Registers are the entries of the kinds cleaned, checked and lot_deviation.
func (b *Book) Registers(from, to time.Time) []Register {
	var out []Register
	for _, kind := range []string{"cleaned", "checked", "lot_deviation", "recalled", "rejected"} {
		for _, r := range b.p.KindRefs(kind, from, to) {
			ev, ok := b.p.Event(r.ID)
			if !ok {
				continue
			}
			x := Register{Kind: kind, By: ev.Entry.By, At: ev.Entry.At, EntryID: r.ID, Result: ev.Body.Text("result")}
			for _, part := range []string{ev.Body.Text("lot"), ev.Body.Text("instrument"), toolsText(ev.Body), ev.Body.Text("check"), ev.Body.Text("what"), ev.Body.Text("reason")} {
				if part != "" {
					if x.What != "" {
						x.What += "; "
					}
					x.What += part
				}
			}
			out = append(out, x)
		}
	}
	return out
}

func toolsText(b farm.Body) string { return listed(b.List("tools")) }
