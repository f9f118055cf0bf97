package plan

import "math"

// search holds what a plan is sought with. Everything a step of the search needs
// lies in flat slices, by day and draw: [day*draws + draw].
type search struct {
	p      *Problem
	draws  int
	over   int         // draws that may lie beyond a limit
	tables []*table    //
	start  [][]float64 // logarithm of the first density, by vessel and draw
	volume [][]float64 // by vessel and draw [L]
	litres []float64   // median volume by vessel [L]
	lnKeep []float64   // logarithm of what a harvest of so many steps leaves
	why    [][]string  // by vessel and day: why no harvest; "" is open
	allow  []bool      // days on which anybody harvests; nil: all
	capG   []float64   // dry matter that press, dryer, freezer and table take together
	chainG []float64   // the same before the freezer
	frostG []float64   // what freezes in a day, by day
	roomG  float64     // room in the freezer, as dry matter
	bound  []bool      // by day: anything of that is finite
	room   []float64   // scratch of score: room in the freezer, by draw
	week   []float64   // scratch of score: the week so far, by draw
	none   *farm       // a farm on which nothing is harvested
}

func newSearch(p *Problem) *search {
	s := &search{p: p, draws: p.Draws, over: int(p.Risk*float64(p.Draws) + 1e-9), tables: make([]*table, len(p.Vessels))}
	s.lnKeep = make([]float64, p.Steps+1)
	for u := range s.lnKeep {
		s.lnKeep[u] = math.Log1p(-float64(u) / float64(p.Steps))
	}
	for i := range p.Vessels {
		v := &p.Vessels[i]
		start, volume := make([]float64, s.draws), make([]float64, s.draws)
		for w := range s.draws {
			start[w], volume[w] = math.Log(v.StartGL[w]), at(v.VolumeL, w)
		}
		s.start, s.volume = append(s.start, start), append(s.volume, volume)
		s.litres = append(s.litres, median(volume))
	}
	s.capacity()
	s.close()
	s.none, s.room, s.week = s.newFarm(), make([]float64, s.draws), make([]float64, s.draws)
	return s
}

// capacity turns the days' capacities into grams of dry matter.
func (s *search) capacity() {
	p, n := s.p, s.draws
	perKg := 1000 * p.PasteDry
	s.capG, s.chainG = make([]float64, p.Days*n), make([]float64, p.Days*n)
	s.frostG, s.bound = make([]float64, p.Days), make([]bool, p.Days)
	s.roomG = p.FreezerKg * perKg
	for d := range p.Days {
		c := &p.Capacity[d]
		s.frostG[d] = min(c.FreezeKg*perKg, s.roomG)
		for w := range n {
			chain := c.FreshKg*perKg + at(c.DryerG, w)
			all := min(c.PressKg*perKg, chain+s.frostG[d])
			s.chainG[d*n+w], s.capG[d*n+w] = chain, all
			s.bound[d] = s.bound[d] || !math.IsInf(all, 1)
		}
	}
	if math.IsInf(s.roomG, 1) {
		return
	}
	for d := range s.bound { // a finite freezer binds every day that reaches it
		for w := range n {
			s.bound[d] = s.bound[d] || !math.IsInf(s.chainG[d*n+w], 1)
		}
	}
}

// Why a day is closed.
const (
	WhyNobody = "nobody"    // nobody is there
	WhyCold   = "too_cold"  // the water is too cold in too many draws
	WhyHot    = "too_hot"   // too hot
	WhyPHLow  = "ph_low"    // pH at 25 °C below that of a harvest for food
	WhyPHHigh = "ph_high"   // above
	WhyNoLeft = "over_date" // after the date of the aim
)

// close tells for each vessel and day why nothing is taken.
func (s *search) close() {
	p := s.p
	for i := range p.Vessels {
		v := &p.Vessels[i]
		why := make([]string, p.Days)
		for d := range why {
			switch {
			case v.Closed != nil && v.Closed[d] != "":
				why[d] = v.Closed[d]
			case !(p.Capacity[d].PresentH > 0):
				why[d] = WhyNobody
			case p.Aim.Goal != Steady && d >= p.Aim.ByDay:
				why[d] = WhyNoLeft
			case v.Conditions != nil:
				why[d] = s.outside(v, d)
			}
		}
		s.why = append(s.why, why)
	}
}

// outside names the limit beyond which too many draws lie.
func (s *search) outside(v *Vessel, d int) string {
	l := s.p.Limits
	var cold, hot, low, high int
	for w := range s.draws {
		c := v.Conditions(w, d)
		if c.TempC < l.ColdC {
			cold++
		}
		if c.TempC > l.HotC {
			hot++
		}
		if c.PH25 < l.PHLow {
			low++
		}
		if c.PH25 > l.PHHigh {
			high++
		}
	}
	switch {
	case hot > s.over:
		return WhyHot
	case cold > s.over:
		return WhyCold
	case low > s.over:
		return WhyPHLow
	case high > s.over:
		return WhyPHHigh
	}
	return ""
}

func (s *search) open(v, d int) bool {
	return s.why[v][d] == "" && (s.allow == nil || s.allow[d])
}

// rest is what the other vessels leave for one.
type rest struct {
	taken  []float64 // dry matter of the others [g]
	later  []float64 // what of theirs goes to the freezer on the days after [g]
	litres []float64 // left of the cloth, by day [L]
	hours  []float64 // left of the time, by day [h]
	week   []float64 // mean of the others, by week [g]
}

func (s *search) newRest() *rest {
	n := s.p.Days * s.draws
	return &rest{
		taken: make([]float64, n), later: make([]float64, n), litres: make([]float64, s.p.Days), hours: make([]float64, s.p.Days),
		week: make([]float64, (s.p.Days+6)/7),
	}
}

