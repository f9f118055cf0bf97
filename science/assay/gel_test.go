package assay

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A published student gel: centimetres and lengths of its ladder.
const studentGel = "a public student laboratory report; sizes worked by an independent program"

func student(t testing.TB) *Ladder {
	l, err := NewLadder([]Rung{{10000, 20}, {8000, 22}, {6000, 23}, {5000, 24}, {4000, 26}, {3000, 29}, {2500, 32}, {2000, 34}, {1500, 38}, {1000, 46}, {750, 61}})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// A ladder that lies exactly on L = 12000/(m − 5) − 150.
func exact(t testing.TB) *Ladder {
	var rungs []Rung
	for _, bp := range []float64{1500, 1000, 900, 800, 700, 600, 500, 400, 300, 200, 100} {
		rungs = append(rungs, Rung{bp, 5 + 12000/(bp+150)})
	}
	l, err := NewLadder(rungs)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestStudentGel(t *testing.T) {
	l := student(t)
	// The report's line is per centimetre; with full-precision logarithms it is
	// −0.278477 and 4.372315 with R² 0.881765 (printed with rounded logarithms:
	// −0.2773, 4.3696, 0.881).
	near(t, "slope", l.Slope*10, -0.278477, 5e-7, studentGel)
	near(t, "intercept", l.Intercept, 4.372315, 5e-7, studentGel)
	near(t, "R²", l.R2, 0.881765, 5e-7, studentGel)
	near(t, "printed slope", l.Slope*10, -0.2773, 2e-3, "as printed, logarithms rounded to two decimals")
	rows := []struct{ mm, longer, shorter, mean, piecewise float64 }{
		{27, 3615.38, 3571.43, 3593.41, 3634.24},
		{30, 2800.00, 2857.14, 2828.57, 2823.11},
		{33, 2272.73, 2214.29, 2243.51, 2236.07},
		{40, 1333.33, 1302.63, 1317.98, 1355.40},
	}
	for _, r := range rows {
		s, err := l.Size(r.mm, Routine)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "two longer", s.First, r.longer, 0.006, studentGel)
		near(t, "two shorter", s.Second, r.shorter, 0.006, studentGel)
		near(t, "local", s.BP, r.mean, 0.006, studentGel)
		near(t, "piecewise", s.Piecewise, r.piecewise, 0.006, studentGel)
	}
	// Read without error and trusted without end, a size is as sure as its two laws agree.
	only, err := l.Size(30, Reader{Confidence: 0.95})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "half-width by the two laws", only.Range.High-only.BP, (2857.14-2800.00)/2, 0.01, studentGel)
	near(t, "one line at 30 mm", l.LogLinear(30), 3442.57, 0.01, studentGel)
	// The report's own sizes, by its printed line; full logarithms move them by up to 1.5 %.
	for _, r := range [][2]float64{{17, 7943}, {19, 6918}, {21, 6166}, {23, 5370}, {26, 4467}, {31, 3236}, {33, 2818}} {
		near(t, "reported", l.LogLinear(r[0]), r[1], 0.02*r[1], "as printed in the report")
	}
}

