package scenario

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
)

// plain is a scenario that reads, as a tree to change.
func plain() map[string]any {
	return map[string]any{
		"start": "2026-05-01", "days": 3,
		"site":     map[string]any{"lat_deg": 40.0, "lon_deg": 20.0, "elevation_m": 300.0, "timezone": "UTC"},
		"vessel":   map[string]any{"shape": "box", "length_m": 2.0, "width_m": 1.0, "height_cm": 30.0, "level_cm": 15.0},
		"cover":    map[string]any{"kind": "none"},
		"stirring": map[string]any{"kind": "continuous"},
		"medium":   map[string]any{"salts_g_per_l": map[string]any{"NaHCO3": 8.0, "KNO3": 2.0, "K2HPO4": 0.5, "MgSO4.7H2O": 0.2, "FeSO4.7H2O": 0.01}, "ph_25c": 10.0},
		"culture":  map[string]any{"density_g_per_l": 0.4},
		"weather":  map[string]any{"constant": map[string]any{"t_air_c": 25.0, "rh_pct": 60.0, "wind_m_s": 1.0, "ghi_w_m2": 300.0, "photoperiod_h": 12.0}},
		"harvest":  map[string]any{"rule": "none"},
		"feed":     map[string]any{"rule": "none"},
		"water":    map[string]any{"rule": "none"},
	}
}

// with sets the value at a path, or takes it away where it is nil.
func with(tree map[string]any, path string, value any) map[string]any {
	at := tree
	keys := strings.Split(path, ".")
	for _, k := range keys[:len(keys)-1] {
		next, ok := at[k].(map[string]any)
		if !ok {
			next = map[string]any{}
			at[k] = next
		}
		at = next
	}
	if value == nil {
		delete(at, keys[len(keys)-1])
	} else {
		at[keys[len(keys)-1]] = value
	}
	return tree
}

func raw(tb testing.TB, tree map[string]any) []byte {
	tb.Helper()
	b, err := json.Marshal(tree)
	if err != nil {
		tb.Fatal(err)
	}
	return b
}

func months(change func(i int, row map[string]any)) []any {
	var rows []any
	for i := range 12 {
		row := map[string]any{"ghi_mj_m2_d": 18.0, "t_min_c": 14.0, "t_max_c": 26.0, "rh_pct": 60.0, "wind_m_s": 2.0, "rain_mm": 0.0}
		if change != nil {
			change(i, row)
		}
		rows = append(rows, row)
	}
	return rows
}

