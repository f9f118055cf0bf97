package design

import (
	"fmt"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/pond"
	"sodalake/science/power"
)

// Answer is what came of it.
type Answer struct {
	Years       int       `json:"years"`
	FirstMonth  int       `json:"first_month"` // the year begins with it: midsummer
	Outcomes    []Outcome `json:"designs"`
	Versus      []Versus  `json:"versus"` // each later design against the first
	Assumptions []string  `json:"assumptions"`
	Cautions    []string  `json:"cautions"`
}

// Outcome is what one design brings. Bands are 10, 50 and 90 % over the drawn
// years and all that is not known of the pond.
type Outcome struct {
	Name    string  `json:"name"`
	AreaM2  float64 `json:"area_m2"`
	VolumeL float64 `json:"volume_l"`

	Months       [12]Month `json:"months"` // January first
	YearKg       num.Band  `json:"harvest_kg_per_year"`
	YearGM2D     num.Band  `json:"harvest_g_per_m2_d"`        // over all days of the year
	SeasonGM2D   num.Band  `json:"season_harvest_g_per_m2_d"` // over the days of the season
	HarvestDays  num.Band  `json:"harvest_days_per_year"`
	WaterM3      num.Band  `json:"water_m3_per_year"` // topped up, without the first filling
	FillingM3    float64   `json:"filling_m3"`
	FirstSaltsKg []Salt    `json:"first_salts"`
	FeedKg       []Salt    `json:"feed_per_year"`
	CO2Kg        num.Band  `json:"co2_kg_per_year"`
	StirW        float64   `json:"stir_w"`
	PowerKWh     float64   `json:"power_kwh_per_year"`
	Cost         *Cost     `json:"cost,omitempty"`
	Season       Season    `json:"season"`
	Area         *Area     `json:"area,omitempty"`
	Limits       []string  `json:"limits"` // keys: what holds it back
	perYear      []float64 // harvest [kg]
}

// Month is one month of the year.
type Month struct {
	Month     int      `json:"month"`
	YieldGM2D num.Band `json:"harvest_g_per_m2_d"`
	GrowthGM2 num.Band `json:"growth_g_per_m2_d"`
	WaterC    num.Band `json:"water_mean_c"`
	ColdestC  num.Band `json:"water_coldest_c"`
	WarmestC  num.Band `json:"water_warmest_c"`
	TopUpL    num.Band `json:"top_up_l"`
}

// Salt is an amount of one salt.
type Salt struct {
	Formula string  `json:"formula"`
	Kg      float64 `json:"kg"`
}

// Versus holds a design against the first, year by year under the same weather
// and draws.
type Versus struct {
	Name      string   `json:"name"`
	MorePct   num.Band `json:"more_pct"`   // harvest of a year, against the first
	BetterPct float64  `json:"better_pct"` // share of the years in which it brings more
}

// Limits of a design.
const (
	TooCold = "cold" // the water is mostly too cold
	TooHot  = "hot"  // on some days the water passes 43 °C
	TooDark = "dark" // there is not enough light
	Frozen  = "ice"  // the water freezes
)

// answer puts the courses of all designs together.
func (a *Ask) answer(start time.Time, ponds []pond.Vessel, courses [][]*course) *Answer {
	out := &Answer{Years: a.Years, FirstMonth: int(start.Add(36 * time.Hour).Month()), Versus: []Versus{}}
	for i := range a.Ponds {
		o := a.outcome(&a.Ponds[i], &ponds[i], start, courses[i])
		o.Name = a.Ponds[i].Name
		if o.Name == "" {
			o.Name = fmt.Sprintf("design %d", i+1)
		}
		out.Outcomes = append(out.Outcomes, o)
	}
	first := &out.Outcomes[0]
	for i := 1; i < len(out.Outcomes); i++ {
		o := &out.Outcomes[i]
		v := Versus{Name: o.Name}
		more := make([]float64, a.Years)
		for y := range more {
			more[y] = math.NaN() // nothing against nothing
			if first.perYear[y] > 0 {
				more[y] = 100 * (o.perYear[y]/first.perYear[y] - 1)
			}
			if o.perYear[y] > first.perYear[y] {
				v.BetterPct += 100 / float64(a.Years)
			}
		}
		v.MorePct = num.BandOf(more)
		out.Versus = append(out.Versus, v)
	}
	out.Assumptions = a.assumptions()
	for _, c := range power.For(power.Water | power.Mains) {
		out.Cautions = append(out.Cautions, c.Text)
	}
	return out
}

