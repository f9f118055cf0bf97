package draw

import (
	"math"
	"strconv"

	"sodalake/science/num"
)

// Shape is how a vessel looks from the side.
type Shape string

// The shapes that can be drawn.
const (
	Pond    Shape = "pond"    // sloped walls in the ground
	Tank    Shape = "tank"    // straight walls on a floor
	Raceway Shape = "raceway" // two channels with a wall between
	Lying   Shape = "lying"   // a cylinder on its side
	Bottle  Shape = "bottle"  // one bottle
	Bottles Shape = "bottles" // a shelf of them
)

// Column is one vessel seen from the side.
type Column struct {
	ID     string // unique on the page; prefix of the drawing's own names
	Shape  Shape
	Level  float64   // water level [cm]
	Full   float64   // level called full [cm]; 0 if never told
	Known  bool      // false: nothing is in it yet, or nothing was noted
	Grams  float64   // density, median [g/L]; it picks the colour
	Each   []float64 // densities of the bottles of a shelf [g/L]; empty: all as Grams
	Count  int       // bottles on the shelf
	Disc   *num.Band // depth at which a disc vanishes [cm]; nil for none
	Stale  bool      // no density reading for a week: the disc is empty and broken
	Says   string    // the sentence for those who cannot see it; "" hides it from them
	Labels Labels    // words of the large drawing
}

// Labels are the words in the large drawing. Each is ready to print.
type Labels struct {
	Level  string // "16.0 cm"
	Disc   string // "2.7 cm"
	Spread string // "2.4–3.0"
	Floor  string // "16.0 floor"
	Dark   string // "5.3 dark"; empty where light reaches the floor
}

// Tone returns the step of the water's colour for a density of grams [g/L], 0
// to 9 on a log scale from 0.05 to 1 g/L. A density that is not above zero has
// the palest.
func Tone(grams float64) int {
	if !(grams > 0) {
		return 0
	}
	return int(clamp(math.Round(9*math.Log(grams/0.05)/math.Log(20)), 0, 9))
}

func toneClass(grams float64) string { return "wc-" + strconv.Itoa(Tone(grams)) }

// DarkCM returns the depth below which less than 1 % of the light is left [cm],
// for a culture of grams [g/L]: 4.6 optical depths at 0.18 m²/g, the middle of
// published absorption per dry matter (an approximation for the eye, not the
// model's own light).
func DarkCM(grams float64) float64 {
	if !(grams > 0) {
		return math.Inf(1)
	}
	return 100 * 4.6 / (0.18 * 1000 * grams)
}

// section is the geometry of a drawing: a trapezium between rim and floor.
type section struct {
	cx, rim, full, floor float64
	top, bottom          float64 // half width at rim and at floor
	disc                 float64 // where the stick stands
	rx, ry               float64 // of the disc
}

var sections = map[Shape]section{
	Pond:    {cx: 32, rim: 17, full: 21, floor: 56.5, top: 27, bottom: 18, disc: 32, rx: 8.5, ry: 3.2},
	Tank:    {cx: 32, rim: 11, full: 16, floor: 59, top: 19, bottom: 19, disc: 32, rx: 8.5, ry: 3.2},
	Raceway: {cx: 32, rim: 24, full: 28, floor: 55, top: 30, bottom: 27, disc: 17, rx: 7.5, ry: 3},
	Lying:   {cx: 32, rim: 13, full: 17, floor: 57, top: 22, bottom: 22, disc: 32, rx: 8.5, ry: 3.2},
}

// half is the half width of the section at height y.
func (s *section) half(y float64, shape Shape) float64 {
	if shape == Lying {
		r := (s.floor - s.rim) / 2
		d := y - (s.rim + r)
		return math.Sqrt(math.Max(r*r-d*d, 0))
	}
	return lerp(s.top, s.bottom, (y-s.rim)/(s.floor-s.rim))
}

// sane returns c with every length that no vessel has, or that is no number,
// put to nothing or to the largest that can be drawn.
func (c Column) sane() Column {
	fit := func(x float64) float64 {
		if math.IsNaN(x) {
			return 0
		}
		return clamp(x, 0, 1e4)
	}
	c.Level, c.Full = fit(c.Level), fit(c.Full)
	if c.Disc != nil {
		c.Disc = &num.Band{Low: fit(c.Disc.Low), Mid: fit(c.Disc.Mid), High: fit(c.Disc.High)}
	}
	return c
}

// surface is the height of the water's surface.
func (c *Column) surface(s *section) float64 {
	if c.Full > 0 {
		return s.floor - float64((s.floor-s.full)*clamp(c.Level/c.Full, 0, 1.08))
	}
	return s.full
}

// depth maps a depth d [cm] to a height: a root scale, so that the first
// centimetres, where the disc lives, are drawn large.
func (c *Column) depth(s *section, d float64) float64 {
	ys := c.surface(s)
	if !(c.Level > 0) {
		return ys
	}
	return ys + float64((s.floor-ys)*math.Sqrt(clamp(d/c.Level, 0, 1)))
}

