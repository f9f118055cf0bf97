package web

import (
	"encoding/json"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"sodalake/document/plot"
	"sodalake/farm/calc"
	"sodalake/farm/design"
	"sodalake/farm/energy"
	"sodalake/science/power"
	"sodalake/words"
)

type powerPage struct {
	Frame
	HasSite, Guessed bool
	Asked            bool
	Bad              *badField
	Set, Pump        []calcField
	Out              *powerOut
	Flow             []calcAnswer // of the pump and its pipe
	FlowTold         []string
	Cautions         []string
}

type powerOut struct {
	Leads   []string
	Facts   []buildRow
	Chart   template.HTML
	Months  []buildMonth
	Assumed []string
}

// setFields are the fields of panel, battery and what runs.
var setFields = []buildField{
	{key: "pump_w", kind: "number", a: "5", unit: "pump_w", min: 0, max: 1e5},
	{key: "hours", kind: "number", a: "12", unit: "run_h", min: 0, max: 24},
	{key: "by_sun", kind: "no|yes", a: "yes", labels: "calc."},
	{key: "always_w", kind: "number", a: "0.3", unit: "always_w", min: 0, max: 1e5},
	{key: "panel_w", kind: "number", a: "20", unit: "panel_w", min: 0, max: 1e6, other: true},
	{key: "battery_ah", kind: "number", a: "12", min: 0, max: 1e5, other: true},
	{key: "volt", kind: "number", a: "12", unit: "battery_v", min: 3, max: 60},
	{key: "kind", kind: "lead|lithium", a: "lead", labels: "power.kind_"},
	{key: "controller", kind: "tracking|plain", a: "tracking", labels: "power.controller_"},
	{key: "allowed", kind: "number", a: "2", unit: "allowed_pct", min: 0, max: 50},
	{key: "one_panel_w", kind: "number", a: "20", unit: "panel_w", min: 1, max: 1e5},
	{key: "one_ah", kind: "number", a: "12", min: 0.5, max: 1e5},
}

// flowFields are those of the pump's calculator that this page asks.
var flowFields = []struct {
	buildField
	calc string // its name in the calculator
}{
	{buildField{key: "max_lift", kind: "number", unit: "lift_m", other: true}, "pump_max_lift_m"},
	{buildField{key: "max_flow", kind: "number", other: true}, "pump_max_flow_l_per_h"},
	{buildField{key: "lift", kind: "number", a: "0.2", unit: "lift_m", other: true}, "lift_m"},
	{buildField{key: "pipe", kind: "number", a: "2", unit: "pipe_m", other: true}, "pipe_m"},
	{buildField{key: "inside", kind: "number", a: "16", unit: "inside_mm", other: true}, "inside_mm"},
	{buildField{key: "volume", kind: "number", unit: "volume_l", other: true}, "volume_l"},
	{buildField{key: "channel", kind: "number", unit: "width_m", other: true}, "channel_width_m"},
	{buildField{key: "channel_depth", kind: "number", unit: "depth_cm", other: true}, "channel_depth_cm"},
	{buildField{key: "loop", kind: "number", unit: "loop_m", other: true}, "channel_loop_m"},
	{buildField{key: "speed", kind: "number", a: "0.2", other: true}, "want_m_s"},
}

// powerYears is how many years are drawn.
const powerYears = 20

// power tells whether panel and battery carry the stirring through the year, and
// what a pump moves through its pipe. Asking is only reading.
func (s *server) power(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	word := frame.W
	frame.Title, frame.Sheet = word.T("power.title"), "build.css"
	p := powerPage{Frame: frame, HasSite: setup.HasSite, Guessed: len(setup.Site.Normals) != 12}
	for _, c := range power.For(power.Water | power.Mains | power.Store | power.Lead | power.Lithium | power.Sun | power.Pumps) {
		p.Cautions = append(p.Cautions, c.Text)
	}
	q := r.URL.Query()
	p.Asked = q.Get("pump_w") != "" || q.Get("max_lift") != ""
	status := http.StatusOK
	if p.Asked {
		err := p.ask(word, setup, q)
		if !setup.HasSite {
			p.Out = nil // of nowhere
		}
		if err != nil && statusOf(err) >= http.StatusInternalServerError {
			return err
		}
		if err != nil {
			pr := problemOf(statusOf(err), err)
			p.Bad = &badField{powerField(pr.Field), pr.Detail, pr.Hint}
			status = pr.Status
		}
	}
	for i := range setFields {
		p.Set = append(p.Set, powerInput(word, &setFields[i], q, p.Asked, p.Bad))
	}
	for i := range flowFields {
		p.Pump = append(p.Pump, powerInput(word, &flowFields[i].buildField, q, p.Asked, p.Bad))
	}
	return s.views.render(w, r, status, "power", p)
}

