package process

import "math"

// Growth is how long food may stand at temperatures at which an organism grows,
// summed up over its life. The limits are for ready-to-eat seafood: none was
// measured on spirulina, whose own flora and pH differ.
type Growth struct {
	Organism string
	Steps    []Step // from cold to warm
}

// Step is the longest time up to a temperature.
type Step struct {
	UpToC  float64 // warmest that this step holds for [°C]
	LimitS float64 // longest time [s]
}

const (
	hour = 3600.0
	day  = 24 * hour
)

// What is colder than the first step counts nothing; what is warmer than the last
// named bound counts by the last step, however warm: no step of this process is
// one that kills. Between two printed bands (6 and 7 °C) the warmer one counts.
//
// Source: fda2022, appendix 4, table A-2, from memory: check the edition in
// force before leaning on it.
var growths = []Growth{
	{"bacillus-cereus", []Step{{4, math.Inf(1)}, {6, 5 * day}, {15, day}, {21, 6 * hour}, {math.Inf(1), 3 * hour}}},
	{"listeria-monocytogenes", []Step{{-0.4, math.Inf(1)}, {5, 7 * day}, {10, day}, {21, 7 * hour}, {30, 3 * hour}, {math.Inf(1), hour}}},
	{"salmonella-and-e-coli", []Step{{7, math.Inf(1)}, {10, 2 * day}, {21, 5 * hour}, {math.Inf(1), 2 * hour}}},
	{"staphylococcus-aureus", []Step{{7, math.Inf(1)}, {10, 14 * day}, {21, 12 * hour}, {math.Inf(1), 3 * hour}}},
}

// Growths returns the limits of time by temperature for each organism.
func Growths() []Growth {
	out := append([]Growth(nil), growths...)
	for i := range out {
		out[i].Steps = append([]Step(nil), out[i].Steps...)
	}
	return out
}

// LimitS returns the longest time at a temperature [s], +Inf where it does not
// count, where tempC is the temperature of the food [°C].
func (g Growth) LimitS(tempC float64) float64 {
	for _, s := range g.Steps {
		if tempC <= s.UpToC {
			return s.LimitS
		}
	}
	return g.Steps[len(g.Steps)-1].LimitS // NaN: the worst
}

// Where says in which part of the process a lot was.
type Where string

// The parts of a lot's way. The clock runs from the pond until it is cold or its
// water activity is under WetActivity.
const (
	Wet    Where = "wet"    // cloth, press, table
	Drying Where = "drying" // in the dryer, until the water activity is under 0.92
	Cold   Where = "cold"   // refrigerator
	Frozen Where = "frozen"
	Dry    Where = "dry"
)

// Span is one stretch of a lot's way.
type Span struct {
	Where     Where
	DurationS float64 // how long [s]
	TempC     float64 // of the food [°C]
}

// Rule is one of the farm's own limits: three times at which to worry, to hold
// and to stop.
type Rule struct {
	Where    Where
	PlanS    float64 // to be done by [s]
	HoldS    float64 // the lot goes on hold [s]
	DiscardS float64 // it is thrown away or tested before anything else; +Inf for none [s]
	Source   string
}

// RefrigeratorC is the warmest that counts as cold [°C].
const RefrigeratorC = 5

// DefaultRules are the limits until a farm has validated its own on three of its
// worst lots, counted at the cloth, into the dryer and out of it. The wet stage
// counts what is warmer than RefrigeratorC; strictly kept, the seafood limits
// would hold every lot of an artisanal dryer, and a rule that holds every lot
// teaches people to ignore it.
//
// Source: judgement, no source.
func DefaultRules() []Rule {
	return []Rule{
		{Wet, 2 * hour, 3 * hour, 4 * hour, "judgement, no source"},
		{Drying, 5 * hour, 8 * hour, math.Inf(1), "judgement, no source; on hold with a test for S. aureus and B. cereus"},
		{Cold, 3 * day, 3 * day, 7 * day, "judgement, no source, between branyikova (14 days) and jourdan2014 (a week at 1 °C, unwashed)"},
	}
}

// FullyDryS is when a batch should be wholly dry [s], 12 h: judgement, no source.
const FullyDryS = 12 * hour

// Due is what a clock says.
type Due string

// From good to bad.
const (
	InTime     Due = "in-time"
	PlanPassed Due = "plan-passed"
	Hold       Due = "hold"
	Discard    Due = "discard-or-test"
)

