package assay

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMasterMix(t *testing.T) {
	const source = "C₁V₁ = C₂V₂, worked by hand: 25 µL, twice concentrated mix, 0.4 µM of each primer from 10 µM, 2 µL of extract"
	r := Reaction{TotalUL: 25, TemplateUL: 2, Parts: []Part{{"mix", 2, 1}, {"forward", 10, 0.4}, {"reverse", 10, 0.4}}}
	m, err := Master(r, 8, 3, 0.10)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "made for", m.Made, 12.1, 1e-12, source)
	for i, want := range []struct{ tube, mix float64 }{{12.5, 151.25}, {1, 12.1}, {1, 12.1}, {8.5, 102.85}} {
		near(t, m.Parts[i].Name+" in a tube", m.Parts[i].TubeUL, want.tube, 1e-9, source)
		near(t, m.Parts[i].Name+" in the mix", m.Parts[i].MixUL, want.mix, 1e-9, source)
	}
	near(t, "total", m.TotalUL, 278.3, 1e-9, source)
	near(t, "dispense", m.DispenseUL, 23, 1e-12, source)
	near(t, "left", m.LeftUL, 25.3, 1e-9, source)

	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 96).Draw(t, "samples")
		c := rapid.IntRange(1, 8).Draw(t, "controls")
		spare := rapid.Float64Range(0, 0.5).Draw(t, "spare")
		m, err := Master(r, n, c, spare)
		if err != nil {
			t.Fatal(err)
		}
		var tube, mix float64
		for _, p := range m.Parts {
			tube, mix = tube+p.TubeUL, mix+p.MixUL
		}
		if math.Abs(tube-m.DispenseUL) > 1e-9 || math.Abs(mix-m.TotalUL) > 1e-9*mix || m.LeftUL < -1e-9 || math.Abs(m.LeftUL-spare*float64(n+c)*23) > 1e-6 {
			t.Fatalf("%+v", m)
		}
	})
	for _, bad := range []struct {
		r     Reaction
		n     int
		spare float64
		field string
	}{
		{r, -1, 0.1, "samples"}, {r, 8, -0.1, "spare_pct"}, {r, 8, 2, "spare_pct"},
		{Reaction{TotalUL: 25, TemplateUL: 25}, 8, 0.1, "template_ul"},
		{Reaction{TotalUL: 25, TemplateUL: 12, Parts: []Part{{"mix", 2, 1}, {"forward", 10, 0.4}}}, 8, 0.1, "template_ul"},
		{Reaction{TotalUL: 25, Parts: []Part{{"mix", 1, 2}}}, 8, 0.1, "parts"},
		{Reaction{TotalUL: 25, Parts: []Part{{"mix", 0, 0}}}, 8, 0.1, "parts"},
		{Reaction{TotalUL: math.NaN()}, 8, 0.1, "reaction_ul"},
	} {
		_, err := Master(bad.r, bad.n, 3, bad.spare)
		var in *InputError
		if !errors.As(err, &in) || in.Field != bad.field {
			t.Errorf("%+v: %v, want field %s", bad, err, bad.field)
		}
	}
}

func TestDNAArithmetic(t *testing.T) {
	const source = "617.96 g/mol a base pair and 36.04 for the ends (from memory), with the exact Avogadro number"
	near(t, "472 bp", FragmentMass(472), 291713.2, 0.05, source)
	near(t, "copies in 1 ng of 472 bp", Copies(1, 472)/1e9, 2.0644, 5e-5, source)
	near(t, "genomes of 6.8 Mb in 1 ng", Copies(1, 6.8e6)/1e5, 1.433, 5e-4, source)
	near(t, "agarose, 1.5 % in 50 mL", Agarose(1.5, 50), 0.75, 1e-12, "proportion")
	near(t, "1 L of 1x from 50x", Stock(50, 1000), 20, 1e-12, "proportion")
	if !math.IsNaN(Copies(1, 0)) || !math.IsNaN(Stock(0.5, 100)) {
		t.Error("outside the domain")
	}
}

func TestPigments(t *testing.T) {
	near(t, "phycocyanin", Phycocyanin(1.0, 0.4), (1-0.474*0.4)/5.34, 1e-12, "bennettbogorad1973, by hand")
	near(t, "phycocyanin", Phycocyanin(1.0, 0.4), 0.15176, 5e-6, "bennettbogorad1973, by hand: 0.8104/5.34")
	near(t, "allophycocyanin", Allophycocyanin(1.0, 0.4), 0.02708, 5e-6, "bennettbogorad1973, by hand: 0.192/7.09")
	near(t, "by extinction", PhycocyaninByExtinction(0.73), 0.1, 1e-12, "boussiba1979: E(1 %, 1 cm) = 73")
	// 10 mL of extract from 50 mg with A620 of 0.73: 1 mg of 50.
	near(t, "share", PigmentShare(PhycocyaninByExtinction(0.73), 10, 50), 0.02, 1e-12, "boussiba1979: 100 A V/(7.3 m) per cent")
	near(t, "purity", Purity(0.91, 1), 0.91, 1e-12, "A620/A280; khandual2021 reports up to 0.91")
	near(t, "chlorophyll", ChlorophyllMethanol(0.55, 0.05), 6.47, 1e-9, "ritchie2006: 12.94 times 0.5")
	if Phycocyanin(0.1, 1) != 0 || Allophycocyanin(1, 0.1) != 0 || ChlorophyllMethanol(0.1, 0.2) != 0 || !math.IsNaN(Purity(1, 0)) || !math.IsNaN(PigmentShare(1, 1, 0)) {
		t.Error("outside the domain")
	}
}

