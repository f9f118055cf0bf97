package growth

import "math"

// OxygenBubbleMgL is the dissolved oxygen at which a stirred culture sheds it
// as bubbles [mg/L].
//
// Source: judgement, no source.
const OxygenBubbleMgL = 40.0

// kPaPerAtm is the standard atmosphere [kPa].
const kPaPerAtm = 101.325

// OxygenSaturation returns the dissolved oxygen of water at rest with moist
// air [mg/L]:
//
//	ln C = −139.34411 + 1.575701e5/T − 6.642308e7/T² + 1.243800e10/T³ − 8.621949e11/T⁴
//	       − S (0.017674 − 10.754/T + 2140.7/T²)
//	C_P = C P (1 − p_w/P)(1 − θP)/((1 − p_w)(1 − θ)),  P and p_w in atm
//	p_w = exp(11.8571 − 3840.70/T − 216961/T²)
//	θ = 0.000975 − 1.426e-5 t + 6.436e-8 t²
//
// where tempC is t, the water's temperature [°C], T = t + 273.15, pressureKPa
// is P, the station pressure [kPa], and saltGKg is S, salinity [g/kg].
//
// Valid for 0–40 °C, 0–40 g/kg of sea salt and 50–110 kPa; outside it
// extrapolates, and for other salts the salt term is a likeness.
//
// Special cases: 0 where the pressure is not above the vapour's.
//
// Source: bensonkrause1984, eqs. 24, 32; bensonkrause1980, eqs. for p_w and θ;
// coefficients agree with usgs2011.
func OxygenSaturation(tempC, pressureKPa, saltGKg float64) float64 {
	t := tempC + 273.15
	lnC := -139.34411 + (1.575701e5+(-6.642308e7+(1.243800e10-8.621949e11/t)/t)/t)/t
	lnC -= saltGKg * (0.017674 + (-10.754+2140.7/t)/t)
	p := pressureKPa / kPaPerAtm
	vapour := math.Exp(11.8571 + (-3840.70-216961/t)/t)
	if p <= vapour {
		return 0
	}
	theta := 0.000975 + tempC*(-1.426e-5+tempC*6.436e-8)
	return math.Exp(lnC) * (p - vapour) * (1 - theta*p) / ((1 - vapour) * (1 - theta))
}

// OxygenSteady returns the dissolved oxygen of a culture where production and
// loss to the air balance [mg/L]:
//
//	O₂ = saturation + P/k_L, at most the cap
//
// where saturationMgL is that of OxygenSaturation [mg/L], productionGM2H is P,
// oxygen given off less oxygen burnt [g/m²/h], kLMH is k_L, the gas transfer
// velocity [m/h], and capMgL is where bubbles carry it off [mg/L]. A shallow
// culture comes to it within an hour or so.
//
// Special cases: never below 0; for kLMH at or below 0 the cap if production is
// positive, else 0.
//
// Source: film model of gas exchange, as liss1974.
func OxygenSteady(saturationMgL, productionGM2H, kLMH, capMgL float64) float64 {
	if kLMH <= 0 {
		if productionGM2H > 0 {
			return capMgL
		}
		return 0
	}
	return clip(saturationMgL+productionGM2H/kLMH, 0, max(capMgL, saturationMgL))
}
