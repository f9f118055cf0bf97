package main

import (
	"context"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/keeper"
	"sodalake/words"
)

type wrongCmd struct {
	Vessel string   `arg:"" help:"Vessel, by its identifier; 'signs' lists what can be told."`
	Signs  []string `arg:"" optional:"" name:"sign" help:"What is seen: yellow foam. With 'no-' before it, looked for and not there: no-foam. A check with its outcome: smell=rotten."`
}

// Run weighs what may be behind a vessel that looks wrong.
func (c *wrongCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	if c.Vessel == "signs" && len(c.Signs) == 0 {
		return printSigns(out, set)
	}
	seen, err := seenWords(c.Signs)
	if err != nil {
		return err
	}
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	rest := working(out, "following the vessels through the season ...")
	noted, err := k.NotedSigns(ctx, c.Vessel, time.Time{})
	if err == nil && len(c.Signs) == 0 {
		seen.Signs = noted
	}
	var d keeper.Diagnosis
	if err == nil {
		d, err = k.Diagnose(ctx, c.Vessel, seen, time.Time{})
	}
	rest()
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, d)
	}
	return printWrong(out, &d, k, speaker(k))
}

// seenWords reads signs as people type them.
func seenWords(args []string) (diagnose.Seen, error) {
	seen := diagnose.Seen{Signs: map[string]bool{}, Checks: map[string]string{}}
	for _, a := range args {
		if check, outcome, ok := strings.Cut(a, "="); ok {
			seen.Checks[strings.ReplaceAll(check, "-", "_")] = strings.ReplaceAll(outcome, "-", "_")
			continue
		}
		id, there := strings.ReplaceAll(strings.ToLower(a), "-", "_"), true
		if rest, no := strings.CutPrefix(id, "no_"); no {
			id, there = rest, false
		}
		id = strings.ReplaceAll(id, " ", "_")
		if was, told := seen.Signs[id]; told && was != there {
			return seen, &farm.Error{Code: farm.Invalid, Field: "sign", Message: "sign \"" + id + "\" is said to be there and not there", Hint: "leave one of the two"}
		}
		seen.Signs[id] = there
	}
	return seen, nil
}

// printSigns lists what can be told.
func printSigns(out surroundings, set *settings) error {
	speak := words.New("en", words.Metric, nil)
	if set.JSON {
		signs := map[string]string{}
		for _, s := range diagnose.Default().Signs {
			signs[s.ID] = speak.T("wrong.sign." + s.ID)
		}
		return writeJSON(out.stdout, map[string]any{"signs": signs})
	}
	p := newPage(out)
	group := ""
	for _, s := range diagnose.Default().Signs {
		if s.Group != group {
			group = s.Group
			p.linef("%s", speak.T("wrong.group."+group))
		}
		p.linef("  %-20s %s", s.ID, speak.T("wrong.sign."+s.ID))
	}
	return p.to(out.stdout)
}

func printWrong(out surroundings, d *keeper.Diagnosis, k *keeper.Keeper, speak *words.Speaker) error {
	p, f := newPage(out), &d.Finding
	t := speak.T
	p.linef("%s (%s)", t("wrong.title_of", "name", d.Vessel.Spec.Name), d.Vessel.Spec.ID)
	var told []string
	for _, s := range diagnose.Default().Signs {
		if there, ok := d.Seen.Signs[s.ID]; ok && there {
			told = append(told, t("wrong.sign."+s.ID))
		} else if ok {
			told = append(told, t("wrong.because_absent", "sign", t("wrong.sign."+s.ID)))
		}
	}
	if len(told) == 0 {
		p.para("", t("wrong.told_none"))
	} else {
		p.para("", t("wrong.told", "signs", speak.List(told)))
	}
	word, why := speak.MayEat(*f)
	p.line("")
	p.para("", t("wrong.eat")+" "+word+" "+why)
	var quarrels []string
	for _, c := range f.Clash {
		quarrels = append(quarrels, t("wrong.clash."+c))
	}
	if f.Odd {
		quarrels = append(quarrels, t("wrong.odd"))
	}
	p.list(t("wrong.clash_title"), quarrels)
	say := func(prefix string, acts []string, most int) []string {
		var list []string
		for _, a := range acts[:min(len(acts), most)] {
			list = append(list, t(prefix+a))
		}
		return list
	}
	p.list(t("wrong.hour"), say("wrong.act.", f.Hour, 6))
	p.list(t("wrong.dont"), say("wrong.leave.", f.Dont, 8))
	if len(f.Checks) > 0 {
		c := f.Checks[0]
		p.linef("\n%s", t("wrong.check"))
		p.para("  ", t("wrong.test."+c.ID)+" "+speak.ProbeTime(c)+".")
		for _, o := range c.Outcomes {
			p.para("  - ", t("wrong.outcome."+c.ID+"."+o.ID)+" ("+c.ID+"="+o.ID+"): "+t("wrong.check_leads", "cause", t("wrong.cause."+o.Leads)))
		}
	}
	p.linef("\n%s", t("wrong.causes"))
	for i, c := range f.Causes {
		if i == 5 || i > 1 && c.Chance < 0.02 {
			break
		}
		p.para("  - ", t("wrong.cause."+c.ID)+", "+speak.Odds(c.Chance)+". "+t("wrong.about."+c.ID))
		for_, against := speak.Reasons(c, d.Element, 3)
		if len(for_) > 0 {
			p.para("    ", t("wrong.for")+": "+strings.Join(for_, "; "))
		}
		if len(against) > 0 {
			p.para("    ", t("wrong.against")+": "+strings.Join(against, "; "))
		}
	}
	p.list(t("wrong.do"), say("wrong.act.", f.Do, 5))
	p.list(t("wrong.waits"), say("wrong.act.", f.Waits, 4))
	reserve := f.Again.Vessel
	k.Read(func(present *farm.Present) {
		if v, ok := present.Vessel(reserve); ok {
			reserve = v.Name
		}
	})
	p.list(t("wrong.goes"), speak.GoesOn(*f, reserve, func(x float64) string { return speak.Rounded(x, 0.01) }))
	p.line("")
	p.para("", t("wrong.caution"))
	return p.to(out.stdout)
}
