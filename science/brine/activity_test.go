package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
)

// single returns a water with one salt alone.
func single(t testing.TB, salt string, molality float64) brine.Totals {
	t.Helper()
	totals, err := brine.FromSaltsPerKg(map[string]float64{salt: 1000 * molality})
	if err != nil {
		t.Fatal(err)
	}
	return totals
}

// The interactions of each salt by itself against the isopiestic tables.
func TestMeanActivityCoefficients(t *testing.T) {
	const source = "Robinson & Stokes, Electrolyte Solutions, 2nd ed. rev., appendix 8.10 (from memory)"
	s := brine.New(brine.Pitzer)
	for _, row := range []struct {
		salt     string
		molality float64
		cation   brine.Species
		nc       float64
		anion    brine.Species
		na       float64
		want     float64
		tol      float64
	}{
		{"NaCl", 0.1, brine.SpNa, 1, brine.SpCl, 1, 0.778, 0.003},
		{"NaCl", 0.5, brine.SpNa, 1, brine.SpCl, 1, 0.681, 0.003},
		{"NaCl", 1.0, brine.SpNa, 1, brine.SpCl, 1, 0.657, 0.003},
		{"KCl", 0.1, brine.SpK, 1, brine.SpCl, 1, 0.770, 0.003},
		{"KCl", 0.5, brine.SpK, 1, brine.SpCl, 1, 0.649, 0.003},
		{"KCl", 1.0, brine.SpK, 1, brine.SpCl, 1, 0.604, 0.003},
		{"HCl", 0.1, brine.SpH, 1, brine.SpCl, 1, 0.796, 0.003},
		{"HCl", 1.0, brine.SpH, 1, brine.SpCl, 1, 0.809, 0.004},
		{"NaOH", 0.1, brine.SpNa, 1, brine.SpOH, 1, 0.766, 0.013},
		{"NaOH", 1.0, brine.SpNa, 1, brine.SpOH, 1, 0.678, 0.013}, // the interaction set was fitted up to 6 mol/kg
		{"NaNO3", 0.1, brine.SpNa, 1, brine.SpNO3, 1, 0.762, 0.006},
		{"NaNO3", 1.0, brine.SpNa, 1, brine.SpNO3, 1, 0.548, 0.004},
		{"KNO3", 0.1, brine.SpK, 1, brine.SpNO3, 1, 0.739, 0.007},
		{"KNO3", 1.0, brine.SpK, 1, brine.SpNO3, 1, 0.443, 0.006},
		{"NH4Cl", 0.1, brine.SpNH4, 1, brine.SpCl, 1, 0.770, 0.005},
		{"NH4Cl", 1.0, brine.SpNH4, 1, brine.SpCl, 1, 0.603, 0.004},
		{"CaCl2", 0.1, brine.SpCa, 1, brine.SpCl, 2, 0.518, 0.006},
		{"MgCl2", 0.1, brine.SpMg, 1, brine.SpCl, 2, 0.529, 0.006},
		{"Na2SO4", 0.1, brine.SpNa, 2, brine.SpSO4, 1, 0.445, 0.008},
		{"K2SO4", 0.1, brine.SpK, 2, brine.SpSO4, 1, 0.441, 0.008},
		{"KH2PO4", 0.1, brine.SpK, 1, brine.SpH2PO4, 1, 0.731, 0.006},
	} {
		totals := single(t, row.salt, row.molality)
		w := solved(t, s, &totals, 25)
		got := math.Exp((row.nc*w.LnGamma[row.cation] + row.na*w.LnGamma[row.anion]) / (row.nc + row.na))
		near(t, row.salt, got, row.want, row.tol, source)
	}
}

// The table puts magnesium sulfate at 0.150 by convention, so only its course
// counts.
func TestMagnesiumSulfate(t *testing.T) {
	s := brine.New(brine.Pitzer)
	mean := func(molality float64) float64 {
		totals := single(t, "MgSO4", molality)
		w := solved(t, s, &totals, 25)
		return math.Exp((w.LnGamma[brine.SpMg] + w.LnGamma[brine.SpSO4]) / 2)
	}
	near(t, "γ at 1 over γ at 0.1", mean(1)/mean(0.1), 0.0485/0.150, 0.03, "Robinson & Stokes, appendix 8.10 (from memory)")
}

func TestWaterActivity(t *testing.T) {
	s := brine.New(brine.Pitzer)
	salt := single(t, "NaCl", 1)
	near(t, "1 mol/kg NaCl", solved(t, s, &salt, 25).WaterActivity, math.Exp(-2*0.018015*0.9355), 2e-4,
		"osmotic coefficient 0.9355, Robinson & Stokes, appendix 8.10 (from memory)")
	sea := seawater()
	near(t, "seawater", solved(t, s, &sea, 25).WaterActivity, 0.9813, 3e-4, "vapour pressure of seawater of salinity 35 at 25 °C, Millero 2013 (from memory)")
}

