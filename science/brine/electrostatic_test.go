package brine

import (
	"math"
	"testing"
)

// integralJ works the integral out by the trapezoid rule in ln y, which
// converges fast since the integrand vanishes at both ends.
func integralJ(x float64) float64 {
	const from, to, n = -40.0, 4.0, 40000
	var sum float64
	for i := range n + 1 {
		y := math.Exp(from + (to-from)*float64(i)/n)
		sum += -math.Expm1(-x/y*math.Exp(-y)) * y * y * y
	}
	return x/4 - 1 + sum*(to-from)/n/x
}

func TestJIntegral(t *testing.T) {
	const source = "Pitzer 1975, J. Solution Chem. 4:249, eq. 26, by quadrature"
	for _, x := range []float64{0.01, 0.1, 0.5, 1, 1.5, 2.35, 5, 10, 20, 50} {
		want := integralJ(x)
		got, slope := jIntegral(x)
		if math.Abs(got-want) > 2e-6*(1+math.Abs(want)) {
			t.Errorf("J(%g) = %.8g, want %.8g (%s)", x, got, want, source)
		}
		wantSlope := x * (integralJ(x*1.001) - integralJ(x*0.999)) / (0.002 * x)
		if math.Abs(slope-wantSlope) > 3e-5*(1+math.Abs(wantSlope)) {
			t.Errorf("x J'(%g) = %.8g, want %.8g (%s)", x, slope, wantSlope, source)
		}
	}
}

// The tables stand for the series.
func TestMixingTable(t *testing.T) {
	for which := range mixedCharges {
		for u := 0.01; u < 8; u += 0.0137 {
			j, uj := mixedJ(which, u)
			wj, wuj := exactMixedJ(which, u)
			if math.Abs(j-wj) > 3e-7*(1+math.Abs(wj)) || math.Abs(uj-wuj) > 3e-5*(1+math.Abs(wuj)) {
				t.Fatalf("charges %v at u = %g: %g, %g, want %g, %g", mixedCharges[which], u, j, uj, wj, wuj)
			}
		}
	}
}

// Every parameter stands for species that exist, once.
func TestParameterTables(t *testing.T) {
	seen := map[string]bool{}
	for _, list := range [][]parameter{pairParameters, mixedParameters} {
		for i, p := range list {
			n := 2
			if p.kind == psi || p.kind == zeta {
				n = 3
			}
			key := string(rune('0' + p.kind))
			var marks [NSpecies]bool
			for _, s := range p.of[:n] {
				marks[s] = true
			}
			for s, m := range marks {
				if m {
					key += " " + Species(s).String()
				}
			}
			if seen[key] {
				t.Errorf("parameter %d (%s) stands twice", i, key)
			}
			seen[key] = true
			z := p.of[0].Charge() * p.of[1].Charge()
			if p.kind <= cphi && z >= 0 || p.kind == theta && z <= 0 || (p.kind == lambda || p.kind == zeta) && p.of[0].Charge() != 0 && p.of[1].Charge() != 0 {
				t.Errorf("parameter %d (%s) has the wrong charges", i, key)
			}
		}
	}
	if kclNumbers[0] == kclNumbers[1] || kclNumbers[1] == kclNumbers[2] {
		t.Errorf("potassium chloride is not found: %v", kclNumbers)
	}
}