func TestExactSouthern(t *testing.T) {
	l := exact(t)
	const source = "southern1979's law itself, c 12000, m₀ 5, L₀ −150"
	near(t, "slope", l.Slope, -0.0277131, 5e-8, source)
	near(t, "intercept", l.Intercept, 3.398903, 5e-7, source)
	near(t, "R²", l.R2, 0.974864, 5e-7, source)
	rows := []struct{ bp, mm, piecewise, line float64 }{
		{584, 21.3488, 584.70, 641.60}, {472, 24.2926, 473.13, 531.71}, {447, 25.1005, 448.39, 505.00},
		{366, 28.2558, 367.29, 412.90}, {297, 31.8456, 297.16, 328.37},
	}
	for _, r := range rows {
		s, err := l.Size(r.mm, Routine)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "local", s.BP, r.bp, 0.005, source)
		near(t, "piecewise", s.Piecewise, r.piecewise, 0.006, source)
		near(t, "one line", s.LogLinear, r.line, 0.006, source)
		if !s.Range.Holds(r.bp) {
			t.Errorf("%g bp is outside %v", r.bp, s.Range)
		}
		near(t, "back", l.MMAt(r.bp), r.mm, 1e-4, source)
	}
	three, ok := SouthernThrough(l.rungs[1], l.rungs[4], l.rungs[8])
	if !ok {
		t.Fatal("three rungs of a hyperbola have their law")
	}
	near(t, "c", three.C, 12000, 1e-6, source)
	near(t, "m₀", three.M0MM, 5, 1e-9, source)
	near(t, "L₀", three.L0BP, -150, 1e-6, source)
	fit, rms := l.LeastSquares()
	near(t, "fitted c", fit.C, 12000, 1, source)
	near(t, "fitted m₀", fit.M0MM, 5, 1e-3, source)
	near(t, "fitted L₀", fit.L0BP, -150, 0.05, source)
	near(t, "rms", rms, 0, 1e-6, source)
	near(t, "self error", l.SelfError(), 0, 1e-9, source)
}

// Three rungs in a straight line have no hyperbola, and are still sized.
func TestStraightLine(t *testing.T) {
	if _, ok := SouthernThrough(Rung{300, 10}, Rung{200, 20}, Rung{100, 30}); ok {
		t.Error("a straight line has no pole")
	}
	near(t, "in line", through(Rung{300, 10}, Rung{200, 20}, Rung{100, 30}, 14), 260, 1e-9, "proportion")
}

// 447 and 472 bp cannot be told apart on a routine gel; 472 and 700 can.
func TestNeighboursThatCannotBeToldApart(t *testing.T) {
	l := exact(t)
	if l.Separates(447, 472, Routine) || l.Separates(472, 447, Routine) {
		t.Error("447 and 472 bp are 5.4 % apart: at ±5 % each they meet")
	}
	if !l.Separates(472, 700, Routine) {
		t.Error("472 and 700 bp are far apart")
	}
	if l.Separates(472, 5000, Routine) {
		t.Error("what lies beyond the ladder is not told apart by it")
	}
}

func TestLocalLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Any hyperbola, any rungs on it: the method gives it back, at every place.
		m0 := rapid.Float64Range(-50, 9).Draw(t, "m0")
		c := rapid.Float64Range(1e3, 1e6).Draw(t, "c")
		n := rapid.IntRange(3, 14).Draw(t, "n")
		var rungs []Rung
		mm := 10.0
		for range n {
			mm += rapid.Float64Range(0.8, 6).Draw(t, "gap")
			rungs = append(rungs, Rung{MM: mm})
		}
		l0 := 50 - c/(mm-m0)
		for i := range rungs {
			rungs[i].BP = c/(rungs[i].MM-m0) + l0
			if rungs[i].BP > 1e6 {
				return
			}
		}
		l, err := NewLadder(rungs)
		if err != nil {
			t.Fatal(err)
		}
		at := rapid.Float64Range(rungs[0].MM, mm).Draw(t, "at")
		want := c/(at-m0) + l0
		got, _, _ := l.Local(at)
		if math.Abs(got-want) > 1e-6*want {
			t.Fatalf("%g at %g, want %g", got, at, want)
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		// Any ladder that falls: rungs size themselves, sizes lie between the rungs'
		// neighbours, fall with the way, and MMAt turns Local round.
		n := rapid.IntRange(3, 12).Draw(t, "n")
		mm, bp := 10.0, 20000.0
		var rungs []Rung
		for range n {
			rungs = append(rungs, Rung{bp, mm})
			mm += rapid.Float64Range(1, 8).Draw(t, "gap")
			bp *= rapid.Float64Range(0.5, 0.9).Draw(t, "ratio")
		}
		l, err := NewLadder(rungs)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rungs {
			if got, _, _ := l.Local(r.MM); math.Abs(got-r.BP) > 1e-6*r.BP {
				t.Fatalf("the rung of %g bp sizes itself as %g", r.BP, got)
			}
		}
		i := rapid.IntRange(0, n-2).Draw(t, "i")
		at := rungs[i].MM + rapid.Float64Range(0.01, 0.99).Draw(t, "t")*(rungs[i+1].MM-rungs[i].MM)
		s, err := l.Size(at, Routine)
		if err != nil {
			t.Fatal(err)
		}
		if s.BP >= rungs[i].BP || s.BP <= rungs[i+1].BP {
			t.Fatalf("%g bp lies outside its gap %g to %g", s.BP, rungs[i+1].BP, rungs[i].BP)
		}
		if s.Range.High-s.BP < math.Max(15, 0.05*s.BP)-1e-6 {
			t.Fatalf("%v is narrower than the reader is trusted", s.Range)
		}
		if back := l.MMAt(s.BP); math.Abs(back-at) > 1e-6 {
			t.Fatalf("%g bp is back at %g, not %g", s.BP, back, at)
		}
		wide := Routine
		wide.ReadingMM *= 4
		w, _ := l.Size(at, wide)
		if w.Range.High < s.Range.High || w.Range.Low > s.Range.Low {
			t.Fatalf("a worse reading gives a narrower interval: %v, %v", w.Range, s.Range)
		}
	})
}

