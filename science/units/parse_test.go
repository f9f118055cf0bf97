package units

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// near reports whether got agrees with want to a share of it.
func near(got, want, share float64) bool {
	return math.Abs(got-want) <= share*math.Max(math.Abs(want), 1e-30)
}

const (
	sp811 = "NIST SP 811 (2008), Appendix B.8"
	hb44  = "NIST Handbook 44, Appendix C, exact"
)

// The tables print seven figures, hence 5e-7 where the source is SP 811 and
// the value is not exact; exact values must agree to the last bits.
func TestFactors(t *testing.T) {
	rows := []struct {
		text   string
		kind   Kind
		want   float64 // inner unit
		tol    float64 // share
		source string
	}{
		{"1 US gal", Volume, 3.785411784, 1e-15, hb44},
		{"1 US gal", Volume, 3.785412, 5e-7, sp811},
		{"1 US qt", Volume, 0.946352946, 1e-15, hb44},
		{"1 US pt", Volume, 0.473176473, 1e-15, hb44},
		{"1 US cup", Volume, 0.2365882365, 1e-15, hb44},
		{"1 US cup", Volume, 2.365882e-1, 5e-7, sp811},
		{"1 US fl oz", Volume, 0.0295735295625, 1e-15, hb44},
		{"1 US tbsp", Volume, 0.01478676478125, 1e-15, hb44},
		{"1 US tbsp", Volume, 1.478676e-2, 5e-7, sp811},
		{"1 US tsp", Volume, 0.00492892159375, 1e-15, hb44},
		{"1 US tsp", Volume, 4.928922e-3, 5e-7, sp811},
		{"231 cubic inches", Volume, 3.785411784, 1e-15, hb44},
		{"1 imperial gallon", Volume, 4.54609, 1e-15, sp811 + ", exact"},
		{"1 imperial pint", Volume, 0.56826125, 1e-15, "an eighth of the imperial gallon"},
		{"1 imperial fl oz", Volume, 0.02841306, 5e-7, sp811},
		{"1 cubic foot", Volume, 28.31685, 5e-7, sp811},
		{"1 metric cup", Volume, 0.250, 1e-15, "common practice, no source"},
		{"1 metric tbsp", Volume, 0.015, 1e-15, "common practice, no source"},
		{"1 metric tsp", Volume, 0.005, 1e-15, "common practice, no source"},
		{"1 Australian tbsp", Volume, 0.020, 1e-15, "cup and spoon table, New South Wales health service"},
		{"1 oz", Mass, 28.349523125, 1e-15, hb44},
		{"1 oz", Mass, 28.34952, 5e-7, sp811},
		{"1 lb", Mass, 453.59237, 1e-15, hb44},
		{"1 grain", Mass, 0.06479891, 1e-15, hb44},
		{"1 US ton", Mass, 907184.7, 5e-7, sp811},
		{"1 imperial ton", Mass, 1016047, 5e-7, sp811},
		{"1 in", Length, 0.0254, 1e-15, sp811 + ", exact"},
		{"1 ft", Length, 0.3048, 1e-15, sp811 + ", exact"},
		{"1 yd", Length, 0.9144, 1e-15, sp811 + ", exact"},
		{"1 mile", Length, 1609.344, 1e-15, sp811 + ", exact"},
		{"1 sq ft", Area, 0.09290304, 1e-15, sp811 + ", exact"},
		{"1 sq in", Area, 6.4516e-4, 1e-15, sp811 + ", exact"},
		{"1 gal/min", Flow, 6.309020e-5 * 3.6e6, 5e-7, sp811},
		{"1 gpm", Flow, 6.309020e-5 * 3.6e6, 5e-7, sp811},
		{"1 gpd", Flow, 4.381264e-8 * 3.6e6, 5e-7, sp811},
		{"1 cubic foot per minute", Flow, 4.719474e-4 * 3.6e6, 5e-7, sp811},
		{"1 cfm", Flow, 4.719474e-4 * 3.6e6, 5e-7, sp811},
		{"1 mph", Speed, 0.44704, 1e-15, sp811 + ", exact"},
		{"1 knot", Speed, 0.5144444, 5e-7, sp811},
		{"1 km/h", Speed, 0.2777778, 5e-7, sp811},
		{"1 oz/gal", Density, 7.489152, 5e-7, sp811},
		{"1 lb/gal", Density, 119.8264, 5e-7, sp811},
		{"1 lb/ft3", Density, 16.01846, 5e-7, sp811},
		{"1 grain per US gallon", Density, 0.01711806, 5e-7, sp811},
		{"1 gpg", Density, 0.01711806, 5e-7, sp811},
		{"1 kWh", Energy, 1000, 1e-15, "3.6 MJ, SP 811 table 6"},
		{"3.6 MJ", Energy, 1000, 1e-15, "3.6 MJ, SP 811 table 6"},
		{"1 MJ/m2/d", Irradiance, 11.574, 5e-5, "FAO Irrigation and Drainage Paper 56 (1998), box 1: 1 MJ/m²/d = 11.6 W/m², here 1e6/86400"},
		{"95 F", Temperature, 35, 1e-15, sp811 + ", t/°C = (t/°F − 32)/1.8"},
		{"212 °F", Temperature, 100, 1e-15, sp811},
		{"-40 F", Temperature, -40, 1e-15, sp811},
		{"310.15 K", Temperature, 37, 1e-15, sp811},
		{"9 F", TemperatureDifference, 5, 1e-15, sp811},
		{"1 dS/m", Conductivity, 1, 1e-15, "1 dS/m = 1 mS/cm, SI prefixes"},
		{"12880 µS/cm", Conductivity, 12.88, 1e-15, "SI prefixes"},
		{"1 dH", Hardness, 0.1783, 3e-4, "DIN 38409-6 as commonly quoted, from memory"},
		{"1 gpg", Hardness, 0.171, 1e-3, "17.1 mg/L as CaCO3, as commonly quoted, from memory"},
		{"1 dKH", Alkalinity, 0.357, 1e-3, "as commonly quoted, from memory"},
		{"50.04 mg/L as CaCO3", Alkalinity, 1, 1e-4, "half the molar mass of CaCO3, Standard Methods 2320 uses 50 000 mg/eq, from memory"},
	}
	for _, r := range rows {
		q, err := Parse(r.text, r.kind, Metric)
		if err != nil {
			t.Errorf("%s: %v", r.text, err)
			continue
		}
		if !near(q.Value, r.want, r.tol) {
			t.Errorf("%s = %.15g %s, want %.15g (%s)", r.text, q.Value, r.kind.Unit(), r.want, r.source)
		}
	}
}

