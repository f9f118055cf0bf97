package web_test

import (
	"context"
	"fmt"
	"net/url"
	"strings"
	"testing"

	"sodalake/web"
	"sodalake/web/canned"
)

// The canned gel follows L = 12000/(m - 5) - 150 exactly, so its ways are known
// from outside the sizing: 472 bp at 24.3 mm, 447 at 25.1, 700 at 19.1
// (Southern 1979's law, worked out by hand).
func TestGelIsCalled(t *testing.T) {
	f := canned.NewLots()
	ask := func(change map[string]string) string {
		t.Helper()
		q := canned.GelQuery()
		for k, v := range change {
			q.Set(k, v)
		}
		return said(t, f, "/checks/gel?"+q.Encode())
	}
	for _, c := range []struct {
		change     map[string]string
		want, what string
	}{
		{nil, "S1: passed", "companion shown, no band at 472, controls behaved"},
		{map[string]string{"lane.4.mm": "19.1 24.3"}, "S1: failed", "a band at 472 bp"},
		{map[string]string{"lane.4.mm": ""}, "S1: missing", "no companion: the extract may hold back copying"},
		{map[string]string{"lane.1.kind": "", "lane.1.mm": ""}, "S1: missing", "no positive control"},
		{map[string]string{"lane.2.kind": ""}, "S1: missing", "no control without template"},
		{map[string]string{"lane.3.kind": ""}, "S1: missing", "no extraction blank"},
		{map[string]string{"lane.2.mm": "24.3"}, "S1: missing", "the control without template carries the band"},
		{map[string]string{"lane.1.mm": "19.1"}, "S1: missing", "the positive control is without its band"},
		{map[string]string{"companion": "447", "lane.4.mm": "25.1", "lane.1.mm": "24.3 25.1"}, "S1: missing", "447 cannot be told from 472 on a routine gel"},
		{map[string]string{"lane.4.mm": "19.1 24.6", "neighbours": "447"}, "S1: missing", "a band between 472 and its neighbour"},
	} {
		got := ask(c.change)
		if !strings.Contains(got, c.want) {
			_, part, _ := strings.Cut(got, "Calls")
			t.Errorf("%s: want %q in %q", c.what, c.want, part[:min(300, len(part))])
		}
		if c.want != "S1: passed" && strings.Contains(got, "S1: passed") {
			t.Errorf("%s: called passed", c.what)
		}
	}
}

func TestGelRefused(t *testing.T) {
	f := canned.NewLots()
	for name, change := range map[string]map[string]string{
		"a ladder of two bands":       {"ladder": "500 23.5\n400 26.8"},
		"a ladder out of order":       {"ladder": "500 23.5\n400 20.1\n300 31.7"},
		"a ladder with words":         {"ladder": "five 23.5\n400 26.8\n300 31.7"},
		"three numbers in a line":     {"ladder": "500 23.5 1\n400 26.8\n300 31.7"},
		"bands of nobody knows what":  {"lane.5.mm": "20"},
		"a way that is none":          {"lane.4.mm": "x"},
		"two lanes of one name":       {"lane.5.name": "S1", "lane.5.kind": "sample"},
		"primers nobody knows":        {"assay": "gold"},
		"a length that is none":       {"neighbours": "many"},
		"a kind of lane that is none": {"lane.4.kind": "other"},
	} {
		q := canned.GelQuery()
		for k, v := range change {
			q.Set(k, v)
		}
		w := get(t, handler(f), "/checks/gel?"+q.Encode())
		if w.Code != 422 || strings.Contains(w.Body.String(), "<b>S1: passed") {
			t.Errorf("%s: status %d", name, w.Code)
		}
		checkPage(t, name, w)
	}
}

