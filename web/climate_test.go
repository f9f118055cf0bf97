package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/web/canned"
)

// climateForm is the form as the page sends it: its fields as they stand.
func climateForm(t *testing.T, h http.Handler) url.Values {
	t.Helper()
	for _, f := range all(parse(t, get(t, h, "/farm/climate")), "form") {
		v := url.Values{"sun_in": {"mj"}}
		for _, in := range all(f, "input") {
			v.Set(attr(in, "name"), attr(in, "value"))
		}
		if attr(f, "action") == "/farm/climate" {
			return v
		}
	}
	t.Fatal("no form of the months")
	return nil
}

// nextID is an identifier of the same moment as id, after all others; n orders
// them.
func nextID(id string, n int) string { return fmt.Sprintf("%sZZZZZZZZZZZZZZZ%d", id[:10], n) }

// twelve fills the months with an invented climate.
func twelve(v url.Values) {
	for m := 1; m <= 12; m++ {
		for key, x := range map[string]string{"t_min_c": "9", "t_max_c": "17,5", "rh_pct": "78", "wind_m_s": "5", "rain_mm": "40", "rain_days": "8", "ghi_mj_m2_d": "6"} {
			v.Set(fmt.Sprintf("normals.%d.%s", m, key), x)
		}
	}
}

