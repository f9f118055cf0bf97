package growth

import "math"

// UreaRate are the rates at which urea in a culture splits [1/d]: a low, a
// middle and a high guess. The lag of days between a dose and its ammonia is
// this pool.
//
// Source: judgement, no measured value found; that the split governs the
// supply: converti2006.
var UreaRate = [3]float64{0.3, 0.7, 1.5}

// UreaHydrolysis returns how much of the urea splits in a step [mM]; each mole
// gives two of ammonia and one of carbon dioxide:
//
//	split = U (1 − e^(−k·dt))
//
// where ureaMM is U [mM], ratePerDay is k [1/d] and dtDays is the step [d].
//
// Special cases: 0 for no urea or a rate or step at or below zero.
//
// Source: first-order decay; the rate as at UreaRate.
func UreaHydrolysis(ureaMM, ratePerDay, dtDays float64) float64 {
	if ureaMM <= 0 || ratePerDay <= 0 || dtDays <= 0 {
		return 0
	}
	return ureaMM * -math.Expm1(-ratePerDay*dtDays)
}
