package scenario

import (
	"fmt"
	"math"
	"path/filepath"
	"strings"
)

// Case is one scenario of a comparison with what it brought.
type Case struct {
	Name    string  `json:"name"`
	File    string  `json:"file"`
	Summary Summary `json:"summary"`
	Result  *Result `json:"result"`
}

// Summary is a whole run in a few numbers.
type Summary struct {
	Start              string  `json:"start"` // first local date
	Days               int     `json:"days"`
	GrowthGPerM2D      float64 `json:"growth_g_per_m2_d"`               // mean net gain of dry matter on a square metre
	HarvestedDryG      float64 `json:"harvested_dry_g"`                 // dry matter taken in all
	HarvestDays        int     `json:"harvest_days"`                    // days on which something was taken
	DensityLastGPerL   float64 `json:"density_last_g_per_l"`            // at the end
	DensityLowGPerL    float64 `json:"density_lowest_g_per_l"`          // least at the end of a day
	TempMinC           float64 `json:"temp_min_c"`                      // coldest water
	TempMeanC          float64 `json:"temp_mean_c"`                     // mean of the water
	TempMaxC           float64 `json:"temp_max_c"`                      // warmest water
	HotDays            int     `json:"days_above_40_c"`                 // days on which the water passed 40 °C
	PH25CMax           float64 `json:"ph_25c_max"`                      // highest at the end of a day
	EvaporationMM      float64 `json:"evaporation_mm"`                  // water gone to the air, all days
	FedG               float64 `json:"fed_g"`                           // salts and carbon dioxide given
	ConductivityMSCM   float64 `json:"conductivity_last_ms_per_cm_25c"` // at the end
	ConductivityRiseMS float64 `json:"conductivity_rise_ms_per_cm_25c"` // since the first evening
}

// Summarise tells a run in a few numbers.
func Summarise(res *Result) Summary {
	s := Summary{Days: len(res.Days)}
	if s.Days == 0 {
		return s
	}
	first, last := &res.Days[0], &res.Days[s.Days-1]
	s.Start, s.DensityLastGPerL, s.ConductivityMSCM = first.Date, last.DensityGPerL, last.ConductivityMSCM
	s.ConductivityRiseMS = last.ConductivityMSCM - first.ConductivityMSCM
	s.TempMinC, s.TempMaxC, s.DensityLowGPerL = math.Inf(1), math.Inf(-1), math.Inf(1)
	for i := range res.Days {
		d := &res.Days[i]
		s.GrowthGPerM2D += d.ProductivityGPerM2
		s.HarvestedDryG += d.HarvestedDryG
		s.TempMeanC += d.TempMeanC
		s.EvaporationMM += d.EvaporationMM
		s.FedG += d.FedG
		s.TempMinC, s.TempMaxC = math.Min(s.TempMinC, d.TempMinC), math.Max(s.TempMaxC, d.TempMaxC)
		s.DensityLowGPerL, s.PH25CMax = math.Min(s.DensityLowGPerL, d.DensityGPerL), math.Max(s.PH25CMax, d.PH25C)
		if d.HarvestedDryG > 0 {
			s.HarvestDays++
		}
		if d.TempMaxC > heatC {
			s.HotDays++
		}
	}
	s.GrowthGPerM2D /= float64(s.Days)
	s.TempMeanC /= float64(s.Days)
	s.round()
	return s
}

// heatC is where heat asks for an act [°C], as in the cautions.
const heatC = 40

func (s *Summary) round() {
	for _, f := range []struct {
		x        *float64
		decimals int
	}{
		{&s.GrowthGPerM2D, 3}, {&s.HarvestedDryG, 2}, {&s.DensityLastGPerL, 5}, {&s.DensityLowGPerL, 5}, {&s.TempMinC, 3},
		{&s.TempMeanC, 3}, {&s.TempMaxC, 3}, {&s.PH25CMax, 4}, {&s.EvaporationMM, 2}, {&s.FedG, 2}, {&s.ConductivityMSCM, 3}, {&s.ConductivityRiseMS, 3},
	} {
		*f.x = round(*f.x, f.decimals)
	}
}

// Comparison is several scenarios side by side. The first is the one that the
// others are held against.
type Comparison struct {
	Scenarios []Case   `json:"scenarios"`
	Notes     []string `json:"notes"`
}

// Add puts a scenario that was run beside the others. Its name is that in the
// file, else that of the file; a name that is there already gets a number.
func (c *Comparison) Add(f *File, path string, res *Result) {
	name := strings.TrimSpace(f.Name)
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
	}
	taken := func(n string) bool {
		for i := range c.Scenarios {
			if c.Scenarios[i].Name == n {
				return true
			}
		}
		return false
	}
	for n, plain := 2, name; taken(name); n++ {
		name = fmt.Sprintf("%s (%d)", plain, n)
	}
	c.Scenarios = append(c.Scenarios, Case{Name: name, File: path, Summary: Summarise(res), Result: res})
}

// Finish adds the notes that hold for the comparison as a whole.
func (c *Comparison) Finish() {
	c.Notes = []string{}
	if len(c.Scenarios) < 2 {
		return
	}
	a := &c.Scenarios[0].Summary
	for i := 1; i < len(c.Scenarios); i++ {
		b := &c.Scenarios[i].Summary
		if a.Start != b.Start || a.Days != b.Days {
			c.Notes = append(c.Notes, fmt.Sprintf("%s runs %d days from %s, %s %d days from %s: sums do not compare", c.Scenarios[0].Name, a.Days, a.Start, c.Scenarios[i].Name, b.Days, b.Start))
		}
	}
	c.Notes = append(c.Notes, "one run each: a difference smaller than the spread of the model, some 25 to 30 % of a yield before the first reading, says little; the sign of a difference between two runs under the same weather says more")
}
