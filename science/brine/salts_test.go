package brine_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/formula"
)

func TestDissolve(t *testing.T) {
	for _, row := range []struct {
		salt string
		want brine.Totals
	}{
		{"NaHCO3", brine.Totals{brine.Na: 1, brine.DIC: 1}},
		{"Na2CO3.10H2O", brine.Totals{brine.Na: 2, brine.DIC: 1}},
		{"NaOH", brine.Totals{brine.Na: 1}},
		{"KOH", brine.Totals{brine.K: 1}},
		{"KNO3", brine.Totals{brine.K: 1, brine.NO3: 1}},
		{"NaNO2", brine.Totals{brine.Na: 1, brine.NO2: 1}},
		{"Ca(NO3)2.4H2O", brine.Totals{brine.Ca: 1, brine.NO3: 2}},
		{"CaCl2.2H2O", brine.Totals{brine.Ca: 1, brine.Cl: 2}},
		{"Ca(OH)2", brine.Totals{brine.Ca: 1}},
		{"CaO", brine.Totals{brine.Ca: 1}},
		{"CaCO3", brine.Totals{brine.Ca: 1, brine.DIC: 1}},
		{"CaSO4.0.5H2O", brine.Totals{brine.Ca: 1, brine.SO4: 1}},
		{"MgSO4·7H2O", brine.Totals{brine.Mg: 1, brine.SO4: 1}},
		{"MgCl2.6H2O", brine.Totals{brine.Mg: 1, brine.Cl: 2}},
		{"K2SO4", brine.Totals{brine.K: 2, brine.SO4: 1}},
		{"KHSO4", brine.Totals{brine.K: 1, brine.SO4: 1}},
		{"KH2PO4", brine.Totals{brine.K: 1, brine.PO4: 1}},
		{"K2HPO4", brine.Totals{brine.K: 2, brine.PO4: 1}},
		{"Na2HPO4", brine.Totals{brine.Na: 2, brine.PO4: 1}},
		{"NaH2PO4", brine.Totals{brine.Na: 1, brine.PO4: 1}},
		{"H3PO4", brine.Totals{brine.PO4: 1}},
		{"NH4H2PO4", brine.Totals{brine.Ammonia: 1, brine.PO4: 1}},
		{"(NH4)2HPO4", brine.Totals{brine.Ammonia: 2, brine.PO4: 1}},
		{"NH4Cl", brine.Totals{brine.Ammonia: 1, brine.Cl: 1}},
		{"NH4NO3", brine.Totals{brine.Ammonia: 1, brine.NO3: 1}},
		{"(NH4)2SO4", brine.Totals{brine.Ammonia: 2, brine.SO4: 1}},
		{"NH4HCO3", brine.Totals{brine.Ammonia: 1, brine.DIC: 1}},
		{"NH3", brine.Totals{brine.Ammonia: 1}},
		{"CO(NH2)2", brine.Totals{brine.Urea: 1}},
		{"CO2", brine.Totals{brine.DIC: 1}},
		{"H2SO4", brine.Totals{brine.SO4: 1}},
		{"HCl", brine.Totals{brine.Cl: 1}},
		{"HNO3", brine.Totals{brine.NO3: 1}},
		{"H3BO3", brine.Totals{brine.Borate: 1}},
		{"B(OH)3", brine.Totals{brine.Borate: 1}},
		{"Na2B4O7.10H2O", brine.Totals{brine.Na: 2, brine.Borate: 4}},
		{"Na2EDTA.2H2O", brine.Totals{brine.Na: 2, brine.EDTA: 1}},
		{"NaFeEDTA", brine.Totals{brine.Na: 1, brine.Iron: 1, brine.EDTA: 1}},
		{"K2CO3", brine.Totals{brine.K: 2, brine.DIC: 1}},
		{"KHCO3", brine.Totals{brine.K: 1, brine.DIC: 1}},
		{"FeSO4.7H2O", brine.Totals{brine.Iron: 1, brine.SO4: 1}},
		{"FeCl3.6H2O", brine.Totals{brine.Iron: 1, brine.Cl: 3}},
		{"Fe2(SO4)3", brine.Totals{brine.Iron: 2, brine.SO4: 3}},
		{"MgNH4PO4.6H2O", brine.Totals{brine.Mg: 1, brine.Ammonia: 1, brine.PO4: 1}},
		{"K2SO4.2MgSO4", brine.Totals{brine.K: 2, brine.Mg: 2, brine.SO4: 3}},
		{"Na2CO3.NaHCO3.2H2O", brine.Totals{brine.Na: 3, brine.DIC: 2}},
		{"5Ca(NO3)2.NH4NO3.10H2O", brine.Totals{brine.Ca: 5, brine.Ammonia: 1, brine.NO3: 11}},
		{"MnCl2.4H2O", brine.Totals{brine.Cl: 2}},
	} {
		d, err := brine.Dissolve(row.salt)
		if err != nil {
			t.Errorf("%s: %v", row.salt, err)
			continue
		}
		for i := range row.want {
			if math.Abs(d.Totals[i]-row.want[i]) > 1e-12 {
				t.Errorf("%s: %v is %g, want %g", row.salt, brine.Total(i), d.Totals[i], row.want[i])
			}
		}
		mass, err := formula.MolarMass(row.salt)
		if err != nil || math.Abs(mass-d.MolarMass) > 1e-9 {
			t.Errorf("%s weighs %g, want %g (%v)", row.salt, d.MolarMass, mass, err)
		}
	}
	if d, _ := brine.Dissolve("ZnSO4.7H2O"); math.Abs(d.Trace["Zn"]-1) > 1e-12 || math.Abs(d.WaterMol-7) > 1e-12 {
		t.Errorf("zinc sulfate: %+v", d)
	}
}

