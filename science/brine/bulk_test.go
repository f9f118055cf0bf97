package brine_test

import (
	"math"
	"strings"
	"testing"

	"sodalake/science/brine"
)

// bySharePct returns a water with percent of its mass a salt.
func bySharePct(t *testing.T, salt string, percent float64) brine.Totals {
	t.Helper()
	d, err := brine.Dissolve(salt)
	if err != nil {
		t.Fatal(err)
	}
	return single(t, salt, 10*percent/d.MolarMass/(1-percent/100))
}

func TestDensity(t *testing.T) {
	const source = "CRC Handbook, concentrative properties of aqueous solutions, 20 °C"
	s := brine.New(brine.Pitzer)
	for _, row := range []struct {
		salt         string
		one, five, e float64 // kg/L at 1 and 5 %
	}{
		{"NaCl", 1.0053, 1.0340, 4e-4},
		{"NaHCO3", 1.0054, 1.0337, 9e-4},
		{"Na2CO3", 1.0086, 1.0502, 5e-4},
		{"NaNO3", 1.0050, 1.0322, 4e-4},
		{"Na2SO4", 1.0071, 1.0436, 5e-4},
		{"NaOH", 1.0095, 1.0538, 5e-4},
	} {
		for percent, want := range map[float64]float64{1: row.one, 5: row.five} {
			totals := bySharePct(t, row.salt, percent)
			near(t, row.salt, brine.DensityKgL(solved(t, s, &totals, 20), 20), want, row.e, source)
		}
	}
	sea := seawater()
	near(t, "seawater", brine.DensityKgL(solved(t, s, &sea, 25), 25), 1.02334, 4e-4, "international equation of state of seawater 1980, salinity 35, 25 °C (from memory)")
	totals, kgPerL, err := brine.FromSalts(fullMedium)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "litres per kilogram of water", brine.LitresPerKgWater(solved(t, s, &totals, 25), 25), 1/kgPerL, 2e-4, "what was made up to a litre")
	none := brine.Totals{}
	near(t, "pure water", brine.DensityKgL(solved(t, s, &none, 25), 25), brine.PureWaterDensityKgL(25), 1e-8, "nothing in it")
}

func TestConductivity(t *testing.T) {
	const (
		standards = "KCl standards, Robinson & Stokes, appendix 6.3 (from memory); the coefficients were fitted to it"
		crc       = "CRC Handbook, electrical conductivity of aqueous solutions, 20 °C, brought to 25 °C by the factor in the row (McCleskey et al. 2012); not used in the fit"
	)
	s := brine.New(brine.Pitzer)
	for _, row := range []struct{ molPerL, want, tol float64 }{{0.01, 1.4127, 0.01}, {0.1, 12.896, 0.05}, {1, 111.9, 0.6}} {
		totals := made(t, map[string]float64{"KCl": row.molPerL * 74.55})
		near(t, "KCl", brine.ConductivityMSCm25(solved(t, s, &totals, 25)), row.want, row.tol, standards)
	}
	for _, row := range []struct {
		salt      string
		percent   float64
		at20, per float64 // mS/cm, factor to 25 °C
	}{
		{"KHCO3", 1, 8.9, 1.105}, {"KHCO3", 2, 17.0, 1.104}, {"KHCO3", 5, 38.8, 1.100},
		{"KH2PO4", 1, 5.9, 1.107}, {"KH2PO4", 5, 25.0, 1.107}, {"K2HPO4", 1, 9.9, 1.11}, // phosphates are cruder
		{"K2CO3", 1, 13.6, 1.106}, {"K2CO3", 2, 25.4, 1.105}, {"K2CO3", 5, 58.0, 1.103},
	} {
		totals := bySharePct(t, row.salt, row.percent)
		want, tol := row.at20*row.per, 0.03
		if strings.Contains(row.salt, "PO4") {
			tol = 0.08
		}
		near(t, row.salt, brine.ConductivityMSCm25(solved(t, s, &totals, 25)), want, tol*want, crc)
	}
	sea := seawater()
	near(t, "seawater", brine.ConductivityMSCm25(solved(t, s, &sea, 25)), 53.06, 0.03*53.06,
		"practical salinity scale 1978, salinity 35 at 25 °C (from memory); magnesium sulfate is taken as free ions, which puts it 2 to 3 % high")
}

// More salt conducts better, and a limiting law is kept.
func TestConductivityLimit(t *testing.T) {
	s := brine.New(brine.Pitzer)
	weak := single(t, "NaCl", 1e-4)
	w := solved(t, s, &weak, 25)
	near(t, "NaCl at 1e-4 mol/kg", brine.ConductivityMSCm25(w)/1e-4, 126.45-0.89+0.55, 0.4,
		"limiting conductivity less Onsager's 89.2 √c, Robinson & Stokes, eq. 7.36 (from memory), and 0.55 for the water's own ions")
	last := 0.0
	for m := 0.01; m < 1.2; m *= 1.3 {
		totals := single(t, "NaHCO3", m)
		k := brine.ConductivityMSCm25(solved(t, s, &totals, 25))
		if !(k > last) || math.IsNaN(k) {
			t.Fatalf("%g mol/kg conducts %g mS/cm, less salt %g", m, k, last)
		}
		last = k
	}
}
