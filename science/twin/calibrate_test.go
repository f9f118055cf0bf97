package twin

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"sodalake/science/growth"
)

// pairsOf makes pairs of a disc with a law X = K d^−m, with the errors of a
// stick and of scales.
func pairsOf(rng *rand.Rand, n int, lnK, m float64) []Pair {
	p := make([]Pair, n)
	for i := range p {
		x := 0.2 * math.Exp(1.4*rng.Float64())
		d := math.Exp((lnK - math.Log(x)) / m)
		p[i] = Pair{max(d+0.25*rng.NormFloat64(), 0.3), x * math.Exp(lnDryError*rng.NormFloat64())}
	}
	return p
}

// TestCurveCovers draws growers with discs of their own and asks that the
// interval of their curves holds the truth as often as it says.
func TestCurveCovers(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 12))
	for _, n := range []int{1, 3, 8, 20} {
		inside, total, width := 0, 0, 0.0
		for range 400 {
			lnK := math.Log(growth.SecchiConstant) + growth.SecchiConstantSD*rng.NormFloat64()
			m := 1 + 0.08*rng.NormFloat64()
			// The constant is told where discs are read, not at 1 cm.
			ln0 := math.Log(2.4)
			c, err := SecchiCurve(pairsOf(rng, n, lnK+(m-1)*ln0, m))
			if err != nil {
				t.Fatal(err)
			}
			for _, d := range []float64{1.6, 2.4, 4} {
				truth := math.Exp(lnK + (m-1)*ln0 - m*math.Log(d))
				b := c.DensityGL(max(d+0.25*rng.NormFloat64(), 0.3))
				if truth >= b.Low && truth <= b.High {
					inside++
				}
				total++
				width += math.Log(b.High / b.Low)
			}
		}
		got := float64(inside) / float64(total)
		t.Logf("%2d pairs: 80 %% interval holds %.3f, width %.2f", n, got, width/float64(total))
		if got < 0.75 || got > 0.88 {
			t.Errorf("%d pairs: the 80 %% interval holds the truth %.3f of the time", n, got)
		}
	}
}

// TestCurveFindsTheDisc asks that many pairs bring constant and slope.
func TestCurveFindsTheDisc(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	c, err := SecchiCurve(pairsOf(rng, 40, math.Log(0.95), 1))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(c.LnConstant-math.Log(0.95)) > 0.05 || math.Abs(c.Slope-1) > 0.1 || c.SD > 0.03 {
		t.Errorf("constant %.3f ± %.3f, slope %.3f; the disc was 0.95 and 1", math.Exp(c.LnConstant), c.SD, c.Slope)
	}
	before := growth.SecchiConstantSD
	one, _ := SecchiCurve(pairsOf(rng, 1, math.Log(0.95), 1))
	if !(one.SD < before) || one.Slope != 1 {
		t.Errorf("one pair: ± %.3f slope %g, want less than %.3f and 1", one.SD, one.Slope, before)
	}
	none, _ := SecchiCurve(nil)
	if none.SD != before || math.Abs(none.LnConstant-math.Log(growth.SecchiConstant)) > 1e-12 {
		t.Errorf("no pairs: %+v, want the default", none)
	}
	od, err := ODCurve([]Pair{{0.5, 0.3}, {1, 0.62}, {1.5, 0.88}, {2, 1.21}, {0.25, 0.16}})
	if err != nil || math.Abs(math.Exp(od.LnConstant)-0.6) > 0.03 {
		t.Errorf("optical density: %.3f g/L per unit, want about 0.6 (%v)", math.Exp(od.LnConstant), err)
	}
	if b := od.DensityGL(1); math.Abs(b.Mid-0.6) > 0.04 || !(b.Low < b.Mid && b.Mid < b.High) {
		t.Errorf("density at 1: %+v", b)
	}
}

// TestCurveReading asks that an ensemble drawn with a curve and told a reading
// of it expects what the curve says.
func TestCurveReading(t *testing.T) {
	c := Curve{Kind: Secchi, LnConstant: math.Log(1.0), SD: 0.05, Slope: 0.9, SlopeSD: 0.04, LnAt: math.Log(2.5)}
	e := started(t, Config{Members: 400, Draws: 1, Seed: 5, Secchi: &c})
	mid := e.Band(func(m *Member) float64 { return math.Exp(m.LnSecchi) })
	if math.Abs(mid.Mid-1) > 0.02 {
		t.Errorf("constants drawn about %.3f, want 1.0", mid.Mid)
	}
	r := c.Reading(4)
	m := e.Median(func(m *Member) float64 { return m.LnSecchi })
	m.LnSecchi = c.LnConstant
	x := c.DensityGL(4).Mid
	m.Pond.BiomassG = x * m.Pond.VolumeL()
	if got := m.Expect(Secchi, nil); math.Abs(got-r.Value) > 1e-9 {
		t.Errorf("at the density of the curve the member expects %.4f, the reading is %.4f", got, r.Value)
	}
}

func TestCurveRefuses(t *testing.T) {
	for _, c := range []struct {
		field string
		p     Pair
	}{{"pairs[0].secchi_cm", Pair{0, 0.4}}, {"pairs[0].dry_g_per_l", Pair{2, -1}}, {"pairs[0].secchi_cm", Pair{math.NaN(), 0.4}}} {
		_, err := SecchiCurve([]Pair{c.p})
		var ce *CalibrationError
		if !errors.As(err, &ce) || ce.Field != c.field {
			t.Errorf("%+v: error %v, want one of %q", c.p, err, c.field)
		}
	}
}
