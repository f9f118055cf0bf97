package web_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"sodalake/web/canned"
)

func send(h http.Handler, method, target, body string) *httptest.ResponseRecorder {
	r := local(method, target, strings.NewReader(body))
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// one is a reading as a machine sends it.
const one = `{"id":"01KRM9JG0000000000000000A1","vessel":"boat-pond","kind":"secchi","v":1,"at":"2026-05-14T07:00:00-01:00","noted_at":"2026-05-14T07:00:00-01:00","by":"stick","body":{"secchi_cm":2.6}}`

func TestAPIReads(t *testing.T) {
	h := handler(canned.New())
	for target, want := range map[string]string{
		"/api/vessels": "Lantern pond", "/api/vessels/boat-pond": "Boat pond", "/api/vessels/boat-pond/forecast": `"ready_g_per_l":0.6`,
		"/api/today": `"text":"Harvest. Before 10:00.`, "/api/entries?after=3&limit=2": `"seq":4`, "/api/openapi.json": `"openapi":"3.1.0"`,
	} {
		w := send(h, "GET", target, "")
		if w.Code != 200 || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%s: status %d lacks %s: %.300s", target, w.Code, want, w.Body)
		}
		if !json.Valid(w.Body.Bytes()) {
			t.Errorf("%s is no JSON", target)
		}
	}
	if w := send(h, "GET", "/api/today", ""); strings.Contains(w.Body.String(), `"caution.`) {
		t.Error("the day list sends the keys of cautions, not their sentences")
	}
	if w := send(h, "GET", "/docs", ""); w.Code != 404 {
		t.Errorf("/docs: status %d: it would load scripts from elsewhere", w.Code)
	}
}

// Every operation answers as RFC 9457 says, with the field.
func TestAPIProblems(t *testing.T) {
	h := handler(canned.New())
	for _, c := range []struct {
		name, method, target, body string
		status                     int
		field                      string
	}{
		{"no such vessel", "GET", "/api/vessels/nowhere", "", 404, "id"},
		{"no such calculator", "POST", "/api/calc/nowhere", "{}", 404, "name"},
		{"truncated entry", "POST", "/api/entries", one[:len(one)-20], 400, ""},
		{"truncated list", "POST", "/api/entries", "[" + one, 400, ""},
		{"empty", "POST", "/api/entries", "", 400, ""},
		{"unknown field", "POST", "/api/entries", strings.Replace(one, `"by"`, `"colour":"red","by"`, 1), 422, "colour"},
		{"unknown field in the body", "POST", "/api/entries", strings.Replace(one, `2.6`, `2.6,"secchi_inch":1`, 1), 422, "body.secchi_inch"},
		{"wrong type", "POST", "/api/entries", strings.Replace(one, "2.6", `"2.6"`, 1), 422, "body.secchi_cm"},
		{"bad pH", "POST", "/api/entries", strings.NewReplacer("secchi_cm", "ph", `"secchi"`, `"ph"`, "2.6", "101").Replace(one), 422, "body.ph"},
		{"bad in a list", "POST", "/api/entries", "[" + one + "," + strings.NewReplacer("2.6", "-1", "A1", "A9").Replace(one) + "]", 422, "body.secchi_cm"},
		{"unknown vessel", "POST", "/api/entries", strings.Replace(one, "boat-pond", "moon-pond", 1), 404, "vessel"},
		{"limit out of range", "GET", "/api/entries?limit=0", "", 422, "limit"},
		{"calculator, unknown field", "POST", "/api/calc/dilution", `{"volume_l":1,"from_g_per_l":1,"to_g_per_l":1,"x":1}`, 422, "x"},
		{"calculator, out of range", "POST", "/api/calc/dilution", `{"volume_l":-1,"from_g_per_l":1,"to_g_per_l":1}`, 422, "volume_l"},
		{"calculator, truncated", "POST", "/api/calc/dilution", `{"volume_l":1`, 400, ""},
		{"calculator, missing", "POST", "/api/calc/dilution", `{"volume_l":1,"from_g_per_l":1}`, 422, "to_g_per_l"},
	} {
		w := send(h, c.method, c.target, c.body)
		var p struct {
			Title, Detail, Field string
			Status               int
		}
		if err := json.Unmarshal(w.Body.Bytes(), &p); err != nil {
			t.Errorf("%s: no JSON: %s", c.name, w.Body)
			continue
		}
		ok := w.Code == c.status
		if c.name == "unknown vessel" { // the farm's own choice between 404 and 422
			ok = w.Code == 404 || w.Code == 422
		}
		if !ok || p.Status != w.Code || p.Detail == "" || p.Title == "" {
			t.Errorf("%s: status %d, want %d: %s", c.name, w.Code, c.status, w.Body)
		}
		if c.field != "" && p.Field != c.field {
			t.Errorf("%s: field %q, want %q: %s", c.name, p.Field, c.field, w.Body)
		}
		if ct := w.Header().Get("Content-Type"); !strings.HasPrefix(ct, "application/problem+json") {
			t.Errorf("%s: media type %q, want problem details (RFC 9457, section 3)", c.name, ct)
		}
	}
}