// Glyph draws the vessel small, in a box of 64 by 64.
func (c Column) Glyph() string {
	var p pen
	c = c.sane()
	switch c.Shape {
	case Bottle, Bottles:
		p.open("wc", 64, 64, c.Says)
		c.shelf(&p)
		return p.close()
	}
	s, ok := sections[c.Shape]
	if !ok {
		c.Shape, s = Tank, sections[Tank]
	}
	class := "wc " + toneClass(c.Grams)
	if !c.Known {
		class = "wc wc-none"
	}
	p.open(class, 64, 64, c.Says)
	if c.Known {
		c.water(&p, &s, false)
		if c.Full > 0 && c.Level < .97*c.Full {
			h := s.half(s.full, c.Shape) - 2
			p.line("full", s.cx-h, s.full, s.cx+h, s.full)
		}
		ys := c.surface(&s)
		h := s.half(ys, c.Shape)
		p.line("surface", s.cx-h, ys, s.cx+h, ys)
		c.stick(&p, &s, 3)
	}
	c.walls(&p, &s)
	return p.close()
}

// water fills the section and lays the spread over it.
func (c *Column) water(p *pen, s *section, large bool) {
	ys := c.surface(s)
	p.raw("<defs>")
	p.raw("<linearGradient").attr("id", c.ID+"g").raw(` x1="0" y1="0" x2="0" y2="1"><stop class="s-top" offset="0"/>`)
	if c.Disc != nil && c.Level > 0 {
		mid := math.Sqrt(clamp(c.Disc.Mid/c.Level, 0.01, 1))
		p.raw(`<stop class="s-mid"`).attr("offset", strconv.FormatFloat(mid, 'f', 2, 64)).raw("/>")
		if dark := DarkCM(c.Grams); large && dark < c.Level {
			p.raw(`<stop class="s-deep"`).attr("offset", strconv.FormatFloat(math.Max(mid, math.Sqrt(dark/c.Level)), 'f', 2, 64)).raw("/>")
		}
	} else {
		p.raw(`<stop class="s-mid" offset=".5"/>`)
	}
	p.raw(`<stop class="s-deep" offset="1"/></linearGradient>`)
	if c.Disc != nil {
		p.raw("<linearGradient").attr("id", c.ID+"b").raw(` x1="0" y1="0" x2="0" y2="1"><stop class="s-band" offset="0" stop-opacity="0"/><stop class="s-band" offset=".5" stop-opacity=".8"/><stop class="s-band" offset="1" stop-opacity="0"/></linearGradient>`)
	}
	if !large {
		p.raw("</defs>")
		c.body(p, s, ys, s.floor, c.ID+"g")
		if top, bottom, ok := c.band(s); ok {
			c.body(p, s, top, bottom, c.ID+"b")
		}
	}
}

// band is where the pale band of the spread begins and ends: centred between
// the two ends of the spread, fading out over 2.6 times their distance.
func (c *Column) band(s *section) (top, bottom float64, ok bool) {
	if c.Disc == nil || !(c.Level > 0) {
		return 0, 0, false
	}
	a, b := c.depth(s, c.Disc.Low), c.depth(s, c.Disc.High)
	mid, half := (a+b)/2, math.Max(1.3*(b-a), 1.5)
	return math.Max(mid-half, c.surface(s)), math.Min(mid+half, s.floor), true
}

// body fills the section between two heights.
func (c *Column) body(p *pen, s *section, top, bottom float64, fill string) {
	if bottom <= top {
		return
	}
	if c.Shape == Lying {
		r := (s.floor - s.rim) / 2
		a, b := s.half(top, Lying), s.half(bottom, Lying)
		large := 0.0
		if bottom >= s.floor && top < s.rim+r {
			large = 1
		}
		p.raw(`<path d="M`).n(s.cx-a, top).raw("A").n(r, r).raw(" 0 ").n(large).raw(" 0 ").n(s.cx-b, bottom)
		p.raw("L").n(s.cx+b, bottom).raw("A").n(r, r).raw(" 0 0 0 ").n(s.cx+a, top).raw(`Z"`).attr("fill", "url(#"+fill+")").raw("/>")
		return
	}
	a, b := s.half(top, c.Shape), s.half(bottom, c.Shape)
	p.raw(`<polygon points="`).n(s.cx-a, top).raw(" ").n(s.cx+a, top).raw(" ").n(s.cx+b, bottom).raw(" ").n(s.cx-b, bottom)
	p.raw(`"`).attr("fill", "url(#"+fill+")").raw("/>")
}

// stick draws the disc on its stick; a disc that would touch the floor lies on
// it: seen to the floor.
func (c *Column) stick(p *pen, s *section, top float64) {
	if c.Disc == nil {
		return
	}
	ys := c.surface(s)
	y := math.Min(c.depth(s, c.Disc.Mid), s.floor-s.ry)
	p.line("stick", s.disc, top, s.disc, ys)
	if y-s.ry > ys+1 {
		p.line("stick-wet", s.disc, ys+.8, s.disc, y)
	}
	c.disc(p, s.disc, y, s.rx, s.ry)
}

