package calc

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"sodalake/science/power"
	"sodalake/science/sky"
)

type batteryLoad struct {
	Name   string  `json:"name" label:"What"`
	PowerW float64 `json:"power_w" label:"Draws" unit:"W" min:"0.01" max:"100000"`
	HoursH float64 `json:"hours_h" label:"Hours a day" unit:"h" min:"0" max:"24"`
	BySun  bool    `json:"by_sun" label:"In the brightest hours"`
}

type batteryMonth struct {
	GlobalKWh float64 `json:"global_kwh_m2_d" label:"Sun on flat ground" unit:"kWh/m²/d" min:"0.05" max:"10"`
	AirC      float64 `json:"air_c" label:"Mean air" unit:"°C" min:"-40" max:"45"`
}

type batteryIn struct {
	Loads      []batteryLoad  `json:"loads" label:"What runs" kind:"rows"`
	SunHours   *float64       `json:"sun_hours_h" label:"Full sun on the panel in the worst month" unit:"h" min:"0.2" max:"10" help:"kWh/m²/d on its slope; or the twelve months below"`
	Days       float64        `json:"days_without_sun" label:"Days that the battery must last alone" unit:"d" min:"0.1" max:"30" default:"3"`
	Kind       string         `json:"kind" label:"Battery" choices:"lead-acid|lithium iron phosphate" default:"lead-acid"`
	Volt       float64        `json:"volt" label:"Voltage" unit:"V" min:"3" max:"60" default:"12"`
	ColdC      float64        `json:"coldest_c" label:"Coldest that it stands" unit:"°C" min:"-30" max:"45" default:"10"`
	PanelW     *float64       `json:"panel_w" label:"Panel that you have" unit:"W" min:"1" max:"100000"`
	BatteryAh  *float64       `json:"battery_ah" label:"Battery that you have" unit:"Ah" min:"0.5" max:"100000"`
	Controller string         `json:"controller" label:"Charge controller" choices:"tracking|plain" default:"tracking"`
	LatDeg     *float64       `json:"lat_deg" label:"Latitude" unit:"°" min:"-66" max:"66" help:"with the twelve months: how reliable it is"`
	Months     []batteryMonth `json:"months" label:"Twelve mean months, January first" kind:"rows"`
	TiltDeg    *float64       `json:"tilt_deg" label:"Slope of the panel" unit:"°" min:"0" max:"90" help:"else the latitude and 15 more, for winter"`
	LossPct    float64        `json:"loss_allowed_pct" label:"Of the energy wanted, may lack" unit:"%" min:"0" max:"50" default:"1"`
	OnePanelW  float64        `json:"one_panel_w" label:"To buy: one panel" unit:"W" min:"1" max:"1000" default:"20"`
	OneAh      float64        `json:"one_battery_ah" label:"To buy: one battery" unit:"Ah" min:"0.5" max:"1000" default:"12"`
	PanelPrice float64        `json:"panel_price" label:"Price of that panel" min:"0" max:"1000000" default:"0"`
	BattPrice  float64        `json:"battery_price" label:"Price of that battery" min:"0" max:"1000000" default:"0"`
	Years      int            `json:"years" label:"Years of weather to try" min:"1" max:"50" default:"20"`
}

type batteryOut struct {
	DayWh       float64  `json:"day_wh" label:"Energy of a day" unit:"Wh"`
	PanelRuleW  *float64 `json:"panel_rule_w,omitempty" label:"Panel by the rule of thumb" unit:"W"`
	BatteryAh   float64  `json:"battery_rule_ah" label:"Battery by the rule of thumb" unit:"Ah"`
	BatteryWh   float64  `json:"battery_rule_wh" label:"The same in energy" unit:"Wh"`
	LastsD      *float64 `json:"lasts_d,omitempty" label:"The battery that you have lasts without sun" unit:"d"`
	LossPct     *float64 `json:"loss_of_load_pct,omitempty" label:"With what you have, energy that lacks" unit:"%"`
	WorstPct    *float64 `json:"worst_month_loss_pct,omitempty" label:"In its worst month" unit:"%"`
	WorstMonth  *int     `json:"worst_month,omitempty" label:"That is month"`
	DaysShort   *float64 `json:"days_short_per_year,omitempty" label:"Days in a year on which something lacks" unit:"d"`
	LongestH    *float64 `json:"longest_gap_h,omitempty" label:"Longest time without power" unit:"h"`
	SetPanelW   *float64 `json:"smallest_panel_w,omitempty" label:"Smallest set that is reliable enough: panel" unit:"W"`
	SetAh       *float64 `json:"smallest_battery_ah,omitempty" label:"and battery" unit:"Ah"`
	SetLossPct  *float64 `json:"smallest_loss_pct,omitempty" label:"It lacks" unit:"%"`
	SetPrice    *float64 `json:"smallest_price,omitempty" label:"It costs"`
	TiltDeg     *float64 `json:"tilt_deg,omitempty" label:"Slope of the panel" unit:"°"`
	SunAboveWM2 *float64 `json:"run_above_w_m2,omitempty" label:"Loads by the sun run when the panel gets more than" unit:"W/m²"`
	Told
}

