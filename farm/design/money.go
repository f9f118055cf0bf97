package design

import (
	"maps"
	"math"
	"slices"
)

// Cost is what a year costs, in the middle of the drawn years.
type Cost struct {
	Currency string     `json:"currency,omitempty"`
	Parts    []CostPart `json:"parts"`
	PerYear  float64    `json:"per_year"`
	PerKg    *float64   `json:"per_kg_dry,omitempty"` // in the middle; absent where nothing is harvested
	PerKgLow *float64   `json:"per_kg_dry_good_year,omitempty"`
	PerKgBad *float64   `json:"per_kg_dry_poor_year,omitempty"`
}

// CostPart is one part of it. Key is one of salts, carbon, water, power,
// building, work.
type CostPart struct {
	Key     string  `json:"key"`
	PerYear float64 `json:"per_year"`
}

// cost works out what a year costs; nil where no price was told.
func (a *Ask) cost(o *Outcome) *Cost {
	p := &a.Prices
	price := func(formula string) float64 {
		if x, ok := p.PerKg[formula]; ok {
			return x
		}
		return p.PerKg["salts"]
	}
	c := &Cost{Currency: p.Currency, Parts: []CostPart{}}
	add := func(key string, perYear float64) {
		if perYear > 0 {
			c.Parts = append(c.Parts, CostPart{key, perYear})
			c.PerYear += perYear
		}
	}
	fed, filling := 0.0, 0.0
	for _, s := range o.FeedKg {
		fed += s.Kg * price(s.Formula)
	}
	for _, s := range o.FirstSaltsKg {
		filling += s.Kg * price(s.Formula)
	}
	add("salts", fed)
	// The medium is made new once in a while: counted as one filling a year,
	// common practice, no source.
	add("filling", filling+o.FillingM3*p.WaterM3)
	add("carbon", o.CO2Kg.Mid*p.PerKg["CO2"])
	add("water", o.WaterM3.Mid*p.WaterM3)
	add("power", o.PowerKWh*p.KWh)
	if p.BuildM2 > 0 && p.BuildLast > 0 {
		add("building", o.AreaM2*p.BuildM2/p.BuildLast)
	}
	add("work", o.HarvestDays.Mid*p.HarvestH*p.Hour)
	if len(c.Parts) == 0 {
		return nil
	}
	per := func(kg float64) *float64 {
		if !(kg > 0) {
			return nil
		}
		x := c.PerYear / kg
		return &x
	}
	c.PerKg, c.PerKgLow, c.PerKgBad = per(o.YearKg.Mid), per(o.YearKg.High), per(o.YearKg.Low)
	return c
}

// Area is how large a pond of this kind must be for a wished amount.
type Area struct {
	WishGPerWeek float64  `json:"wish_g_per_week"`
	MeanM2       *float64 `json:"season_mean_m2,omitempty"` // for it in the mean of the season, half of the years
	SureM2       *float64 `json:"season_sure_m2,omitempty"` // in nine years of ten
	EveryM2      *float64 `json:"every_month_m2,omitempty"` // in every month of the season, half of the years
	WorstMonth   int      `json:"weakest_month,omitempty"`  // that month
	YearM2       *float64 `json:"all_year_m2,omitempty"`    // in every month of the year; absent where a month gives nothing
	EmptyMonths  []int    `json:"months_with_nothing"`      // whose middle yield is under a tenth of the best
}

// areaFor works out the areas.
func areaFor(o *Outcome, gPerWeek float64) *Area {
	a := &Area{WishGPerWeek: gPerWeek, EmptyMonths: []int{}}
	m2 := func(gM2D float64) *float64 {
		if !(gM2D > 0.05) {
			return nil
		}
		x := gPerWeek / 7 / gM2D
		return &x
	}
	a.MeanM2, a.SureM2 = m2(o.SeasonGM2D.Mid), m2(o.SeasonGM2D.Low)
	best := 0.0
	for i := range o.Months {
		best = math.Max(best, o.Months[i].YieldGM2D.Mid)
	}
	weakest := math.Inf(1)
	for i := range o.Months {
		x := o.Months[i].YieldGM2D.Mid
		if !(x >= best/10 && x > 0.05) {
			a.EmptyMonths = append(a.EmptyMonths, i+1)
			continue
		}
		if x < weakest {
			weakest, a.WorstMonth = x, i+1
		}
	}
	if a.WorstMonth > 0 {
		a.EveryM2 = m2(weakest)
		if len(a.EmptyMonths) == 0 {
			a.YearM2 = a.EveryM2
		}
	}
	return a
}

// sorted returns the keys of a map in order.
func sorted(m map[string]float64) []string { return slices.Sorted(maps.Keys(m)) }
