package twin

import (
	"math"
	"slices"
	"time"

	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/pond"
)

// Quantity is a curve that a trace can write down.
type Quantity int

// The curves, each with its unit.
const (
	Density Quantity = iota // dry matter [g/L]
	TempC                   // water [°C]
	PHHere                  // pH at the water's temperature [1]
	LevelCM                 // depth at the lowest point [cm]
	numQuantities
)

// Trace writes down what members go through: every quantity at given moments,
// the coldest and warmest of each day, and when the density first passes a
// threshold.
type Trace struct {
	Times     []time.Time // rising; the first step that ends at or after a moment fills it
	Days      []time.Time // midnights that begin the local days of the trace, and the one that ends it
	Threshold float64     // density to pass [g/L]

	n       int
	values  [numQuantities][]float64 // [time*n + member]
	low     []float64                // [day*n + member]
	high    []float64
	crossed []time.Time // by member; zero: never
	limits  []Limits    // by member, mean of the first day's light
	cursor  []int
	last    []float64 // density of the step before, by member
}

// Limits are the shares of the rate that stand, as means over the light of the
// first 24 hours of a trace. Of carbon and the other nutrients only the scarcer
// limits at a time, Liebig's minimum; the other counts as 1 then.
type Limits struct {
	Light       float64 // of the light response, over depth [1]
	Temperature float64 // [1]
	Damage      float64 // of the photosystems in work: what photoinhibition leaves [1]
	Carbon      float64 // [1]
	Nutrient    float64 // of the scarcest of the others [1]
	Ammonia     float64 // [1]
	Oxygen      float64 // [1]
	Salt        float64 // [1]

	// ShortBy is for each nutrient the part of that light in which it was the
	// scarcest of all, carbon included [1].
	ShortBy [growth.Iron + 1]float64

	weight float64
}

// NewTrace returns a trace for n members; threshold is the density to pass
// [g/L].
func NewTrace(n int, times, days []time.Time, threshold float64) *Trace {
	t := &Trace{Times: times, Days: days, Threshold: threshold, n: n}
	for q := range t.values {
		t.values[q] = nans(len(times) * n)
	}
	t.low, t.high = nans(max(len(days)-1, 0)*n), nans(max(len(days)-1, 0)*n)
	t.crossed, t.limits, t.cursor, t.last = make([]time.Time, n), make([]Limits, n), make([]int, n), nans(n)
	return t
}

func nans(n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.NaN()
	}
	return x
}

// watch returns what a member calls after each step.
func (t *Trace) watch(i int, m *Member) func(time.Time, *pond.Seen) {
	day := 0
	return func(at time.Time, s *pond.Seen) {
		c := t.cursor[i]
		for c < len(t.Times) && !t.Times[c].After(at) {
			k := c*t.n + i
			t.values[Density][k], t.values[TempC][k] = s.DensityGL, m.Pond.Heat.WaterC
			t.values[PHHere][k], t.values[LevelCM][k] = s.PH, s.LevelM*100
			c++
		}
		t.cursor[i] = c
		for day+1 < len(t.Days) && at.After(t.Days[day+1]) {
			day++
		}
		if day+1 < len(t.Days) && !at.Before(t.Days[day]) {
			k := day*t.n + i
			if !(t.low[k] <= m.Pond.Heat.WaterC) {
				t.low[k] = m.Pond.Heat.WaterC
			}
			if !(t.high[k] >= m.Pond.Heat.WaterC) {
				t.high[k] = m.Pond.Heat.WaterC
			}
		}
		if t.crossed[i].IsZero() && s.DensityGL >= t.Threshold {
			t.crossed[i] = at
		}
		if s.PAR > 1 && len(t.Days) > 1 && at.Sub(t.Days[0]) <= 24*time.Hour {
			l := &t.limits[i]
			r := &s.Rates
			w := s.PAR
			l.weight += w
			l.Light += w * r.LightShare
			l.Temperature += w * r.FTemp
			l.Damage += w * (1 - r.Damage)
			if r.FCarbon <= r.FNutrient {
				l.Carbon += w * r.FCarbon
				l.Nutrient += w
			} else {
				l.Carbon += w
				l.Nutrient += w * r.FNutrient
				l.ShortBy[s.Shortest] += w
			}
			l.Ammonia += w * r.FAmmonia
			l.Oxygen += w * r.FOxygen
			l.Salt += w * r.FSalt
		}
	}
}

