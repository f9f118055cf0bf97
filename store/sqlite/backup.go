package sqlite

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Backup implements farm.Store. The copy is one file without a log beside it;
// derived blobs are left out.
func (s *Store) Backup(ctx context.Context, path string) error {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("backup %s: %w", path, errors.Join(err, fs.ErrExist))
	}
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".part-*")
	if err != nil {
		return fmt.Errorf("backup %s: %w", path, err)
	}
	defer os.Remove(part.Name())
	defer part.Close()
	// VACUUM INTO reads at one moment and lets writers go on; stepping the
	// online backup starts over with each of their writes. SQLite counts it as
	// writing, which our readers may not.
	if _, err := s.copier.ExecContext(ctx, "VACUUM INTO ?", part.Name()); err != nil {
		return fmt.Errorf("backup %s: %w", path, err)
	}
	if err := part.Sync(); err != nil {
		return fmt.Errorf("backup %s: %w", path, err)
	}
	if err := place(part.Name(), path); err != nil {
		return fmt.Errorf("backup %s: %w", path, err)
	}
	return syncFolder(filepath.Dir(path))
}

// place gives the file part the name path, which must be free.
func place(part, path string) error {
	err := os.Link(part, path)
	if err == nil || errors.Is(err, fs.ErrExist) {
		return err
	}
	// A memory stick knows no links: there the name is only looked at.
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(err, fs.ErrExist)
	}
	return os.Rename(part, path)
}
