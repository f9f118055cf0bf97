package farm

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const oneLine = `{"id":"01BX5ZZKBKACTAV9WEVGEMMVRY","vessel":"lantern-pond","kind":"secchi","v":1,"at":"2031-05-04T09:30:00+02:00","noted_at":"2031-05-04T09:31:00+02:00","by":"ines","body":{"secchi_cm":2.40}}`

func TestDecodeEntry(t *testing.T) {
	e, bad := DecodeEntry([]byte(oneLine))
	if bad != nil {
		t.Fatal(bad)
	}
	if !e.At.Equal(time.Date(2031, 5, 4, 7, 30, 0, 0, time.UTC)) || e.At.Location() != time.UTC || string(e.Body) != `{"secchi_cm":2.4}` {
		t.Errorf("read as %+v", e)
	}
	b, err := e.Canonical()
	want := `{"at":"2031-05-04T07:30:00.000Z","body":{"secchi_cm":2.4},"by":"ines","id":"01BX5ZZKBKACTAV9WEVGEMMVRY","kind":"secchi","noted_at":"2031-05-04T07:31:00.000Z","v":1,"vessel":"lantern-pond"}`
	if err != nil || string(b) != want {
		t.Errorf("canonical %s, %v\nwant %s", b, err, want)
	}
	if same, err := canonicalJSON(b); err != nil || !bytes.Equal(same, b) {
		t.Errorf("the canonical bytes are not in the form of RFC 8785: %s", same)
	}
	// sha256sum of that text, by coreutils 9.1.
	if got, want := ChainHash("", b), "3b282bfae152c1f39ba637ef5a78e52866bc6ed989f2a9374f4e60e9d6db0b04"; got != want {
		t.Errorf("the first hash is %s, want %s", got, want)
	}
	if got, want := ChainHash(ChainHash("", b), b), "5f000e324d95bcbce69246ce2a9f7b95f35df0b18a181699177b91428efdb554"; got != want {
		t.Errorf("the second hash is %s, want %s", got, want)
	}
}

