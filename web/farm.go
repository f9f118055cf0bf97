package web

import (
	"context"
	"io"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
)

// Farm is what the pages need from whoever keeps the farm. Errors that a person
// can be shown are *farm.Error; every other error is logged and shown as one
// calm sentence. Slices and maps that are returned belong to the keeper: they
// are read, never changed. All methods may be called at once.
type Farm interface {
	Lots
	Planner
	Instruments
	Builder
	Diagnoser
	Nursery
	// Today is the day list as of the moment at.
	Today(ctx context.Context, at time.Time) (keeper.Today, error)
	// Vessels are all vessels in use, in the order of the day list.
	Vessels(ctx context.Context, at time.Time) ([]keeper.Vessel, error)
	// Vessel is one vessel; farm.NotFound if there is none of that id.
	Vessel(ctx context.Context, id string, at time.Time) (keeper.Vessel, error)
	// Forecast is ten days of one vessel from at on, with its past.
	Forecast(ctx context.Context, id string, at time.Time) (keeper.Forecast, error)
	// History is what the charts of one vessel show beside the curves: readings
	// and acts from since on, in order of time.
	History(ctx context.Context, id string, since time.Time) (History, error)
	// Lineage is where a vessel's culture came from, the oldest first and the
	// vessel itself last; empty if nothing is recorded.
	Lineage(ctx context.Context, id string) ([]Ancestor, error)
	// Entries are entries of the journal as Ask says.
	Entries(ctx context.Context, ask Ask) (Page, error)
	// Entry is one entry by its ULID; farm.NotFound if there is none.
	Entry(ctx context.Context, id string) (farm.Entry, error)
	// Append writes entries down, all or none. An entry that is there already
	// with the same bytes is answered as it stands; with other bytes the error
	// is farm.Conflict. What is returned carries seq, received_at, prev, hash.
	Append(ctx context.Context, entries []farm.Entry, origin farm.Origin) ([]farm.Entry, error)
	// Setup is the farm as the journal describes it now.
	Setup(ctx context.Context) (Setup, error)
	// Bench is what the mixing bench needs as of at: recipes, waters, the shelf,
	// and of each vessel what is poured into it, fed to it and set right in it.
	// Without estimates the vessels carry only what is written down of them, and
	// the answer waits for no twin.
	Bench(ctx context.Context, at time.Time, estimates bool) (keeper.Bench, error)
	// Shelf is what stands on the shelf as of at, until when it lasts and what
	// it costs.
	Shelf(ctx context.Context, at time.Time) (keeper.Shelf, error)
	Photos
	// Proof reads the whole chain and says whether it holds.
	Proof(ctx context.Context) (Proof, error)
	// Export writes the whole journal as JSON lines.
	Export(ctx context.Context, w io.Writer) error
	// Import takes JSON lines, all or none.
	Import(ctx context.Context, r io.Reader) (Imported, error)
}

// History is what was read and done in one vessel.
type History struct {
	Readings []keeper.Reading `json:"readings"`
	Marks    []keeper.Mark    `json:"marks"`
}

// Ancestor is one vessel on the way of a culture.
type Ancestor struct {
	Vessel string    `json:"vessel"` // id; empty if it came from outside the farm
	Name   string    `json:"name"`
	At     time.Time `json:"at"` // when it was started there
	From   string    `json:"from,omitempty"`
	Litres float64   `json:"volume_l,omitempty"` // what was put in [L]; 0 if unknown
	Text   string    `json:"text,omitempty"`     // words that were noted with it
}

// Ask chooses entries of the journal.
type Ask struct {
	After  int64  // only those with a higher seq
	Before int64  // only those with a lower seq; 0: no bound
	Limit  int    // at most so many [1]
	Newest bool   // newest first; else oldest first
	Vessel string // only those that speak of this vessel
}

// Page is a part of the journal.
type Page struct {
	Entries []farm.Entry
	More    bool // there are more in the same direction

	// Corrected tells, for an entry of this page that a later one corrects or
	// takes back, the ULID of that later one.
	Corrected map[string]string
	// Doubts tells, by ULID, why an entry is not believed: a sentence ready to
	// be said. Entries that are believed are absent.
	Doubts map[string]keeper.Sentence
}

// Setup is the farm as it is described now.
type Setup struct {
	Site    farm.Site // the first site
	HasSite bool
	People  []farm.Person
	Vessels []farm.Vessel
	Recipes []farm.Recipe

	Instruments []farm.Instrument
	Head        int64 // seq of the last entry; 0: the journal is empty
}

// Proof is the outcome of reading the chain.
type Proof struct {
	Count  int64
	Hash   string // of the last entry
	Broken string // empty if the chain holds; else what does not, and where
}

// Imported says what an import did.
type Imported struct {
	New   int64 // entries that came in [1]
	Known int64 // entries that were here already [1]
}
