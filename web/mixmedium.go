package web

import (
	"encoding/json"
	"html/template"
	"math"
	"net/url"
	"regexp"
	"strings"

	"sodalake/farm"
	"sodalake/science/medium"
	"sodalake/science/num"
	"sodalake/web/draw"
	"sodalake/words"
)

// mixAnswer is what the calculator mix answers, by its public names.
type mixAnswer struct {
	Amounts []struct {
		Name    string   `json:"name"`
		Formula string   `json:"formula"`
		MassG   float64  `json:"mass_g"`
		Kitchen string   `json:"kitchen"`
		Stock   string   `json:"stock"`
		Cost    *float64 `json:"cost"`
	} `json:"amounts"`
	Steps []struct {
		Do   string `json:"do"`
		What string `json:"what"`
	} `json:"steps"`
	CostTotal  *float64 `json:"cost_total"`
	CostPerL   *float64 `json:"cost_per_l"`
	WorstPct   float64  `json:"kitchen_worst_pct"`
	WorstOf    string   `json:"kitchen_worst_of"`
	PH25       *float64 `json:"ph_25c"`
	PHOpen     *float64 `json:"ph_open_25c"`
	MS         *float64 `json:"conductivity_ms_per_cm_25c"`
	SaltGPerL  *float64 `json:"dissolved_g_per_l"`
	SodiumGL   *float64 `json:"sodium_g_per_l"`
	UreaMgL    *float64 `json:"reduced_nitrogen_as_urea_mg_per_l"`
	NH3        *float64 `json:"free_nh3_mm"`
	NH3Pond    *float64 `json:"free_nh3_pond_mm"`
	Carbon     *float64 `json:"carbon_carries_g_per_l"`
	CarbonOpen *float64 `json:"carbon_carries_open_g_per_l"`
	DaysLow    *float64 `json:"carbon_days_low"`
	Days       *float64 `json:"carbon_days"`
	DaysHigh   *float64 `json:"carbon_days_high"`
	Standing   []struct {
		Days float64 `json:"days"`
		Low  float64 `json:"ph_25c_low"`
		Mid  float64 `json:"ph_25c"`
		High float64 `json:"ph_25c_high"`
	} `json:"standing"`
	FallsOut []struct {
		Mineral string  `json:"mineral"`
		Certain bool    `json:"certain"`
		Now     float64 `json:"now_mg_per_l"`
		Pond    float64 `json:"pond_mg_per_l"`
	} `json:"falls_out"`
	Carries map[string]float64 `json:"carries_g_per_l"`
	Guess   []struct {
		What string  `json:"what"`
		Unit string  `json:"unit"`
		Low  float64 `json:"low"`
		Mid  float64 `json:"mid"`
		High float64 `json:"high"`
	} `json:"guess"`
	DayG        *float64 `json:"ready_mix_most_a_day_g"`
	StandingG   *float64 `json:"ready_mix_most_standing_g"`
	Assumptions []string `json:"assumptions"`
	Cautions    []string `json:"cautions"`
	Sources     []string `json:"sources"`
}

// recipe is the recipe that was chosen, or the one to begin with: what the
// vessel was filled with, the farm's first, or a published one. It is
// "farm.ID", "pub.NAME", "own" or "ready".
func (b *benchAsk) recipe() string {
	if r := b.get("recipe"); r != "" {
		return r
	}
	if v := b.vessel(); v != nil && v.Medium != nil && v.Medium.Recipe != "" {
		if b.farmRecipe(v.Medium.Recipe) != nil {
			return "farm." + v.Medium.Recipe
		}
		if _, ok := medium.Find(v.Medium.Recipe); ok {
			return "pub." + v.Medium.Recipe
		}
	}
	for _, r := range b.bench.Recipes {
		if r.Use != "feed" {
			return "farm." + r.ID
		}
	}
	return "pub.bicarbonate-farm"
}

