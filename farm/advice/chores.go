package advice

import (
	"math"
	"slices"
	"strings"
	"time"
)

// holdLots: a lot that has been wet and warm too long, or came from a vessel in
// which something foreign was found since.
func holdLots(s *Situation) []Item {
	r := &s.Rules
	var out []Item
	for i := range s.Lots {
		l := &s.Lots[i]
		v := vesselNamed(s, l.Vessel)
		if l.Held || l.Gone || v == nil {
			continue
		}
		wet := s.Now.Sub(l.OffPond).Hours()
		var it *Item
		switch {
		case v.Food && !v.LastLook.At.IsZero() && !v.LookPassed && v.LastLook.At.Sub(l.OffPond) < days(7) && s.Now.Sub(l.OffPond) < days(60):
			it = newItem(v, "hold_lot", Hold, Today, l.ID)
			it.Reason = Reason{Key: "reason.lot.foreign", Args: map[string]any{"lot": l.ID, "time": v.LastLook.At}}
		case !l.Settled && wet > r.WetHours && wet < 14*24:
			it = newItem(v, "hold_lot", Hold, Now, l.ID)
			it.Reason = Reason{Key: "reason.lot.wet", Args: map[string]any{"lot": l.ID, "time": l.OffPond, "wet_h": wet, "limit_h": r.WetHours}}
		default:
			continue
		}
		it.Confidence = Sure
		it.Cautions = append(it.Cautions, "caution.eat.lot")
		it.ValidUntil = s.Now.Add(24 * time.Hour)
		record(s, v, it, "held", map[string]any{"reason": strings.TrimPrefix(it.Reason.Key, "reason.lot."), "lot": l.ID})
		it.Record.Vessel = "" // the lot is held, not the vessel
		out = append(out, *it)
	}
	return out
}

func vesselNamed(s *Situation, id string) *Vessel {
	for i := range s.Vessels {
		if s.Vessels[i].ID == id {
			return &s.Vessels[i]
		}
	}
	return nil
}

// chores are what the farm needs that no vessel asks for; they are said at the
// vessel where something is harvested, else at the first that grows.
func chores(s *Situation, harvests *Vessel) []Item {
	at := harvests
	for i := range s.Vessels {
		if at == nil && s.Vessels[i].Started {
			at = &s.Vessels[i]
		}
	}
	if at == nil {
		return nil
	}
	var out []Item
	for _, it := range []*Item{cleaning(s, at, harvests != nil), calibration(s, at), buying(s, at)} {
		if it != nil {
			out = append(out, *it)
		}
	}
	return out
}

// cleaning asks for all tools that are due in one item: before a harvest those
// that were used since they were cleaned, and at any time those whose interval
// has passed.
func cleaning(s *Situation, at *Vessel, harvest bool) *Item {
	var ids, names []string
	key := "reason.clean.due"
	for i := range s.Tools {
		t := &s.Tools[i]
		used := t.EveryUse && harvest && !t.Used.At.IsZero() && !t.Cleaned.At.After(t.Used.At)
		old := t.EveryDays > 0 && (t.Cleaned.At.IsZero() || s.Now.Sub(t.Cleaned.At) > days(t.EveryDays))
		if !used && !old {
			continue
		}
		if used {
			key = "reason.clean.used"
		}
		ids, names = append(ids, t.ID), append(names, t.Name)
	}
	if len(ids) == 0 {
		return nil
	}
	urgency := Soon
	if key == "reason.clean.used" {
		urgency = Today
	}
	it := newItem(at, "clean", Do, urgency, strings.Join(ids, "-"))
	it.Reason = Reason{Key: key, Args: map[string]any{"names": names}}
	it.Cautions = append(it.Cautions, "caution.clean.mix")
	it.Confidence = Sure
	it.ValidUntil = endOfDay(s.Now)
	record(s, at, it, "cleaned", map[string]any{"what": strings.Join(names, ", "), "tools": ids})
	it.Record.Vessel = ""
	return it
}

// calibration asks for the check of the instrument that is most overdue.
func calibration(s *Situation, at *Vessel) *Item {
	var worst *Instrument
	most := 0.0
	for i := range s.Instruments {
		in := &s.Instruments[i]
		if in.EveryDays <= 0 && !in.Failed || slices.ContainsFunc(s.Meters, func(m Meter) bool { return m.ID == in.ID }) {
			continue // those that read pH have a rule of their own, which knows what hangs on it
		}
		over := math.Inf(1)
		if !in.Checked.At.IsZero() && !in.Failed {
			over = s.Now.Sub(in.Checked.At).Hours()/24 - in.EveryDays
		}
		if over > most {
			worst, most = in, over
		}
	}
	if worst == nil {
		return nil
	}
	it := newItem(at, "calibrate", Do, Soon, worst.ID+"-"+worst.Checked.ID)
	args := map[string]any{"instrument": worst.Name, "interval_d": worst.EveryDays}
	it.Reason = Reason{Key: "reason.calibrate.never", Args: args}
	if !worst.Checked.At.IsZero() {
		it.Reason.Key = "reason.calibrate.due"
		args["time"], args["age_d"] = worst.Checked.At, math.Floor(s.Now.Sub(worst.Checked.At).Hours()/24)
		if worst.Failed {
			it.Reason.Key = "reason.calibrate.failed"
		}
	}
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(days(7))
	// How it comes out is not known beforehand: the entry waits for its result.
	record(s, at, it, "checked", map[string]any{"instrument": worst.ID})
	it.Record.Vessel = ""
	return it
}

// buying names in one item all that runs out before an order would come. Buying
// is recorded on the shelf, with lot and mass, so the item carries no entry.
func buying(s *Situation, at *Vessel) *Item {
	r := &s.Rules
	var first *Need
	var more []Reason
	for i := range s.Needs {
		n := &s.Needs[i]
		if n.RateGPD <= 0 || n.HasOther || n.RunsOut.Early.IsZero() || n.RunsOut.Early.After(s.Now.Add(days(r.SupplyDays))) {
			continue
		}
		if first == nil || n.RunsOut.Early.Before(first.RunsOut.Early) {
			if first != nil {
				more = append(more, buyAlso(first))
			}
			first = n
		} else {
			more = append(more, buyAlso(n))
		}
	}
	if first == nil {
		return nil
	}
	it := newItem(at, "buy", Do, Soon, first.Of)
	quarter := nearTo(first.RateGPD * 90)
	it.Amount = &Amount{Value: quarter, Unit: "g", Low: nearTo(first.RateGPD * 30), High: nearTo(first.RateGPD * 180)}
	if quarter >= 5000 { // sold by the sack
		it.Amount = &Amount{Value: quarter / 1000, Unit: "kg", Low: it.Amount.Low / 1000, High: it.Amount.High / 1000}
	}
	it.Reason = Reason{Key: "reason.buy.runsout", Args: map[string]any{"what": first.Name, "left_g": first.LeftG, "early": first.RunsOut.Early}}
	if !first.RunsOut.Early.After(s.Now.Add(days(3))) {
		it.Urgency = Today
	}
	it.More = append(it.More, Reason{Key: "more.buy.quarter", Args: map[string]any{"buy_g": quarter}})
	it.More = append(it.More, more...)
	it.Confidence = FairlySure
	it.ValidUntil = s.Now.Add(days(7))
	return it
}

func buyAlso(n *Need) Reason {
	return Reason{Key: "more.buy.also", Args: map[string]any{"what": n.Name, "early": n.RunsOut.Early}}
}