// disc draws the quartered disc, or the empty broken one where the estimate
// stands on no recent reading.
func (c *Column) disc(p *pen, x, y, rx, ry float64) {
	p.ellipse("halo", x, y, rx+.9, ry+.9)
	p.ellipse("disc-w", x, y, rx, ry)
	if c.Stale {
		p.ellipse("disc-o disc-stale", x, y, rx, ry)
		return
	}
	p.path("disc-k", func(p *pen) {
		p.raw("M").n(x, y).raw("L").n(x+rx, y).raw("A").n(rx, ry).raw(" 0 0 1 ").n(x, y+ry)
		p.raw("ZM").n(x, y).raw("L").n(x-rx, y).raw("A").n(rx, ry).raw(" 0 0 1 ").n(x, y-ry).raw("Z")
	})
	p.ellipse("disc-o", x, y, rx, ry)
}

// walls draws what holds the water.
func (c *Column) walls(p *pen, s *section) {
	l, r := s.cx-s.top, s.cx+s.top
	lb, rb := s.cx-s.bottom, s.cx+s.bottom
	switch c.Shape {
	case Pond:
		p.path("wall", func(p *pen) {
			p.raw("M").n(0, s.rim).raw("H").n(l).raw("L").n(lb, s.floor).raw("H").n(rb).raw("L").n(r, s.rim).raw("H").n(64)
		})
		p.path("earth", func(p *pen) { hatch(p, s, 8.5, 4) })
	case Raceway:
		p.path("wall", func(p *pen) {
			p.raw("M").n(l, s.rim).raw("L").n(lb, s.floor).raw("H").n(rb).raw("L").n(r, s.rim)
			p.raw("M").n(s.cx, s.rim-1).raw("V").n(s.floor)
		})
		p.line("ground", 0, s.floor+2.5, 64, s.floor+2.5)
	case Lying:
		radius := (s.floor - s.rim) / 2
		p.circle("wall", s.cx, s.rim+radius, radius)
		p.path("wall", func(p *pen) { p.raw("M").n(s.cx-15, 61).raw("l4,-6M").n(s.cx+15, 61).raw("l-4,-6") })
		p.line("ground", 3, 62, 61, 62)
	default:
		p.path("wall", func(p *pen) {
			p.raw("M").n(l, s.rim).raw("V").n(s.floor).raw("H").n(r).raw("V").n(s.rim)
		})
		p.line("ground", 3, s.floor+2, 61, s.floor+2)
	}
}

// hatch draws the earth along a pond's walls and floor.
func hatch(p *pen, s *section, gap, size float64) {
	for y := s.rim + gap - .5; y < s.floor; y += gap {
		h := lerp(s.top, s.bottom, (y-s.rim)/(s.floor-s.rim))
		p.raw("M").n(s.cx-h-2.5, y).raw("l").n(-size, size)
		p.raw("M").n(s.cx+h+2.5, y).raw("l").n(size, size)
	}
	for x := s.cx - s.bottom + 5; x < s.cx+s.bottom+2; x += gap - .5 {
		p.raw("M").n(x, s.floor+2.6).raw("l").n(-size, size)
	}
}

// shelf draws bottles, three a board, read left to right, top first. A bottle
// is too narrow for a disc.
func (c *Column) shelf(p *pen) {
	if c.Shape == Bottle || c.Count == 1 {
		p.raw(`<g class="`, c.tone(0), `">`)
		if c.Known {
			p.rect("glass", 18, 24, 28, 36).rect("glass-top", 18, 24, 28, 3.5)
		}
		p.path("wall", func(p *pen) { p.raw("M25,3V12L18,22V60H46V22L39,12V3") })
		p.raw("</g>").line("ground", 6, 62, 58, 62)
		return
	}
	n := c.Count
	if n <= 0 || n > 6 {
		n = 6
	}
	rows := (n + 2) / 3
	for i := range n {
		x := 4.2 + 20.5*float64(i%3)
		y := 31*float64(i/3) + 15.5*float64(2-rows)
		p.raw(`<g class="`, c.tone(i), `">`)
		if c.Known {
			p.rect("glass", x, y+15, 14.5, 15).rect("glass-top", x, y+15, 14.5, 2.5)
		}
		p.path("wall", func(p *pen) {
			p.raw("M").n(x+3.3, y+5.5).raw("V").n(y+9.5).raw("L").n(x, y+14.5).raw("V").n(y + 30)
			p.raw("H").n(x+14.5).raw("V").n(y+14.5).raw("L").n(x+11.2, y+9.5).raw("V").n(y + 5.5)
		})
		p.raw("</g>")
	}
	for r := range rows {
		y := 31*float64(r+1) + 15.5*float64(2-rows) + .5
		p.line("ground", 0, y, 64, y)
	}
}

func (c *Column) tone(i int) string {
	if i < len(c.Each) {
		return toneClass(c.Each[i])
	}
	return toneClass(c.Grams)
}
