package web

import (
	"testing"
	"time"

	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/words"
)

// Of several things that are due now, one flies the pennant.
func TestOnePennant(t *testing.T) {
	now := time.Date(2026, 5, 14, 8, 0, 0, 0, time.UTC)
	due := func(act string) advice.Item {
		return advice.Item{Act: act, Class: advice.Do, Urgency: advice.Now, ValidUntil: now.Add(2 * time.Hour), Reason: advice.Reason{Key: "reason.look.before"}}
	}
	p := todayPage{Frame: Frame{W: words.New("en", words.Metric, nil)}}
	p.fill(keeper.Today{At: now, Vessels: []keeper.TodayVessel{{Items: []advice.Item{due("shade"), due("vent")}}, {Items: []advice.Item{due("stir")}}}}, func() string { return "" })
	n := 0
	for _, v := range p.Vessels {
		for _, it := range v.Items {
			if it.Pennant {
				n++
			}
		}
	}
	if n != 1 || !p.Vessels[0].Items[0].Pennant {
		t.Errorf("%d pennants, want one, on the first", n)
	}
	if p.Lead != "Three things today, " || p.Due != "three before 10:00." {
		t.Errorf("lead %q %q", p.Lead, p.Due)
	}
}

// The amount belongs to the key of its unit, and only where it is the only one.
func TestAmountKey(t *testing.T) {
	for _, c := range []struct{ body, unit, want string }{
		{`{"volume_l":3}`, "L", "volume_l"}, {`{"salts_g":{"KNO3":3}}`, "g", "salts_g"}, {`{"salts_g":{"KNO3":3,"NaCl":1}}`, "g", ""},
		{`{"mass_g":3,"volume_l":2}`, "g", "mass_g"}, {`{"shade_pct":60}`, "%", "shade_pct"}, {`{}`, "L", ""}, {`[]`, "L", ""},
	} {
		if got := amountKey([]byte(c.body), c.unit); got != c.want {
			t.Errorf("amountKey(%s, %s) = %q, want %q", c.body, c.unit, got, c.want)
		}
	}
}

func FuzzPlainNumber(f *testing.F) {
	for _, s := range []string{"2.7", "2,7", "−3", "", "1e9", "0x1p3", "NaN", "1_000", "--1", "１"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		x, err := plainNumber("value", s)
		if err == nil && (x != x || x > 1e12 || x < -1e12) {
			t.Errorf("%q was read as %g", s, x)
		}
	})
}

func FuzzPoints(f *testing.F) {
	f.Add("5 120\n10 240")
	f.Add("5;120")
	f.Add("\x00 1\n1")
	f.Fuzz(func(t *testing.T, s string) {
		points, err := pointsOf(s)
		if err != nil {
			return
		}
		for _, p := range points {
			if len(p) != 2 {
				t.Errorf("%q gave a point of %d numbers", s, len(p))
			}
		}
	})
}
