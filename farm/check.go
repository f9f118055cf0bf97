package farm

import (
	"slices"
	"strings"
	"time"
)

// Origin says how an entry came, and so how much is to be borne.
type Origin string

// The closed list of origins.
const (
	Typed Origin = "typed" // a person at a form or a terminal, now: nonsense is refused
	Sent  Origin = "sent"  // a phone's outbox or the API, maybe days late: what can be doubted is kept
	Filed Origin = "filed" // a line of an imported file: as Sent
)

// Check tells whether the journal may take e after what p knows, now being the
// farm's clock. It returns an error that names the field if e cannot be read,
// speaks of what is not there, or lies outside what its numbers can mean; from
// a form also if it is nonsense, such as a disc deeper than the vessel or a
// time to come. What is kept although something speaks against it comes back
// with doubts. Check changes nothing.
//
// An entry of an identifier that p knows is not checked again: whether it says
// the same is for Store.Append to tell.
func Check(e Entry, p *Present, o Origin, now time.Time) ([]Doubt, *Error) {
	if bad := checkHead(e, p, o); bad != nil {
		return nil, bad
	}
	if _, again := p.byID[e.ID]; again {
		return nil, nil
	}
	k := KindNamed(e.Kind)
	if bad := checkPlace(e, k, p); bad != nil {
		return nil, bad
	}
	rivals, bad := checkCorrects(e, k, p, o)
	if bad != nil {
		return nil, bad
	}
	raw, err := canonicalJSON(e.Body)
	if err != nil {
		return nil, invalid("body", "body is not good JSON: %s", err)
	}
	most := MaxPlainBytes
	if k.Group == GroupBatch {
		most = MaxEntryBytes - MaxPlainBytes
	}
	if len(raw) > most {
		return nil, invalid("body", "body has %d bytes, more than %d", len(raw), most)
	}
	if e.ReceivedAt.IsZero() || o != Filed {
		e.ReceivedAt = now
	}
	doubts, bad := checkBody(e, k, p, raw)
	if bad != nil {
		return nil, bad
	}
	if rivals != nil {
		doubts = append(doubts, *rivals)
	}
	if o == Typed {
		if i := slices.IndexFunc(doubts, func(d Doubt) bool { return d.nonsense }); i >= 0 {
			return nil, refusal(doubts[i])
		}
	}
	return doubts, nil
}

// Rule is a check beside Check, of the same form: what it refuses is an error,
// what speaks against an entry that is kept is a doubt. It changes nothing.
type Rule func(e Entry, p *Present, o Origin, now time.Time) ([]Doubt, *Error)

// CheckAll checks entries as Check does, each as if those before it stood in
// the journal already: a list may describe a vessel and speak of it. It returns
// the doubts of each, or the first error with the place of its entry. It needs p
// for itself while it runs, and leaves it as it was.
//
// Rules that stand above this package are asked after its own, of each entry
// with what stood before it.
func CheckAll(entries []Entry, p *Present, o Origin, now time.Time, rules ...Rule) (doubts [][]Doubt, place int, bad *Error) {
	var tried []string
	defer func() {
		for _, id := range slices.Backward(tried) {
			p.forget(id)
		}
	}()
	for i, e := range entries {
		d, bad := Check(e, p, o, now)
		if bad != nil {
			return nil, i, bad
		}
		for _, rule := range rules {
			more, bad := rule(e, p, o, now)
			if bad != nil {
				return nil, i, bad
			}
			d = append(d, more...)
		}
		doubts = append(doubts, d)
		if _, known := p.byID[e.ID]; !known {
			p.Apply(e.normal())
			tried = append(tried, e.ID)
		}
	}
	return doubts, 0, nil
}

// normal returns e with its body in canonical form, as a store gives it, and
// without a place in the chain.
func (e Entry) normal() Entry {
	e.Seq = 0
	if body, err := canonicalJSON(e.Body); err == nil {
		e.Body = body
	}
	return e
}

