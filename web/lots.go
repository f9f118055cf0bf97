package web

import (
	"context"
	"encoding/json"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/lot"
	"sodalake/keeper"
	"sodalake/words"
)

// Lots is what the pages of harvests and lots need.
type Lots interface {
	// Lots are the lots as of at; with splitG of more than 0 also where so much
	// paste [g] goes today.
	Lots(ctx context.Context, at time.Time, splitG float64) (keeper.Lots, error)
	// Lot is one lot in full; farm.NotFound if there is none of that name.
	Lot(ctx context.Context, id string, at time.Time) (keeper.LotView, error)
	// Trace follows whatever bears the name; farm.NotFound if nothing does.
	Trace(ctx context.Context, name string, since, at time.Time) (lot.Trace, error)
	// Hazards is the plan of control with what the journal shows from from up to to.
	Hazards(ctx context.Context, from, to, at time.Time) (keeper.HazardView, error)
}

type lotsPage struct {
	Frame
	Open, Ended []lotRow
	First       []lotRow
	Empty       bool
	Unlotted    []unlotted
	SplitG      string
	Split       []splitRow
	Drill       string
	DrillDue    bool
	Lab         []labRow
	BadSplit    string
}

// lotRow is a lot on a list.
type lotRow struct {
	ID, Href, State, Form, Left, Keep string
	Place                             string
	Held, Released                    bool
	Clock                             string
	Next                              []string
}

// unlotted is a harvest that belongs to no lot yet.
type unlotted struct{ ID, EntryID, Href, Label, Lot string }

type splitRow struct {
	Amount, Unit, Way string
	Why               []string
}

type labRow struct{ Analyte, Found, State, Small string }

// sentenceOf says a lot's sentence.
func sentenceOf(w *words.Speaker, s lot.Said) string {
	if s.Key == "" {
		return ""
	}
	return upperFirst(w.Sentence(advice.Reason(s)))
}

// checkTitle is what a check is called; the farm's own by their names.
func checkTitle(w *words.Speaker, key string) string {
	if words.Has("check." + key) {
		return w.T("check." + key)
	}
	return key
}

func gramsOf(w *words.Speaker, g float64) string {
	value, unit := grams(w, g)
	return value + " " + unit
}

func isoDay(w *words.Speaker, t time.Time) string { return t.In(w.Zone()).Format(time.DateOnly) }

func rowOfLot(w *words.Speaker, l *lot.Lot) lotRow {
	row := lotRow{ID: l.ID, Href: "/lots/" + url.PathEscape(l.ID), State: w.T("lot_state." + string(l.State)), Form: w.T("lot_form." + string(l.Form)), Held: l.State == lot.OnHold, Released: l.State == lot.Released}
	if l.LeftG != nil && !l.State.Ended() {
		row.Left = gramsOf(w, *l.LeftG)
	}
	if l.Keep != nil {
		row.Keep = w.T("lots.keeps_until", "time", isoDay(w, l.Keep.BestBy))
	}
	if !l.State.Ended() {
		row.Place = l.Place
	}
	for i, n := range l.Next {
		if i == 3 {
			break
		}
		row.Next = append(row.Next, sentenceOf(w, n))
	}
	return row
}

