package farm

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Checking a list tries its entries and leaves the present as it was.
func TestCheckAllLeavesNothing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := lighthouse(t)
		season(rt, n)
		cut := rapid.IntRange(0, len(n.all)).Draw(rt, "cut")
		whole := n.settled()
		p := NewPresent()
		for _, e := range whole[:cut] {
			p.Apply(e)
		}
		before := told(t, p)
		list := append(slices.Clone(n.all[cut:]), n.all[:min(cut, 2)]...) // some are known
		for i := range list {
			list[i].Seq = 1000 // as somebody may send it
		}
		doubts, _, bad := CheckAll(list, p, Sent, noon.Add(time.Hour))
		if after := told(t, p); after != before || p.Len() != cut || p.Seq() != int64(cut) {
			rt.Fatalf("%d entries to place %d\n%s\nwant\n%s", p.Len(), p.Seq(), after, before)
		}
		if bad == nil && len(doubts) != len(list) {
			rt.Fatalf("%d doubts for %d entries", len(doubts), len(list))
		}
		// What was tried leaves nothing that would stand in the way later.
		for _, e := range whole[cut:] {
			p.Apply(e)
		}
		if got, want := told(t, p), told(t, n.present()); got != want {
			rt.Fatalf("applied after a trial:\n%s\nwant\n%s", got, want)
		}
	})
}

func TestCheckAll(t *testing.T) {
	n := newNotebook(t)
	n.note("", "vessel", `{ "shape":{"kind":"box","length_m":1,"width_m":1,"height_cm":30}, "id":"tub" }`)
	n.note("tub", "ph", `{"ph":4.5}`)
	p := NewPresent()
	doubts, _, bad := CheckAll(n.all, p, Typed, noon)
	if bad != nil || len(doubts) != 2 || len(doubts[0]) != 0 || len(doubts[1]) != 1 {
		t.Errorf("a list that describes a vessel and speaks of it: %v, %v", bad, doubts)
	}
	n.note("tub", "ph", `{"ph":45}`)
	_, place, bad := CheckAll(n.all, p, Typed, noon)
	wantField(t, "the third of a list", bad, Invalid, "body.ph", "outside")
	if place != 2 || p.Len() != 0 {
		t.Errorf("place %d, %d entries left in the present", place, p.Len())
	}
}

// Corrections that were tried are undone too, whatever was known before.
func TestCheckAllUndoesCorrections(t *testing.T) {
	n := lighthouse(t)
	a := n.note("cistern", "ph", `{"ph":9.1}`)
	fix := n.correct(a, "cistern", "ph", `{"ph":9.2}`)
	last := n.correct(fix, "cistern", "ph", `{"ph":9.3}`)
	other := n.correct(a, "cistern", "ph", `{"ph":9.4}`) // noted last
	all := n.settled()
	find := func(e Entry) Entry {
		return all[slices.IndexFunc(all, func(x Entry) bool { return x.ID == e.ID })]
	}
	for _, c := range []struct {
		known []Entry
		tried Entry
	}{
		{[]Entry{a}, fix},
		{[]Entry{a, fix}, last},
		{[]Entry{a, fix, last}, other},
		{[]Entry{a, last, other}, fix}, // the one between comes late
	} {
		p := NewPresent()
		for _, e := range n.settled()[:9] {
			p.Apply(e)
		}
		for _, e := range c.known {
			p.Apply(find(e))
		}
		before := told(t, p)
		if _, _, bad := CheckAll([]Entry{c.tried}, p, Sent, noon); bad != nil {
			t.Fatal(bad)
		}
		if after := told(t, p); after != before {
			t.Errorf("after a trial of %s:\n%s\nwant\n%s", c.tried.Body, after, before)
		}
	}
}

func TestCheckAllReadsBodiesHoweverSpelled(t *testing.T) {
	n := lighthouse(t)
	p := n.present()
	smell := n.note("cistern", "smell", `{ "smell" : "rotten" }`)
	end := n.note("cistern", "released", `{"hold":"`+smell.ID+`","reason":"it was the bucket"}`)
	if _, _, bad := CheckAll([]Entry{smell, end}, p, Sent, noon); bad != nil {
		t.Error(bad)
	}
}