// Bands returns the spread of a quantity at each moment.
func (t *Trace) Bands(q Quantity) []num.Band {
	out := make([]num.Band, len(t.Times))
	x := make([]float64, t.n)
	for i := range out {
		copy(x, t.values[q][i*t.n:(i+1)*t.n])
		out[i] = num.BandOf(x)
	}
	return out
}

// Values returns a quantity of all members at moment i of Times [unit of the
// quantity].
func (t *Trace) Values(q Quantity, i int) []float64 { return t.values[q][i*t.n : (i+1)*t.n] }

// Extremes returns the spread of the coldest and the warmest water of each day.
func (t *Trace) Extremes() (low, high []num.Band) {
	x := make([]float64, t.n)
	for d := range max(len(t.Days)-1, 0) {
		copy(x, t.low[d*t.n:(d+1)*t.n])
		low = append(low, num.BandOf(x))
		copy(x, t.high[d*t.n:(d+1)*t.n])
		high = append(high, num.BandOf(x))
	}
	return low, high
}

// Crossing returns when a tenth, half and nine tenths of the members have
// passed the threshold, in the place's time of Days; a zero time lies beyond the
// trace.
func (t *Trace) Crossing() (early, mid, late time.Time) {
	x := make([]float64, t.n)
	for i, at := range t.crossed {
		x[i] = math.Inf(1)
		if !at.IsZero() {
			x[i] = float64(at.Unix())
		}
	}
	// Quantiles that fall on a member that never passes are beyond.
	b := quantiles(x)
	zone := time.UTC
	if len(t.Days) > 0 {
		zone = t.Days[0].Location()
	}
	pick := func(s float64) time.Time {
		if math.IsInf(s, 0) || math.IsNaN(s) {
			return time.Time{}
		}
		return time.Unix(int64(s), 0).In(zone)
	}
	return pick(b[0]), pick(b[1]), pick(b[2])
}

// Crossings returns for each member how long after from it passes the threshold
// [d], infinite where it does not: the decision when to harvest, as Worth takes
// it.
func (t *Trace) Crossings(from time.Time) []float64 {
	out := make([]float64, len(t.crossed))
	for i, at := range t.crossed {
		out[i] = math.Inf(1)
		if !at.IsZero() {
			out[i] = at.Sub(from).Hours() / 24
		}
	}
	return out
}

// quantiles returns the lower order statistics at 10, 50 and 90 %: no
// interpolation, so that what never happens stays infinite.
func quantiles(x []float64) [3]float64 {
	s := append([]float64(nil), x...)
	slices.Sort(s)
	var out [3]float64
	for k, p := range [3]float64{0.1, 0.5, 0.9} {
		out[k] = s[min(int(p*float64(len(s))), len(s)-1)]
	}
	return out
}

// MeanLimits returns the mean of the members' limits.
func (t *Trace) MeanLimits() Limits {
	var sum Limits
	n := 0.0
	for _, l := range t.limits {
		if l.weight <= 0 {
			continue
		}
		w := 1 / l.weight
		n++
		sum.Light += l.Light * w
		sum.Temperature += l.Temperature * w
		sum.Damage += l.Damage * w
		sum.Carbon += l.Carbon * w
		sum.Nutrient += l.Nutrient * w
		sum.Ammonia += l.Ammonia * w
		sum.Oxygen += l.Oxygen * w
		sum.Salt += l.Salt * w
		for i, x := range l.ShortBy {
			sum.ShortBy[i] += x * w
		}
	}
	if n == 0 {
		return Limits{}
	}
	for _, f := range []*float64{&sum.Light, &sum.Temperature, &sum.Damage, &sum.Carbon, &sum.Nutrient, &sum.Ammonia, &sum.Oxygen, &sum.Salt} {
		*f /= n
	}
	for i := range sum.ShortBy {
		sum.ShortBy[i] /= n
	}
	return sum
}
