package formula

import (
	"fmt"
	"sort"
	"strings"
)

// Composition counts the atoms of one formula unit, by element symbol [1].
// Counts may be fractions: gypsum plaster is CaSO4.0.5H2O.
type Composition map[string]float64

// Error says where a formula stops making sense.
type Error struct {
	Formula string // as it was given
	At      int    // the byte where reading stopped [1]
	Reason  string // what is wrong there
	Hint    string // what to try, or empty
}

// Error names the formula, the place and the reason.
func (e *Error) Error() string {
	return fmt.Sprintf("formula %q: at character %d: %s", e.Formula, e.At+1, e.Reason)
}

const (
	maxLength = 120  // longest formula read [1]
	maxDepth  = 8    // deepest nesting of brackets [1]
	maxCount  = 1000 // largest subscript [1]
)

// Parse counts the atoms in a formula [1]. Waters of crystallisation follow a
// full stop, a raised dot or an asterisk; groups stand in round or square
// brackets. EDTA may stand in a formula as the name of its ion: hydrogens that
// the metals beside it leave unsaid are added, so that Na2EDTA is
// C10H14N2Na2O8 and Na4EDTA is C10H12N2Na4O8.
//
// Special cases: blanks round the formula are ignored; an empty or unknown
// formula is an *Error and no composition.
func Parse(s string) (Composition, error) {
	text := strings.TrimSpace(s)
	p := parser{full: s, s: text}
	if text == "" {
		return nil, p.fail("formula is empty", "write it as on the label, like NaHCO3")
	}
	if len(text) > maxLength {
		return nil, p.fail("formula is too long", "")
	}
	total := Composition{}
	for {
		mult, err := p.count()
		if err != nil {
			return nil, err
		}
		start := p.i
		part, err := p.group(0)
		if err != nil {
			return nil, err
		}
		if p.i == start {
			return nil, p.fail("an element or a bracket is missing", "")
		}
		for el, n := range part {
			total[el] += mult * n
		}
		if p.i == len(p.s) {
			break
		}
		if !p.separator() {
			return nil, p.fail(fmt.Sprintf("%q does not belong in a formula", p.s[p.i]), "")
		}
	}
	if err := p.expandEDTA(total); err != nil {
		return nil, err
	}
	return total, nil
}

// MolarMass returns the mass of one mole of the formula s [g/mol].
//
// Source: ciaaw2024.
func MolarMass(s string) (float64, error) {
	c, err := Parse(s)
	if err != nil {
		return 0, err
	}
	return c.MolarMass(), nil
}

// MolarMass returns the mass of one mole of the composition [g/mol].
//
// Source: ciaaw2024.
func (c Composition) MolarMass() float64 {
	var sum float64
	for _, el := range c.Elements() { // in order, so that the sum is the same every time
		sum += c[el] * weights[el]
	}
	return sum
}

// Elements returns the symbols in the composition, sorted.
func (c Composition) Elements() []string {
	out := make([]string, 0, len(c))
	for el := range c {
		out = append(out, el)
	}
	sort.Strings(out)
	return out
}

// parser reads a formula from left to right.
type parser struct {
	full string
	s    string
	i    int
}

func (p *parser) fail(reason, hint string) error {
	return &Error{Formula: p.full, At: p.i, Reason: reason, Hint: hint}
}

