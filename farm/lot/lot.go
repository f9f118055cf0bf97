package lot

import (
	"time"

	"sodalake/science/num"
	"sodalake/science/process"
)

// State is where a lot stands.
type State string

// The closed list of states. A lot of which nothing is left ends as what most
// of it became.
const (
	Running   State = "running"   // it is being worked
	OnHold    State = "on_hold"   // it waits for a person: see Holds, which is empty where nothing but a release is missing
	Released  State = "released"  // a person let it go out
	Rejected  State = "rejected"  // a person decided that it goes to nobody
	UsedUp    State = "used_up"   // eaten here, or made into other lots
	Sold      State = "sold"      //
	Given     State = "given"     //
	Destroyed State = "destroyed" // thrown away
)

// States is the closed list.
var States = []State{Running, OnHold, Released, Rejected, UsedUp, Sold, Given, Destroyed}

// Ended reports whether nothing is left of a lot in this state.
func (s State) Ended() bool { return s == UsedUp || s == Sold || s == Given || s == Destroyed }

// Said is a sentence as a key of the catalogue with its arguments; numbers carry
// their unit in their name.
type Said struct {
	Key  string         `json:"key"`
	Args map[string]any `json:"args,omitempty"`
}

func said(key string, pairs ...any) Said {
	s := Said{Key: key}
	for i := 0; i+1 < len(pairs); i += 2 {
		if s.Args == nil {
			s.Args = map[string]any{}
		}
		s.Args[pairs[i].(string)] = pairs[i+1]
	}
	return s
}

// Lot is a lot as it stood at a moment.
type Lot struct {
	ID       string        `json:"lot"`
	At       time.Time     `json:"at"`             // as of when
	Began    time.Time     `json:"began"`          // off the pond, or written down
	Born     time.Time     `json:"born"`           // of the oldest harvest in it
	Harvests []Harvest     `json:"harvests"`       // of which it was made, those of the lots it was made of among them
	From     []Part        `json:"from,omitempty"` // lots that went into it
	Into     []Part        `json:"into,omitempty"` // lots that were made of it
	NotFood  bool          `json:"not_food,omitempty"`
	Steps    []Step        `json:"steps,omitempty"`
	Where    process.Where `json:"where"`
	Form     process.Form  `json:"form"`
	Washed   bool          `json:"washed,omitempty"`
	Place    string        `json:"place,omitempty"`

	MassG     *float64  `json:"mass_g,omitempty"` // as last weighed; nil: never [g]
	LeftG     *float64  `json:"left_g,omitempty"` // of it, what is left; nil: not known [g]
	DryG      *float64  `json:"dry_g,omitempty"`  // dry matter in it, if a sample told [g]
	Packs     int       `json:"packs,omitempty"`  // that were packed
	PacksLeft int       `json:"packs_left,omitempty"`
	PackG     *float64  `json:"pack_g,omitempty"` // of one pack, on the average [g]
	PackedAt  time.Time `json:"packed_at,omitzero"`
	Outs      []Out     `json:"outs,omitempty"`

	State      State       `json:"state"`
	Why        string      `json:"why,omitempty"`   // a word on why it is not released, in English
	Holds      []Hold      `json:"holds,omitempty"` // those that stand, and those that a person ended
	Release    *Release    `json:"release,omitempty"`
	Rejection  *Decision   `json:"rejection,omitempty"`
	Checks     []Check     `json:"checks"`
	Lab        []Lab       `json:"lab,omitempty"`
	Clock      Clock       `json:"clock"`
	Deviations []Deviation `json:"deviations,omitempty"`
	Doubts     []Doubt     `json:"doubts,omitempty"`
	Keep       *Keep       `json:"keep,omitempty"`
	EndedAt    time.Time   `json:"ended_at,omitzero"`

	DryBand *num.Band           `json:"dry_expected_g,omitempty"` // dry matter in it, told or expected [g]
	Ahead   map[string]num.Band `json:"ahead_g,omitempty"`        // what it should weigh by stage, if all of it goes there [g]
	Next    []Said              `json:"next,omitempty"`
}

