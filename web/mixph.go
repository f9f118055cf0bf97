package web

import (
	"math"
	"strings"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/medium"
	"sodalake/science/num"
)

// phAnswer is what the calculator adjust-ph answers, by its public names.
type phAnswer struct {
	DoseG        *float64 `json:"dose_g"`
	Kitchen      string   `json:"kitchen"`
	StockL       *float64 `json:"stock_l"`
	WarmsK       *float64 `json:"stock_warms_k"`
	GasM3        *float64 `json:"gas_m3"`
	RoomPct      *float64 `json:"room_pct"`
	WaitLow      *float64 `json:"wait_days_low"`
	Wait         *float64 `json:"wait_days"`
	WaitHigh     *float64 `json:"wait_days_high"`
	Before25     float64  `json:"ph_before_25c"`
	After        float64  `json:"ph_after"`
	After25      float64  `json:"ph_after_25c"`
	CarbonBefore float64  `json:"carbon_left_before_g_per_l"`
	CarbonAfter  float64  `json:"carbon_left_after_g_per_l"`
	Carries      *float64 `json:"dose_carries_g_per_l"`
	NH3Before    float64  `json:"free_nh3_before_mm"`
	NH3After     float64  `json:"free_nh3_after_mm"`
	MSBefore     float64  `json:"conductivity_before_ms_per_cm"`
	MSAfter      float64  `json:"conductivity_after_ms_per_cm"`
	SodiumGPerL  float64  `json:"sodium_added_g_per_l"`
	Assumptions  []string `json:"assumptions"`
	Cautions     []string `json:"cautions"`
	Sources      []string `json:"sources"`
}

// ways are how a pH is set right, the mildest first.
var ways = []string{"wait", "bicarbonate", "soda_ash", "co2", "caustic"}

// dosed is the salt of each way, by formula.
var dosed = map[string]string{"bicarbonate": "NaHCO3", "soda_ash": "Na2CO3", "caustic": "NaOH"}

// phOffered is what the form offers for a vessel: the last reading that is
// believed, else what is estimated.
type phOffered struct {
	ph, again string
	temp      float64 // [°C]
	volume    string
	depth     string
	urea      string
}

func (b *benchAsk) phOffer(v *keeper.BenchVessel) phOffered {
	o := phOffered{temp: 25, depth: "15"}
	if v == nil {
		return o
	}
	if v.Temp.Mid > 0 {
		o.temp = roundTo(v.Temp.Mid, 3)
	}
	if len(v.PHReadings) > 0 && b.bench.At.Sub(v.PHReadings[0].At).Hours() < 48 {
		r := v.PHReadings[0]
		o.ph = b.w.Read("ph", r.Value).Value
		if r.TempC != nil {
			o.temp = *r.TempC
		}
		if len(v.PHReadings) > 1 && r.At.Sub(v.PHReadings[1].At).Hours() < 12 {
			o.again = b.w.Read("ph", v.PHReadings[1].Value).Value
		}
	} else if v.PH.Mid > 0 {
		o.ph = b.w.Rounded(v.PH.Mid, 0.1)
	}
	o.volume = b.shown("volume_l", roundTo(v.Volume.Mid, 3))
	if v.DepthCM > 0 {
		o.depth = b.shown("depth_cm", math.Round(v.DepthCM))
	}
	o.urea = "0"
	if v.ReducedMgL >= 0.5 {
		o.urea = b.shown("x_mg_per_l", roundTo(v.ReducedMgL, 2))
	}
	return o
}

// way is how the pH is set right.
func (b *benchAsk) way(o *phOffered) string {
	way := b.get("by")
	for _, w := range ways {
		if way == w {
			return way
		}
	}
	if numberOf(o.ph) >= 10.4 {
		return "bicarbonate" // it lacks carbon, not alkali
	}
	return "wait"
}

