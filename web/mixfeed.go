package web

import (
	"encoding/json"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/science/medium"
)

// feedAnswer is what the calculator feed answers, by its public names.
type feedAnswer struct {
	Doses []struct {
		Name    string  `json:"name"`
		Formula string  `json:"formula"`
		MassG   float64 `json:"mass_g"`
		Kitchen string  `json:"kitchen"`
		DayG    float64 `json:"most_on_one_day_g"`
	} `json:"doses"`
	Days        int                `json:"days"`
	DayG        *float64           `json:"today_g"`
	Blocked     string             `json:"blocked"`
	NitrogenG   float64            `json:"nitrogen_g"`
	Brings      map[string]float64 `json:"brings_pct"`
	SodaG       *float64           `json:"soda_to_hold_ph_g"`
	Metals      map[string]float64 `json:"metals_worst_mg_per_kg"`
	Over        []string           `json:"metals_over"`
	UreaMgL     *float64           `json:"as_urea_mg_per_l"`
	Assumptions []string           `json:"assumptions"`
	Cautions    []string           `json:"cautions"`
	Sources     []string           `json:"sources"`
}

// nitrogens are the salts that a culture is fed its nitrogen with, by formula.
var nitrogens = []string{"KNO3", "NaNO3", "CO(NH2)2", "(NH4)2SO4", "NH4H2PO4"}

// nitrogen is what nitrogen is fed by: a formula, a label, or "ready." and the
// recipe of a ready mix.
func (b *benchAsk) nitrogen() string {
	if n := b.get("nitrogen"); n != "" {
		return n
	}
	if v := b.vessel(); v != nil && v.FeedSalt != "" {
		return v.FeedSalt
	}
	return nitrogens[0]
}

// offeredDry is the dry matter that is to be given back [g]: what the day list's
// amount of nitrogen feeds, else what was taken since it was last fed.
func (b *benchAsk) offeredDry() string {
	if g := numberOf(b.get("amount_g")); g > 0 {
		if share := nitrogenIn(b.nitrogen()); share > 0 {
			return exactly(roundTo(g*share/advice.NitrogenShare, 4))
		}
	}
	if v := b.vessel(); v != nil && v.RemovedG >= 1 {
		return b.shown("dry_g", roundTo(v.RemovedG, 2))
	}
	return ""
}

// nitrogenIn is the nitrogen in a gram of a salt as sold [g/g].
func nitrogenIn(word string) float64 {
	i, err := medium.Lookup(word, medium.US)
	if err != nil {
		return 0
	}
	y, err := i.Yield(i.Purity)
	if err != nil {
		return 0
	}
	var none medium.Metals
	return medium.Elements(&y.Totals, &none)[medium.Nitrogen] * medium.Nitrogen.MolarMass()
}

func (b *benchAsk) feedFields() (main, more []mixField) {
	w := b.w
	v := b.vessel()
	main = []mixField{b.vesselField(), b.text("dry", "mix.dry", "g", b.offeredDry(), w.T("mix.dry_hint")), b.nitrogenField()}
	low, temp, standing, given, smell := 0.0, 28.0, 0.0, 0.0, false
	if v != nil {
		low, standing, given, smell = v.Volume.Low, v.ReducedMgL, v.ReducedDayMgL, v.Ammonia
		if v.Temp.Mid > 0 {
			temp = v.Temp.Mid
		}
	}
	more = []mixField{
		b.text("volume", "mix.volume_low", w.UnitOf("volume_l"), b.shown("volume_l", roundTo(low, 3)), w.T("mix.volume_low_hint")),
		b.text("temp", "mix.temp_now", w.UnitOf("temp_c"), b.shown("temp_c", roundTo(temp, 3)), ""),
		b.choice("ammonia_smell", "mix.smell", "calc.", yes(smell), "no", "yes"),
		b.text("standing_urea_mg_per_l", "mix.standing", "mg/L", b.shown("x_mg_per_l", roundTo(standing, 2)), w.T("mix.standing_hint")),
		b.text("given_today_urea_mg_per_l", "mix.given", "mg/L", b.shown("x_mg_per_l", roundTo(given, 2)), ""),
		b.text("salts", "mix.rest_by", "", "", w.T("mix.rest_hint")),
		b.text("hold_ph", "mix.hold_ph", "", "10.4", ""),
	}
	return main, more
}

func (b *benchAsk) nitrogenField() mixField {
	w := b.w
	f := mixField{Name: "nitrogen", Label: w.T("mix.nitrogen"), Input: "select"}
	chosen, found := b.nitrogen(), false
	add := func(value, label string) {
		f.Options = append(f.Options, option{value, label, value == chosen})
		found = found || value == chosen
	}
	for _, word := range nitrogens {
		if i, err := medium.Lookup(word, medium.US); err == nil {
			add(word, upperFirst(i.Kitchen))
		}
	}
	for _, l := range b.bench.Shelf.Lots {
		if i, err := medium.Lookup(l.Of, medium.US); err == nil && i.Label != nil && nitrogenIn(l.Of) > 0 {
			add(l.Of, upperFirst(i.Kitchen))
		}
	}
	for _, r := range b.bench.Recipes {
		if r.ReadyMix {
			add("ready."+r.ID, w.T("mix.ready_by", "name", b.mediumName(&farm.MediumMix{Recipe: r.ID})))
		}
	}
	if !found {
		add(chosen, chosen)
	}
	return f
}

