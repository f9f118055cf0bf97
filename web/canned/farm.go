package canned

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/farm/lot"
	"sodalake/farm/photo"
	"sodalake/keeper"
	"sodalake/web"
)

// Farm is the canned farm. It implements web.Farm.
type Farm struct {
	mu      sync.Mutex
	entries []farm.Entry
	byID    map[string]int
	present *farm.Present
	head    farm.Head
	photos  map[string]photo.Photo

	// Writes counts the calls of Append that wrote something.
	Writes int
	// Plan, if set, is the harvest plan instead of the canned one.
	Plan *keeper.PlanState
	// Busy leaves what takes long on its way for ever.
	Busy bool
	// Fail, if set, is what every call answers.
	Fail error
}

// New returns the farm with its season.
func New() *Farm {
	f := Empty()
	f.keepPictures()
	if _, err := f.add(journal(), farm.Filed); err != nil {
		panic("canned: " + err.Error())
	}
	f.Writes = 0
	return f
}

// NewUS returns the same farm, thinking in US measures.
func NewUS() *Farm {
	f := New()
	site := f.present.Sites()[0]
	id, err := farm.NewIDs(seeded{rand.New(rand.NewPCG(8, 9))}).Make(Now)
	if err != nil {
		panic("canned: " + err.Error())
	}
	body := fmt.Sprintf(`{"id":%q,"name":%q,"lat_deg":44.2,"lon_deg":-14.5,"timezone":"Etc/GMT+1","measures":"us","language":"en"}`, site.ID, site.Name)
	if _, err := f.add([]farm.Entry{{ID: id, Kind: "site", V: 1, At: Now, NotedAt: Now, By: "Imke", Body: []byte(body)}}, farm.Filed); err != nil {
		panic("canned: " + err.Error())
	}
	f.Writes = 0
	return f
}

// Empty returns a farm in which nothing was written down yet.
func Empty() *Farm {
	return &Farm{byID: map[string]int{}, present: farm.NewPresent(), photos: map[string]photo.Photo{}}
}

// add checks and writes entries, all or none.
func (f *Farm) add(entries []farm.Entry, origin farm.Origin) ([]farm.Entry, error) {
	out := make([]farm.Entry, len(entries))
	var fresh []farm.Entry
	head := f.head
	trial := farm.NewPresent()
	for _, e := range f.entries {
		trial.Apply(e)
	}
	for i, e := range entries {
		canonical, err := e.Canonical()
		if err != nil {
			return nil, err
		}
		if at, ok := f.byID[e.ID]; ok {
			was, err := f.entries[at].Canonical()
			if err != nil {
				return nil, err
			}
			if !bytes.Equal(was, canonical) {
				return nil, farm.ConflictError(e.ID)
			}
			out[i] = f.entries[at]
			continue
		}
		for j := range i {
			if entries[j].ID != e.ID {
				continue
			}
			if was, err := entries[j].Canonical(); err != nil || !bytes.Equal(was, canonical) {
				return nil, farm.ConflictError(e.ID)
			}
		}
		if _, bad := farm.Check(e, trial, origin, Now); bad != nil {
			return nil, bad
		}
		e.Seq, e.ReceivedAt, e.Prev = head.Seq+1, e.NotedAt, head.Hash
		e.Hash = farm.ChainHash(head.Hash, canonical)
		head.Seq, head.Hash = e.Seq, e.Hash
		trial.Apply(e)
		fresh = append(fresh, e)
		out[i] = e
	}
	for _, e := range fresh {
		f.byID[e.ID] = len(f.entries)
		f.entries = append(f.entries, e)
	}
	f.head, f.present = head, trial
	if len(fresh) > 0 {
		f.Writes++
	}
	return out, nil
}

// Append writes entries down, all or none.
func (f *Farm) Append(_ context.Context, entries []farm.Entry, origin farm.Origin) ([]farm.Entry, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return nil, f.Fail
	}
	if origin == farm.Typed {
		for _, e := range entries {
			if bad := lot.Try(f.present, lot.NewReader(), e, Now); bad != nil {
				return nil, bad
			}
		}
	}
	return f.add(entries, origin)
}

// Entry is one entry by its ULID.
func (f *Farm) Entry(_ context.Context, id string) (farm.Entry, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if at, ok := f.byID[id]; ok {
		return f.entries[at], nil
	}
	return farm.Entry{}, &farm.Error{Code: farm.NotFound, Field: "id", Message: fmt.Sprintf("entry %q does not exist", id)}
}

