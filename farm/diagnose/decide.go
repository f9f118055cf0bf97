package diagnose

import (
	"cmp"
	"math"
	"slices"
)

// acts gathers what to do and what to leave. An act that a likely cause forbids
// is never asked for: where another likely cause needs it, it waits for the
// check.
func (t *Table) acts(f *Finding) {
	forbidden := map[string]bool{}
	weight := map[string]float64{}
	var hour, do, dont []string
	for rank, r := range f.Causes {
		c := &t.Causes[t.causeIndex(r.ID)]
		if r.Chance < Likely && rank > 0 {
			continue
		}
		for _, a := range c.Dont {
			forbidden[a] = true
			weight["dont."+a] += r.Chance
			dont = append(dont, a)
		}
		for _, a := range c.Hour {
			weight["hour."+a] += r.Chance
			hour = append(hour, a)
		}
		for _, a := range c.Do {
			weight["do."+a] += r.Chance
			do = append(do, a)
		}
	}
	pick := func(list []string, kind string) []string {
		var out []string
		for _, a := range list {
			switch {
			case slices.Contains(out, a):
			case kind != "dont." && forbidden[a]:
				if !slices.Contains(f.Waits, a) {
					f.Waits = append(f.Waits, a)
				}
			default:
				out = append(out, a)
			}
		}
		slices.SortStableFunc(out, func(a, b string) int { return cmp.Compare(weight[kind+b], weight[kind+a]) })
		return out
	}
	f.Hour, f.Do, f.Dont = pick(hour, "hour."), pick(do, "do."), pick(dont, "dont.")
	f.Do = slices.DeleteFunc(f.Do, func(a string) bool { return slices.Contains(f.Hour, a) })
}

// noFrom is the probability of causes that forbid eating from which on the
// answer is no [1]. Judgement, no source: one in twenty is far too much for food.
const noFrom = 0.05

// eat says whether a harvest may be eaten: no, or not shown.
func (t *Table) eat(f *Finding, seen Seen, rec Record) {
	f.Eat = EatNotShown
	if rec.Held {
		f.EatFor = append(f.EatFor, "held")
	}
	for _, s := range t.Signs {
		if s.Eat == EatNo && seen.Signs[s.ID] {
			f.EatFor = append(f.EatFor, "sign."+s.ID)
		}
	}
	sum := 0.0
	for _, r := range f.Causes {
		if r.Eat == EatNo {
			sum += r.Chance
		}
	}
	if sum >= noFrom {
		for _, r := range f.Causes {
			if r.Eat == EatNo && r.Chance >= math.Min(noFrom, sum/2) {
				f.EatFor = append(f.EatFor, "cause."+r.ID)
			}
		}
		f.Eat = EatNo
	}
	if len(f.EatFor) > 0 {
		f.Eat = EatNo
	}
}

// end says how it goes on: restarted where that is likelier needed than not,
// else as the leading cause that can be kept says.
func (t *Table) end(f *Finding, rec Record) {
	lost, kept := 0.0, End("")
	for _, r := range f.Causes {
		if r.End == Restart {
			lost += r.Chance
		} else if kept == "" {
			kept = r.End
		}
	}
	f.End = kept
	if lost >= 0.5 {
		f.End = Restart
	}
	f.Days = daysOf(f.Causes)
	f.Again = rec.Reserve.Start()
}

// daysOf are the days until it is well again if it is kept: of the causes that
// can be kept, the low end that one in five weights stays below and the high end
// that four in five stay below.
func daysOf(causes []Ranked) Span {
	quantile := func(share float64, end func(Span) float64) float64 {
		list := slices.DeleteFunc(slices.Clone(causes), func(r Ranked) bool { return r.End == Restart })
		slices.SortStableFunc(list, func(a, b Ranked) int { return cmp.Compare(end(a.Days), end(b.Days)) })
		all, sum := 0.0, 0.0
		for _, r := range list {
			all += r.Chance
		}
		for _, r := range list {
			if sum += r.Chance; sum >= share*all {
				return end(r.Days)
			}
		}
		return 0
	}
	s := Span{Low: quantile(0.2, func(d Span) float64 { return d.Low }), High: quantile(0.8, func(d Span) float64 { return d.High })}
	s.High = math.Max(s.Low, s.High)
	return s
}

// Reserve is what a vessel could be started again from.
type Reserve struct {
	Vessel  string  // which vessel holds it; empty for none
	Litres  float64 // of culture that can be taken [L]
	GPerL   float64 // its density [g/L]
	AgeDays float64 // since it was last renewed [d]; NaN: not known
	Looked  bool    // it was looked at under the microscope in the last 14 days, and nothing foreign was seen

	FillL    float64 // volume that the vessel holds when full [L]; 0: not known
	LeastGL  float64 // density that the vessel must be left with [g/L]
	CostPerL float64 // of a litre of its medium, in the farm's money [1/L]; NaN: not known
}

// Start is what starting again from the reserve would take.
type Start struct {
	Possible bool    `json:"possible"`
	Vessel   string  `json:"vessel,omitempty"`
	Days     Span    `json:"days"`
	Likely   float64 `json:"likely_d"`        // days at the middle rate [d]
	MediumL  float64 `json:"medium_l"`        // medium to be mixed in all [L]
	Cost     float64 `json:"cost,omitempty"`  // of the medium, in the farm's money [1]; 0: not known
	Old      bool    `json:"old,omitempty"`   // older than a reserve should be
	Looked   bool    `json:"looked"`          // the reserve was looked at
	Why      string  `json:"why,omitempty"`   // where it is not possible: "no_reserve", "no_volume"
	Grams    float64 `json:"grams,omitempty"` // dry matter to begin with [g]
}

// Net gain of a young culture that is given new medium as it thickens [1/d].
//
// Source: karemore2020, a daily removal of 0.135 to 0.16 balanced growth; the
// wider ends are common practice, no source: 10 to 20 % a day.
const rateLow, rateMid, rateHigh = 0.10, 0.15, 0.20

// ReserveDays is the age from which a reserve counts as old [d]: two to four
// weeks, common practice, no source.
const ReserveDays = 28

// Start returns the days until the vessel is full again at the least density,
// ln(goal/grams)/rate with the rates above, and the medium that it takes.
func (r Reserve) Start() Start {
	out := Start{Vessel: r.Vessel, Looked: r.Looked, Old: r.AgeDays > ReserveDays}
	have, goal := r.Litres*r.GPerL, r.FillL*r.LeastGL
	switch {
	case r.Vessel == "" || !(have > 0):
		out.Why = "no_reserve"
		return out
	case !(goal > 0):
		out.Why = "no_volume"
		return out
	}
	ln := math.Max(math.Log(goal/have), 0)
	out.Possible, out.Grams = true, have
	out.Days = Span{Low: ln / rateHigh, High: ln / rateLow}
	out.Likely = ln / rateMid
	out.MediumL = math.Max(r.FillL-r.Litres, 0)
	if r.CostPerL > 0 {
		out.Cost = r.CostPerL * out.MediumL
	}
	return out
}
