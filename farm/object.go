package farm

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// object takes one JSON object apart, field by field. It keeps the first thing
// that is wrong and answers zero values from then on, so that a decoder reads
// as a plain list of its fields; close tells what was wrong, or which field
// nobody asked for. The JSON must have passed canonicalJSON.
type object struct {
	path string // where the object stands, "body" or "body.shape"; "" at the top
	left map[string]json.RawMessage
	seen []string // the keys that were asked for, for the hint
	bad  *Error
}

func openObject(path string, raw []byte) *object {
	o := &object{path: path}
	if len(raw) == 0 || raw[0] != '{' {
		o.bad = invalid(path, "%s is not an object", o.name())
		return o
	}
	if err := json.Unmarshal(raw, &o.left); err != nil {
		o.bad = invalid(path, "%s cannot be read", o.name())
	}
	return o
}

func (o *object) name() string {
	if o.path == "" {
		return "entry"
	}
	return o.path
}

func (o *object) at(key string) string {
	if o.path == "" {
		return key
	}
	return o.path + "." + key
}

func (o *object) fail(key, format string, args ...any) {
	if o.bad == nil {
		o.bad = invalid(o.at(key), "%s "+format, append([]any{o.at(key)}, args...)...)
	}
}

// take removes key and returns what stands there; null counts as absent.
func (o *object) take(key string) (json.RawMessage, bool) {
	o.seen = append(o.seen, key)
	raw, ok := o.left[key]
	if !ok || o.bad != nil {
		return nil, false
	}
	delete(o.left, key)
	if raw[0] == 'n' {
		return nil, false
	}
	return raw, true
}

// has reports whether key stands in what is not yet taken.
func (o *object) has(key string) bool {
	raw, ok := o.left[key]
	return ok && raw[0] != 'n'
}

// need fails if key is absent.
func (o *object) need(key string) {
	if !o.has(key) {
		o.fail(key, "is missing")
	}
}

// close returns what was wrong, or an error on a field that nobody took.
func (o *object) close() *Error {
	if o.bad != nil {
		return o.bad
	}
	extra := ""
	for key := range o.left {
		if extra == "" || key < extra {
			extra = key
		}
	}
	if len(o.left) == 0 {
		return nil
	}
	e := invalid(o.at(extra), "%s is not a field of this kind", clip(o.at(extra)))
	if near := nearest(extra, o.seen); near != "" {
		return e.hint("there is %s", near)
	}
	return e
}

func (o *object) number(key string, hard Span) (float64, bool) {
	raw, ok := o.take(key)
	if !ok {
		return 0, false
	}
	v, ok := o.asNumber(key, raw, hard)
	return v, ok
}

// asNumber reads raw as a number within hard.
func (o *object) asNumber(key string, raw json.RawMessage, hard Span) (float64, bool) {
	var v float64
	if raw[0] != '-' && (raw[0] < '0' || raw[0] > '9') || json.Unmarshal(raw, &v) != nil {
		o.fail(key, "is not a number")
		return 0, false
	}
	if !hard.Holds(v) {
		o.fail(key, "%s is outside %s", shortNumber(v), hard)
		return 0, false
	}
	return v, true
}

func (o *object) whole(key string, hard Span) (int, bool) {
	v, ok := o.number(key, hard)
	if ok && v != math.Trunc(v) { // integers are exact in a float64
		o.fail(key, "%s is not a whole number", shortNumber(v))
		return 0, false
	}
	return int(v), ok
}

func (o *object) asText(key string, raw json.RawMessage, most int) string {
	var s string
	if raw[0] != '"' || json.Unmarshal(raw, &s) != nil {
		o.fail(key, "is not a text")
		return ""
	}
	switch n := len(s); {
	case strings.TrimSpace(s) == "":
		o.fail(key, "is empty")
	case n > most:
		o.fail(key, "has %d bytes, more than %d", n, most)
	default:
		return s
	}
	return ""
}

func (o *object) text(key string, most int) string {
	raw, ok := o.take(key)
	if !ok {
		return ""
	}
	return o.asText(key, raw, most)
}

// word takes one of a closed list.
func (o *object) word(key string, words []string) string {
	s := o.text(key, 60)
	if s != "" && !slices.Contains(words, s) {
		o.fail(key, "%q is none of %s", s, strings.Join(words, ", "))
		return ""
	}
	return s
}

// ref takes the name of a thing: lower-case letters, digits, - and _.
func (o *object) ref(key string) string {
	s := o.text(key, 60)
	if s != "" && !isName(s) {
		o.fail(key, "%q is not a name of lower-case letters, digits, - and _", s)
		return ""
	}
	return s
}

func (o *object) flag(key string) (value, given bool) {
	raw, ok := o.take(key)
	if !ok {
		return false, false
	}
	switch string(raw) {
	case "true":
		return true, true
	case "false":
		return false, true
	}
	o.fail(key, "is neither true nor false")
	return false, false
}

