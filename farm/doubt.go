package farm

import (
	"fmt"
	"slices"
	"time"
)

// Doubt is a reason not to believe an entry as it stands. Doubted entries are
// kept and shown; what is reckoned from the journal leaves them aside.
type Doubt struct {
	Key     string         `json:"key"`             // one of DoubtKeys
	Field   string         `json:"field,omitempty"` // what it speaks of, "body.ph"; "" for the whole entry
	Message string         `json:"message"`         // in English, for those without a catalogue
	Args    map[string]any `json:"args,omitempty"`  // for the catalogue's sentence; numbers carry their unit in the name

	// nonsense is set where a person at a form can only have slipped: the form
	// refuses it. What was written elsewhere, maybe days ago, is kept.
	nonsense bool
}

// The closed list of doubts.
const (
	DoubtRange    = "doubt.range"            // far from what ponds show
	DoubtClock    = "doubt.clock_ahead"      // it happened after it was received
	DoubtDeeper   = "doubt.deeper"           // a disc lost below the floor of the vessel
	DoubtAboveRim = "doubt.above_rim"        // a level above the rim
	DoubtMore     = "doubt.more_than_vessel" // a volume that the vessel cannot hold
	DoubtFlagged  = "doubt.flagged"          // its maker doubts it
	DoubtRivals   = "doubt.rivals"           // corrected in more than one way
	DoubtRetired  = "doubt.retired"          // the vessel was out of use
)

// DoubtKeys lists the keys of the catalogue that doubts use.
var DoubtKeys = []string{
	DoubtRange, DoubtClock, DoubtDeeper, DoubtAboveRim, DoubtMore, DoubtFlagged, DoubtRivals, DoubtRetired,
}

// clockTolerance is how far two clocks may differ that are both right: common
// practice, no source.
const clockTolerance = 2 * time.Minute

// doubts returns what speaks against a reading, an act or a lot's entry: its
// numbers by themselves, its time against when it was received, and its numbers
// against the vessel as it stood then.
func (p *Present) doubts(e Entry, k *Kind, b Body, flows []Flow) []Doubt {
	var out []Doubt
	if !e.ReceivedAt.IsZero() && e.At.After(e.ReceivedAt.Add(clockTolerance)) {
		ahead := e.At.Sub(e.ReceivedAt)
		out = append(out, Doubt{
			Key: DoubtClock, Field: "at", nonsense: true,
			Message: fmt.Sprintf("at lies %s ahead of the farm's clock", roughly(ahead)),
			Args:    map[string]any{"ahead_min": ahead.Minutes()},
		})
	}
	for _, key := range sortedKeys(b.numbers) {
		f := k.field(key)
		if v := b.numbers[key]; f.Likely != (Span{}) && !f.Likely.Holds(v) {
			out = append(out, Doubt{
				Key: DoubtRange, Field: "body." + key,
				Message: fmt.Sprintf("body.%s %s is outside the usual %s", key, shortNumber(v), f.Likely),
				Args:    map[string]any{"key": key, "value": v, "low": f.Likely.Lo, "high": f.Likely.Hi},
			})
		}
	}
	if slices.Contains(b.List("flags"), "doubtful") {
		out = append(out, Doubt{Key: DoubtFlagged, Message: "its maker doubts it"})
	}
	return append(out, p.against(e, k, b, flows)...)
}

// against returns the doubts that come of the vessels as they stood then.
func (p *Present) against(e Entry, k *Kind, b Body, flows []Flow) []Doubt {
	var out []Doubt
	if v, ok := p.vesselSpec(e.Vessel, e.At); ok {
		if v.Retired {
			out = append(out, Doubt{Key: DoubtRetired, Field: "vessel", Message: fmt.Sprintf("vessel %q was out of use", v.ID)})
		}
		out = append(out, levels(v, k, b)...)
	}
	for _, f := range flows {
		for _, end := range []string{f.From, f.To} {
			v, ok := p.vesselSpec(end, e.At)
			if !ok {
				continue
			}
			most := v.CapacityL()
			if f.VolumeL > most*(1+1e-9) && most > 0 {
				key := "volume_l"
				if f.VolumeL != b.numbers[key] {
					key = "refill_l"
				}
				out = append(out, Doubt{
					Key: DoubtMore, Field: "body." + key, nonsense: true,
					Message: fmt.Sprintf("body.%s %s is more than the %s L that %s can hold", key, shortNumber(f.VolumeL), shortNumber(most), v.ID),
					Args:    map[string]any{"vessel": v.ID, "volume_l": f.VolumeL, "capacity_l": most},
				})
			}
		}
	}
	return slices.CompactFunc(out, func(a, b Doubt) bool { return a.Key == b.Key && a.Field == b.Field })
}

// levels returns the doubts about depths in a body against the vessel v.
func levels(v Vessel, k *Kind, b Body) []Doubt {
	var out []Doubt
	for _, key := range []string{"secchi_cm", "level_cm", "level_after_cm", "depth_cm"} {
		d, ok := b.numbers[key]
		if !ok || key == "secchi_cm" && b.op(k, key) == ">" {
			continue // seen to the floor
		}
		rim := v.RimCM()
		if rim == 0 || d <= rim*(1+1e-9) {
			continue
		}
		doubt := Doubt{
			Key: DoubtAboveRim, Field: "body." + key, nonsense: true,
			Message: fmt.Sprintf("body.%s %s is above the rim of %s at %s cm", key, shortNumber(d), v.ID, shortNumber(rim)),
			Args:    map[string]any{"vessel": v.ID, "value_cm": d, "rim_cm": rim},
		}
		if key == "secchi_cm" || key == "depth_cm" {
			doubt.Key = DoubtDeeper
			doubt.Message = fmt.Sprintf("body.%s %s is deeper than %s, which is %s cm", key, shortNumber(d), v.ID, shortNumber(rim))
		}
		out = append(out, doubt)
	}
	return out
}

// roughly says a span in the largest unit that fits it.
func roughly(d time.Duration) string {
	switch {
	case d >= 48*time.Hour:
		return fmt.Sprintf("%.0f days", d.Hours()/24)
	case d >= 2*time.Hour:
		return fmt.Sprintf("%.0f hours", d.Hours())
	default:
		return fmt.Sprintf("%.0f minutes", d.Minutes())
	}
}
