package plan

import (
	"fmt"
	"math"
	"slices"
)

// Problem is what a plan is asked for. Day 0 is the first on which somebody may
// harvest; each day has one moment for it, chosen by the caller. The plan never
// chooses the hour nor the place of drying: the hours that somebody is there
// and what the drying chain takes are given.
type Problem struct {
	Days      int // of the horizon
	Draws     int // of weather and of the vessels
	Vessels   []Vessel
	Capacity  []Capacity // one a day
	FreezerKg float64    // room for paste in the freezer at the start [kg]
	PasteDry  float64    // dry share of the pressed paste; 0 is taken as 0.2 [1]
	Risk      float64    // chance allowed for each limit; 0 is taken as 0.1 [1]
	Limits    Limits
	Aim       Aim
	Habits    []Habit // what the plan is compared with
	Explain   bool    // tell what holds the plan back even when the aim is reached
	VisitG    float64 // a harvest of one vessel that brings less more than this is left out [g]
	Steps     int     // parts of a volume that are told apart; 0 is taken as 400
	Seed      uint64  // of the order in which the search tries things
}

// Vessel is one vessel over the horizon. Slices by draw hold Draws values.
type Vessel struct {
	Name    string
	VolumeL []float64 // by draw, or a single one [L]
	StartGL []float64 // density at the moment of day 0, by draw [g/L]

	// Grow returns the density [g/L] at the moment of day+1 of a vessel that
	// holds densityGL [g/L] after the moment of day. It is asked from several
	// goroutines at once, though never twice at once for one draw, and must give
	// the same answer to the same question.
	Grow func(draw, day int, densityGL float64) float64

	// Conditions tells the water at the moment of a day; nil is not asked.
	Conditions func(draw, day int) Conditions

	Nodes      int      // densities at which Grow is asked for a draw and day; 0 is taken as 9
	FloorGL    float64  // least density to leave, at its depth and under its shade [g/L]
	ReadyGL    float64  // density that is called dark; 0 is taken as DefaultReadyGL [g/L]
	EndGL      float64  // least density at the end of the horizon; 0: FloorGL by harvests alone [g/L]
	LeastShare float64  // a smaller part of the volume is not worth the cloth [1]
	MostShare  float64  // largest part of the volume at once; 0 is taken as 0.9 [1]
	Closed     []string // why a day is closed for this vessel, by day; "" is open; nil: all open
	NoReserve  bool     // no living reserve was seen of late: at most ReserveShare at once
	SetupH     float64  // time to rig, clean and look, for a harvest [h]
	LPerH      float64  // litres that pass the cloth in an hour; 0: no time [L/h]
}

// Defaults that a caller may take.
const (
	// DefaultReadyGL is the density that is called dark and ready [g/L].
	// Common practice, no source: the disc goes out of sight at 2.4 cm.
	DefaultReadyGL = 0.5

	// DefaultFloorGL is the least density to leave outdoors in full sun [g/L].
	// Source: handbooks of small farms, where it is a rule: jourdan2014. No
	// model of this program reproduces it.
	DefaultFloorGL = 0.3

	// ReserveShare is the largest part that may be taken at once where no living
	// reserve stands behind the vessel [1]. Judgement, no source.
	ReserveShare = 0.3
)

// ShadedFloorGL is the least density to leave under a third of shade or more
// [g/L]. Judgement: under 30 % of shade the growth model yields as much on a
// square metre from 0.2 g/L as from 0.3.
const ShadedFloorGL = 0.2

// FloorGL returns the least density to leave [g/L] under a shade of shadePct [%]
// of full sun: DefaultFloorGL without, ShadedFloorGL from 30 %, a straight line
// between.
func FloorGL(shadePct float64) float64 {
	f := min(max(shadePct/30, 0), 1)
	return DefaultFloorGL + (ShadedFloorGL-DefaultFloorGL)*f
}

