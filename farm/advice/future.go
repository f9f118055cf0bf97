package advice

import (
	"time"

	"sodalake/science/num"
)

// Future is what the forecast says comes over a vessel.
type Future struct {
	Rain       num.Band  // rain of the coming two days [mm]
	RainOn     time.Time // when most of it falls
	AirLow     num.Band  // coldest air of the coming two days [°C]
	FrostOn    time.Time // when it is that cold; zero: the air is not known
	Helps      []Help    // what single acts would make of the hottest hour to come
	SeasonEnds time.Time // first day on which the water is too cold on average; zero: not within a month, or never
}

// Help is what one act makes of the highest water temperature to come.
type Help struct {
	Act     string   // "shade", "vent" or "deepen"
	Hottest num.Band // with it [°C]
}

// Balance is how the water and the salts of a vessel stand.
type Balance struct {
	Conductivity      num.Band  // at 25 °C [mS/cm]
	ConductivityKnown time.Time // when it was last read; zero: never
	Loss              Loss
	MediumSince       time.Time // since when the medium is in use; zero: not known
}

// Loss is what is missing from a vessel between two readings of level and of
// conductivity, beyond what was poured in and taken out.
type Loss struct {
	Until      Event // the later level
	Since      time.Time
	Missing    num.Band // water that is missing [L]
	Evaporated num.Band // what the model lets evaporate meanwhile, rain set off [L]
	SaltKept   num.Band // salts still there, of those that should be [1]; zero without two conductivities
}

// Young is what matters where a culture comes from or goes to.
type Young struct {
	Starter     bool      // kept to be stepped up
	Into        *Larger   // the next vessel to fill from it; nil: none stands empty
	FromOutside Event     // last culture that came from somebody else; zero: none lately
	CleanLooks  int       // looks since then, on different days, with nothing foreign seen [1]
	LastClean   time.Time // the last of them
	Quarantined bool      // it is kept apart already
	Offspring   bool      // culture went from it to other vessels lately
}

// Larger is an empty vessel that could be filled from a starter.
type Larger struct {
	ID, Name   string
	FullL      float64  // what it is to hold [L]
	Outdoors   bool     //
	ShadePct   float64  // light taken away by shade [%]
	Water      num.Band // temperature of what stands in it, or of such a vessel beside it [°C]; zero: not known
	ChlorineMg float64  // total chlorine last read in it [mg/L]; negative: never
}

// Lot is a harvest lot on its way from cloth to jar.
type Lot struct {
	ID      string
	Vessel  string    // it came from
	OffPond time.Time // when it left the water
	Settled bool      // dry, or cold
	Held    bool      // on hold already
	Gone    bool      // nothing of it is left
}

// Tool touches the product and is cleaned by a plan.
type Tool struct {
	ID, Name  string
	Used      Event   // last time it touched product; zero: never
	Cleaned   Event   // last cleaning that did not fail; zero: never
	EveryUse  bool    // cleaned after every use
	EveryDays float64 // cleaned at least that often [d]; 0: not by the calendar
}

// Instrument is something to measure with that is checked by a plan.
type Instrument struct {
	ID, Name  string
	Checked   Event
	EveryDays float64 // [d]
	Failed    bool    // it was found failing then
}

// Need is something on the shelf that runs out.
type Need struct {
	Of       string   // ingredient, or recipe of a ready mix
	Name     string   // what a grower says
	LeftG    float64  // what is left of it [g]
	RateGPD  float64  // what goes [g/d]
	RunsOut  Crossing //
	HasOther bool     // something else on the shelf can stand in for it
}

// Absence is when nobody of the farm is there.
type Absence struct {
	From, Until time.Time // zero: nobody leaves
}
