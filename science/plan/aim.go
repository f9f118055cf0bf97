package plan

import (
	"context"
	"math"
	"math/bits"
	"slices"
)

// quick plans the farm on the days that are allowed, with less care than seek.
func (s *search) quick(ctx context.Context, b []*bench) (*farm, error) {
	wants := make([][]int, len(s.p.Vessels))
	for v := range wants {
		wants[v] = make([]int, s.p.Days)
	}
	if err := s.alone(ctx, b, nil, wants); err != nil {
		return nil, err
	}
	f, fits := s.squeeze(wants, nil, b[0], 0)
	if !fits {
		for v := range f.own {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			s.restOf(f, v, b[0].rest)
			b[0].labels.plan(s, v, b[0].rest, nil, b[0].want)
			s.trace(v, b[0].want, b[0].rest, b[0].own, nil)
			s.take(f, v, b[0])
		}
		s.sum(f)
	}
	return f, nil
}

// fewest seeks the fewest days on which the farm still brings wanted [g]: where
// there are few days, every set of them; else it drops one day after the other,
// the one that costs least, and at the end tries to do with one less by other
// days. f is the plan that brings the most.
func (s *search) fewest(ctx context.Context, f *farm, wanted float64, tick func()) (*farm, error) {
	defer func() { s.allow = nil }()
	b := s.workers(false)
	var days []int // on which anything may be taken
	for d := range s.p.Days {
		for v := range s.p.Vessels {
			if s.open(v, d) {
				days = append(days, d)
				break
			}
		}
	}
	on := func(set []int) (*farm, error) {
		s.allow = make([]bool, s.p.Days)
		for _, d := range set {
			s.allow[d] = true
		}
		return s.quick(ctx, b)
	}
	finish := func(set []int, g *farm) (*farm, error) {
		s.allow = make([]bool, s.p.Days)
		for _, d := range set {
			s.allow[d] = true
		}
		err := s.polish(ctx, g, b[0], 3)
		return g, err
	}
	if len(days) <= 6 {
		for size := 0; size <= len(days); size++ {
			var best *farm
			for mask := range 1 << len(days) {
				if bits.OnesCount(uint(mask)) != size {
					continue
				}
				var set []int
				for i, d := range days {
					if mask&(1<<i) != 0 {
						set = append(set, d)
					}
				}
				g, err := on(set)
				if err != nil {
					return nil, err
				}
				if g, err = finish(set, g); err != nil {
					return nil, err
				}
				if s.got(g) >= wanted && (best == nil || g.score > best.score) {
					best = g
				}
			}
			if best != nil {
				return best, nil
			}
		}
		return f, nil
	}
	set := s.used(f)
	best := f
	for len(set) > 1 {
		drop, g, err := s.drop(set, on)
		if err != nil {
			return nil, err
		}
		smaller := slices.Delete(slices.Clone(set), drop, drop+1)
		if g, err = finish(smaller, g); err != nil {
			return nil, err
		}
		if s.got(g) < wanted {
			break
		}
		set, best = smaller, g
		tick()
	}
	// One day less, by other days, where that does not take long.
	for again := len(s.p.Vessels) <= 5; again && len(set) > 1; {
		again = false
		smaller, g, err := s.otherDays(set, days, wanted, on, finish)
		if err != nil {
			return nil, err
		}
		if g != nil {
			set, best, again = smaller, g, true
		}
	}
	return best, nil
}

// used lists the days on which a plan harvests.
func (s *search) used(f *farm) []int {
	var set []int
	for d := range s.p.Days {
		for _, o := range f.own {
			if o.u[d] > 0 {
				set = append(set, d)
				break
			}
		}
	}
	return set
}

// drop finds the day of a set that costs least to leave out.
func (s *search) drop(set []int, on func([]int) (*farm, error)) (int, *farm, error) {
	best, at := (*farm)(nil), 0
	for i := range set {
		g, err := on(slices.Delete(slices.Clone(set), i, i+1))
		if err != nil {
			return 0, nil, err
		}
		if best == nil || s.got(g) > s.got(best) {
			best, at = g, i
		}
	}
	return at, best, nil
}

