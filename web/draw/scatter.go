package draw

import (
	"math"

	"sodalake/science/num"
)

// Pair is a reading and what was weighed beside it.
type Pair struct {
	X, Y float64 // in the units of the axes
	Left bool    // left out: a cross
}

// Scatter is a curve with its band through pairs, on two logarithmic axes.
type Scatter struct {
	Says          string
	Width, Height float64
	X             []float64  // rising, above zero, in the unit of the axis
	Y             []num.Band // at each X, in the unit of the axis
	Pairs         []Pair
	XUnit, YUnit  string
	Number        func(x float64) string
}

// steps are the labels of a logarithmic axis.
var steps = []float64{0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100, 200}

// SVG draws the chart; empty without a curve.
func (c Scatter) SVG() string {
	if len(c.X) < 2 || len(c.X) != len(c.Y) {
		return ""
	}
	x0, x1 := c.X[0], c.X[len(c.X)-1]
	y0, y1 := math.Inf(1), math.Inf(-1)
	for _, b := range c.Y {
		y0, y1 = math.Min(y0, b.Low), math.Max(y1, b.High)
	}
	for _, d := range c.Pairs {
		x0, x1, y0, y1 = math.Min(x0, d.X), math.Max(x1, d.X), math.Min(y0, d.Y), math.Max(y1, d.Y)
	}
	const left, right, top, foot = 44, 12, 24, 40
	axis := func(v, low, high, a, b float64) float64 { return lerp(a, b, math.Log(v/low)/math.Log(high/low)) }
	px := func(v float64) float64 { return axis(v, x0, x1, left, c.Width-right) }
	py := func(v float64) float64 { return axis(v, y0, y1, c.Height-foot, top) }
	var p pen
	p.raw("<svg").attr("viewBox", "0 0 "+trim(c.Width)+" "+trim(c.Height)).raw(` role="img"`).attr("aria-label", c.Says).raw(">")
	for _, v := range steps {
		if v >= y0*1.02 && v <= y1*0.98 {
			p.line("grid", left, py(v), c.Width-right, py(v))
			p.text("", "end", left-6, py(v)+4.5, c.Number(v))
		}
		if v >= x0*1.02 && v <= x1*0.98 {
			p.line("grid", px(v), top, px(v), c.Height-foot)
			p.text("", "middle", px(v), c.Height-foot+17, c.Number(v))
		}
	}
	p.text("t-ink", "start", 0, 14, c.YUnit)
	p.text("t-ink", "end", c.Width-right, c.Height-5, c.XUnit)
	p.path("band", func(p *pen) {
		for i, b := range c.Y {
			p.raw(map[bool]string{true: "M", false: "L"}[i == 0]).n(px(c.X[i]), py(b.Low))
		}
		for i := len(c.Y) - 1; i >= 0; i-- {
			p.raw("L").n(px(c.X[i]), py(c.Y[i].High))
		}
		p.raw("Z")
	})
	p.path("mid", func(p *pen) {
		for i, b := range c.Y {
			p.raw(map[bool]string{true: "M", false: "L"}[i == 0]).n(px(c.X[i]), py(b.Mid))
		}
	})
	p.line("axis", left, c.Height-foot, c.Width-right, c.Height-foot)
	for _, d := range c.Pairs {
		x, y := px(d.X), py(d.Y)
		if d.Left {
			p.line("doubt", x-5, y-5, x+5, y+5)
			p.line("doubt", x-5, y+5, x+5, y-5)
			continue
		}
		p.circle("obs", x, y, 5)
	}
	return p.close()
}
