package web

import (
	"context"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/words"
)

// Planner is what the pages of the harvest plan need.
type Planner interface {
	// HarvestPlan is the plan as of a moment, from what is worked out already;
	// a new one is begun behind the answer where something was noted since, and
	// waited for as long as patience says.
	HarvestPlan(ctx context.Context, at time.Time, patience time.Duration) (keeper.PlanState, error)
	// Settings are the choices of the farm as last made.
	Settings(ctx context.Context) ([]farm.Setting, error)
}

// planPatience is how long the page of the plan waits for one that is nearly
// done.
const planPatience = 250 * time.Millisecond

type planPage struct {
	Frame
	Lead    string
	Working string // that one is being worked out, and how far it is
	Share   int    // how far [%]
	Failed  string
	Short   string
	Told    []string // the date has gone by, no living reserve
	Rows    []planRow
	Out     []part // vessels that are not planned for, and why
	Rules   []planRule
	Beside  []string
	Holds   []string
	How     []string
	Wish    planWish
}

// planRow is one harvest, or a day on which none can be.
type planRow struct {
	Day, Sky     string
	Amount, Unit string
	What, Href   string
	Small        []string
	MixHref      string
}

type planRule struct{ Name, Small, Value, Unit, Spread string }

// planWish is the form of what is wished.
type planWish struct {
	ID       string
	Goals    []option
	Risks    []option
	Days     []option
	By, Away string
	Fields   []planField // by the settings
	Drying   []planField
}

type planField struct{ Key, Label, Value, Unit, Hint string }

// plan is the harvest plan of the whole farm.
func (s *server) plan(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "plan", "")
	if err != nil {
		return err
	}
	state, err := s.Farm.HarvestPlan(r.Context(), s.Now(), planPatience)
	if err != nil {
		return err
	}
	settings, err := s.Farm.Settings(r.Context())
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title, frame.Sheet = word.T("plan.title"), "plan.css"
	if r.URL.Query().Get("said") == "saved" {
		frame.Said = word.T("plan.wish.saved")
	}
	p := planPage{Frame: frame, Wish: s.planWish(word, setup, settings)}
	p.state(&state, w)
	if state.Plan != nil {
		p.tell(state.Plan)
	}
	return s.views.render(w, r, http.StatusOK, "plan", p)
}

// state says whether a plan is being worked out. The page asks again by itself,
// without a script.
func (p *planPage) state(state *keeper.PlanState, w http.ResponseWriter) {
	if t := state.Trouble; t != nil {
		p.Failed = p.W.T("plan.failed", "why", t.Message)
	}
	if !state.Running {
		return
	}
	p.Share = min(max(int(100*state.Progress), 1), 99)
	share := p.W.Number("share_pct", float64(p.Share)).Plain()
	key, after := "plan.working", "3"
	if state.Plan != nil {
		key, after = "plan.again", "10"
	}
	p.Working = p.W.T(key, "share", share)
	w.Header().Set("Refresh", after)
}

// tell says a plan.
func (p *planPage) tell(h *keeper.HarvestPlan) {
	w := p.W
	harvests, days := 0, map[string]bool{}
	some := false
	for i := range h.Vessels {
		v := &h.Vessels[i]
		if v.Left != "" {
			p.Out = append(p.Out, part{v.Name, w.T("plan.left_out." + v.Left)})
			continue
		}
		some = true
		for _, a := range v.Acts {
			if a.Share > 0 {
				harvests++
				days[a.Date] = true
			}
		}
	}
	switch {
	case !some:
		p.Lead = w.T("plan.lead_nothing")
	case harvests == 0:
		p.Lead = w.T("plan.lead_none")
	default:
		said := w.Band("dry_g", h.Total.DryG)
		p.Lead = w.T("plan.lead", "dry", said.Plain(), "spread", said.Spread, "harvests", w.T("plan.harvest", "count", harvests), "days", w.T("plan.day", "count", len(days)))
	}
	if !some {
		return
	}
	if h.Wish.Past {
		p.Told = append(p.Told, w.T("plan.past", "date", h.Wish.By))
	}
	if t := h.Short; t != nil {
		key := "plan.short_all"
		if h.Wish.Goal == "steady" {
			key = "plan.short_week"
		}
		p.Short = w.T(key, "wanted", planGrams(w, t.WantedG), "possible", planGrams(w, t.PossibleG))
	}
	for d := range h.Days {
		p.Rows = append(p.Rows, dayRows(w, h, d)...)
	}
	p.beside(h)
	for _, l := range h.Holds {
		what := upperFirst(w.T("plan.holds." + l.Kind))
		if l.GainG >= 1 {
			p.Holds = append(p.Holds, w.T("plan.hold_more", "what", what, "gain", planGrams(w, l.GainG)))
		} else if len(h.Holds) == 1 {
			p.Holds = append(p.Holds, what)
		}
	}
	floor := 0.0
	for i := range h.Vessels {
		floor = math.Max(floor, h.Vessels[i].FloorGL)
		if h.Vessels[i].Left == "" && h.Vessels[i].Spared {
			p.Told = append(p.Told, w.T("plan.spared"))
			break
		}
	}
	p.How = []string{w.T("plan.no_more_once", "floor", w.Number("floor_g_per_l", floor).Plain()), w.T("plan.how", "draws", h.Draws)}
}

