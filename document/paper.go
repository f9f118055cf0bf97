package document

import (
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// A4 by ISO 216 [mm], with margins that every printer keeps [mm].
const (
	paperW, paperH   = 210.0, 297.0
	marginX, marginY = 15.0, 14.0
)

// letters are what the fonts lack, and what is printed in its place.
var letters = strings.NewReplacer("⅓", "\u00a01/3", "⅔", "\u00a02/3", "\u202f", "\u00a0", "☐", "[ ]", "✓", "x")

// paper is a PDF in the making. Everything on it is black on white.
type paper struct {
	*fpdf.Fpdf
	scale float64 // of letters and of the gaps between lines [1]
	over  bool    // something ran over the foot of a page
}

// newPaper begins a document. made is the moment that stands in its description,
// so that the same sheet at the same moment has the same bytes.
func newPaper(title string, made time.Time, scale float64) *paper {
	p := &paper{Fpdf: fpdf.New("P", "mm", "A4", ""), scale: scale}
	p.SetMargins(marginX, marginY, marginX)
	p.SetAutoPageBreak(false, marginY)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.SetTitle(title, true)
	p.SetProducer("Sodalake", true)
	p.SetCreationDate(made)
	p.SetModificationDate(made)
	p.SetCatalogSort(true)
	p.SetDrawColor(0, 0, 0)
	p.SetTextColor(0, 0, 0)
	p.AddPage()
	return p
}

// pen chooses letters of a size [pt], bold or not.
func (p *paper) pen(size float64, bold bool) {
	style := ""
	if bold {
		style = "B"
	}
	p.SetFont("go", style, size*p.scale)
}

// line is the height of a line of letters of a size [pt, mm].
func (p *paper) line(size float64) float64 { return size * p.scale * 0.3528 * 1.3 } // a point is 0.3528 mm

// gap is white space [mm].
func (p *paper) gap(mm float64) { p.SetY(p.GetY() + mm*p.scale) }

// rule draws a line over the whole width, wide millimetres thick, at the present
// height.
func (p *paper) rule(wide float64) {
	p.SetLineWidth(wide)
	p.Line(marginX, p.GetY(), paperW-marginX, p.GetY())
}

// at writes words from x on, width wide, in as many lines as they need, and
// returns the height that they took [mm]. It leaves the present height as it
// was.
func (p *paper) at(x, width, size float64, align, words string) float64 {
	y := p.GetY()
	p.SetXY(x, y)
	p.SetCellMargin(0)
	p.MultiCell(width, p.line(size), letters.Replace(words), "", align, false)
	high := p.GetY() - y
	p.SetY(y)
	return high
}

// high is the height that words need [mm].
func (p *paper) high(width, size float64, words string) float64 {
	if words == "" {
		return 0
	}
	p.SetCellMargin(0)
	return float64(len(p.SplitText(letters.Replace(words), width))) * p.line(size)
}

// left is how much room the page still has [mm].
func (p *paper) left() float64 { return paperH - marginY - p.GetY() }

// write sends the document.
func (p *paper) write(w io.Writer) error { return p.Output(w) }
