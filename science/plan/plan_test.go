package plan_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/plan"
)

// A search that tells four hundred parts of a volume apart finds at least what
// every plan on a grid of thirty parts holds.
func TestFineStepsBeatEveryCoarsePlan(t *testing.T) {
	for seed := range uint64(25) {
		rng := newRand(9000 + seed)
		p := small(rng, 1, 3, 10, 30)
		for i := range p.Vessels {
			p.Vessels[i].LeastShare = 0
		}
		want, at := newJudge(p).best()
		p.Steps = 0 // the default, 400
		out := mustMake(t, p)
		// Thirtieths are not parts of four hundred: a hundredth is allowed.
		if out.Score < 0.99*want {
			t.Errorf("seed %d: %g, a grid of thirtieths gives %g: %v", seed, out.Score, want, at)
		}
	}
}

func TestMoreCapacityNeverLowersTheOptimum(t *testing.T) {
	kinds := map[string]func(p *plan.Problem, f float64){
		"dryer": func(p *plan.Problem, f float64) {
			for d := range p.Capacity {
				for w := range p.Capacity[d].DryerG {
					p.Capacity[d].DryerG[w] *= f
				}
			}
		},
		"press":   func(p *plan.Problem, f float64) { eachDay(p, func(c *plan.Capacity) { c.PressKg *= f }) },
		"cloth":   func(p *plan.Problem, f float64) { eachDay(p, func(c *plan.Capacity) { c.ClothL *= f }) },
		"hours":   func(p *plan.Problem, f float64) { eachDay(p, func(c *plan.Capacity) { c.PresentH *= f }) },
		"freezer": func(p *plan.Problem, f float64) { p.FreezerKg *= f },
		"fresh":   func(p *plan.Problem, f float64) { eachDay(p, func(c *plan.Capacity) { c.FreshKg *= f }) },
	}
	sizes := [][4]int{{1, 4, 10, 12}, {2, 3, 10, 6}, {3, 2, 5, 6}}
	rapid.Check(t, func(t *rapid.T) {
		size := sizes[rapid.IntRange(0, len(sizes)-1).Draw(t, "size")]
		seed := rapid.Uint64().Draw(t, "seed")
		f := rapid.Float64Range(1, 4).Draw(t, "more")
		less, more := small(newRand(seed), size[0], size[1], size[2], size[3]), small(newRand(seed), size[0], size[1], size[2], size[3])
		kind := rapid.SampledFrom([]string{"dryer", "press", "cloth", "hours", "freezer", "fresh"}).Draw(t, "kind")
		kinds[kind](more, f)
		a, err := plan.Make(context.Background(), less, nil)
		if err != nil {
			t.Fatal(err)
		}
		b, err := plan.Make(context.Background(), more, nil)
		if err != nil {
			t.Fatal(err)
		}
		// At this size the search is at or within a part in a thousand of the best.
		if b.Score < a.Score-1e-3*math.Abs(a.Score)-1e-9 {
			t.Fatalf("%g times the %s lowers the optimum from %g to %g", f, kind, a.Score, b.Score)
		}
	})
}

func eachDay(p *plan.Problem, f func(c *plan.Capacity)) {
	for d := range p.Capacity {
		f(&p.Capacity[d])
	}
}

// On a farm of some size too, within what the search leaves open.
func TestMoreDryingAtFullSize(t *testing.T) {
	last := 0.0
	for _, f := range []float64{0, 0.3, 0.6, 1, 2} {
		p := large(4, plan.Most)
		p.Draws = 40
		for i := range p.Vessels {
			p.Vessels[i].StartGL = p.Vessels[i].StartGL[:40]
		}
		for d := range p.Capacity {
			p.Capacity[d].DryerG = p.Capacity[d].DryerG[:40]
			for w := range p.Capacity[d].DryerG {
				p.Capacity[d].DryerG[w] *= f
			}
		}
		got := mustMake(t, p).Score
		if got < last*0.998 {
			t.Errorf("%g times the dryer gives %g, less than %g before", f, got, last)
		}
		last = max(last, got)
	}
}

