package medium_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
	"pgregory.net/rapid"
)

func elementsOf(t testing.TB, salts map[string]float64) medium.Amounts {
	t.Helper()
	m := mix(t, salts)
	sol, err := m.Dissolve(brine.New(brine.Pitzer))
	if err != nil {
		t.Fatal(err)
	}
	return sol.Elements()
}

func shelf(t testing.TB, w medium.Water, names ...string) *medium.Shelf {
	t.Helper()
	var items []medium.OnShelf
	for _, n := range names {
		in, err := medium.Lookup(n, medium.US)
		if err != nil {
			t.Fatal(err)
		}
		items = append(items, medium.OnShelf{Of: in, Purity: 1})
	}
	s, err := medium.NewShelf(items, w)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A recipe's elements, solved for on a shelf of its own salts, give the recipe
// back.
func TestRecipeToIonsToRecipe(t *testing.T) {
	for _, r := range medium.Recipes() {
		if r.WeighedGPerL != nil {
			continue
		}
		var names []string
		for n := range r.SaltsGPerL {
			names = append(names, n)
		}
		sort.Strings(names)
		target := medium.TargetOf(elementsOf(t, r.SaltsGPerL), 0, growth.DefaultComposition())
		x, _, err := shelf(t, medium.Water{}, names...).Closest(&target)
		if err != nil {
			t.Fatal(err)
		}
		for j, n := range names {
			if want := r.SaltsGPerL[n]; math.Abs(x[j]-want) > 1e-6*(1+want) {
				t.Errorf("%s: %.7g g/L of %s, want %.7g", r.Name, x[j], n, want)
			}
		}
	}
}

// What the source water brings is not weighed in again.
func TestSourceWaterCounts(t *testing.T) {
	a := medium.Analysis{CalciumMgL: 0, MagnesiumMgL: 10, NitrateMgL: 200, AlkalinityMeqL: 3}
	w, err := a.Prepare()
	if err != nil {
		t.Fatal(err)
	}
	salts := map[string]float64{"NaHCO3": 8, "NaNO3": 2, "KH2PO4": 0.1, "MgSO4.7H2O": 0.2, "FeSO4.7H2O": 0.01}
	names := []string{"NaHCO3", "NaNO3", "KH2PO4", "MgSO4.7H2O", "FeSO4.7H2O", "K2SO4", "Na2SO4"}
	target := medium.TargetOf(elementsOf(t, salts), 0, growth.DefaultComposition())
	x, made, err := shelf(t, w, names...).Closest(&target)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		j     int
		want  float64
		maker string
	}{
		{1, 2 - 0.2*84.995/62.004, "200 mg/L nitrate are 274 mg/L of nitrate of soda"},
		{3, 0.2 - 0.01*246.47/24.305, "10 mg/L magnesium are 101 mg/L of Epsom salt"},
	} {
		if math.Abs(x[row.j]-row.want) > 0.03 {
			t.Errorf("%s: %.4f g/L, want %.4f (%s)", names[row.j], x[row.j], row.want, row.maker)
		}
	}
	if math.Abs(made[medium.Nitrogen]/target.Want[medium.Nitrogen]-1) > 0.01 {
		t.Errorf("nitrogen comes to %.5g, want %.5g mol/L", made[medium.Nitrogen], target.Want[medium.Nitrogen])
	}
}

