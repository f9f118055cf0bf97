package lot

import (
	"testing"
	"time"
)

func (h *HazardPlan) control(key string) *Control {
	for i := range h.Controls {
		if h.Controls[i].Key == key {
			return &h.Controls[i]
		}
	}
	return nil
}

// The plan follows how the farm works: no dryer, no control of drying. It counts
// the lots of its time, and each stage of the clock by itself.
func TestHazards(t *testing.T) {
	s := newStation(t)
	if h := s.book().Hazards(s.now, s.now.Add(time.Hour)); h.control("dryer") != nil || h.control("dry") != nil {
		t.Error("controls of a dryer that is not there")
	}
	from := s.now
	s.harvested("pond", "good")
	s.dried("good")
	s.typed("lot_check", m{"lot": "good", "check": "dry", "water_activity": 0.4})
	s.harvested("basin", "late")
	s.wait(4 * time.Hour)
	s.typed("lot_step", m{"lot": "late", "step": "into_dryer", "temp_c": 45, "tools": []string{"tray"}})
	s.wait(time.Hour)
	h := s.book().Hazards(from, s.now.Add(time.Hour))
	for _, c := range []struct {
		key             string
		passed, failed  int
		missing         int
		critical, shown bool
	}{
		{"culture", 2, 0, 0, true, true}, {"acidity", 2, 0, 0, true, true}, {"people", 2, 0, 0, false, false}, {"tools", 2, 0, 0, true, true},
		{"wet", 1, 1, 0, true, false}, {"dryer", 2, 0, 0, true, false}, {"dry", 1, 0, 0, true, false},
	} {
		got := h.control(c.key)
		if got == nil {
			t.Errorf("no control %s", c.key)
			continue
		}
		n := got.Counts
		if n.Passed != c.passed || n.Failed != c.failed || n.Missing != c.missing || got.Critical != c.critical || len(got.Shown) > 0 != c.shown {
			t.Errorf("%s: %+v, critical %v, shown %v", c.key, n, got.Critical, got.Shown)
		}
		for _, x := range got.Shown {
			heard(t, x)
		}
	}
	if h.control("frozen") != nil || h.control("cold") != nil {
		t.Error("controls of a freezer and a refrigerator that are not there")
	}
	if w := h.control("wet"); len(w.Counts.Open) != 1 || w.Counts.Open[0] != "late" {
		t.Errorf("open at the wet stage: %v", w.Counts.Open)
	}
	if early := s.book().Hazards(from.AddDate(0, -2, 0), from.AddDate(0, -1, 0)); len(early.Lots) != 0 || early.control("culture").Counts.Lots != 0 {
		t.Error("lots of another time are counted")
	}
	s.typed("lot_deviation", m{"lot": "late", "check": "clock", "reason": "rain", "what": "waited"})
	if h = s.book().Hazards(from, s.now.Add(time.Hour)); h.control("wet").Counts.Deviations != 1 || len(s.book().Registers(from, s.now.Add(time.Hour))) != 3 {
		t.Errorf("deviations %d, registers %d", h.control("wet").Counts.Deviations, len(s.book().Registers(from, s.now.Add(time.Hour))))
	}
}