// planGrams says dry matter without more digits than it deserves.
func planGrams(w *words.Speaker, g float64) string {
	return w.Number("dry_g", roundTo(g, 2)).Plain()
}

// dayRows are the harvests of one day, or the one line that says why there are
// none.
func dayRows(w *words.Speaker, h *keeper.HarvestPlan, d int) []planRow {
	day := h.Days[d]
	var rows []planRow
	why := map[string]bool{}
	for i := range h.Vessels {
		v := &h.Vessels[i]
		if v.Left != "" || d >= len(v.Acts) {
			continue
		}
		a := &v.Acts[d]
		if a.Share <= 0 {
			why[a.Why] = true
			continue
		}
		row := actRow(w, v, a)
		if len(rows) > 0 {
			row.Day, row.Sky = "", ""
		}
		row.What, row.Href = v.Name, "/vessels/"+url.PathEscape(v.Vessel)
		rows = append(rows, row)
	}
	if len(rows) > 0 {
		if day.Over > 0.02 {
			last := &rows[len(rows)-1]
			last.Small = append(last.Small, w.T("plan.over", "p_chance", day.Over))
		}
		return rows
	}
	row := planRow{Day: w.Day(day.At), What: upperFirst(w.T("plan.why.nobody"))}
	if day.Here {
		if len(why) != 1 || why[""] {
			return nil // nothing to say of a day without work
		}
		for one := range why {
			row.What = upperFirst(w.T("plan.why." + one))
		}
	}
	return []planRow{row}
}

// actRow says one harvest.
func actRow(w *words.Speaker, v *keeper.PlanOf, a *keeper.PlanAct) planRow {
	amount := w.Number("cloth_l", roundTo(w.Shown("cloth_l", a.LitresL), 2))
	amount.Value = w.Rounded(roundTo(w.Shown("cloth_l", a.LitresL), 2), 0.1)
	amount.Value = strings.TrimSuffix(amount.Value, w.T("format.decimal")+"0")
	row := planRow{Day: w.Day(a.At), Amount: amount.Value, Unit: amount.Unit}
	if a.Forecast != "" && a.Forecast != "unknown" {
		row.Sky = w.T("sky." + a.Forecast)
	}
	kg := num.Band{Low: a.PasteG.Low / 1000, Mid: a.PasteG.Mid / 1000, High: a.PasteG.High / 1000}
	left := w.T("plan.leaves", "left", w.Band("left_g_per_l", a.AfterGL).Full())
	row.Small = append(row.Small, upperFirst(w.T("plan.from_to", "paste", w.Band("paste_kg", kg).Full(), "dry", w.Band("dry_g", a.DryG).Full()))+"; "+left+".")
	if a.Below >= 0.05 {
		row.Small = append(row.Small, upperFirst(w.T("plan.below", "floor", w.Number("floor_g_per_l", v.FloorGL).Plain(), "p_chance", a.Below))+".")
	}
	feed, unit := grams(w, roundTo(a.FeedG, 2))
	args := []any{"feed", feed + " " + unit + " " + w.T("salt."+a.FeedSalt), "water", w.Number("top_up_l", roundTo(a.TopUpL, 2)).Plain()}
	if !words.Has("salt." + a.FeedSalt) {
		args[1] = feed + " " + unit + " " + kitchenName(a.FeedSalt)
	}
	key := "plan.after_open"
	if a.LevelCM > 0 {
		key = "plan.after"
		args = append(args, "level", w.Number("level_cm", roundTo(a.LevelCM, 3)).Plain())
	}
	row.Small = append(row.Small, w.T(key, args...))
	return row
}

