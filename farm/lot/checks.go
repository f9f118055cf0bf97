package lot

import (
	"slices"
	"strings"
	"time"

	"sodalake/science/assay"
	"sodalake/science/process"
)

// The checks that the program knows. A farm adds its own by name.
const (
	Microscope = "microscope" // nothing foreign under the microscope before the harvest
	Smell      = "smell"
	Acidity    = "ph" // high enough at 25 °C over the days before
	Colour     = "colour"
	Cleaning   = "cleaning" // every tool cleaned and found in order before it was used
	TimeClock  = "clock"    // time and warmth from cloth to dry or cold
	Dryness    = "dry"      // dry enough to keep
	Fitness    = "fitness"  // who worked was fit to work with food
	Laboratory = "laboratory"
)

// checkKinds are the checks in the order in which they are shown. What is
// required by default is common practice, no source.
var checkKinds = []struct {
	key       string
	ofHarvest bool // judged of each harvest by itself
	required  bool
}{
	{Microscope, true, true},
	{Smell, true, true},
	{Acidity, true, true},
	{Colour, true, true},
	{Fitness, true, false},
	{Cleaning, false, true},
	{TimeClock, false, true},
	{Dryness, false, true},
}

// checkName is the name of a check by what a person calls it.
func checkName(s string) string {
	switch s {
	case "look", "micro":
		return Microscope
	case "color":
		return Colour
	case "time":
		return TimeClock
	case "dryness", "water_activity":
		return Dryness
	case "clean":
		return Cleaning
	case "fit":
		return Fitness
	case "lab":
		return Laboratory
	}
	return s
}

// checks are all checks of the lot as they stand at t.
func (f *folding) checks(t time.Time) []Check {
	plan := f.b.plan(t)
	var out []Check
	add := func(key string, c Check) {
		c.Key = key
		c.Required = slices.Contains(plan.Required, key) || slices.Contains(plan.Own, key) || key == Laboratory && len(plan.LabNeeded) > 0
		out = append(out, f.told(c, t))
	}
	for _, k := range checkKinds {
		switch {
		case k.key == Dryness && !f.dried && !f.testedFor(Dryness):
		case k.key == TimeClock:
			add(k.key, f.clockCheck(t))
		case k.key == Cleaning:
			own := f.cleaning()
			if len(f.parents) > 0 && len(f.uses) == 0 {
				add(k.key, f.inherited(k.key, Check{}, t))
			} else {
				add(k.key, f.inherited(k.key, own, t))
			}
		case k.key == Dryness:
			add(k.key, f.inherited(k.key, f.dryness(plan), t))
		case k.ofHarvest:
			c := Check{}
			for i := range f.l.Harvests {
				h := &f.l.Harvests[i]
				one := f.b.ofHarvest(k.key, h, t)
				one.Settled = f.settledBefore(k.key, h.EntryID)
				if one.Settled && one.State == process.Failed {
					one.State = process.Passed
				}
				if c.State == "" {
					c = one
				} else {
					c = worse(c, one)
				}
			}
			if c.State == "" {
				c = Check{State: process.Missing, Why: said("lots.why.no_harvest")}
			}
			add(k.key, c)
		}
	}
	if lab := f.lab(t, plan); len(lab) > 0 || len(plan.LabNeeded) > 0 {
		c := labCheck(lab, plan)
		c.Key, c.Required = Laboratory, len(plan.LabNeeded) > 0
		out = append(out, f.settle(c, t))
	}
	for _, key := range f.ownChecks(plan) {
		add(key, f.inherited(key, Check{}, t))
	}
	return out
}

