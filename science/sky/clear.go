package sky

import (
	"math"

	"sodalake/science/air"
)

// DefaultLinke is the Linke turbidity taken where nothing better is known [1]:
// 2 very clean and dry, 3 clean and warm, 4–5 moist or hazy, 6 and more polluted
// or dusty. Source: ineichenperez2002 for the scale; the default is common practice, no source.
const DefaultLinke = 3.0

// Clear is the shortwave radiation under a cloudless sky.
type Clear struct {
	GHIWM2 float64 // global on the horizontal [W/m²]
	DNIWM2 float64 // beam on a plane facing the sun [W/m²]
	DHIWM2 float64 // diffuse on the horizontal [W/m²]
}

// AirMass returns how many times more air the beam passes than from the zenith [1]:
//
//	m = 1/(sin h + 0.50572 (h + 6.07995)^−1.6364)
//
// apparentElevationDeg is the sun's apparent height h [°]. Multiply by the
// station pressure over 101.325 kPa for the absolute air mass.
//
// Valid for 0 ≤ h ≤ 90. Special case: NaN below the horizon.
//
// Source: kastenyoung1989 (Kasten & Young 1989, Applied Optics 28:4735).
func AirMass(apparentElevationDeg float64) float64 {
	if !(apparentElevationDeg >= 0) {
		return math.NaN()
	}
	return 1 / (sinDeg(apparentElevationDeg) + 0.50572*math.Pow(apparentElevationDeg+6.07995, -1.6364))
}

// ClearSky returns global, beam and diffuse radiation under a cloudless sky:
//
//	GHI = c₁ I₀ cos z exp(−c₂ m (f₁ + f₂ (T_L − 1)))
//	DNI = min(b I₀ exp(−0.09 m (T_L − 1)), GHI (1 − (0.1 − 0.2 e^−T_L)/(0.1 + 0.882/f₁))/cos z)
//
// with f₁ = e^(−h/8000), f₂ = e^(−h/1250), c₁ = 5.09·10⁻⁵ h + 0.868,
// c₂ = 3.92·10⁻⁵ h + 0.0387, b = 0.664 + 0.163/f₁. sun is the sun's place,
// elevationM the height above the sea h [m], linke the Linke turbidity T_L at
// air mass 2 [1].
//
// Valid for 1 ≤ linke ≤ 8 and heights up to 3000 m. Special case: nothing when
// the sun is down.
//
// Source: ineichenperez2002 (Ineichen & Perez 2002, Solar Energy 73:151),
// without the later enhancement term; kastenyoung1989 for the air mass, scaled
// by the standard pressure at that height.
func ClearSky(sun Sun, elevationM, linke float64) Clear {
	k := newClearCoefficients(elevationM, linke)
	return k.at(sun.ApparentElevationDeg, sinDeg(sun.ApparentElevationDeg), sun.ExtraterrestrialWM2)
}

// clearCoefficients is what does not change with the sun, worked out once.
type clearCoefficients struct {
	pressureRatio   float64 // station over sea level [1]
	c1, c2, f, b    float64 // [1]
	linke, beamRoom float64 // [1]
}

func newClearCoefficients(elevationM, linke float64) clearCoefficients {
	f1 := math.Exp(-elevationM / 8000)
	f2 := math.Exp(-elevationM / 1250)
	return clearCoefficients{
		pressureRatio: air.Pressure(elevationM) / 101.325,
		c1:            5.09e-5*elevationM + 0.868,
		c2:            3.92e-5*elevationM + 0.0387,
		f:             f1 + f2*(linke-1),
		b:             0.664 + 0.163/f1,
		linke:         linke,
		beamRoom:      1 - (0.1-0.2*math.Exp(-linke))/(0.1+0.882/f1),
	}
}

func (k *clearCoefficients) at(apparentElevationDeg, cosZ, extra float64) Clear {
	if !(apparentElevationDeg > 0) {
		return Clear{}
	}
	m := k.pressureRatio * AirMass(apparentElevationDeg)
	ghi := k.c1 * extra * cosZ * math.Exp(-k.c2*m*k.f)
	dni := math.Min(k.b*extra*math.Exp(-0.09*m*(k.linke-1)), math.Max(0, ghi*k.beamRoom/cosZ))
	return Clear{GHIWM2: ghi, DNIWM2: dni, DHIWM2: ghi - dni*cosZ}
}

// Haurwitz returns the global radiation under a cloudless sky [W/m²] from the
// sun's height alone:
//
//	GHI = 1098 cos z exp(−0.059/cos z)
//
// apparentElevationDeg is the sun's apparent height [°]. Special case: 0 when
// the sun is down.
//
// Source: haurwitz1945 (Haurwitz 1945, J. Meteorology 2:154; 1946, 3:123), the
// coefficients as commonly quoted.
func Haurwitz(apparentElevationDeg float64) float64 {
	if !(apparentElevationDeg > 0) {
		return 0
	}
	cosZ := sinDeg(apparentElevationDeg)
	return 1098 * cosZ * math.Exp(-0.059/cosZ)
}

// CloudFactor returns the share of clear-sky global radiation that comes through
// clouds [1]:
//
//	f = 1 − 0.75 (N/8)^3.4                  for N ≤ 8
//	f = 0.25 (0.11/0.25)^(N−8)              for 8 < N ≤ 9
//
// okta is the cloud cover N in eighths [1]. 9, in weather reports "sky not to be
// seen", stands here for dark rain.
//
// Special case: okta is clipped to 0…9.
//
// Source: kastenczeplak1980 (Kasten & Czeplak 1980, Solar Energy 24:177), eq. 3.
// Departs: the formula never falls below 0.25; under dark rain clouds 8 to 15 %
// remain (common practice, no source), so it is drawn on to 0.11 at 9.
func CloudFactor(okta float64) float64 {
	okta = clamp(okta, 0, 9)
	if okta <= 8 {
		return 1 - 0.75*math.Pow(okta/8, 3.4)
	}
	return 0.25 * math.Pow(0.11/0.25, okta-8)
}

// Look is the sky in a grower's word.
type Look string

// The words, from most to least light.
const (
	LookClear    Look = "clear"
	LookHazy     Look = "hazy"
	LookBroken   Look = "broken"
	LookOvercast Look = "overcast"
	LookDarkRain Look = "dark rain"
)

// Factor returns the share of clear-sky global radiation under a sky that looks
// so, with the range that the word covers [1]. ok is false for another word.
//
// Source: overcast and dark rain from CloudFactor at 8 and 9, broken from
// kastenczeplak1980 at 6 okta; the rest and the ranges are common practice, no source.
func (l Look) Factor() (mid, low, high float64, ok bool) {
	switch l {
	case LookClear:
		return 1, 0.92, 1.05, true
	case LookHazy:
		return 0.85, 0.75, 0.93, true
	case LookBroken:
		return CloudFactor(6), 0.5, 0.85, true
	case LookOvercast:
		return CloudFactor(8), 0.18, 0.4, true
	case LookDarkRain:
		return CloudFactor(9), 0.08, 0.15, true
	}
	return math.NaN(), math.NaN(), math.NaN(), false
}
