package twin

import "math"

// Innovation is what one reading said to an ensemble.
type Innovation struct {
	Expected float64 // mean of what the members expected, on the reading's own scale [unit of the kind]
	Spread   float64 // standard deviation of the members' expectation, same scale [unit of the kind]
	Error    float64 // standard deviation of the reading itself, same scale [unit of the kind]
	Distance float64 // (reading − Expected) over the root of both variances [1]
	Slip     float64 // probability that the reading is a slip, given all of this [1]
}

// SlipPrior is the share of readings that are slips of the hand, of the eye or
// of the instrument before one looks at them [1]. Judgement, no source.
const SlipPrior = 0.03

// update is what a reading does to the expectation itself: the rest follows
// from it by regression.
type update struct {
	shift float64 // of the mean, on the reading's scale
	keep  float64 // what stays of each departure from the mean [1]
}

// judge weighs a reading against the ensemble's expectation and returns what it
// would do to it. A slip is taken to fall anywhere in r.Slip, on the reading's
// own scale; a reading that only says that the truth lies beyond a value is, if
// it is a slip, as often wrong as right.
//
// A reading y ± σ of an expectation m ± s moves it by the Kalman gain,
//
//	m' = m + s²/(s²+σ²)·(y − m),  s'² = s²σ²/(s²+σ²)
//
// and one that says "above y" by the moments of the normal curve cut there,
//
//	m' = m + s²/T·λ,  s'² = s² − s⁴/T²·λ(λ−α),  T² = s²+σ²,  α = (y−m)/T,  λ = φ(α)/(1−Φ(α))
//
// Source: whitaker2002 (Whitaker & Hamill 2002, Mon. Wea. Rev. 130:1913), eqs. 2
// and 5; johnson1994 (Johnson, Kotz & Balakrishnan 1994, Continuous Univariate
// Distributions 1, section 13.10.1, truncated normal), from memory.
func judge(r *Reading, expected []float64) (Innovation, update) {
	mean, variance := moments(expected)
	sigma := r.at(mean)
	total := variance + sigma*sigma
	t := math.Sqrt(total)
	d := r.Value - mean
	in := Innovation{Expected: mean, Spread: math.Sqrt(variance), Error: sigma, Distance: d / t}
	up := update{keep: 1}
	if !(total > 0) {
		in.Distance = 0
		return in, up
	}
	if r.Op == '>' || r.Op == '<' {
		sign := 1.0
		if r.Op == '<' {
			sign = -1
		}
		a := sign * d / t
		beyond := 0.5 * math.Erfc(a/math.Sqrt2) // 1 − Φ(α)
		in.Slip = slip(0.5, beyond)
		if beyond > 1e-12 {
			l := math.Exp(-0.5*a*a) / math.Sqrt(2*math.Pi) / beyond
			up.shift = sign * variance / t * l
			if variance > 0 {
				up.keep = math.Sqrt(max(1-variance/total*l*(l-a), 0))
			}
		}
		return in, up
	}
	in.Slip = slip(1/r.Slip, math.Exp(-0.5*d*d/total)/math.Sqrt(2*math.Pi*total))
	up.shift = variance / total * d
	up.keep = sigma / t
	return in, up
}

// slip returns the probability of a slip by Bayes' rule, from what a slip and
// an honest reading give for what was read.
func slip(ifSlip, ifHonest float64) float64 {
	return SlipPrior * ifSlip / (SlipPrior*ifSlip + (1-SlipPrior)*ifHonest)
}

// assimilate corrects the members by one scalar reading with the serial
// ensemble square root filter: the mean moves by the gain, the departures
// shrink by the reduced gain, and no random number is drawn. What is expected
// moves by up; each variable follows by its regression on it,
//
//	x̄ += b·shift,  x' −= h·b·(1 − keep)·y',  b = cov(x, y)/var y
//
// which for a reading with an error is the filter of the source, K = cov(x,y)/
// (var y + R) and α = 1/(1 + √(R/(var y + R))) on the departures. vars holds one
// slice per variable, each with one value per member; expected is what each
// member expects to read; damp in [0, 1] per variable says whether the reading
// tells of it at all [1]; firm in [0, 1] is h, 1 in the source [1]: what is less
// keeps of the spread of a slow variable what many readings, seen by few
// members, would take from it without right.
//
// A covariance of few members is partly noise: b is shrunk by
//
//	max(0, 1 − c (1 − r²)/((n − 2) r²)),  c = 2
//
// where r is the sample correlation and n the number of members; c = 1 would
// leave about the part that another sample would show again on average, c = 2
// errs towards leaving a variable alone, since most of those that a reading may
// correct have little to do with it.
//
// Source: whitaker2002, eqs. 2, 10 and 13; the shrinkage as of a positive-part
// estimator of a regression slope, james1961 (James & Stein 1961), from memory;
// its use on ensembles in the spirit of anderson2012 (Mon. Wea. Rev. 140:2359).
func assimilate(vars [][]float64, damp, firm, expected []float64, up update) {
	n := float64(len(expected))
	if n < 4 {
		return
	}
	yMean, yVar := moments(expected)
	if !(yVar > 0) {
		return
	}
	for v, x := range vars {
		if damp[v] == 0 {
			continue
		}
		b := damp[v] * slope(x, expected, yMean, yVar)
		if b == 0 {
			continue
		}
		for i := range x {
			x[i] += b * (up.shift - firm[v]*(1-up.keep)*(expected[i]-yMean))
		}
	}
}

// slope returns the shrunk regression of x on y.
func slope(x, y []float64, yMean, yVar float64) float64 {
	xMean, xVar := moments(x)
	if !(xVar > 0) {
		return 0
	}
	n := float64(len(x))
	cov := 0.0
	for i := range x {
		cov += (x[i] - xMean) * (y[i] - yMean)
	}
	cov /= n - 1
	return shrink(cov*cov/(xVar*yVar), n) * cov / yVar
}

// shrinkage is c of assimilate [1].
const shrinkage = 2.0

// shrink returns what of a sample correlation is more than noise: r2 is its
// square [1], n the number of members.
func shrink(r2, n float64) float64 {
	if !(r2 > 0) {
		return 0
	}
	return max(0, 1-shrinkage*(1-min(r2, 1))/((n-2)*r2))
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
