package plan

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// bench is the room in which a farm is planned: one for each worker, made once.
type bench struct {
	labels *labels
	rest   *rest
	own    *own
	want   []int
	total  []float64
}

func (s *search) newBench(fine bool) *bench {
	return &bench{labels: s.newLabels(fine), rest: s.newRest(), own: s.newOwn(), want: make([]int, s.p.Days), total: make([]float64, s.p.Days*s.draws)}
}

// seek plans the farm: each vessel by itself; where they want more of a shared
// capacity than there is, prices that rise until they leave room for each other;
// then each again beside the others; then some of them anew in other orders and
// small exchanges until none helps.
func (s *search) seek(ctx context.Context, b []*bench, tick func()) (*farm, error) {
	rng := rand.New(rand.NewPCG(s.p.Seed, 0x706c616e))
	starts, whole, err := s.starts(ctx, b, rng, tick)
	if err != nil {
		return nil, err
	}
	for _, f := range starts {
		if len(f.own) > 1 {
			if err := s.around(ctx, f, b[0], rng); err != nil {
				return nil, err
			}
		}
		if err := s.polish(ctx, f, b[0], 3); err != nil {
			return nil, err
		}
		tick()
	}
	slices.SortStableFunc(starts, func(a, b *farm) int { return cmp.Compare(b.score, a.score) })
	best := s.newFarm()
	s.empty(best)
	for i, f := range starts {
		if i > 0 && s.draws*s.p.Days > 200 {
			break // the best only, where each takes long
		}
		if !whole || len(f.own) == 1 {
			if err := s.again(ctx, f, b[0], rng, s.rounds()); err != nil {
				return nil, err
			}
		}
		if err := s.polish(ctx, f, b[0], len(strides)); err != nil {
			return nil, err
		}
		tick()
		if f.score > best.score {
			best = f
		}
	}
	return best, nil
}

// starts are the plans from which seek sets out, at most three, the best first.
// whole says that the vessels share nothing that binds, so that each one's best
// is the farm's.
func (s *search) starts(ctx context.Context, b []*bench, rng *rand.Rand, tick func()) (starts []*farm, whole bool, err error) {
	vessels := len(s.p.Vessels)
	if s.p.Aim.Goal == Steady && vessels > 1 {
		// All work for one amount: each fills what the ones before it left open.
		for range 2 {
			f := s.newFarm()
			s.empty(f)
			for _, v := range rng.Perm(vessels) {
				if err := ctx.Err(); err != nil {
					return nil, false, err
				}
				s.anew(f, v, b[0], nil, nil)
			}
			starts = append(starts, f)
			tick()
		}
		return starts, false, nil
	}
	rounds := 1
	if vessels > 1 {
		rounds = 7
	}
	wants := make([][]int, vessels)
	for v := range wants {
		wants[v] = make([]int, s.p.Days)
	}
	var q *price
	for round := range rounds {
		if err := s.alone(ctx, b, q, wants); err != nil {
			return nil, false, err
		}
		f, fits := s.squeeze(wants, rng, b[0], round)
		starts = append(starts, f)
		tick()
		if fits && round == 0 {
			return starts, true, nil
		}
		q = s.raise(q, wants, round, b[0])
	}
	slices.SortStableFunc(starts, func(a, b *farm) int { return cmp.Compare(b.score, a.score) })
	return starts[:min(len(starts), 3)], false, nil
}

// rounds is how often again is tried: often where a vessel is planned in a blink,
// and at least a few times for each vessel.
func (s *search) rounds() int {
	cost := s.draws * s.p.Days // 1000 for 100 draws and ten days
	if len(s.p.Vessels) == 1 {
		return min(100, 10_000/cost)
	}
	return max(3*len(s.p.Vessels), min(300, 40_000/cost))
}

// alone plans every vessel as if the others were not there but for the prices.
func (s *search) alone(ctx context.Context, b []*bench, q *price, wants [][]int) error {
	var (
		next atomic.Int64
		wait sync.WaitGroup
	)
	for _, w := range b {
		wait.Go(func() {
			s.restOf(s.none, -1, w.rest)
			for {
				v := int(next.Add(1)) - 1
				if v >= len(wants) || ctx.Err() != nil {
					return
				}
				w.labels.plan(s, v, w.rest, q, wants[v])
			}
		})
	}
	wait.Wait()
	return ctx.Err()
}

