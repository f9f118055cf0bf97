package sodalake_test

import (
	"regexp"
	"sort"
	"strings"
)

// private are names of working papers that no reader outside can open. They
// are cut in two so that this file does not name them either.
var private = []string{
	"/work/" + "shared", "refer" + "ence/biology", "refer" + "ence/chemistry", "refer" + "ence/growth", "refer" + "ence/solar",
	"refer" + "ence/expert", "refer" + "ence/glossary", "refer" + "ence/pitzer", "refer" + "ence/postharvest", "refer" + "ence/psychro", "refer" + "ence/evapo", "refer" + "ence/growers",
	"expert" + "-notes", "growth" + "-fit.md", "growth" + "-fit section", "solar" + "-thermal.md", "growers" + "-ask", "pitzer" + ".json",
	"solar" + "-points.json", "psychro" + "metrics.json", "evaporation" + "-examples.json",
}

func checkSources(h *house, report func(where, what string)) {
	for _, f := range h.files {
		text := h.read(f)
		if strings.ContainsRune(text, 0) {
			continue // not text
		}
		for _, p := range private {
			if strings.Contains(text, p) {
				report(f, "names "+p+", which no reader can open: cite the paper or the standard")
			}
		}
	}
}

// sourceKey is a key into docs/sources.md: a name and a year, "weiss1974".
var sourceKey = regexp.MustCompile(`(^|[^\pL\pN/_.-])([a-z]{2,}(?:19|20)[0-9]{2}[a-z]?)($|[^\pL\pN/_-])`)

const sourceList = "docs/sources.md"

// checkSourceKeys wants every key that a comment of science or farm cites in
// the list of sources. Until there is a list it finds nothing.
func checkSourceKeys(h *house, report func(where, what string)) {
	list := h.read(sourceList)
	if list == "" {
		return
	}
	cited := map[string]string{}
	for _, p := range h.pkgs {
		if !p.inScience() && p.path != "farm" && !strings.HasPrefix(p.path, "farm/") {
			continue
		}
		s := h.source(p)
		for _, f := range s.files {
			for _, group := range f.Comments {
				for _, m := range sourceKey.FindAllStringSubmatch(group.Text(), -1) {
					if _, known := cited[m[2]]; !known {
						cited[m[2]] = s.at(group)
					}
				}
			}
		}
	}
	keys := make([]string, 0, len(cited))
	for k := range cited {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if !regexp.MustCompile(`\b` + k + `\b`).MatchString(list) {
			report(cited[k], "cites "+k+", which is not in "+sourceList)
		}
	}
}
