package medium_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/formula"
	"sodalake/science/medium"

	"pgregory.net/rapid"
)

const (
	spes201 = "Virginia Cooperative Extension SPES-201, Conversion Factors Needed for Common Fertilizer Calculations, table 1a"
	ifa     = "International Fertilizer Association, conversion factors table"
	anr174  = "Alabama Cooperative Extension ANR-174, Nutrient Content of Fertilizer Materials, table of primary and secondary nutrient sources"
	iupac   = "sum of the IUPAC abridged weights by hand"
)

// Hydrate, oxide and salt conversions against published fertiliser tables.
func TestConversionsAgainstPublishedTables(t *testing.T) {
	share := func(salt, element string) float64 {
		c, err := formula.Parse(salt)
		if err != nil {
			t.Fatal(err)
		}
		w, ok := formula.AtomicWeight(element)
		if !ok {
			t.Fatalf("no weight of %s", element)
		}
		return c[element] * w / c.MolarMass()
	}
	mass := func(salt string) float64 {
		m, err := formula.MolarMass(salt)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	for _, row := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		// The extension table works with weights of its own: it is good to one in a thousand.
		{"P in P2O5", share("P2O5", "P"), 0.4365, 0.0004, spes201},
		{"P in P2O5", share("P2O5", "P"), 0.4364, 0.00005, ifa},
		{"P2O5 of P", 1 / share("P2O5", "P"), 2.2914, 0.0002, ifa},
		{"K in K2O", share("K2O", "K"), 0.8301, 0.0001, spes201},
		{"K in K2O", share("K2O", "K"), 0.8302, 0.0001, ifa},
		{"K2O of K", 1 / share("K2O", "K"), 1.2046, 0.0001, ifa},
		{"K in KCl", share("KCl", "K"), 0.5244, 0.0001, spes201},
		{"Cl in KCl", share("KCl", "Cl"), 0.4756, 0.0001, spes201},
		{"K in K2SO4", share("K2SO4", "K"), 0.4487, 0.0001, spes201},
		{"S in K2SO4", share("K2SO4", "S"), 0.1840, 0.0001, spes201},
		{"Mg in MgO", share("MgO", "Mg"), 0.6032, 0.0003, spes201},
		{"Mg in MgSO4", share("MgSO4", "Mg"), 0.2020, 0.0002, spes201},
		{"Ca in CaO", share("CaO", "Ca"), 0.7147, 0.0001, spes201},
		{"CaO in CaCO3", mass("CaO") / mass("CaCO3"), 0.5603, 0.0001, spes201},
		{"Ca in CaSO4", share("CaSO4", "Ca"), 0.2938, 0.0008, spes201},
		{"S in SO4", share("SO4", "S"), 0.3339, 0.0003, spes201},
		{"Cl in NaCl", share("NaCl", "Cl"), 0.6066, 0.0001, spes201},
		{"KNO3 of N", 1 / share("KNO3", "N"), 7.2162, 0.003, spes201},
		{"NH3 of N", mass("NH3") / 14.007, 1.2158, 0.0002, spes201},
		{"N in (NH4)2SO4", share("(NH4)2SO4", "N"), 0.2120, 0.0001, spes201},
		// Products of trade: whole per cents, and never quite pure.
		{"N in urea", 100 * share("CO(NH2)2", "N"), 46, 0.7, ifa},
		{"N in ammonium sulfate", 100 * share("(NH4)2SO4", "N"), 21, 0.5, ifa},
		{"N in potassium nitrate", 100 * share("KNO3", "N"), 13, 1, anr174},
		{"K2O in potassium nitrate", 100 * share("KNO3", "K") / share("K2O", "K"), 44, 3, anr174},
		{"N in sodium nitrate", 100 * share("NaNO3", "N"), 16, 0.6, anr174},
		{"MgO in Epsom salt", 100 * share("MgSO4.7H2O", "Mg") / share("MgO", "Mg"), 15.5, 1, ifa + ", 15 to 16"},
		{"S in Epsom salt", 100 * share("MgSO4.7H2O", "S"), 12.5, 0.6, ifa + ", 12 to 13"},
		{"S in kieserite", 100 * share("MgSO4.H2O", "S"), 21, 2.5, ifa + ", 20 to 22 of what is sold"},
		{"P2O5 in monopotassium phosphate", 100 * share("KH2PO4", "P") / share("P2O5", "P"), 52, 0.3, "its grade 0-52-34, common practice"},
		{"K2O in monopotassium phosphate", 100 * share("KH2PO4", "K") / share("K2O", "K"), 34, 0.7, "its grade 0-52-34, common practice"},
		{"N in greenhouse calcium nitrate", 100 * share("5Ca(NO3)2.NH4NO3.10H2O", "N"), 15.5, 0.2, "its grade 15.5-0-0, common practice"},
		// Crystal water.
		{"soda crystals for soda ash", mass("Na2CO3.10H2O") / mass("Na2CO3"), 2.6998, 0.0002, iupac},
		{"water in soda crystals", 1 - mass("Na2CO3")/mass("Na2CO3.10H2O"), 0.6296, 0.0001, iupac},
		{"MgSO4 in Epsom salt", mass("MgSO4") / mass("MgSO4.7H2O"), 0.4883, 0.0001, iupac},
	} {
		if math.Abs(row.got-row.want) > row.tol {
			t.Errorf("%s = %.5g, want %.5g ± %g (%s)", row.what, row.got, row.want, row.tol, row.source)
		}
	}
}

