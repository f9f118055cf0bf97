package web_test

import (
	"context"
	"encoding/json"
	"net/url"
	"strings"
	"testing"

	"sodalake/web"
	"sodalake/web/canned"
)

func said(t *testing.T, f web.Farm, target string) string {
	t.Helper()
	w := get(t, handler(f), target)
	if w.Code != 200 {
		t.Fatalf("%s: status %d: %s", target, w.Code, w.Body)
	}
	return text(parse(t, w))
}

// What a look rules out, by values from outside.
func TestLookSays(t *testing.T) {
	f := canned.New()
	for _, c := range []struct{ query, want, source string }{
		{"own=300", "at most 1.00 % of all (three over the number seen: 1.0 %)", "1 - 0.05^(1/300) = 0.00994; rule of three: Hanley & Lippman-Hand 1983"},
		{"own=100", "at most 3.0 % of all", "1 - 0.05^(1/100) = 0.02951"},
		{"own=300", "up to 10 µg/g", "1 % of 1 mg/g"},
		{"own=300", "one must see 3744, none foreign", "ln 0.05 / ln(1 - 0.0008) = 3743.2"},
		{"own=98&foreign.thin=2", "2 foreign of 100 in all: 0.2–7.1 %", "Clopper & Pearson 1934, 2 of 100: 0.0024 to 0.0704"},
		{"own=263&straight=81", "81 of 263, 25–37 %", "Newcombe 1998, 81 of 263, exact: 0.2527 to 0.3676"},
		{"own=300&fields=20&field_number_mm=18&objective=10&depth_mm=0.1", "0.0051 mL", "π/4 (18/10)² mm² x 0.1 mm x 20 / 1000"},
		{"own=40", "missing Nothing foreign among 40 filaments. The farm's plan asks for 100: look at 60 more", "the farm's plan"},
		{"own=120", "passed Nothing foreign among 120", "the farm's plan"},
		{"foreign.moving=1", "failed 1 foreign thing was seen", "any foreign thing holds"},
		{"", "Nothing is counted yet", "nothing typed"},
	} {
		if got := strings.ReplaceAll(said(t, f, "/checks/says?of=v:boat-pond&"+c.query), "\u00a0", " "); !strings.Contains(got, c.want) {
			t.Errorf("%s says %q, want %q (%s)", c.query, got, c.want, c.source)
		}
	}
	for _, bad := range []string{"own=-1", "own=x", "own=5&straight=6", "own=1e3", "foreign.balls=2.5", "field_number_mm=18&own=3&fields=1", "field_number_mm=0&objective=1&depth_mm=1&own=1"} {
		if w := get(t, handler(f), "/checks?"+bad); w.Code != 422 || f.Writes != 0 {
			t.Errorf("%s: status %d", bad, w.Code)
		}
	}
}

func TestLookIsNoted(t *testing.T) {
	f := canned.New()
	send := func(fields map[string]string, file []byte) (int, map[string]any) {
		t.Helper()
		w := sendForm(t, f, "/checks", fields, "a.jpg", file)
		e, err := f.Entry(context.Background(), fields["id"])
		if err != nil {
			return w.Code, nil
		}
		var body map[string]any
		if err := json.Unmarshal(e.Body, &body); err != nil {
			t.Fatal(err)
		}
		body["kind"], body["vessel"] = e.Kind, e.Vessel
		return w.Code, body
	}
	code, body := send(map[string]string{"id": id("C1"), "of": "v:boat-pond", "fields": "20", "own": "300", "straight": "12", "ph": "10,2", "temp_c": "18", "smell": "grassy", "colour": "dark_green", "text": "clear"}, withPosition(t))
	if code != 303 || body["kind"] != "microscope" || body["filaments_seen"] != 300.0 || body["foreign_seen"] != 0.0 || body["straight_seen"] != 12.0 || body["ph"] != 10.2 || body["temp_c"] != 18.0 || body["smell"] != "grassy" || body["text"] != "20 fields; clear" || body["photo_sha256"] == nil {
		t.Errorf("status %d, %v", code, body)
	}
	code, body = send(map[string]string{"id": id("C2"), "of": "v:boat-pond", "own": "98", "foreign.thin": "2"}, withPosition(t))
	if code != 303 || body["foreign_seen"] != 2.0 || body["text"] != "Thin threads 2" {
		t.Errorf("foreign: status %d, %v", code, body)
	}
	if got := said(t, f, "/checks?of=v:boat-pond&noted="+id("C2")); !strings.Contains(got, "Boat pond is on hold") {
		t.Errorf("after a foreign one the sheet does not say that the pond is on hold: %q", got)
	}
	writes := f.Writes
	for _, fields := range []map[string]string{
		{"id": id("C3"), "of": "v:boat-pond"}, {"id": id("C3"), "own": "12"}, {"id": id("C3"), "of": "v:nowhere", "own": "12"}, {"id": id("C3"), "of": "v:boat-pond", "own": "x"},
	} {
		if w := sendForm(t, f, "/checks", fields, "", nil); w.Code < 400 || f.Writes != writes {
			t.Errorf("%v: status %d", fields, w.Code)
		}
	}
}