// otherDays tries every set with one day less in which at most one is new.
func (s *search) otherDays(set, days []int, wanted float64, on func([]int) (*farm, error), finish func([]int, *farm) (*farm, error)) ([]int, *farm, error) {
	var best *farm
	var bestSet []int
	try := func(c []int) error {
		g, err := on(c)
		if err == nil && (best == nil || s.got(g) > s.got(best)) {
			best, bestSet = g, c
		}
		return err
	}
	for i := range set {
		less := slices.Delete(slices.Clone(set), i, i+1)
		for j := range less {
			for _, d := range days {
				if slices.Contains(set, d) {
					continue
				}
				c := slices.Clone(less)
				c[j] = d
				slices.Sort(c)
				if err := try(c); err != nil {
					return nil, nil, err
				}
			}
		}
	}
	if best == nil {
		return nil, nil, nil
	}
	g, err := finish(bestSet, best)
	if err != nil || s.got(g) < wanted {
		return nil, nil, err
	}
	return bestSet, g, nil
}

// limits loosens one thing after the other and tells what each would bring, if
// it is more than a hundredth.
func (s *search) limits(ctx context.Context) ([]Limit, error) {
	inf := math.Inf(1)
	each := func(change func(c *Capacity)) func(p *Problem) {
		return func(p *Problem) {
			p.Capacity = slices.Clone(p.Capacity)
			for d := range p.Capacity {
				change(&p.Capacity[d])
			}
		}
	}
	loosen := []struct {
		kind   string
		change func(p *Problem)
	}{
		{"", func(*Problem) {}}, // as it stands
		{LimitDays, each(func(c *Capacity) {
			if !(c.PresentH > 0) {
				c.PresentH = inf
			}
		})},
		{LimitTime, each(func(c *Capacity) {
			if c.PresentH > 0 {
				c.PresentH = inf
			}
		})},
		{LimitCloth, each(func(c *Capacity) { c.ClothL = inf })},
		{LimitPress, each(func(c *Capacity) { c.PressKg = inf })},
		{LimitDryer, each(func(c *Capacity) { c.DryerG = []float64{inf} })},
		{LimitFreezer, func(p *Problem) {
			each(func(c *Capacity) { c.FreezeKg = inf })(p)
			p.FreezerKg = inf
		}},
		{LimitWater, func(p *Problem) {
			p.Limits = Limits{ColdC: -inf, HotC: inf, PHLow: -inf, PHHigh: inf}
			for v := range p.Vessels {
				p.Vessels[v].Closed = nil
			}
		}},
		{LimitFloor, func(p *Problem) {
			for v := range p.Vessels {
				p.Vessels[v].FloorGL *= 0.5
			}
		}},
	}
	var out []Limit
	base := 0.0
	for _, l := range loosen {
		p := *s.p
		p.Vessels = slices.Clone(s.p.Vessels)
		// The most there is, not the aim itself, is what a limit holds back.
		if p.Aim.Goal == Steady {
			p.Aim = Aim{Goal: Most, ByDay: p.Days, EndWorth: p.Aim.EndWorth}
		}
		l.change(&p)
		t := newSearch(&p)
		t.tables = s.tables
		b := t.workers(false)
		g, err := t.quick(ctx, b)
		if err != nil {
			return nil, err
		}
		if l.kind == "" {
			base = t.got(g)
			continue
		}
		if gain := t.got(g) - base; gain > 0.01*base && gain > 1e-9 {
			out = append(out, Limit{Kind: l.kind, GainG: gain})
		}
	}
	slices.SortStableFunc(out, func(a, b Limit) int {
		switch {
		case a.GainG > b.GainG:
			return -1
		case a.GainG < b.GainG:
			return 1
		}
		return 0
	})
	return append(out, Limit{Kind: LimitGrowth}), nil
}
