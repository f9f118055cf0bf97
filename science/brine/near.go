package brine

import "math"

// How far water may move before SolveNear solves it again.
const (
	nearTempC = 4.0  // change of temperature [°C]
	nearMove  = 0.05 // of ln h, by what was dissolved or taken out [1]
	nearTerm  = 0.10 // of ln h, by one of these alone: they may balance [1]
	nearOther = 4e-3 // of ln h, by what else binds hydrogen or carbonate [1]
	nearCalls = 24   // calls
)

// Near is a water that is followed through many small changes with SolveNear.
// The zero value is ready for it.
type Near struct {
	Water
	drawn bool // there is a tangent
	calls int  // since it was drawn

	// Where the tangent was drawn, and how ln h runs along it.
	tempC0                 float64 // °C
	alk, dic, nh3, h0, ph0 float64 // eq/kg, mol/kg, mol/kg, mol/kg, 1
	lnHCO3, lnGammaH       float64 // moves of these constants from where they are kept [1]
	perAlk, perDIC, perNH3 float64 // [kg/mol]
	perK                   float64 // beyond what the constant of bicarbonate does [1/K]
	pairs                  float64 // carbonate in pairs over free carbonate [1]
	others                 [5]float64
}

// Forget drops what is kept, as Water.Forget does.
func (n *Near) Forget() {
	n.drawn = false
	n.Water.Forget()
}

// Fresh reports whether the last call solved the water, so that all of it is up
// to date.
func (n *Near) Fresh() bool { return n.calls == 0 }

// SolveNear is SolveWarm for a water that changes very little from call to call,
// with totals t, temperature tempC [°C] and the same n each time. It follows
// the tangent
//
//	ln h = ln h₀ − Δln K_HCO₃ + a ΔT + b ΔA + c ΔDIC + d ΔNH₃
//
// from the last solve, and solves anew after 24 calls, after 4 °C, or when what
// was dissolved or taken out moves ln h by more than 0.05, or one of its three
// parts by more than 0.10, or phosphate, borate, EDTA, calcium and magnesium
// could by more than 0.004. The pH stays within 0.005 of Solve's.
//
// Along the tangent only PH, TempC, AlkalinityEqKg, DICMolKg and the molalities
// of H⁺, OH⁻, CO₂, bicarbonate, carbonate, NH₃ and NH₄⁺ are brought up to date;
// the rest of n is as it was solved last.
//
// Salts that neither bind hydrogen nor change the alkalinity are only looked at
// when it solves: after an act that changes them much, call n.Forget first.
//
// Special cases: as SolveWarm; negative amounts are only seen when it solves.
func (s *Solver) SolveNear(t *Totals, tempC float64, n *Near) error {
	n.calls++
	dT := tempC - n.tempC0
	if !n.drawn || n.calls > nearCalls || !(math.Abs(dT) <= nearTempC) || (t[Ammonia] > 0) != (n.nh3 > 0) {
		return s.draw(t, tempC, n)
	}
	alk := t.AlkalinityEqKg()
	byAlk, byDIC, byNH3 := n.perAlk*(alk-n.alk), n.perDIC*(t[DIC]-n.dic), n.perNH3*(t[Ammonia]-n.nh3)
	move := byAlk + byDIC + byNH3
	// What else binds hydrogen or carbonate can bind no more than its own amount.
	other := math.Abs(t[PO4]-n.others[0]) + math.Abs(t[Borate]-n.others[1]) + math.Abs(t[EDTA]-n.others[2]) +
		math.Abs(t[Ca]-n.others[3]) + math.Abs(t[Mg]-n.others[4])
	if !(math.Abs(move) <= nearMove && math.Abs(byAlk) <= nearTerm && math.Abs(byDIC) <= nearTerm && math.Abs(byNH3) <= nearTerm &&
		other*math.Abs(n.perAlk) <= nearOther) { // or no number
		return s.draw(t, tempC, n)
	}
	k := &n.kept
	d := k.overT(tempC)
	ln := func(i product) float64 { return d * (k.slope[i] + d*k.curve[i]) }
	lnHCO3, lnGammaH := ln(toHCO3), ln(ofGammaH)
	u := move + n.perK*dT - (lnHCO3 - n.lnHCO3)
	h := n.h0 * nearExp(u)
	toBi := k.k[toHCO3] * nearExp(lnHCO3) * h
	toAcid := k.k[toCO2] * nearExp(ln(toCO2)) * h * h
	free := t[DIC] / (1 + n.pairs + toBi + toAcid)
	m := &n.Species
	m[SpH], m[SpOH] = h, k.k[toOH]*nearExp(ln(toOH))/h
	m[SpCO3], m[SpHCO3], m[SpCO2] = free, free*toBi, free*toAcid
	if n.nh3 > 0 {
		x := h / (k.k[toNH3] * nearExp(ln(toNH3)))
		nh3 := t[Ammonia] / (1 + x)
		m[SpNH3], m[SpNH4] = nh3, nh3*x
	}
	n.PH = n.ph0 - (u+lnGammaH-n.lnGammaH)/ln10
	n.TempC, n.AlkalinityEqKg, n.DICMolKg = tempC, alk, t[DIC]
	return nil
}

