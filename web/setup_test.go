package web_test

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"sodalake/web"
	"sodalake/web/canned"
)

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
