package compare

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strconv"
	"strings"

	"sodalake/document/plot"
	"sodalake/farm/scenario"
)

//go:embed page.html
var pageHTML string

var page = template.Must(template.New("compare").Funcs(template.FuncMap{"inc": func(i int) int { return i + 1 }}).Parse(pageHTML))

// Most is how many scenarios a page can tell apart.
const Most = plot.Most

type drawn struct {
	Title string
	SVG   template.HTML
}

type sheet struct {
	Style     template.CSS
	Title     string
	Names     []string
	Keys      []template.HTML
	Rows      []Row
	Plots     []drawn
	Notes     []string
	Columns   []string
	Scenarios []told
}

type told struct {
	Name, File                   string
	Cells                        [][]string
	Assumptions, Notes, Cautions []string
}

// HTML writes the page. More than Most scenarios are an error of the caller,
// who asks before it runs them.
func HTML(w io.Writer, c *scenario.Comparison) error {
	if len(c.Scenarios) > Most {
		return fmt.Errorf("a page tells at most %d scenarios apart, not %d", Most, len(c.Scenarios))
	}
	// #nosec G203 -- drawings are ours, with every word in them escaped
	s := sheet{Style: template.CSS(plot.Style), Rows: Rows(c), Notes: c.Notes, Columns: Columns}
	for i := range c.Scenarios {
		one := &c.Scenarios[i]
		s.Names = append(s.Names, one.Name)
		s.Keys = append(s.Keys, template.HTML(plot.LineKey(i)))
		t := told{Name: one.Name, File: one.File, Assumptions: one.Result.Assumptions, Notes: one.Result.Notes, Cautions: one.Result.Cautions}
		for k := range one.Result.Days {
			t.Cells = append(t.Cells, Cells(&one.Result.Days[k]))
		}
		s.Scenarios = append(s.Scenarios, t)
	}
	s.Title = strings.Join(s.Names, " · ")
	for _, p := range []struct {
		title string
		zero  bool
		of    func(days []scenario.DayRow) []float64
	}{
		{"Density at the end of the day, g/L", true, each(func(d *scenario.DayRow) float64 { return d.DensityGPerL })},
		{"Harvested so far, g dry", true, harvested},
		{"Growth, g/m²/d", true, each(func(d *scenario.DayRow) float64 { return d.ProductivityGPerM2 })},
		{"Mean water, °C", false, each(func(d *scenario.DayRow) float64 { return d.TempMeanC })},
		{"pH at 25 °C", false, each(func(d *scenario.DayRow) float64 { return d.PH25C })},
		{"Salts, mS/cm at 25 °C", false, each(func(d *scenario.DayRow) float64 { return d.ConductivityMSCM })},
		{"Volume, L", false, each(func(d *scenario.DayRow) float64 { return d.VolumeL })},
	} {
		l := plot.Lines{Says: p.title + ", day by day: " + s.Title, Width: 640, Height: 220, Zero: p.zero, Label: dayLabel(c)}
		for i := range c.Scenarios {
			l.Lines = append(l.Lines, plot.Line{Name: c.Scenarios[i].Name, Y: p.of(c.Scenarios[i].Result.Days)})
		}
		s.Plots = append(s.Plots, drawn{p.title, template.HTML(l.SVG())})
	}
	return page.Execute(w, s)
}

func each(of func(d *scenario.DayRow) float64) func([]scenario.DayRow) []float64 {
	return func(days []scenario.DayRow) []float64 {
		out := make([]float64, len(days))
		for i := range days {
			out[i] = of(&days[i])
		}
		return out
	}
}

// harvested sums what was taken until each day.
func harvested(days []scenario.DayRow) []float64 {
	out := make([]float64, len(days))
	sum := 0.0
	for i := range days {
		sum += days[i].HarvestedDryG
		out[i] = sum
	}
	return out
}

// dayLabel writes dates where all begin together, else counts days.
func dayLabel(c *scenario.Comparison) func(int) string {
	longest, same := 0, true
	for i := range c.Scenarios {
		if len(c.Scenarios[i].Result.Days) > len(c.Scenarios[longest].Result.Days) {
			longest = i
		}
		same = same && c.Scenarios[i].Summary.Start == c.Scenarios[0].Summary.Start
	}
	if len(c.Scenarios) == 0 {
		return nil
	}
	days := c.Scenarios[longest].Result.Days
	every := max(len(days)/8, 1)
	return func(step int) string {
		switch {
		case step%every != 0 || step >= len(days):
			return ""
		case same:
			return days[step].Date[5:]
		}
		return strconv.Itoa(step + 1)
	}
}
