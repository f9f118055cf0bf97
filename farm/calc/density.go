package calc

import (
	"math"

	"sodalake/science/growth"
)

type densityIn struct {
	SecchiCM       *float64 `json:"secchi_cm" label:"Disc out of sight at" unit:"cm" min:"0.1" max:"100" help:"this, or one of the others below"`
	SeenToFloor    bool     `json:"seen_to_floor" label:"Disc still seen at the floor"`
	FiltrateCM     *float64 `json:"filtrate_secchi_cm" label:"Same disc in the filtrate" unit:"cm" min:"0.1" max:"100" help:"takes chalk and foreign greens away"`
	OD750          *float64 `json:"od_750" label:"Optical density at 750 nm, 1 cm" min:"0.001" max:"50"`
	DryWeightMg    *float64 `json:"dry_weight_mg" label:"Dry matter on the filter" unit:"mg" min:"0.001" max:"1000000" help:"together with the volume"`
	FilteredML     *float64 `json:"filtered_ml" label:"Volume through the filter" unit:"mL" min:"0.1" max:"100000"`
	Colour         string   `json:"colour,omitempty" label:"Colour, stirred" choices:"|clear|tinged|light green|green|dark green|near black"`
	SecchiConstant *float64 `json:"secchi_constant_g_cm_per_l" label:"Own disc constant" unit:"g cm/L" min:"0.2" max:"5" help:"from own dry weights; else 1.2"`
	ODPerUnit      *float64 `json:"od_g_per_l" label:"Own dry matter per unit of optical density" unit:"g/L" min:"0.05" max:"5" help:"else 0.5"`
	Flags          []string `json:"flags" label:"What spoils it" help:"unstirred, chalk, greens, pale, low_sun"`
	VolumeL        *float64 `json:"volume_l" label:"Volume of the culture" unit:"L" min:"0.01" max:"10000000" help:"to tell grams"`
	DepthCM        *float64 `json:"depth_cm" label:"Depth of the water" unit:"cm" min:"0.5" max:"500" help:"to tell grams on a square metre"`
}

type densityOut struct {
	DensityGPerL float64  `json:"density_g_per_l" label:"Dry matter" unit:"g/L"`
	LowGPerL     float64  `json:"low_g_per_l" label:"One in ten lies below" unit:"g/L"`
	HighGPerL    float64  `json:"high_g_per_l" label:"One in ten lies above" unit:"g/L"`
	UpperBound   bool     `json:"upper_bound" label:"Only an upper bound"`
	DryG         *float64 `json:"dry_g,omitempty" label:"Dry matter in all" unit:"g"`
	DryGPerM2    *float64 `json:"dry_g_per_m2,omitempty" label:"Dry matter on a square metre" unit:"g"`
	SecchiCM     float64  `json:"secchi_cm" label:"Disc would go out of sight at" unit:"cm"`
	Told
}

// flagWords are the words for what spoils a reading.
var flagWords = map[string]growth.Flag{
	"unstirred": growth.Unstirred, "chalk": growth.Chalk, "greens": growth.Greens, "pale": growth.Pale, "low_sun": growth.LowSun,
}

