package advice

import (
	"math"
	"time"
)

// topUp replaces what evaporated with water, and what leaked with medium, up to
// the full level. One shortage gets one of the two: which, the salts tell.
func topUp(s *Situation, v *Vessel) *Item {
	if v.FullLevelCM <= 0 || v.AreaM2 <= 0 || !levelFresh(s, v) {
		return nil
	}
	missing := v.FullLevelCM - v.Level.Mid
	if missing < math.Max(0.05*v.FullLevelCM, 0.3) {
		return nil
	}
	// The high end of the level gives the least that is missing: no dose grows
	// with the spread.
	litres := downTo((v.FullLevelCM - v.Level.High) * v.AreaM2 * 10) // 1 cm on 1 m² is 10 L
	if litres <= 0 {
		return nil
	}
	act, with, key := "top_up_water", "water", "reason.topup.evaporated"
	leakL := leaked(v)
	if leakL > 0.5*v.Loss.Missing.Mid {
		act, with, key = "top_up_medium", "medium", "reason.topup.leaked"
		if litres = downTo(math.Min(litres, leakL)); litres <= 0 {
			return nil
		}
	}
	it := newItem(v, act, Do, Today, v.LastLevel.ID)
	if missing < 0.12*v.FullLevelCM {
		it.Urgency = Soon
	}
	it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.6), High: math.Max(litres, downTo((v.FullLevelCM-v.Level.Low)*v.AreaM2*10))}
	it.Reason = Reason{Key: key, Args: bandArgs(map[string]any{"full_cm": v.FullLevelCM, "missing_cm": missing}, "level_cm", v.Level)}
	if with == "medium" {
		it.Reason.Args["leaked_l"] = leakL
	} else {
		it.Cautions = append(it.Cautions, "caution.chlorine")
	}
	it.Confidence = FairlySure
	it.ValidUntil = endOfDay(s.Now.Add(24 * time.Hour))
	record(s, v, it, "topped_up", map[string]any{"volume_l": litres, "with": with})
	return it
}

// leaked is what leaked away rather than evaporated, at least [L].
//
// Water that evaporates leaves its salts, water that leaks takes them along:
//
//	leak = (1 - salts kept) × volume
//
// at the high end of what was kept and the low end of the volume, and never
// more than is missing. Zero where the salts were not read, or where what is
// kept may be all.
func leaked(v *Vessel) float64 {
	l := &v.Loss
	if l.SaltKept.High <= 0 || l.SaltKept.High >= 1 || l.Missing.Mid <= 0 {
		return 0
	}
	return math.Min((1-l.SaltKept.High)*v.Volume.Low, l.Missing.Mid)
}

// leak: level and conductivity together tell a leak from the sun; the level
// alone raises the question.
func leak(s *Situation, v *Vessel) *Item {
	l := &v.Loss
	if v.Volume.Low <= 0 || l.Missing.Mid <= 0 || s.Now.Sub(l.Until.At) > days(s.Rules.LevelDays) {
		return nil
	}
	args := bandArgs(map[string]any{"time": l.Since}, "missing_l", l.Missing)
	args = bandArgs(args, "evaporated_l", l.Evaporated)
	litres := leaked(v)
	switch {
	case litres > math.Max(0.02*v.Volume.Low, 0.25*l.Missing.Mid):
		it := newItem(v, "repair", Do, Today, l.Until.ID)
		args["leaked_l"] = litres
		args["kept_pct"] = 100 * l.SaltKept.Mid
		it.Reason = Reason{Key: "reason.leak.salts", Args: args}
		it.More = append(it.More, Reason{Key: "more.leak.how", Args: map[string]any{}})
		if litres > 0.15*v.Volume.Low {
			it.Urgency = Now
			it.More = append(it.More, Reason{Key: "more.leak.move", Args: map[string]any{}})
		}
		it.Cautions = append(it.Cautions, "caution.effluent", "caution.work.mains")
		it.Confidence = FairlySure
		it.ValidUntil = s.Now.Add(24 * time.Hour)
		record(s, v, it, "repaired", map[string]any{"leak": true})
		return it
	case l.SaltKept.High <= 0 && l.Missing.Low > l.Evaporated.High && l.Missing.Low > 0.02*v.Volume.Low:
		it := newItem(v, "take_reading", Do, Today, "conductivity-"+l.Until.ID)
		args["quantity"] = "conductivity"
		it.Reason = Reason{Key: "reason.leak.suspect", Args: args}
		it.More = append(it.More, Reason{Key: "more.leak.tell", Args: map[string]any{}})
		it.Confidence = FairlySure
		it.ValidUntil = s.Now.Add(24 * time.Hour)
		record(s, v, it, "conductivity", map[string]any{})
		return it
	}
	return nil
}

