package keeper_test

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"sodalake/keeper"
)

// kept are the options of a keeper that leaves checkpoints behind.
func kept() keeper.Options {
	opt := small
	opt.Version = "test build 1"
	return opt
}

// checkpoints are the keys under which the twins were kept.
func (w *world) checkpoints() []string {
	w.t.Helper()
	keys, err := w.store.DerivedKeys(context.Background(), "twin/")
	if err != nil {
		w.t.Fatal(err)
	}
	return keys
}

// again closes the keeper and opens one that may take up a checkpoint.
func (w *world) again(opt keeper.Options) {
	w.t.Helper()
	w.k.Close()
	w.k = w.open(opt)
}

// as fails unless the keeper says what one says that reads the whole season.
func (w *world) as(what string) {
	w.t.Helper()
	plain := w.opt
	plain.Version = ""
	if a, b := all(w.t, w.k), all(w.t, w.open(plain)); a != b {
		w.t.Errorf("%s: after a start from a checkpoint it says otherwise than from the whole season:\n%s", what, firstDifference(a, b))
	}
}

// A start from a checkpoint says to the last byte what a run through the season
// says, whatever came in since: readings, transfers, changed settings, late
// entries, corrections, new and newly described vessels, weather.
func TestCheckpointsSayTheSame(t *testing.T) {
	w := season(t, kept())
	w.today()
	if len(w.checkpoints()) == 0 {
		t.Fatal("no checkpoint was kept")
	}
	w.again(kept())
	w.as("the same journal")

	w.note("2026-06-06T07:30:00Z", "one", "secchi", body{"secchi_cm": 2.3})
	w.again(kept())
	w.as("a reading since")

	w.note("2026-06-06T07:33:00Z", "one", "split", body{"to": "two", "volume_l": 200})
	w.note("2026-06-06T07:34:00Z", "one", "shaded", body{"shade_pct": 10})
	w.note("2026-06-06T07:35:00Z", "one", "covered", body{"cover": "film", "vents": "half"})
	w.note("2026-06-06T07:36:00Z", "one", "stirred", body{"stirring": "none"})
	w.note("2026-06-06T07:37:00Z", "two", "topped_up", body{"with": "medium", "volume_l": 500, "medium": soda})
	w.note("2026-06-06T07:38:00Z", "two", "shaded", body{"shade_pct": 0})
	w.again(kept())
	w.as("a transfer and changed settings since")

	w.set("2026-06-08T09:03:00Z")
	w.today()
	w.again(kept())
	w.as("two days later")
	if acts := w.acts("two"); !slices.Contains(acts, "shade") {
		t.Errorf("a thin pond without shade is not to be shaded: %v", acts)
	}

	late := w.note("2026-06-04T08:00:00Z", "one", "harvested", body{"volume_l": 300})
	w.again(kept())
	w.as("a late entry")

	fix := w.entry("2026-06-04T08:00:00Z", "one", "harvested", body{"volume_l": 30})
	fix.Corrects = late.ID
	w.write(fix)
	w.again(kept())
	w.as("a correction")

	w.note("2026-06-07T06:00:00Z", "", "vessel", body{"id": "tank", "place": "outdoors", "shape": body{"kind": "cylinder", "diameter_m": 1.5, "height_m": 0.5}})
	w.note("2026-06-07T08:00:00Z", "two", "split", body{"to": "tank", "volume_l": 50})
	w.again(kept())
	w.as("a new vessel")

	w.note("2026-06-07T10:00:00Z", "", "vessel", body{"id": "tank", "place": "indoors", "shape": body{"kind": "cylinder", "diameter_m": 2, "height_m": 0.5}})
	w.again(kept())
	w.as("a vessel described anew")

	e := w.entry("2026-06-08T09:00:00Z", "", "weather", hours("measured", "2026-06-06T20:00:00Z", 30, 30))
	e.Site = "rock"
	w.write(e)
	w.again(kept())
	w.as("weather since")

	e = w.entry("2026-06-08T09:01:00Z", "", "weather", hours("measured", "2026-05-31T20:00:00Z", 60, 12))
	e.Site = "rock"
	w.write(e)
	w.again(kept())
	w.as("weather of long ago")

	w.note("2026-06-01T05:00:00Z", "", "recipe", body{"id": "own", "use": "medium", "salts_g_per_l": body{"NaHCO3": 30}})
	w.again(kept())
	w.as("a recipe told late")
}

