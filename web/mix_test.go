package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"testing"

	"golang.org/x/net/html"

	"sodalake/farm"
	"sodalake/web/canned"
)

// rows are the amounts of a sheet as they stand on the page, in their order.
func rows(n *html.Node) (names []string, amounts map[string]string) {
	amounts = map[string]string{}
	for _, tr := range all(n, "tr") {
		var g, name string
		for _, td := range all(tr, "td") {
			switch attr(td, "class") {
			case "g":
				g = text(td)
			case "ing":
				name = strings.TrimSpace(td.FirstChild.Data)
			}
		}
		if g != "" {
			names = append(names, name)
			amounts[name] = g
		}
	}
	return names, amounts
}

func mix(t *testing.T, h http.Handler, query string) *html.Node {
	t.Helper()
	w := get(t, h, "/mix?"+query)
	if w.Code != 200 {
		t.Fatalf("%s: status %d: %s", query, w.Code, text(parse(t, w)))
	}
	return parse(t, w)
}

func TestMixAmounts(t *testing.T) {
	for _, c := range []struct {
		f      *canned.Farm
		query  string
		want   map[string]string
		source string
	}{
		// A farm without lots weighs the pure salts of the published table.
		{canned.Empty(), "mode=medium&volume=10&recipe=pub.zarrouk", map[string]string{"Baking soda": "168 g", "Nitrate of soda": "25 g", "Dipotassium phosphate": "5.0 g", "Sulfate of potash": "10 g",
			"Salt": "10 g", "Epsom salt": "2.0 g", "EDTA": "0.80 g", "Iron sulfate": "0.10 g", "Calcium chloride, cheese maker's": "0.40 g", "Water to begin with": "8 L", "In all, filled up": "10 L"}, "zarrouk1966, grams a litre as in most laboratory protocols, times ten"},
		{canned.Empty(), "mode=medium&volume=5+gal&recipe=pub.zarrouk", map[string]string{"Baking soda": "318 g"}, "5 US gal = 18.927 L, NIST SP 811 B.8"},
		{canned.Empty(), "mode=medium&volume=3+five-gallon+buckets&recipe=pub.zarrouk", map[string]string{"Baking soda": "954 g"}, "15 US gal = 56.781 L"},
		{canned.Empty(), "mode=medium&volume=250+mL&recipe=pub.zarrouk", map[string]string{"Baking soda": "4.2 g", "Epsom salt": "0.050 g"}, "a quarter of a litre"},
		{canned.NewUS(), "mode=medium&volume=5&recipe=farm.station-medium", map[string]string{"Baking soda": "227 g", "Water to begin with": "4 gal", "In all, filled up": "5 gal"}, "12 g/L of the canned recipe in 18.927 L"},
		// With a lot of 99 % more of it is weighed for a published recipe, and the farm's own grams stay.
		{canned.New(), "mode=medium&volume=100&recipe=pub.bicarbonate-farm&water=", map[string]string{"Baking soda": "808 g", "Salt": "500 g"}, "8 g/L at 99 %: 808.1 g"},
		{canned.New(), "mode=medium&volume=100&recipe=farm.station-medium&water=", map[string]string{"Baking soda": "1200 g"}, "12 g/L as the farm weighs it"},
		{canned.New(), "mode=medium&volume=20000&recipe=farm.station-medium&water=", map[string]string{"Baking soda": "240 kg"}, "in kilograms where it is many"},
		{canned.Empty(), "mode=medium&volume=2&recipe=own&salts=baking+soda+10%0Asaltpetre+2,5", map[string]string{"Baking soda": "20 g", "Saltpetre": "5.0 g"}, "own salts, a comma as decimal mark"},
	} {
		names, got := rows(mix(t, handler(c.f), c.query))
		for name, want := range c.want {
			if strings.ReplaceAll(got[name], "\u00a0", " ") != want {
				t.Errorf("%s: %s %q, want %q (%s)\n%v", c.query, name, got[name], want, c.source, got)
			}
		}
		if last := names[len(names)-2]; strings.Contains(c.query, "zarrouk") && !strings.HasPrefix(last, "Calcium") {
			t.Errorf("%s: before filling up goes %s, want calcium: %v", c.query, last, names)
		}
	}
}

