package scenario

import (
	"math"

	"sodalake/science/growth"
)

// Result is what a scenario brought.
type Result struct {
	Assumptions []string  `json:"assumptions"`
	Notes       []string  `json:"notes"`
	Cautions    []string  `json:"cautions"`
	Days        []DayRow  `json:"days"`
	Hours       []HourRow `json:"hours,omitempty"`
}

// DayRow is one local day. Density, pH, volume and conductivity are those at
// its end; productivity is the net gain of dry matter on a square metre.
type DayRow struct {
	Date               string  `json:"date"`
	DensityGPerL       float64 `json:"density_g_per_l"`
	TempMinC           float64 `json:"temp_min_c"`
	TempMeanC          float64 `json:"temp_mean_c"`
	TempMaxC           float64 `json:"temp_max_c"`
	PH25C              float64 `json:"ph_25c"`
	VolumeL            float64 `json:"volume_l"`
	ConductivityMSCM   float64 `json:"conductivity_ms_per_cm_25c"`
	EvaporationMM      float64 `json:"evaporation_mm"`
	HarvestedDryG      float64 `json:"harvested_dry_g"`
	ProductivityGPerM2 float64 `json:"productivity_g_per_m2_d"`
	FedG               float64 `json:"fed_g"`
}

// HourRow is one hour, told at its end; light is the mean over the hour.
type HourRow struct {
	Time         string  `json:"time"`
	TempC        float64 `json:"temp_c"`
	DensityGPerL float64 `json:"density_g_per_l"`
	PH           float64 `json:"ph"`
	PARUmolM2S   float64 `json:"par_umol_m2_s"`
}

// warn collects what a reader of the rows should not miss.
func (r *runner) warn(row *DayRow) {
	add := func(s string) {
		for _, have := range r.res.Cautions {
			if have == s {
				return
			}
		}
		r.res.Cautions = append(r.res.Cautions, s)
	}
	if row.TempMaxC > growth.HeatActC {
		add("Water passes 40 °C: act against heat; over 43 °C cultures are lost.")
	}
	if row.VolumeL < 1 {
		add("The vessel runs dry.")
	}
	if row.PH25C > 11 {
		add("pH passes 11: growth fails for want of carbon.")
	}
}

func round(x float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(x*p) / p
}

// round keeps digits that a difference between machines cannot touch.
func (d *DayRow) round() {
	for _, f := range []struct {
		x        *float64
		decimals int
	}{
		{&d.DensityGPerL, 5}, {&d.TempMinC, 3}, {&d.TempMeanC, 3}, {&d.TempMaxC, 3}, {&d.PH25C, 4}, {&d.VolumeL, 3},
		{&d.ConductivityMSCM, 3}, {&d.EvaporationMM, 3}, {&d.HarvestedDryG, 3}, {&d.ProductivityGPerM2, 3}, {&d.FedG, 3},
	} {
		*f.x = round(*f.x, f.decimals)
	}
}
