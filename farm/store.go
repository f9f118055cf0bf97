package farm

import (
	"context"
	"fmt"
	"iter"
)

// Head is the end of the chain: the place and the hash of the last entry. An
// empty journal has Seq 0 and an empty Hash.
type Head struct {
	Seq  int64  `json:"seq"`
	Hash string `json:"hash"`
}

// Store is the store that the farm needs: it keeps the journal, and beside it
// blobs that can be made anew. It knows nothing of what entries mean: callers
// Check them first. Every method may be called by several goroutines at once;
// several programs may use one journal where the store says so. A context that
// ends makes a method return its error; what was not acknowledged by then was
// not written.
//
// Entries given to a store are not kept hold of; what it returns is the
// caller's. Returned times are in UTC and whole milliseconds.
type Store interface {
	// Append adds entries at the end of the chain in their order: all of them,
	// or, with any error, none. When it returns without error they are on disk:
	// they survive the death of the program and of the machine. It returns the
	// entries as they stand in the journal, with Seq, ReceivedAt, Prev and Hash.
	//
	// An entry whose ID is there already and whose Canonical bytes are the same
	// is not written again: it is returned as it was accepted the first time.
	// With other bytes the whole call fails with an *Error of code Conflict on
	// field "id". An ID that stands twice in entries is treated likewise. An
	// ID that is no ULID, a body that is no JSON and a time without a
	// four-digit year give code Invalid.
	//
	// Seq, Prev and Hash of the argument are not looked at. ReceivedAt is kept if
	// it is set, as when a file is imported; callers that take entries from
	// strangers clear it. Otherwise it is the store's own clock.
	Append(ctx context.Context, entries []Entry) ([]Entry, error)

	// Load is Append for a stream, in one transaction: it takes entries until
	// they end, and returns how many were new. An error that comes with an entry
	// ends it, is returned as it is, and nothing is written. Other writers wait
	// meanwhile, so entries must not come from a slow line. entries must not use
	// the store.
	Load(ctx context.Context, entries iter.Seq2[Entry, error]) (added int, err error)

	// Entries gives the entries after place afterSeq in the order of the chain,
	// at most limit of them, all if limit is 0. It sees the journal as it was
	// when the iteration began. An error ends it, and comes with a zero Entry.
	// The loop's body may use the store.
	Entries(ctx context.Context, afterSeq int64, limit int) iter.Seq2[Entry, error]

	// Entry returns the entry of that identifier, or an *Error of code NotFound.
	Entry(ctx context.Context, id string) (Entry, error)

	// Head returns the end of the chain.
	Head(ctx context.Context) (Head, error)

	// Verify reads the whole journal and checks that the places count 1, 2, 3
	// without a gap and that each entry has the hash of its bytes and of the
	// entry before. It returns how many entries it found whole from the
	// beginning. A break is a *ChainError.
	Verify(ctx context.Context) (whole int64, err error)

	// Backup writes a copy of the journal, without the derived blobs if it
	// likes, into a new file at path, as it stands at one moment, while others
	// go on writing. The copy opens as a store. It is an error if path exists;
	// on any error nothing is left at path.
	Backup(ctx context.Context, path string) error

	// PutDerived keeps blob under key, in place of what was there. Derived
	// blobs (checkpoints, folded tables) can always be made anew from the
	// journal; they may be lost with the machine's power.
	PutDerived(ctx context.Context, key string, blob []byte) error

	// GetDerived returns the blob under key, or an *Error of code NotFound.
	GetDerived(ctx context.Context, key string) ([]byte, error)

	// DropDerived drops all blobs whose key begins with prefix, all for "", and
	// returns how many.
	DropDerived(ctx context.Context, prefix string) (dropped int, err error)

	// DerivedKeys returns the keys that begin with prefix in alphabetical order.
	DerivedKeys(ctx context.Context, prefix string) ([]string, error)

	// Close ends the use of the store. A second Close does nothing.
	Close() error
}

// ChainError says where a journal is no longer what was written.
type ChainError struct {
	Seq    int64  // first place that is wrong
	Reason string // what is wrong there
}

// Error names the place and the reason.
func (e *ChainError) Error() string {
	return fmt.Sprintf("journal at place %d: %s", e.Seq, e.Reason)
}

// Chain checks entries one after the other as they stand in a journal. The
// zero Chain stands before the first.
type Chain struct {
	Head Head // of what was checked so far
}

// Next checks that the entry at place seq, with these stored bytes and hashes,
// follows, and moves on to it. The error is a *ChainError.
func (c *Chain) Next(seq int64, canonical []byte, prev, hash string) error {
	at := c.Head.Seq + 1
	switch {
	case seq != at:
		return &ChainError{Seq: at, Reason: fmt.Sprintf("it is missing, the next is %d", seq)}
	case prev != c.Head.Hash:
		return &ChainError{Seq: at, Reason: "it does not name the hash of the entry before"}
	case hash != ChainHash(prev, canonical):
		return &ChainError{Seq: at, Reason: "its hash is not that of its bytes"}
	}
	c.Head = Head{Seq: seq, Hash: hash}
	return nil
}

// ConflictError returns the error of Append for an identifier that is there with other bytes.
func ConflictError(id string) *Error {
	return &Error{
		Code: Conflict, Field: "id", Message: "entry \"" + id + "\" is in the journal and says something else",
		Hint: "a change is a new entry that names this one in corrects",
	}
}
