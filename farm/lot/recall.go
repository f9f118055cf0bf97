package lot

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
)

// From is what a recall begins with; one of its names is set.
type From struct {
	Lot    string    `json:"lot,omitempty"`
	Vessel string    `json:"vessel,omitempty"` // since Since
	Batch  string    `json:"batch,omitempty"`  // the entry that mixed it
	Supply string    `json:"supply,omitempty"`
	Tool   string    `json:"tool,omitempty"` // around Since: from the verified cleaning before to the one after
	Since  time.Time `json:"since,omitzero"` // of a tool zero is now, of a vessel ever
}

// Why a lot is on a recall list.
const (
	WhyNamed  = "named"  // it is the lot that was asked for
	WhyPart   = "part"   // it went into that lot
	WhyVessel = "vessel" // harvested from the same culture about that time, or from one that is suspected
	WhyTool   = "tool"   // a tool touched it and a reached lot without a verified cleaning between
	WhyMade   = "made"   // made of a reached lot
)

// Reached is a lot on a recall list.
type Reached struct {
	Lot   string    `json:"lot"`
	Why   string    `json:"why"`
	Via   string    `json:"via,omitempty"`  // lot, vessel or tool by which it was reached
	Since time.Time `json:"since,omitzero"` // what left it before is not reached; zero: all
	Balance
}

// People is what one of those who got something has.
type People struct {
	Whom    string    `json:"whom"` // "" where nobody was named
	Lots    []string  `json:"lots"`
	MassG   float64   `json:"mass_g"` // [g]
	Packs   int       `json:"packs,omitempty"`
	Unknown int       `json:"unknown,omitempty"` // parts whose amount was not said
	First   time.Time `json:"first"`
	Last    time.Time `json:"last"`
	Gift    bool      `json:"gift,omitempty"` // some of it was given; that counts like a sale
}

// Recall is the list: which lots, who has them, and where the mass is.
type Recall struct {
	From    From      `json:"from"`
	At      time.Time `json:"at"`
	Lots    []Reached `json:"lots"` // by name
	People  []People  `json:"people"`
	Total   Balance   `json:"total"`   // of the lots together; what went from one into another is not in it twice
	Vessels []string  `json:"vessels"` // whose culture is suspected
}

// reach is a search of what was reached, since when and why.
type reach struct {
	b    *Book
	lots map[string]*Reached
	open []string
}

// mark reaches a lot since t, and opens it again where that is earlier than was
// known.
func (r *reach) mark(id string, t time.Time, why, via string) {
	if id == "" || !r.b.p.HasLot(id) {
		return
	}
	switch was, known := r.lots[id]; {
	case !known:
		r.lots[id] = &Reached{Lot: id, Why: why, Via: via, Since: t}
	case t.Before(was.Since):
		was.Since = t
	default:
		return
	}
	r.open = append(r.open, id)
}

// Recall returns what is reached from a start. Of a lot these are: the lots that
// went into it; what was harvested of the same cultures within the days of the
// plan; what shared a tool with any of them without a verified cleaning between;
// and, forwards from all of these, what was made of them and what their tools
// touched before they were next found clean.
func (b *Book) Recall(from From, sources *Sources) Recall {
	b = b.plainBook()
	r := &reach{b: b, lots: map[string]*Reached{}}
	vessels := map[string]time.Time{}
	suspect := func(vessel string, t time.Time) {
		since := map[string]time.Time{vessel: t}
		for _, l := range b.p.Offspring(vessel, t) {
			if s, known := since[l.To]; l.To != farm.Outside && (!known || l.At.Before(s)) {
				since[l.To] = l.At
			}
		}
		for v, s := range since {
			if was, known := vessels[v]; !known || s.Before(was) {
				vessels[v] = s
			}
		}
	}
	batch := func(id string) {
		if x := b.fact(farm.Ref{ID: id}); x != nil && x.Vessel != "" {
			suspect(x.Vessel, x.At)
		}
		if sources != nil {
			for _, p := range sources.pours[id] {
				suspect(p.Vessel, p.At)
			}
		}
	}
	switch {
	case from.Lot != "":
		b.backward(r, from.Lot)
	case from.Vessel != "":
		suspect(from.Vessel, from.Since)
	case from.Batch != "":
		batch(from.Batch)
	case from.Supply != "" && sources != nil:
		for _, u := range sources.uses[from.Supply] {
			if u.Vessel == "" {
				batch(u.EntryID)
			} else {
				suspect(u.Vessel, u.At)
			}
		}
	case from.Tool != "":
		at := from.Since
		if at.IsZero() {
			at = b.at
		}
		b.touched(r, from.Tool, farm.Ref{At: at.Add(1), Noted: at, ID: "~"}, time.Time{})
	}
	for v, since := range vessels {
		for _, ref := range b.p.VesselRefs(v, since, b.at.Add(1), "harvested") {
			if x := b.fact(ref); x != nil {
				r.mark(x.lot, time.Time{}, WhyVessel, v)
			}
		}
	}
	for len(r.open) > 0 {
		id := r.open[0]
		r.open = r.open[1:]
		b.onward(r, id)
	}
	return b.told(from, r, vessels)
}

