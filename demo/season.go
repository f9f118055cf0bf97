package demo

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/sky"
)

// seed decides the whole season.
const seed = 20260301

// begin and end of the season.
func begin() time.Time { return time.Date(2026, 3, 1, 8, 0, 0, 0, Zone()) }

// end is after the morning on which the demo opens, so that a clock set a week
// later still finds weather.
func end() time.Time { return time.Date(2026, 6, 19, 0, 0, 0, 0, Zone()) }

// true vessels of the season, what the grower cannot see.
type truth struct {
	pond   pond.Vessel
	id     string
	full   float64 // level called full [m]
	disc   float64 // constant of the disc [g·cm/L]
	at     time.Time
	n      float64 // vessels alike
	filled bool    // it was at its level once
	pause  int     // days since it was harvested
}

// generator makes the season.
type generator struct {
	rng     *rand.Rand
	scales  *rand.Rand // errors of weighing
	discs   int        // readings of the disc in ponds
	ids     *farm.IDs
	lotIDs  *farm.IDs
	lots    int // harvests that became one
	entries []farm.Entry
	vessels map[string]*truth
	series  sky.Series
	site    sky.Site
	zone    *time.Location
	day     time.Time
	weather *pond.Weather
}

// Season makes the entries of the season, in order of time.
func Season() []farm.Entry {
	g := &generator{
		rng:     rand.New(rand.NewPCG(seed, 1)),
		scales:  rand.New(rand.NewPCG(seed, 2)),
		ids:     farm.NewIDs(newEntropy()),
		lotIDs:  farm.NewIDs(lotEntropy()),
		vessels: map[string]*truth{},
		site:    sky.Site{LatDeg: latDeg, LonDeg: lonDeg, ElevationM: elevationM},
		zone:    Zone(),
	}
	g.sky()
	g.found()
	for day := begin(); day.Before(end()); day = day.AddDate(0, 0, 1) {
		g.live(day)
	}
	// The round goes from vessel to vessel; the journal goes by the clock.
	slices.SortStableFunc(g.entries, func(a, b farm.Entry) int { return a.NotedAt.Compare(b.NotedAt) })
	return g.entries
}

// sky draws the weather that really was.
func (g *generator) sky() {
	var n sky.Normals
	for i, m := range normals {
		row := sky.UnknownMonth()
		row.GHIMJM2D, row.MinC, row.MaxC, row.RHPct = m.GHIMJM2D, m.TMinC, m.TMaxC, m.RHPct
		row.WindMS, row.RainMM, row.RainDays = air.WindAt2M(m.WindMS, 10), m.RainMM, m.RainDays
		n[i] = row
	}
	gen := must(sky.FromNormals(n, g.site))
	start := begin().AddDate(0, 0, -2).UTC().Truncate(time.Hour)
	g.series = gen.Generate(start, int(end().Sub(start).Hours()/24)+4, rand.New(rand.NewPCG(seed, 7)))
}

// found makes the true vessels and their descriptions.
func (g *generator) found() {
	at := begin()
	for _, d := range describe() {
		site := siteID
		g.write(at, "lampkeeper", site, "", d.kind, d.body, "")
		if d.kind != "vessel" {
			continue
		}
		var spec farm.Vessel
		raw := must(json.Marshal(d.body))
		spec = must(decodeVessel(raw))
		t := &truth{id: spec.ID, full: spec.FullLevelCM / 100, n: float64(spec.Number()), disc: 1.13, at: at}
		t.pond = must(model.Vessel(&spec))
		// The true strain is a little better than the default one and the place
		// a little warmer than its weather.
		p := growth.Default()
		p.Yield *= 1.06
		p.Threshold *= 1.05
		t.pond.Growth = growth.NewModel(p)
		t.pond.WarmerC = 0.8
		t.pond.Setting.WindFactor *= 0.8
		t.pond.TapC = math.NaN()
		t.pond.Heat.WaterC = 15
		t.pond.Start()
		g.vessels[spec.ID] = t
	}
}

// decodeVessel reads a vessel's body as the journal would.
func decodeVessel(raw []byte) (farm.Vessel, error) {
	e := farm.Entry{Kind: "vessel", V: 1, Body: raw, ID: "00000000000000000000000000", At: begin(), NotedAt: begin(), By: "demo", Site: siteID}
	p := farm.NewPresent()
	p.Apply(e)
	v, _ := p.Vessel(mustID(raw))
	return v, nil
}

func mustID(raw []byte) string {
	var x struct {
		ID string `json:"id"`
	}
	if err := json.Unmarshal(raw, &x); err != nil {
		panic("demo: " + err.Error())
	}
	return x.ID
}

// write notes an entry.
func (g *generator) write(at time.Time, by, site, vessel, kind string, body map[string]any, text string) {
	if text != "" {
		body["text"] = text
	}
	e := farm.Entry{
		ID: must(g.ids.Make(at)), Site: site, Vessel: vessel, Kind: kind, V: 1, At: at, NotedAt: at.Add(40 * time.Second), By: by, Body: must(json.Marshal(body)),
	}
	g.entries = append(g.entries, e)
}

// to carries a true vessel to a moment.
func (g *generator) to(t *truth, at time.Time) {
	for t.at.Before(at) {
		from, until := farm.DayOf(t.at, g.zone)
		if !g.day.Equal(from) {
			start := from.UTC()
			n := int(until.Sub(start) / (pond.StepS * time.Second))
			w := &pond.Weather{Start: start, Outside: make([]air.Outside, n)}
			if err := g.series.Sample(g.site, sky.Options{}, start, pond.StepS*time.Second, w.Outside); err != nil {
				panic("demo: " + err.Error())
			}
			g.day, g.weather = from, w
		}
		stop := until
		if at.Before(stop) {
			stop = at
		}
		t.pond.Run(t.at, stop, g.weather, nil, nil, nil, nil)
		t.at = stop
	}
}

// all carries every vessel to a moment: what flows between them must meet.
func (g *generator) all(at time.Time) {
	for _, id := range []string{"lantern-pond", "boat-pond", "cistern-tank", "sill-bottles"} {
		g.to(g.vessels[id], at)
	}
}

// noise is normal with a spread.
func (g *generator) noise(sd float64) float64 { return sd * g.rng.NormFloat64() }

// level of a true vessel [m].
func (t *truth) level() float64 { return t.pond.Shape.LevelM(t.pond.VolumeL()) }

func round(x, unit float64) float64 { return math.Round(x/unit) * unit }

// tidy takes binary dust off a rounded number.
func tidy(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// medium is a parcel of new medium.
func (g *generator) medium(litres, tempC float64) pond.Parcel {
	totals, kg, err := brine.FromSalts(stationMedium)
	if err != nil {
		panic("demo: " + err.Error())
	}
	p := pond.Parcel{WaterKg: litres * kg, TempC: tempC}
	for k := range totals {
		p.Mol[k] = totals[k] * p.WaterKg
	}
	return p
}

// entropy is a seeded source for identifiers.
type entropy struct{ rng *rand.Rand }

func newEntropy() *entropy { return &entropy{rand.New(rand.NewPCG(seed, 3))} }

func lotEntropy() *entropy { return &entropy{rand.New(rand.NewPCG(seed, 4))} }

func (e *entropy) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(e.rng.Uint32())
	}
	return len(p), nil
}
