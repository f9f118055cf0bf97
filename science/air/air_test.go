package air

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// rows reads a table of testdata: one map of column to cell for each row.
func rows(t testing.TB, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var out []map[string]string
	for _, r := range all[1:] {
		m := map[string]string{}
		for i, c := range r {
			m[all[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func number(t testing.TB, row map[string]string, col string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(row[col], 64)
	if err != nil {
		t.Fatalf("column %q: %v", col, err)
	}
	return x
}

func check(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g ± %g (%s)", what, got, want, tol, source)
	}
}

func TestSaturationTable(t *testing.T) {
	for _, r := range rows(t, "saturation.csv") {
		n := func(c string) float64 { return number(t, r, c) }
		c, src := n("temp_c"), r["source"]+" at "+r["temp_c"]+" °C"
		// tolerances: half of the last digit printed
		check(t, "Saturation", Saturation(c), n("iapws_kpa"), 0.6e-5, src)
		check(t, "SaturationHylandWexler", SaturationHylandWexler(c), n("hyland_wexler_kpa"), 0.6e-5, src)
		check(t, "SaturationFAO", SaturationFAO(c), n("fao_kpa"), 0.6e-5, src)
		check(t, "SlopeFAO", SlopeFAO(c), n("fao_slope_kpa_k"), 0.6e-6, src)
		check(t, "LatentHeat", LatentHeat(c), 1e6*n("latent_mj_kg"), 6, src)
		check(t, "WaterDensity", WaterDensity(c), n("water_kg_m3"), 0.6e-3, src)
		check(t, "Density of dry air", Density(c, 0, 101.325), n("dry_air_kg_m3"), 0.6e-5, src)
	}
}

func TestMoistPoints(t *testing.T) {
	for _, r := range rows(t, "moist.csv") {
		n := func(c string) float64 { return number(t, r, c) }
		src := r["id"] + ", " + r["source"]
		c, p, e := n("temp_c"), n("pressure_pa")/1000, n("vapour_pa")/1000
		// The library saturates by Hyland & Wexler, up to 0.03 % below Wagner & Pruss.
		check(t, "VapourFromRH", VapourFromRH(n("rh_pct"), c), e, 4e-4*e, src)
		check(t, "RelativeHumidity", RelativeHumidity(e, c), n("rh_pct"), 4e-4*n("rh_pct"), src)
		if n("dew_c") > 0 { // below, the library gives a frost point
			check(t, "DewPoint", DewPoint(e), n("dew_c"), 0.006, src)
		}
		check(t, "WetBulb", WetBulb(c, e, p), n("wet_bulb_c"), 0.006, src)
		w := HumidityRatio(e, p)
		check(t, "HumidityRatio", w, n("humidity_ratio"), 1e-7, src)
		check(t, "VapourFromRatio", VapourFromRatio(w, p), e, 1e-9, "inverse of HumidityRatio")
		check(t, "Density", Density(c, e, p), n("density_kg_m3"), 2e-5, src)
		check(t, "Enthalpy", Enthalpy(c, w), n("enthalpy_j_kg"), 0.6, src)
	}
}

func TestPrintedValues(t *testing.T) {
	const ashrae = "ASHRAE Handbook Fundamentals 2017 ch. 1"
	const fao = "FAO-56"
	for _, r := range []struct {
		what           string
		got, want, tol float64
		source         string
	}{
		// the handbook asks for 300 ppm of its own table 3
		{"saturation at 5 °C", SaturationHylandWexler(5), 0.8726, 0.8726 * 3e-4, ashrae + ", table 3"},
		{"saturation at 25 °C", SaturationHylandWexler(25), 3.1697, 3.1697 * 3e-4, ashrae + ", table 3"},
		{"saturation at 50 °C", SaturationHylandWexler(50), 12.3513, 12.3513 * 3e-4, ashrae + ", table 3"},
		{"saturation at 25 °C", Saturation(25), 3.1697, 3.1697 * 3e-4, ashrae + ", table 3"},
		// table 2 contains the enhancement factor (0.4-0.6 %), which perfect gas leaves out
		{"saturated ratio at 5 °C", HumidityRatio(SaturationHylandWexler(5), 101.325), 0.005425, 0.005425 * 0.007, ashrae + ", table 2"},
		{"saturated ratio at 25 °C", HumidityRatio(SaturationHylandWexler(25), 101.325), 0.020173, 0.020173 * 0.007, ashrae + ", table 2"},
		{"saturated ratio at 50 °C", HumidityRatio(SaturationHylandWexler(50), 101.325), 0.086863, 0.086863 * 0.007, ashrae + ", table 2"},
		{"volume of dry air at 25 °C", Volume(25, 0, 101.325), 0.8443, 4e-4, ashrae + ", table 2"},
		{"pressure at 0 m", Pressure(0), 101.325, 1e-9, ashrae + ", table 1"},
		{"pressure at 500 m", Pressure(500), 95.461, 1e-3, ashrae + ", table 1"},
		{"pressure at 1000 m", Pressure(1000), 89.875, 1e-3, ashrae + ", table 1"},
		{"pressure at 4000 m", Pressure(4000), 61.640, 0.01, ashrae + ", table 1"},
		{"wet bulb, 40 °C at W 0.0065", WetBulb(40, VapourFromRatio(0.0065, 101.325), 101.325), 20, 0.1, ashrae + ", example 1; W is printed to 0.0001, which is 0.08 K"},
		{"dew point, W 0.0065", DewPoint(VapourFromRatio(0.0065, 101.325)), 7, 0.7, ashrae + ", example 1, read from a chart to the degree"},
		{"humidity, 40 °C at W 0.0065", RelativeHumidity(VapourFromRatio(0.0065, 101.325), 40), 14, 0.5, ashrae + ", example 1"},
		{"enthalpy", Enthalpy(40, 0.0065), 56700, 400, ashrae + ", example 1, read from a chart"},
		{"volume", Volume(40, VapourFromRatio(0.0065, 101.325), 101.325), 0.896, 5e-4, ashrae + ", example 1"},
		{"heat capacity of dry air", HeatCapacity(0), 1006, 1e-9, ashrae + ", eq. 30"},

		{"pressure at 1800 m", PressureFAO(1800), 81.8, 0.05, fao + ", example 2"},
		{"psychrometric constant at 1800 m", PsychrometricConstant(PressureFAO(1800)), 0.054, 0.0005, fao + ", example 2"},
		{"saturation at 24.5 °C", SaturationFAO(24.5), 3.075, 0.0006, fao + ", example 3"},
		{"saturation at 15 °C", SaturationFAO(15), 1.705, 0.0006, fao + ", example 3"},
		{"mean saturation", (SaturationFAO(24.5) + SaturationFAO(15)) / 2, 2.39, 0.005, fao + ", example 3"},
		{"saturation at 19.75 °C", SaturationFAO(19.75), 2.30, 0.005, fao + ", example 3"},
		{"pressure at 1200 m", PressureFAO(1200), 87.9, 0.05, fao + ", example 4"},
		{"vapour from wet bulb", VapourFromWetBulb(25.6, 19.5, PressureFAO(1200), 0.000662), 1.91, 0.005, fao + ", example 4"},
		{"wind at 2 m", WindAt2M(3.2, 10), 2.4, 0.05, fao + ", example 14"},
		{"wind factor 10 m to 2 m", WindAt2M(1, 10), 0.748, 0.0005, fao + ", example 14"},

		{"σ T⁴ at 25 °C", Longwave(1, 25), 448.07, 0.1, "from σ = 5.6704e-8 by hand: 5.6704e-8 · 298.15⁴"},
	} {
		check(t, r.what, r.got, r.want, r.tol, r.source)
	}
}

// The profile laws by hand: equal heights change nothing, and over short grass
// (0.015 m) FAO's formula is the logarithm within 3 %.
func TestWindProfile(t *testing.T) {
	check(t, "same height", WindAtHeight(3, 2, 2, 0.03), 3, 1e-12, "identity")
	check(t, "same height", WindAt2M(3, 2), 3, 0.01, "FAO-56 eq. 47 at its own reference height")
	check(t, "10 m to 2 m", WindAtHeight(1, 10, 2, 0.015), 0.748, 0.025, "FAO-56, example 14")
	check(t, "there and back", WindAtHeight(WindAtHeight(4, 10, 3, 0.1), 3, 10, 0.1), 4, 1e-12, "inverse")
	for _, bad := range []float64{WindAt2M(3, 0.05), WindAtHeight(3, 0.02, 2, 0.03), WindAtHeight(3, 10, 2, 0)} {
		if !math.IsNaN(bad) {
			t.Errorf("a height inside the roughness gave %v, want NaN", bad)
		}
	}
}

func TestSkyEmissivity(t *testing.T) {
	const src = "Brutsaert 1975, Berdahl & Martin 1984, Prata 1996, computed by an independent script from the printed formulas"
	for _, r := range []struct{ airC, hPa, dewC, brutsaert, wm2, berdahl, prata, prataWM2 float64 }{
		{0, 3.665, -6.82, 0.6698, 211.4, 0.6762, 0.7185, 226.8},
		{10, 6.140, 0.07, 0.7173, 261.5, 0.7114, 0.7429, 270.8},
		{20, 11.691, 9.27, 0.7826, 327.7, 0.7692, 0.7881, 330.0},
		{25, 15.839, 13.86, 0.8153, 365.3, 0.8026, 0.8155, 365.4},
		{30, 12.729, 10.54, 0.7884, 377.5, 0.7781, 0.7928, 379.7},
		{30, 29.701, 23.92, 0.8898, 426.1, 0.8867, 0.8825, 422.6},
		{40, 11.063, 8.45, 0.7692, 419.4, 0.7636, 0.7777, 424.1},
	} {
		e := r.hPa / 10
		check(t, "Brutsaert", BrutsaertEmissivity(r.airC, e), r.brutsaert, 6e-5, src)
		check(t, "Brutsaert W/m²", Longwave(BrutsaertEmissivity(r.airC, e), r.airC), r.wm2, 0.06, src)
		check(t, "Berdahl-Martin", BerdahlMartinEmissivity(r.dewC), r.berdahl, 1e-4, src) // the dew point has two digits
		check(t, "Prata", PrataEmissivity(r.airC, e), r.prata, 6e-5, src)
		check(t, "Prata W/m²", Longwave(SkyEmissivity(r.airC, e, 0), r.airC), r.prataWM2, 0.06, src)
		check(t, "dew point", DewPoint(e), r.dewC, 0.03, src) // made with another vapour pressure formula
		check(t, "overcast", SkyEmissivity(r.airC, e, 1), 1, 1e-12, "an overcast sky is black")
		check(t, "cloud above one", SkyEmissivity(r.airC, e, 7), 1, 1e-12, "clipped")
		check(t, "cloud below none", SkyEmissivity(r.airC, e, -7), r.prata, 6e-5, "clipped")
	}
}

func TestMoistProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		c := rapid.Float64Range(-20, 60).Draw(rt, "tempC")
		rh := rapid.Float64Range(0.5, 100).Draw(rt, "rh")
		p := rapid.Float64Range(50, 105).Draw(rt, "pressure")
		e := VapourFromRH(rh, c)
		dew, wet := DewPoint(e), WetBulb(c, e, p)
		if math.Abs(Saturation(dew)/e-1) > 1e-9 {
			rt.Fatalf("Saturation(DewPoint(%v)) = %v", e, Saturation(dew))
		}
		if !(dew <= wet+1e-8 && wet <= c+1e-8) {
			rt.Fatalf("dew %v, wet %v, air %v are out of order", dew, wet, c)
		}
		// ashrae2017 eq. 33 must hold at the root
		if rh < 99.99 {
			ws := HumidityRatio(Saturation(wet), p)
			w := ((2501-2.326*wet)*ws - 1.006*(c-wet)) / (2501 + 1.86*c - 4.186*wet)
			if math.Abs(w-HumidityRatio(e, p)) > 1e-9 {
				rt.Fatalf("wet bulb %v gives ratio %v, want %v", wet, w, HumidityRatio(e, p))
			}
		}
		// the analytic slope against a central difference
		const h = 1e-3
		_, s := SaturationSlope(c)
		d := (Saturation(c+h) - Saturation(c-h)) / (2 * h)
		if math.Abs(s/d-1) > 1e-6 {
			rt.Fatalf("slope at %v = %v, difference %v", c, s, d)
		}
		// moist air is lighter than dry air
		if Density(c, e, p) >= Density(c, 0, p) {
			rt.Fatalf("moist air at %v °C is not lighter than dry", c)
		}
		// a mass of dry air and its vapour fill the volume
		if x := Volume(c, e, p) * Density(c, e, p) / (1 + HumidityRatio(e, p)); math.Abs(x-1) > 2e-5 {
			rt.Fatalf("volume times density = %v", x)
		}
		if cl := rapid.Float64Range(0, 0.99).Draw(rt, "cloud"); SkyEmissivity(c, e, cl) >= SkyEmissivity(c, e, cl+0.01) {
			rt.Fatalf("more cloud radiates less")
		}
	})
}

func TestOutsideTheDomain(t *testing.T) {
	for what, got := range map[string]float64{
		"Saturation below absolute zero": Saturation(-280),
		"Saturation above critical":      Saturation(400),
		"Hyland-Wexler":                  SaturationHylandWexler(-280),
		"FAO":                            SaturationFAO(-240),
		"slope":                          SlopeFAO(-240),
		"DewPoint negative":              DewPoint(-1),
		"DewPoint NaN":                   DewPoint(math.NaN()),
		"HumidityRatio boiling":          HumidityRatio(101, 100),
		"Volume boiling":                 Volume(100, 101, 100),
		"WetBulb boiling":                WetBulb(120, 1, 100),
		"WetBulb negative":               WetBulb(20, -1, 100),
		"Density below absolute zero":    Density(-300, 1, 100),
		"Pressure above the air":         Pressure(50000),
	} {
		if !math.IsNaN(got) {
			t.Errorf("%s = %v, want NaN", what, got)
		}
	}
	if d := DewPoint(0); !math.IsInf(d, -1) {
		t.Errorf("DewPoint(0) = %v, want −Inf", d)
	}
	if w := WetBulb(20, 5, 100); w != 20 { // the argument itself comes back
		t.Errorf("wet bulb in fog = %v, want 20", w)
	}
	if n := testing.AllocsPerRun(100, func() { WetBulb(30, 1, 100) }); n != 0 {
		t.Errorf("WetBulb allocates %v times", n)
	}
}

func BenchmarkSaturationSlope(b *testing.B) {
	b.ReportAllocs()
	s := 0.0
	for b.Loop() {
		e, d := SaturationSlope(27.3)
		s += e + d
	}
	_ = s
}

func BenchmarkWetBulb(b *testing.B) {
	b.ReportAllocs()
	s := 0.0
	for b.Loop() {
		s += WetBulb(30, 1.8, 100)
	}
	_ = s
}
