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
	f := FilmAt(w.TempC)
	return f.Exchange(w, air)
}

// Film is what the passage of gases depends on by temperature alone. Working
// it out takes longer than using it; between two that lie near it may be drawn
// along with At.
type Film struct {
	TempC       float64 // temperature [°C]
	Diffusivity float64 // of carbon dioxide [m²/s]
	OwnRate     float64 // of carbon dioxide with water [1/s]
	Hydroxide   float64 // of carbon dioxide with hydroxide [L/mol/s]
	Solubility  float64 // of carbon dioxide [mol/kg/atm]
	Ammonia     float64 // air over water by volume, of ammonia [1]
	KgPerM3     float64 // pure water [kg/m³]
}

// FilmAt returns the film at tempC [°C].
//
// Source: see AirExchange.
func FilmAt(tempC float64) Film {
	tK := tempC + kelvin
	p := powersAt(tempC)
	return Film{
		TempC:       tempC,
		Diffusivity: CO2DiffusivityM2S(tempC),
		OwnRate:     math.Exp(1246.98 - 6.19e4/tK - 183.0*math.Log(tK)),
		Hydroxide:   math.Pow(10, 13.635-2895/tK),
		Solubility:  math.Exp(ln10 * henry.log10(&p)),
		Ammonia:     ammoniaRatio(tempC),
		KgPerM3:     1000 * PureWaterDensityKgL(tempC),
	}
}

// Between returns the film at tempC [°C] on the straight line from f to g. With
// a degree between them it is within 0.3 % of FilmAt.
func (f *Film) Between(g *Film, tempC float64) Film {
	u := (tempC - f.TempC) / (g.TempC - f.TempC)
	mix := func(a, b float64) float64 { return a + u*(b-a) }
	return Film{
		TempC: tempC, Diffusivity: mix(f.Diffusivity, g.Diffusivity), OwnRate: mix(f.OwnRate, g.OwnRate),
		Hydroxide: mix(f.Hydroxide, g.Hydroxide), Solubility: mix(f.Solubility, g.Solubility),
		Ammonia: mix(f.Ammonia, g.Ammonia), KgPerM3: mix(f.KgPerM3, g.KgPerM3),
	}
}

// Exchange is AirExchange through the film f, which should be that at the
// water's temperature.
func (f *Film) Exchange(w *Water, air Air) Exchange {
	perM3 := f.KgPerM3                                                  // mol/kg water to mol/m³, near enough
	surface := air.PCO2Atm * f.Solubility * shortExp(-w.LnGamma[SpCO2]) // mol/kg
	co2 := w.Species[SpCO2]

	rate := f.OwnRate + f.Hydroxide*w.Species[SpOH]*perM3/1000 // 1/s
	tau := 1.0
	if bound := w.Species[SpHCO3] + w.Species[SpCO3]; bound > 0 {
		tau += co2 / bound
	}
	still := math.Sqrt(rate * f.Diffusivity) // velocity in still water
	velocity, enhancement := still, math.Inf(1)
	if air.LiquidMS > 0 {
		q := still * math.Sqrt(tau) / air.LiquidMS
		enhancement = tau / (tau - 1 + tanhOver(q))
		velocity = air.LiquidMS * enhancement
	}
	return Exchange{
		CO2MolM2S:      velocity * (surface - co2) * perM3,
		NH3MolM2S:      ammoniaVelocity(f.Ammonia, air.WindMS, air.LiquidMS) * w.Species[SpNH3] * perM3,
		Enhancement:    enhancement,
		CO2SurfaceMolL: surface * perM3 / 1000,
	}
}

// shortExp returns e^x, sparing the function for small x.
func shortExp(x float64) float64 {
	if math.Abs(x) < 0.3 {
		return nearExp(x)
	}
	return math.Exp(x)
}

// tanhOver returns tanh(q)/q for q ≥ 0, within 3e-4 of it.
func tanhOver(q float64) float64 {
	switch {
	case q < 1e-4:
		return 1 - q*q/3
	case q > 6: // the tangent is 1 to 2e-5
		return 1 / q
	case q < 4: // its continued fraction
		q2 := q * q
		return (10395 + q2*(1260+21*q2)) / (10395 + q2*(4725+q2*(210+q2)))
	}
	return (1 - 2/(math.Exp(2*q)+1)) / q
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
	return ammoniaVelocity(ammoniaRatio(tempC), windMS, liquidMS)
}

// ammoniaRatio is H of AmmoniaVelocityMS.
func ammoniaRatio(tempC float64) float64 {
	tK := tempC + kelvin
	const gasLAtm = 0.082057                                            // L·atm/mol/K
	solubility := math.Exp(-8.09694 + 3917.507/tK - 0.00314*tK)         // mol/kg/atm
	return 1 / (solubility * PureWaterDensityKgL(tempC) * gasLAtm * tK) // dimensionless
}

func ammoniaVelocity(h, windMS, liquidMS float64) float64 {
	film := min(30, 3+2.3*max(0, windMS)) / 3600 // m/s
	if liquidMS > 0 {
		return 1 / (1/(h*film) + 1/liquidMS)
	}
	return h * film
}
