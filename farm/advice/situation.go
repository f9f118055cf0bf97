package advice

import (
	"time"

	"sodalake/science/num"
)

// Situation is everything the day list is made from: the vessels with their
// estimates and forecasts, and the farm's own rules.
type Situation struct {
	Now     time.Time // the moment the list is for, in the farm's zone
	By      string    // who would record the acts
	Site    string    // the site's identifier
	Rules   Rules
	Vessels []Vessel
	Meters  []Meter // that read pH

	Lots        []Lot
	Tools       []Tool
	Instruments []Instrument
	Needs       []Need
	Absence     Absence
	LastNoted   time.Time // when anything was last noted by a person; zero: never
}

// Vessel is one vessel as the rules see it. Every band is 10, 50, 90 %.
type Vessel struct {
	ID   string
	Name string

	Outdoors bool    // under the sky or a film, not in a room
	SideLit  bool    // bottle or jar at a window
	Reserve  bool    // kept as a reserve, not for harvest
	Food     bool    // grown to be eaten
	Started  bool    // holds a culture
	ShadePct float64 // light taken away by shade now [%]
	Covered  bool    // film or tunnel over it

	AreaM2      float64   // surface at the present level [m²]
	FullLevelCM float64   // level called full [cm]; 0 if it was never told
	RimCM       float64   // level at which it overflows [cm]; 0 if unknown
	Level       num.Band  // [cm]
	Volume      num.Band  // [L]
	LevelKnown  time.Time // when the level was last read or set

	Density   num.Band // dry matter [g/L]
	Growth    num.Band // net gain of a day at present weather [g/L/d]
	PH25      num.Band // pH at 25 °C [1]
	PHLow48   float64  // lowest believed pH at 25 °C of the last 48 h [1]; 0 if none
	PHKnown   time.Time
	Temp      num.Band // water now [°C]
	Dawn      num.Band // lowest water temperature of the coming 24 h [°C]
	Noon      num.Band // highest water temperature of the coming 24 h [°C]
	Hottest   num.Band // highest water temperature of the coming 10 days [°C]
	HottestOn time.Time
	WarmAt    time.Time // when the water will have passed the rule's warmth today; zero: it has, or never
	BrightNow bool      // more than the rule's bright light falls on the culture, now or in the next three hours

	CarbonCarries   float64  // growth the carbon still carries to the rule's upper pH [g/L]
	CarbonPerGramG  float64  // baking soda that carries one gram of growth here [g/g]
	AirDays         float64  // days of air that bring the carbon of one dose [d]; 0 if it loses carbon to air
	NitrogenCarries float64  // growth that nitrate and ammonia still carry [g/L]
	FreeAmmonia     num.Band // free NH3 [mM]
	ReducedMgL      float64  // urea and ammonia standing, as urea, at the low volume [mg/L]
	ReducedDayMgL   float64  // urea and ammonia given in the last 24 h, as urea, at the low volume [mg/L]

	RemovedG   float64 // dry matter taken out since it was last fed [g]
	FeedSalt   string  // "KNO3", "NaNO3" or "CO(NH2)2": what this farm feeds
	LastFed    Event   // zero if never
	LastTaken  Event   // last harvest
	LastLook   Event   // last look under the microscope
	LookPassed bool    // nothing foreign was seen then
	LastSecchi Event   // last density reading of any kind
	LastPH     Event
	LastLevel  Event
	LastTemp   Event
	Begun      Event // inoculation

	Ready      Crossing // when it passes the ready density
	ChanceNow  float64  // probability that it is above the ready density now [1]
	Worth      []Worth  // readings worth taking, the most useful first
	Doubts     []Doubtful
	Holds      []Held
	Smells     Event // smell of ammonia or rot noted; zero if none in the last three days
	SmellsOf   string
	Unstirred  Event   // stirring is known to have stopped; zero if not
	ReadyHere  float64 // the density called ready in this vessel [g/L]; 0: the rule's
	ReserveAge float64 // days since the reserve was last renewed [d]

	Indoor   bool               // a reserve that stands in a room
	Vents    string             // "shut", "half" or "open"; "" if not said
	Stirring string             // "none", "hand" or "continuous"; "" if not said
	FeedRest map[string]float64 // salts beside the nitrogen that a gram of dry matter took along, by formula [g/g]
	Future
	Balance
	Young
}