// workers returns one bench for each processor that can be used.
func (s *search) workers(fine bool) []*bench {
	b := make([]*bench, min(runtime.GOMAXPROCS(0), len(s.p.Vessels)))
	for i := range b {
		b[i] = s.newBench(fine)
	}
	return b
}

// squeeze puts the vessels' wishes one after the other into what is left, in an
// order by chance, and reports whether nothing had to be cut.
func (s *search) squeeze(wants [][]int, rng *rand.Rand, b *bench, round int) (*farm, bool) {
	f := s.newFarm()
	s.empty(f)
	order := make([]int, len(wants))
	for i := range order {
		order[i] = i
	}
	if round > 0 {
		order = rng.Perm(len(wants))
	}
	fits := true
	for _, v := range order {
		s.restOf(f, v, b.rest)
		s.trace(v, wants[v], b.rest, f.own[v], nil)
		for d, u := range f.own[v].u {
			fits = fits && u == wants[v][d]
		}
	}
	s.sum(f)
	return f, fits
}

// raise sets the prices by what the wishes ask over what there is: a share of
// the excess, smaller from round to round.
//
// Source: held1974, the subgradient step; its size is ours.
func (s *search) raise(q *price, wants [][]int, round int, b *bench) *price {
	p, n := s.p, s.draws
	if q == nil {
		q = &price{gram: make([]float64, p.Days), hour: make([]float64, p.Days)}
	}
	s.restOf(s.none, -1, b.rest)
	gram, hour, litre := make([]float64, p.Days*n), make([]float64, p.Days), make([]float64, p.Days)
	for v := range wants {
		s.trace(v, wants[v], b.rest, b.own, nil)
		for i, g := range b.own.taken {
			gram[i] += g
		}
		for d, u := range b.own.u {
			hour[d] += s.hoursOf(v, u)
			if u > 0 {
				litre[d] += s.litresOf(v, u)
			}
		}
	}
	step := 0.5 / float64(1+round)
	for d := range p.Days {
		// The draw that decides, not the mean: the limit is a chance.
		ratio := make([]float64, n)
		mean := 0.0
		for w := range n {
			ratio[w] = -gram[d*n+w] / s.capG[d*n+w]
			mean += gram[d*n+w] / float64(n)
		}
		excess := -kth(ratio, s.over) - 1
		if math.IsNaN(excess) || math.IsInf(excess, 1) { // no capacity at all
			excess = 0
		}
		q.gram[d] = min(max(q.gram[d]+step*min(excess, 1), 0), 0.95)
		c := &p.Capacity[d]
		if hour[d] > 0 {
			over := max(hour[d]/c.PresentH, litre[d]/c.ClothL) - 1
			if math.IsNaN(over) || math.IsInf(over, 1) {
				over = 0
			}
			q.hour[d] = max(q.hour[d]+step*min(over, 1)*mean/hour[d], 0)
		} else {
			q.hour[d] *= 0.5
		}
	}
	return q
}

// around plans each vessel again beside all the others until nothing is gained.
func (s *search) around(ctx context.Context, f *farm, b *bench, rng *rand.Rand) error {
	for range 3 {
		before := f.score
		for _, v := range rng.Perm(len(f.own)) {
			if err := ctx.Err(); err != nil {
				return err
			}
			s.restOf(f, v, b.rest)
			b.labels.plan(s, v, b.rest, nil, b.want)
			s.trace(v, b.want, b.rest, b.own, nil)
			s.take(f, v, b)
		}
		if f.score <= before+1e-9*math.Abs(before) {
			break
		}
	}
	return nil
}

// take puts b.own in the place of a vessel's plan if the farm gains by it, and
// reports whether it did. b.rest must be that of the vessel.
func (s *search) take(f *farm, v int, b *bench) bool {
	if score := s.with(f, v, b); score > f.score+1e-9*(1+math.Abs(f.score)) {
		f.own[v].copy(b.own)
		s.sum(f)
		return true
	}
	return false
}

// with scores the farm with b.own in the place of a vessel's plan.
func (s *search) with(f *farm, v int, b *bench) float64 {
	for i := range b.total {
		b.total[i] = b.rest.taken[i] + b.own.taken[i]
	}
	return s.score(b.total, f, v, b.own)
}

// strides are by how many parts of a volume a harvest is moved at a time, in
// quarter per cent of it.
var strides = [...]int{160, 40, 10, 3, 1}