// months holds values by month and year.
type months [12][]float64

func (m *months) bands(to func(i int) *num.Band) {
	for i := range m {
		*to(i) = num.BandOf(m[i])
	}
}

// outcome puts the years of one design together.
func (a *Ask) outcome(p *Pond, v *pond.Vessel, start time.Time, years []*course) Outcome {
	o := Outcome{AreaM2: p.areaM2(), VolumeL: v.VolumeL(), Limits: []string{}}
	o.FillingM3 = o.VolumeL / 1000
	var monthOf [daysOfYear]int
	var daysIn [12]float64
	for d := range daysOfYear {
		m := int(start.Add(time.Duration(d)*24*time.Hour+12*time.Hour).Month()) - 1
		monthOf[d] = m
		daysIn[m]++
	}
	var yield, grown, mean, cold, warm, top months
	var kg, perDay, days, water, co2 []float64
	var feed [len(model.FeedSalts)]float64
	for _, c := range years {
		var y, g, m, t [12]float64
		lo, hi := [12]float64{}, [12]float64{}
		for i := range lo {
			lo[i], hi[i] = math.Inf(1), math.Inf(-1)
		}
		total, harvests, topped := 0.0, 0.0, 0.0
		for d := range daysOfYear {
			i := monthOf[d]
			y[i] += c.harvestG[d]
			g[i] += c.growthG[d]
			m[i] += c.meanC[d]
			t[i] += c.waterKg[d]
			lo[i], hi[i] = math.Min(lo[i], c.coldestC[d]), math.Max(hi[i], c.maxC[d])
			total += c.harvestG[d]
			topped += c.waterKg[d]
			if c.harvestG[d] > 0 {
				harvests++
			}
		}
		for i := range 12 {
			per := 1 / (daysIn[i] * o.AreaM2)
			yield[i], grown[i] = append(yield[i], y[i]*per), append(grown[i], g[i]*per)
			mean[i], top[i] = append(mean[i], m[i]/daysIn[i]), append(top[i], t[i])
			cold[i], warm[i] = append(cold[i], lo[i]), append(warm[i], hi[i])
		}
		kg = append(kg, total/1000)
		perDay = append(perDay, total/o.AreaM2/daysOfYear)
		days, water, co2 = append(days, harvests), append(water, topped/1000), append(co2, c.co2G/1000)
		for k := range feed {
			feed[k] += c.feedG[k] / 1000 / float64(len(years))
		}
	}
	for i := range 12 {
		o.Months[i].Month = i + 1
	}
	yield.bands(func(i int) *num.Band { return &o.Months[i].YieldGM2D })
	grown.bands(func(i int) *num.Band { return &o.Months[i].GrowthGM2 })
	mean.bands(func(i int) *num.Band { return &o.Months[i].WaterC })
	cold.bands(func(i int) *num.Band { return &o.Months[i].ColdestC })
	warm.bands(func(i int) *num.Band { return &o.Months[i].WarmestC })
	top.bands(func(i int) *num.Band { return &o.Months[i].TopUpL })
	o.perYear = append([]float64(nil), kg...)
	o.YearKg, o.YearGM2D, o.HarvestDays = num.BandOf(kg), num.BandOf(perDay), num.BandOf(days)
	o.WaterM3, o.CO2Kg = num.BandOf(water), num.BandOf(co2)
	o.FirstSaltsKg = salts(p.SaltsGPerL, o.VolumeL/1000)
	for k, name := range model.FeedSalts {
		if feed[k] > 0.0005 {
			o.FeedKg = append(o.FeedKg, Salt{name, feed[k]})
		}
	}
	o.StirW = p.stirW(o.VolumeL)
	o.PowerKWh = o.StirW * p.StirHours * daysOfYear / 1000
	o.Season, o.SeasonGM2D = seasonOf(p, start, o.AreaM2, years)
	o.limits()
	o.Cost = a.cost(&o)
	if a.WishGPerWeek > 0 {
		o.Area = areaFor(&o, a.WishGPerWeek)
	}
	return o
}

