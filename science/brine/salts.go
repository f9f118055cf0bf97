package brine

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sodalake/science/formula"
)

// SaltError is a substance that the package cannot put into water.
type SaltError struct {
	Formula string
	Reason  string
	Hint    string
}

// Error names the substance first.
func (e *SaltError) Error() string { return fmt.Sprintf("salt %q: %s", e.Formula, e.Reason) }

// part is a piece of a formula that water takes apart into known totals.
type part struct {
	charge float64
	gives  map[Total]float64
	trace  string // a metal that is reported beside the totals
}

// parts by the letters that stand for them. Longer ones are tried first.
//
// Trace metals end as hydroxides or carbonates at the pH of a pond: the anions
// that came with them cost alkalinity, the metals bring none back.
var parts = map[string]part{
	"Na": {1, map[Total]float64{Na: 1}, ""}, "K": {1, map[Total]float64{K: 1}, ""},
	"Ca": {2, map[Total]float64{Ca: 1}, ""}, "Mg": {2, map[Total]float64{Mg: 1}, ""},
	"NH4": {1, map[Total]float64{Ammonia: 1}, ""}, "H": {1, nil, ""},
	"Fe": {2, map[Total]float64{Iron: 1}, ""},
	"Mn": {2, nil, "Mn"}, "Zn": {2, nil, "Zn"}, "Cu": {2, nil, "Cu"}, "Co": {2, nil, "Co"}, "Ni": {2, nil, "Ni"},
	"Cl": {-1, map[Total]float64{Cl: 1}, ""}, "SO4": {-2, map[Total]float64{SO4: 1}, ""},
	"NO3": {-1, map[Total]float64{NO3: 1}, ""}, "NO2": {-1, map[Total]float64{NO2: 1}, ""},
	"HCO3": {-1, map[Total]float64{DIC: 1}, ""}, "CO3": {-2, map[Total]float64{DIC: 1}, ""},
	"OH": {-1, nil, ""}, "O": {-2, nil, ""}, "HSO4": {-1, map[Total]float64{SO4: 1}, ""},
	"H2PO4": {-1, map[Total]float64{PO4: 1}, ""}, "HPO4": {-2, map[Total]float64{PO4: 1}, ""}, "PO4": {-3, map[Total]float64{PO4: 1}, ""},
	"H2BO3": {-1, map[Total]float64{Borate: 1}, ""}, "BO3": {-3, map[Total]float64{Borate: 1}, ""}, "BO2": {-1, map[Total]float64{Borate: 1}, ""},
	"B4O7": {-2, map[Total]float64{Borate: 4}, ""}, "EDTA": {-4, map[Total]float64{EDTA: 1}, ""},
	"MoO4": {-2, nil, "Mo"},
}

// whole are substances that are no salts, by every spelling that is met.
var whole = map[string]map[Total]float64{
	"CO(NH2)2": {Urea: 1}, "(NH2)2CO": {Urea: 1}, "NH2CONH2": {Urea: 1}, "CH4N2O": {Urea: 1}, "H2NCONH2": {Urea: 1}, "CON2H4": {Urea: 1},
	"CO2": {DIC: 1}, "NH3": {Ammonia: 1}, "H2O": {}, "B(OH)3": {Borate: 1}, "B2O3": {Borate: 2},
}

// partNames are the keys of parts, longest first.
var partNames = func() []string {
	names := make([]string, 0, len(parts))
	for n := range parts {
		names = append(names, n)
	}
	sort.Slice(names, func(i, j int) bool {
		if len(names[i]) != len(names[j]) {
			return len(names[i]) > len(names[j])
		}
		return names[i] < names[j]
	})
	return names
}()

// Dissolved is what one mole of a substance leaves in water.
type Dissolved struct {
	MolarMass float64            // [g/mol]
	Totals    Totals             // totals per mole of substance [mol/mol]
	Trace     map[string]float64 // metals beside the totals, by symbol [mol/mol]
	WaterMol  float64            // crystal water [mol/mol]
}

