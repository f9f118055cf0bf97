package main

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/store/sqlite"
	"sodalake/words"
)

// listener says everything it hears, in both measures, and reports what comes
// out as the key's own last words: the key is missing, or an argument of it.
type listener struct {
	speakers []*words.Speaker
	said     map[string]bool // keys that came with all they need
	wrong    map[string]string
}

func newListener() *listener {
	return &listener{
		speakers: []*words.Speaker{words.New("en", words.Metric, time.UTC), words.New("en", words.US, time.UTC)},
		said:     map[string]bool{}, wrong: map[string]string{},
	}
}

func (l *listener) hear(r advice.Reason) {
	for _, s := range l.speakers {
		text, ok := s.Try(r.Key, r.Args)
		if family, _, _ := strings.Cut(r.Key, "."); slices.Contains([]string{"kind", "limit", "sky"}, family) {
			ok = words.Has(r.Key) // one word, often the key's own
		}
		switch {
		case !ok:
			l.wrong[r.Key] = fmt.Sprintf("%s is said %q of %v", r.Key, s.Sentence(r), slices.Sorted(maps.Keys(r.Args)))
		case strings.Contains(text, "?") || strings.Contains(text, "Inf") || strings.Contains(text, "NaN"):
			l.wrong[r.Key] = fmt.Sprintf("%s says a number that is none: %q of %v", r.Key, text, r.Args)
		default:
			l.said[r.Key] = true
		}
	}
}

func (l *listener) item(it advice.Item) {
	args := map[string]any{}
	for _, r := range append([]advice.Reason{it.Reason}, it.More...) {
		maps.Copy(args, r.Args)
		l.hear(r)
	}
	l.hear(advice.Reason{Key: "item." + it.Act, Args: args})
	for _, c := range it.Cautions {
		l.hear(advice.Reason{Key: c})
	}
	for _, s := range l.speakers {
		if text := s.Item(it).Text; text == "" || strings.Contains(text, "{") || strings.Contains(text, "<") {
			l.wrong["item."+it.Act] = fmt.Sprintf("item %s is said %q", it.Act, text)
		}
	}
}

// today hears all that a day list holds.
func (l *listener) today(t *keeper.Today) {
	for _, w := range t.Light.Words {
		l.hear(w)
	}
	for _, c := range t.Coming {
		l.hear(c.What)
	}
	for _, v := range t.Vessels {
		l.hear(v.State)
		for _, c := range v.Change {
			l.hear(c)
		}
		for _, h := range v.Holds {
			l.hear(advice.Reason{Key: h})
		}
		for _, it := range v.Items {
			l.item(it)
		}
		for _, d := range v.Days {
			l.hear(advice.Reason{Key: "sky." + d.Sky})
		}
	}
}

func (l *listener) report(t *testing.T) {
	t.Helper()
	for _, key := range slices.Sorted(maps.Keys(l.wrong)) {
		t.Error(l.wrong[key])
	}
}

var keyLiteral = regexp.MustCompile(`"((?:reason|more|caution|state|change|coming|light|weather|doubt|hold)\.[a-z0-9_.-]*[a-z0-9_])"`)

// keysIn are the keys that the Go files of a folder write down.
func keysIn(t *testing.T, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string]bool{}
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range keyLiteral.FindAllSubmatch(b, -1) {
			keys[string(m[1])] = true
		}
	}
	if len(keys) < 5 {
		t.Fatalf("only %d keys found in %s: the pattern no longer fits the source", len(keys), dir)
	}
	return slices.Sorted(maps.Keys(keys))
}

// noon of an invented day.
var listDay = time.Date(2026, 6, 18, 7, 40, 0, 0, time.UTC)

func band(low, mid, high float64) num.Band { return num.Band{Low: low, Mid: mid, High: high} }

