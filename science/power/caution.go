package power

// Where says when a caution is due.
type Where uint8

// When a caution is due.
const (
	Water   Where = 1 << iota // anything electric near water
	Mains                     // mains voltage
	Store                     // any battery
	Lead                      // lead-acid
	Lithium                   // lithium iron phosphate
	Sun                       // panels
	Pumps                     // pumps and moving parts
)

// Caution is one line of warning. Key is its name for translation.
type Caution struct {
	Key  string
	At   Where
	Text string
}

// Cautions are the usual ones. They replace neither local code nor a licensed
// electrician.
//
// Source: common practice, no source, but for the 30 mA of a residual-current
// device, which is that of IEC 60364-4-41, from memory.
var Cautions = []Caution{
	{"power.local_code", Water | Mains, "Local code decides what may be wired near water; fixed wiring is work for a licensed electrician."},
	{"power.extra_low", Water, "Near a pond use extra-low voltage (12 or 24 V) wherever it does the job."},
	{"power.residual", Mains, "Anything on mains near water hangs on a residual-current device of 30 mA, tested monthly; plugs and adapters stand dry and above the water."},
	{"power.unplug", Mains | Pumps, "Unplug before reaching into the water or into a pump."},
	{"power.fuse", Store, "A fuse sits at the battery itself: a short circuit of a small battery melts a wrench and starts fires."},
	{"power.hydrogen", Lead, "Lead-acid gives off hydrogen while it charges: open air, no sparks, no flames; goggles near the acid."},
	{"power.lithium_cold", Lithium, "Lithium iron phosphate is not charged below 0 °C: its own electronics must stop that."},
	{"power.right_charger", Store, "Charger and controller must be made for this kind of battery."},
	{"power.live_by_day", Sun, "A panel is live whenever it is light: cover it before touching its wires, and never pull a plug under load."},
	{"power.wind", Sun, "A panel is a sail: tie it down."},
	{"power.guard", Pumps, "Paddles, belts and intakes need guards, for fingers, hair and children."},
	{"power.silent_stop", Pumps, "A pump that stops says nothing: look at the water's movement every day."},
}

// For returns the cautions that are due at any of the places.
func For(at Where) []Caution {
	var out []Caution
	for _, c := range Cautions {
		if c.At&at != 0 {
			out = append(out, c)
		}
	}
	return out
}