// feed answers for Feed.
func (b *benchAsk) feed() mixOut {
	w := b.w
	v := b.vessel()
	if v == nil {
		return mixOut{Notes: []string{w.T("mix.no_vessel")}, Links: []navLink{{"/farm/vessel", w.T("setup.new_vessel")}}}
	}
	if id, ok := strings.CutPrefix(b.nitrogen(), "ready."); ok {
		return b.feedReady(v, id)
	}
	dry := b.or("dry", b.offeredDry())
	if dry == "" {
		return mixOut{Notes: []string{w.T("mix.nothing_taken", "name", v.Name)}}
	}
	typed := map[string]string{"dry_g": dry, "nitrogen": b.nitrogen(), "measures": b.measures()}
	for _, name := range []string{"ammonia_smell", "standing_urea_mg_per_l", "given_today_urea_mg_per_l", "hold_ph"} {
		typed[name] = b.get(name)
	}
	_, more := b.feedFields()
	for _, f := range more { // what stands in the form is what is asked, typed or offered
		if _, wanted := typed[f.Name]; wanted && !b.q.Has(f.Name) && f.Input == "text" {
			typed[f.Name] = f.Value
		}
	}
	if !b.q.Has("ammonia_smell") {
		typed["ammonia_smell"] = yes(v.Ammonia)
	}
	if b.or("volume", b.shown("volume_l", roundTo(v.Volume.Low, 3))) != "" {
		litres, err := b.volume("volume", b.shown("volume_l", roundTo(v.Volume.Low, 3)))
		if err != nil {
			return mixOut{Bad: badOf(err)}
		}
		typed["volume_l"] = exactly(litres)
	}
	temp := 28.0
	if v.Temp.Mid > 0 {
		temp = v.Temp.Mid
	}
	temp, err := b.temp(roundTo(temp, 3))
	if err != nil {
		return mixOut{Bad: badOf(err)}
	}
	typed["temp_c"] = exactly(temp)
	if rest := b.get("salts"); rest != "" {
		typed["salts"] = rest
	} else {
		names, _ := json.Marshal(b.restFromShelf())
		typed["salts"] = string(names)
	}
	if v.Medium != nil {
		if _, ok := medium.Find(v.Medium.Recipe); ok && b.farmRecipe(v.Medium.Recipe) == nil {
			typed["recipe"] = v.Medium.Recipe
		}
	}
	var a feedAnswer
	if err := b.ask(b.calcs.feed, typed, &a); err != nil {
		return mixOut{Bad: badOf(err)}
	}
	return b.fed(v, &a, dry)
}

// restFromShelf are the salts for all but nitrogen: of each kind the one that
// stands on the shelf, else the usual one.
func (b *benchAsk) restFromShelf() []string {
	var out []string
	for _, word := range []string{"KH2PO4", "MgSO4.7H2O", "K2SO4", "FeSO4.7H2O"} {
		usual, err := medium.Lookup(word, medium.US)
		if err != nil {
			continue
		}
		pick := usual.ID
		for _, l := range b.bench.Shelf.Lots {
			i, err := medium.Lookup(l.Of, medium.US)
			if err != nil || l.LeftG <= 0 || i.Label != nil || i.Food == medium.NotFood {
				continue
			}
			if i.Step == usual.Step && usual.Step != medium.StepSalt {
				pick = i.ID
				break
			}
		}
		out = append(out, pick)
	}
	return out
}

