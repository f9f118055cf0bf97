package sky

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestBridge(t *testing.T) {
	nan := math.NaN()
	s := someHours(72)
	want := *someHours(72)
	for i := 30; i < 36; i++ { // six hours
		s.Hours[i].AirC = nan
	}
	for i := 34; i < 37; i++ {
		s.Hours[i].GHIWM2 = nan
	}
	s.Hours[0].WindMS = nan
	s.Hours[71].RHPct = nan
	s.Hours[40].RainMM = nan
	n, err := s.Bridge(6)
	if err != nil {
		t.Fatal(err)
	}
	if n != 9 { // hours 0, 30–36, 71; rain alone does not count
		t.Errorf("bridged %d hours, want 9", n)
	}
	a, b := want.Hours[29].AirC, want.Hours[36].AirC
	check(t, "straight line", s.Hours[32].AirC, a+(b-a)*3/7, 1e-9, "three sevenths of the way")
	check(t, "first value", s.Hours[0].WindMS, s.Hours[1].WindMS, 0, "carried back")
	check(t, "last value", s.Hours[71].RHPct, s.Hours[70].RHPct, 0, "carried on")
	check(t, "light", s.Hours[35].GHIWM2, (want.Hours[11].GHIWM2+want.Hours[59].GHIWM2)/2, 1e-9, "mean of the days around")
	if !math.IsNaN(s.Hours[40].RainMM) {
		t.Error("rain between two wet hours was invented")
	}

	dry := someHours(10)
	for i := range dry.Hours {
		dry.Hours[i].RainMM = 0
	}
	dry.Hours[2].RainMM, dry.Hours[3].RainMM = 1, nan // after rain it may have gone on
	dry.Hours[6].RainMM = nan                         // between dry hours it was dry
	if _, err := dry.Bridge(6); err != nil {
		t.Fatal(err)
	}
	if !math.IsNaN(dry.Hours[3].RainMM) || math.IsNaN(dry.Hours[6].RainMM) || dry.Hours[6].RainMM > 0 {
		t.Errorf("rain after rain %v, between dry hours %v, want unknown and 0", dry.Hours[3].RainMM, dry.Hours[6].RainMM)
	}

	for i := 30; i < 37; i++ { // seven
		s.Hours[i].WindMS = nan
	}
	s.Hours[3].AirC = nan
	_, err = s.Bridge(6)
	var e *InputError
	if !errors.As(err, &e) || e.Field != "wind_m_s" || !strings.Contains(e.Why, "2026-02-11T07:00Z") {
		t.Errorf("seven hours: %v, want an error about wind from 07:00", err)
	}
	if !math.IsNaN(s.Hours[3].AirC) {
		t.Error("a refused series was changed")
	}
	empty := someHours(3)
	for i := range empty.Hours {
		empty.Hours[i].AirC = nan
	}
	if _, err := empty.Bridge(6); err == nil {
		t.Error("a series without temperatures passes")
	}
}

func TestSeriesCheck(t *testing.T) {
	if err := someHours(50).Check(); err != nil {
		t.Error(err)
	}
	for field, spoil := range map[string]func(*Hour){
		"ghi_w_m2":           func(h *Hour) { h.GHIWM2 = -999 },
		"t_air_c":            func(h *Hour) { h.AirC = 295 },
		"rh_pct":             func(h *Hour) { h.RHPct = 255 },
		"wind_m_s":           func(h *Hour) { h.WindMS = -1 },
		"pressure_hpa":       func(h *Hour) { h.PressureKPa = 1013 },
		"rain_mm":            func(h *Hour) { h.RainMM = math.Inf(1) },
		"longwave_down_w_m2": func(h *Hour) { h.LongwaveWM2 = 0 },
	} {
		s := someHours(50)
		spoil(&s.Hours[20])
		var e *InputError
		if err := s.Check(); !errors.As(err, &e) || e.Field != field || !strings.Contains(e.Why, "2026-02-10T21:00Z") {
			t.Errorf("%v, want an error about %s at 21:00", err, field)
		}
	}
}

func TestFromEnds(t *testing.T) {
	at := time.Date(2026, 1, 1, 1, 0, 0, 0, time.UTC)
	h := func(x float64) Hour { u := Unknown(); u.AirC = x; return u }
	s, err := FromEnds([]time.Time{at.Add(3 * time.Hour), at}, []Hour{h(3), h(0)}, 10)
	if err != nil {
		t.Fatal(err)
	}
	if !s.Start.Equal(at.Add(-time.Hour)) || len(s.Hours) != 4 || s.Hours[3].AirC != 3 || !math.IsNaN(s.Hours[1].AirC) {
		t.Errorf("%+v", s)
	}
	if !s.End().Equal(at.Add(3 * time.Hour)) {
		t.Errorf("ends %v", s.End())
	}
	for what, ends := range map[string][]time.Time{
		"no rows":      {},
		"same hour":    {at, at},
		"half an hour": {at, at.Add(90 * time.Minute)},
		"wrong year":   {at, at.AddDate(8000, 0, 0)},
	} {
		if _, err := FromEnds(ends, make([]Hour, len(ends)), 2); err == nil {
			t.Errorf("%s passes", what)
		}
	}
}

// After bridging nothing needed is missing, and what was known is untouched.
func TestBridgeProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s, old := someHours(100), someHours(100)
		touched := map[int]bool{}
		for range rapid.IntRange(1, 6).Draw(rt, "gaps") {
			at, n := rapid.IntRange(0, 99).Draw(rt, "at"), rapid.IntRange(1, 3).Draw(rt, "n")
			field := rapid.IntRange(0, 3).Draw(rt, "field")
			for i := at; i < min(at+n, 100); i++ {
				*needed[field].of(&s.Hours[i]) = math.NaN()
				*needed[field].of(&old.Hours[i]) = math.NaN()
				touched[i] = true
			}
		}
		n, err := s.Bridge(100)
		if err != nil {
			rt.Fatal(err)
		}
		if n != len(touched) {
			rt.Fatalf("counts %d, want %d", n, len(touched))
		}
		for i := range s.Hours {
			for _, f := range needed {
				now, before := *f.of(&s.Hours[i]), *f.of(&old.Hours[i])
				if math.IsNaN(now) || !math.IsNaN(before) && math.Abs(now-before) > 0 {
					rt.Fatalf("hour %d %s: %v became %v", i, f.name, before, now)
				}
			}
		}
	})
}