// random draws a target from a recipe at random and a shelf of some of the
// ingredients, with prices and stock.
func random(t *rapid.T, least, most int) (*medium.Shelf, medium.Target) {
	r := rapid.SampledFrom([]string{"zarrouk", "bicarbonate-farm", "school", "half"}).Draw(t, "recipe")
	recipe, _ := medium.Find(r)
	m, err := medium.NewMix(recipe.SaltsGPerL, medium.US)
	if err != nil {
		t.Fatal(err)
	}
	m.Pure()
	sol, err := m.Dissolve(brine.New(brine.Pitzer))
	if err != nil {
		t.Fatal(err)
	}
	target := medium.TargetOf(sol.Elements(), rapid.Float64Range(0.3, 3).Draw(t, "carry"), growth.DefaultComposition())
	var pool []*medium.Ingredient
	for _, in := range medium.Ingredients() {
		if in.Step != medium.StepDechlorinate && in.Food != medium.NotFood && in.Step != medium.StepTrace {
			pool = append(pool, in)
		}
	}
	n := rapid.IntRange(least, min(most, len(pool))).Draw(t, "ingredients")
	order := rapid.Permutation(pool).Draw(t, "shelf")[:n]
	if rapid.IntRange(0, 3).Draw(t, "full") > 0 { // most shelves hold what is needed
		for _, name := range []string{"baking soda", "nitrate of soda", "dkp", "epsom salt", "iron sulfate"} {
			in, err := medium.Lookup(name, medium.US)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Contains(order, in) {
				order = append(order, in)
			}
		}
	}
	var items []medium.OnShelf
	for _, in := range order {
		it := medium.OnShelf{Of: in, PricePerKg: rapid.Float64Range(0.1, 20).Draw(t, "price")}
		if rapid.IntRange(0, 3).Draw(t, "scarce") == 0 {
			it.MostGPerL = rapid.Float64Range(0.01, 30).Draw(t, "stock")
		}
		items = append(items, it)
	}
	a := medium.Analysis{HardnessMgL: rapid.Float64Range(0, 300).Draw(t, "hardness"), NitrateMgL: rapid.Float64Range(0, 60).Draw(t, "nitrate")}
	w, err := a.Prepare()
	if err != nil {
		t.Fatal(err)
	}
	s, err := medium.NewShelf(items, w)
	if err != nil {
		t.Fatal(err)
	}
	return s, target
}

// inBands reports the element that lies outside its band by more than slack of
// what is wanted. What the source water brings too much of is nobody's fault.
func outside(t *medium.Target, a, water medium.Amounts, slack float64) (medium.Element, bool) {
	for e := range a {
		scale := math.Max(t.Want[e], math.Max(t.Low[e], 1e-4))
		if a[e] < t.Low[e]-slack*scale || a[e] > math.Max(t.High[e], water[e])+slack*scale {
			return medium.Element(e), true
		}
	}
	return 0, false
}

func waterOf(s *medium.Shelf) medium.Amounts { return s.Made(make([]float64, len(s.Items))) }

// gonum's simplex, set up here by itself, and ours agree on whether there is a
// mix and what it costs.
func TestCheapestAgainstAPlainProgram(t *testing.T) {
	solved, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		s, target := random(t, 5, 20)
		x, made, err := s.Cheapest(&target)
		var nr *medium.NotReachedError
		if err != nil && !errors.As(err, &nr) {
			t.Fatalf("neither an answer nor the reason: %v", err)
		}
		want, feasible := plainProgram(s, &target)
		if feasible != (err == nil) {
			// Right at the edge the two may see it differently.
			if reach := s.Reach(&target); (reach == nil) == feasible {
				t.Fatalf("cheapest says %v, a plain program finds %v", err, feasible)
			}
			return
		}
		if err != nil {
			none++
			if len(nr.Short) == 0 {
				t.Fatal("no element is named")
			}
			for _, short := range nr.Short {
				if short.Has >= short.Low && short.Has <= short.High {
					t.Fatalf("%v comes to %g within %g to %g and is called short", short.Element, short.Has, short.Low, short.High)
				}
			}
			return
		}
		solved++
		if e, out := outside(&target, made, waterOf(s), 1e-5); out {
			t.Fatalf("%v comes to %g, wanted %g to %g", e, made[e], target.Low[e], target.High[e])
		}
		for j, g := range x {
			if m := s.Items[j].MostGPerL; g < -1e-9 || m > 0 && g > m*(1+1e-6) {
				t.Fatalf("%g g/L of %s, of %g", g, s.Items[j].Of.ID, m)
			}
		}
		if got := s.Cost(x); got > want*(1+1e-3)+1e-6 {
			t.Fatalf("costs %.6g, a plain program finds %.6g", got, want)
		}
	})
	if solved < 10 || none < 5 {
		t.Errorf("%d solved, %d out of reach: the test shows little", solved, none)
	}
}

