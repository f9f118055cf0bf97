package plan_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/plan"
)

// rate is growth by a fixed share a day, spread over the draws.
func rate(mu, sd float64, draws int) func(w, d int, x, volume float64) float64 {
	rng := newRand(8)
	f := make([]float64, draws)
	for w := range f {
		f[w] = math.Exp(mu * math.Exp(sd*rng.NormFloat64()))
	}
	return func(w, _ int, x, _ float64) float64 {
		if x > 1.6 {
			return x
		}
		return x * f[w]
	}
}

func TestScaleUpByHand(t *testing.T) {
	// Doubling each day, 1 L at 0.6 g/L, shade all the way: 5 L at 0.12 at once;
	// 0.24, 0.48 a day each; 20 L at 0.12 and again; 100 L.
	grow := rate(math.Ln2, 0, 1)
	c := &plan.Scale{
		Draws: 1, StartL: 1, StartGL: []float64{0.6},
		Stages: []plan.Stage{
			{Name: "bottle", CapacityL: 1, LeastGL: 0.12, Grow: grow},
			{Name: "jar", CapacityL: 5, LeastGL: 0.12, Grow: grow},
			{Name: "tub", CapacityL: 20, LeastGL: 0.12, Grow: grow},
			{Name: "tank", CapacityL: 100, LeastGL: 0.12, Grow: grow},
		},
	}
	got, err := plan.Up(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	// Dry matter must rise from 0.6 g to 50 g: 6.4 doublings, so seven days at
	// the least; eight by whole days at each step.
	if got.Days.Mid < 7 || got.Days.Mid > 9 {
		t.Errorf("%g days, worked by hand 7 to 9", got.Days.Mid)
	}
	check := 1.0
	for _, s := range got.Steps {
		if s.StartGL.Mid < s.LeastGL*(1-1e-9) {
			t.Errorf("%s begins at %g g/L", s.Stage, s.StartGL.Mid)
		}
		if math.Abs(s.FromGL.Mid*s.PourL-s.StartGL.Mid*s.FillL) > 1e-9 || math.Abs(s.PourL+s.MediumL-s.FillL) > 1e-9 {
			t.Errorf("%s: %g L at %g g/L make %g L at %g g/L", s.Stage, s.PourL, s.FromGL.Mid, s.FillL, s.StartGL.Mid)
		}
		if s.FillL > 5*s.PourL*(1+1e-9) {
			t.Errorf("%s: %g L out of %g", s.Stage, s.FillL, s.PourL)
		}
		check = s.FillL
	}
	if check != 100 || got.EndL != 100 {
		t.Errorf("it ends at %g L", check)
	}
}

func TestScaleUpAgainstTheHandbook(t *testing.T) {
	// A handbook goes from a bottle of 150 g of culture at about 1 g/L to 1000 L
	// in about three weeks, five-fold steps with shade (jourdan2014, chapter on
	// sowing). With a net growth of 0.3 to 0.4 a day (the shade table of our
	// growth model, 0.1 to 0.3 g/L) it must come out near that: two to four weeks.
	grow := rate(0.35, 0.15, 50)
	c := &plan.Scale{Draws: 50, StartL: 0.15, StartGL: []float64{1}}
	for _, l := range []float64{0.15, 1, 5, 25, 150, 1000} {
		c.Stages = append(c.Stages, plan.Stage{Name: "vessel", CapacityL: l, LeastGL: 0.15, ShadePct: 50, ReserveL: l / 20, Grow: grow})
	}
	c.TargetGL = 0.3
	got, err := plan.Up(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	if got.Days.Mid < 14 || got.Days.Mid > 28 || !(got.Days.Low < got.Days.Mid && got.Days.Mid < got.Days.High) {
		t.Errorf("from 150 mL to 1000 L in %.0f (%.0f to %.0f) days, the handbook says about three weeks", got.Days.Mid, got.Days.Low, got.Days.High)
	}
}

func TestScaleUpLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draws := 7
		mu := rapid.Float64Range(0.1, 0.7).Draw(t, "mu")
		c := &plan.Scale{Draws: draws, StartGL: []float64{rapid.Float64Range(0.2, 1.5).Draw(t, "density")}}
		l := rapid.Float64Range(0.2, 5).Draw(t, "first")
		c.StartL = l
		n := rapid.IntRange(1, 6).Draw(t, "stages")
		for range n {
			shade := rapid.Float64Range(0, 60).Draw(t, "shade")
			c.Stages = append(c.Stages, plan.Stage{
				Name: "vessel", CapacityL: l, MinFillL: l / 10, LeastGL: plan.LeastGL(shade), ShadePct: shade,
				ReserveL: l * rapid.Float64Range(0, 0.3).Draw(t, "reserve"), Grow: rate(mu, 0.2, draws),
			})
			l *= rapid.Float64Range(1.5, 12).Draw(t, "times")
		}
		got, err := plan.Up(context.Background(), c)
		if err != nil {
			var stuck *plan.StuckError
			if !errors.As(err, &stuck) {
				t.Fatal(err)
			}
			return
		}
		last := c.StartL
		for _, s := range got.Steps {
			if s.StartGL.Low < s.LeastGL*(1-1e-9) {
				t.Fatalf("a draw begins at %g g/L, the least is %g", s.StartGL.Low, s.LeastGL)
			}
			if s.FillL <= last || s.FillL > 5*s.PourL*(1+1e-9) || s.PourL > last*(1+1e-9) {
				t.Fatalf("%g L, then %g poured and filled to %g", last, s.PourL, s.FillL)
			}
			if !s.Same && math.Abs(s.PourL+s.ReserveL-last) > 1e-9*last {
				t.Fatalf("%g L are %g poured and %g kept", last, s.PourL, s.ReserveL)
			}
			last = s.FillL
		}
		faster := *c
		faster.Stages = append([]plan.Stage(nil), c.Stages...)
		for i := range faster.Stages {
			faster.Stages[i].Grow = rate(mu*1.5, 0.2, draws)
		}
		// Whole days can cost a faster culture one at a step.
		if f, err := plan.Up(context.Background(), &faster); err != nil || f.Days.Mid > got.Days.Mid+1 {
			t.Fatalf("growing half as fast again it takes %v, %v, before %v", f, err, got.Days)
		}
	})
}

