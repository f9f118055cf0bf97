package calc

import (
	"fmt"
	"math"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/medium"
	"sodalake/science/num"
	"sodalake/science/units"
)

type adjustIn struct {
	PH             float64            `json:"ph" label:"pH read" min:"6.5" max:"12.5"`
	ToPH           *float64           `json:"to_ph" label:"pH wanted" min:"7" max:"12" help:"at the same temperature; not needed for bicarbonate"`
	By             string             `json:"by" label:"By" choices:"wait|soda_ash|co2|bicarbonate|caustic" default:"wait"`
	VolumeL        float64            `json:"volume_l" label:"Volume" unit:"L" min:"0.05" max:"10000000"`
	TempC          float64            `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"0" max:"50" default:"25"`
	Recipe         string             `json:"recipe,omitempty" label:"Mixed as" help:"a published recipe by name; else bicarbonate-farm"`
	SaltsGPerL     map[string]float64 `json:"salts_g_per_l" label:"Or from these salts, in a litre" unit:"g/L" min:"0" max:"500"`
	UreaMgPerL     *float64           `json:"standing_urea_mg_per_l" label:"Urea and ammonium in it, as urea" unit:"mg/L" min:"0" max:"2000" help:"by a test or from what was fed; else what the recipe holds"`
	AmmoniaSmell   bool               `json:"ammonia_smell" label:"It smells of ammonia"`
	PHAgain        *float64           `json:"ph_again" label:"pH read again" min:"6.5" max:"12.5" help:"caustic needs two readings that agree"`
	MeterChecked   bool               `json:"meter_checked" label:"Meter checked in a buffer these days"`
	BicarbonateG   *float64           `json:"bicarbonate_g" label:"Baking soda to add" unit:"g" min:"0" max:"10000000"`
	PurityPct      float64            `json:"purity_pct" label:"Purity" unit:"%" min:"50" max:"100" default:"99"`
	CylinderKg     *float64           `json:"cylinder_kg" label:"Carbon dioxide in the cylinder" unit:"kg" min:"0.01" max:"1000"`
	RoomM3         *float64           `json:"room_m3" label:"Room that it stands in" unit:"m³" min:"1" max:"1000000"`
	CylinderInside string             `json:"cylinder_stands" label:"The cylinder stands" choices:"indoors|outdoors" default:"indoors"`
	DepthCM        float64            `json:"depth_cm" label:"Mean depth" unit:"cm" min:"0.5" max:"500" default:"15"`
	Stirred        bool               `json:"stirred" label:"Stirred by day" default:"true"`
	PCO2PPM        float64            `json:"pco2_ppm" label:"Carbon dioxide in the air" unit:"ppm" min:"1" max:"100000" default:"420"`
	Measures       string             `json:"measures" label:"Cups and spoons" choices:"metric|us" default:"metric"`
}

