package keeper_test

import (
	"context"
	"math"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/keeper"
)

func (w *world) wrong(vessel string, signs ...string) keeper.Diagnosis {
	w.t.Helper()
	seen := diagnose.Seen{Signs: map[string]bool{}}
	for _, s := range signs {
		seen.Signs[s] = true
	}
	d, err := w.k.Diagnose(context.Background(), vessel, seen, time.Time{})
	if err != nil {
		w.t.Fatal(err)
	}
	return d
}

func chance(d keeper.Diagnosis, cause string) float64 {
	for _, c := range d.Finding.Causes {
		if c.ID == cause {
			return c.Chance
		}
	}
	return math.NaN()
}

// The record has its say: the same sign leads elsewhere after urea, after a
// stopped pump, after a harvest that took too much.
func TestRecordHasItsSay(t *testing.T) {
	at := "2026-06-06T07:40:00Z"
	plain := season(t, small)
	was := plain.wrong("one", "yellow")
	// The medium holds 2 g/L of potassium nitrate, which carries 2 · 0.1385/0.1 =
	// 2.8 g/L of growth, less what grew: arithmetic.
	// and all of it in what has not evaporated.
	volume := plain.vessel("one").Now.Bands[keeper.VolumeL]
	if n, most := was.Facts["nitrogen_carries_g_per_l"], 2.77*1080/volume.Low; n.Mid < most-0.8 || n.High > most+0.2 {
		t.Errorf("nitrogen carries %v g/L, want somewhat less than %.2f", n, most)
	}
	if x := was.Facts["medium_age_d"].Mid; math.Abs(x-4.945) > 0.05 { // 1 June 09:00 to 6 June 07:44
		t.Errorf("the medium is %.2f days old", x)
	}
	if x := was.Facts["taken_share_pct"].Mid; x != 0 {
		t.Errorf("%.1f %% were taken, and nothing was", x)
	}

	w := season(t, small)
	w.note("2026-06-04T07:40:00Z", "one", "fed", body{"salts_g": body{"CO(NH2)2": 300}})
	d := w.wrong("one", "yellow")
	// 300 g in the low end of the volume: arithmetic.
	if x, want := d.Facts["urea_given_mg_per_l"].Mid, 300e3/w.vessel("one").Now.Bands[keeper.VolumeL].Low; math.Abs(x-want) > 1e-6*want {
		t.Errorf("urea given is %.1f mg/L, want %.1f", x, want)
	}
	if a, b := chance(was, "ammonia"), chance(d, "ammonia"); b < 3*a {
		t.Errorf("after 300 g of urea ammonia goes from %.3f to %.3f", a, b)
	}

	w = season(t, small)
	w.note("2026-06-05T21:40:00Z", "one", "event", body{"event": "power_cut"})
	d = w.wrong("one", "floating_skin")
	if x := d.Facts["still_h"].Mid; math.Abs(x-10.07) > 0.1 || d.Finding.Causes[0].ID != "unstirred" {
		t.Errorf("still for %.2f h, %s leads", x, d.Finding.Causes[0].ID)
	}

	w = season(t, small)
	w.note(at, "one", "harvested", body{"volume_l": 700})
	d = w.wrong("one", "thinner")
	if x, want := d.Facts["taken_share_pct"].Mid, 100*700/w.vessel("one").Now.Bands[keeper.VolumeL].Mid; math.Abs(x-want) > 1e-6*want {
		t.Errorf("%.1f %% was taken, want %.1f", x, want)
	}
	w.note("2026-06-06T07:41:00Z", "one", "topped_up", body{"with": "medium", "volume_l": 100, "medium": soda})
	w.note("2026-06-06T07:41:00Z", "one", "topped_up", body{"with": "water", "volume_l": 100})
	if x, want := w.wrong("one").Facts["taken_share_pct"].Mid, 100*800/w.vessel("one").Now.Bands[keeper.VolumeL].Mid; math.Abs(x-want) > 1e-6*want {
		t.Errorf("after 100 L of medium and as much water %.1f %% count, want %.1f", x, want)
	}
	if a, b := chance(plain.wrong("one", "thinner"), "thinned"), chance(d, "thinned"); b < 2*a {
		t.Errorf("after a harvest of 700 L 'thinned' goes from %.3f to %.3f", a, b)
	}
}

