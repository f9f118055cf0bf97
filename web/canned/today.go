package canned

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/keeper"
	"sodalake/science/num"
)

func (f *Farm) has(id string) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	_, ok := f.present.Vessel(id)
	return ok
}

// order is how the day list stands.
var order = []string{"lantern-pond", "boat-pond", "cistern-tank", "sill-bottles"}

// Vessels are all vessels with their present.
func (f *Farm) Vessels(_ context.Context, _ time.Time) ([]keeper.Vessel, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return nil, f.Fail
	}
	var out []keeper.Vessel
	seen := map[string]bool{}
	for _, id := range order {
		if v, ok := f.present.Vessel(id); ok {
			out = append(out, f.vessel(v))
			seen[id] = true
		}
	}
	for _, v := range f.present.Vessels() {
		if !seen[v.ID] {
			out = append(out, f.vessel(v))
		}
	}
	return out, nil
}

func (f *Farm) vessel(spec farm.Vessel) keeper.Vessel {
	v := keeper.Vessel{Spec: spec, State: keeper.Sentence{Key: "state.unknown"}}
	s, ok := shapes[spec.ID]
	if !ok {
		return v
	}
	v.Now = s.estimate()
	last := keeper.Reading{At: Now.Add(-30 * time.Minute), Quantity: keeper.SecchiCM, Value: 2.7, Op: "="}
	switch spec.ID {
	case "lantern-pond":
		v.State = keeper.Sentence{Key: "state.ready"}
		v.Change = []keeper.Sentence{{Key: "change.thicker", Args: map[string]any{"density_g_per_l": .62, "before_g_per_l": .57}}}
	case "boat-pond":
		v.State = keeper.Sentence{Key: "state.growing"}
		v.Change = []keeper.Sentence{{Key: "change.thinner", Args: map[string]any{"density_g_per_l": .44, "before_g_per_l": .49}}, {Key: "change.cold", Args: map[string]any{"low_c": 12.4}}}
	case "cistern-tank":
		v.State = keeper.Sentence{Key: "state.carbon_short"}
		last.At = Now.Add(-46 * time.Hour)
		v.Troubles = []keeper.Sentence{
			{Key: "trouble.misfit", Args: map[string]any{"quantity": "ph", "ratio": 2.4}},
			{Key: "trouble.at_bound", Args: map[string]any{"variable": "scale", "share_pct": 34.0}},
		}
	case "sill-bottles":
		v.State = keeper.Sentence{Key: "state.reserve"}
		last.At = Now.Add(-9 * 24 * time.Hour)
	}
	v.Last = &last
	return v
}

// Vessel is one of them.
func (f *Farm) Vessel(_ context.Context, id string, _ time.Time) (keeper.Vessel, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	spec, ok := f.present.Vessel(id)
	if !ok {
		return keeper.Vessel{}, &farm.Error{Code: farm.NotFound, Field: "id", Message: fmt.Sprintf("vessel %q does not exist", id)}
	}
	return f.vessel(spec), nil
}

// Today is the invented day list.
func (f *Farm) Today(ctx context.Context, _ time.Time) (keeper.Today, error) {
	vs, err := f.Vessels(ctx, Now)
	if err != nil {
		return keeper.Today{}, err
	}
	t := keeper.Today{At: Now, Farm: "Saltmarsh Lighthouse Station", Zone: "Etc/GMT+1"}
	done := f.doneToday()
	for _, v := range vs {
		tv := keeper.TodayVessel{Vessel: v, Done: done[v.Spec.ID]}
		if fc, err := f.Forecast(ctx, v.Spec.ID, Now); err == nil && v.Spec.Use != "reserve" {
			tv.Days, tv.Ready = fc.Days, fc.Ready
		}
		listed := items(v, tv.Ready)
		wait := slices.IndexFunc(listed, func(it advice.Item) bool { return it.Class == advice.Wait })
		if wait < 0 {
			wait = len(listed)
		}
		for _, it := range slices.Insert(listed, wait, daysAhead(v)...) {
			if !answered(tv.Done, it.ID) {
				tv.Items = append(tv.Items, it)
			}
		}
		t.Vessels = append(t.Vessels, tv)
	}
	if len(vs) == 0 {
		return t, nil
	}
	t.Light = light()
	t.Coming = []keeper.Coming{
		{Date: "2026-05-16", Vessel: "boat-pond", What: keeper.Sentence{Key: "coming.secchi"}},
		{Date: "2026-05-18", Vessel: "boat-pond", What: keeper.Sentence{Key: "coming.harvest"}, Amount: &advice.Amount{Value: 240, Unit: "L", Low: 180, High: 300}},
		{Date: "2026-05-20", Vessel: "sill-bottles", What: keeper.Sentence{Key: "coming.refresh_reserve"}},
	}
	return t, nil
}

func answered(done []keeper.Done, item string) bool {
	for _, d := range done {
		if d.Item == item {
			return true
		}
	}
	return false
}