// The interval covers what it claims when bands and rungs are read with the
// stated error: the floor of the reader is taken away, 400 gels, 95 % ± 3.5 %.
func TestIntervalCovers(t *testing.T) {
	r := Reader{ReadingMM: 0.2, Confidence: 0.95}
	noise := normalDraws(20261125)
	hit, all := 0, 0
	for range 400 {
		var rungs []Rung
		for _, bp := range []float64{1500, 1000, 800, 600, 500, 400, 300, 200, 100} {
			rungs = append(rungs, Rung{bp, 5 + 12000/(bp+150) + 0.2*noise()})
		}
		l, err := NewLadder(rungs)
		if err != nil {
			continue
		}
		s, err := l.Size(5+12000/(472+150.0)+0.2*noise(), r)
		if err != nil {
			t.Fatal(err)
		}
		all++
		if s.Range.Holds(472) {
			hit++
		}
	}
	if share := float64(hit) / float64(all); share < 0.915 || share > 0.985 {
		t.Errorf("%d of %d intervals hold the length, %.3f", hit, all, share)
	}
}

// normalDraws are repeatable draws of a standard normal deviate, by the sum of
// twelve uniform ones of a linear congruential row.
func normalDraws(seed uint64) func() float64 {
	return func() float64 {
		sum := -6.0
		for range 12 {
			seed = seed*6364136223846793005 + 1442695040888963407
			sum += float64(seed>>11) / (1 << 53)
		}
		return sum
	}
}

func TestBeyondTheLadder(t *testing.T) {
	l := exact(t)
	s, err := l.Size(60, Routine)
	if err != nil || s.Place != Shorter || !math.IsNaN(s.BP) || s.Range.High != 100 || s.Range.Low != 0 {
		t.Errorf("past the last rung: %+v, %v", s, err)
	}
	s, err = l.Size(8, Routine)
	if err != nil || s.Place != Longer || !math.IsNaN(s.BP) || s.Range.Low != 1500 || !math.IsInf(s.Range.High, 1) {
		t.Errorf("before the first rung: %+v, %v", s, err)
	}
}

