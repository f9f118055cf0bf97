package web_test

import (
	"math"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"sodalake/farm"
	"sodalake/web/canned"
)

func checkForm(t *testing.T, h http.Handler) url.Values {
	t.Helper()
	for _, f := range all(parse(t, get(t, h, "/farm/instruments?item=boat-pond.calibrate.1")), "form") {
		v := url.Values{"low": {"7.00"}, "high": {"10.01"}, "low_shown": {"7,10"}, "high_shown": {"10.0"}, "temp": {"20"}, "result": {"good"}, "instrument": {"ph-meter"}}
		for _, in := range all(f, "input") {
			if attr(in, "type") == "hidden" {
				v.Set(attr(in, "name"), attr(in, "value"))
			}
		}
		if attr(f, "action") == "/farm/instruments/check" {
			return v
		}
	}
	t.Fatal("no form of a check")
	return nil
}

func lastOf(t *testing.T, f *canned.Farm, kind string) (farm.Entry, farm.Body) {
	t.Helper()
	var b strings.Builder
	if err := f.Export(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	var last farm.Entry
	for e, err := range farm.ReadEntries(strings.NewReader(b.String()), farm.NewPresent(), canned.Now) {
		if err != nil {
			t.Fatal(err)
		}
		if e.Kind == kind {
			last = e
		}
	}
	body, bad := farm.DecodeBody(farm.KindNamed(kind), last.Body)
	if bad != nil {
		t.Fatal(bad)
	}
	return last, body
}

func TestCheckInTwoBuffers(t *testing.T) {
	f := canned.New()
	h := handler(f)
	v := checkForm(t, h)
	if w := post(h, "/farm/instruments/check", v); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body.String())
	}
	e, b := lastOf(t, f, "checked")
	// At 20 °C the buffers of 7.00 and 10.01 have 7.02 and 10.062 (tables printed
	// with meters; DIN 19266): the meter moves 2.90 over 3.042, 95.3 %.
	for key, want := range map[string]float64{"expected": 7.02, "read": 7.1, "slope_pct": 100 * 2.9 / 3.042, "temp_c": 20} {
		if got, _ := b.Number(key); math.Abs(got-want) > 0.02 {
			t.Errorf("%s is %g, want %g", key, got, want)
		}
	}
	if e.Item != "boat-pond.calibrate.1" || e.Vessel != "" || b.Text("result") != "good" || b.Text("instrument") != "ph-meter" {
		t.Errorf("the entry is %+v %s", e, e.Body)
	}
	// Sent twice it is written once.
	n := f.Writes
	post(h, "/farm/instruments/check", v)
	if f.Writes != n {
		t.Error("sent twice it is written twice")
	}
	// An electrode that moves 2.4 of 3 is called failing, whatever was chosen.
	v = checkForm(t, h)
	v.Set("high_shown", "9.5")
	post(h, "/farm/instruments/check", v)
	if _, b := lastOf(t, f, "checked"); b.Text("result") != "failed" {
		t.Errorf("an electrode of 79 %% is written down as %q", b.Text("result"))
	}
}

func TestCheckErrorsByField(t *testing.T) {
	f := canned.New()
	h := handler(f)
	for _, c := range []struct{ field, typed, says string }{
		{"low_shown", "", "not a number"}, {"low_shown", "15", "between 0 and 14"}, {"high_shown", "7.2", "dead"},
		{"temp", "70", "between 0 and 50"}, {"temp", "warm", "not a number"},
	} {
		v := checkForm(t, h)
		v.Set(c.field, c.typed)
		w := post(h, "/farm/instruments/check", v)
		if w.Code != http.StatusUnprocessableEntity {
			t.Errorf("%s of %q gives %d", c.field, c.typed, w.Code)
			continue
		}
		found := false
		for _, l := range all(parse(t, w), "label") {
			for _, in := range all(l, "input") {
				found = found || attr(in, "name") == c.field && strings.Contains(text(l), c.says) && attr(in, "value") == c.typed
			}
		}
		if !found {
			t.Errorf("%s of %q: the field does not say %q with what was typed", c.field, c.typed, c.says)
		}
	}
	if f.Writes != 0 {
		t.Errorf("%d entries written", f.Writes)
	}
}

// The first check of a farm without a meter writes the meter down too.
func TestFirstMeter(t *testing.T) {
	f := canned.Empty()
	h := handler(f)
	v := checkForm(t, h)
	v.Set("instrument", "")
	if w := post(h, "/farm/instruments/check", v); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("without a name it gives %d", w.Code)
	}
	v.Set("name", "Pocket meter")
	if w := post(h, "/farm/instruments/check", v); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body.String())
	}
	setup, err := f.Setup(t.Context())
	if err != nil || len(setup.Instruments) != 1 || setup.Instruments[0].ID != "pocket-meter" || setup.Instruments[0].Measures != "ph" {
		t.Errorf("the instruments are %+v (%v)", setup.Instruments, err)
	}
	if _, b := lastOf(t, f, "checked"); b.Text("instrument") != "pocket-meter" {
		t.Errorf("the check names %q", b.Text("instrument"))
	}
}
