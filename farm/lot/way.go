package lot

import (
	"cmp"
	"math"
	"slices"
	"time"

	"sodalake/science/process"
)

// Temperatures that are taken where none was noted [°C]: warm enough that the
// clock rather runs too fast. Judgement, no source.
const (
	assumedTableC = 28
	assumedDryerC = 40
)

// way is how long a lot was where, at which temperature.
type way struct {
	base   map[stretch]float64 // of the lots it was made of: the longest of any of them [s]
	own    []process.Span
	ends   []time.Time // of own
	since  time.Time
	temp   float64 // NaN where it was not noted [°C]
	guess  bool    // a temperature was taken that nobody noted
	enough bool    // what is in the dryer is under the water activity at which its clock ends
}

type stretch struct {
	where process.Where
	tempC float64 // [°C]
}

func (w *way) begin(t time.Time) { w.since, w.temp = t, math.NaN() }

// moist takes a measured moisture [1]: under the activity by the cautious curve
// the dryer's clock ends.
func (w *way) moist(share float64) {
	if _, high := process.Published.Activities(share); high < process.WetActivity {
		w.enough = true
	}
}

// active takes a measured water activity [1].
func (w *way) active(a float64) {
	if a < process.WetActivity {
		w.enough = true
	}
}

// where is the stage of the process in which a lot is.
func (f *folding) where() process.Where {
	switch {
	case f.site == inDryer && !f.way.enough:
		return process.Drying
	case f.site == inDryer || f.dried:
		return process.Dry
	case f.site == inCold:
		return process.Cold
	case f.site == inFreezer:
		return process.Frozen
	}
	return process.Wet
}

// span is the stretch that runs since the last entry, up to t.
func (w *way) span(t time.Time, f *folding) process.Span {
	s := process.Span{Where: f.where(), DurationS: math.Max(t.Sub(w.since).Seconds(), 0), TempC: w.temp}
	if math.IsNaN(s.TempC) {
		switch s.Where {
		case process.Drying:
			s.TempC = assumedDryerC
		case process.Cold:
			s.TempC = f.b.plan(t).FridgeC
		case process.Frozen:
			s.TempC = f.b.plan(t).FreezerC
		case process.Dry:
			s.TempC = f.b.plan(t).StoreC
		default:
			s.TempC = assumedTableC
		}
	}
	return s
}

// until closes the stretch that runs at t.
func (w *way) until(t time.Time, f *folding) {
	if !t.After(w.since) {
		return
	}
	s := w.span(t, f)
	if math.IsNaN(w.temp) && (s.Where == process.Wet || s.Where == process.Drying) {
		w.guess = true
	}
	w.own, w.ends, w.since = append(w.own, s), append(w.ends, t), t
}

// join takes over the way of a part: of each stretch the longest of any part
// counts, which is never less than the way of any one of them.
func (w *way) join(o *way) {
	if w.base == nil {
		w.base = map[stretch]float64{}
	}
	sum := map[stretch]float64{}
	for k, s := range o.base {
		sum[k] += s
	}
	for _, s := range o.own {
		sum[stretch{s.Where, s.TempC}] += s.DurationS
	}
	for k, s := range sum {
		w.base[k] = math.Max(w.base[k], s)
	}
	w.guess = w.guess || o.guess
}

// spans are all stretches up to t, the one that runs last.
func (w *way) spans(t time.Time, f *folding) []process.Span {
	out := make([]process.Span, 0, len(w.base)+len(w.own)+1)
	for k, s := range w.base {
		out = append(out, process.Span{Where: k.where, DurationS: s, TempC: k.tempC})
	}
	slices.SortFunc(out, func(a, b process.Span) int {
		return cmp.Or(cmp.Compare(a.Where, b.Where), cmp.Compare(a.TempC, b.TempC))
	})
	return append(append(out, w.own...), w.span(t, f))
}

// clock sums the way up to t.
func (f *folding) clock(t time.Time) Clock {
	if !f.ended.IsZero() && f.ended.Before(t) {
		t = f.ended
	}
	rules := f.b.plan(t).Clock
	c := Clock{Assumed: f.way.guess}
	spans := f.way.spans(t, f)
	var err error
	if c.Tallies, c.Exposures, err = process.Clock(spans, rules); err != nil {
		return c // a temperature that cannot be: the entry is doubted for it
	}
	now := f.where()
	c.Assumed = c.Assumed || math.IsNaN(f.way.temp) && (now == process.Wet || now == process.Drying)
	c.Stands = now == process.Dry || now == process.Frozen || !f.ended.IsZero()
	var warn *Stage
	for i, tally := range c.Tallies {
		s := Stage{Where: tally.Where, SpentH: tally.SpentS / 3600, PlanH: rules[i].PlanS / 3600, HoldH: rules[i].HoldS / 3600, Due: tally.Due}
		if !math.IsInf(tally.NextS, 1) && !c.Stands {
			s.NextDue, s.NextAt = tally.NextDue, t.Add(time.Duration(tally.NextS*float64(time.Second)))
		}
		c.Stages = append(c.Stages, s)
		if worse := warn == nil || rank(s.Due) > rank(warn.Due); worse && (rank(s.Due) > 0 || !s.NextAt.IsZero()) {
			warn = &c.Stages[len(c.Stages)-1]
		}
	}
	if warn != nil {
		args := []any{"stage", string(warn.Where), "spent_h", warn.SpentH}
		switch {
		case rank(warn.Due) >= rank(process.Hold):
			c.Warning = said("lots.clock.passed", append(args, "limit_h", warn.HoldH)...)
		case warn.Due == process.PlanPassed && warn.NextAt.IsZero():
			c.Warning = said("lots.clock.plan_passed", append(args, "limit_h", warn.PlanH)...)
		case warn.Due == process.PlanPassed:
			c.Warning = said("lots.clock.plan_passed_next", append(args, "limit_h", warn.PlanH, "time", warn.NextAt)...)
		default:
			c.Warning = said("lots.clock.next", append(args, "limit_h", warn.PlanH, "time", warn.NextAt)...)
		}
	}
	return c
}

func rank(d process.Due) int {
	return slices.Index([]process.Due{process.InTime, process.PlanPassed, process.Hold, process.Discard}, d)
}

// passedAt is when a limit that put the lot on hold was passed, by its own way;
// when the lot began where its parts had passed it before.
func (f *folding) passedAt(t time.Time) time.Time {
	rules := f.b.plan(t).Clock
	spans := f.way.spans(t, f)
	first := len(spans) - 1 - len(f.way.own)
	for i := first; i <= len(spans); i++ {
		tallies, _, err := process.Clock(spans[:i], rules)
		if err != nil {
			return t
		}
		for j, tally := range tallies {
			if rank(tally.Due) < rank(process.Hold) {
				continue
			}
			if i <= first {
				return f.l.Began
			}
			end := t
			if k := i - 1 - first; k < len(f.way.ends) {
				end = f.way.ends[k]
			}
			return end.Add(-time.Duration((tally.SpentS - rules[j].HoldS) * float64(time.Second)))
		}
	}
	return t
}
