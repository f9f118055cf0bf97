package calc

import (
	"fmt"
	"strings"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
)

type mixIn struct {
	VolumeL         float64            `json:"volume_l" label:"How much medium" unit:"L" min:"0.05" max:"10000000"`
	Recipe          string             `json:"recipe,omitempty" label:"Published recipe" help:"by name: zarrouk, bicarbonate-farm, carbonate-farm, school, schloesser, paoletti, half, npk-10-26-26, rm6. This, or salts of your own, or a ready mix; else bicarbonate-farm"`
	SaltsGPerL      map[string]float64 `json:"salts_g_per_l" label:"Own salts, in a litre" unit:"g/L" min:"0" max:"500" help:"by formula, name or fertiliser label, one a line: baking soda 10"`
	ReadyMixGPerL   *float64           `json:"ready_mix_g_per_l" label:"Ready mix, content not told" unit:"g/L" min:"0.1" max:"100" help:"grams to a litre, as its seller says"`
	ReadyMixPH      *float64           `json:"ready_mix_ph" label:"Its first pH" min:"5" max:"12.5"`
	ReadyMixStrip   bool               `json:"ready_mix_strip" label:"That pH is from a strip"`
	ReadyMixMSPerCM *float64           `json:"ready_mix_ms_per_cm" label:"Its first conductivity at 25 °C" unit:"mS/cm" min:"0.05" max:"100"`
	Method          string             `json:"method" label:"How to weigh" choices:"recipe|closest|cheapest|fewest" default:"recipe" help:"the recipe as it stands, or from the shelf: what comes closest, costs least, or takes the fewest ingredients"`
	Shelf           []string           `json:"shelf" label:"What is on the shelf" help:"names, formulas or fertiliser labels, with commas between them"`
	CarryGPerL      *float64           `json:"carry_g_per_l" label:"Growth it must feed by itself" unit:"g/L" min:"0.05" max:"10" help:"with a shelf; else as much as the recipe's nitrogen does"`
	StockG          map[string]float64 `json:"stock_g" label:"What there is of each" unit:"g" min:"0" max:"100000000" help:"none named is enough"`
	PricePerKg      map[string]float64 `json:"price_per_kg" label:"Price of a kilogram" min:"0" max:"1000000" help:"in your own money"`
	PurityPct       map[string]float64 `json:"purity_pct" label:"Purity on the bag" unit:"%" min:"1" max:"100" help:"else a recipe's grams are of the pure salt"`
	BulkGPerL       map[string]float64 `json:"bulk_g_per_l" label:"Weight of a litre of powder" unit:"g/L" min:"100" max:"3000" help:"one level cup, weighed: grams over 0.237 (US) or 0.25 (metric)"`
	Law             string             `json:"law" label:"Fertiliser labels are by the law of" choices:"us|ca|eu|uk|au" default:"us"`
	Measures        string             `json:"measures" label:"Cups and spoons" choices:"metric|us" default:"metric"`
	ForFood         bool               `json:"for_food" label:"For a culture that is eaten" default:"true"`
	HardnessMgPerL  *float64           `json:"water_hardness_mg_per_l" label:"Water: hardness, as CaCO3" unit:"mg/L" min:"0" max:"20000"`
	AlkalinityMeqL  *float64           `json:"water_alkalinity_meq_per_l" label:"Water: alkalinity" unit:"meq/L" min:"0" max:"500"`
	CalciumMgPerL   *float64           `json:"water_calcium_mg_per_l" label:"Water: calcium" unit:"mg/L" min:"0" max:"20000"`
	MagnesiumMgPerL *float64           `json:"water_magnesium_mg_per_l" label:"Water: magnesium" unit:"mg/L" min:"0" max:"20000"`
	SodiumMgPerL    *float64           `json:"water_sodium_mg_per_l" label:"Water: sodium" unit:"mg/L" min:"0" max:"50000"`
	ChlorideMgPerL  *float64           `json:"water_chloride_mg_per_l" label:"Water: chloride" unit:"mg/L" min:"0" max:"50000"`
	SulfateMgPerL   *float64           `json:"water_sulfate_mg_per_l" label:"Water: sulfate" unit:"mg/L" min:"0" max:"50000"`
	NitrateMgPerL   *float64           `json:"water_nitrate_mg_per_l" label:"Water: nitrate, as NO3" unit:"mg/L" min:"0" max:"5000"`
	WaterMSPerCM    *float64           `json:"water_conductivity_ms_per_cm" label:"Water: conductivity at 25 °C" unit:"mS/cm" min:"0" max:"60"`
	Traces          string             `json:"traces" label:"Trace solution" choices:"none|a5" default:"none"`
	TempC           float64            `json:"temp_c" label:"Temperature" unit:"°C" min:"0" max:"50" default:"25"`
	DepthCM         float64            `json:"depth_cm" label:"Depth it stands at" unit:"cm" min:"0.5" max:"500" default:"15"`
	PCO2PPM         float64            `json:"pco2_ppm" label:"Carbon dioxide in the air" unit:"ppm" min:"1" max:"100000" default:"420"`
	Stirred         bool               `json:"stirred" label:"Stirred by day" default:"true"`
	YieldGPerM2D    float64            `json:"yield_g_per_m2_d" label:"Growth expected" unit:"g/m²/d" min:"0" max:"60" default:"5"`
}