// anyVessel draws a vessel in any state that the rules can meet.
func anyVessel(t *rapid.T) advice.Vessel {
	flip := func(name string) bool { return rapid.Bool().Draw(t, name) }
	one := func(name string, xs ...float64) float64 { return rapid.SampledFrom(xs).Draw(t, name) }
	spread := func(name string, mids ...float64) num.Band {
		m, w := one(name, mids...), one(name+" spread", 0.01, 0.15, 0.6)
		return band(m*(1-w), m, m*(1+w))
	}
	ago := func(name, id string) advice.Event {
		h := one(name, 0, 1, 20, 60, 200, 1500)
		if h == 0 {
			return advice.Event{}
		}
		return advice.Event{ID: id, At: listDay.Add(-time.Duration(h * float64(time.Hour)))}
	}
	ahead := func(name string) time.Time {
		d := one(name, 0, 0.2, 2, 6, 9)
		if d == 0 {
			return time.Time{}
		}
		return listDay.Add(time.Duration(d * 24 * float64(time.Hour)))
	}
	v := advice.Vessel{
		ID: "pond", Name: "Pond", Started: true, Outdoors: flip("outdoors"), SideLit: flip("side"), Reserve: flip("reserve"), Food: flip("food"), Covered: flip("covered"),
		ShadePct: one("shade", 0, 40, 60), AreaM2: 10, FullLevelCM: 18, RimCM: 30,
		Level: spread("level", 12, 16, 18), Volume: spread("volume", 500, 1700), LevelKnown: ago("level known", "l").At,
		Density: spread("density", 0.1, 0.25, 0.6, 1.2), Growth: spread("growth", 0.01, 0.06), PH25: spread("ph", 9.2, 10.1, 10.6, 11.2),
		PHLow48: one("low ph", 0, 9.2, 10), PHKnown: ago("ph known", "p").At,
		Temp: spread("temp", 9, 15, 24, 41), Dawn: spread("dawn", 9, 16, 22), Noon: spread("noon", 20, 30, 41), Hottest: spread("hottest", 25, 39, 44),
		HottestOn: listDay.Add(48 * time.Hour), WarmAt: ahead("warm at"), BrightNow: flip("bright"),
		CarbonCarries: one("carbon", 0, 0.02, 0.6), CarbonPerGramG: 9, AirDays: one("air", 0, 6), NitrogenCarries: one("nitrogen", -0.01, 0.05, 1.5),
		FreeAmmonia: spread("ammonia", 0.001, 0.4, 2), ReducedMgL: one("reduced", 1, 30, 90), ReducedDayMgL: one("reduced day", 0, 25),
		RemovedG: one("removed", 0, 40, 600), FeedSalt: rapid.SampledFrom([]string{"KNO3", "NaNO3", "CO(NH2)2", "ash"}).Draw(t, "salt"),
		LastFed: ago("fed", "f"), LastTaken: ago("taken", "h"), LastLook: ago("look", "k"), LookPassed: flip("passed"), LastSecchi: ago("secchi", "s"),
		LastPH: ago("last ph", "p"), LastLevel: ago("last level", "l"), LastTemp: ago("last temp", "t"), Begun: ago("begun", "i"),
		Ready: advice.Crossing{Early: ahead("early"), Mid: ahead("mid"), Late: ahead("late")}, ChanceNow: one("chance", 0, 0.3, 0.9, 1), ReserveAge: one("age", 3, 40),
	}
	if share := one("worth", 0, 0.1, 0.6); share > 0 {
		v.Worth = []advice.Worth{{Kind: rapid.SampledFrom([]string{"secchi", "ph", "dry_weight", "optical_density", "level", "temperature", "conductivity"}).Draw(t, "worth of"), Share: share, Last: ago("worth last", "w")}}
	}
	if flip("unstirred") {
		v.Unstirred = ago("still", "u")
	}
	if flip("smells") {
		v.Smells, v.SmellsOf = ago("smell", "x"), rapid.SampledFrom([]string{"ammonia", "rot"}).Draw(t, "of")
	}
	if flip("doubt") {
		kind := rapid.SampledFrom([]string{"secchi/secchi_cm", "ph/ph", "temperature/temp_c", "level/level_cm", "conductivity/conductivity_ms_per_cm", "optical_density/od_750", "dry_weight/dry_weight_g_per_l", "reading/nitrate_mg_per_l"}).Draw(t, "doubted")
		k, q, _ := strings.Cut(kind, "/")
		v.Doubts = []advice.Doubtful{{Event: advice.Event{ID: "d", At: listDay.Add(-time.Hour)}, Kind: k, Quantity: q, Value: 7.1, Expected: band(9, 10, 11), Again: rapid.IntRange(0, 3).Draw(t, "again")}}
	}
	return v
}

// anyMeter draws a pH meter that was checked some time, or never.
func anyMeter(t *rapid.T) []advice.Meter {
	m := advice.Meter{ID: "m", Name: "meter", DueDays: 14, Bias: 0.12, Failed: rapid.Bool().Draw(t, "failed")}
	if h := rapid.SampledFrom([]float64{0, 20, 700}).Draw(t, "checked"); h > 0 {
		m.Checked = advice.Event{ID: "c", At: listDay.Add(-time.Duration(h) * time.Hour)}
	}
	return []advice.Meter{m}
}

