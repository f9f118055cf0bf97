package twin

import (
	"math"

	"sodalake/science/growth"
)

// fit is how well readings of a kind have met what was expected of them.
type fit struct {
	n  float64 // readings, the old ones counting less and less
	d2 float64 // sum of their squared distances
}

// forget is how much of what was learned of the fit a new reading leaves [1]:
// about the last ten count.
const forget = 0.9

// distanceMost is the distance above which a reading counts no further.
const distanceMost = 4.0

// note books how far a reading lay from what was expected of it.
func (e *Ensemble) note(k Kind, distance float64, op byte) {
	if op == '<' || op == '>' {
		return
	}
	d := min(math.Abs(distance), distanceMost)
	f := &e.fit[k]
	f.n = f.n*forget + 1
	f.d2 = f.d2*forget + d*d
}

// Fit returns how far readings of a kind have lately lain from what was
// expected of them, as a root mean square in standard deviations [1], and about
// how many readings that rests on [1]. Near 1 the spread is honest; well above,
// the model misses something; well below, it is too unsure of itself.
//
// Special case: NaN and 0 before the first reading.
func (e *Ensemble) Fit(k Kind) (rms, readings float64) {
	f := e.fit[k]
	if !(f.n > 0) {
		return math.NaN(), 0
	}
	return math.Sqrt(f.d2 / f.n), f.n
}

// Bounds of what misfit raises the noise by. Judgement, tuned on synthetic ponds
// that are not those of the proof.
const (
	unrestFrom  = 1.15 // Fit up to which the noise stays as it is [1]
	unrestMost  = 4.0  // most that a standard deviation is raised by [1]
	unrestAfter = 3.0  // readings [1]
)

// unrest returns by how much the noise is to be raised: by the ratio of the
// variance that readings show to that which was expected of them. The spread of
// what they tell of then grows until they lie where it says.
//
// Source: in the spirit of adaptive inflation, anderson2009 (Anderson 2009,
// Tellus A 61:72), here of the noise of the model and not of the spread itself.
func (e *Ensemble) unrest() unrest {
	of := func(kinds ...Kind) float64 {
		n, d2 := 0.0, 0.0
		for _, k := range kinds {
			n, d2 = n+e.fit[k].n, d2+e.fit[k].d2
		}
		if n < unrestAfter || d2 < unrestFrom*unrestFrom*n {
			return 1
		}
		return min(d2/n, unrestMost)
	}
	return unrest{growth: of(Secchi, OD, DryWeight, Cake), carbon: of(PH), warmth: of(Temp), water: of(Level)}
}

// Trouble is one thing that is wrong with an ensemble.
type Trouble struct {
	What  string  // "collapsed", "at_bound", "misfit", "idle"
	Var   Var     // of which variable, for collapsed and at_bound
	Kind  Kind    // of which reading, for misfit and idle
	Value float64 // spread left as a share of the least fit [1], share of members at the bound [1], or Fit [1]
}

// Bounds of what counts as trouble. Judgement, no source.
const (
	atBoundMost  = 0.2 // share of members at a bound [1]
	misfitMost   = 1.8 // Fit [1], with at least troubleAfter readings
	idleLeast    = 0.3 // Fit [1], as above
	troubleAfter = 5.0 // readings [1]
)

// least is the spread of each variable under which an ensemble has collapsed:
// it would believe no reading any more. No laws and no readings leave so little
// of it. Zero: not watched.
var least = vector{
	VarDensity: 0.01, VarYield: 0.02, VarThreshold: 0.02, VarNight: 0.02, VarSigma: 0.01, VarSecchi: 0.01, VarCarbon: 0.001,
}

// Troubles returns what is wrong with an ensemble, so that a page can say it: a
// variable whose spread has collapsed, one that many members hold at its bound,
// readings that lie further from, or nearer to, what was expected than the
// spread allows. None for a vessel without culture or of a single member.
func (e *Ensemble) Troubles() []Trouble {
	n := len(e.Members)
	if n < 2 || e.Share(func(m *Member) bool { return m.Pond.BiomassG > 0 && m.Pond.WaterKg > 0 }) < 0.5 {
		return nil
	}
	var out []Trouble
	all := make([]vector, n)
	for i := range all {
		e.Members[i].vector(&all[i])
	}
	x := make([]float64, n)
	for v := range NumVars {
		for i := range all {
			x[i] = all[i][v]
		}
		if _, variance := moments(x); math.Sqrt(variance) < least[v] {
			out = append(out, Trouble{What: "collapsed", Var: v, Kind: -1, Value: math.Sqrt(variance) / least[v]})
		}
		if s := boundShare(v, x); s > atBoundMost {
			out = append(out, Trouble{What: "at_bound", Var: v, Kind: -1, Value: s})
		}
	}
	for k := range NumKinds {
		rms, readings := e.Fit(k)
		switch {
		case readings < troubleAfter:
		case rms > misfitMost:
			out = append(out, Trouble{What: "misfit", Var: -1, Kind: k, Value: rms})
		case rms < idleLeast:
			out = append(out, Trouble{What: "idle", Var: -1, Kind: k, Value: rms})
		}
	}
	return out
}

// boundShare returns the share of values of a variable that lie at a bound.
func boundShare(v Var, x []float64) float64 {
	middle, most := 0.0, math.Inf(1)
	normal := growth.Default()
	for _, c := range parameters(&normal) {
		if c.v == v {
			middle, most = math.Log(*c.to), math.Log(paramFactor)
		}
	}
	switch v {
	case VarWarmer:
		most = warmerMost
	case VarWind:
		most = math.Log(windFactor)
	case VarScale:
		most = lnScaleMost
	case VarPHBias:
		most = phBiasMost
	}
	at := 0
	for _, y := range x {
		if math.Abs(y-middle) > 0.999*most {
			at++
		}
	}
	return float64(at) / float64(len(x))
}
