package farm

import (
	"slices"
	"strings"
)

// Group says to which part of the journal a kind belongs.
type Group string

// The closed list of groups.
const (
	GroupReading Group = "reading" // something was seen or measured
	GroupAct     Group = "act"     // something was done, or happened
	GroupSetup   Group = "setup"   // something of the farm is described
	GroupBatch   Group = "batch"   // many samples of weather or of a sensor
	GroupLot     Group = "lot"     // something about a harvest lot
	GroupUndo    Group = "undo"    // an entry is taken back
)

// Place says whether an entry of a kind speaks of a vessel.
type Place string

// The closed list of places.
const (
	OfVessel   Place = "vessel"    // it must name a vessel
	MaybeOf    Place = "maybe"     // it may
	OfNoVessel Place = "no_vessel" // it must not
)

// Kind is one of the closed list of what can be noted.
type Kind struct {
	Name    string   `json:"name"`              // as it stands in the journal: a single word or snake_case
	Group   Group    `json:"group"`             //
	Place   Place    `json:"place"`             //
	What    string   `json:"what"`              // one sentence
	Aliases []string `json:"aliases,omitempty"` // what a person may type for it
	Main    []string `json:"main,omitempty"`    // at least one of these keys stands in the body
	Need    []string `json:"need,omitempty"`    // all of these stand in the body
	May     []string `json:"may,omitempty"`     // these may stand in the body; "text" may in every reading, act and lot
}

func reading(name, what string, main ...string) Kind {
	return Kind{Name: name, Group: GroupReading, Place: OfVessel, What: what, Main: main}
}

func act(name, what string, need string, may string) Kind {
	return Kind{Name: name, Group: GroupAct, Place: OfVessel, What: what, Need: strings.Fields(need), May: strings.Fields(may)}
}

func setup(name, what string) Kind {
	return Kind{Name: name, Group: GroupSetup, Place: OfNoVessel, What: what}
}

func (k Kind) of(p Place) Kind           { k.Place = p; return k }
func (k Kind) or(aliases ...string) Kind { k.Aliases = aliases; return k }
func (k Kind) main(keys ...string) Kind  { k.Main = keys; return k }
func (k Kind) in(g Group) Kind           { k.Group = g; return k }

