package assay

import (
	"fmt"
	"math"
)

// Reader is how well a gel is read and how far it is trusted.
type Reader struct {
	ReadingMM  float64 // standard error of a reading, of band and rung alike [mm]
	Confidence float64 // of the interval [1]
	LeastShare float64 // an interval is never narrower than this share on either side [1]
	LeastBP    float64 // nor than this [bp]
}

// Routine is how a routine agarose gel is read from a photograph: ±0.3 mm, and
// never closer than 5 % or 15 bp: judgement, no source.
var Routine = Reader{ReadingMM: 0.3, Confidence: 0.95, LeastShare: 0.05, LeastBP: 15}

func (r Reader) check() error {
	switch {
	case !(r.ReadingMM >= 0 && r.ReadingMM <= 100):
		return bad("reading_error_mm", "", fmt.Sprintf("reading_error_mm %g is not between 0 and 100", r.ReadingMM))
	case !proper(r.Confidence):
		return bad("confidence", "", fmt.Sprintf("confidence %g is not between 0 and 1", r.Confidence))
	case !(r.LeastShare >= 0 && r.LeastShare < 1), !(r.LeastBP >= 0):
		return bad("tolerance_pct", "", "tolerance cannot be negative or whole")
	}
	return nil
}

// Place is where a band stands against the ladder.
type Place int

// A band is beside the ladder, or slower or faster than all of it.
const (
	Within  Place = iota
	Longer        // nearer to the well than the ladder's longest fragment
	Shorter       // farther from it than the ladder's shortest
)

// Size is the length of a band.
type Size struct {
	BP        float64  // by Southern's local method, NaN beyond the ladder [bp]
	Range     Interval // that holds it [bp]
	First     float64  // by the law through the two longer neighbours [bp]
	Second    float64  // by the law through the two shorter neighbours [bp]
	Piecewise float64  // by a line of log length from rung to rung [bp]
	LogLinear float64  // by one line through all rungs [bp]
	Place     Place
}

// Size returns the length of a band with its interval [bp], where mm is its way
// from the well [mm]. The half-width is the larger of two: what the reader is
// never trusted below, and
//
//	√((z s)² + ((first − second)/2)²)
//
// with s the errors of reading of the band and of each rung it is sized by,
// carried through the method, and the last term what the two laws differ by.
//
// Special case: a band beyond the ladder has no size; its interval has one end
// at the ladder's and the other at 0 or +Inf. Nothing is carried on beyond.
func (l *Ladder) Size(mm float64, r Reader) (Size, error) {
	if err := r.check(); err != nil {
		return Size{}, err
	}
	if !(mm > 0 && mm <= 1e4) {
		return Size{}, bad("bands", "measure from the edge of the well", fmt.Sprintf("bands name a way of %g mm, not between 0 and 10 m", mm))
	}
	s := Size{Piecewise: l.Piecewise(mm), LogLinear: l.LogLinear(mm)}
	s.BP, s.First, s.Second = l.Local(mm)
	n := len(l.rungs)
	switch {
	case mm < l.rungs[0].MM:
		s.Place, s.Range = Longer, Interval{l.rungs[0].BP, math.Inf(1)}
		return s, nil
	case mm > l.rungs[n-1].MM:
		s.Place, s.Range = Shorter, Interval{0, l.rungs[n-1].BP}
		return s, nil
	}
	half := l.half(mm, s, r)
	s.Range = Interval{math.Max(0, s.BP-half), s.BP + half}
	return s, nil
}

// half returns the half-width of a size's interval [bp].
func (l *Ladder) half(mm float64, s Size, r Reader) float64 {
	i := l.gap(mm)
	lo, hi := max(0, i-1), min(len(l.rungs)-1, i+2)
	if i == 0 {
		hi = 2
	}
	if i == len(l.rungs)-2 {
		lo = i - 1
	}
	var near [4]Rung
	k := copy(near[:], l.rungs[lo:hi+1])
	at := mm
	sizeAt := func() float64 {
		if k == 3 {
			return through(near[0], near[1], near[2], at)
		}
		return (through(near[0], near[1], near[2], at) + through(near[1], near[2], near[3], at)) / 2
	}
	// A small step against the gap, small enough to keep the order of the rungs.
	step := 1e-4 * (l.rungs[i+1].MM - l.rungs[i].MM)
	slope := func(x *float64) float64 {
		was := *x
		*x = was + step
		up := sizeAt()
		*x = was - step
		down := sizeAt()
		*x = was
		return (up - down) / (2 * step)
	}
	sum := 0.0
	d := slope(&at)
	sum += d * d
	for j := range k {
		d := slope(&near[j].MM)
		sum += d * d
	}
	z := normalTwoSided(r.Confidence) * r.ReadingMM
	half := math.Sqrt(z*z*sum + (s.First-s.Second)*(s.First-s.Second)/4)
	return math.Max(half, math.Max(r.LeastShare*s.BP, r.LeastBP))
}

// Separates reports whether this ladder and reader could tell two lengths
// apart: whether the intervals that bands of those lengths would get have
// nothing in common. a and b are the lengths [bp].
//
// Special case: false where either lies beyond the ladder.
func (l *Ladder) Separates(a, b float64, r Reader) bool {
	x, errX := l.Size(l.MMAt(a), r)
	y, errY := l.Size(l.MMAt(b), r)
	if errX != nil || errY != nil || x.Place != Within || y.Place != Within {
		return false
	}
	return !x.Range.Meets(y.Range)
}
