package units

import (
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxText is the longest text that Parse reads [bytes].
const maxText = 200

type tokenKind uint8

const (
	tokEnd tokenKind = iota
	tokNumber
	tokFraction // proper or improper a/b
	tokWord
	tokSymbol
)

type token struct {
	kind   tokenKind
	text   string   // as written, for messages
	value  *big.Rat // of numbers and fractions
	whole  bool     // a number without decimals or exponent
	spaced bool     // white space stands before it
	note   string   // key of a note that reading this number earned
}

// mend replaces the many ways in which phones and keyboards write one sign.
var mend = strings.NewReplacer(
	"−", "-", "‐", "-", "‑", "-", "–", "~to~", "—", "~to~",
	"μ", "µ", "℃", "°C", "℉", "°F", "º", "°", "×", "*", "⋅", "·",
	"⁄", "/", "∕", "/", "’", "'", "′", "'", "”", "\"", "″", "\"", "“", "\"",
	"⁻", "^-", "¹", "^1", "²", "^2", "³", "^3", "₃", "3",
	"½", " 1/2 ", "⅓", " 1/3 ", "⅔", " 2/3 ", "¼", " 1/4 ", "¾", " 3/4 ",
	"⅛", " 1/8 ", "⅜", " 3/8 ", "⅝", " 5/8 ", "⅞", " 7/8 ", "⅕", " 1/5 ", "⅙", " 1/6 ",
	"\u2009", "_", "\u202f", "_", "\u00a0", "_", "\u2007", "_",
	"\t", " ", "\n", " ", "\r", " ",
)

// lex cuts a text into numbers, words and signs.
func lex(k Kind, sys System, text string) ([]token, *Error) {
	if len(text) > maxText {
		return nil, fault(k, text, text, "too_long", "", "the text is longer than %d bytes", maxText)
	}
	if !utf8.ValidString(text) {
		return nil, fault(k, text, text, "not_text", "", "the text is not valid UTF-8")
	}
	s := strings.ReplaceAll(mend.Replace(text), "^-^", "^-")
	var toks []token
	spaced := false
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == ' ' || r == '_':
			spaced = true
			i += n
			continue
		case isDigit(s[i]) || i+1 < len(s) && isDigit(s[i+1]) && (r == '.' && !endsInNumber(toks, spaced) || r == ',' && len(toks) == 0):
			t, used, err := lexNumber(k, sys, text, s[i:])
			if err != nil {
				return nil, err
			}
			t.spaced = spaced
			toks = append(toks, t)
			i += used
		case unicode.IsLetter(r) || r == '°' || r == '"' || r == '\'' || r == '%':
			j := i + n
			if r != '"' && r != '\'' && r != '%' {
				for j < len(s) {
					q, m := utf8.DecodeRuneInString(s[j:])
					if !unicode.IsLetter(q) && q != '°' && !(q == '.' && j > i) {
						break
					}
					j += m
				}
			}
			word := strings.ReplaceAll(s[i:j], ".", "")
			toks = append(toks, token{kind: tokWord, text: word, spaced: spaced})
			i = j
		case strings.ContainsRune("-+/*·^:,&~()<>=.", r):
			toks = append(toks, token{kind: tokSymbol, text: string(r), spaced: spaced})
			i += n
		default:
			return nil, fault(k, text, string(r), "unknown_sign", "write a number and a unit, such as "+k.info().example,
				"%q is not understood", string(r))
		}
		spaced = false
	}
	return joinFractions(k, text, toks)
}

