package medium

import (
	"errors"
	"math"
	"sort"
)

// Fewest returns the grams a litre [g/L] of as few ingredients as can lie within
// the bands of t, and what a litre then holds; among several choices of as many
// it takes the cheapest, and where prices are equal the one with the least to
// weigh.
//
// The search is exact. A set that does not reach the bands has a residual at
// its best; whatever set is to reach them must hold, besides, an ingredient
// that leans on that residual, or a strong supplier of what is still missing.
// It branches on those and on nothing else.
//
// The error is a *NotReachedError where no mix of the shelf lies within the
// bands.
//
// Source: the certificate is the optimality condition of lawsonhanson1974,
// chapter 23; the search is ours.
func (s *Shelf) Fewest(t *Target) ([]float64, Amounts, error) {
	if err := s.Reach(t); err != nil {
		return nil, Amounts{}, err
	}
	f := fewest{s: s, t: t}
	f.bounds()
	for size := f.least(nil); size <= len(s.Items); size++ {
		if f.from(nil, make([]bool, len(s.Items)), size); len(f.found) > 0 {
			break
		}
		if f.nodes > mostNodes {
			return nil, Amounts{}, errors.New("medium: the search for the fewest ingredients took too long")
		}
	}
	var best []float64
	var made Amounts
	cost := math.Inf(1)
	for _, use := range f.found {
		x, a, err := s.cheapest(t, use)
		if err != nil {
			continue
		}
		c := s.Cost(x)
		for _, g := range x {
			c += 1e-9 * g
		}
		if c < cost {
			best, made, cost = x, a, c
		}
	}
	if best == nil {
		return nil, Amounts{}, errors.New("medium: the fewest ingredients were found and could not be weighed out")
	}
	return best, made, nil
}

const (
	mostNodes = 200000 // steps of the search
	mostFound = 40     // choices that are compared by price
)

type fewest struct {
	s     *Shelf
	t     *Target
	p     bounded
	most  []float64 // of each ingredient that no limit forbids [g/L]
	found [][]int
	nodes int
}

// bounds works out how much of each ingredient any limit leaves room for. What
// an ingredient takes away of a limited sum, like alkalinity, is no limit.
func (f *fewest) bounds() {
	f.most = make([]float64, len(f.s.Items))
	for j := range f.s.Items {
		top := 500.0
		if m := f.s.Items[j].MostGPerL; m > 0 {
			top = m
		}
		for e := range NElements {
			y := f.s.yields[j][e]
			if y <= 0 || math.IsInf(f.t.High[e], 1) || e == int(Alkalinity) {
				continue
			}
			top = min(top, max(0, f.t.High[e]-f.s.water[e])/y)
		}
		f.most[j] = top
	}
}

// missing returns how much of e the chosen cannot bring, whatever their
// amounts [mol/L].
func (f *fewest) missing(chosen []int, e int) float64 {
	lack := f.t.Low[e] - f.s.water[e]
	for _, j := range chosen {
		if y := f.s.yields[j][e]; y > 0 {
			lack -= y * f.most[j]
		}
	}
	if lack <= reaches*f.t.scale(Element(e)) {
		return 0
	}
	return lack
}

// strong returns the ingredients of which at least one is needed to bring lack
// of e: all suppliers but the weakest, which together fall short of it.
func (f *fewest) strong(e int, lack float64, barred []bool) []int {
	var out []int
	for j := range f.s.Items {
		if !barred[j] && f.s.yields[j][e] > 0 && f.most[j] > 0 {
			out = append(out, j)
		}
	}
	sort.Slice(out, func(a, b int) bool {
		return f.s.yields[out[a]][e]*f.most[out[a]] < f.s.yields[out[b]][e]*f.most[out[b]]
	})
	sum, weak := 0.0, 0
	for _, j := range out {
		if sum += f.s.yields[j][e] * f.most[j]; sum >= lack*(1-1e-9) {
			break
		}
		weak++
	}
	return out[weak:]
}

// least returns how many more ingredients are needed at the least: elements
// that are missing and have no strong supplier in common need one each.
func (f *fewest) least(chosen []int) int {
	none := make([]bool, len(f.s.Items))
	used := make([]bool, len(f.s.Items))
	n := 0
	for e := range NElements {
		lack := f.missing(chosen, e)
		if lack == 0 {
			continue
		}
		apart := true
		from := f.strong(e, lack, none)
		for _, j := range from {
			apart = apart && !used[j]
		}
		if apart {
			n++
			for _, j := range from {
				used[j] = true
			}
		}
	}
	return n
}

// from searches every choice of at most left more ingredients than chosen that
// takes none of the barred.
func (f *fewest) from(chosen []int, barred []bool, left int) {
	f.nodes++
	if f.nodes > mostNodes || len(f.found) >= mostFound || f.least(chosen) > left {
		return
	}
	// An element that is missing whatever the amounts: its strong suppliers.
	var next []int
	fewestSuppliers := math.MaxInt
	for e := range NElements {
		lack := f.missing(chosen, e)
		if lack == 0 {
			continue
		}
		if from := f.strong(e, lack, barred); len(from) < fewestSuppliers {
			next, fewestSuppliers = from, len(from)
		}
	}
	if fewestSuppliers == math.MaxInt {
		f.s.inBand(&f.p, f.t, chosen)
		r, ok := f.p.solve()
		if ok && r <= reaches {
			f.found = append(f.found, append([]int(nil), chosen...))
			return
		}
		next = f.leaning(chosen, barred)
	}
	if left == 0 {
		return
	}
	banned := append([]bool(nil), barred...)
	for i := len(next) - 1; i >= 0; i-- { // the strongest first
		j := next[i]
		banned[j] = true
		f.from(append(append([]int(nil), chosen...), j), banned, left-1)
	}
}

// leaning returns the ingredients whose use would shrink the residual that p
// holds, the steepest last.
func (f *fewest) leaning(chosen []int, barred []bool) []int {
	type lean struct {
		j int
		g float64
	}
	var out []lean
	for j := range f.s.Items {
		if barred[j] || f.most[j] <= 0 {
			continue
		}
		dot, size := 0.0, 0.0
		for e := range NElements {
			y := f.s.yields[j][e] / f.t.scale(Element(e))
			dot += y * f.p.resid[e]
			size += y * y
		}
		if g := dot / math.Sqrt(size+1e-300); g > 1e-9 {
			out = append(out, lean{j, g})
		}
	}
	for _, c := range chosen { // at its own optimum already
		for i := range out {
			if out[i].j == c {
				out = append(out[:i], out[i+1:]...)
				break
			}
		}
	}
	sort.Slice(out, func(a, b int) bool { return out[a].g < out[b].g })
	js := make([]int, len(out))
	for i := range out {
		js[i] = out[i].j
	}
	return js
}