func TestEveryLimitIsKept(t *testing.T) {
	for seed := range uint64(12) {
		rng := newRand(500 + seed)
		p := small(rng, 3, 9, 30, 100)
		out := mustMake(t, p)
		if _, ok := newJudge(p).play(stepsOf(p, out)); !ok {
			t.Errorf("seed %d: the plan breaks a limit", seed)
		}
		for v := range out.Vessels {
			for _, a := range out.Vessels[v].Acts {
				if a.Below > p.Risk+1e-9 {
					t.Errorf("seed %d: vessel %d day %d leaves too little with a chance of %g", seed, v, a.Day, a.Below)
				}
				if a.Share > 0 && a.Why != "" {
					t.Errorf("seed %d: harvest on a day closed for %s", seed, a.Why)
				}
				// What is taken and what is left is what was there.
				if a.Share > 0 {
					if left := a.BeforeGL.Mid * (1 - a.Share); math.Abs(left-a.AfterGL.Mid) > 1e-9*left {
						t.Errorf("seed %d: %g g/L, a share of %g taken, %g g/L left", seed, a.BeforeGL.Mid, a.Share, a.AfterGL.Mid)
					}
				}
			}
		}
		for d, day := range out.Days {
			if day.Over > p.Risk+1e-9 || day.WorkH > p.Capacity[d].PresentH*(1+1e-9) || day.LitresL > p.Capacity[d].ClothL*(1+1e-9) {
				t.Errorf("seed %d day %d: %+v within %+v", seed, d, day, p.Capacity[d])
			}
		}
		if out.Outcome.Forbidden > 0 {
			t.Errorf("seed %d: the plan harvests on closed days", seed)
		}
	}
}

func TestSameSeedSamePlan(t *testing.T) {
	before := runtime.GOMAXPROCS(0)
	defer runtime.GOMAXPROCS(before)
	p := small(newRand(77), 4, 7, 30, 100)
	p.Habits = []plan.Habit{plan.HalfWhenDark()}
	a := mustMake(t, p)
	runtime.GOMAXPROCS(1)
	b := mustMake(t, p)
	if !reflect.DeepEqual(a, b) {
		t.Error("the same problem gives another plan on one processor")
	}
}

// At an equal median a wider spread never enlarges a harvest: growth here is by
// the same share for all, so that only the spread differs.
func TestWiderSpreadTakesNoMore(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := newRand(rapid.Uint64().Draw(t, "seed"))
		draws := 41
		z := make([]float64, draws)
		for w := range z {
			z[w] = rng.NormFloat64()
		}
		z[0] = 0
		for w := 1; w+1 < draws; w += 2 { // pairs around the median
			z[w] = math.Abs(z[w])
			z[w+1] = -z[w]
		}
		start := rapid.Float64Range(0.35, 1.2).Draw(t, "start")
		narrow := rapid.Float64Range(0, 0.3).Draw(t, "narrow")
		wide := narrow + rapid.Float64Range(0, 0.3).Draw(t, "wider")
		took := func(sd float64) float64 {
			v := plan.Vessel{Name: "made", VolumeL: []float64{1000}, FloorGL: 0.3, Grow: func(_, _ int, x float64) float64 { return 1.1 * x }}
			for w := range z {
				v.StartGL = append(v.StartGL, start*math.Exp(sd*z[w]))
			}
			p := &plan.Problem{Days: 1, Draws: draws, Vessels: []plan.Vessel{v}, Capacity: unlimited(1), FreezerKg: math.Inf(1)}
			out, err := plan.Make(context.Background(), p, nil)
			if err != nil {
				t.Fatal(err)
			}
			return out.Vessels[0].Acts[0].LitresL
		}
		if a, b := took(narrow), took(wide); b > a {
			t.Fatalf("a spread of %g takes %g L, one of %g takes %g L", narrow, a, wide, b)
		}
	})
}

