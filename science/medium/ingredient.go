package medium

import (
	_ "embed"
	"fmt"
	"strings"

	"sodalake/science/brine"
	"sodalake/science/formula"
)

// Ingredient is one thing that is weighed into a medium.
type Ingredient struct {
	ID         string      `json:"id"`
	Formula    string      `json:"formula,omitempty"`      // with its crystal water; empty for a fertiliser known by its label
	Name       string      `json:"name"`                   // the chemist's
	Kitchen    string      `json:"kitchen"`                // what a grower says
	Aliases    []string    `json:"aliases,omitempty"`      // other words for it
	Step       Step        `json:"step"`                   // when it goes in
	Food       Food        `json:"food"`                   // whether it may go into a culture that is eaten
	Purity     float64     `json:"purity"`                 // usual share of the formula in what is sold [1]
	BulkGPerL  float64     `json:"bulk_g_per_l,omitempty"` // loose and struck level [g/L]; 0 is not known
	BulkSource string      `json:"bulk_source,omitempty"`  // where that figure is from; one weighed level cup beats it
	NoSpoon    bool        `json:"no_spoon,omitempty"`     // weigh it, never measure it by the spoon
	Grade      string      `json:"grade"`                  // what to ask for
	Note       string      `json:"note,omitempty"`         // what it does that others do not
	Restricted string      `json:"restricted,omitempty"`   // why it is hard to come by, and what does as well
	LookAlikes []LookAlike `json:"look_alikes,omitempty"`  // what is bought in its place by mistake
	Safety     Safety      `json:"safety"`                 // how it can hurt
	Label      *Label      `json:"-"`                      // of a fertiliser
}

// LookAlike is something that is taken for an ingredient.
type LookAlike struct {
	What string `json:"what"`
	Why  string `json:"why"` // why that is no substitute
}

// Safety is how an ingredient can hurt whoever handles it. The codes are the
// hazard statements of the United Nations' harmonised system (ghs2023, from
// memory); sellers classify a little differently, and the sheet that comes with
// the bag comes first. No code means that none is common, not that none holds.
type Safety struct {
	Signal    string   `json:"signal,omitempty"`     // "warning" or "danger", as the label must say
	Codes     []string `json:"codes,omitempty"`      // hazard statements
	Care      []string `json:"care,omitempty"`       // what to do
	NeverWith []string `json:"never_with,omitempty"` // what must not meet it
}

// Food says whether an ingredient may go into a culture that is eaten.
type Food string

// The answers.
const (
	FoodGrade   Food = "grade"       // is sold in food or pharmacy grade: ask for that
	Certificate Food = "certificate" // only with a certificate of its metals
	NotFood     Food = "no"          // not offered for a culture that is eaten
)

// hazards are what the codes say, in short and in our words.
var hazards = map[string]string{
	"H272": "feeds a fire", "H290": "eats metals", "H301": "poisonous to swallow", "H302": "harmful to swallow",
	"H314": "burns skin and eyes badly", "H315": "irritates skin", "H317": "may cause skin allergy", "H318": "damages eyes",
	"H319": "irritates eyes", "H332": "harmful to breathe in", "H334": "may cause asthma", "H335": "irritates nose and throat",
	"H341": "suspected of harming genes", "H350i": "may cause cancer when breathed in", "H360F": "may harm fertility",
	"H360FD": "may harm fertility and the unborn", "H373": "may harm organs over time",
	"H410": "very poisonous to water life, for long", "H411": "poisonous to water life, for long",
}

// HazardWords returns what a hazard code says in short, or the code itself
// where it is not known.
func HazardWords(code string) string {
	if w, ok := hazards[code]; ok {
		return w
	}
	return code
}

//go:embed ingredients.json
var ingredientsJSON []byte

var ingredients = mustRead[Ingredient]("ingredients.json", ingredientsJSON)

var ingredientNames = nameTable(ingredients)

// nameTable maps every word for an ingredient to its place. A word for two of
// them, or for none, is a slip of ours.
func nameTable(list []Ingredient) map[string]int {
	out := map[string]int{}
	put := func(word string, i int) {
		word = plain(word)
		if at, taken := out[word]; taken && at != i {
			panic("medium: two ingredients are called " + word)
		}
		out[word] = i
	}
	for i := range list {
		for _, w := range append([]string{list[i].ID, list[i].Name, list[i].Kitchen}, list[i].Aliases...) {
			put(w, i)
		}
		// The formula is for the first that has it: NaCl is salt, not sea salt.
		if f := formulaKey(list[i].Formula); f != "" {
			if _, taken := out[f]; !taken {
				out[f] = i
			}
		}
	}
	return out
}

