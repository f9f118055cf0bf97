package assay

import "math"

// Southern is the law of a gel in which the length of a fragment falls as one
// over the way it went:
//
//	L = c/(m − m₀) + L₀
//
// Source: southern1979.
type Southern struct {
	C    float64 // c [bp mm]
	M0MM float64 // m₀, where a fragment without end would stand [mm]
	L0BP float64 // L₀ [bp]
}

// SizeAt returns the length of a fragment [bp] that went mm [mm].
//
// Special case: ±Inf at m₀.
func (s Southern) SizeAt(mm float64) float64 { return s.C/(mm-s.M0MM) + s.L0BP }

// SouthernThrough returns the law through three rungs. With
// A = (y₁ − y₂)/(x₂ − x₁), B = (y₂ − y₃)/(x₃ − x₂) and r = A/B:
//
//	m₀ = (x₃ − r x₁)/(1 − r),  c = A (x₁ − m₀)(x₂ − m₀),  L₀ = y₁ − c/(x₁ − m₀)
//
// Special case: three rungs on a straight line have no such law; ok is false
// (through still sizes them).
//
// Source: southern1979; solved for the three constants here.
func SouthernThrough(a, b, c Rung) (s Southern, ok bool) {
	ab := (a.BP - b.BP) / (b.MM - a.MM)
	bc := (b.BP - c.BP) / (c.MM - b.MM)
	r := ab / bc
	if !(math.Abs(1-r) > 1e-12) || math.IsInf(r, 0) {
		return Southern{}, false
	}
	s.M0MM = (c.MM - r*a.MM) / (1 - r)
	s.C = ab * (a.MM - s.M0MM) * (b.MM - s.M0MM)
	s.L0BP = a.BP - s.C/(a.MM-s.M0MM)
	return s, true
}

// through sizes mm by the law through three rungs, without its constants: four
// points of such a curve have one cross-ratio in length and in way,
//
//	(y − y₁)(y₂ − y₃)/((y − y₃)(y₂ − y₁)) = (x − x₁)(x₂ − x₃)/((x − x₃)(x₂ − x₁))
//
// which holds for the straight line too, so nothing is divided by nought where
// the rungs are in line. Three rungs whose lengths fall have no pole between
// them.
func through(a, b, c Rung, mm float64) float64 {
	k := (b.BP - c.BP) / (b.BP - a.BP)
	p := k * (mm - c.MM) * (b.MM - a.MM)
	q := (mm - a.MM) * (b.MM - c.MM)
	return (a.BP*p - c.BP*q) / (p - q)
}

// LeastSquares returns the one law that fits all rungs best, in the sense of
// the smallest squared error in proportion to length, and that error's root
// mean square [1]:
//
//	min Σ ((c/(mᵢ − m₀) + L₀)/Lᵢ − 1)²
//
// For a given m₀ the two others follow from linear least squares; m₀ is searched
// from just before the first rung to ten thousand times the ladder's length
// before it.
//
// Source: southern1979 (the law, fitted to all rungs by least squares).
// Departs: errors are weighed in proportion to length, since a gel is read in
// millimetres and long fragments lie close together.
func (l *Ladder) LeastSquares() (s Southern, rms float64) {
	first, span := l.rungs[0].MM, l.rungs[len(l.rungs)-1].MM-l.rungs[0].MM
	at := func(lnGap float64) (Southern, float64) { return l.linear(first - span*math.Exp(lnGap)) }
	lo, hi := math.Log(1e-3), math.Log(1e4)
	const steps = 120
	best, bestSum := lo, math.Inf(1)
	for i := range steps + 1 {
		x := lo + (hi-lo)*float64(i)/steps
		if _, sum := at(x); sum < bestSum {
			best, bestSum = x, sum
		}
	}
	a, b := math.Max(lo, best-(hi-lo)/steps), math.Min(hi, best+(hi-lo)/steps)
	const golden = 0.6180339887498949
	x1, x2 := b-golden*(b-a), a+golden*(b-a)
	_, f1 := at(x1)
	_, f2 := at(x2)
	for range 90 {
		if f1 < f2 {
			b, x2, f2 = x2, x1, f1
			x1 = b - golden*(b-a)
			_, f1 = at(x1)
		} else {
			a, x1, f1 = x1, x2, f2
			x2 = a + golden*(b-a)
			_, f2 = at(x2)
		}
	}
	s, sum := at((a + b) / 2)
	return s, math.Sqrt(sum / float64(len(l.rungs)))
}

// linear fits c and L₀ for a given m₀ and returns the sum of squares.
func (l *Ladder) linear(m0 float64) (Southern, float64) {
	var uu, uv, vv, u1, v1 float64
	for _, r := range l.rungs {
		u, v := 1/(r.MM-m0)/r.BP, 1/r.BP
		uu, uv, vv, u1, v1 = uu+u*u, uv+u*v, vv+v*v, u1+u, v1+v
	}
	det := uu*vv - uv*uv
	c := (u1*vv - v1*uv) / det
	l0 := (uu*v1 - uv*u1) / det
	if math.IsNaN(c) || math.IsInf(c, 0) {
		return Southern{}, math.Inf(1)
	}
	s := Southern{c, m0, l0}
	var sum float64
	for _, r := range l.rungs {
		e := s.SizeAt(r.MM)/r.BP - 1
		sum += e * e
	}
	return s, sum
}