func endsInNumber(toks []token, spaced bool) bool {
	return len(toks) > 0 && toks[len(toks)-1].kind == tokNumber && !spaced
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

// joinFractions turns number / number, written without a space, into one token.
func joinFractions(k Kind, text string, toks []token) ([]token, *Error) {
	out := toks[:0]
	for i := 0; i < len(toks); i++ {
		t := toks[i]
		if t.kind == tokNumber && t.whole && i+2 < len(toks) &&
			toks[i+1].kind == tokSymbol && toks[i+1].text == "/" && !toks[i+1].spaced &&
			toks[i+2].kind == tokNumber && toks[i+2].whole && !toks[i+2].spaced {
			den := toks[i+2]
			if den.value.Sign() == 0 {
				return nil, fault(k, text, t.text+"/"+den.text, "divided_by_zero", "", "a fraction over nothing")
			}
			t.kind, t.text = tokFraction, t.text+"/"+den.text
			t.value = new(big.Rat).Quo(t.value, den.value)
			t.whole = false
			i += 2
		}
		out = append(out, t)
	}
	return append(out, token{kind: tokEnd}), nil
}

// lexNumber reads digits with their thousands and decimal marks and an
// exponent from the start of s.
func lexNumber(k Kind, sys System, text, s string) (token, int, *Error) {
	end := 0
	for end < len(s) && (isDigit(s[end]) || (s[end] == '.' || s[end] == ',') && end+1 < len(s) && isDigit(s[end+1]) || threeDigits(s[end:])) {
		end++
	}
	written := s[:end]
	digits, note, err := marks(k, sys, text, written)
	if err != nil {
		return token{}, 0, err
	}
	whole := !strings.Contains(digits, ".")
	if used := exponent(s[end:]); used > 0 {
		digits += s[end : end+used]
		end += used
		whole = false
	}
	if len(digits) > 60 {
		return token{}, 0, fault(k, text, written, "too_many_digits", "", "the number has too many digits")
	}
	v, ok := new(big.Rat).SetString(digits)
	if !ok {
		return token{}, 0, fault(k, text, written, "bad_number", "", "%q is not a number", written)
	}
	return token{kind: tokNumber, text: strings.ReplaceAll(s[:end], "_", " "), value: v, whole: whole, note: note}, end, nil
}

// exponent returns how many bytes at the start of s are an exponent of at
// most three digits: "e-3".
func exponent(s string) int {
	if len(s) < 2 || s[0] != 'e' && s[0] != 'E' {
		return 0
	}
	i := 1
	if s[i] == '-' || s[i] == '+' {
		i++
	}
	j := i
	for j < len(s) && isDigit(s[j]) {
		j++
	}
	if j == i || j-i > 3 {
		return 0
	}
	return j
}

// marks settles which of the points, commas and spaces in a number are decimal
// marks, and returns it with one point at most.
func marks(k Kind, sys System, text, n string) (digits, note string, err *Error) {
	bad := func() (string, string, *Error) {
		return "", "", fault(k, text, n, "bad_number", `write it with one decimal mark, such as "1234.5"`, "%q is not a number", n)
	}
	if strings.Contains(n, "_") { // thin or hard spaces group; a single mark is then decimal
		head, tail := n, ""
		if i := strings.IndexAny(n, ".,"); i >= 0 {
			head, tail = n[:i], "."+n[i+1:]
		}
		if !grouped(head, '_') || strings.ContainsAny(tail[min(1, len(tail)):], ".,_") {
			return bad()
		}
		return strings.ReplaceAll(head, "_", "") + tail, "", nil
	}
	points, commas := strings.Count(n, "."), strings.Count(n, ",")
	switch {
	case commas == 0 && points == 0:
		return n, "", nil
	case commas == 0 && points == 1:
		if grouped(n, '.') && n[0] != '0' {
			note = "decimal_point"
		}
		return n, note, nil
	case commas > 0 && points > 0:
		mark, group := byte('.'), byte(',')
		if strings.LastIndexByte(n, ',') > strings.LastIndexByte(n, '.') {
			mark, group = ',', '.'
		}
		head, tail, _ := strings.Cut(n, string(mark))
		if strings.IndexByte(tail, group) >= 0 || strings.IndexByte(tail, mark) >= 0 || !grouped(head, group) {
			return bad()
		}
		return strings.ReplaceAll(head, string(group), "") + "." + tail, "", nil
	case commas > 1 || points > 1:
		group := byte(',')
		if points > 1 {
			group = '.'
		}
		if !grouped(n, group) || n[0] == '0' {
			return bad()
		}
		return strings.ReplaceAll(n, string(group), ""), "", nil
	}
	// One comma.
	if !grouped(n, ',') || n[0] == '0' {
		return strings.Replace(n, ",", ".", 1), "decimal_comma", nil
	}
	thousands, decimal := strings.Replace(n, ",", "", 1), strings.Replace(n, ",", ".", 1)
	if sys == US {
		return thousands, "thousands", nil
	}
	e := fault(k, text, n, "ask_comma", "write "+thousands+" or "+decimal,
		"%q may be %s or %s", n, thousands, decimal)
	e.Choices = []string{strings.Replace(text, n, thousands, 1), strings.Replace(text, n, decimal, 1)}
	return "", "", e
}

// threeDigits reports whether s starts with a grouping space and exactly three
// digits.
func threeDigits(s string) bool {
	return len(s) > 3 && s[0] == '_' && isDigit(s[1]) && isDigit(s[2]) && isDigit(s[3]) && (len(s) == 4 || !isDigit(s[4]))
}

// grouped reports whether n is one to three digits and then groups of three,
// each after the mark.
func grouped(n string, mark byte) bool {
	parts := strings.Split(n, string(mark))
	if len(parts) < 2 || len(parts[0]) < 1 || len(parts[0]) > 3 {
		return false
	}
	for _, p := range parts[1:] {
		if len(p) != 3 {
			return false
		}
	}
	return true
}
