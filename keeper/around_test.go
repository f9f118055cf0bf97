package keeper_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
)

// item is the first item of a vessel with that act, nil if there is none.
func (w *world) item(vessel, act string) *itemOf {
	w.t.Helper()
	for _, v := range w.today().Vessels {
		for i := range v.Items {
			if v.Spec.ID == vessel && v.Items[i].Act == act {
				return &v.Items[i]
			}
		}
	}
	return nil
}

// What the journal holds reaches the rules: each change to one season brings
// the item that it should, which is not there without it.
func TestWhatTheListKnows(t *testing.T) {
	forecast := func(w *world, column string, from, to int, value float64) {
		b := hours("forecast", "2026-06-06T07:00:00Z", 72, 21)
		cols := b["columns"].(body)
		rain := make([]float64, 72)
		cols["rain_mm"] = rain
		for i := from; i < to; i++ {
			cols[column].([]float64)[i] = value
		}
		e := w.entry("2026-06-06T07:30:00Z", "", "weather", b)
		e.Site = "rock"
		w.write(e)
	}
	cases := []struct {
		name    string
		change  func(w *world)
		vessel  string
		act     string
		because string
	}{
		{"a cloudburst to come", func(w *world) { forecast(w, "rain_mm", 20, 26, 25) }, "one", "draw_off", "reason.rain.before"},
		{"frost to come", func(w *world) { forecast(w, "t_air_c", 18, 24, -3) }, "one", "cover", "reason.frost.cover"},
		{"salts gone with the water", func(w *world) {
			w.note("2026-06-03T07:12:00Z", "one", "conductivity", body{"conductivity_ms_per_cm": 20})
			w.note("2026-06-06T07:20:00Z", "one", "level", body{"level_cm": 12.6})
			w.note("2026-06-06T07:21:00Z", "one", "conductivity", body{"conductivity_ms_per_cm": 20.5})
		}, "one", "repair", "reason.leak.salts"},
		{"the scale is overdue", func(w *world) {
			w.note("2026-06-01T10:00:00Z", "", "instrument", body{"id": "scale", "name": "Scale", "every_days": 90, "last_check": "2026-01-10", "make": "scale"})
		}, "one", "calibrate", "reason.calibrate.due"},
		{"days on which nobody is there", func(w *world) {
			w.note("2026-06-06T07:30:00Z", "", "setting", body{"key": "plan_away", "value": "2026-06-07 2026-06-08 2026-06-09 2026-06-10"})
		}, "one", "prepare", "reason.leave.before"},
		{"silence", func(w *world) { w.set("2026-06-13T07:44:00Z") }, "one", "visit", "reason.silence.visit"},
		{"a culture from elsewhere", func(w *world) {
			w.note("2026-06-05T09:00:00Z", "two", "inoculated", body{"volume_l": 700, "density_g_per_l": 0.3, "from": "outside", "medium": soda})
		}, "two", "quarantine", "reason.quarantine.outside"},
		{"a farm without a reserve", func(w *world) {}, "one", "refresh_reserve", "reason.reserve.none"},
		{"soda that runs out", func(w *world) {
			w.note("2026-06-01T08:30:00Z", "", "supply", body{"id": "soda-1", "salt": "NaHCO3", "mass_g": 900})
			w.note("2026-06-04T08:30:00Z", "one", "fed", body{"salts_g": body{"NaHCO3": 700}})
		}, "one", "buy", "reason.buy.runsout"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			w := season(t, small)
			if c.because != "reason.reserve.none" {
				if it := w.item(c.vessel, c.act); it != nil && it.Reason.Key == c.because {
					t.Fatalf("%s because %s stands there before", c.act, c.because)
				}
			}
			c.change(w)
			it := w.item(c.vessel, c.act)
			if it == nil {
				t.Fatalf("no %s among %v", c.act, w.acts(c.vessel))
			}
			if it.Reason.Key != c.because {
				t.Errorf("%s because %s, want %s", c.act, it.Reason.Key, c.because)
			}
		})
	}
}

// The same fall of the level with all salts left behind is the sun's: it asks
// for water and for no repair.
func TestSunOrLeak(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-03T07:12:00Z", "one", "conductivity", body{"conductivity_ms_per_cm": 20})
	w.note("2026-06-06T07:20:00Z", "one", "level", body{"level_cm": 15.4})
	w.note("2026-06-06T07:21:00Z", "one", "conductivity", body{"conductivity_ms_per_cm": 22.9}) // 20 × 17.6/15.4
	if it := w.item("one", "repair"); it != nil {
		t.Errorf("repair because %s %v although all salts are there", it.Reason.Key, it.Reason.Args)
	}
	if w.item("one", "top_up_water") == nil {
		t.Errorf("no water for what the sun took: %v", w.acts("one"))
	}
}

// Property 9 of the day list: the order in which entries come in from phones
// that were out of reach does not change what it says.
func TestOrderOfArrival(t *testing.T) {
	w := season(t, small)
	notes := []farm.Entry{
		w.entry("2026-06-05T18:00:00Z", "one", "level", body{"level_cm": 16.2}),
		w.entry("2026-06-05T18:10:00Z", "one", "conductivity", body{"conductivity_ms_per_cm": 19}),
		w.entry("2026-06-06T06:00:00Z", "one", "harvested", body{"volume_l": 200}),
		w.entry("2026-06-06T06:30:00Z", "one", "smell", body{"smell": "grassy"}),
		w.entry("2026-06-06T07:00:00Z", "one", "ph", body{"ph": 9.9, "temp_c": 20}),
	}
	said := func(order []farm.Entry) []string {
		v := season(t, small)
		for _, e := range order {
			v.write(e)
			v.today() // each is read before the next comes
		}
		items, err := v.k.Items(context.Background(), time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, it := range items {
			out = append(out, it.ID+" "+it.Reason.Key)
		}
		return out
	}
	forward := said(notes)
	back := slices.Clone(notes)
	slices.Reverse(back)
	if backward := said(back); !slices.Equal(forward, backward) {
		t.Errorf("in order %v, backward %v", forward, backward)
	}
	mixed := []farm.Entry{notes[2], notes[0], notes[4], notes[1], notes[3]}
	if got := said(mixed); !slices.Equal(forward, got) {
		t.Errorf("in order %v, mixed %v", forward, got)
	}
}
