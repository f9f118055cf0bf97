package assay

import "math"

// LookFor returns how many filaments must be seen so that a foreign share would
// have shown itself at least once [1]:
//
//	n = ⌈ln(1 − confidence) / ln(1 − p)⌉
//
// shareForeign is p, the foreign share that is to be ruled out [1], confidence
// the probability that at least one would have been met [1]. It holds where each
// look is independent: well stirred, fields not chosen, no field twice.
//
// Special case: 0 outside 0…1.
func LookFor(shareForeign, confidence float64) int {
	if !(shareForeign > 0 && shareForeign < 1) || !proper(confidence) {
		return 0
	}
	n := math.Log1p(-confidence) / math.Log1p(-shareForeign)
	if n > math.MaxInt32 {
		return math.MaxInt32
	}
	// Where the quotient is a whole number but for its last digits, that is it.
	return int(math.Ceil(n * (1 - 1e-12)))
}

// VolumeFor returns the volume to look through so that something as dense as
// perML [1/mL] would have shown itself with a probability of confidence [1], in
// mL [mL]: −ln(1 − confidence)/perML.
//
// Special case: NaN unless perML is positive and 0 < confidence < 1.
func VolumeFor(perML, confidence float64) float64 {
	if !(perML > 0) || !proper(confidence) {
		return math.NaN()
	}
	return -math.Log1p(-confidence) / perML
}

// Kind is what is known of a foreign filament.
type Kind struct {
	MassRatio   float64 // mass of a foreign filament over that of one's own [1]
	ToxinUgPerG float64 // toxin in its dry matter [µg/g]
}

// WorstKind is what is assumed of a foreign filament until more is known: as
// heavy as one's own, with 1 mg of microcystin in a gram (blooms hold 0.1 to
// several: from memory).
var WorstKind = Kind{MassRatio: 1, ToxinUgPerG: 1000}

// Excluded is what a look rules out, and so what it leaves open.
type Excluded struct {
	FilamentShare float64 // foreign filaments may be up to this share [1]
	MassShare     float64 // their dry matter may be up to this share [1]
	ToxinUgPerG   float64 // toxin may be up to this much in dry matter [µg/g]
}

// Exclude returns what a look leaves open: with foreign found among seen
// filaments, the exact upper bound of the share at confidence [1], and what it
// would be in mass and in toxin if the foreign ones are of kind k:
//
//	mass share = r p / (r p + 1 − p)
//
// Special case: NaN where ShareUpper is, or for a kind that cannot be.
func Exclude(foreign, seen int, confidence float64, k Kind) Excluded {
	p := ShareUpper(foreign, seen, confidence)
	if !(k.MassRatio > 0) || !(k.ToxinUgPerG >= 0) {
		return Excluded{p, math.NaN(), math.NaN()}
	}
	m := k.MassRatio * p / (k.MassRatio*p + 1 - p)
	return Excluded{p, m, m * k.ToxinUgPerG}
}

// LookForToxin returns how many filaments must be seen, none foreign, to rule
// out more than a limit of toxin: limitUgPerG is that limit in dry matter
// [µg/g], confidence the probability [1], k the kind that is feared.
//
// Special case: 0 where no look can tell: a limit not above 0 or a kind that
// cannot be; 1 where even nothing but foreign filaments would stay under it.
func LookForToxin(limitUgPerG, confidence float64, k Kind) int {
	if !(limitUgPerG > 0) || !(k.MassRatio > 0) || !(k.ToxinUgPerG >= 0) || !proper(confidence) {
		return 0
	}
	if k.ToxinUgPerG <= limitUgPerG {
		return 1
	}
	s := limitUgPerG / k.ToxinUgPerG           // share by mass
	p := s / (k.MassRatio - s*k.MassRatio + s) // by number: the mass share turned round
	return LookFor(p, confidence)
}
