package twin

import (
	"fmt"
	"math"
)

// Point is one pair of measurements with an error each.
type Point struct {
	X   float64 // [any]
	Y   float64 // [any]
	XSD float64 // standard deviation of X [unit of X]
	YSD float64 // standard deviation of Y [unit of Y]
}

// Line is a straight line y = Intercept + Slope·x through points that err in
// both directions.
type Line struct {
	Intercept   float64 // [unit of Y]
	Slope       float64 // [unit of Y over unit of X, any]
	InterceptSD float64 // standard deviation [unit of Y]
	SlopeSD     float64 // standard deviation [unit of Y over unit of X, any]
	CentreX     float64 // x at which the errors of height and slope are independent [unit of X, any]
	CentreSD    float64 // standard deviation of the height there [unit of Y]
	Misfit      float64 // weighted sum of squares over its degrees of freedom: about 1 if the errors are right; NaN for two points [1]
}

// LineError says why no line can be put through points.
type LineError struct {
	Field string // which input, as "points[3].x_sd"
	Why   string // what is wrong with it, to follow the field
}

// Error implements error.
func (e *LineError) Error() string { return e.Field + ": " + e.Why }

// FitLine returns the best straight line through points with errors in x and y
// that are independent of each other. The error is a *LineError: fewer than two
// points, a number that is none, an error at or below zero, no extent in x.
//
//	Wᵢ = ωx ωy/(ωx + b² ωy),  ω = 1/σ²
//	b = Σ W β V/Σ W β U,  β = W (U/ωy + b V/ωx),  a = Ȳ − b X̄
//	σb² = 1/Σ W u²,  σa² = 1/Σ W + x̄² σb²
//
// with U, V the distances from the weighted means X̄, Ȳ, and u those of the
// adjusted x = X̄ + β from their mean x̄; b is found by repetition.
//
// Source: york2004 (York, Evensen, Martínez & De Basabe Delgado 2004, Am. J.
// Phys. 72:367), eqs. 13a–13d.
func FitLine(points []Point) (Line, error) {
	if len(points) < 2 {
		return Line{}, &LineError{"points", fmt.Sprintf("two or more are needed, got %d", len(points))}
	}
	low, high := math.Inf(1), math.Inf(-1)
	var sx, sy, sxx, sxy float64
	for i, p := range points {
		for _, c := range []struct {
			name string
			v    float64
			sd   bool
		}{{"x", p.X, false}, {"y", p.Y, false}, {"x_sd", p.XSD, true}, {"y_sd", p.YSD, true}} {
			switch {
			case math.IsNaN(c.v) || math.IsInf(c.v, 0):
				return Line{}, &LineError{fmt.Sprintf("points[%d].%s", i, c.name), "is not a number"}
			case c.sd && !(c.v > 0):
				return Line{}, &LineError{fmt.Sprintf("points[%d].%s", i, c.name), fmt.Sprintf("must be above 0, got %g", c.v)}
			}
		}
		low, high = min(low, p.X), max(high, p.X)
		sx += p.X
		sy += p.Y
	}
	n := float64(len(points))
	if !(high > low) {
		return Line{}, &LineError{"points", "all have the same x"}
	}
	for _, p := range points {
		sxx += (p.X - sx/n) * (p.X - sx/n)
		sxy += (p.X - sx/n) * (p.Y - sy/n)
	}
	b := sxy / sxx
	var l Line
	for range 200 {
		was := b
		l = pass(points, b)
		b = l.Slope
		if math.Abs(b-was) <= 1e-14*math.Abs(b) {
			break
		}
	}
	l.Misfit = math.NaN()
	if n > 2 {
		s := 0.0
		for _, p := range points {
			r := p.Y - l.Slope*p.X - l.Intercept
			s += weight(&p, l.Slope) * r * r
		}
		l.Misfit = s / (n - 2)
	}
	return l, nil
}

// weight is W of one point at a slope.
func weight(p *Point, b float64) float64 { return 1 / (p.YSD*p.YSD + b*b*p.XSD*p.XSD) }

// pass is one repetition at the slope b.
func pass(points []Point, b float64) Line {
	var w, wx, wy float64
	for i := range points {
		p := &points[i]
		k := weight(p, b)
		w += k
		wx += k * p.X
		wy += k * p.Y
	}
	mx, my := wx/w, wy/w
	beta := func(p *Point) float64 {
		return weight(p, b) * ((p.X-mx)*p.YSD*p.YSD + b*(p.Y-my)*p.XSD*p.XSD)
	}
	var up, down, wa float64
	for i := range points {
		p := &points[i]
		k := weight(p, b) * beta(p)
		up += k * (p.Y - my)
		down += k * (p.X - mx)
		wa += weight(p, b) * (mx + beta(p))
	}
	l := Line{Slope: up / down}
	l.Intercept = my - l.Slope*mx
	centre := wa / w
	wu := 0.0
	for i := range points {
		p := &points[i]
		u := mx + beta(p) - centre
		wu += weight(p, b) * u * u
	}
	l.SlopeSD = 1 / math.Sqrt(wu)
	l.CentreX, l.CentreSD = centre, 1/math.Sqrt(w)
	l.InterceptSD = math.Hypot(l.CentreSD, centre*l.SlopeSD)
	return l
}
