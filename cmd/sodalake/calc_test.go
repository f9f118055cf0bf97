package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// call runs a command line in this process.
func call(stdin string, args ...string) (code int, stdout, stderr string) {
	var out, err bytes.Buffer
	code = run(args, surroundings{
		stdin: strings.NewReader(stdin), stdout: &out, stderr: &err, env: func(string) string { return "" },
		now: func() time.Time { return time.Date(2026, 6, 18, 7, 40, 0, 0, time.UTC) },
	})
	return code, out.String(), err.String()
}

// Every calculator answers its own example, in the words of people and of
// machines, and says the same through both: golden files with numbers of four
// digits, which guard against slips; what is right is tested in farm/calc.
func TestCalcExamples(t *testing.T) {
	for _, c := range calculators().All() {
		t.Run(c.Name, func(t *testing.T) {
			code, out, said := call(c.Example, "calc", c.Name, "--json")
			if code != 0 || said != "" {
				t.Fatalf("exit code %d, standard error %q", code, said)
			}
			got, err := roundJSON([]byte(out), 4)
			if err != nil {
				t.Fatalf("%v in %s", err, out)
			}
			var told struct{ Assumptions, Cautions, Sources []string }
			if err := json.Unmarshal(got, &told); err != nil || told.Assumptions == nil || told.Cautions == nil || told.Sources == nil {
				t.Errorf("the answer does not list assumptions, cautions and sources: %v", err)
			}
			golden := filepath.Join("testdata", "calc", c.Name+".json")
			if *update {
				if err := os.WriteFile(golden, got, 0o600); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatalf("%v; write it with: go test ./cmd/sodalake -run TestCalcExamples -update, and look at it", err)
			}
			if !bytes.Equal(got, want) {
				t.Errorf("the answer to the example is\n%s\nnot\n%s", got, want)
			}
			// In words it fits a terminal.
			code, out, said = call("", append([]string{"calc", c.Name}, typed(t, c.Example)...)...)
			if code != 0 || said != "" {
				t.Fatalf("in words: exit code %d, standard error %q", code, said)
			}
			fits(t, out)
			// The help names every field and the example.
			code, out, said = call("", "calc", c.Name, "--help")
			if code != 0 || said != "" || !strings.Contains(out, c.Example) {
				t.Errorf("help: exit code %d, %q", code, said)
			}
			fits(t, strings.Replace(out, "  echo '"+c.Example+"' | sodalake calc "+c.Name+" --json\n", "", 1))
			for _, f := range c.Inputs {
				if !strings.Contains(out, "--"+strings.ReplaceAll(f.Key, "_", "-")) {
					t.Errorf("help does not name %s", f.Key)
				}
			}
		})
	}
}

// typed is a JSON object as fields on a command line.
func typed(t *testing.T, object string) []string {
	t.Helper()
	var fields map[string]json.RawMessage
	if err := json.Unmarshal([]byte(object), &fields); err != nil {
		t.Fatal(err)
	}
	var args []string
	for key, raw := range fields {
		text := string(raw)
		var s string
		if json.Unmarshal(raw, &s) == nil {
			text = s
		}
		args = append(args, "--"+strings.ReplaceAll(key, "_", "-"), text)
	}
	return args
}

// fits fails for a line of more than 80 columns, blanks at an end, and what is
// not for people.
func fits(t *testing.T, out string) {
	t.Helper()
	for _, l := range strings.Split(out, "\n") {
		if n := len([]rune(l)); n > 80 {
			t.Errorf("%d columns: %s", n, l)
		}
		if strings.TrimRight(l, " ") != l || strings.Contains(l, "%!") || strings.Contains(l, "NaN") {
			t.Errorf("not for people: %q", l)
		}
	}
}

// A field that no calculator knows, an object that is none and one that ends
// too early are refused by each of them alike.
func TestCalcRefusals(t *testing.T) {
	for _, c := range calculators().All() {
		for _, bad := range []struct{ in, field string }{
			{`{"furlongs":3}`, "furlongs"}, {`[]`, ""}, {strings.TrimSuffix(strings.TrimSpace(c.Example), "}"), ""}, {"", ""}, {`{"a":1}{"b":2}`, ""},
		} {
			code, out, said := call(bad.in, "calc", c.Name, "--json")
			var told struct{ Error, Field string }
			if err := json.Unmarshal([]byte(said), &told); code != exitBad || out != "" || err != nil || told.Error == "" || told.Field != bad.field {
				t.Errorf("%s of %q: exit code %d, standard output %q, standard error %q (%v), want 2, nothing, field %q", c.Name, bad.in, code, out, said, err, bad.field)
			}
		}
	}
}
