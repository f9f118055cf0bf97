package plot

import (
	"html"
	"math"
	"strconv"
)

// Most is how many lines or kinds of bars a drawing can tell apart.
const Most = 6

// Line is one course of numbers. A value that is not a number leaves a gap.
type Line struct {
	Name string
	Y    []float64 // in the unit of the drawing, one for each step along the foot
}

// Lines are courses over the same steps.
type Lines struct {
	Says          string // the sentence for those who cannot see it
	Width, Height float64
	Lines         []Line
	Label         func(step int) string // word under a step, "" for none
	Zero          bool                  // the foot is at zero
}

// Bar is one number with its spread. One that is not a number is left out.
type Bar struct {
	Mid, Low, High float64 // in the unit of the drawing
}

// Kind is the bars of one sort, one in each group.
type Kind struct {
	Name string
	Bars []Bar
}

// Bars are groups of bars: one of each kind in a group, with whiskers.
type Bars struct {
	Says          string
	Width, Height float64
	Kinds         []Kind
	Groups        []string // word under each group
}

// pen writes SVG with coordinates to a tenth.
type pen struct{ b []byte }

func (p *pen) raw(parts ...string) *pen {
	for _, s := range parts {
		p.b = append(p.b, s...)
	}
	return p
}

func (p *pen) n(x float64) *pen {
	x = math.Round(x*10) / 10
	if x == 0 || math.IsNaN(x) || math.IsInf(x, 0) {
		x = 0 // nor a minus zero
	}
	p.b = strconv.AppendFloat(p.b, x, 'f', -1, 64)
	return p
}

func (p *pen) at(name string, x float64) *pen { return p.raw(" ", name, `="`).n(x).raw(`"`) }

func (p *pen) open(w, h float64, says string) *pen {
	return p.raw(`<svg class="plot" viewBox="0 0 `).n(w).raw(" ").n(h).raw(`" role="img" aria-label="`, html.EscapeString(says), `">`)
}

func (p *pen) line(class string, x1, y1, x2, y2 float64) {
	p.raw(`<line class="`, class, `"`).at("x1", x1).at("y1", y1).at("x2", x2).at("y2", y2).raw("/>")
}

func (p *pen) text(anchor string, x, y float64, words string) {
	p.raw("<text").at("x", x).at("y", y).raw(` text-anchor="`, anchor, `">`, html.EscapeString(words), "</text>")
}

// nice returns steps of 1, 2 or 5 between low and high, at most n of them.
func nice(low, high float64, n int) (ticks []float64, step float64) {
	raw := (high - low) / float64(n)
	mag := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if step = m * mag; step >= raw*(1-1e-9) {
			break
		}
	}
	for k := math.Ceil(low/step - 1e-9); k*step <= high+step*1e-9; k++ {
		ticks = append(ticks, k*step)
	}
	return ticks, step
}

// number prints a tick with as many decimals as its step asks for.
func number(x, step float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	if math.Abs(x) < step/2 {
		x = 0
	}
	return strconv.FormatFloat(x, 'f', decimals, 64)
}

const left, right, top, foot = 46.0, 10.0, 10.0, 22.0

// ground draws the grid of values and returns where a value lies.
func (p *pen) ground(w, h, low, high float64) (y func(float64) float64) {
	y = func(v float64) float64 {
		v = math.Min(math.Max(v, low), high)
		return h - foot - (v-low)/(high-low)*(h-foot-top)
	}
	ticks, step := nice(low, high, 5)
	for _, t := range ticks {
		p.line("grid", left, y(t), w-right, y(t))
		p.text("end", left-6, y(t)+4, number(t, step))
	}
	return y
}

// span returns the bounds of the values, a little wider than they are.
func span(zero bool, each func(func(float64))) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	each(func(x float64) {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			low, high = math.Min(low, x), math.Max(high, x)
		}
	})
	if low > high {
		low, high = 0, 1
	}
	if zero {
		low, high = math.Min(low, 0), math.Max(high, 0)
	}
	room := (high - low) * 0.05
	if !(room > 1e-9*math.Max(math.Abs(high), 1e-3)) {
		room = math.Max(math.Abs(high)*0.05, 0.5)
	}
	if !zero || low < 0 {
		low -= room
	}
	return low, high + room
}

// SVG draws the lines. It panics on more than Most of them, a slip of the
// caller.
func (c Lines) SVG() string {
	if len(c.Lines) > Most {
		panic("plot: more lines than can be told apart")
	}
	var p pen
	p.open(c.Width, c.Height, c.Says)
	steps := 0
	low, high := span(c.Zero, func(see func(float64)) {
		for _, l := range c.Lines {
			steps = max(steps, len(l.Y))
			for _, v := range l.Y {
				see(v)
			}
		}
	})
	y := p.ground(c.Width, c.Height, low, high)
	x := func(i int) float64 {
		return left + (c.Width-left-right)*float64(i)/math.Max(float64(steps-1), 1)
	}
	if c.Label != nil {
		end := -math.MaxFloat64
		for i := range steps {
			word := c.Label(i)
			if word == "" || x(i)-end < float64(len(word))*7 || x(i) > c.Width-right-12 {
				continue
			}
			p.line("tick", x(i), c.Height-foot, x(i), c.Height-foot+4)
			p.text("middle", x(i), c.Height-5, word)
			end = x(i)
		}
	}
	p.line("axis", left, c.Height-foot, c.Width-right, c.Height-foot)
	for k, l := range c.Lines {
		p.raw(`<path class="line l`, strconv.Itoa(k), `" d="`)
		gap := true
		for i, v := range l.Y {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				gap = true
				continue
			}
			if gap {
				p.raw("M")
			} else {
				p.raw("L")
			}
			gap = false
			p.n(x(i)).raw(",").n(y(v))
		}
		p.raw(`"/>`)
	}
	return string(p.raw("</svg>").b)
}

