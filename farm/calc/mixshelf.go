package calc

import (
	"fmt"
	"strings"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
)

// fromShelf replaces the mix by what the shelf makes of it.
func (in *mixIn) fromShelf(s *brine.Solver, law medium.Law, mix *medium.Mix, out *mixOut) error {
	sol, err := mix.Dissolve(s)
	if err != nil {
		return fromMedium("salts_g_per_l", err)
	}
	// The target is the recipe in plain water; the shelf is solved in the farm's.
	bare := *mix
	bare.Water = medium.Water{}
	if sol, err = bare.Dissolve(s); err != nil {
		return fromMedium("salts_g_per_l", err)
	}
	carry := 0.0
	if in.CarryGPerL != nil {
		carry = *in.CarryGPerL
	}
	target := medium.TargetOf(sol.Elements(), carry, growth.DefaultComposition())
	shelf, err := in.shelf(law, mix.Water)
	if err != nil {
		return err
	}
	var grams []float64
	switch in.Method {
	case "cheapest":
		grams, _, err = shelf.Cheapest(&target)
	case "fewest":
		grams, _, err = shelf.Fewest(&target)
	default:
		if grams, _, err = shelf.Closest(&target); err == nil {
			if miss, ok := shelf.Reach(&target).(*medium.NotReachedError); ok {
				for _, m := range miss.Short {
					line := fmt.Sprintf("With this shelf %s stays at %s of %s mmol/L.", m.Element, Digits(m.Has*1000), Digits(m.Low*1000))
					if m.Has > m.High {
						line = fmt.Sprintf("With this shelf %s comes to %s mmol/L, more than %s.", m.Element, Digits(m.Has*1000), Digits(m.High*1000))
					}
					if len(m.Buy) > 0 {
						line += " To mend it buy " + strings.Join(m.Buy, " or ") + "."
					}
					out.Cautions = append(out.Cautions, line)
				}
			}
		}
	}
	if err != nil {
		return fromMedium("shelf", err)
	}
	mix.Parts = mix.Parts[:0]
	for j, g := range grams {
		if g > 1e-7 {
			it := shelf.Items[j]
			mix.Parts = append(mix.Parts, medium.Part{Of: it.Of, GPerL: g, Purity: it.Purity})
		}
	}
	what := map[string]string{"closest": "what comes closest to it", "cheapest": "what costs least", "fewest": "the fewest ingredients"}[in.Method]
	out.Assumptions = append(out.Assumptions, "from the shelf: "+what+"; carbon and alkalinity of the recipe within 5 to 10 %, every nutrient for the growth that it must feed, what the source water brings counted")
	return nil
}

func (in *mixIn) shelf(law medium.Law, water medium.Water) (*medium.Shelf, error) {
	if len(in.Shelf) == 0 {
		return nil, invalid("shelf", "name what you have, with commas: baking soda, saltpetre, Epsom salt", "shelf is empty")
	}
	price, err := byIngredient("price_per_kg", in.PricePerKg, law)
	if err != nil {
		return nil, err
	}
	stock, err := byIngredient("stock_g", in.StockG, law)
	if err != nil {
		return nil, err
	}
	purity, err := byIngredient("purity_pct", in.PurityPct, law)
	if err != nil {
		return nil, err
	}
	var items []medium.OnShelf
	for _, name := range in.Shelf {
		i, err := medium.Lookup(name, law)
		if err != nil {
			return nil, fromMedium("shelf", err)
		}
		if in.ForFood && i.Food == medium.NotFood {
			return nil, invalid("shelf."+name, "leave it out, or say that the culture is not for food", "shelf names %s, which is not offered for a culture that is eaten", i.Kitchen)
		}
		if i.Step == medium.StepAlkali {
			return nil, invalid("shelf."+name, "leave it out: soda and standing in air bring the alkalinity", "shelf names %s; a caustic is not weighed into a recipe by calculation", i.Kitchen)
		}
		it := medium.OnShelf{Of: i, PricePerKg: price[i.ID], MostGPerL: stock[i.ID] / in.VolumeL, Purity: purity[i.ID] / 100}
		if it.Purity == 0 && i.Label == nil {
			it.Purity = i.Purity
		}
		if _, told := stock[i.ID]; told && stock[i.ID] == 0 {
			continue // there is none of it
		}
		items = append(items, it)
	}
	shelf, err := medium.NewShelf(items, water)
	return shelf, fromMedium("", err)
}

