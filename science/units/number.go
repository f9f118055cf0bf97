package units

import (
	"math/big"
	"strings"
)

// numberWords are the whole numbers that people write out.
var numberWords = map[string]int64{
	"a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
	"eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12, "fifteen": 15, "twenty": 20,
	"thirty": 30, "forty": 40, "fifty": 50,
}

// fractionWords are the parts that people write out.
var fractionWords = map[string]int64{
	"half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourth": 4, "fourths": 4,
	"eighth": 8, "eighths": 8,
}

// number reads a number, a fraction, a mixed number or number words. It returns
// nil without an error where none stands.
func (p *parser) number() (*big.Rat, *Error) {
	t := p.peek()
	switch t.kind {
	case tokNumber:
		p.at++
		p.note(t.note)
		return p.mixed(t.value, t.whole)
	case tokFraction:
		p.at++
		p.article()
		return t.value, nil
	case tokWord:
		w := strings.ToLower(t.text)
		if d, ok := fractionWords[w]; ok {
			p.at++
			p.article()
			return big.NewRat(1, d), nil
		}
		if n, ok := numberWords[w]; ok {
			p.at++
			return p.mixed(big.NewRat(n+p.units(n), 1), true)
		}
	}
	return nil, nil
}

// units reads the units behind a word for tens, "twenty-five"; without a hyphen
// the two words may be so many of a size.
func (p *parser) units(tens int64) int64 {
	if tens < 20 || p.at+1 >= len(p.toks) {
		return 0
	}
	hyphen, t := p.toks[p.at], p.toks[p.at+1]
	n := numberWords[strings.ToLower(t.text)]
	if hyphen.kind != tokSymbol || hyphen.text != "-" || t.kind != tokWord || len(t.text) < 3 || n < 1 || n > 9 {
		return 0
	}
	p.at += 2
	return n
}

// mixed reads what may follow a whole number: a fraction ("1 1/2", "1-1/2",
// "one and a half") or a part of which there are that many ("three quarters").
func (p *parser) mixed(n *big.Rat, whole bool) (*big.Rat, *Error) {
	if !whole {
		return n, nil
	}
	start := p.at
	if t := p.peek(); t.kind == tokWord {
		if d, ok := fractionWords[strings.ToLower(t.text)]; ok {
			p.at++
			p.article()
			return new(big.Rat).Mul(n, big.NewRat(1, d)), nil
		}
	}
	joined := p.symbol("-") || p.word("and") != ""
	t := p.peek()
	if t.kind == tokFraction && t.value.Cmp(big.NewRat(1, 1)) < 0 {
		p.at++
		return new(big.Rat).Add(n, t.value), nil
	}
	if joined && t.kind == tokWord { // "and a half", "and three quarters"
		parts := big.NewRat(1, 1)
		if k, ok := numberWords[strings.ToLower(t.text)]; ok {
			parts.SetInt64(k)
			p.at++
		}
		if t = p.peek(); t.kind == tokWord {
			if d, ok := fractionWords[strings.ToLower(t.text)]; ok {
				if f := parts.Mul(parts, big.NewRat(1, d)); f.Cmp(big.NewRat(1, 1)) < 0 {
					p.at++
					return new(big.Rat).Add(n, f), nil
				}
			}
		}
	}
	p.at = start
	return n, nil
}

// article skips "of", "a" and "an" behind a part: "half of a cup".
func (p *parser) article() {
	p.word("of")
	p.word("a", "an")
}

// needNumber reads a number or says that one is missing.
func (p *parser) needNumber() (*big.Rat, *Error) {
	n, err := p.number()
	if err != nil {
		return nil, err
	}
	if n == nil {
		t := p.peek()
		switch {
		case t.kind == tokEnd:
			return nil, p.fault(p.text, "no_number", "a number is missing")
		case t.kind == tokSymbol && strings.Contains("<>=", t.text):
			return nil, p.fault(t.text, "operator", `"`+t.text+`" is not part of an amount`)
		case t.kind == tokWord:
			if r, ok := refused(t.text); ok {
				return nil, p.refuse(t.text, r)
			}
		}
		return nil, fault(p.kind, p.text, t.text, "no_number", "write a number first, such as "+p.kind.info().example,
			"%q is not a number", t.text)
	}
	return n, nil
}

// parts reads a ratio or a share: "1:10", "1 to 10", "1 in 10", "10 %", "0.1".
func (p *parser) parts() (*big.Rat, *Error) {
	if p.sign() {
		return nil, p.fault(p.text, "negative", "it cannot be below zero")
	}
	a, err := p.needNumber()
	if err != nil {
		return nil, err
	}
	p.word("part", "parts")
	one := big.NewRat(1, 1)
	switch {
	case p.word("%", "percent", "pct") != "":
		a = new(big.Rat).Quo(a, big.NewRat(100, 1))
		if p.kind == Share {
			return a, nil
		}
		return nil, p.asks("ask_percent", "a percentage may be of the whole or of the other part",
			`write "1 in 10" for one tenth of the whole, "1 to 10" for one part to ten`, nil)
	case p.symbol(":"):
		b, err := p.positive()
		if err != nil {
			return nil, err
		}
		if p.kind == Share {
			x, y := a.RatString(), b.RatString()
			return nil, p.asks("ask_ratio", `"`+p.text+`" may be `+x+" part in "+y+" or "+x+" part to "+y,
				"write in or to", []string{x + " in " + y, x + " to " + y})
		}
		p.note("one_part_to_others")
		return a.Quo(a, b), nil
	case p.word("to") != "":
		b, err := p.positive()
		if err != nil {
			return nil, err
		}
		if p.kind == Share {
			return new(big.Rat).Quo(a, b.Add(a, b)), nil
		}
		return a.Quo(a, b), nil
	case p.word("in") != "":
		b, err := p.positive()
		if err != nil {
			return nil, err
		}
		if p.kind == Ratio {
			if b.Sub(b, a).Sign() <= 0 {
				return nil, p.fault(p.text, "nothing_left", "nothing is left for the other part")
			}
		}
		return new(big.Rat).Quo(a, b), nil
	}
	if p.strict { // a bare number has no kind of its own
		return nil, p.fault(p.text, "no_unit", "the unit is missing")
	}
	if p.kind == Share && a.Cmp(one) > 0 {
		return nil, p.asks("ask_percent_sign", "a share above 1 may be meant in percent",
			"write %", []string{a.FloatString(2) + " %"})
	}
	return a, nil
}

// positive reads the second number of a ratio.
func (p *parser) positive() (*big.Rat, *Error) {
	b, err := p.needNumber()
	if err != nil {
		return nil, err
	}
	p.word("part", "parts")
	if b.Sign() <= 0 {
		return nil, p.fault(p.text, "divided_by_zero", "a ratio to nothing")
	}
	return new(big.Rat).Set(b), nil
}

func (p *parser) asks(key, message, hint string, choices []string) *Error {
	if len(choices) == 0 {
		choices = []string{"in", "to"}
	}
	return &Error{Kind: p.kind, Text: p.text, Part: p.text, Key: key, Message: message, Hint: hint, Choices: choices}
}

// bare reads a pure number, with "pH" before or behind it where that is meant.
func (p *parser) bare() (*big.Rat, *Error) {
	if p.kind == PH {
		p.word("pH")
		p.symbol("=")
	}
	negative := p.sign()
	n, err := p.needNumber()
	if err != nil {
		return nil, err
	}
	if p.kind == PH {
		p.word("pH")
	}
	if negative {
		n = new(big.Rat).Neg(n)
	}
	return n, nil
}
