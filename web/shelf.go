package web

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/medium"
	"sodalake/science/num"
	"sodalake/words"
)

type shelfPage struct {
	Frame
	Empty    bool
	Needs    []shelfNeed
	Loose    []shelfLot // lots whose salt is not known
	UsedUp   []shelfLot
	Batches  []shelfBatch
	Costs    []shelfCost
	Kilogram *shelfCost
	Untraced []string
	Eating   bool
	Begin    []string // how an empty shelf begins
}

// shelfNeed is one ingredient with its lots.
type shelfNeed struct {
	ID, Amount, Unit, Name string
	Lasts                  string // until when
	Rate                   string
	Soon                   bool
	Lots                   []shelfLot
	Facts                  []part // what it is, how it can hurt, what is mistaken for it
}

type shelfLot struct {
	ID, Name, Amount, Unit, Small, Href string
	LeftID                              string // ULID that its form carries
	Over                                string
	Uses                                []string
	Certificate, Text                   string
}

type shelfBatch struct{ Amount, Unit, Name, Small, Href string }

type shelfCost struct{ Name, Value, Small string }

// soonDays is when a salt that runs out is said first [d]: judgement, no source.
const soonDays = 21

// shelf is what stands on the shelf, and until when it lasts.
func (s *server) shelf(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "shelf", "")
	if err != nil {
		return err
	}
	sh, err := s.Farm.Shelf(r.Context(), s.Now())
	if err != nil {
		return err
	}
	vs, err := s.vesselNames(r)
	if err != nil {
		return err
	}
	frame.Title, frame.Sheet = frame.W.T("shelf.title"), "mix.css"
	if r.URL.Query().Get("said") == "saved" {
		frame.Said = frame.W.T("setup.saved")
	}
	p := shelfPage{Frame: frame, Empty: len(sh.Lots) == 0, Eating: sh.Eating}
	if p.Empty {
		p.Begin = []string{frame.W.T("shelf.begin_1"), frame.W.T("shelf.begin_2"), frame.W.T("shelf.begin_3")}
	}
	lots := map[string][]shelfLot{}
	for i := range sh.Lots {
		l := &sh.Lots[i]
		row := s.lotRow(frame.W, l, sh.At, vs)
		switch {
		case l.LeftG <= 0 && l.OverG == 0 && (len(l.Uses) > 0 || !l.Counted.IsZero()):
			p.UsedUp = append(p.UsedUp, row)
		case l.Of == "":
			p.Loose = append(p.Loose, row)
		default:
			lots[l.Of] = append(lots[l.Of], row)
		}
	}
	for _, n := range sh.Needs {
		if len(lots[n.Of]) == 0 {
			continue
		}
		p.Needs = append(p.Needs, needRow(frame.W, &n, sh.At, lots[n.Of]))
	}
	for _, b := range sh.Batches {
		said := frame.W.Number("volume_l", b.LeftL)
		name := b.Medium.Recipe
		for _, c := range sh.Litres {
			if c.ID == name {
				name = c.Name
			}
		}
		if name == "" {
			name = frame.W.T("mix.name_own")
		}
		day, _ := frame.W.Ago(b.At, sh.At)
		p.Batches = append(p.Batches, shelfBatch{said.Value, said.Unit, name, frame.W.T("shelf.batch", "day", day, "volume", frame.W.Number("volume_l", b.VolumeL).Plain()), "/mix?mode=top&with=batch." + b.EntryID})
	}
	p.costs(&sh)
	for _, of := range sortedKeys(sh.Untraced) {
		value, unit := grams(frame.W, sh.Untraced[of])
		p.Untraced = append(p.Untraced, frame.W.T("shelf.untraced", "mass", value+" "+unit, "name", kitchenName(of)))
	}
	return s.views.render(w, r, http.StatusOK, "shelf", p)
}

// kitchenName is what a grower says for an ingredient.
func kitchenName(of string) string {
	if i, err := medium.Lookup(of, medium.US); err == nil {
		return i.Kitchen
	}
	return of
}

// lotRow says one lot.
func (s *server) lotRow(w *words.Speaker, l *farm.Stock, now time.Time, vs map[string]string) shelfLot {
	value, unit := grams(w, l.LeftG)
	row := shelfLot{ID: l.ID, Name: lotLabel(l), Amount: value, Unit: unit, Href: "/shelf/lot?id=" + url.QueryEscape(l.ID), LeftID: s.newID(), Certificate: l.Certificate, Text: l.Text}
	bought, bUnit := grams(w, l.MassG)
	small := []string{w.T("shelf.of", "mass", bought+" "+bUnit)}
	if l.Name != "" && l.Name != row.Name {
		small = append(small, l.Name)
	}
	if l.Grade != "" {
		small = append(small, w.T("grade."+l.Grade))
	}
	if l.PurityPct > 0 {
		small = append(small, w.T("shelf.pure", "pct", w.Bound(l.PurityPct)))
	}
	if l.Price > 0 && l.MassG > 0 {
		small = append(small, w.T("shelf.price", "price", money(w, l.Price/l.MassG*1000)))
	}
	if l.UseBy != "" {
		key := "shelf.use_by"
		if day, err := time.ParseInLocation(time.DateOnly, l.UseBy, w.Zone()); err == nil && day.AddDate(0, 0, 1).Before(now) {
			key = "shelf.use_by_past"
		}
		small = append(small, w.T(key, "until", l.UseBy))
	}
	if !l.Counted.IsZero() {
		day, _ := w.Ago(l.Counted, now)
		small = append(small, w.T("shelf.counted", "day", day))
	}
	row.Small = strings.Join(small, " · ")
	if l.OverG > 0 {
		over, u := grams(w, l.OverG)
		row.Over = w.T("shelf.over", "mass", over+" "+u)
	}
	for i := len(l.Uses) - 1; i >= 0 && len(row.Uses) < 5; i-- {
		u := l.Uses[i]
		mass, un := grams(w, u.MassG)
		day, _ := w.Ago(u.At, now)
		where := vs[u.Vessel]
		if where == "" {
			where = w.T("mix.stands_ready")
		}
		row.Uses = append(row.Uses, w.T("shelf.use", "day", day, "mass", mass+" "+un, "act", w.T("kind."+u.Kind), "where", where))
	}
	return row
}

