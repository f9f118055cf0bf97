package process

import (
	"fmt"
	"math"

	"sodalake/science/num"
)

// Model is a form of the drying curve of a thin layer.
type Model string

// The forms. Each gives the moisture ratio MR = (X − Xₑ)/(X₀ − Xₑ), from 1 when
// drying begins to 0 at the moisture of the air.
const (
	Newton         Model = "newton"          // exp(−k t), Lewis's
	Page           Model = "page"            // exp(−k tⁿ)
	HendersonPabis Model = "henderson-pabis" // a exp(−k t)
	Logarithmic    Model = "logarithmic"     // a exp(−k t) + c
	Midilli        Model = "midilli"         // a exp(−k tⁿ) + b t
)

// Curve is the drying curve of a thin layer with its constants. No constants
// fitted to spirulina were found in print: they come from one's own trays.
//
// Source: lewis1921 (Newton); page1949; henderson1961; midilli2002.
type Curve struct {
	Model Model
	K     float64 // k [1/s^n; 1/s where n is 1]
	N     float64 // n, of Page and Midilli [1]
	A     float64 // a, of all but Newton and Page [1]
	C     float64 // c, of Logarithmic [1]
	B     float64 // b, of Midilli, mostly a little under 0 [1/s]
}

// Ratio returns the moisture ratio after a time [1], where timeS is that time
// [s]. within is false where the curve left what can be, under 0 or over 1, or
// where it has begun to rise: then the value is held to 0…1 and says nothing.
// Midilli's form does so by nature once its last term has outgrown the first.
//
// Special case: NaN for a negative time or constants that make no curve.
func (c Curve) Ratio(timeS float64) (mr float64, within bool) {
	if !(timeS >= 0) || !(c.K > 0) {
		return math.NaN(), false
	}
	x, slope := c.raw(timeS)
	if math.IsNaN(x) {
		return x, false
	}
	// A rounding's width is left to curves that start at exactly 1.
	within = x >= 0 && x <= 1+1e-12 && (timeS == 0 || slope <= 0)
	return math.Min(1, math.Max(0, x)), within
}

// raw is the curve as written, with its slope.
func (c Curve) raw(t float64) (x, slope float64) {
	switch c.Model {
	case Newton:
		x = math.Exp(-c.K * t)
		return x, -c.K * x
	case Page:
		x = math.Exp(-c.K * math.Pow(t, c.N))
		return x, -c.K * c.N * math.Pow(t, c.N-1) * x
	case HendersonPabis:
		x = c.A * math.Exp(-c.K*t)
		return x, -c.K * x
	case Logarithmic:
		e := c.A * math.Exp(-c.K*t)
		return e + c.C, -c.K * e
	case Midilli:
		e := c.A * math.Exp(-c.K*math.Pow(t, c.N))
		return e + c.B*t, -c.K*c.N*math.Pow(t, c.N-1)*e + c.B
	}
	return math.NaN(), math.NaN()
}

// TimeS returns when the curve comes down to a moisture ratio [s], where mr is
// that ratio [1].
//
// Special cases: 0 for a ratio that it never was above; +Inf for one that it
// does not reach while it falls and stays over 0; NaN outside 0…1.
func (c Curve) TimeS(mr float64) float64 {
	if !(mr > 0 && mr <= 1) || !(c.K > 0) {
		return math.NaN()
	}
	l := -math.Log(mr)
	switch c.Model {
	case Newton:
		return l / c.K
	case Page:
		return math.Pow(l/c.K, 1/c.N)
	case HendersonPabis:
		return math.Max(0, math.Log(c.A/mr)/c.K)
	case Logarithmic:
		if mr <= c.C {
			return math.Inf(1)
		}
		return math.Max(0, math.Log(c.A/(mr-c.C))/c.K)
	case Midilli:
		return c.midilliTime(mr)
	}
	return math.NaN()
}

// midilliTime walks down the curve in steps of its own time until it is under
// mr, and looks closer there. It stops where the curve turns up again.
func (c Curve) midilliTime(mr float64) float64 {
	if start, _ := c.raw(0); start <= mr {
		return 0
	}
	scale := math.Pow(1/c.K, 1/c.N)
	step := scale / 64
	for t := 0.0; t < 400*scale; t += step {
		x, slope := c.raw(t + step)
		if x <= mr {
			at, err := num.Root(func(s float64) float64 { y, _ := c.raw(s); return y - mr }, t, t+step, 1e-9*scale)
			if err != nil {
				return math.Inf(1)
			}
			return at
		}
		if slope > 0 {
			break // it rises from here on
		}
	}
	return math.Inf(1)
}

// Ratioed is a moisture ratio that was measured.
type Ratioed struct {
	TimeS float64 // since drying began [s]
	Ratio float64 // MR [1]
}

