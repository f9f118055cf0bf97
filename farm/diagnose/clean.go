package diagnose

import (
	"fmt"
	"math"

	"sodalake/farm"
	"sodalake/science/medium"
)

// Disinfection is how an emptied and scrubbed vessel and its tools are made
// clean: how much of what, for how long, and what makes it harmless afterwards.
type Disinfection struct {
	WallM2     float64 `json:"wall_m2"`     // floor and walls up to the rim [m²]
	BleachPct  float64 `json:"bleach_pct"`  // available chlorine of the bleach, by its label [%]
	SolutionL  float64 `json:"solution_l"`  // to be mixed and kept on the walls [L]
	BleachML   float64 `json:"bleach_ml"`   // of the bleach in it [mL]
	ChlorineMg float64 `json:"chlorine_mg"` // per litre of solution [mg/L]
	ContactMin float64 `json:"contact_min"` // that everything is kept wet [min]
	AscorbicG  float64 `json:"ascorbic_g"`  // ascorbic acid for what is left of it [g]
	StripMgL   float64 `json:"strip_mg_l"`  // a strip must read less before anything goes in [mg/L]
	DryDays    float64 `json:"dry_d"`       // in the sun, empty, where there is no chlorine [d]
}

const (
	chlorineMgL  = 200 // awwac652 (from memory): on walls, at least half an hour
	contactMin   = 30
	litresPerM2  = 0.5 // sprayed or mopped until all is wet. Judgement, no source
	leastL       = 5.0 // a bucket for cloth, stick and tools. Judgement, no source
	dryDays      = 7   // judgement, no source
	bucketL      = 5.0 // amounts are mixed by the bucket
	leastPct     = 1.0 // weaker has lost its strength
	mostPct      = 15.0
	usualBleachP = 5.0
)

// UsualBleachPct is what household bleach holds as available chlorine [%]:
// common practice, no source; the label says.
const UsualBleachPct = usualBleachP

// Disinfect returns the solution for wallM2 of floor and walls [m²] from bleach
// with bleachPct of available chlorine [%], a gram of it in 100 mL for every
// percent:
//
//	mL = mg/L · L / (10 · %)
func Disinfect(wallM2, bleachPct float64) (Disinfection, error) {
	if !(bleachPct >= leastPct && bleachPct <= mostPct) {
		return Disinfection{}, &farm.Error{Code: farm.Invalid, Field: "bleach", Message: fmt.Sprintf("bleach %.4g %% is not between %g and %g %%", bleachPct, leastPct, mostPct), Hint: "the label tells its available chlorine"}
	}
	if !(wallM2 >= 0) || wallM2 > 1e6 {
		return Disinfection{}, &farm.Error{Code: farm.Invalid, Field: "wall", Message: fmt.Sprintf("wall %.4g m² is no area", wallM2)}
	}
	d := Disinfection{WallM2: wallM2, BleachPct: bleachPct, ChlorineMg: chlorineMgL, ContactMin: contactMin, StripMgL: medium.ChlorineGoneMgL, DryDays: dryDays}
	d.SolutionL = math.Max(leastL, math.Ceil(wallM2*litresPerM2/bucketL-1e-9)*bucketL)
	d.BleachML = chlorineMgL * d.SolutionL / (10 * bleachPct)
	if r, ok := medium.ReagentByName("ascorbic-acid"); ok {
		d.AscorbicG = r.Dechlorinate(d.SolutionL, chlorineMgL, 0).DoseMg / 1000
	}
	return d, nil
}

// CleanLooks is how many looks with nothing foreign, and CleanDays how many
// days apart, a vessel needs before anybody may think of eating from it again
// [1, d]. Judgement, no source.
const (
	CleanLooks = 2
	CleanDays  = 5
)
