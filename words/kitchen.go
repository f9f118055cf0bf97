package words

import (
	"sodalake/farm/advice"
	"sodalake/science/units"
)

// bulk densities of salts as poured, level [g/L].
//
// Common practice, no source: weigh one level cup of your own; the amount in
// grams is the one to trust.
var bulk = map[string]float64{
	"NaHCO3": 1000, "KNO3": 1100, "NaNO3": 1250, "CO(NH2)2": 750, "K2HPO4": 1000, "MgSO4": 1000, "NaCl": 1200,
}

// Kitchen says an amount of a salt in level cups and spoons beside its weight:
// "about 1 1/3 US cups". The salt is the argument "salt", baking soda for
// carbon. It is empty where the amount is none of a known salt, or where the
// farm does not think in kitchen measures.
func (s *Speaker) Kitchen(a *advice.Amount, args map[string]any) string {
	if s.measures != US || a == nil || a.Unit != "g" {
		return ""
	}
	salt, _ := args["salt"].(string)
	density, ok := bulk[salt]
	if !ok {
		return ""
	}
	m, err := units.KitchenMass(a.Value, density, units.US, units.Down)
	if err != nil || m.Text == "" {
		return ""
	}
	return s.T("format.kitchen", "measure", m.Text)
}
