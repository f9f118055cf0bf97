package words

import (
	"strings"
	"testing"
	"time"

	"sodalake/farm/advice"
	"sodalake/science/num"
)

func TestSentence(t *testing.T) {
	at := time.Date(2026, 5, 14, 7, 12, 0, 0, time.UTC)
	for _, c := range []struct {
		m    Measures
		r    advice.Reason
		want string
	}{
		{Metric, advice.Reason{Key: "reason.harvest.ready", Args: map[string]any{
			"density_g_per_l": .618, "density_g_per_l_low": .552, "density_g_per_l_high": .688, "ready_g_per_l": .5, "chance": .81}},
			"Density is 0.62 g/L (0.55–0.69). That is above 0.50 g/L, where it counts as ready, 8 times in 10."},
		{Metric, advice.Reason{Key: "reason.look.old", Args: map[string]any{"time": at}},
			"The last look was on Thu 14, 07:12. A harvest to be eaten needs a fresh one."},
		{Metric, advice.Reason{Key: "reason.look.old", Args: map[string]any{"time": at.Format(time.RFC3339)}},
			"The last look was on Thu 14, 07:12. A harvest to be eaten needs a fresh one."},
		{US, advice.Reason{Key: "reason.heat.act", Args: map[string]any{
			"temp_c": 39.0, "temp_c_low": 37.5, "temp_c_high": 41.0, "limit_c": 40.0, "time": at}},
			"The water may reach 100–106 °F on Thu 14. Above 104 °F it takes harm."}, // 37.5 °C = 99.5 °F, 41 °C = 105.8 °F, 40 °C = 104 °F
		{Metric, advice.Reason{Key: "reason.doubt.ph", Args: map[string]any{
			"quantity": "ph", "value": 9.62, "expected": 10.2, "expected_low": 10.1, "expected_high": 10.3, "time": at}},
			"The pH reading 9.62 on Thu 14, 07:12 does not fit: 10.1–10.3 was expected."},
		{Metric, advice.Reason{Key: "item.feed", Args: map[string]any{"salt": "KNO3"}}, "Feed potassium nitrate."},
		{Metric, advice.Reason{Key: "item.feed", Args: map[string]any{"salt": "ash water"}}, "Feed ash water."},
		{Metric, advice.Reason{Key: "reason.reserve.old", Args: map[string]any{"age_d": 1.0, "interval_d": 28.0}},
			"This reserve was renewed 1 day ago; every 28 days is the interval set."},
	} {
		if got := Sentence("en", c.m, c.r); got != c.want {
			t.Errorf("Sentence(%s, %s)\n got %q\nwant %q", c.m, c.r.Key, got, c.want)
		}
	}
}

// A key or an argument that is missing never shows nothing, nor a template's
// own leavings.
func TestMissing(t *testing.T) {
	s := New("en", Metric, nil)
	if got := s.Sentence(advice.Reason{Key: "reason.never.heard_of"}); got != "never, heard of" {
		t.Errorf("unknown key is said %q", got)
	}
	if got := s.Sentence(advice.Reason{Key: "item.feed"}); strings.Contains(got, "no value") || got == "" {
		t.Errorf("key without its argument is said %q", got)
	}
	if _, ok := s.Try("small.harvest", nil); ok {
		t.Error("Try says a sentence whose argument is not there")
	}
	if got := New("fr", Metric, nil).T("item.stir"); got != "Stir." {
		t.Errorf("a language without a catalogue says %q, want the English", got)
	}
}

// Plurals come from CLDR through the catalogue, not from an s glued on.
func TestPlural(t *testing.T) {
	s := New("en", Metric, nil)
	for n, want := range map[int]string{1: "one thing today", 4: "four things today", 12: "12 things today"} {
		if got := s.T("today.things", "count", n); got != want {
			t.Errorf("%d things: %q, want %q", n, got, want)
		}
	}
}

func TestClock(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	s := New("en", Metric, zone)
	now := time.Date(2026, 5, 14, 23, 30, 0, 0, time.UTC) // 01:30 on the 15th
	if got := s.LongDay(now); got != "Friday 15 May" {
		t.Errorf("LongDay = %q", got)
	}
	for back, want := range map[time.Duration]string{time.Hour: "today", 3 * time.Hour: "yesterday", 50 * time.Hour: "Tue 12", 40 * 24 * time.Hour: "5 April"} {
		if day, _ := s.Ago(now.Add(-back), now); day != want {
			t.Errorf("Ago(%s) = %q, want %q", back, day, want)
		}
	}
}

// Never a word of approval: the program says which checks passed, failed or are
// missing, and nothing of its own.
func TestNeverSafe(t *testing.T) {
	s := New("en", Metric, nil)
	for _, key := range Keys() {
		text := strings.ToLower(s.T(key))
		for _, bad := range []string{"safe", "approved", "certified", "guarantee", "great job", "well done"} {
			if strings.Contains(text, bad) {
				t.Errorf("%s says %q: %s", key, bad, text)
			}
		}
	}
}

// Every language that has a catalogue says every key and asks for the same
// arguments as English.
func TestLanguagesComplete(t *testing.T) {
	c := load()
	for _, lang := range Languages() {
		for _, key := range Keys() {
			if !c.plain[lang][key] {
				t.Errorf("%s lacks %s", lang, key)
			}
		}
	}
}

func TestBandThroughJSON(t *testing.T) {
	s := New("en", Metric, nil)
	a := s.say("reason.heat.act", map[string]any{"temp_c": num.Band{Low: 37.5, Mid: 39, High: 41}, "time": time.Time{}, "limit_c": 40})
	b := s.say("reason.heat.act", map[string]any{"temp_c": map[string]any{"low": 37.5, "mid": 39.0, "high": 41.0}, "time": time.Time{}, "limit_c": 40})
	if a != b || !strings.Contains(a, "38–41 °C") && !strings.Contains(a, "37–41 °C") {
		t.Errorf("a band is said %q, and through JSON %q", a, b)
	}
}
