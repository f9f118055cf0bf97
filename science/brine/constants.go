package brine

import "math"

// law is how a stability constant runs over temperature: as log₁₀ K = A + B T
// + C/T + D log₁₀ T + E/T² + F T², or, where only a value at 25 °C is known,
// as van 't Hoff's law with a constant enthalpy.
type law struct {
	form     [6]float64 // A to F, T in K
	at25     float64    // log₁₀ K at 25 °C [1]
	enthalpy float64    // of reaction [kJ/mol]
	analytic bool
}

// kcal turns kilocalories into kilojoules.
const kcal = 4.184

func analytic(form ...float64) law {
	l := law{analytic: true}
	copy(l.form[:], form)
	return l
}

func vantHoff(at25, enthalpyKJ float64) law { return law{at25: at25, enthalpy: enthalpyKJ} }

// powers are what a law needs of a temperature.
type powers struct{ t, inv, log10, inv2, t2, hoff float64 }

func powersAt(tempC float64) powers {
	t := tempC + kelvin
	inv := 1 / t
	return powers{t, inv, math.Log10(t), inv * inv, t * t, -1000 / (gasJ * ln10) * (inv - 1/refK)}
}

// log10 returns log₁₀ K [1] at the temperature that p was made for.
func (l *law) log10(p *powers) float64 {
	if !l.analytic {
		return l.at25 + l.enthalpy*p.hoff
	}
	f := &l.form
	return f[0] + f[1]*p.t + f[2]*p.inv + f[3]*p.log10 + f[4]*p.inv2 + f[5]*p.t2
}

// product numbers the reactions by what they form.
type product uint8

const (
	toOH product = iota // first those that every water has
	toHCO3
	toCO2
	ofGammaH // not a reaction: the activity coefficient of H+ on the pH scale
	ofPCO2   // not a reaction: pressure over molality of CO2 [atm·kg/mol]
	toNH3
	toHSO4
	toBOH4
	toHPO4
	toH2PO4
	toH3PO4
	toMgOH
	toCaOH
	toMgCO3
	toMgHCO3
	toCaCO3
	toCaHCO3
	toMgSO4
	toCaSO4
	toNaSO4
	toKSO4
	toMgPO4
	toMgHPO4
	toMgH2PO4
	toCaPO4
	toCaHPO4
	toCaH2PO4
	toHEDTA
	toH2EDTA
	toNaEDTA
	toKEDTA
	toCaEDTA
	toMgEDTA
	toFeOHEDTA
	nProducts int = iota
)

// reaction forms one species from a free ion, a second one, hydrogen ions and
// water: a + b + nH H⁺ + water H₂O → makes.
type reaction struct {
	to    product
	makes Species
	a, b  Species // -1 where there is none
	nH    float64
	water float64
	k     law
}

const none = Species(-1)

// The three dissociations of carbonic acid and the solubility of its gas.
var (
	lnK2PB  = analytic(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9)
	lnK2HMW = analytic(107.8975, 0.03252849, -5151.79, -38.92561, 563713.9)
	lnK12   = analytic(464.1965, 0.09344813, -26986.16, -165.75951, 2248628.9)
)

// common are the reactions that both models share.
//
// Source: plummer1982, Plummer & Busenberg, Geochim. Cosmochim. Acta 46:1011,
// for carbonic acid; the water constant of marshall1981; ammonium, phosphate
// and their pairs from the data files of the United States Geological Survey's
// geochemistry code; HSO₄⁻ of appelo2015.
var common = []reaction{
	{toOH, SpOH, none, none, -1, 1, analytic(293.29227, 0.1360833, -10576.913, -123.73158, 0, -6.996455e-5)},
	{toCO2, SpCO2, SpCO3, none, 2, -1, lnK12},
	{toNH3, SpNH3, SpNH4, none, -1, 0, analytic(0.6322, -0.001225, -2835.76)},
	{toHSO4, SpHSO4, SpSO4, none, 1, 0, analytic(-56.889, 0.006473, 2307.9, 19.8858)},
	// boric acid: log K of harvie1984, its enthalpy from the pairs data file
	{toBOH4, SpBOH4, SpBOH3, none, -1, 1, vantHoff(-9.239, 3.224*kcal)},
	{toHPO4, SpHPO4, SpPO4, none, 1, 0, vantHoff(12.346, -3.53*kcal)},
	{toH2PO4, SpH2PO4, SpPO4, none, 2, 0, vantHoff(19.553, -4.52*kcal)},
	{toH3PO4, SpH3PO4, SpPO4, none, 3, 0, vantHoff(21.721, -10.1)}, // nist46, NIST critically selected stability constants
	{toCaPO4, SpCaPO4, SpCa, SpPO4, 0, 0, vantHoff(6.459, 3.1*kcal)},
	{toCaHPO4, SpCaHPO4, SpCa, SpPO4, 1, 0, vantHoff(15.085, -0.23*kcal)},
	{toMgPO4, SpMgPO4, SpMg, SpPO4, 0, 0, vantHoff(6.589, 3.1*kcal)},
	{toMgHPO4, SpMgHPO4, SpMg, SpPO4, 1, 0, vantHoff(15.216, -0.23*kcal)},
	// EDTA at ionic strength 0, 25 °C: nist46; from memory. The enthalpies are
	// left at zero: what EDTA holds it holds from 0 to 50 °C.
	{toHEDTA, SpHEDTA, SpEDTA, none, 1, 0, vantHoff(10.948, 0)},
	{toH2EDTA, SpH2EDTA, SpEDTA, none, 2, 0, vantHoff(17.221, 0)},
	{toNaEDTA, SpNaEDTA, SpNa, SpEDTA, 0, 0, vantHoff(2.70, 0)},
	{toKEDTA, SpKEDTA, SpK, SpEDTA, 0, 0, vantHoff(1.7, 0)},
	{toCaEDTA, SpCaEDTA, SpCa, SpEDTA, 0, 0, vantHoff(12.42, 0)},
	{toMgEDTA, SpMgEDTA, SpMg, SpEDTA, 0, 0, vantHoff(10.57, 0)},
	{toFeOHEDTA, SpFeOHEDTA, SpFeEDTA, none, -1, 1, vantHoff(-7.5, 0)},
}

