package farm

import (
	"encoding/json"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// told writes down all that p tells, for comparison.
func told(t testing.TB, p *Present) string {
	t.Helper()
	var b strings.Builder
	write := func(name string, v any) {
		j, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(&b, "%s %s\n", name, j)
	}
	write("sites", p.Sites())
	write("vessels", p.Vessels())
	write("people", p.People())
	write("instruments", p.Instruments())
	write("recipes", p.Recipes())
	write("waters", p.Waters())
	write("lots", p.Lots())
	for _, v := range []string{"", "lantern-pond", "boat-pond", "cistern", "sill", "sensor"} {
		for _, e := range p.Timeline(v, time.Time{}, time.Time{}) {
			fmt.Fprintf(&b, "%s %s %s %s %s\n", v, e.Entry.ID, e.Kind.Name, e.Entry.At, e.Entry.Body)
			write(" flows", e.Flows)
			write(" doubts", e.Doubts)
			write(" readings", e.Readings())
		}
		write("holds "+v, p.Holds(v, time.Time{}))
		write("lineage "+v, p.Lineage(v, time.Time{}))
		write("offspring "+v, p.Offspring(v, time.Time{}))
		write("sensors "+v, p.Sensors(v))
	}
	write("weather", p.Weather(""))
	for _, e := range p.Answers("item-1") {
		write("answer", e.Entry.ID)
	}
	return b.String()
}

// season draws a season of readings, acts, corrections and withdrawals.
func season(t *rapid.T, n *notebook) {
	vessels := []string{"lantern-pond", "boat-pond", "cistern", "sill"}
	var noted []Entry
	for range rapid.IntRange(1, 40).Draw(t, "entries") {
		v := rapid.SampledFrom(vessels).Draw(t, "vessel")
		other := rapid.SampledFrom(vessels).Draw(t, "other")
		if other == v {
			other = "drain"
		}
		kind, body := "ph", fmt.Sprintf(`{"ph":%.1f}`, rapid.Float64Range(6, 12).Draw(t, "ph"))
		switch rapid.IntRange(0, 9).Draw(t, "what") {
		case 0:
			kind, body = "split", fmt.Sprintf(`{"to":%q,"volume_l":%d}`, other, rapid.IntRange(1, 3000).Draw(t, "litres"))
			if other == "drain" {
				kind = "drew_off"
			}
		case 1:
			kind, body = "harvested", `{"volume_l":50,"lot":"l-1"}`
		case 2:
			kind, body = "microscope", `{"filaments_seen":100,"foreign_seen":1}`
		case 3:
			kind, body = "shaded", `{"shade_pct":40}`
		case 4:
			kind, body = "secchi", `{"secchi_cm":36}`
		case 5:
			if other != "drain" {
				kind, body = "moved", fmt.Sprintf(`{"to":%q}`, other)
			}
		case 6:
			kind, v = "vessel", ""
			body = fmt.Sprintf(`{"id":"boat-pond","shape":{"kind":"box","length_m":%d,"width_m":1,"height_cm":30}}`, rapid.IntRange(1, 5).Draw(t, "length"))
		case 7:
			if len(noted) > 0 {
				hold := rapid.SampledFrom(noted).Draw(t, "hold")
				kind, body = "released", fmt.Sprintf(`{"hold":%q,"reason":"looked again"}`, hold.ID)
			}
		}
		// Days that repeat, so that entries fall on the same moment.
		at := noon.Add(-time.Duration(rapid.IntRange(0, 10).Draw(t, "days ago")) * 24 * time.Hour)
		if len(noted) > 0 && rapid.IntRange(0, 3).Draw(t, "corrects") == 0 {
			old := rapid.SampledFrom(noted).Draw(t, "old")
			if rapid.Bool().Draw(t, "withdraw") {
				kind, v, body = "withdrawn", "", `{}`
			}
			e := n.correct(old, v, kind, body)
			e.NotedAt = at // a phone whose clock is wrong
			n.all[len(n.all)-1] = e
			noted = append(noted, e)
			continue
		}
		e := n.at(at, v, kind, body)
		e.Item = rapid.SampledFrom([]string{"", "item-1"}).Draw(t, "item")
		n.all[len(n.all)-1] = e
		noted = append(noted, e)
	}
}

// The order in which entries arrive, and whether they come at once or one by
// one, does not change what the farm is told to be.
func TestArrivalDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := lighthouse(t)
		season(rt, n)
		entries := n.settled()
		want := told(t, n.present())

		shuffled := slices.Clone(entries)
		rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 0)).Shuffle(len(shuffled), func(i, j int) {
			shuffled[i], shuffled[j] = shuffled[j], shuffled[i]
		})
		p := NewPresent()
		for i, e := range shuffled {
			e.Seq = int64(i + 1)
			p.Apply(e)
			p.Apply(e) // sent twice
			if i%7 == 0 {
				told(t, p) // reading on the way changes nothing
			}
		}
		if got := told(t, p); got != want {
			rt.Fatalf("in another order:\n%s\nwant\n%s", got, want)
		}
		if p.Len() != len(entries) || p.Seq() != int64(len(entries)) {
			rt.Fatalf("%d entries to place %d, want %d", p.Len(), p.Seq(), len(entries))
		}
		whole := NewPresent()
		if err := whole.Fold(func(yield func(Entry, error) bool) {
			for _, e := range entries {
				if !yield(e, nil) {
					return
				}
			}
		}); err != nil {
			rt.Fatal(err)
		}
		if got := told(t, whole); got != want {
			rt.Fatalf("folded at once:\n%s\nwant\n%s", got, want)
		}
	})
}

