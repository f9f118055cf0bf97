package process

import (
	"math"

	"sodalake/science/num"
)

// Form is how a harvest is kept.
type Form string

// The forms.
const (
	FreshUnwashed Form = "fresh"
	FreshWashed   Form = "fresh-washed"
	FrozenPaste   Form = "frozen"
	DriedSealed   Form = "dried"
)

// Keeping is how long a form keeps and under which conditions that is said.
type Keeping struct {
	Form     Form
	AtC      float64  // warmest that it holds for [°C]
	FromC    float64  // coldest that it holds for [°C]
	Days     num.Band // how long [d]
	SellDays float64  // no longer than this for others [d]
	Kinetic  bool     // whether warmth shortens it by a rate (dried); else no figure is told outside
	How      string
	Source   string
}

var keepings = []Keeping{
	{FreshUnwashed, RefrigeratorC, 0, num.Band{Low: 3, Mid: 5, High: 7}, 3, false, "unwashed, pressed, closed",
		"branyikova (counts acceptable for 14 days) and jourdan2014 (a week at 1 °C); the spread is judgement"},
	{FreshWashed, RefrigeratorC, 0, num.Band{Low: 0, Mid: 0.5, High: 1}, 0, false, "washed: the same day",
		"jourdan2014 and branyikova: washing shortens life; the figure is judgement"},
	{FrozenPaste, -18, -40, num.Band{Low: 60, Mid: 90, High: 180}, 90, false, "flat, closed, not thawed in between",
		"judgement, after makers' advice of three months"},
	{DriedSealed, 25, -40, num.Band{Low: 180, Mid: 365, High: 730}, 365, true, "at or under 0.60 water activity, sealed, dark",
		"abcburkina (up to two years) and a fall of the antioxidant value to a half in 50 days at 25 °C in powder (braz2017, quoted): judgement between"},
}

// Keepings returns what is known of keeping.
func Keepings() []Keeping { return append([]Keeping(nil), keepings...) }

// gas is the gas constant [J/mol/K]. Source: codata2018.
const gas = 8.31446261815324

// Faster returns by how much a reaction runs faster when it is warmer [1]:
//
//	f = exp(E/R (1/T₀ − 1/T))
//
// energyKJ is the energy of activation E [kJ/mol], fromC and toC the two
// temperatures [°C]. From 20 to 30 °C it is the Q₁₀.
//
// Special case: NaN below absolute zero.
//
// Source: arrhenius1889.
func Faster(energyKJ, fromC, toC float64) float64 {
	a, b := fromC+273.15, toC+273.15
	if !(a > 0 && b > 0) {
		return math.NaN()
	}
	return math.Exp(energyKJ * 1000 / gas * (1/a - 1/b))
}

// Energies of activation of what spoils dried food [kJ/mol]: low, usual, high.
// Common practice, no source; none was found for spirulina powder.
const (
	energyLow  = 60
	energyMid  = 80
	energyHigh = 100
)

// Life returns how long a form keeps at a temperature [d], as a band, where
// tempC is the temperature of the store [°C]. Warmer than the figure was told
// for, a dried product's life shortens by Faster with 60, 80 and 100 kJ/mol, and
// the band widens; colder never lengthens what is told. known is false where
// nothing is known: a paste warmer than a refrigerator is a matter for Clock,
// frozen paste that is not hard frozen is not frozen.
func Life(form Form, tempC float64) (days num.Band, known bool) {
	nan := num.Band{Low: math.NaN(), Mid: math.NaN(), High: math.NaN()}
	for _, k := range keepings {
		if k.Form != form {
			continue
		}
		switch {
		case !(tempC >= k.FromC):
			return nan, false
		case tempC <= k.AtC:
			return k.Days, true
		case !k.Kinetic || tempC > 45:
			return nan, false
		}
		return num.Band{
			Low:  k.Days.Low / Faster(energyHigh, k.AtC, tempC),
			Mid:  k.Days.Mid / Faster(energyMid, k.AtC, tempC),
			High: k.Days.High / Faster(energyLow, k.AtC, tempC),
		}, true
	}
	return nan, false
}
