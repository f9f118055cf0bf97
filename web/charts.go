package web

import (
	"html/template"
	"slices"
	"strings"
	"time"

	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/web/draw"
	"sodalake/words"
)

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
			if a == keeper.SecchiCM { // a disc on the density's chart: its spread says it in g/L
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
		if f.Ready.Early.After(now.Add(time.Hour)) {
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
	ph, other := keeper.PH25C, keeper.PH
	if len(f.Past[ph].Times)+len(f.Ahead[ph].Times) == 0 {
		ph, other = other, ph
	}
	if len(f.Past[ph].Times)+len(f.Ahead[ph].Times) > 0 {
		fan := p.fan("ph", ph, f, h, now, other)
		fan.Says = w.T("vessel.ph_says", "name", v.Spec.Name)
		st := strip{Title: w.T("quantity." + string(ph)), Aside: w.T("vessel.ph_keep"), Head: []string{w.T("today.midday"), w.T("vessel.middle"), w.T("vessel.eight")}}
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
