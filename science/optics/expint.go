package optics

import "math"

const eulerGamma = 0.57721566490153286

// Coefficients of Abramowitz & Stegun 5.1.53, for 0 ≤ x ≤ 1, |error| < 2e-7.
const (
	c0 = -0.57721566
	c1 = 0.99999193
	c2 = -0.24991055
	c3 = 0.05519968
	c4 = -0.00976004
	c5 = 0.00107857
)

// Coefficients of Abramowitz & Stegun 5.1.56, for x ≥ 1, |error| < 2e-8 of
// x·eˣ·E1.
const (
	a1, b1 = 8.5733287401, 9.5733223454
	a2, b2 = 18.0590169730, 25.6329561486
	a3, b3 = 8.6347608925, 21.0996530827
	a4, b4 = 0.2677737343, 3.9584969228
)

// E1 returns the exponential integral [1]:
//
//	E1(x) = ∫ e^(−t)/t dt from x to infinity
//
// where x is its lower bound [1], to 2e-7 absolute.
//
// Special cases: +Inf for x = 0, NaN for x < 0, 0 where it underflows.
//
// Source: as1964, 5.1.1, approximations 5.1.53 and 5.1.56.
func E1(x float64) float64 {
	switch {
	case x < 0:
		return math.NaN()
	case x <= 0: // only 0 is left: the pole
		return math.Inf(1)
	case x <= 1:
		return c0 + smallPart(x) - math.Log(x) // 5.1.53
	}
	return largeE1(x)
}

// smallPart is the polynomial of 5.1.53 without its constant.
func smallPart(x float64) float64 {
	return x * (c1 + x*(c2+x*(c3+x*(c4+x*c5))))
}

// largeE1 is 5.1.56.
func largeE1(x float64) float64 {
	if x > 700 { // e^-x underflows in the quotient
		return 0
	}
	num := a4 + x*(a3+x*(a2+x*(a1+x)))
	den := b4 + x*(b3+x*(b2+x*(b1+x)))
	return math.Exp(-x) * num / (den * x)
}

// Ein returns the entire exponential integral [1]:
//
//	Ein(x) = ∫ (1 − e^(−t))/t dt from 0 to x = γ + ln x + E1(x)
//
// where x is its upper bound [1], to 2e-7 absolute; below 1e-3 from its series
// x − x²/4, to 1e-10.
//
// Special cases: NaN for x < 0.
//
// Source: as1964, footnote to 5.1 and 5.1.11; E1 as there. For x ≤ 1 the
// logarithms cancel and none is taken.
func Ein(x float64) float64 {
	switch {
	case x < 0:
		return math.NaN()
	case x < 1e-3:
		return x - x*x/4
	case x <= 1:
		return smallPart(x)
	}
	return eulerGamma + math.Log(x) + largeE1(x)
}

// einBetween returns Ein(x0) − Ein(xb) for xb = x0·e^(−tau) ≤ x0.
func einBetween(x0, xb, tau float64) float64 {
	if xb > 1 { // the logarithms differ by tau: none is needed
		return tau + largeE1(x0) - largeE1(xb)
	}
	return Ein(x0) - Ein(xb)
}