func TestAPIAppend(t *testing.T) {
	f := canned.New()
	h := handler(f)
	first := send(h, "POST", "/api/entries", one)
	if first.Code != 200 || !strings.Contains(first.Body.String(), `"hash":"`) {
		t.Fatalf("status %d: %s", first.Code, first.Body)
	}
	// The same bytes again, alone or in a list, change nothing and answer the same.
	again := send(h, "POST", "/api/entries", one)
	list := send(h, "POST", "/api/entries", "["+one+"]")
	if again.Body.String() != first.Body.String() || list.Body.String() != first.Body.String() || f.Writes != 1 {
		t.Errorf("sent three times: written %d times, answers\n%s\n%s\n%s", f.Writes, first.Body, again.Body, list.Body)
	}
	other := send(h, "POST", "/api/entries", strings.Replace(one, "2.6", "2.8", 1))
	if other.Code != http.StatusConflict {
		t.Errorf("the same identifier with other bytes: status %d, want 409", other.Code)
	}
	// A list is all or none.
	two := strings.Replace(one, "A1", "A2", 1)
	bad := send(h, "POST", "/api/entries", "["+two+","+strings.Replace(strings.Replace(one, "A1", "A3", 1), "2.6", "-4", 1)+"]")
	if bad.Code != 422 || f.Writes != 1 {
		t.Errorf("a list with one bad entry: status %d, %d writes", bad.Code, f.Writes)
	}
}

func TestAPIBodyLimit(t *testing.T) {
	h := handler(canned.New())
	for _, target := range []string{"/api/entries", "/api/calc/dilution"} {
		w := send(h, "POST", target, `{"x":"`+strings.Repeat("a", 3<<20)+`"}`)
		if w.Code != http.StatusRequestEntityTooLarge {
			t.Errorf("%s with 3 MB: status %d, want 413: %.200s", target, w.Code, w.Body)
		}
	}
	if w := post(h, "/note", map[string][]string{"value": {strings.Repeat("1", 3<<20)}}); w.Code != http.StatusRequestEntityTooLarge {
		t.Errorf("a form of 3 MB: status %d, want 413", w.Code)
	}
}

func TestAPICalculator(t *testing.T) {
	h := handler(canned.New())
	w := send(h, "POST", "/api/calc/dilution", `{"volume_l":200,"from_g_per_l":0.6,"to_g_per_l":0.2}`)
	var out struct {
		Medium  float64  `json:"medium_l"`
		Sources []string `json:"sources"`
	}
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil || w.Code != 200 || out.Medium < 399.99 || out.Medium > 400.01 || len(out.Sources) == 0 {
		t.Errorf("status %d, %+v, %v: mass balance asks for 400 L", w.Code, out, err)
	}
	var spec struct {
		Paths map[string]map[string]struct {
			RequestBody struct {
				Content map[string]struct {
					Schema struct {
						Properties map[string]any
						Required   []string
					}
				}
			} `json:"requestBody"`
		}
	}
	if err := json.Unmarshal(send(h, "GET", "/api/openapi.json", "").Body.Bytes(), &spec); err != nil {
		t.Fatal(err)
	}
	s := spec.Paths["/api/calc/dilution"]["post"].RequestBody.Content["application/json"].Schema
	if len(s.Properties) != 6 || len(s.Required) != 3 {
		t.Errorf("the description of dilution has %d fields, %d needed; its definition 6 and 3", len(s.Properties), len(s.Required))
	}
	for _, path := range []string{"/api/vessels", "/api/vessels/{id}", "/api/vessels/{id}/forecast", "/api/today", "/api/entries"} {
		if spec.Paths[path] == nil {
			t.Errorf("the description lacks %s", path)
		}
	}
}
