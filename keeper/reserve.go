package keeper

import (
	"context"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
	"sodalake/science/plan"
)

// drillDays is how often a backup should be grown up to see that it can be [d].
// Judgement, no source.
const drillDays = 180

// Reserve is what stands behind the ponds of a farm.
type Reserve struct {
	At      time.Time `json:"at"`
	Backups []Backup  `json:"backups"`
	Places  int       `json:"places"`   // in which living backups stand
	Each    int       `json:"each"`     // living backups in the place that has the fewest
	AllLost float64   `json:"all_lost"` // chance to lose them all between two looks [1]; 1 without any
	Loss    LossWish  `json:"loss"`     //
	Needs   []Needed  `json:"needs"`    // how many backups in how many places
	Turns   []Turn    `json:"turns"`    // which to renew when, the soonest first
	Largest string    `json:"largest"`  // the largest pond, that a restart would fill
	Living  bool      `json:"living"`   // one was seen alive of late
	SeenD   float64   `json:"seen_d"`   // for how long a look counts [d]
	RenewD  float64   `json:"renew_d"`  // after so long one is renewed [d]
	DrillD  float64   `json:"drill_d"`  // after so long one is grown up to see that it can be [d]
	Drilled time.Time `json:"drilled,omitzero"`
}

// Backup is one reserve.
type Backup struct {
	Vessel  string    `json:"vessel"`
	Name    string    `json:"name"`
	Place   string    `json:"place"` // one of farm.Places
	Count   int       `json:"count"` // vessels alike
	Holds   bool      `json:"holds"` // it holds a culture
	Alive   bool      `json:"alive"` // it was seen of late and is not on hold
	OnHold  bool      `json:"on_hold"`
	Litres  num.Band  `json:"volume_l"`
	Density num.Band  `json:"density_g_per_l"`
	Begun   time.Time `json:"begun,omitzero"`
	Renewed time.Time `json:"renewed,omitzero"`  // last new medium or culture
	Looked  time.Time `json:"looked,omitzero"`   // last look under the microscope
	Clean   bool      `json:"clean"`             // nothing foreign was seen then
	Read    time.Time `json:"read,omitzero"`     // last reading of any kind
	GrownUp time.Time `json:"grown_up,omitzero"` // last time another vessel was begun from it
	Old     bool      `json:"old"`               // older than its interval
	Unseen  bool      `json:"unseen"`            // nobody looked for too long
}

// LossWish is how backups are lost between two looks, and which chance to lose
// all is put up with.
type LossWish struct {
	Each  float64 `json:"each"`  // chance that one dies by itself [1]
	Place float64 `json:"place"` // chance that a whole place is lost [1]
	Risk  float64 `json:"risk"`  // chance to lose all that is put up with [1]
}

// DefaultLoss is a first guess, for a month between two looks. Judgement, no
// source.
func DefaultLoss() LossWish { return LossWish{Each: 0.1, Place: 0.03, Risk: 0.01} }

// Needed is how many backups must stand in each of so many places.
type Needed struct {
	Places  int     `json:"places"`
	Each    int     `json:"each"`     // 0: no number does
	AllLost float64 `json:"all_lost"` // chance to lose all with so many [1]
}

// Turn is a backup with the day on which it is renewed next.
type Turn struct {
	Vessel string    `json:"vessel"`
	Name   string    `json:"name"`
	At     time.Time `json:"at"`
}

