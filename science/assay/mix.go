package assay

import (
	"fmt"
	"math"
)

// Part is one ingredient of a reaction, by its strength in the bottle and in
// the reaction, in one unit of its own (times, µM, mM).
type Part struct {
	Name  string
	Stock float64 // strength in the bottle [own unit]
	Final float64 // strength in the reaction [same unit as Stock]
}

// Reaction is how one tube is put together.
type Reaction struct {
	TotalUL    float64 // volume of a tube [µL]
	TemplateUL float64 // extract that goes into it [µL]
	Parts      []Part  // all but water and extract
}

// MixPart is one ingredient in a tube and in the whole mix.
type MixPart struct {
	Name   string
	TubeUL float64 // in one tube [µL]
	MixUL  float64 // in the master mix [µL]
}

// MasterMix is what is stirred together for a run.
type MasterMix struct {
	Tubes      int       // samples and controls
	Made       float64   // as many tubes as the mix is made for, with its spare [1]
	Parts      []MixPart // water last
	TotalUL    float64   // of the mix [µL]
	DispenseUL float64   // into each tube, before the extract [µL]
	LeftUL     float64   // of the mix when all is dispensed [µL]
}

// Master returns the master mix for a run of samples and controls (tubes), with
// spare as much again for what sticks to tips [1]:
//
//	in a tube: v = V final/stock;  in the mix: v · tubes · (1 + spare)
//
// Water fills each tube to its volume less the extract.
//
// Source: dilution, C₁V₁ = C₂V₂.
func Master(r Reaction, samples, controls int, spare float64) (MasterMix, error) {
	switch {
	case samples < 0 || controls < 0 || samples+controls < 1 || samples+controls > 10000:
		return MasterMix{}, bad("samples", "", fmt.Sprintf("samples %d and controls %d make no run", samples, controls))
	case !(spare >= 0 && spare <= 1):
		return MasterMix{}, bad("spare_pct", "5 to 10 % is enough", fmt.Sprintf("spare %g %% is not between 0 and 100", spare*100))
	case !(r.TotalUL > 0 && r.TotalUL <= 1000):
		return MasterMix{}, bad("reaction_ul", "", fmt.Sprintf("reaction_ul %g is not between 0 and 1000", r.TotalUL))
	case !(r.TemplateUL >= 0 && r.TemplateUL < r.TotalUL):
		return MasterMix{}, bad("template_ul", "", fmt.Sprintf("template_ul %g does not fit into a tube of %g", r.TemplateUL, r.TotalUL))
	}
	m := MasterMix{Tubes: samples + controls, DispenseUL: r.TotalUL - r.TemplateUL}
	m.Made = float64(m.Tubes) * (1 + spare)
	water := m.DispenseUL
	for _, p := range r.Parts {
		if !(p.Stock > 0 && p.Final > 0 && !math.IsInf(p.Stock, 0)) {
			return MasterMix{}, bad("parts", "", fmt.Sprintf("parts: %q has no strength", p.Name))
		}
		if p.Final > p.Stock {
			return MasterMix{}, bad("parts", "", fmt.Sprintf("parts: %q shall be stronger in the tube than it is in the bottle", p.Name))
		}
		v := r.TotalUL * p.Final / p.Stock
		water -= v
		m.Parts = append(m.Parts, MixPart{p.Name, v, v * m.Made})
	}
	if water < -1e-9*r.TotalUL {
		return MasterMix{}, bad("template_ul", "take less extract, or stronger bottles", fmt.Sprintf("the parts and the extract overfill the tube by %.3g µL", -water))
	}
	water = math.Max(0, water)
	m.Parts = append(m.Parts, MixPart{"water", water, water * m.Made})
	for _, p := range m.Parts {
		m.TotalUL += p.MixUL
	}
	m.LeftUL = m.TotalUL - float64(m.Tubes)*m.DispenseUL
	return m, nil
}

// avogadro is exact since 2019 [1/mol]. Source: codata2018.
const avogadro = 6.02214076e23

// Copies returns how many copies of a double-stranded fragment a mass holds [1]:
//
//	n = m N_A / (617.96 L + 36.04)
//
// massNG is m [ng], bp its length L [bp].
//
// Special case: NaN unless bp is positive.
//
// Source: mean mass of a base pair and of the ends, common practice, from memory.
func Copies(massNG, bp float64) float64 {
	if !(bp > 0) {
		return math.NaN()
	}
	return massNG * 1e-9 * avogadro / FragmentMass(bp)
}

// FragmentMass returns the molar mass of a double-stranded fragment [g/mol],
// where bp is its length [bp]. Source: as for Copies.
func FragmentMass(bp float64) float64 { return 617.96*bp + 36.04 }

// Agarose returns what a gel takes [g], where percent is its strength in weight
// by volume [%] and gelML its volume [mL].
func Agarose(percent, gelML float64) float64 { return percent / 100 * gelML }

// Stock returns the volume of a stock that makes a volume of its dilution [mL],
// where times is the strength of the stock over that wanted [1] (50 for 1x from
// 50x) and volumeML the volume wanted [mL].
//
// Special case: NaN for a stock weaker than what is wanted.
func Stock(times, volumeML float64) float64 {
	if !(times >= 1) {
		return math.NaN()
	}
	return volumeML / times
}
