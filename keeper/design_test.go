package keeper_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"sodalake/farm"
	"sodalake/farm/design"
)

func asked(t *testing.T, years int) *design.Ask {
	t.Helper()
	a, err := design.Read([]byte(`{"site":{"lat_deg":38,"lon_deg":-20},"designs":[{"vessel":{"shape":"box","length_m":3,"width_m":1,"level_cm":15},"medium":{"recipe":"zarrouk"}}]}`))
	if err != nil {
		t.Fatal(err)
	}
	a.Years = years
	return a
}

// A question is answered; one that takes long is told how far it is, goes on
// behind the answer, and is remembered.
func TestDesign(t *testing.T) {
	k := newWorld(t, "2026-06-01T08:00:00Z", small).k
	ctx := context.Background()
	bad := asked(t, 1)
	if _, err := k.Design(ctx, "bad", bad); farm.CodeOf(err) != farm.Invalid {
		t.Errorf("one year: %v", err)
	}
	begun := time.Now()
	got, err := k.Design(ctx, "long", asked(t, 40))
	if err != nil || got.Of != 40 || got.Answer != nil && got.Done != 40 {
		t.Fatalf("%+v, %v", got, err)
	}
	for got.Answer == nil {
		if time.Since(begun) > 5*time.Minute {
			t.Fatal("it never ends")
		}
		next, err := k.Design(ctx, "long", asked(t, 40))
		if err != nil || next.Done < got.Done {
			t.Fatalf("from year %d back to %d, %v", got.Done, next.Done, err)
		}
		got = next
	}
	again, err := k.Design(ctx, "long", asked(t, 40))
	if err != nil || again.Answer != got.Answer {
		t.Errorf("the answer was not remembered: %v", err)
	}
	// As many as are remembered, and one more: the first is worked out anew.
	until := func(key string) *design.Answer {
		for {
			got, err := k.Design(ctx, key, asked(t, 2))
			if err != nil {
				t.Fatal(err)
			}
			if got.Answer != nil {
				return got.Answer
			}
		}
	}
	first := until("0")
	for i := range 12 {
		until(string(rune('a' + i)))
	}
	if until("0") == first {
		t.Error("it remembers for ever")
	}
}

// What is on its way ends when the keeper closes, and too many at once are
// refused.
func TestDesignCloses(t *testing.T) {
	k := newWorld(t, "2026-06-01T08:00:00Z", small).k
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	for _, key := range []string{"a", "b", "c", "d"} {
		if _, err := k.Design(gone, key, asked(t, 500)); err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
	}
	if _, err := k.Design(gone, "e", asked(t, 500)); farm.CodeOf(err) != farm.Conflict {
		t.Errorf("a fifth at once: %v", err)
	}
	done := make(chan struct{})
	go func() { k.Close(); close(done) }()
	select {
	case <-done:
	case <-time.After(time.Minute):
		t.Fatal("the keeper waits for what nobody wants any more")
	}
	if _, err := k.Design(context.Background(), "f", asked(t, 2)); !errors.Is(err, context.Canceled) {
		t.Errorf("a closed keeper answers: %v", err)
	}
}