// refusal returns the error of a form for a doubt that is nonsense there.
func refusal(d Doubt) *Error {
	e := invalid(d.Field, "%s", d.Message)
	switch d.Key {
	case DoubtDeeper:
		return e.hint("if the disc was seen to the floor, note it as > the depth of the water")
	case DoubtClock:
		return e.hint("look at the date, or set the clock of this machine")
	case DoubtMore, DoubtAboveRim:
		return e.hint("look at the number and its unit, or describe the vessel anew")
	}
	return e
}

// checkHead checks what needs no body.
func checkHead(e Entry, p *Present, o Origin) *Error {
	if e.ID == "" {
		return invalid("id", "id is missing").hint("give each entry a ULID, so that sending it twice writes it once")
	}
	if _, err := ParseID(e.ID); err != nil {
		return invalid("id", "id is no ULID: %s", err)
	}
	if KindNamed(e.Kind) == nil {
		bad := invalid("kind", "kind %q is none that can be noted", clip(e.Kind))
		if k, _ := ParseKind(e.Kind); k != nil {
			return bad.hint("the journal calls it %s", k.Name)
		}
		return bad
	}
	if e.V != bodyVersion {
		return invalid("v", "v %d of kind %s is not known", e.V, e.Kind).hint("this program knows version %d", bodyVersion)
	}
	for _, t := range []struct {
		field string
		at    time.Time
	}{{"at", e.At}, {"noted_at", e.NotedAt}} {
		if t.at.IsZero() {
			return invalid(t.field, "%s is missing", t.field)
		}
		if y := t.at.UTC().Year(); y < 1970 || y > 2199 {
			return invalid(t.field, "%s is outside the years 1970 to 2199", t.field)
		}
	}
	switch {
	case strings.TrimSpace(e.By) == "":
		return invalid("by", "by is missing").hint("say who noted it")
	case len(e.By) > 100:
		return invalid("by", "by has %d bytes, more than 100", len(e.By))
	case len(e.Item) > 200:
		return invalid("item", "item has %d bytes, more than 200", len(e.Item))
	}
	if e.Site != "" && e.Kind != "site" && !p.has("site", e.Site) {
		return p.unknown("site", "site", e.Site)
	}
	return nil
}

func (p *Present) has(kind, id string) bool { return len(p.things[kind][id]) > 0 }

// unknown returns the error for a thing that is not there.
func (p *Present) unknown(field, kind, id string) *Error {
	e := &Error{Code: NotFound, Field: field, Message: field + " \"" + clip(id) + "\" does not exist"}
	if near := p.nearestThing(kind, id); near != "" {
		return e.hint("there is %s", near)
	}
	if ids := sortedKeys(p.things[kind]); len(ids) > 0 && len(ids) <= 12 {
		return e.hint("there are %s", strings.Join(ids, ", "))
	}
	return e.hint("describe the %s first", kind)
}

func checkPlace(e Entry, k *Kind, p *Present) *Error {
	switch {
	case e.Vessel == "" && k.Place == OfVessel:
		return invalid("vessel", "vessel is missing").hint("say of which vessel")
	case e.Vessel != "" && k.Place == OfNoVessel:
		return invalid("vessel", "vessel stands beside kind %s, which speaks of none", k.Name).hint("leave it out; what is described has its own id in body")
	case e.Vessel != "" && !p.has("vessel", e.Vessel):
		return p.unknown("vessel", "vessel", e.Vessel)
	}
	return nil
}

// checkCorrects checks what e corrects. A second correction of the same entry
// is refused from a form and doubted from elsewhere.
func checkCorrects(e Entry, k *Kind, p *Present, o Origin) (*Doubt, *Error) {
	if e.Corrects == "" {
		if k.Group == GroupUndo {
			return nil, invalid("corrects", "corrects is missing").hint("name the entry to take back")
		}
		return nil, nil
	}
	if _, err := ParseID(e.Corrects); err != nil {
		return nil, invalid("corrects", "corrects is no ULID: %s", err)
	}
	old, known := p.byID[e.Corrects]
	if !known {
		return nil, &Error{Code: NotFound, Field: "corrects", Message: "entry \"" + e.Corrects + "\" that is to be corrected does not exist"}
	}
	if old.kind != nil && k.Group != GroupUndo && part(old.kind) != part(k) {
		return nil, invalid("kind", "kind %s cannot correct an entry of kind %s", k.Name, old.kind.Name).
			hint("take that one back with kind withdrawn, and note a new one")
	}
	if by := p.corrections[e.Corrects]; len(by) > 0 {
		if o == Typed {
			return nil, &Error{
				Code: Conflict, Field: "corrects", Message: "entry \"" + e.Corrects + "\" was corrected already",
				Hint: "correct " + by[len(by)-1].id + ", which stands for it now",
			}
		}
		return &Doubt{Key: DoubtRivals, Field: "corrects", Message: "entry " + e.Corrects + " was corrected already"}, nil
	}
	return nil, nil
}

