package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"sodalake/document/compare"
	"sodalake/farm"
	"sodalake/farm/scenario"
)

type whatifCmd struct {
	Files  []string `arg:"" name:"file" help:"Scenario files (JSON), two or more to compare them; - reads standard input. A weather file is looked for beside each."`
	CSV    bool     `help:"Print CSV; with --hourly the hours follow after an empty line." name:"csv"`
	Hourly bool     `help:"Add rows by the hour; one scenario only, but for JSON."`
	Out    []string `help:"Write to FILE instead, as its ending says: .html (a page with plots), .csv, .json or .txt. May be given again." placeholder:"FILE" sep:"none"`
}

// Run runs scenarios and prints their days, or what tells them apart. A weather
// file is looked for beside the scenario.
func (c *whatifCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	if err := c.check(); err != nil {
		return err
	}
	files := make([]*scenario.File, len(c.Files))
	dirs := make([]string, len(c.Files))
	for i, name := range c.Files { // all are read before the first runs
		raw, dir, err := c.read(out, name)
		if err == nil {
			files[i], err = scenario.Read(raw)
		}
		if err != nil {
			return c.of(name, err)
		}
		dirs[i] = dir
	}
	var all scenario.Comparison
	for i, f := range files {
		res, err := scenario.Run(ctx, f, func(name string) (io.ReadCloser, error) {
			if !filepath.IsAbs(name) {
				name = filepath.Join(dirs[i], name)
			}
			return os.Open(name)
		}, c.Hourly, c.progress(out, files, i))
		if err != nil {
			return c.of(c.Files[i], err)
		}
		all.Add(f, c.Files[i], res)
	}
	all.Finish()
	if len(c.Out) == 0 {
		kind := ".txt"
		switch {
		case set.JSON:
			kind = ".json"
		case c.CSV:
			kind = ".csv"
		}
		return c.write(out.stdout, out, &all, kind)
	}
	for _, name := range c.Out {
		if err := writeWhole(name, func(w io.Writer) error { return c.write(w, out, &all, ending(name)) }); err != nil {
			return err
		}
		if out.terminal {
			fmt.Fprintln(out.stderr, "sodalake: written to", name)
		}
	}
	return nil
}

// ending is the ending of a file's name, in lower case.
func ending(name string) string { return strings.ToLower(filepath.Ext(name)) }

// check refuses what cannot be done before anything runs.
func (c *whatifCmd) check() error {
	html := false
	for _, name := range c.Out {
		switch ending(name) {
		case ".html":
			html = true
		case ".csv", ".json", ".txt":
		default:
			return &farm.Error{Code: farm.Invalid, Field: "out", Message: fmt.Sprintf("out %q does not say what to write", name), Hint: "end the name in .html, .csv, .json or .txt"}
		}
	}
	stdin := 0
	for _, name := range c.Files {
		if name == "-" {
			stdin++
		}
	}
	switch {
	case stdin > 1:
		return &farm.Error{Code: farm.Invalid, Field: "file", Message: "file - is given twice, and standard input is read once"}
	case html && len(c.Files) > compare.Most:
		return &farm.Error{Code: farm.Invalid, Field: "file", Message: fmt.Sprintf("file: %d scenarios are more than a page tells apart", len(c.Files)), Hint: fmt.Sprintf("give at most %d, or write .csv or .json", compare.Most)}
	}
	return nil
}

// of tells an error with the name of its file where there are several.
func (c *whatifCmd) of(name string, err error) error {
	fe, ok := err.(*farm.Error)
	if !ok || len(c.Files) < 2 || fe.Field == "file" {
		return err
	}
	named := *fe
	named.Message = name + ": " + fe.Message
	return &named
}

// progress tells the days on the terminal where there are many.
func (c *whatifCmd) progress(out surroundings, files []*scenario.File, at int) func(day, of int) {
	days := 0
	for _, f := range files {
		days += f.Days
	}
	if !out.terminal || days <= 200 {
		return nil
	}
	name := ""
	if len(files) > 1 {
		name = fmt.Sprintf("scenario %d of %d, ", at+1, len(files))
	}
	return func(day, of int) {
		if day%50 == 0 || day == of {
			fmt.Fprintf(out.stderr, "\r%sday %d of %d ", name, day, of)
		}
		if day == of {
			fmt.Fprintln(out.stderr)
		}
	}
}

// write writes one scenario as it always was, or several side by side.
func (c *whatifCmd) write(w io.Writer, out surroundings, all *scenario.Comparison, kind string) error {
	one := all.Scenarios[0].Result
	single := len(all.Scenarios) == 1
	switch kind {
	case ".html":
		return compare.HTML(w, all)
	case ".json":
		if single {
			return writeJSON(w, one)
		}
		return writeJSON(w, all)
	case ".csv":
		if single {
			return writeScenarioCSV(w, one)
		}
		return compare.CSV(w, all)
	}
	p := newPage(out)
	if single {
		scenarioTable(p, one)
	} else {
		comparisonTable(p, all)
	}
	return p.to(w)
}

