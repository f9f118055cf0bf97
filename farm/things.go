package farm

import (
	"slices"
	"strings"
	"time"
)

// at returns the last of list that holds at t: described at or before it, or
// else the first, because what was there before it was written down was there.
// A zero t takes the last.
func at(list []*record, t time.Time) *record {
	if len(list) == 0 {
		return nil
	}
	if t.IsZero() {
		return list[len(list)-1]
	}
	if part := within(list, time.Time{}, t.Add(1)); len(part) > 0 {
		return part[len(part)-1]
	}
	return list[0]
}

// things returns all of one kind as last described, in the order in which they
// were first described.
func things[T any](p *Present, kind string) []T {
	lists := make([][]*record, 0, len(p.things[kind]))
	for _, id := range sortedKeys(p.things[kind]) {
		lists = append(lists, p.things[kind][id])
	}
	slices.SortStableFunc(lists, func(a, b []*record) int { return compareRecords(a[0], b[0]) })
	out := make([]T, len(lists))
	for i, l := range lists {
		out[i] = l[len(l)-1].thing.(T)
	}
	return out
}

func thing[T any](p *Present, kind, id string, t time.Time) (T, bool) {
	if r := at(p.things[kind][id], t); r != nil {
		return r.thing.(T), true
	}
	var none T
	return none, false
}

// Sites returns the sites as last described, the first described first.
func (p *Present) Sites() []Site { return things[Site](p, "site") }

// Site returns a site as last described.
func (p *Present) Site(id string) (Site, bool) {
	s, ok := thing[Site](p, "site", id, time.Time{})
	if ok {
		s.Since = at(p.things["site"][id], time.Time{}).when()
	}
	return s, ok
}

// Recipes, Instruments, People, Waters, Supplies, Tools and Settings return the things
// of their kind as last described, the first described first.
func (p *Present) Recipes() []Recipe         { return things[Recipe](p, "recipe") }
func (p *Present) Instruments() []Instrument { return things[Instrument](p, "instrument") }
func (p *Present) People() []Person          { return things[Person](p, "person") }
func (p *Present) Waters() []Water           { return things[Water](p, "water") }
func (p *Present) Supplies() []Supply        { return things[Supply](p, "supply") }
func (p *Present) Tools() []Tool             { return things[Tool](p, "tool") }
func (p *Present) Settings() []Setting       { return things[Setting](p, "setting") }

// Recipe returns a recipe as it was described at t; a zero t is the last word.
func (p *Present) Recipe(id string, t time.Time) (Recipe, bool) {
	return thing[Recipe](p, "recipe", id, t)
}

// Water returns a source water as it was described at t; a zero t is the last
// word.
func (p *Present) Water(id string, t time.Time) (Water, bool) {
	return thing[Water](p, "water", id, t)
}

// Instrument returns an instrument as last described.
func (p *Present) Instrument(id string) (Instrument, bool) {
	return thing[Instrument](p, "instrument", id, time.Time{})
}

// Setting returns a choice of the farm.
func (p *Present) Setting(key string) (Setting, bool) {
	return thing[Setting](p, "setting", key, time.Time{})
}

// SettingAt returns a choice of the farm as it held at t; a choice that was made
// only later did not. A zero t is the last word.
func (p *Present) SettingAt(key string, t time.Time) (Setting, bool) {
	return since[Setting](p, "setting", key, t)
}

// SettingTimes returns when the choices of the farm were made, in order.
func (p *Present) SettingTimes() []time.Time {
	var out []time.Time
	for _, list := range p.things["setting"] {
		for _, r := range list {
			out = append(out, r.when())
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return out
}

// Tool returns a tool as last described.
func (p *Present) Tool(id string) (Tool, bool) { return thing[Tool](p, "tool", id, time.Time{}) }

// PersonAt returns the person of that id or name as described at t or before; a
// zero t is the last word. Of several with one name it is none.
func (p *Present) PersonAt(who string, t time.Time) (Person, bool) {
	if one, ok := since[Person](p, "person", who, t); ok {
		return one, true
	}
	var found Person
	n := 0
	for id := range p.things["person"] {
		if one, ok := since[Person](p, "person", id, t); ok && one.Name == who {
			found = one
			n++
		}
	}
	if n != 1 {
		return Person{}, false
	}
	return found, true
}

// since returns a thing as last described at t or before.
func since[T any](p *Present, kind, id string, t time.Time) (T, bool) {
	list := p.things[kind][id]
	if !t.IsZero() {
		list = within(list, time.Time{}, t.Add(1))
	}
	if len(list) == 0 {
		var none T
		return none, false
	}
	return list[len(list)-1].thing.(T), true
}

// Vessels returns the vessels as they stand now, the first described first.
func (p *Present) Vessels() []Vessel {
	all := things[Vessel](p, "vessel")
	for i := range all {
		all[i], _ = p.VesselAt(all[i].ID, time.Time{})
	}
	return all
}

// Vessel returns a vessel as it stands now.
func (p *Present) Vessel(id string) (Vessel, bool) { return p.VesselAt(id, time.Time{}) }

// VesselAt returns a vessel as it stood at t: as described, with the shade, the
// cover, the vents and the stirring that acts since then gave it. A zero t is
// the last word; before it was first described it stood as first described.
func (p *Present) VesselAt(id string, t time.Time) (Vessel, bool) {
	v, ok := p.vesselSpec(id, t)
	if !ok || p.lines[id] == nil {
		return v, ok
	}
	until := t
	if !t.IsZero() {
		until = t.Add(1)
	}
	for _, r := range within(p.lines[id].events, v.Since, until) {
		if r.kind.Group != GroupAct || r.vessel != id {
			continue
		}
		switch r.kind.Name {
		case "shaded", "covered", "vented", "stirred":
		default:
			continue
		}
		b := r.decoded()
		if s, ok := b.Number("shade_pct"); ok {
			v.ShadePct = s
		}
		if c := b.Text("cover"); c != "" && c != v.Cover.Kind {
			v.Cover = Cover{Kind: c, Vents: v.Cover.Vents}
		}
		if w := b.Text("vents"); w != "" {
			v.Cover.Vents = w
		}
		if s := b.Text("stirring"); s != "" {
			n, _ := b.Number("times_per_day")
			v.Stirring = Stirring{Kind: s, TimesPerDay: n}
		}
	}
	return v, true
}

// vesselSpec returns the description of a vessel that held at t.
func (p *Present) vesselSpec(id string, t time.Time) (Vessel, bool) {
	r := at(p.things["vessel"][id], t)
	if r == nil {
		return Vessel{}, false
	}
	v := r.thing.(Vessel)
	v.Site, v.Since = r.site, r.when()
	if v.Site == "" {
		if sites := p.things["site"]; len(sites) == 1 {
			for v.Site = range sites {
			}
		}
	}
	return v, true
}

// nearestThing returns the name of a thing of that kind that id may have meant.
func (p *Present) nearestThing(kind, id string) string {
	ids := sortedKeys(p.things[kind])
	if near := nearest(id, ids); near != "" {
		return near
	}
	for _, known := range ids {
		if id != "" && strings.HasPrefix(known, id) {
			return known
		}
	}
	return ""
}