// From the shelf: no salt that does not stand there, and no more of one than
// there is; where it cannot be, the element and what to buy are named.
func TestMixFromShelf(t *testing.T) {
	h := handler(canned.New())
	for _, method := range []string{"closest", "cheapest", "fewest"} {
		doc := mix(t, h, "mode=medium&volume=50&recipe=farm.station-medium&water=&method="+method)
		names, got := rows(doc)
		for _, n := range names {
			switch n {
			case "Baking soda", "Saltpetre", "Salt", "Epsom salt", "Dipotassium phosphate", "Iron sulfate", "Water to begin with", "In all, filled up":
			default:
				t.Errorf("%s weighs %s %s, which is not on the shelf", method, got[n], n)
			}
		}
		if !strings.Contains(text(doc), "50 L like Station medium, from the shelf") || got["Baking soda"] == "" {
			t.Errorf("%s: %v", method, got)
		}
		form := recordForm(t, doc, "/mix")
		if !strings.Contains(form.Get("record"), `"salts_g_per_l"`) || strings.Contains(form.Get("record"), "station-medium") {
			t.Errorf("%s is recorded as the recipe: %s", method, form.Get("record"))
		}
	}
	s := text(parse(t, get(t, h, "/mix?mode=medium&volume=50000&recipe=farm.station-medium&water=&method=cheapest")))
	if !strings.Contains(s, "carbon") && !strings.Contains(s, "alkalinity") {
		t.Errorf("50 000 L from one sack: the page does not say what is short: %.600s", s)
	}
}

// Urea that stands above 60 mg/L in a start, a feed that nobody weighed, and a
// volume that is none are refused with the reason, and nothing can be recorded.
func TestMixRefuses(t *testing.T) {
	h := handler(canned.New())
	for query, want := range map[string][]string{
		"mode=medium&volume=20&recipe=own&salts=urea+0.2%0Abaking+soda+8":                         {"200 mg/L", "60 mg/L", "take nitrate"},
		"mode=medium&volume=20&recipe=own&salts=nettle+tea+1":                                     {"nettle tea", "instead"},
		"mode=medium&volume=20&recipe=own&salts=baking+sodah+1":                                   {"baking sodah"},
		"mode=medium&volume=-5":                                                                   {"volume", "not above zero"},
		"mode=medium&volume=five":                                                                 {"volume", "cannot be read"},
		"mode=medium&volume=20&recipe=farm.gone":                                                  {"farm.gone", "does not exist"},
		"mode=medium&volume=20&method=cheapest&recipe=farm.station-medium&water=zz":               {}, // what water is not known is taken as none
		"mode=medium&volume=20&temp=warm":                                                         {"temp"},
		"mode=feed&vessel=lantern-pond&nitrogen=urine":                                            {"not known"},
		"mode=ph&vessel=lantern-pond&by=caustic":                                                  {"two readings"},
		"mode=ph&vessel=cistern-tank&by=caustic&ph=9.4&ph_again=9.42&to_ph=9.5&meter_checked=yes": {"ammonia"},
		"mode=ph&vessel=lantern-pond&by=caustic&ph=9.4&ph_again=9.42&to_ph=10.4&meter_checked=yes&standing_urea_mg_per_l=0": {"step"},
		"mode=ph&vessel=lantern-pond&by=caustic&ph=9.4&ph_again=9.9&to_ph=9.5&meter_checked=yes":                            {"agree"},
		"mode=ph&vessel=lantern-pond&by=co2&to_ph=9.9&stands=indoors&cylinder_kg=10&room_m3=20":                             {"28 % of the air"},
		"mode=ph&vessel=lantern-pond&by=soda_ash&ph=10.2&to_ph=11.2":                                                        {"10.5"},
		"mode=ph&vessel=lantern-pond&by=bicarbonate&bicarbonate_g=-4":                                                       {"bicarbonate_g"},
	} {
		doc := parse(t, get(t, h, "/mix?"+query))
		body := ""
		for _, d := range all(doc, "div") {
			if attr(d, "class") == "bad" {
				body = strings.ToLower(text(d))
			}
		}
		for _, word := range want {
			if !strings.Contains(body, strings.ToLower(word)) {
				t.Errorf("%s: the page does not say %q: %.700s", query, word, body)
			}
		}
		if len(want) > 0 {
			for _, f := range all(doc, "form") {
				if attr(f, "method") == "post" && attr(f, "action") == "/mix" {
					t.Errorf("%s: what is refused can be recorded", query)
				}
			}
		}
	}
}

