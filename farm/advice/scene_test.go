package advice

import (
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/BurntSushi/toml"

	"sodalake/science/num"
)

// A scene is a situation that a grower can read, with the advice that it must
// bring and the advice that would be wrong. It lies in testdata as NAME.toml,
// and beside it as NAME.twin.toml its twin: the same with one input changed,
// in which the advice must be another. All are invented.
type scene struct {
	Story     string         // the situation in words
	Situation map[string]any // what differs from the usual farm, by the keys of inputs
	Change    map[string]any // of a twin: the one input that differs
	Says      []said
	Not       []said `toml:"must_not_say"`
}

// said is one item. Of what must not be said, an act alone means that act for
// any reason.
type said struct {
	Act     string
	At      string // vessel; "" for any
	Because string // key of the reason without "reason."
	When    string // urgency, where it matters
	Amount  []float64
	Unit    string
	Why     string // of what must not be said: what it would do
}

func readScene(t testing.TB, file string) scene {
	t.Helper()
	var s scene
	meta, err := toml.DecodeFile(file, &s)
	if err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	left := slices.DeleteFunc(meta.Undecoded(), func(k toml.Key) bool { return k[0] == "situation" || k[0] == "change" })
	if len(left) > 0 {
		t.Fatalf("%s: %v is not understood", file, left)
	}
	return s
}

// flat turns nested tables into keys with points: {"pond": {"level_cm": 1}} is
// {"pond.level_cm": 1}.
func flat(m map[string]any) map[string]any {
	out := map[string]any{}
	for k, v := range m {
		if in, ok := v.(map[string]any); ok {
			for k2, v2 := range flat(in) {
				out[k+"."+k2] = v2
			}
			continue
		}
		out[k] = v
	}
	return out
}

// usual is the farm that scenes start from: a dark, warm, looked-after pond at
// 07:40 of a June day, and a young reserve on an indoor sill.
func usual() *Situation {
	return &Situation{Now: morning, Site: "here", Rules: DefaultRules(), LastNoted: morning.Add(-time.Hour), Vessels: []Vessel{ready(), sill()}}
}

// sill is an invented reserve: renewed nine days ago, looked at the day before.
func sill() Vessel {
	v := ready()
	v.ID, v.Name, v.Reserve, v.Indoor, v.SideLit, v.Outdoors, v.ReserveAge = "sill", "Sill", true, true, true, false, 9
	v.AreaM2, v.FullLevelCM, v.RimCM = 0.02, 0, 25
	v.Level, v.Volume, v.Density = num.Band{Low: 17, Mid: 18, High: 19}, num.Band{Low: 3.4, Mid: 3.6, High: 3.8}, num.Band{Low: 0.3, Mid: 0.4, High: 0.5}
	v.LastLook.At, v.ChanceNow = morning.Add(-24*time.Hour), 0.1
	return v
}

// nursery is an invented starter tank that is dark, with a pond of 1500 L that
// stands empty.
func nursery() Vessel {
	v := sill()
	v.ID, v.Name, v.Starter, v.Indoor = "nursery", "Nursery", true, false
	v.Volume, v.Density, v.ChanceNow = num.Band{Low: 190, Mid: 200, High: 210}, num.Band{Low: 0.6, Mid: 0.7, High: 0.8}, 0.9
	v.Into = &Larger{ID: "big", Name: "Big pond", FullL: 1500, Outdoors: true, ShadePct: 60, Water: num.Band{Low: 23, Mid: 24, High: 25}, ChlorineMg: -1}
	return v
}

