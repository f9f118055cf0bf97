package draw

import (
	"math"
	"strconv"
	"time"

	"sodalake/science/num"
)

// Dot is a reading on a chart.
type Dot struct {
	At        time.Time
	Value     float64 // in the unit of the chart
	Low, High float64 // what the reading alone says; equal to Value where unknown
	Doubted   bool    // not believed: a cross, kept in place
}

// Act is a mark on the lane under the axis.
type Act struct {
	At    time.Time
	Out   bool   // came out: hangs down
	Salts bool   // went in as salts: a diamond; else a ring for water
	Plan  bool   // not done yet: the same mark, hollow
	Label string // amount, ready to print
}

// Window is the box of days in which a limit is passed.
type Window struct {
	Early, Mid, Late time.Time // zero: beyond the chart
	Limit            float64
	Label            string
}

// Fan is a chart of one quantity: estimate left of now, forecast right of it.
type Fan struct {
	ID            string // unique on the page
	Says          string
	Width, Height float64
	From, Now, To time.Time
	Zone          *time.Location
	Past, Ahead   Curve
	Dots          []Dot
	Acts          []Act
	Lane          bool
	Limits        []float64
	Ready         *Window
	Pick          *num.Band // the picked moment's value
	PickAt        time.Time
	Low, High     float64 // values that must be on the chart; equal: none
	Unit, NowWord string
	Day           func(time.Time) string       // label of a day
	Number        func(x, step float64) string // label of a value
	Points        []time.Time                  // moments that can be picked
	EachDays      int                          // a label every so many days; 0 chooses
}

// SVG draws the chart.
func (c Fan) SVG() string {
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	if c.Number == nil {
		c.Number = func(x, _ float64) string { return trim(x) }
	}
	top, bottom, left := 26.0, c.Height-18, 34.0
	if c.Lane {
		bottom = c.Height - 62
	}
	if !c.Lane {
		top = 8
	}
	f := frame{x0: left, x1: c.Width - 6, y0: top, y1: bottom, from: c.From, to: c.To}
	all := join(&f, c.Past, c.Ahead)
	c.scale(&f, all)
	var p pen
	p.raw("<svg").attr("viewBox", "0 0 "+trim(c.Width)+" "+trim(c.Height)).raw(` role="img"`).attr("aria-label", c.Says)
	if len(c.Points) > 0 {
		p.attr("data-xy", c.places(&f, all))
	}
	p.raw(">")
	if x := clamp(f.x(c.Now), f.x0, f.x1); c.Now.Before(c.To) {
		p.rect("future", x, f.y0, f.x1-x, f.y1-f.y0)
	}
	days := midnights(c.From, c.To, c.Zone)
	if c.Lane {
		p.path("grid", func(p *pen) {
			for _, d := range days {
				p.raw("M").n(f.x(d), f.y1).raw("v-4")
			}
		})
	}
	values, step := nice(f.low, f.high, int(math.Max(3, (f.y1-f.y0)/34)))
	p.path("grid", func(p *pen) {
		for _, v := range values {
			if y := f.y(v); y < f.y1-1 {
				p.raw("M").n(f.x0, y).raw("H").n(f.x1)
			}
		}
	})
	p.fan(&f, all, func() {
		c.hatchWindow(&p, &f)
		for _, l := range c.Limits {
			if l >= f.low && l <= f.high {
				p.path("limit", func(p *pen) { p.raw("M").n(f.x0, f.y(l)).raw("H").n(f.x1) })
			}
		}
	})
	c.window(&p, &f)
	if f.has(c.Now) {
		x := f.x(c.Now)
		p.path("now", func(p *pen) { p.raw("M").n(x, f.y0-8).raw("V").n(f.y1) })
		if c.Lane {
			p.text("t-ink", "end", x-5, f.y0-1, c.NowWord)
		}
	}
	c.dots(&p, &f)
	if c.Pick != nil && f.has(c.PickAt) {
		x := f.x(c.PickAt)
		p.path("pick", func(p *pen) { p.raw("M").n(x, f.y0).raw("V").n(f.y1) })
		p.circle("pick-dot", x, clamp(f.y(c.Pick.Mid), f.y0, f.y1), 6)
	}
	for _, v := range values {
		if y := f.y(v); y > f.y0+2 || !c.Lane {
			p.text("", "end", f.x0-5, y+4.5, c.Number(v, step))
		}
	}
	if c.Lane {
		p.text("", "", 0, f.y0-8, c.Unit)
	}
	p.path("axis", func(p *pen) { p.raw("M").n(f.x0, f.y1).raw("H").n(f.x1) })
	if c.Lane {
		c.lane(&p, &f)
	}
	c.dayLabels(&p, &f, days, c.Height-5)
	return p.close()
}

