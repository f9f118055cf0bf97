package air

import "math"

// Pressure returns the pressure of the standard atmosphere at a height [kPa]:
//
//	P = 101.325 (1 − 2.25577·10⁻⁵ z)^5.2559
//
// elevationM is the height above the sea z [m]. Valid for −5000 ≤ z ≤ 11 000.
// Weather moves the true pressure by ±3 % of it.
//
// Special case: NaN above 44 330 m, where the formula ends.
//
// Source: ashrae2017, eq. 3 (ISO 2533:1975).
func Pressure(elevationM float64) float64 {
	return 101.325 * math.Pow(1-2.25577e-5*elevationM, 5.2559) // eq. 3
}

// PressureFAO returns the pressure at a height [kPa] as FAO-56 has it, with
// 20 °C at sea level:
//
//	P = 101.3 ((293 − 0.0065 z)/293)^5.26
//
// elevationM is the height above the sea z [m].
//
// Special case: NaN above 45 000 m.
//
// Source: fao56, eq. 7.
func PressureFAO(elevationM float64) float64 {
	return 101.3 * math.Pow((293-0.0065*elevationM)/293, 5.26) // eq. 7
}

// WindAt2M returns the wind at 2 m above short grass [m/s]:
//
//	u₂ = u_z 4.87 / ln(67.8 z − 5.42)
//
// windMS is the wind at the instrument u_z [m/s], heightM its height z [m].
// Valid for 0.5 ≤ heightM ≤ 100 in open country.
//
// Special case: NaN at and below 0.095 m, where the profile begins.
//
// Source: fao56, eq. 47.
func WindAt2M(windMS, heightM float64) float64 {
	if !(67.8*heightM-5.42 > 1) {
		return math.NaN()
	}
	return windMS * 4.87 / math.Log(67.8*heightM-5.42) // eq. 47
}

// WindAtHeight returns the wind at another height over the same ground [m/s],
// by the logarithmic profile in neutral air:
//
//	u(z₂) = u(z₁) ln(z₂/z₀) / ln(z₁/z₀)
//
// windMS is u(z₁) [m/s], fromM and toM the heights z₁ and z₂ [m], roughnessM
// the roughness length z₀ [m] (0.0002 open water, 0.015 short grass, 0.03 open
// farmland, 0.1 with hedges: wmo8, annex 5.A, from memory).
//
// Special case: NaN when a height does not exceed the roughness length.
//
// Source: fao56, box 4 and eq. 4 (the profile); no displacement height.
func WindAtHeight(windMS, fromM, toM, roughnessM float64) float64 {
	if !(roughnessM > 0 && fromM > roughnessM && toM > roughnessM) {
		return math.NaN()
	}
	return windMS * math.Log(toM/roughnessM) / math.Log(fromM/roughnessM)
}
