package design

import (
	"math"
	"slices"
	"time"

	"sodalake/science/growth"
	"sodalake/science/num"
)

// pauseDays is the longest time without a harvest that still counts as the
// season [d]. Judgement, no source.
const pauseDays = 45

// Dates are an early, a middle and a late date, as month and day: 10, 50 and
// 90 % of the years.
type Dates struct {
	Early string `json:"early"` // "04-17"
	Mid   string `json:"mid"`
	Late  string `json:"late"`
}

// Season is when it can be harvested and how the culture comes through the rest.
type Season struct {
	YearRoundPct float64  `json:"year_round_pct"` // years without a pause of 45 days
	NonePct      float64  `json:"none_pct"`       // years without any harvest
	LengthD      num.Band `json:"length_d"`       // from the first harvest of the season to its last
	First        *Dates   `json:"first_harvest,omitempty"`
	Last         *Dates   `json:"last_harvest,omitempty"`
	// LastRegrown is the last day in the season on which a harvest was grown back
	// to the density of a harvest before the pause: early is the day to go by,
	// nine years in ten were as late or later.
	LastRegrown *Dates `json:"last_regrown_harvest,omitempty"`
	// Restart is when the water was warm enough over a week, after the coldest
	// week, to start again.
	Restart *Dates `json:"restart,omitempty"`

	Indoors        bool     `json:"winters_indoors"`   // the pond is emptied in the cold
	PauseByHeatPct float64  `json:"pause_by_heat_pct"` // years whose pause was one of heat
	WintersPct     float64  `json:"comes_through_pct"` // of the years with a cold pause, those in which the culture in the pond came through
	ThinnestGL     num.Band `json:"thinnest_g_per_l"`  // least density of a year, where it lived on
	HotDays        num.Band `json:"days_above_40_c"`
	AlarmPct       float64  `json:"years_above_43_c_pct"` // years with a day above 43 °C
	IceDays        num.Band `json:"days_with_ice"`
	SeedG          num.Band `json:"reserve_g_per_year"` // dry matter that had to be put in anew
}

// seasonOf works the season out of the years, and the harvest over its days
// [g/m²/d].
func seasonOf(p *Pond, start time.Time, areaM2 float64, years []*course) (Season, num.Band) {
	s := Season{Indoors: p.EmptyInCold}
	var length, first, last, safe, restart, thin, hot, ice, seed, perDay []float64
	colds, through := 0.0, 0.0
	n := float64(len(years))
	for _, c := range years {
		k := pauseOf(c)
		hotDays, iceDays, alarm, least := 0.0, 0.0, false, math.Inf(1)
		total := 0.0
		for d := range daysOfYear {
			if c.maxC[d] > growth.HeatActC {
				hotDays++
			}
			alarm = alarm || c.maxC[d] > growth.HeatAlarmC
			if c.coldestC[d] < 0 {
				iceDays++
			}
			if c.alive[d] {
				least = math.Min(least, c.densityGL[d])
			}
			total += c.harvestG[d]
		}
		hot, ice, seed = append(hot, hotDays), append(ice, iceDays), append(seed, c.seedG)
		if alarm {
			s.AlarmPct += 100 / n
		}
		if !math.IsInf(least, 1) {
			thin = append(thin, least)
		}
		switch {
		case k.none:
			s.NonePct += 100 / n
			length = append(length, 0)
			continue
		case k.round:
			s.YearRoundPct += 100 / n
			length = append(length, daysOfYear)
			perDay = append(perDay, total/areaM2/daysOfYear)
			continue
		}
		length = append(length, float64(k.length))
		perDay = append(perDay, total/areaM2/float64(k.length))
		first, last = append(first, float64(k.first)), append(last, float64(k.last))
		if !k.cold {
			s.PauseByHeatPct += 100 / n
			continue
		}
		colds++
		if c.lost < 0 && !p.EmptyInCold {
			through++
		}
		if k.safe >= 0 {
			safe = append(safe, float64(k.safe))
		}
		if k.restart >= 0 {
			restart = append(restart, float64(k.restart))
		}
	}
	s.LengthD, s.ThinnestGL, s.HotDays, s.IceDays, s.SeedG = num.BandOf(length), num.BandOf(thin), num.BandOf(hot), num.BandOf(ice), num.BandOf(seed)
	s.First, s.Last, s.LastRegrown, s.Restart = dates(start, first), dates(start, last), dates(start, safe), dates(start, restart)
	if colds > 0 {
		s.WintersPct = 100 * through / colds
	}
	if len(thin) == 0 {
		s.ThinnestGL = num.Band{}
	}
	season := num.BandOf(perDay)
	if len(perDay) == 0 {
		season = num.Band{}
	}
	return s, season
}

