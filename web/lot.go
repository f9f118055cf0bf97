package web

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sodalake/document"
	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/keeper"
	"sodalake/science/process"
	"sodalake/words"
)

type lotView struct {
	Frame
	lotRow
	Lot       string
	Lead      string // what it is, how much is left
	Clock     []clockRow
	Warning   string
	Assumed   bool
	Checks    []checkRow
	Holds     []holdRow
	Decided   string // who let it go or rejected it, and why
	Evidence  []checkRow
	Lab       []labRow
	History   []record
	Ahead     []string
	Steps     []option
	Tools     []option
	CheckKeys []option
	Analytes  []option
	Owners    []option
	Sizes     []option
	TempUnit  string
	Ended     bool // nothing is left of it
	Open      bool // something is left of it and it is not rejected
	MayDecide bool // nothing but a person's decision is missing
	Doubts    []string
	IDs       map[string]string // a ULID for each form
	From      []navLink
	Into      []navLink
	Balance   []part
	FormHow   string
}

// clockRow is a stage of the clock: how much of its limit is spent.
type clockRow struct {
	Stage, Spent, Limit string
	Pct                 int // of the limit [%]
	Passed              bool
}

type checkRow struct {
	Name, State, Why, By string
	Required             bool
	Missing, Failed      bool
	Evidence             []string
}

type holdRow struct {
	What, Small, EntryID string
	Ended                string
}

// stepsFrom are the steps that make sense where a lot is, the likely ones first.
var stepsFrom = map[process.Where][]string{
	process.Wet:    {"drained", "rinsed", "pressed", "shaped", "into_dryer", "into_cold", "into_freezer", "weighed"},
	process.Drying: {"weighed", "out_of_dryer"},
	process.Cold:   {"out_of_cold", "into_dryer", "into_freezer", "weighed"},
	process.Frozen: {"out_of_freezer", "weighed"},
	process.Dry:    {"out_of_dryer", "sieved", "weighed", "into_freezer"},
}

// lotPage shows one lot with its running sheet.
func (s *server) lotSheet(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "harvests", "")
	if err != nil {
		return err
	}
	v, err := s.Farm.Lot(r.Context(), r.PathValue("id"), s.Now())
	if err != nil {
		return err
	}
	if r.URL.Query().Get("said") == "saved" {
		frame.Said = frame.W.T("setup.saved")
	}
	return s.views.render(w, r, http.StatusOK, "lotsheet", s.lotViewOf(frame, &v))
}

