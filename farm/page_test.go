package farm

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the tables of docs/journal.md anew")

const page = "../docs/journal.md"

// tables returns the parts of the page that the tables of this package tell.
func tables() map[string]string {
	out := map[string]string{}
	var b strings.Builder
	code := func(keys []string) string {
		if len(keys) == 0 {
			return ""
		}
		return "`" + strings.Join(keys, "`, `") + "`"
	}
	b.WriteString("| kind | what happened | vessel | needs | at least one of | may have | typed |\n|---|---|---|---|---|---|---|\n")
	for _, k := range kinds {
		place := map[Place]string{OfVessel: "yes", MaybeOf: "may", OfNoVessel: ""}[k.Place]
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s | %s | %s |\n", k.Name, k.What, place, code(k.Need), code(k.Main), code(k.May), strings.Join(k.Aliases, ", "))
	}
	out["kinds"] = b.String()
	fields := func(lists ...[]Field) string {
		var b strings.Builder
		b.WriteString("| key | unit | meaning | form, or refused outside | doubted outside |\n|---|---|---|---|---|\n")
		for _, list := range lists {
			for _, f := range list {
				form, likely := string(f.Form), ""
				switch {
				case f.Form == FormNumber || f.Form == FormWhole:
					form = f.Hard.String()
					if f.Likely != (Span{}) {
						likely = f.Likely.String()
					}
				case f.Words != nil:
					form = code(f.Words)
				}
				fmt.Fprintf(&b, "| `%s` | %s | %s | %s | %s |\n", f.Key, f.Unit, f.What, form, likely)
			}
		}
		return b.String()
	}
	out["readings"] = fields(readingFields, commonFields)
	out["acts"] = fields(actFields)
	out["weather"] = fields(WeatherColumns)
	out["water"] = fields(WaterKeys)
	out["settings"] = fields(Choices)
	b.Reset()
	b.WriteString("| kind | what | needs | may have |\n|---|---|---|---|\n")
	for _, s := range ShapeKinds {
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", s.Kind, s.What, code(s.Need), code(s.May))
	}
	out["shapes"] = b.String()
	return out
}

func TestPageTellsTheTables(t *testing.T) {
	old, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	text := string(old)
	for name, table := range tables() {
		part := regexp.MustCompile(`(?s)<!-- ` + name + ` -->\n.*?<!-- end -->`)
		if !part.MatchString(text) {
			t.Fatalf("the page has no place for %s", name)
		}
		text = part.ReplaceAllLiteralString(text, "<!-- "+name+" -->\n"+table+"<!-- end -->")
	}
	if text == string(old) {
		return
	}
	if !*update {
		t.Fatalf("%s does not tell the tables of this package: go test ./farm -update", page)
	}
	if err := os.WriteFile(page, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// The examples of the page can be imported, and its canonical form is the one.
func TestPageExamples(t *testing.T) {
	text, err := os.ReadFile(page)
	if err != nil {
		t.Fatal(err)
	}
	block := func(language string) []byte {
		m := regexp.MustCompile("(?s)```" + language + "\n(.*?)```").FindSubmatch(text)
		if m == nil {
			t.Fatalf("the page has no block of %s", language)
		}
		return m[1]
	}
	p := NewPresent()
	got, err := readAll(bytes.NewReader(block("jsonl")), p)
	if err != nil || len(got) < 12 {
		t.Fatalf("the example reads as %d entries, %v", len(got), err)
	}
	for _, e := range got {
		if ev, ok := p.Event(e.ID); ok && len(ev.Doubts) > 0 {
			t.Errorf("%s %s is doubted: %v", e.Kind, e.Body, ev.Doubts)
		}
	}
	one, bad := DecodeEntry(block("json"))
	if bad != nil {
		t.Fatal(bad)
	}
	if _, bad := Check(one, p, Sent, noon); bad != nil {
		t.Error(bad)
	}
	canonical, err := one.Canonical()
	if err != nil || !bytes.Contains(text, append([]byte("    "), append(canonical, '\n')...)) {
		t.Errorf("the page does not show the canonical form %s, %v", canonical, err)
	}
}