// needRow says one ingredient: how much, and until when it lasts.
func needRow(w *words.Speaker, n *keeper.Need, now time.Time, lots []shelfLot) shelfNeed {
	value, unit := grams(w, n.LeftG)
	row := shelfNeed{ID: "i-" + idOf(n.Of), Amount: value, Unit: unit, Name: upperFirst(n.Name), Lots: lots}
	row.Lasts = lasts(w, n, now)
	row.Soon = !n.RunsOut.Mid.IsZero() && n.RunsOut.Mid.Sub(now) < soonDays*24*time.Hour
	if n.RateGPerD.Mid > 0 {
		key := "shelf.rate_past"
		if n.ByForecast {
			key = "shelf.rate_ahead"
		}
		row.Rate = w.T(key, "rate", rateOf(w, n.RateGPerD))
	}
	i, err := medium.Lookup(n.Of, medium.US)
	if err != nil {
		return row
	}
	t := w.T
	add := func(key, text string) {
		if text != "" {
			row.Facts = append(row.Facts, part{t(key), text})
		}
	}
	add("shelf.what", strings.TrimSpace(upperFirst(i.Name)+" "+i.Formula))
	add("shelf.ask", upperFirst(i.Grade))
	add("shelf.for_food", t("hold.food_"+foodOf(i)))
	if len(i.Safety.Codes) > 0 {
		var says []string
		for _, c := range i.Safety.Codes {
			says = append(says, medium.HazardWords(c)+" ("+c+")")
		}
		add("shelf.hurts", upperFirst(strings.Join(says, ", "))+". "+upperFirst(strings.Join(i.Safety.Care, "; "))+".")
	}
	if len(i.Safety.NeverWith) > 0 {
		add("shelf.never", upperFirst(strings.Join(i.Safety.NeverWith, "; ")))
	}
	for k, l := range i.LookAlikes {
		key := "shelf.mistaken"
		if k > 0 {
			key = "part.also"
		}
		add(key, upperFirst(l.What)+": "+l.Why)
	}
	add("shelf.note", upperFirst(i.Note))
	add("shelf.restricted", upperFirst(i.Restricted))
	return row
}

func foodOf(i *medium.Ingredient) string {
	if i.Food == "" {
		return string(medium.Certificate)
	}
	return string(i.Food)
}

// rateOf says grams a day with their spread.
func rateOf(w *words.Speaker, b num.Band) string {
	if b.Mid >= 1000 {
		return w.Band("x_kg", num.Band{Low: b.Low / 1000, Mid: b.Mid / 1000, High: b.High / 1000}).Full()
	}
	return w.Band("x_mass_g", b).Full()
}

// dayFar says a day that may lie far ahead: with its weekday where it is near,
// with its year where it is another.
func dayFar(w *words.Speaker, t, now time.Time) string {
	text := w.DayMonth(t)
	if t.Sub(now) > 25*24*time.Hour {
		text, _ = w.Ago(t, now)
	}
	if t.In(w.Zone()).Year() != now.In(w.Zone()).Year() {
		text += " " + strconv.Itoa(t.In(w.Zone()).Year())
	}
	return text
}

// lasts says until when something lasts.
func lasts(w *words.Speaker, n *keeper.Need, now time.Time) string {
	r := n.RunsOut
	switch {
	case n.LeftG <= 0:
		return w.T("shelf.none_left")
	case n.RateGPerD.Mid <= 0 && n.RateGPerD.High <= 0:
		return w.T("shelf.nothing_goes")
	case r.Mid.IsZero() && r.Early.IsZero():
		return w.T("shelf.lasts_year")
	case r.Mid.IsZero():
		return w.T("shelf.lasts_from", "early", dayFar(w, r.Early, now))
	case r.Late.IsZero():
		return w.T("shelf.lasts_open", "mid", dayFar(w, r.Mid, now), "early", dayFar(w, r.Early, now))
	}
	return w.T("shelf.lasts", "mid", dayFar(w, r.Mid, now), "early", dayFar(w, r.Early, now), "late", dayFar(w, r.Late, now))
}

// costs says what a litre and a kilogram cost.
func (p *shelfPage) costs(sh *keeper.Shelf) {
	w := p.W
	say := func(c *keeper.Cost, name string) *shelfCost {
		if c.Priced == 0 {
			return &shelfCost{Name: name, Value: "–", Small: w.T("shelf.no_price")}
		}
		out := &shelfCost{Name: name, Value: money(w, c.Value)}
		if len(c.Missing) > 0 {
			out.Small = w.T("shelf.without", "names", w.List(c.Missing))
		}
		return out
	}
	for i := range sh.Litres {
		p.Costs = append(p.Costs, *say(&sh.Litres[i], w.T("shelf.litre", "name", sh.Litres[i].Name)))
	}
	p.Kilogram = say(&sh.Kilogram, w.T("shelf.kilogram"))
}