// pause is the time of a year without harvests.
type pause struct {
	none, round bool
	last, first int  // harvests before and after it, days of the course
	length      int  // of the season [d]
	cold        bool // it is one of cold, not of heat
	safe        int  // last harvest that was grown back, -1
	restart     int  // day on which the water was warm enough again, -1
}

// pauseOf finds the longest time without a harvest, around the turn of the
// course too, for years are alike in length and not in where they are cut.
func pauseOf(c *course) pause {
	var days []int
	for d, g := range c.harvestG {
		if g > 0 {
			days = append(days, d)
		}
	}
	k := pause{safe: -1, restart: -1}
	if len(days) == 0 {
		k.none = true
		return k
	}
	gap, at := 0, 0
	for i, d := range days {
		after := days[(i+1)%len(days)]
		if g := (after - d + daysOfYear) % daysOfYear; g > gap || len(days) == 1 {
			gap, at = g, i
		}
	}
	if len(days) == 1 {
		gap = daysOfYear
	}
	if gap <= pauseDays {
		k.round = true
		return k
	}
	k.last, k.first = days[at], days[(at+1)%len(days)]
	k.length = daysOfYear - gap + 1
	sum, coldest, coldC := 0.0, 0, math.Inf(1)
	for i := range gap {
		d := (k.last + i) % daysOfYear
		sum += c.meanC[d]
		if w := weekOf(c, d); w < coldC {
			coldest, coldC = i, w
		}
	}
	k.cold = sum/float64(gap) < 25
	if len(days) > 1 && k.cold {
		k.safe = days[(at-1+len(days))%len(days)]
	}
	for i := coldest; i < gap && k.cold; i++ {
		if d := (k.last + i) % daysOfYear; weekOf(c, d) >= WakeC {
			k.restart = d
			break
		}
	}
	return k
}

// weekOf is the mean water of the seven days that end with a day [°C].
func weekOf(c *course, d int) float64 {
	sum := 0.0
	for i := range 7 {
		sum += c.meanC[(d-i+daysOfYear)%daysOfYear]
	}
	return sum / 7
}

// dates turns days of the course into dates; nil for none. They may lie around
// the turn of the course, so they are laid around their own middle first.
func dates(start time.Time, days []float64) *Dates {
	if len(days) == 0 {
		return nil
	}
	x, y := 0.0, 0.0
	for _, d := range days {
		x, y = x+math.Cos(2*math.Pi*d/daysOfYear), y+math.Sin(2*math.Pi*d/daysOfYear)
	}
	middle := math.Atan2(y, x) * daysOfYear / (2 * math.Pi)
	around := make([]float64, len(days))
	for i, d := range days {
		around[i] = middle + math.Remainder(d-middle, daysOfYear)
	}
	slices.Sort(around)
	say := func(p float64) string {
		d := int(math.Round(num.Quantile(around, p)))
		d = (d%daysOfYear + daysOfYear) % daysOfYear
		return start.Add(time.Duration(d)*24*time.Hour + 12*time.Hour).Format("01-02")
	}
	return &Dates{say(0.1), say(0.5), say(0.9)}
}
