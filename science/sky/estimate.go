package sky

import (
	"fmt"
	"math"
	"sort"
	"time"
)

// measuredDay is one day of a series in the terms of the generator.
type measuredDay struct {
	month     int
	yearDay   float64 // [d]
	index     int     // day number in the series, to tell neighbours
	clearness float64 // NaN when there is hardly any sun [1]
	meanC     float64 // [°C]
	rangeK    float64 // [K]
	rhPct     float64 // [%]
	windMS    float64 // [m/s]
	rainMM    float64 // NaN when not known [mm]
	u, z      float64 // rank of the clearness in its month and its normal score [1]
}

// leastDays is how many days of a month must be known.
const leastDays = 10

// Estimate returns a generator like a measured series: with its means and
// spread of clearness month by month, the persistence from day to day, and how
// temperature, humidity, wind and rain go with it.
//
// Only whole days of the site's own solar time count. Every month needs ten of
// them; a single year is enough to begin with, though its oddities are then
// taken for the climate. The error is an *InputError that says what is missing.
func Estimate(s *Series, site Site) (Generator, error) {
	if err := site.Check(); err != nil {
		return Generator{}, err
	}
	if !(s.WindHeightM >= 0.1) {
		return Generator{}, &InputError{Field: "wind_height_m", Why: fmt.Sprintf("must be at least 0.1, got %g", s.WindHeightM)}
	}
	a := NewAlmanac(site, s.Start, len(s.Hours)/24)
	days := s.days(a)
	c := climate{windM: s.WindHeightM, pressure: s.meanPressure()}
	var byMonth [12][]float64
	var count, dark, wetDays, rainDays [12]float64
	var rain [12]float64
	for i := range days {
		d := &days[i]
		m := d.month
		count[m]++
		c.meanC[m] += d.meanC
		c.rangeK[m] += d.rangeK
		c.rhPct[m] += d.rhPct
		c.windMS[m] += d.windMS
		if math.IsNaN(d.clearness) {
			dark[m]++
		} else {
			byMonth[m] = append(byMonth[m], d.clearness)
		}
		if !math.IsNaN(d.rainMM) {
			c.rainKnown = true
			rainDays[m]++
			if d.rainMM >= wetDayMM {
				wetDays[m]++
				rain[m] += d.rainMM
			}
		}
	}
	for m := range 12 {
		if count[m] < leastDays {
			return Generator{}, &InputError{
				Field: "weather",
				Why:   fmt.Sprintf("%g whole days of %s are known, %d are needed", count[m], time.Month(m+1), leastDays),
				Hint:  "use a longer series, or monthly normals",
			}
		}
		c.meanC[m] /= count[m]
		c.rangeK[m] /= count[m]
		c.rhPct[m] /= count[m]
		c.windMS[m] /= count[m]
		c.clearness[m] = defaultClearness
		if len(byMonth[m]) >= leastDays {
			c.clearness[m] = mean(byMonth[m])
		}
		if wetDays[m] > 0 {
			c.wetShare[m] = wetDays[m] / rainDays[m]
			c.wetMM[m] = rain[m] / wetDays[m]
		}
	}
	g := newGenerator(site, c)
	for m := range 12 {
		if len(byMonth[m]) >= leastDays {
			g.quant[m] = quantilesOf(byMonth[m])
		}
	}
	for i := range days {
		d := &days[i]
		d.u, d.z = 0.5, 0
		if !math.IsNaN(d.clearness) {
			d.u = g.quant[d.month].rank(d.clearness)
			d.z = normalScore(clamp(d.u, 0.01, 0.99))
		}
	}
	g.fitChain(days)
	g.fitFollowers(days)
	g.fitRain(days, c.wetShare)
	g.fitHours(s, a, days)
	return g, nil
}

// wetDayMM is the rain from which a day counts as wet [mm]. Common practice, no source.
const wetDayMM = 0.2