// Harvest is culture that became paste of this lot.
type Harvest struct {
	EntryID string    `json:"entry_id"`
	Vessel  string    `json:"vessel"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	VolumeL float64   `json:"volume_l,omitempty"` // through the cloth [L]
	MassG   float64   `json:"mass_g,omitempty"`   // of drained paste [g]
	Tools   []string  `json:"tools,omitempty"`
	fit     state
}

// Part is a share of one lot that went into another.
type Part struct {
	Lot     string    `json:"lot"`
	MassG   *float64  `json:"mass_g,omitempty"` // nil: not known [g]
	At      time.Time `json:"at"`
	EntryID string    `json:"entry_id"`
}

// Step is one thing done with it.
type Step struct {
	EntryID  string    `json:"entry_id"`
	Step     string    `json:"step"`
	At       time.Time `json:"at"`
	By       string    `json:"by"`
	MassG    *float64  `json:"mass_g,omitempty"` // [g]
	TempC    *float64  `json:"temp_c,omitempty"` // [°C]
	Tools    []string  `json:"tools,omitempty"`
	Expected *Expected `json:"expected,omitempty"` // mass that was to be expected; set where the lot is shown in full
}

// Way is how a part of a lot went.
type Way string

// The ways out.
const (
	WaySold      Way = "sold"
	WayGiven     Way = "given"
	WayUsed      Way = "used"
	WayDestroyed Way = "destroyed"
	WayMade      Way = "made" // into another lot
)

// Out is a part that left a lot.
type Out struct {
	EntryID string    `json:"entry_id"`
	Way     Way       `json:"way"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	Whom    string    `json:"whom,omitempty"`
	Into    string    `json:"into,omitempty"`   // a lot
	MassG   *float64  `json:"mass_g,omitempty"` // nil: not known [g]
	Packs   int       `json:"packs,omitempty"`
	All     bool      `json:"all,omitempty"`   // everything that was left
	Stray   bool      `json:"stray,omitempty"` // by the records there was nothing to go
}

// Hold is a reason why a lot waits for a person.
type Hold struct {
	Key     string    `json:"key"`                // vessel, person, clock, check, balance, parent
	EntryID string    `json:"entry_id,omitempty"` // what began it, by which a person ends it; "" where the lot's own state holds it
	Check   string    `json:"check,omitempty"`    // that failed
	Vessel  string    `json:"vessel,omitempty"`
	Reason  string    `json:"reason,omitempty"` // of a vessel's hold, one of farm.HoldReasons
	Text    string    `json:"text,omitempty"`
	Since   time.Time `json:"since"`
	By      string    `json:"by,omitempty"`
	EndedAt time.Time `json:"ended_at,omitzero"`
	EndedBy string    `json:"ended_by,omitempty"`
	Why     string    `json:"why,omitempty"`
}

// Stands reports whether nobody has ended it.
func (h *Hold) Stands() bool { return h.EndedAt.IsZero() }

// Decision is what a person decided, with the reason.
type Decision struct {
	EntryID string    `json:"entry_id"`
	At      time.Time `json:"at"`
	By      string    `json:"by"`
	Reason  string    `json:"reason"`
}

// Release is a person's decision to let a lot go out, and on what evidence.
type Release struct {
	Decision
	Evidence []Check `json:"evidence"` // every check as it stood then
}

// Check is how one check of a lot stands.
type Check struct {
	Key      string        `json:"check"`
	Required bool          `json:"required,omitempty"`
	State    process.State `json:"state"`
	Why      Said          `json:"why"`
	At       time.Time     `json:"at,omitzero"`
	By       string        `json:"by,omitempty"`
	Evidence []string      `json:"evidence,omitempty"` // entries
	Settled  bool          `json:"settled,omitempty"`  // it failed before; a deviation and a later result stand beside it
}

// Deviation is what went wrong, why, and what was done about it.
type Deviation struct {
	Decision
	Check string `json:"check"`
	Done  string `json:"done"`
}

// Clock is the sum of a lot's way through warmth and time.
type Clock struct {
	Tallies   []process.Tally    `json:"-"`
	Stages    []Stage            `json:"stages,omitempty"`
	Exposures []process.Exposure `json:"-"`
	Assumed   bool               `json:"assumed,omitempty"` // a temperature was not noted: the warm one was taken
	Stands    bool               `json:"stands,omitempty"`  // it is not running: the lot is dry, frozen or gone
	Warning   Said               `json:"warning,omitzero"`  // of the limit that comes next, or has passed
}

// Stage is a tally of one of the clock's limits as it is sent.
type Stage struct {
	Where   process.Where `json:"where"`
	SpentH  float64       `json:"spent_h"` // [h]
	PlanH   float64       `json:"plan_h"`  // [h]
	HoldH   float64       `json:"hold_h"`  // [h]
	Due     process.Due   `json:"due"`
	NextDue process.Due   `json:"next_due,omitempty"`
	NextAt  time.Time     `json:"next_at,omitzero"`
}

// Doubt is what speaks against an entry about a lot. Entries that cannot be as
// they are told are kept and have no effect, or hold the lot.
type Doubt struct {
	Key     string         `json:"key"`
	EntryID string         `json:"entry_id"`
	Field   string         `json:"field,omitempty"`
	Message string         `json:"message"`
	Hint    string         `json:"hint,omitempty"`
	Args    map[string]any `json:"args,omitempty"`
	denied  bool           // it is not this person's to do
}

// Keep is how long a lot keeps as it is kept.
type Keep struct {
	Form   process.Form `json:"form"`
	From   time.Time    `json:"from"`
	Days   num.Band     `json:"days"`    // [d]
	BestBy time.Time    `json:"best_by"` // the low end
	Likely time.Time    `json:"likely"`  // the middle
	SellBy time.Time    `json:"sell_by"` // for others no later
	TempC  float64      `json:"temp_c"`  // of where it stands [°C]
	Source string       `json:"source"`
}