// seawater of salinity 35.
//
// Source: millero2008, Deep-Sea Res. I 55:50, reference composition, table 4,
// mol/kg seawater brought to mol/kg water (from memory, bromide and the rest
// with chloride, sodium from the charge).
func seawater() brine.Totals {
	const perKgWater = 1 / 0.96483
	sea := brine.Totals{
		brine.K: 0.0102077, brine.Ca: 0.0102821, brine.Mg: 0.0528171, brine.Cl: 0.5458696 + 0.0008421 + 0.0000683,
		brine.SO4: 0.0282353, brine.DIC: 0.0019663, brine.Borate: 0.0004154,
	}
	for i := range sea {
		sea[i] *= perKgWater
	}
	sea[brine.Na] = 0.0023*perKgWater - sea.AlkalinityEqKg()
	return sea
}

func TestDebyeHueckelSlope(t *testing.T) {
	const source = "Bradley & Pitzer 1979 and Archer & Wang 1990, tables (from memory)"
	for _, row := range []struct{ tempC, want float64 }{{0, 0.3767}, {25, 0.3915}, {50, 0.4103}} {
		near(t, "Aφ", brine.DebyeHueckelAphi(row.tempC), row.want, 3e-4, source)
	}
}

func TestPureWaterDensity(t *testing.T) {
	const source = "CRC Handbook, density of standard mean ocean water free of salt and air (from memory)"
	for _, row := range []struct{ tempC, want float64 }{
		{0, 0.99984}, {4, 0.99997}, {10, 0.99970}, {20, 0.99821}, {25, 0.99705}, {30, 0.99565}, {40, 0.99222}, {50, 0.98804},
	} {
		near(t, "kg/L", brine.PureWaterDensityKgL(row.tempC), row.want, 1.2e-5, source)
	}
}

// The light model agrees with the other one where both are meant to hold.
func TestPairsAgainstPitzer(t *testing.T) {
	for _, salts := range []map[string]float64{
		{"NaHCO3": 8, "NaOH": 3},
		{"NaHCO3": 8, "Na2CO3": 5},
		{"NaHCO3": 8, "NaCl": 5, "KNO3": 2, "Na2CO3": 4, "MgSO4.7H2O": 0.2, "K2SO4": 0.5, "NH4H2PO4": 0.1},
	} {
		totals := made(t, salts)
		for _, tempC := range []float64{5, 25, 40} {
			a := solved(t, brine.New(brine.Pitzer), &totals, tempC)
			b := solved(t, brine.New(brine.Pairs), &totals, tempC)
			near(t, "pairs pH", b.PH, a.PH, 0.08, "the Pitzer model at the same temperature")
		}
	}
}

// A mixed water with calcium, magnesium and sulfate: single-ion coefficients on
// MacInnes' scale, which carry every term of the model.
func TestBlackSeaWater(t *testing.T) {
	const source = "Parkhurst & Appelo 2013, USGS Techniques and Methods 6-A43, example 17, Black Sea water with the Pitzer data set (bromide counted with chloride; the set has been refitted since in the third decimal)"
	s := brine.New(brine.Pitzer)
	totals := brine.Totals{
		brine.DIC: 8.453e-4, brine.Ca: 5.841e-3, brine.Cl: 0.2930 + 4.401e-4, brine.K: 4.960e-3, brine.Mg: 2.807e-2,
		brine.Na: 0.2544, brine.SO4: 1.527e-2,
	}
	var w brine.Water
	if err := s.HoldPH(&totals, 25, 8.0, brine.ByStrong, &w); err != nil { // its charges do not balance by 2.25 meq
		t.Fatal(err)
	}
	for _, row := range []struct {
		sp   brine.Species
		want float64
	}{
		{brine.SpH, -0.111}, {brine.SpOH, -0.222}, {brine.SpHCO3, -0.211}, {brine.SpCO3, -0.853}, {brine.SpCa, -0.598},
		{brine.SpCl, -0.175}, {brine.SpK, -0.162}, {brine.SpMg, -0.572}, {brine.SpMgOH, -0.032}, {brine.SpNa, -0.142},
		{brine.SpSO4, -0.858}, {brine.SpHSO4, -0.165}, {brine.SpCO2, 0.024},
	} {
		near(t, "log γ of "+row.sp.String(), w.LnGamma[row.sp]/math.Ln10, row.want, 0.009, source)
	}
	near(t, "water activity", w.WaterActivity, 0.9903, 1e-4, source)
	near(t, "ionic strength", w.IonicStrength, 0.3752, 2e-3, source)
	near(t, "density", brine.DensityKgL(&w, 25), 1.01094, 2e-4, source)
	near(t, "bicarbonate", w.Species[brine.SpHCO3], 8.044e-4, 4e-6, source)
	near(t, "MgCO3", w.Species[brine.SpMgCO3], 1.441e-5, 2e-7, source)
	near(t, "carbonate", w.Species[brine.SpCO3], 1.612e-5, 3e-7, source)
}