// Before rounding, the same farm with all volumes and capacities doubled takes
// double.
func TestDoubleFarmTakesDouble(t *testing.T) {
	for seed := range uint64(10) {
		one, two := small(newRand(300+seed), 2, 4, 10, 50), small(newRand(300+seed), 2, 4, 10, 50)
		for i := range two.Vessels {
			two.Vessels[i].VolumeL = []float64{2 * one.Vessels[i].VolumeL[0]}
			two.Vessels[i].LPerH *= 2
		}
		eachDay(two, func(c *plan.Capacity) {
			c.ClothL, c.PressKg, c.FreezeKg, c.FreshKg = 2*c.ClothL, 2*c.PressKg, 2*c.FreezeKg, 2*c.FreshKg
			for w := range c.DryerG {
				c.DryerG[w] *= 2
			}
		})
		two.FreezerKg *= 2
		two.VisitG *= 2
		two.Aim.WeekG *= 2
		a, b := mustMake(t, one), mustMake(t, two)
		if math.Abs(b.Score-2*a.Score) > 1e-6*math.Abs(b.Score) {
			t.Errorf("seed %d: %g and, doubled, %g", seed, a.Score, b.Score)
		}
	}
}

func TestNothingCanBeHarvested(t *testing.T) {
	base := func() *plan.Problem { return large(1, plan.Most) }
	for _, c := range []struct {
		name   string
		change func(p *plan.Problem)
		limit  string // that must be named
	}{
		{"no free day", func(p *plan.Problem) { eachDay(p, func(c *plan.Capacity) { c.PresentH = 0 }) }, plan.LimitDays},
		{"no cloth", func(p *plan.Problem) { eachDay(p, func(c *plan.Capacity) { c.ClothL = 0 }) }, plan.LimitCloth},
		{"no press", func(p *plan.Problem) { eachDay(p, func(c *plan.Capacity) { c.PressKg = 0 }) }, plan.LimitPress},
		{"nowhere to dry", func(p *plan.Problem) {
			eachDay(p, func(c *plan.Capacity) { c.FreshKg, c.FreezeKg, c.DryerG = 0, 0, []float64{0} })
		}, plan.LimitDryer},
		{"a floor above all", func(p *plan.Problem) { p.Vessels[0].FloorGL = 0.95 }, plan.LimitFloor},
		{"cold water", func(p *plan.Problem) {
			p.Vessels[0].Conditions = func(int, int) plan.Conditions { return plan.Conditions{TempC: 15, PH25: 10.3} }
		}, plan.LimitWater},
		{"low pH", func(p *plan.Problem) {
			p.Vessels[0].Conditions = func(int, int) plan.Conditions { return plan.Conditions{TempC: 25, PH25: 9.5} }
		}, plan.LimitWater},
	} {
		p := base()
		c.change(p)
		out := mustMake(t, p)
		if out.Outcome.MeanG != 0 {
			t.Errorf("%s: %g g are harvested", c.name, out.Outcome.MeanG)
		}
		named := false
		for _, l := range out.Limits {
			named = named || l.Kind == c.limit && l.GainG > 0
		}
		if !named {
			t.Errorf("%s: %s is not named among what limits: %+v", c.name, c.limit, out.Limits)
		}
	}
}

func TestImpossibleAimsSayWhatIsPossible(t *testing.T) {
	p := large(1, plan.Steady)
	p.Aim.WeekG = 5000
	out := mustMake(t, p)
	if s := out.Short; s == nil || s.WantedG != 5000 || !(s.PossibleG > 50 && s.PossibleG < 1000) || len(s.Limits) == 0 {
		t.Errorf("5 kg a week: %+v", s)
	}
	p = large(1, plan.Fewest)
	p.Aim.AmountG = 1e5
	if out = mustMake(t, p); out.Short == nil || !(out.Short.PossibleG > 0) {
		t.Errorf("100 kg in ten days: %+v", out.Short)
	}
	p = large(1, plan.Steady)
	p.Aim.WeekG, p.Aim.EndWorth = 60, 0.4
	if out = mustMake(t, p); out.Short != nil {
		t.Errorf("60 g a week: %+v", out.Short)
	}
	for wk, chance := range out.Outcome.WeekReached {
		if chance < 0.75 {
			t.Errorf("week %d brings the amount with a chance of %g only", wk, chance)
		}
	}
}

