package calc

import (
	"fmt"
	"math"
	"strings"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/units"
)

type feedIn struct {
	DryG           *float64           `json:"dry_g" label:"Harvested, dry" unit:"g" min:"0.01" max:"10000000" help:"this, or paste with its dry share"`
	PasteG         *float64           `json:"paste_g" label:"Harvested, as pressed paste" unit:"g" min:"0.1" max:"100000000"`
	PasteDryPct    float64            `json:"paste_dry_pct" label:"Dry share of the paste" unit:"%" min:"5" max:"40" default:"20"`
	VolumeL        *float64           `json:"volume_l" label:"Volume, its low end" unit:"L" min:"0.05" max:"10000000" help:"urea and ammonium are dosed by the low end"`
	Nitrogen       string             `json:"nitrogen" label:"Nitrogen by" default:"potassium nitrate" help:"potassium nitrate, sodium nitrate, urea, ammonium sulfate, or a label"`
	Salts          []string           `json:"salts" label:"The rest by" help:"else monopotassium phosphate, Epsom salt, potassium sulfate, iron sulfate"`
	TempC          float64            `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"0" max:"50" default:"28"`
	AmmoniaSmell   bool               `json:"ammonia_smell" label:"It smells of ammonia"`
	StandingMgPerL float64            `json:"standing_urea_mg_per_l" label:"Urea and ammonium in it, as urea" unit:"mg/L" min:"0" max:"2000" default:"0"`
	GivenMgPerL    float64            `json:"given_today_urea_mg_per_l" label:"Of that, given in the last 24 h" unit:"mg/L" min:"0" max:"2000" default:"0"`
	HoldPH         float64            `json:"hold_ph" label:"pH to be held at 25 °C" min:"9" max:"11" default:"10.4"`
	Recipe         string             `json:"recipe,omitempty" label:"Mixed as" help:"a published recipe by name; else bicarbonate-farm"`
	SaltGrade      string             `json:"salt_grade" label:"Grade of the salts" choices:"food|fertiliser" default:"food"`
	CdMgPerKgP2O5  *float64           `json:"cd_mg_per_kg_p2o5" label:"Cadmium of the phosphate, by certificate" unit:"mg/kg" min:"0" max:"500" help:"for a kilogram of P2O5"`
	WaterUGPerL    map[string]float64 `json:"water_ug_per_l" label:"Metals of the top-up water" unit:"µg/L" min:"0" max:"100000" help:"As 3, Pb 1"`
	WaterLPerKg    float64            `json:"water_l_per_kg" label:"Water evaporated and renewed for a kilogram dry" unit:"L/kg" min:"0" max:"100000" default:"500"`
	Law            string             `json:"law" label:"Fertiliser labels are by the law of" choices:"us|ca|eu|uk|au" default:"us"`
	Measures       string             `json:"measures" label:"Cups and spoons" choices:"metric|us" default:"metric"`
}

type feedDose struct {
	Name    string  `json:"name" label:"Ingredient"`
	Formula string  `json:"formula" label:"Formula"`
	MassG   float64 `json:"mass_g" label:"In all" unit:"g"`
	Kitchen string  `json:"kitchen" label:"or level"`
	DayG    float64 `json:"most_on_one_day_g" label:"at most on one day" unit:"g"`
}

type feedOut struct {
	Doses          []feedDose         `json:"doses" label:"Give back"`
	Days           int                `json:"days" label:"Urea or ammonium over so many days"`
	DayG           *float64           `json:"today_g,omitempty" label:"Urea or ammonium today, at most" unit:"g"`
	Blocked        string             `json:"blocked" label:"Not now"`
	NitrogenG      float64            `json:"nitrogen_g" label:"Nitrogen that was taken" unit:"g"`
	PhosphorusG    float64            `json:"phosphorus_g" label:"Phosphorus that was taken" unit:"g"`
	BringsPct      map[string]float64 `json:"brings_pct" label:"The doses bring, of what was taken" unit:"%"`
	SodaG          *float64           `json:"soda_to_hold_ph_g,omitempty" label:"Baking soda that would hold that pH, without air" unit:"g"`
	CO2G           *float64           `json:"co2_to_hold_ph_g,omitempty" label:"Carbon dioxide that would hold it, dissolved" unit:"g"`
	SodiumG        *float64           `json:"soda_sodium_g,omitempty" label:"Sodium that this soda leaves" unit:"g"`
	MetalsMgPerKg  map[string]float64 `json:"metals_worst_mg_per_kg" label:"Metals in the product, at the very worst" unit:"mg/kg"`
	MetalsOver     []string           `json:"metals_over" label:"Above the limits of food supplements"`
	WhatIsMissing  []string           `json:"short_of" label:"Not given back by these salts"`
	SodaSharePct   *float64           `json:"carbon_left_share_pct,omitempty" label:"Carbon over alkalinity at that pH" unit:"%"`
	UreaEquivalent *float64           `json:"as_urea_mg_per_l,omitempty" label:"The whole dose as urea" unit:"mg/L"`
	Told
}

