package farm

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"unicode/utf16"
	"unicode/utf8"
)

// maxDepth bounds how deep JSON may nest: the deepest body needs five.
const maxDepth = 16

// canonicalJSON returns raw in the one form that is hashed: no white space,
// members sorted by name, numbers and strings written in one way. It refuses
// what has no such form: a name that stands twice, text that is not UTF-8 or
// holds half a surrogate pair, a number beyond a float64, anything after the
// value. Two spellings of the same value have the same form.
//
// Source: RFC 8785, JSON Canonicalization Scheme, sections 3.1 and 3.2.
// Departs: integers beyond 2^53 are not refused but rounded, as section 3.2.2.3
// does with every number.
func canonicalJSON(raw []byte) ([]byte, error) {
	c := canon{in: raw, out: make([]byte, 0, len(raw))}
	c.space()
	if err := c.value(0); err != nil {
		return nil, err
	}
	c.space()
	if c.at < len(c.in) {
		return nil, c.fail("something follows the value")
	}
	return c.out, nil
}

// canon reads JSON from in and appends its canonical form to out.
type canon struct {
	in  []byte
	at  int
	out []byte
}

func (c *canon) fail(format string, args ...any) error {
	return fmt.Errorf("JSON at byte %d: %s", c.at+1, fmt.Sprintf(format, args...))
}

func (c *canon) space() {
	for c.at < len(c.in) {
		switch c.in[c.at] {
		case ' ', '\t', '\r', '\n':
			c.at++
		default:
			return
		}
	}
}

// take moves over b if it stands next.
func (c *canon) take(b byte) bool {
	if c.at < len(c.in) && c.in[c.at] == b {
		c.at++
		return true
	}
	return false
}

func (c *canon) value(depth int) error {
	if depth > maxDepth {
		return c.fail("nested deeper than %d", maxDepth)
	}
	if c.at >= len(c.in) {
		return c.fail("it ends too early")
	}
	switch b := c.in[c.at]; {
	case b == '{':
		return c.object(depth)
	case b == '[':
		return c.array(depth)
	case b == '"':
		s, err := c.text()
		if err != nil {
			return err
		}
		c.out = appendText(c.out, s)
		return nil
	case b == '-' || '0' <= b && b <= '9':
		return c.number()
	default:
		for _, word := range []string{"true", "false", "null"} {
			if bytes.HasPrefix(c.in[c.at:], []byte(word)) {
				c.at += len(word)
				c.out = append(c.out, word...)
				return nil
			}
		}
		return c.fail("%q begins no value", rune(b))
	}
}

func (c *canon) array(depth int) error {
	c.at++
	c.out = append(c.out, '[')
	c.space()
	for first := true; !c.take(']'); first = false {
		if !first {
			if !c.take(',') {
				return c.fail("a comma or ] is missing")
			}
			c.out = append(c.out, ',')
			c.space()
		}
		if err := c.value(depth + 1); err != nil {
			return err
		}
		c.space()
	}
	c.out = append(c.out, ']')
	return nil
}

// member is one name of an object and where its canonical value stands in out.
type member struct {
	name     string
	from, to int
}

func (c *canon) object(depth int) error {
	c.at++
	c.space()
	start := len(c.out)
	var room [12]member // most objects fit: no allocation
	members := room[:0]
	for first := true; !c.take('}'); first = false {
		if !first {
			if !c.take(',') {
				return c.fail("a comma or } is missing")
			}
			c.space()
		}
		if c.at >= len(c.in) || c.in[c.at] != '"' {
			return c.fail("a name in quotes is missing")
		}
		name, err := c.text()
		if err != nil {
			return err
		}
		c.space()
		if !c.take(':') {
			return c.fail("the colon after %q is missing", clip(name))
		}
		c.space()
		from := len(c.out)
		if err := c.value(depth + 1); err != nil {
			return err
		}
		members = append(members, member{name, from, len(c.out)})
		c.space()
	}
	slices.SortFunc(members, func(a, b member) int { return compareUTF16(a.name, b.name) })
	sorted := make([]byte, 0, len(c.out)-start+2+16*len(members))
	sorted = append(sorted, '{')
	for i, m := range members {
		if i > 0 {
			if m.name == members[i-1].name {
				return &Error{Code: Invalid, Field: m.name, Message: fmt.Sprintf("%q stands twice", clip(m.name))}
			}
			sorted = append(sorted, ',')
		}
		sorted = appendText(sorted, m.name)
		sorted = append(sorted, ':')
		sorted = append(sorted, c.out[m.from:m.to]...)
	}
	c.out = append(append(c.out[:start], sorted...), '}')
	return nil
}

// compareUTF16 orders names by their UTF-16 code units (RFC 8785, 3.2.3), which
// differs from the order of bytes where a name leaves the basic plane.
func compareUTF16(a, b string) int {
	for a != "" && b != "" {
		ra, na := utf8.DecodeRuneInString(a)
		rb, nb := utf8.DecodeRuneInString(b)
		if ra != rb {
			if ua, ub := firstUnit(ra), firstUnit(rb); ua != ub {
				return int(ua) - int(ub)
			}
			return int(ra) - int(rb) // two pairs with the same first half
		}
		a, b = a[na:], b[nb:]
	}
	return len(a) - len(b)
}