// harvests is the list of lots.
func (s *server) harvests(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	word := frame.W
	p := lotsPage{Frame: frame, SplitG: strings.TrimSpace(r.URL.Query().Get("paste"))}
	p.Title, p.Sheet = word.T("lots.title"), "lots.css"
	split := 0.0
	if p.SplitG != "" {
		if split, err = mass("paste", p.SplitG, word); err != nil || split > 1e7 {
			p.BadSplit, split = word.T("lots.split_bad"), 0
		}
	}
	lots, err := s.Farm.Lots(r.Context(), s.Now(), split)
	if err != nil {
		return err
	}
	p.Empty = len(lots.Lots) == 0
	for i := range lots.Lots {
		l := &lots.Lots[i]
		row := rowOfLot(word, l)
		if l.State.Ended() {
			p.Ended = append(p.Ended, row)
		} else {
			p.Open = append(p.Open, row)
		}
		if slices.Contains(lots.Soonest, l.ID) {
			p.First = append(p.First, row)
		}
	}
	slices.SortStableFunc(p.First, func(a, b lotRow) int { return slices.Index(lots.Soonest, a.ID) - slices.Index(lots.Soonest, b.ID) })
	for _, h := range lots.Unlotted {
		p.Unlotted = append(p.Unlotted, unlotted{
			ID: s.newID(), EntryID: h.EntryID, Href: "/records/entry/" + h.EntryID, Lot: freeLot(word, h.At, lots.Lots),
			Label: word.When(h.At) + ", " + lots.Names.Of(lots.Names.Vessels, h.Vessel),
		})
	}
	for _, sh := range lots.Split {
		value, unit := grams(word, sh.MassG)
		row := splitRow{Amount: value, Unit: unit, Way: word.T("share." + sh.Way)}
		for _, y := range sh.Why {
			row.Why = append(row.Why, sentenceOf(word, y))
		}
		p.Split = append(p.Split, row)
	}
	if !lots.DrillDue.IsZero() {
		key := "trace.drill_next"
		if lots.DrillDue.Before(lots.At) {
			key, p.DrillDue = "trace.drill_due", true
		}
		p.Drill = word.T(key, "time", isoDay(word, lots.DrillDue))
	}
	for _, l := range lots.Lab {
		p.Lab = append(p.Lab, labRowOf(word, &l, lots.At))
	}
	return s.views.render(w, r, http.StatusOK, "harvests", p)
}

func labRowOf(w *words.Speaker, l *lot.Lab, now time.Time) labRow {
	row := labRow{Analyte: w.T("analyte." + l.Analyte), Found: l.Found, State: w.T("check_state." + string(l.State))}
	days := int(math.Max(now.Sub(l.At).Hours()/24, 0))
	row.Small = w.T("lots.lab_of", "lot", l.Lot, "day", isoDay(w, l.At), "days", strconv.Itoa(days))
	if l.Laboratory != "" {
		row.Small += ", " + l.Laboratory
	}
	for _, a := range l.Against {
		if a.Source != "" {
			row.Small += "; " + a.Place + " (" + a.Source + ")"
		}
	}
	return row
}

type harvestPage struct {
	Frame
	ID, LotID string
	CleanID   string
	Vessels   []option
	Tools     []option
	VolUnit   string
	TempUnit  string
}

// harvestForm begins a lot at the cloth.
func (s *server) harvestForm(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	lots, err := s.Farm.Lots(r.Context(), s.Now(), 0)
	if err != nil {
		return err
	}
	p := harvestPage{Frame: frame, ID: s.newID(), CleanID: s.newID(), VolUnit: frame.W.UnitOf("volume_l"), TempUnit: frame.W.UnitOf("temp_c")}
	p.Title, p.Sheet = frame.W.T("lots.begin"), "lots.css"
	if r.URL.Query().Get("said") == "saved" {
		p.Said = frame.W.T("setup.saved")
	}
	chosen := r.URL.Query().Get("vessel")
	for _, v := range setup.Vessels {
		if v.Retired || v.Use == "reserve" {
			continue
		}
		p.Vessels = append(p.Vessels, option{v.ID, v.Name, v.ID == chosen})
	}
	for _, t := range lots.Tools {
		p.Tools = append(p.Tools, option{t.ID, t.Name, false})
	}
	p.LotID = freeLot(frame.W, s.Now(), lots.Lots)
	return s.views.render(w, r, http.StatusOK, "harvest", p)
}

// freeLot is a name for a lot that is not taken: the day, and a letter for each
// lot of that day.
func freeLot(w *words.Speaker, at time.Time, lots []lot.Lot) string {
	for c := 'a'; ; c++ {
		id := isoDay(w, at) + "-" + string(c)
		if c == 'z' || !slices.ContainsFunc(lots, func(l lot.Lot) bool { return l.ID == id }) {
			return id
		}
	}
}

