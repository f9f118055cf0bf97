package assay

import "math"

// Standing says what weight a limit has.
type Standing string

// The standings of limits.
const (
	Law    Standing = "law"
	Advice Standing = "advice"    // of an authority or an expert body
	Trade  Standing = "trade"     // a specification between buyer and seller
	House  Standing = "judgement" // this program's own default
)

// Limit is one limit for dried product, with its date and place.
type Limit struct {
	Place    string // "eu", "us", "cn", "fr", "in", or "farm" for the default plan
	Analyte  string // key, see Analytes
	Measure  Measure
	Max      float64 // most that is allowed; 0 where absence is asked for [mg/kg or 1/g, by Measure]
	AbsentG  float64 // grams in which it must be absent, 0 where Max counts [g]
	Standing Standing
	Since    string // when it came into force or was published, as far as known
	Of       string // what it is for
	Source   string
	Read     string // part, abstract, data, quoted or memory, as in docs/sources.md
}

// Verdict is one of three words.
type Verdict string

// The verdicts. None of them speaks of a lot as a whole.
const (
	Passed  Verdict = "passed"
	Failed  Verdict = "failed"
	Missing Verdict = "missing" // this result cannot tell
)

// Why says what decided, as a key that is put into words elsewhere.
type Why string

// The reasons of a verdict.
const (
	WithinLimit   Why = "within-the-limit"
	OverLimit     Why = "over-the-limit"
	SpreadReaches Why = "uncertainty-reaches-over-the-limit"
	DetectionHigh Why = "limit-of-detection-above-the-limit"
	OpenAbove     Why = "only-known-to-be-above-something"
	LittleLooked  Why = "too-little-was-looked-at"
	AbsentEnough  Why = "absent-in-the-portion-asked-for"
	WasFound      Why = "found-where-absence-is-asked-for"
	OtherMeasure  Why = "result-and-limit-measure-different-things"
)

// Judge holds a result against a limit. What cannot be decided is missing, never
// passed: a limit of detection above the limit, an uncertainty that reaches over
// it, a smaller portion than the limit asks for, a value in another measure.
func Judge(r Result, l Limit) (Verdict, Why) {
	if r.Measure != l.Measure {
		return Missing, OtherMeasure
	}
	if l.AbsentG > 0 {
		switch r.Op {
		case Absent:
			if r.InG >= l.AbsentG*(1-1e-9) {
				return Passed, AbsentEnough
			}
			return Missing, LittleLooked
		case Present, Above:
			return Failed, WasFound
		case Below:
			return Missing, LittleLooked // a count below something is not an absence
		}
		if r.Value > 0 {
			return Failed, WasFound
		}
		return Missing, LittleLooked
	}
	switch r.Op {
	case Absent: // none in InG: fewer than one in that much
		if 1/r.InG <= l.Max {
			return Passed, WithinLimit
		}
		return Missing, DetectionHigh
	case Present:
		return Missing, OpenAbove
	case Below:
		if r.Value <= l.Max*(1+1e-9) {
			return Passed, WithinLimit
		}
		return Missing, DetectionHigh
	case Above:
		if r.Value >= l.Max {
			return Failed, OverLimit
		}
		return Missing, OpenAbove
	}
	switch {
	case math.IsNaN(r.Value):
		return Missing, OtherMeasure
	case r.Value > l.Max*(1+1e-9):
		return Failed, OverLimit
	case r.Value+r.Spread > l.Max*(1+1e-9):
		return Missing, SpreadReaches
	}
	return Passed, WithinLimit
}

// Limits returns the limits of a place, all of them for "".
func Limits(place string) []Limit {
	var out []Limit
	for _, l := range limits {
		if place == "" || l.Place == place {
			out = append(out, l)
		}
	}
	return out
}

// LimitsOf returns the limits on one analyte at a place, those of all places
// for "".
func LimitsOf(place, analyte string) []Limit {
	var out []Limit
	for _, l := range Limits(place) {
		if l.Analyte == analyte {
			out = append(out, l)
		}
	}
	return out
}

// DailyLimit is a limit on what one person takes in a day.
type DailyLimit struct {
	Place    string
	Analyte  string
	UgPerDay float64 // for an adult [µg/d]
	Standing Standing
	Source   string
	Read     string
}

// DailyLimits returns the limits by day, for an adult.
func DailyLimits() []DailyLimit { return append([]DailyLimit(nil), dailyLimits...) }

// ToxinTDI is the tolerable daily intake of microcystin-LR by body weight
// [µg/kg/d], 0.04. Source: who1998, as ansesopinion2017 reports it.
const ToxinTDI = 0.04