// doneToday are today's acts that stand.
func (f *Farm) doneToday() map[string][]keeper.Done {
	f.mu.Lock()
	defer f.mu.Unlock()
	gone := map[string]bool{}
	for _, e := range f.entries {
		if e.Corrects != "" {
			gone[e.Corrects] = true
		}
	}
	out := map[string][]keeper.Done{}
	for _, e := range f.entries {
		k := farm.KindNamed(e.Kind)
		if k == nil || k.Group != farm.GroupAct || gone[e.ID] || e.At.In(Zone).Format(time.DateOnly) != Now.Format(time.DateOnly) {
			continue
		}
		d := keeper.Done{EntryID: e.ID, At: e.At, Act: e.Kind, By: e.By, Item: e.Item, Unit: "L"}
		if body, bad := farm.DecodeBody(k, e.Body); bad == nil {
			d.Amount, _ = body.Number("volume_l")
			for _, g := range body.Amounts("salts_g") {
				d.Amount, d.Unit = d.Amount+g, "g"
			}
		}
		out[e.Vessel] = append(out[e.Vessel], d)
	}
	return out
}

func record(vessel, kind, item string, body map[string]any) *farm.Entry {
	raw, err := json.Marshal(body)
	if err != nil {
		panic("canned: " + err.Error())
	}
	return &farm.Entry{Site: "saltmarsh", Vessel: vessel, Kind: kind, V: 1, Body: raw, Item: item}
}

// items are the invented lines of the day list.
func items(v keeper.Vessel, ready keeper.Window) []advice.Item {
	d := v.Now.Bands[keeper.DensityGPerL]
	ten := time.Date(2026, 5, 14, 10, 0, 0, 0, Zone)
	night := time.Date(2026, 5, 15, 0, 0, 0, 0, Zone)
	args := func(more map[string]any) map[string]any {
		a := map[string]any{"density_g_per_l": d.Mid, "density_g_per_l_low": d.Low, "density_g_per_l_high": d.High}
		for k, x := range more {
			a[k] = x
		}
		return a
	}
	sure := func(level string, at time.Time) advice.Reason {
		return advice.Reason{Key: "more.sure." + level, Args: map[string]any{"time": at}}
	}
	switch v.Spec.ID {
	case "lantern-pond":
		h := advice.Item{
			ID: "lantern-pond.harvest.1", Vessel: v.Spec.ID, Act: "harvest", Class: advice.Do, Urgency: advice.Now, Confidence: advice.FairlySure, ValidUntil: ten,
			Amount: &advice.Amount{Value: 320, Unit: "L", Low: 160, High: 320},
			Reason: advice.Reason{Key: "reason.harvest.ready", Args: args(map[string]any{"ready_g_per_l": .6, "chance": .62})},
			More: []advice.Reason{{Key: "more.harvest.leaves", Args: map[string]any{
				"volume_l": 320.0, "left_g_per_l": .41, "left_g_per_l_low": .36, "left_g_per_l_high": .46, "dry_g": 198.0, "dry_g_low": 176.0, "dry_g_high": 221.0, "floor_g_per_l": .3}},
				sure("fairly-sure", Now.Add(-33*time.Minute))},
			Cautions: []string{"caution.eat.checks"},
			Record:   record(v.Spec.ID, "harvested", "lantern-pond.harvest.1", map[string]any{"volume_l": 320}),
		}
		look := advice.Item{
			ID: "lantern-pond.look.1", Vessel: v.Spec.ID, Act: "look", Class: advice.Do, Urgency: advice.Today, Confidence: advice.Sure, ValidUntil: ten,
			Amount: &advice.Amount{Value: 20, Unit: "fields", Low: 10, High: 40}, Reason: advice.Reason{Key: "reason.look.old", Args: map[string]any{"time": Now.Add(-8 * 24 * time.Hour)}},
			More:     []advice.Reason{{Key: "more.look.excludes", Args: map[string]any{"fields": 20}}},
			Cautions: []string{"caution.look.limits"}, Record: record(v.Spec.ID, "microscope", "lantern-pond.look.1", map[string]any{}),
		}
		feed := advice.Item{
			ID: "lantern-pond.feed.1", Vessel: v.Spec.ID, Act: "feed", Class: advice.Do, Urgency: advice.Today, Confidence: advice.Sure, ValidUntil: night,
			Amount:   &advice.Amount{Value: 140, Unit: "g", Low: 110, High: 160},
			Reason:   advice.Reason{Key: "reason.feed.replaces", Args: map[string]any{"removed_g": 190.0, "nitrogen_g": 19.0, "salt": "KNO3", "mass_g": 140.0}},
			More:     []advice.Reason{{Key: "more.feed.how", Args: map[string]any{"salt": "KNO3"}}},
			Cautions: []string{"caution.nitrate"}, Record: record(v.Spec.ID, "fed", "lantern-pond.feed.1", map[string]any{"salts_g": map[string]any{"KNO3": 140}}),
		}
		return []advice.Item{look, h, feed}
	case "boat-pond":
		return []advice.Item{
			{ID: "boat-pond.doubt.1", Vessel: v.Spec.ID, Act: "take_reading", Class: advice.Doubt, Urgency: advice.Today, Confidence: advice.FairlySure, ValidUntil: night,
				Reason: advice.Reason{Key: "reason.doubt.ph", Args: map[string]any{"quantity": "ph", "value": 9.62, "expected": 10.2, "expected_low": 10.1, "expected_high": 10.3, "time": time.Date(2026, 5, 12, 9, 10, 0, 0, Zone)}},
				More:   []advice.Reason{{Key: "more.doubt.unchanged"}}, Cautions: []string{}, Record: record(v.Spec.ID, "ph", "boat-pond.doubt.1", map[string]any{})},
			{ID: "boat-pond.wait.1", Vessel: v.Spec.ID, Act: "wait", Class: advice.Wait, Urgency: advice.Soon, Confidence: advice.FairlySure, ValidUntil: night,
				Reason: advice.Reason{Key: "reason.wait.growing", Args: args(map[string]any{"ready_g_per_l": .6, "early": ready.Early, "mid": ready.Mid, "late": ready.Late})},
				More:   []advice.Reason{{Key: "more.wait.change"}}, Cautions: []string{}},
		}
	case "cistern-tank":
		return []advice.Item{{
			ID: "cistern-tank.add_carbon.1", Vessel: v.Spec.ID, Act: "add_carbon", Class: advice.Do, Urgency: advice.Today, Confidence: advice.FairlySure, ValidUntil: night,
			Amount:   &advice.Amount{Value: 300, Unit: "g", Low: 150, High: 300},
			Reason:   advice.Reason{Key: "reason.carbon.short", Args: map[string]any{"ph_25c": 10.8, "ph_25c_low": 10.7, "ph_25c_high": 10.9, "carries_g_per_l": .04, "upper_ph": 10.5}},
			More:     []advice.Reason{{Key: "more.carbon.carries", Args: map[string]any{"mass_g": 300.0, "carries_g_per_l": .1, "salt": "NaHCO3"}}, {Key: "more.carbon.air", Args: map[string]any{"days": 4.0}}, sure("fairly-sure", Now.Add(-37*time.Minute))},
			Cautions: []string{"caution.carbon.salt"}, Record: record(v.Spec.ID, "fed", "cistern-tank.add_carbon.1", map[string]any{"salts_g": map[string]any{"NaHCO3": 300}}),
		}, {
			ID: "cistern-tank.top_up_water.1", Vessel: v.Spec.ID, Act: "top_up_water", Class: advice.Do, Urgency: advice.Soon, Confidence: advice.FairlySure, ValidUntil: night,
			Amount:   &advice.Amount{Value: 35, Unit: "L", Low: 21, High: 37},
			Reason:   advice.Reason{Key: "reason.topup.evaporated", Args: map[string]any{"full_cm": 40.0, "missing_cm": 6.0, "level_cm": 34.0, "level_cm_low": 33.8, "level_cm_high": 34.2}},
			Cautions: []string{"caution.chlorine"}, Record: record(v.Spec.ID, "topped_up", "cistern-tank.top_up_water.1", map[string]any{"volume_l": 35, "with": "water"}),
		}}
	case "sill-bottles":
		return []advice.Item{{
			ID: "sill-bottles.refresh_reserve.1", Vessel: v.Spec.ID, Act: "refresh_reserve", Class: advice.Do, Urgency: advice.Soon, Confidence: advice.Sure, ValidUntil: Now.Add(7 * 24 * time.Hour),
			Reason: advice.Reason{Key: "reason.reserve.old", Args: map[string]any{"age_d": 29.0, "interval_d": 28.0}}, Cautions: []string{}, Record: record(v.Spec.ID, "split", "sill-bottles.refresh_reserve.1", map[string]any{}),
		}}
	}
	return nil
}

