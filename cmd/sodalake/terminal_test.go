package main

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"sodalake/housetest"
)

// Progress of long work goes to standard error, and only where a person watches.
func TestProgressOnlyOnATerminal(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join("testdata", "farm", "scenario.json"))
	if err != nil {
		t.Fatal(err)
	}
	long := bytes.Replace(raw, []byte(`"days": 6`), []byte(`"days": 260`), 1)
	if bytes.Equal(long, raw) {
		t.Fatal("the scenario says its days otherwise now")
	}
	var printed [2]string
	for i, terminal := range []bool{false, true} {
		var out, said bytes.Buffer
		code := run([]string{"whatif", "-", "--csv"}, surroundings{
			stdin: bytes.NewReader(long), stdout: &out, stderr: &said, env: func(string) string { return "" }, now: time.Now, terminal: terminal,
		})
		if code != 0 {
			t.Fatalf("exit code %d: %s", code, said.String())
		}
		if told := strings.Contains(said.String(), "day 250 of 260"); told != terminal || !terminal && said.Len() > 0 {
			t.Errorf("terminal %t: standard error is %q", terminal, said.String())
		}
		printed[i] = out.String()
	}
	if printed[0] != printed[1] {
		t.Error("what is printed depends on who watches")
	}
}

// Every file of the examples folder runs, by the command it is for, and fits a
// terminal.
func TestExamples(t *testing.T) {
	files, err := filepath.Glob("../../examples/*.json")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Fatal("there are no examples")
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		command := "whatif"
		if bytes.Contains(raw, []byte(`"designs"`)) {
			command = "build"
		}
		code, out, said := call("", command, file)
		if code != 0 || said != "" {
			t.Errorf("%s: exit code %d, %s", file, code, said)
		}
		for _, l := range strings.Split(out, "\n") {
			if n := len([]rune(l)); n > 80 {
				t.Errorf("%s: %d columns: %s", file, n, l)
			}
		}
	}
}

// What the shell completes, asked of a shell.
func TestBashCompletes(t *testing.T) {
	bash := housetest.Need(t, "bash")
	_, script, _ := call("", "completion", "bash")
	file := filepath.Join(t.TempDir(), "completion")
	if err := os.WriteFile(file, []byte(script), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ line, want, not string }{
		{"sodalake to", "today", "note"},
		{"sodalake ", "whatif", "--vessel"},
		{"sodalake --", "--json", "--vessel"},
		{"sodalake today --v", "--vessel", "--listen"},
		{"sodalake --json note --", "--when", "--vessel"},
		{"sodalake calc ev", "evaporation", "note"},
		{"sodalake calc li", "list", ""},
		{"sodalake completion ", "fish", "today"},
	} {
		words := strings.Split(c.line, " ")
		ask := "source " + file + `; COMP_WORDS=("$@"); COMP_CWORD=$(( $# - 1 )); _sodalake; printf '%s\n' "${COMPREPLY[@]}"`
		out, err := exec.Command(bash, append([]string{"-c", ask, "bash"}, words...)...).CombinedOutput()
		if err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		got := strings.Fields(string(out))
		has := func(word string) bool {
			for _, g := range got {
				if g == word {
					return true
				}
			}
			return false
		}
		if !has(c.want) || c.not != "" && has(c.not) {
			t.Errorf("%q completes to %v, want %q and not %q", c.line, got, c.want, c.not)
		}
	}
}

var helpFlag = regexp.MustCompile(`(?m)^ {6}--([a-z-]+)`)

// Completion and manual name every command and flag of the help.
func TestCompletionAndManualAreWhole(t *testing.T) {
	_, help, _ := call("", "--help")
	_, cmds, _ := strings.Cut(help, "Commands:\n")
	var texts []string
	for _, args := range [][]string{{"completion", "bash"}, {"completion", "zsh"}, {"completion", "fish"}, {"man"}} {
		code, out, said := call("", args...)
		if code != 0 || said != "" || strings.Contains(out, "%!") {
			t.Fatalf("%v: %d %s", args, code, said)
		}
		texts = append(texts, strings.ReplaceAll(out, `\-`, "-"))
	}
	n := 0
	for _, l := range strings.Split(cmds, "\n") {
		f := strings.Fields(l)
		if len(f) < 2 || !strings.HasPrefix(l, "  ") || strings.HasPrefix(l, "   ") {
			continue
		}
		n++
		_, of, _ := call("", f[0], "--help")
		words := []string{f[0]}
		for _, m := range helpFlag.FindAllStringSubmatch(of, -1) {
			if m[1] != "help" {
				words = append(words, m[1])
			}
		}
		for _, word := range words {
			for i, text := range texts {
				if !strings.Contains(text, word) {
					t.Errorf("text %d (bash, zsh, fish, man) does not name %s of %s", i, word, f[0])
				}
			}
		}
	}
	if n < 12 {
		t.Errorf("only %d commands found in the help", n)
	}
	for _, l := range strings.Split(texts[3], "\n") {
		if strings.HasPrefix(l, "'") || strings.HasPrefix(l, ".") && len(l) > 2 && !strings.Contains(".TH .SH .SS .TP .B .I .RI", l[:min(3, len(l))]) {
			t.Errorf("the manual has a line that is no request: %q", l)
		}
	}
}

// An error is one JSON object where machines listen, whatever went wrong.
func TestErrorsAreJSON(t *testing.T) {
	t.Setenv("HOME", t.TempDir())
	for _, args := range [][]string{
		{"nonsense", "--json"}, {"--json"}, {"today", "--json", "--data", t.TempDir()}, {"note", "--json"}, {"calc", "nothing", "--json"},
		{"whatif", "nowhere", "--json"}, {"completion", "--json"}, {"today", "--json", "--at", "noon", "--data", "testdata"}, {"serve", "--listen", "x", "--json"},
	} {
		code, out, said := call("", args...)
		if code == 0 {
			if len(args) != 1 {
				t.Errorf("%v is taken: %s", args, out)
			}
			continue
		}
		var e struct{ Error, Field, Code string }
		if err := json.Unmarshal([]byte(said), &e); code != exitBad || out != "" || err != nil || e.Error == "" || e.Field == "" || e.Code == "" {
			t.Errorf("%v: exit code %d, standard output %q, standard error %q (%v)", args, code, out, said, err)
		}
	}
}
