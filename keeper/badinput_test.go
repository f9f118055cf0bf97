package keeper_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/words"
)

// explained fails unless a reading of an entry is doubted under key, says so in a
// sentence with all its words, and is a cross on the chart.
func (w *world) explained(e farm.Entry, vessel, key string) {
	w.t.Helper()
	w.vessel(vessel)
	why, doubted := w.k.Doubted(e.ID)
	if !doubted || why.Key != key {
		w.t.Errorf("%s of %s is doubted by %q (%t), want %q", e.Kind, e.At.Format(time.RFC3339), why.Key, doubted, key)
		return
	}
	if text, ok := words.New("en", words.Metric, time.UTC).Try(why.Key, why.Args); !ok || strings.Contains(text, "NaN") || strings.Contains(text, "Inf") {
		w.t.Errorf("%s is said %q", why.Key, text)
	}
	readings, _, err := w.k.History(context.Background(), vessel, time.Time{})
	if err != nil || !slices.ContainsFunc(readings, func(r keeper.Reading) bool { return r.EntryID == e.ID && r.Doubt == key }) {
		w.t.Errorf("%s is no cross on the chart (%v)", e.Kind, err)
	}
}

// Readings that come in any order are the same as in the order of time, told
// twice under one identifier they are one, and none is lost.
func TestReadingsOutOfOrder(t *testing.T) {
	in := newWorld(t, "2026-06-06T07:44:00Z", small)
	in.describe("2026-06-01T08:00:00Z", nil)
	entries := []farm.Entry{
		in.entry("2026-06-01T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": soda}),
		in.entry("2026-06-02T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8}),
		in.entry("2026-06-03T07:00:00Z", "one", "ph", body{"ph": 9.6, "temp_c": 21}),
		in.entry("2026-06-04T07:00:00Z", "one", "level", body{"level_cm": 17.6}),
		in.entry("2026-06-05T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.4}),
	}
	mixed := newWorld(t, "2026-06-06T07:44:00Z", small)
	mixed.describe("2026-06-01T08:00:00Z", nil)
	in.write(entries...)
	for _, i := range []int{0, 4, 2, 4, 1, 3, 2} { // two are sent twice
		mixed.write(entries[i])
		mixed.vessel("one")
	}
	if a, b := in.vessel("one").Now.Bands, mixed.vessel("one").Now.Bands; !sameBands(a, b) {
		t.Errorf("out of order the estimate is other:\n%v\n%v", a, b)
	}
	r, _, err := mixed.k.History(context.Background(), "one", time.Time{})
	if err != nil || len(r) != 5 { // pH and temperature stand in one entry
		t.Errorf("%d values on the charts (%v), want 5", len(r), err)
	}
}

func sameBands(a, b map[keeper.Quantity]num.Band) bool {
	for q, x := range a {
		y := b[q]
		if math.Abs(x.Mid-y.Mid)+math.Abs(x.Low-y.Low)+math.Abs(x.High-y.High) > 1e-9*math.Abs(x.Mid) {
			return false
		}
	}
	return len(a) == len(b)
}

// The same person telling the same value of the same vessel a moment later, by
// another tap, counts once and is shown with its reason; another person, another
// value, another hour count.
func TestToldTwice(t *testing.T) {
	once, twice := season(t, small), season(t, small)
	for _, w := range []*world{once, twice} {
		w.note("2026-06-06T07:30:00Z", "one", "secchi", body{"secchi_cm": 2.2})
		w.note("2026-06-06T07:40:00Z", "one", "note", body{"text": "the same moment"})
	}
	e := twice.note("2026-06-06T07:31:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	twice.explained(e, "one", "doubt.twice")
	if a, b := once.vessel("one").Now.Bands[keeper.DensityGPerL], twice.vessel("one").Now.Bands[keeper.DensityGPerL]; !near(b.Mid, a.Mid, 0.002) || b.High/b.Low < 0.98*a.High/a.Low {
		t.Errorf("told twice it is %v, told once %v", b, a)
	}
	if acts := twice.acts("one"); slices.Contains(acts, "check_instrument") {
		t.Errorf("a second tap points at the instrument: %v", acts)
	}
	other := twice.entry("2026-06-06T07:32:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	other.By = "somebody else"
	twice.write(other)
	later := twice.note("2026-06-06T07:37:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	for _, e := range []farm.Entry{other, later} {
		if why, doubted := twice.k.Doubted(e.ID); doubted {
			t.Errorf("a reading of its own is doubted: %v", why)
		}
	}
	twice.fresh("told twice")
}

// A reading of a vessel that the journal has empty, before anything came in or
// after all was thrown away, changes nothing, asks for nothing and says why.
func TestReadingOfAnEmptyVessel(t *testing.T) {
	w := season(t, small)
	before := w.note("2026-06-01T08:30:00Z", "one", "secchi", body{"secchi_cm": 2.8})
	never := w.note("2026-06-04T08:30:00Z", "two", "ph", body{"ph": 10.1})
	w.explained(before, "one", "doubt.empty")
	w.explained(never, "two", "doubt.empty")
	w.note("2026-06-06T06:00:00Z", "one", "discarded", body{"all": true, "reason": "brown"})
	after := w.note("2026-06-06T07:00:00Z", "one", "secchi", body{"secchi_cm": 3})
	w.explained(after, "one", "doubt.empty")
	for _, v := range w.today().Vessels {
		for _, it := range v.Items {
			t.Errorf("an empty vessel has work: %s %s", it.Act, it.Reason.Key)
		}
	}
	w.fresh("readings of empty vessels")
}

// Far in the past, before anything else of the farm, after the twin's reach and
// years ago: kept, shown, and the present stays as it was.
func TestFarInThePast(t *testing.T) {
	w := season(t, small)
	was := w.vessel("one").Now.Bands
	for _, at := range []string{"2019-02-28T23:59:59Z", "2026-01-03T07:00:00Z", "2026-05-20T07:00:00Z"} {
		e := w.note(at, "one", "secchi", body{"secchi_cm": 5})
		if e.ID == "" {
			t.Fatal("not taken")
		}
		got := w.vessel("one").Now.Bands
		if !near(got[keeper.DensityGPerL].Mid, was[keeper.DensityGPerL].Mid, 0.05) {
			t.Errorf("a disc of %s brings the density of today from %v to %v", at, was[keeper.DensityGPerL], got[keeper.DensityGPerL])
		}
		r, _, err := w.k.History(context.Background(), "one", time.Time{})
		if err != nil || !slices.ContainsFunc(r, func(x keeper.Reading) bool { return x.EntryID == e.ID }) {
			t.Errorf("a disc of %s is not shown (%v)", at, err)
		}
	}
	// Noted only now, a reading of two years ago says that no estimate reaches it.
	late := w.entry("2024-06-06T07:00:00Z", "one", "secchi", body{"secchi_cm": 5})
	late.NotedAt = moment(t, "2026-06-06T07:40:00Z")
	w.write(late)
	why, doubted := w.k.Doubted(late.ID)
	text, ok := words.New("en", words.Metric, time.UTC).Try(why.Key, why.Args)
	if !doubted || why.Key != "doubt.too_late" || !ok || !strings.Contains(text, "730 days") {
		t.Errorf("noted two years late it is said %q (%t)", text, doubted)
	}
	w.fresh("years ago")
}

// Two readings in the hour that a clock goes through twice, and one in the hour
// that is left out, are followed at their own moments.
func TestHourThatComesTwice(t *testing.T) {
	// Summer time of the Azores ends on 2026-10-25 at 01:00 UTC: 00:30 comes at
	// 00:30Z (+00:00) and again at 01:30Z (−01:00). IANA time zone database.
	w := newWorld(t, "2026-10-25T09:00:00Z", small)
	w.describe("2026-10-20T08:00:00Z", nil)
	w.note("2026-10-20T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": soda})
	first := w.note("2026-10-25T00:30:00Z", "one", "secchi", body{"secchi_cm": 3.1})
	second := w.note("2026-10-25T01:30:00Z", "one", "secchi", body{"secchi_cm": 3.1})
	r, _, err := w.k.History(context.Background(), "one", moment(t, "2026-10-24T00:00:00Z"))
	if err != nil || len(r) != 2 || r[0].EntryID != first.ID || r[1].EntryID != second.ID || r[1].At.Sub(r[0].At) != time.Hour {
		t.Errorf("the hour that comes twice is shown as %+v (%v)", r, err)
	}
	if r[0].At.Format("15:04 -07:00") != "00:30 +00:00" || r[1].At.Format("15:04 -07:00") != "00:30 -01:00" {
		t.Errorf("told %s and %s", r[0].At, r[1].At)
	}
	f, err := w.k.Forecast(context.Background(), "one", time.Time{})
	if err != nil || len(f.Days) != 10 || f.Days[0].Date != "2026-10-25" || f.Days[1].Date != "2026-10-26" {
		t.Errorf("days are %v (%v)", f.Days, err)
	}
	w.fresh("a day of 25 hours")
}

// A model that misses something says so on the page of its vessel: here a
// thermometer that is off by two and a bit of what both allow, to either side in
// turn, so that each reading is believed and all of them together are not.
func TestTroubleIsSaid(t *testing.T) {
	w := season(t, small)
	w.set("2026-06-03T06:00:00Z")
	if got := w.vessel("one").Troubles; slices.ContainsFunc(got, func(s keeper.Sentence) bool { return s.Key == "trouble.misfit" }) {
		t.Errorf("trouble before any: %v", got)
	}
	at := moment(t, "2026-06-03T06:00:00Z")
	for i := range 10 {
		at = at.Add(7 * time.Hour)
		now := at.Format(time.RFC3339)
		w.set(now)
		b := w.vessel("one").Now.Bands[keeper.TempC]
		off := 2.1 * math.Hypot((b.High-b.Low)/2.563, 0.6)
		if i%2 == 1 {
			off = -off
		}
		w.note(now, "one", "temperature", body{"temp_c": math.Round(10*(b.Mid+off)) / 10})
	}
	v := w.vessel("one")
	i := slices.IndexFunc(v.Troubles, func(s keeper.Sentence) bool {
		return s.Key == "trouble.misfit" && s.Args["quantity"] == "temperature"
	})
	if i < 0 {
		t.Fatalf("nothing is said of it: %v", v.Troubles)
	}
	text, ok := words.New("en", words.Metric, time.UTC).Try(v.Troubles[i].Key, v.Troubles[i].Args)
	if !ok || !strings.Contains(text, "temperature lie 2") {
		t.Errorf("it is said %q", text)
	}
	// A vessel without culture has none.
	if got := w.vessel("two").Troubles; len(got) != 0 {
		t.Errorf("an empty vessel is in trouble: %v", got)
	}
}
