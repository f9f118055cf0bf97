package calc

import (
	"fmt"

	"sodalake/science/medium"
	"sodalake/science/units"
)

type dechlorinateIn struct {
	VolumeL      float64 `json:"volume_l" label:"Water" unit:"L" min:"0.05" max:"10000000"`
	FreeMgPerL   float64 `json:"free_chlorine_mg_per_l" label:"Free chlorine" unit:"mg/L" min:"0" max:"20" default:"0" help:"by a strip"`
	TotalMgPerL  float64 `json:"total_chlorine_mg_per_l" label:"Total chlorine" unit:"mg/L" min:"0" max:"20" default:"0" help:"total less free is chloramine"`
	By           string  `json:"by" label:"By" choices:"ascorbic-acid|sodium-ascorbate|thiosulfate|sodium-sulfite|metabisulfite|bisulfite|standing|carbon" default:"ascorbic-acid"`
	LitresPerMin float64 `json:"flow_l_per_min" label:"Flow through the carbon" unit:"L/min" min:"0.01" max:"1000" default:"2"`
	Measures     string  `json:"measures" label:"Cups and spoons" choices:"metric|us" default:"metric"`
}

type dechlorinateOut struct {
	DoseMg         *float64 `json:"dose_mg,omitempty" label:"Stir in" unit:"mg"`
	Kitchen        string   `json:"kitchen" label:"or level"`
	MostMg         *float64 `json:"most_mg,omitempty" label:"If a strip still shows chlorine, no more than this in all" unit:"mg"`
	StoichMg       *float64 `json:"stoichiometric_mg,omitempty" label:"What the reaction wants at best" unit:"mg"`
	WaitMin        *float64 `json:"wait_min,omitempty" label:"Then wait" unit:"min"`
	StandHLow      *float64 `json:"standing_h_low,omitempty" label:"Stand open from" unit:"h"`
	StandH         *float64 `json:"standing_h,omitempty" label:"Stand open about" unit:"h"`
	StandHHigh     *float64 `json:"standing_h_high,omitempty" label:"Stand open up to" unit:"h"`
	CarbonL        *float64 `json:"carbon_l,omitempty" label:"Granular carbon" unit:"L"`
	Test           string   `json:"test" label:"It is gone when"`
	AmmoniaNMgPerL float64  `json:"ammonia_n_left_mg_per_l" label:"Ammonia left of chloramine, as nitrogen" unit:"mg/L"`
	SodiumMgPerL   float64  `json:"sodium_added_mg_per_l" label:"Sodium added" unit:"mg/L"`
	SulfateMgPerL  float64  `json:"sulfate_added_mg_per_l" label:"Sulfate added" unit:"mg/L"`
	ChlorideMgPerL float64  `json:"chloride_left_mg_per_l" label:"Chloride left" unit:"mg/L"`
	AcidMeqPerL    float64  `json:"alkalinity_taken_meq_per_l" label:"Alkalinity taken" unit:"meq/L"`
	Told
}

// Dechlorinate is the calculator that makes tap water fit.
func Dechlorinate() *Calculator {
	return Define(About{
		Name: "dechlorinate", Title: "Take chlorine out of water",
		Sentence: "Dose, waiting time, the test that it is gone and what stays behind, for vitamin C, thiosulfate and sulfites, standing, and carbon.",
		Equations: []string{
			"ascorbic acid: C6H8O6 + HOCl = C6H6O6 + Cl- + H+ + H2O; 2.48 mg for a milligram of chlorine, 2.5 in the field",
			"thiosulfate: 0.875 (to sulfate), 3.5 (to sulfate and sulfur) or 7.0 mg of the crystals; 1.9 in the field",
			"sulfite 1.78, metabisulfite 1.34, bisulfite 1.47 mg; a tenth more in the field",
			"chloramine: the same, and 0.1975 mg of ammonia nitrogen stay for each milligram",
			"standing: t = ln(c / 0.1) / k, k = 0.19 to 0.021 per hour",
			"carbon: flow x 5 min of contact, 12 min where there is chloramine",
		},
		Sources: []Source{
			{"land2005", "Land 2005, USDA Forest Service 0523-1301-SDTDC, and the field guide's table behind it"},
			{"ciaaw2024", "weights: IUPAC abridged standard atomic weights"},
			{"", "standing: an assumption between popular accounts (half a day to five days), no source; carbon: from memory"},
		},
		Cautions: []string{
			"Never bleach together with vinegar or another acid (chlorine gas), nor with urea or ammonia (chloramine gas).",
			"The strip decides, not the clock: total chlorine under 0.1 mg/L before a culture or a salt goes in.",
		},
		Example: `{"volume_l":500,"free_chlorine_mg_per_l":0.8,"total_chlorine_mg_per_l":0.8}`,
	}, computeDechlorinate)
}

