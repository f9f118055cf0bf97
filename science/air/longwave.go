package air

import "math"

// StefanBoltzmann is σ [W/m²/K⁴]. Source: CODATA 2018, exact since 2019.
const StefanBoltzmann = 5.670374419e-8

// BrutsaertEmissivity returns the emissivity of a clear sky [1]:
//
//	ε = 1.24 (e/T)^(1/7)   (e in hPa, T in K)
//
// tempC is the air temperature near the ground [°C], vapourKPa its vapour
// pressure [kPa].
//
// Source: brutsaert1975 (Brutsaert 1975, Water Resour. Res. 11:742), eq. 11.
func BrutsaertEmissivity(tempC, vapourKPa float64) float64 {
	return 1.24 * math.Pow(10*vapourKPa/(tempC+kelvin), 1.0/7) // eq. 11
}

// BerdahlMartinEmissivity returns the emissivity of a clear sky as the mean
// over 24 hours [1]:
//
//	ε = 0.711 + 0.56 (T_d/100) + 0.73 (T_d/100)²
//
// dewC is the dew point near the ground T_d [°C]. Valid for −13 ≤ dewC ≤ 24.
//
// Source: berdahlmartin1984 (Berdahl & Martin 1984, Solar Energy 32:663). The
// small terms for the hour and for pressure are left out.
func BerdahlMartinEmissivity(dewC float64) float64 {
	x := dewC / 100
	return 0.711 + x*(0.56+0.73*x)
}

// PrataEmissivity returns the emissivity of a clear sky [1]:
//
//	ε = 1 − (1 + w) exp(−√(1.2 + 3w)),  w = 46.5 e/T   (e in hPa, T in K; w in cm of water)
//
// tempC is the air temperature near the ground [°C], vapourKPa its vapour
// pressure [kPa].
//
// Source: prata1996 (Prata 1996, Q. J. R. Meteorol. Soc. 122:1127), eq. 14-16.
func PrataEmissivity(tempC, vapourKPa float64) float64 {
	w := 46.5 * 10 * vapourKPa / (tempC + kelvin)
	return 1 - (1+w)*math.Exp(-math.Sqrt(1.2+3*w))
}

// SkyEmissivity returns the emissivity of the sky with its clouds [1]:
//
//	ε = c + (1 − c) ε_clear
//
// tempC is the air temperature near the ground [°C], vapourKPa its vapour
// pressure [kPa], cloud is c [1]: 0 clear, 1 wholly overcast; as a number from
// radiation it is one minus the measured over the clear-sky irradiance.
//
// The clear sky is Prata's: its dry limit is right (0.67 with no vapour at all,
// where Brutsaert falls to 0), it lies within 0.02 of the two others from 20 °C
// up, and on the one measured winter day at hand (San Luis Valley, 2317 m,
// 1 January 2016) its bias by night was −10 W/m², theirs −38 and −25.
//
// Special case: cloud is clipped to 0…1.
//
// Source: prata1996 for the clear sky; crawfordduchon1999 (Crawford & Duchon
// 1999, J. Appl. Meteorol. 38:474), eq. 3, for the clouds, from memory.
func SkyEmissivity(tempC, vapourKPa, cloud float64) float64 {
	cloud = math.Min(math.Max(cloud, 0), 1)
	return cloud + (1-cloud)*PrataEmissivity(tempC, vapourKPa)
}

// Longwave returns the radiation of a body at a temperature [W/m²], ε σ T⁴,
// where emissivity is ε [1] and tempC its temperature [°C]. For the sky, take
// SkyEmissivity and the air temperature near the ground.
func Longwave(emissivity, tempC float64) float64 {
	t := tempC + kelvin
	return emissivity * StefanBoltzmann * (t * t) * (t * t)
}