// Conditions is the water at a moment.
type Conditions struct {
	TempC float64 // NaN: not known [°C]
	PH25  float64 // pH at 25 °C; NaN: not known [1]
}

// Limits close a day for a vessel when more draws than the allowed chance lie
// outside.
type Limits struct {
	ColdC  float64 // no harvest when colder [°C]
	HotC   float64 // no harvest when hotter [°C]
	PHLow  float64 // no harvest for food under this pH at 25 °C [1]
	PHHigh float64 // no harvest above [1]
}

// DefaultLimits are 18 to 40 °C and a pH of 9.8 to 11.5.
//
// Source: 9.8 and more: common practice of handbooks, which harvest at about
// 10; 18 °C: judgement after vonshak1994, thin culture in cold and bright
// mornings; 40 °C: judgement below the handbooks' 43; 11.5: belkin1991.
func DefaultLimits() Limits { return Limits{ColdC: 18, HotC: 40, PHLow: 9.8, PHHigh: 11.5} }

// Capacity is what one day can take. Infinity is no limit, 0 is none at all.
type Capacity struct {
	PresentH float64   // hours somebody is there; 0: nobody [h]
	ClothL   float64   // culture through the cloth [L]
	PressKg  float64   // paste through the press [kg]
	DryerG   []float64 // dry matter that the dryer takes, by draw, or a single one [g]
	FreezeKg float64   // paste that freezes in a day [kg]
	FreshKg  float64   // paste that is eaten or sold fresh [kg]
}

// Unlimited returns a day without limits.
func Unlimited() Capacity {
	inf := math.Inf(1)
	return Capacity{PresentH: inf, ClothL: inf, PressKg: inf, DryerG: []float64{inf}, FreezeKg: inf, FreshKg: inf}
}

// Goal is what is aimed at.
type Goal uint8

// The goals.
const (
	Most   Goal = iota // most dry matter by a date
	Steady             // a steady amount a week
	Fewest             // fewest days on which anybody harvests
)

// SteadyWorth is what a gram that lacks of a steady amount counts, over a gram in
// the harvest of the other goals [1]. With an EndWorth of 0.4 a plan then takes
// so much that about one week in ten falls short. Judgement, no source.
const SteadyWorth = 4.0

// Aim is a goal with its amounts.
type Aim struct {
	Goal    Goal
	ByDay   int     // for Most and Fewest: the last day that counts, plus one; 0: the horizon
	WeekG   float64 // for Steady: dry matter wanted in seven days [g]
	AmountG float64 // for Fewest: dry matter wanted in all; 0: ShareOf of the most [g]
	ShareOf float64 // for Fewest: share of the most; 0 is taken as 0.9 [1]
	// EndWorth is what a gram that still stands above the floor at the end is
	// worth, over a gram harvested [1]. 0 strips the ponds by the date; 0.8 looks
	// past the horizon.
	EndWorth float64
}

// Habit is a rule that a grower follows by the eye: a part of the volume
// whenever it is dark.
type Habit struct {
	Name    string
	AboveGL float64 // harvests when it is at least so dense; 0: Vessel.ReadyGL [g/L]
	Share   float64 // part of the volume [1]
	Days    []bool  // days on which it is done; nil: all on which somebody is there
}

// HalfWhenDark is the rule of the handbooks.
func HalfWhenDark() Habit { return Habit{Name: "half whenever dark", Share: 0.5} }

// InputError names a field that cannot be.
type InputError struct {
	Field  string
	Reason string
	Hint   string
}

// Error returns the reason.
func (e *InputError) Error() string { return e.Reason }

func bad(field, hint, format string, args ...any) error {
	return &InputError{Field: field, Reason: fmt.Sprintf(format, args...), Hint: hint}
}

