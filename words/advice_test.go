package words

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"sodalake/farm"
)

var (
	literal = regexp.MustCompile(`"((?:reason|more|caution|state|coming|light|weather|hold|change|doubt|lots)\.[a-z0-9_.-]+)"`)
	acts    = regexp.MustCompile(`(?:newItem\([^,]+, |act = |act, body, kind (?::)?= |it\.Act = |\tact := )"([a-z_]+)"`)
)

// Every key that the day list and the keeper write down must be in the
// catalogue: a missing one would be shown as its own last words. The keys are
// read from the source, so that none can be added and forgotten.
func TestEveryKeyInUse(t *testing.T) {
	found := 0
	for _, dir := range []string{"../farm", "../farm/advice", "../keeper", "../farm/lot"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range literal.FindAllSubmatch(b, -1) {
				key := string(m[1])
				if strings.HasSuffix(key, ".") {
					continue // completed at run time: see below
				}
				found++
				if !Has(key) {
					t.Errorf("%s writes %q, which the catalogue lacks", file, key)
				}
			}
			if !strings.HasSuffix(dir, "advice") {
				continue
			}
			for _, m := range acts.FindAllSubmatch(b, -1) {
				found++
				if key := "item." + string(m[1]); !Has(key) {
					t.Errorf("%s has the act %q, which has no title in the catalogue", file, m[1])
				}
			}
		}
	}
	if found < 50 {
		t.Fatalf("only %d keys found: the pattern no longer fits the source", found)
	}
	for _, kind := range []string{"secchi", "ph", "temperature", "level", "conductivity", "optical_density", "dry_weight", "reading"} {
		if !Has("reason.doubt." + kind) {
			t.Errorf("no sentence for a doubted %s", kind)
		}
	}
	for _, key := range []string{"light", "temperature", "carbon", "nutrients", "nitrogen", "phosphorus", "iron", "salt", "oxygen", "ammonia", "damage", "magnesium", "potassium", "sulfur", "other"} {
		if !Has("limit." + key) {
			t.Errorf("no word for the limit %s", key)
		}
	}
	for _, key := range []string{"person", "quarantine", "foreign", "smell", "event"} {
		if !Has("hold." + key) {
			t.Errorf("no words for a hold of kind %s", key)
		}
	}
	for _, key := range []string{"empty", "held", "ammonia", "hot", "carbon_short", "cold", "reserve", "ready", "dilute", "growing"} {
		if !Has("state." + key) {
			t.Errorf("no sentence for the state %s", key)
		}
	}
	for _, k := range farm.Kinds() {
		if !Has("kind." + k.Name) {
			t.Errorf("kind %s has no name in the catalogue", k.Name)
		}
	}
}
