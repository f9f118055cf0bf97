package document

import (
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	qr "github.com/piglig/go-qr"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// LabelSize is a common size of a label.
type LabelSize struct {
	Key        string  // as it is asked for, millimetres across by high
	WMM, HMM   float64 // width and height [mm]
	FromLetter bool    // in inches, of US letter sheets
}

// LabelSizes are the sizes that labels are printed in: what A4 and US letter
// sheets of 8, 14 and 24, rolls of 62 mm and cards hold. Common practice, no
// source.
var LabelSizes = []LabelSize{
	{"99x68", 99.1, 67.7, false}, {"105x148", 105, 148, false}, {"62x100", 62, 100, false}, {"70x37", 70, 37, false},
	{"102x51", 101.6, 50.8, true}, {"102x76", 101.6, 76.2, true},
}

// Label is what stands on a pack.
type Label struct {
	Size      LabelSize
	Name      string
	Warn      string      // where the lot may not be passed on
	Rows      [][2]string // lot, dates, weight, keeping, portion
	PanelHead string
	Panel     [][2]string
	PanelNote string
	Care      []string
	Blanks    []string // words before an empty line
	Code      string   // what the QR code says
	Page      func(n, of int) string
	Made      time.Time
}

// Letters on food are 1.2 mm high at the x, and on packs whose largest side is
// under 80 cm² 0.9 mm: Regulation (EU) No 1169/2011, article 13(2) and (3). The
// x of the Go font is 0.53 of its size, so that these are 6.4 and 4.9 pt.
const (
	smallestPt = 6.4
	smallSide  = 8000.0 // [mm²]
	tinyPt     = 4.9
)

const labelMargin = 3.0 // [mm]

// PDF writes the label on a page of its size, in the largest letters that fit;
// where the smallest do not fit, the panel, the cautions and the blanks
// stand on further ones.
func (l *Label) PDF(w io.Writer) error {
	code, err := qr.EncodeText(l.Code, qr.Medium)
	if err != nil {
		return err
	}
	least := smallestPt
	if l.Size.WMM*l.Size.HMM < smallSide {
		least = tinyPt
	}
	// Tried out on one paper, written on another: reading the fonts takes longest.
	trial := newLabel(l, least)
	const most = 4
	for pages := 1; pages <= most; pages++ {
		for size := 8.5; size >= least-0.01; size -= 0.3 {
			trial.size = size
			trial.next()
			trial.over = false
			if l.draw(trial, code, pages); !trial.over {
				p := newLabel(l, size)
				l.draw(p, code, pages)
				return p.write(w)
			}
		}
	}
	p := newLabel(l, least)
	l.draw(p, code, most)
	return p.write(w)
}

// labelPaper is a label in the making.
type labelPaper struct {
	*paper
	size, bottom float64 // letters [pt], where the label ends [mm]
	wide         float64 // room across [mm]
}

func newLabel(l *Label, size float64) *labelPaper {
	p := &paper{Fpdf: fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: l.Size.WMM, Ht: l.Size.HMM}}), scale: 1}
	p.SetMargins(labelMargin, labelMargin, labelMargin)
	p.SetAutoPageBreak(false, labelMargin)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetTitle(l.Name, true)
	p.SetProducer("Sodalake", true)
	p.SetCreationDate(l.Made)
	p.SetModificationDate(l.Made)
	p.SetCatalogSort(true)
	p.SetDrawColor(0, 0, 0)
	p.SetTextColor(0, 0, 0)
	p.AddPage()
	p.SetY(labelMargin)
	return &labelPaper{paper: p, size: size, bottom: l.Size.HMM - labelMargin, wide: l.Size.WMM - 2*labelMargin}
}

// text writes words in lines across the label.
func (p *labelPaper) text(width, times float64, bold bool, words string) {
	p.pen(p.size*times, bold)
	p.gap(p.at(labelMargin, width, p.size*times, "L", words))
	p.over = p.over || p.GetY() > p.bottom
}

func (p *labelPaper) next() {
	p.over = p.over || p.GetY() > p.bottom
	p.AddPage()
	p.SetY(labelMargin)
}