func TestFewestDays(t *testing.T) {
	for seed := range uint64(8) {
		p := small(newRand(40+seed), 1+int(seed%2), 4, 10, 6)
		p.VisitG, p.Aim = 0, plan.Aim{Goal: plan.Most}
		most := mustMake(t, p)
		p.Aim = plan.Aim{Goal: plan.Fewest, AmountG: 0.7 * most.Outcome.MeanG}
		out := mustMake(t, p)
		if most.Outcome.MeanG == 0 {
			continue
		}
		if out.Outcome.MeanG < 0.699*most.Outcome.MeanG {
			t.Errorf("seed %d: %g g on fewest days, %g wanted", seed, out.Outcome.MeanG, p.Aim.AmountG)
		}
		// Every set of days with one less is too small, by plans on those days alone.
		days := int(out.Outcome.HarvestDays)
		for mask := range 1 << p.Days {
			n := 0
			q := *p
			q.Capacity = append([]plan.Capacity(nil), p.Capacity...)
			for d := range p.Days {
				if mask&(1<<d) == 0 {
					q.Capacity[d].PresentH = 0
				} else if p.Capacity[d].PresentH > 0 {
					n++
				}
			}
			if n != days-1 {
				continue
			}
			q.Aim = plan.Aim{Goal: plan.Most}
			if g := mustMake(t, &q).Outcome.MeanG; g >= p.Aim.AmountG {
				t.Errorf("seed %d: %d days are said to be the fewest, yet %d bring %g of %g g", seed, days, n, g, p.Aim.AmountG)
			}
		}
	}
	// A larger problem: fewer days than the most takes.
	p := large(1, plan.Fewest)
	few := mustMake(t, p)
	p = large(1, plan.Most)
	p.Aim.EndWorth = 0.6
	if all := mustMake(t, p); few.Outcome.HarvestDays >= all.Outcome.HarvestDays || few.Outcome.MeanG < 0.89*all.Outcome.MeanG {
		t.Errorf("fewest: %g days, %g g; most: %g days, %g g", few.Outcome.HarvestDays, few.Outcome.MeanG, all.Outcome.HarvestDays, all.Outcome.MeanG)
	}
}

func TestHabits(t *testing.T) {
	// One draw that doubles each day from 0.4 g/L in 100 L: dark on day 1 at 0.8,
	// half leaves 0.4, and so on: 40 g on days 1, 2 and 3.
	v := plan.Vessel{Name: "made", VolumeL: []float64{100}, StartGL: []float64{0.4}, FloorGL: 0.3, Nodes: 20, Grow: func(_, _ int, x float64) float64 { return 2 * x }}
	p := &plan.Problem{
		Days: 4, Draws: 1, Vessels: []plan.Vessel{v}, Capacity: unlimited(4), FreezerKg: math.Inf(1),
		Habits: []plan.Habit{plan.HalfWhenDark(), {Name: "nine tenths on day 2", Share: 0.9, Days: []bool{false, false, true, false}}},
	}
	out := mustMake(t, p)
	half, deep := out.Against[0], out.Against[1]
	check := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-6*max(want, 1) {
			t.Errorf("%s: %g, want %g (doubling worked by hand)", what, got, want)
		}
	}
	check("half: grams", half.Habit.MeanG, 120)
	check("half: days", half.Habit.HarvestDays, 3)
	check("half: below the floor", half.Habit.Below, 0)
	check("half: end", half.Habit.EndG.Mid, 80)
	check("deep: grams", deep.Habit.MeanG, 144)
	check("deep: below the floor", deep.Habit.Below, 1)
	check("gain over half", half.MeanG, out.Outcome.MeanG-120)
	if half.MeanG < 0 || half.AheadBy != 1 {
		t.Errorf("the plan harvests %g g, half whenever dark 120", out.Outcome.MeanG)
	}
	// What the habit takes beyond the drying chain is spoiled, and told.
	eachDay(p, func(c *plan.Capacity) { c.FreshKg, c.FreezeKg, c.DryerG = 0, 0, []float64{30} })
	out = mustMake(t, p)
	check("spoiled", out.Against[0].Habit.SpoiledG, 30)
	check("over", out.Against[0].Habit.Over, 1)
	if out.Outcome.Over > 0 || out.Outcome.SpoiledG > 1e-9 {
		t.Errorf("the plan itself spoils %g g", out.Outcome.SpoiledG)
	}
}

