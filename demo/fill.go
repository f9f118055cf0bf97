package demo

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"io"
	"time"

	"sodalake/farm"
)

//go:generate go run ./write

//go:embed season.jsonl
var seasonJSONL []byte

// Fill writes the season up to a moment into a store, as if every entry had come
// in when it was noted. A store that holds entries already is left as it is.
func Fill(ctx context.Context, store farm.Store, until time.Time) error {
	head, err := store.Head(ctx)
	if err != nil {
		return err
	}
	if head.Seq > 0 {
		return nil
	}
	entries := make([]farm.Entry, 0, 1024)
	for e, err := range farm.ReadEntries(bytes.NewReader(seasonJSONL), farm.NewPresent(), until) {
		if err != nil {
			return err
		}
		if e.NotedAt.After(until) {
			break
		}
		e.ReceivedAt = e.NotedAt
		entries = append(entries, e)
	}
	_, err = store.Append(ctx, entries)
	return err
}

// Write writes the season as the generator makes it, one entry a line.
func Write(w io.Writer) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	for _, e := range Season() {
		if err := enc.Encode(e); err != nil {
			return err
		}
	}
	return nil
}
