package keeper_test

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"sodalake/demo"
	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/store/sqlite"
)

// lighthouse is the demo farm on its morning, in a store.
func lighthouse(b *testing.B, now func() time.Time) *sqlite.Store {
	b.Helper()
	store, err := sqlite.OpenTemp(context.Background(), now)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { store.Close() })
	if err := demo.Fill(context.Background(), store, demo.Morning()); err != nil {
		b.Fatal(err)
	}
	return store
}

// BenchmarkTodayDemo is the day list of the demo farm, four vessels and a season:
// from what is worked out already, and after a reading came in.
func BenchmarkTodayDemo(b *testing.B) {
	ctx := context.Background()
	var mu sync.Mutex
	now := demo.Morning()
	clock := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	k, err := keeper.Open(ctx, lighthouse(b, clock), clock, keeper.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer k.Close()
	today := func(b *testing.B) {
		if t, err := k.Today(ctx, time.Time{}); err != nil || len(t.Vessels) != 4 {
			b.Fatalf("%d vessels, %v", len(t.Vessels), err)
		}
	}
	b.Run("cached", func(b *testing.B) {
		today(b)
		b.ReportAllocs()
		for b.Loop() {
			today(b)
		}
	})
	b.Run("reading", func(b *testing.B) {
		today(b)
		ids := farm.NewIDs(seeded{rand.NewChaCha8([32]byte{9})})
		b.ReportAllocs()
		for b.Loop() {
			mu.Lock()
			now = now.Add(time.Second)
			at := now
			mu.Unlock()
			id, err := ids.Make(at)
			if err != nil {
				b.Fatal(err)
			}
			raw, _ := json.Marshal(body{"secchi_cm": 1.6})
			e := farm.Entry{ID: id, Vessel: "lantern-pond", Kind: "secchi", V: 1, At: at, NotedAt: at, By: "bench", Body: raw}
			if _, err := k.Append(ctx, []farm.Entry{e}, farm.Typed); err != nil {
				b.Fatal(err)
			}
			today(b)
		}
	})
}

// BenchmarkColdStart is from a closed journal of a season to the first day list,
// as the served farm gives it: quick at first, the whole season after; and the
// next time, when a checkpoint was left.
func BenchmarkColdStart(b *testing.B) {
	ctx := context.Background()
	clock := func() time.Time { return demo.Morning() }
	start := func(b *testing.B, store *sqlite.Store, opt keeper.Options) {
		k, err := keeper.Open(ctx, store, clock, opt)
		if err != nil {
			b.Fatal(err)
		}
		if t, err := k.Today(ctx, time.Time{}); err != nil || len(t.Vessels) != 4 {
			b.Fatalf("%d vessels, %v", len(t.Vessels), err)
		}
		b.StopTimer()
		k.Close() // waits for what runs behind
		b.StartTimer()
	}
	b.Run("first", func(b *testing.B) {
		store := lighthouse(b, clock)
		b.ReportAllocs()
		for b.Loop() {
			start(b, store, keeper.Options{Quick: true})
		}
	})
	b.Run("again", func(b *testing.B) {
		store := lighthouse(b, clock)
		start(b, store, keeper.Options{Version: "bench"}) // leaves checkpoints
		b.ReportAllocs()
		for b.Loop() {
			start(b, store, keeper.Options{Quick: true, Version: "bench"})
		}
	})
}