// backward reaches a lot, what went into it, and what shared a culture or a tool
// with any of them.
func (b *Book) backward(r *reach, id string) {
	r.mark(id, time.Time{}, WhyNamed, "")
	lots, _ := b.ancestors(id)
	days := time.Duration(b.plan(b.at).RecallDays * 24 * float64(time.Hour))
	for _, l := range lots {
		r.mark(l, time.Time{}, WhyPart, id)
	}
	for _, l := range lots {
		for _, h := range b.harvestsOf(l) {
			for _, ref := range b.p.VesselRefs(h.Vessel, h.At.Add(-days), h.At.Add(days+1), "harvested") {
				if x := b.fact(ref); x != nil && !x.At.After(b.at) {
					r.mark(x.lot, time.Time{}, WhyVessel, h.Vessel)
				}
			}
		}
		for _, x := range b.facts(l, farm.Ref{}) {
			for _, tool := range x.tools {
				b.touched(r, tool, x.Ref, time.Time{})
			}
		}
	}
}

// touched reaches every lot that a tool touched in the dirty stretch around an
// entry.
func (b *Book) touched(r *reach, tool string, around farm.Ref, since time.Time) {
	for _, ref := range b.dirty(tool, around).uses {
		b.reachUse(r, ref, since, tool)
	}
}

func (b *Book) reachUse(r *reach, ref farm.Ref, since time.Time, tool string) {
	x := b.fact(ref)
	if x == nil || x.Kind == "cleaned" {
		return
	}
	for _, id := range append([]string{x.lot}, x.from...) {
		r.mark(id, since, WhyTool, tool)
	}
}

// onward reaches what came of a lot since it was reached: what was made of it,
// and what its tools touched before they were next found clean.
func (b *Book) onward(r *reach, id string) {
	since := r.lots[id].Since
	for _, x := range b.facts(id, farm.Ref{}) {
		if x.At.Before(since) {
			continue
		}
		if x.Kind == "lot" && x.lot != id {
			r.mark(x.lot, x.At, WhyMade, id)
		}
		if x.Kind == "cleaned" {
			continue
		}
		for _, tool := range x.tools {
			for _, ref := range b.dirty(tool, x.Ref).uses {
				if ref.Compare(x.Ref) >= 0 {
					b.reachUse(r, ref, ref.At, tool)
				}
			}
		}
	}
}

// told writes the list out.
func (b *Book) told(from From, r *reach, vessels map[string]time.Time) Recall {
	out := Recall{From: from, At: b.at}
	for v := range vessels {
		out.Vessels = append(out.Vessels, v)
	}
	slices.Sort(out.Vessels)
	people := map[string]*People{}
	for id, reached := range r.lots {
		f := b.all(id)
		reached.Balance = f.balance()
		for _, o := range f.l.Outs {
			if o.Way != WaySold && o.Way != WayGiven || o.At.Before(reached.Since) {
				continue
			}
			p := people[o.Whom]
			if p == nil {
				p = &People{Whom: o.Whom, First: o.At, Last: o.At}
				people[o.Whom] = p
			}
			if !slices.Contains(p.Lots, id) {
				p.Lots = append(p.Lots, id)
			}
			if o.MassG != nil {
				p.MassG += *o.MassG
			} else {
				p.Unknown++
			}
			p.Packs += o.Packs
			p.Gift = p.Gift || o.Way == WayGiven
			if o.At.Before(p.First) {
				p.First = o.At
			}
			if o.At.After(p.Last) {
				p.Last = o.At
			}
		}
		out.Lots = append(out.Lots, *reached)
	}
	slices.SortFunc(out.Lots, func(x, y Reached) int { return strings.Compare(x.Lot, y.Lot) })
	for _, l := range out.Lots {
		out.Total.add(l.Balance)
		if len(b.all(l.Lot).l.From) > 0 { // what came in came out of lots; those not on the list are few and stand by themselves
			for _, p := range b.all(l.Lot).l.From {
				if r.lots[p.Lot] != nil && p.MassG != nil {
					out.Total.InG -= *p.MassG
					out.Total.MadeG -= *p.MassG
				}
			}
		}
	}
	for _, p := range people {
		slices.Sort(p.Lots)
		out.People = append(out.People, *p)
	}
	slices.SortFunc(out.People, func(x, y People) int { return cmp.Or(strings.Compare(x.Whom, y.Whom), x.First.Compare(y.First)) })
	return out
}

// Drill is when a recall was last practised or done, and when it is due.
func (b *Book) Drill() (last, due time.Time) {
	if refs := b.p.KindRefs("recalled", time.Time{}, b.at.Add(1)); len(refs) > 0 {
		last = refs[len(refs)-1].At
	} else if lots := b.p.KindRefs("harvested", time.Time{}, b.at.Add(1)); len(lots) > 0 {
		due = lots[0].At
	} else {
		return last, due
	}
	if !last.IsZero() {
		due = last
	}
	return last, due.Add(time.Duration(b.plan(b.at).DrillDays * 24 * float64(time.Hour)))
}
