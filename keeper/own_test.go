package keeper_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"sodalake/keeper"
)

func (w *world) calibration() keeper.Calibration {
	w.t.Helper()
	c, err := w.k.Calibration(context.Background(), time.Time{})
	if err != nil {
		w.t.Fatal(err)
	}
	return c
}

// pairsIn notes five pairs of a disc and a dry weight in pond two, whose disc is
// lost where density times depth is 0.9 g·cm/L.
func (w *world) pairsIn(pond string) {
	w.t.Helper()
	w.note("2026-06-01T09:30:00Z", pond, "inoculated", body{"volume_l": 900, "density_g_per_l": 0.3, "medium": soda})
	for i, x := range []float64{0.30, 0.35, 0.42, 0.50, 0.58} {
		day := fmt.Sprintf("2026-06-0%dT", 1+i)
		w.note(day+"10:00:00Z", pond, "secchi", body{"secchi_cm": math.Round(0.9/x*10) / 10})
		w.note(day+"10:20:00Z", pond, "dry_weight", body{"dry_weight_g_per_l": x})
	}
}

// Five pairs are the farm's own disc: in another pond the same depth is another
// density, and what is expected of the next disc moves with it.
func TestOwnDisc(t *testing.T) {
	w := newWorld(t, "2026-06-06T07:44:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-05T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "medium": soda})
	w.note("2026-06-06T07:40:00Z", "one", "secchi", body{"secchi_cm": 3})
	before, was := w.vessel("one").Now.Bands, w.calibration()
	if was.Secchi.Used != 0 || !near(was.Secchi.Constant.Mid, 1.2, 1e-9) {
		t.Errorf("before any pair the disc is %+v", was.Secchi)
	}
	w.pairsIn("two")
	after, c := w.vessel("one").Now.Bands, w.calibration()
	// The weighted mean of five pairs of 0.9 and the constant of 1.2 with 22 % that
	// stands before them: errors of a pair are 7 % of the weight and 2.5 mm of the
	// depth, so the five weigh 0.22²/(0.11²/5 + 0.22²) = 0.95 of it.
	if c.Secchi.Used != 5 || math.Abs(c.Secchi.Constant.Mid-0.915) > 0.03 || c.Secchi.Constant.High/c.Secchi.Constant.Low > 1.25 {
		t.Errorf("the disc is %+v, want 0.9 to 0.93 g·cm/L from 5 pairs (joined by weight)", c.Secchi)
	}
	if a, b := before[keeper.DensityGPerL].Mid, after[keeper.DensityGPerL].Mid; b > 0.9*a {
		t.Errorf("with a disc of 0.9 g·cm/L in place of 1.2 a depth of 3 cm still stands for %.3f g/L, it was %.3f", b, a)
	}
	readings, _, err := w.k.History(context.Background(), "one", moment(t, "2026-06-06T07:00:00Z"))
	if err != nil || len(readings) != 1 || math.Abs(readings[0].Value-0.305) > 0.02 {
		t.Errorf("the chart shows %+v (%v), want 0.915/3 = 0.305 g/L", readings, err)
	}
	w.fresh("five pairs")
	// Asked for a time before the pairs it knows none of them.
	past, err := w.k.Calibration(context.Background(), moment(t, "2026-06-01T09:45:00Z"))
	if err != nil || len(past.Secchi.Pairs) != 0 {
		t.Errorf("before the first pair it knows %+v (%v)", past.Secchi.Pairs, err)
	}
}

// What is no pair: too far apart, water poured in between, a figure that cannot
// be, one that its maker doubts. The one that cannot be is shown with its reason.
func TestOwnDiscRefuses(t *testing.T) {
	w := newWorld(t, "2026-06-06T07:44:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.begin("2026-06-01T09:00:00Z")
	w.note("2026-06-02T06:00:00Z", "one", "secchi", body{"secchi_cm": 2.9})
	w.note("2026-06-02T10:30:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.42})
	w.note("2026-06-03T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8})
	w.note("2026-06-03T07:10:00Z", "one", "topped_up", body{"volume_l": 40, "with": "water"})
	w.note("2026-06-03T07:20:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.42})
	w.note("2026-06-04T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8, "flags": []string{"chalk"}})
	w.note("2026-06-04T07:20:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.45})
	if c := w.calibration(); len(c.Secchi.Pairs) != 0 {
		t.Errorf("these are taken for pairs: %+v", c.Secchi.Pairs)
	}
	w.note("2026-06-05T07:00:00Z", "one", "secchi", body{"secchi_cm": 26})
	w.note("2026-06-05T07:20:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.47})
	if c := w.calibration(); len(c.Secchi.Pairs) != 1 || c.Secchi.Pairs[0].Left != "own.far" || c.Secchi.Used != 0 {
		t.Errorf("a disc of 26 cm in 0.47 g/L is %+v, want it shown and left out", c.Secchi.Pairs)
	}
}

// A pair is not counted twice: the pond that it was taken in does not grow surer
// of its disc than the pair makes it.
func TestPairCountsOnce(t *testing.T) {
	w := season(t, small)
	w.pairsIn("two")
	r, _, err := w.k.History(context.Background(), "two", moment(t, "2026-06-01T00:00:00Z"))
	if err != nil || len(r) != 10 {
		t.Fatalf("%d readings (%v), want ten", len(r), err)
	}
	for _, x := range r {
		if x.Doubt != "" {
			t.Errorf("a reading of a pair is doubted: %+v", x)
		}
	}
}

// A pair moves the whole season. Where quick answers are wanted nobody waits for
// it: a quick one comes first, the whole follows behind.
func TestPairThenWhole(t *testing.T) {
	quick := small
	quick.Quick = true
	w := season(t, small)
	w.k = w.open(quick)
	settled := func(what string) {
		want := all(t, w.open(small))
		for range 600 {
			if all(t, w.k) == want {
				return
			}
			time.Sleep(20 * time.Millisecond)
		}
		t.Fatalf("%s: the whole answer never came:\n%s", what, firstDifference(all(t, w.k), want))
	}
	settled("at the start")
	w.note("2026-06-05T07:30:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.38})
	if v := w.vessel("one"); !v.Now.Known {
		t.Errorf("the quick answer knows nothing: %+v", v)
	}
	w.note("2026-06-04T07:30:00Z", "one", "secchi", body{"secchi_cm": 2.5})
	w.note("2026-06-04T07:40:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": 0.36})
	settled("after two pairs")
}

// Photometer alike.
func TestOwnPhotometer(t *testing.T) {
	w := season(t, small)
	for i, x := range []float64{0.30, 0.40, 0.52} {
		day := fmt.Sprintf("2026-06-0%dT", 2+i)
		w.note(day+"10:00:00Z", "one", "optical_density", body{"od_750": math.Round(x/0.8*1000) / 1000})
		w.note(day+"10:00:00Z", "one", "dry_weight", body{"dry_weight_g_per_l": x})
	}
	c := w.calibration()
	if c.OD.Used != 3 || c.OD.Constant.Mid < 0.65 || c.OD.Constant.Mid > 0.8 {
		t.Errorf("three pairs of 0.8 g/L a unit, begun at 0.5, give %+v", c.OD)
	}
	w.fresh("optical density")
}
