package web

import (
	"html/template"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/web/draw"
	"sodalake/words"
)

type vesselsPage struct {
	Frame
	Vessels []switchLink
}

// switchLink is one vessel in the list along the top.
type switchLink struct {
	Name, Href, State string
	Glyph             template.HTML
	Current           bool
}

type vesselPage struct {
	Frame
	Switch        []switchLink
	ID, Name      string
	Lead          string
	Ready         string
	ReadySpread   string
	Holds, Change []string
	Known         bool
	Section       template.HTML
	HasDisc       bool
	At            string
	Facts         []factRow
	NoteHref      string
	EditHref      string
	Chart         *chart
	Strips        []strip
	Limits        []limit
	Weather       string
	Journal       []journalRow
	JournalHref   string
	Lineage       []lineage
}

type factRow struct{ Name, Small, Value, Unit, Spread string }

// chart is one figure with its table.
type chart struct {
	Phone, Desk template.HTML
	Labels      string // what each moment that can be picked says, one a part
	PickWhen    string
	PickValue   string
	PickSpread  string
	Start       int // index of the moment picked at first
	Count       int
	Head        []string
	Rows        [][]string
}

type strip struct {
	Title, Aside string
	Phone, Desk  template.HTML
	Head         []string
	Rows         [][]string
}

type limit struct {
	Name, Share string
	Width       float64
}

type lineage struct {
	Name, Text string
	Glyph      template.HTML
}

func (s *server) switchLinks(w *words.Speaker, vs []keeper.Vessel, current string, now time.Time) []switchLink {
	var out []switchLink
	for _, v := range vs {
		out = append(out, switchLink{
			Name: v.Spec.Name, Href: "/vessels/" + url.PathEscape(v.Spec.ID), State: w.Sentence(v.State),
			Glyph: glyph(v, "sw-"+idOf(v.Spec.ID), now), Current: v.Spec.ID == current,
		})
	}
	return out
}

// vessels lists all of them.
func (s *server) vessels(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	vs, err := s.Farm.Vessels(r.Context(), s.Now())
	if err != nil {
		return err
	}
	frame.Title = frame.W.T("vessel.title")
	return s.views.render(w, r, http.StatusOK, "vessels", vesselsPage{Frame: frame, Vessels: s.switchLinks(frame.W, vs, "", s.Now())})
}

func (s *server) vessel(w http.ResponseWriter, r *http.Request) error {
	frame, _, err := s.frame(r, "vessels", "")
	if err != nil {
		return err
	}
	now, ctx, id := s.Now(), r.Context(), r.PathValue("id")
	v, err := s.Farm.Vessel(ctx, id, now)
	if err != nil {
		return err
	}
	all, err := s.Farm.Vessels(ctx, now)
	if err != nil {
		return err
	}
	f, err := s.Farm.Forecast(ctx, id, now)
	if err != nil && farm.CodeOf(err) != farm.NotFound {
		return err
	}
	h, err := s.Farm.History(ctx, id, now.Add(-pastDesk))
	if err != nil {
		return err
	}
	ancestors, err := s.Farm.Lineage(ctx, id)
	if err != nil {
		return err
	}
	entries, err := s.Farm.Entries(ctx, Ask{Newest: true, Limit: 12, Vessel: id})
	if err != nil {
		return err
	}
	word := frame.W
	p := vesselPage{
		Frame: frame, Switch: s.switchLinks(word, all, id, now), ID: id, Name: v.Spec.Name, Lead: word.Sentence(v.State),
		Known: v.Now.Known, Section: largeSection(word, v, now), At: word.T("vessel.at", "time", word.Clock(now)),
		NoteHref: "/note?vessel=" + url.QueryEscape(id), EditHref: "/farm/vessel?id=" + url.QueryEscape(id),
		JournalHref: "/records?vessel=" + url.QueryEscape(id), Weather: "",
	}
	_, p.HasDisc = v.Now.Bands[keeper.SecchiCM]
	if sh := shapeOf(v); sh == draw.Bottle || sh == draw.Bottles {
		p.HasDisc = false
	}
	p.Title = v.Spec.Name
	for _, c := range v.Holds {
		p.Holds = append(p.Holds, word.T(c))
	}
	for _, c := range v.Change {
		p.Change = append(p.Change, word.Sentence(c))
	}
	p.facts(v, f, h, now)
	if m := f.Ready.Mid; !m.IsZero() && m.After(now) {
		early, late := word.Day(f.Ready.Early), word.T("vessel.later")
		if !f.Ready.Late.IsZero() {
			late = word.Day(f.Ready.Late)
		}
		p.Ready = word.T("vessel.ready_about", "day", word.DayMonth(m))
		p.ReadySpread = early + "–" + late
	}
	if len(f.Days) > 0 || len(f.Past) > 0 {
		p.charts(v, f, h, now)
		p.limits(f)
		if f.Weather != "" {
			p.Weather = word.T("vessel.weather", "source", word.Sentence(keeper.Sentence{Key: f.Weather, Args: map[string]any{"time": f.At}}))
		}
	}
	vs, err := s.vesselNames(r)
	if err != nil {
		return err
	}
	for _, e := range entries.Entries {
		p.Journal = append(p.Journal, s.rowOf(word, e, now, vs, entries))
	}
	p.ancestors(ancestors, all, now)
	return s.views.render(w, r, http.StatusOK, "vessel", p)
}

