package advice

import (
	"time"

	"sodalake/farm"
)

// Class says what an item asks for.
type Class string

// The closed list of classes.
const (
	Do    Class = "do"    // do something
	Stop  Class = "stop"  // stop doing something
	Hold  Class = "hold"  // do not use, harvest or move until a person lifts it
	Doubt Class = "doubt" // do not believe a reading or an instrument yet
	Wait  Class = "wait"  // nothing yet; a band of dates says until when
)

// Urgency says how soon an item matters.
type Urgency string

// The closed list of urgencies.
const (
	Now   Urgency = "now"
	Today Urgency = "today"
	Soon  Urgency = "soon"
)

// Confidence says on how much an item stands.
type Confidence string

// The closed list of confidences.
const (
	Sure       Confidence = "sure"
	FairlySure Confidence = "fairly-sure"
	Thin       Confidence = "thin"
)

// Amount is how much, with its spread. Unit is a unit name such as "L", "g",
// "cm", "fields".
type Amount struct {
	Value float64 `json:"value"` // the amount to act on, in Unit
	Unit  string  `json:"unit"`  // the unit of Value, Low and High
	Low   float64 `json:"low"`   // low end of the sensible amounts, in Unit
	High  float64 `json:"high"`  // high end of the sensible amounts, in Unit
}

// Reason is a key of the catalogue and the numbers that the sentence needs.
// Argument names carry their unit ("density_g_per_l"); an argument is a
// number, a text or a time in RFC 3339.
type Reason struct {
	Key  string         `json:"key"`
	Args map[string]any `json:"args,omitempty"`
}

// Item is one line of the day list.
type Item struct {
	ID         string     `json:"id"` // stable while its cause lasts
	Vessel     string     `json:"vessel"`
	Act        string     `json:"act"` // what to do, from the closed list of acts of the day list
	Class      Class      `json:"class"`
	Urgency    Urgency    `json:"urgency"`
	Amount     *Amount    `json:"amount,omitempty"`
	Reason     Reason     `json:"reason"`
	Text       string     `json:"text,omitempty"` // made at the edge from key and args
	Confidence Confidence `json:"confidence"`
	Cautions   []string   `json:"cautions"` // keys of the catalogue; at the edge, sentences
	ValidUntil time.Time  `json:"valid_until"`

	// Record is the entry that records the item as done, ready but for its ID,
	// its maker and its times. It is nil where nothing can be recorded.
	Record *farm.Entry `json:"record,omitempty"`

	// More carries the further sentences behind the item, in the order How
	// much, How sure, What would change it.
	More []Reason `json:"more,omitempty"`
}
