package units

import (
	"math/big"
	"strings"
)

// Exact household volumes of the United States and those of metric kitchens.
//
// Sources: the gallon is 231 cubic inches of 25.4 mm (NIST Handbook 44,
// Appendix C, tables of units of volume; NIST SP 811 (2008), B.8 gives the same
// to seven figures), a cup is 1/16, a fluid ounce 1/128, a tablespoon 1/256 and
// a teaspoon 1/768 of it (Handbook 44, Appendix C, table 2 and section 4). Metric
// cup 250 mL, tablespoon 15 mL and teaspoon 5 mL: common practice in Canada,
// New Zealand and the United Kingdom, no source; Australia's tablespoon holds
// 20 mL (cup and spoon table of the New South Wales health service, after the
// Standards Association of Australia) and Japan's cup 200 mL (from memory).
const (
	usGallonL   = 3.785411784
	usCupL      = 0.2365882365
	usFlOzL     = 0.0295735295625
	usTbspL     = 0.01478676478125
	usTspL      = 0.00492892159375
	metricCupL  = 0.25
	metricTbspL = 0.015
	metricTspL  = 0.005
)

// region is whose measure a unit is, where there are several of one name.
type region uint8

const (
	everywhere region = iota
	american
	imperial
	metric
	australian
)

// when is when a bare name, with no region said, means this unit.
type when uint8

const (
	always when = iota
	inUS
	inMetric
	whenSaid
)

// unit is one row of the table.
type unit struct {
	names  string // spellings, separated by |; matched as they stand, then without regard to case
	dims   dims
	factor string // in metres, grams, seconds, moles, kelvins, siemens, equivalents: exact, "a" or "a/b"
	region region // whose measure it is
	when   when   // and when its bare name means it
	note   string // key of the note that a reader is owed
	offset string // only for temperatures: the reading at absolute zero
}

var (
	dVolume = dims{dimM: 3}
	dMass   = dims{dimG: 1}
	dLength = dims{dimM: 1}
	dTime   = dims{dimS: 1}
	dTemp   = dims{dimK: 1}
	dMol    = dims{dimMol: 1}
	dMolar  = dims{dimMol: 1, dimM: -3}
	dEq     = dims{dimEq: 1}
	dEqL    = dims{dimEq: 1, dimM: -3}
	dGramL  = dims{dimG: 1, dimM: -3}
	dArea   = dims{dimM: 2}
	dFlow   = dims{dimM: 3, dimS: -1}
	dSpeed  = dims{dimM: 1, dimS: -1}
	dPower  = dims{dimG: 1, dimM: 2, dimS: -3}
	dEnergy = dims{dimG: 1, dimM: 2, dimS: -2}
	dSiem   = dims{dimSiemens: 1}
	dCond   = dims{dimSiemens: 1, dimM: -1}
	dPPFD   = dims{dimMol: 1, dimM: -2, dimS: -1}
)

