package keeper

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
)

// Lots is what the page of harvests shows.
type Lots struct {
	At       time.Time     `json:"at"`
	Lots     []lot.Lot     `json:"lots"` // of the last months, and those of which any is left; the newest first
	Soonest  []string      `json:"soonest"`
	Plan     lot.Plan      `json:"-"`
	DrillAt  time.Time     `json:"drill_at,omitzero"`  // a recall was last practised
	DrillDue time.Time     `json:"drill_due,omitzero"` // zero: there is nothing yet to recall
	Unlotted []lot.Harvest `json:"unlotted"`           // harvests for food of the last two days that belong to no lot
	Split    []lot.Share   `json:"split,omitempty"`    // of SplitG of paste, where it was asked for
	SplitG   float64       `json:"split_g,omitempty"`  // [g]
	Sky      string        `json:"sky,omitempty"`      // today's word, where Split was asked for
	Names    lot.Names     `json:"names"`
	Tools    []farm.Tool   `json:"-"`   // in use
	Lab      []lot.Lab     `json:"lab"` // last results of any lot
}

// LotView is a lot with what stands around it.
type LotView struct {
	lot.Lot
	Balance lot.Balance `json:"balance"`
	Names   lot.Names   `json:"names"`
	Plan    lot.Plan    `json:"-"`
	Tools   []farm.Tool `json:"-"` // in use
	Owners  []string    `json:"-"` // who may let it go
}

// bookKept keeps the book of lots as last read.
type bookKept struct {
	mu     sync.Mutex
	reader *lot.Reader
	book   *lot.Book
	seq    int64
	past   *lot.Sources
}

// lotMonths is how long ended lots stay in the list.
const lotMonths = 3

// withBook calls see with the lots as of at and the shelf they came from. The
// book belongs to the call; what is taken out of it may be kept.
func (k *Keeper) withBook(at time.Time, see func(p *farm.Present, b *lot.Book, s *lot.Sources)) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	k.readBook(at, see)
}

// readBook is withBook for a caller that holds k.mu.
func (k *Keeper) readBook(at time.Time, see func(p *farm.Present, b *lot.Book, s *lot.Sources)) {
	shelf := k.shelfAt(k.present, at)
	c := &k.lotBook
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.reader == nil {
		c.reader = lot.NewReader()
	}
	mark := at.Truncate(time.Minute).Add(time.Minute - time.Millisecond) // what was noted this minute is in it
	if c.book == nil || c.seq != k.present.Seq() || !c.book.At().Equal(mark) {
		c.book, c.seq = lot.NewBook(k.present, c.reader, mark), k.present.Seq()
		c.past = lot.SourcesOf(shelf)
	}
	see(k.present, c.book, c.past)
}

// tryLots is what speaks against entries that a person typed about lots. The
// caller holds k.mu; an entry whose lot an earlier one of the list speaks of is
// not tried.
func (k *Keeper) tryLots(entries []farm.Entry, now time.Time) *farm.Error {
	c := &k.lotBook
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.reader == nil {
		c.reader = lot.NewReader()
	}
	begun := map[string]bool{}
	for _, e := range entries {
		var b struct {
			Lot  string   `json:"lot"`
			From []string `json:"from_lots"`
		}
		if json.Unmarshal(e.Body, &b) != nil || b.Lot == "" {
			continue
		}
		earlier := begun[b.Lot] || slices.ContainsFunc(b.From, func(id string) bool { return begun[id] })
		begun[b.Lot] = true
		if earlier {
			continue
		}
		if bad := lot.Try(k.present, c.reader, e, now); bad != nil {
			return bad
		}
	}
	return nil
}

// Lots are the lots of the farm as of a moment; a zero at is now. Where splitG
// is more than 0 it also says where so much paste [g] goes today, for which the
// forecast is asked for its sky.
func (k *Keeper) Lots(ctx context.Context, at time.Time, splitG float64) (Lots, error) {
	at = k.moment(at)
	out := Lots{At: at, Soonest: []string{}, Unlotted: []lot.Harvest{}, SplitG: splitG}
	if splitG > 0 {
		today, err := k.Today(ctx, at)
		if err != nil {
			return out, err
		}
		out.Sky = "unknown"
		for _, v := range today.Vessels {
			if len(v.Days) > 0 {
				out.Sky = v.Days[0].Sky
				break
			}
		}
	}
	k.withBook(at, func(p *farm.Present, b *lot.Book, _ *lot.Sources) { out = LotsOf(p, b, at, splitG, out.Sky) })
	return out, nil
}

