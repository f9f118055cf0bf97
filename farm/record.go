package farm

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strconv"
	"time"
)

// Limits of an entry, counted in bytes of its canonical form.
const (
	MaxEntryBytes = 1 << 20 // of a batch
	MaxPlainBytes = 1 << 16 // of any other entry
)

const bodyVersion = 1 // the only version of any body so far

// stamp is how times stand in the canonical form: UTC, whole milliseconds.
const stamp = "2006-01-02T15:04:05.000Z"

// Canonical returns the bytes that are kept and hashed: what the maker of the
// entry said, without Seq, ReceivedAt, Prev and Hash, as one line of JSON in
// the form of RFC 8785. Times are in UTC and cut to milliseconds. Two entries
// say the same if and only if their canonical bytes are equal; an entry read
// back from its canonical bytes, or from an exported line, has the same.
//
// It fails only if the body is no JSON or a time has no four-digit year.
func (e Entry) Canonical() ([]byte, error) {
	body, err := canonicalJSON(e.Body)
	if err != nil {
		return nil, invalid("body", "body is not good JSON: %s", err)
	}
	b := make([]byte, 0, 260+len(body))
	text := func(name, value string) {
		b = append(append(appendText(append(b, ','), name), ':'), appendTextOf(value)...)
	}
	maybe := func(name, value string) {
		if value != "" {
			text(name, value)
		}
	}
	at, err := stampOf("at", e.At)
	if err != nil {
		return nil, err
	}
	noted, err := stampOf("noted_at", e.NotedAt)
	if err != nil {
		return nil, err
	}
	// The names stand in alphabetical order, as RFC 8785, 3.2.3 wants them.
	b = append(b, `{"at":"`...)
	b = append(append(b, at...), `","body":`...)
	b = append(b, body...)
	maybe("by", e.By)
	maybe("corrects", e.Corrects)
	maybe("id", e.ID)
	maybe("item", e.Item)
	text("kind", e.Kind)
	text("noted_at", noted)
	maybe("site", e.Site)
	b = strconv.AppendInt(append(b, `,"v":`...), int64(e.V), 10)
	maybe("vessel", e.Vessel)
	return append(b, '}'), nil
}

func appendTextOf(s string) []byte { return appendText(nil, s) }

func stampOf(field string, t time.Time) (string, error) {
	t = t.UTC()
	if y := t.Year(); y < 1 || y > 9999 {
		return "", invalid(field, "%s has no year of four digits", field)
	}
	return t.Format(stamp), nil
}

// ChainHash returns the hash of an entry with these canonical bytes that
// follows an entry of hash prev: SHA-256 over prev, as its 64 hexadecimal
// digits, and the bytes. The first entry has an empty prev. It does not cover
// Seq, which the chain itself counts, nor ReceivedAt, which differs between two
// copies of a journal.
//
// Source: FIPS 180-4 (SHA-256).
func ChainHash(prev string, canonical []byte) string {
	h := sha256.New()
	h.Write([]byte(prev))
	h.Write(canonical)
	var sum [sha256.Size]byte
	return hex.EncodeToString(h.Sum(sum[:0]))
}

// DecodeEntry takes one entry apart, as a maker sends it or as an export writes
// it. Unknown fields, fields of a wrong type and a body that is no object are
// errors that name the field; what the fields say is for Check. V is 1 where it
// is absent, NotedAt is At. Times come back in UTC, the body in canonical form.
func DecodeEntry(raw []byte) (Entry, *Error) {
	canonical, err := canonicalJSON(raw)
	if err != nil {
		if e := asError(err); e.Code == Invalid {
			return Entry{}, e
		}
		return Entry{}, invalid("", "entry is not good JSON: %s", err)
	}
	return decodeEntry(canonical)
}

// decodeEntry is DecodeEntry for canonical JSON.
func decodeEntry(canonical []byte) (Entry, *Error) {
	o := openObject("", canonical)
	var e Entry
	o.need("kind")
	o.need("at")
	o.need("body")
	e.ID = o.text("id", 60)
	e.Site = o.ref("site")
	e.Vessel = o.ref("vessel")
	e.Kind = o.text("kind", 60)
	e.V = bodyVersion
	if v, given := o.whole("v", from(1, 1000)); given {
		e.V = v
	}
	e.At = o.moment("at")
	if e.NotedAt = o.moment("noted_at"); e.NotedAt.IsZero() {
		e.NotedAt = e.At
	}
	e.By = o.text("by", 100)
	if raw, ok := o.take("body"); ok {
		if raw[0] != '{' {
			o.fail("body", "is not an object")
		}
		e.Body = raw
	}
	e.Corrects = o.text("corrects", 60)
	e.Item = o.text("item", 200)
	if seq, given := o.number("seq", from(1, 1<<53)); given {
		e.Seq = int64(seq)
	}
	e.ReceivedAt = o.moment("received_at")
	e.Prev = o.text("prev", 64)
	e.Hash = o.text("hash", 64)
	if bad := o.close(); bad != nil {
		return Entry{}, bad
	}
	return e, nil
}

// DecodeEntries takes one entry, or a list of at most most entries, as the API
// receives them. What the store adds (seq, received_at, prev, hash) is dropped:
// only an import may carry it. In a list the field of an error begins with its
// place, "[2].body.ph".
func DecodeEntries(raw []byte, most int) ([]Entry, *Error) {
	canonical, err := canonicalJSON(raw)
	if err != nil {
		if e := asError(err); e.Code == Invalid {
			return nil, e
		}
		return nil, invalid("", "request is not good JSON: %s", err)
	}
	list := []json.RawMessage{canonical}
	isList := canonical[0] == '['
	if isList {
		if err := json.Unmarshal(canonical, &list); err != nil {
			return nil, invalid("", "request is not a list of entries")
		}
	}
	if len(list) > most {
		return nil, invalid("", "request has %d entries, more than %d", len(list), most)
	}
	entries := make([]Entry, len(list))
	for i, one := range list {
		e, bad := decodeEntry(one)
		if bad != nil {
			if isList {
				bad = bad.within(fmt.Sprintf("[%d]", i))
			}
			return nil, bad
		}
		e.Seq, e.ReceivedAt, e.Prev, e.Hash = 0, time.Time{}, "", ""
		entries[i] = e
	}
	return entries, nil
}

// within returns a copy of e that says in which part of a larger thing it is.
func (e *Error) within(place string) *Error {
	c := *e
	if c.Field = place; e.Field != "" {
		c.Field = place + "." + e.Field
	}
	c.Message = place + ": " + e.Message
	return &c
}

// DeriveID returns an identifier for an entry that came without one in a file
// written by hand: the time of e.At, and random bits out of its content. The
// same line always gets the same identifier, so a file imported twice is
// written once; two lines that say the same are one entry.
func (e Entry) DeriveID() (string, error) {
	e.ID = ""
	canonical, err := e.Canonical()
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(canonical)
	ms := e.At.UnixMilli()
	if ms < 0 || ms > maxULIDMs {
		return "", invalid("at", "at lies outside the years 1970 to 2199")
	}
	return encodeULID(ms, [10]byte(sum[:10])), nil
}