// Entries are entries as ask says.
func (f *Farm) Entries(_ context.Context, ask web.Ask) (web.Page, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return web.Page{}, f.Fail
	}
	page := web.Page{Corrected: map[string]string{}, Doubts: map[string]keeper.Sentence{}}
	list := slices.Clone(f.entries)
	if ask.Newest {
		slices.Reverse(list)
	}
	for _, e := range list {
		if e.Corrects != "" {
			page.Corrected[e.Corrects] = e.ID
		}
		if e.Seq <= ask.After || ask.Before > 0 && e.Seq >= ask.Before || ask.Vessel != "" && e.Vessel != ask.Vessel {
			continue
		}
		if len(page.Entries) == ask.Limit {
			page.More = true
			continue
		}
		page.Entries = append(page.Entries, e)
		if e.Kind == "ph" && string(e.Body) == `{"ph":9.62}` {
			page.Doubts[e.ID] = keeper.Sentence{Key: "reason.doubt.ph", Args: map[string]any{"quantity": "ph", "value": 9.62, "expected": 10.2, "expected_low": 10.1, "expected_high": 10.3, "time": e.At}}
		}
	}
	return page, nil
}

// Setup is the farm as it is described now.
func (f *Farm) Setup(context.Context) (web.Setup, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return web.Setup{}, f.Fail
	}
	s := web.Setup{People: f.present.People(), Vessels: f.present.Vessels(), Recipes: f.present.Recipes(), Instruments: f.present.Instruments(), Head: f.head.Seq}
	if sites := f.present.Sites(); len(sites) > 0 {
		s.Site, s.HasSite = sites[0], true
	}
	return s, nil
}

// Proof reads the chain again.
func (f *Farm) Proof(context.Context) (web.Proof, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var chain farm.Chain
	for _, e := range f.entries {
		c, err := e.Canonical()
		if err != nil {
			return web.Proof{}, err
		}
		if err := chain.Next(e.Seq, c, e.Prev, e.Hash); err != nil {
			return web.Proof{Broken: err.Error()}, nil
		}
	}
	return web.Proof{Count: f.head.Seq, Hash: f.head.Hash}, nil
}

// Export writes the journal as JSON lines.
func (f *Farm) Export(_ context.Context, w io.Writer) error {
	f.mu.Lock()
	list := slices.Clone(f.entries)
	f.mu.Unlock()
	_, err := farm.Export(w, func(yield func(farm.Entry, error) bool) {
		for _, e := range list {
			if !yield(e, nil) {
				return
			}
		}
	})
	return err
}

// Import takes JSON lines.
func (f *Farm) Import(_ context.Context, r io.Reader) (web.Imported, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	trial := farm.NewPresent()
	for _, e := range f.entries {
		trial.Apply(e)
	}
	var all []farm.Entry
	for e, err := range farm.ReadEntries(r, trial, Now) {
		if err != nil {
			return web.Imported{}, err
		}
		all = append(all, e)
	}
	before := len(f.entries)
	if _, err := f.add(all, farm.Filed); err != nil {
		return web.Imported{}, err
	}
	fresh := int64(len(f.entries) - before)
	return web.Imported{New: fresh, Known: int64(len(all)) - fresh}, nil
}

// Lineage is where a vessel's culture came from.
func (f *Farm) Lineage(_ context.Context, id string) ([]web.Ancestor, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var out []web.Ancestor
	for steps := 0; id != "" && steps < 10; steps++ {
		v, ok := f.present.Vessel(id)
		if !ok {
			break
		}
		a := web.Ancestor{Vessel: id, Name: v.Name}
		next := ""
		for _, e := range f.entries {
			if e.Vessel != id || e.Kind != "inoculated" {
				continue
			}
			body, bad := farm.DecodeBody(farm.KindNamed(e.Kind), e.Body)
			if bad != nil {
				continue
			}
			a.At = e.At
			a.Litres, _ = body.Number("volume_l")
			a.Text = body.Text("text")
			next = body.Text("from")
		}
		if a.At.IsZero() {
			break
		}
		out = append([]web.Ancestor{a}, out...)
		id = next
	}
	return out, nil
}

// marks and readings of the charts, from the entries that stand.
func (f *Farm) History(_ context.Context, id string, since time.Time) (web.History, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	var h web.History
	gone := map[string]bool{}
	for _, e := range f.entries {
		if e.Corrects != "" {
			gone[e.Corrects] = true
		}
	}
	for _, e := range f.entries {
		if e.Vessel != id || e.At.Before(since) || gone[e.ID] {
			continue
		}
		k := farm.KindNamed(e.Kind)
		body, bad := farm.DecodeBody(k, e.Body)
		if bad != nil {
			continue
		}
		if k.Group == farm.GroupReading {
			h.Readings = append(h.Readings, readings(e, body)...)
			continue
		}
		m := keeper.Mark{EntryID: e.ID, At: e.At, Act: e.Kind, Way: "in", Unit: "L"}
		m.Amount, _ = body.Number("volume_l")
		switch e.Kind {
		case "harvested", "purged", "drew_off":
			m.Way = "out"
		case "fed", "dosed":
			m.Unit = "g"
			for _, g := range body.Amounts("salts_g") {
				m.Amount += g
			}
		}
		h.Marks = append(h.Marks, m)
	}
	return h, nil
}