func (s *server) lotViewOf(frame Frame, v *keeper.LotView) *lotView {
	word := frame.W
	l := &v.Lot
	p := &lotView{Frame: frame, lotRow: rowOfLot(word, l), Lot: l.ID, TempUnit: word.UnitOf("temp_c"), IDs: map[string]string{}}
	p.Title, p.Script = word.T("lots.single", "lot", l.ID), "lots.js"
	p.Sheet, p.Ended = "lots.css", l.State.Ended()
	p.Open = !l.State.Ended() && l.State != lot.Rejected
	for _, form := range []string{"step", "check", "deviation", "release", "reject", "out", "pack", "blend", "hold", "recall"} {
		p.IDs[form] = s.newID()
	}
	p.Lead = upperFirst(p.lotRow.Form)
	if p.Left != "" {
		p.Lead += ", " + word.T("lots.left", "left_g", *l.LeftG)
	}
	if l.Packs > 0 {
		p.Lead += ", " + word.T("lots.packs_left", "n", strconv.Itoa(l.PacksLeft), "of", strconv.Itoa(l.Packs))
	}
	if l.Place != "" {
		p.Lead += ", " + l.Place
	}
	if p.Keep != "" {
		p.Lead += ", " + p.Keep
	}
	p.Lead += "."
	if n := l.Clock.Warning; n.Key != "" && !l.Clock.Stands {
		p.Warning = sentenceOf(word, n)
		if len(p.Next) > 0 && p.Next[0] == p.Warning {
			p.Next = p.Next[1:] // said already
		}
	}
	p.Assumed = l.Clock.Assumed
	for _, st := range l.Clock.Stages {
		if st.SpentH <= 0 {
			continue
		}
		limit := st.HoldH
		p.Clock = append(p.Clock, clockRow{
			Stage: upperFirst(word.T("stage." + string(st.Where))), Spent: word.Number("spent_h", st.SpentH).Plain(), Limit: word.Number("limit_h", limit).Plain(),
			Pct: min(int(100*st.SpentH/limit+0.5), 100), Passed: st.SpentH >= limit,
		})
	}
	for i := range l.Checks {
		p.Checks = append(p.Checks, checkRowOf(word, &l.Checks[i]))
		c := &l.Checks[i]
		p.CheckKeys = append(p.CheckKeys, option{c.Key, upperFirst(checkTitle(word, c.Key)), c.State == process.Missing && c.Required})
	}
	for _, h := range l.Holds {
		p.Holds = append(p.Holds, holdRowOf(word, v, &h))
	}
	switch {
	case l.Rejection != nil:
		p.Decided = word.T("lots.rejected_by", "who", l.Rejection.By, "time", l.Rejection.At, "why", l.Rejection.Reason)
	case l.Release != nil:
		p.Decided = word.T("lots.released_by", "who", l.Release.By, "time", l.Release.At, "why", l.Release.Reason)
		for i := range l.Release.Evidence {
			p.Evidence = append(p.Evidence, checkRowOf(word, &l.Release.Evidence[i]))
		}
	}
	for i := range l.Lab {
		p.Lab = append(p.Lab, labRowOf(word, &l.Lab[i], l.At))
	}
	for _, key := range []string{"pressed", "dried"} {
		if b, known := l.Ahead[key]; known && p.Open && l.Where != process.Dry {
			p.Ahead = append(p.Ahead, word.T("lots.ahead_"+key, "mass_g", b))
		}
	}
	for _, key := range stepsFrom[l.Where] {
		if key == "out_of_dryer" && l.Form == process.DriedSealed {
			continue // it is out
		}
		p.Steps = append(p.Steps, option{key, upperFirst(word.T("lot_step." + key)), false})
	}
	for _, t := range v.Tools {
		p.Tools = append(p.Tools, option{t.ID, t.Name, false})
	}
	for _, a := range farm.Analytes {
		p.Analytes = append(p.Analytes, option{a, upperFirst(word.T("analyte." + a)), false})
	}
	for _, id := range v.Owners {
		p.Owners = append(p.Owners, option{id, v.Names.Of(v.Names.People, id), false})
	}
	for _, size := range document.LabelKeys() {
		p.Sizes = append(p.Sizes, option{size, strings.ReplaceAll(size, "x", " × ") + " mm", false})
	}
	blocked := false
	for _, c := range l.Checks {
		blocked = blocked || c.State == process.Failed || c.State == process.Missing && c.Required
	}
	for i := range l.Holds {
		blocked = blocked || l.Holds[i].Stands()
	}
	p.MayDecide = p.Open && !blocked && l.State != lot.Released && !l.NotFood
	for _, d := range l.Doubts {
		p.Doubts = append(p.Doubts, upperFirst(word.T(d.Key)))
	}
	for _, f := range l.From {
		p.From = append(p.From, navLink{"/lots/" + url.PathEscape(f.Lot), f.Lot})
	}
	for _, f := range l.Into {
		p.Into = append(p.Into, navLink{"/lots/" + url.PathEscape(f.Lot), f.Lot})
	}
	p.history(v)
	b := v.Balance
	for _, x := range []struct {
		key string
		g   float64
	}{{"in_g", b.InG}, {"lost_g", b.LostG}, {"left_g", b.LeftG}, {"sold_g", b.SoldG}, {"given_g", b.GivenG}, {"used_g", b.UsedG}, {"destroyed_g", b.DestroyedG}, {"made_g", b.MadeG}} {
		if x.g > 0.05 || x.g < -0.05 {
			p.Balance = append(p.Balance, part{word.T("trace." + x.key), gramsOf(word, x.g)})
		}
	}
	return p
}

func checkRowOf(w *words.Speaker, c *lot.Check) checkRow {
	return checkRow{
		Name: upperFirst(checkTitle(w, c.Key)), State: w.T("check_state." + string(c.State)), Why: sentenceOf(w, c.Why), By: c.By, Required: c.Required,
		Missing: c.State == process.Missing, Failed: c.State == process.Failed, Evidence: c.Evidence,
	}
}

func holdRowOf(w *words.Speaker, v *keeper.LotView, h *lot.Hold) holdRow {
	row := holdRow{What: upperFirst(w.T("held_by." + h.Key)), EntryID: h.EntryID}
	if h.Reason != "" {
		row.What += ": " + w.T("hold_reason."+h.Reason)
	}
	if h.Check != "" {
		row.What += ": " + checkTitle(w, h.Check)
	}
	var small []string
	if h.Vessel != "" {
		small = append(small, v.Names.Of(v.Names.Vessels, h.Vessel))
	}
	if h.Text != "" {
		small = append(small, h.Text)
	}
	if !h.Since.IsZero() {
		small = append(small, w.When(h.Since))
	}
	row.Small = strings.Join(small, ", ")
	if !h.Stands() {
		row.Ended = w.T("lots.ended_by", "who", h.EndedBy, "time", h.EndedAt, "why", h.Why)
	}
	return row
}

// record is one line of a lot's history.
type record struct{ Day, Clock, Value, What, Small, Href string }