// BatterySize is the calculator of panel and battery.
func BatterySize() *Calculator {
	return Define(About{
		Name: "battery", Title: "Does it last through a grey week?",
		Sentence: "Panel and battery for what runs: by the rule of thumb, and hour by hour through many years of drawn weather.",
		Equations: []string{
			"panel: W = E/(G K), K = 0.7",
			"battery: Ah = E days cold x 1.1 / (V depth x 0.92 x 0.8)",
			"hour by hour: panel on its slope, cells heated by the sun, battery with its losses, depth and cold",
			"loss of load = energy that lacks / energy wanted, over all years",
		},
		Sources: []Source{
			{"pvrule", "rule of thumb: teaching texts on small solar systems (from memory)"},
			{"ieee1013", "order of the steps: IEEE 1013 (from memory)"},
			{"pvwatts2014", "panel: PVWatts version 5 manual, NREL/TP-6A20-62641, and Ross 1980 for its cells"},
			{"haydavies1980", "slope: Hay & Davies 1980; Erbs, Klein & Duffie 1982"},
			{"", "depth 0.5 lead-acid, 0.8 lithium iron phosphate; spread of the weather about its months: common practice, no source"},
		},
		Example: `{"loads":[{"name":"stirring pump","power_w":5,"hours_h":12},{"name":"logger","power_w":0.3,"hours_h":24}],"sun_hours_h":3.2,"days_without_sun":3,"coldest_c":5}`,
	}, computeBattery)
}

func computeBattery(in batteryIn) (batteryOut, error) {
	var out batteryOut
	if len(in.Loads) == 0 {
		return out, invalid("loads", "what runs, its watts and hours a day", "loads is missing")
	}
	for _, l := range in.Loads {
		out.DayWh += l.PowerW * l.HoursH
	}
	if !(out.DayWh > 0) {
		return out, invalid("loads", "", "loads run no hour of the day")
	}
	kind := power.LeadAcid
	if in.Kind == power.LithiumIronPhosphate.String() {
		kind = power.LithiumIronPhosphate
	}
	const system, delivery, margin = 0.7, 0.92, 1.1
	if in.SunHours != nil {
		out.PanelRuleW = finite(power.ArrayW(out.DayWh, *in.SunHours, system))
	}
	b := power.NewBattery(kind, 1)
	z := power.Sizing{DayWh: out.DayWh, Days: in.Days, Volt: in.Volt, Depth: b.Depth, Delivery: delivery, EndLife: b.Age, Cold: kind.ColdFactor(in.ColdC), Margin: margin}
	out.BatteryAh = z.Ah()
	out.BatteryWh = out.BatteryAh * in.Volt
	if in.BatteryAh != nil {
		have := power.NewBattery(kind, *in.BatteryAh*in.Volt)
		out.LastsD = finite(have.LastsH(out.DayWh/24, in.ColdC) / 24)
	}
	if in.LatDeg != nil || len(in.Months) > 0 {
		if err := in.throughYears(kind, &out); err != nil {
			return out, err
		}
	} else if in.SunHours == nil {
		return out, invalid("sun_hours_h", "or lat_deg with twelve months", "sun_hours_h is needed to size a panel")
	}
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("battery worn to 80 %% of its capacity, %s %% of it used, at %s °C", Digits(100*b.Depth), Digits(in.ColdC)),
		"a pump draws more when it starts or clogs: measure its watts")
	at := power.Water | power.Store | power.Sun | power.Lead
	if kind == power.LithiumIronPhosphate {
		at = power.Water | power.Store | power.Sun | power.Lithium
	}
	for _, c := range power.For(at) {
		out.Cautions = append(out.Cautions, c.Text)
	}
	return out, nil
}

