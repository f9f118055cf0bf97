package assay

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Interval is a range that holds the truth with a stated confidence.
type Interval struct {
	Low  float64 // lower end [unit of its quantity]
	High float64 // upper end [unit of its quantity]
}

// Scale returns the interval of a quantity that is factor [any] times this one.
func (i Interval) Scale(factor float64) Interval { return Interval{i.Low * factor, i.High * factor} }

// Holds reports whether x [unit of its quantity] lies within.
func (i Interval) Holds(x float64) bool { return x >= i.Low && x <= i.High }

// Meets reports whether two intervals have a point in common.
func (i Interval) Meets(o Interval) bool { return i.Low <= o.High && o.Low <= i.High }

var nowhere = Interval{math.NaN(), math.NaN()}

func proper(confidence float64) bool { return confidence > 0 && confidence < 1 }

// Poisson returns the exact two-sided interval of an expected count [1]
// (Garwood's):
//
//	low = G⁻¹(α/2; N),  high = G⁻¹(1 − α/2; N + 1),  α = 1 − confidence
//
// with G⁻¹(p; a) the p-quantile of the gamma distribution of shape a. counted
// is N, what was counted [1]; it need not be whole (see Clumped). confidence is
// the probability that the interval holds the truth, at least [1].
//
// Special cases: low is 0 for a count of 0; NaN for a negative count and a
// confidence outside 0…1.
//
// Source: garwood1936; in this form ulm1990.
func Poisson(counted, confidence float64) Interval {
	if !(counted >= 0) || math.IsInf(counted, 0) || !proper(confidence) {
		return nowhere
	}
	half := (1 - confidence) / 2
	return Interval{gammaLow(counted, half), gammaHigh(counted, half)}
}

// PoissonUpper returns the exact one-sided upper bound of an expected count
// [1], where counted is what was counted [1] and confidence the probability
// that the truth lies below, at least [1]. For a count of 0 at 0.95 it is
// 2.9957, the "three" of the rule of three.
//
// Special case: NaN as for Poisson.
//
// Source: garwood1936.
func PoissonUpper(counted, confidence float64) float64 {
	if !(counted >= 0) || math.IsInf(counted, 0) || !proper(confidence) {
		return math.NaN()
	}
	return gammaHigh(counted, 1-confidence)
}

// PoissonLower returns the exact one-sided lower bound of an expected count
// [1], where counted is what was counted [1] and confidence the probability
// that the truth lies above, at least [1].
//
// Special cases: 0 for a count of 0; NaN as for Poisson.
//
// Source: garwood1936.
func PoissonLower(counted, confidence float64) float64 {
	if !(counted >= 0) || math.IsInf(counted, 0) || !proper(confidence) {
		return math.NaN()
	}
	return gammaLow(counted, 1-confidence)
}

func gammaLow(counted, tail float64) float64 {
	if !(counted > 0) {
		return 0
	}
	return mathext.GammaIncRegInv(counted, tail)
}

func gammaHigh(counted, tail float64) float64 { return mathext.GammaIncRegCompInv(counted+1, tail) }

// ClopperPearson returns the exact two-sided interval of a share [1]:
//
//	low = B⁻¹(α/2; k, n − k + 1),  high = B⁻¹(1 − α/2; k + 1, n − k)
//
// with B⁻¹ the quantile of the beta distribution. found is k of seen, n;
// confidence is the probability that the interval holds the truth, at least [1].
//
// Special case: NaN unless 0 ≤ found ≤ seen, seen > 0 and 0 < confidence < 1.
//
// Source: clopperpearson1934.
func ClopperPearson(found, seen int, confidence float64) Interval {
	if !share(found, seen, confidence) {
		return nowhere
	}
	half := (1 - confidence) / 2
	return Interval{betaLow(found, seen, half), betaHigh(found, seen, half)}
}

// ShareUpper returns the exact one-sided upper bound of a share [1] (Clopper and
// Pearson's), where found is k of seen, n, and confidence the probability that
// the truth lies below, at least [1]. With none found it is 1 − (1 − confidence)^(1/n).
//
// Special case: NaN as for ClopperPearson.
//
// Source: clopperpearson1934.
func ShareUpper(found, seen int, confidence float64) float64 {
	if !share(found, seen, confidence) {
		return math.NaN()
	}
	return betaHigh(found, seen, 1-confidence)
}