func (b *benchAsk) farmRecipe(id string) *farm.Recipe {
	for i := range b.bench.Recipes {
		if b.bench.Recipes[i].ID == id {
			return &b.bench.Recipes[i]
		}
	}
	return nil
}

// offeredVolume is how much the form offers [L]: what a vessel lacks, or a
// bucket.
func (b *benchAsk) offeredVolume() string {
	if b.mode == "top" {
		if v := b.vessel(); v != nil && v.MissingL.Mid > 0 {
			// The low end: what is surely missing.
			return b.shown("volume_l", roundTo(v.MissingL.Low, 2))
		}
		return ""
	}
	if b.w.Measures() == words.US {
		return "5"
	}
	return "20"
}

// mediumFields are the inputs of Medium and of Top-up.
func (b *benchAsk) mediumFields() (main, more []mixField) {
	w := b.w
	main = append(main, b.text("volume", "mix.volume", w.UnitOf("volume_l"), b.offeredVolume(), ""))
	if b.mode == "top" {
		main = append(main, b.vesselField(), b.withField())
		if b.with() != "medium" {
			return append(main, b.waterField()), nil
		}
	}
	main = append(main, b.recipeField(), b.waterField())
	own := mixField{Name: "salts", Label: w.T("mix.own_salts"), Value: b.get("salts"), Input: "area", Wide: true, Class: "m-own", Help: w.T("mix.own_hint")}
	main = append(main, own)
	for _, f := range []mixField{
		b.text("ready_mix_g_per_l", "mix.ready_g", "g/L", "", w.T("mix.ready_hint")), b.text("ready_mix_ph", "mix.ready_ph", "", "", ""),
		b.choice("ready_mix_strip", "mix.read_with", "mix.read_with_", "no", "no", "yes"), b.text("ready_mix_ms_per_cm", "mix.ready_ms", "mS/cm", "", ""),
	} {
		f.Class = "m-ready"
		main = append(main, f)
	}
	law := "eu"
	if w.Measures() == words.US {
		law = "us"
	}
	more = []mixField{
		b.text("water_hardness_mg_per_l", "mix.hardness", "mg/L", "", w.T("mix.hardness_hint")),
		b.choice("method", "mix.method", "mix.method_", "recipe", "recipe", "closest", "cheapest", "fewest"),
		b.text("carry_g_per_l", "mix.carry", "g/L", "", w.T("mix.carry_hint")),
		b.text("temp", "mix.temp", w.UnitOf("temp_c"), b.shown("temp_c", 25), ""),
		b.text("depth", "mix.depth", "cm", b.offeredDepth(), ""),
		b.choice("stirred", "mix.stirred", "calc.", "yes", "yes", "no"),
		b.text("yield_g_per_m2_d", "mix.yield", w.UnitOf("yield_g_per_m2_d"), "5", ""),
		b.choice("for_food", "setup.food", "calc.", yes(b.food()), "yes", "no"),
		b.choice("law", "mix.law", "mix.law_", law, "us", "ca", "eu", "uk", "au"),
	}
	return main, more
}

// food says whether the vessel, or any of the farm, is grown to be eaten.
func (b *benchAsk) food() bool {
	if v := b.vessel(); v != nil && b.mode != "medium" {
		return v.Food
	}
	return true
}

func (b *benchAsk) offeredDepth() string {
	if v := b.vessel(); v != nil && b.mode == "top" && v.DepthCM > 0 {
		return b.shown("depth_cm", math.Round(v.DepthCM))
	}
	return "15"
}

