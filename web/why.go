package web

import (
	"net/http"
	"strings"

	"sodalake/farm/calc"
	"sodalake/science/medium"
	"sodalake/words"
)

// whyLink leads from a default to the row of "who says what, and why".
type whyLink struct{ Href, Label string }

// whysFor are the rows behind the defaults of a calculator.
func whysFor(w *words.Speaker, calculator string) []whyLink {
	var out []whyLink
	for _, s := range calc.SayingsFor(calculator) {
		out = append(out, whyLink{"/why#" + s.ID, s.Quantity})
	}
	return out
}

type whyPage struct {
	Frame
	Rows []whyRow
}

type whyRow struct {
	ID, Quantity, Seen, Why, Say, Source string
	Calculators                          []navLink
}

// why is the page of figures that quarrel.
func (s *server) why(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "why", "")
	if err != nil {
		return err
	}
	frame.Title, frame.Sheet = frame.W.T("why.title"), "mix.css"
	p := whyPage{Frame: frame}
	for _, x := range calc.Sayings() {
		row := whyRow{ID: x.ID, Quantity: upperFirst(x.Quantity), Seen: upperFirst(x.Seen), Why: upperFirst(x.Why), Say: upperFirst(x.Say), Source: x.Source}
		for _, name := range x.Calculators {
			if c, err := s.Calculators.Get(name); err == nil {
				row.Calculators = append(row.Calculators, navLink{"/calc/" + name, c.Title})
			}
		}
		p.Rows = append(p.Rows, row)
	}
	return s.views.render(w, r, http.StatusOK, "why", p)
}

type holdPage struct {
	Frame
	Cards  []feedCard
	Traces []traceCard
}

// feedCard is what can be said of something that nobody weighed.
type feedCard struct {
	ID, Title, Also string
	Brings          []navLink // what, and how much
	Unsure          string
	Carries         string
	Instead         string
	Dose            string
	Food            string
	Source          string
}

// traceCard is a stock of trace elements.
type traceCard struct {
	Title, Dose, Food, Note, Source string
	Salts                           [][]string
}

// hold asks what a grower begins with, and tells of feeds that nobody weighed.
func (s *server) hold(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "mix", "")
	if err != nil {
		return err
	}
	t := frame.W.T
	frame.Title, frame.Sheet = t("hold.title"), "mix.css"
	p := holdPage{Frame: frame}
	for _, c := range medium.NaturalFeeds() {
		card := feedCard{
			ID: c.ID, Title: c.Title, Also: strings.Join(c.Also, ", "), Unsure: upperFirst(c.Unsure), Carries: upperFirst(strings.Join(c.Carries, "; ")),
			Instead: upperFirst(c.Instead), Dose: upperFirst(c.How), Food: t("hold.food_" + string(c.Food)), Source: c.Source,
		}
		for _, b := range c.Brings {
			low, high := frame.W.Bound(b.Low), frame.W.Bound(b.High)
			amount := low + "–" + high
			if low == high {
				amount = low
			}
			if b.High > 0 {
				amount = strings.TrimSpace(amount + " " + b.Unit)
			} else {
				amount = ""
			}
			card.Brings = append(card.Brings, navLink{Label: upperFirst(b.What), Href: amount})
		}
		p.Cards = append(p.Cards, card)
	}
	for _, x := range medium.TraceMixes() {
		card := traceCard{Title: x.Title, Dose: t("hold.trace_dose", "dose", frame.W.Bound(x.DoseML)), Food: t("hold.food_" + string(x.Food)), Note: upperFirst(x.Note), Source: x.Source}
		for _, salt := range sortedKeys(x.GPerL) {
			card.Salts = append(card.Salts, []string{salt, frame.W.Bound(x.GPerL[salt]) + " g/L"})
		}
		p.Traces = append(p.Traces, card)
	}
	return s.views.render(w, r, http.StatusOK, "hold", p)
}
