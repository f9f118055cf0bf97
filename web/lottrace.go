package web

import (
	"bytes"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/farm/lot"
)

type tracePage struct {
	Frame
	Name, Since string
	Asked       bool
	Reached     string
	Sections    []traceSection
	Notice      string
	LotHref     string
	CSV, PDF    string
	Choices     []optionGroup
	Unknown     string
	IsLot       bool
	ID          string
}

type traceSection struct {
	Title string
	Rows  []traceLine
	Text  string
}

type traceLine struct{ What, Which, Href, When, Amount, More string }

// traceFor reads what a trace begins with: the lot of the path, or a name and a
// day that were asked for.
func (s *server) traceFor(r *http.Request) (t lot.Trace, name string, since time.Time, err error) {
	q := r.URL.Query()
	name = r.PathValue("id")
	if name == "" {
		name = strings.TrimSpace(q.Get("from"))
	}
	if text := strings.TrimSpace(q.Get("since")); text != "" {
		sp := s.speaker(r)
		if since, err = time.ParseInLocation(time.DateOnly, text, sp.Zone()); err != nil {
			return t, name, since, invalid("since", "", "since %q is not a day", clip(text))
		}
	}
	if name == "" {
		return t, name, since, nil
	}
	t, err = s.Farm.Trace(r.Context(), name, since, s.Now())
	return t, name, since, err
}

// trace shows where a lot comes from and what a recall would reach.
func (s *server) trace(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	word := frame.W
	t, name, since, err := s.traceFor(r)
	status := http.StatusOK
	p := tracePage{Frame: frame, Name: name, Asked: name != ""}
	if err != nil {
		if farm.CodeOf(err) != farm.NotFound || r.PathValue("id") != "" {
			return err
		}
		p.Unknown, status, p.Asked = err.Error(), http.StatusNotFound, false
	}
	p.Title, p.Sheet = word.T("trace.page"), "lots.css"
	if !since.IsZero() {
		p.Since = since.Format(time.DateOnly)
	}
	if p.Asked {
		p.fill(&t)
		q := ""
		if r.PathValue("id") == "" {
			q = "?" + url.Values{"from": {name}, "since": {p.Since}}.Encode()
			p.CSV, p.PDF = "/trace.csv"+q, "/trace.pdf"+q
		} else {
			base := "/lots/" + url.PathEscape(name)
			p.CSV, p.PDF, p.LotHref, p.IsLot, p.ID = base+"/trace.csv", base+"/trace.pdf", base, true, s.newID()
		}
	}
	if r.PathValue("id") == "" {
		if err := s.traceChoices(r, &p, setup); err != nil {
			return err
		}
	}
	return s.views.render(w, r, status, "trace", p)
}

// traceChoices are what a recall can begin with.
func (s *server) traceChoices(r *http.Request, p *tracePage, setup Setup) error {
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return err
	}
	group := func(key string) *optionGroup {
		p.Choices = append(p.Choices, optionGroup{Label: p.W.T("trace.group_" + key)})
		return &p.Choices[len(p.Choices)-1]
	}
	g := group("lots")
	for i := range lots.Lots {
		g.Options = append(g.Options, option{lots.Lots[i].ID, lots.Lots[i].ID, lots.Lots[i].ID == p.Name})
	}
	g = group("vessels")
	for _, v := range setup.Vessels {
		g.Options = append(g.Options, option{v.ID, v.Name, v.ID == p.Name})
	}
	g = group("supplies")
	for _, id := range sortedKeys(lots.Names.Supplies) {
		g.Options = append(g.Options, option{id, lots.Names.Of(lots.Names.Supplies, id), id == p.Name})
	}
	g = group("tools")
	for _, id := range sortedKeys(lots.Names.Tools) {
		g.Options = append(g.Options, option{id, lots.Names.Of(lots.Names.Tools, id), id == p.Name})
	}
	return nil
}

func (p *tracePage) fill(t *lot.Trace) {
	word := p.W
	p.Title = document.TraceTitle(t, word)
	p.Reached = word.T("trace.reached_n", "lots", strconv.Itoa(len(t.Recall.Lots)), "people", strconv.Itoa(len(t.Recall.People)))
	p.Notice = document.TraceNotice(t, word)
	rows := document.TraceRows(t, word)
	for _, part := range []string{"people", "forward", "back", "balance"} {
		sec := traceSection{Title: word.T("trace." + part)}
		for i := range rows {
			if rows[i].Part != part {
				continue
			}
			c := rows[i].Cells(word)
			line := traceLine{What: c[0], Which: c[1], When: c[2], Amount: c[3], More: c[4]}
			switch rows[i].Kind {
			case "lot", "reached":
				line.Href = "/lots/" + url.PathEscape(rows[i].ID)
			case "harvest", "pour", "tool", "culture":
				line.Href = "/records/entry/" + rows[i].Entry
			case "supply":
				line.Href = "/trace?from=" + url.QueryEscape(rows[i].ID)
			}
			sec.Rows = append(sec.Rows, line)
		}
		if part == "balance" && t.Recall.Total.Unknown > 0 {
			sec.Text = word.T("trace.unknown", "n", strconv.Itoa(t.Recall.Total.Unknown))
		}
		if len(sec.Rows) > 0 {
			p.Sections = append(p.Sections, sec)
		}
	}
}

// traceFile sends a trace as CSV or PDF.
func (s *server) traceFile(w http.ResponseWriter, r *http.Request) error {
	t, name, _, err := s.traceFor(r)
	if err != nil {
		return err
	}
	if name == "" {
		return invalid("from", "", "from is missing")
	}
	sp := s.speaker(r)
	var b bytes.Buffer
	kind, ending := "text/csv; charset=utf-8", "csv"
	if strings.HasSuffix(r.URL.Path, ".pdf") {
		kind, ending = "application/pdf", "pdf"
		setup, err := s.Farm.Setup(r.Context())
		if err != nil {
			return err
		}
		err = document.TraceReport(&t, setup.Site.Name, sp, s.Now()).PDF(&b)
		if err != nil {
			return err
		}
	} else if err := document.TraceCSV(&b, document.TraceRows(&t, sp)); err != nil {
		return err
	}
	return sendFile(w, r, kind, "trace-"+slug(name)+"."+ending, b.Bytes())
}

func sendFile(w http.ResponseWriter, _ *http.Request, kind, name string, b []byte) error {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", name))
	h.Set("Cache-Control", "no-store")
	h.Set("Content-Length", strconv.Itoa(len(b)))
	_, err := w.Write(b)
	return ignoreGone(err)
}

// label sends the label of a lot.
func (s *server) label(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	key := q.Get("size")
	if key == "" {
		key = document.LabelSizes[0].Key
	}
	size, ok := document.LabelSizeOf(key)
	if !ok {
		return invalid("size", "", "size %q is not known", clip(key))
	}
	sp := s.speaker(r)
	g := 0.0
	if text := strings.TrimSpace(q.Get("mass")); text != "" {
		var err error
		if g, err = mass("mass", text, sp); err != nil {
			return err
		}
	}
	v, err := s.Farm.Lot(r.Context(), r.PathValue("id"), s.Now())
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := document.LabelOf(&v.Lot, &v.Plan, sp, size, g, s.Now()).PDF(&b); err != nil {
		return err
	}
	return sendFile(w, r, "application/pdf", "label-"+slug(v.ID)+".pdf", b.Bytes())
}