// What the page tells of a medium, against a worked figure: Zarrouk's medium
// reads about 8 when fresh (8.0 to 8.5 in the handbooks' words for bicarbonate
// media), stands about 20 mS/cm, and its nitrate of 29.4 mM feeds 4.1 g/L of
// cells that hold a tenth of nitrogen: 29.4 x 14.007 / 0.10 / 1000.
func TestMixTells(t *testing.T) {
	doc := mix(t, handler(canned.Empty()), "mode=medium&volume=10&recipe=pub.zarrouk&water_hardness_mg_per_l=180")
	gets := map[string]string{}
	for _, d := range all(doc, "dl") {
		if attr(d, "class") != "gets" {
			continue
		}
		for _, div := range all(d, "div") {
			gets[text(all(div, "dt")[0])] = text(all(div, "dd")[0])
		}
	}
	number := func(name string) float64 {
		x, _ := strconv.ParseFloat(strings.Fields(strings.ReplaceAll(gets[name], "\u00a0", " ") + " ?")[0], 64)
		return x
	}
	ph := strings.TrimSpace(gets["pH as mixed"])
	if len(ph) < 3 || ph[:3] < "7.8" || ph[:3] > "8.4" || !strings.Contains(ph, "–") {
		t.Errorf("pH as mixed %q, want 8.0 to 8.4 with its spread", gets["pH as mixed"])
	}
	if ms := number("Salts"); ms < 17 || ms > 24 {
		t.Errorf("conductivity %q", gets["Salts"])
	}
	body := text(doc)
	for _, want := range []string{"nitrogen4.12", "chalk", "phosphate of lime", "wait for 9", "Nitrate of soda"} {
		if !strings.Contains(strings.ReplaceAll(body, "\u00a0", " "), want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	if math.Abs(29.4*14.007/0.10/1000-4.12) > 0.01 {
		t.Error("the check itself is off")
	}
	svg := 0
	for _, s := range all(doc, "svg") {
		if strings.Contains(attr(s, "aria-label"), "pH while it stands") {
			svg++
		}
	}
	if svg != 2 {
		t.Errorf("%d charts, want one for a phone and one for a desk", svg)
	}
}

// forms finds the form that records what was mixed.
func recordForm(t *testing.T, doc *html.Node, action string) url.Values {
	t.Helper()
	for _, f := range all(doc, "form") {
		if attr(f, "action") != action || attr(f, "method") != "post" {
			continue
		}
		v := url.Values{}
		for _, in := range all(f, "input") {
			v.Set(attr(in, "name"), attr(in, "value"))
		}
		for _, sel := range all(f, "select") {
			v.Set(attr(sel, "name"), "")
		}
		return v
	}
	t.Fatalf("no form to %s", action)
	return nil
}

func bodyOf(t *testing.T, f *canned.Farm, id string) (farm.Entry, map[string]any) {
	t.Helper()
	e, err := f.Entry(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	var body map[string]any
	if err := json.Unmarshal(e.Body, &body); err != nil {
		t.Fatal(err)
	}
	return e, body
}

func left(t *testing.T, f *canned.Farm, lot string) float64 {
	t.Helper()
	s, err := f.Shelf(context.Background(), canned.Now)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range s.Lots {
		if l.ID == lot {
			return l.LeftG
		}
	}
	t.Fatalf("no lot %s", lot)
	return 0
}

// One tap records the batch with its lots; sent eight times at once it is
// written once; the stock is drawn down, and back up when it is taken back.
func TestMixRecordsOnce(t *testing.T) {
	f := canned.New()
	h := handler(f)
	before := left(t, f, "soda-8")
	form := recordForm(t, mix(t, h, "mode=medium&volume=50&recipe=farm.station-medium&water=tap&lot.baking-soda=soda-8"), "/mix")
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			if w := post(h, "/mix", form); w.Code != http.StatusSeeOther || !strings.Contains(w.Header().Get("Location"), "recorded="+form.Get("id")) {
				t.Errorf("status %d to %q: %s", w.Code, w.Header().Get("Location"), w.Body)
			}
		})
	}
	wait.Wait()
	if f.Writes != 1 {
		t.Errorf("the same form wrote %d times", f.Writes)
	}
	e, body := bodyOf(t, f, form.Get("id"))
	salts, _ := body["salts_g"].(map[string]any)
	lots, _ := body["supplies_g"].(map[string]any)
	medium, _ := body["medium"].(map[string]any)
	if e.Kind != "mixed" || e.Vessel != "" || body["volume_l"] != 50.0 || medium["recipe"] != "station-medium" || body["water"] != "tap" || salts["NaHCO3"] != 600.0 || lots["soda-8"] != 600.0 || lots["nitre-2"] != 75.0 {
		t.Errorf("entry %s %+v", e.Kind, body)
	}
	if d := before - left(t, f, "soda-8"); math.Abs(d-600) > 1e-6 {
		t.Errorf("the lot went down by %g g, want 600", d)
	}
	page := parse(t, get(t, h, "/mix?mode=medium&recorded="+form.Get("id")))
	if !strings.Contains(text(page), "Recorded: ") {
		t.Error("the page does not say what was recorded")
	}
	undo := recordForm(t, page, "/undo")
	if w := post(h, "/undo", undo); w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/mix" {
		t.Errorf("undo: status %d to %s", w.Code, w.Header().Get("Location"))
	}
	if d := before - left(t, f, "soda-8"); math.Abs(d) > 1e-6 {
		t.Errorf("taken back, the lot still lacks %g g", d)
	}
	// Into a vessel, and something that the bench does not record.
	form = recordForm(t, mix(t, h, "mode=medium&volume=50&recipe=farm.station-medium"), "/mix")
	form.Set("vessel", "boat-pond")
	post(h, "/mix", form)
	if e, _ := bodyOf(t, f, form.Get("id")); e.Vessel != "boat-pond" || e.Kind != "mixed" {
		t.Errorf("entry %+v", e)
	}
	form = recordForm(t, mix(t, h, "mode=medium&volume=50"), "/mix")
	form.Set("record", `{"vessel":"boat-pond","kind":"harvested","v":1,"body":{"volume_l":5}}`)
	if w := post(h, "/mix", form); w.Code != http.StatusUnprocessableEntity {
		t.Errorf("a record of another kind: status %d", w.Code)
	}
}

