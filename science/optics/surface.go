package optics

import "math"

// WaterIndex is the refractive index of water for photons of 400–700 nm [1],
// against air, at about 20–30 °C and with a few grams of salt per litre.
//
// Source: kirk2011, section 2.5 (1.33 fresh to 1.34 sea water; from memory).
const WaterIndex = 1.34

// DiffuseReflectance is the share of evenly diffuse light that a flat water
// surface of index WaterIndex sends back [1], the mean of Fresnel over the
// hemisphere weighted with the cosine.
//
// Source: the integral itself; the test does it by fine quadrature.
const DiffuseReflectance = 0.0675

// Fresnel returns the share of an unpolarised beam that a flat water surface
// of index WaterIndex reflects [1], where cosZenith is the cosine of the
// beam's angle from the vertical in air [1].
//
// Special cases: 1 for a beam from the horizon or from below, NaN for NaN.
//
// Source: as FresnelIndex.
func Fresnel(cosZenith float64) float64 { return FresnelIndex(cosZenith, WaterIndex) }

// FresnelIndex returns the share of an unpolarised beam that a flat, smooth
// surface reflects [1]:
//
//	Rs = ((c − n·w)/(c + n·w))²,  Rp = ((n·c − w)/(n·c + w))²,  R = (Rs + Rp)/2
//	w² = 1 − (1 − c²)/n²
//
// where cosZenith is c, the cosine of the angle of incidence [1], and index is
// n, the refractive index below over that above [1].
//
// Valid for index ≥ 1 and a smooth surface; ripples lower it for a low sun.
//
// Special cases: 1 for cosZenith ≤ 0, the value at 1 for cosZenith > 1.
//
// Source: bornwolf1999, section 1.5.2, eqs. 21, 22; Snell's law eq. 8.
func FresnelIndex(cosZenith, index float64) float64 {
	if cosZenith <= 0 {
		return 1
	}
	c := min(cosZenith, 1)
	return reflect(c, RefractIndex(c, index), index)
}

// reflect is the mean of Rs and Rp over one common denominator.
func reflect(c, w, index float64) float64 {
	as, bs := c-index*w, c+index*w // eq. 21
	ap, bp := index*c-w, index*c+w // eq. 22
	s, p := as*bp, ap*bs
	b := bs * bp
	return (s*s + p*p) / (2 * b * b)
}

// Enter returns what of a beam passes a flat water surface of index WaterIndex
// [1] and the cosine of the angle at which it goes on [1], 1 − Fresnel and
// Refract at the cost of one root. cosZenith is the cosine of the beam's angle
// from the vertical in air [1].
//
// Special cases: as Fresnel and Refract.
func Enter(cosZenith float64) (share, cosine float64) {
	w := RefractIndex(cosZenith, WaterIndex)
	if cosZenith <= 0 {
		return 0, w
	}
	return 1 - reflect(min(cosZenith, 1), w, WaterIndex), w
}

// Refract returns the cosine of the angle from the vertical [1] at which a
// beam goes on below a flat water surface of index WaterIndex, where cosZenith
// is the cosine of its angle from the vertical in air [1].
//
// Special cases: a beam from the horizon or below is taken as grazing, so the
// result is never less than the cosine of the critical angle.
//
// Source: as FresnelIndex.
func Refract(cosZenith float64) float64 { return RefractIndex(cosZenith, WaterIndex) }

// RefractIndex returns the cosine of the refracted angle [1] by Snell's law:
//
//	w = √(1 − (1 − c²)/n²)
//
// where cosZenith is c, the cosine of the angle of incidence [1], clipped to
// 0–1, and index is n, the refractive index below over that above [1].
//
// Valid for index ≥ 1.
//
// Source: bornwolf1999, section 1.5.1, eq. 8.
func RefractIndex(cosZenith, index float64) float64 {
	c := min(max(cosZenith, 0), 1)
	return math.Sqrt(1 - (1-c*c)/(index*index))
}
