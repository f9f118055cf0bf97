package sky

import (
	"math"
	"math/rand/v2"
	"time"

	"sodalake/science/air"
)

// dayDraw is what is drawn for one day.
type dayDraw struct {
	clearness           float64 // [1]
	meanC, rangeK       float64 // [°C], [K]
	rhPct               float64 // [%]
	windMS              float64 // [m/s]
	rainMM              float64 // [mm]
	rainFrom, rainHours int     // hours of the day
}

// Generate returns drawn weather for a number of days from start [1]. The same
// generator, start, days and state of rng give the same weather.
func (g *Generator) Generate(start time.Time, days int, rng *rand.Rand) Series {
	return g.GenerateOn(NewAlmanac(g.site, start, days), rng)
}

// GenerateOn draws as Generate does, on a sun that is already worked out for the
// generator's site. a may be shared, at once too.
func (g *Generator) GenerateOn(a *Almanac, rng *rand.Rand) Series {
	if a.site != g.site {
		panic("sky: an almanac of another site")
	}
	draws := make([]dayDraw, len(a.days))
	class := rng.IntN(classes)
	// The followers begin somewhere in their long run.
	temp, humid, wind := rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()
	for d := range draws {
		m, y := a.days[d].month, a.days[d].yearDay
		p := rng.Float64()
		next := 0
		for next < classes-1 && p >= g.chain[class][next] {
			next++
		}
		class = next
		u := (float64(class) + rng.Float64()) / classes
		z := normalScore(u)

		temp = step(temp, g.temp.keep, rng)
		humid = step(humid, g.humid.keep, rng)
		wind = step(wind, g.wind.keep, rng)
		swing := lean(z, g.swingOn, rng.NormFloat64())
		w := g.wind.sd[m]
		q := &draws[d]
		q.clearness = g.quant[m].at(u)
		q.meanC = g.meanC.at(y) + g.temp.sd[m]*lean(z, g.temp.on, temp)
		q.rangeK = math.Max(0.1, 1+g.swing*swing) * math.Max(0, g.rangeK.at(y))
		// humidity leans on clearness and on the temperature beyond it
		rest := math.Sqrt(math.Max(0, 1-g.humid.on*g.humid.on-g.humidOn*g.humidOn))
		q.rhPct = clamp(g.rhPct.at(y)+g.humid.sd[m]*(g.humid.on*z+g.humidOn*temp+rest*humid), 3, 100)
		q.windMS = math.Max(0, g.windMS.at(y)) * math.Exp(w*lean(z, g.wind.on, wind)-w*w/2)

		wet := rng.Float64() < g.rain.chance(g.rain.scale[m], u)
		mm := wetDayMM + rng.ExpFloat64()*math.Max(0, g.rain.mm[m]-wetDayMM)
		q.rainFrom, q.rainHours = rng.IntN(20), 1+rng.IntN(5)
		if wet {
			q.rainMM = mm
		}
	}
	return g.render(a, draws, rng)
}

// step moves a standard normal deviate one day on, keep of it being kept [1].
func step(x, keep float64, rng *rand.Rand) float64 {
	return lean(x, keep, rng.NormFloat64())
}

// lean mixes two standard normal deviates into one that is correlated with the first.
func lean(on, correlation, rest float64) float64 {
	return correlation*on + math.Sqrt(1-correlation*correlation)*rest
}

