package calc

import (
	"fmt"
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
)

type saltIn struct {
	VolumeL       float64            `json:"volume_l" label:"Volume" unit:"L" min:"0.05" max:"10000000"`
	NowMS         *float64           `json:"now_ms_per_cm" label:"Conductivity now, at 25 °C" unit:"mS/cm" min:"0.1" max:"200" help:"conductivities, or an element in mg/L below"`
	LimitMS       *float64           `json:"limit_ms_per_cm" label:"Not above" unit:"mS/cm" min:"0.1" max:"200"`
	TopUpMS       float64            `json:"top_up_ms_per_cm" label:"Water that makes up what evaporates" unit:"mS/cm" min:"0" max:"60" default:"0.5"`
	FillMS        *float64           `json:"fill_ms_per_cm" label:"What replaces a purge" unit:"mS/cm" min:"0" max:"200" help:"fresh medium; else what the recipe makes"`
	NowMg         *float64           `json:"now_mg_per_l" label:"Or one element: now" unit:"mg/L" min:"0" max:"200000"`
	LimitMg       *float64           `json:"limit_mg_per_l" label:"Not above" unit:"mg/L" min:"0" max:"200000"`
	TopUpMg       float64            `json:"top_up_mg_per_l" label:"In the top-up water" unit:"mg/L" min:"0" max:"50000" default:"0"`
	FillMg        float64            `json:"fill_mg_per_l" label:"In what replaces a purge" unit:"mg/L" min:"0" max:"200000" default:"0"`
	FedMgPerD     float64            `json:"fed_mg_per_d" label:"Of that element, fed in a day" unit:"mg/d" min:"0" max:"1000000000" default:"0"`
	EvaporationL  *float64           `json:"evaporation_l_per_d" label:"Evaporation" unit:"L/d" min:"0" max:"1000000" help:"or in mm a day, with the surface"`
	EvaporationMM *float64           `json:"evaporation_mm_d" label:"Evaporation in depth" unit:"mm/d" min:"0" max:"40"`
	SurfaceM2     *float64           `json:"surface_m2" label:"Surface" unit:"m²" min:"0.001" max:"100000"`
	FedGPerD      map[string]float64 `json:"fed_g_per_d" label:"Salts fed in a day" unit:"g/d" min:"0" max:"1000000" help:"KNO3 20, baking soda 80"`
	DryGPerD      float64            `json:"harvest_dry_g_per_d" label:"Dry matter harvested in a day" unit:"g/d" min:"0" max:"1000000" default:"0"`
	CarriedLPerD  float64            `json:"carried_l_per_d" label:"Water that leaves with the paste" unit:"L/d" min:"0" max:"1000000" default:"0"`
	Recipe        string             `json:"recipe,omitempty" label:"Mixed as" help:"a published recipe by name; else bicarbonate-farm"`
	ToMS          *float64           `json:"purge_to_ms_per_cm" label:"A purge is to bring it down to" unit:"mS/cm" min:"0.1" max:"200" help:"else to 90 % of the limit"`
	Draws         int                `json:"draws" label:"In so many draws" min:"1" max:"60" default:"5"`
}

type saltOut struct {
	Unit          string   `json:"unit" label:"Counted in"`
	RisePerDay    float64  `json:"rise_per_day" label:"It rises by, a day"`
	RisePer30Days float64  `json:"rise_per_30_days" label:"In thirty days"`
	DaysLeft      *float64 `json:"days_to_limit,omitempty" label:"Days to the limit, without a purge" unit:"d"`
	OnceL         *float64 `json:"purge_once_l,omitempty" label:"Draw off and replace at one go" unit:"L"`
	OncePct       *float64 `json:"purge_once_pct,omitempty" label:"which is, of the volume" unit:"%"`
	EachL         *float64 `json:"purge_each_l,omitempty" label:"Or at each draw" unit:"L"`
	AllL          *float64 `json:"purge_all_draws_l,omitempty" label:"in all" unit:"L"`
	SteadyLPerD   *float64 `json:"purge_steady_l_per_d,omitempty" label:"Or for good, each day" unit:"L/d"`
	SteadyPct     *float64 `json:"purge_steady_pct_per_d,omitempty" label:"which is, of the volume a day" unit:"%"`
	FromWater     float64  `json:"from_top_up_per_day" label:"Of the rise, by top-up water"`
	FromFeed      float64  `json:"from_feed_per_day" label:"Of the rise, by feeds"`
	SodiumKgYr    *float64 `json:"sodium_kg_per_year,omitempty" label:"Sodium that a steady purge pours away in a year" unit:"kg"`
	Told
}

