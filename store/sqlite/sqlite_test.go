package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/pressly/goose/v3"

	"sodalake/farm"
	"sodalake/store/storetest"
)

func noon() time.Time { return storetest.Noon }

func openAt(t testing.TB, path string) *Store {
	t.Helper()
	s, err := Open(t.Context(), path, noon)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// past runs a statement on the file with the guards taken down, as somebody
// with a database tool would.
func past(t *testing.T, path, statement string, args ...any) {
	t.Helper()
	db, err := sql.Open("sqlite", dsn(path, "FULL", "immediate"))
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	rows, err := db.Query("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	guards := map[string]string{}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		guards[name] = text
	}
	if len(guards) != 3 {
		t.Fatalf("%d guards on the journal, want 3", len(guards))
	}
	for name := range guards {
		if _, err := db.Exec("DROP TRIGGER " + name); err != nil {
			t.Fatal(err)
		}
	}
	r, err := db.Exec(statement, args...)
	if err != nil {
		t.Fatal(err)
	}
	if n, _ := r.RowsAffected(); n != 1 {
		t.Fatalf("%s touched %d rows, want 1", statement, n)
	}
	for _, text := range guards {
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
}

func TestStore(t *testing.T) {
	storetest.Run(t, storetest.Harness{
		Open: func(t *testing.T, now func() time.Time) farm.Store {
			s, err := Open(t.Context(), filepath.Join(t.TempDir(), "journal.db"), now)
			if err != nil {
				t.Fatal(err)
			}
			return s
		},
		Again:    func(t *testing.T, s farm.Store) farm.Store { return openAt(t, s.(*Store).Path()) },
		OpenCopy: func(t *testing.T, path string) farm.Store { return openAt(t, path) },
		Tamper: func(t *testing.T, s farm.Store, seq int64, bytes []byte) {
			past(t, s.(*Store).Path(), "UPDATE entry SET bytes = ? WHERE seq = ?", string(bytes), seq)
		},
		Remove: func(t *testing.T, s farm.Store, seq int64) {
			past(t, s.(*Store).Path(), "DELETE FROM entry WHERE seq = ?", seq)
		},
	})
}

func TestTemporaryStore(t *testing.T) {
	s, err := OpenTemp(t.Context(), noon)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), notes(t, 1, 3)); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Verify(t.Context()); n != 3 || err != nil {
		t.Fatalf("verify: %d, %v", n, err)
	}
	dir := filepath.Dir(s.Path())
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(dir); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the folder %s is still there: %v", dir, err)
	}
}

// notes returns n invented entries; the same seed gives the same.
func notes(t testing.TB, seed byte, n int) []farm.Entry {
	t.Helper()
	ids := farm.NewIDs(rand.NewChaCha8([32]byte{seed}))
	out := make([]farm.Entry, n)
	for i := range out {
		at := storetest.Noon.Add(time.Duration(i) * time.Second)
		id, err := ids.Make(at)
		if err != nil {
			t.Fatal(err)
		}
		out[i] = farm.Entry{
			ID: id, Vessel: "lantern-pond", Kind: "ph", V: 1, At: at, NotedAt: at, By: "ines",
			Body: json.RawMessage(`{"ph":10.2,"temp_c":24,"instrument":"meter-2"}`),
		}
	}
	return out
}

// The SQLite documentation, "WAL-reset bug" (sqlite.org/wal.html), names 3.51.3
// as the first release without it.
func TestSQLiteIsNewEnough(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "journal.db"))
	var version string
	if err := s.readers.QueryRow("SELECT sqlite_version()").Scan(&version); err != nil {
		t.Fatal(err)
	}
	var a, b, c int
	if _, err := fmt.Sscanf(version, "%d.%d.%d", &a, &b, &c); err != nil {
		t.Fatal(err)
	}
	if a*1_000_000+b*1000+c < 3_051_003 {
		t.Errorf("SQLite is %s, want 3.51.3 or newer", version)
	}
}

// modernc.org/sqlite is C translated against one version of modernc.org/libc
// and must be built with exactly that one, as its README says.
func TestLibcIsTheOneTheDriverWants(t *testing.T) {
	module := func(format, name string) string {
		out, err := exec.Command("go", "list", "-m", "-f", format, name).Output()
		if err != nil {
			t.Fatal(err)
		}
		return strings.TrimSpace(string(out))
	}
	wants, err := os.ReadFile(module("{{.GoMod}}", "modernc.org/sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`modernc\.org/libc (v\S+)`).FindSubmatch(wants)
	if found == nil {
		t.Fatal("the driver's go.mod names no libc")
	}
	if got := module("{{.Version}}", "modernc.org/libc"); got != string(found[1]) {
		t.Errorf("libc is %s, the driver wants %s", got, found[1])
	}
}

func TestPragmasOnEveryConnection(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "journal.db"))
	for _, db := range []*sql.DB{s.writer, s.readers} {
		for pragma, want := range map[string]string{
			"journal_mode": "wal", "synchronous": "2", "busy_timeout": "5000", "foreign_keys": "1",
			"application_id": fmt.Sprint(applicationID),
		} {
			var got string
			if err := db.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
				t.Errorf("%s is %q, %v; want %q", pragma, got, err, want)
			}
		}
	}
	if _, err := s.readers.Exec("INSERT INTO entry VALUES (1, '01ARZ3NDEKTSV4RRFFQ69G5FAV', 0, '{}', zeroblob(32))"); err == nil {
		t.Error("a reader wrote")
	}
}