// The constants of kitchen.go and format.go say what the table says.
func TestConstantsAgreeWithTable(t *testing.T) {
	for text, want := range map[string]float64{
		"1 US gal": usGallonL, "1 US cup": usCupL, "1 US fl oz": usFlOzL, "1 US tbsp": usTbspL, "1 US tsp": usTspL,
		"1 metric cup": metricCupL, "1 metric tbsp": metricTbspL, "1 metric tsp": metricTspL,
	} {
		if q, err := Parse(text, Volume, US); err != nil || !near(q.Value, want, 1e-15) {
			t.Errorf("%s = %v, %v; the constant is %v", text, q.Value, err, want)
		}
	}
	for k := Any + 1; k < numKinds; k++ {
		for _, sys := range []System{Metric, US} {
			list := printing[k].metric
			if sys == US {
				list = printing[k].us
			}
			for _, d := range list {
				if k == Share {
					continue
				}
				q, err := Parse("1 "+d.symbol, k, sys)
				if err != nil || !near(q.Value, d.factor, 1e-15) {
					t.Errorf("%v in %s: the printer says %v, the table %v (%v)", k, d.symbol, d.factor, q.Value, err)
				}
			}
		}
	}
}

// What people write, from the ways that recipes, labels, meters and phones do.
func TestParse(t *testing.T) {
	const cup, tbsp, tsp, gal = 0.2365882365, 0.01478676478125, 0.00492892159375, 3.785411784
	rows := []struct {
		text  string
		kind  Kind
		sys   System
		want  float64
		notes string
	}{
		// numbers
		{"1 1/2 cups", Volume, US, 1.5 * cup, "us_cup"},
		{"1 1/2 cups", Volume, Metric, 0.375, "metric_cup"},
		{"1½ cups", Volume, US, 1.5 * cup, "us_cup"},
		{"1 ½ cups", Volume, US, 1.5 * cup, "us_cup"},
		{"1-1/2 cups", Volume, US, 1.5 * cup, "us_cup"},
		{"1\u00a01/2 cups", Volume, US, 1.5 * cup, "us_cup"},
		{"1 and 1/2 cups", Volume, US, 1.5 * cup, "us_cup"},
		{"one and a half cups", Volume, US, 1.5 * cup, "us_cup"},
		{"two and three quarters cups", Volume, US, 2.75 * cup, "us_cup"},
		{"3/2 cups", Volume, US, 1.5 * cup, "us_cup"},
		{"half a cup", Volume, US, 0.5 * cup, "us_cup"},
		{"half of a cup", Volume, US, 0.5 * cup, "us_cup"},
		{"a half cup", Volume, US, 0.5 * cup, "us_cup"},
		{"three quarters of a cup", Volume, US, 0.75 * cup, "us_cup"},
		{"a quarter teaspoon", Volume, US, 0.25 * tsp, "us_tsp"},
		{"⅛ tsp", Volume, US, tsp / 8, "us_tsp"},
		{"1⁄8 tsp", Volume, US, tsp / 8, "us_tsp"},
		{"a cup", Volume, US, cup, "us_cup"},
		{"twenty-five L", Volume, Metric, 25, ""},
		{"twenty five-gallon buckets", Volume, US, 100 * gal, "us_gallon"},
		{".5 L", Volume, Metric, 0.5, ""},
		{"1e3 L", Volume, Metric, 1000, ""},
		{"2,4 cm", Length, Metric, 0.024, "decimal_comma"},
		{"2,4 cm", Length, US, 0.024, "decimal_comma"},
		{"2.4cm", Length, Metric, 0.024, ""},
		{"0,500 L", Volume, Metric, 0.5, "decimal_comma"},
		{"1,000 L", Volume, US, 1000, "thousands"},
		{"1,234.5 L", Volume, Metric, 1234.5, ""},
		{"1.234,5 L", Volume, Metric, 1234.5, ""},
		{"1,234,567 L", Volume, Metric, 1234567, ""},
		{"1.234.567 L", Volume, Metric, 1234567, ""},
		{"1.000 L", Volume, Metric, 1, "decimal_point"},
		{"1\u202f000 L", Volume, Metric, 1000, ""},
		{"12\u202f345,6 L", Volume, Metric, 12345.6, ""},
		{"250\u00a0mL", Volume, Metric, 0.25, ""},
		{"+5 C", Temperature, Metric, 5, ""},
		{"−5 °C", Temperature, Metric, -5, ""},
		// volumes
		{"2 tbsp", Volume, US, 2 * tbsp, "us_tbsp"},
		{"2 tbsp.", Volume, US, 2 * tbsp, "us_tbsp"},
		{"2 Tablespoons", Volume, Metric, 0.030, "metric_tbsp"},
		{"2 level tsp", Volume, US, 2 * tsp, "us_tsp"},
		{"1 metric cup", Volume, US, 0.25, "metric_cup"},
		{"1 US cup", Volume, Metric, cup, "us_cup"},
		{"5 gal", Volume, US, 5 * gal, "us_gallon"},
		{"5 gallons", Volume, Metric, 5 * gal, "us_gallon"},
		{"five-gallon bucket", Volume, US, 5 * gal, "us_gallon"},
		{"3 five-gallon buckets", Volume, US, 15 * gal, "us_gallon"},
		{"3 5-gallon buckets", Volume, US, 15 * gal, "us_gallon"},
		{"3 x 5 gal", Volume, US, 15 * gal, "us_gallon"},
		{"3×5 gal", Volume, US, 15 * gal, "us_gallon"},
		{"half a five-gallon bucket", Volume, US, 2.5 * gal, "us_gallon"},
		{"3 500 ml bottles", Volume, Metric, 1.5, ""},
		{"six bottles of 2 L", Volume, Metric, 12, ""},
		{"250 ml", Volume, US, 0.25, ""},
		{"250 ML", Volume, US, 0.25, ""},
		{"250 cc", Volume, US, 0.25, "cc"},
		{"1 oz", Volume, US, 0.0295735295625, "us_fl_oz"},
		{"2 fl. oz.", Volume, US, 2 * 0.0295735295625, "us_fl_oz"},
		{"2 tbsp and 2 tsp", Volume, US, 2*tbsp + 2*tsp, "us_tbsp us_tsp"},
		{"1 cup + 2 tbsp", Volume, US, cup + 2*tbsp, "us_cup us_tbsp"},
		{"1/3 US cup, 1 tbsp and 1 tsp", Volume, US, cup/3 + tbsp + tsp, "us_cup us_tbsp us_tsp"},
		{"0.5 m3", Volume, Metric, 500, ""},
		{"0.5 m³", Volume, Metric, 500, ""},
		{"2 cucharadas", Volume, Metric, 0.030, "metric_tbsp"},
		{"3 litros", Volume, Metric, 3, ""},
		// masses
		{"1 oz", Mass, US, 28.349523125, "oz_av"},
		{"1 lb 4 oz", Mass, US, 20 * 28.349523125, "oz_av"},
		{"2 25-kg bags", Mass, Metric, 50000, ""},
		{"250 mcg", Mass, Metric, 0.00025, ""},
		// lengths and areas
		{"33 um", Length, Metric, 33e-6, ""},
		{"33 μm", Length, Metric, 33e-6, ""},
		{"33 microns", Length, Metric, 33e-6, ""},
		{"5 ft 3 in", Length, US, 63 * 0.0254, ""},
		{"5ft3in", Length, US, 63 * 0.0254, ""},
		{`5'3"`, Length, US, 63 * 0.0254, ""},
		{"5′ 3″", Length, US, 63 * 0.0254, ""},
		{"60 square feet", Area, US, 60 * 0.09290304, ""},
		{"60 ft²", Area, US, 60 * 0.09290304, ""},
		{"60 ft^2", Area, US, 60 * 0.09290304, ""},
		// in water
		{"12 g/L", Density, Metric, 12, ""},
		{"12 g per litre", Density, Metric, 12, ""},
		{"12 g·L⁻¹", Density, Metric, 12, ""},
		{"12 g L-1", Density, Metric, 12, ""},
		{"40 mg/l", Density, Metric, 0.040, ""},
		{"40 ppm", Density, Metric, 0.040, "ppm"},
		{"5 g per 100 mL", Density, Metric, 50, ""},
		{"240 g per cup", Density, Metric, 960, "metric_cup"},
		{"40 mS/cm", Conductivity, Metric, 40, ""},
		{"40 ms/cm", Conductivity, Metric, 40, ""},
		{"40 mS", Conductivity, Metric, 40, "per_cm"},
		{"1413 uS/cm", Conductivity, Metric, 1.413, ""},
		{"1.2 mM", Molarity, Metric, 1.2, ""},
		{"1.2 mmol/L", Molarity, Metric, 1.2, ""},
		{"180 mg/L as CaCO3", Hardness, Metric, 180 / 100.086, "as_caco3"},
		{"180 mg/L as CaCO₃", Hardness, Metric, 180 / 100.086, "as_caco3"},
		{"180 ppm", Hardness, Metric, 180 / 100.086, "ppm as_caco3"},
		// parts
		{"1:10", Ratio, Metric, 0.1, "one_part_to_others"},
		{"1 : 10", Ratio, Metric, 0.1, "one_part_to_others"},
		{"1 to 10", Ratio, Metric, 0.1, ""},
		{"1 in 10", Ratio, Metric, 1.0 / 9, ""},
		{"1 part to 4 parts", Ratio, Metric, 0.25, ""},
		{"30 %", Share, Metric, 0.3, ""},
		{"30%", Share, Metric, 0.3, ""},
		{"1 in 10", Share, Metric, 0.1, ""},
		{"1 to 9", Share, Metric, 0.1, ""},
		{"1/4", Share, Metric, 0.25, ""},
		{"half", Share, Metric, 0.5, ""},
		// rates, light, time
		{"2 h 30 min", Time, Metric, 9000, ""},
		{"90 min", Time, Metric, 5400, ""},
		{"half an hour", Time, Metric, 1800, ""},
		{"2 L a day", Flow, Metric, 2.0 / 24, ""},
		{"600 L/h", Flow, Metric, 600, ""},
		{"150 gph", Flow, US, 150 * gal, "us_gallon"},
		{"400 umol/m2/s", PhotonFlux, Metric, 400, ""},
		{"400 µmol m⁻² s⁻¹", PhotonFlux, Metric, 400, ""},
		{"400 PPFD", PhotonFlux, Metric, 400, "per_m2_s"},
		{"800 W/m2", Irradiance, Metric, 800, ""},
		{"pH 10.2", PH, Metric, 10.2, ""},
		{"10,2", PH, Metric, 10.2, "decimal_comma"},
		{"10.2 pH", PH, Metric, 10.2, ""},
		// any: the unit alone tells
		{"95 F", Any, US, 35, ""},
		{"40 C", Any, US, 40, ""},
		{"1:10", Any, US, 0.1, "one_part_to_others"},
		{"30 %", Any, US, 0.3, ""},
		{"2 fl oz", Any, US, 2 * 0.0295735295625, "us_fl_oz"},
		{"1 lb 4 oz", Any, US, 20 * 28.349523125, "oz_av"},
	}
	for _, r := range rows {
		q, err := Parse(r.text, r.kind, r.sys)
		if err != nil {
			t.Errorf("%q as %v (%v): %v", r.text, r.kind, r.sys, err)
			continue
		}
		var keys []string
		for _, n := range q.Notes {
			keys = append(keys, n.Key)
			if n.Text == "" {
				t.Errorf("%q: the note %q has no text", r.text, n.Key)
			}
		}
		if got := strings.Join(keys, " "); !near(q.Value, r.want, 1e-14) || got != r.notes {
			t.Errorf("%q as %v (%v) = %.17g, notes %q; want %.17g, %q", r.text, r.kind, r.sys, q.Value, got, r.want, r.notes)
		}
	}
}

