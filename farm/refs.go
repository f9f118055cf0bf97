package farm

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Ref is a standing act or lot's entry that is not taken apart: enough to know
// when it was and whether to ask for the rest with Event.
type Ref struct {
	ID, Kind, Vessel string
	At, Noted        time.Time
}

// Compare orders refs as the entries are ordered: by when it happened, then by
// when it was noted, then by identifier.
func (r Ref) Compare(o Ref) int {
	return cmp.Or(r.At.Compare(o.At), r.Noted.Compare(o.Noted), strings.Compare(r.ID, o.ID))
}

func (r *record) ref() Ref {
	return Ref{ID: r.id, Kind: r.kind.Name, Vessel: r.vessel, At: r.when(), Noted: time.UnixMilli(r.noted).UTC()}
}

func refsOf(list []*record, kinds []string) []Ref {
	out := make([]Ref, 0, len(list))
	for _, r := range list {
		if len(kinds) == 0 || slices.Contains(kinds, r.kind.Name) {
			out = append(out, r.ref())
		}
	}
	return out
}

// LotRefs returns what Lot returns, not taken apart.
func (p *Present) LotRefs(lot string) []Ref { return refsOf(p.lots[lot], nil) }

// HasLot reports whether something stands about a lot.
func (p *Present) HasLot(lot string) bool { return len(p.lots[lot]) > 0 }

// ToolRefs returns what was done with a tool from from up to, not including,
// to, its cleanings among it, in order. A zero time leaves that end open.
func (p *Present) ToolRefs(tool string, from, to time.Time) []Ref {
	return refsOf(within(p.tools[tool], from, to), nil)
}

// VesselRefs returns the entries of the given kinds in a vessel's line between
// the two times as Timeline takes them.
func (p *Present) VesselRefs(vessel string, from, to time.Time, kinds ...string) []Ref {
	if p.lines[vessel] == nil {
		return nil
	}
	return refsOf(within(p.lines[vessel].events, from, to), kinds)
}

// KindRefs returns the acts and lots' entries of a kind on the whole farm from
// from up to, not including, to. A zero time leaves that end open.
func (p *Present) KindRefs(kind string, from, to time.Time) []Ref {
	return refsOf(within(p.acts[kind], from, to), nil)
}

// lotsOf returns the lots that an entry speaks of: its own, and those that it
// takes from.
func (p *Present) lotsOf(b Body) []string {
	var out []string
	if lot := b.Text("lot"); lot != "" {
		out = append(out, p.intern(lot))
	}
	for _, lot := range b.List("from_lots") {
		if !slices.Contains(out, lot) {
			out = append(out, p.intern(lot))
		}
	}
	return out
}

func (p *Present) internAll(words []string) []string {
	var out []string
	for _, w := range words {
		if !slices.Contains(out, w) {
			out = append(out, p.intern(w))
		}
	}
	return out
}
