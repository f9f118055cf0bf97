package keeper_test

import (
	"math"
	"slices"
	"testing"

	"sodalake/keeper"
)

func (w *world) meter(every int) {
	w.t.Helper()
	b := body{"id": "meter-1", "name": "The meter", "measures": "ph", "make": "meter"}
	if every > 0 {
		b["every_days"] = every
	}
	w.write(w.entry("2026-06-01T08:30:00Z", "", "instrument", b))
}

// A meter that shows 0.25 too much makes every pond look poorer in carbon than it
// is. A check in two buffers says so, in every vessel that was read with it, and
// what its readings had said is put right.
func TestMeterCheckPutsRight(t *testing.T) {
	opt := small
	opt.Members = 100 // what a bias has done to the carbon is learned by correlation
	truth, w := season(t, opt), season(t, opt)
	truth.meter(0)
	w.meter(0)
	for _, day := range []string{"03", "04", "05"} {
		at := "2026-06-" + day + "T07:30:00Z"
		truth.note(at, "one", "ph", body{"ph": 9.7, "instrument": "meter-1"})
		w.note(at, "one", "ph", body{"ph": 9.95, "instrument": "meter-1"})
	}
	want := truth.vessel("one").Now.Bands[keeper.PH25C].Mid
	before := w.vessel("one").Now.Bands[keeper.PH25C].Mid
	// By hand: 100 % of the slope and 7.25 in the buffer of 7.00 is 0.25 too much
	// everywhere.
	w.note("2026-06-05T08:00:00Z", "", "checked", body{"instrument": "meter-1", "result": "good", "expected": 7.0, "read": 7.25, "slope_pct": 100})
	after := w.vessel("one").Now.Bands[keeper.PH25C].Mid
	if !(before > want+0.02) || math.Abs(after-want) > 0.6*math.Abs(before-want) {
		t.Errorf("pH %.3f by the true meter, %.3f by one that shows 0.25 too much, %.3f after its check", want, before, after)
	}
	w.fresh("a check")
	if b := w.vessel("one").Now.Bands; math.Abs(b[keeper.PHShown].Mid-b[keeper.PH].Mid-0.25) > 0.05 {
		t.Errorf("the meter is expected to show %v in water of %v, want 0.25 more", b[keeper.PHShown], b[keeper.PH])
	}
	// The next reading with the same meter is expected 0.25 higher than the pond.
	w.note("2026-06-06T07:43:00Z", "one", "ph", body{"ph": math.Round(100*(after+0.25)) / 100, "instrument": "meter-1"})
	again := w.vessel("one").Now.Bands[keeper.PH25C].Mid
	if math.Abs(again-after) > 0.06 {
		t.Errorf("a reading that shows the known 0.25 too much moves the pH from %.3f to %.3f", after, again)
	}
	m := w.calibration().Meters
	if len(m) != 1 || !near(m[0].Bias.Mid, 0.25, 1e-6) || m[0].State != "good" || m[0].Due {
		t.Errorf("the meter is %+v, want 0.25 too much and good", m)
	}
}

// A vessel that was read with another meter is left alone.
func TestMeterOfAnother(t *testing.T) {
	w := season(t, small)
	w.meter(0)
	w.write(w.entry("2026-06-01T08:31:00Z", "", "instrument", body{"id": "meter-2", "name": "Another", "measures": "ph", "make": "meter"}))
	w.note("2026-06-05T07:30:00Z", "one", "ph", body{"ph": 9.7, "instrument": "meter-2"})
	before := w.vessel("one").Now.Bands[keeper.PH25C]
	w.note("2026-06-05T08:00:00Z", "", "checked", body{"instrument": "meter-1", "result": "good", "expected": 7.0, "read": 7.4, "slope_pct": 100})
	after := w.vessel("one").Now.Bands[keeper.PH25C]
	if math.Abs(before.Mid-after.Mid) > 0.01 {
		t.Errorf("the check of a meter that it was never read with moves the pH from %.3f to %.3f", before.Mid, after.Mid)
	}
}

