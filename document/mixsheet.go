package document

import (
	"io"
	"time"
)

// MixSheet is a mixing sheet: what is weighed, in which order, with boxes to
// tick, a column for what was weighed in fact, the lots, what comes of it, what
// to take care of, and lines to sign.
type MixSheet struct {
	Head      string    // one line above: what the paper is, of which farm, of which day
	Title     string    // "200 L of house medium"
	Lead      string    // the sentence under it
	Columns   [5]string // weigh, salt, weighed, lot, in
	Stages    []MixStage
	GetsTitle string
	Gets      []MixGet
	CareTitle string
	Care      []string
	Signs     [3]string // by whom, when, into what
	Made      time.Time // when it was made
}

// MixStage is one step of mixing.
type MixStage struct {
	Number string
	Text   string
	Rows   []MixRow
}

// MixRow is one thing to weigh, or water to measure.
type MixRow struct {
	Amount, Unit string
	Name, Small  string
	Lot          string
}

// MixGet is one thing that comes of it.
type MixGet struct{ Name, Value, Unit, Spread string }

// Columns of the sheet: where they begin [mm].
const (
	colName    = marginX + 26.0
	colWeighed = 117.0
	colLot     = 149.0
	colBox     = paperW - marginX - 8
)

// scales are tried from the first on until the sheet stands on one page.
var scales = []float64{1, 0.94, 0.88, 0.82, 0.76, 0.7}

// PDF writes the sheet on A4: one page where all of it fits in letters that can
// be read at arm's length, else what to take care of stands on the next.
func (s *MixSheet) PDF(w io.Writer) error {
	for _, pages := range []int{1, 9} {
		for i, scale := range scales {
			p := newPaper(s.Title, s.Made, scale)
			s.draw(p)
			if last := i == len(scales)-1; p.PageCount() <= pages && !p.over || pages > 1 && last {
				return p.write(w)
			}
		}
	}
	return nil // never: the last of the last is taken as it is
}

func (s *MixSheet) draw(p *paper) {
	p.SetY(marginY)
	p.pen(9.5, false)
	p.gap(p.at(marginX, paperW-2*marginX, 9.5, "L", s.Head)/p.scale + 3)
	p.double()
	p.pen(17, true)
	p.gap(p.at(marginX, paperW-2*marginX, 17, "L", s.Title) / p.scale)
	p.pen(10, false)
	p.gap(p.at(marginX, paperW-2*marginX, 10, "L", s.Lead)/p.scale + 2)
	p.pen(9, true)
	p.at(marginX, 22, 9, "R", s.Columns[0])
	p.at(colName+2, 60, 9, "L", s.Columns[1])
	p.at(colWeighed+2, 30, 9, "L", s.Columns[2])
	p.at(colLot+2, 30, 9, "L", s.Columns[3])
	p.at(colBox-12, 20, 9, "R", s.Columns[4])
	p.gap(p.line(9)/p.scale + 0.5)
	p.rule(0.2)
	for i := range s.Stages {
		s.stage(p, &s.Stages[i])
	}
	p.rule(0.5)
	s.gets(p)
	s.care(p)
	s.sign(p)
}

// double is the rule at the head of a section.
func (p *paper) double() {
	p.rule(1.1)
	p.SetY(p.GetY() + 1.1)
	p.rule(0.25)
	p.gap(1.4)
}

// room begins a new page where less than mm is left.
func (p *paper) room(mm float64) {
	if p.left() < mm {
		p.AddPage()
		p.SetY(marginY)
	}
}

func (s *MixSheet) stage(p *paper, st *MixStage) {
	text := st.Number + ". " + st.Text
	p.pen(10, true)
	p.room(p.high(paperW-2*marginX, 10, text) + 14*p.scale)
	p.gap(2.2)
	p.gap(p.at(marginX, paperW-2*marginX, 10, "L", text)/p.scale + 0.8)
	p.rule(0.25)
	for i := range st.Rows {
		s.row(p, &st.Rows[i])
	}
}

