package assay

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.8g, want %.8g ± %g (%s)", what, got, want, tolerance, source)
	}
}

// Values to four decimals by an independent numerical library; those of 0, 10
// and 25 are printed in public tables too: 3.689; 4.80 to 18.39; 16.18 to 36.90.
const garwoodTable = "garwood1936, computed by an independent library"

func TestPoissonTable(t *testing.T) {
	rows := []struct{ k, low, high, one float64 }{
		{0, 0, 3.6889, 2.9957}, {1, 0.0253, 5.5716, 4.7439}, {2, 0.2422, 7.2247, 6.2958},
		{3, 0.6187, 8.7673, 7.7537}, {4, 1.0899, 10.2416, 9.1535}, {5, 1.6235, 11.6683, 10.5130},
		{6, 2.2019, 13.0595, 11.8424}, {8, 3.4538, 15.7632, 14.4346}, {10, 4.7954, 18.3904, 16.9622},
		{15, 8.3954, 24.7402, 23.0971}, {20, 12.2165, 30.8884, 29.0620}, {25, 16.1787, 36.9049, 34.9161},
		{50, 37.1110, 65.9188, 63.2871}, {100, 81.3640, 121.6268, 118.0793}, {400, 361.7563, 441.1866, 434.4968},
	}
	for _, r := range rows {
		i := Poisson(r.k, 0.95)
		near(t, "low", i.Low, r.low, 6e-5, garwoodTable)
		near(t, "high", i.High, r.high, 6e-5, garwoodTable)
		near(t, "one-sided", PoissonUpper(r.k, 0.95), r.one, 6e-5, garwoodTable)
	}
	ninety, ninetyNine := Poisson(25, 0.90), Poisson(25, 0.99)
	near(t, "25 at 90 %, low", ninety.Low, 17.38, 5e-3, "a public statistical table, n = 25")
	near(t, "25 at 90 %, high", ninety.High, 34.92, 5e-3, "a public statistical table, n = 25")
	near(t, "25 at 99 %, low", ninetyNine.Low, 14.00, 5e-3, "a public statistical table, n = 25")
	near(t, "25 at 99 %, high", ninetyNine.High, 41.00, 5e-3, "a public statistical table, n = 25")
}

// poissonTail sums the probabilities of k and fewer, term by term: no gamma
// function is used, so that the interval is held against its definition.
func poissonTail(k int, mean float64) float64 {
	term := math.Exp(-mean)
	sum := term
	for i := 1; i <= k; i++ {
		term *= mean / float64(i)
		sum += term
	}
	return sum
}

func TestPoissonIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.IntRange(0, 150).Draw(t, "k")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		i := Poisson(float64(k), c)
		if got := poissonTail(k, i.High); math.Abs(got-(1-c)/2) > 1e-9 {
			t.Fatalf("at the high end %d or fewer have a chance of %g, not %g", k, got, (1-c)/2)
		}
		if k > 0 {
			if got := 1 - poissonTail(k-1, i.Low); math.Abs(got-(1-c)/2) > 1e-9 {
				t.Fatalf("at the low end %d or more have a chance of %g, not %g", k, got, (1-c)/2)
			}
		}
		if u := PoissonUpper(float64(k), c); math.Abs(poissonTail(k, u)-(1-c)) > 1e-9 || u >= i.High {
			t.Fatalf("one-sided %g against %g", u, i.High)
		}
		if l := PoissonLower(float64(k), c); k > 0 && (l <= i.Low || l >= float64(k)) {
			t.Fatalf("one-sided low %g against %g", l, i.Low)
		}
	})
}

