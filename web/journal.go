package web

import (
	"encoding/json"
	"net/http"
	"sort"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/words"
)

// journalRow is one entry as a line.
type journalRow struct {
	Day, Clock, Value, What, Small string
	Href                           string
	Photo                          string // name of the photo that it speaks of
	Seq                            int64
	Doubted, Gone                  bool
}

// hidden are keys of a body that a line does not repeat.
var hidden = map[string]bool{"op": true, "with": true, "instrument": true, "flags": true, "text": true, "salts_g": true, "photo_sha256": true}

// line says an entry in a line: the value first, then what it is, then by whom.
func line(w *words.Speaker, e farm.Entry, now time.Time, vessels map[string]string) journalRow {
	day, clock := w.Ago(e.At, now)
	row := journalRow{Day: upperFirst(day), Clock: clock, Seq: e.Seq, Href: "/records/entry/" + e.ID}
	var body map[string]any
	_ = json.Unmarshal(e.Body, &body)
	row.What = w.T("kind." + e.Kind)
	k := farm.KindNamed(e.Kind)
	var rest []string
	if k != nil && k.Group != farm.GroupSetup && k.Group != farm.GroupBatch {
		leadKey := leadOf(k)
		if x, ok := body[leadKey].(float64); ok {
			said := w.Read(leadKey, x)
			op, _ := body["op"].(string)
			row.Value = strings.TrimPrefix(op, "=") + said.Plain()
		}
		if salts, ok := body["salts_g"].(map[string]any); ok {
			row.Value, rest = saltLine(w, salts, rest)
			if len(salts) == 1 {
				for name := range salts {
					row.What = w.T("kind."+e.Kind) + ", " + saltName(w, name)
				}
			}
		}
		for _, key := range sortedKeys(body) {
			if key == leadKey || hidden[key] {
				continue
			}
			rest = append(rest, detail(w, key, body[key], vessels))
		}
		if with, ok := body["with"].(string); ok {
			row.What += ", " + wordOf(w, "with", with)
		}
	} else if name, ok := body["name"].(string); ok {
		rest = append(rest, name)
	}
	if row.Value == "" {
		row.What = upperFirst(row.What)
	}
	if name, ok := body["photo_sha256"].(string); ok {
		row.Photo = name
		if e.Kind != "photo" {
			rest = append(rest, w.T("photo.with"))
		}
	}
	if text, ok := body["text"].(string); ok && text != "" {
		rest = append(rest, "“"+clip(text)+"”")
	}
	if e.By != "" {
		by := e.By
		if name, ok := vessels[by]; ok {
			by = name
		}
		rest = append(rest, w.T("records.by", "who", by))
	}
	row.Small = strings.Join(nonEmpty(rest), "; ")
	return row
}

func nonEmpty(in []string) []string {
	out := in[:0]
	for _, t := range in {
		if t != "" {
			out = append(out, t)
		}
	}
	return out
}

func saltName(w *words.Speaker, name string) string {
	if words.Has("salt." + name) {
		return w.T("salt." + name)
	}
	return name
}

func saltLine(w *words.Speaker, salts map[string]any, rest []string) (string, []string) {
	value := ""
	for i, name := range sortedKeys(salts) {
		x, _ := salts[name].(float64)
		said := w.Read("salt_g", x).Plain()
		if i == 0 && len(salts) == 1 {
			value = said
			continue
		}
		rest = append(rest, said+" "+saltName(w, name))
	}
	return value, rest
}

// detail says one further key of a body.
func detail(w *words.Speaker, key string, v any, vessels map[string]string) string {
	if x, ok := v.(float64); ok {
		if t, ok := w.Try("detail."+key, map[string]any{"n": w.Read(key, x).Plain()}); ok {
			return t
		}
	}
	label := strings.ReplaceAll(words.Stem(key), "_", " ")
	if words.Has("field." + key) {
		label = strings.ToLower(w.T("field." + key))
	}
	switch x := v.(type) {
	case float64:
		return label + " " + w.Read(key, x).Plain()
	case string:
		if name, ok := vessels[x]; ok {
			x = name
		}
		return label + " " + wordOf(w, key, x)
	case bool:
		if x {
			return label
		}
		return ""
	case []any:
		var parts []string
		for _, p := range x {
			if t, ok := p.(string); ok {
				parts = append(parts, wordOf(w, key, t))
			}
		}
		return label + " " + strings.Join(parts, ", ")
	}
	return ""
}

func wordOf(w *words.Speaker, key, word string) string {
	if k := "word." + key + "." + word; words.Has(k) {
		return w.T(k)
	}
	return strings.ReplaceAll(word, "_", " ")
}

// describe says an entry in a few words: "Boat pond, disc 2.7 cm".
func describe(w *words.Speaker, e farm.Entry, vessels map[string]string) string {
	row := line(w, e, e.At, vessels)
	out := strings.TrimSpace(row.What + " " + row.Value)
	if name := vessels[e.Vessel]; name != "" {
		out = name + ", " + strings.ToLower(out[:1]) + out[1:]
		if strings.HasPrefix(row.What, "pH") {
			out = name + ", " + strings.TrimSpace(row.What+" "+row.Value)
		}
	}
	return out
}

// notedToday are today's entries, newest first.
func (s *server) notedToday(r *http.Request, w *words.Speaker, now time.Time) ([]journalRow, error) {
	page, err := s.Farm.Entries(r.Context(), Ask{Newest: true, Limit: 40})
	if err != nil {
		return nil, err
	}
	vs, err := s.vesselNames(r)
	if err != nil {
		return nil, err
	}
	var out []journalRow
	for _, e := range page.Entries {
		k := farm.KindNamed(e.Kind)
		if k == nil || (k.Group != farm.GroupReading && k.Group != farm.GroupAct) || !sameDay(e.At, now, w.Zone()) || len(out) == 8 {
			continue
		}
		row := s.rowOf(w, e, now, vs, page)
		if name := vs[e.Vessel]; name != "" {
			row.What += ", " + name
		}
		out = append(out, row)
	}
	return out, nil
}

// rowOf is a line with what later entries and the twin say of it.
func (s *server) rowOf(w *words.Speaker, e farm.Entry, now time.Time, vs map[string]string, page Page) journalRow {
	row := line(w, e, now, vs)
	if d, ok := page.Doubts[e.ID]; ok {
		row.Doubted = true
		row.Small = w.T("vessel.not_believed") + ": " + strings.TrimSuffix(strings.TrimSpace(w.Sentence(d)), ".") + ". " + row.Small
	}
	if _, ok := page.Corrected[e.ID]; ok {
		row.Gone = true
		row.Small = w.T("records.corrected") + "; " + row.Small
	}
	return row
}

func (s *server) vesselNames(r *http.Request) (map[string]string, error) {
	setup, err := s.Farm.Setup(r.Context())
	if err != nil {
		return nil, err
	}
	vs := make(map[string]string, len(setup.Vessels))
	for _, v := range setup.Vessels {
		vs[v.ID] = v.Name
	}
	// A person's entries carry the person's identifier.
	for _, p := range setup.People {
		if _, taken := vs[p.ID]; !taken {
			vs[p.ID] = p.Name
		}
	}
	return vs, nil
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
