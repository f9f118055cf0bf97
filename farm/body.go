package farm

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// Body is the body of a reading, an act or a lot's entry, taken apart by the
// table of its kind. The zero Body holds nothing. A Body is never changed.
type Body struct {
	numbers map[string]float64
	texts   map[string]string // words, texts, names, identifiers, digests
	lists   map[string][]string
	amounts map[string]map[string]float64
	byKey   map[string]map[string]string
	yes     map[string]bool
	medium  *MediumMix
}

// MediumMix says what a medium was made of: a recipe of the farm by name, or
// salts. Batch, if set, is the entry that mixed it to stand ready.
type MediumMix struct {
	Recipe     string             `json:"recipe,omitempty"`
	SaltsGPerL map[string]float64 `json:"salts_g_per_l,omitempty"` // [g/L] of finished medium, by formula or name
	Batch      string             `json:"batch,omitempty"`
}

// Number returns the value under key in the unit that the key names.
func (b Body) Number(key string) (float64, bool) { v, ok := b.numbers[key]; return v, ok }

// Text returns the word, text, name or identifier under key, or "".
func (b Body) Text(key string) string { return b.texts[key] }

// List returns the words under key. The caller must not change them.
func (b Body) List(key string) []string { return b.lists[key] }

// Amounts returns the amounts under key by the name of a salt, in the unit that
// the key names. The caller must not change them.
func (b Body) Amounts(key string) map[string]float64 { return b.amounts[key] }

// Yes returns what stands under key, and whether anything does.
func (b Body) Yes(key string) (value, given bool) { v, ok := b.yes[key]; return v, ok }

// Medium returns what the medium was made of, or nil if that was not said.
func (b Body) Medium() *MediumMix { return b.medium }

// DecodeBody takes raw apart as a body of kind k. Every error names its field.
func DecodeBody(k *Kind, raw []byte) (Body, *Error) {
	canonical, err := canonicalJSON(raw)
	if err != nil {
		return Body{}, invalid("body", "body is not good JSON: %s", err)
	}
	return decodeBody(k, canonical)
}

// decodeBody is DecodeBody for a raw that is canonical already.
func decodeBody(k *Kind, raw []byte) (Body, *Error) {
	o := openObject("body", raw)
	var b Body
	for _, key := range k.Need {
		o.need(key)
	}
	if len(k.Main) > 0 && o.bad == nil && !slices.ContainsFunc(k.Main, o.has) {
		if len(k.Main) == 1 {
			o.need(k.Main[0])
		} else {
			o.bad = invalid(o.at(k.Main[0]), "body has none of %s", strings.Join(k.Main, ", "))
		}
	}
	if k.Group == GroupReading {
		for i := range readingFields {
			b.take(o, &readingFields[i])
		}
		if k.Name == "reading" && b.empty() && o.bad == nil && len(o.left) == 0 {
			o.bad = invalid("body", "body holds no value")
		}
		for i := range commonFields {
			b.take(o, &commonFields[i])
		}
	} else {
		for _, list := range [][]string{k.Need, k.Main, k.May, {"text"}} {
			for _, key := range list {
				b.take(o, k.field(key))
			}
		}
	}
	if e := o.close(); e != nil {
		return Body{}, e
	}
	if e := b.agree(k); e != nil {
		return Body{}, e
	}
	return b, nil
}

func (b Body) empty() bool { return len(b.numbers) == 0 && len(b.texts) == 0 && len(b.lists) == 0 }

func put[V any](m *map[string]V, key string, v V) {
	if *m == nil {
		*m = make(map[string]V, 4)
	}
	(*m)[key] = v
}

// take moves the field f from o into b.
func (b *Body) take(o *object, f *Field) {
	o.seen = append(o.seen, f.Key)
	if !o.has(f.Key) {
		delete(o.left, f.Key) // null counts as absent
		return
	}
	switch f.Form {
	case FormNumber:
		if v, ok := o.number(f.Key, f.Hard); ok {
			put(&b.numbers, f.Key, v)
		}
	case FormWhole:
		if v, ok := o.whole(f.Key, f.Hard); ok {
			put(&b.numbers, f.Key, float64(v))
		}
	case FormWord:
		put(&b.texts, f.Key, o.word(f.Key, f.Words))
	case FormText:
		put(&b.texts, f.Key, o.text(f.Key, 2000))
	case FormName:
		put(&b.texts, f.Key, o.ref(f.Key))
	case FormID:
		s := o.text(f.Key, 60)
		if _, err := ParseID(s); err != nil {
			o.fail(f.Key, "is none of an entry: %s", err)
		}
		put(&b.texts, f.Key, s)
	case FormDigest:
		s := o.text(f.Key, 64)
		if len(s) != 64 || strings.Trim(s, "0123456789abcdef") != "" {
			o.fail(f.Key, "is not a SHA-256 in 64 hexadecimal digits")
		}
		put(&b.texts, f.Key, s)
	case FormTime:
		put(&b.texts, f.Key, o.moment(f.Key).Format(time.RFC3339))
	case FormYes:
		v, _ := o.flag(f.Key)
		put(&b.yes, f.Key, v)
	case FormWords:
		put(&b.lists, f.Key, o.words(f.Key, f.Words, 50))
	case FormAmounts:
		put(&b.amounts, f.Key, o.numbers(f.Key, f.Hard, 40))
	case FormByKey:
		put(&b.byKey, f.Key, o.byKey(f.Key))
	case FormMedium:
		b.medium = o.mediumMix(f.Key)
	}
}

