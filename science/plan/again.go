package plan

import (
	"context"
	"math"
	"math/rand/v2"
)

// again takes a few vessels out of a plan and plans them anew in another order,
// the first of them under prices or with a part of the capacities, drawn by
// chance, so that it leaves other room than before. What is better stays. It finds what no exchange of single
// harvests does: two vessels that change their days.
//
// Source: shaw1998, a search in large neighbourhoods.
func (s *search) again(ctx context.Context, f *farm, b *bench, rng *rand.Rand, rounds int) error {
	vessels := len(f.own)
	save := s.newFarm()
	q := &price{gram: make([]float64, s.p.Days), hour: make([]float64, s.p.Days)}
	part := make([]float64, s.p.Days)
	for range rounds {
		if err := ctx.Err(); err != nil {
			return err
		}
		save.copy(f)
		some := rng.Perm(vessels)[:min(2+rng.IntN(2), vessels)]
		for _, v := range some {
			s.clear(f.own[v], v, b)
		}
		dear := 0.2 + 0.6*rng.Float64()
		byPrice := rng.IntN(2) == 0
		for d := range q.gram {
			q.gram[d], q.hour[d], part[d] = 0, 0, 1
			switch {
			case rng.IntN(2) == 0:
			case byPrice:
				q.gram[d] = dear
			default:
				part[d] = 0.02 + 0.97*rng.Float64()
			}
		}
		for i, v := range some {
			if i == len(some)-1 && i > 0 {
				s.anew(f, v, b, nil, nil)
			} else {
				s.anew(f, v, b, q, part)
			}
		}
		for _, v := range some {
			s.anew(f, v, b, nil, nil)
			s.restOf(f, v, b.rest)
			s.polishOne(f, v, b, 3)
		}
		s.sum(f)
		if f.score <= save.score {
			f.copy(save)
		}
	}
	return nil
}

// clear takes a vessel's harvests out of a plan.
func (s *search) clear(o *own, v int, b *bench) {
	clear(b.want)
	s.restOf(s.none, -1, b.rest)
	s.trace(v, b.want, b.rest, o, nil)
}

// anew plans a vessel beside the others, with the parts of what they leave of
// each day's capacities, and puts it in if that is better, or in any case if
// prices are asked.
func (s *search) anew(f *farm, v int, b *bench, q *price, part []float64) {
	s.restOf(f, v, b.rest)
	for d, share := range part {
		b.rest.hours[d] *= share
		b.rest.litres[d] *= share
		if !s.bound[d] || share >= 1 {
			continue
		}
		for i := d * s.draws; i < (d+1)*s.draws; i++ {
			if left := s.capG[i] - b.rest.taken[i]; left > 0 && !math.IsInf(left, 1) {
				b.rest.taken[i] += (1 - share) * left
			}
		}
	}
	b.labels.plan(s, v, b.rest, q, b.want)
	s.trace(v, b.want, b.rest, b.own, nil)
	if q != nil {
		f.own[v].copy(b.own)
		s.sum(f)
		return
	}
	s.sum(f)
	s.take(f, v, b)
}