// draw puts all on so many pages: on the first what no pack goes without, then
// the panel, then cautions and blanks.
func (l *Label) draw(p *labelPaper, code *qr.QrCode, pages int) {
	mark := func(n int) {
		if pages > 1 && l.Page != nil {
			p.text(p.wide, 0.8, false, l.Page(n, pages))
		}
	}
	side := min(24, l.Size.HMM*0.42) // a module of a code of version 3 is then over half a millimetre
	drawCode(p.paper, code, l.Size.WMM-labelMargin-side, labelMargin, side)
	beside := p.wide - side - 2
	p.text(beside, 1.35, true, l.Name)
	if l.Warn != "" {
		p.gap(0.6)
		p.text(beside, 1.1, true, l.Warn)
		p.gap(0.4)
	}
	first := 0.0
	p.pen(p.size, true)
	for _, r := range l.Rows {
		first = max(first, p.GetStringWidth(r[0]))
	}
	for _, r := range l.Rows {
		width := beside
		if p.GetY() > labelMargin+side {
			width = p.wide
		}
		p.pen(p.size, true)
		p.at(labelMargin, first+1, p.size, "L", r[0])
		p.pen(p.size, false)
		p.gap(p.at(labelMargin+first+1.5, width-first-1.5, p.size, "L", r[1]))
		p.over = p.over || p.GetY() > p.bottom
	}
	p.SetY(max(p.GetY(), labelMargin+side) + 0.8)
	mark(1)
	if pages > 1 {
		p.next()
	}
	l.panel(p)
	if pages > 2 {
		mark(2)
		p.next()
	}
	for _, c := range l.Care {
		p.text(p.wide, 1, false, c)
	}
	if pages > 3 {
		mark(3)
		p.next()
	}
	p.gap(0.6)
	for _, b := range l.Blanks {
		p.pen(p.size, false)
		text := b + ":"
		p.at(labelMargin, p.wide, p.size, "L", text)
		x := labelMargin + p.GetStringWidth(text) + 1
		p.gap(p.line(p.size) * 1.25)
		p.SetLineWidth(0.15)
		p.Line(x, p.GetY()-0.8, labelMargin+p.wide, p.GetY()-0.8)
		p.over = p.over || p.GetY() > p.bottom
	}
	mark(pages)
}

func (l *Label) panel(p *labelPaper) {
	if len(l.Panel) > 0 {
		p.text(p.wide, 1, true, l.PanelHead)
		p.SetLineWidth(0.3)
		p.Line(labelMargin, p.GetY()+0.2, labelMargin+p.wide, p.GetY()+0.2)
		p.gap(0.5)
		// Two columns side by side save height.
		half := (len(l.Panel) + 1) / 2
		wide := (p.wide - 3) / 2
		top := p.GetY()
		p.pen(p.size, false)
		for i, r := range l.Panel {
			x, y := labelMargin, top+float64(i%half)*p.line(p.size)
			if i >= half {
				x += wide + 3
			}
			p.SetY(y)
			p.at(x, wide, p.size, "L", r[0])
			p.at(x, wide, p.size, "R", r[1])
		}
		p.SetY(top + float64(half)*p.line(p.size))
		p.Line(labelMargin, p.GetY()+0.2, labelMargin+p.wide, p.GetY()+0.2)
		p.gap(0.6)
	}
	if l.PanelNote != "" {
		p.text(p.wide, 0.9, false, l.PanelNote)
		p.gap(0.6)
	}
}

// drawCode draws a QR code with its quiet zone of four modules (ISO/IEC 18004,
// from memory) within a square of side [mm].
func drawCode(p *paper, code *qr.QrCode, x, y, side float64) {
	const quiet = 4
	n := code.Size()
	step := side / float64(n+2*quiet)
	p.SetFillColor(0, 0, 0)
	for r := range n {
		for c := 0; c < n; c++ {
			if !code.Module(c, r) {
				continue
			}
			end := c
			for end+1 < n && code.Module(end+1, r) {
				end++
			}
			p.Rect(x+float64(c+quiet)*step, y+float64(r+quiet)*step, float64(end-c+1)*step, step*1.01, "F")
			c = end
		}
	}
}