// purge draws off what has become too salt, or too old, and gives water for it;
// what is missing to the full level is given in the same act.
func purge(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !doseable(s, v) || v.Reserve {
		return nil
	}
	// What evaporated concentrated the salts: first reckon at the full level.
	fill := func(level float64) float64 {
		if v.FullLevelCM <= 0 || v.AreaM2 <= 0 {
			return 1
		}
		return math.Min(math.Max(level/v.FullLevelCM, 0.2), 1)
	}
	low, mid := v.Conductivity.Low*fill(v.Level.Low), v.Conductivity.Mid*fill(v.Level.Mid)
	fresh := !v.ConductivityKnown.IsZero() && s.Now.Sub(v.ConductivityKnown) <= days(r.SaltDays)
	var share float64
	reason, with := Reason{}, "water"
	switch {
	case mid > r.SaltMS && !fresh:
		it := newItem(v, "take_reading", Do, Soon, "conductivity-salt")
		it.Reason = Reason{Key: "reason.read.conductivity", Args: bandArgs(map[string]any{"quantity": "conductivity", "limit_ms_per_cm": r.SaltMS}, "conductivity_ms_per_cm", v.Conductivity)}
		it.Confidence = Thin
		it.ValidUntil = s.Now.Add(days(2))
		record(s, v, it, "conductivity", map[string]any{})
		return it
	case mid > r.SaltMS:
		share = 1 - r.SaltTargetMS/low
		reason = Reason{Key: "reason.purge.salt", Args: bandArgs(map[string]any{"limit_ms_per_cm": r.SaltMS, "target_ms_per_cm": r.SaltTargetMS}, "conductivity_ms_per_cm", v.Conductivity)}
	case !v.MediumSince.IsZero() && s.Now.Sub(v.MediumSince) > days(r.MediumDays):
		share, with = r.PurgeShare, "medium"
		reason = Reason{Key: "reason.purge.old", Args: map[string]any{"time": v.MediumSince, "age_d": math.Floor(s.Now.Sub(v.MediumSince).Hours() / 24), "interval_d": r.MediumDays}}
	}
	litres := downTo(math.Min(share, r.PurgeShare) * v.Volume.Low)
	if share <= 0 || litres <= 0 {
		return nil
	}
	it := newItem(v, "purge", Do, Soon, v.LastLevel.ID)
	it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.5), High: litres}
	it.Reason = reason
	refill := litres
	if with == "water" && v.FullLevelCM > 0 && v.AreaM2 > 0 {
		refill += math.Max(downTo((v.FullLevelCM-v.Level.High)*v.AreaM2*10), 0)
	}
	it.More = append(it.More, Reason{Key: "more.purge." + with, Args: map[string]any{"volume_l": litres, "refill_l": refill}})
	if share > r.PurgeShare {
		it.More = append(it.More, Reason{Key: "more.purge.again", Args: map[string]any{"share_pct": 100 * r.PurgeShare}})
	}
	it.Cautions = append(it.Cautions, "caution.effluent")
	if with == "water" {
		it.Cautions = append(it.Cautions, "caution.chlorine")
	}
	it.ValidUntil = s.Now.Add(days(3))
	record(s, v, it, "purged", map[string]any{"volume_l": litres, "refill_l": refill, "with": with})
	return it
}

// rain makes room before it falls, and draws off after it what stands too high.
func rain(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Outdoors || v.Covered || v.AreaM2 <= 0 || !levelFresh(s, v) || v.Level.Mid <= 0 {
		return nil
	}
	after := func(mm float64) float64 { return v.Level.Mid + mm/10 }
	brim := v.RimCM - r.BrimCM
	args := bandArgs(map[string]any{"rim_cm": v.RimCM, "time": v.RainOn}, "rain_mm", v.Rain)
	args = bandArgs(args, "level_cm", v.Level)
	switch {
	case v.RimCM > 0 && v.Rain.Mid >= 5 && after(v.Rain.Mid) > brim:
		litres := downTo((after(v.Rain.Mid) - brim) * v.AreaM2 * 10)
		it := newItem(v, "draw_off", Do, Today, "rain-"+v.RainOn.Format(time.DateOnly))
		if v.RainOn.Before(s.Now.Add(12 * time.Hour)) {
			it.Urgency = Now
		}
		if litres > 0.3*v.Volume.Low {
			litres = downTo(0.3 * v.Volume.Low)
		}
		if litres <= 0 {
			return nil
		}
		it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.7), High: nearTo(litres * 1.3)}
		args["over_cm"] = after(v.Rain.Mid) - v.RimCM
		it.Reason = Reason{Key: "reason.rain.before", Args: args}
		it.More = append(it.More, Reason{Key: "more.rain.nothing", Args: args}, Reason{Key: "more.rain.how", Args: map[string]any{}})
		it.Cautions = append(it.Cautions, "caution.effluent")
		it.ValidUntil = endOfDay(v.RainOn)
		record(s, v, it, "drew_off", map[string]any{"volume_l": litres, "reason": "rain to come"})
		return it
	case v.RimCM > 0 && v.Rain.High >= 5 && after(v.Rain.High) > brim:
		it := newItem(v, "cover", Do, Today, "rain-"+v.RainOn.Format(time.DateOnly))
		it.Reason = Reason{Key: "reason.rain.perhaps", Args: args}
		it.More = append(it.More, Reason{Key: "more.rain.nothing", Args: args})
		it.ValidUntil = endOfDay(v.RainOn)
		record(s, v, it, "covered", map[string]any{"cover": "film"})
		return it
	case v.FullLevelCM > 0 && v.Level.Low > v.FullLevelCM+math.Max(0.1*v.FullLevelCM, 1):
		litres := downTo((v.Level.Low - v.FullLevelCM) * v.AreaM2 * 10)
		if litres <= 0 {
			return nil
		}
		it := newItem(v, "draw_off", Do, Soon, v.LastLevel.ID)
		it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.5), High: litres}
		args["full_cm"] = v.FullLevelCM
		it.Reason = Reason{Key: "reason.rain.after", Args: args}
		it.More = append(it.More, Reason{Key: "more.rain.salts", Args: map[string]any{}})
		it.Cautions = append(it.Cautions, "caution.effluent")
		it.ValidUntil = s.Now.Add(days(2))
		record(s, v, it, "drew_off", map[string]any{"volume_l": litres, "reason": "level above the full mark"})
		return it
	}
	return nil
}

// levelFresh reports whether the level was read or set lately.
func levelFresh(s *Situation, v *Vessel) bool {
	return !v.LevelKnown.IsZero() && s.Now.Sub(v.LevelKnown) <= days(s.Rules.LevelDays)
}
