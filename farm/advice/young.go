package advice

import (
	"math"
	"time"
)

// reserve: one that is older than its interval, or was not looked at before
// what may kill the rest.
func reserve(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Reserve {
		return nil
	}
	if v.ReserveAge >= r.ReserveDays {
		it := newItem(v, "refresh_reserve", Do, Soon, v.Begun.ID)
		it.Reason = Reason{Key: "reason.reserve.old", Args: map[string]any{"age_d": math.Floor(v.ReserveAge), "interval_d": r.ReserveDays}}
		renewRecord(s, v, it)
		return it
	}
	if why := danger(s); why != nil && (v.LastLook.At.IsZero() || s.Now.Sub(v.LastLook.At) > days(r.LookDays)) {
		it := newItem(v, "look", Do, Today, "reserve-"+v.LastLook.ID)
		it.Amount = &Amount{Value: 20, Unit: "fields", Low: 10, High: 40}
		it.Reason = Reason{Key: "reason.look.reserve", Args: map[string]any{"name": why.Name, "days": r.LookDays}}
		it.Confidence = Sure
		it.ValidUntil = s.Now.Add(days(2))
		record(s, v, it, "microscope", map[string]any{})
		return it
	}
	return nil
}

// renewRecord: three parts in four are poured off and replaced by new medium,
// which is what makes a reserve young.
func renewRecord(s *Situation, v *Vessel, it *Item) {
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(days(7))
	it.More = append(it.More, Reason{Key: "more.reserve.how", Args: map[string]any{}})
	if litres := downTo(0.75 * v.Volume.Low); litres > 0 {
		it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.7), High: litres}
		record(s, v, it, "purged", map[string]any{"volume_l": litres, "refill_l": litres, "with": "medium"})
	}
}

// danger is the first vessel to which something may happen that only a living
// reserve makes good: deadly heat, a leak, the end of the season.
func danger(s *Situation) *Vessel {
	for i := range s.Vessels {
		v := &s.Vessels[i]
		if v.Started && !v.Reserve && (v.Hottest.High > s.Rules.AlarmC || seasonNear(s, v) || leaked(v) > 0.15*v.Volume.Low && v.Volume.Low > 0) {
			return v
		}
	}
	return nil
}

// living is a reserve that is young and not on hold, nil if there is none.
func living(s *Situation) *Vessel {
	for i := range s.Vessels {
		v := &s.Vessels[i]
		if v.Started && v.Reserve && v.ReserveAge < s.Rules.ReserveDays && clean(v) {
			return v
		}
	}
	return nil
}

// clean reports that nothing is known against a culture.
func clean(v *Vessel) bool {
	return len(v.Holds) == 0 && (v.LastLook.At.IsZero() || v.LookPassed) && v.Smells.At.IsZero()
}

// anyReserve asks for a first reserve on a farm that has none, and for one
// indoors before the season ends. It is said at the vessel it is taken from.
func anyReserve(s *Situation) *Item {
	var from, near *Vessel
	for i := range s.Vessels {
		v := &s.Vessels[i]
		if v.Started && v.Reserve {
			if v.Indoor || near != nil {
				return nil // there is one
			}
			near = v
		}
		if v.Started && !v.Reserve && clean(v) && (from == nil || v.Density.Mid > from.Density.Mid) {
			from = v
		}
	}
	if from == nil {
		return nil
	}
	ends := seasonNear(s, from)
	if near != nil && !ends {
		return nil
	}
	it := newItem(from, "refresh_reserve", Do, Soon, "first-"+from.Begun.ID)
	it.Reason = Reason{Key: "reason.reserve.none", Args: map[string]any{}}
	if ends {
		it.Urgency = Today
		it.Reason = Reason{Key: "reason.reserve.season", Args: map[string]any{"time": from.SeasonEnds}}
	}
	it.Confidence = Sure
	it.More = append(it.More, Reason{Key: "more.reserve.first", Args: map[string]any{}})
	it.ValidUntil = s.Now.Add(days(7))
	return it
}

