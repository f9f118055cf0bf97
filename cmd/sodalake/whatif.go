package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"

	"sodalake/farm"
	"sodalake/farm/scenario"
)

type whatifCmd struct {
	File   string `arg:"" help:"Scenario file (JSON); - reads standard input. A weather file is looked for beside it."`
	CSV    bool   `help:"Print CSV; with --hourly the hours follow after an empty line." name:"csv"`
	Hourly bool   `help:"Add rows by the hour."`
}

// Run runs a scenario and prints its days. A weather file is looked for beside
// the scenario.
func (c *whatifCmd) Run(ctx context.Context, set *settings, out surroundings) error {
	raw, dir, err := c.read(out)
	if err != nil {
		return err
	}
	f, err := scenario.Read(raw)
	if err != nil {
		return err
	}
	var progress func(day, of int)
	if out.terminal && f.Days > 200 {
		progress = func(day, of int) {
			if day%50 == 0 || day == of {
				fmt.Fprintf(out.stderr, "\rday %d of %d", day, of)
			}
			if day == of {
				fmt.Fprintln(out.stderr)
			}
		}
	}
	res, err := scenario.Run(ctx, f, func(name string) (io.ReadCloser, error) {
		if !filepath.IsAbs(name) {
			name = filepath.Join(dir, name)
		}
		return os.Open(name)
	}, c.Hourly, progress)
	if err != nil {
		return err
	}
	switch {
	case set.JSON:
		return writeJSON(out.stdout, res)
	case c.CSV:
		return writeScenarioCSV(out.stdout, res)
	}
	return writeScenarioTable(out, res)
}

func (c *whatifCmd) read(out surroundings) (raw []byte, dir string, err error) {
	const most = 4 << 20
	if c.File == "-" {
		raw, err = io.ReadAll(io.LimitReader(out.stdin, most))
		return raw, ".", err
	}
	file, err := os.Open(c.File)
	if err != nil {
		return nil, "", &farm.Error{Code: farm.Invalid, Field: "file", Message: fmt.Sprintf("file %q cannot be opened", c.File), Hint: "give the path of a scenario file, or - for standard input"}
	}
	defer file.Close()
	raw, err = io.ReadAll(io.LimitReader(file, most))
	return raw, filepath.Dir(c.File), err
}

var dayColumns = []string{
	"date", "density_g_per_l", "temp_min_c", "temp_mean_c", "temp_max_c", "ph_25c", "volume_l", "conductivity_ms_per_cm_25c",
	"evaporation_mm", "harvested_dry_g", "productivity_g_per_m2_d", "fed_g",
}

func dayCells(d *scenario.DayRow) []string {
	s := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	return []string{
		d.Date, s(d.DensityGPerL), s(d.TempMinC), s(d.TempMeanC), s(d.TempMaxC), s(d.PH25C), s(d.VolumeL), s(d.ConductivityMSCM),
		s(d.EvaporationMM), s(d.HarvestedDryG), s(d.ProductivityGPerM2), s(d.FedG),
	}
}

func writeScenarioCSV(w io.Writer, res *scenario.Result) error {
	cw := csv.NewWriter(w)
	cw.Write(dayColumns)
	for i := range res.Days {
		cw.Write(dayCells(&res.Days[i]))
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

// writeScenarioTable prints one line a day, narrow enough for a terminal of 80
// columns.
func writeScenarioTable(out surroundings, res *scenario.Result) error {
	p := newPage(out)
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
	return p.to(out.stdout)
}