// The spread of what a meter shows grows with the time since its check, and one
// found failing is worth no more than a strip.
func TestMeterGrowsOld(t *testing.T) {
	w := season(t, small)
	w.meter(0)
	w.note("2026-06-02T08:00:00Z", "", "checked", body{"instrument": "meter-1", "result": "adjusted"})
	w.set("2026-06-02T09:00:00Z")
	young := w.calibration().Meters[0]
	w.set("2026-06-27T08:00:00Z")
	old := w.calibration().Meters[0]
	// sd² = 0.03² + 0.01²·25: propagation by hand.
	if want := 2 * 1.2816 * math.Sqrt(0.0009+0.0025); !near(old.Bias.High-old.Bias.Low, want, 1e-3) || young.Due || !old.Due {
		t.Errorf("after 25 days the band is %.4f wide, want %.4f; due %t then, %t at first", old.Bias.High-old.Bias.Low, want, old.Due, young.Due)
	}
	w.set("2026-06-06T07:44:00Z")
	good, bad := season(t, small), season(t, small)
	for _, x := range []*world{good, bad} {
		x.meter(0)
	}
	bad.note("2026-06-05T08:00:00Z", "", "checked", body{"instrument": "meter-1", "result": "failed"})
	var moved [2]float64
	for i, x := range []*world{good, bad} {
		was := x.vessel("one").Now.Bands[keeper.PH25C].Mid
		x.note("2026-06-06T07:43:00Z", "one", "ph", body{"ph": math.Round(100*(was+0.12)) / 100, "instrument": "meter-1"})
		moved[i] = x.vessel("one").Now.Bands[keeper.PH25C].Mid - was
	}
	if !(moved[0] > 2*moved[1]) {
		t.Errorf("0.12 higher moves the pH by %.3f read with a good meter, by %.3f with a failing one", moved[0], moved[1])
	}
}

// The list asks for a check where it is old and a decision stands on the pH, once
// for the farm.
func TestMeterIsAskedFor(t *testing.T) {
	w := season(t, small)
	w.meter(0)
	w.note("2026-06-05T10:00:00Z", "one", "split", body{"to": "two", "volume_l": 300})
	w.note("2026-06-06T07:30:00Z", "one", "ph", body{"ph": 10.0, "instrument": "meter-1"})
	w.note("2026-06-06T07:31:00Z", "two", "ph", body{"ph": 10.0, "instrument": "meter-1"})
	count := func() (n int, it itemOf) {
		for _, v := range w.today().Vessels {
			for _, x := range v.Items {
				if x.Act == "calibrate" {
					n, it = n+1, x
				}
			}
		}
		return n, it
	}
	n, it := count()
	if n != 1 || it.Reason.Key != "reason.meter.never" || it.Record == nil || it.Record.Kind != "checked" || it.Record.Vessel != "" {
		t.Fatalf("%d items ask for a check: %+v", n, it)
	}
	w.note("2026-06-06T07:40:00Z", "", "checked", body{"instrument": "meter-1", "result": "good", "expected": 7.0, "read": 7.02, "slope_pct": 98})
	if n, it := count(); n != 0 {
		t.Errorf("a check of a moment ago is asked for again: %+v", it)
	}
	if acts := w.acts("one"); slices.Contains(acts, "calibrate") {
		t.Errorf("%v", acts)
	}
}

// A meter that was found to show 0.3 too much does not hide a pH below the limit
// for food: what it showed is read by its check, before the check too.
func TestMeterHidesNoLowPH(t *testing.T) {
	for _, c := range []struct {
		name         string
		checks       []string // moment, result
		shown, found float64
		hold         bool
	}{
		{"no check", nil, 9.95, 0, false},
		{"found 0.3 too high afterwards", []string{"2026-06-06T07:40:00Z", "good"}, 9.95, 0.3, true},
		{"found 0.3 too high before", []string{"2026-06-05T07:40:00Z", "good"}, 9.95, 0.3, true},
		{"found so before and set by the buffers", []string{"2026-06-05T07:40:00Z", "adjusted"}, 9.95, 0.3, false},
		{"found so afterwards and set then", []string{"2026-06-06T07:40:00Z", "adjusted"}, 9.95, 0.3, true},
		{"found 0.3 too low: not raised", []string{"2026-06-06T07:40:00Z", "good"}, 9.65, -0.3, true},
	} {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", nil)
		w.meter(0)
		w.note("2026-06-04T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.8, "medium": soda})
		w.note("2026-06-06T07:30:00Z", "one", "ph", body{"ph": c.shown, "temp_c": 25, "instrument": "meter-1"})
		if c.checks != nil {
			w.note(c.checks[0], "", "checked", body{"instrument": "meter-1", "result": c.checks[1], "expected": 7.0, "read": 7 + c.found, "slope_pct": 100})
		}
		held := false
		for _, v := range w.today().Vessels {
			for _, it := range v.Items {
				held = held || v.Spec.ID == "one" && it.Reason.Key == "reason.hold.ph"
			}
		}
		if held != c.hold {
			t.Errorf("%s: shown %.2f, the harvest is held for its pH: %t, want %t", c.name, c.shown, held, c.hold)
		}
	}
}
