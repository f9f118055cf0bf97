package draw

import (
	"math"
	"time"

	"sodalake/science/num"
)

// Swing is one day's low and high, each with its spread.
type Swing struct {
	Day       time.Time // local midnight
	Low, High num.Band
}

// Swings is a chart of what each day swings between, as a tide table tells it.
type Swings struct {
	Fan  // From, Now, To, Zone, Dots, Limits, Day, Number, Says, Width, Height
	Days []Swing
}

// SVG draws the chart.
func (c Swings) SVG() string {
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	if c.Number == nil {
		c.Number = func(x, _ float64) string { return trim(x) }
	}
	f := frame{x0: 34, x1: c.Width - 6, y0: 8, y1: c.Height - 22, from: c.From, to: c.To}
	var all Curve
	for _, s := range c.Days {
		all.Bands = append(all.Bands, s.Low, s.High)
	}
	c.scale(&f, all)
	var p pen
	p.open("", c.Width, c.Height, c.Says)
	if x := clamp(f.x(c.Now), f.x0, f.x1); c.Now.Before(c.To) {
		p.rect("future", x, f.y0, f.x1-x, f.y1-f.y0)
	}
	values, step := nice(f.low, f.high, 4)
	p.path("grid", func(p *pen) {
		for _, v := range values {
			p.raw("M").n(f.x0, f.y(v)).raw("H").n(f.x1)
		}
	})
	half := 3.6
	for _, s := range c.Days {
		noon := s.Day.Add(12 * time.Hour)
		if !f.has(noon) {
			continue
		}
		x := f.x(noon)
		p.path("lh", func(p *pen) { p.raw("M").n(x, f.y(s.Low.Mid)).raw("V").n(f.y(s.High.Mid)) })
		for _, b := range []num.Band{s.Low, s.High} {
			top, bottom := f.y(b.High), f.y(b.Low)
			p.rect("band", x-half, top, 2*half, math.Max(bottom-top, 1))
			p.path("lh-mid", func(p *pen) { p.raw("M").n(x-half-1, f.y(b.Mid)).raw("h").n(2*half + 2) })
		}
	}
	for _, l := range c.Limits {
		if l >= f.low && l <= f.high {
			p.path("limit", func(p *pen) { p.raw("M").n(f.x0, f.y(l)).raw("H").n(f.x1) })
		}
	}
	if f.has(c.Now) {
		p.path("now", func(p *pen) { p.raw("M").n(f.x(c.Now), f.y0).raw("V").n(f.y1) })
	}
	c.dots(&p, &f)
	for _, v := range values {
		p.text("", "end", f.x0-5, f.y(v)+4.5, c.Number(v, step))
	}
	p.path("axis", func(p *pen) { p.raw("M").n(f.x0, f.y1).raw("H").n(f.x1) })
	c.dayLabels(&p, &f, midnights(c.From, c.To, c.Zone), c.Height-5)
	return p.close()
}

// Light is the light through one day with what is due on it.
type Light struct {
	Says          string
	Width, Height float64
	From, To      time.Time
	Zone          *time.Location
	PAR           Curve     // [µmol/m²/s]
	Now           time.Time // zero: not today
	Due           string    // word on the pennant; empty for none
	Until         time.Time // end of the time left
}

// SVG draws the light: its band, the staff of now with the pennant, and the
// time left on the axis.
func (c Light) SVG() string {
	if c.Zone == nil {
		c.Zone = time.UTC
	}
	f := frame{x0: 0, x1: c.Width, y0: 22, y1: c.Height - 24, from: c.From, to: c.To}
	all := join(&f, c.PAR)
	for _, b := range all.Bands {
		f.high = math.Max(f.high, b.High)
	}
	if !(f.high > 0) {
		f.high = 1
	}
	var p pen
	p.open("", c.Width, c.Height, c.Says)
	p.fan(&f, all, func() {})
	p.path("axis", func(p *pen) { p.raw("M").n(0, f.y1).raw("H").n(c.Width) })
	if f.has(c.Now) {
		x := f.x(c.Now)
		if c.Due != "" {
			if c.Until.After(c.Now) {
				end := math.Min(f.x(c.Until), c.Width)
				p.path("due", func(p *pen) { p.raw("M").n(x, f.y1-5).raw("H").n(end).raw("V").n(f.y1 + 4).raw("H").n(x).raw("Z") })
			}
			long := 7.6*float64(len([]rune(c.Due))) + 14
			if x+long+12 <= c.Width {
				p.path("due", func(p *pen) { p.raw("M").n(x, 2).raw("h").n(long).raw("l10,10l-10,10h").n(-long).raw("Z") })
				p.text("t-due", "", x+9, 17, c.Due)
			} else {
				p.path("due", func(p *pen) { p.raw("M").n(x, 2).raw("h").n(-long).raw("l-10,10l10,10h").n(long).raw("Z") })
				p.text("t-due", "end", x-9, 17, c.Due)
			}
		}
		p.path("now", func(p *pen) { p.raw("M").n(x, 1).raw("V").n(f.y1 + 5) })
	}
	start := c.From.In(c.Zone)
	first := time.Date(start.Year(), start.Month(), start.Day(), start.Hour()+1, 0, 0, 0, c.Zone)
	for t := first; t.Before(c.To); t = t.Add(time.Hour) {
		if t.Hour()%2 != 0 {
			continue
		}
		x := f.x(t)
		p.path("now", func(p *pen) { p.raw("M").n(x, f.y1).raw("v5") })
		if x > 8 && x < c.Width-8 {
			p.text("", "middle", x, c.Height-5, t.Format("15"))
		}
	}
	return p.close()
}