// table holds every unit. Factors of units that are not metric: NIST SP 811
// (2008), Appendix B.8, and NIST Handbook 44, Appendix C; all are exact by
// definition but the degrees of hardness, which follow from molar masses.
var table = []unit{
	// Volume, m³. The litre is 1 dm³ exactly (SP 811, table 6).
	{names: "L|l|liter|litre|lt|ltr|litro", dims: dVolume, factor: "0.001"},
	{names: "mL|ml|milliliter|millilitre|mililitro", dims: dVolume, factor: "0.000001"},
	{names: "cc|ccm", dims: dVolume, factor: "0.000001", note: "cc"},
	{names: "dL|dl|deciliter|decilitre", dims: dVolume, factor: "0.0001"},
	{names: "cL|cl|centiliter|centilitre", dims: dVolume, factor: "0.00001"},
	{names: "hL|hl|hectoliter|hectolitre", dims: dVolume, factor: "0.1"},
	{names: "µL|uL|µl|ul|microliter|microlitre", dims: dVolume, factor: "0.000000001"},
	{names: "gal|gallon|galon|galón", dims: dVolume, factor: "0.003785411784", region: american, note: "us_gallon"},
	{names: "qt|quart", dims: dVolume, factor: "0.000946352946", region: american, note: "us_quart"},
	{names: "pt|pint", dims: dVolume, factor: "0.000473176473", region: american, note: "us_pint"},
	{names: "cup|c|cupful|taza|tasse", dims: dVolume, factor: "0.0002365882365", region: american, when: inUS, note: "us_cup"},
	{names: "fl oz|floz|fluid ounce|fluid oz|fl ounce|oz fl|oz|ounce", dims: dVolume, factor: "0.0000295735295625", region: american, note: "us_fl_oz"},
	{names: "tbsp|tbs|tbl|tblsp|tablespoon|table spoon|tablespoonful|cucharada", dims: dVolume, factor: "0.00001478676478125", region: american, when: inUS, note: "us_tbsp"},
	{names: "tsp|teaspoon|tea spoon|teaspoonful|cucharadita", dims: dVolume, factor: "0.00000492892159375", region: american, when: inUS, note: "us_tsp"},
	{names: "cup|c|cupful|taza|tasse", dims: dVolume, factor: "0.00025", region: metric, when: inMetric, note: "metric_cup"},
	{names: "tbsp|tbs|tbl|tblsp|tablespoon|table spoon|tablespoonful|cucharada", dims: dVolume, factor: "0.000015", region: metric, when: inMetric, note: "metric_tbsp"},
	{names: "tsp|teaspoon|tea spoon|teaspoonful|cucharadita", dims: dVolume, factor: "0.000005", region: metric, when: inMetric, note: "metric_tsp"},
	{names: "cup|cupful", dims: dVolume, factor: "0.00025", region: australian, when: whenSaid, note: "metric_cup"},
	{names: "tbsp|tbs|tablespoon|tablespoonful", dims: dVolume, factor: "0.00002", region: australian, when: whenSaid, note: "australian_tbsp"},
	{names: "tsp|teaspoon|teaspoonful", dims: dVolume, factor: "0.000005", region: australian, when: whenSaid, note: "metric_tsp"},
	{names: "gal|gallon", dims: dVolume, factor: "0.00454609", region: imperial, when: whenSaid, note: "imperial_gallon"},
	{names: "qt|quart", dims: dVolume, factor: "0.0011365225", region: imperial, when: whenSaid, note: "imperial_quart"},
	{names: "pt|pint", dims: dVolume, factor: "0.00056826125", region: imperial, when: whenSaid, note: "imperial_pint"},
	{names: "fl oz|floz|fluid ounce|fluid oz|fl ounce|oz|ounce", dims: dVolume, factor: "0.0000284130625", region: imperial, when: whenSaid, note: "imperial_fl_oz"},

	// Mass, g. The pound is 453.592 37 g, the grain 1/7000 of it.
	{names: "g|gram|gramme|gm|gramo", dims: dMass, factor: "1"},
	{names: "kg|kilogram|kilogramme|kilo|kilogramo", dims: dMass, factor: "1000"},
	{names: "mg|milligram|milligramme|miligramo", dims: dMass, factor: "0.001"},
	{names: "µg|ug|mcg|microgram|microgramme", dims: dMass, factor: "0.000001"},
	{names: "t|tonne", dims: dMass, factor: "1000000"},
	{names: "ton", dims: dMass, factor: "1000000", region: metric, when: whenSaid},
	{names: "ton", dims: dMass, factor: "907184.74", region: american, when: whenSaid},
	{names: "ton", dims: dMass, factor: "1016046.9088", region: imperial, when: whenSaid},
	{names: "oz|ounce|oz av|oz wt|weight oz|oz weight|dry oz|oz by weight", dims: dMass, factor: "28.349523125", note: "oz_av"},
	{names: "lb|pound|lbs", dims: dMass, factor: "453.59237"},
	{names: "grain", dims: dMass, factor: "0.06479891"},

	// Length, m. The inch is 25.4 mm.
	{names: "m|meter|metre|metro", dims: dLength, factor: "1"},
	{names: "km|kilometer|kilometre", dims: dLength, factor: "1000"},
	{names: "dm|decimeter|decimetre", dims: dLength, factor: "0.1"},
	{names: "cm|centimeter|centimetre|centimetro|centímetro", dims: dLength, factor: "0.01"},
	{names: "mm|millimeter|millimetre|milimetro|milímetro", dims: dLength, factor: "0.001"},
	{names: "µm|um|micron|micrometer|micrometre|micra", dims: dLength, factor: "0.000001"},
	{names: "nm|nanometer|nanometre", dims: dLength, factor: "0.000000001"},
	{names: "in|inch|inches|\"|pulgada|pouce", dims: dLength, factor: "0.0254"},
	{names: "ft|foot|feet|'", dims: dLength, factor: "0.3048"},
	{names: "yd|yard", dims: dLength, factor: "0.9144"},
	{names: "mi|mile", dims: dLength, factor: "1609.344"},
	{names: "ha|hectare", dims: dArea, factor: "10000"},

	// Temperature, K. SP 811, B.8: t/°C = (t/°F − 32)/1.8.
	{names: "°C|C|c|degC|deg C|degree C|Celsius|degree Celsius|centigrade", dims: dTemp, factor: "1", offset: "-273.15"},
	{names: "°F|F|f|degF|deg F|degree F|Fahrenheit|degree Fahrenheit", dims: dTemp, factor: "5/9", offset: "-459.67"},
	{names: "K|kelvin", dims: dTemp, factor: "1", offset: "0"},

	// Amount and what is counted as an amount.
	{names: "mol|mole", dims: dMol, factor: "1"},
	{names: "mmol|millimole", dims: dMol, factor: "0.001"},
	{names: "µmol|umol|micromole|microeinstein", dims: dMol, factor: "0.000001"},
	{names: "nmol", dims: dMol, factor: "0.000000001"},
	{names: "M|molar", dims: dMolar, factor: "1000"},
	{names: "mM|millimolar", dims: dMolar, factor: "1"},
	{names: "µM|uM|micromolar", dims: dMolar, factor: "0.001"},
	{names: "eq", dims: dEq, factor: "1"},
	{names: "meq", dims: dEq, factor: "0.001"},

	// Degrees of hardness: 10 mg CaO (56.077 g/mol) or 10 mg CaCO₃ (100.086)
	// a litre, as ISO 6059's countries count them (from memory); alkalinity counts
	// two equivalents to the mole. Molar masses: IUPAC abridged atomic weights.
	{names: "°dH|dH|dGH|GH|German degree", dims: dMolar, factor: "10/56.077", note: "german_hardness"},
	{names: "°fH|fH|French degree", dims: dMolar, factor: "10/100.086"},
	{names: "dKH|KH|°dKH|°KH", dims: dEqL, factor: "20/56.077", note: "german_alkalinity"},

	// Mass in water.
	{names: "ppm|parts per million", dims: dGramL, factor: "1", note: "ppm"},
	{names: "ppb|parts per billion", dims: dGramL, factor: "0.001", note: "ppb"},
	{names: "gpg", dims: dGramL, factor: "0.06479891/0.003785411784"},

	// Conductivity, S. "mS" alone is what meters print for mS/cm.
	{names: "S|siemens", dims: dSiem, factor: "1"},
	{names: "mS|millisiemens|mmho", dims: dSiem, factor: "0.001"},
	{names: "µS|uS|microsiemens|µmho|umho", dims: dSiem, factor: "0.000001"},
	{names: "dS", dims: dSiem, factor: "0.1"},
	{names: "mS|millisiemens|mmho", dims: dCond, factor: "0.1", note: "per_cm"},
	{names: "µS|uS|microsiemens|µmho|umho", dims: dCond, factor: "0.0001", note: "per_cm"},

	// Time, s.
	{names: "s|sec|second|segundo|seconde", dims: dTime, factor: "1"},
	{names: "min|minute|minuto|mn", dims: dTime, factor: "60"},
	{names: "h|hr|hour|hora|heure", dims: dTime, factor: "3600"},
	{names: "d|day|dia|día|jour", dims: dTime, factor: "86400"},
	{names: "wk|week|semana|semaine", dims: dTime, factor: "604800"},

	// Flow, speed. The knot is 1852 m an hour (SP 811, table 9).
	{names: "gph", dims: dFlow, factor: "0.003785411784/3600", region: american, note: "us_gallon"},
	{names: "gpm", dims: dFlow, factor: "0.003785411784/60", region: american, note: "us_gallon"},
	{names: "gpd", dims: dFlow, factor: "0.003785411784/86400", region: american, note: "us_gallon"},
	{names: "lph", dims: dFlow, factor: "0.001/3600"},
	{names: "lpm", dims: dFlow, factor: "0.001/60"},
	{names: "cfm", dims: dFlow, factor: "0.028316846592/60"},
	{names: "mph", dims: dSpeed, factor: "0.44704"},
	{names: "kmh|kph", dims: dSpeed, factor: "1/3.6"},
	{names: "kn|kt|knot", dims: dSpeed, factor: "1852/3600"},

	// Power, energy.
	{names: "W|watt|vatio", dims: dPower, factor: "1000"},
	{names: "kW|kilowatt", dims: dPower, factor: "1000000"},
	{names: "Wh|watt hour", dims: dEnergy, factor: "3600000"},
	{names: "kWh|kilowatt hour", dims: dEnergy, factor: "3600000000"},
	{names: "J|joule", dims: dEnergy, factor: "1000"},
	{names: "kJ", dims: dEnergy, factor: "1000000"},
	{names: "MJ|megajoule", dims: dEnergy, factor: "1000000000"},
	{names: "µmol|umol|PPFD|µE|uE", dims: dPPFD, factor: "0.000001", note: "per_m2_s"},
}

