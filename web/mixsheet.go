package web

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/science/num"
)

// match gives each step of an answer the amounts that belong to it, by their
// names, which stand in the step with commas between them. Names may hold
// commas themselves, so the longest that fits is taken.
func match(what string, names []string, used []bool) []int {
	var out []int
	for what != "" {
		best := -1
		for i, n := range names {
			if !used[i] && (what == n || strings.HasPrefix(what, n+", ")) && (best < 0 || len(n) > len(names[best])) {
				best = i
			}
		}
		if best < 0 {
			return out
		}
		used[best] = true
		out = append(out, best)
		what = strings.TrimPrefix(strings.TrimPrefix(what, names[best]), ", ")
	}
	return out
}

// firstWater is the share of the water that stands in the vessel before the
// salts [1], as the order of mixing says: four fifths.
const firstWater = 0.8

// stages lays the sheet out: what is weighed, step by step.
func (b *benchAsk) stages(out *mixOut, a *mixAnswer, litres float64) {
	w := b.w
	names := make([]string, len(a.Amounts))
	total := 0.0
	for i, x := range a.Amounts {
		names[i] = x.Name
		total += x.MassG
	}
	used := make([]bool, len(names))
	for i, s := range a.Steps {
		st := mixStage{No: strconv.Itoa(i + 1), Text: s.Do}
		switch {
		case s.What != "":
			for _, k := range match(s.What, names, used) {
				st.Rows = append(st.Rows, b.row(a, k))
			}
		case i == 0:
			st.Rows = append(st.Rows, b.waterRow("first", firstWater*litres))
		case i == len(a.Steps)-2:
			st.Rows = append(st.Rows, b.waterRow("fill", litres))
		}
		out.Stages = append(out.Stages, st)
	}
	lead := []string{}
	if soda := b.sodaOf(a, litres); soda > 0 {
		lead = append(lead, w.T("mix.lead_soda", "soda_g", soda))
	}
	sum, unit := grams(w, total)
	lead = append(lead, w.T("mix.lead_sum", "mass", sum+" "+unit))
	if a.CostTotal != nil && a.CostPerL != nil {
		priced := 0
		for _, x := range a.Amounts {
			if x.Cost != nil {
				priced++
			}
		}
		key := "mix.lead_cost"
		if priced < len(a.Amounts) {
			key = "mix.lead_cost_part"
		}
		lead = append(lead, w.T(key, "cost", money(w, *a.CostTotal), "litre", money(w, *a.CostPerL), "priced", priced, "all", len(a.Amounts)))
	}
	out.Lead = strings.Join(lead, " ")
	if a.WorstPct > 0 {
		out.Notes = append(out.Notes, w.T("mix.spoons_"+b.measures(), "pct", w.Rounded(a.WorstPct, 0.1), "of", a.WorstOf))
	}
}

// sodaOf is the soda in a litre [g/L], as baking soda is weighed.
func (b *benchAsk) sodaOf(a *mixAnswer, litres float64) float64 {
	for _, x := range a.Amounts {
		if x.Formula == "NaHCO3" {
			return x.MassG / litres
		}
	}
	return 0
}

func (b *benchAsk) row(a *mixAnswer, k int) mixRow {
	x := a.Amounts[k]
	value, unit := grams(b.w, x.MassG)
	row := mixRow{Amount: value, Unit: unit, Name: upperFirst(x.Name), Tick: "in." + strconv.Itoa(k)}
	var small []string
	if x.Kitchen != "" {
		small = append(small, pretty(x.Kitchen))
	}
	if p := pounds(b.w, x.MassG); p != "" {
		small = append(small, p)
	}
	if x.Stock != "" {
		small = append(small, b.w.T("mix.or_stock", "stock", pretty(x.Stock)))
	} else if x.Name == readyName {
		small = append(small, b.w.T("mix.by_seller"))
	} else if x.Kitchen == "" {
		small = append(small, b.w.T("mix.weigh_it"))
	}
	row.Small = strings.Join(small, " · ")
	of := farm.IngredientOf(x.Name)
	if x.Name == readyName {
		of = b.readyOf()
	}
	b.onRow(&row, of, x.MassG)
	return row
}

// readyName is what the calculator calls a powder whose content is not told.
const readyName = "ready mix"

// readyOf is the recipe of the ready mix that is mixed, if the farm has one.
func (b *benchAsk) readyOf() string {
	if r := b.farmRecipe(strings.TrimPrefix(b.recipe(), "farm.")); r != nil && r.ReadyMix {
		return r.ID
	}
	return ""
}

