package farm

import (
	"encoding/json"
	"fmt"
	"time"
)

// Site is a place as the journal describes it: the body of an entry of kind
// "site".
type Site struct {
	ID           string      `json:"id"`
	Name         string      `json:"name"`
	LatDeg       float64     `json:"lat_deg"`                // north positive [°]
	LonDeg       float64     `json:"lon_deg"`                // east positive [°]
	ElevationM   float64     `json:"elevation_m"`            // above sea level [m]
	Timezone     string      `json:"timezone"`               // IANA name
	Measures     string      `json:"measures"`               // one of Measures
	Language     string      `json:"language,omitempty"`     // BCP 47
	Jurisdiction string      `json:"jurisdiction,omitempty"` // whose food law, in the grower's words
	Normals      []Month     `json:"normals,omitempty"`      // twelve, January first
	Skyline      []SkylineAt `json:"skyline,omitempty"`      // by rising azimuth
	Since        time.Time   `json:"since,omitzero"`         // the entry's time
}

// Month is what weather a month brings on an average day.
type Month struct {
	GHIMJM2D float64 `json:"ghi_mj_m2_d"` // sun and sky on a level plane [MJ/m²/d]
	TMinC    float64 `json:"t_min_c"`     // [°C]
	TMaxC    float64 `json:"t_max_c"`     // [°C]
	RHPct    float64 `json:"rh_pct"`      // [%]
	WindMS   float64 `json:"wind_m_s"`    // at 10 m [m/s]
	RainMM   float64 `json:"rain_mm"`     // in the month [mm]
	RainDays float64 `json:"rain_days"`   // in the month [d]
}

// SkylineAt is how high the horizon stands in one direction.
type SkylineAt struct {
	AzimuthDeg   float64 `json:"azimuth_deg"`   // from north, clockwise [°]
	ElevationDeg float64 `json:"elevation_deg"` // [°]
}

// Recipe is a medium or a feed per litre: the body of kind "recipe". A ready
// mix is one whose content is not known.
type Recipe struct {
	ID         string             `json:"id"`
	Name       string             `json:"name"`
	Use        string             `json:"use,omitempty"`           // "medium" or "feed"
	SaltsGPerL map[string]float64 `json:"salts_g_per_l,omitempty"` // [g/L] of finished solution, by formula or name
	ReadyMix   bool               `json:"ready_mix,omitempty"`
	GPerL      float64            `json:"g_per_l,omitempty"` // of a ready mix [g/L]
	Origin     string             `json:"origin,omitempty"`  // who published it, or whose it is
	Text       string             `json:"text,omitempty"`
}

// Instrument is something to measure with: the body of kind "instrument".
type Instrument struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	Measures   string  `json:"measures,omitempty"`   // kind of reading
	Make       string  `json:"make,omitempty"`       // one of InstrumentMakes
	Resolution float64 `json:"resolution,omitempty"` // smallest step, in the unit of what it measures
	LastCheck  string  `json:"last_check,omitempty"` // local date of a check before the records began
	EveryDays  int     `json:"every_days,omitempty"` // check due that often [d]
	Retired    bool    `json:"retired,omitempty"`
	Text       string  `json:"text,omitempty"`
}

// Person is somebody who works here: the body of kind "person".
type Person struct {
	ID      string `json:"id"`
	Name    string `json:"name"`
	Role    string `json:"role"` // one of Roles
	Retired bool   `json:"retired,omitempty"`
}

// Water is a source water with its analysis: the body of kind "water". A
// quantity that was not measured is absent.
type Water struct {
	ID         string             `json:"id"`
	Name       string             `json:"name"`
	Origin     string             `json:"origin,omitempty"` // one of WaterOrigins
	AnalysedAt string             `json:"analysed_at,omitempty"`
	Analysis   map[string]float64 `json:"analysis,omitempty"` // by a key of WaterKeys, in its unit
	Text       string             `json:"text,omitempty"`
}

// Supply is a lot of a salt on the shelf: the body of kind "supply".
type Supply struct {
	ID          string   `json:"id"`
	Name        string   `json:"name"`
	Salt        string   `json:"salt,omitempty"`         // formula or name as recipes say it
	Lot         string   `json:"lot,omitempty"`          // as printed on it
	Grade       string   `json:"grade,omitempty"`        // one of Grades
	MassG       float64  `json:"mass_g"`                 // what was bought [g]
	LeftG       *float64 `json:"left_g,omitempty"`       // what is left of it, weighed at the time of the entry [g]; nil: not weighed
	Price       float64  `json:"price,omitempty"`        // what it cost, in the farm's money
	BulkGPerL   float64  `json:"bulk_g_per_l,omitempty"` // weight of a litre of it, loose and level, by a cup that was weighed [g/L]
	UseBy       string   `json:"use_by,omitempty"`       // local date
	PurityPct   float64  `json:"purity_pct,omitempty"`   // [%]
	Certificate string   `json:"certificate,omitempty"`  // what its certificate says of it, in words
	Text        string   `json:"text,omitempty"`
}

