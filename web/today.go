package web

import (
	"encoding/json"
	"html/template"
	"maps"
	"net/http"
	"net/url"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/web/draw"
	"sodalake/words"
)

type todayPage struct {
	Frame
	Lead, Due            string
	LightPhone           template.HTML
	LightDesk            template.HTML
	LightWords           []string
	Vessels              []todayVessel
	Tides                []tide
	Coming               []coming
	Begun, Place, Vessel bool // has the journal begun; is there a place, a vessel
}

type todayVessel struct {
	ID, Anchor, Name, Href string
	Glyph                  template.HTML
	State                  string
	Change                 string      // what moved since yesterday; it is said first
	Density                *words.Said // beside the state; nil if the sentence says it
	Facts                  []fact
	Holds                  []string
	Items                  []item
	Done                   []doneItem
}

type fact struct{ Name, Value, Rest string }

// item is one line of the day list.
type item struct {
	Pennant       bool // the one thing that is due now
	When          string
	Value, Unit   string
	UnitUnder     bool // a long unit stands under the number
	Title, Small  string
	Spread        string
	Why           []part
	Form          *doneForm
	NoteHref      string // where a value is needed, the sheet is opened instead
	MixHref       string // where it is weighed out; empty if nothing is mixed for it
	DoneLabel     string
	Class, Urgent string
}

type part struct{ Name, Text string }

type doneForm struct {
	ID, Record, Item string
	Editable         bool
	Value, Unit      string
}

type doneItem struct {
	Time, Value, Unit, What string
	ID, Vessel, Undo        string // the entry, its vessel, the ULID of the correction
	Label                   string
}

type tide struct {
	Heads []string
	Rows  []tideRow
}

type tideRow struct {
	Day, Sky string
	Today    bool
	Cells    []tideCell
}

type tideCell struct {
	Tone, Text, Act string
	Ready           bool
}

type coming struct{ Day, Value, Text, Small, Href string }

func (s *server) today(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "today", "")
	if err != nil {
		return err
	}
	now := s.Now()
	t, err := s.Farm.Today(r.Context(), now)
	if err != nil {
		return err
	}
	page := todayPage{Frame: frame, Begun: setup.Head > 0, Place: setup.HasSite, Vessel: len(setup.Vessels) > 0}
	page.Title = frame.W.LongDay(t.At)
	page.Said = frame.W.T("setup.saved")
	if r.URL.Query().Get("said") != "saved" {
		page.Said = ""
	}
	page.fill(t, s.newID)
	page.Coming = append(s.planComing(r, frame.W), page.Coming...)
	return s.views.render(w, r, http.StatusOK, "today", page)
}

// newID makes a ULID that a form carries, so that sending it twice writes once.
func (s *server) newID() string {
	id, err := s.ids.Make(s.Now())
	if err != nil { // the entropy of the machine failed: no form can be trusted
		panic("web: " + err.Error())
	}
	return id
}

// fill turns the day list into what the page shows.
func (p *todayPage) fill(t keeper.Today, newID func() string) {
	things, due := 0, 0
	var first *item
	var firstItem advice.Item
	for _, v := range t.Vessels {
		view := p.vessel(v, t.At, newID)
		for i, it := range v.Items {
			if it.Class != advice.Wait {
				things++
			}
			if it.Urgency == advice.Now && it.Class == advice.Do && (first == nil || it.ValidUntil.Equal(firstItem.ValidUntil)) {
				due++
			}
			if first == nil && it.Urgency == advice.Now && it.Class == advice.Do {
				first, firstItem = &view.Items[i], it
				first.Pennant = true
			}
		}
		p.Vessels = append(p.Vessels, view)
	}
	w := p.W
	switch {
	case len(t.Vessels) == 0:
	case things == 0:
		p.Lead = w.T("today.nothing")
	default:
		text := upperFirst(w.T("today.things", "count", things))
		p.Lead = w.T("today.lead", "things", text)
		if first != nil && sameDay(firstItem.ValidUntil, t.At, w.Zone()) {
			p.Lead = w.T("today.lead_due", "things", text)
			p.Due = w.T("today.before", "count", due, "time", w.Clock(firstItem.ValidUntil)) + "."
		}
	}
	p.light(t, first, firstItem)
	p.tides(t)
	for _, c := range t.Coming {
		p.Coming = append(p.Coming, p.comingRow(c, t))
	}
}

func upperFirst(t string) string {
	if t == "" || strings.HasPrefix(t, "pH") {
		return t
	}
	return strings.ToUpper(t[:1]) + t[1:]
}

