package canned

import "sodalake/farm/calc"

type dilutionIn struct {
	VolumeL   float64            `json:"volume_l" label:"Culture that you hold" unit:"L" min:"0.001" max:"1000000"`
	FromGPerL float64            `json:"from_g_per_l" label:"Its density" unit:"g/L" min:"0.01" max:"20" help:"dry matter"`
	ToGPerL   float64            `json:"to_g_per_l" label:"Density wanted" unit:"g/L" min:"0.01" max:"20"`
	Stir      string             `json:"stir" label:"Stirring" choices:"none|hand|continuous" default:"hand"`
	Note      []string           `json:"names,omitempty" label:"Names of vessels"`
	Salts     map[string]float64 `json:"salts_g_per_l,omitempty" label:"Salts of the medium" unit:"g/L"`
}

type dilutionOut struct {
	MediumL float64            `json:"medium_l" label:"Medium to add" unit:"L"`
	TotalL  float64            `json:"total_l" label:"Volume afterwards" unit:"L"`
	Salts   map[string]float64 `json:"salts_g,omitempty" label:"Salts to weigh" unit:"g"`
	calc.Told
}

// Calculators is a registry with one small calculator of its own, so that the
// pages can be tested without the science, and with mix, whose defaults open to
// who says what.
func Calculators() *calc.Registry {
	return calc.NewRegistry(calc.Define(calc.About{
		Name: "dilution", Title: "Thin a culture", Sentence: "How much medium brings a culture to a lower density.",
		Equations: []string{"V_add = V (X_from / X_to − 1), mass balance"},
		Sources:   []calc.Source{{Key: "none", Text: "Mass balance; no source needed."}},
		Cautions:  []string{"Thin culture bleaches in full sun: shade it."},
		Example:   `{"volume_l":200,"from_g_per_l":0.6,"to_g_per_l":0.2,"salts_g_per_l":{"NaHCO3":12,"KNO3":1.5}}`,
	}, func(in dilutionIn) (dilutionOut, error) {
		add := in.VolumeL * (in.FromGPerL/in.ToGPerL - 1)
		out := dilutionOut{MediumL: add, TotalL: in.VolumeL + add}
		out.Assumptions = []string{"the two mix without growth or loss"}
		if len(in.Salts) > 0 {
			out.Salts = map[string]float64{}
			for name, g := range in.Salts {
				out.Salts[name] = g * add
			}
		}
		return out, nil
	}), calc.Mix())
}
