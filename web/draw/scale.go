package draw

import (
	"math"
	"sort"
	"time"

	"sodalake/science/num"
)

// Curve is a quantity over time with its spread.
type Curve struct {
	Times []time.Time
	Bands []num.Band // in the unit of the chart
}

// frame is the box in which a chart is drawn.
type frame struct {
	x0, x1, y0, y1 float64 // left, right, top, bottom
	from, to       time.Time
	low, high      float64 // values at bottom and at top
}

func (f *frame) x(t time.Time) float64 {
	return lerp(f.x0, f.x1, float64(t.Sub(f.from))/float64(f.to.Sub(f.from)))
}

func (f *frame) y(v float64) float64 {
	return lerp(f.y1, f.y0, (v-f.low)/(f.high-f.low))
}

func (f *frame) has(t time.Time) bool { return !t.Before(f.from) && !t.After(f.to) }

// nice returns steps of 1, 2 or 5 between low and high: at most n of them, with
// the step.
func nice(low, high float64, n int) (out []float64, step float64) {
	if !(high > low) {
		return nil, 1
	}
	raw := (high - low) / float64(n)
	mag := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step = m * mag; step >= raw*(1-1e-9) {
			break
		}
	}
	for k := math.Ceil(low/step - 1e-9); k*step <= high+step*1e-9; k++ {
		out = append(out, k*step)
	}
	return out, step
}

// midnights are the local midnights in the frame.
func midnights(from, to time.Time, zone *time.Location) []time.Time {
	l := from.In(zone)
	var out []time.Time
	for d := 0; ; d++ {
		t := time.Date(l.Year(), l.Month(), l.Day()+d, 0, 0, 0, 0, zone)
		if t.After(to) {
			return out
		}
		if !t.Before(from) {
			out = append(out, t)
		}
	}
}

// point is a place in a drawing.
type point struct{ x, y float64 }

// thin returns the places of a curve that are needed to draw it within tol of
// itself (Douglas and Peucker 1973): the ends, and every place that a straight
// line between its kept neighbours would miss. The three lines of a band are
// thinned together, so that they keep the same places.
func thin(lines [][]point, tol float64) []int {
	n := len(lines[0])
	if n == 0 {
		return nil
	}
	keep := map[int]bool{0: true, n - 1: true}
	type span struct{ a, b int }
	todo := []span{{0, n - 1}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		worst, at := tol, -1
		for _, l := range lines {
			a, b := l[s.a], l[s.b]
			dx, dy := b.x-a.x, b.y-a.y
			length := math.Hypot(dx, dy)
			for i := s.a + 1; i < s.b; i++ {
				d := math.Hypot(l[i].x-a.x, l[i].y-a.y)
				if length > 0 {
					d = math.Abs((l[i].x-a.x)*dy-(l[i].y-a.y)*dx) / length
				}
				if d > worst {
					worst, at = d, i
				}
			}
		}
		if at >= 0 {
			keep[at] = true
			todo = append(todo, span{s.a, at}, span{at, s.b})
		}
	}
	out := make([]int, 0, len(keep))
	for i := range keep {
		out = append(out, i)
	}
	sort.Ints(out)
	return out
}

// join puts curves end to end and cuts them to the frame.
func join(f *frame, curves ...Curve) Curve {
	var out Curve
	for _, c := range curves {
		for i, t := range c.Times {
			if f.has(t) && (len(out.Times) == 0 || !t.Before(out.Times[len(out.Times)-1])) {
				out.Times = append(out.Times, t)
				out.Bands = append(out.Bands, c.Bands[i])
			}
		}
	}
	return out
}

// fan draws the band with drawn edges and the median.
func (p *pen) fan(f *frame, c Curve, between func()) {
	if len(c.Times) == 0 {
		between()
		return
	}
	low := make([]point, len(c.Times))
	mid := make([]point, len(c.Times))
	high := make([]point, len(c.Times))
	for i, t := range c.Times {
		x := f.x(t)
		low[i] = point{x, clamp(f.y(c.Bands[i].Low), f.y0, f.y1)}
		mid[i] = point{x, clamp(f.y(c.Bands[i].Mid), f.y0, f.y1)}
		high[i] = point{x, clamp(f.y(c.Bands[i].High), f.y0, f.y1)}
	}
	kept := thin([][]point{low, mid, high}, .45)
	p.path("band", func(p *pen) {
		p.raw("M")
		for _, i := range kept {
			p.n(high[i].x, high[i].y).raw(" ")
		}
		for k := len(kept) - 1; k >= 0; k-- {
			p.n(low[kept[k]].x, low[kept[k]].y)
			if k > 0 {
				p.raw(" ")
			}
		}
		p.raw("Z")
	})
	between()
	p.path("mid", func(p *pen) {
		p.raw("M")
		for k, i := range kept {
			if k > 0 {
				p.raw(" ")
			}
			p.n(mid[i].x, mid[i].y)
		}
	})
}
