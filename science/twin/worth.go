package twin

import (
	"cmp"
	"math"
	"slices"

	"sodalake/science/growth"
)

// Use is what a reading would do for a decision.
type Use struct {
	Kind  Kind
	Share float64 // of the decision's spread that it is expected to take away [1]
}

// usual is the error that a kind of reading has when it is taken now, where its
// middle is expected to be mid, on its scale.
func usual(k Kind, mid float64) float64 {
	switch k {
	case Secchi:
		return growth.SecchiReadErrorCM / math.Exp(mid)
	case OD:
		return math.Hypot(odError/math.Exp(mid), lnODError)
	case DryWeight:
		return lnDryError
	case PH:
		return phError
	case Temp:
		return tempErrorC
	case Level:
		return levelErrorCM
	case Conductivity:
		return lnSaltError
	case Nitrate, Ammonia:
		return lnStripError
	case Cake:
		return math.Hypot(lnPressedError, lnLitresError)
	case Colour:
		return 0.45
	case MeterCheck:
		return bufferError
	}
	return math.Inf(1)
}

// Worth returns, for each kind of reading, what share of the spread of a
// decision it is expected to take away if it is taken now, the most useful
// first. decision holds for every member what it would have one do, in any unit
// [any]: the moment at which it is ready as a number, the amount to harvest; an
// infinite value stands for never.
//
//	share = 1 − √(1 − ρ² s²/(s² + σ²))
//
// where ρ is the correlation of the decision with what the member expects to
// read, s the spread of that and σ the error of the reading: what the filter's
// gain does to a variable of which nothing else is known. The decision enters
// by its rank, as normal scores, so that never is only later than all else; ρ²
// is shrunk by its noise, as in the filter.
//
// Special cases: 0 for a reading that the vessel allows no member, or for a
// decision on which all agree. It panics when decision is not as long as there
// are members.
//
// Source: the expected variance of a linear Gaussian estimate, as any text on
// the Kalman filter has it; ancell2007 (Ancell & Hakim 2007, Mon. Wea. Rev.
// 135:4117) for its use with an ensemble on a forecast.
func (e *Ensemble) Worth(decision []float64, kinds []Kind) []Use {
	if len(decision) != len(e.Members) {
		panic("twin: a decision for each member")
	}
	z := scores(decision)
	out := make([]Use, 0, len(kinds))
	for _, k := range kinds {
		u := Use{Kind: k}
		expected, usable := e.expect(k)
		if z != nil && len(usable) == len(expected) && len(usable) > 3 {
			mean, variance := moments(expected)
			zMean, zVar := moments(z)
			cov := 0.0
			for i := range z {
				cov += (z[i] - zMean) * (expected[i] - mean)
			}
			n := float64(len(z))
			cov /= n - 1
			if variance > 0 && zVar > 0 {
				r2 := cov * cov / (variance * zVar)
				r2 *= shrink(r2, n)
				sigma := usual(k, mean)
				u.Share = 1 - math.Sqrt(max(1-r2*variance/(variance+sigma*sigma), 0))
			}
		}
		out = append(out, u)
	}
	slices.SortStableFunc(out, func(a, b Use) int { return cmp.Compare(b.Share, a.Share) })
	return out
}

// scores returns the normal scores of x by rank, equal values sharing theirs;
// nil if all are equal or one is no number.
//
//	z = Φ⁻¹((rank − ½)/n)
func scores(x []float64) []float64 {
	n := len(x)
	order := make([]int, n)
	for i := range order {
		if math.IsNaN(x[i]) {
			return nil
		}
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	if n == 0 || x[order[0]] == x[order[n-1]] {
		return nil
	}
	z := make([]float64, n)
	for i := 0; i < n; {
		j := i + 1
		for j < n && x[order[j]] == x[order[i]] {
			j++
		}
		p := float64(i+j) / 2 / float64(n)
		for ; i < j; i++ {
			z[order[i]] = math.Sqrt2 * math.Erfinv(2*p-1)
		}
	}
	return z
}
