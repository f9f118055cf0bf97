package canned

import (
	"time"

	"sodalake/farm/advice"
	"sodalake/keeper"
)

// daysAhead are invented items that meet something before it happens, and the
// chores of a harvest day.
func daysAhead(v keeper.Vessel) []advice.Item {
	rain := time.Date(2026, 5, 15, 4, 0, 0, 0, Zone)
	hot := time.Date(2026, 5, 17, 14, 0, 0, 0, Zone)
	switch v.Spec.ID {
	case "lantern-pond":
		return []advice.Item{{
			ID: "lantern-pond.buy.1", Vessel: v.Spec.ID, Act: "buy", Class: advice.Do, Urgency: advice.Soon, Confidence: advice.FairlySure, ValidUntil: Now.Add(7 * 24 * time.Hour),
			Amount: &advice.Amount{Value: 5400, Unit: "g", Low: 1800, High: 11000},
			Reason: advice.Reason{Key: "reason.buy.runsout", Args: map[string]any{"what": "baking soda", "left_g": 620.0, "early": Now.Add(8 * 24 * time.Hour)}},
			More:   []advice.Reason{{Key: "more.buy.quarter", Args: map[string]any{"buy_g": 5400.0}}}, Cautions: []string{},
		}}
	case "boat-pond":
		return []advice.Item{{
			ID: "boat-pond.draw_off.1", Vessel: v.Spec.ID, Act: "draw_off", Class: advice.Do, Urgency: advice.Today, Confidence: advice.FairlySure, ValidUntil: rain.Add(20 * time.Hour),
			Amount: &advice.Amount{Value: 90, Unit: "L", Low: 63, High: 120},
			Reason: advice.Reason{Key: "reason.rain.before", Args: map[string]any{
				"rain_mm": 48.0, "rain_mm_low": 30.0, "rain_mm_high": 75.0, "time": rain, "rim_cm": 30.0, "level_cm": 24.0, "level_cm_low": 23.8, "level_cm_high": 24.2}},
			More:     []advice.Reason{{Key: "more.rain.nothing"}, {Key: "more.rain.how"}},
			Cautions: []string{"caution.effluent"}, Record: record(v.Spec.ID, "drew_off", "boat-pond.draw_off.1", map[string]any{"volume_l": 90, "reason": "rain to come"}),
		}, {
			ID: "boat-pond.shade.1", Vessel: v.Spec.ID, Act: "shade", Class: advice.Do, Urgency: advice.Soon, Confidence: advice.FairlySure, ValidUntil: hot.Add(10 * time.Hour),
			Amount: &advice.Amount{Value: 60, Unit: "%", Low: 30, High: 80},
			Reason: advice.Reason{Key: "reason.heat.act", Args: map[string]any{"temp_c": 39.0, "temp_c_low": 37.5, "temp_c_high": 41.5, "time": hot, "limit_c": 40.0, "alarm_c": 43.0}},
			More: []advice.Reason{
				{Key: "more.heat.helps", Args: map[string]any{"with_c": 35.5, "with_c_low": 34.0, "with_c_high": 37.0}},
				{Key: "more.heat.nothing", Args: map[string]any{"temp_c": 39.0, "temp_c_low": 37.5, "temp_c_high": 41.5, "alarm_c": 43.0}},
				{Key: "more.heat.how"},
			},
			Cautions: []string{}, Record: record(v.Spec.ID, "shaded", "boat-pond.shade.1", map[string]any{"shade_pct": 60}),
		}}
	}
	return nil
}