func TestParseResult(t *testing.T) {
	rows := []struct {
		text string
		want Result
	}{
		{"0.32 mg/kg", Result{Op: Equal, Value: 0.32, Measure: MassShare}},
		{"0,32 mg/kg", Result{Op: Equal, Value: 0.32, Measure: MassShare}},
		{"<0.05 mg/kg", Result{Op: Below, Value: 0.05, Measure: MassShare}},
		{" < 0.05 mg / kg ", Result{Op: Below, Value: 0.05, Measure: MassShare}},
		{"less than 5 ppb", Result{Op: Below, Value: 0.005, Measure: MassShare}},
		{"≤ 1 µg/g", Result{Op: Below, Value: 1, Measure: MassShare}},
		{"0.30 ± 0.05 mg/kg", Result{Op: Equal, Value: 0.30, Spread: 0.05, Measure: MassShare}},
		{"300 +/- 50 µg/kg", Result{Op: Equal, Value: 0.3, Spread: 0.05, Measure: MassShare}},
		{"2.0 ± 10 % mg/kg", Result{Op: Equal, Value: 2, Spread: 0.2, Measure: MassShare}},
		{"6.8 %", Result{Op: Equal, Value: 68000, Measure: MassShare}},
		{"6.8 ± 0.2 %", Result{Op: Equal, Value: 68000, Spread: 2000, Measure: MassShare}},
		{"1.2e4 CFU/g", Result{Op: Equal, Value: 12000, Measure: PerGram}},
		{"1.2 x 10^4 cfu/g", Result{Op: Equal, Value: 12000, Measure: PerGram}},
		{"> 300000 cfu/g", Result{Op: Above, Value: 300000, Measure: PerGram}},
		{"4 log cfu/g", Result{Op: Equal, Value: 10000, Measure: PerGram}},
		{"< 10 cfu/g", Result{Op: Below, Value: 10, Measure: PerGram}},
		{"absent in 25 g", Result{Op: Absent, InG: 25, Measure: PerGram}},
		{"Not detected in 10g", Result{Op: Absent, InG: 10, Measure: PerGram}},
		{"negative/25 g", Result{Op: Absent, InG: 25, Measure: PerGram}},
		{"present in 25 g", Result{Op: Present, InG: 25, Measure: PerGram}},
		{"detected", Result{Op: Present, Measure: PerGram}},
	}
	for _, r := range rows {
		got, err := ParseResult(r.text)
		if err != nil {
			t.Errorf("%q: %v", r.text, err)
			continue
		}
		if got.Op != r.want.Op || got.Measure != r.want.Measure || math.Abs(got.Value-r.want.Value) > 1e-9*(1+r.want.Value) || math.Abs(got.Spread-r.want.Spread) > 1e-9*(1+r.want.Spread) || math.Abs(got.InG-r.want.InG) > 1e-12 {
			t.Errorf("%q: %+v, want %+v", r.text, got, r.want)
		}
	}
	for _, text := range []string{"", "0.32", "< 0.05", "not detected", "nd", "absent", "absent in", "absent in 25", "absent in 0 g", "0.3 furlongs", "mg/kg", "-1 mg/kg", "<0 mg/kg", "0.3 ± mg/kg", "<0.3 ± 0.1 mg/kg", "1,234.5 mg/kg", "NaN mg/kg", "1e999 mg/kg", "120 %", "3 log mg/kg", "99 log cfu/g", "safe", "ok", strings.Repeat("9", 300), "\xff mg/kg"} {
		got, err := ParseResult(text)
		var in *InputError
		if !errors.As(err, &in) || in.Field != "result" || in.Hint == "" {
			t.Errorf("%q was taken as %+v, %v", text, got, err)
		}
	}
}

