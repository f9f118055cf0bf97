package farm

import (
	"bytes"
	"encoding/json"
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

// values reads JSON values one after the other, or the elements of one list,
// and knows on which line each begins. It holds no more than a few times the
// largest value in memory.
type values struct {
	dec    *json.Decoder
	in     *counted
	list   bool
	begun  bool
	closed bool
}

func newValues(r io.Reader) *values {
	in := &counted{r: r, line: 1}
	return &values{dec: json.NewDecoder(in), in: in}
}

// next returns the next value and its line, or io.EOF.
func (v *values) next() (json.RawMessage, int, error) {
	if !v.begun {
		v.begun = true
		first, err := v.in.peek()
		if err != nil {
			return nil, 1, err
		}
		if first == '[' {
			v.list = true
			if _, err := v.dec.Token(); err != nil {
				return nil, 1, v.broken(err)
			}
		}
	}
	v.in.limit = v.dec.InputOffset() + 4*MaxEntryBytes // the decoder reads ahead
	if v.list && !v.closed && !v.dec.More() {
		v.closed = true
		if _, err := v.dec.Token(); err != nil {
			return nil, v.in.lineOf(v.dec.InputOffset()), v.broken(err)
		}
	}
	var raw json.RawMessage
	err := v.dec.Decode(&raw)
	if err == io.EOF && (!v.list || v.closed) {
		return nil, 0, io.EOF
	}
	if err != nil {
		return nil, v.in.lineOf(v.dec.InputOffset()), v.broken(err)
	}
	line := v.in.lineOf(v.dec.InputOffset() - int64(len(raw)))
	if len(raw) > MaxEntryBytes {
		return nil, line, invalid("", "entry has %d bytes, more than %d", len(raw), MaxEntryBytes)
	}
	if v.closed {
		return nil, line, invalid("", "something follows the list")
	}
	return raw, line, nil
}

// broken returns the error for JSON that cannot be read on; an error of the
// reader itself comes back as it is.
func (v *values) broken(err error) error {
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) || err == io.EOF || err == io.ErrUnexpectedEOF {
		return invalid("", "file is not good JSON: %s", err)
	}
	return err
}

// counted counts lines as they are read and stops a value that never ends.
type counted struct {
	r      io.Reader
	at     int64   // bytes read
	limit  int64   // offset at which the value has grown too long
	ends   []int64 // offsets just after the line ends from line on
	line   int     // line at which ends begins
	peeked []byte
}

func (c *counted) Read(b []byte) (int, error) {
	if len(c.peeked) > 0 {
		n := copy(b, c.peeked)
		c.peeked = c.peeked[n:]
		return n, nil
	}
	if c.limit > 0 && c.at > c.limit {
		return 0, invalid("", "entry has more than %d bytes", MaxEntryBytes)
	}
	n, err := c.r.Read(b)
	c.note(b[:n])
	return n, err
}

func (c *counted) note(b []byte) {
	for from := 0; ; {
		i := bytes.IndexByte(b[from:], '\n')
		if i < 0 {
			break
		}
		from += i + 1
		c.ends = append(c.ends, c.at+int64(from))
	}
	c.at += int64(len(b))
}

// peek returns the first byte that is no white space and leaves it to be read.
func (c *counted) peek() (byte, error) {
	one := make([]byte, 1)
	for {
		if _, err := io.ReadFull(c.r, one); err != nil {
			return 0, err
		}
		c.note(one)
		c.peeked = append(c.peeked, one[0])
		switch one[0] {
		case ' ', '\t', '\r', '\n':
			if len(c.peeked) > 4096 {
				return 0, invalid("", "file begins with more than 4096 blanks")
			}
			continue
		}
		return one[0], nil
	}
}

// lineOf returns the line of offset, which never goes back.
func (c *counted) lineOf(offset int64) int {
	n := 0
	for n < len(c.ends) && c.ends[n] <= offset {
		n++
	}
	c.line += n
	c.ends = c.ends[n:]
	return c.line
}
