package keeper

import (
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/twin"
)

// grower tells how a culture grows in vessels that it does not stand in yet: by
// the model of each vessel, in the weather to come, with the traits of cells that
// the twin of its present vessel has learned.
type grower struct {
	weather *weathers
	at      time.Time
	seed    uint64
	draws   int
	medium  mixed
	recipe  string // of the medium
	members []growth.Model
	startGL []float64
}

// guess begins with cells of which nothing is known but their density.
func (g *grower) guess(gl float64) {
	base := pond.Vessel{Growth: growth.NewModel(growth.Default())}
	e := twin.New(&base, g.at, twin.Config{Members: scaleDraws, Draws: g.draws, Seed: g.seed ^ 0x5ca1e})
	for i := range e.Members {
		g.members = append(g.members, e.Members[i].Pond.Growth)
		// A density by eye or by a label: a fifth either way.
		u := 2*(float64(i)+0.5)/scaleDraws - 1
		g.startGL = append(g.startGL, gl*math.Exp(0.25*u))
	}
}

// take begins with members of a twin, evenly out of all.
func (g *grower) take(e *twin.Ensemble) {
	n := len(e.Members)
	draws := min(scaleDraws, n)
	for i := range draws {
		m := &e.Members[i*n/draws]
		g.members = append(g.members, m.Pond.Growth)
		g.startGL = append(g.startGL, math.Max(m.Pond.DensityGL(), 1e-3))
	}
}

// usualMedium is what the farm poured last as new medium, else the first recipe
// it wrote down, else the house medium. The caller holds the present.
func (k *Keeper) usualMedium(p *farm.Present, f *follower) (mixed, string) {
	var last *farm.MediumMix
	var entry farm.Entry
	for _, v := range p.Vessels() {
		for _, e := range p.Timeline(v.ID, time.Time{}, k.now()) {
			for i := range e.Flows {
				if m := e.Flows[i].Medium; m != nil && m.Recipe != "" && !e.Entry.At.Before(entry.At) {
					last, entry = m, e.Entry
				}
			}
		}
	}
	if last != nil {
		return f.mix(p, last, &entry), last.Recipe
	}
	for _, r := range p.Recipes() {
		if r.Use == "medium" && len(r.SaltsGPerL) > 0 {
			return f.mix(p, &farm.MediumMix{Recipe: r.ID}, &farm.Entry{At: k.now()}), r.ID
		}
	}
	return f.mix(p, nil, &farm.Entry{}), houseRecipe
}

// The grid on which growth is asked for. Between its nodes it is a straight line
// in the logarithms; beyond, the value at the end.
var (
	gridDays    = []float64{0, 20, 45, 90, 150, 240} // [d]
	gridDensity = []float64{0.1, 0.2, 0.4, 0.9}      // [g/L]
	gridFill    = []float64{0.2, 1}                  // of the full volume [1]
)

// scalePH is the pH at 25 °C at which growth on the way up is reckoned: medium
// and culture mixed. Common practice, no source.
const scalePH = 9.8

// growthTable is the logarithm of a day's growth in a vessel.
type growthTable struct {
	full float64 // [L]
	ln   []float64
	n    int // draws
}

// table asks the model of a vessel on the grid, with a day before each question
// so that warmth has settled.
func (g *grower) table(s *scaleStage) (*growthTable, error) {
	t, err := newTrack(s.spec)
	if err != nil {
		return nil, err
	}
	n := len(g.members)
	out := &growthTable{full: s.full, n: n, ln: make([]float64, n*len(gridDays)*len(gridFill)*len(gridDensity))}
	totals := g.medium.totals
	var w brine.Water
	if brine.New(brine.Pitzer).HoldPH(&totals, 25, scalePH, brine.ByCO2, &w) == nil {
		g.medium.totals = totals
	}
	for d, ahead := range gridDays {
		from, _ := farm.DayAfter(g.at, int(ahead), g.weather.zone)
		mid := from.AddDate(0, 0, 1)
		course, err := courses(g.weather, from, from.AddDate(0, 0, 2))
		if err != nil {
			return nil, err
		}
		spread(n, func(i int, solver *brine.Solver) {
			weather := course.draws[i%len(course.draws)]
			for v, fill := range gridFill {
				m := t.base
				m.Growth = g.members[i]
				m.Setting.Shade = math.Max(m.Setting.Shade, s.shade/100)
				litres := fill * s.full / t.n
				air := &weather.Outside[0]
				mean := 0.0
				for j := range weather.Outside {
					mean += weather.Outside[j].AirC / float64(len(weather.Outside))
				}
				if m.Setting.Indoors {
					mean = m.Setting.RoomC
				}
				m.Heat = m.Setting.Start(air, math.Max(mean, 2))
				m.Use(solver)
				m.Start()
				pc := g.medium.parcel(litres, m.Heat.WaterC)
				pc.BiomassG = 0.3 * litres
				m.Do(&pond.Act{Pour: pc}, nil)
				fillTo := m.Shape.LevelM(m.VolumeL())
				m.Run(from, mid, weather, nil, nil, nil, nil)
				for x, gl := range gridDensity {
					day := m
					day.Do(&pond.Act{FillToM: fillTo}, nil)
					day.BiomassG = gl * day.VolumeL()
					day.Settle()
					volume := day.VolumeL()
					day.Run(mid, mid.AddDate(0, 0, 1), weather, nil, nil, nil, nil)
					// Grams against grams: what evaporates is filled up again.
					out.ln[out.at(i, d, v, x)] = math.Log(math.Max(day.BiomassG, 1e-9) / (gl * volume))
				}
			}
		})
	}
	return out, nil
}

func (t *growthTable) at(draw, day, fill, density int) int {
	return ((draw*len(gridDays)+day)*len(gridFill)+fill)*len(gridDensity) + density
}

// grow is that of plan.Stage.
func (t *growthTable) grow(draw, day int, densityGL, volumeL float64) float64 {
	d, df := between(gridDays, float64(day), false)
	v, vf := between(gridFill, volumeL/t.full, true)
	x, xf := between(gridDensity, densityGL, true)
	sum := 0.0
	for i, wd := range [2]float64{1 - df, df} {
		for j, wv := range [2]float64{1 - vf, vf} {
			for l, wx := range [2]float64{1 - xf, xf} {
				if w := wd * wv * wx; w > 0 {
					sum += w * t.ln[t.at(draw, d+i, v+j, x+l)]
				}
			}
		}
	}
	return densityGL * math.Exp(sum)
}

// between returns the node below x and how far x lies to the next [1], by the
// logarithm or not; the ends hold beyond them.
func between(nodes []float64, x float64, log bool) (int, float64) {
	i, found := slices.BinarySearch(nodes, x)
	switch {
	case found && i < len(nodes)-1:
		return i, 0
	case i == 0:
		return 0, 0
	case i >= len(nodes)-1 && x >= nodes[len(nodes)-1]:
		return len(nodes) - 2, 1
	}
	a, b := nodes[i-1], nodes[i]
	if log {
		return i - 1, math.Log(x/a) / math.Log(b/a)
	}
	return i - 1, (x - a) / (b - a)
}
