package advice

import (
	"math"
	"time"
)

// coldAndBright: no harvest and no bright light on a cold morning.
func coldAndBright(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Outdoors || v.Temp.Mid <= 0 {
		return nil
	}
	coldNow := v.Temp.Mid < r.ColdC
	coldAhead := v.Dawn.Mid < r.ColdC
	if !(coldNow && v.BrightNow) && !(coldAhead && s.Now.Hour() >= 15) {
		return nil
	}
	it := newItem(v, "hold_harvest", Hold, Today, "cold-"+s.Now.Format(time.DateOnly))
	args := bandArgs(map[string]any{"limit_c": r.ColdC}, "temp_c", v.Temp)
	key := "reason.cold.now"
	if !coldNow {
		key = "reason.cold.morning"
		args = bandArgs(map[string]any{"limit_c": r.ColdC}, "temp_c", v.Dawn)
	}
	if !v.WarmAt.IsZero() {
		args["time"] = v.WarmAt
	}
	it.Reason = Reason{Key: key, Args: args}
	it.More = append(it.More, Reason{Key: "more.cold.how", Args: map[string]any{}})
	it.ValidUntil = endOfDay(s.Now)
	if !v.WarmAt.IsZero() && v.WarmAt.After(s.Now) {
		it.ValidUntil = v.WarmAt
	}
	return it
}

// tooHot: water over the act limit within the coming days, with the act that
// helps most, what it brings, and what comes if nothing is done.
func tooHot(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if v.Hottest.High <= r.HotC && v.Temp.Mid <= r.HotC {
		return nil
	}
	act, with := coolest(s, v)
	it := newItem(v, act, Do, Soon, v.HottestOn.Format(time.DateOnly))
	if v.Noon.High > r.HotC || v.Temp.Mid > r.HotC {
		it.Urgency = Today
	}
	if v.Noon.Mid > r.HotC || v.Temp.Mid > r.HotC {
		it.Urgency = Now
	}
	it.Reason = Reason{Key: "reason.heat.act", Args: bandArgs(map[string]any{"limit_c": r.HotC, "alarm_c": r.AlarmC, "time": v.HottestOn}, "temp_c", v.Hottest)}
	if v.Hottest.High > r.AlarmC {
		it.Reason.Key = "reason.heat.alarm"
	}
	if with != nil {
		it.More = append(it.More, Reason{Key: "more.heat.helps", Args: bandArgs(map[string]any{}, "with_c", with.Hottest)})
		if with.Hottest.High > r.HotC {
			it.More = append(it.More, Reason{Key: "more.heat.short", Args: map[string]any{"limit_c": r.HotC}})
		}
	}
	it.More = append(it.More, Reason{Key: "more.heat.nothing", Args: bandArgs(map[string]any{"alarm_c": r.AlarmC}, "temp_c", v.Hottest)}, Reason{Key: "more.heat.how", Args: map[string]any{}})
	it.ValidUntil = endOfDay(v.HottestOn)
	if it.ValidUntil.Before(s.Now) {
		it.ValidUntil = endOfDay(s.Now)
	}
	switch act {
	case "vent":
		record(s, v, it, "vented", map[string]any{"vents": "open"})
	case "deepen":
		litres := downTo((deepTo(r, v) - v.Level.High) * v.AreaM2 * 10)
		it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.5), High: litres}
		record(s, v, it, "topped_up", map[string]any{"volume_l": litres, "with": "medium"})
	case "stir":
		record(s, v, it, "stirred", map[string]any{"minutes": 15})
	default:
		shade := math.Max(r.ShadePct, v.ShadePct)
		it.Amount = &Amount{Value: shade, Unit: "%", Low: math.Min(30, shade), High: math.Max(80, shade)}
		record(s, v, it, "shaded", map[string]any{"shade_pct": shade})
	}
	return it
}

// coolest is the act that helps most against heat and can be done: by what the
// model makes of each, else shade, vents, depth in this order. Deepening stays
// out where the volume is not known; what is left is to stir and to stand by.
func coolest(s *Situation, v *Vessel) (act string, with *Help) {
	r := &s.Rules
	can := map[string]bool{
		"vent":   v.Covered && v.Vents != "open",
		"shade":  v.ShadePct < r.ShadePct,
		"deepen": doseable(s, v) && v.AreaM2 > 0 && v.FullLevelCM > 0 && v.Level.Mid > 0.95*v.FullLevelCM && downTo((deepTo(r, v)-v.Level.High)*v.AreaM2*10) > 0.02*v.Volume.Low && !ammoniaHere(r, v),
	}
	for i := range v.Helps {
		h := &v.Helps[i]
		if can[h.Act] && (with == nil || h.Hottest.Mid < with.Hottest.Mid) {
			act, with = h.Act, h
		}
	}
	if with != nil {
		return act, with
	}
	for _, act := range []string{"vent", "shade", "deepen"} {
		if can[act] {
			return act, nil
		}
	}
	if v.ShadePct < 80 {
		return "shade", nil
	}
	return "stir", nil
}