// What an entry touches is all whose timeline changes, from the time on from
// which it changes.
func TestTouchesCoverWhatChanges(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := lighthouse(t)
		season(rt, n)
		entries := n.settled()
		p := NewPresent()
		vessels := []string{"lantern-pond", "boat-pond", "cistern", "sill"}
		state := func(v string) []string {
			var out []string
			for _, e := range p.Timeline(v, time.Time{}, time.Time{}) {
				out = append(out, fmt.Sprint(e.Entry.At.UnixMilli(), e.Entry.ID))
			}
			return out
		}
		for _, e := range entries {
			before := map[string][]string{}
			for _, v := range vessels {
				before[v] = state(v)
			}
			since := map[string]int64{}
			for _, touch := range p.Apply(e) {
				since[touch.Vessel] = touch.Since.UnixMilli()
			}
			for _, v := range vessels {
				after := state(v)
				first := 0
				for first < len(after) && first < len(before[v]) && after[first] == before[v][first] {
					first++
				}
				for _, list := range [][]string{before[v], after} {
					for _, line := range list[min(first, len(list)):] {
						var ms int64
						fmt.Sscan(line, &ms)
						from, touched := since[v]
						if line == "" || slices.Contains(before[v], line) && slices.Contains(after, line) {
							continue
						}
						if !touched || from > ms {
							rt.Fatalf("%s changed at %d (%s); Apply of %s %s said %v", v, ms, line, e.Kind, e.Body, since)
						}
					}
				}
			}
		}
	})
}

// What happened in a vessel reaches those that took culture from it later, and
// no others.
func TestTouchesGoWithTheCulture(t *testing.T) {
	n := lighthouse(t)
	n.note("cistern", "split", `{"to":"sill","volume_l":1}`)
	wrong := n.note("cistern", "ph", `{"ph":10.9}`)
	split := n.note("cistern", "split", `{"to":"boat-pond","volume_l":100}`)
	again := n.note("boat-pond", "split", `{"to":"lantern-pond","volume_l":50}`)
	p := n.present()
	fix := n.correct(wrong, "cistern", "ph", `{"ph":9.9}`)
	fix.ReceivedAt = noon
	got := map[string]time.Time{}
	for _, touch := range p.Apply(fix) {
		got[touch.Vessel] = touch.Since
	}
	want := map[string]time.Time{"cistern": wrong.At, "boat-pond": split.At, "lantern-pond": again.At}
	if !maps.EqualFunc(got, want, time.Time.Equal) {
		t.Errorf("the correction touched %v, want %v", got, want)
	}
}

