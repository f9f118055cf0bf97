package process

// Nutrient is one nutrient of dried spirulina in a published table.
type Nutrient struct {
	Key    string  // with its unit: protein_g, iron_mg, vitamin_k_ug
	Per100 float64 // in 100 g of dried product [g, mg or µg, by Key]
	Spread float64 // how far one farm's product may lie off, as a factor either way [1]
}

// Spreads between products, as a factor: judgement, no source; one's own analysis
// replaces them.
const (
	spreadMacro   = 1.15
	spreadMineral = 1.6
	spreadVitamin = 2.0
)

// Source: usdasr28, item 11667, read as data. Beta-carotene lies far under what
// other tables say, vitamin B12 there is none: what assays of it find in
// spirulina is mostly a form that people cannot use (watanabe1999).
var nutrients = []Nutrient{
	{"water_g", 4.68, spreadMacro}, {"protein_g", 57.47, spreadMacro}, {"fat_g", 7.72, spreadMineral},
	{"ash_g", 6.23, spreadMineral}, {"carbohydrate_g", 23.90, spreadMineral}, {"fibre_g", 3.6, spreadMineral},
	{"sugars_g", 3.1, spreadMineral}, {"saturated_g", 2.650, spreadMineral}, {"monounsaturated_g", 0.675, spreadMineral},
	{"polyunsaturated_g", 2.080, spreadMineral}, {"cholesterol_mg", 0, 1},
	{"calcium_mg", 120, spreadMineral}, {"iron_mg", 28.50, spreadMineral}, {"magnesium_mg", 195, spreadMineral},
	{"phosphorus_mg", 118, spreadMineral}, {"potassium_mg", 1363, spreadMineral}, {"sodium_mg", 1048, spreadMineral},
	{"zinc_mg", 2.00, spreadMineral}, {"copper_mg", 6.100, spreadMineral}, {"manganese_mg", 1.900, spreadMineral},
	{"selenium_ug", 7.2, spreadMineral}, {"vitamin_c_mg", 10.1, spreadVitamin}, {"thiamin_mg", 2.380, spreadVitamin},
	{"riboflavin_mg", 3.670, spreadVitamin}, {"niacin_mg", 12.820, spreadVitamin}, {"pantothenic_mg", 3.480, spreadVitamin},
	{"vitamin_b6_mg", 0.364, spreadVitamin}, {"folate_ug", 94, spreadVitamin}, {"choline_mg", 66, spreadVitamin},
	{"vitamin_a_ug", 29, spreadVitamin}, {"beta_carotene_ug", 342, spreadVitamin}, {"vitamin_e_mg", 5.00, spreadVitamin},
	{"vitamin_k_ug", 25.5, spreadVitamin}, {"phenylalanine_g", 2.777, spreadMacro}, {"tyrosine_g", 2.584, spreadMacro},
}

// Purines in 100 g of dried product [mg], through a text that quotes Japanese
// tables (purinetext).
const Purines = 1268.5

// Nutrients returns the published composition of dried spirulina.
func Nutrients() []Nutrient { return append([]Nutrient(nil), nutrients...) }

// NutrientOf returns one nutrient by its key.
func NutrientOf(key string) (Nutrient, bool) {
	for _, n := range nutrients {
		if n.Key == key {
			return n, true
		}
	}
	return Nutrient{}, false
}

// In returns what a portion holds with its spread [unit of the nutrient], where
// portionG is the portion [g].
func (n Nutrient) In(portionG float64) (low, mid, high float64) {
	mid = n.Per100 * portionG / 100
	return mid / n.Spread, mid, mid * n.Spread
}

// MacrosPer100 are the grams from which energy is worked out, of 100 g.
// Source: usdasr28, item 11667.
var MacrosPer100 = Macros{ProteinG: 57.47, FatG: 7.72, CarbohydrateG: 23.90, FibreG: 3.6}

// Daily is a reference amount for a day.
type Daily struct {
	Key    string
	Amount float64 // [mg, µg or g, by Key]
}

// dailyUS are the daily values of the United States since 2016, dailyEU the
// reference values of the European Union; both from memory.
var (
	dailyUS = []Daily{
		{"iron_mg", 18}, {"copper_mg", 0.9}, {"manganese_mg", 2.3}, {"thiamin_mg", 1.2}, {"riboflavin_mg", 1.3}, {"niacin_mg", 16},
		{"vitamin_k_ug", 120}, {"calcium_mg", 1300}, {"potassium_mg", 4700}, {"magnesium_mg", 420}, {"phosphorus_mg", 1250},
		{"zinc_mg", 11}, {"selenium_ug", 55}, {"vitamin_e_mg", 15}, {"vitamin_c_mg", 90}, {"pantothenic_mg", 5}, {"vitamin_b6_mg", 1.7},
		{"folate_ug", 400}, {"vitamin_a_ug", 900}, {"choline_mg", 550}, {"sodium_mg", 2300},
	}
	dailyEU = []Daily{
		{"iron_mg", 14}, {"copper_mg", 1}, {"manganese_mg", 2}, {"thiamin_mg", 1.1}, {"riboflavin_mg", 1.4}, {"niacin_mg", 16},
		{"vitamin_k_ug", 75}, {"calcium_mg", 800}, {"potassium_mg", 2000}, {"magnesium_mg", 375}, {"phosphorus_mg", 700},
		{"zinc_mg", 10}, {"selenium_ug", 55}, {"vitamin_e_mg", 12}, {"vitamin_c_mg", 80}, {"pantothenic_mg", 6}, {"vitamin_b6_mg", 1.4},
		{"folate_ug", 200}, {"vitamin_a_ug", 800},
	}
)

// Dailies returns the reference amounts of a convention, none for Specific.
//
// Source: cfr1019, (c)(8)(iv); eu1169, annex XIII; both from memory.
func Dailies(by Convention) []Daily {
	switch by {
	case US:
		return append([]Daily(nil), dailyUS...)
	case EU:
		return append([]Daily(nil), dailyEU...)
	}
	return nil
}
