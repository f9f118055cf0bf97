package lot

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/science/num"
	"sodalake/science/process"
)

// Expected is a mass that is to be expected, with its spread.
type Expected struct {
	MassG num.Band `json:"mass_g"`        // [g]
	Off   bool     `json:"off,omitempty"` // what was weighed lies outside
}

// dryness of paste by the step it came from; what the cloth left where no step
// was noted.
var stageOf = map[string]string{"drained": "drained", "rinsed": "drained", "pressed": "pressed", "shaped": "pressed", "out_of_dryer": "dried"}

// expect fills in what each weighing should have shown, from the one before it
// and the dry matter that each stage usually has; from a sample's dry matter
// where one was dried.
func (l *Lot) expect(f *folding) {
	var dry num.Band // dry matter in it, as far as it can be told [g]
	if l.DryG != nil {
		dry = num.Band{Low: *l.DryG, Mid: *l.DryG, High: *l.DryG}
	} else if m := l.first(); m > 0 && len(l.From) == 0 {
		s, _ := process.StageOf("drained")
		dry = num.Band{Low: m * s.Low, Mid: m * s.Mid, High: m * s.High}
	}
	if !(dry.High > 0) {
		return
	}
	l.Steps = slices.Clone(l.Steps)
	for i := range l.Steps {
		st := &l.Steps[i]
		s, known := process.StageOf(stageOf[st.Step])
		if !known {
			continue
		}
		e := Expected{MassG: num.Band{Low: dry.Low / s.High, Mid: dry.Mid / s.Mid, High: dry.High / s.Low}}
		if st.MassG != nil {
			e.Off = *st.MassG < e.MassG.Low || *st.MassG > e.MassG.High
			if !e.Off && l.DryG == nil { // what was weighed tells more than what was expected
				got := num.Band{Low: *st.MassG * s.Low, Mid: *st.MassG * s.Mid, High: *st.MassG * s.High}
				dry.Low, dry.High = math.Max(dry.Low, got.Low), math.Min(dry.High, got.High)
				dry.Mid = math.Min(math.Max(got.Mid, dry.Low), dry.High)
			}
		}
		st.Expected = &e
	}
	done, pressed := process.Stage{}, process.Stage{}
	done, _ = process.StageOf("dried")
	pressed, _ = process.StageOf("pressed")
	l.DryBand = &dry
	l.Ahead = map[string]num.Band{
		"pressed": {Low: dry.Low / pressed.High, Mid: dry.Mid / pressed.Mid, High: dry.High / pressed.Low},
		"dried":   {Low: dry.Low / done.High, Mid: dry.Mid / done.Mid, High: dry.High / done.Low},
	}
}

// first is the mass off the cloth [g], 0 where it was not weighed.
func (l *Lot) first() float64 {
	sum := 0.0
	for _, h := range l.Harvests {
		sum += h.MassG
	}
	return sum
}

// keep is how long the lot keeps as it is kept; nil where nothing is known.
func (f *folding) keep(t time.Time, checks []Check) *Keep {
	dry := slices.ContainsFunc(checks, func(c Check) bool { return c.Key == Dryness && c.State == process.Passed })
	if !f.ended.IsZero() || f.rejected != nil || f.dried && !dry { // what may not be dry keeps nobody knows how long
		return nil
	}
	plan := f.b.plan(t)
	k := Keep{Form: f.form(), From: f.l.Born}
	switch {
	case f.dried:
		k.TempC, k.From = plan.StoreC, f.lastStep("out_of_dryer", f.l.Born)
	case f.site == inFreezer:
		k.TempC, k.From = plan.FreezerC, f.lastStep("into_freezer", f.l.Born)
	case f.site == inCold:
		k.TempC = plan.FridgeC
	default:
		return nil
	}
	if !math.IsNaN(f.way.temp) && f.site != onTable {
		k.TempC = f.way.temp
	}
	days, known := process.Life(k.Form, k.TempC)
	if !known {
		return nil
	}
	k.Days = days
	after := func(d float64) time.Time { return k.From.Add(time.Duration(d * 24 * float64(time.Hour))) }
	k.BestBy, k.Likely = after(days.Low), after(days.Mid)
	k.SellBy = k.BestBy
	for _, row := range process.Keepings() {
		if row.Form != k.Form {
			continue
		}
		k.Source = row.Source
		if row.SellDays > 0 && after(row.SellDays).Before(k.SellBy) {
			k.SellBy = after(row.SellDays)
		}
	}
	return &k
}

// lastStep is when a step was last done with the lot, or with the oldest of
// those it was made of.
func (f *folding) lastStep(step string, otherwise time.Time) time.Time {
	for _, s := range slices.Backward(f.l.Steps) {
		if s.Step == step {
			return s.At
		}
	}
	at := time.Time{}
	for _, p := range f.parents {
		if one := p.lastStep(step, otherwise); at.IsZero() || one.Before(at) {
			at = one
		}
	}
	if at.IsZero() {
		return otherwise
	}
	return at
}

// next is what there is to do with a lot, most pressing first.
func (f *folding) next(l *Lot) []Said {
	var out []Said
	if l.State.Ended() {
		return nil
	}
	if l.State == Rejected {
		return []Said{said("lots.next.throw_away")}
	}
	if l.Clock.Warning.Key != "" && !l.Clock.Stands {
		out = append(out, l.Clock.Warning)
	}
	missing, failed := blockers(l.Checks)
	for _, c := range failed {
		out = append(out, said("lots.next.deviation", "check", c))
	}
	for _, h := range l.Holds {
		if h.Stands() && h.EntryID != "" {
			out = append(out, said("lots.next.end_hold", "held_by", h.Key, "hold_reason", h.Reason))
		}
	}
	for _, c := range missing {
		out = append(out, said("lots.next.check", "check", c))
	}
	if f.over {
		out = append(out, said("lots.next.balance"))
	}
	switch {
	case l.NotFood:
	case l.State == OnHold && len(missing)+len(failed) == 0 && !slices.ContainsFunc(l.Holds, func(h Hold) bool { return h.Stands() }):
		out = append(out, said("lots.next.release"))
	case l.Where == process.Wet:
		out = append(out, said("lots.next.cool_or_dry"))
	case l.Where == process.Drying && l.stalled(f.b.plan(l.At).DryerGH):
		out = append(out, said("lots.next.stalled"))
	case l.Where == process.Drying:
		out = append(out, said("lots.next.weigh"))
	}
	return out
}

