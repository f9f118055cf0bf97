package web_test

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"sodalake/farm/diagnose"
	"sodalake/housetest"
	"sodalake/web/canned"
)

func flat(text string) string { return strings.Join(strings.Fields(text), " ") }

// textOf is the text of a page without its tags.
func textOf(t *testing.T, page string) string {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data + " ")
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(root)
	return strings.ReplaceAll(flat(b.String()), "\u00a0", " ")
}

// Without a script: choose a vessel, tap signs, send the form, follow an
// outcome; every page is plain GET.
func TestWrongWithoutScript(t *testing.T) {
	h := handler(canned.New())
	page := get(t, h, "/wrong").Body.String()
	if !strings.Contains(page, `href="/wrong?vessel=boat-pond"`) {
		t.Fatalf("no vessel to choose: %.300s", page)
	}
	page = get(t, h, "/wrong?vessel=boat-pond").Body.String()
	for _, s := range diagnose.Default().Signs {
		for _, name := range []string{"s", "n"} {
			if !strings.Contains(page, `type="checkbox" name="`+name+`" value="`+s.ID+`"`) {
				t.Errorf("%s cannot be tapped as %s", s.ID, name)
			}
		}
	}
	if strings.Contains(page, "May it be eaten") || !strings.Contains(page, `method="get"`) {
		t.Error("an answer before anything was told, or no form")
	}
	w := get(t, h, "/wrong?vessel=boat-pond&ask=1&s=yellow&s=thinner")
	text := textOf(t, w.Body.String())
	for _, want := range []string{"Told: yellow and thinner than yesterday.", "May it be eaten?", "In the next hour", "Leave this", "The check that splits them best", "What may be behind it", "How it goes on", "water down to 13 °C (12–14) in the last mornings", "From the reserve in Sill bottles", "Cistern"} {
		if strings.Contains(text, want) == (want == "Cistern") {
			t.Errorf("the page has or lacks %q", want)
		}
	}
	// The first outcome's link leads to a page on which that check is done.
	_, rest, _ := strings.Cut(w.Body.String(), `class="outcomes"><li><a class="button" href="`)
	link, _, _ := strings.Cut(rest, `"`)
	link = strings.ReplaceAll(link, "&amp;", "&")
	if !strings.Contains(link, "s=yellow") || !strings.Contains(link, "c=") {
		t.Fatalf("the outcome leads to %q", link)
	}
	next := textOf(t, get(t, h, link).Body.String())
	if !strings.Contains(next, "May it be eaten?") || next == text {
		t.Error("the outcome changes nothing")
	}
}

// Of a harvest it says "No." or "Not shown.", and nothing kinder.
func TestWrongNeverSaysSafe(t *testing.T) {
	h := handler(canned.New())
	for _, q := range []string{"s=floating_skin&n=smell_rotten&n=smell_ammonia&c=microscope:whole&c=smell:fresh&c=stir_and_look:mixes&c=ammonia_strip:low", "s=brown", "s=slow_cloth", "ask=1"} {
		text := textOf(t, get(t, h, "/wrong?vessel=lantern-pond&"+q).Body.String())
		_, verdict, _ := strings.Cut(text, "May it be eaten? ")
		if !strings.HasPrefix(verdict, "No. ") && !strings.HasPrefix(verdict, "Not shown. ") {
			t.Errorf("%s: %.60s", q, verdict)
		}
		for _, never := range []string{"safe to eat", "may be eaten.", "fit to eat", "is safe", "harmless"} {
			if strings.Contains(strings.ToLower(text), never) {
				t.Errorf("%s: the page says %q", q, never)
			}
		}
	}
}

func TestWrongBadInput(t *testing.T) {
	h := handler(canned.New())
	for target, want := range map[string]string{
		"/wrong?vessel=boat-pond&s=purple":                                   "purple",
		"/wrong?vessel=boat-pond&s=yellow&n=yellow":                          "yellow",
		"/wrong?vessel=boat-pond&c=smell:fresh&c=smell:rotten":               "two ways",
		"/wrong?vessel=boat-pond&c=smell":                                    "smell",
		"/wrong?vessel=boat-pond" + strings.Repeat("&s=yellow", 70):          "so many",
		"/wrong?vessel=nowhere&s=yellow":                                     "nowhere",
		"/wrong/apart?vessel=nowhere":                                        "nowhere",
		"/wrong/apart?vessel=boat-pond&bleach=lots":                          "lots",
		"/wrong/apart?vessel=boat-pond&bleach=60":                            "60",
		"/wrong/apart.pdf?vessel=boat-pond&bleach=0":                         "bleach",
		"/wrong?vessel=" + url.QueryEscape(`"><script>alert(1)</script>`):    "does not exist",
		"/wrong?vessel=boat-pond&s=" + url.QueryEscape(`"><script>`) + "&n=": "script",
	} {
		w := do(h, httptest.NewRequest("GET", target, nil))
		if w.Code < 400 || w.Code >= 500 || !strings.Contains(w.Body.String(), want) || strings.Contains(w.Body.String(), "<script>alert") {
			t.Errorf("%s: status %d, %.200s", target, w.Code, flat(w.Body.String()))
		}
	}
}

