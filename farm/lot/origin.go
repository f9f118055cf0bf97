package lot

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
)

// Origin is all that went into a lot, as far as the journal tells.
type Origin struct {
	Lots     []Part      `json:"lots"`     // lots that it was made of, all the way back
	Harvests []Harvest   `json:"harvests"` // the oldest first
	Lineage  []farm.Link `json:"lineage"`  // of the culture, the oldest first
	Pours    []Poured    `json:"pours"`    // medium, water and feeds in the vessels of that culture, the oldest first
	Supplies []Supplied  `json:"supplies"` // what that took off the shelf, by supply
	Tools    []ToolUse   `json:"tools"`    // what touched it, the oldest first
}

// Poured is an act that put something into a vessel.
type Poured struct {
	EntryID string    `json:"entry_id"`
	Kind    string    `json:"kind"`
	Vessel  string    `json:"vessel"`
	At      time.Time `json:"at"`
	Batch   string    `json:"batch,omitempty"` // the entry that mixed it
	Recipe  string    `json:"recipe,omitempty"`
	Water   string    `json:"water,omitempty"`
}

// Supplied is what went of a supply.
type Supplied struct {
	Supply string    `json:"supply"`
	MassG  float64   `json:"mass_g"` // [g]
	Acts   int       `json:"acts"`
	First  time.Time `json:"first"`
	Last   time.Time `json:"last"`
	Told   bool      `json:"told"` // every act named it; else the oldest on the shelf is taken for it
}

// ToolUse is one use of a tool on a lot.
type ToolUse struct {
	EntryID string    `json:"entry_id"`
	Tool    string    `json:"tool"`
	Lot     string    `json:"lot"`
	At      time.Time `json:"at"`
	Cleaned time.Time `json:"cleaned,omitzero"` // the last verified cleaning before it
}

// Sources are what stands on the shelf, which the book does not read itself.
type Sources struct {
	taken map[string][]take // by the act
	batch map[string]string // by the act that poured, the entry that mixed it
	uses  map[string][]farm.Use
	pours map[string][]farm.Pour
}

type take struct {
	supply string
	massG  float64 // [g]
	told   bool
}

// SourcesOf takes a shelf over.
func SourcesOf(shelf farm.Shelf) *Sources {
	s := &Sources{taken: map[string][]take{}, batch: map[string]string{}, uses: map[string][]farm.Use{}, pours: map[string][]farm.Pour{}}
	for _, stock := range shelf.Lots {
		s.uses[stock.ID] = stock.Uses
		for _, u := range stock.Uses {
			s.taken[u.EntryID] = append(s.taken[u.EntryID], take{stock.ID, u.MassG, u.Told})
		}
	}
	for _, p := range shelf.Pours {
		s.batch[p.EntryID] = p.Batch
		s.pours[p.Batch] = append(s.pours[p.Batch], p)
	}
	return s
}

// plainBook is the same book without its checks: for traces, where a lot's
// state says nothing.
func (b *Book) plainBook() *Book {
	if b.plain {
		return b
	}
	if b.traced == nil {
		c := *b
		c.plain, c.folds = true, map[string]*folding{}
		b.traced = &c
	}
	return b.traced
}

// ancestors are a lot and all lots that went into it, with the parts.
func (b *Book) ancestors(id string) ([]string, []Part) {
	seen := map[string]bool{id: true}
	open := []string{id}
	var parts []Part
	for i := 0; i < len(open); i++ {
		for _, x := range b.facts(open[i], farm.Ref{}) {
			if x.Kind != "lot" || x.lot != open[i] {
				continue
			}
			for _, from := range x.from {
				part := Part{Lot: from, At: x.At, EntryID: x.ID}
				if g, told := x.fromG[from]; told {
					part.MassG = &g
				}
				parts = append(parts, part)
				if !seen[from] {
					seen[from] = true
					open = append(open, from)
				}
			}
		}
	}
	return open, parts
}

