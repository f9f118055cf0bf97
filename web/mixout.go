package web

import (
	"html/template"
	"math"
	"net/url"
	"regexp"
	"strings"

	"sodalake/farm"
	"sodalake/science/medium"
	"sodalake/science/num"
	"sodalake/words"
)

// mixOut is what the bench answers.
type mixOut struct {
	Mode        string
	Bad         *badField
	Title, Lead string
	First       *mixTable // what it does, before it is done
	Stages      []mixStage
	Notes       []string // under the sheet
	Gets        []mixGet
	ChartPhone  template.HTML
	ChartDesk   template.HTML
	ChartAside  string
	Tables      []mixTable
	Care, More  []string // what to take care of; what is mistaken for it, and what else to know
	Given       []string
	Sources     []string
	PDF         string
	Record      *mixRecord
	Keep        *mixKeep
	Links       []navLink
}

type mixStage struct {
	No   string
	Text string
	Rows []mixRow
}

// mixRow is one thing to weigh or to measure.
type mixRow struct {
	Amount, Unit, Name, Small, Warn string
	Tick                            string // name of its box
	LotName                         string // name of the choice; empty where there is none
	Lots                            []option
	Lot                             string // the one lot there is, or the chosen one, for paper
}

type mixGet struct{ Name, Value, Unit, Spread string }

type mixTable struct {
	Title, Caption string
	Head           []string
	Rows           [][]string
}

type navLink struct{ Href, Label string }

// mixRecord is the form that records what was mixed.
type mixRecord struct {
	ID, Record, Item, Back, Label string
	Vessels                       []option // empty where the vessel is fixed
}

// mixKeep is the form that keeps one's own salts as a recipe.
type mixKeep struct{ ID, Body, Back string }

// grams says a mass as a scale shows it.
func grams(w *words.Speaker, g float64) (value, unit string) {
	if math.Round(g) >= 10000 {
		return strings.TrimSuffix(w.Rounded(g/1000, 0.01), w.T("format.decimal")+"00"), "kg"
	}
	t := w.Rounded(g, gramStep(g))
	if g >= 10 {
		t = strings.TrimSuffix(t, w.T("format.decimal")+"0")
	}
	return t, "g"
}

// gramStep is the step to which a mass is weighed [g].
func gramStep(g float64) float64 {
	switch {
	case g >= 10000:
		return 10
	case g >= 100:
		return 1
	case g >= 1:
		return 0.1
	case g >= 0.1:
		return 0.01
	}
	return 0.001
}

// weighs is the mass that grams shows [g].
func weighs(g float64) float64 {
	step := gramStep(g)
	return roundTo(math.Round(g/step)*step, 7)
}

