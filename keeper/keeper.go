package keeper

import (
	"context"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"sync"
	"time"

	"sodalake/farm"
)

// Options are the choices of a keeper.
type Options struct {
	Members int    // members of an ensemble; 0: DefaultMembers
	Draws   int    // weathers drawn; 0: DefaultDraws
	Seed    uint64 // decides all that is random
	Quick   bool   // answer from the last weeks first, and read the season afterwards
	Version string // of the program's build; checkpoints are kept for it alone, and none without
	Days    int    // how far back the twins reach at most [d]; 0: DefaultDays
	Logger  *slog.Logger
	Photos  Blobs // where photos are kept; nil: none are
}

// Defaults of Options.
const (
	DefaultMembers = 120
	DefaultDraws   = 24
	DefaultDays    = 120
	quickMembers   = 16
	quickDays      = 10
)

// Keeper keeps one farm. All its methods may be called at once.
type Keeper struct {
	store farm.Store
	now   func() time.Time
	opt   Options

	write   sync.Mutex   // one writer of the journal at a time
	mu      sync.RWMutex // guards present; taken after follow.mu, never before it
	present *farm.Present

	follow  *follower
	behind  sync.WaitGroup // what is done behind the answers
	shelves shelves
	plans   planner
	designs designs
	lotBook bookKept
	ladders ladders
}

// Open reads the journal of a store and returns its keeper. now is the farm's
// clock. The keeper does not close the store.
func Open(ctx context.Context, store farm.Store, now func() time.Time, opt Options) (*Keeper, error) {
	if opt.Members == 0 {
		opt.Members = DefaultMembers
	}
	if opt.Draws == 0 {
		opt.Draws = DefaultDraws
	}
	if opt.Days == 0 {
		opt.Days = DefaultDays
	}
	if opt.Logger == nil {
		opt.Logger = slog.New(slog.DiscardHandler)
	}
	k := &Keeper{store: store, now: now, opt: opt, present: farm.NewPresent()}
	if err := k.present.Fold(store.Entries(ctx, 0, 0)); err != nil {
		return nil, fmt.Errorf("journal could not be read: %w", err)
	}
	k.follow = newFollower(k)
	return k, nil
}

// Close stops what the keeper does, behind its answers too, and waits for it: the
// store may be closed afterwards.
func (k *Keeper) Close() {
	k.follow.stop()
	k.designs.shut()
	k.behind.Wait()
	k.follow.mu.Lock() // an answer on its way ends at the next midnight
	defer k.follow.mu.Unlock()
}

// Append writes entries down, all or none, after checking each against what
// stands and against those before it in the list. An entry that is there
// already with the same bytes is answered as it stands; with other bytes the
// error is farm.Conflict.
func (k *Keeper) Append(ctx context.Context, entries []farm.Entry, origin farm.Origin) ([]farm.Entry, error) {
	k.write.Lock()
	defer k.write.Unlock()
	now := k.now()
	accepted, touched, err := k.append(ctx, entries, origin, now)
	if err != nil {
		return nil, err
	}
	k.follow.touch(touched)
	return accepted, nil
}

func (k *Keeper) append(ctx context.Context, entries []farm.Entry, origin farm.Origin, now time.Time) ([]farm.Entry, []farm.Touch, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	for i := range entries {
		entries[i].ReceivedAt = time.Time{} // the store's own clock says when it came
	}
	if _, place, bad := farm.CheckAll(entries, k.present, origin, now); bad != nil {
		if place > 0 {
			bad.Message = fmt.Sprintf("entry %d: %s", place+1, bad.Message)
		}
		return nil, nil, bad
	}
	if origin == farm.Typed {
		if bad := k.tryLots(entries, now); bad != nil {
			return nil, nil, bad
		}
	}
	accepted, err := k.store.Append(ctx, entries)
	if err != nil {
		return nil, nil, err
	}
	var touched []farm.Touch
	for _, e := range accepted {
		touched = append(touched, k.present.Apply(e)...)
		switch e.Kind {
		case "checked":
			// The readings of every vessel were made with it.
			for _, v := range k.present.Vessels() {
				touched = append(touched, farm.Touch{Vessel: v.ID, Since: e.At})
			}
			if e.Corrects != "" {
				touched = append(touched, farm.Touch{})
			}
		case "site", "vessel", "recipe", "instrument", "withdrawn":
			// What stands there and what was poured is other than it was, and
			// nobody knows since when: all vessels are followed anew.
			touched = append(touched, farm.Touch{})
		}
	}
	return accepted, touched, nil
}

// refold makes the present anew from the store. The caller holds mu.
func (k *Keeper) refold(ctx context.Context) {
	p := farm.NewPresent()
	if err := p.Fold(k.store.Entries(ctx, 0, 0)); err != nil {
		k.opt.Logger.Error("journal could not be read again", "err", err)
		return
	}
	k.present = p
}

// Import takes JSON lines, all or none, and returns how many entries were new
// and how many were known already.
func (k *Keeper) Import(ctx context.Context, r io.Reader) (added, known int64, err error) {
	k.write.Lock()
	defer k.write.Unlock()
	total, n, err := k.load(ctx, r)
	if err != nil {
		return 0, 0, err
	}
	k.follow.touch([]farm.Touch{{}})
	return int64(n), total - int64(n), nil
}

// load is Import's part that needs the present to itself. It must be left
// before the follower is told: an answer holds the follower and asks for the
// present, never the other way round.
func (k *Keeper) load(ctx context.Context, r io.Reader) (total int64, added int, err error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	counted := func(seq iter.Seq2[farm.Entry, error]) iter.Seq2[farm.Entry, error] {
		return func(yield func(farm.Entry, error) bool) {
			for e, err := range seq {
				if err == nil {
					total++
				}
				if !yield(e, err) {
					return
				}
			}
		}
	}
	added, err = k.store.Load(ctx, counted(farm.ReadEntries(r, k.present, k.now())))
	k.refold(context.WithoutCancel(ctx))
	return total, added, err
}

// Export writes the whole journal as JSON lines.
func (k *Keeper) Export(ctx context.Context, w io.Writer) (int, error) {
	return farm.Export(w, k.store.Entries(ctx, 0, 0))
}

// Verify reads the whole chain and says whether it holds.
func (k *Keeper) Verify(ctx context.Context) (int64, farm.Head, error) {
	head, err := k.store.Head(ctx)
	if err != nil {
		return 0, head, err
	}
	whole, err := k.store.Verify(ctx)
	return whole, head, err
}

// Store is the store that keeps the journal.
func (k *Keeper) Store() farm.Store { return k.store }

// Read calls see with the farm's present, which must not be kept.
func (k *Keeper) Read(see func(p *farm.Present)) {
	k.mu.RLock()
	defer k.mu.RUnlock()
	see(k.present)
}

// Now is the farm's clock.
func (k *Keeper) Now() time.Time { return k.now() }

// site returns the first site and its time zone; UTC without one.
func site(p *farm.Present) (farm.Site, *time.Location, bool) {
	sites := p.Sites()
	if len(sites) == 0 {
		return farm.Site{}, time.UTC, false
	}
	zone, err := time.LoadLocation(sites[0].Timezone)
	if err != nil {
		zone = time.UTC
	}
	return sites[0], zone, true
}
