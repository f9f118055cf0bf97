package lot

import (
	"cmp"
	"hash/fnv"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
)

// Book is all lots of a farm as the journal tells of them up to a moment. What
// was asked of it once is remembered; it must not be kept once the farm's
// present changed, and it serves one goroutine at a time.
type Book struct {
	p        *farm.Present
	r        *Reader
	at       time.Time
	turns    []time.Time // at which the plan may have changed
	plans    map[int]*Plan
	seen     map[string]*evidence // by the entry of a harvest
	holds    map[string][]farm.Hold
	verdicts map[string]verdict    // of a tool's cleaning before a use
	folds    map[string]*folding   // by lot, and by lot and the entry before which it is folded
	extra    *fact                 // an entry that is tried
	skip     string                // the entry that it corrects
	unclean  map[string][]*unclean // by tool, as far as it was asked for, in order
	plain    bool                  // judges nothing
	traced   *Book                 // the same, plain
}

// NewBook returns the lots of p as of at, reading entries through r.
func NewBook(p *farm.Present, r *Reader, at time.Time) *Book {
	return &Book{
		p: p, r: r, at: at.UTC(), turns: p.SettingTimes(), plans: map[int]*Plan{}, seen: map[string]*evidence{},
		holds: map[string][]farm.Hold{}, folds: map[string]*folding{}, verdicts: map[string]verdict{}, unclean: map[string][]*unclean{},
	}
}

// At is the moment as of which the book tells.
func (b *Book) At() time.Time { return b.at }

// Plan is the farm's plan as it stands.
func (b *Book) Plan() Plan { return *b.plan(b.at) }

// plan is the farm's plan as it held at t.
func (b *Book) plan(t time.Time) *Plan {
	turn, _ := slices.BinarySearchFunc(b.turns, t.Add(1), time.Time.Compare)
	if plan, known := b.plans[turn]; known {
		return plan
	}
	plan := PlanAt(b.p, t)
	b.plans[turn] = &plan
	return &plan
}

// fact is an entry taken apart; nil if it no longer stands.
func (b *Book) fact(ref farm.Ref) *fact {
	switch {
	case b.extra != nil && ref.ID == b.extra.ID:
		return b.extra
	case ref.ID == b.skip:
		return nil
	}
	return b.r.fact(b.p, ref)
}

// facts are the entries about a lot up to the book's time, in order; those
// before the entry before, where it is not zero.
func (b *Book) facts(id string, before farm.Ref) []*fact {
	refs := b.p.LotRefs(id)
	if x := b.extra; x != nil && (x.lot == id || slices.Contains(x.from, id)) {
		i, _ := slices.BinarySearchFunc(refs, x.Ref, farm.Ref.Compare)
		refs = slices.Insert(refs, i, x.Ref)
	}
	out := make([]*fact, 0, len(refs))
	for _, r := range refs {
		if r.At.After(b.at) || before.ID != "" && r.Compare(before) >= 0 {
			break
		}
		if x := b.fact(r); x != nil {
			out = append(out, x)
		}
	}
	return out
}

// all is a lot after all its entries.
func (b *Book) all(id string) *folding {
	f, known := b.folds[id]
	if !known {
		f = b.fold(id, b.facts(id, farm.Ref{}))
		b.folds[id] = f
	}
	return f
}

// before is a lot as it stood when the entry of ref took of it. Each entry gets
// its own.
func (b *Book) before(id string, ref farm.Ref) *folding {
	key := id + " " + ref.ID
	f, known := b.folds[key]
	if !known {
		f = b.fold(id, b.facts(id, ref))
		b.folds[key] = f
	}
	return f
}

// Lot returns a lot in full, or false if nothing is known of it.
func (b *Book) Lot(id string) (Lot, bool) {
	if !b.p.HasLot(id) {
		return Lot{}, false
	}
	f := b.all(id)
	l := f.stand(b.at)
	l.expect(f)
	l.Next = f.next(&l)
	return l, true
}

// stand is the lot as it stands at t.
func (f *folding) stand(t time.Time) Lot {
	l := f.l
	l.At = t
	l.MassG, l.LeftG = pointer(f.massG), pointer(f.leftG)
	l.Where, l.Form = f.where(), f.form()
	l.Clock = f.clock(t)
	l.Checks = f.checks(t)
	l.Lab = f.lab(t, f.b.plan(t))
	l.State, l.Why = f.stateAt(t)
	l.Holds = append(slices.Clone(f.l.Holds), f.autoHolds(l.Checks)...)
	l.EndedAt = f.ended
	l.Keep = f.keep(t, l.Checks)
	return l
}

