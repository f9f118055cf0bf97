package web_test

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/web/canned"
)

// The plan's page says which day, how much, what to leave and what comes after;
// what it is set beside; and what cannot be had.
func TestPlanPage(t *testing.T) {
	for state, wants := range map[string][]string{
		"": {"five harvests on four days", "450 L", "Lantern pond", "of pressed paste", "leave 0.30", "potassium nitrate", "top up with 40", "Cistern tank</b>: on hold", "Half of it whenever it is dark",
			"38\u00a0% of the water", "The plan brings more than your own habit", "the spread is larger than the difference", "least density to leave: 110"},
		"short":   {"900\u00a0g of dry matter a week cannot be had", "about 410\u00a0g can", "what the dryer takes in a day: 210", "has gone by", "less than a third", "12\u00a0g finds no place", "wrong pH: 4\u00a0times in 10"},
		"waiting": {"The plan is being worked out", "37\u00a0%"},
		"again":   {"The plan below is the one from before", "60\u00a0%", "450 L"},
	} {
		f := canned.New()
		if state != "" {
			f = canned.NewPlan(state)
		}
		w := get(t, handler(f), "/plan")
		body := strings.ReplaceAll(w.Body.String(), "450\u00a0L", "450 L")
		for _, want := range wants {
			if !strings.Contains(strings.ToLower(body), strings.ToLower(want)) {
				t.Errorf("the page of a plan %q does not say %q", state, want)
			}
		}
		// A plan that is being worked out is asked for again without a script.
		if waits := w.Header().Get("Refresh") != ""; waits != (state == "waiting" || state == "again") {
			t.Errorf("the page of a plan %q looks again: %v", state, waits)
		}
	}
	if body := get(t, handler(canned.Empty()), "/plan").Body.String(); !strings.Contains(body, "No vessel can be planned for yet") {
		t.Error("an empty farm's plan does not say how to begin")
	}
	if body := get(t, handler(canned.New()), "/vessels/lantern-pond").Body.String(); !strings.Contains(body, `href="/plan"`) || !strings.Contains(body, "pressed paste") {
		t.Error("the vessel's page does not show its plan")
	}
	// Today is the day list's to say; the plan speaks from tomorrow on.
	if body := get(t, handler(canned.New()), "/").Body.String(); !strings.Contains(body, "harvest by the plan, Lantern pond") || !strings.Contains(body, "Sun 17") {
		t.Error("Today does not show the next planned harvest")
	}
}

// settingsOf are the choices of the canned farm as they stand.
func settingsOf(t *testing.T, f *canned.Farm) map[string]string {
	t.Helper()
	list, err := f.Settings(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	for _, s := range list {
		out[s.Key] = string(s.Value)
	}
	return out
}

// The form writes what was changed and nothing else, all or none, in the stored
// units.
func TestPlanWish(t *testing.T) {
	f := canned.NewUS()
	h := handler(f)
	form := url.Values{"id": {attr(find(t, parse(t, get(t, h, "/plan")), "id"), "value")}, "plan_goal": {"steady"}, "plan_week_g": {"250"}, "plan_cloth_l": {"100"}, "plan_press_kg": {"10"},
		"plan_risk": {"0.1"}, "plan_weekdays": {"mon", "thu"}, "plan_away": {" 2026-05-20  2026-05-21 "}, "plan_cloth_l_per_h": {"50"}}
	if w := post(h, "/plan/wish", form); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	got := settingsOf(t, f)
	// A US gallon is 3.785411784 L, a pound 0.45359237 kg: NIST SP 811.
	for key, want := range map[string]string{"plan_goal": `"steady"`, "plan_week_g": "250", "plan_cloth_l": "378.54", "plan_press_kg": "4.5359", "plan_weekdays": `"mon thu"`,
		"plan_away": `"2026-05-20 2026-05-21"`, "plan_cloth_l_per_h": "189.27"} {
		if got[key] != want {
			t.Errorf("%s is written as %s, not %s", key, got[key], want)
		}
	}
	if _, written := got["plan_dryer_g"]; written {
		t.Error("an empty field is written down")
	}
	// The form shows what stands, and sent again writes nothing.
	doc := parse(t, get(t, h, "/plan"))
	if v := attr(find(t, doc, "plan_cloth_l"), "value"); v != "100" {
		t.Errorf("100 gal stand in the form as %q", v)
	}
	writes := f.Writes
	form.Set("id", attr(find(t, doc, "id"), "value"))
	if w := post(h, "/plan/wish", form); w.Code != http.StatusSeeOther || f.Writes != writes {
		t.Errorf("what did not change is written again: status %d, %d writes", w.Code, f.Writes-writes)
	}
	for _, bad := range []url.Values{
		{"plan_week_g": {"much"}}, {"plan_week_g": {"-3"}}, {"plan_by": {"next week"}}, {"plan_away": {"2026-02-31"}}, {"plan_goal": {"all"}}, {"plan_goal": {"steady"}, "plan_week_g": {""}},
		{"plan_risk": {"0.9"}}, {"plan_at_h": {"25"}}, {"plan_weekdays": {"someday"}},
	} {
		form := url.Values{"plan_goal": {"most"}, "plan_dryer_g": {"77"}}
		for k, v := range bad {
			form[k] = v
		}
		if w := post(h, "/plan/wish", form); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v is taken: status %d", bad, w.Code)
		}
		if settingsOf(t, f)["plan_dryer_g"] != "" || f.Writes != writes {
			t.Fatalf("%v changes something", bad)
		}
	}
	// Nobody is there on any day: that is said, not forgotten.
	if w := post(h, "/plan/wish", url.Values{"plan_goal": {"most"}}); w.Code != http.StatusSeeOther || settingsOf(t, f)["plan_weekdays"] != `"none"` {
		t.Errorf("no day ticked: status %d, %s", w.Code, settingsOf(t, f)["plan_weekdays"])
	}
	if got := settingsOf(t, f)["plan_week_g"]; got != `""` {
		t.Errorf("a field that was emptied stands as %s", got)
	}
}

// Every word that a plan can use is in the catalogue.
func TestPlanWords(t *testing.T) {
	for prefix, list := range map[string][]string{
		"plan.goal.":     farm.Goals,
		"plan.rule.":     {"half", "own", "half_what", "own_what"},
		"plan.left_out.": {"empty", "reserve", "held", "unknown"},
		"plan.why.":      {"nobody", "too_cold", "too_hot", "ph_low", "ph_high", "over_date", "done"},
		"plan.holds.":    {"days", "time", "cloth", "press", "dryer", "freezer", "water", "floor", "growth"},
		"plan.wish.":     {"week", "amount", "at", "hours", "setup", "cloth_rate", "cloth", "press", "dryer", "fresh", "freeze", "freezer", "risk_1", "risk_2", "risk_3"},
	} {
		for _, name := range list {
			need(t, prefix+name)
		}
	}
}
