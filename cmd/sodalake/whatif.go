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

	"sodalake/farm"
	"sodalake/farm/scenario"
)

type whatifCmd struct {
	File   string `arg:"" help:"Scenario file; - reads standard input."`
	CSV    bool   `help:"Print CSV." name:"csv"`
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
	return writeScenarioTable(out.stdout, res)
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

func writeScenarioTable(w io.Writer, res *scenario.Result) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%-10s  %7s  %5s %5s %5s  %5s  %8s  %6s  %6s  %8s  %7s  %7s\n", "day", "density", "cold", "mean", "warm", "pH", "volume", "salts", "evap.", "harvest", "growth", "fed")
	fmt.Fprintf(&b, "%-10s  %7s  %5s %5s %5s  %5s  %8s  %6s  %6s  %8s  %7s  %7s\n", "", "g/L", "°C", "°C", "°C", "25 °C", "L", "mS/cm", "mm", "g dry", "g/m²/d", "g")
	for i := range res.Days {
		d := &res.Days[i]
		fmt.Fprintf(&b, "%-10s  %7.3f  %5.1f %5.1f %5.1f  %5.2f  %8.1f  %6.1f  %6.1f  %8.1f  %7.1f  %7.0f\n", d.Date, d.DensityGPerL, d.TempMinC, d.TempMeanC, d.TempMaxC, d.PH25C, d.VolumeL, d.ConductivityMSCM, d.EvaporationMM, d.HarvestedDryG, d.ProductivityGPerM2, d.FedG)
	}
	if len(res.Hours) > 0 {
		fmt.Fprintf(&b, "\n%-25s  %6s  %7s  %6s  %6s\n", "hour", "°C", "g/L", "pH", "µmol")
		for _, h := range res.Hours {
			fmt.Fprintf(&b, "%-25s  %6.2f  %7.3f  %6.3f  %6.0f\n", h.Time, h.TempC, h.DensityGPerL, h.PH, h.PARUmolM2S)
		}
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"Taken as given", res.Assumptions}, {"Notes", res.Notes}, {"Take care", res.Cautions}} {
		if len(part.lines) > 0 {
			fmt.Fprintf(&b, "\n%s\n", part.title)
			for _, l := range part.lines {
				fmt.Fprintf(&b, "  - %s\n", l)
			}
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