func (b *benchAsk) waterRow(which string, litres float64) mixRow {
	said := b.w.Number("volume_l", litres)
	row := mixRow{Amount: said.Value, Unit: said.Unit, Name: b.w.T("mix.water_" + which), Tick: "in.water_" + which}
	if x := b.water(); x != nil && which == "first" {
		row.Small = x.Name
	}
	return row
}

// gets fills in what comes of it.
func (b *benchAsk) gets(out *mixOut, a *mixAnswer, litres float64) {
	w := b.w
	if a.PH25 != nil {
		out.Gets = append(out.Gets, b.got("mix.ph_mixed", "ph_25c", about(*a.PH25)))
	}
	for _, s := range a.Standing {
		if s.Days >= 3 {
			g := b.got("mix.ph_after", "ph_25c", num.Band{Low: math.Min(s.Low, s.Mid-0.1), Mid: s.Mid, High: math.Max(s.High, s.Mid+0.1)})
			out.Gets = append(out.Gets, g)
			break
		}
	}
	if a.MS != nil {
		out.Gets = append(out.Gets, b.got("mix.salts", "conductivity_ms_per_cm_25c", near(*a.MS, 0.03)))
	}
	b.chart(out, a)
	b.carries(out, a)
	var falls [][]string
	for _, f := range a.FallsOut {
		worst := math.Max(f.Now, f.Pond)
		key := "mix.falls_may"
		if f.Certain {
			key = "mix.falls_sure"
		}
		value, unit := grams(w, worst*litres/1000)
		falls = append(falls, []string{w.T("mineral." + f.Mineral), w.T(key), w.T("mix.falls_amount", "low", w.Number("x_mg_per_l", math.Min(f.Now, f.Pond)).Value, "high", w.Number("x_mg_per_l", worst).Value, "mass", value+" "+unit)})
	}
	if len(falls) > 0 {
		out.Tables = append(out.Tables, mixTable{Title: w.T("mix.falls"), Head: []string{w.T("mix.falls_what"), "", w.T("mix.falls_mass")}, Rows: falls, Caption: w.T("mix.falls_caption")})
	}
	if a.NH3 != nil && a.NH3Pond != nil && *a.NH3Pond > 0.005 {
		out.Tables = append(out.Tables, mixTable{Title: w.T("mix.ammonia"), Head: []string{"", w.T("mix.ammonia_free")}, Rows: [][]string{
			{w.T("mix.ammonia_now"), w.Number("ammonia_mm", *a.NH3).Plain()}, {w.T("mix.ammonia_pond"), w.Number("ammonia_mm", *a.NH3Pond).Plain()},
			{w.T("mix.ammonia_urea"), w.Number("urea_mg_per_l", *a.UreaMgL).Plain()},
		}, Caption: w.T("mix.ammonia_caption")})
	}
	b.guess(out, a)
}

// carries lists how far the carbon and each element go, the shortest first.
func (b *benchAsk) carries(out *mixOut, a *mixAnswer) {
	w := b.w
	type row struct {
		name string
		gl   float64
	}
	var rows []row
	for _, name := range sortedKeys(a.Carries) {
		if name != "carbon" { // the carbon that pH lets it use stands below
			rows = append(rows, row{w.T("element." + name), a.Carries[name]})
		}
	}
	if a.Carbon != nil {
		rows = append(rows, row{w.T("mix.carbon_fresh"), *a.Carbon})
	}
	if a.CarbonOpen != nil {
		rows = append(rows, row{w.T("mix.carbon_open"), *a.CarbonOpen})
	}
	if len(rows) == 0 {
		return
	}
	slices.SortStableFunc(rows, func(x, y row) int {
		switch {
		case x.gl < y.gl:
			return -1
		case x.gl > y.gl:
			return 1
		}
		return 0
	})
	t := mixTable{Title: w.T("mix.carries"), Head: []string{"", w.T("mix.carries_head")}, Caption: w.T("mix.carries_caption")}
	for _, r := range rows {
		t.Rows = append(t.Rows, []string{r.name, w.Number("x_g_per_l", r.gl).Plain()})
	}
	switch {
	case a.Days != nil && a.DaysLow != nil && a.DaysHigh != nil:
		t.Caption += " " + w.T("mix.carbon_days", "days", w.Rounded(*a.Days, 1), "low", w.Rounded(*a.DaysLow, 1), "high", w.Rounded(*a.DaysHigh, 1))
	case a.Carbon != nil:
		t.Caption += " " + w.T("mix.carbon_air")
	}
	out.Tables = append(out.Tables, t)
}

