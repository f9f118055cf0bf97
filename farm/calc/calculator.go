package calc

import (
	"fmt"
	"reflect"
	"sort"
	"strings"

	"sodalake/farm"
)

// Told is what every answer repeats: on what it stands, what to beware of and
// where its figures come from. Output structs embed it.
type Told struct {
	Assumptions []string `json:"assumptions" label:"Taken as given"`
	Cautions    []string `json:"cautions" label:"Cautions"`
	Sources     []string `json:"sources" label:"Sources"`
}

func (t *Told) told() *Told { return t }

// teller is implemented by every output through its embedded Told.
type teller interface{ told() *Told }

// Source is a publication that a calculator stands on.
type Source struct {
	Key  string `json:"key"`  // key into docs/sources.md
	Text string `json:"text"` // the reference in full
}

// About is what a calculator says of itself.
type About struct {
	Name      string   // as typed in a command and an address
	Title     string   // a heading
	Sentence  string   // what it tells, in one sentence
	Equations []string // the formulas in one line each, with their source
	Sources   []Source
	Cautions  []string // shown with every answer
	Example   string   // a JSON input that works, used by help and tests
}

// Calculator is one calculator of the registry.
type Calculator struct {
	About
	Inputs  []Field
	Outputs []Field
	run     func(raw []byte) (any, error)
}

// Run decodes one JSON object, refuses fields it does not know, fills defaults,
// checks bounds, computes, and returns the output struct. A bad input gives a
// *farm.Error that names the field.
func (c *Calculator) Run(raw []byte) (any, error) { return c.run(raw) }

// Define makes a calculator from its function. It panics on a definition that
// cannot be right (an input field without a label or an unknown kind), because
// that is a slip of the programmer seen by the first test.
func Define[In, Out any](about About, compute func(In) (Out, error)) *Calculator {
	c := &Calculator{About: about}
	c.Inputs = fieldsOf(reflect.TypeFor[In](), true)
	c.Outputs = fieldsOf(reflect.TypeFor[Out](), false)
	c.run = func(raw []byte) (any, error) {
		var in In
		if err := decode(raw, &in, c.Inputs); err != nil {
			return nil, err
		}
		out, err := compute(in)
		if err != nil {
			return nil, err
		}
		if t, ok := any(&out).(teller); ok {
			t.told().Cautions = append(append([]string{}, about.Cautions...), t.told().Cautions...)
			for _, s := range about.Sources {
				t.told().Sources = append(t.told().Sources, s.Text)
			}
			if t.told().Assumptions == nil {
				t.told().Assumptions = []string{}
			}
		}
		return &out, nil
	}
	return c
}

// Registry is a set of calculators by name.
type Registry struct {
	byName map[string]*Calculator
	names  []string
}

// NewRegistry returns a registry of cs. Two of one name panic.
func NewRegistry(cs ...*Calculator) *Registry {
	r := &Registry{byName: make(map[string]*Calculator, len(cs))}
	for _, c := range cs {
		if _, twice := r.byName[c.Name]; twice {
			panic("calc: two calculators named " + c.Name)
		}
		r.byName[c.Name] = c
		r.names = append(r.names, c.Name)
	}
	return r
}

// All returns the calculators in the order of the registry.
func (r *Registry) All() []*Calculator {
	out := make([]*Calculator, len(r.names))
	for i, n := range r.names {
		out[i] = r.byName[n]
	}
	return out
}

// Get returns the calculator of that name, or a not-found error that names the
// nearest ones.
func (r *Registry) Get(name string) (*Calculator, error) {
	if c, ok := r.byName[name]; ok {
		return c, nil
	}
	return nil, &farm.Error{
		Code: farm.NotFound, Field: "name",
		Message: fmt.Sprintf("calculator %q does not exist", name),
		Hint:    "there are " + strings.Join(r.Names(), ", "),
	}
}

// Names returns the names in alphabetical order.
func (r *Registry) Names() []string {
	out := append([]string(nil), r.names...)
	sort.Strings(out)
	return out
}

// invalid is a bad input at a field.
func invalid(field, hint, format string, args ...any) error {
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf(format, args...), Hint: hint}
}