func TestParseLabel(t *testing.T) {
	type shares map[string]float64 // per cent, by element
	for _, row := range []struct {
		text string
		law  medium.Law
		want shares
	}{
		{"20-20-20", medium.US, shares{"N": 20, "P": 8.728, "K": 16.603}},
		{"10:26:26", medium.EU, shares{"N": 10, "P": 11.347, "K": 21.584}},
		{"20-20-20", medium.AU, nil}, // 20 % phosphorus as the element would be 46 % of P2O5: checked below
		{"NPK 12-12-17 (+2 MgO + 20 SO3)", medium.EU, shares{"N": 12, "P": 5.237, "K": 14.113, "Mg": 1.206, "S": 8.009}},
		{"NPK (MgO) 12-12-17-2MgO", medium.EU, shares{"N": 12, "P": 5.237, "K": 14.113, "Mg": 1.206}},
		{"15.5-0-0 + 19 Ca", medium.US, shares{"N": 15.5, "Ca": 19}},
		{"15,5-0-0 + 26,5 CaO", medium.EU, shares{"N": 15.5, "Ca": 18.94}},
		{"N 20 (NO3-N 5.5, NH4-N 4, urea-N 10.5) P2O5 20 K2O 20", medium.EU, shares{"N": 20, "nitrate": 5.5, "ammonium": 4, "urea": 10.5, "P": 8.728, "K": 16.603}},
		{"20-20-20\nTotal Nitrogen (N) 20%", medium.US, nil}, // told twice
		{"Total Nitrogen (N) 20.0%\n3.9% Ammoniacal Nitrogen\n6.0% Nitrate Nitrogen\n10.1% Urea Nitrogen\nAvailable Phosphate (P2O5) 20.0%\nSoluble Potash (K2O) 20.0%\nMagnesium (Mg) 0.05%\nChelated Iron (Fe) 0.10%\nCopper (Cu) 0.05%\nDerived from: potassium nitrate, urea, whatever",
			medium.US, shares{"N": 20, "ammonium": 3.9, "nitrate": 6, "urea": 10.1, "P": 8.728, "K": 16.603, "Mg": 0.05, "Fe": 0.1, "Cu": 0.05}},
		{"nitric nitrogen 5 %, ammoniacal nitrogen 3 %", medium.EU, shares{"N": 8, "nitrate": 5, "ammonium": 3}},
		{"12-0-0 iron 6, manganese 2500 mg/kg, boron 0,2 g/kg, Zn 500 ppm", medium.EU, shares{"N": 12, "Fe": 6, "Mn": 0.25, "B": 0.02, "Zn": 0.05}},
		{"0-0-0 + magnesium 10", medium.EU, shares{"Mg": 6.030}}, // there the law counts oxides
		{"0-0-0 + magnesium 10", medium.US, shares{"Mg": 10}},
		{"0-0-0 magnesium oxide 10", medium.US, shares{"Mg": 6.030}},
		{"9-4-20-1.5", medium.AU, shares{"N": 9, "P": 4, "K": 20, "S": 1.5}},
		{"potassium oxide 50, sulfur trioxide 45", medium.EU, shares{"K": 41.508, "S": 18.02}},
		{"13-0-46", medium.US, shares{"N": 13, "K": 38.187}},
		{"82-0-0", medium.US, shares{"N": 82}},
	} {
		l, err := medium.ParseLabel(row.text, row.law)
		if row.want == nil {
			if err == nil && row.law != medium.AU {
				t.Errorf("%q by %s law was taken: %+v", row.text, row.law, l)
			}
			continue
		}
		if err != nil {
			t.Errorf("%q by %s law: %v", row.text, row.law, err)
			continue
		}
		for name, want := range row.want {
			if got := 100 * labelShare(l, name); math.Abs(got-want) > 0.002 {
				t.Errorf("%q by %s law: %s %.4f %%, want %.4f (%s)", row.text, row.law, name, got, want, iupac)
			}
		}
		for _, name := range []string{"N", "P", "K", "Ca", "Mg", "S", "Fe", "Mn", "Zn", "Cu", "B", "Na", "Cl"} {
			if _, told := row.want[name]; !told && labelShare(l, name) > 0 {
				t.Errorf("%q by %s law: %s out of nowhere, %.4f %%", row.text, row.law, name, 100*labelShare(l, name))
			}
		}
	}
}

