package farm

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// check asks Check about an entry noted now.
func check(t *testing.T, n *notebook, p *Present, o Origin, vessel, kind, body string, change ...func(*Entry)) ([]Doubt, *Error) {
	t.Helper()
	e := n.at(noon, vessel, kind, body)
	for _, c := range change {
		c(&e)
	}
	return Check(e, p, o, noon)
}

func TestCheckTakes(t *testing.T) {
	n := lighthouse(t)
	mixed := n.note("", "mixed", `{"volume_l":200,"medium":{"recipe":"house-salt"},"water":"rain-butt"}`)
	look := n.note("cistern", "microscope", `{"filaments_seen":300,"foreign_seen":2}`)
	n.note("", "tool", `{"id":"cloth-1","sort":"cloth"}`)
	n.note("", "tool", `{"id":"tray-1","sort":"tray"}`)
	p := n.present()
	for _, c := range []struct{ vessel, kind, body string }{
		{"lantern-pond", "secchi", `{"secchi_cm":2.4}`},
		{"lantern-pond", "secchi", `{"secchi_cm":35,"op":">","text":"seen to the floor"}`},
		{"lantern-pond", "secchi", `{"secchi_cm":2.4,"op":"=","instrument":"stick-1","flags":["unstirred","low_sun"],"stirred_min_ago":45,"temp_c":24}`},
		{"lantern-pond", "reading", `{"secchi_cm":2.4,"ph":10.2,"temp_c":24,"ops":{"secchi_cm":">"},"instruments":{"ph":"meter-2"},"smell":"grassy"}`},
		{"lantern-pond", "filtrate_secchi", `{"filtrate_secchi_cm":120}`}, // in a tall glass
		{"cistern", "optical_density", `{"od_750":0.82}`},
		{"lantern-pond", "dry_weight", `{"dry_weight_g_per_l":0.51}`},
		{"lantern-pond", "ph", `{"ph":10.25,"instrument":"meter-2","temp_c":21.5}`},
		{"lantern-pond", "temperature", `{"temp_c":31}`},
		{"lantern-pond", "temperature", `{"air_temp_c":38}`},
		{"lantern-pond", "level", `{"level_cm":19.5}`},
		{"lantern-pond", "conductivity", `{"conductivity_ms_per_cm":17.2}`},
		{"lantern-pond", "nitrate", `{"nitrate_mg_per_l":500,"op":">"}`},
		{"lantern-pond", "ammonia", `{"ammonia_n_mg_per_l":3}`},
		{"lantern-pond", "phosphate", `{"phosphate_mg_per_l":80}`},
		{"", "chlorine_free", `{"chlorine_free_mg_per_l":0.4}`},
		{"", "hardness", `{"hardness_mg_per_l":320}`},
		{"lantern-pond", "oxygen", `{"oxygen_pct":180}`},
		{"", "light", `{"par_umol_m2_s":1650}`},
		{"lantern-pond", "smell", `{"smell":"grassy"}`},
		{"lantern-pond", "animals", `{"animals":["flies","larvae"]}`},
		{"lantern-pond", "microscope", `{"filaments_seen":120,"straight_seen":14,"foreign_seen":0,"looked_ml":0.05}`},
		{"", "rain", `{"rain_mm":12.5}`},
		{"", "photo", `{"photo_sha256":"` + strings.Repeat("0f", 32) + `"}`},
		{"", "note", `{"text":"the neighbour sprays on Tuesday"}`},
		{"cistern", "inoculated", `{"volume_l":40,"density_g_per_l":0.6,"strain":"coiled, from the next valley","medium":{"recipe":"house-salt"}}`},
		{"cistern", "split", `{"to":"boat-pond","volume_l":200}`},
		{"cistern", "moved", `{"to":"boat-pond","all":true}`},
		{"lantern-pond", "mixed", `{"volume_l":900,"medium":{"salts_g_per_l":{"NaHCO3":8,"KNO3":2}}}`},
		{"lantern-pond", "topped_up", `{"with":"water","volume_l":60,"water":"rain-butt"}`},
		{"lantern-pond", "topped_up", `{"with":"medium","volume_l":60,"medium":{"batch":"` + mixed.ID + `"}}`},
		{"lantern-pond", "topped_up", `{"with":"water","level_after_cm":20}`},
		{"lantern-pond", "fed", `{"salts_g":{"KNO3":120,"K2HPO4":6},"dissolved_in_l":5}`},
		{"lantern-pond", "dosed", `{"salts_g":{"Na2CO3":200},"reason":"pH"}`},
		{"lantern-pond", "dosed", `{"co2_g":300}`},
		{"lantern-pond", "harvested", `{"volume_l":400,"mass_g":900,"dry_g":90,"left_g_per_l":0.32,"lot":"l-0504"}`},
		{"lantern-pond", "purged", `{"volume_l":300,"refill_l":300,"with":"medium"}`},
		{"lantern-pond", "drew_off", `{"volume_l":20}`},
		{"lantern-pond", "drew_off", `{"volume_l":8,"to":"sill"}`},
		{"boat-pond", "shaded", `{"shade_pct":50}`},
		{"boat-pond", "covered", `{"cover":"film"}`},
		{"lantern-pond", "vented", `{"vents":"open"}`},
		{"boat-pond", "stirred", `{"minutes":5}`},
		{"boat-pond", "stirred", `{}`},
		{"boat-pond", "heated", `{"heater_w":300,"target_c":25}`},
		{"", "cleaned", `{"what":"cloth","result":"good"}`},
		{"boat-pond", "repaired", `{"what":"seam","leak":true}`},
		{"", "checked", `{"instrument":"meter-2","result":"adjusted","expected":10.01,"read":9.8,"slope_pct":92}`},
		{"cistern", "quarantined", `{"reason":"look again in five days"}`},
		{"cistern", "released", `{"hold":"` + look.ID + `","reason":"two clean looks five days apart"}`},
		{"cistern", "discarded", `{"all":true}`},
		{"", "packed", `{"lot":"l-0504","packs":9,"mass_g":450}`},
		{"", "sold", `{"lot":"l-0504","packs":2,"whom":"market","price":18}`},
		{"sill", "gave", `{"volume_l":1,"whom":"a neighbour"}`},
		{"", "event", `{"event":"smoke"}`},
		{"", "lot_step", `{"lot":"l-0504","step":"into_dryer","temp_c":38,"mass_g":870}`},
		{"", "lot_check", `{"lot":"l-0504","check":"look","outcome":"passed"}`},
		{"", "lot_check", `{"lot":"l-0504","check":"lab","analyte":"lead","found":"< 0.05 mg/kg","laboratory":"an invented one"}`},
		{"", "lot_check", `{"lot":"l-0504","check":"dry","water_activity":0.42}`},
		{"", "lot_deviation", `{"lot":"l-0504","check":"clock","reason":"the fan stood still","what":"held, sample sent for S. aureus and B. cereus"}`},
		{"", "lot", `{"lot":"l-0504-a","from_lots":["l-0504"],"from_g":{"l-0504":200},"mass_g":200,"place":"freezer, left, second shelf"}`},
		{"", "lot_step", `{"lot":"l-0504","step":"weighed","mass_g":600,"tools":["tray-1"]}`},
		{"lantern-pond", "harvested", `{"volume_l":400,"mass_g":900,"lot":"l-0504","tools":["cloth-1","tray-1"],"temp_c":22,"fit":true,"minutes":35}`},
		{"", "cleaned", `{"tools":["cloth-1"],"result":"good"}`},
		{"", "used", `{"lot":"l-0504","mass_g":30}`},
		{"", "released", `{"lot":"l-0504","reason":"all checks of the plan are there"}`},
		{"", "rejected", `{"lot":"l-0504","reason":"it smells"}`},
		{"", "recalled", `{"lot":"l-0504","reason":"yearly practice","mock":true,"mass_g":430}`},
		{"", "tool", `{"id":"press-1","sort":"press","material":"stainless steel","clean":"use","clean_with":"hot water, then dried"}`},
		{"", "setting", `{"key":"gallon","value":"us"}`},
		{"", "supply", `{"id":"soda-7","salt":"NaHCO3","grade":"food","mass_g":25000}`},
		{"", "weather", `{"source":"own station","made":"measured","start":"2031-05-03T00:00:00Z","step_s":3600,"wind_height_m":2,"columns":{"t_air_c":[14,null,16],"wind_m_s":[1,2,3]}}`},
		{"lantern-pond", "sensor", `{"sensor":"probe-1","start":"2031-05-04T00:00:00Z","offsets_s":[0,300,601.5],"columns":{"temp_c":[20,20.1,null]}}`},
	} {
		for _, o := range []Origin{Typed, Sent, Filed} {
			if doubts, bad := check(t, n, p, o, c.vessel, c.kind, c.body); bad != nil || len(doubts) > 0 {
				t.Errorf("%s %s %s of %q: %v, %+v", o, c.kind, c.body, c.vessel, bad, doubts)
			}
		}
	}
	seen := map[string]bool{}
	for _, e := range n.all {
		seen[e.Kind] = true
	}
	for _, k := range Kinds() {
		switch k.Name {
		case "withdrawn", "held", "lot", "colour", "foam", "clumps", "filtrate", "chlorine_total":
			continue // tried elsewhere, or like their neighbours
		}
		if !seen[k.Name] {
			t.Errorf("kind %s is not tried", k.Name)
		}
	}
}

