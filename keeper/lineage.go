package keeper

import (
	"cmp"
	"slices"
	"time"

	"sodalake/farm"
)

// Branch is a culture in a vessel, from when it was put there until it was gone,
// with what was made of it.
type Branch struct {
	Vessel  string    // id
	Name    string    //
	At      time.Time // when it was put in
	VolumeL float64   // [L]; 0 if not told
	Ended   time.Time // moved on whole or thrown away; zero: it stands there
	Text    string    // words that were noted with it
	Strain  string    //
	Joined  []Joined  // culture that was added to it later
	Given   []Joined  // culture that went to somebody else
	Grew    []*Branch // what was made of it, the oldest first
}

// Joined is culture that came to another, or left for somebody else.
type Joined struct {
	From    string // name of the vessel it came from; empty: from outside
	Whom    string // who got it
	At      time.Time
	VolumeL float64
}

// Tree is where all cultures of the farm came from: those from outside at the
// roots, the oldest first.
func (k *Keeper) Tree(at time.Time) []*Branch {
	at = k.moment(at)
	k.mu.RLock()
	defer k.mu.RUnlock()
	return tree(k.present, at)
}

func tree(p *farm.Present, at time.Time) []*Branch {
	type move struct {
		flow farm.Flow
		e    farm.Event
	}
	var moves []move
	seen := map[string]bool{}
	names := map[string]string{}
	for _, v := range p.Vessels() {
		names[v.ID] = v.Name
		for _, e := range p.Timeline(v.ID, time.Time{}, at.Add(time.Second)) {
			if seen[e.Entry.ID] {
				continue
			}
			seen[e.Entry.ID] = true
			for _, f := range e.Flows {
				if f.What == farm.IsCulture && f.To != farm.Cloth {
					moves = append(moves, move{f, e})
				}
			}
		}
	}
	slices.SortStableFunc(moves, func(a, b move) int {
		return cmp.Or(a.e.Entry.At.Compare(b.e.Entry.At), cmp.Compare(a.e.Entry.Seq, b.e.Entry.Seq))
	})
	roots, stands := []*Branch{}, map[string]*Branch{}
	for i := range moves {
		f, e := &moves[i].flow, &moves[i].e
		from, when := stands[f.From], e.Entry.At
		if _, vessel := names[f.To]; vessel {
			if to := stands[f.To]; to != nil && to != from {
				to.Joined = append(to.Joined, Joined{From: names[f.From], At: when, VolumeL: f.VolumeL})
			} else {
				b := &Branch{Vessel: f.To, Name: names[f.To], At: when, VolumeL: f.VolumeL, Text: e.Body.Text("text"), Strain: e.Body.Text("strain")}
				if from != nil {
					from.Grew = append(from.Grew, b)
				} else {
					roots = append(roots, b)
				}
				stands[f.To] = b
			}
		} else if f.To == farm.Outside && from != nil {
			from.Given = append(from.Given, Joined{Whom: e.Body.Text("whom"), At: when, VolumeL: f.VolumeL})
		}
		if f.All && from != nil {
			from.Ended = when
			if stands[f.From] == from {
				delete(stands, f.From)
			}
		}
	}
	return roots
}
