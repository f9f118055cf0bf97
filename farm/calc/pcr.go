package calc

import (
	"fmt"
	"strings"

	"sodalake/science/assay"
)

type pcrIn struct {
	Samples    int                `json:"samples" label:"Samples" min:"0" max:"5000"`
	Replicates int                `json:"replicates" label:"Tubes for each sample" min:"1" max:"20" default:"1"`
	Positives  int                `json:"positive_controls" label:"Positive controls" min:"0" max:"100" default:"1"`
	NoTemplate int                `json:"no_template_controls" label:"Controls without template" min:"0" max:"100" default:"1"`
	Blanks     int                `json:"extraction_blanks" label:"Extraction blanks" min:"0" max:"100" default:"1"`
	SparePct   float64            `json:"spare_pct" label:"Spare" unit:"%" min:"0" max:"100" default:"10"`
	ReactionUL float64            `json:"reaction_ul" label:"Volume of a tube" unit:"µL" min:"1" max:"1000" default:"25"`
	TemplateUL float64            `json:"template_ul" label:"Extract in a tube" unit:"µL" min:"0" max:"500" default:"2"`
	MixTimes   float64            `json:"mix_times" label:"Ready mix, so many times concentrated" min:"1" max:"20" default:"2"`
	StockUM    float64            `json:"primer_stock_um" label:"Primers in the bottle" unit:"µM" min:"0.1" max:"1000" default:"10"`
	FinalUM    float64            `json:"primer_um" label:"Primers in the tube" unit:"µM" min:"0.01" max:"10" default:"0.4"`
	ExtraUL    map[string]float64 `json:"extra_ul_per_tube" label:"Anything else, in a tube" unit:"µL" min:"0.01" max:"500" help:"albumin 1"`
	Assay      string             `json:"assay,omitempty" label:"Primers" help:"hep, mcya-cd, mcye-general, anac, sxta, cyrj, 16s-106, 16s-359: prints their sequences and product"`
	GelML      float64            `json:"gel_ml" label:"Gel" unit:"mL" min:"0" max:"2000" default:"50"`
	GelPct     float64            `json:"gel_pct" label:"Agarose in it" unit:"%" min:"0.3" max:"5" default:"1.5"`
}

type pcrPart struct {
	What   string  `json:"what" label:"take"`
	TubeUL float64 `json:"tube_ul" label:"for a tube" unit:"µL"`
	MixUL  float64 `json:"mix_ul" label:"for the mix" unit:"µL"`
}

type pcrOut struct {
	Tubes      int       `json:"tubes" label:"Tubes in all"`
	Made       float64   `json:"made_for_tubes" label:"Mix made for"`
	Parts      []pcrPart `json:"parts" label:"Master mix" kind:"rows"`
	TotalUL    float64   `json:"total_ul" label:"Mix in all" unit:"µL"`
	DispenseUL float64   `json:"dispense_ul" label:"Into each tube" unit:"µL"`
	TemplateUL float64   `json:"template_ul" label:"then extract" unit:"µL"`
	LeftUL     float64   `json:"left_ul" label:"Left over" unit:"µL"`
	AgaroseG   *float64  `json:"agarose_g,omitempty" label:"Agarose for the gel" unit:"g"`
	Forward    string    `json:"forward,omitempty" label:"Forward primer"`
	Reverse    []string  `json:"reverse,omitempty" label:"Reverse primer, more than one in equal parts"`
	ProductBP  *float64  `json:"product_bp,omitempty" label:"Product" unit:"bp"`
	AnnealC    *float64  `json:"anneal_c,omitempty" label:"Annealing, to begin with" unit:"°C"`
	Copies     *float64  `json:"copies_per_ng,omitempty" label:"Copies of the product in a nanogram"`
	Told
}

// PCR is the calculator of a run's master mix.
func PCR() *Calculator {
	return Define(About{
		Name: "pcr", Title: "Mix a run",
		Sentence: "Master mix for so many samples with their controls and a spare, what goes into each tube, and the gel for it.",
		Equations: []string{
			"in a tube: v = V x final / stock; in the mix: v x tubes x (1 + spare); water to the rest",
			"agarose = percent x volume / 100",
			"copies in a nanogram = 1e-9 x 6.02214076e23 / (617.96 x bp + 36.04)",
		},
		Sources: []Source{
			{"bustin2009", "Bustin et al. 2009, Clinical Chemistry 55:611 (which controls, from memory)"},
			{"", "volumes and spare: common practice, no source; mean mass of a base pair: from memory"},
		},
		Cautions: []string{
			"A run without a positive control, a control without template and an extraction blank is invalid, whatever it shows; each sample needs its 16S companion from the same extract.",
			"Mix, extract and gel in different places, in this order; gloves; stains and ultraviolet light harm.",
		},
		Example: `{"samples":8,"assay":"hep"}`,
	}, computePCR)
}

func computePCR(in pcrIn) (pcrOut, error) {
	var out pcrOut
	r := assay.Reaction{TotalUL: in.ReactionUL, TemplateUL: in.TemplateUL, Parts: []assay.Part{
		{Name: "ready mix", Stock: in.MixTimes, Final: 1},
		{Name: "forward primer", Stock: in.StockUM, Final: in.FinalUM},
		{Name: "reverse primer", Stock: in.StockUM, Final: in.FinalUM},
	}}
	for _, name := range sortedKeys(in.ExtraUL) {
		// So many microlitres of a tube are a part of so much strength.
		r.Parts = append(r.Parts, assay.Part{Name: name, Stock: in.ReactionUL, Final: in.ExtraUL[name]})
	}
	m, err := assay.Master(r, in.Samples*in.Replicates, in.Positives+in.NoTemplate+in.Blanks, in.SparePct/100)
	if err != nil {
		return out, fromAssay(err)
	}
	out.Tubes, out.Made, out.TotalUL, out.DispenseUL, out.LeftUL, out.TemplateUL = m.Tubes, m.Made, m.TotalUL, m.DispenseUL, m.LeftUL, in.TemplateUL
	for _, p := range m.Parts {
		out.Parts = append(out.Parts, pcrPart{p.Name, p.TubeUL, p.MixUL})
	}
	if in.GelML > 0 {
		out.AgaroseG = finite(assay.Agarose(in.GelPct, in.GelML))
	}
	for _, c := range []struct {
		n    int
		what string
	}{{in.Positives, "a positive control"}, {in.NoTemplate, "a control without template"}, {in.Blanks, "an extraction blank"}} {
		if c.n == 0 {
			out.Cautions = append(out.Cautions, "There is no tube for "+c.what+": the run will be invalid.")
		}
	}
	if in.Assay != "" {
		p, ok := assay.PrimerSet(in.Assay)
		if !ok {
			return out, invalid("assay", "known are "+primerNames(), "assay %q is not known", in.Assay)
		}
		out.Forward, out.Reverse, out.ProductBP, out.AnnealC = p.Forward, p.Reverse, finite(p.ProductBP), finite(p.AnnealC)
		out.Copies = finite(assay.Copies(1, p.ProductBP))
		line := fmt.Sprintf("%s: %s, for %s (%s)", p.Name, p.Gene, p.For, p.Source)
		if p.Unread != "" {
			line += "; from memory: " + p.Unread
		}
		out.Assumptions = append(out.Assumptions, line)
		if strings.HasPrefix(p.Name, "16s") && p.ProductBP < 500 {
			out.Cautions = append(out.Cautions, "447 bp cannot be told from the 472 bp of hep on a routine gel: take 16s-106 with its 700 bp as the companion.")
		}
	}
	return out, nil
}
