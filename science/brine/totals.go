package brine

import (
	"fmt"
	"math"
)

// Total names one amount that water carries whatever form it takes there.
type Total int

// The totals. Sodium stands for all sodium, DIC for all inorganic carbon (CO2,
// bicarbonate, carbonate and their pairs), Ammonia for NH4+ and NH3 together.
// Iron is ferric iron that EDTA may hold; what it does not hold has fallen out
// as hydroxide, so iron is counted without charge.
const (
	Na Total = iota
	K
	Ca
	Mg
	Cl
	SO4
	NO3
	NO2
	Ammonia
	Urea
	PO4
	Borate
	EDTA
	DIC
	Iron
	NTotals int = iota
)

var totalNames = [NTotals]string{
	"Na", "K", "Ca", "Mg", "Cl", "SO4", "NO3", "NO2", "ammonia", "urea", "PO4", "borate", "EDTA", "DIC", "iron",
}

// String returns the name of the total as it stands in messages.
func (t Total) String() string {
	if t < 0 || int(t) >= NTotals {
		return fmt.Sprintf("total %d", int(t))
	}
	return totalNames[t]
}

// TotalByName returns the total with this name, and whether there is one.
func TotalByName(name string) (Total, bool) {
	for i, s := range totalNames {
		if s == name {
			return Total(i), true
		}
	}
	return 0, false
}

// Totals are the amounts of everything in a water [mol/kg water].
type Totals [NTotals]float64

// AlkalinityEqKg returns the alkalinity [mol/kg water], which is never stored
// beside the totals but follows from their charges:
//
//	A = Na + K + 2 Ca + 2 Mg + ΣNH₃ − Cl − 2 SO₄ − NO₃ − NO₂ − ΣPO₄ − 2 ΣEDTA
//
// Nothing that happens to carbon dioxide changes it, and taking up a mole of
// nitrate raises it by one without another word. Borate, urea, carbon and iron
// (an uncharged hydroxide) do not enter.
//
// Source: wolfgladrow2007, explicit conservative form; EDTA is added with the
// ion H₂Y²⁻ as its zero level, since that is the form present at pH 4.5.
func (t *Totals) AlkalinityEqKg() float64 {
	return t[Na] + t[K] + 2*t[Ca] + 2*t[Mg] + t[Ammonia] -
		t[Cl] - 2*t[SO4] - t[NO3] - t[NO2] - t[PO4] - 2*t[EDTA]
}

// Mix returns the totals of two waters poured together [mol/kg water]; a holds
// kgA kilograms of water [kg] and b holds kgB [kg].
//
// Special case: Mix is NaN where both masses are zero.
func Mix(a *Totals, kgA float64, b *Totals, kgB float64) Totals {
	var out Totals
	sum := kgA + kgB
	for i := range out {
		out[i] = (a[i]*kgA + b[i]*kgB) / sum
	}
	return out
}

// InputError is water, or a wish for it, that the package cannot begin with.
type InputError struct {
	Field  string  // which input
	Value  float64 // what it was [unit of the input]
	Reason string  // why it cannot be
	Hint   string  // what to do, or empty
}

// Error names the field first.
func (e *InputError) Error() string {
	return fmt.Sprintf("%s is %g: %s", e.Field, e.Value, e.Reason)
}

// NoSolutionError is an equilibrium that was not found, with the numbers.
type NoSolutionError struct {
	What    string  // what was sought
	Reason  string  // why it was not found
	PH      float64 // pH where the search stood [1]
	Missing float64 // how far from balance [unit of what was sought]
}

// Error says what was sought and how far off the search ended.
func (e *NoSolutionError) Error() string {
	return fmt.Sprintf("%s: %s (pH %.3f, off by %.3g)", e.What, e.Reason, e.PH, e.Missing)
}

// Limits of what is solved at all; beyond them the answer is an error, not a
// number. The validity of the models ends earlier.
const (
	maxMolality = 12.0 // mol/kg water
	maxStrength = 12.0 // mol/kg water
	minTempC    = -5.0 // °C
	maxTempC    = 80.0 // °C
)

// check returns an *InputError for totals or a temperature that no water has.
func check(t *Totals, tempC float64) error {
	for i, x := range t {
		if !(x >= 0) || x > maxMolality { // the first form is true for NaN, too
			return badTotal(Total(i), x)
		}
	}
	if !(tempC >= minTempC && tempC <= maxTempC) {
		return &InputError{Field: "temp_c", Value: tempC, Reason: fmt.Sprintf("water is liquid here between %g and %g °C", minTempC, maxTempC)}
	}
	return nil
}

// tooStrong is the error for a solved water beyond every model.
func tooStrong(strength float64) error {
	return &InputError{Field: "ionic_strength", Value: strength,
		Reason: fmt.Sprintf("more than %g mol/kg water is no longer a dilute brine", maxStrength)}
}

func badTotal(which Total, x float64) error {
	reason := "an amount cannot be negative"
	switch {
	case math.IsNaN(x):
		reason = "not a number"
	case x > maxMolality:
		reason = fmt.Sprintf("more than %g mol/kg water is no longer a dilute brine", maxMolality)
	}
	return &InputError{Field: which.String(), Value: x, Reason: reason}
}
