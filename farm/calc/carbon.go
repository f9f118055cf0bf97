package calc

import (
	"fmt"
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
)

type carbonIn struct {
	Recipe       string             `json:"recipe,omitempty" label:"Mixed as" help:"a published recipe by name; else bicarbonate-farm"`
	SaltsGPerL   map[string]float64 `json:"salts_g_per_l" label:"Or from these salts, in a litre" unit:"g/L" min:"0" max:"500"`
	PH           *float64           `json:"ph" label:"pH read" min:"6.5" max:"12" help:"else as freshly mixed"`
	TempC        float64            `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"0" max:"50" default:"25"`
	UntilPH      float64            `json:"until_ph" label:"Until pH, at 25 °C" min:"8.5" max:"11.5" default:"10.5"`
	Nitrogen     string             `json:"nitrogen" label:"It lives on" choices:"nitrate|urea" default:"nitrate"`
	VolumeL      *float64           `json:"volume_l" label:"Volume" unit:"L" min:"0.05" max:"10000000"`
	DepthCM      float64            `json:"depth_cm" label:"Mean depth" unit:"cm" min:"0.5" max:"500" default:"15"`
	YieldGPerM2D float64            `json:"yield_g_per_m2_d" label:"Growth expected" unit:"g/m²/d" min:"0.1" max:"60" default:"5"`
	PCO2PPM      float64            `json:"pco2_ppm" label:"Carbon dioxide in the air" unit:"ppm" min:"1" max:"100000" default:"420"`
	SodaGPerL    float64            `json:"add_soda_g_per_l" label:"Baking soda added now" unit:"g/L" min:"0" max:"100" default:"0"`
}

type carbonOut struct {
	PHNow25C        float64  `json:"ph_now_25c" label:"pH now, at 25 °C"`
	CarbonGPerL     float64  `json:"carbon_left_g_per_l" label:"Carbon until then, at constant alkalinity" unit:"g/L"`
	GrowthGPerL     float64  `json:"growth_g_per_l" label:"Growth until then, without air" unit:"g/L"`
	GrowthG         *float64 `json:"growth_g,omitempty" label:"Growth in all" unit:"g"`
	DaysLow         *float64 `json:"days_low,omitempty" label:"Days with what air brings, from" unit:"d"`
	Days            *float64 `json:"days,omitempty" label:"Days with what air brings, about" unit:"d"`
	DaysHigh        *float64 `json:"days_high,omitempty" label:"Days with what air brings, up to" unit:"d"`
	AirNowGPerM2D   float64  `json:"air_feeds_now_g_per_m2_d" label:"Growth that air feeds now (less than nothing: it takes)" unit:"g/m²/d"`
	AirThenGPerM2D  float64  `json:"air_feeds_then_g_per_m2_d" label:"Growth that air feeds at that pH" unit:"g/m²/d"`
	SodaKgPerKg     *float64 `json:"soda_kg_per_kg,omitempty" label:"Baking soda that holds that pH, for a kilogram dry" unit:"kg"`
	CO2KgPerKg      *float64 `json:"co2_kg_per_kg,omitempty" label:"Carbon dioxide that holds it, for a kilogram dry" unit:"kg"`
	SodaCarriesGPer *float64 `json:"added_soda_carries_g_per_l,omitempty" label:"Growth that the added soda carries" unit:"g/L"`
	Told
}

// Carbon is the calculator of how much growth the carbon of a water carries.
func Carbon() *Calculator {
	return Define(About{
		Name: "carbon", Title: "How far does the carbon go?",
		Sentence: "Carbon and growth left until a pH, the days that makes with what the air brings, and what soda or carbon dioxide would carry.",
		Equations: []string{
			"carbon left: DIC now less DIC at that pH, alkalinity kept",
			"growth left: the cells take their carbon, nitrogen and ions until the water reads that pH",
			"air: E k (CO2* - CO2), Hoover & Berkshire 1969, k 3 cm/h and wind",
			"to hold a pH: (C + r a)/(1 - r) of bicarbonate, C + r a of carbon dioxide, r = DIC/alkalinity",
		},
		Sources: []Source{
			{"harvie1984", "Harvie, Møller & Weare 1984, Geochimica et Cosmochimica Acta 48:723"},
			{"hoover1969", "Hoover & Berkshire 1969, Journal of Geophysical Research 74:456"},
			{"wolfgladrow2007", "Wolf-Gladrow et al. 2007, Marine Chemistry 106:287 (from memory)"},
			{"animals2023", "composition: Animals 2023, 13:1275, table 2, and the formula of Cornet & Dussap 2009 (from memory)"},
		},
		Cautions: []string{"Above pH 10.5 growth slows for want of carbon, above 11 it fails: act before."},
		Example:  `{"recipe":"zarrouk","ph":9.8,"volume_l":600}`,
	}, computeCarbon)
}

