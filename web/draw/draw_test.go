package draw

import (
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/science/num"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

var day0 = time.Date(2026, 5, 14, 8, 0, 0, 0, time.UTC)

func columns() map[string]Column {
	disc := &num.Band{Low: 2.4, Mid: 2.7, High: 3.0}
	base := Column{ID: "a", Shape: Pond, Level: 16, Full: 18, Known: true, Grams: .48, Disc: disc, Says: "a pond",
		Labels: Labels{Level: "16.0 cm", Disc: "2.7 cm", Spread: "2.4–3.0", Floor: "16.0 floor", Dark: "5.3 dark"}}
	out := map[string]Column{}
	for _, s := range []Shape{Pond, Tank, Raceway, Lying, Bottle, Bottles} {
		c := base
		c.Shape, c.Count = s, 5
		out[string(s)] = c
	}
	stale := base
	stale.Stale = true
	out["stale"] = stale
	empty := base
	empty.Known, empty.Disc = false, nil
	out["empty"] = empty
	return out
}

func fan() Fan {
	c := Fan{ID: "f", Says: "density", Width: 328, Height: 252, From: day0.Add(-72 * time.Hour), Now: day0, To: day0.Add(72 * time.Hour), Lane: true,
		Limits: []float64{.6}, Unit: "g/L", NowWord: "now", Day: func(t time.Time) string { return t.Format("Mon 2") },
		Number: func(x, _ float64) string { return strconv.FormatFloat(x, 'f', 1, 64) }}
	for h := -72; h <= 72; h += 3 {
		x := .5 + .002*float64(h) + .01*math.Sin(float64(h)/24*2*math.Pi)
		w := .04 + .0005*math.Max(float64(h), 0)
		b := num.Band{Low: x - w, Mid: x, High: x + w}
		part := &c.Past
		if h > 0 {
			part = &c.Ahead
		}
		part.Times, part.Bands = append(part.Times, day0.Add(time.Duration(h)*time.Hour)), append(part.Bands, b)
	}
	c.Dots = []Dot{{At: day0.Add(-50 * time.Hour), Value: .42, Low: .39, High: .46}, {At: day0.Add(-20 * time.Hour), Value: .3, Doubted: true}}
	c.Acts = []Act{{At: day0.Add(-40 * time.Hour)}, {At: day0.Add(-30 * time.Hour), Salts: true}, {At: day0.Add(-10 * time.Hour), Out: true, Label: "340 L"}}
	c.Ready = &Window{Early: day0.Add(20 * time.Hour), Mid: day0.Add(50 * time.Hour), Limit: .6, Label: "ready Sat 16"}
	c.Points = []time.Time{day0.Add(-24 * time.Hour), day0, day0.Add(48 * time.Hour)}
	return c
}

// stand is a medium that reads 8 and climbs towards 9.5.
func stand() Stand {
	c := Stand{Says: "pH while it stands", Width: 328, Height: 130, Days: 7, Limit: 9, Day: func(n int) string { return fmt.Sprintf("day %d", n) },
		Number: func(x, _ float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }}
	for _, d := range []float64{0, .25, .5, 1, 2, 3, 5, 10} {
		y := 9.5 - 1.5*math.Exp(-d/3)
		c.Points = append(c.Points, StandPoint{d, num.Band{Low: y - .02*d, Mid: y, High: y + .02*d}})
	}
	return c
}

// The curve of a standing water ends at the frame, whatever days follow, and the
// limit stands on the chart where it is near.
func TestStand(t *testing.T) {
	got := stand().SVG()
	for _, want := range []string{`class="limit"`, "day 1", "day 3", "day 5", `>9<`, `class="band"`} {
		if !strings.Contains(got, want) {
			t.Errorf("the chart lacks %s", want)
		}
	}
	far := stand()
	far.Limit = 13
	if strings.Contains(far.SVG(), `class="limit"`) {
		t.Error("a limit that lies far away is drawn")
	}
	for _, m := range regexp.MustCompile(`[ML ](-?[0-9.]+),(-?[0-9.]+)`).FindAllStringSubmatch(got, -1) {
		x, _ := strconv.ParseFloat(m[1], 64)
		y, _ := strconv.ParseFloat(m[2], 64)
		if x < 0 || x > 328 || y < 0 || y > 130 {
			t.Errorf("a place at %g,%g lies outside the drawing", x, y)
		}
	}
	if empty := (Stand{Says: "x", Width: 100, Height: 60, Days: 7, Limit: math.NaN()}).SVG(); strings.Contains(empty, "NaN") {
		t.Error("an empty curve draws NaN")
	}
}

func drawings() map[string]string {
	out := map[string]string{}
	for name, c := range columns() {
		out["glyph-"+name], out["large-"+name] = c.Glyph(), c.Large()
	}
	f := fan()
	out["fan"] = f.SVG()
	s := Swings{Fan: f}
	for i := -2; i < 3; i++ {
		s.Days = append(s.Days, Swing{Day: day0.Truncate(24*time.Hour).AddDate(0, 0, i), Low: num.Band{Low: 15, Mid: 16, High: 17}, High: num.Band{Low: 24, Mid: 26, High: 28}})
	}
	out["swings"] = s.SVG()
	out["stand"] = stand().SVG()
	l := Light{Says: "light", Width: 360, Height: 84, From: day0.Add(-4 * time.Hour), To: day0.Add(14 * time.Hour), Now: day0, Due: "harvest", Until: day0.Add(2 * time.Hour)}
	for h := -4; h <= 14; h++ {
		y := 1800 * math.Max(0, math.Sin(float64(h+2)/14*math.Pi))
		l.PAR.Times, l.PAR.Bands = append(l.PAR.Times, day0.Add(time.Duration(h)*time.Hour)), append(l.PAR.Bands, num.Band{Low: .6 * y, Mid: .9 * y, High: y})
	}
	out["light"] = l.SVG()
	return out
}

// The goldens guard against change only; that they look right was seen with
// eyes, in the gallery.
func TestGolden(t *testing.T) {
	for name, got := range drawings() {
		file := filepath.Join("testdata", name+".svg")
		pretty := strings.ReplaceAll(got, "><", ">\n<") + "\n"
		if *update {
			if err := os.WriteFile(file, []byte(pretty), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if string(want) != pretty {
			t.Errorf("%s differs from %s; look at it and run with -update", name, file)
		}
	}
}

// wellFormed reads a drawing as XML and checks that every name it refers to is
// in it, and that no name stands twice.
func wellFormed(svg string) error {
	dec := xml.NewDecoder(strings.NewReader(svg))
	ids := map[string]bool{}
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if el, ok := tok.(xml.StartElement); ok {
			for _, a := range el.Attr {
				if a.Name.Local == "id" {
					if ids[a.Value] {
						return fmt.Errorf("name %q stands twice", a.Value)
					}
					ids[a.Value] = true
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					return fmt.Errorf("%s=%q", a.Name.Local, a.Value)
				}
				if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") {
					return fmt.Errorf("the drawing carries %s", a.Name.Local)
				}
			}
		}
	}
	for _, m := range regexp.MustCompile(`url\(#([^)]+)\)`).FindAllStringSubmatch(svg, -1) {
		if !ids[m[1]] {
			return fmt.Errorf("refers to %q, which is not there", m[1])
		}
	}
	return nil
}

func TestWellFormed(t *testing.T) {
	for name, svg := range drawings() {
		if err := wellFormed(svg); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !strings.Contains(svg, `role="img" aria-label="`) {
			t.Errorf("%s does not say what it shows", name)
		}
	}
}

// Whatever the numbers, the drawing stays one that can be read, with the disc
// between surface and floor.
func TestAnyColumn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		any := rapid.OneOf(rapid.Float64Range(-5, 500), rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), 1e-9, 1e9}))
		c := Column{ID: "x", Shape: rapid.SampledFrom([]Shape{Pond, Tank, Raceway, Lying, Bottle, Bottles, ""}).Draw(t, "shape"),
			Level: any.Draw(t, "level"), Full: any.Draw(t, "full"), Known: rapid.Bool().Draw(t, "known"), Grams: any.Draw(t, "grams"),
			Count: rapid.IntRange(-1, 40).Draw(t, "count"), Says: rapid.SampledFrom([]string{"", `a "pond" <x>`}).Draw(t, "says")}
		if rapid.Bool().Draw(t, "disc") {
			c.Disc = &num.Band{Low: any.Draw(t, "low"), Mid: any.Draw(t, "mid"), High: any.Draw(t, "high")}
		}
		for _, svg := range []string{c.Glyph(), c.Large()} {
			if err := wellFormed(svg); err != nil {
				t.Fatalf("%+v: %v", c, err)
			}
			if m := regexp.MustCompile(`class="disc-w" cx="[^"]+" cy="([^"]+)"`).FindStringSubmatch(svg); m != nil {
				y, err := strconv.ParseFloat(m[1], 64)
				if err != nil || y < 0 || y > 262 {
					t.Fatalf("%+v: disc at %s", c, m[1])
				}
			}
		}
	})
}