func labelShare(l *medium.Label, name string) float64 {
	switch name {
	case "N":
		return l.Nitrogen
	case "nitrate":
		return l.Nitrate
	case "ammonium":
		return l.Ammonium
	case "urea":
		return l.Urea
	case "P":
		return l.P
	case "K":
		return l.K
	case "Ca":
		return l.Ca
	case "Mg":
		return l.Mg
	case "S":
		return l.S
	case "Na":
		return l.Na
	case "Cl":
		return l.Cl
	case "Fe":
		return l.Fe
	case "Mn":
		return l.Mn
	case "Zn":
		return l.Zn
	case "Cu":
		return l.Cu
	case "B":
		return l.B
	}
	return math.NaN()
}

// Real products just pass the test of possible labels; a little more does not.
func TestImpossibleLabels(t *testing.T) {
	for _, row := range []struct {
		text     string
		law      medium.Law
		possible bool
		why      string
	}{
		{"46-0-0", medium.US, true, "urea holds 46.6 %"},
		{"0-52-34", medium.US, true, "KH2PO4, 52.2 and 34.6"},
		{"13-0-46 nitrate-N 13", medium.US, true, "KNO3, 13.9 and 46.6"},
		{"N 34.4 nitrate-N 17.2 ammoniacal nitrogen 17.2", medium.US, true, "NH4NO3, 35.0 in all"},
		{"82-0-0 ammoniacal nitrogen 82", medium.US, true, "NH3, 82.2"},
		{"0-0-54 + 18.4 S", medium.US, true, "K2SO4, 54.05 % K2O: told as the element, sulfur may be sulfur"},
		{"0-0-54 + 45.9 SO3", medium.EU, true, "K2SO4 is K2O and SO3 and nothing else"},
		{"0-0-63", medium.US, true, "KCl, 63.2 % K2O"},
		{"40-40-40", medium.US, false, "120 %"},
		{"30-40-31", medium.US, false, "101 %"},
		{"0-0-55 + 46 SO3", medium.EU, false, "101 %"},
		{"N 48 urea-N 48", medium.US, false, "urea holds 46.6 %"},
		{"N 30 nitrate-N 30", medium.EU, false, "30 % as nitrate is 116 % of N2O5"},
		{"101-0-0", medium.US, false, "over 100 %"},
		{"20-20-20", medium.AU, true, "45.8 % P2O5 and 24.1 % K2O: odd, not impossible"},
		{"20-30-30", medium.AU, false, "68.7 % P2O5 and 36.1 % K2O"},
		{"N 10 nitrate-N 8 urea-N 4", medium.EU, false, "forms are parts of the total"},
	} {
		_, err := medium.ParseLabel(row.text, row.law)
		if (err == nil) != row.possible {
			t.Errorf("%q by %s law: error %v, possible is %v (%s)", row.text, row.law, err, row.possible, row.why)
		}
	}
}

func TestLabelRefuses(t *testing.T) {
	for _, text := range []string{
		"", "   ", "Growmore 20-20-20", "20-20-20 + 2", "20-20-20 + MgO", "N 20 N 10", "20-20-20 + 2 P2O5", "nitrate 5", "12-12-17-2", "N -5", "N 20 % %",
		"20-20-20 + 2 Xy", "N", "%", "1e9-0-0", "N 20 30", "calcium magnesium 5", "nitrate urea nitrogen 5", strings.Repeat("N 1 ", 900), "0-0-0", "ammonium-N 3 nitrate-N 3 nitrate-N 2",
	} {
		l, err := medium.ParseLabel(text, medium.EU)
		var ie *medium.InputError
		if err == nil || !errors.As(err, &ie) {
			t.Errorf("%q was taken: %+v, %v", text, l, err)
			continue
		}
		if ie.Field != "label" || strings.HasSuffix(ie.Reason, ".") || !strings.HasPrefix(ie.Reason, "label") {
			t.Errorf("%q: field %q, %q breaks the house style", text, ie.Field, ie.Reason)
		}
	}
	if _, err := medium.ParseLabel("20-20-20", "mars"); err == nil {
		t.Error("an unknown law must be refused")
	}
}

