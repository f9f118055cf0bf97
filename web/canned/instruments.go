package canned

import (
	"context"
	"math"
	"time"

	"sodalake/keeper"
	"sodalake/science/num"
)

// Calibration is an invented disc with its pairs, and how the meters stand.
func (f *Farm) Calibration(context.Context, time.Time) (keeper.Calibration, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.Calibration{}, f.Fail
	}
	curve := func(constant, spread, low, high, sign float64) keeper.OwnCurve {
		c := keeper.OwnCurve{Slope: 1, Pairs: []keeper.OwnPair{}}
		band := func(x float64) num.Band {
			return num.Band{Low: x * math.Exp(-spread), Mid: x, High: x * math.Exp(spread)}
		}
		c.Constant, c.Before = band(constant), band(constant)
		for i := range 21 {
			x := low * math.Pow(high/low, float64(i)/20)
			c.Read, c.DryGPerL = append(c.Read, x), append(c.DryGPerL, band(constant*math.Pow(x, sign)))
		}
		return c
	}
	out := keeper.Calibration{Secchi: curve(1.2, .28, 1, 12, -1), OD: curve(.5, .25, .1, 2, 1), Meters: []keeper.MeterState{}}
	if len(f.entries) == 0 {
		return out, nil
	}
	before := out.Secchi.Constant
	out.Secchi = curve(1.05, .09, 1, 26, -1)
	out.Secchi.Before, out.Secchi.Used, out.Secchi.Misfit = before, 4, 1.3
	for i, p := range []keeper.OwnPair{{Vessel: "boat-pond", Read: 2.4, DryGPerL: .45}, {Vessel: "boat-pond", Read: 3.1, DryGPerL: .33}, {Vessel: "lantern-pond", Read: 1.7, DryGPerL: .6}, {Vessel: "cistern-tank", Read: 5.2, DryGPerL: .21}, {Vessel: "lantern-pond", Read: 24, DryGPerL: .5, Left: "own.far"}} {
		p.At, p.EntryID = Now.AddDate(0, 0, -60+12*i), f.entries[0].ID
		out.Secchi.Pairs = append(out.Secchi.Pairs, p)
	}
	for _, i := range f.present.Instruments() {
		if i.Measures == "ph" {
			out.Meters = append(out.Meters, keeper.MeterState{ID: i.ID, Name: i.Name, EveryDays: 14, Checked: Now.AddDate(0, 0, -19), Result: "good", SlopePct: 96, State: "good", Measured: true, Bias: num.Band{Low: -.02, Mid: .06, High: .14}, Due: true, Read: true})
		}
	}
	return out, nil
}