// Reserve tells what stands behind the ponds as of a moment.
func (k *Keeper) Reserve(ctx context.Context, at time.Time, wish LossWish) (Reserve, error) {
	at = k.moment(at)
	if wish == (LossWish{}) {
		wish = DefaultLoss()
	}
	if _, err := (plan.Loss{Each: wish.Each, Place: wish.Place, Places: 99}).Backups(wish.Risk); err != nil {
		return Reserve{}, lossError(err)
	}
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Reserve{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	r := Reserve{
		At: at, Loss: wish, Backups: []Backup{}, Needs: []Needed{}, Turns: []Turn{}, SeenD: reserveSeenDays(),
		RenewD: advice.DefaultRules().ReserveDays, DrillD: drillDays, AllLost: 1,
	}
	by := map[string]int{}
	largest := 0.0
	for _, spec := range p.Vessels() {
		l := a.looks[spec.ID]
		if spec.Retired || l == nil {
			continue
		}
		if spec.Use != "reserve" && spec.Use != "starter" {
			if s := stageOf(spec, true); s.full > largest {
				largest, r.Largest = s.full, spec.ID
			}
			continue
		}
		b := backup(p, l, at)
		r.Backups = append(r.Backups, b)
		if b.GrownUp.After(r.Drilled) {
			r.Drilled = b.GrownUp
		}
		if b.Alive {
			r.Living = true
			by[b.Place] += b.Count
		}
		if b.Holds {
			next := b.Renewed.Add(time.Duration(r.RenewD*24) * time.Hour)
			if next.Before(at) {
				next = at
			}
			r.Turns = append(r.Turns, Turn{b.Vessel, b.Name, next})
		}
	}
	slices.SortStableFunc(r.Backups, func(a, b Backup) int { return slices.Index(farm.Places, a.Place) - slices.Index(farm.Places, b.Place) })
	slices.SortStableFunc(r.Turns, func(a, b Turn) int { return a.At.Compare(b.At) })
	lost := 1.0
	for _, n := range by {
		r.Places++
		if r.Each == 0 || n < r.Each {
			r.Each = n
		}
		lost *= plan.Loss{Each: wish.Each, Place: wish.Place, Places: 1}.AllLost(n)
	}
	r.AllLost = lost
	for places := 1; places <= 3; places++ {
		l := plan.Loss{Each: wish.Each, Place: wish.Place, Places: places}
		need := Needed{Places: places, AllLost: math.Pow(wish.Place, float64(places))}
		if n, err := l.Backups(wish.Risk); err == nil {
			need.Each, need.AllLost = n, l.AllLost(n)
		}
		r.Needs = append(r.Needs, need)
	}
	return r, nil
}

func lossError(err error) error {
	bad, ok := err.(*plan.InputError)
	if !ok {
		return err
	}
	return &farm.Error{Code: farm.Invalid, Field: bad.Field, Message: bad.Reason, Hint: bad.Hint}
}

// backup is one reserve with what was seen of it.
func backup(p *farm.Present, l *look, at time.Time) Backup {
	spec := &l.spec
	b := Backup{Vessel: spec.ID, Name: spec.Name, Place: spec.Place, Count: spec.Number(), Holds: l.started && !l.t.begun.At.IsZero()}
	if b.Place == "" {
		b.Place = farm.Places[0]
	}
	b.OnHold = len(p.OnHold(spec.ID, at)) > 0
	if !b.Holds {
		return b
	}
	rules := advice.DefaultRules()
	b.Litres, b.Density = l.now.Bands[VolumeL], l.now.Bands[DensityGPerL]
	b.Begun, b.Renewed = l.t.begun.At, renewed(p, spec.ID, l.t.begun.At, at)
	for _, e := range p.Timeline(spec.ID, b.Begun, at.Add(time.Second)) {
		if e.Kind.Group == farm.GroupReading {
			b.Read = e.Entry.At
			if e.Kind.Name == "microscope" {
				foreign, counted := e.Body.Number("foreign_seen")
				b.Looked, b.Clean = e.Entry.At, counted && foreign == 0
			}
		}
		for _, f := range e.Flows {
			if f.From == spec.ID && f.What == farm.IsCulture && f.To != farm.Drain && f.To != farm.Outside && f.To != farm.Cloth {
				b.GrownUp = e.Entry.At
			}
		}
	}
	b.Old = at.Sub(b.Renewed).Hours()/24 >= rules.ReserveDays
	b.Unseen = at.Sub(lastSeen(p, spec.ID, b.Begun, at)).Hours()/24 > reserveSeenDays()
	b.Alive = !b.OnHold && !b.Unseen
	return b
}

// reserveSeenDays is for how long a look at a reserve, or its renewal, counts as
// proof that it lives [d]: twice the interval at which a reserve is renewed.
// Judgement, no source.
func reserveSeenDays() float64 { return 2 * advice.DefaultRules().ReserveDays }

// livingReserve reports whether a reserve stands behind the ponds that was seen
// alive of late: renewed, read or looked at, not held and not thrown away.
func livingReserve(p *farm.Present, a *answer, at time.Time) bool {
	for _, spec := range p.Vessels() {
		l := a.looks[spec.ID]
		if spec.Retired || spec.Use != "reserve" && spec.Use != "starter" || l == nil {
			continue
		}
		if backup(p, l, at).Alive {
			return true
		}
	}
	return false
}

// lastSeen is when somebody last read or looked at a vessel, or renewed it.
func lastSeen(p *farm.Present, vessel string, begun, at time.Time) time.Time {
	seen := renewed(p, vessel, begun, at)
	for _, e := range p.Timeline(vessel, begun, at.Add(time.Second)) {
		if e.Kind.Group == farm.GroupReading && e.Entry.At.After(seen) {
			seen = e.Entry.At
		}
	}
	return seen
}
