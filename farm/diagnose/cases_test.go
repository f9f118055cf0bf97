package diagnose

import (
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// A hold forbids eating by itself, where nothing else does.
func TestHeld(t *testing.T) {
	seen := Seen{Signs: map[string]bool{"floating_skin": true}}
	for _, s := range Default().Signs {
		if s.Eat == EatNo {
			seen.Signs[s.ID] = false
		}
	}
	seen.Checks = map[string]string{"microscope": "whole", "smell": "fresh", "ammonia_strip": "low"}
	if f := find(t, seen, Record{}); f.Eat != EatNotShown || len(f.EatFor) > 0 {
		t.Errorf("without a hold: %s for %v", f.Eat, f.EatFor)
	}
	if f := find(t, seen, Record{Held: true}); f.Eat != EatNo || !slices.Equal(f.EatFor, []string{"held"}) {
		t.Errorf("on hold: %s for %v", f.Eat, f.EatFor)
	}
}

// The named checks split the named causes: slow cloth is split by clean water
// through the same cloth, and pale water by a jar, a strip or a meter.
func TestBestChecks(t *testing.T) {
	for _, c := range []struct {
		signs  []string
		facts  map[string]float64
		among  []string
		within int
	}{
		// An open question of growers: slow with clean water is the cloth, fast is the culture. Common practice, no source.
		{[]string{"slow_cloth"}, nil, []string{"water_through_cloth"}, 2},
		{[]string{"slow_cloth", "wet_paste"}, nil, []string{"water_through_cloth"}, 2},
		{[]string{"yellow", "pale"}, nil, []string{"nitrate_strip", "two_jars", "look_at_night_and_noon"}, 1},
		{[]string{"green_filtrate"}, nil, []string{"microscope"}, 1},
		{[]string{"milky"}, nil, []string{"vinegar_in_a_glass", "glass_of_filtrate", "smell", "microscope"}, 1},
	} {
		seen := Seen{Signs: map[string]bool{}}
		for _, s := range c.signs {
			seen.Signs[s] = true
		}
		f := find(t, seen, Record{Facts: allSure(c.facts)})
		ok := false
		for _, p := range f.Checks[:c.within] {
			ok = ok || slices.Contains(c.among, p.ID)
		}
		if !ok {
			t.Errorf("%v: the first checks are %s %.2f, %s %.2f, %s %.2f; want one of %v", c.signs, f.Checks[0].ID, f.Checks[0].Gain, f.Checks[1].ID, f.Checks[1].Gain, f.Checks[2].ID, f.Checks[2].Gain, c.among)
		}
	}
}

// Cases that the literature and the trade tell of lead to their cause.
func TestCases(t *testing.T) {
	for _, c := range []struct {
		name, want string
		signs      []string
		facts      map[string]float64
		eat        Eat
		source     string
	}{
		{"green cells run through the cloth of a cold, thin pond at low pH", "other_greens", []string{"green_filtrate", "foreign_cells"}, map[string]float64{"ph_25c_low": 9.2}, EatNo, "vonshak1983: Chlorella comes in winter and at little bicarbonate"},
		{"a smell of ammonia after urea", "ammonia", []string{"smell_ammonia"}, map[string]float64{"free_ammonia_mm": 1.6, "urea_given_mg_per_l": 120}, EatNo, "converti2006, ammonia2024: from 1.7 mM on"},
		{"the smell alone", "ammonia", []string{"smell_ammonia"}, nil, EatNo, "common practice, no source"},
		{"yellow and no nitrogen left", "nitrogen_short", []string{"yellow"}, map[string]float64{"nitrogen_carries_g_per_l": 0.05}, EatNotShown, "common practice, no source"},
		{"yellow after thinning in the sun", "bleached", []string{"yellow", "thinner"}, map[string]float64{"nitrogen_carries_g_per_l": 1.6, "bare_density_g_per_l": 0.12}, EatNotShown, "jourdan2014: never below about 0.3 g/L"},
		{"pale after cold bright mornings", "cold_bright", []string{"pale", "slow_growth"}, map[string]float64{"nitrogen_carries_g_per_l": 1.6, "morning_c_low": 9, "bare_density_g_per_l": 0.6}, EatNotShown, "vonshak1994: more harm below the best warmth"},
		{"stopped at pH 11.2", "carbon_short", []string{"slow_growth"}, map[string]float64{"ph_25c_high": 11.2, "nitrogen_carries_g_per_l": 1.5}, EatNotShown, "belkin1991: growth fails where carbon is gone"},
		{"clumps in a hot tank", "heat", []string{"clumps", "foam"}, map[string]float64{"water_c_high": 41, "nitrogen_carries_g_per_l": 1.5, "bare_density_g_per_l": 0.6}, EatNotShown, "karemore2020: weeks at 35 °C clump and lose colour"},
		{"small animals and thinner", "grazers", []string{"animals", "thinner"}, nil, EatNo, "mendez2012"},
		{"milky after hard water", "chalk", []string{"milky"}, nil, EatNo, "common practice, no source"},
		{"brown, rotten, blue water", "crash", []string{"brown", "smell_rotten", "blue_water"}, nil, EatNo, "common practice, no source"},
		{"a skin after the pump stopped", "unstirred", []string{"floating_skin"}, map[string]float64{"still_h": 10}, EatNotShown, "jourdan2014: stir two to four times a day at the least"},
		{"straight all through, nothing else seen", "straightened", []string{"straight_filaments"}, map[string]float64{"straight_pct": 30, "foreign_pct": 0}, EatNotShown, "jourdan2014"},
		{"foam and broken filaments", "overstirred", []string{"foam", "broken_filaments"}, nil, EatNotShown, "jourdan2014"},
		{"foam and slime in old medium", "old_medium", []string{"foam", "slime"}, map[string]float64{"medium_age_d": 300}, EatNotShown, "jourdan2014"},
		{"thinner after half was taken", "thinned", []string{"thinner", "pale"}, map[string]float64{"taken_share_pct": 55, "nitrogen_carries_g_per_l": 1.5, "bare_density_g_per_l": 0.45}, EatNotShown, "arithmetic"},
		{"nothing but a skin that rises after a pause", "normal", []string{"floating_skin"}, map[string]float64{"still_h": 0, "nitrogen_carries_g_per_l": 1.5, "bare_density_g_per_l": 0.6, "water_c_high": 27}, EatNotShown, "common practice: it has gas vesicles and rises"},
	} {
		seen := Seen{Signs: map[string]bool{}}
		for _, s := range c.signs {
			seen.Signs[s] = true
		}
		f := find(t, seen, Record{Facts: allSure(c.facts)})
		if f.Causes[0].ID != c.want {
			t.Errorf("%s: %s %.2f before %s %.2f, want %s (%s)", c.name, f.Causes[0].ID, f.Causes[0].Chance, f.Causes[1].ID, f.Causes[1].Chance, c.want, c.source)
		}
		if c.eat == EatNo && f.Eat != EatNo {
			t.Errorf("%s: eat %s, want %s (%s)", c.name, f.Eat, c.eat, c.source)
		}
	}
}

// The filtering test of the slow cloth: the outcome decides between cloth and
// culture.
func TestClothOrCulture(t *testing.T) {
	seen := Seen{Signs: map[string]bool{"slow_cloth": true, "wet_paste": true}, Checks: map[string]string{"water_through_cloth": "slow"}}
	if f := find(t, seen, Record{}); f.Causes[0].ID != "cloth" || f.Causes[0].Chance < 0.6 {
		t.Errorf("clean water runs slowly: %s %.2f leads", f.Causes[0].ID, f.Causes[0].Chance)
	}
	seen.Checks["water_through_cloth"] = "fast"
	if f := find(t, seen, Record{}); f.Causes[0].ID == "cloth" {
		t.Errorf("clean water runs fast: the cloth still leads with %.2f", f.Causes[0].Chance)
	}
}

func TestClashes(t *testing.T) {
	for _, c := range []struct {
		signs []string
		facts map[string]float64
		want  string
	}{
		{[]string{"floating_skin", "settled"}, nil, "up_and_down"},
		{[]string{"smell_ammonia"}, map[string]float64{"free_ammonia_mm": 0.01}, "smell_unknown_feed"},
		{[]string{"slow_growth"}, map[string]float64{"day_change_pct": 20}, "slow_yet_thicker"},
		{[]string{"smell_ammonia"}, nil, ""}, {[]string{"smell_ammonia"}, map[string]float64{"free_ammonia_mm": 1}, ""}, {[]string{"settled"}, nil, ""},
	} {
		seen := Seen{Signs: map[string]bool{}}
		for _, s := range c.signs {
			seen.Signs[s] = true
		}
		if got := strings.Join(find(t, seen, Record{Facts: allSure(c.facts)}).Clash, " "); got != c.want {
			t.Errorf("%v %v: clash %q, want %q", c.signs, c.facts, got, c.want)
		}
	}
	// Everything at once is explained by nothing.
	all := Seen{Signs: map[string]bool{"milky": true, "yellow": true, "smell_earthy": true, "larvae": true, "settled": true, "straight_filaments": true, "slow_cloth": true}}
	if f := find(t, all, Record{}); !f.Odd || len(f.Clash) != 0 {
		t.Errorf("odd %v, %s leads with %.2f", f.Odd, f.Causes[0].ID, f.Causes[0].Chance)
	}
}

// Starting again: exact where the growth is exact.
func TestStart(t *testing.T) {
	r := Reserve{Vessel: "bottles", Litres: 20, GPerL: 0.6, FillL: 400, LeastGL: 0.3, CostPerL: 0.02, AgeDays: 12, Looked: true}
	s := r.Start()
	// 12 g to 120 g is ln 10 = 2.302585; over 0.10, 0.15 and 0.20 a day. Arithmetic.
	if !s.Possible || math.Abs(s.Days.High-23.02585) > 1e-4 || math.Abs(s.Days.Low-11.51293) > 1e-4 || math.Abs(s.Likely-15.35057) > 1e-4 {
		t.Errorf("days %v, likely %g", s.Days, s.Likely)
	}
	if math.Abs(s.MediumL-380) > 1e-9 || math.Abs(s.Cost-7.6) > 1e-9 || s.Old {
		t.Errorf("medium %g L, cost %g, old %v", s.MediumL, s.Cost, s.Old)
	}
	if s := (Reserve{}).Start(); s.Possible || s.Why != "no_reserve" {
		t.Errorf("without a reserve: %+v", s)
	}
	r.FillL = 0
	if s := r.Start(); s.Possible || s.Why != "no_volume" {
		t.Errorf("of an unknown volume: %+v", s)
	}
	rapid.Check(t, func(t *rapid.T) { // more in reserve never takes longer
		a := Reserve{Vessel: "r", Litres: rapid.Float64Range(0.1, 100).Draw(t, "l"), GPerL: rapid.Float64Range(0.1, 2).Draw(t, "g"), FillL: rapid.Float64Range(1, 1e4).Draw(t, "fill"), LeastGL: 0.3}
		b := a
		b.Litres *= 2
		if x, y := a.Start(), b.Start(); y.Likely > x.Likely || x.Days.Low > x.Likely || x.Likely > x.Days.High {
			t.Fatalf("%+v, with twice as much %+v", x, y)
		}
	})
}

func TestBadInput(t *testing.T) {
	for _, c := range []struct {
		seen Seen
		want string
	}{
		{Seen{Signs: map[string]bool{"purple": true}}, `sign "purple"`},
		{Seen{Checks: map[string]string{"smel": "fresh"}}, `check "smel"`},
		{Seen{Checks: map[string]string{"smell": "nice"}}, `check "smell:nice"`},
	} {
		if _, err := Default().Find(c.seen, Record{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v: %v", c.seen, err)
		}
	}
	good := tableTOML
	for _, c := range [][2]string{
		{`yellow = "0.60 judgement"`, `yellow = "0.60"`}, {`yellow = "0.60 judgement"`, `yellow = "1.2 judgement"`}, {`yellow = "0.60 judgement"`, `yellw = "0.60 judgement"`},
		{`usual = "0.94 0.06 judgement"`, `usual = "0.94 0.16 judgement"`}, {`"0:0.5 33:1.2 60:3 80:6`, `"0:0.5 33:1.2 30:3 80:6`}, {`prior = 8`, `prior = 0`},
		{`do = ["read_disc"]`, `do = ["dilute"]`}, {`eat = "not_shown"`, `eat = "yes"`}, {`end = "keep"`, `end = "hope"`}, {`group = "colour"`, `colour = "x"`},
	} {
		if !strings.Contains(good, c[0]) {
			t.Fatalf("the table no longer holds %q", c[0])
		}
		if _, err := Read(strings.Replace(good, c[0], c[1], 1)); err == nil {
			t.Errorf("%q instead of %q is taken", c[1], c[0])
		}
	}
}

// The table is of use: every sign belongs to a cause, every cause can be told
// from the others, every source is in the list.
func TestTable(t *testing.T) {
	tab := Default()
	for i, s := range tab.Signs {
		belongs := 0
		for _, c := range tab.Causes {
			if c.sign[i] >= 3*s.Base && c.ID != "unlisted" {
				belongs++
			}
		}
		if belongs == 0 {
			t.Errorf("no cause brings %s", s.ID)
		}
	}
	for _, c := range tab.Causes {
		if len(c.Hour) == 0 || len(c.Do) == 0 || len(c.Dont) == 0 {
			t.Errorf("%s says nothing of the hour, of what to do or of what to leave", c.ID)
		}
		if c.Eat == EatNotShown && c.ID != "normal" && c.ID != "cloth" && !slices.ContainsFunc(c.Hour, func(a string) bool { return a == "no_food" || a == "look_again" }) && c.End != Keep {
			t.Errorf("%s takes food meanwhile", c.ID)
		}
	}
	list, err := os.ReadFile("../../docs/sources.md")
	if err != nil {
		t.Fatal(err)
	}
	if len(tab.Sources) < 8 {
		t.Errorf("only %d sources stand behind the table", len(tab.Sources))
	}
	for _, k := range tab.Sources {
		if !strings.Contains(string(list), "`"+k+"`") {
			t.Errorf("source %s is not in docs/sources.md", k)
		}
	}
}