func TestCheckRefuses(t *testing.T) {
	n := lighthouse(t)
	old := n.note("lantern-pond", "ph", `{"ph":10.1}`)
	p := n.present()
	id := func(s string) func(*Entry) { return func(e *Entry) { e.ID = s } }
	corrects := func(s string) func(*Entry) { return func(e *Entry) { e.Corrects = s } }
	for _, c := range []struct {
		vessel, kind, body string
		change             func(*Entry)
		code               Code
		field, part        string
	}{
		{"lantern-pond", "ph", `{"ph":101}`, nil, Invalid, "body.ph", "outside 0 to 14"},
		{"lantern-pond", "ph", `{"ph":"10"}`, nil, Invalid, "body.ph", "not a number"},
		{"lantern-pond", "ph", `{"ph":true}`, nil, Invalid, "body.ph", "not a number"},
		{"lantern-pond", "ph", `{"ph":null}`, nil, Invalid, "body.ph", "missing"},
		{"lantern-pond", "ph", `{}`, nil, Invalid, "body.ph", "missing"},
		{"lantern-pond", "ph", `{"pH":10}`, nil, Invalid, "body.ph", "missing"},
		{"lantern-pond", "ph", `{"ph":10,"tempc":20}`, nil, Invalid, "body.tempc", "not a field"},
		{"", "lot", `{"lot":"a","from_lots":["a"]}`, nil, Invalid, "body.from_lots", "itself"},
		{"", "lot", `{"lot":"a","from_lots":["b"],"from_g":{"c":3}}`, nil, Invalid, "body.from_g.c", "none of"},
		{"", "lot", `{"lot":"a","from_lots":["B 1"]}`, nil, Invalid, "body.from_lots", "lower-case"},
		{"", "lot", `{"lot":"a","from_lots":["b"],"from_g":{"b":0}}`, nil, Invalid, "body.from_g.b", "above 0"},
		{"", "lot_check", `{"lot":"a","check":"dry"}`, nil, Invalid, "body.outcome", "none of"},
		{"", "lot_check", `{"lot":"a","check":"lab","analyte":"luck","found":"1 mg/kg"}`, nil, Invalid, "body.analyte", "none of"},
		{"", "lot_deviation", `{"lot":"a","check":"dry","reason":"x"}`, nil, Invalid, "body.what", "missing"},
		{"", "released", `{"reason":"x"}`, nil, Invalid, "body.hold", "none of"},
		{"cistern", "released", `{"lot":"a"}`, nil, Invalid, "body.reason", "missing"},
		{"", "cleaned", `{"tools":["cloth-9"]}`, nil, NotFound, "body.tools", "does not exist"},
		{"", "tool", `{"id":"press-1","sort":"hammer"}`, nil, Invalid, "body.sort", "none of"},
		{"lantern-pond", "ph", `[]`, nil, Invalid, "body", "not an object"},
		{"lantern-pond", "ph", `{`, nil, Invalid, "body", "JSON"},
		{"lantern-pond", "ph", `{"ph":10,"text":"` + strings.Repeat("x", 2001) + `"}`, nil, Invalid, "body.text", "more than 2000"},
		{"lantern-pond", "secchi", `{"secchi_in":1}`, nil, Invalid, "body.secchi_cm", "missing"},
		{"lantern-pond", "secchi", `{"secchi_cm":2,"secchi_in":1}`, nil, Invalid, "body.secchi_in", "not a field"},
		{"lantern-pond", "secchi", `{"secchi_cm":0}`, nil, Invalid, "body.secchi_cm", "above 0"},
		{"lantern-pond", "secchi", `{"secchi_cm":-2}`, nil, Invalid, "body.secchi_cm", "above 0"},
		{"lantern-pond", "secchi", `{"secchi_cm":2,"op":"~"}`, nil, Invalid, "body.op", "none of"},
		{"lantern-pond", "secchi", `{"secchi_cm":2,"flags":["odd"]}`, nil, Invalid, "body.flags", "none of"},
		{"lantern-pond", "secchi", `{"secchi_cm":2,"flags":"unstirred"}`, nil, Invalid, "body.flags", "not a list"},
		{"lantern-pond", "secchi", `{"secchi_cm":2,"instrument":"Stick 1"}`, nil, Invalid, "body.instrument", "lower-case"},
		{"lantern-pond", "temperature", `{"temp_f":75}`, nil, Invalid, "body.temp_c", "none of temp_c"},
		{"lantern-pond", "temperature", `{"temp_c":95}`, nil, Invalid, "body.temp_c", "outside"},
		{"lantern-pond", "reading", `{}`, nil, Invalid, "body", "no value"},
		{"lantern-pond", "reading", `{"ph":10,"temp_c":20,"op":">"}`, nil, Invalid, "body.op", "which"},
		{"lantern-pond", "reading", `{"ph":10,"ops":{"temp_c":">"}}`, nil, Invalid, "body.ops.temp_c", "no value"},
		{"lantern-pond", "microscope", `{"filaments_seen":10,"straight_seen":11}`, nil, Invalid, "body.straight_seen", "more than"},
		{"lantern-pond", "microscope", `{"filaments_seen":10.5}`, nil, Invalid, "body.filaments_seen", "whole"},
		{"lantern-pond", "animals", `{"animals":["none","flies"]}`, nil, Invalid, "body.animals", "none"},
		{"lantern-pond", "smell", `{"smell":"of roses"}`, nil, Invalid, "body.smell", "none of"},
		{"lantern-pond", "photo", `{"photo_sha256":"xyz"}`, nil, Invalid, "body.photo_sha256", "hexadecimal"},
		{"", "ph", `{"ph":10}`, nil, Invalid, "vessel", "missing"},
		{"lantern", "ph", `{"ph":10}`, nil, NotFound, "vessel", "does not exist"},
		{"lantern-pond", "site", `{"id":"x","lat_deg":1,"lon_deg":1,"timezone":"UTC"}`, nil, Invalid, "vessel", "speaks of none"},
		{"lantern-pond", "Secchi", `{"secchi_cm":2}`, nil, Invalid, "kind", "none that can be noted"},
		{"lantern-pond", "ph", `{"ph":10}`, id(""), Invalid, "id", "missing"},
		{"lantern-pond", "ph", `{"ph":10}`, id("01bx5zzkbkactav9wevgemmvry"), Invalid, "id", "ULID"},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.V = 2 }, Invalid, "v", "not known"},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.By = " " }, Invalid, "by", "missing"},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.At = time.Time{} }, Invalid, "at", "missing"},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.NotedAt = time.Time{} }, Invalid, "noted_at", "missing"},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.Site = "moon" }, NotFound, "site", "does not exist"},
		{"lantern-pond", "ph", `{"ph":10}`, corrects("01BX5ZZKBKACTAV9WEVGEMMVRY"), NotFound, "corrects", "does not exist"},
		{"lantern-pond", "ph", `{"ph":10}`, corrects("x"), Invalid, "corrects", "ULID"},
		{"", "withdrawn", `{}`, nil, Invalid, "corrects", "missing"},
		{"", "person", `{"id":"a","role":"owner"}`, corrects(old.ID), Invalid, "kind", "cannot correct"},
		{"cistern", "split", `{"to":"cistern","volume_l":5}`, nil, Invalid, "body.to", "itself"},
		{"cistern", "split", `{"to":"pond","volume_l":5}`, nil, NotFound, "body.to", "does not exist"},
		{"cistern", "split", `{"to":"drain","volume_l":5}`, nil, NotFound, "body.to", "does not exist"},
		{"cistern", "split", `{"volume_l":5}`, nil, Invalid, "body.to", "missing"},
		{"cistern", "inoculated", `{"from":"boat","volume_l":5}`, nil, NotFound, "body.from", "does not exist"},
		{"cistern", "topped_up", `{"volume_l":5}`, nil, Invalid, "body.with", "missing"},
		{"cistern", "topped_up", `{"with":"water"}`, nil, Invalid, "body.volume_l", "none of"},
		{"cistern", "topped_up", `{"with":"water","volume_l":5,"water":"well"}`, nil, NotFound, "body.water", "does not exist"},
		{"cistern", "topped_up", `{"with":"water","volume_l":5,"medium":{"recipe":"house-salt"}}`, nil, Invalid, "body.medium", "beside water"},
		{"cistern", "topped_up", `{"with":"medium","volume_l":5,"medium":{"batch":"` + old.ID + `"}}`, nil, NotFound, "body.medium.batch", "mixed"},
		{"cistern", "mixed", `{"volume_l":5,"medium":{}}`, nil, Invalid, "body.medium.recipe", "missing"},
		{"cistern", "mixed", `{"volume_l":5,"medium":{"recipe":"a","salts_g_per_l":{"NaCl":1}}}`, nil, Invalid, "body.medium.salts_g_per_l", "beside"},
		{"cistern", "fed", `{"salts_g":{}}`, nil, Invalid, "body.salts_g", "0 entries"},
		{"cistern", "fed", `{"salts_g":{"KNO3":-5}}`, nil, Invalid, "body.salts_g.KNO3", "outside"},
		{"cistern", "fed", `{"salts_g":{"KNO3":"5 g"}}`, nil, Invalid, "body.salts_g.KNO3", "not a number"},
		{"cistern", "fed", `{"ready_mix":"no-such","ready_mix_g":5}`, nil, NotFound, "body.ready_mix", "does not exist"},
		{"cistern", "harvested", `{"volume_l":5,"mass_g":10,"dry_g":11}`, nil, Invalid, "body.dry_g", "more than"},
		{"cistern", "harvested", `{"volume_l":0}`, nil, Invalid, "body.volume_l", "above 0"},
		{"cistern", "purged", `{"volume_l":5,"refill_l":5}`, nil, Invalid, "body.with", "missing"},
		{"cistern", "moved", `{"to":"boat-pond","all":false}`, nil, Invalid, "body.all", "false"},
		{"cistern", "shaded", `{"shade_pct":120}`, nil, Invalid, "body.shade_pct", "outside"},
		{"cistern", "released", `{"hold":"` + old.ID + `","reason":"x"}`, nil, NotFound, "body.hold", "began a hold"},
		{"cistern", "released", `{"hold":"` + old.ID + `"}`, nil, Invalid, "body.reason", "missing"},
		{"", "checked", `{"instrument":"meter-9","result":"good"}`, nil, NotFound, "body.instrument", "does not exist"},
		{"", "site", `{"id":"x","lat_deg":91,"lon_deg":1,"timezone":"UTC"}`, nil, Invalid, "body.lat_deg", "outside"},
		{"", "site", `{"id":"x","lat_deg":1,"lon_deg":1,"timezone":"Mars/Olympus"}`, nil, Invalid, "body.timezone", "no zone"},
		{"", "site", `{"id":"x","lat_deg":1,"lon_deg":1,"timezone":"Local"}`, nil, Invalid, "body.timezone", "no zone"},
		{"", "site", `{"id":"x","lat_deg":1,"lon_deg":1,"timezone":"UTC","normals":[{}]}`, nil, Invalid, "body.normals.1.ghi_mj_m2_d", "missing"},
		{"", "vessel", `{"id":"drain","shape":{"kind":"box","length_m":1,"width_m":1,"height_m":1}}`, nil, Invalid, "body.id", "flow"},
		{"", "vessel", `{"id":"a","shape":{"kind":"box","length_m":1,"length_cm":100,"width_m":1,"height_m":1}}`, nil, Invalid, "body.shape.length_cm", "beside"},
		{"", "vessel", `{"id":"a","shape":{"kind":"box","length_m":1,"width_m":1}}`, nil, Invalid, "body.shape.height_m", "missing"},
		{"", "vessel", `{"id":"a","shape":{"kind":"box","length_ft":3,"width_m":1,"height_m":1}}`, nil, Invalid, "body.shape.length_m", "missing"},
		{"", "vessel", `{"id":"a","shape":{"kind":"box","length_m":1,"width_m":1,"height_m":1,"diameter_m":1}}`, nil, Invalid, "body.shape.diameter_m", "not a field"},
		{"", "vessel", `{"id":"a","shape":{"kind":"cube"}}`, nil, Invalid, "body.shape.kind", "none of"},
		{"", "vessel", `{"id":"a","shape":{"kind":"liner","top_length_m":2,"top_width_m":1,"depth_m":1,"slope":1}}`, nil, Invalid, "body.shape.slope", "too flat"},
		{"", "vessel", `{"id":"a","full_level_cm":40,"shape":{"kind":"box","length_m":1,"width_m":1,"height_cm":30}}`, nil, Invalid, "body.full_level_cm", "above the rim"},
		{"", "vessel", `{"id":"a","shape":{"kind":"measured","points":[{"level_cm":0,"volume_l":0},{"level_cm":10,"volume_l":50},{"level_cm":9,"volume_l":60}]}}`, nil, Invalid, "body.shape.points[2].level_m", "above the mark"},
		{"", "person", `{"id":"a","role":"king"}`, nil, Invalid, "body.role", "none of"},
		{"", "recipe", `{"id":"a"}`, nil, Invalid, "body.salts_g_per_l", "missing"},
		{"", "setting", `{"key":"a","value":{"b":1}}`, nil, Invalid, "body.value", "neither"},
		{"", "weather", `{"source":"x","made":"forecast","start":"2031-05-04T00:00:00Z","step_s":3600,"columns":{"t_air_c":[1]}}`, nil, Invalid, "body.issued_at", "missing"},
		{"", "weather", `{"source":"x","made":"measured","start":"2031-05-04T00:00:00Z","step_s":3600,"columns":{"t_air_c":[1],"rh_pct":[1,2]}}`, nil, Invalid, "body.columns.rh_pct", "as many"},
		{"", "weather", `{"source":"x","made":"measured","start":"2031-05-04T00:00:00Z","step_s":3600,"columns":{"temp_c":[1]}}`, nil, Invalid, "body.columns.temp_c", "not a field"},
		{"", "weather", `{"source":"x","made":"measured","start":"2031-05-04T00:00:00Z","step_s":3600,"columns":{"wind_m_s":[1]}}`, nil, Invalid, "body.wind_height_m", "missing"},
		{"", "weather", `{"source":"x","made":"measured","start":"2031-05-04T00:00:00Z","step_s":3600,"columns":{}}`, nil, Invalid, "body.columns", "none"},
		{"cistern", "sensor", `{"sensor":"a","start":"2031-05-04T00:00:00Z","columns":{"temp_c":[1]}}`, nil, Invalid, "body.step_s", "must stand"},
		{"cistern", "sensor", `{"sensor":"a","start":"2031-05-04T00:00:00Z","offsets_s":[5,5],"columns":{"temp_c":[1,2]}}`, nil, Invalid, "body.offsets_s", "rise"},
		{"cistern", "sensor", `{"sensor":"a","start":"2031-05-04T00:00:00Z","offsets_s":[5],"columns":{"temp_c":[1,2]}}`, nil, Invalid, "body.offsets_s", "2 rows"},
	} {
		change := c.change
		if change == nil {
			change = func(*Entry) {}
		}
		for _, o := range []Origin{Typed, Sent, Filed} {
			_, bad := check(t, n, p, o, c.vessel, c.kind, c.body, change)
			wantField(t, fmt.Sprintf("%s %s %s of %q", o, c.kind, clip(c.body), c.vessel), bad, c.code, c.field, c.part)
		}
	}
}