// deepTo is the level to which v can be deepened [cm].
func deepTo(r *Rules, v *Vessel) float64 {
	return math.Min(v.RimCM-r.BrimCM, 1.25*v.FullLevelCM)
}

// frost is met the evening before: cover, shut, and shade against the sun of
// the cold morning.
func frost(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Outdoors || v.FrostOn.IsZero() || v.AirLow.Mid > r.FrostC || v.FrostOn.Before(s.Now) {
		return nil
	}
	var act, kind, key string
	var body map[string]any
	switch {
	case !v.Covered:
		act, kind, key, body = "cover", "covered", "reason.frost.cover", map[string]any{"cover": "film"}
	case v.Vents != "shut":
		act, kind, key, body = "shut", "vented", "reason.frost.shut", map[string]any{"vents": "shut"}
	case v.ShadePct < 30:
		act, kind, key, body = "shade", "shaded", "reason.frost.shade", map[string]any{"shade_pct": r.ShadePct}
	default:
		return nil
	}
	it := newItem(v, act, Do, Soon, "frost-"+v.FrostOn.Format(time.DateOnly))
	if v.FrostOn.Sub(s.Now) < 24*time.Hour {
		it.Urgency = Today
	}
	if act == "shade" {
		it.Amount = &Amount{Value: r.ShadePct, Unit: "%", Low: 30, High: 80}
	}
	it.Reason = Reason{Key: key, Args: bandArgs(map[string]any{"time": v.FrostOn}, "air_c", v.AirLow)}
	it.More = append(it.More, Reason{Key: "more.frost.nothing", Args: bandArgs(map[string]any{"limit_c": r.ColdC}, "temp_c", v.Dawn)})
	it.Confidence = FairlySure
	it.ValidUntil = v.FrostOn
	record(s, v, it, kind, body)
	return it
}

// stir: what keeps it moving has stopped, or nothing was ever there to.
func stir(s *Situation, v *Vessel) *Item {
	if v.Reserve {
		return nil
	}
	var key, anchor string
	args := map[string]any{}
	switch {
	case !v.Unstirred.At.IsZero():
		key, anchor = "reason.stir.stopped", v.Unstirred.ID
		args["time"] = v.Unstirred.At
	case v.Stirring == "none" && v.Density.Mid > 0.2:
		key, anchor = "reason.stir.none", v.Begun.ID
	default:
		return nil
	}
	it := newItem(v, "stir", Do, Today, anchor)
	if v.BrightNow {
		it.Urgency = Now
	}
	it.Amount = &Amount{Value: 10, Unit: "min", Low: 5, High: 20}
	it.Reason = Reason{Key: key, Args: args}
	it.More = append(it.More, Reason{Key: "more.stir.how", Args: map[string]any{}})
	it.Cautions = append(it.Cautions, "caution.work.mains")
	it.Confidence = Sure
	it.ValidUntil = endOfDay(s.Now)
	record(s, v, it, "stirred", map[string]any{"minutes": 10})
	return it
}

// lastOfSeason reports whether v is harvested for the last time before the cold:
// the season ends within days and a reserve is alive to begin again from.
func lastOfSeason(s *Situation, v *Vessel) bool {
	return !v.SeasonEnds.IsZero() && !v.SeasonEnds.After(s.Now.Add(days(3))) && v.Outdoors && !v.Reserve && living(s) != nil
}

// seasonNear reports whether the season of v ends within the notice.
func seasonNear(s *Situation, v *Vessel) bool {
	return v.Started && v.Outdoors && !v.Reserve && !v.SeasonEnds.IsZero() && v.SeasonEnds.Before(s.Now.Add(days(s.Rules.SeasonDays)))
}

// ammoniaHere: ammonia is smelled, or free ammonia may pass the limit.
func ammoniaHere(r *Rules, v *Vessel) bool {
	return !v.Smells.At.IsZero() && v.SmellsOf == "ammonia" || v.FreeAmmonia.High > r.AmmoniaStopMM
}