func lastSite(t *testing.T, f *canned.Farm) farm.Site {
	t.Helper()
	setup, err := f.Setup(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return setup.Site
}

func TestClimateIsWritten(t *testing.T) {
	f := canned.New()
	h := handler(f)
	v := climateForm(t, h)
	v.Set("id", nextID(v.Get("id"), 1))
	twelve(v)
	v.Set("toward.1", "WSW")
	v.Set("height.1", "12")
	v.Set("toward.2", "90")
	v.Set("height.2", "4,5")
	was := lastSite(t, f)
	if w := post(h, "/farm/climate", v); w.Code != http.StatusSeeOther {
		t.Fatalf("twelve months and two hills give %d: %s", w.Code, w.Body.String())
	}
	s := lastSite(t, f)
	if len(s.Normals) != 12 || s.Normals[4] != (farm.Month{GHIMJM2D: 6, TMinC: 9, TMaxC: 17.5, RHPct: 78, WindMS: 5, RainMM: 40, RainDays: 8}) {
		t.Errorf("the months are %+v", s.Normals)
	}
	if want := []farm.SkylineAt{{AzimuthDeg: 90, ElevationDeg: 4.5}, {AzimuthDeg: 247.5, ElevationDeg: 12}}; len(s.Skyline) != 2 || s.Skyline[0] != want[0] || s.Skyline[1] != want[1] {
		t.Errorf("the skyline is %+v, want %+v: sixteen points of 22.5° clockwise from north", s.Skyline, want)
	}
	if s.Name != was.Name || s.Timezone != was.Timezone || s.Measures != was.Measures {
		t.Errorf("the rest of the place changed from %+v to %+v", was, s)
	}
	// What was told is shown again, and sent back unchanged it stays.
	again := climateForm(t, h)
	again.Set("id", nextID(again.Get("id"), 2))
	if again.Get("normals.5.t_max_c") != "17.5" || again.Get("toward.2") != "247.5" {
		t.Errorf("shown again: %q, %q", again.Get("normals.5.t_max_c"), again.Get("toward.2"))
	}
	if w := post(h, "/farm/climate", again); w.Code != http.StatusSeeOther {
		t.Errorf("sent back it gives %d", w.Code)
	}
	a, _ := json.Marshal(s.Normals)
	b, _ := json.Marshal(lastSite(t, f).Normals)
	if string(a) != string(b) {
		t.Errorf("sent back it changes:\n%s\n%s", a, b)
	}
	// The form of the place itself leaves them alone.
	if w := post(h, "/farm/site", url.Values{"id": {nextID(again.Get("id"), 3)}, "name": {"Other name"}, "lat_deg": {"44"}, "lon_deg": {"-14"}, "timezone": {"Etc/GMT+1"}, "measures": {"metric"}, "language": {"en"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("the place gives %d", w.Code)
	}
	if n := lastSite(t, f); len(n.Normals) != 12 || len(n.Skyline) != 2 {
		t.Errorf("a new name loses the months or the skyline: %+v", n)
	}
	// Emptied, they go.
	for key := range again {
		if strings.HasPrefix(key, "normals.") || strings.HasPrefix(key, "toward.") || strings.HasPrefix(key, "height.") {
			again.Set(key, "")
		}
	}
	again.Set("id", nextID(again.Get("id"), 4))
	if w := post(h, "/farm/climate", again); w.Code != http.StatusSeeOther {
		t.Fatalf("emptied it gives %d", w.Code)
	}
	if n := lastSite(t, f); n.Normals != nil || n.Skyline != nil {
		t.Errorf("emptied they stay: %+v", n)
	}
}

// Each bad field is named where it stands, what was typed stays, nothing is
// written.
func TestClimateErrorsByField(t *testing.T) {
	f := canned.New()
	h := handler(f)
	for _, c := range []struct{ field, typed, says string }{
		{"normals.3.t_min_c", "", "missing"},
		{"normals.3.t_min_c", "cold", "not a number"},
		{"normals.3.t_min_c", "18", "above the warmest"},
		{"normals.7.rh_pct", "140", "between 0 and 100"},
		{"normals.7.rain_days", "32", "between 0 and 31"},
		// 30 MJ in January at 44° north: more than reaches the air there.
		{"normals.1.ghi_mj_m2_d", "30", "1 kWh is 3.6 MJ"},
		{"toward.1", "up", "point of the compass"},
		{"height.2", "95", "0 to 90"},
		{"toward.2", "E", "same direction"},
	} {
		v := climateForm(t, h)
		twelve(v)
		v.Set("toward.1", "E")
		v.Set("height.1", "3")
		v.Set("toward.2", "S")
		v.Set("height.2", "3")
		v.Set(c.field, c.typed)
		w := post(h, "/farm/climate", v)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s of %q gives %d", c.field, c.typed, w.Code)
			continue
		}
		found := false
		for _, l := range all(parse(t, w), "label") {
			for _, in := range all(l, "input") {
				if attr(in, "name") != c.field {
					continue
				}
				found = attr(in, "aria-invalid") == "true" && strings.Contains(text(l), c.says)
				if attr(in, "value") != c.typed {
					t.Errorf("%s: %q was typed, %q stands there now", c.field, c.typed, attr(in, "value"))
				}
			}
		}
		if !found {
			t.Errorf("%s of %q: the field does not say %q", c.field, c.typed, c.says)
		}
	}
	if f.Writes != 0 {
		t.Errorf("%d entries were written by forms that were refused", f.Writes)
	}
}

// Units of the kitchen, and the sun in hours.
func TestClimateUnits(t *testing.T) {
	f := canned.NewUS()
	h := handler(f)
	v := climateForm(t, h)
	twelve(v)
	for m := 1; m <= 12; m++ {
		v.Set(fmt.Sprintf("normals.%d.t_min_c", m), "50")
		v.Set(fmt.Sprintf("normals.%d.t_max_c", m), "68")
		v.Set(fmt.Sprintf("normals.%d.rain_mm", m), "2")
		v.Set(fmt.Sprintf("normals.%d.wind_m_s", m), "10")
		v.Set(fmt.Sprintf("normals.%d.ghi_mj_m2_d", m), "5")
	}
	for i, c := range []struct {
		sunIn     string
		low, high float64
		source    string
	}{
		{"kwh", 18, 18, "1 kWh is 3.6 MJ, exact"},
		// In May at 44° north: 39 MJ/m²/d above the air (FAO 56, annex 2, from
		// memory), day of 14.6 h: (0.25 + 0.5·5/14.6)·39 = 16.4.
		{"hours", 15.6, 17.2, "FAO 56, eq. 35"},
	} {
		v.Set("sun_in", c.sunIn)
		v.Set("id", nextID(v.Get("id"), i))
		if c.sunIn == "kwh" {
			for m := 1; m <= 12; m++ {
				v.Set(fmt.Sprintf("normals.%d.ghi_mj_m2_d", m), "1")
			}
			v.Set("normals.5.ghi_mj_m2_d", "5")
		}
		if w := post(h, "/farm/climate", v); w.Code != http.StatusSeeOther {
			t.Fatalf("%s: %d %s", c.sunIn, w.Code, w.Body.String())
		}
		m := lastSite(t, f).Normals[4]
		if m.GHIMJM2D < c.low || m.GHIMJM2D > c.high {
			t.Errorf("5 told as %s in May are %.2f MJ/m²/d, want %.1f to %.1f (%s)", c.sunIn, m.GHIMJM2D, c.low, c.high, c.source)
		}
		// Exact: 50 °F is 10 °C, 68 °F is 20 °C, an inch 25.4 mm, a mile an hour
		// 0.44704 m/s (NIST SP 811).
		if m.TMinC != 10 || m.TMaxC != 20 || m.RainMM != 50.8 || m.WindMS != 4.4704 {
			t.Errorf("50 and 68 °F, 2 in, 10 mph are stored as %+v", m)
		}
		for m := 1; m <= 12; m++ {
			v.Set(fmt.Sprintf("normals.%d.ghi_mj_m2_d", m), "5")
		}
	}
}

func TestClimateWithoutAPlace(t *testing.T) {
	h := handler(canned.Empty())
	if body := get(t, h, "/farm/climate").Body.String(); strings.Contains(body, "<form") || !strings.Contains(body, `href="/farm"`) {
		t.Error("without a place the page asks for its months, or does not lead to the place")
	}
	if w := post(h, "/farm/climate", url.Values{"id": {"01J00000000000000000000000"}}); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("without a place months are taken: %d", w.Code)
	}
}
