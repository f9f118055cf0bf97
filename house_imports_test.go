package sodalake_test

import (
	"strings"
)

// floors are the packages from the ground up. A package imports lower floors
// only. Packages of one group, written with a trailing slash, may import each
// other.
var floors = []struct {
	floor int
	path  string // a package, or with a slash at its end a folder and all below it
	noun  string
}{
	{0, "science/num", "small numerical tools"},
	{0, "science/units", "what people say"},
	{0, "science/air", "moist air"},
	{0, "science/optics", "light in and on water"},
	{0, "science/formula", "chemical formulas"},

	{1, "science/brine", "water chemistry"},
	{1, "science/sky", "sun and weather"},
	{1, "science/vessel", "bodies of water in a place"},
	{1, "science/growth", "the organism"},
	{1, "science/process", "cloth to jar"},
	{1, "science/assay", "counting and gels"},
	{1, "science/power", "panel, battery, pump"},

	{2, "science/medium", "recipes"},
	{2, "science/pond", "the laws coupled"},

	{3, "science/twin", "estimates from readings"},
	{3, "science/plan", "what to do over a horizon"},

	{10, "farm", "the words of a farm"},
	{11, "farm/photo", "photos as they are kept"},
	{11, "farm/model", "a described vessel made ready to step"},
	{12, "farm/lot", "harvest lots"},
	{12, "farm/advice", "the day list"},
	{12, "farm/diagnose", "what may be behind a culture that looks wrong"},
	{12, "farm/calc", "calculators"},
	{12, "farm/scenario", "what-if files"},

	{13, "farm/design", "ponds before they are built"},
	{13, "farm/energy", "panel, battery and pump at a place"},
	{13, "words/", "what is said to people"},
	{13, "demo/", "the invented farm"},
	{14, "keeper/", "keeps the farm going"},
	{14, "store/", "where the journal is kept"},
	{14, "ingest/", "outside rows into entries"},
	{14, "document/", "labels, sheets, reports"},
	{15, "web/", "pages and the API"},
	{16, "cmd/", "the program"},

	{-1, "housetest", "what tests share"},
}

// notAllowed are imports that the floors would allow.
var notAllowed = []struct{ from, to, why string }{
	{"keeper/", "words/", "the keeper speaks in keys; words are put at the edge"},
	{"store/", "words/", "a store keeps bytes and says nothing"},
	{"ingest/", "words/", "entries carry no sentences"},
}

// place finds the floor and the group of a package.
func place(path string) (floor int, group string, known bool) {
	for _, f := range floors {
		if covers(f.path, path) {
			return f.floor, f.path, true
		}
	}
	return 0, "", false
}

// covers reports whether path is pattern, or lies below it where it ends in a
// slash.
func covers(pattern, path string) bool {
	folder, below := strings.CutSuffix(pattern, "/")
	return path == folder || below && strings.HasPrefix(path, pattern)
}

func checkFloors(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if p.path == "." || len(p.GoFiles) == 0 {
			continue
		}
		floor, group, known := place(p.path)
		if !known {
			report(p.String(), "has no floor: give it one in house_imports_test.go")
			continue
		}
		for _, i := range p.Imports {
			to := h.own(i)
			if to == "" {
				continue
			}
			f, g, known := place(to)
			switch {
			case !known: // reported where it is a package of its own
			case g == group && strings.HasSuffix(g, "/"):
			case f >= floor:
				report(p.String(), "imports "+to+", which does not stand on a lower floor")
			}
			for _, n := range notAllowed {
				if covers(n.from, p.path) && covers(n.to, to) {
					report(p.String(), "imports "+to+": "+n.why)
				}
			}
		}
	}
}

// banned are standard packages that science does not import. A slash at the
// end bans all below too.
var banned = map[string]string{
	"os/":           "files and processes",
	"net/":          "network",
	"log/":          "logs",
	"database/":     "databases",
	"io/ioutil":     "files",
	"math/rand":     "a hidden global source: take a *rand.Rand of math/rand/v2",
	"crypto/rand":   "randomness that cannot be repeated",
	"testing/":      "tests",
	"html/":         "pages",
	"text/template": "sentences are put at the edge",
	"flag":          "settings",
	"unsafe":        "no law needs it",
	"plugin":        "no law needs it",
	"syscall":       "no law needs it",
}

func checkScienceStd(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if !p.inScience() {
			continue
		}
		for _, i := range p.Imports {
			for b, why := range banned {
				if covers(b, i) {
					report(p.String(), "imports "+i+": "+why)
				}
			}
		}
	}
}

func checkScienceModules(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if !p.inScience() {
			continue
		}
		for _, i := range p.Imports {
			first, _, _ := strings.Cut(i, "/")
			outside := strings.Contains(first, ".")
			if outside && !strings.HasPrefix(i, "gonum.org/v1/gonum/") {
				report(p.String(), "imports "+i)
			}
		}
	}
}

// testOnly are packages that only tests import.
var testOnly = []string{"housetest", "store/storetest"}

func checkTestOnly(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		for _, i := range p.Imports {
			for _, o := range testOnly {
				if h.own(i) == o {
					report(p.String(), "imports "+o+" outside its tests")
				}
			}
		}
	}
}

func checkPackageDoc(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		if len(p.GoFiles) == 0 {
			continue
		}
		start := "Package " + p.Name + " "
		if p.Name == "main" {
			start = "Command "
		}
		if !strings.HasPrefix(p.Doc, start) {
			report(p.String(), "has no doc that begins with "+start)
		}
	}
}

func checkNames(h *house, report func(where, what string)) {
	for _, p := range h.pkgs {
		for _, part := range strings.Split(p.path, "/") {
			switch part {
			case "util", "utils", "common", "helper", "helpers", "misc", "base", "shared":
				report(p.String(), part+" says nothing of what is in it")
			}
		}
	}
}

func checkFileLength(h *house, report func(where, what string)) {
	for _, f := range h.files {
		if strings.HasSuffix(f, ".go") && !strings.Contains(f, "testdata/") {
			if n := strings.Count(h.read(f), "\n"); n > 500 {
				report(f, "has more than 500 lines")
			}
		}
	}
}

func checkReplace(h *house, report func(where, what string)) {
	for _, f := range h.files {
		if !strings.HasSuffix(f, "go.mod") || strings.Contains(f, "testdata/") {
			continue
		}
		inBlock := false
		for _, line := range strings.Split(h.read(f), "\n") {
			fields := strings.Fields(line)
			switch {
			case len(fields) == 0:
			case fields[0] == "replace":
				report(f, "has a replace")
				inBlock = len(fields) > 1 && fields[1] == "("
			case inBlock && fields[0] == ")":
				inBlock = false
			}
		}
	}
}

// checkThirdParty wants each module of go.mod named in the notice.
func checkThirdParty(h *house, report func(where, what string)) {
	notice := h.read("docs/third-party.md")
	inBlock := false
	for _, line := range strings.Split(h.read("go.mod"), "\n") {
		fields := strings.Fields(line)
		if len(fields) == 0 {
			continue
		}
		switch {
		case fields[0] == "require" && len(fields) > 1 && fields[1] == "(":
			inBlock = true
			continue
		case fields[0] == ")":
			inBlock = false
			continue
		case fields[0] == "require":
			fields = fields[1:]
		case !inBlock:
			continue
		}
		if !strings.Contains(notice, "`"+fields[0]+"`") {
			report("docs/third-party.md", "does not name "+fields[0])
		}
	}
}
