package twin

import "math"

// Innovation is what one reading said to an ensemble.
type Innovation struct {
	Expected float64 // mean of what the members expected, in the reading's own scale
	Spread   float64 // standard deviation of the members' expectation, same scale
	Error    float64 // standard deviation of the reading itself, same scale
	Distance float64 // (reading - Expected) over the root of both variances [1]
	Slip     float64 // probability that the reading is a slip, given all of this [1]
}

// SlipPrior is the share of readings that are slips of the hand, of the eye or
// of the instrument before one looks at them [1]. Judgement, no source.
const SlipPrior = 0.03

// judge weighs a reading against the ensemble's expectation. A slip is taken
// to fall anywhere in slipRange, in the reading's own scale.
func judge(reading, sigma, slipRange float64, expected []float64) Innovation {
	mean, variance := moments(expected)
	total := variance + sigma*sigma
	d := reading - mean
	in := Innovation{Expected: mean, Spread: math.Sqrt(variance), Error: sigma, Distance: d / math.Sqrt(total)}
	honest := (1 - SlipPrior) * math.Exp(-0.5*d*d/total) / math.Sqrt(2*math.Pi*total)
	slip := SlipPrior / slipRange
	in.Slip = slip / (honest + slip)
	return in
}

// assimilate corrects the members by one scalar reading with the serial
// ensemble square root filter: the mean moves by the gain, the departures
// shrink by the reduced gain, and no random number is drawn.
//
//	K = cov(x, y) / (var y + R),  a = 1 / (1 + sqrt(R / (var y + R)))
//	mean x += K (reading - mean y),  x' -= a K y'
//
// vars holds one slice per variable, each with one value per member; expected
// is what each member expects to read; sigma is the reading's standard
// deviation. damp in [0, 1] per variable weakens the correction of variables
// whose sample covariance with this kind of reading is mostly noise [1].
//
// Source: whitaker2002 (Monthly Weather Review 130:1913), eqs. 2, 10 and 13.
func assimilate(vars [][]float64, damp []float64, expected []float64, reading, sigma float64) {
	n := float64(len(expected))
	if n < 2 {
		return
	}
	yMean, yVar := moments(expected)
	r := sigma * sigma
	total := yVar + r
	if total <= 0 || yVar <= 0 {
		return
	}
	a := 1 / (1 + math.Sqrt(r/total)) // eq. 13
	for v, x := range vars {
		if damp[v] == 0 {
			continue
		}
		xMean, _ := moments(x)
		cov := 0.0
		for i := range x {
			cov += (x[i] - xMean) * (expected[i] - yMean)
		}
		cov /= n - 1
		gain := damp[v] * cov / total // eq. 2
		shift := gain * (reading - yMean)
		for i := range x {
			x[i] += shift - a*gain*(expected[i]-yMean) // eq. 10
		}
	}
}

// moments returns the mean and the sample variance of x.
func moments(x []float64) (mean, variance float64) {
	for _, v := range x {
		mean += v
	}
	mean /= float64(len(x))
	for _, v := range x {
		variance += (v - mean) * (v - mean)
	}
	if len(x) > 1 {
		variance /= float64(len(x) - 1)
	}
	return mean, variance
}
