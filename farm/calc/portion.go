package calc

import (
	"fmt"
	"math"
	"strings"

	"sodalake/science/assay"
	"sodalake/science/process"
)

type portionIn struct {
	PortionG  float64 `json:"portion_g" label:"Dry product in a day" unit:"g" min:"0.1" max:"200" default:"3"`
	BodyKg    float64 `json:"body_kg" label:"Body weight" unit:"kg" min:"2" max:"400" default:"60"`
	Label     string  `json:"label" label:"Label by the rules of" choices:"eu|us" default:"eu"`
	Place     string  `json:"limits" label:"Limits of" choices:"farm|eu|us|fr|cn" default:"farm"`
	Mcyst     string  `json:"microcystin,omitempty" label:"Microcystin, as the laboratory wrote it" help:"<0.05 µg/g"`
	Lead      string  `json:"lead,omitempty" label:"Lead" help:"0.32 mg/kg"`
	Cadmium   string  `json:"cadmium,omitempty" label:"Cadmium"`
	Mercury   string  `json:"mercury,omitempty" label:"Mercury"`
	Arsenic   string  `json:"arsenic,omitempty" label:"Arsenic"`
	BaP       string  `json:"benzo_a_pyrene,omitempty" label:"Benzo(a)pyrene" help:"where smoke can reach the dryer"`
	Aerobic   string  `json:"aerobic_count,omitempty" label:"Aerobic count" help:"1200 cfu/g"`
	Yeasts    string  `json:"yeasts_and_moulds,omitempty" label:"Yeasts and moulds"`
	Coliforms string  `json:"coliforms,omitempty" label:"Coliforms"`
	EColi     string  `json:"e_coli,omitempty" label:"E. coli" help:"absent in 10 g"`
	SAureus   string  `json:"s_aureus,omitempty" label:"S. aureus"`
	Salm      string  `json:"salmonella,omitempty" label:"Salmonella" help:"absent in 25 g"`
	BCereus   string  `json:"b_cereus,omitempty" label:"B. cereus"`
	Moisture  string  `json:"moisture,omitempty" label:"Water in the product" help:"6.2 %"`
}

type checkRow struct {
	What    string `json:"what" label:"check"`
	Result  string `json:"result" label:"result"`
	Limit   string `json:"limit" label:"limit"`
	Verdict string `json:"verdict" label:"verdict:"`
	Why     string `json:"why,omitempty" label:"because"`
	Source  string `json:"source" label:"by"`
}

type dailyRow struct {
	What     string   `json:"what" label:"of"`
	Place    string   `json:"place" label:"by"`
	UgPerDay float64  `json:"in_portion_ug" label:"the portion brings" unit:"µg"`
	Below    string   `json:"of_a_result_that_is,omitempty" label:"which is"`
	LimitUg  float64  `json:"limit_ug_per_d" label:"a day's limit" unit:"µg"`
	Verdict  string   `json:"verdict" label:"verdict:"`
	MostG    *float64 `json:"most_g" label:"most in a day" unit:"g"`
}

type nutrientRow struct {
	What  string   `json:"what" label:"of"`
	Unit  string   `json:"unit" label:"in"`
	Low   float64  `json:"low" label:"from"`
	Mid   float64  `json:"in_portion" label:"about"`
	High  float64  `json:"high" label:"to"`
	Daily *float64 `json:"daily_pct,omitempty" label:"of a day's reference" unit:"%"`
}

type labelRow struct {
	What string  `json:"what" label:"of"`
	Unit string  `json:"unit" label:"in"`
	Less string  `json:"sign,omitempty" label:"the label says"`
	Says float64 `json:"says" label:"the amount"`
}

