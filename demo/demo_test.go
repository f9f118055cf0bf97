package demo_test

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"flag"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"sodalake/demo"
	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/keeper"
	"sodalake/store/sqlite"
)

var update = flag.Bool("update", false, "write the golden file anew")

// committed are the entries of season.jsonl.
func committed(t testing.TB) []farm.Entry {
	t.Helper()
	raw, err := os.ReadFile("season.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var out []farm.Entry
	lines := bufio.NewScanner(bytes.NewReader(raw))
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		e, bad := farm.DecodeEntry(lines.Bytes())
		if bad != nil {
			t.Fatalf("entry %d: %v", len(out)+1, bad)
		}
		out = append(out, e)
	}
	return out
}

// The committed season is what the generator makes: to the last digit on the
// architecture it was written on, in kind and number elsewhere, where a fused
// multiplication may move a reading by its last digit.
func TestSeasonIsCommitted(t *testing.T) {
	var b bytes.Buffer
	if err := demo.Write(&b); err != nil {
		t.Fatal(err)
	}
	raw, err := os.ReadFile("season.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOARCH == "amd64" {
		got, want := strings.Split(b.String(), "\n"), strings.Split(string(raw), "\n")
		for i := range min(len(got), len(want)) {
			if got[i] != want[i] {
				t.Fatalf("entry %d is made as\n%.300s\nand committed as\n%.300s\nThe laws or the habits changed: go generate ./demo, and look at the story", i+1, got[i], want[i])
			}
		}
		if len(got) != len(want) {
			t.Fatalf("%d lines are made, %d are committed: go generate ./demo", len(got), len(want))
		}
		return
	}
	count := func(text string) map[string]int {
		n := map[string]int{}
		for _, l := range strings.Split(strings.TrimSpace(text), "\n") {
			var e farm.Entry
			if err := json.Unmarshal([]byte(l), &e); err != nil {
				t.Fatal(err)
			}
			n[e.Kind]++
		}
		return n
	}
	got, want := count(b.String()), count(string(raw))
	for kind, n := range want {
		if d := got[kind] - n; d < -2 || d > 2 {
			t.Errorf("%d entries of kind %s are made, %d are committed", got[kind], kind, n)
		}
	}
}

// Every entry is one that the journal takes without a doubt, in the order in
// which it was noted.
func TestEveryEntryIsGood(t *testing.T) {
	p := farm.NewPresent()
	var last time.Time
	seen := map[string]bool{}
	entries := committed(t)
	if len(entries) < 250 {
		t.Fatalf("only %d entries", len(entries))
	}
	for i, e := range entries {
		doubts, bad := farm.Check(e, p, farm.Typed, e.NotedAt)
		if bad != nil {
			t.Errorf("entry %d (%s of %s): %v", i+1, e.Kind, e.At, bad)
		}
		for _, d := range doubts {
			t.Errorf("entry %d (%s of %s) is doubtful: %s", i+1, e.Kind, e.At, d.Message)
		}
		if e.NotedAt.Before(last) {
			t.Errorf("entry %d (%s) was noted at %s, before the one before it", i+1, e.Kind, e.NotedAt)
		}
		if seen[e.ID] {
			t.Errorf("identifier %s stands twice", e.ID)
		}
		seen[e.ID], last = true, e.NotedAt
		p.Apply(e)
	}
}

