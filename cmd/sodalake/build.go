package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/design"
	"sodalake/science/num"
)

type buildCmd struct {
	File  string `arg:"" help:"Designs (JSON) as docs/build.md tells; - reads standard input. examples/two-ponds.json is one."`
	Years int    `help:"Drawn years; else as the file says, or 50." placeholder:"N"`
}

// Run looks at the designs of a file and prints what each would bring.
func (c *buildCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	raw, err := c.read(out)
	if err != nil {
		return err
	}
	a, err := design.Read(raw)
	if err != nil {
		return err
	}
	if c.Years != 0 {
		a.Years = c.Years
		if err := a.Check(); err != nil {
			return err
		}
	}
	var progress func(year, of int)
	begun := out.now()
	shown := false
	if out.terminal {
		progress = func(year, of int) {
			if shown || out.now().Sub(begun) > time.Second {
				shown = true
				fmt.Fprintf(out.stderr, "\ryear %d of %d ", year, of)
			}
		}
	}
	answer, err := design.Run(ctx, a, progress)
	if shown {
		fmt.Fprintln(out.stderr)
	}
	if err != nil {
		return err
	}
	if set.JSON {
		return writeJSON(out.stdout, answer)
	}
	p := newPage(out)
	buildPage(p, answer)
	return p.to(out.stdout)
}

func (c *buildCmd) read(out surroundings) ([]byte, error) {
	const most = 4 << 20
	if c.File == "-" {
		return io.ReadAll(io.LimitReader(out.stdin, most))
	}
	file, err := os.Open(c.File)
	if err != nil {
		return nil, &farm.Error{Code: farm.Invalid, Field: "file", Message: fmt.Sprintf("file %q cannot be opened", c.File), Hint: "give the path of a file of designs, or - for standard input"}
	}
	defer file.Close()
	return io.ReadAll(io.LimitReader(file, most))
}

// fixed prints a number to some decimals, with the minus sign of print.
func fixed(x float64, decimals int) string {
	return strings.Replace(strconv.FormatFloat(x, 'f', decimals, 64), "-", "−", 1)
}

// bandText prints a band as its middle and, in brackets, its ends.
func bandText(b num.Band, decimals int) string {
	return fmt.Sprintf("%s (%s–%s)", fixed(b.Mid, decimals), fixed(b.Low, decimals), fixed(b.High, decimals))
}

