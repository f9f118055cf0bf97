package power

import "math"

// Hour is one hour of weather as the panel sees it. It holds for one rated watt,
// so that one series serves every size.
type Hour struct {
	PlaneWM2  float64 // on the plane of the panel, through its glass [W/m²]
	PerRatedW float64 // energy at the battery for one rated watt [Wh/W]
	AirC      float64 // [°C]
	HourOfDay int     // local, 0 to 23
	YearDay   int     // day of the year from 0, to tell months and days apart
}

// Hourly turns a sky into an Hour for the panel, which begins at hourOfDay and
// falls on yearDay.
func (p *Panel) Hourly(s *Sky, hourOfDay, yearDay int) Hour {
	g := p.PlaneWM2(s)
	return Hour{PlaneWM2: g, PerRatedW: p.ShareOfRated(g, p.CellC(g, s.AirC, s.WindMS)), AirC: s.AirC, HourOfDay: hourOfDay, YearDay: yearDay}
}

// System is a set that is tried.
type System struct {
	PanelW  float64 // rated [W]
	Battery Battery
	Loads   []Load
}

// Balance is what came of a run.
type Balance struct {
	Hours       int
	Days        int
	LoadWh      float64 // wanted [Wh]
	UnmetWh     float64 // wanted and not given [Wh]
	PanelWh     float64 // made, at the battery [Wh]
	SpilledWh   float64 // made and not used, the battery full or too cold [Wh]
	LostWh      float64 // lost in the battery [Wh]
	StartWh     float64 // stored at the start [Wh]
	EndWh       float64 // stored at the end [Wh]
	HoursShort  int     // hours in which something was lacking
	DaysShort   int     // days in which something was lacking
	LongestH    int     // hours of the longest span in which each hour lacked something
	LowestShare float64 // least stored, of the full battery [1]
}

// LossOfLoad returns the share of the wanted energy that was not given [1], the
// usual measure of a set's reliability.
func (b *Balance) LossOfLoad() float64 {
	if !(b.LoadWh > 0) {
		return 0
	}
	return b.UnmetWh / b.LoadWh
}

// Simulate carries a set through the hours in their order. storedShare is what
// the battery holds at the start, of its full energy [1]; NaN starts full. It
// does not allocate.
//
// The books close: StartWh + PanelWh = EndWh + (LoadWh − UnmetWh) + SpilledWh +
// LostWh.
func (s *System) Simulate(hours []Hour, storedShare float64) Balance {
	return s.run(hours, storedShare, 1, nil)
}

// run is Simulate for a panel of scale times the size; it calls visit, if not
// nil, with what was unmet in each hour.
func (s *System) run(hours []Hour, storedShare, scale float64, visit func(h *Hour, unmetWh float64)) Balance {
	b := Balance{Hours: len(hours), LowestShare: 1}
	full := s.Battery.FullWh()
	if math.IsNaN(storedShare) {
		storedShare = 1
	}
	stored := full * min(max(storedShare, 0), 1)
	b.StartWh = stored
	day, short, run := -1, false, 0
	for i := range hours {
		h := &hours[i]
		if h.YearDay != day {
			day, short = h.YearDay, false
			b.Days++
		}
		load := 0.0
		for k := range s.Loads {
			load += s.Loads[k].EnergyWh(h.HourOfDay, h.PlaneWM2)
		}
		made := h.PerRatedW * s.PanelW * scale
		next, unmet, spilled := s.Battery.hour(stored, made, load, h.AirC)
		b.LoadWh += load
		b.UnmetWh += unmet
		b.PanelWh += made
		b.SpilledWh += spilled
		b.LostWh += stored + made - next - (load - unmet) - spilled
		stored = next
		// A millionth of the load is rounding, not a lack.
		if unmet > 1e-6*load {
			b.HoursShort++
			run++
			b.LongestH = max(b.LongestH, run)
			if !short {
				short = true
				b.DaysShort++
			}
		} else {
			run = 0
		}
		if full > 0 {
			b.LowestShare = min(b.LowestShare, stored/full)
		}
		if visit != nil {
			visit(h, unmet)
		}
	}
	b.EndWh = stored
	return b
}

