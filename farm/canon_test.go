package farm

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/go-json-experiment/json/jsontext"
	"pgregory.net/rapid"
)

// RFC 8785, Appendix B, Table 1.
func TestNumbersAgainstRFC8785(t *testing.T) {
	for bits, want := range map[uint64]string{
		0x0000000000000000: "0",
		0x8000000000000000: "0",
		0x0000000000000001: "5e-324",
		0x8000000000000001: "-5e-324",
		0x7fefffffffffffff: "1.7976931348623157e+308",
		0xffefffffffffffff: "-1.7976931348623157e+308",
		0x4340000000000000: "9007199254740992",
		0xc340000000000000: "-9007199254740992",
		0x4430000000000000: "295147905179352830000",
		0x44b52d02c7e14af5: "9.999999999999997e+22",
		0x44b52d02c7e14af6: "1e+23",
		0x44b52d02c7e14af7: "1.0000000000000001e+23",
		0x444b1ae4d6e2ef4e: "999999999999999700000",
		0x444b1ae4d6e2ef4f: "999999999999999900000",
		0x444b1ae4d6e2ef50: "1e+21",
		0x3eb0c6f7a0b5ed8c: "9.999999999999997e-7",
		0x3eb0c6f7a0b5ed8d: "0.000001",
		0x41b3de4355555553: "333333333.3333332",
		0x41b3de4355555554: "333333333.33333325",
		0x41b3de4355555555: "333333333.3333333",
		0x41b3de4355555556: "333333333.3333334",
		0x41b3de4355555557: "333333333.33333343",
		0xbecbf647612f3696: "-0.0000033333333333333333",
		0x43143ff3c1cb0959: "1424953923781206.2",
	} {
		v := math.Float64frombits(bits)
		if got := string(appendNumber(nil, v)); got != want {
			t.Errorf("%016x is written %s, want %s (RFC 8785, Appendix B)", bits, got, want)
		}
		got, err := canonicalJSON([]byte(strconv.FormatFloat(v, 'e', 20, 64)))
		if err != nil || string(got) != want {
			t.Errorf("%016x is read as %s, %v; want %s (RFC 8785, Appendix B)", bits, got, err, want)
		}
	}
}

func TestCanonicalAgainstRFC8785(t *testing.T) {
	for _, c := range []struct{ in, want, source string }{
		{
			`{
  "numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}`,
			`{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
			"RFC 8785, section 3.2.2 and 3.2.3",
		},
		{
			`{"\u20ac":"Euro Sign","\r":"Carriage Return","\ufb33":"Hebrew Letter Dalet With Dagesh","1":"One","\ud83d\ude00":"Emoji: Grinning Face","\u0080":"Control","\u00f6":"Latin Small Letter O With Diaeresis"}`,
			`{"\r":"Carriage Return","1":"One","` + "\u0080" + `":"Control","ö":"Latin Small Letter O With Diaeresis","€":"Euro Sign","😀":"Emoji: Grinning Face","` + "\ufb33" + `":"Hebrew Letter Dalet With Dagesh"}`,
			"RFC 8785, section 3.2.3",
		},
	} {
		got, err := canonicalJSON([]byte(c.in))
		if err != nil || string(got) != c.want {
			t.Errorf("got %s, %v\nwant %s (%s)", got, err, c.want, c.source)
		}
	}
}

// What I-JSON (RFC 7493) and RFC 8259 forbid.
func TestNoCanonicalForm(t *testing.T) {
	for _, in := range []string{
		"", " ", "{", "}", "[1", "[1,]", "[,1]", "[1 2]", `{"a":1,}`, `{"a"}`, `{"a":}`, `{a:1}`, `{"a":1 "b":2}`, "nul", "True", "01", "+1", "-", "1.", ".5", "1e", "1e+", "0x10", "NaN", "1e400", "-1e400",
		`"`, `"\"`, `"\x"`, `"\u12"`, `"\ud83d"`, `"\ude00"`, `"\ud83dx"`, `"\ud83d\u0041"`, `"\ude00\ud83d"`, "\"\n\"", "\"\x00\"", "\"\xff\"", "\"\xed\xa0\x80\"",
		`{"a":1,"a":2}`, `{"a":1,"\u0061":2}`, `[{"b":{"a":1,"a":1}}]`, "1 2", "{}x", "\ufeff{}",
		strings.Repeat("[", 40) + strings.Repeat("]", 40),
	} {
		if got, err := canonicalJSON([]byte(in)); err == nil {
			t.Errorf("%q gave %s", in, got)
		}
	}
}

// anyJSON draws JSON spelled in many ways.
func anyJSON(t *rapid.T) []byte {
	var value func(depth int) any
	value = func(depth int) any {
		kind := rapid.IntRange(0, 6).Draw(t, "kind")
		if depth == 0 {
			kind = max(kind, 5) // a list or an object
		}
		if depth > 3 && kind > 4 {
			kind -= 2
		}
		switch kind {
		case 0:
			return nil
		case 1:
			return rapid.Bool().Draw(t, "bool")
		case 2:
			return rapid.Float64().Draw(t, "number")
		case 3:
			return rapid.String().Draw(t, "text")
		case 4:
			return rapid.Int64Range(-1e6, 1e6).Draw(t, "whole")
		case 5:
			list := make([]any, rapid.IntRange(0, 4).Draw(t, "length"))
			for i := range list {
				list[i] = value(depth + 1)
			}
			return list
		}
		m := map[string]any{}
		for range rapid.IntRange(0, 5).Draw(t, "members") {
			m[rapid.String().Draw(t, "name")] = value(depth + 1)
		}
		return m
	}
	v := value(0)
	if rapid.Bool().Draw(t, "indent") {
		b, err := json.MarshalIndent(v, " ", "\t")
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	b, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// The canonicaliser of github.com/go-json-experiment/json, another
// implementation of RFC 8785, is the oracle.
func TestCanonicalAgainstAnother(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		raw := anyJSON(t)
		got, err := canonicalJSON(raw)
		if err != nil {
			t.Fatal(err)
		}
		want := jsontext.Value(raw)
		if err := want.Canonicalize(); err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			t.Fatalf("%s gave\n%s, want\n%s", raw, got, want)
		}
		if again, err := canonicalJSON(got); err != nil || string(again) != string(got) {
			t.Fatalf("the canonical form of %s is %s, %v", got, again, err)
		}
	})
}

func FuzzCanonical(f *testing.F) {
	for _, s := range []string{`{"b":[1,2.50,-0,1e-7],"a":"\u00e9\ud83d\ude00\n","a\u0000":null}`, `"\ud800"`, `{"a":1,"a":1}`, "[[[[]]]]", "1e999", "\xff"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		got, err := canonicalJSON(raw)
		want := jsontext.Value(raw).Clone()
		wantErr := want.Canonicalize()
		if err != nil {
			if wantErr == nil && !strings.Contains(err.Error(), "nested deeper") && !strings.Contains(err.Error(), "too large") {
				t.Fatalf("%q is refused with %v, the other gives %s", raw, err, want)
			}
			return
		}
		if wantErr != nil || string(got) != string(want) {
			t.Fatalf("%q gives %s, the other %s, %v", raw, got, want, wantErr)
		}
	})
}
