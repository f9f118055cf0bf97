package keeper_test

import (
	"context"
	"runtime"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

// fresh fails unless the keeper says what one says that reads the journal now
// for the first time: however entries came in, the answer is the journal's.
func (w *world) fresh(what string) {
	w.t.Helper()
	if a, b := all(w.t, w.k), all(w.t, w.open(w.opt)); a != b {
		w.t.Errorf("%s: a keeper that reads the journal anew says otherwise:\n%s", what, firstDifference(a, b))
	}
}

// The same journal gives the same bytes, on one core and on all.
func TestSameJournalSameBytes(t *testing.T) {
	w := season(t, small)
	one := all(t, w.k)
	was := runtime.GOMAXPROCS(1)
	two := all(t, w.open(small))
	runtime.GOMAXPROCS(was)
	if one != two {
		t.Errorf("on one core it says otherwise than on %d:\n%s", was, firstDifference(one, two))
	}
	other := small
	other.Seed++
	if all(t, w.open(other)) == one {
		t.Error("another seed says the same: the seed is not used")
	}
}

// Entry by entry with a question after each, the clock running on, or all at
// once: the same.
func TestEntryByEntry(t *testing.T) {
	w := newWorld(t, "2026-06-01T10:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.begin("2026-06-01T09:00:00Z")
	w.today()
	for _, s := range []struct {
		now, vessel, kind string
		body              body
	}{
		{"2026-06-02T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8}},
		{"2026-06-02T07:04:00Z", "one", "ph", body{"ph": 9.6, "temp_c": 21}},
		{"2026-06-03T07:11:00Z", "one", "level", body{"level_cm": 17.6}},
		{"2026-06-03T18:00:00Z", "one", "split", body{"to": "two", "volume_l": 300}},
		{"2026-06-04T07:20:00Z", "two", "topped_up", body{"with": "medium", "volume_l": 200, "medium": soda}},
		{"2026-06-05T07:20:00Z", "one", "secchi", body{"secchi_cm": 2.4}},
		{"2026-06-05T07:50:00Z", "one", "harvested", body{"volume_l": 200, "mass_g": 350}},
		{"2026-06-05T09:00:00Z", "one", "fed", body{"salts_g": body{"KNO3": 50}}},
	} {
		w.set(s.now)
		w.note(s.now, s.vessel, s.kind, s.body)
		w.today()
	}
	w.set("2026-06-06T07:44:00Z")
	w.fresh("entry by entry")
}

// What is noted late, or corrected, or taken back, is followed from then on.
func TestLateAndCorrected(t *testing.T) {
	w := season(t, small)
	first := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid

	harvest := w.note("2026-06-04T08:00:00Z", "one", "harvested", body{"volume_l": 500})
	late := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid
	if late > first*0.9 {
		t.Errorf("a harvest of 500 L noted two days late brings the density from %.3f to %.3f", first, late)
	}
	w.fresh("a late entry")

	less := w.entry("2026-06-04T08:00:00Z", "one", "harvested", body{"volume_l": 50})
	less.Corrects = harvest.ID
	less.NotedAt = moment(t, "2026-06-06T07:41:00Z")
	w.write(less)
	corrected := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid
	if corrected < late*1.05 || corrected > first*1.02 {
		t.Errorf("corrected to 50 L the density is %.3f; it was %.3f with 500 L and %.3f without", corrected, late, first)
	}
	w.fresh("a correction")

	undo := w.entry("2026-06-04T08:00:00Z", "one", "withdrawn", body{"reason": "it was the other pond"})
	undo.Corrects = less.ID
	undo.NotedAt = moment(t, "2026-06-06T07:42:00Z")
	w.write(undo)
	if back := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; !near(back, first, 1e-9) {
		t.Errorf("taken back the density is %.4f, it was %.4f before", back, first)
	}
	w.fresh("a withdrawal")
}

// Correcting what went into the first vessel reaches what descended from it.
func TestCorrectionReachesDescendants(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-04T08:00:00Z", "one", "split", body{"to": "two", "volume_l": 300})
	before := w.vessel("two").Now.Bands[keeper.DensityGPerL].Mid
	var start farm.Event
	w.k.Read(func(p *farm.Present) { start = p.Timeline("one", time.Time{}, time.Time{})[0] })
	e := w.entry("2026-06-01T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": body{"salts_g_per_l": body{"NaHCO3": 16, "KNO3": 2}}})
	e.Corrects = start.Entry.ID
	w.write(e)
	if after := w.vessel("two").Now.Bands[keeper.PH25C]; near(after.Mid, before, 1e-12) {
		t.Error("the descendant did not change")
	}
	w.fresh("a correction upstream")
}

// Descriptions that come after the first question, one by one as a form sends
// them: a new vessel is followed, one described anew stands so from then on, a
// recipe told late is what was poured.
func TestDescribedLater(t *testing.T) {
	w := season(t, small)
	w.today()
	w.note("2026-06-05T06:00:00Z", "", "vessel", body{
		"id": "tank", "place": "outdoors", "shape": body{"kind": "cylinder", "diameter_m": 1.5, "height_m": 0.5}, "stirring": body{"kind": "continuous"},
	})
	if v := w.vessel("tank"); v.State.Key != "state.empty" {
		t.Errorf("a new vessel is %s", v.State.Key)
	}
	w.note("2026-06-05T08:00:00Z", "tank", "mixed", body{"volume_l": 200, "medium": body{"recipe": "own"}})
	w.note("2026-06-05T09:00:00Z", "one", "split", body{"to": "tank", "volume_l": 200})
	if v := w.vessel("tank").Now.Bands[keeper.VolumeL]; !near(v.Mid, 400, 0.05) {
		t.Errorf("200 L of medium and 200 of culture are %v L", v)
	}
	w.fresh("a new vessel")

	thin := w.vessel("tank").Now.Bands[keeper.ConductivityM].Mid
	recipe := w.note("2026-06-05T05:00:00Z", "", "recipe", body{"id": "own", "use": "medium", "salts_g_per_l": body{"NaHCO3": 30, "NaCl": 20, "KNO3": 2}})
	if thick := w.vessel("tank").Now.Bands[keeper.ConductivityM].Mid; thick < 1.3*thin {
		t.Errorf("a recipe of 52 g/L told late brings %.1f mS/cm to %.1f", thin, thick)
	}
	w.fresh("a recipe told late")
	undo := w.entry("2026-06-05T05:00:00Z", "", "withdrawn", body{})
	undo.Corrects = recipe.ID
	w.write(undo)
	w.fresh("a recipe taken back")

	before := w.vessel("tank").Now.Bands[keeper.LevelCM].Mid
	w.note("2026-06-05T06:00:00Z", "", "vessel", body{
		"id": "tank", "place": "outdoors", "shape": body{"kind": "cylinder", "diameter_m": 2, "height_m": 0.5}, "stirring": body{"kind": "continuous"},
	})
	// The same litres on 2 m across instead of 1.5 stand lower by (1.5/2)².
	if after := w.vessel("tank").Now.Bands[keeper.LevelCM].Mid; !near(after, before*1.5*1.5/4, 0.05) {
		t.Errorf("in a wider tank the level goes from %.1f to %.1f cm", before, after)
	}
	w.fresh("a vessel described anew")
}

// A journal longer than the twins reach back: they begin with what was last
// said around then, and an entry before that changes nothing and breaks nothing.
func TestBeforeTheWindow(t *testing.T) {
	short := small
	short.Days = 2
	w := season(t, short)
	v := w.vessel("one")
	b := v.Now.Bands
	if !v.Now.Known || v.State.Key == "state.empty" {
		t.Fatalf("a pond that began before the window is not known: %+v", v)
	}
	// The disc read 2.4 cm a day ago, K = 1.2 (0.9 to 1.6) g cm/L.
	if x := b[keeper.DensityGPerL]; x.Mid < 0.9/2.4 || x.Mid > 1.6/2.4*1.2 {
		t.Errorf("density begun from the readings is %v", x)
	}
	if x := b[keeper.LevelCM].Mid; !near(x, 17.6, 0.06) {
		t.Errorf("level begun from the stick's 17.6 cm is %.1f", x)
	}
	w.note("2026-06-01T10:00:00Z", "one", "secchi", body{"secchi_cm": 3.0})
	w.fresh("an entry before the window")
	if acts := w.acts("one"); len(acts) == 0 {
		t.Error("no item at all for a pond with a long past")
	}
}

// The last level said before the window is where it begins, not the full mark.
func TestBeforeTheWindowLevel(t *testing.T) {
	short := small
	short.Days = 2
	w := newWorld(t, "2026-06-06T07:44:00Z", short)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-01T09:00:00Z", "one", "inoculated", body{"volume_l": 720, "density_g_per_l": 0.4, "medium": soda})
	w.note("2026-06-04T07:00:00Z", "one", "level", body{"level_cm": 11.8})
	// A day or two of evaporation takes off a centimetre at most.
	if x := w.vessel("one").Now.Bands[keeper.LevelCM]; x.Mid > 11.9 || x.Mid < 10.5 {
		t.Errorf("a pond read at 11.8 cm two days ago stands at %v", x)
	}
}

// What happened first acts first, whichever vessel it happened in: half of the
// second pond is harvested, and what is left of it goes into the first.
func TestOrderOfTime(t *testing.T) {
	w := newWorld(t, "2026-06-06T09:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-06T06:00:00Z", "two", "inoculated", body{"volume_l": 1000, "density_g_per_l": 0.8, "medium": soda})
	w.write(
		w.entry("2026-06-06T08:00:00Z", "two", "split", body{"to": "one", "volume_l": 300}),
		w.entry("2026-06-06T07:00:00Z", "two", "harvested", body{"volume_l": 500}),
	)
	// 0.8 g/L, half of it through the cloth: 0.4, and little grows in two hours.
	if x := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; !near(x, 0.4, 0.1) {
		t.Errorf("what came over after a harvest of half is %.2f g/L, want about 0.4", x)
	}
	// The same, told from the side of the vessel that took it, in a list.
	w.write(
		w.entry("2026-06-06T08:40:00Z", "two", "note", body{"text": "two at once"}),
		w.entry("2026-06-06T08:45:00Z", "one", "inoculated", body{"from": "two", "volume_l": 100}),
	)
	if v := w.vessel("two").Now.Bands[keeper.VolumeL].Mid; !near(v, 600, 0.02) {
		t.Errorf("1000 L less 300 and 100 are %.0f L", v)
	}
	w.fresh("after a transfer told by who took it")
}

// Asked for a moment that has passed, it says what was known then.
func TestAskedForThePast(t *testing.T) {
	w := newWorld(t, "2026-06-03T12:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.begin("2026-06-01T09:00:00Z")
	w.note("2026-06-02T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8})
	then := w.vessel("one").Now.Bands
	w.set("2026-06-06T07:44:00Z")
	w.note("2026-06-05T07:20:00Z", "one", "secchi", body{"secchi_cm": 2.4})
	w.today()
	v, err := w.k.Vessel(context.Background(), "one", moment(t, "2026-06-03T12:00:00Z"))
	if err != nil {
		t.Fatal(err)
	}
	for q, b := range then {
		if got := v.Now.Bands[q]; got != b {
			t.Errorf("%s was %v and is said to have been %v", q, b, got)
		}
	}
	w.fresh("after a look back")
}

// What was thrown away before the window does not stand up again, and what was
// set while a vessel stood empty is set.
func TestEmptiedBeforeTheWindow(t *testing.T) {
	short := small
	short.Days = 2
	w := season(t, short)
	w.note("2026-06-02T08:00:00Z", "one", "discarded", body{"all": true, "reason": "brown"})
	if v := w.vessel("one"); v.Now.Known || v.State.Key != "state.empty" {
		t.Errorf("a pond that was thrown away before the window is %s: %v", v.State.Key, v.Now.Bands)
	}
	w.fresh("thrown away before the window")

	dark, light := newWorld(t, "2026-06-06T07:44:00Z", small), newWorld(t, "2026-06-06T07:44:00Z", small)
	for i, w := range []*world{dark, light} {
		w.describe("2026-06-01T08:00:00Z", nil)
		w.note("2026-06-01T09:00:00Z", "one", "shaded", body{"shade_pct": []float64{90, 20}[i]})
		w.begin("2026-06-02T09:00:00Z")
	}
	a, b := dark.vessel("one").Now.Bands[keeper.DensityGPerL].Mid, light.vessel("one").Now.Bands[keeper.DensityGPerL].Mid
	if a >= b {
		t.Errorf("under 90 %% shade, set while it was empty, it is %.3f g/L, under 20 %% %.3f", a, b)
	}
}

// A change of shade, cover or stirring holds from when it was made: what was
// before was lived as it was described, in a run from the beginning and in one
// from the window on.
func TestSettingsHoldFromTheirTime(t *testing.T) {
	for _, days := range []int{0, 3} {
		opt := small
		opt.Days = days
		then, after := newWorld(t, "2026-06-04T12:00:00Z", opt), newWorld(t, "2026-06-04T12:00:00Z", opt)
		for _, w := range []*world{then, after} {
			w.describe("2026-05-30T08:00:00Z", nil) // half shaded, stirred, open
			w.begin("2026-05-31T09:00:00Z")
			w.note("2026-06-01T00:30:00Z", "one", "shaded", body{"shade_pct": 85})
			w.note("2026-06-03T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8})
		}
		after.write(
			after.entry("2026-06-04T12:00:01Z", "one", "shaded", body{"shade_pct": 0}),
			after.entry("2026-06-04T12:00:01Z", "one", "covered", body{"cover": "film", "vents": "shut"}),
			after.entry("2026-06-04T12:00:01Z", "one", "stirred", body{"stirring": "none"}),
		)
		after.set("2026-06-04T12:09:00Z")
		v, err := after.k.Vessel(context.Background(), "one", moment(t, "2026-06-04T12:00:00Z"))
		if err != nil {
			t.Fatal(err)
		}
		for q, b := range then.vessel("one").Now.Bands {
			if got := v.Now.Bands[q]; got != b {
				t.Errorf("%d days: with a change of shade, cover and stirring since, %s is said to have been %v, it was %v", days, q, got, b)
			}
		}
		after.fresh("after a change of settings")
	}
}

// One answer serves ten minutes, unless something is noted.
func TestTenMinutes(t *testing.T) {
	w := season(t, small)
	ask := func(now string) time.Time {
		w.set(now)
		f, err := w.k.Forecast(context.Background(), "one", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		return f.At
	}
	if a, b := ask("2026-06-06T07:41:00Z"), ask("2026-06-06T07:49:59Z"); !a.Equal(b) || !a.Equal(moment(t, "2026-06-06T07:40:00Z")) {
		t.Errorf("within ten minutes answers are of %s and %s", a, b)
	}
	if a := ask("2026-06-06T07:50:00Z"); !a.Equal(moment(t, "2026-06-06T07:50:00Z")) {
		t.Errorf("after ten minutes the answer is of %s", a)
	}
	w.note("2026-06-06T07:52:00Z", "one", "temperature", body{"temp_c": 21})
	if a := ask("2026-06-06T07:53:00Z"); a.Before(moment(t, "2026-06-06T07:52:00Z")) {
		t.Errorf("after a reading of 07:52 the answer is of %s", a)
	}
}

// The Azores move their clocks at midnight: in March the day begins at one, in
// October midnight comes twice (IANA time zone database, Atlantic/Azores).
func TestClocksThatChange(t *testing.T) {
	for _, c := range []struct{ start, now, day string }{
		{"2026-03-25T10:00:00Z", "2026-03-27T09:00:00Z", "2026-03-29"},
		{"2026-03-27T10:00:00Z", "2026-03-30T09:00:00Z", "2026-03-29"},
		{"2026-10-21T10:00:00Z", "2026-10-23T09:00:00Z", "2026-10-25"},
		{"2026-10-23T10:00:00Z", "2026-10-26T09:00:00Z", "2026-10-25"},
	} {
		w := newWorld(t, c.now, small)
		w.describe(c.start, nil)
		w.begin(c.start)
		w.today()
		f, err := w.k.Forecast(context.Background(), "one", time.Time{})
		if err != nil {
			t.Errorf("around %s: %v", c.day, err)
			continue
		}
		if len(f.Days) != 10 {
			t.Errorf("around %s: %d days ahead, want 10", c.day, len(f.Days))
		}
		for i := 1; i < len(f.Days); i++ {
			a, _ := time.Parse(time.DateOnly, f.Days[i-1].Date)
			b, _ := time.Parse(time.DateOnly, f.Days[i].Date)
			if b.Sub(a) != 24*time.Hour {
				t.Errorf("around %s: %s follows on %s", c.day, f.Days[i].Date, f.Days[i-1].Date)
			}
		}
		for _, d := range f.Days {
			// A whole day in the open swings; a day that was cut off does not.
			if d.TempMaxC.Mid-d.TempMinC.Mid < 1 {
				t.Errorf("around %s: water swings from %.1f to %.1f °C on %s: no whole day", c.day, d.TempMinC.Mid, d.TempMaxC.Mid, d.Date)
			}
		}
		for q, curve := range f.Past {
			if !slices.IsSortedFunc(curve.Times, func(a, b time.Time) int { return a.Compare(b) }) {
				t.Errorf("around %s: the past of %s runs backwards", c.day, q)
			}
		}
		w.fresh("around " + c.day)
	}
}
