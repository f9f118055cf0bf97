package medium

import (
	"math"

	"sodalake/science/units"
)

// Dose is an ingredient of a batch in grams.
type Dose struct {
	Of        *Ingredient
	MassG     float64 // as sold, for the whole batch [g]
	Purity    float64 // share that is the salt [1]; 0 is the usual one
	BulkGPerL float64 // weighed by the grower, loose and level [g/L]; 0 is the table's
}

func (d *Dose) bulk() float64 {
	if d.BulkGPerL > 0 {
		return d.BulkGPerL
	}
	return d.Of.BulkGPerL
}

// Stock is a way to measure what is too little for a spoon: dissolve more of it
// and take a part of that.
type Stock struct {
	MassG   float64 // into the stock [g]
	Measure string  // the same by the spoon, or empty where it must be weighed
	InL     float64 // filled up with water to [L]
	TakeML  float64 // of that for the batch [mL]
}

// Scooped is a dose in level measures.
type Scooped struct {
	Dose
	Measure units.Measure // empty where it is weighed or taken from a stock
	Spoons  bool          // a measure was found
	Stock   *Stock        // for what is too little for a spoon
	MadeG   float64       // what the measure, or the scale, brings [g]
}

// Kitchen is a batch in cups and spoons, with what that does to it.
type Kitchen struct {
	Doses []Scooped
	Off   Amounts // relative miss of each element against the exact batch [1]; 0 where none is wanted
	Worst float64 // the largest of those, sign kept [1]
	Of    Element // of which element
}

// Scoop says the doses of a batch of volumeL [L] in the level measures of sys,
// so that the composition misses by as little as cups and spoons allow, and
// says by how much. The choice is made for all of them together: what one salt
// brings too much of another may bring less. No limit of high [mol/L] on a
// element is passed that the exact doses keep; water [mol/L] is what the source
// water brings.
//
// What must be weighed, has no bulk density, or is too little for a spoon keeps
// its grams, and the last gets a stock solution.
func Scoop(doses []Dose, volumeL float64, water, high Amounts, sys units.System) (Kitchen, error) {
	k := Kitchen{Doses: make([]Scooped, len(doses))}
	r := rounder{volumeL: volumeL, want: water, high: high, base: water}
	for i := range doses {
		d := doses[i]
		k.Doses[i] = Scooped{Dose: d, MadeG: d.MassG}
		y, err := d.Of.Yield((&Part{Of: d.Of, Purity: d.Purity}).purity())
		if err != nil {
			return Kitchen{}, err
		}
		a := y.elements()
		for e := range a {
			r.want[e] += a[e] * d.MassG / volumeL
		}
		options := scoops(&d, sys)
		if len(options) == 0 {
			for e := range a {
				r.base[e] += a[e] * d.MassG / volumeL
			}
			k.Doses[i].Stock = stock(&d, sys)
			continue
		}
		r.index = append(r.index, i)
		r.options = append(r.options, options)
		r.yields = append(r.yields, a)
	}
	pick := r.search()
	for math.IsInf(r.score(pick), 1) { // no choice keeps a limit: what it concerns is weighed
		r.weighLimited(pick, k.Doses, sys)
		pick = r.search()
	}
	for n, i := range r.index {
		o := r.options[n][pick[n]]
		k.Doses[i].Measure, k.Doses[i].Spoons, k.Doses[i].MadeG = o, true, o.MassG
	}
	made := r.made(pick)
	for e := range made {
		if r.want[e] > 1e-12 {
			k.Off[e] = made[e]/r.want[e] - 1
			if r.weight(e) > 0 && math.Abs(k.Off[e]) > math.Abs(k.Worst) {
				k.Worst, k.Of = k.Off[e], Element(e)
			}
		}
	}
	return k, nil
}

// scoops are the measures near a dose, each once, the nearest below the dose
// among them.
func scoops(d *Dose, sys units.System) []units.Measure {
	if d.Of.NoSpoon || d.bulk() <= 0 || d.MassG <= 0 {
		return nil
	}
	var out []units.Measure
	add := func(massG float64, r units.Rounding) {
		m, err := units.KitchenMass(massG, d.bulk(), sys, r)
		if err != nil {
			return
		}
		for _, o := range out {
			if math.Abs(o.VolumeL-m.VolumeL) < 1e-9 {
				return
			}
		}
		out = append(out, m)
	}
	add(d.MassG, units.Down)
	if len(out) == 0 {
		return nil // too little for any spoon
	}
	for _, f := range []float64{1, 0.96, 1.04, 0.92, 1.08, 0.88, 1.12} {
		add(f*d.MassG, units.Nearest)
	}
	add(d.MassG, units.Up)
	// A spoon that misses by more than a fifth is no measure of it.
	kept := out[:0]
	for _, o := range out {
		if math.Abs(o.MassG/d.MassG-1) <= 0.2 {
			kept = append(kept, o)
		}
	}
	return kept
}

