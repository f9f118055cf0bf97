package calc

import (
	"errors"
	"fmt"
	"math"

	"sodalake/farm"
	"sodalake/science/air"
	"sodalake/science/process"
)

type weighedRow struct {
	Min float64 `json:"min" label:"After" unit:"min"`
	G   float64 `json:"g" label:"Weighs" unit:"g"`
}

type dryIn struct {
	PasteKg     float64      `json:"paste_kg" label:"Paste on the trays" unit:"kg" min:"0.001" max:"10000"`
	SolidsPct   float64      `json:"solids_pct" label:"Dry matter, as far as known" unit:"%" min:"4" max:"60" default:"20"`
	SolidsError float64      `json:"solids_error_pct" label:"give or take" unit:"%" min:"0" max:"20" default:"2" help:"points, one standard error"`
	TargetPct   float64      `json:"target_moisture_pct" label:"Water to come to" unit:"%" min:"1" max:"20" default:"5"`
	OutsideC    float64      `json:"outside_c" label:"Air outside" unit:"°C" min:"-30" max:"60"`
	OutsideRH   float64      `json:"outside_rh_pct" label:"Its relative humidity" unit:"%" min:"1" max:"100"`
	DryingC     float64      `json:"drying_c" label:"Air over the trays" unit:"°C" min:"0" max:"90" default:"45"`
	ElevationM  float64      `json:"elevation_m" label:"Height above the sea" unit:"m" min:"-450" max:"6000" default:"0"`
	FlowM3H     *float64     `json:"air_m3_per_h" label:"Flow of air" unit:"m³/h" min:"0.1" max:"1000000"`
	PickUp      float64      `json:"pick_up" label:"Share of what air could take that it takes" min:"0.05" max:"1" default:"0.5"`
	Shape       string       `json:"shape" label:"Laid out as" choices:"strands|layer" default:"strands"`
	SizeMM      float64      `json:"size_mm" label:"Diameter or thickness" unit:"mm" min:"0.2" max:"50" default:"2"`
	Weighed     []weighedRow `json:"weighed" label:"Weights of one tray by the minute, the first at the start" kind:"rows"`
	ControlPct  *float64     `json:"control_solids_pct" label:"Dry matter by a control sample dried to the end" unit:"%" min:"2" max:"70"`
	Activity    *float64     `json:"water_activity" label:"Measured water activity" min:"0.01" max:"1"`
	ActivityErr float64      `json:"water_activity_error" label:"give or take" min:"0" max:"0.2" default:"0.02"`
	MoisturePct *float64     `json:"moisture_pct" label:"Measured water in the product" unit:"%" min:"0" max:"60"`
}

type dryOut struct {
	ProductG    float64  `json:"product_g" label:"Product" unit:"g"`
	ProductLow  float64  `json:"product_low_g" label:"One in ten lies below" unit:"g"`
	ProductHigh float64  `json:"product_high_g" label:"One in ten lies above" unit:"g"`
	WaterKg     float64  `json:"water_kg" label:"Water to leave" unit:"kg"`
	RHPct       float64  `json:"drying_rh_pct" label:"Relative humidity over the trays" unit:"%"`
	WetBulbC    float64  `json:"wet_bulb_c" label:"Wet strands have" unit:"°C"`
	DriestLow   float64  `json:"driest_low_pct" label:"This air leaves water in the product, from" unit:"%"`
	DriestHigh  float64  `json:"driest_high_pct" label:"to" unit:"%"`
	AirReaches  string   `json:"air_reaches_target" label:"Can this air get there?"`
	AirPerWater *float64 `json:"air_kg_per_kg_water,omitempty" label:"Dry air for a kilogram of water" unit:"kg"`
	HeatPerKg   *float64 `json:"heat_kj_per_kg_water,omitempty" label:"Heat for a kilogram of water" unit:"kJ"`
	HeatKWh     *float64 `json:"heat_kwh,omitempty" label:"Heat in all" unit:"kWh"`
	AirH        *float64 `json:"air_h,omitempty" label:"The air alone needs at least" unit:"h"`
	PasteLowH   float64  `json:"paste_low_h" label:"Water finds its way out of the paste in, from" unit:"h"`
	PasteHighH  float64  `json:"paste_high_h" label:"to" unit:"h"`
	WeighEvery  float64  `json:"weigh_every_min" label:"Weigh every" unit:"min"`
	ConstMass   string   `json:"end_constant_mass" label:"End by constant mass"`
	Control     string   `json:"end_control_sample" label:"End by the control sample"`
	ByActivity  string   `json:"end_water_activity" label:"End by water activity"`
	NowPct      *float64 `json:"moisture_now_pct,omitempty" label:"Water now, by the control sample" unit:"%"`
	GoalG       *float64 `json:"tray_goal_g,omitempty" label:"The tray comes to" unit:"g"`
	PageK       *float64 `json:"page_k_per_min_n,omitempty" label:"Page's k, in minutes"`
	PageN       *float64 `json:"page_n,omitempty" label:"Page's n"`
	FitTargetH  *float64 `json:"fitted_target_h,omitempty" label:"By its own weights there after" unit:"h"`
	Stalled     *bool    `json:"stalled,omitempty" label:"The dryer has stalled"`
	ActivityLow *float64 `json:"water_activity_low,omitempty" label:"Water activity by the isotherms, from"`
	ActivityHi  *float64 `json:"water_activity_high,omitempty" label:"to"`
	ColourLow   *float64 `json:"blue_lost_low_pct,omitempty" label:"Blue pigment lost, from" unit:"%"`
	ColourHigh  *float64 `json:"blue_lost_high_pct,omitempty" label:"to" unit:"%"`
	Told
}

