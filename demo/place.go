package demo

import (
	"fmt"
	"time"

	"sodalake/farm"
)

// Zone is the time zone of the station.
func Zone() *time.Location {
	z, err := time.LoadLocation("Atlantic/Azores")
	if err != nil {
		panic("demo: time zones are not carried: " + err.Error())
	}
	return z
}

// Morning is when the demo opens: a June morning before the harvest.
func Morning() time.Time { return time.Date(2026, 6, 18, 7, 40, 0, 0, Zone()) }

// Clock returns a clock that starts at a moment and runs on as time passes;
// passed is how long the demo has been running.
func Clock(start time.Time, passed func() time.Duration) func() time.Time {
	return func() time.Time { return start.Add(passed()) }
}

// siteID is the station.
const siteID = "saltmarsh-light"

// normals are the months at the station, invented.
var normals = []farm.Month{
	{GHIMJM2D: 8.2, TMinC: 10.5, TMaxC: 16.0, RHPct: 78, WindMS: 5.2, RainMM: 92, RainDays: 13},
	{GHIMJM2D: 11.4, TMinC: 10.6, TMaxC: 16.8, RHPct: 76, WindMS: 5.1, RainMM: 78, RainDays: 11},
	{GHIMJM2D: 15.3, TMinC: 11.6, TMaxC: 18.4, RHPct: 74, WindMS: 4.8, RainMM: 61, RainDays: 10},
	{GHIMJM2D: 19.6, TMinC: 12.9, TMaxC: 20.3, RHPct: 72, WindMS: 4.5, RainMM: 44, RainDays: 8},
	{GHIMJM2D: 23.2, TMinC: 15.2, TMaxC: 23.4, RHPct: 71, WindMS: 4.1, RainMM: 27, RainDays: 5},
	{GHIMJM2D: 25.6, TMinC: 18.0, TMaxC: 26.6, RHPct: 70, WindMS: 3.7, RainMM: 12, RainDays: 3},
	{GHIMJM2D: 26.1, TMinC: 20.1, TMaxC: 29.2, RHPct: 68, WindMS: 3.5, RainMM: 5, RainDays: 1},
	{GHIMJM2D: 23.9, TMinC: 20.6, TMaxC: 29.6, RHPct: 68, WindMS: 3.5, RainMM: 7, RainDays: 1},
	{GHIMJM2D: 19.1, TMinC: 19.3, TMaxC: 27.4, RHPct: 71, WindMS: 3.8, RainMM: 26, RainDays: 4},
	{GHIMJM2D: 13.8, TMinC: 16.7, TMaxC: 23.6, RHPct: 74, WindMS: 4.3, RainMM: 66, RainDays: 8},
	{GHIMJM2D: 9.4, TMinC: 13.6, TMaxC: 19.6, RHPct: 77, WindMS: 4.8, RainMM: 88, RainDays: 11},
	{GHIMJM2D: 7.3, TMinC: 11.5, TMaxC: 16.9, RHPct: 79, WindMS: 5.1, RainMM: 97, RainDays: 13},
}

// Coordinates of open sea: nobody lives there.
const latDeg, lonDeg, elevationM = 36.4, -31.0, 14.0

