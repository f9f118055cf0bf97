package medium

import (
	"math"

	"sodalake/science/brine"
)

var nan = math.NaN()

// Element is what a medium is judged by: the nutrients, the ions that pile up,
// and three sums that matter as much as an element.
type Element int

// The elements. Alkalinity is the charge that carbon dioxide may balance,
// Reduced the nitrogen that is or becomes ammonia, Chelator what holds iron.
const (
	Carbon Element = iota
	Nitrogen
	Phosphorus
	Potassium
	Magnesium
	Sulfur
	Calcium
	Iron
	Boron
	Manganese
	Zinc
	Copper
	Molybdenum
	Cobalt
	Nickel
	Sodium
	Chlorine
	Alkalinity
	Reduced
	Chelator
	NElements int = iota
)

var elementNames = [NElements]string{
	"carbon", "nitrogen", "phosphorus", "potassium", "magnesium", "sulfur", "calcium", "iron", "boron", "manganese", "zinc",
	"copper", "molybdenum", "cobalt", "nickel", "sodium", "chlorine", "alkalinity", "reduced_nitrogen", "chelator",
}

// masses of a mole of each element [g/mol]; alkalinity is counted as bicarbonate
// of soda, the chelator as the ion of EDTA. From the IUPAC abridged standard
// atomic weights of 2021.
var elementMass = [NElements]float64{
	12.011, 14.007, 30.974, 39.098, 24.305, 32.06, 40.078, 55.845, 10.81, 54.938, 65.38,
	63.546, 95.95, 58.933, 58.693, 22.990, 35.45, 84.007, 14.007, 288.21,
}

// String returns the element's name as it stands in data.
func (e Element) String() string {
	if e < 0 || int(e) >= NElements {
		return "element ?"
	}
	return elementNames[e]
}

// MolarMass returns the mass of a mole of the element [g/mol].
func (e Element) MolarMass() float64 { return elementMass[e] }

// ElementByName returns the element of that name, and whether there is one.
func ElementByName(name string) (Element, bool) {
	for i, n := range elementNames {
		if n == name {
			return Element(i), true
		}
	}
	return 0, false
}

// Amounts are moles of each element, in whatever the holder says they are in.
type Amounts [NElements]float64

// metals beside the totals of brine, in the order of Metals.
var metalSymbols = [...]string{"Mn", "Zn", "Cu", "Mo", "Co", "Ni"}

// Metals are amounts of manganese, zinc, copper, molybdenum, cobalt and nickel,
// in that order.
type Metals [len(metalSymbols)]float64

// Yield is what a gram of an ingredient leaves in water.
type Yield struct {
	Totals   brine.Totals // [mol/g]
	Metals   Metals       // [mol/g]
	CrystalG float64      // water that it brings along [g/g]
}

const waterMolG = 18.015 // mass of a mole of water [g/mol]

// Yield returns what a gram of the ingredient as sold leaves in water, the
// purity being purity [1]; what is not the formula is taken to do nothing.
//
// Special case: a dechlorinator, whose fate depends on the chlorine it meets,
// is an *InputError, and so is a purity outside 0 to 1.
func (i *Ingredient) Yield(purity float64) (Yield, error) {
	if !(purity > 0) || purity > 1 {
		return Yield{}, wrong("purity_pct", "say how much of a hundred grams is the salt itself", "purity_pct %.6g of %s must be above 0 and at most 100", purity*100, i.Kitchen)
	}
	if i.Label != nil {
		return i.Label.yield(), nil
	}
	if i.Step == StepDechlorinate {
		return Yield{}, wrong(i.ID, "dose it by the chlorine in the water, before the medium is mixed", "salt %q belongs into source water, not into a medium", i.Kitchen)
	}
	d, err := brine.Dissolve(i.Formula)
	if err != nil {
		return Yield{}, err
	}
	var y Yield
	for k, x := range d.Totals {
		y.Totals[k] = purity * x / d.MolarMass
	}
	for k, sym := range metalSymbols {
		y.Metals[k] = purity * d.Trace[sym] / d.MolarMass
	}
	y.CrystalG = purity * d.WaterMol * waterMolG / d.MolarMass
	return y, nil
}

// Elements returns the moles of each element in totals and metals, in the unit
// of what they are given in: t [mol/any], m [mol/any].
func Elements(t *brine.Totals, m *Metals) Amounts {
	var a Amounts
	a[Carbon] = t[brine.DIC]
	a[Reduced] = t[brine.Ammonia] + 2*t[brine.Urea]
	a[Nitrogen] = t[brine.NO3] + t[brine.NO2] + a[Reduced]
	a[Phosphorus] = t[brine.PO4]
	a[Potassium] = t[brine.K]
	a[Magnesium] = t[brine.Mg]
	a[Sulfur] = t[brine.SO4]
	a[Calcium] = t[brine.Ca]
	a[Iron] = t[brine.Iron]
	a[Boron] = t[brine.Borate]
	a[Sodium] = t[brine.Na]
	a[Chlorine] = t[brine.Cl]
	a[Alkalinity] = t.AlkalinityEqKg()
	a[Chelator] = t[brine.EDTA]
	for i, e := range [...]Element{Manganese, Zinc, Copper, Molybdenum, Cobalt, Nickel} {
		a[e] = m[i]
	}
	return a
}

// elements of one yield [mol/g].
func (y *Yield) elements() Amounts { return Elements(&y.Totals, &y.Metals) }

// UreaMgL says reduced nitrogen as the urea that would bring it [mg/L], where
// reducedMolL is ammonium and twice the urea together [mol/L].
func UreaMgL(reducedMolL float64) float64 { return reducedMolL / 2 * ureaMol * 1000 }

const ureaMol = 60.056 // mass of a mole of urea [g/mol], from the IUPAC weights
