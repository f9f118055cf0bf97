package calc

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sodalake/science/medium"
)

// weigh fills in grams, spoons, cost and the order.
func (in *mixIn) weigh(mix *medium.Mix, out *mixOut) error {
	law, _ := medium.LawByName(in.Law)
	bulk, err := byIngredient("bulk_g_per_l", in.BulkGPerL, law)
	if err != nil {
		return err
	}
	price, err := byIngredient("price_per_kg", in.PricePerKg, law)
	if err != nil {
		return err
	}
	doses := make([]medium.Dose, len(mix.Parts))
	for i, p := range mix.Parts { // in the order of mixing
		doses[i] = medium.Dose{Of: p.Of, MassG: p.GPerL * in.VolumeL, Purity: p.Purity, BulkGPerL: bulk[p.Of.ID]}
	}
	sort.SliceStable(doses, func(i, j int) bool { return doses[i].Of.Step.Before(doses[j].Of.Step) })
	var none medium.Metals
	high := medium.Amounts{}
	high[medium.Reduced] = medium.PoolMolL
	k, err := medium.Scoop(doses, in.VolumeL, medium.Elements(&mix.Water.PerL, &none), high, kitchenOf(in.Measures))
	if err != nil {
		return fromMedium("", err)
	}
	total := 0.0
	priced := 0
	for _, d := range k.Doses {
		a := mixAmount{Name: d.Of.Kitchen, Formula: d.Of.Formula, MassG: d.MassG, GPerL: d.MassG / in.VolumeL}
		if d.Spoons {
			a.Kitchen, a.KitchenG = d.Measure.Text, finite(d.MadeG)
		}
		if st := d.Stock; st != nil {
			from := Digits(st.MassG) + " g"
			if st.Measure != "" {
				from = st.Measure + " (" + from + ")"
			}
			a.Stock = fmt.Sprintf("%s in %s L of water, take %s mL", from, Digits(st.InL), Digits(st.TakeML))
		}
		if p, ok := price[d.Of.ID]; ok {
			c := p * d.MassG / 1000
			a.Cost = &c
			total += c
			priced++
		}
		out.Amounts = append(out.Amounts, a)
	}
	if tm, ok := medium.TraceMixByName(in.Traces); ok {
		ml := tm.DoseML * in.VolumeL
		out.Amounts = append(out.Amounts, mixAmount{Name: tm.Title, Stock: "by syringe, " + Digits(ml) + " mL"})
		var brings []string
		ug := tm.UGPerL(tm.DoseML)
		for _, el := range sortedKeys(ug) {
			brings = append(brings, el+" "+Digits(ug[el]))
		}
		out.Assumptions = append(out.Assumptions, tm.Title+" brings, in µg/L: "+strings.Join(brings, ", ")+"; "+tm.Note)
	}
	if priced > 0 {
		perL := total / in.VolumeL
		out.CostTotal, out.CostPerL = &total, &perL
		if priced < len(doses) {
			out.Assumptions = append(out.Assumptions, fmt.Sprintf("cost of %d of %d ingredients: the others have no price", priced, len(doses)))
		}
	}
	out.KitchenWorstPct = 100 * math.Abs(k.Worst)
	if out.KitchenWorstPct > 0 {
		out.KitchenWorstOf = k.Of.String()
	}
	for n, p := range medium.Order(doses) {
		var names []string
		for _, i := range p.Doses {
			names = append(names, doses[i].Of.Kitchen)
		}
		out.Steps = append(out.Steps, mixStep{n + 1, pourWords(p.Code), strings.Join(names, ", ")})
	}
	out.Cautions = append(out.Cautions, ingredientCautions(doses)...)
	out.Assumptions = append(out.Assumptions, "spoons level; by the weight of a litre of powder in the table, unless you weighed a cup: grams are what counts")
	return nil
}

// tell fills in the prediction.
func (in *mixIn) tell(p *medium.Prediction, out *mixOut) {
	ph, ph25 := p.Mixed.PH, p.PH25
	out.PH, out.PH25C, out.PHOpen25C = &ph, &ph25, finite(p.OpenPH25)
	out.ConductivityMSCM, out.SaltGPerL, out.SodiumGPerL = finite(p.MSCm25), finite(p.SaltGL), finite(p.SodiumGL)
	out.ReducedMgPerL, out.FreeNH3MM, out.FreeNH3PondMM = finite(p.ReducedMgL), finite(p.FreeNH3Now), finite(p.FreeNH3Pond)
	for _, s := range p.Standing {
		out.Standing = append(out.Standing, mixStanding{s.Days, s.PH.Low, s.PH.Mid, s.PH.High})
	}
	for _, f := range p.FallsOut {
		out.FallsOut = append(out.FallsOut, mixFallen{f.Mineral.String(), f.Sure, f.NowMgL, f.PondMgL, f.NowSI, f.Mineral.Band()})
	}
	out.CarriesGPerL = map[string]float64{}
	for _, c := range p.Carries {
		out.CarriesGPerL[c.Element.String()] = c.GPerL
	}
	out.CarbonGPerL, out.CarbonOpenGPerL = finite(p.CarbonFresh), finite(p.CarbonOpen)
	out.CarbonDaysLow, out.CarbonDays, out.CarbonDaysHigh = finite(p.CarbonDays.Low), finite(p.CarbonDays.Mid), finite(p.CarbonDays.High)
	if math.IsInf(p.CarbonDays.Mid, 1) {
		out.Assumptions = append(out.Assumptions, "the air keeps up with that growth: its carbon does not run out")
	}
	out.Assumptions = append(out.Assumptions,
		"new medium reads low and climbs by itself, in air and faster with growth",
		"minerals that may fall out are each reckoned alone; chalk and phosphate share the calcium, and EDTA holds part of it",
		"the days are those of the growth expected, times or over 1.6; the curve's band is that of the exchange with air alone")
}
