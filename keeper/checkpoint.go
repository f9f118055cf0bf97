package keeper

import (
	"bytes"
	"context"
	"encoding/gob"
	"reflect"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// Checkpoints are derived: they spare the way through the season at the next
// start and can be lost without loss. One stands for each of the last midnights
// and for the first of each month, under checkpointKey and its date.

// checkpointKey begins the key of every checkpoint.
const checkpointKey = "twin/"

// savedDays is how far back daily checkpoints are kept.
const savedDays = 30

// savedPast is how much of the past goes into a checkpoint: what a page shows.
const savedPast = 21 * 24 * time.Hour

// savedPoint is a checkpoint as it is kept.
type savedPoint struct {
	Version string // of the model and its build: another's does not fit
	Seed    uint64
	Members int
	Draws   int
	Site    farm.Site
	Seq     int64  // last entry that it knows of
	Own     string // the pairs behind the farm's own curves
	At      time.Time
	Tracks  map[string]savedTrack
}

type savedTrack struct {
	Spec     farm.Vessel
	ShadePct float64
	Begun    advice.Event
	Verdicts map[string]savedVerdict
	Doubted  map[int]savedStreak
	Times    []time.Time
	Bands    map[Quantity][]num.Band
	Ensemble []byte // empty: nothing was poured in yet
}

type savedVerdict struct {
	Quantity         Quantity
	Value            float64
	Spread, Expected num.Band
	Doubt            string
	Again            int
}

type savedStreak struct {
	N     int
	Value float64
}

// save keeps a checkpoint. An error costs time at the next start and nothing
// else, so it is only logged.
func (f *follower) save(ctx context.Context, p *farm.Present, c *checkpoint) {
	if f.k.opt.Version == "" || f.quick || f.ended() {
		return
	}
	s, zone, _ := site(p)
	out := savedPoint{
		Version: f.k.opt.Version, Seed: f.k.opt.Seed, Members: f.members, Draws: f.k.opt.Draws, Site: s,
		Seq: p.Seq(), Own: f.own.key, At: c.at, Tracks: map[string]savedTrack{},
	}
	for id, t := range c.tracks {
		st := savedTrack{Spec: t.spec, ShadePct: t.shadePct, Begun: t.begun, Verdicts: map[string]savedVerdict{}, Doubted: map[int]savedStreak{}, Bands: map[Quantity][]num.Band{}}
		for k, v := range t.verdicts {
			st.Verdicts[k] = savedVerdict{v.quantity, v.value, v.spread, v.expected, v.doubt, v.again}
		}
		for k, v := range t.doubted {
			st.Doubted[int(k)] = savedStreak{v.n, v.value}
		}
		from, _ := slices.BinarySearchFunc(t.past.times, c.at.Add(-savedPast), func(a, b time.Time) int { return a.Compare(b) })
		st.Times = t.past.times[from:]
		for q, b := range t.past.bands {
			if len(b) == len(t.past.times) {
				st.Bands[q] = b[from:]
			}
		}
		st.Ensemble = t.frozen
		out.Tracks[id] = st
	}
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(&out); err != nil {
		f.k.opt.Logger.Warn("checkpoint could not be written", "err", err)
		return
	}
	key := checkpointKey + c.at.In(zone).Format(time.DateOnly)
	if err := f.k.store.PutDerived(ctx, key, b.Bytes()); err != nil {
		f.k.opt.Logger.Warn("checkpoint could not be kept", "err", err)
		return
	}
	f.prune(ctx, c.at)
}

// prune drops daily checkpoints that are older than savedDays, but for the first
// of each month.
func (f *follower) prune(ctx context.Context, at time.Time) {
	keys, err := f.k.store.DerivedKeys(ctx, checkpointKey)
	if err != nil {
		return
	}
	for _, key := range keys {
		day, err := time.Parse(time.DateOnly, strings.TrimPrefix(key, checkpointKey))
		if err == nil && day.Day() != 1 && day.Before(at.AddDate(0, 0, -savedDays)) {
			_, _ = f.k.store.DropDerived(ctx, key)
		}
	}
}

// load takes up the newest checkpoint that still holds at a moment: made by this
// build for this place, and before everything that was noted since. It reports
// whether there was one.
func (f *follower) load(ctx context.Context, p *farm.Present, to time.Time) bool {
	if f.k.opt.Version == "" {
		return false
	}
	keys, err := f.k.store.DerivedKeys(ctx, checkpointKey)
	if err != nil {
		return false
	}
	slices.Sort(keys)
	for i := len(keys) - 1; i >= 0; i-- {
		blob, err := f.k.store.GetDerived(ctx, keys[i])
		if err != nil {
			continue
		}
		var s savedPoint
		if gob.NewDecoder(bytes.NewReader(blob)).Decode(&s) != nil || !f.holds(ctx, p, &s, to) {
			continue
		}
		tracks, ok := f.thaw(p, &s)
		if !ok {
			continue
		}
		w, err := newWeathers(ctx, p, f.k.store, to, f.k.opt.Draws, f.k.opt.Seed)
		if err != nil {
			return false
		}
		f.weather, f.own, f.tracks, f.at = w, f.ownAt(p, to), tracks, s.At
		for _, t := range f.tracks {
			t.own = f.own
		}
		f.points = []checkpoint{{s.At, f.keepTracks()}}
		return true
	}
	return false
}

// holds reports whether a checkpoint still says what the journal says.
func (f *follower) holds(ctx context.Context, p *farm.Present, s *savedPoint, to time.Time) bool {
	place, _, _ := site(p)
	if s.Version != f.k.opt.Version || s.Seed != f.k.opt.Seed || s.Members != f.members || s.Draws != f.k.opt.Draws ||
		s.At.After(to) || s.Seq > p.Seq() || !same(s.Site, place) || s.Own != f.ownAt(p, to).key {
		return false
	}
	for e, err := range f.k.store.Entries(ctx, s.Seq, 0) {
		if err != nil || e.Corrects != "" || e.At.Before(s.At) {
			return false
		}
		kind := farm.KindNamed(e.Kind)
		if e.Kind == "instrument" {
			return false // what was read with it is read otherwise
		}
		if kind == nil || kind.Group != farm.GroupBatch {
			continue
		}
		if b, bad := farm.DecodeBatch(kind, e.Body); bad != nil || b.Start.Before(s.At) {
			return false
		}
	}
	return true
}

// same compares descriptions by what they say.
func same[T any](a, b T) bool { return reflect.DeepEqual(normal(a), normal(b)) }

// normal sends a value through the encoding once, which makes empty and nil
// slices and monotonic clocks alike.
func normal[T any](x T) T {
	var b bytes.Buffer
	var out T
	if gob.NewEncoder(&b).Encode(x) != nil || gob.NewDecoder(&b).Decode(&out) != nil {
		return x
	}
	return out
}

// thaw makes the tracks of a checkpoint; false if a vessel is described
// otherwise now.
func (f *follower) thaw(p *farm.Present, s *savedPoint) (map[string]*track, bool) {
	tracks := map[string]*track{}
	for _, spec := range described(p) {
		t, err := newTrack(spec)
		if err != nil {
			continue
		}
		st, known := s.Tracks[spec.ID]
		if !known {
			tracks[spec.ID] = t // described since: begins empty
			continue
		}
		was := st.Spec
		was.Cover, was.Stirring = spec.Cover, spec.Stirring // acts may have changed them since
		if !same(was, spec) {
			return nil, false
		}
		t.spec.Cover, t.spec.Stirring = st.Spec.Cover, st.Spec.Stirring
		t.shadePct, t.begun = st.ShadePct, st.Begun
		for k, v := range st.Verdicts {
			t.verdicts[k] = verdict{v.Quantity, v.Value, v.Spread, v.Expected, v.Doubt, v.Again}
		}
		for k, v := range st.Doubted {
			t.doubted[twin.Kind(k)] = streak{v.N, v.Value}
		}
		t.past.times = st.Times
		for q, b := range st.Bands {
			t.past.bands[q] = b
		}
		if len(st.Ensemble) > 0 {
			if t.ens, err = twin.Thaw(&t.base, st.Ensemble); err != nil {
				return nil, false
			}
		}
		tracks[spec.ID] = t
	}
	return tracks, true
}
