package farm

import "time"

// Vessel is a vessel as the journal describes it: the body of an entry of kind
// "vessel". A later entry of the same id describes it anew from its time on.
type Vessel struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Site string `json:"site,omitempty"` // from the entry

	Shape       Shape    `json:"shape"`
	FullLevelCM float64  `json:"full_level_cm,omitempty"` // the level it is kept at when full [cm]; 0 if not said
	Place       string   `json:"place,omitempty"`         // one of Places
	Cover       Cover    `json:"cover"`
	ShadePct    float64  `json:"shade_pct,omitempty"` // share of the light taken away by shade cloth [%]
	Stirring    Stirring `json:"stirring"`
	Material    string   `json:"material,omitempty"`  // one of Materials
	Use         string   `json:"use,omitempty"`       // one of Uses
	Food        bool     `json:"food"`                // false: nothing out of it is eaten
	Lit         string   `json:"lit,omitempty"`       // "top" or "side"
	InGround    *bool    `json:"in_ground,omitempty"` // nil: as the shape suggests
	Count       int      `json:"count,omitempty"`     // that many alike, told as one: a shelf of bottles
	MadeAt      string   `json:"made_at,omitempty"`   // local date, 2006-01-02
	Retired     bool     `json:"retired,omitempty"`   // no longer in use
	Text        string   `json:"text,omitempty"`

	Since time.Time `json:"since,omitzero"` // from when this description holds: the entry's time
}

// Cover is what stands over a vessel.
type Cover struct {
	Kind         string  `json:"kind"`                   // one of CoverKinds
	Transmission float64 `json:"transmission,omitempty"` // share of light that comes through [1]; 0 if not said
	Vents        string  `json:"vents,omitempty"`        // one of VentStates
}

// Stirring is how a vessel is stirred.
type Stirring struct {
	Kind        string  `json:"kind"`                    // one of StirringKinds
	TimesPerDay float64 `json:"times_per_day,omitempty"` // by hand [1/d]
}

// The closed lists of a vessel's description.
var (
	Places    = []string{"outdoors", "tunnel", "indoors"}
	Materials = []string{"liner", "plastic", "glass", "concrete", "steel", "stainless", "galvanised", "aluminium", "copper", "wood", "fibreglass", "clay", "other"}
	Uses      = []string{"grow", "starter", "reserve"}
	Lits      = []string{"top", "side"}
)

// Number returns how many vessels v stands for [1], at least 1.
func (v Vessel) Number() int { return max(v.Count, 1) }

// RimCM returns the highest level that one of the vessels can hold [cm], 0 if
// the shape is none.
func (v Vessel) RimCM() float64 {
	g, err := v.Shape.Geometry()
	if err != nil {
		return 0
	}
	return 100 * g.RimM()
}

// CapacityL returns what v holds up to the rim [L], all of its vessels
// together, 0 if the shape is none.
func (v Vessel) CapacityL() float64 {
	g, err := v.Shape.Geometry()
	if err != nil {
		return 0
	}
	return g.CapacityL() * float64(v.Number())
}

// reserved names stand for ends of a flow that are no vessels.
var reserved = []string{Source, Drain, Cloth, Outside, Made}

func (o *object) vessel() Vessel {
	v := Vessel{Food: true}
	v.ID = o.thing(&v.Name)
	for _, r := range reserved {
		if v.ID == r {
			o.fail("id", "%q stands for something else in a flow", v.ID)
		}
	}
	o.need("shape")
	if in := o.sub("shape"); in != nil {
		v.Shape = in.shape()
		o.shut(in)
	}
	v.FullLevelCM, _ = o.number("full_level_cm", above(0, 1000))
	if rim := v.RimCM(); v.FullLevelCM > rim*(1+1e-9) {
		o.fail("full_level_cm", "%s is above the rim at %s", shortNumber(v.FullLevelCM), shortNumber(rim))
	}
	v.Place = o.word("place", Places)
	v.Cover.Kind, v.Stirring.Kind = "none", "none"
	if in := o.sub("cover"); in != nil {
		in.need("kind")
		v.Cover.Kind = in.word("kind", CoverKinds)
		v.Cover.Transmission, _ = in.number("transmission", above(0, 1))
		v.Cover.Vents = in.word("vents", VentStates)
		o.shut(in)
	}
	v.ShadePct, _ = o.number("shade_pct", from(0, 100))
	if in := o.sub("stirring"); in != nil {
		in.need("kind")
		v.Stirring.Kind = in.word("kind", StirringKinds)
		v.Stirring.TimesPerDay, _ = in.number("times_per_day", from(0, 100))
		o.shut(in)
	}
	v.Material = o.word("material", Materials)
	v.Use = o.word("use", Uses)
	if food, given := o.flag("food"); given {
		v.Food = food
	}
	v.Lit = o.word("lit", Lits)
	if in, given := o.flag("in_ground"); given {
		v.InGround = &in
	}
	v.Count, _ = o.whole("count", from(1, 1000))
	v.MadeAt = o.date("made_at")
	v.Retired, _ = o.flag("retired")
	v.Text = o.text("text", 2000)
	return v
}

// thing takes the id that every described thing has, and its name, which is the
// id where none is given.
func (o *object) thing(name *string) string {
	o.need("id")
	id := o.ref("id")
	if *name = o.text("name", 100); *name == "" {
		*name = id
	}
	return id
}

// date takes a local date.
func (o *object) date(key string) string {
	s := o.text(key, 60)
	if s == "" {
		return ""
	}
	if _, err := time.Parse(time.DateOnly, s); err != nil {
		o.fail(key, "%q is not a date such as 2031-05-04", s)
		return ""
	}
	return s
}