// plainProgram sets the problem up in grams and moles without any of the
// package's scaling: low ≤ A x + water ≤ high, 0 ≤ x ≤ stock.
func plainProgram(s *medium.Shelf, t *medium.Target) (float64, bool) {
	n := len(s.Items)
	water := waterOf(s)
	var rows [][]float64
	var rhs []float64
	unit := make([]float64, n) // a tenth of a gram for all but soda keeps the numbers tame
	c := make([]float64, n)
	cols := make([]medium.Amounts, n)
	for j := range n {
		unit[j] = 0.1
		g := make([]float64, n)
		g[j] = 1
		a := s.Made(g)
		for e := range a {
			cols[j][e] = a[e] - water[e]
		}
		c[j] = s.Items[j].PricePerKg * unit[j] / 1000
	}
	for e := range medium.NElements {
		row := make([]float64, n)
		touched := false
		scale := math.Max(t.Want[e], 1e-4)
		for j := range n {
			row[j] = cols[j][e] * unit[j] / scale
			touched = touched || row[j] != 0
		}
		lo, hi := (t.Low[e]-water[e])/scale, (math.Max(t.High[e], water[e])-water[e])/scale
		if lo > 0 && !touched {
			return 0, false
		}
		if !touched {
			continue
		}
		if lo > 0 || medium.Element(e) == medium.Alkalinity {
			neg := make([]float64, n)
			for j := range n {
				neg[j] = -row[j]
			}
			rows, rhs = append(rows, neg), append(rhs, -lo)
		}
		if !math.IsInf(hi, 1) {
			rows, rhs = append(rows, row), append(rhs, hi)
		}
	}
	for j := range n {
		if m := s.Items[j].MostGPerL; m > 0 {
			row := make([]float64, n)
			row[j] = 1
			rows, rhs = append(rows, row), append(rhs, m/unit[j])
		}
	}
	m := len(rows)
	a := mat.NewDense(m, n+m, nil)
	for i, row := range rows {
		for j, v := range row {
			a.Set(i, j, v)
		}
		a.Set(i, n+i, 1)
	}
	f, _, err := lp.Simplex(append(c, make([]float64, m)...), a, rhs, 1e-10, nil)
	return f, err == nil
}

// The closest mix is at an optimum: no single change of an amount within its
// bounds comes nearer.
func TestClosestIsOptimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, target := random(t, 3, 25)
		x, made, err := s.Closest(&target)
		if err != nil {
			t.Fatal(err)
		}
		water := waterOf(s)
		score := func(x []float64) float64 {
			a := s.Made(x)
			sum := 0.0
			for e := range a {
				if medium.Element(e) == medium.Reduced {
					if a[e] > math.Max(target.High[e], water[e])*(1+1e-6) {
						return math.Inf(1)
					}
				}
				w := target.Weight[e]
				if w == 0 || target.Want[e] < 1e-9 {
					continue
				}
				d := w * (a[e] - target.Want[e]) / target.Want[e]
				sum += d * d
			}
			return sum
		}
		best := score(x)
		if math.IsInf(best, 1) {
			t.Fatalf("reduced nitrogen comes to %g of %g", made[medium.Reduced], target.High[medium.Reduced])
		}
		// Elements that nobody wants weigh too, by a scale of their own: only
		// changes that leave them alone are compared.
		for j := range x {
			for _, step := range []float64{0.02, -0.02, 0.001, -0.001} {
				y := append([]float64(nil), x...)
				y[j] = math.Max(0, x[j]+step*math.Max(x[j], 0.05))
				if m := s.Items[j].MostGPerL; m > 0 {
					y[j] = math.Min(y[j], m)
				}
				strange := false
				a := s.Made(y)
				for e := range a {
					if target.Want[e] < 1e-9 && math.Abs(a[e]-made[e]) > 1e-15 {
						strange = true
					}
				}
				if !strange && score(y) < best*(1-1e-6)-1e-12 {
					t.Fatalf("%s at %g instead of %g g/L comes nearer: %.9g, not %.9g", s.Items[j].Of.ID, y[j], x[j], score(y), best)
				}
			}
		}
	})
}