func (s *MixSheet) row(p *paper, r *MixRow) {
	const wide = colWeighed - colName - 4
	p.pen(10.5, true)
	name := p.high(wide, 10.5, r.Name)
	p.pen(9, false)
	small := p.high(wide, 9, r.Small)
	high := max(name+small+1.6*p.scale, 9*p.scale)
	p.room(high)
	top := p.GetY()
	p.SetY(top + (high-p.line(15))/2)
	p.pen(9.5, true)
	unit := p.GetStringWidth(letters.Replace(r.Unit))
	p.SetY(p.GetY() + 0.9*p.scale)
	p.at(marginX+22-unit, unit+1, 9.5, "L", r.Unit)
	p.SetY(p.GetY() - 0.9*p.scale)
	p.pen(15, true)
	p.at(marginX, 22-unit-1.2, 15, "R", r.Amount)
	p.SetY(top + (high-name-small)/2)
	p.pen(10.5, true)
	p.at(colName+2, wide, 10.5, "L", r.Name)
	p.SetY(p.GetY() + name)
	p.pen(9, false)
	if r.Small != "" {
		p.at(colName+2, wide, 9, "L", r.Small)
	}
	p.SetY(top + (high-p.line(9.5))/2)
	p.pen(9.5, false)
	p.at(colLot+2, colBox-colLot-4, 9.5, "L", r.Lot)
	p.SetLineWidth(0.2)
	for _, x := range []float64{colName, colWeighed, colLot} {
		p.Line(x, top, x, top+high)
	}
	side := min(7.5*p.scale, high-1)
	p.SetLineWidth(0.5)
	p.Rect(colBox+8-side, top+(high-side)/2, side, side, "D")
	p.SetY(top + high)
	p.rule(0.15)
}

func (s *MixSheet) gets(p *paper) {
	if len(s.Gets) == 0 {
		return
	}
	p.room(38 * p.scale)
	p.gap(5)
	p.double()
	p.pen(14, true)
	p.gap(p.at(marginX, 150, 14, "L", s.GetsTitle)/p.scale + 1.5)
	wide := (paperW - 2*marginX) / float64(min(len(s.Gets), 3))
	for at := 0; at < len(s.Gets); at += 3 {
		row := s.Gets[at:min(at+3, len(s.Gets))]
		top, high := p.GetY(), 0.0
		for i, g := range row {
			x := marginX + float64(i)*wide
			if i > 0 {
				x += 3
			}
			p.SetY(top)
			p.pen(9, true)
			y := p.at(x, wide-4, 9, "L", g.Name)
			p.SetY(top + y)
			p.pen(15, true)
			p.at(x, wide-4, 15, "L", g.Value)
			w := p.GetStringWidth(letters.Replace(g.Value))
			p.SetY(p.GetY() + 1*p.scale)
			p.pen(9.5, true)
			p.at(x+w+1.5, wide-w-5, 9.5, "L", g.Unit)
			p.SetY(p.GetY() - 1*p.scale + p.line(15))
			p.pen(9, false)
			y += p.line(15) + p.at(x, wide-4, 9, "L", g.Spread)
			high = max(high, y)
		}
		p.SetLineWidth(0.2)
		for i := 1; i < len(row); i++ {
			p.Line(marginX+float64(i)*wide, top, marginX+float64(i)*wide, top+high)
		}
		p.SetY(top + high)
		p.gap(1.5)
	}
	p.rule(0.5)
}

// care is the box; it is not cut in two.
func (s *MixSheet) care(p *paper) {
	if len(s.Care) == 0 {
		return
	}
	const size = 8.5
	wide := paperW - 2*marginX - 8
	p.pen(size, false)
	high := 3*p.scale + p.line(10) + 2*p.scale
	for _, c := range s.Care {
		high += p.high(wide-4, size, c) + 0.6*p.scale
	}
	p.gap(4)
	p.room(high + 22*p.scale)
	top := p.GetY()
	p.gap(2)
	p.pen(10, true)
	p.gap(p.at(marginX+4, wide, 10, "L", s.CareTitle)/p.scale + 0.8)
	p.pen(size, false)
	for _, c := range s.Care {
		p.at(marginX+4, 4, size, "L", "–")
		p.gap(p.at(marginX+8, wide-4, size, "L", c)/p.scale + 0.6)
	}
	p.gap(1.2)
	p.over = p.over || p.left() < 0
	p.SetLineWidth(0.5)
	p.Rect(marginX, top, paperW-2*marginX, p.GetY()-top, "D")
}

func (s *MixSheet) sign(p *paper) {
	p.room(20 * p.scale)
	p.gap(13)
	const between = 8.0
	wide := (paperW - 2*marginX - 2*between) / 3
	p.SetLineWidth(0.25)
	p.pen(8.5, false)
	for i, text := range s.Signs {
		x := marginX + float64(i)*(wide+between)
		p.Line(x, p.GetY(), x+wide, p.GetY())
		p.SetY(p.GetY() + 0.8)
		p.at(x, wide, 8.5, "L", text)
		p.SetY(p.GetY() - 0.8)
	}
}