// firstUnit returns the first UTF-16 code unit of r.
func firstUnit(r rune) rune {
	if hi, _ := utf16.EncodeRune(r); hi != utf8.RuneError {
		return hi
	}
	return r
}

// number reads a number by the grammar of JSON and writes it the way ECMAScript
// does, which is how encoding/json writes a float64 but for negative zero.
func (c *canon) number() error {
	from := c.at
	c.take('-')
	switch {
	case c.take('0'):
	case !c.digits():
		return c.fail("a digit is missing")
	}
	if c.take('.') && !c.digits() {
		return c.fail("a digit after the point is missing")
	}
	if c.take('e') || c.take('E') {
		if !c.take('+') {
			c.take('-')
		}
		if !c.digits() {
			return c.fail("a digit of the exponent is missing")
		}
	}
	text := c.in[from:c.at]
	v, err := strconv.ParseFloat(string(text), 64)
	if err != nil || math.IsInf(v, 0) {
		return c.fail("number %s is too large", clip(string(text)))
	}
	c.out = appendNumber(c.out, v)
	return nil
}

func (c *canon) digits() bool {
	from := c.at
	for c.at < len(c.in) && '0' <= c.in[c.at] && c.in[c.at] <= '9' {
		c.at++
	}
	return c.at > from
}

// appendNumber appends v [1] as RFC 8785, 3.2.2.3 wants it: the fewest digits
// that read back as v, in plain notation from 1e-6 up to 1e21.
func appendNumber(out []byte, v float64) []byte {
	if v == 0 {
		return append(out, '0') // -0 too
	}
	if size := math.Abs(v); 1e-6 <= size && size < 1e21 {
		return strconv.AppendFloat(out, v, 'f', -1, 64)
	}
	out = strconv.AppendFloat(out, v, 'e', -1, 64)
	if n := len(out); out[n-2] == '0' && (out[n-3] == '-' || out[n-3] == '+') {
		out[n-2] = out[n-1] // 1e-07 is written 1e-7
		out = out[:n-1]
	}
	return out
}

// text reads a string in quotes and returns what it says.
func (c *canon) text() (string, error) {
	from := c.at
	for i := from + 1; i < len(c.in); i++ {
		switch b := c.in[i]; {
		case b == '\\':
			i++
		case b < 0x20:
			c.at = i
			return "", c.fail("a control character stands in a text")
		case b == '"':
			quoted := c.in[from : i+1]
			if !utf8.Valid(quoted) {
				return "", c.fail("a text is not UTF-8")
			}
			if bytes.IndexByte(quoted, '\\') < 0 {
				c.at = i + 1
				return string(quoted[1 : len(quoted)-1]), nil
			}
			if !pairedSurrogates(quoted) {
				return "", c.fail("half a surrogate pair stands in a text")
			}
			var s string
			if err := json.Unmarshal(quoted, &s); err != nil {
				return "", c.fail("a text has a wrong escape")
			}
			c.at = i + 1
			return s, nil
		}
	}
	return "", c.fail("a text has no end")
}

// pairedSurrogates reports whether every \uD800-\uDFFF escape in quoted is one
// of a pair. encoding/json would put U+FFFD in place of a lone one.
func pairedSurrogates(quoted []byte) bool {
	unit := func(i int) rune {
		if i+6 > len(quoted) || quoted[i] != '\\' || quoted[i+1] != 'u' {
			return -1
		}
		v, err := strconv.ParseUint(string(quoted[i+2:i+6]), 16, 32)
		if err != nil {
			return -1
		}
		return rune(v)
	}
	for i := 0; i < len(quoted); i++ {
		if quoted[i] != '\\' {
			continue
		}
		if u := unit(i); u >= 0xD800 && u <= 0xDFFF {
			if utf16.DecodeRune(u, unit(i+6)) == utf8.RuneError {
				return false
			}
			i += 6 // to the second escape; the loop's own steps do the rest
		}
		i++ // over the escaped character
	}
	return true
}

// appendText appends s in quotes, escaping only what RFC 8785, 3.2.2.2 escapes.
func appendText(out []byte, s string) []byte {
	const hex = "0123456789abcdef"
	out = append(out, '"')
	from := 0
	for i := range len(s) {
		b := s[i]
		if b >= 0x20 && b != '"' && b != '\\' {
			continue
		}
		out = append(out, s[from:i]...)
		from = i + 1
		switch b {
		case '"', '\\':
			out = append(out, '\\', b)
		case '\b':
			out = append(out, '\\', 'b')
		case '\t':
			out = append(out, '\\', 't')
		case '\n':
			out = append(out, '\\', 'n')
		case '\f':
			out = append(out, '\\', 'f')
		case '\r':
			out = append(out, '\\', 'r')
		default:
			out = append(out, '\\', 'u', '0', '0', hex[b>>4], hex[b&15])
		}
	}
	return append(append(out, s[from:]...), '"')
}