// facts are the numbers of the present with their spreads.
func (p *vesselPage) facts(v keeper.Vessel, f keeper.Forecast, h History, now time.Time) {
	w := p.W
	last := map[keeper.Quantity]keeper.Reading{}
	for _, r := range h.Readings {
		if r.Doubt == "" {
			last[r.Quantity] = r
		}
	}
	read := func(qs ...keeper.Quantity) string {
		for _, q := range qs {
			if r, ok := last[q]; ok {
				day, clock := w.Ago(r.At, now)
				op := strings.TrimPrefix(r.Op, "=")
				return w.T("fact.read", "value", op+w.Read(string(q), r.Value).Plain(), "day", day, "time", clock)
			}
		}
		return w.T("fact.model")
	}
	add := func(name, small string, q keeper.Quantity) {
		b, ok := v.Now.Bands[q]
		if !ok {
			return
		}
		said := w.Band(string(q), b)
		p.Facts = append(p.Facts, factRow{w.T(name), small, said.Value, said.Unit, said.Spread})
	}
	add("fact.density", read(keeper.SecchiCM, keeper.DensityGPerL), keeper.DensityGPerL)
	add("fact.ph", read(keeper.PH, keeper.PH25C), keeper.PH25C)
	add("fact.temp", read(keeper.TempC), keeper.TempC)
	level := read(keeper.LevelCM)
	if v.Spec.FullLevelCM > 0 {
		level = w.T("fact.of", "full", w.Number("level_cm", v.Spec.FullLevelCM).Plain()) + "; " + level
	}
	add("fact.level", level, keeper.LevelCM)
	add("fact.volume", w.T("fact.from_shape"), keeper.VolumeL)
	add("fact.salts", read(keeper.ConductivityM), keeper.ConductivityM)
	add("fact.growth", w.T("fact.growth_dry"), keeper.GrowthGPerDay)
}

// How far back the charts look on a desk and on a phone.
const (
	pastDesk  = 14 * 24 * time.Hour
	pastPhone = 6 * 24 * time.Hour
)

func toCurve(c keeper.Curve, change func(float64) float64) draw.Curve {
	if change == nil {
		return draw.Curve{Times: c.Times, Bands: c.Bands}
	}
	out := draw.Curve{Times: c.Times, Bands: make([]num.Band, len(c.Bands))}
	for i, b := range c.Bands {
		out.Bands[i] = num.Band{Low: change(b.Low), Mid: change(b.Mid), High: change(b.High)}
	}
	return out
}

// fan prepares a chart of one quantity.
func (p *vesselPage) fan(id string, q keeper.Quantity, f keeper.Forecast, h History, now time.Time, aliases ...keeper.Quantity) draw.Fan {
	w := p.W
	end := now.Add(10 * 24 * time.Hour)
	if c := f.Ahead[q]; len(c.Times) > 0 {
		end = c.Times[len(c.Times)-1]
	}
	shown := func(x float64) float64 { return w.Shown(string(q), x) }
	fan := draw.Fan{
		ID: id, From: now.Add(-pastDesk), Now: now, To: end, Zone: w.Zone(),
		Past: toCurve(f.Past[q], shown), Ahead: toCurve(f.Ahead[q], shown),
		Unit: w.UnitOf(string(q)), NowWord: w.T("vessel.now"), Day: w.Day,
		Number: func(x, step float64) string { return w.Rounded(x, step) },
	}
	if first, ok := earliest(f.Past[q], h, append(aliases, q)); ok && first.After(fan.From) {
		fan.From = first.Add(-12 * time.Hour)
	}
	for _, r := range h.Readings {
		for _, a := range append(aliases, q) {
			if r.Quantity != a {
				continue
			}
			d := draw.Dot{At: r.At, Value: shown(r.Value), Low: shown(r.Spread.Low), High: shown(r.Spread.High), Doubted: r.Doubt != ""}
			if a != q { // told in another quantity: its spread says it in this one
				d.Value = shown(r.Spread.Mid)
			}
			fan.Dots = append(fan.Dots, d)
		}
	}
	return fan
}

