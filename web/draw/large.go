package draw

import (
	"math"
	"strconv"
)

// The large section stands in a box of 328 by 262 with its staff to the right.
const (
	largeW, largeH = 328, 262
	staffX         = 250
	labelX         = 265
)

var largeSections = map[Shape]section{
	Pond:    {cx: 118, rim: 52, full: 68, floor: 234, top: 104, bottom: 70, disc: 118, rx: 27, ry: 9.5},
	Tank:    {cx: 118, rim: 44, full: 68, floor: 240, top: 84, bottom: 84, disc: 118, rx: 27, ry: 9.5},
	Raceway: {cx: 118, rim: 96, full: 110, floor: 230, top: 114, bottom: 106, disc: 62, rx: 24, ry: 8.5},
	Lying:   {cx: 118, rim: 40, full: 60, floor: 232, top: 96, bottom: 96, disc: 118, rx: 27, ry: 9.5},
}

// Large draws the vessel large, with a staff that shows the depths.
func (c Column) Large() string {
	var p pen
	c = c.sane()
	if c.Shape == Bottle || c.Shape == Bottles {
		// A shelf is drawn as in the list, only larger: bottles have no staff.
		p.open("wc wc-large wc-shelf", 64, 64, c.Says)
		c.shelf(&p)
		return p.close()
	}
	s, ok := largeSections[c.Shape]
	if !ok {
		c.Shape, s = Tank, largeSections[Tank]
	}
	class := "wc wc-large " + toneClass(c.Grams)
	if !c.Known {
		class = "wc wc-large wc-none"
	}
	p.open(class, largeW, largeH, c.Says)
	if c.Shape == Pond {
		p.path("earth", func(p *pen) { hatchLarge(p, &s) })
	}
	if c.Known {
		c.largeWater(&p, &s)
	}
	c.largeWalls(&p, &s)
	if c.Known {
		c.staff(&p, &s)
	}
	return p.close()
}

func hatchLarge(p *pen, s *section) {
	for y := s.rim + 11; y < s.floor; y += 11 {
		h := lerp(s.top, s.bottom, (y-s.rim)/(s.floor-s.rim))
		p.raw("M").n(s.cx-h-4, y).raw("l-10,10M").n(s.cx+h+4, y).raw("l10,10")
	}
	for x := s.cx - s.bottom - 4; x <= s.cx+s.bottom+4; x += 11 {
		p.raw("M").n(x, s.floor+5).raw("l-10,10")
	}
}

// ripple is the height of the surface over its rest level at x: three waves
// that never repeat within the drawing.
func ripple(x float64) float64 {
	return 1.1*math.Sin(x*.19) + .7*math.Sin(x*.31+1) + .4*math.Sin(x*.53+2)
}

func (c *Column) largeWater(p *pen, s *section) {
	ys := c.surface(s)
	c.water(p, s, true)
	dark := DarkCM(c.Grams)
	yDark := s.floor
	if dark < c.Level {
		yDark = c.depth(s, dark)
	}
	p.raw("<linearGradient").attr("id", c.ID+"r").raw(` gradientUnits="userSpaceOnUse" x1="0" x2="0"`).at("y1", ys).at("y2", yDark)
	p.raw(`><stop class="s-ray" offset="0" stop-opacity=".34"/><stop class="s-ray" offset=".5" stop-opacity=".13"/><stop class="s-ray" offset="1" stop-opacity="0"/></linearGradient>`)
	h := s.half(ys, c.Shape)
	var wave pen
	for x := s.cx - h; ; x += 4 {
		x = math.Min(x, s.cx+h)
		wave.raw(" ").n(x, ys+ripple(x))
		if x >= s.cx+h {
			break
		}
	}
	p.raw("<clipPath").attr("id", c.ID+"c").raw(">")
	if c.Shape == Lying {
		r := (s.floor - s.rim) / 2
		large := "0"
		if ys < s.rim+r {
			large = "1"
		}
		p.raw(`<path d="M`).n(s.cx-h, ys-2).raw("A").n(r, r).raw(" 0 ", large, " 0 ").n(s.cx+h, ys-2).raw(`Z"/>`)
	} else {
		p.raw(`<polygon points="`).raw(string(wave.b[1:])).raw(" ").n(s.cx+s.bottom, s.floor).raw(" ").n(s.cx-s.bottom, s.floor).raw(`"/>`)
	}
	p.raw("</clipPath></defs>")
	p.raw("<g").attr("clip-path", "url(#"+c.ID+"c)").raw(">")
	p.raw("<rect").at("x", 0).at("y", ys-4).at("width", 236).at("height", s.floor-ys+4).attr("fill", "url(#"+c.ID+"g)").raw("/>")
	for _, ray := range [][3]float64{{36, 26, 15}, {50, 7, 20}, {88, 16, 10}, {134, 34, 16}, {146, 10, 17}, {190, 12, 13}} {
		x, w, lean := ray[0], ray[1], ray[2]
		p.raw(`<polygon points="`).n(x, ys-4).raw(" ").n(x+w, ys-4).raw(" ").n(x+w*.45-lean, yDark).raw(" ").n(x-lean, yDark).raw(`"`)
		p.attr("fill", "url(#"+c.ID+"r)").raw("/>")
	}
	if top, bottom, ok := c.band(s); ok {
		p.raw("<rect").at("x", 0).at("y", top).at("width", 236).at("height", bottom-top).attr("fill", "url(#"+c.ID+"b)").raw("/>")
	}
	if dark < c.Level {
		half := s.half(yDark, c.Shape) - 6
		p.line("dark-line", s.cx-half, yDark, s.cx+half, yDark)
	}
	p.raw("</g>")
	p.raw(`<polyline class="surface" points="`).raw(string(wave.b[1:])).raw(`"/>`)
	if c.Full > 0 && c.Level < .97*c.Full {
		fh := s.half(s.full, c.Shape) - 5
		p.line("full", s.cx-fh, s.full, s.cx+fh, s.full)
	}
	if c.Disc != nil {
		p.path("staff", func(p *pen) {
			for i, y := 0, 10.0; y < ys-14 && y < s.rim; i, y = i+1, y+6 {
				w := 4.0
				if i%5 == 0 {
					w = 7
				}
				p.raw("M").n(s.disc-w, y).raw("h").n(2 * w)
			}
		})
		c.stick(p, s, 6)
	}
}

