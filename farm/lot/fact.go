package lot

import (
	"math"

	"sodalake/farm"
)

// fact is an entry about a lot, a tool or a vessel, taken apart once.
type fact struct {
	farm.Ref
	by       string
	lot      string
	from     []string           // lots that it takes from
	fromG    map[string]float64 // how much of each [g]
	step     string
	check    string
	outcome  string
	found    string
	analyte  string
	lab      string
	hold     string
	whom     string
	place    string
	reason   string
	what     string
	result   string
	tools    []string
	massG    float64            // NaN where it was not said [g]
	dryG     float64            // NaN where it was not said [g]
	tempC    float64            // NaN where it was not said [°C]
	activity float64            // NaN where it was not said [1]
	moisture float64            // water in the whole, NaN where it was not said [1]
	volumeL  float64            // NaN where it was not said [L]
	minutes  float64            // how long a harvest took; NaN where it was not said [min]
	supplies map[string]float64 // taken off the shelf, by supply [g]
	recipe   string             // of a medium poured
	packs    int
	all      bool
	mock     bool
	notFood  bool
	fit      state // whether those who worked were fit
	drained  bool  // the filtrate went to the drain
	flows    []farm.Flow
	batch    string // of a medium poured
	water    string
}

// state is a question with an answer, or without.
type state int

const (
	untold state = iota
	yes
	no
)

// weighed reports whether it says a mass.
func (f *fact) weighed() bool { return !math.IsNaN(f.massG) }

// Reader remembers entries that were taken apart, so that the next Book takes
// only new ones apart. It serves one farm, and one goroutine at a time.
type Reader struct {
	facts map[string]*fact
	ends  map[string]end // of lots that are gone
}

// NewReader returns a reader that knows nothing yet.
func NewReader() *Reader { return &Reader{facts: map[string]*fact{}, ends: map[string]end{}} }

// fact returns the entry of ref taken apart; nil if it no longer stands.
func (r *Reader) fact(p *farm.Present, ref farm.Ref) *fact {
	if f, ok := r.facts[ref.ID]; ok {
		return f
	}
	ev, ok := p.Event(ref.ID)
	if !ok {
		return nil
	}
	f := factOf(&ev.Entry, ev.Body, ev.Flows)
	r.facts[ref.ID] = f
	return f
}

// factOf takes an entry's body over.
func factOf(e *farm.Entry, b farm.Body, flows []farm.Flow) *fact {
	number := func(key string) float64 {
		if v, ok := b.Number(key); ok {
			return v
		}
		return math.NaN()
	}
	f := &fact{
		Ref: farm.Ref{ID: e.ID, Kind: e.Kind, Vessel: e.Vessel, At: e.At.UTC(), Noted: e.NotedAt.UTC()}, by: e.By,
		lot: b.Text("lot"), from: b.List("from_lots"), fromG: b.Amounts("from_g"), step: b.Text("step"), check: b.Text("check"),
		outcome: b.Text("outcome"), found: b.Text("found"), analyte: b.Text("analyte"), lab: b.Text("laboratory"), hold: b.Text("hold"),
		whom: b.Text("whom"), place: b.Text("place"), reason: b.Text("reason"), what: b.Text("what"), result: b.Text("result"), tools: b.List("tools"),
		massG: number("mass_g"), dryG: number("dry_g"), tempC: number("temp_c"), activity: number("water_activity"), moisture: number("moisture_pct") / 100,
		volumeL: number("volume_l"), minutes: number("minutes"), drained: b.Text("filtrate_to") == "drain", flows: flows, water: b.Text("water"),
	}
	if n, ok := b.Number("packs"); ok {
		f.packs = int(n)
	}
	f.all, _ = b.Yes("all")
	f.mock, _ = b.Yes("mock")
	if food, told := b.Yes("for_food"); told {
		f.notFood = !food
	}
	if fit, told := b.Yes("fit"); told {
		f.fit = no
		if fit {
			f.fit = yes
		}
	}
	f.supplies = b.Amounts("supplies_g")
	if m := b.Medium(); m != nil {
		f.batch, f.recipe = m.Batch, m.Recipe
	}
	if f.reason == "" {
		f.reason = b.Text("text")
	}
	return f
}