// Salt is the calculator of creeping salt and of the purge that holds it.
func Salt() *Calculator {
	return Define(About{
		Name: "salt", Title: "Salt that creeps up, and the purge",
		Sentence: "How fast salt, or one element, piles up from top-up water and feeds, when it reaches a limit, and what to draw off and replace, once, in parts or for good.",
		Equations: []string{
			"dC/dt = E c_water / V + feed - (H + P)(C - c_fill) / V",
			"once: V (C - C_to) / (C - c_fill); in n draws: V (1 - ((C_to - c_fill)/(C - c_fill))^(1/n)) each",
			"for good: P = (E c_water + feed V) / (limit - c_fill) - H",
			"feeds: what the salts bring less what the cells take, as a rise of conductivity, McCleskey et al. 2012",
		},
		Sources: []Source{
			{"mccleskey2012", "conductivity: McCleskey, Nordstrom, Ryan & Ball 2012, Geochimica et Cosmochimica Acta 77:369"},
			{"kebede1997", "what a culture bears: Kebede 1997, Journal of Applied Phycology 9 (abstract): carbonate better than chloride, sulfate worst"},
			{"", "mass balance; renewal of about 1 % a day: growers' practice, no source"},
		},
		Cautions: []string{
			"Old medium is salty and alkaline: not onto soil, not into a ditch, a pond or a septic tank without asking the local authority.",
			"Replace with medium of the same temperature and near pH, not more than a tenth at a time where the culture is weak.",
		},
		Example: `{"volume_l":2000,"now_ms_per_cm":22,"limit_ms_per_cm":30,"evaporation_l_per_d":50,"top_up_ms_per_cm":0.6,"fed_g_per_d":{"KNO3":36,"NaHCO3":200},"harvest_dry_g_per_d":50}`,
	}, computeSalt)
}

func computeSalt(in saltIn) (saltOut, error) {
	var out saltOut
	c := medium.Creep{VolumeL: in.VolumeL, CarriedD: in.CarriedLPerD}
	switch {
	case in.EvaporationL != nil && in.EvaporationMM != nil:
		return out, invalid("evaporation_mm_d", "say one of them", "evaporation_l_per_d and evaporation_mm_d are both given")
	case in.EvaporationL != nil:
		c.LostLD = *in.EvaporationL
	case in.EvaporationMM != nil:
		if in.SurfaceM2 == nil {
			return out, invalid("surface_m2", "", "surface_m2 is missing beside evaporation_mm_d")
		}
		c.LostLD = *in.EvaporationMM * *in.SurfaceM2 // 1 mm on 1 m² is a litre
	default:
		return out, invalid("evaporation_l_per_d", "calculator evaporation tells it", "evaporation_l_per_d is missing")
	}
	byMS := in.NowMS != nil
	if byMS == (in.NowMg != nil) {
		return out, invalid("now_ms_per_cm", "conductivity, or one element in mg/L", "now_ms_per_cm or now_mg_per_l is needed, and only one")
	}
	var base medium.Solution
	if byMS {
		if err := in.byConductivity(&c, &base, &out); err != nil {
			return out, err
		}
	} else {
		if in.LimitMg == nil {
			return out, invalid("limit_mg_per_l", "", "limit_mg_per_l is missing")
		}
		c.Now, c.Limit, c.TopUp, c.Fill, c.Fed = *in.NowMg, *in.LimitMg, in.TopUpMg, in.FillMg, in.FedMgPerD/in.VolumeL
		out.Unit = "mg/L"
	}
	out.FromWater, out.FromFeed = c.LostLD*c.TopUp/c.VolumeL, c.Fed
	out.RisePerDay = c.RatePerDay()
	out.RisePer30Days = 30 * out.RisePerDay
	out.DaysLeft = finite(c.Days())
	target := 0.9 * c.Limit
	if in.ToMS != nil {
		if !byMS {
			return out, invalid("purge_to_ms_per_cm", "", "purge_to_ms_per_cm stands only beside conductivities")
		}
		target = *in.ToMS
	}
	in.purge(&c, target, &base, &out)
	return out, nil
}