// Dissolve returns what one mole of the substance with this formula leaves in
// water: it takes the formula apart into ions and checks that their charges
// cancel.
//
// Special cases: a formula that makes no sense is a *formula.Error, one with a
// piece that is not known or whose charges do not cancel a *SaltError.
func Dissolve(salt string) (Dissolved, error) {
	comp, err := formula.Parse(salt)
	if err != nil {
		return Dissolved{}, err
	}
	d := Dissolved{MolarMass: comp.MolarMass()}
	text := strings.TrimSpace(salt)
	for _, mark := range []string{"·", "•", "⋅", "*"} {
		text = strings.ReplaceAll(text, mark, ".")
	}
	text = strings.NewReplacer("[", "(", "]", ")").Replace(text)
	for _, piece := range splitParts(text) {
		r := &taker{text: piece, salt: salt, into: &d}
		mult := r.number()
		body := piece[r.at:]
		if gives, ok := whole[body]; ok {
			r.give(gives, mult)
			if body == "H2O" {
				d.WaterMol += mult
			}
			continue
		}
		charge, err := r.take(mult, 0)
		if err != nil {
			return Dissolved{}, err
		}
		if strings.Contains(body, "EDTA") {
			charge = 0 // the formula leaves hydrogens unsaid
		}
		// iron may come as ferric iron: one more charge each is no error
		if math.Abs(charge) > 1e-9 && !(charge < 0 && math.Abs(charge+r.iron) < 1e-9) {
			return Dissolved{}, &SaltError{salt, "the charges of its ions do not cancel", "write it as on the label, with every subscript"}
		}
	}
	return d, nil
}

// splitParts cuts a formula at the dots before crystal water or a second salt.
// A dot between two digits of one number is a decimal point.
func splitParts(text string) []string {
	var out []string
	start := 0
	for i := 0; i < len(text); i++ {
		if text[i] != '.' {
			continue
		}
		if i > start && digit(text[start]) && allDigits(text[start:i]) {
			continue // the multiplier of this part goes on: 0.5H2O
		}
		out = append(out, text[start:i])
		start = i + 1
	}
	return append(out, text[start:])
}

func digit(b byte) bool { return b >= '0' && b <= '9' }

func allDigits(s string) bool {
	for i := range len(s) {
		if !digit(s[i]) {
			return false
		}
	}
	return s != ""
}

// taker takes one part of a formula apart.
type taker struct {
	text string
	at   int
	salt string
	into *Dissolved
	iron float64 // atoms of iron met
}

// number reads a count, 1 when there is none.
func (r *taker) number() float64 {
	start := r.at
	for r.at < len(r.text) && (digit(r.text[r.at]) || (r.at == start+1 && start == 0 && r.text[r.at] == '.')) {
		r.at++
	}
	if r.at == start {
		return 1
	}
	var n float64
	if _, err := fmt.Sscanf(r.text[start:r.at], "%g", &n); err != nil {
		return 1
	}
	return n
}

// give adds n moles of gives.
func (r *taker) give(gives map[Total]float64, n float64) {
	for total, k := range gives {
		r.into.Totals[total] += n * k
	}
}

// take reads ions until the text or the bracket ends, and returns the charge
// [1] of one unit of them; each unit counts mult times.
func (r *taker) take(mult float64, depth int) (float64, error) {
	var charge float64
	for r.at < len(r.text) && r.text[r.at] != ')' {
		if r.text[r.at] == '(' {
			inner, n, err := r.bracket(mult, depth)
			if err != nil {
				return 0, err
			}
			charge += n * inner
			continue
		}
		name := r.next()
		if name == "" {
			return 0, &SaltError{r.salt, fmt.Sprintf("%q is not an ion that is known here", r.text[r.at:]),
				"known are salts of Na, K, Ca, Mg, NH4, H, Fe and trace metals with Cl, SO4, NO3, NO2, HCO3, CO3, OH, PO4, borate and EDTA, and urea"}
		}
		r.at += len(name)
		n := r.number()
		p := parts[name]
		charge += n * p.charge
		r.give(p.gives, n*mult)
		if name == "Fe" {
			r.iron += n
		}
		if p.trace != "" {
			if r.into.Trace == nil {
				r.into.Trace = map[string]float64{}
			}
			r.into.Trace[p.trace] += n * mult
		}
	}
	return charge, nil
}