func TestJudge(t *testing.T) {
	lead := Limit{Measure: MassShare, Max: 3}
	salmonella := Limit{Measure: PerGram, AbsentG: 25}
	flora := Limit{Measure: PerGram, Max: 100}
	rows := []struct {
		result  string
		limit   Limit
		verdict Verdict
		why     Why
	}{
		{"0.32 mg/kg", lead, Passed, WithinLimit},
		{"3.0 mg/kg", lead, Passed, WithinLimit},
		{"3.1 mg/kg", lead, Failed, OverLimit},
		{"2.8 ± 0.4 mg/kg", lead, Missing, SpreadReaches},
		{"3.2 ± 0.4 mg/kg", lead, Failed, OverLimit},
		{"<0.05 mg/kg", lead, Passed, WithinLimit},
		{"<5 mg/kg", lead, Missing, DetectionHigh},
		{">5 mg/kg", lead, Failed, OverLimit},
		{">1 mg/kg", lead, Missing, OpenAbove},
		{"10 cfu/g", lead, Missing, OtherMeasure},
		{"absent in 25 g", salmonella, Passed, AbsentEnough},
		{"absent in 10 g", salmonella, Missing, LittleLooked},
		{"present in 25 g", salmonella, Failed, WasFound},
		{"3 cfu/g", salmonella, Failed, WasFound},
		{"<10 cfu/g", salmonella, Missing, LittleLooked},
		{"0 cfu/g", salmonella, Missing, LittleLooked},
		{"absent in 1 g", flora, Passed, WithinLimit},
		{"120 cfu/g", flora, Failed, OverLimit},
		{"detected", flora, Missing, OpenAbove},
	}
	for _, r := range rows {
		res, err := ParseResult(r.result)
		if err != nil {
			t.Fatal(err)
		}
		if v, w := Judge(res, r.limit); v != r.verdict || w != r.why {
			t.Errorf("%s against %+v: %s, %s; want %s, %s", r.result, r.limit, v, w, r.verdict, r.why)
		}
	}
	// Passed needs proof: the worst that a passed result leaves open is within.
	rapid.Check(t, func(t *rapid.T) {
		l := Limit{Measure: MassShare, Max: rapid.Float64Range(0.001, 100).Draw(t, "max")}
		r := Result{Op: rapid.SampledFrom([]Op{Equal, Below, Above}).Draw(t, "op"), Value: rapid.Float64Range(0, 200).Draw(t, "value"), Spread: rapid.Float64Range(0, 50).Draw(t, "spread"), Measure: MassShare}
		if v, _ := Judge(r, l); v == Passed && (r.Op == Above || r.Op == Equal && r.Value+r.Spread > l.Max*(1+1e-8) || r.Op == Below && r.Value > l.Max*(1+1e-8)) {
			t.Fatalf("%+v passed %g", r, l.Max)
		}
	})
}

func TestTables(t *testing.T) {
	if len(Limits("farm")) < 12 {
		t.Error("the default plan is thin")
	}
	for _, l := range Limits("") {
		if l.Source == "" || l.Read == "" || l.Of == "" || l.Standing == "" || (l.AbsentG > 0) == (l.Max > 0) {
			t.Errorf("%+v", l)
		}
	}
	for _, want := range []struct {
		place, analyte string
		max            float64
	}{{"eu", Lead, 3}, {"eu", Cadmium, 1}, {"eu", Mercury, 0.1}, {"eu", BaP, 0.01}, {"eu", PAH4, 0.05}, {"us", Microcystin, 1}} {
		got := LimitsOf(want.place, want.analyte)
		if len(got) != 1 {
			t.Fatalf("%s %s: %d limits", want.place, want.analyte, len(got))
		}
		near(t, want.place+" "+want.analyte, got[0].Max, want.max, 1e-12, "eu2023, eu2015, gilroy2000")
	}
	for _, d := range DailyLimits() {
		if !(d.UgPerDay > 0) || d.Source == "" {
			t.Errorf("%+v", d)
		}
	}
	for _, p := range PrimerSets() {
		for _, seq := range append([]string{p.Forward}, p.Reverse...) {
			if len(seq) < 17 || strings.Trim(seq, "ACGTRYSWKMBDHVN") != "" {
				t.Errorf("%s: %q", p.Name, seq)
			}
		}
	}
	// The reach of CYA359F and CYA781R on the numbering of E. coli: 359 to 805.
	p, _ := PrimerSet("16s-359")
	near(t, "16S 359 to 805", p.ProductBP, 805-359+1, 1e-9, "nubel1997: the primers' places")
	p, _ = PrimerSet("16s-106")
	near(t, "16S 106 to 805", p.ProductBP, 805-106+1, 1e-9, "nubel1997: the primers' places")
	for _, l := range KnownLadders() {
		for i := 1; i < len(l.BP); i++ {
			if l.BP[i] >= l.BP[i-1] {
				t.Errorf("%s does not fall", l.Name)
			}
		}
	}
	if _, ok := PrimerSet("none"); ok {
		t.Error("a set that is none")
	}
}

func FuzzParseResult(f *testing.F) {
	for _, s := range []string{"<0.05 mg/kg", "0.30 ± 0.05 mg/kg", "1.2 x 10^4 cfu/g", "absent in 25 g", "4 log cfu/g", "6,8 %", "nd", "1e", "1e+ mg/kg", "± %"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		r, err := ParseResult(s)
		if err != nil {
			var in *InputError
			if !errors.As(err, &in) || in.Field != "result" {
				t.Fatalf("%q: %v", s, err)
			}
			return
		}
		if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) || r.Value < 0 || r.Spread < 0 || r.InG < 0 || r.Measure == "" {
			t.Fatalf("%q is %+v", s, r)
		}
		for _, l := range Limits("farm") {
			if v, _ := Judge(r, l); v != Passed && v != Failed && v != Missing {
				t.Fatalf("%q: %s", s, v)
			}
		}
	})
}