// byConductivity fills the creep in from conductivities, which add up nearly
// like contents where they change little.
func (in *saltIn) byConductivity(c *medium.Creep, base *medium.Solution, out *saltOut) error {
	out.Unit = "mS/cm"
	if in.LimitMS == nil {
		return invalid("limit_ms_per_cm", "", "limit_ms_per_cm is missing")
	}
	mix, how, err := baseOf(in.Recipe, nil, medium.US)
	if err != nil {
		return err
	}
	s := brine.New(brine.Pitzer)
	if *base, err = mix.Dissolve(s); err != nil {
		return fromMedium("recipe", err)
	}
	var w brine.Water
	read := func(t *brine.Totals) (float64, error) {
		if err := s.Solve(t, 25, &w); err != nil {
			return 0, fromMedium("fed_g_per_d", err)
		}
		return brine.ConductivityMSCm25(&w), nil
	}
	plain, err := read(&base.Totals)
	if err != nil {
		return err
	}
	c.Now, c.Limit, c.TopUp, c.Fill = *in.NowMS, *in.LimitMS, in.TopUpMS, plain
	if in.FillMS != nil {
		c.Fill = *in.FillMS
	} else {
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("what replaces a purge is fresh medium, %s, %s mS/cm", how, Digits(plain)))
	}
	if len(in.FedGPerD) > 0 || in.DryGPerD > 0 {
		// Ten days of feed and growth on the recipe, so that the difference is no noise.
		const days = 10
		t := base.Totals
		for _, name := range sortedKeys(in.FedGPerD) {
			i, err := medium.Lookup(name, medium.US)
			if err != nil {
				return fromMedium("fed_g_per_d", err)
			}
			y, err := i.Yield(i.Purity)
			if err != nil {
				return fromMedium("fed_g_per_d", err)
			}
			for k, x := range y.Totals {
				t[k] += days * in.FedGPerD[name] * x / in.VolumeL / base.KgWaterPerL
			}
		}
		grams := days * in.DryGPerD / in.VolumeL / base.KgWaterPerL
		t = medium.Grown(t, grams, growth.DefaultComposition(), t[brine.NO3] > 0)
		if t[brine.DIC] < 0.3*base.Totals[brine.DIC] { // air brings what the feed does not
			t[brine.DIC] = 0.3 * base.Totals[brine.DIC]
		}
		after, err := read(&t)
		if err != nil {
			return err
		}
		c.Fed = (after - plain) / days
		out.Assumptions = append(out.Assumptions, "feeds: what ten days of them, less what the cells take, add to the conductivity of fresh medium, "+how)
	}
	out.Assumptions = append(out.Assumptions, "conductivities add up like contents: good where they change by less than half")
	return nil
}

func (in *saltIn) purge(c *medium.Creep, target float64, base *medium.Solution, out *saltOut) {
	if c.Now > target {
		once, each := c.Once(target), c.InParts(target, in.Draws)
		out.OnceL, out.EachL = finite(once), finite(each)
		out.OncePct, out.AllL = finite(100*once/c.VolumeL), finite(each*float64(in.Draws))
		if math.IsNaN(once) {
			out.Cautions = append(out.Cautions, "What fills up holds as much as the target: a purge with it does not help. Use water, or a leaner medium.")
		}
		if once > 0.3*c.VolumeL {
			out.Cautions = append(out.Cautions, "That is more than a third of the volume: in several draws over days, and harvest first, since the culture leaves with it.")
		}
	} else {
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("at %s it is under %s already: no purge now", Digits(c.Now), Digits(target)))
	}
	steady := c.Steady()
	out.SteadyLPerD, out.SteadyPct = finite(steady), finite(100*steady/c.VolumeL)
	if base.KgWaterPerL > 0 && !math.IsNaN(steady) {
		kg := steady * 365 * base.PerL[brine.Na] * 22.990 / 1000 * c.Limit / math.Max(c.Fill, 1)
		out.SodiumKgYr = finite(kg)
	}
	if math.IsNaN(steady) {
		out.Cautions = append(out.Cautions, "What fills up holds as much as the limit: no steady purge with it holds the limit.")
	}
}
