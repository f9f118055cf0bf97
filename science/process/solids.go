package process

import "math"

// DryBasis returns water over dry matter [1], w/(1 − w), where wet is the share
// of water in the whole w [1].
//
// Special case: NaN outside 0…1; +Inf for nothing but water.
func DryBasis(wet float64) float64 {
	if !(wet >= 0 && wet <= 1) {
		return math.NaN()
	}
	return wet / (1 - wet)
}

// WetBasis returns the share of water in the whole [1], X/(1 + X), where dry is
// water over dry matter X [1].
//
// Special case: NaN for a negative value.
func WetBasis(dry float64) float64 {
	if !(dry >= 0) {
		return math.NaN()
	}
	if math.IsInf(dry, 1) {
		return 1
	}
	return dry / (1 + dry)
}

// Stage is a paste on its way from the cloth to the jar, with the dry matter that
// is to be expected of it.
type Stage struct {
	Name   string
	Low    float64 // share of dry matter, poor [1]
	Mid    float64 // share of dry matter, usual [1]
	High   float64 // share of dry matter, good [1]
	Source string
}

var stages = []Stage{
	{"drained", 0.08, 0.10, 0.12, "akvopedia2010 and abcburkina (8 to 10 %); the upper end is judgement"},
	{"pressed", 0.15, 0.20, 0.27, "abcburkina (about 20 %); tiendrebeogo2015 (24.3 and 26.8 % into the dryer); the lower end is judgement"},
	{"dried", 0.93, 0.95, 0.97, "5 to 7 % of water aimed at: tiendrebeogo2015; the upper end common practice, no source"},
}

// Stages returns drained, pressed and dried with their expected dry matter.
func Stages() []Stage { return append([]Stage(nil), stages...) }

// StageOf returns the stage of that name.
func StageOf(name string) (Stage, bool) {
	for _, s := range stages {
		if s.Name == name {
			return s, true
		}
	}
	return Stage{}, false
}

// Mass returns the mass that a dry mass has at a share of solids [g], m/s, where
// dryG is the dry matter m [g] and solids its share s [1].
//
// Special case: NaN unless 0 < solids ≤ 1.
func Mass(dryG, solids float64) float64 {
	if !(solids > 0 && solids <= 1) {
		return math.NaN()
	}
	return dryG / solids
}

// Solids returns the share of dry matter that a mass holds [1], where dryG is the
// dry matter [g] and massG all of it [g].
//
// Special case: NaN unless 0 ≤ dryG ≤ massG and massG > 0.
func Solids(dryG, massG float64) float64 {
	if !(dryG >= 0 && massG > 0 && dryG <= massG) {
		return math.NaN()
	}
	return dryG / massG
}

// Caught returns the dry matter that a cloth holds back [g]:
//
//	m = V (X − X_f) η
//
// volumeL is the culture poured V [L], densityGL its density X [g/L], leftGL what
// runs through and goes back in the filtrate X_f, 0 where η says it [g/L], and
// capture is η, the share held back [1] (0.95, from 0.85 to 0.99: judgement;
// habib2008 has up to 0.95 for screens).
func Caught(volumeL, densityGL, leftGL, capture float64) float64 {
	return math.Max(0, volumeL*(densityGL-leftGL)*capture)
}

// PastePerProduct returns how much paste makes a mass of product [1], by dry
// matter that neither comes nor goes:
//
//	paste/product = (1 − w)/s
//
// solids is the share of dry matter in the paste s [1], moisture the water in
// the product w, of the whole [1]. What is over one is water to evaporate.
//
// Special case: NaN outside 0…1 or for a paste that is drier than the product.
func PastePerProduct(solids, moisture float64) float64 {
	if !(solids > 0 && solids <= 1 && moisture >= 0 && moisture < 1) || solids > 1-moisture {
		return math.NaN()
	}
	return (1 - moisture) / solids
}

// WaterToLeave returns the water that must leave a mass to come from one share of
// solids to another [g], m (1 − s₁/s₂), where massG is the mass now [g], solids
// its share of dry matter s₁ [1] and target the share wanted s₂ [1].
//
// Special cases: 0 where it is dry enough already; NaN outside 0…1.
func WaterToLeave(massG, solids, target float64) float64 {
	if !(solids > 0 && solids <= 1 && target > 0 && target <= 1) {
		return math.NaN()
	}
	return math.Max(0, massG*(1-solids/target))
}
