package farm

import (
	"encoding/json"
	"time"
)

// Entry is one record of the journal. It is never changed or deleted: a
// correction is a new entry that names the old one in Corrects.
//
// The maker of an entry gives it its ID, so that sending it twice writes once.
// The store adds Seq, ReceivedAt, Prev and Hash when it accepts the entry.
type Entry struct {
	ID       string          `json:"id"`                 // ULID given by the maker
	Site     string          `json:"site,omitempty"`     // site the entry speaks of
	Vessel   string          `json:"vessel,omitempty"`   // vessel the entry speaks of
	Kind     string          `json:"kind"`               // one of the closed list Kinds
	V        int             `json:"v"`                  // version of the body's form
	At       time.Time       `json:"at"`                 // when it happened
	NotedAt  time.Time       `json:"noted_at"`           // when it was written down
	By       string          `json:"by"`                 // who noted it
	Body     json.RawMessage `json:"body"`               // what was seen or done, keys with units
	Corrects string          `json:"corrects,omitempty"` // ULID of the entry that this one replaces
	Item     string          `json:"item,omitempty"`     // day list item that this act answers

	Seq        int64     `json:"seq,omitempty"`        // place in the chain, from 1
	ReceivedAt time.Time `json:"received_at,omitzero"` // when the store took it
	Prev       string    `json:"prev,omitempty"`       // hash of the entry before, hexadecimal
	Hash       string    `json:"hash,omitempty"`       // SHA-256 of Prev and the stored bytes, hexadecimal
}
