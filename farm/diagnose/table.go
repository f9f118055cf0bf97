package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"sodalake/science/num"
)

// Eat says whether a harvest may be eaten. There is no third word.
type Eat string

// The closed list.
const (
	EatNo       Eat = "no"
	EatNotShown Eat = "not_shown"
)

// End says how it goes on with a culture.
type End string

// The closed list of ends.
const (
	Keep    End = "keep"
	Rest    End = "rest"
	Split   End = "split"   // a part goes on by itself, the rest not
	Restart End = "restart" // from the reserve
)

// Sign is something that can be seen, smelled or felt.
type Sign struct {
	ID    string
	Group string
	Base  float64 // how often it is seen where no cause brings it [1]
	Eat   Eat     // EatNo where the sign by itself forbids eating
}

// Cause is what may be behind it.
type Cause struct {
	ID    string
	Prior float64    // how often it is behind a call, against the others [1]
	Eat   Eat        // of a harvest from a culture that has it
	End   End        // how it goes on if this is it
	Days  [2]float64 // until it is well again if it is kept [d]
	Hour  []string   // acts of the next hour
	Do    []string   // acts afterwards
	Dont  []string   // acts that would harm

	sign   []float64   // likelihood by the index of the sign
	facts  []curve     // by the index of the fact; empty: does not care
	checks [][]float64 // likelihood of each outcome by the index of the check
}

// Fact is a number of the vessel's own record. The unit stands in its ID.
type Fact struct{ ID string }

// Check is something that can be done to tell causes apart.
type Check struct {
	ID       string
	Outcomes []string
	Settles  []string // signs that it decides by itself
	Fact     string   // a fact of the record that makes it needless; empty for none
	Needs    string   // what must be at hand; empty for nothing
	Minutes  float64  // of work [min]
	Hours    float64  // until the outcome is there [h]
}

// Clash is a pair that does not go together: two signs, or a sign and a fact
// beyond a bound.
type Clash struct {
	ID    string
	Signs []string
	Fact  string
	Below float64 // the fact lies below [its unit]; NaN: no such bound
	Above float64 // the fact lies above [its unit]; NaN: no such bound
}

// Table is everything that is known of causes and signs. It is read-only.
type Table struct {
	Signs   []Sign
	Causes  []Cause
	Facts   []Fact
	Checks  []Check
	Clashes []Clash

	Sources []string // keys of docs/sources.md that stand behind it
}

//go:embed table.toml
var tableTOML string

var table = func() *Table {
	t, err := Read(tableTOML)
	if err != nil {
		panic("diagnose: table.toml: " + err.Error())
	}
	return t
}()

// Default returns the table that the program carries.
func Default() *Table { return table }

// raw is a table as it is written.
type raw struct {
	Sign []struct {
		ID, Group string
		Base      float64
		Eat       Eat
	}
	Cause []struct {
		ID             string
		Prior          float64
		Eat            Eat
		End            End
		Days           []float64
		Hour, Do, Dont []string
		Signs          map[string]string
	}
	Fact []struct {
		ID     string
		Causes map[string]string
	}
	Check []struct {
		ID                string
		Minutes, Hours    float64
		Needs, Fact       string
		Outcomes, Settles []string
		Usual             string
		Causes            map[string]string
	}
	Clash []struct {
		ID           string
		Signs        []string
		Fact         string
		Below, Above *float64
	}
}

// Likelihoods are kept away from certainty: nobody's eye is that good.
const least, most = 0.002, 0.95

