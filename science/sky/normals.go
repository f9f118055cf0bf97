package sky

import (
	"fmt"
	"math"
	"time"

	"sodalake/science/air"
)

// Month is what a grower knows of a mean month. NaN stands for what is not
// known; begin with UnknownMonth.
type Month struct {
	GHIMJM2D  float64 // global radiation [MJ/m²/d]
	SunHours  float64 // sunshine [h/d]
	Clearness float64 // global over extraterrestrial radiation [1]
	MeanC     float64 // mean air temperature [°C]
	MinC      float64 // mean of the daily lowest [°C]
	MaxC      float64 // mean of the daily highest [°C]
	RHPct     float64 // mean relative humidity [%]
	VapourKPa float64 // mean vapour pressure [kPa]
	WindMS    float64 // mean wind at 2 m [m/s]
	RainDays  float64 // days with rain [d]
	RainMM    float64 // rain in the month [mm]
}

// UnknownMonth returns a month of which nothing is known.
func UnknownMonth() Month {
	n := math.NaN()
	return Month{n, n, n, n, n, n, n, n, n, n, n}
}

// Normals are the twelve mean months, January first.
type Normals [12]Month

// Defaults for what normals leave open.
const (
	defaultWindMS    = 2.0  // [m/s], fao56 ch. 3: the mean of over 2000 stations
	defaultRangeK    = 10.0 // daily range of temperature [K], common practice, no source
	defaultClearness = 0.5  // [1], where the sun does not rise and nothing can be told
	defaultRainMM    = 8.0  // rain on a wet day [mm], common practice, no source
)

// climate is the mean course of the year in the terms of the generator.
type climate struct {
	clearness [12]float64 // [1]
	meanC     [12]float64 // [°C]
	rangeK    [12]float64 // [K]
	rhPct     [12]float64 // [%]
	windMS    [12]float64 // [m/s]
	wetShare  [12]float64 // share of days with rain [1]
	wetMM     [12]float64 // rain on such a day [mm]
	rainKnown bool
	windM     float64 // height of the wind [m]
	pressure  float64 // [kPa], NaN for the standard
}

var monthDays = [12]int{31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}