// moment takes a time in RFC 3339 with its offset.
func (o *object) moment(key string) time.Time {
	s := o.text(key, 60)
	if s == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339, s)
	// Parse takes T7:30:00Z and a comma in the seconds too (golang/go#54580).
	if err != nil || s[13] != ':' || s[19] == ',' {
		o.fail(key, "%q is not a time such as 2031-05-04T07:30:00+02:00", s)
		return time.Time{}
	}
	if y := t.UTC().Year(); y < 1970 || y > 2199 {
		o.fail(key, "%q is outside the years 1970 to 2199", s)
		return time.Time{}
	}
	return t.UTC().Truncate(time.Millisecond)
}

// numbers takes an object of numbers by name, such as grams by salt.
func (o *object) numbers(key string, hard Span, most int) map[string]float64 {
	in := o.sub(key)
	if in == nil {
		return nil
	}
	if len(in.left) == 0 || len(in.left) > most {
		o.fail(key, "has %d entries, not 1 to %d", len(in.left), most)
		return nil
	}
	out := make(map[string]float64, len(in.left))
	for _, name := range sortedKeys(in.left) {
		if name == "" || len(name) > 60 {
			o.fail(key, "has a name of %d bytes, not 1 to 60", len(name))
			return nil
		}
		raw, ok := in.take(name)
		if !ok {
			continue
		}
		if v, ok := in.asNumber(name, raw, hard); ok {
			out[name] = v
		}
	}
	if in.bad != nil {
		o.bad = in.bad
		return nil
	}
	return out
}

// list takes an array and hands each element to each.
func (o *object) list(key string, most int, each func(i int, raw json.RawMessage)) bool {
	raw, ok := o.take(key)
	if !ok {
		return false
	}
	var all []json.RawMessage
	if raw[0] != '[' || json.Unmarshal(raw, &all) != nil {
		o.fail(key, "is not a list")
		return false
	}
	if len(all) > most {
		o.fail(key, "has %d elements, more than %d", len(all), most)
		return false
	}
	for i, r := range all {
		each(i, r)
		if o.bad != nil {
			return false
		}
	}
	return true
}

// words takes a list of words out of a closed list; a nil list takes any text.
func (o *object) words(key string, words []string, most int) []string {
	var out []string
	o.list(key, most, func(_ int, raw json.RawMessage) {
		s := o.asText(key, raw, 200)
		if s != "" && words != nil && !slices.Contains(words, s) {
			o.fail(key, "%q is none of %s", s, strings.Join(words, ", "))
			return
		}
		out = append(out, s)
	})
	return out
}

// sub opens the object under key, or returns nil if there is none.
func (o *object) sub(key string) *object {
	raw, ok := o.take(key)
	if !ok {
		return nil
	}
	in := openObject(o.at(key), raw)
	if in.bad != nil {
		o.bad = in.bad
		return nil
	}
	return in
}

// shut closes an object that sub opened and keeps what was wrong with it.
func (o *object) shut(in *object) {
	if e := in.close(); e != nil && o.bad == nil {
		o.bad = e
	}
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// isName reports whether s can name a vessel, a site or another thing.
func isName(s string) bool {
	for i := range len(s) {
		b := s[i]
		if !('a' <= b && b <= 'z' || '0' <= b && b <= '9' || i > 0 && (b == '-' || b == '_')) {
			return false
		}
	}
	return s != "" && len(s) <= 60
}

// shortNumber writes v [1] for a message.
func shortNumber(v float64) string { return fmt.Sprintf("%.6g", v) }

// nearest returns the name of names that a slip of key may have meant, or "".
func nearest(key string, names []string) string {
	stem, _, _ := strings.Cut(key, "_")
	// A short name is near only by one letter: "foo" does not mean "do".
	best, bestCost := "", min(3, len(key)/2+1)
	for _, n := range names {
		if s, _, _ := strings.Cut(n, "_"); s == stem && bestCost > 0 {
			best, bestCost = n, 0 // the same quantity in the unit that we keep
			continue
		}
		if c := editCost(key, n, bestCost); c < bestCost {
			best, bestCost = n, c
		}
	}
	return best
}

// editCost returns how many letters must be put in, left out or changed to get
// from a to b, or limit if that is not fewer.
func editCost(a, b string, limit int) int {
	if len(a) > 60 || len(b) > 60 || len(a)-len(b) >= limit || len(b)-len(a) >= limit {
		return limit
	}
	var row [61]int
	for j := range len(b) + 1 {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost = 1 + min(diagonal, row[j], row[j+1])
			}
			diagonal, row[j+1] = row[j+1], cost
		}
	}
	return min(row[len(b)], limit)
}
