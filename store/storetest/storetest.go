package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"sodalake/farm"
)

// Harness is what the suite needs to know of a kind of store.
type Harness struct {
	// Open returns an empty store, whose clock is now. The suite closes it.
	Open func(t *testing.T, now func() time.Time) farm.Store
	// Again opens the journal of a store that Open returned a second time, as
	// another program would, while the first is still open.
	Again func(t *testing.T, s farm.Store) farm.Store
	// OpenCopy opens what Backup wrote.
	OpenCopy func(t *testing.T, path string) farm.Store
	// Tamper changes the stored bytes of the entry at seq behind the store's
	// back, past every guard it has.
	Tamper func(t *testing.T, s farm.Store, seq int64, bytes []byte)
	// Remove deletes the entry at seq behind the store's back.
	Remove func(t *testing.T, s farm.Store, seq int64)
}

// Noon is the moment at which the suite's clock stands.
var Noon = time.Date(2031, 5, 4, 12, 0, 0, 0, time.UTC)

// Run runs the suite.
func Run(t *testing.T, h Harness) {
	for _, part := range []struct {
		name string
		run  func(*testing.T, Harness)
	}{
		{"AnEmptyStore", empty},
		{"WhatIsAppendedComesBack", appended},
		{"TimesWithOffsetsAreOneMoment", offsets},
		{"SentTwiceIsWrittenOnce", idempotent},
		{"OtherBytesAreAConflict", conflict},
		{"AllOrNothing", allOrNothing},
		{"Corrections", corrections},
		{"Paging", paging},
		{"TheChain", chain},
		{"TamperingIsFound", tampering},
		{"LoadIsOneTransaction", load},
		{"TwoWriters", twoWriters},
		{"ReadersSeeWholeRequests", wholeRequests},
		{"ExportAndImport", exportImport},
		{"BackupWhileWriting", backup},
		{"DerivedBlobs", derivedBlobs},
		{"ACancelledContextWritesNothing", cancelled},
		{"AClosedStore", closed},
	} {
		t.Run(part.name, func(t *testing.T) { part.run(t, h) })
	}
}

func (h Harness) open(t *testing.T) farm.Store {
	t.Helper()
	s := h.Open(t, func() time.Time { return Noon })
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// maker makes entries that differ.
type maker struct {
	ids *farm.IDs
	rng *rand.ChaCha8
}

func newMaker(seed byte) *maker {
	rng := rand.NewChaCha8([32]byte{seed})
	return &maker{ids: farm.NewIDs(rng), rng: rng}
}

// entry returns an entry whose body tells n. It is invented.
func (m *maker) entry(t *testing.T, n int) farm.Entry {
	t.Helper()
	at := Noon.Add(-time.Hour + time.Duration(n)*time.Second)
	id, err := m.ids.Make(at)
	if err != nil {
		t.Fatal(err)
	}
	return farm.Entry{
		ID: id, Vessel: "lantern-pond", Kind: "note", V: 1, At: at, NotedAt: at, By: "ines",
		Body: json.RawMessage(fmt.Sprintf(`{"text":"round %d <&> \u00e9\u2028"}`, n)),
	}
}

func (m *maker) entries(t *testing.T, from, n int) []farm.Entry {
	t.Helper()
	out := make([]farm.Entry, n)
	for i := range out {
		out[i] = m.entry(t, from+i)
	}
	return out
}

func must[T any](t *testing.T) func(T, error) T {
	return func(v T, err error) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func all(t *testing.T, s farm.Store) []farm.Entry {
	t.Helper()
	return collect(t, s.Entries(t.Context(), 0, 0))
}

func collect(t *testing.T, entries iter.Seq2[farm.Entry, error]) []farm.Entry {
	t.Helper()
	var out []farm.Entry
	for e, err := range entries {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e)
	}
	return out
}

func canonical(t *testing.T, e farm.Entry) string {
	t.Helper()
	return string(must[[]byte](t)(e.Canonical()))
}

func wantWhole(t *testing.T, s farm.Store, n int64) {
	t.Helper()
	whole, err := s.Verify(t.Context())
	if err != nil || whole != n {
		t.Fatalf("verify found %d entries whole, %v; want %d", whole, err, n)
	}
}

func wantCode(t *testing.T, err error, want farm.Code) {
	t.Helper()
	if farm.CodeOf(err) != want {
		t.Fatalf("error %v has code %q, want %q", err, farm.CodeOf(err), want)
	}
}

func empty(t *testing.T, h Harness) {
	s := h.open(t)
	if head := must[farm.Head](t)(s.Head(t.Context())); head != (farm.Head{}) {
		t.Fatalf("head %+v, want none", head)
	}
	if got := all(t, s); len(got) != 0 {
		t.Fatalf("%d entries, want none", len(got))
	}
	wantWhole(t, s, 0)
	_, err := s.Entry(t.Context(), "01ARZ3NDEKTSV4RRFFQ69G5FAV")
	wantCode(t, err, farm.NotFound)
	if got := must[[]farm.Entry](t)(s.Append(t.Context(), nil)); len(got) != 0 {
		t.Fatalf("nothing appended gave %d entries", len(got))
	}
}

func appended(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(1)
	sent := m.entries(t, 0, 3)
	sent[1].Site, sent[1].Item = "lighthouse", "lantern-pond/harvest"
	sent[2].Vessel = ""
	got := must[[]farm.Entry](t)(s.Append(t.Context(), sent))
	if len(got) != 3 {
		t.Fatalf("%d entries accepted, want 3", len(got))
	}
	for i, e := range got {
		if e.Seq != int64(i+1) || !e.ReceivedAt.Equal(Noon) || len(e.Hash) != 64 {
			t.Errorf("entry %d has seq %d, received %s, hash %q", i, e.Seq, e.ReceivedAt, e.Hash)
		}
		if canonical(t, e) != canonical(t, sent[i]) {
			t.Errorf("entry %d came back as %s", i, canonical(t, e))
		}
		one := must[farm.Entry](t)(s.Entry(t.Context(), e.ID))
		if !same(one, e) {
			t.Errorf("Entry gave %+v, Append %+v", one, e)
		}
	}
	for i, e := range all(t, s) {
		if !same(e, got[i]) {
			t.Errorf("Entries gave %+v, Append %+v", e, got[i])
		}
	}
	head := must[farm.Head](t)(s.Head(t.Context()))
	if head.Seq != 3 || head.Hash != got[2].Hash {
		t.Errorf("head %+v, want that of entry 3", head)
	}
	// A time that is given is kept: an import tells when an entry was first received.
	old := m.entry(t, 9)
	old.ReceivedAt = Noon.Add(-48 * time.Hour)
	old.Seq, old.Prev, old.Hash = 77, "x", "y"
	kept := must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{old}))[0]
	if !kept.ReceivedAt.Equal(old.ReceivedAt) || kept.Seq != 4 || kept.Prev != head.Hash {
		t.Errorf("received %s at place %d after %q", kept.ReceivedAt, kept.Seq, kept.Prev)
	}
	wantWhole(t, s, 4)
}

