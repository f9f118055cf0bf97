package plan_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sodalake/science/plan"
)

func newRand(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7)) }

// made is an invented vessel: an areal yield that light caps, less a loss, under
// weather that differs from draw to draw and day to day.
//
//	dX/dt = yield (1 − exp(−X/half))/depth − loss X
func made(rng *rand.Rand, name string, draws, days int, volumeL, startGL float64) plan.Vessel {
	depth := 0.12 + 0.15*rng.Float64()    // m
	yield := 5 + 9*rng.Float64()          // g/m²/d
	half := 0.08 + 0.12*rng.Float64()     // g/L
	loss := 0.02 + 0.04*rng.Float64()     // 1/d
	spread := 0.05 + 0.2*rng.Float64()    // of the start
	factor := make([]float64, draws*days) // of the weather
	start := make([]float64, draws)
	for w := range draws {
		pond := math.Exp(0.15 * rng.NormFloat64())
		start[w] = startGL * math.Exp(spread*rng.NormFloat64())
		for d := range days {
			sun := 1.0
			if rng.Float64() < 0.3 {
				sun = 0.35
			}
			factor[w*days+d] = sun * pond
		}
	}
	return plan.Vessel{
		Name: name, VolumeL: []float64{volumeL}, StartGL: start, FloorGL: 0.3, Nodes: 40,
		Grow: func(w, d int, x float64) float64 {
			for range 8 {
				gain := yield * factor[w*days+d] * (1 - math.Exp(-x/half)) / depth / 1000
				x += (gain - loss*x) / 8
			}
			return x
		},
	}
}

func unlimited(days int) []plan.Capacity {
	c := make([]plan.Capacity, days)
	for d := range c {
		c[d] = plan.Unlimited()
	}
	return c
}

// small draws a small problem with capacities that often bind.
func small(rng *rand.Rand, vessels, days, draws, steps int) *plan.Problem {
	p := &plan.Problem{Days: days, Draws: draws, Capacity: unlimited(days), FreezerKg: math.Inf(1), Steps: steps, Risk: 0.2}
	for range vessels {
		p.Vessels = append(p.Vessels, made(rng, "made", draws, days, 200+800*rng.Float64(), 0.3+0.6*rng.Float64()))
	}
	total := 0.0
	for i := range p.Vessels {
		v := &p.Vessels[i]
		total += v.VolumeL[0] * 0.5
		if rng.Float64() < 0.3 {
			v.SetupH, v.LPerH = 0.5, 150+300*rng.Float64()
		}
		if rng.Float64() < 0.3 {
			v.LeastShare = 1 / float64(steps) * float64(rng.IntN(3))
		}
	}
	for d := range p.Capacity {
		c := &p.Capacity[d]
		if rng.Float64() < 0.2 {
			c.PresentH = 0
		} else if rng.Float64() < 0.4 {
			c.PresentH = 1 + 3*rng.Float64()
		}
		if rng.Float64() < 0.3 {
			c.ClothL = 100 + 500*rng.Float64()
		}
		if rng.Float64() < 0.3 {
			c.PressKg = total / 200 * (0.1 + 0.5*rng.Float64())
		}
		if rng.Float64() < 0.6 {
			c.FreshKg = 0.1 * rng.Float64()
			c.DryerG = make([]float64, draws)
			base := total * (0.05 + 0.4*rng.Float64())
			for w := range c.DryerG {
				c.DryerG[w] = base * (0.3 + 0.7*rng.Float64())
			}
			c.FreezeKg = total / 200 * 0.3 * rng.Float64()
		}
	}
	if rng.Float64() < 0.5 {
		p.FreezerKg = total / 200 * 0.4 * rng.Float64()
	}
	if rng.Float64() < 0.5 {
		p.Aim.EndWorth = 0.9 * rng.Float64()
	}
	switch k := rng.Float64(); {
	case k < 0.25:
		p.Aim.Goal, p.Aim.WeekG = plan.Steady, total*(0.2+2*rng.Float64())
	case k < 0.4:
		p.Aim.ByDay = 1 + rng.IntN(days)
	}
	if rng.Float64() < 0.3 {
		p.VisitG = total * 0.03 * rng.Float64()
	}
	return p
}

// judge plays shares of the volumes through a problem by the words of the
// package, written anew: what it scores, and whether it keeps every limit.
type judge struct {
	p     *plan.Problem
	perKg float64
	over  int
}

func newJudge(p *plan.Problem) *judge {
	return &judge{p: p, perKg: 200, over: int(p.Risk*float64(p.Draws) + 1e-9)}
}

func val(x []float64, w int) float64 {
	if len(x) == 1 {
		return x[0]
	}
	return x[w]
}