// Each wrong value is refused with the field it stands in, and nothing runs.
func TestReadRefuses(t *testing.T) {
	type m = map[string]any
	for _, c := range []struct {
		path  string
		value any
		field string // "" as the path
	}{
		{"start", nil, ""}, {"start", "1 May", ""}, {"start", 7, ""}, {"days", nil, ""}, {"days", 0, ""}, {"days", 100000, ""}, {"days", "ten", ""}, {"days", 2.5, ""},
		{"seed", -1, ""}, {"seed", "x", ""},
		{"site.lat_deg", 91.0, ""}, {"site.lon_deg", -200.0, ""}, {"site.elevation_m", 9000.0, ""}, {"site.timezone", "Mars/Olympus", ""}, {"site.zone", "UTC", "zone"},
		{"vessel", nil, ""}, {"vessel", "a pond", ""}, {"vessel.shape", nil, ""}, {"vessel.shape", "pyramid", ""}, {"vessel.level_cm", nil, ""},
		{"vessel.level_cm", 31.0, ""}, {"vessel.level_cm", 0.0, ""}, {"vessel.level_cm", "deep", ""}, {"vessel.length_m", nil, ""}, {"vessel.length_m", -2.0, ""},
		{"vessel.colour", "green", ""}, {"vessel.place", "attic", ""}, {"vessel.in_ground", "yes", ""}, {"vessel.lit", "below", ""},
		{"cover.kind", "roof", ""}, {"cover.transmission", 1.5, ""}, {"cover.vents", "ajar", ""}, {"stirring.kind", "spoon", ""}, {"stirring.times_per_day", -1.0, ""},
		{"medium", m{"recipe": "soup"}, "medium.recipe"}, {"medium", m{"recipe": "zarrouk", "salts_g_per_l": m{}}, "medium"}, {"medium.salts_g_per_l", m{"NaHCO3": -1.0}, "medium.salts_g_per_l.NaHCO3"}, {"medium.salts_g_per_l", m{"Xx": 1.0}, "medium.salts_g_per_l.Xx"},
		{"medium.ph_25c", 101.0, ""}, {"medium.pco2_ppm", -5.0, ""},
		{"culture.density_g_per_l", -0.1, ""}, {"culture.density_g_per_l", 400.0, ""}, {"culture.parameters", m{"speed": 3.0}, "culture.parameters.speed"},
		{"culture.parameters", m{"t_opt_c": 99.0}, "culture.parameters.t_opt_c"}, {"shade_pct", 130.0, ""},
		{"weather", nil, ""}, {"weather.constant", nil, "weather"}, {"weather.hourly_csv", "x.csv", "weather"}, {"weather.wind_height_m", -1.0, ""},
		{"weather.constant.t_air_c", nil, ""}, {"weather.constant.t_air_c", 99.0, ""}, {"weather.constant.rh_pct", 101.0, ""}, {"weather.constant.wind_m_s", -1.0, ""},
		{"weather.constant.ghi_w_m2", 9999.0, ""}, {"weather.constant.par_umol_m2_s", -1.0, ""}, {"weather.constant.photoperiod_h", 25.0, ""},
		{"weather.constant.pressure_hpa", 20.0, ""}, {"weather.constant.longwave_down_w_m2", 1.0, ""}, {"weather.constant.sun", 1.0, "sun"},
		{"weather", m{"monthly": months(nil)[:11]}, "weather.monthly"},
		{"weather", m{"monthly": months(func(i int, r m) {
			if i == 4 {
				delete(r, "rh_pct")
			}
		})}, "weather.monthly[4].rh_pct"},
		{"weather", m{"monthly": months(func(i int, r m) {
			if i == 2 {
				r["t_max_c"] = 3.0
			}
		})}, "weather.monthly[2].t_max_c"},
		{"weather", m{"monthly": months(func(i int, r m) {
			if i == 0 {
				delete(r, "t_min_c")
			}
		})}, "weather.monthly[0].t_min_c"},
		{"weather", m{"monthly": months(func(i int, r m) {
			if i == 11 {
				r["ghi_mj_m2_d"] = 99.0
			}
		})}, "weather.monthly[11].ghi_mj_m2_d"},
		{"harvest.rule", "often", ""}, {"harvest.hour", 24.0, ""}, {"harvest", m{"rule": "above"}, "harvest.density_g_per_l"},
		{"harvest", m{"rule": "above", "density_g_per_l": 0.5, "leave_g_per_l": 0.6}, "harvest.leave_g_per_l"}, {"harvest", m{"rule": "fraction"}, "harvest.fraction"},
		{"harvest", m{"rule": "fraction", "fraction": 1.2}, "harvest.fraction"}, {"feed.rule", "sugar", ""}, {"water.rule", "rain", ""}, {"luck", 1, ""},
	} {
		want := c.field
		if want == "" {
			want = c.path
		}
		_, err := Read(raw(t, with(plain(), c.path, c.value)))
		var fe *farm.Error
		if !errors.As(err, &fe) {
			t.Errorf("%s = %v: error %v, want one that names %s", c.path, c.value, err, want)
			continue
		}
		if fe.Field != want || fe.Code != farm.Invalid {
			t.Errorf("%s = %v: field %q (%s: %s), want %s", c.path, c.value, fe.Field, fe.Code, fe.Message, want)
		}
		if fe.Message == "" || strings.HasSuffix(fe.Message, ".") || strings.Contains(fe.Message, "%!") {
			t.Errorf("%s = %v: message %q", c.path, c.value, fe.Message)
		}
	}
	monthly := map[string]any{"monthly": months(nil)}
	for _, miss := range []string{"site.lat_deg", "site.lon_deg"} {
		_, err := Read(raw(t, with(with(plain(), "weather", monthly), miss, nil)))
		var fe *farm.Error
		if !errors.As(err, &fe) || fe.Field != miss {
			t.Errorf("without %s: %v", miss, err)
		}
	}
	for _, text := range []string{"", "{", "[]", "null", "7", `{"days":1}{"days":2}`, `{"days":1} x`, "\xff\xfe"} {
		if _, err := Read([]byte(text)); err == nil {
			t.Errorf("%q was read", text)
		}
	}
}