// FeedBack is the calculator of what a harvest took.
func FeedBack() *Calculator {
	return Define(About{
		Name: "feed", Title: "Give back what a harvest took",
		Sentence: "Salts for the nitrogen, phosphorus, potassium, magnesium, sulfur and iron of a harvest; urea and ammonium in capped daily doses; what holds the pH; and the worst that the salts could bring.",
		Equations: []string{
			"taken: N 10, P 1.0, S 0.8, K 2.0, Mg 0.33, Fe 0.05 % of dry matter",
			"doses: non-negative least squares on what was taken, Lawson & Hanson 1974",
			"urea and ammonium: at most 33 mg/L a day and 60 mg/L standing, as urea, in the low end of the volume",
			"soda to hold a pH: (C + r a)/(1 - r), r = carbon/alkalinity at that pH, a = +7.0 eq/kg on nitrate, -0.1 on urea",
			"metals at worst: all that the grade allows and the water brings, in one kilogram",
		},
		Sources: []Source{
			{"animals2023", "composition: Animals 2023, 13:1275, table 2, and the formula of Cornet & Dussap 2009 (from memory)"},
			{"sanchezluna2007", "33 mg/L a day: Sánchez-Luna et al. 2007, Biotechnology and Bioengineering 96 (abstract)"},
			{"mendez2012", "60 mg/L standing: growers' practice; Méndez & Uribe 2012, Latin American Journal of Aquatic Research 40(3)"},
			{"wolfgladrow2007", "alkalinity of growth: Wolf-Gladrow et al. 2007, Marine Chemistry 106:287 (from memory)"},
			{"eu2019a", "metals: Regulation (EU) 2019/1009, annex I, Regulation (EU) 231/2012 and (EU) 2023/915 (from memory)"},
		},
		Cautions: []string{
			"After feeding wait and look: a reading, a smell, the colour, before the next dose.",
			"Feed early in the day, into moving water, never onto a sleeping or cold culture.",
		},
		Example: `{"dry_g":600,"volume_l":2000,"nitrogen":"urea","temp_c":27}`,
	}, computeFeed)
}

func computeFeed(in feedIn) (feedOut, error) {
	var out feedOut
	dry, err := in.dry()
	if err != nil {
		return out, err
	}
	law, _ := medium.LawByName(in.Law)
	if card, ok := medium.NaturalFeedByName(in.Nitrogen); ok {
		return out, invalid("nitrogen", card.How+"; instead: "+card.Instead, "nitrogen by %s: its content is not known", card.Title)
	}
	nitrogen, err := medium.Lookup(in.Nitrogen, law)
	if err != nil {
		return out, fromMedium("nitrogen", err)
	}
	names := in.Salts
	if len(names) == 0 {
		names = []string{"mkp", "epsom salt", "potassium sulfate", "iron sulfate"}
	}
	var salts []*medium.Ingredient
	for _, n := range names {
		i, err := medium.Lookup(n, law)
		if err != nil {
			return out, fromMedium("salts", err)
		}
		salts = append(salts, i)
	}
	at := medium.Feeding{TempC: in.TempC, AmmoniaSmell: in.AmmoniaSmell, StandingMgL: in.StandingMgPerL, GivenTodayMgL: in.GivenMgPerL}
	if in.VolumeL != nil {
		at.VolumeLowL = *in.VolumeL
	}
	c := growth.DefaultComposition()
	f, err := medium.Replace(dry, c, nitrogen, salts, at)
	if err != nil {
		return out, fromMedium("salts", err)
	}
	in.doses(&f, &out)
	in.metals(&f, dry, &out)
	out.NitrogenG, out.PhosphorusG = f.Needs[medium.Nitrogen]*14.007, f.Needs[medium.Phosphorus]*30.974
	if err := in.hold(dry, nitrogen, c, &out); err != nil {
		return out, err
	}
	out.Assumptions = append(out.Assumptions, fmt.Sprintf("%s g of dry matter", Digits(dry)), "no nitrogen lost to the air: open tanks fed with ammonium lose up to half", "carbon is not among the doses: air, carbon dioxide or soda bring it")
	return out, nil
}

func (in *feedIn) dry() (float64, error) {
	switch {
	case (in.DryG == nil) == (in.PasteG == nil):
		return 0, invalid("dry_g", "dry matter, or pressed paste with its dry share", "dry_g or paste_g is needed, and only one")
	case in.DryG != nil:
		return *in.DryG, nil
	}
	return *in.PasteG * in.PasteDryPct / 100, nil
}

