package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"sodalake/farm/lot"
	"sodalake/web/canned"
	"sodalake/words"
)

// Every page of harvests answers as a page must, in every state of a lot.
func TestLotPages(t *testing.T) {
	for name, f := range map[string]*canned.Farm{"full": canned.NewLots(), "empty": canned.Empty(), "us": canned.NewUS()} {
		h := handler(f)
		pages := []string{"/harvests", "/harvests?paste=2500", "/harvests?paste=many", "/harvests/new", "/trace", "/harvests/plan", "/hazards", "/hazards?from=2026-04-01&to=2026-05-14"}
		if name == "full" {
			pages = append(pages, "/lots/may-a", "/lots/may-b", "/lots/april-d", "/lots/april-e", "/lots/april-f", "/lots/april-d/trace", "/trace?from=cloth", "/trace?from=boat-pond&since=2026-04-20")
		}
		for _, target := range pages {
			w := get(t, h, target)
			if w.Code != http.StatusOK {
				t.Errorf("%s %s: status %d", name, target, w.Code)
				continue
			}
			checkPage(t, name+" "+target, w)
		}
	}
	h := handler(canned.NewLots())
	for target, code := range map[string]int{"/lots/nothing": 404, "/lots/nothing/trace": 404, "/trace?from=nobody": 404, "/trace.csv?from=nobody": 404, "/trace.csv": 422, "/trace?from=cloth&since=soon": 422, "/lots/may-a/label.pdf?size=huge": 422, "/hazards?from=x": 422, "/hazards?from=2026-05-02&to=2026-05-01": 422, "/hazards.pdf?from=2020-01-01": 422} {
		if w := get(t, h, target); w.Code != code {
			t.Errorf("%s: status %d, want %d", target, w.Code, code)
		}
	}
	for target, begins := range map[string]string{"/lots/april-d/label.pdf": "%PDF-", "/lots/april-d/trace.pdf": "%PDF-", "/hazards.pdf": "%PDF-", "/lots/april-d/trace.csv": "part,kind,id", "/trace.csv?from=cloth&since=": "part,kind,id"} {
		if w := get(t, h, target); w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), begins) {
			t.Errorf("%s: status %d, begins %.20q", target, w.Code, w.Body.String())
		}
	}
}

// A lot from the cloth to a decision through the forms: what cannot be is
// refused with its field, and a form that is sent twice writes once.
func TestLotJourney(t *testing.T) {
	f := canned.NewLots()
	h := handler(f)
	id := func(target, do string) string {
		doc := parse(t, get(t, h, target))
		for _, form := range all(doc, "form") {
			for _, in := range all(form, "input", "option") {
				if attr(in, "name") == "do" && attr(in, "value") == do || do == "" && attr(in, "name") == "lot" || attr(in, "value") == do && do == "used" {
					for _, hidden := range all(form, "input") {
						if attr(hidden, "name") == "id" {
							return attr(hidden, "value")
						}
					}
				}
			}
		}
		t.Fatalf("%s has no form for %q", target, do)
		return ""
	}
	state := func(name string) lot.State {
		v, err := f.Lot(context.Background(), name, canned.Now)
		if err != nil {
			t.Fatal(err)
		}
		return v.State
	}
	begin := url.Values{"id": {id("/harvests/new", "")}, "vessel": {"cistern-tank"}, "lot": {"new"}, "volume": {"150"}, "mass": {"900"}, "tools": {"cloth"}, "fit": {"yes"}, "filtrate_to": {"vessel"}}
	for range 2 {
		if w := post(h, "/harvests/new", begin); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/lots/new?said=saved" {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	if f.Writes != 1 {
		t.Fatalf("%d writes of one form sent twice", f.Writes)
	}
	if state("new") != lot.Running {
		t.Fatalf("the lot is %s", state("new"))
	}
	act := func(want int, pairs ...string) string {
		t.Helper()
		v := url.Values{}
		for i := 0; i < len(pairs); i += 2 {
			v.Add(pairs[i], pairs[i+1])
		}
		do := v.Get("do")
		target := "/lots/new"
		if do == "end" {
			do = "hold"
		}
		if do == "sold" || do == "gave" || do == "discarded" || do == "pack" {
			do = "used"
		}
		if v.Get("id") == "" {
			v.Set("id", id(target, do))
		}
		w := post(h, target, v)
		if w.Code != want {
			t.Errorf("%v: status %d, want %d: %s", pairs, w.Code, want, text(parse(t, w)))
		}
		return text(parse(t, w))
	}
	act(303, "do", "step", "step", "pressed", "mass", "430", "temp", "21", "tools", "press")
	if said := act(422, "do", "step", "step", "weighed", "mass", "2 kg"); !strings.Contains(said, "more than") {
		t.Errorf("heavier than before: %s", said)
	}
	act(422, "do", "step", "step", "out_of_dryer")
	act(422, "do", "sold", "mass", "100", "whom", "market")
	act(303, "do", "step", "step", "into_cold", "temp", "4")
	act(303, "do", "hold", "reason", "a guest fell ill", "by", "imke")
	if state("new") != lot.OnHold {
		t.Errorf("held, the lot is %s", state("new"))
	}
	v, _ := f.Lot(context.Background(), "new", canned.Now)
	held := v.Holds[0].EntryID
	act(403, "do", "end", "hold", held, "reason", "it was the soup", "by", "somebody")
	act(303, "do", "end", "hold", held, "reason", "it was the soup", "by", "imke")
	page := text(parse(t, get(t, h, "/lots/new")))
	if !strings.Contains(page, "passed") {
		t.Errorf("no check passed: %s", page)
	}
	v, _ = f.Lot(context.Background(), "new", canned.Now)
	for _, c := range v.Checks {
		if c.Required && c.State == "missing" {
			act(303, "do", "check", "check", c.Key, "outcome", "passed")
		}
	}
	act(303, "do", "check", "check", "laboratory", "analyte", "lead", "found", "< 0.05 mg/kg")
	act(422, "do", "check", "check", "laboratory", "analyte", "lead", "found", "0.05")
	act(303, "do", "release", "reason", "all seen", "by", "imke")
	if state("new") != lot.Released {
		v, _ = f.Lot(context.Background(), "new", canned.Now)
		t.Fatalf("let go, the lot is %s (%s)", v.State, v.Why)
	}
	act(303, "do", "blend", "name", "half", "mass", "200")
	act(303, "do", "discarded", "mass", "")
	if state("new") != lot.Destroyed && state("new") != lot.UsedUp {
		t.Errorf("nothing is left and the lot is %s", state("new"))
	}
	act(422, "do", "dance", "id", "01ARZ3NDEKTSV4RRFFQ69G5FAV")
}