func (p *todayPage) vessel(v keeper.TodayVessel, now time.Time, newID func() string) todayVessel {
	w := p.W
	anchor := "v-" + idOf(v.Spec.ID)
	out := todayVessel{
		ID: v.Spec.ID, Anchor: anchor, Name: v.Spec.Name, Href: "/vessels/" + url.PathEscape(v.Spec.ID),
		Glyph: glyph(v.Vessel, anchor, now), State: w.Sentence(v.State),
	}
	out.Change = changed(w, v.Change)
	for _, h := range v.Holds {
		out.Holds = append(out.Holds, w.T(h))
	}
	if d, ok := v.Now.Bands[keeper.DensityGPerL]; ok && v.Now.Known && !strings.Contains(out.State, "g/L") {
		said := w.Band("density_g_per_l", d)
		out.Density = &said
	}
	out.Facts = facts(w, v.Vessel)
	for _, it := range v.Items {
		out.Items = append(out.Items, p.item(it, v, now, newID))
	}
	for _, d := range v.Done {
		out.Done = append(out.Done, p.done(d, v.Spec.ID, newID))
	}
	return out
}

// facts are the small numbers under the name on a desk.
func facts(w *words.Speaker, v keeper.Vessel) []fact {
	var out []fact
	if b, ok := v.Now.Bands[keeper.PH25C]; ok {
		s := w.Band("ph_25c", b)
		out = append(out, fact{"pH", s.Value, s.Spread})
	}
	if b, ok := v.Now.Bands[keeper.TempC]; ok {
		s := w.Band("temp_c", b)
		out = append(out, fact{s.Unit, s.Value, s.Spread})
	}
	if b, ok := v.Now.Bands[keeper.LevelCM]; ok {
		s := w.Band("level_cm", b)
		rest := s.Unit
		if v.Spec.FullLevelCM > 0 {
			rest = w.T("fact.of", "full", w.Number("level_cm", v.Spec.FullLevelCM).Plain())
		}
		out = append(out, fact{w.T("quantity.level"), s.Value, rest})
	}
	return out
}

func (p *todayPage) item(it advice.Item, v keeper.TodayVessel, now time.Time, newID func() string) item {
	w := p.W
	args := map[string]any{}
	for _, r := range append([]advice.Reason{it.Reason}, it.More...) {
		maps.Copy(args, r.Args)
	}
	out := item{Class: string(it.Class), Urgent: string(it.Urgency)}
	out.Title = it.Text
	if title, ok := w.Try("item."+it.Act+"-"+string(it.Class), args); ok {
		out.Title = title
	} else if title, ok := w.Try("item."+it.Act, args); ok {
		out.Title = title
	} else if out.Title == "" {
		out.Title = w.Sentence(advice.Reason{Key: "item." + it.Act, Args: args})
	}
	out.When = w.T("when." + string(it.Class))
	if it.Class == advice.Do {
		out.When = w.T("when." + string(it.Urgency))
	}
	if it.Amount != nil {
		said := w.Amount(*it.Amount)
		out.Value, out.Unit, out.Spread = said.Value, said.Unit, said.Spread
		out.UnitUnder = len([]rune(said.Unit)) > 3
	}
	var small []string
	if it.Urgency == advice.Now && sameDay(it.ValidUntil, now, w.Zone()) && it.ValidUntil.In(w.Zone()).Format("15:04") != "00:00" {
		small = append(small, upperFirst(w.T("when.before", "time", w.Clock(it.ValidUntil))))
	}
	if t, ok := w.Try("small."+it.Act+"-"+string(it.Class), args); ok {
		small = append(small, t)
	} else if t, ok := w.Try("small."+it.Act, args); ok {
		small = append(small, t)
	}
	if k := w.Kitchen(it.Amount, args); k != "" {
		small = append(small, k)
	}
	out.Small = strings.Join(small, " ")
	out.Why, out.MixHref = whyOf(w, it), mixHref(w, &it)
	p.action(&out, it, v, newID)
	return out
}