// plain folds a word for looking it up: case, hyphens and doubled blanks do
// not matter.
func plain(word string) string {
	word = strings.ToLower(strings.ReplaceAll(word, "-", " "))
	return strings.Join(strings.Fields(word), " ")
}

// formulaKey folds a formula for looking it up: the mark before crystal water
// does not matter, capitals do.
func formulaKey(f string) string {
	f = strings.TrimSpace(f)
	for _, mark := range []string{"·", "•", "⋅", "*"} {
		f = strings.ReplaceAll(f, mark, ".")
	}
	if f == "" {
		return ""
	}
	return "formula " + f
}

// Ingredients returns all that the program knows by name, in the order of the
// table. The slice is the caller's; what it points at is shared and not to be
// changed.
func Ingredients() []*Ingredient {
	out := make([]*Ingredient, len(ingredients))
	for i := range ingredients {
		out[i] = &ingredients[i]
	}
	return out
}

// InputError is something asked of the package that it cannot begin with.
type InputError struct {
	Field  string // which input
	Reason string // what is wrong, with the field named first
	Hint   string // what to do, or empty
}

// Error returns the reason.
func (e *InputError) Error() string { return e.Reason }

func wrong(field, hint, format string, args ...any) error {
	return &InputError{Field: field, Reason: fmt.Sprintf(format, args...), Hint: hint}
}

// Lookup returns the ingredient for a word: its name, a formula, what it is
// called in a kitchen, or the label of a fertiliser ("20-20-20 + 2 MgO"), read
// by the law of place.
//
// A formula that the table does not have but water chemistry understands is an
// ingredient too, taken as pure and without a bulk density. The error is an
// *InputError that names the word.
func Lookup(word string, place Law) (*Ingredient, error) {
	if i, ok := ingredientNames[formulaKey(word)]; ok {
		return &ingredients[i], nil
	}
	if i, ok := ingredientNames[plain(word)]; ok {
		return &ingredients[i], nil
	}
	if word = strings.TrimSpace(word); word == "" {
		return nil, wrong("salt", "write a formula like NaHCO3, a name like baking soda, or a label like 20-20-20", "salt is empty")
	}
	if looksLikeLabel(word) {
		l, err := ParseLabel(word, place)
		if err != nil {
			return nil, err
		}
		return l.Ingredient(), nil
	}
	if _, err := brine.Dissolve(word); err != nil {
		hint := ""
		if se, ok := err.(*brine.SaltError); ok {
			hint = se.Hint
		}
		if fe, ok := err.(*formula.Error); ok && fe.Hint != "" {
			hint = fe.Hint
		}
		if near := nearest(word); near != "" {
			hint = "did you mean " + near + "?"
		}
		return nil, wrong(word, hint, "salt %q is neither a name, a label nor a formula that is understood: %s", word, err.Error())
	}
	return &Ingredient{
		ID: word, Formula: word, Name: word, Kitchen: word, Step: stepOf(word), Food: Certificate, Purity: 1,
		Grade: "not in the table of ingredients: taken as pure; ask for a certificate",
	}, nil
}

// stepOf guesses from a formula when it goes in.
func stepOf(f string) Step {
	for _, s := range []struct {
		part string
		step Step
	}{
		{"Ca", StepCalcium}, {"EDTA", StepIron}, {"Fe", StepIron}, {"PO4", StepPhosphate}, {"CO3", StepSoda}, {"OH", StepAlkali},
		{"Mg", StepMagnesium}, {"NH", StepNitrogen}, {"NO3", StepNitrate},
	} {
		if strings.Contains(f, s.part) {
			return s.step
		}
	}
	for _, metal := range []string{"Mn", "Zn", "Cu", "Mo", "B"} {
		if strings.Contains(f, metal) {
			return StepTrace
		}
	}
	return StepSalt
}

// nearest returns a known kitchen name that shares a word of four letters or
// more with what was written, or "".
func nearest(word string) string {
	for _, w := range strings.Fields(plain(word)) {
		if len(w) < 4 {
			continue
		}
		for i := range ingredients {
			for _, known := range append([]string{ingredients[i].Kitchen, ingredients[i].Name}, ingredients[i].Aliases...) {
				for _, k := range strings.Fields(plain(known)) {
					if k == w {
						return known
					}
				}
			}
		}
	}
	return ""
}

// MolarMass returns the mass of one mole of the formula [g/mol], NaN for a
// fertiliser that is known by its label.
func (i *Ingredient) MolarMass() float64 {
	m, err := formula.MolarMass(i.Formula)
	if err != nil {
		return nan
	}
	return m
}