// One tap writes the signs down, and one keeps the vessel apart; twice is once.
func TestWrongWrites(t *testing.T) {
	f := canned.New()
	h := handler(f)
	page := get(t, h, "/wrong?vessel=boat-pond&s=brown&s=yellow&s=foam&s=larvae&s=slow_cloth").Body.String()
	forms := formsOf(t, page, "/wrong")
	if len(forms) != 2 {
		t.Fatalf("%d forms", len(forms))
	}
	for i, form := range forms {
		var e struct {
			Kind string
			Body map[string]any
		}
		if err := json.Unmarshal([]byte(form.Get("record")), &e); err != nil {
			t.Fatal(err)
		}
		was := f.Writes
		for range 2 {
			r := httptest.NewRequest("POST", "/wrong", strings.NewReader(form.Encode()))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("Sec-Fetch-Site", "same-origin")
			if w := do(h, r); w.Code != http.StatusSeeOther {
				t.Fatalf("status %d: %.300s", w.Code, w.Body)
			}
		}
		if f.Writes != was+1 {
			t.Errorf("form %d wrote %d times", i, f.Writes-was)
		}
		switch e.Kind {
		case "reading":
			if e.Body["colour"] != "brown" || e.Body["foam"] != "much" || !strings.Contains(e.Body["text"].(string), "slow cloth") || !strings.Contains(e.Body["text"].(string), "yellow") {
				t.Errorf("the reading says %v", e.Body)
			}
		case "quarantined":
			text := textOf(t, get(t, h, "/wrong/apart?vessel=boat-pond").Body.String())
			if !strings.Contains(text, "On hold since") {
				t.Errorf("the sheet knows of no hold: %.200s", text)
			}
		default:
			t.Errorf("a form writes %s", e.Kind)
		}
	}
	// Nothing else can be written through this door.
	forged := url.Values{"id": {forms[0].Get("id")}, "record": {`{"vessel":"boat-pond","kind":"released","v":1,"body":{"reason":"x"}}`}}
	r := httptest.NewRequest("POST", "/wrong", strings.NewReader(forged.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	if w := do(h, r); w.Code != http.StatusBadRequest && w.Code != 422 {
		t.Errorf("a release is taken: status %d", w.Code)
	}
}

func do(h http.Handler, r *http.Request) *httptest.ResponseRecorder {
	r.Host, r.RemoteAddr = "127.0.0.1:8490", "127.0.0.1:4000"
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

// formsOf reads the hidden fields of each form that posts to an address.
func formsOf(t *testing.T, page, action string) []url.Values {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	attr := func(n *html.Node, key string) string {
		for _, a := range n.Attr {
			if a.Key == key {
				return a.Val
			}
		}
		return ""
	}
	var out []url.Values
	var walk func(n *html.Node, in url.Values)
	walk = func(n *html.Node, in url.Values) {
		if n.Type == html.ElementNode && n.Data == "form" && attr(n, "method") == "post" && attr(n, "action") == action {
			in = url.Values{}
			out = append(out, in)
		}
		if n.Type == html.ElementNode && n.Data == "input" && in != nil {
			in.Add(attr(n, "name"), attr(n, "value"))
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c, in)
		}
	}
	walk(root, nil)
	return out
}

// paper reads a PDF of the program back by poppler.
func paper(t *testing.T, h http.Handler, target string) (text string, pages int) {
	t.Helper()
	exe := housetest.Need(t, "pdftotext")
	w := get(t, h, target)
	if w.Code != 200 || w.Header().Get("Content-Type") != "application/pdf" {
		t.Fatalf("%s: status %d %.200s", target, w.Code, w.Body)
	}
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, w.Body.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(exe, "-layout", "-enc", "UTF-8", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(flat(string(out)), "\u00a0", " "), strings.Count(string(out), "\f")
}

// The sheet on paper holds what the page holds.
func TestApartPDF(t *testing.T) {
	h := handler(canned.New())
	text, pages := paper(t, h, "/wrong/apart.pdf?vessel=boat-pond&bleach=4")
	if pages != 1 {
		t.Errorf("%d pages, want one", pages)
	}
	// 10 L at 200 mg/L from 4 %: 50 mL, arithmetic.
	for _, want := range []string{"Keeping Boat pond apart", "50 mL of plain bleach of 4.0 %", "200 mg/L", "30 min", "5 g of ascorbic acid", "Sill bottles", "Lantern pond", "never", "Look 2", "invented"} {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
			t.Errorf("the paper lacks %q:\n%s", want, text)
		}
	}
}

// Whatever stands in an address, the page answers and never fails for its own
// fault.
func FuzzWrong(f *testing.F) {
	h := handler(canned.New())
	for _, q := range []string{"vessel=boat-pond&s=yellow", "vessel=boat-pond&n=foam&c=smell:rotten", "vessel=&s=%00", "vessel=boat-pond&c=:", "c=a:b:c", "s=yellow;x", "vessel=boat-pond&ask=1&said=noted", "vessel=boat-pond&bleach=1e9"} {
		f.Add(q)
	}
	f.Fuzz(func(t *testing.T, q string) {
		for _, path := range []string{"/wrong", "/wrong/apart", "/handing", "/handing/helper.pdf"} {
			r := httptest.NewRequest("GET", path, nil)
			r.URL.RawQuery = q
			if w := do(h, r); w.Code >= 500 {
				t.Errorf("%s?%s: status %d", path, q, w.Code)
			}
		}
	})
}
