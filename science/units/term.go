package units

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// term reads one number with its unit, and a number of such: "2.4 cm",
// "3 five-gallon buckets", "3 x 500 mL", "6 bottles of 2 L".
func (p *parser) term() (*big.Rat, *Error) {
	n, err := p.needNumber()
	if err != nil {
		return nil, err
	}
	if p.below {
		n = new(big.Rat).Neg(n)
	}
	start := p.at
	times, of := p.symbol("*") || p.word("x", "times") != "", false
	if !times {
		if t := p.peek(); t.kind == tokWord && containers[singular(t.text)] {
			p.at++
			of = p.word("of", "with", "à", "de") != ""
			if !of {
				return nil, p.noSize(t.text)
			}
		}
	}
	if !times && !of && !p.symbol("-") {
		p.word("level", "flat", "raze")
	}
	second, err := p.number()
	if err != nil {
		return nil, err
	}
	if second == nil {
		if times || of {
			p.at = start
			return nil, p.fault(p.text, "no_size", "the size is missing")
		}
		v, _, err := p.sized(n)
		return v, err
	}
	// A second number: how many of what size.
	p.symbol("-")
	v, held, err := p.sized(second)
	if err != nil {
		return nil, err
	}
	if p.kind == Temperature {
		return nil, p.fault(p.text, "sum_of_temperatures", "temperatures do not multiply")
	}
	if !times && !of && !held {
		if t := p.toks[start]; t.kind == tokSymbol {
			return nil, p.isRange()
		}
		e := fault(p.kind, p.text, p.text, "ask_two_numbers", "write the number without a space, or x between the two",
			"two numbers stand side by side")
		e.Choices = p.joined(p.toks[start-1], p.toks[start])
		return nil, e
	}
	return new(big.Rat).Mul(n, v), nil
}

// joined writes two numbers that stand side by side as one, and as so many of a
// size.
func (p *parser) joined(a, b token) []string {
	both := a.text + " " + b.text
	if a.kind != tokNumber || b.kind != tokNumber || !strings.Contains(p.text, both) {
		return []string{"as one number", "with x between them"}
	}
	choices := []string{strings.Replace(p.text, both, a.text+b.text, 1)}
	if b.text[0] != '0' {
		choices = append(choices, strings.Replace(p.text, both, a.text+" x "+b.text, 1))
	}
	return choices
}

func (p *parser) noSize(container string) *Error {
	return fault(p.kind, p.text, container, "no_size",
		`write its size too, such as "3 five-gallon buckets"`, "a %s has no size of its own", singular(container))
}

// sized reads the unit that belongs to n and returns n in the inner unit, and
// whether a container was named behind it.
func (p *parser) sized(n *big.Rat) (v *big.Rat, held bool, err *Error) {
	factors, err := p.unitExpression()
	if err != nil {
		return nil, false, err
	}
	caco3 := false
	if p.word("as") != "" {
		if w := p.peek(); w.kind == tokWord && strings.EqualFold(w.text, "CaCO") {
			p.at++
			if p.peek().kind == tokNumber || p.symbol("^") {
				p.at++
			}
			caco3 = true
		} else {
			return nil, false, fault(p.kind, p.text, w.text, "unknown_basis", `only "as CaCO3" is known`, "%q is not a basis", w.text)
		}
	}
	if p.symbol("-"); p.peek().kind == tokWord && containers[singular(p.peek().text)] {
		p.at++
		held = true
	}
	v, err = p.resolve(n, factors, caco3)
	return v, held, err
}

// factor is one unit of an expression, with all its meanings, its power and a
// number by which it is divided ("per 5 gal").
type factor struct {
	word     string
	meanings []row
	power    int
	by       *big.Rat
}

// unitExpression reads units up to the end of the term: "gal", "g/L",
// "µmol m-2 s-1", "sq ft", "mg per 100 mL".
func (p *parser) unitExpression() ([]factor, *Error) {
	var out []factor
	below := false // the next unit stands below the line
	for {
		var by *big.Rat
		if below {
			if t := p.peek(); t.kind == tokNumber || t.kind == tokFraction {
				by, _ = p.number()
				if by.Sign() <= 0 {
					return nil, p.fault(p.text, "divided_by_zero", "nothing stands below the line")
				}
			}
		}
		f, err := p.unit()
		if err != nil {
			return nil, err
		}
		if f == nil {
			if len(out) > 0 && !below {
				return out, nil
			}
			t := p.peek()
			switch t.kind {
			case tokEnd:
				return nil, p.noUnit()
			case tokWord:
				return nil, p.unknown(t.text)
			case tokSymbol:
				if t.text == "~" || t.text == "-" {
					return nil, p.isRange()
				}
			}
			return nil, fault(p.kind, p.text, t.text, "unknown_unit", "write a unit, such as in "+p.kind.info().example, "%q is not a unit", t.text)
		}
		if below {
			f.power = -f.power
			f.by = by
		}
		out = append(out, *f)
		if len(out) > 6 {
			return nil, p.fault(p.text, "too_many_units", "too many units")
		}
		below = false
		switch {
		case p.symbol("/") || p.word("per") != "":
			below = true
		case p.symbol("·") || p.symbol("*"):
			if t := p.peek(); t.kind != tokWord {
				return nil, fault(p.kind, p.text, t.text, "unknown_unit", "", "%q is not a unit", t.text)
			}
		case p.at+1 < len(p.toks) && p.peek().kind == tokWord && p.toks[p.at+1].kind == tokWord && p.word("a", "an") != "":
			below = true // "2 L a day"
		}
	}
}

func (p *parser) noUnit() *Error { return p.fault(p.text, "no_unit", "the unit is missing") }

