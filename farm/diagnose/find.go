package diagnose

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"sodalake/farm"
	"sodalake/science/num"
)

// Seen is what was told of a culture. A sign that stands in no map was not
// looked for, and says nothing.
type Seen struct {
	Signs  map[string]bool   // true: seen; false: looked for, and not there
	Checks map[string]string // outcome by check
}

// Record is what the vessel's own journal and twin tell. What is not known is
// absent, and says nothing.
type Record struct {
	Facts   map[string]num.Band // by the ID of the fact, in the unit of its name; a number without a spread stands three times
	Held    bool                // a hold stands on the vessel
	Food    bool                // grown to be eaten
	Element string              // which salt other_carries_g_per_l speaks of
	Reserve Reserve
}

// Because is one thing that speaks for a cause or against it.
type Because struct {
	Kind   string   `json:"kind"` // "sign", "absent", "fact" or "check"
	ID     string   `json:"id"`
	Value  num.Band `json:"value,omitzero"`    // of a fact, in the unit of its name
	Answer string   `json:"outcome,omitempty"` // of a check
	Bits   float64  `json:"bits"`              // above zero it speaks for the cause, against the mean of all [bit]
}

// Ranked is a cause with its probability.
type Ranked struct {
	ID      string    `json:"id"`
	Chance  float64   `json:"chance"` // probability among the causes of the table [1]
	Eat     Eat       `json:"eat"`
	End     End       `json:"end"`
	Days    Span      `json:"days"` // until it is well again if it is kept
	Because []Because `json:"because,omitempty"`
}

// Span is a number of days from low to high.
type Span struct {
	Low  float64 `json:"low"`  // [d]
	High float64 `json:"high"` // [d]
}

// Probe is a check with what it is expected to tell.
type Probe struct {
	ID       string    `json:"id"`
	Gain     float64   `json:"gain_bits"` // by how much the entropy of the causes falls, on the mean over the outcomes [bit]
	Minutes  float64   `json:"minutes"`   // of work [min]
	Hours    float64   `json:"hours"`     // until the outcome is there [h]
	Needs    string    `json:"needs,omitempty"`
	Outcomes []Outcome `json:"outcomes"`
}

// Outcome is one way in which a check can come out.
type Outcome struct {
	ID     string  `json:"id"`
	Chance float64 `json:"chance"` // that it comes out so [1]
	Leads  string  `json:"leads"`  // the cause that then leads
	Then   float64 `json:"then"`   // its probability then [1]
}

// Finding is what comes of it all.
type Finding struct {
	Causes []Ranked `json:"causes"` // all of the table, the likeliest first
	Checks []Probe  `json:"checks"` // that are still open, the best first
	Hour   []string `json:"hour"`   // acts of the next hour, the most needed first
	Do     []string `json:"do"`     // acts afterwards, as far as no likely cause forbids them
	Waits  []string `json:"waits"`  // acts that one likely cause asks for and another forbids: after the check
	Dont   []string `json:"dont"`   // acts to leave
	Eat    Eat      `json:"eat"`
	EatFor []string `json:"eat_for"` // why not: signs ("sign.ID"), causes ("cause.ID"), "held"
	End    End      `json:"end"`
	Days   Span     `json:"days"` // until it is well again if it is kept
	Again  Start    `json:"again"`
	Clash  []string `json:"clash,omitempty"`
	Odd    bool     `json:"odd"` // no cause of the table explains what was seen
}

// Likely is the probability from which on a cause has a say in what is done and
// what is left [1]. Judgement, no source.
const Likely = 0.1

// noticeable is the weight from which on something is told as a reason [bit].
const noticeable = 0.3

