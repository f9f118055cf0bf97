package web_test

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/farm/calc"
	"sodalake/web/canned"
)

func TestShelfLots(t *testing.T) {
	f := canned.Empty()
	h := handler(f)
	if s := text(parse(t, get(t, h, "/shelf"))); !strings.Contains(s, "Nothing is on the shelf yet") || !strings.Contains(s, "Add each bag") {
		t.Error("an empty shelf does not say how to begin")
	}
	id := func(target string) string { return attr(find(t, parse(t, get(t, h, target)), "id"), "value") }
	form := url.Values{"id": {id("/shelf/lot")}, "salt": {"baking-soda"}, "mass": {"55 lb"}, "price": {"30"}, "lot": {"B-40"}, "grade": {"food"}, "purity_pct": {"99,5"}, "cup_g": {"234"}, "certificate": {"Pb below 1 mg/kg"}, "use_by": {"2027-01-31"}}
	for range 2 { // a form that is sent twice makes one lot
		if w := post(h, "/shelf/lot", form); w.Code != http.StatusSeeOther {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	s, _ := f.Shelf(context.Background(), canned.Now)
	if len(s.Lots) != 1 || f.Writes != 1 {
		t.Fatalf("%d lots, %d writes: %+v", len(s.Lots), f.Writes, s.Lots)
	}
	l := s.Lots[0]
	// 55 lb = 24.948 kg, NIST HB 44; a metric cup of 250 mL.
	if l.MassG < 24947 || l.MassG > 24949 || l.Of != "baking-soda" || l.PurityPct != 99.5 || l.BulkGPerL < 935 || l.BulkGPerL > 937 || l.Name != "Baking soda" || l.Certificate == "" {
		t.Errorf("lot %+v", l)
	}
	// The same again is another lot.
	form.Set("id", id("/shelf/lot"))
	for range 2 {
		if w := post(h, "/shelf/lot", form); w.Code != http.StatusSeeOther {
			t.Fatalf("the second lot: status %d: %s", w.Code, w.Body)
		}
	}
	if s, _ = f.Shelf(context.Background(), canned.Now); len(s.Lots) != 2 || s.Lots[0].ID == s.Lots[1].ID {
		t.Fatalf("lots %+v", s.Lots)
	}
	// Weighed, changed without weighing, used up.
	left := url.Values{"id": {id("/shelf/lot")}, "lot_id": {l.ID}, "left": {"20 kg"}}
	if w := post(h, "/shelf/left", left); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	change := url.Values{"id": {id("/shelf/lot")}, "lot_id": {l.ID}, "salt": {"baking-soda"}, "name": {"Soda"}, "mass": {"24947.6"}, "price": {"32"}}
	post(h, "/shelf/lot", change)
	lotOf := func() farm.Stock {
		s, _ := f.Shelf(context.Background(), canned.Now)
		for _, x := range s.Lots {
			if x.ID == l.ID {
				return x
			}
		}
		t.Fatal("the lot is gone")
		return farm.Stock{}
	}
	if x := lotOf(); x.LeftG < 19999 || x.LeftG > 20001 || x.Price != 32 || x.Name != "Soda" {
		t.Errorf("after weighing and a change: %+v", x)
	}
	if w := post(h, "/shelf/left", url.Values{"id": {id("/shelf/lot")}, "lot_id": {l.ID}, "empty": {"yes"}, "left": {""}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if x := lotOf(); x.LeftG > 0 {
		t.Errorf("used up, %g g are left", x.LeftG)
	}
	if s := text(parse(t, get(t, h, "/shelf"))); !strings.Contains(s, "Used up") {
		t.Error("what is used up is not listed")
	}
	// What cannot be is refused with its field, and nothing is written.
	before := f.Writes
	for body, field := range map[string]string{"mass=": "mass", "mass=much": "mass", "mass=-2": "mass", "mass=5&price=x": "price", "mass=5&purity_pct=140": "purity_pct", "mass=5&use_by=soon": "use_by", "mass=5&cup_g=none": "cup_g"} {
		v, _ := url.ParseQuery(body)
		v.Set("id", id("/shelf/lot"))
		v.Set("salt", "salt")
		if w := post(h, "/shelf/lot", v); w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), field) {
			t.Errorf("%s: status %d, want 422 naming %s", body, w.Code, field)
		}
	}
	if f.Writes != before {
		t.Error("a refused lot was written")
	}
}

func TestShelfTells(t *testing.T) {
	for name, f := range map[string]*canned.Farm{"metric": canned.New(), "us": canned.NewUS()} {
		s := strings.ReplaceAll(text(parse(t, get(t, handler(f), "/shelf"))), "\u00a0", " ")
		for _, want := range []string{"Baking soda", "48.56 kg", "B-23", "Lasts to about", "Feeds a fire (H272)", "Sodium nitrate: is called saltpetre too", "A litre of Station medium", "Salts for a kilogram grown", "Standing ready", "Not known as a salt", "Grey bag", "was to be used by 2026-03-31", "Pb below 1 mg/kg"} {
			if !strings.Contains(s, want) {
				t.Errorf("%s: the shelf lacks %q", name, want)
			}
		}
	}
}

func TestWaterIsDescribed(t *testing.T) {
	f := canned.New()
	h := handler(f)
	doc := parse(t, get(t, h, "/shelf/water?id=tap"))
	if v := attr(find(t, doc, "hardness_mg_per_l"), "value"); v != "180" {
		t.Errorf("the hardness reads %q, want 180", v)
	}
	form := url.Values{"id": {attr(find(t, doc, "id"), "value")}, "water": {"tap"}, "name": {"Tap, harder"}, "origin": {"tap"}, "hardness_mg_per_l": {"210"}}
	if w := post(h, "/shelf/water", form); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/mix?water=tap" {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	b, _ := f.Bench(context.Background(), canned.Now, false)
	for _, x := range b.Waters {
		if x.ID == "tap" && (x.Analysis["hardness_mg_per_l"] < 209 || x.Name != "Tap, harder") {
			t.Errorf("water %+v", x)
		}
	}
}

// Every figure that quarrels has its row, and every default of the bench and of
// a calculator's help opens to one.
func TestWhoSaysWhat(t *testing.T) {
	h := handler(canned.New())
	doc := parse(t, get(t, h, "/why"))
	ids := map[string]bool{}
	for _, s := range all(doc, "section") {
		ids[attr(s, "id")] = true
	}
	for _, s := range calc.Sayings() {
		if !ids[s.ID] {
			t.Errorf("no row for %s", s.ID)
		}
	}
	link := regexp.MustCompile(`href="/why#([a-z-]+)"`)
	for _, page := range []string{"/mix", "/mix?mode=feed", "/mix?mode=ph", "/mix?mode=top", "/calc/mix"} {
		found := link.FindAllStringSubmatch(get(t, h, page).Body.String(), -1)
		if len(found) < 2 {
			t.Errorf("%s opens to %d rows", page, len(found))
		}
		for _, m := range found {
			if !ids[m[1]] {
				t.Errorf("%s leads to %s, which has no row", page, m[1])
			}
		}
	}
	for _, id := range []string{"soda", "nitrogen", "iron", "chlorine", "salt", "ph"} {
		if !strings.Contains(get(t, h, "/mix").Body.String(), "/why#"+id+`"`) {
			t.Errorf("the bench does not lead to %s", id)
		}
	}
}

// Every card says what it may carry, and gives no dose where the nitrogen is not
// known.
func TestHoldCards(t *testing.T) {
	s := text(parse(t, get(t, handler(canned.Empty()), "/mix/hold")))
	for _, want := range []string{"wood ash", "Urine", "No dose for a culture that is eaten", "No dose: its nitrogen is not known", "Sea water", "Dried or heated product does not come back to life", "A5 trace solution"} {
		if !strings.Contains(s, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
}
