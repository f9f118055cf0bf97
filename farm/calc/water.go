package calc

import (
	"errors"
	"math"
	"slices"
	"strings"

	"sodalake/farm"
	"sodalake/science/brine"
)

type waterIn struct {
	TempC            float64            `json:"temp_c" label:"Temperature" unit:"°C" min:"0" max:"50" default:"25"`
	SaltsGPerL       map[string]float64 `json:"salts_g_per_l" label:"Salts in a litre of finished solution" unit:"g/L" min:"0" max:"1000" help:"by formula, one a line: NaHCO3 16.8. This, or one of the next two"`
	SaltsMmolPerKg   map[string]float64 `json:"salts_mmol_per_kg_water" label:"Salts in a kilogram of water" unit:"mmol/kg" min:"0" max:"20000"`
	IonsMmolPerKg    map[string]float64 `json:"ions_mmol_per_kg" label:"Ions in a kilogram of water" unit:"mmol/kg" min:"0" max:"20000" help:"Na, K, Ca, Mg, Cl, SO4, NO3, NO2, NH4, PO4, B, urea, EDTA, Fe; the alkalinity follows from their charges"`
	DICMmolPerKg     *float64           `json:"dic_mmol_per_kg" label:"Inorganic carbon, with ions" unit:"mmol/kg" min:"0" max:"20000"`
	PH               *float64           `json:"ph" label:"Bring to this pH" min:"3" max:"13.5" help:"at the temperature above"`
	PHBy             string             `json:"ph_by" label:"By" choices:"strong|co2" default:"strong" help:"strong base or acid, carbon kept; or carbon dioxide"`
	PCO2PPM          *float64           `json:"pco2_ppm" label:"Stand in air with carbon dioxide" unit:"ppm" min:"0" max:"1000000" help:"of 1 atm; outdoors about 420"`
	DICRemovedMmolKg *float64           `json:"dic_removed_mmol_per_kg" label:"Take out inorganic carbon first" unit:"mmol/kg" min:"0" max:"20000" help:"as growth does; alkalinity stays"`
	Precipitate      []string           `json:"precipitate" label:"Let fall out" help:"calcite, aragonite, brucite, hydroxyapatite, struvite"`
	Model            string             `json:"model" label:"Model" choices:"pitzer|pairs" default:"pitzer"`
}

type waterOut struct {
	PH                 float64            `json:"ph" label:"pH at this temperature"`
	PH25C              float64            `json:"ph_25c" label:"pH at 25 °C"`
	IonicStrength      float64            `json:"ionic_strength" label:"Ionic strength" unit:"mol/kg"`
	AlkalinityMeqPerKg float64            `json:"alkalinity_meq_per_kg" label:"Alkalinity" unit:"meq/kg"`
	DICMmolPerKg       float64            `json:"dic_mmol_per_kg" label:"Inorganic carbon" unit:"mmol/kg"`
	PCO2PPM            float64            `json:"pco2_ppm" label:"Carbon dioxide it would balance" unit:"ppm"`
	FreeNH3Share       *float64           `json:"free_nh3_share,omitempty" label:"Share of ammonia that is free NH3"`
	SpeciesMmolPerKg   map[string]float64 `json:"species_mmol_per_kg" label:"What it is made of" unit:"mmol/kg"`
	SaturationIndex    map[string]float64 `json:"saturation_index" label:"Saturation index"`
	PrecipitatedMmolKg map[string]float64 `json:"precipitated_mmol_per_kg" label:"Fallen out" unit:"mmol/kg"`
	WaterActivity      float64            `json:"water_activity" label:"Water activity"`
	ConductivityMSCM   float64            `json:"conductivity_ms_per_cm_25c" label:"Conductivity at 25 °C" unit:"mS/cm"`
	DensityKgPerL      float64            `json:"density_kg_per_l" label:"Density" unit:"kg/L"`
	KgWaterPerL        float64            `json:"kg_water_per_l" label:"Water in a litre" unit:"kg/L"`
	Told
}

// ionNames are the names under which ions are given.
var ionNames = map[string]brine.Total{
	"Na": brine.Na, "K": brine.K, "Ca": brine.Ca, "Mg": brine.Mg, "Cl": brine.Cl, "SO4": brine.SO4, "NO3": brine.NO3, "NO2": brine.NO2,
	"NH4": brine.Ammonia, "NH3": brine.Ammonia, "Ammonia": brine.Ammonia, "ammonia": brine.Ammonia, "urea": brine.Urea, "Urea": brine.Urea,
	"PO4": brine.PO4, "P": brine.PO4, "B": brine.Borate, "EDTA": brine.EDTA, "Fe": brine.Iron,
}

