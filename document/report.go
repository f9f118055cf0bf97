package document

import (
	"io"
	"time"
)

// Report is sentences and tables on as many A4 pages as they need, with a head
// and the page's number on each.
type Report struct {
	Head     string // small, on every page: whose it is and as of when
	Title    string
	Lead     []string
	Sections []Section
	Page     func(n int) string // said at the foot
	Made     time.Time
	Progress func(done, of int) // told after each section; nil: nobody
}

// Section is a part of a report: sentences, then a table where it has columns.
type Section struct {
	Title   string
	Text    []string
	Columns []Column
	Rows    [][]string
}

// Column is one of a table: its heading and its share of the width.
type Column struct {
	Head  string
	Share float64 // of the width, against the other columns [1]
}

const reportFoot = marginY + 6

// PDF writes the report.
func (r *Report) PDF(w io.Writer) error {
	p := newPaper(r.Title, r.Made, 1)
	r.top(p)
	p.pen(17, true)
	p.gap(p.at(marginX, paperW-2*marginX, 17, "L", r.Title) + 1)
	p.pen(10, false)
	for _, l := range r.Lead {
		p.gap(p.at(marginX, paperW-2*marginX, 10, "L", l) + 1)
	}
	for i := range r.Sections {
		r.section(p, &r.Sections[i])
		if r.Progress != nil {
			r.Progress(i+1, len(r.Sections))
		}
	}
	r.foot(p)
	return p.write(w)
}

func (r *Report) top(p *paper) {
	p.SetY(marginY)
	p.pen(8.5, false)
	p.gap(p.at(marginX, paperW-2*marginX, 8.5, "L", r.Head) + 1)
	p.rule(0.25)
	p.gap(2)
}

func (r *Report) foot(p *paper) {
	p.SetY(paperH - marginY)
	p.pen(8.5, false)
	text := ""
	if r.Page != nil {
		text = r.Page(p.PageNo())
	}
	p.at(marginX, paperW-2*marginX, 8.5, "R", text)
}

// need begins a new page where less than mm is left; it reports whether it did.
func (r *Report) need(p *paper, mm float64) bool {
	if paperH-reportFoot-p.GetY() >= mm {
		return false
	}
	r.foot(p)
	p.AddPage()
	r.top(p)
	return true
}

func (r *Report) section(p *paper, s *Section) {
	const body, small = 9.5, 8.5
	r.need(p, 24)
	p.gap(3)
	p.pen(12.5, true)
	p.gap(p.at(marginX, paperW-2*marginX, 12.5, "L", s.Title) + 1)
	p.pen(body, false)
	for _, t := range s.Text {
		p.pen(body, false)
		r.need(p, p.high(paperW-2*marginX, body, t))
		p.pen(body, false)
		p.gap(p.at(marginX, paperW-2*marginX, body, "L", t) + 1)
	}
	if len(s.Columns) == 0 {
		return
	}
	sum := 0.0
	for _, c := range s.Columns {
		sum += c.Share
	}
	const between = 2.0
	wide := make([]float64, len(s.Columns))
	for i, c := range s.Columns {
		wide[i] = (paperW - 2*marginX) * c.Share / sum
	}
	row := func(cells []string, bold bool) {
		p.pen(small, bold)
		high := 0.0
		for i, c := range cells {
			high = max(high, p.high(wide[i]-between, small, c))
		}
		x := marginX
		p.pen(small, bold)
		for i, c := range cells {
			p.at(x, wide[i]-between, small, "L", c)
			x += wide[i]
		}
		p.gap(high + 0.7)
		p.rule(map[bool]float64{true: 0.4, false: 0.1}[bold])
		p.gap(0.6)
	}
	heads := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		heads[i] = c.Head
	}
	r.need(p, 16)
	row(heads, true)
	for _, cells := range s.Rows {
		p.pen(small, false)
		high := 0.0
		for i, c := range cells {
			high = max(high, p.high(wide[i]-between, small, c))
		}
		if r.need(p, min(high+2, paperH-2*marginY-30)) {
			row(heads, true)
		}
		row(cells, false)
	}
}