// List returns the lots that began since since or of which something is left,
// the newest first.
func (b *Book) List(since time.Time) []Lot {
	var out []Lot
	for _, id := range b.p.Lots() {
		if b.longGone(id, since) {
			continue
		}
		f := b.all(id)
		if !f.begun || !f.ended.IsZero() && f.l.Began.Before(since) {
			continue
		}
		l := f.stand(b.at)
		l.Next = f.next(&l)
		out = append(out, l)
	}
	slices.SortStableFunc(out, func(x, y Lot) int { return cmp.Or(y.Began.Compare(x.Began), strings.Compare(x.ID, y.ID)) })
	return out
}

// end is how a lot that was made of no others ended, while nothing else is told
// of it.
type end struct {
	told        uint64 // of the entries about it
	began, gone time.Time
}

// longGone reports whether a lot ended that began before since, without folding
// it again where nothing new is told of it.
func (b *Book) longGone(id string, since time.Time) bool {
	if b.extra != nil || b.skip != "" {
		return false
	}
	h := fnv.New64a()
	for _, r := range b.p.LotRefs(id) {
		_, _ = h.Write([]byte(r.ID))
	}
	e, known := b.r.ends[id]
	if !known || e.told != h.Sum64() {
		f := b.all(id)
		e = end{told: h.Sum64(), began: f.l.Began, gone: f.ended}
		if f.begun && !f.ended.IsZero() && len(f.l.From) == 0 {
			b.r.ends[id] = e
		}
	}
	return !e.gone.IsZero() && e.began.Before(since) && !e.gone.After(b.at)
}

// Try returns what speaks against writing x down, or nil: the error that a form
// shows. It judges only entries that speak of lots.
func Try(p *farm.Present, r *Reader, x farm.Entry, now time.Time) *farm.Error {
	k := farm.KindNamed(x.Kind)
	if k == nil || k.Group != farm.GroupAct && k.Group != farm.GroupLot {
		return nil
	}
	if again, _, _ := p.Standing(x.ID); again {
		return nil
	}
	body, bad := farm.DecodeBody(k, x.Body)
	if bad != nil {
		return bad
	}
	f := factOf(&x, body, nil)
	if f.lot == "" {
		return nil
	}
	if f.At.After(now) {
		now = f.At
	}
	// All that happened up to now is folded with it in its place: an entry of
	// yesterday can make one of today impossible.
	with, without := NewBook(p, r, now), NewBook(p, r, now)
	with.extra, with.skip, without.skip = f, x.Corrects, x.Corrects
	for _, id := range append([]string{f.lot}, f.from...) {
		was := map[string]bool{}
		for _, d := range without.all(id).l.Doubts {
			was[d.Key+d.EntryID] = true
		}
		for _, d := range with.all(id).l.Doubts {
			if was[d.Key+d.EntryID] {
				continue
			}
			e := &farm.Error{Code: farm.Invalid, Field: d.Field, Message: d.Message, Hint: d.Hint}
			if d.denied {
				e.Code = farm.Denied
			}
			if d.EntryID != x.ID {
				switch d.Key {
				case "doubt.lot.more_out", "doubt.lot.more_packs", "doubt.lot.ended", "doubt.lot.before_it_began":
				default:
					continue // what speaks against a lot is never refused for what came later
				}
				e.Message, e.Hint = "a later entry about the lot no longer fits: "+d.Message, "correct entry "+d.EntryID+" first"
			}
			return e
		}
	}
	return nil
}

// compareText orders two texts.
func compareText(a, b string) int { return strings.Compare(a, b) }

// vesselName is what a vessel is called.
func (b *Book) vesselName(id string) string {
	if v, ok := b.p.Vessel(id); ok && v.Name != "" {
		return v.Name
	}
	return id
}

// Unlotted are the harvests for food since since that belong to no lot.
func (b *Book) Unlotted(since time.Time) []Harvest {
	out := []Harvest{}
	for _, r := range b.p.KindRefs("harvested", since, b.at.Add(1)) {
		if x := b.fact(r); x != nil && x.lot == "" && !x.notFood {
			out = append(out, Harvest{EntryID: x.ID, Vessel: x.Vessel, At: x.At, By: x.by, VolumeL: known(x.volumeL), MassG: known(x.massG), Tools: x.tools})
		}
	}
	return out
}
