package twin

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// gaussian returns n values with exactly the given mean and standard deviation.
func gaussian(rng *rand.Rand, n int, mean, sd float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	m, v := moments(x)
	for i := range x {
		x[i] = mean + sd*(x[i]-m)/math.Sqrt(v)
	}
	return x
}

// apart makes y independent of x in the sample, to the last digits.
func apart(y, x []float64, mean, sd float64) {
	xm, xv := moments(x)
	ym, _ := moments(y)
	cov := 0.0
	for i := range x {
		cov += (x[i] - xm) * (y[i] - ym) / float64(len(x)-1)
	}
	for i := range y {
		y[i] -= cov / xv * (x[i] - xm)
	}
	m, v := moments(y)
	for i := range y {
		y[i] = mean + sd*(y[i]-m)/math.Sqrt(v)
	}
}

// TestAgainstKalman holds the filter against the exact answer of the linear
// Gaussian case of two variables, of which the sum is read.
func TestAgainstKalman(t *testing.T) {
	const source = "Kalman 1960 (J. Basic Eng. 82:35), the scalar update written out"
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		const n = 4000
		s1, s2 := rapid.Float64Range(0.2, 3).Draw(t, "s1"), rapid.Float64Range(0.2, 3).Draw(t, "s2")
		sigma := rapid.Float64Range(0.2, 3).Draw(t, "sigma")
		read := rapid.Float64Range(-4, 8).Draw(t, "read")
		x1 := gaussian(rng, n, 1, s1)
		x2 := gaussian(rng, n, 0.5, s2)
		apart(x2, x1, 0.5, s2)
		y := make([]float64, n)
		for i := range y {
			y[i] = x1[i] + x2[i]
		}
		_, up := judge(&Reading{Value: read, Sigma: sigma, Op: '=', Slip: 10}, y)
		assimilate([][]float64{x1, x2}, []float64{1, 1}, []float64{1, 1}, y, up)

		total := s1*s1 + s2*s2 + sigma*sigma
		k1, k2 := s1*s1/total, s2*s2/total
		d := read - 1.5
		var cov float64
		m1, v1 := moments(x1)
		m2, v2 := moments(x2)
		for i := range x1 {
			cov += (x1[i] - m1) * (x2[i] - m2) / (n - 1)
		}
		// 1/(n−2) of a weak correlation is taken as noise: 1 % is more than that
		// down to a correlation of 0.16, and the pairs above keep above it.
		for _, c := range []struct {
			what      string
			got, want float64
			scale     float64
		}{
			{"mean 1", m1, 1 + k1*d, s1}, {"mean 2", m2, 0.5 + k2*d, s2},
			{"variance 1", v1, s1 * s1 * (1 - k1), s1 * s1}, {"variance 2", v2, s2 * s2 * (1 - k2), s2 * s2},
			{"covariance", cov, -s1 * s1 * s2 * s2 / total, s1 * s2},
		} {
			tol := 0.02 * (1 + math.Abs(d)/math.Sqrt(total))
			if math.Abs(c.got-c.want) > tol*c.scale {
				t.Errorf("%s = %.5f, want %.5f ± %.3f (%s)", c.what, c.got, c.want, tol*c.scale, source)
			}
		}
	})
}

