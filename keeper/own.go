package keeper

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// own is what the farm knows of its own disc and photometer as of a moment: the
// pairs of a reading and a dry weight of the same water, and the curves through
// them. It is read-only once made.
type own struct {
	pairs  []ownPair
	secchi *twin.Curve // nil: no pair yet
	od     *twin.Curve
	taken  map[string]bool // readings that went into a curve, by entry and key
	key    string          // alike for alike pairs
}

// ownPair is one pair as it stands in the journal.
type ownPair struct {
	at     time.Time // the later of both
	vessel string
	kind   twin.Kind
	read   float64 // [cm], or optical density [1]
	dryGL  float64 // [g/L]
	readID string  // entry and key
	dryID  string  // entry of the dry weight
	left   string  // why it is left out; empty: it is used
}

// pairWithin is how far apart a reading and a dry weight may lie to speak of the
// same culture. Judgement: at most a few hundredths grow in that time.
const pairWithin = 3 * time.Hour

// pairFar is how far, in standard deviations of the constant before any pair and
// of the reading, a pair may lie from it; beyond, a slipped figure is likelier
// than such a disc. Judgement, no source.
const pairFar = 3.5

// pairsOf finds all pairs in the journal, in order of time.
func pairsOf(p *farm.Present) []ownPair {
	var out []ownPair
	for _, v := range p.Vessels() {
		dry := p.Readings(v.ID, time.Time{}, time.Time{}, "dry_weight_g_per_l")
		for i := range dry {
			w := &dry[i]
			if !plain(w) {
				continue
			}
			for _, k := range []struct {
				key  string
				kind twin.Kind
			}{{"secchi_cm", twin.Secchi}, {"od_750", twin.OD}} {
				if r, ok := nearestReading(p, v.ID, k.key, w.At); ok {
					out = append(out, pairOf(v.ID, k.kind, w, &r))
				}
			}
		}
	}
	slices.SortStableFunc(out, func(a, b ownPair) int {
		return cmp.Or(a.at.Compare(b.at), strings.Compare(a.vessel, b.vessel), strings.Compare(a.readID, b.readID), strings.Compare(a.dryID, b.dryID))
	})
	return out
}

// plain reports whether a value stands for itself: no bound, no doubt, nothing
// that its maker flagged.
func plain(r *farm.Reading) bool {
	return r.Value > 0 && (r.Op == "" || r.Op == "=") && len(r.Doubts) == 0 && len(r.Flags) == 0
}

// nearestReading is the plain value under key nearest to a moment, between which
// nothing was poured in or taken out.
func nearestReading(p *farm.Present, vessel, key string, at time.Time) (best farm.Reading, ok bool) {
	for _, r := range p.Readings(vessel, at.Add(-pairWithin), at.Add(pairWithin+time.Millisecond), key) {
		if !plain(&r) || ok && absDur(r.At.Sub(at)) >= absDur(best.At.Sub(at)) {
			continue
		}
		from, to := r.At, at
		if to.Before(from) {
			from, to = to, from
		}
		if !slices.ContainsFunc(p.Timeline(vessel, from, to.Add(time.Millisecond)), func(e farm.Event) bool { return len(e.Flows) > 0 }) {
			best, ok = r, true
		}
	}
	return best, ok
}

func pairOf(vessel string, kind twin.Kind, w, r *farm.Reading) ownPair {
	x := ownPair{at: w.At, vessel: vessel, kind: kind, read: r.Value, dryGL: w.Value, readID: r.EntryID + "/" + r.Key, dryID: w.EntryID}
	if r.At.After(x.at) {
		x.at = r.At
	}
	prior, sd := math.Log(growth.SecchiConstant), growth.SecchiConstantSD
	says := math.Log(r.Value * w.Value)
	errs := math.Hypot(growth.SecchiReadErrorCM/r.Value, 0.07)
	if kind == twin.OD {
		prior, sd, says = math.Log(growth.ODPerUnit), growth.ODPerUnitSD, math.Log(w.Value/r.Value)
		errs = math.Hypot(0.02/r.Value, 0.08)
	}
	if math.Abs(says-prior) > pairFar*math.Hypot(sd, errs) {
		x.left = "own.far"
	}
	return x
}

// ownOf are the curves through the pairs of before a moment.
func ownOf(all []ownPair, before time.Time) *own {
	o := &own{taken: map[string]bool{}}
	var secchi, od []twin.Pair
	var key strings.Builder
	for _, x := range all {
		if !x.at.Before(before) {
			continue
		}
		o.pairs = append(o.pairs, x)
		if x.left != "" {
			continue
		}
		fmt.Fprintf(&key, "%s %s %g %g;", x.readID, x.dryID, x.read, x.dryGL)
		o.taken[x.readID] = true
		if x.kind == twin.Secchi {
			secchi = append(secchi, twin.Pair{Read: x.read, DryGL: x.dryGL})
		} else {
			od = append(od, twin.Pair{Read: x.read, DryGL: x.dryGL})
		}
	}
	o.key = key.String()
	if c, err := twin.SecchiCurve(secchi); err == nil && len(secchi) > 0 {
		o.secchi = &c
	}
	if c, err := twin.ODCurve(od); err == nil && len(od) > 0 {
		o.od = &c
	}
	return o
}

// disc is the density that a disc tells [g/L] where it is lost at a depth [cm].
func (o *own) disc(depthCM float64) num.Band {
	if o != nil && o.secchi != nil {
		return o.secchi.DensityGL(depthCM)
	}
	return spreadOf(growth.SecchiConstant/depthCM, growth.SecchiConstantSD)
}

// photometer is the density that an optical density tells [g/L], without the
// error of that one reading.
func (o *own) photometer(od float64) float64 {
	if o != nil && o.od != nil {
		return o.od.DensityGL(od).Mid
	}
	return growth.ODPerUnit * od
}

// spreadOf is a band about a middle by the standard deviation of its logarithm.
func spreadOf(mid, lnSD float64) num.Band {
	const tenth = 1.2815515655446004
	return num.Band{Low: mid * math.Exp(-tenth*lnSD), Mid: mid, High: mid * math.Exp(tenth*lnSD)}
}

// depth is what a member's disc is read at [cm] at a density [g/L].
func (o *own) depth(m *twin.Member) float64 {
	x := m.Pond.DensityGL()
	if o != nil && o.secchi != nil {
		return o.secchi.ReadAt(x, m.LnSecchi)
	}
	return math.Exp(m.LnSecchi) / x
}

// ownAt is what the farm knows of its own disc and photometer before a moment;
// it also looks up the checks of the pH meters. The caller holds mu.
func (f *follower) ownAt(p *farm.Present, at time.Time) *own {
	if f.pairsSeq != p.Seq() || f.pairs == nil {
		f.pairs, f.checks, f.pairsSeq = pairsOf(p), checksOf(p), p.Seq()
		if f.pairs == nil {
			f.pairs = []ownPair{}
		}
	}
	return ownOf(f.pairs, at)
}
