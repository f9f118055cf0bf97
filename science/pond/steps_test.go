package pond_test

import (
	"math"
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// scenes are vessels in weathers that try the step in different ways.
func scenes(tb testing.TB) map[string]func() (pond.Vessel, climate) {
	must := func(g *vessel.Geometry, err error) *vessel.Geometry {
		if err != nil {
			tb.Fatal(err)
		}
		return g
	}
	return map[string]func() (pond.Vessel, climate){
		"summer raceway": func() (pond.Vessel, climate) { return raceway(tb, zarrouk), fair },
		"cold and bright": func() (pond.Vessel, climate) {
			return raceway(tb, farmMedium), climate{clear: 1, airC: 14, swingC: 8, rhPct: 40, windMS: 3}
		},
		"dilute in the sun": func() (pond.Vessel, climate) {
			v := raceway(tb, farmMedium)
			v.BiomassG /= 5
			return v, fair
		},
		"fresh medium, thin water": func() (pond.Vessel, climate) {
			v := standing(must(vessel.NewBox(2, 1, 0.12)))
			fill(tb, &v, farmMedium, 0.08, 0.6)
			return v, fair
		},
		"carbon and nitrogen running out": func() (pond.Vessel, climate) {
			v := raceway(tb, map[string]float64{"NaHCO3": 2, "KNO3": 0.05, "K2SO4": 0.2, "KH2PO4": 0.1, "MgSO4.7H2O": 0.1, "FeSO4.7H2O": 0.01})
			return v, fair
		},
		"tunnel": func() (pond.Vessel, climate) {
			v := raceway(tb, farmMedium)
			v.Setting.SetCover(vessel.Tunnel)
			return v, climate{clear: 0.8, airC: 16, swingC: 6, rhPct: 60, windMS: 2}
		},
		"bottle by the window, urea": func() (pond.Vessel, climate) {
			v := standing(must(vessel.NewBottle(0.24, 0.3, 0.08, 0.05, 0.06)))
			v.Side = true
			fill(tb, &v, farmMedium, 0.3, 0.15)
			var urea brine.Totals
			urea[brine.Urea] = 0.004
			v.Do(&pond.Act{Salts: urea}, nil)
			return v, climate{clear: 0.35, airC: 25, swingC: 3, rhPct: 50, windMS: 0.3}
		},
	}
}

// Ten minutes against five and one: within 0.5 % of the density and 0.1 °C at
// every full hour of six days.
func TestStepHalving(t *testing.T) {
	const days = 6
	type hour struct{ gl, tempC, ph float64 }
	run := func(start func() (pond.Vessel, climate), step time.Duration) (out []hour) {
		v, c := start()
		w := c.sampled(t, june, days, step)
		per := int(time.Hour / step)
		var seen pond.Seen
		for i := range w {
			v.Step(&w[i], step.Seconds(), nil, &seen)
			if (i+1)%per == 0 {
				tot := v.Molality()
				var water brine.Water
				if err := brine.New(brine.Pitzer).Solve(&tot, 25, &water); err != nil {
					t.Fatal(err)
				}
				out = append(out, hour{v.DensityGL(), v.Heat.WaterC, water.PH})
			}
		}
		return out
	}
	for name, start := range scenes(t) {
		fine := run(start, time.Minute)
		var worst [2]struct{ gl, tempC, ph float64 }
		for k, step := range []time.Duration{10 * time.Minute, 5 * time.Minute} {
			for i, h := range run(start, step) {
				worst[k].gl = math.Max(worst[k].gl, math.Abs(h.gl/fine[i].gl-1))
				worst[k].tempC = math.Max(worst[k].tempC, math.Abs(h.tempC-fine[i].tempC))
				worst[k].ph = math.Max(worst[k].ph, math.Abs(h.ph-fine[i].ph))
			}
		}
		t.Logf("%-34s 10 min: %.3f %%, %.3f °C, pH %.4f; 5 min: %.3f %%, %.3f °C, pH %.4f", name,
			100*worst[0].gl, worst[0].tempC, worst[0].ph, 100*worst[1].gl, worst[1].tempC, worst[1].ph)
		if worst[0].gl > 0.005 || worst[0].tempC > 0.1 || worst[0].ph > 0.015 {
			t.Errorf("%s: ten minutes are %.2f %%, %.3f °C, pH %.3f off one", name, 100*worst[0].gl, worst[0].tempC, worst[0].ph)
		}
		// Along tangents of the chemistry there is a floor to it, some 0.1 %.
		if worst[1].gl > math.Max(0.75*worst[0].gl, 1.2e-3) {
			t.Errorf("%s: halving the step does not bring it nearer: %.4f %% and %.4f %%", name, 100*worst[1].gl, 100*worst[0].gl)
		}
	}
}

// The pH that a step sees, along tangents and kept coefficients, is that of a
// fresh solve within 0.005.
func TestPHIsFresh(t *testing.T) {
	for name, start := range scenes(t) {
		v, c := start()
		w := c.sampled(t, june, 6, 10*time.Minute)
		fresh := brine.New(brine.Pitzer)
		var seen pond.Seen
		var water brine.Water
		worst := 0.0
		for i := range w {
			tot, tempC := v.Molality(), v.Heat.WaterC
			v.Step(&w[i], pond.StepS, nil, &seen)
			if err := fresh.Solve(&tot, tempC, &water); err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(seen.PH-water.PH))
		}
		t.Logf("%-34s off by %.4f at most", name, worst)
		if worst > 0.005 {
			t.Errorf("%s: pH is %.4f off a fresh solve, want 0.005", name, worst)
		}
	}
}
