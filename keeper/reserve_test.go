package keeper_test

import (
	"context"
	"math"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

func (w *world) reserve(wish keeper.LossWish) keeper.Reserve {
	w.t.Helper()
	r, err := w.k.Reserve(context.Background(), time.Time{}, wish)
	if err != nil {
		w.t.Fatal(err)
	}
	return r
}

// A reserve counts while somebody saw it of late and it is not on hold.
func TestReserve(t *testing.T) {
	w := ripe(t, few)
	r := w.reserve(keeper.LossWish{})
	if len(r.Backups) != 1 || r.Backups[0].Holds || r.Living || r.AllLost != 1 || r.Largest == "" {
		t.Fatalf("an empty shelf is a reserve: %+v", r)
	}
	w.note("2026-06-01T09:30:00Z", "shelf", "inoculated", body{"volume_l": 9, "density_g_per_l": 0.8})
	w.note("2026-06-03T09:30:00Z", "shelf", "microscope", body{"filaments_seen": 40, "foreign_seen": 0})
	r = w.reserve(keeper.LossWish{Each: 0.1, Place: 0.02, Risk: 0.001})
	b := r.Backups[0]
	if !b.Holds || !b.Alive || !b.Clean || b.Old || b.Count != 6 || b.Place != "indoors" || b.Looked.IsZero() || !r.Living {
		t.Errorf("six living bottles: %+v", b)
	}
	// By the rules of chance: p + (1 - p) q^n with p 0.02, q 0.1, n 6.
	if want := 0.02 + 0.98*1e-6; math.Abs(r.AllLost-want) > 1e-9 {
		t.Errorf("chance to lose all is %g, not %g", r.AllLost, want)
	}
	// One place is lost twice in a hundred, so no number there does; in two it is
	// (0.02 + 0.98 q^n)²: n = 1 gives 0.0139, n = 2 gives 0.00089.
	if r.Needs[0].Each != 0 || r.Needs[1].Each != 2 || math.Abs(r.Needs[1].AllLost-math.Pow(0.02+0.98*0.01, 2)) > 1e-9 {
		t.Errorf("needed are %+v", r.Needs)
	}
	if p := w.plan(); of(t, p, "one").Spared {
		t.Error("a living reserve stands behind the pond, and it is spared")
	}
	w.note("2026-06-05T10:00:00Z", "shelf", "split", body{"to": "two", "volume_l": 2})
	if r := w.reserve(keeper.LossWish{}); r.Backups[0].GrownUp.IsZero() || r.Drilled.IsZero() {
		t.Error("a pond begun from the reserve is no proof that it can be")
	}
	held := w.note("2026-06-05T11:00:00Z", "shelf", "held", body{"reason": "a smell of rot"})
	if r := w.reserve(keeper.LossWish{}); r.Living || !r.Backups[0].OnHold {
		t.Errorf("a reserve on hold counts as living: %+v", r.Backups[0])
	}
	w.note("2026-06-05T12:00:00Z", "shelf", "released", body{"hold": held.ID, "reason": "it was the drain"})
	w.set("2026-09-06T07:44:00Z")
	if r := w.reserve(keeper.LossWish{}); r.Living || !r.Backups[0].Unseen || !r.Backups[0].Old || len(r.Turns) != 1 || !r.Turns[0].At.Equal(r.At) {
		t.Errorf("a reserve that nobody saw for three months: %+v", r.Backups[0])
	}
	for _, wish := range []keeper.LossWish{{Each: 1, Place: 0.1, Risk: 0.01}, {Each: 0.1, Place: -1, Risk: 0.01}, {Each: 0.1, Place: 0.1}, {Each: math.NaN(), Risk: 0.1}} {
		_, err := w.k.Reserve(context.Background(), time.Time{}, wish)
		var bad *farm.Error
		if !asError(err, &bad) || bad.Field == "" {
			t.Errorf("%+v is taken: %v", wish, err)
		}
	}
}

// line writes a tree in one line: name, what joined, what was made of it.
func line(list []*keeper.Branch) string {
	var out []string
	for _, b := range list {
		text := b.Name
		if !b.Ended.IsZero() {
			text += " (gone)"
		}
		for _, j := range b.Joined {
			text += " + " + j.From
		}
		for _, g := range b.Given {
			text += " to " + g.Whom
		}
		if len(b.Grew) > 0 {
			text += " [" + line(b.Grew) + "]"
		}
		out = append(out, text)
	}
	return strings.Join(out, ", ")
}

// The tree is what the journal says of who came from whom.
func TestTree(t *testing.T) {
	w := newWorld(t, "2026-06-20T07:44:00Z", few)
	w.describe("2026-06-01T08:00:00Z", nil)
	w.note("2026-06-01T09:00:00Z", "shelf", "inoculated", body{"volume_l": 6, "strain": "coiled"})
	w.note("2026-06-03T09:00:00Z", "shelf", "split", body{"to": "one", "volume_l": 4})
	w.note("2026-06-08T09:00:00Z", "one", "split", body{"to": "two", "volume_l": 50})
	w.note("2026-06-09T09:00:00Z", "one", "split", body{"to": "shelf", "volume_l": 1})
	w.note("2026-06-10T09:00:00Z", "two", "gave", body{"volume_l": 2, "whom": "the mill"})
	w.note("2026-06-11T09:00:00Z", "two", "discarded", body{"all": true, "reason": "flies"})
	w.note("2026-06-12T09:00:00Z", "two", "inoculated", body{"volume_l": 30})
	if got, want := line(w.k.Tree(time.Time{})), "Shelf + Pond one [Pond one [Pond two (gone) to the mill]], Pond two"; got != want {
		t.Errorf("the tree is %s, not %s", got, want)
	}
	if got := line(w.k.Tree(moment(t, "2026-06-04T00:00:00Z"))); got != "Shelf [Pond one]" {
		t.Errorf("on the fourth the tree is %s", got)
	}
}
