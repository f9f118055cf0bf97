package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"flag"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "write the golden files anew")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"sodalake": main})
}

// The terminal as people and programs use it: one script for each behaviour,
// named by the command first. Every script finds the files of testdata/farm, an
// invented farm among them, and a data folder of its own in SODALAKE_DATA.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		Setup: func(e *testscript.Env) error {
			e.Setenv("SODALAKE_DATA", filepath.Join(e.WorkDir, "data"))
			e.Setenv("SODALAKE_BY", "tester")
			e.Setenv("HOME", filepath.Join(e.WorkDir, "home"))
			e.Setenv("TZ", "Pacific/Auckland") // nothing may depend on the machine's zone
			e.Setenv("COLUMNS", "")
			return os.CopyFS(e.WorkDir, os.DirFS(filepath.Join("testdata", "farm")))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"refused": refused, "failed": failed, "rounded": rounded, "narrow": narrow, "break": breakFile, "bytes": bytesOf,
		},
	})
}

// exitCode is the code that a command ended with.
func exitCode(ts *testscript.TestScript, command []string) int {
	err := ts.Exec(command[0], command[1:]...)
	var ee *exec.ExitError
	switch {
	case err == nil:
		return 0
	case errors.As(err, &ee):
		return ee.ExitCode()
	}
	ts.Fatalf("%v", err)
	return -1
}

// refused FIELD COMMAND...: bad input. Exit code 2, nothing on standard output,
// and on standard error one sentence that names the field, with --json one
// object with it.
func refused(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: refused field command...")
	}
	field, command := args[0], args[1:]
	if code := exitCode(ts, command); code != exitBad {
		ts.Fatalf("exit code %d, want %d:\n%s", code, exitBad, ts.ReadFile("stderr"))
	}
	if out := ts.ReadFile("stdout"); out != "" {
		ts.Fatalf("standard output is not empty: %q", out)
	}
	said := ts.ReadFile("stderr")
	if strings.HasPrefix(said, "{") {
		var e struct{ Error, Field, Hint, Code string }
		if err := json.Unmarshal([]byte(said), &e); err != nil {
			ts.Fatalf("standard error is no JSON object: %v\n%s", err, said)
		}
		if strings.TrimPrefix(e.Field, "body.") != field || e.Error == "" {
			ts.Fatalf("field is %q, want %q: %s", e.Field, field, said)
		}
		return
	}
	sentence, ok := strings.CutPrefix(said, "sodalake: ")
	if !ok {
		ts.Fatalf("standard error does not begin with the program's name: %s", said)
	}
	if !strings.Contains(strings.Join(strings.Fields(said), " "), field) {
		ts.Fatalf("field %q is not named: %s", field, said)
	}
	// Further lines belong to the sentence or to its hint: they stand indented.
	lines := strings.Split(strings.TrimRight(sentence, "\n"), "\n")
	for i, l := range lines {
		if i > 0 && !strings.HasPrefix(l, "          ") {
			ts.Fatalf("more than one sentence: %s", said)
		}
		if strings.HasSuffix(l, ".") {
			ts.Fatalf("ends in a full stop: %s", said)
		}
		if strings.Contains(l, "goroutine ") || strings.Contains(l, "body.") {
			ts.Fatalf("not for people: %s", said)
		}
	}
}

// failed COMMAND...: exit code 1, and why on standard error.
func failed(ts *testscript.TestScript, neg bool, args []string) {
	if code := exitCode(ts, args); code != exitFailed {
		ts.Fatalf("exit code %d, want %d", code, exitFailed)
	}
	if ts.ReadFile("stderr") == "" {
		ts.Fatalf("nothing on standard error")
	}
}

// rounded FILE: the JSON on standard output with its numbers rounded to three
// digits, so that machines may differ in the last.
func rounded(ts *testscript.TestScript, neg bool, args []string) {
	text, err := roundJSON([]byte(ts.ReadFile("stdout")), 3)
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), text, 0o600))
}

// roundJSON writes JSON with numbers of so many leading digits, indented.
func roundJSON(raw []byte, digits int) ([]byte, error) {
	var v any
	if err := json.Unmarshal(raw, &v); err != nil {
		return nil, err
	}
	var walk func(v any) any
	walk = func(v any) any {
		switch x := v.(type) {
		case float64:
			if math.Abs(x) < 1e-9 {
				return 0.0
			}
			r, _ := strconv.ParseFloat(strconv.FormatFloat(x, 'g', digits, 64), 64)
			return r
		case []any:
			for i := range x {
				x[i] = walk(x[i])
			}
		case map[string]any:
			for k := range x {
				x[k] = walk(x[k])
			}
		}
		return v
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(walk(v))
	return b.Bytes(), err
}

// narrow [WIDTH]: no line on standard output is wider than so many columns, 80
// if none are told, none ends in blanks, and nothing is coloured.
func narrow(ts *testscript.TestScript, neg bool, args []string) {
	width := 80
	if len(args) > 0 {
		n, err := strconv.Atoi(args[0])
		ts.Check(err)
		width = n
	}
	out := ts.ReadFile("stdout")
	if out == "" {
		ts.Fatalf("nothing on standard output")
	}
	for _, l := range strings.Split(out, "\n") {
		if n := len([]rune(l)); n > width && !strings.Contains(l, "| sodalake calc") {
			ts.Fatalf("%d columns: %s", n, l)
		}
		if strings.TrimRight(l, " ") != l {
			ts.Fatalf("ends in blanks: %q", l)
		}
		if strings.ContainsAny(l, "\x1b\r\t") {
			ts.Fatalf("control characters: %q", l)
		}
		if strings.Contains(l, "NaN") || strings.Contains(l, "Inf") || strings.Contains(l, "<no value>") || strings.Contains(l, "%!") {
			ts.Fatalf("not for people: %q", l)
		}
	}
}

// break FILE OLD NEW: one change in a file, as a bad disk or a bad hand makes
// it; OLD and NEW are of the same length.
func breakFile(ts *testscript.TestScript, neg bool, args []string) {
	name := ts.MkAbs(args[0])
	b, err := os.ReadFile(name)
	ts.Check(err)
	if !bytes.Contains(b, []byte(args[1])) || len(args[1]) != len(args[2]) {
		ts.Fatalf("%s does not hold %q, or the lengths differ", args[0], args[1])
	}
	ts.Check(os.WriteFile(name, bytes.ReplaceAll(b, []byte(args[1]), []byte(args[2])), 0o600))
}

// bytes FILE N: a file of N blanks in a text, for what is too large.
func bytesOf(ts *testscript.TestScript, neg bool, args []string) {
	n, err := strconv.Atoi(args[1])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(`{"x":"`+strings.Repeat(" ", n)+`"}`), 0o600))
}
