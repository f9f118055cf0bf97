package process

import "math"

// DefaultRinse is the wash ratio that is advised, none [1]: washed paste does
// not keep (branyikova; jourdan2014). Only what is eaten or dried at once may be
// rinsed.
const DefaultRinse = 0

// ExtracellularShare is the share of a cake's water that lies outside the cells
// [1]: judgement, no source.
const ExtracellularShare = 0.4

// Displaced returns the share of the liquor's salt that stays when wash water
// pushes through a cake [1]:
//
//	R = (1 − E)^n
//
// ratio is n, wash water over liquor held in the cake [1]; efficiency is E [1]:
// 0.86 for a good cake, 0.70 for a poor one, both from memory.
//
// Special cases: NaN for a negative ratio or an efficiency outside 0…1.
//
// Source: perry2008, section 18 (displacement washing, empirical form), from
// memory.
func Displaced(ratio, efficiency float64) float64 {
	if !(ratio >= 0 && efficiency >= 0 && efficiency <= 1) {
		return math.NaN()
	}
	return math.Pow(1-efficiency, ratio)
}

// Stirred returns the share of salt that stays when the wash water is given in
// steps, each stirred in and drained [1]:
//
//	R = (1 + n/k)^−k
//
// ratio is n for all steps together [1], steps is k. With endless steps it
// becomes Flushed.
//
// Special case: NaN for a negative ratio or no step.
func Stirred(ratio float64, steps int) float64 {
	if !(ratio >= 0) || steps < 1 {
		return math.NaN()
	}
	k := float64(steps)
	return math.Exp(-k * math.Log1p(ratio/k))
}

// Flushed returns the share of salt that stays when wash water runs through a
// cake that is always well mixed [1], e^−n, where ratio is n [1].
//
// Special case: NaN for a negative ratio.
func Flushed(ratio float64) float64 {
	if !(ratio >= 0) {
		return math.NaN()
	}
	return math.Exp(-ratio)
}

// SaltInCake returns what of a salt or element of the medium stays in a dry mass
// [g/kg]:
//
//	s = c (1 − s_d)/s_d f R
//
// mediumGL is its concentration in the medium c [g/L], solids the share of dry
// matter in the paste s_d [1], outside the share of the paste's water that is
// outside the cells f [1], left what of it stays after rinsing R [1]. What is in
// the cells is not in it and cannot be washed out; fresh water bursts them. A
// litre of liquor is taken as a kilogram of water.
//
// Special case: NaN unless 0 < solids ≤ 1.
func SaltInCake(mediumGL, solids, outside, left float64) float64 {
	if !(solids > 0 && solids <= 1) {
		return math.NaN()
	}
	return mediumGL * (1 - solids) / solids * outside * left
}