// whyOf lays out the sentences behind an item: Why, How much, How sure, what
// would change it, Caution.
func whyOf(w *words.Speaker, it advice.Item) []part {
	out := []part{{w.T("part.why"), w.Sentence(it.Reason)}}
	var amount, trust, change []string
	for _, m := range it.More {
		text := w.Sentence(m)
		switch {
		case strings.HasPrefix(m.Key, "more.sure."):
			trust = append(trust, text)
		case strings.HasPrefix(m.Key, "more.wait."), strings.HasPrefix(m.Key, "more.doubt."), strings.HasPrefix(m.Key, "more.stopfeed."),
			strings.HasPrefix(m.Key, "more.season."), strings.HasSuffix(m.Key, ".nothing"), strings.HasSuffix(m.Key, ".tell"):
			change = append(change, text)
		default:
			amount = append(amount, text)
		}
	}
	if it.Amount != nil {
		if said := w.Amount(*it.Amount); said.Spread != "" && said.Spread != said.Value {
			amount = append([]string{said.Full() + "."}, amount...)
		}
	}
	if len(amount) > 0 {
		out = append(out, part{w.T("part.amount"), strings.Join(amount, " ")})
	}
	trust = append([]string{w.T("confidence." + string(it.Confidence))}, trust...)
	out = append(out, part{w.T("part.trust"), strings.Join(trust, " ")})
	if len(change) > 0 {
		out = append(out, part{w.T("part.change"), strings.Join(change, " ")})
	}
	for i, c := range it.Cautions {
		name := w.T("part.caution")
		if i > 0 {
			name = w.T("part.also")
		}
		out = append(out, part{name, w.T(c)})
	}
	return out
}

// action gives an item the one thing that records it: a box to tick where the
// entry is ready, the note sheet where a value is still missing, nothing where
// nothing can be recorded.
func (p *todayPage) action(out *item, it advice.Item, v keeper.TodayVessel, newID func() string) {
	if it.Record == nil {
		return
	}
	w := p.W
	what := strings.TrimSpace(out.Value + " " + out.Unit)
	if what != "" {
		what += ", "
	}
	out.DoneLabel = w.T("today.done_label", "what", what+strings.TrimSuffix(out.Title, ".")+", "+v.Spec.Name)
	kind := farm.KindNamed(it.Record.Kind)
	ready := kind != nil
	if ready {
		_, err := farm.DecodeBody(kind, it.Record.Body)
		ready = err == nil && kind.Group != farm.GroupReading
	}
	if !ready {
		q := url.Values{"vessel": {v.Spec.ID}, "kind": {it.Record.Kind}, "item": {it.ID}}
		out.NoteHref = "/note?" + q.Encode()
		if it.Act == "calibrate" { // buffers have a sheet of their own
			out.NoteHref = "/farm/instruments?" + url.Values{"item": {it.ID}}.Encode()
		}
		return
	}
	raw, err := json.Marshal(it.Record)
	if err != nil {
		return
	}
	f := &doneForm{ID: newID(), Record: string(raw), Item: it.ID}
	if it.Amount != nil && amountKey(it.Record.Body, it.Amount.Unit) != "" {
		f.Editable = true
		f.Value, f.Unit = w.AmountUnit(*it.Amount)
	}
	out.Form = f
}

// amountKey finds the key of a body that an amount in that unit belongs to.
func amountKey(body json.RawMessage, unit string) string {
	var m map[string]json.RawMessage
	if json.Unmarshal(body, &m) != nil {
		return ""
	}
	for _, key := range map[string][]string{
		"L": {"volume_l"}, "g": {"mass_g", "salts_g", "ready_mix_g", "co2_g"}, "%": {"shade_pct"}, "cm": {"level_after_cm"}, "min": {"minutes"},
	}[unit] {
		if raw, ok := m[key]; ok {
			if key == "salts_g" {
				var salts map[string]float64
				if json.Unmarshal(raw, &salts) != nil || len(salts) != 1 {
					continue
				}
			}
			return key
		}
	}
	return ""
}

func (p *todayPage) done(d keeper.Done, vessel string, newID func() string) doneItem {
	w := p.W
	out := doneItem{Time: w.Clock(d.At), What: upperFirst(w.T("kind."+d.Act)) + ".", ID: d.EntryID, Vessel: vessel, Undo: newID()}
	if d.Amount > 0 {
		said := w.Amount(advice.Amount{Value: d.Amount, Unit: d.Unit})
		out.Value, out.Unit = said.Value, said.Unit
	}
	out.Label = w.T("today.undo_label", "what", strings.TrimSuffix(out.What, "."))
	return out
}

