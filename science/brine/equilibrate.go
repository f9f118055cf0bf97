package brine

import (
	"fmt"
	"math"
)

// PHBy is by what a pH is held.
type PHBy uint8

// Strong base or acid leaves the carbon where it is; CO2 leaves the alkalinity.
const (
	ByStrong PHBy = iota // caustic soda or hydrochloric acid
	ByCO2                // carbon dioxide let in or taken out
)

// String returns the name by which calculators know it.
func (b PHBy) String() string {
	if b == ByCO2 {
		return "co2"
	}
	return "strong"
}

const (
	leastDIC = 1e-13 // mol/kg
	mostDIC  = maxMolality
	phClose  = 1e-9
)

// OpenTo sets the inorganic carbon in t so that the water at tempC [°C] is in
// balance with air holding pco2Atm [atm] of carbon dioxide, and fills in w.
//
// Special cases: no carbon dioxide in the air leaves none in the water; a
// negative or absurd pressure is an *InputError, and t stays as it was on any
// error.
func (s *Solver) OpenTo(t *Totals, tempC, pco2Atm float64, w *Water) error {
	if !(pco2Atm >= 0) || pco2Atm > 100 {
		return &InputError{Field: "pco2_atm", Value: pco2Atm, Reason: "the pressure of carbon dioxide must be between 0 and 100 atm"}
	}
	trial := *t
	if pco2Atm == 0 {
		trial[DIC] = 0
		if err := s.Solve(&trial, tempC, w); err != nil {
			return err
		}
		*t = trial
		return nil
	}
	want := math.Log(pco2Atm)
	err := s.seekCarbon(&trial, tempC, w, func() float64 { return math.Log(w.PCO2Atm) - want })
	if err != nil {
		return name(err, "pco2", w)
	}
	*t = trial
	return nil
}

// seekCarbon changes the carbon in t until over, which rises with carbon, is
// nothing.
func (s *Solver) seekCarbon(t *Totals, tempC float64, w *Water, over func() float64) error {
	at := func(u float64) (float64, error) {
		t[DIC] = math.Exp(u)
		if err := s.Solve(t, tempC, w); err != nil {
			return 0, err
		}
		return over(), nil
	}
	start := math.Log(math.Max(t[DIC], 1e-5))
	return hunt(start, 0.3, math.Log(leastDIC), math.Log(mostDIC), at)
}

// HoldPH changes t so that the water at tempC [°C] has the pH ph [1], and fills
// in w. By strong base or acid it adds sodium (as caustic soda) or chloride (as
// hydrochloric acid) and keeps the carbon; by CO2 it changes the carbon and
// keeps the alkalinity.
//
// Special cases: a pH outside 1 to 14 is an *InputError; one that cannot be
// reached that way, like 12 by taking CO2 out of a weak water, is a
// *NoSolutionError. t stays as it was on any error.
func (s *Solver) HoldPH(t *Totals, tempC, ph float64, by PHBy, w *Water) error {
	if !(ph >= 1 && ph <= 14) {
		return &InputError{Field: "ph", Value: ph, Reason: "a pH to hold must be between 1 and 14"}
	}
	trial := *t
	var err error
	if by == ByCO2 {
		err = s.holdByCarbon(&trial, tempC, ph, w)
	} else {
		err = s.holdByBase(&trial, tempC, ph, w)
	}
	if err != nil {
		return err
	}
	*t = trial
	return nil
}

func (s *Solver) holdByBase(t *Totals, tempC, ph float64, w *Water) error {
	start := *t
	over := func(x float64) (float64, error) { // by how much pH is over ph with x of base
		*t = start
		if x >= 0 {
			t[Na] += x
		} else {
			t[Cl] -= x
		}
		if err := s.Solve(t, tempC, w); err != nil {
			return 0, err
		}
		return w.PH - ph, nil
	}
	step := 1e-6 + 0.1*math.Abs(start.AlkalinityEqKg())
	return name(hunt(0, step, -2*maxMolality, 2*maxMolality, over), "ph", w)
}

func (s *Solver) holdByCarbon(t *Totals, tempC, ph float64, w *Water) error {
	return name(s.seekCarbon(t, tempC, w, func() float64 { return ph - w.PH }), "ph", w)
}

// notBracketed is a search whose ends lie on one side.
type notBracketed struct{ atLow, atHigh float64 }

func (e *notBracketed) Error() string {
	return fmt.Sprintf("no change of sign between %.3g and %.3g", e.atLow, e.atHigh)
}

// name turns a failed search into a *NoSolutionError about what was sought.
func name(err error, what string, w *Water) error {
	nb, ok := err.(*notBracketed)
	if !ok {
		return err
	}
	missing := nb.atLow
	if math.Abs(nb.atHigh) < math.Abs(missing) {
		missing = nb.atHigh
	}
	return &NoSolutionError{What: what, Reason: "it cannot be reached that way", PH: w.PH, Missing: missing}
}

// hunt finds where f, which rises from lowest to highest, crosses zero: it
// steps from start, twice as far each time, until it has passed the place, and
// seeks it there.
func hunt(start, step, lowest, highest float64, f func(float64) (float64, error)) error {
	first, err := f(start)
	if err != nil {
		return err
	}
	if math.Abs(first) < phClose {
		return nil
	}
	if first > 0 {
		step = -step
	}
	for last := start; ; step *= 2 {
		x := math.Max(lowest, math.Min(highest, last+step))
		now, err := f(x)
		if err != nil {
			return err
		}
		if (now > 0) != (first > 0) {
			return seek(math.Min(last, x), math.Max(last, x), f)
		}
		if x <= lowest || x >= highest {
			return &notBracketed{now, first}
		}
		last = x
	}
}

// seek finds where f, which crosses zero once between lo and hi, does so, and
// ends with a call of f there. It halves the bracket or uses inverse quadratic
// interpolation, whichever is safe.
//
// Source: chandrupatla1997, Adv. Eng. Softw. 28:145.
func seek(lo, hi float64, f func(float64) (float64, error)) error {
	a, b := hi, lo
	fa, err := f(a)
	if err != nil {
		return err
	}
	fb, err := f(b)
	if err != nil {
		return err
	}
	if fa == 0 { // f was last called at the other end
		_, err = f(a)
		return err
	}
	if fb == 0 {
		return nil
	}
	if (fa > 0) == (fb > 0) {
		return &notBracketed{fb, fa}
	}
	var c, fc float64
	share := 0.5
	for range 200 {
		x := a + share*(b-a)
		fx, err := f(x)
		if err != nil {
			return err
		}
		if (fx > 0) == (fa > 0) {
			c, a = a, x
			fc, fa = fa, fx
		} else {
			c, b, a = b, a, x
			fc, fb, fa = fb, fa, fx
		}
		if math.Abs(fx) < phClose {
			return nil
		}
		tol := 1e-15*math.Abs(a) + 1e-300
		limit := tol / math.Abs(b-a)
		if limit > 0.5 {
			return nil
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		share = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			share = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		share = math.Min(1-limit, math.Max(limit, share))
	}
	return nil
}
