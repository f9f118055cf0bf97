package lot

import (
	"fmt"
	"slices"
	"testing"
	"time"
)

// deed is one act of a random farm, told apart from the journal: the plain
// search knows nothing else.
type deed struct {
	id       string
	at       time.Time
	kind     string
	vessel   string
	to       string // of culture moved
	all      bool
	lot      string
	from     []string
	tools    []string
	supply   string
	whom     string
	massG    float64
	verified bool
}

func (d *deed) lots() []string {
	if d.lot == "" {
		return d.from
	}
	return append([]string{d.lot}, d.from...)
}

// history is a random farm: its journal, and the same as plain deeds.
type history struct {
	s      *station
	deeds  []deed
	lots   []string
	begun  map[string]time.Time
	byLot  map[string][]int
	byTool map[string][]int
}

func (h *history) add(d deed, b m) {
	d.at = h.s.now.Add(7 * time.Minute)
	h.s.now = d.at
	e := h.s.at(d.at, d.vessel, d.kind, b)
	h.s.p.Apply(e)
	d.id = e.ID
	i := len(h.deeds)
	h.deeds = append(h.deeds, d)
	for _, l := range d.lots() {
		if !slices.Contains(h.byLot[l], i) {
			h.byLot[l] = append(h.byLot[l], i)
		}
	}
	for _, t := range d.tools {
		h.byTool[t] = append(h.byTool[t], i)
	}
}

// randomFarm works with n lots in so many vessels with so many tools; of 20
// deeds and care more these are cleanings. pick draws a number under its
// argument.
func randomFarm(t testing.TB, lots, vessels, tools, supplies, care int, pick func(n int) int) *history {
	s := newStation(t)
	h := &history{s: s, begun: map[string]time.Time{}, byLot: map[string][]int{}, byTool: map[string][]int{}}
	name := func(what string, n int) string { return fmt.Sprintf("%s-%d", what, n) }
	for i := range vessels {
		s.note("", "vessel", m{"id": name("v", i), "use": "grow", "shape": m{"kind": "box", "length_m": 4, "width_m": 2, "depth_m": 0.4}})
	}
	for i := range tools {
		s.note("", "tool", m{"id": name("t", i)})
	}
	for i := range supplies {
		s.note("", "supply", m{"id": name("s", i), "mass_g": 1e7})
	}
	used := func() []string {
		var out []string
		for range pick(3) {
			if tool := name("t", pick(tools)); !slices.Contains(out, tool) {
				out = append(out, tool)
			}
		}
		return out
	}
	recent := func() string { return h.lots[len(h.lots)-1-pick(min(len(h.lots), 40))] }
	for len(h.lots) < lots {
		if pick(4) == 0 {
			s.now = s.now.Add(time.Duration(pick(30)) * time.Hour)
		}
		v := name("v", pick(vessels))
		switch k := pick(20 + care); {
		case k < 6:
			id := name("lot", len(h.lots))
			d := deed{kind: "harvested", vessel: v, lot: id, tools: used(), massG: 1000}
			b := m{"volume_l": 100, "mass_g": 1000, "lot": id}
			if d.tools != nil {
				b["tools"] = d.tools
			}
			h.lots = append(h.lots, id)
			h.add(d, b)
		case k < 9 && len(h.lots) > 1:
			id := name("lot", len(h.lots))
			d := deed{kind: "lot", lot: id, tools: used()}
			g := m{}
			for range 1 + pick(3) {
				if l := recent(); !slices.Contains(d.from, l) {
					d.from = append(d.from, l)
					g[l] = 10
				}
			}
			b := m{"lot": id, "from_lots": d.from, "from_g": g}
			if d.tools != nil {
				b["tools"] = d.tools
			}
			h.lots = append(h.lots, id)
			h.add(d, b)
		case k < 12 && len(h.lots) > 0:
			d := deed{kind: "lot_step", lot: recent(), tools: used()}
			b := m{"lot": d.lot, "step": "weighed"}
			if d.tools != nil {
				b["tools"] = d.tools
			}
			h.add(d, b)
		case k < 15 && len(h.lots) > 0:
			d := deed{kind: "sold", lot: recent(), whom: name("buyer", pick(50)), massG: 5}
			h.add(d, m{"lot": d.lot, "mass_g": 5, "whom": d.whom})
		case k < 17 || k >= 20:
			d := deed{kind: "cleaned", tools: []string{name("t", pick(tools))}, verified: pick(3) > 0}
			b := m{"tools": d.tools}
			if d.verified {
				b["result"] = "good"
			}
			h.add(d, b)
		case k < 18:
			d := deed{kind: "fed", vessel: v, supply: name("s", pick(supplies))}
			h.add(d, m{"salts_g": m{"KNO3": 5}, "supplies_g": m{d.supply: 5}})
		case k < 19 && vessels > 1:
			d := deed{kind: "moved", vessel: v, to: name("v", pick(vessels)), all: pick(3) == 0}
			if d.to == v {
				continue
			}
			b := m{"to": d.to}
			if d.all {
				b["all"] = true
			} else {
				b["volume_l"] = 20
			}
			h.add(d, b)
		}
	}
	return h
}