func TestGelIsNoted(t *testing.T) {
	f := canned.NewLots()
	form := canned.GelQuery()
	set := func(n string, pairs ...string) url.Values {
		v := url.Values{}
		for k := range form {
			v.Set(k, form.Get(k))
		}
		v.Set("id", id(n))
		v.Set("of", "l:may-a")
		v.Set("call_lane", "S1")
		for i := 0; i < len(pairs); i += 2 {
			v.Set(pairs[i], pairs[i+1])
		}
		return v
	}
	if w := post(handler(f), "/checks/gel", set("F1")); w.Code != 303 {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	e, err := f.Entry(context.Background(), id("F1"))
	if body := string(e.Body); err != nil || !strings.Contains(body, `"check":"pcr-hep","lot":"may-a","outcome":"passed"`) || !strings.Contains(body, "not-found") || !strings.Contains(body, canned.GelPhoto().SHA256) {
		t.Errorf("%s, %v", e.Body, err)
	}
	writes := f.Writes
	for name, v := range map[string]url.Values{
		"no controls":   set("F2", "lane.1.kind", "", "lane.1.mm", ""),
		"no lot":        set("F2", "of", ""),
		"no such lane":  set("F2", "call_lane", "S9"),
		"a control":     set("F2", "call_lane", "pos"),
		"no ladder":     set("F2", "ladder", ""),
		"nothing asked": set("F2", "assay", ""),
	} {
		if w := post(handler(f), "/checks/gel", v); w.Code != 422 || f.Writes != writes {
			t.Errorf("%s: status %d, %d writes", name, w.Code, f.Writes-writes)
		}
	}
	// A photo of it is taken in by its own form.
	w := sendForm(t, f, "/checks/gel/photo", map[string]string{"photo_id": id("F3")}, "gel.jpg", withPosition(t))
	if to := w.Header().Get("Location"); w.Code != 303 || !strings.HasPrefix(to, "/checks/gel?photo=") {
		t.Errorf("photo: status %d, to %q", w.Code, to)
	}
	if w := sendForm(t, f, "/checks/gel/photo", map[string]string{"photo_id": id("F4")}, "", nil); w.Code != 422 {
		t.Errorf("no photo: status %d", w.Code)
	}
}

// Taps on the photo write the same ways as the ruler, as far as a finger hits.
func TestJourneyGel(t *testing.T) {
	f := canned.NewLots()
	b := open(t, f, 1280, 900)
	b.go_("/checks/gel?photo=" + canned.GelPhoto().SHA256 + "&tall_mm=65")
	b.until("the tools", `!document.querySelector("[data-gel-tools]").hidden && document.querySelector("[data-gel] img").complete`)
	tap := func(x, dot float64) string {
		return fmt.Sprintf(`(() => { const g = document.querySelector("[data-gel]"), r = g.getBoundingClientRect(); g.dispatchEvent(new MouseEvent("click", { bubbles: true, clientX: r.left + r.width * %g, clientY: r.top + r.height * %g })); return true; })()`, x, dot/520)
	}
	ask[bool](b, tap(.1, canned.GelWellDot))
	for _, mm := range canned.GelLanes[0] {
		ask[bool](b, tap(.1, canned.GelWellDot+canned.GelDotsPerMM*mm))
	}
	ask[bool](b, `(() => { const t = document.querySelector("[data-tool]"); t.value = "4"; t.dispatchEvent(new Event("change")); return true; })()`)
	ask[bool](b, tap(.85, canned.GelWellDot+canned.GelDotsPerMM*canned.GelLanes[4][0]))
	// The ladder that is chosen at first is another: its rows still carry the ways.
	rows := ask[string](b, `document.querySelector("[data-ladder-rows]").value`)
	lane := ask[string](b, `document.querySelector("[data-lane='4']").value`)
	var mm float64
	if _, err := fmt.Sscan(lane, &mm); err != nil || mm < canned.GelLanes[4][0]-.3 || mm > canned.GelLanes[4][0]+.3 {
		t.Errorf("tapped at %g mm, written %q", canned.GelLanes[4][0], lane)
	}
	if n := strings.Count(rows, "\n"); n < 5 {
		t.Errorf("the ladder's rows are %q", rows)
	}
	ask[bool](b, `document.querySelector("[data-back]").click() || true`)
	if lane := ask[string](b, `document.querySelector("[data-lane='4']").value`); lane != "" {
		t.Errorf("taken back, still %q", lane)
	}
}

var _ web.Photos = (*canned.Farm)(nil)