// What must not be guessed, and what must not be taken for a number at all.
func TestParseRefuses(t *testing.T) {
	rows := []struct {
		text string
		kind Kind
		sys  System
		key  string
		asks bool
		part string
	}{
		{"1 oz", Any, US, "ask_kind", true, "1 oz"},
		{"30 c", Any, US, "ask_kind", true, "30 c"},
		{"1,000 L", Volume, Metric, "ask_comma", true, "1,000"},
		{"1 000 L", Volume, Metric, "ask_two_numbers", true, "1 000 L"},
		{"3 500 mL", Volume, US, "ask_two_numbers", true, "3 500 mL"},
		{"twenty five L", Volume, US, "ask_two_numbers", true, "twenty five L"},
		{"1 T", Volume, US, "ask_spoon", true, "T"},
		{"1 t", Volume, US, "ask_spoon", true, "t"},
		{"2 spoons", Volume, US, "which_spoon", true, "spoons"},
		{"2 tons", Mass, US, "ask_ton", true, "tons"},
		{"5 gr", Mass, Metric, "ask_gr", true, "gr"},
		{"40 degrees", Temperature, US, "ask_degree", true, "degrees"},
		{"40°", Temperature, US, "ask_degree", true, "°"},
		{"1:10", Share, Metric, "ask_ratio", true, "1:10"},
		{"10 %", Ratio, Metric, "ask_percent", true, "10 %"},
		{"30", Share, Metric, "ask_percent_sign", true, "30"},
		{"180 mg/L", Hardness, Metric, "ask_basis", true, "180 mg/L"},
		{"2 buckets", Volume, US, "no_size", false, "buckets"},
		{"a pinch", Volume, US, "no_size", false, "pinch"},
		{"20 drops", Volume, US, "no_size", false, "drops"},
		{"2 heaped tsp", Volume, US, "heaped", false, "heaped"},
		{"heaping tsp", Volume, US, "heaped", false, "heaping"},
		{"400 mesh", Length, US, "mesh", false, "mesh"},
		{"20000 lux", PhotonFlux, US, "lux", false, "lux"},
		{"10 psi", Any, US, "no_pressure", false, "psi"},
		{"3 months", Time, US, "no_length", false, "months"},
		{"2-3 cups", Volume, US, "range", false, "2-3 cups"},
		{"2–3 cups", Volume, US, "range", false, "2–3 cups"},
		{"2 tbsp", Mass, US, "wrong_kind", false, "tbsp"},
		{"40 ms", Length, US, "wrong_kind", false, "ms"},
		{"5 cm", Volume, US, "wrong_kind", false, "cm"},
		{"5 cupz", Volume, US, "unknown_unit", false, "cupz"},
		{"12", Length, US, "no_unit", false, "12"},
		{"12", Any, US, "no_unit", false, "12"},
		{"1 oz oz", Any, US, "wrong_kind", false, "oz oz"},
		{"cm", Length, US, "no_number", false, "cm"},
		{"", Volume, US, "empty", false, ""},
		{"  ", Any, US, "empty", false, "  "},
		{"-5 L", Volume, US, "negative", false, "-5 L"},
		{"-300 C", Temperature, US, "below_absolute_zero", false, "-300 C"},
		{"5 C and 3 C", Temperature, US, "sum_of_temperatures", false, "5 C and 3 C"},
		{"3 x 5 C", Temperature, US, "sum_of_temperatures", false, "3 x 5 C"},
		{">5 cm", Length, US, "operator", false, ">"},
		{"1/0 cup", Volume, US, "divided_by_zero", false, "1/0"},
		{"1:0", Ratio, US, "divided_by_zero", false, "1:0"},
		{"1 g/0 L", Density, US, "divided_by_zero", false, "1 g/0 L"},
		{"10 in 10", Ratio, US, "nothing_left", false, "10 in 10"},
		{"1,00,000 L", Volume, US, "bad_number", false, "1,00,000"},
		{"1.2.3 L", Volume, US, "bad_number", false, "1.2.3"},
		{"2 cups of water", Volume, US, "leftover", false, "of"},
		{"5 m^7", Volume, US, "bad_power", false, "m"},
		{"5 L $", Volume, US, "unknown_sign", false, "$"},
		{"1e999 L", Volume, US, "too_large", false, "1e999 L"},
		{"5 mg/L as N", Hardness, US, "unknown_basis", false, "N"},
		{"5 dH as CaCO3", Hardness, US, "unknown_basis", false, "5 dH as CaCO3"},
		{strings.Repeat("9", 300), Count, US, "too_long", false, strings.Repeat("9", 300)},
		{"5 \xff", Volume, US, "not_text", false, "5 \xff"},
		{"1 imperial bucket", Volume, US, "no_size", false, "bucket"},
	}
	for _, r := range rows {
		q, err := Parse(r.text, r.kind, r.sys)
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q as %v: got %v, %v; want the error %s", r.text, r.kind, q.Value, err, r.key)
			continue
		}
		if e.Key != r.key || e.Asks() != r.asks || e.Part != r.part {
			t.Errorf("%q as %v: key %q, asks %v, part %q; want %q, %v, %q", r.text, r.kind, e.Key, e.Asks(), e.Part, r.key, r.asks, r.part)
		}
		if e.Message == "" || strings.HasSuffix(e.Message, ".") || e.Text != r.text {
			t.Errorf("%q: message %q, text %q", r.text, e.Message, e.Text)
		}
		if q.Value != 0 {
			t.Errorf("%q: an error came with the value %v", r.text, q.Value)
		}
	}
}