func TestShareTable(t *testing.T) {
	const source = "newcombe1998, cases of table I and more, computed by an independent library"
	rows := []struct {
		k, n                   int
		w1, w2, c1, c2, e1, e2 float64
	}{
		{81, 263, 0.25529, 0.36621, 0.25351, 0.36818, 0.25274, 0.36762},
		{15, 148, 0.06239, 0.16049, 0.05978, 0.16445, 0.05784, 0.16165},
		{0, 20, 0, 0.16113, 0, 0.20045, 0, 0.16843},
		{1, 29, 0.00611, 0.17176, 0.00180, 0.19628, 0.00087, 0.17764},
		{23, 60, 0.27088, 0.50982, 0.26353, 0.51810, 0.26071, 0.51789},
		{4, 100, 0.01566, 0.09837, 0.01289, 0.10511, 0.01100, 0.09926},
		{1, 100, 0.00177, 0.05449, 0.00052, 0.06241, 0.00025, 0.05446},
		{2, 500, 0.00110, 0.01447, 0.00069, 0.01600, 0.00048, 0.01437},
		{20, 20, 0.83887, 1, 0.79955, 1, 0.83157, 1},
	}
	for _, r := range rows {
		w, c, e := Wilson(r.k, r.n, 0.95), WilsonContinuity(r.k, r.n, 0.95), ClopperPearson(r.k, r.n, 0.95)
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"Wilson low", w.Low, r.w1}, {"Wilson high", w.High, r.w2}, {"corrected low", c.Low, r.c1}, {"corrected high", c.High, r.c2}, {"exact low", e.Low, r.e1}, {"exact high", e.High, r.e2}} {
			near(t, x.what, x.got, x.want, 6e-6, source)
		}
	}
}

func TestNothingSeen(t *testing.T) {
	const source = "closed form 1 − 0.05^(1/n), and hanleylippman1983 for 3/n"
	rows := []struct {
		n               int
		three, one, two float64
	}{
		{20, 0.15, 0.13911, 0.16843}, {30, 0.10, 0.09503, 0.11570}, {60, 0.05, 0.04870, 0.05963},
		{100, 0.03, 0.02951, 0.03622}, {300, 0.01, 0.00994, 0.01222}, {1000, 0.003, 0.00299, 0.00368},
	}
	for _, r := range rows {
		near(t, "rule of three", RuleOfThree(r.n), r.three, 1e-12, source)
		near(t, "one-sided", ShareUpper(0, r.n, 0.95), r.one, 6e-6, source)
		near(t, "two-sided", ClopperPearson(0, r.n, 0.95).High, r.two, 6e-6, source)
		if RuleOfThree(r.n) < ShareUpper(0, r.n, 0.95) {
			t.Errorf("3/%d lies under the exact bound", r.n)
		}
	}
	for _, r := range []struct {
		p          float64
		at95, at99 int
	}{{0.10, 29, 44}, {0.05, 59, 90}, {0.02, 149, 228}, {0.01, 299, 459}, {0.005, 598, 919}, {0.001, 2995, 4603}} {
		if a, b := LookFor(r.p, 0.95), LookFor(r.p, 0.99); a != r.at95 || b != r.at99 {
			t.Errorf("to catch %g: %d and %d, want %d and %d (ln(1 − c)/ln(1 − p), worked by hand)", r.p, a, b, r.at95, r.at99)
		}
	}
	near(t, "volume to rule out one in a millilitre", VolumeFor(1, 0.95), 2.9957, 5e-5, "−ln 0.05")
}

// binomialTail sums the probabilities of k and fewer, term by term.
func binomialTail(k, n int, p float64) float64 {
	if p > 0.5 { // (1 − p)^n may be too small to hold
		return 1 - binomialTail(n-k-1, n, 1-p)
	}
	if k < 0 {
		return 0
	}
	term := math.Pow(1-p, float64(n))
	sum := term
	for i := 1; i <= k; i++ {
		term *= float64(n-i+1) / float64(i) * p / (1 - p)
		sum += term
	}
	return sum
}

func TestClopperPearsonIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "n")
		k := rapid.IntRange(0, n).Draw(t, "k")
		c := rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")
		i := ClopperPearson(k, n, c)
		if k < n {
			if got := binomialTail(k, n, i.High); math.Abs(got-(1-c)/2) > 1e-8 {
				t.Fatalf("%d of %d: at the high end the chance is %g, not %g", k, n, got, (1-c)/2)
			}
			if got := binomialTail(k, n, ShareUpper(k, n, c)); math.Abs(got-(1-c)) > 1e-8 {
				t.Fatalf("%d of %d: at the upper bound the chance is %g, not %g", k, n, got, 1-c)
			}
		}
		// The interval of the rest is the same, turned round.
		o := ClopperPearson(n-k, n, c)
		if math.Abs(o.Low-(1-i.High)) > 1e-9 || math.Abs(o.High-(1-i.Low)) > 1e-9 {
			t.Fatalf("%d of %d: %v, of the rest %v", k, n, i, o)
		}
		if w := Wilson(k, n, c); w.Low > float64(k)/float64(n)+1e-12 || w.High < float64(k)/float64(n)-1e-12 {
			t.Fatalf("%d of %d lies outside %v", k, n, w)
		}
		if u, l := ShareUpper(k, n, c), ShareLower(k, n, c); u > i.High+1e-12 || l < i.Low-1e-12 {
			t.Fatalf("%d of %d: one-sided %g, %g beyond %v", k, n, l, u, i)
		}
	})
}

func TestIntervalsOutsideTheirDomain(t *testing.T) {
	for _, x := range []float64{Poisson(-1, 0.95).Low, Poisson(1, 1).High, Poisson(math.NaN(), 0.5).Low, PoissonUpper(1, 0), ClopperPearson(3, 2, 0.95).Low, ClopperPearson(0, 0, 0.95).High, Wilson(1, 2, 1.5).Low, ShareUpper(-1, 2, 0.9), RuleOfThree(0), VolumeFor(0, 0.95)} {
		if !math.IsNaN(x) {
			t.Errorf("%g where there is no answer", x)
		}
	}
	if LookFor(0, 0.95) != 0 || LookFor(1, 0.95) != 0 || LookFor(1e-300, 0.95) != math.MaxInt32 {
		t.Error("LookFor outside its domain")
	}
}

// The mites on apple leaves of Bliss and Fisher: 150 leaves, 172 mites.
func TestFieldsOfMites(t *testing.T) {
	const source = "blissfisher1953, the mites on apple leaves; k from memory, mean and variance by hand"
	var counts []int
	for mites, leaves := range []int{70, 38, 17, 10, 9, 3, 2, 1} {
		for range leaves {
			counts = append(counts, mites)
		}
	}
	s, err := Fields(counts)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", s.Mean, 1.1467, 5e-5, source)
	near(t, "variance", s.Variance, 2.2736, 1e-4, source)
	near(t, "k", s.K, 1.0246, 1e-4, source)
	near(t, "width", s.Width, math.Sqrt(2.2736/1.1467), 1e-4, source)
	if s.Total != 172 || s.Fields != 150 || s.Chance > 1e-6 {
		t.Errorf("%+v", s)
	}
	even, _ := Fields([]int{5, 5, 5, 5})
	if even.Width != 1 || !math.IsInf(even.K, 1) || even.Chance < 0.99 {
		t.Errorf("even fields: %+v", even)
	}
	// χ² with 2 degrees of freedom has the upper tail exp(−x/2): counts 1, 2, 3 give x = 1.
	three, _ := Fields([]int{1, 2, 3})
	near(t, "chance", three.Chance, math.Exp(-0.5), 1e-12, "χ² with two degrees of freedom, closed form")
	for _, f := range [][]int{nil, {1, -1}, {1 << 30}} {
		if _, err := Fields(f); err == nil {
			t.Errorf("%v was taken", f)
		}
	}
}