// stock returns how to measure a dose through a solution of it, or nil where it
// is plainly weighed.
func stock(d *Dose, sys units.System) *Stock {
	if d.MassG >= 20 || d.MassG <= 0 {
		return nil
	}
	s := &Stock{MassG: 10, InL: 1}
	if !d.Of.NoSpoon && d.bulk() > 0 {
		const teaspoonL = 0.005
		if m, err := units.KitchenMass(teaspoonL*d.bulk(), d.bulk(), sys, units.Nearest); err == nil {
			s.MassG, s.Measure = m.MassG, m.Text
		}
	}
	if s.TakeML = d.MassG / s.MassG * 1000; s.TakeML > 500 {
		return nil // then it may as well be weighed
	}
	return s
}

// rounder searches the measures.
type rounder struct {
	volumeL          float64
	want, base, high Amounts
	index            []int
	options          [][]units.Measure
	yields           []Amounts
}

func (r *rounder) weight(e int) float64 {
	switch Element(e) {
	case Sodium, Chlorine, Calcium, Chelator, Reduced, Boron, Manganese, Zinc, Copper, Molybdenum, Cobalt, Nickel:
		return 0
	}
	if r.want[e] <= 1e-9 {
		return 0
	}
	return 1
}

func (r *rounder) made(pick []int) Amounts {
	a := r.base
	for n, p := range pick {
		g := r.options[n][p].MassG / r.volumeL
		for e, y := range r.yields[n] {
			a[e] += y * g
		}
	}
	return a
}

// score is the sum of squared relative misses [1], +Inf where a limit is passed
// that the exact batch keeps.
func (r *rounder) score(pick []int) float64 {
	a := r.made(pick)
	sum := 0.0
	for e := range a {
		if limit := r.high[e]; limit > 0 && a[e] > limit*(1+1e-9) && a[e] > r.want[e]*(1+1e-9) {
			return math.Inf(1)
		}
		if w := r.weight(e); w > 0 {
			d := a[e]/r.want[e] - 1
			sum += w * d * d
		}
	}
	return sum
}

// weighLimited takes the spoons from what brings an element over its limit.
func (r *rounder) weighLimited(pick []int, doses []Scooped, sys units.System) {
	a := r.made(pick)
	over := func(n int) bool {
		for e := range a {
			if r.high[e] > 0 && a[e] > r.high[e]*(1+1e-9) && a[e] > r.want[e]*(1+1e-9) && r.yields[n][e] > 0 {
				return true
			}
		}
		return false
	}
	kept := 0
	for n, i := range r.index {
		if !over(n) {
			r.index[kept], r.options[kept], r.yields[kept] = i, r.options[n], r.yields[n]
			kept++
			continue
		}
		for e, y := range r.yields[n] {
			r.base[e] += y * doses[i].MassG / r.volumeL
		}
		doses[i].Stock = stock(&doses[i].Dose, sys)
	}
	r.index, r.options, r.yields = r.index[:kept], r.options[:kept], r.yields[:kept]
}

// search returns the choice with the least misses: all choices where they are
// few, else improvement by one and by two at a time from the plain rounding
// down, which keeps every limit.
func (r *rounder) search() []int {
	pick := make([]int, len(r.options))
	all := 1
	for _, o := range r.options {
		if all *= len(o); all > 20000 {
			break
		}
	}
	if all <= 20000 {
		return r.exhaust(pick)
	}
	best := r.score(pick)
	for better := true; better; {
		better = false
		for n := range pick {
			for p := range r.options[n] {
				was := pick[n]
				if pick[n] = p; r.score(pick) < best-1e-15 {
					best, better = r.score(pick), true
				} else {
					pick[n] = was
				}
			}
		}
		if better {
			continue
		}
		for n := range pick {
			for m := n + 1; m < len(pick); m++ {
				for p := range r.options[n] {
					for q := range r.options[m] {
						wasN, wasM := pick[n], pick[m]
						pick[n], pick[m] = p, q
						if s := r.score(pick); s < best-1e-15 {
							best, better = s, true
						} else {
							pick[n], pick[m] = wasN, wasM
						}
					}
				}
			}
		}
	}
	return pick
}

func (r *rounder) exhaust(pick []int) []int {
	best, score := append([]int(nil), pick...), r.score(pick)
	for {
		n := 0
		for n < len(pick) {
			if pick[n]++; pick[n] < len(r.options[n]) {
				break
			}
			pick[n] = 0
			n++
		}
		if n == len(pick) {
			return best
		}
		if s := r.score(pick); s < score-1e-15 {
			score = s
			copy(best, pick)
		}
	}
}