// A question's choices are themselves understood.
func TestChoicesAreAnswers(t *testing.T) {
	for _, r := range []struct {
		text string
		kind Kind
		want [2]float64
	}{
		{"1,000 L", Volume, [2]float64{1000, 1}},
		{"3 500 mL", Volume, [2]float64{3.5, 1.5}},
		{"1:10", Share, [2]float64{0.1, 1.0 / 11}},
		{"1 oz", Any, [2]float64{0.0295735, 28.3495}},
	} {
		_, err := Parse(r.text, r.kind, Metric)
		var e *Error
		if !errors.As(err, &e) || len(e.Choices) != 2 {
			t.Fatalf("%q: %v", r.text, err)
		}
		for i, c := range e.Choices {
			if q, err := Parse(c, r.kind, Metric); err != nil || !near(q.Value, r.want[i], 1e-5) {
				t.Errorf("%q: the choice %q reads as %v, %v; want %v", r.text, c, q.Value, err, r.want[i])
			}
		}
	}
}

func TestHints(t *testing.T) {
	for text, hint := range map[string]string{
		"5 cupz":     "did you mean cup?",
		"5 gallonz":  "did you mean gallon?",
		"2 tpsp":     "did you mean tbsp?",
		"12":         `write a number and a unit, such as "250 mL" or "1 1/2 cups"`,
		"2 buckets":  `write its size too, such as "3 five-gallon buckets"`,
		"2 cups tea": "leave out what stands behind the amount",
	} {
		_, err := Parse(text, Volume, US)
		var e *Error
		if !errors.As(err, &e) || e.Hint != hint {
			t.Errorf("%q: %v, hint %q; want %q", text, err, e.Hint, hint)
		}
	}
}