// stalled reports whether the weighings since the lot went into the dryer say
// that it no longer dries, although it is not dry: by what the air carries away,
// airGH [g/h], which has to be known.
func (l *Lot) stalled(airGH float64) bool {
	if airGH <= 0 || l.Ahead == nil {
		return false
	}
	var ws []process.Weighing
	var since time.Time
	for _, st := range l.Steps {
		if st.Step == "into_dryer" {
			since, ws = st.At, nil
		}
		if st.MassG != nil && !since.IsZero() {
			ws = append(ws, process.Weighing{TimeS: st.At.Sub(since).Seconds(), MassG: *st.MassG})
		}
	}
	return len(ws) > 1 && process.Stalled(ws, airGH/3600, l.Ahead["dried"].High)
}

// Soonest orders lots as they should be eaten or sold: released ones by the day
// until which they keep, the oldest first; lots that are not released, or of
// which nothing is known, are left out.
func Soonest(lots []Lot) []Lot {
	var out []Lot
	for _, l := range lots {
		if l.State == Released && l.Keep != nil {
			out = append(out, l)
		}
	}
	slices.SortStableFunc(out, func(a, b Lot) int {
		return cmp.Or(a.Keep.BestBy.Compare(b.Keep.BestBy), a.Born.Compare(b.Born), strings.Compare(a.ID, b.ID))
	})
	return out
}

// Share is what of a harvest goes which way.
type Share struct {
	Way   string  `json:"way"`    // "fresh", "frozen", "dried" or "waits": it finds no place
	MassG float64 `json:"mass_g"` // of paste [g]
	Why   []Said  `json:"why"`
}

// Today divides a harvest of pasteG [g], lying at a share solids of dry matter
// [1], by orders first, then by what there is room for: fresh as far as it finds
// an eater, dried on a day on which the dryer works, frozen, and what finds no
// place waits in the vessel. sky is the day's word: "bright", "hazy", "grey" or
// "unknown"; the lots are those there are, which take up room. The order is
// common practice, no source.
func (p *Plan) Today(pasteG, solids float64, sky string, lots []Lot) []Share {
	left := pasteG
	room := map[string]float64{"fresh": p.FridgeG + p.FreshG, "frozen": p.FreezerG, "dried": p.DryerG}
	for i := range lots {
		l := &lots[i]
		if l.State.Ended() || l.LeftG == nil || l.State == Rejected {
			continue
		}
		switch {
		case l.Form == process.FrozenPaste:
			room["frozen"] -= *l.LeftG
		case l.Where == process.Drying:
			room["dried"] -= *l.LeftG
		case l.Where == process.Cold || l.Where == process.Wet:
			room["fresh"] -= *l.LeftG
		}
	}
	why := map[string][]Said{}
	switch {
	case p.Dryer == "none":
		room["dried"], why["dried"] = 0, []Said{said("lots.today.no_dryer")}
	case p.Dryer == "sun" && sky == "bright":
		why["dried"] = []Said{said("lots.today.sun")}
	case p.Dryer == "sun" && sky == "hazy":
		room["dried"] /= 2
		why["dried"] = []Said{said("lots.today.half_sun")}
	case p.Dryer == "sun":
		room["dried"], why["dried"] = 0, []Said{said("lots.today.no_sun", "sky", sky)}
	case p.DryerGH > 0:
		done, _ := process.StageOf("dried")
		water := process.WaterToLeave(1, solids, done.Mid) // of a gram of paste [g]
		byAir := p.DryerGH * process.FullyDryS / 3600 / water
		if byAir < room["dried"] {
			room["dried"] = byAir
			why["dried"] = []Said{said("lots.today.air_carries", "g_per_h", p.DryerGH)}
		}
	}
	given := map[string]float64{}
	give := func(way string, most float64, reason Said) {
		m := math.Max(math.Min(math.Min(most, room[way]), left), 0)
		if m == 0 {
			return
		}
		given[way] += m
		room[way] -= m
		left -= m
		why[way] = append(why[way], reason)
	}
	done, _ := process.StageOf("dried")
	perDry := process.PastePerProduct(solids, 1-done.Mid)
	give("fresh", p.FreshG, said("lots.today.ordered", "mass_g", p.FreshG))
	give("dried", p.DriedG*perDry, said("lots.today.ordered", "mass_g", p.DriedG))
	give("frozen", p.FrozenG, said("lots.today.ordered", "mass_g", p.FrozenG))
	give("fresh", p.FridgeG, said("lots.today.eaters", "mass_g", p.FridgeG))
	give("dried", left, said("lots.today.dryer_room"))
	give("frozen", left, said("lots.today.freezer_room"))
	var out []Share
	for _, way := range []string{"fresh", "dried", "frozen"} {
		if given[way] > 0 || way == "dried" && len(why[way]) > 0 {
			out = append(out, Share{way, given[way], why[way]})
		}
	}
	if left > 0.5 {
		out = append(out, Share{"waits", left, []Said{said("lots.today.no_place")}})
	}
	return out
}
