package twin

import (
	"fmt"
	"math"

	"sodalake/science/growth"
	"sodalake/science/num"
)

// Curve is a grower's own calibration of a disc or of an optical density:
//
//	disc: ln X = LnConstant − LnAt − Slope·(ln d − LnAt)
//	optical density: ln X = LnConstant + LnAt + Slope·(ln OD − LnAt)
//
// so that with a slope of 1 X is constant/d, or constant·OD.
type Curve struct {
	Kind       Kind    // Secchi or OD
	LnConstant float64 // logarithm of the constant where the pairs lie [ln g·cm/L, ln g/L]
	SD         float64 // its standard deviation [1]
	Slope      float64 // 1 for the plain law [1]
	SlopeSD    float64 // its standard deviation [1]
	LnAt       float64 // where the pairs lie: logarithm of the depth or of the optical density [ln cm, ln 1]
	Pairs      int     // how many it rests on
	Misfit     float64 // scatter of the pairs over what their errors say, as a ratio of variances; NaN where it cannot be told [1]
}

// Pair is a reading and a dry weight of the same culture.
type Pair struct {
	Read  float64 // depth [cm], or optical density [1]
	DryGL float64 // dry matter [g/L]
}

// CalibrationError says which pair cannot be used.
type CalibrationError struct {
	Field string // as "pairs[2].dry_g_per_l"
	Why   string
}

// Error implements error.
func (e *CalibrationError) Error() string { return e.Field + ": " + e.Why }

// Priors of a calibration, standard deviations of what is not in the constant
// of package growth. Judgement, no source.
const (
	slopeSD    = 0.12 // of the slope about 1
	slopeLeast = 5    // pairs from which the slope is asked
	slopeReach = 0.6  // extent of the logarithms from which it is
)

// SecchiCurve returns the curve of a grower's own disc from pairs of its depth
// and dry weight. It begins at the default constant and moves as far as the
// pairs allow: one pair counts little against it, five good ones nearly all.
// Fewer than five pairs, or pairs close together, leave the slope at 1; else it
// is that of FitLine, which knows that both err. Scatter beyond what the errors
// say widens all.
//
// The error is a *CalibrationError that names the pair.
//
// Source: errors in both axes: york2004; the prior joined by its weight, as two
// estimates are.
func SecchiCurve(pairs []Pair) (Curve, error) {
	return calibrate(Secchi, -1, pairs, math.Log(growth.SecchiConstant), growth.SecchiConstantSD)
}

// ODCurve is SecchiCurve for optical density at 750 nm.
func ODCurve(pairs []Pair) (Curve, error) {
	return calibrate(OD, 1, pairs, math.Log(growth.ODPerUnit), growth.ODPerUnitSD)
}

func (k Kind) read(x float64) Reading {
	if k == OD {
		return ReadOD(x)
	}
	return ReadSecchi(x)
}