// light draws the light of the day with what is due on it.
func (p *todayPage) light(t keeper.Today, first *item, due advice.Item) {
	w := p.W
	for _, s := range t.Light.Words {
		p.LightWords = append(p.LightWords, w.Sentence(s))
	}
	if len(t.Light.PAR.Times) == 0 {
		return
	}
	from, to := dayFrame(t, w.Zone())
	c := draw.Light{
		Width: 360, Height: 84, From: from, To: to, Zone: w.Zone(), Now: t.At, Says: w.T("today.light"),
		PAR: draw.Curve{Times: t.Light.PAR.Times, Bands: t.Light.PAR.Bands},
	}
	if first != nil {
		c.Due = w.T("kind-due." + due.Act)
		if sameDay(due.ValidUntil, t.At, w.Zone()) {
			c.Until = due.ValidUntil
			c.Says = w.T("today.light_due", "what", c.Due, "time", w.Clock(due.ValidUntil))
		}
	}
	p.LightPhone = template.HTML(c.SVG()) //nolint:gosec // made by draw
	c.Width, c.Height = 600, 104
	p.LightDesk = template.HTML(c.SVG()) //nolint:gosec // made by draw
}

// dayFrame is from an hour before sunrise to an hour after sunset, or the whole
// day where the sun does neither.
func dayFrame(t keeper.Today, zone *time.Location) (from, to time.Time) {
	l := t.At.In(zone)
	day := time.Date(l.Year(), l.Month(), l.Day(), 0, 0, 0, 0, zone)
	from, to = day.Add(4*time.Hour), day.Add(22*time.Hour)
	if !t.Light.Sunrise.IsZero() && !t.Light.Sunset.IsZero() {
		from, to = t.Light.Sunrise.Add(-time.Hour), t.Light.Sunset.Add(time.Hour)
	}
	if t.At.Before(from) {
		from = t.At.Add(-30 * time.Minute)
	}
	if t.At.After(to) {
		to = t.At.Add(30 * time.Minute)
	}
	return from, to
}

// tides lays the ten days out, three vessels to a table, so that it fits a
// phone.
func (p *todayPage) tides(t keeper.Today) {
	w := p.W
	var with []keeper.TodayVessel
	for _, v := range t.Vessels {
		if len(v.Days) > 0 && v.Spec.Use != "reserve" {
			with = append(with, v)
		}
	}
	for len(with) > 0 {
		part := with[:min(3, len(with))]
		with = with[len(part):]
		var table tide
		for _, v := range part {
			table.Heads = append(table.Heads, v.Spec.Name)
		}
		for i, d := range part[0].Days {
			date, err := time.ParseInLocation(time.DateOnly, d.Date, w.Zone())
			if err != nil {
				continue
			}
			row := tideRow{Day: w.Day(date), Today: i == 0}
			if d.Sky != "unknown" {
				row.Sky = w.T("sky." + d.Sky)
			}
			if i == 0 {
				row.Day = w.T("today.now")
			}
			for _, v := range part {
				row.Cells = append(row.Cells, p.tideCell(v, i))
			}
			table.Rows = append(table.Rows, row)
		}
		p.Tides = append(p.Tides, table)
	}
}

func (p *todayPage) tideCell(v keeper.TodayVessel, i int) tideCell {
	if i >= len(v.Days) {
		return tideCell{Text: "–"}
	}
	d := v.Days[i]
	said := p.W.Band("density_g_per_l", d.DensityGPerL)
	cell := tideCell{Tone: toneOf(d.DensityGPerL), Text: said.Spread, Ready: d.Ready}
	if cell.Text == "" {
		cell.Text = said.Value
	}
	if i == 0 {
		for _, it := range v.Items {
			if it.Act == "harvest" && it.Class == advice.Do {
				cell.Act = p.W.T("kind-due.harvest")
			}
		}
	} else if d.Ready && !v.Days[i-1].Ready {
		cell.Act = p.W.T("today.ready")
	}
	return cell
}

func (p *todayPage) comingRow(c keeper.Coming, t keeper.Today) coming {
	w := p.W
	out := coming{Day: c.Date, Text: w.Sentence(c.What)}
	if d, err := time.ParseInLocation(time.DateOnly, c.Date, w.Zone()); err == nil {
		out.Day = w.Day(d)
	}
	for _, v := range t.Vessels {
		if v.Spec.ID == c.Vessel {
			out.Text += ", " + v.Spec.Name
		}
	}
	if c.Amount != nil {
		said := w.Amount(*c.Amount)
		out.Value = said.Plain()
		if said.Spread != "" {
			out.Small = said.Range()
		}
	}
	if small, ok := w.Try(strings.Replace(c.What.Key, "coming.", "coming-small.", 1), c.What.Args); ok {
		out.Small = strings.TrimPrefix(out.Small+"; "+small, "; ")
	}
	return out
}