// climate works out what the generator needs, or says what is missing.
func (n *Normals) climate(site Site) (climate, error) {
	c := climate{windM: 2, pressure: math.NaN(), rainKnown: true}
	if err := site.Check(); err != nil {
		return c, err
	}
	for m := range n {
		k := &n[m]
		bad := func(field, why, hint string) error {
			return &InputError{Field: fmt.Sprintf("monthly[%d].%s", m, field), Why: why, Hint: hint}
		}
		for _, r := range []struct {
			field     string
			v, lo, hi float64
		}{
			{"ghi_mj_m2_d", k.GHIMJM2D, 0, 50}, {"sun_hours", k.SunHours, 0, 24}, {"clearness", k.Clearness, 0, 0.9},
			{"t_mean_c", k.MeanC, -60, 60}, {"t_min_c", k.MinC, -70, 60}, {"t_max_c", k.MaxC, -60, 65},
			{"rh_pct", k.RHPct, 1, 100}, {"vapour_pressure_kpa", k.VapourKPa, 0, 7}, {"wind_2m_m_s", k.WindMS, 0, 30},
			{"rain_days", k.RainDays, 0, 31}, {"rain_mm", k.RainMM, 0, 5000},
		} {
			if !math.IsNaN(r.v) && !(r.v >= r.lo && r.v <= r.hi) {
				return c, bad(r.field, fmt.Sprintf("must lie between %g and %g, got %g", r.lo, r.hi, r.v), "")
			}
		}

		extra, sunH := monthSun(site, m)
		swing := newDaySwing(sunH / 2)
		switch {
		case !math.IsNaN(k.Clearness):
			c.clearness[m] = k.Clearness
		case extra < 0.5: // polar night
			c.clearness[m] = defaultClearness
		case !math.IsNaN(k.GHIMJM2D):
			c.clearness[m] = k.GHIMJM2D / extra
		case !math.IsNaN(k.SunHours):
			c.clearness[m] = GlobalFromSunshine(math.Min(k.SunHours, sunH), sunH, extra, angstromOvercast, angstromSun) / extra
		default:
			return c, bad("ghi_mj_m2_d", "light is not known", "give ghi_mj_m2_d, sun_hours or clearness")
		}
		if c.clearness[m] > 0.85 {
			return c, bad("ghi_mj_m2_d", fmt.Sprintf("more than 85 %% of what reaches the air's upper edge (%.1f MJ/m² a day)", extra), "check the unit: 1 kWh is 3.6 MJ")
		}
		c.clearness[m] = math.Max(c.clearness[m], 0.08)

		switch {
		case !math.IsNaN(k.MeanC):
			c.meanC[m] = k.MeanC
		case !math.IsNaN(k.MinC + k.MaxC): // so that the days have these extremes
			c.meanC[m] = k.MinC + swing.mean*(k.MaxC-k.MinC)
		default:
			return c, bad("t_mean_c", "temperature is not known", "give t_mean_c, or t_min_c and t_max_c")
		}
		c.rangeK[m] = defaultRangeK
		if !math.IsNaN(k.MinC + k.MaxC) {
			if k.MaxC < k.MinC {
				return c, bad("t_max_c", fmt.Sprintf("%g is below t_min_c %g", k.MaxC, k.MinC), "")
			}
			c.rangeK[m] = k.MaxC - k.MinC
		}

		switch {
		case !math.IsNaN(k.RHPct):
			c.rhPct[m] = k.RHPct
		case !math.IsNaN(k.VapourKPa):
			c.rhPct[m] = humidityOf(k.VapourKPa, c.meanC[m], c.rangeK[m], swing)
		default: // the night cools to the dew point, fao56 eq. 48
			c.rhPct[m] = humidityOf(air.Saturation(c.meanC[m]-c.rangeK[m]*swing.mean), c.meanC[m], c.rangeK[m], swing)
		}
		c.windMS[m] = defaultWindMS
		if !math.IsNaN(k.WindMS) {
			c.windMS[m] = k.WindMS
		}

		days := float64(monthDays[m])
		rd, mm := k.RainDays, k.RainMM
		switch {
		case math.IsNaN(rd) && math.IsNaN(mm):
			c.rainKnown = false
		case math.IsNaN(rd):
			rd = math.Min(mm/defaultRainMM, 0.8*days)
		case math.IsNaN(mm):
			mm = rd * defaultRainMM
		}
		if rd > 0 && mm > 0 {
			c.wetShare[m] = math.Min(rd/days, 1)
			c.wetMM[m] = mm / (c.wetShare[m] * days)
		}
	}
	return c, nil
}

// humidityOf returns the mean relative humidity of a day [%] with this vapour
// pressure all day.
func humidityOf(vapourKPa, meanC, rangeK float64, swing daySwing) float64 {
	sum := 0.0
	for h := range 24 {
		t := meanC + rangeK*swing.at(float64(h)+0.5)
		sum += math.Min(1, vapourKPa/air.Saturation(t))
	}
	return clamp(100*sum/24, 1, 100)
}

// dayLight returns the radiation above the air on the horizontal over a day
// [MJ/m²] and the half day from sunrise to noon [h], for the geocentric sun at noon.
func dayLight(latDeg, declDeg, normalWM2 float64) (mj, halfDayH float64) {
	lat, dec := latDeg*(math.Pi/180), declDeg*(math.Pi/180)
	ws := math.Acos(clamp(-math.Tan(lat)*math.Tan(dec), -1, 1))
	h := math.Sin(lat)*math.Sin(dec)*ws + math.Cos(lat)*math.Cos(dec)*math.Sin(ws)
	return math.Max(0, 86400e-6/math.Pi*normalWM2*h), 12 / math.Pi * ws
}

// monthSun returns the mean radiation above the air [MJ/m²/d] and the mean day
// length [h] of a month in an ordinary year.
func monthSun(site Site, month int) (mjM2D, dayH float64) {
	for d := range monthDays[month] {
		noon := time.Date(2025, time.Month(month+1), d+1, 12, 0, 0, 0, time.UTC)
		g := geocentricAt(julianDay(noon)-site.LonDeg/360, 69)
		mj, half := dayLight(site.LatDeg, g.deltaDeg, SolarConstant/(g.distanceAU*g.distanceAU))
		mjM2D += mj / float64(monthDays[month])
		dayH += 2 * half / float64(monthDays[month])
	}
	return mjM2D, dayH
}

