package sqlite

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sodalake/farm"
)

// crashChild names the journal that this test binary, started by itself,
// appends to until it is killed.
const crashChild = "SODALAKE_TEST_CRASH_JOURNAL"

func TestMain(m *testing.M) {
	if path := os.Getenv(crashChild); path != "" {
		appendForever(path)
		return
	}
	os.Exit(m.Run())
}

// appendForever appends requests of one to five entries and writes the
// identifiers of each to standard output once Append has acknowledged it.
func appendForever(path string) {
	s, err := Open(context.Background(), path, time.Now)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	ids := farm.NewIDs(rand.NewChaCha8([32]byte{byte(os.Getpid()), byte(os.Getpid() >> 8)}))
	for n := 0; ; n++ {
		request := make([]farm.Entry, 1+n%5)
		for i := range request {
			at := time.Now()
			id, err := ids.Make(at)
			if err != nil {
				os.Exit(1)
			}
			request[i] = farm.Entry{ID: id, Kind: "note", V: 1, At: at, NotedAt: at, By: "ines", Body: fmt.Appendf(nil, `{"text":%q}`, strings.Repeat("x", n%900))}
		}
		if _, err := s.Append(context.Background(), request); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		line := fmt.Sprint(len(request))
		for _, e := range request {
			line += " " + e.ID
		}
		fmt.Println(line) // one write, so a killed child prints whole lines or a torn last one
	}
}

// A program killed at any moment loses no entry that it acknowledged, leaves no
// part of a request, and the journal opens and verifies.
func TestKillAtAnyMoment(t *testing.T) {
	rounds := 12
	if testing.Short() {
		rounds = 3
	}
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	path := filepath.Join(t.TempDir(), "journal.db")
	acknowledged := map[string]bool{}
	for round := range rounds {
		child := exec.Command(os.Args[0])
		child.Env = append(os.Environ(), crashChild+"="+path)
		child.Stderr = os.Stderr
		out, err := child.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := child.Start(); err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewReader(out)
		// The first acknowledgement tells that the child is up; the last rounds
		// kill before it, while the journal is being opened.
		first := ""
		if round < rounds-2 {
			if first, err = lines.ReadString('\n'); err != nil {
				t.Fatal(err)
			}
		}
		time.Sleep(time.Duration(rng.IntN(60_000)) * time.Microsecond)
		if err := child.Process.Kill(); err != nil { // SIGKILL
			t.Fatal(err)
		}
		for line := first; ; {
			ids := strings.Fields(line)
			if strings.HasSuffix(line, "\n") && len(ids) > 1 {
				for _, id := range ids[1:] {
					acknowledged[id] = true
				}
			}
			var err error
			if line, err = lines.ReadString('\n'); err != nil {
				break
			}
		}
		_ = child.Wait()

		s, err := Open(t.Context(), path, noon)
		if err != nil {
			t.Fatalf("round %d: the journal does not open: %v", round, err)
		}
		head, err := s.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if n, err := s.Verify(t.Context()); err != nil || n != head.Seq {
			t.Fatalf("round %d: %d of %d entries whole, %v", round, n, head.Seq, err)
		}
		for id := range acknowledged {
			if _, err := s.Entry(t.Context(), id); err != nil {
				t.Fatalf("round %d: acknowledged entry %s is lost: %v", round, id, err)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d entries were acknowledged", len(acknowledged))
	if len(acknowledged) < rounds {
		t.Errorf("only %d entries were acknowledged: the test killed too early to tell", len(acknowledged))
	}
	if _, err := os.Stat(path + "-journal"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a rollback journal is left: %v", err)
	}
}