// pitzerOnly are the reactions of the Pitzer model.
//
// Source: harvie1984 with log K₂ as it wants it, 0.0104 below plummer1982 at
// every temperature (the carbonate buffers of the National Institute of
// Standards and Technology decide); MgCO₃ and MgOH⁺ of the same data file.
var pitzerOnly = []reaction{
	{toHCO3, SpHCO3, SpCO3, none, 1, 0, lnK2HMW},
	{toMgOH, SpMgOH, SpMg, none, -1, 1, vantHoff(-11.809, 15.419*kcal)},
	{toMgCO3, SpMgCO3, SpMg, SpCO3, 0, 0, analytic(-32.225, 0, 1093.486, 12.72433)},
}

// pairsOnly are the reactions of the ion-pair model. It has no pair of sodium
// or potassium with carbonate or bicarbonate: with one, the carbonate buffer
// comes out too low.
//
// Source: plummer1982 for the carbonate pairs of calcium; the others from the
// data file of the United States Geological Survey's geochemistry code, which
// follows nordstrom1990, ACS Symp. Ser. 416:398.
var pairsOnly = []reaction{
	{toHCO3, SpHCO3, SpCO3, none, 1, 0, lnK2PB},
	{toMgOH, SpMgOH, SpMg, none, -1, 1, vantHoff(-11.44, 15.952*kcal)},
	{toCaOH, SpCaOH, SpCa, none, -1, 1, vantHoff(-12.78, 15.4*kcal)}, // enthalpy from memory
	{toMgCO3, SpMgCO3, SpMg, SpCO3, 0, 0, analytic(0.991, 0.00667)},
	{toMgHCO3, SpMgHCO3, SpMg, SpCO3, 1, 0, analytic(48.6721, 0.03252849, -2614.335, -18.00263, 563713.9)},
	{toCaCO3, SpCaCO3, SpCa, SpCO3, 0, 0, analytic(-1228.732, -0.29944, 35512.75, 485.818)},
	{toCaHCO3, SpCaHCO3, SpCa, SpCO3, 1, 0, analytic(1317.0071, 0.34546894, -39916.84, -517.70761, 563713.9)},
	{toMgSO4, SpMgSO4, SpMg, SpSO4, 0, 0, vantHoff(2.37, 4.55*kcal)},
	{toCaSO4, SpCaSO4, SpCa, SpSO4, 0, 0, vantHoff(2.30, 1.65*kcal)},
	{toNaSO4, SpNaSO4, SpNa, SpSO4, 0, 0, vantHoff(0.70, 1.12*kcal)},
	{toKSO4, SpKSO4, SpK, SpSO4, 0, 0, vantHoff(0.85, 2.25*kcal)},
	{toCaH2PO4, SpCaH2PO4, SpCa, SpPO4, 2, 0, vantHoff(20.961, -1.12*kcal)},
	{toMgH2PO4, SpMgH2PO4, SpMg, SpPO4, 2, 0, vantHoff(21.066, -1.12*kcal)},
}

// henry is the solubility of CO₂, log₁₀ of mol/kg/atm.
//
// Source: the Pitzer data file of the United States Geological Survey's
// geochemistry code; within 0.003 of plummer1982 from 0 to 50 °C.
var henry = analytic(11.74, -0.027311, -4091.3, 0, 587500, 2.307e-5)