func TestLookOfLot(t *testing.T) {
	f := canned.NewLots()
	lotBody := func(id string) string {
		e, err := f.Entry(context.Background(), id)
		if err != nil {
			return err.Error()
		}
		return e.Kind + " " + string(e.Body)
	}
	few := map[string]string{"id": id("D1"), "of": "l:may-a", "own": "40"}
	if w := sendForm(t, f, "/checks", few, "", nil); w.Code != 422 || !strings.Contains(w.Body.String(), "look at 60 more") {
		t.Errorf("too few: status %d", w.Code)
	}
	w := sendForm(t, f, "/checks", map[string]string{"id": id("D2"), "id_smell": id("D3"), "of": "l:may-a", "own": "140", "fields": "11", "smell": "rotten"}, "", nil)
	if got := lotBody(id("D2")); w.Code != 303 || got != `lot_check {"check":"microscope","lot":"may-a","outcome":"passed","what":"0 foreign, 140 own; 11 fields"}` {
		t.Errorf("status %d, %s: %s", w.Code, got, w.Body)
	}
	if got := lotBody(id("D3")); !strings.Contains(got, `"check":"smell"`) || !strings.Contains(got, `"outcome":"failed"`) {
		t.Errorf("smell: %s", got)
	}
	w = sendForm(t, f, "/checks", map[string]string{"id": id("D4"), "of": "l:may-a", "own": "500", "foreign.beads": "1"}, "", nil)
	if got := lotBody(id("D4")); w.Code != 303 || !strings.Contains(got, `"outcome":"failed"`) {
		t.Errorf("status %d, %s", w.Code, got)
	}
}

// On the phone: taps count, the server says at once what that rules out, and a
// note without signal waits as every other.
func TestJourneyLook(t *testing.T) {
	f := canned.New()
	b := open(t, f, 360, 740)
	b.go_("/checks?of=v:boat-pond")
	b.until("the keys", `document.querySelectorAll("[data-keys]:not([hidden])").length === 12`)
	tap := func(name string, n int) {
		ask[bool](b, `(() => { const k = document.querySelector('[name="`+name+`"]').closest(".counter").querySelector('[data-step="1"]'); for (let i = 0; i < `+string(rune('0'+n))+`; i++) k.click(); return true; })()`)
	}
	tap("own", 7)
	tap("foreign.thin", 1)
	b.until("it says", `document.querySelector("[data-says]").textContent.includes("1 foreign of 8")`)
	b.down.Store(true)
	b.click("form.look .button-solid")
	b.until("queued", `!document.querySelector("[data-look-said]").hidden`)
	b.down.Store(false)
	b.go_("/")
	b.until("sent", `Object.keys(localStorage).length === 0`)
	page, _ := f.Entries(context.Background(), web.Ask{Newest: true, Limit: 1})
	if f.Writes != 1 || string(page.Entries[0].Body) != `{"broken_seen":0,"filaments_seen":7,"foreign_seen":1,"straight_seen":0,"text":"Thin threads 1"}` {
		t.Errorf("%d writes, last %s", f.Writes, page.Entries[0].Body)
	}
}

func TestCheckPages(t *testing.T) {
	for name, f := range map[string]*canned.Farm{"lots": canned.NewLots(), "empty": canned.Empty(), "us": canned.NewUS()} {
		h := handler(f)
		for _, target := range checkPages {
			w := get(t, h, target)
			if w.Code != 200 && !(w.Code == 422 && strings.Contains(target, "bad")) {
				t.Errorf("%s %s: status %d", name, target, w.Code)
			}
			checkPage(t, name+" "+target, w)
		}
	}
}

var checkPages = []string{"/checks/gel", "/checks/gel?" + canned.GelQuery().Encode(), "/checks/gel?ladder=bad", "/checks/pcr", "/checks/pcr?samples=3&assay=", "/checks/pcr?samples=bad", "/checks/lab", "/checks/lab?analyte=lead&found=0.2+mg/kg&place=eu", "/checks/lab?analyte=lead&found=bad", "/checks", "/checks?of=v:boat-pond&own=300&fields=20", "/checks?own=3&foreign.other=1", "/checks?own=bad", "/checks?lot=may-a&own=" + url.QueryEscape("12")}

// The sheets of the checks keep the rules of looks that every page keeps.
func TestLooksOfChecks(t *testing.T) {
	b := open(t, canned.NewLots(), 360, 740)
	targets := []string{
		"/note?kind=photo", "/checks?of=v:boat-pond&fields=20&own=300&straight=12", "/checks?of=l:may-a&own=12&foreign.thin=2", "/checks/pcr",
		"/checks/gel?" + canned.GelQuery().Encode(), "/checks/gel", "/checks/lab?lot=may-a&analyte=lead&found=0.21+mg/kg&place=eu",
	}
	for _, size := range [][2]int64{{320, 640}, {360, 740}, {1280, 900}} {
		b.size(size[0], size[1])
		for _, scheme := range []string{"light", "dark"} {
			if size[0] != 360 && scheme == "dark" {
				continue
			}
			b.scheme(scheme)
			for _, target := range targets {
				b.go_(target)
				ask[bool](b, `document.querySelectorAll("details:not(.when)").forEach(d => d.open = true) || true`)
				if bad := ask[string](b, looksJS); bad != "" {
					t.Errorf("%s at %d px, %s:\n  %s", target[:min(60, len(target))], size[0], scheme, strings.ReplaceAll(bad, "\n", "\n  "))
				}
			}
		}
	}
}
