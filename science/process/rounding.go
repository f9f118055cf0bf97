package process

import "math"

// Declared is an amount as it is printed on a label.
type Declared struct {
	Value float64 // [unit of the nutrient]
	Less  bool    // "less than" the value is said
}

// roundRule rounds amounts under a bound to an increment. The rules of one
// nutrient stand in rising order.
type roundRule struct {
	under float64 // holds for amounts below [unit of the nutrient]
	with  bool    // and at the bound itself
	to    float64 // increment; 0 prints zero; digits below are significant figures
	less  float64 // prints "less than" this much
	sig   int     // significant figures, where over 0
}

var inf = math.Inf(1)

// The rules of both places. In the United States: energy in kcal, fats and
// others in grams, cholesterol and sodium in milligrams, per portion. In the
// European Union: energy in kJ or kcal, others in grams, per 100 g.
//
// Source: cfr1019 and fdanlea (the guide's table) for the US; eurounding for the
// EU (zero thresholds and increments of 2012).
var rounding = map[Convention]map[string][]roundRule{
	US: {
		"energy_kcal":    {{under: 5}, {under: 50, with: true, to: 5}, {under: inf, to: 10}},
		"fat_g":          {{under: 0.5}, {under: 5, to: 0.5}, {under: inf, to: 1}},
		"saturated_g":    {{under: 0.5}, {under: 5, to: 0.5}, {under: inf, to: 1}},
		"cholesterol_mg": {{under: 2}, {under: 5, with: true, less: 5}, {under: inf, to: 5}},
		"sodium_mg":      {{under: 5}, {under: 140, with: true, to: 5}, {under: inf, to: 10}},
		"carbohydrate_g": {{under: 0.5}, {under: 1, less: 1}, {under: inf, to: 1}},
		"fibre_g":        {{under: 0.5}, {under: 1, less: 1}, {under: inf, to: 1}},
		"sugars_g":       {{under: 0.5}, {under: 1, less: 1}, {under: inf, to: 1}},
		"protein_g":      {{under: 0.5}, {under: 1, less: 1}, {under: inf, to: 1}},
		"daily_pct":      {{under: 1}, {under: 2, to: 2}, {under: 10, with: true, to: 2}, {under: 50, with: true, to: 5}, {under: inf, to: 10}},
	},
	EU: {
		"energy_kj":      {{under: inf, to: 1}},
		"energy_kcal":    {{under: inf, to: 1}},
		"fat_g":          {{under: 0.5, with: true, less: 0.5}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"saturated_g":    {{under: 0.1, with: true, less: 0.1}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"carbohydrate_g": {{under: 0.5, with: true, less: 0.5}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"sugars_g":       {{under: 0.5, with: true, less: 0.5}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"fibre_g":        {{under: 0.5, with: true, less: 0.5}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"protein_g":      {{under: 0.5, with: true, less: 0.5}, {under: 10, to: 0.1}, {under: inf, to: 1}},
		"salt_g":         {{under: 0.0125, with: true, less: 0.01}, {under: 1, to: 0.01}, {under: inf, to: 0.1}},
		"daily_pct":      {{under: inf, to: 1}},
		// Vitamins and minerals: three figures for vitamin A, folic acid, chloride, calcium,
		// phosphorus, magnesium, iodine and potassium, two for the others.
		"vitamin_a_ug": {{under: inf, sig: 3}}, "folate_ug": {{under: inf, sig: 3}}, "calcium_mg": {{under: inf, sig: 3}},
		"phosphorus_mg": {{under: inf, sig: 3}}, "magnesium_mg": {{under: inf, sig: 3}}, "potassium_mg": {{under: inf, sig: 3}},
		"iron_mg": {{under: inf, sig: 2}}, "zinc_mg": {{under: inf, sig: 2}}, "copper_mg": {{under: inf, sig: 2}}, "manganese_mg": {{under: inf, sig: 2}},
		"selenium_ug": {{under: inf, sig: 2}}, "vitamin_c_mg": {{under: inf, sig: 2}}, "vitamin_e_mg": {{under: inf, sig: 2}}, "vitamin_k_ug": {{under: inf, sig: 2}},
		"thiamin_mg": {{under: inf, sig: 2}}, "riboflavin_mg": {{under: inf, sig: 2}}, "niacin_mg": {{under: inf, sig: 2}}, "pantothenic_mg": {{under: inf, sig: 2}}, "vitamin_b6_mg": {{under: inf, sig: 2}},
	},
}

// Declare returns an amount as a label of a place prints it, where amount is the
// amount by key [unit of the nutrient]. ok is false where the place has no rule
// for it, and for negative amounts.
//
// Amounts half-way go up, with a guard of a millionth of a step so that a half
// that a binary number cannot hold goes up too: 2.65 g is 2.7 g.
func Declare(by Convention, key string, amount float64) (d Declared, ok bool) {
	rules := rounding[by][key]
	if rules == nil || !(amount >= 0) || math.IsInf(amount, 0) {
		return Declared{}, false
	}
	const guard = 1e-9
	for _, r := range rules {
		if !(amount < r.under-guard || r.with && amount <= r.under+guard) {
			continue
		}
		switch {
		case r.less > 0 && amount > 0:
			return Declared{r.less, true}, true
		case r.sig > 0:
			return Declared{Value: figures(amount, r.sig)}, true
		case r.to > 0:
			return Declared{Value: step(amount, r.to)}, true
		}
		return Declared{}, true
	}
	return Declared{}, false
}

// step rounds to a whole number of increments, halves up.
func step(x, to float64) float64 {
	n := math.Floor(x/to + 0.5 + 1e-6)
	if inv := math.Round(1 / to); to < 1 && math.Abs(inv*to-1) < 1e-9 {
		return n / inv // 53 tenths are 5.3, not 53 times 0.1
	}
	return n * to
}

// figures rounds to significant figures, halves up.
func figures(x float64, n int) float64 {
	if x == 0 {
		return 0
	}
	p := math.Pow(10, float64(n-1)-math.Floor(math.Log10(x)))
	return math.Floor(x*p+0.5+1e-6) / p
}