// ownChecks are the farm's own checks: those of the plan, and those that somebody
// noted.
func (f *folding) ownChecks(plan *Plan) []string {
	out := slices.Clone(plan.Own)
	var walk func(f *folding)
	walk = func(f *folding) {
		for _, x := range f.tests {
			name := checkName(x.check)
			known := slices.ContainsFunc(checkKinds, func(k struct {
				key       string
				ofHarvest bool
				required  bool
			}) bool {
				return k.key == name
			})
			if !known && name != Laboratory && x.analyte == "" && !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
		for _, p := range f.parents {
			walk(p)
		}
	}
	walk(f)
	return out
}

func (f *folding) testedFor(key string) bool {
	return slices.ContainsFunc(f.tests, func(x *fact) bool { return checkName(x.check) == key && x.analyte == "" })
}

// inherited joins a check of the lot's own with how it stood in each lot that
// went in. A zero own has nothing to say.
func (f *folding) inherited(key string, own Check, t time.Time) Check {
	c := own
	for _, p := range f.parents {
		i := slices.IndexFunc(p.checksNow(), func(o Check) bool { return o.Key == key })
		one := Check{State: process.Missing, Why: said("lots.why.not_checked")}
		if i >= 0 {
			one = p.checksNow()[i]
		} else if key == Dryness && !p.dried {
			continue // it was not dry when it went in: what was dried later tells
		}
		if c.State == "" {
			c = one
			continue
		}
		if key == Dryness && c.State == process.Passed {
			continue // measured on the whole since
		}
		c = worse(c, one)
	}
	if c.State == "" {
		c = Check{State: process.Missing, Why: said("lots.why.not_checked")}
	}
	return c
}

// checksNow are the checks of a lot that went into another, as they stood then.
func (f *folding) checksNow() []Check {
	if f.l.Checks == nil {
		f.l.Checks = f.checks(f.way.since)
		if f.l.Checks == nil {
			f.l.Checks = []Check{}
		}
	}
	return f.l.Checks
}

// settledBefore reports whether a failed look at a harvest was settled in every
// lot through which it came here.
func (f *folding) settledBefore(key, harvest string) bool {
	through := 0
	for _, p := range f.parents {
		if !slices.ContainsFunc(p.l.Harvests, func(h Harvest) bool { return h.EntryID == harvest }) {
			continue
		}
		through++
		if !slices.ContainsFunc(p.checksNow(), func(c Check) bool { return c.Key == key && c.Settled }) {
			return false
		}
	}
	return through > 0
}

// told lays over a check what people noted of this lot: a result passed fills
// what was missing, a result failed fails, and what failed stays failed until it
// is settled.
func (f *folding) told(c Check, t time.Time) Check {
	for _, x := range f.tests {
		if checkName(x.check) != c.Key || x.analyte != "" || x.At.After(t) {
			continue
		}
		switch {
		case x.outcome == "failed":
			c.State, c.Why, c.At, c.By, c.Evidence, c.Settled = process.Failed, said("lots.why.told_failed", "who", x.by, "time", x.At), x.At, x.by, []string{x.ID}, false
		case x.outcome == "passed" && c.State == process.Missing && (c.Key != Dryness || !measured(x)):
			c.State, c.Why, c.At, c.By = process.Passed, said("lots.why.told_passed", "who", x.by, "time", x.At), x.At, x.by
			c.Evidence = []string{x.ID}
		}
	}
	return f.settle(c, t)
}

func measured(x *fact) bool { return x.activity >= 0 || x.moisture >= 0 }

// settle looks whether a failed check was set right: a deviation tells why it
// failed and what was done, and a later result passed. Of the clock the later
// results are a laboratory's, for the two organisms that the time may have let
// grow: S. aureus and B. cereus.
func (f *folding) settle(c Check, t time.Time) Check {
	if c.State != process.Failed {
		return c
	}
	for _, d := range f.l.Deviations {
		if d.Check != c.Key || d.At.After(t) || d.At.Before(c.At) {
			continue
		}
		var after []*fact
		for _, x := range f.tests {
			if !x.At.Before(c.At) && !x.At.After(t) && x.Ref.Compare(f.refOf(d.EntryID)) != 0 {
				after = append(after, x)
			}
		}
		if id, ok := f.setRight(c.Key, after, t); ok {
			c.State, c.Settled = process.Passed, true
			c.Why = said("lots.why.settled", "who", d.By, "time", d.At, "cause", d.Reason, "done", d.Done)
			c.Evidence = append(append(c.Evidence[:len(c.Evidence):len(c.Evidence)], d.EntryID), id...)
			return c
		}
	}
	return c
}

// setRight looks for the results that settle a failed check, and returns their
// entries.
func (f *folding) setRight(key string, after []*fact, t time.Time) ([]string, bool) {
	var ids []string
	switch key {
	case TimeClock:
		for _, analyte := range []string{assay.SAureus, assay.BCereus} {
			i := slices.IndexFunc(after, func(x *fact) bool {
				return x.analyte == analyte && labOf(x, f.l.ID, f.b.plan(t)).State == process.Passed
			})
			if i < 0 {
				return nil, false
			}
			ids = append(ids, after[i].ID)
		}
		return ids, true
	case Laboratory:
		return nil, false // a later result of the same analyte stands in its place
	}
	for _, x := range slices.Backward(after) {
		if checkName(x.check) != key || x.analyte != "" {
			continue
		}
		if x.outcome == "failed" {
			return nil, false
		}
		if key == Dryness && measured(x) {
			return []string{x.ID}, drynessOf(x, f.b.plan(t)).State == process.Passed
		}
		if x.outcome == "passed" {
			return []string{x.ID}, true
		}
	}
	return nil, false
}

func (f *folding) clockCheck(t time.Time) Check {
	c := f.clock(t)
	out := Check{State: process.Passed, Why: said("lots.why.in_time"), At: t}
	if c.Warning.Key != "" {
		out.Why = c.Warning
	}
	for _, s := range c.Stages {
		if rank(s.Due) >= rank(process.Hold) {
			out.State, out.At = process.Failed, f.passedAt(t)
			break
		}
	}
	if out.State == process.Failed {
		// Settled in what it was made of, and not passed anew since.
		settled := len(f.parents) > 0
		for _, p := range f.parents {
			i := slices.IndexFunc(p.checksNow(), func(o Check) bool { return o.Key == TimeClock })
			settled = settled && i >= 0 && p.checksNow()[i].State == process.Passed
		}
		if settled && !f.ownTime(t) {
			out.State, out.Settled, out.Why = process.Passed, true, said("lots.why.settled_before")
		}
	}
	return out
}

// ownTime reports whether the lot's clock ran on after it was made of others.
func (f *folding) ownTime(t time.Time) bool {
	for _, s := range f.way.spans(t, f)[len(f.way.base):] {
		if s.DurationS > 0 && s.Where != process.Dry && s.Where != process.Frozen {
			return true
		}
	}
	return false
}

// dryness judges what was measured last.
func (f *folding) dryness(plan *Plan) Check {
	c := Check{}
	for _, x := range f.tests {
		if checkName(x.check) == Dryness && x.analyte == "" && measured(x) {
			one := drynessOf(x, plan)
			if c.State == process.Failed && one.State != process.Failed {
				continue // settled, or not: see settle
			}
			c = one
		}
	}
	if c.State == "" && len(f.parents) == 0 {
		c = Check{State: process.Missing, Why: said("lots.why.not_measured")}
	}
	return c
}

// drynessOf judges a measured water activity, or a measured moisture by the
// band of isotherms and the plan's own bound.
func drynessOf(x *fact, plan *Plan) Check {
	c := Check{At: x.At, By: x.by, Evidence: []string{x.ID}}
	switch {
	case x.activity >= 0:
		c.State = process.ByActivity(x.activity, plan.Meter, plan.Activity)
		c.Why = said("lots.why.activity", "activity", x.activity, "limit", plan.Activity, "meter", plan.Meter)
	case 100*x.moisture > plan.MoisturePc:
		c.State = process.Failed
		c.Why = said("lots.why.moisture", "moisture_pct", 100*x.moisture, "limit_pct", plan.MoisturePc)
	default:
		c.State = process.Published.ByMoisture(x.moisture, plan.Activity)
		c.Why = said("lots.why.moisture", "moisture_pct", 100*x.moisture, "limit_pct", plan.MoisturePc)
		if c.State == process.Missing {
			c.Why.Key = "lots.why.moisture_unsure"
		}
	}
	return c
}

// blockers are the required checks that are missing and those that failed.
func blockers(checks []Check) (missing, failed []string) {
	for _, c := range checks {
		switch {
		case c.State == process.Failed:
			failed = append(failed, c.Key)
		case c.State == process.Missing && c.Required:
			missing = append(missing, c.Key)
		}
	}
	return missing, failed
}

// listed joins names for a message.
func listed(names []string) string { return strings.Join(names, ", ") }
