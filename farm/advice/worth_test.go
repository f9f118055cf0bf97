package advice

import (
	"math"
	"testing"
	"time"

	"sodalake/science/num"
)

// waiting is an invented pond that is ready in some days.
func waiting(early, mid, late float64, worth ...Worth) (*Situation, *Vessel) {
	now := time.Date(2026, 6, 18, 7, 40, 0, 0, time.UTC)
	ahead := func(d float64) time.Time {
		if math.IsInf(d, 0) {
			return time.Time{}
		}
		return now.Add(time.Duration(d * 24 * float64(time.Hour)))
	}
	e := Event{ID: "r", At: now.Add(-40 * time.Hour)}
	s := &Situation{Now: now, Site: "here", Rules: DefaultRules(), Vessels: []Vessel{{
		ID: "pond", Name: "Pond", Started: true, Outdoors: true, ShadePct: 50, Food: true, AreaM2: 6, FullLevelCM: 18, Level: num.Band{Low: 17.8, Mid: 18, High: 18.2},
		Volume: num.Band{Low: 1060, Mid: 1080, High: 1100}, LevelKnown: e.At, Density: num.Band{Low: 0.36, Mid: 0.42, High: 0.49}, PH25: num.Band{Low: 9.9, Mid: 10, High: 10.1},
		Temp: num.Band{Low: 24, Mid: 25, High: 26}, Dawn: num.Band{Low: 20, Mid: 21, High: 22}, Noon: num.Band{Low: 28, Mid: 29, High: 30}, Hottest: num.Band{Low: 29, Mid: 30, High: 31},
		CarbonCarries: 1, NitrogenCarries: 1, LastSecchi: e, LastPH: e, LastLevel: e, LastLook: e, LookPassed: true, Begun: Event{ID: "b", At: now.AddDate(0, 0, -20)},
		Ready: Crossing{ahead(early), ahead(mid), ahead(late)}, Worth: worth,
	}}}
	return s, &s.Vessels[0]
}

func TestWorthReading(t *testing.T) {
	never := math.Inf(1)
	fresh := Event{ID: "r", At: time.Date(2026, 6, 18, 6, 0, 0, 0, time.UTC)}
	old := Event{ID: "r", At: time.Date(2026, 6, 16, 6, 0, 0, 0, time.UTC)}
	for _, c := range []struct {
		name             string
		early, mid, late float64
		worth            []Worth
		kind, key        string
		width, after     float64
	}{
		// 3 days less 60 % is 1.2: by hand, as are the others.
		{"a day that one reading settles", 2, 3.5, 5, []Worth{{"secchi", 0.6, old}}, "secchi", "reason.read.worth", 3, 1},
		{"the most useful first", 2, 3.5, 7, []Worth{{"dry_weight", 0.6, old}, {"secchi", 0.3, old}}, "dry_weight", "reason.read.worth", 5, 2},
		{"what was read this morning is not asked again", 2, 3.5, 7, []Worth{{"secchi", 0.6, fresh}, {"ph", 0.3, old}}, "ph", "reason.read.worth", 5, 4},
		{"too little", 2, 3.5, 7, []Worth{{"secchi", 0.1, old}}, "", "", 0, 0},
		{"a day more or less", 2, 2.5, 3.2, []Worth{{"secchi", 0.9, old}}, "", "", 0, 0},
		{"open at the far end", 4, 7, never, []Worth{{"secchi", 0.5, old}}, "secchi", "reason.read.worth_open", 0, 0},
		{"not within the horizon", 8, never, never, []Worth{{"secchi", 0.5, old}}, "", "", 0, 0},
	} {
		s, v := waiting(c.early, c.mid, c.late, c.worth...)
		it := worthReading(s, v)
		if it == nil {
			if c.kind != "" {
				t.Errorf("%s: nothing is asked for, want %s", c.name, c.kind)
			}
			continue
		}
		if it.Record.Kind != c.kind || it.Reason.Key != c.key {
			t.Errorf("%s: %s by %s, want %q by %q", c.name, it.Record.Kind, it.Reason.Key, c.kind, c.key)
		}
		if c.width > 0 && (it.Reason.Args["width_d"] != c.width || it.Reason.Args["after_d"] != c.after) {
			t.Errorf("%s: from %v to %v days, want %g to %g", c.name, it.Reason.Args["width_d"], it.Reason.Args["after_d"], c.width, c.after)
		}
	}
	// Ready: between (1 − 0.2/0.3) and half of 1080 L, the floor under shade being
	// 0.2 g/L: 360 to 540 L; less half of the band leaves 90 L.
	s, v := waiting(0, 0, 0, Worth{"secchi", 0.5, old})
	v.ChanceNow, v.Density = 0.7, num.Band{Low: 0.3, Mid: 0.52, High: 0.8}
	it := worthReading(s, v)
	if it == nil || it.Reason.Key != "reason.read.worth_amount" || it.Reason.Args["width_l"] != 180.0 || it.Reason.Args["after_l"] != 90.0 {
		t.Errorf("ready pond: %+v, want a band of 180 L narrowed to 90", it)
	}
}
