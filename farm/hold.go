package farm

import (
	"cmp"
	"slices"
	"time"
)

// Hold is a reason not to eat from a vessel, and not to move culture out of it,
// until a person with that task ends it with a reason of their own. The program
// begins holds and never ends one.
type Hold struct {
	EntryID string    `json:"entry_id"`          // what began it: the name by which it is released
	Vessel  string    `json:"vessel"`            // on which it stands
	Via     []string  `json:"via,omitempty"`     // vessels through which it came here, where it began first
	Reason  string    `json:"reason"`            // key, one of HoldReasons
	Text    string    `json:"text,omitempty"`    // in the words of who began it
	Since   time.Time `json:"since"`             // when it began, here
	By      string    `json:"by"`                // who noted what began it
	EndedAt time.Time `json:"ended_at,omitzero"` // zero while it stands
	EndedBy string    `json:"ended_by,omitempty"`
	Why     string    `json:"why,omitempty"` // the reason it was ended for
}

// HoldReasons is the closed list of what begins a hold.
var HoldReasons = []string{
	"foreign_cells", "smell", "animals", "colour", "quarantined", "held",
	"flood", "smoke", "ash", "spray", "soil", "glass",
}

// signOf returns the reason of the hold that an entry begins, or "". The signs
// are common practice of the trade, no source: foreign life, a smell other than
// grass and soda, a dead animal or droppings, a colour without a reason, and
// what falls in from outside.
func signOf(k *Kind, b Body) string {
	if k.Group == GroupAct {
		switch k.Name {
		case "quarantined", "held":
			return k.Name
		case "event":
			if e := b.Text("event"); slices.Contains(HoldReasons, e) {
				return e
			}
		}
		return ""
	}
	if n, ok := b.Number("foreign_seen"); ok && n > 0 {
		return "foreign_cells"
	}
	switch b.Text("smell") {
	case "earthy", "ammonia", "rotten", "chlorine", "other":
		return "smell"
	}
	for _, a := range b.List("animals") {
		switch a {
		case "dead_animal", "droppings", "mice":
			return "animals"
		}
	}
	switch b.Text("colour") {
	case "brown", "milky", "red", "blue_water", "other":
		return "colour"
	}
	return ""
}

// Holds returns the holds on a vessel that began by t, in the order in which
// they began; those that had ended by then have EndedAt set. A hold goes with
// the culture: what is moved while a hold stands brings it along, and it is
// ended on each vessel by itself. A zero t is the last word.
func (p *Present) Holds(vessel string, t time.Time) []Hold {
	on := map[string][]Hold{}
	for _, r := range p.course {
		if !t.IsZero() && r.when().After(t) {
			break
		}
		if r.sign != "" && r.vessel != "" {
			h := Hold{EntryID: r.id, Vessel: r.vessel, Reason: r.sign, Since: r.when(), By: r.by}
			b := r.decoded()
			h.Text = cmp.Or(b.Text("reason"), b.Text("text"))
			on[r.vessel] = append(on[r.vessel], h)
		}
		if r.kind.Name == "released" {
			b := r.decoded()
			for i := range on[r.vessel] {
				if h := &on[r.vessel][i]; h.EntryID == b.Text("hold") && h.EndedAt.IsZero() {
					h.EndedAt, h.EndedBy, h.Why = r.when(), r.by, b.Text("reason")
				}
			}
		}
		for _, f := range r.flows {
			if betweenVessels(f) {
				on[f.To] = inherit(on[f.To], on[f.From], f, r.when())
			}
		}
	}
	return on[vessel]
}

// inherit adds to the holds of f.To those that stand on f.From.
func inherit(to, from []Hold, f Flow, at time.Time) []Hold {
	for _, h := range from {
		stands := func(o Hold) bool { return o.EntryID == h.EntryID && o.EndedAt.IsZero() }
		if !stands(h) || slices.ContainsFunc(to, stands) {
			continue
		}
		h.Vessel, h.Since = f.To, at
		h.Via = append(slices.Clone(h.Via), f.From)
		to = append(to, h)
	}
	return to
}

// OnHold returns the holds that stand on a vessel at t, none that has ended.
func (p *Present) OnHold(vessel string, t time.Time) []Hold {
	return slices.DeleteFunc(p.Holds(vessel, t), func(h Hold) bool { return !h.EndedAt.IsZero() })
}

// Link is one step of where a vessel's culture came from or went to.
type Link struct {
	From    string    `json:"from"` // a vessel, or Outside
	To      string    `json:"to"`   // a vessel, or Outside
	At      time.Time `json:"at"`
	VolumeL float64   `json:"volume_l,omitempty"` // [L], 0 if not said
	All     bool      `json:"all,omitempty"`      // everything that From held
	EntryID string    `json:"entry_id"`
}

// Lineage returns every step by which culture came to a vessel up to t, oldest
// first, back to what came from outside; of each vessel only what came since it
// was last emptied. A zero t is the last word.
func (p *Present) Lineage(vessel string, t time.Time) []Link {
	var links []Link
	type visit struct {
		vessel string
		until  time.Time
	}
	seen := map[string]bool{} // by entry and end
	open := []visit{{vessel, t}}
	if !t.IsZero() {
		open[0].until = t.Add(1)
	}
	for len(open) > 0 {
		v := open[0]
		open = open[1:]
		l := p.lines[v.vessel]
		if l == nil {
			continue
		}
		part := within(l.moves, time.Time{}, v.until)
		for i := len(part) - 1; i >= 0; i-- {
			emptied := false
			for _, f := range part[i].flows {
				if f.From == v.vessel && f.All {
					emptied = true
				}
				if f.To != v.vessel || f.What != IsCulture || seen[f.EntryID+f.To] {
					continue
				}
				seen[f.EntryID+f.To] = true
				links = append(links, linkOf(f, part[i].when()))
				open = append(open, visit{f.From, part[i].when()})
			}
			if emptied {
				break
			}
		}
	}
	slices.SortStableFunc(links, func(a, b Link) int { return a.At.Compare(b.At) })
	return links
}

// Offspring returns every step by which culture of a vessel went to others, or
// to somebody else, from since on, oldest first.
func (p *Present) Offspring(vessel string, since time.Time) []Link {
	var links []Link
	start := map[string]time.Time{vessel: since}
	open := []string{vessel}
	seen := map[string]bool{}
	for len(open) > 0 {
		v := open[0]
		open = open[1:]
		if p.lines[v] == nil {
			continue
		}
		for _, r := range within(p.lines[v].moves, start[v], time.Time{}) {
			for _, f := range r.flows {
				if f.From != v || f.What != IsCulture || f.To == Drain || f.To == Cloth || seen[f.EntryID+f.To] {
					continue
				}
				seen[f.EntryID+f.To] = true
				links = append(links, linkOf(f, r.when()))
				if t, ok := start[f.To]; f.To != Outside && (!ok || r.when().Before(t)) {
					start[f.To] = r.when()
					open = append(open, f.To)
				}
			}
		}
	}
	slices.SortStableFunc(links, func(a, b Link) int { return a.At.Compare(b.At) })
	return links
}

func linkOf(f Flow, at time.Time) Link {
	return Link{From: f.From, To: f.To, At: at, VolumeL: f.VolumeL, All: f.All, EntryID: f.EntryID}
}
