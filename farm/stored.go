package farm

import (
	"bytes"
	"time"
)

// DecodeStored takes the canonical bytes of an entry apart that a store kept.
// The entry's body is a part of canonical, which must not be changed
// afterwards.
func DecodeStored(canonical []byte) (Entry, error) {
	if e, ok := readStored(canonical); ok {
		return e, nil
	}
	e, bad := decodeEntry(canonical)
	if bad != nil {
		return Entry{}, bad
	}
	return e, nil
}

// readStored reads what Canonical writes: the members in their order, without
// a blank. It reports false on anything else, for decodeEntry to look at: it is
// there for speed alone.
func readStored(b []byte) (e Entry, ok bool) {
	c := cursor{b: b, ok: true}
	var at, noted string
	c.skip("{")
	c.text("at", &at, true)
	c.skip(",")
	c.skip(`"body":`)
	e.Body = c.object()
	c.skip(",")
	c.text("by", &e.By, true)
	c.skip(",")
	c.maybe("corrects", &e.Corrects)
	c.text("id", &e.ID, true)
	c.skip(",")
	c.maybe("item", &e.Item)
	c.text("kind", &e.Kind, true)
	c.skip(",")
	c.text("noted_at", &noted, true)
	c.skip(",")
	c.maybe("site", &e.Site)
	c.skip(`"v":`)
	for c.ok && len(c.b) > 0 && '0' <= c.b[0] && c.b[0] <= '9' && e.V < 1000 {
		e.V = 10*e.V + int(c.b[0]-'0')
		c.b = c.b[1:]
	}
	if len(c.b) > 1 {
		c.skip(",")
		c.text("vessel", &e.Vessel, true)
	}
	c.skip("}")
	if !c.ok || len(c.b) > 0 || e.V < 1 || e.V > 1000 {
		return Entry{}, false
	}
	var okAt, okNoted bool
	e.At, okAt = readStamp(at)
	e.NotedAt, okNoted = readStamp(noted)
	// What decodeEntry would refuse is for it to say.
	fits := (e.Site == "" || isName(e.Site)) && (e.Vessel == "" || isName(e.Vessel)) &&
		len(e.By) <= 100 && len(e.Item) <= 200 && len(e.ID) <= 60 && len(e.Kind) <= 60 && len(e.Corrects) <= 60
	return e, okAt && okNoted && fits
}

// cursor walks over canonical JSON.
type cursor struct {
	b  []byte
	ok bool
}

func (c *cursor) skip(s string) {
	if len(c.b) < len(s) || string(c.b[:len(s)]) != s {
		c.ok = false
		return
	}
	c.b = c.b[len(s):]
}

// text reads "name":"value" if it stands next, value being plain.
func (c *cursor) text(name string, into *string, must bool) bool {
	n := len(name)
	if !c.ok || len(c.b) < n+5 || c.b[0] != '"' || string(c.b[1:n+1]) != name || string(c.b[n+1:n+4]) != `":"` {
		c.ok = c.ok && !must
		return false
	}
	rest := c.b[n+4:]
	end := bytes.IndexByte(rest, '"')
	if end <= 0 || bytes.IndexByte(rest[:end], '\\') >= 0 {
		c.ok = false
		return false
	}
	*into = string(rest[:end])
	c.b = rest[end+1:]
	return true
}

// maybe reads a member that may be absent, and the comma after it.
func (c *cursor) maybe(name string, into *string) {
	if c.text(name, into, false) {
		c.skip(",")
	}
}

// object returns the bytes of the object that stands next.
func (c *cursor) object() []byte {
	if !c.ok || len(c.b) == 0 || c.b[0] != '{' {
		c.ok = false
		return nil
	}
	depth, text := 0, false
	for i := 0; i < len(c.b); i++ {
		switch b := c.b[i]; {
		case b == '"':
			text = !text
		case text && b == '\\':
			i++
		case text:
		case b == '{':
			depth++
		case b == '}':
			if depth--; depth == 0 {
				whole := c.b[: i+1 : i+1]
				c.b = c.b[i+1:]
				return whole
			}
		}
	}
	c.ok = false
	return nil
}

// readStamp reads a time as stamp writes it.
func readStamp(s string) (time.Time, bool) {
	if len(s) != len(stamp) || s[4] != '-' || s[7] != '-' || s[10] != 'T' || s[13] != ':' || s[16] != ':' || s[19] != '.' || s[23] != 'Z' {
		return time.Time{}, false
	}
	ok := true
	number := func(from, to int) int {
		n := 0
		for _, d := range []byte(s[from:to]) {
			ok = ok && '0' <= d && d <= '9'
			n = 10*n + int(d-'0')
		}
		return n
	}
	y, m, d := number(0, 4), number(5, 7), number(8, 10)
	hour, minute, second, ms := number(11, 13), number(14, 16), number(17, 19), number(20, 23)
	t := time.Date(y, time.Month(m), d, hour, minute, second, ms*1e6, time.UTC)
	// time.Date carries over what is no date: the 31st of April.
	ok = ok && t.Day() == d && int(t.Month()) == m && hour < 24 && minute < 60 && second < 60 && y >= 1970 && y <= 2199
	return t, ok
}
