package keeper

import (
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
)

// reserveSeenDays is for how long a look at a reserve, or its renewal, counts as
// proof that it lives [d]: twice the interval at which a reserve is renewed.
// Judgement, no source.
func reserveSeenDays() float64 { return 2 * advice.DefaultRules().ReserveDays }

// livingReserve reports whether a reserve stands behind the ponds that was seen
// alive of late: renewed, read or looked at, not held and not thrown away.
func livingReserve(p *farm.Present, a *answer, at time.Time) bool {
	for _, spec := range p.Vessels() {
		l := a.looks[spec.ID]
		if spec.Retired || spec.Use != "reserve" && spec.Use != "starter" || l == nil || !l.started || l.t.begun.At.IsZero() {
			continue
		}
		if at.Sub(lastSeen(p, spec.ID, l.t.begun.At, at)).Hours()/24 <= reserveSeenDays() && len(p.OnHold(spec.ID, at)) == 0 {
			return true
		}
	}
	return false
}

// lastSeen is when somebody last read or looked at a vessel, or renewed it.
func lastSeen(p *farm.Present, vessel string, begun, at time.Time) time.Time {
	seen := renewed(p, vessel, begun, at)
	for _, e := range p.Timeline(vessel, begun, at.Add(time.Second)) {
		if e.Kind.Group == farm.GroupReading && e.Entry.At.After(seen) {
			seen = e.Entry.At
		}
	}
	return seen
}