// scaleUp pours a dark starter into the next empty vessel.
//
//	start = poured × density / volume, at least StartGPerL under shade
//
// at the low end of density and volume; never more than StepFold, never the
// whole starter.
func scaleUp(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Starter || v.Into == nil || v.Into.FullL <= 0 || v.ChanceNow < 0.5 || !doseable(s, v) {
		return nil
	}
	floor := r.StartGPerL
	pour := math.Min(r.StartShare*v.Volume.Low, v.Into.FullL*floor/math.Max(v.Density.Mid, 1e-9)*2)
	pour = downTo(math.Min(pour, v.Into.FullL/2))
	total := math.Min(math.Min(pour*v.Density.Low/floor, pour*r.StepFold), v.Into.FullL)
	medium := downTo(total - pour)
	if pour <= 0 || medium <= 0 {
		return nil
	}
	it := newItem(v, "scale_up", Do, Today, v.LastTaken.ID+"-"+v.Into.ID)
	it.Amount = &Amount{Value: pour, Unit: "L", Low: downTo(pour * 0.7), High: pour}
	it.Reason = Reason{Key: "reason.scale.ready", Args: bandArgs(map[string]any{"to": v.Into.Name, "volume_l": pour}, "density_g_per_l", v.Density)}
	start := pour / (pour + medium)
	it.More = append(it.More, Reason{Key: "more.scale.medium", Args: map[string]any{
		"medium_l": medium, "start_g_per_l": v.Density.Mid * start, "start_g_per_l_low": v.Density.Low * start, "start_g_per_l_high": v.Density.High * start,
	}}, Reason{Key: "more.scale.kept", Args: map[string]any{"kept_l": math.Max(v.Volume.Mid-pour, 0)}})
	if v.Into.Outdoors {
		it.More = append(it.More, Reason{Key: "more.scale.shade", Args: map[string]any{"shade_pct": r.ShadePct}})
	}
	it.ValidUntil = endOfDay(s.Now)
	record(s, v, it, "split", map[string]any{"to": v.Into.ID, "volume_l": pour})
	return it
}

// doNotInoculate: from a culture that something speaks against, or into water
// that is not fit to receive one.
func doNotInoculate(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Starter && !v.Reserve {
		return nil
	}
	var key, anchor string
	args := map[string]any{}
	switch {
	case !v.LastLook.At.IsZero() && !v.LookPassed:
		key, anchor, args["time"] = "reason.noinoc.foreign", v.LastLook.ID, v.LastLook.At
	case len(v.Holds) > 0:
		key, anchor, args["time"] = "reason.noinoc.held", v.Holds[0].ID, v.Holds[0].At
	case !v.Smells.At.IsZero():
		key, anchor, args["time"] = "reason.noinoc.smell", v.Smells.ID, v.Smells.At
	case v.Starter && v.Into != nil && v.Into.ChlorineMg > r.ChlorineMgL:
		key, anchor = "reason.noinoc.chlorine", v.Into.ID
		args["chlorine_mg_per_l"], args["limit_mg_per_l"], args["to"] = v.Into.ChlorineMg, r.ChlorineMgL, v.Into.Name
	case v.Starter && v.Into != nil && v.ChanceNow >= 0.5 && v.Into.Water.Mid > 0 && v.Into.Water.Mid < r.ColdC:
		key, anchor = "reason.noinoc.cold", v.Into.ID
		args = bandArgs(map[string]any{"limit_c": r.ColdC, "to": v.Into.Name}, "temp_c", v.Into.Water)
	case v.Starter && v.Into != nil && v.ChanceNow < 0.5 && v.Density.Mid < r.StartGPerL*2:
		key, anchor = "reason.noinoc.thin", v.Begun.ID
		args = bandArgs(map[string]any{"start_g_per_l": r.StartGPerL, "to": v.Into.Name}, "density_g_per_l", v.Density)
	default:
		return nil
	}
	it := newItem(v, "do_not_inoculate", Hold, Soon, anchor)
	it.Reason = Reason{Key: key, Args: args}
	it.Confidence = FairlySure
	it.ValidUntil = s.Now.Add(24 * time.Hour)
	return it
}

// quarantine: a culture from outside, or one with foreign life in it, is kept
// apart until it has been looked at twice.
func quarantine(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if v.Quarantined {
		return nil
	}
	var key, anchor, words string
	args := map[string]any{}
	switch {
	case !v.FromOutside.At.IsZero() && s.Now.Sub(v.FromOutside.At) < days(r.QuarantineDays) && v.CleanLooks < r.CleanLooks:
		key, anchor, words = "reason.quarantine.outside", v.FromOutside.ID, "came from outside"
		args["time"], args["looks"], args["wanted"] = v.FromOutside.At, v.CleanLooks, r.CleanLooks
	case !v.LastLook.At.IsZero() && !v.LookPassed && (v.Offspring || len(s.Vessels) > 1):
		key, anchor, words = "reason.quarantine.foreign", v.LastLook.ID, "foreign life seen"
		args["time"] = v.LastLook.At
	default:
		return nil
	}
	it := newItem(v, "quarantine", Hold, Today, anchor)
	it.Reason = Reason{Key: key, Args: args}
	it.More = append(it.More, Reason{Key: "more.quarantine.how", Args: map[string]any{}})
	if v.Offspring {
		it.More = append(it.More, Reason{Key: "more.quarantine.offspring", Args: map[string]any{}})
	}
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(days(3))
	record(s, v, it, "quarantined", map[string]any{"reason": words})
	return it
}
