package calc

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"sodalake/farm"
)

// answer runs a calculator of the registry and returns its JSON as a map.
func answer(t *testing.T, name, input string) map[string]any {
	t.Helper()
	c, err := All().Get(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.Run([]byte(input))
	if err != nil {
		t.Fatalf("%s %s: %v", name, input, err)
	}
	raw, err := json.Marshal(out)
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(raw, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

func refuse(t *testing.T, name, input string) *farm.Error {
	t.Helper()
	c, err := All().Get(name)
	if err != nil {
		t.Fatal(err)
	}
	out, err := c.Run([]byte(input))
	var fe *farm.Error
	if !errors.As(err, &fe) {
		t.Fatalf("%s took %s: %+v, %v", name, input, out, err)
	}
	return fe
}

func TestEveryExampleRunsAndTellsItsSources(t *testing.T) {
	for _, c := range All().All() {
		m := answer(t, c.Name, c.Example)
		for _, key := range []string{"assumptions", "cautions", "sources"} {
			if _, ok := m[key].([]any); !ok {
				t.Errorf("%s answers without a list of %s", c.Name, key)
			}
		}
		if len(m["sources"].([]any)) == 0 || c.Sentence == "" || c.Title == "" || len(c.Equations) == 0 {
			t.Errorf("%s does not say what it is, by which equations and from where", c.Name)
		}
		// A key without a unit is a pure number, a word or a list.
		for _, f := range append(append([]Field{}, c.Inputs...), c.Outputs...) {
			if f.Kind == Number && f.Unit == "" && strings.Contains(f.Label, "[") {
				t.Errorf("%s.%s hides its unit in the label", c.Name, f.Key)
			}
		}
	}
}

func TestPublishedValues(t *testing.T) {
	rows := []struct {
		name, input, key string
		want, tolerance  float64
		source           string
	}{
		// Printed: zenith 50.11162 with refraction, azimuth 194.34024 at 820 mbar and 11 °C;
		// the calculator has the standard atmosphere of the height, so 0.001.
		{"sun", `{"lat_deg":39.742476,"lon_deg":-105.1786,"elevation_m":1830.14,"time":"2003-10-17T12:30:30-07:00"}`, "azimuth_deg", 194.34024, 0.001, "NREL/TP-560-34302, worked example"},
		{"sun", `{"lat_deg":39.742476,"lon_deg":-105.1786,"elevation_m":1830.14,"time":"2003-10-17T12:30:30-07:00"}`, "apparent_elevation_deg", 90 - 50.11162, 0.002, "NREL/TP-560-34302, worked example"},
		// Example 18: Uccle, 6 July: Ra 41.09, Rn 13.28, ET0 3.88 (10 km/h at 10 m is 2.078 m/s at 2 m).
		{"evaporation", `{"lat_deg":50.8,"elevation_m":100,"date":"2025-07-06","tmax_c":21.5,"tmin_c":12.3,"humidity_max_pct":84,"humidity_min_pct":63,"wind_2m_m_s":2.078,"global_mj_m2_d":22.07}`, "reference_et_mm_d", 3.88, 0.005, "FAO-56, example 18"},
		{"evaporation", `{"lat_deg":50.8,"elevation_m":100,"date":"2025-07-06","tmax_c":21.5,"tmin_c":12.3,"humidity_max_pct":84,"humidity_min_pct":63,"wind_2m_m_s":2.078,"global_mj_m2_d":22.07}`, "extraterrestrial_mj_m2_d", 41.09, 0.01, "FAO-56, example 18"},
		{"evaporation", `{"lat_deg":50.8,"elevation_m":100,"date":"2025-07-06","tmax_c":21.5,"tmin_c":12.3,"humidity_max_pct":84,"humidity_min_pct":63,"wind_2m_m_s":2.078,"global_mj_m2_d":22.07}`, "net_radiation_mj_m2_d", 13.28, 0.01, "FAO-56, example 18"},
		{"volume", `{"shape":"box","length_cm":200,"width_m":1,"height_cm":30,"level_cm":15}`, "volume_l", 300, 1e-9, "l w h"},
		{"volume", `{"shape":"cylinder","diameter_m":1,"height_m":1,"volume_l":250}`, "level_cm", 100 / math.Pi, 1e-9, "4 V / (pi d^2)"},
		// A frustum with floor 2 x 1, slope 1, 1 m deep, rim 4 x 3: (A1 + A2 + 4 Am)/6 with Am = 3 x 2.
		{"volume", `{"shape":"liner","top_length_m":4,"top_width_m":3,"height_m":1,"slope":1,"level_cm":100}`, "volume_l", 1000 * (12 + 2 + 4*6) / 6.0, 1e-6, "prismoidal formula"},
		{"volume", `{"shape":"box","length_m":2,"width_m":1,"depth_cm":30,"level_cm":15}`, "volume_l", 300, 1e-9, "l w h, with another word for the height"},
		{"density", `{"secchi_cm":3}`, "density_g_per_l", 0.4, 1e-9, "1.2 g cm/L over the depth, common practice"},
	}
	for _, r := range rows {
		got, _ := answer(t, r.name, r.input)[r.key].(float64)
		if math.Abs(got-r.want) > r.tolerance {
			t.Errorf("%s %s: %s = %.6g, want %.6g ± %g (%s)", r.name, r.input, r.key, got, r.want, r.tolerance, r.source)
		}
	}
}

func TestBadInputNamesItsField(t *testing.T) {
	rows := []struct{ name, input, field string }{
		{"sun", `{"lat_deg":99,"lon_deg":0,"time":"2026-06-21T12:00:00Z"}`, "lat_deg"},
		{"sun", `{"lat_deg":9,"lon_deg":0,"time":"noon"}`, "time"},
		{"sun", `{"lat_deg":9,"lon_deg":0}`, "time"},
		{"sun", `{"lat_deg":9,"lon_deg":0,"time":"2026-06-21T12:00:00Z","lattitude":3}`, "lattitude"},
		{"sun", `{"lat_deg":"nine","lon_deg":0,"time":"2026-06-21T12:00:00Z"}`, "lat_deg"},
		{"sun", `{"lat_deg":9,`, ""},
		{"sun", `[]`, ""},
		{"evaporation", `{"lat_deg":50,"date":"2025-07-06","tmax_c":10,"tmin_c":20,"humidity_pct":50,"wind_2m_m_s":1,"global_mj_m2_d":20}`, "tmin_c"},
		{"evaporation", `{"lat_deg":50,"date":"2025-07-06","tmax_c":20,"tmin_c":10,"wind_2m_m_s":1,"global_mj_m2_d":20}`, "humidity_pct"},
		{"evaporation", `{"lat_deg":50,"date":"2025-07-06","tmax_c":20,"tmin_c":10,"humidity_max_pct":80,"wind_2m_m_s":1,"global_mj_m2_d":20}`, "humidity_min_pct"},
		{"volume", `{"shape":"box","length_m":2,"width_m":1,"height_m":0.3,"level_cm":40}`, "level_cm"},
		{"volume", `{"shape":"box","length_m":2,"length_cm":200,"width_m":1,"height_m":0.3,"level_cm":10}`, "length_cm"},
		{"volume", `{"shape":"box","length_m":2,"height_m":0.3,"level_cm":10}`, "width_m"},
		{"volume", `{"shape":"cube","level_cm":10}`, "shape"},
		{"density", `{"secchi_cm":30,"depth_cm":18}`, "secchi_cm"},
		{"density", `{"secchi_cm":2,"od_750":1}`, "secchi_cm"},
		{"density", `{"dry_weight_mg":2}`, "filtered_ml"},
	}
	for _, r := range rows {
		if got := refuse(t, r.name, r.input); got.Field != r.field {
			t.Errorf("%s %s: field %q, want %q (%s)", r.name, r.input, got.Field, r.field, got.Message)
		}
	}
}

func TestTypedReadsUnits(t *testing.T) {
	c, _ := All().Get("volume")
	raw, err := c.Typed(map[string]string{"shape": "box", "length_m": "6 ft 6 in", "width_cm": "1.2 m", "depth_cm": "30", "level_cm": "6 in"}, Measure)
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(raw, &m); err != nil {
		t.Fatal(err)
	}
	// 1 in = 25.4 mm exactly (NIST SP 811).
	for key, want := range map[string]float64{"length_m": 78 * 0.0254, "width_m": 1.2, "height_m": 0.3, "level_cm": 15.24} {
		if got, _ := m[key].(float64); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s = %v, want %g", key, m[key], want)
		}
	}
	if _, err := c.Typed(map[string]string{"shape": "box", "level_cm": "5 furlongs"}, Measure); err == nil {
		t.Error("a unit that is no length must be refused")
	}
}

func FuzzRun(f *testing.F) {
	for _, c := range All().All() {
		f.Add(c.Name, c.Example)
	}
	f.Add("volume", `{"shape":"measured","points":[{"level_cm":1,"volume_l":2},{"level_cm":3,"volume_l":9}],"level_cm":2}`)
	registry := All()
	f.Fuzz(func(t *testing.T, name, input string) {
		c, err := registry.Get(name)
		if err != nil {
			return
		}
		out, err := c.Run([]byte(input))
		if err != nil {
			return
		}
		if _, err := json.Marshal(out); err != nil {
			t.Fatalf("%s took %q and answers what JSON cannot hold: %v", name, input, err)
		}
	})
}