type portionOut struct {
	ToxinLimit   float64       `json:"microcystin_limit_ug_per_g" label:"Microcystin that this portion and body bear" unit:"µg/g"`
	MostG        *float64      `json:"most_g_per_d,omitempty" label:"Largest portion by what was measured" unit:"g"`
	BoundBy      string        `json:"bound_by,omitempty" label:"which is bound by"`
	Checks       []checkRow    `json:"checks" label:"Checks" kind:"rows"`
	Daily        []dailyRow    `json:"daily" label:"Metals by the day" kind:"rows"`
	EnergyEUKJ   float64       `json:"energy_eu_kj_per_100g" label:"Energy in 100 g, European Union" unit:"kJ"`
	EnergyEU     float64       `json:"energy_eu_kcal_per_100g" label:"and" unit:"kcal"`
	EnergyUS     float64       `json:"energy_us_kcal_per_100g" label:"United States, 4-4-9" unit:"kcal"`
	EnergySpec   float64       `json:"energy_specific_kcal_per_100g" label:"by factors for algae" unit:"kcal"`
	Nutrients    []nutrientRow `json:"nutrients" label:"Nutrients in the portion, with their spread" kind:"rows"`
	LabelOf      string        `json:"label_of" label:"Label amounts are of"`
	LabelRows    []labelRow    `json:"label" label:"Label" kind:"rows"`
	PurinesMg    float64       `json:"purines_mg" label:"Purines" unit:"mg"`
	PheExchanges float64       `json:"phenylalanine_exchanges" label:"Phenylalanine, in exchanges of 50 mg"`
	Told
}

// whysOfVerdicts says each reason of a verdict.
var whysOfVerdicts = map[assay.Why]string{
	assay.WithinLimit:   "within the limit",
	assay.OverLimit:     "over the limit",
	assay.SpreadReaches: "its uncertainty reaches over the limit: ask the laboratory",
	assay.DetectionHigh: "the laboratory cannot see as little as the limit: ask for a finer method",
	assay.OpenAbove:     "only known to be above something",
	assay.LittleLooked:  "less was looked at than the limit asks for",
	assay.AbsentEnough:  "absent in the portion asked for",
	assay.WasFound:      "found where absence is asked for",
	assay.OtherMeasure:  "result and limit measure different things",
}

// Portion is the calculator of a portion.
func Portion() *Calculator {
	return Define(About{
		Name: "portion", Title: "A portion",
		Sentence: "What a portion brings, what laboratory results say against dated limits, and the largest portion that they bear for a body weight.",
		Equations: []string{
			"toxin limit = 0.04 µg/kg/d x body weight / portion",
			"most = 0.04 x body weight / content; by a metal: limit of the day / content",
			"energy: 17/17/37/8 kJ (EU, carbohydrate without fibre), 4-4-9 kcal (US), 2.44/3.57/8.37 kcal (factors for algae): never turned into one another",
			"label: rounded by the jurisdiction's rules; salt = 2.5 x sodium",
		},
		Sources: []Source{
			{"usdasr28", "US Department of Agriculture 2015, standard reference 28, item 11667 (composition)"},
			{"who1998", "World Health Organization 1998 (0.04 µg/kg/d), after ANSES opinion 2014-SA-0096"},
			{"eu2023", "Regulation (EU) 2023/915 (metals)"},
			{"eu1169", "Regulation (EU) No 1169/2011 and the guidance of December 2012 (energy, rounding)"},
			{"cfr1019", "21 CFR 101.9 (energy, rounding, daily values from memory)"},
			{"usp2232", "USP <2232> (metals by day, from memory)"},
			{"", "spreads of nutrients, defaults of the farm's plan: judgement, no source"},
		},
		Cautions: []string{
			"Each line is one check that passed, failed or is missing. None says that a lot may be eaten: a person releases it.",
			"Not for infants. With phenylketonuria, gout, allergy, an autoimmune illness or drugs against rejection, iron overload, in pregnancy, or on anticoagulants (vitamin K): ask a physician. Begin with a pinch, not alone: a first spoonful can be the first allergy.",
			"No vitamin B12 is claimed: what assays find in spirulina is mostly a form that people cannot use.",
			"Laboratory tests before selling; food law, labels and inspection are local: ask the authority and licensed practice.",
		},
		Example: `{"portion_g":3,"body_kg":60,"microcystin":"<0.05 µg/g","lead":"0.32 mg/kg"}`,
	}, computePortion)
}

