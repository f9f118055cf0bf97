package sky

import "time"

// Almanac is the sun of a span as the generator needs it: how the light of each
// day is spread over its hours. Worked out once, it serves any number of draws.
type Almanac struct {
	site  Site
	start time.Time
	hours []almanacHour // all hours of all days that the span touches
	days  []almanacDay
	first int // hours[first] begins at start [1]
	n     int // hours in the span [1]
}

type almanacHour struct {
	day       int     // index in days
	solarHour float64 // local mean solar time in the middle [h]
	clear     float64 // clear-sky global radiation, mean [W/m²]
	share     float64 // of the clear day's light [1]
}

type almanacDay struct {
	month   int      // 0 for January [1]
	yearDay float64  // day of an ordinary year at noon [d]
	extraMJ float64  // radiation above the air [MJ/m²]
	clearMJ float64  // clear-sky global radiation [MJ/m²]
	swing   daySwing // course of the temperature
}

// NewAlmanac works out the sun for a number of days from start [1]. A day runs
// from midnight to midnight of the site's own mean solar time.
func NewAlmanac(site Site, start time.Time, days int) *Almanac {
	if days < 0 {
		panic("sky: no negative number of days")
	}
	// Solar midnight is at −lon/15 h universal time; an hour belongs to the day
	// that its middle lies in.
	solar := hours(site.LonDeg / 15)
	dayOf := func(t time.Time) time.Time { return t.Add(solar).UTC().Truncate(24 * time.Hour) }
	mid := func(t time.Time) time.Time { return t.Add(30 * time.Minute) }

	a := &Almanac{site: site, start: start, n: 24 * days}
	if days == 0 {
		return a
	}
	begin := start
	for dayOf(mid(begin.Add(-time.Hour))).Equal(dayOf(mid(start))) {
		begin = begin.Add(-time.Hour)
	}
	end := start.Add(time.Duration(a.n) * time.Hour)
	for dayOf(mid(end)).Equal(dayOf(mid(end.Add(-time.Hour)))) {
		end = end.Add(time.Hour)
	}
	total := int(end.Sub(begin) / time.Hour)
	a.first = int(start.Sub(begin) / time.Hour)
	a.hours = make([]almanacHour, total)

	jd0 := julianDay(begin)
	var eph ephemeris
	eph.cover(jd0-1, jd0+float64(total)/24+1, DeltaT(decimalYear(start)))
	o := newObserver(site)
	cond := DefaultConditions(start, site)
	k := newClearCoefficients(site.ElevationM, DefaultLinke)
	var last time.Time
	for i := range a.hours {
		h := &a.hours[i]
		m := mid(begin.Add(time.Duration(i) * time.Hour))
		if date := dayOf(m); i == 0 || !date.Equal(last) {
			last = date
			noon := date.Add(12*time.Hour - solar)
			g := eph.at(julianDay(noon))
			mj, half := dayLight(site.LatDeg, g.deltaDeg, SolarConstant/(g.distanceAU*g.distanceAU))
			a.days = append(a.days, almanacDay{
				month:   int(date.Month()) - 1,
				yearDay: dayOfYear(date.Add(12 * time.Hour)),
				extraMJ: mj,
				swing:   newDaySwing(half),
			})
		}
		h.day = len(a.days) - 1
		h.solarHour = m.Add(solar).Sub(last).Hours()
		for q := range 4 {
			jd := jd0 + (float64(i)+(float64(q)+0.5)/4)/24
			g := eph.at(jd)
			s := g.observe(jd, o, cond)
			h.clear += k.at(s.ApparentElevationDeg, s.CosZenith(), s.ExtraterrestrialWM2).GHIWM2 / 4
		}
		a.days[h.day].clearMJ += h.clear * 3600e-6
	}
	for i := range a.hours {
		h := &a.hours[i]
		if c := a.days[h.day].clearMJ; c > 0 {
			h.share = h.clear * 3600e-6 / c
		}
	}
	return a
}

// hoursOf returns the hours of a day; each day has 24.
func (a *Almanac) hoursOf(day int) []almanacHour { return a.hours[24*day : 24*day+24] }
