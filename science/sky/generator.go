package sky

import "math"

const (
	classes = 12 // classes of daily clearness, equally frequent
	knots   = 33 // points of a distribution of clearness
)

// Generator draws weather like that of a place: daily clearness as a Markov
// chain over twelve equally frequent classes of its month, and temperature,
// humidity, wind and rain of the day conditioned on it. It is made by Estimate
// or FromNormals, is not changed by drawing, and may be used from many
// goroutines, each with its own source of chance.
type Generator struct {
	site    Site
	windM   float64                   // height of the wind [m]
	quant   [12]quantile              // distribution of daily clearness in each month
	chain   [classes][classes]float64 // running sums of each row of the transition matrix [1]
	light   lightModel
	temp    follower // mean temperature of the day: deviation from the season
	swing   float64  // relative deviation of the daily range [1]
	swingOn float64  // its correlation with clearness [1]
	humid   follower // mean humidity of the day
	humidOn float64  // its correlation with the temperature beyond clearness [1]
	wind    follower // logarithm of the mean wind of the day

	clearness, meanC, rangeK, rhPct, windMS yearCourse

	windSwing [2]float64 // cosine and sine of the day's course of the wind, of its mean [1]
	rain      rainModel
	pressure  float64 // [kPa], NaN for the standard
}

// lightModel is how unsteady the light is inside a day.
type lightModel struct {
	flicker float64 // relative deviation of an hour on a half-clear day [1]
}

// follower is a deviation from the season that leans on clearness and on itself
// the day before.
type follower struct {
	sd   [12]float64 // standard deviation in each month, in the unit of the quantity
	on   float64     // correlation with the clearness of the day [1]
	keep float64     // correlation of the rest from one day to the next [1]
}

// rainModel is how often and how much it rains.
type rainModel struct {
	known bool
	lean  float64     // the chance of rain falls as e^(−lean·u), u the rank of clearness [1]
	scale [12]float64 // so that the month has its wet days [1]
	mm    [12]float64 // mean rain of a wet day [mm]
}

// quantile is a distribution as its quantiles at even steps from 0 to 1.
type quantile [knots]float64

// at returns the quantile at u [1].
func (q *quantile) at(u float64) float64 {
	x := clamp(u, 0, 1) * (knots - 1)
	i := min(int(x), knots-2)
	return q[i] + (q[i+1]-q[i])*(x-float64(i))
}

// mean returns the mean of the distribution.
func (q *quantile) mean() float64 {
	sum := (q[0] + q[knots-1]) / 2
	for _, v := range q[1 : knots-1] {
		sum += v
	}
	return sum / (knots - 1)
}

// sd returns the standard deviation of the distribution.
func (q *quantile) sd() float64 {
	m, sum := q.mean(), 0.0
	for i := range knots - 1 { // piecewise linear: exact
		a, b := q[i]-m, q[i+1]-m
		sum += (a*a + a*b + b*b) / 3
	}
	return math.Sqrt(sum / (knots - 1))
}

// rank returns at which u the distribution reaches x [1].
func (q *quantile) rank(x float64) float64 {
	if x <= q[0] {
		return 0
	}
	for i := range knots - 1 {
		if x < q[i+1] {
			return (float64(i) + (x-q[i])/(q[i+1]-q[i])) / (knots - 1)
		}
	}
	return 1
}

// moveTo shifts the distribution so that its mean is m, within 0.01 and 0.85.
func (q *quantile) moveTo(m float64) {
	for range 20 {
		d := m - q.mean()
		for i := range q {
			q[i] = clamp(q[i]+d, 0.01, 0.85)
		}
	}
}

// bendt returns the distribution of daily clearness in a month with this mean [1]:
// an exponential one between 0.05 and an upper end that follows the mean,
//
//	k_max = 0.6313 + 0.267 k̄ − 11.9 (k̄ − 0.75)⁸
//
// Source: bendt1981 (Bendt, Collares-Pereira & Rabl 1981, Solar Energy 27:1) for
// the form, hollandshuget1983 (Hollands & Huget 1983, Solar Energy 30:195) for
// the upper end, both from memory.
func bendt(mean float64) quantile {
	const low = 0.05
	mean = clamp(mean, 0.08, 0.82)
	high := 0.6313 + 0.267*mean - 11.9*math.Pow(mean-0.75, 8)
	high = math.Max(high, mean+0.03)
	// The mean of e^(γk) between low and high rises with γ: halve.
	span := high - low
	ofGamma := func(g float64) float64 {
		x := g * span
		if math.Abs(x) < 1e-6 {
			return low + span/2
		}
		return low + span*(1/-math.Expm1(-x)-1/x)
	}
	a, b := -500.0, 500.0
	for range 80 {
		if mid := (a + b) / 2; ofGamma(mid) < mean {
			a = mid
		} else {
			b = mid
		}
	}
	gamma := (a + b) / 2
	var q quantile
	for i := range q {
		u := float64(i) / (knots - 1)
		if x := gamma * span; math.Abs(x) < 1e-6 {
			q[i] = low + span*u
		} else {
			q[i] = low + math.Log1p(u*math.Expm1(x))/gamma
		}
	}
	q.moveTo(mean) // the few knots cost a little of the mean
	return q
}

// normalScore returns the standard normal deviate at the rank u [1].
func normalScore(u float64) float64 {
	return math.Sqrt2 * math.Erfinv(clamp(2*u-1, -0.9999999, 0.9999999))
}

