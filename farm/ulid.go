package farm

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
)

// crockford is the alphabet of the ULID: Crockford's base 32, without I, L, O
// and U.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// maxULIDMs is the last millisecond that 48 bits hold.
const maxULIDMs = 1<<48 - 1

// IDs makes the identifiers of entries: 48 bits of time in milliseconds and 80
// random bits, written in 26 letters and digits that sort by time. Within one
// millisecond, and while the clock stands or runs back, each identifier is the
// one before plus one, so that what one maker made first sorts first.
//
// An IDs may be used by several goroutines at once.
//
// Source: the ULID specification (github.com/ulid/spec), sections Encoding,
// Sorting and Monotonicity.
type IDs struct {
	mu      sync.Mutex
	entropy io.Reader
	lastMs  int64
	random  [10]byte
	used    bool
}

// NewIDs returns a maker that takes its random bits from entropy: crypto/rand
// in the program, a seeded source in a test.
func NewIDs(entropy io.Reader) *IDs { return &IDs{entropy: entropy} }

// Make returns the next identifier for the moment at. It fails if entropy
// fails, if at lies before 1970 or beyond what 48 bits hold, or if 2^80
// identifiers were made in one millisecond.
func (m *IDs) Make(at time.Time) (string, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	ms := at.UnixMilli()
	if ms < 0 || ms > maxULIDMs {
		return "", fmt.Errorf("time %s cannot stand in an identifier", at.Format(time.RFC3339))
	}
	if m.used && ms <= m.lastMs {
		if !increment(&m.random) {
			return "", errors.New("identifiers of this millisecond are used up")
		}
		return encodeULID(m.lastMs, m.random), nil
	}
	var fresh [10]byte
	if _, err := io.ReadFull(m.entropy, fresh[:]); err != nil {
		return "", fmt.Errorf("random bits for an identifier: %w", err)
	}
	m.lastMs, m.random, m.used = ms, fresh, true
	return encodeULID(ms, fresh), nil
}

// increment adds one to b as a big-endian number and reports false if that ran over.
func increment(b *[10]byte) bool {
	for i := len(b) - 1; i >= 0; i-- {
		b[i]++
		if b[i] != 0 {
			return true
		}
	}
	return false
}

// encodeULID writes the 128 bits in groups of five from the low end; the first
// letter holds the remaining three.
func encodeULID(ms int64, random [10]byte) string {
	var b [16]byte
	for i := range 6 {
		b[i] = byte(ms >> (40 - 8*i))
	}
	copy(b[6:], random[:])
	var out [26]byte
	var bits, have uint
	next := len(b) - 1
	for i := len(out) - 1; i >= 0; i-- {
		if have < 5 && next >= 0 {
			bits |= uint(b[next]) << have
			have += 8
			next--
		}
		out[i] = crockford[bits&31]
		bits >>= 5
		have -= min(have, 5)
	}
	return string(out[:])
}

// ParseID returns the moment that the identifier s carries, or an error if s is
// no ULID: 26 letters and digits of Crockford's base 32, upper case, the first
// of them at most 7. Lower case is refused although the specification reads it,
// because two spellings of one identifier would be two entries.
func ParseID(s string) (time.Time, error) {
	if len(s) != 26 {
		return time.Time{}, fmt.Errorf("identifier %q has %d characters, not 26", clip(s), len(s))
	}
	var ms int64
	for i := range len(s) {
		d := strings.IndexByte(crockford, s[i])
		switch {
		case d < 0:
			return time.Time{}, fmt.Errorf("identifier %q has %q at place %d", s, s[i], i+1)
		case i == 0 && d > 7:
			return time.Time{}, fmt.Errorf("identifier %q is larger than 128 bits", s)
		case i < 10:
			ms = ms<<5 | int64(d)
		}
	}
	return time.UnixMilli(ms).UTC(), nil
}

// clip shortens what a stranger sent to a length that a message can carry.
func clip(s string) string {
	const most = 60
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "..."
}
