package assay

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Op says how a result is meant.
type Op string

// The operators. A result below detection is a value of its own, never zero.
const (
	Equal   Op = "="
	Below   Op = "<"
	Above   Op = ">"
	Absent  Op = "absent"  // in the portion that was examined
	Present Op = "present" // in the portion that was examined
)

// Measure is what a result counts.
type Measure string

// The measures of results and limits.
const (
	MassShare Measure = "mg/kg"
	PerGram   Measure = "1/g"
)

// Result is what a laboratory reports of one thing.
type Result struct {
	Op      Op
	Value   float64 // [mg/kg or 1/g, by Measure]
	Spread  float64 // expanded uncertainty, 0 if none was given [same as Value]
	InG     float64 // portion examined, for Absent and Present [g]
	Measure Measure
}

// resultUnits are the units of results, lower case and without blanks.
var resultUnits = map[string]struct {
	measure Measure
	factor  float64
}{
	"mg/kg": {MassShare, 1}, "µg/g": {MassShare, 1}, "ug/g": {MassShare, 1}, "mcg/g": {MassShare, 1}, "ppm": {MassShare, 1},
	"µg/kg": {MassShare, 1e-3}, "ug/kg": {MassShare, 1e-3}, "mcg/kg": {MassShare, 1e-3}, "ng/g": {MassShare, 1e-3}, "ppb": {MassShare, 1e-3},
	"mg/g": {MassShare, 1e3}, "g/kg": {MassShare, 1e3}, "mg/100g": {MassShare, 10}, "g/100g": {MassShare, 1e4}, "%": {MassShare, 1e4},
	"µg/100g": {MassShare, 1e-2}, "ug/100g": {MassShare, 1e-2}, "mcg/100g": {MassShare, 1e-2},
	"cfu/g": {PerGram, 1}, "ufc/g": {PerGram, 1}, "kbe/g": {PerGram, 1}, "mpn/g": {PerGram, 1}, "/g": {PerGram, 1}, "1/g": {PerGram, 1},
	"cfu/10g": {PerGram, 0.1}, "cfu/25g": {PerGram, 0.04}, "cfu/100g": {PerGram, 0.01}, "mpn/100g": {PerGram, 0.01}, "cfu/kg": {PerGram, 1e-3},
}

const unitHint = "write it with its unit, as 0.32 mg/kg, < 0.05 mg/kg, 1200 cfu/g or absent in 25 g"