// kinds is the closed list. A kind is never removed or renamed; a body that
// changes its meaning is a new version of the kind.
var kinds = []Kind{
	reading("reading", "several values at once").or("readings").of(MaybeOf),
	reading("secchi", "the disc was lost from sight", "secchi_cm").or("disc", "secchi disc", "stick"),
	reading("filtrate_secchi", "the disc in culture that ran through the cloth", "filtrate_secchi_cm").or("filtrate disc"),
	reading("optical_density", "a photometer was read", "od_560", "od_680", "od_750").or("od", "absorbance"),
	reading("dry_weight", "a sample was filtered, dried and weighed", "dry_weight_g_per_l").or("dw", "dry matter"),
	reading("ph", "the pH was read", "ph").or("acidity"),
	reading("temperature", "a thermometer was read", "temp_c", "air_temp_c").or("temp", "t", "°c", "celsius"),
	reading("level", "the depth of the water was read", "level_cm").or("depth"),
	reading("conductivity", "a conductivity meter was read", "conductivity_ms_per_cm").or("ec", "cond"),
	reading("nitrate", "nitrate was measured", "nitrate_mg_per_l", "nitrate_n_mg_per_l").or("no3"),
	reading("ammonia", "ammonia was measured", "ammonia_mg_per_l", "ammonia_n_mg_per_l").or("ammonium", "nh3", "nh4"),
	reading("phosphate", "phosphate was measured", "phosphate_mg_per_l", "phosphate_p_mg_per_l").or("po4"),
	reading("chlorine_free", "free chlorine was measured", "chlorine_free_mg_per_l").or("free chlorine", "chlorine").of(MaybeOf),
	reading("chlorine_total", "total chlorine was measured", "chlorine_total_mg_per_l").or("total chlorine").of(MaybeOf),
	reading("hardness", "hardness or alkalinity was measured", "hardness_mg_per_l", "alkalinity_meq_per_l").of(MaybeOf),
	reading("oxygen", "dissolved oxygen was measured", "oxygen_mg_per_l", "oxygen_pct").or("do", "dissolved oxygen"),
	reading("light", "light was measured", "par_umol_m2_s", "light_lux", "ghi_w_m2").or("par").of(MaybeOf),
	reading("smell", "somebody smelled at it", "smell"),
	reading("colour", "somebody looked at its colour", "colour").or("color"),
	reading("foam", "somebody looked for foam", "foam"),
	reading("clumps", "somebody looked for clumps", "clumps").or("lumps"),
	reading("filtrate", "somebody looked at what ran through the cloth", "filtrate").or("run-off", "run off"),
	reading("animals", "somebody looked for animals", "animals").or("insects"),
	reading("microscope", "a drop was looked at under the microscope", "filaments_seen", "foreign_seen", "text").or("look", "micro"),
	reading("rain", "the rain gauge was read", "rain_mm").of(MaybeOf),
	reading("photo", "a photo was taken", "photo_sha256").or("picture").of(MaybeOf),
	reading("note", "free words", "text").or("words", "remark").of(MaybeOf),

	act("inoculated", "culture was put in that came from elsewhere, or stood here when the records began", "volume_l", "from density_g_per_l level_after_cm strain medium").or("inoculate", "seeded", "started"),
	act("split", "a part was taken to another vessel", "to volume_l", "level_after_cm").or("divided"),
	act("moved", "all of it, or a part, was moved to another vessel", "to", "volume_l all").or("move"),
	act("mixed", "medium was mixed, in the vessel or, without one, to stand ready", "volume_l medium", "water salts_g supplies_g level_after_cm what").or("mix").of(MaybeOf),
	act("topped_up", "water or medium was added", "with", "volume_l level_after_cm medium water supplies_g").or("topped up", "top up", "top-up", "topup").main("volume_l", "level_after_cm"),
	act("fed", "nutrients were added", "", "salts_g ready_mix ready_mix_g supplies_g dissolved_in_l").or("feed").main("salts_g", "ready_mix"),
	act("dosed", "something was added to set the water right", "", "salts_g co2_g supplies_g dissolved_in_l reason").or("dose").main("salts_g", "co2_g"),
	act("harvested", "culture was run through the cloth", "", "volume_l mass_g dry_g left_g_per_l level_after_cm filtrate_to for_food lot tools temp_c minutes fit").or("harvest").main("volume_l", "mass_g"),
	act("purged", "medium was drawn off to be replaced", "volume_l", "refill_l with medium water supplies_g level_after_cm reason").or("purge", "bled"),
	act("drew_off", "some was drawn off", "volume_l", "to level_after_cm reason").or("drew off", "draw off"),
	act("shaded", "the shade was changed", "shade_pct", "").or("shade", "unshaded"),
	act("covered", "the cover was changed", "cover", "vents").or("cover", "uncovered"),
	act("vented", "the vents were changed", "vents", "").or("vent", "vents"),
	act("stirred", "it was stirred, or is stirred otherwise from now on", "", "minutes stirring times_per_day").or("stir"),
	act("heated", "the heater was changed", "", "heater_w target_c on minutes").or("heat", "heater").main("heater_w", "on", "target_c"),
	act("cleaned", "something was cleaned", "", "what result tools").or("clean").of(MaybeOf),
	act("repaired", "something was repaired", "", "what leak").or("repair", "fixed").of(MaybeOf),
	act("checked", "an instrument was checked", "instrument result", "expected read slope_pct temp_c what").or("check", "calibrated").of(MaybeOf),
	act("quarantined", "it is kept apart: a hold on moving and eating begins", "reason", "").or("quarantine"),
	act("discarded", "culture, a lot or a part of it was thrown away", "", "volume_l all mass_g packs lot reason").or("discard", "dumped", "emptied").main("volume_l", "all", "mass_g", "lot").of(MaybeOf),
	act("packed", "a lot was packed", "lot", "packs mass_g tools place").or("pack").of(OfNoVessel),
	act("sold", "product or living culture was sold", "", "lot mass_g packs volume_l whom price").or("sell", "sale").main("lot", "volume_l").of(MaybeOf),
	act("gave", "product or living culture was given away", "", "lot mass_g packs volume_l whom").or("gift", "given", "give").main("lot", "volume_l").of(MaybeOf),
	act("used", "product was eaten or used up here", "lot", "mass_g packs whom what").or("use", "ate", "eaten").of(OfNoVessel),
	act("event", "something happened from outside", "event", "volume_l").of(MaybeOf),
	act("held", "a person puts a vessel or a lot on hold", "reason", "lot").or("hold").of(MaybeOf),
	act("released", "a person ends a hold, or lets a lot go out, with the reason", "reason", "hold lot what").main("hold", "lot").or("release").of(MaybeOf),
	act("rejected", "a person decides that a lot goes to nobody", "lot reason", "what").or("reject").of(OfNoVessel),
	act("recalled", "a lot was called back from those who have it, or that was practised", "lot reason", "mass_g mock what").or("recall").of(OfNoVessel),

	act("lot", "a harvest lot, or a blend of lots", "lot", "from_lots from_g mass_g for_food tools place what").of(OfNoVessel).in(GroupLot),
	act("lot_step", "a step of a lot on its way from cloth to jar", "lot step", "mass_g dry_g temp_c humidity_pct packs tools place what").of(OfNoVessel).in(GroupLot),
	act("lot_check", "a check of a lot", "lot check", "outcome found water_activity moisture_pct analyte laboratory what reason").main("outcome", "found", "water_activity", "moisture_pct").of(OfNoVessel).in(GroupLot),
	act("lot_deviation", "what went wrong with a lot, why, and what was done about it", "lot check reason what", "").of(OfNoVessel).in(GroupLot),

	setup("site", "a place with its sky, its zone and its measures"),
	setup("vessel", "a vessel: its shape, where and how it stands"),
	setup("recipe", "a medium or a feed, per litre"),
	setup("instrument", "something to measure with"),
	setup("person", "somebody who works here"),
	setup("water", "a source water with its analysis"),
	setup("supply", "a lot of a salt on the shelf"),
	setup("tool", "a cloth, a press, a tray: what touches the product, and how it is cleaned"),
	setup("setting", "a choice of the farm"),

	{Name: "weather", Group: GroupBatch, Place: OfNoVessel, What: "hours or days of weather, measured or forecast"},
	{Name: "sensor", Group: GroupBatch, Place: MaybeOf, What: "samples of one sensor"},

	{Name: "withdrawn", Group: GroupUndo, Place: MaybeOf, What: "the entry named in corrects is taken back, nothing stands in its place", May: []string{"reason"}, Aliases: []string{"undo", "withdraw"}},
}