// What may be left out is left out, and words that people use for shapes are
// understood.
func TestReadTakes(t *testing.T) {
	tree := plain()
	for _, k := range []string{"cover", "stirring", "harvest", "feed", "water", "site"} {
		delete(tree, k)
	}
	f, err := Read(raw(t, tree))
	if err != nil {
		t.Fatal(err)
	}
	if f.Cover.Kind != "none" || f.Stirring.Kind != "continuous" || f.Harvest.Rule != "none" || *f.Harvest.Hour != 8 || f.zone != time.UTC || f.Weather.WindHeightM != 2 {
		t.Errorf("defaults: %+v", f)
	}
	for shape, dims := range map[string]map[string]any{
		"cylinder":          {"diameter_m": 1.2065, "level_cm": 17.0},
		"Upright cylinder":  {"diameter_cm": 120.65, "height_cm": 25.4, "level_cm": 17.0},
		"sloped liner pond": {"top_length_m": 3.0, "top_width_m": 2.0, "depth_cm": 40.0, "slope": 1.0, "level_cm": 20.0},
		"raceway":           {"length_m": 10.0, "width_m": 3.0, "level_cm": 20.0},
		"bottle":            {"diameter_cm": 12.0, "height_cm": 20.0, "level_cm": 18.0},
		"ellipse":           {"length_m": 3.0, "width_m": 2.0, "level_cm": 20.0},
		"lying_cylinder":    {"diameter_cm": 30.0, "length_m": 1.0, "level_cm": 20.0},
		"measured":          {"points": []any{map[string]any{"level_cm": 0.0, "volume_l": 0.0}, map[string]any{"level_cm": 30.0, "volume_l": 100.0}}, "level_cm": 20.0},
	} {
		v := map[string]any{"shape": shape}
		for k, x := range dims {
			v[k] = x
		}
		if _, err := Read(raw(t, with(plain(), "vessel", v))); err != nil {
			t.Errorf("%s: %v", shape, err)
		}
	}
	// A moment instead of a date begins in the middle of a day.
	f, err = Read(raw(t, with(plain(), "start", "2026-05-01T15:04:30+02:00")))
	if err != nil {
		t.Fatal(err)
	}
	if want := time.Date(2026, 5, 1, 13, 0, 0, 0, time.UTC); !f.start.Equal(want) {
		t.Errorf("start %v, want %v", f.start, want)
	}
	// A mean temperature stands for its extremes.
	f, err = Read(raw(t, with(plain(), "weather", map[string]any{"monthly": months(func(_ int, r map[string]any) {
		delete(r, "t_min_c")
		delete(r, "t_max_c")
		r["t_mean_c"] = 20.0
	})})))
	if err != nil {
		t.Fatal(err)
	}
	if m := f.Weather.Monthly[0]; *m.TMinC != 15 || *m.TMaxC != 25 {
		t.Errorf("a mean of 20 °C: %g to %g", *m.TMinC, *m.TMaxC)
	}
}

