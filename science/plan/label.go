package plan

import "math"

// labels is the room in which one vessel is planned. A label is a way to have
// come to a day: the logarithm of density in every draw, what was gained, and
// where it came from. Of the labels whose mean density falls into one bucket
// only the best goes on, a dynamic program on a grid of density that carries
// the draws along, so that nothing is lost by rounding the state.
type labels struct {
	buckets, weeks, rooms int

	x, frozen      [2][]float64 // [slot][draw]
	value, promise [2][]float64 // gained so far, and with what still stands
	week           [2][]float64 // gained in the week under way
	used           [2][]int     // slots that hold a label
	filled         [2][]bool
	from           []int32 // [day][slot] the slot of the day before
	act            []int16 // [day][slot] steps taken
	y, fz, part    []float64
	dry            []float64 // dry matter of the label under way, by draw [g]
	meanDry        float64   // its mean
	try            []int
}

func (s *search) newLabels(fine bool) *labels {
	l := &labels{buckets: 70, weeks: 1, rooms: 1}
	if fine {
		l.buckets = 180
	}
	if s.p.Aim.Goal == Steady {
		l.weeks = 10
		l.buckets /= 2
	}
	if s.freezerCounts() {
		l.rooms = 5
		l.buckets = l.buckets * 2 / 3
	}
	n := l.buckets * l.weeks * l.rooms
	for i := range 2 {
		l.x[i], l.frozen[i] = make([]float64, n*s.draws), make([]float64, n*s.draws)
		l.value[i], l.promise[i], l.week[i] = make([]float64, n), make([]float64, n), make([]float64, n)
		l.filled[i], l.used[i] = make([]bool, n), make([]int, 0, n)
	}
	l.from, l.act = make([]int32, s.p.Days*n), make([]int16, s.p.Days*n)
	l.y, l.fz, l.part, l.dry = make([]float64, s.draws), make([]float64, s.draws), make([]float64, s.draws), make([]float64, s.draws)
	return l
}

// freezerCounts reports whether the room in the freezer can bind.
func (s *search) freezerCounts() bool {
	if math.IsInf(s.roomG, 1) {
		return false
	}
	can := 0.0
	for _, f := range s.frostG {
		can += f
	}
	return can > s.roomG*(1+1e-9)
}

// price is what a day asks for its capacities, so that vessels which are planned
// one by one leave room for each other.
type price struct {
	gram []float64 // of a gram of dry matter, by day [1]
	hour []float64 // of an hour, by day [g/h]
}

// plan seeks the best steps for a vessel beside the rest and returns them in
// want. q may be nil.
func (l *labels) plan(s *search, v int, r *rest, q *price, want []int) {
	n, days, t := s.draws, s.p.Days, s.tables[v]
	slots := l.buckets * l.weeks * l.rooms
	lo, width := t.lo, t.step*float64(t.nodes-1)
	clear(l.filled[0])
	l.used[0] = l.used[0][:0]
	copy(l.x[0][:n], s.start[v])
	clear(l.frozen[0][:n])
	l.value[0][0], l.promise[0][0], l.week[0][0] = 0, 0, 0
	l.used[0] = append(l.used[0], 0)
	lastOpen := -1
	for d := range days {
		if s.open(v, d) {
			lastOpen = d
		}
	}
	for d := range days {
		cur, nxt := d%2, (d+1)%2
		clear(l.filled[nxt])
		l.used[nxt] = l.used[nxt][:0]
		worth := s.p.Aim.EndWorth
		if d < lastOpen {
			worth = 1
		}
		for _, slot := range l.used[cur] {
			x := l.x[cur][slot*n : (slot+1)*n]
			frozen := l.frozen[cur][slot*n : (slot+1)*n]
			l.meanDry = 0
			for w := range n {
				l.dry[w] = math.Exp(x[w]) * s.volume[v][w]
				l.meanDry += l.dry[w] / float64(n)
			}
			l.choices(s, v, d, x, frozen, r, l.week[cur][slot])
			for _, u := range l.try {
				gain, week := l.gain(s, v, d, u, r, q, l.week[cur][slot])
				sum, keep := 0.0, s.lnKeep[u]
				for w := range n {
					y := t.after(w, d, x[w]+keep)
					l.y[w] = y
					sum += y
				}
				ln := sum / float64(n)
				bucket := min(max(int((ln-lo)/width*float64(l.buckets)), 0), l.buckets-1)
				room := 0
				if l.rooms > 1 {
					room = l.freeze(s, d, u, frozen, r)
				}
				wk := 0
				if l.weeks > 1 && d%7 != 6 {
					wk = min(int(week/s.weekG(d/7)*float64(l.weeks-1)), l.weeks-1)
				}
				to := (room*l.weeks+wk)*l.buckets + bucket
				value := l.value[cur][slot] + gain
				promise := value + worth*math.Exp(ln)*s.litres[v]
				if l.filled[nxt][to] && promise <= l.promise[nxt][to] {
					continue
				}
				if !l.filled[nxt][to] {
					l.filled[nxt][to] = true
					l.used[nxt] = append(l.used[nxt], to)
				}
				l.value[nxt][to], l.promise[nxt][to], l.week[nxt][to] = value, promise, week
				copy(l.x[nxt][to*n:(to+1)*n], l.y)
				if l.rooms > 1 {
					copy(l.frozen[nxt][to*n:(to+1)*n], l.fz)
				}
				l.from[d*slots+to], l.act[d*slots+to] = int32(slot), int16(u)
			}
		}
	}
	// The end: what stands counts, exactly this time.
	last := days % 2
	best, at := math.Inf(-1), 0
	for _, slot := range l.used[last] {
		end := l.x[last][slot*n : (slot+1)*n]
		value := l.value[last][slot] + s.worth(v, end)
		if value > best {
			best, at = value, slot
		}
	}
	for d := days - 1; d >= 0; d-- {
		want[d] = int(l.act[d*slots+at])
		at = int(l.from[d*slots+at])
	}
}