// Tally is the sum of a lot's way.
type Tally struct {
	Where   Where   // of the rule
	SpentS  float64 // counted so far [s]
	Due     Due
	NextS   float64 // until the next of the rule's limits if it goes on as now; +Inf without one or where the clock stands [s]
	NextDue Due     // what comes then
}

// Exposure is the share of an organism's limit that is used up.
type Exposure struct {
	Organism string
	Used     float64 // Σ time over limit: over 1 the limit is passed [1]
	LeftS    float64 // time left at the last temperature; +Inf where it does not count [s]
}

// Clock sums a lot's way up: a tally for each rule, in their order, and the
// exposure to each organism:
//
//	used = Σ Δt / limit(T)
//
// The wet stage and the dryer count time that is warmer than RefrigeratorC, the
// cold stage all that is up to it; time that is marked cold but is warmer counts
// as wet. A span of negative or unknown length, or of unknown temperature, is
// refused.
//
// Source: the sum of shares is the usual reading of cumulative exposure in
// fda2022, appendix 4.
func Clock(way []Span, rules []Rule) ([]Tally, []Exposure, error) {
	spent := map[Where]float64{}
	exposures := make([]Exposure, len(growths))
	now, counted := 0.0, Where("")
	for i := range exposures {
		exposures[i].Organism = growths[i].Organism
		exposures[i].LeftS = math.Inf(1)
	}
	for _, s := range way {
		switch {
		case !(s.DurationS >= 0) || math.IsInf(s.DurationS, 0):
			return nil, nil, bad("way", "", "way holds a stretch of negative or endless time")
		case !(s.TempC >= -80 && s.TempC <= 150):
			return nil, nil, bad("way", "note the temperature of the food", "way holds a stretch without a temperature that can be")
		}
		as := s.Where
		switch s.Where {
		case Wet, Drying:
			if s.TempC <= RefrigeratorC {
				as = Cold
			}
		case Cold:
			if s.TempC > RefrigeratorC {
				as = Wet
			}
		case Frozen:
			if s.TempC > 0 { // it thawed: it is wet, or cold
				as = Wet
				if s.TempC <= RefrigeratorC {
					as = Cold
				}
			}
		case Dry:
		default:
			return nil, nil, bad("way", "one of wet, drying, cold, frozen, dry", "way names a stage that is not known")
		}
		spent[as] += s.DurationS
		now, counted = s.TempC, as
		if as == Frozen || as == Dry {
			continue
		}
		for i := range growths {
			exposures[i].Used += s.DurationS / growths[i].LimitS(s.TempC)
		}
	}
	for i := range exposures {
		if limit := growths[i].LimitS(now); counted != "" && counted != Frozen && counted != Dry && !math.IsInf(limit, 1) {
			exposures[i].LeftS = math.Max(0, (1-exposures[i].Used)*limit)
		}
	}
	tallies := make([]Tally, len(rules))
	for i, r := range rules {
		t := Tally{Where: r.Where, SpentS: spent[r.Where], Due: InTime, NextS: math.Inf(1)}
		for _, step := range []struct {
			at  float64
			due Due
		}{{r.PlanS, PlanPassed}, {r.HoldS, Hold}, {r.DiscardS, Discard}} {
			if t.SpentS >= step.at {
				t.Due = step.due
			} else if counted == r.Where && !math.IsInf(step.at, 1) && math.IsInf(t.NextS, 1) {
				t.NextS, t.NextDue = step.at-t.SpentS, step.due
			}
		}
		tallies[i] = t
	}
	return tallies, exposures, nil
}

// Stalled reports whether a dryer has stopped drying before it is done: over the
// last stretch the mass went down by less than a tenth of what the air should
// have carried. weighings are at least two and run forward, expectedGS is what
// the air can carry [g/s], goalG the mass to come to [g].
func Stalled(weighings []Weighing, expectedGS, goalG float64) bool {
	n := len(weighings)
	if n < 2 || !(expectedGS > 0) {
		return false
	}
	a, b := weighings[n-2], weighings[n-1]
	dt := b.TimeS - a.TimeS
	if !(dt >= SameApartS) || b.MassG <= goalG*1.01 {
		return false
	}
	// Near the end the paste gives slowly: what is left bounds what can be asked.
	return a.MassG-b.MassG < 0.1*math.Min(expectedGS*dt, a.MassG-goalG)
}