// fractions are how halves and quarters are written on the page.
var fractions = map[string]string{"1/2": "½", "1/3": "⅓", "2/3": "⅔", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞"}

var fraction = regexp.MustCompile(`(^|\d |\D)([12357]/[2348])\b`)

// pretty writes a kitchen measure: "7 1/4 cups" as "7¼ cups".
func pretty(t string) string {
	return fraction.ReplaceAllStringFunc(t, func(m string) string {
		part := m[len(m)-3:]
		before := m[:len(m)-3]
		if f, ok := fractions[part]; ok {
			if len(before) == 2 { // a digit and a space
				before = before[:1]
			}
			return before + f
		}
		return m
	})
}

// pounds says a mass in the scales of a US kitchen, where the farm thinks so.
func pounds(w *words.Speaker, g float64) string {
	const ounce = 28.349523125 // NIST SP 811 (2008), appendix B.8
	if w.Measures() != words.US || g < 4*ounce {
		return ""
	}
	oz := g / ounce
	if lb := math.Floor(oz / 16); lb >= 1 {
		if rest := math.Round((oz-16*lb)*10) / 10; rest >= 0.1 && rest < 16 {
			return w.Rounded(lb, 1) + " lb " + w.Rounded(rest, 0.1) + " oz"
		}
		return w.Rounded(math.Round(oz/16), 1) + " lb"
	}
	return w.Rounded(oz, 0.1) + " oz"
}

// stock chooses the lot that something is taken from: the one that was chosen,
// else the oldest that holds enough, else the oldest that holds any. It returns
// all that could be chosen.
func (b *benchAsk) stock(of string, needG float64) (*farm.Stock, []*farm.Stock) {
	var all []*farm.Stock
	for i := range b.bench.Shelf.Lots {
		if l := &b.bench.Shelf.Lots[i]; of != "" && l.Of == of && l.LeftG > 0 {
			all = append(all, l)
		}
	}
	if l, chosen := b.lots[of]; chosen {
		return l, all
	}
	var pick *farm.Stock
	for _, l := range all {
		if l.ID == b.get("lot."+of) {
			pick = l
		}
	}
	for _, l := range all {
		if pick == nil && l.LeftG >= needG {
			pick = l
		}
	}
	if pick == nil && len(all) > 0 {
		pick = all[0]
	}
	if needG > 0 {
		b.lots[of] = pick
	}
	return pick, all
}

// lotLabel is how a lot is called: what stands on it, else its name.
func lotLabel(l *farm.Stock) string {
	switch {
	case l.Lot != "":
		return l.Lot
	case l.Name != "":
		return l.Name
	}
	return l.ID
}

// onRow puts the lots of an ingredient on its row.
func (b *benchAsk) onRow(row *mixRow, of string, needG float64) {
	pick, all := b.stock(of, needG)
	if pick == nil {
		return
	}
	row.Lot = lotLabel(pick)
	if pick.LeftG < needG*0.999 {
		left, unit := grams(b.w, pick.LeftG)
		row.Warn = b.w.T("mix.short", "left", left+" "+unit)
	}
	if len(all) < 2 {
		return
	}
	row.LotName = "lot." + of
	for _, l := range all {
		left, unit := grams(b.w, l.LeftG)
		row.Lots = append(row.Lots, option{l.ID, b.w.T("mix.lot_left", "lot", lotLabel(l), "left", left+" "+unit), l == pick})
	}
}

// taken is what is taken off the shelf, by lot, for a record.
func (b *benchAsk) taken(of map[string]float64) map[string]float64 {
	out := map[string]float64{}
	for name, g := range of {
		if l := b.lots[name]; l != nil {
			out[l.ID] += g
		}
	}
	return out
}

// prices are those of a kilogram, by ingredient, of the chosen lots or else as
// last bought, and the weights of a litre that were weighed.
func (b *benchAsk) prices() (price, bulk map[string]float64) {
	price, bulk = map[string]float64{}, map[string]float64{}
	for i := range b.bench.Shelf.Lots {
		l := &b.bench.Shelf.Lots[i]
		if _, err := medium.Lookup(l.Of, medium.US); err != nil {
			continue // a ready mix
		}
		if l.Price > 0 && l.MassG > 0 {
			price[l.Of] = l.Price / l.MassG * 1000
		}
		if l.BulkGPerL >= 100 && l.BulkGPerL <= 3000 {
			bulk[l.Of] = l.BulkGPerL
		}
	}
	for of, l := range b.lots {
		if l == nil {
			continue
		}
		if l.Price > 0 && l.MassG > 0 {
			price[of] = l.Price / l.MassG * 1000
		}
		if l.BulkGPerL >= 100 && l.BulkGPerL <= 3000 {
			bulk[of] = l.BulkGPerL
		}
	}
	return price, bulk
}

// careOf splits what is to be said of ingredients: what can hurt stands in the
// box, what is mistaken for it and what else to know stands behind it. General
// cautions of the calculator are kept as they are.
func careOf(w *words.Speaker, names []string, cautions []string) (care, more []string) {
	var own []string // beginnings of what the calculator says of an ingredient
	for _, name := range names {
		i, err := medium.Lookup(name, medium.US)
		if err != nil {
			continue
		}
		kitchen := upperFirst(i.Kitchen)
		own = append(own, kitchen+":", kitchen+" never with", kitchen+", not ")
		var parts []string
		if len(i.Safety.Codes) > 0 {
			var says []string
			for _, c := range i.Safety.Codes {
				says = append(says, medium.HazardWords(c)+" ("+c+")")
			}
			parts = append(parts, strings.Join(says, ", ")+".", upperFirst(strings.Join(i.Safety.Care, "; "))+".")
		}
		if len(i.Safety.NeverWith) > 0 {
			parts = append(parts, w.T("mix.never_with", "what", strings.Join(i.Safety.NeverWith, "; ")))
		}
		if len(parts) > 0 {
			care = append(care, kitchen+": "+strings.Join(parts, " "))
		}
		for _, l := range i.LookAlikes {
			more = append(more, w.T("mix.not_this", "name", kitchen, "what", l.What, "why", l.Why))
		}
		if i.Note != "" {
			more = append(more, kitchen+": "+i.Note+".")
		}
	}
	var general []string
	for _, c := range cautions {
		of := false
		for _, o := range own {
			of = of || strings.HasPrefix(c, o)
		}
		if !of {
			general = append(general, c)
		}
	}
	return append(general, care...), more
}

// near is a number with the spread that a share of it makes.
func near(x, share float64) num.Band {
	return num.Band{Low: x * (1 - share), Mid: x, High: x * (1 + share)}
}

// about is a pH as good as a checked meter and a kitchen scale make it: a tenth
// either way, judgement, no source.
func about(ph float64) num.Band { return num.Band{Low: ph - 0.1, Mid: ph, High: ph + 0.1} }

func (b *benchAsk) got(label, name string, band num.Band) mixGet {
	said := b.w.Band(name, band)
	return mixGet{b.w.T(label), said.Value, said.Unit, said.Spread}
}

// money says an amount of the farm's own money.
func money(w *words.Speaker, x float64) string {
	switch {
	case x >= 1000:
		return w.Rounded(x, 1)
	case x >= 0.1:
		return w.Rounded(x, 0.01)
	}
	return w.Rounded(x, 0.0001)
}

// back is the address that shows the same again.
func (b *benchAsk) back() string {
	q := url.Values{}
	for k, v := range b.q {
		if k != "recorded" && k != "id" && len(v) > 0 && v[0] != "" {
			q[k] = v
		}
	}
	q.Set("mode", b.mode)
	return q.Encode()
}