// put sets one input. Numbers that end in _ago or _in are days or hours from
// the scene's clock, as their name says.
func put(s *Situation, key string, val any) error {
	who, field, ok := strings.Cut(key, ".")
	if !ok {
		if key == "clock" {
			at, err := time.Parse("15:04", val.(string))
			s.Now = time.Date(2026, 6, 18, at.Hour(), at.Minute(), 0, 0, morning.Location())
			return err
		}
		return fmt.Errorf("%q is no input", key)
	}
	var target any
	switch who {
	case "farm":
		switch field {
		case "leave_d_in":
			s.Absence.From = s.Now.Add(days(number(val)))
		case "back_d_in":
			s.Absence.Until = s.Now.Add(days(number(val)))
		case "silent_d":
			s.LastNoted = s.Now.Add(-days(number(val)))
		default:
			return fmt.Errorf("%q is no input", key)
		}
		return nil
	case "lot":
		s.Lots = grown(s.Lots, Lot{ID: "l7", Vessel: "pond", OffPond: s.Now.Add(-time.Hour)})
		target = &s.Lots[0]
	case "cloth":
		s.Tools = grown(s.Tools, Tool{ID: "cloth", Name: "Cloth", EveryUse: true})
		target = &s.Tools[0]
	case "scale":
		s.Instruments = grown(s.Instruments, Instrument{ID: "scale", Name: "Scale", EveryDays: 90})
		target = &s.Instruments[0]
	case "meter":
		s.Meters = grown(s.Meters, Meter{ID: "meter", Name: "Meter", DueDays: 14, Bias: 0.1})
		target = &s.Meters[0]
	case "soda":
		s.Needs = grown(s.Needs, Need{Of: "baking-soda", Name: "baking soda", LeftG: 900, RateGPD: 60})
		if field == "runs_out_d_in" {
			b, err := bandFrom(val)
			s.Needs[0].RunsOut = Crossing{s.Now.Add(days(b.Low)), s.Now.Add(days(b.Mid)), s.Now.Add(days(b.High))}
			return err
		}
		target = &s.Needs[0]
	default:
		if who == "nursery" && vesselNamed(s, who) == nil {
			s.Vessels = append(s.Vessels, nursery())
		}
		v := vesselNamed(s, who)
		if v == nil {
			return fmt.Errorf("%q: there is no %s", key, who)
		}
		if field == "absent" {
			s.Vessels = slices.DeleteFunc(s.Vessels, func(v Vessel) bool { return v.ID == who && val.(bool) })
			return nil
		}
		return v.put(s.Now, field, val)
	}
	return assign(reflect.ValueOf(target).Elem(), s.Now, field, val)
}

func grown[T any](list []T, one T) []T {
	if len(list) == 0 {
		return append(list, one)
	}
	return list
}

// put sets what is not simply a field of its name.
func (v *Vessel) put(now time.Time, field string, val any) error {
	switch field {
	case "smells_of":
		v.Smells, v.SmellsOf = Event{"sm", now.Add(-time.Hour)}, val.(string)
		if val == "" {
			v.Smells = Event{}
		}
	case "held_for":
		v.Holds = []Held{{Event: Event{"ho", now.Add(-30 * time.Hour)}, Why: "reason.hold." + val.(string), Of: "as somebody said"}}
		if val == "" {
			v.Holds = nil
		}
	case "doubted":
		quantity := map[string]string{"secchi": "secchi_cm", "ph": "ph", "temperature": "temp_c", "level": "level_cm", "conductivity": "conductivity_ms_per_cm", "optical_density": "od_750", "dry_weight": "dry_weight_g_per_l", "reading": "nitrate_mg_per_l"}[val.(string)]
		v.Doubts = []Doubtful{{Event: Event{"do", now.Add(-time.Hour)}, Kind: val.(string), Quantity: quantity, Value: 7.1, Expected: num.Band{Low: 10, Mid: 10.1, High: 10.2}}}
	case "disc_would_narrow":
		v.LastSecchi.At = now.Add(-20 * time.Hour)
		v.Worth = []Worth{{Kind: "secchi", Share: number(val), Last: v.LastSecchi}}
	case "doubted_again":
		v.Doubts[0].Again = int(number(val))
	case "ready_d_in":
		b, err := bandFrom(val)
		at := func(d float64) time.Time {
			if d > 10 {
				return time.Time{} // beyond the horizon
			}
			return now.Add(days(d))
		}
		v.Ready = Crossing{at(b.Low), at(b.Mid), at(b.High)}
		return err
	case "shaded_would_reach_c", "vented_would_reach_c", "deepened_would_reach_c":
		b, err := bandFrom(val)
		act := map[string]string{"shaded": "shade", "vented": "vent", "deepened": "deepen"}[strings.TrimSuffix(field, "_would_reach_c")]
		v.Helps = append(slices.DeleteFunc(v.Helps, func(h Help) bool { return h.Act == act }), Help{act, b})
		return err
	case "feed_rest_g_per_g":
		v.FeedRest = map[string]float64{"K2HPO4": number(val)}
	default:
		if in, ok := strings.CutPrefix(field, "into_"); ok && v.Into != nil {
			return assign(reflect.ValueOf(v.Into).Elem(), now, in, val)
		}
		if in, ok := strings.CutPrefix(field, "loss_"); ok {
			return assign(reflect.ValueOf(&v.Loss).Elem(), now, in, val)
		}
		return assign(reflect.ValueOf(v).Elem(), now, field, val)
	}
	return nil
}