func (in *feedIn) doses(f *medium.Feed, out *feedOut) {
	blocked := map[string]string{
		"smell": "It smells of ammonia: none today. Stir, air, and wait until the smell is gone.", "cold": "Under 20 °C a culture hardly eats: none until it is warmer.",
		"hot": "Above 37 °C none: it turns to ammonia faster than it is eaten.", "pool": "What stands, or was given today, is at its cap: none until a reading shows less.",
		"volume": "The volume is not known: no amount without it.",
	}
	for i, d := range f.Doses {
		row := feedDose{Name: d.Of.Kitchen, Formula: d.Of.Formula, MassG: d.MassG, DayG: d.MassG, Kitchen: spoons(d.Of, d.MassG, in.Measures, units.Nearest)}
		if i == f.Reduced {
			row.DayG, out.Days, out.DayG, out.Blocked = f.DayG, f.Days, finite(f.DayG), blocked[f.Blocked]
			row.Kitchen = spoons(d.Of, f.DayG, in.Measures, units.Down)
			if row.Kitchen != "" {
				row.Kitchen += " a day"
			}
			out.Cautions = append(out.Cautions, "Never the whole of it at once. The next dose waits for a reading. A faint smell of ammonia is the end of feeding, a strong one is an emergency: air the place before going in.")
			if in.VolumeL != nil {
				y, err := d.Of.Yield(d.Of.Purity)
				if err == nil {
					var none medium.Metals
					a := medium.Elements(&y.Totals, &none)
					mg := medium.UreaMgL(a[medium.Reduced]) * d.MassG / *in.VolumeL
					out.UreaEquivalent = &mg
				}
			}
		}
		out.Doses = append(out.Doses, row)
	}
	out.Cautions = append(out.Cautions, ingredientCautions(f.Doses)...)
	out.BringsPct, out.WhatIsMissing = map[string]float64{}, []string{}
	for _, e := range []medium.Element{medium.Nitrogen, medium.Phosphorus, medium.Potassium, medium.Magnesium, medium.Sulfur, medium.Iron} {
		share := 100 * f.Brings[e] / f.Needs[e]
		out.BringsPct[e.String()] = share
		if share < 90 {
			out.WhatIsMissing = append(out.WhatIsMissing, e.String())
		}
	}
}

func (in *feedIn) metals(f *medium.Feed, dryG float64, out *feedOut) {
	var fed []medium.Fed
	for _, d := range f.Doses {
		x := medium.Fed{Of: d.Of, GPerKg: d.MassG / dryG * 1000, Grade: medium.Grade(in.SaltGrade)}
		if in.CdMgPerKgP2O5 != nil {
			x.CdPerP2O5 = math.Max(*in.CdMgPerKgP2O5, 1e-9)
		}
		fed = append(fed, x)
	}
	out.MetalsMgPerKg = medium.WorstMetals(fed, in.WaterUGPerL, in.WaterLPerKg)
	out.MetalsOver = medium.Over(out.MetalsMgPerKg, medium.ProductLimits())
	if out.MetalsOver == nil {
		out.MetalsOver = []string{}
	}
	if len(out.MetalsOver) > 0 {
		out.Cautions = append(out.Cautions, "What the grade of the salts and the water allow could pass the limits of food supplements in "+strings.Join(out.MetalsOver, ", ")+": ask for certificates, and have the product tested before any of it is sold.")
	}
	out.Assumptions = append(out.Assumptions, "metals at worst: everything the grade allows and the water brings ends in the product; what is in fact taken up is less, and only a test tells")
}

// hold tells what soda or gas would hold the pH over that growth.
func (in *feedIn) hold(dryG float64, nitrogen *medium.Ingredient, c growth.Composition, out *feedOut) error {
	mix, how, err := baseOf(in.Recipe, nil, medium.US)
	if err != nil {
		return err
	}
	s := brine.New(brine.Pitzer)
	sol, err := mix.Dissolve(s)
	if err != nil {
		return fromMedium("recipe", err)
	}
	y, err := nitrogen.Yield(nitrogen.Purity)
	if err != nil {
		return fromMedium("nitrogen", err)
	}
	h, err := medium.CarbonToHold(s, &sol.Totals, in.HoldPH, c, y.Totals[brine.NO3] > 0)
	if err != nil {
		return fromMedium("hold_ph", err)
	}
	out.SodaG, out.CO2G, out.SodiumG = finite(h.SodaGG*dryG), finite(h.CO2GG*dryG), finite(h.SodiumGG*dryG)
	share := 100 * h.Ratio
	out.SodaSharePct = &share
	out.Assumptions = append(out.Assumptions, how+", for the carbon: soda and gas as if no air helped; in a good summer air feeds about a quarter")
	return nil
}
