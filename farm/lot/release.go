package lot

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/process"
)

// owner reports whether who could let lots go at t: a person that was written
// down with that role.
func (b *Book) owner(who string, t time.Time) bool {
	p, ok := b.p.PersonAt(who, t)
	return ok && p.Role == "owner" && !p.Retired
}

// release takes a person's decision: to end one hold, or to let the lot go out.
func (f *folding) release(x *fact) {
	if f.b.plain {
		return
	}
	if !f.b.owner(x.by, x.At) {
		d := f.doubt("doubt.lot.not_owner", x, "by", fmt.Sprintf("%q is written down as no owner and lets no lot go", x.by))
		d.Hint, d.denied = "an owner decides; describe people with their role first", true
		d.Args["who"] = x.by
		return
	}
	if x.hold != "" {
		f.lift(x)
		return
	}
	if !f.ended.IsZero() {
		f.doubt("doubt.lot.ended", x, "body.lot", fmt.Sprintf("lot %q was used already: nothing is left of it", f.l.ID))
		return
	}
	f.way.until(x.At, f)
	checks := f.checks(x.At)
	missing, failed := blockers(checks)
	var holds []string
	for i := range f.l.Holds {
		if h := &f.l.Holds[i]; h.Stands() {
			holds = append(holds, h.Key)
		}
	}
	switch {
	case f.l.NotFood:
		f.doubt("doubt.lot.not_food", x, "body.lot", fmt.Sprintf("lot %q is not for food", f.l.ID))
	case f.rejected != nil:
		f.doubt("doubt.lot.rejected", x, "body.lot", fmt.Sprintf("lot %q is rejected", f.l.ID)).Hint = "a rejected lot can only be thrown away"
	case f.over:
		f.doubt("doubt.lot.balance", x, "body.lot", fmt.Sprintf("lot %q does not balance: more left it than was there", f.l.ID)).Hint = "correct the entry with the wrong amount first"
	case len(holds) > 0:
		d := f.doubt("doubt.lot.held", x, "body.lot", fmt.Sprintf("lot %q is on hold: %s", f.l.ID, listed(holds)))
		d.Hint = "end each hold with its own reason first"
		d.Args["holds"] = holds
	case len(missing)+len(failed) > 0:
		d := f.doubt("doubt.lot.checks", x, "body.lot", fmt.Sprintf("lot %q stays on hold: %s", f.l.ID, stated(missing, failed)))
		d.Hint = "note what is missing; what failed needs a deviation with its cause, what was done, and a later result"
		d.Args["missing"], d.Args["failed"] = missing, failed
	default:
		f.lapsed = false
		f.l.Release = &Release{Decision: Decision{x.ID, x.At, x.by, x.reason}, Evidence: checks}
	}
}

func stated(missing, failed []string) string {
	var parts []string
	for _, k := range failed {
		parts = append(parts, k+" failed")
	}
	for _, k := range missing {
		parts = append(parts, k+" missing")
	}
	return listed(parts)
}

// lift ends one hold.
func (f *folding) lift(x *fact) {
	for i := range f.l.Holds {
		if h := &f.l.Holds[i]; h.Stands() && h.EntryID == x.hold {
			h.EndedAt, h.EndedBy, h.Why = x.At, x.by, x.reason
			return
		}
	}
	f.doubt("doubt.lot.no_hold", x, "body.hold", fmt.Sprintf("body.hold %q began no hold that stands on lot %q", x.hold, f.l.ID)).Hint = "look at the lot's holds"
}

// mayGo doubts a part that goes to eaters without a release that holds, or
// fresh where the farm gives nothing away fresh.
func (f *folding) mayGo(x *fact, w Way) {
	if f.b.plain {
		return
	}
	plan := f.b.plan(x.At)
	f.way.until(x.At, f)
	switch st, why := f.stateAt(x.At); st {
	case Released:
	case Rejected:
		f.doubt("doubt.lot.rejected", x, "body.lot", fmt.Sprintf("lot %q is rejected", f.l.ID)).Hint = "a rejected lot can only be thrown away"
	default:
		d := f.doubt("doubt.lot.not_released", x, "body.lot", fmt.Sprintf("lot %q is not released: %s", f.l.ID, why))
		d.Hint = "an owner releases it first, or throw it away"
		d.Args["why"] = why
	}
	if form := f.form(); f.rejected == nil && w != WayUsed && (form == process.FreshUnwashed || form == process.FreshWashed) {
		switch {
		case !plan.SellFresh:
			f.doubt("doubt.lot.fresh", x, "body.lot", fmt.Sprintf("lot %q is fresh, and this farm sells and gives away nothing fresh", f.l.ID)).Hint = "dry or freeze it, or choose sell_fresh"
		case f.freshTooOld(x.At):
			f.doubt("doubt.lot.fresh_old", x, "body.lot", fmt.Sprintf("lot %q is past the time for fresh paste that goes to others", f.l.ID)).Hint = "eat it here, or throw it away"
		}
	}
}

