package draw

import (
	"math"
	"time"

	"sodalake/science/num"
)

// StandPoint is what a standing water reads after some days.
type StandPoint struct {
	Days float64 // since it was mixed [d]
	Band num.Band
}

// Stand is a small chart of what a water reads while it stands: all of it lies
// ahead.
type Stand struct {
	Says          string
	Width, Height float64
	Days          float64 // how far it goes [d]
	Points        []StandPoint
	Limit         float64                      // dashed line; NaN: none
	Number        func(x, step float64) string // label of a value
	Day           func(n int) string           // label of a day
}

// SVG draws the chart.
func (c Stand) SVG() string {
	if c.Number == nil {
		c.Number = func(x, _ float64) string { return trim(x) }
	}
	start := time.Time{}
	at := func(days float64) time.Time { return start.Add(time.Duration(days * 24 * float64(time.Hour))) }
	f := frame{x0: 30, x1: c.Width - 6, y0: 10, y1: c.Height - 24, from: start, to: at(c.Days)}
	var all Curve
	low, high := math.Inf(1), math.Inf(-1)
	for i, p := range c.Points {
		if p.Days > c.Days {
			if i > 0 && c.Points[i-1].Days < c.Days { // cut at the frame
				b := c.between(c.Points[i-1], p)
				all.Times, all.Bands = append(all.Times, f.to), append(all.Bands, b)
				low, high = math.Min(low, b.Low), math.Max(high, b.High)
			}
			break
		}
		all.Times, all.Bands = append(all.Times, at(p.Days)), append(all.Bands, p.Band)
		low, high = math.Min(low, p.Band.Low), math.Max(high, p.Band.High)
	}
	if low > high {
		low, high = 0, 1
	}
	if !math.IsNaN(c.Limit) && c.Limit > low-1 && c.Limit < high+1 {
		low, high = math.Min(low, c.Limit), math.Max(high, c.Limit)
	}
	f.low, f.high = math.Floor(low*2)/2, math.Ceil(high*2)/2
	if f.high-f.low < 0.5 {
		f.high = f.low + 0.5
	}
	var p pen
	p.open("", c.Width, c.Height, c.Says)
	p.rect("future", f.x0, f.y0, f.x1-f.x0, f.y1-f.y0)
	values, step := nice(f.low, f.high, int(math.Max(2, (f.y1-f.y0)/34)))
	p.path("grid", func(p *pen) {
		for _, v := range values {
			p.raw("M").n(f.x0, f.y(v)).raw("H").n(f.x1)
		}
	})
	p.fan(&f, all, func() {
		if c.Limit >= f.low && c.Limit <= f.high {
			p.path("limit", func(p *pen) { p.raw("M").n(f.x0, f.y(c.Limit)).raw("H").n(f.x1) })
		}
	})
	for _, v := range values {
		p.text("", "end", f.x0-6, f.y(v)+4.5, c.Number(v, step))
	}
	p.path("axis", func(p *pen) { p.raw("M").n(f.x0, f.y1).raw("H").n(f.x1) })
	each := int(math.Ceil(c.Days / 4))
	for n := 1; float64(n) < c.Days && c.Day != nil; n += max(each, 1) {
		p.text("", "middle", f.x(at(float64(n))), c.Height-6, c.Day(n))
	}
	return p.close()
}

// between is the band at the end of the frame, on the line between two points.
func (c *Stand) between(a, b StandPoint) num.Band {
	t := (c.Days - a.Days) / (b.Days - a.Days)
	return num.Band{Low: lerp(a.Band.Low, b.Band.Low, t), Mid: lerp(a.Band.Mid, b.Band.Mid, t), High: lerp(a.Band.High, b.Band.High, t)}
}
