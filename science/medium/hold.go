package medium

import (
	"sodalake/science/brine"
	"sodalake/science/growth"
)

// Hold is what a gram of growth must be given so that the pH stays.
type Hold struct {
	SodaGG   float64 // baking soda for a gram of dry matter [g/g]
	CO2GG    float64 // carbon dioxide that dissolves, for a gram of dry matter [g/g]
	SodiumGG float64 // sodium that the soda leaves [g/g]
	Ratio    float64 // carbon over alkalinity at that pH [1]
}

// CarbonToHold returns what holds a water of totals t [mol/kg water] at a pH ph
// at 25 °C [1] while cells of composition c grow on nitrate or on urea, without
// help from the air:
//
//	m = (C + r a)/(1 − r) as bicarbonate,  m = C + r a as carbon dioxide
//
// where r is carbon over alkalinity at that pH, C the carbon of a gram of cells
// and a what it adds to the alkalinity.
//
// Source: balance of carbon and alkalinity; a in the explicit conservative form,
// wolfgladrow2007. Ashes and losses are not in it.
func CarbonToHold(s *brine.Solver, t *brine.Totals, ph float64, c growth.Composition, nitrate bool) (Hold, error) {
	var h Hold
	var w brine.Water
	at := *t
	if err := s.HoldPH(&at, 25, ph, brine.ByCO2, &w); err != nil {
		return h, err
	}
	alk := at.AlkalinityEqKg()
	if alk <= 0 {
		return h, wrong("ph", "", "ph %.4g cannot be held in water without alkalinity", ph)
	}
	h.Ratio = at[brine.DIC] / alk
	sign := 0.0
	if nitrate {
		sign = 1
	}
	need := c.C + h.Ratio*c.Alkalinity(sign) // [mol/g]
	if !nitrate {
		need -= c.N / 2 // urea brings half a carbon for each nitrogen
	}
	h.CO2GG = need * co2Mol
	if h.Ratio >= 1 {
		h.SodaGG, h.SodiumGG = nan, nan
		return h, nil
	}
	soda := need / (1 - h.Ratio)
	h.SodaGG, h.SodiumGG = soda*84.007, soda*Sodium.MolarMass()
	return h, nil
}