type mixAmount struct {
	Name     string   `json:"name" label:"Ingredient"`
	Formula  string   `json:"formula" label:"Formula"`
	MassG    float64  `json:"mass_g" label:"Weigh" unit:"g"`
	GPerL    float64  `json:"g_per_l" label:"in a litre" unit:"g/L"`
	Kitchen  string   `json:"kitchen" label:"or level"`
	KitchenG *float64 `json:"kitchen_g" label:"which is" unit:"g"`
	Stock    string   `json:"stock" label:"or"`
	Cost     *float64 `json:"cost" label:"Cost"`
}

type mixStep struct {
	Step int    `json:"step" label:"Step"`
	Do   string `json:"do" label:"Do"`
	What string `json:"what" label:"With"`
}

type mixStanding struct {
	Days   float64 `json:"days" label:"After" unit:"d"`
	PHLow  float64 `json:"ph_25c_low" label:"pH from"`
	PHMid  float64 `json:"ph_25c" label:"about"`
	PHHigh float64 `json:"ph_25c_high" label:"to"`
}

type mixFallen struct {
	Mineral   string  `json:"mineral" label:"Mineral"`
	Certain   bool    `json:"certain" label:"Beyond doubt"`
	NowMgL    float64 `json:"now_mg_per_l" label:"As mixed" unit:"mg/L"`
	PondMgL   float64 `json:"pond_mg_per_l" label:"By pH 10" unit:"mg/L"`
	NowIndex  float64 `json:"saturation_index" label:"Saturation index"`
	BandIndex float64 `json:"saturation_index_band" label:"Sources differ by"`
}

type mixGuess struct {
	What string  `json:"what" label:"It may hold"`
	Unit string  `json:"unit" label:"in"`
	Low  float64 `json:"low" label:"from"`
	Mid  float64 `json:"mid" label:"about"`
	High float64 `json:"high" label:"to"`
}

type mixOut struct {
	Amounts           []mixAmount        `json:"amounts" label:"Weigh out"`
	Steps             []mixStep          `json:"steps" label:"In this order"`
	CostTotal         *float64           `json:"cost_total,omitempty" label:"Cost of the batch, in your money"`
	CostPerL          *float64           `json:"cost_per_l,omitempty" label:"Cost of a litre"`
	KitchenWorstPct   float64            `json:"kitchen_worst_pct" label:"Cups and spoons miss by at most" unit:"%"`
	KitchenWorstOf    string             `json:"kitchen_worst_of" label:"in"`
	PH                *float64           `json:"ph,omitempty" label:"pH as mixed, at this temperature"`
	PH25C             *float64           `json:"ph_25c,omitempty" label:"pH as mixed, at 25 °C"`
	PHOpen25C         *float64           `json:"ph_open_25c,omitempty" label:"pH in balance with the air, at 25 °C"`
	Standing          []mixStanding      `json:"standing" label:"Standing in air without a culture"`
	ConductivityMSCM  *float64           `json:"conductivity_ms_per_cm_25c,omitempty" label:"Conductivity at 25 °C" unit:"mS/cm"`
	SaltGPerL         *float64           `json:"dissolved_g_per_l,omitempty" label:"Dissolved in all" unit:"g/L"`
	SodiumGPerL       *float64           `json:"sodium_g_per_l,omitempty" label:"Sodium" unit:"g/L"`
	FallsOut          []mixFallen        `json:"falls_out" label:"May cloud and fall out"`
	ReducedMgPerL     *float64           `json:"reduced_nitrogen_as_urea_mg_per_l,omitempty" label:"Urea and ammonium, as urea" unit:"mg/L"`
	FreeNH3MM         *float64           `json:"free_nh3_mm,omitempty" label:"Free ammonia as mixed" unit:"mmol/L"`
	FreeNH3PondMM     *float64           `json:"free_nh3_pond_mm,omitempty" label:"Free ammonia at pH 10, nothing eaten" unit:"mmol/L"`
	CarriesGPerL      map[string]float64 `json:"carries_g_per_l" label:"Growth that each element feeds" unit:"g/L"`
	CarbonGPerL       *float64           `json:"carbon_carries_g_per_l,omitempty" label:"Growth until pH 10.5, fresh" unit:"g/L"`
	CarbonOpenGPerL   *float64           `json:"carbon_carries_open_g_per_l,omitempty" label:"Growth until pH 10.5, once in balance with the air" unit:"g/L"`
	CarbonDaysLow     *float64           `json:"carbon_days_low,omitempty" label:"Carbon lasts from" unit:"d"`
	CarbonDays        *float64           `json:"carbon_days,omitempty" label:"Carbon lasts about" unit:"d"`
	CarbonDaysHigh    *float64           `json:"carbon_days_high,omitempty" label:"Carbon lasts up to" unit:"d"`
	Guess             []mixGuess         `json:"guess" label:"What the ready mix may be"`
	ReadyMixDayG      *float64           `json:"ready_mix_most_a_day_g,omitempty" label:"Ready mix as feed: at most, a day" unit:"g"`
	ReadyMixStandingG *float64           `json:"ready_mix_most_standing_g,omitempty" label:"Ready mix as feed: at most, until a reading" unit:"g"`
	Told
}

