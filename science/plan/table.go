package plan

import (
	"context"
	"math"
	"runtime"
	"sync"
	"sync/atomic"
)

// table holds what Grow said of a vessel: the logarithm of the day's growth on
// an even grid of the logarithm of density, for each draw and day. A search asks
// it a hundred thousand times where the model could be asked a few thousand.
type table struct {
	lo, step float64   // of the logarithm of density
	nodes    int       //
	days     int       //
	growth   []float64 // [draw][day][node]
}

// after returns the logarithm of density a day later than lnX, by a cubic
// through the four nodes around it.
func (t *table) after(draw, day int, lnX float64) float64 {
	g := t.growth[(draw*t.days+day)*t.nodes : (draw*t.days+day+1)*t.nodes]
	u := (lnX - t.lo) / t.step
	switch last := float64(t.nodes - 1); {
	case !(u > 0):
		u = 0
	case u > last:
		u = last
	}
	i := int(u)
	if i > t.nodes-2 {
		i = t.nodes - 2
	}
	f := u - float64(i)
	b, c := g[i], g[i+1]
	a, d := 2*b-c, 2*c-b
	if i > 0 {
		a = g[i-1]
	}
	if i+2 < t.nodes {
		d = g[i+2]
	}
	return lnX + b + f*(0.5*(c-a)+f*(a-2.5*b+2*c-0.5*d+f*(0.5*(d-a)+1.5*(b-c))))
}

// tabulate asks the model of every vessel. It spreads the draws over the
// processors; the answers do not depend on how.
func (s *search) tabulate(ctx context.Context, progress func()) error {
	for v := range s.p.Vessels {
		if err := s.tabulateOne(ctx, v); err != nil {
			return err
		}
		progress()
	}
	return nil
}

func (s *search) tabulateOne(ctx context.Context, v int) error {
	ves := &s.p.Vessels[v]
	days, draws := s.p.Days, s.p.Draws
	// The densest that it can become is where it goes unharvested; the thinnest
	// is what the floor leaves in the worst draws.
	free := make([]float64, draws)
	err := s.eachDraw(ctx, func(w int) error {
		x := ves.StartGL[w]
		top := x
		for d := range days {
			next := ves.Grow(w, d, x)
			if !(next > 0) || math.IsInf(next, 0) {
				return bad("grow", "", "the model of vessel %q gives %g g/L on day %d in draw %d from %g g/L", ves.Name, next, d, w, x)
			}
			x = next
			top = max(top, x)
		}
		free[w] = top
		return nil
	})
	if err != nil {
		return err
	}
	low, high := ves.FloorGL, ves.FloorGL
	for w := range draws {
		low, high = min(low, ves.StartGL[w]), max(high, free[w])
	}
	t := &table{nodes: ves.Nodes, days: days, lo: math.Log(low * 0.6)}
	t.step = (math.Log(high*1.1) - t.lo) / float64(t.nodes-1)
	t.growth = make([]float64, draws*days*t.nodes)
	s.tables[v] = t
	return s.eachDraw(ctx, func(w int) error {
		for d := range days {
			for n := range t.nodes {
				ln := t.lo + float64(n)*t.step
				next := ves.Grow(w, d, math.Exp(ln))
				if !(next > 0) || math.IsInf(next, 0) {
					return bad("grow", "", "the model of vessel %q gives %g g/L on day %d in draw %d from %g g/L", ves.Name, next, d, w, math.Exp(ln))
				}
				t.growth[(w*days+d)*t.nodes+n] = math.Log(next) - ln
			}
		}
		return nil
	})
}

// eachDraw calls f for every draw, several at once, and returns the error of the
// lowest draw that has one.
func (s *search) eachDraw(ctx context.Context, f func(draw int) error) error {
	var (
		next atomic.Int64
		wait sync.WaitGroup
		errs = make([]error, s.p.Draws)
	)
	for range min(runtime.GOMAXPROCS(0), s.p.Draws) {
		wait.Go(func() {
			for {
				w := int(next.Add(1)) - 1
				if w >= s.p.Draws || ctx.Err() != nil {
					return
				}
				errs[w] = f(w)
			}
		})
	}
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
