package units

import (
	"math"
	"math/big"
	"strconv"
	"strings"
)

// Quantity is one number with its kind.
type Quantity struct {
	Kind  Kind
	Value float64 // in the kind's inner unit [unit of its kind]
	Notes []Note  // what was decided for the writer, in the order met

	exact *big.Rat // Value before it was rounded, where Parse made it
}

// In returns the value in the unit that symbol names [unit of symbol]: 2.4 for
// "2.4 cm" in "cm", with one rounding only where q came from Parse.
//
// The error is an *Error: symbol is not a unit of q's kind.
func (q Quantity) In(symbol string) (float64, error) {
	x := q.exact
	if x == nil {
		if x = new(big.Rat).SetFloat64(q.Value); x == nil {
			return q.Value, nil // NaN and the infinities stay what they are
		}
	}
	scale, zero, err := scaleOf(q.Kind, symbol)
	if err != nil {
		return math.NaN(), err
	}
	v, _ := new(big.Rat).Add(new(big.Rat).Quo(x, scale), zero).Float64()
	return v, nil
}

// scaleOf returns how many inner units one of symbol is and what it shows at
// the inner zero.
func scaleOf(k Kind, symbol string) (scale, zero *big.Rat, err *Error) {
	zero = new(big.Rat)
	switch k {
	case PH, Count, Ratio:
		if symbol != "" {
			return nil, nil, fault(k, symbol, symbol, "wrong_kind", "", "%q is not a unit of %s", symbol, k)
		}
		return big.NewRat(1, 1), zero, nil
	case Share:
		if symbol == "" {
			return big.NewRat(1, 1), zero, nil
		}
	case Temperature: // a line through two readings
		at0, err := parse("0 "+symbol, k, Metric, false)
		if err != nil {
			return nil, nil, err
		}
		at1, err := parse("1 "+symbol, k, Metric, false)
		if err != nil {
			return nil, nil, err
		}
		scale = new(big.Rat).Sub(at1.exact, at0.exact)
		return scale, zero.Quo(zero.Neg(at0.exact), scale), nil
	}
	q, err := parse("1 "+symbol, k, Metric, false)
	if err != nil {
		return nil, nil, err
	}
	return q.exact, zero, nil
}

// Parse reads a quantity as people write it, in the inner unit of its kind.
// want says what kind it must be, or Any; sys decides what a cup, a spoon and a
// lone "1,000" are.
//
// Numbers may be whole, decimal with point or comma, fractions, mixed numbers
// and small number words. Several terms add up ("1 lb 4 oz", "2 tbsp and 2
// tsp"); a number before a stated size multiplies ("3 five-gallon buckets",
// "3 x 500 mL"). The error is an *Error; a text with two meanings gives one that
// asks. No text panics.
//
// Source: factors as named beside the table of units (NIST SP 811, Appendix
// B.8; NIST Handbook 44, Appendix C).
func Parse(text string, want Kind, sys System) (Quantity, error) {
	want.info()
	if want != Any {
		q, err := parse(text, want, sys, false)
		if err != nil {
			return Quantity{Kind: want}, err
		}
		return q, nil
	}
	q, err := parseAny(text, sys)
	if err != nil {
		return Quantity{Kind: Any}, err
	}
	return q, nil
}

// ParseMass reads a mass [g] given as a mass or, level and loose, by volume:
// "2 tbsp" of a powder of bulkGPerL. sys is as for Parse; bulkGPerL is the bulk
// density of the powder [g/L]. An ounce is an ounce by weight.
//
// Special case: where bulkGPerL is not above zero a volume is an error that
// asks for it.
func ParseMass(text string, sys System, bulkGPerL float64) (Quantity, error) {
	q, errMass := parse(text, Mass, sys, false)
	if errMass == nil {
		return q, nil
	}
	v, errVolume := parse(text, Volume, sys, false)
	if errVolume != nil {
		if errMass.Key == "wrong_kind" {
			errMass = errVolume
		}
		errMass.Kind = Mass
		return Quantity{Kind: Mass}, errMass
	}
	if !(bulkGPerL > 0) || math.IsInf(bulkGPerL, 0) {
		return Quantity{Kind: Mass}, fault(Mass, text, text, "needs_bulk_density",
			"weigh one level cup of it once and note the grams, or write grams",
			"%q is a volume, and its weight depends on how the powder packs", text)
	}
	v.Kind, v.exact = Mass, nil
	v.Value *= bulkGPerL
	v.Notes = append(v.Notes, note("by_bulk_density"))
	return v, nil
}

// parseAny tries the kinds that a unit alone can tell.
func parseAny(text string, sys System) (Quantity, *Error) {
	var found []Quantity
	var best *Error
	for _, k := range anyKinds {
		q, err := parse(text, k, sys, true)
		if err == nil {
			found = append(found, q)
		} else if best == nil || rank(err) > rank(best) {
			best = err
		}
	}
	switch len(found) {
	case 0:
		if best.Key == "wrong_kind" {
			best.Message = strconv.Quote(best.Part) + " is not a measure"
		}
		if best.Key == "wrong_kind" || best.Key == "no_unit" {
			best.Hint = "write a number and a unit, such as " + Any.info().example
		}
		best.Kind = Any
		return Quantity{}, best
	case 1:
		return found[0], nil
	}
	e := fault(Any, text, text, "ask_kind", "", "%q may be %s", text, kindsOf(found))
	e.Hint = "write which is meant"
	for _, q := range found {
		e.Choices = append(e.Choices, strconv.FormatFloat(q.Value, 'g', 6, 64)+" "+q.Kind.Unit())
	}
	return Quantity{}, e
}

