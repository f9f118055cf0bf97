package assay

import "math"

// LaneKind is what was put into a lane.
type LaneKind string

// The kinds of lanes beside the ladder.
const (
	Sample     LaneKind = "sample"
	Positive   LaneKind = "positive"         // holds the target
	NoTemplate LaneKind = "no-template"      // water in place of an extract
	Blank      LaneKind = "extraction-blank" // taken through extraction without a sample
)

// LaneKinds returns all of them.
func LaneKinds() []LaneKind { return []LaneKind{Sample, Positive, NoTemplate, Blank} }

// Lane is one lane with the ways of its bands; a clean lane has none.
type Lane struct {
	Name  string
	Kind  LaneKind
	Bands []float64 // ways from the well [mm]
}

// Target is what a run looks for.
type Target struct {
	ExpectedBP  float64   // length of the product looked for [bp]
	Neighbours  []float64 // other products that this run may bring [bp]
	CompanionBP float64   // product that shows that the extract can be copied (16S), 0 for none [bp]
	// SampleShowsCompanion names samples whose companion was seen in another
	// lane or run of the same extract.
	SampleShowsCompanion map[string]bool
}

// Outcome is what a lane says of the target.
type Outcome string

// The outcomes. There is none that clears food.
const (
	Found    Outcome = "found"     // a band where the product is expected
	NotFound Outcome = "not-found" // this gene, in this extract, with this much of it
	Unclear  Outcome = "unclear"   // a band that may be the product or its neighbour
	Invalid  Outcome = "invalid"   // a control is missing or did not behave
)

// Reason says why, as a key that is put into words elsewhere.
type Reason string

// The reasons of a call.
const (
	NoPositive        Reason = "no-positive-control"
	NoNoTemplate      Reason = "no-no-template-control"
	NoBlank           Reason = "no-extraction-blank"
	PositiveFails     Reason = "positive-control-without-its-band"
	NoTemplateCarries Reason = "no-template-control-has-the-band"
	BlankCarries      Reason = "extraction-blank-has-the-band"
	BlankCompanion    Reason = "a-blank-has-the-companion-band"
	CompanionMissing  Reason = "no-companion-band-in-the-extract"
	NoCompanion       Reason = "no-companion-was-run"
	OutsideLadder     Reason = "the-product-lies-beyond-the-ladder"
	Neighbour         Reason = "the-product-cannot-be-told-from-its-neighbour"
	ControlsBehaved   Reason = "controls-behaved"
)

// Call is what one sample's lane says.
type Call struct {
	Lane    string
	Outcome Outcome
	Reason  Reason
	BP      float64 // of the band that decided, 0 without one [bp]
}

// Read returns a call for each sample lane. A run counts only if all hold:
//
//   - there is a positive control, and each has a band where the product is
//     expected;
//   - there is a no-template control and an extraction blank, and neither has a
//     band at the product or at the companion;
//   - the ladder reaches round the expected length.
//
// A sample without the product is not-found only if its extract shows the
// companion; one with a band is found only if the ladder separates the product
// from every neighbour and from the companion.
//
// A band of something that the ladder does not separate from the product may
// hide it: such a lane is unclear, never not-found.
//
// A missing control makes every call invalid, never not-found.
//
// Source: controls of a run as bustin2009 (MIQE guidelines) asks for, from
// memory; that a sample needs its own companion: nubel1997 gives it.
func (l *Ladder) Read(lanes []Lane, t Target, r Reader) ([]Call, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	if !(t.ExpectedBP >= 1 && t.ExpectedBP <= 1e6) {
		return nil, bad("expected_bp", "", "expected_bp is not between 1 and a million")
	}
	var samples []Lane
	seen := map[LaneKind]bool{}
	why := Reason("")
	note := func(x Reason) {
		if why == "" {
			why = x
		}
	}
	if math.IsNaN(l.MMAt(t.ExpectedBP)) {
		note(OutsideLadder)
	}
	for _, lane := range lanes {
		has, _, err := l.bandAt(lane, t.ExpectedBP, r)
		if err != nil {
			return nil, err
		}
		companion := false
		if t.CompanionBP > 0 {
			if companion, _, err = l.bandAt(lane, t.CompanionBP, r); err != nil {
				return nil, err
			}
		}
		seen[lane.Kind] = true
		switch lane.Kind {
		case Sample:
			samples = append(samples, lane)
		case Positive:
			if !has {
				note(PositiveFails)
			}
		case NoTemplate:
			if has {
				note(NoTemplateCarries)
			} else if companion {
				note(BlankCompanion)
			}
		case Blank:
			if has {
				note(BlankCarries)
			} else if companion {
				note(BlankCompanion)
			}
		default:
			return nil, bad("lanes", "one of sample, positive, no-template, extraction-blank", "lanes names a kind that is not known")
		}
	}
	for _, need := range []struct {
		kind      LaneKind
		otherwise Reason
	}{{Positive, NoPositive}, {NoTemplate, NoNoTemplate}, {Blank, NoBlank}} {
		if !seen[need.kind] {
			note(need.otherwise)
		}
	}
	calls := make([]Call, 0, len(samples))
	for _, lane := range samples {
		c := Call{Lane: lane.Name, Outcome: Invalid, Reason: why}
		if why == "" {
			var err error
			if c, err = l.call(lane, t, r); err != nil {
				return nil, err
			}
		}
		calls = append(calls, c)
	}
	return calls, nil
}

