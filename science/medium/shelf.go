package medium

import (
	"errors"
	"fmt"
	"math"
	"sort"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// OnShelf is an ingredient that is there to be used.
type OnShelf struct {
	Of         *Ingredient
	Purity     float64 // share that is the salt [1]; 0 is the usual one
	PricePerKg float64 // in the farm's money [currency/kg]
	MostGPerL  float64 // what there is of it, for a litre of the batch [g/L]; 0 is enough
}

// Shelf is a choice of ingredients and the water they go into. Its methods
// solve for amounts; each returns grams a litre in the order of Items.
type Shelf struct {
	Items  []OnShelf
	Water  Water
	yields []Amounts // [mol/g]
	water  Amounts   // [mol/L]
}

// NewShelf returns a shelf ready to solve. The error is an *InputError that
// names the ingredient: one that belongs into source water, twice the same, or
// a figure that cannot be.
func NewShelf(items []OnShelf, w Water) (*Shelf, error) {
	s := &Shelf{Items: items, Water: w}
	var none Metals
	s.water = Elements(&w.PerL, &none)
	seen := map[string]bool{}
	for i := range items {
		it := &items[i]
		if seen[it.Of.ID] {
			return nil, wrong("shelf", "", "%s stands on the shelf twice", it.Of.Kitchen)
		}
		seen[it.Of.ID] = true
		if !(it.PricePerKg >= 0) || math.IsInf(it.PricePerKg, 0) {
			return nil, wrong("price_per_kg", "", "price_per_kg of %s %.6g must not be negative", it.Of.Kitchen, it.PricePerKg)
		}
		if !(it.MostGPerL >= 0) {
			return nil, wrong("stock_g", "", "stock_g of %s %.6g must not be negative", it.Of.Kitchen, it.MostGPerL)
		}
		p := Part{Of: it.Of, Purity: it.Purity}
		y, err := it.Of.Yield(p.purity())
		if err != nil {
			return nil, err
		}
		s.yields = append(s.yields, y.elements())
	}
	if len(items) == 0 {
		return nil, wrong("shelf", "name what you have, as in baking soda, saltpetre, Epsom salt", "shelf is empty")
	}
	if len(items) > 60 {
		return nil, wrong("shelf", "", "shelf holds %d ingredients; 60 are the most", len(items))
	}
	return s, nil
}

// Made returns what gPerL grams a litre of each item, in their order [g/L], make
// with the source water [mol/L].
func (s *Shelf) Made(gPerL []float64) Amounts {
	a := s.water
	for j, x := range gPerL {
		for e, y := range s.yields[j] {
			a[e] += x * y
		}
	}
	return a
}

// Cost returns the price of a litre made of gPerL [g/L], in the farm's money
// [currency/L].
func (s *Shelf) Cost(gPerL []float64) float64 {
	sum := 0.0
	for j, x := range gPerL {
		sum += x / 1000 * s.Items[j].PricePerKg
	}
	return sum
}

// Short is an element that a shelf cannot bring into its band.
type Short struct {
	Element Element
	Has     float64  // the nearest that the shelf comes [mol/L]
	Low     float64  // least that will do [mol/L]
	High    float64  // most that will do [mol/L]
	Buy     []string // kitchen names of what would mend it, best first
}

// NotReachedError is a target that a shelf does not reach: which elements, by
// how much, and what to buy.
type NotReachedError struct {
	Short   []Short
	Nearest []float64 // what comes nearest, grams a litre in the order of the shelf [g/L]
}

// Error says which elements are out of reach.
func (e *NotReachedError) Error() string {
	var parts []string
	for _, s := range e.Short {
		if s.Has < s.Low {
			parts = append(parts, fmt.Sprintf("%s comes to %.3g of %.3g mmol/L", s.Element, s.Has*1000, s.Low*1000))
		} else {
			parts = append(parts, fmt.Sprintf("%s comes to %.3g, more than %.3g mmol/L", s.Element, s.Has*1000, s.High*1000))
		}
	}
	return "shelf does not reach the target: " + strings.Join(parts, "; ")
}

// inBand sets up min |A x − s − (low − water)| with 0 ≤ s ≤ high − low, for the
// items of use: it is zero exactly where a mix of them lies within the bands.
func (s *Shelf) inBand(p *bounded, t *Target, use []int) {
	p.reset(NElements, len(use)+NElements)
	for k, j := range use {
		c := p.col(k)
		for e := range c {
			c[e] = s.yields[j][e] / t.scale(Element(e))
		}
		if m := s.Items[j].MostGPerL; m > 0 {
			p.upper[k] = m
		}
	}
	for e := range NElements {
		sc := t.scale(Element(e))
		k := len(use) + e
		if t.Low[e] > 0 || e == int(Alkalinity) {
			p.upper[k] = (t.High[e] - t.Low[e]) / sc
			p.b[e] = (t.Low[e] - s.water[e]) / sc
		} else { // from nothing up, or, where the water has it, from what the water has
			base := math.Min(s.water[e], t.High[e])
			p.upper[k] = (t.High[e] - base) / sc
			p.b[e] = (base - s.water[e]) / sc
		}
		p.col(k)[e] = -1
	}
}

// reaches is how small a residual counts as zero [1]: a part in a hundred
// thousand of what is wanted.
const reaches = 1e-5

// Within reports whether some mix of the shelf lies within the bands of t.
func (s *Shelf) Within(t *Target) bool {
	var p bounded
	s.inBand(&p, t, s.all())
	r, ok := p.solve()
	return ok && r <= reaches
}

// Reach returns nil where some mix of the shelf lies within the bands of t, and
// else a *NotReachedError.
func (s *Shelf) Reach(t *Target) error {
	var p bounded
	use := s.all()
	s.inBand(&p, t, use)
	r, ok := p.solve()
	if !ok {
		return errors.New("medium: the search for a mix did not end")
	}
	if r <= reaches {
		return nil
	}
	fail := &NotReachedError{Nearest: append([]float64(nil), p.x[:len(use)]...)}
	made := s.Made(fail.Nearest)
	for e := range NElements {
		if math.Abs(t.outside(Element(e), made[e])) > 10*reaches {
			fail.Short = append(fail.Short, Short{Element: Element(e), Has: made[e], Low: t.Low[e], High: t.High[e], Buy: s.remedies(&p, t, Element(e), made[e] < t.Low[e])})
		}
	}
	if len(fail.Short) == 0 { // all misses are crumbs
		return nil
	}
	return fail
}

// remedies names what is not on the shelf, may go into food and brings the
// element (or, of too much, nothing: then more of the others must be bought in
// another form). Those that alone put the whole target within reach come
// first.
func (s *Shelf) remedies(p *bounded, t *Target, e Element, tooLittle bool) []string {
	if !tooLittle {
		return nil
	}
	type offer struct {
		name         string
		solves, food bool
		share        float64
	}
	var offers []offer
	have := map[string]bool{}
	for i := range s.Items {
		have[s.Items[i].Of.ID] = true
	}
	for i := range ingredients {
		in := &ingredients[i]
		if have[in.ID] || in.Food == NotFood || in.Restricted != "" || in.Step == StepAlkali || in.Step == StepDechlorinate {
			continue
		}
		y, err := in.Yield(in.Purity)
		if err != nil {
			continue
		}
		a := y.elements()
		side := in.Step == StepTrace && (e < Boron || e > Nickel) || in.Step == StepCalcium && e != Calcium
		if a[e] <= 0 || side || e == Nitrogen && a[Reduced] > 0.5*a[Nitrogen] && t.Low[e] > PoolMolL {
			continue
		}
		more, err := NewShelf(append(append([]OnShelf(nil), s.Items...), OnShelf{Of: in}), s.Water)
		if err != nil {
			continue
		}
		more.inBand(p, t, more.all())
		r, ok := p.solve()
		offers = append(offers, offer{in.Kitchen, ok && r <= reaches, in.Food == FoodGrade, a[e] * e.MolarMass()})
	}
	sort.SliceStable(offers, func(i, j int) bool {
		if offers[i].solves != offers[j].solves {
			return offers[i].solves
		}
		if offers[i].food != offers[j].food {
			return offers[i].food
		}
		return offers[i].share > offers[j].share
	})
	var out []string
	for _, o := range offers {
		if len(out) < 4 {
			out = append(out, o.name)
		}
	}
	return out
}

func (s *Shelf) all() []int {
	use := make([]int, len(s.Items))
	for j := range use {
		use[j] = j
	}
	return use
}

// Closest returns the grams a litre [g/L] whose elements lie nearest to what t
// wants, relative misses weighed and squared, within the stock, without passing
// the limit of nitrogen that is or becomes ammonia; and what a litre then holds.
//
// Source: lawsonhanson1974; starkparker1995.
func (s *Shelf) Closest(t *Target) ([]float64, Amounts, error) {
	var p bounded
	use := s.all()
	pinned := map[Element]bool{} // elements held at their upper limit
	for range NElements + 1 {
		p.reset(NElements, len(use))
		for e := range NElements {
			sc, w := t.scale(Element(e)), t.Weight[e]
			goal := t.Want[e]
			if pinned[Element(e)] {
				w, goal = 1e4, t.High[e]*(1-1e-5) // a hair under the limit, so that no rounding passes it
			}
			p.b[e] = w * (goal - s.water[e]) / sc
			for k, j := range use {
				p.col(k)[e] = w * s.yields[j][e] / sc
			}
		}
		for k, j := range use {
			if m := s.Items[j].MostGPerL; m > 0 {
				p.upper[k] = m
			}
		}
		if _, ok := p.solve(); !ok {
			return nil, Amounts{}, errors.New("medium: the search for the closest mix did not end")
		}
		made := s.Made(p.x)
		again := false
		for _, e := range []Element{Reduced, Copper, Zinc, Boron, Manganese, Molybdenum, Cobalt, Nickel} {
			if made[e] > t.High[e]*(1+1e-6) && !pinned[e] && s.water[e] < t.High[e] {
				pinned[e], again = true, true
			}
		}
		if !again {
			return append([]float64(nil), p.x...), made, nil
		}
	}
	return nil, Amounts{}, errors.New("medium: the limits of the closest mix were not met")
}

// Cheapest returns the grams a litre [g/L] within the bands of t that cost
// least, and what a litre then holds. Where two cost the same the one with less
// to weigh is taken.
//
// The error is a *NotReachedError where no mix of the shelf lies within the
// bands.
//
// Source: the simplex method, dantzig1963.
func (s *Shelf) Cheapest(t *Target) ([]float64, Amounts, error) {
	return s.cheapest(t, s.all())
}

func (s *Shelf) cheapest(t *Target, use []int) ([]float64, Amounts, error) {
	// A x − over = low and A x + under = high, row by row, with slacks; rows
	// that cannot bind are left out.
	type row struct {
		e    Element
		rhs  float64
		sign float64 // of the slack
	}
	var rows []row
	for e := range NElements {
		sc := t.scale(Element(e))
		touched := false
		for _, j := range use {
			touched = touched || s.yields[j][e] != 0
		}
		lo := t.Low[e] - s.water[e]
		if !touched && !(lo > 0) {
			continue
		}
		if lo > 0 || e == int(Alkalinity) {
			rows = append(rows, row{Element(e), lo / sc, -1})
		}
		if !math.IsInf(t.High[e], 1) {
			rows = append(rows, row{Element(e), max(t.High[e]-s.water[e], 0) / sc, 1})
		}
	}
	stock := 0
	for _, j := range use {
		if s.Items[j].MostGPerL > 0 {
			stock++
		}
	}
	n, m := len(use), len(rows)+stock
	a := mat.NewDense(m, n+m, nil)
	b := make([]float64, m)
	c := make([]float64, n+m)
	dear := 0.0
	for _, j := range use {
		dear = max(dear, s.Items[j].PricePerKg)
	}
	// Grams are few for traces and many for soda: each column in its own measure.
	unit := make([]float64, n)
	for k, j := range use {
		big := 0.0
		for _, r := range rows {
			big = max(big, math.Abs(s.yields[j][r.e])/t.scale(r.e))
		}
		unit[k] = 1 / max(big, 1e-12)
		c[k] = unit[k] * (s.Items[j].PricePerKg + 1e-4*max(dear, 1))
	}
	for i, r := range rows {
		for k, j := range use {
			a.Set(i, k, s.yields[j][r.e]/t.scale(r.e)*unit[k])
		}
		a.Set(i, n+i, r.sign)
		b[i] = r.rhs
	}
	i := len(rows)
	for k, j := range use {
		if most := s.Items[j].MostGPerL; most > 0 {
			a.Set(i, k, 1)
			a.Set(i, n+i, 1)
			b[i] = most / unit[k]
			i++
		}
	}
	_, x, err := lp.Simplex(c, a, b, 1e-10, nil)
	if err != nil {
		if errors.Is(err, lp.ErrInfeasible) {
			if reach := s.Reach(t); reach != nil {
				return nil, Amounts{}, reach
			}
		}
		return nil, Amounts{}, fmt.Errorf("medium: the cheapest mix was not found: %w", err)
	}
	out := make([]float64, len(s.Items))
	for k, j := range use {
		out[j] = x[k] * unit[k]
	}
	return out, s.Made(out), nil
}
