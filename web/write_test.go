package web_test

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/net/html"

	"sodalake/farm"
	"sodalake/web/canned"
)

func TestTodayForms(t *testing.T) {
	h := handler(canned.New())
	doc := parse(t, get(t, h, "/"))
	forms := all(doc, "form")
	done := 0
	for _, f := range forms {
		if attr(f, "action") != "/done" {
			continue
		}
		done++
		names := map[string]string{}
		for _, in := range all(f, "input") {
			names[attr(in, "name")] = attr(in, "value")
		}
		for _, want := range []string{"id", "item", "record"} {
			if names[want] == "" {
				t.Errorf("a Done form carries no %s", want)
			}
		}
		if _, err := farm.ParseID(names["id"]); err != nil {
			t.Errorf("the form's identifier: %v", err)
		}
	}
	if done < 4 {
		t.Errorf("%d Done forms, want at least 4", done)
	}
	if n := strings.Count(get(t, h, "/").Body.String(), "do-now"); n != 1 {
		t.Errorf("%d pennants, want one on a page", n)
	}
}

// doneForm reads the first Done form of a vessel, with the amount field if
// editable is asked for.
func doneForm(t *testing.T, h http.Handler, item string, editable bool) url.Values {
	t.Helper()
	for _, f := range all(parse(t, get(t, h, "/")), "form") {
		v := url.Values{}
		for _, in := range all(f, "input") {
			v.Set(attr(in, "name"), attr(in, "value"))
		}
		if attr(f, "action") == "/done" && v.Get("item") == item && v.Has("amount") == editable {
			return v
		}
	}
	t.Fatalf("no Done form for %s", item)
	return nil
}

func TestDoubleSubmitWritesOnce(t *testing.T) {
	f := canned.New()
	h := handler(f)
	form := doneForm(t, h, "lantern-pond.harvest.1", false)
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			if w := post(h, "/done", form); w.Code != http.StatusSeeOther {
				t.Errorf("status %d: %s", w.Code, w.Body)
			}
		})
	}
	wait.Wait()
	if f.Writes != 1 {
		t.Errorf("eight times the same form wrote %d entries, want one", f.Writes)
	}
	e, err := f.Entry(context.Background(), form.Get("id"))
	if err != nil || e.Kind != "harvested" || e.Vessel != "lantern-pond" || e.Item != "lantern-pond.harvest.1" {
		t.Errorf("entry %+v, %v", e, err)
	}
	// Another amount under the same identifier is another thing: refused.
	form.Set("amount", "300")
	form.Set("unit", "L")
	if w := post(h, "/done", form); w.Code != http.StatusConflict {
		t.Errorf("other words under the same identifier: status %d, want 409", w.Code)
	}
}

func TestAnotherAmount(t *testing.T) {
	for _, c := range []struct {
		f          *canned.Farm
		item, amt  string
		key        string
		want, near float64
	}{
		{canned.New(), "lantern-pond.harvest.1", "250", "volume_l", 250, 1e-9},
		{canned.New(), "lantern-pond.feed.1", "120,5", "salts_g", 120.5, 1e-9},
		{canned.NewUS(), "lantern-pond.harvest.1", "50", "volume_l", 189.27, .05}, // 50 US gal = 189.27 L, NIST SP 811 B.8
		{canned.NewUS(), "lantern-pond.feed.1", "4", "salts_g", 113.4, .05},       // 4 oz = 113.40 g, NIST SP 811 B.8
	} {
		h := handler(c.f)
		form := doneForm(t, h, c.item, true)
		form.Set("amount", c.amt)
		if w := post(h, "/done", form); w.Code != http.StatusSeeOther {
			t.Errorf("%s %s: status %d: %s", c.item, c.amt, w.Code, w.Body)
			continue
		}
		e, err := c.f.Entry(context.Background(), form.Get("id"))
		if err != nil {
			t.Fatal(err)
		}
		var body map[string]any
		if err := json.Unmarshal(e.Body, &body); err != nil {
			t.Fatal(err)
		}
		got, _ := body[c.key].(float64)
		if m, ok := body[c.key].(map[string]any); ok {
			got, _ = m["KNO3"].(float64)
		}
		if got < c.want-c.near || got > c.want+c.near {
			t.Errorf("%s: %s typed as %s gives %v, want %g", c.item, c.key, c.amt, e.Body, c.want)
		}
	}
}

