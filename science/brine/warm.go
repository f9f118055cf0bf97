package brine

import "math"

// How far water may move before SolveWarm works its coefficients out afresh.
const (
	keepTempC    = 10.0  // change of temperature [°C]
	keepStrength = 0.007 // change of ionic strength, salt for salt, as a share [1]
	slopeStepC   = 5.0   // step by which the slopes over temperature are taken, either way [°C]
)

// SolveWarm is Solve for a water that changes little from call to call, with
// the same totals t and temperature tempC [°C] in, and the same w each time:
// coefficients are kept in w, drawn along with temperature by their slopes and
// curves, and worked out afresh when temperature has moved by more than 10 °C or
// the salts by more than 0.7 % of the ionic strength. The pH stays within 0.005 of
// Solve's. w.LnGamma and w.WaterActivity stay as they were when the coefficients
// were worked out.
//
// The answer depends, within that 0.005, on what w held. Two runs agree to the
// last bit if they start from the same w, or after w.Forget or Solve.
//
// Special cases: as Solve.
func (s *Solver) SolveWarm(t *Totals, tempC float64, w *Water) error {
	if err := check(t, tempC); err != nil {
		return err
	}
	kept := &w.kept
	if !kept.ok || kept.model != s.model || !kept.near(t, tempC) {
		return s.renew(t, tempC, w)
	}
	var k constants
	kept.at(tempC, &k)
	b := &s.bal
	b.set(t, &k, &kept.free)
	b.h, b.freeCa, b.freeMg = w.Species[SpH], w.Species[SpCa], w.Species[SpMg]
	if co3 := w.Species[SpCO3]; co3 > 0 {
		// temperature moves h, but hardly how bicarbonate and carbonate divide
		b.h = w.Species[SpHCO3] / (co3 * k[toHCO3])
	}
	if !b.solve() {
		return s.renew(t, tempC, w)
	}
	b.spread(t, &k, &kept.free, &w.Species)
	w.PH = -math.Log10(b.h * k[ofGammaH])
	w.TempC = tempC
	w.IonicStrength = ionicStrength(&w.Species)
	w.AlkalinityEqKg = b.alk
	w.DICMolKg = t[DIC]
	w.PCO2Atm = w.Species[SpCO2] * k[ofPCO2]
	return nil
}

// salinity weighs each total [1] by what it brings to twice the ionic strength;
// carbon that leaves at constant charge makes one carbonate of two bicarbonates.
var salinity = Totals{
	Na: 1, K: 1, Ca: 4, Mg: 4, Cl: 1, SO4: 4, NO3: 1, NO2: 1, Ammonia: 1, PO4: 4, Borate: 1, EDTA: 4, DIC: 2,
}

// near tells whether kept coefficients still serve.
func (k *kept) near(t *Totals, tempC float64) bool {
	if math.Abs(tempC-k.tempC) > keepTempC || maskOf(t) != k.mask {
		return false
	}
	var moved float64
	for i, x := range t {
		moved += salinity[i] * math.Abs(x-k.totals[i])
	}
	return moved <= 2*keepStrength*k.strength
}

// renew works the coefficients out at t and tempC, starting from those of w if
// it has any, and keeps them in w with their slopes.
func (s *Solver) renew(t *Totals, tempC float64, w *Water) error {
	kept := &w.kept
	warm := kept.ok && kept.model == s.model
	kept.ok = false
	var ln, k constants
	free := [2]float64{1, 1}
	s.choose(t)
	s.setTemp(tempC)
	if warm {
		s.lg, s.lnAw, s.scale = w.LnGamma, kept.lnAw, 0
		s.bal.h, s.bal.freeCa, s.bal.freeMg = w.Species[SpH], w.Species[SpCa], w.Species[SpMg]
		free = kept.free
	} else {
		s.bal.h, s.bal.freeCa, s.bal.freeMg = 0, 0, 0
		s.guess(roughStrength(t))
	}
	s.fold(&ln)
	if err := s.rounds(t, &ln, &k, &free, warmClose, w); err != nil {
		return err
	}
	s.finish(t, tempC, &ln, w)
	*kept = keptFrom(s, t, tempC, &k, &free)

	// slopes and curves, with the species held
	var up, down constants
	s.setTemp(tempC + slopeStepC)
	s.coefficients(&w.Species)
	s.fold(&up)
	s.setTemp(tempC - slopeStepC)
	s.coefficients(&w.Species)
	s.fold(&down)
	a, b := kept.overT(tempC+slopeStepC), kept.overT(tempC-slopeStepC)
	for i := range up {
		y, z := up[i]-ln[i], down[i]-ln[i]
		// y = slope a + curve a², z = slope b + curve b²
		kept.curve[i] = (y/a - z/b) / (a - b)
		kept.slope[i] = y/a - kept.curve[i]*a
	}
	return nil
}

// overT returns how far tempC [°C] lies from where the coefficients were worked
// out, as a change of 1/T: ln k runs straight over that (van 't Hoff), less so
// over T.
func (k *kept) overT(tempC float64) float64 {
	return (tempC - k.tempC) * (k.tempC + kelvin) / (tempC + kelvin)
}

// at draws the constants along to tempC [°C].
func (k *kept) at(tempC float64, out *constants) {
	d := k.overT(tempC)
	for i := range out {
		if k.k[i] == 0 {
			continue // cannot happen in this water
		}
		out[i] = k.k[i] * nearExp(d*(k.slope[i]+d*k.curve[i]))
	}
}

// nearExp returns e^x, within 1e-6 of it for |x| < 0.3 and 3e-5 for |x| < 0.5.
func nearExp(x float64) float64 {
	return 1 + x*(1+x*(1.0/2+x*(1.0/6+x*(1.0/24+x*(1.0/120)))))
}

func keptFrom(s *Solver, t *Totals, tempC float64, consts *constants, free *[2]float64) kept {
	k := kept{ok: true, model: s.model, mask: s.mask, totals: *t, tempC: tempC, strength: s.strength, lnAw: s.lnAw, free: *free}
	k.k = *consts
	k.k[ofGammaH] = math.Exp(s.lg[SpH] + s.scale)
	k.k[ofPCO2] = math.Exp(s.lg[SpCO2] - s.lnHenry)
	return k
}

// PHAt25 returns the pH [1] that the water with totals t would have at 25 °C:
// the same pond reads about 0.011 higher for each degree it is colder, and
// rules are about the water, not about the hour. w is the water as it was last
// solved, which only spares work when it is at 25 °C already.
//
// Special cases: as Solve; the pH is NaN where there is an error.
func (s *Solver) PHAt25(t *Totals, w *Water) (float64, error) {
	if w != nil && math.Abs(w.TempC-25) < 1e-9 && w.PH > 0 {
		return w.PH, nil
	}
	var at25 Water
	if err := s.Solve(t, 25, &at25); err != nil {
		return math.NaN(), err
	}
	return at25.PH, nil
}