// render turns daily figures into hours; without rng the light is steady.
func (g *Generator) render(a *Almanac, draws []dayDraw, rng *rand.Rand) Series {
	out := Series{Start: a.start.UTC(), Hours: make([]Hour, a.n), WindHeightM: g.windM}
	nodes := noonNodes(draws)
	var w, es, temps [24]float64
	for d := range draws {
		q := &draws[d]
		day := &a.days[d]
		hs := a.hoursOf(d)
		g.spread(day, hs, q.clearness, rng, &w)
		for i := range hs {
			temps[i] = temperature(draws, nodes, d, hs[i].solarHour, &day.swing)
			es[i] = air.Saturation(temps[i])
		}
		e := vapourOf(q.rhPct, &es)
		windScale := q.windMS
		for i := range hs {
			at := 24*d + i - a.first
			if at < 0 || at >= a.n {
				continue
			}
			h := Hour{
				GHIWM2:      q.clearness * day.extraMJ * w[i] / 3600e-6,
				AirC:        temps[i],
				RHPct:       math.Min(100, 100*e/es[i]),
				PressureKPa: g.pressure,
				LongwaveWM2: math.NaN(),
				RainMM:      math.NaN(),
			}
			sin, cos := math.Sincos(2 * math.Pi * hs[i].solarHour / 24)
			h.WindMS = windScale * math.Max(0.05, 1+g.windSwing[0]*cos+g.windSwing[1]*sin)
			if g.rain.known {
				h.RainMM = 0
				if i >= q.rainFrom && i < q.rainFrom+q.rainHours {
					h.RainMM = q.rainMM / float64(q.rainHours)
				}
			}
			out.Hours[at] = h
		}
	}
	return out
}

// spread fills w with the share of the day's light in each hour [1]: the clear
// day's own, made unsteady the more the nearer the day is to half clear, with no
// hour much above the clear sky.
func (g *Generator) spread(day *almanacDay, hs []almanacHour, clearness float64, rng *rand.Rand, w *[24]float64) {
	ofClear := 1.0 // the day's light over the clear day's
	if day.clearMJ > 0 {
		ofClear = clearness * day.extraMJ / day.clearMJ
	}
	s := 0.0
	if rng != nil {
		c := clamp(ofClear, 0, 1)
		s = g.light.flicker * 4 * c * (1 - c)
	}
	roof := math.Max(1.05, ofClear)
	sum := 0.0
	for i := range hs {
		f := 1.0
		if rng != nil { // as many draws in every day, whatever the day is
			f = math.Max(0.1, 1+s*rng.NormFloat64())
		}
		w[i] = hs[i].share * math.Min(f, roof/math.Max(ofClear, 0.01))
		sum += w[i]
	}
	for i := range hs {
		if sum > 0 {
			w[i] /= sum
		} else {
			w[i] = 1.0 / 24 // twilight of a day without a clear-sky sun
		}
	}
}

// noonNodes returns the temperatures at noon between which straight lines have
// each day's own mean [°C]: an eighth from either neighbour, three quarters its own.
func noonNodes(draws []dayDraw) []float64 {
	n := len(draws)
	x, up := make([]float64, n), make([]float64, n)
	for i := range draws { // elimination downwards
		own := 0.75
		if i == 0 {
			own += 0.125
		}
		if i == n-1 {
			own += 0.125
		}
		left := 0.0
		if i > 0 {
			left = 0.125
			own -= left * up[i-1]
			x[i] = (draws[i].meanC - left*x[i-1]) / own
		} else {
			x[i] = draws[i].meanC / own
		}
		up[i] = 0.125 / own
	}
	for i := n - 2; i >= 0; i-- {
		x[i] -= up[i] * x[i+1]
	}
	return x
}

// temperature returns the air temperature at a solar hour of day d [°C].
func temperature(draws []dayDraw, nodes []float64, d int, solarHour float64, course *daySwing) float64 {
	o, u := d-1, solarHour/24+0.5
	if solarHour >= 12 {
		o, u = d, solarHour/24-0.5
	}
	a, b := clampInt(o, 0, len(nodes)-1), clampInt(o+1, 0, len(nodes)-1)
	swing := between(draws[a].rangeK, draws[b].rangeK, u)
	return between(nodes[a], nodes[b], u) + swing*course.at(solarHour)
}

// vapourOf returns the vapour pressure [kPa] that gives the day its mean
// humidity [%], no hour being above saturation.
func vapourOf(rhPct float64, es *[24]float64) float64 {
	inv := 0.0
	low := math.Inf(1)
	for _, s := range es {
		inv += 1 / s / 24
		low = math.Min(low, s)
	}
	e := rhPct / 100 / inv
	if e <= low {
		return e
	}
	// Some hours are saturated: raise the rest, a few rounds are enough.
	for range 8 {
		mean := 0.0
		for _, s := range es {
			mean += math.Min(1, e/s) / 24
		}
		e *= math.Min(1.2, rhPct/100/mean)
	}
	return e
}
