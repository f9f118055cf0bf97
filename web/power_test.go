package web_test

import (
	"strings"
	"testing"

	"sodalake/web/canned"
	"sodalake/words"
)

func TestPowerWords(t *testing.T) {
	for prefix, list := range map[string]string{
		"power.":            "pump_w hours by_sun always_w panel_w battery_ah volt kind controller allowed one_panel_w one_ah max_lift max_flow lift pipe inside volume channel channel_depth loop speed lead_lasts lead_lacks",
		"power.kind_":       "lead lithium",
		"power.controller_": "tracking plain",
		"power.row_":        "wanted made alone loss days longest",
	} {
		for _, k := range strings.Fields(list) {
			if !words.Has(prefix + k) {
				t.Errorf("the catalogue lacks %q", prefix+k)
			}
		}
	}
}

// A set far too small lacks in the grey week, one far too large lasts; both are
// told the smallest that does, the pump's flow and the cautions.
func TestPowerPage(t *testing.T) {
	h := handler(canned.New())
	const pump = "&pump_w=14&hours=8&by_sun=yes&always_w=0.3&allowed=2&one_panel_w=50&one_ah=12&volt=12&max_lift=1.8&max_flow=1200&lift=0.3&pipe=3&inside=16&volume=800"
	small := text(parse(t, get(t, h, "/power?panel_w=10&battery_ah=2"+pump)))
	large := text(parse(t, get(t, h, "/power?panel_w=2000&battery_ah=2000"+pump)))
	if !strings.Contains(small, "It does not last through the greyest week") || !strings.Contains(large, "It lasts through the greyest week") {
		t.Error("a set of 10 W and 2 Ah, or one of 2 kW and 2000 Ah, is judged wrongly")
	}
	for _, want := range []string{"The smallest set that is reliable enough", "By the sun the pump runs", "What the pump moves", "L/h", "residual-current device", "licensed electrician", "All of the water once in"} {
		if !strings.Contains(small, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	none := text(parse(t, get(t, h, "/power?pump_w=14&hours=8")))
	if strings.Contains(none, "greyest week of") || strings.Contains(none, "What the pump moves") || !strings.Contains(none, "smallest set that is reliable enough") {
		t.Error("without a set and a pump the page speaks of them")
	}
	if s := text(parse(t, get(t, handler(canned.Empty()), "/power"))); !strings.Contains(s, "First say where the farm is") {
		t.Error("an empty farm is not told how to begin")
	}
}

func TestPowerRefuses(t *testing.T) {
	h := handler(canned.New())
	for query, field := range map[string]string{
		"pump_w=x": "pump_w", "pump_w=5&hours=30": "hours", "pump_w=5&panel_w=20": "battery_ah", "pump_w=5&battery_ah=20": "panel_w", "pump_w=0&hours=0&always_w=0": "pump_w",
		"pump_w=5&max_lift=2": "max_flow", "pump_w=5&max_lift=0.5&max_flow=900&lift=3": "lift", "pump_w=5&one_ah=0": "one_ah", "pump_w=5&volt=400": "volt", "pump_w=5&max_lift=2&max_flow=900&channel=1": "channel_depth",
	} {
		w := get(t, h, "/power?"+query)
		doc := parse(t, w)
		marked := ""
		for _, n := range all(doc, "input") {
			if attr(n, "aria-invalid") == "true" {
				marked = attr(n, "name")
			}
		}
		if w.Code != 422 || marked != field || len(alerts(doc)) != 1 {
			t.Errorf("%s: status %d, %q is marked, want %s", query, w.Code, marked, field)
		}
	}
}