// Reliability is how a set does over many years.
type Reliability struct {
	Years       int
	LossOfLoad  float64   // share of the wanted energy not given, over all years [1]
	WorstYear   float64   // the same in the worst year [1]
	YearsShort  float64   // share of the years in which anything was lacking [1]
	DaysPerYear float64   // days with a lack in a mean year [d]
	LongestH    float64   // longest span without a break, of all years [h]
	ByMonth     [12]Month // where in the year it lacks
	SpilledPart float64   // share of what the panel made that was not used [1]
}

// Month is one month of the year over all years.
type Month struct {
	LossOfLoad float64 // share of the wanted energy not given [1]
	LoadWh     float64 // wanted in a mean year [Wh]
	loadWh     float64
	unmetWh    float64
}

// Worst returns the month, 1 to 12, in which most of the wanted energy lacks,
// and that share [1]; 0 where nothing does.
func (r *Reliability) Worst() (month int, loss float64) {
	for i := range r.ByMonth {
		if r.ByMonth[i].LossOfLoad > loss {
			month, loss = i+1, r.ByMonth[i].LossOfLoad
		}
	}
	return month, loss
}

// monthEnds are the days of the year, from 0, on which months end.
var monthEnds = [12]int{31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 400}

func monthOf(yearDay int) int {
	for i, end := range monthEnds {
		if yearDay < end {
			return i
		}
	}
	return 11
}

// Over runs a set through years of weather, each in the order of its hours. A
// year begins with what the one before left; the first begins full.
func (s *System) Over(years [][]Hour) Reliability {
	r := Reliability{Years: len(years)}
	var load, unmet, made, spilled float64
	stored := math.NaN()
	short, days := 0, 0
	for _, y := range years {
		b := s.run(y, stored, 1, func(h *Hour, unmetWh float64) {
			m := &r.ByMonth[monthOf(h.YearDay)]
			m.unmetWh += unmetWh
			for k := range s.Loads {
				m.loadWh += s.Loads[k].EnergyWh(h.HourOfDay, h.PlaneWM2)
			}
		})
		if full := s.Battery.FullWh(); full > 0 {
			stored = b.EndWh / full
		}
		load, unmet, made, spilled = load+b.LoadWh, unmet+b.UnmetWh, made+b.PanelWh, spilled+b.SpilledWh
		r.WorstYear = max(r.WorstYear, b.LossOfLoad())
		r.LongestH = max(r.LongestH, float64(b.LongestH))
		days += b.DaysShort
		if b.HoursShort > 0 {
			short++
		}
	}
	if n := float64(len(years)); n > 0 {
		r.YearsShort, r.DaysPerYear = float64(short)/n, float64(days)/n
		for i := range r.ByMonth {
			m := &r.ByMonth[i]
			m.LoadWh = m.loadWh / n
			if m.loadWh > 0 {
				m.LossOfLoad = m.unmetWh / m.loadWh
			}
		}
	}
	if load > 0 {
		r.LossOfLoad = unmet / load
	}
	if made > 0 {
		r.SpilledPart = spilled / made
	}
	return r
}

// loss is the loss of load over the years for a panel of scale times the size,
// and no more: what a search for a size asks often.
func (s *System) loss(years [][]Hour, scale float64) float64 {
	var load, unmet float64
	stored := math.NaN()
	for _, y := range years {
		b := s.run(y, stored, scale, nil)
		if full := s.Battery.FullWh(); full > 0 {
			stored = b.EndWh / full
		}
		load, unmet = load+b.LoadWh, unmet+b.UnmetWh
	}
	if !(load > 0) {
		return 0
	}
	return unmet / load
}