// Event is an entry of the journal by its time. The zero Event never happened.
type Event struct {
	ID string
	At time.Time
}

// Crossing is when a threshold is passed, in three quantiles of time. A zero
// time lies beyond the horizon.
type Crossing struct{ Early, Mid, Late time.Time }

// Doubtful is a reading that is not believed.
type Doubtful struct {
	Event
	Kind     string   // kind of the entry: "ph", "secchi", ...
	Quantity string   // key of the value with its unit: "ph", "secchi_cm"
	Value    float64  // as read
	Expected num.Band // what the twin expected
	Again    int      // how many doubted readings of this kind stand in a row
}

// Held stands on a vessel until a person lifts it.
type Held struct {
	Event
	Why string // key of the catalogue
	Of  string // what was smelled, or the words of who began it
}

// Rules are the numbers behind the day list. Each has its source beside its
// default; a farm may change them.
type Rules struct {
	ReadyGPerL      float64 // density called ready [g/L]
	FloorSunGPerL   float64 // least density to leave outdoors in full sun [g/L]
	FloorShadeGPerL float64 // least density to leave under shade or indoors [g/L]
	MaxShare        float64 // largest share of the volume taken at once [1]
	ColdC           float64 // below: no harvest, no shade removed, no bright light [°C]
	HotC            float64 // above: act [°C]
	AlarmC          float64 // above: alarm [°C]
	PHFood          float64 // least pH at 25 °C over two days for food [1]
	PHUpper         float64 // pH at 25 °C up to which carbon is counted [1]
	PHStop          float64 // pH at 25 °C at which growth fails [1]
	CarbonDose      float64 // growth that one dose of baking soda is to carry [g/L]
	NitrogenFloor   float64 // growth the nitrogen must still carry, else feed [g/L]
	UreaDayMgL      float64 // most reduced nitrogen a day, as urea [mg/L]
	UreaPoolMgL     float64 // most reduced nitrogen standing, as urea [mg/L]
	AmmoniaStopMM   float64 // free ammonia at which feeding stops [mM]
	FeedColdC       float64 // reduced nitrogen is not given below [°C]
	FeedHotC        float64 // reduced nitrogen is not given above [°C]
	ShadePct        float64 // shade asked for over dilute culture [%]
	LookHours       float64 // a look counts for a harvest this long [h]
	LevelDays       float64 // older levels give no dose [d]
	ReadingDays     float64 // after so long a density reading is due [d]
	PHDays          float64 // after so long a pH reading is due [d]
	ReserveDays     float64 // a reserve is renewed after [d]
	WorthShare      float64 // least share of a decision's spread that a reading is asked for [1]
	WorthDays       float64 // least width of a ready day that a reading is asked for [d]

	FrostC         float64 // air this cold is met the evening before [°C]
	BrimCM         float64 // the water is kept this far below the rim [cm]
	SaltMS         float64 // conductivity at 25 °C above which some is drawn off [mS/cm]
	SaltTargetMS   float64 // what it is brought down to [mS/cm]
	PurgeShare     float64 // most drawn off in one day [1]
	MediumDays     float64 // medium in use that long is renewed in part [d]
	SaltDays       float64 // a reading of the salts is believed this long [d]
	StartGPerL     float64 // least density to start a vessel with, under shade [g/L]
	StepFold       float64 // largest step from one vessel to the next [1]
	StartShare     float64 // most of a starter that is poured at once [1]
	ChlorineMgL    float64 // total chlorine above which nothing living is put in [mg/L]
	QuarantineDays float64 // culture from outside is kept apart this long [d]
	CleanLooks     int     // clean looks that end it [1]
	LookDays       float64 // a reserve is looked at this often before what may kill [d]
	WetHours       float64 // a lot stays wet and warm no longer [h]
	SilenceDays    float64 // after so long without a note nothing is dosed unseen [d]
	LeaveDays      float64 // an absence is prepared this long before [d]
	SupplyDays     float64 // what runs out sooner is bought [d]
	SeasonDays     float64 // the end of the season is said this long before [d]
	OpenGPerL      float64 // from this density on shade is taken off in steps [g/L]
	OpenPct        float64 // to this shade at first [%]
}

