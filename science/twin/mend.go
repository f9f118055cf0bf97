package twin

import (
	"math"
	"slices"
)

// lostFactor is how far a member's density or volume may stray from the middle
// of all [1]: what is beyond has run dry, or was emptied by an act that took
// from it more than it held, and would tell nothing of the true vessel but spoil
// every mean. Judgement, no source.
const lostFactor = 20.0

// lnLost is its logarithm [1].
var lnLost = math.Log(lostFactor)

// mend gives up the members that are no longer possible: those without dry
// matter or water, and those strayed by more than lostFactor, while at least
// half of all are in order. A vessel that was emptied, or never filled, is empty
// in most members and is left alone.
func (e *Ensemble) mend() {
	n := len(e.Members)
	gl, litres := make([]float64, 0, n), make([]float64, 0, n)
	for i := range e.Members {
		v := &e.Members[i].Pond
		if x, y := v.DensityGL(), v.VolumeL(); possible(x) && possible(y) {
			gl, litres = append(gl, math.Log(x)), append(litres, math.Log(y))
		}
	}
	if 2*len(gl) < n || len(gl) == 0 {
		return
	}
	midGL, midL := middle(gl), middle(litres)
	lost := make([]bool, n)
	for i := range e.Members {
		v := &e.Members[i].Pond
		x, y := v.DensityGL(), v.VolumeL()
		lost[i] = !possible(x) || !possible(y) || math.Abs(math.Log(x)-midGL) > lnLost || math.Abs(math.Log(y)-midL) > lnLost
	}
	e.replace(lost)
}

// possible reports whether x is a number above nothing.
func possible(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// middle returns the median of x, which it sorts.
func middle(x []float64) float64 {
	slices.Sort(x)
	return x[len(x)/2]
}

// replace puts copies of others, evenly spread over them, in the place of the
// members that are lost, and reports whether it did: not if more than half are.
// A copy keeps the chance and the weather of the member it replaces, and so goes
// a way of its own from there.
//
// Source: replacing what is impossible by copies of what is left is the
// resampling of particle filters, gordon1993 (Gordon, Salmond & Smith 1993, IEE
// Proc. F 140:107), with weights of nothing and one, from memory.
func (e *Ensemble) replace(lost []bool) bool {
	var left []int
	for i, l := range lost {
		if !l {
			left = append(left, i)
		}
	}
	if len(left) == len(lost) || 2*len(left) < len(lost) {
		return false
	}
	for i, l := range lost {
		if !l {
			continue
		}
		from := left[int(math.Mod(float64(i+1)*0.6180339887498949, 1)*float64(len(left)))]
		draw, rng := e.Members[i].Draw, e.Members[i].rng
		e.Members[i] = e.Members[from]
		e.Members[i].Draw, e.Members[i].rng = draw, rng
	}
	return true
}