// Read reads a table. Whatever does not fit is an error that names its place.
func Read(text string) (*Table, error) {
	var in raw
	meta, err := toml.Decode(text, &in)
	if err != nil {
		return nil, err
	}
	if more := meta.Undecoded(); len(more) > 0 {
		return nil, fmt.Errorf("%s is unknown", more[0])
	}
	t := &Table{}
	for _, s := range in.Sign {
		if t.signIndex(s.ID) >= 0 || !(s.Base >= least && s.Base <= 0.5) {
			return nil, fmt.Errorf("sign %q stands twice, or its base is none", s.ID)
		}
		t.Signs = append(t.Signs, Sign{ID: s.ID, Group: s.Group, Base: s.Base, Eat: s.Eat})
	}
	for _, c := range in.Cause {
		if err := t.addCause(Cause{ID: c.ID, Prior: c.Prior, Eat: c.Eat, End: c.End, Hour: c.Hour, Do: c.Do, Dont: c.Dont}, c.Days, c.Signs); err != nil {
			return nil, fmt.Errorf("cause %q: %w", c.ID, err)
		}
	}
	for _, f := range in.Fact {
		if err := t.addFact(f.ID, f.Causes); err != nil {
			return nil, fmt.Errorf("fact %q: %w", f.ID, err)
		}
	}
	for _, k := range in.Check {
		check := Check{ID: k.ID, Outcomes: k.Outcomes, Settles: k.Settles, Fact: k.Fact, Needs: k.Needs, Minutes: k.Minutes, Hours: k.Hours}
		if err := t.addCheck(check, k.Usual, k.Causes); err != nil {
			return nil, fmt.Errorf("check %q: %w", k.ID, err)
		}
	}
	for _, c := range in.Clash {
		out := Clash{ID: c.ID, Signs: c.Signs, Fact: c.Fact, Below: math.NaN(), Above: math.NaN()}
		if c.Below != nil {
			out.Below = *c.Below
		}
		if c.Above != nil {
			out.Above = *c.Above
		}
		for _, s := range c.Signs {
			if t.signIndex(s) < 0 {
				return nil, fmt.Errorf("clash %q: sign %q is unknown", c.ID, s)
			}
		}
		if c.Fact != "" && t.factIndex(c.Fact) < 0 {
			return nil, fmt.Errorf("clash %q: fact %q is unknown", c.ID, c.Fact)
		}
		t.Clashes = append(t.Clashes, out)
	}
	slices.Sort(t.Sources)
	t.Sources = slices.Compact(t.Sources)
	return t, nil
}

func (t *Table) addCause(c Cause, days []float64, signs map[string]string) error {
	if t.causeIndex(c.ID) >= 0 || !(c.Prior > 0) || len(days) != 2 || days[0] > days[1] {
		return fmt.Errorf("stands twice, or its prior or its days are none")
	}
	if c.Eat != EatNo && c.Eat != EatNotShown || !slices.Contains([]End{Keep, Rest, Split, Restart}, c.End) {
		return fmt.Errorf("eat %q or end %q is none of the words", c.Eat, c.End)
	}
	for _, a := range slices.Concat(c.Hour, c.Do) {
		if slices.Contains(c.Dont, a) {
			return fmt.Errorf("act %q is asked for and forbidden", a)
		}
	}
	c.Days = [2]float64{days[0], days[1]}
	c.sign = make([]float64, len(t.Signs))
	for i, s := range t.Signs {
		c.sign[i] = s.Base
	}
	for id, text := range signs {
		i := t.signIndex(id)
		p, err := t.shares(text, 1)
		if err != nil || i < 0 {
			return fmt.Errorf("sign %q is unknown, or %q is no likelihood", id, text)
		}
		c.sign[i] = p[0]
	}
	t.Causes = append(t.Causes, c)
	return nil
}

func (t *Table) addFact(id string, causes map[string]string) error {
	if t.factIndex(id) >= 0 {
		return fmt.Errorf("stands twice")
	}
	t.Facts = append(t.Facts, Fact{ID: id})
	for i := range t.Causes {
		t.Causes[i].facts = append(t.Causes[i].facts, curve{})
	}
	for name, text := range causes {
		i := t.causeIndex(name)
		if i < 0 {
			return fmt.Errorf("cause %q is unknown", name)
		}
		c, err := t.curve(text)
		if err != nil {
			return fmt.Errorf("cause %q: %w", name, err)
		}
		t.Causes[i].facts[len(t.Facts)-1] = c
	}
	return nil
}

func (t *Table) addCheck(k Check, usual string, causes map[string]string) error {
	if t.checkIndex(k.ID) >= 0 || len(k.Outcomes) < 2 || !(k.Minutes > 0) || k.Hours < 0 {
		return fmt.Errorf("stands twice, or has no two outcomes, or takes no time")
	}
	for _, s := range k.Settles {
		if t.signIndex(s) < 0 {
			return fmt.Errorf("sign %q is unknown", s)
		}
	}
	if k.Fact != "" && t.factIndex(k.Fact) < 0 {
		return fmt.Errorf("fact %q is unknown", k.Fact)
	}
	p, err := t.whole(usual, len(k.Outcomes))
	if err != nil {
		return err
	}
	t.Checks = append(t.Checks, k)
	for i := range t.Causes {
		t.Causes[i].checks = append(t.Causes[i].checks, p)
	}
	for name, text := range causes {
		i := t.causeIndex(name)
		if i < 0 {
			return fmt.Errorf("cause %q is unknown", name)
		}
		own, err := t.whole(text, len(k.Outcomes))
		if err != nil {
			return fmt.Errorf("cause %q: %w", name, err)
		}
		t.Causes[i].checks[len(t.Checks)-1] = own
	}
	return nil
}

