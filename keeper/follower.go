package keeper

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// follower runs the twins of all vessels through the journal, day by day, and
// keeps a checkpoint at every midnight, so that a late entry costs days and not
// the season.
type follower struct {
	k       *Keeper
	members int
	days    int

	mu      sync.Mutex
	stopped chan struct{}
	once    sync.Once
	stale   time.Time // earliest moment that changed; zero with dirty: all
	dirty   bool

	newWeather bool // weather batches came in
	weather    *weathers
	own        *own         // the farm's own disc and photometer, as of what was followed
	pairs      []ownPair    // of the whole journal up to pairsSeq
	checks     []meterCheck // of pH meters, alike
	pairsSeq   int64
	tracks     map[string]*track
	at         time.Time // all events before at are applied
	points     []checkpoint
	quick      bool         // what stands is the quick look
	few        int          // members that look ahead; 0: all
	filling    bool         // the whole season is being read behind
	missed     []farm.Touch // while it is
	answers    map[time.Time]*answer
	looks      map[lookAt]*look // those that still hold
}

// checkpoint is how all vessels stood at a midnight.
type checkpoint struct {
	at     time.Time
	tracks map[string]*track
}

// maxPoints is how many midnights are kept.
const maxPoints = 16

func newFollower(k *Keeper) *follower {
	return &follower{
		k: k, members: k.opt.Members, days: k.opt.Days, stopped: make(chan struct{}),
		answers: map[time.Time]*answer{}, looks: map[lookAt]*look{},
	}
}

func (f *follower) stop() { f.once.Do(func() { close(f.stopped) }) }

// ended reports whether the follower was stopped.
func (f *follower) ended() bool {
	select {
	case <-f.stopped:
		return true
	default:
		return false
	}
}

// touch says that the journal changed.
func (f *follower) touch(touched []farm.Touch) {
	f.mu.Lock()
	defer f.mu.Unlock()
	clear(f.answers)
	if f.filling {
		f.missed = append(f.missed, touched...)
	}
	f.mark(touched)
}

// mark notes from when on what was followed no longer holds. The caller holds
// mu.
func (f *follower) mark(touched []farm.Touch) {
	for _, t := range touched {
		switch {
		case t.Vessel == "" && !t.Since.IsZero():
			// Weather came in: the days from then on are other days.
			f.newWeather = true
			clear(f.looks)
			if !f.dirty || !f.stale.IsZero() && t.Since.Before(f.stale) {
				f.dirty, f.stale = true, t.Since
			}
			continue
		case t.Since.IsZero():
			// A description, or a correction that reaches back.
			f.dirty, f.stale = true, time.Time{}
			clear(f.looks)
			continue
		case !f.dirty:
			f.dirty, f.stale = true, t.Since
		case !f.stale.IsZero() && t.Since.Before(f.stale):
			f.stale = t.Since
		}
		maps.DeleteFunc(f.looks, func(at lookAt, _ *look) bool { return at.vessel == t.Vessel })
	}
}

// bring runs all vessels up to a moment. The caller holds mu.
func (f *follower) bring(ctx context.Context, p *farm.Present, to time.Time) error {
	defer func(was time.Time) { f.saveSince(ctx, p, was) }(f.at)
	if o := f.ownAt(p, to); f.own != nil && o.key != f.own.key {
		// Another disc stands behind every vessel that was begun with it.
		f.dirty, f.stale = true, time.Time{}
	}
	if f.weather == nil || f.dirty && f.stale.IsZero() || to.Before(f.at) && !f.back(to) {
		if err := f.reset(ctx, p, to); err != nil {
			return err
		}
	} else if f.dirty && f.stale.Before(f.at) && !f.back(f.stale) {
		if err := f.reset(ctx, p, to); err != nil {
			return err
		}
	}
	if f.newWeather {
		w, err := newWeathers(ctx, p, f.k.store, to, f.k.opt.Draws, f.k.opt.Seed)
		if err != nil {
			return err
		}
		f.weather = w
	}
	f.dirty, f.stale, f.newWeather = false, time.Time{}, false
	for f.at.Before(to) {
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-f.stopped:
			return context.Canceled
		default:
		}
		day, err := f.weather.day(f.at)
		if err != nil {
			return err
		}
		end := day.to
		if to.Before(end) {
			// The day is not over: only what has been noted is applied. The
			// way from there to the moment is run on copies.
			return f.events(p, day, to)
		}
		if err := f.events(p, day, end); err != nil {
			return err
		}
		f.advanceAll(day, end)
		f.at = end
		f.points = append(f.points, checkpoint{end, f.keepTracks()})
		if len(f.points) > maxPoints {
			f.points = slices.Delete(f.points, 0, 1)
		}
	}
	return nil
}

// savedAtOnce is how many of the midnights of a run are kept beyond the run:
// enough for a reading that comes a day or two late.
const savedAtOnce = 3

// saveSince keeps the last midnights that a run came past.
func (f *follower) saveSince(ctx context.Context, p *farm.Present, was time.Time) {
	for i := max(0, len(f.points)-savedAtOnce); i < len(f.points); i++ {
		if c := &f.points[i]; c.at.After(was) {
			f.save(ctx, p, c)
		}
	}
}

// back returns to the last midnight at or before a moment; false if none is
// kept.
func (f *follower) back(to time.Time) bool {
	for len(f.points) > 0 {
		last := f.points[len(f.points)-1]
		if !last.at.After(to) {
			f.at = last.at
			f.tracks = map[string]*track{}
			for id, t := range last.tracks {
				var err error
				if f.tracks[id], err = t.back(); err != nil {
					return false // never seen; the whole way is run again
				}
			}
			return true
		}
		f.points = f.points[:len(f.points)-1]
	}
	return false
}

