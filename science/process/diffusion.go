package process

import "math"

// besselZeros are the first zeros of the Bessel function J₀ [1]; later ones
// follow McMahon's expansion. Source: as1964, table 9.5.
var besselZeros = [...]float64{2.4048255577, 5.5200781103, 8.6537279129, 11.7915344391, 14.9309177086}

// StrandRate returns the rate at which a round strand dries when water has to
// find its way out of it [1/s], the first term of the series:
//
//	k = λ₁² D/R²,  λ₁ = 2.4048
//
// diffusivityM2S is D [m²/s] (1.7·10⁻¹⁰ in nearly dry paste to 9.4·10⁻⁹ in wet:
// tiendrebeogo2015), diameterMM the strand's diameter 2R [mm]. This is what the
// paste allows; on a tray the air mostly allows less.
//
// Special case: NaN for what is not positive.
//
// Source: crank1975, eq. 5.23.
func StrandRate(diffusivityM2S, diameterMM float64) float64 {
	if !(diffusivityM2S > 0 && diameterMM > 0) {
		return math.NaN()
	}
	r := diameterMM / 2000
	return besselZeros[0] * besselZeros[0] * diffusivityM2S / (r * r)
}

// LayerRate returns the rate at which a layer on a closed tray dries [1/s], from
// one face, by the first term of the series:
//
//	k = π² D/(4 L²)
//
// diffusivityM2S is D [m²/s], thicknessMM the layer's thickness L [mm].
//
// Special case: NaN for what is not positive.
//
// Source: crank1975, eq. 4.18, with the tray as the plane of symmetry.
func LayerRate(diffusivityM2S, thicknessMM float64) float64 {
	if !(diffusivityM2S > 0 && thicknessMM > 0) {
		return math.NaN()
	}
	l := thicknessMM / 1000
	return math.Pi * math.Pi * diffusivityM2S / (4 * l * l)
}

// StrandRatio returns the moisture ratio of a round strand [1]:
//
//	MR = Σ 4/λᵢ² exp(−λᵢ² D t/R²)
//
// diffusivityM2S is D [m²/s], diameterMM is 2R [mm], timeS is t [s].
//
// Special case: NaN for what is not positive; the time may be 0.
//
// Source: crank1975, eq. 5.23.
func StrandRatio(diffusivityM2S, diameterMM, timeS float64) float64 {
	k := StrandRate(diffusivityM2S, diameterMM)
	if math.IsNaN(k) || !(timeS >= 0) {
		return math.NaN()
	}
	tau := k * timeS / (besselZeros[0] * besselZeros[0])
	if tau < 1e-5 { // the series is slow at first: there the strand is as a flat wall
		return 1 - 4*math.Sqrt(tau/math.Pi) + tau // crank1975, eq. 5.26
	}
	sum := 0.0
	for i := 0; i < 3000; i++ {
		z := besselZero(i)
		term := 4 / (z * z) * math.Exp(-z*z*tau)
		sum += term
		if term < 1e-14 {
			break
		}
	}
	return math.Min(1, sum)
}

func besselZero(i int) float64 {
	if i < len(besselZeros) {
		return besselZeros[i]
	}
	b := (float64(i+1) - 0.25) * math.Pi // as1964, eq. 9.5.12
	return b + 1/(8*b) - 124/(3*math.Pow(8*b, 3))
}

// LayerRatio returns the moisture ratio of a layer on a closed tray [1]:
//
//	MR = Σ 8/((2i+1)²π²) exp(−(2i+1)² π² D t/(4 L²)),  i = 0, 1, …
//
// diffusivityM2S is D [m²/s], thicknessMM is L [mm], timeS is t [s].
//
// Special case: NaN for what is not positive; the time may be 0.
//
// Source: crank1975, eq. 4.18.
func LayerRatio(diffusivityM2S, thicknessMM, timeS float64) float64 {
	k := LayerRate(diffusivityM2S, thicknessMM)
	if math.IsNaN(k) || !(timeS >= 0) {
		return math.NaN()
	}
	x := k * timeS
	if x < 1e-4 {
		return 1 - 2*math.Sqrt(x*4/(math.Pi*math.Pi)/math.Pi) // crank1975, eq. 4.20
	}
	sum := 0.0
	for i := range 2000 {
		m := float64(2*i + 1)
		term := 8 / (m * m * math.Pi * math.Pi) * math.Exp(-m*m*x)
		sum += term
		if term < 1e-14 {
			break
		}
	}
	return math.Min(1, sum)
}
