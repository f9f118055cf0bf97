package keeper

import (
	"context"
	"time"

	"sodalake/farm"
	"sodalake/science/num"
)

// horizonDays is how far the forecast looks [d].
const horizonDays = 10

// look is what is known of one vessel at one moment.
type look struct {
	spec     farm.Vessel
	t        *track
	now      Estimate
	forecast Forecast
	ready    float64 // density called ready [g/L]

	troubles  []Sentence
	started   bool
	chance    float64   // above ready now [1]
	dawn      num.Band  // coldest of the coming 24 h [°C]
	noon      num.Band  // warmest of the coming 24 h [°C]
	hottest   num.Band  // warmest of the horizon [°C]
	hottestOn time.Time // its day
	warmAt    time.Time // when the median water passes 18 °C today
	bright    bool
	growth    num.Band // net gain a day [g/L/d]
	carries   float64  // growth that the carbon carries [g/L]
	perGram   float64  // baking soda that carries one gram of growth [g/g]
	airDays   float64  // days of air for the carbon of 0.1 g/L [d]
	nitrogen  float64  // growth that the nitrogen carries [g/L]
	ammonia   num.Band // free ammonia [mM]
	reduced   float64  // reduced nitrogen standing, as urea at the low volume [mg/L]
	areaM2    float64
	carry     map[string]num.Band // growth that each salt in the water carries [g/L]
}

// answer is what is known of all vessels at one moment.
type answer struct {
	at     time.Time
	quick  bool
	looks  map[string]*look
	light  DayLight
	meters []MeterState
	checks []meterCheck
	sky    map[string]string // sky word by local date
	coming ahead2
}

// answerAt returns what is known at a moment; it is worked out once for every
// ten minutes and every change of the journal.
func (k *Keeper) answerAt(ctx context.Context, at time.Time) (*answer, error) {
	f := k.follow
	f.mu.Lock()
	defer f.mu.Unlock()
	k.mu.RLock()
	defer k.mu.RUnlock()
	marks, at := marksOf(k.present, at)
	if a, ok := f.answers[at]; ok {
		return a, nil
	}
	if f.weather != nil && k.opt.Quick && !f.filling && f.ownAt(k.present, at).key != f.own.key {
		// A new pair makes another disc, and with it another season: as at the
		// start a quick answer comes first, and the whole follows behind.
		f.weather = nil
	}
	if f.weather == nil {
		switch loaded := f.load(ctx, k.present, at); {
		case !k.opt.Quick:
		case loaded:
			f.few = quickMembers
			defer k.deepen(at)
		default:
			f.members, f.days, f.quick = quickMembers, quickDays, true
			defer k.fill(at)
		}
	}
	if err := f.bring(ctx, k.present, at); err != nil {
		return nil, err
	}
	a, err := f.answer(k.present, at, marks)
	if err != nil {
		return nil, err
	}
	if len(f.answers) > 4 {
		clear(f.answers)
	}
	f.answers[at] = a
	return a, nil
}

// marksOf are the moments for which a question at a moment is answered: for each
// vessel the last mark of ten minutes, or just after what was noted of it since,
// which must not wait for the next mark; and the latest of them for the farm.
// A reading in one pond leaves the looks at the others as they are.
func marksOf(p *farm.Present, at time.Time) (marks map[string]time.Time, latest time.Time) {
	latest = at.Truncate(10 * time.Minute)
	mark := latest
	marks = map[string]time.Time{}
	checks := p.KindRefs("checked", mark, at.Add(time.Millisecond))
	for _, v := range p.Vessels() {
		marks[v.ID] = mark
		if n := len(checks); n > 0 { // of an instrument that all are read with
			marks[v.ID] = checks[n-1].At.Add(time.Millisecond)
			if marks[v.ID].After(latest) {
				latest = marks[v.ID]
			}
		}
		if line := p.Timeline(v.ID, mark, at.Add(time.Millisecond)); len(line) > 0 {
			after := line[len(line)-1].Entry.At.Add(time.Millisecond)
			if after.After(marks[v.ID]) {
				marks[v.ID] = after
			}
			if after.After(latest) {
				latest = after
			}
		}
	}
	return marks, latest
}