// describe is how the journal describes the station.
func describe() []described {
	site := map[string]any{
		"id": siteID, "name": "Saltmarsh Lighthouse Station", "lat_deg": latDeg, "lon_deg": lonDeg, "elevation_m": elevationM,
		"timezone": "Atlantic/Azores", "measures": "metric", "language": "en", "normals": normals,
	}
	return []described{
		{"site", site},
		{"person", map[string]any{"id": "lampkeeper", "name": "Lampkeeper", "role": "owner"}},
		{"person", map[string]any{"id": "early-watch", "name": "Early watch", "role": "worker"}},
		{"person", map[string]any{"id": "galley", "name": "Galley", "role": "worker"}},
		{"instrument", map[string]any{"id": "stick", "name": "Disc on a stick", "measures": "secchi", "make": "stick"}},
		{"instrument", map[string]any{"id": "ph-meter", "name": "pH meter", "measures": "ph", "make": "meter", "every_days": 7}},
		{"recipe", map[string]any{"id": "station-medium", "name": "Station medium", "use": "medium", "salts_g_per_l": stationMedium, "text": "invented for the demo; near a bicarbonate farm formula"}},
		{"setting", map[string]any{"key": "feed_salt", "value": "KNO3"}},
		{"tool", map[string]any{"id": "cloth", "name": "Filter cloth", "sort": "cloth", "clean": "use", "clean_with": "hot water, then dried in the sun"}},
		{"tool", map[string]any{"id": "press", "name": "Press", "sort": "press", "clean": "use"}},
		{"tool", map[string]any{"id": "trays", "name": "Drying trays", "sort": "tray", "clean": "use"}},
		{"setting", map[string]any{"key": "dryer", "value": "sun"}},
		{"setting", map[string]any{"key": "dryer_g", "value": 1200}},
		{"setting", map[string]any{"key": "freezer_g", "value": 3000}},
		{"supply", map[string]any{"id": "soda-sack", "name": "Baking soda, sack", "salt": "NaHCO3", "lot": "invented 11", "grade": "food", "mass_g": 50000, "price": 62}},
		{"supply", map[string]any{"id": "saltpetre-bag", "name": "Potassium nitrate, bag", "salt": "KNO3", "lot": "invented 12", "grade": "fertiliser", "mass_g": 10000, "price": 41, "purity_pct": 98}},
		{"supply", map[string]any{"id": "phosphate-jar", "name": "Dipotassium phosphate, jar", "salt": "K2HPO4", "lot": "invented 13", "grade": "food", "mass_g": 1000, "price": 14}},
		{"supply", map[string]any{"id": "epsom-box", "name": "Epsom salt, box", "salt": "MgSO4.7H2O", "lot": "invented 14", "grade": "food", "mass_g": 2000, "price": 6, "use_by": "2027-03-31"}},
		{"vessel", map[string]any{
			"id": "lantern-pond", "name": "Lantern pond", "full_level_cm": 18, "place": "outdoors", "shade_pct": 60, "lit": "top",
			"shape":    map[string]any{"kind": "liner", "top_length_m": 4.2, "top_width_m": 1.7, "depth_m": 0.3, "slope": 0.5},
			"stirring": map[string]any{"kind": "continuous"}, "material": "liner", "use": "grow", "food": true,
		}},
		{"vessel", map[string]any{
			"id": "boat-pond", "name": "Boat pond", "full_level_cm": 16, "place": "outdoors", "shade_pct": 60, "lit": "top",
			"shape":    map[string]any{"kind": "liner", "top_length_m": 3.4, "top_width_m": 1.5, "depth_m": 0.28, "slope": 0.5},
			"stirring": map[string]any{"kind": "continuous"}, "material": "liner", "use": "grow", "food": true,
		}},
		{"vessel", map[string]any{
			"id": "cistern-tank", "name": "Cistern tank", "full_level_cm": 40, "place": "outdoors", "shade_pct": 50, "lit": "top",
			"shape":    map[string]any{"kind": "cylinder", "diameter_m": 1.5, "height_m": 0.55},
			"stirring": map[string]any{"kind": "hand", "times_per_day": 4}, "material": "plastic", "use": "grow", "food": true,
		}},
		{"vessel", map[string]any{
			"id": "sill-bottles", "name": "Sill bottles", "full_level_cm": 20, "place": "indoors", "lit": "side", "count": 6,
			"shape":    map[string]any{"kind": "bottle", "diameter_m": 0.11, "height_m": 0.22, "shoulder_height_m": 0.06, "neck_diameter_m": 0.04, "neck_height_m": 0.04},
			"stirring": map[string]any{"kind": "hand", "times_per_day": 3}, "material": "glass", "use": "reserve", "food": false,
		}},
	}
}

// described is one description of the station.
type described struct {
	kind string
	body map[string]any
}

// stationMedium is what the station mixes [g/L], invented.
var stationMedium = map[string]float64{
	"NaHCO3": 10, "NaCl": 4, "KNO3": 2, "K2SO4": 0.8, "K2HPO4": 0.2, "MgSO4.7H2O": 0.2, "CaCl2.2H2O": 0.02, "FeSO4.7H2O": 0.008,
}

// must is for what the generator itself wrote.
func must[T any](x T, err error) T {
	if err != nil {
		panic(fmt.Sprintf("demo: %v", err))
	}
	return x
}