// draw solves the water and draws the tangent there.
func (s *Solver) draw(t *Totals, tempC float64, n *Near) error {
	n.drawn, n.calls = false, 0
	if err := s.SolveWarm(t, tempC, &n.Water); err != nil {
		return err
	}
	if !(t[DIC] > 0) {
		return nil // no tangent: solved each time
	}
	k := &n.kept
	b := &s.bal
	var here, there constants
	k.at(tempC, &here)
	b.set(t, &here, &k.free)
	b.h, b.freeCa, b.freeMg = n.Species[SpH], n.Species[SpCa], n.Species[SpMg]
	var x, y residual
	b.weigh(&x)
	// along returns how ln h follows a change that leaves so much missing.
	along := func(missing [3]float64) float64 {
		z := x
		z.r = missing
		if !b.metals {
			return z.r[0] / z.j[0][0]
		}
		du, _, _ := b.step(&z)
		return du
	}
	n.perAlk = along([3]float64{1, 0, 0}) // an equivalent more of alkalinity
	// A mole more of carbonate brings its share of every form.
	l := &b.lig[b.where[ofCarbonate]]
	free := n.Species[SpCO3]
	bi, acid := here[toHCO3]*b.h, here[toCO2]*b.h*b.h
	chalk, magnesia := n.Species[SpCaCO3]+n.Species[SpCaHCO3], n.Species[SpMgCO3]+n.Species[SpMgHCO3]
	hydrogens := (free*(bi+2*acid) + n.Species[SpCaHCO3] + n.Species[SpMgHCO3]) / t[DIC]
	n.perDIC = along([3]float64{hydrogens - l.weight, -chalk / t[DIC], -magnesia / t[DIC]})
	n.perNH3 = 0
	if b.ammonia > 0 {
		n.perNH3 = along([3]float64{-1 / (1 + b.h/b.nh3), 0, 0})
	}

	const up = 0.1 // °C
	k.at(tempC+up, &there)
	b.set(t, &there, &k.free)
	b.weigh(&y)
	for i := range y.r {
		y.r[i] = (y.r[i] - x.r[i]) / up
	}
	n.perK = along(y.r) + math.Log(there[toHCO3]/here[toHCO3])/up

	n.alk, n.dic, n.nh3, n.h0, n.ph0 = n.AlkalinityEqKg, t[DIC], t[Ammonia], n.Species[SpH], n.PH
	n.others = [5]float64{t[PO4], t[Borate], t[EDTA], t[Ca], t[Mg]}
	d := k.overT(tempC)
	n.lnHCO3 = d * (k.slope[toHCO3] + d*k.curve[toHCO3])
	n.lnGammaH = d * (k.slope[ofGammaH] + d*k.curve[ofGammaH])
	n.pairs = max(t[DIC]/free-1-bi-acid, 0)
	n.tempC0, n.drawn = tempC, true
	return nil
}
