package calc

import (
	"fmt"
	"math"

	"sodalake/science/process"
)

type pouredRow struct {
	Min    float64 `json:"min" label:"After" unit:"min"`
	Litres float64 `json:"l" label:"Poured" unit:"L"`
}

type pressIn struct {
	VolumeL    float64     `json:"volume_l" label:"Culture poured through the cloth" unit:"L" min:"0.1" max:"1000000"`
	DensityGL  float64     `json:"density_g_per_l" label:"Its dry matter" unit:"g/L" min:"0.01" max:"60"`
	SpreadPct  float64     `json:"density_spread_pct" label:"How well that is known" unit:"%" min:"0" max:"100" default:"20" help:"one standard error"`
	CapturePct float64     `json:"capture_pct" label:"Held back by the cloth" unit:"%" min:"10" max:"100" default:"95"`
	DrainedKg  *float64    `json:"drained_kg" label:"Drained paste weighs" unit:"kg" min:"0.001" max:"100000"`
	PressedKg  *float64    `json:"pressed_kg" label:"Pressed paste weighs" unit:"kg" min:"0.001" max:"100000"`
	AreaM2     *float64    `json:"cloth_m2" label:"Cloth" unit:"m²" min:"0.001" max:"1000"`
	Minutes    *float64    `json:"minutes" label:"Time there is" unit:"min" min:"1" max:"10000" help:"tells the cloth it takes"`
	Poured     []pouredRow `json:"poured" label:"Litres through the cloth by the minute" kind:"rows" help:"twice at least: replaces the default cloth"`
}

type pressOut struct {
	DryG          float64  `json:"dry_g" label:"Dry matter on the cloth" unit:"g"`
	DryLowG       float64  `json:"dry_low_g" label:"One in ten lies below" unit:"g"`
	DryHighG      float64  `json:"dry_high_g" label:"One in ten lies above" unit:"g"`
	DrainedLowKg  float64  `json:"drained_expected_low_kg" label:"Drained paste to expect, from" unit:"kg"`
	DrainedHighKg float64  `json:"drained_expected_high_kg" label:"to" unit:"kg"`
	PressedLowKg  float64  `json:"pressed_expected_low_kg" label:"Pressed paste to expect, from" unit:"kg"`
	PressedHighKg float64  `json:"pressed_expected_high_kg" label:"to" unit:"kg"`
	DrainedSolids *float64 `json:"drained_solids_pct,omitempty" label:"Dry matter of the drained paste by this" unit:"%"`
	PressedSolids *float64 `json:"pressed_solids_pct,omitempty" label:"Dry matter of the pressed paste by this" unit:"%"`
	WaterOutKg    *float64 `json:"water_pressed_out_kg,omitempty" label:"Water pressed out" unit:"kg"`
	StillOutKg    *float64 `json:"water_still_to_press_kg,omitempty" label:"Water still to leave for 20 %" unit:"kg"`
	ProductG      float64  `json:"product_g" label:"Dried product at 5 % of water" unit:"g"`
	ClothMin      *float64 `json:"cloth_min,omitempty" label:"Time on this cloth" unit:"min"`
	FluxStart     *float64 `json:"flux_start_l_per_m2_h,omitempty" label:"Flux at first" unit:"L/m²/h"`
	FluxEnd       *float64 `json:"flux_end_l_per_m2_h,omitempty" label:"Flux at the end" unit:"L/m²/h"`
	HalfLoadGM2   *float64 `json:"half_load_g_per_m2,omitempty" label:"The flux is halved at" unit:"g/m²"`
	ClothM2       *float64 `json:"cloth_needed_m2,omitempty" label:"Cloth for that time" unit:"m²"`
	Told
}

// Press is the calculator of cloth and press.
func Press() *Calculator {
	return Define(About{
		Name: "press", Title: "Cloth and press",
		Sentence: "What a harvest should weigh drained and pressed, what its own weights say of its dry matter, and how long a cloth takes.",
		Equations: []string{
			"dry matter = volume x density x share held back",
			"mass = dry matter / solids; drained 8 to 12 %, pressed 15 to 27 %",
			"t = q/J0 (1 + X q/(2 g)), q = V/A, J = J0/(1 + X q/g): cake filtration, Ruth 1935",
		},
		Sources: []Source{
			{"ruth1935", "Ruth 1935, Industrial & Engineering Chemistry 27:708"},
			{"geankoplis2003", "Geankoplis 2003, section 14.2"},
			{"tiendrebeogo2015", "Tiendrebeogo et al. 2015, Food and Nutrition Sciences 6:1437 (solids of pressed paste)"},
			{"abcburkina", "abcburkina, La spiruline, part 2 (solids of drained and pressed paste)"},
			{"", "the default cloth, 1500 L/m²/h clean and half of it at 250 g/m²: judgement, no source; press until the water runs slightly green: common practice, no source"},
		},
		Cautions: []string{"A slow cloth, wet paste or green water are signs: pour clean water through the same cloth. Slow with clean water it is the cloth, fast it is the culture."},
		Example:  `{"volume_l":500,"density_g_per_l":0.5,"drained_kg":2.4,"pressed_kg":1.2,"cloth_m2":0.5}`,
	}, computePress)
}