func TestGuardsHoldAgainstOthers(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "journal.db"))
	if _, err := s.Append(t.Context(), notes(t, 1, 5)); err != nil {
		t.Fatal(err)
	}
	for _, statement := range []string{
		"UPDATE entry SET received_ms = 0 WHERE seq = 2",
		"UPDATE entry SET bytes = '{}'",
		"DELETE FROM entry WHERE seq = 5",
		"DELETE FROM entry",
		"INSERT OR REPLACE INTO entry SELECT 5, id, 0, bytes, hash FROM entry WHERE seq = 5",
		"INSERT OR REPLACE INTO entry SELECT 6, id, 0, bytes, hash FROM entry WHERE seq = 5",
		"REPLACE INTO entry SELECT 2, '01ARZ3NDEKTSV4RRFFQ69G5FAV', 0, bytes, hash FROM entry WHERE seq = 2",
		"INSERT INTO entry SELECT 7, '01ARZ3NDEKTSV4RRFFQ69G5FAV', 0, bytes, hash FROM entry WHERE seq = 5",
		"INSERT INTO entry SELECT 0, '01ARZ3NDEKTSV4RRFFQ69G5FAV', 0, bytes, hash FROM entry WHERE seq = 5",
		"INSERT INTO entry SELECT NULL, '01ARZ3NDEKTSV4RRFFQ69G5FAV', 0, bytes, hash FROM entry WHERE seq = 5",
	} {
		if _, err := s.writer.Exec(statement); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%s gave %v, want the guard's refusal", statement, err)
		}
	}
	if n, err := s.Verify(t.Context()); n != 5 || err != nil {
		t.Fatalf("verify: %d, %v", n, err)
	}
}

func TestVerifyLooksAtTheIndexToo(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	s := openAt(t, path)
	if _, err := s.Append(t.Context(), notes(t, 1, 5)); err != nil {
		t.Fatal(err)
	}
	past(t, path, "UPDATE entry SET id = '01ARZ3NDEKTSV4RRFFQ69G5FAV' WHERE seq = 4")
	n, err := s.Verify(t.Context())
	var broken *farm.ChainError
	if !errors.As(err, &broken) || broken.Seq != 4 || n != 3 {
		t.Errorf("verify: %d, %v; want 3 and a break at 4", n, err)
	}
}

func TestForeignFilesAreRefused(t *testing.T) {
	dir := t.TempDir()
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", dsn(other, "FULL", "immediate"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE theirs (x)"); err != nil {
		t.Fatal(err)
	}
	db.Close()
	text := filepath.Join(dir, "text.db")
	if err := os.WriteFile(text, []byte(strings.Repeat("this is no database. ", 400)), 0o600); err != nil {
		t.Fatal(err)
	}
	newer := filepath.Join(dir, "newer.db")
	s := openAt(t, newer)
	if _, err := s.writer.Exec("PRAGMA user_version = 900"); err != nil {
		t.Fatal(err)
	}
	s.Close()
	for path, want := range map[string]string{
		other: "another program", text: "not a database", newer: "newer program",
		filepath.Join(dir, "no", "folder.db"): "unable to open",
	} {
		before, _ := os.ReadFile(path)
		if _, err := Open(t.Context(), path, noon); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s was opened with %v, want a refusal saying %q", filepath.Base(path), err, want)
		}
		if after, _ := os.ReadFile(path); string(after) != string(before) {
			t.Errorf("%s was changed", filepath.Base(path))
		}
	}
}