func TestUndoIsACorrection(t *testing.T) {
	f := canned.New()
	h := handler(f)
	form := doneForm(t, h, "cistern-tank.top_up_water.1", false)
	post(h, "/done", form)
	if !strings.Contains(get(t, h, "/").Body.String(), "35") {
		t.Fatal("the act does not stand on Today")
	}
	undo := url.Values{}
	for _, fm := range all(parse(t, get(t, h, "/")), "form") {
		v := url.Values{}
		for _, in := range all(fm, "input") {
			v.Set(attr(in, "name"), attr(in, "value"))
		}
		if attr(fm, "action") == "/undo" && v.Get("entry") == form.Get("id") {
			undo = v
		}
	}
	for range 2 {
		if w := post(h, "/undo", undo); w.Code != http.StatusSeeOther {
			t.Fatalf("undo: status %d: %s", w.Code, w.Body)
		}
	}
	if f.Writes != 2 {
		t.Errorf("%d writes, want the act and one correction", f.Writes)
	}
	if _, err := f.Entry(context.Background(), form.Get("id")); err != nil {
		t.Errorf("the entry that was taken back is gone: %v", err)
	}
	if strings.Contains(get(t, h, "/").Body.String(), undo.Get("entry")) {
		t.Error("the act that was taken back still stands on Today")
	}
}

func TestNote(t *testing.T) {
	f := canned.New()
	h := handler(f)
	id := attr(find(t, parse(t, get(t, h, "/note")), "id"), "value")
	form := url.Values{"id": {id}, "vessel": {"boat-pond"}, "kind": {"secchi"}, "value": {"2,6"}, "op": {"="}}
	if w := post(h, "/note", form); w.Code != http.StatusSeeOther || !strings.Contains(w.Header().Get("Location"), "noted="+id) {
		t.Fatalf("status %d, location %q: %s", w.Code, w.Header().Get("Location"), w.Body)
	}
	e, err := f.Entry(context.Background(), id)
	if err != nil || string(e.Body) != `{"secchi_cm":2.6}` {
		t.Errorf("entry %s, %v", e.Body, err)
	}
	page := get(t, h, "/note?noted="+id+"&vessel=boat-pond").Body.String()
	if !strings.Contains(page, "Noted: Boat pond, disc 2.6") {
		t.Error("the sheet does not say what was noted")
	}
	// What cannot be is refused with the field, and nothing is written.
	before := f.Writes
	for body, field := range map[string]string{
		"value=": "value", "value=abc": "value", "value=99": "secchi_cm", "value=0x3": "value", "value=1e999": "value", "value=2&at=tomorrow": "at",
	} {
		v, _ := url.ParseQuery(body)
		v.Set("id", attr(find(t, parse(t, get(t, h, "/note")), "id"), "value"))
		v.Set("vessel", "boat-pond")
		v.Set("kind", "secchi")
		w := post(h, "/note", v)
		if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), field) {
			t.Errorf("%s: status %d, want 422 naming %s: %s", body, w.Code, field, w.Body)
		}
	}
	if f.Writes != before {
		t.Error("a refused note was written")
	}
}

func find(t *testing.T, doc *html.Node, name string) *html.Node {
	t.Helper()
	for _, n := range all(doc, "input", "select", "textarea") {
		if attr(n, "name") == name {
			return n
		}
	}
	t.Fatalf("no field %q", name)
	return nil
}