// separator steps over the mark between salt and water.
func (p *parser) separator() bool {
	for _, sep := range []string{"·", "•", "⋅", ".", "*"} {
		if strings.HasPrefix(p.s[p.i:], sep) {
			p.i += len(sep)
			return true
		}
	}
	return false
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// count reads a number, 1 when there is none. A full stop inside it is taken
// as a decimal point only before another digit.
func (p *parser) count() (float64, error) {
	start := p.i
	var n float64
	for p.i < len(p.s) && isDigit(p.s[p.i]) {
		n = 10*n + float64(p.s[p.i]-'0')
		if n > maxCount {
			return 0, p.fail("the number is too large", "")
		}
		p.i++
	}
	if p.i == start {
		return 1, nil
	}
	if start > 0 && p.i+1 < len(p.s) && p.s[p.i] == '.' && isDigit(p.s[p.i+1]) && p.afterSeparator(start) {
		p.i++
		scale := 0.1
		for p.i < len(p.s) && isDigit(p.s[p.i]) {
			n += scale * float64(p.s[p.i]-'0')
			scale /= 10
			p.i++
		}
	}
	if n == 0 {
		return 0, p.fail("the number is zero", "")
	}
	return n, nil
}

// afterSeparator tells whether the number that starts at byte i multiplies a
// whole part (…​.0.5H2O) rather than counting the atoms before it.
func (p *parser) afterSeparator(i int) bool {
	b := p.s[i-1]
	return b == '.' || b == '*' || b >= 0x80
}

// group reads elements and bracketed groups until something else comes.
func (p *parser) group(depth int) (Composition, error) {
	if depth > maxDepth {
		return nil, p.fail("brackets are nested too deep", "")
	}
	out := Composition{}
	for p.i < len(p.s) {
		switch b := p.s[p.i]; {
		case b == '(' || b == '[':
			want := byte(')')
			if b == '[' {
				want = ']'
			}
			p.i++
			start := p.i
			inner, err := p.group(depth + 1)
			if err != nil {
				return nil, err
			}
			if p.i == start {
				return nil, p.fail("the bracket is empty", "")
			}
			if p.i >= len(p.s) || p.s[p.i] != want {
				return nil, p.fail("the bracket is not closed", "")
			}
			p.i++
			n, err := p.count()
			if err != nil {
				return nil, err
			}
			for el, k := range inner {
				out[el] += n * k
			}
		case b >= 'A' && b <= 'Z':
			el, err := p.element()
			if err != nil {
				return nil, err
			}
			n, err := p.count()
			if err != nil {
				return nil, err
			}
			out[el] += n
		default:
			return out, nil
		}
	}
	return out, nil
}

// element reads one symbol, or the word EDTA.
func (p *parser) element() (string, error) {
	if strings.HasPrefix(p.s[p.i:], edta) {
		p.i += len(edta)
		return edta, nil
	}
	if p.i+1 < len(p.s) && p.s[p.i+1] >= 'a' && p.s[p.i+1] <= 'z' {
		if sym := p.s[p.i : p.i+2]; weights[sym] > 0 {
			p.i += 2
			return sym, nil
		}
		return "", p.fail(fmt.Sprintf("%q is not an element", p.s[p.i:p.i+2]), "capital and small letters matter: Co is cobalt, CO is carbon and oxygen")
	}
	if sym := p.s[p.i : p.i+1]; weights[sym] > 0 {
		p.i++
		return sym, nil
	}
	return "", p.fail(fmt.Sprintf("%q is not an element", p.s[p.i:p.i+1]), "capital and small letters matter: NaCl, not NACL")
}

// edta is the one name that may stand among the symbols.
const edta = "EDTA"

// expandEDTA puts the atoms of the ion C10H12N2O8(4-) in place of its name,
// with the hydrogens that the metals beside it leave unsaid.
func (p *parser) expandEDTA(c Composition) error {
	n := c[edta]
	if n == 0 {
		return nil
	}
	delete(c, edta)
	free := 4 * n
	for _, el := range c.Elements() {
		if el == "O" { // of the crystal water
			continue
		}
		v, ok := valence[el]
		if !ok {
			return p.fail(fmt.Sprintf("%s beside EDTA is not understood", el), "")
		}
		k := c[el]
		if el == "H" {
			k -= 2 * c["O"] // hydrogens of the crystal water are not the acid's
		}
		free -= v * k
	}
	if free < 0 {
		return p.fail("EDTA cannot hold that many metals", "")
	}
	c["C"] += 10 * n
	c["H"] += 12*n + free
	c["N"] += 2 * n
	c["O"] += 8 * n
	return nil
}