// beside sets the plan beside other ways, in grams and in risk.
func (p *planPage) beside(h *keeper.HarvestPlan) {
	w := p.W
	row := func(name, small string, t *keeper.PlanTotal, closed float64) {
		said := w.Band("dry_g", t.DryG)
		days := w.T("plan.day", "count", int(math.Round(t.Days)))
		told := []string{w.T("plan.stands", "days", days, "stands", planGrams(w, t.StandsG.Mid), "risk_chance", t.Below)}
		if closed >= 0.05 {
			told = append(told, w.T("plan.closed_risk", "closed_chance", closed))
		}
		if t.SpoiledG >= 1 {
			told = append(told, w.T("plan.spoils", "spoiled", planGrams(w, t.SpoiledG)))
		}
		if small != "" {
			told = append([]string{small}, told...)
		}
		p.Rules = append(p.Rules, planRule{upperFirst(name), strings.Join(told, "; "), said.Value, said.Unit, said.Spread})
	}
	row(w.T("plan.this_plan"), "", &h.Total, 0)
	for i := range h.Against {
		r := &h.Against[i]
		name := w.T("plan.rule." + r.Rule)
		small := w.T("plan.rule."+r.Rule+"_what", "share_pct", roundTo(100*r.Share, 2), "above_g_per_l", roundTo(r.AboveGL, 2), "count", r.Seen)
		row(name, small, &r.Total, r.Closed)
		gain := w.Band("dry_g", r.GainG)
		key := "plan.even"
		switch {
		case r.Gain && r.GainG.Mid > 0:
			key = "plan.ahead"
		case r.Gain:
			key = "plan.behind"
			gain = w.Band("dry_g", num.Band{Low: -r.GainG.High, Mid: -r.GainG.Mid, High: -r.GainG.Low})
		}
		text := w.T(key, "rule", name, "ahead_chance", r.AheadBy, "gain", gain.Plain(), "gain_spread", gain.Spread, "more", planGrams(w, math.Max(r.EndG, 0)))
		if key != "plan.behind" && r.EndG < -1 {
			text += " " + w.T("plan.thinner", "less", planGrams(w, -r.EndG), "rule", name)
		}
		p.Beside = append(p.Beside, text)
	}
}

// vesselPlan are the planned harvests of one vessel, and what else there is to
// say of them.
func vesselPlan(w *words.Speaker, state *keeper.PlanState, id string) (rows []planRow, told string) {
	if state.Plan == nil {
		if state.Running {
			return nil, w.T("plan.vessel_wait")
		}
		return nil, ""
	}
	for i := range state.Plan.Vessels {
		v := &state.Plan.Vessels[i]
		if v.Vessel != id {
			continue
		}
		if v.Left != "" {
			if v.Left == "held" {
				return nil, upperFirst(w.T("plan.left_out.held")) + "."
			}
			return nil, ""
		}
		for j := range v.Acts {
			if v.Acts[j].Share > 0 {
				row := actRow(w, v, &v.Acts[j])
				if len(rows) == 0 {
					row.MixHref = "/mix?mode=feed&vessel=" + url.QueryEscape(id)
				}
				rows = append(rows, row)
			}
		}
		if len(rows) == 0 {
			told = w.T("plan.vessel_none")
		}
	}
	return rows, told
}

// planComing is the next planned harvest after today, which is the day list's to
// say; nothing waits for a plan there.
func (s *server) planComing(r *http.Request, w *words.Speaker) []coming {
	now := s.Now()
	state, err := s.Farm.HarvestPlan(r.Context(), now, 0)
	if err != nil || state.Plan == nil {
		return nil
	}
	for d, day := range state.Plan.Days {
		if sameDay(day.At, now, w.Zone()) {
			continue
		}
		for i := range state.Plan.Vessels {
			v := &state.Plan.Vessels[i]
			if d < len(v.Acts) && v.Acts[d].Share > 0 {
				row := actRow(w, v, &v.Acts[d])
				return []coming{{Day: row.Day, Value: row.Amount + " " + row.Unit, Text: w.T("plan.coming") + ", " + v.Name, Small: row.Small[0], Href: "/plan"}}
			}
		}
	}
	return nil
}

type planOut struct{ Body keeper.PlanState }

// apiPlan registers the plan as JSON.
func (s *server) apiPlan(api huma.API) {
	huma.Register(api, op("GET", "/api/plan", "get-plan", "The harvest plan of ten days, as far as it is worked out"), func(ctx context.Context, _ *struct{}) (*planOut, error) {
		state, err := s.Farm.HarvestPlan(ctx, s.Now(), planPatience)
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		return &planOut{state}, nil
	})
}