// powerField is the field of the form that an error's field stands for.
func powerField(field string) string {
	switch field {
	case "pump_hours":
		return "hours"
	case "battery_wh":
		return "battery_ah"
	case "one_battery_wh":
		return "one_ah"
	case "loss_allowed_pct":
		return "allowed"
	}
	for i := range flowFields {
		if flowFields[i].calc == field {
			return flowFields[i].key
		}
	}
	return field
}

func powerInput(w *words.Speaker, f *buildField, q url.Values, asked bool, bad *badField) calcField {
	value := f.a
	if asked {
		value = strings.TrimSpace(q.Get(f.key))
	}
	c := calcField{Key: f.key, Label: w.T("power." + f.key), Value: value, Input: "number", Bad: bad != nil && bad.Field == f.key}
	if f.unit != "" {
		c.Unit = w.UnitOf(f.unit)
	}
	if words.Has("power.help_" + f.key) {
		c.Help = w.T("power.help_" + f.key)
	}
	if f.kind != "number" {
		c.Input = "select"
		for _, o := range strings.Split(f.kind, "|") {
			c.Options = append(c.Options, option{o, w.T(f.labels + o), o == value})
		}
	}
	return c
}

// typed reads a number of the form; given is false where nothing was typed.
func typedPower(w *words.Speaker, f *buildField, q url.Values) (x float64, given bool, err error) {
	text := strings.TrimSpace(q.Get(f.key))
	if text == "" {
		return 0, false, nil
	}
	if x, err = plainNumber(f.key, text); err != nil {
		return 0, false, err
	}
	if f.unit != "" {
		x = w.Stored(f.unit, x)
	}
	if f.max > f.min && (x < f.min || x > f.max) {
		return 0, false, invalid(f.key, "", "%s %s lies outside %s to %s", w.T("power."+f.key), w.Bound(x), w.Bound(f.min), w.Bound(f.max))
	}
	return x, true, nil
}

// ask works out what was asked.
func (p *powerPage) ask(w *words.Speaker, setup Setup, q url.Values) error {
	num := map[string]float64{}
	for i := range setFields {
		f := &setFields[i]
		if f.kind != "number" {
			continue
		}
		x, given, err := typedPower(w, f, q)
		if err != nil {
			return err
		}
		if !given && !f.other && f.a != "" {
			x, _ = strconv.ParseFloat(f.a, 64)
		}
		num[f.key] = x
	}
	place := design.PlaceOf(&setup.Site)
	a := &energy.Ask{
		Site: place.Site, Normals: place.Normals, Years: powerYears, Seed: 1, PumpW: num["pump_w"], PumpHours: num["hours"], BySun: q.Get("by_sun") == "yes", AlwaysW: num["always_w"],
		PanelW: num["panel_w"], BatteryWh: num["battery_ah"] * num["volt"], Plain: q.Get("controller") == "plain", TiltDeg: math.NaN(), AllowedPct: num["allowed"], OnePanelW: num["one_panel_w"], OneWh: num["one_ah"] * num["volt"],
	}
	if q.Get("kind") == "lithium" {
		a.Kind = power.LithiumIronPhosphate
	}
	got, err := energy.Run(a)
	if err != nil {
		return err
	}
	p.Out = powerOutOf(w, a, got, num["volt"])
	return p.flow(w, q, num["pump_w"])
}

