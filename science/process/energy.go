package process

import "math"

// Convention is a way to work out the energy of food for a label.
type Convention string

// The conventions. They differ by a third for the same powder and are never
// turned into one another: a figure of 290 kcal is not made into kilojoules.
const (
	EU       Convention = "eu"       // 17/17/37/8 kJ and 4/4/9/2 kcal a gram, carbohydrate without fibre
	US       Convention = "us"       // 4-4-9 kcal a gram, carbohydrate with fibre
	Specific Convention = "specific" // 2.44/3.57/8.37 kcal a gram, factors for algae of the US tables
)

// Macros is what energy is worked out from, in grams.
type Macros struct {
	ProteinG      float64 // [g]
	FatG          float64 // [g]
	CarbohydrateG float64 // by difference, fibre in it [g]
	FibreG        float64 // [g]
}

// Energy returns the energy of m by a convention [kJ] and [kcal]: kj is it in
// kilojoules [kJ], NaN where the convention has none, kcal in kilocalories
// [kcal].
//
// Source: eu1169, annex XIV; cfr1019, (c)(1)(i)(B) for 4-4-9; usdasr28 for the
// specific factors, which reproduce its 290 kcal.
func Energy(m Macros, by Convention) (kj, kcal float64) {
	switch by {
	case EU:
		available := m.CarbohydrateG - m.FibreG
		return 17*(m.ProteinG+available) + 37*m.FatG + 8*m.FibreG, 4*(m.ProteinG+available) + 9*m.FatG + 2*m.FibreG
	case US:
		return math.NaN(), 4*(m.ProteinG+m.CarbohydrateG) + 9*m.FatG
	case Specific:
		return math.NaN(), 2.44*m.ProteinG + 3.57*m.CarbohydrateG + 8.37*m.FatG
	}
	return math.NaN(), math.NaN()
}

// SaltOfSodium returns salt as labels of the European Union mean it [g], 2.5
// times sodium, where sodiumG is sodium [g]. Source: eu1169, annex I, 11.
func SaltOfSodium(sodiumG float64) float64 { return 2.5 * sodiumG }