// polish makes a plan better by small changes, by the first so many strides,
// until they bring less than a part in ten thousand: more or less on a day, some
// of one day on another, some of one vessel in the place of another's.
func (s *search) polish(ctx context.Context, f *farm, b *bench, fine int) error {
	for pass := range 30 {
		gained, before := false, f.score
		for v := range f.own {
			if err := ctx.Err(); err != nil {
				return err
			}
			s.restOf(f, v, b.rest)
			if s.polishOne(f, v, b, fine) {
				gained = true
			}
		}
		if len(f.own) > 1 {
			more, err := s.exchange(ctx, f, b, pass)
			if err != nil {
				return err
			}
			gained = gained || more
		}
		if !gained || f.score <= before+1e-4*math.Abs(before) {
			break
		}
	}
	s.sum(f)
	return nil
}

func (s *search) stride(k int) int {
	return max(strides[k]*s.p.Steps/400, 1)
}

// polishOne tries changes within one vessel, by the first so many strides; b.rest
// is that of the vessel.
func (s *search) polishOne(f *farm, v int, b *bench, fine int) bool {
	any := false
	try := func() bool {
		s.trace(v, b.want, b.rest, b.own, f.own[v])
		return s.take(f, v, b)
	}
	for k := range fine {
		if k > 0 && s.stride(k) == s.stride(k-1) {
			continue
		}
		step := s.stride(k)
		for gained := true; gained; {
			gained = false
			for d := range s.p.Days {
				if !s.open(v, d) {
					continue
				}
				for _, by := range [...]int{step, -step} {
					copy(b.want, f.own[v].u)
					if b.want[d] += by; b.want[d] < 0 {
						if b.want[d] == -step {
							continue
						}
						b.want[d] = 0
					}
					if try() {
						gained = true
					}
				}
				for e := range s.p.Days {
					if e == d || f.own[v].u[d] == 0 || !s.open(v, e) {
						continue
					}
					copy(b.want, f.own[v].u)
					move := min(step, b.want[d])
					b.want[d] -= move
					b.want[e] += move
					if try() {
						gained = true
						continue
					}
					// The whole of it to the other day.
					if k == 0 {
						copy(b.want, f.own[v].u)
						b.want[e] = max(b.want[d], b.want[e]) + min(b.want[d], b.want[e])/2
						b.want[d] = 0
						if try() {
							gained = true
						}
					}
				}
			}
			any = any || gained
		}
	}
	return any
}

// exchange lets one vessel give way to another on a day whose capacity is full.
func (s *search) exchange(ctx context.Context, f *farm, b *bench, pass int) (bool, error) {
	any := false
	save := s.newFarm()
	for d := range s.p.Days {
		if !s.full(f, d) {
			continue
		}
		for v := range f.own {
			if err := ctx.Err(); err != nil {
				return any, err
			}
			// On a large farm a few others at a time, others in another pass.
			for k := range min(len(f.own)-1, 6) {
				o := (v + 1 + pass*6 + k) % len(f.own)
				if o == v || f.own[v].u[d] == 0 || !s.open(o, d) {
					continue
				}
				for _, k := range [...]int{0, 1, 2} {
					step := min(s.stride(k), f.own[v].u[d])
					if step == 0 {
						break
					}
					before := f.score
					save.copy(f)
					// v takes less, o takes as much more as fits, and v what then is left.
					s.retake(f, v, d, -step, b)
					s.retake(f, o, d, s.p.Steps, b)
					s.sum(f)
					if f.score > before+1e-9*(1+math.Abs(before)) {
						any = true
						break
					}
					f.copy(save)
				}
			}
		}
	}
	return any, nil
}

// retake changes a vessel's steps on a day, whatever comes of it.
func (s *search) retake(f *farm, v, d, by int, b *bench) {
	s.restOf(f, v, b.rest)
	copy(b.want, f.own[v].u)
	b.want[d] = max(b.want[d]+by, 0)
	s.trace(v, b.want, b.rest, f.own[v], nil)
}

// full reports whether a day's shared capacity is nearly used.
func (s *search) full(f *farm, d int) bool {
	hours, litres := 0.0, 0.0
	for v, o := range f.own {
		hours += s.hoursOf(v, o.u[d])
		if o.u[d] > 0 {
			litres += s.litresOf(v, o.u[d])
		}
	}
	c := &s.p.Capacity[d]
	if hours > 0.9*c.PresentH || litres > 0.9*c.ClothL {
		return true
	}
	if !s.bound[d] {
		return false
	}
	n := s.draws
	ratio := make([]float64, n)
	for w := range n {
		ratio[w] = -f.total[d*n+w] / s.capG[d*n+w]
	}
	return -kth(ratio, s.over) > 0.9
}
