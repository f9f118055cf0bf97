package keeper

import (
	"context"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/farm/design"
)

// Designed is how far a question of ponds before they are built is. Answer is
// nil until it is done.
type Designed struct {
	Answer *design.Answer
	Done   int // drawn years that are through
	Of     int
}

// designs are the questions that were asked lately. One is worked on at a time;
// the rest wait their turn.
type designs struct {
	mu     sync.Mutex
	turn   sync.Mutex
	jobs   map[string]*designJob
	order  []string // of the jobs, oldest first
	closed bool
	stop   context.CancelFunc
	ctx    context.Context
}

type designJob struct {
	mu   sync.Mutex
	got  Designed
	err  error
	done chan struct{}
}

// keptDesigns is how many questions are remembered, waitingDesigns how many may
// be on their way, and patience how long an answer is waited for.
const (
	keptDesigns    = 12
	waitingDesigns = 4
	patience       = 900 * time.Millisecond
)

// Design answers a question, or tells how far it is when that takes more than a
// moment: ask again with the same key. The key names the question; the same key
// must stand for the same one.
func (k *Keeper) Design(ctx context.Context, key string, a *design.Ask) (Designed, error) {
	if err := a.Check(); err != nil {
		return Designed{}, err
	}
	j, err := k.designs.job(k, key, a)
	if err != nil {
		return Designed{}, err
	}
	wait := time.NewTimer(patience)
	defer wait.Stop()
	select {
	case <-j.done:
	case <-wait.C:
	case <-ctx.Done():
		return Designed{}, ctx.Err()
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.got, j.err
}

// job finds the job of a question or begins it.
func (d *designs) job(k *Keeper, key string, a *design.Ask) (*designJob, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if j, ok := d.jobs[key]; ok {
		return j, nil
	}
	if d.closed {
		return nil, context.Canceled
	}
	if d.ctx == nil {
		d.ctx, d.stop = context.WithCancel(context.Background())
		d.jobs = map[string]*designJob{}
	}
	waiting := 0
	for _, j := range d.jobs {
		select {
		case <-j.done:
		default:
			waiting++
		}
	}
	if waiting >= waitingDesigns {
		return nil, &farm.Error{Code: farm.Conflict, Message: "other designs are being looked at", Hint: "wait a few seconds and ask again"}
	}
	for len(d.order) >= keptDesigns { // the oldest that is done makes room
		at := -1
		for i, old := range d.order {
			select {
			case <-d.jobs[old].done:
				at = i
			default:
			}
			if at >= 0 {
				break
			}
		}
		if at < 0 {
			break
		}
		delete(d.jobs, d.order[at])
		d.order = append(d.order[:at], d.order[at+1:]...)
	}
	j := &designJob{done: make(chan struct{}), got: Designed{Of: a.Years}}
	d.jobs[key] = j
	d.order = append(d.order, key)
	k.behind.Go(func() { d.work(j, a) })
	return j, nil
}

// work runs a job in its turn.
func (d *designs) work(j *designJob, a *design.Ask) {
	defer close(j.done)
	d.turn.Lock()
	defer d.turn.Unlock()
	answer, err := design.Run(d.ctx, a, func(year, _ int) {
		j.mu.Lock()
		j.got.Done = year
		j.mu.Unlock()
	})
	j.mu.Lock()
	defer j.mu.Unlock()
	j.got.Answer, j.err = answer, err
}

// shut stops what is on its way and takes nothing new.
func (d *designs) shut() {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.closed = true
	if d.stop != nil {
		d.stop()
	}
}