// Every migration runs on a journal that holds entries, and leaves them whole.
func TestMigrationsOnAPopulatedJournal(t *testing.T) {
	newest, err := newestForm()
	if err != nil {
		t.Fatal(err)
	}
	for form := int64(1); form <= newest; form++ {
		path := filepath.Join(t.TempDir(), "journal.db")
		db, err := sql.Open("sqlite", dsn(path, "FULL", "immediate"))
		if err != nil {
			t.Fatal(err)
		}
		if err := claim(t.Context(), db); err != nil {
			t.Fatal(err)
		}
		p, err := goose.NewProvider(goose.DialectSQLite3, db, os.DirFS("migrations"))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := p.UpTo(t.Context(), form); err != nil {
			t.Fatal(err)
		}
		head := farm.Head{}
		for i, e := range notes(t, 3, 200) {
			bytes, err := e.Canonical()
			if err != nil {
				t.Fatal(err)
			}
			head = farm.Head{Seq: int64(i + 1), Hash: farm.ChainHash(head.Hash, bytes)}
			if _, err := db.Exec("INSERT INTO entry (seq, id, received_ms, bytes, hash) VALUES (?, ?, 0, ?, unhex(?))", head.Seq, e.ID, string(bytes), head.Hash); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := db.Exec(fmt.Sprintf("PRAGMA user_version = %d", form)); err != nil {
			t.Fatal(err)
		}
		db.Close()
		s := openAt(t, path)
		if n, err := s.Verify(t.Context()); n != 200 || err != nil {
			t.Errorf("from form %d: %d entries whole, %v", form, n, err)
		}
		if got, err := s.Head(t.Context()); err != nil || got != head {
			t.Errorf("from form %d: head %+v, %v; want %+v", form, got, err, head)
		}
		var broken int
		if err := s.writer.QueryRow("SELECT count(*) FROM pragma_foreign_key_check").Scan(&broken); err != nil || broken != 0 {
			t.Errorf("from form %d: %d broken references, %v", form, broken, err)
		}
		past(t, path, "UPDATE entry SET received_ms = 1 WHERE seq = 7") // the guards are there
	}
}

// A full disk refuses the entry, loses none that was accepted, and the journal
// goes on when there is room.
func TestDiskFull(t *testing.T) {
	s := openAt(t, filepath.Join(t.TempDir(), "journal.db"))
	all := notes(t, 4, 4000)
	if _, err := s.Append(t.Context(), all[:100]); err != nil {
		t.Fatal(err)
	}
	var pages int
	if err := s.writer.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec(fmt.Sprintf("PRAGMA max_page_count = %d", pages+8)); err != nil {
		t.Fatal(err)
	}
	written, refused := 100, 0
	for written+refused < 1000 {
		_, err := s.Append(t.Context(), all[written:written+10])
		if err != nil {
			if !strings.Contains(err.Error(), "full") || farm.CodeOf(err) != farm.Internal {
				t.Fatalf("error %v, want one that says the disk is full", err)
			}
			if refused++; refused == 3 {
				break
			}
			continue
		}
		written += 10
	}
	if refused == 0 {
		t.Fatal("the disk never got full")
	}
	if n, err := s.Verify(t.Context()); n != int64(written) || err != nil {
		t.Fatalf("%d entries whole, %v; want %d", n, err, written)
	}
	if _, err := s.writer.Exec("PRAGMA max_page_count = 100000"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Append(t.Context(), all[written:]); err != nil {
		t.Fatal(err)
	}
	if n, err := s.Verify(t.Context()); n != 4000 || err != nil {
		t.Fatalf("%d entries whole, %v; want 4000", n, err)
	}
}

func TestDamagedDerivedFileIsMadeAnew(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.db")
	if err := os.WriteFile(path+"-derived", []byte(strings.Repeat("rubbish ", 2000)), 0o600); err != nil {
		t.Fatal(err)
	}
	s := openAt(t, path)
	if err := s.PutDerived(t.Context(), "fold", []byte("x")); err != nil {
		t.Fatal(err)
	}
	if b, err := s.GetDerived(context.Background(), "fold"); err != nil || string(b) != "x" {
		t.Errorf("got %q, %v", b, err)
	}
}

func BenchmarkOpen(b *testing.B) {
	path := filepath.Join(b.TempDir(), "journal.db")
	s := openAt(b, path)
	if _, err := s.Append(b.Context(), notes(b, 5, 5000)); err != nil {
		b.Fatal(err)
	}
	s.Close()
	b.ReportAllocs()
	for b.Loop() {
		s, err := Open(b.Context(), path, noon)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := s.Head(b.Context()); err != nil {
			b.Fatal(err)
		}
		s.Close()
	}
}

func BenchmarkAppendOne(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "journal.db"))
	all := notes(b, 6, 300000)
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Append(b.Context(), all[i:i+1]); err != nil {
			b.Fatal(err)
		}
		i++
	}
}

func BenchmarkAppend1000(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "journal.db"))
	all := notes(b, 7, 300000)
	i := 0
	b.ReportAllocs()
	for b.Loop() {
		if _, err := s.Append(b.Context(), all[i:i+1000]); err != nil {
			b.Fatal(err)
		}
		i = (i + 1000) % 300000
	}
}

func BenchmarkReadAndFold10000(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "journal.db"))
	if _, err := s.Append(b.Context(), notes(b, 8, 10000)); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		p := farm.NewPresent()
		if err := p.Fold(s.Entries(b.Context(), 0, 0)); err != nil || p.Len() != 10000 {
			b.Fatal(err, p.Len())
		}
	}
}
