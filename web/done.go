package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/words"
)

// invalid is a bad input at a field.
func invalid(field, hint, format string, args ...any) error {
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf(format, args...), Hint: hint}
}

// done records an item of the day list: the entry that the item carried, with
// the amount that was really taken.
func (s *server) done(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	var e farm.Entry
	dec := json.NewDecoder(strings.NewReader(r.PostForm.Get("record")))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&e); err != nil {
		return invalid("record", "open Today again", "the form's record cannot be read")
	}
	if text := strings.TrimSpace(r.PostForm.Get("amount")); text != "" {
		sp := s.speaker(r)
		if err := setAmount(sp, &e, text, r.PostForm.Get("unit")); err != nil {
			return err
		}
	}
	now := s.Now()
	e.ID, e.Item, e.At, e.NotedAt, e.By = r.PostForm.Get("id"), r.PostForm.Get("item"), now, now, s.Who(r)
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/#v-"+idOf(e.Vessel), http.StatusSeeOther)
	return nil
}

func formError(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return invalid("", "", "the form cannot be read")
}

// setAmount puts the amount that was typed into the entry's body. unit is the
// unit that the form showed.
func setAmount(sp *words.Speaker, e *farm.Entry, text, unit string) error {
	x, err := plainNumber("amount", text)
	if err != nil {
		return err
	}
	if !(x > 0) {
		return invalid("amount", "", "amount %q is not above zero", text)
	}
	var body map[string]json.RawMessage
	if err := json.Unmarshal(e.Body, &body); err != nil {
		return invalid("record", "open Today again", "the form's record cannot be read")
	}
	// The item's own unit follows from the key; the speaker turns the shown
	// unit back into it.
	for _, own := range []string{"L", "g", "%", "cm", "min"} {
		key := amountKey(e.Body, own)
		if key == "" {
			continue
		}
		was := advice.Amount{Unit: own, Value: storedAmount(body[key])}
		if _, shown := sp.AmountUnit(was); shown != unit {
			continue
		}
		value := strconv.FormatFloat(roundTo(sp.StoredAmount(was, x), 4), 'f', -1, 64)
		if key == "salts_g" {
			var salts map[string]json.RawMessage
			if json.Unmarshal(body[key], &salts) != nil {
				continue
			}
			for name := range salts {
				salts[name] = json.RawMessage(value)
			}
			raw, err := json.Marshal(salts)
			if err != nil {
				return err
			}
			body[key] = raw
		} else {
			body[key] = json.RawMessage(value)
		}
		raw, err := json.Marshal(body)
		if err != nil {
			return err
		}
		e.Body = raw
		return nil
	}
	return invalid("amount", "open Today again", "amount in %q does not belong to this act", unit)
}

// storedAmount reads a number, or the one number of an object.
func storedAmount(raw json.RawMessage) float64 {
	var x float64
	if json.Unmarshal(raw, &x) == nil {
		return x
	}
	var m map[string]float64
	if json.Unmarshal(raw, &m) == nil {
		for _, v := range m {
			return v
		}
	}
	return 0
}

// roundTo keeps n leading digits, so that gallons turned into litres do not
// pretend to a micrometre.
func roundTo(x float64, n int) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', n, 64), 64)
	if err != nil {
		return x
	}
	return v
}

// plainNumber reads a number as people type it, with a point or a comma.
func plainNumber(field, text string) (float64, error) {
	t := strings.TrimSpace(strings.ReplaceAll(text, "−", "-"))
	if strings.Count(t, ",") == 1 && !strings.Contains(t, ".") {
		t = strings.Replace(t, ",", ".", 1)
	}
	x, err := strconv.ParseFloat(t, 64)
	if err != nil || x != x || x > 1e12 || x < -1e12 || strings.ContainsAny(t, "xXpPiInN_") {
		return 0, invalid(field, "digits with a point or a comma", "%s %q is not a number", field, clip(text))
	}
	return x, nil
}

// write appends one entry. known is true where the same maker's form had
// written it before: then nothing was written and the entry stands as it was.
func (s *server) write(ctx context.Context, e farm.Entry, origin farm.Origin) (stored farm.Entry, known bool, err error) {
	if _, err := farm.ParseID(e.ID); err != nil {
		return e, false, invalid("id", "open the page again", "the form carries no identifier")
	}
	if was, err := s.Farm.Entry(ctx, e.ID); err == nil {
		if same(was, e) {
			return was, true, nil
		}
		return was, false, &farm.Error{Code: farm.Conflict, Field: "id", Message: "this form was sent before with other words", Hint: "open the page again and note it anew"}
	}
	e.V = max(e.V, 1)
	got, err := s.Farm.Append(ctx, []farm.Entry{e}, origin)
	if farm.CodeOf(err) == farm.Conflict {
		// The same form, twice at once: the other one was first.
		if was, err2 := s.Farm.Entry(ctx, e.ID); err2 == nil && same(was, e) {
			return was, true, nil
		}
	}
	if err != nil {
		return e, false, err
	}
	if len(got) != 1 {
		return e, false, fmt.Errorf("append answered %d entries for one", len(got))
	}
	return got[0], false, nil
}

// same tells whether two entries say the same of the same thing. Times are left
// out: a form that is sent twice was sent at two moments.
func same(a, b farm.Entry) bool {
	return a.ID == b.ID && a.Kind == b.Kind && a.Vessel == b.Vessel && a.Corrects == b.Corrects && a.Item == b.Item && sameJSON(a.Body, b.Body)
}

func sameJSON(a, b []byte) bool {
	var x, y any
	if json.Unmarshal(a, &x) != nil || json.Unmarshal(b, &y) != nil {
		return bytes.Equal(a, b)
	}
	p, err1 := json.Marshal(x)
	q, err2 := json.Marshal(y)
	return err1 == nil && err2 == nil && bytes.Equal(p, q)
}

// undo takes an entry back: a new entry says so, and both stay in the journal.
func (s *server) undo(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	was, err := s.Farm.Entry(r.Context(), r.PostForm.Get("entry"))
	if err != nil {
		return err
	}
	if k := farm.KindNamed(was.Kind); k == nil || k.Group == farm.GroupUndo {
		return invalid("entry", "", "an entry of kind %q cannot be taken back", was.Kind)
	}
	now := s.Now()
	body := map[string]string{}
	if reason := strings.TrimSpace(r.PostForm.Get("reason")); reason != "" {
		body["reason"] = reason
	}
	raw, err := json.Marshal(body)
	if err != nil {
		return err
	}
	e := farm.Entry{ID: r.PostForm.Get("id"), Site: was.Site, Vessel: was.Vessel, Kind: "withdrawn", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw, Corrects: was.ID}
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	back := "/#v-" + idOf(was.Vessel)
	switch r.PostForm.Get("back") {
	case "records":
		back = "/records"
	case "mix":
		back = "/mix"
	}
	http.Redirect(w, r, back, http.StatusSeeOther)
	return nil
}

// moment reads a local date and time as a form sends it.
func moment(field, text string, zone *time.Location) (time.Time, error) {
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", time.RFC3339} {
		if t, err := time.ParseInLocation(layout, strings.TrimSpace(text), zone); err == nil {
			return t, nil
		}
	}
	return time.Time{}, invalid(field, "as in 2026-05-14 07:20", "%s %q is not a time", field, clip(text))
}
