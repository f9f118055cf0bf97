package advice

import (
	"math"
	"time"
)

// Worth is what a reading taken now is expected to do for the next decision on a
// vessel: the day on which it is ready or, where it is ready, how much to take.
type Worth struct {
	Kind  string  // of the entry
	Share float64 // of the decision's spread that it takes away [1]
	Last  Event   // the last of the kind; zero: never
}

// worthReading asks for the reading that narrows the next decision most, with by
// how much, where that is worth a walk to the pond:
//
//	after = width · (1 − share)
//
// width being that of eight times in ten. It asks for a kind again only when the
// last is half a day old.
func worthReading(s *Situation, v *Vessel) *Item {
	r := &s.Rules
	for _, w := range v.Worth {
		if w.Share < r.WorthShare {
			return nil // they are in order
		}
		if !w.Last.At.IsZero() && s.Now.Sub(w.Last.At) < 12*time.Hour {
			continue
		}
		args := bandArgs(map[string]any{"quantity": w.Kind, "share_pct": 100 * w.Share}, "density_g_per_l", v.Density)
		key := ""
		switch early, mid, late := v.Ready.Early, v.Ready.Mid, v.Ready.Late; {
		case v.ChanceNow >= 0.5:
			floor := floorOf(r, v)
			take := func(x float64) float64 {
				return math.Max(math.Min(1-floor/x, r.MaxShare), 0) * v.Volume.Mid
			}
			low, high := take(v.Density.Low), take(v.Density.High)
			if high-low < 0.1*v.Volume.Mid {
				continue // what can be taken is known well enough
			}
			key = "reason.read.worth_amount"
			args["take_l"], args["take_l_low"], args["take_l_high"] = (low+high)/2, low, high
			args["width_l"], args["after_l"] = nearTo(high-low), nearTo((high-low)*(1-w.Share))
		case early.IsZero() || mid.IsZero():
			continue // too far off for a day to hang on it
		case late.IsZero():
			key = "reason.read.worth_open"
			args["early"], args["mid"] = early, mid
		default:
			width := late.Sub(early).Hours() / 24
			after := width * (1 - w.Share)
			if width < r.WorthDays || math.Round(after) >= math.Round(width) {
				continue
			}
			key = "reason.read.worth"
			args["early"], args["mid"], args["late"] = early, mid, late
			args["width_d"], args["after_d"] = math.Round(width), math.Max(math.Round(after), 1)
		}
		it := newItem(v, "take_reading", Do, Today, w.Kind+"-"+w.Last.ID)
		it.Reason = Reason{Key: key, Args: args}
		it.Confidence = FairlySure
		it.More = append(it.More, Reason{Key: "more.read.worth", Args: map[string]any{"quantity": w.Kind, "share_pct": 100 * w.Share}})
		it.ValidUntil = endOfDay(s.Now)
		record(s, v, it, w.Kind, map[string]any{})
		return it
	}
	return nil
}
