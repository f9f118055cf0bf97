package medium

import (
	"fmt"
	"math"
	"strings"

	"sodalake/science/brine"
)

// Law is by whose law a fertiliser label is read: it decides what the second
// and third number of a grade and the secondary nutrients stand for.
type Law string

// The laws. All count nitrogen as the element.
//
//	us     P2O5 and K2O; calcium, magnesium and sulfur as elements
//	ca     as us
//	eu     P2O5 and K2O; CaO, MgO, SO3 and Na2O
//	uk     as eu; elements may stand beside
//	au     phosphorus, potassium and the rest as elements; a fourth number is sulfur
//
// Source: aapfco2015, sections on the guaranteed analysis; eu2019a, annex III;
// the Australian code of labelling practice from memory.
const (
	US Law = "us"
	CA Law = "ca"
	EU Law = "eu"
	UK Law = "uk"
	AU Law = "au"
)

// LawByName returns the law of that name, and whether there is one.
func LawByName(name string) (Law, bool) {
	switch l := Law(strings.ToLower(strings.TrimSpace(name))); l {
	case US, CA, EU, UK, AU:
		return l, true
	}
	return "", false
}

func (l Law) elemental() bool { return l == AU }

// Label is what the label of a fertiliser promises, as shares of its mass, by
// element.
type Label struct {
	Text      string   `json:"text"`            // as written
	Law       Law      `json:"law"`             // by which it was read
	Nitrogen  float64  `json:"nitrogen"`        // in all [1]
	Nitrate   float64  `json:"nitrate"`         // nitrogen as nitrate [1]
	Ammonium  float64  `json:"ammonium"`        // nitrogen as ammonium [1]
	Urea      float64  `json:"urea"`            // nitrogen as urea [1]
	Untold    float64  `json:"untold"`          // nitrogen whose form is not told, or slow [1]
	P         float64  `json:"p"`               // phosphorus [1]
	K         float64  `json:"k"`               // potassium [1]
	Ca        float64  `json:"ca"`              // calcium [1]
	Mg        float64  `json:"mg"`              // magnesium [1]
	S         float64  `json:"s"`               // sulfur [1]
	Na        float64  `json:"na"`              // sodium [1]
	Cl        float64  `json:"cl"`              // chlorine [1]
	Fe        float64  `json:"fe"`              // iron [1]
	Mn        float64  `json:"mn"`              // manganese [1]
	Zn        float64  `json:"zn"`              // zinc [1]
	Cu        float64  `json:"cu"`              // copper [1]
	B         float64  `json:"b"`               // boron [1]
	Mo        float64  `json:"mo"`              // molybdenum [1]
	Co        float64  `json:"co"`              // cobalt [1]
	Ni        float64  `json:"ni"`              // nickel [1]
	Notes     []string `json:"notes,omitempty"` // what was decided in reading it
	sulfurAsE bool     // sulfur told as the element: it may be elemental
}

// Oxide factors: mass of the element in its oxide [1], from the IUPAC weights.
const (
	pInP2O5 = 2 * 30.974 / (2*30.974 + 5*15.999)
	kInK2O  = 2 * 39.098 / (2*39.098 + 15.999)
	caInCaO = 40.078 / (40.078 + 15.999)
	mgInMgO = 24.305 / (24.305 + 15.999)
	sInSO3  = 32.06 / (32.06 + 3*15.999)
	naNa2O  = 2 * 22.990 / (2*22.990 + 15.999)
	bInB2O3 = 2 * 10.81 / (2*10.81 + 3*15.999)
)

// least returns the least mass that can hold what the label promises, as a
// share of the whole [1]: metals and acids as their oxides, which together make
// up any dry salt exactly, ammonium as ammonia, chloride less the oxygen that
// it saves its metal.
func (l *Label) least() float64 {
	sulfur := l.S / sInSO3
	if l.sulfurAsE {
		sulfur = l.S // it may be flowers of sulfur
	}
	const (
		nitrateAsN2O5  = (2*14.007 + 5*15.999) / (2 * 14.007)
		ammoniumAsNH3  = 17.031 / 14.007
		ureaPerN       = ureaMol / (2 * 14.007)
		chlorideLessO  = 1 - 15.999/(2*35.45)
		traceAsElement = 1
	)
	return l.Nitrate*nitrateAsN2O5 + l.Ammonium*ammoniumAsNH3 + l.Urea*ureaPerN + l.Untold +
		l.P/pInP2O5 + l.K/kInK2O + l.Ca/caInCaO + l.Mg/mgInMgO + sulfur + l.Na/naNa2O + l.Cl*chlorideLessO +
		traceAsElement*(l.Fe+l.Mn+l.Zn+l.Cu+l.B+l.Mo+l.Co+l.Ni)
}

