package brine

import (
	"math"
	"testing"
)

func TestDielectricConstant(t *testing.T) {
	const source = "Bradley & Pitzer 1979, and Archer & Wang 1990 within 0.1 (from memory)"
	for _, row := range []struct{ tempC, want float64 }{{0, 87.90}, {25, 78.38}, {50, 69.90}} {
		eps, slope := dielectric(row.tempC + kelvin)
		if math.Abs(eps-row.want) > 0.06 {
			t.Errorf("ε at %g °C is %.3f, want %.2f (%s)", row.tempC, eps, row.want, source)
		}
		if slope < 4.4e-5 || slope > 5.3e-5 {
			t.Errorf("dlnε/dP at %g °C is %.3g per bar, want about 4.7e-5 (%s)", row.tempC, slope, source)
		}
	}
}

// When a search ends, the species and the coefficients worked out from them
// agree: each reaction is in balance.
func TestReactionsAreInBalance(t *testing.T) {
	water := Totals{
		Na: 0.25, K: 0.02, Ca: 3e-4, Mg: 8e-4, Cl: 0.02, SO4: 0.007, NO3: 0.03, Ammonia: 1e-3, PO4: 0.003, Borate: 1e-4,
		EDTA: 2e-4, DIC: 0.15, Iron: 4e-5,
	}
	for _, model := range []Model{Pitzer, Pairs} {
		for _, warm := range []bool{false, true} {
			s := New(model)
			var w Water
			solve, tol := s.Solve, 1e-6
			if warm {
				solve, tol = s.SolveWarm, 1e-4
			}
			if err := solve(&water, 25, &w); err != nil {
				t.Fatal(err)
			}
			s.setTemp(25)
			s.coefficients(&w.Species)
			var ln constants
			s.fold(&ln)
			m := func(sp Species) float64 {
				if sp == none {
					return 0
				}
				return math.Log(w.Species[sp])
			}
			for _, i := range s.active[:s.na] {
				r := &s.reactions[i]
				if r.makes == SpNaEDTA || r.makes == SpKEDTA { // held by total sodium and potassium
					continue
				}
				left := m(r.a) + m(r.b) + r.nH*math.Log(w.Species[SpH]) + ln[r.to] - m(r.makes)
				if math.Abs(left) > tol {
					t.Errorf("%v, warm %v: %v is out of balance by %.2g", model, warm, r.makes, left)
				}
			}
		}
	}
}

// The scale: in potassium chloride its two ions are equally active.
func TestMacInnesScale(t *testing.T) {
	s := New(Pitzer)
	var w Water
	for _, m := range []float64{0.01, 0.1, 1, 3} {
		water := Totals{K: m, Cl: m}
		if err := s.Solve(&water, 30, &w); err != nil {
			t.Fatal(err)
		}
		if d := w.LnGamma[SpK] - w.LnGamma[SpCl]; math.Abs(d) > 1e-6 {
			t.Errorf("%g mol/kg KCl: ln γ differ by %g", m, d)
		}
	}
}