// Drying is the calculator of drying.
func Drying() *Calculator {
	return Define(About{
		Name: "dry", Title: "Dry it",
		Sentence: "Water to leave, whether this air can get there, how long it takes, and the end by constant mass, a control sample or a measured water activity.",
		Equations: []string{
			"water = paste (1 - s/(1 - w))",
			"air for water = 1/(p (Ws(T*) - W)), T* the wet bulb: ASHRAE 2017, eq. 33",
			"driest: moisture at the air's relative humidity, by two isotherms, X = Xm C K a/((1 - K a)(1 - K a + C K a))",
			"paste: k = 5.783 D/R^2 (strand), pi^2 D/(4 L^2) (layer), D 1.7e-10 to 9.4e-9 m²/s",
			"weights: MR = exp(-k t^n), Page 1949",
			"end: two weighings half an hour apart within 0.5 %, or dry matter of a control sample, or water activity at most 0.60",
		},
		Sources: []Source{
			{"ashrae2017", "ASHRAE Handbook Fundamentals 2017, chapter 1"},
			{"tiendrebeogo2015", "Tiendrebeogo et al. 2015, Food and Nutrition Sciences 6:1437 (isotherm, transport of water)"},
			{"kumar1995", "Kumar et al. 1995, Z. Lebensm. Unters. Forsch. 201:289 (the other isotherm)"},
			{"crank1975", "Crank 1975, The mathematics of diffusion"},
			{"page1949", "Page 1949 (thin layers)"},
			{"oliveira2010", "Oliveira et al. 2010, Int. J. Food Sci. Technol. 45:1572 and Sarada et al. 1999 (blue pigment)"},
			{"", "pick-up, half an hour and half a per cent: judgement, no source"},
		},
		Cautions: []string{
			"Warm and wet is where germs grow: 40 to 45 °C lies within it, so speed is the guard. The clock runs until the water activity is under 0.92; fully dry within 12 hours. No step here kills germs or undoes a toxin.",
			"A dryer is a fire risk: attended, with a thermal cut-out, clean of dust; mains electricity by local code and a licensed electrician.",
			"The end is never told from an assumed dry matter: two points of it make the difference between 5 and 14 % of water.",
		},
		Example: `{"paste_kg":2,"solids_pct":20,"outside_c":25,"outside_rh_pct":60,"drying_c":45,"air_m3_per_h":150}`,
	}, computeDry)
}

