package web_test

import (
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"sodalake/web/canned"
)

// Whatever stands in the address of the bench, it answers with a page, with what
// is wrong, or says that it is not there: it never falls over, and reading
// writes nothing.
func FuzzMix(f *testing.F) {
	for _, q := range []string{
		"mode=medium&volume=20&recipe=pub.zarrouk", "mode=medium&recipe=own&salts=baking+soda+10%0A20-20-20+0.4", "mode=medium&recipe=ready&ready_mix_g_per_l=1e9",
		"mode=top&vessel=boat-pond&with=batch.x", "mode=feed&vessel=boat-pond&dry=-1&nitrogen=ready.", "mode=ph&vessel=lantern-pond&by=co2&ph=%00&to_ph=NaN",
		"mode=medium&volume=1e308&depth=0&temp=1e9", "mode=ph&volume=0&was=x&vessel=", "mode=medium&method=fewest&carry_g_per_l=Inf&lot.baking-soda=..", "mode=%ff&recipe=farm.",
	} {
		f.Add(q)
	}
	farm := canned.New()
	h := handler(farm)
	f.Fuzz(func(t *testing.T, query string) {
		if _, err := url.ParseQuery(query); err != nil || len(query) > 2000 {
			return
		}
		r := local("GET", "/mix/part", nil)
		r.URL.RawQuery = query
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != 200 && w.Code != 404 && w.Code != 422 {
			t.Fatalf("status %d: %.300s", w.Code, w.Body)
		}
		if s := w.Body.String(); strings.Contains(s, "<no value>") || strings.Contains(s, "%!") {
			t.Fatalf("a slip shows: %.400s", s)
		}
		if farm.Writes != 0 {
			t.Fatal("reading wrote something")
		}
	})
}

// A form of the bench or the shelf that somebody made up is taken whole or
// refused; it never falls over.
func FuzzMixForms(f *testing.F) {
	f.Add("/mix", "record=%7B%7D&id=x")
	f.Add("/mix", `record={"kind":"fed","v":1,"vessel":"boat-pond","body":{"salts_g":{"KNO3":5}}}&id=01KRM9JG0000000000000000A9`)
	f.Add("/mix/recipe", `body=[1]&name=x&id=01KRM9JG0000000000000000AA`)
	f.Add("/shelf/lot", "salt=baking-soda&mass=1e400&id=01KRM9JG0000000000000000AB")
	f.Add("/shelf/left", "lot_id=soda-7&left=-0&id=01KRM9JG0000000000000000AC")
	f.Add("/shelf/water", "name=x&ph=NaN&id=01KRM9JG0000000000000000AD")
	h := handler(canned.New())
	f.Fuzz(func(t *testing.T, target, form string) {
		v, err := url.ParseQuery(form)
		known := map[string]bool{"/mix": true, "/mix/recipe": true, "/shelf/lot": true, "/shelf/left": true, "/shelf/water": true}
		if err != nil || len(form) > 4000 || !known[target] {
			return
		}
		if w := post(h, target, v); w.Code >= 500 {
			t.Fatalf("%s %s: status %d: %.300s", target, form, w.Code, w.Body)
		}
	})
}