// harvestsOf are the harvests noted into a lot itself.
func (b *Book) harvestsOf(id string) []Harvest {
	var out []Harvest
	for _, x := range b.facts(id, farm.Ref{}) {
		if x.Kind == "harvested" && x.Vessel != "" {
			out = append(out, Harvest{EntryID: x.ID, Vessel: x.Vessel, At: x.At, By: x.by, VolumeL: known(x.volumeL), MassG: known(x.massG), Tools: x.tools})
		}
	}
	return out
}

// Origin returns what went into a lot.
func (b *Book) Origin(id string, sources *Sources) Origin {
	b = b.plainBook()
	out := Origin{}
	lots, parts := b.ancestors(id)
	out.Lots = parts
	links, walked := map[string]bool{}, &walk{stays: map[string][]stay{}, seen: map[string]bool{}}
	for _, l := range lots {
		for _, x := range b.facts(l, farm.Ref{}) {
			for _, tool := range x.tools {
				out.Tools = append(out.Tools, ToolUse{EntryID: x.ID, Tool: tool, Lot: l, At: x.At, Cleaned: b.cleanedBefore(tool, x)})
			}
		}
		out.Harvests = append(out.Harvests, b.harvestsOf(l)...)
	}
	slices.SortFunc(out.Harvests, func(x, y Harvest) int { return cmp.Or(y.At.Compare(x.At), strings.Compare(x.EntryID, y.EntryID)) })
	for _, h := range out.Harvests { // the newest first: the stays of the older lie within
		b.pours(h.Vessel, h.At, walked, &out)
		for _, l := range b.p.Lineage(h.Vessel, h.At) {
			if links[l.EntryID+l.To] {
				continue
			}
			links[l.EntryID+l.To] = true
			out.Lineage = append(out.Lineage, l)
			if l.From != farm.Outside {
				b.pours(l.From, l.At, walked, &out)
			}
		}
	}
	slices.Reverse(out.Harvests)
	out.supplies(sources)
	slices.SortFunc(out.Pours, func(x, y Poured) int { return cmp.Or(x.At.Compare(y.At), strings.Compare(x.EntryID, y.EntryID)) })
	slices.SortStableFunc(out.Lineage, func(x, y farm.Link) int { return x.At.Compare(y.At) })
	slices.SortStableFunc(out.Tools, func(x, y ToolUse) int { return x.At.Compare(y.At) })
	return out
}

// stay is how long one culture stood in a vessel: since it was last emptied.
type stay struct{ from, until time.Time }

// walk remembers where the search was.
type walk struct {
	stays map[string][]stay // by vessel
	seen  map[string]bool   // acts that are in
}

// pours adds what was put into a vessel up to t since it was last emptied.
func (b *Book) pours(vessel string, t time.Time, w *walk, out *Origin) {
	for _, s := range w.stays[vessel] {
		if !t.After(s.until) && t.After(s.from) {
			return
		}
	}
	refs := b.p.VesselRefs(vessel, time.Time{}, t.Add(1), "mixed", "topped_up", "fed", "dosed", "purged", "inoculated", "moved", "drew_off", "discarded")
	s := stay{until: t}
	for _, r := range slices.Backward(refs) {
		x := b.fact(r)
		if x == nil {
			continue
		}
		if slices.ContainsFunc(x.flows, func(f farm.Flow) bool { return f.From == vessel && f.All }) && r.At.Before(t) {
			s.from = r.At
			break
		}
		into := slices.ContainsFunc(x.flows, func(f farm.Flow) bool {
			return f.To == vessel && (f.What == farm.IsMedium || f.What == farm.IsWater)
		})
		if x.Vessel == vessel && !w.seen[x.ID] && (into || x.Kind == "fed" || x.Kind == "dosed") {
			w.seen[x.ID] = true
			out.Pours = append(out.Pours, Poured{EntryID: x.ID, Kind: x.Kind, Vessel: vessel, At: x.At, Batch: x.batch, Recipe: x.recipe, Water: x.water})
		}
	}
	w.stays[vessel] = append(w.stays[vessel], s)
}