func TestMixTopUp(t *testing.T) {
	f := canned.New()
	h := handler(f)
	// The low end of what is missing is offered.
	doc := mix(t, h, "mode=top&vessel=boat-pond")
	_, got := rows(doc)
	if got["In all, filled up"] != "40 L" || got["Baking soda"] != "480 g" {
		t.Errorf("amounts %v, want 40 L of 12 g/L", got)
	}
	form := recordForm(t, doc, "/mix")
	post(h, "/mix", form)
	e, body := bodyOf(t, f, form.Get("id"))
	lots, _ := body["supplies_g"].(map[string]any)
	if e.Kind != "topped_up" || e.Vessel != "boat-pond" || body["volume_l"] != 40.0 || body["with"] != "medium" || lots["soda-7"] != 480.0 {
		t.Errorf("entry %s %+v", e.Kind, body)
	}
	// Water; and from the barrel, where nothing is weighed twice.
	doc = mix(t, h, "mode=top&vessel=cistern-tank&with=water&volume=30&water=tap&item=cistern-tank.top_up_water.1")
	if s := text(doc); !strings.Contains(s, "5.4") { // 30 L of 180 mg/L
		t.Error("30 L of that tap water bring 5.4 g of hardness; the page does not say so")
	}
	form = recordForm(t, doc, "/mix")
	post(h, "/mix", form)
	if e, body := bodyOf(t, f, form.Get("id")); e.Item != "cistern-tank.top_up_water.1" || body["with"] != "water" || body["water"] != "tap" {
		t.Errorf("entry %+v %+v", e, body)
	}
	s, _ := f.Shelf(context.Background(), canned.Now)
	batch := s.Batches[0]
	soda := left(t, f, "soda-7")
	form = recordForm(t, mix(t, h, "mode=top&vessel=boat-pond&volume=20&with=batch."+batch.EntryID), "/mix")
	post(h, "/mix", form)
	if _, body := bodyOf(t, f, form.Get("id")); !strings.Contains(fmt.Sprint(body["medium"]), batch.EntryID) {
		t.Errorf("the entry does not name its batch: %+v", body)
	}
	s, _ = f.Shelf(context.Background(), canned.Now)
	if math.Abs(batch.LeftL-20-s.Batches[0].LeftL) > 1e-9 || math.Abs(soda-left(t, f, "soda-7")) > 1e-9 {
		t.Errorf("the barrel went from %g to %g L, soda from %g to %g g", batch.LeftL, s.Batches[0].LeftL, soda, left(t, f, "soda-7"))
	}
}