func computePortion(in portionIn) (portionOut, error) {
	out := portionOut{Checks: []checkRow{}, Daily: []dailyRow{}}
	out.ToxinLimit = process.ToxinLimit(assay.ToxinTDI, in.BodyKg, in.PortionG)
	kj, eu := process.Energy(process.MacrosPer100, process.EU)
	_, us := process.Energy(process.MacrosPer100, process.US)
	_, specific := process.Energy(process.MacrosPer100, process.Specific)
	out.EnergyEUKJ, out.EnergyEU, out.EnergyUS, out.EnergySpec = kj, eu, us, specific
	out.PurinesMg = process.Purines * in.PortionG / 100
	phe, _ := process.NutrientOf("phenylalanine_g")
	_, pheG, _ := phe.In(in.PortionG)
	out.PheExchanges = pheG / process.Exchange
	if err := out.checks(in); err != nil {
		return out, err
	}
	out.nutrients(in)
	out.label(in)
	if in.PortionG > process.MostPortion {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Over %s g a day is more than is suggested here.", Digits(process.MostPortion)))
	}
	out.Assumptions = append(out.Assumptions,
		"composition of one published dried product; one's own analysis replaces it",
		"toxin as microcystin-LR; nothing else that the person eats or drinks brings any")
	return out, nil
}

func (in *portionIn) results() []struct{ key, analyte, text string } {
	return []struct{ key, analyte, text string }{
		{"microcystin", assay.Microcystin, in.Mcyst}, {"lead", assay.Lead, in.Lead}, {"cadmium", assay.Cadmium, in.Cadmium}, {"mercury", assay.Mercury, in.Mercury},
		{"arsenic", assay.Arsenic, in.Arsenic}, {"benzo_a_pyrene", assay.BaP, in.BaP}, {"aerobic_count", assay.AerobicFlora, in.Aerobic}, {"yeasts_and_moulds", assay.Yeasts, in.Yeasts},
		{"coliforms", assay.Coliforms, in.Coliforms}, {"e_coli", assay.EColi, in.EColi}, {"s_aureus", assay.SAureus, in.SAureus}, {"salmonella", assay.Salmonella, in.Salm},
		{"b_cereus", assay.BCereus, in.BCereus}, {"moisture", assay.Moisture, in.Moisture},
	}
}

// checks holds each result against its limits and bounds the portion by it.
func (out *portionOut) checks(in portionIn) error {
	bound := func(most float64, by string) {
		if !math.IsNaN(most) && (out.MostG == nil || most < *out.MostG) {
			out.MostG, out.BoundBy = finite(most), by
		}
	}
	for _, r := range in.results() {
		if r.text == "" {
			if len(assay.LimitsOf(in.Place, r.analyte)) > 0 {
				out.Checks = append(out.Checks, checkRow{What: r.analyte, Result: "none", Limit: limitWords(assay.LimitsOf(in.Place, r.analyte)[0]), Verdict: string(assay.Missing), Source: in.Place})
			}
			continue
		}
		res, err := assay.ParseResult(r.text)
		if err != nil {
			return renamed(fromAssay(err), "result", r.key)
		}
		for _, l := range assay.LimitsOf(in.Place, r.analyte) {
			v, why := assay.Judge(res, l)
			source := l.Place + ", " + string(l.Standing) + ", " + l.Of
			if l.Since != "" {
				source += ", " + l.Since
			}
			out.Checks = append(out.Checks, checkRow{What: r.analyte, Result: r.text, Limit: limitWords(l), Verdict: string(v), Why: whysOfVerdicts[why], Source: source + " (" + l.Source + ")"})
		}
		if res.Measure != assay.MassShare {
			continue
		}
		content := res.Value + res.Spread // a result below detection counts as its limit
		if r.analyte == assay.Microcystin {
			verdict := assay.Passed
			switch {
			case res.Op == assay.Above, res.Op == assay.Equal && res.Value > out.ToxinLimit:
				verdict = assay.Failed
			case content > out.ToxinLimit:
				verdict = assay.Missing
			}
			out.Checks = append(out.Checks, checkRow{What: "microcystin for this portion and body", Result: r.text, Limit: fmt.Sprintf("%s µg/g", Digits(out.ToxinLimit)), Verdict: string(verdict), Source: "who1998"})
			if res.Op != assay.Above {
				bound(process.MostByToxin(assay.ToxinTDI, in.BodyKg, content), "microcystin")
			}
		}
		for _, d := range assay.DailyLimits() {
			if d.Analyte != r.analyte {
				continue
			}
			brings := process.MetalInPortion(content, in.PortionG)
			verdict := assay.Passed
			switch {
			case res.Op == assay.Above, res.Op == assay.Equal && process.MetalInPortion(res.Value, in.PortionG) > d.UgPerDay:
				verdict = assay.Failed
			case brings > d.UgPerDay:
				verdict = assay.Missing
			}
			most := process.MostByMetal(d.UgPerDay, content)
			out.Daily = append(out.Daily, dailyRow{What: r.analyte, Place: d.Place, UgPerDay: brings, Below: belowWord(res), LimitUg: d.UgPerDay, Verdict: string(verdict), MostG: finite(most)})
			if res.Op != assay.Above {
				bound(most, r.analyte+" by "+d.Place)
			}
		}
	}
	if out.MostG != nil && *out.MostG > process.MostPortion {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Results that leave room are no invitation: over %s g a day is not suggested, and nothing is bounded that was not measured.", Digits(process.MostPortion)))
	}
	if out.MostG == nil {
		out.Cautions = append(out.Cautions, "No result bounds the portion: toxin and metals are missing.")
	}
	return nil
}

