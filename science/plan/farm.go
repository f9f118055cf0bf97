package plan

import "math"

// farm is a plan of all vessels in the making.
type farm struct {
	own   []*own
	total []float64 // dry matter of all [g]
	score float64
}

func (s *search) newFarm() *farm {
	f := &farm{total: make([]float64, s.p.Days*s.draws)}
	for range s.p.Vessels {
		f.own = append(f.own, s.newOwn())
	}
	return f
}

// empty carries every vessel on without a harvest.
func (s *search) empty(f *farm) {
	r := s.newRest()
	none := make([]int, s.p.Days)
	for v := range f.own {
		s.trace(v, none, r, f.own[v], nil)
	}
	s.sum(f)
}

func (f *farm) copy(b *farm) {
	for v := range f.own {
		f.own[v].copy(b.own[v])
	}
	copy(f.total, b.total)
	f.score = b.score
}

// sum totals the vessels, always in one order so that the same plan has the same
// sums, and scores them.
func (s *search) sum(f *farm) {
	clear(f.total)
	for _, o := range f.own {
		for i, g := range o.taken {
			f.total[i] += g
		}
	}
	f.score = s.score(f.total, f, -1, nil)
}

// restOf tells what all vessels but v leave.
func (s *search) restOf(f *farm, v int, r *rest) {
	n := s.draws
	clear(r.taken)
	for d := range s.p.Days {
		c := &s.p.Capacity[d]
		r.litres[d], r.hours[d] = c.ClothL, c.PresentH
	}
	for i, o := range f.own {
		if i == v {
			continue
		}
		for d, u := range o.u {
			if u == 0 {
				continue
			}
			r.litres[d] -= s.litresOf(i, u)
			r.hours[d] -= s.hoursOf(i, u)
			for k := d * n; k < (d+1)*n; k++ {
				r.taken[k] += o.taken[k]
			}
		}
	}
	clear(r.later)
	if !math.IsInf(s.roomG, 1) {
		for d := s.p.Days - 2; d >= 0; d-- {
			for w := range n {
				i, j := d*n+w, (d+1)*n+w
				r.later[i] = r.later[j] + min(max(min(r.taken[j], s.capG[j])-s.chainG[j], 0), s.frostG[d+1])
			}
		}
	}
	clear(r.week)
	for d := range s.p.Days {
		for w := range n {
			r.week[d/7] += min(r.taken[d*n+w], s.capG[d*n+w]) / float64(n)
		}
	}
}

// weekG returns the amount wanted in a week that may be cut by the horizon.
func (s *search) weekG(week int) float64 {
	return s.p.Aim.WeekG * float64(min(s.p.Days-7*week, 7)) / 7
}

// score is what a plan is worth, in grams: what the drying chain takes of the
// harvests, plus what stands above the floors at the end at its worth, less the
// visits. With v at 0 or above, the vessel v's part is that of o. A plan that the
// drying chain cannot take in more draws than may is worth less than any.
func (s *search) score(total []float64, f *farm, v int, o *own) float64 {
	p, n := s.p, s.draws
	sum, visits := 0.0, 0
	steady := p.Aim.Goal == Steady
	finite := !math.IsInf(s.roomG, 1)
	if finite {
		for w := range s.room {
			s.room[w] = s.roomG
		}
	}
	clear(s.week)
	for d := range p.Days {
		if !steady && d >= p.Aim.ByDay {
			break // nothing is taken after the date
		}
		day := total[d*n : (d+1)*n]
		got := 0.0
		if s.bound[d] {
			over := 0
			for w, g := range day {
				if !(g > 0) {
					continue
				}
				i := d*n + w
				beyond := g > s.capG[i]*(1+1e-9)
				g = min(g, s.capG[i])
				if frost := g - s.chainG[i]; finite && frost > 0 {
					beyond = beyond || frost > s.room[w]*(1+1e-9)+1e-9
					frost = min(frost, s.room[w])
					s.room[w] -= frost
					g = s.chainG[i] + frost
				}
				if beyond {
					over++
				}
				got += g
				if steady {
					s.week[w] += g
				}
			}
			if over > s.over {
				return math.Inf(-1)
			}
		} else {
			for w, g := range day {
				got += g
				if steady {
					s.week[w] += g
				}
			}
		}
		if !steady {
			sum += got
		} else if d%7 == 6 || d == p.Days-1 {
			want := s.weekG(d / 7)
			for w, g := range s.week {
				sum += SteadyWorth * min(g, want)
				s.week[w] = 0
			}
		}
	}
	sum /= float64(n)
	for i := range f.own {
		x := f.own[i]
		if i == v {
			x = o
		}
		for _, u := range x.u {
			if u > 0 {
				visits++
			}
		}
		sum += x.endG
	}
	return sum - p.VisitG*float64(visits)
}

// worth is what a vessel's end counts for a plan: what stands above the floor at
// its worth, less what thin takes [g].
func (s *search) worth(v int, end []float64) float64 {
	sum := 0.0
	if s.p.Aim.EndWorth > 0 {
		for w, ln := range end {
			sum += max(math.Exp(ln)-s.p.Vessels[v].FloorGL, 0) * s.volume[v][w]
		}
	}
	return s.p.Aim.EndWorth*sum/float64(s.draws) - s.thin(v, end)
}

// thin is what a vessel's plan loses for ending below its least density in more
// draws than may: a gram for each gram that lacks in the draw that decides, so
// that harvests which lead there never pay.
func (s *search) thin(v int, end []float64) float64 {
	ves := &s.p.Vessels[v]
	if ves.EndGL <= 0 {
		return 0
	}
	below, lack := 0, 0.0
	for w, ln := range end {
		if x := math.Exp(ln); x < ves.EndGL {
			below++
			lack += (ves.EndGL - x) * s.volume[v][w]
		}
	}
	if below <= s.over {
		return 0
	}
	return 20 * lack / float64(s.draws)
}