func TestHints(t *testing.T) {
	n := lighthouse(t)
	p := n.present()
	for _, c := range []struct{ vessel, kind, body, hint string }{
		{"lantern-pond", "secchi", `{"secchi_cm":2,"secchi_in":1}`, "secchi_cm"},
		{"lantern-pond", "ph", `{"ph":10,"temp_f":70}`, "temp_c"},
		{"lantren-pond", "ph", `{"ph":10}`, "lantern-pond"},
		{"lantern", "ph", `{"ph":10}`, "lantern-pond"},
		{"lantern-pond", "topped up", `{"with":"water"}`, "topped_up"},
		{"lantern-pond", "secchi", `{"secchi_cm":90}`, "floor"},
	} {
		_, bad := check(t, n, p, Typed, c.vessel, c.kind, c.body)
		if bad == nil || !strings.Contains(bad.Hint, c.hint) {
			t.Errorf("%s %s %s: %+v, want a hint of %q", c.vessel, c.kind, c.body, bad, c.hint)
		}
	}
}

// What is nonsense is refused at a form and kept with a doubt from elsewhere;
// what is only unlikely is kept with a doubt everywhere.
func TestDoubts(t *testing.T) {
	n := lighthouse(t)
	n.note("", "vessel", `{"id":"old-tub","shape":{"kind":"box","length_m":1,"width_m":1,"height_cm":30},"retired":true}`)
	ph := n.note("lantern-pond", "ph", `{"ph":10.1}`)
	first := n.correct(ph, "lantern-pond", "ph", `{"ph":10.2}`)
	p := n.present()
	later := func(d time.Duration) func(*Entry) { return func(e *Entry) { e.At = noon.Add(d) } }
	for _, c := range []struct {
		vessel, kind, body string
		change             func(*Entry)
		doubt, field       string
		typed              Code // "" where a form takes it too
	}{
		{"lantern-pond", "secchi", `{"secchi_cm":36}`, nil, DoubtDeeper, "body.secchi_cm", Invalid},
		{"lantern-pond", "reading", `{"secchi_cm":36,"ph":10}`, nil, DoubtDeeper, "body.secchi_cm", Invalid},
		{"lantern-pond", "reading", `{"secchi_cm":36,"ph":10,"ops":{"ph":">"}}`, nil, DoubtDeeper, "body.secchi_cm", Invalid},
		{"lantern-pond", "level", `{"level_cm":36}`, nil, DoubtAboveRim, "body.level_cm", Invalid},
		{"lantern-pond", "ph", `{"ph":10}`, later(10 * time.Minute), DoubtClock, "at", Invalid},
		{"lantern-pond", "ph", `{"ph":10}`, later(400 * 24 * time.Hour), DoubtClock, "at", Invalid},
		{"boat-pond", "harvested", `{"volume_l":1801}`, nil, DoubtMore, "body.volume_l", Invalid},
		{"boat-pond", "purged", `{"volume_l":1700,"refill_l":1900,"with":"water"}`, nil, DoubtMore, "body.refill_l", Invalid},
		{"lantern-pond", "split", `{"to":"sill","volume_l":13}`, nil, DoubtMore, "body.volume_l", Invalid},
		{"lantern-pond", "ph", `{"ph":4.5}`, nil, DoubtRange, "body.ph", ""},
		{"lantern-pond", "temperature", `{"temp_c":62}`, nil, DoubtRange, "body.temp_c", ""},
		{"lantern-pond", "ph", `{"ph":10,"flags":["doubtful"]}`, nil, DoubtFlagged, "", ""},
		{"old-tub", "ph", `{"ph":10}`, nil, DoubtRetired, "vessel", ""},
		{"lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.Corrects = ph.ID }, DoubtRivals, "corrects", Conflict},
	} {
		for _, o := range []Origin{Sent, Filed} {
			var change []func(*Entry)
			if c.change != nil {
				change = append(change, c.change)
			}
			doubts, bad := check(t, n, p, o, c.vessel, c.kind, c.body, change...)
			if bad != nil || len(doubts) != 1 || doubts[0].Key != c.doubt || doubts[0].Field != c.field || doubts[0].Message == "" {
				t.Errorf("%s %s %s: %v, %+v; want the doubt %s on %q", o, c.kind, c.body, bad, doubts, c.doubt, c.field)
			}
			_, bad = check(t, n, p, Typed, c.vessel, c.kind, c.body, change...)
			if (bad == nil) != (c.typed == "") || bad != nil && (bad.Code != c.typed || bad.Field != c.field) {
				t.Errorf("typed %s %s: %+v; want code %q on %q", c.kind, c.body, bad, c.typed, c.field)
			}
		}
	}
	// 1800 L is what the boat pond holds to the rim: 4 m x 1.5 m x 0.3 m.
	if doubts, bad := check(t, n, p, Typed, "boat-pond", "harvested", `{"volume_l":1800}`); bad != nil || len(doubts) > 0 {
		t.Errorf("a harvest of all that the pond holds: %v, %+v", bad, doubts)
	}
	// Two clocks may differ by two minutes.
	if doubts, bad := check(t, n, p, Typed, "lantern-pond", "ph", `{"ph":10}`, later(2*time.Minute)); bad != nil || len(doubts) > 0 {
		t.Errorf("a clock two minutes ahead: %v, %+v", bad, doubts)
	}
	_, bad := check(t, n, p, Typed, "lantern-pond", "ph", `{"ph":10}`, func(e *Entry) { e.Corrects = ph.ID })
	if bad == nil || !strings.Contains(bad.Hint, first.ID) {
		t.Errorf("a second correction: %+v, want a hint of %s", bad, first.ID)
	}
	// What is known already is for the store to compare: a phone that did not
	// hear the answer sends again, whatever has happened since.
	if doubts, bad := Check(first, p, Typed, noon); bad != nil || len(doubts) > 0 {
		t.Errorf("the first correction, sent again: %v, %+v", bad, doubts)
	}
	// The doubts stay with the entry in the journal.
	e := n.at(noon.Add(time.Hour), "lantern-pond", "reading", `{"ph":4.5,"temp_c":20}`)
	e.ReceivedAt = noon
	p.Apply(e)
	got, ok := p.Event(e.ID)
	if !ok || len(got.Doubts) != 2 {
		t.Fatalf("the entry stands with %+v", got.Doubts)
	}
	for _, r := range got.Readings() {
		if want := map[string]int{"ph": 2, "temp_c": 1}[r.Key]; len(r.Doubts) != want {
			t.Errorf("%s has the doubts %+v, want %d", r.Key, r.Doubts, want)
		}
	}
}

// A field at the ends of its hard range is taken, just outside it refused, and
// outside its likely range doubted: for every number of every kind.
func TestEveryRange(t *testing.T) {
	n := lighthouse(t)
	p := n.present()
	tried := 0
	for _, k := range Kinds() {
		for _, f := range k.Fields() {
			if f.Form != FormNumber && f.Form != FormWhole {
				continue
			}
			tried++
			if f.Hard == (Span{}) || f.Hard.Lo >= f.Hard.Hi {
				t.Errorf("%s.%s has no range", k.Name, f.Key)
			}
			if f.Likely == (Span{}) || f.Likely.Lo < f.Hard.Lo || f.Likely.Hi > f.Hard.Hi {
				t.Errorf("%s.%s: likely %s does not lie in hard %s", k.Name, f.Key, f.Likely, f.Hard)
			}
			for _, v := range []float64{f.Hard.Lo - 1, f.Hard.Hi + 1, f.Hard.Hi * 1.01} {
				o := openObject("body", fmt.Appendf(nil, `{%q:%v}`, f.Key, v))
				var b Body
				b.take(o, &f)
				if o.bad == nil || o.bad.Field != "body."+f.Key {
					t.Errorf("%s.%s takes %v: %v", k.Name, f.Key, v, o.bad)
				}
			}
			if f.Hard.Above == f.Hard.Holds(f.Hard.Lo) {
				t.Errorf("%s.%s: the low end of %s", k.Name, f.Key, f.Hard)
			}
		}
	}
	if tried < 100 {
		t.Errorf("%d ranges tried, want more", tried)
	}
	_ = p
}

// Whatever the body: Check answers with a field that begins with "body", or
// takes it, and what it takes can be applied and read.
func TestCheckAnyBody(t *testing.T) {
	n := lighthouse(t)
	all := Kinds()
	rapid.Check(t, func(rt *rapid.T) {
		k := rapid.SampledFrom(all).Draw(rt, "kind")
		body := "{"
		for i, f := range k.Fields() {
			if rapid.IntRange(0, 5).Draw(rt, "has") > 0 && i >= len(k.Need)+1 {
				continue
			}
			if len(body) > 1 {
				body += ","
			}
			body += fmt.Sprintf("%q:%s", f.Key, anyValue(rt, f))
		}
		vessel := rapid.SampledFrom([]string{"", "lantern-pond", "sill"}).Draw(rt, "vessel")
		e := n.at(noon, vessel, k.Name, body+"}")
		p := lighthousePresent(t)
		doubts, bad := Check(e, p, Sent, noon)
		if bad != nil {
			if !strings.HasPrefix(bad.Field, "body") && bad.Field != "vessel" && bad.Field != "corrects" {
				rt.Fatalf("%s %s: field %q, %s", k.Name, e.Body, bad.Field, bad.Message)
			}
			return
		}
		e.ReceivedAt = noon
		p.Apply(e)
		if k.Group == GroupReading || k.Group == GroupAct || k.Group == GroupLot {
			ev, ok := p.Event(e.ID)
			if !ok || len(ev.Doubts) != len(doubts) {
				rt.Fatalf("%s %s stands with %+v, was checked with %+v", k.Name, e.Body, ev.Doubts, doubts)
			}
			if k.Group == GroupReading && len(ev.Readings()) == 0 && ev.Body.Text("text") == "" {
				rt.Fatalf("%s %s holds no reading", k.Name, e.Body)
			}
		}
	})
}

// anyValue draws a value for a field, now and then a wrong one.
func anyValue(t *rapid.T, f Field) string {
	if rapid.IntRange(0, 30).Draw(t, "wrong") == 0 {
		return rapid.SampledFrom([]string{`null`, `"x"`, `-1`, `[]`, `{}`, `true`, `1e300`}).Draw(t, "value")
	}
	switch f.Form {
	case FormNumber:
		return fmt.Sprint(rapid.Float64Range(max(f.Hard.Lo, f.Likely.Lo), f.Likely.Hi).Draw(t, "number"))
	case FormWhole:
		return fmt.Sprint(rapid.IntRange(int(f.Hard.Lo), 50).Draw(t, "whole"))
	case FormWord:
		return fmt.Sprintf("%q", rapid.SampledFrom(f.Words).Draw(t, "word"))
	case FormWords:
		words := f.Words
		if words == nil {
			words = []string{"a", "b"}
		}
		return fmt.Sprintf("[%q]", rapid.SampledFrom(words).Draw(t, "word"))
	case FormYes:
		return "true"
	case FormAmounts:
		return `{"KNO3":12.5}`
	case FormMedium:
		return `{"recipe":"house-salt"}`
	case FormDigest:
		return `"` + strings.Repeat("ab", 32) + `"`
	case FormByKey:
		return `{"ph":">"}`
	case FormName:
		return fmt.Sprintf("%q", rapid.SampledFrom([]string{"lantern-pond", "boat-pond", "meter-2", "rain-butt", "house-salt"}).Draw(t, "name"))
	case FormID:
		return `"01BX5ZZKBKACTAV9WEVGEMMVRY"`
	}
	return `"some words"`
}

func TestParseKind(t *testing.T) {
	for said, want := range map[string]string{
		"secchi": "secchi", "Disc": "secchi", "temp": "temperature", "OD": "optical_density", "dw": "dry_weight", "topped up": "topped_up",
		"  top   up ": "topped_up", "drew_off": "drew_off", "drew off": "drew_off", "pH": "ph", "color": "colour", "undo": "withdrawn", "feed": "fed",
	} {
		if k, bad := ParseKind(said); bad != nil || k.Name != want {
			t.Errorf("%q is %v, %v; want %s", said, k, bad, want)
		}
	}
	_, bad := ParseKind("seccchi")
	wantField(t, "seccchi", bad, Invalid, "kind", "none that can be noted")
	if bad != nil && !strings.Contains(bad.Hint, "secchi") {
		t.Errorf("hint %q", bad.Hint)
	}
}

// The readings and acts that growers can note, each under one name.
func TestKindsAreComplete(t *testing.T) {
	for group, names := range map[Group]string{
		GroupReading: "secchi filtrate_secchi optical_density dry_weight ph temperature level conductivity nitrate ammonia phosphate chlorine_free chlorine_total hardness oxygen light smell colour foam clumps filtrate animals microscope rain photo note reading",
		GroupAct:     "inoculated split moved mixed topped_up fed dosed harvested purged drew_off shaded covered vented stirred heated cleaned repaired checked quarantined discarded packed sold gave event",
		GroupSetup:   "site vessel recipe instrument person water supply setting",
		GroupBatch:   "weather sensor",
	} {
		for _, name := range strings.Fields(names) {
			if k := KindNamed(name); k == nil || k.Group != group || k.What == "" {
				t.Errorf("%s is %+v, want one of group %s", name, k, group)
			}
		}
	}
	for _, k := range Kinds() {
		for _, f := range k.Fields() {
			if f.What == "" || f.Form == "" || !isName(f.Key) {
				t.Errorf("%s.%s is told as %+v", k.Name, f.Key, f)
			}
		}
	}
}