// check fills defaults into a copy and refuses what cannot be.
func (p *Problem) check() (*Problem, error) {
	q := *p
	q.Vessels = slices.Clone(p.Vessels)
	switch {
	case q.Days < 1 || q.Days > 60:
		return nil, bad("days", "", "days %d does not lie between 1 and 60", q.Days)
	case q.Draws < 1 || q.Draws > 2000:
		return nil, bad("draws", "", "draws %d does not lie between 1 and 2000", q.Draws)
	case len(q.Vessels) == 0:
		return nil, bad("vessels", "", "vessels: there is none to plan for")
	case len(q.Capacity) != q.Days:
		return nil, bad("capacity", "one for each day", "capacity: %d days are given for a horizon of %d", len(q.Capacity), q.Days)
	case !(q.FreezerKg >= 0):
		return nil, bad("freezer_kg", "", "freezer_kg %g is below 0", q.FreezerKg)
	case !(q.VisitG >= 0) || math.IsInf(q.VisitG, 0):
		return nil, bad("visit_g", "", "visit_g %g is below 0 or no number", q.VisitG)
	}
	if q.PasteDry == 0 {
		q.PasteDry = 0.2
	}
	if !(q.PasteDry > 0.02 && q.PasteDry <= 1) {
		return nil, bad("paste_dry", "pressed paste holds 0.15 to 0.25", "paste_dry %g does not lie between 0.02 and 1", q.PasteDry)
	}
	if q.Risk == 0 {
		q.Risk = 0.1
	}
	if !(q.Risk > 0 && q.Risk < 0.5) {
		return nil, bad("risk", "", "risk %g does not lie between 0 and 0.5", q.Risk)
	}
	if q.Steps == 0 {
		q.Steps = 400
	}
	if q.Steps < 2 || q.Steps > 2000 {
		return nil, bad("steps", "", "steps %d does not lie between 2 and 2000", q.Steps)
	}
	if q.Limits == (Limits{}) {
		q.Limits = DefaultLimits()
	}
	for d := range q.Capacity {
		c := &q.Capacity[d]
		for _, x := range []struct {
			name string
			v    float64
		}{{"present_h", c.PresentH}, {"cloth_l", c.ClothL}, {"press_kg", c.PressKg}, {"freeze_kg", c.FreezeKg}, {"fresh_kg", c.FreshKg}} {
			if !(x.v >= 0) {
				return nil, bad(fmt.Sprintf("capacity.%d.%s", d, x.name), "", "%s of day %d is %g, below 0", x.name, d, x.v)
			}
		}
		if err := byDraw(c.DryerG, q.Draws, fmt.Sprintf("capacity.%d.dryer_g", d), 0); err != nil {
			return nil, err
		}
	}
	if err := q.Aim.check(q.Days); err != nil {
		return nil, err
	}
	for i := range q.Vessels {
		if err := q.Vessels[i].check(&q, fmt.Sprintf("vessels.%d", i)); err != nil {
			return nil, err
		}
	}
	for i, h := range q.Habits {
		if !(h.Share >= 0 && h.Share < 1) || !(h.AboveGL >= 0) || h.Days != nil && len(h.Days) != q.Days {
			return nil, bad(fmt.Sprintf("habits.%d", i), "", "habit %q: share %g, above %g g/L, %d days cannot be", h.Name, h.Share, h.AboveGL, len(h.Days))
		}
	}
	return &q, nil
}

func (a *Aim) check(days int) error {
	if a.ByDay == 0 {
		a.ByDay = days
	}
	if a.ShareOf == 0 {
		a.ShareOf = 0.9
	}
	switch {
	case a.Goal > Fewest:
		return bad("aim.goal", "", "aim.goal %d is not known", a.Goal)
	case a.ByDay < 1 || a.ByDay > days:
		return bad("aim.by_day", "", "aim.by_day %d lies outside the horizon of %d days", a.ByDay, days)
	case a.Goal == Steady && !(a.WeekG > 0 && !math.IsInf(a.WeekG, 0)):
		return bad("aim.week_g", "", "aim.week_g %g is not above 0", a.WeekG)
	case !(a.AmountG >= 0) || math.IsInf(a.AmountG, 0):
		return bad("aim.amount_g", "", "aim.amount_g %g is below 0 or no number", a.AmountG)
	case !(a.ShareOf > 0 && a.ShareOf <= 1):
		return bad("aim.share_of", "", "aim.share_of %g does not lie between 0 and 1", a.ShareOf)
	case !(a.EndWorth >= 0 && a.EndWorth <= 1):
		return bad("aim.end_worth", "", "aim.end_worth %g does not lie between 0 and 1", a.EndWorth)
	}
	return nil
}