// offeredTo is the pH to aim at: one allowed step.
func (b *benchAsk) offeredTo(o *phOffered, way string) string {
	ph := numberOf(b.or("ph", o.ph))
	if ph == 0 {
		return ""
	}
	step := map[string]float64{"wait": 0.3, "soda_ash": 0.2, "co2": -0.2, "caustic": 0.1}[way]
	if way == "wait" && ph > 9.6 {
		step = -0.3 // beyond about that the air brings a pond down, not up
	}
	return b.w.Rounded(roundTo(ph+step, 4), 0.1)
}

func (b *benchAsk) phFields() (main, more []mixField) {
	w := b.w
	v := b.vessel()
	o := b.phOffer(v)
	way := b.way(&o)
	main = []mixField{b.vesselField(), b.text("ph", "mix.ph_read", "", o.ph, "")}
	main = append(main, b.choice("by", "mix.by", "mix.by_", way, ways...))
	if way == "bicarbonate" {
		main = append(main, b.text("bicarbonate_g", "mix.soda_g", "g", b.offeredSoda(v), ""))
	} else {
		main = append(main, b.text("to_ph", "mix.to_ph", "", b.offeredTo(&o, way), ""))
	}
	switch way {
	case "caustic":
		main = append(main, b.text("ph_again", "mix.ph_again", "", o.again, w.T("mix.ph_again_hint")))
		main = append(main, b.choice("meter_checked", "mix.meter_checked", "calc.", yes(v != nil && v.MeterChecked), "no", "yes"))
	case "co2":
		main = append(main, b.choice("stands", "mix.cylinder_stands", "mix.stands_", "indoors", "indoors", "outdoors"),
			b.text("cylinder_kg", "mix.cylinder", "kg", "", w.T("mix.cylinder_hint")), b.text("room_m3", "mix.room", "m³", "", ""))
	}
	more = []mixField{
		b.text("volume", "mix.volume_now", w.UnitOf("volume_l"), o.volume, ""),
		b.text("temp", "mix.temp_now", w.UnitOf("temp_c"), b.shown("temp_c", o.temp), ""),
		b.text("depth", "mix.depth", "cm", o.depth, ""),
		b.choice("ammonia_smell", "mix.smell", "calc.", yes(v != nil && v.Ammonia), "no", "yes"),
		b.text("standing_urea_mg_per_l", "mix.standing", "mg/L", o.urea, w.T("mix.standing_hint")),
		b.choice("stirred", "mix.stirred", "calc.", "yes", "yes", "no"),
		b.text("purity_pct", "mix.purity", "%", "99", ""),
	}
	return main, more
}

// offeredSoda is a dose of baking soda to begin with [g]: half a gram a litre,
// judgement, no source. The form shows what it carries before it is done.
func (b *benchAsk) offeredSoda(v *keeper.BenchVessel) string {
	if v == nil || v.Volume.Mid <= 0 {
		return ""
	}
	return exactly(roundTo(0.5*v.Volume.Low, 2))
}

// ph answers for a living vessel's pH: the effect first, and the record only
// where the calculator does not refuse.
func (b *benchAsk) ph() mixOut {
	w := b.w
	v := b.vessel()
	if v == nil {
		return mixOut{Notes: []string{w.T("mix.no_vessel")}, Links: []navLink{{"/farm/vessel", w.T("setup.new_vessel")}}}
	}
	if !v.Started && v.Volume.Mid <= 0 {
		return mixOut{Notes: []string{w.T("mix.holds_nothing", "name", v.Name)}, Links: []navLink{{"/farm/inside?vessel=" + queryEscape(v.ID), w.T("setup.inside")}}}
	}
	typed, way, err := b.phTyped(v)
	if err != nil {
		return mixOut{Bad: badOf(err)}
	}
	var a phAnswer
	if err := b.ask(b.calcs.adjust, typed, &a); err != nil {
		return mixOut{Bad: badOf(err), Title: w.T("mix.ph_not", "name", v.Name)}
	}
	return b.corrected(v, &a, way, typed)
}

