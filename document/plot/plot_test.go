package plot

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// wellFormed fails unless svg can be read as XML.
func wellFormed(t interface{ Fatalf(string, ...any) }, svg string) {
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		if _, err := d.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("drawing is no XML: %v\n%s", err, svg)
		}
	}
}

// A known drawing: the foot is at 0, the top tick at 10, so a value of 5 lies
// half way. Worked by hand: the plot is 100 high between 10 and 22 from the
// edges, and 5 % of room above 10.
func TestLinesPlace(t *testing.T) {
	svg := Lines{Says: "two", Width: 156, Height: 132, Zero: true, Lines: []Line{{"a", []float64{0, 5, 10}}, {"b", []float64{math.NaN(), 5, math.NaN()}}}}.SVG()
	wellFormed(t, svg)
	for _, want := range []string{`class="line l0" d="M46,110L96,62.4L146,14.8"`, `class="line l1" d="M96,62.4"`, `aria-label="two"`} {
		if !strings.Contains(svg, want) {
			t.Errorf("%s is missing in %s", want, svg)
		}
	}
}

func TestBarsPlace(t *testing.T) {
	svg := Bars{Says: "x", Width: 156, Height: 132, Groups: []string{"Jan"}, Kinds: []Kind{{"a", []Bar{{5, 0, 10}}}, {"b", []Bar{{-5, -10, 0}}}}}.SVG()
	wellFormed(t, svg)
	// From −11 to 11 over 100, 5 % of the span of 20 added at both ends: zero lies in the middle.
	zero := 10 + 100*11.0/22
	for _, want := range []string{`class="column c0" x="57.5" y="` + f(zero-100*5/22.0) + `"`, `class="column c1" x="96.5" y="` + f(zero) + `"`} {
		if !strings.Contains(svg, want) {
			t.Errorf("%s is missing in %s", want, svg)
		}
	}
}

func f(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

var coordinate = regexp.MustCompile(`(?:x|y|x1|x2|y1|y2)="(-?[\d.]+)"`)

// Whatever goes in, the drawing is well-formed and stays in its frame.
func TestAnyNumbersDraw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)), rapid.Just(0.0))
		word := rapid.String().Draw(t, "word")
		if strings.ContainsFunc(word, func(r rune) bool { return r < ' ' || r == 0xFFFE || r == 0xFFFF || r == 0xFFFD }) {
			word = `<b>&"'`
		}
		n := rapid.IntRange(0, 5).Draw(t, "steps")
		var lines Lines
		bars := Bars{Width: 300, Height: 200, Says: word}
		lines = Lines{Width: 300, Height: 200, Says: word, Zero: rapid.Bool().Draw(t, "zero"), Label: func(int) string { return word }}
		for range n {
			bars.Groups = append(bars.Groups, word)
		}
		for range rapid.IntRange(0, 3).Draw(t, "many") {
			l, k := Line{Name: word}, Kind{Name: word}
			for range n {
				l.Y = append(l.Y, value.Draw(t, "y"))
				k.Bars = append(k.Bars, Bar{value.Draw(t, "mid"), value.Draw(t, "low"), value.Draw(t, "high")})
			}
			lines.Lines, bars.Kinds = append(lines.Lines, l), append(bars.Kinds, k)
		}
		for _, svg := range []string{lines.SVG(), bars.SVG()} {
			wellFormed(t, svg)
			for _, m := range coordinate.FindAllStringSubmatch(svg, -1) {
				if x, err := strconv.ParseFloat(m[1], 64); err != nil || x < -1 || x > 301 {
					t.Fatalf("%s lies outside in %s", m[0], svg)
				}
			}
		}
	})
}

func TestTicks(t *testing.T) {
	for _, r := range []struct {
		low, high float64
		want      string
	}{{0, 10, "0 2 4 6 8 10"}, {0, 1, "0.0 0.2 0.4 0.6 0.8 1.0"}, {-3, 7, "-2 0 2 4 6"}, {950, 1040, "960 980 1000 1020 1040"}} {
		ticks, step := nice(r.low, r.high, 5)
		var got []string
		for _, x := range ticks {
			got = append(got, number(x, step))
		}
		if strings.Join(got, " ") != r.want {
			t.Errorf("between %g and %g: %v, want %s (steps of 1, 2 or 5, at most five)", r.low, r.high, got, r.want)
		}
	}
}