type adjustOut struct {
	DoseG            *float64 `json:"dose_g,omitempty" label:"Add" unit:"g"`
	DoseGPerL        *float64 `json:"dose_g_per_l,omitempty" label:"which is" unit:"g/L"`
	Kitchen          string   `json:"kitchen" label:"or level"`
	StockL           *float64 `json:"stock_l,omitempty" label:"Dissolve it in cold water" unit:"L"`
	WarmsK           *float64 `json:"stock_warms_k,omitempty" label:"which it warms by" unit:"°C"`
	GasM3            *float64 `json:"gas_m3,omitempty" label:"Gas" unit:"m³"`
	RoomPct          *float64 `json:"room_pct,omitempty" label:"The whole cylinder in that room" unit:"%"`
	WaitDaysLow      *float64 `json:"wait_days_low,omitempty" label:"Wait from" unit:"d"`
	WaitDays         *float64 `json:"wait_days,omitempty" label:"Wait about" unit:"d"`
	WaitDaysHigh     *float64 `json:"wait_days_high,omitempty" label:"Wait up to" unit:"d"`
	PHBefore25C      float64  `json:"ph_before_25c" label:"pH now, at 25 °C"`
	PHAfter          float64  `json:"ph_after" label:"pH afterwards, at this temperature"`
	PHAfter25C       float64  `json:"ph_after_25c" label:"pH afterwards, at 25 °C"`
	CarbonBefore     float64  `json:"carbon_left_before_g_per_l" label:"Carbon until pH 10.5, before" unit:"g/L"`
	CarbonAfter      float64  `json:"carbon_left_after_g_per_l" label:"Carbon until pH 10.5, afterwards" unit:"g/L"`
	CarriesGPerL     *float64 `json:"dose_carries_g_per_l,omitempty" label:"Growth that the dose carries" unit:"g/L"`
	FreeNH3Before    float64  `json:"free_nh3_before_mm" label:"Free ammonia now, at most" unit:"mmol/L"`
	FreeNH3After     float64  `json:"free_nh3_after_mm" label:"Free ammonia afterwards, at most" unit:"mmol/L"`
	ConductivityFrom float64  `json:"conductivity_before_ms_per_cm" label:"Conductivity before" unit:"mS/cm"`
	ConductivityTo   float64  `json:"conductivity_after_ms_per_cm" label:"Conductivity afterwards" unit:"mS/cm"`
	SodiumGPerL      float64  `json:"sodium_added_g_per_l" label:"Sodium added" unit:"g/L"`
	Told
}

// AdjustPH is the calculator of a living vessel's pH.
func AdjustPH() *Calculator {
	return Define(About{
		Name: "adjust-ph", Title: "Raise or lower the pH of a vessel",
		Sentence: "What a dose of soda ash, bicarbonate, carbon dioxide or, in small safe steps, caustic does to a living vessel before it is done, and how long waiting takes.",
		Equations: []string{
			"the water: its recipe, with carbon moved until it reads what was read (alkalinity kept)",
			"soda ash, caustic: carbon balance and charge balance, solved for the dose",
			"carbon dioxide: DIC rises at constant alkalinity; 44.0 g/mol, 24.5 L/mol",
			"room: cylinder / 1.80 kg/m3 / room, at most 0.5 %",
			"waiting: exchange with the air, Hoover & Berkshire 1969",
		},
		Sources: []Source{
			{"harvie1984", "Harvie, Møller & Weare 1984, Geochimica et Cosmochimica Acta 48:723"},
			{"hoover1969", "Hoover & Berkshire 1969, Journal of Geophysical Research 74:456"},
			{"osha2023", "carbon dioxide in rooms: OSHA and NIOSH limits, 0.5 % for eight hours, 3 % for a short time, 4 % danger to life (from memory)"},
			{"", "steps of 0.2 pH and 0.2 g/L of caustic, 0.3 pH downwards: judgement, no source"},
		},
		Cautions: []string{
			"A pH that climbs by day is growth; one above 10.5 is missing carbon, not too much alkali.",
			"The same water reads about 0.011 higher for each degree that it is colder.",
		},
		Example: `{"ph":9.4,"to_ph":9.7,"by":"soda_ash","volume_l":800,"temp_c":24,"recipe":"zarrouk"}`,
	}, computeAdjust)
}

