package keeper

import (
	"hash/fnv"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/num"
	"sodalake/science/pond"
	"sodalake/science/twin"
	"sodalake/science/vessel"
)

// track is what is followed of one vessel.
type track struct {
	spec     farm.Vessel
	kind     vessel.Kind
	n        float64     // vessels alike, told as one: the model is one of them
	base     pond.Vessel // empty, as described
	ens      *twin.Ensemble
	frozen   []byte // in a checkpoint: the ensemble
	own      *own   // the farm's own disc and photometer
	shadePct float64
	begun    advice.Event // when culture first came in

	verdicts map[string]verdict // by entry and key
	doubted  map[twin.Kind]streak
	past     past
}

// past is the estimate as it was, every pastEvery.
type past struct {
	times []time.Time
	bands map[Quantity][]num.Band
}

const pastEvery = 3 * time.Hour

func newTrack(spec farm.Vessel) (*track, error) {
	v, err := model.Vessel(&spec)
	if err != nil {
		return nil, err
	}
	return &track{
		spec: spec, kind: v.Shape.Kind(), n: float64(spec.Number()), base: v, shadePct: spec.ShadePct,
		verdicts: map[string]verdict{}, doubted: map[twin.Kind]streak{}, past: past{bands: map[Quantity][]num.Band{}},
	}, nil
}

// keep returns a checkpoint of the track, the ensemble in its compact form: it is
// an eighth of the members' size, and takes a millisecond to make members of.
// Verdicts and the past are kept whole: they are written anew from the
// checkpoint on.
func (t *track) keep() *track {
	c := t.copy()
	if t.ens != nil {
		c.ens, c.frozen = nil, t.ens.Freeze()
	}
	return c
}

// back returns the track that keep made a checkpoint of.
func (t *track) back() (*track, error) {
	c := t.copy()
	if t.frozen != nil {
		var err error
		if c.ens, err = twin.Thaw(&c.base, t.frozen); err != nil {
			return nil, err
		}
		c.frozen = nil
	}
	return c, nil
}

// copy returns the track apart from its ensemble, which both then share.
func (t *track) copy() *track {
	c := *t
	c.verdicts, c.doubted = map[string]verdict{}, map[twin.Kind]streak{}
	for k, v := range t.verdicts {
		c.verdicts[k] = v
	}
	for k, v := range t.doubted {
		c.doubted[k] = v
	}
	c.past = past{times: append([]time.Time(nil), t.past.times...), bands: map[Quantity][]num.Band{}}
	for q, b := range t.past.bands {
		c.past.bands[q] = append([]num.Band(nil), b...)
	}
	return &c
}

// seedOf is the seed of a vessel's ensemble.
func seedOf(seed uint64, vessel string) uint64 {
	h := fnv.New64a()
	h.Write([]byte(vessel))
	return h.Sum64() ^ seed
}

// begin starts an empty ensemble at the time of an event, in the weather of its
// day.
func (t *track) begin(f *follower, e *farm.Event) {
	t.start(f, e.Entry.At, math.NaN())
}

// start starts an empty ensemble at a moment. tempC is the temperature to begin
// with; NaN: that of the air [°C].
func (t *track) start(f *follower, at time.Time, tempC float64) {
	base := t.base
	if w, err := f.weather.day(at); err == nil {
		o := w.draws[0].Outside[min(max(int(at.Sub(w.draws[0].Start)/step), 0), len(w.draws[0].Outside)-1)]
		if math.IsNaN(tempC) {
			mean := 0.0
			for i := range w.draws[0].Outside {
				mean += w.draws[0].Outside[i].AirC / float64(len(w.draws[0].Outside))
			}
			tempC = math.Max(mean, 2)
			if t.base.Setting.Indoors {
				tempC = t.base.Setting.RoomC
			}
		}
		base.Heat = base.Setting.Start(&o, tempC)
	}
	base.Start()
	t.ens = twin.New(&base, at, twin.Config{
		Members: f.members, Draws: f.k.opt.Draws, Seed: seedOf(f.k.opt.Seed, t.spec.ID), Rough: f.weather.guessed,
		Secchi: f.own.secchi, OD: f.own.od,
	})
	t.meterBefore(f.checks, at)
}

