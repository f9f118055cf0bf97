package process

import "math"

// ToxinLimit returns how much toxin a product may hold for a portion to stay
// within a tolerable daily intake [µg/g]:
//
//	limit = TDI · bw / portion
//
// tdiUgKg is the intake by body weight [µg/kg/d] (0.04 for microcystin-LR),
// bodyKg the body weight [kg] and portionG the portion in a day [g].
//
// Special case: NaN unless all are positive.
//
// Source: who1998 for the intake; the rest is arithmetic.
func ToxinLimit(tdiUgKg, bodyKg, portionG float64) float64 {
	if !(tdiUgKg > 0 && bodyKg > 0 && portionG > 0) {
		return math.NaN()
	}
	return tdiUgKg * bodyKg / portionG
}

// MostByToxin returns the largest portion in a day that stays within a tolerable
// daily intake [g], where tdiUgKg is that intake [µg/kg/d], bodyKg the body
// weight [kg] and contentUgG the toxin in the product [µg/g]. For a result below
// detection, put in the limit of detection.
//
// Special case: NaN unless all are positive.
//
// Source: as ToxinLimit.
func MostByToxin(tdiUgKg, bodyKg, contentUgG float64) float64 {
	if !(tdiUgKg > 0 && bodyKg > 0 && contentUgG > 0) {
		return math.NaN()
	}
	return tdiUgKg * bodyKg / contentUgG
}

// MetalInPortion returns a metal in a portion [µg], where contentMgKg is what the
// product holds [mg/kg] and portionG the portion [g].
func MetalInPortion(contentMgKg, portionG float64) float64 { return contentMgKg * portionG }

// MostByMetal returns the largest portion in a day that stays within a daily
// amount of a metal [g], where perDayUg is that amount [µg/d] and contentMgKg
// what the product holds [mg/kg].
//
// Special case: NaN unless both are positive.
func MostByMetal(perDayUg, contentMgKg float64) float64 {
	if !(perDayUg > 0 && contentMgKg > 0) {
		return math.NaN()
	}
	return perDayUg / contentMgKg
}

// Portions, dry, in a day [g].
const (
	AdultPortion = 3.0  // grasnotices: 0.5 to 3 g a serving
	MostPortion  = 5.0  // judgement, no source: the largest that is suggested
	FreshFactor  = 5.0  // grams of paste at 20 % of dry matter for one of dry product [1]
	Exchange     = 0.05 // phenylalanine of one exchange [g], from memory
)
