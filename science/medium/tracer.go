package medium

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/num"
)

// PlainWaterMS is the conductivity at 25 °C above which a water is no plain
// water any more, so that salt in it no longer tells a volume [mS/cm]:
// judgement, no source.
const PlainWaterMS = 2.5

// Tracer is a volume found by salt and a conductivity meter.
type Tracer struct {
	SaltG    float64 // table salt stirred in [g]
	SaltErrG float64 // how far the scale may be off [g]
	BeforeMS float64 // conductivity at 25 °C before [mS/cm]
	AfterMS  float64 // and when it is dissolved and stirred [mS/cm]
	MeterErr float64 // error of a reading, as a share of it [1]
	StepMS   float64 // smallest step of the meter [mS/cm]
}

// Volume returns the volume of water that the salt was stirred into, with its
// 80 % band [L]: the salt over the rise that it made. What a litre of salt water
// conducts is that of sodium chloride in a water that conducts like BeforeMS;
// the two readings and the scale are in doubt on their own, the calibration
// of the meter in both alike.
//
// The error is an *InputError: a rise that is too small to tell from the error
// of the meter, or water that is no plain water.
//
// Source: conductivity as brine.ConductivityMSCm25, mccleskey2012.
func (t *Tracer) Volume(s *brine.Solver) (num.Band, error) {
	var none num.Band
	switch {
	case !(t.SaltG > 0):
		return none, wrong("salt_g", "", "salt_g %.6g must be above 0", t.SaltG)
	case !(t.BeforeMS >= 0):
		return none, wrong("before_ms_per_cm", "", "before_ms_per_cm %.6g must not be negative", t.BeforeMS)
	case t.BeforeMS > PlainWaterMS:
		return none, wrong("before_ms_per_cm", "do it in plain water, before the salts go in; in medium the rise drowns in the error of the meter",
			"before_ms_per_cm %.4g is that of a medium, not of plain water", t.BeforeMS)
	case !(t.AfterMS > t.BeforeMS):
		return none, wrong("after_ms_per_cm", "stir, wait until it stands still, read again", "after_ms_per_cm %.4g is not above the reading before, %.4g", t.AfterMS, t.BeforeMS)
	case t.AfterMS > 60:
		return none, wrong("after_ms_per_cm", "", "after_ms_per_cm %.4g is beyond what a litre of this can tell", t.AfterMS)
	}
	mid, err := t.gPerL(s, t.BeforeMS, t.AfterMS)
	if err != nil {
		return none, err
	}
	// One standard deviation of the rise: each reading by itself half of its
	// error, the last step of the meter evenly.
	step := t.StepMS / math.Sqrt(12)
	sdB, sdA := math.Hypot(t.MeterErr*t.BeforeMS/2, step), math.Hypot(t.MeterErr*t.AfterMS/2, step)
	rise := t.AfterMS - t.BeforeMS
	sd := math.Hypot(sdA, sdB) / rise
	// And what is common to both: calibration, and the law of conductivity (1 %).
	sd = math.Sqrt(sd*sd + math.Pow(t.MeterErr/2, 2) + 1e-4 + math.Pow(t.SaltErrG/t.SaltG, 2))
	if sd > 0.25 {
		return none, wrong("after_ms_per_cm", "use more salt: about a gram for each litre", "after_ms_per_cm %.4g is too near to the reading before, %.4g, to tell a volume", t.AfterMS, t.BeforeMS)
	}
	const tenth = 1.2815515655446004 // standard normal quantile at 0.9
	v := t.SaltG / mid
	return num.Band{Low: v * math.Exp(-tenth*sd), Mid: v, High: v * math.Exp(tenth*sd)}, nil
}

// gPerL finds the salt [g/L] that lifts the conductivity from before to after.
func (t *Tracer) gPerL(s *brine.Solver, before, after float64) (float64, error) {
	var failed error
	conduct := func(nacl, base float64) float64 {
		var x brine.Totals
		var w brine.Water
		// Tap water conducts mostly by calcium bicarbonate.
		x[brine.Na], x[brine.Cl] = nacl/58.44, nacl/58.44
		x[brine.Ca], x[brine.DIC] = base/2, base
		if err := s.Solve(&x, 25, &w); err != nil {
			failed = err
			return nan
		}
		return brine.ConductivityMSCm25(&w)
	}
	base := 0.0
	if before > 0.001 {
		var err error
		base, err = num.Root(func(b float64) float64 { return conduct(0, b) - before }, 0, 0.2, 1e-9)
		if failed != nil || err != nil {
			return 0, wrong("before_ms_per_cm", "", "before_ms_per_cm %.4g cannot be understood as water", before)
		}
	}
	g, err := num.Root(func(g float64) float64 { return conduct(g, base) - after }, 0, 60, 1e-8)
	if failed != nil {
		return 0, failed
	}
	return g, err
}

// Titrated is a volume found by what a titration tells of the water before and
// after something known was stirred in: alkalinity after baking soda, chloride
// after salt, hardness after calcium chloride.
type Titrated struct {
	AddedMol  float64 // equivalents stirred in [eq]
	SampleML  float64 // water titrated each time [mL]
	TitrantEq float64 // strength of the titrant [eq/L]
	BeforeML  float64 // titrant used before [mL]
	AfterML   float64 // and after [mL]
	ReadML    float64 // how far one can read the burette, or a drop [mL]
}

// Volume returns the volume, with its 80 % band [L]:
//
//	V = n V_s / (N (b − a))
//
// where n is the equivalents stirred in, V_s the sample, N the titrant's
// strength, a and b what it took before and after.
//
// The error is an *InputError: no rise, or one too small to tell.
func (t *Titrated) Volume() (num.Band, error) {
	var none num.Band
	for _, f := range []struct {
		name string
		x    float64
	}{{"added_g", t.AddedMol}, {"sample_ml", t.SampleML}, {"titrant_eq_per_l", t.TitrantEq}} {
		if !(f.x > 0) {
			return none, wrong(f.name, "", "%s must be above 0", f.name)
		}
	}
	rise := t.AfterML - t.BeforeML
	if !(t.BeforeML >= 0) || !(rise > 0) {
		return none, wrong("after_ml", "stir longer, or stir in more", "after_ml %.4g is not above before_ml, %.4g", t.AfterML, t.BeforeML)
	}
	read := math.Max(t.ReadML, 0) / math.Sqrt(3) // evenly spread over ± a reading
	sd := math.Hypot(math.Sqrt2*read/rise, 0.01) // 1 % for the sample and the titrant
	if sd > 0.25 {
		return none, wrong("after_ml", "stir in more, or use a weaker titrant", "after_ml %.4g is too near to before_ml, %.4g, to tell a volume", t.AfterML, t.BeforeML)
	}
	const tenth = 1.2815515655446004
	v := t.AddedMol * t.SampleML / (t.TitrantEq * rise)
	return num.Band{Low: v * math.Exp(-tenth*sd), Mid: v, High: v * math.Exp(tenth*sd)}, nil
}
