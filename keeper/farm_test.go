package keeper_test

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/store/sqlite"
)

// A farm for tests, invented: two ponds and a shelf of bottles on an island
// where nobody lives. It is described by entries alone, as any farm is.

// world is a farm with a clock that the test sets.
type world struct {
	t     testing.TB
	k     *keeper.Keeper
	store *sqlite.Store
	ids   *farm.IDs
	opt   keeper.Options

	mu  sync.Mutex
	now time.Time
}

// small keeps tests quick: few members, few weathers.
var small = keeper.Options{Members: 20, Draws: 4, Seed: 7}

// seeded is a source of identifiers that says the same every time.
type seeded struct{ *rand.ChaCha8 }

// newWorld opens a keeper over an empty journal. now is local to no zone.
func newWorld(t testing.TB, now string, opt keeper.Options) *world {
	t.Helper()
	w := &world{t: t, ids: farm.NewIDs(seeded{rand.NewChaCha8([32]byte{1})}), opt: opt, now: moment(t, now)}
	var err error
	if w.store, err = sqlite.OpenTemp(context.Background(), w.clock); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { w.store.Close() })
	w.k = w.open(opt)
	return w
}

// open opens another keeper over the same journal, which has to find its way by
// the journal alone.
func (w *world) open(opt keeper.Options) *keeper.Keeper {
	w.t.Helper()
	k, err := keeper.Open(context.Background(), w.store, w.clock, opt)
	if err != nil {
		w.t.Fatal(err)
	}
	w.t.Cleanup(k.Close)
	return k
}

func (w *world) clock() time.Time {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.now
}

func (w *world) set(now string) {
	at := moment(w.t, now)
	w.mu.Lock()
	defer w.mu.Unlock()
	w.now = at
}

func moment(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// body is what an entry says.
type body = map[string]any

// entry makes an entry; at is RFC 3339.
func (w *world) entry(at, vessel, kind string, b body) farm.Entry {
	w.t.Helper()
	when := moment(w.t, at)
	id, err := w.ids.Make(when)
	if err != nil {
		w.t.Fatal(err)
	}
	raw, err := json.Marshal(b)
	if err != nil {
		w.t.Fatal(err)
	}
	return farm.Entry{ID: id, Vessel: vessel, Kind: kind, V: 1, At: when, NotedAt: when, By: "tester", Body: raw}
}

// write appends entries that must be taken.
func (w *world) write(entries ...farm.Entry) []farm.Entry {
	w.t.Helper()
	got, err := w.k.Append(context.Background(), entries, farm.Sent)
	if err != nil {
		w.t.Fatalf("entries are not taken: %v", err)
	}
	return got
}

// note makes and appends one entry.
func (w *world) note(at, vessel, kind string, b body) farm.Entry {
	w.t.Helper()
	return w.write(w.entry(at, vessel, kind, b))[0]
}

// normals are twelve mild months, invented.
func normals() []farm.Month {
	out := make([]farm.Month, 12)
	for i := range out {
		summer := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/12)
		out[i] = farm.Month{GHIMJM2D: 8 + 17*summer, TMinC: 14 + 6*summer, TMaxC: 20 + 8*summer, RHPct: 68, WindMS: 3.5, RainMM: 10, RainDays: 2}
	}
	return out
}