// rows makes a weather file: n hours from 1 May 2026 0:00 UTC, a cell changed.
func rows(n int, change func(i int, cells map[string]string)) string {
	var b strings.Builder
	cols := []string{"time_utc_end", "ghi_w_m2", "t_air_c", "rh_pct", "wind_m_s", "pressure_hpa", "rain_mm", "station"}
	b.WriteString(strings.Join(cols, ",") + "\n")
	for i := range n {
		end := time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(i+1) * time.Hour)
		sun := math.Max(0, 800*math.Sin((float64(i%24)+0.5-6)/12*math.Pi))
		cells := map[string]string{
			"time_utc_end": end.Format("2006-01-02T15:04Z"), "ghi_w_m2": fmt.Sprintf("%.0f", sun), "t_air_c": fmt.Sprint(18 + i%24/3), "rh_pct": "55", "wind_m_s": "3.2",
			"pressure_hpa": "981", "rain_mm": "0", "station": "invented",
		}
		if change != nil {
			change(i, cells)
		}
		if cells == nil || cells["time_utc_end"] == "drop" {
			continue
		}
		for k, c := range cols {
			if k > 0 {
				b.WriteByte(',')
			}
			b.WriteString(cells[c])
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func TestReadHourly(t *testing.T) {
	s, notes, err := ReadHourly(strings.NewReader("\ufeff" + rows(72, nil)))
	if err != nil || len(notes) != 0 {
		t.Fatal(err, notes)
	}
	if len(s.Hours) != 72 || !s.Start.Equal(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("%d hours from %v: a stamp is the end of its hour", len(s.Hours), s.Start)
	}
	if h := s.Hours[12]; math.Abs(h.PressureKPa-98.1) > 1e-9 || h.GHIWM2 < 780 || !math.IsNaN(h.LongwaveWM2) {
		t.Errorf("hour 12: %+v", h)
	}
	hole := func(from, to int, name string) func(int, map[string]string) {
		return func(i int, c map[string]string) {
			if i >= from && i < to {
				c[name] = ""
			}
		}
	}
	drop := func(from, to int) func(int, map[string]string) {
		return func(i int, c map[string]string) {
			if i >= from && i < to {
				c["time_utc_end"] = "drop"
			}
		}
	}
	for name, c := range map[string]struct {
		text string
		note string // "" for none
		fail string // "" for none
	}{
		"six hours missing":      {rows(72, drop(30, 36)), "6 missing", ""},
		"seven hours missing":    {rows(72, drop(30, 37)), "", "gap"},
		"six cells empty":        {rows(72, hole(30, 36, "t_air_c")), "6 missing", ""},
		"seven cells empty":      {rows(72, hole(30, 37, "wind_m_s")), "", "gap"},
		"rain unknown":           {rows(72, hole(0, 72, "rain_mm")), "", ""},
		"pressure unknown":       {rows(72, hole(0, 72, "pressure_hpa")), "", ""},
		"thermopile at night":    {rows(72, func(i int, c map[string]string) { c["ghi_w_m2"] = "-3.1" }), "", ""},
		"nan and NA":             {rows(72, func(i int, c map[string]string) { c["rain_mm"] = "NaN"; c["pressure_hpa"] = "NA" }), "", ""},
		"nothing":                {"", "", "header"},
		"header only":            {rows(0, nil), "", "less than a day"},
		"no wind column":         {strings.Replace(rows(72, nil), "wind_m_s", "breeze", 1), "", "wind_m_s"},
		"a word for a number":    {rows(72, func(i int, c map[string]string) { c["rh_pct"] = "wet" }), "", "rh_pct \"wet\""},
		"kelvin":                 {rows(72, func(i int, c map[string]string) { c["t_air_c"] = "293" }), "", "t_air_c 293"},
		"pressure in kilopascal": {rows(72, func(i int, c map[string]string) { c["pressure_hpa"] = "98.1" }), "", "pressure_hpa 98.1"},
		"a stamp twice":          {rows(72, func(i int, c map[string]string) { c["time_utc_end"] = "2026-05-01T01:00Z" }), "", "does not come after"},
		"half past": {rows(72, func(i int, c map[string]string) {
			c["time_utc_end"] = strings.Replace(c["time_utc_end"], ":00Z", map[bool]string{true: ":30Z", false: ":00Z"}[i == 40], 1)
		}), "", "whole number of hours"},
		"a local stamp": {rows(72, func(i int, c map[string]string) { c["time_utc_end"] = "May 1" }), "", "time_utc_end \"May 1\""},
		"a torn quote":  {rows(72, nil) + "\"2026", "", "cannot be read"},
		"a thousand years": {rows(72, func(i int, c map[string]string) {
			c["time_utc_end"] = map[bool]string{true: "3026-05-01T01:00Z", false: c["time_utc_end"]}[i == 71]
		}), "", ""},
	} {
		got, notes, err := ReadHourly(strings.NewReader(c.text))
		for i := range got.Hours {
			if got.Hours[i].GHIWM2 < 0 && err == nil {
				t.Errorf("%s: light of %g W/m²", name, got.Hours[i].GHIWM2)
			}
		}
		if name == "a thousand years" {
			if err == nil {
				t.Errorf("%s was read", name)
			}
			continue
		}
		if c.fail == "" {
			if err != nil {
				t.Errorf("%s: %v", name, err)
			} else if got := strings.Join(notes, "; "); c.note == "" && got != "" || !strings.Contains(got, c.note) {
				t.Errorf("%s: notes %q, want %q", name, got, c.note)
			}
			continue
		}
		var fe *farm.Error
		if !errors.As(err, &fe) || fe.Field != "hourly_csv" || !strings.Contains(fe.Message, c.fail) {
			t.Errorf("%s: %v, want an error at hourly_csv that says %q", name, err, c.fail)
		}
	}
}

func FuzzRead(f *testing.F) {
	b, _ := json.Marshal(plain())
	f.Add(b)
	f.Add([]byte(`{"start":"2026-05-01","days":1,"vessel":{"shape":"box"},"weather":{"monthly":[]}}`))
	f.Add([]byte(`{"start":"2026-05-01","days":1,"vessel":{"shape":"measured","points":[{"level_cm":1e308}],"level_cm":1}}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		got, err := Read(b)
		if err != nil {
			var fe *farm.Error
			if !errors.As(err, &fe) {
				t.Fatalf("an error without a field: %v", err)
			}
			return
		}
		if got.Days < 1 || got.Days > 3660 || got.zone == nil || got.start.IsZero() || !(got.levelM > 0) {
			t.Fatalf("read as %+v", got)
		}
	})
}

func FuzzReadHourly(f *testing.F) {
	f.Add(rows(30, nil))
	f.Add("time_utc_end,ghi_w_m2,t_air_c,rh_pct,wind_m_s\n2026-05-01 01:00,0,1,2,3\n")
	f.Add("time_utc_end,ghi_w_m2,t_air_c,rh_pct,wind_m_s\n2026-05-01T01:00Z,1e309,1,2,3\n9999-12-31T23:00Z,,,,\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, _, err := ReadHourly(strings.NewReader(text))
		if err != nil {
			var fe *farm.Error
			if !errors.As(err, &fe) {
				t.Fatalf("an error without a field: %v", err)
			}
			return
		}
		for i, h := range s.Hours {
			if !(h.GHIWM2 >= 0 && h.GHIWM2 <= 1600 && h.AirC >= -70 && h.AirC <= 65 && h.RHPct >= 0 && h.RHPct <= 100 && h.WindMS >= 0) {
				t.Fatalf("hour %d read as %+v", i, h)
			}
		}
	})
}