// supplies sums up what the pours and their batches took off the shelf.
func (o *Origin) supplies(sources *Sources) {
	if sources == nil {
		return
	}
	at := map[string]int{}
	add := func(entry string, t time.Time) {
		for _, k := range sources.taken[entry] {
			i, known := at[k.supply]
			if !known {
				i = len(o.Supplies)
				at[k.supply] = i
				o.Supplies = append(o.Supplies, Supplied{Supply: k.supply, First: t, Last: t, Told: true})
			}
			s := &o.Supplies[i]
			s.MassG += k.massG
			s.Acts++
			s.Told = s.Told && k.told
			if t.Before(s.First) {
				s.First = t
			}
			if t.After(s.Last) {
				s.Last = t
			}
		}
	}
	mixed := map[string]bool{}
	for i := range o.Pours {
		p := &o.Pours[i]
		if p.Batch == "" {
			p.Batch = sources.batch[p.EntryID]
		}
		add(p.EntryID, p.At)
		if p.Batch != "" && !mixed[p.Batch] { // all of the batch: some of it is in there
			mixed[p.Batch] = true
			add(p.Batch, p.At)
		}
	}
	slices.SortFunc(o.Supplies, func(x, y Supplied) int { return strings.Compare(x.Supply, y.Supply) })
}

// isVerified reports whether x is a cleaning that somebody found in order.
func isVerified(x *fact) bool {
	return x.Kind == "cleaned" && (x.result == "good" || x.result == "adjusted")
}

// cleanedBefore is when a tool was last found clean before the entry x; zero:
// never.
func (b *Book) cleanedBefore(tool string, x *fact) time.Time {
	return b.dirty(tool, x.Ref).from.At
}

// stretch of a tool between two verified cleanings; a zero ref is an open end.
type unclean struct {
	from, to farm.Ref
	uses     []farm.Ref // in between, cleanings that nobody verified left out
}

// dirty is the stretch around an entry in which a tool was not found clean.
func (b *Book) dirty(tool string, ref farm.Ref) *unclean {
	known := b.unclean[tool]
	i, _ := slices.BinarySearchFunc(known, ref, func(u *unclean, r farm.Ref) int {
		if u.to.ID != "" && u.to.Compare(r) < 0 {
			return -1
		}
		return 1
	})
	if i < len(known) && (known[i].from.ID == "" || known[i].from.Compare(ref) < 0) {
		return known[i]
	}
	u := &unclean{}
	// Outwards from the entry, by windows that double until they hold a verified
	// cleaning or all there is.
	for days := 3; ; days *= 4 {
		from := ref.At.AddDate(0, 0, -days)
		if days > 30000 {
			from = time.Time{}
		}
		refs := b.p.ToolRefs(tool, from, ref.At.Add(1))
		for j := len(refs) - 1; j >= 0 && u.from.ID == ""; j-- {
			if refs[j].Compare(ref) < 0 && b.verifiedCleaning(refs[j]) {
				u.from = refs[j]
			}
		}
		if u.from.ID != "" || from.IsZero() {
			break
		}
	}
	end := b.at.Add(1)
	for days := 3; ; days *= 4 {
		to := ref.At.AddDate(0, 0, days)
		if to.After(end) || days > 30000 {
			to = end
		}
		for _, r := range b.p.ToolRefs(tool, ref.At, to) {
			if r.Compare(ref) >= 0 && b.verifiedCleaning(r) {
				u.to = r
				break
			}
		}
		if u.to.ID != "" || !to.Before(end) {
			break
		}
	}
	if u.to.ID != "" {
		end = u.to.At.Add(1)
	}
	for _, r := range b.p.ToolRefs(tool, u.from.At, end) {
		if r.Kind != "cleaned" && (u.from.ID == "" || r.Compare(u.from) > 0) && (u.to.ID == "" || r.Compare(u.to) < 0) {
			u.uses = append(u.uses, r)
		}
	}
	b.unclean[tool] = slices.Insert(known, i, u)
	return u
}

// Verified reports whether an entry is a cleaning that somebody found in order.
func (b *Book) Verified(r farm.Ref) bool { return b.verifiedCleaning(r) }

func (b *Book) verifiedCleaning(r farm.Ref) bool {
	if r.Kind != "cleaned" {
		return false
	}
	x := b.fact(r)
	return x != nil && isVerified(x)
}
