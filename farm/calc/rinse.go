package calc

import (
	"errors"
	"fmt"

	"sodalake/farm"
	"sodalake/science/process"
)

type rinseIn struct {
	PasteKg     float64  `json:"paste_kg" label:"Paste" unit:"kg" min:"0.001" max:"10000"`
	SolidsPct   float64  `json:"solids_pct" label:"Dry matter in it" unit:"%" min:"1" max:"60" default:"10" help:"drained about 10, pressed about 20"`
	WashL       float64  `json:"wash_l" label:"Water to rinse with" unit:"L" min:"0" max:"100000" default:"0" help:"none is the default: only what is eaten or dried at once"`
	Steps       int      `json:"steps" label:"Stirred in, in so many portions" min:"1" max:"20" default:"1"`
	MediumGL    float64  `json:"sodium_g_per_l" label:"Sodium in the medium" unit:"g/L" min:"0" max:"60" default:"4.2" help:"4.2 in a lean farm medium with salt, 5.7 in the classic one"`
	SaltsGL     *float64 `json:"salts_g_per_l" label:"All salts in the medium" unit:"g/L" min:"0" max:"200"`
	OutsidePct  float64  `json:"outside_pct" label:"Share of the paste's water outside the cells" unit:"%" min:"5" max:"100" default:"40"`
	Efficiency  float64  `json:"efficiency" label:"How well water pushes through" min:"0.1" max:"0.99" default:"0.7" help:"0.86 an even cake, 0.7 a poor one"`
	CellsGPerKg float64  `json:"sodium_in_cells_g_per_kg" label:"Sodium inside the cells" unit:"g/kg" min:"0" max:"40" default:"0" help:"of dry matter; no rinse takes it out"`
}

type rinseOut struct {
	DryG        float64  `json:"dry_g" label:"Dry matter" unit:"g"`
	LiquorL     float64  `json:"liquor_l" label:"Medium held outside the cells" unit:"L"`
	Ratio       float64  `json:"wash_ratio" label:"Water to that"`
	Unrinsed    float64  `json:"sodium_unrinsed_g_per_kg" label:"Sodium of the medium on dry matter, not rinsed" unit:"g/kg"`
	PushedLeft  float64  `json:"left_pushed" label:"Share left, water pushed through"`
	StirredLeft float64  `json:"left_stirred" label:"Share left, stirred in and drained"`
	MixedLeft   float64  `json:"left_flushed" label:"Share left, flushed while mixed"`
	SodiumLow   float64  `json:"sodium_low_g_per_kg" label:"Sodium on dry matter after, from" unit:"g/kg"`
	SodiumHigh  float64  `json:"sodium_high_g_per_kg" label:"to" unit:"g/kg"`
	SaltsLow    *float64 `json:"salts_low_g_per_kg,omitempty" label:"Salts on dry matter after, from" unit:"g/kg"`
	SaltsHigh   *float64 `json:"salts_high_g_per_kg,omitempty" label:"to" unit:"g/kg"`
	Told
}

// Rinse is the calculator of what rinsing takes away.
func Rinse() *Calculator {
	return Define(About{
		Name: "rinse", Title: "Rinse or not?",
		Sentence: "What of the medium's salt stays in the paste with and without rinsing, and what rinsing costs in keeping.",
		Equations: []string{
			"salt on dry matter = concentration x (1 - s)/s x share outside the cells x share left",
			"share left: pushed through (1 - E)^n; stirred in k portions (1 + n/k)^-k; flushed while mixed exp(-n); n = water over liquor held",
		},
		Sources: []Source{
			{"perry2008", "Green & Perry 2008, section 18 (displacement washing, from memory)"},
			{"branyikova", "Brányiková et al., Journal of Applied Phycology (washed paste keeps for less)"},
			{"jourdan2014", "Jourdan 2014 (washed paste cannot be kept)"},
			{"", "40 % of the water outside the cells: judgement, no source"},
		},
		Cautions: []string{
			"Washed paste does not keep, not even in a refrigerator: rinse only what is eaten or dried at once, with drinking water free of chlorine.",
			"Fresh water bursts cells and takes the blue out: a little salt in the water, or medium's strength, spares them.",
		},
		Example: `{"paste_kg":2,"solids_pct":10,"wash_l":0}`,
	}, func(in rinseIn) (rinseOut, error) {
		s := in.SolidsPct / 100
		outside := in.OutsidePct / 100
		out := rinseOut{DryG: in.PasteKg * 1000 * s, LiquorL: in.PasteKg * (1 - s) * outside}
		out.Ratio = in.WashL / out.LiquorL
		out.PushedLeft = process.Displaced(out.Ratio, in.Efficiency)
		out.StirredLeft = process.Stirred(out.Ratio, in.Steps)
		out.MixedLeft = process.Flushed(out.Ratio)
		low := min(out.PushedLeft, out.StirredLeft, out.MixedLeft)
		high := max(out.PushedLeft, out.StirredLeft, out.MixedLeft)
		out.Unrinsed = process.SaltInCake(in.MediumGL, s, outside, 1)
		out.SodiumLow = process.SaltInCake(in.MediumGL, s, outside, low) + in.CellsGPerKg
		out.SodiumHigh = process.SaltInCake(in.MediumGL, s, outside, high) + in.CellsGPerKg
		if in.SaltsGL != nil {
			out.SaltsLow = finite(process.SaltInCake(*in.SaltsGL, s, outside, low))
			out.SaltsHigh = finite(process.SaltInCake(*in.SaltsGL, s, outside, high))
		}
		out.Assumptions = append(out.Assumptions,
			fmt.Sprintf("%s %% of the paste's water lies outside the cells and is medium; a litre of it weighs a kilogram", Digits(in.OutsidePct)),
			"the band is of the three models; none was measured on spirulina")
		if in.WashL > 0 {
			out.Cautions = append(out.Cautions, "From now on this is washed paste: eat it today or dry it at once.")
		} else {
			out.Assumptions = append(out.Assumptions, "no rinse, as advised for what is to be kept")
		}
		return out, nil
	})
}

// fromProcess turns an input error of the process's science into one of the
// farm.
func fromProcess(err error) error {
	var in *process.InputError
	if errors.As(err, &in) {
		return &farm.Error{Code: farm.Invalid, Field: in.Field, Message: in.Reason, Hint: in.Hint}
	}
	return err
}