func trim(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// scale fits the frame to what is drawn, with a margin of a tenth.
func (c *Fan) scale(f *frame, all Curve) {
	low, high := math.Inf(1), math.Inf(-1)
	see := func(v float64) {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	for _, b := range all.Bands {
		see(b.Low)
		see(b.High)
	}
	for _, d := range c.Dots {
		if f.has(d.At) {
			see(d.Value)
		}
	}
	if c.High > c.Low {
		see(c.Low)
		see(c.High)
	}
	if low > high {
		low, high = 0, 1
	}
	if high-low < 1e-9 {
		low, high = low-.5, high+.5
	}
	margin := (high - low) / 10
	f.low, f.high = low-margin, high+margin
	if low >= 0 && f.low < 0 {
		f.low = 0
	}
}

// places lists the drawing's place of each moment that can be picked.
func (c *Fan) places(f *frame, all Curve) string {
	var p pen
	for i, t := range c.Points {
		if i > 0 {
			p.raw(" ")
		}
		if !f.has(t) {
			p.raw("-")
			continue
		}
		b, ok := At(all, t)
		if !ok {
			p.raw("-")
			continue
		}
		p.n(f.x(t), clamp(f.y(b.Mid), f.y0, f.y1))
	}
	return string(p.b)
}

// At is the band of the curve at t, between its neighbours; ok is false outside
// the curve.
func At(c Curve, t time.Time) (num.Band, bool) {
	n := len(c.Times)
	if n == 0 || t.Before(c.Times[0]) || t.After(c.Times[n-1]) {
		return num.Band{}, false
	}
	i := 0
	for i < n-1 && c.Times[i+1].Before(t) {
		i++
	}
	if i == n-1 {
		return c.Bands[i], true
	}
	span := c.Times[i+1].Sub(c.Times[i])
	if span <= 0 {
		return c.Bands[i], true
	}
	w := float64(t.Sub(c.Times[i])) / float64(span)
	a, b := c.Bands[i], c.Bands[i+1]
	return num.Band{Low: lerp(a.Low, b.Low, w), Mid: lerp(a.Mid, b.Mid, w), High: lerp(a.High, b.High, w)}, true
}

// windowBox is where the ready box stands: from the earliest day to the latest,
// open to the right where the latest lies beyond the chart.
func (c *Fan) windowBox(f *frame) (x1, x2, y float64, open, ok bool) {
	w := c.Ready
	if w == nil || w.Early.IsZero() || !w.Early.Before(c.To) {
		return 0, 0, 0, false, false
	}
	early := w.Early
	if early.Before(c.From) {
		early = c.From
	}
	x1, x2, y = f.x(early), f.x1, clamp(f.y(w.Limit), f.y0+4, f.y1)
	open = w.Late.IsZero() || w.Late.After(c.To)
	if !open {
		x2 = f.x(w.Late)
	}
	return x1, x2, y, open, x2 > x1
}

func (c *Fan) hatchWindow(p *pen, f *frame) {
	x1, x2, y, _, ok := c.windowBox(f)
	if !ok {
		return
	}
	h := y - f.y0 - 2
	if h <= 2 {
		return
	}
	p.raw("<defs><clipPath").attr("id", c.ID+"h").raw("><rect").at("x", x1).at("y", f.y0+2).at("width", x2-x1).at("height", h).raw("/></clipPath></defs>")
	p.raw("<path").attr("class", "hatch").attr("clip-path", "url(#"+c.ID+"h)").raw(` d="`)
	for x := x1 - h; x < x2; x += 9 {
		p.raw("M").n(x, y).raw("l").n(h, -h)
	}
	p.raw(`"/>`)
}

func (c *Fan) window(p *pen, f *frame) {
	x1, x2, y, open, ok := c.windowBox(f)
	if !ok {
		return
	}
	p.path("win", func(p *pen) {
		p.raw("M").n(x1, y).raw("V").n(f.y0 + 2).raw("H").n(x2)
		if !open {
			p.raw("V").n(y)
		}
	})
	if w := c.Ready; !w.Mid.IsZero() && f.has(w.Mid) {
		x := f.x(w.Mid)
		p.path("win-mid", func(p *pen) { p.raw("M").n(x, f.y0-3).raw("V").n(y + 5) })
		half := 3.6 * float64(len([]rune(w.Label)))
		near := f.has(c.Now) && math.Abs(f.x(c.Now)-x) < half+34
		at := clamp(x, half, c.Width-half)
		if near { // the word now stands left of its line
			at = math.Max(at, f.x(c.Now)+half+4)
		}
		p.text("t-ink", "middle", at, f.y0-8, w.Label)
	}
}

func (c *Fan) dots(p *pen, f *frame) {
	for _, d := range c.Dots {
		if !f.has(d.At) || math.IsNaN(d.Value) {
			continue
		}
		x, y := f.x(d.At), clamp(f.y(d.Value), f.y0, f.y1)
		if d.Doubted {
			p.path("doubt", func(p *pen) { p.raw("M").n(x-4.5, y-4.5).raw("l9,9m0,-9l-9,9") })
			continue
		}
		if d.High > d.Low {
			p.path("obs-bar", func(p *pen) {
				p.raw("M").n(x, clamp(f.y(d.High), f.y0, f.y1)).raw("V").n(clamp(f.y(d.Low), f.y0, f.y1))
			})
		}
		p.circle("obs", x, y, 4)
	}
}

// lane draws the acts under the axis: what went in stands up, what came out
// hangs down with its amount.
func (c *Fan) lane(p *pen, f *frame) {
	y := f.y1 + 24
	p.path("grid", func(p *pen) { p.raw("M").n(f.x0, y).raw("H").n(f.x1) })
	free := math.Inf(-1)
	for _, a := range c.Acts {
		if !f.has(a.At) {
			continue
		}
		x := f.x(a.At)
		class := "act"
		if a.Plan {
			class = "act act-plan"
		}
		switch {
		case a.Out:
			p.path(class, func(p *pen) { p.raw("M").n(x, y).raw("v9") })
			p.path(class, func(p *pen) { p.raw("M").n(x, y+16).raw("l-5,-7h10z") })
			if w := 7.4 * float64(len([]rune(a.Label))); a.Label != "" && x+8 > free && x+8+w < c.Width {
				p.text("", "start", x+8, y+15, a.Label)
				free = x + 8 + w
			}
		case a.Salts:
			p.path(class, func(p *pen) { p.raw("M").n(x, y).raw("v-7") })
			p.path(class, func(p *pen) { p.raw("M").n(x, y-17).raw("l5,5l-5,5l-5,-5z") })
		default:
			p.path(class, func(p *pen) { p.raw("M").n(x, y).raw("v-8") })
			p.circle("act-in", x, y-11, 4.5)
		}
	}
}

// dayLabels writes a day under the axis wherever there is room for one; today
// is among them.
func (c *Fan) dayLabels(p *pen, f *frame, days []time.Time, y float64) {
	if len(days) < 2 || c.Day == nil {
		return
	}
	each := c.EachDays
	if each == 0 {
		wide := f.x(days[1]) - f.x(days[0])
		each = int(math.Max(1, math.Ceil(52/math.Max(wide, .1))))
	}
	today := 0
	for i, d := range days {
		if !d.After(c.Now) {
			today = i
		}
	}
	for i, d := range days {
		if (i-today)%each != 0 {
			continue
		}
		x := f.x(d.Add(12 * time.Hour))
		if x < f.x0+14 || x > f.x1-14 {
			continue
		}
		class := ""
		if i == today {
			class = "t-ink"
		}
		p.text(class, "middle", x, y, c.Day(d))
	}
}
