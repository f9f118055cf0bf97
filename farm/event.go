package farm

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Event is a standing entry of a vessel's line taken apart: a reading, an act
// or a lot's entry.
type Event struct {
	Entry  Entry
	Kind   *Kind
	Body   Body
	Flows  []Flow  // of an act in which water moved
	Doubts []Doubt // why it is not to be believed as it stands
}

// Reading is one value out of an entry: a number, or a word.
type Reading struct {
	EntryID    string
	Kind       string // of the entry
	Vessel     string
	At         time.Time
	By         string
	Key        string  // of a reading's field, "secchi_cm"
	Value      float64 // in the unit of Key; 0 for a word
	Word       string  // of a key that holds words; several are parted by spaces
	Op         string  // "=", "<" or ">"
	Instrument string
	Flags      []string
	// StirredMinAgo is how long ago the vessel was stirred [min], nil if it was not said.
	StirredMinAgo *float64
	Doubts        []Doubt
}

// Readings returns the values in e, in the order of the table of fields.
func (e Event) Readings() []Reading {
	if e.Kind.Group != GroupReading {
		return nil
	}
	var out []Reading
	var stirred *float64
	if v, ok := e.Body.Number("stirred_min_ago"); ok {
		stirred = &v
	}
	e.Body.values(e.Kind, func(key string, value float64, word, op, instrument string) {
		r := Reading{
			EntryID: e.Entry.ID, Kind: e.Entry.Kind, Vessel: e.Entry.Vessel, At: e.Entry.At, By: e.Entry.By,
			Key: key, Value: value, Word: word, Op: op, Instrument: instrument,
			Flags: e.Body.List("flags"), StirredMinAgo: stirred,
		}
		for _, d := range e.Doubts {
			if d.Field == "body."+key || d.Field == "" || d.Field == "at" {
				r.Doubts = append(r.Doubts, d)
			}
		}
		out = append(out, r)
	})
	return out
}

func (p *Present) event(r *record) Event {
	e := Event{Entry: r.entry(), Kind: r.kind, Body: r.decoded()}
	if r.kind.Group == GroupAct {
		e.Flows = flowsOf(r.kind, r.id, r.vessel, e.Body)
	}
	e.Doubts = p.doubts(e.Entry, e.Kind, e.Body, e.Flows)
	if r.rivals {
		e.Doubts = append(e.Doubts, Doubt{Key: DoubtRivals, Field: "corrects", Message: "it was corrected in more than one way; the last one stands"})
	}
	return e
}

// mayHold reports whether the body may hold one of keys, or anything if there
// are none: most need not be taken apart to tell.
func (r *record) mayHold(keys []string) bool {
	return len(keys) == 0 || slices.ContainsFunc(keys, func(key string) bool { return strings.Contains(r.body, `"`+key+`":`) })
}

// within returns the part of list from from up to, not including, to. A zero
// time leaves that end open.
func within(list []*record, from, to time.Time) []*record {
	at := func(t time.Time) int {
		ms := t.UnixMilli()
		if t.Nanosecond()%1e6 != 0 {
			ms++ // the first whole millisecond that is not before t
		}
		i, _ := slices.BinarySearchFunc(list, ms, func(r *record, ms int64) int {
			if r.at < ms {
				return -1
			}
			return 1
		})
		return i
	}
	lo, hi := 0, len(list)
	if !from.IsZero() {
		lo = at(from)
	}
	if !to.IsZero() {
		hi = max(at(to), lo)
	}
	return list[lo:hi]
}

// Timeline returns what stands about a vessel from from up to, not including,
// to, in the order in which it happened; a transfer stands in the lines of both
// vessels. A zero time leaves that end open; "" is the line of what speaks of
// no vessel.
func (p *Present) Timeline(vessel string, from, to time.Time) []Event {
	l := p.lines[vessel]
	if l == nil {
		return nil
	}
	part := within(l.events, from, to)
	events := make([]Event, len(part))
	for i, r := range part {
		events[i] = p.event(r)
	}
	return events
}

// Readings returns the values of a vessel's readings between the two times as
// Timeline takes them, of the given keys or of all.
func (p *Present) Readings(vessel string, from, to time.Time, keys ...string) []Reading {
	l := p.lines[vessel]
	if l == nil {
		return nil
	}
	var out []Reading
	for _, r := range within(l.events, from, to) {
		if r.kind.Group != GroupReading || !r.mayHold(keys) {
			continue
		}
		for _, v := range p.event(r).Readings() {
			if len(keys) == 0 || slices.Contains(keys, v.Key) {
				out = append(out, v)
			}
		}
	}
	return out
}

// LastReading returns the latest value under key that nothing speaks against,
// noted before the time before; a zero time takes all.
func (p *Present) LastReading(vessel, key string, before time.Time) (Reading, bool) {
	l := p.lines[vessel]
	if l == nil {
		return Reading{}, false
	}
	part := within(l.events, time.Time{}, before)
	for i := len(part) - 1; i >= 0; i-- {
		if part[i].kind.Group != GroupReading || !part[i].mayHold([]string{key}) {
			continue
		}
		for _, v := range p.event(part[i]).Readings() {
			if v.Key == key && len(v.Doubts) == 0 {
				return v, true
			}
		}
	}
	return Reading{}, false
}

// Event returns the entry of that identifier taken apart if it stands and is a
// reading, an act or a lot's entry.
func (p *Present) Event(id string) (Event, bool) {
	r, ok := p.byID[id]
	if !ok || !r.stands || r.kind.Group == GroupSetup || r.kind.Group == GroupBatch {
		return Event{}, false
	}
	return p.event(r), true
}

// Standing tells of the entry id: whether it was applied, whether it stands,
// and which entries correct it, in the order in which they were noted.
func (p *Present) Standing(id string) (known, stands bool, correctedBy []string) {
	r, known := p.byID[id]
	var by []*record
	by = append(by, p.corrections[id]...)
	slices.SortFunc(by, func(a, b *record) int { return cmp.Or(cmp.Compare(a.noted, b.noted), strings.Compare(a.id, b.id)) })
	for _, c := range by {
		correctedBy = append(correctedBy, c.id)
	}
	return known, known && r.stands, correctedBy
}

// Answers returns the acts that stand for an item of the day list. More than
// one means that two people did the same: both are kept.
func (p *Present) Answers(item string) []Event { return p.events(p.items[item]) }

// Lot returns what stands about a lot, in order.
func (p *Present) Lot(lot string) []Event { return p.events(p.lots[lot]) }

// Lots returns the lots that something stands about, in alphabetical order.
func (p *Present) Lots() []string { return sortedKeys(p.lots) }

func (p *Present) events(list []*record) []Event {
	out := make([]Event, len(list))
	for i, r := range list {
		out[i] = p.event(r)
	}
	return out
}

// Weather returns where the weather of a site is kept, by the time it begins
// for. A site's weather may overlap: of two forecasts for an hour the one issued
// later is better, and what was measured is better than either.
func (p *Present) Weather(site string) []BatchRef { return refs(p.weather[site]) }

// Sensors returns where the samples of a vessel's sensors are kept; "" gives
// those of no vessel.
func (p *Present) Sensors(vessel string) []BatchRef { return refs(p.sensors[vessel]) }

func refs(list []*record) []BatchRef {
	out := make([]BatchRef, len(list))
	for i, r := range list {
		out[i] = r.batch
	}
	slices.SortStableFunc(out, func(a, b BatchRef) int { return a.Start.Compare(b.Start) })
	return out
}
