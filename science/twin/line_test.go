package twin

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// pearson are the points of Pearson 1901 with the weights of York 1966.
//
// Source: York, Evensen, Martínez & De Basabe Delgado 2004, table I.
func pearson() []Point {
	x := []float64{0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4}
	wx := []float64{1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1}
	y := []float64{5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5}
	wy := []float64{1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500}
	p := make([]Point, len(x))
	for i := range p {
		p[i] = Point{x[i], y[i], 1 / math.Sqrt(wx[i]), 1 / math.Sqrt(wy[i])}
	}
	return p
}

func TestLineOfPearsonAndYork(t *testing.T) {
	l, err := FitLine(pearson())
	if err != nil {
		t.Fatal(err)
	}
	const (
		williamson = "Williamson 1968 (Can. J. Phys. 46:1845), quoted by the Kapteyn package's tutorial on this example"
		york       = "York et al. 2004, as two independent programs give it"
	)
	for _, c := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		{"intercept", l.Intercept, 5.47991022403, 2e-9, williamson},
		{"slope", l.Slope, -0.48053340745, 2e-10, williamson},
		{"sd of the intercept", l.InterceptSD, 0.294971, 2e-6, york},
		{"sd of the slope", l.SlopeSD, 0.057985, 2e-6, york},
		{"misfit", l.Misfit, 11.8663531941 / 8, 1e-8, "the same: weighted sum of squares 11.866, from memory"},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s = %.11f, want %.11f ± %g (%s)", c.what, c.got, c.want, c.tol, c.source)
		}
	}
	if d := l.Intercept + l.Slope*l.CentreX; math.Abs(math.Hypot(l.CentreSD, l.CentreX*l.SlopeSD)-l.InterceptSD) > 1e-12 || d < 2 || d > 6 {
		t.Errorf("the centre at %.3f does not fit the intercept's error", l.CentreX)
	}
}

// With no error in x the line is that of weighted least squares, and with the
// axes exchanged it is the same line.
func TestLineLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		a, b := rapid.Float64Range(-3, 3).Draw(t, "a"), rapid.Float64Range(0.3, 3).Draw(t, "b")
		n := rapid.IntRange(4, 12).Draw(t, "n")
		p := make([]Point, n)
		for i := range p {
			x := float64(i)
			p[i] = Point{x, a + b*x + 0.1*rng.NormFloat64(), 1e-9, 0.05 + 0.1*rng.Float64()}
		}
		l, err := FitLine(p)
		if err != nil {
			t.Fatal(err)
		}
		var w, wx, wy, wxx, wxy float64
		for _, q := range p {
			k := 1 / q.YSD / q.YSD
			w, wx, wy, wxx, wxy = w+k, wx+k*q.X, wy+k*q.Y, wxx+k*q.X*q.X, wxy+k*q.X*q.Y
		}
		want := (w*wxy - wx*wy) / (w*wxx - wx*wx)
		if math.Abs(l.Slope-want) > 1e-7 || math.Abs(l.SlopeSD-math.Sqrt(w/(w*wxx-wx*wx))) > 1e-7 {
			t.Errorf("slope %.8f ± %.8f, weighted least squares %.8f", l.Slope, l.SlopeSD, want)
		}
		for i := range p {
			p[i].XSD = 0.08
		}
		l, _ = FitLine(p)
		turned := make([]Point, n)
		for i, q := range p {
			turned[i] = Point{q.Y, q.X, q.YSD, q.XSD}
		}
		back, err := FitLine(turned)
		if err != nil || math.Abs(back.Slope*l.Slope-1) > 1e-6 {
			t.Errorf("slope %.8f, with the axes exchanged %.8f: they are no inverses (%v)", l.Slope, back.Slope, err)
		}
	})
}

func TestLineRefuses(t *testing.T) {
	good := pearson()
	for _, c := range []struct {
		field string
		p     []Point
	}{
		{"points", good[:1]},
		{"points", []Point{{1, 2, 1, 1}, {1, 3, 1, 1}}},
		{"points[1].x_sd", []Point{{1, 2, 1, 1}, {2, 3, 0, 1}}},
		{"points[0].y", []Point{{1, math.NaN(), 1, 1}, {2, 3, 1, 1}}},
		{"points[1].y_sd", []Point{{1, 2, 1, 1}, {2, 3, 1, -1}}},
	} {
		_, err := FitLine(c.p)
		var le *LineError
		if !errors.As(err, &le) || le.Field != c.field {
			t.Errorf("%v: error %v, want one of %q", c.p, err, c.field)
		}
	}
}
