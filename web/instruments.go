package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/twin"
	"sodalake/web/draw"
)

// Instruments is what the page of the instruments needs.
type Instruments interface {
	// Calibration is what the farm knows of its own disc, photometer and pH
	// meters as of at.
	Calibration(ctx context.Context, at time.Time) (keeper.Calibration, error)
}

type instrumentsPage struct {
	Frame
	ID, MakeID, Item string // ULIDs that the form carries, and the item it answers
	Meters           []meterView
	Which            []option
	Low, High        []option
	Result           []option
	Values           map[string]string
	Bad              map[string]string // by the name of the field
	TempUnit         string
	Disc, Photometer ownView
}

// meterView is how a meter stands, in words.
type meterView struct {
	Name, Checked, Bias, Electrode, Due string
}

// ownView is a disc or a photometer against dry weights.
type ownView struct {
	Lead, Slope, Misfit string
	Phone, Desk         template.HTML
	Rows                []ownRow
}

type ownRow struct {
	Day, Read, Dry, Vessel, Small, Href string
	Left                                bool
}

// lowBuffers and highBuffers are what a check is made in.
var (
	lowBuffers  = []string{"7.00", "6.86", "4.01"}
	highBuffers = []string{"10.01", "9.18"}
)

// instruments shows how the farm's instruments stand.
func (s *server) instruments(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	p, err := s.instrumentsOf(r, url.Values{"item": {q.Get("item")}, "instrument": {q.Get("instrument")}}, nil)
	if err != nil {
		return err
	}
	if q.Get("said") == "saved" {
		p.Said = p.W.T("setup.saved")
	}
	return s.views.render(w, r, http.StatusOK, "instruments", p)
}

func (s *server) instrumentsOf(r *http.Request, v url.Values, bad map[string]string) (*instrumentsPage, error) {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return nil, err
	}
	c, err := s.Farm.Calibration(r.Context(), s.Now())
	if err != nil {
		return nil, err
	}
	w := frame.W
	p := &instrumentsPage{Frame: frame, ID: s.newID(), MakeID: s.newID(), Item: v.Get("item"), Bad: bad, Values: map[string]string{}, TempUnit: w.UnitOf("temp_c")}
	p.Title = w.T("instruments.title")
	if id := v.Get("id"); id != "" {
		p.ID, p.MakeID = id, v.Get("make_id")
	}
	if bad == nil {
		p.Bad = map[string]string{}
	}
	for _, key := range []string{"low_shown", "high_shown", "temp", "name"} {
		p.Values[key] = v.Get(key)
	}
	for _, m := range c.Meters {
		p.Meters = append(p.Meters, p.meterView(m))
		p.Which = append(p.Which, option{m.ID, m.Name, m.ID == v.Get("instrument")})
	}
	choose := func(key string, all []string) (out []option) {
		for _, b := range all {
			out = append(out, option{b, "pH " + b, b == v.Get(key)})
		}
		return out
	}
	p.Low, p.High = choose("low", lowBuffers), choose("high", highBuffers)
	for _, res := range []string{"good", "adjusted"} {
		p.Result = append(p.Result, option{res, w.T("instruments.result_" + res), res == v.Get("result")})
	}
	names := map[string]string{}
	for _, x := range setup.Vessels {
		names[x.ID] = x.Name
	}
	p.Disc = p.own("disc", "secchi_cm", c.Secchi, names)
	p.Photometer = p.own("photometer", "od_750", c.OD, names)
	return p, nil
}

func (p *instrumentsPage) meterView(m keeper.MeterState) meterView {
	w := p.W
	v := meterView{Name: m.Name, Checked: w.T("instruments.never")}
	if !m.Checked.IsZero() {
		v.Checked = w.T("instruments.checked", "day", w.DayMonth(m.Checked))
		if m.Result != "" {
			v.Checked += ", " + w.T("instruments.was_"+m.Result)
		}
		switch {
		case m.Result == "failed":
			v.Bias = w.T("instruments.as_strip")
		case m.Result == "adjusted" || !m.Measured:
			v.Bias = w.T("instruments.unsure", "spread", w.Rounded(math.Abs(m.Bias.High), 0.01))
		default:
			v.Bias = w.T("instruments.bias", "bias", signed(w.Rounded(m.Bias.Mid, 0.01), m.Bias.Mid), "low", w.Rounded(m.Bias.Low, 0.01), "high", w.Rounded(m.Bias.High, 0.01))
		}
	}
	if m.SlopePct > 0 {
		v.Electrode = w.T("instruments.electrode", "slope_pct", m.SlopePct, "state", w.T("instruments.electrode_"+m.State))
	}
	if m.Due && m.Read {
		v.Due = w.T("instruments.due", "every_d", float64(m.EveryDays))
	}
	return v
}

func signed(text string, x float64) string {
	if x > 0 && !strings.HasPrefix(text, "+") && strings.Trim(text, "0.,") != "" {
		return "+" + text
	}
	return text
}

