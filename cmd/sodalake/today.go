package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/science/num"
	"sodalake/words"
)

type todayCmd struct {
	Vessel string `help:"Only this vessel, by its identifier." placeholder:"V"`
}

// Run prints the day list.
func (c *todayCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	rest := working(out, "following the vessels through the season ...")
	defer rest()
	if c.Vessel != "" {
		if _, err := k.Vessel(ctx, c.Vessel, time.Time{}); err != nil {
			return err
		}
	}
	t, err := k.Today(ctx, time.Time{})
	rest()
	if err != nil {
		return err
	}
	speak := speaker(k)
	if set.JSON {
		items, err := k.Items(ctx, time.Time{})
		if err != nil {
			return err
		}
		kept := []advice.Item{}
		for _, it := range items {
			if c.Vessel == "" || it.Vessel == c.Vessel {
				kept = append(kept, speak.Item(it))
			}
		}
		return writeJSON(out.stdout, map[string]any{"at": t.At, "farm": t.Farm, "items": kept})
	}
	return printToday(out, &t, c.Vessel, speak)
}

// speaker says things in the farm's language and measures.
func speaker(k *keeper.Keeper) *words.Speaker {
	var s farm.Site
	zone := time.UTC
	k.Read(func(p *farm.Present) {
		if sites := p.Sites(); len(sites) > 0 {
			s = sites[0]
			if z, err := time.LoadLocation(s.Timezone); err == nil {
				zone = z
			}
		}
	})
	return words.New(s.Language, words.Measures(s.Measures), zone)
}

// tag is the word before an item: how soon to do it, or what else it asks for.
func tag(it *advice.Item, speak *words.Speaker) string {
	if it.Class == advice.Do {
		return speak.T("when." + string(it.Urgency))
	}
	return speak.T("when." + string(it.Class))
}

func printToday(out surroundings, t *keeper.Today, only string, speak *words.Speaker) error {
	p := newPage(out)
	p.linef("%s, %s, %s", orElse(t.Farm, "A farm without a name"), speak.LongDay(t.At), speak.Clock(t.At))
	for _, l := range t.Light.Words {
		p.para("", speak.Sentence(l))
	}
	if len(t.Vessels) == 0 {
		p.line("")
		p.para("", "No vessel is described yet. Begin with sodalake serve and the page Farm, or with sodalake import FILE.jsonl.")
	}
	for i := range t.Vessels {
		if v := &t.Vessels[i]; only == "" || v.Spec.ID == only {
			printVessel(p, v, speak)
		}
	}
	var coming []string
	for _, c := range t.Coming {
		if only != "" && c.Vessel != only {
			continue
		}
		day := c.Date
		if d, err := time.ParseInLocation(time.DateOnly, c.Date, speak.Zone()); err == nil {
			day = speak.Day(d.Add(12 * time.Hour))
		}
		coming = append(coming, day+": "+nameOf(t, c.Vessel)+" "+speak.Sentence(c.What))
	}
	p.list("Coming", coming)
	return p.to(out.stdout)
}

func nameOf(t *keeper.Today, vessel string) string {
	for i := range t.Vessels {
		if t.Vessels[i].Spec.ID == vessel {
			return t.Vessels[i].Spec.Name
		}
	}
	return vessel
}

func orElse(text, other string) string {
	if text == "" {
		return other
	}
	return text
}

// printVessel prints a vessel's part of the day list. The identifier stands
// beside the name, because note and forecast ask for it.
func printVessel(p *page, v *keeper.TodayVessel, speak *words.Speaker) {
	// What changed is said first, then how it stands.
	said := []string{v.Spec.Name + " (" + v.Spec.ID + ")."}
	for _, c := range v.Change {
		said = append(said, speak.Sentence(c))
	}
	p.line("")
	p.para("", strings.Join(append(said, speak.Sentence(v.State)), " "))
	var is []string
	for _, q := range []keeper.Quantity{keeper.DensityGPerL, keeper.PH25C, keeper.TempC, keeper.LevelCM} {
		if band, ok := v.Now.Bands[q]; ok && v.Now.Known {
			is = append(is, speak.T("quantity."+string(q))+" "+speak.Band(string(q), band).Full())
		}
	}
	if len(is) > 0 {
		p.para("  ", strings.Join(is, ", "))
	}
	for i := range v.Items {
		it := &v.Items[i]
		said := speak.Item(*it)
		p.para(fmt.Sprintf("  %-6s ", tag(it, speak)), said.Text)
		const under = "         "
		p.para(under, speak.Sentence(it.Reason))
		for _, m := range it.More {
			p.para(under, speak.Sentence(m))
		}
		for _, c := range said.Cautions {
			p.para(under, "Take care: "+c)
		}
	}
	for _, d := range v.Done {
		text := speak.Clock(d.At) + " " + speak.T("kind."+d.Act)
		if d.Amount > 0 {
			text += ", " + speak.Amount(advice.Amount{Value: d.Amount, Unit: d.Unit}).Plain()
		}
		p.para("  done   ", text+", "+d.By)
	}
}

type forecastCmd struct {
	Vessel string `arg:"" help:"Vessel, by its identifier."`
}