// A label that a pure salt would carry leaves in water what the salt leaves.
func TestLabelOfASaltIsTheSalt(t *testing.T) {
	for _, row := range []struct {
		label, salt string
		close       float64 // by how much a mole is off because the label is rounded
	}{
		{"N 13.854 nitrate-N 13.854 K2O 46.584", "KNO3", 1e-4},
		{"N 46.646 urea-N 46.646", "CO(NH2)2", 1e-4},
		{"N 12.177 ammoniacal nitrogen 12.177 P2O5 61.70", "NH4H2PO4", 2e-3},
		{"K2O 34.61 P2O5 52.15", "KH2PO4", 2e-3},
		{"K2O 54.05 SO3 45.94", "K2SO4", 2e-3},
		{"K2O 63.18", "KCl", 2e-3}, // what a label leaves unsaid is taken as chloride
	} {
		l, err := medium.ParseLabel(row.label, medium.EU)
		if err != nil {
			t.Fatal(err)
		}
		y, err := l.Ingredient().Yield(1)
		if err != nil {
			t.Fatal(err)
		}
		d, err := brine.Dissolve(row.salt)
		if err != nil {
			t.Fatal(err)
		}
		for k := range y.Totals {
			if got, want := y.Totals[k]*d.MolarMass, d.Totals[k]; math.Abs(got-want) > row.close+1e-12 {
				t.Errorf("%q: %v %.5f mol in the weight of a mole of %s, want %.5f", row.label, brine.Total(k), got, row.salt, want)
			}
		}
	}
}

// Charges of whatever a label promises balance, so no alkalinity comes from
// nowhere.
func TestLabelsAreNeutral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := &medium.Label{
			Law: medium.US, Nitrate: rapid.Float64Range(0, 0.08).Draw(t, "nitrate"), Ammonium: rapid.Float64Range(0, 0.1).Draw(t, "ammonium"),
			Urea: rapid.Float64Range(0, 0.1).Draw(t, "urea"), P: rapid.Float64Range(0, 0.1).Draw(t, "p"), K: rapid.Float64Range(0, 0.2).Draw(t, "k"),
			Mg: rapid.Float64Range(0, 0.05).Draw(t, "mg"), S: rapid.Float64Range(0, 0.05).Draw(t, "s"), Ca: rapid.Float64Range(0, 0.05).Draw(t, "ca"),
		}
		l.Nitrogen = l.Nitrate + l.Ammonium + l.Urea
		y, err := l.Ingredient().Yield(1)
		if err != nil {
			t.Fatal(err)
		}
		if a := y.Totals.AlkalinityEqKg(); math.Abs(a) > 1e-15 {
			t.Fatalf("alkalinity of %g eq in a gram", a)
		}
		for k, x := range y.Totals {
			if !(x >= 0) {
				t.Fatalf("%v is %g", brine.Total(k), x)
			}
		}
	})
}

func FuzzParseLabel(f *testing.F) {
	for _, s := range []string{"20-20-20", "NPK 12-12-17 (+2 MgO + 20 SO3)", "N 20 (NO3-N 5.5, NH4-N 4)", "Total Nitrogen (N) 20.0%\n3.9% Ammoniacal Nitrogen", "1-1-1-1", "K2O 5 g/kg", "n\u00a05", "p₂o₅ 5"} {
		f.Add(s, "eu")
		f.Add(s, "au")
	}
	f.Fuzz(func(t *testing.T, s, law string) {
		l, err := medium.ParseLabel(s, medium.Law(law))
		if (err == nil) == (l == nil) {
			t.Fatalf("%q: %v, %v: exactly one must be set", s, l, err)
		}
		if err != nil {
			return
		}
		sum := 0.0
		for _, name := range []string{"N", "P", "K", "Ca", "Mg", "S", "Na", "Cl", "Fe", "Mn", "Zn", "Cu", "B"} {
			x := labelShare(l, name)
			if !(x >= 0) || x > 1 {
				t.Fatalf("%q: %s is %g", s, name, x)
			}
			sum += x
		}
		if sum > 1.001 {
			t.Fatalf("%q: promises %g of its mass", s, sum)
		}
		y, err := l.Ingredient().Yield(1)
		if err != nil {
			t.Fatalf("%q was taken and leaves nothing: %v", s, err)
		}
		if a := y.Totals.AlkalinityEqKg(); math.Abs(a) > 1e-12 {
			t.Fatalf("%q: alkalinity %g from nowhere", s, a)
		}
	})
}