// Tool is something that touches the product: the body of kind "tool". Its
// cleaning is a plan; that it was done stands in entries of kind "cleaned".
type Tool struct {
	ID        string `json:"id"`
	Name      string `json:"name"`
	Sort      string `json:"sort,omitempty"`       // one of ToolSorts
	Material  string `json:"material,omitempty"`   // what it is made of where it touches the product
	CleanWith string `json:"clean_with,omitempty"` // with what, at which strength and for how long, in words
	Clean     string `json:"clean,omitempty"`      // one of CleanWhen: a verified cleaning holds for one use, or for a day
	EveryDays int    `json:"every_days,omitempty"` // cleaned at least that often, used or not [d]
	Retired   bool   `json:"retired,omitempty"`
	Text      string `json:"text,omitempty"`
}

// Setting is a choice of the farm: the body of kind "setting". The value is a
// text, a number, or true or false.
type Setting struct {
	Key   string          `json:"key"`
	Value json.RawMessage `json:"value"`
}

// The closed lists of descriptions.
var (
	Measures        = []string{"us", "metric"}
	Roles           = []string{"owner", "worker", "inspector"}
	Grades          = []string{"food", "feed", "pure", "technical", "fertiliser", "unknown"}
	WaterOrigins    = []string{"tap", "well", "rain", "spring", "bought", "sea", "other"}
	ToolSorts       = []string{"cloth", "press", "extruder", "tray", "dryer", "table", "knife", "bucket", "hose", "sieve", "mill", "scale", "sealer", "store", "other"}
	CleanWhen       = []string{"use", "day"}
	InstrumentMakes = []string{"meter", "strip", "stick", "thermometer", "scale", "gauge", "photometer", "microscope", "logger", "other"}
)

