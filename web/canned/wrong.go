package canned

import (
	"context"
	"fmt"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/diagnose"
	"sodalake/keeper"
	"sodalake/science/num"
)

// Diagnose weighs signs with the invented record of a vessel.
func (f *Farm) Diagnose(_ context.Context, id string, seen diagnose.Seen, _ time.Time) (keeper.Diagnosis, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.Diagnosis{}, f.Fail
	}
	spec, ok := f.present.Vessel(id)
	if !ok {
		return keeper.Diagnosis{}, noVessel(id)
	}
	v := f.vessel(spec)
	rec := diagnose.Record{Facts: map[string]num.Band{}, Held: len(f.present.OnHold(id, Now)) > 0, Food: spec.Food, Reserve: diagnose.Reserve{AgeDays: math.NaN()}}
	set := func(fact string, low, mid, high float64) { rec.Facts[fact] = num.Band{Low: low, Mid: mid, High: high} }
	switch id {
	case "boat-pond": // thinned by a harvest, cold and bright mornings
		set("water_c_high", 25, 26, 27)
		set("morning_c_low", 12, 13, 14)
		set("nitrogen_carries_g_per_l", 1.1, 1.3, 1.5)
		set("bare_density_g_per_l", .28, .33, .38)
		set("free_ammonia_mm", .01, .02, .05)
		set("still_h", 0, 0, 0)
		rec.Reserve = diagnose.Reserve{Vessel: "sill-bottles", Litres: 6, GPerL: .6, AgeDays: 29, FillL: 1300, LeastGL: .3, CostPerL: .021}
	case "cistern-tank": // carbon has run out
		set("ph_25c_high", 10.7, 10.9, 11)
		set("ph_25c_low", 10.4, 10.5, 10.6)
		set("water_c_high", 28, 29, 30)
		set("other_carries_g_per_l", .2, .4, .7)
		rec.Element = "iron"
		rec.Reserve = diagnose.Reserve{Vessel: "sill-bottles", Litres: 6, GPerL: .6, AgeDays: 12, Looked: true, FillL: 240, LeastGL: .2, CostPerL: .021}
	}
	found, err := diagnose.Default().Find(seen, rec)
	if err != nil {
		return keeper.Diagnosis{}, err
	}
	for _, h := range f.present.OnHold(id, Now) {
		if h.Reason == "quarantined" {
			v.Holds = append(v.Holds, "hold.quarantine")
		}
	}
	return keeper.Diagnosis{At: Now, Vessel: v, Seen: seen, Facts: rec.Facts, Element: rec.Element, Finding: found}, nil
}

// NotedSigns are the signs of the last day: in the canned journal of the lantern
// pond, foam.
func (f *Farm) NotedSigns(_ context.Context, id string, _ time.Time) (map[string]bool, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if _, ok := f.present.Vessel(id); !ok {
		return nil, noVessel(id)
	}
	if id == "lantern-pond" {
		return map[string]bool{"foam": true, "smell_ammonia": false, "smell_rotten": false, "smell_earthy": false}, nil
	}
	return map[string]bool{}, nil
}

// Apart is the sheet of a vessel that is kept apart.
func (f *Farm) Apart(_ context.Context, id string, _ time.Time) (keeper.Apart, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	spec, ok := f.present.Vessel(id)
	if !ok {
		return keeper.Apart{}, noVessel(id)
	}
	return keeper.ApartOf(f.present, f.vessel(spec), Now), nil
}

func noVessel(id string) error {
	return &farm.Error{Code: farm.NotFound, Field: "vessel", Message: fmt.Sprintf("vessel %q does not exist", id)}
}
