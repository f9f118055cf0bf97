package medium

import (
	"math"

	"sodalake/science/growth"
)

// Target is a medium that is wanted, in moles a litre, the source water
// included: a best value for each element and the band that will do.
type Target struct {
	Want   Amounts // [mol/L]
	Low    Amounts // [mol/L]
	High   Amounts // [mol/L]; +Inf where more does no harm
	Weight Amounts // what a relative miss of each counts for [1]
}

// most are upper limits whatever the recipe [mol/L]. Source: judgement, no
// source, some tens of times what A5 brings: traces that feed a culture harm
// it, and what is eaten, a little above.
var most = map[Element]float64{
	Boron: 2e-3 / 10.81, Manganese: 1e-3 / 54.938, Zinc: 0.5e-3 / 65.38, Copper: 0.05e-3 / 63.546, Molybdenum: 0.5e-3 / 95.95,
	Cobalt: 0.02e-3 / 58.933, Nickel: 0.02e-3 / 58.693,
}

// TargetOf returns the target that a recipe sets, where a [mol/L] is what it
// holds, carryGL the density it is to feed before anything is added [g/L], 0 for
// as much as its own nitrogen feeds, and c the composition of the cells.
//
// Carbon and alkalinity are wanted as in the recipe, within 5 % below and 10 %
// above; nutrients in the amount that feeds carryGL, or 95 % of the recipe's if
// that is less; calcium, sodium, chloride and traces at most. Nitrogen that is
// or becomes ammonia never passes PoolUreaMgL.
//
// Source: the bands are judgement, no source.
func TargetOf(a Amounts, carryGL float64, c growth.Composition) Target {
	t := Target{Want: a}
	if carryGL <= 0 {
		carryGL = a[Nitrogen] / c.N
	}
	for e := range t.High {
		t.High[e] = math.Inf(1)
	}
	for _, e := range []Element{Carbon, Alkalinity} {
		t.Low[e], t.High[e], t.Weight[e] = 0.95*max(a[e], 0), 1.1*max(a[e], 0), 2
	}
	for _, n := range []struct {
		e      Element
		per    float64 // [mol/g]
		factor float64
		room   float64 // [mol/L]
	}{
		{Nitrogen, c.N, 1.5, 0}, {Phosphorus, c.P, 2, 0}, {Potassium, c.K, 1, 0.03}, {Magnesium, c.Mg, 2, 1e-3}, {Sulfur, c.S, 1, 0.015}, {Iron, c.Fe, 3, 0},
	} {
		t.Low[n.e] = min(0.95*a[n.e], carryGL*n.per)
		t.High[n.e] = n.factor*max(a[n.e], t.Low[n.e]) + n.room
		t.Weight[n.e] = 1
	}
	t.High[Calcium] = 1.2*a[Calcium] + 0.5e-3
	t.High[Sodium], t.High[Chlorine] = a[Sodium]+0.06, a[Chlorine]+0.06
	t.Weight[Sodium], t.Weight[Chlorine], t.Weight[Calcium] = 0.1, 0.1, 0.1
	t.High[Chelator] = a[Chelator] + 0.5e-3
	t.Weight[Chelator] = 0.1
	t.High[Reduced] = PoolMolL
	t.Want[Reduced] = min(a[Reduced], PoolMolL)
	t.Weight[Reduced] = 0.1
	for e, x := range most {
		t.High[e] = max(x, 1.2*a[e])
		if a[e] > 0 {
			t.Weight[e] = 0.05
		}
	}
	return t
}

// PoolMolL is PoolUreaMgL as moles of nitrogen [mol/L].
const PoolMolL = PoolUreaMgL / 1000 / ureaMol * 2

// scale returns what an element's misses are measured by [mol/L]: what is
// wanted of it, or a small amount where nothing is.
func (t *Target) scale(e Element) float64 {
	if s := max(t.Want[e], t.Low[e]); s > 1e-9 {
		return s
	}
	switch e {
	case Sodium, Chlorine, Potassium, Alkalinity, Carbon:
		return 0.05
	case Sulfur, Nitrogen:
		return 5e-3
	case Copper, Cobalt, Nickel, Molybdenum, Zinc, Manganese, Boron:
		return t.High[e]
	}
	return 1e-3
}

// outside returns by how much a [mol/L] misses the band of e, relative to its
// scale [1]: below 0 is too little, above too much.
func (t *Target) outside(e Element, a float64) float64 {
	switch {
	case a < t.Low[e]:
		return (a - t.Low[e]) / t.scale(e)
	case a > t.High[e]:
		return (a - t.High[e]) / t.scale(e)
	}
	return 0
}