// SVG draws the bars. It panics on more than Most kinds, a slip of the caller.
func (c Bars) SVG() string {
	if len(c.Kinds) > Most {
		panic("plot: more kinds than can be told apart")
	}
	var p pen
	p.open(c.Width, c.Height, c.Says)
	low, high := span(true, func(see func(float64)) {
		for _, k := range c.Kinds {
			for _, b := range k.Bars {
				see(b.Mid)
				see(b.Low)
				see(b.High)
			}
		}
	})
	y := p.ground(c.Width, c.Height, low, high)
	group := (c.Width - left - right) / math.Max(float64(len(c.Groups)), 1)
	wide := group * 0.78 / math.Max(float64(len(c.Kinds)), 1)
	for i, word := range c.Groups {
		p.text("middle", left+group*(float64(i)+0.5), c.Height-5, word)
		for k, kind := range c.Kinds {
			if i >= len(kind.Bars) || math.IsNaN(kind.Bars[i].Mid) {
				continue
			}
			b := kind.Bars[i]
			at := left + group*(float64(i)+0.11) + wide*float64(k)
			upper, under := y(math.Max(b.Mid, 0)), y(math.Min(b.Mid, 0))
			p.raw(`<rect class="column c`, strconv.Itoa(k), `"`).at("x", at+0.5).at("y", upper).at("width", math.Max(wide-1, 1)).at("height", under-upper).raw("/>")
			if k%2 == 1 { // hatched: told apart without colour
				for h := upper + 4; h < under; h += 5 {
					p.line("hatch", at+0.5, h, at+wide-0.5, h)
				}
			}
			mid := at + wide/2
			p.line("whisker", mid, y(b.Low), mid, y(b.High))
			for _, end := range []float64{b.Low, b.High} {
				p.line("whisker", mid-3, y(end), mid+3, y(end))
			}
		}
	}
	p.line("axis", left, y(0), c.Width-right, y(0))
	return string(p.raw("</svg>").b)
}

// LineKey is a small sample of the n-th line, for a key.
func LineKey(n int) string {
	var p pen
	p.raw(`<svg class="plot key-of" viewBox="0 0 36 12" aria-hidden="true">`)
	p.line("line l"+strconv.Itoa(n), 1, 6, 35, 6)
	return string(p.raw("</svg>").b)
}

// BarKey is a small sample of the n-th kind of bar, for a key.
func BarKey(n int) string {
	var p pen
	p.raw(`<svg class="plot key-of" viewBox="0 0 36 16" aria-hidden="true"><rect class="column c`, strconv.Itoa(n), `" x="1" y="1" width="34" height="14"/>`)
	if n%2 == 1 {
		p.line("hatch", 1, 5.5, 35, 5.5)
		p.line("hatch", 1, 10.5, 35, 10.5)
	}
	return string(p.raw("</svg>").b)
}

// Style is the sheet of the drawings for a file that stands alone. It wants the
// properties --ink, --ink-2, --hair, --water, --wash and --salt.
const Style = `.plot{display:block;width:100%;height:auto}.plot text{fill:var(--ink-2);font:600 12px system-ui,sans-serif;font-variant-numeric:tabular-nums}
.plot .grid{stroke:var(--hair);stroke-width:1}.plot .axis,.plot .tick{stroke:var(--ink);stroke-width:1.5}
.plot .line{fill:none;stroke-width:2.25;stroke-linejoin:round}
.plot .l0,.plot .l2,.plot .l4{stroke:var(--water)}.plot .l1,.plot .l3,.plot .l5{stroke:var(--ink)}
.plot .l1{stroke-dasharray:8 4}.plot .l2{stroke-dasharray:2 4}.plot .l3{stroke-dasharray:12 3 2 3}.plot .l4{stroke-dasharray:14 5}.plot .l5{stroke-dasharray:2 2}
.plot .column{stroke-width:1.5}.plot .c0,.plot .c2,.plot .c4{fill:var(--wash);stroke:var(--water)}.plot .c1,.plot .c3,.plot .c5{fill:var(--salt);stroke:var(--ink)}
.plot .hatch{stroke:var(--ink);stroke-width:1}.plot .whisker{stroke:var(--ink);stroke-width:1.5}
.key-of{display:inline-block;width:36px;height:auto;vertical-align:middle}`