// The plan's form writes only what was changed, all or none, and every choice
// has its words. Tools are described, and their cleaning noted.
func TestLotPlan(t *testing.T) {
	f := canned.Empty()
	h := handler(f)
	for _, c := range lot.Choices() {
		if !words.Has("lot_choice." + c.Key) {
			t.Errorf("choice %s has no words", c.Key)
		}
	}
	doc := parse(t, get(t, h, "/harvests/plan"))
	form := url.Values{}
	for _, n := range all(doc, "input", "select") {
		name := attr(n, "name")
		switch {
		case n.Data == "select":
			for _, o := range all(n, "option") {
				if has(o, "selected") {
					form.Set(name, attr(o, "value"))
				}
			}
		case attr(n, "type") == "text":
			form.Set(name, attr(n, "value"))
		}
	}
	if w := post(h, "/harvests/plan", form); w.Code != http.StatusSeeOther || f.Writes != 0 {
		t.Fatalf("the form as it stood: status %d, %d writes", w.Code, f.Writes)
	}
	form.Set("ph_least_25c", "10,1")
	form.Set("require_fitness", "yes")
	form.Set("dryer", "sun")
	form.Set("checks_own", "sieve")
	for range 2 {
		if w := post(h, "/harvests/plan", form); w.Code != http.StatusSeeOther || f.Writes != 1 {
			t.Fatalf("status %d, %d writes", w.Code, f.Writes)
		}
	}
	l, err := f.Lots(context.Background(), canned.Now, 0)
	if err != nil || l.Plan.LeastPH != 10.1 || !slices.Contains(l.Plan.Required, lot.Fitness) || l.Plan.Dryer != "sun" || !slices.Equal(l.Plan.Own, []string{"sieve"}) {
		t.Errorf("%v: the plan is %+v", err, l.Plan)
	}
	for body, field := range map[string]string{"ph_least_25c=20": "ph_least_25c", "ph_least_25c=high": "ph_least_25c", "dryer=oven": "dryer"} {
		v, _ := url.ParseQuery(body + "&clock_wet_hold_h=5")
		if w := post(h, "/harvests/plan", v); w.Code != 422 || !strings.Contains(text(parse(t, w)), field) || f.Writes != 1 {
			t.Errorf("%s: status %d, %d writes", body, w.Code, f.Writes)
		}
	}
	id := func() string { return attr(find(t, parse(t, get(t, h, "/harvests/plan")), "id"), "value") }
	if w := post(h, "/harvests/tool", url.Values{"id": {id()}, "name": {"Filter cloth"}, "sort": {"cloth"}, "clean": {"use"}, "every_days": {"7"}, "clean_with": {"hot water"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if w := post(h, "/harvests/cleaned", url.Values{"id": {id()}, "tools": {"filter-cloth"}, "result": {"good"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	if w := post(h, "/harvests/cleaned", url.Values{"id": {id()}, "result": {"good"}}); w.Code != 422 {
		t.Errorf("no tool cleaned: status %d", w.Code)
	}
	if w := post(h, "/harvests/tool", url.Values{"id": {id()}, "name": {"!"}}); w.Code != 422 {
		t.Errorf("a tool without a name: status %d", w.Code)
	}
}

// A step that was tapped without signal comes later with its own time, once.
func TestLotStepFromOutbox(t *testing.T) {
	f := canned.NewLots()
	h := handler(f)
	made := canned.Now.Add(-30 * 60 * 1e9)
	form := url.Values{"id": {"01KRKMJP9V8Q2V4NE0K8WZQ3AF"}, "do": {"step"}, "step": {"into_cold"}, "temp": {"4"}, "made_at": {made.UTC().Format("2006-01-02T15:04:05Z07:00")}}
	for range 2 {
		r := local("POST", "/lots/may-a", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "application/json")
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "said") {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
	}
	v, err := f.Lot(context.Background(), "may-a", canned.Now)
	if err != nil || f.Writes != 1 {
		t.Fatalf("%d writes, %v", f.Writes, err)
	}
	last := v.Steps[len(v.Steps)-1]
	if last.Step != "into_cold" || !last.At.Equal(made) {
		t.Errorf("the step is %s at %v, want it at %v", last.Step, last.At, made)
	}
}

func TestLotLooks(t *testing.T) {
	b := open(t, canned.NewLots(), 360, 740)
	for _, size := range [][2]int64{{320, 640}, {360, 740}, {1280, 900}} {
		b.size(size[0], size[1])
		for _, scheme := range []string{"light", "dark"} {
			if size[0] == 320 && scheme == "dark" {
				continue
			}
			b.scheme(scheme)
			for _, target := range []string{"/harvests?paste=2500", "/harvests?paste=many", "/harvests/new", "/lots/may-a", "/lots/may-b", "/lots/april-d", "/lots/april-e", "/lots/april-d/trace", "/trace?from=cloth", "/hazards", "/harvests/plan"} {
				b.go_(target)
				ask[bool](b, `document.querySelectorAll("details:not(.when)").forEach(d => d.open = true) || true`)
				if bad := ask[string](b, looksJS); bad != "" {
					t.Errorf("%s at %d px, %s:\n  %s", target, size[0], scheme, strings.ReplaceAll(bad, "\n", "\n  "))
				}
			}
		}
	}
}

// A harvest that was noted without a lot gets one by a correction that says the
// same otherwise.
func TestNameHarvest(t *testing.T) {
	f := canned.NewLots()
	h := handler(f)
	note := url.Values{"id": {attr(find(t, parse(t, get(t, h, "/note?vessel=boat-pond&kind=harvested")), "id"), "value")}, "vessel": {"boat-pond"}, "kind": {"harvested"}, "value": {"60"}}
	if w := post(h, "/note", note); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	doc := parse(t, get(t, h, "/harvests"))
	form := url.Values{}
	for _, x := range all(doc, "form") {
		if attr(x, "action") != "/harvests/name" {
			continue
		}
		for _, in := range all(x, "input") {
			form.Set(attr(in, "name"), attr(in, "value"))
		}
	}
	if form.Get("lot") != "2026-05-14-a" {
		t.Fatalf("the form is %v", form)
	}
	for range 2 {
		if w := post(h, "/harvests/name", form); w.Code != http.StatusSeeOther || f.Writes != 2 {
			t.Fatalf("status %d, %d writes: %s", w.Code, f.Writes, w.Body)
		}
	}
	v, err := f.Lot(context.Background(), "2026-05-14-a", canned.Now)
	if err != nil || len(v.Harvests) != 1 || v.Harvests[0].VolumeL != 60 || v.Harvests[0].Vessel != "boat-pond" {
		t.Errorf("%v: %+v", err, v.Harvests)
	}
	if l, _ := f.Lots(context.Background(), canned.Now, 0); len(l.Unlotted) != 0 {
		t.Errorf("without a lot: %+v", l.Unlotted)
	}
	form.Set("entry", "01ARZ3NDEKTSV4RRFFQ69G5FAV")
	if w := post(h, "/harvests/name", form); w.Code != 404 {
		t.Errorf("no such entry: status %d", w.Code)
	}
}

// The same for machines, described in the schema.
func TestLotAPI(t *testing.T) {
	h := handler(canned.NewLots())
	for target, want := range map[string]string{
		"/api/lots": `"lot":"may-a"`, "/api/lots?paste_g=1000": `"split"`, "/api/lots/april-d": `"state":"released"`, "/api/trace/april-d": `"whom":"a neighbour"`, "/api/trace/cloth": `"lots":`, "/api/openapi.json": "get-trace",
	} {
		w := get(t, h, target)
		if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), want) {
			t.Errorf("%s: status %d, without %s: %.300s", target, w.Code, want, w.Body)
		}
	}
	for target, code := range map[string]int{"/api/lots/none": 404, "/api/trace/none": 404, "/api/lots?paste_g=-1": 422} {
		if w := get(t, h, target); w.Code != code {
			t.Errorf("%s: status %d, want %d", target, w.Code, code)
		}
	}
}