func TestCorrections(t *testing.T) {
	n := lighthouse(t)
	a := n.note("lantern-pond", "ph", `{"ph":1.01}`)
	values := func() string {
		var out []string
		for _, r := range n.present().Readings("lantern-pond", time.Time{}, time.Time{}) {
			out = append(out, fmt.Sprintf("%s %s %g", r.At.Format("15:04"), r.Key, r.Value))
		}
		return strings.Join(out, ", ")
	}
	at := a.At.Format("15:04")
	step := func(what, want string) {
		t.Helper()
		if got := values(); got != want {
			t.Errorf("%s: %q, want %q", what, got, want)
		}
	}
	step("first", at+" ph 1.01")
	b := n.correct(a, "lantern-pond", "ph", `{"ph":10.1}`)
	step("corrected", at+" ph 10.1")
	c := n.correct(b, "lantern-pond", "temperature", `{"temp_c":24}`)
	step("corrected again, as another kind", at+" temp_c 24")
	w := n.correct(c, "", "withdrawn", `{"reason":"wrong pond"}`)
	step("withdrawn", "")
	if known, stands, by := n.present().Standing(a.ID); !known || stands || !slices.Equal(by, []string{b.ID}) {
		t.Errorf("the first entry: %v %v %v", known, stands, by)
	}
	n.correct(w, "lantern-pond", "ph", `{"ph":10.3}`)
	step("noted after all", at+" ph 10.3")

	// Two phones correct the same entry: the word noted last stands, with a doubt.
	d := n.note("lantern-pond", "ph", `{"ph":9.9}`)
	one := n.correct(d, "lantern-pond", "ph", `{"ph":9.8}`)
	two := n.correct(d, "lantern-pond", "ph", `{"ph":9.7}`)
	p := n.present()
	if _, ok := p.Event(one.ID); ok {
		t.Error("both corrections stand")
	}
	e, ok := p.Event(two.ID)
	if !ok || len(e.Doubts) != 1 || e.Doubts[0].Key != DoubtRivals {
		t.Errorf("the last correction stands as %+v, %v", e.Doubts, ok)
	}
	// The vessel was wrong: the reading leaves one line for the other.
	f := n.note("lantern-pond", "level", `{"level_cm":12}`)
	n.correct(f, "boat-pond", "level", `{"level_cm":12}`)
	p = n.present()
	if got := len(p.Readings("boat-pond", time.Time{}, time.Time{}, "level_cm")); got != 1 {
		t.Errorf("%d levels in the boat pond, want 1", got)
	}
	if got := len(p.Readings("lantern-pond", time.Time{}, time.Time{}, "level_cm")); got != 0 {
		t.Errorf("%d levels in the lantern pond, want none", got)
	}
	// Corrections that name each other in a ring (no Check would take them) end.
	x := n.note("lantern-pond", "ph", `{"ph":9}`)
	y := n.correct(x, "lantern-pond", "ph", `{"ph":9}`)
	n.all[slices.IndexFunc(n.all, func(e Entry) bool { return e.ID == x.ID })].Corrects = y.ID
	n.present()
}

func TestTimelineIsCutAsSaid(t *testing.T) {
	n := lighthouse(t)
	var all []Entry
	for i := range 5 {
		all = append(all, n.note("lantern-pond", "ph", fmt.Sprintf(`{"ph":%d}`, 8+i%3)))
	}
	p := n.present()
	for _, c := range []struct {
		from, to time.Time
		want     int
	}{
		{time.Time{}, time.Time{}, 5},
		{all[1].At, time.Time{}, 4},
		{all[1].At, all[3].At, 2},
		{all[1].At.Add(1), all[3].At.Add(1), 2},
		{time.Time{}, all[0].At, 0},
		{all[4].At.Add(time.Hour), time.Time{}, 0},
		{all[3].At, all[1].At, 0},
	} {
		if got := len(p.Timeline("lantern-pond", c.from, c.to)); got != c.want {
			t.Errorf("from %s to %s: %d events, want %d", c.from, c.to, got, c.want)
		}
	}
	if r, ok := p.LastReading("lantern-pond", "ph", time.Time{}); !ok || r.EntryID != all[4].ID {
		t.Errorf("last reading %+v", r)
	}
	if r, ok := p.LastReading("lantern-pond", "ph", all[4].At); !ok || r.EntryID != all[3].ID {
		t.Errorf("last reading before the last %+v", r)
	}
	if _, ok := p.LastReading("boat-pond", "ph", time.Time{}); ok {
		t.Error("a reading where there is none")
	}
	if got := p.Timeline("no-such", time.Time{}, time.Time{}); got != nil {
		t.Errorf("timeline of no vessel: %v", got)
	}
}

