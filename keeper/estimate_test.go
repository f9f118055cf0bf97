package keeper_test

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

func width(v keeper.Vessel, q keeper.Quantity) float64 { b := v.Now.Bands[q]; return b.High / b.Low }

func near(x, want, relative float64) bool { return math.Abs(x-want) <= relative*math.Abs(want) }

// A reading that was noted a moment ago is in the answer, and narrows it. Nobody
// said how dense the culture was that came in, so the first disc tells most.
func TestReadingNarrowsAtOnce(t *testing.T) {
	w := newWorld(t, "2026-06-06T07:44:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-05T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "medium": soda})
	w.note("2026-06-06T07:43:00Z", "one", "note", body{"text": "as it was"})
	before := w.vessel("one")
	w.note("2026-06-06T07:43:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	after := w.vessel("one")
	if a, b := width(before, keeper.DensityGPerL), width(after, keeper.DensityGPerL); b > 0.8*a {
		t.Errorf("the first disc reading brings high over low of the density from %.3f to %.3f", a, b)
	}
	// The disc's constant is 0.9 to 1.6 g cm/L, common practice.
	if x := after.Now.Bands[keeper.DensityGPerL]; x.Mid < 0.9/2.2 || x.Mid > 1.6/2.2 {
		t.Errorf("a disc of 2.2 cm is a density of %v g/L", x)
	}
	if after.Last == nil || !after.Last.At.Equal(moment(t, "2026-06-06T07:43:00Z")) {
		t.Errorf("last reading is %+v, want the one of 07:43", after.Last)
	}
}

// A harvest of h litres out of V, with the filtrate poured back, leaves
// X(1 - h/V): the balance of dry matter, whatever grows.
func TestHarvestLowersTheEstimate(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-06T07:42:00Z", "one", "note", body{"text": "as it was"}) // the same moment before and after
	before := w.vessel("one").Now.Bands
	w.note("2026-06-06T07:42:00Z", "one", "harvested", body{"volume_l": 400.0})
	after := w.vessel("one").Now.Bands
	x, v := before[keeper.DensityGPerL].Mid, before[keeper.VolumeL].Mid
	if got, want := after[keeper.DensityGPerL].Mid, x*(1-400/v); !near(got, want, 0.03) {
		t.Errorf("400 L of %.0f through the cloth bring %.3f g/L to %.3f, want %.3f (balance)", v, x, got, want)
	}
	// The cake holds water: four grams a gram of dry matter, common practice.
	if got, want := after[keeper.VolumeL].Mid, v-400*x*4/1000; !near(got, want, 0.002) {
		t.Errorf("volume after the harvest is %.1f L, want %.1f (cake takes its water)", got, want)
	}
	if change := w.vessel("one").Change; len(change) < 2 || change[0].Key != "change.thinner" || change[1].Key != "change.harvested" || change[1].Args["volume_l"] != 400.0 {
		t.Errorf("change since yesterday is %v, want thinner, after 400 L over the cloth", change)
	}
}

// A reading that cannot be leaves every band where it was, is shown with its
// doubt, and is asked for again.
func TestDoubtedReadingMovesNothing(t *testing.T) {
	w := season(t, small)
	silent := season(t, small)
	at := "2026-06-06T07:42:00Z"
	silent.note(at, "one", "note", body{"text": "the same moment, nothing read"})
	bad := w.note(at, "one", "ph", body{"ph": 7.14})
	v, s := w.vessel("one"), silent.vessel("one")
	if !reflect.DeepEqual(v.Now.Bands, s.Now.Bands) {
		t.Errorf("a pH of 7.14 moves the estimate:\n%v\n%v", v.Now.Bands, s.Now.Bands)
	}
	readings, _, err := w.k.History(context.Background(), "one", moment(t, at))
	if err != nil || len(readings) != 1 || readings[0].Doubt == "" {
		t.Errorf("history says %+v (%v), want the reading with its doubt", readings, err)
	}
	if why, doubted := w.k.Doubted(bad.ID); !doubted || why.Key != "doubt.unlike" {
		t.Errorf("Doubted says %v, %t; want doubt.unlike", why, doubted)
	}
	items := w.today().Vessels[0].Items
	i := slices.IndexFunc(items, func(it itemOf) bool { return it.Act == "take_reading" && it.Class == "doubt" })
	if i < 0 || items[i].Reason.Key != "reason.doubt.ph" || items[i].Record.Kind != "ph" {
		t.Errorf("the day list does not ask for the pH again: %v", w.acts("one"))
	}
	// Two that agree with each other: a meter fails the same way twice, a stick
	// does not.
	w.note("2026-06-06T07:43:00Z", "one", "ph", body{"ph": 7.15})
	if got := w.vessel("one").Now.Bands[keeper.PH25C].Mid; !near(got, s.Now.Bands[keeper.PH25C].Mid, 0.005) {
		t.Errorf("two wrong pH move the estimate to %.2f", got)
	}
	if acts := w.acts("one"); !slices.Contains(acts, "check_instrument") {
		t.Errorf("two wrong pH in a row do not point at the meter: %v", acts)
	}
}

// A value that its own maker doubts is kept and not used.
func TestFlaggedReadingMovesNothing(t *testing.T) {
	at := "2026-06-06T07:42:00Z"
	silent, w := season(t, small), season(t, small)
	silent.note(at, "one", "note", body{"text": "the same moment, nothing read"})
	w.note(at, "one", "secchi", body{"secchi_cm": 2.9, "flags": []string{"doubtful"}})
	v, s := w.vessel("one"), silent.vessel("one")
	if !reflect.DeepEqual(v.Now.Bands, s.Now.Bands) {
		t.Errorf("a flagged disc reading moves the estimate:\n%v\n%v", v.Now.Bands, s.Now.Bands)
	}
}

func TestTwoDiscsAgainstTheTwin(t *testing.T) {
	w := season(t, small)
	first := w.note("2026-06-06T07:30:00Z", "one", "secchi", body{"secchi_cm": 12})
	if x := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; x < 0.3 {
		t.Errorf("one disc reading far off moves the density to %.2f g/L", x)
	}
	if _, doubted := w.k.Doubted(first.ID); !doubted {
		t.Error("one disc reading far off is believed")
	}
	w.note("2026-06-06T07:42:00Z", "one", "secchi", body{"secchi_cm": 12.2})
	// The disc's constant is 1.2 g cm/L, common practice of 0.9 to 1.6.
	if x := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; x < 0.9/12.2*0.8 || x > 1.6/12.2*1.25 {
		t.Errorf("two disc readings of 12 cm leave the density at %.2f g/L, want about 0.1", x)
	}
}

// A hold stands until a person ends it, bars the harvest, and goes with the
// culture.
func TestHoldBarsTheHarvest(t *testing.T) {
	w := newWorld(t, "2026-06-06T09:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-05T07:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.9, "medium": soda})
	if acts := w.acts("one"); !slices.Contains(acts, "harvest") || !slices.Contains(acts, "look") {
		t.Fatalf("a pond of 0.9 g/L is not to be harvested after a look: %v", acts)
	}
	smell := w.note("2026-06-06T08:00:00Z", "one", "smell", body{"smell": "rotten"})
	w.note("2026-06-06T08:10:00Z", "one", "split", body{"to": "two", "volume_l": 300})
	w.note("2026-06-06T08:20:00Z", "one", "microscope", body{"filaments_seen": 300, "foreign_seen": 0})
	for _, id := range []string{"one", "two"} {
		acts, v := w.acts(id), w.vessel(id)
		if slices.Contains(acts, "harvest") || !slices.Contains(acts, "hold_harvest") || !slices.Equal(v.Holds, []string{"hold.smell"}) || v.State.Key != "state.held" {
			t.Errorf("%s: a smell of rot leads to %v, holds %v, %s; want the harvest held on both", id, acts, v.Holds, v.State.Key)
		}
	}
	w.note("2026-06-06T08:30:00Z", "one", "smell", body{"smell": "none"})
	w.note("2026-06-06T08:40:00Z", "one", "released", body{"hold": smell.ID, "reason": "a dead bird was taken out, water tested"})
	if acts := w.acts("one"); !slices.Contains(acts, "harvest") || slices.Contains(acts, "hold_harvest") {
		t.Errorf("after a person ended the hold: %v, want the harvest back", acts)
	}
	if v := w.vessel("two"); len(v.Holds) != 1 {
		t.Errorf("the hold on the second vessel ended with the first: %v", v.Holds)
	}
}

// Urea by the handful: what stands in the water stops feeding before anybody
// smells it.
func TestUreaStopsFeeding(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-06T06:30:00Z", "one", "fed", body{"salts_g": body{"CO(NH2)2": 300}})
	if acts := w.acts("one"); !slices.Contains(acts, "stop_feeding") {
		t.Errorf("300 g of urea in 1080 L, five times the standing limit of 60 mg/L, lead to %v", acts)
	}
}

// Culture that is moved arrives as it left, member by member.
func TestTransfer(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-06T07:41:00Z", "one", "note", body{"text": "as it was"})
	before := w.vessel("one").Now.Bands
	move := w.note("2026-06-06T07:41:00Z", "one", "split", body{"to": "two", "volume_l": 300.0})
	one, two := w.vessel("one"), w.vessel("two")
	for _, q := range []keeper.Quantity{keeper.DensityGPerL, keeper.PH25C} {
		a, b := one.Now.Bands[q], two.Now.Bands[q]
		// The volume of a kilogram of water is solved anew where it arrives.
		if !near(a.Low, b.Low, 1e-4) || !near(a.Mid, b.Mid, 1e-4) || !near(a.High, b.High, 1e-4) {
			t.Errorf("%s is %v where it left and %v where it arrived", q, a, b)
		}
	}
	if got := two.Now.Bands[keeper.VolumeL]; !near(got.Mid, 300, 1e-3) {
		t.Errorf("%v L arrived of 300", got)
	}
	if got, want := one.Now.Bands[keeper.VolumeL].Mid, before[keeper.VolumeL].Mid-300; !near(got, want, 1e-3) {
		t.Errorf("%.1f L stayed, want %.1f", got, want)
	}
	for id, way := range map[string]string{"one": "out", "two": "in"} {
		_, marks, err := w.k.History(context.Background(), id, moment(t, "2026-06-06T07:00:00Z"))
		if err != nil || len(marks) != 1 || marks[0].Way != way || marks[0].EntryID != move.ID || marks[0].Amount != 300 || marks[0].Unit != "L" {
			t.Errorf("%s: marks %+v (%v), want 300 L %s", id, marks, err, way)
		}
	}
	w.k.Read(func(p *farm.Present) {
		links := p.Lineage("two", time.Time{})
		if len(links) != 2 || links[0].From != farm.Outside || links[1].From != "one" || links[1].To != "two" {
			t.Errorf("lineage of the second is %+v, want from outside into one, from one into two", links)
		}
	})
}

// What is noted of one pond leaves the answer about another as it was.
func TestOthersStayAsTheyWere(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-05T10:00:00Z", "one", "split", body{"to": "two", "volume_l": 300})
	forecast := func() keeper.Forecast {
		f, err := w.k.Forecast(context.Background(), "two", time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	before := forecast()
	w.note("2026-06-06T07:43:00Z", "one", "secchi", body{"secchi_cm": 2.2})
	if after := forecast(); !reflect.DeepEqual(after, before) {
		t.Error("a disc reading in the first pond changes what is said of the second")
	}
	w.fresh("after a reading in one of two")
	// A list that reaches the second pond through a transfer does change it.
	w.write(
		w.entry("2026-06-06T07:43:20Z", "one", "temperature", body{"temp_c": 22}),
		w.entry("2026-06-06T07:43:30Z", "one", "split", body{"to": "two", "volume_l": 100}),
	)
	if after := forecast(); reflect.DeepEqual(after, before) {
		t.Error("a transfer in a list does not reach the pond it goes to")
	}
	w.fresh("after a transfer in a list")
	// So does one noted late, before an older transfer on.
	w.write(
		w.entry("2026-06-04T07:00:00Z", "one", "note", body{"text": "two at once"}),
		w.entry("2026-06-04T07:43:30Z", "one", "secchi", body{"secchi_cm": 2.9}),
	)
	w.fresh("after a late list upstream of a transfer")
}

// A shelf is told as one: litres are those of all bottles, the level that of
// each.
func TestShelf(t *testing.T) {
	w := newWorld(t, "2026-06-06T09:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-06T08:00:00Z", "shelf", "inoculated", body{"volume_l": 9.0, "density_g_per_l": 0.5, "medium": soda})
	b := w.vessel("shelf").Now.Bands
	if !near(b[keeper.VolumeL].Mid, 9, 0.01) {
		t.Errorf("nine litres on the shelf are %v L", b[keeper.VolumeL])
	}
	// 1.5 L in a bottle of 0.11 m across: h = 4V/(pi d²).
	if want := 4 * 1.5e-3 / (math.Pi * 0.11 * 0.11) * 100; !near(b[keeper.LevelCM].Mid, want, 0.02) {
		t.Errorf("level in each is %v cm, want %.1f", b[keeper.LevelCM], want)
	}
	w.note("2026-06-06T08:59:59Z", "shelf", "split", body{"to": "two", "volume_l": 3.0})
	if got := w.vessel("shelf").Now.Bands[keeper.VolumeL]; !near(got.Mid, 6, 0.01) {
		t.Errorf("three of nine litres taken leave %v L", got)
	}
	if got := w.vessel("two").Now.Bands[keeper.VolumeL]; !near(got.Mid, 3, 0.01) {
		t.Errorf("three litres arrived as %v L", got)
	}
	if acts := w.acts("shelf"); slices.Contains(acts, "harvest") || slices.Contains(acts, "wait") {
		t.Errorf("a reserve is offered for harvest: %v", acts)
	}
}

func TestEmptyVessel(t *testing.T) {
	w := season(t, small)
	v := w.vessel("two")
	if v.Now.Known || v.State.Key != "state.empty" || len(w.acts("two")) != 0 {
		t.Errorf("an empty vessel is %+v with %v", v, w.acts("two"))
	}
	f, err := w.k.Forecast(context.Background(), "two", time.Time{})
	if err != nil || len(f.Days) != 0 || len(f.Limits) != 0 {
		t.Errorf("an empty vessel has a forecast: %+v, %v", f.Days, err)
	}
	if _, _, err := w.k.History(context.Background(), "two", time.Time{}); err != nil {
		t.Error(err)
	}
	for _, ask := range []func(string) error{
		func(id string) error { _, err := w.k.Vessel(context.Background(), id, time.Time{}); return err },
		func(id string) error { _, err := w.k.Forecast(context.Background(), id, time.Time{}); return err },
		func(id string) error {
			_, _, err := w.k.History(context.Background(), id, time.Time{})
			return err
		},
	} {
		if err := ask("three"); farm.CodeOf(err) != farm.NotFound {
			t.Errorf("a vessel that is not there gives %v, want not_found", err)
		}
	}
}

// No site, no vessel, nothing at all: still an answer.
func TestEmptyFarm(t *testing.T) {
	w := newWorld(t, "2026-06-06T09:00:00Z", small)
	d := w.today()
	if len(d.Vessels) != 0 || d.Vessels == nil || d.Coming == nil {
		t.Errorf("an empty farm's day is %+v", d)
	}
}

// Thrown away and begun anew: what was before does not come back.
func TestThrownAwayAndBegunAnew(t *testing.T) {
	w := season(t, small)
	w.note("2026-06-06T07:00:00Z", "one", "discarded", body{"all": true, "reason": "brown"})
	w.note("2026-06-06T07:30:00Z", "one", "inoculated", body{"volume_l": 500, "density_g_per_l": 0.2, "medium": soda})
	b := w.vessel("one").Now.Bands
	if !near(b[keeper.VolumeL].Mid, 500, 0.02) || !near(b[keeper.DensityGPerL].Mid, 0.2, 0.15) {
		t.Errorf("begun anew with 500 L of 0.2 g/L it is %v L of %v g/L", b[keeper.VolumeL], b[keeper.DensityGPerL])
	}
}

// An act that answers an item leaves the list and stands among what is done, even
// where it did only a part.
func TestAnsweredItemIsDone(t *testing.T) {
	w := newWorld(t, "2026-06-06T09:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-06T06:00:00Z", "one", "inoculated", body{"volume_l": 800, "density_g_per_l": 0.4, "medium": soda})
	topUp := func() []itemOf {
		return slices.DeleteFunc(w.today().Vessels[0].Items, func(it itemOf) bool { return it.Act != "top_up_water" })
	}
	items := topUp()
	if len(items) != 1 {
		t.Fatalf("a pond 5 cm under its full mark is not to be topped up: %v", w.acts("one"))
	}
	part := w.entry("2026-06-06T08:30:00Z", "one", "topped_up", body{"volume_l": 20, "with": "water"})
	w.write(part)
	if len(topUp()) != 1 {
		t.Error("twenty litres of some 280 that are missing, noted as nobody's answer, take the item away")
	}
	e := w.entry("2026-06-06T08:59:00Z", "one", "topped_up", body{"volume_l": 20, "with": "water"})
	e.Item = items[0].ID
	w.write(e)
	v := w.today().Vessels[0]
	if left := topUp(); len(left) != 0 {
		t.Errorf("an item that was answered is asked for again: %+v", left)
	}
	i := slices.IndexFunc(v.Done, func(d keeper.Done) bool { return d.EntryID == e.ID })
	if i < 0 || v.Done[i].Item != e.Item || v.Done[i].Amount != 20 || v.Done[i].Unit != "L" {
		t.Errorf("done is %+v, want the answer with its 20 L", v.Done)
	}
}

// The middle of each spread lies within it: what a vessel grows in a day is
// reckoned member by member, not from the ends of two spreads.
func TestBandsInOrder(t *testing.T) {
	for _, w := range []*world{season(t, small), season(t, keeper.Options{Members: 60, Draws: 6, Seed: 3})} {
		for q, b := range w.vessel("one").Now.Bands {
			if !(b.Low <= b.Mid && b.Mid <= b.High) {
				t.Errorf("%s: %+v", q, b)
			}
		}
	}
}