// rank orders errors by how much they tell.
func rank(e *Error) int {
	switch {
	case e.Asks():
		return 4
	case e.Key == "no_unit":
		return 0
	case e.Key == "wrong_kind":
		return 1
	case e.Key == "unknown_unit":
		return 2
	}
	return 3
}

func kindsOf(qs []Quantity) string {
	var b strings.Builder
	for i, q := range qs {
		switch {
		case i > 0 && i == len(qs)-1:
			b.WriteString(" or ")
		case i > 0:
			b.WriteString(", ")
		}
		b.WriteString(q.Kind.String())
	}
	return b.String()
}

func note(key string) Note { return Note{Key: key, Text: notes[key]} }

// parser walks over the tokens of one text for one kind.
type parser struct {
	kind   Kind
	text   string
	sys    System
	below  bool // a minus stands in front
	strict bool // a unit that is known as it stands is not also tried without regard to case
	toks   []token
	at     int
	notes  []Note
}

func parse(text string, k Kind, sys System, strict bool) (Quantity, *Error) {
	toks, err := lex(k, sys, text)
	if err != nil {
		return Quantity{}, err
	}
	p := &parser{kind: k, text: text, sys: sys, strict: strict, toks: toks}
	if p.peek().kind == tokEnd {
		return Quantity{}, p.fault(text, "empty", "nothing is written")
	}
	var sum *big.Rat
	switch k {
	case Ratio, Share:
		sum, err = p.parts()
	case PH, Count:
		sum, err = p.bare()
	default:
		sum, err = p.sum()
	}
	if err == nil && p.peek().kind != tokEnd {
		err = p.leftover()
	}
	if err != nil {
		return Quantity{}, err
	}
	v, _ := sum.Float64()
	if math.IsInf(v, 0) {
		return Quantity{}, p.fault(text, "too_large", "the number is too large")
	}
	if v < 0 && !k.info().signed {
		return Quantity{}, p.fault(text, "negative", "it cannot be below zero")
	}
	return Quantity{Kind: k, Value: v, Notes: p.notes, exact: sum}, nil
}

func (p *parser) peek() token { return p.toks[p.at] }

// symbol consumes the sign s if it is next.
func (p *parser) symbol(s string) bool {
	if t := p.peek(); t.kind == tokSymbol && t.text == s {
		p.at++
		return true
	}
	return false
}

// word consumes one of the words if it is next and returns it.
func (p *parser) word(words ...string) string {
	if t := p.peek(); t.kind == tokWord {
		for _, w := range words {
			if strings.EqualFold(t.text, w) {
				p.at++
				return w
			}
		}
	}
	return ""
}

func (p *parser) note(key string) {
	if key == "" {
		return
	}
	for _, n := range p.notes {
		if n.Key == key {
			return
		}
	}
	p.notes = append(p.notes, note(key))
}

func (p *parser) fault(part, key, message string) *Error {
	return &Error{Kind: p.kind, Text: p.text, Part: part, Key: key, Message: message,
		Hint: "write a number and a unit, such as " + p.kind.info().example}
}

// leftover is the trouble with what stands behind a complete quantity.
func (p *parser) leftover() *Error {
	t := p.peek()
	if t.kind == tokSymbol && (t.text == "~" || t.text == "-") {
		return p.isRange()
	}
	if t.kind == tokWord {
		if r, ok := refused(t.text); ok {
			return p.refuse(t.text, r)
		}
	}
	e := fault(p.kind, p.text, t.text, "leftover", "", "%q is not understood", t.text)
	e.Hint = "leave out what stands behind the amount"
	return e
}

func (p *parser) isRange() *Error {
	e := p.fault(p.text, "range", "a range is not one number")
	e.Hint = "write the one number that is meant"
	return e
}

func (p *parser) refuse(part string, r refusal) *Error {
	e := fault(p.kind, p.text, part, r.key, r.hint, "%s", r.message)
	e.Choices = r.choices
	return e
}

// refused finds a refusal for a word in the singular or plural.
func refused(word string) (refusal, bool) {
	w := strings.ToLower(word)
	for _, s := range []string{w, strings.TrimSuffix(w, "s"), strings.TrimSuffix(w, "es"), strings.TrimSuffix(w, "ful"), strings.TrimSuffix(w, "fuls")} {
		if r, ok := refusals[s]; ok {
			return r, true
		}
	}
	return refusal{}, false
}

// sum reads terms that add up.
func (p *parser) sum() (*big.Rat, *Error) {
	p.below = p.sign()
	total := new(big.Rat)
	for {
		v, err := p.term()
		if err != nil {
			return nil, err
		}
		total.Add(total, v)
		t := p.peek()
		switch {
		case p.word("and") != "" || p.symbol("+") || p.symbol(",") || p.symbol("&"):
		case t.kind == tokNumber || t.kind == tokFraction:
		default:
			return total, nil
		}
		if p.kind == Temperature {
			return nil, p.fault(p.text, "sum_of_temperatures", "temperatures do not add up")
		}
	}
}

// sign reads a leading sign and reports whether it was a minus.
func (p *parser) sign() bool {
	if p.symbol("-") {
		return true
	}
	p.symbol("+")
	return false
}
