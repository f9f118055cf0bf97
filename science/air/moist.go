package air

import "math"

const (
	gasDry    = 287.042 // gas constant of dry air [J/kg/K], ashrae2017 ch. 1
	gasVapour = 461.524 // gas constant of water vapour [J/kg/K], ashrae2017 ch. 1
)

// HumidityRatio returns the mass of vapour carried by a mass of dry air [kg/kg]:
//
//	W = 0.621945 e / (P − e)
//
// vapourKPa is e [kPa], pressureKPa the station pressure P [kPa].
//
// Special case: NaN when the vapour pressure reaches the station pressure.
//
// Source: ashrae2017, eq. 20.
func HumidityRatio(vapourKPa, pressureKPa float64) float64 {
	if !(vapourKPa < pressureKPa) {
		return math.NaN()
	}
	return ratioM * vapourKPa / (pressureKPa - vapourKPa) // eq. 20
}

// VapourFromRatio returns the vapour pressure [kPa], the inverse of
// HumidityRatio, where ratio is W [kg/kg] and pressureKPa the station pressure [kPa].
func VapourFromRatio(ratio, pressureKPa float64) float64 {
	return pressureKPa * ratio / (ratioM + ratio)
}

// Enthalpy returns the enthalpy of moist air per mass of dry air [J/kg], from
// dry air and liquid water at 0 °C:
//
//	h = 1006 T + W (2 501 000 + 1860 T)
//
// tempC is the air temperature T [°C], ratio the humidity ratio W [kg/kg].
//
// Source: ashrae2017, eq. 30.
func Enthalpy(tempC, ratio float64) float64 {
	return 1006*tempC + ratio*(2.501e6+1860*tempC) // eq. 30
}

// HeatCapacity returns the heat capacity at constant pressure of moist air per
// mass of dry air [J/kg/K], where ratio is the humidity ratio [kg/kg].
//
// Source: ashrae2017, eq. 30 derived by temperature.
func HeatCapacity(ratio float64) float64 { return 1006 + 1860*ratio }

// Density returns the density of moist air [kg/m³], vapour included:
//
//	ρ = (P − e)/(R_d T) + e/(R_v T)
//
// tempC is the air temperature [°C], vapourKPa is e [kPa] (0 for dry air) and
// pressureKPa the station pressure P [kPa].
//
// Special case: NaN below absolute zero.
//
// Source: ashrae2017, ch. 1 (perfect gas relations).
func Density(tempC, vapourKPa, pressureKPa float64) float64 {
	t := tempC + kelvin
	if !(t > 0) {
		return math.NaN()
	}
	return 1e3 * ((pressureKPa-vapourKPa)/gasDry + vapourKPa/gasVapour) / t
}

// Volume returns the volume of moist air that holds a mass of dry air [m³/kg],
// where tempC is the air temperature [°C], vapourKPa the vapour pressure [kPa]
// and pressureKPa the station pressure [kPa].
//
// Special case: NaN when the vapour pressure reaches the station pressure.
//
// Source: ashrae2017, eq. 26.
func Volume(tempC, vapourKPa, pressureKPa float64) float64 {
	if !(vapourKPa < pressureKPa) {
		return math.NaN()
	}
	return gasDry * (tempC + kelvin) / (1e3 * (pressureKPa - vapourKPa))
}

// LatentHeat returns the heat that evaporates a mass of water [J/kg]:
//
//	L = 2.501·10⁶ − 2361 T
//
// tempC is the temperature of the water surface T [°C]. Valid for 0 ≤ tempC ≤
// 50, within 0.1 %. FAO-56 fixes 2.45·10⁶ instead, the value at 21.6 °C.
//
// Source: fao56, annex 3, eq. 3-1 (Harrison 1963).
func LatentHeat(tempC float64) float64 { return 2.501e6 - 2361*tempC }

// PsychrometricConstant returns γ [kPa/K]:
//
//	γ = c_p P / (ε L) = 0.665·10⁻³ P
//
// pressureKPa is the station pressure P [kPa].
//
// Source: fao56, eq. 8 (c_p 1.013 kJ/kg/K, ε 0.622, L 2.45 MJ/kg).
func PsychrometricConstant(pressureKPa float64) float64 { return 0.665e-3 * pressureKPa }

// WetBulb returns the thermodynamic wet-bulb temperature [°C], to 1e-9 K:
//
//	W = ((2501 − 2.326 T*) W_s(T*) − 1.006 (T − T*)) / (2501 + 1.86 T − 4.186 T*)
//
// tempC is the air temperature T [°C], vapourKPa the vapour pressure that gives
// W [kPa], pressureKPa the station pressure [kPa]. It is taken over liquid
// water below 0 °C too.
//
// Valid while the air could hold its own saturation vapour (below boiling).
// Special cases: tempC for saturated and foggy air; NaN for a negative vapour
// pressure or air at or above its boiling point.
//
// Source: ashrae2017, eq. 33.
func WetBulb(tempC, vapourKPa, pressureKPa float64) float64 {
	sat := Saturation(tempC)
	if !(vapourKPa >= 0) || !(sat < pressureKPa) {
		return math.NaN()
	}
	if vapourKPa >= sat {
		return tempC
	}
	w := HumidityRatio(vapourKPa, pressureKPa)
	// excess falls to 0 from below as the trial rises; it is nearly straight,
	// so a bracketed Newton step needs four or five rounds.
	lo, hi := -120.0, tempC
	x := tempC - (sat-vapourKPa)/(0.065+0.4*sat/10) // rough start
	if !(x > lo && x < hi) {
		x = (lo + hi) / 2
	}
	for range 100 {
		e, slope := SaturationSlope(x)
		ws := ratioM * e / (pressureKPa - e)
		dws := ratioM * pressureKPa * slope / ((pressureKPa - e) * (pressureKPa - e))
		// eq. 33 multiplied out: f = (2501−2.326x)Ws − 1.006(T−x) − W(2501+1.86T−4.186x)
		f := (2501-2.326*x)*ws - 1.006*(tempC-x) - w*(2501+1.86*tempC-4.186*x)
		d := (2501-2.326*x)*dws - 2.326*ws + 1.006 + 4.186*w
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/d
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < 1e-10 {
			return next
		}
		x = next
	}
	return x
}

// WaterDensity returns the density of pure water at one atmosphere [kg/m³],
// where tempC is its temperature [°C]. Valid for 0 ≤ tempC ≤ 100, to 0.01 kg/m³.
//
// Source: kell1975 (Kell 1975, J. Chem. Eng. Data 20:97), eq. 16.
func WaterDensity(tempC float64) float64 {
	t := tempC
	return (999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+
		t*(105.56302e-9+t*-280.54253e-12))))) / (1 + 16.879850e-3*t) // eq. 16
}