// earliest is when the record of a quantity begins.
func earliest(past keeper.Curve, h History, qs []keeper.Quantity) (time.Time, bool) {
	var t time.Time
	if len(past.Times) > 0 {
		t = past.Times[0]
	}
	for _, r := range h.Readings {
		for _, q := range qs {
			if r.Quantity == q && (t.IsZero() || r.At.Before(t)) {
				t = r.At
			}
		}
	}
	return t, !t.IsZero()
}

// both draws a fan for the phone and for the desk.
func both(f draw.Fan, phone, desk [2]float64) (small, large template.HTML) {
	desktop := f
	desktop.ID, desktop.Width, desktop.Height = f.ID+"d", desk[0], desk[1]
	f.ID, f.Width, f.Height = f.ID+"p", phone[0], phone[1]
	if from := f.Now.Add(-pastPhone); from.After(f.From) {
		f.From = from
	}
	return template.HTML(f.SVG()), template.HTML(desktop.SVG()) //nolint:gosec // made by draw
}

func (p *vesselPage) charts(v keeper.Vessel, f keeper.Forecast, h History, now time.Time) {
	w := p.W
	fan := p.fan("den", keeper.DensityGPerL, f, h, now, keeper.SecchiCM)
	fan.Lane, fan.Says = true, w.T("vessel.density_says", "name", v.Spec.Name)
	if f.ReadyGPerL > 0 {
		fan.Limits = []float64{f.ReadyGPerL}
		if !f.Ready.Early.IsZero() && f.Ready.Early.After(now) {
			win := &draw.Window{Early: f.Ready.Early, Mid: f.Ready.Mid, Late: f.Ready.Late, Limit: f.ReadyGPerL}
			if !win.Mid.IsZero() {
				win.Label = w.T("vessel.ready_on", "day", w.Day(win.Mid))
			}
			fan.Ready = win
		}
	}
	for _, m := range h.Marks {
		a := draw.Act{At: m.At, Out: m.Way == "out", Salts: m.Unit == "g" && m.Way != "out"}
		if a.Out && m.Amount > 0 {
			a.Label = w.Read(unitName(m.Unit), m.Amount).Plain()
		}
		fan.Acts = append(fan.Acts, a)
	}
	p.Chart = &chart{}
	p.pick(&fan, f, now)
	p.Chart.Phone, p.Chart.Desk = both(fan, [2]float64{328, 252}, [2]float64{960, 340})
	p.Chart.Head = []string{w.T("today.midday"), fan.Unit + ", " + w.T("vessel.middle"), w.T("vessel.eight")}
	for i, d := range f.Days {
		said := w.Band("density_g_per_l", d.DensityGPerL)
		p.Chart.Rows = append(p.Chart.Rows, []string{p.dayName(d.Date, i), said.Value, said.Spread})
	}
	p.strips(v, f, h, now)
}

// unitName is the stored name for a mark's unit.
func unitName(unit string) string {
	switch unit {
	case "g":
		return "mass_g"
	case "kg":
		return "mass_kg"
	}
	return "volume_l"
}