func (p *parser) unknown(word string) *Error {
	if r, ok := refused(word); ok {
		return p.refuse(word, r)
	}
	e := fault(p.kind, p.text, word, "unknown_unit", "write a number and a unit, such as "+p.kind.info().example, "%q is not a unit", word)
	if near := nearest(word); near != "" {
		e.Hint = "did you mean " + near + "?"
	}
	return e
}

// unit reads one unit with the words before it ("sq", "US", "level") and its
// power, or returns nil where no unit stands.
func (p *parser) unit() (*factor, *Error) {
	start := p.at
	power := 1
	from := everywhere
	for p.peek().kind == tokWord {
		w := strings.ToLower(p.peek().text)
		if r, ok := regions[w]; ok && from == everywhere && p.regionHere() {
			from = r
		} else if w == "sq" || w == "square" {
			power = 2
		} else if w == "cu" || w == "cubic" {
			power = 3
		} else if w != "level" && w != "flat" {
			break
		}
		p.at++
	}
	if t := p.peek(); t.kind == tokWord && containers[singular(t.text)] {
		if from != everywhere {
			return nil, p.noSize(t.text)
		}
		p.at = start
		return nil, nil
	}
	word, meanings := p.lookup(from)
	if meanings == nil {
		if t := p.peek(); from != everywhere && t.kind == tokWord {
			if r, ok := refused(t.text); ok {
				return nil, p.refuse(t.text, r)
			}
			return nil, p.unknown(t.text)
		}
		p.at = start
		return nil, nil
	}
	// A power: "m2", "m^2", "m-2", "m^-2"; not "ft3in".
	mark := p.at
	caret := p.symbol("^")
	negative := !p.peek().spaced && p.symbol("-")
	if t := p.peek(); t.kind == tokNumber && t.whole && !t.spaced && len(t.text) == 1 && '1' <= t.text[0] && t.text[0] <= '3' && !p.wordFollows() {
		p.at++
		power *= int(t.text[0] - '0')
		if negative {
			power = -power
		}
	} else if caret {
		return nil, fault(p.kind, p.text, word, "bad_power", "", "the power of %q is not understood", word)
	} else {
		p.at = mark
	}
	return &factor{word: word, meanings: meanings, power: power}, nil
}

// regionHere reports whether the next word, known as a region, is meant as one:
// another word follows and it is not itself a unit as written ("uS").
func (p *parser) regionHere() bool {
	_, isUnit := exactNames[p.peek().text]
	return !isUnit && p.toks[p.at+1].kind == tokWord
}

// wordFollows reports whether a word is glued to the next token.
func (p *parser) wordFollows() bool {
	t := p.toks[min(p.at+1, len(p.toks)-1)]
	return t.kind == tokWord && !t.spaced
}

// lookup matches the longest run of up to three words that is a unit of the
// region and consumes it.
func (p *parser) lookup(from region) (string, []row) {
	for n := 3; n >= 1; n-- {
		var b strings.Builder
		ok := true
		for i := range n {
			if p.at+i >= len(p.toks) || p.toks[p.at+i].kind != tokWord {
				ok = false
				break
			}
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(p.toks[p.at+i].text)
		}
		if !ok {
			continue
		}
		if rows := p.meanings(b.String(), from); rows != nil {
			p.at += n
			return b.String(), rows
		}
	}
	return "", nil
}

// meanings are the rows of a name that count here: as written first and, unless
// the parser is strict, then without regard to case.
func (p *parser) meanings(name string, from region) []row {
	var rows []row
	for _, n := range singulars(name) {
		rows = appendRows(rows, exactNames[n])
	}
	if len(rows) == 0 || !p.strict {
		for _, n := range singulars(strings.ToLower(name)) {
			rows = appendRows(rows, foldedNames[n])
		}
	}
	kept := rows[:0]
	for _, r := range rows {
		if p.ours(r, from) {
			kept = append(kept, r)
		}
	}
	if len(kept) == 0 {
		return nil
	}
	return kept
}

// singulars returns a name and what it may be the plural of. What is left must
// have two letters, so that "ms" is not metres.
func singulars(name string) []string {
	out := []string{name}
	for _, end := range []string{"s", "es"} {
		if n, ok := strings.CutSuffix(name, end); ok && len(n) > 1 {
			out = append(out, n)
		}
	}
	return out
}

// ours reports whether a row is meant by the region that was said or, where
// none was, by the house's system.
func (p *parser) ours(r row, from region) bool {
	if from != everywhere {
		return r.region == from || r.region == everywhere && r.dims != dVolume
	}
	switch r.when {
	case inUS:
		return p.sys == US
	case inMetric:
		return p.sys == Metric
	case whenSaid:
		return false
	}
	return true
}

func appendRows(rows, more []row) []row {
	for _, m := range more {
		known := false
		for _, r := range rows {
			known = known || r.unit == m.unit
		}
		if !known {
			rows = append(rows, m)
		}
	}
	return rows
}

// singular strips the plural of a container and lowers it.
func singular(w string) string {
	w = strings.ToLower(w)
	for _, s := range []string{w, strings.TrimSuffix(w, "s"), strings.TrimSuffix(w, "es")} {
		if containers[s] {
			return s
		}
	}
	return w
}

// nearest returns a unit name one slip of the finger away, or "".
func nearest(word string) string {
	w := strings.ToLower(word)
	if utf8.RuneCountInString(w) < 3 {
		return ""
	}
	for i := range table {
		for _, n := range strings.Split(table[i].names, "|") {
			if len(n) >= 3 && oneSlip(w, strings.ToLower(n)) && unicode.IsLetter(rune(n[0])) {
				return n
			}
		}
	}
	return ""
}

// oneSlip reports whether a and b differ by one letter added, lost, changed or
// exchanged with its neighbour.
func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if a == b || len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	return a[i+1:] == b[i+1:] || i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}