func (f *folding) freshTooOld(t time.Time) bool {
	for _, s := range f.clock(t).Stages {
		if s.Where == process.Cold && s.Due != process.InTime {
			return true
		}
	}
	return false
}

// form is how the lot is kept as it is now.
func (f *folding) form() process.Form {
	switch {
	case f.dried:
		return process.DriedSealed
	case f.site == inFreezer:
		return process.FrozenPaste
	case f.l.Washed:
		return process.FreshWashed
	}
	return process.FreshUnwashed
}

// autoHolds are the holds of the lot's own state at t: of checks that failed,
// of the clock, of a balance that does not close. Nobody noted them and nobody
// can wave them away; they go when their cause is set right.
func (f *folding) autoHolds(checks []Check) []Hold {
	var out []Hold
	for _, c := range checks {
		if c.State != process.Failed {
			continue
		}
		h := Hold{Key: "check", Check: c.Key, Since: c.At, By: c.By}
		if c.Key == TimeClock {
			h.Key = "clock"
		}
		if len(c.Evidence) > 0 {
			h.Text = ""
		}
		out = append(out, h)
	}
	if f.over {
		i := slices.IndexFunc(f.l.Doubts, func(d Doubt) bool {
			return d.Key == "doubt.lot.more_out" || d.Key == "doubt.lot.heavier" || d.Key == "doubt.lot.more_packs"
		})
		h := Hold{Key: "balance"}
		if i >= 0 {
			h.Text = strings.TrimPrefix(f.l.Doubts[i].Message, "body.")
		}
		out = append(out, h)
	}
	return out
}

// stateAt is where the lot stands at t, after all entries that were taken, and a
// word on why it is not released.
func (f *folding) stateAt(t time.Time) (State, string) {
	checks := f.checks(t)
	held := f.autoHolds(checks)
	for _, h := range f.l.Holds {
		if h.Stands() {
			held = append(held, h)
		}
	}
	if !f.ended.IsZero() {
		return f.endedAs(), ""
	}
	if f.rejected != nil {
		return Rejected, "rejected"
	}
	if len(held) > 0 {
		var names []string
		for _, h := range held {
			name := h.Key
			if h.Check != "" && h.Check != h.Key {
				name = h.Check + " failed"
			}
			names = append(names, name)
		}
		return OnHold, "on hold (" + listed(names) + ")"
	}
	if f.l.NotFood {
		return OnHold, "not for food"
	}
	if f.l.Release != nil && f.lapsed {
		return OnHold, "something was added since it was released"
	}
	if r := f.l.Release; r != nil {
		// Dried after it was let go: how dry it is was not among the evidence.
		known := func(list []Check, c Check) bool {
			return slices.ContainsFunc(list, func(o Check) bool { return o.Key == c.Key })
		}
		for _, c := range checks {
			if c.Key == Dryness && c.Required && c.State == process.Missing && !known(r.Evidence, c) {
				return OnHold, "it was dried since it was released"
			}
		}
		// What was set right after the release needs a new one.
		for _, c := range checks {
			if !c.Settled {
				continue
			}
			for _, d := range f.l.Deviations {
				if d.Check == c.Key && d.At.After(r.At) {
					return OnHold, "a deviation came after the release"
				}
			}
		}
		return Released, ""
	}
	switch f.where() {
	case process.Wet, process.Drying:
		return Running, "still being worked"
	}
	return OnHold, "nobody let it go yet"
}

// endedAs is what most of the lot became.
func (f *folding) endedAs() State {
	mass, count := map[Way]float64{}, map[Way]int{}
	for _, o := range f.l.Outs {
		count[o.Way]++
		if o.MassG != nil {
			mass[o.Way] += *o.MassG
		}
	}
	best := WayUsed
	if n := len(f.l.Outs); n > 0 {
		best = f.l.Outs[n-1].Way
	}
	for _, w := range []Way{WaySold, WayGiven, WayUsed, WayDestroyed, WayMade} {
		if mass[w] > mass[best] {
			best = w
		}
	}
	return map[Way]State{WaySold: Sold, WayGiven: Given, WayUsed: UsedUp, WayMade: UsedUp, WayDestroyed: Destroyed}[best]
}

// refOf is the ref of an entry of this lot.
func (f *folding) refOf(id string) farm.Ref {
	if x := f.b.extra; x != nil && x.ID == id {
		return x.Ref
	}
	if x, ok := f.b.r.facts[id]; ok {
		return x.Ref
	}
	return farm.Ref{ID: id}
}
