package keeper

import (
	"context"
	"math"
	"time"

	"sodalake/farm"
)

// History is what was read and done in a vessel since a moment.
func (k *Keeper) History(ctx context.Context, id string, since time.Time) ([]Reading, []Mark, error) {
	at := k.now()
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return nil, nil, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	l := a.looks[id]
	if l == nil {
		return nil, nil, noVessel(k.present, id)
	}
	_, zone, _ := site(k.present)
	readings, marks := []Reading{}, []Mark{}
	for _, e := range k.present.Timeline(id, since, at.Add(time.Second)) {
		switch e.Kind.Group {
		case farm.GroupReading:
			for _, r := range e.Readings() {
				if x := k.reading(l, &r); x.Quantity != "" {
					x.At = x.At.In(zone)
					readings = append(readings, x)
				}
			}
		case farm.GroupAct:
			amount, unit := amountOf(&e)
			way := "in"
			for _, f := range e.Flows {
				if f.From == id {
					way = "out"
				}
			}
			marks = append(marks, Mark{EntryID: e.Entry.ID, At: e.Entry.At.In(zone), Act: e.Kind.Name, Way: way, Amount: amount, Unit: unit})
		}
	}
	return readings, marks, nil
}

// reading is one value as charts show it; a Quantity of "" is for no chart.
func (k *Keeper) reading(l *look, r *farm.Reading) Reading {
	out := Reading{EntryID: r.EntryID, At: r.At, Value: r.Value, Op: r.Op, By: r.By}
	if out.Op == "" {
		out.Op = "="
	}
	_, q, spread, ok := toTwin(r, l.t.own)
	if !ok {
		return out
	}
	out.Quantity, out.Spread = q, spread
	if v, followed := l.t.verdicts[r.EntryID+"/"+r.Key]; followed {
		out.Doubt = v.doubt
	} else if len(r.Doubts) > 0 {
		out.Doubt = r.Doubts[0].Key
	}
	if q == SecchiCM {
		// On the density chart a disc is what it says of the density, with the
		// spread of the disc's constant and of the reading.
		x := l.t.own.disc(r.Value)
		out.Quantity, out.Value, out.Spread = DensityGPerL, x.Mid, x
	}
	return out
}

// Doubted says why the twin does not believe a reading of an entry.
func (k *Keeper) Doubted(entryID string) (Sentence, bool) {
	f := k.follow
	f.mu.Lock()
	defer f.mu.Unlock()
	for _, t := range f.tracks {
		for key, v := range t.verdicts {
			if v.doubt != "" && len(key) > len(entryID) && key[:len(entryID)] == entryID && key[len(entryID)] == '/' {
				args := map[string]any{"quantity": key[len(entryID)+1:], "value": v.value, "expected": v.expected.Mid, "expected_low": v.expected.Low, "expected_high": v.expected.High}
				return Sentence{Key: v.doubt, Args: args}, true
			}
		}
	}
	return k.tooLate(entryID)
}

// tooLate says that a reading was noted so long after it was taken that no
// estimate ever reached back to it.
func (k *Keeper) tooLate(entryID string) (Sentence, bool) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	e, ok := k.present.Event(entryID)
	if !ok || e.Kind.Group != farm.GroupReading {
		return Sentence{}, false
	}
	late := e.Entry.NotedAt.Sub(e.Entry.At)
	if late <= time.Duration(k.opt.Days)*24*time.Hour {
		return Sentence{}, false
	}
	return Sentence{Key: "doubt.too_late", Args: map[string]any{"age_d": math.Floor(late.Hours() / 24), "reach_d": float64(k.opt.Days)}}, true
}
