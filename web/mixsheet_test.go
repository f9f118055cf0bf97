package web_test

import (
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sodalake/housetest"
	"sodalake/web"
	"sodalake/web/canned"
)

// The part that moves while typing is only the part.
func TestMixPart(t *testing.T) {
	h := handler(canned.New())
	w := get(t, h, "/mix/part?mode=medium&volume=40&recipe=farm.station-medium")
	if s := w.Body.String(); w.Code != 200 || strings.Contains(s, "<html") || !strings.Contains(s, "480") {
		t.Errorf("status %d: %.200s", w.Code, s)
	}
	if w = get(t, h, "/mix/part?mode=medium&volume=x"); w.Code != 200 || !strings.Contains(w.Body.String(), `class="bad"`) {
		t.Errorf("a slip: status %d, %.200s", w.Code, w.Body)
	}
}

// The PDF holds what the page holds: read back by poppler.
func TestMixPDF(t *testing.T) {
	exe := housetest.Need(t, "pdftotext")
	for name, f := range map[string]*canned.Farm{"metric": canned.New(), "us": canned.NewUS()} {
		h := handler(f)
		for _, query := range []string{"mode=medium&volume=200&recipe=pub.zarrouk&water=tap", "mode=top&vessel=boat-pond", "mode=feed&vessel=boat-pond", "mode=ph&vessel=cistern-tank&by=bicarbonate"} {
			w := get(t, h, "/mix/sheet.pdf?"+query)
			if w.Code != 200 || w.Header().Get("Content-Type") != "application/pdf" {
				t.Errorf("%s %s: status %d %s", name, query, w.Code, w.Body)
				continue
			}
			file := filepath.Join(t.TempDir(), "sheet.pdf")
			if err := os.WriteFile(file, w.Body.Bytes(), 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(exe, "-layout", "-enc", "UTF-8", file, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			flat := strings.Join(strings.Fields(string(out)), " ")
			names, got := rows(mix(t, h, query))
			for _, n := range names {
				amount := strings.Fields(strings.ReplaceAll(got[n], "\u00a0", " "))[0]
				if !strings.Contains(flat, strings.Join(strings.Fields(n), " ")[:min(len(n), 12)]) || !strings.Contains(flat, amount) {
					t.Errorf("%s %s: the PDF lacks %s of %s:\n%s", name, query, amount, n, out)
				}
			}
			for _, want := range []string{"Mixed by", "Take care", "Saltmarsh Lighthouse Station", "invented"} {
				if !strings.Contains(flat, want) {
					t.Errorf("%s %s: the PDF lacks %q", name, query, want)
				}
			}
			if pages := strings.Count(string(out), "\f"); pages != 1 {
				t.Errorf("%s %s: %d pages, want one sheet", name, query, pages)
			}
		}
		if w := get(t, h, "/mix/sheet.pdf?mode=medium&volume=x"); w.Code != http.StatusUnprocessableEntity {
			t.Errorf("a sheet of nothing: status %d", w.Code)
		}
	}
}

// Own salts are kept as a recipe, which is offered from then on.
func TestMixKeepsRecipe(t *testing.T) {
	f := canned.New()
	h := handler(f)
	form := recordForm(t, mix(t, h, "mode=medium&volume=10&recipe=own&salts=baking+soda+9%0Asaltpetre+1"), "/mix/recipe")
	form.Set("name", "Harbour mix")
	for range 2 {
		if w := post(h, "/mix/recipe", form); w.Code != http.StatusSeeOther || !strings.Contains(w.Header().Get("Location"), "recipe=farm.harbour-mix") {
			t.Fatalf("status %d to %s: %s", w.Code, w.Header().Get("Location"), w.Body)
		}
	}
	if f.Writes != 1 {
		t.Errorf("%d writes of one recipe", f.Writes)
	}
	_, got := rows(mix(t, h, "mode=medium&volume=10&recipe=farm.harbour-mix&water="))
	if got["Baking soda"] != "90 g" || got["Saltpetre"] != "10 g" {
		t.Errorf("the kept recipe weighs %v", got)
	}
}

var _ web.Farm = (*canned.Farm)(nil)

func BenchmarkMixPart(b *testing.B) {
	for name, query := range map[string]string{
		"medium": "mode=medium&volume=200&recipe=pub.zarrouk&water=tap", "farm": "mode=medium&volume=200&recipe=farm.station-medium", "ready": "mode=medium&recipe=ready&ready_mix_g_per_l=12&ready_mix_ph=8.4",
		"fewest": "mode=medium&volume=200&recipe=farm.station-medium&method=fewest", "feed": "mode=feed&vessel=lantern-pond", "ph": "mode=ph&vessel=lantern-pond&by=soda_ash&ph=9.4&to_ph=9.6", "wait": "mode=ph&vessel=lantern-pond&by=wait&ph=9.4&to_ph=9.6",
	} {
		b.Run(name, func(b *testing.B) {
			h := handler(canned.New())
			b.ReportAllocs()
			for b.Loop() {
				w := httptest.NewRecorder()
				h.ServeHTTP(w, local("GET", "/mix/part?"+query, nil))
				if w.Code != 200 {
					b.Fatal(w.Code)
				}
			}
		})
	}
}
