package document

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm/lot"
	"sodalake/science/process"
	"sodalake/words"
)

// LabelSizeOf is the size of that key, or false.
func LabelSizeOf(key string) (LabelSize, bool) {
	i := slices.IndexFunc(LabelSizes, func(s LabelSize) bool { return s.Key == key })
	if i < 0 {
		return LabelSize{}, false
	}
	return LabelSizes[i], true
}

// LabelKeys are the sizes as they are asked for.
func LabelKeys() []string {
	var out []string
	for _, s := range LabelSizes {
		out = append(out, s.Key)
	}
	return out
}

// LabelOf is the label of a pack of a lot, by the farm's plan, as speak says it.
// grams is what is in the pack [g], 0 for what the lot's packs hold on the
// average; where neither is known the weight is left blank. made is when.
func LabelOf(l *lot.Lot, plan *lot.Plan, speak *words.Speaker, size LabelSize, grams float64, made time.Time) *Label {
	out := &Label{Size: size, Made: made, Code: TraceAddress(plan, l.ID)}
	out.Name = speak.T("label.kind", "lot_form", string(l.Form))
	if l.State != lot.Released {
		out.Warn = speak.T("label.not_released", "lot_state", string(l.State))
	}
	row := func(key, text string) {
		if text != "" {
			out.Rows = append(out.Rows, [2]string{speak.T("label." + key), text})
		}
	}
	date := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.In(speak.Zone()).Format(time.DateOnly)
	}
	row("lot", l.ID)
	row("born", date(l.Born))
	row("packed", date(l.PackedAt))
	if l.Keep != nil {
		row("best", date(l.Keep.SellBy))
	}
	if grams == 0 && l.PackG != nil {
		grams = *l.PackG
	}
	if grams > 0 {
		row("weight", speak.Read("mass_g", grams).Plain())
	} else {
		row("weight", "__________")
	}
	keep := map[process.Form]string{process.DriedSealed: "keep_dried", process.FrozenPaste: "keep_frozen"}[l.Form]
	if keep == "" {
		keep = "keep_fresh"
	}
	row("storage", speak.T("label."+keep))
	portion := plan.PortionG
	if l.Form != process.DriedSealed {
		portion *= process.FreshFactor
	}
	row("portion", speak.T("label.portion_is", "g", speak.Read("mass_g", portion).Plain()))
	if l.Form == process.DriedSealed {
		out.panelOf(process.Convention(plan.Rules), portion, speak)
	} else {
		out.PanelNote = speak.T("label.panel_none")
	}
	out.Care = []string{speak.T("label.care_many"), speak.T("label.care_pinch"), speak.T("label.care_b12")}
	out.Blanks = []string{speak.T("label.blank_who"), speak.T("label.blank_law")}
	out.Page = func(n, of int) string {
		return speak.T("label.page", "n", strconv.Itoa(n), "of", strconv.Itoa(of))
	}
	return out
}

// TraceAddress is where the trace of a lot is to be found, for the code on its
// label: the farm's address before it, or the name alone where the farm has none.
func TraceAddress(plan *lot.Plan, id string) string {
	if plan.Address == "" {
		return "lot:" + id
	}
	return strings.TrimSuffix(plan.Address, "/") + "/lots/" + id + "/trace"
}

// panelOf fills in the nutrition panel of dried product: of 100 g by the rules of
// the European Union, of a portion by those of the United States. The order is
// that of Regulation (EU) No 1169/2011, annex XV, and of 21 CFR 101.9(c).
func (l *Label) panelOf(by process.Convention, portionG float64, speak *words.Speaker) {
	g := 100.0
	l.PanelHead = speak.T("label.panel_eu")
	keys := []string{"fat_g", "saturated_g", "carbohydrate_g", "sugars_g", "fibre_g", "protein_g", "salt_g"}
	if by == process.US {
		g = portionG
		l.PanelHead = speak.T("label.panel_us", "g", speak.Read("mass_g", g).Plain())
		keys = []string{"fat_g", "saturated_g", "cholesterol_mg", "sodium_mg", "carbohydrate_g", "fibre_g", "sugars_g", "protein_g"}
	}
	said := func(key string, amount float64) string {
		d, ok := process.Declare(by, key, amount)
		if !ok {
			return ""
		}
		text := strconv.FormatFloat(d.Value, 'f', -1, 64) + " " + key[strings.LastIndexByte(key, '_')+1:]
		text = strings.ReplaceAll(text, " kj", " kJ")
		if d.Less {
			text = speak.T("label.less", "value", text)
		}
		return text
	}
	kj, kcal := process.Energy(process.MacrosPer100, by)
	energy := said("energy_kcal", kcal*g/100)
	if by == process.EU {
		energy = said("energy_kj", kj) + " / " + energy
	}
	l.Panel = append(l.Panel, [2]string{speak.T("label.energy"), energy})
	amount := func(key string) float64 {
		n, _ := process.NutrientOf(key)
		return n.Per100 * g / 100
	}
	for _, key := range keys {
		x := amount(key)
		switch {
		case key == "salt_g":
			x = process.SaltOfSodium(amount("sodium_mg") / 1000)
		case key == "carbohydrate_g" && by == process.EU:
			x -= amount("fibre_g")
		}
		l.Panel = append(l.Panel, [2]string{speak.T("label." + key), said(key, x)})
	}
	l.PanelNote = speak.T("label.panel_source")
}