// Mix is the front door: what to weigh for a volume of medium, in which order,
// and what it will be.
func Mix() *Calculator {
	return Define(About{
		Name: "mix", Title: "Mix a medium",
		Sentence: "For your volume, your salts and your water: grams and level spoons, cost, the order of mixing, and what the medium will read, carry and drop.",
		Equations: []string{
			"grams = volume x grams in a litre of finished medium at 25 °C / purity",
			"pH, minerals and conductivity: as calculator water, Pitzer with Harvie, Møller & Weare 1984",
			"in air: dDIC/dt = E k (CO2* - CO2) / depth, Hoover & Berkshire 1969; k 1.5 to 6 cm/h",
			"an element carries: what a litre holds / what a gram of cells takes (C 47, N 10, P 1.0, S 0.8, K 2.0, Mg 0.33, Fe 0.05 %)",
			"from the shelf: least cost by the simplex method; closest by non-negative least squares, Lawson & Hanson 1974; fewest by an exact search on it",
		},
		Sources: []Source{
			{"zarrouk1966", "recipes: each names its own source, shown with the answer"},
			{"harvie1984", "Harvie, Møller & Weare 1984, Geochimica et Cosmochimica Acta 48:723"},
			{"hoover1969", "Hoover & Berkshire 1969, Journal of Geophysical Research 74:456"},
			{"animals2023", "composition of cells: Animals 2023, 13:1275, table 2, and the formula of Cornet & Dussap 2009 (from memory)"},
			{"mendez2012", "urea: Méndez & Uribe 2012, Latin American Journal of Aquatic Research 40(3) (half of growth lost at 80 mg/L); 60 mg/L standing is growers' practice"},
			{"lawsonhanson1974", "Lawson & Hanson 1974, Solving Least Squares Problems, chapter 23"},
		},
		Cautions: []string{
			"Baking soda, not baking powder; nothing scented, coloured or iodised.",
			"Water first: a strip must show less than 0.1 mg/L of total chlorine.",
		},
		Example: `{"volume_l":100,"recipe":"bicarbonate-farm","measures":"us","water_hardness_mg_per_l":120}`,
	}, computeMix)
}

func computeMix(in mixIn) (mixOut, error) {
	out := mixOut{Standing: []mixStanding{}, FallsOut: []mixFallen{}, Guess: []mixGuess{}}
	law, _ := medium.LawByName(in.Law)
	water, err := in.water()
	if err != nil {
		return out, err
	}
	if in.ReadyMixGPerL != nil {
		if in.Recipe != "" || in.SaltsGPerL != nil || in.Method != "recipe" {
			return out, invalid("ready_mix_g_per_l", "say one of them", "a ready mix stands beside a recipe, salts or a shelf")
		}
		return in.readyMix(water)
	}
	mix, err := in.mix(law, water, &out)
	if err != nil {
		return out, err
	}
	s := brine.New(brine.Pitzer)
	if in.Method != "recipe" {
		if err := in.fromShelf(s, law, &mix, &out); err != nil {
			return out, err
		}
	}
	p, err := medium.Predict(s, &mix, in.setting(), growth.DefaultComposition())
	if err != nil {
		return out, fromMedium("salts_g_per_l", err)
	}
	for _, f := range medium.Check(&mix, &p, in.ForFood) {
		if f.Stop {
			field := "salts_g_per_l"
			if in.Recipe != "" {
				field = "recipe"
			}
			return mixOut{}, &farm.Error{Code: farm.Invalid, Field: field, Message: faultWords(f), Hint: faultWay(f)}
		}
		out.Cautions = append(out.Cautions, faultWords(f))
	}
	if err := in.weigh(&mix, &out); err != nil {
		return out, err
	}
	in.tell(&p, &out)
	return out, nil
}