// The fewest ingredients: as few as trying every set finds, and what is found
// lies within the bands.
func TestFewestAgainstEverySet(t *testing.T) {
	c := growth.DefaultComposition()
	r := rand.New(rand.NewPCG(7, 11))
	pool := []string{"NaHCO3", "KHCO3", "soda ash", "KNO3", "NaNO3", "urea", "map", "mkp", "dkp", "epsom salt", "nigari", "K2SO4", "Na2SO4", "iron sulfate", "iron edta", "ammonium sulfate"}
	found := 0
	for _, name := range []string{"zarrouk", "bicarbonate-farm", "school", "zarrouk", "half", "bicarbonate-farm", "school", "half"} {
		recipe, _ := medium.Find(name)
		target := medium.TargetOf(elementsOf(t, recipe.SaltsGPerL), 0.5+1.5*r.Float64(), c)
		var items []medium.OnShelf
		for _, k := range r.Perm(len(pool))[:10+r.IntN(3)] {
			in, err := medium.Lookup(pool[k], medium.US)
			if err != nil {
				t.Fatal(err)
			}
			items = append(items, medium.OnShelf{Of: in, PricePerKg: 1 + 8*r.Float64()})
		}
		s, err := medium.NewShelf(items, medium.Water{})
		if err != nil {
			t.Fatal(err)
		}
		x, made, err := s.Fewest(&target)
		least := fewestOfAll(items, &target)
		if err != nil {
			if least > 0 {
				t.Errorf("%v, though %d ingredients do", err, least)
			}
			continue
		}
		found++
		used := 0
		for _, g := range x {
			if g > 0 {
				used++
			}
		}
		if used > least {
			t.Errorf("%d ingredients, %d do", used, least)
		}
		if e, out := outside(&target, made, waterOf(s), 1e-4); out {
			t.Errorf("%v comes to %g, wanted %g to %g", e, made[e], target.Low[e], target.High[e])
		}
	}
	if found < 3 {
		t.Errorf("only %d shelves reached their target: the test shows little", found)
	}
}

// fewestOfAll tries every set of the items, small ones first; 0 is none.
func fewestOfAll(items []medium.OnShelf, target *medium.Target) int {
	best := 0
	for mask := 1; mask < 1<<len(items); mask++ {
		n := 0
		var use []medium.OnShelf
		for j := range items {
			if mask>>j&1 == 1 {
				n++
				use = append(use, items[j])
			}
		}
		if best > 0 && n >= best || n > 7 {
			continue
		}
		s, err := medium.NewShelf(use, medium.Water{})
		if err == nil && s.Within(target) {
			best = n
		}
	}
	return best
}

// A shelf that cannot reach the target says which element, by how much, and
// what to buy; and with that bought it can.
func TestWhatIsMissingAndWhatToBuy(t *testing.T) {
	r, _ := medium.Find("bicarbonate-farm")
	target := medium.TargetOf(elementsOf(t, r.SaltsGPerL), 1, growth.DefaultComposition())
	have := []string{"baking soda", "salt", "mkp", "epsom salt", "iron sulfate"}
	err := shelf(t, medium.Water{}, have...).Reach(&target)
	var nr *medium.NotReachedError
	if !errors.As(err, &nr) || len(nr.Short) != 1 || nr.Short[0].Element != medium.Nitrogen || nr.Short[0].Has > 1e-9 {
		t.Fatalf("without nitrate: %v", err)
	}
	if want := growth.DefaultComposition().N; math.Abs(nr.Short[0].Low-want) > 1e-9 {
		t.Errorf("nitrogen for 1 g/L: %g mol/L, want %g", nr.Short[0].Low, want)
	}
	if len(nr.Short[0].Buy) == 0 {
		t.Fatal("nothing to buy is named")
	}
	if err := shelf(t, medium.Water{}, append(have, nr.Short[0].Buy[0])...).Reach(&target); err != nil {
		t.Errorf("with %s bought: %v", nr.Short[0].Buy[0], err)
	}
	// Urea alone cannot be the store of nitrogen: it would pass its cap.
	err = shelf(t, medium.Water{}, append(have, "urea")...).Reach(&target)
	if !errors.As(err, &nr) {
		t.Errorf("urea alone: %v", err)
	}
}

func TestShelfRefusesNonsense(t *testing.T) {
	soda, _ := medium.Lookup("baking soda", medium.US)
	vitamin, _ := medium.Lookup("vitamin c", medium.US)
	for _, items := range [][]medium.OnShelf{
		nil, {{Of: soda}, {Of: soda}}, {{Of: vitamin}}, {{Of: soda, PricePerKg: -1}}, {{Of: soda, MostGPerL: -1}}, {{Of: soda, Purity: 1.2}}, {{Of: soda, PricePerKg: math.NaN()}},
	} {
		var ie *medium.InputError
		if _, err := medium.NewShelf(items, medium.Water{}); !errors.As(err, &ie) {
			t.Errorf("%+v was taken: %v", items, err)
		}
	}
}