func TestBadLadders(t *testing.T) {
	rows := []struct {
		name  string
		rungs []Rung
		says  string
	}{
		{"none", nil, "0 bands"},
		{"two bands", []Rung{{1000, 10}, {500, 20}}, "2 bands"},
		{"out of order", []Rung{{1000, 10}, {300, 20}, {500, 30}}, "out of order"},
		{"upside down", []Rung{{100, 10}, {300, 20}, {500, 30}}, "out of order"},
		{"two at one place", []Rung{{1000, 10}, {500, 20}, {300, 20}}, "two bands"},
		{"one length twice", []Rung{{1000, 10}, {500, 20}, {500, 30}}, "out of order"},
		{"a negative way", []Rung{{1000, -1}, {500, 20}, {300, 30}}, "way"},
		{"no number", []Rung{{math.NaN(), 1}, {500, 20}, {300, 30}}, "length"},
		{"infinite", []Rung{{1000, 1}, {500, 20}, {300, math.Inf(1)}}, "way"},
	}
	for _, r := range rows {
		_, err := NewLadder(r.rungs)
		var in *InputError
		if !errors.As(err, &in) || in.Field != "ladder" || !strings.Contains(in.Reason, r.says) {
			t.Errorf("%s: %v", r.name, err)
		}
	}
	// A ladder typed from the bottom up is the same ladder.
	a, err := NewLadder([]Rung{{300, 30}, {1000, 10}, {500, 20}})
	if err != nil || a.Rungs()[0].BP != 1000 {
		t.Errorf("order of typing: %v", err)
	}
	// Lengths that slipped by one from the middle on show in the ladder's own test.
	slipped := []Rung{{1500, 12.2727}, {1000, 15.4348}, {900, 16.4286}, {800, 17.6316}, {600, 19.1176}, {500, 21.0}, {400, 23.4615}, {300, 26.8182}}
	l, err := NewLadder(slipped)
	if err != nil {
		t.Fatal(err)
	}
	if l.SelfError() < 0.01 {
		t.Errorf("self error %g of a ladder that slipped", l.SelfError())
	}
}

func lanes(with ...Lane) []Lane { return with }