// assume fills a vessel at a moment from which the journal is not followed back:
// from what was last said of its level, density, pH and medium around then.
func (t *track) assume(f *follower, p *farm.Present, at time.Time) bool {
	line := p.Timeline(t.spec.ID, time.Time{}, at)
	var mixWas *farm.MediumMix
	var mixAt farm.Entry
	begun := false
	for i := range line {
		e := &line[i]
		for j := range e.Flows {
			fl := &e.Flows[j]
			if fl.To != t.spec.ID {
				continue
			}
			if m := fl.Medium; m != nil {
				mixWas, mixAt = m, e.Entry
			}
			if fl.What == farm.IsCulture && t.begun.ID == "" {
				t.begun = advice.Event{ID: e.Entry.ID, At: e.Entry.At}
			}
			begun = begun || fl.What == farm.IsCulture || fl.What == farm.IsMedium
		}
		if m := mediumOf(e); m != nil {
			mixWas, mixAt = m, e.Entry
		}
		if slices.ContainsFunc(e.Flows, func(fl farm.Flow) bool { return fl.From == t.spec.ID && fl.All }) {
			t.begun, begun = advice.Event{}, false // thrown away, or moved whole
		}
		if e.Kind.Group == farm.GroupAct && e.Entry.Vessel == t.spec.ID {
			t.place(e)
		}
	}
	if !begun {
		return false
	}
	near := func(key string, days float64) (farm.Reading, bool) {
		span := time.Duration(days * 24 * float64(time.Hour))
		var best farm.Reading
		found := false
		for _, r := range p.Readings(t.spec.ID, at.Add(-span), at.Add(span), key) {
			if len(r.Doubts) > 0 || r.Op != "=" && r.Op != "" {
				continue
			}
			if !found || absDur(r.At.Sub(at)) < absDur(best.At.Sub(at)) {
				best, found = r, true
			}
		}
		return best, found
	}
	temp := math.NaN()
	if r, ok := near("temp_c", 3); ok {
		temp = r.Value
	}
	t.start(f, at, temp)
	level := t.spec.FullLevelCM
	if level == 0 {
		level = t.base.Shape.RimM() * 80
	}
	if r, ok := near("level_cm", 10); ok {
		level = r.Value
	}
	mx := f.mix(p, mixWas, &mixAt)
	ph := 9.9
	phSD := 0.3
	if r, ok := near("ph", 10); ok {
		ph, phSD = r.Value, 0.15
	}
	density, spread := twin.UnknownGL, twin.UnknownSD
	if r, ok := near("secchi_cm", 7); ok {
		x := t.own.disc(r.Value)
		density, spread = x.Mid, math.Log(x.High/x.Mid)/1.2816
	}
	litres := t.base.Shape.VolumeL(math.Min(level/100, t.base.Shape.RimM()))
	solver := brine.New(brine.Pitzer)
	t.ens.Do(func(i int, m *twin.Member) {
		pc := mx.parcel(litres, m.Pond.Heat.WaterC)
		pc.BiomassG = density * litres
		m.Blur(&pc, spread)
		m.Pond.Do(&pond.Act{Pour: pc}, nil)
	})
	// The pH of each member on its own quantile around the one that was read.
	n := len(t.ens.Members)
	for i := range t.ens.Members {
		v := &t.ens.Members[i].Pond
		u := 2*math.Mod(float64(i)*0.6180339887498949+0.5/float64(n), 1) - 1
		tot := v.Molality()
		var w brine.Water
		if solver.HoldPH(&tot, v.Heat.WaterC, ph+1.5*phSD*u, brine.ByCO2, &w) == nil {
			v.Mol[brine.DIC] = tot[brine.DIC] * v.WaterKg
		}
	}
	return true
}

func absDur(d time.Duration) time.Duration {
	if d < 0 {
		return -d
	}
	return d
}
