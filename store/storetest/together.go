package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"sodalake/farm"
)

func twoWriters(t *testing.T, h Harness) {
	s := h.open(t)
	other := h.Again(t, s)
	defer other.Close()
	const writers, rounds = 6, 40
	shared := newMaker(12).entries(t, 0, rounds) // a phone that sends through both
	var wg sync.WaitGroup
	errs := make(chan error, writers*rounds)
	for w := range writers {
		store := []farm.Store{s, other}[w%2]
		own := newMaker(byte(20+w)).entries(t, 1000*w, rounds)
		wg.Go(func() {
			for i := range rounds {
				got, err := store.Append(context.Background(), []farm.Entry{own[i], shared[i]})
				if err == nil && (got[0].Seq == 0 || got[1].ID != shared[i].ID) {
					err = fmt.Errorf("round %d was answered %+v", i, got)
				}
				errs <- err
			}
		})
	}
	wg.Wait()
	close(errs)
	for err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	wantWhole(t, s, writers*rounds+rounds)
	wantWhole(t, other, writers*rounds+rounds)
	count := map[string]int{}
	for _, e := range all(t, other) {
		count[e.ID]++
	}
	for _, e := range shared {
		if count[e.ID] != 1 {
			t.Errorf("entry %s stands %d times", e.ID, count[e.ID])
		}
	}
}

func wholeRequests(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(13)
	const size = 7
	stop := make(chan struct{})
	done := make(chan error, 1)
	go func() {
		for i := 0; ; i++ {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			batch := make([]farm.Entry, size)
			for j := range batch {
				at := Noon.Add(time.Duration(i*size+j) * time.Millisecond)
				id, err := m.ids.Make(at)
				if err != nil {
					done <- err
					return
				}
				batch[j] = farm.Entry{ID: id, Kind: "note", V: 1, At: at, NotedAt: at, By: "ines", Body: json.RawMessage(`{"text":"x"}`)}
			}
			if _, err := s.Append(context.Background(), batch); err != nil {
				done <- err
				return
			}
		}
	}()
	for range 60 {
		if n := len(all(t, s)); n%size != 0 {
			t.Errorf("a reader saw %d entries of requests of %d", n, size)
			break
		}
	}
	close(stop)
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}

func backup(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(15)
	must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, 500)))
	stop := make(chan struct{})
	var wg sync.WaitGroup
	var failed error
	written := 500
	wg.Go(func() {
		w := newMaker(16)
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			default:
			}
			at := Noon.Add(time.Duration(i) * time.Second)
			id, err := w.ids.Make(at)
			if err == nil {
				_, err = s.Append(context.Background(), []farm.Entry{{ID: id, Kind: "note", V: 1, At: at, NotedAt: at, By: "ines", Body: json.RawMessage(`{"text":"while copying"}`)}})
			}
			if err != nil {
				failed = err
				return
			}
			written++
		}
	})
	dir := t.TempDir()
	path := filepath.Join(dir, "copy.db")
	err := s.Backup(t.Context(), path)
	taken := must[farm.Head](t)(s.Head(t.Context()))
	close(stop)
	wg.Wait()
	if err != nil || failed != nil {
		t.Fatal(errors.Join(err, failed))
	}
	if err := s.Backup(t.Context(), path); err == nil {
		t.Error("a backup wrote over another")
	}
	if err := s.Backup(t.Context(), filepath.Join(dir, "no", "folder.db")); err == nil {
		t.Error("a backup into no folder gave no error")
	}
	if left := must[[]string](t)(filepath.Glob(filepath.Join(dir, "*"))); len(left) != 1 {
		t.Errorf("the folder holds %v, want the copy alone", left)
	}
	c := h.OpenCopy(t, path)
	defer c.Close()
	head := must[farm.Head](t)(c.Head(t.Context()))
	if head.Seq < 500 || head.Seq > taken.Seq {
		t.Errorf("the copy ends at %d, want 500 to %d", head.Seq, taken.Seq)
	}
	wantWhole(t, c, head.Seq)
	wantWhole(t, s, int64(written))
	original := all(t, s)
	for i, e := range all(t, c) {
		if !same(e, original[i]) {
			t.Fatalf("the copy has %+v at place %d, the journal %+v", e, i+1, original[i])
		}
	}
	must[[]farm.Entry](t)(c.Append(t.Context(), newMaker(17).entries(t, 0, 1)))
	wantWhole(t, c, head.Seq+1)
}
