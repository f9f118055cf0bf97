package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"

	"sodalake/farm"
)

func queryEscape(t string) string { return url.QueryEscape(t) }

type recordsPage struct {
	Frame
	Rows         []journalRow
	Vessels      []option
	Older, First string // addresses; empty where there is nothing to go to
	Empty        bool
	Proof        string
	Broken       bool
}

// perPage is how many entries a page of the journal holds.
const perPage = 50

// records is the journal, newest first.
func (s *server) records(w http.ResponseWriter, r *http.Request) error {
	p, err := s.recordsPage(r)
	if err != nil {
		return err
	}
	return s.views.render(w, r, http.StatusOK, "records", p)
}

func (s *server) recordsPage(r *http.Request) (*recordsPage, error) {
	frame, setup, err := s.frame(r, "records", "")
	if err != nil {
		return nil, err
	}
	q := r.URL.Query()
	ask := Ask{Newest: true, Limit: perPage, Vessel: q.Get("vessel")}
	if b := q.Get("before"); b != "" {
		if ask.Before, err = strconv.ParseInt(b, 10, 64); err != nil || ask.Before < 1 {
			return nil, invalid("before", "", "before %q is not the number of an entry", clip(b))
		}
	}
	entries, err := s.Farm.Entries(r.Context(), ask)
	if err != nil {
		return nil, err
	}
	frame.Title = frame.W.T("records.title")
	p := &recordsPage{Frame: frame, Empty: setup.Head == 0}
	vs, err := s.vesselNames(r)
	if err != nil {
		return nil, err
	}
	for _, v := range setup.Vessels {
		p.Vessels = append(p.Vessels, option{v.ID, v.Name, v.ID == ask.Vessel})
	}
	for _, e := range entries.Entries {
		row := s.rowOf(frame.W, e, s.Now(), vs, entries)
		if name := vs[e.Vessel]; name != "" && ask.Vessel == "" {
			row.What += ", " + name
		}
		p.Rows = append(p.Rows, row)
	}
	link := url.Values{}
	if ask.Vessel != "" {
		link.Set("vessel", ask.Vessel)
	}
	if ask.Before > 0 {
		p.First = "/records?" + link.Encode()
	}
	if n := len(entries.Entries); entries.More && n > 0 {
		link.Set("before", strconv.FormatInt(entries.Entries[n-1].Seq, 10))
		p.Older = "/records?" + link.Encode()
	}
	return p, nil
}

type recordPage struct {
	Frame
	Entry             farm.Entry
	Row               journalRow
	Body              string
	At, Noted         string
	CorrectsHref      string
	CorrectedHref     string
	UndoID, LiftID    string
	CorrectHref       string
	CanUndo, CanAlter bool
	CanLift           bool // a hold may have begun here
	PhotoAlt          string
}

// beginsHold are the kinds whose entries can begin a hold, which a person lifts
// with a reason.
var beginsHold = map[string]bool{"held": true, "quarantined": true, "smell": true, "microscope": true, "event": true, "animals": true, "colour": true}

// record is one entry with all that it carries.
func (s *server) record(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "records", "")
	if err != nil {
		return err
	}
	e, err := s.Farm.Entry(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	vs, err := s.vesselNames(r)
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title = word.T("records.entry", "seq", strconv.FormatInt(e.Seq, 10))
	around, err := s.Farm.Entries(r.Context(), Ask{After: e.Seq - 1, Limit: 1})
	if err != nil {
		return err
	}
	p := recordPage{Frame: frame, Entry: e, Row: s.rowOf(word, e, s.Now(), vs, around), At: word.Moment(e.At), Noted: word.Moment(e.NotedAt), UndoID: s.newID(), LiftID: s.newID()}
	if name := vs[e.Vessel]; name != "" {
		p.Row.What += ", " + name
	}
	p.PhotoAlt = word.T("photo.alt", "what", p.Row.What, "time", p.At)
	var pretty bytes.Buffer
	if json.Indent(&pretty, e.Body, "", "  ") == nil {
		p.Body = pretty.String()
	} else {
		p.Body = string(e.Body)
	}
	if e.Corrects != "" {
		p.CorrectsHref = "/records/entry/" + url.PathEscape(e.Corrects)
	}
	later, corrected := around.Corrected[e.ID]
	if corrected {
		p.CorrectedHref = "/records/entry/" + url.PathEscape(later)
	}
	if k := farm.KindNamed(e.Kind); k != nil && !corrected && k.Group != farm.GroupUndo {
		p.CanUndo = true
		p.CanLift = e.Vessel != "" && beginsHold[e.Kind]
		if k.Group == farm.GroupReading || k.Group == farm.GroupAct {
			p.CanAlter = true
			p.CorrectHref = "/note?corrects=" + url.QueryEscape(e.ID)
		}
	}
	return s.views.render(w, r, http.StatusOK, "record", p)
}

// export sends the whole journal as JSON lines.
func (s *server) export(w http.ResponseWriter, r *http.Request) error {
	h := w.Header()
	h.Set("Content-Type", "application/jsonl; charset=utf-8")
	h.Set("Content-Disposition", `attachment; filename="sodalake-`+s.Now().UTC().Format("2006-01-02")+`.jsonl"`)
	h.Set("Cache-Control", "no-store")
	started := &begun{w: w}
	if err := s.Farm.Export(r.Context(), started); err != nil {
		if !started.yes {
			h.Del("Content-Disposition")
			return err
		}
		// The head is sent: cutting the connection is the only honest end.
		s.Log.Error("export broke off", "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil
}

// begun knows whether anything was written yet.
type begun struct {
	w   io.Writer
	yes bool
}

func (b *begun) Write(p []byte) (int, error) {
	b.yes = b.yes || len(p) > 0
	return b.w.Write(p)
}

// proof reads the chain again and says whether it holds.
func (s *server) proof(w http.ResponseWriter, r *http.Request) error {
	p, err := s.recordsPage(r)
	if err != nil {
		return err
	}
	proof, err := s.Farm.Proof(r.Context())
	if err != nil {
		return err
	}
	if proof.Broken != "" {
		p.Broken, p.Proof = true, p.W.T("records.broken", "what", proof.Broken)
	} else {
		p.Proof = p.W.T("records.whole", "count", int(proof.Count), "hash", short(proof.Hash))
	}
	return s.views.render(w, r, http.StatusOK, "records", p)
}

func short(hash string) string {
	if len(hash) > 16 {
		return hash[:16] + "…"
	}
	return hash
}

// importRecords takes a file of JSON lines: all of it, or nothing.
func (s *server) importRecords(w http.ResponseWriter, r *http.Request) error {
	parts, err := r.MultipartReader()
	if err != nil {
		return invalid("file", "choose a file first", "the form carries no file")
	}
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			return invalid("file", "choose a file first", "the form carries no file")
		}
		if err != nil {
			return formError(err)
		}
		if part.FormName() != "file" {
			continue
		}
		if part.FileName() == "" {
			return invalid("file", "choose a file first", "the form carries no file")
		}
		got, err := s.Farm.Import(r.Context(), part)
		if err != nil {
			return err
		}
		if r.Header.Get("Accept") == "application/json" {
			w.Header().Set("Content-Type", "application/json")
			return json.NewEncoder(w).Encode(got)
		}
		p, err := s.recordsPage(r)
		if err != nil {
			return err
		}
		p.Said = p.W.T("records.imported", "new", fmt.Sprint(got.New), "known", fmt.Sprint(got.Known))
		return s.views.render(w, r, http.StatusOK, "records", p)
	}
}
