package keeper

import (
	"context"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/science/num"
)

// HarvestPlan is what is proposed for the coming ten days: of each vessel which
// day and how much. It is found with the members of the twins as draws, each
// under its own weather, and is the same for the same journal and seed.
type HarvestPlan struct {
	At      time.Time  `json:"at"`    // the first moment of the plan
	Entry   int64      `json:"entry"` // last entry of the journal that it knows of
	Draws   int        `json:"draws"`
	Wish    PlanWish   `json:"wish"`
	Days    []PlanDay  `json:"days"`
	Vessels []PlanOf   `json:"vessels"`
	Total   PlanTotal  `json:"total"`
	Against []PlanRule `json:"against"`
	Short   *PlanShort `json:"short,omitempty"` // nil: the aim is reached
	Holds   []PlanHold `json:"holds_back"`      // what holds it back, the most first
	Quick   bool       `json:"quick,omitempty"` // by the first quick look at the farm
}

// PlanDay is what a day asks of the farm.
type PlanDay struct {
	Date    string    `json:"date"` // local date
	At      time.Time `json:"at"`   // moment of the harvest
	Here    bool      `json:"here"` // somebody is there
	Vessels int       `json:"vessels"`
	LitresL float64   `json:"cloth_l"`  // culture through the cloth [L]
	WorkH   float64   `json:"work_h"`   // time it takes [h]
	DryG    num.Band  `json:"dry_g"`    // dry matter [g]
	PasteKg num.Band  `json:"paste_kg"` // pressed paste [kg]
	Over    float64   `json:"over"`     // chance that it does not all find a place to dry [1]
}

// PlanOf is one vessel's part.
type PlanOf struct {
	Vessel  string    `json:"vessel"`
	Name    string    `json:"name"`
	Left    string    `json:"left_out,omitempty"` // why it is not planned for: "empty", "reserve", "held", "unknown"
	FloorGL float64   `json:"floor_g_per_l"`      // least density to leave [g/L]
	ShadePc float64   `json:"shade_pct"`          // that the floor goes by [%]
	Spared  bool      `json:"spared"`             // no living reserve: less than a third at once
	Acts    []PlanAct `json:"acts"`               // one for each day
	StandsG num.Band  `json:"stands_g"`           // dry matter that stands at the end [g]
}

// PlanAct is what is done to a vessel on a day.
type PlanAct struct {
	Date     string    `json:"date"`
	At       time.Time `json:"at"`
	Share    float64   `json:"share"`   // part of the volume through the cloth [1]; 0: nothing
	LitresL  float64   `json:"cloth_l"` // [L]
	DryG     num.Band  `json:"dry_g"`   // [g]
	PasteG   num.Band  `json:"paste_g"` // [g]
	BeforeGL num.Band  `json:"before_g_per_l"`
	AfterGL  num.Band  `json:"after_g_per_l"`
	Below    float64   `json:"below"`         // chance that less than the floor is left [1]
	Why      string    `json:"why,omitempty"` // why nothing is taken, if the day is closed
	FeedSalt string    `json:"feed_salt"`     // what gives the nitrogen back
	FeedG    float64   `json:"feed_g"`        // of it, for what is taken [g]
	TopUpL   float64   `json:"top_up_l"`      // water for what went since the last harvest [L]
	LevelCM  float64   `json:"level_cm"`      // level to fill to [cm]; 0: not known
	Lot      bool      `json:"for_food"`      // it is for food: looks and checks come before
	Forecast string    `json:"sky,omitempty"` // word for the day's sky
}

// PlanTotal is what the plan comes to.
type PlanTotal struct {
	DryG        num.Band   `json:"dry_g"`                  // harvested and dried, frozen or eaten [g]
	WeekG       []num.Band `json:"week_g"`                 // by weeks, the last cut short [g]
	WeekReached []float64  `json:"week_reached,omitempty"` // chance that a week brings what is wished [1]
	StandsG     num.Band   `json:"stands_g"`               // dry matter that stands at the end [g]
	Days        float64    `json:"harvest_days"`           // [d]
	Below       float64    `json:"below"`                  // chance that any harvest leaves too little [1]
	Over        float64    `json:"over"`                   // chance that any day brings more than finds a place [1]
	SpoiledG    float64    `json:"spoiled_g"`              // dry matter without a place, mean [g]
}

// PlanRule is the plan set beside a rule that is followed by the eye.
type PlanRule struct {
	Rule    string    `json:"rule"`     // "half" or "own"
	Share   float64   `json:"share"`    // what it takes [1]
	AboveGL float64   `json:"above_gl"` // when it is at least so dense [g/L]
	Seen    int       `json:"seen"`     // harvests that an own rule is read from
	Total   PlanTotal `json:"total"`
	Closed  float64   `json:"closed"`  // chance of a harvest on a day that is too cold, too hot or of a pH not for food [1]
	GainG   num.Band  `json:"gain_g"`  // harvest of the plan less that of the rule, draw by draw [g]
	EndG    float64   `json:"end_g"`   // what stands at the end, plan less rule, mean [g]
	AheadBy float64   `json:"ahead"`   // share of the draws in which the plan harvests more [1]
	Gain    bool      `json:"settled"` // the gain is clear of its spread
}

// PlanShort says that an aim cannot be reached.
type PlanShort struct {
	WantedG   float64 `json:"wanted_g"`   // [g], in a week for the goal steady
	PossibleG float64 `json:"possible_g"` // mean that is possible [g]
}