// readyMix answers for a powder whose content is not told.
func (in *mixIn) readyMix(water medium.Water) (mixOut, error) {
	var out mixOut
	r := medium.ReadyMix{GPerL: *in.ReadyMixGPerL, PHErr: 0.1, MSErr: 0.03}
	if in.ReadyMixPH != nil {
		r.PH = *in.ReadyMixPH
		if in.ReadyMixStrip {
			r.PHErr = 0.5
		}
	}
	if in.ReadyMixMSPerCM != nil {
		r.MSCm = *in.ReadyMixMSPerCM
		// Hard water conducts by itself: about 2 mS/cm for each 1000 mg/L of CaCO3.
		if in.HardnessMgPerL != nil {
			r.WaterM = *in.HardnessMgPerL * 2e-3
		}
	}
	g, err := r.Guess(brine.New(brine.Pitzer), growth.DefaultComposition())
	if err != nil {
		return out, fromMedium("", err)
	}
	for _, b := range []struct {
		what, unit     string
		low, mid, high float64
	}{
		{"soda, as baking soda", "g/L", g.SodaGL.Low, g.SodaGL.Mid, g.SodaGL.High},
		{"nitrogen of all forms", "mmol/L", g.NitrogenMM.Low, g.NitrogenMM.Mid, g.NitrogenMM.High},
		{"growth that its nitrogen feeds", "g/L", g.CarriesN.Low, g.CarriesN.Mid, g.CarriesN.High},
		{"growth that half of its carbon feeds", "g/L", g.CarriesC.Low, g.CarriesC.Mid, g.CarriesC.High},
		{"growth that its phosphorus feeds", "g/L", g.CarriesP.Low, g.CarriesP.Mid, g.CarriesP.High},
		{"urea and ammonium in a gram, as urea", "mg/g", g.Reduced.Low, g.Reduced.Mid, g.Reduced.High},
	} {
		out.Guess = append(out.Guess, mixGuess{b.what, b.unit, b.low, b.mid, b.high})
	}
	day, pool := g.MostDayGL*in.VolumeL, g.MostPoolGL*in.VolumeL
	out.ReadyMixDayG, out.ReadyMixStandingG = &day, &pool
	out.Amounts = []mixAmount{{Name: "ready mix", MassG: r.GPerL * in.VolumeL, GPerL: r.GPerL}}
	out.Steps = []mixStep{
		{1, pourWords("water"), ""}, {2, "Dissolve it in warm water in a jug of its own, part A before part B, until clear; pour it in.", "ready mix"},
		{3, pourWords("fill"), ""}, {4, "Read pH and, if you can, conductivity within the hour: they narrow what it can be.", ""},
	}
	out.CarriesGPerL = map[string]float64{"nitrogen": g.CarriesN.Mid, "phosphorus": g.CarriesP.Mid}
	out.Standing, out.FallsOut = []mixStanding{}, []mixFallen{}
	out.Assumptions = append(out.Assumptions, "content not told: a few hundred mixes of what such powders are made of, weighed by how they would read; low and high hold eight in ten of them")
	if r.PH == 0 && r.MSCm == 0 {
		out.Assumptions = append(out.Assumptions, "no reading was given: this is all that can be said")
	}
	if g.Fits < 1e-3 {
		out.Cautions = append(out.Cautions, "No soda mix reads like that: check the readings, the grams and whether it is a mix for this at all.")
	}
	out.Cautions = append(out.Cautions,
		"Copy what the bag says of its content, above all the form of its nitrogen, copper and boron; ask the seller.",
		"As feed, keep to the seller's dose and under the amounts told here; stop at a smell of ammonia.",
		"Grow out of it with one weighed recipe.")
	return out, nil
}