func calibrate(k Kind, sign float64, pairs []Pair, prior, priorSD float64) (Curve, error) {
	c := Curve{Kind: k, LnConstant: prior, SD: priorSD, Slope: 1, SlopeSD: slopeSD, Pairs: len(pairs), Misfit: math.NaN()}
	if k == Secchi {
		c.LnAt = math.Log(growth.SecchiConstant / 0.5) // at the density called ready
	}
	if len(pairs) == 0 {
		return c, nil
	}
	points := make([]Point, len(pairs))
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range pairs {
		r, w := k.read(p.Read), ReadDryWeight(p.DryGL)
		field := map[Kind]string{Secchi: "secchi_cm", OD: "od_750"}[k]
		if !r.Usable() {
			return Curve{}, &CalibrationError{fmt.Sprintf("pairs[%d].%s", i, field), fmt.Sprintf("must be above 0, got %g", p.Read)}
		}
		if !w.Usable() {
			return Curve{}, &CalibrationError{fmt.Sprintf("pairs[%d].dry_g_per_l", i), fmt.Sprintf("must be above 0, got %g", p.DryGL)}
		}
		points[i] = Point{r.Value, w.Value, r.at(r.Value), w.Sigma}
		low, high = min(low, r.Value), max(high, r.Value)
	}

	// The constant with a slope of 1: the weighted mean of what each pair says.
	var w, wk, wx float64
	for _, p := range points {
		v := 1 / (p.YSD*p.YSD + p.XSD*p.XSD)
		w += v
		wk += v * (p.Y - sign*p.X)
		wx += v * p.X
	}
	own, ownSD, at := wk/w, 1/math.Sqrt(w), wx/w
	if n := len(points); n > 1 {
		s := 0.0
		for _, p := range points {
			d := p.Y - sign*p.X - own
			s += d * d / (p.YSD*p.YSD + p.XSD*p.XSD)
		}
		c.Misfit = s / float64(n-1)
	}
	if len(points) >= slopeLeast && high-low >= slopeReach {
		if l, err := FitLine(points); err == nil && sign*l.Slope > 0 {
			c.Misfit = l.Misfit
			sd := l.SlopeSD * math.Sqrt(max(l.Misfit, 1))
			c.Slope, c.SlopeSD = join(1, slopeSD, sign*l.Slope, sd)
			at, ownSD = l.CentreX, l.CentreSD
			own = l.Intercept + l.Slope*at - sign*at
		}
	}
	if c.Misfit > 1 {
		ownSD *= math.Sqrt(c.Misfit)
	}
	c.LnAt = at
	// What the slope is unsure of moves the prior, which holds at no depth in
	// particular, and not the pairs.
	c.LnConstant, c.SD = join(prior, priorSD, own, ownSD)
	return c, nil
}

// join returns two estimates of one thing put together by their weights.
func join(a, aSD, b, bSD float64) (mean, sd float64) {
	wa, wb := 1/(aSD*aSD), 1/(bSD*bSD)
	return (wa*a + wb*b) / (wa + wb), 1 / math.Sqrt(wa+wb)
}

// Reading returns what a reading tells an ensemble that was drawn with this
// curve: the slope is taken out here, the constant is a variable of the members.
// read is the depth [cm], or the optical density [1].
func (c *Curve) Reading(read float64) Reading {
	r := c.Kind.read(read)
	away := r.Value - c.LnAt
	r.Value = c.LnAt + c.Slope*away
	r.Sigma = math.Hypot(c.Slope*r.Sigma, c.SlopeSD*away)
	r.Abs *= c.Slope
	return r
}

// DensityGL returns the dry matter [g/L] at a reading, as its 10, 50 and 90 %
// quantiles. read is the depth [cm], or the optical density [1].
//
// Special case: NaN for a reading at or below zero.
func (c *Curve) DensityGL(read float64) num.Band {
	r := c.Reading(read)
	ln, sd := c.LnConstant+r.Value, math.Hypot(c.SD, r.at(r.Value))
	if c.Kind == Secchi {
		ln = c.LnConstant - r.Value
	}
	return num.Band{Low: math.Exp(ln - tenth*sd), Mid: math.Exp(ln), High: math.Exp(ln + tenth*sd)}
}

// tenth is how many standard deviations a tenth of the normal curve lies
// beyond [1].
const tenth = 1.2815515655446004

// Read returns what is read [cm, or 1] where a reading taken by this curve has
// the given value on its scale, value [ln cm, ln 1]: the inverse of Reading.
func (c *Curve) Read(value float64) float64 { return math.Exp(c.LnAt + (value-c.LnAt)/c.Slope) }

// ReadAt returns what is expected to be read [cm, or 1] at a density of dryGL
// [g/L] by one whose constant is exp(lnConstant), lnConstant [ln g·cm/L, ln g/L].
//
// Special case: NaN for a density at or below zero.
func (c *Curve) ReadAt(dryGL, lnConstant float64) float64 {
	if c.Kind == Secchi {
		return c.Read(lnConstant - logOrNaN(dryGL))
	}
	return c.Read(logOrNaN(dryGL) - lnConstant)
}
