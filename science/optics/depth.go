package optics

import "math"

// thin is the optical depth below which the closed forms lose digits by taking
// a small difference over a small number, and Gauss's rule with three nodes is
// exact to 1e-7.
const thin = 0.3

// Nodes and weights of Gauss–Legendre with three points on 0–1 (as1964, table
// 25.4: ±0.774596669 and 0, weights 5/9 and 8/9 on −1 to 1).
const (
	gaussOff   = 0.38729833462074169
	gaussEdge  = 5.0 / 18
	gaussMid   = 8.0 / 18
	gaussShift = 0.5
)

// MeanLight returns the depth mean of light that dies away exponentially, as a
// share of what enters [1]:
//
//	(1 − e^(−τ))/τ
//
// where tau is the optical depth of the whole layer, τ [1].
//
// Special cases: 1 for tau = 0, NaN for NaN.
//
// Source: the integral of the law of Beer and Lambert.
func MeanLight(tau float64) float64 {
	if tau < 1e-8 { // the quotient is 1 − τ/2 and Expm1 would be 0/0 at 0
		return 1 - tau/2
	}
	return -math.Expm1(-tau) / tau
}

// MeanSaturation returns the depth mean of a rate that saturates, as a share
// of the saturated rate [1]:
//
//	∫ 1 − exp(−x₀ e^(−τs)) ds from 0 to 1 = [Ein(x₀) − Ein(x₀ e^(−τ))]/τ
//
// where x0 is the light just below the surface over the light of saturation,
// x₀ [1], and tau is the optical depth of the layer, τ [1]. To 1e-6 absolute.
//
// Special cases: 0 for x0 ≤ 0, 1 − exp(−x0) for tau = 0.
//
// Source: the integral, with Ein of as1964 5.1.
func MeanSaturation(x0, tau float64) float64 {
	if x0 <= 0 {
		return 0
	}
	if tau < thin {
		return thinSaturation(x0, tau)
	}
	return einBetween(x0, x0*math.Exp(-tau), tau) / tau
}

func thinSaturation(x0, tau float64) float64 {
	mid := x0 * math.Exp(-gaussShift*tau)
	step := math.Exp(-gaussOff * tau)
	return -gaussEdge*(math.Expm1(-mid*step)+math.Expm1(-mid/step)) - gaussMid*math.Expm1(-mid)
}

// MeanExcess returns the depth mean of what of the light lies above a
// threshold [1]:
//
//	∫ max(0, x − c) ds = [x₀ − xₗ − c ln(x₀/xₗ)]/τ,  xₗ = max(x₀ e^(−τ), c)
//
// where x0 is the light just below the surface over the light of saturation,
// x₀ [1], tau is the optical depth of the layer, τ [1], and threshold is c, in
// the same measure as x0 [1].
//
// Special cases: 0 for x0 ≤ threshold; x0 − threshold for tau = 0.
//
// Source: the integral.
func MeanExcess(x0, tau, threshold float64) float64 {
	if x0 <= threshold {
		return 0
	}
	if tau < 1e-8 {
		return x0 - threshold
	}
	return excess(x0, x0*math.Exp(-tau), tau, threshold)
}

// excess is MeanExcess for x0 above the threshold and xb at the floor.
func excess(x0, xb, tau, threshold float64) float64 {
	if xb > threshold { // bright down to the floor: no kink inside
		return x0*MeanLight(tau) - threshold
	}
	e := x0 - threshold
	if r := e / threshold; r < 1e-3 {
		// e − c ln(1 + e/c) is a small difference of large numbers here: its series.
		return e * r * (0.5 - r/3 + r*r/4) / tau
	}
	return (e - threshold*math.Log(x0/threshold)) / tau
}

// Means are the depth means of one layer of water.
type Means struct {
	Light      float64 // of the light, as a share of what enters [1]
	Saturation float64 // of the saturating rate, as MeanSaturation [1]
	Excess     float64 // of the light above the threshold, as MeanExcess [1]
}

// DepthMeans returns MeanLight [1], MeanSaturation [1] and MeanExcess [1] of
// one layer together, for one exponential of the depth instead of three. x0 is
// the light just below the surface over the light of saturation [1], tau the
// optical depth of the layer [1] and threshold that of MeanExcess [1].
func DepthMeans(x0, tau, threshold float64) Means {
	if x0 <= 0 {
		return Means{Light: MeanLight(tau)}
	}
	if tau < thin {
		return Means{MeanLight(tau), thinSaturation(x0, tau), MeanExcess(x0, tau, threshold)}
	}
	fall := math.Exp(-tau)
	xb := x0 * fall
	m := Means{Light: (1 - fall) / tau, Saturation: einBetween(x0, xb, tau) / tau}
	if x0 > threshold {
		m.Excess = excess(x0, xb, tau, threshold)
	}
	return m
}
