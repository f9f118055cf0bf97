package main

import (
	"context"
	"fmt"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/lot"
	"sodalake/keeper"
	"sodalake/words"
)

type lotsCmd struct {
	Lot   string  `arg:"" optional:"" help:"One lot in full, by its name."`
	Split float64 `help:"Also say where so many grams of paste go today." placeholder:"G"`
}

// Run prints the lots, or one in full.
func (c *lotsCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	if c.Split < 0 || c.Split > 1e7 {
		return &farm.Error{Code: farm.Invalid, Field: "split", Message: fmt.Sprintf("split %g is no amount of paste", c.Split), Hint: "grams, such as --split 1200"}
	}
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	speak := speaker(k)
	if c.Lot != "" {
		l, err := k.Lot(ctx, c.Lot, time.Time{})
		if err != nil {
			return err
		}
		if set.JSON {
			return writeJSON(out.stdout, l)
		}
		p := newPage(out)
		printLot(p, &l, speak)
		return p.to(out.stdout)
	}
	lots, err := k.Lots(ctx, time.Time{}, c.Split)
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, lots)
	}
	p := newPage(out)
	printLots(p, &lots, speak)
	return p.to(out.stdout)
}

// sentence says what a lot says by a key.
func sentence(s lot.Said, speak *words.Speaker) string { return speak.Sentence(advice.Reason(s)) }

func printLots(p *page, lots *keeper.Lots, speak *words.Speaker) {
	p.linef("%s, %s", speak.T("lots.title"), speak.Moment(lots.At))
	if len(lots.Lots) == 0 {
		p.para("", speak.T("lots.none"))
	}
	for i := range lots.Lots {
		l := &lots.Lots[i]
		p.linef("\n%s: %s", l.ID, lotState(l, speak))
		for j, n := range l.Next {
			if j == 4 {
				break
			}
			p.para("  ", sentence(n, speak))
		}
	}
	var first []string
	for _, id := range lots.Soonest {
		for i := range lots.Lots {
			if l := &lots.Lots[i]; l.ID == id {
				first = append(first, id+", "+speak.T("lots.keeps_until", "time", l.Keep.BestBy.In(speak.Zone()).Format(time.DateOnly)))
			}
		}
	}
	p.list(speak.T("lots.soonest"), first)
	var split []string
	for _, s := range lots.Split {
		text := speak.T("share."+s.Way) + " " + speak.Read("mass_g", s.MassG).Plain()
		for _, w := range s.Why {
			text += ". " + sentence(w, speak)
		}
		split = append(split, text)
	}
	p.list(speak.T("lots.split", "g", speak.Read("mass_g", lots.SplitG).Plain()), split)
	p.line("")
	if !lots.DrillDue.IsZero() {
		key := "trace.drill_next"
		if lots.DrillDue.Before(lots.At) {
			key = "trace.drill_due"
		}
		p.para("", speak.T(key, "time", lots.DrillDue.In(speak.Zone()).Format(time.DateOnly)))
	}
	p.para("", speak.T("lots.limits"))
}

// lotState is a lot's state, form, what is left of it and until when it keeps.
func lotState(l *lot.Lot, speak *words.Speaker) string {
	text := speak.T("lot_state."+string(l.State)) + ", " + speak.T("lot_form."+string(l.Form))
	if l.LeftG != nil && !l.State.Ended() {
		text += ", " + speak.T("lots.left", "left_g", *l.LeftG)
	}
	if l.Keep != nil {
		text += ", " + speak.T("lots.keeps_until", "time", l.Keep.BestBy.In(speak.Zone()).Format(time.DateOnly))
	}
	return text
}

func printLot(p *page, l *keeper.LotView, speak *words.Speaker) {
	p.linef("%s: %s", l.ID, lotState(&l.Lot, speak))
	var past []string
	for _, h := range l.Harvests {
		text := speak.When(h.At) + " " + speak.T("kind.harvested") + ", " + l.Names.Of(l.Names.Vessels, h.Vessel)
		if h.MassG > 0 {
			text += ", " + speak.Read("mass_g", h.MassG).Plain()
		}
		past = append(past, text+", "+h.By)
	}
	for _, s := range l.Steps {
		text := speak.When(s.At) + " " + speak.T("lot_step."+s.Step)
		if s.MassG != nil {
			text += ", " + speak.Read("mass_g", *s.MassG).Plain()
		}
		if s.Expected != nil {
			text += " (" + speak.T("lots.expected", "mass_g", s.Expected.MassG) + ")"
		}
		past = append(past, text+", "+s.By)
	}
	for _, o := range l.Outs {
		text := speak.When(o.At) + " " + speak.T("lot_way."+string(o.Way))
		if o.MassG != nil {
			text += ", " + speak.Read("mass_g", *o.MassG).Plain()
		}
		for _, who := range []string{o.Whom, o.Into} {
			if who != "" {
				text += ", " + who
			}
		}
		past = append(past, text+", "+o.By)
	}
	p.list(speak.T("lots.history"), past)
	var checks []string
	for _, c := range l.Checks {
		text := speak.T("check_state."+string(c.State)) + ": " + checkName(c.Key, speak)
		if c.Required {
			text += " (" + speak.T("lots.required") + ")"
		}
		checks = append(checks, text+". "+sentence(c.Why, speak))
	}
	p.list(speak.T("lots.checks"), checks)
	var holds []string
	for _, h := range l.Holds {
		if !h.Stands() {
			continue
		}
		text := speak.T("held_by." + h.Key)
		if h.Reason != "" {
			text += ": " + speak.T("hold_reason."+h.Reason)
		}
		if h.Check != "" {
			text += ": " + checkName(h.Check, speak)
		}
		if h.EntryID != "" {
			text += ", " + h.EntryID
		}
		holds = append(holds, text)
	}
	p.list(speak.T("lots.holds"), holds)
	if r := l.Release; r != nil {
		p.line("")
		p.para("", speak.T("lots.released_by", "who", r.By, "time", r.At, "why", r.Reason))
	}
	if r := l.Rejection; r != nil {
		p.line("")
		p.para("", speak.T("lots.rejected_by", "who", r.By, "time", r.At, "why", r.Reason))
	}
	var next []string
	for _, n := range l.Next {
		next = append(next, sentence(n, speak))
	}
	p.list(speak.T("lots.what_next"), next)
	p.line("")
	p.para("", speak.T("lots.limits"))
}

// checkName is what a check is called; the farm's own by their names.
func checkName(key string, speak *words.Speaker) string {
	if words.Has("check." + key) {
		return speak.T("check." + key)
	}
	return key
}