func TestParseMass(t *testing.T) {
	// A US cup of a powder of 1000 g/L weighs 236.588 g by definition.
	for _, r := range []struct {
		text  string
		bulk  float64
		want  float64
		notes int
	}{
		{"1 cup", 1000, 236.5882365, 2},
		{"2 tbsp and 2 tsp", 900, 0.9 * 39.43137275, 3},
		{"1 oz", 900, 28.349523125, 1},
		{"250 g", 0, 250, 0},
	} {
		q, err := ParseMass(r.text, US, r.bulk)
		if err != nil || !near(q.Value, r.want, 1e-14) || len(q.Notes) != r.notes || q.Kind != Mass {
			t.Errorf("%q at %v g/L: %+v, %v; want %v g and %d notes", r.text, r.bulk, q, err, r.want, r.notes)
		}
	}
	for text, key := range map[string]string{"1 cup": "needs_bulk_density", "1 cm": "wrong_kind", "1 pinch": "no_size", "1 cupz": "unknown_unit"} {
		_, err := ParseMass(text, US, 0)
		var e *Error
		if !errors.As(err, &e) || e.Key != key || e.Kind != Mass {
			t.Errorf("%q without a bulk density: %v, want %s", text, err, key)
		}
	}
}

func TestIn(t *testing.T) {
	for _, r := range []struct {
		text   string
		kind   Kind
		symbol string
		want   float64
	}{
		{"2.4cm", Length, "cm", 2.4},
		{"2,4 cm", Length, "mm", 24},
		{"33 um", Length, "µm", 33},
		{"95 F", Temperature, "°C", 35},
		{"35 C", Temperature, "°F", 95},
		{"30 %", Share, "%", 30},
		{"0.3 mg/L", Density, "mg/L", 0.3},
		{"1.1 h", Time, "min", 66},
		{"10.2", PH, "", 10.2},
	} {
		q, err := Parse(r.text, r.kind, Metric)
		if err != nil {
			t.Fatal(err)
		}
		// Exact: the arithmetic is rational and rounds once.
		if v, err := q.In(r.symbol); err != nil || Exact(v, Count) != Exact(r.want, Count) {
			t.Errorf("%q in %s = %v, %v; want exactly %v", r.text, r.symbol, v, err, r.want)
		}
	}
	if v, err := (Quantity{Kind: Length, Value: 0.024}).In("cm"); err != nil || !near(v, 2.4, 1e-15) {
		t.Errorf("a quantity made by hand: %v, %v", v, err)
	}
	if v, err := (Quantity{Kind: Length, Value: math.NaN()}).In("cm"); err != nil || !math.IsNaN(v) {
		t.Errorf("NaN: %v, %v", v, err)
	}
	if _, err := (Quantity{Kind: Length, Value: 1}).In("L"); err == nil {
		t.Error("a length was told in litres")
	}
}
