package keeper

import (
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
)

// Quantity names what a band, a reading or a curve speaks of.
type Quantity string

// The quantities that are estimated and forecast. The unit stands in the name.
const (
	DensityGPerL  Quantity = "density_g_per_l"
	PH25C         Quantity = "ph_25c"   // pH at 25 °C
	PH            Quantity = "ph"       // pH at the water's temperature
	PHShown       Quantity = "ph_shown" // pH at the water's temperature as the farm's meter shows it
	TempC         Quantity = "temp_c"
	LevelCM       Quantity = "level_cm"
	VolumeL       Quantity = "volume_l"
	ConductivityM Quantity = "conductivity_ms_per_cm_25c"
	SecchiCM      Quantity = "secchi_cm"
	GrowthGPerDay Quantity = "growth_g_per_d"
)

// Estimate is what a vessel is at one moment, as far as it can be told.
type Estimate struct {
	At    time.Time             `json:"at"`
	Known bool                  `json:"known"` // false: nothing was inoculated or noted yet
	Bands map[Quantity]num.Band `json:"bands"`
}

// Curve is a quantity over time with its spread: Times[i] belongs to Bands[i].
type Curve struct {
	Times []time.Time `json:"times"`
	Bands []num.Band  `json:"bands"`
}

// Window is when a threshold is crossed: one time in ten before Early, five in
// ten before Mid, nine in ten before Late. A zero time lies beyond the horizon.
type Window struct {
	Early time.Time `json:"early,omitzero"`
	Mid   time.Time `json:"mid,omitzero"`
	Late  time.Time `json:"late,omitzero"`
}

// Day is one local day of the forecast.
type Day struct {
	Date         string   `json:"date"` // local date, 2006-01-02
	Sky          string   `json:"sky"`  // "bright", "hazy", "grey" or "unknown"
	DensityGPerL num.Band `json:"density_g_per_l"`
	PH25C        num.Band `json:"ph_25c"`
	TempMinC     num.Band `json:"temp_min_c"`
	TempMaxC     num.Band `json:"temp_max_c"`
	LevelCM      num.Band `json:"level_cm"`
	Ready        bool     `json:"ready"` // over the ready density more likely than not
}

// Reading is one reading of the journal as the charts show it.
type Reading struct {
	EntryID  string    `json:"entry_id"`
	At       time.Time `json:"at"`
	Quantity Quantity  `json:"quantity"`
	Value    float64   `json:"value"`          // in the unit of Quantity
	Op       string    `json:"op"`             // "=", "<" or ">"
	Spread   num.Band  `json:"spread"`         // what the reading alone says, with its own error
	Doubt    string    `json:"doubt,omitzero"` // why it is not believed; empty if it is
	By       string    `json:"by"`
}

// Mark is an act on the lane under a chart.
type Mark struct {
	EntryID string    `json:"entry_id"`
	At      time.Time `json:"at"`
	Act     string    `json:"act"`    // kind of the entry
	Way     string    `json:"way"`    // "in" or "out"
	Amount  float64   `json:"amount"` // in Unit; 0 if unknown
	Unit    string    `json:"unit"`
}

// Forecast is the ten days ahead of one vessel.
type Forecast struct {
	Vessel  string    `json:"vessel"`
	At      time.Time `json:"at"`      // when the forecast starts
	Weather string    `json:"weather"` // key: where its weather comes from
	Days    []Day     `json:"days"`

	ReadyGPerL float64 `json:"ready_g_per_l"` // the density called ready
	ReadyNow   float64 `json:"ready_now"`     // chance that it is above it now [1]
	Ready      Window  `json:"ready"`

	// Past ends and Ahead starts at At; both hold the same quantities.
	Past  map[Quantity]Curve `json:"past"`
	Ahead map[Quantity]Curve `json:"ahead"`

	Limits []Limit `json:"limits"` // what holds growth back now, largest first

	// Worth are the readings that would narrow the next decision, the most useful
	// first: the day on which it is ready or, where it is ready, how much to take.
	Worth []Worthwhile `json:"worth"`
}

// Limit is one share of what holds growth back.
type Limit struct {
	Key   string  `json:"key"`   // "light", "temperature", "carbon", "nitrogen", "damage", ...
	Share float64 `json:"share"` // part of the whole shortfall [1]
}

// Vessel is one vessel with its present, for lists and pages.
type Vessel struct {
	Spec   farm.Vessel `json:"spec"` // as the journal describes it
	Now    Estimate    `json:"now"`
	State  Sentence    `json:"state"`            // one sentence of state
	Change []Sentence  `json:"change,omitempty"` // what changed since yesterday
	Holds  []string    `json:"holds,omitempty"`  // keys of the holds that stand on it
	Last   *Reading    `json:"last,omitempty"`   // last density reading

	// Troubles are what is wrong with the model of it: a spread that has
	// collapsed, a parameter at its bound, readings that lie further from what
	// was expected than the spread allows.
	Troubles []Sentence `json:"troubles,omitempty"`
}

// Sentence is a key of the catalogue with its arguments.
type Sentence = advice.Reason

// TodayVessel is one vessel's part of the day list.
type TodayVessel struct {
	Vessel
	Items []advice.Item `json:"items"`
	Done  []Done        `json:"done"` // what was recorded today, with the entry to undo
	Days  []Day         `json:"days"`
	Ready Window        `json:"ready"`
}

// Done is an act that was recorded today.
type Done struct {
	EntryID string    `json:"entry_id"`
	At      time.Time `json:"at"`
	Act     string    `json:"act"`
	Amount  float64   `json:"amount"`
	Unit    string    `json:"unit"`
	By      string    `json:"by"`
	Item    string    `json:"item,omitempty"` // the item it answered
}

// Today is the whole day list.
type Today struct {
	At      time.Time     `json:"at"`
	Farm    string        `json:"farm"` // the site's name
	Zone    string        `json:"timezone"`
	Light   DayLight      `json:"light"`
	Vessels []TodayVessel `json:"vessels"`
	Coming  []Coming      `json:"coming"`
}

// DayLight is the light through the day at the site, with its spread.
type DayLight struct {
	Sunrise time.Time  `json:"sunrise,omitzero"`
	Sunset  time.Time  `json:"sunset,omitzero"`
	PAR     Curve      `json:"par_umol_m2_s"` // on the horizontal, outdoors
	Words   []Sentence `json:"words"`
}

// Coming is something the forecast already shows.
type Coming struct {
	Date   string         `json:"date"`
	Vessel string         `json:"vessel"`
	What   Sentence       `json:"what"`
	Amount *advice.Amount `json:"amount,omitempty"`
}