// ParseResult reads a result as laboratories write it: "0.32 mg/kg", "<0.05
// mg/kg", "0.30 ± 0.05 mg/kg", "1.2e4 cfu/g", "3.1 log cfu/g", "absent in 25 g",
// "not detected in 10 g". A result without unit is refused, and so is "not
// detected" without the portion or the limit of detection.
func ParseResult(text string) (Result, error) {
	fail := func(format string, args ...any) (Result, error) {
		return Result{}, bad("result", unitHint, fmt.Sprintf(format, args...))
	}
	if len(text) > 200 || !utf8.ValidString(text) {
		return fail("result is not a short line of text")
	}
	s := strings.ToLower(strings.TrimSpace(text))
	s = strings.NewReplacer("μ", "µ", "≤", "<", "≥", ">", "−", "-", "+/-", "±", "+-", "±", "\u00a0", " ", "\u202f", " ").Replace(s)
	if s == "" {
		return fail("result is empty")
	}
	for _, w := range []struct {
		word string
		op   Op
	}{{"not detected", Absent}, {"not found", Absent}, {"negative", Absent}, {"absent", Absent}, {"absence", Absent}, {"nd", Absent}, {"detected", Present}, {"present", Present}, {"positive", Present}} {
		rest, ok := strings.CutPrefix(s, w.word)
		if !ok {
			continue
		}
		rest = strings.TrimSpace(rest)
		if rest == "" && w.op == Present {
			return Result{Op: Present, Measure: PerGram}, nil
		}
		rest, ok = cutAny(rest, "in ", "per ", "/")
		if !ok {
			return fail("result %q does not say in how much was looked", text)
		}
		x, unit, ok := number(strings.TrimSpace(rest))
		if !ok || !(x > 0) || (unit != "g" && unit != "kg") {
			return fail("result %q does not say in how many grams was looked", text)
		}
		if unit == "kg" {
			x *= 1000
		}
		return Result{Op: w.op, InG: x, Measure: PerGram}, nil
	}
	r := Result{Op: Equal}
	if rest, ok := cutAny(s, "<", "less than", "below"); ok {
		r.Op, s = Below, strings.TrimPrefix(rest, "=")
	} else if rest, ok := cutAny(s, ">", "more than", "above"); ok {
		r.Op, s = Above, strings.TrimPrefix(rest, "=")
	}
	var ok bool
	r.Value, s, ok = number(strings.TrimSpace(s))
	if !ok {
		return fail("result %q has no number", text)
	}
	if rest, pm := strings.CutPrefix(s, "±"); pm {
		if r.Spread, s, ok = number(strings.TrimSpace(rest)); !ok || r.Op != Equal {
			return fail("result %q has an uncertainty that cannot be read", text)
		}
		if strings.HasPrefix(s, "%") && s != "%" {
			r.Spread, s = r.Value*r.Spread/100, strings.TrimSpace(s[1:])
		}
	}
	unit := strings.ReplaceAll(s, " ", "")
	if unit == "" {
		return fail("result %q has no unit", text)
	}
	if rest, log := cutAny(unit, "log10", "log"); log {
		rest = strings.Trim(rest, "()")
		u, known := resultUnits[rest]
		if !known || u.measure != PerGram || r.Spread > 0 || !(math.Abs(r.Value) <= 15) {
			return fail("result %q has a unit that is not known", text)
		}
		r.Value, r.Measure = math.Pow(10, r.Value)*u.factor, PerGram
		return r, nil
	}
	u, known := resultUnits[unit]
	if !known {
		return fail("result %q has a unit that is not known", text)
	}
	r.Value, r.Spread, r.Measure = r.Value*u.factor, r.Spread*u.factor, u.measure
	switch {
	case r.Op == Below && !(r.Value > 0):
		return fail("result %q is below nothing", text)
	case u.measure == MassShare && r.Op == Equal && r.Value > 1e6:
		return fail("result %q is more than the whole", text)
	}
	return r, nil
}

// cutAny cuts the first prefix that fits.
func cutAny(s string, prefixes ...string) (rest string, found bool) {
	for _, p := range prefixes {
		if rest, ok := strings.CutPrefix(s, p); ok {
			return strings.TrimSpace(rest), true
		}
	}
	return s, false
}

// number reads a number at the start of s, not negative: 0.05, 0,05, 1.2e4,
// 1.2 x 10^4. A comma is a decimal one; grouped thousands are not read.
func number(s string) (x float64, rest string, ok bool) {
	i, digits, marks := 0, 0, 0
	for i < len(s) {
		c := s[i]
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' || c == ',':
			marks++
		case c == 'e' && digits > 0 && i+1 < len(s) && (s[i+1] >= '0' && s[i+1] <= '9' || (s[i+1] == '-' || s[i+1] == '+') && i+2 < len(s) && s[i+2] >= '0' && s[i+2] <= '9'):
			i += 2
			for i < len(s) && s[i] >= '0' && s[i] <= '9' {
				i++
			}
			goto done
		default:
			goto done
		}
		i++
	}
done:
	if digits == 0 || marks > 1 {
		return 0, s, false
	}
	x, err := strconv.ParseFloat(strings.Replace(s[:i], ",", ".", 1), 64)
	if err != nil || math.IsInf(x, 0) {
		return 0, s, false
	}
	rest = strings.TrimSpace(s[i:])
	if more, times := cutAny(rest, "x", "×", "*"); times {
		power, is := cutAny(more, "10^", "10e")
		if !is {
			return 0, s, false
		}
		j := 0
		for j < len(power) && (power[j] >= '0' && power[j] <= '9' || j == 0 && power[j] == '-') {
			j++
		}
		n, err := strconv.Atoi(power[:j])
		if err != nil || n > 15 || n < -15 {
			return 0, s, false
		}
		x *= math.Pow(10, float64(n))
		rest = strings.TrimSpace(power[j:])
	}
	return x, rest, true
}