func (b *benchAsk) recipeField() mixField {
	w := b.w
	chosen := b.recipe()
	f := mixField{Name: "recipe", Label: w.T("mix.recipe"), Input: "select"}
	var own, published optionGroup
	own.Label, published.Label = w.T("mix.recipes_own"), w.T("mix.recipes_published")
	for _, r := range b.bench.Recipes {
		if r.Use == "feed" {
			continue
		}
		v, name := "farm."+r.ID, r.Name
		if name == "" {
			name = r.ID
		}
		own.Options = append(own.Options, option{v, name, v == chosen})
	}
	for _, r := range medium.Recipes() {
		v := "pub." + r.Name
		published.Options = append(published.Options, option{v, r.Title, v == chosen})
	}
	if len(own.Options) > 0 {
		f.Groups = append(f.Groups, own)
	}
	f.Groups = append(f.Groups, published, optionGroup{w.T("mix.recipes_other"), []option{
		{"own", w.T("mix.recipe_own"), chosen == "own"}, {"ready", w.T("mix.recipe_ready"), chosen == "ready"},
	}})
	return f
}

func (b *benchAsk) waterField() mixField {
	f := mixField{Name: "water", Label: b.w.T("mix.water"), Input: "select", Wide: true}
	chosen := b.water()
	f.Options = []option{{"", b.w.T("mix.water_none"), chosen == nil}}
	for _, x := range b.bench.Waters {
		name := x.Name
		if name == "" {
			name = x.ID
		}
		f.Options = append(f.Options, option{x.ID, name, chosen != nil && x.ID == chosen.ID})
	}
	return f
}

// water is the source water that was chosen, at first the farm's first.
func (b *benchAsk) water() *farm.Water {
	id := b.get("water")
	for i := range b.bench.Waters {
		if x := &b.bench.Waters[i]; x.ID == id || !b.q.Has("water") {
			return x
		}
	}
	return nil
}

// mediumTyped is what the calculator is asked for a volume [L].
func (b *benchAsk) mediumTyped(litres float64) (map[string]string, error) {
	typed := map[string]string{"volume_l": exactly(litres), "measures": b.measures()}
	for _, name := range []string{"method", "law", "for_food", "stirred", "yield_g_per_m2_d", "carry_g_per_l", "water_hardness_mg_per_l"} {
		typed[name] = b.get(name)
	}
	if typed["for_food"] == "" {
		typed["for_food"] = yes(b.food())
	}
	typed["depth_cm"] = b.or("depth", b.offeredDepth())
	temp, err := b.temp(25)
	if err != nil {
		return nil, err
	}
	typed["temp_c"] = exactly(temp)
	if x := b.water(); x != nil && typed["water_hardness_mg_per_l"] == "" {
		for _, key := range []string{"hardness_mg_per_l", "alkalinity_meq_per_l", "calcium_mg_per_l", "magnesium_mg_per_l", "sodium_mg_per_l", "chloride_mg_per_l", "sulfate_mg_per_l", "nitrate_mg_per_l"} {
			if v, ok := x.Analysis[key]; ok {
				typed["water_"+key] = exactly(v)
			}
		}
	}
	if err := b.recipeTyped(typed, litres); err != nil {
		return nil, err
	}
	if typed["ready_mix_g_per_l"] != "" {
		return typed, nil
	}
	price, bulk := b.prices()
	typed["price_per_kg"], typed["bulk_g_per_l"] = object(price), object(bulk)
	if m := typed["method"]; m != "" && m != "recipe" {
		b.shelfTyped(typed)
	} else {
		typed["carry_g_per_l"] = ""
	}
	return typed, nil
}