// Find weighs the causes. What is not known to the table, and a sign that is
// said to be there and not there, is an error.
func (t *Table) Find(seen Seen, rec Record) (Finding, error) {
	if err := t.know(seen); err != nil {
		return Finding{}, err
	}
	ln := t.weigh(seen, rec)
	p := normal(ln)
	var f Finding
	for i := range t.Causes {
		c := &t.Causes[i]
		f.Causes = append(f.Causes, Ranked{ID: c.ID, Chance: p[i], Eat: c.Eat, End: c.End, Days: Span{c.Days[0], c.Days[1]}})
	}
	if err := finite(p); err != nil {
		return Finding{}, err
	}
	for i := range f.Causes {
		f.Causes[i].Because = t.because(i, seen, rec)
	}
	slices.SortStableFunc(f.Causes, func(a, b Ranked) int { return cmp.Compare(b.Chance, a.Chance) })
	f.Checks = t.splits(ln, p, seen, rec)
	t.acts(&f)
	t.eat(&f, seen, rec)
	t.end(&f, rec)
	f.Clash = t.clashes(seen, rec)
	f.Odd = f.Causes[0].ID == "unlisted" && len(seen.Signs) > 0
	return f, nil
}

// know refuses what the table does not know.
func (t *Table) know(seen Seen) error {
	for _, id := range slices.Sorted(maps.Keys(seen.Signs)) {
		if t.signIndex(id) < 0 {
			return t.unknown("sign", id, signIDs(t))
		}
	}
	for _, id := range slices.Sorted(maps.Keys(seen.Checks)) {
		i := t.checkIndex(id)
		if i < 0 {
			return t.unknown("check", id, checkIDs(t))
		}
		if out := seen.Checks[id]; !slices.Contains(t.Checks[i].Outcomes, out) {
			return t.unknown("check", id+":"+out, t.Checks[i].Outcomes)
		}
	}
	return nil
}

func (t *Table) unknown(field, id string, there []string) error {
	if len(id) > 60 {
		id = id[:60]
	}
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf("%s %q is unknown", field, id), Hint: "there are " + strings.Join(there, ", ")}
}

func signIDs(t *Table) []string {
	var out []string
	for _, s := range t.Signs {
		out = append(out, s.ID)
	}
	return out
}

func checkIDs(t *Table) []string {
	var out []string
	for _, c := range t.Checks {
		out = append(out, c.ID)
	}
	return out
}

// weigh is the logarithm of prior times likelihoods of every cause. It goes
// through the table, never through what was told, so that the order of taps
// cannot matter.
func (t *Table) weigh(seen Seen, rec Record) []float64 {
	ln := make([]float64, len(t.Causes))
	for i := range t.Causes {
		ln[i] = math.Log(t.Causes[i].Prior)
	}
	for s := range t.Signs {
		there, told := seen.Signs[t.Signs[s].ID]
		for i := range t.Causes {
			switch {
			case told && there:
				ln[i] += math.Log(t.Causes[i].sign[s])
			case told:
				ln[i] += math.Log1p(-t.Causes[i].sign[s])
			}
		}
	}
	for k := range t.Facts {
		x, is := known(rec.Facts, t.Facts[k].ID)
		for i := range t.Causes {
			if is {
				ln[i] += t.Causes[i].facts[k].over(x)
			}
		}
	}
	for k := range t.Checks {
		out := slices.Index(t.Checks[k].Outcomes, seen.Checks[t.Checks[k].ID])
		for i := range t.Causes {
			if out >= 0 {
				ln[i] += math.Log(t.Causes[i].checks[k][out])
			}
		}
	}
	return ln
}

// normal turns logarithms of weights into probabilities.
func normal(ln []float64) []float64 {
	top := slices.Max(ln)
	p, sum := make([]float64, len(ln)), 0.0
	for i := range ln {
		p[i] = math.Exp(ln[i] - top)
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
	}
	return p
}

func finite(p []float64) error {
	for _, x := range p {
		if math.IsNaN(x) {
			return fmt.Errorf("a probability is not a number")
		}
	}
	return nil
}