var (
	kindByName  = map[string]*Kind{}
	kindByAlias = map[string]*Kind{}
	// fieldOf holds a field by the group of its kinds and its key: temp_c is
	// water in a reading and the dryer's air in a lot's step.
	readingField = index(readingFields, commonFields)
	actField     = index(actFields)
)

func init() {
	for i := range kinds {
		k := &kinds[i]
		kindByName[k.Name] = k
		for _, a := range append([]string{k.Name, strings.ReplaceAll(k.Name, "_", " ")}, k.Aliases...) {
			if other, twice := kindByAlias[a]; twice && other != k {
				panic("farm: " + a + " means " + other.Name + " and " + k.Name)
			}
			kindByAlias[a] = k
		}
		for _, key := range slices.Concat(k.Main, k.Need, k.May) {
			if k.field(key) == nil {
				panic("farm: kind " + k.Name + " has no field " + key)
			}
		}
	}
}

func index(lists ...[]Field) map[string]*Field {
	m := map[string]*Field{}
	for _, l := range lists {
		for i := range l {
			m[l[i].Key] = &l[i]
		}
	}
	return m
}

// Kinds returns the closed list of kinds in the order of the handbook. The
// caller owns the slice, not what the entries point to.
func Kinds() []Kind { return slices.Clone(kinds) }

// KindNamed returns the kind of that name, or nil. Names are exact: aliases are
// for people, see ParseKind.
func KindNamed(name string) *Kind { return kindByName[name] }

// ParseKind returns the kind that a person means: a name, a name with spaces
// or one of its aliases, in upper or lower case.
func ParseKind(said string) (*Kind, *Error) {
	s := strings.ToLower(strings.Join(strings.Fields(said), " "))
	if k, ok := kindByAlias[s]; ok {
		return k, nil
	}
	e := invalid("kind", "kind %q is none that can be noted", clip(said))
	if near := nearest(s, sortedKeys(kindByAlias)); near != "" {
		return nil, e.hint("there is %s", near)
	}
	return nil, e.hint("there are %s", strings.Join(kindNames(GroupReading, GroupAct), ", "))
}

func kindNames(groups ...Group) []string {
	var names []string
	for _, k := range kinds {
		if slices.Contains(groups, k.Group) {
			names = append(names, k.Name)
		}
	}
	return names
}

// Fields returns the fields that a body of this kind may hold, its own first.
// Kinds of the groups setup and batch have bodies of their own form and return
// nil: see Vessel, Site, Recipe, Instrument, Person, Water, Supply, Setting and
// Batch.
func (k *Kind) Fields() []Field {
	var keys []string
	switch k.Group {
	case GroupReading:
		keys = slices.Clone(k.Main)
		for _, f := range slices.Concat(readingFields, commonFields) {
			if !slices.Contains(keys, f.Key) {
				keys = append(keys, f.Key)
			}
		}
	case GroupAct, GroupLot, GroupUndo:
		for _, key := range slices.Concat(k.Need, k.Main, k.May, []string{"text"}) {
			if !slices.Contains(keys, key) {
				keys = append(keys, key)
			}
		}
	}
	fields := make([]Field, len(keys))
	for i, key := range keys {
		fields[i] = *k.field(key)
	}
	return fields
}

// field returns the field of that key as this kind means it, or nil.
func (k *Kind) field(key string) *Field {
	if k.Group == GroupReading {
		return readingField[key]
	}
	return actField[key]
}

// ReadingKey returns the field of a value that can be read, such as
// "secchi_cm", or nil.
func ReadingKey(key string) *Field {
	if i := slices.IndexFunc(readingFields, func(f Field) bool { return f.Key == key }); i >= 0 {
		return &readingFields[i]
	}
	return nil
}
