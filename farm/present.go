package farm

import (
	"cmp"
	"iter"
	"slices"
	"strings"
	"time"
)

// Present is the farm as the journal tells it: sites, vessels, people and
// things, and for each vessel the readings and acts in the order in which they
// happened, corrections followed. It is made by applying entries one after the
// other, and says the same whichever way they came: the whole journal at once
// or entry by entry, in any order.
//
// What stands: an entry that nothing corrects. Where several entries correct
// the same one, the one noted last stands, and carries a doubt. A withdrawn
// entry leaves nothing in its place. Entries are ordered by the time they
// happened, then by the time they were noted, then by identifier, and not by
// the order in which they arrived.
//
// A Present is not safe for use while Apply runs; any number of goroutines may
// read it otherwise. What its methods return is the caller's, but for maps and
// slices within, which must not be changed.
type Present struct {
	seq         int64
	byID        map[string]*record
	corrections map[string][]*record // by the identifier they correct
	lines       map[string]*line     // by vessel; "" holds what speaks of no vessel
	things      map[string]map[string][]*record
	weather     map[string][]*record
	sensors     map[string][]*record
	items       map[string][]*record
	lots        map[string][]*record
	tools       map[string][]*record // what was done with each tool, its cleanings among it
	acts        map[string][]*record // acts and lots' entries by kind
	course      []*record            // all that begins, carries or ends a hold, in order
	words       map[string]string    // one copy of each text that repeats
}

// line is what stands about one vessel, each list in order.
type line struct {
	events []*record
	moves  []*record // those of events by which culture came, went on or was all taken out
}

func insert(list []*record, r *record) []*record {
	i, found := slices.BinarySearchFunc(list, r, compareRecords)
	if found {
		return list
	}
	return slices.Insert(list, i, r)
}

func remove(list []*record, r *record) []*record {
	if i, found := slices.BinarySearchFunc(list, r, compareRecords); found {
		return slices.Delete(list, i, i+1)
	}
	return list
}

// NewPresent returns the present of an empty journal.
func NewPresent() *Present {
	return &Present{
		byID:        map[string]*record{},
		corrections: map[string][]*record{},
		lines:       map[string]*line{},
		things:      map[string]map[string][]*record{},
		weather:     map[string][]*record{},
		sensors:     map[string][]*record{},
		items:       map[string][]*record{},
		lots:        map[string][]*record{},
		tools:       map[string][]*record{},
		acts:        map[string][]*record{},
		words:       map[string]string{},
	}
}

// Fold applies all of entries, such as Store.Entries gives them, and returns
// the first error that comes with one.
func (p *Present) Fold(entries iter.Seq2[Entry, error]) error {
	for e, err := range entries {
		if err != nil {
			return err
		}
		p.Apply(e)
	}
	return nil
}

// Touch says that what is known of a vessel, or of a site's weather where
// Vessel is empty, changed from Since on.
type Touch struct {
	Site   string
	Vessel string
	Since  time.Time
}

// Apply takes an accepted entry in and returns what it touched: the vessels it
// speaks of, or spoke of before it was corrected, and those that took culture
// from them afterwards, each with the earliest time. An entry that was applied
// already changes nothing.
func (p *Present) Apply(e Entry) []Touch {
	p.seq = max(p.seq, e.Seq)
	if _, again := p.byID[e.ID]; again {
		return nil
	}
	r := p.read(e)
	p.byID[r.id] = r
	if r.corrects == "" && len(p.corrections[r.id]) == 0 {
		if !r.readable() {
			return nil
		}
		p.stand(r, true)
		return p.spread([]*record{r})
	}
	if r.corrects != "" {
		p.corrections[r.corrects] = append(p.corrections[r.corrects], r)
	}
	return p.spread(p.settle(p.root(r)))
}

// forget takes back an entry that was applied for a trial.
func (p *Present) forget(id string) {
	r := p.byID[id]
	if r.stands {
		p.stand(r, false)
	}
	delete(p.byID, id)
	if r.corrects != "" {
		left := slices.DeleteFunc(p.corrections[r.corrects], func(c *record) bool { return c == r })
		if p.corrections[r.corrects] = left; len(left) == 0 {
			delete(p.corrections, r.corrects)
		}
		root := r.corrects
		if target, ok := p.byID[root]; ok {
			root = p.root(target)
		}
		p.settle(root)
	}
	p.settle(id) // what corrects it
}

// Seq returns the highest place in the chain that was applied, 0 for none.
func (p *Present) Seq() int64 { return p.seq }