func (in *mixIn) setting() medium.Setting {
	at := medium.Plain()
	at.TempC, at.DepthM, at.PCO2Atm, at.Stirred, at.YieldGM2D = in.TempC, in.DepthCM/100, in.PCO2PPM*1e-6, in.Stirred, in.YieldGPerM2D
	return at
}

func (in *mixIn) water() (medium.Water, error) {
	zero := func(p *float64) float64 {
		if p == nil {
			return 0
		}
		return *p
	}
	a := medium.Analysis{
		HardnessMgL: zero(in.HardnessMgPerL), CalciumMgL: zero(in.CalciumMgPerL), MagnesiumMgL: zero(in.MagnesiumMgPerL), SodiumMgL: zero(in.SodiumMgPerL),
		AlkalinityMeqL: zero(in.AlkalinityMeqL), ChlorideMgL: zero(in.ChlorideMgPerL), SulfateMgL: zero(in.SulfateMgPerL), NitrateMgL: zero(in.NitrateMgPerL), ConductivityMS: zero(in.WaterMSPerCM),
	}
	w, err := a.Prepare()
	if err != nil {
		e := fromMedium("", err)
		if fe, ok := e.(*farm.Error); ok {
			fe.Field = "water_" + fe.Field
			fe.Message = "water_" + fe.Message
		}
		return w, e
	}
	return w, nil
}

// mix reads what is to be made.
func (in *mixIn) mix(law medium.Law, water medium.Water, out *mixOut) (medium.Mix, error) {
	if in.Recipe != "" && in.SaltsGPerL != nil {
		return medium.Mix{}, invalid("recipe", "say one of them", "recipe and salts_g_per_l are both given")
	}
	var mix medium.Mix
	var err error
	if in.SaltsGPerL != nil {
		if mix, err = medium.NewMix(in.SaltsGPerL, law); err != nil {
			return mix, fromMedium("salts_g_per_l", err)
		}
		if len(mix.Parts) == 0 {
			return mix, invalid("salts_g_per_l", "one a line, as in baking soda 10", "salts_g_per_l names nothing to weigh")
		}
		out.Assumptions = append(out.Assumptions, "salts as weighed, in a litre of finished medium")
	} else {
		name := in.Recipe
		if name == "" {
			name = "bicarbonate-farm"
			out.Assumptions = append(out.Assumptions, "no recipe was named: the bicarbonate farm formula is taken")
		}
		r, ok := medium.Find(name)
		if !ok {
			return mix, invalid("recipe", "known are "+recipeNames(), "recipe %q is not known", name)
		}
		if mix, err = medium.NewMix(r.Weighed(), law); err != nil {
			return mix, fromMedium("recipe", err)
		}
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("%s: %s. Source: %s", r.Title, r.Suits, r.Source))
		out.Assumptions = append(out.Assumptions, r.Notes...)
		for _, t := range sortedKeys(r.TracesMLPerL) {
			if in.Traces == t {
				continue
			}
			ml := r.TracesMLPerL[t]
			out.Assumptions = append(out.Assumptions, fmt.Sprintf("the original adds %g mL/L of %s trace solution: %s mL here, left out of the amounts", ml, strings.ToUpper(t), Digits(ml*in.VolumeL)))
		}
	}
	mix.Pure()
	mix.Water = water
	out.Assumptions = append(out.Assumptions, water.Assumed...)
	return mix, in.pure(law, &mix, out)
}

// pure applies the purities that were told: a recipe's grams of pure salt become
// grams of what is weighed, one's own stay.
func (in *mixIn) pure(law medium.Law, mix *medium.Mix, out *mixOut) error {
	purity, err := byIngredient("purity_pct", in.PurityPct, law)
	if err != nil {
		return err
	}
	used := map[string]bool{}
	for i := range mix.Parts {
		p := &mix.Parts[i]
		if x, ok := purity[p.Of.ID]; ok {
			p.Purity = x / 100
			if in.SaltsGPerL == nil {
				p.GPerL /= p.Purity
			}
			used[p.Of.ID] = true
		}
	}
	if in.Method == "recipe" {
		for id := range purity {
			if !used[id] {
				return invalid("purity_pct."+id, "", "purity_pct names %s, which is not in this mix", id)
			}
		}
		if len(purity) < len(mix.Parts) {
			out.Assumptions = append(out.Assumptions, "salts without a purity are taken as pure; what is sold is 1 to 3 % less")
		}
	}
	return nil
}
