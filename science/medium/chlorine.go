package medium

import (
	"math"

	"sodalake/science/formula"
	"sodalake/science/num"
)

// ChlorineGoneMgL is the total chlorine, by strip or photometer, below which
// water is fit to be used [mg/L]. Source: common practice, no source.
const ChlorineGoneMgL = 0.1

// Reagent is what takes chlorine out of water.
type Reagent struct {
	ID        string
	Formula   string
	MolPerCl2 [3]float64 // moles for a mole of chlorine: at best, as it usually goes, at worst [mol/mol]
	FieldMgMg float64    // what field guides give for each milligram of chlorine [mg/mg]
	AcidEq    float64    // alkalinity that a mole of chlorine and the reagent take away [eq/mol]
	Sodium    float64    // sodium in a mole of the reagent [mol/mol]
	Sulfate   float64    // sulfate left by a mole of it, when all goes to sulfate [mol/mol]
}

// reagents, by the reactions with hypochlorous acid:
//
//	C6H8O6 + HOCl = C6H6O6 + H+ + Cl− + H2O
//	C6H7O6− + HOCl = C6H6O6 + Cl− + H2O
//	S2O3−− + 4 HOCl + H2O = 2 SO4−− + 4 Cl− + 6 H+
//	S2O3−− + HOCl = SO4−− + S + Cl− + H+
//	2 S2O3−− + HOCl + H+ = S4O6−− + Cl− + H2O
//	SO3−− + HOCl = SO4−− + Cl− + H+
//	S2O5−− + 2 HOCl + H2O = 2 SO4−− + 2 Cl− + 4 H+
//	HSO3− + HOCl = SO4−− + Cl− + 2 H+
//
// Source: the ratios follow from the reactions and the IUPAC weights; those of
// the field from land2005 and the field guide behind it, whose figures for the
// sulfites are the reaction's with a tenth more.
var reagents = []Reagent{
	{"ascorbic-acid", "C6H8O6", [3]float64{1, 1, 1}, 2.5, 1, 0, 0},
	{"sodium-ascorbate", "C6H7NaO6", [3]float64{1, 1, 1}, 2.8, 0, 1, 0},
	{"thiosulfate", "Na2S2O3.5H2O", [3]float64{0.25, 1, 2}, 1.9, 1.5, 2, 2},
	{"sodium-sulfite", "Na2SO3", [3]float64{1, 1, 1}, 1.96, 1, 2, 1},
	{"metabisulfite", "Na2S2O5", [3]float64{0.5, 0.5, 0.5}, 1.47, 2, 2, 2},
	{"bisulfite", "NaHSO3", [3]float64{1, 1, 1}, 1.61, 2, 1, 1},
}

// Reagents returns what takes chlorine out of water.
func Reagents() []Reagent { return append([]Reagent(nil), reagents...) }

// ReagentByName returns the reagent of that ingredient, and whether there is
// one.
func ReagentByName(id string) (Reagent, bool) {
	in, err := Lookup(id, US)
	if err != nil {
		return Reagent{}, false
	}
	for _, r := range reagents {
		if r.ID == in.ID {
			return r, true
		}
	}
	return Reagent{}, false
}

// MgPerMg returns the milligrams of reagent that the reactions want for a
// milligram of chlorine [mg/mg]: at best, as it usually goes, at worst.
func (r *Reagent) MgPerMg() [3]float64 {
	m, err := formula.MolarMass(r.Formula)
	if err != nil {
		return [3]float64{nan, nan, nan}
	}
	var out [3]float64
	for i, n := range r.MolPerCl2 {
		out[i] = n * m / cl2Mol
	}
	return out
}

const (
	cl2Mol = 2 * 35.45       // mass of a mole of chlorine [g/mol]
	nPerCl = 14.007 / cl2Mol // nitrogen of chloramine for each mass of chlorine [g/g]
)

// Dechlorination is a dose and what it does to the water.
type Dechlorination struct {
	DoseMg      float64 // to begin with, for the whole volume [mg]
	MostMg      float64 // if a strip still shows chlorine: no more than this in all [mg]
	LeastMg     float64 // what the reaction wants at best [mg]
	SodiumMgL   float64 // brought [mg/L]
	SulfateMgL  float64 // brought [mg/L]
	ChlorideMgL float64 // left of the chlorine [mg/L]
	AcidMeqL    float64 // alkalinity taken [meq/L]
	AmmoniaNMgL float64 // left of chloramine, as nitrogen [mg/L]
}

// Dechlorinate returns the dose of a reagent for volumeL of water [L] that holds
// freeMgL of free chlorine and combinedMgL of chloramine, both as Cl2 [mg/L]. The
// dose is that of field guides; the most allows for a tenth of doubt in the
// chlorine, and, with thiosulfate, for its slow course.
//
// Special case: the ammonia of chloramine stays in the water; nothing here
// takes it out.
func (r *Reagent) Dechlorinate(volumeL, freeMgL, combinedMgL float64) Dechlorination {
	mg := volumeL * (freeMgL + combinedMgL)
	per := r.MgPerMg()
	d := Dechlorination{DoseMg: mg * r.FieldMgMg, LeastMg: mg * per[0], MostMg: 1.1 * mg * math.Max(r.FieldMgMg, per[1])}
	m, _ := formula.MolarMass(r.Formula)
	molL := d.DoseMg / m / volumeL // mmol/L
	cl2 := (freeMgL + combinedMgL) / cl2Mol
	d.SodiumMgL = molL * r.Sodium * 22.990
	d.SulfateMgL = math.Min(molL*r.Sulfate, cl2*4) * 96.056
	d.ChlorideMgL = cl2 * 35.45
	d.AcidMeqL = cl2 * r.AcidEq
	d.AmmoniaNMgL = combinedMgL * nPerCl
	return d
}

// standing rates of free chlorine in open water [1/h]: slow, middle, fast.
//
// Source: assumptions, no source: nine tenths gone in a day in shallow, open,
// warm water in the middle; popular pages give half a day at best, and four to
// five days for a 19 L bucket.
var chlorineRates = [3]float64{math.Ln10 / 108, math.Ln10 / 24, math.Ln10 / 12}

// StandHours returns how long water with freeMgL of free chlorine [mg/L] must
// stand open until less than ChlorineGoneMgL is left [h], with its spread:
//
//	t = ln(c/c_end)/k
//
// Special cases: 0 where it is gone already. Chloramine does not leave by
// standing.
//
// Source: first-order loss; the rates are assumptions (chlorineRates).
func StandHours(freeMgL float64) num.Band {
	if freeMgL <= ChlorineGoneMgL {
		return num.Band{}
	}
	x := math.Log(freeMgL / ChlorineGoneMgL)
	return num.Band{Low: x / chlorineRates[2], Mid: x / chlorineRates[1], High: x / chlorineRates[0]}
}

// CarbonLitres returns the volume of granular carbon [L] that water running at
// litresPerMin [L/min] must pass: time of contact with the empty bed 5 min for
// free chlorine, 12 min where there is chloramine.
//
// Source: 2 to 5 min and 10 min and more, from memory.
func CarbonLitres(litresPerMin float64, chloramine bool) float64 {
	if chloramine {
		return 12 * litresPerMin
	}
	return 5 * litresPerMin
}