// Len returns how many entries were applied, standing or not.
func (p *Present) Len() int { return len(p.byID) }

// readable reports whether r says something: its kind and body are known.
func (r *record) readable() bool { return r.kind != nil && r.kind.Group != GroupUndo }

func (p *Present) intern(s string) string {
	if s == "" {
		return ""
	}
	if kept, ok := p.words[s]; ok {
		return kept
	}
	s = strings.Clone(s)
	p.words[s] = s
	return s
}

// read makes a record of e. An entry of an unknown kind or version, or whose
// body cannot be read, gives a record that stands for nothing: a journal
// written by a later program is kept whole and shown as far as it is known.
func (p *Present) read(e Entry) *record {
	r := &record{
		id: strings.Clone(e.ID), vessel: p.intern(e.Vessel), site: p.intern(e.Site), by: p.intern(e.By), body: string(e.Body),
		at: e.At.UnixMilli(), noted: e.NotedAt.UnixMilli(), seq: e.Seq, rare: plain,
	}
	if !e.ReceivedAt.IsZero() {
		r.arrived = e.ReceivedAt.UnixMilli()
	}
	more := rare{corrects: e.Corrects, item: p.intern(e.Item)}
	if k := KindNamed(e.Kind); k != nil && e.V == bodyVersion && p.readBody(k, e, r, &more) {
		r.kind = k
	}
	if more.corrects != "" || more.item != "" || more.flows != nil || more.touches != nil || more.sign != "" ||
		more.lots != nil || more.tools != nil || more.thing != nil || more.batch.Columns != nil {
		r.rare = &more
	}
	return r
}

// readBody fills more with what the body tells, and reports whether it can be
// read. A reading is only looked at where it may hold a sign.
func (p *Present) readBody(k *Kind, e Entry, r *record, more *rare) bool {
	switch k.Group {
	case GroupReading:
		if showsSign(r.body) {
			b, bad := decodeBody(k, e.Body)
			if bad != nil {
				return false
			}
			more.sign = signOf(k, b)
		}
	case GroupAct, GroupLot:
		b, bad := decodeBody(k, e.Body)
		if bad != nil {
			return false
		}
		flows := flowsOf(k, r.id, r.vessel, b)
		if slices.ContainsFunc(flows, moves) {
			more.flows = flows
		}
		more.sign = signOf(k, b)
		more.lots, more.tools = p.lotsOf(b), p.internAll(b.List("tools"))
		if t := touched(r.vessel, flows); len(t) > 1 {
			more.touches = t
		}
	case GroupSetup:
		thing, bad := decodeSetup(k, e.Body)
		if bad != nil {
			return false
		}
		more.thing = thing
	case GroupBatch:
		b, bad := decodeBatch(k, e.Body)
		if bad != nil {
			return false
		}
		more.batch = refOf(e, b)
		r.body = ""
	}
	return true
}

// showsSign reports whether a reading's canonical body may hold a sign: most
// do not and need not be taken apart.
func showsSign(body string) bool {
	for _, key := range []string{`"foreign_seen":`, `"smell":`, `"colour":`, `"animals":`} {
		if strings.Contains(body, key) {
			return true
		}
	}
	return false
}

// touched returns the vessels that an act speaks of.
func touched(vessel string, flows []Flow) []string {
	var all []string
	add := func(v string) {
		if v != "" && !slices.Contains(reserved, v) && !slices.Contains(all, v) {
			all = append(all, v)
		}
	}
	add(vessel)
	for _, f := range flows {
		add(f.From)
		add(f.To)
	}
	return all
}

// root returns the identifier that the corrections around r began with. It may
// be one that has not arrived.
func (p *Present) root(r *record) string {
	for range len(p.byID) { // corrections that name each other in a ring end here
		if r.corrects == "" {
			return r.id
		}
		before, ok := p.byID[r.corrects]
		if !ok {
			return r.corrects
		}
		r = before
	}
	return r.id
}