// flow asks the pump's calculator where a pump or a channel was told.
func (p *powerPage) flow(w *words.Speaker, q url.Values, pumpW float64) error {
	in := map[string]any{}
	for i := range flowFields {
		x, given, err := typedPower(w, &flowFields[i].buildField, q)
		if err != nil {
			return err
		}
		if given {
			in[flowFields[i].calc] = x
		}
	}
	_, lift := in["pump_max_lift_m"]
	_, most := in["pump_max_flow_l_per_h"]
	if !lift && !most {
		return nil
	}
	if _, ok := in["channel_width_m"]; !ok {
		delete(in, "want_m_s")
	}
	if pumpW >= 0.1 {
		in["pump_w"] = pumpW
	}
	raw, err := json.Marshal(in)
	if err != nil {
		return err
	}
	c := calc.Pump()
	answer, err := c.Run(raw)
	if err != nil {
		return err
	}
	for _, line := range c.Show(answer) {
		p.Flow = append(p.Flow, answerOf(line))
	}
	var told struct{ Assumptions, Cautions []string }
	if b, err := json.Marshal(answer); err == nil {
		_ = json.Unmarshal(b, &told) // what it repeats of itself
	}
	p.FlowTold = told.Assumptions
	have := map[string]bool{}
	for _, t := range p.Cautions {
		have[t] = true
	}
	for _, t := range told.Cautions {
		if !have[t] {
			p.Cautions = append(p.Cautions, t)
		}
	}
	return nil
}

func powerOutOf(w *words.Speaker, a *energy.Ask, got *energy.Answer, volt float64) *powerOut {
	t := w.T
	out := &powerOut{}
	n := func(name string, x float64) string { return w.Number(name, x).Plain() }
	pct := func(x float64) string { return n("share_pct", math.Round(x*10)/10) }
	ah := func(wh float64) string {
		return n("battery_wh", wh) + " (" + w.Bound(math.Round(wh/volt*10)/10) + " Ah)"
	}
	worst := monthName(w, got.Worst)
	row := func(key, value, spread string) {
		out.Facts = append(out.Facts, buildRow{What: t("power.row_" + key), Cells: []buildCell{{value, spread}}})
	}
	row("wanted", n("day_wh", got.DayWh), "")
	if h := got.Have; h != nil {
		key := "power.lead_lasts"
		if !h.Grey.Lasts {
			key = "power.lead_lacks"
		}
		out.Leads = append(out.Leads, t(key, "month", worst, "lack", pct(h.Grey.LackPct), "lowest", pct(h.Grey.LowestPct)))
		row("made", n("day_wh", h.Grey.MadeWh), t("power.sun_hours", "hours", n("sun_h", h.Grey.SunHours)))
		row("alone", n("alone_h", h.AloneD*24), t("power.without_sun"))
		row("loss", pct(h.LossPct), t("power.of_years", "years", strconv.Itoa(a.Years)))
		row("days", n("short_d", math.Round(h.DaysPerYear)), "")
		row("longest", n("longest_h", math.Round(h.LongestH)), "")
	}
	switch {
	case got.Best != nil:
		out.Leads = append(out.Leads, t("power.smallest", "panel", n("panel_w", got.Best.PanelW), "battery", ah(got.Best.BatteryWh), "lack", pct(100*got.Best.LossOfLoad), "allowed", pct(a.AllowedPct)))
	case got.None != nil:
		out.Leads = append(out.Leads, t("power.no_set", "panel", n("panel_w", got.None.Best.PanelW), "battery", ah(got.None.Best.BatteryWh), "lack", pct(100*got.None.Best.LossOfLoad)))
	}
	if a.BySun && got.AboveWM2 > 0 {
		out.Leads = append(out.Leads, t("power.above", "light", n("plane_w_m2", math.Round(got.AboveWM2))))
	}
	bars := plot.Bars{Says: t("power.chart"), Width: 400, Height: 200, Kinds: []plot.Kind{{}}}
	for m := range 12 {
		x := &got.Months[m]
		name := monthName(w, m+1)
		bars.Groups = append(bars.Groups, firstRunes(name, 1))
		bars.Kinds[0].Bars = append(bars.Kinds[0].Bars, plot.Bar{Mid: x.SunHours, Low: x.SunHours, High: x.SunHours})
		lack, run := "–", "–"
		if got.Have != nil {
			lack = pct(x.LossPct)
		}
		if x.To > x.From {
			run = fmt.Sprintf("%d–%d", x.From, x.To)
		}
		out.Months = append(out.Months, buildMonth{name, []buildCell{{Value: w.Number("sun_h", math.Round(x.SunHours*10)/10).Value}, {Value: lack}, {Value: run}}})
	}
	out.Chart = template.HTML(bars.SVG()) // #nosec G203 -- ours
	out.Assumed = []string{
		t("power.assume_years", "years", strconv.Itoa(a.Years)), t("power.assume_tilt", "tilt", w.Bound(got.TiltDeg)),
		t("power.assume_worn"), t("power.assume_clock"),
	}
	return out
}