func limitWords(l assay.Limit) string {
	if l.AbsentG > 0 {
		return fmt.Sprintf("absent in %g g", l.AbsentG)
	}
	switch {
	case l.Measure == assay.PerGram:
		return fmt.Sprintf("%.0f in a gram", l.Max)
	case l.Max >= 1e4:
		return fmt.Sprintf("%g %%", l.Max/1e4)
	}
	return fmt.Sprintf("%g %s", l.Max, l.Measure)
}

func belowWord(r assay.Result) string {
	if r.Op == assay.Below {
		return "at most: the result lies below detection"
	}
	return ""
}

// nameAndUnit takes a key apart: vitamin_k_ug is vitamin k in µg.
func nameAndUnit(key string) (name, unit string) {
	i := strings.LastIndexByte(key, '_')
	name, unit = strings.ReplaceAll(key[:i], "_", " "), key[i+1:]
	switch unit {
	case "ug":
		unit = "µg"
	case "kj":
		unit = "kJ"
	}
	return name, unit
}

// threeFigures rounds what carries so wide a spread.
func threeFigures(x float64) float64 {
	if x == 0 {
		return 0
	}
	p := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(x))))
	return math.Round(x*p) / p
}

func (out *portionOut) nutrients(in portionIn) {
	daily := map[string]float64{}
	for _, d := range process.Dailies(process.Convention(in.Label)) {
		daily[d.Key] = d.Amount
	}
	for _, n := range process.Nutrients() {
		low, mid, high := n.In(in.PortionG)
		what, unit := nameAndUnit(n.Key)
		row := nutrientRow{What: what, Unit: unit, Low: threeFigures(low), Mid: threeFigures(mid), High: threeFigures(high)}
		if d := daily[n.Key]; d > 0 {
			row.Daily = finite(threeFigures(100 * mid / d))
		}
		out.Nutrients = append(out.Nutrients, row)
	}
}

// label rounds what a label shows: of a portion in the United States, of 100 g in
// the European Union.
func (out *portionOut) label(in portionIn) {
	by := process.Convention(in.Label)
	g := 100.0
	out.LabelOf = "100 g"
	if by == process.US {
		g = in.PortionG
		out.LabelOf = fmt.Sprintf("a portion of %s g", Digits(g))
	}
	amount := func(key string) float64 {
		n, _ := process.NutrientOf(key)
		_, mid, _ := n.In(g)
		return mid
	}
	add := func(key string, x float64) {
		if d, ok := process.Declare(by, key, x); ok {
			what, unit := nameAndUnit(key)
			row := labelRow{What: what, Unit: unit, Says: d.Value}
			if d.Less {
				row.Less = "less than"
			}
			out.LabelRows = append(out.LabelRows, row)
		}
	}
	if by == process.EU {
		add("energy_kj", out.EnergyEUKJ)
		add("energy_kcal", out.EnergyEU)
	} else {
		add("energy_kcal", out.EnergyUS*g/100)
	}
	add("fat_g", amount("fat_g"))
	add("saturated_g", amount("saturated_g"))
	if by == process.EU {
		add("carbohydrate_g", amount("carbohydrate_g")-amount("fibre_g"))
	} else {
		add("cholesterol_mg", amount("cholesterol_mg"))
		add("sodium_mg", amount("sodium_mg"))
		add("carbohydrate_g", amount("carbohydrate_g"))
	}
	add("fibre_g", amount("fibre_g"))
	add("sugars_g", amount("sugars_g"))
	add("protein_g", amount("protein_g"))
	if by == process.EU {
		add("salt_g", process.SaltOfSodium(amount("sodium_mg")/1000))
	}
}