// Feed: 120 g of dry matter hold 12 g of nitrogen, which is 86.6 g of pure
// saltpetre (101.10/14.007, IUPAC) and 87.5 g of one of 99 %.
func TestMixFeed(t *testing.T) {
	f := canned.New()
	h := handler(f)
	doc := mix(t, h, "mode=feed&vessel=lantern-pond")
	_, got := rows(doc)
	if g, _ := strconv.ParseFloat(strings.TrimSuffix(strings.ReplaceAll(got["Saltpetre"], "\u00a0", " "), " g"), 64); math.Abs(g-87.5) > 0.3 {
		t.Errorf("saltpetre %q, want 87.5 g", got["Saltpetre"])
	}
	form := recordForm(t, doc, "/mix")
	post(h, "/mix", form)
	e, body := bodyOf(t, f, form.Get("id"))
	salts, _ := body["salts_g"].(map[string]any)
	lots, _ := body["supplies_g"].(map[string]any)
	if e.Kind != "fed" || e.Vessel != "lantern-pond" || salts["KNO3"] != lots["nitre-2"] || salts["KNO3"] == nil {
		t.Errorf("entry %s %+v", e.Kind, body)
	}
	// The amount of the day list's item comes out again.
	_, got = rows(mix(t, h, "mode=feed&vessel=boat-pond&amount_g=100&nitrogen=KNO3"))
	if got["Saltpetre"] != "100 g" {
		t.Errorf("the item's 100 g became %q", got["Saltpetre"])
	}
	// Urea is given a day's worth at a time, and none where it smells.
	_, got = rows(mix(t, h, "mode=feed&vessel=boat-pond&dry=900&nitrogen=CO(NH2)2&temp=27&volume=400&standing_urea_mg_per_l=0&given_today_urea_mg_per_l=0"))
	if got["Urea"] != "13.3 g" { // 33 mg/L a day of 400 L, sanchezluna2007, of urea of 99 %
		t.Errorf("urea %q, want 13.3 g today", got["Urea"])
	}
	doc = mix(t, h, "mode=feed&vessel=boat-pond&dry=900&nitrogen=CO(NH2)2&temp=27&volume=400&ammonia_smell=yes")
	if _, got = rows(doc); got["Urea"] != "" || !strings.Contains(text(doc), "smells of ammonia") {
		t.Errorf("urea where it smells: %q", got["Urea"])
	}
	doc = mix(t, h, "mode=feed&vessel=sill-bottles&dry=1&nitrogen=CO(NH2)2&temp=27")
	if _, got = rows(doc); got["Urea"] != "" {
		t.Errorf("urea where a smell of ammonia was noted: %q", got["Urea"])
	}
	// A ready mix is fed by what it is at most.
	doc = mix(t, h, "mode=feed&vessel=boat-pond&nitrogen=ready.kit")
	form = recordForm(t, doc, "/mix")
	post(h, "/mix", form)
	if _, body := bodyOf(t, f, form.Get("id")); body["ready_mix"] != "kit" || body["ready_mix_g"] == nil {
		t.Errorf("entry %+v", body)
	}
}

