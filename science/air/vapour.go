package air

import "math"

const (
	kelvin = 273.15   // 0 °C [K]
	critT  = 647.096  // critical temperature of water [K], wagnerpruss1993
	critP  = 22064.0  // critical pressure of water [kPa], wagnerpruss1993
	ratioM = 0.621945 // molar mass of water over that of dry air [1], ashrae2017 ch. 1
)

// Saturation returns the vapour pressure over flat liquid water [kPa]:
//
//	ln(e/p_c) = T_c/T (a₁θ + a₂θ^1.5 + a₃θ³ + a₄θ^3.5 + a₅θ⁴ + a₆θ^7.5),  θ = 1 − T/T_c
//
// tempC is the temperature of water and vapour [°C]. This is the one to use
// unless a standard asks for its own form (SaturationFAO).
//
// Valid for 0.01 ≤ tempC ≤ 374; below, it runs on smoothly over supercooled
// water. It is the pure vapour's pressure: air lifts it by about 0.4 %
// (the enhancement factor), which is left out here as it is in field work.
//
// Special cases: NaN below absolute zero and above the critical point.
//
// Source: wagnerpruss1993 (Wagner & Pruss 1993, J. Phys. Chem. Ref. Data 22:783), eq. 1.
func Saturation(tempC float64) float64 {
	e, _ := SaturationSlope(tempC)
	return e
}

// SaturationSlope returns the vapour pressure over liquid water [kPa] and its
// slope with temperature [kPa/K] in one go:
//
//	de/dT = −e/T (ln(e/p_c) + a₁ + 1.5a₂θ^0.5 + 3a₃θ² + 3.5a₄θ^2.5 + 4a₅θ³ + 7.5a₆θ^6.5)
//
// tempC is the temperature [°C]. Range and special cases as for Saturation.
//
// Source: wagnerpruss1993, eq. 1 and its derivative.
func SaturationSlope(tempC float64) (kPa, kPaPerK float64) {
	const (
		a1 = -7.85951783
		a2 = 1.84408259
		a3 = -11.7866497
		a4 = 22.6807411
		a5 = -15.9618719
		a6 = 1.80122502
	)
	t := tempC + kelvin
	if !(t > 0 && t <= critT) {
		return math.NaN(), math.NaN()
	}
	th := 1 - t/critT
	r := math.Sqrt(th)
	th2 := th * th
	th3 := th2 * th
	th6 := th3 * th3
	ln := critT / t * (a1*th + a2*th*r + a3*th3 + a4*th3*r + a5*th3*th + a6*th6*th*r) // eq. 1
	e := critP * math.Exp(ln)
	d := a1 + 1.5*a2*r + 3*a3*th2 + 3.5*a4*th2*r + 4*a5*th3 + 7.5*a6*th6*r
	return e, -e / t * (ln + d)
}

// SaturationHylandWexler returns the vapour pressure over liquid water [kPa] in
// the form that the psychrometric tables of the handbooks were made with:
//
//	ln e = C₈/T + C₉ + C₁₀T + C₁₁T² + C₁₂T³ + C₁₃ ln T   (e in Pa)
//
// tempC is the temperature [°C]. Valid for 0 ≤ tempC ≤ 200. It lies up to
// 0.03 % under Saturation; kept for comparison with tables.
//
// Special case: NaN below absolute zero.
//
// Source: ashrae2017 (ASHRAE Handbook Fundamentals 2017, ch. 1), eq. 6, after
// Hyland & Wexler 1983.
func SaturationHylandWexler(tempC float64) float64 {
	t := tempC + kelvin
	if !(t > 0) {
		return math.NaN()
	}
	return 1e-3 * math.Exp(-5.8002206e3/t+1.3914993+t*(-4.8640239e-2+t*(4.1764768e-5+t*-1.4452093e-8))+
		6.5459673*math.Log(t)) // eq. 6
}