// play takes the steps of each vessel by day.
func (j *judge) play(steps [][]int) (score float64, ok bool) {
	p := j.p
	n := float64(p.Draws)
	x := make([][]float64, len(p.Vessels))
	for v := range x {
		x[v] = append([]float64(nil), p.Vessels[v].StartGL...)
	}
	room := make([]float64, p.Draws)  // left, as the limit counts it
	store := make([]float64, p.Draws) // left, as the score counts it
	week := make([]float64, p.Draws)
	for w := range room {
		room[w], store[w] = p.FreezerKg*j.perKg, p.FreezerKg*j.perKg
	}
	by := p.Aim.ByDay
	if by == 0 {
		by = p.Days
	}
	for d := range p.Days {
		c := &p.Capacity[d]
		taken := make([]float64, p.Draws)
		hours, litres := 0.0, 0.0
		for v := range x {
			ves := &p.Vessels[v]
			u := steps[v][d]
			if u == 0 {
				continue
			}
			share := float64(u) / float64(p.Steps)
			if ves.Closed != nil && ves.Closed[d] != "" || !(c.PresentH > 0) || p.Aim.Goal != plan.Steady && d >= by {
				return 0, false
			}
			if share > 0.9+1e-9 || share < ves.LeastShare-1e-9 {
				return 0, false
			}
			volume := val(ves.VolumeL, 0)
			litres += share * volume
			hours += ves.SetupH
			if ves.LPerH > 0 {
				hours += share * volume / ves.LPerH
			}
			below := 0
			for w := range taken {
				taken[w] += share * x[v][w] * volume
				if x[v][w] *= 1 - share; x[v][w] < ves.FloorGL*(1-1e-9) {
					below++
				}
			}
			if below > j.over {
				return 0, false
			}
			score -= p.VisitG
		}
		if hours > c.PresentH*(1+1e-9) || litres > c.ClothL*(1+1e-9) {
			return 0, false
		}
		over := 0
		for w := range taken {
			chain := c.FreshKg*j.perKg + val(c.DryerG, w)
			frost := min(c.FreezeKg*j.perKg, p.FreezerKg*j.perKg)
			most := min(c.PressKg*j.perKg, chain+frost)
			need := max(min(taken[w], most)-chain, 0)
			if taken[w] > most*(1+1e-9) || need > room[w]*(1+1e-9)+1e-9 {
				over++
			}
			if !math.IsInf(room[w], 1) {
				room[w] -= min(need, frost)
			}
			got := min(taken[w], most)
			if ice := got - chain; ice > 0 {
				ice = min(ice, store[w])
				if !math.IsInf(store[w], 1) {
					store[w] -= ice
				}
				got = chain + ice
			}
			if p.Aim.Goal == plan.Steady {
				week[w] += got
				if d%7 == 6 || d == p.Days-1 {
					target := p.Aim.WeekG * float64(d%7+1) / 7
					score += plan.SteadyWorth * min(week[w], target) / n
					week[w] = 0
				}
			} else if d < by {
				score += got / n
			}
		}
		any := false
		for v := range x {
			any = any || steps[v][d] > 0
		}
		if any && over > j.over {
			return 0, false
		}
		for v := range x {
			for w := range x[v] {
				x[v][w] = p.Vessels[v].Grow(w, d, x[v][w])
			}
		}
	}
	for v := range x {
		for w := range x[v] {
			score += p.Aim.EndWorth * max(x[v][w]-p.Vessels[v].FloorGL, 0) * val(p.Vessels[v].VolumeL, w) / n
		}
	}
	return score, true
}

// best tries every plan there is.
func (j *judge) best() (float64, [][]int) {
	p := j.p
	cells := len(p.Vessels) * p.Days
	steps := make([][]int, len(p.Vessels))
	best := math.Inf(-1)
	var at [][]int
	for v := range steps {
		steps[v] = make([]int, p.Days)
	}
	levels := int(0.9*float64(p.Steps) + 1e-9)
	for {
		if score, ok := j.play(steps); ok && score > best {
			best = score
			at = nil
			for _, s := range steps {
				at = append(at, append([]int(nil), s...))
			}
		}
		k := 0
		for ; k < cells; k++ {
			s := &steps[k/p.Days][k%p.Days]
			if *s < levels {
				*s++
				break
			}
			*s = 0
		}
		if k == cells {
			return best, at
		}
	}
}

// stepsOf reads the steps out of a plan.
func stepsOf(p *plan.Problem, out *plan.Plan) [][]int {
	var steps [][]int
	for _, v := range out.Vessels {
		var u []int
		for _, a := range v.Acts {
			u = append(u, int(math.Round(a.Share*float64(p.Steps))))
		}
		steps = append(steps, u)
	}
	return steps
}

func mustMake(t testing.TB, p *plan.Problem) *plan.Plan {
	t.Helper()
	out, err := plan.Make(t.Context(), p, nil)
	if err != nil {
		t.Fatal(err)
	}
	return out
}