// DefaultRules returns the defaults.
//
// Sources: jourdan2014 (cold, heat, floor, pH of harvest), sanchezluna2007
// (urea per day), mendez2012 and grower practice (standing urea), handbook
// rules as collected there; where no source is named the figure is judgement.
func DefaultRules() Rules {
	return Rules{
		ReadyGPerL:      0.5,  // common practice, no source
		FloorSunGPerL:   0.3,  // jourdan2014: never below about 0.3 g/L
		FloorShadeGPerL: 0.2,  // judgement
		MaxShare:        0.5,  // common practice, no source
		ColdC:           18,   // judgement, between 17 and 20 of jourdan2014 and torzillo1994
		HotC:            40,   // judgement after jourdan2014
		AlarmC:          43,   // jourdan2014: lethal risk
		PHFood:          9.8,  // common practice, no source
		PHUpper:         10.5, // common practice, no source
		PHStop:          11,   // belkin1991: growth fails without carbon
		CarbonDose:      0.1,  // judgement: a few days of growth
		NitrogenFloor:   0.3,  // judgement
		UreaDayMgL:      33,   // sanchezluna2007: 0.551 mM/d
		UreaPoolMgL:     60,   // grower practice; mendez2012: harm from 80
		AmmoniaStopMM:   0.5,  // half of the onset of harm
		FeedColdC:       20,   // judgement
		FeedHotC:        37,   // judgement
		ShadePct:        60,   // common practice, no source
		LookHours:       24,   // common practice: before every harvest
		LevelDays:       7,    // judgement
		ReadingDays:     3,    // judgement
		PHDays:          7,    // judgement
		ReserveDays:     28,   // common practice: two to four weeks
		WorthShare:      0.15, // judgement
		WorthDays:       1.5,  // judgement: a day more or less is the weather's

		FrostC:         1,    // judgement: open water loses heat to a clear sky before the air is at 0
		BrimCM:         2,    // judgement
		SaltMS:         35,   // judgement: growth in soda water is flat to about 35 g/L of salts (kebede1997)
		SaltTargetMS:   28,   // judgement
		PurgeShare:     0.25, // judgement: no more of the water is changed in a day
		MediumDays:     365,  // judgement; no fixed age has a source
		SaltDays:       30,   // judgement
		StartGPerL:     0.12, // judgement; 0.3 without shade (jourdan2014)
		StepFold:       5,    // common practice, no source: four to five volumes, with shade
		StartShare:     0.6,  // judgement: a starter is never poured out whole
		ChlorineMgL:    0.1,  // common practice: as low as a strip reads
		QuarantineDays: 14,   // judgement
		CleanLooks:     2,    // judgement
		LookDays:       14,   // judgement
		WetHours:       3,    // judgement; cumulative limits for ready-to-eat food above 21 °C, from memory
		SilenceDays:    5,    // judgement
		LeaveDays:      2,    // judgement
		SupplyDays:     14,   // judgement: what an order takes
		SeasonDays:     21,   // judgement
		OpenGPerL:      0.4,  // judgement
		OpenPct:        30,   // judgement: in steps
	}
}
