package num

import (
	"math"
	"slices"
)

// Quantile returns the p-quantile of sorted values, by linear interpolation
// between order statistics at (n − 1)p (Hyndman & Fan type 7). sorted is in
// rising order, in any unit [unit of the values]; p is the probability [1],
// clipped to 0…1.
//
// Special case: NaN for no values.
//
// Source: hyndmanfan1996.
func Quantile(sorted []float64, p float64) float64 {
	n := len(sorted)
	if n == 0 {
		return math.NaN()
	}
	h := float64(n-1) * min(max(p, 0), 1)
	i := int(h)
	if i >= n-1 {
		return sorted[n-1]
	}
	return sorted[i] + (h-float64(i))*(sorted[i+1]-sorted[i])
}

// BandOf returns the 10, 50 and 90 % quantiles of values [unit of its quantity]; it sorts values in
// place. NaN among them are left out; all NaN gives NaN thrice.
func BandOf(values []float64) Band {
	k := 0
	for _, v := range values {
		if !math.IsNaN(v) {
			values[k] = v
			k++
		}
	}
	values = values[:k]
	slices.Sort(values)
	return Band{Quantile(values, 0.1), Quantile(values, 0.5), Quantile(values, 0.9)}
}
