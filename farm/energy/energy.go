package energy

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"sodalake/farm"
	"sodalake/science/power"
	"sodalake/science/sky"
)

// Ask is what is asked.
type Ask struct {
	Site    sky.Site
	Normals sky.Normals
	Years   int    // drawn years
	Seed    uint64 // decides all that is drawn

	PumpW      float64 // what the stirring draws while it runs [W]
	PumpHours  float64 // hours a day that it is wanted [h]
	BySun      bool    // it runs in the brightest hours, else spread over the day
	AlwaysW    float64 // what else draws, day and night [W]
	PanelW     float64 // rated power of the panel; 0: none yet [W]
	BatteryWh  float64 // nominal energy of the battery; 0: none yet [Wh]
	Kind       power.Chemistry
	Plain      bool    // a plain charge controller, else a tracking one
	TiltDeg    float64 // from horizontal; NaN: by the latitude [°]
	AllowedPct float64 // of the energy wanted, may lack [%]
	OnePanelW  float64 // to buy: one panel [W]
	OneWh      float64 // to buy: one battery [Wh]
}

// Answer is what came of it.
type Answer struct {
	TiltDeg  float64 // of the panel [°]
	DayWh    float64 // wanted in a mean day [Wh]
	AboveWM2 float64 // a pump by the sun runs above it, on the panel [W/m²]
	Have     *Have   // the set that is there; nil without one
	Best     *power.Set
	None     *power.NoSetError // why there is no smallest set
	Months   [12]Month         // January first
	Worst    int               // month with the least sun on the panel for what is wanted, 1 to 12
}

// Have is how the set that is there does.
type Have struct {
	LossPct     float64 // of the energy wanted, over all years [%]
	DaysPerYear float64 // days with a lack in a mean year [d]
	LongestH    float64 // longest time without power [h]
	AloneD      float64 // the full battery carries all without any sun [d]
	Grey        Week    // the greyest week of the worst month
}

// Week is the set through one week, begun with a full battery.
type Week struct {
	SunHours  float64 // of full sun on the panel a day [h]
	MadeWh    float64 // by the panel a day [Wh]
	WantedWh  float64 // a day [Wh]
	LackPct   float64 // of what was wanted [%]
	LowestPct float64 // least stored, of the full battery [%]
	Lasts     bool    // nothing lacked
}

// Month is one month over all years.
type Month struct {
	SunHours float64 // of full sun on the panel in a mean day [h]
	LossPct  float64 // of the energy wanted, lacks with the set that is there [%]
	From, To int     // hours of the day between which a pump by the sun runs on a mean day; alike: it does not [h]
}

const (
	mostYears  = 100
	mostPanels = 60
	mostBatts  = 40
)

func (a *Ask) check() error {
	for _, f := range []struct {
		field     string
		x, lo, hi float64
	}{
		{"pump_w", a.PumpW, 0, 1e5}, {"pump_hours", a.PumpHours, 0, 24}, {"always_w", a.AlwaysW, 0, 1e5}, {"panel_w", a.PanelW, 0, 1e6}, {"battery_wh", a.BatteryWh, 0, 1e7},
		{"loss_allowed_pct", a.AllowedPct, 0, 99}, {"one_panel_w", a.OnePanelW, 1, 1e5}, {"one_battery_wh", a.OneWh, 1, 1e6}, {"years", float64(a.Years), 1, mostYears},
	} {
		if !(f.x >= f.lo && f.x <= f.hi) {
			return bad(f.field, "%s %g lies outside %g to %g", f.field, f.x, f.lo, f.hi)
		}
	}
	if !math.IsNaN(a.TiltDeg) && !(a.TiltDeg >= 0 && a.TiltDeg <= 90) {
		return bad("tilt_deg", "tilt_deg %g lies outside 0 to 90°", a.TiltDeg)
	}
	if !(a.PumpW*a.PumpHours+24*a.AlwaysW > 0) {
		return bad("pump_w", "nothing runs: pump_w with pump_hours, or always_w")
	}
	if (a.PanelW > 0) != (a.BatteryWh > 0) {
		field := "battery_wh"
		if a.PanelW <= 0 {
			field = "panel_w"
		}
		return bad(field, "%s is missing beside the other half of the set", field)
	}
	return nil
}

