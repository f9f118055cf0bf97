package advice

import (
	"maps"
	"math"
	"slices"
	"time"
)

// harvest: how much through the cloth, leaving how much. It is offered when the
// density is above the ready density more likely than not and enough stays
// behind with nine chances in ten.
//
//	share = 1 - floor / X10, at most MaxShare
//
// so that a wider spread at the same middle never takes more.
func harvest(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	last := lastOfSeason(s, v)
	if v.Reserve || v.ChanceNow < 0.5 && !last || v.Volume.Low <= 0 {
		return nil
	}
	if v.Temp.Mid < r.ColdC && v.WarmAt.IsZero() {
		return nil // coldAndBright says why
	}
	if v.Hottest.Low > 0 && v.Temp.Mid > r.HotC {
		return nil
	}
	floor, most := floorOf(r, v), r.MaxShare
	if last {
		// Nothing has to grow on from it: a reserve is alive.
		floor, most = 0, 0.9
	}
	if v.Density.Low <= math.Max(floor, 0.1) {
		return nil
	}
	share := math.Min(1-floor/v.Density.Low, most)
	litres := downTo(share * v.Volume.Low)
	if share < 0.05 || litres <= 0 {
		return nil // less than a twentieth is not worth a cloth
	}
	it := newItem(v, "harvest", Do, Today, v.LastTaken.ID)
	it.Amount = &Amount{Value: litres, Unit: "L", Low: downTo(litres * 0.5), High: litres}
	left := 1 - litres/v.Volume.Mid
	it.Reason = Reason{Key: "reason.harvest.ready", Args: bandArgs(map[string]any{
		"ready_g_per_l": readyOf(r, v), "chance": v.ChanceNow,
	}, "density_g_per_l", v.Density)}
	if last {
		it.Reason = Reason{Key: "reason.harvest.last", Args: bandArgs(map[string]any{"time": v.SeasonEnds}, "density_g_per_l", v.Density)}
	}
	dry := litres * v.Density.Mid
	it.More = append(it.More, Reason{Key: "more.harvest.leaves", Args: map[string]any{
		"volume_l": litres, "left_g_per_l": v.Density.Mid * left, "left_g_per_l_low": v.Density.Low * left, "left_g_per_l_high": v.Density.High * left,
		"dry_g": dry, "dry_g_low": litres * v.Density.Low, "dry_g_high": litres * v.Density.High, "floor_g_per_l": floor,
	}})
	it.More = append(it.More, sure(v))
	it.Cautions = append(it.Cautions, "caution.eat.checks")
	if !v.Food {
		it.Cautions = append(it.Cautions, "caution.notfood")
	}
	it.ValidUntil = endOfDay(s.Now)
	if v.Temp.Mid < r.ColdC {
		it.Urgency = Soon
		it.More = append(it.More, Reason{Key: "more.harvest.after", Args: map[string]any{"time": v.WarmAt, "cold_c": r.ColdC}})
	} else if h := s.Now.Hour(); v.Outdoors && h >= 5 && h < 10 {
		// Common practice, no source: take it in the cool of the morning, with
		// the drying day ahead.
		it.Urgency = Now
		y, m, d := s.Now.Date()
		it.ValidUntil = time.Date(y, m, d, 10, 0, 0, 0, s.Now.Location())
	}
	body := map[string]any{"volume_l": litres}
	if !v.Food {
		body["for_food"] = false
	}
	record(s, v, it, "harvested", body)
	return it
}

// lookFirst: only helices under the microscope before a harvest for food.
func lookFirst(s *Situation, v *Vessel, take *Item) *Item {
	if !v.Food {
		return nil
	}
	if !v.LastLook.At.IsZero() && s.Now.Sub(v.LastLook.At) <= time.Duration(s.Rules.LookHours*float64(time.Hour)) {
		return nil
	}
	it := newItem(v, "look", Do, take.Urgency, v.LastTaken.ID)
	it.Amount = &Amount{Value: 20, Unit: "fields", Low: 10, High: 40}
	it.Reason = Reason{Key: "reason.look.before", Args: map[string]any{}}
	if !v.LastLook.At.IsZero() {
		it.Reason = Reason{Key: "reason.look.old", Args: map[string]any{"time": v.LastLook.At}}
	}
	it.More = append(it.More, Reason{Key: "more.look.excludes", Args: map[string]any{"fields": 20}})
	it.Confidence = Sure
	it.Cautions = append(it.Cautions, "caution.look.limits")
	it.ValidUntil = take.ValidUntil
	// What was seen is not known beforehand: the entry waits for its numbers.
	record(s, v, it, "microscope", map[string]any{})
	return it
}

