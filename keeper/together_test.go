package keeper_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"sync"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

// Phones, pages and a file at once: everybody gets an answer, nothing is lost,
// nothing stands twice, and in the end the keeper says what a new one says.
func TestManyAtOnce(t *testing.T) {
	const notes, rounds = 24, 6
	quick := small
	quick.Quick = true
	w := season(t, small)
	w.k.Close()
	w.k = w.open(quick)
	ctx := context.Background()

	var mine [][]byte
	entries := make([]farm.Entry, notes)
	for i := range entries {
		at := moment(t, "2026-06-05T09:00:00Z").Add(time.Duration(i) * 20 * time.Minute)
		entries[i] = w.entry(at.Format(time.RFC3339), "one", "temperature", body{"temp_c": 22 + float64(i%5)})
	}
	for i := range rounds {
		e := w.entry("2026-06-05T20:00:00Z", "one", "note", body{"text": fmt.Sprintf("line %d of a file", i)})
		line, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		mine = append(mine, line)
	}

	var all sync.WaitGroup
	go1 := func(what string, do func(i int) error, n int) {
		all.Go(func() {
			for i := range n {
				if err := do(i); err != nil {
					t.Errorf("%s: %v", what, err)
				}
			}
		})
	}
	ask := func(do func() error) func(int) error { return func(int) error { return do() } }
	go1("today", ask(func() error { _, err := w.k.Today(ctx, time.Time{}); return err }), rounds)
	go1("vessels", ask(func() error { _, err := w.k.Vessels(ctx, time.Time{}); return err }), rounds)
	go1("forecast", ask(func() error { _, err := w.k.Forecast(ctx, "one", time.Time{}); return err }), rounds)
	go1("history", ask(func() error { _, _, err := w.k.History(ctx, "one", time.Time{}); return err }), rounds)
	go1("doubted", ask(func() error { w.k.Doubted(entries[0].ID); return nil }), 50)
	go1("present", ask(func() error { w.k.Read(func(p *farm.Present) { p.Vessels() }); return nil }), 50)
	half := func(from, to int) func(int) error {
		return func(i int) error {
			_, err := w.k.Append(ctx, []farm.Entry{entries[from+i]}, farm.Sent)
			return err
		}
	}
	go1("first phone", half(0, notes/2), notes/2)
	go1("second phone", half(notes/2, notes), notes/2)
	go1("the first again", half(0, notes/2), notes/2) // a phone that heard no answer
	go1("file", func(i int) error { _, _, err := w.k.Import(ctx, bytes.NewReader(mine[i])); return err }, rounds)

	done := make(chan struct{})
	go func() { all.Wait(); close(done) }()
	select {
	case <-done:
	case <-time.After(2 * time.Minute): // no measure of speed: it stands still
		t.Fatal("reading and writing wait for each other")
	}

	whole, head, err := w.k.Verify(ctx)
	if want := int64(9 + notes + rounds); err != nil || whole != want || head.Seq != want {
		t.Errorf("journal holds %d entries (head %d, %v), want %d", whole, head.Seq, err, want)
	}
}

// A quick answer comes first; the whole season follows behind and then says
// what a keeper says that was never quick.
func TestQuickThenWhole(t *testing.T) {
	slow := season(t, small)
	want := all(t, slow.k)
	quick := small
	quick.Quick = true
	k := slow.open(quick)
	first := all(t, k)
	var b struct {
		Vessels []keeper.TodayVessel
	}
	if err := json.Unmarshal([]byte(first[:bytes.IndexByte([]byte(first), '\n')]), &b); err != nil || len(b.Vessels) != 3 || !b.Vessels[0].Now.Known {
		t.Fatalf("the quick answer knows nothing: %v %.300s", err, first)
	}
	for range 600 {
		if all(t, k) == want {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("after the quick answer the whole one never came:\n%s", firstDifference(all(t, k), want))
}

// slow is a store that keeps a reader of the whole journal waiting after it has
// seen what was there.
type slow struct {
	farm.Store
	wait chan struct{}
}

func (s slow) Entries(ctx context.Context, after int64, limit int) iter.Seq2[farm.Entry, error] {
	return func(yield func(farm.Entry, error) bool) {
		var seen []farm.Entry
		for e, err := range s.Store.Entries(ctx, after, limit) {
			if err != nil {
				yield(e, err)
				return
			}
			seen = append(seen, e)
		}
		<-s.wait
		for _, e := range seen {
			if !yield(e, nil) {
				return
			}
		}
	}
}

// What is noted while the season is read behind is not forgotten, and nobody
// waits for the reading.
func TestNotedWhileFilling(t *testing.T) {
	quick := small
	quick.Quick = true
	w := season(t, small)
	store := slow{w.store, make(chan struct{}, 1)}
	store.wait <- struct{}{} // for the opening
	k, err := keeper.Open(context.Background(), store, w.clock, quick)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(k.Close)
	w.k = k
	w.today() // starts to fill
	time.Sleep(50 * time.Millisecond)
	w.note("2026-06-06T07:30:00Z", "one", "secchi", body{"secchi_cm": 1.4})
	w.today()
	close(store.wait)
	want := all(t, w.open(small))
	for range 600 {
		if all(t, w.k) == want {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("what was noted meanwhile is not in the answer:\n%s", firstDifference(all(t, w.k), want))
}

// The clock runs on and readings come in at the moment, while pages are drawn.
func TestRunningClock(t *testing.T) {
	w := season(t, small)
	w.today()
	ctx := context.Background()
	var all sync.WaitGroup
	stop := make(chan struct{})
	for _, ask := range []func() error{
		func() error { _, err := w.k.Today(ctx, time.Time{}); return err },
		func() error { _, _, err := w.k.History(ctx, "one", time.Time{}); return err },
	} {
		all.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
					if err := ask(); err != nil {
						t.Error(err)
						return
					}
				}
			}
		})
	}
	at := w.clock()
	for i := range 12 {
		at = at.Add(time.Minute)
		w.set(at.Format(time.RFC3339))
		w.note(at.Format(time.RFC3339), "one", "temperature", body{"temp_c": 20 + float64(i%3)})
		time.Sleep(5 * time.Millisecond)
	}
	close(stop)
	all.Wait()
	w.fresh("with a running clock")
}

// A start from a checkpoint answers at once, looking ahead with a few members,
// and then says what a keeper says that takes its time.
func TestCheckpointThenWhole(t *testing.T) {
	w := season(t, kept())
	w.today()
	quick := kept()
	quick.Quick, quick.Members = true, 40
	few := w.opt
	few.Members, few.Version = 40, "test build 1"
	w.again(few) // a checkpoint of forty, more than look ahead at first
	w.today()
	many := few
	many.Version = ""
	want := all(t, w.open(many))
	w.k.Close()
	k := w.open(quick)
	for range 600 {
		if all(t, k) == want {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("after the first answer the whole one never came:\n%s", firstDifference(all(t, k), want))
}
