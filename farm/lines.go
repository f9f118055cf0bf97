package farm

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"iter"
	"time"
)

// Export writes entries to w, one line of JSON each, with what the store added:
// seq, received_at, prev and hash. It returns how many it wrote. ReadEntries
// takes the lines back.
func Export(w io.Writer, entries iter.Seq2[Entry, error]) (written int, err error) {
	for e, err := range entries {
		if err != nil {
			return written, err
		}
		line, err := e.Line()
		if err != nil {
			return written, err
		}
		if _, err := w.Write(line); err != nil {
			return written, err
		}
		written++
	}
	return written, nil
}

// Line returns e as a line of an export: its canonical members and what the
// store added, with the line's end.
func (e Entry) Line() ([]byte, error) {
	canonical, err := e.Canonical()
	if err != nil {
		return nil, err
	}
	line := append(make([]byte, 0, len(canonical)+260), canonical[:len(canonical)-1]...)
	member := func(name string, value []byte) {
		line = append(append(appendText(append(line, ','), name), ':'), value...)
	}
	if e.Hash != "" {
		member("hash", appendTextOf(e.Hash))
	}
	if e.Prev != "" {
		member("prev", appendTextOf(e.Prev))
	}
	if !e.ReceivedAt.IsZero() {
		at, err := stampOf("received_at", e.ReceivedAt)
		if err != nil {
			return nil, err
		}
		member("received_at", appendTextOf(at))
	}
	if e.Seq != 0 {
		member("seq", fmt.Append(nil, e.Seq))
	}
	return append(line, '}', '\n'), nil
}

// maxFileEntries bounds a file: a century of a large farm.
const maxFileEntries = 10_000_000

// ReadEntries reads entries from r: JSON lines as Export writes them, or
// written by hand, or one JSON list of entries. It checks each against p and
// the clock now, applies it to p and hands it on; entries that p knows already
// are handed on as well, for the store to compare. A line may lack noted_at (it
// is taken as at) and id (it is derived, see Entry.DeriveID), and hash with
// prev, which are checked where they stand.
//
// The first thing that is wrong ends the iteration with an *Error whose
// message begins with the line where it stands. p then holds what came before:
// a caller that gave its own p away drops it and folds anew.
//
//	n, err := store.Load(ctx, farm.ReadEntries(file, present, time.Now()))
func ReadEntries(r io.Reader, p *Present, now time.Time) iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		in := newValues(r)
		for n := 1; ; n++ {
			raw, line, err := in.next()
			if err == io.EOF {
				return
			}
			if err == nil && n > maxFileEntries {
				err = invalid("", "file has more than %d entries", maxFileEntries)
			}
			var e Entry
			if err == nil {
				e, err = readFiled(raw, p, now)
			}
			if err != nil {
				yield(Entry{}, onLine(line, err))
				return
			}
			p.Apply(e)
			if !yield(e, nil) {
				return
			}
		}
	}
}

// onLine returns err with the line where it stands.
func onLine(line int, err error) error {
	var e *Error
	if errors.As(err, &e) {
		c := *e
		c.Message = fmt.Sprintf("line %d: %s", line, e.Message)
		return &c
	}
	return fmt.Errorf("line %d: %w", line, err)
}

// readFiled takes one entry of a file apart and checks it.
func readFiled(raw []byte, p *Present, now time.Time) (Entry, error) {
	e, bad := DecodeEntry(raw)
	if bad != nil {
		return Entry{}, bad
	}
	if e.ID == "" {
		id, err := e.DeriveID()
		if err != nil {
			return Entry{}, err
		}
		e.ID = id
	}
	if e.Hash != "" {
		canonical, err := e.Canonical()
		if err != nil {
			return Entry{}, err
		}
		if e.Hash != ChainHash(e.Prev, canonical) {
			return Entry{}, invalid("hash", "hash is not that of the entry").hint("the file was changed after it was written")
		}
	}
	if e.ReceivedAt.After(now) {
		e.ReceivedAt = now
	}
	e.Seq, e.Prev, e.Hash = 0, "", ""
	if _, bad := Check(e, p, Filed, now); bad != nil {
		return Entry{}, bad
	}
	return e, nil
}

// values cuts a file into its entries: objects one after the other, on lines of
// their own or not, or the elements of one list. It looks only for where an
// object ends; whether it is good JSON is for DecodeEntry to tell.
type values struct {
	in     *bufio.Reader
	line   int // of what was read last
	list   bool
	closed bool
	count  int
	buf    []byte
}

func newValues(r io.Reader) *values {
	return &values{in: bufio.NewReaderSize(r, 1<<16), line: 1}
}

// next returns the bytes of the next entry, good until the next call, and the
// line on which it begins, or io.EOF.
func (v *values) next() (raw []byte, line int, err error) {
	comma := false
	for {
		b, err := v.in.ReadByte()
		if err == io.EOF {
			if v.list && !v.closed {
				err = invalid("", "file ends before its list does")
			}
			return nil, v.line, err
		}
		if err != nil {
			return nil, v.line, err
		}
		switch {
		case b == '\n':
			v.line++
		case b == ' ' || b == '\t' || b == '\r':
		case v.closed:
			return nil, v.line, invalid("", "something follows the list")
		case b == '[' && !v.list && v.count == 0:
			v.list = true
		case b == ']' && v.list && !comma:
			v.closed = true
		case b == ',' && v.list && v.count > 0 && !comma:
			comma = true
		case b == '{' && (!v.list || comma == (v.count > 0)):
			v.count++
			line = v.line
			raw, err := v.object()
			return raw, line, err
		default:
			return nil, v.line, invalid("", "%q stands where an entry should begin", rune(b))
		}
	}
}

// object reads on after an opening brace to the brace that closes it.
func (v *values) object() ([]byte, error) {
	v.buf = append(v.buf[:0], '{')
	text := false
	for depth := 1; depth > 0; {
		b, err := v.in.ReadByte()
		if err == io.EOF {
			return nil, invalid("", "file ends in the middle of an entry")
		}
		if err != nil {
			return nil, err
		}
		v.buf = append(v.buf, b)
		if len(v.buf) > MaxEntryBytes {
			return nil, invalid("", "entry has more than %d bytes", MaxEntryBytes)
		}
		switch {
		case b == '\n':
			v.line++
		case b == '"':
			text = !text
		case !text && b == '{':
			depth++
		case !text && b == '}':
			depth--
		case text && b == '\\':
			if b, err = v.in.ReadByte(); err == nil {
				v.buf = append(v.buf, b)
			}
		}
	}
	return v.buf, nil
}