// Nobody and nothing real: every text of the season stands in a list that a
// person has read, and the station says that it is made up.
func TestNothingReal(t *testing.T) {
	texts := map[string]bool{}
	var walk func(v any)
	walk = func(v any) {
		switch x := v.(type) {
		case string:
			if _, err := time.Parse(time.RFC3339, x); err != nil {
				texts[x] = true
			}
		case []any:
			for _, e := range x {
				walk(e)
			}
		case map[string]any:
			for k, e := range x {
				texts[k] = true
				walk(e)
			}
		}
	}
	people := map[string]bool{}
	p := farm.NewPresent()
	for _, e := range committed(t) {
		var body any
		if err := json.Unmarshal(e.Body, &body); err != nil {
			t.Fatal(err)
		}
		walk(body)
		texts[e.By], texts[e.Vessel], texts[e.Site], texts[e.Kind] = true, true, true, true
		people[e.By] = true
		p.Apply(e)
	}
	delete(texts, "")
	golden := filepath.Join("testdata", "texts.txt")
	got := strings.Join(slices.Sorted(maps.Keys(texts)), "\n") + "\n"
	if *update {
		if err := os.WriteFile(golden, []byte(got), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the season says what nobody has read; read it, and write %s with -update:\n%s", golden, got)
	}
	for text := range texts {
		if strings.ContainsAny(text, "@™®©") || strings.Contains(text, "://") || strings.Contains(text, "www.") {
			t.Errorf("%q looks like something real", text)
		}
	}
	// Whoever notes something is a task of the station, no person's name.
	known := map[string]bool{"station": true}
	for _, person := range p.People() {
		known[person.ID] = true
	}
	for by := range people {
		if !known[by] {
			t.Errorf("%q notes and is not described", by)
		}
	}
	// What could be taken for a source says that it is invented.
	for _, r := range p.Recipes() {
		if !strings.Contains(r.Text, "invented") {
			t.Errorf("recipe %s does not say that it is invented: %q", r.ID, r.Text)
		}
	}
	for text := range texts {
		if strings.Contains(text, "mast") && !strings.Contains(text, "invented") {
			t.Errorf("weather of %q does not say that it is invented", text)
		}
	}
}

// morning is a keeper of the station when the demo opens.
func morning(t testing.TB) *keeper.Keeper {
	t.Helper()
	ctx := context.Background()
	clock := demo.Clock(demo.Morning(), func() time.Duration { return 0 })
	store, err := sqlite.OpenTemp(ctx, clock)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	if err := demo.Fill(ctx, store, demo.Morning()); err != nil {
		t.Fatal(err)
	}
	k, err := keeper.Open(ctx, store, clock, keeper.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(k.Close)
	return k
}

// The story that the first page tells: one pond dark, one thinned the day
// before, a tank in trouble, bottles in reserve, and a slip of a decimal.
func TestStory(t *testing.T) {
	k := morning(t)
	ctx := context.Background()
	day, err := k.Today(ctx, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	reasons := map[string][]string{}
	state := map[string]string{}
	for _, v := range day.Vessels {
		state[v.Spec.ID] = v.State.Key
		for _, it := range v.Items {
			reasons[v.Spec.ID] = append(reasons[v.Spec.ID], it.Act+" "+it.Reason.Key)
		}
		if v.Spec.ID != "sill-bottles" && (!v.Now.Known || v.Now.Bands[keeper.DensityGPerL].High > 2*v.Now.Bands[keeper.DensityGPerL].Low) {
			t.Errorf("%s is hardly known: %v", v.Spec.ID, v.Now.Bands)
		}
	}
	for id, want := range map[string]struct {
		states    []string
		says, not []string
	}{
		"lantern-pond": {[]string{"state.ready"}, []string{"look reason.look.old", "harvest reason.harvest.ready"}, []string{"hold_harvest", "stop_feeding", "take_reading reason.doubt"}},
		"boat-pond":    {[]string{"state.growing", "state.harvested"}, []string{"wait reason.wait.", "take_reading reason.doubt.ph"}, []string{"harvest ", "hold_harvest", "check_instrument"}},
		"cistern-tank": {[]string{"state.held"}, []string{"stop_feeding reason.stopfeed.smell", "hold_harvest reason.hold.smell"}, []string{"harvest ", "feed ", "add_carbon "}},
		"sill-bottles": {[]string{"state.reserve"}, []string{"refresh_reserve reason.reserve.old"}, []string{"harvest ", "wait "}},
	} {
		if !slices.Contains(want.states, state[id]) {
			t.Errorf("%s is %s, want one of %v", id, state[id], want.states)
		}
		begins := func(with string) bool {
			return slices.ContainsFunc(reasons[id], func(r string) bool { return strings.HasPrefix(r, with) })
		}
		for _, w := range want.says {
			if !begins(w) {
				t.Errorf("%s: the list lacks %q: %q", id, w, reasons[id])
			}
		}
		for _, w := range want.not {
			if begins(w) {
				t.Errorf("%s: the list has %q: %q", id, w, reasons[id])
			}
		}
	}
	// The trouble has its cause in the journal: urea by the handful, twice.
	k.Read(func(p *farm.Present) {
		urea := 0
		for _, e := range p.Timeline("cistern-tank", demo.Morning().AddDate(0, 0, -5), time.Time{}) {
			if e.Body.Amounts("salts_g")["CO(NH2)2"] > 30 {
				urea++
			}
		}
		if urea != 2 {
			t.Errorf("urea was given %d times to the tank, want twice", urea)
		}
	})
}

// The twin, which knows neither the true strain nor the true weather, believes
// what the station read all season: but for the slipped pH hardly a reading is
// doubted, and in the end none but that.
func TestTwinFollowsTheStation(t *testing.T) {
	k := morning(t)
	ctx := context.Background()
	all, doubted := 0, 0
	var late []string
	for _, id := range []string{"lantern-pond", "boat-pond", "cistern-tank", "sill-bottles"} {
		readings, _, err := k.History(ctx, id, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range readings {
			all++
			if r.Doubt != "" {
				doubted++
				if r.At.After(demo.Morning().AddDate(0, 0, -2)) {
					late = append(late, id+" "+string(r.Quantity))
				}
			}
		}
	}
	t.Logf("%d of %d readings are doubted", doubted, all)
	if all < 120 || doubted > all/20 {
		t.Errorf("%d of %d readings are doubted, want under one in twenty", doubted, all)
	}
	if !slices.Equal(late, []string{"boat-pond ph"}) {
		t.Errorf("doubted in the last two days: %v, want the pH of the boat pond alone", late)
	}
}

// Filling stops at the moment asked for, stamps each entry as it was noted, and
// leaves what is there already alone; the demo opens at any time of its season.
func TestFill(t *testing.T) {
	ctx := context.Background()
	for _, until := range []time.Time{
		time.Date(2026, 3, 1, 8, 0, 0, 0, demo.Zone()), time.Date(2026, 4, 20, 12, 0, 0, 0, demo.Zone()), demo.Morning(), demo.Morning().AddDate(0, 0, 6),
	} {
		store, err := sqlite.OpenTemp(ctx, func() time.Time { return until })
		if err != nil {
			t.Fatal(err)
		}
		defer store.Close()
		want := 0
		for _, e := range committed(t) {
			if !e.NotedAt.After(until) {
				want++
			}
		}
		for range 2 {
			if err := demo.Fill(ctx, store, until); err != nil {
				t.Fatalf("until %s: %v", until, err)
			}
		}
		n := 0
		for e, err := range store.Entries(ctx, 0, 0) {
			if err != nil {
				t.Fatal(err)
			}
			if n++; !e.ReceivedAt.Equal(e.NotedAt) {
				t.Fatalf("entry %d was noted at %s and received at %s", n, e.NotedAt, e.ReceivedAt)
			}
		}
		if n != want {
			t.Errorf("until %s there are %d entries, want %d", until, n, want)
		}
		k, err := keeper.Open(ctx, store, func() time.Time { return until }, keeper.Options{Members: 16, Draws: 4, Days: 10})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := k.Today(ctx, time.Time{}); err != nil {
			t.Errorf("at %s: %v", until, err)
		}
		k.Close()
	}
}

func TestClock(t *testing.T) {
	passed := time.Duration(0)
	now := demo.Clock(demo.Morning(), func() time.Duration { return passed })
	a := now()
	passed = 90 * time.Minute
	if b := now(); b.Sub(a) != 90*time.Minute || !a.Equal(demo.Morning()) {
		t.Errorf("the clock starts at %s and stands at %s after 90 minutes", a, b)
	}
}

// The harvests of the season became lots in every state, and no entry about
// them is doubted.
func TestLots(t *testing.T) {
	k := morning(t)
	l, err := k.Lots(context.Background(), time.Time{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	met := map[lot.State]int{}
	for _, x := range l.Lots {
		met[x.State]++
		for _, d := range x.Doubts {
			t.Errorf("lot %s: %s", x.ID, d.Message)
		}
	}
	for _, s := range []lot.State{lot.OnHold, lot.Released, lot.Destroyed} {
		if met[s] == 0 {
			t.Errorf("no lot is %s: %v", s, met)
		}
	}
	if len(l.Unlotted) != 0 || len(l.Soonest) < 3 {
		t.Errorf("%d harvests without a lot, %d lots to eat first", len(l.Unlotted), len(l.Soonest))
	}
}