func TestTheEndIsKept(t *testing.T) {
	p := large(1, plan.Most)
	p.Aim.EndWorth = 0
	free := mustMake(t, p)
	p.Vessels[0].EndGL = 0.45
	kept := mustMake(t, p)
	floor := 0.45 * p.Vessels[0].VolumeL[0]
	if free.Vessels[0].EndG.Low >= floor {
		t.Fatalf("the case is too easy: it ends at %g g of %g", free.Vessels[0].EndG.Low, floor)
	}
	if kept.Vessels[0].EndG.Low < floor*0.99 {
		// One draw in ten may lie below; a quantile between two draws may too, a little.
		t.Errorf("it ends at %g g in one draw of ten, %g are to be kept", kept.Vessels[0].EndG.Low, floor)
	}
	if kept.Outcome.MeanG > free.Outcome.MeanG || kept.Outcome.MeanG == 0 {
		t.Errorf("%g g with the end kept, %g without", kept.Outcome.MeanG, free.Outcome.MeanG)
	}
}

func TestWithoutAReserveLittleIsTaken(t *testing.T) {
	p := large(1, plan.Most)
	p.Vessels[0].NoReserve = true
	for _, a := range mustMake(t, p).Vessels[0].Acts {
		if a.Share > plan.ReserveShare+1e-9 {
			t.Errorf("day %d takes %g with no reserve behind it", a.Day, a.Share)
		}
	}
}