// The depth scale is a root: 1/4 of the depth lies at half of the height, by
// the scale's definition.
func TestDepthScale(t *testing.T) {
	s := sections[Tank]
	c := Column{Level: 16, Full: 16}
	ys := c.surface(&s)
	for _, row := range [][2]float64{{0, 0}, {4, .5}, {16, 1}, {20, 1}} {
		if got := (c.depth(&s, row[0]) - ys) / (s.floor - ys); math.Abs(got-row[1]) > 1e-12 {
			t.Errorf("depth %g cm of 16 lies at %g of the height, want %g (square root)", row[0], got, row[1])
		}
	}
}

// The ten steps run from 0.05 to 1 g/L on a log scale; the middles of the steps
// follow by hand from 0.05 * 20^(i/9).
func TestTone(t *testing.T) {
	for i := range 10 {
		if got := Tone(.05 * math.Pow(20, float64(i)/9)); got != i {
			t.Errorf("Tone at step %d = %d", i, got)
		}
	}
	for _, x := range []float64{0, -1, math.NaN()} {
		if Tone(x) != 0 {
			t.Errorf("Tone(%g) = %d, want 0", x, Tone(x))
		}
	}
	if Tone(50) != 9 {
		t.Error("thicker than the scale is the last step")
	}
}

// A curve thinned to a tolerance is nowhere further from the kept line than it.
func TestThin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "n")
		line := make([]point, n)
		for i := range line {
			line[i] = point{float64(i), rapid.Float64Range(0, 100).Draw(t, "y")}
		}
		const tol = 3
		kept := thin([][]point{line}, tol)
		if kept[0] != 0 || kept[len(kept)-1] != n-1 {
			t.Fatalf("the ends are not kept: %v", kept)
		}
		for k := 1; k < len(kept); k++ {
			a, b := line[kept[k-1]], line[kept[k]]
			for i := kept[k-1]; i <= kept[k]; i++ {
				d := math.Abs((line[i].x-a.x)*(b.y-a.y)-(line[i].y-a.y)*(b.x-a.x)) / math.Hypot(b.x-a.x, b.y-a.y)
				if d > tol+1e-9 {
					t.Fatalf("point %d is %g away from the kept line", i, d)
				}
			}
		}
	})
}

