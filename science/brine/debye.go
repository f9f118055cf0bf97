package brine

import "math"

// sizes are the ion size å [Å] and slope b [kg/mol] of the extended
// Debye-Hückel equation; a species with neither is treated by Davies.
//
// Source: truesdell1974, J. Res. U.S. Geol. Surv. 2:233, table 3, and the data
// file of the United States Geological Survey's geochemistry code.
var sizes = [NSpecies][2]float64{
	SpH: {9, 0}, SpNa: {4.0, 0.075}, SpK: {3.5, 0.015}, SpNH4: {2.5, 0}, SpCa: {5.0, 0.165}, SpMg: {5.5, 0.20},
	SpMgOH: {6.5, 0}, SpCaOH: {6, 0}, SpCaHCO3: {6, 0}, SpMgHCO3: {4, 0}, SpCaH2PO4: {5.4, 0}, SpMgH2PO4: {5.4, 0},
	SpOH: {3.5, 0}, SpCl: {3.5, 0.015}, SpSO4: {5.0, -0.04}, SpHSO4: {4.5, 0}, SpNO3: {3, 0}, SpNO2: {3, 0},
	SpHCO3: {5.4, 0}, SpCO3: {5.4, 0}, SpH2PO4: {5.4, 0}, SpHPO4: {5.0, 0}, SpPO4: {4.0, 0}, SpBOH4: {2.5, 0},
	SpCaPO4: {5.4, 0}, SpMgPO4: {5.4, 0}, SpNaSO4: {5.4, 0}, SpKSO4: {5.4, 0},
}

// debye works out activity coefficients by the extended Debye-Hückel equation.
type debye struct {
	a, b float64 // slopes of log₁₀ γ: A [kg^½/mol^½], B [kg^½/mol^½/Å]
}

// setTemp sets the slopes at a temperature [°C], with the osmotic slope aphi
// [kg^½/mol^½] of that temperature.
//
//	A = 3 Aφ / ln 10,  B = 50.29 √ρ / √(ε T)
//
// Source: robinson1959, Robinson & Stokes, Electrolyte Solutions, eq. 9.8 and
// 9.9.
func (d *debye) setTemp(tempC, aphi float64) {
	tK := tempC + kelvin
	eps, _ := dielectric(tK)
	d.a = 3 * aphi / ln10
	d.b = 50.29 * math.Sqrt(PureWaterDensityKgL(tempC)/(eps*tK))
}

// eval works out ln γ [1] of every species from the molalities m [mol/kg], and
// returns the ionic strength [mol/kg], the logarithm of the water activity [1]
// and 0: with single-ion coefficients the scale is the equation's own.
//
//	log₁₀ γ = −A z² √I / (1 + B å √I) + b I
//
// Uncharged species are salted out as log₁₀ γ = 0.1 I. Valid to an ionic
// strength of about 0.5.
//
// Source: truesdell1974, eq. 2; the water activity by Raoult's law as
// garrels1965, Garrels & Christ, Solutions, Minerals, and Equilibria, eq. 2.34.
func (d *debye) eval(m, lg *[NSpecies]float64) (strength, lnAw, scale float64) {
	var all float64
	for _, x := range m {
		all += x
	}
	strength = ionicStrength(m)
	root := math.Sqrt(strength)
	davies := -ln10 * d.a * (root/(1+root) - 0.3*math.Min(strength, 0.5))
	for s := range lg {
		z2 := chargeSquared[s]
		switch size := &sizes[s]; {
		case z2 < 0.5:
			lg[s] = ln10 * 0.1 * strength
		case size[0] > 0:
			lg[s] = ln10 * (-d.a*z2*root/(1+d.b*size[0]*root) + size[1]*strength)
		default:
			lg[s] = z2 * davies
		}
	}
	return strength, math.Log1p(-0.017 * math.Min(all, 30)), 0
}
