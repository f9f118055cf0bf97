package assay

import (
	"fmt"
	"math"
	"slices"
)

// Rung is one band of a ladder.
type Rung struct {
	BP float64 // length, known [bp]
	MM float64 // way from the well [mm]
}

// Ladder is the bands of known length of one lane, from the slowest to the
// fastest.
type Ladder struct {
	rungs     []Rung
	Intercept float64 // of log₁₀ L = a + b m over all rungs, a [log10 bp]
	Slope     float64 // b [1/mm]
	R2        float64 // share of the variance of log₁₀ L that the line explains [1]
}

// NewLadder checks the rungs of a ladder, in any order, and draws the line of
// log length against way through all of them.
func NewLadder(rungs []Rung) (*Ladder, error) {
	if len(rungs) < 3 {
		return nil, bad("ladder", "mark every band of the ladder that you can see", fmt.Sprintf("ladder has %d bands, and three are the least that can tell a size", len(rungs)))
	}
	if len(rungs) > 200 {
		return nil, bad("ladder", "", fmt.Sprintf("ladder has %d bands, more than 200", len(rungs)))
	}
	l := &Ladder{rungs: slices.Clone(rungs)}
	for _, r := range rungs {
		if !(r.BP >= 1 && r.BP <= 1e6) {
			return nil, bad("ladder", "", fmt.Sprintf("ladder names a length of %g bp, not between 1 and a million", r.BP))
		}
		if !(r.MM > 0 && r.MM <= 1e4) {
			return nil, bad("ladder", "measure from the edge of the well", fmt.Sprintf("ladder names a way of %g mm, not between 0 and 10 m", r.MM))
		}
	}
	slices.SortFunc(l.rungs, func(a, b Rung) int {
		switch {
		case a.MM < b.MM:
			return -1
		case a.MM > b.MM:
			return 1
		}
		return 0
	})
	for i := 1; i < len(l.rungs); i++ {
		a, b := l.rungs[i-1], l.rungs[i]
		if !(b.MM-a.MM > 1e-6) {
			return nil, bad("ladder", "each band has its own place", fmt.Sprintf("ladder has two bands at %g mm", b.MM))
		}
		if !(a.BP-b.BP > 1e-6) {
			return nil, bad("ladder", "longer fragments stay nearer to the well: see whether a band was left out or two changed places",
				fmt.Sprintf("ladder is out of order: %g bp at %g mm lies before %g bp at %g mm", a.BP, a.MM, b.BP, b.MM))
		}
	}
	l.line()
	return l, nil
}

// Rungs returns the rungs from the slowest to the fastest.
func (l *Ladder) Rungs() []Rung { return slices.Clone(l.rungs) }

func (l *Ladder) line() {
	n := float64(len(l.rungs))
	var mx, my float64
	for _, r := range l.rungs {
		mx, my = mx+r.MM/n, my+math.Log10(r.BP)/n
	}
	var xx, xy, yy float64
	for _, r := range l.rungs {
		dx, dy := r.MM-mx, math.Log10(r.BP)-my
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	l.Slope = xy / xx
	l.Intercept = my - l.Slope*mx
	l.R2 = xy * xy / (xx * yy)
}

// LogLinear returns the length by the one line through all rungs [bp]:
//
//	log₁₀ L = a + b m
//
// mm is the way m [mm]. The line bends at both ends of a gel, so this is for
// comparison; it runs on beyond the ladder too.
func (l *Ladder) LogLinear(mm float64) float64 {
	return math.Pow(10, l.Intercept+l.Slope*mm)
}

// Piecewise returns the length by a line of log length from rung to rung [bp],
// where mm is the way [mm].
//
// Special case: NaN beyond the ladder.
func (l *Ladder) Piecewise(mm float64) float64 {
	i := l.gap(mm)
	if i < 0 {
		return math.NaN()
	}
	a, b := l.rungs[i], l.rungs[i+1]
	t := (mm - a.MM) / (b.MM - a.MM)
	return a.BP * math.Exp(t*math.Log(b.BP/a.BP))
}

// gap returns the index of the rung before mm, or −1 beyond the ladder.
func (l *Ladder) gap(mm float64) int {
	n := len(l.rungs)
	if !(mm >= l.rungs[0].MM && mm <= l.rungs[n-1].MM) {
		return -1
	}
	i, _ := slices.BinarySearchFunc(l.rungs, mm, func(r Rung, x float64) int {
		switch {
		case r.MM < x:
			return -1
		case r.MM > x:
			return 1
		}
		return 0
	})
	return min(max(i-1, 0), n-2)
}

// Local returns the length by Southern's local method [bp]: the mean of two laws,
// one through two longer neighbours and a shorter one, one through a longer and
// two shorter. mm is the way [mm]. first and second are the two by themselves
// [bp]; in the first and the last gap only one of them exists and both are it.
//
// Special case: NaN beyond the ladder.
//
// Source: southern1979; elder1983.
func (l *Ladder) Local(mm float64) (size, first, second float64) {
	i := l.gap(mm)
	if i < 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	r := l.rungs
	switch {
	case i == 0:
		first = through(r[0], r[1], r[2], mm)
		second = first
	case i == len(r)-2:
		first = through(r[i-1], r[i], r[i+1], mm)
		second = first
	default:
		first = through(r[i-1], r[i], r[i+1], mm)
		second = through(r[i], r[i+1], r[i+2], mm)
	}
	return (first + second) / 2, first, second
}

// SelfError returns how well the ladder tells its own rungs [1]: each inner rung
// in turn is taken out and sized from the rest; the result is the root mean
// square of the errors in proportion to length. Lengths that slipped by one in
// the middle show here; a slip from end to end hardly does, and only a positive
// control catches it.
//
// Special case: NaN with fewer than four rungs.
func (l *Ladder) SelfError() float64 {
	n := len(l.rungs)
	if n < 4 {
		return math.NaN()
	}
	rest := Ladder{rungs: make([]Rung, n-1)}
	var sum float64
	for i := 1; i < n-1; i++ {
		copy(rest.rungs, l.rungs[:i])
		copy(rest.rungs[i:], l.rungs[i+1:])
		size, _, _ := rest.Local(l.rungs[i].MM)
		e := size/l.rungs[i].BP - 1
		sum += e * e
	}
	return math.Sqrt(sum / float64(n-2))
}

// MMAt returns the way at which Local reads a length [mm], where bp is that
// length [bp].
//
// Special case: NaN for a length beyond the ladder.
func (l *Ladder) MMAt(bp float64) float64 {
	n := len(l.rungs)
	if !(bp <= l.rungs[0].BP && bp >= l.rungs[n-1].BP) {
		return math.NaN()
	}
	i := 0
	for i < n-2 && l.rungs[i+1].BP > bp {
		i++
	}
	lo, hi := l.rungs[i].MM, l.rungs[i+1].MM
	for range 100 {
		mid := (lo + hi) / 2
		if size, _, _ := l.Local(mid); size > bp {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
