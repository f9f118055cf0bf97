package units

import (
	"math/big"
)

// molarMassCaCO3 is the molar mass of calcium carbonate [g/mol], from the
// IUPAC abridged standard atomic weights (Ca 40.078, C 12.011, O 15.999).
var molarMassCaCO3 = big.NewRat(100086, 1000)

// resolve picks the one meaning of the units that has the kind's dimensions and
// returns n in the kind's inner unit.
func (p *parser) resolve(n *big.Rat, fs []factor, caco3 bool) (*big.Rat, *Error) {
	info := p.kind.info()
	wanted := info.dims
	byMass := false
	found := p.choose(fs, wanted)
	if len(found) == 0 && (p.kind == Hardness || p.kind == Alkalinity) {
		if found = p.choose(fs, dGramL); len(found) > 0 {
			byMass = true
			if !caco3 && !hasNote(found[0], "ppm") && !hasName(fs, "gpg") {
				e := p.fault(p.text, "ask_basis", "mg/L of what?")
				e.Hint = `write "as CaCO3" behind it, or dH`
				e.Choices = []string{p.text + " as CaCO3"}
				return nil, e
			}
		}
	}
	switch {
	case len(found) == 0:
		return nil, p.wrongKind(fs)
	case len(found) > 1:
		return nil, p.fault(p.text, "ask_unit", "the unit has more than one meaning")
	}
	if caco3 && !byMass {
		return nil, p.fault(p.text, "unknown_basis", `"as CaCO3" stands behind a mass in water only`)
	}
	rows := found[0]
	if len(rows) == 1 && rows[0].offset != nil && fs[0].power == 1 && p.kind == Temperature {
		return p.celsius(n, rows[0])
	}
	v := new(big.Rat).Set(n)
	for i, r := range rows {
		f := r.factor
		for k := fs[i].power; k > 0; k-- {
			v.Mul(v, f)
		}
		for k := fs[i].power; k < 0; k++ {
			v.Quo(v, f)
		}
		if fs[i].by != nil {
			v.Quo(v, fs[i].by)
		}
		p.note(r.note)
	}
	if byMass { // now g/m³: to mol/m³ = mmol/L of CaCO₃, two equivalents each
		v.Quo(v, molarMassCaCO3)
		if p.kind == Alkalinity {
			v.Mul(v, big.NewRat(2, 1))
		}
		p.note("as_caco3")
		return v, nil
	}
	return v.Quo(v, rational(info.si)), nil
}

// celsius returns a reading of a thermometer in °C.
func (p *parser) celsius(n *big.Rat, r row) (*big.Rat, *Error) {
	kelvin := new(big.Rat).Sub(n, r.offset)
	kelvin.Mul(kelvin, r.factor)
	if kelvin.Sign() < 0 {
		return nil, p.fault(p.text, "below_absolute_zero", "that is below absolute zero")
	}
	return kelvin.Sub(kelvin, big.NewRat(27315, 100)), nil
}

// choose returns every choice of one meaning for each unit that has the wanted
// dimensions. Meanings with the same factors count once.
func (p *parser) choose(fs []factor, wanted dims) [][]row {
	var out [][]row
	pick := make([]row, len(fs))
	var walk func(i int, d dims)
	walk = func(i int, d dims) {
		if i == len(fs) {
			if d == wanted {
				out = append(out, append([]row(nil), pick...))
			}
			return
		}
		for _, r := range fs[i].meanings {
			e := d
			for k := range e {
				e[k] += r.dims[k] * int8(fs[i].power)
			}
			pick[i] = r
			walk(i+1, e)
		}
	}
	walk(0, dims{})
	if len(out) > 1 && !p.strict {
		out = prefer(out, fs)
	}
	return out
}

// prefer keeps the choices whose names were written exactly, if there are any.
func prefer(all [][]row, fs []factor) [][]row {
	best, most := [][]row(nil), -1
	for _, rows := range all {
		n := 0
		for i, r := range rows {
			for _, e := range exactNames[fs[i].word] {
				if e.unit == r.unit {
					n++
				}
			}
		}
		switch {
		case n > most:
			best, most = [][]row{rows}, n
		case n == most:
			best = append(best, rows)
		}
	}
	return best
}

func hasNote(rows []row, key string) bool {
	for _, r := range rows {
		if r.note == key {
			return true
		}
	}
	return false
}

func hasName(fs []factor, name string) bool {
	for _, f := range fs {
		if f.word == name {
			return true
		}
	}
	return false
}

// wrongKind says that the unit measures something else.
func (p *parser) wrongKind(fs []factor) *Error {
	word := ""
	for i, f := range fs {
		if i > 0 {
			word += " "
		}
		word += f.word
	}
	if len(fs) == 1 {
		if r, ok := refused(fs[0].word); ok {
			return p.refuse(fs[0].word, r)
		}
	}
	e := fault(p.kind, p.text, word, "wrong_kind", "", "%q is not a unit of %s", word, p.kind.String())
	e.Hint = "write a number and a unit, such as " + p.kind.info().example
	if p.kind == Mass {
		e.Hint = "weigh it and write grams, or give the bulk density too"
	}
	return e
}
