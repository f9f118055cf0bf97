package medium

import (
	"math"

	"sodalake/science/brine"
)

// Part is an ingredient with how much of it goes into a litre.
type Part struct {
	Of     *Ingredient
	GPerL  float64 // as sold, in a litre of finished medium [g/L]
	Purity float64 // share that is the salt [1]; 0 is the usual one
}

func (p *Part) purity() float64 {
	if p.Purity > 0 {
		return p.Purity
	}
	return p.Of.Purity
}

// Mix is a medium to be made: parts and the water that they go into.
type Mix struct {
	Parts []Part
	Water Water
}

// Solution is a mix in water, before anything has left it or fallen out.
type Solution struct {
	PerL        brine.Totals // in a litre at 25 °C [mol/L]
	Metals      Metals       // in a litre at 25 °C [mol/L]
	Totals      brine.Totals // [mol/kg water]
	KgWaterPerL float64      // [kg/L]
	DensityKgL  float64      // at 25 °C [kg/L]
}

// Elements returns the moles of each element in a litre of the solution at
// 25 °C [mol/L].
func (s *Solution) Elements() Amounts { return Elements(&s.PerL, &s.Metals) }

// NewMix returns a mix of ingredients by name in grams a litre of finished
// medium, gPerL [g/L], read by the law of place, each of its usual purity. The
// error is an *InputError that names what is wrong.
func NewMix(gPerL map[string]float64, place Law) (Mix, error) {
	var m Mix
	for _, name := range sortedKeys(gPerL) {
		g := gPerL[name]
		if !(g >= 0) || g > 500 {
			return Mix{}, wrong(name, "", "%s %.6g g/L must be between 0 and 500", name, g)
		}
		i, err := Lookup(name, place)
		if err != nil {
			return Mix{}, err
		}
		if g > 0 {
			m.Parts = append(m.Parts, Part{Of: i, GPerL: g})
		}
	}
	return m, nil
}

// Pure sets every part to its formula weight: for published recipes, whose
// grams are those of the pure salt.
func (m *Mix) Pure() {
	for i := range m.Parts {
		m.Parts[i].Purity = 1
	}
}

// Dissolve puts the mix into water, with a solver of the caller's. The density
// that turns litres into kilograms of water is worked out by the way.
//
// The error is an *InputError, or one of brine where no balance is found.
func (m *Mix) Dissolve(s *brine.Solver) (Solution, error) {
	var sol Solution
	grams, crystal := 0.0, 0.0
	sol.PerL = m.Water.PerL
	for k, x := range m.Water.PerL { // what the source water carries weighs too
		grams += x * totalMass[k]
	}
	for i := range m.Parts {
		p := &m.Parts[i]
		if !(p.GPerL >= 0) || p.GPerL > 500 {
			return sol, wrong(p.Of.ID, "", "%s %.6g g/L must be between 0 and 500", p.Of.Kitchen, p.GPerL)
		}
		y, err := p.Of.Yield(p.purity())
		if err != nil {
			return sol, err
		}
		for k, x := range y.Totals {
			sol.PerL[k] += p.GPerL * x
		}
		for k, x := range y.Metals {
			sol.Metals[k] += p.GPerL * x
		}
		grams += p.GPerL
		crystal += p.GPerL * y.CrystalG
	}
	return sol, sol.settle(s, grams/1000, crystal/1000)
}

// settle finds the water in a litre with solids [kg/L] weighed in, of which
// crystal [kg/L] is water.
func (sol *Solution) settle(s *brine.Solver, solids, crystal float64) error {
	var w brine.Water
	density := brine.PureWaterDensityKgL(25) + 0.7*solids
	for range 40 {
		water := density - solids + crystal
		if water < 0.3 {
			return wrong("salts_g_per_l", "", "so much salt, %.4g g/L, leaves no room for the water", solids*1000)
		}
		for k, x := range sol.PerL {
			sol.Totals[k] = x / water
		}
		sol.KgWaterPerL, sol.DensityKgL = water, density
		if err := s.Solve(&sol.Totals, 25, &w); err != nil {
			return err
		}
		next := brine.DensityKgL(&w, 25)
		if math.Abs(next-density) < 1e-9 {
			return nil
		}
		density = next
	}
	return nil
}

// totalMass are the masses that a mole of each total brings as it stands in
// source water [g/mol].
var totalMass = [brine.NTotals]float64{
	brine.Na: 22.990, brine.K: 39.098, brine.Ca: 40.078, brine.Mg: 24.305, brine.Cl: 35.45, brine.SO4: 96.056, brine.NO3: 62.004,
	brine.NO2: 46.005, brine.Ammonia: 18.039, brine.Urea: 60.056, brine.PO4: 95.978, brine.Borate: 61.833, brine.DIC: 61.017,
}