func TestCalls(t *testing.T) {
	l := exact(t)
	mm := l.MMAt
	pos := Lane{"P", Positive, []float64{mm(472)}}
	ntc := Lane{"N", NoTemplate, nil}
	blank := Lane{"B", Blank, nil}
	dimer := Lane{"N", NoTemplate, []float64{58}} // beyond the ladder, shorter than all
	target := Target{ExpectedBP: 472, CompanionBP: 700}
	clear := Lane{"S", Sample, []float64{mm(700)}}
	band := Lane{"S", Sample, []float64{mm(700), mm(472) + 0.1}}
	bare := Lane{"S", Sample, nil}
	rows := []struct {
		name    string
		lanes   []Lane
		target  Target
		outcome Outcome
		reason  Reason
	}{
		{"a band with good controls", lanes(pos, ntc, blank, band), target, Found, ControlsBehaved},
		{"none with good controls", lanes(pos, ntc, blank, clear), target, NotFound, ControlsBehaved},
		{"primer leftovers in water", lanes(pos, dimer, blank, clear), target, NotFound, ControlsBehaved},
		{"no controls at all", lanes(clear), target, Invalid, NoPositive},
		{"no positive", lanes(ntc, blank, clear), target, Invalid, NoPositive},
		{"no water", lanes(pos, blank, clear), target, Invalid, NoNoTemplate},
		{"no extraction blank", lanes(pos, ntc, clear), target, Invalid, NoBlank},
		{"positive empty", lanes(Lane{"P", Positive, nil}, ntc, blank, clear), target, Invalid, PositiveFails},
		{"positive of another size", lanes(Lane{"P", Positive, []float64{mm(600)}}, ntc, blank, clear), target, Invalid, PositiveFails},
		{"water has the band", lanes(pos, Lane{"N", NoTemplate, []float64{mm(472)}}, blank, band), target, Invalid, NoTemplateCarries},
		{"blank has the band", lanes(pos, ntc, Lane{"B", Blank, []float64{mm(472)}}, band), target, Invalid, BlankCarries},
		{"blank has the companion", lanes(pos, ntc, Lane{"B", Blank, []float64{mm(700)}}, clear), target, Invalid, BlankCompanion},
		{"extract cannot be copied", lanes(pos, ntc, blank, bare), target, Invalid, CompanionMissing},
		{"no companion was run", lanes(pos, ntc, blank, bare), Target{ExpectedBP: 472}, Invalid, NoCompanion},
		{"companion seen elsewhere", lanes(pos, ntc, blank, bare), Target{ExpectedBP: 472, SampleShowsCompanion: map[string]bool{"S": true}}, NotFound, ControlsBehaved},
		{"companion of 447", lanes(pos, ntc, blank, Lane{"S", Sample, []float64{mm(472)}}), Target{ExpectedBP: 472, CompanionBP: 447}, Unclear, Neighbour},
		{"a companion of 447 may hide it", lanes(pos, ntc, blank, Lane{"S", Sample, []float64{mm(447)}}), Target{ExpectedBP: 472, CompanionBP: 447}, Unclear, Neighbour},
		{"a neighbour of 447 may hide it", lanes(pos, ntc, blank, Lane{"S", Sample, []float64{mm(700), mm(447)}}), Target{ExpectedBP: 472, CompanionBP: 700, Neighbours: []float64{447}}, Unclear, Neighbour},
		{"neighbour of 447", lanes(pos, ntc, blank, band), Target{ExpectedBP: 472, CompanionBP: 700, Neighbours: []float64{447}}, Unclear, Neighbour},
		{"neighbour far beyond", lanes(pos, ntc, blank, band), Target{ExpectedBP: 472, CompanionBP: 700, Neighbours: []float64{5000}}, Found, ControlsBehaved},
		{"ladder too short", lanes(pos, ntc, blank, clear), Target{ExpectedBP: 5000, CompanionBP: 700}, Invalid, OutsideLadder},
	}
	for _, r := range rows {
		calls, err := l.Read(r.lanes, r.target, Routine)
		if err != nil || len(calls) != 1 {
			t.Errorf("%s: %v, %v", r.name, calls, err)
			continue
		}
		if calls[0].Outcome != r.outcome || calls[0].Reason != r.reason {
			t.Errorf("%s: %s, %s; want %s, %s", r.name, calls[0].Outcome, calls[0].Reason, r.outcome, r.reason)
		}
	}
	if _, err := l.Read(lanes(Lane{"X", "marker", nil}), target, Routine); err == nil {
		t.Error("a lane of no kind was taken")
	}
}

// Whatever is in the lanes: without all three controls there is no call.
func TestNoCallWithoutControls(t *testing.T) {
	l := exact(t)
	rapid.Check(t, func(t *rapid.T) {
		var run []Lane
		kinds := map[LaneKind]bool{}
		for i := range rapid.IntRange(1, 8).Draw(t, "lanes") {
			k := rapid.SampledFrom(LaneKinds()).Draw(t, "kind")
			kinds[k] = true
			run = append(run, Lane{string(rune('a' + i)), k, rapid.SliceOfN(rapid.Float64Range(1, 80), 0, 5).Draw(t, "bands")})
		}
		calls, err := l.Read(run, Target{ExpectedBP: 472, CompanionBP: 700}, Routine)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range calls {
			if c.Outcome != Invalid && !(kinds[Positive] && kinds[NoTemplate] && kinds[Blank]) {
				t.Fatalf("%+v without controls", c)
			}
		}
	})
}

func BenchmarkSize(b *testing.B) {
	l := exact(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Size(24.2926, Routine); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPoissonInterval(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Poisson(12, 0.95)
	}
}

func BenchmarkClopperPearson(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		ClopperPearson(3, 300, 0.95)
	}
}

func BenchmarkRead(b *testing.B) {
	l := exact(b)
	run := []Lane{{"P", Positive, []float64{24.3}}, {"N", NoTemplate, nil}, {"B", Blank, nil}, {"S", Sample, []float64{19.1}}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Read(run, Target{ExpectedBP: 472, CompanionBP: 700}, Routine); err != nil {
			b.Fatal(err)
		}
	}
}
