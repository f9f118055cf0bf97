package web

import (
	"html/template"
	"net/http"
	"net/url"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
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
	Says          []string // sentences above the chart
	Troubles      []string
	Worth         []limit // readings worth taking now
	WorthOf       string  // the decision that they would narrow
	Journal       []journalRow
	JournalHref   string
	Lineage       []lineage
	Plan          []planRow
	PlanTold      string
	Shots         []shot
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
	p.say(v, f)
	if m := f.Ready.Mid; !m.IsZero() && f.Ready.Early.After(now.Add(time.Hour)) {
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
	state, err := s.Farm.HarvestPlan(ctx, now, 0)
	if err != nil {
		return err
	}
	p.Plan, p.PlanTold = vesselPlan(word, &state, id)
	if state.Old && len(p.Plan) > 0 {
		p.PlanTold = word.T("plan.vessel_old")
	}
	if p.Shots, err = s.shots(r.Context(), word, id, vs, now); err != nil {
		return err
	}
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
				said := w.Read(string(q), r.Value)
				if q == keeper.DensityGPerL { // worked out from the disc: not a number anybody wrote
					said = w.Number(string(q), r.Value)
				}
				return w.T("fact.read", "value", op+said.Plain(), "day", day, "time", clock)
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
