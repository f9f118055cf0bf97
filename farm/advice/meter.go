package advice

import "math"

// Meter is a pH meter that the farm reads with.
type Meter struct {
	ID, Name string
	Checked  Event   // last check; zero: never
	DueDays  float64 // a check is due after [d]
	Failed   bool    // it was found failing then
	Bias     float64 // what it may show wrong by now at pH 10, one time in ten more, either way [1]
}

// meterDue asks for a check in two buffers where the last is old and a decision
// stands on the pH; once for the farm, at the vessel where it matters first.
func meterDue(s *Situation, items []Item) []Item {
	for i := range s.Meters {
		m := &s.Meters[i]
		if !m.Failed && !m.Checked.At.IsZero() && s.Now.Sub(m.Checked.At) <= days(m.DueDays) {
			continue
		}
		for j := range s.Vessels {
			v := &s.Vessels[j]
			if !phMatters(s, v) {
				continue
			}
			it := newItem(v, "calibrate", Do, Soon, m.ID+"-"+m.Checked.ID)
			it.Reason = Reason{Key: "reason.meter.never", Args: bandArgs(map[string]any{"instrument": m.Name, "bias_ph": m.Bias}, "ph_25c", v.PH25)}
			if !m.Checked.At.IsZero() {
				it.Reason.Key = "reason.meter.old"
				if m.Failed {
					it.Reason.Key = "reason.meter.failed"
				}
				it.Reason.Args["time"], it.Reason.Args["age_d"] = m.Checked.At, math.Floor(s.Now.Sub(m.Checked.At).Hours()/24)
			}
			it.More = append(it.More, Reason{Key: "more.meter.how", Args: map[string]any{}})
			it.Confidence = Sure
			it.ValidUntil = endOfDay(s.Now)
			// What the buffers show is not known beforehand.
			record(s, v, it, "checked", map[string]any{"instrument": m.ID})
			it.Record.Vessel = ""
			items = append(items, *it)
			break
		}
	}
	return items
}

// phMatters reports whether something hangs on the pH of a vessel: it was read
// with a meter lately, and carbon, or the eating of a harvest that is near, is
// decided by it.
func phMatters(s *Situation, v *Vessel) bool {
	r := &s.Rules
	if !v.Started || v.LastPH.At.IsZero() || s.Now.Sub(v.LastPH.At) > days(2*r.PHDays) || v.PH25.Mid <= 0 {
		return false
	}
	carbon := v.PH25.High > 10.2
	food := v.Food && !v.Reserve && v.PH25.Low < r.PHFood+0.3 && (v.ChanceNow >= 0.2 || !v.Ready.Early.IsZero() && v.Ready.Early.Before(s.Now.Add(days(4))))
	return carbon || food
}