func TestNice(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		n         int
		step      float64
	}{{0, 1, 5, .2}, {.3, .9, 6, .1}, {9.4, 10.8, 3, .5}, {13, 28, 4, 5}, {0, 0, 3, 1}} {
		ticks, step := nice(c.low, c.high, c.n)
		if math.Abs(step-c.step) > 1e-12 {
			t.Errorf("nice(%g, %g, %d) steps by %g, want %g", c.low, c.high, c.n, step, c.step)
		}
		for _, v := range ticks {
			if v < c.low-1e-9 || v > c.high+1e-9 {
				t.Errorf("nice(%g, %g, %d) marks %g", c.low, c.high, c.n, v)
			}
		}
	}
}

// The readable order of the labels beside the staff: none touches another.
func TestLabelsApart(t *testing.T) {
	labels := regexp.MustCompile(`x="265" y="([0-9.]+)"`)
	for x := .05; x < 3; x *= 1.13 {
		c := columns()["pond"]
		mid := 1.3 / x
		c.Grams, c.Disc = x, &num.Band{Low: .9 * mid, Mid: mid, High: 1.1 * mid}
		var ys []float64
		for _, m := range labels.FindAllStringSubmatch(c.Large(), -1) {
			y, err := strconv.ParseFloat(m[1], 64)
			if err != nil {
				t.Fatal(err)
			}
			for _, other := range ys {
				if math.Abs(other-y) < 14.9 {
					t.Errorf("at %.2f g/L two labels stand %.1f apart", x, math.Abs(other-y))
				}
			}
			ys = append(ys, y)
		}
		if len(ys) < 3 {
			t.Errorf("at %.2f g/L only %d labels", x, len(ys))
		}
	}
}

// Text in a drawing is never smaller than 13 units, and on a phone 328 units
// fill at least 328 px: README of the look.
func TestWordsAreEscaped(t *testing.T) {
	f := fan()
	f.Says, f.Unit, f.Ready.Label = `<script>"x"`, "<b>", "&"
	svg := f.SVG()
	if strings.Contains(svg, "<script>") || strings.Contains(svg, "<b>") {
		t.Error("words are not escaped")
	}
	if err := wellFormed(svg); err != nil {
		t.Error(err)
	}
}

func TestEmptyCharts(t *testing.T) {
	for name, svg := range map[string]string{"fan": Fan{Width: 300, Height: 100, From: day0, Now: day0, To: day0.Add(time.Hour), Says: "x"}.SVG(), "light": Light{Width: 300, Height: 80, From: day0, To: day0.Add(time.Hour), Says: "x"}.SVG()} {
		if err := wellFormed(svg); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func BenchmarkFan(b *testing.B) {
	f := fan()
	b.ReportAllocs()
	for b.Loop() {
		_ = f.SVG()
	}
}

func BenchmarkGlyph(b *testing.B) {
	c := columns()["pond"]
	b.ReportAllocs()
	for b.Loop() {
		_ = c.Glyph()
	}
}