func TestProgressAndStopping(t *testing.T) {
	p := large(3, plan.Most)
	last := plan.Progress{}
	if _, err := plan.Make(t.Context(), p, func(now plan.Progress) {
		if now.Done < last.Done || now.Done > now.Of {
			t.Errorf("progress from %+v to %+v", last, now)
		}
		last = now
	}); err != nil || last.Done != last.Of || last.Of == 0 {
		t.Errorf("progress ends at %+v, %v", last, err)
	}
	ctx, stop := context.WithCancel(t.Context())
	n := 0
	_, err := plan.Make(ctx, p, func(plan.Progress) {
		if n++; n == 4 {
			stop()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: %v", err)
	}
}

func TestBadProblemsNameTheirField(t *testing.T) {
	for _, c := range []struct {
		field  string
		change func(p *plan.Problem)
	}{
		{"days", func(p *plan.Problem) { p.Days = 0 }},
		{"draws", func(p *plan.Problem) { p.Draws = 0 }},
		{"vessels", func(p *plan.Problem) { p.Vessels = nil }},
		{"capacity", func(p *plan.Problem) { p.Capacity = p.Capacity[1:] }},
		{"capacity.2.press_kg", func(p *plan.Problem) { p.Capacity[2].PressKg = -1 }},
		{"capacity.0.present_h", func(p *plan.Problem) { p.Capacity[0].PresentH = math.NaN() }},
		{"capacity.1.dryer_g", func(p *plan.Problem) { p.Capacity[1].DryerG = []float64{1, 2} }},
		{"freezer_kg", func(p *plan.Problem) { p.FreezerKg = -1 }},
		{"paste_dry", func(p *plan.Problem) { p.PasteDry = 2 }},
		{"risk", func(p *plan.Problem) { p.Risk = 0.7 }},
		{"steps", func(p *plan.Problem) { p.Steps = 1 }},
		{"visit_g", func(p *plan.Problem) { p.VisitG = math.NaN() }},
		{"aim.week_g", func(p *plan.Problem) { p.Aim = plan.Aim{Goal: plan.Steady} }},
		{"aim.by_day", func(p *plan.Problem) { p.Aim.ByDay = 99 }},
		{"aim.goal", func(p *plan.Problem) { p.Aim.Goal = 9 }},
		{"aim.end_worth", func(p *plan.Problem) { p.Aim.EndWorth = 3 }},
		{"vessels.0.grow", func(p *plan.Problem) { p.Vessels[0].Grow = nil }},
		{"vessels.0.floor_g_per_l", func(p *plan.Problem) { p.Vessels[0].FloorGL = 0 }},
		{"vessels.0.volume_l", func(p *plan.Problem) { p.Vessels[0].VolumeL = []float64{0} }},
		{"vessels.0.volume_l", func(p *plan.Problem) { p.Vessels[0].VolumeL = nil }},
		{"vessels.0.volume_l", func(p *plan.Problem) { p.Vessels[0].VolumeL = []float64{math.Inf(1)} }},
		{"vessels.0.start_g_per_l", func(p *plan.Problem) { p.Vessels[0].StartGL[3] = math.NaN() }},
		{"vessels.0.start_g_per_l", func(p *plan.Problem) { p.Vessels[0].StartGL = nil }},
		{"vessels.0.closed", func(p *plan.Problem) { p.Vessels[0].Closed = []string{"x"} }},
		{"vessels.0.most_share", func(p *plan.Problem) { p.Vessels[0].MostShare = 1.5 }},
		{"vessels.0.nodes", func(p *plan.Problem) { p.Vessels[0].Nodes = 1 }},
		{"habits.0", func(p *plan.Problem) { p.Habits = []plan.Habit{{Share: 2}} }},
		{"grow", func(p *plan.Problem) { p.Vessels[0].Grow = func(int, int, float64) float64 { return math.NaN() } }},
		{"grow", func(p *plan.Problem) { p.Vessels[0].Grow = func(int, int, float64) float64 { return 0 } }},
	} {
		p := large(1, plan.Most)
		c.change(p)
		_, err := plan.Make(t.Context(), p, nil)
		var in *plan.InputError
		if !errors.As(err, &in) || in.Field != c.field {
			t.Errorf("want the field %q, got %v", c.field, err)
		}
	}
}

// Whatever numbers come, a problem is refused or planned within its limits; it
// never panics.
func FuzzMake(f *testing.F) {
	f.Add(uint64(1), 1.0, 0.3, 100.0, 0.1, 1.0)
	f.Add(uint64(2), 0.0, 1e-9, 1e12, 0.49, math.Inf(1))
	f.Add(uint64(3), -1.0, math.NaN(), 0.0, 0.0, 0.0)
	f.Fuzz(func(t *testing.T, seed uint64, hours, floor, dryer, risk, growth float64) {
		p := small(newRand(seed), 2, 3, 5, 20)
		p.Capacity[0].PresentH, p.Vessels[0].FloorGL, p.Capacity[1].DryerG, p.Risk = hours, floor, []float64{dryer}, risk
		p.Vessels[1].Grow = func(_, _ int, x float64) float64 { return x * growth }
		out, err := plan.Make(t.Context(), p, nil)
		if err != nil {
			var in *plan.InputError
			if !errors.As(err, &in) || in.Field == "" {
				t.Fatalf("%v", err)
			}
			return
		}
		for _, v := range out.Vessels {
			for _, a := range v.Acts {
				if a.Share < 0 || a.Share > 0.98 || math.IsNaN(a.DryG.Mid) || a.Below > max(p.Risk, 0.1)+1e-9 {
					t.Fatalf("%+v", a)
				}
			}
		}
	})
}
