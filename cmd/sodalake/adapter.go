package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/web"
)

// pages gives the pages what they need out of the keeper.
type pages struct{ *keeper.Keeper }

func (p pages) History(ctx context.Context, id string, since time.Time) (web.History, error) {
	r, m, err := p.Keeper.History(ctx, id, since)
	return web.History{Readings: r, Marks: m}, err
}

// Lineage is where a vessel's culture came from.
func (p pages) Lineage(_ context.Context, id string) ([]web.Ancestor, error) {
	var out []web.Ancestor
	p.Read(func(present *farm.Present) {
		links := present.Lineage(id, time.Time{})
		seen := map[string]bool{}
		for _, l := range links {
			if seen[l.To] && l.To != id {
				continue
			}
			seen[l.To] = true
			a := web.Ancestor{Vessel: l.To, At: l.At, Litres: l.VolumeL}
			if v, ok := present.Vessel(l.To); ok {
				a.Name = v.Name
			}
			if from, ok := present.Vessel(l.From); ok {
				a.From = from.Name
			}
			if e, ok := present.Event(l.EntryID); ok {
				a.Text = e.Body.Text("text")
			}
			out = append(out, a)
		}
	})
	return out, nil
}

// Entries are a part of the journal.
func (p pages) Entries(ctx context.Context, ask web.Ask) (web.Page, error) {
	page := web.Page{Entries: []farm.Entry{}, Corrected: map[string]string{}, Doubts: map[string]keeper.Sentence{}}
	limit := ask.Limit
	if limit <= 0 || limit > 1000 {
		limit = 1000
	}
	take := func(e farm.Entry) bool {
		return ask.Vessel == "" || e.Vessel == ask.Vessel || p.speaksOf(e.ID, ask.Vessel)
	}
	if ask.Newest {
		head, err := p.Store().Head(ctx)
		if err != nil {
			return page, err
		}
		top := head.Seq
		if ask.Before > 0 {
			top = min(top, ask.Before-1)
		}
		const block = 200
		for hi := top; hi > ask.After && !page.More; hi -= block {
			lo := max(hi-block, ask.After)
			var part []farm.Entry
			for e, err := range p.Store().Entries(ctx, lo, int(hi-lo)) {
				if err != nil {
					return page, err
				}
				part = append(part, e)
			}
			for i := len(part) - 1; i >= 0; i-- {
				if !take(part[i]) {
					continue
				}
				if len(page.Entries) == limit {
					page.More = true
					break
				}
				page.Entries = append(page.Entries, part[i])
			}
		}
	} else {
		for e, err := range p.Store().Entries(ctx, ask.After, 0) {
			if err != nil {
				return page, err
			}
			if ask.Before > 0 && e.Seq >= ask.Before {
				break
			}
			if !take(e) {
				continue
			}
			if len(page.Entries) == limit {
				page.More = true
				break
			}
			page.Entries = append(page.Entries, e)
		}
	}
	p.annotate(&page)
	return page, nil
}

func (p pages) speaksOf(id, vessel string) bool {
	found := false
	p.Read(func(present *farm.Present) {
		if e, ok := present.Event(id); ok {
			for _, f := range e.Flows {
				found = found || f.From == vessel || f.To == vessel
			}
		}
	})
	return found
}

// annotate says which entries are corrected and which are doubted.
func (p pages) annotate(page *web.Page) {
	p.Read(func(present *farm.Present) {
		for _, e := range page.Entries {
			if _, _, by := present.Standing(e.ID); len(by) > 0 {
				page.Corrected[e.ID] = by[len(by)-1]
			}
			if ev, ok := present.Event(e.ID); ok && len(ev.Doubts) > 0 {
				page.Doubts[e.ID] = keeper.Sentence{Key: ev.Doubts[0].Key, Args: ev.Doubts[0].Args}
			}
		}
	})
	for _, e := range page.Entries {
		if _, have := page.Doubts[e.ID]; !have {
			if s, ok := p.Keeper.Doubted(e.ID); ok {
				page.Doubts[e.ID] = s
			}
		}
	}
}

func (p pages) Entry(ctx context.Context, id string) (farm.Entry, error) {
	return p.Store().Entry(ctx, id)
}

// Setup is the farm as it is described.
func (p pages) Setup(ctx context.Context) (web.Setup, error) {
	var s web.Setup
	p.Read(func(present *farm.Present) {
		if sites := present.Sites(); len(sites) > 0 {
			s.Site, s.HasSite = sites[0], true
		}
		s.People, s.Vessels, s.Recipes, s.Head = present.People(), present.Vessels(), present.Recipes(), present.Seq()
		s.Instruments = present.Instruments()
	})
	return s, nil
}

// Proof reads the whole chain.
func (p pages) Proof(ctx context.Context) (web.Proof, error) {
	whole, head, err := p.Verify(ctx)
	var broken *farm.ChainError
	if errors.As(err, &broken) {
		return web.Proof{Count: whole, Hash: head.Hash, Broken: fmt.Sprintf("entry %d: %s", broken.Seq, broken.Reason)}, nil
	}
	return web.Proof{Count: whole, Hash: head.Hash}, err
}

func (p pages) Export(ctx context.Context, w io.Writer) error {
	_, err := p.Keeper.Export(ctx, w)
	return err
}

func (p pages) Import(ctx context.Context, r io.Reader) (web.Imported, error) {
	added, known, err := p.Keeper.Import(ctx, r)
	return web.Imported{New: added, Known: known}, err
}
