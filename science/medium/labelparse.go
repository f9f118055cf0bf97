package medium

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

const maxLabel = 2000 // longest label read, in bytes

var (
	gradeRE    = regexp.MustCompile(`(\d+(?:[.,]\d+)?)\s*[-:/]\s*(\d+(?:[.,]\d+)?)\s*[-:/]\s*(\d+(?:[.,]\d+)?)(?:\s*[-:/]\s*(\d+(?:[.,]\d+)?)([a-z]*))?`)
	likelyRE   = regexp.MustCompile(`\d\s*[-:/]\s*\d+(?:[.,]\d+)?\s*[-:/]\s*\d|%|(?i:\b(?:npk|nitrogen|p2o5|k2o|potash)\b)`)
	negativeRE = regexp.MustCompile(`(^|[\s(%])-\d`)
	tokenRE    = regexp.MustCompile(`[a-z][a-z0-9]*|\d+(?:[.,]\d+)?|mg/kg|g/kg|\S`)
)

// looksLikeLabel tells a fertiliser label from a name or a formula.
func looksLikeLabel(s string) bool { return likelyRE.MatchString(s) }

// labelWord is what a word on a label means.
type labelWord struct {
	element string  // "N", "P", ...
	factor  float64 // element in what the word names [1]
	form    string  // of nitrogen
	alone   bool    // a form that says nitrogen by itself
	symbol  bool    // a chemist's sign, not a name
	oxide   bool    // turns an element's name into its oxide
}

var labelWords = map[string]labelWord{
	"n": {element: "N", factor: 1, symbol: true}, "nitrogen": {element: "N", factor: 1},
	"nitrate": {form: "nitrate"}, "no3": {form: "nitrate"}, "nitric": {form: "nitrate", alone: true},
	"ammonium": {form: "ammonium"}, "ammonia": {form: "ammonium"}, "nh4": {form: "ammonium"}, "nh3": {form: "ammonium"}, "ammoniacal": {form: "ammonium", alone: true},
	"urea": {form: "urea"}, "nh2": {form: "urea"}, "amide": {form: "urea"}, "carbamide": {form: "urea"}, "ureic": {form: "urea", alone: true},
	"slow": {form: "slow"}, "slowly": {form: "slow"}, "coated": {form: "slow"}, "insoluble": {form: "slow"}, "organic": {form: "slow"}, "methylene": {form: "slow"},
	"p": {element: "P", factor: 1, symbol: true}, "phosphorus": {element: "P"}, "p2o5": {element: "P", factor: pInP2O5, symbol: true},
	"phosphate": {element: "P", factor: pInP2O5}, "phosphoric": {element: "P", factor: pInP2O5}, "pentoxide": {oxide: true},
	"k": {element: "K", factor: 1, symbol: true}, "potassium": {element: "K"}, "k2o": {element: "K", factor: kInK2O, symbol: true}, "potash": {element: "K", factor: kInK2O},
	"ca": {element: "Ca", factor: 1, symbol: true}, "calcium": {element: "Ca"}, "cao": {element: "Ca", factor: caInCaO, symbol: true},
	"mg": {element: "Mg", factor: 1, symbol: true}, "magnesium": {element: "Mg"}, "mgo": {element: "Mg", factor: mgInMgO, symbol: true}, "magnesia": {element: "Mg", factor: mgInMgO},
	"s": {element: "S", factor: 1, symbol: true}, "sulfur": {element: "S"}, "sulphur": {element: "S"}, "so3": {element: "S", factor: sInSO3, symbol: true}, "trioxide": {oxide: true},
	"na": {element: "Na", factor: 1, symbol: true}, "sodium": {element: "Na"}, "na2o": {element: "Na", factor: naNa2O, symbol: true},
	"cl": {element: "Cl", factor: 1, symbol: true}, "chlorine": {element: "Cl", factor: 1}, "chloride": {element: "Cl", factor: 1},
	"fe": {element: "Fe", factor: 1, symbol: true}, "iron": {element: "Fe", factor: 1},
	"mn": {element: "Mn", factor: 1, symbol: true}, "manganese": {element: "Mn", factor: 1},
	"zn": {element: "Zn", factor: 1, symbol: true}, "zinc": {element: "Zn", factor: 1},
	"cu": {element: "Cu", factor: 1, symbol: true}, "copper": {element: "Cu", factor: 1},
	"b": {element: "B", factor: 1, symbol: true}, "boron": {element: "B", factor: 1}, "b2o3": {element: "B", factor: bInB2O3, symbol: true},
	"mo": {element: "Mo", factor: 1, symbol: true}, "molybdenum": {element: "Mo", factor: 1},
	"co": {element: "Co", factor: 1, symbol: true}, "cobalt": {element: "Co", factor: 1},
	"ni": {element: "Ni", factor: 1, symbol: true}, "nickel": {element: "Ni", factor: 1},
	"oxide": {oxide: true},
}

