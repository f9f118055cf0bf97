package farm

// Ends of a flow that are no vessels. No vessel can bear these names.
const (
	Source  = "source"  // plain water
	Made    = "medium"  // new medium; Flow.Medium says what it was made of
	Outside = "outside" // culture from, or to, somebody else
	Cloth   = "cloth"   // onto the cloth, or what ran through it
	Drain   = "drain"   // thrown away, or lost
)

// Flow is water or culture that moved from one place to another, in one act.
// Every act folds to flows; an act that moved no water folds to none.
type Flow struct {
	From    string     `json:"from"`               // a vessel or one of Source, Made, Outside, Cloth
	To      string     `json:"to"`                 // a vessel or one of Drain, Cloth, Outside
	VolumeL float64    `json:"volume_l,omitempty"` // [L]; 0 if the act did not say, see All and ToCM
	All     bool       `json:"all,omitempty"`      // everything that From held
	ToCM    float64    `json:"to_cm,omitempty"`    // until the level in the vessel stood at this [cm]
	What    string     `json:"what"`               // "water", "medium", "culture" or "filtrate"
	Medium  *MediumMix `json:"medium,omitempty"`   // what new medium was made of, if it was said
	Water   string     `json:"water_id,omitempty"` // which source water, if it was said
	EntryID string     `json:"entry_id"`           // the act
}

// What flows.
const (
	IsWater    = "water"
	IsMedium   = "medium"
	IsCulture  = "culture"
	IsFiltrate = "filtrate"
)

// flowsOf returns the flows of an act of kind k on vessel. Density of what came
// from outside stands in the body, not in the flow.
func flowsOf(k *Kind, id, vessel string, b Body) []Flow {
	volume, _ := b.Number("volume_l")
	all, _ := b.Yes("all")
	level, _ := b.Number("level_after_cm")
	culture := func(from, to string) Flow {
		return Flow{From: from, To: to, VolumeL: volume, All: all, What: IsCulture, EntryID: id}
	}
	// in is water or new medium into the vessel.
	in := func(with string, volumeL float64) Flow {
		f := Flow{From: Source, To: vessel, VolumeL: volumeL, What: IsWater, Water: b.Text("water"), EntryID: id}
		if with == IsMedium {
			f.From, f.What, f.Medium = Made, IsMedium, b.Medium()
		}
		return f
	}
	switch k.Name {
	case "inoculated":
		from := b.Text("from")
		if from == "" {
			from = Outside
		}
		return []Flow{culture(from, vessel)}
	case "split":
		return []Flow{culture(vessel, b.Text("to"))}
	case "moved":
		f := culture(vessel, b.Text("to"))
		f.All = volume == 0
		return []Flow{f}
	case "mixed":
		if vessel == "" {
			return nil // it stands ready as the batch of this entry
		}
		return []Flow{in(IsMedium, volume)}
	case "topped_up":
		f := in(b.Text("with"), volume)
		if volume == 0 {
			f.ToCM = level
		}
		return []Flow{f}
	case "fed", "dosed":
		if v, _ := b.Number("dissolved_in_l"); v > 0 {
			return []Flow{in(IsWater, v)}
		}
	case "harvested":
		if volume == 0 {
			return nil
		}
		out := culture(vessel, Cloth)
		if b.Text("filtrate_to") == "drain" {
			return []Flow{out}
		}
		// What is not paste ran back. Paste weighs about as much as water:
		// 1 g/mL, common practice, no source.
		paste, _ := b.Number("mass_g")
		back := Flow{From: Cloth, To: vessel, VolumeL: max(volume-paste/1000, 0), What: IsFiltrate, EntryID: id}
		if back.VolumeL == 0 {
			return []Flow{out}
		}
		return []Flow{out, back}
	case "purged":
		flows := []Flow{culture(vessel, Drain)}
		if v, _ := b.Number("refill_l"); v > 0 {
			flows = append(flows, in(b.Text("with"), v))
		}
		return flows
	case "drew_off":
		to := b.Text("to")
		if to == "" {
			to = Drain
		}
		return []Flow{culture(vessel, to)}
	case "discarded":
		if vessel != "" && (volume > 0 || all) {
			return []Flow{culture(vessel, Drain)}
		}
	case "sold", "gave":
		if vessel != "" && volume > 0 {
			return []Flow{culture(vessel, Outside)}
		}
	case "event":
		if e := b.Text("event"); vessel != "" && volume > 0 && (e == "leak" || e == "overflow") {
			return []Flow{culture(vessel, Drain)}
		}
	}
	return nil
}