// notes are the texts of the notes by key.
var notes = map[string]string{
	"us_gallon":          "US gallon, 3.785 L",
	"us_quart":           "US quart, 946.4 mL",
	"us_pint":            "US liquid pint, 473.2 mL",
	"us_cup":             "US cup, 236.6 mL",
	"us_fl_oz":           "US fluid ounce, 29.57 mL",
	"us_tbsp":            "US tablespoon, 14.79 mL",
	"us_tsp":             "US teaspoon, 4.929 mL",
	"metric_cup":         "metric cup, 250 mL",
	"metric_tbsp":        "metric tablespoon, 15 mL (20 mL in Australia)",
	"metric_tsp":         "metric teaspoon, 5 mL",
	"australian_tbsp":    "Australian tablespoon, 20 mL",
	"imperial_gallon":    "imperial gallon, 4.546 L",
	"imperial_quart":     "imperial quart, 1.137 L",
	"imperial_pint":      "imperial pint, 568.3 mL",
	"imperial_fl_oz":     "imperial fluid ounce, 28.41 mL",
	"oz_av":              "ounce by weight, 28.35 g",
	"cc":                 "cc read as millilitre",
	"ppm":                "ppm read as mg/L",
	"ppb":                "ppb read as µg/L",
	"per_cm":             "read as per centimetre",
	"per_m2_s":           "read as µmol/m²/s",
	"german_hardness":    "German degree of hardness, 0.178 mmol/L",
	"german_alkalinity":  "German degree of carbonate hardness, 0.357 meq/L",
	"as_caco3":           "read as calcium carbonate, 100.1 g/mol",
	"thousands":          "comma read as a thousands mark",
	"decimal_comma":      "comma read as a decimal mark",
	"decimal_point":      "point read as a decimal mark",
	"by_bulk_density":    "spoons and cups turned into grams by the bulk density",
	"one_part_to_others": "parts to parts, not part of the whole",
}

