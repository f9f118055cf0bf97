package calc

import (
	"encoding/json"
	"fmt"
	"strings"

	"sodalake/science/assay"
)

type gelRung struct {
	BP float64 `json:"bp" label:"Length" unit:"bp"`
	MM float64 `json:"mm" label:"Way from the well" unit:"mm"`
}

type gelBand struct {
	Lane string  `json:"lane" label:"Lane" kind:"text"`
	MM   float64 `json:"mm" label:"Way from the well" unit:"mm"`
}

type gelLane struct {
	Lane string `json:"lane" label:"Lane" kind:"text"`
	Kind string `json:"kind" label:"Holds" kind:"text"`
}

type gelIn struct {
	Ladder     []gelRung     `json:"ladder" label:"Ladder, a band a line" kind:"rows" help:"bp, its length, and mm, its way from the well; three bands at least"`
	Bands      []gelBand     `json:"bands" label:"Bands, one a line" kind:"rows" help:"lane and mm, its way from the well"`
	Lanes      []gelLane     `json:"lanes" label:"Lanes, one a line" kind:"rows" help:"lane and kind: sample, positive, no-template, extraction-blank; those without a band too. Without controls every call is invalid"`
	Assay      string        `json:"assay,omitempty" label:"Primers" help:"hep, mcya-cd, mcye-general, anac, sxta, cyrj: gives expected_bp"`
	ExpectedBP *float64      `json:"expected_bp" label:"Product looked for" unit:"bp" min:"1" max:"1000000"`
	Companion  *float64      `json:"companion_bp" label:"Product that shows that the extract can be copied (16S)" unit:"bp" min:"1" max:"1000000" help:"700 with CYA106F and CYA781R"`
	Neighbours []json.Number `json:"neighbours_bp" label:"Other products that may be there" unit:"bp" kind:"list"`
	Elsewhere  []string      `json:"companion_seen_in" label:"Samples whose companion was seen in another lane or run" kind:"list"`
	ReadingMM  float64       `json:"reading_error_mm" label:"Error of a reading" unit:"mm" min:"0" max:"20" default:"0.3"`
	Confidence float64       `json:"confidence" label:"Confidence" min:"0.5" max:"0.99999" default:"0.95"`
	TolPct     float64       `json:"tolerance_pct" label:"An interval is never narrower than" unit:"%" min:"0" max:"50" default:"5"`
	TolBP      float64       `json:"tolerance_bp" label:"nor than" unit:"bp" min:"0" max:"10000" default:"15"`
}

type gelSize struct {
	Lane      string   `json:"lane" label:"lane"`
	MM        float64  `json:"mm" label:"at" unit:"mm"`
	SizeBP    *float64 `json:"size_bp" label:"length" unit:"bp"`
	LowBP     *float64 `json:"low_bp" label:"from" unit:"bp"`
	HighBP    *float64 `json:"high_bp" label:"to" unit:"bp"`
	Piecewise *float64 `json:"piecewise_bp" label:"by lines from rung to rung" unit:"bp"`
	LogLinear *float64 `json:"log_linear_bp" label:"by one line" unit:"bp"`
	Beyond    string   `json:"beyond_ladder,omitempty" label:"beyond the ladder:"`
}

type gelCall struct {
	Lane   string   `json:"lane" label:"lane"`
	Call   string   `json:"call" label:"call:"`
	Reason string   `json:"reason" label:"key"`
	Why    string   `json:"why" label:"because"`
	SizeBP *float64 `json:"size_bp,omitempty" label:"band of" unit:"bp"`
}

type gelOut struct {
	Bands      []gelSize `json:"bands" label:"Bands" kind:"rows" help:"lane, mm, size_bp with its interval low_bp to high_bp, piecewise_bp, log_linear_bp, beyond_ladder"`
	Calls      []gelCall `json:"calls" label:"Calls" kind:"rows" help:"lane, call (found, not-found, unclear, invalid), reason, why, size_bp"`
	ExpectedBP *float64  `json:"expected_bp,omitempty" label:"Product looked for" unit:"bp"`
	Intercept  float64   `json:"log_linear_intercept" label:"One line of log10 length: at the well"`
	Slope      float64   `json:"log_linear_slope_per_mm" label:"its slope" unit:"1/mm"`
	R2         float64   `json:"log_linear_r2" label:"its R²"`
	C          *float64  `json:"southern_c_bp_mm" label:"Southern's law through all rungs, c" unit:"bp mm"`
	M0MM       *float64  `json:"southern_m0_mm" label:"m0" unit:"mm"`
	L0BP       *float64  `json:"southern_l0_bp" label:"L0" unit:"bp"`
	RMSPct     *float64  `json:"southern_rms_pct" label:"its error over all rungs" unit:"%"`
	SelfPct    *float64  `json:"ladder_self_error_pct" label:"The ladder tells its own rungs within" unit:"%"`
	Told
}