// because lists what speaks for a cause and against it, the heaviest first: its
// likelihood against the mean over all causes by their priors.
func (t *Table) because(c int, seen Seen, rec Record) []Because {
	var out []Because
	add := func(b Because, of func(c *Cause) float64) {
		sum, all := 0.0, 0.0
		for i := range t.Causes {
			sum += t.Causes[i].Prior * of(&t.Causes[i])
			all += t.Causes[i].Prior
		}
		b.Bits = math.Log2(of(&t.Causes[c]) * all / sum)
		if math.Abs(b.Bits) >= noticeable {
			out = append(out, b)
		}
	}
	for s := range t.Signs {
		switch there, told := seen.Signs[t.Signs[s].ID]; {
		case told && there:
			add(Because{Kind: "sign", ID: t.Signs[s].ID}, func(c *Cause) float64 { return c.sign[s] })
		case told:
			add(Because{Kind: "absent", ID: t.Signs[s].ID}, func(c *Cause) float64 { return 1 - c.sign[s] })
		}
	}
	for k := range t.Facts {
		if x, is := known(rec.Facts, t.Facts[k].ID); is && len(t.Causes[c].facts[k].x) > 0 {
			add(Because{Kind: "fact", ID: t.Facts[k].ID, Value: x}, func(c *Cause) float64 { return math.Exp(c.facts[k].over(x)) })
		}
	}
	for k := range t.Checks {
		if o := slices.Index(t.Checks[k].Outcomes, seen.Checks[t.Checks[k].ID]); o >= 0 {
			add(Because{Kind: "check", ID: t.Checks[k].ID, Answer: t.Checks[k].Outcomes[o]}, func(c *Cause) float64 { return c.checks[k][o] })
		}
	}
	slices.SortStableFunc(out, func(a, b Because) int { return cmp.Compare(math.Abs(b.Bits), math.Abs(a.Bits)) })
	return out
}

// entropy is how undecided probabilities are [bit].
func entropy(p []float64) float64 {
	h := 0.0
	for _, x := range p {
		if x > 0 {
			h -= x * math.Log2(x)
		}
	}
	return h
}

// splits ranks the checks that are still open by the entropy that they are
// expected to take away, by what they cost in time.
//
// Source: lindley1956, the expected information of an experiment.
func (t *Table) splits(ln, p []float64, seen Seen, rec Record) []Probe {
	was := entropy(p)
	var out []Probe
	for k := range t.Checks {
		check := &t.Checks[k]
		if t.settled(check, seen, rec) {
			continue
		}
		s := Probe{ID: check.ID, Minutes: check.Minutes, Hours: check.Hours, Needs: check.Needs}
		left := 0.0
		then := make([]float64, len(ln))
		for o, id := range check.Outcomes {
			chance := 0.0
			for i := range ln {
				chance += p[i] * t.Causes[i].checks[k][o]
				then[i] = ln[i] + math.Log(t.Causes[i].checks[k][o])
			}
			q := normal(then)
			left += chance * entropy(q)
			lead := 0
			for i := range q {
				if q[i] > q[lead] {
					lead = i
				}
			}
			s.Outcomes = append(s.Outcomes, Outcome{ID: id, Chance: chance, Leads: t.Causes[lead].ID, Then: q[lead]})
		}
		s.Gain = math.Max(was-left, 0)
		out = append(out, s)
	}
	slices.SortStableFunc(out, func(a, b Probe) int { return cmp.Compare(b.worth(), a.worth()) })
	return out
}

// worth is the gain by what it costs: half where it takes a quarter of an hour
// of work, or a day of waiting. Judgement, no source.
func (s *Probe) worth() float64 { return s.Gain / (1 + s.Minutes/15 + s.Hours/24) }

// settled reports whether a check would tell nothing new.
func (t *Table) settled(c *Check, seen Seen, rec Record) bool {
	if _, done := seen.Checks[c.ID]; done {
		return true
	}
	if _, is := known(rec.Facts, c.Fact); is {
		return true
	}
	for _, s := range c.Settles {
		if there, told := seen.Signs[s]; told && there {
			return true
		}
	}
	return false
}

// clashes names what does not go together.
func (t *Table) clashes(seen Seen, rec Record) []string {
	var out []string
	for _, c := range t.Clashes {
		hit := true
		for _, s := range c.Signs {
			hit = hit && seen.Signs[s]
		}
		if c.Fact != "" {
			x, is := known(rec.Facts, c.Fact)
			// Nine times in ten beyond the bound. A bound that is NaN is never
			// passed, and then the other one counts.
			hit = hit && is && (x.High < c.Below || x.Low > c.Above)
		}
		if hit {
			out = append(out, c.ID)
		}
	}
	return out
}
