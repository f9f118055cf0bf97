package compare

import (
	"strconv"

	"sodalake/farm/scenario"
)

// Row is one line of the side-by-side table.
type Row struct {
	What, Unit string
	Cells      []Cell
}

// Cell is one number, and how it differs from the first scenario's.
type Cell struct {
	Value string
	Than  string // "+12 %", "−0.4"; empty in the first column
}

// Rows returns the summaries side by side.
func Rows(c *scenario.Comparison) []Row {
	lines := []struct {
		what, unit string
		decimals   int
		share      bool // the difference is told as a share
		of         func(s *scenario.Summary) float64
	}{
		{"days", "d", 0, false, func(s *scenario.Summary) float64 { return float64(s.Days) }},
		{"mean growth", "g/m²/d", 1, true, func(s *scenario.Summary) float64 { return s.GrowthGPerM2D }},
		{"harvested, dry", "g", 0, true, func(s *scenario.Summary) float64 { return s.HarvestedDryG }},
		{"days with a harvest", "d", 0, false, func(s *scenario.Summary) float64 { return float64(s.HarvestDays) }},
		{"density at the end", "g/L", 2, false, func(s *scenario.Summary) float64 { return s.DensityLastGPerL }},
		{"least density", "g/L", 2, false, func(s *scenario.Summary) float64 { return s.DensityLowGPerL }},
		{"coldest water", "°C", 1, false, func(s *scenario.Summary) float64 { return s.TempMinC }},
		{"mean water", "°C", 1, false, func(s *scenario.Summary) float64 { return s.TempMeanC }},
		{"warmest water", "°C", 1, false, func(s *scenario.Summary) float64 { return s.TempMaxC }},
		{"days above 40 °C", "d", 0, false, func(s *scenario.Summary) float64 { return float64(s.HotDays) }},
		{"highest pH at 25 °C", "", 2, false, func(s *scenario.Summary) float64 { return s.PH25CMax }},
		{"evaporated", "mm", 0, true, func(s *scenario.Summary) float64 { return s.EvaporationMM }},
		{"fed", "g", 0, true, func(s *scenario.Summary) float64 { return s.FedG }},
		{"salts at the end", "mS/cm", 1, false, func(s *scenario.Summary) float64 { return s.ConductivityMSCM }},
	}
	out := make([]Row, 0, len(lines))
	for _, l := range lines {
		row := Row{What: l.what, Unit: l.unit}
		for i := range c.Scenarios {
			x, first := l.of(&c.Scenarios[i].Summary), l.of(&c.Scenarios[0].Summary)
			cell := Cell{Value: minus(strconv.FormatFloat(x, 'f', l.decimals, 64))}
			switch {
			case i == 0:
			case l.share && first > 0:
				cell.Than = signed(100*(x/first-1), 0) + " %"
			case l.share:
			default:
				cell.Than = signed(x-first, l.decimals)
			}
			row.Cells = append(row.Cells, cell)
		}
		out = append(out, row)
	}
	return out
}

// signed prints a difference with its sign.
func signed(x float64, decimals int) string {
	t := strconv.FormatFloat(x, 'f', decimals, 64)
	switch zero, _ := strconv.ParseFloat(t, 64); {
	case zero > 0:
		return "+" + t
	case zero < 0:
		return minus(t)
	}
	return "±0"
}

// minus writes the minus sign of print.
func minus(t string) string {
	if len(t) > 0 && t[0] == '-' {
		return "−" + t[1:]
	}
	return t
}