func (b *benchAsk) phTyped(v *keeper.BenchVessel) (map[string]string, string, error) {
	o := b.phOffer(v)
	way := b.way(&o)
	typed := map[string]string{"by": way, "measures": b.measures(), "ph": b.or("ph", o.ph), "depth_cm": b.or("depth", o.depth)}
	if typed["ph"] == "" {
		return nil, way, invalid("ph", b.w.T("mix.ph_hint"), "%s", b.w.T("mix.ph_missing"))
	}
	typed["standing_urea_mg_per_l"] = b.or("standing_urea_mg_per_l", o.urea)
	typed["ammonia_smell"] = b.or("ammonia_smell", yes(v.Ammonia))
	typed["stirred"], typed["purity_pct"] = b.get("stirred"), b.or("purity_pct", "99")
	switch way {
	case "bicarbonate":
		typed["bicarbonate_g"] = b.or("bicarbonate_g", b.offeredSoda(v))
	case "caustic":
		typed["ph_again"] = b.or("ph_again", o.again)
		typed["meter_checked"] = b.or("meter_checked", yes(v.MeterChecked))
	case "co2":
		typed["cylinder_kg"], typed["room_m3"], typed["cylinder_stands"] = b.get("cylinder_kg"), b.get("room_m3"), b.get("stands")
	}
	if way != "bicarbonate" {
		typed["to_ph"] = b.or("to_ph", b.offeredTo(&o, way))
	}
	litres, err := b.volume("volume", o.volume)
	if err != nil {
		return nil, way, err
	}
	temp, err := b.temp(o.temp)
	if err != nil {
		return nil, way, err
	}
	typed["volume_l"], typed["temp_c"] = exactly(litres), exactly(temp)
	if m := v.Medium; m != nil {
		if r := b.farmRecipe(m.Recipe); r != nil && !r.ReadyMix {
			typed["salts_g_per_l"] = object(r.SaltsGPerL)
		} else if _, ok := medium.Find(m.Recipe); ok {
			typed["recipe"] = m.Recipe
		} else if len(m.SaltsGPerL) > 0 {
			typed["salts_g_per_l"] = object(m.SaltsGPerL)
		}
	}
	return typed, way, nil
}

// corrected lays the effect out, before and afterwards.
func (b *benchAsk) corrected(v *keeper.BenchVessel, a *phAnswer, way string, typed map[string]string) mixOut {
	w := b.w
	out := mixOut{Given: a.Assumptions, Sources: a.Sources}
	ph := numberOf(typed["ph"])
	out.Title = w.T("mix.ph_title", "name", v.Name, "from", w.Rounded(ph, 0.1), "to", w.Rounded(a.After, 0.1))
	if way == "bicarbonate" {
		out.Title = w.T("mix.soda_title", "name", v.Name)
	}
	after := about(a.After)
	temp := numberOf(typed["temp_c"])
	tempSaid := w.Number("temp_c", temp).Plain()
	t := mixTable{Title: w.T("mix.effect"), Head: []string{"", w.T("mix.effect_now"), w.T("mix.effect_then")}, Rows: [][]string{
		{w.T("mix.effect_ph", "temp", tempSaid), w.Rounded(ph, 0.1), w.Band("ph", after).Full()},
		{w.T("mix.effect_ph25"), w.Rounded(a.Before25, 0.1), w.Rounded(a.After25, 0.1)},
	}, Caption: w.T("mix.effect_caption")}
	if way != "wait" { // nothing but carbon moves while it stands
		t.Rows = append(t.Rows,
			[]string{w.T("mix.effect_carbon"), w.Number("x_g_per_l", a.CarbonBefore).Value, w.Number("x_g_per_l", a.CarbonAfter).Value},
			[]string{w.T("mix.effect_ammonia"), w.Number("ammonia_mm", a.NH3Before).Value, w.Number("ammonia_mm", a.NH3After).Value},
			[]string{w.T("mix.effect_salts"), w.Number("x_ms_per_cm", a.MSBefore).Value, w.Number("x_ms_per_cm", a.MSAfter).Value})
	}
	out.First = &t
	var names []string
	if word := dosed[way]; word != "" {
		names = append(names, word)
	}
	out.Care, out.More = careOf(w, names, a.Cautions)
	if way == "wait" {
		b.waits(&out, a)
		return out
	}
	if a.DoseG == nil || !(*a.DoseG > 0) {
		out.Notes = append(out.Notes, w.T("mix.no_dose"))
		return out
	}
	b.dose(&out, v, a, way)
	if a.Carries != nil && *a.Carries > 0 {
		out.Gets = append(out.Gets, mixGet{Name: w.T("mix.dose_carries"), Value: w.Number("x_g_per_l", *a.Carries).Value, Unit: "g/L"})
	}
	if a.SodiumGPerL > 0 {
		out.Gets = append(out.Gets, mixGet{Name: w.T("mix.dose_sodium"), Value: w.Number("x_g_per_l", a.SodiumGPerL).Value, Unit: "g/L"})
		out.Links = append(out.Links, navLink{"/calc/salt", w.T("mix.creep")})
	}
	return out
}

