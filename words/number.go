package words

import (
	"math"
	"strconv"
	"strings"
)

// dash stands between the two ends of a spread.
const dash = "–"

// Step returns the power of ten [unit of width] to which numbers are rounded
// whose spread from low to high has the given width [unit of width]: the
// largest that is not above half of it, so that the two ends still differ and
// no digit is printed that the spread does not earn. A width of zero or less,
// or one that is not a number, returns 0: nothing is known of the digits.
//
// finest is the smallest step that an instrument for the quantity can earn
// [unit of width]; 0 sets no limit.
func Step(width, finest float64) float64 {
	if !(width > 0) || math.IsInf(width, 1) {
		return 0
	}
	// 1 + 1e-9 lets a width of 0.2 that arrives as 0.19999999999 earn 0.1.
	step := math.Pow(10, math.Floor(math.Log10(width/2*(1+1e-9))))
	return math.Max(step, finest)
}

// stepOf returns the step for a number without a spread: three digits that
// count, but never finer than finest.
func stepOf(x, finest float64) float64 {
	x = math.Abs(x)
	if !(x > 0) || math.IsInf(x, 1) {
		return math.Max(finest, 1)
	}
	return math.Max(math.Pow(10, math.Floor(math.Log10(x))-2), finest)
}

// text prints x [any unit] rounded to a power of ten step [unit of x] with the
// language's decimal mark. A number that cannot be said is said as "?".
func (s *Speaker) text(x, step float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	if !(step > 0) {
		step = stepOf(x, 0)
	}
	decimals := max(0, int(-math.Round(math.Log10(step))))
	if step >= 1 {
		// The largest numbers would round to beyond what a number can be.
		if r := math.Round(x/step) * step; !math.IsInf(r, 0) {
			x = r
		}
	}
	t := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Trim(t, "-0.") == "" { // no minus zero
		t = strings.TrimPrefix(t, "-")
	}
	whole, part, cut := strings.Cut(t, ".")
	if digits := strings.TrimPrefix(whole, "-"); len(digits) > 4 {
		var b strings.Builder
		for i, r := range digits {
			if i > 0 && (len(digits)-i)%3 == 0 {
				b.WriteString(s.group)
			}
			b.WriteRune(r)
		}
		whole = strings.Repeat("-", len(whole)-len(digits)) + b.String()
	}
	if strings.HasPrefix(whole, "-") {
		whole = "−" + whole[1:] // the minus sign, not the hyphen
	}
	if cut {
		return whole + s.decimal + part
	}
	return whole
}

// spread prints low to high, "16–18"; with a negative end the word "to" stands
// between, because a dash beside a minus cannot be read.
func (s *Speaker) spread(low, high, step float64) string {
	l, h := s.text(low, step), s.text(high, step)
	switch {
	case l == h:
		return l
	case strings.HasPrefix(l, "−") || strings.HasPrefix(h, "−"):
		return s.T("format.to", "low", l, "high", h)
	}
	return l + dash + h
}

// Rounded prints x [any unit] to a step [unit of x] that somebody else chose,
// such as the marks of an axis.
func (s *Speaker) Rounded(x, step float64) string {
	if step > 0 && step < 1 {
		// A step of 0.2 or 0.5 needs as many decimals as 0.1 does.
		step = math.Pow(10, math.Floor(math.Log10(step)+1e-9))
	} else if step >= 1 {
		step = 1
	}
	return s.text(x, step)
}

// Bound prints a limit that somebody set, such as 0.001 or 1,000,000, to the
// digits it was set with.
func (s *Speaker) Bound(x float64) string {
	if a := math.Abs(x); a > 0 && (a < 1e-4 || a >= 1e9) {
		return strconv.FormatFloat(x, 'g', 3, 64)
	}
	return s.text(x, exact(x))
}