// persistence returns the transition matrix between equally frequent classes
// whose normal scores follow each other with a correlation [1], by summing over
// a fine grid of ranks.
func persistence(correlation float64) [classes][classes]float64 {
	var p [classes][classes]float64
	const fine = 40
	sd := math.Sqrt(1 - correlation*correlation)
	below := func(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }
	for i := range classes {
		for k := range fine {
			z := normalScore((float64(i) + (float64(k)+0.5)/fine) / classes)
			prev := 0.0
			for j := range classes {
				next := 1.0
				if j < classes-1 {
					next = below((normalScore(float64(j+1)/classes) - correlation*z) / sd)
				}
				p[i][j] += (next - prev) / fine
				prev = next
			}
		}
	}
	return p
}

// evenOut scales rows and columns in turn until all sum to one, so that the
// classes stay equally frequent, and returns the running sums of the rows.
// Source: sinkhorn1964 (Sinkhorn 1964, Ann. Math. Stat. 35:876).
func evenOut(p [classes][classes]float64) [classes][classes]float64 {
	for range 200 {
		for j := range classes {
			sum := 0.0
			for i := range classes {
				sum += p[i][j]
			}
			for i := range classes {
				p[i][j] /= sum
			}
		}
		for i := range classes {
			sum := 0.0
			for j := range classes {
				sum += p[i][j]
			}
			for j := range classes {
				p[i][j] /= sum
			}
		}
	}
	for i := range classes {
		for j := 1; j < classes; j++ {
			p[i][j] += p[i][j-1]
		}
		p[i][classes-1] = 1
	}
	return p
}

// What a generator takes where it was not estimated: rounded from what Estimate
// found in three measured years (a desert, a hot dry and a moist tropical
// station), so a first guess elsewhere, except the persistence of clearness: graham1988 (Graham, Hollands &
// Huget 1988, Solar Energy 40:83), 0.29, from memory.
const (
	normalPersistence = 0.29
	normalFlicker     = 0.35
	normalTempOn      = 0.3
	normalTempKeep    = 0.65
	normalSwing       = 0.2
	normalSwingOn     = 0.6
	normalHumidSD     = 7.0
	normalHumidOn     = -0.6
	normalHumidTemp   = -0.4
	normalHumidKeep   = 0.5
	normalWindSD      = 0.25
	normalWindOn      = 0.1
	normalWindKeep    = 0.4
	normalWindSwing   = 0.35
	normalRainLean    = 1.5
)

// newGenerator lays out a generator for a climate with the defaults above.
func newGenerator(site Site, c climate) Generator {
	g := Generator{
		site: site, windM: c.windM, pressure: c.pressure,
		chain:     evenOut(persistence(normalPersistence)),
		light:     lightModel{normalFlicker},
		swing:     normalSwing,
		swingOn:   normalSwingOn,
		temp:      follower{on: normalTempOn, keep: normalTempKeep},
		humid:     follower{on: normalHumidOn, keep: normalHumidKeep},
		humidOn:   normalHumidTemp,
		wind:      follower{on: normalWindOn, keep: normalWindKeep},
		clearness: newYearCourse(c.clearness),
		meanC:     newYearCourse(c.meanC),
		rangeK:    newYearCourse(c.rangeK),
		rhPct:     newYearCourse(c.rhPct),
		windMS:    newYearCourse(c.windMS),
		rain:      rainModel{known: c.rainKnown, lean: normalRainLean, mm: c.wetMM},
	}
	// the wind is highest around two in the afternoon
	g.windSwing[0], g.windSwing[1] = normalWindSwing*math.Cos(2*math.Pi*14/24), normalWindSwing*math.Sin(2*math.Pi*14/24)
	cold, warm := c.meanC[0], c.meanC[0]
	for _, t := range c.meanC {
		cold, warm = math.Min(cold, t), math.Max(warm, t)
	}
	for m := range 12 {
		g.quant[m] = bendt(c.clearness[m])
		// days differ more where the seasons do: a line through the same three stations
		g.temp.sd[m] = clamp(0.5+0.09*(warm-cold), 0.6, 4.5)
		g.humid.sd[m] = math.Min(normalHumidSD, 0.6*math.Min(c.rhPct[m], 100-c.rhPct[m])+1)
		g.wind.sd[m] = normalWindSD
	}
	g.rain.fit(c.wetShare)
	return g
}

// fit sets the scales so that each month has its share of wet days [1].
func (r *rainModel) fit(wetShare [12]float64) {
	const n = 128
	for m, want := range wetShare {
		lo, hi := 0.0, 1.0
		for r.share(hi, n) < want && hi < 1e6 {
			hi *= 2
		}
		for range 50 {
			if mid := (lo + hi) / 2; r.share(mid, n) < want {
				lo = mid
			} else {
				hi = mid
			}
		}
		r.scale[m] = hi
		if want <= 0 {
			r.scale[m] = 0
		}
	}
}

// share returns the share of wet days under a scale [1].
func (r *rainModel) share(scale float64, n int) float64 {
	sum := 0.0
	for i := range n {
		sum += r.chance(scale, (float64(i)+0.5)/float64(n))
	}
	return sum / float64(n)
}

// chance returns the chance of rain on a day of rank u [1].
func (r *rainModel) chance(scale, u float64) float64 {
	return math.Min(1, scale*math.Exp(-r.lean*u))
}

// FromNormals returns a generator for the mean months of a place. What normals
// do not tell (spread and persistence) is taken from common practice, so
// Estimate from a measured year is better where there is one.
//
// The error is an *InputError that names the month and field that cannot be used.
func FromNormals(n Normals, site Site) (Generator, error) {
	c, err := n.climate(site)
	if err != nil {
		return Generator{}, err
	}
	return newGenerator(site, c), nil
}