// refusal is why a word that people say is not a measure, and what to write.
type refusal struct {
	key, message, hint string
	choices            []string
}

// refusals are words that are known and yet not read.
var refusals = map[string]refusal{
	"pinch":    {"no_size", `a pinch has no size`, `weigh it, or write "1/8 tsp"`, nil},
	"dash":     {"no_size", `a dash has no size`, `weigh it, or write "1/8 tsp"`, nil},
	"handful":  {"no_size", `a handful has no size`, `weigh it, or level it in a cup`, nil},
	"scoop":    {"no_size", `a scoop has no size of its own`, `fill it level with water, measure that, and write mL or g`, nil},
	"spoon":    {"which_spoon", `a spoon may be a teaspoon or a tablespoon`, `write tsp or tbsp`, []string{"tsp", "tbsp"}},
	"spoonful": {"which_spoon", `a spoon may be a teaspoon or a tablespoon`, `write tsp or tbsp`, []string{"tsp", "tbsp"}},
	"drop":     {"no_size", `a drop has no fixed size`, `count how many drops of it fill 1 mL and write mL`, nil},
	"t":        {"ask_spoon", `"t" and "T" are easily mistaken for each other`, `write tsp or tbsp`, []string{"tsp", "tbsp"}},
	"ton":      {"ask_ton", `a ton may be metric, US or imperial`, `write "tonne", "US ton" or kg`, []string{"metric ton", "US ton", "imperial ton"}},
	"gr":       {"ask_gr", `"gr" may be a gram or a grain`, `write g or grain`, []string{"g", "grain"}},
	"hp":       {"ask_hp", `there are several horsepowers`, `write W`, nil},
	"mesh":     {"mesh", `a mesh number counts threads and does not tell the opening`, `write the opening of the cloth, such as "33 um"`, nil},
	"lux":      {"lux", `lux weighs light for the eye and depends on the lamp`, `write umol/m2/s from a PAR meter`, nil},
	"lx":       {"lux", `lux weighs light for the eye and depends on the lamp`, `write umol/m2/s from a PAR meter`, nil},
	"month":    {"no_length", `months differ in length`, `write days`, nil},
	"year":     {"no_length", `years differ in length`, `write days`, nil},
	"degree":   {"ask_degree", `a degree may be Celsius or Fahrenheit`, `write C or F`, []string{"C", "F"}},
	"deg":      {"ask_degree", `a degree may be Celsius or Fahrenheit`, `write C or F`, []string{"C", "F"}},
	"°":        {"ask_degree", `a degree may be Celsius or Fahrenheit`, `write C or F`, []string{"C", "F"}},
	"heaped":   {"heaped", `a heaped measure has no size`, `strike it level with a knife`, nil},
	"heaping":  {"heaped", `a heaped measure has no size`, `strike it level with a knife`, nil},
	"rounded":  {"heaped", `a rounded measure has no size`, `strike it level with a knife`, nil},
	"scant":    {"heaped", `a scant measure has no size`, `strike it level with a knife`, nil},
	"psi":      {"no_pressure", `pressures are not read here`, ``, nil},
}