// daySwing is the course of the temperature over a day, as the share of the
// daily range above or below the day's mean. It rises from sunrise along a sine
// that would come back after the day length and 3.72 h, and falls along an
// exponential from sunset to the next sunrise.
//
// Source: partonlogan1981 (Parton & Logan 1981, Agric. Meteorol. 23:205), with
// their coefficients for air at 1.5 m (1.86 h, 2.20, −0.17 h), from memory.
// Departs: the night's curve is drawn on so that it meets the sunrise.
type daySwing struct {
	lowest float64 // solar time of the lowest temperature [h]
	day    float64 // from there to sunset [h]
	wave   float64 // half the sine wave [h]
	dusk   float64 // share of the range left at sunset [1]
	mean   float64 // mean of the course above its lowest [1]
}

const nightFall = 2.20 // how often the night falls by a factor e [1]

// newDaySwing returns the course for a half day from sunrise to noon [h].
func newDaySwing(halfDayH float64) daySwing {
	half := clamp(halfDayH, 3, 9.5)
	w := daySwing{lowest: 12 - half - 0.17, day: 2*half + 0.17, wave: 2*half + 2*1.86}
	w.dusk = math.Sin(math.Pi * w.day / w.wave)
	light := w.wave / math.Pi * (1 - math.Cos(math.Pi*w.day/w.wave))
	end := math.Exp(-nightFall)
	dark := (24 - w.day) * w.dusk * ((1-end)/nightFall - end) / (1 - end)
	w.mean = (light + dark) / 24
	return w
}

// at returns the share of the daily range above the day's mean [1] at a solar hour [h].
func (w *daySwing) at(hour float64) float64 {
	m := hour - w.lowest
	if m < 0 {
		m += 24
	}
	if m <= w.day {
		return math.Sin(math.Pi*m/w.wave) - w.mean
	}
	n := (m - w.day) / (24 - w.day)
	end := math.Exp(-nightFall)
	return w.dusk*(math.Exp(-nightFall*n)-end)/(1-end) - w.mean
}

// yearCourse turns twelve monthly means into a smooth course of the year: a line
// from mid-month to mid-month whose mean over each month is what was given.
type yearCourse [12]float64

func newYearCourse(monthly [12]float64) yearCourse {
	y := yearCourse(monthly)
	for range 30 {
		var next yearCourse
		day := 0
		for m, n := range monthDays {
			mean := 0.0
			for d := range n {
				mean += y.at(float64(day+d)+0.5) / float64(n)
			}
			day += n
			next[m] = y[m] + monthly[m] - mean
		}
		y = next
	}
	return y
}

// at returns the value on a day of an ordinary year, 0 at its beginning [d].
func (y *yearCourse) at(day float64) float64 {
	a, midA := 11, -float64(monthDays[11])/2 // the middle of the month before
	begin := 0.0
	for i := range 13 {
		b := i % 12
		midB := begin + float64(monthDays[b])/2
		if day < midB || i == 12 {
			return y[a] + (y[b]-y[a])*(day-midA)/(midB-midA)
		}
		a, midA = b, midB
		begin += float64(monthDays[b])
	}
	return y[11] // not reached
}

// dayOfYear returns the time of year in days of an ordinary year, 0 to 365.
func dayOfYear(t time.Time) float64 {
	d := float64(t.YearDay()-1) + (float64(t.Hour())+float64(t.Minute())/60)/24
	return math.Min(d, 364.999)
}

// Mean returns the mean weather of a year, hour by hour [calendar year], the
// same day after day but for the season: for a first look, not for a forecast,
// for real weather has spread and this has none.
//
// The light of a month, its mean temperature, wind and rain are those of the
// normals; rain drizzles evenly. The error is an *InputError that names the
// month and field that cannot be used.
func (n *Normals) Mean(site Site, year int) (Series, error) {
	c, err := n.climate(site)
	if err != nil {
		return Series{}, err
	}
	start := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
	days := int(start.AddDate(1, 0, 0).Sub(start) / (24 * time.Hour))
	a := NewAlmanac(site, start, days)
	g := newGenerator(site, c)
	draws := make([]dayDraw, len(a.days))
	for d := range draws {
		y := a.days[d].yearDay
		m := a.days[d].month
		draws[d] = dayDraw{
			clearness: g.clearness.at(y),
			meanC:     g.meanC.at(y),
			rangeK:    math.Max(0, g.rangeK.at(y)),
			rhPct:     clamp(g.rhPct.at(y), 1, 100),
			windMS:    math.Max(0, g.windMS.at(y)),
			rainMM:    c.wetShare[m] * c.wetMM[m],
			rainFrom:  0, rainHours: 24,
		}
	}
	return g.render(a, draws, nil), nil
}