func (l *Ladder) call(lane Lane, t Target, r Reader) (Call, error) {
	c := Call{Lane: lane.Name}
	has, bp, err := l.bandAt(lane, t.ExpectedBP, r)
	if err != nil {
		return c, err
	}
	others := t.Neighbours
	if t.CompanionBP > 0 {
		others = append(others[:len(others):len(others)], t.CompanionBP)
	}
	told, hidden := true, false
	for _, o := range others {
		// A product beyond the ladder is far from one within, unless it is near its end.
		if l.Separates(t.ExpectedBP, o, r) || l.farBeyond(t.ExpectedBP, o, r) {
			continue
		}
		told = false
		// A band of the other one in this lane may hide one of the product.
		near, _, err := l.bandAt(lane, o, r)
		if err != nil {
			return c, err
		}
		hidden = hidden || near
	}
	if has {
		c.BP = bp
		c.Outcome, c.Reason = Found, ControlsBehaved
		if !told {
			c.Outcome, c.Reason = Unclear, Neighbour
		}
		return c, nil
	}
	companion := t.SampleShowsCompanion[lane.Name]
	if !companion && t.CompanionBP > 0 {
		if companion, _, err = l.bandAt(lane, t.CompanionBP, r); err != nil {
			return c, err
		}
	}
	switch {
	case hidden:
		c.Outcome, c.Reason = Unclear, Neighbour
	case companion:
		c.Outcome, c.Reason = NotFound, ControlsBehaved
	case t.CompanionBP > 0:
		c.Outcome, c.Reason = Invalid, CompanionMissing
	default:
		c.Outcome, c.Reason = Invalid, NoCompanion
	}
	return c, nil
}

// farBeyond reports whether other lies outside the ladder and the interval round
// expected does not reach the ladder's end on that side.
func (l *Ladder) farBeyond(expected, other float64, r Reader) bool {
	s, err := l.Size(l.MMAt(expected), r)
	if err != nil {
		return false
	}
	long, short := l.rungs[0].BP, l.rungs[len(l.rungs)-1].BP
	return other > long && s.Range.High < long || other < short && s.Range.Low > short
}

// bandAt reports whether a lane has a band whose interval holds a length, and
// the size of the band that lies nearest to it.
func (l *Ladder) bandAt(lane Lane, bp float64, r Reader) (has bool, nearest float64, err error) {
	off := 0.0
	for _, mm := range lane.Bands {
		s, err := l.Size(mm, r)
		if err != nil {
			return false, 0, err
		}
		if s.Place != Within || !s.Range.Holds(bp) {
			continue
		}
		d := s.BP - bp
		if d < 0 {
			d = -d
		}
		if !has || d < off {
			has, nearest, off = true, s.BP, d
		}
	}
	return has, nearest, nil
}