func computePress(in pressIn) (pressOut, error) {
	const tenth = 1.2815515655446004 // standard normal quantile at 0.9
	out := pressOut{DryG: process.Caught(in.VolumeL, in.DensityGL, 0, in.CapturePct/100)}
	spread := math.Exp(tenth * in.SpreadPct / 100)
	out.DryLowG, out.DryHighG = out.DryG/spread, out.DryG*spread
	drained, _ := process.StageOf("drained")
	pressed, _ := process.StageOf("pressed")
	out.DrainedLowKg, out.DrainedHighKg = process.Mass(out.DryLowG, drained.High)/1000, process.Mass(out.DryHighG, drained.Low)/1000
	out.PressedLowKg, out.PressedHighKg = process.Mass(out.DryLowG, pressed.High)/1000, process.Mass(out.DryHighG, pressed.Low)/1000
	out.ProductG = process.Mass(out.DryG, 1-process.AimMoisture)
	if in.DrainedKg != nil && in.PressedKg != nil {
		if *in.PressedKg > *in.DrainedKg {
			return out, invalid("pressed_kg", "", "pressed_kg %g is more than the %g drained", *in.PressedKg, *in.DrainedKg)
		}
		out.WaterOutKg = finite(*in.DrainedKg - *in.PressedKg)
	}
	for _, w := range []struct {
		kg    *float64
		into  **float64
		stage process.Stage
	}{{in.DrainedKg, &out.DrainedSolids, drained}, {in.PressedKg, &out.PressedSolids, pressed}} {
		if w.kg == nil {
			continue
		}
		s := out.DryG / (*w.kg * 1000)
		*w.into = finite(100 * s)
		switch low, high := out.DryLowG/(*w.kg*1000), out.DryHighG/(*w.kg*1000); {
		case low > w.stage.High:
			out.Cautions = append(out.Cautions, fmt.Sprintf("The %s paste weighs less than this culture should give: was some left behind, or was the density read too high?", w.stage.Name))
		case high < w.stage.Low:
			out.Cautions = append(out.Cautions, fmt.Sprintf("The %s paste weighs more than this culture should give: it holds more water than usual, or the density was read too low.", w.stage.Name))
		}
	}
	if in.PressedKg != nil {
		out.StillOutKg = finite(math.Max(0, *in.PressedKg-process.Mass(out.DryG, pressed.Mid)/1000))
	}
	return out, out.cloth(in)
}

func (out *pressOut) cloth(in pressIn) error {
	c := process.HandRaked
	held := in.DensityGL * in.CapturePct / 100
	if len(in.Poured) > 0 {
		if in.AreaM2 == nil {
			return invalid("cloth_m2", "", "cloth_m2 is missing beside what was poured")
		}
		readings := make([]process.Poured, len(in.Poured))
		for i, r := range in.Poured {
			readings[i] = process.Poured{TimeS: 60 * r.Min, VolumeL: r.Litres}
		}
		var err error
		if c, err = process.FitCloth(readings, *in.AreaM2, held); err != nil {
			e := fromProcess(err)
			return renamed(e, "readings", "poured")
		}
		out.Assumptions = append(out.Assumptions, "the cloth as it was poured through this time")
	} else {
		out.Assumptions = append(out.Assumptions, "a cloth of 30 to 40 µm, raked by hand; note litres and minutes to replace it by your own")
	}
	if in.AreaM2 != nil {
		out.ClothMin = finite(c.TimeS(in.VolumeL, *in.AreaM2, held) / 60)
		out.FluxStart, out.FluxEnd = finite(c.StartLM2H), finite(c.FluxLM2H(in.VolumeL, *in.AreaM2, held))
		out.HalfLoadGM2 = finite(c.HalfLoadGM2)
		if out.ClothMin != nil && *out.ClothMin > 120 {
			out.Cautions = append(out.Cautions, "Longer than two hours on the cloth is past the plan of the wet stage: more cloth, or less culture at a time.")
		}
	}
	if in.Minutes != nil {
		out.ClothM2 = finite(c.AreaM2(in.VolumeL, 60**in.Minutes, held))
	}
	out.Assumptions = append(out.Assumptions, fmt.Sprintf("%s %% held back; the density is good to %s %%", Digits(in.CapturePct), Digits(in.SpreadPct)))
	return nil
}