func TestDecodeEntryRefuses(t *testing.T) {
	for _, c := range []struct{ from, to, field, part string }{
		{`"v":1`, `"v":"1"`, "v", "number"},
		{`"v":1`, `"v":1.5`, "v", "whole"},
		{`"v":1`, `"v":1,"colour":"red"`, "colour", "not a field"},
		{`"v":1`, `"v":1,"v":2`, "v", "twice"},
		{`"by":"ines"`, `"by":["ines"]`, "by", "text"},
		{`"by":"ines"`, `"by":""`, "by", "empty"},
		{`"vessel":"lantern-pond"`, `"vessel":"Lantern pond"`, "vessel", "lower-case"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":"2031-05-04T09:30:00"`, "at", "time"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":"2031-02-30T09:30:00Z"`, "at", "time"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":"1931-05-04T09:30:00Z"`, "at", "years"},
		{`"at":"2031-05-04T09:30:00+02:00",`, ``, "at", "missing"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":1935984600000`, "at", "text"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":"2031-05-04T9:30:00Z"`, "at", "time"},
		{`"at":"2031-05-04T09:30:00+02:00"`, `"at":"2031-05-04T09:30:00,5Z"`, "at", "time"},
		{`"body":{"secchi_cm":2.40}`, `"body":[1]`, "body", "object"},
		{`"body":{"secchi_cm":2.40}`, `"body":"x"`, "body", "object"},
		{`,"body":{"secchi_cm":2.40}`, ``, "body", "missing"},
		{`"kind":"secchi",`, ``, "kind", "missing"},
		{`}}`, `}`, "", "JSON"},
		{oneLine, `[` + oneLine + `]`, "", "not an object"},
		{oneLine, ``, "", "JSON"},
	} {
		_, bad := DecodeEntry([]byte(strings.Replace(oneLine, c.from, c.to, 1)))
		wantField(t, c.to, bad, Invalid, c.field, c.part)
	}
}

func TestDecodeEntries(t *testing.T) {
	exported := strings.TrimSuffix(oneLine, "}") + `,"seq":9,"prev":"ab","hash":"cd","received_at":"2031-05-04T09:30:00Z"}`
	got, bad := DecodeEntries([]byte("["+oneLine+","+exported+"]"), 2)
	if bad != nil || len(got) != 2 {
		t.Fatal(got, bad)
	}
	for _, e := range got {
		if e.Seq != 0 || e.Prev != "" || e.Hash != "" || !e.ReceivedAt.IsZero() {
			t.Errorf("what the store adds is kept: %+v", e)
		}
	}
	if one, bad := DecodeEntries([]byte(oneLine), 1); bad != nil || len(one) != 1 {
		t.Error(one, bad)
	}
	if none, bad := DecodeEntries([]byte("[]"), 1); bad != nil || len(none) != 0 {
		t.Error(none, bad)
	}
	_, bad = DecodeEntries([]byte("["+oneLine+","+oneLine+"]"), 1)
	wantField(t, "a list too long", bad, Invalid, "", "more than 1")
	_, bad = DecodeEntries([]byte("["+oneLine+`,{"kind":7}]`), 5)
	wantField(t, "a kind that is a number", bad, Invalid, "[1].at", "missing")
	_, bad = DecodeEntries([]byte("["+oneLine), 5)
	wantField(t, "half a list", bad, Invalid, "", "JSON")
	_, bad = DecodeEntries([]byte(`"x"`), 5)
	wantField(t, "a text", bad, Invalid, "", "not an object")
}

// anyEntry draws an entry that can be kept, whatever it says.
func anyEntry(t *rapid.T) Entry {
	moment := func(name string) time.Time {
		ms := rapid.Int64Range(0, 7258118399999).Draw(t, name)
		zone := time.FixedZone("", 60*rapid.IntRange(-840, 840).Draw(t, "offset"))
		return time.UnixMilli(ms).Add(time.Duration(rapid.IntRange(0, 999999).Draw(t, "ns"))).In(zone)
	}
	plain := func(name string) string {
		s := strings.ToValidUTF8(rapid.StringN(1, 20, 60).Draw(t, name), "?")
		if strings.TrimSpace(s) == "" {
			return "x"
		}
		return s
	}
	name := rapid.StringMatching(`([a-z0-9][a-z0-9_-]{0,20})?`)
	body := anyJSON(t)
	if c, err := canonicalJSON(body); err != nil || c[0] != '{' {
		body = []byte(`{"ph":10}`)
	}
	e := Entry{
		ID: plain("id"), Site: name.Draw(t, "site"), Vessel: name.Draw(t, "vessel"), Kind: plain("kind"),
		V: rapid.IntRange(1, 1000).Draw(t, "v"), At: moment("at"), NotedAt: moment("noted"), By: plain("by"), Body: body,
	}
	if rapid.Bool().Draw(t, "more") {
		e.Corrects, e.Item = plain("corrects"), plain("item")
	}
	return e
}

// What is kept reads back as itself: from the stored bytes, by both readers,
// and from an exported line.
func TestCanonicalBytesComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anyEntry(t)
		b, err := e.Canonical()
		if err != nil {
			t.Fatal(err)
		}
		if c, err := canonicalJSON(b); err != nil || !bytes.Equal(c, b) {
			t.Fatalf("canonical bytes %s are not canonical: %s, %v", b, c, err)
		}
		e.Seq, e.ReceivedAt, e.Prev = 7, noon, ChainHash("", nil)
		e.Hash = ChainHash(e.Prev, b)
		exported, err := e.Line()
		if err != nil {
			t.Fatal(err)
		}
		plain, err := json.Marshal(e) // as the API answers
		if err != nil {
			t.Fatal(err)
		}
		fast, ok := readStored(b)
		for name, read := range map[string]func() (Entry, *Error){
			"stored": func() (Entry, *Error) { return decodeEntry(b) },
			"line":   func() (Entry, *Error) { return DecodeEntry(exported) },
			"API":    func() (Entry, *Error) { return DecodeEntry(plain) },
			"fast": func() (Entry, *Error) {
				if !ok {
					return decodeEntry(b)
				}
				return fast, nil
			},
		} {
			got, bad := read()
			if bad != nil {
				t.Fatalf("%s: %v", name, bad)
			}
			again, err := got.Canonical()
			if err != nil || !bytes.Equal(again, b) {
				t.Fatalf("%s: %s\nreads back as\n%s, %v", name, b, again, err)
			}
			if name == "line" && (got.Seq != 7 || got.Hash != e.Hash || got.Prev != e.Prev || !got.ReceivedAt.Equal(noon)) {
				t.Fatalf("the line lost what the store added: %+v", got)
			}
		}
	})
}

// The fast reader takes what the store writes, or it would be of no use.
func TestFastReaderTakesPlainEntries(t *testing.T) {
	n := lighthouse(t)
	n.note("", "note", `{"text":"she said: \"} {\", and \\\\ then \u00e9"}`)
	for _, e := range n.all {
		b, err := e.Canonical()
		if err != nil {
			t.Fatal(err)
		}
		if _, ok := readStored(b); !ok {
			t.Errorf("the fast reader leaves %s to the other", b)
		}
	}
}

func TestChain(t *testing.T) {
	b := []byte(`{"a":1}`)
	first := ChainHash("", b)
	second := ChainHash(first, b)
	at := func() *Chain {
		var c Chain
		if err := c.Next(1, b, "", first); err != nil {
			t.Fatal(err)
		}
		return &c
	}
	if c := at(); c.Next(2, b, first, second) != nil || c.Head != (Head{Seq: 2, Hash: second}) {
		t.Errorf("the chain ends with %+v", c.Head)
	}
	for name, next := range map[string]func(*Chain) error{
		"a gap":           func(c *Chain) error { return c.Next(3, b, first, second) },
		"the same again":  func(c *Chain) error { return c.Next(1, b, first, second) },
		"no predecessor":  func(c *Chain) error { return c.Next(2, b, "", first) },
		"another's":       func(c *Chain) error { return c.Next(2, b, second, ChainHash(second, b)) },
		"other bytes":     func(c *Chain) error { return c.Next(2, []byte(`{"a":2}`), first, second) },
		"no hash":         func(c *Chain) error { return c.Next(2, b, first, "") },
		"upper-case hash": func(c *Chain) error { return c.Next(2, b, first, strings.ToUpper(second)) },
	} {
		c := at()
		err := next(c)
		var broken *ChainError
		if !errors.As(err, &broken) || broken.Seq != 2 || c.Head.Seq != 1 {
			t.Errorf("%s: %v, the chain ends with %+v", name, err, c.Head)
		}
	}
}

// Whatever bytes it is given: the fast reader says what the other says, or
// nothing, for all that is canonical; neither falls over.
func FuzzDecodeEntry(f *testing.F) {
	f.Add([]byte(oneLine))
	for _, e := range lighthouse(f).settled() {
		b, err := e.Canonical()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Add([]byte(`{"at":"2031-02-31T07:30:00.000Z","body":{},"by":"x","id":"i","kind":"k","noted_at":"2031-05-04T07:31:00.000Z","v":1}`))
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, bad := DecodeEntry(raw)
		if c, err := canonicalJSON(raw); err == nil && bytes.Equal(c, raw) {
			if fast, ok := readStored(raw); ok {
				if bad != nil {
					t.Fatalf("the fast reader takes %s, the other refuses it: %v", raw, bad)
				}
				a, _ := fast.Canonical()
				b, _ := got.Canonical()
				if !bytes.Equal(a, b) {
					t.Fatalf("%s reads as %s and as %s", raw, a, b)
				}
			}
		}
		if bad != nil {
			if bad.Message == "" || strings.ContainsAny(bad.Message, "\n") || len(bad.Message) > 2000 {
				t.Fatalf("message %q", bad.Message)
			}
			return
		}
		b, err := got.Canonical()
		if err != nil {
			t.Fatalf("%s is read and cannot be written: %v", raw, err)
		}
		again, bad := DecodeEntry(b)
		if bad != nil {
			t.Fatalf("%s does not read back: %v", b, bad)
		}
		if c, _ := again.Canonical(); !bytes.Equal(b, c) {
			t.Fatalf("%s reads back as %s", b, c)
		}
		p := lighthousePresent(t)
		_, _ = Check(got, p, Sent, noon)
		p.Apply(got)
	})
}

func lighthousePresent(t testing.TB) *Present { return lighthouse(t).present() }

func BenchmarkDecodeStored(b *testing.B) {
	e, bad := DecodeEntry([]byte(oneLine))
	if bad != nil {
		b.Fatal(bad)
	}
	stored, err := e.Canonical()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := DecodeStored(stored); err != nil {
			b.Fatal(err)
		}
	}
}
