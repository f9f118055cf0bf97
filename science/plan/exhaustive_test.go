package plan_test

import (
	"math"
	"testing"

	"sodalake/science/plan"
)

func TestWithinOnePercentOfEveryPlan(t *testing.T) {
	worst, exact, runs := 1.0, 0, 0
	for _, size := range []struct{ vessels, days, draws, steps, seeds int }{
		{1, 3, 10, 16, 40}, {1, 4, 5, 8, 40}, {1, 5, 10, 5, 30}, {2, 2, 10, 10, 40}, {2, 3, 5, 4, 40}, {3, 2, 5, 4, 30}, {2, 4, 5, 2, 30},
	} {
		for seed := range size.seeds {
			rng := newRand(uint64(seed + 1000*size.days + 100000*size.vessels))
			p := small(rng, size.vessels, size.days, size.draws, size.steps)
			out := mustMake(t, p)
			j := newJudge(p)
			got, ok := j.play(stepsOf(p, out))
			if !ok {
				t.Fatalf("size %+v seed %d: the plan breaks a limit: %v", size, seed, stepsOf(p, out))
			}
			if math.Abs(got-out.Score) > 2e-3*max(math.Abs(got), 1) {
				t.Errorf("size %+v seed %d: the plan says %g, the judge %g", size, seed, out.Score, got)
			}
			want, at := j.best()
			runs++
			if got >= want-1e-9 {
				exact++
			}
			ratio := 1.0
			if want > 1e-9 {
				ratio = got / want
			}
			worst = min(worst, ratio)
			if ratio < 0.99 {
				t.Errorf("size %+v seed %d: %g, every plan tried gives %g (%.2f %%): %v, best %v", size, seed, got, want, 100*ratio, stepsOf(p, out), at)
			}
		}
	}
	t.Logf("%d problems: worst %.4f of the best, %d exactly the best", runs, worst, exact)
	_ = plan.Most
}
