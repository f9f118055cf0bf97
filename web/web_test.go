package web_test

import (
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"golang.org/x/net/html"

	"sodalake/farm"
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
	"/note": 200, "/note?kind=smell": 200, "/note?kind=inoculated": 200, "/note/kinds": 200, "/calc": 200, "/calc/dilution": 200,
	"/calc/dilution?volume_l=200&from_g_per_l=0.6&to_g_per_l=0.2&salts_g_per_l=NaHCO3+12": 200,
	"/calc/dilution?volume_l=x": 422, "/farm": 200, "/farm/vessel": 200, "/farm/vessel?id=boat-pond": 200, "/farm/inside?vessel=boat-pond": 200,
	"/records": 200, "/records?vessel=boat-pond": 200, "/records/proof": 200, "/nowhere": 404, "/vessels/nowhere": 404, "/records/entry/nowhere": 404,
	"/calc/nowhere": 404, "/farm/vessel?id=nowhere": 404, "/records?before=x": 422,
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
	for _, leaving := range []string{"<no value>", "%!", "map[", "NaN", "0001-01-01"} {
		if strings.Contains(body, leaving) {
			t.Errorf("%s: shows %q", where, leaving)
		}
	}
	if m := neverSaid.FindString(body); m != "" {
		t.Errorf("%s: says %q: the program only tells which checks passed, failed or are missing", where, m)
	}
}

var neverSaid = regexp.MustCompile(`(?i)\b(safe(ly|ty)?|approved|certified|guaranteed)\b`)

// The keys of the catalogue that a page shows by their own words would look
// like "harvest, dark": every key that the templates and handlers name must be
// there.
func TestKeysExist(t *testing.T) {
	checkKeys(t, ".")
}

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

func TestFirstRun(t *testing.T) {
	f := canned.Empty()
	h := handler(f)
	if !strings.Contains(get(t, h, "/").Body.String(), "What do you hold now?") {
		t.Error("an empty farm does not say how to begin")
	}
	value := func(target, name string) string { return attr(find(t, parse(t, get(t, h, target)), name), "value") }
	step := func(target string, form url.Values, next string) {
		t.Helper()
		w := post(h, target, form)
		if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), next) {
			t.Fatalf("%s: status %d, to %q, want %s: %s", target, w.Code, w.Header().Get("Location"), next, w.Body)
		}
	}
	step("/farm/site", url.Values{"id": {value("/farm", "id")}, "name": {"Test quay"}, "lat_deg": {"44,2"}, "lon_deg": {"-14.5"}, "timezone": {"Etc/GMT+1"}, "measures": {"us"}, "language": {"en"}}, "/farm/vessel")
	step("/farm/vessel", url.Values{"id": {value("/farm/vessel", "id")}, "name": {"Quay pond"}, "shape": {"box"}, "box.length": {"12 ft"}, "box.width": {"100"}, "box.height": {"30 cm"},
		"full_level": {"20"}, "place": {"outdoors"}, "use": {"grow"}, "lit": {"top"}, "stirring": {"continuous"}, "cover": {"none"}, "food": {"yes"}}, "/farm/inside?vessel=quay-pond")
	step("/farm/inside", url.Values{"id": {value("/farm/inside?vessel=quay-pond", "id")}, "vessel": {"quay-pond"}, "volume": {"100"}, "from": {"outside"}}, "/note?vessel=quay-pond")
	setup, err := f.Setup(context.Background())
	if err != nil || len(setup.Vessels) != 1 || setup.Site.Measures != "us" {
		t.Fatalf("setup %+v, %v", setup, err)
	}
	v := setup.Vessels[0]
	if v.FullLevelCM != 20 {
		t.Errorf("full at 20 cm became %g cm", v.FullLevelCM)
	}
	if l := v.Shape.LengthM; l < 3.657 || l > 3.658 { // 12 ft = 3.6576 m exactly
		t.Errorf("12 ft became %g m", l)
	}
	page, _ := f.Entries(context.Background(), web.Ask{Newest: true, Limit: 1})
	if body := string(page.Entries[0].Body); !strings.Contains(body, `"volume_l":378.54`) { // 100 US gal, NIST SP 811
		t.Errorf("100 gallons were written as %s", body)
	}
	// Changing one thing loses none of the others.
	step("/farm/vessel", url.Values{"id": {value("/farm/vessel", "id")}, "vessel": {"quay-pond"}, "name": {"Quay pond, covered"}, "shape": {"box"}, "box.length": {"365.76"}, "box.width": {"100"}, "box.height": {"30"},
		"full_level": {"20"}, "place": {"tunnel"}, "use": {"grow"}, "lit": {"top"}, "stirring": {"hand"}, "times_per_day": {"4"}, "cover": {"tunnel"}, "transmission_pct": {"80"}, "vents": {"half"}, "food": {"yes"}}, "/farm?said=saved")
	setup, _ = f.Setup(context.Background())
	if v := setup.Vessels[0]; v.Name != "Quay pond, covered" || v.Cover.Transmission != .8 || v.Stirring.TimesPerDay != 4 || len(setup.Vessels) != 1 {
		t.Errorf("vessel %+v", v)
	}
}

// The volume is shown back at once: 520 x 160 cm raceway, against the area of a
// rectangle with two half circles less a wall of 4 cm, by hand:
// 3.60 x 1.60 + pi 0.8^2 - 3.60 x 0.04 = 7.627 m².
func TestVolumeShown(t *testing.T) {
	h := handler(canned.New())
	w := get(t, h, "/farm/vessel?shape=raceway&raceway.length=520&raceway.width=160&raceway.height=32&raceway.mid_wall=4&full_level=16")
	if !strings.Contains(w.Body.String(), "7.63") {
		t.Errorf("surface is not 7.63 m²: %s", regexp.MustCompile(`data-volume.*`).FindString(w.Body.String()))
	}
}

func TestExportImportProof(t *testing.T) {
	f := canned.New()
	h := handler(f)
	lines := get(t, h, "/records/export.jsonl")
	if lines.Code != 200 || !strings.HasPrefix(lines.Header().Get("Content-Disposition"), "attachment") {
		t.Fatalf("export: status %d", lines.Code)
	}
	other := canned.Empty()
	h2 := handler(other)
	body := "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a.jsonl\"\r\n\r\n" + lines.Body.String() + "\r\n--x--\r\n"
	for i, want := range []string{"entries came in", "0 entries came in"} {
		r := local("POST", "/records/import", strings.NewReader(body))
		r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		w := httptest.NewRecorder()
		h2.ServeHTTP(w, r)
		if w.Code != 200 || !strings.Contains(w.Body.String(), want) {
			t.Fatalf("import %d: status %d: %.600s", i+1, w.Code, w.Body)
		}
	}
	if w := get(t, h2, "/records/proof"); !strings.Contains(w.Body.String(), "Whole:") {
		t.Error("the imported journal is not proved whole")
	}
	bad := strings.Replace(body, "secchi_cm", "secchi_inch", 1)
	r := local("POST", "/records/import", strings.NewReader(bad))
	r.Header.Set("Content-Type", "multipart/form-data; boundary=x")
	w := httptest.NewRecorder()
	fresh := canned.Empty()
	handler(fresh).ServeHTTP(w, r)
	if w.Code != http.StatusUnprocessableEntity || !strings.Contains(w.Body.String(), "line") {
		t.Errorf("a bad line: status %d", w.Code)
	}
	if s, _ := fresh.Setup(context.Background()); s.Head != 0 {
		t.Errorf("a bad file left %d entries", s.Head)
	}
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
