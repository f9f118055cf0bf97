package main

import (
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/words"
)

type planCmd struct {
	Vessel string `help:"Only this vessel, by its identifier." placeholder:"V"`
}

// Run prints the harvest plan of ten days.
func (c *planCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	if c.Vessel != "" {
		known := false
		k.Read(func(p *farm.Present) { _, known = p.Vessel(c.Vessel) })
		if !known {
			if _, err := k.Vessel(ctx, c.Vessel, time.Time{}); err != nil {
				return err
			}
		}
	}
	rest := working(out, "following the vessels and seeking a plan ...")
	defer rest()
	tenths := 0
	h, err := k.HarvestPlanNow(ctx, time.Time{}, func(share float64) {
		if t := int(share * 10); out.terminal && t > tenths && t < 10 {
			tenths = t
			fmt.Fprintf(out.stderr, "sodalake: the plan is %d %% done\n", 10*t)
		}
	})
	rest()
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, h)
	}
	return printPlan(out, h, c.Vessel, speaker(k))
}

func printPlan(out surroundings, h *keeper.HarvestPlan, only string, speak *words.Speaker) error {
	p := newPage(out)
	p.linef("%s, from %s", speak.T("plan.title"), speak.Moment(h.At))
	p.para("", "Aim: "+speak.T("plan.goal."+h.Wish.Goal)+".")
	grams := func(g float64) string {
		r := math.Pow(10, math.Floor(math.Log10(math.Max(g, 1)))-1)
		return speak.Number("dry_g", math.Round(g/r)*r).Plain()
	}
	if h.Wish.Past {
		p.para("", speak.T("plan.past", "date", h.Wish.By))
	}
	if t := h.Short; t != nil {
		key := "plan.short_all"
		if h.Wish.Goal == "steady" {
			key = "plan.short_week"
		}
		p.para("", speak.T(key, "wanted", grams(t.WantedG), "possible", grams(t.PossibleG)))
	}
	rows := [][]string{{"day", "vessel", "through cloth", "pressed paste", "dry matter", "leave"}}
	var after, left []string
	spared, some := false, false
	for d, day := range h.Days {
		if !day.Here {
			rows = append(rows, []string{speak.Day(day.At), speak.T("plan.why.nobody"), "", "", "", ""})
		}
		for i := range h.Vessels {
			v := &h.Vessels[i]
			if only != "" && v.Vessel != only || d >= len(v.Acts) {
				continue
			}
			some = true
			spared = spared || v.Spared
			a := &v.Acts[d]
			if a.Share <= 0 {
				continue
			}
			kg := num.Band{Low: a.PasteG.Low / 1000, Mid: a.PasteG.Mid / 1000, High: a.PasteG.High / 1000}
			rows = append(rows, []string{
				speak.Day(a.At), v.Vessel, speak.Number("cloth_l", math.Round(a.LitresL)).Plain(), speak.Band("paste_kg", kg).Full(), speak.Band("dry_g", a.DryG).Full(),
				speak.Band("left_g_per_l", a.AfterGL).Full(),
			})
			after = append(after, fmt.Sprintf("%s %s: %s %s, %s of water", speak.Day(a.At), v.Vessel, grams(a.FeedG), speak.T("salt."+a.FeedSalt), speak.Number("top_up_l", math.Round(a.TopUpL)).Plain()))
		}
	}
	for _, v := range h.Vessels {
		if v.Left != "" && (only == "" || v.Vessel == only) {
			left = append(left, v.Name+": "+speak.T("plan.left_out."+v.Left))
		}
	}
	p.line("")
	switch {
	case !some && only == "":
		p.para("", speak.T("plan.lead_nothing"))
	case len(after) == 0:
		p.para("", speak.T("plan.lead_none"))
	default:
		p.table("llrlll", "  ", rows)
	}
	p.list("Feed and top up after", after)
	p.list(speak.T("plan.left_title"), left)
	if some {
		printBeside(p, h, grams, speak)
		p.line("")
		if spared {
			p.para("", speak.T("plan.spared"))
		}
		p.para("", speak.T("plan.how", "draws", h.Draws))
	}
	return p.to(out.stdout)
}

// printBeside sets the plan beside other ways and says what holds it back.
func printBeside(p *page, h *keeper.HarvestPlan, grams func(float64) string, speak *words.Speaker) {
	rows := [][]string{{"", "harvested", "stands at the end", "days", "left too thin"}}
	row := func(name string, t *keeper.PlanTotal) {
		rows = append(rows, []string{name, speak.Band("dry_g", t.DryG).Full(), grams(t.StandsG.Mid), fmt.Sprintf("%.0f", t.Days), fmt.Sprintf("%.0f %%", 100*t.Below)})
	}
	row(speak.T("plan.this_plan"), &h.Total)
	var how []string
	for i := range h.Against {
		r := &h.Against[i]
		name := speak.T("plan.rule." + r.Rule)
		row(name, &r.Total)
		how = append(how, name+": "+speak.T("plan.rule."+r.Rule+"_what", "share_pct", math.Round(100*r.Share), "above_g_per_l", math.Round(100*r.AboveGL)/100, "count", r.Seen)+
			". The plan less this: "+speak.Band("dry_g", r.GainG).Full()+".")
	}
	p.linef("\n%s", speak.T("plan.beside_title"))
	p.table("lllrr", "  ", rows)
	for _, line := range how {
		p.para("  - ", line)
	}
	var holds []string
	for _, l := range h.Holds {
		text := speak.T("plan.holds." + l.Kind)
		if l.GainG >= 1 {
			text = strings.TrimSpace(speak.T("plan.hold_more", "what", text, "gain", grams(l.GainG)))
		}
		holds = append(holds, text)
	}
	p.list(speak.T("plan.holds_title"), holds)
}
