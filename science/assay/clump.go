package assay

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"sodalake/science/num"
)

// ClumpedWidth is by how much an interval of a count widens where cells hang
// together [1]. Source: salonen2021 (Salonen, Salmi & Keskitalo 2021), abstract.
const ClumpedWidth = 1.4

// Clumped returns the interval of an expected count when things come in clumps
// [1]. One clump is one chance, so the count is taken as N/φ independent
// events of φ each:
//
//	φ = w²,  interval = φ · Poisson(N/φ)
//
// counted is N [1], width is w, the factor by which intervals of large counts
// widen, from 1 [1] (ClumpedWidth, or FieldStats.Width of one's own fields), and
// confidence the probability that the interval holds the truth [1].
//
// Special cases: a width under 1 counts as 1; NaN as for Poisson.
//
// Source: the widening salonen2021; as a variance that is φ times the mean
// mccullagh1989, section 6.2.
func Clumped(counted, width, confidence float64) Interval {
	phi := dispersion(width)
	return Poisson(counted/phi, confidence).Scale(phi)
}

// ClumpedUpper returns the one-sided upper bound of an expected count when
// things come in clumps [1]; counted [1], width [1] and confidence [1] as for
// Clumped. To have seen none says less of clumps than of single cells.
func ClumpedUpper(counted, width, confidence float64) float64 {
	phi := dispersion(width)
	return phi * PoissonUpper(counted/phi, confidence)
}

// ClumpedLower returns the one-sided lower bound of an expected count when
// things come in clumps [1]; counted [1], width [1] and confidence [1] as for
// Clumped.
func ClumpedLower(counted, width, confidence float64) float64 {
	phi := dispersion(width)
	return phi * PoissonLower(counted/phi, confidence)
}

func dispersion(width float64) float64 { return math.Max(1, width*width) }

// FieldStats is what the counts of several fields say together.
type FieldStats struct {
	Fields     int     // how many
	Total      int     // all that was counted
	Mean       float64 // in a field [1]
	Variance   float64 // between fields [1]
	Dispersion float64 // variance over mean: 1 when things lie at random, more in clumps [1]
	Chance     float64 // probability of as much unevenness or more if they lay at random [1]
	Width      float64 // factor for Clumped, from 1 [1]
	K          float64 // exponent of the negative binomial, +Inf without clumps [1]
}

// Fields returns what the counts of several equal fields say together. The
// index of dispersion is held against χ² with n − 1 degrees of freedom:
//
//	D = Σ(x − x̄)²/x̄,  s²/x̄ = D/(n − 1)
//
// and the exponent k of the negative binomial is the most likely one, by
//
//	n ln(1 + x̄/k) = Σ_j A_j/(k + j),  A_j the fields with more than j
//
// Special cases: with fewer than two fields or nothing counted the spread is not
// known: Variance, Dispersion and Chance are NaN, Width is 1 and K is +Inf.
//
// Source: fisher1922 (the index of dispersion); blissfisher1953, eq. 11 (k).
func Fields(counts []int) (FieldStats, error) {
	s := FieldStats{Fields: len(counts), Variance: math.NaN(), Dispersion: math.NaN(), Chance: math.NaN(), Width: 1, K: math.Inf(1)}
	if len(counts) == 0 {
		return s, bad("field_counts", "", "field_counts is empty")
	}
	for _, c := range counts {
		if c < 0 {
			return s, bad("field_counts", "", "field_counts holds a negative count")
		}
		if c > 1e6 {
			return s, bad("field_counts", "dilute first", "field_counts holds more than a million in one field")
		}
		s.Total += c
	}
	n := float64(s.Fields)
	s.Mean = float64(s.Total) / n
	if s.Fields < 2 || s.Total == 0 {
		return s, nil
	}
	var sum float64
	for _, c := range counts {
		d := float64(c) - s.Mean
		sum += d * d
	}
	s.Variance = sum / (n - 1)
	s.Dispersion = s.Variance / s.Mean
	s.Chance = mathext.GammaIncRegComp((n-1)/2, sum/s.Mean/2) // upper tail of χ²
	s.Width = math.Sqrt(math.Max(1, s.Dispersion))
	if s.Dispersion > 1 {
		s.K = exponent(counts, s.Mean)
	}
	return s, nil
}

// exponent solves blissfisher1953, eq. 11, for k between 10⁻⁴ and 10⁶.
func exponent(counts []int, mean float64) float64 {
	most := 0
	for _, c := range counts {
		most = max(most, c)
	}
	above := make([]float64, most) // A_j: fields with more than j
	for _, c := range counts {
		for j := range c {
			above[j]++
		}
	}
	n := float64(len(counts))
	f := func(lnK float64) float64 {
		k := math.Exp(lnK)
		z := -n * math.Log1p(mean/k) // eq. 11, left side over to the right
		for j, a := range above {
			z += a / (k + float64(j))
		}
		return z * k // keeps the scale of both ends alike
	}
	lnK, err := num.Root(f, math.Log(1e-4), math.Log(1e6), 1e-10)
	if err != nil {
		return math.Inf(1)
	}
	return math.Exp(lnK)
}
