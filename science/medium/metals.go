package medium

import (
	"sort"

	"sodalake/science/formula"
)

// Grade is how pure an ingredient is promised to be, as far as metals go.
type Grade string

// The grades whose limits are known.
const (
	GradeFood       Grade = "food"       // food additive
	GradeFertiliser Grade = "fertiliser" // inorganic fertiliser
)

// metal limits of the grades, for each kilogram of ingredient [mg/kg].
//
// Source: eu2012a for food additives (E 500 and like: As 3, Pb 2, Hg 1;
// phosphates with Cd 1), eu2019a annex I, PFC 1(C)(I), for fertilisers; both
// from memory.
var gradeLimits = map[Grade]map[string]float64{
	GradeFood:       {"As": 3, "Pb": 2, "Hg": 1, "Cd": 1},
	GradeFertiliser: {"As": 40, "Pb": 120, "Hg": 1, "Cd": 3, "Ni": 100, "Cr": 2},
}

// CdPerP2O5 is the cadmium that law allows in phosphate fertiliser, for each
// kilogram of P2O5 [mg/kg].
//
// Source: eu2019a annex I (from memory).
const CdPerP2O5 = 60.0

// ProductLimits are limits of a food supplement [mg/kg] as sold: Pb 3.0, Cd 1.0,
// Hg 0.10, and 0.5 for arsenic, which is what traders of such powders agree on
// and no law.
//
// Source: eu2023 for lead, cadmium and mercury, through a national annex;
// arsenic: trade specifications.
func ProductLimits() map[string]float64 {
	return map[string]float64{"Pb": 3.0, "Cd": 1.0, "Hg": 0.10, "As": 0.5}
}

// Fed is what of an ingredient goes in for each kilogram of dry product.
type Fed struct {
	Of        *Ingredient
	GPerKg    float64            // for a kilogram of dry product [g/kg]
	Grade     Grade              // by whose limits it is judged where no content is known
	MgPerKg   map[string]float64 // its own metals by certificate, by symbol [mg/kg]
	CdPerP2O5 float64            // of a phosphate, by certificate, for a kilogram of P2O5 [mg/kg]; 0 is the law's limit
}

// WorstMetals returns the metals that a kilogram of dry product could hold
// [mg/kg], if everything went into it that the feed is allowed to hold or the
// water brings: waterUGL is the content of the water by symbol [µg/L], and
// waterLPerKg the water that evaporates or is renewed for a kilogram of product
// [L/kg]. What is in fact taken up is less, for most metals much less.
func WorstMetals(fed []Fed, waterUGL map[string]float64, waterLPerKg float64) map[string]float64 {
	out := map[string]float64{}
	for i := range fed {
		f := &fed[i]
		kg := f.GPerKg / 1000
		content := map[string]float64{}
		for sym, x := range gradeLimits[f.Grade] {
			content[sym] = x
		}
		if p2o5 := f.Of.p2o5(); p2o5 > 0 && (f.Grade == GradeFertiliser && p2o5 >= 0.05 || f.CdPerP2O5 > 0) {
			limit := CdPerP2O5
			if f.CdPerP2O5 > 0 {
				limit = f.CdPerP2O5
			}
			content["Cd"] = limit * p2o5
		}
		for sym, x := range f.MgPerKg {
			content[sym] = x
		}
		for sym, x := range content {
			out[sym] += kg * x
		}
	}
	for sym, x := range waterUGL {
		out[sym] += x / 1000 * waterLPerKg
	}
	return out
}

// p2o5 is the share of an ingredient that its phosphorus is as P2O5 [1].
func (i *Ingredient) p2o5() float64 {
	if i.Label != nil {
		return i.Label.P / pInP2O5
	}
	c, err := formula.Parse(i.Formula)
	if err != nil {
		return 0
	}
	return i.Purity * c["P"] * 30.974 / c.MolarMass() / pInP2O5
}

// Over returns the symbols of the metals that pass their limits [mg/kg], sorted:
// content [mg/kg] against limit [mg/kg].
func Over(content, limit map[string]float64) []string {
	var out []string
	for sym, most := range limit {
		if content[sym] > most {
			out = append(out, sym)
		}
	}
	sort.Strings(out)
	return out
}