// bracket reads a bracketed group and its count.
func (r *taker) bracket(mult float64, depth int) (charge, n float64, err error) {
	open := r.at
	end := strings.IndexByte(r.text[open:], ')')
	if depth > 4 || end < 0 {
		return 0, 0, &SaltError{r.salt, "its brackets are not understood", ""}
	}
	r.at = open + 1
	inner := &taker{text: r.text, at: r.at, salt: r.salt, into: &Dissolved{}}
	if charge, err = inner.take(1, depth+1); err != nil {
		return 0, 0, err
	}
	if inner.at >= len(r.text) {
		return 0, 0, &SaltError{r.salt, "its brackets are not understood", ""}
	}
	r.at = inner.at + 1
	n = r.number()
	for i, k := range inner.into.Totals {
		r.into.Totals[i] += k * n * mult
	}
	for sym, k := range inner.into.Trace {
		if r.into.Trace == nil {
			r.into.Trace = map[string]float64{}
		}
		r.into.Trace[sym] += k * n * mult
	}
	r.iron += inner.iron * n
	return charge, n, nil
}

// next returns the longest known ion that stands at this place.
func (r *taker) next() string {
	for _, name := range partNames {
		if !strings.HasPrefix(r.text[r.at:], name) {
			continue
		}
		after := r.at + len(name)
		if after < len(r.text) {
			b := r.text[after]
			if b >= 'a' && b <= 'z' {
				continue // N of Na is not nitrogen
			}
			if digit(b) && digit(name[len(name)-1]) {
				continue
			}
		}
		return name
	}
	return ""
}

// Made is a solution made up from salts.
type Made struct {
	Totals      Totals             // what is in it [mol/kg water]
	KgWaterPerL float64            // water in a litre of it at 25 °C, crystal water included [kg/L]
	DensityKgL  float64            // its density at 25 °C [kg/L]
	Trace       map[string]float64 // trace metals by symbol [mol/kg water]
}

// FromSalts returns the totals [mol/kg water] of a solution with gPerL grams of
// each salt, by formula, in a litre of finished solution at 25 °C [g/L], and
// the water in that litre [kg/L]. The density that this takes is worked out by
// the way.
func FromSalts(gPerL map[string]float64) (Totals, float64, error) {
	made, err := MakeUp(New(Pitzer), gPerL)
	return made.Totals, made.KgWaterPerL, err
}

// MakeUp is FromSalts with a solver of the caller's, and all it finds out.
// gPerL is in grams per litre of finished solution at 25 °C [g/L].
func MakeUp(s *Solver, gPerL map[string]float64) (Made, error) {
	made := Made{Trace: map[string]float64{}}
	var perL Totals
	trace := map[string]float64{}
	var grams, crystal float64
	for _, salt := range sortedKeys(gPerL) {
		g := gPerL[salt]
		if !(g >= 0) || g > 2000 {
			return Made{}, &InputError{Field: salt, Value: g, Reason: "grams per litre must be between 0 and 2000"}
		}
		d, err := Dissolve(salt)
		if err != nil {
			return Made{}, err
		}
		mol := g / d.MolarMass
		for i, k := range d.Totals {
			perL[i] += mol * k
		}
		for sym, k := range d.Trace {
			trace[sym] += mol * k
		}
		grams += g
		crystal += mol * d.WaterMol * waterMol
	}
	var w Water
	density := PureWaterDensityKgL(25) + 0.7e-3*grams
	for range 30 {
		water := density - grams*1e-3 + crystal
		if water < 0.3 {
			return Made{}, &InputError{Field: "salts_g_per_l", Value: grams, Reason: "so much salt leaves no room for the water"}
		}
		for i, x := range perL {
			made.Totals[i] = x / water
		}
		made.KgWaterPerL, made.DensityKgL = water, density
		if err := s.Solve(&made.Totals, 25, &w); err != nil {
			return Made{}, err
		}
		next := DensityKgL(&w, 25)
		if math.Abs(next-density) < 1e-9 {
			break
		}
		density = next
	}
	for sym, x := range trace {
		made.Trace[sym] = x / made.KgWaterPerL
	}
	return made, nil
}

// FromSaltsPerKg returns the totals [mol/kg water] of mmolPerKg millimoles of
// each salt in a kilogram of water [mmol/kg]; crystal water is left out of
// account.
func FromSaltsPerKg(mmolPerKg map[string]float64) (Totals, error) {
	var t Totals
	for _, salt := range sortedKeys(mmolPerKg) {
		x := mmolPerKg[salt]
		if !(x >= 0) || x > 1000*maxMolality {
			return Totals{}, &InputError{Field: salt, Value: x, Reason: "millimoles per kilogram must not be negative nor beyond a brine"}
		}
		d, err := Dissolve(salt)
		if err != nil {
			return Totals{}, err
		}
		for i, k := range d.Totals {
			t[i] += x * 1e-3 * k
		}
	}
	return t, nil
}

func sortedKeys(m map[string]float64) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