func (f *follower) keepTracks() map[string]*track {
	c := make(map[string]*track, len(f.tracks))
	for id, t := range f.tracks {
		c[id] = t.keep()
	}
	return c
}

// reset begins anew, as far back as the follower reaches.
func (f *follower) reset(ctx context.Context, p *farm.Present, to time.Time) error {
	w, err := newWeathers(ctx, p, f.k.store, to, f.k.opt.Draws, f.k.opt.Seed)
	if err != nil {
		return err
	}
	f.weather, f.points, f.own = w, nil, f.ownAt(p, to)
	clear(f.looks)
	f.tracks = map[string]*track{}
	start, _ := farm.DayAfter(to, -f.days, w.zone)
	first := to
	for _, spec := range described(p) {
		t, err := newTrack(spec)
		if err != nil {
			f.k.opt.Logger.Warn("vessel cannot be followed", "vessel", spec.ID, "err", err)
			continue
		}
		t.own = f.own
		f.tracks[spec.ID] = t
		line := p.Timeline(spec.ID, time.Time{}, to)
		if len(line) > 0 && line[0].Entry.At.Before(first) {
			first = line[0].Entry.At
		}
	}
	if first.After(start) {
		f.at, _ = farm.DayOf(first, w.zone)
		return nil
	}
	f.at = start
	for _, id := range sortedIDs(f.tracks) {
		f.tracks[id].assume(f, p, start)
	}
	return nil
}

// described are the vessels as they were last described, without the changes of
// shade, cover and stirring that acts made since: those are lived when their
// time comes.
func described(p *farm.Present) []farm.Vessel {
	all := p.Vessels()
	for i := range all {
		all[i], _ = p.VesselAt(all[i].ID, all[i].Since)
	}
	return all
}

func sortedIDs(m map[string]*track) []string {
	ids := make([]string, 0, len(m))
	for id := range m {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// happening is an event of one or more vessels.
type happening struct {
	farm.Event
	vessels []string
	check   *meterCheck // if it is one
}

// events applies what happened in [f.at, to) within a day, in order of time,
// and leaves every vessel at its own last event.
func (f *follower) events(p *farm.Present, day *dayWeather, to time.Time) error {
	var all []happening
	seen := map[string]int{}
	for _, id := range sortedIDs(f.tracks) {
		for _, e := range p.Timeline(id, f.at, to) {
			if i, ok := seen[e.Entry.ID]; ok {
				all[i].vessels = append(all[i].vessels, id)
				continue
			}
			seen[e.Entry.ID] = len(all)
			all = append(all, happening{Event: e, vessels: []string{id}})
		}
	}
	for i := range f.checks {
		// A check of the pH meter speaks of every vessel.
		c := &f.checks[i]
		if c.at.Before(f.at) || !c.at.Before(to) {
			continue
		}
		at, known := seen[c.entryID]
		if !known {
			e, ok := p.Event(c.entryID)
			if !ok {
				continue
			}
			at = len(all)
			all = append(all, happening{Event: e})
		}
		all[at].vessels, all[at].check = sortedIDs(f.tracks), c
	}
	slices.SortStableFunc(all, func(a, b happening) int { return a.Entry.At.Compare(b.Entry.At) })
	for i := range all {
		h := &all[i]
		for _, id := range h.vessels {
			f.advance(f.tracks[id], day, h.Entry.At)
		}
		switch h.Kind.Group {
		case farm.GroupReading:
			for _, id := range h.vessels {
				f.tracks[id].read(p, &h.Event, f.checks)
			}
		case farm.GroupAct:
			f.apply(p, &h.Event)
			for _, id := range h.vessels {
				if h.check != nil {
					f.tracks[id].checked(p, h.check)
				}
			}
		}
	}
	// A second call within the day must not apply them again.
	if to.Before(day.to) {
		f.at = to
	}
	return nil
}

// advance carries one vessel to a moment of a day and writes down its past.
func (f *follower) advance(t *track, day *dayWeather, to time.Time) {
	if t.ens == nil || !to.After(t.ens.At) {
		return
	}
	var times []time.Time
	for at := day.from; at.Before(to) || at.Equal(to); at = at.Add(pastEvery) {
		if at.After(t.ens.At) {
			times = append(times, at)
		}
	}
	trace := twin.NewTrace(len(t.ens.Members), times, nil, 1e9)
	t.ens.Advance(to, day.draws, trace)
	t.past.add(trace, times)
}

// add appends what a trace wrote.
func (p *past) add(trace *twin.Trace, times []time.Time) {
	if len(times) == 0 {
		return
	}
	p.times = append(p.times, times...)
	for q, k := range tracedQuantities {
		p.bands[q] = append(p.bands[q], trace.Bands(k)...)
	}
}

// tracedQuantities are the curves and what the twin calls them.
var tracedQuantities = map[Quantity]twin.Quantity{
	DensityGPerL: twin.Density, TempC: twin.TempC, PH: twin.PHHere, LevelCM: twin.LevelCM,
}

func (f *follower) advanceAll(day *dayWeather, to time.Time) {
	for _, id := range sortedIDs(f.tracks) {
		f.advance(f.tracks[id], day, to)
	}
}

// curve returns the past of a quantity since a moment.
func (p *past) curve(q Quantity, since time.Time) Curve {
	i, _ := slices.BinarySearchFunc(p.times, since, func(a, b time.Time) int { return a.Compare(b) })
	if i >= len(p.times) || len(p.bands[q]) != len(p.times) {
		return Curve{Times: []time.Time{}, Bands: []num.Band{}}
	}
	return Curve{Times: p.times[i:], Bands: p.bands[q][i:]}
}