// Water is the calculator of water chemistry.
func Water() *Calculator {
	return Define(About{
		Name: "water", Title: "What is this water?",
		Sentence: "pH, carbon, what falls out, conductivity and density of any soda water, from the salts weighed in or from its ions.",
		Equations: []string{
			"charges balance: Na + K + 2 Ca + 2 Mg + H + NH4 = OH + HCO3 + 2 CO3 + Cl + NO3 + 2 SO4 + ...",
			"activities: Pitzer, set of Harvie, Møller & Weare 1984; pH on MacInnes' scale, what a meter reads",
			"K1, K2, KH: Plummer & Busenberg 1982, log K2 lowered by 0.0104 as that set wants it",
			"density: apparent molar volumes, Appelo, Parkhurst & Post 2014; conductivity: McCleskey et al. 2012",
		},
		Sources: []Source{
			{"harvie1984", "Harvie, Møller & Weare 1984, Geochimica et Cosmochimica Acta 48:723"},
			{"plummer1982", "Plummer & Busenberg 1982, Geochimica et Cosmochimica Acta 46:1011"},
			{"appelo2014", "Appelo, Parkhurst & Post 2014, Geochimica et Cosmochimica Acta 125:49"},
			{"mccleskey2012", "McCleskey, Nordstrom, Ryan & Ball 2012, Geochimica et Cosmochimica Acta 77:369"},
		},
		Cautions: []string{"Caustic soda and acids burn: goggles and gloves; into water, never water onto them; small steps."},
		Example:  `{"temp_c":25,"salts_g_per_l":{"NaHCO3":16.8,"K2HPO4":0.5,"CaCl2.2H2O":0.04}}`,
	}, computeWater)
}

func computeWater(in waterIn) (waterOut, error) {
	var out waterOut
	t, how, err := in.totals()
	if err != nil {
		return out, err
	}
	out.Assumptions = append(out.Assumptions, how...)
	m := brine.Pitzer
	if in.Model == "pairs" {
		m = brine.Pairs
		out.Assumptions = append(out.Assumptions, "ion pairs with the extended Debye-Hückel equation: good to an ionic strength of about 0.3 mol/kg")
	}
	s := brine.New(m)
	if r := in.DICRemovedMmolKg; r != nil {
		if *r/1000 > t[brine.DIC] {
			return out, invalid("dic_removed_mmol_per_kg", "", "dic_removed_mmol_per_kg %g is more than there is, %s", *r, Digits(t[brine.DIC]*1000))
		}
		t[brine.DIC] -= *r / 1000
		out.Assumptions = append(out.Assumptions, "carbon taken out at constant alkalinity")
	}
	var w brine.Water
	switch {
	case in.PH != nil && in.PCO2PPM != nil:
		return out, invalid("ph", "say one of them", "ph and pco2_ppm are both given")
	case in.PH != nil:
		by := brine.ByStrong
		if in.PHBy == "co2" {
			by = brine.ByCO2
		}
		err = s.HoldPH(&t, in.TempC, *in.PH, by, &w)
		out.Assumptions = append(out.Assumptions, map[bool]string{true: "pH held by carbon dioxide, alkalinity kept", false: "pH held by strong base (as sodium) or acid (as chloride), carbon kept"}[by == brine.ByCO2])
	case in.PCO2PPM != nil:
		err = s.OpenTo(&t, in.TempC, *in.PCO2PPM*1e-6, &w)
		out.Assumptions = append(out.Assumptions, "open to that air until nothing moves any more: days to weeks in a pond")
	default:
		err = s.Solve(&t, in.TempC, &w)
		out.Assumptions = append(out.Assumptions, "closed to air")
	}
	if err != nil {
		return out, fromBrine(err)
	}
	if err := in.letFall(s, &t, &w, &out); err != nil {
		return out, err
	}
	out.PH, out.IonicStrength, out.AlkalinityMeqPerKg = w.PH, w.IonicStrength, w.AlkalinityEqKg*1000
	out.DICMmolPerKg, out.PCO2PPM, out.WaterActivity = t[brine.DIC]*1000, w.PCO2Atm*1e6, w.WaterActivity
	if out.PH25C, err = s.PHAt25(&t, &w); err != nil {
		return out, fromBrine(err)
	}
	if t[brine.Ammonia] > 0 {
		share := w.FreeAmmoniaShare()
		out.FreeNH3Share = &share
	}
	out.SpeciesMmolPerKg = map[string]float64{}
	for sp := range brine.NSpecies {
		if x := w.Species[sp]; x > 0 {
			out.SpeciesMmolPerKg[brine.Species(sp).String()] = x * 1000
		}
	}
	out.SaturationIndex = map[string]float64{}
	for i := range brine.NMinerals {
		mineral := brine.Mineral(i)
		if si := s.SaturationIndex(&w, mineral); !math.IsInf(si, 0) && !math.IsNaN(si) {
			out.SaturationIndex[mineral.String()] = si
		}
	}
	out.ConductivityMSCM = brine.ConductivityMSCm25(&w)
	out.DensityKgPerL = brine.DensityKgL(&w, in.TempC)
	out.KgWaterPerL = 1 / brine.LitresPerKgWater(&w, in.TempC)
	if out.SaturationIndex["calcite"] > 0.3 && len(in.Precipitate) == 0 {
		out.Cautions = append(out.Cautions, "More calcium than this water holds in the long run: expect a chalk cloud.")
	}
	if _, ok := out.SaturationIndex["hydroxyapatite"]; ok {
		out.Cautions = append(out.Cautions, "Saturation indices of phosphates are unsure by 1 to 2 units.")
	}
	return out, nil
}