func (c *Column) largeWalls(p *pen, s *section) {
	l, r, lb, rb := s.cx-s.top, s.cx+s.top, s.cx-s.bottom, s.cx+s.bottom
	switch c.Shape {
	case Pond:
		p.path("wall", func(p *pen) {
			p.raw("M").n(2, s.rim).raw("H").n(l).raw("L").n(lb, s.floor).raw("H").n(rb).raw("L").n(r, s.rim).raw("H").n(234)
		})
	case Raceway:
		p.path("wall", func(p *pen) {
			p.raw("M").n(l, s.rim).raw("L").n(lb, s.floor).raw("H").n(rb).raw("L").n(r, s.rim).raw("M").n(s.cx, s.rim-6).raw("V").n(s.floor)
		})
		p.line("ground", 0, s.floor+6, 236, s.floor+6)
	case Lying:
		radius := (s.floor - s.rim) / 2
		p.circle("wall", s.cx, s.rim+radius, radius)
		p.path("wall", func(p *pen) { p.raw("M").n(s.cx-60, 250).raw("l14,-32M").n(s.cx+60, 250).raw("l-14,-32") })
		p.line("ground", 10, 252, 226, 252)
	default:
		p.path("wall", func(p *pen) { p.raw("M").n(l, s.rim).raw("V").n(s.floor).raw("H").n(r).raw("V").n(s.rim) })
		p.line("ground", 10, s.floor+6, 226, s.floor+6)
	}
}

// staff draws the depth scale with the spread of the disc and its labels. A
// label that would touch a more important one is left out.
func (c *Column) staff(p *pen, s *section) {
	ys := c.surface(s)
	if c.Labels.Level != "" {
		half := s.half(ys, c.Shape)
		x, at := s.cx-half+22, math.Max(s.cx-half+10, 4)
		if c.Disc != nil && s.disc < s.cx { // the stick stands here: the words move to the other channel
			x, at = s.cx+36, s.cx+24
		}
		p.path("level", func(p *pen) { p.raw("M").n(x, ys-2).raw("l-6,-10h12z") })
		p.text("t-level", "start", at, math.Max(ys-18, 14), c.Labels.Level)
	}
	if !(c.Level > 0) {
		return
	}
	p.path("staff", func(p *pen) { p.raw("M").n(staffX, ys).raw("V").n(s.floor) })
	p.path("staff", func(p *pen) {
		for _, d := range ticks(c.Level) {
			w := 4.0
			if math.Mod(d, 5) == 0 {
				w = 7
			}
			p.raw("M").n(staffX-w, c.depth(s, d)).raw("h").n(w)
		}
	})
	type label struct {
		class, text string
		y           float64
	}
	var labels []label
	if c.Disc != nil {
		y := c.depth(s, c.Disc.Mid)
		p.line("staff-band", staffX+4.5, c.depth(s, c.Disc.Low), staffX+4.5, c.depth(s, c.Disc.High))
		p.path("staff-mid", func(p *pen) { p.raw("M").n(staffX-8, y).raw("h18") })
		labels = append(labels, label{"t-big", c.Labels.Disc, y + 6}, label{"t-quiet", c.Labels.Spread, y + 22})
	}
	labels = append(labels, label{"t-quiet", c.Labels.Floor, s.floor + 5})
	if dark := DarkCM(c.Grams); dark < c.Level {
		labels = append(labels, label{"t-quiet", c.Labels.Dark, c.depth(s, dark) + 5})
	}
	labels = append(labels, label{"t-quiet", "0", ys + 5})
	for _, d := range []float64{10, 5, 20, 50, 100} {
		if d < c.Level {
			labels = append(labels, label{"t-quiet", strconv.Itoa(int(d)), c.depth(s, d) + 5})
		}
	}
	var taken []float64
	free := func(y float64) bool {
		for _, t := range taken {
			if math.Abs(t-y) < 15 {
				return false
			}
		}
		return true
	}
	for _, l := range labels {
		// The words about the dark may stand a line lower, beside their mark.
		if l.text == c.Labels.Dark {
			for i := 0; i < 15 && !free(l.y); i++ {
				l.y++
			}
		}
		if l.text != "" && free(l.y) {
			taken = append(taken, l.y)
			p.text(l.class, "", labelX, l.y, l.text)
		}
	}
}

// ticks are the depths marked on a staff of that length [cm].
func ticks(level float64) []float64 {
	out := []float64{0}
	step := 1.0
	for d := step; d < level; d += step {
		out = append(out, d)
		switch {
		case d >= 500:
			return out // deeper than any vessel: no marks can be told apart
		case d >= 50:
			step = 10
		case d >= 20:
			step = 5
		case d >= 6:
			step = 2
		}
	}
	return out
}
