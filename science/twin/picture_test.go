package twin

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// picture is a small plot as SVG: two axes and what is put into them.
type picture struct {
	title, x, y    string
	x0, x1, y0, y1 float64
	body, legend   strings.Builder
	n              int
}

const (
	pictureW, pictureH          = 640.0, 340.0
	left, right, above, beneath = 56.0, 16.0, 44.0, 44.0
)

// tones are dark, told apart by dashes and marks too, on white.
var tones = []string{"#0b5d4b", "#b3261e", "#3a4a6b", "#8a5a00", "#6b2f7a", "#555555"}

func newPicture(title, x, y string, x0, x1, y0, y1 float64) *picture {
	return &picture{title: title, x: x, y: y, x0: x0, x1: x1, y0: y0, y1: y1}
}

func (p *picture) at(x, y float64) (float64, float64) {
	return left + (x-p.x0)/(p.x1-p.x0)*(pictureW-left-right), pictureH - beneath - (y-p.y0)/(p.y1-p.y0)*(pictureH-above-beneath)
}

// path joins points.
func (p *picture) path(xs, ys []float64) string {
	var b strings.Builder
	for i := range xs {
		x, y := p.at(xs[i], math.Min(math.Max(ys[i], p.y0), p.y1))
		fmt.Fprintf(&b, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], x, y)
	}
	return b.String()
}

var dashes = []string{"", "6 3", "2 3", "9 3 2 3", "1 4", "12 4"}

// line draws a line with a name.
func (p *picture) line(name string, tone int, xs, ys []float64) {
	fmt.Fprintf(&p.body, `<path d="%s" fill="none" stroke="%s" stroke-width="1.6" stroke-dasharray="%s"/>`+"\n", p.path(xs, ys), tones[tone], dashes[tone])
	p.name(name, `<path d="M0 -4H22" stroke="`+tones[tone]+`" stroke-width="2" stroke-dasharray="`+dashes[tone]+`"/>`)
}

// area fills between two lines.
func (p *picture) area(name string, tone int, xs, low, high []float64) {
	back := make([]float64, len(xs))
	down := make([]float64, len(xs))
	for i := range xs {
		back[i], down[i] = xs[len(xs)-1-i], low[len(xs)-1-i]
	}
	fmt.Fprintf(&p.body, `<path d="%s%sZ" fill="%s" fill-opacity="0.18"/>`+"\n", p.path(xs, high), strings.Replace(p.path(back, down), "M", "L", 1), tones[tone])
	p.name(name, `<rect x="0" y="-9" width="22" height="9" fill="`+tones[tone]+`" fill-opacity="0.25"/>`)
}

// dots draws marks.
func (p *picture) dots(name string, tone int, xs, ys []float64) {
	for i := range xs {
		x, y := p.at(xs[i], ys[i])
		fmt.Fprintf(&p.body, `<circle cx="%.1f" cy="%.1f" r="2.6" fill="none" stroke="%s" stroke-width="1.3"/>`+"\n", x, y, tones[tone])
	}
	p.name(name, `<circle cx="11" cy="-4" r="3" fill="none" stroke="`+tones[tone]+`" stroke-width="1.3"/>`)
}

// bar draws a range with its middle across the picture, at a height.
func (p *picture) bar(tone int, y, low, mid, high float64) {
	a, h := p.at(low, y)
	b, _ := p.at(high, y)
	m, _ := p.at(mid, y)
	fmt.Fprintf(&p.body, `<path d="M%.1f %.1fH%.1f" stroke="%s" stroke-width="5" stroke-opacity="0.35"/><circle cx="%.1f" cy="%.1f" r="3.4" fill="%s"/>`+"\n", a, h, b, tones[tone], m, h, tones[tone])
}

func (p *picture) name(name, mark string) {
	if name == "" {
		return
	}
	col := p.n % 4
	row := p.n / 4
	fmt.Fprintf(&p.legend, `<g transform="translate(%.0f %.0f)">%s<text x="27">%s</text></g>`+"\n", left+float64(col)*146, above-4+float64(row)*13, mark, escape(name))
	p.n++
}

func escape(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(s)
}

func short(x float64) string { return strconv.FormatFloat(x, 'g', 3, 64) }

// ticks are round numbers between two.
func ticks(a, b float64) []float64 {
	step := math.Pow(10, math.Floor(math.Log10((b-a)/4)))
	for _, f := range []float64{5, 2} {
		if (b-a)/(step*f) >= 4 {
			step *= f
			break
		}
	}
	var out []float64
	for x := math.Ceil(a/step-1e-9) * step; x <= b+1e-9*step; x += step {
		out = append(out, x)
	}
	return out
}

// svg returns the picture.
func (p *picture) svg() string {
	var b strings.Builder
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" role="img" font-family="sans-serif" font-size="11" fill="#1b1b1b">`+"\n", pictureW, pictureH)
	fmt.Fprintf(&b, "<title>%s</title>\n<rect width=\"100%%\" height=\"100%%\" fill=\"#ffffff\"/>\n<text x=\"%.0f\" y=\"18\" font-size=\"13\">%s</text>\n", escape(p.title), left, escape(p.title))
	for _, x := range ticks(p.x0, p.x1) {
		px, py := p.at(x, p.y0)
		fmt.Fprintf(&b, `<path d="M%.1f %.1fv4" stroke="#1b1b1b"/><text x="%.1f" y="%.1f" text-anchor="middle">%s</text>`+"\n", px, py, px, py+16, short(math.Round(x*1e9)/1e9))
	}
	for _, y := range ticks(p.y0, p.y1) {
		px, py := p.at(p.x0, y)
		if p.y != "" {
			fmt.Fprintf(&b, `<path d="M%.1f %.1fH%.0f" stroke="#dddddd"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`+"\n", px, py, pictureW-right, px-5, py+4, short(math.Round(y*1e9)/1e9))
		}
	}
	x0, y0 := p.at(p.x0, p.y0)
	_, y1 := p.at(p.x0, p.y1)
	fmt.Fprintf(&b, `<path d="M%.1f %.1fV%.1fH%.1f" fill="none" stroke="#1b1b1b"/>`+"\n", x0, y1, y0, pictureW-right)
	fmt.Fprintf(&b, `<text x="%.0f" y="%.0f" text-anchor="middle">%s</text>`+"\n", (left+pictureW-right)/2, pictureH-8, escape(p.x))
	fmt.Fprintf(&b, `<text x="14" y="%.0f" text-anchor="middle" transform="rotate(-90 14 %.0f)">%s</text>`+"\n", pictureH/2, pictureH/2, escape(p.y))
	b.WriteString(p.body.String())
	b.WriteString(p.legend.String())
	b.WriteString("</svg>\n")
	return b.String()
}
