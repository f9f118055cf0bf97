package plan_test

import (
	"fmt"
	"math"
	"testing"

	"sodalake/science/plan"
)

// large is ten days, a hundred draws and a shared drying chain.
func large(vessels int, goal plan.Goal) *plan.Problem {
	rng := newRand(3)
	p := &plan.Problem{Days: 10, Draws: 100, Capacity: unlimited(10), FreezerKg: math.Inf(1), Aim: plan.Aim{Goal: goal, EndWorth: 0.6}, Habits: []plan.Habit{plan.HalfWhenDark()}}
	total := 0.0
	for i := range vessels {
		v := made(rng, fmt.Sprint("vessel ", i+1), p.Draws, p.Days, 300+2000*rng.Float64(), 0.4+0.3*rng.Float64())
		v.Nodes, v.SetupH, v.LPerH = 9, 0.3, 400
		total += v.VolumeL[0]
		p.Vessels = append(p.Vessels, v)
	}
	for d := range p.Capacity {
		c := &p.Capacity[d]
		c.PresentH = 4 * math.Sqrt(float64(vessels))
		if d%7 == 6 {
			c.PresentH = 0
		}
		c.FreshKg, c.FreezeKg = 0.5, 0.5*math.Sqrt(float64(vessels))
		c.DryerG = make([]float64, p.Draws)
		for w := range c.DryerG {
			c.DryerG[w] = 0.08 * total * (0.4 + 0.6*rng.Float64())
		}
	}
	p.FreezerKg = 2 * math.Sqrt(float64(vessels))
	p.Aim.WeekG = 0.15 * total
	return p
}

func BenchmarkPlan(b *testing.B) {
	for _, vessels := range []int{1, 20} {
		for _, g := range []struct {
			name string
			goal plan.Goal
		}{{"most", plan.Most}, {"steady", plan.Steady}, {"fewest", plan.Fewest}} {
			b.Run(fmt.Sprintf("vessels=%d/%s", vessels, g.name), func(b *testing.B) {
				p := large(vessels, g.goal)
				b.ReportAllocs()
				for b.Loop() {
					mustMake(b, p)
				}
			})
		}
	}
}