func TestClumpsWiden(t *testing.T) {
	// A large count widens by the factor itself (salonen2021: about 1.4).
	plain, clumped := Poisson(10000, 0.95), Clumped(10000, ClumpedWidth, 0.95)
	near(t, "widening", (clumped.High-clumped.Low)/(plain.High-plain.Low), 1.4, 0.005, "salonen2021")
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.Float64Range(0, 1e4).Draw(t, "k")
		w := rapid.Float64Range(1, 5).Draw(t, "width")
		a, b := Poisson(k, 0.95), Clumped(k, w, 0.95)
		if b.Low > a.Low+1e-9 || b.High < a.High-1e-9 || b.Low > k || b.High < k {
			t.Fatalf("%g with width %g: %v against %v", k, w, b, a)
		}
		if ClumpedUpper(k, w, 0.95) > b.High || ClumpedLower(k, w, 0.95) < b.Low {
			t.Fatal("one-sided bounds outside the two-sided")
		}
	})
	if got := Clumped(7, 0.3, 0.95); got != Poisson(7, 0.95) {
		t.Errorf("a width under 1 narrows: %v", got)
	}
}

func TestChambers(t *testing.T) {
	rows := []struct {
		what                                          string
		counted, area, depth, fields, dilution, perML float64
		tolerance                                     float64
	}{
		{"haemocytometer", 212, 1, 0.1, 4, 2, 1.06e6, 1},
		{"Sedgewick-Rafter, 20 squares", 120, 1, 1, 20, 1, 6000, 1e-9},
		{"Sedgewick-Rafter, whole, 100 mL to 10 mL", 100, 1, 1, 1000, 0.1, 10, 1e-9},
		{"Palmer-Maloney", 85, 0.159043, 0.4, 30, 1, 44537, 0.5},
	}
	for _, r := range rows {
		near(t, r.what, r.counted/ChamberVolume(r.area, r.depth, r.fields, r.dilution), r.perML, r.tolerance, "standardmethods, 10200 F, worked by hand")
	}
	near(t, "field of 18 at 10", FieldArea(18, 10), 2.54469, 1e-5, "π/4 (FN/M)²")
	near(t, "field of 18 at 40", FieldArea(18, 40), 0.159043, 1e-6, "π/4 (FN/M)²")
	near(t, "field of 20 at 10", FieldArea(20, 10), 3.14159, 1e-5, "π/4 (FN/M)²")
	for _, c := range Chambers() {
		if !(c.DepthMM > 0 && c.AreaMM2 > 0) || c.Source == "" {
			t.Errorf("%+v", c)
		}
	}
	near(t, "Palmer-Maloney holds", Chambers()[2].AreaMM2*Chambers()[2].DepthMM/1000, 0.1, 1e-3, "0.1 mL")
}

func TestWhatALookLeavesOpen(t *testing.T) {
	const source = "arithmetic: share times 1 mg/g against 1 and 0.8 µg/g"
	e := Exclude(0, 300, 0.95, WorstKind)
	near(t, "share", e.FilamentShare, 0.00994, 6e-6, source)
	near(t, "toxin", e.ToxinUgPerG, 9.94, 0.006, source)
	n := LookForToxin(0.8, 0.95, WorstKind)
	if n < 3700 || n > 3750 {
		t.Errorf("%d filaments rule out 0.8 µg/g, want about 3700 (ln 20/0.0008)", n)
	}
	rapid.Check(t, func(t *rapid.T) {
		k := Kind{MassRatio: rapid.Float64Range(0.05, 20).Draw(t, "mass"), ToxinUgPerG: rapid.Float64Range(10, 5000).Draw(t, "toxin")}
		limit := rapid.Float64Range(0.2, 5).Draw(t, "limit")
		n := LookForToxin(limit, 0.95, k)
		if n < 2 {
			return
		}
		if e := Exclude(0, n, 0.95, k); e.ToxinUgPerG > limit*(1+1e-9) {
			t.Fatalf("%d filaments of %+v leave %g open, limit %g", n, k, e.ToxinUgPerG, limit)
		}
		if e := Exclude(0, n-1, 0.95, k); e.ToxinUgPerG < limit*(1-1e-9) {
			t.Fatalf("%d filaments would do, %d are asked for", n-1, n)
		}
	})
	if LookForToxin(0, 0.95, WorstKind) != 0 || LookForToxin(2000, 0.95, WorstKind) != 1 {
		t.Error("limits at the edge")
	}
}