func computeAdjust(in adjustIn) (adjustOut, error) {
	var out adjustOut
	mix, how, err := baseOf(in.Recipe, in.SaltsGPerL, medium.US)
	if err != nil {
		return out, err
	}
	s := brine.New(brine.Pitzer)
	sol, err := mix.Dissolve(s)
	if err != nil {
		return out, fromMedium("salts_g_per_l", err)
	}
	if in.UreaMgPerL != nil { // what stands, in place of what was mixed in: all of it counted as ammonium, the worst case
		sol.Totals[brine.Urea] = 0
		n := *in.UreaMgPerL / 1000 / 60.056 * 2 / sol.KgWaterPerL
		sol.Totals[brine.Cl] += n - sol.Totals[brine.Ammonia] // neutral with what was there
		if sol.Totals[brine.Cl] < 0 {
			sol.Totals[brine.Na] -= sol.Totals[brine.Cl]
			sol.Totals[brine.Cl] = 0
		}
		sol.Totals[brine.Ammonia] = n
	}
	water, left, err := medium.LivingWater(s, &sol, in.PH, in.TempC)
	if err != nil {
		return out, fromMedium("", err)
	}
	out.Assumptions = append(out.Assumptions, how,
		fmt.Sprintf("since then growth and air moved the carbon until it read %s: %s %% of what was mixed in", Digits(in.PH), Digits(100*left)),
		"the dose is stirred in and nothing grows, falls out or breathes meanwhile")
	p := medium.Pond{Totals: water, KgWaterPerL: sol.KgWaterPerL, VolumeL: in.VolumeL, TempC: in.TempC}
	r := medium.Reading{PH: [2]float64{in.PH, 0}, MeterChecked: in.MeterChecked, AmmoniaSmell: in.AmmoniaSmell}
	if in.PHAgain != nil {
		r.PH[1] = *in.PHAgain
	}
	e, err := in.effect(s, &p, r, &out)
	if err != nil {
		err = fromMedium("", err)
		if fe, ok := err.(*farm.Error); ok && fe.Field == "ammonia_smell" && in.UreaMgPerL == nil && !in.AmmoniaSmell {
			fe.Hint += "; what the recipe held is counted as still there: say standing_urea_mg_per_l 0 where a test shows none"
		}
		return adjustOut{}, err
	}
	in.tell(&e, &out)
	return out, nil
}

// effect runs the way that was chosen.
func (in *adjustIn) effect(s *brine.Solver, p *medium.Pond, r medium.Reading, out *adjustOut) (medium.Effect, error) {
	var e medium.Effect
	if in.By == "bicarbonate" {
		if in.BicarbonateG == nil {
			return e, invalid("bicarbonate_g", "", "bicarbonate_g is missing")
		}
		if in.ToPH != nil {
			return e, invalid("to_ph", "bicarbonate holds a pH near 8.3 and raises none; say how much you would add and see what it carries", "to_ph cannot be aimed at with bicarbonate")
		}
		return p.Bicarbonate(s, *in.BicarbonateG, in.PurityPct/100)
	}
	if in.ToPH == nil {
		return e, invalid("to_ph", "", "to_ph is missing")
	}
	switch in.By {
	case "soda_ash":
		return p.Raise(s, *in.ToPH, in.PurityPct/100, r)
	case "caustic":
		return p.Caustic(s, *in.ToPH, in.PurityPct/100, r)
	case "co2":
		if in.CylinderInside == "indoors" {
			if in.CylinderKg == nil {
				return e, invalid("cylinder_kg", "what is printed on it, or its full weight less its empty one", "cylinder_kg is missing")
			}
			room := 0.0
			if in.RoomM3 != nil {
				room = *in.RoomM3
			}
			share, err := medium.Room(*in.CylinderKg, room)
			if err != nil {
				return e, err
			}
			share *= 100
			out.RoomPct = &share
		}
		return p.Lower(s, *in.ToPH)
	}
	at := medium.Plain()
	at.TempC, at.DepthM, at.PCO2Atm, at.Stirred, at.YieldGM2D = in.TempC, in.DepthCM/100, in.PCO2PPM*1e-6, in.Stirred, 0
	// The wish is at the water's temperature, the curve at 25 °C.
	offset := 0.0
	var w brine.Water
	if err := s.Solve(&p.Totals, p.TempC, &w); err != nil {
		return e, err
	}
	ph25, err := s.PHAt25(&p.Totals, &w)
	if err != nil {
		return e, err
	}
	offset = ph25 - w.PH
	return p.Wait(s, *in.ToPH+offset, at)
}