// fill reads the whole season with all members, behind a quick look. It reads
// the journal for itself, so that nobody waits for it. The caller holds f.mu.
func (k *Keeper) fill(at time.Time) {
	f := k.follow
	if f.filling {
		return
	}
	f.filling, f.missed = true, nil
	k.behind.Go(func() {
		whole := newFollower(k)
		whole.stopped = f.stopped
		p := farm.NewPresent()
		err := p.Fold(k.store.Entries(context.Background(), 0, 0))
		if err == nil {
			err = whole.bring(context.Background(), p, at)
		}
		f.mu.Lock()
		defer f.mu.Unlock()
		f.filling = false
		if err != nil {
			return
		}
		f.weather, f.own, f.tracks, f.at, f.points = whole.weather, whole.own, whole.tracks, whole.at, whole.points
		f.members, f.days, f.quick = whole.members, whole.days, false
		f.dirty, f.stale = false, time.Time{}
		f.mark(f.missed) // what was noted meanwhile
		clear(f.answers)
		clear(f.looks)
	})
}

// deepen looks ahead with all members, behind a first answer that did so with a
// few. The caller holds f.mu.
func (k *Keeper) deepen(at time.Time) {
	f := k.follow
	k.behind.Go(func() {
		f.mu.Lock()
		f.few = 0
		f.mu.Unlock()
		k.mu.RLock()
		marks, _ := marksOf(k.present, at)
		k.mu.RUnlock()
		for id, mark := range marks {
			// One vessel at a time, so that a page waits for one at most.
			f.mu.Lock()
			k.mu.RLock()
			if t := f.tracks[id]; t != nil && !f.dirty {
				if l, err := f.look(k.present, t, mark); err == nil {
					f.looks[lookAt{id, mark}] = l
				}
			}
			k.mu.RUnlock()
			clear(f.answers)
			f.mu.Unlock()
		}
	})
}

// lookAt names the look at a vessel as of a moment.
type lookAt struct {
	vessel string
	at     time.Time
}

// maxLooks is how many looks are kept for one vessel: a few moments.
const maxLooks = 4

// answer works out what is known at a moment, from the looks that still hold
// and new ones. The caller holds mu.
func (f *follower) answer(p *farm.Present, at time.Time, marks map[string]time.Time) (*answer, error) {
	a := &answer{at: at, quick: f.quick, looks: map[string]*look{}, sky: map[string]string{}}
	days, err := f.horizon(at)
	if err != nil {
		return nil, err
	}
	for _, d := range days {
		a.sky[d.from.Format(time.DateOnly)] = f.skyWord(d)
	}
	a.light, a.coming = f.dayLight(days[0]), skyAhead(days, at)
	f.ownAt(p, at)
	a.meters, a.checks = metersAt(p, f.checks, at), f.checks
	if len(f.looks) > maxLooks*len(f.tracks) {
		clear(f.looks)
	}
	for _, id := range sortedIDs(f.tracks) {
		key := lookAt{id, marks[id]}
		l, have := f.looks[key]
		if !have {
			if l, err = f.look(p, f.tracks[id], key.at); err != nil {
				return nil, err
			}
			f.looks[key] = l
		}
		a.looks[id] = l
	}
	return a, nil
}

// horizon is the weather of the day of a moment and of those after it.
func (f *follower) horizon(at time.Time) ([]*dayWeather, error) {
	w, err := f.weather.day(at)
	days := []*dayWeather{w}
	for err == nil && len(days) <= horizonDays {
		w, err = f.weather.day(w.to.Add(12 * time.Hour))
		days = append(days, w)
	}
	return days, err
}
