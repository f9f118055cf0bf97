package storetest

import (
	"errors"
	"testing"

	"sodalake/farm"
)

func chain(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(8)
	must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, 20)))
	must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 20, 1)))
	var c farm.Chain
	for _, e := range all(t, s) {
		if err := c.Next(e.Seq, []byte(canonical(t, e)), e.Prev, e.Hash); err != nil {
			t.Fatal(err)
		}
	}
	if head := must[farm.Head](t)(s.Head(t.Context())); head != c.Head || head.Seq != 21 {
		t.Errorf("head %+v, the chain ends with %+v", head, c.Head)
	}
}

func tampering(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(9)
	got := must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, 30)))
	wantWhole(t, s, 30)
	forged := got[16]
	forged.By = "tomas"
	h.Tamper(t, s, 17, []byte(canonical(t, forged)))
	wantBreak(t, s, 16, 17)
	h.Tamper(t, s, 17, []byte(canonical(t, got[16])))
	wantWhole(t, s, 30)
	// An identifier swapped inside the bytes alone.
	forged = got[4]
	forged.ID = got[5].ID
	h.Tamper(t, s, 5, []byte(canonical(t, forged)))
	wantBreak(t, s, 4, 5)
	h.Tamper(t, s, 5, []byte(canonical(t, got[4])))
	h.Remove(t, s, 23)
	wantBreak(t, s, 22, 23)
}

func wantBreak(t *testing.T, s farm.Store, whole, at int64) {
	t.Helper()
	n, err := s.Verify(t.Context())
	var broken *farm.ChainError
	if !errors.As(err, &broken) || broken.Seq != at || n != whole {
		t.Fatalf("verify found %d entries whole and %v, want %d and a break at %d", n, err, whole, at)
	}
}