// guess lists what a ready mix may hold, and the most of it as feed.
func (b *benchAsk) guess(out *mixOut, a *mixAnswer) {
	if len(a.Guess) == 0 {
		return
	}
	w := b.w
	t := mixTable{Title: w.T("mix.guess"), Head: []string{"", w.T("mix.guess_about"), w.T("vessel.eight")}, Caption: w.T("mix.guess_caption")}
	for _, g := range a.Guess {
		band := num.Band{Low: g.Low, Mid: g.Mid, High: g.High}
		said := w.Band("x", band)
		t.Rows = append(t.Rows, []string{upperFirst(g.What), said.Value + " " + g.Unit, said.Spread})
	}
	if a.DayG != nil && a.StandingG != nil {
		day, unit := grams(w, *a.DayG)
		stands, unit2 := grams(w, *a.StandingG)
		t.Rows = append(t.Rows, []string{w.T("mix.guess_day"), day + " " + unit, ""}, []string{w.T("mix.guess_standing"), stands + " " + unit2, ""})
	}
	out.Tables = append([]mixTable{t}, out.Tables...)
}

// record is the form that writes the batch down, with the grams as the sheet
// shows them and the lots that they are taken from.
func (b *benchAsk) record(out *mixOut, a *mixAnswer, litres float64) {
	body := map[string]any{"volume_l": roundTo(litres, 5)}
	salts, of := map[string]float64{}, map[string]float64{}
	for _, x := range a.Amounts {
		g := weighs(x.MassG)
		if x.Name == readyName {
			if id := b.readyOf(); id != "" {
				of[id] = g
			}
			continue
		}
		word := x.Formula
		if word == "" {
			word = strings.TrimPrefix(x.Name, "fertiliser ")
		}
		salts[word] += g
		of[farm.IngredientOf(x.Name)] += g
	}
	recipe := b.recipe()
	method := b.get("method")
	switch {
	case recipe == "ready":
		out.Notes = append(out.Notes, b.w.T("mix.ready_keep"))
		out.Keep = b.keep(map[string]any{"ready_mix": true, "g_per_l": numberOf(b.get("ready_mix_g_per_l"))})
		return
	case recipe == "own" || method != "" && method != "recipe":
		perL := map[string]float64{}
		for word, g := range salts {
			perL[word] = roundTo(g/litres, 5)
		}
		body["medium"] = map[string]any{"salts_g_per_l": perL}
		out.Keep = b.keep(map[string]any{"salts_g_per_l": perL})
	default:
		_, name, _ := strings.Cut(recipe, ".")
		body["medium"] = map[string]any{"recipe": name}
	}
	if len(salts) > 0 {
		body["salts_g"] = salts
	}
	if taken := b.taken(of); len(taken) > 0 {
		body["supplies_g"] = taken
	}
	if x := b.water(); x != nil {
		body["water"] = x.ID
	}
	kind, vessel := "mixed", ""
	if b.mode == "top" {
		v := b.vessel()
		if v == nil {
			return
		}
		kind, vessel = "topped_up", v.ID
		body["with"] = "medium"
		delete(body, "salts_g") // what was weighed stands in supplies_g; the act itself has no place for it
	}
	out.Record = b.form(kind, vessel, body)
	if kind == "mixed" {
		out.Record.Vessels = []option{{"", b.w.T("mix.stands_ready"), true}}
		for _, v := range b.bench.Vessels {
			out.Record.Vessels = append(out.Record.Vessels, option{v.ID, v.Name, false})
		}
	}
	out.Record.Label = b.w.T("mix.record_" + kind)
}

func numberOf(text string) float64 {
	x, err := plainNumber("", text)
	if err != nil {
		return 0
	}
	return x
}

// form carries an entry that is ready but for its times.
func (b *benchAsk) form(kind, vessel string, body map[string]any) *mixRecord {
	raw, err := json.Marshal(body)
	if err != nil {
		return nil
	}
	e, err := json.Marshal(farm.Entry{Vessel: vessel, Kind: kind, V: 1, Body: raw})
	if err != nil {
		return nil
	}
	return &mixRecord{ID: b.newID(), Record: string(e), Item: b.get("item"), Back: b.back(), Label: b.w.T("mix.record_" + kind)}
}

func (b *benchAsk) keep(body map[string]any) *mixKeep {
	raw, err := json.Marshal(body)
	if err != nil {
		return nil
	}
	return &mixKeep{ID: b.newID(), Body: string(raw), Back: b.back()}
}
