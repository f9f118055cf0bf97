package medium

import (
	_ "embed"
	"encoding/json"
	"sort"
	"strings"

	"sodalake/science/formula"
)

// Recipe is a medium by what is weighed in.
type Recipe struct {
	Name         string             `json:"name"`                         // as typed
	Title        string             `json:"title"`                        // as shown
	SaltsGPerL   map[string]float64 `json:"salts_g_per_l"`                // formula to grams per litre of finished medium [g/L]
	WeighedGPerL map[string]float64 `json:"as_weighed_g_per_l,omitempty"` // the same where a fertiliser is weighed in place of its salts [g/L]
	TracesMLPerL map[string]float64 `json:"traces_ml_per_l,omitempty"`    // trace solutions by name, optional [mL/L]
	Suits        string             `json:"suits"`                        // what it is for
	Notes        []string           `json:"notes,omitempty"`              // what to know of it
	Source       string             `json:"source"`                       // where the figures come from
}

// Weighed returns what is weighed in by salt or fertiliser [g/L]; the map is
// the caller's.
func (r *Recipe) Weighed() map[string]float64 {
	from := r.SaltsGPerL
	if r.WeighedGPerL != nil {
		from = r.WeighedGPerL
	}
	out := make(map[string]float64, len(from))
	for k, v := range from {
		out[k] = v
	}
	return out
}

//go:embed recipes.json
var recipesJSON []byte

var recipes = mustRead[Recipe]("recipes.json", recipesJSON)

func mustRead[T any](name string, raw []byte) []T {
	var out []T
	if err := json.Unmarshal(raw, &out); err != nil {
		panic("medium: " + name + " cannot be read: " + err.Error())
	}
	return out
}

// Recipes returns the published recipes that the program carries.
func Recipes() []Recipe { return append([]Recipe(nil), recipes...) }

// Find returns the recipe of that name; case and spaces do not matter.
func Find(name string) (Recipe, bool) {
	want := strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), " ", "-"))
	for _, r := range recipes {
		if r.Name == want {
			return r, true
		}
	}
	return Recipe{}, false
}

// TraceMix is a stock solution of trace elements.
type TraceMix struct {
	Name   string             `json:"name"`
	Title  string             `json:"title"`
	GPerL  map[string]float64 `json:"g_per_l"`       // salts in a litre of the stock [g/L]
	DoseML float64            `json:"dose_ml_per_l"` // of the stock to a litre of medium [mL/L]
	Food   Food               `json:"food"`
	Note   string             `json:"note"`
	Source string             `json:"source"`
}

//go:embed traces.json
var tracesJSON []byte

var traceMixes = mustRead[TraceMix]("traces.json", tracesJSON)

// TraceMixes returns the trace solutions that the program knows.
func TraceMixes() []TraceMix { return append([]TraceMix(nil), traceMixes...) }

// TraceMixByName returns the trace solution of that name, and whether there is
// one.
func TraceMixByName(name string) (TraceMix, bool) {
	want := strings.ToLower(strings.TrimSpace(name))
	for _, t := range traceMixes {
		if t.Name == want {
			return t, true
		}
	}
	return TraceMix{}, false
}

// UGPerL returns what a dose of the stock brings into a litre of medium, by
// symbol of every element but oxygen, hydrogen, sulfur, nitrogen, chlorine,
// sodium and potassium [µg/L], where mlPerL is the dose [mL/L].
//
// Source: ciaaw2024 for the weights.
func (t *TraceMix) UGPerL(mlPerL float64) map[string]float64 {
	out := map[string]float64{}
	for salt, g := range t.GPerL {
		c, err := formula.Parse(salt)
		if err != nil {
			continue
		}
		mass := c.MolarMass()
		for el, n := range c {
			if strings.Contains(" O H S N Cl Na K ", " "+el+" ") {
				continue
			}
			w, _ := formula.AtomicWeight(el)
			out[el] += mlPerL * g * n * w / mass * 1000 // g/L of stock is mg/mL
		}
	}
	return out
}

// sortedKeys are the keys of a map, so that sums are the same every time.
func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
