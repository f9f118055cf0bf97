package farm

import (
	"fmt"

	"sodalake/science/assay"
)

// Form is how a field of a body is written.
type Form string

// The closed list of forms.
const (
	FormNumber  Form = "number"  // a number in the field's unit
	FormWhole   Form = "whole"   // a whole number
	FormWord    Form = "word"    // one of the field's words
	FormWords   Form = "words"   // a list of the field's words
	FormText    Form = "text"    // free words, at most 2000 bytes
	FormYes     Form = "yes"     // true or false
	FormName    Form = "name"    // the name of a thing: a vessel, an instrument, a lot
	FormID      Form = "id"      // the ULID of an entry
	FormTime    Form = "time"    // RFC 3339 with offset
	FormAmounts Form = "amounts" // numbers in the field's unit by the name of a salt
	FormByKey   Form = "by_key"  // texts by the key of a reading
	FormMedium  Form = "medium"  // {"recipe":NAME} or {"salts_g_per_l":{...}}, both with "batch":ID if it was mixed before
	FormDigest  Form = "digest"  // SHA-256 in 64 hexadecimal digits
)

// Span is the range of a number, in the unit of the field it belongs to.
type Span struct {
	Lo    float64 `json:"lo"`              // low end, in the field's unit
	Hi    float64 `json:"hi"`              // high end, in the field's unit
	Above bool    `json:"above,omitempty"` // the low end itself does not belong to it
}

// Holds reports whether v, in the unit of the span, lies in it. NaN does not.
func (s Span) Holds(v float64) bool {
	return v <= s.Hi && (v > s.Lo || !s.Above && v >= s.Lo)
}

// String writes the span for a message.
func (s Span) String() string {
	if s.Above {
		return fmt.Sprintf("above %s to %s", shortNumber(s.Lo), shortNumber(s.Hi))
	}
	return fmt.Sprintf("%s to %s", shortNumber(s.Lo), shortNumber(s.Hi))
}

func from(lo, hi float64) Span  { return Span{Lo: lo, Hi: hi} }
func above(lo, hi float64) Span { return Span{Lo: lo, Hi: hi, Above: true} }

// Field is one key that the body of a reading or an act can hold. The unit is
// part of the key and of the meaning for good: a quantity in another unit is
// another key.
//
// A number outside Hard is refused: it cannot have been meant. Outside Likely
// it is kept with a doubt: a slip of the finger is likelier than a pond like
// that. All spans are common practice, no source; they guard against slips
// and say nothing about what is good for a culture.
type Field struct {
	Key    string   `json:"key"`
	Form   Form     `json:"form"`
	Unit   string   `json:"unit,omitempty"` // as a person writes it; "" for a pure number
	What   string   `json:"what"`           // what it is
	Hard   Span     `json:"hard,omitzero"`
	Likely Span     `json:"likely,omitzero"`
	Words  []string `json:"words,omitempty"`
}

