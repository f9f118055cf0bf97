package web

import (
	"html/template"
	"math"
	"strconv"
	"strings"

	"sodalake/document/plot"
	"sodalake/farm/design"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/words"
)

// buildOut is what designs would bring, ready to be shown.
type buildOut struct {
	Two      bool
	Names    []string
	Leads    []string // one sentence a pond
	Versus   string
	Chart    template.HTML
	Months   []buildMonth
	Groups   []buildGroup
	Limits   [][]string
	Assumed  []string
	Cautions []string
}

type buildMonth struct {
	Name  string
	Cells []buildCell
}

type buildGroup struct {
	Title, Caption string
	Rows           []buildRow
}

type buildRow struct {
	What, Small string
	Cells       []buildCell
}

type buildCell struct{ Value, Spread string }

// said is a band as a cell.
func said(w *words.Speaker, name string, b num.Band) buildCell {
	q := w.Band(name, b)
	c := buildCell{Value: q.Plain()}
	if q.Spread != q.Value {
		c.Spread = q.Spread
	}
	return c
}

func buildOutOf(w *words.Speaker, a *design.Answer) *buildOut {
	t := w.T
	out := &buildOut{Two: len(a.Outcomes) > 1, Assumed: a.Assumptions, Cautions: a.Cautions}
	for i := range a.Outcomes {
		o := &a.Outcomes[i]
		out.Names = append(out.Names, o.Name)
		out.Leads = append(out.Leads, upperFirst(pondLead(w, o)))
		var why []string
		for _, l := range o.Limits {
			why = append(why, t("build.limit_"+l, warmths(w)...))
		}
		out.Limits = append(out.Limits, why)
	}
	if len(a.Versus) > 0 && a.Outcomes[0].YearKg.Mid > 0 {
		v := &a.Versus[0]
		more := w.Band("more_pct", v.MorePct)
		key := "build.versus_more"
		if v.MorePct.Mid < 0 {
			key = "build.versus_less"
			more = w.Band("more_pct", num.Band{Low: -v.MorePct.High, Mid: -v.MorePct.Mid, High: -v.MorePct.Low})
		}
		out.Versus = upperFirst(t(key, "name", v.Name, "first", out.Names[0], "more", more.Full(), "share", w.Number("share_pct", math.Round(v.BetterPct)).Plain()))
	}
	out.months(w, a)
	out.groups(w, a)
	return out
}

// pondLead is one pond in a sentence.
func pondLead(w *words.Speaker, o *design.Outcome) string {
	if !(o.YearKg.High > 0) {
		return w.T("build.lead_none", "name", o.Name)
	}
	key := "build.lead"
	if o.Season.YearRoundPct > 50 || o.Season.First == nil {
		key = "build.lead_round"
	}
	args := []any{"name", o.Name, "kg", w.Band("year_kg", o.YearKg).Full(), "area", w.Number("area_m2", o.AreaM2).Plain(), "days", w.Band("season_d", o.Season.LengthD).Full()}
	if f, l := o.Season.First, o.Season.Last; f != nil {
		args = append(args, "first", dateOf(w, f.Mid), "last", dateOf(w, l.Mid))
	}
	return w.T(key, args...)
}

// dateOf says a month and day, "17 April".
func dateOf(w *words.Speaker, monthDay string) string {
	month, day, _ := strings.Cut(monthDay, "-")
	d, _ := strconv.Atoi(day)
	m, _ := strconv.Atoi(month)
	return w.T("build.date", "date", strconv.Itoa(d), "month", monthName(w, m))
}

// monthName says a month, 1 for January.
func monthName(w *words.Speaker, m int) string {
	if m < 1 || m > 12 {
		return ""
	}
	return w.T("month." + [12]string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}[m-1])
}

// warmths are the temperatures that the words of these pages may name.
func warmths(w *words.Speaker) []any {
	c := func(x float64) string { return w.Number("water_c", x).Plain() }
	return []any{"cold", c(design.ColdMonthC), "wake", c(design.WakeC), "hot", c(growth.HeatActC), "alarm", c(growth.HeatAlarmC)}
}

func datesCell(w *words.Speaker, d *design.Dates) buildCell {
	if d == nil {
		return buildCell{Value: "–"}
	}
	return buildCell{Value: dateOf(w, d.Mid), Spread: w.T("build.dates", "early", dateOf(w, d.Early), "late", dateOf(w, d.Late))}
}