// WaterKeys are the keys of a water's analysis.
var WaterKeys = []Field{
	{Key: "ph", Form: FormNumber, What: "pH", Hard: from(0, 14)},
	{Key: "conductivity_ms_per_cm", Form: FormNumber, Unit: "mS/cm", What: "conductivity at 25 °C", Hard: from(0, 300)},
	{Key: "hardness_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "calcium and magnesium as CaCO3", Hard: from(0, 20000)},
	{Key: "alkalinity_meq_per_l", Form: FormNumber, Unit: "meq/L", What: "acid taken up down to pH 4.5", Hard: from(0, 3000)},
	{Key: "calcium_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "calcium", Hard: from(0, 50000)},
	{Key: "magnesium_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "magnesium", Hard: from(0, 50000)},
	{Key: "sodium_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "sodium", Hard: from(0, 200000)},
	{Key: "potassium_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "potassium", Hard: from(0, 50000)},
	{Key: "chloride_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "chloride", Hard: from(0, 200000)},
	{Key: "sulfate_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "sulfate", Hard: from(0, 100000)},
	{Key: "nitrate_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "nitrate as NO3", Hard: from(0, 50000)},
	{Key: "iron_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "iron", Hard: from(0, 1000)},
	{Key: "boron_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "boron", Hard: from(0, 1000)},
	{Key: "fluoride_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "fluoride", Hard: from(0, 1000)},
	{Key: "arsenic_ug_per_l", Form: FormNumber, Unit: "µg/L", What: "arsenic", Hard: from(0, 1e5)},
	{Key: "lead_ug_per_l", Form: FormNumber, Unit: "µg/L", What: "lead", Hard: from(0, 1e5)},
	{Key: "cadmium_ug_per_l", Form: FormNumber, Unit: "µg/L", What: "cadmium", Hard: from(0, 1e5)},
	{Key: "chlorine_free_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "free chlorine as Cl2", Hard: from(0, 500)},
	{Key: "chlorine_total_mg_per_l", Form: FormNumber, Unit: "mg/L", What: "free and bound chlorine as Cl2", Hard: from(0, 500)},
}

// decodeSetup takes a canonical body of group setup apart.
func decodeSetup(k *Kind, raw []byte) (any, *Error) {
	o := openObject("body", raw)
	var thing any
	switch k.Name {
	case "site":
		thing = o.site()
	case "vessel":
		thing = o.vessel()
	case "recipe":
		thing = o.recipe()
	case "instrument":
		thing = o.instrument()
	case "person":
		p := Person{}
		p.ID = o.thing(&p.Name)
		o.need("role")
		p.Role = o.word("role", Roles)
		p.Retired, _ = o.flag("retired")
		thing = p
	case "water":
		thing = o.water()
	case "supply":
		thing = o.supply()
	case "tool":
		thing = o.tool()
	case "setting":
		thing = o.setting()
	default:
		panic("farm: no body for kind " + k.Name)
	}
	if e := o.close(); e != nil {
		return nil, e
	}
	return thing, nil
}

func (o *object) site() Site {
	s := Site{}
	s.ID = o.thing(&s.Name)
	for _, key := range []string{"lat_deg", "lon_deg", "timezone"} {
		o.need(key)
	}
	s.LatDeg, _ = o.number("lat_deg", from(-90, 90))
	s.LonDeg, _ = o.number("lon_deg", from(-180, 180))
	s.ElevationM, _ = o.number("elevation_m", from(-450, 6000))
	s.Timezone = o.text("timezone", 60)
	if s.Timezone != "" {
		// LoadLocation reads "Local" as this machine's zone, which is not told to others.
		if _, err := time.LoadLocation(s.Timezone); err != nil || s.Timezone == "Local" {
			o.fail("timezone", "%q is no zone such as Africa/Nouakchott", s.Timezone)
		}
	}
	if s.Measures = o.word("measures", Measures); s.Measures == "" {
		s.Measures = "metric"
	}
	s.Language = o.text("language", 35)
	s.Jurisdiction = o.text("jurisdiction", 100)
	o.list("normals", 12, func(i int, raw json.RawMessage) {
		in := openObject(fmt.Sprintf("%s.%d", o.at("normals"), i+1), raw)
		s.Normals = append(s.Normals, in.month())
		o.shut(in)
	})
	if n := len(s.Normals); n != 0 && n != 12 {
		o.fail("normals", "has %d months, not 12", n)
	}
	o.list("skyline", 360, func(i int, raw json.RawMessage) {
		in := openObject(fmt.Sprintf("%s.%d", o.at("skyline"), i+1), raw)
		in.need("azimuth_deg")
		in.need("elevation_deg")
		a := SkylineAt{}
		a.AzimuthDeg, _ = in.number("azimuth_deg", from(0, 360))
		a.ElevationDeg, _ = in.number("elevation_deg", from(0, 90))
		o.shut(in)
		if n := len(s.Skyline); n > 0 && a.AzimuthDeg <= s.Skyline[n-1].AzimuthDeg {
			o.fail("skyline", "does not rise in azimuth at point %d", i+1)
		}
		s.Skyline = append(s.Skyline, a)
	})
	return s
}

func (o *object) recipe() Recipe {
	r := Recipe{}
	r.ID = o.thing(&r.Name)
	r.Use = o.word("use", []string{"medium", "feed"})
	r.SaltsGPerL = o.numbers("salts_g_per_l", from(0, 500), 40)
	r.ReadyMix, _ = o.flag("ready_mix")
	r.GPerL, _ = o.number("g_per_l", above(0, 500))
	r.Origin = o.text("origin", 200)
	r.Text = o.text("text", 2000)
	if r.SaltsGPerL == nil && !r.ReadyMix {
		o.need("salts_g_per_l")
	}
	return r
}

func (o *object) instrument() Instrument {
	i := Instrument{}
	i.ID = o.thing(&i.Name)
	i.Measures = o.word("measures", kindNames(GroupReading))
	i.Make = o.word("make", InstrumentMakes)
	i.Resolution, _ = o.number("resolution", above(0, 1000))
	i.LastCheck = o.date("last_check")
	i.EveryDays, _ = o.whole("every_days", from(1, 3650))
	i.Retired, _ = o.flag("retired")
	i.Text = o.text("text", 2000)
	return i
}

func (o *object) water() Water {
	w := Water{}
	w.ID = o.thing(&w.Name)
	w.Origin = o.word("origin", WaterOrigins)
	w.AnalysedAt = o.date("analysed_at")
	w.Text = o.text("text", 2000)
	if in := o.sub("analysis"); in != nil {
		w.Analysis = map[string]float64{}
		for _, f := range WaterKeys {
			if v, ok := in.number(f.Key, f.Hard); ok {
				w.Analysis[f.Key] = v
			}
		}
		o.shut(in)
	}
	return w
}

func (o *object) supply() Supply {
	s := Supply{}
	s.ID = o.thing(&s.Name)
	s.Salt = o.text("salt", 60)
	s.Lot = o.text("lot", 60)
	s.Grade = o.word("grade", Grades)
	o.need("mass_g")
	s.MassG, _ = o.number("mass_g", from(0, 1e8))
	if left, told := o.number("left_g", from(0, 1e8)); told {
		s.LeftG = &left
	}
	s.BulkGPerL, _ = o.number("bulk_g_per_l", from(50, 5000))
	s.Certificate = o.text("certificate", 2000)
	s.Price, _ = o.number("price", from(0, 1e9))
	s.UseBy = o.date("use_by")
	s.PurityPct, _ = o.number("purity_pct", above(0, 100))
	s.Text = o.text("text", 2000)
	return s
}

func (o *object) tool() Tool {
	t := Tool{}
	t.ID = o.thing(&t.Name)
	t.Sort = o.word("sort", ToolSorts)
	t.Material = o.text("material", 200)
	t.CleanWith = o.text("clean_with", 500)
	t.Clean = o.word("clean", CleanWhen)
	t.EveryDays, _ = o.whole("every_days", from(1, 3650))
	t.Retired, _ = o.flag("retired")
	t.Text = o.text("text", 2000)
	return t
}

func (o *object) setting() Setting {
	o.need("key")
	o.need("value")
	s := Setting{Key: o.ref("key")}
	if raw, ok := o.take("value"); ok {
		if raw[0] == '{' || raw[0] == '[' || len(raw) > 1000 {
			o.fail("value", "is neither a short text, a number nor true or false")
		}
		s.Value = raw
		if f := choiceOf(s.Key); f != nil && o.bad == nil {
			o.choice(f, raw)
		}
	}
	return s
}
