package web

import (
	"bytes"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"sodalake/document"
	"sodalake/keeper"
	"sodalake/words"
)

type hazardsPage struct {
	Frame
	From, To, PDF string
	Lead          string
	Controls      []hazardControl
	Lots          []lotRow
}

type hazardControl struct {
	Number, Step string
	Critical     bool
	Rows         []document.HazardRow
	Open         bool
}

// hazardSpan reads the days of a plan: the month up to today where none are
// asked for. to is the end of its last day.
func (s *server) hazardSpan(r *http.Request, sp *words.Speaker) (from, to time.Time, err error) {
	q := r.URL.Query()
	now := s.Now().In(sp.Zone())
	to = time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, sp.Zone())
	from = to.AddDate(0, -1, 0)
	for _, x := range []struct {
		key  string
		into *time.Time
	}{{"from", &from}, {"to", &to}} {
		text := q.Get(x.key)
		if text == "" {
			continue
		}
		t, err := time.ParseInLocation(time.DateOnly, text, sp.Zone())
		if err != nil {
			return from, to, invalid(x.key, "", "%s %q is not a day", x.key, clip(text))
		}
		*x.into = t
	}
	if to.Before(from) {
		return from, to, invalid("to", "", "to lies before from")
	}
	if to.Sub(from) > 800*24*time.Hour {
		return from, to, invalid("from", "two years at most", "from lies more than two years before to")
	}
	return from, to.AddDate(0, 0, 1), nil
}

func (s *server) hazardsFor(r *http.Request) (v keeper.HazardView, from, to time.Time, err error) {
	if from, to, err = s.hazardSpan(r, s.speaker(r)); err != nil {
		return v, from, to, err
	}
	v, err = s.Farm.Hazards(r.Context(), from, to, s.Now())
	return v, from, to, err
}

// hazards shows the farm's plan of control; there is nothing to change on it.
func (s *server) hazards(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	v, from, to, err := s.hazardsFor(r)
	if err != nil {
		return err
	}
	word := frame.W
	p := hazardsPage{Frame: frame, From: from.Format(time.DateOnly), To: to.AddDate(0, 0, -1).Format(time.DateOnly), Lead: document.HazardLead(&v.HazardPlan, word)}
	p.Title, p.Sheet = word.T("hazard.title"), "lots.css"
	p.PDF = "/hazards.pdf?" + url.Values{"from": {p.From}, "to": {p.To}}.Encode()
	for i := range v.Controls {
		c := &v.Controls[i]
		p.Controls = append(p.Controls, hazardControl{
			Number: strconv.Itoa(i + 1), Step: word.T("hazard." + c.Key + ".step"), Critical: c.Critical, Rows: document.HazardRows(c, word), Open: len(c.Counts.Open) > 0,
		})
	}
	for i := range v.Lots {
		p.Lots = append(p.Lots, rowOfLot(word, &v.Lots[i]))
	}
	return s.views.render(w, r, http.StatusOK, "hazards", p)
}

// hazardsPDF binds it with the lots and the registers of its time.
func (s *server) hazardsPDF(w http.ResponseWriter, r *http.Request) error {
	v, from, _, err := s.hazardsFor(r)
	if err != nil {
		return err
	}
	setup, err := s.Farm.Setup(r.Context())
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := document.HazardReport(&v.HazardPlan, v.Registers, setup.Site.Name, s.speaker(r), s.Now()).PDF(&b); err != nil {
		return err
	}
	return sendFile(w, r, "application/pdf", "plan-of-control-"+from.Format(time.DateOnly)+".pdf", b.Bytes())
}