// months is the chart and the table of the months.
func (out *buildOut) months(w *words.Speaker, a *design.Answer) {
	bars := plot.Bars{Says: w.T("build.chart", "names", strings.Join(out.Names, ", ")), Width: 400, Height: 230}
	for i := range a.Outcomes {
		bars.Kinds = append(bars.Kinds, plot.Kind{Name: a.Outcomes[i].Name})
	}
	for k := range 12 {
		m := (a.FirstMonth - 1 + k) % 12
		name := monthName(w, m+1)
		bars.Groups = append(bars.Groups, firstRunes(name, 1))
		row := buildMonth{Name: name}
		for i := range a.Outcomes {
			x := &a.Outcomes[i].Months[m]
			bars.Kinds[i].Bars = append(bars.Kinds[i].Bars, plot.Bar{Mid: x.YieldGM2D.Mid, Low: x.YieldGM2D.Low, High: x.YieldGM2D.High})
			q := w.Band("yield_g_per_m2_d", x.YieldGM2D)
			c := buildCell{Value: q.Value, Spread: w.T("build.water", "warmth", w.Number("water_c", math.Round(x.WaterC.Mid)).Plain())}
			if q.Spread != "" && q.Spread != q.Value {
				c.Value += " (" + q.Spread + ")"
			}
			row.Cells = append(row.Cells, c)
		}
		out.Months = append(out.Months, row)
	}
	out.Chart = template.HTML(bars.SVG()) // #nosec G203 -- ours, every word in it is escaped
}

func firstRunes(t string, n int) string {
	r := []rune(t)
	return string(r[:min(n, len(r))])
}