// ShareLower returns the exact one-sided lower bound of a share [1], where found
// is k of seen, n, and confidence the probability that the truth lies above, at
// least [1].
//
// Special case: NaN as for ClopperPearson.
//
// Source: clopperpearson1934.
func ShareLower(found, seen int, confidence float64) float64 {
	if !share(found, seen, confidence) {
		return math.NaN()
	}
	return betaLow(found, seen, 1-confidence)
}

func share(found, seen int, confidence float64) bool {
	return seen > 0 && found >= 0 && found <= seen && proper(confidence)
}

func betaLow(k, n int, tail float64) float64 {
	if k == 0 {
		return 0
	}
	if k == n {
		return math.Exp(math.Log(tail) / float64(n)) // p^n = tail
	}
	return mathext.InvRegIncBeta(float64(k), float64(n-k+1), tail)
}

func betaHigh(k, n int, tail float64) float64 {
	if k == n {
		return 1
	}
	if k == 0 {
		return -math.Expm1(math.Log(tail) / float64(n)) // (1 − p)^n = tail
	}
	return mathext.InvRegIncBeta(float64(k+1), float64(n-k), 1-tail)
}

// Wilson returns Wilson's score interval of a share [1]:
//
//	(p + z²/2n ± z √(p(1 − p)/n + z²/4n²)) / (1 + z²/n),  p = k/n
//
// found is k of seen, n; confidence is the nominal probability [1]: it is kept
// on the average over shares, where ClopperPearson keeps it for each.
//
// Special case: NaN as for ClopperPearson.
//
// Source: wilson1927; newcombe1998, method 3.
func Wilson(found, seen int, confidence float64) Interval {
	if !share(found, seen, confidence) {
		return nowhere
	}
	n, p, z := float64(seen), float64(found)/float64(seen), normalTwoSided(confidence)
	mid := p + z*z/(2*n)
	half := z * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return clip(Interval{(mid - half) / (1 + z*z/n), (mid + half) / (1 + z*z/n)}, found, seen)
}

// WilsonContinuity returns Wilson's score interval of a share with a correction
// for continuity [1]:
//
//	low = (2np + z² − 1 − z √(z² − 2 − 1/n + 4p(n(1 − p) + 1))) / (2(n + z²))
//	high = (2np + z² + 1 + z √(z² + 2 − 1/n + 4p(n(1 − p) − 1))) / (2(n + z²))
//
// found is k of seen, n, p = k/n; confidence is the nominal probability [1].
//
// Special cases: low 0 for none found, high 1 for all; NaN as for
// ClopperPearson.
//
// Source: newcombe1998, method 4.
func WilsonContinuity(found, seen int, confidence float64) Interval {
	if !share(found, seen, confidence) {
		return nowhere
	}
	n, p, z := float64(seen), float64(found)/float64(seen), normalTwoSided(confidence)
	z2 := z * z
	low := (2*n*p + z2 - 1 - z*math.Sqrt(math.Max(0, z2-2-1/n+4*p*(n*(1-p)+1)))) / (2 * (n + z2))
	high := (2*n*p + z2 + 1 + z*math.Sqrt(math.Max(0, z2+2-1/n+4*p*(n*(1-p)-1)))) / (2 * (n + z2))
	return clip(Interval{low, high}, found, seen)
}

// clip holds a share's interval to what a share can be.
func clip(i Interval, found, seen int) Interval {
	i.Low, i.High = math.Max(0, i.Low), math.Min(1, i.High)
	if found == 0 {
		i.Low = 0
	}
	if found == seen {
		i.High = 1
	}
	return i
}

// normalTwoSided is the z that leaves half of 1 − confidence above it.
func normalTwoSided(confidence float64) float64 { return mathext.NormalQuantile((1 + confidence) / 2) }

// RuleOfThree returns the quick upper bound of a share of which nothing was
// found [1], 3/n at 95 %, where seen is n. ShareUpper is exact; it lies below.
//
// Special cases: 1 for fewer than three; NaN for none.
//
// Source: hanleylippman1983.
func RuleOfThree(seen int) float64 {
	if seen <= 0 {
		return math.NaN()
	}
	return math.Min(1, 3/float64(seen))
}
