package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"sync"

	"sodalake/farm"
)

// derived keeps the blobs that can be made anew, in a file of their own: large
// ones never hold up an entry, and a damaged file is thrown away. It opens the
// file when it is first asked.
type derived struct {
	path string
	mu   sync.Mutex
	db   *sql.DB
	done bool
}

func newDerived(path string) *derived { return &derived{path: path} }

// open returns the file, made anew if it cannot be used.
func (d *derived) open(ctx context.Context) (*sql.DB, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.done {
		return nil, errors.New("derived blobs: the store is closed")
	}
	if d.db != nil {
		return d.db, nil
	}
	db, err := d.try(ctx)
	if err != nil && ctx.Err() == nil {
		for _, suffix := range []string{"", "-wal", "-shm"} {
			_ = os.Remove(d.path + suffix)
		}
		db, err = d.try(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("derived blobs: %w", err)
	}
	d.db = db
	return db, nil
}

func (d *derived) try(ctx context.Context) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dsn(d.path, "NORMAL", "immediate"))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(2)
	if err = claim(ctx, db); err == nil {
		_, err = db.ExecContext(ctx, "CREATE TABLE IF NOT EXISTS blob (key TEXT PRIMARY KEY, bytes BLOB NOT NULL) STRICT")
	}
	if err == nil {
		_, err = db.ExecContext(ctx, "SELECT 1 FROM blob LIMIT 1")
	}
	if err != nil {
		_ = db.Close()
		return nil, err
	}
	return db, nil
}

func (d *derived) close() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.done = true
	if d.db == nil {
		return nil
	}
	err := d.db.Close()
	d.db = nil
	return err
}

// PutDerived implements farm.Store.
func (s *Store) PutDerived(ctx context.Context, key string, blob []byte) error {
	db, err := s.derived.open(ctx)
	if err != nil {
		return err
	}
	if blob == nil {
		blob = []byte{}
	}
	if _, err := db.ExecContext(ctx, "INSERT INTO blob (key, bytes) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET bytes = excluded.bytes", key, blob); err != nil {
		return fmt.Errorf("derived blob %q: %w", key, err)
	}
	return nil
}

// GetDerived implements farm.Store.
func (s *Store) GetDerived(ctx context.Context, key string) ([]byte, error) {
	db, err := s.derived.open(ctx)
	if err != nil {
		return nil, err
	}
	var blob []byte
	err = db.QueryRowContext(ctx, "SELECT bytes FROM blob WHERE key = ?", key).Scan(&blob)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, &farm.Error{Code: farm.NotFound, Field: "key", Message: fmt.Sprintf("derived blob %q does not exist", key)}
	}
	if err != nil {
		return nil, fmt.Errorf("derived blob %q: %w", key, err)
	}
	return blob, nil
}

// DropDerived implements farm.Store.
func (s *Store) DropDerived(ctx context.Context, prefix string) (int, error) {
	db, err := s.derived.open(ctx)
	if err != nil {
		return 0, err
	}
	r, err := db.ExecContext(ctx, "DELETE FROM blob WHERE substr(key, 1, length(?1)) = ?1", prefix)
	if err != nil {
		return 0, fmt.Errorf("derived blobs %q: %w", prefix, err)
	}
	n, err := r.RowsAffected()
	return int(n), err
}

// DerivedKeys implements farm.Store.
func (s *Store) DerivedKeys(ctx context.Context, prefix string) ([]string, error) {
	db, err := s.derived.open(ctx)
	if err != nil {
		return nil, err
	}
	rows, err := db.QueryContext(ctx, "SELECT key FROM blob WHERE substr(key, 1, length(?1)) = ?1 ORDER BY key", prefix)
	if err != nil {
		return nil, fmt.Errorf("derived blobs %q: %w", prefix, err)
	}
	defer rows.Close()
	var keys []string
	for rows.Next() {
		var key string
		if err := rows.Scan(&key); err != nil {
			return nil, fmt.Errorf("derived blobs %q: %w", prefix, err)
		}
		keys = append(keys, key)
	}
	return keys, rows.Err()
}