// What the journal holds of the last day is taken as told; what it holds from
// before is not.
func TestNotedSigns(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-04T07:00:00Z", "one", "colour", body{"colour": "brown"})
	w.note("2026-06-06T06:00:00Z", "one", "smell", body{"smell": "grassy"})
	w.note("2026-06-06T06:10:00Z", "one", "foam", body{"foam": "much"})
	w.note("2026-06-06T06:20:00Z", "one", "microscope", body{"filaments_seen": 200, "straight_seen": 50, "foreign_seen": 0})
	got, err := w.k.NotedSigns(context.Background(), "one", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for sign, want := range map[string]bool{"foam": true, "straight_filaments": true, "foreign_cells": false, "smell_ammonia": false, "smell_rotten": false, "smell_earthy": false} {
		if is, told := got[sign]; !told || is != want {
			t.Errorf("%s is %v, told %v; want %v", sign, is, told, want)
		}
	}
	if _, told := got["brown"]; told || len(got) != 6 {
		t.Errorf("the journal tells %v", got)
	}
	// A word of rot begins a hold, and a hold forbids eating.
	w.note("2026-06-06T07:00:00Z", "one", "smell", body{"smell": "rotten"})
	if d := w.wrong("one"); d.Finding.Eat != diagnose.EatNo || !slices.Contains(d.Finding.EatFor, "held") {
		t.Errorf("on hold: %s for %v", d.Finding.Eat, d.Finding.EatFor)
	}
}

// Starting again counts on the living reserve, and on none that is on hold.
func TestReserveOfADiagnosis(t *testing.T) {
	w := season(t, small)
	if a := w.wrong("one").Finding.Again; a.Possible || a.Why != "no_reserve" {
		t.Errorf("without a reserve: %+v", a)
	}
	w.note("2026-06-02T08:00:00Z", "shelf", "inoculated", body{"volume_l": 9, "density_g_per_l": 0.5, "medium": soda})
	a := w.wrong("one").Finding.Again
	// At least the grams of the beginning, all but a fifth of them; up to 0.2 g/L
	// in 1080 L under half shade, at 10 to 20 % a day.
	if !a.Possible || a.Vessel != "shelf" || a.Grams < 0.8*9*0.4 || a.Grams > 0.8*9*1.2 || a.Looked {
		t.Errorf("%+v", a)
	}
	goal := 0.2 * 1080
	if want := math.Log(goal/a.Grams) / 0.15; math.Abs(a.Likely-want) > 0.05 {
		t.Errorf("%.2f days, want %.2f", a.Likely, want)
	}
	w.note("2026-06-06T07:00:00Z", "shelf", "microscope", body{"filaments_seen": 300, "foreign_seen": 3})
	if a := w.wrong("one").Finding.Again; a.Possible {
		t.Errorf("a reserve with foreign cells is counted on: %+v", a)
	}
}

// The sheet: reserves are tended first, the one apart last, what got culture
// from it late; looks count from the hold on, five days apart, and begin anew
// after a bad one.
func TestApart(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-02T08:00:00Z", "shelf", "inoculated", body{"volume_l": 9, "density_g_per_l": 0.5, "medium": soda})
	w.note("2026-06-03T08:00:00Z", "one", "split", body{"to": "two", "volume_l": 200})
	w.note("2026-06-04T08:00:00Z", "one", "microscope", body{"filaments_seen": 300, "foreign_seen": 3})
	looks := func(days ...string) keeper.Apart {
		for _, d := range days {
			w.note(d, "one", "microscope", body{"filaments_seen": 300, "foreign_seen": 0})
		}
		a, err := w.k.Apart(context.Background(), "one", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	a := looks()
	var order []string
	for _, v := range a.Round {
		order = append(order, v.ID)
	}
	if !slices.Equal(order, []string{"shelf", "two", "one"}) || len(a.Children) != 1 || a.Children[0].ID != "two" || len(a.Holds) != 1 {
		t.Errorf("round %v, children %v, holds %v", order, a.Children, a.Holds)
	}
	if want := 3*2 + 2*(3+2)*0.3; math.Abs(a.WallM2-want) > 1e-9 {
		t.Errorf("%g m² of floor and walls, want %g", a.WallM2, want)
	}
	w.set("2026-07-06T07:44:00Z")
	if a = looks("2026-06-10T08:00:00Z", "2026-06-12T08:00:00Z"); len(a.Looks) != 1 {
		t.Errorf("two looks within five days count %d times", len(a.Looks))
	}
	if a = looks("2026-06-15T08:00:00Z"); len(a.Looks) != diagnose.CleanLooks {
		t.Errorf("%d clean looks, want %d", len(a.Looks), diagnose.CleanLooks)
	}
	w.note("2026-06-20T08:00:00Z", "one", "microscope", body{"filaments_seen": 300, "foreign_seen": 1})
	if a = looks(); len(a.Looks) != 0 {
		t.Errorf("after a bad look %d count", len(a.Looks))
	}
}

func TestDiagnoseBadInput(t *testing.T) {
	w := season(t, small)
	ctx := context.Background()
	if _, err := w.k.Diagnose(ctx, "nowhere", diagnose.Seen{}, time.Time{}); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("an unknown vessel: %v", err)
	}
	if _, err := w.k.Diagnose(ctx, "one", diagnose.Seen{Signs: map[string]bool{"purple": true}}, time.Time{}); farm.CodeOf(err) != farm.Invalid {
		t.Errorf("an unknown sign: %v", err)
	}
	if _, err := w.k.Apart(ctx, "nowhere", time.Time{}); farm.CodeOf(err) != farm.NotFound {
		t.Errorf("an unknown vessel: %v", err)
	}
	// Nothing was ever put in: the eye alone is heard.
	if d := w.wrong("two", "milky"); len(d.Facts) != 0 || d.Finding.Eat != diagnose.EatNo {
		t.Errorf("an empty vessel: %v, %s", d.Facts, d.Finding.Eat)
	}
}
