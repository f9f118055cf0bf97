package calc

import (
	"fmt"
	"math"
	"strings"

	"sodalake/science/medium"
)

// faultWords says a fault of a medium in one sentence.
func faultWords(f medium.Fault) string {
	v, l := Digits(f.Value), Digits(f.Limit)
	switch f.Code {
	case "urea":
		return fmt.Sprintf("urea comes to %s mg/L, above the %s mg/L that may stand: it turns to ammonia within days, and from 80 mg/L growth is lost", v, l)
	case "reduced":
		return fmt.Sprintf("ammonium and urea together come to %s mg/L as urea, above the %s mg/L that may stand: at pond pH they are ammonia", v, l)
	case "not_food":
		return fmt.Sprintf("%s is not offered for a culture that is eaten", f.What)
	case "certificate":
		return fmt.Sprintf("For food, %s only with a certificate of its metals.", f.What)
	case "restricted":
		return fmt.Sprintf("The sale and storage of %s is regulated in many places: ask, or use another nitrate.", f.What)
	case "caustic":
		return fmt.Sprintf("%s in a recipe: it burns, and it is better to let the medium stand or to use soda ash. Goggles, gloves, into cold water little by little.", f.What)
	case "metal":
		return fmt.Sprintf("%s comes to %s mg/L, above %s mg/L", f.What, v, l)
	case "calcium":
		return fmt.Sprintf("Calcium comes to %s mmol/L: it will cloud and fall out as chalk and phosphate. Let it settle before the culture goes in.", v)
	case "lacks":
		return fmt.Sprintf("There is no %s in it: growth ends with what the starter and the water bring.", f.What)
	case "little":
		return fmt.Sprintf("Its %s feeds only %s g/L of growth.", f.What, v)
	case "ammonia":
		return fmt.Sprintf("If all of its urea and ammonium stood as ammonia at pond pH, %s mM would be free; harm begins at about %s. A thin or sleeping culture does not eat it in time.", v, l)
	case "salty":
		return fmt.Sprintf("Dissolved salts are %s g/L: growth is slower above about %s.", v, l)
	case "soft":
		return fmt.Sprintf("Alkalinity is %s meq/L: below %s nothing holds the pH, and other algae find their way in.", v, l)
	case "alkaline":
		return fmt.Sprintf("It reads pH %s when mixed: let it stand in air or bring it down with carbon dioxide before a culture goes in.", v)
	case "iron_bare":
		return fmt.Sprintf("%s mg/L of iron stand without a chelator: most of it falls out and feeds little.", v)
	case "untold":
		return fmt.Sprintf("%s does not tell the form of %s %% nitrogen: counted as ammonium.", f.What, v)
	}
	return strings.ReplaceAll(f.Code, "_", " ")
}

// faultWay says what to do about a refusal.
func faultWay(f medium.Fault) string {
	switch f.Code {
	case "urea", "reduced":
		return "take nitrate as the store of nitrogen, at most 60 mg/L of urea or its like, and feed the rest in daily doses of at most 33 mg/L"
	case "not_food":
		return "leave it out, or say that the culture is not for food"
	case "metal":
		return "use less of it, or a salt without it; traces that feed a culture harm it, and the product, a little above"
	}
	return ""
}

// pourWords says a step of mixing.
func pourWords(code string) string {
	switch code {
	case "water":
		return "Measure four fifths of the water into the vessel. A strip must show less than 0.1 mg/L of total chlorine."
	case "soda":
		return "In a jug of its own, warm water: dissolve the soda until no grain is left, then pour it in."
	case "alkali":
		return "Goggles and gloves. Little by little into cold water in a plastic jug, stirring; let it cool; pour it in slowly where the water moves."
	case "salts":
		return "One after the other, each dissolved before the next."
	case "phosphate":
		return "In a jug of its own; pour it in."
	case "magnesium":
		return "In a jug of its own; pour it in."
	case "iron":
		return "One small jug: the chelator first, then the iron; pour it in."
	case "nitrogen":
		return "Weighed, never heaped; dissolve and pour in."
	case "traces":
		return "From stock solutions, by syringe."
	case "calcium":
		return "Last: in plenty of plain water, slowly, stirring. A milky streak that does not fade is chalk."
	case "fill":
		return "Fill up with water to the mark and stir for ten minutes."
	case "wait":
		return "Let it stand until clear, read pH and temperature, note them."
	}
	return code
}

// ingredientCautions lists what can hurt or go wrong with the ingredients of a
// batch, each once.
func ingredientCautions(doses []medium.Dose) []string {
	var out []string
	seen := map[string]bool{}
	say := func(s string) {
		if !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	for i := range doses {
		in := doses[i].Of
		if len(in.Safety.Codes) > 0 {
			var words []string
			for _, c := range in.Safety.Codes {
				words = append(words, medium.HazardWords(c)+" ("+c+")")
			}
			say(fmt.Sprintf("%s: %s. %s.", capital(in.Kitchen), strings.Join(words, ", "), capital(strings.Join(in.Safety.Care, "; "))))
		}
		for _, n := range in.Safety.NeverWith {
			say(fmt.Sprintf("%s never with %s.", capital(in.Kitchen), n))
		}
		for _, l := range in.LookAlikes {
			say(fmt.Sprintf("%s, not %s (%s).", capital(in.Kitchen), l.What, l.Why))
		}
		if in.Note != "" {
			say(capital(in.Kitchen) + ": " + in.Note + ".")
		}
	}
	return out
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// finite returns a pointer for JSON, nil where there is no number.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