// fillers say nothing that counts.
var fillers = map[string]bool{
	"total": true, "available": true, "soluble": true, "water": true, "in": true, "and": true, "of": true, "which": true, "as": true, "from": true,
	"chelated": true, "chelate": true, "edta": true, "dtpa": true, "eddha": true, "hedta": true, "citrate": true, "neutral": true, "acid": true,
	"min": true, "minimum": true, "guaranteed": true, "analysis": true, "grade": true, "npk": true, "np": true, "nk": true, "pk": true,
	"fertiliser": true, "fertilizer": true, "plus": true, "with": true, "combined": true, "content": true, "the": true, "ec": true, "trace": true,
	"elements": true, "micronutrients": true, "secondary": true, "nutrients": true, "primary": true, "release": true, "by": true, "weight": true,
}

// oxideFactor is the share of the element in the oxide by which law counts it.
var oxideFactor = map[string]float64{"P": pInP2O5, "K": kInK2O, "Ca": caInCaO, "Mg": mgInMgO, "S": sInSO3, "Na": naNa2O, "B": bInB2O3}

var oxideName = map[string]string{"P": "P2O5", "K": "K2O", "Ca": "CaO", "Mg": "MgO", "S": "SO3", "Na": "Na2O"}

// ParseLabel reads what a fertiliser label promises: a grade ("20-20-20"), what
// stands after it ("+ 2 MgO + 5 S"), the forms of nitrogen ("NO3-N 5.5"), or a
// whole guaranteed analysis, by the law of place where names alone do not say
// whether the oxide or the element is meant. What follows "derived from" is not
// read.
//
// The error is an *InputError: a word or a figure that is not understood, a
// nutrient told twice, forms of nitrogen that add to more than all of it, or
// promises that no bag can hold.
func ParseLabel(text string, place Law) (*Label, error) {
	l := &Label{Text: strings.Join(strings.Fields(text), " "), Law: place}
	if l.Text == "" {
		return nil, wrong("label", "write what it promises, as in 20-20-20 or N 15.5 CaO 26", "label is empty")
	}
	if len(text) > maxLabel {
		return nil, wrong("label", "", "label is longer than %d letters", maxLabel)
	}
	if _, ok := LawByName(string(place)); !ok {
		return nil, wrong("law", "one of us, ca, eu, uk, au", "law %q is not known", string(place))
	}
	p := labelReader{label: l, told: map[string]bool{}}
	if err := p.read(text); err != nil {
		return nil, err
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	return l, nil
}

type labelReader struct {
	label *Label
	told  map[string]bool
}

func (p *labelReader) fail(hint, format string, args ...any) error {
	return wrong("label", hint, "label %q: "+format, append([]any{p.label.Text}, args...)...)
}

func (p *labelReader) read(text string) error {
	s := strings.ToLower(text)
	for from, to := range map[string]string{"₂": "2", "₃": "3", "₄": "4", "₅": "5", "–": "-", "−": "-", "≥": " ", "\u00a0": " ", "\u202f": " "} {
		s = strings.ReplaceAll(s, from, to)
	}
	if i := strings.Index(s, "derived from"); i >= 0 {
		s = s[:i]
	}
	if m := gradeRE.FindStringSubmatchIndex(s); m != nil {
		before, after := s[:m[0]], s[m[1]:]
		if err := p.words(before); err != nil {
			return err
		}
		if err := p.grade(s, m); err != nil {
			return err
		}
		s = after
	}
	for _, segment := range splitSegments(s) {
		if err := p.segment(segment); err != nil {
			return err
		}
	}
	return nil
}

// words holds what stands before a grade to words that a label may have there.
func (p *labelReader) words(s string) error {
	for _, t := range tokenRE.FindAllString(s, -1) {
		_, known := labelWords[t]
		if !known && !fillers[t] && !strings.Contains("()+-:,.%", t) {
			return p.fail("leave names of products and shops out", "%q before the grade is not understood", t)
		}
	}
	return nil
}

// grade books the three or four numbers of a grade.
func (p *labelReader) grade(s string, m []int) error {
	numbers := make([]float64, 0, 4)
	for i := 2; i <= 8; i += 2 {
		if m[i] < 0 {
			break
		}
		x, err := p.number(s[m[i]:m[i+1]])
		if err != nil {
			return err
		}
		numbers = append(numbers, x/100)
	}
	pf, kf := pInP2O5, kInK2O
	if p.label.Law.elemental() {
		pf, kf = 1, 1
	}
	for i, g := range []struct {
		key string
		x   *float64
		f   float64
	}{{"N", &p.label.Nitrogen, 1}, {"P", &p.label.P, pf}, {"K", &p.label.K, kf}} {
		*g.x = numbers[i] * g.f
		p.told[g.key] = true
	}
	if len(numbers) == 4 {
		unit := s[m[10]:m[11]]
		w, named := labelWords[unit]
		switch {
		case unit == "" && p.label.Law.elemental():
			p.label.S, p.label.sulfurAsE = numbers[3], true
			p.told["S"] = true
		case named && w.element != "":
			return p.put([]string{unit}, numbers[3])
		default:
			return p.fail("name it, as in 12-12-17 + 2 MgO", "what the fourth number stands for is not told")
		}
	}
	return nil
}

func (p *labelReader) number(s string) (float64, error) {
	x, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsInf(x, 0) || x > 1e6 {
		return 0, p.fail("", "%q is not a figure that a label can have", s)
	}
	return x, nil
}

// splitSegments cuts at commas that are no decimal marks, semicolons, plus
// signs and line ends.
func splitSegments(s string) []string {
	return strings.FieldsFunc(strings.ReplaceAll(decimalComma.ReplaceAllString(s, "$1.$2"), ",", ";"),
		func(r rune) bool { return r == ';' || r == '+' || r == '\n' || r == '\r' || r == '|' })
}

var decimalComma = regexp.MustCompile(`(\d),(\d)`)

// item is a name with its figure.
type item struct {
	name  []string
	value float64 // share of mass [1]
	has   bool
}

// segment reads names and figures in turn: all "name figure" or all "figure
// name".
func (p *labelReader) segment(s string) error {
	var items []item
	var cur item
	numberFirst, first := false, true
	flush := func() {
		if cur.has || len(cur.name) > 0 {
			items = append(items, cur)
		}
		cur = item{}
	}
	if negativeRE.MatchString(s) {
		return p.fail("", "a figure cannot be negative")
	}
	tokens := tokenRE.FindAllString(s, -1)
	for i := 0; i < len(tokens); i++ {
		t := tokens[i]
		switch {
		case t[0] >= '0' && t[0] <= '9':
			x, err := p.number(t)
			if err != nil {
				return err
			}
			if first {
				numberFirst, first = true, false
			}
			if numberFirst {
				flush()
			} else if cur.has {
				return p.fail("write a name before each figure, or after each", "%q stands beside another figure", t)
			}
			scale := 0.01
			i, scale = unitAfter(tokens, i)
			cur.value, cur.has = x*scale, true
			if !numberFirst {
				flush()
			}
		case isWord(t):
			_, known := labelWords[t]
			if !known && !fillers[t] {
				return p.fail("leave names of products and shops out", "%q is not understood", t)
			}
			if known {
				first = false
				cur.name = append(cur.name, t)
			}
		case strings.Contains("()-:.*/[]=<>~&", t):
		case t == "%":
			return p.fail("", "a %% stands without its figure")
		default:
			return p.fail("", "%q is not understood", t)
		}
	}
	flush()
	for _, it := range items {
		switch {
		case it.has && len(it.name) == 0:
			return p.fail("write what it is of, as in MgO 2", "the figure %s has no name", pct(it.value))
		case !it.has:
			return p.fail("", "%s has no figure", strings.Join(it.name, " "))
		}
		if err := p.put(it.name, it.value); err != nil {
			return err
		}
	}
	return nil
}

func isWord(t string) bool { return t[0] >= 'a' && t[0] <= 'z' && t != "mg/kg" && t != "g/kg" }

// unitAfter looks for the unit of the figure at token i; per cent without one.
func unitAfter(tokens []string, i int) (at int, scale float64) {
	rest := strings.Join(tokens[i+1:min(i+4, len(tokens))], "")
	switch {
	case strings.HasPrefix(rest, "%"):
		return i + 1, 0.01
	case strings.HasPrefix(rest, "ppm"):
		return i + 1, 1e-6
	case strings.HasPrefix(rest, "mg/kg"):
		return i + tokensOf(tokens[i+1:], "mg/kg"), 1e-6
	case strings.HasPrefix(rest, "g/kg"):
		return i + tokensOf(tokens[i+1:], "g/kg"), 1e-3
	}
	return i, 0.01
}

// tokensOf counts the tokens that make up text.
func tokensOf(tokens []string, text string) int {
	for n, s := 0, ""; n < len(tokens); n++ {
		if s += tokens[n]; s == text {
			return n + 1
		}
	}
	return 0
}

// put books a named figure.
func (p *labelReader) put(name []string, value float64) error {
	l := p.label
	key, form, alone, oxide, symbol := "", "", false, false, false
	factor := 0.0
	for _, n := range name {
		w := labelWords[n]
		oxide = oxide || w.oxide
		if w.form != "" {
			if form != "" && form != w.form {
				return p.fail("one line for each", "%q names two forms of nitrogen", strings.Join(name, " "))
			}
			form, alone = w.form, alone || w.alone
		}
		if w.element == "" {
			continue
		}
		if key != "" && key != w.element {
			return p.fail("one figure for each", "%q names two nutrients", strings.Join(name, " "))
		}
		key = w.element
		if w.factor > 0 && (factor == 0 || w.symbol) {
			factor, symbol = w.factor, symbol || w.symbol
		}
	}
	if form != "" && (key == "N" || key == "" && alone) {
		return p.form(form, value, name)
	}
	if form != "" && key == "" {
		return p.fail("write it as nitrogen, as in NO3-N 5.5", "%q may be the nitrogen in it or the whole ion", strings.Join(name, " "))
	}
	if key == "" {
		return p.fail("", "%q names no nutrient", strings.Join(name, " "))
	}
	byLaw := factor == 0 || len(name) == 1 && (name[0] == "p" || name[0] == "k")
	switch {
	case oxide && !symbol:
		factor = oxideFactor[key]
	case byLaw:
		factor = 1
		main := key == "P" || key == "K"
		if !l.Law.elemental() && (main || l.Law == EU || l.Law == UK) {
			factor = oxideFactor[key]
			l.Notes = append(l.Notes, strings.Join(name, " ")+" was read as "+oxideName[key]+", as the law there counts it")
		} else {
			l.Notes = append(l.Notes, strings.Join(name, " ")+" was read as the element, as the law there counts it")
		}
	}
	if factor == 0 {
		return p.fail("", "%q is not understood", strings.Join(name, " "))
	}
	if p.told[key] {
		return p.fail("", "%s is told twice", key)
	}
	p.told[key] = true
	if key == "S" && factor == 1 {
		l.sulfurAsE = true
	}
	*l.share(key) = value * factor
	return nil
}

// form books a form of nitrogen; where the label tells no total, the forms are
// the total.
func (p *labelReader) form(form string, value float64, name []string) error {
	if form != "slow" && p.told[form] {
		return p.fail("", "%s is told twice", strings.Join(name, " "))
	}
	p.told[form] = true
	if !p.told["N"] {
		p.label.Nitrogen += value
	}
	switch form {
	case "nitrate":
		p.label.Nitrate = value
	case "ammonium":
		p.label.Ammonium = value
	case "urea":
		p.label.Urea = value
	}
	return nil
}

// share returns the place of an element in the label [1].
func (l *Label) share(key string) *float64 {
	switch key {
	case "N":
		l.Nitrogen = 0 // forms told before it are parts of it
		return &l.Nitrogen
	case "P":
		return &l.P
	case "K":
		return &l.K
	case "Ca":
		return &l.Ca
	case "Mg":
		return &l.Mg
	case "S":
		return &l.S
	case "Na":
		return &l.Na
	case "Cl":
		return &l.Cl
	case "Fe":
		return &l.Fe
	case "Mn":
		return &l.Mn
	case "Zn":
		return &l.Zn
	case "Cu":
		return &l.Cu
	case "B":
		return &l.B
	case "Mo":
		return &l.Mo
	case "Co":
		return &l.Co
	}
	return &l.Ni
}