// throughYears runs the set through drawn weather.
func (in *batteryIn) throughYears(kind power.Chemistry, out *batteryOut) error {
	switch {
	case in.LatDeg == nil:
		return invalid("lat_deg", "", "lat_deg is missing beside the months")
	case len(in.Months) != 12:
		return invalid("months", "January first, twelve of them", "months: %d are given", len(in.Months))
	}
	tilt := min(math.Abs(*in.LatDeg)+15, 75)
	if in.TiltDeg != nil {
		tilt = *in.TiltDeg
	}
	out.TiltDeg = &tilt
	azimuth := 180.0
	if *in.LatDeg < 0 {
		azimuth = 0
	}
	panel := power.NewPanel(1, tilt, azimuth)
	if in.Controller == "plain" {
		panel.Derate = power.PlainDerate
	}
	years, err := drawnYears(*in.LatDeg, in.Months, panel, in.Years)
	if err != nil {
		return err
	}
	loads, above := in.loads(years)
	if above > 0 && !math.IsInf(above, 1) {
		out.SunAboveWM2 = &above
	}
	battery := power.NewBattery(kind, 0)
	// Worn as it will be one day; the first years are better.
	if in.PanelW != nil && in.BatteryAh != nil {
		s := power.System{PanelW: *in.PanelW, Battery: power.NewBattery(kind, *in.BatteryAh*in.Volt), Loads: loads}
		r := s.Over(years)
		loss, longest := 100*r.LossOfLoad, r.LongestH
		month, worst := r.Worst()
		worst *= 100
		out.LossPct, out.WorstPct, out.DaysShort, out.LongestH = &loss, &worst, &r.DaysPerYear, &longest
		if month > 0 {
			out.WorstMonth = &month
		}
	}
	m := power.Market{PanelW: in.OnePanelW, PanelCost: in.PanelPrice, MostPanels: 60, BatteryWh: in.OneAh * in.Volt, BattCost: in.BattPrice, MostBatts: 40}
	best, _, err := power.Smallest(years, battery, loads, m, in.LossPct/100)
	var none *power.NoSetError
	switch {
	case errors.As(err, &none):
		out.Cautions = append(out.Cautions, fmt.Sprintf("Not even %s W and %s Ah lack so little: they lack %s %%. Larger pieces, less load, or more that may lack.", Digits(none.Best.PanelW), Digits(none.Best.BatteryWh/in.Volt), Digits(100*none.Best.LossOfLoad)))
	case err != nil:
		return fromPower(err, map[string]string{"panel_w": "one_panel_w", "battery_wh": "one_battery_ah", "loss_of_load": "loss_allowed_pct"})
	default:
		ah, loss := best.BatteryWh/in.Volt, 100*best.LossOfLoad
		out.SetPanelW, out.SetAh, out.SetLossPct = &best.PanelW, &ah, &loss
		if in.PanelPrice > 0 || in.BattPrice > 0 {
			out.SetPrice = &best.Cost
		}
	}
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("%d years drawn about these months, always the same ones; nothing shades the panel", in.Years),
		fmt.Sprintf("panel towards noon at %s°, kept clean", Digits(tilt)))
	return nil
}

// loads spreads hours over the day: by the sun above a threshold that makes the
// hours in a mean day, else evenly.
func (in *batteryIn) loads(years [][]power.Hour) ([]power.Load, float64) {
	var out []power.Load
	above := 0.0
	for _, l := range in.Loads {
		switch {
		case l.HoursH <= 0:
		case l.BySun:
			at := power.SunThreshold(years[0], l.HoursH)
			above = max(above, at)
			out = append(out, power.Load{Name: l.Name, PowerW: l.PowerW, When: power.BySun, AboveWM2: at})
		default:
			out = append(out, power.Load{Name: l.Name, PowerW: l.PowerW, Duty: l.HoursH / 24})
		}
	}
	return out, above
}

// drawnYears draws weather about twelve mean months and lays it on a panel.
func drawnYears(latDeg float64, months []batteryMonth, panel power.Panel, years int) ([][]power.Hour, error) {
	site := sky.Site{LatDeg: latDeg}
	var n sky.Normals
	for i := range n {
		n[i] = sky.UnknownMonth()
		n[i].GHIMJM2D, n[i].MeanC = 3.6*months[i].GlobalKWh, months[i].AirC
	}
	gen, err := sky.FromNormals(n, site)
	if err != nil {
		return nil, fromSky(err)
	}
	start := time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)
	const days = 365
	almanac := sky.NewAlmanac(site, start, days)
	suns := make([]sky.Sun, 24*days)
	for i := range suns {
		suns[i] = sky.Position(start.Add(time.Duration(i)*time.Hour+30*time.Minute), site)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	out := make([][]power.Hour, years)
	for y := range out {
		series := gen.GenerateOn(almanac, rng)
		out[y] = make([]power.Hour, len(suns))
		for i := range suns {
			h, sun := &series.Hours[i], &suns[i]
			s := power.Sky{GlobalWM2: h.GHIWM2, AirC: h.AirC, WindMS: math.NaN(), ZenithDeg: 90 - sun.ApparentElevationDeg, AzimuthDeg: sun.AzimuthDeg, SpaceWM2: sun.ExtraterrestrialWM2, Albedo: 0.2}
			if cos := sun.CosZenith(); h.GHIWM2 > 0 && cos > 0.02 {
				s.DiffuseWM2 = h.GHIWM2 * sky.DiffuseFraction(h.GHIWM2/(sun.ExtraterrestrialWM2*cos))
				s.BeamWM2 = min((h.GHIWM2-s.DiffuseWM2)/cos, sun.ExtraterrestrialWM2)
			} else {
				s.DiffuseWM2 = h.GHIWM2
			}
			out[y][i] = panel.Hourly(&s, i%24, i/24)
		}
	}
	return out, nil
}