// recipeTyped says what is to be made.
func (b *benchAsk) recipeTyped(typed map[string]string, litres float64) error {
	recipe := b.recipe()
	switch {
	case recipe == "own":
		// Between two lines of names a comma in a number is its decimal mark.
		if typed["salts_g_per_l"] = decimalComma.ReplaceAllString(b.get("salts"), "$1.$2"); typed["salts_g_per_l"] == "" {
			return invalid("salts", b.w.T("mix.own_hint"), "%s", b.w.T("mix.own_empty"))
		}
	case recipe == "ready":
		if b.get("ready_mix_g_per_l") == "" {
			return invalid("ready_mix_g_per_l", b.w.T("mix.ready_hint"), "%s", b.w.T("mix.ready_empty"))
		}
		b.readyTyped(typed, b.get("ready_mix_g_per_l"))
	case strings.HasPrefix(recipe, "farm."):
		r := b.farmRecipe(strings.TrimPrefix(recipe, "farm."))
		switch {
		case r == nil:
			return &farm.Error{Code: farm.NotFound, Field: "recipe", Message: "recipe \"" + clip(recipe) + "\" does not exist"}
		case r.ReadyMix:
			b.readyTyped(typed, exactly(r.GPerL))
		default:
			for word, g := range r.SaltsGPerL {
				b.stock(farm.IngredientOf(word), g*litres)
			}
			typed["salts_g_per_l"] = object(r.SaltsGPerL)
		}
	default:
		name := strings.TrimPrefix(recipe, "pub.")
		typed["recipe"] = name
		r, ok := medium.Find(name)
		if !ok || typed["method"] != "" && typed["method"] != "recipe" {
			break
		}
		purity := map[string]float64{}
		for word, g := range r.Weighed() {
			of := farm.IngredientOf(word)
			if l, _ := b.stock(of, g*litres); l != nil && l.PurityPct > 0 {
				purity[of] = l.PurityPct
			}
		}
		typed["purity_pct"] = object(purity)
	}
	return nil
}

var decimalComma = regexp.MustCompile(`(\d),(\d)`)

func (b *benchAsk) readyTyped(typed map[string]string, gPerL string) {
	for _, name := range []string{"method", "carry_g_per_l"} {
		typed[name] = ""
	}
	typed["ready_mix_g_per_l"] = gPerL
	for _, name := range []string{"ready_mix_ph", "ready_mix_ms_per_cm", "ready_mix_strip"} {
		typed[name] = b.get(name)
	}
}

// shelfTyped says what stands on the shelf.
func (b *benchAsk) shelfTyped(typed map[string]string) {
	stock := map[string]float64{}
	for _, l := range b.bench.Shelf.Lots {
		i, err := medium.Lookup(l.Of, medium.US)
		if err != nil || l.LeftG <= 0 || i.Step == medium.StepAlkali || i.Step == medium.StepDechlorinate || i.Food == medium.NotFood {
			continue
		}
		stock[l.Of] += l.LeftG
	}
	names, _ := json.Marshal(sortedKeys(stock))
	typed["shelf"], typed["stock_g"] = string(names), object(stock)
}

// object is a map as the calculators read it; empty for none.
func object(m map[string]float64) string {
	if len(m) == 0 {
		return ""
	}
	raw, err := json.Marshal(m)
	if err != nil {
		return ""
	}
	return string(raw)
}

// medium answers for Medium and for Top-up.
func (b *benchAsk) medium() mixOut {
	if b.mode == "top" {
		if out, done := b.topWithout(); done {
			return out
		}
	}
	litres, err := b.volume("volume", b.offeredVolume())
	if err != nil {
		return mixOut{Bad: badOf(err)}
	}
	typed, err := b.mediumTyped(litres)
	if err != nil {
		return mixOut{Bad: badOf(err)}
	}
	var a mixAnswer
	if err := b.ask(b.calcs.mix, typed, &a); err != nil {
		return mixOut{Bad: badOf(err)}
	}
	out := mixOut{Given: a.Assumptions, Sources: a.Sources}
	of := "mix.of"
	if m := typed["method"]; m != "" && m != "recipe" {
		of = "mix.of_like" // from the shelf, it is no longer the recipe itself
	}
	out.Title = b.w.T(of, "volume", b.w.Number("volume_l", litres).Plain(), "recipe", b.recipeName())
	b.stages(&out, &a, litres)
	b.gets(&out, &a, litres)
	var names []string
	for _, x := range a.Amounts {
		names = append(names, x.Name)
	}
	out.Care, out.More = careOf(b.w, names, a.Cautions)
	if wait := b.waitFor(&a); wait != "" {
		out.Care = append([]string{wait}, out.Care...)
	}
	b.record(&out, &a, litres)
	out.PDF = "/mix/sheet.pdf?" + b.back()
	return out
}

