package assay

import "math"

// Phycocyanin returns phycocyanin in an extract [mg/mL]:
//
//	PC = (A₆₁₅ − 0.474 A₆₅₂) / 5.34
//
// a615 and a652 are the absorbances of the clear extract in 1 cm [1]. Many
// papers read at 620 nm and print the same formula; that gives higher values,
// which do not compare.
//
// Special case: 0 where the formula falls below it.
//
// Source: bennettbogorad1973.
func Phycocyanin(a615, a652 float64) float64 {
	return math.Max(0, (a615-0.474*a652)/5.34)
}

// Allophycocyanin returns allophycocyanin in an extract [mg/mL]:
//
//	APC = (A₆₅₂ − 0.208 A₆₁₅) / 7.09
//
// a615 and a652 are the absorbances of the clear extract in 1 cm [1].
//
// Special case: 0 where the formula falls below it.
//
// Source: bennettbogorad1973, from memory.
func Allophycocyanin(a615, a652 float64) float64 {
	return math.Max(0, (a652-0.208*a615)/7.09)
}

// PhycocyaninByExtinction returns phycocyanin in an extract [mg/mL] by the
// specific extinction of the pigment of Spirulina platensis, A₆₂₀/7.3, where
// a620 is the absorbance at 620 nm in 1 cm [1].
//
// Source: boussiba1979 (E of 1 % in 1 cm is 73).
func PhycocyaninByExtinction(a620 float64) float64 { return a620 / 7.3 }

// PigmentShare returns a pigment as a share of the powder it came from [1]:
// mgPerML is its concentration in the extract [mg/mL], extractML the volume of
// extract [mL] and powderMg the dry powder that was extracted [mg].
//
// Special case: NaN unless powderMg is positive.
func PigmentShare(mgPerML, extractML, powderMg float64) float64 {
	if !(powderMg > 0) {
		return math.NaN()
	}
	return mgPerML * extractML / powderMg
}

// Purity returns the purity of a phycocyanin extract [1], A₆₂₀/A₂₈₀: a620 is the
// absorbance of the pigment [1] and a280 that of all protein [1]. 0.7 and more
// is called food grade, about 3.9 reagent grade, over 4 analytical grade.
//
// Special case: NaN unless a280 is positive.
//
// Source: the classes ritopalomares2001, from memory.
func Purity(a620, a280 float64) float64 {
	if !(a280 > 0) {
		return math.NaN()
	}
	return a620 / a280
}

// ChlorophyllMethanol returns chlorophyll a in a methanol extract [µg/mL]:
//
//	Chl = 12.94 (A₆₆₅ − A₇₅₀)
//
// a665 and a750 are absorbances in 1 cm, the second for what is merely cloudy
// [1]. An older factor is 13.9; the two differ by 7 %.
//
// Special case: 0 where the formula falls below it.
//
// Source: ritchie2006 (12.94), tandeau1988 (13.9), both from memory.
func ChlorophyllMethanol(a665, a750 float64) float64 {
	return math.Max(0, 12.94*(a665-a750))
}
