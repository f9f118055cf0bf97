package canned

import (
	"encoding/json"
	"math/rand/v2"
	"time"

	"sodalake/farm"
)

// Zone is the clock of the invented place: no land keeps this one's name.
var Zone = time.FixedZone("Etc/GMT+1", -3600)

// Now is the moment the canned farm stands at: a Thursday morning in May.
var Now = time.Date(2026, 5, 14, 7, 45, 0, 0, Zone)

// seeded is a source of random bits that is the same in every run.
type seeded struct{ r *rand.Rand }

func (s seeded) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(s.r.Uint32())
	}
	return len(p), nil
}

// journal is the invented season, oldest first.
func journal() []farm.Entry {
	ids := farm.NewIDs(seeded{rand.New(rand.NewPCG(1, 2))})
	var out []farm.Entry
	add := func(at time.Time, vessel, kind, by string, body map[string]any) farm.Entry {
		id, err := ids.Make(at)
		if err != nil {
			panic("canned: " + err.Error())
		}
		raw, err := json.Marshal(body)
		if err != nil {
			panic("canned: " + err.Error())
		}
		e := farm.Entry{ID: id, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at, By: by, Body: raw}
		if kind == "inoculated" || vessel != "" {
			e.Site = "saltmarsh"
		}
		out = append(out, e)
		return e
	}
	day := func(month time.Month, d, h, m int) time.Time { return time.Date(2026, month, d, h, m, 0, 0, Zone) }

	start := day(1, 12, 10, 0)
	add(start, "", "site", "keeper's log", map[string]any{
		"id": "saltmarsh", "name": "Saltmarsh Lighthouse Station", "lat_deg": 44.2, "lon_deg": -14.5, "elevation_m": 11,
		"timezone": "Etc/GMT+1", "measures": "metric", "language": "en",
	})
	for _, p := range [][3]string{{"imke", "Imke, keeper", "owner"}, {"day-watch", "Day watch", "worker"}, {"night-watch", "Night watch", "worker"}} {
		add(start.Add(time.Minute), "", "person", "keeper's log", map[string]any{"id": p[0], "name": p[1], "role": p[2]})
	}
	add(start.Add(2*time.Minute), "", "recipe", "keeper's log", map[string]any{"id": "station-medium", "name": "Station medium", "use": "medium", "salts_g_per_l": map[string]any{"NaHCO3": 12, "KNO3": 1.5, "NaCl": 2, "K2HPO4": .15, "MgSO4.7H2O": .1}})
	add(start.Add(3*time.Minute), "", "instrument", "keeper's log", map[string]any{"id": "ph-meter", "name": "pH meter, blue case", "measures": "ph", "make": "meter"})
	add(start.Add(5*time.Minute), "", "vessel", "keeper's log", map[string]any{
		"id": "sill-bottles", "name": "Sill bottles", "shape": map[string]any{"kind": "bottle", "diameter_cm": 11, "height_cm": 17, "shoulder_height_cm": 4, "neck_diameter_cm": 4, "neck_height_cm": 4},
		"full_level_cm": 15, "place": "indoors", "use": "reserve", "food": false, "lit": "side", "count": 6, "stirring": map[string]any{"kind": "hand", "times_per_day": 3},
	})
	add(start.Add(8*time.Minute), "sill-bottles", "inoculated", "Imke", map[string]any{"volume_l": 1.5, "from": "outside", "density_g_per_l": .4, "text": "a gift culture from over the sound"})
	add(day(2, 2, 9, 30), "", "vessel", "keeper's log", map[string]any{
		"id": "cistern-tank", "name": "Cistern tank", "shape": map[string]any{"kind": "cylinder", "diameter_cm": 88, "height_cm": 52}, "full_level_cm": 40,
		"place": "tunnel", "use": "starter", "food": true, "stirring": map[string]any{"kind": "continuous"}, "cover": map[string]any{"kind": "tunnel", "transmission": .8, "vents": "half"},
	})
	add(day(2, 2, 9, 50), "cistern-tank", "inoculated", "Imke", map[string]any{"volume_l": 40, "from": "sill-bottles", "text": "three bottles and new medium"})
	yes := true
	add(day(3, 3, 9, 0), "", "vessel", "keeper's log", map[string]any{
		"id": "boat-pond", "name": "Boat pond", "shape": map[string]any{"kind": "raceway", "length_cm": 520, "width_cm": 160, "height_cm": 32, "mid_wall_cm": 4},
		"full_level_cm": 16, "place": "outdoors", "use": "grow", "food": yes, "stirring": map[string]any{"kind": "continuous"},
	})
	add(day(3, 3, 9, 20), "boat-pond", "inoculated", "Imke", map[string]any{"volume_l": 400, "from": "outside", "text": "120 L of tank, the rest new medium"})
	add(day(3, 20, 9, 0), "", "vessel", "keeper's log", map[string]any{
		"id": "lantern-pond", "name": "Lantern pond", "shape": map[string]any{"kind": "liner", "top_length_cm": 420, "top_width_cm": 150, "bottom_length_cm": 380, "bottom_width_cm": 110, "height_cm": 34},
		"full_level_cm": 18, "place": "tunnel", "use": "grow", "food": yes, "stirring": map[string]any{"kind": "continuous"}, "cover": map[string]any{"kind": "tunnel", "transmission": .78, "vents": "half"},
	})
	add(day(3, 20, 9, 20), "lantern-pond", "inoculated", "Imke", map[string]any{"volume_l": 500, "from": "boat-pond", "text": "from the boat pond, then medium"})

	// Two months of readings, a few a week.
	who := []string{"Day watch", "Night watch", "Imke"}
	r := rand.New(rand.NewPCG(3, 4))
	for d := 0; d < 60; d++ {
		at := day(3, 15+d, 7, 5+r.IntN(30))
		if !at.Before(day(4, 30, 0, 0)) {
			break
		}
		v := []string{"boat-pond", "cistern-tank"}[d%2]
		switch d % 3 {
		case 0:
			add(at, v, "secchi", who[d%3], map[string]any{"secchi_cm": 2.4 + .1*float64(r.IntN(30))})
		case 1:
			add(at, v, "ph", who[d%3], map[string]any{"ph": 10 + .1*float64(r.IntN(5))})
		case 2:
			add(at, v, "topped_up", who[d%3], map[string]any{"volume_l": 10 + r.IntN(30), "with": "water"})
		}
	}
	out = append(out, shelfEntries(start)...)
	for _, row := range season {
		add(row.at(), row.vessel, row.kind, row.by, row.body)
	}
	return out
}

