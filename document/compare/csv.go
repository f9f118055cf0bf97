package compare

import (
	"encoding/csv"
	"io"
	"strconv"

	"sodalake/farm/scenario"
)

// Columns are the names of the columns of a day.
var Columns = []string{
	"date", "density_g_per_l", "temp_min_c", "temp_mean_c", "temp_max_c", "ph_25c", "volume_l", "conductivity_ms_per_cm_25c",
	"evaporation_mm", "harvested_dry_g", "productivity_g_per_m2_d", "fed_g",
}

// Cells are the cells of a day, in the order of Columns.
func Cells(d *scenario.DayRow) []string {
	s := func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
	return []string{
		d.Date, s(d.DensityGPerL), s(d.TempMinC), s(d.TempMeanC), s(d.TempMaxC), s(d.PH25C), s(d.VolumeL), s(d.ConductivityMSCM),
		s(d.EvaporationMM), s(d.HarvestedDryG), s(d.ProductivityGPerM2), s(d.FedG),
	}
}

// CSV writes all days of all scenarios, each row with the name of its scenario
// in front.
func CSV(w io.Writer, c *scenario.Comparison) error {
	cw := csv.NewWriter(w)
	_ = cw.Write(append([]string{"scenario"}, Columns...)) // told by Error
	for i := range c.Scenarios {
		s := &c.Scenarios[i]
		for k := range s.Result.Days {
			_ = cw.Write(append([]string{plain(s.Name)}, Cells(&s.Result.Days[k])...))
		}
	}
	cw.Flush()
	return cw.Error()
}

// plain keeps a name from being read as a formula by a spreadsheet.
func plain(name string) string {
	if name != "" && (name[0] == '=' || name[0] == '+' || name[0] == '-' || name[0] == '@') {
		return "'" + name
	}
	return name
}
