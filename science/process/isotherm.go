package process

import (
	"fmt"
	"math"
)

// GAB is the sorption isotherm of Guggenheim, Anderson and de Boer:
//
//	X = X_m C K a / ((1 − K a)(1 − K a + C K a))
//
// With K = 1 it is that of Brunauer, Emmett and Teller (BET).
//
// Source: vandenberg1985.
type GAB struct {
	Xm float64 // water of the first layer on dry matter X_m [1]
	C  float64 // constant of the first layer's heat C [1]
	K  float64 // constant of the layers above K [1]
}

// Moisture returns the water on dry matter [1] that stands with a water activity,
// where activity is a [1].
//
// Special case: NaN outside 0…1 or where K a reaches 1.
func (g GAB) Moisture(activity float64) float64 {
	u := g.K * activity
	if !(activity >= 0 && activity <= 1 && u < 1) {
		return math.NaN()
	}
	return g.Xm * g.C * u / ((1 - u) * (1 - u + g.C*u))
}

// Activity returns the water activity [1] that stands with a water content,
// where moisture is water on dry matter [1]. It is the root in 0…1 of
//
//	X(1 − C) u² + (X(C − 2) − X_m C) u + X = 0,  u = K a
//
// Special cases: 1 for more water than the curve holds at 1; NaN for less than
// none.
func (g GAB) Activity(moisture float64) float64 {
	if !(moisture >= 0) {
		return math.NaN()
	}
	if moisture == 0 {
		return 0
	}
	a := moisture * (1 - g.C)
	b := moisture*(g.C-2) - g.Xm*g.C
	c := moisture
	// b is below 0 where it matters; the form 2c/(−b + √…) keeps its digits and
	// holds for C = 1 too.
	d := b*b - 4*a*c
	if d < 0 {
		return math.NaN()
	}
	u := 2 * c / (-b + math.Sqrt(d))
	if !(u >= 0) {
		return 1
	}
	return math.Min(1, u/g.K)
}

// Sorption is the two isotherms between which dried spirulina lies. The two
// figures that were found in print disagree by about two, and one curve would
// say more than is known.
type Sorption struct {
	Cautious GAB // more water activity for the same moisture
	Lenient  GAB
}

// Published is the band through the two published points: 0.075 on dry matter at
// 0.60 (tiendrebeogo2015), and 12.5 % at 0.56 taken on dry matter (kumar1995; the
// basis is not stated). The shape, C = 12 and K = 0.85, is an assumption: the
// constants of the isotherm papers could not be read.
var Published = Sorption{GAB{0.03969, 12, 0.85}, GAB{0.07151, 12, 0.85}}

// Moistures returns the two moistures of the whole [1] that stand with a water
// activity, where activity is that [1].
func (s Sorption) Moistures(activity float64) (low, high float64) {
	return WetBasis(s.Cautious.Moisture(activity)), WetBasis(s.Lenient.Moisture(activity))
}

// Activities returns the two water activities [1] that stand with a moisture,
// where moisture is water in the whole [1].
func (s Sorption) Activities(moisture float64) (low, high float64) {
	x := DryBasis(moisture)
	return s.Lenient.Activity(x), s.Cautious.Activity(x)
}

// Henderson returns the water on dry matter [1] of Henderson's isotherm at one
// temperature:
//
//	1 − a = exp(−A X^B)
//
// activity is a [1], constant is A [1] and power B [1], of one's own fit
// (desmorieux2005 found that the form suits, its constants could not be read).
//
// Special case: NaN outside 0…1 and for constants that are not positive.
//
// Source: henderson1952.
func Henderson(activity, constant, power float64) float64 {
	if !(activity >= 0 && activity < 1 && constant > 0 && power > 0) {
		return math.NaN()
	}
	return math.Pow(-math.Log1p(-activity)/constant, 1/power)
}

// Sorbed is one point of a measured isotherm.
type Sorbed struct {
	Activity float64 // [1]
	Moisture float64 // water on dry matter [1, or any one unit: X_m comes in it]
}

// EnergyError says that a fit gave a constant of heat that cannot be. It holds
// the numbers, which are good for a curve and for nothing else.
type EnergyError struct {
	Fit GAB
	R2  float64 // of the straight line [1]
}

func (e *EnergyError) Error() string {
	return fmt.Sprintf("isotherm: the constant C comes out as %.4g, and only a positive one has a meaning", e.Fit.C)
}