func bad(field, format string, args ...any) *farm.Error {
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}

// Run answers.
func Run(a *Ask) (*Answer, error) {
	if err := a.check(); err != nil {
		return nil, err
	}
	out := &Answer{TiltDeg: a.TiltDeg}
	if math.IsNaN(out.TiltDeg) {
		// Steep for the low sun of winter. Common practice, no source.
		out.TiltDeg = min(math.Abs(a.Site.LatDeg)+15, 75)
	}
	azimuth := 180.0
	if a.Site.LatDeg < 0 {
		azimuth = 0
	}
	panel := power.NewPanel(1, out.TiltDeg, azimuth)
	if a.Plain {
		panel.Derate = power.PlainDerate
	}
	years, err := a.years(&panel)
	if err != nil {
		return nil, err
	}
	loads := a.loads(years, out)
	out.DayWh = a.PumpW*a.PumpHours + 24*a.AlwaysW
	out.months(years)
	if a.PanelW > 0 {
		out.Have = a.have(years, loads, out)
	}
	m := power.Market{PanelW: a.OnePanelW, MostPanels: mostPanels, BatteryWh: a.OneWh, MostBatts: mostBatts}
	best, _, err := power.Smallest(years, power.NewBattery(a.Kind, 0), loads, m, a.AllowedPct/100)
	switch {
	case errors.As(err, &out.None):
	case err != nil:
		return nil, err
	default:
		out.Best = &best
	}
	return out, nil
}

// years draws weather and lays it on the panel, by the mean time of the place.
func (a *Ask) years(panel *power.Panel) ([][]power.Hour, error) {
	gen, err := sky.FromNormals(a.Normals, a.Site)
	if err != nil {
		var in *sky.InputError
		if errors.As(err, &in) {
			return nil, &farm.Error{Code: farm.Invalid, Field: in.Field, Message: in.Error(), Hint: in.Hint}
		}
		return nil, err
	}
	const days = 365
	start := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC).Add(-time.Duration(math.Round(a.Site.LonDeg/15)) * time.Hour)
	almanac := sky.NewAlmanac(a.Site, start, days+1)
	suns := make([]sky.Sun, 24*days)
	for i := range suns {
		suns[i] = sky.Position(start.Add(time.Duration(i)*time.Hour+30*time.Minute), a.Site)
	}
	out := make([][]power.Hour, a.Years)
	for y := range out {
		series := gen.GenerateOn(almanac, rand.New(rand.NewPCG(a.Seed, uint64(y))))
		shift := int(start.Sub(series.Start) / time.Hour)
		out[y] = make([]power.Hour, len(suns))
		for i := range suns {
			h, sun := &series.Hours[i+shift], &suns[i]
			s := power.Sky{GlobalWM2: h.GHIWM2, DiffuseWM2: h.GHIWM2, AirC: h.AirC, WindMS: math.NaN(), ZenithDeg: 90 - sun.ApparentElevationDeg, AzimuthDeg: sun.AzimuthDeg, SpaceWM2: sun.ExtraterrestrialWM2, Albedo: 0.2}
			if cos := sun.CosZenith(); h.GHIWM2 > 0 && cos > 0.02 {
				s.DiffuseWM2 = h.GHIWM2 * sky.DiffuseFraction(h.GHIWM2/(sun.ExtraterrestrialWM2*cos))
				s.BeamWM2 = min((h.GHIWM2-s.DiffuseWM2)/cos, sun.ExtraterrestrialWM2)
			}
			out[y][i] = panel.Hourly(&s, i%24, i/24)
		}
	}
	return out, nil
}

