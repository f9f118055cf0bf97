package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"
)

//go:embed migrations/*.sql
var migrations embed.FS

// applicationID marks our files, "SoLk" in ASCII, where SQLite keeps such marks
// (bytes 68 to 71 of the file).
const applicationID = 0x536F4C6B

// Store is a journal in an SQLite file. It is a farm.Store.
type Store struct {
	path    string
	temp    string // folder to remove on Close
	now     func() time.Time
	writer  *sql.DB // one connection: SQLite has one writer
	readers *sql.DB
	copier  *sql.DB // for Backup; connects when it is first asked
	derived *derived
}

// Open opens the journal in the file at path, made if it is not there, and
// brings it to the newest form. now is the clock that stamps ReceivedAt.
func Open(ctx context.Context, path string, now func() time.Time) (*Store, error) {
	s := &Store{path: path, now: now, derived: newDerived(path + "-derived")}
	if err := s.open(ctx, "FULL"); err != nil {
		_ = s.Close()
		return nil, fmt.Errorf("journal %s: %w", path, err)
	}
	return s, nil
}

// OpenTemp opens an empty journal in a new folder for temporary files, which
// Close removes. It does not wait for the disk: it is for a demonstration.
func OpenTemp(ctx context.Context, now func() time.Time) (*Store, error) {
	dir, err := os.MkdirTemp("", "sodalake-*")
	if err != nil {
		return nil, fmt.Errorf("temporary journal: %w", err)
	}
	path := filepath.Join(dir, "journal.db")
	s := &Store{path: path, temp: dir, now: now, derived: newDerived(path + "-derived")}
	if err := s.open(ctx, "OFF"); err != nil {
		_ = s.Close()
		return nil, fmt.Errorf("temporary journal: %w", err)
	}
	return s, nil
}

// Path returns the file that the journal is in.
func (s *Store) Path() string { return s.path }

func (s *Store) open(ctx context.Context, synchronous string) error {
	_, err := os.Stat(s.path)
	fresh := errors.Is(err, fs.ErrNotExist)
	if s.writer, err = sql.Open("sqlite", dsn(s.path, synchronous, "immediate")); err != nil {
		return err
	}
	s.writer.SetMaxOpenConns(1)
	s.writer.SetConnMaxIdleTime(0)
	if err := claim(ctx, s.writer); err != nil {
		return err
	}
	if err := migrate(ctx, s.writer); err != nil {
		return err
	}
	if fresh {
		// SQLite does not sync the folder for the file itself.
		if err := syncFolder(filepath.Dir(s.path)); err != nil {
			return err
		}
	}
	if s.readers, err = sql.Open("sqlite", dsn(s.path, synchronous, "deferred")+"&_pragma=query_only(1)"); err != nil {
		return err
	}
	s.readers.SetMaxOpenConns(8)
	s.readers.SetMaxIdleConns(8)
	s.copier, err = sql.Open("sqlite", dsn(s.path, synchronous, "deferred"))
	return err
}

// dsn returns the address of the file with the pragmas that every connection
// gets. busy_timeout comes first, so that the others wait for a lock too.
func dsn(path, synchronous, lock string) string {
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath()}
	pragmas := []string{
		"busy_timeout(5000)", "journal_mode(WAL)", "synchronous(" + synchronous + ")", "foreign_keys(1)",
	}
	return u.String() + "?_pragma=" + strings.Join(pragmas, "&_pragma=") + "&_txlock=" + lock
}

// claim marks a new file as ours and refuses a file of somebody else.
func claim(ctx context.Context, db *sql.DB) error {
	var id, tables int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return err
	}
	if id == applicationID {
		return nil
	}
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	if id != 0 || tables != 0 {
		return errors.New("the file is a database of another program")
	}
	_, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", applicationID))
	return err
}

// migrate brings the file to the newest form. The form is kept in user_version
// too, so that a file which is up to date is opened without asking further.
func migrate(ctx context.Context, db *sql.DB) error {
	var have int64
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&have); err != nil {
		return err
	}
	newest, err := newestForm()
	if err != nil || have == newest {
		return err
	}
	if have > newest {
		return fmt.Errorf("the file has form %d, this program knows forms up to %d: a newer program wrote it", have, newest)
	}
	folder, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, folder)
	if err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return err
	}
	_, err = db.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", newest))
	return err
}

// newestForm returns the number of the last migration.
func newestForm() (int64, error) {
	files, err := fs.ReadDir(migrations, "migrations")
	if err != nil {
		return 0, err
	}
	return goose.NumericComponent(files[len(files)-1].Name())
}

// syncFolder makes the names in a folder last.
func syncFolder(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) && !errors.Is(err, fs.ErrInvalid) && !errors.Is(err, fs.ErrPermission) {
		return err
	}
	return nil
}

// Close ends the use of the store. A second Close does nothing.
func (s *Store) Close() error {
	var errs []error
	for _, db := range []*sql.DB{s.copier, s.readers, s.writer} {
		if db != nil {
			errs = append(errs, db.Close())
		}
	}
	errs = append(errs, s.derived.close())
	if s.temp != "" {
		errs = append(errs, os.RemoveAll(s.temp))
		s.temp = ""
	}
	return errors.Join(errs...)
}