// What was written down late stands where it happened; of what happened at the
// same moment, what was written down first stands first.
func TestOrderIsThatOfWhatHappened(t *testing.T) {
	n := lighthouse(t)
	early := n.note("cistern", "ph", `{"ph":9.1}`)
	late := n.note("cistern", "ph", `{"ph":9.2}`)
	same := n.at(late.At, "cistern", "ph", `{"ph":9.3}`)
	n.all[len(n.all)-3].NotedAt = noon // early, written down last
	n.all[len(n.all)-1].NotedAt = late.At.Add(-time.Minute)
	var got []string
	for _, e := range n.present().Timeline("cistern", time.Time{}, time.Time{}) {
		got = append(got, e.Entry.ID)
	}
	if want := []string{early.ID, same.ID, late.ID}; !slices.Equal(got, want) {
		t.Errorf("order %v, want %v", got, want)
	}
}

func TestReadingsTakenApart(t *testing.T) {
	n := lighthouse(t)
	n.note("lantern-pond", "reading", `{"secchi_cm":2.4,"ph":10.2,"ops":{"secchi_cm":">"},"instrument":"meter-2","instruments":{"secchi_cm":"stick-1"},"stirred_min_ago":12,"flags":["low_sun"],"animals":["flies","larvae"]}`)
	n.note("lantern-pond", "secchi", `{"secchi_cm":30,"op":">","temp_c":20,"instrument":"stick-1"}`)
	n.note("lantern-pond", "smell", `{"smell":"grassy"}`)
	var got []string
	for _, r := range n.present().Readings("lantern-pond", time.Time{}, time.Time{}) {
		stirred := -1.0
		if r.StirredMinAgo != nil {
			stirred = *r.StirredMinAgo
		}
		got = append(got, fmt.Sprintf("%s %s%g %q %s %v %g", r.Key, r.Op, r.Value, r.Word, r.Instrument, r.Flags, stirred))
	}
	want := []string{
		`secchi_cm >2.4 "" stick-1 [low_sun] 12`,
		`ph =10.2 "" meter-2 [low_sun] 12`,
		`animals =0 "flies larvae" meter-2 [low_sun] 12`,
		`secchi_cm >30 "" stick-1 [] -1`,
		`temp_c =20 ""  [] -1`,
		`smell =0 "grassy"  [] -1`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}

func TestVesselAt(t *testing.T) {
	n := lighthouse(t)
	before, _ := n.present().Vessel("boat-pond")
	shade := n.note("boat-pond", "shaded", `{"shade_pct":60}`)
	cover := n.note("boat-pond", "covered", `{"cover":"film"}`)
	stir := n.note("boat-pond", "stirred", `{"stirring":"hand","times_per_day":3}`)
	n.note("boat-pond", "stirred", `{"minutes":4}`) // once, by the way
	again := n.note("", "vessel", `{"id":"boat-pond","name":"Boat pond","shape":{"kind":"box","length_m":5,"width_m":1.5,"height_cm":30},"shade_pct":10}`)
	n.note("", "vessel", `{"id":"boat-pond","shape":{"kind":"box","length_m":9,"width_m":1,"height_m":1}}`)
	last := n.all[len(n.all)-1]
	n.correct(last, "", "withdrawn", `{}`)
	p := n.present()
	for _, c := range []struct {
		at   time.Time
		want string
	}{
		{before.Since.Add(-time.Hour), "4 m, shade 30, none, none 0"},
		{before.Since, "4 m, shade 30, none, none 0"},
		{shade.At.Add(-1), "4 m, shade 30, none, none 0"},
		{shade.At, "4 m, shade 60, none, none 0"},
		{cover.At, "4 m, shade 60, film, none 0"},
		{stir.At, "4 m, shade 60, film, hand 3"},
		{again.At.Add(-1), "4 m, shade 60, film, hand 3"},
		{again.At, "5 m, shade 10, none, none 0"},
		{time.Time{}, "5 m, shade 10, none, none 0"},
	} {
		v, ok := p.VesselAt("boat-pond", c.at)
		got := fmt.Sprintf("%g m, shade %g, %s, %s %g", v.Shape.LengthM, v.ShadePct, v.Cover.Kind, v.Stirring.Kind, v.Stirring.TimesPerDay)
		if !ok || got != c.want || v.Site != "lighthouse" {
			t.Errorf("at %s: %s of %q, want %s", c.at, got, v.Site, c.want)
		}
	}
	// 5 m x 1.5 m x 0.3 m
	if v, _ := p.Vessel("boat-pond"); v.CapacityL() < 2249.99 || v.CapacityL() > 2250.01 {
		t.Errorf("it holds %g L, want 2250", v.CapacityL())
	}
	// The order in which they were first described.
	var names []string
	for _, v := range p.Vessels() {
		names = append(names, v.ID)
	}
	if want := []string{"lantern-pond", "boat-pond", "cistern", "sill"}; !slices.Equal(names, want) {
		t.Errorf("vessels %v, want %v", names, want)
	}
}

func TestTwoPhonesOneItem(t *testing.T) {
	n := lighthouse(t)
	for range 2 {
		n.note("lantern-pond", "fed", `{"salts_g":{"KNO3":40}}`)
		n.all[len(n.all)-1].Item = "lantern-pond/feed"
	}
	if got := len(n.present().Answers("lantern-pond/feed")); got != 2 {
		t.Errorf("%d acts answer the item, want both", got)
	}
}

// A journal that a later program wrote: what is not known stands aside, and
// nothing is lost.
func TestWhatALaterProgramWrote(t *testing.T) {
	n := lighthouse(t)
	n.note("lantern-pond", "moonlight", `{"lux":0.2}`)
	n.note("lantern-pond", "split", `{"to":"cistern","volume_l":5,"through":"a sieve"}`)
	old := n.note("lantern-pond", "ph", `{"ph":10}`)
	n.correct(old, "lantern-pond", "ph", `{"ph":10.1}`)
	n.all[len(n.all)-1].V = 2
	p := n.present()
	if p.Len() != len(n.all) {
		t.Errorf("%d entries, want %d", p.Len(), len(n.all))
	}
	if got := p.Timeline("lantern-pond", time.Time{}, time.Time{}); len(got) != 0 {
		t.Errorf("%d events stand, want none: %v", len(got), got)
	}
}

// Ten years of four vessels, five entries a day each, one of them an act.
func BenchmarkFoldTenYears(b *testing.B) {
	n := lighthouse(b)
	entries := n.settled()
	vessels := []string{"lantern-pond", "boat-pond", "cistern", "sill"}
	const more = 73000
	for i := range more {
		kind, body := "reading", `{"secchi_cm":2.4,"ph":10.2,"temp_c":24}`
		if i%5 == 0 {
			kind, body = "topped_up", `{"volume_l":5,"with":"water"}`
		}
		e := n.at(noon.Add(time.Duration(i-more)*72*time.Minute), vessels[i%4], kind, body)
		e.Seq, e.ReceivedAt = int64(len(entries)+1), e.At
		entries = append(entries, e)
	}
	b.ReportAllocs()
	for b.Loop() {
		p := NewPresent()
		for _, e := range entries {
			p.Apply(e)
		}
		if p.Len() != len(entries) {
			b.Fatal(p.Len())
		}
	}
}

func BenchmarkReadingsOfAMonth(b *testing.B) {
	n := lighthouse(b)
	for range 90 {
		n.note("lantern-pond", "reading", `{"secchi_cm":2.4,"ph":10.2,"temp_c":24,"level_cm":19}`)
	}
	p := n.present()
	b.ReportAllocs()
	for b.Loop() {
		if got := p.Readings("lantern-pond", time.Time{}, time.Time{}); len(got) != 360 {
			b.Fatal(len(got))
		}
	}
}
