package farm

import (
	"bytes"
	"math/big"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestULIDAgainstTheSpecification(t *testing.T) {
	for _, c := range []struct {
		id     string
		ms     int64
		source string
	}{
		{"7ZZZZZZZZZZZZZZZZZZZZZZZZZ", 281474976710655, "ULID specification, Overflow Errors when Parsing Base32 Strings"},
		{"01ARYZ6S41TSV4RRFFQ69G5FAV", 1469918176385, "ulid/javascript README, Seed Time, read from memory"},
		{"00000000000000000000000000", 0, "ULID specification, Components: 48 bits of UNIX time"},
	} {
		at, err := ParseID(c.id)
		if err != nil || at.UnixMilli() != c.ms {
			t.Errorf("ParseID(%s) is %d ms, %v; want %d (%s)", c.id, at.UnixMilli(), err, c.ms, c.source)
		}
	}
	// ULID specification, Monotonicity: the two identifiers of one millisecond,
	// and the last one, after which there is none.
	for _, c := range []struct{ first, next string }{
		{"01BX5ZZKBKACTAV9WEVGEMMVRY", "01BX5ZZKBKACTAV9WEVGEMMVRZ"},
		{"01BX5ZZKBKACTAV9WEVGEMMVRZ", "01BX5ZZKBKACTAV9WEVGEMMVS0"},
		{"01BX5ZZKBKZZZZZZZZZZZZZZZY", "01BX5ZZKBKZZZZZZZZZZZZZZZZ"},
		{"01BX5ZZKBKZZZZZZZZZZZZZZZZ", ""},
	} {
		at, err := ParseID(c.first)
		if err != nil {
			t.Fatal(err)
		}
		ids := NewIDs(bytes.NewReader(randomOf(c.first)))
		first, err := ids.Make(at)
		if err != nil || first != c.first {
			t.Errorf("Make gave %s, %v; want %s (ULID specification, Monotonicity)", first, err, c.first)
		}
		if next, err := ids.Make(at); next != c.next || (err == nil) != (c.next != "") {
			t.Errorf("after %s Make gave %q, %v; want %q (ULID specification, Monotonicity)", c.first, next, err, c.next)
		}
	}
}

// randomOf returns the low 80 bits of an identifier, reckoned with big numbers.
func randomOf(id string) []byte {
	n := new(big.Int)
	for _, d := range id {
		n.Lsh(n, 5).Or(n, big.NewInt(int64(strings.IndexRune(crockford, d))))
	}
	b := n.FillBytes(make([]byte, 16))
	return b[6:]
}

func TestULIDRefused(t *testing.T) {
	for _, id := range []string{
		"", "01BX5ZZKBKACTAV9WEVGEMMVR", "01BX5ZZKBKACTAV9WEVGEMMVRYZ", "81BX5ZZKBKACTAV9WEVGEMMVRY",
		"01BX5ZZKBKACTAV9WEVGEMMVRU", "01BX5ZZKBKACTAV9WEVGEMMVRI", "01bx5zzkbkactav9wevgemmvry", "01BX5ZZKBKACTAV9WEVGEMMV€",
		strings.Repeat("0", 3000),
	} {
		if _, err := ParseID(id); err == nil || len(err.Error()) > 200 {
			t.Errorf("ParseID(%q) gave %v", clip(id), err)
		}
	}
	ids := NewIDs(rand.NewChaCha8([32]byte{}))
	for _, at := range []time.Time{time.UnixMilli(-1), time.UnixMilli(maxULIDMs + 1)} {
		if id, err := ids.Make(at); err == nil {
			t.Errorf("Make(%s) gave %s", at, id)
		}
	}
	if id, err := NewIDs(bytes.NewReader(make([]byte, 9))).Make(time.UnixMilli(1)); err == nil {
		t.Errorf("Make without enough random bits gave %s", id)
	}
}

func TestULIDsRiseWhateverTheClockDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := NewIDs(rand.NewChaCha8([32]byte{byte(rapid.Byte().Draw(t, "seed"))}))
		last := ""
		for _, ms := range rapid.SliceOfN(rapid.Int64Range(0, 5), 1, 40).Draw(t, "clock") {
			id, err := ids.Make(time.UnixMilli(ms))
			if err != nil {
				t.Fatal(err)
			}
			if id <= last {
				t.Fatalf("%s follows %s", id, last)
			}
			at, err := ParseID(id)
			if err != nil || at.UnixMilli() < ms {
				t.Fatalf("%s says %v, %v; made at %d", id, at, err, ms)
			}
			last = id
		}
	})
}

func TestULIDsFromManyGoroutines(t *testing.T) {
	ids := NewIDs(rand.NewChaCha8([32]byte{1}))
	var mu sync.Mutex
	var all []string
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for range 500 {
				id, err := ids.Make(time.UnixMilli(7))
				if err != nil {
					t.Error(err)
				}
				mu.Lock()
				all = append(all, id)
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	slices.Sort(all)
	if n := len(slices.Compact(all)); n != 2000 {
		t.Errorf("%d different identifiers, want 2000", n)
	}
}