// Run prints ten days ahead of a vessel.
func (c *forecastCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	k, done, err := openFarm(ctx, set, out, false, keeper.Options{})
	if err != nil {
		return err
	}
	defer done()
	rest := working(out, "following the vessels through the season ...")
	f, err := k.Forecast(ctx, c.Vessel, time.Time{})
	rest()
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, f)
	}
	name := c.Vessel
	k.Read(func(p *farm.Present) {
		if v, ok := p.Vessel(c.Vessel); ok {
			name = v.Name
		}
	})
	return printForecast(out, &f, name, speaker(k))
}

// printForecast prints the days as a table and a plot. The sky is left away
// where nothing is known of it.
func printForecast(out surroundings, f *keeper.Forecast, name string, speak *words.Speaker) error {
	p := newPage(out)
	p.linef("%s (%s), from %s", name, f.Vessel, speak.Moment(f.At))
	p.para("", speak.T(f.Weather)+".")
	if len(f.Days) == 0 {
		p.line("")
		p.para("", speak.T("state.empty"))
		return p.to(out.stdout)
	}
	day := func(d *keeper.Day) string {
		t, err := time.ParseInLocation(time.DateOnly, d.Date, speak.Zone())
		if err != nil {
			return d.Date
		}
		return speak.Day(t.Add(12 * time.Hour))
	}
	sky := slices.ContainsFunc(f.Days, func(d keeper.Day) bool { return d.Sky != "unknown" })
	head := []string{"day", "density", "pH at 25 °C", "coldest", "warmest", "level"}
	units := []string{"", speak.UnitOf("density_g_per_l"), "", speak.UnitOf("temp_c") + " water", speak.UnitOf("temp_c") + " water", speak.UnitOf("level_cm")}
	if sky {
		head, units = append(head, "sky"), append(units, "")
	}
	rows := [][]string{head, units}
	spread := func(quantity string, b num.Band) string {
		said := speak.Band(quantity, b)
		return orElse(said.Spread, said.Value)
	}
	for i := range f.Days {
		d := &f.Days[i]
		density := speak.Band("density_g_per_l", d.DensityGPerL)
		density.Unit = ""
		mark := ""
		if f.Days[0].Ready || !f.Ready.Mid.IsZero() && d.Date >= f.Ready.Mid.In(speak.Zone()).Format(time.DateOnly) {
			mark = "*"
		}
		row := []string{
			day(d), density.Full() + mark, spread("ph_25c", d.PH25C), spread("temp_c", d.TempMinC), spread("temp_c", d.TempMaxC), spread("level_cm", d.LevelCM),
		}
		if sky && d.Sky != "unknown" {
			row = append(row, speak.T("sky."+d.Sky))
		}
		rows = append(rows, row)
	}
	p.line("")
	p.table("lllllll"[:len(head)], "  ", rows)
	plot(p, f, day, speak)
	p.line("")
	p.para("", readyWhen(f, speak))
	if len(f.Limits) > 0 {
		var limits []string
		for _, l := range f.Limits {
			limits = append(limits, fmt.Sprintf("%s %.0f %%", speak.T("limit."+l.Key), l.Share*100))
		}
		p.para("", "What holds growth back: "+strings.Join(limits, ", ")+".")
	}
	var worth []string
	for _, x := range f.Worth {
		if x.Share >= 0.05 {
			worth = append(worth, fmt.Sprintf("%s %.0f %%", speak.T("quantity."+x.Kind), x.Share*100))
		}
	}
	if len(worth) > 0 {
		p.para("", "A reading now would take away, of what is unsure about the next harvest: "+strings.Join(worth, ", ")+".")
	}
	p.para("", "Spreads hold eight times in ten, by the model: no promise.")
	return p.to(out.stdout)
}

// plot draws the density of the days with its spread.
func plot(p *page, f *keeper.Forecast, day func(*keeper.Day) string, speak *words.Speaker) {
	top := f.ReadyGPerL
	for i := range f.Days {
		top = max(top, f.Days[i].DensityGPerL.High)
	}
	const width = 60
	at := func(x float64) int { return min(max(int(x/top*width+0.5), 0), width) }
	p.line("")
	p.para("", fmt.Sprintf("Density, 0 to %s: O the middle, = eight times in ten, | ready at %s", speak.Number("density_g_per_l", top).Plain(), speak.Number("density_g_per_l", f.ReadyGPerL).Value))
	for i := range f.Days {
		d := &f.Days[i]
		line := []rune(strings.Repeat(" ", width+1))
		for i := at(d.DensityGPerL.Low); i <= at(d.DensityGPerL.High); i++ {
			line[i] = '='
		}
		line[at(f.ReadyGPerL)] = '|'
		line[at(d.DensityGPerL.Mid)] = 'O'
		p.linef("%-7s %s", day(d), string(line))
	}
}

// readyWhen says when the ready density is passed, with its spread.
func readyWhen(f *keeper.Forecast, speak *words.Speaker) string {
	r := f.Ready
	switch {
	case f.Days[0].Ready:
		return "* Ready now, more likely than not."
	case r.Early.IsZero():
		return "Not ready within ten days."
	case r.Mid.IsZero():
		return "Ready from " + speak.Day(r.Early) + " at the earliest, more likely later than ten days."
	case r.Late.IsZero():
		return "* Ready about " + speak.Day(r.Mid) + ", from " + speak.Day(r.Early) + " on, perhaps later than ten days."
	}
	return "* Ready about " + speak.Day(r.Mid) + ", between " + speak.Day(r.Early) + " and " + speak.Day(r.Late) + " eight times in ten."
}