func TestScaleUpThatCannotBe(t *testing.T) {
	grow := rate(0.3, 0, 1)
	two := func(a, b plan.Stage) *plan.Scale {
		return &plan.Scale{Draws: 1, StartL: 1, StartGL: []float64{0.5}, Stages: []plan.Stage{a, b}}
	}
	bottle := plan.Stage{Name: "bottle", CapacityL: 1, LeastGL: 0.12, Grow: grow}
	var stuck *plan.StuckError
	_, err := plan.Up(t.Context(), two(bottle, plan.Stage{Name: "pond", CapacityL: 1000, LeastGL: 0.3, Grow: grow}))
	if !errors.As(err, &stuck) || stuck.Why != "gap" || stuck.NeedL != 200 || !(stuck.CanL > 1 && stuck.CanL <= 5) {
		t.Errorf("from a bottle into a pond: %v", err)
	}
	still := func(_, _ int, x, _ float64) float64 { return 0.999 * x }
	_, err = plan.Up(t.Context(), two(plan.Stage{Name: "cold", CapacityL: 1, LeastGL: 0.12, Grow: still}, plan.Stage{Name: "tub", CapacityL: 20, LeastGL: 0.3, Grow: still}))
	if !errors.As(err, &stuck) || stuck.Why == "time" {
		t.Errorf("a culture that does not grow: %v", err)
	}
	var in *plan.InputError
	for _, c := range []struct {
		field  string
		change func(c *plan.Scale)
	}{
		{"draws", func(c *plan.Scale) { c.Draws = 0 }},
		{"stages", func(c *plan.Scale) { c.Stages = nil }},
		{"start_l", func(c *plan.Scale) { c.StartL = 2 }},
		{"start_g_per_l", func(c *plan.Scale) { c.StartGL = []float64{0} }},
		{"target_l", func(c *plan.Scale) { c.TargetL = 50 }},
		{"stages.1.capacity_l", func(c *plan.Scale) { c.Stages[1].CapacityL = 1 }},
		{"stages.0.reserve_l", func(c *plan.Scale) { c.Stages[0].ReserveL = 1 }},
		{"stages.0", func(c *plan.Scale) { c.Stages[0].Grow = nil }},
		{"most_times", func(c *plan.Scale) { c.MostTimes = 0.5 }},
	} {
		s := two(bottle, plan.Stage{Name: "tub", CapacityL: 20, LeastGL: 0.3, Grow: grow})
		c.change(s)
		if _, err := plan.Up(t.Context(), s); !errors.As(err, &in) || in.Field != c.field {
			t.Errorf("want the field %q, got %v", c.field, err)
		}
	}
}

func TestLeastDensityByShade(t *testing.T) {
	for _, r := range [][2]float64{{0, 0.3}, {15, 0.21}, {30, 0.12}, {60, 0.12}} {
		if got := plan.LeastGL(r[0]); math.Abs(got-r[1]) > 1e-12 {
			t.Errorf("under %g %% of shade %g g/L, want %g (0.3 in full sun: jourdan2014; 0.12 under shade: judgement)", r[0], got, r[1])
		}
	}
}

func TestBackups(t *testing.T) {
	// One in ten dies between two looks, a place is lost once in a hundred: in two
	// places P = (0.01 + 0.99 × 0.1ⁿ)²: n = 1 0.0119, n = 2 0.000396.
	l := plan.Loss{Each: 0.1, Place: 0.01, Places: 2}
	for n, want := range map[int]float64{1: 0.109 * 0.109, 2: 0.0199 * 0.0199} {
		if got := l.AllLost(n); math.Abs(got-want) > 1e-12 {
			t.Errorf("%d in each place: %g, by hand %g", n, got, want)
		}
	}
	for _, c := range []struct {
		risk float64
		want int
	}{{0.02, 1}, {0.01, 2}, {0.00039, 3}} {
		if n, err := l.Backups(c.risk); err != nil || n != c.want {
			t.Errorf("for %g: %d, %v, by hand %d", c.risk, n, err, c.want)
		}
	}
	var in *plan.InputError
	if _, err := (plan.Loss{Each: 0.1, Place: 0.05, Places: 1}).Backups(0.01); !errors.As(err, &in) || in.Field != "places" || in.Hint == "" {
		t.Errorf("one place that is lost once in twenty: %v", err)
	}
	if _, err := (plan.Loss{Each: 1, Places: 1}).Backups(0.01); !errors.As(err, &in) || in.Field != "each" {
		t.Errorf("backups that always die: %v", err)
	}
}
