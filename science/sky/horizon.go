package sky

import (
	"math"
	"time"
)

// horizonDeg is the height of the sun's centre when its upper limb touches the
// horizon: 0.26667° of radius and 0.5667° of refraction. Source: redaandreas2008, A.2.1.
const horizonDeg = -0.8333

// Polar says whether a day has a sunrise and a sunset at all.
type Polar uint8

// What can become of a day.
const (
	Ordinary   Polar = iota // the sun crosses the horizon at least once
	PolarDay                // it stays up
	PolarNight              // it stays down
)

// Day is the course of the sun from one midnight to the next.
type Day struct {
	Rise    time.Time // upper limb at the horizon; zero when it does not rise
	Transit time.Time // the sun in the meridian
	Set     time.Time // upper limb at the horizon; zero when it does not set
	LengthH float64   // time with the sun up [h]
	Polar   Polar     // whether it crosses the horizon
}

// DayAt returns sunrise, transit, sunset and day length of the date that date
// shows in its own time zone, around the noon of the site's own longitude, to
// a second for a level horizon at the height of the site. The times are UTC; at
// the date line and with odd time zones they may fall on a neighbouring date.
//
// Valid for the years 1900 to 2150. Refraction at the horizon changes with the
// weather by about ±0.1°: some 30 s in the tropics, minutes near the poles.
//
// Special cases: near the poles the sun may rise without setting on one day, and
// set without rising on another: then the other time is zero. At the poles the
// transit is that of the site's longitude.
//
// Source: redaandreas2008, appendix A.2, with the root sought to the end
// instead of one interpolation.
func DayAt(date time.Time, site Site) Day {
	y, m, d := date.Date()
	noon := time.Date(y, m, d, 12, 0, 0, 0, time.UTC).Add(hours(-halfTurn(site.LonDeg) / 15))
	o := newObserver(site)
	dt := DeltaT(decimalYear(noon))
	jd0 := julianDay(noon)
	var eph ephemeris
	eph.start(jd0, dt)

	// The transit: two rounds are exact, for the sun gains 4 minutes a day at most.
	tr := 0.0 // days after noon
	for range 4 {
		g := eph.at(jd0 + tr)
		tr -= halfTurn(g.siderealDeg(jd0+tr)+o.lonDeg-g.alphaDeg) / 360.98564736629
	}
	height := func(x float64) float64 { // above the rising height, geocentric as A.2 has it
		g := eph.at(jd0 + x)
		h := g.siderealDeg(jd0+x) + o.lonDeg - g.alphaDeg
		return toDeg(math.Asin(clamp(o.sinLat*sinDeg(g.deltaDeg)+
			o.cosLat*cosDeg(g.deltaDeg)*cosDeg(h), -1, 1))) - horizonDeg
	}
	before, after := tr-0.5, tr+0.5
	out := Day{Transit: noon.Add(hours(24 * tr))}
	hb, ht, ha := height(before), height(tr), height(after)
	rise, set := before, after
	if hb < 0 && ht >= 0 {
		rise = crossing(height, before, tr)
		out.Rise = noon.Add(hours(24 * rise))
	}
	if ha < 0 && ht >= 0 {
		set = crossing(height, after, tr)
		out.Set = noon.Add(hours(24 * set))
	}
	switch {
	case ht >= 0:
		out.LengthH = 24 * (set - rise)
		if hb >= 0 && ha >= 0 {
			out.Polar = PolarDay
		}
	case hb >= 0 || ha >= 0: // within a day of the pole's own sunrise or sunset
		if hb >= 0 {
			x := crossing(height, tr, before)
			out.Set = noon.Add(hours(24 * x))
			out.LengthH += 24 * (x - before)
		}
		if ha >= 0 {
			x := crossing(height, tr, after)
			out.Rise = noon.Add(hours(24 * x))
			out.LengthH += 24 * (after - x)
		}
	default:
		out.Polar = PolarNight
	}
	return out
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// crossing finds where f passes from negative at lo to positive at hi, by
// halving to a tenth of a second.
func crossing(f func(float64) float64, lo, hi float64) float64 {
	for range 20 {
		mid := (lo + hi) / 2
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// ephemeris holds the sun's geocentric place at midnight of some days and
// interpolates between them. The error stays below 0.00005°.
type ephemeris struct {
	first float64 // Julian day of node 0
	nodes []geocentric
	small [4]geocentric
}

// start lays the nodes around one day.
func (e *ephemeris) start(jd, deltaTS float64) {
	e.nodes = e.small[:0]
	e.cover(jd, jd, deltaTS)
}

// cover lays the nodes so that every moment from a to b lies within them.
func (e *ephemeris) cover(a, b, deltaTS float64) {
	e.first = math.Floor(a) - 1
	n := int(math.Floor(b)-e.first) + 3
	for i := range n {
		g := geocentricAt(e.first+float64(i), deltaTS)
		if i > 0 { // unwind the angles, so that they can be interpolated
			p := &e.nodes[i-1]
			g.alphaDeg = p.alphaDeg + halfTurn(g.alphaDeg-p.alphaDeg)
			g.meanLongDeg = p.meanLongDeg + halfTurn(g.meanLongDeg-p.meanLongDeg)
		}
		e.nodes = append(e.nodes, g)
	}
}

// at interpolates by the cubic through four nodes.
func (e *ephemeris) at(jd float64) geocentric {
	i := int(jd - e.first)
	i = min(max(i, 1), len(e.nodes)-3)
	u := jd - e.first - float64(i)
	w0 := -u * (u - 1) * (u - 2) / 6
	w1 := (u + 1) * (u - 1) * (u - 2) / 2
	w2 := -(u + 1) * u * (u - 2) / 2
	w3 := (u + 1) * u * (u - 1) / 6
	a, b, c, d := &e.nodes[i-1], &e.nodes[i], &e.nodes[i+1], &e.nodes[i+2]
	return geocentric{
		alphaDeg:    w0*a.alphaDeg + w1*b.alphaDeg + w2*c.alphaDeg + w3*d.alphaDeg,
		deltaDeg:    w0*a.deltaDeg + w1*b.deltaDeg + w2*c.deltaDeg + w3*d.deltaDeg,
		distanceAU:  w0*a.distanceAU + w1*b.distanceAU + w2*c.distanceAU + w3*d.distanceAU,
		equinoxDeg:  w0*a.equinoxDeg + w1*b.equinoxDeg + w2*c.equinoxDeg + w3*d.equinoxDeg,
		meanLongDeg: w0*a.meanLongDeg + w1*b.meanLongDeg + w2*c.meanLongDeg + w3*d.meanLongDeg,
	}
}