// PlanHold is one thing that holds a plan back.
type PlanHold struct {
	Kind  string  `json:"kind"`   // "days", "time", "cloth", "press", "dryer", "freezer", "water", "floor" or "growth"
	GainG float64 `json:"gain_g"` // mean dry matter more without it [g]
}

// PlanState is the harvest plan as it can be told now.
type PlanState struct {
	Plan     *HarvestPlan `json:"plan"`     // nil: none is worked out yet
	Old      bool         `json:"old"`      // something was noted since; a new one is being worked out
	Running  bool         `json:"running"`  // one is being worked out
	Progress float64      `json:"progress"` // how far that is [1]
	Trouble  *farm.Error  `json:"trouble,omitempty"`
}

// planner works plans out behind the answers, one at a time, and keeps the last.
type planner struct {
	mu       sync.Mutex
	key      planKey
	last     *HarvestPlan
	begun    time.Time // by the farm's clock, when the last was begun
	trouble  *farm.Error
	running  bool
	progress float64
	done     chan struct{}
}

// planKey is what a plan depends on.
type planKey struct {
	seq   int64
	day   string // first day of the plan, by its date
	quick bool
}

// HarvestPlan is the plan as of a moment, from what is worked out already. Where
// something was noted since, a new one is begun behind the answer, which waits
// for it only as long as patience says. Without patience nothing is begun while
// the season is still being read, nor within planRest of the last.
func (k *Keeper) HarvestPlan(ctx context.Context, at time.Time, patience time.Duration) (PlanState, error) {
	at = k.moment(at)
	key := k.beginPlan(at, patience > 0)
	pl := &k.plans
	pl.mu.Lock()
	wait, running := pl.done, pl.running
	pl.mu.Unlock()
	if running && patience > 0 {
		enough := time.NewTimer(patience)
		defer enough.Stop()
		select {
		case <-wait:
		case <-enough.C:
		case <-ctx.Done():
			return PlanState{}, ctx.Err()
		}
	}
	pl.mu.Lock()
	defer pl.mu.Unlock()
	return PlanState{
		Plan: pl.last, Running: pl.running, Progress: pl.progress, Trouble: pl.trouble,
		Old: pl.last != nil && pl.key != key,
	}, nil
}

// HarvestPlanNow works the plan out and waits for it. progress, which may be
// nil, is called now and then with how far it is [1].
func (k *Keeper) HarvestPlanNow(ctx context.Context, at time.Time, progress func(share float64)) (*HarvestPlan, error) {
	at = k.moment(at)
	pl := &k.plans
	key := k.planKeyAt(at)
	pl.mu.Lock()
	if pl.last != nil && pl.key == key && !pl.running {
		defer pl.mu.Unlock()
		return pl.last, nil
	}
	pl.mu.Unlock()
	return k.makePlan(ctx, at, progress)
}

// planRest is how long after one plan was begun no page that only mentions it
// begins another: a round of readings is one round, not ten plans.
const planRest = 10 * time.Minute

// planKeyAt is what a plan as of a moment depends on.
func (k *Keeper) planKeyAt(at time.Time) planKey {
	k.follow.mu.Lock()
	quick := k.follow.quick || k.follow.few > 0
	k.follow.mu.Unlock()
	k.mu.RLock()
	defer k.mu.RUnlock()
	_, zone, _ := site(k.present)
	w := wishOf(k.present, at)
	return planKey{seq: k.present.Seq(), day: w.moments(at, zone)[0].Format(time.DateOnly), quick: quick}
}

// beginPlan begins a plan behind the answers where the last one does not hold.
// It returns what a plan as of the moment depends on.
func (k *Keeper) beginPlan(at time.Time, eager bool) planKey {
	key := k.planKeyAt(at)
	if k.follow.ended() || key.quick && !eager {
		return key
	}
	pl := &k.plans
	pl.mu.Lock()
	defer pl.mu.Unlock()
	if pl.running || pl.key == key && (pl.last != nil || pl.trouble != nil) {
		return key
	}
	if since := at.Sub(pl.begun); !eager && pl.last != nil && since >= 0 && since < planRest {
		return key
	}
	pl.running, pl.progress, pl.begun, pl.done = true, 0, at, make(chan struct{})
	k.behind.Go(func() {
		ctx, cancel := context.WithCancel(context.Background())
		defer cancel()
		go func() {
			select {
			case <-k.follow.stopped:
				cancel()
			case <-ctx.Done():
			}
		}()
		made, err := k.makePlan(ctx, at, func(share float64) {
			pl.mu.Lock()
			pl.progress = share
			pl.mu.Unlock()
		})
		// The key was read before the plan: what came in meanwhile makes the
		// next question begin another.
		pl.mu.Lock()
		defer pl.mu.Unlock()
		pl.running, pl.key = false, key
		close(pl.done)
		switch {
		case err == nil:
			pl.last, pl.trouble = made, nil
			pl.key.quick, pl.key.seq = made.Quick, made.Entry
		case ctx.Err() == nil:
			k.opt.Logger.Error("no plan could be made", "err", err)
			pl.trouble = &farm.Error{Code: farm.CodeOf(err), Message: err.Error()}
			var told *farm.Error
			if asFarm(err, &told) {
				pl.trouble = told
			}
		}
	})
	return key
}

// Settings are the choices of the farm as last made.
func (k *Keeper) Settings(context.Context) ([]farm.Setting, error) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	return k.present.Settings(), nil
}