// check holds a label against what a bag can hold.
func (l *Label) check() error {
	if l.Nitrogen == 0 && l.P == 0 && l.K == 0 && l.least() <= 0 {
		return wrong("label", "write what it promises, as in 20-20-20 or N 15.5 CaO 26", "label %q promises nothing", l.Text)
	}
	forms := l.Nitrate + l.Ammonium + l.Urea
	const rounding = 0.0011 // each figure is rounded to a tenth of a per cent, and there are three
	if forms > l.Nitrogen+rounding {
		return wrong("label", "the forms are parts of the total nitrogen, not beside it",
			"label %q: its forms of nitrogen add to %s %%, more than the %s %% in all", l.Text, pct(forms), pct(l.Nitrogen))
	}
	l.Untold = math.Max(0, l.Nitrogen-forms)
	if l.Untold < rounding {
		l.Untold = 0
	}
	if sum := l.least(); sum > 1.0005 {
		return wrong("label", "check the figures, and whether they are oxides or elements where it is sold",
			"label %q cannot be: what it promises weighs at least %s %% of it", l.Text, pct(sum))
	}
	return nil
}

func pct(share float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", 100*share), ".0")
}

// yield returns what a gram leaves in water [mol/g]. A label does not name its
// salts: what it leaves unsaid is taken to be whatever balances the charges,
// chloride where metals and ammonium are in excess, sodium where acids are;
// phosphate counts as dihydrogen phosphate. Nitrogen of untold form counts as
// ammonium, the worse case.
func (l *Label) yield() Yield {
	var y Yield
	t := &y.Totals
	t[brine.NO3] = l.Nitrate / 14.007
	t[brine.Ammonia] = (l.Ammonium + l.Untold) / 14.007
	t[brine.Urea] = l.Urea / (2 * 14.007)
	t[brine.PO4] = l.P / 30.974
	t[brine.K] = l.K / 39.098
	t[brine.Ca] = l.Ca / 40.078
	t[brine.Mg] = l.Mg / 24.305
	t[brine.SO4] = l.S / 32.06
	t[brine.Na] = l.Na / 22.990
	t[brine.Cl] = l.Cl / 35.45
	t[brine.Iron] = l.Fe / 55.845
	t[brine.Borate] = l.B / 10.81
	y.Metals = Metals{l.Mn / 54.938, l.Zn / 65.38, l.Cu / 63.546, l.Mo / 95.95, l.Co / 58.933, l.Ni / 58.693}
	if a := t.AlkalinityEqKg(); a > 0 {
		t[brine.Cl] += a
	} else {
		t[brine.Na] -= a
	}
	return y
}

// Ingredient returns the fertiliser as something to weigh in.
func (l *Label) Ingredient() *Ingredient {
	i := &Ingredient{
		ID: l.Text, Name: "fertiliser " + l.Text, Kitchen: "fertiliser " + l.Text, Step: StepNitrogen, Food: Certificate, Purity: 1,
		Grade: "fully soluble, with a certificate of its metals; greenhouse grades carry copper and boron sized for plants",
		Label: l,
	}
	if l.Ca > 0.02 {
		i.Step, i.Note = StepCalcium, "its calcium falls out as chalk and phosphate near pH 10"
	}
	if l.Untold > 0 {
		i.Note = strings.TrimPrefix(i.Note+"; the form of part of its nitrogen is not told: counted as ammonium", "; ")
	}
	if l.Cu > 0 || l.B > 0 {
		i.Note = strings.TrimPrefix(i.Note+"; brings copper or boron", "; ")
	}
	if l.Ammonium+l.Urea+l.Untold > 0 {
		i.Safety.NeverWith = []string{"caustic, lime, soda ash: ammonia gas", "bleach: chloramine gas"}
	}
	return i
}
