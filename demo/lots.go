package demo

import (
	"encoding/json"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/science/brine"
)

// note writes an entry about a lot, unless it lies after the morning on which
// the demo opens. Its identifiers come from a source of their own, so that the
// rest of the season does not depend on what became of its harvests.
func (g *generator) noteLot(at time.Time, by, vessel, kind string, body map[string]any) {
	if !at.Before(Morning()) {
		return
	}
	g.entries = append(g.entries, farm.Entry{
		ID: must(g.lotIDs.Make(at)), Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at.Add(40 * time.Second), By: by, Body: must(json.Marshal(body)),
	})
}

// lotOf is what became of a harvest of paste [g] at the moment cut: its tools
// were cleaned and the pond smelled at before, it was pressed, and dried or
// frozen, checked, let go, packed and given out, or not. It returns the name of
// its lot. Everything is invented.
func (g *generator) lotOf(t *truth, cut time.Time, pasteG float64) string {
	vessel := t.id
	n := g.lots
	low := t.acid()+0.011*(t.pond.Heat.WaterC-25) < 9.8 // by the default plan of lots
	g.lots++
	id := cut.Format(time.DateOnly) + "-" + vessel[:1]
	step := func(after time.Duration, body map[string]any) {
		body["lot"] = id
		g.noteLot(cut.Add(after), "galley", "", "lot_step", body)
	}
	lot := func(after time.Duration, by, kind string, body map[string]any) {
		body["lot"] = id
		g.noteLot(cut.Add(after), by, "", kind, body)
	}
	const day = 24 * time.Hour
	g.noteLot(cut.Add(-9*time.Minute), "galley", vessel, "reading", map[string]any{
		"smell": "grassy", "colour": "dark_green", "ph": tidy(round(t.acid(), 0.01)), "temp_c": tidy(round(t.pond.Heat.WaterC, 0.5)), "instrument": "ph-meter",
	})
	g.noteLot(cut.Add(-6*time.Minute), "galley", "", "cleaned", map[string]any{"tools": []string{"cloth", "press", "trays"}, "result": "good"})
	pressed := math.Round(pasteG / 2)
	step(25*time.Minute, map[string]any{"step": "pressed", "mass_g": pressed, "tools": []string{"press"}, "temp_c": 21})
	dry := math.Round(pressed * 0.205)
	into := 40 * time.Minute
	switch n {
	case 2: // frozen, for the station's own kitchen
		step(into, map[string]any{"step": "into_freezer", "temp_c": -18, "place": "freezer, second drawer"})
		if low {
			return id // it waits in the freezer for somebody to decide
		}
		lot(day, "lampkeeper", "released", map[string]any{"reason": "every required check passed; it is for the station's own table"})
		return id
	case 4: // the rain held the trays up, and the clock ran out
		step(4*time.Hour, map[string]any{"step": "into_dryer", "temp_c": 44, "tools": []string{"trays"}})
		lot(5*time.Hour, "galley", "lot_deviation", map[string]any{"check": "clock", "reason": "rain on the trays, nobody brought the paste into the cold", "what": "paste goes into the cold first whenever the sky is grey"})
		lot(day, "lampkeeper", "rejected", map[string]any{"reason": "wet and warm past the limit, and not worth a laboratory"})
		lot(day+time.Hour, "galley", "discarded", map[string]any{"mass_g": pressed})
		return id
	}
	step(into, map[string]any{"step": "into_dryer", "temp_c": 44, "tools": []string{"trays"}})
	step(into+4*time.Hour, map[string]any{"step": "out_of_dryer", "mass_g": dry, "place": "tin on the dry shelf"})
	if n == 6 {
		lot(into+5*time.Hour, "galley", "lot_check", map[string]any{"check": "dry", "water_activity": 0.66})
		lot(into+5*time.Hour+10*time.Minute, "galley", "lot_deviation", map[string]any{"check": "dry", "reason": "strands laid too thick", "what": "dried another two hours; half as much on a tray from now on"})
		step(into+6*time.Hour, map[string]any{"step": "into_dryer", "temp_c": 45, "tools": []string{"trays"}})
		step(into+8*time.Hour, map[string]any{"step": "out_of_dryer", "mass_g": dry - 5})
		lot(into+9*time.Hour, "galley", "lot_check", map[string]any{"check": "dry", "water_activity": 0.47})
	} else if cut.Before(Morning().Add(-2 * day)) {
		lot(into+6*time.Hour, "galley", "lot_check", map[string]any{"check": "dry", "water_activity": 0.41 + 0.01*float64(n%5)})
	}
	if low {
		lot(day, "lampkeeper", "rejected", map[string]any{"reason": "the pond was not alkaline enough before this harvest"})
		lot(day+time.Hour, "galley", "discarded", map[string]any{"all": true})
		return id
	}
	if n == 1 {
		lot(12*day, "lampkeeper", "lot_check", map[string]any{"check": "laboratory", "analyte": "lead", "found": "0.18 mg/kg", "laboratory": "a laboratory, invented"})
	}
	lot(day+90*time.Minute, "lampkeeper", "released", map[string]any{"reason": "every required check passed"})
	packs := math.Floor((dry - 5) / 20)
	lot(day+3*time.Hour, "galley", "packed", map[string]any{"packs": packs, "mass_g": packs * 20, "place": "tin on the dry shelf"})
	if n%2 == 0 {
		lot(4*day, "galley", "sold", map[string]any{"packs": 3, "whom": "the supply boat"})
	}
	if n%3 == 0 {
		lot(6*day, "lampkeeper", "gave", map[string]any{"packs": 1, "whom": "the next light along the coast"})
	}
	if n < 5 {
		lot(9*day, "galley", "used", map[string]any{"mass_g": 40})
	}
	return id
}

// acid is the pH that stands in a vessel [1].
func (t *truth) acid() float64 {
	molal := t.pond.Molality()
	var w brine.Water
	if err := brine.New(brine.Pitzer).Solve(&molal, t.pond.Heat.WaterC, &w); err != nil {
		panic("demo: " + err.Error())
	}
	return w.PH
}