// readingFields are the values of readings. Any kind of reading may hold any of
// them beside its own: a pH is often read with the temperature.
var readingFields = []Field{
	{Key: "secchi_cm", Form: FormNumber, Unit: "cm", What: "depth at which the disc is lost from sight", Hard: above(0, 300), Likely: from(0.5, 40)},
	{Key: "filtrate_secchi_cm", Form: FormNumber, Unit: "cm", What: "the same in culture that ran through the cloth", Hard: above(0, 300), Likely: from(1, 200)},
	{Key: "od_560", Form: FormNumber, What: "optical density of 1 cm at 560 nm, of the culture undiluted", Hard: from(0, 20), Likely: from(0, 4)},
	{Key: "od_680", Form: FormNumber, What: "optical density of 1 cm at 680 nm, of the culture undiluted", Hard: from(0, 20), Likely: from(0, 4)},
	{Key: "od_750", Form: FormNumber, What: "optical density of 1 cm at 750 nm, of the culture undiluted", Hard: from(0, 20), Likely: from(0, 4)},
	{Key: "dry_weight_g_per_l", Form: FormNumber, Unit: "g/L", What: "dry matter in the culture, salts rinsed off", Hard: from(0, 50), Likely: from(0.01, 5)},
	{Key: "ph", Form: FormNumber, What: "pH at the water's temperature", Hard: from(0, 14), Likely: from(7, 11.8)},
	{Key: "temp_c", Form: FormNumber, Unit: "°C", What: "temperature of the water", Hard: from(-5, 80), Likely: from(0, 45)},
	{Key: "air_temp_c", Form: FormNumber, Unit: "°C", What: "temperature of the air beside the vessel", Hard: from(-60, 80), Likely: from(-30, 60)},
	{Key: "level_cm", Form: FormNumber, Unit: "cm", What: "depth of the water", Hard: from(0, 1000), Likely: from(1, 200)},
	{Key: "conductivity_ms_per_cm", Form: FormNumber, Unit: "mS/cm", What: "conductivity as the meter shows it, brought to 25 °C", Hard: from(0, 300), Likely: from(0.02, 80)},
	{Key: "nitrate_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "nitrate as NO3", Hard: from(0, 50000), Likely: from(0, 5000)},
	{Key: "nitrate_n_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "nitrate as nitrogen", Hard: from(0, 12000), Likely: from(0, 1200)},
	{Key: "ammonia_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "ammonia and ammonium together as NH4", Hard: from(0, 5000), Likely: from(0, 150)},
	{Key: "ammonia_n_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "ammonia and ammonium together as nitrogen", Hard: from(0, 4000), Likely: from(0, 120)},
	{Key: "phosphate_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "phosphate as PO4", Hard: from(0, 20000), Likely: from(0, 1000)},
	{Key: "phosphate_p_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "phosphate as phosphorus", Hard: from(0, 7000), Likely: from(0, 330)},
	{Key: "chlorine_free_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "free chlorine as Cl2", Hard: from(0, 500), Likely: from(0, 10)},
	{Key: "chlorine_total_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "free and bound chlorine as Cl2", Hard: from(0, 500), Likely: from(0, 10)},
	{Key: "hardness_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "calcium and magnesium as CaCO3", Hard: from(0, 20000), Likely: from(0, 800)},
	{Key: "alkalinity_meq_per_l", Form: FormNumber, Unit: "meq/L", What: "acid taken up down to pH 4.5", Hard: from(0, 3000), Likely: from(0, 600)},
	{Key: "oxygen_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "dissolved oxygen", Hard: from(0, 150), Likely: from(0, 45)},
	{Key: "oxygen_pct", Form: FormNumber, Unit: "%", What: "dissolved oxygen of what air would give", Hard: from(0, 1500), Likely: from(0, 500)},
	{Key: "par_umol_m2_s", Form: FormNumber, Unit: "µmol/m²/s", What: "light that plants use, on a level plane", Hard: from(0, 4000), Likely: from(0, 2400)},
	{Key: "light_lux", Form: FormNumber, Unit: "lx", What: "light as the eye sees it", Hard: from(0, 250000), Likely: from(0, 130000)},
	{Key: "ghi_w_m2", Form: FormNumber, Unit: "W/m²", What: "sun and sky on a level plane", Hard: from(0, 1800), Likely: from(0, 1300)},
	{Key: "rain_mm", Form: FormNumber, Unit: "mm", What: "rain since the gauge was last emptied", Hard: from(0, 2000), Likely: from(0, 200)},
	{Key: "smell", Form: FormWord, What: "what it smells of", Words: []string{"none", "grassy", "soda", "earthy", "ammonia", "rotten", "chlorine", "other"}},
	{Key: "colour", Form: FormWord, What: "what colour it has, stirred", Words: []string{"dark_green", "green", "blue_green", "pale", "yellow", "olive", "brown", "milky", "red", "blue_water", "other"}},
	{Key: "foam", Form: FormWord, What: "how much foam", Words: []string{"none", "little", "much"}},
	{Key: "clumps", Form: FormWord, What: "how many clumps", Words: []string{"none", "few", "many"}},
	{Key: "filtrate", Form: FormWord, What: "how the culture looks that ran through the cloth", Words: []string{"clear", "yellow", "green", "blue", "cloudy"}},
	{Key: "animals", Form: FormWords, What: "what animals or traces of them were seen", Words: []string{"none", "flies", "larvae", "mosquitoes", "mites", "rotifers", "birds", "mice", "droppings", "dead_animal", "other"}},
	{Key: "filaments_seen", Form: FormWhole, What: "filaments looked at under the microscope", Hard: from(0, 1e7), Likely: from(1, 1e5)},
	{Key: "straight_seen", Form: FormWhole, What: "straight ones among them", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "broken_seen", Form: FormWhole, What: "broken or empty ones among them", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "foreign_seen", Form: FormWhole, What: "filaments or cells of another kind seen besides", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "looked_ml", Form: FormNumber, Unit: "mL", What: "volume that was looked through", Hard: above(0, 1000), Likely: from(0.0001, 10)},
	{Key: "photo_sha256", Form: FormDigest, What: "which photo, by its content"},
}

// commonFields may stand beside every reading.
var commonFields = []Field{
	{Key: "op", Form: FormWord, What: "=, or < or > where the scale ended before the value", Words: []string{"=", "<", ">"}},
	{Key: "ops", Form: FormByKey, What: "the same by key, where several values stand together"},
	{Key: "instrument", Form: FormName, What: "what it was read with"},
	{Key: "instruments", Form: FormByKey, What: "the same by key, where several values stand together"},
	{Key: "flags", Form: FormWords, What: "what may have falsified it", Words: []string{"unstirred", "pump_off", "chalk", "foreign_greens", "pale_cells", "low_sun", "floating_clumps", "other_observer", "after_rain", "doubtful"}},
	{Key: "stirred_min_ago", Form: FormNumber, Unit: "min", What: "how long ago it was stirred", Hard: from(0, 100000), Likely: from(0, 3000)},
	{Key: "depth_cm", Form: FormNumber, Unit: "cm", What: "how deep below the surface it was read", Hard: from(0, 1000), Likely: from(0, 200)},
	{Key: "text", Form: FormText, What: "free words"},
}

// actFields are what acts can tell. Which act takes which stands in Kinds.
var actFields = []Field{
	{Key: "volume_l", Form: FormNumber, Unit: "L", What: "volume of water or culture that moved", Hard: above(0, 1e7), Likely: from(0.01, 1e5)},
	{Key: "all", Form: FormYes, What: "everything that the vessel held"},
	{Key: "from", Form: FormName, What: "vessel it came from; outside if it came from no vessel of this farm"},
	{Key: "to", Form: FormName, What: "vessel it went to"},
	{Key: "with", Form: FormWord, What: "what was put in", Words: []string{"water", "medium"}},
	{Key: "medium", Form: FormMedium, What: "what the medium was made of"},
	{Key: "water", Form: FormName, What: "which source water"},
	{Key: "refill_l", Form: FormNumber, Unit: "L", What: "volume put in for what was drawn off", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "level_after_cm", Form: FormNumber, Unit: "cm", What: "depth of the water afterwards", Hard: from(0, 1000), Likely: from(1, 200)},
	{Key: "density_g_per_l", Form: FormNumber, Unit: "g/L", What: "dry matter of the culture that was put in", Hard: from(0, 50), Likely: from(0.01, 5)},
	{Key: "left_g_per_l", Form: FormNumber, Unit: "g/L", What: "density left in the vessel", Hard: from(0, 50), Likely: from(0.02, 3)},
	{Key: "strain", Form: FormText, What: "which strain, in the grower's words"},
	{Key: "salts_g", Form: FormAmounts, Unit: "g", What: "salts put in, by formula or name", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "ready_mix", Form: FormName, What: "recipe of a ready mix whose content is not known"},
	{Key: "ready_mix_g", Form: FormNumber, Unit: "g", What: "how much of it", Hard: above(0, 1e7), Likely: from(0.1, 1e5)},
	{Key: "supplies_g", Form: FormAmounts, Unit: "g", What: "what was taken off the shelf, by the lot's id", Hard: from(0, 1e7), Likely: from(0, 1e5)},
	{Key: "co2_g", Form: FormNumber, Unit: "g", What: "carbon dioxide let in", Hard: above(0, 1e6), Likely: from(1, 1e5)},
	{Key: "dissolved_in_l", Form: FormNumber, Unit: "L", What: "water that the salts were dissolved in", Hard: from(0, 1e6), Likely: from(0, 1000)},
	{Key: "mass_g", Form: FormNumber, Unit: "g", What: "mass as weighed: of a harvest the wet paste", Hard: from(0, 1e8), Likely: from(1, 1e6)},
	{Key: "dry_g", Form: FormNumber, Unit: "g", What: "dry matter in it, where it was dried", Hard: from(0, 1e7), Likely: from(0.1, 1e5)},
	{Key: "filtrate_to", Form: FormWord, What: "where the water went that ran through the cloth", Words: []string{"vessel", "drain"}},
	{Key: "for_food", Form: FormYes, What: "false where the harvest is not meant to be eaten"},
	{Key: "lot", Form: FormName, What: "lot it belongs to"},
	{Key: "shade_pct", Form: FormNumber, Unit: "%", What: "share of the light taken away", Hard: from(0, 100), Likely: from(0, 95)},
	{Key: "cover", Form: FormWord, What: "what stands over it now", Words: CoverKinds},
	{Key: "vents", Form: FormWord, What: "how the vents stand now", Words: VentStates},
	{Key: "stirring", Form: FormWord, What: "how it is stirred from now on", Words: StirringKinds},
	{Key: "times_per_day", Form: FormNumber, Unit: "1/d", What: "how often it is stirred by hand", Hard: from(0, 100), Likely: from(0, 24)},
	{Key: "minutes", Form: FormNumber, Unit: "min", What: "how long", Hard: from(0, 100000), Likely: from(0, 1440)},
	{Key: "heater_w", Form: FormNumber, Unit: "W", What: "power of the heater", Hard: from(0, 1e6), Likely: from(0, 20000)},
	{Key: "target_c", Form: FormNumber, Unit: "°C", What: "temperature the heater holds", Hard: from(0, 60), Likely: from(5, 38)},
	{Key: "on", Form: FormYes, What: "true: put on; false: taken off"},
	{Key: "what", Form: FormText, What: "what was worked on"},
	{Key: "leak", Form: FormYes, What: "true where it stopped a leak"},
	{Key: "instrument", Form: FormName, What: "which instrument"},
	{Key: "result", Form: FormWord, What: "how it came out", Words: []string{"good", "adjusted", "failed"}},
	{Key: "expected", Form: FormNumber, What: "what it should have read, in its own unit", Hard: from(-1e6, 1e6), Likely: from(-1e6, 1e6)},
	{Key: "read", Form: FormNumber, What: "what it read, in its own unit", Hard: from(-1e6, 1e6), Likely: from(-1e6, 1e6)},
	{Key: "slope_pct", Form: FormNumber, Unit: "%", What: "slope of the electrode of what theory gives", Hard: from(0, 150), Likely: from(50, 105)},
	{Key: "reason", Form: FormText, What: "why"},
	{Key: "hold", Form: FormID, What: "the entry that began the hold"},
	{Key: "whom", Form: FormText, What: "who got it"},
	{Key: "packs", Form: FormWhole, What: "how many packs", Hard: from(1, 1e6), Likely: from(1, 10000)},
	{Key: "price", Form: FormNumber, What: "what was paid for it, in the farm's money", Hard: from(0, 1e9), Likely: from(0, 1e5)},
	{Key: "event", Form: FormWord, What: "what happened", Words: []string{"flood", "overflow", "leak", "smoke", "ash", "spray", "dust", "soil", "storm", "frost", "power_cut", "glass", "other"}},
	{Key: "text", Form: FormText, What: "free words"},
	{Key: "from_lots", Form: FormWords, What: "lots and harvests it was made of"},
	{Key: "step", Form: FormWord, What: "what happens to the lot", Words: []string{"drained", "rinsed", "pressed", "shaped", "into_dryer", "out_of_dryer", "into_cold", "out_of_cold", "into_freezer", "out_of_freezer", "weighed", "sieved", "packed"}},
	{Key: "temp_c", Form: FormNumber, Unit: "°C", What: "temperature there", Hard: from(-60, 150), Likely: from(-30, 70)},
	{Key: "humidity_pct", Form: FormNumber, Unit: "%", What: "relative humidity there", Hard: from(0, 100), Likely: from(5, 100)},
	{Key: "water_activity", Form: FormNumber, What: "water activity as measured", Hard: from(0, 1), Likely: from(0.1, 1)},
	{Key: "check", Form: FormName, What: "which check"},
	{Key: "outcome", Form: FormWord, What: "how the check came out", Words: []string{"passed", "failed"}},
	{Key: "from_g", Form: FormAmounts, Unit: "g", What: "how much of each lot went in, by lot; without it, all that was left of each", Hard: above(0, 1e8), Likely: from(0.1, 1e6)},
	{Key: "tools", Form: FormWords, What: "tools that touched it, by name; of a cleaning, what was cleaned"},
	{Key: "fit", Form: FormYes, What: "whether those who worked were fit to work with food: no sickness of the stomach, cuts covered"},
	{Key: "place", Form: FormText, What: "where it is kept"},
	{Key: "found", Form: FormText, What: "the result as it was reported, with its unit: < 0.05 mg/kg, absent in 25 g"},
	{Key: "analyte", Form: FormWord, What: "what a laboratory looked for", Words: Analytes},
	{Key: "laboratory", Form: FormText, What: "who examined it"},
	{Key: "moisture_pct", Form: FormNumber, Unit: "%", What: "water in it, of the whole, as measured", Hard: from(0, 100), Likely: from(1, 95)},
	{Key: "mock", Form: FormYes, What: "true where it was practice"},
}

// Analytes are what results of laboratories speak of, by the keys of the limits.
var Analytes = []string{
	assay.Lead, assay.Cadmium, assay.Mercury, assay.Arsenic, assay.Microcystin, assay.BaP, assay.PAH4, assay.Moisture, assay.AerobicFlora, assay.Yeasts,
	assay.Coliforms, assay.BileGramNeg, assay.EColi, assay.SAureus, assay.Salmonella, assay.BCereus,
}

// CoverKinds, VentStates and StirringKinds are the closed lists that vessels
// and acts share.
var (
	CoverKinds    = []string{"none", "film", "tunnel"}
	VentStates    = []string{"shut", "half", "open"}
	StirringKinds = []string{"none", "hand", "continuous"}
)