// settle decides anew which of the entries that correct each other from root
// on stands, and returns those whose standing changed.
func (p *Present) settle(root string) []*record {
	var all, leaves []*record
	seen := map[string]bool{}
	var walk func(id string)
	walk = func(id string) {
		if seen[id] {
			return
		}
		seen[id] = true
		if r, ok := p.byID[id]; ok {
			all = append(all, r)
			if len(p.corrections[id]) == 0 {
				leaves = append(leaves, r)
			}
		}
		for _, c := range p.corrections[id] {
			walk(c.id)
		}
	}
	walk(root)
	var last *record
	for _, r := range leaves {
		if last == nil || cmp.Or(cmp.Compare(r.noted, last.noted), strings.Compare(r.id, last.id)) > 0 {
			last = r
		}
	}
	var changed []*record
	for _, r := range all {
		stands := r == last && r.readable()
		r.rivals = stands && len(leaves) > 1
		if stands != r.stands {
			p.stand(r, stands)
			changed = append(changed, r)
		}
	}
	return changed
}

// stand puts r into the lists, or takes it out.
func (p *Present) stand(r *record, stands bool) {
	r.stands = stands
	change := insert
	if !stands {
		change = remove
	}
	put := func(m map[string][]*record, key string) {
		if m[key] = change(m[key], r); len(m[key]) == 0 {
			delete(m, key)
		}
	}
	switch r.kind.Group {
	case GroupSetup:
		if p.things[r.kind.Name] == nil {
			p.things[r.kind.Name] = map[string][]*record{}
		}
		put(p.things[r.kind.Name], idOf(r.thing))
		return
	case GroupBatch:
		if r.kind.Name == "weather" {
			put(p.weather, r.site)
		} else {
			put(p.sensors, r.vessel)
		}
		return
	}
	lines := r.speaksOf()
	if len(lines) == 0 {
		lines = []string{""}
	}
	for _, v := range lines {
		l := p.lines[v]
		if l == nil {
			l = &line{}
			p.lines[v] = l
		}
		l.events = change(l.events, r)
		if r.flows != nil {
			l.moves = change(l.moves, r)
		}
		if len(l.events) == 0 {
			delete(p.lines, v)
		}
	}
	if r.sign != "" || r.kind.Name == "released" || slices.ContainsFunc(r.flows, betweenVessels) {
		p.course = change(p.course, r)
	}
	if r.item != "" {
		put(p.items, r.item)
	}
	for _, lot := range r.lots {
		put(p.lots, lot)
	}
	for _, tool := range r.tools {
		put(p.tools, tool)
	}
	if r.kind.Group != GroupReading {
		put(p.acts, r.kind.Name)
	}
}

// moves reports whether f brings culture somewhere where it lives on, or leaves
// nothing of it where it was.
func moves(f Flow) bool {
	return f.What == IsCulture && (f.All || f.To != Drain && f.To != Cloth)
}

func betweenVessels(f Flow) bool {
	return f.What == IsCulture && !slices.Contains(reserved, f.From) && !slices.Contains(reserved, f.To)
}

// idOf returns the id of a described thing.
func idOf(thing any) string {
	switch t := thing.(type) {
	case Site:
		return t.ID
	case Vessel:
		return t.ID
	case Recipe:
		return t.ID
	case Instrument:
		return t.ID
	case Person:
		return t.ID
	case Water:
		return t.ID
	case Supply:
		return t.ID
	case Tool:
		return t.ID
	case Setting:
		return t.Key
	}
	panic("farm: a thing without id")
}

// spread returns what a change of these records touched.
func (p *Present) spread(changed []*record) []Touch {
	since := map[string]time.Time{}
	var sites []Touch
	var open []string
	reach := func(vessel string, at time.Time) {
		if t, ok := since[vessel]; !ok || at.Before(t) {
			since[vessel] = at
			open = append(open, vessel)
		}
	}
	for _, r := range changed {
		at := r.when()
		if start := r.batch.Start; !start.IsZero() && start.Before(at) {
			at = start
		}
		for _, v := range r.speaksOf() {
			reach(v, at)
		}
		switch t := r.thing.(type) {
		case Vessel:
			reach(t.ID, at)
		case Site:
			sites = append(sites, Touch{Site: t.ID, Since: at})
		}
		if r.kind != nil && r.kind.Name == "weather" {
			sites = append(sites, Touch{Site: r.site, Since: r.batch.Start})
		}
	}
	for len(open) > 0 {
		v := open[0]
		open = open[1:]
		if p.lines[v] == nil {
			continue
		}
		for _, r := range within(p.lines[v].moves, since[v], time.Time{}) {
			for _, f := range r.flows {
				if f.From == v && betweenVessels(f) {
					reach(f.To, r.when())
				}
			}
		}
	}
	touches := sites
	for _, v := range sortedKeys(since) {
		touches = append(touches, Touch{Vessel: v, Since: since[v]})
	}
	return touches
}