// pick prepares the moments that can be picked and what each says, and draws
// the first: the day it is ready, or now.
func (p *vesselPage) pick(fan *draw.Fan, f keeper.Forecast, now time.Time) {
	w := p.W
	var all draw.Curve
	for _, c := range []draw.Curve{fan.Past, fan.Ahead} {
		all.Times = append(all.Times, c.Times...)
		all.Bands = append(all.Bands, c.Bands...)
	}
	if len(all.Times) == 0 {
		return
	}
	want := now
	if !f.Ready.Mid.IsZero() && f.Ready.Mid.After(now) && f.Ready.Mid.Before(fan.To) {
		want = f.Ready.Mid
	}
	const every = 6 * time.Hour
	var labels []string
	best := -1
	l := fan.From.In(w.Zone())
	moments := []time.Time{now}
	for t := time.Date(l.Year(), l.Month(), l.Day(), 0, 0, 0, 0, w.Zone()); !t.After(fan.To); t = t.Add(every) {
		moments = append(moments, t)
	}
	slices.SortFunc(moments, time.Time.Compare)
	for _, t := range moments {
		b, ok := draw.At(all, t)
		if !ok {
			continue
		}
		said := w.Band("density_g_per_l", b)
		labels = append(labels, w.DayMonth(t)+", "+w.Clock(t)+"|"+said.Plain()+"|"+said.Spread)
		fan.Points = append(fan.Points, t)
		if best < 0 || absDuration(t.Sub(want)) < absDuration(fan.Points[best].Sub(want)) {
			best = len(fan.Points) - 1
		}
	}
	if best < 0 {
		return
	}
	b, _ := draw.At(all, fan.Points[best])
	fan.Pick, fan.PickAt = &b, fan.Points[best]
	parts := strings.Split(labels[best], "|")
	p.Chart.Labels, p.Chart.Start, p.Chart.Count = strings.Join(labels, ";"), best, len(labels)
	p.Chart.PickWhen, p.Chart.PickValue, p.Chart.PickSpread = parts[0], parts[1], parts[2]
}

func absDuration(d time.Duration) time.Duration {
	if d < 0 {
		return -d
	}
	return d
}

func (p *vesselPage) dayName(date string, i int) string {
	d, err := time.ParseInLocation(time.DateOnly, date, p.W.Zone())
	if err != nil {
		return date
	}
	if i == 0 {
		return upperFirst(p.W.T("format.today")) + " " + p.W.Day(d)
	}
	return p.W.Day(d)
}

// strips are the small charts: pH, temperature, level.
func (p *vesselPage) strips(v keeper.Vessel, f keeper.Forecast, h History, now time.Time) {
	w := p.W
	phone, desk := [2]float64{328, 132}, [2]float64{460, 144}
	if len(f.Past[keeper.PH25C].Times)+len(f.Ahead[keeper.PH25C].Times) > 0 {
		fan := p.fan("ph", keeper.PH25C, f, h, now, keeper.PH)
		fan.Says = w.T("vessel.ph_says", "name", v.Spec.Name)
		st := strip{Title: w.T("quantity.ph_25c"), Aside: w.T("vessel.ph_keep"), Head: []string{w.T("today.midday"), w.T("vessel.middle"), w.T("vessel.eight")}}
		st.Phone, st.Desk = both(fan, phone, desk)
		for i, d := range f.Days {
			said := w.Band("ph_25c", d.PH25C)
			st.Rows = append(st.Rows, []string{p.dayName(d.Date, i), said.Value, said.Spread})
		}
		p.Strips = append(p.Strips, st)
	}
	if len(f.Past[keeper.TempC].Times) > 0 || len(f.Days) > 0 {
		p.Strips = append(p.Strips, p.tempStrip(v, f, h, now, phone, desk))
	}
	if len(f.Past[keeper.LevelCM].Times)+len(f.Ahead[keeper.LevelCM].Times) > 0 {
		fan := p.fan("lev", keeper.LevelCM, f, h, now)
		fan.Says = w.T("vessel.level_says", "name", v.Spec.Name)
		if v.Spec.FullLevelCM > 0 {
			fan.Limits = []float64{v.Spec.FullLevelCM}
			fan.Low, fan.High = v.Spec.FullLevelCM*.9, v.Spec.FullLevelCM
		}
		st := strip{Title: w.T("vessel.level_strip"), Aside: w.T("vessel.level_keep"), Head: []string{w.T("today.midday"), w.T("vessel.middle"), w.T("vessel.eight")}}
		st.Phone, st.Desk = both(fan, phone, desk)
		for i, d := range f.Days {
			said := w.Band("level_cm", d.LevelCM)
			st.Rows = append(st.Rows, []string{p.dayName(d.Date, i), said.Value, said.Spread})
		}
		p.Strips = append(p.Strips, st)
	}
}