// byKey takes a text for each of several keys of readings.
func (o *object) byKey(key string) map[string]string {
	in := o.sub(key)
	if in == nil {
		return nil
	}
	out := map[string]string{}
	for _, name := range sortedKeys(in.left) {
		if ReadingKey(name) == nil {
			in.fail(name, "is no key of a reading")
			break
		}
		switch key {
		case "ops":
			out[name] = in.word(name, []string{"=", "<", ">"})
		default:
			out[name] = in.ref(name)
		}
	}
	o.shut(in)
	return out
}

func (o *object) mediumMix(key string) *MediumMix {
	in := o.sub(key)
	if in == nil {
		return nil
	}
	m := &MediumMix{
		Recipe:     in.ref("recipe"),
		SaltsGPerL: in.numbers("salts_g_per_l", from(0, 500), 40),
		Batch:      in.text("batch", 26),
	}
	if m.Batch != "" {
		if _, err := ParseID(m.Batch); err != nil {
			in.fail("batch", "is none of an entry: %s", err)
		}
	}
	switch {
	case m.Recipe == "" && m.SaltsGPerL == nil && m.Batch == "":
		in.need("recipe")
	case m.Recipe != "" && m.SaltsGPerL != nil:
		in.fail("salts_g_per_l", "stands beside a recipe: say one of them")
	}
	o.shut(in)
	return m
}

// agree checks what no single field can tell.
func (b Body) agree(k *Kind) *Error {
	if k.Group == GroupReading {
		if op := b.texts["op"]; op != "" && op != "=" && len(b.numbers)-b.beside() > 1 && len(k.Main) != 1 {
			return invalid("body.op", "body.op %q does not say which of several values it means", op).
				hint(`write "ops":{"secchi_cm":%q}`, op)
		}
		for _, list := range []string{"ops", "instruments"} {
			for _, key := range sortedKeys(b.byKey[list]) {
				if _, ok := b.numbers[key]; !ok {
					return invalid("body."+list+"."+key, "body.%s.%s has no value beside it", list, key)
				}
			}
		}
		for _, part := range []string{"straight_seen", "broken_seen"} {
			if n, ok := b.numbers[part]; ok && n > b.numbers["filaments_seen"] {
				return invalid("body."+part, "body.%s %.0f is more than the %.0f filaments seen", part, n, b.numbers["filaments_seen"])
			}
		}
		if a := b.lists["animals"]; len(a) > 1 && slices.Contains(a, "none") {
			return invalid("body.animals", "body.animals says none and names some")
		}
		return nil
	}
	if _, ok := b.numbers["refill_l"]; ok && b.texts["with"] == "" {
		return invalid("body.with", "body.with is missing beside refill_l").hint("there are water, medium")
	}
	if b.medium != nil && b.texts["with"] == "water" {
		return invalid("body.medium", "body.medium stands beside water: say one of them")
	}
	if _, ok := b.numbers["ready_mix_g"]; ok && b.texts["ready_mix"] == "" {
		return invalid("body.ready_mix", "body.ready_mix is missing beside ready_mix_g")
	}
	dry, wet := b.numbers["dry_g"], b.numbers["mass_g"]
	if _, ok := b.numbers["mass_g"]; ok && dry > wet {
		return invalid("body.dry_g", "body.dry_g %s is more than the mass of %s", shortNumber(dry), shortNumber(wet))
	}
	if k.Name == "released" && b.texts["hold"] == "" && b.texts["lot"] == "" {
		return invalid("body.hold", "body.hold is missing").hint("name the entry that began the hold")
	}
	for _, list := range []string{"tools", "from_lots"} {
		for _, name := range b.lists[list] {
			if !isName(name) {
				return invalid("body."+list, "body.%s %q is not a name of lower-case letters, digits, - and _", list, clip(name))
			}
		}
	}
	for _, lot := range sortedKeys(b.amounts["from_g"]) {
		if !slices.Contains(b.lists["from_lots"], lot) {
			return invalid("body.from_g."+lot, "body.from_g.%s is none of body.from_lots", clip(lot))
		}
	}
	if lots := b.lists["from_lots"]; slices.Contains(lots, b.texts["lot"]) {
		return invalid("body.from_lots", "body.from_lots names the lot %q itself", b.texts["lot"])
	}
	if all, given := b.yes["all"]; given && !all {
		return invalid("body.all", "body.all is false").hint("leave it out and say volume_l")
	}
	return nil
}

// beside counts the numbers that are no values of their own.
func (b Body) beside() int {
	n := 0
	for _, key := range []string{"stirred_min_ago", "depth_cm", "filaments_seen", "straight_seen", "broken_seen", "foreign_seen", "looked_ml"} {
		if _, ok := b.numbers[key]; ok {
			n++
		}
	}
	return n
}

// own reports whether key is the value that a plain op or instrument of a
// reading of kind k belongs to.
func (k *Kind) own(key string) bool { return len(k.Main) == 0 || slices.Contains(k.Main, key) }

// op returns the sign before the value under key: "=" where none was given.
func (b Body) op(k *Kind, key string) string {
	op := b.byKey["ops"][key]
	if op == "" && k.own(key) {
		op = b.texts["op"]
	}
	return cmp.Or(op, "=")
}

// values calls yield with each value of a reading: a number under its key, or a
// word.
func (b Body) values(k *Kind, yield func(key string, value float64, word, op, instrument string)) {
	for i := range readingFields {
		key := readingFields[i].Key
		v, isNumber := b.numbers[key]
		word := cmp.Or(b.texts[key], strings.Join(b.lists[key], " "))
		if !isNumber && word == "" {
			continue
		}
		instrument := b.byKey["instruments"][key]
		if instrument == "" && k.own(key) {
			instrument = b.texts["instrument"]
		}
		yield(key, v, word, b.op(k, key), instrument)
	}
}