// recipeName is what the recipe is called in a sentence.
func (b *benchAsk) recipeName() string {
	recipe := b.recipe()
	if r := b.farmRecipe(strings.TrimPrefix(recipe, "farm.")); r != nil && strings.HasPrefix(recipe, "farm.") {
		if r.Name != "" {
			return r.Name
		}
		return r.ID
	}
	if r, ok := medium.Find(strings.TrimPrefix(recipe, "pub.")); ok {
		return r.Title
	}
	if recipe == "ready" {
		return b.w.T("mix.name_ready")
	}
	return b.w.T("mix.name_own")
}

// standing is the curve of the pH while it stands, as the chart and the sentence
// need it.
func (a *mixAnswer) standing() []draw.StandPoint {
	var out []draw.StandPoint
	for _, s := range a.Standing {
		out = append(out, draw.StandPoint{Days: s.Days, Band: num.Band{Low: s.Low, Mid: s.Mid, High: s.High}})
	}
	return out
}

// seedPH is the pH below which other algae find their way into a medium that
// waits for its culture [1]: common practice, no source.
const seedPH = 9

// crosses are the days after which the curve passes a pH, with their spread; NaN
// where it does not.
func crosses(points []draw.StandPoint, ph float64) num.Band {
	at := func(of func(num.Band) float64) float64 {
		for i, p := range points {
			if of(p.Band) < ph {
				continue
			}
			if i == 0 {
				return p.Days
			}
			a, b := of(points[i-1].Band), of(p.Band)
			return points[i-1].Days + (p.Days-points[i-1].Days)*(ph-a)/(b-a)
		}
		return math.NaN()
	}
	return num.Band{
		Low: at(func(b num.Band) float64 { return b.High }), Mid: at(func(b num.Band) float64 { return b.Mid }), High: at(func(b num.Band) float64 { return b.Low }),
	}
}

// waitFor says how long a fresh medium waits for its culture.
func (b *benchAsk) waitFor(a *mixAnswer) string {
	if a.PH25 == nil || *a.PH25 >= seedPH || len(a.Standing) == 0 {
		return ""
	}
	d := crosses(a.standing(), seedPH)
	switch {
	case math.IsNaN(d.Mid):
		return b.w.T("mix.wait_never")
	case math.IsNaN(d.High):
		return b.w.T("mix.wait_about", "days", b.w.Rounded(math.Ceil(d.Mid), 1))
	}
	return b.w.T("mix.wait", "low", b.w.Rounded(math.Floor(d.Low), 1), "high", b.w.Rounded(math.Ceil(d.High), 1))
}

// chart draws the pH while it stands.
func (b *benchAsk) chart(out *mixOut, a *mixAnswer) {
	points := a.standing()
	if len(points) < 2 {
		return
	}
	days := 7.0
	if d := crosses(points, seedPH); d.Mid > 6 && d.Mid < 13 {
		days = 14
	}
	c := draw.Stand{
		Says: b.w.T("mix.chart_says", "from", b.w.Band("ph_25c", about(points[0].Band.Mid)).Value, "days", b.w.Rounded(days, 1)), Width: 328, Height: 130, Days: days, Points: points, Limit: math.NaN(),
		Number: b.w.Rounded, Day: func(n int) string { return b.w.T("mix.day", "n", n) },
	}
	if points[0].Band.Mid < seedPH {
		c.Limit = seedPH
		out.ChartAside = b.w.T("mix.wait_aside")
	}
	out.ChartPhone = template.HTML(c.SVG()) //nolint:gosec // made by draw
	c.Width, c.Height = 400, 150
	out.ChartDesk = template.HTML(c.SVG()) //nolint:gosec // made by draw
}

// calcHref is the address of a calculator with something filled in.
func calcHref(name string, values map[string]string) string {
	q := url.Values{}
	for k, v := range values {
		q.Set(k, v)
	}
	return "/calc/" + name + "?" + q.Encode()
}