func mean(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// days gathers the whole days of a series.
func (s *Series) days(a *Almanac) []measuredDay {
	var out []measuredDay
	for d := range a.days {
		q := measuredDay{month: a.days[d].month, yearDay: a.days[d].yearDay, index: d}
		light, lo, hi := 0.0, math.Inf(1), math.Inf(-1)
		whole := true
		for i := range 24 {
			at := 24*d + i - a.first
			if at < 0 || at >= len(s.Hours) {
				whole = false
				break
			}
			h := &s.Hours[at]
			light += math.Max(0, h.GHIWM2) * 3600e-6
			if math.IsNaN(h.GHIWM2) {
				light = math.NaN()
			}
			q.meanC += h.AirC / 24
			q.rhPct += h.RHPct / 24
			q.windMS += h.WindMS / 24
			q.rainMM += h.RainMM
			lo, hi = math.Min(lo, h.AirC), math.Max(hi, h.AirC)
		}
		q.rangeK = hi - lo
		if !whole || math.IsNaN(light+q.meanC+q.rhPct+q.windMS) {
			continue
		}
		q.clearness = math.NaN()
		if e := a.days[d].extraMJ; e >= 0.5 {
			q.clearness = clamp(light/e, 0.01, 0.85)
		}
		out = append(out, q)
	}
	return out
}

func (s *Series) meanPressure() float64 {
	sum, n := 0.0, 0
	for i := range s.Hours {
		if p := s.Hours[i].PressureKPa; !math.IsNaN(p) {
			sum += p
			n++
		}
	}
	if n == 0 {
		return math.NaN()
	}
	return sum / float64(n)
}

// quantilesOf returns the distribution of a sample, with the sample's own mean.
func quantilesOf(x []float64) quantile {
	v := append([]float64(nil), x...)
	sort.Float64s(v)
	n := float64(len(v))
	var q quantile
	for i := range q {
		// The k-th of n stands at (k − ½)/n; beyond the first and last half a
		// step the ends are drawn out by half the distance to their neighbour.
		p := float64(i)/(knots-1)*n - 0.5
		k := clampInt(int(math.Floor(p)), 0, len(v)-2)
		q[i] = v[k] + (v[k+1]-v[k])*(p-float64(k))
	}
	q.moveTo(mean(x))
	return q
}

// pairs calls do for each two days that follow one another.
func pairs(days []measuredDay, do func(a, b *measuredDay)) {
	for i := 1; i < len(days); i++ {
		if days[i].index == days[i-1].index+1 {
			do(&days[i-1], &days[i])
		}
	}
}

// fitChain counts the steps from class to class. With a year there are few for
// each, so they are joined with those of a plain persistence of the same strength,
// counted as much as 24 days for each class.
func (g *Generator) fitChain(days []measuredDay) {
	var n [classes][classes]float64
	var xy, xx, yy float64
	pairs(days, func(a, b *measuredDay) {
		if math.IsNaN(a.clearness) || math.IsNaN(b.clearness) {
			return
		}
		n[min(int(a.u*classes), classes-1)][min(int(b.u*classes), classes-1)]++
		xy, xx, yy = xy+a.z*b.z, xx+a.z*a.z, yy+b.z*b.z
	})
	if xx*yy <= 0 {
		return
	}
	prior := persistence(clamp(xy/math.Sqrt(xx*yy), -0.9, 0.9))
	for i := range n {
		for j := range n[i] {
			n[i][j] += 24 * prior[i][j]
		}
	}
	g.chain = evenOut(n)
}

// fitFollowers measures how temperature, range, humidity and wind lean on
// clearness and on the day before.
func (g *Generator) fitFollowers(days []measuredDay) {
	n := len(days)
	t, h, w, r := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range days {
		d := &days[i]
		t[i] = d.meanC - g.meanC.at(d.yearDay)
		h[i] = d.rhPct - g.rhPct.at(d.yearDay)
		w[i] = math.Log(math.Max(d.windMS, 0.05) / math.Max(g.windMS.at(d.yearDay), 0.05))
		r[i] = d.rangeK/math.Max(g.rangeK.at(d.yearDay), 0.5) - 1
	}
	g.temp.sd = monthlySD(days, t)
	g.humid.sd = monthlySD(days, h)
	g.wind.sd = monthlySD(days, w)
	g.swing = math.Sqrt(meanSquare(r))
	z := make([]float64, n)
	for i := range days {
		z[i] = days[i].z
	}
	g.temp.on = correlation(z, t)
	g.wind.on = correlation(z, w)
	g.swingOn = correlation(z, r)
	g.humid.on = correlation(z, h)
	tr := remainder(z, t)
	g.humidOn = correlation(tr, h)
	// The two must leave room for the rest.
	if both := math.Hypot(g.humid.on, g.humidOn); both > 0.95 {
		g.humid.on *= 0.95 / both
		g.humidOn *= 0.95 / both
	}
	g.temp.keep = nextDay(days, tr)
	g.humid.keep = nextDay(days, remainder(tr, remainder(z, h)))
	g.wind.keep = nextDay(days, remainder(z, w))
}

// monthlySD returns the standard deviation of x about the mean of each month,
// that month counting twice and its neighbours once: one month has few days.
func monthlySD(days []measuredDay, x []float64) (sd [12]float64) {
	var sum, sq, n [12]float64
	for i, d := range days {
		sum[d.month] += x[i]
		sq[d.month] += x[i] * x[i]
		n[d.month]++
	}
	var v [12]float64
	for m := range 12 {
		mu := sum[m] / n[m]
		v[m] = math.Max(0, sq[m]-n[m]*mu*mu) / math.Max(1, n[m]-1)
	}
	for m := range 12 {
		sd[m] = math.Sqrt((v[(m+11)%12] + 2*v[m] + v[(m+1)%12]) / 4)
	}
	return sd
}

func meanSquare(x []float64) float64 {
	sum := 0.0
	for _, v := range x {
		sum += v * v
	}
	return sum / float64(len(x))
}

// correlation returns the correlation of two series about zero, 0 when one does not vary.
func correlation(x, y []float64) float64 {
	var xy, xx, yy float64
	for i := range x {
		xy, xx, yy = xy+x[i]*y[i], xx+x[i]*x[i], yy+y[i]*y[i]
	}
	if xx <= 0 || yy <= 0 {
		return 0
	}
	return clamp(xy/math.Sqrt(xx*yy), -0.95, 0.95)
}

// remainder returns what of y does not go with x.
func remainder(x, y []float64) []float64 {
	var xy, xx float64
	for i := range x {
		xy, xx = xy+x[i]*y[i], xx+x[i]*x[i]
	}
	b := 0.0
	if xx > 0 {
		b = xy / xx
	}
	out := make([]float64, len(y))
	for i := range y {
		out[i] = y[i] - b*x[i]
	}
	return out
}

// nextDay returns the correlation of x from one day to the next.
func nextDay(days []measuredDay, x []float64) float64 {
	var xy, xx, yy float64
	for i := 1; i < len(days); i++ {
		if days[i].index == days[i-1].index+1 {
			xy, xx, yy = xy+x[i]*x[i-1], xx+x[i-1]*x[i-1], yy+x[i]*x[i]
		}
	}
	if xx <= 0 || yy <= 0 {
		return 0
	}
	return clamp(xy/math.Sqrt(xx*yy), -0.9, 0.95)
}

// fitRain finds how strongly rain prefers dark days from their mean rank:
//
//	E[u | wet] = 1/λ − 1/(e^λ − 1)
func (g *Generator) fitRain(days []measuredDay, wetShare [12]float64) {
	sum, n := 0.0, 0.0
	for i := range days {
		if days[i].rainMM >= wetDayMM {
			sum += days[i].u
			n++
		}
	}
	if n >= 10 {
		want := sum / n
		lo, hi := -5.0, 20.0
		for range 60 {
			mid := (lo + hi) / 2
			m := 0.5
			if math.Abs(mid) > 1e-6 {
				m = 1/mid - 1/math.Expm1(mid)
			}
			if m > want {
				lo = mid
			} else {
				hi = mid
			}
		}
		g.rain.lean = (lo + hi) / 2
	}
	g.rain.fit(wetShare)
}

// fitHours measures what goes on inside the day: the course of the wind and the
// unsteadiness of the light.
func (g *Generator) fitHours(s *Series, a *Almanac, days []measuredDay) {
	var cs, sn, total float64
	var dev, room float64
	for i := range days {
		d := &days[i]
		day := &a.days[d.index]
		ofClear := 0.0
		if day.clearMJ > 0 && !math.IsNaN(d.clearness) {
			ofClear = clamp(d.clearness*day.extraMJ/day.clearMJ, 0, 1)
		}
		sq, n := 0.0, 0.0
		for k, h := range a.hoursOf(d.index) {
			q := &s.Hours[24*d.index+k-a.first]
			sin, cos := math.Sincos(2 * math.Pi * h.solarHour / 24)
			cs += q.WindMS * cos
			sn += q.WindMS * sin
			total += q.WindMS
			if h.clear > 200 && ofClear > 0.05 {
				x := q.GHIWM2/(h.clear*ofClear) - 1
				sq += x * x
				n++
			}
		}
		if n >= 4 {
			dev += math.Sqrt(sq / n)
			room += 4 * ofClear * (1 - ofClear)
		}
	}
	if total > 0 {
		g.windSwing = [2]float64{2 * cs / total, 2 * sn / total}
	}
	if room > 0 {
		g.light.flicker = clamp(dev/room, 0.05, 1)
	}
}

// Clearness returns the mean and the standard deviation of daily clearness in a
// month [1], and the mean temperature [°C] that the generator works from, for
// those who want to see what was estimated. month is 1 for January [1].
func (g *Generator) Clearness(month int) (mean, sd, meanC float64) {
	m := month - 1
	return g.quant[m].mean(), g.quant[m].sd(), yearMonthMean(&g.meanC, m)
}

// yearMonthMean returns the mean of a course over one month.
func yearMonthMean(y *yearCourse, month int) float64 {
	day, sum := 0, 0.0
	for m := range month {
		day += monthDays[m]
	}
	for d := range monthDays[month] {
		sum += y.at(float64(day+d) + 0.5)
	}
	return sum / float64(monthDays[month])
}
