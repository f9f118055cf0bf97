// Package sodalake_test checks the rules of the house on its own source: who
// may import whom, what science may not touch, that numbers name their unit.
// Each rule stands in one table with its reason, and each has a bad example
// under testdata/house that it must catch.
package sodalake_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

// rule is one rule of the house.
type rule struct {
	name  string
	why   string
	check func(h *house, report func(where, what string))
}

var rules = []rule{
	{"floors", "imports point down, so that a law can be read and tested without what stands on it", checkFloors},
	{"science-std", "science is numbers in, numbers out: no files, network, logs, databases or hidden randomness", checkScienceStd},
	{"science-modules", "what a law needs from outside is mathematics", checkScienceModules},
	{"clock", "time and randomness come in as arguments, so that a day can be run again", checkClock},
	{"global-state", "two twins on two cores share nothing that changes", checkGlobalState},
	{"package-doc", "one package, one noun, one paragraph that says so", checkPackageDoc},
	{"unit-of-parameter", "a number without its unit is a mistake that waits", checkParameterUnits},
	{"unit-of-result", "a number without its unit is a mistake that waits", checkResultUnits},
	{"unit-of-field", "a number without its unit is a mistake that waits", checkFieldUnits},
	{"file-length", "a file of 500 lines holds more than one thing", checkFileLength},
	{"names", "a package named for nothing collects everything", checkNames},
	{"replace", "what is built here is what others fetch", checkReplace},
	{"third-party", "whose work is inside is said, with its licence", checkThirdParty},
	{"sources", "a source is a paper or a standard that a reader can find", checkSources},
	{"source-keys", "a key without its paper leads nowhere", checkSourceKeys},
	{"skips", "a suite that passed has run: what may be missing at a desk can be demanded", checkSkips},
	{"test-only", "the program does not carry its tests", checkTestOnly},
}

func TestHouse(t *testing.T) {
	h := load(t, ".")
	if len(h.pkgs) < 3 {
		t.Fatalf("only %d packages were found", len(h.pkgs))
	}
	for _, r := range rules {
		t.Run(r.name, func(t *testing.T) {
			found := h.findings(r)
			for _, f := range found {
				t.Error(f)
			}
			if len(found) > 0 {
				t.Logf("the rule's reason: %s", r.why)
			}
		})
	}
}

// Every bad example is caught by its rule and by no other, every rule has one,
// and the good example is left in peace. A line of the comment on top of an
// archive says what must be found: "want RULE: part of the finding".
func TestHouseCatches(t *testing.T) {
	files, err := filepath.Glob("testdata/house/*.txtar")
	if err != nil || len(files) == 0 {
		t.Fatalf("no bad examples: %v", err)
	}
	shown := map[string]bool{}
	for _, file := range files {
		a, err := txtar.ParseFile(file)
		if err != nil {
			t.Fatal(err)
		}
		want := map[string][]string{}
		for _, line := range strings.Split(string(a.Comment), "\n") {
			if w, ok := strings.CutPrefix(line, "want "); ok {
				name, part, _ := strings.Cut(w, ": ")
				want[name] = append(want[name], part)
				shown[name] = true
			}
		}
		t.Run(strings.TrimSuffix(filepath.Base(file), ".txtar"), func(t *testing.T) {
			dir := t.TempDir()
			for _, f := range a.Files {
				path := filepath.Join(dir, filepath.FromSlash(f.Name))
				if err := os.MkdirAll(filepath.Dir(path), 0o777); err != nil {
					t.Fatal(err)
				}
				// "~" stands for what this repository itself must not contain.
				if err := os.WriteFile(path, bytes.ReplaceAll(f.Data, []byte("~"), nil), 0o666); err != nil {
					t.Fatal(err)
				}
			}
			h := load(t, dir)
			for _, r := range rules {
				found := h.findings(r)
				for _, part := range want[r.name] {
					n := 0
					for _, f := range found {
						if strings.Contains(f.where+": "+f.what, part) {
							n++
						}
					}
					if n != 1 {
						t.Errorf("%s: %d findings say %q, want one of %v", r.name, n, part, found)
					}
				}
				if len(found) != len(want[r.name]) {
					t.Errorf("%s: %d findings, want %d: %v", r.name, len(found), len(want[r.name]), found)
				}
			}
		})
	}
	for _, r := range rules {
		if !shown[r.name] {
			t.Errorf("no bad example shows that the rule %s catches anything", r.name)
		}
	}
}

type finding struct{ where, what string }

func (f finding) String() string { return f.where + ": " + f.what }

// pack is what the go command tells of a package.
type pack struct {
	ImportPath, Dir, Name, Doc         string
	GoFiles, TestGoFiles, XTestGoFiles []string
	Imports                            []string
	Module                             *struct{ Path string }
	path                               string // below the module: "science/air"; "." for the root
}

// house is a module that is looked at.
type house struct {
	dir    string
	module string
	pkgs   []*pack
	files  []string // all files that belong to it, below dir
	parsed map[*pack]*source
}

func (h *house) findings(r rule) []finding {
	var out []finding
	r.check(h, func(where, what string) { out = append(out, finding{where, what}) })
	sort.Slice(out, func(i, j int) bool { return out[i].String() < out[j].String() })
	return out
}

// load asks the go command for the packages of the module in dir.
func load(t *testing.T, dir string) *house {
	t.Helper()
	h := &house{dir: dir}
	cmd := exec.Command("go", "list", "-e", "-json=ImportPath,Dir,Name,Doc,GoFiles,TestGoFiles,XTestGoFiles,Imports,Module", "./...")
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "GOPROXY=off", "GOWORK=off")
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("go list: %v\n%s", err, &stderr)
	}
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		p := new(pack)
		if err := d.Decode(p); err == io.EOF {
			break
		} else if err != nil {
			t.Fatal(err)
		}
		if p.Module != nil {
			h.module = p.Module.Path
		}
		h.pkgs = append(h.pkgs, p)
	}
	for _, p := range h.pkgs {
		p.path = strings.TrimPrefix(strings.TrimPrefix(p.ImportPath, h.module), "/")
		if p.path == "" {
			p.path = "."
		}
	}
	h.files = walk(t, dir)
	return h
}

// walk lists the files of the repository, as git would keep them.
func walk(t *testing.T, dir string) []string {
	t.Helper()
	left := map[string]bool{".git": true, "bin": true, "dist": true, "gallery": true, "node_modules": true}
	var files []string
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			if left[d.Name()] && filepath.Dir(rel) == "." {
				return filepath.SkipDir
			}
			return nil
		}
		files = append(files, filepath.ToSlash(rel))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// read returns a file of the house.
func (h *house) read(rel string) string {
	b, err := os.ReadFile(filepath.Join(h.dir, filepath.FromSlash(rel)))
	if err != nil {
		return ""
	}
	return string(b)
}

// own returns the path below the module of an import, or "" for others'.
func (h *house) own(imported string) string {
	if p, ok := strings.CutPrefix(imported, h.module+"/"); ok {
		return p
	}
	return ""
}

// inScience reports whether a package is one of the laws.
func (p *pack) inScience() bool { return p.path == "science" || strings.HasPrefix(p.path, "science/") }

func (p *pack) String() string { return fmt.Sprintf("package %s", p.path) }
