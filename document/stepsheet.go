package document

import (
	"io"
	"time"
)

// StepSheet is a sheet of steps to tick: what it is, sections with notes, boxes
// and lines to write on, what to take care of, and lines to sign.
type StepSheet struct {
	Head     string // one line above: what the paper is, of which farm, of which day
	Title    string
	Lead     string
	Large    float64 // how much larger than usual the letters are, to be read from a wall [1]; 0: not
	Sections []StepSection

	CareTitle string
	Care      []string
	Signs     [3]string // empty: none
	Foot      string    // small print under all
	Made      time.Time
}

// StepSection is a part of a sheet.
type StepSection struct {
	Title string
	Facts [][2]string // names with their values
	Notes []string    // sentences
	Steps []string    // with a box to tick
	After []string    // sentences under the steps
	Lines []string    // words before a line to write on
}

// PDF writes the sheet on A4, on one page where it can be read there, else on as
// many as it needs.
func (s *StepSheet) PDF(w io.Writer) error { return sheetsPDF(w, s.Title, s.Made, []*StepSheet{s}) }

// StepSheets writes several sheets into one document, each on a page of its own.
func StepSheets(w io.Writer, title string, made time.Time, sheets []*StepSheet) error {
	return sheetsPDF(w, title, made, sheets)
}

func sheetsPDF(w io.Writer, title string, made time.Time, sheets []*StepSheet) error {
	for _, pages := range []int{len(sheets), 99} {
		for i, scale := range scales {
			p := newPaper(title, made, scale)
			for k, s := range sheets {
				if k > 0 {
					p.AddPage()
				}
				s.draw(p)
			}
			if last := i == len(scales)-1; p.PageCount() <= pages && !p.over || pages > len(sheets) && last {
				return p.write(w)
			}
		}
	}
	return nil // never: the last of the last is taken as it is
}

// Sizes of letters [pt].
func (s *StepSheet) size(pt float64) float64 {
	if s.Large > 0 {
		return pt * s.Large
	}
	return pt
}

func (s *StepSheet) draw(p *paper) {
	p.SetY(marginY)
	p.pen(9.5, false)
	p.gap(p.at(marginX, paperW-2*marginX, 9.5, "L", s.Head)/p.scale + 3)
	p.double()
	p.pen(s.size(17), true)
	p.gap(p.at(marginX, paperW-2*marginX, s.size(17), "L", s.Title) / p.scale)
	if s.Lead != "" {
		p.pen(s.size(10), false)
		p.gap(p.at(marginX, paperW-2*marginX, s.size(10), "L", s.Lead) / p.scale)
	}
	for i := range s.Sections {
		s.section(p, &s.Sections[i])
	}
	care := MixSheet{CareTitle: s.CareTitle, Care: s.Care, Signs: s.Signs}
	care.care(p)
	if s.Signs[0] != "" {
		care.sign(p)
		p.gap(6)
	}
	if s.Foot != "" {
		p.pen(8, false)
		p.room(p.high(paperW-2*marginX, 8, s.Foot))
		p.gap(2)
		p.gap(p.at(marginX, paperW-2*marginX, 8, "L", s.Foot) / p.scale)
	}
}

func (s *StepSheet) section(p *paper, x *StepSection) {
	title, body := s.size(12), s.size(10)
	p.room(26 * p.scale)
	p.gap(4.5)
	p.rule(0.5)
	p.gap(1.2)
	p.pen(title, true)
	p.gap(p.at(marginX, paperW-2*marginX, title, "L", x.Title)/p.scale + 0.8)
	for _, f := range x.Facts {
		s.fact(p, f, body)
	}
	for _, n := range x.Notes {
		s.words(p, n, body)
	}
	for _, t := range x.Steps {
		s.step(p, t, body)
	}
	for _, n := range x.After {
		s.words(p, n, body)
	}
	for _, l := range x.Lines {
		p.room(14 * p.scale)
		p.gap(7)
		p.pen(9, false)
		p.at(marginX, paperW-2*marginX, 9, "L", l)
		wide := min(p.GetStringWidth(letters.Replace(l))+3, 110)
		p.SetLineWidth(0.25)
		y := p.GetY() + p.line(9)
		p.Line(marginX+wide, y, paperW-marginX, y)
		p.gap(p.line(9) / p.scale)
	}
}

// fact is a name with its value, the value in bold.
func (s *StepSheet) fact(p *paper, f [2]string, size float64) {
	const wide = paperW - 2*marginX - 62
	p.pen(size, true)
	high := max(p.high(wide, size, f[1]), p.line(size))
	p.room(high)
	p.at(marginX+62, wide, size, "L", f[1])
	p.pen(size, false)
	high = max(high, p.at(marginX, 58, size, "L", f[0]))
	p.gap(high/p.scale + 0.6)
}

func (s *StepSheet) words(p *paper, text string, size float64) {
	p.pen(size, false)
	p.room(p.high(paperW-2*marginX, size, text))
	p.gap(p.at(marginX, paperW-2*marginX, size, "L", text)/p.scale + 0.8)
}

// step is a sentence with a box before it.
func (s *StepSheet) step(p *paper, text string, size float64) {
	const indent = 8.0
	p.pen(size, true)
	side := s.size(4.2) * p.scale
	in := max(indent, side+3)
	p.room(p.high(paperW-2*marginX-in, size, text) + 1)
	p.SetLineWidth(0.4)
	p.Rect(marginX, p.GetY()+(p.line(size)-side)/2, side, side, "D")
	p.gap(p.at(marginX+in, paperW-2*marginX-in, size, "L", text)/p.scale + 1.6)
	p.over = p.over || p.left() < -1
}