func (v *Vessel) check(p *Problem, at string) error {
	if v.MostShare == 0 {
		v.MostShare = 0.9
	}
	if v.NoReserve {
		v.MostShare = min(v.MostShare, ReserveShare)
	}
	if v.Nodes == 0 {
		v.Nodes = 9
	}
	if v.ReadyGL == 0 {
		v.ReadyGL = DefaultReadyGL
	}
	switch {
	case v.Grow == nil:
		return bad(at+".grow", "", "vessel %q has no model", v.Name)
	case !(v.FloorGL > 0) || math.IsInf(v.FloorGL, 0):
		return bad(at+".floor_g_per_l", "0.3 g/L outdoors in full sun", "vessel %q: floor_g_per_l %g is not above 0", v.Name, v.FloorGL)
	case !(v.EndGL >= 0) || math.IsInf(v.EndGL, 0):
		return bad(at+".end_g_per_l", "", "vessel %q: end_g_per_l %g is below 0", v.Name, v.EndGL)
	case !(v.MostShare > 0 && v.MostShare <= 0.98):
		return bad(at+".most_share", "", "vessel %q: most_share %g does not lie between 0 and 0.98", v.Name, v.MostShare)
	case !(v.LeastShare >= 0 && v.LeastShare <= 1):
		return bad(at+".least_share", "", "vessel %q: least_share %g does not lie between 0 and 1", v.Name, v.LeastShare)
	case v.Closed != nil && len(v.Closed) != p.Days:
		return bad(at+".closed", "one for each day", "vessel %q: %d closed days are given for a horizon of %d", v.Name, len(v.Closed), p.Days)
	case !(v.SetupH >= 0) || !(v.LPerH >= 0) || math.IsInf(v.SetupH, 0):
		return bad(at+".setup_h", "", "vessel %q: setup of %g h at %g L/h cannot be", v.Name, v.SetupH, v.LPerH)
	case v.Nodes < 3 || v.Nodes > 200:
		return bad(at+".nodes", "", "vessel %q: nodes %d does not lie between 3 and 200", v.Name, v.Nodes)
	case len(v.StartGL) != p.Draws:
		return bad(at+".start_g_per_l", "one for each draw", "vessel %q: %d densities are given for %d draws", v.Name, len(v.StartGL), p.Draws)
	}
	if err := byDraw(v.VolumeL, p.Draws, at+".volume_l", math.SmallestNonzeroFloat64); err != nil {
		return err
	}
	for _, x := range v.VolumeL {
		if math.IsInf(x, 0) {
			return bad(at+".volume_l", "", "vessel %q: the volume is not known", v.Name)
		}
	}
	for _, x := range v.StartGL {
		if !(x > 0) || math.IsInf(x, 0) {
			return bad(at+".start_g_per_l", "", "vessel %q: a density of %g g/L cannot grow", v.Name, x)
		}
	}
	return nil
}

// byDraw wants one value or one for each draw, none below least.
func byDraw(x []float64, draws int, field string, least float64) error {
	if len(x) != 1 && len(x) != draws {
		return bad(field, "one, or one for each draw", "%s: %d values are given for %d draws", field, len(x), draws)
	}
	for _, v := range x {
		if !(v >= least) {
			return bad(field, "", "%s: %g cannot be", field, v)
		}
	}
	return nil
}

// at returns the value of a draw of a slice by draw.
func at(x []float64, draw int) float64 {
	if len(x) == 1 {
		return x[0]
	}
	return x[draw]
}
