package design

import (
	"fmt"
	"math"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/pond"
	"sodalake/science/sky"
)

// Place is where it would stand.
type Place struct {
	Site    sky.Site
	Normals sky.Normals
	Guessed bool // the climate is a guess by latitude and height: more spread
}

// Pond is one design.
type Pond struct {
	Name       string
	Vessel     farm.Vessel        // shape, cover, shade, stirring; the rest is not asked
	LevelM     float64            // depth of the water at its deepest [m]
	SaltsGPerL map[string]float64 // the medium [g/L]
	PH25C      float64            // the medium is brought to it by carbon dioxide at the start; 0: as mixed [1]

	ReadyGL float64 // density at which is harvested [g/L]
	LeaveGL float64 // density that is left [g/L]

	SecondCover bool // in months whose mean air is under ColdMonthC one more film
	EmptyInCold bool // the culture winters indoors; else it stays in the pond

	StirW     float64 // electric power of the stirring; NaN: worked out where it can be [W]
	StirHours float64 // hours a day that it runs [h]
}

// Prices are what things cost, in any one money. Zero is not counted.
type Prices struct {
	Currency  string             `json:"currency,omitempty"`
	PerKg     map[string]float64 `json:"per_kg,omitempty"`  // of salts by formula, "CO2" and "salts" for all others
	WaterM3   float64            `json:"water_per_m3"`      // of water
	KWh       float64            `json:"power_per_kwh"`     // of electricity
	BuildM2   float64            `json:"build_per_m2"`      // of the pond with all that stands over it
	BuildLast float64            `json:"build_lasts_years"` // how long that lasts [a]
	HarvestH  float64            `json:"hours_per_harvest"` // of work for one harvest [h]
	Hour      float64            `json:"work_per_hour"`     // of an hour of work
}

// Ask is what is asked.
type Ask struct {
	Place  Place
	Ponds  []Pond
	Prices Prices
	Years  int    // drawn years
	Seed   uint64 // decides all that is drawn

	WishGPerWeek float64 // dry matter wanted a week; 0: not asked [g]
}

// What the rules of the year stand on.
const (
	// ColdMonthC is the mean air under which a month gets the second cover [°C].
	// Common practice, no source.
	ColdMonthC = 15.0

	// WakeC is the water's mean over seven days at which a pond is started
	// again [°C]. Source: growth begins at 15 to 18 °C, vonshak1997, from
	// memory.
	WakeC = 18.0

	// SleepC is the water's mean over seven days at which a pond is emptied
	// that does not winter outdoors [°C]. As WakeC.
	SleepC = 15.0

	// ventHalfC and ventOpenC are the warmest water of the day before at which
	// the vents of a cover are opened in the morning, half and wide [°C].
	// Common practice, no source.
	ventHalfC, ventOpenC = 30.0, 34.0

	// carbonHigh and carbonTo are the pH at 25 °C at which carbon dioxide is
	// given in the morning, and that it is brought to [1]. Common practice, no
	// source.
	carbonHigh, carbonTo = 10.3, 10.1

	// cakeWaterGPerG is the water that leaves with the pressed cake [g/g dry]:
	// pressed to 20 % dry matter. Common practice, no source.
	cakeWaterGPerG = 4

	// deadGL is the density under which a culture in the cold counts as lost
	// [g/L]: too thin to stand the light of spring. Judgement, no source.
	deadGL = 0.05

	// frozenC is the mean water of a day at which a culture counts as lost [°C]:
	// three tenths of the pond are ice. Judgement, no source.
	frozenC = -0.3

	// harvestHour is when is harvested, by the sun's mean time of the place [h].
	harvestHour = 8
)

// A second film over the first: its light, what is left of the heat that the
// cover loses by itself, of the longwave that passes it and of the air that
// leaks [1].
//
// Source: new single polyethylene passes 0.87 to 0.90; heat lost through an
// inflated double sheet 4.0 W/m²/K against 6.8 for a single one, greenhouse
// engineering tables, both from memory; longwave as a second sheet of the same
// kind. Half of the leaks: judgement.
const secondLight, secondLoss, secondLongwave, secondLeaks = 0.88, 0.6, 0.4, 0.5

const mostYears, mostPonds = 500, 6

// check returns the first thing that cannot be. The error is a *farm.Error.
func (a *Ask) check() error {
	if err := a.Place.Site.Check(); err != nil {
		return err
	}
	if a.Years < 2 || a.Years > mostYears {
		return bad("years", "years %d lies outside 2 to %d", a.Years, mostYears)
	}
	if len(a.Ponds) < 1 || len(a.Ponds) > mostPonds {
		return bad("designs", "designs: %d are given, 1 to %d can be looked at", len(a.Ponds), mostPonds)
	}
	if !(a.WishGPerWeek >= 0 && a.WishGPerWeek < 1e9) {
		return bad("wish_g_per_week", "wish_g_per_week %g is no amount", a.WishGPerWeek)
	}
	for i := range a.Ponds {
		p := &a.Ponds[i]
		at := func(field string) string { return fmt.Sprintf("designs[%d].%s", i, field) }
		switch {
		case !(p.LevelM > 0):
			return bad(at("level_cm"), "%s is missing", at("level_cm"))
		case !(p.ReadyGL > 0.05 && p.ReadyGL <= 5):
			return bad(at("ready_g_per_l"), "%s %g lies outside 0.05 to 5 g/L", at("ready_g_per_l"), p.ReadyGL)
		case !(p.LeaveGL >= 0.05 && p.LeaveGL < p.ReadyGL):
			return bad(at("leave_g_per_l"), "%s %g lies outside 0.05 g/L to the density at which is harvested", at("leave_g_per_l"), p.LeaveGL)
		case !(p.StirHours >= 0 && p.StirHours <= 24):
			return bad(at("stir_hours"), "%s %g lies outside 0 to 24 h", at("stir_hours"), p.StirHours)
		case p.StirW < 0 || math.IsInf(p.StirW, 0):
			return bad(at("stir_w"), "%s %g is no power", at("stir_w"), p.StirW)
		case p.Vessel.Place == "indoors":
			return bad(at("vessel.place"), "%s: indoors there is no weather to draw", at("vessel.place"))
		}
		g, err := p.Vessel.Shape.Geometry()
		if err != nil {
			return err
		}
		if p.LevelM > g.RimM()*(1+1e-9) {
			return bad(at("level_cm"), "%s %g is above the rim at %g cm", at("level_cm"), 100*p.LevelM, 100*g.RimM())
		}
	}
	return nil
}

func bad(field, format string, args ...any) *farm.Error {
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// basis returns the pond full of its medium, without culture and weather.
func (p *Pond) basis(solver *solver) (pond.Vessel, error) {
	v, err := model.Vessel(&p.Vessel)
	if err != nil {
		return v, err
	}
	if err := model.Fill(&v, p.SaltsGPerL, v.Shape.VolumeL(p.LevelM), 20); err != nil {
		return v, err
	}
	if p.PH25C > 0 {
		if err := solver.bringTo(&v, p.PH25C); err != nil {
			return v, bad("medium", "medium cannot be brought to pH %g: %v", p.PH25C, err)
		}
	}
	return v, nil
}

// areaM2 returns the water's surface at its level [m²].
func (p *Pond) areaM2() float64 {
	g, err := p.Vessel.Shape.Geometry()
	if err != nil {
		return math.NaN()
	}
	return g.SurfaceM2(math.Min(p.LevelM, g.RimM()))
}