// light is the invented light of the day: bright till two, then cloud.
func light() keeper.DayLight {
	rise, set := time.Date(2026, 5, 14, 6, 4, 0, 0, Zone), time.Date(2026, 5, 14, 20, 41, 0, 0, Zone)
	out := keeper.DayLight{Sunrise: rise, Sunset: set, Words: []keeper.Sentence{
		{Key: "light.bright_till", Args: map[string]any{"time": time.Date(2026, 5, 14, 14, 0, 0, 0, Zone)}},
		{Key: "light.water", Args: map[string]any{"low_c": 17.0, "high_c": 26.0}},
	}}
	for t := time.Date(2026, 5, 14, 4, 0, 0, 0, Zone); t.Hour() < 23; t = t.Add(20 * time.Minute) {
		x := t.Sub(rise).Hours() / set.Sub(rise).Hours()
		y := 0.0
		if x > 0 && x < 1 {
			y = 1750 * math.Pow(math.Sin(math.Pi*x), 1.3)
		}
		low, mid, high := .86, .94, 1.0
		if h := float64(t.Hour()) + float64(t.Minute())/60; h > 13 {
			k := math.Min((h-13)/2, 1)
			low, mid, high = .86-.7*k, .94-.55*k, 1-.25*k
		}
		out.PAR.Times = append(out.PAR.Times, t)
		out.PAR.Bands = append(out.PAR.Bands, num.Band{Low: y * low, Mid: y * mid, High: y * high})
	}
	return out
}