// Density is the calculator from a reading to dry matter.
func Density() *Calculator {
	return Define(About{
		Name: "density", Title: "How thick is it?",
		Sentence: "Dry matter in a litre from the disc, an optical density, a weighed filter or the colour, with the spread that each deserves.",
		Equations: []string{
			"disc: X = K/d, K = 1.2 g cm/L; var ln X = (s/d)^2 + var ln K, s = 0.25 cm",
			"with a filtrate reading: X = K (1/d - 1/df)",
			"optical density: X = 0.50 OD750",
			"filter: X = mass / volume",
		},
		Sources: []Source{
			{"preisendorfer1986", "Preisendorfer 1986, Limnology and Oceanography 31:909 (theory of the disc, from memory), with the optics of Cornet & Dussap 2009"},
			{"karemore2020", "Karemore, Yuan, Porubsky & Chance 2020 (0.5 g/L per unit at 750 nm)"},
			{"", "disc constants of growers, 0.9 to 1.6: common practice, no source"},
		},
		Example: `{"secchi_cm":2.4,"volume_l":1800,"depth_cm":18}`,
	}, func(in densityIn) (densityOut, error) {
		var flags growth.Flag
		for _, w := range in.Flags {
			f, ok := flagWords[w]
			if !ok {
				return densityOut{}, invalid("flags", "known are "+joinKeys(flagWords), "flags %q is not known", w)
			}
			flags |= f
		}
		d, how, err := in.reading(flags)
		if err != nil {
			return densityOut{}, err
		}
		const tenth = 1.2815515655446004 // standard normal quantile at 0.9
		k := growth.SecchiConstant
		if in.SecchiConstant != nil {
			k = *in.SecchiConstant
		}
		out := densityOut{
			DensityGPerL: d.MedianGL, LowGPerL: d.MedianGL * math.Exp(-tenth*d.LogSD), HighGPerL: d.MedianGL * math.Exp(tenth*d.LogSD),
			UpperBound: d.Below, SecchiCM: growth.SecchiFromDensity(d.MedianGL, k),
		}
		if d.Below {
			out.LowGPerL = 0
		}
		if in.VolumeL != nil {
			g := d.MedianGL * *in.VolumeL
			out.DryG = &g
		}
		if in.DepthCM != nil {
			if in.SecchiCM != nil && !in.SeenToFloor && *in.SecchiCM > *in.DepthCM {
				return densityOut{}, invalid("secchi_cm", "a disc seen to the floor is told by seen_to_floor", "secchi_cm %g is deeper than the water, %g cm", *in.SecchiCM, *in.DepthCM)
			}
			g := d.MedianGL * *in.DepthCM * 10
			out.DryGPerM2 = &g
		}
		out.Assumptions = []string{how, "stirred before reading, unless flagged"}
		return out, nil
	})
}

func (in *densityIn) reading(flags growth.Flag) (growth.Density, string, error) {
	given := 0
	for _, there := range []bool{in.SecchiCM != nil, in.OD750 != nil, in.DryWeightMg != nil || in.FilteredML != nil, in.Colour != ""} {
		if there {
			given++
		}
	}
	if given != 1 {
		return growth.Density{}, "", invalid("secchi_cm", "", "one reading is needed: secchi_cm, od_750, dry_weight_mg with filtered_ml, or colour; %d are given", given)
	}
	switch {
	case in.SecchiCM != nil:
		s := growth.NewSecchi(*in.SecchiCM)
		how := "disc constant 1.2 g cm/L, ±18 %, until own dry weights replace it"
		if in.SecchiConstant != nil {
			// An own calibration by a few dry weights; 8 % is judgement.
			s.Constant, s.ConstantSD, how = *in.SecchiConstant, 0.08, "own disc constant, ±8 %"
		}
		s.ToFloor, s.Flags = in.SeenToFloor, flags
		if in.FiltrateCM != nil {
			s.FiltrateCM = *in.FiltrateCM
		}
		return s.Density(), how, nil
	case in.OD750 != nil:
		per, sd, how := growth.ODPerUnit, growth.ODPerUnitSD, "0.50 g/L per unit, ±25 %, until own dry weights replace it"
		if in.ODPerUnit != nil {
			per, sd, how = *in.ODPerUnit, 0.08, "own figure per unit, ±8 %"
		}
		return growth.DensityFromOD(*in.OD750, per, sd, flags), how, nil
	case in.Colour != "":
		c, _ := growth.ParseColour(in.Colour)
		return growth.DensityFromColour(c, flags), "a colour says little: the spread is wide", nil
	}
	if in.DryWeightMg == nil {
		return growth.Density{}, "", invalid("dry_weight_mg", "", "dry_weight_mg is missing beside filtered_ml")
	}
	if in.FilteredML == nil {
		return growth.Density{}, "", invalid("filtered_ml", "", "filtered_ml is missing beside dry_weight_mg")
	}
	// A kitchen scale of 0.01 g weighs a filter to about 7 mg.
	return growth.DensityFromDryWeight(*in.DryWeightMg / *in.FilteredML, 7 / *in.FilteredML, flags), "washed free of salt, dried to constant mass, scale good to 7 mg", nil
}

func joinKeys[V any](m map[string]V) string {
	s := ""
	for i, k := range sortedKeys(m) {
		if i > 0 {
			s += ", "
		}
		s += k
	}
	return s
}