// writeWhole writes a file beside its place and puts it there when it is whole.
func writeWhole(name string, write func(io.Writer) error) error {
	fail := func(err error) error {
		return &farm.Error{Code: farm.Invalid, Field: "out", Message: fmt.Sprintf("out %q cannot be written: %v", name, err)}
	}
	tmp, err := os.CreateTemp(filepath.Dir(name), ".sodalake-*")
	if err != nil {
		return fail(err)
	}
	defer os.Remove(tmp.Name())
	if err := write(tmp); err != nil {
		tmp.Close()
		return err
	}
	if err := tmp.Chmod(0o644); err != nil {
		tmp.Close()
		return fail(err)
	}
	if err := tmp.Close(); err != nil {
		return fail(err)
	}
	if err := os.Rename(tmp.Name(), name); err != nil {
		return fail(err)
	}
	return nil
}

func (c *whatifCmd) read(out surroundings, name string) (raw []byte, dir string, err error) {
	const most = 4 << 20
	if name == "-" {
		raw, err = io.ReadAll(io.LimitReader(out.stdin, most))
		return raw, ".", err
	}
	file, err := os.Open(name)
	if err != nil {
		return nil, "", &farm.Error{Code: farm.Invalid, Field: "file", Message: fmt.Sprintf("file %q cannot be opened", name), Hint: "give the path of a scenario file, or - for standard input"}
	}
	defer file.Close()
	raw, err = io.ReadAll(io.LimitReader(file, most))
	return raw, filepath.Dir(name), err
}

func writeScenarioCSV(w io.Writer, res *scenario.Result) error {
	cw := csv.NewWriter(w)
	cw.Write(compare.Columns)
	for i := range res.Days {
		cw.Write(compare.Cells(&res.Days[i]))
	}
	cw.Flush()
	if err := cw.Error(); err != nil || len(res.Hours) == 0 {
		return err
	}
	fmt.Fprintln(w)
	cw.Write([]string{"time", "temp_c", "density_g_per_l", "ph", "par_umol_m2_s"})
	for _, h := range res.Hours {
		s := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
		cw.Write([]string{h.Time, s(h.TempC), s(h.DensityGPerL), s(h.PH), s(h.PARUmolM2S)})
	}
	cw.Flush()
	return cw.Error()
}

// scenarioTable prints one line a day, narrow enough for a terminal of 80
// columns.
func scenarioTable(p *page, res *scenario.Result) {
	n := func(x float64, decimals int) string { return strconv.FormatFloat(x, 'f', decimals, 64) }
	rows := [][]string{
		{"day", "density", "cold", "mean", "warm", "pH at", "volume", "salts", "evap.", "harvest", "growth", "fed"},
		{"", "g/L", "°C", "°C", "°C", "25 °C", "L", "mS/cm", "mm", "g dry", "g/m²/d", "g"},
	}
	for i := range res.Days {
		d := &res.Days[i]
		rows = append(rows, []string{
			d.Date, n(d.DensityGPerL, 3), n(d.TempMinC, 1), n(d.TempMeanC, 1), n(d.TempMaxC, 1), n(d.PH25C, 2), n(d.VolumeL, 0),
			n(d.ConductivityMSCM, 1), n(d.EvaporationMM, 1), n(d.HarvestedDryG, 0), n(d.ProductivityGPerM2, 1), n(d.FedG, 0),
		})
	}
	p.table("lrrrrrrrrrrr", " ", rows)
	if len(res.Hours) > 0 {
		rows = [][]string{{"hour ended", "water", "density", "pH", "light"}, {"", "°C", "g/L", "", "µmol/m²/s"}}
		for _, h := range res.Hours {
			rows = append(rows, []string{h.Time, n(h.TempC, 1), n(h.DensityGPerL, 3), n(h.PH, 2), n(h.PARUmolM2S, 0)})
		}
		p.line("")
		p.table("lrrrr", "  ", rows)
	}
	p.list("Taken as given", res.Assumptions)
	p.list("Notes", res.Notes)
	p.list("Take care", res.Cautions)
}

// comparisonTable prints what tells scenarios apart: one line a quantity, one
// column a scenario under its letter, so that long names do not widen it.
func comparisonTable(p *page, all *scenario.Comparison) {
	letter := func(i int) string { return columnName(i) }
	for i := range all.Scenarios {
		s := &all.Scenarios[i]
		p.para(letter(i)+"  ", fmt.Sprintf("%s (%s): %d days from %s", s.Name, s.File, s.Summary.Days, s.Summary.Start))
	}
	p.line("")
	head := []string{"", ""}
	for i := range all.Scenarios {
		head = append(head, letter(i))
		if i > 0 {
			head = append(head, "than A")
		}
	}
	rows := [][]string{head}
	for _, r := range compare.Rows(all) {
		row := []string{r.What, r.Unit}
		for i, c := range r.Cells {
			row = append(row, c.Value)
			if i > 0 {
				row = append(row, c.Than)
			}
		}
		rows = append(rows, row)
	}
	p.table("ll"+strings.Repeat("r", len(head)-2), "  ", rows)
	p.list("Notes", all.Notes)
	for i := range all.Scenarios {
		s := &all.Scenarios[i]
		p.list("Take care, "+letter(i), s.Result.Cautions)
		p.list("Notes, "+letter(i), s.Result.Notes)
	}
	p.line("")
	p.para("", "Taken as given: see each scenario alone. Days side by side: --csv, or --out FILE.html for plots.")
}

// columnName is A to Z, then AA and on.
func columnName(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return columnName(i/26-1) + columnName(i%26)
}
