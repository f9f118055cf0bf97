package keeper

import (
	"context"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// Calibration is what a farm knows of its own instruments as of a moment.
type Calibration struct {
	Secchi OwnCurve     `json:"secchi"`
	OD     OwnCurve     `json:"od_750"`
	Meters []MeterState `json:"meters"` // that read pH, strips left out
}

// OwnCurve is a disc or a photometer against dry weights.
type OwnCurve struct {
	Pairs    []OwnPair  `json:"pairs"`
	Used     int        `json:"used"`     // pairs that stand behind the curve [1]
	Constant num.Band   `json:"constant"` // where the pairs lie [g·cm/L], [g/L] for an optical density of 1
	Before   num.Band   `json:"before"`   // what it was taken for before any pair, in the same unit [g·cm/L], [g/L]
	Slope    float64    `json:"slope"`    // 1: the plain law [1]
	Misfit   float64    `json:"misfit"`   // scatter over what the errors say, a ratio of variances; 0 where it cannot be told [1]
	Read     []float64  `json:"read"`     // points of the curve [cm], [1]
	DryGPerL []num.Band `json:"dry_g_per_l"`
}

// OwnPair is one pair.
type OwnPair struct {
	At       time.Time `json:"at"`
	Vessel   string    `json:"vessel"` // id
	Read     float64   `json:"read"`   // [cm], or optical density [1]
	DryGPerL float64   `json:"dry_g_per_l"`
	EntryID  string    `json:"entry_id"`       // of the dry weight
	Left     string    `json:"left,omitempty"` // why it is left out: a key of the catalogue
}

// Calibration is what the farm knows of its own instruments as of a moment; a
// zero at is now. It waits for no twin.
func (k *Keeper) Calibration(_ context.Context, at time.Time) (Calibration, error) {
	at = k.moment(at)
	k.mu.RLock()
	defer k.mu.RUnlock()
	_, zone, _ := site(k.present)
	o := ownOf(pairsOf(k.present), at.Add(time.Millisecond))
	return Calibration{
		Secchi: o.curve(twin.Secchi, o.secchi, zone), OD: o.curve(twin.OD, o.od, zone),
		Meters: metersAt(k.present, checksOf(k.present), at),
	}, nil
}

func (o *own) curve(kind twin.Kind, c *twin.Curve, zone *time.Location) OwnCurve {
	out := OwnCurve{Pairs: []OwnPair{}, Slope: 1, Before: spreadOf(growth.SecchiConstant, growth.SecchiConstantSD), Read: []float64{}, DryGPerL: []num.Band{}}
	low, high := 1.0, 12.0 // cm: what ponds show
	if kind == twin.OD {
		out.Before = spreadOf(growth.ODPerUnit, growth.ODPerUnitSD)
		low, high = 0.1, 2
	}
	out.Constant = out.Before
	for _, x := range o.pairs {
		if x.kind != kind {
			continue
		}
		out.Pairs = append(out.Pairs, OwnPair{At: x.at.In(zone), Vessel: x.vessel, Read: x.read, DryGPerL: x.dryGL, EntryID: x.dryID, Left: x.left})
		low, high = math.Min(low, x.read), math.Max(high, x.read)
		if x.left == "" {
			out.Used++
		}
	}
	if c != nil {
		out.Constant, out.Slope = spreadOf(math.Exp(c.LnConstant), c.SD), c.Slope
		if !math.IsNaN(c.Misfit) {
			out.Misfit = c.Misfit
		}
	}
	const points = 24
	for i := range points + 1 {
		read := low * math.Pow(high/low, float64(i)/points)
		b := spreadOf(out.Constant.Mid/read, growth.SecchiConstantSD)
		switch {
		case c != nil:
			b = c.DensityGL(read)
		case kind == twin.OD:
			b = spreadOf(out.Constant.Mid*read, growth.ODPerUnitSD)
		}
		out.Read, out.DryGPerL = append(out.Read, read), append(out.DryGPerL, b)
	}
	return out
}

// MeterState is how a pH meter stands.
type MeterState struct {
	ID        string    `json:"id"`
	Name      string    `json:"name"`
	EveryDays int       `json:"every_days"` // check due that often [d]
	Checked   time.Time `json:"checked,omitzero"`
	EntryID   string    `json:"entry_id,omitempty"`
	Result    string    `json:"result,omitempty"`    // "good", "adjusted", "failed"
	SlopePct  float64   `json:"slope_pct,omitempty"` // found then [%]; 0: not found
	State     string    `json:"state,omitempty"`     // of the electrode by its slope: "good", "worn", "failing"
	Measured  bool      `json:"measured"`            // buffers were written down, not only how it came out
	Bias      num.Band  `json:"bias"`                // what it shows too much at pH 10 by now [1]
	Due       bool      `json:"due"`                 // the check is older than EveryDays, or there was none
	Read      bool      `json:"read"`                // it, or a meter without a name, was read within a month
}

// meterEvery is how often a pH meter is checked where nothing else was said [d].
// Common practice, no source: weekly to monthly; meters in strong soda drift.
const meterEvery = 14

// driftADay is the drift of a meter, a standard deviation for one day that grows
// with the root of time [1]; as in package twin.
const driftADay = 0.01

// metersAt is how the pH meters stand at a moment, by their checks.
func metersAt(p *farm.Present, checks []meterCheck, at time.Time) []MeterState {
	out := []MeterState{}
	_, zone, _ := site(p)
	read := map[string]bool{}
	for _, v := range p.Vessels() {
		for _, r := range p.Readings(v.ID, at.AddDate(0, 0, -30), at.Add(time.Millisecond), "ph") {
			read[r.Instrument] = true
		}
	}
	for _, i := range p.Instruments() {
		if i.Measures != "ph" || i.Make == "strip" || i.Retired {
			continue
		}
		m := MeterState{ID: i.ID, Name: i.Name, EveryDays: i.EveryDays, Due: true, Read: read[i.ID] || read[""] || read["meter"]}
		if m.EveryDays == 0 {
			m.EveryDays = meterEvery
		}
		if m.Name == "" {
			m.Name = i.ID
		}
		if day, err := time.ParseInLocation(time.DateOnly, i.LastCheck, zone); err == nil && !day.After(at) {
			m.Checked = day
		}
		m.Bias = bandOf(0, phBiasSD)
		for _, c := range checks {
			if c.instrument != i.ID || c.at.After(at) {
				continue
			}
			m.Checked, m.EntryID, m.Result, m.Measured = c.at.In(zone), c.entryID, c.result, c.measured
			m.SlopePct, m.State = 0, ""
			if c.measured && !math.IsNaN(c.slope) {
				m.SlopePct, m.State = 100*c.slope, c.meter.State()
			}
			bias, sd := c.leaves(10, 25)
			m.Bias = bandOf(bias, math.Hypot(sd, driftADay*math.Sqrt(at.Sub(c.at).Hours()/24)))
		}
		if !m.Checked.IsZero() {
			m.Due = at.Sub(m.Checked) > time.Duration(m.EveryDays)*24*time.Hour || m.Result == "failed"
		}
		out = append(out, m)
	}
	return out
}

func bandOf(mid, sd float64) num.Band {
	const tenth = 1.2815515655446004
	return num.Band{Low: mid - tenth*sd, Mid: mid, High: mid + tenth*sd}
}
