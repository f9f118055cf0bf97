package web_test

import (
	"errors"
	"net/http/httptest"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"sodalake/web/canned"
	"sodalake/words"
)

const twoPonds = "/build?a_name=open&a_length=8&a_width=2.4&a_depth=20&a_cover=none&a_winter=indoors&b_name=Under+%3Cfilm%3E&b_length=8&b_width=2.4&b_depth=15&b_cover=tunnel&b_second=yes&wish=500&p_salts=1.6&p_kwh=0.25"

// Words that are put together when the page is made.
func TestBuildWords(t *testing.T) {
	for prefix, list := range map[string]string{
		"build.":        "name shape length width depth cover second shade stirring winter ready leave season needs cost area",
		"build.price_":  "salts co2 water kwh build lasts harvest_h hour",
		"build.row_":    "length restart first safe last winter ice hot year yield harvests topped filling feed carbon power cost_salts cost_filling cost_carbon cost_water cost_power cost_building cost_work cost_year cost_kg area_mean area_sure area_every area_year",
		"build.limit_":  "cold hot ice dark",
		"build.winter_": "pond indoors",
		"build.pond_":   "a b",
	} {
		for _, k := range strings.Fields(list) {
			if !words.Has(prefix + k) {
				t.Errorf("the catalogue lacks %q", prefix+k)
			}
		}
	}
}

func TestBuildPage(t *testing.T) {
	h := handler(canned.New())
	w := get(t, h, "/build")
	doc := parse(t, w)
	names := map[string]bool{}
	for _, n := range all(doc, "input", "select") {
		names[attr(n, "name")] = true
	}
	for _, want := range []string{"a_length", "a_depth", "a_cover", "a_second", "a_shade", "a_stirring", "a_winter", "b_length", "b_cover", "recipe", "wish", "p_salts"} {
		if !names[want] {
			t.Errorf("the form lacks %s", want)
		}
	}
	if len(all(doc, "svg")) > 0 && strings.Contains(text(doc), "What it would bring") {
		t.Error("an answer stands there before anything was asked")
	}

	w = get(t, h, twoPonds)
	doc = parse(t, w)
	said := text(doc)
	for _, want := range []string{"What it would bring", "Last that grows back", "Begin again", "For 500 g a week", "Cost of a year", "more than open", "Under <film>", "licensed electrician", "Nothing here says that a harvest may be eaten"} {
		if !strings.Contains(said, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(w.Body.String(), "<film>") {
		t.Error("a name became markup")
	}
	if strings.Contains(said, "no value") || strings.Contains(strings.ReplaceAll(said, "NaNO3", ""), "NaN") || strings.Contains(said, "?)") {
		t.Error("the page shows a number that is none")
	}
	// What was typed stands in the form again.
	for _, n := range all(doc, "input") {
		if attr(n, "name") == "b_depth" && attr(n, "value") != "15" {
			t.Errorf("b_depth came back as %q", attr(n, "value"))
		}
	}
	rows := all(doc, "tr")
	if len(rows) < 12+20 {
		t.Errorf("%d rows of tables", len(rows))
	}
	// One pond alone has no second column.
	alone := parse(t, get(t, h, "/build?a_length=3&a_width=1&a_depth=15"))
	if s := text(alone); strings.Contains(s, "under the same weather") || !strings.Contains(s, "What it would bring") {
		t.Error("one pond alone is compared with something")
	}
}

func TestBuildInUS(t *testing.T) {
	said := text(parse(t, get(t, handler(canned.NewUS()), twoPonds)))
	if !strings.Contains(said, " lb (") || !strings.Contains(said, "water is under 59 °F") || strings.Contains(strings.Split(said, "Taken as given")[0], "°C") {
		t.Error("the page does not speak in the farm's measures")
	}
}

func TestBuildRefuses(t *testing.T) {
	h := handler(canned.New())
	for _, r := range []struct{ query, field string }{
		{"a_length=-3", "a_length"}, {"a_length=x&a_depth=15", "a_length"}, {"a_length=3&a_width=1", "a_depth"}, {"a_length=3&a_depth=15", "a_width"},
		{"a_length=3&a_width=1&a_depth=15&a_ready=0.2&a_leave=0.3", "a_leave"}, {"a_length=3&a_width=1&a_depth=15&wish=-1", ""}, {"a_length=3&a_width=1&a_depth=15&a_shade=200", "a_shade"},
		{"a_length=3&a_width=1&a_depth=15&b_length=3&b_width=1&b_depth=999", "b_depth"}, {"a_length=3&a_width=1&a_depth=15&recipe=soup", ""}, {"a_length=3&a_width=1&a_depth=15&a_cover=dome", "a_cover"},
	} {
		w := get(t, h, "/build?"+r.query)
		doc := parse(t, w)
		if w.Code != 422 || len(alerts(doc)) != 1 {
			t.Errorf("%s: status %d, %d alerts", r.query, w.Code, len(alerts(doc)))
		}
		marked := ""
		for _, n := range all(doc, "input") {
			if attr(n, "aria-invalid") == "true" {
				marked = attr(n, "name")
			}
		}
		if r.field != "" && r.field != "a_cover" && marked != r.field {
			t.Errorf("%s: %q is marked, want %s: %s", r.query, marked, r.field, text(alerts(doc)[0]))
		}
	}
	broken := canned.New()
	broken.Fail = errors.New("secret")
	if w := get(t, handler(broken), twoPonds); w.Code != 500 || strings.Contains(w.Body.String(), "secret") {
		t.Errorf("status %d", w.Code)
	}
}

func alerts(doc *html.Node) (out []*html.Node) {
	for _, n := range all(doc, "div") {
		if attr(n, "role") == "alert" {
			out = append(out, n)
		}
	}
	return out
}

// What takes long shows how far it is and looks again by itself, without a
// script.
func TestBuildOnItsWay(t *testing.T) {
	f := canned.New()
	f.Busy = true
	w := get(t, handler(f), twoPonds)
	doc := parse(t, w)
	bars := all(doc, "progress")
	if w.Code != 200 || w.Header().Get("Refresh") != "1" || len(bars) != 1 || attr(bars[0], "max") != "50" || attr(bars[0], "value") != "18" {
		t.Errorf("status %d, refresh %q, %d bars", w.Code, w.Header().Get("Refresh"), len(bars))
	}
	var done httptest.ResponseRecorder
	if done = *get(t, handler(canned.New()), twoPonds); done.Header().Get("Refresh") != "" {
		t.Error("a page that is done looks again")
	}
}

func TestBuildWithoutPlace(t *testing.T) {
	doc := parse(t, get(t, handler(canned.Empty()), "/build"))
	if !strings.Contains(text(doc), "First say where the farm is") {
		t.Error("an empty farm is not told how to begin")
	}
}
