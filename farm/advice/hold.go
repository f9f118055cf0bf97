package advice

import (
	"math"
	"time"
)

// stopFeeding: ammonia smelled or foreseen, heat, cold or a stopped pump while
// reduced nitrogen stands in the water.
func stopFeeding(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	var key, anchor string
	args := map[string]any{}
	switch {
	case !v.Smells.At.IsZero() && v.SmellsOf == "ammonia":
		key, anchor = "reason.stopfeed.smell", v.Smells.ID
		args["time"] = v.Smells.At
	case v.FreeAmmonia.High > r.AmmoniaStopMM:
		key, anchor = "reason.stopfeed.ammonia", v.LastFed.ID
		args = bandArgs(map[string]any{"limit_mm": r.AmmoniaStopMM}, "ammonia_mm", v.FreeAmmonia)
	case v.ReducedMgL > r.UreaPoolMgL:
		key, anchor = "reason.stopfeed.pool", v.LastFed.ID
		args["pool_mg_per_l"], args["limit_mg_per_l"] = v.ReducedMgL, r.UreaPoolMgL
	case !v.Unstirred.At.IsZero() && feedSalts[v.FeedSalt].reduced:
		key, anchor = "reason.stopfeed.still", v.Unstirred.ID
		args["time"] = v.Unstirred.At
	default:
		return nil
	}
	it := newItem(v, "stop_feeding", Stop, Today, anchor)
	it.Reason = Reason{Key: key, Args: args}
	it.More = append(it.More, Reason{Key: "more.stopfeed.until", Args: map[string]any{}})
	it.Cautions = append(it.Cautions, "caution.ammonia.air", "caution.ammonia.noalkali")
	if v.FreeAmmonia.Mid > r.AmmoniaStopMM || v.SmellsOf == "ammonia" {
		it.Urgency = Now
	}
	it.ValidUntil = s.Now.Add(24 * time.Hour)
	return it
}

// holdHarvest: what bars a harvest for food until a person lifts it or the
// cause has passed.
func holdHarvest(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Food || v.Reserve {
		return nil
	}
	var key, anchor string
	args := map[string]any{}
	switch {
	case len(v.Holds) > 0:
		h := v.Holds[0]
		key, anchor = h.Why, h.ID
		args["time"], args["smell"], args["text"] = h.At, h.Of, h.Of
	case !v.LastLook.At.IsZero() && !v.LookPassed:
		key, anchor = "reason.hold.foreign", v.LastLook.ID
		args["time"] = v.LastLook.At
	case !v.FromOutside.At.IsZero() && v.CleanLooks < r.CleanLooks:
		key, anchor = "reason.hold.outside", v.FromOutside.ID
		args["time"], args["looks"], args["wanted"] = v.FromOutside.At, v.CleanLooks, r.CleanLooks
	case !v.Smells.At.IsZero():
		key, anchor = "reason.hold.smell", v.Smells.ID
		args["time"], args["smell"] = v.Smells.At, v.SmellsOf
	case v.FreeAmmonia.Mid > r.AmmoniaStopMM:
		key, anchor = "reason.hold.ammonia", v.LastFed.ID
		args = bandArgs(args, "ammonia_mm", v.FreeAmmonia)
	case v.PHLow48 > 0 && v.PHLow48 < r.PHFood && v.ChanceNow >= 0.2:
		key, anchor = "reason.hold.ph", v.LastPH.ID
		args["ph_25c"], args["limit_ph"] = v.PHLow48, r.PHFood
	default:
		return nil
	}
	it := newItem(v, "hold_harvest", Hold, Today, anchor)
	it.Reason = Reason{Key: key, Args: args}
	it.Cautions = append(it.Cautions, "caution.eat.never")
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(24 * time.Hour)
	return it
}

