package twin

import (
	"math"
	"math/rand/v2"
	"testing"

	"sodalake/science/num"
)

// ahead returns for every member its density some days on [g/L].
func ahead(e *Ensemble, days int) []float64 {
	c := e.Copy()
	w := flatWeather(begins, days+1, 800, 25)
	for d := 1; d <= days; d++ {
		c.Advance(begins.AddDate(0, 0, d), wrap(w), nil)
	}
	out := make([]float64, len(c.Members))
	for i := range out {
		out[i] = math.Log(c.Members[i].Pond.DensityGL())
	}
	return out
}

func spread(x []float64) float64 {
	b := num.BandOf(append([]float64(nil), x...))
	return b.High - b.Low
}

// TestWorthIsWhatComes takes each reading many times, as it may fall, runs the
// forecast again and asks that its spread shrinks as was foretold.
func TestWorthIsWhatComes(t *testing.T) {
	e := started(t, Config{Members: 200, Draws: 1, Seed: 21})
	const days = 2
	decision := ahead(e, days)
	was := spread(decision)
	kinds := []Kind{Secchi, DryWeight, Temp, Level, Colour}
	foretold := map[Kind]float64{}
	order := e.Worth(decision, kinds)
	for _, u := range order {
		foretold[u.Kind] = u.Share
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, k := range kinds {
		expected, _ := e.expect(k)
		mean, _ := moments(expected)
		sigma := usual(k, mean)
		sum := 0.0
		const times = 8
		for range times {
			// What will be read is drawn from what the members expect.
			truth := expected[rng.IntN(len(expected))] + sigma*rng.NormFloat64()
			c := e.Copy()
			c.Assimilate(Reading{Kind: k, Value: truth, Sigma: sigma, Op: '=', Slip: 5})
			sum += 1 - spread(ahead(c, days))/was
		}
		got := sum / times
		t.Logf("%-12s foretold %.3f, came %.3f", k, foretold[k], got)
		// Noise is added after the reading, ranks are not quantities, and eight
		// trials are few: a tenth.
		if math.Abs(got-foretold[k]) > 0.1 {
			t.Errorf("%s: the spread shrank by %.3f, foretold %.3f", k, got, foretold[k])
		}
	}
	if order[0].Kind != DryWeight || foretold[Secchi] <= foretold[Temp] || foretold[Secchi] <= foretold[Colour] {
		t.Errorf("order %v", order)
	}
}

// TestWorthOfNever asks that a moment that some never reach counts as late.
func TestWorthOfNever(t *testing.T) {
	e := started(t, Config{Members: 200, Draws: 1, Seed: 22})
	ready := make([]float64, len(e.Members))
	for i, x := range ahead(e, 0) {
		ready[i] = 10 - 20*(x-math.Log(0.4))
		if ready[i] > 12 {
			ready[i] = math.Inf(1)
		}
	}
	u := e.Worth(ready, []Kind{Temp, DryWeight})
	if u[0].Kind != DryWeight || u[0].Share < 0.3 || u[1].Share > 0.1 {
		t.Errorf("%v", u)
	}
	same := make([]float64, len(e.Members))
	if u := e.Worth(same, []Kind{DryWeight}); u[0].Share != 0 {
		t.Errorf("a decision on which all agree: %v", u)
	}
	e.Do(func(_ int, m *Member) { m.Pond.WaterKg, m.Pond.BiomassG = 0, 0 })
	if u := e.Worth(ready, []Kind{DryWeight, Secchi}); u[0].Share != 0 || u[1].Share != 0 {
		t.Errorf("an empty vessel: %v", u)
	}
}

func TestScores(t *testing.T) {
	z := scores([]float64{3, 1, 2, math.Inf(1)})
	for i, p := range []float64{0.625, 0.125, 0.375, 0.875} {
		if math.Abs(0.5*math.Erfc(-z[i]/math.Sqrt2)-p) > 1e-12 {
			t.Errorf("score %d is %.4f, want that of %.3f ((rank − ½)/n)", i, z[i], p)
		}
	}
	if z := scores([]float64{2, 2, 5, 5}); z[0] != z[1] || z[2] != z[3] || z[0] >= z[2] {
		t.Errorf("ties: %v", z)
	}
}
