package calc

import (
	"time"

	"sodalake/science/sky"
)

type evaporationIn struct {
	LatDeg            float64  `json:"lat_deg" label:"Latitude" unit:"°" min:"-90" max:"90" help:"north is positive"`
	ElevationM        float64  `json:"elevation_m" label:"Height above the sea" unit:"m" min:"-450" max:"6000" default:"0"`
	Date              string   `json:"date" label:"Day" kind:"date" help:"as 2026-07-06"`
	TMaxC             float64  `json:"tmax_c" label:"Warmest of the day" unit:"°C" min:"-40" max:"60"`
	TMinC             float64  `json:"tmin_c" label:"Coldest of the day" unit:"°C" min:"-50" max:"50"`
	VapourPressureKPa *float64 `json:"vapour_pressure_kpa" label:"Vapour pressure" unit:"kPa" min:"0" max:"8" help:"this, or the humidity"`
	HumidityPct       *float64 `json:"humidity_pct" label:"Mean humidity" unit:"%" min:"0" max:"100"`
	HumidityMaxPct    *float64 `json:"humidity_max_pct" label:"Highest humidity" unit:"%" min:"0" max:"100" help:"together with the lowest"`
	HumidityMinPct    *float64 `json:"humidity_min_pct" label:"Lowest humidity" unit:"%" min:"0" max:"100"`
	Wind2MMS          float64  `json:"wind_2m_m_s" label:"Mean wind at 2 m" unit:"m/s" min:"0" max:"40"`
	GlobalMJM2D       float64  `json:"global_mj_m2_d" label:"Sun and sky on flat ground" unit:"MJ/m²/d" min:"0" max:"45"`
	Albedo            *float64 `json:"albedo" label:"Albedo of the water" min:"0" max:"1" help:"else 0.08"`
}

type evaporationOut struct {
	ExtraterrestrialMJM2D float64 `json:"extraterrestrial_mj_m2_d" label:"Radiation above the air" unit:"MJ/m²/d"`
	NetRadiationMJM2D     float64 `json:"net_radiation_mj_m2_d" label:"Net radiation, grass" unit:"MJ/m²/d"`
	ReferenceETMMD        float64 `json:"reference_et_mm_d" label:"Reference evapotranspiration" unit:"mm/d"`
	OpenWaterMMD          float64 `json:"open_water_mm_d" label:"Open water" unit:"mm/d"`
	WaterNetRadiation     float64 `json:"water_net_radiation_mj_m2_d" label:"Net radiation, water" unit:"MJ/m²/d"`
	VapourPressureKPa     float64 `json:"vapour_pressure_kpa" label:"Vapour pressure taken" unit:"kPa"`
	ClearSkyMJM2D         float64 `json:"clear_sky_mj_m2_d" label:"Sun and sky of a clear day" unit:"MJ/m²/d"`
	DaylightH             float64 `json:"daylight_h" label:"Possible sunshine" unit:"h"`
	Told
}