// tempStrip shows each day's low and high, as a tide table gives them.
func (p *vesselPage) tempStrip(v keeper.Vessel, f keeper.Forecast, h History, now time.Time, phone, desk [2]float64) strip {
	w := p.W
	fan := p.fan("tmp", keeper.TempC, f, h, now)
	fan.Says = w.T("vessel.temp_says", "name", v.Spec.Name)
	c := draw.Swings{Fan: fan, Days: swings(w, f)}
	title := "vessel.temp_strip"
	if w.Measures() == words.US {
		title = "vessel.temp_strip_f"
	}
	st := strip{Title: w.T(title), Aside: w.T("vessel.temp_keep"), Head: []string{w.T("vessel.day"), w.T("vessel.low") + ", " + w.UnitOf("temp_c"), w.T("vessel.high") + ", " + w.UnitOf("temp_c")}}
	c.Width, c.Height = desk[0], desk[1]
	st.Desk = template.HTML(c.SVG()) //nolint:gosec // made by draw
	c.Width, c.Height = phone[0], phone[1]
	if from := now.Add(-pastPhone); from.After(c.From) {
		c.From = from
	}
	st.Phone = template.HTML(c.SVG()) //nolint:gosec // made by draw
	for i, d := range f.Days {
		st.Rows = append(st.Rows, []string{p.dayName(d.Date, i), spreadOf(w.Band("temp_c", d.TempMinC)), spreadOf(w.Band("temp_c", d.TempMaxC))})
	}
	return st
}

// spreadOf is the spread, or the number alone where there is none.
func spreadOf(s words.Said) string {
	if s.Spread == "" {
		return s.Value
	}
	return s.Spread
}

// swings are the lows and highs of past days, from the curve, and of the coming
// ones, from the forecast.
func swings(w *words.Speaker, f keeper.Forecast) []draw.Swing {
	var out []draw.Swing
	shown := func(b num.Band) num.Band {
		return num.Band{Low: w.Shown("temp_c", b.Low), Mid: w.Shown("temp_c", b.Mid), High: w.Shown("temp_c", b.High)}
	}
	past := f.Past[keeper.TempC]
	for i := 0; i < len(past.Times); {
		l := past.Times[i].In(w.Zone())
		day := time.Date(l.Year(), l.Month(), l.Day(), 0, 0, 0, 0, w.Zone())
		next := day.AddDate(0, 0, 1)
		low, high, n := past.Bands[i], past.Bands[i], 0
		for ; i < len(past.Times) && past.Times[i].Before(next); i, n = i+1, n+1 {
			if past.Bands[i].Mid < low.Mid {
				low = past.Bands[i]
			}
			if past.Bands[i].Mid > high.Mid {
				high = past.Bands[i]
			}
		}
		if n >= 3 && !next.After(f.At) {
			out = append(out, draw.Swing{Day: day, Low: shown(low), High: shown(high)})
		}
	}
	for _, d := range f.Days {
		day, err := time.ParseInLocation(time.DateOnly, d.Date, w.Zone())
		if err == nil {
			out = append(out, draw.Swing{Day: day, Low: shown(d.TempMinC), High: shown(d.TempMaxC)})
		}
	}
	return out
}

func (p *vesselPage) limits(f keeper.Forecast) {
	for _, l := range f.Limits {
		if l.Share < .005 {
			continue
		}
		p.Limits = append(p.Limits, limit{Name: p.W.T("limit." + l.Key), Share: p.W.Number("share_pct", 100*l.Share).Plain(), Width: 100 * l.Share})
	}
}

func (p *vesselPage) ancestors(as []Ancestor, all []keeper.Vessel, now time.Time) {
	w := p.W
	for i, a := range as {
		var text []string
		if !a.At.IsZero() {
			_, date := w.Day(a.At), w.DayMonth(a.At)
			text = append(text, date)
		}
		if a.Litres > 0 {
			text = append(text, w.Read("volume_l", a.Litres).Plain())
		}
		if a.Text != "" {
			text = append(text, a.Text)
		}
		l := lineage{Name: a.Name, Text: strings.Join(text, ", ")}
		for _, v := range all {
			if v.Spec.ID == a.Vessel && a.Vessel != "" {
				l.Glyph = glyph(v, "lin"+string(rune('a'+i%26)), now)
			}
		}
		p.Lineage = append(p.Lineage, l)
	}
}