// SaturationFAO returns the vapour pressure over liquid water [kPa] as FAO-56
// has it (the Tetens form):
//
//	e° = 0.6108 exp(17.27 T / (T + 237.3))
//
// tempC is the temperature [°C]. Valid for about 0 ≤ tempC ≤ 50, where it lies
// up to 0.13 % under Saturation. Only for figures that are defined by FAO-56.
//
// Special case: NaN at and below −237.3 °C.
//
// Source: fao56 (Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage
// Paper 56), eq. 11.
func SaturationFAO(tempC float64) float64 {
	if !(tempC > -237.3) {
		return math.NaN()
	}
	return 0.6108 * math.Exp(17.27*tempC/(tempC+237.3)) // eq. 11
}

// SlopeFAO returns the slope of the FAO-56 saturation curve [kPa/K]:
//
//	Δ = 4098 e° / (T + 237.3)²
//
// tempC is the temperature [°C].
//
// Special case: NaN at and below −237.3 °C.
//
// Source: fao56, eq. 13.
func SlopeFAO(tempC float64) float64 {
	x := tempC + 237.3
	return 4098 * SaturationFAO(tempC) / (x * x) // eq. 13
}

// DewPoint returns the temperature at which air of this moisture would be
// saturated over liquid water [°C], the inverse of Saturation, to 1e-9 K.
// vapourKPa is the vapour pressure [kPa].
//
// Valid for vapour pressures from 0.001 to 100 kPa. Below 0.6117 kPa it is the
// dew point over supercooled water; a frost point would be a little higher.
//
// Special cases: −Inf for 0; NaN for a negative pressure or one above the
// critical point.
func DewPoint(vapourKPa float64) float64 {
	switch {
	case vapourKPa == 0:
		return math.Inf(-1)
	case !(vapourKPa > 0 && vapourKPa <= critP):
		return math.NaN()
	}
	// Newton on ln e against 1/T, in which the curve is nearly straight; the
	// start is the inverse of the FAO form.
	want := math.Log(vapourKPa)
	l := math.Log(vapourKPa / 0.6108)
	tempC := 237.3 * l / (17.27 - l)
	tempC = math.Min(math.Max(tempC, -200), critT-kelvin-1e-6)
	for range 50 {
		e, slope := SaturationSlope(tempC)
		t := tempC + kelvin
		// d ln e / d(1/T) = −T² slope/e
		inv := 1/t - (want-math.Log(e))/(t*t*slope/e)
		next := 1/inv - kelvin
		if !(next < critT-kelvin) { // the last step beyond the critical point: halve it
			next = (tempC + critT - kelvin) / 2
		}
		if math.Abs(next-tempC) < 1e-10 {
			return next
		}
		tempC = next
	}
	return tempC
}

// RelativeHumidity returns the relative humidity over liquid water [%], where
// vapourKPa is the vapour pressure [kPa] and tempC the air temperature [°C].
func RelativeHumidity(vapourKPa, tempC float64) float64 {
	return 100 * vapourKPa / Saturation(tempC)
}

// VapourFromRH returns the vapour pressure [kPa], where rhPct is the relative
// humidity over liquid water [%] and tempC the air temperature [°C].
func VapourFromRH(rhPct, tempC float64) float64 {
	return rhPct / 100 * Saturation(tempC)
}

// VapourFromWetBulb returns the vapour pressure [kPa] from a psychrometer:
//
//	e = e°(T_wet) − a P (T_dry − T_wet)
//
// dryC and wetC are what the two thermometers read [°C], pressureKPa is the
// station pressure [kPa], coefficient is a [1/K]: 0.000662 for a ventilated
// instrument (about 5 m/s), 0.000800 for natural ventilation (about 1 m/s),
// 0.001200 for one indoors without any.
//
// Special case: below 0 when the readings contradict each other.
//
// Source: fao56, eq. 15 and 16; the vapour pressure is Saturation.
func VapourFromWetBulb(dryC, wetC, pressureKPa, coefficient float64) float64 {
	return Saturation(wetC) - coefficient*pressureKPa*(dryC-wetC) // eq. 15
}