// doubtReading: a reading that is not believed is taken again before anything
// stands on it; several in a row point at the instrument.
func doubtReading(s *Situation, v *Vessel, d Doubtful) *Item {
	it := newItem(v, "take_reading", Doubt, Today, d.ID)
	it.Reason = Reason{Key: "reason.doubt." + d.Kind, Args: bandArgs(map[string]any{"value": d.Value, "time": d.At, "quantity": d.Quantity}, "expected", d.Expected)}
	if d.Again >= 2 {
		it.Act = "check_instrument"
		it.ID = v.ID + ".check_instrument." + d.ID
		it.More = append(it.More, Reason{Key: "more.doubt.instrument", Args: map[string]any{"again": d.Again}})
	}
	it.More = append(it.More, Reason{Key: "more.doubt.unchanged", Args: map[string]any{}})
	it.ValidUntil = s.Now.Add(days(2))
	it.Confidence = FairlySure
	kind := d.Kind
	record(s, v, it, kind, map[string]any{})
	return it
}

// reading asks for the one reading that the next decision stands on.
func reading(s *Situation, v *Vessel, due bool) *Item {
	r := &s.Rules
	age := func(e Event) float64 {
		if e.At.IsZero() {
			return math.Inf(1)
		}
		return s.Now.Sub(e.At).Hours() / 24
	}
	wide := v.Density.Low > 0 && v.Density.High/v.Density.Low > 2
	crossing := !v.Ready.Early.IsZero() && v.Ready.Early.Before(s.Now.Add(days(3)))
	var kind, key string
	var last Event
	for _, d := range v.Doubts {
		if d.Kind == "secchi" || d.Kind == "ph" || d.Kind == "level" {
			return nil // that reading is asked for again already
		}
	}
	switch {
	case age(v.LastLevel) > r.LevelDays && v.LevelKnown.IsZero(), s.Now.Sub(v.LevelKnown) > days(r.LevelDays):
		kind, key, last = "level", "reason.read.level", v.LastLevel
	case due && age(v.LastSecchi) > 1:
		if it := worthReading(s, v); it != nil && it.Record.Kind == "secchi" {
			return it
		}
		kind, key, last = "secchi", "reason.read.before", v.LastSecchi
	case worthReading(s, v) != nil:
		return worthReading(s, v)
	case age(v.LastSecchi) > r.ReadingDays && (wide || crossing || age(v.LastSecchi) > 2*r.ReadingDays):
		kind, key, last = "secchi", "reason.read.secchi", v.LastSecchi
	case age(v.LastPH) > r.PHDays:
		kind, key, last = "ph", "reason.read.ph", v.LastPH
	default:
		return nil
	}
	it := newItem(v, "take_reading", Do, Today, kind+"-"+last.ID)
	it.Reason = Reason{Key: key, Args: bandArgs(map[string]any{"quantity": kind}, "density_g_per_l", v.Density)}
	if last.At.IsZero() {
		it.Reason.Key = map[string]string{"level": "reason.read.level_never", "secchi": "reason.read.secchi_never", "ph": "reason.read.ph_never"}[kind]
	} else {
		it.Reason.Args["time"] = last.At
		it.Reason.Args["age_d"] = math.Floor(age(last))
	}
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(days(2))
	record(s, v, it, kind, map[string]any{})
	return it
}

// wait: nothing yet, with the band of dates and what would change it.
func wait(s *Situation, v *Vessel) *Item {
	if v.Reserve {
		return nil
	}
	it := newItem(v, "wait", Wait, Soon, v.LastTaken.ID)
	args := bandArgs(map[string]any{"ready_g_per_l": readyOf(&s.Rules, v)}, "density_g_per_l", v.Density)
	key := "reason.wait.growing"
	early, mid, late := v.Ready.Early, v.Ready.Mid, v.Ready.Late
	switch {
	case early.IsZero():
		key = "reason.wait.beyond" // not within the horizon, not even early
	case mid.IsZero():
		key = "reason.wait.early"
	case late.IsZero():
		key = "reason.wait.open"
	}
	for name, t := range map[string]time.Time{"early": early, "mid": mid, "late": late} {
		if !t.IsZero() {
			args[name] = t
		}
	}
	if v.ChanceNow >= 0.5 {
		key = "reason.wait.held"
	}
	it.Reason = Reason{Key: key, Args: args}
	if early.IsZero() && v.ChanceNow < 0.5 {
		args["days"] = 10 // the horizon: not before then
	}
	it.More = append(it.More, Reason{Key: "more.wait.change", Args: map[string]any{}})
	it.ValidUntil = s.Now.Add(24 * time.Hour)
	return it
}
