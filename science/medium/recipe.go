package medium

import (
	_ "embed"
	"encoding/json"
	"strings"
)

// Recipe is a medium by what is weighed in.
type Recipe struct {
	Name       string             `json:"name"`          // as typed
	Title      string             `json:"title"`         // as shown
	SaltsGPerL map[string]float64 `json:"salts_g_per_l"` // formula to grams per litre of finished medium [g/L]
	Source     string             `json:"source"`        // where the figures come from
}

//go:embed recipes.json
var recipesJSON []byte

var recipes = mustRecipes(recipesJSON)

func mustRecipes(raw []byte) []Recipe {
	var out []Recipe
	if err := json.Unmarshal(raw, &out); err != nil {
		panic("medium: recipes.json cannot be read: " + err.Error())
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
