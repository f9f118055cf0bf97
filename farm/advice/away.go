package advice

import (
	"math"
	"time"
)

// neighbour are the acts that somebody who only minds the farm may do: nothing
// that doses, harvests or moves culture.
var neighbour = map[string]bool{
	"stir": true, "vent": true, "shut": true, "shade": true, "cover": true, "top_up_water": true, "take_reading": true, "visit": true, "wait": true,
}

// away reports whether nobody of the farm is there now.
func away(s *Situation) bool {
	a := s.Absence
	return !a.From.IsZero() && !s.Now.Before(a.From) && (a.Until.IsZero() || s.Now.Before(a.Until))
}

// leaving reports whether an absence begins within the days it takes to prepare
// for it.
func leaving(s *Situation) bool {
	a := s.Absence
	return !a.From.IsZero() && s.Now.Before(a.From) && a.From.Before(s.Now.Add(days(s.Rules.LeaveDays)))
}

// silent reports whether nothing was noted for so long that nothing is dosed
// unseen.
func silent(s *Situation) bool {
	return !s.LastNoted.IsZero() && s.Now.Sub(s.LastNoted) > days(s.Rules.SilenceDays)
}

// prepare says once what makes a vessel stand an absence.
func prepare(s *Situation, v *Vessel) *Item {
	if !leaving(s) || !v.Started {
		return nil
	}
	until := s.Absence.Until
	if until.IsZero() {
		until = s.Absence.From.Add(days(7))
	}
	gone := until.Sub(s.Absence.From).Hours() / 24
	it := newItem(v, "prepare", Do, Today, s.Absence.From.Format(time.DateOnly))
	it.Reason = Reason{Key: "reason.leave.before", Args: map[string]any{"time": s.Absence.From, "days": math.Ceil(gone)}}
	add := func(key string, args map[string]any) { it.More = append(it.More, Reason{Key: key, Args: args}) }
	if v.FullLevelCM > 0 && v.Level.Mid > 0 && v.Level.Mid < v.FullLevelCM {
		add("more.leave.water", map[string]any{"full_cm": v.FullLevelCM})
	}
	if v.Outdoors && v.ShadePct < s.Rules.ShadePct {
		add("more.leave.shade", map[string]any{"shade_pct": s.Rules.ShadePct})
	}
	if v.Stirring != "continuous" && !v.Reserve {
		add("more.leave.stir", map[string]any{})
	}
	if feedSalts[v.FeedSalt].reduced {
		add("more.leave.nitrate", map[string]any{})
	}
	if v.ChanceNow >= 0.5 && !v.Reserve {
		add("more.leave.thin", map[string]any{})
	}
	add("more.leave.neighbour", map[string]any{})
	it.Confidence = Sure
	it.ValidUntil = s.Absence.From
	return it
}

// visit asks to go and look, after days without a note, before anything is done
// by the model alone.
func visit(s *Situation, v *Vessel) *Item {
	if !silent(s) || !v.Started {
		return nil
	}
	it := newItem(v, "visit", Do, Today, s.LastNoted.Format(time.DateOnly))
	it.Reason = Reason{Key: "reason.silence.visit", Args: map[string]any{"time": s.LastNoted, "age_d": math.Floor(s.Now.Sub(s.LastNoted).Hours() / 24)}}
	it.More = append(it.More, Reason{Key: "more.silence.first", Args: map[string]any{}})
	it.Confidence = Sure
	it.ValidUntil = s.Now.Add(days(1))
	// What is found is not known beforehand: the entry waits for its numbers.
	record(s, v, it, "reading", map[string]any{})
	return it
}

// bearable keeps of a vessel's items those that can stand on a day when nobody
// has looked, or when only somebody who minds the farm is there.
func bearable(s *Situation, v *Vessel, items []Item) []Item {
	quiet, gone := silent(s), away(s)
	if !quiet && !gone {
		return items
	}
	kept := items[:0]
	dropped := false
	for _, it := range items {
		switch {
		case it.Class == Stop, it.Class == Hold:
		case quiet && (it.Act == "harvest" || it.Act == "look" || it.Amount != nil && (it.Amount.Unit == "g" || it.Amount.Unit == "L")):
			dropped = true
			continue
		case gone && it.Class == Do && !neighbour[it.Act]:
			dropped = true
			continue
		case it.Class == Wait && gone:
			it.Reason = Reason{Key: "reason.wait.away", Args: it.Reason.Args}
			it.Reason.Args["until"] = s.Absence.Until
			if s.Absence.Until.IsZero() {
				delete(it.Reason.Args, "until")
				it.Reason.Key = "reason.wait.gone"
			}
		}
		kept = append(kept, it)
	}
	if dropped && !hasAct(kept, "wait") && !hasAct(kept, "visit") {
		if w := wait(s, v); w != nil {
			w.Reason.Key = "reason.wait.held"
			if gone {
				w.Reason.Key = "reason.wait.gone"
				if !s.Absence.Until.IsZero() {
					w.Reason.Key, w.Reason.Args["until"] = "reason.wait.away", s.Absence.Until
				}
			}
			kept = append(kept, *w)
		}
	}
	return kept
}
