package words

import (
	"slices"
	"strings"
	"testing"

	"sodalake/farm/diagnose"
	"sodalake/science/num"
)

// Every sign, cause, act, check and fact of the table has its words, and the
// catalogue has none that the table does not know.
func TestWrongIsSaid(t *testing.T) {
	tab := diagnose.Default()
	want := map[string]bool{}
	for _, s := range tab.Signs {
		want["wrong.sign."+s.ID], want["wrong.group."+s.Group] = true, true
	}
	for _, c := range tab.Causes {
		want["wrong.cause."+c.ID], want["wrong.about."+c.ID] = true, true
		for _, a := range slices.Concat(c.Hour, c.Do) {
			want["wrong.act."+a] = true
		}
		for _, a := range c.Dont {
			want["wrong.leave."+a] = true
		}
	}
	for _, c := range tab.Checks {
		want["wrong.test."+c.ID] = true
		for _, o := range c.Outcomes {
			want["wrong.outcome."+c.ID+"."+o] = true
		}
		if c.Needs != "" {
			want["wrong.needs."+c.Needs] = true
		}
	}
	for _, f := range tab.Facts {
		want["wrong.fact."+f.ID] = true
	}
	for _, c := range tab.Clashes {
		want["wrong.clash."+c.ID] = true
	}
	for key := range want {
		if !Has(key) {
			t.Errorf("the catalogue lacks %s", key)
		}
	}
	for _, key := range Keys() {
		for _, part := range []string{"sign", "group", "cause", "about", "act", "leave", "test", "outcome", "needs", "fact", "clash"} {
			if strings.HasPrefix(key, "wrong."+part+".") && !want[key] {
				t.Errorf("the catalogue has %s, which the table does not know", key)
			}
		}
	}
}

// Facts are said with their own unit and spread, in either measure.
func TestFactsAreSaid(t *testing.T) {
	for _, m := range []Measures{Metric, US} {
		s := New("en", m, nil)
		for _, f := range diagnose.Default().Facts {
			said := s.Because(diagnose.Because{Kind: "fact", ID: f.ID, Value: num.Band{Low: 0.4, Mid: 0.6, High: 0.9}}, "iron")
			if strings.ContainsAny(said, "{<?") || strings.Contains(said, ", ") && !strings.Contains(said, "by the model") {
				t.Errorf("%s %s: %q", m, f.ID, said)
			}
			if !strings.Contains(said, "0.") && !strings.Contains(said, "°F") && !strings.Contains(said, "1") {
				t.Errorf("%s %s says no number: %q", m, f.ID, said)
			}
		}
	}
	s := New("en", Metric, nil)
	for _, c := range []struct {
		fact string
		v    num.Band
		want string
	}{
		{"free_ammonia_mm", num.Band{Low: 1.2, Mid: 1.6, High: 2.1}, "free ammonia 1.6 mM (1.2–2.1), by the model"},
		{"ph_25c_high", num.Band{Low: 11, Mid: 11.2, High: 11.3}, "pH at 25 °C up to 11.2 (11.0–11.3) in three days"},
		{"water_c_high", num.Band{Low: 40, Mid: 41, High: 42}, "water up to 41 °C (40–42) in three days"},
		{"urea_given_mg_per_l", num.Band{Low: 120, Mid: 120, High: 120}, "120 mg/L of urea given in five days"},
		{"still_h", num.Band{Low: 10, Mid: 10, High: 10}, "not stirred for 10 h"},
	} {
		if got := s.Because(diagnose.Because{Kind: "fact", ID: c.fact, Value: c.v}, ""); got != c.want {
			t.Errorf("%s: %q, want %q", c.fact, got, c.want)
		}
	}
	if got := New("en", US, nil).Because(diagnose.Because{Kind: "fact", ID: "water_c_high", Value: num.Band{Low: 40, Mid: 40, High: 40}}, ""); got != "water up to 104 °F in three days" {
		t.Errorf("in US measures: %q", got)
	}
}

func TestGoesOn(t *testing.T) {
	s := New("en", Metric, nil)
	money := func(x float64) string { return s.Rounded(x, 0.01) }
	f, err := diagnose.Default().Find(diagnose.Seen{Signs: map[string]bool{"brown": true, "smell_rotten": true}}, diagnose.Record{
		Reserve: diagnose.Reserve{Vessel: "b", Litres: 20, GPerL: 0.6, FillL: 400, LeastGL: 0.3, CostPerL: 0.02, AgeDays: 40},
	})
	if err != nil {
		t.Fatal(err)
	}
	text := strings.Join(s.GoesOn(f, "the bottles", money), " ")
	for _, want := range []string{"start again from the reserve", "the bottles", "about 15 days", "11 to 24 days", "380 L", "7.60", "older than four weeks", "Nobody has looked"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if word, why := s.MayEat(f); word != "No." || !strings.Contains(why, "brown") || !strings.Contains(why, "dying") {
		t.Errorf("%q %q", word, why)
	}
}
