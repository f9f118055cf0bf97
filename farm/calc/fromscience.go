package calc

import (
	"errors"
	"strings"

	"sodalake/farm"
	"sodalake/science/medium"
	"sodalake/science/units"
)

// fromMedium turns an error of the media's science into one of the farm. A field
// that the science names is kept, below at where that is given.
func fromMedium(at string, err error) error {
	if err == nil {
		return nil
	}
	var ie *medium.InputError
	var re *medium.RefusedError
	var nr *medium.NotReachedError
	switch {
	case errors.As(err, &ie):
		field, hint := ie.Field, ie.Hint
		if card, ok := medium.NaturalFeedByName(ie.Field); ok { // nobody weighed what is in it
			hint = card.How + "; instead: " + card.Instead
		}
		if at != "" && field != at {
			field = at + "." + field
		}
		return &farm.Error{Code: farm.Invalid, Field: field, Message: ie.Reason, Hint: hint}
	case errors.As(err, &re):
		return &farm.Error{Code: farm.Invalid, Field: re.Field, Message: re.Text, Hint: re.Hint}
	case errors.As(err, &nr):
		var hints []string
		for _, s := range nr.Short {
			if len(s.Buy) > 0 {
				hints = append(hints, "for "+s.Element.String()+": "+strings.Join(s.Buy, " or "))
			}
		}
		hint := "use less of what brings it, or another recipe"
		if len(hints) > 0 {
			hint = "buy " + strings.Join(hints, "; ")
		}
		return &farm.Error{Code: farm.Invalid, Field: "shelf", Message: nr.Error(), Hint: hint}
	}
	return fromBrineAt(at, err)
}

// kitchenOf returns the household system of a choice.
func kitchenOf(measures string) units.System {
	if measures == "us" {
		return units.US
	}
	return units.Metric
}

// spoons says a mass of an ingredient by cup and spoon, rounded as r, or "".
func spoons(in *medium.Ingredient, massG float64, measures string, r units.Rounding) string {
	if in.NoSpoon || in.BulkGPerL <= 0 {
		return ""
	}
	m, err := units.KitchenMass(massG, in.BulkGPerL, kitchenOf(measures), r)
	if err != nil || m.ErrorShare > 0.2 || m.ErrorShare < -0.2 {
		return ""
	}
	return m.Text
}

// byIngredient reads a map whose keys are any word for an ingredient into one by
// its name in the table.
func byIngredient(field string, m map[string]float64, law medium.Law) (map[string]float64, error) {
	out := map[string]float64{}
	for _, k := range sortedKeys(m) {
		in, err := medium.Lookup(k, law)
		if err != nil {
			return nil, fromMedium(field, err)
		}
		if _, twice := out[in.ID]; twice {
			return nil, invalid(field+"."+k, "", "%s names %s twice", field, in.Kitchen)
		}
		out[in.ID] = m[k]
	}
	return out, nil
}

// recipeNames are the names of the published recipes.
func recipeNames() string {
	var names []string
	for _, r := range medium.Recipes() {
		names = append(names, r.Name)
	}
	return strings.Join(names, ", ")
}

// baseOf returns the mix of a recipe or of salts in grams a litre, as the basis
// of a calculation on a vessel that was filled with it, and a word for it.
func baseOf(recipe string, salts map[string]float64, law medium.Law) (medium.Mix, string, error) {
	switch {
	case recipe != "" && salts != nil:
		return medium.Mix{}, "", invalid("recipe", "say one of them", "recipe and salts_g_per_l are both given")
	case salts != nil:
		m, err := medium.NewMix(salts, law)
		m.Pure()
		return m, "the salts given, in a litre of medium", fromMedium("salts_g_per_l", err)
	case recipe == "":
		recipe = "bicarbonate-farm"
	}
	r, ok := medium.Find(recipe)
	if !ok {
		return medium.Mix{}, "", invalid("recipe", "known are "+recipeNames(), "recipe %q is not known", recipe)
	}
	m, err := medium.NewMix(r.SaltsGPerL, law)
	m.Pure()
	return m, "mixed as " + r.Title, fromMedium("recipe", err)
}