// tell fills the answer in.
func (in *adjustIn) tell(e *medium.Effect, out *adjustOut) {
	out.PHBefore25C, out.PHAfter, out.PHAfter25C = e.Before.PH25, e.After.PH, e.After.PH25
	out.CarbonBefore, out.CarbonAfter = e.Before.CarbonLeft, e.After.CarbonLeft
	out.FreeNH3Before, out.FreeNH3After = e.Before.FreeNH3MM, e.After.FreeNH3MM
	out.ConductivityFrom, out.ConductivityTo, out.SodiumGPerL = e.Before.MSCm25, e.After.MSCm25, e.SodiumGL
	dose := func(id string, round units.Rounding) {
		out.DoseG, out.DoseGPerL = finite(e.DoseG), finite(e.GPerL)
		if i, err := medium.Lookup(id, medium.US); err == nil {
			out.Kitchen = spoons(i, e.DoseG, in.Measures, round)
			out.Cautions = append(out.Cautions, ingredientCautions([]medium.Dose{{Of: i}})...)
		}
	}
	switch in.By {
	case "wait":
		in.tellWait(e.Wait, out)
		return
	case "soda_ash":
		dose("soda-ash", units.Down)
		out.Cautions = append(out.Cautions, "Dissolve it in a bucket first and pour it in where the water moves; not all at once: a third, stir, read.")
	case "caustic":
		dose("caustic-soda", units.Down)
		out.StockL, out.WarmsK = finite(e.StockL), finite(e.WarmK)
		out.Cautions = append(out.Cautions,
			"One step a day: stir, wait a day, take two new readings. Above pH 11.5 growth stops.",
			"Pour the cooled solution into the stream, never onto floating culture, never with children or animals near. Running water within reach: rinse skin and eyes for a quarter of an hour and see a physician.",
			"Soda ash or waiting does the same without burns.")
	case "bicarbonate":
		dose("baking-soda", units.Nearest)
		out.CarriesGPerL = finite(e.CarriesGL)
		out.Cautions = append(out.Cautions, fmt.Sprintf("It leaves %s g/L of sodium behind: see calculator salt.", Digits(e.SodiumGL)))
	case "co2":
		out.DoseG, out.DoseGPerL = finite(e.DoseG), finite(e.GPerL)
		out.GasM3, out.CarriesGPerL = finite(e.CO2M3), finite(e.CarriesGL)
		out.Assumptions = append(out.Assumptions, "grams that dissolve; of gas bubbled into shallow water half and more is lost: a meter or a timer in the pond decides, not the scale")
		out.Cautions = append(out.Cautions,
			"Carbon dioxide is heavy and gives no warning: 3 % in the air is a short time's limit, 4 % is danger to life. A cylinder outdoors, chained; an alarm near the floor; never in a closed tunnel at night, never in a cellar. Follow the supplier's and local rules.",
			"At most 0.3 pH down in a step: a jump foams and gasses.")
	}
	if math.Abs(e.After.PH25-e.Before.PH25) > 0.5 {
		out.Cautions = append(out.Cautions, "That is a large step for a living culture: spread it over days.")
	}
}

// tellWait says how long the air takes.
func (in *adjustIn) tellWait(b num.Band, out *adjustOut) {
	out.WaitDaysLow, out.WaitDays, out.WaitDaysHigh = finite(b.Low), finite(b.Mid), finite(b.High)
	if math.IsInf(b.Mid, 1) {
		out.Cautions = append(out.Cautions, "Air alone does not bring it there within a year: its balance lies before that.")
	}
	out.PHAfter, out.PHAfter25C = *in.ToPH, *in.ToPH+out.PHAfter25C-out.PHAfter
	out.Assumptions = append(out.Assumptions, "standing in air without growth; a growing culture lifts the pH by itself")
}