func same(a, b farm.Entry) bool {
	return a.ID == b.ID && a.Seq == b.Seq && a.ReceivedAt.Equal(b.ReceivedAt) && a.Prev == b.Prev && a.Hash == b.Hash &&
		a.At.Equal(b.At) && a.NotedAt.Equal(b.NotedAt) && string(a.Body) == string(b.Body) && a.Kind == b.Kind &&
		a.Vessel == b.Vessel && a.Site == b.Site && a.By == b.By && a.Corrects == b.Corrects && a.Item == b.Item && a.V == b.V
}

func offsets(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(2)
	e := m.entry(t, 0)
	e.At = time.Date(2031, 5, 4, 23, 30, 0, 123_456_789, time.FixedZone("", 5*3600+45*60))
	e.NotedAt = time.Date(2031, 5, 4, 10, 0, 0, 0, time.FixedZone("", -9*3600-1800))
	got := must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{e}))[0]
	want := time.Date(2031, 5, 4, 17, 45, 0, 123_000_000, time.UTC)
	if !got.At.Equal(want) || got.At.Location() != time.UTC {
		t.Errorf("at %s, want %s", got.At, want)
	}
	if want := time.Date(2031, 5, 4, 19, 30, 0, 0, time.UTC); !got.NotedAt.Equal(want) {
		t.Errorf("noted at %s, want %s", got.NotedAt, want)
	}
	// The same moment told with another offset is the same entry.
	e.At, e.NotedAt = want, e.NotedAt.In(time.FixedZone("", 3600))
	if again := must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{e}))[0]; again.Seq != 1 {
		t.Errorf("the same moment in another zone was written again at place %d", again.Seq)
	}
	read := all(t, s)
	if len(read) != 1 || !read[0].At.Equal(want) || read[0].At.Location() != time.UTC {
		t.Errorf("read back %v", read)
	}
}

