package keeper

import (
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/twin"
)

// Worthwhile is what a reading taken now is expected to do for the next decision
// on a vessel.
type Worthwhile struct {
	Kind   string    `json:"kind"`  // of the entry: "secchi", "ph", ...
	Share  float64   `json:"share"` // of the decision's spread that it takes away [1]
	Last   time.Time `json:"last,omitzero"`
	lastID string
}

// readable are the kinds of reading that a farm can be asked for, with the keys
// of their values.
var readable = []struct {
	kind twin.Kind
	name string
	keys []string
}{
	{twin.Secchi, "secchi", []string{"secchi_cm"}},
	{twin.OD, "optical_density", []string{"od_750", "od_680", "od_560"}},
	{twin.DryWeight, "dry_weight", []string{"dry_weight_g_per_l"}},
	{twin.PH, "ph", []string{"ph"}},
	{twin.Temp, "temperature", []string{"temp_c"}},
	{twin.Level, "level", []string{"level_cm"}},
	{twin.Conductivity, "conductivity", []string{"conductivity_ms_per_cm"}},
}

// worth works out which reading is worth taking in a vessel: now is the ensemble
// as it stands, and trace what its members come to. The decision is the day on
// which it is ready or, where it is ready, how much there is to take. Only what
// the farm has an instrument for, or has read here within a season, is asked.
func (l *look) worth(p *farm.Present, now *twin.Ensemble, trace *twin.Trace, at time.Time) {
	l.forecast.Worth = []Worthwhile{}
	if l.spec.Use == "reserve" || l.spec.Use == "starter" {
		return // nothing is decided by its density
	}
	decision := trace.Crossings(at)
	if l.chance >= 0.5 {
		for i := range now.Members {
			decision[i] = now.Members[i].Pond.DensityGL()
		}
	}
	has := map[string]bool{"secchi": true} // a disc is a lid on a stick
	for _, i := range p.Instruments() {
		if !i.Retired && i.Make != "strip" {
			has[i.Measures] = true
		}
	}
	var kinds []twin.Kind
	last := map[twin.Kind]farm.Reading{}
	for _, k := range readable {
		for _, key := range k.keys {
			if r, ok := p.LastReading(l.spec.ID, key, at.Add(time.Millisecond)); ok && r.Instrument != "strip" && r.At.After(last[k.kind].At) {
				last[k.kind] = r
			}
		}
		if has[k.name] || !last[k.kind].At.IsZero() && at.Sub(last[k.kind].At) < 60*24*time.Hour {
			kinds = append(kinds, k.kind)
		}
	}
	for _, u := range now.Worth(decision, kinds) {
		for _, k := range readable {
			if k.kind == u.Kind && u.Share >= 0.01 {
				r := last[u.Kind]
				l.forecast.Worth = append(l.forecast.Worth, Worthwhile{Kind: k.name, Share: u.Share, Last: r.At, lastID: r.EntryID})
			}
		}
	}
}

// worthOf hands the readings that are worth taking to the rules.
func worthOf(l *look) []advice.Worth {
	var out []advice.Worth
	for _, w := range l.forecast.Worth {
		out = append(out, advice.Worth{Kind: w.Kind, Share: w.Share, Last: advice.Event{ID: w.lastID, At: w.Last}})
	}
	return out
}