func TestDissolveRefuses(t *testing.T) {
	for _, salt := range []string{"KAl(SO4)2.12H2O", "Na", "NaCl2", "C6H12O6", "CaHCO3", "Na2SiO3", "K(", "Ca(NO3", "NH4"} {
		d, err := brine.Dissolve(salt)
		var se *brine.SaltError
		var fe *formula.Error
		if err == nil || !errors.As(err, &se) && !errors.As(err, &fe) {
			t.Errorf("%s: %+v, %v, want a refusal", salt, d.Totals, err)
		}
	}
}

func TestMakeUp(t *testing.T) {
	const source = "CRC Handbook, concentrative properties: 5 % NaCl is 1.034 kg/L at 20 °C, so a litre with 51.7 g holds 0.982 kg of water (from memory)"
	_, kg, err := brine.FromSalts(map[string]float64{"NaCl": 51.7})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kg water per litre", kg, 0.9823-0.0012, 1e-3, source+", less 0.0012 for the expansion to 25 °C")

	// crystal water is water
	a, kgA, err := brine.FromSalts(map[string]float64{"MgSO4.7H2O": 24.647})
	if err != nil {
		t.Fatal(err)
	}
	b, kgB, err := brine.FromSalts(map[string]float64{"MgSO4": 24.647 * 120.36 / 246.47})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "magnesium", a[brine.Mg], b[brine.Mg], 1e-5, "the same salt without crystal water")
	near(t, "water", kgA, kgB, 1e-5, "the same salt without crystal water")

	made, err := brine.MakeUp(brine.New(brine.Pitzer), map[string]float64{"NaHCO3": 8, "ZnSO4.7H2O": 0.2875})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "zinc", made.Trace["Zn"]*made.KgWaterPerL, 1e-3, 1e-5, "0.2875 g of ZnSO4.7H2O are a millimole")
}

func TestMakeUpRefuses(t *testing.T) {
	for field, salts := range map[string]map[string]float64{
		"NaCl":          {"NaCl": -1},
		"KCl":           {"KCl": math.NaN()},
		"salts_g_per_l": {"Na2CO3": 1000, "NaCl": 1500},
	} {
		_, _, err := brine.FromSalts(salts)
		var bad *brine.InputError
		if !errors.As(err, &bad) || bad.Field != field {
			t.Errorf("%v: %v, want an *InputError about %s", salts, err, field)
		}
	}
	if _, err := brine.FromSaltsPerKg(map[string]float64{"NaCl": -1}); err == nil {
		t.Error("negative millimoles were taken")
	}
}

func FuzzDissolve(f *testing.F) {
	for _, s := range []string{"NaHCO3", "5Ca(NO3)2.NH4NO3.10H2O", "CaSO4.0.5H2O", "Fe2(SO4)3", "Na2EDTA", "((Na)2)CO3", "K.", "2.5.H2O"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, salt string) {
		d, err := brine.Dissolve(salt)
		if err != nil {
			if strings.HasSuffix(err.Error(), ".") {
				t.Fatalf("%q: %q breaks the house style", salt, err)
			}
			return
		}
		if !(d.MolarMass > 0) || math.IsInf(d.MolarMass, 0) {
			t.Fatalf("%q weighs %g", salt, d.MolarMass)
		}
		for i, x := range d.Totals {
			if !(x >= 0) || math.IsInf(x, 0) {
				t.Fatalf("%q brings %g of %v", salt, x, brine.Total(i))
			}
		}
	})
}