// Every sentence of the day list is in the catalogue and gets what it needs,
// whatever state the farm is in; and every key that the rules write down was
// met on the way.
func TestDayListIsSaid(t *testing.T) {
	l := newListener()
	rapid.Check(t, func(t *rapid.T) {
		for _, it := range advice.List(anyFarm(t)) {
			l.item(it)
		}
	})
	// Draws are many and yet not all: what is rare is drawn until it came.
	keys := keysIn(t, "../../farm/advice")
	missing := func() []string {
		return slices.DeleteFunc(slices.Clone(keys), func(k string) bool { return l.said[k] || l.wrong[k] != "" })
	}
	for seed := 0; seed < 20000 && (seed%200 != 0 || len(missing()) > 0); seed++ {
		for _, it := range advice.List(rapid.Custom(anyFarm).Example(seed)) {
			if !l.said[it.Reason.Key] || slices.ContainsFunc(it.More, func(r advice.Reason) bool { return !l.said[r.Key] }) || slices.ContainsFunc(it.Cautions, func(c string) bool { return !l.said[c] }) {
				l.item(it)
			}
		}
	}
	if left := missing(); len(left) > 0 {
		t.Errorf("no state of a vessel leads to %v", left)
	}
	l.report(t)
}

// island writes a farm for the keeper from a list of notes on vessels that are
// made as they are named.
type island struct {
	t     *testing.T
	k     *keeper.Keeper
	ids   *farm.IDs
	known map[string]bool
	at    time.Time
}

type chacha struct{ *rand.ChaCha8 }