// feedSalts: grams of each salt that hold one gram of nitrogen, and whether
// its nitrogen is reduced. Molar masses by the IUPAC atomic weights: KNO3
// 101.10, NaNO3 84.99, urea 60.06 with two nitrogen of 14.007.
var feedSalts = map[string]struct {
	gramsPerGramN float64
	reduced       bool
}{
	"KNO3":     {101.10 / 14.007, false},
	"NaNO3":    {84.99 / 14.007, false},
	"CO(NH2)2": {60.06 / 28.014, true},
}

// NitrogenShare is the nitrogen in dry matter [g/g].
//
// Source: see growth.Composition; 96 to 105 g per kg in protein-rich product.
const NitrogenShare = 0.10

// feed replaces the nitrogen that left with harvests, or restores a floor when
// the twin says that it runs low. Nitrate has no cap; reduced nitrogen is
// capped by day and by standing pool at the low end of the volume.
func feed(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !doseable(s, v) {
		return nil
	}
	salt := v.FeedSalt
	if _, known := feedSalts[salt]; !known {
		salt = "KNO3"
	}
	kind := feedSalts[salt]
	nitrogenG := v.RemovedG * NitrogenShare
	reason := Reason{Key: "reason.feed.replaces", Args: map[string]any{"removed_g": v.RemovedG, "nitrogen_g": nitrogenG}}
	low := v.NitrogenCarries < r.NitrogenFloor
	if low {
		// A day's list gives at most the floor again, never a guess at more.
		short := (r.NitrogenFloor - math.Max(v.NitrogenCarries, 0)) * v.Volume.Low * NitrogenShare
		if short > nitrogenG {
			nitrogenG = short
			reason = Reason{Key: "reason.feed.low", Args: map[string]any{"carries_g_per_l": math.Max(v.NitrogenCarries, 0), "floor_g_per_l": r.NitrogenFloor}}
		}
	}
	grams := nitrogenG * kind.gramsPerGramN
	// Nothing is fed for crumbs: under 5 % of what the vessel holds as dry matter.
	if nitrogenG < 0.05*v.Density.Mid*v.Volume.Mid*NitrogenShare {
		return nil
	}
	it := newItem(v, "feed", Do, Today, v.LastFed.ID+"-"+v.LastTaken.ID)
	if kind.reduced {
		room := math.Min(r.UreaDayMgL-v.ReducedDayMgL, r.UreaPoolMgL-v.ReducedMgL) * v.Volume.Low / 1000
		if v.Temp.Mid < r.FeedColdC || v.Noon.High > r.FeedHotC || room <= 0 {
			return nil
		}
		if grams > room {
			grams = room
			it.More = append(it.More, Reason{Key: "more.feed.capped", Args: map[string]any{"cap_mg_per_l_d": r.UreaDayMgL, "pool_mg_per_l": r.UreaPoolMgL}})
		}
	}
	grams = downTo(grams)
	if grams <= 0 {
		return nil
	}
	it.Amount = &Amount{Value: grams, Unit: "g", Low: downTo(grams * 0.8), High: grams}
	if !kind.reduced {
		it.Amount.High = nearTo(grams * 1.15)
	}
	it.Reason = reason
	it.Reason.Args["salt"] = salt
	it.Reason.Args["mass_g"] = grams
	it.More = append(it.More, Reason{Key: "more.feed.how", Args: map[string]any{"salt": salt}})
	switch salt {
	case "CO(NH2)2":
		it.Cautions = append(it.Cautions, "caution.urea")
	default:
		it.Cautions = append(it.Cautions, "caution.nitrate")
	}
	it.ValidUntil = endOfDay(s.Now)
	// What else left with the dry matter goes in with it: one feed, not five.
	salts := map[string]float64{salt: grams}
	share := grams / kind.gramsPerGramN / NitrogenShare // dry matter that this dose replaces [g]
	for _, name := range slices.Sorted(maps.Keys(v.FeedRest)) {
		if _, nitrogen := feedSalts[name]; nitrogen {
			continue
		}
		if more := downTo(v.FeedRest[name] * math.Min(share, v.RemovedG)); more > 0 {
			salts[name] = more
			it.More = append(it.More, Reason{Key: "more.feed.also", Args: map[string]any{"with_g": more, "salts": []string{name}}})
		}
	}
	record(s, v, it, "fed", map[string]any{"salts_g": salts})
	return it
}