// groups are the tables under the months.
func (out *buildOut) groups(w *words.Speaker, a *design.Answer) {
	t := w.T
	group := func(key string) *buildGroup {
		g := buildGroup{Title: t("build." + key)}
		if words.Has("build." + key + "_caption") {
			g.Caption = t("build."+key+"_caption", warmths(w)...)
		}
		out.Groups = append(out.Groups, g)
		return &out.Groups[len(out.Groups)-1]
	}
	add := func(g *buildGroup, key string, of func(o *design.Outcome) buildCell) {
		r := buildRow{What: t("build.row_"+key, warmths(w)...)}
		if words.Has("build.row_" + key + "_small") {
			r.Small = t("build.row_"+key+"_small", warmths(w)...)
		}
		for i := range a.Outcomes {
			r.Cells = append(r.Cells, of(&a.Outcomes[i]))
		}
		g.Rows = append(g.Rows, r)
	}
	number := func(name string, x float64) buildCell { return buildCell{Value: w.Number(name, x).Plain()} }

	g := group("season")
	add(g, "length", func(o *design.Outcome) buildCell { return said(w, "season_d", o.Season.LengthD) })
	add(g, "restart", func(o *design.Outcome) buildCell { return datesCell(w, o.Season.Restart) })
	add(g, "first", func(o *design.Outcome) buildCell { return datesCell(w, o.Season.First) })
	add(g, "safe", func(o *design.Outcome) buildCell {
		if s := o.Season.LastRegrown; s != nil {
			return buildCell{dateOf(w, s.Early), t("build.middle", "date", dateOf(w, s.Mid))}
		}
		return buildCell{Value: "–"}
	})
	add(g, "last", func(o *design.Outcome) buildCell { return datesCell(w, o.Season.Last) })
	add(g, "winter", func(o *design.Outcome) buildCell {
		switch s := &o.Season; {
		case s.Indoors:
			return buildCell{Value: t("build.winter_indoors"), Spread: t("build.reserve", "grams", w.Band("reserve_g", s.SeedG).Full())}
		case s.Restart == nil:
			return buildCell{Value: "–"}
		default:
			return buildCell{Value: t("build.through", "share", number("share_pct", math.Round(s.WintersPct)).Value), Spread: t("build.thinnest", "density", w.Band("density_g_per_l", s.ThinnestGL).Full())}
		}
	})
	add(g, "ice", func(o *design.Outcome) buildCell { return said(w, "ice_d", o.Season.IceDays) })
	add(g, "hot", func(o *design.Outcome) buildCell {
		c := said(w, "hot_d", o.Season.HotDays)
		if o.Season.AlarmPct > 0 {
			c.Spread = strings.TrimPrefix(c.Spread+"; "+t("build.alarm", "share", number("share_pct", math.Round(o.Season.AlarmPct)).Value, "warmth", w.Number("heat_c", growth.HeatAlarmC).Plain()), "; ")
		}
		return c
	})

	g = group("needs")
	add(g, "year", func(o *design.Outcome) buildCell { return said(w, "year_kg", o.YearKg) })
	add(g, "yield", func(o *design.Outcome) buildCell { return said(w, "season_g_per_m2_d", o.SeasonGM2D) })
	add(g, "harvests", func(o *design.Outcome) buildCell { return said(w, "harvest_d", o.HarvestDays) })
	add(g, "topped", func(o *design.Outcome) buildCell { return said(w, "water_m3", o.WaterM3) })
	add(g, "filling", func(o *design.Outcome) buildCell {
		return buildCell{Value: number("filling_m3", o.FillingM3).Value, Spread: saltList(w, o.FirstSaltsKg)}
	})
	add(g, "feed", func(o *design.Outcome) buildCell {
		sum := 0.0
		for _, x := range o.FeedKg {
			sum += x.Kg
		}
		return buildCell{Value: number("feed_kg", sum).Value, Spread: saltList(w, o.FeedKg)}
	})
	add(g, "carbon", func(o *design.Outcome) buildCell { return said(w, "carbon_kg", o.CO2Kg) })
	add(g, "power", func(o *design.Outcome) buildCell {
		return buildCell{number("power_kwh", math.Round(o.PowerKWh)).Value, number("stir_w", math.Round(o.StirW*10)/10).Value}
	})

	if a.Outcomes[0].Cost != nil {
		g = group("cost")
		for _, key := range []string{"salts", "filling", "carbon", "water", "power", "building", "work"} {
			any := false
			cell := func(o *design.Outcome) buildCell {
				for _, p := range o.Cost.Parts {
					if p.Key == key {
						any = true
						return buildCell{Value: w.Rounded(p.PerYear, 1)}
					}
				}
				return buildCell{Value: "–"}
			}
			add(g, "cost_"+key, cell)
			if !any {
				g.Rows = g.Rows[:len(g.Rows)-1]
			}
		}
		add(g, "cost_year", func(o *design.Outcome) buildCell { return buildCell{Value: w.Rounded(o.Cost.PerYear, 1)} })
		add(g, "cost_kg", func(o *design.Outcome) buildCell {
			if c := o.Cost; c.PerKg != nil {
				b := buildCell{Value: w.Rounded(*c.PerKg, 0.1)}
				if c.PerKgLow != nil && c.PerKgBad != nil {
					b.Spread = w.Rounded(*c.PerKgLow, 0.1) + "–" + w.Rounded(*c.PerKgBad, 0.1)
				}
				return b
			}
			return buildCell{Value: "–"}
		})
	}
	if w0 := a.Outcomes[0].Area; w0 != nil {
		g = group("area")
		g.Title = t("build.area_for", "grams", w.Number("wish_g", w0.WishGPerWeek).Plain())
		area := func(x *float64) buildCell {
			if x == nil {
				return buildCell{Value: t("build.not_possible")}
			}
			return number("area_m2", *x)
		}
		add(g, "area_mean", func(o *design.Outcome) buildCell { return area(o.Area.MeanM2) })
		add(g, "area_sure", func(o *design.Outcome) buildCell { return area(o.Area.SureM2) })
		add(g, "area_every", func(o *design.Outcome) buildCell {
			c := area(o.Area.EveryM2)
			if o.Area.WorstMonth > 0 {
				c.Spread = t("build.weakest", "month", monthName(w, o.Area.WorstMonth))
			}
			return c
		})
		add(g, "area_year", func(o *design.Outcome) buildCell { return area(o.Area.YearM2) })
	}
}

// saltList says the largest of some amounts of salts.
func saltList(w *words.Speaker, list []design.Salt) string {
	var parts []string
	for _, s := range list {
		if s.Kg >= 0.05 {
			parts = append(parts, s.Formula+" "+w.Number("salt_kg", s.Kg).Plain())
		}
	}
	return strings.Join(parts, ", ")
}