// LotsOf is Keeper.Lots of a farm p whose lots stand in b, under today's sky.
func LotsOf(p *farm.Present, b *lot.Book, at time.Time, splitG float64, sky string) Lots {
	out := Lots{At: at, Soonest: []string{}, SplitG: splitG, Sky: sky, Plan: b.Plan(), Names: lot.NamesOf(p)}
	out.Lots = b.List(at.AddDate(0, -lotMonths, 0))
	for _, l := range lot.Soonest(out.Lots) {
		out.Soonest = append(out.Soonest, l.ID)
	}
	out.DrillAt, out.DrillDue = b.Drill()
	out.Lab = b.LabOf(at)
	out.Unlotted = b.Unlotted(at.Add(-48 * time.Hour))
	out.Tools = toolsInUse(p)
	if splitG > 0 {
		out.Split = out.Plan.Today(splitG, pressedSolids, sky, out.Lots)
	}
	return out
}

func toolsInUse(p *farm.Present) []farm.Tool {
	var out []farm.Tool
	for _, t := range p.Tools() {
		if !t.Retired {
			out = append(out, t)
		}
	}
	return out
}

// pressedSolids is the usual dry matter of pressed paste [1]: process.Stages.
const pressedSolids = 0.20

// Lot is one lot in full as of a moment; a zero at is now.
func (k *Keeper) Lot(_ context.Context, id string, at time.Time) (LotView, error) {
	at = k.moment(at)
	var out LotView
	found := false
	k.withBook(at, func(p *farm.Present, b *lot.Book, _ *lot.Sources) { out, found = LotOf(p, b, id) })
	if !found {
		return out, NoLot(id)
	}
	return out, nil
}

// LotOf is Keeper.Lot of a farm p whose lots stand in b; false if it is not
// known.
func LotOf(p *farm.Present, b *lot.Book, id string) (LotView, bool) {
	l, found := b.Lot(id)
	if !found {
		return LotView{}, false
	}
	out := LotView{Lot: l, Balance: b.Balance(id), Names: lot.NamesOf(p), Plan: b.Plan(), Tools: toolsInUse(p)}
	for _, who := range p.People() {
		if who.Role == "owner" && !who.Retired {
			out.Owners = append(out.Owners, who.ID)
		}
	}
	return out, true
}

// NoLot is the error of a lot that is not known.
func NoLot(id string) *farm.Error {
	return &farm.Error{Code: farm.NotFound, Field: "lot", Message: fmt.Sprintf("lot %q is not known", id), Hint: "sodalake lots names them"}
}

// Trace follows a lot, a vessel, a supply, a tool or a batch of medium, whichever
// bears that name, backwards and forwards. since, where it is not zero, is since
// when a vessel is suspected, or when a tool was used.
func (k *Keeper) Trace(_ context.Context, name string, since, at time.Time) (lot.Trace, error) {
	at = k.moment(at)
	var out lot.Trace
	var err error
	k.withBook(at, func(p *farm.Present, b *lot.Book, s *lot.Sources) { out, err = TraceOf(p, b, s, name, since, at) })
	return out, err
}

// TraceOf is Keeper.Trace of a farm p whose lots stand in b and whose shelf in s.
func TraceOf(p *farm.Present, b *lot.Book, s *lot.Sources, name string, since, at time.Time) (lot.Trace, error) {
	out := lot.Trace{At: at, Names: lot.NamesOf(p)}
	from := lot.From{Since: since}
	_, isVessel := out.Names.Vessels[name]
	_, isSupply := out.Names.Supplies[name]
	_, isTool := out.Names.Tools[name]
	ev, isEntry := p.Event(name)
	switch {
	case p.HasLot(name):
		from = lot.From{Lot: name}
		l, _ := b.Lot(name)
		o := b.Origin(name, s)
		out.Lot, out.Origin, out.Balance = &l, &o, b.Balance(name)
	case isVessel:
		from.Vessel = name
	case isSupply:
		from = lot.From{Supply: name}
	case isTool:
		from.Tool = name
	case isEntry && ev.Entry.Kind == "mixed":
		from = lot.From{Batch: name}
	default:
		return out, &farm.Error{Code: farm.NotFound, Field: "name", Message: fmt.Sprintf("%q is no lot, vessel, supply, tool or batch of medium", name), Hint: "sodalake lots names the lots"}
	}
	out.Recall = b.Recall(from, s)
	return out, nil
}

// LotNames are the names of all lots, in alphabetical order.
func (k *Keeper) LotNames() []string {
	k.mu.RLock()
	defer k.mu.RUnlock()
	return slices.Clone(k.present.Lots())
}

// HazardView is the plan of control with the registers behind it.
type HazardView struct {
	lot.HazardPlan
	Registers []lot.Register `json:"registers"`
}

// Hazards is the farm's plan of control with what the journal shows from from up
// to to, as of at; a zero at is now.
func (k *Keeper) Hazards(_ context.Context, from, to, at time.Time) (HazardView, error) {
	at = k.moment(at)
	var out HazardView
	k.withBook(at, func(_ *farm.Present, b *lot.Book, _ *lot.Sources) { out = HazardsOf(b, from, to) })
	return out, nil
}

// HazardsOf is Keeper.Hazards of a farm whose lots stand in b.
func HazardsOf(b *lot.Book, from, to time.Time) HazardView {
	return HazardView{HazardPlan: b.Hazards(from, to), Registers: b.Registers(from, to)}
}
