package num

import (
	"errors"
	"math"
)

// ErrNoBracket says that a function has one sign at both ends.
var ErrNoBracket = errors.New("num: the function has the same sign at both ends")

// Root returns x [unit of x] between lo and hi where f crosses zero, to tol in x, by
// bisection steered with false position (the Illinois rule). lo, hi and tol
// are in the unit of x [unit of x]. f(lo) and f(hi) must differ in sign.
func Root(f func(float64) float64, lo, hi, tol float64) (float64, error) {
	flo, fhi := f(lo), f(hi)
	switch {
	case flo == 0:
		return lo, nil
	case fhi == 0:
		return hi, nil
	case math.Signbit(flo) == math.Signbit(fhi) || math.IsNaN(flo) || math.IsNaN(fhi):
		return math.NaN(), ErrNoBracket
	}
	for range 200 {
		x := (lo*fhi - hi*flo) / (fhi - flo)
		if !(x > min(lo, hi) && x < max(lo, hi)) {
			x = 0.5 * (lo + hi)
		}
		fx := f(x)
		if fx == 0 || math.Abs(hi-lo) < tol {
			return x, nil
		}
		if math.Signbit(fx) == math.Signbit(fhi) {
			hi, fhi = x, fx
			flo /= 2 // the Illinois rule: the end that stays counts half
		} else {
			lo, flo = hi, fhi
			hi, fhi = x, fx
		}
	}
	return 0.5 * (lo + hi), nil
}
