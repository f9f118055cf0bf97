package web

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"

	"sodalake/document"
	"sodalake/farm"
)

// mixKinds are the acts that the bench records.
var mixKinds = map[string]bool{"mixed": true, "topped_up": true, "fed": true, "dosed": true}

// mixBack is the address of the bench that a form came from.
func mixBack(query string, more url.Values) string {
	q, err := url.ParseQuery(query)
	if err != nil {
		q = url.Values{}
	}
	q.Del("recorded")
	for k, v := range more {
		q[k] = v
	}
	return "/mix?" + q.Encode()
}

// writeMix records what was mixed, fed or dosed: the entry that the form
// carried.
func (s *server) writeMix(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	var e farm.Entry
	dec := json.NewDecoder(strings.NewReader(f.Get("record")))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil || !mixKinds[e.Kind] || e.Corrects != "" {
		return invalid("record", "open Mix again", "the form's record cannot be read")
	}
	if e.Kind == "mixed" {
		e.Vessel = f.Get("vessel")
	}
	now := s.Now()
	e.ID, e.Item, e.At, e.NotedAt, e.By = f.Get("id"), f.Get("item"), now, now, s.Who(r)
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, mixBack(f.Get("back"), url.Values{"recorded": {e.ID}}), http.StatusSeeOther)
	return nil
}

// writeRecipe keeps what was mixed as a recipe of the farm.
func (s *server) writeRecipe(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f := r.PostForm
	name := strings.TrimSpace(f.Get("name"))
	id := slug(name)
	if id == "" {
		return invalid("name", "", "name is missing")
	}
	var body map[string]any
	if err := json.Unmarshal([]byte(f.Get("body")), &body); err != nil || body == nil {
		return invalid("body", "open Mix again", "the form's recipe cannot be read")
	}
	body["id"], body["name"], body["use"] = id, name, "medium"
	if err := s.describe(r, "recipe", f.Get("id"), body); err != nil {
		return err
	}
	http.Redirect(w, r, mixBack(f.Get("back"), url.Values{"recipe": {"farm." + id}}), http.StatusSeeOther)
	return nil
}

// mixPDF is the sheet on paper.
func (s *server) mixPDF(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "mix", "")
	if err != nil {
		return err
	}
	b, err := s.asked(r, frame, setup)
	if err != nil {
		return err
	}
	p := mixPage{Frame: frame, Mode: b.mode}
	b.fill(&p)
	if p.Out.Bad != nil {
		return &farm.Error{Code: farm.Invalid, Field: p.Out.Bad.Field, Message: p.Out.Bad.Message, Hint: p.Out.Bad.Hint}
	}
	if len(p.Out.Stages) == 0 {
		return invalid("mode", "", "there is nothing to weigh, so there is no sheet")
	}
	t := frame.W.T
	sheet := document.MixSheet{
		Head: s.sheetHead(&p), Title: p.Out.Title, Lead: p.Out.Lead, Made: s.Now(),
		Columns:   [5]string{t("mix.col_weigh"), t("mix.col_salt"), t("mix.col_weighed"), t("mix.col_lot"), t("mix.col_in")},
		GetsTitle: t("mix.gets"), CareTitle: t("mix.care"), Care: p.Out.Care, Signs: [3]string{t("mix.sign_by"), t("mix.sign_when"), t("mix.sign_vessel")},
	}
	for _, st := range p.Out.Stages {
		rows := make([]document.MixRow, len(st.Rows))
		for i, x := range st.Rows {
			rows[i] = document.MixRow{Amount: x.Amount, Unit: x.Unit, Name: x.Name, Small: x.Small, Lot: x.Lot}
		}
		sheet.Stages = append(sheet.Stages, document.MixStage{Number: st.No, Text: st.Text, Rows: rows})
	}
	for _, g := range p.Out.Gets {
		sheet.Gets = append(sheet.Gets, document.MixGet(g))
	}
	var out bytes.Buffer
	if err := sheet.PDF(&out); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "application/pdf")
	h.Set("Content-Disposition", `inline; filename="mixing-sheet-`+s.Now().UTC().Format("2006-01-02")+`.pdf"`)
	h.Set("Cache-Control", "no-store")
	_, err = w.Write(out.Bytes())
	return ignoreGone(err)
}

// sheetHead is the line above a printed sheet.
func (s *server) sheetHead(p *mixPage) string {
	parts := []string{p.W.T("mix.sheet"), p.Farm, p.W.LongDay(s.Now())}
	if s.Invented {
		parts = append(parts, p.W.T("app.invented"))
	}
	return strings.Join(nonEmpty(parts), " · ")
}
