package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"iter"
	"time"

	"sodalake/farm"
)

var _ farm.Store = (*Store)(nil)

// Append implements farm.Store.
func (s *Store) Append(ctx context.Context, entries []farm.Entry) ([]farm.Entry, error) {
	accepted := make([]farm.Entry, 0, len(entries))
	err := s.write(ctx, func(w *chainWriter) error {
		for _, e := range entries {
			got, _, err := w.add(e)
			if err != nil {
				return err
			}
			accepted = append(accepted, got)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return accepted, nil
}

// Load implements farm.Store.
func (s *Store) Load(ctx context.Context, entries iter.Seq2[farm.Entry, error]) (int, error) {
	added := 0
	err := s.write(ctx, func(w *chainWriter) error {
		for e, err := range entries {
			if err != nil {
				return err
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			_, isNew, err := w.add(e)
			if err != nil {
				return err
			}
			if isNew {
				added++
			}
		}
		return nil
	})
	if err != nil {
		return 0, err
	}
	return added, nil
}

// write runs do in one transaction that nobody else writes in. From its begin
// to its end it heeds no cancelling, so that an error always means that nothing
// was written.
func (s *Store) write(ctx context.Context, do func(*chainWriter) error) (err error) {
	conn, err := s.writer.Conn(ctx)
	if err != nil {
		return fmt.Errorf("journal cannot be written: %w", err)
	}
	defer conn.Close()
	whole := context.WithoutCancel(ctx)
	tx, err := conn.BeginTx(whole, nil)
	if err != nil {
		return fmt.Errorf("journal cannot be written: %w", err)
	}
	defer func() {
		if err != nil {
			_ = tx.Rollback()
		}
	}()
	w, err := newChainWriter(whole, tx, s.now())
	if err != nil {
		return fmt.Errorf("journal cannot be written: %w", err)
	}
	defer w.close()
	if err := do(w); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("journal cannot be written: %w", err)
	}
	return nil
}

// chainWriter adds entries to the chain within one transaction.
type chainWriter struct {
	ctx         context.Context
	head        farm.Head
	now         time.Time
	find, place *sql.Stmt
}

func newChainWriter(ctx context.Context, tx *sql.Tx, now time.Time) (*chainWriter, error) {
	w := &chainWriter{ctx: ctx, now: now.UTC().Truncate(time.Millisecond)}
	var err error
	if w.head, err = headOf(tx.QueryRowContext(ctx, selectHead)); err != nil {
		return nil, err
	}
	if w.find, err = tx.PrepareContext(ctx, selectEntry+" WHERE e.id = ?"); err != nil {
		return nil, err
	}
	w.place, err = tx.PrepareContext(ctx, "INSERT INTO entry (seq, id, received_ms, bytes, hash) VALUES (?, ?, ?, ?, ?)")
	return w, err
}

func (w *chainWriter) close() {
	_ = w.find.Close()
	if w.place != nil {
		_ = w.place.Close()
	}
}

// add places e at the end, or returns it as it stands if it is there already.
func (w *chainWriter) add(e farm.Entry) (accepted farm.Entry, isNew bool, err error) {
	if _, err := farm.ParseID(e.ID); err != nil {
		return farm.Entry{}, false, &farm.Error{Code: farm.Invalid, Field: "id", Message: "id is no ULID: " + err.Error()}
	}
	canonical, err := e.Canonical()
	if err != nil {
		return farm.Entry{}, false, err
	}
	there, was, err := scanEntry(w.find.QueryRowContext(w.ctx, e.ID))
	switch {
	case err == nil && was == string(canonical):
		return there, false, nil
	case err == nil:
		return farm.Entry{}, false, farm.ConflictError(e.ID)
	case !errors.Is(err, sql.ErrNoRows):
		return farm.Entry{}, false, fmt.Errorf("journal cannot be read: %w", err)
	}
	accepted, err = farm.DecodeStored(canonical)
	if err != nil {
		return farm.Entry{}, false, err
	}
	if accepted.ReceivedAt = e.ReceivedAt.UTC().Truncate(time.Millisecond); e.ReceivedAt.IsZero() {
		accepted.ReceivedAt = w.now
	}
	accepted.Seq = w.head.Seq + 1
	accepted.Prev = w.head.Hash
	accepted.Hash = farm.ChainHash(accepted.Prev, canonical)
	hash, err := hex.DecodeString(accepted.Hash)
	if err != nil {
		return farm.Entry{}, false, err
	}
	if _, err := w.place.ExecContext(w.ctx, accepted.Seq, accepted.ID, accepted.ReceivedAt.UnixMilli(), string(canonical), hash); err != nil {
		return farm.Entry{}, false, fmt.Errorf("journal cannot be written: %w", err)
	}
	w.head = farm.Head{Seq: accepted.Seq, Hash: accepted.Hash}
	return accepted, true, nil
}

const selectHead = "SELECT seq, hash FROM entry ORDER BY seq DESC LIMIT 1"

// selectEntry gives a row with the hash of the row before.
const selectEntry = `SELECT e.seq, e.received_ms, e.bytes, e.hash,
	(SELECT b.hash FROM entry b WHERE b.seq = e.seq - 1) FROM entry e`

type row interface{ Scan(dest ...any) error }

func headOf(r row) (farm.Head, error) {
	var h farm.Head
	var hash []byte
	err := r.Scan(&h.Seq, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return farm.Head{}, nil
	}
	h.Hash = hex.EncodeToString(hash)
	return h, err
}

// scanEntry reads a row of selectEntry, and gives the stored bytes too.
func scanEntry(r row) (e farm.Entry, stored string, err error) {
	var seq, received int64
	var hash, prev []byte
	if err := r.Scan(&seq, &received, &stored, &hash, &prev); err != nil {
		return farm.Entry{}, "", err
	}
	if e, err = storedEntry(seq, received, []byte(stored)); err != nil {
		return farm.Entry{}, stored, err
	}
	e.Hash, e.Prev = hex.EncodeToString(hash), hex.EncodeToString(prev)
	return e, stored, nil
}

// storedEntry makes an entry of a row, but for its hashes.
func storedEntry(seq, received int64, stored []byte) (farm.Entry, error) {
	e, err := farm.DecodeStored(stored)
	if err != nil {
		return farm.Entry{}, &farm.ChainError{Seq: seq, Reason: "its bytes cannot be read: " + err.Error()}
	}
	e.Seq, e.ReceivedAt = seq, time.UnixMilli(received).UTC()
	return e, nil
}

// Head implements farm.Store.
func (s *Store) Head(ctx context.Context) (farm.Head, error) {
	h, err := headOf(s.readers.QueryRowContext(ctx, selectHead))
	if err != nil {
		return farm.Head{}, fmt.Errorf("journal cannot be read: %w", err)
	}
	return h, nil
}

// Entry implements farm.Store.
func (s *Store) Entry(ctx context.Context, id string) (farm.Entry, error) {
	e, _, err := scanEntry(s.readers.QueryRowContext(ctx, selectEntry+" WHERE e.id = ?", id))
	if errors.Is(err, sql.ErrNoRows) {
		return farm.Entry{}, &farm.Error{Code: farm.NotFound, Field: "id", Message: fmt.Sprintf("entry %q does not exist", id)}
	}
	if err != nil {
		return farm.Entry{}, fmt.Errorf("journal cannot be read: %w", err)
	}
	return e, nil
}

// page is how many rows are read at once: nothing keeps the file's log from
// being folded back while a slow reader thinks.
const page = 500

// Entries implements farm.Store.
func (s *Store) Entries(ctx context.Context, afterSeq int64, limit int) iter.Seq2[farm.Entry, error] {
	return func(yield func(farm.Entry, error) bool) {
		// Nothing before the head ever changes, so the journal up to it is the
		// journal as it is now.
		head, err := s.Head(ctx)
		if err != nil {
			yield(farm.Entry{}, err)
			return
		}
		last := head.Seq
		if limit > 0 {
			last = min(last, max(afterSeq, 0)+int64(limit))
		}
		for next := max(afterSeq, 0) + 1; next <= last; next += page {
			entries, err := s.readPage(ctx, next, min(next+page-1, last))
			if err != nil {
				yield(farm.Entry{}, fmt.Errorf("journal cannot be read: %w", err))
				return
			}
			for _, e := range entries {
				if !yield(e, nil) {
					return
				}
			}
		}
	}
}

// readPage reads the entries from place first to place last.
func (s *Store) readPage(ctx context.Context, first, last int64) ([]farm.Entry, error) {
	// The row before gives the hash that the first entry follows.
	rows, err := s.readers.QueryContext(ctx, "SELECT seq, received_ms, bytes, hash FROM entry WHERE seq BETWEEN ? AND ? ORDER BY seq", first-1, last)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	entries := make([]farm.Entry, 0, last-first+1)
	prev := ""
	for rows.Next() {
		var seq, received int64
		var stored, hash sql.RawBytes
		if err := rows.Scan(&seq, &received, &stored, &hash); err != nil {
			return nil, err
		}
		if seq >= first {
			e, err := storedEntry(seq, received, bytes.Clone(stored))
			if err != nil {
				return nil, err
			}
			e.Prev, e.Hash = prev, hex.EncodeToString(hash)
			entries = append(entries, e)
		}
		prev = hex.EncodeToString(hash)
	}
	return entries, rows.Err()
}

// Verify implements farm.Store. It also asks SQLite whether the file is whole.
func (s *Store) Verify(ctx context.Context) (int64, error) {
	rows, err := s.readers.QueryContext(ctx, "SELECT seq, id, bytes, hash FROM entry ORDER BY seq")
	if err != nil {
		return 0, fmt.Errorf("journal cannot be read: %w", err)
	}
	defer rows.Close()
	var chain farm.Chain
	for rows.Next() {
		var seq int64
		var id, stored string
		var hash []byte
		if err := rows.Scan(&seq, &id, &stored, &hash); err != nil {
			return chain.Head.Seq, fmt.Errorf("journal cannot be read: %w", err)
		}
		before := chain
		if err := chain.Next(seq, []byte(stored), chain.Head.Hash, hex.EncodeToString(hash)); err != nil {
			return before.Head.Seq, err
		}
		e, err := farm.DecodeStored([]byte(stored))
		if err != nil || e.ID != id {
			return before.Head.Seq, &farm.ChainError{Seq: seq, Reason: "it is filed under an identifier that is not its own"}
		}
	}
	if err := rows.Err(); err != nil {
		return chain.Head.Seq, fmt.Errorf("journal cannot be read: %w", err)
	}
	var sound string
	if err := s.readers.QueryRowContext(ctx, "PRAGMA quick_check(1)").Scan(&sound); err != nil || sound != "ok" {
		return chain.Head.Seq, fmt.Errorf("journal's file is damaged: %s", errors.Join(err, errors.New(sound)))
	}
	return chain.Head.Seq, nil
}