// nameHarvest gives a harvest that was noted without one its lot: a correction
// that says the same and the lot.
func (s *server) nameHarvest(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	name := strings.TrimSpace(r.PostForm.Get("lot"))
	if name == "" {
		return invalid("lot", "", "lot is missing")
	}
	was, err := s.Farm.Entry(r.Context(), r.PostForm.Get("entry"))
	if err != nil {
		return err
	}
	var body map[string]any
	if was.Kind != "harvested" || json.Unmarshal(was.Body, &body) != nil {
		return invalid("entry", "", "entry %q is no harvest", clip(was.ID))
	}
	body["lot"] = name
	raw, err := encodeBody(body)
	if err != nil {
		return err
	}
	e := farm.Entry{ID: r.PostForm.Get("id"), Site: was.Site, Vessel: was.Vessel, Kind: was.Kind, V: was.V, At: was.At, NotedAt: s.Now(), By: was.By, Body: raw, Corrects: was.ID, Item: was.Item}
	if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
		return err
	}
	http.Redirect(w, r, "/lots/"+url.PathEscape(name)+"?said=saved", http.StatusSeeOther)
	return nil
}

// writeHarvest writes a harvest down that begins a lot.
func (s *server) writeHarvest(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp := r.PostForm, s.speaker(r)
	body := map[string]any{"lot": strings.TrimSpace(f.Get("lot"))}
	if body["lot"] == "" {
		return invalid("lot", "", "lot is missing")
	}
	if text := strings.TrimSpace(f.Get("volume")); text != "" {
		x, err := plainNumber("volume", text)
		if err != nil {
			return err
		}
		body["volume_l"] = roundTo(sp.Stored("volume_l", x), 3)
	}
	if err := lotNumbers(f, sp, body); err != nil {
		return err
	}
	if to := f.Get("filtrate_to"); to != "" {
		body["filtrate_to"] = to
	}
	if f.Get("fit") != "" {
		body["fit"] = f.Get("fit") == "yes"
	}
	if f.Get("not_food") == "yes" {
		body["for_food"] = false
	}
	if err := s.writeLotEntry(r, sp, f.Get("vessel"), "harvested", body); err != nil {
		return err
	}
	http.Redirect(w, r, "/lots/"+url.PathEscape(body["lot"].(string))+"?said=saved", http.StatusSeeOther)
	return nil
}

// lotNumbers reads what forms about lots share: a mass, a temperature, tools.
func lotNumbers(f url.Values, sp *words.Speaker, body map[string]any) error {
	if text := strings.TrimSpace(f.Get("mass")); text != "" {
		g, err := mass("mass", text, sp)
		if err != nil {
			return err
		}
		body["mass_g"] = g
	}
	if text := strings.TrimSpace(f.Get("temp")); text != "" {
		x, err := plainNumber("temp", text)
		if err != nil {
			return err
		}
		body["temp_c"] = roundTo(sp.Stored("temp_c", x), 2)
	}
	if tools := f["tools"]; len(tools) > 0 {
		body["tools"] = tools
	}
	return nil
}

// writeLotEntry writes an entry about a lot as it was sent: now, or when its
// sheet was filled in out of reach.
func (s *server) writeLotEntry(r *http.Request, sp *words.Speaker, vessel, kind string, body map[string]any) error {
	f := r.PostForm
	raw, err := encodeBody(body)
	if err != nil {
		return err
	}
	now := s.Now()
	e := farm.Entry{ID: f.Get("id"), Vessel: vessel, Kind: kind, V: 1, At: now, NotedAt: now, By: s.whoDecides(r), Body: raw}
	origin := farm.Typed
	if made := f.Get("made_at"); made != "" {
		t, err := time.Parse(time.RFC3339, made)
		if err != nil {
			return invalid("made_at", "", "made_at %q is not a time", clip(made))
		}
		if now.Sub(t) > time.Minute {
			e.At, e.NotedAt, origin = t, t, farm.Sent
		}
	}
	if at := strings.TrimSpace(f.Get("at")); at != "" {
		t, err := moment("at", at, sp.Zone())
		if err != nil {
			return err
		}
		e.At = t
	}
	_, _, err = s.write(r.Context(), e, origin)
	return err
}

// whoDecides is the person behind a request; where no login names one, the form
// says who it was.
func (s *server) whoDecides(r *http.Request) string {
	who := s.Who(r)
	if by := strings.TrimSpace(r.PostForm.Get("by")); who == "farm" && by != "" {
		return by
	}
	return who
}