// FitBET returns the BET isotherm of points and the R² of its straight line [1]:
//
//	a/((1 − a) X) = 1/(X_m C) + (C − 1)/(X_m C) a
//
// upTo is the highest activity used [1], usually 0.35. A constant C that is not
// positive is an *EnergyError: a published table prints 79.88 where its own
// points give −80.3.
//
// Source: brunauer1938, eq. 28.
func FitBET(points []Sorbed, upTo float64) (GAB, float64, error) {
	var n, mx, my float64
	var use []Sorbed
	for _, p := range points {
		if p.Activity > 0 && p.Activity < 1 && p.Activity <= upTo && p.Moisture > 0 {
			use = append(use, Sorbed{p.Activity, p.Activity / ((1 - p.Activity) * p.Moisture)})
		}
	}
	if len(use) < 3 {
		return GAB{}, 0, bad("points", "", fmt.Sprintf("points up to an activity of %g are %d, and three are needed", upTo, len(use)))
	}
	n = float64(len(use))
	for _, p := range use {
		mx, my = mx+p.Activity/n, my+p.Moisture/n
	}
	var xx, xy, yy float64
	for _, p := range use {
		dx, dy := p.Activity-mx, p.Moisture-my
		xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
	}
	if !(xx > 0) {
		return GAB{}, 0, bad("points", "", "points are all at one activity")
	}
	slope := xy / xx
	at0 := my - slope*mx
	g := GAB{Xm: 1 / (slope + at0), C: slope/at0 + 1, K: 1}
	r2 := xy * xy / (xx * yy)
	if !(g.C > 0) || !(g.Xm > 0) {
		return g, r2, &EnergyError{g, r2}
	}
	return g, r2, nil
}

// FitGAB returns the GAB isotherm of points with the smallest squared error of
// moisture, and the root mean square of that error [same unit as Moisture]. The
// start is the parabola of a/X over a; from there it is damped least squares in
// the logarithms of the three constants.
//
// Source: vandenberg1985 for the parabola; marquardt1963.
func FitGAB(points []Sorbed) (GAB, float64, error) {
	var use []Sorbed
	for _, p := range points {
		if p.Activity > 0 && p.Activity < 1 && p.Moisture > 0 && !math.IsInf(p.Moisture, 0) {
			use = append(use, p)
		}
	}
	if len(use) < 4 {
		return GAB{}, 0, bad("points", "", fmt.Sprintf("points of use are %d, and four are needed for three constants", len(use)))
	}
	best, bestSum := GAB{}, math.Inf(1)
	for _, k := range []float64{0.6, 0.75, 0.9} { // a few starts: the valley is long
		for _, c := range []float64{2, 10, 60} {
			xm := use[len(use)/2].Moisture * (1 - k*use[len(use)/2].Activity)
			if g, sum := marquardt(use, GAB{xm, c, k}); sum < bestSum {
				best, bestSum = g, sum
			}
		}
	}
	if math.IsInf(bestSum, 1) || !(best.C > 0 && best.K > 0 && best.Xm > 0) {
		return best, 0, bad("points", "", "points do not lie on an isotherm of this form")
	}
	return best, math.Sqrt(bestSum / float64(len(use))), nil
}

func (g GAB) misfit(use []Sorbed) float64 {
	sum := 0.0
	for _, p := range use {
		e := g.Moisture(p.Activity) - p.Moisture
		sum += e * e
	}
	if math.IsNaN(sum) {
		return math.Inf(1)
	}
	return sum
}

func marquardt(use []Sorbed, g GAB) (GAB, float64) {
	sum := g.misfit(use)
	lambda := 1e-3
	for range 500 {
		var h [3][3]float64
		var r [3]float64
		for _, p := range use {
			y := g.Moisture(p.Activity)
			const d = 1e-6
			j := [3]float64{
				y,
				(GAB{g.Xm, g.C * (1 + d), g.K}.Moisture(p.Activity) - y) / d,
				(GAB{g.Xm, g.C, g.K * (1 + d)}.Moisture(p.Activity) - y) / d,
			}
			for a := range 3 {
				r[a] += j[a] * (p.Moisture - y)
				for b := range 3 {
					h[a][b] += j[a] * j[b]
				}
			}
		}
		for a := range 3 {
			h[a][a] *= 1 + lambda
		}
		s, ok := solve3(h, r)
		if !ok {
			break
		}
		next := GAB{g.Xm * math.Exp(limit(s[0])), g.C * math.Exp(limit(s[1])), g.K * math.Exp(limit(s[2]))}
		if m := next.misfit(use); m < sum {
			done := sum-m < 1e-14*sum
			g, sum = next, m
			lambda = math.Max(1e-12, lambda/10)
			if done {
				break
			}
		} else if lambda *= 10; lambda > 1e12 {
			break
		}
	}
	return g, sum
}

func limit(x float64) float64 { return math.Max(-1, math.Min(1, x)) }

// solve3 solves three equations by elimination with pivots.
func solve3(h [3][3]float64, r [3]float64) ([3]float64, bool) {
	for c := range 3 {
		p := c
		for i := c + 1; i < 3; i++ {
			if math.Abs(h[i][c]) > math.Abs(h[p][c]) {
				p = i
			}
		}
		h[c], h[p], r[c], r[p] = h[p], h[c], r[p], r[c]
		if !(math.Abs(h[c][c]) > 0) || math.IsInf(h[c][c], 0) {
			return r, false
		}
		for i := c + 1; i < 3; i++ {
			f := h[i][c] / h[c][c]
			for j := c; j < 3; j++ {
				h[i][j] -= f * h[c][j]
			}
			r[i] -= f * r[c]
		}
	}
	for c := 2; c >= 0; c-- {
		for j := c + 1; j < 3; j++ {
			r[c] -= h[c][j] * r[j]
		}
		r[c] /= h[c][c]
	}
	return r, !math.IsNaN(r[0] + r[1] + r[2])
}