func computeDry(in dryIn) (dryOut, error) {
	var out dryOut
	target := in.TargetPct / 100
	solids := in.SolidsPct / 100
	if solids >= 1-target {
		return out, invalid("solids_pct", "", "solids_pct %g is drier than the target already", in.SolidsPct)
	}
	const tenth = 1.2815515655446004 // standard normal quantile at 0.9
	out.ProductG = 1000 * in.PasteKg * solids / (1 - target)
	out.ProductLow = 1000 * in.PasteKg * math.Max(0, solids-tenth*in.SolidsError/100) / (1 - target)
	out.ProductHigh = 1000 * in.PasteKg * math.Min(1, solids+tenth*in.SolidsError/100) / (1 - target)
	out.WaterKg = in.PasteKg - out.ProductG/1000
	d := process.Dryer{OutsideC: in.OutsideC, OutsideRHPct: in.OutsideRH, DryingC: in.DryingC, PressureKPa: air.Pressure(in.ElevationM), PickUp: in.PickUp}
	x, err := d.Draw(process.Published)
	if err != nil {
		return out, fromProcess(err)
	}
	out.RHPct, out.WetBulbC = x.RHPct, x.WetBulbC
	out.DriestLow, out.DriestHigh = 100*x.MoistureLow, 100*x.MoistureHigh
	switch {
	case x.MoistureHigh <= target:
		out.AirReaches = string(process.Passed)
	case x.MoistureLow > target:
		out.AirReaches = string(process.Failed)
		out.Cautions = append(out.Cautions, "This air cannot dry so far: warm it more, or dry when the air is drier. Finish in a closed box with a drying agent, or not at all.")
	default:
		out.AirReaches = string(process.Missing)
		out.Cautions = append(out.Cautions, "Whether this air can get there lies between the two isotherms: a measured water activity tells.")
	}
	out.AirPerWater, out.HeatPerKg = finite(x.AirPerWater), finite(x.HeatPerWaterJ/1000)
	out.HeatKWh = finite(x.HeatPerWaterJ * out.WaterKg / 3.6e6)
	if in.FlowM3H != nil {
		out.AirH = finite(d.AirTimeS(x, out.WaterKg, *in.FlowM3H) / 3600)
		if out.AirH == nil || *out.AirH > 12 {
			out.Cautions = append(out.Cautions, "The air alone takes longer than 12 hours, or never gets there: more air, warmer air, or less paste.")
		}
	}
	out.paste(in, x, target)
	if in.DryingC > 65 {
		out.Cautions = append(out.Cautions, "Over 65 °C it scorches and the strands close before they are dry; it is no kill step either.")
	}
	if low, high := process.DryingLoss(in.DryingC); !math.IsNaN(low) {
		out.ColourLow, out.ColourHigh = finite(100*low), finite(100*high)
	}
	if in.Shape == "strands" && in.SizeMM > 3 || in.Shape == "layer" && in.SizeMM > 5 {
		out.Cautions = append(out.Cautions, "That is thick: the middle stays wet for hours. Strands of 1 to 3 mm, layers of a few millimetres.")
	}
	out.Assumptions = append(out.Assumptions,
		"standard air pressure at this height",
		fmt.Sprintf("air leaves with %s of what it could take", Digits(in.PickUp)),
		"the two isotherms disagree by about two; both ends are shown")
	return out, out.ends(in, d, x)
}

// paste tells how long water takes to find its way out, with the transport of
// nearly dry and of wet paste.
func (out *dryOut) paste(in dryIn, x process.Drawn, target float64) {
	x0, xt := process.DryBasis(1-in.SolidsPct/100), process.DryBasis(target)
	// Towards what the air leaves: half-way between the two curves; if that is over
	// the target, towards a twentieth above it.
	xe := (process.DryBasis(x.MoistureLow) + process.DryBasis(x.MoistureHigh)) / 2
	mr := (xt - xe) / (x0 - xe)
	if !(mr > 0.005) || math.IsNaN(mr) {
		mr = 0.005
	}
	const dry, wet = 1.7e-10, 9.4e-9 // tiendrebeogo2015 [m²/s]
	k, lead := process.StrandRate(wet, in.SizeMM), 0.6917
	slow := process.StrandRate(dry, in.SizeMM)
	if in.Shape == "layer" {
		k, slow, lead = process.LayerRate(wet, in.SizeMM), process.LayerRate(dry, in.SizeMM), 0.8106
	}
	out.PasteLowH, out.PasteHighH = math.Log(lead/mr)/k/3600, math.Log(lead/mr)/slow/3600
	hours := out.PasteLowH
	if out.AirH != nil {
		hours = math.Max(hours, *out.AirH)
	}
	out.WeighEvery = math.Min(60, math.Max(15, math.Round(hours*60/6/5)*5))
}