// Ratios turns the masses of a tray into moisture ratios. massG are the masses
// [g] at timesS [s], the first when drying began, dryG is the dry matter on the
// tray [g] and endG the mass that it comes to rest at in that air [g].
//
// Source: the definition of the moisture ratio.
func Ratios(timesS, massG []float64, dryG, endG float64) ([]Ratioed, error) {
	if len(timesS) != len(massG) || len(massG) < 2 {
		return nil, bad("readings", "", "readings need a time for each mass, and two at least")
	}
	if !(dryG > 0 && endG >= dryG && massG[0] > endG) {
		return nil, bad("readings", "weigh dry matter by drying a small sample to the end", "the first mass must be over the last, and that over the dry matter")
	}
	out := make([]Ratioed, len(massG))
	for i := range massG {
		if !(massG[i] >= dryG) {
			return nil, bad("readings", "", fmt.Sprintf("mass %g g is less than the dry matter in it", massG[i]))
		}
		if !(timesS[i] >= 0) || i > 0 && !(timesS[i] > timesS[i-1]) {
			return nil, bad("readings", "", "readings must run forward in time")
		}
		out[i] = Ratioed{timesS[i], (massG[i] - endG) / (massG[0] - endG)}
	}
	return out, nil
}

// FitCurve fits Newton's or Page's form to measured ratios and returns it with
// the root mean square of what is left [1]. Ratios under 0.01 or over 0.99 have
// no weight, since their logarithm is mostly the error of the balance.
//
// The start is the straight line of ln(−ln MR) over ln t; from there
// Gauss-Newton in ln k and n makes the squared errors of MR itself least.
//
// Source: page1949 for the form.
func FitCurve(model Model, points []Ratioed) (Curve, float64, error) {
	if model != Newton && model != Page {
		return Curve{}, 0, bad("model", "newton or page", fmt.Sprintf("model %q is not fitted", model))
	}
	var use []Ratioed
	for _, p := range points {
		if p.TimeS > 0 && p.Ratio > 0.01 && p.Ratio < 0.99 {
			use = append(use, p)
		}
	}
	least := 1
	if model == Page {
		least = 2
	}
	if len(use) < least {
		return Curve{}, 0, bad("readings", "weigh the tray a few times while it still loses water", fmt.Sprintf("readings between 1 and 99 %% of the way are %d, and %d are needed", len(use), least))
	}
	var mx, my float64
	m := float64(len(use))
	for _, p := range use {
		mx, my = mx+math.Log(p.TimeS)/m, my+math.Log(-math.Log(p.Ratio))/m
	}
	n := 1.0
	if model == Page {
		var xx, xy float64
		for _, p := range use {
			d := math.Log(p.TimeS) - mx
			xx, xy = xx+d*d, xy+d*(math.Log(-math.Log(p.Ratio))-my)
		}
		n = xy / xx
		if !(n > 0.05 && n < 20) {
			return Curve{}, 0, bad("readings", "", "readings do not follow one another as a drying curve does")
		}
	}
	lnK := my - n*mx
	n, rms := gaussNewton(use, model == Page, mx, lnK+n*mx, n, &lnK)
	c := Curve{Model: model, K: math.Exp(lnK), N: n}
	if model == Newton {
		c.N = 0
	}
	if !(c.K > 0) || math.IsInf(c.K, 0) {
		return Curve{}, 0, bad("readings", "", "readings do not follow one another as a drying curve does")
	}
	return c, rms, nil
}

// gaussNewton refines y = ln(k tᵐⁿ) at the mean log time and n; it writes ln k.
func gaussNewton(use []Ratioed, bothFree bool, mx, y, n float64, lnK *float64) (float64, float64) {
	sum := func(y, n float64) float64 {
		s := 0.0
		for _, p := range use {
			e := math.Exp(-math.Exp(y+n*(math.Log(p.TimeS)-mx))) - p.Ratio
			s += e * e
		}
		return s
	}
	best := sum(y, n)
	for range 60 {
		var a, b, d, u, v float64
		for _, p := range use {
			x := math.Log(p.TimeS) - mx
			g := math.Exp(y + n*x)
			f := math.Exp(-g)
			dy := -f * g // dMR/dy; dMR/dn is x times that
			e := p.Ratio - f
			a, b, d = a+dy*dy, b+dy*dy*x, d+dy*dy*x*x
			u, v = u+dy*e, v+dy*x*e
		}
		var sy, sn float64
		if bothFree {
			det := a*d - b*b
			sy, sn = (u*d-v*b)/det, (a*v-b*u)/det
		} else {
			sy = u / a
		}
		if math.IsNaN(sy) || math.IsNaN(sn) {
			break
		}
		f := 1.0
		for f > 1e-6 && !(sum(y+f*sy, n+f*sn) < best) {
			f /= 2
		}
		if f <= 1e-6 {
			break
		}
		y, n = y+f*sy, n+f*sn
		best = sum(y, n)
	}
	*lnK = y - n*mx
	return n, math.Sqrt(best / float64(len(use)))
}