// fed lays the answer out: what is given today, and what the rest waits for.
func (b *benchAsk) fed(v *keeper.BenchVessel, a *feedAnswer, dry string) mixOut {
	w := b.w
	out := mixOut{Given: a.Assumptions, Sources: a.Sources}
	out.Title = w.T("mix.feed_title", "name", v.Name)
	out.Lead = w.T("mix.feed_lead", "dry", dry)
	st := mixStage{No: "1", Text: w.T("mix.feed_do")}
	salts, of := map[string]float64{}, map[string]float64{}
	var names []string
	for i, d := range a.Doses {
		names = append(names, d.Name)
		if d.DayG <= 0 {
			continue // blocked; said below
		}
		value, unit := grams(w, d.DayG)
		row := mixRow{Amount: value, Unit: unit, Name: upperFirst(d.Name), Tick: "in." + strconv.Itoa(i)}
		small := []string{pretty(d.Kitchen), pounds(w, d.DayG)}
		if d.Kitchen == "" {
			small[0] = w.T("mix.weigh_it")
		}
		if d.DayG < d.MassG*0.999 {
			all, unit := grams(w, d.MassG)
			small = append(small, w.T("mix.feed_days", "all", all+" "+unit, "days", a.Days))
		}
		row.Small = strings.Join(nonEmpty(small), " · ")
		b.onRow(&row, farm.IngredientOf(d.Name), d.DayG)
		st.Rows = append(st.Rows, row)
		word := d.Formula
		if word == "" {
			word = strings.TrimPrefix(d.Name, "fertiliser ")
		}
		salts[word] += weighs(d.DayG)
		of[farm.IngredientOf(d.Name)] += weighs(d.DayG)
	}
	if len(st.Rows) > 0 {
		out.Stages = []mixStage{st, {No: "2", Text: w.T("mix.feed_after")}}
	}
	if a.Blocked != "" {
		out.Notes = append(out.Notes, a.Blocked)
	}
	out.Gets = append(out.Gets, mixGet{Name: w.T("mix.feed_nitrogen"), Value: w.Rounded(a.NitrogenG, gramStep(a.NitrogenG)), Unit: "g"})
	if a.UreaMgL != nil {
		out.Gets = append(out.Gets, mixGet{Name: w.T("mix.feed_urea"), Value: w.Number("urea_mg_per_l", *a.UreaMgL).Value, Unit: "mg/L"})
	}
	if a.SodaG != nil {
		value, unit := grams(w, *a.SodaG)
		out.Gets = append(out.Gets, mixGet{Name: w.T("mix.feed_soda"), Value: value, Unit: unit, Spread: w.T("mix.feed_soda_small")})
		out.Links = append(out.Links, navLink{"/mix?mode=ph&by=bicarbonate&vessel=" + queryEscape(v.ID) + "&bicarbonate_g=" + exactly(roundTo(*a.SodaG, 3)), w.T("mix.feed_soda_link")})
	}
	t := mixTable{Title: w.T("mix.feed_brings"), Head: []string{"", w.T("mix.feed_share")}}
	for _, name := range sortedKeys(a.Brings) {
		t.Rows = append(t.Rows, []string{w.T("element." + name), w.Rounded(a.Brings[name], 1) + " %"})
	}
	out.Tables = append(out.Tables, t, b.metals(a))
	out.Care, out.More = careOf(w, names, a.Cautions)
	if len(salts) > 0 {
		body := map[string]any{"salts_g": salts}
		if taken := b.taken(of); len(taken) > 0 {
			body["supplies_g"] = taken
		}
		out.Record = b.form("fed", v.ID, body)
		out.PDF = "/mix/sheet.pdf?" + b.back()
	}
	return out
}

// metals is the worst that the salts and the water could bring.
func (b *benchAsk) metals(a *feedAnswer) mixTable {
	w := b.w
	limits := medium.ProductLimits()
	t := mixTable{Title: w.T("mix.metals"), Head: []string{"", w.T("mix.metals_worst"), w.T("mix.metals_limit")}, Caption: w.T("mix.metals_caption")}
	for _, name := range sortedKeys(a.Metals) {
		limit := "–"
		if x, ok := limits[name]; ok {
			limit = w.Number("x_mg_per_kg", x).Value
		}
		t.Rows = append(t.Rows, []string{name, w.Number("x_mg_per_kg", a.Metals[name]).Value, limit})
	}
	return t
}

// feedReady answers for feed by a ready mix whose content is not told: by its
// seller's dose, capped.
func (b *benchAsk) feedReady(v *keeper.BenchVessel, id string) mixOut {
	w := b.w
	r := b.farmRecipe(id)
	if r == nil || !r.ReadyMix {
		return mixOut{Bad: badOf(&farm.Error{Code: farm.NotFound, Field: "nitrogen", Message: "recipe \"" + clip(id) + "\" is no ready mix"})}
	}
	litres, err := b.volume("volume", b.shown("volume_l", roundTo(v.Volume.Low, 3)))
	if err != nil {
		return mixOut{Bad: badOf(err)}
	}
	var a mixAnswer
	if err := b.ask(b.calcs.mix, map[string]string{"volume_l": exactly(litres), "ready_mix_g_per_l": exactly(r.GPerL)}, &a); err != nil {
		return mixOut{Bad: badOf(err)}
	}
	out := mixOut{Title: w.T("mix.feed_title", "name", v.Name), Given: a.Assumptions, Sources: a.Sources, Care: a.Cautions, Lead: w.T("mix.feed_ready_lead")}
	b.guess(&out, &a)
	if v.Ammonia || a.DayG == nil {
		out.Notes = []string{w.T("mix.feed_ready_smell")}
		return out
	}
	g := weighs(*a.DayG)
	value, unit := grams(w, g)
	row := mixRow{Amount: value, Unit: unit, Name: b.mediumName(&farm.MediumMix{Recipe: id}), Small: w.T("mix.feed_ready_most"), Tick: "in.ready"}
	b.onRow(&row, id, g)
	out.Stages = []mixStage{{No: "1", Text: w.T("mix.feed_do"), Rows: []mixRow{row}}, {No: "2", Text: w.T("mix.feed_after")}}
	body := map[string]any{"ready_mix": id, "ready_mix_g": g}
	if taken := b.taken(map[string]float64{id: g}); len(taken) > 0 {
		body["supplies_g"] = taken
	}
	out.Record = b.form("fed", v.ID, body)
	return out
}