// totals reads the one way in which the water was told.
func (in *waterIn) totals() (brine.Totals, []string, error) {
	given := 0
	for _, m := range []map[string]float64{in.SaltsGPerL, in.SaltsMmolPerKg, in.IonsMmolPerKg} {
		if m != nil {
			given++
		}
	}
	if given != 1 {
		return brine.Totals{}, nil, invalid("salts_g_per_l", "", "one of salts_g_per_l, salts_mmol_per_kg_water and ions_mmol_per_kg is needed; %d are given", given)
	}
	if in.DICMmolPerKg != nil && in.IonsMmolPerKg == nil {
		return brine.Totals{}, nil, invalid("dic_mmol_per_kg", "", "dic_mmol_per_kg stands only beside ions_mmol_per_kg")
	}
	switch {
	case in.SaltsGPerL != nil:
		t, _, err := brine.FromSalts(in.SaltsGPerL)
		return t, []string{"grams in a litre of finished solution at 25 °C"}, fromBrineAt("salts_g_per_l", err)
	case in.SaltsMmolPerKg != nil:
		t, err := brine.FromSaltsPerKg(in.SaltsMmolPerKg)
		return t, []string{"millimoles in a kilogram of water"}, fromBrineAt("salts_mmol_per_kg_water", err)
	}
	var t brine.Totals
	for _, name := range sortedKeys(in.IonsMmolPerKg) {
		k, ok := ionNames[strings.TrimRight(name, "+-0123456789")]
		if exact, is := ionNames[name]; is {
			k, ok = exact, true
		}
		if !ok {
			return t, nil, invalid("ions_mmol_per_kg."+name, "known are "+joinKeys(ionNames), "ion %q is not known", name)
		}
		t[k] += in.IonsMmolPerKg[name] / 1000
	}
	if in.DICMmolPerKg != nil {
		t[brine.DIC] = *in.DICMmolPerKg / 1000
	}
	return t, []string{"alkalinity from the balance of the given charges"}, nil
}

// letFall lets minerals fall out until the water holds them.
func (in *waterIn) letFall(s *brine.Solver, t *brine.Totals, w *brine.Water, out *waterOut) error {
	out.PrecipitatedMmolKg = map[string]float64{}
	if len(in.Precipitate) == 0 {
		return nil
	}
	var minerals []brine.Mineral
	for _, name := range in.Precipitate {
		m, ok := brine.MineralByName(name)
		if !ok {
			return invalid("precipitate", "", "precipitate %q is not a mineral that is known", name)
		}
		if !slices.Contains(minerals, m) {
			minerals = append(minerals, m)
		}
	}
	// Open to air, what falls out moves the carbon and the carbon what falls
	// out: in turns until both stand still.
	for range 60 {
		gone, err := s.Precipitate(t, in.TempC, minerals, w)
		if err != nil {
			return fromBrine(err)
		}
		moved := 0.0
		for _, m := range minerals {
			out.PrecipitatedMmolKg[m.String()] += gone[m] * 1000
			moved += gone[m]
		}
		if in.PCO2PPM == nil || moved < 1e-10 {
			break
		}
		if err := s.OpenTo(t, in.TempC, *in.PCO2PPM*1e-6, w); err != nil {
			return fromBrine(err)
		}
	}
	out.Assumptions = append(out.Assumptions, "what falls out does so to equilibrium; in a pond it takes days and may hang as a cloud")
	return nil
}

func fromBrine(err error) error { return fromBrineAt("", err) }

// fromBrineAt turns an error of the chemistry into one of the farm at a field.
func fromBrineAt(field string, err error) error {
	if err == nil {
		return nil
	}
	var se *brine.SaltError
	var ie *brine.InputError
	var ne *brine.NoSolutionError
	at := func(more string) string {
		if field == "" || more == "" {
			return field + more
		}
		return field + "." + more
	}
	switch {
	case errors.As(err, &se):
		return &farm.Error{Code: farm.Invalid, Field: at(se.Formula), Message: se.Error(), Hint: se.Hint}
	case errors.As(err, &ie):
		return &farm.Error{Code: farm.Invalid, Field: at(ie.Field), Message: ie.Error(), Hint: ie.Hint}
	case errors.As(err, &ne):
		return &farm.Error{Code: farm.Invalid, Field: at("salts_g_per_l"), Message: ne.Error(), Hint: "no answer is given where none was found"}
	}
	return err
}