// own is what comes of one vessel's plan.
type own struct {
	u      []int     // steps of the volume taken, by day
	taken  []float64 // dry matter [g]
	before []float64 // logarithm of density before the moment
	end    []float64 // logarithm of density at the end, by draw
	endG   float64   // what the end counts [g]
	frozen []float64 // scratch: in the freezer, of all [g]
	part   []float64 // scratch
	x      []float64 // scratch
}

func (s *search) newOwn() *own {
	n := s.p.Days * s.draws
	return &own{
		u: make([]int, s.p.Days), taken: make([]float64, n), before: make([]float64, n), end: make([]float64, s.draws),
		frozen: make([]float64, s.draws), part: make([]float64, s.draws), x: make([]float64, s.draws),
	}
}

func (o *own) copy(b *own) {
	copy(o.u, b.u)
	copy(o.taken, b.taken)
	copy(o.before, b.before)
	copy(o.end, b.end)
	o.endG = b.endG
}

// hoursOf returns the time that a harvest of u steps takes [h].
func (s *search) hoursOf(v, u int) float64 {
	if u == 0 {
		return 0
	}
	ves := &s.p.Vessels[v]
	h := ves.SetupH
	if ves.LPerH > 0 {
		h += s.litresOf(v, u) / ves.LPerH
	}
	return h
}

func (s *search) litresOf(v, u int) float64 {
	return float64(u) / float64(s.p.Steps) * s.litres[v]
}

// top returns the most steps that may be taken of a vessel on a day, with the
// logarithm of its density x and what the freezer holds in each draw.
func (s *search) top(v, d int, x, frozen []float64, r *rest, part []float64) int {
	ves := &s.p.Vessels[v]
	copy(part, x)
	share := min(1-ves.FloorGL/math.Exp(kth(part, s.over)), ves.MostShare)
	if share <= 0 {
		return 0
	}
	hours := r.hours[d] - ves.SetupH
	if hours < 0 {
		return 0
	}
	if ves.LPerH > 0 {
		share = min(share, hours*ves.LPerH/s.litres[v])
	}
	share = min(share, r.litres[d]/s.litres[v])
	if s.bound[d] {
		n := s.draws
		finite := !math.IsInf(s.roomG, 1)
		for w := range n {
			i := d*n + w
			left := s.capG[i] - r.taken[i]
			if finite {
				left = min(left, s.chainG[i]-r.taken[i]+s.roomG-frozen[w]-r.later[i])
			}
			part[w] = left / (math.Exp(x[w]) * s.volume[v][w])
		}
		share = min(share, kth(part, s.over))
	}
	u := int(share*float64(s.p.Steps) + 1e-9)
	if share <= 0 || float64(u) < ves.LeastShare*float64(s.p.Steps)-1e-9 {
		return 0
	}
	return u
}

// trace carries a vessel through the horizon with the steps that are wanted,
// less where a limit or the rest does not allow them. base, if not nil, is a
// plan of the vessel beside the same rest: up to the first day on which it
// differs from want it is taken over. o may not be base.
func (s *search) trace(v int, want []int, r *rest, o, base *own) {
	n, t := s.draws, s.tables[v]
	x := o.x
	copy(x, s.start[v])
	clear(o.frozen)
	least := s.p.Vessels[v].LeastShare * float64(s.p.Steps)
	first := 0
	if base != nil {
		for first < s.p.Days-1 && want[first] == base.u[first] {
			first++
		}
		copy(o.u, base.u[:first])
		copy(o.taken, base.taken[:first*n])
		copy(o.before, base.before[:first*n])
		copy(x, base.before[first*n:(first+1)*n])
		for d := range first {
			s.freeze(d, o.frozen, r.taken[d*n:(d+1)*n], o.taken[d*n:(d+1)*n])
		}
	}
	for d := first; d < s.p.Days; d++ {
		u := 0
		if want[d] > 0 && s.open(v, d) {
			u = min(want[d], s.top(v, d, x, o.frozen, r, o.part))
			if float64(u) < least-1e-9 {
				u = 0
			}
		}
		o.u[d] = u
		taken := o.taken[d*n : (d+1)*n]
		copy(o.before[d*n:(d+1)*n], x)
		if u == 0 {
			clear(taken)
		} else {
			share := float64(u) / float64(s.p.Steps)
			for w := range n {
				taken[w] = share * math.Exp(x[w]) * s.volume[v][w]
				x[w] += s.lnKeep[u]
			}
		}
		s.freeze(d, o.frozen, r.taken[d*n:(d+1)*n], taken)
		for w := range n {
			x[w] = t.after(w, d, x[w])
		}
	}
	copy(o.end, x)
	o.endG = s.worth(v, x)
}

// freeze books what of a day goes to the freezer.
func (s *search) freeze(d int, frozen, others, mine []float64) {
	if math.IsInf(s.roomG, 1) || !s.bound[d] {
		return
	}
	for w := range s.draws {
		i := d*s.draws + w
		frozen[w] += min(max(min(others[w]+mine[w], s.capG[i])-s.chainG[i], 0), s.frostG[d])
	}
}

// kth returns the k-th smallest of x, from 0, and mixes their order.
func kth(x []float64, k int) float64 {
	lo, hi := 0, len(x)-1
	k = min(k, hi)
	for lo < hi {
		pivot := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < pivot {
				i++
			}
			for x[j] > pivot {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}

func median(x []float64) float64 {
	c := append([]float64(nil), x...)
	return kth(c, (len(c)-1)/2)
}