// shares reads n likelihoods and the keys behind them.
func (t *Table) shares(text string, n int) ([]float64, error) {
	words := strings.Fields(text)
	if len(words) <= n {
		return nil, fmt.Errorf("%q names no source", text)
	}
	out := make([]float64, n)
	for i := range out {
		p, err := strconv.ParseFloat(words[i], 64)
		if err != nil || !(p >= least && p <= 1-least) {
			return nil, fmt.Errorf("%q is no likelihood", words[i])
		}
		out[i] = p
	}
	if n == 1 && out[0] > most {
		return nil, fmt.Errorf("%q is too sure", words[0])
	}
	return out, t.sources(words[n:])
}

// whole reads n likelihoods that add up to one.
func (t *Table) whole(text string, n int) ([]float64, error) {
	p, err := t.shares(text, n)
	if err != nil {
		return nil, err
	}
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	if math.Abs(sum-1) > 1e-9 {
		return nil, fmt.Errorf("%q adds up to %g", text, sum)
	}
	return p, nil
}

func (t *Table) sources(keys []string) error {
	for _, k := range keys {
		if strings.Trim(k, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || strings.Trim(k, "0123456789.") == "" {
			return fmt.Errorf("%q is no key of a source", k)
		}
		if k != "judgement" {
			t.Sources = append(t.Sources, k)
		}
	}
	return nil
}

// curve is a weight by a fact: straight lines in the logarithm, level beyond
// the ends.
type curve struct{ x, ln []float64 }

func (t *Table) curve(text string) (curve, error) {
	var c curve
	words := strings.Fields(text)
	for len(words) > 0 && strings.Contains(words[0], ":") {
		a, b, _ := strings.Cut(words[0], ":")
		x, err1 := strconv.ParseFloat(a, 64)
		r, err2 := strconv.ParseFloat(b, 64)
		if err1 != nil || err2 != nil || !(r >= 0.05 && r <= 20) || len(c.x) > 0 && x <= c.x[len(c.x)-1] {
			return c, fmt.Errorf("%q is no point", words[0])
		}
		c.x, c.ln = append(c.x, x), append(c.ln, math.Log(r))
		words = words[1:]
	}
	if len(c.x) < 2 || len(words) == 0 {
		return c, fmt.Errorf("%q has less than two points, or no source", text)
	}
	return c, t.sources(words)
}

// at is the logarithm of the weight at x, 0 for a curve without points.
func (c *curve) at(x float64) float64 {
	n := len(c.x)
	switch {
	case n == 0:
		return 0
	case x <= c.x[0]:
		return c.ln[0]
	case x >= c.x[n-1]:
		return c.ln[n-1]
	}
	i := 1
	for x > c.x[i] {
		i++
	}
	f := (x - c.x[i-1]) / (c.x[i] - c.x[i-1])
	return c.ln[i-1] + f*(c.ln[i]-c.ln[i-1])
}

// over is the logarithm of the mean weight over a spread: three tenths at each
// end and four in the middle, which is the mean of the usual distributions by
// their 10, 50 and 90 % quantiles.
//
// Source: hurst2000, Swanson's rule (from memory).
func (c *curve) over(b num.Band) float64 {
	if len(c.x) == 0 {
		return 0
	}
	return math.Log(0.3*math.Exp(c.at(b.Low)) + 0.4*math.Exp(c.at(b.Mid)) + 0.3*math.Exp(c.at(b.High)))
}

// known reports whether a fact is one: no part of it is NaN.
func known(facts map[string]num.Band, id string) (num.Band, bool) {
	b, ok := facts[id]
	return b, ok && !math.IsNaN(b.Low) && !math.IsNaN(b.Mid) && !math.IsNaN(b.High)
}

func (t *Table) signIndex(id string) int {
	return slices.IndexFunc(t.Signs, func(s Sign) bool { return s.ID == id })
}

func (t *Table) causeIndex(id string) int {
	return slices.IndexFunc(t.Causes, func(c Cause) bool { return c.ID == id })
}

func (t *Table) factIndex(id string) int {
	return slices.IndexFunc(t.Facts, func(f Fact) bool { return f.ID == id })
}

func (t *Table) checkIndex(id string) int {
	return slices.IndexFunc(t.Checks, func(c Check) bool { return c.ID == id })
}
