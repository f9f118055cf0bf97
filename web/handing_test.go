package web_test

import (
	"encoding/json"
	"net/http/httptest"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/web/canned"
	"sodalake/words"
)

// Each paper holds what it must, on as many pages as it should, read back by
// poppler.
func TestHandingPapers(t *testing.T) {
	h := handler(canned.New())
	for _, c := range []struct {
		target      string
		pages       int
		want, never []string
	}{
		{"/handing/helper.pdf?vessel=boat-pond", 1, []string{"Boat pond: for whoever helps", "Full mark 16 cm", "Rim 32 cm", "Stir gently", "No harvest. Eat none of it", "40 °C", "Call"}, []string{"urea", "bleach", "g/L"}},
		{"/handing/helper.pdf?vessel=sill-bottles", 1, []string{"by hand, 3 times a day", "For food no"}, []string{"urea", "bleach"}},
		{"/handing/travel.pdf?vessel=cistern-tank", 1, []string{"Living spirulina culture from Cistern tank", "not food", "Loosen the cap", "microscope", "at most to double", "a gift culture from over the sound", "Giver, telephone"}, nil},
		{"/handing/class.pdf", 1, []string{"We do not taste", "Only the teacher", "residual-current", "Disc vanished at"}, []string{"taste it", "eat a"}},
		{"/handing/emergency.pdf", 8, []string{"44.2000° N, 14.5000° W", "The pump stands still", "Sill bottles", "20 minutes by the clock", "Do not go in", "Smell of ammonia", "child", "first-aid course"}, nil},
	} {
		text, pages := paper(t, h, c.target)
		if pages != c.pages {
			t.Errorf("%s: %d pages, want %d", c.target, pages, c.pages)
		}
		for _, want := range append(c.want, "invented", "Saltmarsh") {
			if !strings.Contains(text, want) {
				t.Errorf("%s lacks %q:\n%s", c.target, want, text)
			}
		}
		for _, never := range c.never {
			if strings.Contains(text, never) {
				t.Errorf("%s says %q", c.target, never)
			}
		}
	}
}

// The class page lists safe acts only: none of its acts names what can hurt.
func TestClassActs(t *testing.T) {
	w := words.New("en", words.Metric, nil)
	n := 0
	for _, key := range words.Keys() {
		if !strings.HasPrefix(key, "class.do_") {
			continue
		}
		n++
		text := strings.ToLower(w.T(key))
		for _, bad := range []string{"taste", "drink", "eat", "salt", "mix", "acid", "vinegar", "bleach", "plug", "lamp", "pump", "open ", "strip", "caustic", "knife"} {
			if strings.Contains(strings.ReplaceAll(text, "heat", ""), bad) {
				t.Errorf("%s lets children %q: %s", key, bad, text)
			}
		}
	}
	if n < 5 {
		t.Errorf("only %d acts", n)
	}
}

// From a vessel on hold no starter is given, and the page says why; the sheet
// for the helper says that it is no food.
func TestHandingHeld(t *testing.T) {
	f := canned.New()
	h := handler(f)
	raw, _ := json.Marshal(map[string]any{"reason": "a test"})
	id, err := farm.NewIDs(strings.NewReader(strings.Repeat("x", 64))).Make(canned.Now)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.Append(t.Context(), []farm.Entry{{ID: id, Vessel: "boat-pond", Kind: "quarantined", V: 1, At: canned.Now, NotedAt: canned.Now, By: "tester", Body: raw}}, farm.Sent); err != nil {
		t.Fatal(err)
	}
	w := do(h, httptest.NewRequest("GET", "/handing/travel.pdf?vessel=boat-pond", nil))
	if w.Code != 409 || !strings.Contains(w.Body.String(), "on hold") {
		t.Errorf("status %d: %.200s", w.Code, w.Body)
	}
	page := get(t, h, "/handing").Body.String()
	if strings.Contains(page, "travel.pdf?vessel=boat-pond") || !strings.Contains(page, "nobody is given culture of it") || !strings.Contains(page, "travel.pdf?vessel=cistern-tank") {
		t.Error("the page offers a starter from a vessel on hold, or none at all")
	}
	if text, _ := paper(t, h, "/handing/helper.pdf?vessel=boat-pond"); !strings.Contains(text, "no: on hold") {
		t.Errorf("the helper is not told: %s", text)
	}
	for _, target := range []string{"/handing/helper.pdf?vessel=nowhere", "/handing/travel.pdf", "/handing/helper.pdf?vessel=%22%3E"} {
		if w := do(h, httptest.NewRequest("GET", target, nil)); w.Code != 404 {
			t.Errorf("%s: status %d", target, w.Code)
		}
	}
	// Without a place and a vessel the cards still print.
	if text, pages := paper(t, handler(canned.Empty()), "/handing/emergency.pdf"); pages != 8 || !strings.Contains(text, "write it here") {
		t.Errorf("an empty farm: %d pages", pages)
	}
}
