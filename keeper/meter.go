package keeper

import (
	"math"
	"time"

	"sodalake/farm"
	"sodalake/science/twin"
)

// meterCheck is a check of a pH meter as the journal has it.
type meterCheck struct {
	at         time.Time
	entryID    string
	instrument string
	result     string
	measured   bool    // expected and read were written down
	slope      float64 // found in a second buffer [1]; NaN: not found
	meter      twin.Meter
}

// Errors of a meter, standard deviations [1]. Judgement, no source.
const (
	setSD    = 0.03 // set by buffers a moment ago
	goodSD   = 0.05 // found good, without figures
	phBiasSD = 0.08 // never checked: a cheap meter in sodium brine
	failedSD = 0.35 // found failing: worth no more than a strip
)

// checksOf are the checks of pH meters, in order of time.
func checksOf(p *farm.Present) []meterCheck {
	reads := map[string]bool{}
	for _, i := range p.Instruments() {
		reads[i.ID] = i.Measures == "ph" && i.Make != "strip"
	}
	var out []meterCheck
	for _, ref := range p.KindRefs("checked", time.Time{}, time.Time{}) {
		e, ok := p.Event(ref.ID)
		if !ok || !reads[e.Body.Text("instrument")] {
			continue
		}
		out = append(out, checkOf(&e))
	}
	return out
}

func checkOf(e *farm.Event) meterCheck {
	c := meterCheck{at: e.Entry.At, entryID: e.Entry.ID, instrument: e.Body.Text("instrument"), result: e.Body.Text("result"), slope: math.NaN()}
	expected, ok1 := e.Body.Number("expected")
	read, ok2 := e.Body.Number("read")
	if pct, ok := e.Body.Number("slope_pct"); ok {
		c.slope = pct / 100
	}
	tempC := 25.0
	if t, ok := e.Body.Number("temp_c"); ok {
		tempC = t
	}
	if ok1 && ok2 {
		m, err := twin.FoundMeter(expected, read, c.slope, tempC)
		c.meter, c.measured = m, err == nil
	}
	return c
}

// leaves is what a meter shows too much [1] in water of a pH [1] at a
// temperature [°C] once a check is over, and its standard deviation [1].
func (c *meterCheck) leaves(ph, tempC float64) (bias, sd float64) {
	switch {
	case c.result == "adjusted":
		return 0, setSD
	case c.measured:
		bias, sd = c.meter.Bias(ph, tempC)
		return bias, sd
	case c.result == "failed":
		return 0, failedSD
	}
	return 0, goodSD
}

// checked lets a check of a pH meter teach a vessel what its readings carried
// with them. Readings stay as they were shown; the members learn the bias, and
// with it what the shown ones had said of carbon. From then on it drifts.
func (t *track) checked(p *farm.Present, c *meterCheck) {
	if t.ens == nil {
		return
	}
	last, ok := p.LastReading(t.spec.ID, "ph", c.at)
	if ok && last.Instrument != "" && last.Instrument != "meter" && last.Instrument != c.instrument {
		return // read with another
	}
	ph, tempC := 10.0, 25.0
	if ok && c.at.Sub(last.At) < 30*24*time.Hour {
		ph = last.Value
	}
	if b := t.ens.Band(func(m *twin.Member) float64 { return m.Pond.Heat.WaterC }); b.Mid > 0 && b.Mid < 50 {
		tempC = b.Mid
	}
	found := twin.Reading{Kind: twin.MeterCheck, Value: 0, Sigma: goodSD, Op: '=', Slip: 4}
	switch {
	case c.measured:
		found = c.meter.Reading(ph, tempC)
	case c.result != "good":
		found.Sigma = math.NaN() // nothing was found
	}
	if found.Usable() {
		t.learn(found)
	}
	if c.result == "adjusted" {
		t.ens.Adjusted(setSD)
	}
}

// learn takes a bias that buffers showed: it was measured, so where the members
// think otherwise it is they that are wrong.
func (t *track) learn(found twin.Reading) {
	if said := t.ens.Assimilate(found); !said.Believed {
		t.ens.Open(twin.MeterCheck, math.Abs(found.Value-said.Innovation.Expected))
		t.ens.Assimilate(found)
	}
}

// meterBefore gives a vessel that is begun the last check from before, widened by
// the drift since.
func (t *track) meterBefore(checks []meterCheck, at time.Time) {
	for i := len(checks) - 1; i >= 0; i-- {
		c := &checks[i]
		if c.at.After(at) {
			continue
		}
		bias, sd := c.leaves(10, 25)
		sd = math.Hypot(sd, driftADay*math.Sqrt(at.Sub(c.at).Hours()/24))
		if sd < phBiasSD {
			t.learn(twin.Reading{Kind: twin.MeterCheck, Value: bias, Sigma: sd, Op: '=', Slip: 4})
		}
		return
	}
}

// trueOf is what a meter's showing of a pH [1] in water of a temperature [°C] at a
// moment stands for, by the check nearest to it in time; shown itself where none
// was measured. A check that ended with setting the meter speaks of what was shown
// before it.
func trueOf(checks []meterCheck, instrument string, at time.Time, shown, tempC float64) float64 {
	var best *meterCheck
	for i := range checks {
		c := &checks[i]
		if instrument != "" && instrument != "meter" && c.instrument != instrument {
			continue
		}
		if c.result == "adjusted" && !c.at.After(at) {
			best = nil // set since: nothing known against it
			continue
		}
		if c.measured && (best == nil || absDur(c.at.Sub(at)) < absDur(best.at.Sub(at))) {
			best = c
		}
		if c.at.After(at) {
			break // the first after it is the last that speaks of it
		}
	}
	if best == nil {
		return shown
	}
	return best.meter.True(shown, tempC)
}

// failed reports whether the last check before a moment found an instrument
// failing; a reading that names none was made with the one first checked.
func failed(checks []meterCheck, instrument string, at time.Time) bool {
	bad := map[string]bool{}
	for i := range checks {
		if c := &checks[i]; !c.at.After(at) {
			bad[c.instrument] = c.result == "failed"
			if instrument == "" || instrument == "meter" {
				instrument = c.instrument
			}
		}
	}
	return bad[instrument]
}
