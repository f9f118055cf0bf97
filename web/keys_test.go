package web_test

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/twin"
	"sodalake/words"
)

var (
	inTemplate = regexp.MustCompile(`\.T "([a-z0-9_.-]+)"`)
	// Labels of the bench's fields are handed on as keys.
	handed = regexp.MustCompile(`"((?:mix|shelf|why|hold|water|wrong|apart)\.[a-z0-9_]+)"`)
	inGo   = regexp.MustCompile(`\b(?:w|word|sp|frame\.W|p\.W|t|s\.speaker\(r\))(?:\.T)?\("([a-z_-]+\.[a-z0-9_.-]+)"`)
)

// checkKeys fails for each key that a template or a handler names and that the
// English catalogue lacks.
func checkKeys(t *testing.T, dir string) {
	t.Helper()
	count := 0
	err := filepath.Walk(dir, func(path string, info os.FileInfo, err error) error {
		if err != nil || info.IsDir() {
			return err
		}
		pattern := inGo
		switch {
		case strings.HasSuffix(path, ".html"):
			pattern = inTemplate
		case !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go"):
			return nil
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		found := pattern.FindAllSubmatch(b, -1)
		if pattern == inGo {
			found = append(found, handed.FindAllSubmatch(b, -1)...)
		}
		for _, m := range found {
			key := string(m[1])
			if strings.HasSuffix(key, ".") || strings.HasSuffix(key, "_") || strings.HasSuffix(key, ".css") || strings.HasSuffix(key, ".js") {
				continue // the rest is made at run time, see below
			}
			count++
			if !words.Has(key) {
				t.Errorf("%s names %q, which the catalogue lacks", path, key)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if count < 150 {
		t.Fatalf("only %d keys found: the pattern no longer fits the source", count)
	}
	// Keys that are made of two parts.
	for _, k := range farm.Kinds() {
		need(t, "kind."+k.Name)
	}
	for _, k := range farm.ShapeKinds {
		need(t, "shape."+k.Kind)
		for _, dims := range [][]string{k.Need, k.May} {
			for _, d := range dims {
				if d != "points" {
					need(t, "dim."+d)
				}
			}
		}
	}
	for prefix, list := range map[string][]string{
		"placed.": farm.Places, "use.": farm.Uses, "covered.": farm.CoverKinds, "vent.": farm.VentStates, "stirred.": farm.StirringKinds,
		"lit.": farm.Lits, "role.": farm.Roles, "make.": farm.InstrumentMakes, "setup.": {"metric", "us"},
		"when.":       {"now", "today", "soon", "stop", "hold", "doubt", "wait"},
		"confidence.": {"sure", "fairly-sure", "thin"}, "sky.": {"bright", "hazy", "grey", "unknown"},
		"language.": words.Languages(),
		"tab.":      {"today", "vessels", "note", "mix", "shelf", "calculators", "why", "farm", "records"},
		"mix.mode.": {"medium", "top", "feed", "ph"}, "mix.by_": {"wait", "bicarbonate", "soda_ash", "co2", "caustic"},
		"mix.record_": {"mixed", "topped_up", "fed", "dosed"}, "mix.spoons_": {"us", "metric"}, "shelf.cup_": {"us", "metric"},
		"mix.method_": {"recipe", "closest", "cheapest", "fewest"}, "mix.law_": {"us", "ca", "eu", "uk", "au"}, "mix.read_with_": {"yes", "no"},
		"mix.water_": {"first", "fill"}, "mix.stands_": {"indoors", "outdoors"}, "grade.": farm.Grades, "origin.": farm.WaterOrigins,
		"climate.": {"t_min_c", "t_max_c", "rh_pct", "wind_m_s", "rain_mm", "rain_days", "ghi_mj_m2_d"},
		"trouble.": {"title", "caption", "collapsed", "at_bound", "misfit", "idle"}, "limit.": {"light", "temperature", "damage", "carbon", "ammonia", "oxygen", "salt", "nutrients", "nitrogen", "phosphorus", "potassium", "magnesium", "sulfur", "iron"},
		"quantity.": {"secchi", "optical_density", "dry_weight", "ph", "temperature", "level", "conductivity"},
		"instruments.": {"result_good", "result_adjusted", "was_good", "was_adjusted", "was_failed", "electrode_good", "electrode_worn", "electrode_failing",
			"disc_none", "disc_own", "disc_says", "disc_axis", "photometer_none", "photometer_own", "photometer_says", "photometer_axis", "unit_disc_g_cm_per_l", "unit_dry_g_per_l"},
		"climate.sun_":  {"mj", "kwh", "hours", "hours_month"},
		"apart.reason.": farm.HoldReasons, "apart.care_": {"1", "2", "3", "4"}, "wrong.eat_": {string(diagnose.EatNo), string(diagnose.EatNotShown)},
		"hold.food_":   {string(medium.FoodGrade), string(medium.Certificate), string(medium.NotFood)},
		"shelf.group_": {"soda", "salt", "nitrogen", "phosphate", "magnesium", "iron", "trace", "calcium", "dechlorinate"},
	} {
		for _, name := range list {
			need(t, prefix+name)
		}
	}
	for v := range twin.NumVars {
		need(t, "variable."+v.String())
	}
	for m := range brine.NMinerals {
		need(t, "mineral."+brine.Mineral(m).String())
	}
	for _, c := range medium.Ceilings(medium.Amounts{}, growth.DefaultComposition()) {
		need(t, "element."+c.Element.String())
	}
}

func need(t *testing.T, key string) {
	t.Helper()
	if !words.Has(key) {
		t.Errorf("the catalogue lacks %q", key)
	}
}