func idempotent(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(3)
	sent := m.entries(t, 0, 4)
	first := must[[]farm.Entry](t)(s.Append(t.Context(), sent))
	again := must[[]farm.Entry](t)(s.Append(t.Context(), sent))
	for i := range first {
		if !same(first[i], again[i]) {
			t.Errorf("entry %d was answered %+v, then %+v", i, first[i], again[i])
		}
	}
	// Old and new together, one of them twice, the body spelled otherwise.
	fresh := m.entry(t, 9)
	spelled := sent[2]
	spelled.Body = json.RawMessage("{ \"text\" : \"round 2 \\u003c&> é\\u2028\" }")
	mixed := must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{spelled, fresh, fresh, sent[0]}))
	if got := []int64{mixed[0].Seq, mixed[1].Seq, mixed[2].Seq, mixed[3].Seq}; !slices.Equal(got, []int64{3, 5, 5, 1}) {
		t.Errorf("places %v, want 3 5 5 1", got)
	}
	wantWhole(t, s, 5)
}

func conflict(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(4)
	sent := m.entries(t, 0, 2)
	must[[]farm.Entry](t)(s.Append(t.Context(), sent))
	for name, change := range map[string]func(*farm.Entry){
		"body":     func(e *farm.Entry) { e.Body = json.RawMessage(`{"text":"another"}`) },
		"at":       func(e *farm.Entry) { e.At = e.At.Add(time.Millisecond) },
		"vessel":   func(e *farm.Entry) { e.Vessel = "boat-pond" },
		"by":       func(e *farm.Entry) { e.By = "tomas" },
		"corrects": func(e *farm.Entry) { e.Corrects = sent[1].ID },
	} {
		other := sent[0]
		change(&other)
		_, err := s.Append(t.Context(), []farm.Entry{m.entry(t, 50), other})
		wantCode(t, err, farm.Conflict)
		var e *farm.Error
		if !errors.As(err, &e) || e.Field != "id" {
			t.Errorf("another %s: error names field %q, want id", name, e.Field)
		}
	}
	twice := m.entry(t, 60)
	other := twice
	other.By = "tomas"
	_, err := s.Append(t.Context(), []farm.Entry{twice, other})
	wantCode(t, err, farm.Conflict)
	wantWhole(t, s, 2)
	for i, e := range all(t, s) {
		if canonical(t, e) != canonical(t, sent[i]) {
			t.Errorf("entry %d changed to %s", i, canonical(t, e))
		}
	}
}

func allOrNothing(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(5)
	for name, spoil := range map[string]func(*farm.Entry){
		"id":   func(e *farm.Entry) { e.ID = "no-ulid" },
		"body": func(e *farm.Entry) { e.Body = json.RawMessage(`{"text":`) },
		"none": func(e *farm.Entry) { e.Body = nil },
		"twin": func(e *farm.Entry) { e.Body = json.RawMessage(`{"a":1,"a":2}`) },
		"year": func(e *farm.Entry) { e.At = time.Date(12031, 1, 1, 0, 0, 0, 0, time.UTC) },
	} {
		batch := m.entries(t, 0, 5)
		spoil(&batch[3])
		_, err := s.Append(t.Context(), batch)
		if farm.CodeOf(err) != farm.Invalid {
			t.Errorf("spoiled %s: error %v, want one of code invalid", name, err)
		}
	}
	if got := all(t, s); len(got) != 0 {
		t.Errorf("%d entries written by calls that failed", len(got))
	}
}

func corrections(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(6)
	old := must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, 1)))[0]
	change := m.entry(t, 1)
	change.Corrects = old.ID
	got := must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{change}))[0]
	if got.Corrects != old.ID || got.Seq != 2 {
		t.Errorf("correction came back as %+v", got)
	}
	if still := must[farm.Entry](t)(s.Entry(t.Context(), old.ID)); !same(still, old) {
		t.Errorf("the corrected entry changed from %+v to %+v", old, still)
	}
}

func paging(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(7)
	const n = 1203 // more than a page of any store, and no multiple of one
	must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, n)))
	for _, c := range []struct {
		after       int64
		limit       int
		first, last int64
	}{
		{0, 0, 1, n}, {0, 1, 1, 1}, {0, 500, 1, 500}, {500, 500, 501, 1000}, {1000, 500, 1001, n},
		{n - 1, 0, n, n}, {n, 0, 0, 0}, {n + 5, 10, 0, 0}, {-3, 2, 1, 2},
	} {
		got := collect(t, s.Entries(t.Context(), c.after, c.limit))
		var first, last int64
		if len(got) > 0 {
			first, last = got[0].Seq, got[len(got)-1].Seq
		}
		if first != c.first || last != c.last || last > 0 && int64(len(got)) != last-first+1 {
			t.Errorf("after %d, limit %d: %d entries from %d to %d, want %d to %d", c.after, c.limit, len(got), first, last, c.first, c.last)
		}
	}
	// The loop may stop early, and may use the store.
	seen := 0
	for e, err := range s.Entries(t.Context(), 0, 5000) {
		if err != nil {
			t.Fatal(err)
		}
		if e.Seq > n {
			t.Errorf("the loop sees entry %d, which came after it began", e.Seq)
		}
		if e.Seq <= 2 {
			extra := m.entry(t, 2*n+int(e.Seq))
			must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{extra}))
		}
	}
	for e, err := range s.Entries(t.Context(), 0, 0) {
		if err != nil {
			t.Fatal(err)
		}
		if seen++; seen == 3 {
			break
		}
		extra := m.entry(t, n+int(e.Seq))
		must[[]farm.Entry](t)(s.Append(t.Context(), []farm.Entry{extra}))
	}
	if got := len(all(t, s)); got != n+4 {
		t.Errorf("%d entries, want %d", got, n+4)
	}
}

