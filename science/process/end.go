package process

import (
	"fmt"
	"math"
)

// State is how far a check has come.
type State string

// The states of an end point. None of them speaks of the food as a whole.
const (
	Passed  State = "passed"
	Failed  State = "failed"
	Missing State = "missing"
)

// Aim and bounds of dried product, as shares of water in the whole.
const (
	AimMoisture    = 0.05 // aimed at [1]: tiendrebeogo2015's 0.07 with a margin that is judgement
	RejectMoisture = 0.07 // not kept above [1]: tiendrebeogo2015, 0.075 on dry matter
	KeepActivity   = 0.60 // highest water activity to keep with [1]: tiendrebeogo2015's criterion; that moulds stop there is from memory
	WetActivity    = 0.92 // where the dryer's clock ends [1]: Bacillus cereus grows over 0.93 (nebraskafood)
)

// Weighing is the mass of one tray at one time.
type Weighing struct {
	TimeS float64 // since drying began [s]
	MassG float64 // without the tray [g]
}

// Weighing twice: how far apart, and what counts as the same. Judgement, no
// source, after the usual rule of constant mass.
const (
	SameApartS = 1800  // [s]
	SameShare  = 0.005 // of the mass [1]
)

// ConstantMass judges the end of drying by two weighings at least half an hour
// apart that agree within half a per cent, the air still running as before.
// Constant mass says that this air takes no more; whether the product is dry
// enough then is for its humidity to say (Dryer.Draw).
//
// changed is what the last weighing lost against the one it is held to, as a
// share [1]; NaN where there is none.
func ConstantMass(weighings []Weighing) (state State, changed float64, err error) {
	for i, w := range weighings {
		if !(w.MassG > 0) || math.IsInf(w.MassG, 0) || !(w.TimeS >= 0) {
			return Missing, math.NaN(), bad("weighings", "", fmt.Sprintf("weighings hold %g g at %g s", w.MassG, w.TimeS))
		}
		if i > 0 && !(w.TimeS > weighings[i-1].TimeS) {
			return Missing, math.NaN(), bad("weighings", "", "weighings must run forward in time")
		}
	}
	if len(weighings) < 2 {
		return Missing, math.NaN(), nil
	}
	last := weighings[len(weighings)-1]
	for i := len(weighings) - 2; i >= 0; i-- {
		if last.TimeS-weighings[i].TimeS < SameApartS {
			continue
		}
		changed = (weighings[i].MassG - last.MassG) / weighings[i].MassG
		if changed < -SameShare {
			return Missing, changed, nil // it gained: damp air, or another tray
		}
		if changed <= SameShare {
			return Passed, changed, nil
		}
		return Failed, changed, nil
	}
	return Missing, math.NaN(), nil
}

// ByControl judges the end by a small sample of the same paste that was dried to
// the end and so told its dry matter: massG is what was put on the tray [g],
// nowG what it weighs [g], solids the dry matter of the control sample as a
// share [1] and target the moisture to come to, of the whole [1]. moisture is
// what the product holds now [1], goalG the mass to stop at [g].
func ByControl(massG, nowG, solids, target float64) (state State, moisture, goalG float64, err error) {
	switch {
	case !(massG > 0 && nowG > 0 && nowG <= massG*1.001):
		return Missing, math.NaN(), math.NaN(), bad("mass_now_g", "", fmt.Sprintf("mass_now_g %g does not come from %g g", nowG, massG))
	case !(solids > 0 && solids < 1):
		return Missing, math.NaN(), math.NaN(), bad("control_solids_pct", "", fmt.Sprintf("control_solids_pct %g does not lie between 0 and 100", 100*solids))
	case !(target > 0 && target < 1):
		return Missing, math.NaN(), math.NaN(), bad("target_moisture_pct", "", fmt.Sprintf("target_moisture_pct %g does not lie between 0 and 100", 100*target))
	}
	dry := massG * solids
	goalG = dry / (1 - target)
	moisture = 1 - dry/nowG
	if moisture < -0.005 { // less than its own dry matter: another paste, or a slip
		return Missing, moisture, goalG, nil
	}
	if nowG <= goalG {
		return Passed, moisture, goalG, nil
	}
	return Failed, moisture, goalG, nil
}

// ByActivity judges the end by a measured water activity, where activity is what
// the meter shows [1], uncertainty its own error [1] and most the highest to
// keep with [1]. What the uncertainty reaches over is missing, not passed.
func ByActivity(activity, uncertainty, most float64) State {
	switch {
	case !(activity > 0 && activity <= 1 && uncertainty >= 0):
		return Missing
	case activity+uncertainty <= most:
		return Passed
	case activity > most:
		return Failed
	}
	return Missing
}

// ByMoisture judges a measured moisture against the band of isotherms: passed
// only if even the cautious curve stays under most, failed only if even the
// lenient one is over it. moisture is water in the whole [1], most the highest
// water activity to keep with [1].
func (s Sorption) ByMoisture(moisture, most float64) State {
	if !(moisture >= 0 && moisture < 1) {
		return Missing
	}
	low, high := s.Activities(moisture)
	switch {
	case high <= most:
		return Passed
	case low > most:
		return Failed
	}
	return Missing
}

// IfAssumed returns what comes of stopping by a mass that was worked out from an
// assumed dry matter [1], the water in the product then: massG is the paste [g],
// assumed the dry matter taken for granted [1], truth what it was [1] and target
// the moisture meant [1]. Below 0 the mass can never be reached. It is here to
// show why no end point stands on an assumed dry matter.
func IfAssumed(massG, assumed, truth, target float64) float64 {
	stopG := massG * assumed / (1 - target)
	return 1 - massG*truth/stopG
}
