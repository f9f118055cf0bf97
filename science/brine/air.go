package brine

import "math"

// Exchange is what passes between a water and the air above it.
type Exchange struct {
	CO2MolM2S      float64 // carbon dioxide taken up by the water, negative when lost [mol/m²/s]
	NH3MolM2S      float64 // ammonia lost by the water [mol/m²/s]
	Enhancement    float64 // how many times faster CO2 passes than if it did not react [1]
	CO2SurfaceMolL float64 // CO2 that water in balance with this air would hold [mol/L]
}

// Air is the air over a water, and how the water is moved.
type Air struct {
	PCO2Atm  float64 // pressure of carbon dioxide in the air [atm]
	WindMS   float64 // wind at 2 m [m/s]
	LiquidMS float64 // transfer velocity of unreacting CO2 in the water, by wind and stirring [m/s]
}

// AirExchange returns the passage of carbon dioxide and ammonia between a
// solved water w and the air. Carbon dioxide reacts with hydroxide while it
// crosses the film of thickness D/k:
//
//	F = k E (CO₂* − CO₂),  E = τ / ((τ − 1) + tanh Q / Q)
//	Q = √(r τ / D) D/k,  τ = 1 + CO₂/(HCO₃ + CO₃),  r = k_CO₂ + k_OH OH
//
// Above pH 10 that is √(D r) (CO₂* − CO₂), however much the water is stirred.
//
// Special case: still water with a transfer velocity of 0 takes CO2 up by the
// reaction alone.
//
// Source: hoover1969, J. Geophys. Res. 74:456, eqs. 12 and 13; k_OH of
// pinsent1956, Trans. Faraday Soc. 52:1512; k_CO₂ of johnson1982, Limnol.
// Oceanogr. 27:849 (from memory); D of jahne1987, J. Geophys. Res. 92:10767,
// set to 1.92e-9 m²/s at 25 °C.
func AirExchange(w *Water, air Air) Exchange {
	tK := w.TempC + kelvin
	perM3 := 1000 * PureWaterDensityKgL(w.TempC) // mol/kg water to mol/m³, near enough
	p := powersAt(w.TempC)
	surface := air.PCO2Atm * math.Exp(ln10*henry.log10(&p)-w.LnGamma[SpCO2]) // mol/kg
	co2 := w.Species[SpCO2]

	diff := CO2DiffusivityM2S(w.TempC)
	kOH := math.Pow(10, 13.635-2895/tK)                        // L/mol/s
	kCO2 := math.Exp(1246.98 - 6.19e4/tK - 183.0*math.Log(tK)) // 1/s
	rate := kCO2 + kOH*w.Species[SpOH]*perM3/1000              // 1/s
	tau := 1.0
	if bound := w.Species[SpHCO3] + w.Species[SpCO3]; bound > 0 {
		tau += co2 / bound
	}
	velocity := math.Sqrt(rate * diff) // of still water
	enhancement := math.Inf(1)
	if air.LiquidMS > 0 {
		q := math.Sqrt(rate*tau/diff) * diff / air.LiquidMS
		enhancement = tau / (tau - 1 + math.Tanh(q)/q)
		velocity = air.LiquidMS * enhancement
	}
	return Exchange{
		CO2MolM2S:      velocity * (surface - co2) * perM3,
		NH3MolM2S:      AmmoniaVelocityMS(w.TempC, air.WindMS, air.LiquidMS) * w.Species[SpNH3] * perM3,
		Enhancement:    enhancement,
		CO2SurfaceMolL: surface * perM3 / 1000,
	}
}

// CO2DiffusivityM2S returns the diffusivity of carbon dioxide in water [m²/s]
// at tempC [°C].
//
// Source: jahne1987 for the activation energy of 19.51 kJ/mol; 1.92e-9 m²/s at
// 25 °C.
func CO2DiffusivityM2S(tempC float64) float64 {
	return 1.92e-9 * math.Exp(-19510/gasJ*(1/(tempC+kelvin)-1/refK))
}

// AmmoniaVelocityMS returns the velocity with which free ammonia leaves water
// [m/s], through a film of air and one of water in series:
//
//	1/K = 1/(H k_g) + 1/k_l
//
// where tempC is the temperature [°C], windMS the wind at 2 m [m/s] and
// liquidMS the transfer velocity in the water [m/s]; 0 leaves the water's film
// out. The air's film k_g is 3 m/h in still air and rises by 2.3 m/h for each
// m/s of wind, up to 30 m/h.
//
// Source: H, air over water by volume, from clegg1989, Clegg & Brimblecombe, J.
// Phys. Chem. 93:7237 (from memory; 6.7e-4 at 25 °C). The film in air is a
// judgement from values of 3 to 10 m/h, no source.
func AmmoniaVelocityMS(tempC, windMS, liquidMS float64) float64 {
	tK := tempC + kelvin
	const gasLAtm = 0.082057                                          // L·atm/mol/K
	solubility := math.Exp(-8.09694 + 3917.507/tK - 0.00314*tK)       // mol/kg/atm
	h := 1 / (solubility * PureWaterDensityKgL(tempC) * gasLAtm * tK) // dimensionless
	film := math.Min(30, 3+2.3*math.Max(0, windMS)) / 3600            // m/s
	if liquidMS > 0 {
		return 1 / (1/(h*film) + 1/liquidMS)
	}
	return h * film
}