// A correction shows its effect first, and is recorded as a dose.
func TestMixPH(t *testing.T) {
	f := canned.New()
	h := handler(f)
	doc := mix(t, h, "mode=ph&vessel=lantern-pond&by=soda_ash&ph=9.4&to_ph=9.6&volume=900&temp=24&standing_urea_mg_per_l=0")
	s := strings.ReplaceAll(text(doc), "\u00a0", " ")
	if effect, then := strings.Index(s, "What it does, before it is done"), strings.Index(s, "Record as done"); effect < 0 || then < effect {
		t.Error("the effect does not stand before the record")
	}
	for _, want := range []string{"9.6", "free ammonia", "Goggles", "Sodium it leaves"} {
		if !strings.Contains(s, want) {
			t.Errorf("the page lacks %q", want)
		}
	}
	form := recordForm(t, doc, "/mix")
	post(h, "/mix", form)
	e, body := bodyOf(t, f, form.Get("id"))
	salts, _ := body["salts_g"].(map[string]any)
	if g, _ := salts["Na2CO3"].(float64); e.Kind != "dosed" || g < 100 {
		t.Errorf("entry %s %+v", e.Kind, body)
	}
	// Waiting is not an act.
	doc = mix(t, h, "mode=ph&vessel=lantern-pond&by=wait&ph=9.4&to_ph=9.6")
	for _, fm := range all(doc, "form") {
		if attr(fm, "action") == "/mix" && attr(fm, "method") == "post" {
			t.Error("waiting can be recorded")
		}
	}
	if s := text(doc); !strings.Contains(s, "days") || strings.Contains(s, "There is nothing to add") {
		t.Error("waiting has no days")
	}
}

// Items of the day list that need weighing open the bench with their vessel and
// their amount.
func TestTodayOpensMix(t *testing.T) {
	h := handler(canned.New())
	seen := 0
	for _, a := range all(parse(t, get(t, h, "/")), "a") {
		href := attr(a, "href")
		if !strings.HasPrefix(href, "/mix?") {
			continue
		}
		seen++
		q, _ := url.ParseQuery(strings.TrimPrefix(href, "/mix?"))
		w := get(t, h, href)
		if w.Code != 200 || q.Get("item") == "" {
			t.Errorf("%s: status %d", href, w.Code)
			continue
		}
		doc := parse(t, w)
		form := recordForm(t, doc, "/mix")
		var e farm.Entry
		if err := json.Unmarshal([]byte(form.Get("record")), &e); err != nil || e.Vessel != q.Get("vessel") || form.Get("item") != q.Get("item") {
			t.Errorf("%s: record %s of item %s: %v", href, form.Get("record"), form.Get("item"), err)
		}
		_, got := rows(doc)
		amount := q.Get("amount_g") + q.Get("bicarbonate_g") + q.Get("volume")
		found := false
		if amount == "" {
			t.Errorf("%s carries no amount", href)
		}
		for _, g := range got {
			found = found || strings.HasPrefix(g, amount)
		}
		if !found {
			t.Errorf("%s: no row holds the item's %s: %v", href, amount, got)
		}
	}
	if seen < 3 {
		t.Errorf("%d items open the bench, want feed, carbon and top-up", seen)
	}
}
