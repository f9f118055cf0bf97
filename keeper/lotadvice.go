package keeper

import (
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/lot"
	"sodalake/science/process"
)

// lotDays is how far back the day list looks at lots and at the uses of tools
// [d].
const lotDays = 60

// lotsInto fills in what the day list knows of lots and tools. The caller holds
// k.mu.
func (k *Keeper) lotsInto(s *advice.Situation, at time.Time) {
	k.readBook(at, func(p *farm.Present, b *lot.Book, _ *lot.Sources) {
		for _, r := range b.Plan().Clock {
			if r.Where == process.Wet {
				s.Rules.WetHours = r.HoldS / 3600
			}
		}
		for _, l := range b.List(at.AddDate(0, 0, -lotDays)) {
			if len(l.Harvests) == 0 || l.NotFood {
				continue
			}
			one := advice.Lot{
				ID: l.ID, Vessel: l.Harvests[0].Vessel, OffPond: l.Born, Gone: l.State.Ended() || l.State == lot.Rejected,
				Settled: l.Where == process.Dry || l.Where == process.Frozen || l.Where == process.Cold,
			}
			for i := range l.Holds {
				one.Held = one.Held || l.Holds[i].Stands() && l.Holds[i].EntryID != ""
			}
			s.Lots = append(s.Lots, one)
		}
		for _, t := range p.Tools() {
			if !t.Retired {
				s.Tools = append(s.Tools, toolAt(p, b, &t, at))
			}
		}
	})
}

// toolAt is when a tool last touched product and was last found clean.
func toolAt(p *farm.Present, b *lot.Book, t *farm.Tool, at time.Time) advice.Tool {
	out := advice.Tool{ID: t.ID, Name: t.Name, EveryUse: t.Clean != "day", EveryDays: float64(t.EveryDays)}
	if out.Name == "" {
		out.Name = t.ID
	}
	refs := p.ToolRefs(t.ID, at.AddDate(0, 0, -max(lotDays, 2*t.EveryDays)), at.Add(1))
	for _, r := range refs {
		switch {
		case r.Kind != "cleaned":
			out.Used = advice.Event{ID: r.ID, At: r.At}
		case b.Verified(r):
			out.Cleaned = advice.Event{ID: r.ID, At: r.At}
		}
	}
	return out
}