// reasonsOfCalls says each reason of a call.
var reasonsOfCalls = map[assay.Reason]string{
	assay.NoPositive:        "there is no positive control: a lane without a band may only mean that the run failed",
	assay.NoNoTemplate:      "there is no control without template: a band may come from the reagents",
	assay.NoBlank:           "there is no extraction blank: a band may come from the extraction",
	assay.PositiveFails:     "the positive control has no band at the expected length",
	assay.NoTemplateCarries: "the control without template has the band: the whole target is void",
	assay.BlankCarries:      "the extraction blank has the band: the whole target is void",
	assay.BlankCompanion:    "a blank has the companion's band: something was carried over",
	assay.CompanionMissing:  "the extract does not show the companion: it may hold back copying, repeat it at 1:10",
	assay.NoCompanion:       "no companion (16S) was run on this extract: nothing shows that it can be copied",
	assay.OutsideLadder:     "the expected product lies beyond the ladder",
	assay.Neighbour:         "this gel cannot tell the product from its neighbour",
	assay.ControlsBehaved:   "the controls behaved",
}

// Gel is the calculator of fragment sizes.
func Gel() *Calculator {
	return Define(About{
		Name: "gel", Title: "Read a gel",
		Sentence: "Lengths of bands from a ladder, each with its interval, and a call only where the controls behaved and the gel separates the product from its neighbours.",
		Equations: []string{
			"L = c/(m - m0) + L0 through three rungs; local: the mean of the law through two longer and one shorter neighbour and of that through one longer and two shorter (Southern 1979, Elder & Southern 1983)",
			"all rungs: c, m0, L0 with the least squared error in proportion to length",
			"for comparison: log10 L = a + b m, by one line and from rung to rung",
			"half-width = max(5 %, 15 bp, sqrt((z s)^2 + ((first - second)/2)^2)), s the errors of reading of band and rungs carried through",
		},
		Sources: []Source{
			{"southern1979", "Southern 1979, Analytical Biochemistry 100:319"},
			{"elder1983", "Elder & Southern 1983, Analytical Biochemistry 128:227"},
			{"bustin2009", "Bustin et al. 2009, Clinical Chemistry 55:611 (controls, from memory)"},
			{"", "0.3 mm of reading, 5 % and 15 bp at least: judgement, no source"},
		},
		Cautions: []string{
			"DNA stains can harm and ultraviolet light burns eyes and skin: gloves, a shield, and waste by local rules.",
			"A gene is not a toxin, and a gene that was not found says: this gene, this extract, this much. It ends no hold that a seen filament began.",
		},
		Example: `{"ladder":[{"bp":1000,"mm":15.4},{"bp":700,"mm":19.1},{"bp":500,"mm":23.5},{"bp":400,"mm":26.8},{"bp":300,"mm":31.7}],"bands":[{"lane":"S1","mm":24.3}]}`,
	}, computeGel)
}

func computeGel(in gelIn) (gelOut, error) {
	var out gelOut
	rungs := make([]assay.Rung, len(in.Ladder))
	for i, r := range in.Ladder {
		rungs[i] = assay.Rung{BP: r.BP, MM: r.MM}
	}
	l, err := assay.NewLadder(rungs)
	if err != nil {
		return out, fromAssay(err)
	}
	if len(in.Bands)+len(in.Lanes) == 0 {
		return out, invalid("bands", "one for each band, with its lane and its way", "bands are missing")
	}
	if len(in.Bands) > 500 || len(in.Lanes) > 200 {
		return out, invalid("bands", "", "bands or lanes are more than a gel can hold")
	}
	reader := assay.Reader{ReadingMM: in.ReadingMM, Confidence: in.Confidence, LeastShare: in.TolPct / 100, LeastBP: in.TolBP}
	out.Bands, out.Calls = []gelSize{}, []gelCall{}
	for _, b := range in.Bands {
		s, err := l.Size(b.MM, reader)
		if err != nil {
			return out, fromAssay(err)
		}
		row := gelSize{Lane: b.Lane, MM: b.MM, SizeBP: finite(s.BP), LowBP: finite(s.Range.Low), HighBP: finite(s.Range.High), Piecewise: finite(s.Piecewise), LogLinear: finite(s.LogLinear)}
		switch s.Place {
		case assay.Longer:
			row.Beyond = "longer than its longest rung"
		case assay.Shorter:
			row.Beyond = "shorter than its shortest rung"
		}
		if row.Beyond != "" {
			out.Cautions = append(out.Cautions, fmt.Sprintf("The band of lane %q at %s mm lies beyond the ladder and is not sized; the one line runs on there, and it is wrong at both ends.", b.Lane, Digits(b.MM)))
		}
		out.Bands = append(out.Bands, row)
	}
	out.Intercept, out.Slope, out.R2 = l.Intercept, l.Slope, l.R2
	law, rms := l.LeastSquares()
	out.C, out.M0MM, out.L0BP, out.RMSPct = finite(law.C), finite(law.M0MM), finite(law.L0BP), finite(100*rms)
	out.SelfPct = finite(100 * l.SelfError())
	if out.SelfPct != nil && *out.SelfPct > 4 {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Left out one at a time, the ladder's own rungs come out wrong by %s %%: see whether a rung was missed or mistaken.", Digits(*out.SelfPct)))
	}
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("bands and rungs are read within %s mm (one standard error)", Digits(in.ReadingMM)),
		fmt.Sprintf("intervals at %s %%, never narrower than %s %% or %s bp", Digits(100*in.Confidence), Digits(in.TolPct), Digits(in.TolBP)))
	return out, out.call(in, l, reader)
}