func newIsland(t *testing.T, now time.Time, normals bool) *island {
	t.Helper()
	ctx := context.Background()
	store, err := sqlite.OpenTemp(ctx, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	k, err := keeper.Open(ctx, store, func() time.Time { return now }, keeper.Options{Members: 16, Draws: 4})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(k.Close)
	i := &island{t: t, k: k, ids: farm.NewIDs(chacha{rand.NewChaCha8(sha256.Sum256([]byte("island")))}), known: map[string]bool{}, at: now.Add(-72 * time.Hour)}
	site := map[string]any{"id": "isle", "name": "Invented isle", "lat_deg": 36.4, "lon_deg": -31, "timezone": "UTC", "measures": "us"}
	if normals {
		var months []farm.Month
		for range 12 {
			months = append(months, farm.Month{GHIMJM2D: 8, TMinC: 16, TMaxC: 24, RHPct: 70, WindMS: 3, RainMM: 5, RainDays: 1})
		}
		site["normals"] = months
	}
	i.note(0, "", "site", site)
	return i
}

// note writes an entry, hours after the farm began.
func (i *island) note(hours float64, vessel, kind string, body map[string]any) farm.Entry {
	i.t.Helper()
	if vessel != "" && !i.known[vessel] {
		i.known[vessel] = true
		i.note(0, "", "vessel", map[string]any{
			"id": vessel, "place": "outdoors", "full_level_cm": 18, "shade_pct": 40, "food": true, "use": "grow", "stirring": map[string]any{"kind": "continuous"},
			"shape": map[string]any{"kind": "box", "length_m": 2, "width_m": 1, "height_m": 0.3},
		})
		if kind != "vessel" {
			i.note(1, vessel, "inoculated", map[string]any{"volume_l": 350, "density_g_per_l": 0.6})
		}
	}
	at := i.at.Add(time.Duration(hours * float64(time.Hour)))
	id, err := i.ids.Make(at)
	if err != nil {
		i.t.Fatal(err)
	}
	raw, err := json.Marshal(body)
	if err != nil {
		i.t.Fatal(err)
	}
	got, err := i.k.Append(context.Background(), []farm.Entry{{ID: id, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at, By: "tester", Body: raw}}, farm.Sent)
	if err != nil {
		i.t.Fatalf("%s %s: %v", vessel, kind, err)
	}
	return got[0]
}

// Whatever begins a hold, whatever is doubted, wherever weather comes from: the
// keeper's keys are in the catalogue and carry what their sentences need.
func TestKeeperIsSaid(t *testing.T) {
	l := newListener()
	ctx := context.Background()
	now := time.Date(2026, 6, 18, 8, 0, 0, 0, time.UTC)
	i := newIsland(t, now, true)
	holds := map[string]map[string]any{
		"foreign-cells": {"kind": "microscope", "foreign_seen": 2}, "mice": {"kind": "animals", "animals": []string{"mice"}},
		"milky": {"kind": "colour", "colour": "milky"}, "apart": {"kind": "quarantined", "reason": "new here"}, "by-hand": {"kind": "held", "reason": "to be asked"},
	}
	for _, s := range []string{"earthy", "ammonia", "rotten", "chlorine", "other"} {
		holds["smells-"+s] = map[string]any{"kind": "smell", "smell": s}
	}
	for _, e := range []string{"flood", "smoke", "ash", "spray", "soil", "glass"} {
		holds["event-"+e] = map[string]any{"kind": "event", "event": e}
	}
	begun := map[string]bool{}
	for _, vessel := range slices.Sorted(maps.Keys(holds)) {
		body := holds[vessel]
		kind := body["kind"].(string)
		delete(body, "kind")
		i.note(70, vessel, kind, body)
		i.k.Read(func(p *farm.Present) {
			for _, h := range p.OnHold(vessel, now) {
				begun[h.Reason] = true
			}
		})
	}
	for _, r := range farm.HoldReasons {
		if !begun[r] {
			t.Errorf("no vessel of this test is on hold for %s", r)
		}
	}
	i.note(65, "thinner", "harvested", map[string]any{"volume_l": 200})
	i.note(65, "poured", "topped_up", map[string]any{"with": "medium", "volume_l": 40})
	i.note(66, "poured", "topped_up", map[string]any{"with": "water", "volume_l": 30})
	i.note(60, "thicker", "inoculated", map[string]any{"volume_l": 100, "density_g_per_l": 3})
	i.note(60, "doubted", "ph", map[string]any{"ph": 7.2})
	i.note(61, "doubted", "temperature", map[string]any{"temp_c": 79})
	i.note(62, "doubted", "level", map[string]any{"level_cm": 3})
	i.note(63, "doubted", "conductivity", map[string]any{"conductivity_ms_per_cm": 80})
	i.note(64, "doubted", "optical_density", map[string]any{"od_750": 4})
	i.note(65, "doubted", "dry_weight", map[string]any{"dry_weight_g_per_l": 5})
	i.note(66, "doubted", "secchi", map[string]any{"secchi_cm": 17})
	i.note(66, "doubted", "nitrate", map[string]any{"nitrate_mg_per_l": 40000})
	i.note(60, "fed", "fed", map[string]any{"salts_g": map[string]any{"CO(NH2)2": 80}})
	i.note(60, "emptied", "discarded", map[string]any{"all": true})
	day, err := i.k.Today(ctx, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	l.today(&day)
	for _, v := range day.Vessels {
		f, err := i.k.Forecast(ctx, v.Spec.ID, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		l.hear(advice.Reason{Key: f.Weather})
		for _, x := range f.Limits {
			l.hear(advice.Reason{Key: "limit." + x.Key})
		}
		readings, marks, err := i.k.History(ctx, v.Spec.ID, time.Time{})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range marks {
			l.hear(advice.Reason{Key: "kind." + m.Act})
		}
		for _, r := range readings {
			if r.Doubt == "" {
				continue
			}
			why, ok := i.k.Doubted(r.EntryID)
			if !ok {
				t.Errorf("%s of %s is doubted for %s, and Doubted says nothing of it", r.Quantity, v.Spec.ID, r.Doubt)
			}
			l.hear(why)
		}
	}
	guess := newIsland(t, now, false)
	guess.note(70, "pond", "temperature", map[string]any{"temp_c": 21})
	f, err := guess.k.Forecast(ctx, "pond", time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	l.hear(advice.Reason{Key: f.Weather})

	// What comes too rarely for this farm, with what the keeper gives it.
	l.hear(advice.Reason{Key: "doubt.too_late", Args: map[string]any{"age_d": 730.0, "reach_d": 120.0}})
	for _, key := range []string{"collapsed", "at_bound", "misfit", "idle"} {
		l.hear(advice.Reason{Key: "trouble." + key, Args: map[string]any{"variable": "scale", "share_pct": 30.0, "quantity": "ph", "ratio": 2.1}})
	}

	// The rest of the keeper's keys, and the farm's doubts, need no argument.
	for key, args := range map[string]map[string]any{ // what no pond of this test happens to do
		"change.hot": {"high_c": 41.2}, "change.ph_up": {"ph_25c": 10.4, "before_ph": 10.1}, "change.ph_down": {"ph_25c": 9.8, "before_ph": 10.1},
		"change.level_up": {"by_cm": 1.2}, "change.level_down": {"by_cm": 1.2}, "change.cold": {"low_c": 11.0},
	} {
		l.hear(advice.Reason{Key: key, Args: args})
	}
	for _, key := range append(keysIn(t, "../../keeper"), farm.DoubtKeys...) {
		if !l.said[key] && l.wrong[key] == "" {
			l.hear(advice.Reason{Key: key})
		}
	}
	l.report(t)
}