// coarse is how many parts of the volume the labels tell apart; the polish that
// follows tells all steps apart.
const coarse = 20

// choices lists the steps worth a try.
func (l *labels) choices(s *search, v, d int, x, frozen []float64, r *rest, week float64) {
	l.try = append(l.try[:0], 0)
	if !s.open(v, d) {
		return
	}
	top := s.top(v, d, x, frozen, r, l.part)
	if top == 0 {
		return
	}
	least := max(int(math.Ceil(s.p.Vessels[v].LeastShare*float64(s.p.Steps)-1e-9)), 1)
	stride := max(s.p.Steps/coarse, 1)
	if s.p.Steps <= 2*coarse {
		stride = 1
	}
	if least < top {
		l.try = append(l.try, least)
	}
	for u := (least/stride + 1) * stride; u < top; u += stride {
		l.try = append(l.try, u)
	}
	l.try = append(l.try, top)
	if s.p.Aim.Goal != Steady {
		return
	}
	// What just fills the week.
	if lack := s.weekG(d/7) - r.week[d/7] - week; lack > 0 {
		if u := int(math.Ceil(lack / l.meanDry * float64(s.p.Steps))); u > least && u < top {
			l.try = append(l.try, u)
		}
	}
}

// gain is what u steps bring on a day, and the week's amount with it.
func (l *labels) gain(s *search, v, d, u int, r *rest, q *price, week float64) (gain, weekNow float64) {
	p, n := s.p, s.draws
	if p.Aim.Goal == Steady && d%7 == 0 {
		week = 0
	}
	if u == 0 {
		return 0, week
	}
	share := float64(u) / float64(p.Steps)
	got := share * l.meanDry
	if s.bound[d] {
		got = 0
		for w := range n {
			i := d*n + w
			got += min(r.taken[i]+share*l.dry[w], s.capG[i]) - min(r.taken[i], s.capG[i])
		}
		got /= float64(n)
	}
	switch {
	case p.Aim.Goal == Steady:
		lack := max(s.weekG(d/7)-r.week[d/7], 0)
		gain = SteadyWorth * (min(week+got, lack) - min(week, lack))
	case d < p.Aim.ByDay:
		gain = got
	}
	gain -= p.VisitG
	if q != nil {
		gain -= q.gram[d]*share*l.meanDry + q.hour[d]*s.hoursOf(v, u)
	}
	return gain, week + got
}

// freeze books the freezer of a label and tells its bin.
func (l *labels) freeze(s *search, d, u int, frozen []float64, r *rest) int {
	n := s.draws
	share := float64(u) / float64(s.p.Steps)
	sum := 0.0
	for w := range n {
		i := d*n + w
		h := r.taken[i] + share*l.dry[w]
		l.fz[w] = frozen[w] + min(max(min(h, s.capG[i])-s.chainG[i], 0), s.frostG[d])
		sum += l.fz[w]
	}
	return min(int(sum/float64(n)/s.roomG*float64(l.rooms)), l.rooms-1)
}