func computeCarbon(in carbonIn) (carbonOut, error) {
	var out carbonOut
	mix, how, err := baseOf(in.Recipe, in.SaltsGPerL, medium.US)
	if err != nil {
		return out, err
	}
	s := brine.New(brine.Pitzer)
	sol, err := mix.Dissolve(s)
	if err != nil {
		return out, fromMedium("salts_g_per_l", err)
	}
	out.Assumptions = append(out.Assumptions, how)
	t := sol.Totals
	if t.AlkalinityEqKg() <= 0 || t[brine.DIC] <= 0 {
		return out, invalid("salts_g_per_l", "soda belongs in", "salts_g_per_l holds no carbon that growth could use")
	}
	if in.PH != nil {
		if t, _, err = medium.LivingWater(s, &sol, *in.PH, in.TempC); err != nil {
			return out, fromMedium("", err)
		}
		out.Assumptions = append(out.Assumptions, "carbon moved until it reads that pH, alkalinity kept")
	}
	c := growth.DefaultComposition()
	nitrate := in.Nitrogen == "nitrate"
	bare := t
	if in.SodaGPerL > 0 {
		mol := in.SodaGPerL / 84.007 / sol.KgWaterPerL
		t[brine.Na] += mol
		t[brine.DIC] += mol
	}
	var w brine.Water
	if err := s.Solve(&t, 25, &w); err != nil {
		return out, fromMedium("", err)
	}
	out.PHNow25C = w.PH
	at := medium.Plain()
	at.TempC, at.DepthM, at.PCO2Atm, at.YieldGM2D, at.Nitrate = in.TempC, in.DepthCM/100, in.PCO2PPM*1e-6, in.YieldGPerM2D, nitrate
	air := func(x *brine.Totals) (float64, error) { // [g/m²/d]
		if err := s.Solve(x, in.TempC, &w); err != nil {
			return 0, err
		}
		f := brine.AirExchange(&w, brine.Air{PCO2Atm: at.PCO2Atm, WindMS: at.WindMS, LiquidMS: 0.03 / 3600})
		return f.CO2MolM2S * 86400 / c.C, nil
	}
	if out.AirNowGPerM2D, err = air(&t); err != nil {
		return out, fromMedium("", err)
	}
	end := t
	if err := s.HoldPH(&end, 25, in.UntilPH, brine.ByCO2, &w); err != nil {
		return out, invalid("until_ph", "", "until_ph %g is not reached by this water", in.UntilPH)
	}
	if out.AirThenGPerM2D, err = air(&end); err != nil {
		return out, fromMedium("", err)
	}
	mol, err := medium.CarbonUntil(s, &t, 25, in.UntilPH)
	if err != nil {
		return out, fromMedium("", err)
	}
	out.CarbonGPerL = mol * sol.KgWaterPerL * 12.011
	grown, err := medium.GrowthUntil(s, &t, 25, in.UntilPH, c, nitrate)
	if err != nil {
		return out, fromMedium("", err)
	}
	out.GrowthGPerL = grown * sol.KgWaterPerL
	if in.VolumeL != nil {
		g := out.GrowthGPerL * *in.VolumeL
		out.GrowthG = &g
	}
	if in.SodaGPerL > 0 {
		before, err := medium.GrowthUntil(s, &bare, 25, in.UntilPH, c, nitrate)
		if err != nil {
			return out, fromMedium("", err)
		}
		more := out.GrowthGPerL - before*sol.KgWaterPerL
		out.SodaCarriesGPer = &more
		out.Cautions = append(out.Cautions, fmt.Sprintf("The soda leaves %s g/L of sodium: see calculator salt.", Digits(in.SodaGPerL*22.990/84.007)))
	}
	if h, err := medium.CarbonToHold(s, &t, in.UntilPH, c, nitrate); err == nil {
		out.SodaKgPerKg, out.CO2KgPerKg = finite(h.SodaGG), finite(h.CO2GG)
	}
	sol.Totals = t
	days, err := medium.CarbonDays(s, &sol, at, in.UntilPH, c)
	if err != nil {
		return out, fromMedium("", err)
	}
	out.DaysLow, out.Days, out.DaysHigh = finite(days.Low), finite(days.Mid), finite(days.High)
	if math.IsInf(days.Mid, 1) {
		out.Assumptions = append(out.Assumptions, "the air keeps up with that growth: that pH is not reached")
	}
	out.Assumptions = append(out.Assumptions, "the days are those of the growth expected, times or over 1.6")
	return out, nil
}