type row struct {
	day, hour, minute int // in May; before 1 counts back into April
	vessel, kind, by  string
	body              map[string]any
}

func (r row) at() time.Time { return time.Date(2026, 5, r.day, r.hour, r.minute, 0, 0, Zone) }

type b = map[string]any

// season is the fortnight that the charts show.
var season = []row{
	{1, 7, 10, "lantern-pond", "secchi", "Day watch", b{"secchi_cm": 3.4}},
	{1, 7, 15, "boat-pond", "secchi", "Day watch", b{"secchi_cm": 3.6}},
	{2, 16, 0, "boat-pond", "ph", "Imke", b{"ph": 10.1}},
	{3, 7, 20, "boat-pond", "secchi", "Night watch", b{"secchi_cm": 3.0}},
	{3, 8, 0, "lantern-pond", "topped_up", "Night watch", b{"volume_l": 30, "with": "water"}},
	{4, 15, 30, "lantern-pond", "ph", "Imke", b{"ph": 10.0}},
	{5, 7, 30, "lantern-pond", "secchi", "Day watch", b{"secchi_cm": 2.7}},
	{5, 7, 40, "boat-pond", "temperature", "Day watch", b{"temp_c": 16.5}},
	{6, 7, 10, "boat-pond", "secchi", "Day watch", b{"secchi_cm": 2.5}},
	{7, 7, 0, "lantern-pond", "dry_weight", "Imke", b{"dry_weight_g_per_l": .52}},
	{7, 9, 10, "cistern-tank", "ph", "Imke", b{"ph": 10.4}},
	{8, 7, 15, "boat-pond", "secchi", "Day watch", b{"secchi_cm": 2.2}},
	{9, 9, 0, "boat-pond", "harvested", "Day watch", b{"volume_l": 340, "left_g_per_l": .33}},
	{9, 16, 40, "boat-pond", "fed", "Day watch", b{"salts_g": b{"KNO3": 150}}},
	{10, 7, 5, "boat-pond", "secchi", "Night watch", b{"secchi_cm": 4.0}},
	{10, 7, 20, "lantern-pond", "secchi", "Night watch", b{"secchi_cm": 2.3}},
	{11, 10, 2, "boat-pond", "topped_up", "Night watch", b{"volume_l": 18, "with": "water"}},
	{11, 10, 10, "boat-pond", "conductivity", "Imke", b{"conductivity_ms_per_cm": 20.3}},
	{12, 7, 30, "boat-pond", "secchi", "Day watch", b{"secchi_cm": 3.1}},
	{12, 9, 10, "boat-pond", "ph", "Night watch", b{"ph": 9.62}},
	{12, 9, 20, "cistern-tank", "ph", "Imke", b{"ph": 10.6}},
	{12, 9, 25, "cistern-tank", "secchi", "Imke", b{"secchi_cm": 3.6}},
	{13, 16, 5, "boat-pond", "ph", "Imke", b{"ph": 10.3}},
	{13, 16, 12, "boat-pond", "photo", "Imke", b{"photo_sha256": PondPhoto().SHA256, "text": "north edge, after the wind"}},
	{13, 17, 0, "lantern-pond", "ph", "Imke", b{"ph": 10.2}},
	{13, 17, 10, "lantern-pond", "level", "Imke", b{"level_cm": 17.4}},
	{14, 7, 8, "cistern-tank", "ph", "Day watch", b{"ph": 10.8}},
	{14, 7, 10, "lantern-pond", "temperature", "Day watch", b{"temp_c": 17}},
	{14, 7, 12, "lantern-pond", "secchi", "Day watch", b{"secchi_cm": 2.0}},
	{14, 7, 20, "boat-pond", "secchi", "Day watch", b{"secchi_cm": 2.7}},
	{14, 7, 31, "boat-pond", "topped_up", "Day watch", b{"volume_l": 26, "with": "water"}},
}