var (
	timeType  = reflect.TypeFor[time.Time]()
	eventType = reflect.TypeFor[Event]()
	bandType  = reflect.TypeFor[num.Band]()
)

// units are the endings that an input's name carries beside its field's.
var units = []string{"_g_per_l", "_g_per_d", "_ms_per_cm", "_mg_per_l", "_cm", "_mm", "_pct", "_g", "_c", "_l", "_d", "_1"}

// assign sets the field of a struct that a name in snake case means.
func assign(to reflect.Value, now time.Time, name string, val any) error {
	squash := func(x string) string { return strings.ToLower(strings.ReplaceAll(x, "_", "")) }
	at := time.Time{}
	base := name
	for _, e := range []struct {
		end  string
		unit float64 // days
	}{{"_d_ago", -1}, {"_h_ago", -1. / 24}, {"_d_in", 1}, {"_h_in", 1. / 24}} {
		if b, ok := strings.CutSuffix(name, e.end); ok {
			base = b
			if val != "never" {
				at = now.Add(days(e.unit * number(val)))
			}
		}
	}
	names := []string{base}
	for _, u := range units {
		if b, ok := strings.CutSuffix(base, u); ok {
			names = append(names, b)
		}
	}
	for _, n := range names {
		f := to.FieldByNameFunc(func(field string) bool { return squash(field) == squash(n) })
		if !f.IsValid() {
			continue
		}
		switch {
		case f.Type() == timeType && !at.IsZero():
			f.Set(reflect.ValueOf(at))
		case f.Type() == eventType && !at.IsZero():
			f.Set(reflect.ValueOf(Event{ID: n, At: at}))
		case (f.Type() == timeType || f.Type() == eventType) && val == "never":
			f.SetZero()
		case f.Type() == bandType:
			b, err := bandFrom(val)
			f.Set(reflect.ValueOf(b))
			return err
		case f.Kind() == reflect.Float64:
			f.SetFloat(number(val))
		case f.Kind() == reflect.Int:
			f.SetInt(int64(number(val)))
		case f.Kind() == reflect.Bool:
			f.SetBool(val.(bool))
		case f.Kind() == reflect.String:
			f.SetString(val.(string))
		default:
			return fmt.Errorf("%q cannot be %v", name, val)
		}
		return nil
	}
	return fmt.Errorf("%q is no input", name)
}

func number(val any) float64 {
	switch x := val.(type) {
	case float64:
		return x
	case int64:
		return float64(x)
	}
	panic(fmt.Sprintf("%v is no number", val))
}

// bandFrom reads [low, middle, high], or one number that is exactly known.
func bandFrom(val any) (num.Band, error) {
	list, ok := val.([]any)
	if !ok {
		x := number(val)
		return num.Band{Low: x, Mid: x, High: x}, nil
	}
	if len(list) != 3 {
		return num.Band{}, fmt.Errorf("%v is not low, middle and high", val)
	}
	return num.Band{Low: number(list[0]), Mid: number(list[1]), High: number(list[2])}, nil
}

// play makes a situation of inputs; the clock is set first.
func play(t testing.TB, inputs map[string]any) *Situation {
	t.Helper()
	s := usual()
	keys := slices.Sorted(maps.Keys(inputs))
	slices.SortStableFunc(keys, func(a, b string) int { return weight(a) - weight(b) })
	for _, k := range keys {
		if err := put(s, k, inputs[k]); err != nil {
			t.Fatal(err)
		}
	}
	return s
}

// weight sets the clock before what counts from it, and what leaves last.
func weight(key string) int {
	switch {
	case key == "clock":
		return 0
	case strings.HasSuffix(key, ".absent"):
		return 2
	}
	return 1
}

func sceneFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join("testdata", "*.toml"))
	if err != nil {
		t.Fatal(err)
	}
	return slices.DeleteFunc(files, func(f string) bool { return strings.HasSuffix(f, ".twin.toml") })
}