// What another build, seed or size wrote is not taken up; neither is what was
// damaged. Nobody notices but by the time it takes.
func TestCheckpointsOfOthers(t *testing.T) {
	w := season(t, kept())
	want := all(t, w.k)
	for _, change := range []func(o *keeper.Options){
		func(o *keeper.Options) { o.Version = "test build 2" }, func(o *keeper.Options) { o.Members = 28 }, func(o *keeper.Options) { o.Draws = 5 }, func(o *keeper.Options) { o.Seed++ },
	} {
		opt := kept()
		change(&opt)
		w.opt = opt
		w.again(opt)
		w.as("options of another")
	}
	w.opt = kept()
	w.again(kept())
	if got := all(t, w.k); got != want {
		t.Errorf("after others used the journal it says otherwise:\n%s", firstDifference(got, want))
	}
	ctx := context.Background()
	for _, key := range w.checkpoints() {
		blob, err := w.store.GetDerived(ctx, key)
		if err != nil {
			t.Fatal(err)
		}
		for _, bad := range [][]byte{nil, []byte("no checkpoint"), blob[:len(blob)/2], append(append([]byte{}, blob[:len(blob)-100]...), make([]byte, 100)...)} {
			if err := w.store.PutDerived(ctx, key, bad); err != nil {
				t.Fatal(err)
			}
		}
	}
	w.again(kept())
	if got := all(t, w.k); got != want {
		t.Errorf("with damaged checkpoints it says otherwise:\n%s", firstDifference(got, want))
	}
}

// A checkpoint is really taken up, and only by the build that wrote it: one from
// a denser pond, put in place of the right one, is believed by its own build.
func TestCheckpointsAreTakenUp(t *testing.T) {
	ctx := context.Background()
	thick := newWorld(t, "2026-06-06T07:44:00Z", kept())
	thick.describe("2026-06-01T08:00:00Z", nil)
	thick.note("2026-06-01T09:00:00Z", "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 1.5, "medium": soda})
	for range 4 {
		thick.note("2026-06-02T07:00:00Z", "one", "note", body{"text": "as many entries as the other has"})
	}
	heavy := thick.vessel("one").Now.Bands[keeper.DensityGPerL].Mid

	w := season(t, kept())
	light := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid
	for _, key := range thick.checkpoints() {
		blob, err := thick.store.GetDerived(ctx, key)
		if err != nil {
			t.Fatal(err)
		}
		if err := w.store.PutDerived(ctx, key, blob); err != nil {
			t.Fatal(err)
		}
	}
	w.again(kept())
	if x := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; x < (light+heavy)/2 {
		t.Errorf("with a checkpoint of %.2f g/L in place the density is %.2f: it is not taken up", heavy, x)
	}
	other := kept()
	other.Version = "test build 2"
	w.again(other)
	if x := w.vessel("one").Now.Bands[keeper.DensityGPerL].Mid; !near(x, light, 1e-9) {
		t.Errorf("another build takes up a checkpoint that is not its own: %.2f g/L, want %.2f", x, light)
	}
}

// Without a version nothing is kept, and a quick look keeps nothing of itself.
func TestCheckpointsAreNotKept(t *testing.T) {
	w := season(t, small)
	w.today()
	if keys := w.checkpoints(); len(keys) > 0 {
		t.Errorf("kept without a version: %v", keys)
	}
	for _, key := range season(t, kept()).checkpoints() {
		if !strings.HasPrefix(key, "twin/2026-06-0") {
			t.Errorf("a checkpoint is kept under %q", key)
		}
	}
}

// Close waits for what runs behind: after it the store may be closed, and
// nothing more is written.
func TestCloseWaits(t *testing.T) {
	w := season(t, small)
	store := slow{w.store, make(chan struct{}, 1)}
	store.wait <- struct{}{} // for the opening
	quick := kept()
	quick.Quick = true
	k, err := keeper.Open(context.Background(), store, w.clock, quick)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := k.Items(context.Background(), w.clock()); err != nil { // starts to read the season
		t.Fatal(err)
	}
	closed := make(chan struct{})
	go func() { k.Close(); close(closed) }()
	select {
	case <-closed:
		t.Error("Close left behind what still read the journal")
	case <-time.After(100 * time.Millisecond):
	}
	close(store.wait)
	<-closed
	before := w.checkpoints()
	k.Close()
	if _, err := k.Items(context.Background(), moment(t, "2026-06-07T07:00:00Z")); err == nil {
		t.Error("a closed keeper answers what it has to work out")
	}
	if after := w.checkpoints(); len(after) != len(before) {
		t.Errorf("after Close there are %d checkpoints, %d before", len(after), len(before))
	}
}