// 77 °F is 25 °C (NIST SP 811, appendix B.8).
func TestNoteInFahrenheit(t *testing.T) {
	f := canned.NewUS()
	h := handler(f)
	id := attr(find(t, parse(t, get(t, h, "/note")), "id"), "value")
	if w := post(h, "/note", url.Values{"id": {id}, "vessel": {"boat-pond"}, "kind": {"temperature"}, "value": {"77"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if e, _ := f.Entry(context.Background(), id); string(e.Body) != `{"temp_c":25}` {
		t.Errorf("77 °F was written as %s", e.Body)
	}
}

// A note that waited in a phone says when it was made; sent twice it is one.
func TestOutboxNote(t *testing.T) {
	f := canned.New()
	h := handler(f)
	made := canned.Now.Add(-3 * time.Hour)
	id, err := farm.NewIDs(strings.NewReader("0123456789")).Make(made)
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{"id": {id}, "vessel": {"boat-pond"}, "kind": {"ph"}, "value": {"10.2"}, "made_at": {made.UTC().Format(time.RFC3339Nano)}}
	for i := range 2 {
		r := local("POST", "/note", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "application/json")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		var got struct{ ID, Said string }
		if err := json.NewDecoder(w.Body).Decode(&got); err != nil || w.Code != 200 || got.ID != id || got.Said == "" {
			t.Errorf("sending %d: status %d, %+v, %v", i+1, w.Code, got, err)
		}
	}
	if f.Writes != 1 {
		t.Errorf("sent twice, written %d times", f.Writes)
	}
	if e, _ := f.Entry(context.Background(), id); !e.At.Equal(made) {
		t.Errorf("the note's time is %s, want %s", e.At, made)
	}
}

func TestWritesOnlyFromHere(t *testing.T) {
	form := url.Values{"name": {"Somebody"}, "role": {"worker"}, "id": {"01KRM9JG00000000000000000A"}}
	for _, c := range []struct {
		name   string
		change func(*http.Request)
		want   int
	}{
		{"own form", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "same-origin") }, 303},
		{"own form, no secure context", func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:8490") }, 303},
		{"another site's form", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, 403},
		{"another site, no secure context", func(r *http.Request) { r.Header.Set("Origin", "http://elsewhere.example") }, 403},
		{"program on this machine", func(*http.Request) {}, 303},
		{"program elsewhere", func(r *http.Request) { r.RemoteAddr = "192.168.1.7:4000" }, 403},
		{"another name for this machine", func(r *http.Request) {
			r.Host = "elsewhere.example"
			r.Header.Set("Sec-Fetch-Site", "same-origin")
		}, 421},
	} {
		h := handler(canned.New())
		r := local("POST", "/farm/person", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		c.change(r)
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s: status %d, want %d", c.name, w.Code, c.want)
		}
	}
}

// A hold is lifted by a person with a reason, from the entry that began it.
func TestLiftHold(t *testing.T) {
	f := canned.New()
	h := handler(f)
	id := attr(find(t, parse(t, get(t, h, "/note")), "id"), "value")
	if w := post(h, "/note", url.Values{"id": {id}, "vessel": {"boat-pond"}, "kind": {"held"}, "held.reason": {"smells odd"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	var lift url.Values
	for _, fm := range all(parse(t, get(t, h, "/records/entry/"+id)), "form") {
		v := url.Values{}
		for _, in := range all(fm, "input") {
			v.Set(attr(in, "name"), attr(in, "value"))
		}
		if v.Get("kind") == "released" {
			lift = v
		}
	}
	if lift == nil {
		t.Fatal("the entry that began a hold offers no way to lift it")
	}
	if w := post(h, "/note", lift); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("lifted without a reason: status %d", w.Code)
	}
	lift.Set("released.reason", "looked twice, clean")
	if w := post(h, "/note", lift); w.Code != http.StatusSeeOther {
		t.Errorf("status %d: %s", w.Code, w.Body)
	}
}

// Every kind that the sheet offers can be sent with what the sheet asks for.
func TestEveryKindCanBeNoted(t *testing.T) {
	for _, k := range farm.Kinds() {
		if k.Group != farm.GroupReading && k.Group != farm.GroupAct || k.Name == "photo" || k.Name == "reading" || k.Name == "released" {
			continue
		}
		h := handler(canned.NewLots())
		doc := parse(t, get(t, h, "/note?vessel=cistern-tank&kind="+k.Name))
		form := url.Values{"id": {attr(find(t, doc, "id"), "value")}, "vessel": {"cistern-tank"}, "kind": {k.Name}}
		for _, n := range all(doc, "input", "select") {
			name := attr(n, "name")
			if !strings.HasPrefix(name, k.Name+".") {
				continue
			}
			form.Set(name, "5")
			if name == k.Name+".lot" {
				form.Set(name, "april-d") // of which something is left
			}
			if n.Data == "select" {
				for _, o := range all(n, "option") {
					if v := attr(o, "value"); v != "" && v != "cistern-tank" {
						form.Set(name, v)
						break
					}
				}
			}
		}
		form.Set("value", map[string]string{"secchi": "4", "ph": "10.1"}[k.Name])
		if form.Get("value") == "" {
			form.Set("value", "5")
		}
		if w := post(h, "/note", form); w.Code != http.StatusSeeOther {
			t.Errorf("%s: status %d with %v: %s", k.Name, w.Code, form, text(parse(t, w)))
		}
	}
}
