package web_test

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"sodalake/web"
	"sodalake/web/canned"
)

func handler(f web.Farm) http.Handler {
	return web.New(web.Config{Farm: f, Calculators: canned.Calculators(), Now: func() time.Time { return canned.Now }, Invented: true})
}

// local makes a request as this machine's own browser or program makes it.
func local(method, target string, body io.Reader) *http.Request {
	r := httptest.NewRequest(method, target, body)
	r.RemoteAddr, r.Host = "127.0.0.1:50000", "127.0.0.1:8490"
	return r
}

func get(t *testing.T, h http.Handler, target string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, local("GET", target, nil))
	return w
}

func post(h http.Handler, target string, form url.Values) *httptest.ResponseRecorder {
	r := local("POST", target, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func parse(t *testing.T, w *httptest.ResponseRecorder) *html.Node {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(w.Body.String()))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// all returns the elements of those names below n.
func all(n *html.Node, names ...string) []*html.Node {
	var out []*html.Node
	for c := range n.Descendants() {
		for _, name := range names {
			if c.Type == html.ElementNode && c.Data == name {
				out = append(out, c)
			}
		}
	}
	return out
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	for _, a := range n.Attr {
		if a.Key == key {
			return true
		}
	}
	return false
}

func text(n *html.Node) string {
	var b strings.Builder
	for c := range n.Descendants() {
		if c.Type == html.TextNode {
			b.WriteString(c.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// pages are every address that shows a page, with the status it must have.
var pages = map[string]int{
	"/": 200, "/vessels": 200, "/vessels/lantern-pond": 200, "/vessels/boat-pond": 200, "/vessels/cistern-tank": 200, "/vessels/sill-bottles": 200,
	"/note": 200, "/note?kind=smell": 200, "/note?kind=photo": 200, "/photos/nowhere": 404, "/photos/" + strings.Repeat("0f", 32): 404, "/note?kind=inoculated": 200, "/note/kinds": 200, "/calc": 200, "/calc/dilution": 200,
	"/calc/dilution?volume_l=200&from_g_per_l=0.6&to_g_per_l=0.2&salts_g_per_l=NaHCO3+12": 200,
	"/calc/dilution?volume_l=x": 422, "/farm": 200, "/farm/climate": 200, "/farm/instruments": 200, "/farm/vessel": 200, "/farm/vessel?id=boat-pond": 200, "/farm/inside?vessel=boat-pond": 200,
	"/mix": 200, "/mix?mode=top": 200, "/mix?mode=feed": 200, "/mix?mode=ph": 200, "/mix/hold": 200, "/shelf": 200, "/shelf/lot": 200, "/shelf/lot?id=nowhere": 404,
	"/shelf/water": 200, "/shelf/water?id=nowhere": 404, "/why": 200, "/calc/mix": 200,
	"/mix?mode=medium&volume=x": 422, "/mix?mode=medium&volume=50&recipe=pub.zarrouk&water_hardness_mg_per_l=200": 200, "/mix?mode=medium&volume=2&recipe=own&salts=urea+0.2": 422,
	"/mix?mode=medium&volume=20&recipe=own&salts=baking+soda+10%0Asaltpetre+2": 200, "/mix?mode=medium&recipe=ready&ready_mix_g_per_l=12&ready_mix_ph=8.4": 200, "/mix?mode=medium&recipe=pub.nowhere": 422,
	"/records": 200, "/records?vessel=boat-pond": 200, "/records/proof": 200, "/nowhere": 404, "/vessels/nowhere": 404, "/records/entry/nowhere": 404,
	"/power": 200, "/power?pump_w=5&hours=30": 422, "/build": 200, "/build?a_length=-3": 422, "/calc/nowhere": 404, "/farm/vessel?id=nowhere": 404, "/records?before=x": 422,
}

func TestEveryPage(t *testing.T) {
	for name, f := range map[string]*canned.Farm{"season": canned.New(), "us": canned.NewUS(), "empty": canned.Empty()} {
		h := handler(f)
		for target, status := range pages {
			if name == "empty" && strings.Contains(target, "pond") || name == "empty" && strings.Contains(target, "tank") || name == "empty" && strings.Contains(target, "bottles") {
				status = 404
				if strings.HasPrefix(target, "/records") {
					status = 200
				}
			}
			w := get(t, h, target)
			if w.Code != status {
				t.Errorf("%s %s: status %d, want %d", name, target, w.Code, status)
				continue
			}
			checkPage(t, name+" "+target, w)
		}
	}
}

// checkPage holds a page against the rules that every page keeps: WCAG 2.2
// success criteria by their numbers, and our own content policy.
func checkPage(t *testing.T, where string, w *httptest.ResponseRecorder) {
	t.Helper()
	csp := w.Header().Get("Content-Security-Policy")
	for _, part := range []string{"default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'"} {
		if !strings.Contains(csp, part) {
			t.Errorf("%s: content policy %q lacks %q", where, csp, part)
		}
	}
	if strings.Contains(csp, "unsafe") {
		t.Errorf("%s: content policy %q lets anything in", where, csp)
	}
	doc := parse(t, w)
	if h := all(doc, "html"); attr(h[0], "lang") == "" {
		t.Errorf("%s: no language (WCAG 3.1.1)", where)
	}
	if titles := all(all(doc, "head")[0], "title"); len(titles) != 1 || !strings.HasSuffix(text(titles[0]), "· Sodalake") || len(text(titles[0])) < 12 {
		t.Errorf("%s: title is not one with words of its own (WCAG 2.4.2)", where)
	}
	if h1 := all(doc, "h1"); len(h1) != 1 || text(h1[0]) == "" {
		t.Errorf("%s: %d headings of the first level, want one", where, len(h1))
	}
	ids := map[string]bool{}
	labelled := map[string]bool{}
	for _, l := range all(doc, "label") {
		if text(l) == "" {
			t.Errorf("%s: a label says nothing", where)
		}
		if has(l, "for") {
			labelled[attr(l, "for")] = true
		}
	}
	for n := range doc.Descendants() {
		if n.Type != html.ElementNode {
			continue
		}
		for _, a := range n.Attr {
			if strings.HasPrefix(a.Key, "on") || a.Key == "style" {
				t.Errorf("%s: <%s> carries %s=%q", where, n.Data, a.Key, a.Val)
			}
			if (a.Key == "href" || a.Key == "src" || a.Key == "action" || a.Key == "formaction") && !strings.HasPrefix(a.Val, "/") && !strings.HasPrefix(a.Val, "#") {
				t.Errorf("%s: <%s %s=%q> leaves the farm's own server", where, n.Data, a.Key, a.Val)
			}
		}
		if id := attr(n, "id"); id != "" {
			if ids[id] {
				t.Errorf("%s: identifier %q stands twice", where, id)
			}
			ids[id] = true
		}
		switch n.Data {
		case "style":
			t.Errorf("%s: a style inside the page", where)
		case "script":
			if !has(n, "src") {
				t.Errorf("%s: a script inside the page", where)
			}
		case "input", "select", "textarea":
			if attr(n, "type") == "hidden" {
				continue
			}
			inside := false
			for p := n.Parent; p != nil; p = p.Parent {
				inside = inside || p.Data == "label"
			}
			if !inside && !labelled[attr(n, "id")] && attr(n, "aria-label") == "" {
				t.Errorf("%s: <%s name=%q> has no label (WCAG 3.3.2)", where, n.Data, attr(n, "name"))
			}
			if attr(n, "name") == "" {
				t.Errorf("%s: <%s> has no name and would not be sent", where, n.Data)
			}
		case "button", "a", "summary":
			if text(n) == "" && attr(n, "aria-label") == "" && attr(n, "aria-hidden") == "" {
				t.Errorf("%s: <%s> has no words (WCAG 4.1.2)", where, n.Data)
			}
		case "svg":
			if attr(n, "role") == "img" && attr(n, "aria-label") == "" || attr(n, "role") == "" && attr(n, "aria-hidden") == "" {
				t.Errorf("%s: a drawing that neither says what it is nor hides (WCAG 1.1.1)", where)
			}
		}
	}
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode {
			if ref := attr(n, "aria-labelledby"); ref != "" && !ids[ref] {
				t.Errorf("%s: labelled by %q, which is not there", where, ref)
			}
		}
	}
	body := text(all(doc, "body")[0])
	for _, leaving := range []string{"<no value>", "%!", "map[", "0001-01-01"} {
		if strings.Contains(body, leaving) {
			t.Errorf("%s: shows %q", where, leaving)
		}
	}
	if notNumber.MatchString(body) { // NaNO3 is a salt
		t.Errorf("%s: shows a number that is none", where)
	}
	if m := neverSaid.FindString(body); m != "" {
		t.Errorf("%s: says %q: the program only tells which checks passed, failed or are missing", where, m)
	}
}

var notNumber = regexp.MustCompile(`\bNaN\b|\bInf\b`)

var neverSaid = regexp.MustCompile(`(?i)\b(safe(ly|ty)?|approved|certified|guaranteed)\b`)

// The keys of the catalogue that a page shows by their own words would look
// like "harvest, dark": every key that the templates and handlers name must be
// there.
func TestKeysExist(t *testing.T) {
	checkKeys(t, ".")
}

// Today is under 60 kB over the wire with all that its first load needs.
func TestTodayWeight(t *testing.T) {
	h := handler(canned.New())
	wire := func(target string) int {
		r := local("GET", target, nil)
		r.Header.Set("Accept-Encoding", "gzip")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Header().Get("Content-Encoding") != "gzip" {
			t.Errorf("%s is not packed", target)
		}
		n := w.Body.Len()
		if _, err := gzip.NewReader(w.Body); err != nil {
			t.Errorf("%s: %v", target, err)
		}
		return n
	}
	total := wire("/")
	page := total
	for _, m := range regexp.MustCompile(`/assets/[a-z]+\.[0-9a-f]{12}\.(css|js|svg)`).FindAllString(get(t, h, "/").Body.String(), -1) {
		total += wire(m)
	}
	for _, m := range []string{"outbox", "note", "pick", "shape"} {
		for name := range web.AssetNames() {
			if strings.HasPrefix(name, m+".") {
				total += wire("/assets/" + name)
			}
		}
	}
	t.Logf("Today: %d bytes, with all assets %d", page, total)
	if total > 60_000 {
		t.Errorf("Today's first load is %d bytes over the wire, more than 60 kB", total)
	}
}

func TestAssetsKeptForGood(t *testing.T) {
	h := handler(canned.New())
	for name := range web.AssetNames() {
		w := get(t, h, "/assets/"+name)
		if w.Code != 200 || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") || w.Body.Len() == 0 {
			t.Errorf("%s: status %d, %q", name, w.Code, w.Header().Get("Cache-Control"))
		}
	}
}

// Our own fault is one calm sentence, and its cause is not shown.
func TestFault(t *testing.T) {
	f := canned.New()
	h := handler(f)
	f.Fail = io.ErrUnexpectedEOF
	for _, target := range []string{"/", "/api/today", "/healthz"} {
		w := get(t, h, target)
		if w.Code < 500 || strings.Contains(w.Body.String(), "EOF") {
			t.Errorf("%s: status %d: %s", target, w.Code, w.Body)
		}
	}
}

func BenchmarkToday(b *testing.B) {
	h := handler(canned.New())
	b.ReportAllocs()
	for b.Loop() {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, local("GET", "/", nil))
	}
}

func BenchmarkVessel(b *testing.B) {
	h := handler(canned.New())
	b.ReportAllocs()
	for b.Loop() {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, local("GET", "/vessels/boat-pond", nil))
	}
}