// part returns what a correction must keep: readings and acts may turn into
// each other, descriptions and batches only into their own kind.
func part(k *Kind) string {
	switch k.Group {
	case GroupSetup, GroupBatch, GroupLot:
		return k.Name
	}
	return ""
}

// checkBody takes the body apart, looks up what it names and returns what
// speaks against it.
func checkBody(e Entry, k *Kind, p *Present, raw []byte) ([]Doubt, *Error) {
	switch k.Group {
	case GroupSetup:
		thing, bad := decodeSetup(k, raw)
		if bad != nil {
			return nil, bad
		}
		if s, ok := thing.(Site); ok && e.Site != "" && e.Site != s.ID {
			return nil, invalid("site", "site %q describes site %q", e.Site, s.ID)
		}
		return p.doubts(e, k, Body{}, nil), nil
	case GroupBatch:
		b, bad := decodeBatch(k, raw)
		if bad != nil {
			return nil, bad
		}
		if k.Name == "weather" && e.Site == "" && !p.oneSite() {
			return nil, invalid("site", "site is missing").hint("say of which site the weather is")
		}
		if b.Made == "forecast" {
			return nil, nil // it speaks of what is to come
		}
		return p.doubts(e, k, Body{}, nil), nil
	}
	b, bad := decodeBody(k, raw)
	if bad != nil {
		return nil, bad
	}
	flows := flowsOf(k, e.ID, e.Vessel, b)
	if bad := p.checkNames(e, k, b); bad != nil {
		return nil, bad
	}
	return p.doubts(e, k, b, flows), nil
}

func (p *Present) oneSite() bool { return len(p.things["site"]) == 1 }

// checkNames checks that what a body names is there.
func (p *Present) checkNames(e Entry, k *Kind, b Body) *Error {
	if k.Group == GroupAct {
		for _, end := range []string{"from", "to"} {
			id := b.Text(end)
			switch {
			case id == "", id == Outside && end == "from", id == Drain && k.Name == "drew_off":
			case !p.has("vessel", id):
				return p.unknown("body."+end, "vessel", id)
			case id == e.Vessel:
				return invalid("body."+end, "body.%s is the vessel %q itself", end, id)
			}
		}
		for _, ref := range []struct{ field, kind string }{{"water", "water"}, {"ready_mix", "recipe"}, {"instrument", "instrument"}} {
			if id := b.Text(ref.field); id != "" && !p.has(ref.kind, id) {
				return p.unknown("body."+ref.field, ref.kind, id)
			}
		}
	}
	for _, tool := range b.List("tools") {
		if !p.has("tool", tool) {
			return p.unknown("body.tools", "tool", tool)
		}
	}
	for _, lot := range sortedKeys(b.Amounts("supplies_g")) {
		if !p.has("supply", lot) {
			return p.unknown("body.supplies_g."+lot, "supply", lot)
		}
	}
	if m := b.Medium(); m != nil && m.Batch != "" {
		if r, ok := p.byID[m.Batch]; !ok || r.kind == nil || r.kind.Name != "mixed" {
			return &Error{Code: NotFound, Field: "body.medium.batch", Message: "body.medium.batch \"" + m.Batch + "\" is no entry of kind mixed"}
		}
	}
	if h := b.Text("hold"); h != "" {
		r, ok := p.byID[h]
		if !ok || !r.holds() {
			return &Error{Code: NotFound, Field: "body.hold", Message: "body.hold \"" + h + "\" is no entry that began a hold"}
		}
	}
	return nil
}
