package process

import "math"

// Fading is one measured rate at which dissolved phycocyanin loses its colour.
type Fading struct {
	TempC     float64 // [°C]
	PH        float64 // 0 where it is not told [1]
	PerS      float64 // rate of first order k [1/s]
	Condition string
	Source    string
}

// The first row that names a half-life gives k = ln 2 over it.
var fadings = []Fading{
	{60, 7.0, math.Ln2 / (19 * 60), "in buffer", "chaiklahan2012"},
	{60, 7.0, math.Ln2 / (67 * 60), "with 2.5 % of salt", "chaiklahan2012, as its abstract words it"},
	{60, 7.0, math.Ln2 / (30 * 60), "with 20 % of sugar", "chaiklahan2012"},
	{60, 7.0, math.Ln2 / (44 * 60), "with 40 % of sugar", "chaiklahan2012"},
	{59, 0, math.Ln2 / (30 * 60), "in buffer", "chaiklahan2012"},
	{4, 0, -math.Log(0.93) / (60 * day), "extract, dark, two months", "applsci2018"},
}

// Fadings returns the measured rates, in solution. They are not to be used for
// powder, where water is missing, and no energy of activation could be read.
func Fadings() []Fading { return append([]Fading(nil), fadings...) }

// Left returns the share that is left after a time by a rate of first order [1],
// e^−kt, where perS is k [1/s] and timeS the time [s].
//
// Special case: NaN for negative values.
func Left(perS, timeS float64) float64 {
	if !(perS >= 0 && timeS >= 0) {
		return math.NaN()
	}
	return math.Exp(-perS * timeS)
}

// HalfLifeS returns the half-life of a rate of first order [s], where perS is
// that rate [1/s].
func HalfLifeS(perS float64) float64 { return math.Ln2 / perS }

// DryingLoss returns the share of phycocyanin that drying in warm air takes [1],
// low and high: 35 to 50 % from 40 to 60 °C. airC is the air over the trays [°C].
// Above 60 °C only that the loss is larger is known: high is 1.
//
// Special case: NaN under 30 °C, for which no figure was found.
//
// Source: oliveira2010 (about 37 % at the best, 55 °C and 3.7 mm), sarada1999
// (about 50 % by several dryers).
func DryingLoss(airC float64) (low, high float64) {
	switch {
	case !(airC >= 30):
		return math.NaN(), math.NaN()
	case airC <= 60:
		return 0.35, 0.50
	}
	return 0.37, 1
}