// own lays out a disc or a photometer.
func (p *instrumentsPage) own(name, key string, c keeper.OwnCurve, vessels map[string]string) ownView {
	w := p.W
	out := ownView{}
	constant := "disc_g_cm_per_l"
	if key != "secchi_cm" {
		constant = "dry_g_per_l"
	}
	digits := func(x float64) string { return w.Rounded(x, 0.01) }
	args := []any{"count", c.Used, "constant", digits(c.Constant.Mid), "low", digits(c.Constant.Low), "high", digits(c.Constant.High), "before", digits(c.Before.Mid), "before_low", digits(c.Before.Low), "before_high", digits(c.Before.High), "unit", w.T("instruments.unit_" + constant)}
	out.Lead = w.T("instruments."+name+"_none", args...)
	if c.Used > 0 {
		out.Lead = w.T("instruments."+name+"_own", args...)
	}
	if math.Abs(c.Slope-1) > 0.02 {
		out.Slope = w.T("instruments.slope", "slope", w.Rounded(c.Slope, 0.01))
	}
	if c.Misfit > 2.5 {
		out.Misfit = w.T("instruments.misfit", "ratio", w.Rounded(math.Sqrt(c.Misfit), 0.1))
	}
	d := draw.Scatter{Says: w.T("instruments." + name + "_says"), X: c.Read, Y: c.DryGPerL, XUnit: w.T("instruments." + name + "_axis"), YUnit: w.UnitOf("density_g_per_l"), Number: func(x float64) string { return w.Rounded(x, math.Min(1, math.Pow(10, math.Floor(math.Log10(x))))) }}
	for _, x := range c.Pairs {
		d.Pairs = append(d.Pairs, draw.Pair{X: x.Read, Y: x.DryGPerL, Left: x.Left != ""})
		row := ownRow{Day: w.DayMonth(x.At), Read: w.Read(key, x.Read).Plain(), Dry: w.Read("dry_weight_g_per_l", x.DryGPerL).Plain(), Vessel: vessels[x.Vessel], Href: "/records/entry/" + url.PathEscape(x.EntryID)}
		if x.Left != "" {
			row.Left, row.Small = true, w.T(x.Left)
		}
		out.Rows = append(out.Rows, row)
	}
	d.Width, d.Height = 328, 260
	out.Phone = template.HTML(d.SVG()) //nolint:gosec // made by draw
	d.Width, d.Height = 560, 320
	out.Desk = template.HTML(d.SVG()) //nolint:gosec // made by draw
	return out
}

// writeCheck writes a check of a pH meter in two buffers down.
func (s *server) writeCheck(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	f, word := r.PostForm, s.speaker(r)
	bad := map[string]string{}
	number := func(key string) float64 {
		x, err := plainNumber(key, f.Get(key))
		if err != nil {
			bad[key] = word.T("climate.no_number")
		}
		return x
	}
	low, okLow := twin.ParseBuffer(f.Get("low"))
	high, okHigh := twin.ParseBuffer(f.Get("high"))
	if !okLow {
		bad["low"] = word.T("instruments.no_buffer")
	}
	if !okHigh {
		bad["high"] = word.T("instruments.no_buffer")
	}
	tempC := word.Stored("temp_c", number("temp"))
	a := twin.InBuffer{Buffer: low, TempC: tempC, Shown: number("low_shown")}
	b := twin.InBuffer{Buffer: high, TempC: tempC, Shown: number("high_shown")}
	id, name := f.Get("instrument"), strings.TrimSpace(f.Get("name"))
	isNew := id == ""
	if isNew {
		if id = slug(name); id == "" {
			bad["name"] = word.T("instruments.no_name")
		}
	}
	var m twin.Meter
	if len(bad) == 0 {
		var err error
		m, err = twin.CheckMeter(a, b, true)
		var me *twin.MeterError
		if errors.As(err, &me) {
			field := map[string]string{"low.temp_c": "temp", "high.temp_c": "temp", "low.shown": "low_shown", "high.shown": "high_shown", "high.buffer": "high"}[me.Field]
			bad[field] = strings.TrimSuffix(me.Why+"; "+me.Hint, "; ")
		} else if err != nil {
			return err
		}
	}
	if len(bad) > 0 {
		return s.checkAgain(w, r, f, bad)
	}
	result := f.Get("result")
	if m.State() == "failing" && result != "adjusted" {
		result = "failed"
	}
	raw, err := json.Marshal(map[string]any{
		"instrument": id, "result": result, "expected": roundTo(low.PH(tempC), 4), "read": a.Shown, "slope_pct": roundTo(100*m.Slope, 4), "temp_c": roundTo(tempC, 4),
		"what": fmt.Sprintf("pH %s showed %s, pH %s showed %s", low, strconv.FormatFloat(a.Shown, 'f', -1, 64), high, strconv.FormatFloat(b.Shown, 'f', -1, 64)),
	})
	if err != nil {
		return err
	}
	now := s.Now()
	var entries []farm.Entry
	if isNew {
		body, err := json.Marshal(map[string]any{"id": id, "name": name, "measures": "ph", "make": "meter"})
		if err != nil {
			return err
		}
		entries = append(entries, farm.Entry{ID: f.Get("make_id"), Kind: "instrument", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: body})
	}
	entries = append(entries, farm.Entry{ID: f.Get("id"), Kind: "checked", V: 1, At: now, NotedAt: now, By: s.Who(r), Body: raw, Item: f.Get("item")})
	for _, e := range entries {
		if _, err := farm.ParseID(e.ID); err != nil {
			return invalid("id", "open the page again", "the form carries no identifier")
		}
		if _, _, err := s.write(r.Context(), e, farm.Typed); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/farm/instruments?said=saved", http.StatusSeeOther)
	return nil
}

// checkAgain shows the form with what was typed and what is wrong with it.
func (s *server) checkAgain(w http.ResponseWriter, r *http.Request, f url.Values, bad map[string]string) error {
	p, err := s.instrumentsOf(r, f, bad)
	if err != nil {
		return err
	}
	return s.views.render(w, r, http.StatusUnprocessableEntity, "instruments", p)
}
