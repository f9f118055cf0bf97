package keeper_test

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

func (w *world) scale(wish keeper.ScaleWish) (keeper.ScaleUp, error) {
	return w.k.ScaleUp(context.Background(), time.Time{}, wish)
}

// climbs checks what holds of every way up: litres add up, nothing begins too
// thin, no volume grows by more than five, and the days run forward.
func climbs(t *testing.T, u *keeper.ScaleUp) {
	t.Helper()
	if len(u.Steps) == 0 || u.Stuck != nil {
		t.Fatalf("no way up: %+v", u)
	}
	stands, medium := u.FromL, 0.0
	var day time.Time
	for i, s := range u.Steps {
		if math.Abs(s.PourL+s.MediumL-s.FillL) > 1e-9*s.FillL || math.Abs(s.PourL+s.KeepL-stands) > 1e-6*stands {
			t.Errorf("step %d: of %.2f L %.2f are poured and %.2f kept, with %.2f of medium there are %.2f", i, stands, s.PourL, s.KeepL, s.MediumL, s.FillL)
		}
		if s.FillL > 5*s.PourL*(1+1e-9) || s.StartGL.Low < s.LeastGL*(1-1e-9) {
			t.Errorf("step %d: %.2f L become %.2f L at %.3f g/L, not below %.2f", i, s.PourL, s.FillL, s.StartGL.Low, s.LeastGL)
		}
		// The disc at a density, by the constant 1.2 cm g/L of the readings.
		if math.Abs(s.WaitCM*s.WaitGL-1.2) > 1e-9 {
			t.Errorf("step %d: %.2f g/L is a disc of %.2f cm", i, s.WaitGL, s.WaitCM)
		}
		if s.When.Mid.Before(day) || s.When.Early.After(s.When.Mid) || !s.When.Late.IsZero() && s.When.Late.Before(s.When.Mid) {
			t.Errorf("step %d: %+v after %v", i, s.When, day)
		}
		stands, day, medium = s.FillL, s.When.Mid, medium+s.MediumL
	}
	if math.Abs(stands-u.TargetL) > 1e-6*u.TargetL || math.Abs(medium-u.MediumL) > 1e-6*medium || u.Ready.Mid.Before(day) {
		t.Errorf("%.1f L at the end of %.1f wished, %.1f L medium of %.1f told, ready %v after %v", stands, u.TargetL, medium, u.MediumL, u.Ready.Mid, day)
	}
}

// From a bottle to a pond, with tubs in between where the farm has none, the same
// each time.
func TestScaleUp(t *testing.T) {
	w := newWorld(t, "2026-06-06T07:44:00Z", few)
	w.describe("2026-06-01T08:00:00Z", nil)
	u, err := w.scale(keeper.ScaleWish{StartL: 1, StartGL: 0.8, To: "one"})
	if err != nil {
		t.Fatal(err)
	}
	climbs(t, &u)
	// One litre five times larger each time needs four steps at least to 1080 L:
	// ln 1080 / ln 5 = 4.3.
	if len(u.Added) == 0 || len(u.Steps) < 5 || math.Abs(u.TargetL-1080) > 1 {
		t.Errorf("%d steps by tubs of %v L to %.0f L", len(u.Steps), u.Added, u.TargetL)
	}
	again, err := w.open(few).ScaleUp(context.Background(), time.Time{}, keeper.ScaleWish{StartL: 1, StartGL: 0.8, To: "one"})
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(u)
	b, _ := json.Marshal(again)
	if string(a) != string(b) {
		t.Errorf("another keeper climbs otherwise: %s", firstDifference(string(a), string(b)))
	}
	// A larger bottle is never later.
	large, err := w.scale(keeper.ScaleWish{StartL: 5, StartGL: 0.8, To: "one"})
	if err != nil {
		t.Fatal(err)
	}
	climbs(t, &large)
	if large.Days.Mid > u.Days.Mid {
		t.Errorf("five litres are ready after %.0f days, one after %.0f", large.Days.Mid, u.Days.Mid)
	}
}

// From a vessel of the farm: a backup is kept, and of a part that is taken the
// rest stays where it is.
func TestScaleUpFromVessel(t *testing.T) {
	w := ripe(t, few)
	w.note("2026-06-01T09:30:00Z", "shelf", "inoculated", body{"volume_l": 9, "density_g_per_l": 0.8})
	u, err := w.scale(keeper.ScaleWish{From: "shelf", To: "two"})
	if err != nil {
		t.Fatal(err)
	}
	climbs(t, &u)
	if kept := u.Steps[0].KeepL; kept < 0.25 || kept > 1 {
		t.Errorf("of nine litres %.2f are kept back as a backup", kept)
	}
	part, err := w.scale(keeper.ScaleWish{From: "one", StartL: 100, To: "two"})
	if err != nil {
		t.Fatal(err)
	}
	climbs(t, &part)
	if s := part.Steps[0]; s.Vessel == "one" || s.PourL != 100 {
		t.Errorf("a part that is taken is poured back: %+v", s)
	}
}

// What cannot be asked is refused with its field; what does not grow is said.
func TestScaleUpCannot(t *testing.T) {
	w := ripe(t, few)
	for _, row := range []struct {
		wish  keeper.ScaleWish
		field string
	}{
		{keeper.ScaleWish{}, "target_l"},
		{keeper.ScaleWish{TargetL: -5}, "target_l"},
		{keeper.ScaleWish{StartL: 50, TargetL: 20}, "target_l"},
		{keeper.ScaleWish{StartL: -1, TargetL: 20}, "start_l"},
		{keeper.ScaleWish{StartGL: 90, TargetL: 20}, "start_g_per_l"},
		{keeper.ScaleWish{From: "two", TargetL: 5000}, "from"},
		{keeper.ScaleWish{From: "one", StartL: 5000, TargetL: 9000}, "start_l"},
		{keeper.ScaleWish{From: "nowhere", TargetL: 20}, "vessel"},
		{keeper.ScaleWish{To: "nowhere"}, "vessel"},
		{keeper.ScaleWish{To: "one", TargetL: 9000}, "target_l"},
		{keeper.ScaleWish{StartL: math.NaN(), TargetL: 20}, "start_l"},
	} {
		_, err := w.scale(row.wish)
		var bad *farm.Error
		if !asError(err, &bad) || bad.Field != row.field {
			t.Errorf("%+v: %v, not refused at %s", row.wish, err, row.field)
		}
	}
	cold := newWorld(t, "2026-06-06T07:44:00Z", few)
	cold.describe("2026-06-01T08:00:00Z", func(site body) {
		months := normals()
		for i := range months {
			months[i].TMinC, months[i].TMaxC = -6, 3
		}
		site["normals"] = months
	})
	u, err := cold.scale(keeper.ScaleWish{StartL: 1, To: "one", AtMost: 60})
	if err != nil || u.Stuck == nil || len(u.Steps) > 0 || u.Stuck.Why != "growth" && u.Stuck.Why != "time" {
		t.Errorf("in the frost a pond is ready: %+v, %v", u, err)
	}
}

func asError(err error, to **farm.Error) bool { return errors.As(err, to) }
