package keeper

import (
	"context"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/diagnose"
)

// Apart is what stands on the sheet of a vessel that is kept apart.
type Apart struct {
	At       time.Time     `json:"at"`
	Vessel   Vessel        `json:"vessel"`
	Holds    []farm.Hold   `json:"holds"`    // that stand
	Since    time.Time     `json:"since"`    // when the first of them began, or now
	Round    []farm.Vessel `json:"round"`    // all in use, in the order in which they are tended: the reserves first, this one last
	Children []farm.Vessel `json:"children"` // that got culture from it in the last 60 days
	Parents  []farm.Vessel `json:"parents"`  // that it got culture from in the last 60 days
	WallM2   float64       `json:"wall_m2"`  // floor and walls up to the rim [m²]; 0: not known
	Looks    []time.Time   `json:"looks"`    // looks since then with nothing foreign seen, at least diagnose.CleanDays apart
	Foreign  time.Time     `json:"foreign,omitzero"`
}

// Apart gathers the sheet of a vessel; a zero at is now. It waits for no twin.
func (k *Keeper) Apart(_ context.Context, id string, at time.Time) (Apart, error) {
	at = k.moment(at)
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	spec, ok := p.Vessel(id)
	if !ok {
		return Apart{}, noVessel(p, id)
	}
	_, zone, _ := site(p)
	return ApartOf(p, Vessel{Spec: spec}, at.In(zone)), nil
}

// apartDays is how far back culture that was passed on is looked for [d].
const apartDays = 60

// ApartOf gathers the sheet from a farm as it stands.
func ApartOf(p *farm.Present, v Vessel, at time.Time) Apart {
	id := v.Spec.ID
	out := Apart{At: at, Vessel: v, Holds: p.OnHold(id, at), Since: at}
	for _, h := range out.Holds {
		if h.Since.Before(out.Since) {
			out.Since = h.Since
		}
	}
	since := at.AddDate(0, 0, -apartDays)
	for _, l := range p.Offspring(id, since) {
		out.Children = withVessel(p, out.Children, l.To, id)
	}
	for _, l := range p.Lineage(id, at) {
		if l.At.After(since) {
			out.Parents = withVessel(p, out.Parents, l.From, id)
		}
	}
	out.Round = round(p, id, at)
	if g, err := v.Spec.Shape.Geometry(); err == nil {
		out.WallM2 = (g.FloorM2() + g.WallM2(g.RimM())) * float64(v.Spec.Number())
	}
	for _, e := range p.Timeline(id, out.Since, at.Add(time.Second)) {
		n, counted := e.Body.Number("foreign_seen")
		if e.Kind.Name != "microscope" || !counted {
			continue
		}
		if n > 0 {
			out.Looks, out.Foreign = nil, e.Entry.At // it begins anew
			continue
		}
		if k := len(out.Looks); k == 0 || e.Entry.At.Sub(out.Looks[k-1]) >= diagnose.CleanDays*24*time.Hour {
			out.Looks = append(out.Looks, e.Entry.At)
		}
	}
	return out
}

func withVessel(p *farm.Present, list []farm.Vessel, id, but string) []farm.Vessel {
	v, ok := p.Vessel(id)
	if !ok || id == but || v.Retired || slices.ContainsFunc(list, func(x farm.Vessel) bool { return x.ID == id }) {
		return list
	}
	return append(list, v)
}

// round is the order in which vessels are tended, from clean to dirty: the
// reserves, those without a hold, those that share culture with the one that is
// apart, those on hold, and that one last.
func round(p *farm.Present, last string, at time.Time) []farm.Vessel {
	rank := func(v farm.Vessel) int {
		switch {
		case v.ID == last:
			return 4
		case len(p.OnHold(v.ID, at)) > 0:
			return 3
		}
		for _, l := range p.Offspring(last, at.AddDate(0, 0, -apartDays)) {
			if l.To == v.ID {
				return 2
			}
		}
		if v.Use == "reserve" || v.Use == "starter" {
			return 0
		}
		return 1
	}
	var out []farm.Vessel
	for _, v := range p.Vessels() {
		if !v.Retired {
			out = append(out, v)
		}
	}
	slices.SortStableFunc(out, func(a, b farm.Vessel) int { return rank(a) - rank(b) })
	return out
}
