package canned

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/keeper"
)

// book is the canned farm's lots as of a moment. The caller holds mu.
func (f *Farm) book(at time.Time) (*lot.Book, *lot.Sources) {
	return lot.NewBook(f.present, lot.NewReader(), at), lot.SourcesOf(farm.NewShelfReader().Shelf(f.present, at.Add(time.Second)))
}

// Lots are the canned farm's lots.
func (f *Farm) Lots(_ context.Context, at time.Time, splitG float64) (keeper.Lots, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.Lots{}, f.Fail
	}
	b, _ := f.book(at)
	return keeper.LotsOf(f.present, b, at, splitG, "hazy"), nil
}

// Lot is one of them.
func (f *Farm) Lot(_ context.Context, id string, at time.Time) (keeper.LotView, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.LotView{}, f.Fail
	}
	b, _ := f.book(at)
	v, ok := keeper.LotOf(f.present, b, id)
	if !ok {
		return v, keeper.NoLot(id)
	}
	return v, nil
}

// Trace follows one of them, or what else bears the name.
func (f *Farm) Trace(_ context.Context, name string, since, at time.Time) (lot.Trace, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return lot.Trace{}, f.Fail
	}
	b, s := f.book(at)
	return keeper.TraceOf(f.present, b, s, name, since, at)
}

// Hazards is its plan of control.
func (f *Farm) Hazards(_ context.Context, from, to, at time.Time) (keeper.HazardView, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.HazardView{}, f.Fail
	}
	b, _ := f.book(at)
	return keeper.HazardsOf(b, from, to), nil
}

// NewLots returns the farm with lots in every state, invented: "may-a" being
// worked, "may-b" past its clock, "april-d" released and sold in part, "april-e"
// with a failed check, "april-f" made of two.
func NewLots() *Farm {
	f := New()
	if _, err := f.add(lotJournal(), farm.Filed); err != nil {
		panic("canned: " + err.Error())
	}
	f.Writes = 0
	return f
}

// lotJournal is what the canned farm did with its harvests.
func lotJournal() []farm.Entry {
	ids := farm.NewIDs(seeded{rand.New(rand.NewPCG(3, 4))})
	type b = map[string]any
	var out []farm.Entry
	add := func(ago time.Duration, vessel, kind string, body b) {
		at := Now.Add(-ago)
		id, err := ids.Make(at)
		if err != nil {
			panic("canned: " + err.Error())
		}
		raw, err := json.Marshal(body)
		if err != nil {
			panic("canned: " + err.Error())
		}
		out = append(out, farm.Entry{ID: id, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at, By: "imke", Body: raw})
	}
	const h, d = time.Hour, 24 * time.Hour
	add(60*d, "", "person", b{"id": "imke", "name": "Imke", "role": "owner"})
	for _, t := range []b{{"id": "cloth", "name": "Filter cloth", "sort": "cloth"}, {"id": "press", "name": "Press", "sort": "press"}, {"id": "trays", "name": "Drying trays", "sort": "tray"}} {
		add(60*d, "", "tool", t)
	}
	add(60*d, "", "setting", b{"key": "dryer", "value": "sun"})
	add(60*d, "", "setting", b{"key": "dryer_g", "value": 1500})
	add(60*d, "", "setting", b{"key": "freezer_g", "value": 4000})
	way := func(ago time.Duration, vessel, id string, mass float64, smell string) {
		add(ago+20*time.Minute, vessel, "microscope", b{"filaments_seen": 260, "foreign_seen": 0})
		add(ago+18*time.Minute, vessel, "reading", b{"ph": 10.3, "temp_c": 22, "smell": smell, "colour": "dark_green"})
		add(ago+15*time.Minute, "", "cleaned", b{"tools": []string{"cloth", "press", "trays"}, "result": "good"})
		add(ago, vessel, "harvested", b{"volume_l": mass / 6, "mass_g": mass, "lot": id, "tools": []string{"cloth"}, "temp_c": 22, "fit": true})
		add(ago-20*time.Minute, "", "lot_step", b{"lot": id, "step": "pressed", "mass_g": mass / 2, "tools": []string{"press"}, "temp_c": 22})
	}
	dry := func(ago time.Duration, id string, mass float64) {
		add(ago-40*time.Minute, "", "lot_step", b{"lot": id, "step": "into_dryer", "temp_c": 44, "tools": []string{"trays"}})
		add(ago-4*h, "", "lot_step", b{"lot": id, "step": "out_of_dryer", "mass_g": mass * 0.105, "place": "tin 3"})
		add(ago-5*h, "", "lot_check", b{"lot": id, "check": "dry", "water_activity": 0.46})
	}
	way(30*d, "boat-pond", "april-d", 1800, "grassy")
	dry(30*d, "april-d", 1800)
	add(29*d, "", "released", b{"lot": "april-d", "reason": "all checks passed"})
	add(28*d, "", "packed", b{"lot": "april-d", "packs": 18, "mass_g": 180})
	add(20*d, "", "sold", b{"lot": "april-d", "packs": 6, "whom": "the harbour stall"})
	add(19*d, "", "gave", b{"lot": "april-d", "packs": 1, "whom": "a neighbour"})
	way(18*d, "lantern-pond", "april-e", 900, "rotten")
	dry(18*d, "april-e", 900)
	way(16*d, "boat-pond", "april-g", 1000, "grassy")
	dry(16*d, "april-g", 1000)
	add(15*d, "", "lot", b{"lot": "april-f", "from_lots": []string{"april-g"}, "from_g": b{"april-g": 60}})
	add(15*d-h, "", "lot_check", b{"lot": "april-g", "check": "laboratory", "analyte": "lead", "found": "0.21 mg/kg", "laboratory": "the district's"})
	way(5*h, "lantern-pond", "may-b", 1400, "grassy")
	way(100*time.Minute, "cistern-tank", "may-a", 1200, "grassy")
	return out
}