// history is what was done with the lot, the last first.
func (p *lotView) history(v *keeper.LotView) {
	word := p.W
	type line struct {
		at time.Time
		record
	}
	var all []line
	add := func(at time.Time, entry, value, what string, small ...string) {
		day, clock := word.Ago(at, v.At)
		var kept []string
		for _, s := range small {
			if s != "" {
				kept = append(kept, s)
			}
		}
		all = append(all, line{at, record{day, clock, value, what, strings.Join(kept, ", "), "/records/entry/" + entry}})
	}
	g := func(m *float64) string {
		if m == nil {
			return ""
		}
		return gramsOf(word, *m)
	}
	for _, h := range v.Harvests {
		value := ""
		if h.MassG > 0 {
			value = gramsOf(word, h.MassG)
		}
		volume := ""
		if h.VolumeL > 0 {
			volume = word.Number("volume_l", h.VolumeL).Plain()
		}
		add(h.At, h.EntryID, value, word.T("kind.harvested"), v.Names.Of(v.Names.Vessels, h.Vessel), volume, h.By)
	}
	for _, st := range v.Steps {
		expected := ""
		if st.Expected != nil && st.MassG != nil {
			expected = word.T("lots.expected", "mass_g", st.Expected.MassG)
			if st.Expected.Off {
				expected = word.T("lots.off", "mass_g", st.Expected.MassG)
			}
		}
		temp := ""
		if st.TempC != nil {
			temp = word.Number("temp_c", *st.TempC).Plain()
		}
		add(st.At, st.EntryID, g(st.MassG), word.T("lot_step."+st.Step), expected, temp, st.By)
	}
	for _, o := range v.Outs {
		packs := ""
		if o.Packs > 0 {
			packs = word.T("lots.packs", "count", o.Packs)
		}
		add(o.At, o.EntryID, g(o.MassG), word.T("lot_way."+string(o.Way)), packs, o.Whom, o.Into, o.By)
	}
	for _, d := range v.Deviations {
		add(d.At, d.EntryID, "", word.T("kind.lot_deviation"), checkTitle(word, d.Check), d.Reason, d.Done, d.By)
	}
	for i := range all { // insertion by time, the last first: a lot has few entries
		for j := i; j > 0 && all[j].at.After(all[j-1].at); j-- {
			all[j], all[j-1] = all[j-1], all[j]
		}
	}
	for _, x := range all {
		p.History = append(p.History, x.record)
	}
}

// lotActs are the entries that the forms of a lot's page write.
var lotActs = map[string]string{
	"step": "lot_step", "check": "lot_check", "deviation": "lot_deviation", "release": "released", "end": "released", "reject": "rejected",
	"hold": "held", "pack": "packed", "sold": "sold", "gave": "gave", "used": "used", "discarded": "discarded", "blend": "lot", "recall": "recalled",
}

// writeLotAct writes what a form of a lot's page tells.
func (s *server) writeLotAct(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, sp, id := r.PostForm, s.speaker(r), r.PathValue("id")
	kind, known := lotActs[f.Get("do")]
	if !known {
		return invalid("do", "", "do %q is nothing that can be done with a lot", clip(f.Get("do")))
	}
	if _, err := s.Farm.Lot(r.Context(), id, s.Now()); err != nil {
		return err
	}
	body := map[string]any{"lot": id}
	if f.Get("do") == "blend" {
		name := strings.TrimSpace(f.Get("name"))
		if name == "" {
			return invalid("name", "", "name is missing")
		}
		body = map[string]any{"lot": name, "from_lots": []string{id}}
		if text := strings.TrimSpace(f.Get("mass")); text != "" {
			g, err := mass("mass", text, sp)
			if err != nil {
				return err
			}
			body["from_g"] = map[string]float64{id: g}
			f.Del("mass")
		}
	}
	if err := lotNumbers(f, sp, body); err != nil {
		return err
	}
	k := farm.KindNamed(kind)
	for _, field := range k.Fields() {
		text := strings.TrimSpace(f.Get(field.Key))
		if _, have := body[field.Key]; have || text == "" || field.Key == "lot" || field.Key == "tools" {
			continue
		}
		switch field.Form {
		case farm.FormNumber, farm.FormWhole:
			x, err := plainNumber(field.Key, text)
			if err != nil {
				return err
			}
			body[field.Key] = x
		case farm.FormYes:
			body[field.Key] = text == "yes"
		case farm.FormWords:
			body[field.Key] = []string{text}
		default:
			body[field.Key] = text
		}
	}
	if err := s.writeLotEntry(r, sp, "", kind, body); err != nil {
		return err
	}
	if strings.Contains(r.Header.Get("Accept"), "application/json") {
		w.Header().Set("Content-Type", "application/json")
		return json.NewEncoder(w).Encode(map[string]string{"said": sp.T("setup.saved")})
	}
	to := id
	if f.Get("do") == "blend" {
		to = body["lot"].(string)
	}
	http.Redirect(w, r, "/lots/"+url.PathEscape(to)+"?said=saved", http.StatusSeeOther)
	return nil
}

// encodeBody writes an entry's body.
func encodeBody(body map[string]any) ([]byte, error) { return json.Marshal(body) }