// waits says how long the air takes.
func (b *benchAsk) waits(out *mixOut, a *phAnswer) {
	if a.Wait == nil {
		out.Notes = append(out.Notes, b.w.T("mix.wait_air_never"))
		return
	}
	band := num.Band{Low: *a.Wait, Mid: *a.Wait, High: *a.Wait}
	if a.WaitLow != nil && a.WaitHigh != nil {
		band.Low, band.High = *a.WaitLow, *a.WaitHigh
	}
	g := b.got("mix.wait_days", "wait_d", band)
	out.Gets = append(out.Gets, g)
}

// dose is what is weighed, and the record of it.
func (b *benchAsk) dose(out *mixOut, v *keeper.BenchVessel, a *phAnswer, way string) {
	w := b.w
	g := weighs(*a.DoseG)
	value, unit := grams(w, g)
	row := mixRow{Amount: value, Unit: unit, Tick: "in.dose"}
	body := map[string]any{"reason": "pH"}
	if way == "co2" {
		row.Name = w.T("mix.gas")
		if a.GasM3 != nil {
			row.Small = w.T("mix.gas_small", "volume", w.Number("x_m3", *a.GasM3).Plain())
		}
		body["co2_g"] = g
	} else {
		of := farm.IngredientOf(dosed[way])
		if i, err := medium.Lookup(of, medium.US); err == nil {
			row.Name = upperFirst(i.Kitchen)
		}
		row.Small = strings.Join(nonEmpty([]string{pretty(a.Kitchen), pounds(w, g)}), " · ")
		if a.StockL != nil {
			row.Small = strings.TrimPrefix(row.Small+" · "+w.T("mix.into_cold", "volume", w.Number("volume_l", *a.StockL).Plain(), "warms", w.Number("x_kelvin", *a.WarmsK).Plain()), " · ")
		}
		b.onRow(&row, of, g)
		body["salts_g"] = map[string]float64{dosed[way]: g}
		if taken := b.taken(map[string]float64{of: g}); len(taken) > 0 {
			body["supplies_g"] = taken
		}
		if way == "bicarbonate" {
			body["reason"] = w.T("mix.reason_carbon")
		}
	}
	out.Stages = []mixStage{{No: "1", Text: w.T("mix.dose_do"), Rows: []mixRow{row}}, {No: "2", Text: w.T("mix.dose_after")}}
	out.Record = b.form("dosed", v.ID, body)
	out.PDF = "/mix/sheet.pdf?" + b.back()
}