// ends judges the three ends, and fits the weights.
func (out *dryOut) ends(in dryIn, d process.Dryer, x process.Drawn) error {
	out.ConstMass, out.Control, out.ByActivity = string(process.Missing), string(process.Missing), string(process.Missing)
	target := in.TargetPct / 100
	weighings := make([]process.Weighing, len(in.Weighed))
	for i, w := range in.Weighed {
		weighings[i] = process.Weighing{TimeS: 60 * w.Min, MassG: w.G}
	}
	if len(weighings) > 0 {
		state, changed, err := process.ConstantMass(weighings)
		if err != nil {
			return renamed(fromProcess(err), "weighings", "weighed")
		}
		out.ConstMass = string(state)
		if state == process.Missing && changed < 0 {
			out.Cautions = append(out.Cautions, "The tray gained mass: damp air, or another tray.")
		}
		if state == process.Passed && out.AirReaches != string(process.Passed) {
			out.Cautions = append(out.Cautions, "Constant mass says that this air takes no more, not that the product is dry enough: measure its water activity.")
		}
	}
	if in.ControlPct != nil && len(weighings) > 0 {
		first, last := weighings[0].MassG, weighings[len(weighings)-1].MassG
		state, now, goal, err := process.ByControl(first, last, *in.ControlPct/100, target)
		if err != nil {
			return renamed(fromProcess(err), "mass_now_g", "weighed")
		}
		out.Control, out.NowPct, out.GoalG = string(state), finite(100*now), finite(goal)
		out.fit(in, weighings, *in.ControlPct/100*first, goal, x)
		if in.FlowM3H != nil && len(weighings) > 1 {
			// The tray's share of what the air can carry.
			share := first / (1000 * in.PasteKg)
			rate := 1000 * out.WaterKg / d.AirTimeS(x, out.WaterKg, *in.FlowM3H) * math.Min(1, share)
			stalled := process.Stalled(weighings, rate, goal)
			out.Stalled = &stalled
			if stalled {
				out.Cautions = append(out.Cautions, "The dryer has stalled: see to heat, fan and filter; the clock runs on, and a lot that passes its limit goes on hold.")
			}
		}
	}
	switch {
	case in.Activity != nil:
		out.ByActivity = string(process.ByActivity(*in.Activity, in.ActivityErr, process.KeepActivity))
	case in.MoisturePct != nil:
		out.ByActivity = string(process.Published.ByMoisture(*in.MoisturePct/100, process.KeepActivity))
	}
	if in.MoisturePct != nil {
		low, high := process.Published.Activities(*in.MoisturePct / 100)
		out.ActivityLow, out.ActivityHi = finite(low), finite(high)
		if *in.MoisturePct > 100*process.RejectMoisture && in.Activity == nil {
			out.Cautions = append(out.Cautions, "Over 7 % of water nothing is kept without a measured water activity.")
		}
	}
	return nil
}

// fit draws Page's curve through the weights and says when it comes to the goal.
func (out *dryOut) fit(in dryIn, weighings []process.Weighing, dryG, goalG float64, x process.Drawn) {
	rest := dryG * (1 + (process.DryBasis(x.MoistureLow)+process.DryBasis(x.MoistureHigh))/2)
	if rest >= goalG {
		rest = dryG * (1 + process.DryBasis(in.TargetPct/100)/2)
	}
	times, masses := make([]float64, len(weighings)), make([]float64, len(weighings))
	for i, w := range weighings {
		times[i], masses[i] = w.TimeS-weighings[0].TimeS, w.MassG
	}
	ratios, err := process.Ratios(times, masses, dryG, rest)
	if err != nil {
		return
	}
	c, _, err := process.FitCurve(process.Page, ratios)
	if err != nil {
		return
	}
	out.PageK, out.PageN = finite(c.K*math.Pow(60, c.N)), finite(c.N)
	if mr := (goalG - rest) / (masses[0] - rest); mr > 0 {
		out.FitTargetH = finite(c.TimeS(mr) / 3600)
	}
}

// renamed gives an input error the name that its field has here.
func renamed(err error, from, to string) error {
	var fe *farm.Error
	if errors.As(err, &fe) && fe.Field == from {
		fe.Field = to
	}
	return err
}