// TestOneSided holds the cut normal curve against numerical integration.
func TestOneSided(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for _, c := range []struct {
		sd, sigma, value float64
		op               byte
	}{{0.3, 0.1, 0.2, '>'}, {0.3, 0.1, -0.5, '>'}, {0.3, 0.4, 0.3, '<'}, {0.2, 0.05, -0.2, '<'}} {
		y := gaussian(rng, 500, 0, c.sd)
		_, up := judge(&Reading{Value: c.value, Sigma: c.sigma, Op: c.op, Slip: 5}, y)
		var w, m, v float64
		for i := range 20001 {
			x := (float64(i)/10000 - 1) * 6 * c.sd
			p := math.Exp(-x * x / 2 / c.sd / c.sd)
			beyond := 0.5 * math.Erfc((c.value-x)/c.sigma/math.Sqrt2)
			if c.op == '<' {
				beyond = 1 - beyond
			}
			w += p * beyond
			m += p * beyond * x
			v += p * beyond * x * x
		}
		m /= w
		v = v/w - m*m
		if math.Abs(up.shift-m) > 1e-3*c.sd || math.Abs(up.keep-math.Sqrt(v)/c.sd) > 2e-3 {
			t.Errorf("%c %g: shift %.5f keep %.5f, want %.5f %.5f (numerical integration of Bayes' rule)", c.op, c.value, up.shift, up.keep, m, math.Sqrt(v)/c.sd)
		}
	}
}

// TestHedge holds the weighing by honesty against the moments of a mixture of
// two normal curves.
func TestHedge(t *testing.T) {
	const s = 0.2
	u := update{shift: 0.3, keep: 0.5}
	for _, p := range []float64{0, 0.2, 0.45} {
		h := u.hedged(p, s)
		mean := (1 - p) * 0.3
		variance := (1-p)*(0.1*0.1+0.3*0.3) + p*s*s - mean*mean
		if math.Abs(h.shift-mean) > 1e-12 || math.Abs(h.keep*s-math.Sqrt(variance)) > 1e-12 {
			t.Errorf("slip %.2f: %+v, want shift %.4f spread %.4f (moments of a mixture)", p, h, mean, math.Sqrt(variance))
		}
	}
}

// TestNoiseIsLeftAlone asks that a variable which has nothing to do with the
// reading keeps its spread over many readings.
func TestNoiseIsLeftAlone(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	const n, readings = 120, 100
	other := gaussian(rng, n, 0, 1)
	for range readings {
		y := gaussian(rng, n, 0, 1)
		_, up := judge(&Reading{Value: rng.NormFloat64(), Sigma: 0.5, Op: '=', Slip: 8}, y)
		assimilate([][]float64{other}, []float64{1}, []float64{1}, y, up)
	}
	// Unshrunk, each reading takes (1 − keep²)/(n − 1) of the variance, keep² =
	// 0.2: half of it after a hundred (worked out by hand: exp(−0.8·100/119)).
	if _, v := moments(other); v < 0.62 {
		t.Errorf("a hundred readings of something else left %.2f of the variance", v)
	}
}

func TestShrink(t *testing.T) {
	for _, c := range []struct{ r2, n, low, high float64 }{{0, 120, 0, 0}, {2.0 / 120, 120, 0, 1e-12}, {0.25, 120, 0.948, 0.950}, {1, 120, 1, 1}} {
		if got := shrink(c.r2, c.n); got < c.low || got > c.high {
			t.Errorf("shrink(%g, %g) = %g, want %g to %g (positive part of 1 − 2(1−r²)/((n−2)r²))", c.r2, c.n, got, c.low, c.high)
		}
	}
}

// TestSlipByBayes holds the probability of a slip against Bayes' rule by hand.
func TestSlipByBayes(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	y := gaussian(rng, 200, 0, 0.3)
	for _, d := range []float64{0, 1, 3, 4, 8} {
		total := 0.3*0.3 + 0.4*0.4
		in, _ := judge(&Reading{Value: d * 0.5, Sigma: 0.4, Op: '=', Slip: 5}, y)
		honest := math.Exp(-d*d*0.25/total/2) / math.Sqrt(2*math.Pi*total)
		want := 0.03 / 5 / (0.03/5 + 0.97*honest)
		if math.Abs(in.Slip-want) > 1e-9 || math.Abs(in.Distance-d*0.5/math.Sqrt(total)) > 1e-9 {
			t.Errorf("%g spreads off: slip %.4f at %.2f, want %.4f (Bayes' rule)", d, in.Slip, in.Distance, want)
		}
	}
}