// heard checks the advice against what a scene says of it.
func heard(t *testing.T, sc *scene, items []Item) {
	t.Helper()
	for _, want := range sc.Says {
		i := slices.IndexFunc(items, func(it Item) bool { return want.is(&it) })
		if i < 0 {
			t.Errorf("must say %s because %s, says %v", want.Act, want.Because, spoken(items))
			continue
		}
		it := &items[i]
		if want.When != "" && string(it.Urgency) != want.When {
			t.Errorf("%s is due %s, want %s", it.Act, it.Urgency, want.When)
		}
		if len(want.Amount) != 2 {
			continue
		}
		if it.Amount == nil || it.Amount.Unit != want.Unit || it.Amount.Value < want.Amount[0]-1e-9 || it.Amount.Value > want.Amount[1]+1e-9 {
			t.Errorf("%s of %+v, want %v %s", it.Act, it.Amount, want.Amount, want.Unit)
		}
	}
	for _, no := range sc.Not {
		if i := slices.IndexFunc(items, func(it Item) bool { return no.is(&it) }); i >= 0 {
			t.Errorf("must not say %s: %s", spoken(items[i : i+1])[0], no.Why)
		}
		if no.Why == "" {
			t.Errorf("must_not_say %s does not say why", no.Act)
		}
	}
	if len(sc.Says) == 0 {
		t.Error("says nothing")
	}
}

func (w *said) is(it *Item) bool {
	return it.Act == w.Act && (w.At == "" || it.Vessel == w.At) && (w.Because == "" || it.Reason.Key == "reason."+w.Because)
}

// spoken is the list as a line each.
func spoken(items []Item) []string {
	var out []string
	for i := range items {
		it := &items[i]
		line := fmt.Sprintf("%s %s %s because %s", it.Vessel, it.Urgency, it.Act, strings.TrimPrefix(it.Reason.Key, "reason."))
		if it.Amount != nil {
			line += fmt.Sprintf(" (%.3g %s)", it.Amount.Value, it.Amount.Unit)
		}
		out = append(out, line)
	}
	return out
}

// TestScenes plays every scene and its twin.
func TestScenes(t *testing.T) {
	files := sceneFiles(t)
	if len(files) < 60 {
		t.Errorf("%d scenes, want at least 60", len(files))
	}
	wrong := 0
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".toml")
		sc := readScene(t, file)
		inputs := flat(sc.Situation)
		items := List(play(t, inputs))
		t.Run(name, func(t *testing.T) {
			heard(t, &sc, items)
			accepted(t, play(t, inputs), items)
			wrong += len(sc.Not)
		})
		t.Run(name+" twin", func(t *testing.T) {
			twin := readScene(t, strings.TrimSuffix(file, ".toml")+".twin.toml")
			change := flat(twin.Change)
			if len(change) != 1 || twin.Situation != nil {
				t.Fatalf("changes %v, want one input", change)
			}
			other := maps.Clone(inputs)
			for k, v := range change {
				if was, told := inputs[k]; told && reflect.DeepEqual(was, v) {
					t.Fatalf("%s is %v in both", k, v)
				}
				other[k] = v
			}
			then := List(play(t, other))
			heard(t, &twin, then)
			accepted(t, play(t, other), then)
			if slices.Equal(spoken(items), spoken(then)) {
				t.Errorf("the advice is the same: %v", spoken(then))
			}
			wrong += len(twin.Not)
		})
	}
	if wrong < len(files) {
		t.Errorf("%d wrong advices are named in %d scenes, want one in each", wrong, len(files))
	}
	twins, _ := filepath.Glob(filepath.Join("testdata", "*.twin.toml"))
	if len(twins) != len(files) {
		t.Errorf("%d scenes and %d twins", len(files), len(twins))
	}
}

// TestEveryRuleHasAScene reads the keys of reasons from the source, so that no
// rule can be added without a scene in which it speaks, and fails for those
// that none makes speak.
func TestEveryRuleHasAScene(t *testing.T) {
	said := map[string]bool{}
	for _, file := range sceneFiles(t) {
		for _, f := range []string{file, strings.TrimSuffix(file, ".toml") + ".twin.toml"} {
			sc := readScene(t, f)
			for _, w := range sc.Says {
				said["reason."+w.Because] = true
			}
		}
	}
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		b, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, part := range strings.Split(string(b), `"`) {
			if !strings.HasPrefix(part, "reason.") || strings.HasSuffix(part, ".") {
				continue
			}
			found++
			if !said[part] {
				t.Errorf("%s speaks because of %s in no scene", file, part)
			}
		}
	}
	if found < 80 {
		t.Fatalf("only %d reasons found: the source is no longer read", found)
	}
}