// call adds the calls, where it is said what is looked for.
func (out *gelOut) call(in gelIn, l *assay.Ladder, reader assay.Reader) error {
	t := assay.Target{SampleShowsCompanion: map[string]bool{}}
	switch {
	case in.Assay != "":
		p, ok := assay.PrimerSet(in.Assay)
		if !ok {
			return invalid("assay", "known are "+primerNames(), "assay %q is not known", in.Assay)
		}
		if in.ExpectedBP != nil {
			return invalid("expected_bp", "say one of them", "assay and expected_bp are both given")
		}
		t.ExpectedBP = p.ProductBP
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("%s gives %g bp (%s)", p.Name, p.ProductBP, p.Source))
	case in.ExpectedBP != nil:
		t.ExpectedBP = *in.ExpectedBP
	default:
		if in.Companion != nil || len(in.Neighbours) > 0 || len(in.Lanes) > 0 {
			return invalid("expected_bp", "or assay", "expected_bp is missing: without it there is no call")
		}
		out.Assumptions = append(out.Assumptions, "no product was named, so bands are sized and nothing is called")
		return nil
	}
	out.ExpectedBP = &t.ExpectedBP
	if in.Companion != nil {
		t.CompanionBP = *in.Companion
	}
	for _, n := range in.Neighbours {
		x, err := n.Float64()
		if err != nil || !(x >= 1 && x <= 1e6) {
			return invalid("neighbours_bp", "", "neighbours_bp %q is not a length", n.String())
		}
		t.Neighbours = append(t.Neighbours, x)
	}
	for _, s := range in.Elsewhere {
		t.SampleShowsCompanion[s] = true
	}
	lanes, err := gelLanes(in)
	if err != nil {
		return err
	}
	calls, err := l.Read(lanes, t, reader)
	if err != nil {
		return fromAssay(err)
	}
	for _, c := range calls {
		row := gelCall{Lane: c.Lane, Call: string(c.Outcome), Reason: string(c.Reason), Why: reasonsOfCalls[c.Reason]}
		if c.BP > 0 {
			row.SizeBP = finite(c.BP)
		}
		out.Calls = append(out.Calls, row)
		if c.Outcome == assay.Found {
			out.Cautions = append(out.Cautions, fmt.Sprintf("Lane %q has a band where the product is expected: hold the lot, repeat from a new extract and send a sample for its toxin.", c.Lane))
		}
	}
	others := append([]float64(nil), t.Neighbours...)
	if t.CompanionBP > 0 {
		others = append(others, t.CompanionBP)
	}
	for _, o := range others {
		if !l.Separates(t.ExpectedBP, o, reader) {
			out.Cautions = append(out.Cautions, fmt.Sprintf("%g and %g bp cannot be told apart on this gel.", t.ExpectedBP, o))
		}
	}
	return nil
}

// gelLanes gathers the bands of each lane. A lane that was not described is a
// sample.
func gelLanes(in gelIn) ([]assay.Lane, error) {
	var lanes []assay.Lane
	at := map[string]int{}
	kinds := map[string]bool{}
	for _, k := range assay.LaneKinds() {
		kinds[string(k)] = true
	}
	for _, l := range in.Lanes {
		if !kinds[l.Kind] {
			return nil, invalid("lanes", "one of sample, positive, no-template, extraction-blank", "lanes: kind %q is not known", l.Kind)
		}
		if _, twice := at[l.Lane]; twice {
			return nil, invalid("lanes", "", "lanes name %q twice", l.Lane)
		}
		at[l.Lane] = len(lanes)
		lanes = append(lanes, assay.Lane{Name: l.Lane, Kind: assay.LaneKind(l.Kind)})
	}
	for _, b := range in.Bands {
		i, known := at[b.Lane]
		if !known {
			i = len(lanes)
			at[b.Lane] = i
			lanes = append(lanes, assay.Lane{Name: b.Lane, Kind: assay.Sample})
		}
		lanes[i].Bands = append(lanes[i].Bands, b.MM)
	}
	return lanes, nil
}

func primerNames() string {
	var names []string
	for _, p := range assay.PrimerSets() {
		names = append(names, p.Name)
	}
	return strings.Join(names, ", ")
}
