package keeper

import (
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// verdict is what became of a value that was read.
type verdict struct {
	quantity Quantity
	value    float64  // in the unit of quantity
	spread   num.Band // what the reading alone says, in the unit of quantity
	expected num.Band // what the twin expected, in the unit of quantity
	doubt    string   // key; empty if it is believed
	again    int      // doubted readings of its kind in a row
}

// flagSigma widens a density reading by what its maker flagged, as the standard
// deviation of its logarithm, and moves it by its bias. Judgement, no source:
// the signs follow from what each does to the light.
var flagSigma = map[string]struct{ bias, sd float64 }{
	"unstirred": {0, 0.35}, "pump_off": {0, 0.35}, "chalk": {0.25, 0.25}, "foreign_greens": {0.2, 0.2},
	"pale_cells": {-0.2, 0.2}, "low_sun": {0.08, 0.1}, "floating_clumps": {0, 0.3}, "other_observer": {0, 0.1}, "after_rain": {0, 0.1},
}

// toTwin turns a value into a reading of the twin, by the farm's own curves where
// it has them; false if the twin learns nothing from it.
func toTwin(r *farm.Reading, o *own) (twin.Reading, Quantity, num.Band, bool) {
	op := byte('=')
	if r.Op != "" {
		op = r.Op[0]
	}
	out := twin.Reading{Op: op}
	bias, flagVar := 0.0, 0.0
	for _, f := range r.Flags {
		s := flagSigma[f]
		bias += s.bias
		flagVar += s.sd * s.sd
	}
	strip := r.Instrument == "strip"
	band := func(lo, mid, hi float64) num.Band { return num.Band{Low: lo, Mid: mid, High: hi} }
	const tenth = 1.2816
	around := func(x, sd float64) num.Band { return band(x-tenth*sd, x, x+tenth*sd) }
	switch r.Key {
	case "secchi_cm":
		if r.Value <= 0 {
			return out, "", num.Band{}, false
		}
		out = twin.ReadSecchi(r.Value)
		if o != nil && o.secchi != nil {
			out = o.secchi.Reading(r.Value)
		}
		out = out.Spoiled(-bias, math.Sqrt(flagVar))
		out.Op = op
		sd := math.Hypot(out.Sigma, out.Abs/r.Value)
		return out, SecchiCM, band(r.Value*math.Exp(-tenth*sd), r.Value, r.Value*math.Exp(tenth*sd)), true
	case "od_750", "od_680", "od_560":
		if r.Value <= 0.005 {
			return out, "", num.Band{}, false
		}
		if r.Key != "od_750" {
			flagVar += 0.2 * 0.2 // another wavelength, another constant
		}
		out = twin.ReadOD(r.Value)
		if o != nil && o.od != nil && r.Key == "od_750" {
			out = o.od.Reading(r.Value)
		}
		out = out.Spoiled(bias, math.Sqrt(flagVar))
		out.Op = op
		sd := math.Hypot(out.Sigma, out.Abs/r.Value)
		x := o.photometer(r.Value)
		return out, DensityGPerL, band(x*math.Exp(-tenth*sd), x, x*math.Exp(tenth*sd)), true
	case "dry_weight_g_per_l":
		if r.Value <= 0 {
			return out, "", num.Band{}, false
		}
		out.Kind, out.Value, out.Slip = twin.DryWeight, math.Log(r.Value), 5
		out.Sigma = math.Hypot(0.07, math.Sqrt(flagVar))
		return out, DensityGPerL, band(r.Value*math.Exp(-tenth*out.Sigma), r.Value, r.Value*math.Exp(tenth*out.Sigma)), true
	case "ph":
		out.Kind, out.Value, out.Sigma, out.Slip = twin.PH, r.Value, 0.05, 6
		if strip {
			out.Sigma = 0.35
		}
		return out, PH, around(r.Value, out.Sigma), true
	case "temp_c":
		out.Kind, out.Value, out.Sigma, out.Slip = twin.Temp, r.Value, 0.6, 40
		return out, TempC, around(r.Value, out.Sigma), true
	case "level_cm":
		out.Kind, out.Value, out.Sigma, out.Slip = twin.Level, r.Value, 0.3, 60
		return out, LevelCM, around(r.Value, out.Sigma), true
	case "conductivity_ms_per_cm":
		if r.Value <= 0 {
			return out, "", num.Band{}, false
		}
		out.Kind, out.Value, out.Sigma, out.Slip = twin.Conductivity, math.Log(r.Value), 0.03, 4
		return out, ConductivityM, around(r.Value, 0.03*r.Value), true
	case "nitrate_mg_per_l", "nitrate_n_mg_per_l":
		molar := 62.004
		if r.Key == "nitrate_n_mg_per_l" {
			molar = 14.007
		}
		if r.Value <= 0 {
			return out, "", num.Band{}, false
		}
		out = twin.ReadNitrate(r.Value / molar)
		out.Op = op
		return out, "", num.Band{}, true
	case "ammonia_mg_per_l", "ammonia_n_mg_per_l":
		molar := 18.039
		if r.Key == "ammonia_n_mg_per_l" {
			molar = 14.007
		}
		if r.Value <= 0 {
			return out, "", num.Band{}, false
		}
		out = twin.ReadAmmonia(r.Value / molar)
		out.Op = op
		return out, "", num.Band{}, true
	}
	return out, "", num.Band{}, false
}

// natural brings a band from the scale of a kind to the unit of its quantity.
func natural(k twin.Kind, b num.Band, o *own) num.Band {
	switch k {
	case twin.Secchi:
		if o != nil && o.secchi != nil {
			return num.Band{Low: o.secchi.Read(b.Low), Mid: o.secchi.Read(b.Mid), High: o.secchi.Read(b.High)}
		}
		return num.Band{Low: math.Exp(b.Low), Mid: math.Exp(b.Mid), High: math.Exp(b.High)}
	case twin.DryWeight, twin.Conductivity, twin.Nitrate, twin.Ammonia:
		return num.Band{Low: math.Exp(b.Low), Mid: math.Exp(b.Mid), High: math.Exp(b.High)}
	case twin.OD:
		k := growth.ODPerUnit
		if o != nil && o.od != nil {
			k = math.Exp(o.od.LnConstant)
		}
		return num.Band{Low: k * math.Exp(b.Low), Mid: k * math.Exp(b.Mid), High: k * math.Exp(b.High)}
	}
	return b
}

// ownDoubts are doubts of the journal that say the value itself is not to be used.
var ownDoubts = []string{farm.DoubtRange, farm.DoubtDeeper, farm.DoubtAboveRim, farm.DoubtFlagged, farm.DoubtRivals}

// read lets the values of an event correct the twin.
func (t *track) read(p *farm.Present, e *farm.Event, checks []meterCheck) {
	for _, r := range e.Readings() {
		tr, q, spread, ok := toTwin(&r, t.own)
		if !ok {
			continue
		}
		if r.Key == "ph" && r.Instrument != "strip" && failed(checks, r.Instrument, r.At) {
			tr.Sigma = math.Hypot(tr.Sigma, failedSD)
		}
		v := verdict{quantity: q, value: r.Value, spread: spread}
		for _, d := range r.Doubts {
			if slices.Contains(ownDoubts, d.Key) {
				v.doubt = d.Key
			}
		}
		if v.doubt == "" && toldTwice(p, t.spec.ID, &r) {
			v.doubt = doubtTwice
		}
		if t.holdsNothing() && v.doubt == "" {
			if r.Key == "temp_c" {
				continue // what an empty vessel may well show
			}
			v.doubt = doubtEmpty
		}
		if v.doubt == doubtTwice || v.doubt == doubtEmpty || t.ens == nil {
			t.verdicts[r.EntryID+"/"+r.Key] = v
			continue
		}
		var said twin.Verdict
		if v.doubt == "" {
			to := t.ens
			if t.own != nil && t.own.taken[r.EntryID+"/"+r.Key] {
				// It went into the farm's own curve together with the dry weight
				// beside it, which the twin is told by itself: told again it would
				// count twice. It is only looked at.
				to = to.Copy()
			}
			said = to.Assimilate(tr)
			v.expected = natural(tr.Kind, said.Expected, t.own)
			if !said.Believed {
				v.doubt = "doubt.unlike"
			}
		}
		last := t.doubted[tr.Kind]
		switch {
		case v.doubt == "":
			t.doubted[tr.Kind] = streak{}
		case v.doubt == "doubt.unlike" && last.n > 0 && math.Abs(last.value-tr.Value) < 3*said.Error && believable(tr.Kind):
			// Two that agree with each other and not with the twin: the twin is
			// wrong. It is opened up and takes the second.
			t.ens.Open(tr.Kind, math.Abs(tr.Value-said.Expected.Mid))
			if t.ens.Assimilate(tr).Believed {
				v.doubt = ""
				t.doubted[tr.Kind] = streak{}
			}
		default:
			t.doubted[tr.Kind] = streak{last.n + 1, tr.Value}
			v.again = last.n + 1
		}
		t.verdicts[r.EntryID+"/"+r.Key] = v
	}
}

// Doubts that only who follows the vessel can have.
const (
	doubtEmpty = "doubt.empty" // nothing was in the vessel then
	doubtTwice = "doubt.twice" // the same was told a moment before
)

// holdsNothing reports whether the journal has the vessel empty by now.
func (t *track) holdsNothing() bool {
	return t.ens == nil || t.ens.Share(func(m *twin.Member) bool { return m.Pond.VolumeL() > 0.001 }) < 0.5
}

// twiceWithin is how soon the same value of the same person counts as told twice:
// a second tap, or one reading that came in by two ways. Judgement.
const twiceWithin = 2 * time.Minute

// toldTwice reports whether the same person told the same value of a vessel a
// moment before.
func toldTwice(p *farm.Present, vessel string, r *farm.Reading) bool {
	for _, o := range p.Readings(vessel, r.At.Add(-twiceWithin), r.At.Add(time.Millisecond), r.Key) {
		if o.EntryID == r.EntryID {
			return false
		}
		if o.Value == r.Value && o.Op == r.Op && o.By == r.By && o.Instrument == r.Instrument {
			return true
		}
	}
	return false
}

// believable are the kinds of which two agreeing readings outweigh the twin: a
// stick and a thermometer do not fail the same way twice. A pH meter does.
func believable(k twin.Kind) bool { return k != twin.PH && k != twin.Conductivity }

// streak is a run of doubted readings of one kind.
type streak struct {
	n     int
	value float64
}