func computeDechlorinate(in dechlorinateIn) (dechlorinateOut, error) {
	var out dechlorinateOut
	free, total := in.FreeMgPerL, in.TotalMgPerL
	switch {
	case free <= 0 && total <= 0:
		return out, invalid("free_chlorine_mg_per_l", "dip a strip: town water often holds 0.2 to 2 mg/L", "free_chlorine_mg_per_l or total_chlorine_mg_per_l is needed")
	case total <= 0:
		total = free
		out.Assumptions = append(out.Assumptions, "no total chlorine was read: no chloramine is assumed; a strip for total chlorine shows it")
	case total < free:
		return out, invalid("total_chlorine_mg_per_l", "", "total_chlorine_mg_per_l %g is less than the free chlorine, %g", total, free)
	}
	combined := total - free
	out.Test = "a strip or photometer for total chlorine shows less than 0.1 mg/L, twice, ten minutes apart"
	switch in.By {
	case "standing":
		b := medium.StandHours(free)
		out.StandHLow, out.StandH, out.StandHHigh = finite(b.Low), finite(b.Mid), finite(b.High)
		out.ChlorideMgPerL = free / 70.90 * 35.45
		out.Assumptions = append(out.Assumptions, "open, shallow, stirred now and then; a tall bucket takes days")
		if combined > 0.05 {
			out.StandHLow, out.StandH, out.StandHHigh = nil, nil, nil
			out.Cautions = append(out.Cautions, fmt.Sprintf("%s mg/L of it is chloramine, which does not leave by standing: vitamin C, thiosulfate or carbon.", Digits(combined)))
		}
		return out, nil
	case "carbon":
		litres := medium.CarbonLitres(in.LitresPerMin, combined > 0.05)
		out.CarbonL = &litres
		out.Assumptions = append(out.Assumptions, "fresh granular carbon, the empty bed's time of contact; it wears out: test what comes out each time")
		out.Cautions = append(out.Cautions, "Carbon grows germs: rinse it first, and let the first litres run off.")
		out.AmmoniaNMgPerL = combined * 14.007 / 70.90
		return out, nil
	}
	r, ok := medium.ReagentByName(in.By)
	if !ok {
		return out, invalid("by", "", "by %q is not known", in.By)
	}
	d := r.Dechlorinate(in.VolumeL, free, combined)
	i, err := medium.Lookup(r.ID, medium.US)
	if err != nil {
		return out, fromMedium("by", err)
	}
	out.DoseMg, out.MostMg, out.StoichMg = finite(d.DoseMg), finite(d.MostMg), finite(d.LeastMg)
	out.Kitchen = spoons(i, d.DoseMg/1000, in.Measures, units.Nearest)
	wait := 5.0
	if combined > 0.05 {
		wait = 15
	}
	out.WaitMin = &wait
	out.AmmoniaNMgPerL, out.SodiumMgPerL, out.SulfateMgPerL, out.ChlorideMgPerL, out.AcidMeqPerL = d.AmmoniaNMgL, d.SodiumMgL, d.SulfateMgL, d.ChlorideMgL, d.AcidMeqL
	out.Assumptions = append(out.Assumptions, "waiting times are common practice, no source: minutes for free chlorine, a quarter of an hour for chloramine")
	out.Cautions = append(out.Cautions, ingredientCautions([]medium.Dose{{Of: i}})...)
	switch r.ID {
	case "thiosulfate":
		out.Cautions = append(out.Cautions, "How far thiosulfate goes depends on the pH: begin with the dose, test, add no more than the upper figure. Too much of it takes oxygen from the water.")
	case "sodium-sulfite", "metabisulfite", "bisulfite":
		out.Cautions = append(out.Cautions, "Sulfites harm people with asthma and must be told on food: keep them away from the product.")
	case "ascorbic-acid":
		out.Cautions = append(out.Cautions, "Far too much vitamin C makes soft water sour and feeds bacteria.")
	}
	if combined > 0.05 {
		out.Cautions = append(out.Cautions, "The ammonia of the chloramine stays in the water: a trivial feed at this amount, and counted as such.")
	}
	return out, nil
}