// loads spreads what runs over the day.
func (a *Ask) loads(years [][]power.Hour, out *Answer) []power.Load {
	var loads []power.Load
	if a.PumpW > 0 && a.PumpHours > 0 {
		if a.BySun {
			var all []power.Hour
			for y, hours := range years {
				for _, h := range hours {
					h.YearDay += 365 * y
					all = append(all, h)
				}
			}
			out.AboveWM2 = power.SunThreshold(all, a.PumpHours)
			loads = append(loads, power.Load{Name: "pump", PowerW: a.PumpW, When: power.BySun, AboveWM2: out.AboveWM2})
		} else {
			loads = append(loads, power.Load{Name: "pump", PowerW: a.PumpW, Duty: a.PumpHours / 24})
		}
	}
	if a.AlwaysW > 0 {
		loads = append(loads, power.Load{Name: "always", PowerW: a.AlwaysW})
	}
	return loads
}

var monthEnds = [12]int{31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365}

func monthOf(day int) int {
	for m, end := range monthEnds {
		if day < end {
			return m
		}
	}
	return 11
}

// months works out the sun of the months, the worst of them and the hours of a
// pump by the sun.
func (out *Answer) months(years [][]power.Hour) {
	var plane [12][24]float64
	var sun, days [12]float64
	for _, hours := range years {
		for i := range hours {
			h := &hours[i]
			m := monthOf(h.YearDay)
			plane[m][h.HourOfDay] += h.PlaneWM2
			sun[m] += h.PlaneWM2 / 1000
			if h.HourOfDay == 0 {
				days[m]++
			}
		}
	}
	out.Worst = 1
	for m := range 12 {
		out.Months[m].SunHours = sun[m] / days[m]
		if out.Months[m].SunHours < out.Months[out.Worst-1].SunHours {
			out.Worst = m + 1
		}
		if out.AboveWM2 <= 0 {
			continue
		}
		first, last := -1, -1
		for h := range 24 {
			if plane[m][h]/days[m] > out.AboveWM2 {
				if first < 0 {
					first = h
				}
				last = h + 1
			}
		}
		if first >= 0 {
			out.Months[m].From, out.Months[m].To = first, last
		}
	}
}

// have tries the set that is there.
func (a *Ask) have(years [][]power.Hour, loads []power.Load, out *Answer) *Have {
	s := power.System{PanelW: a.PanelW, Battery: power.NewBattery(a.Kind, a.BatteryWh), Loads: loads}
	r := s.Over(years)
	h := &Have{LossPct: 100 * r.LossOfLoad, DaysPerYear: r.DaysPerYear, LongestH: r.LongestH}
	for m := range 12 {
		out.Months[m].LossPct = 100 * r.ByMonth[m].LossOfLoad
	}
	week := greyest(years, out.Worst-1)
	air := 0.0
	for i := range week {
		air += week[i].AirC / float64(len(week))
	}
	h.AloneD = s.Battery.LastsH(out.DayWh/24, air) / 24
	b := s.Simulate(week, math.NaN())
	g := &h.Grey
	for i := range week {
		g.SunHours += week[i].PlaneWM2 / 1000 / 7
	}
	g.MadeWh, g.WantedWh = b.PanelWh/7, b.LoadWh/7
	g.LackPct, g.LowestPct, g.Lasts = 100*b.LossOfLoad(), 100*b.LowestShare, b.HoursShort == 0
	return h
}

// greyest returns the seven days of a month with the least sun on the panel, of
// all years.
func greyest(years [][]power.Hour, month int) []power.Hour {
	first := 0
	if month > 0 {
		first = monthEnds[month-1]
	}
	var best []power.Hour
	least := math.Inf(1)
	for _, hours := range years {
		for d := first; d+7 <= monthEnds[month]; d++ {
			week := hours[24*d : 24*(d+7)]
			sum := 0.0
			for i := range week {
				sum += week[i].PlaneWM2
			}
			if sum < least {
				least, best = sum, week
			}
		}
	}
	return best
}