// Evaporation is the calculator of a day's evaporation from weather.
func Evaporation() *Calculator {
	return Define(About{
		Name: "evaporation", Title: "Evaporation of a day",
		Sentence: "How much water a day of given weather takes from open water, and from reference grass.",
		Equations: []string{
			"ET0 = (0.408 D (Rn - G) + g 900/(T + 273) u2 (es - ea)) / (D + g (1 + 0.34 u2)), FAO-56 eq. 6",
			"E = (D Rn/L + g f(u) (es - ea)) / (D + g), f(u) = 1.313 + 1.381 u2, Penman 1956",
			"Ra, Rso, Rnl: FAO-56 eqs. 21, 37, 39",
		},
		Sources: []Source{
			{"fao56", "Allen, Pereira, Raes & Smith 1998, Crop evapotranspiration, FAO Irrigation and Drainage Paper 56"},
			{"penman1956", "Penman 1956, with the conversions of McMahon et al. 2013, Hydrology and Earth System Sciences 17:1331"},
		},
		Example: `{"lat_deg":50.8,"elevation_m":100,"date":"2025-07-06","tmax_c":21.5,"tmin_c":12.3,"humidity_max_pct":84,"humidity_min_pct":63,"wind_2m_m_s":2.078,"global_mj_m2_d":22.07}`,
	}, func(in evaporationIn) (evaporationOut, error) {
		date, err := time.Parse(time.DateOnly, in.Date)
		if err != nil {
			return evaporationOut{}, invalid("date", "write it as 2026-07-06", "date %q is not a day", in.Date)
		}
		if in.TMinC > in.TMaxC {
			return evaporationOut{}, invalid("tmin_c", "", "tmin_c %g is above tmax_c %g", in.TMinC, in.TMaxC)
		}
		vapour, how, err := in.vapour()
		if err != nil {
			return evaporationOut{}, err
		}
		day := sky.DryingDay{
			LatDeg: in.LatDeg, ElevationM: in.ElevationM, DayOfYear: date.YearDay(),
			MaxC: in.TMaxC, MinC: in.TMinC, VapourKPa: vapour, WindMS: in.Wind2MMS, GlobalMJ: in.GlobalMJM2D,
		}
		albedo := sky.WaterAlbedo
		if in.Albedo != nil {
			albedo = *in.Albedo
		}
		grass, water := day.ReferenceET(), day.OpenWater(albedo)
		out := evaporationOut{
			ExtraterrestrialMJM2D: grass.ExtraterrestrialMJ, NetRadiationMJM2D: grass.NetMJ, ReferenceETMMD: grass.EvaporationMM,
			OpenWaterMMD: water.EvaporationMM, WaterNetRadiation: water.NetMJ, VapourPressureKPa: vapour,
			ClearSkyMJM2D: grass.ClearMJ, DaylightH: grass.DaylightH,
		}
		out.Assumptions = []string{
			how,
			"air pressure of the height above the sea",
			"no heat stored from one day to the next: a deep or warming pond departs from this",
			"albedo of the grass 0.23, of the water " + Digits(albedo),
		}
		if in.GlobalMJM2D > grass.ClearMJ*1.1+0.1 {
			out.Cautions = append(out.Cautions, "More sun is given than a clear day has here: check the figure and its unit.")
		}
		if vapour > grass.SaturationKPa {
			out.Cautions = append(out.Cautions, "The air is given more vapour than it can hold at these temperatures.")
		}
		return out, nil
	})
}

// vapour takes the vapour pressure from the one way in which it was told.
func (in *evaporationIn) vapour() (kPa float64, how string, err error) {
	given := 0
	if in.VapourPressureKPa != nil {
		given++
	}
	if in.HumidityPct != nil {
		given++
	}
	if in.HumidityMaxPct != nil || in.HumidityMinPct != nil {
		given++
	}
	if given != 1 {
		return 0, "", invalid("humidity_pct", "give vapour_pressure_kpa, or humidity_pct, or both humidity_max_pct and humidity_min_pct", "humidity_pct or another measure of vapour is needed, and only one; %d are given", given)
	}
	switch {
	case in.VapourPressureKPa != nil:
		return *in.VapourPressureKPa, "vapour pressure as given", nil
	case in.HumidityPct != nil:
		return sky.VapourFromMeanHumidity(in.TMaxC, in.TMinC, *in.HumidityPct), "vapour pressure from the mean humidity, FAO-56 eq. 19", nil
	case in.HumidityMaxPct == nil:
		return 0, "", invalid("humidity_max_pct", "", "humidity_max_pct is missing beside humidity_min_pct")
	case in.HumidityMinPct == nil:
		return 0, "", invalid("humidity_min_pct", "", "humidity_min_pct is missing beside humidity_max_pct")
	case *in.HumidityMinPct > *in.HumidityMaxPct:
		return 0, "", invalid("humidity_min_pct", "", "humidity_min_pct %g is above humidity_max_pct %g", *in.HumidityMinPct, *in.HumidityMaxPct)
	}
	return sky.VapourFromExtremes(in.TMaxC, in.TMinC, *in.HumidityMaxPct, *in.HumidityMinPct), "vapour pressure from both humidities, FAO-56 eq. 17", nil
}