// containers are things that hold a stated amount.
var containers = wordSet("bucket pail jug bottle can carboy drum jar barrel tub tank bag sack box sachet packet")

// regions are the words that say whose measure is meant.
var regions = map[string]region{
	"us": american, "usa": american, "american": american,
	"imperial": imperial, "imp": imperial, "uk": imperial, "british": imperial,
	"metric": metric, "australian": australian, "aus": australian, "au": australian,
}

// row is a unit made ready.
type row struct {
	*unit
	factor, offset *big.Rat
}

var exactNames, foldedNames = index()

func index() (exact, folded map[string][]row) {
	exact, folded = map[string][]row{}, map[string][]row{}
	for i := range table {
		u := &table[i]
		r := row{unit: u, factor: rational(u.factor)}
		if u.offset != "" {
			r.offset = rational(u.offset)
		}
		for _, n := range strings.Split(u.names, "|") {
			exact[n] = append(exact[n], r)
		}
		seen := map[string]bool{}
		for _, n := range strings.Split(u.names, "|") {
			if n = strings.ToLower(n); !seen[n] {
				folded[n] = append(folded[n], r)
			}
			seen[n] = true
		}
	}
	return exact, folded
}

// rational reads "a" or "a/b" of the table.
func rational(s string) *big.Rat {
	a, b, quotient := strings.Cut(s, "/")
	r, ok := new(big.Rat).SetString(a)
	if ok && quotient {
		var d *big.Rat
		if d, ok = new(big.Rat).SetString(b); ok {
			r.Quo(r, d)
		}
	}
	if !ok {
		panic("units: bad factor " + s)
	}
	return r
}

func wordSet(s string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(s) {
		set[w] = true
	}
	return set
}