// describe writes the site and its vessels.
func (w *world) describe(at string, change func(site body)) {
	w.t.Helper()
	site := body{
		"id": "rock", "name": "The rock", "lat_deg": 36.4, "lon_deg": -31.0, "elevation_m": 10, "timezone": "Atlantic/Azores",
		"measures": "metric", "language": "en", "normals": normals(),
	}
	if change != nil {
		change(site)
	}
	pond := func(id, name string) body {
		return body{
			"id": id, "name": name, "full_level_cm": 18, "place": "outdoors", "shade_pct": 50, "lit": "top", "use": "grow", "food": true,
			"shape": body{"kind": "box", "length_m": 3, "width_m": 2, "height_m": 0.3}, "stirring": body{"kind": "continuous"}, "material": "liner",
		}
	}
	w.write(
		w.entry(at, "", "site", site),
		w.entry(at, "", "vessel", pond("one", "Pond one")),
		w.entry(at, "", "vessel", pond("two", "Pond two")),
		w.entry(at, "", "vessel", body{
			"id": "shelf", "name": "Shelf", "full_level_cm": 20, "place": "indoors", "lit": "side", "count": 6, "use": "reserve", "food": false,
			"shape":    body{"kind": "bottle", "diameter_m": 0.11, "height_m": 0.22, "shoulder_height_m": 0.06, "neck_diameter_m": 0.04, "neck_height_m": 0.04},
			"stirring": body{"kind": "hand", "times_per_day": 3}, "material": "glass",
		}),
	)
}

// soda is the medium of the test farm [g/L]; invented.
var soda = body{"salts_g_per_l": body{"NaHCO3": 6, "Na2CO3": 4, "NaCl": 4, "KNO3": 2, "K2SO4": 0.8, "K2HPO4": 0.2, "MgSO4.7H2O": 0.2}}

// begin fills pond one to its full level with culture of 0.4 g/L.
func (w *world) begin(at string) farm.Entry {
	w.t.Helper()
	return w.note(at, "one", "inoculated", body{"volume_l": 1080, "density_g_per_l": 0.4, "medium": soda})
}

// season is pond one for five June days with its readings up to the sixth
// morning, 2026-06-06T07:00Z.
func season(t testing.TB, opt keeper.Options) *world {
	w := newWorld(t, "2026-06-06T07:44:00Z", opt)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.begin("2026-06-01T09:00:00Z")
	w.note("2026-06-02T07:00:00Z", "one", "secchi", body{"secchi_cm": 2.8})
	w.note("2026-06-02T07:05:00Z", "one", "ph", body{"ph": 9.6, "temp_c": 21})
	w.note("2026-06-03T07:10:00Z", "one", "level", body{"level_cm": 17.6})
	w.note("2026-06-05T07:20:00Z", "one", "secchi", body{"secchi_cm": 2.4})
	return w
}

func (w *world) vessel(id string) keeper.Vessel {
	w.t.Helper()
	v, err := w.k.Vessel(context.Background(), id, time.Time{})
	if err != nil {
		w.t.Fatal(err)
	}
	return v
}

func (w *world) today() keeper.Today {
	w.t.Helper()
	d, err := w.k.Today(context.Background(), time.Time{})
	if err != nil {
		w.t.Fatal(err)
	}
	return d
}

// acts are the items of a vessel on the day list.
func (w *world) acts(vessel string) []string {
	w.t.Helper()
	var out []string
	for _, v := range w.today().Vessels {
		if v.Spec.ID == vessel {
			for _, it := range v.Items {
				out = append(out, it.Act)
			}
		}
	}
	return out
}

// all is everything that a keeper says at a moment, as bytes.
func all(t testing.TB, k *keeper.Keeper) string {
	t.Helper()
	ctx := context.Background()
	var b strings.Builder
	say := func(v any, err error) {
		if err != nil {
			t.Fatal(err)
		}
		raw, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		b.Write(raw)
		b.WriteByte('\n')
	}
	d, err := k.Today(ctx, time.Time{})
	say(d, err)
	for _, v := range d.Vessels {
		f, err := k.Forecast(ctx, v.Spec.ID, time.Time{})
		say(f, err)
		r, m, err := k.History(ctx, v.Spec.ID, time.Time{})
		say([]any{r, m}, err)
	}
	return b.String()
}

// itemOf is an item of the day list.
type itemOf = advice.Item

// firstDifference says where two answers part.
func firstDifference(a, b string) string {
	for i := 0; i < min(len(a), len(b)); i++ {
		if a[i] != b[i] {
			from := max(i-120, 0)
			return "..." + a[from:min(i+80, len(a))] + "\n...and...\n..." + b[from:min(i+80, len(b))]
		}
	}
	return "one ends before the other"
}