// buildPage prints the designs side by side, narrow enough for 80 columns.
func buildPage(p *page, a *design.Answer) {
	letter := columnName
	for i := range a.Outcomes {
		o := &a.Outcomes[i]
		p.para(letter(i)+"  ", fmt.Sprintf("%s: %s m² of water, %s L, stirred with %s W", o.Name, fixed(o.AreaM2, 1), fixed(o.VolumeL, 0), fixed(o.StirW, 0)))
	}
	p.line("")
	p.line("Harvest, g/m²/d of dry matter: middle (10–90 %); warmth of the water, °C")
	head := []string{""}
	for i := range a.Outcomes {
		head = append(head, letter(i), "°C")
	}
	rows := [][]string{head}
	for k := range 12 {
		m := (a.FirstMonth-1+k)%12 + 1
		row := []string{time.Month(m).String()[:3]}
		for i := range a.Outcomes {
			x := &a.Outcomes[i].Months[m-1]
			row = append(row, bandText(x.YieldGM2D, 1), fixed(x.WaterC.Mid, 0))
		}
		rows = append(rows, row)
	}
	p.table("l"+strings.Repeat("rr", len(a.Outcomes)), "  ", rows)
	p.line("")
	rows = [][]string{{"", ""}}
	for i := range a.Outcomes {
		rows[0] = append(rows[0], letter(i))
	}
	line := func(what, unit string, of func(o *design.Outcome) string) {
		row := []string{what, unit}
		for i := range a.Outcomes {
			row = append(row, of(&a.Outcomes[i]))
		}
		rows = append(rows, row)
	}
	line("harvest of a year", "kg dry", func(o *design.Outcome) string { return bandText(o.YearKg, 1) })
	line("in the season", "g/m²/d", func(o *design.Outcome) string { return bandText(o.SeasonGM2D, 1) })
	line("season", "d", func(o *design.Outcome) string { return bandText(o.Season.LengthD, 0) })
	line("begin again", "", func(o *design.Outcome) string { return datesText(o.Season.Restart) })
	line("first harvest", "", func(o *design.Outcome) string { return datesText(o.Season.First) })
	line("last that grows back", "", func(o *design.Outcome) string { return datesText(o.Season.LastRegrown) })
	line("last harvest", "", func(o *design.Outcome) string { return datesText(o.Season.Last) })
	line("comes through winter", "% of years", func(o *design.Outcome) string { return winterText(o) })
	line("days above 40 °C", "d", func(o *design.Outcome) string { return bandText(o.Season.HotDays, 0) })
	line("days with ice", "d", func(o *design.Outcome) string { return bandText(o.Season.IceDays, 0) })
	line("topped up", "m³", func(o *design.Outcome) string { return bandText(o.WaterM3, 1) })
	line("fed salts", "kg", func(o *design.Outcome) string { return fixed(saltsKg(o.FeedKg), 1) })
	line("carbon dioxide", "kg", func(o *design.Outcome) string { return bandText(o.CO2Kg, 1) })
	line("first filling", "kg salts", func(o *design.Outcome) string { return fixed(saltsKg(o.FirstSaltsKg), 1) })
	line("power", "kWh", func(o *design.Outcome) string { return fixed(o.PowerKWh, 0) })
	line("cost of a year", currency(a), func(o *design.Outcome) string {
		if o.Cost == nil {
			return "–"
		}
		return fixed(o.Cost.PerYear, 0)
	})
	line("cost of a kilogram dry", currency(a), func(o *design.Outcome) string {
		if o.Cost == nil || o.Cost.PerKg == nil {
			return "–"
		}
		return fixed(*o.Cost.PerKg, 1)
	})
	if a.Outcomes[0].Area != nil {
		wish := fixed(a.Outcomes[0].Area.WishGPerWeek, 0) + " g a week"
		area := func(x *float64) string {
			if x == nil {
				return "not possible"
			}
			return fixed(*x, 1)
		}
		line(wish+", season", "m²", func(o *design.Outcome) string { return area(o.Area.MeanM2) })
		line("the same, 9 years of 10", "m²", func(o *design.Outcome) string { return area(o.Area.SureM2) })
		line("in each month of it", "m²", func(o *design.Outcome) string { return area(o.Area.EveryM2) })
		line("all year", "m²", func(o *design.Outcome) string { return area(o.Area.YearM2) })
	}
	p.table("ll"+strings.Repeat("r", len(a.Outcomes)), "  ", rows)
	for i, v := range a.Versus {
		p.line("")
		p.para("", fmt.Sprintf("%s against A, year by year: %s %% more; more in %s %% of the years.", letter(i+1), bandText(v.MorePct, 0), fixed(v.BetterPct, 0)))
	}
	for i := range a.Outcomes {
		var why []string
		for _, l := range a.Outcomes[i].Limits {
			why = append(why, limitText[l])
		}
		p.list("What holds "+letter(i)+" back", why)
	}
	p.list("Taken as given", a.Assumptions)
	p.list("Take care", a.Cautions)
}

var limitText = map[string]string{
	design.TooCold: "cold: in some months the water is under 15 °C in the mean", design.TooHot: "heat: in some years the water passes 43 °C, at which cultures are lost",
	design.Frozen: "ice: the water freezes in most years", design.TooDark: "light: in some months warm enough there is too little of it",
}

func datesText(d *design.Dates) string {
	if d == nil {
		return "–"
	}
	return fmt.Sprintf("%s (%s–%s)", d.Mid, d.Early, d.Late)
}

func winterText(o *design.Outcome) string {
	if o.Season.First == nil || o.Season.Restart == nil {
		return "–"
	}
	if o.Season.Indoors {
		return "indoors"
	}
	return fixed(o.Season.WintersPct, 0)
}

func saltsKg(list []design.Salt) float64 {
	sum := 0.0
	for _, s := range list {
		sum += s.Kg
	}
	return sum
}

func currency(a *design.Answer) string {
	if c := a.Outcomes[0].Cost; c != nil {
		return c.Currency
	}
	return ""
}