// carbon: baking soda when the carbon left carries little growth, with how much
// growth the dose carries, and how many days of air would bring the same. It
// acts on carbon and on pH at 25 °C, never on a reading at dawn or noon.
func carbon(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !doseable(s, v) || v.PH25.Mid <= 0 || ammoniaHere(r, v) {
		return nil
	}
	threeDays := 3 * math.Max(v.Growth.Mid, 0.02)
	if v.CarbonCarries >= threeDays || v.PH25.Mid < 10.2 {
		return nil
	}
	it := newItem(v, "add_carbon", Do, Today, v.LastPH.ID)
	grams := downTo(r.CarbonDose * v.CarbonPerGramG * v.Volume.Low)
	if grams <= 0 {
		return nil
	}
	it.Amount = &Amount{Value: grams, Unit: "g", Low: downTo(grams * 0.5), High: grams}
	it.Reason = Reason{Key: "reason.carbon.short", Args: bandArgs(map[string]any{
		"carries_g_per_l": math.Max(v.CarbonCarries, 0), "upper_ph": r.PHUpper,
	}, "ph_25c", v.PH25)}
	it.More = append(it.More, Reason{Key: "more.carbon.carries", Args: map[string]any{"mass_g": grams, "carries_g_per_l": r.CarbonDose, "salt": "NaHCO3"}})
	if v.AirDays > 0 {
		it.More = append(it.More, Reason{Key: "more.carbon.air", Args: map[string]any{"days": math.Ceil(v.AirDays)}})
	}
	if v.PH25.Mid >= r.PHStop {
		it.Reason.Key = "reason.carbon.stopped" // growth has all but stopped
	}
	it.Cautions = append(it.Cautions, "caution.carbon.salt")
	it.ValidUntil = endOfDay(s.Now)
	record(s, v, it, "fed", map[string]any{"salts_g": map[string]float64{"NaHCO3": grams}})
	return it
}

// shadeDilute: young or thinned culture bleaches in full sun.
func shadeDilute(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Outdoors || v.SideLit || v.ShadePct >= 30 || v.Density.Mid >= r.FloorSunGPerL {
		return nil
	}
	it := newItem(v, "shade", Do, Today, v.Begun.ID)
	if v.BrightNow {
		it.Urgency = Now
	}
	it.Amount = &Amount{Value: r.ShadePct, Unit: "%", Low: 30, High: 70}
	it.Reason = Reason{Key: "reason.shade.dilute", Args: bandArgs(map[string]any{"floor_g_per_l": r.FloorSunGPerL}, "density_g_per_l", v.Density)}
	it.ValidUntil = endOfDay(s.Now)
	record(s, v, it, "shaded", map[string]any{"shade_pct": r.ShadePct})
	return it
}

// unshade: a dense culture in mild weather can bear more light, in steps.
func unshade(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	if !v.Outdoors || v.SideLit || v.Reserve || v.ShadePct <= r.OpenPct+10 || v.Density.Low < r.OpenGPerL {
		return nil
	}
	mild := v.Hottest.High < r.HotC-4 && v.Dawn.Mid >= r.ColdC && v.Temp.Mid >= r.ColdC
	if !mild || v.ChanceNow >= 0.5 { // what is taken first leaves a thinner culture
		return nil
	}
	it := newItem(v, "unshade", Do, Soon, v.Begun.ID)
	it.Amount = &Amount{Value: r.OpenPct, Unit: "%", Low: r.OpenPct, High: v.ShadePct}
	it.Reason = Reason{Key: "reason.unshade.dense", Args: bandArgs(map[string]any{"open_g_per_l": r.OpenGPerL, "was_pct": v.ShadePct}, "density_g_per_l", v.Density)}
	it.More = append(it.More, Reason{Key: "more.unshade.steps", Args: map[string]any{}})
	it.ValidUntil = endOfDay(s.Now.Add(24 * time.Hour))
	record(s, v, it, "shaded", map[string]any{"shade_pct": r.OpenPct})
	return it
}

// sure says on what the density stands.
func sure(v *Vessel) Reason {
	return Reason{Key: "more.sure." + string(confidence(v)), Args: map[string]any{"time": v.LastSecchi.At, "name": v.Name}}
}