// limits names what holds the design back.
func (o *Outcome) limits() {
	cold, hot, ice, dark := 0, false, false, 0
	for i := range o.Months {
		m := &o.Months[i]
		if m.WaterC.Mid < SleepC {
			cold++
		} else if m.WaterC.Mid >= 20 && m.YieldGM2D.Mid < 1 && m.WarmestC.Mid < growth.HeatActC {
			dark++
		}
		hot = hot || m.WarmestC.High > growth.HeatAlarmC
		ice = ice || m.ColdestC.Mid < 0
	}
	for _, l := range []struct {
		is  bool
		key string
	}{{cold > 0, TooCold}, {hot, TooHot}, {ice, Frozen}, {dark > 0, TooDark}} {
		if l.is {
			o.Limits = append(o.Limits, l.key)
		}
	}
}

// salts lists grams per litre for cubic metres, by formula.
func salts(gPerL map[string]float64, m3 float64) []Salt {
	out := []Salt{}
	for _, name := range sorted(gPerL) {
		if kg := gPerL[name] * m3; kg > 0 {
			out = append(out, Salt{name, kg})
		}
	}
	return out
}

// stirW returns the electric power of the stirring [W].
func (p *Pond) stirW(volumeL float64) float64 {
	if !math.IsNaN(p.StirW) {
		return p.StirW
	}
	if p.Vessel.Stirring.Kind != "continuous" {
		return 0
	}
	const density = 1010.0 // of a dilute medium [kg/m³]
	if s := &p.Vessel.Shape; s.Kind == "raceway" {
		width := (s.WidthM - s.MidWallM) / 2
		r := power.Raceway{WidthM: width, DepthM: p.LevelM, LoopM: 2 * s.LengthM, Manning: power.PlasticManning, Bends: 2}
		return r.At(paddleMS, power.PaddleEfficiency, density).InputW
	}
	// Once round in an hour against what a small pump meets. Common practice,
	// no source.
	const turnoverS, headM = 3600.0, 0.3
	return power.InputW(volumeL/1000/turnoverS, headM, power.SmallPumpEfficiency, density)
}

// paddleMS is the velocity that a raceway is kept at [m/s]. Common practice, no
// source: 10 to 20 cm/s is usual.
const paddleMS = 0.2

func (a *Ask) assumptions() []string {
	out := []string{
		fmt.Sprintf("%d drawn years around the months that were told, ten-minute steps; every year with its own draw of growth, of how much warmer the place is, of the wind and of the gas exchange", a.Years),
		"spread is 10, 50 and 90 % of those years; contamination, breakdowns and days on which nobody comes are not in it",
		"four published open ponds in temperate and desert places brought a quarter to two thirds more than the middle here, mostly within or a little above the good end: the model is cautious where water is cool",
		fmt.Sprintf("harvested at 8 in the morning down to what is left; topped up with plain water each morning; carbon dioxide from pH %g down to %g; other salts as growth took them, weekly", carbonHigh, carbonTo),
		fmt.Sprintf("vents that are not told are worked each morning: half open after a day with water above %g °C, wide above %g °C", ventHalfC, ventOpenC),
		fmt.Sprintf("a second film hangs in months whose mean air is under %g °C: 0.88 of the light, 0.6 of the lost heat", ColdMonthC),
		fmt.Sprintf("a pond that was lost or emptied is started again when the water was %g °C over a week, from a reserve that must live elsewhere", WakeC),
	}
	if a.Place.Guessed {
		out = append(out, "the climate is guessed from latitude and height alone: put in the twelve months of the nearest station before you trust a month")
	}
	return out
}

// Check returns the first thing that cannot be; the error is a *farm.Error.
func (a *Ask) Check() error {
	err := told(a.check())
	if err == nil {
		return nil
	}
	if _, ok := err.(*farm.Error); ok {
		return err
	}
	return bad("designs", "%v", err)
}
