package canned

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
)

// supplies are the lots of the canned farm, invented.
var supplies = []b{
	{"id": "soda-7", "name": "Baking soda, sack 7", "salt": "NaHCO3", "lot": "B-23", "grade": "food", "mass_g": 25000, "price": 34, "purity_pct": 99, "bulk_g_per_l": 935, "certificate": "Pb below 1 mg/kg, As below 1 mg/kg (invented)"},
	{"id": "soda-8", "name": "Baking soda, sack 8", "salt": "NaHCO3", "lot": "B-31", "grade": "food", "mass_g": 25000, "price": 36},
	{"id": "nitre-2", "name": "Saltpetre", "salt": "KNO3", "lot": "K-11", "grade": "food", "mass_g": 10000, "price": 41},
	{"id": "salt-1", "name": "Plain salt", "salt": "NaCl", "lot": "Z-08", "grade": "food", "mass_g": 5000, "price": 3},
	{"id": "epsom-1", "name": "Epsom salt", "salt": "MgSO4.7H2O", "lot": "M-04", "grade": "pure", "mass_g": 1000, "price": 5, "use_by": "2026-03-31"},
	{"id": "dkp-1", "name": "Dipotassium phosphate", "salt": "K2HPO4", "lot": "P-02", "mass_g": 500},
	{"id": "iron-1", "name": "Iron sulfate", "salt": "FeSO4.7H2O", "lot": "F-01", "mass_g": 100, "price": 4},
	{"id": "kit-1", "name": "Kit powder", "salt": "kit", "mass_g": 400, "price": 22},
	{"id": "grey-bag", "name": "Grey bag, unlabelled", "mass_g": 2000},
}

// shelfEntries describes the shelf, the waters and a ready mix, and mixes a
// barrel. Its identifiers are their own, so that the others keep theirs.
func shelfEntries(start time.Time) []farm.Entry {
	ids := farm.NewIDs(seeded{rand.New(rand.NewPCG(11, 12))})
	var out []farm.Entry
	add := func(at time.Time, by, kind string, body b) {
		id, err := ids.Make(at)
		if err != nil {
			panic("canned: " + err.Error())
		}
		raw, err := json.Marshal(body)
		if err != nil {
			panic("canned: " + err.Error())
		}
		out = append(out, farm.Entry{ID: id, Kind: kind, V: 1, At: at, NotedAt: at, By: by, Body: raw})
	}
	at := start.AddDate(0, 3, 0)
	add(at, "keeper's log", "recipe", b{"id": "kit", "name": "Kit powder, part A", "use": "medium", "ready_mix": true, "g_per_l": 12, "text": "content not told (invented)"})
	add(at, "keeper's log", "water", b{"id": "rain", "name": "Cistern rain", "origin": "rain"})
	add(at, "keeper's log", "water", b{"id": "tap", "name": "Tap, hard", "origin": "tap", "analysed_at": "2026-01-20", "analysis": b{"hardness_mg_per_l": 180, "alkalinity_meq_per_l": 3.1, "sodium_mg_per_l": 12}})
	for i, s := range supplies {
		add(at.Add(time.Duration(i)*time.Minute), "keeper's log", "supply", s)
	}
	add(at.AddDate(0, 0, 3), "Imke", "mixed", b{"volume_l": 120, "medium": b{"recipe": "station-medium"}, "water": "rain", "salts_g": b{"NaHCO3": 1440, "KNO3": 180, "NaCl": 240, "K2HPO4": 18, "MgSO4.7H2O": 12},
		"supplies_g": b{"soda-7": 1440, "nitre-2": 180, "salt-1": 240, "dkp-1": 18, "epsom-1": 12}})
	add(at.AddDate(0, 0, 8), "Imke", "supply", b{"id": "salt-1", "name": "Plain salt", "salt": "NaCl", "lot": "Z-08", "grade": "food", "mass_g": 5000, "price": 3, "left_g": 4600})
	return out
}

// onBench is what a vessel of the canned farm is on the bench, invented.
var onBench = map[string]keeper.BenchVessel{
	"lantern-pond": {RemovedG: 120, FullL: 920, MissingL: num.Band{Low: 8, Mid: 14, High: 21}, PHReadings: []keeper.PHReading{{At: Now.Add(-time.Hour), Value: 10.1}}, MeterChecked: true},
	"boat-pond":    {RemovedG: 60, FullL: 1330, MissingL: num.Band{Low: 40, Mid: 55, High: 70}},
	"cistern-tank": {RemovedG: 18, FullL: 240, MissingL: num.Band{Low: 28, Mid: 35, High: 41}, ReducedMgL: 24, ReducedDayMgL: 10, PHReadings: []keeper.PHReading{{At: Now.Add(-5 * time.Hour), Value: 10.6}}},
	"sill-bottles": {Ammonia: true, FullL: 8, MissingL: num.Band{Low: 0.3, Mid: 0.5, High: 0.7}},
}

// Bench is what the mixing bench needs.
func (f *Farm) Bench(ctx context.Context, at time.Time, _ bool) (keeper.Bench, error) {
	vs, err := f.Vessels(ctx, at)
	if err != nil {
		return keeper.Bench{}, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	out := keeper.Bench{At: Now, Recipes: f.present.Recipes(), Waters: f.present.Waters(), Shelf: f.present.Shelf(Now)}
	for _, v := range vs {
		x := onBench[v.Spec.ID]
		x.ID, x.Name, x.Food, x.Started, x.FullCM, x.FeedSalt = v.Spec.ID, v.Spec.Name, v.Spec.Food, v.Now.Known, v.Spec.FullLevelCM, "KNO3"
		bands := v.Now.Bands
		x.Volume, x.Level, x.Temp, x.PH, x.PH25 = bands[keeper.VolumeL], bands[keeper.LevelCM], bands[keeper.TempC], bands[keeper.PH], bands[keeper.PH25C]
		if x.PH.Mid == 0 {
			x.PH = x.PH25
		}
		x.DepthCM = x.Level.Mid
		m := farm.MediumMix{Recipe: "station-medium"}
		x.Medium = &m
		out.Vessels = append(out.Vessels, x)
	}
	return out, nil
}

// Shelf is what stands on the shelf.
func (f *Farm) Shelf(context.Context, time.Time) (keeper.Shelf, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.Shelf{}, f.Fail
	}
	var eaters []keeper.Eater
	if len(f.present.Vessels()) > 0 {
		eaters = []keeper.Eater{{GrowthGPerD: num.Band{Low: 40, Mid: 70, High: 105}, SodaGPerG: 4.2, AirGPerD: 20}}
	}
	return keeper.ShelfOf(f.present, f.present.Shelf(Now), eaters, Now), nil
}