func load(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(10)
	old := m.entries(t, 0, 2)
	must[[]farm.Entry](t)(s.Append(t.Context(), old))
	broken := errors.New("line 900 is torn")
	stream := func(fail bool) iter.Seq2[farm.Entry, error] {
		return func(yield func(farm.Entry, error) bool) {
			m := newMaker(11)
			for i := range 900 {
				if !yield(m.entry(t, 100+i), nil) {
					return
				}
			}
			if fail {
				yield(farm.Entry{}, broken)
				return
			}
			yield(old[1], nil)
		}
	}
	if n, err := s.Load(t.Context(), stream(true)); !errors.Is(err, broken) || n != 0 {
		t.Fatalf("a torn stream gave %d, %v", n, err)
	}
	wantWhole(t, s, 2)
	if n := must[int](t)(s.Load(t.Context(), stream(false))); n != 900 {
		t.Fatalf("%d entries are new, want 900", n)
	}
	if n := must[int](t)(s.Load(t.Context(), stream(false))); n != 0 {
		t.Fatalf("loaded again, %d entries are new, want 0", n)
	}
	wantWhole(t, s, 902)
}

func derivedBlobs(t *testing.T, h Harness) {
	s := h.open(t)
	ctx := t.Context()
	_, err := s.GetDerived(ctx, "twin/lantern-pond")
	wantCode(t, err, farm.NotFound)
	for _, key := range []string{"twin/lantern-pond", "twin/boat-pond", "fold"} {
		if err := s.PutDerived(ctx, key, []byte("first "+key)); err != nil {
			t.Fatal(err)
		}
	}
	big := make([]byte, 3<<20)
	for i := range big {
		big[i] = byte(i * 7)
	}
	if err := s.PutDerived(ctx, "twin/boat-pond", big); err != nil {
		t.Fatal(err)
	}
	if got := must[[]byte](t)(s.GetDerived(ctx, "twin/boat-pond")); !slices.Equal(got, big) {
		t.Error("a large blob came back changed")
	}
	if err := s.PutDerived(ctx, "nothing", nil); err != nil {
		t.Fatal(err)
	}
	if got := must[[]byte](t)(s.GetDerived(ctx, "nothing")); len(got) != 0 {
		t.Errorf("an empty blob came back as %d bytes", len(got))
	}
	if got := must[[]string](t)(s.DerivedKeys(ctx, "twin/")); !slices.Equal(got, []string{"twin/boat-pond", "twin/lantern-pond"}) {
		t.Errorf("keys %v", got)
	}
	if n := must[int](t)(s.DropDerived(ctx, "twin/")); n != 2 {
		t.Errorf("%d blobs dropped, want 2", n)
	}
	if got := must[[]byte](t)(s.GetDerived(ctx, "fold")); string(got) != "first fold" {
		t.Errorf("another blob became %q", got)
	}
	if n := must[int](t)(s.DropDerived(ctx, "")); n != 2 {
		t.Errorf("%d blobs dropped, want 2", n)
	}
	wantWhole(t, s, 0)
}

func cancelled(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(18)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Append(ctx, m.entries(t, 0, 2)); !errors.Is(err, context.Canceled) {
		t.Errorf("append gave %v, want the context's error", err)
	}
	ctx, cancel = context.WithCancel(t.Context())
	_, err := s.Load(ctx, func(yield func(farm.Entry, error) bool) {
		for i := range 10 {
			if i == 5 {
				cancel()
			}
			if !yield(m.entry(t, 10+i), nil) {
				return
			}
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("load gave %v, want the context's error", err)
	}
	wantWhole(t, s, 0)
}

func closed(t *testing.T, h Harness) {
	s, m := h.open(t), newMaker(19)
	must[[]farm.Entry](t)(s.Append(t.Context(), m.entries(t, 0, 1)))
	for range 2 {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.Append(t.Context(), m.entries(t, 5, 1)); err == nil {
		t.Error("a closed store took an entry")
	}
	if _, err := s.Head(t.Context()); err == nil {
		t.Error("a closed store was read")
	}
	if err := s.PutDerived(t.Context(), "x", nil); err == nil {
		t.Error("a closed store took a blob")
	}
}
