package draw

import (
	"html"
	"math"
	"strconv"
)

// pen writes SVG. Coordinates are in drawing units and printed to a tenth.
type pen struct{ b []byte }

// raw writes text as it is.
func (p *pen) raw(parts ...string) *pen {
	for _, s := range parts {
		p.b = append(p.b, s...)
	}
	return p
}

// n writes coordinates with a comma between them.
func (p *pen) n(xs ...float64) *pen {
	for i, x := range xs {
		if i > 0 {
			p.b = append(p.b, ',')
		}
		p.b = tenth(p.b, x)
	}
	return p
}

// tenth prints x to one decimal, without a zero at the end.
func tenth(b []byte, x float64) []byte {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		x = 0
	}
	x = math.Round(x*10) / 10
	if x == 0 {
		x = 0 // no minus zero
	}
	return strconv.AppendFloat(b, x, 'f', -1, 64)
}

// attr writes one attribute.
func (p *pen) attr(name, value string) *pen {
	return p.raw(" ", name, `="`, html.EscapeString(value), `"`)
}

// at writes one attribute that is a number.
func (p *pen) at(name string, x float64) *pen { return p.raw(" ", name, `="`).n(x).raw(`"`) }

// open starts an image of that size; says is its sentence.
func (p *pen) open(class string, w, h float64, says string) *pen {
	p.raw("<svg")
	if class != "" {
		p.attr("class", class)
	}
	p.raw(` viewBox="0 0 `).n(w).raw(" ").n(h).raw(`"`)
	if says == "" {
		return p.raw(` aria-hidden="true">`)
	}
	return p.raw(` role="img"`).attr("aria-label", says).raw(">")
}

func (p *pen) close() string { return string(p.raw("</svg>").b) }

// path writes a path; d is written by the function.
func (p *pen) path(class string, d func(*pen)) *pen {
	p.raw("<path").attr("class", class).raw(` d="`)
	d(p)
	return p.raw(`"/>`)
}

func (p *pen) line(class string, x1, y1, x2, y2 float64) *pen {
	return p.raw("<line").attr("class", class).at("x1", x1).at("y1", y1).at("x2", x2).at("y2", y2).raw("/>")
}

func (p *pen) rect(class string, x, y, w, h float64) *pen {
	return p.raw("<rect").attr("class", class).at("x", x).at("y", y).at("width", math.Max(w, 0)).at("height", math.Max(h, 0)).raw("/>")
}

func (p *pen) circle(class string, x, y, r float64) *pen {
	return p.raw("<circle").attr("class", class).at("cx", x).at("cy", y).at("r", r).raw("/>")
}

func (p *pen) ellipse(class string, x, y, rx, ry float64) *pen {
	return p.raw("<ellipse").attr("class", class).at("cx", x).at("cy", y).at("rx", rx).at("ry", ry).raw("/>")
}

// text writes words at a point; anchor is "", "middle" or "end".
func (p *pen) text(class, anchor string, x, y float64, words string) *pen {
	p.raw("<text")
	if class != "" {
		p.attr("class", class)
	}
	p.at("x", x).at("y", y)
	if anchor != "" {
		p.attr("text-anchor", anchor)
	}
	return p.raw(">", html.EscapeString(words), "</text>")
}

func clamp(x, low, high float64) float64 { return math.Min(math.Max(x, low), high) }

// lerp is the value at t between a at 0 and b at 1.
func lerp(a, b, t float64) float64 { return a + float64(t*(b-a)) }
