package pond_test

import (
	"math"
	"testing"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/pond"
	"sodalake/science/vessel"

	"pgregory.net/rapid"
)

// fataler is a test or a rapid check.
type fataler interface {
	Helper()
	Fatalf(format string, args ...any)
}

// sound checks that a vessel holds nothing that cannot be.
func sound(t fataler, v *pond.Vessel, s *pond.Seen, where string) {
	t.Helper()
	h := v.Holds()
	for name, x := range map[string]float64{
		"water": h.WaterKg, "dry matter": h.BiomassG, "calcium in cells": h.CalciumMol, "chalk": h.SolidMol,
		"damage": v.Damage, "night share": v.NightQ, "volume": v.VolumeL(), "density": v.DensityGL(),
	} {
		if !(x >= 0) || math.IsInf(x, 0) {
			t.Fatalf("%s: %s is %g", where, name, x)
		}
	}
	for k, mol := range h.Mol {
		if !(mol >= 0) || math.IsInf(mol, 0) {
			t.Fatalf("%s: %v is %g mol", where, brine.Total(k), mol)
		}
	}
	if v.Damage > 1 {
		t.Fatalf("%s: damage is %g", where, v.Damage)
	}
	for _, c := range []float64{v.Heat.WaterC, v.Heat.SoilC[0], v.Heat.SoilC[1], v.Heat.AirC, v.Heat.CoverC} {
		if !(c > -60 && c < 90) {
			t.Fatalf("%s: a temperature of %g °C", where, c)
		}
	}
	for name, x := range map[string]float64{"pH": s.PH, "level": s.LevelM, "light": s.PAR, "oxygen": s.OxygenMgL, "ammonia": s.FreeNH3MM, "bicarbonate": s.HCO3MM, "cut": s.CutG} {
		if !(x >= 0) || math.IsInf(x, 0) {
			t.Fatalf("%s: %s is %g", where, name, x)
		}
	}
}

// Every edge that a grower's vessel can come to.
func TestEdges(t *testing.T) {
	shallow := func() pond.Vessel {
		g, err := vessel.NewBox(2, 1, 0.1)
		if err != nil {
			t.Fatal(err)
		}
		v := standing(g)
		fill(t, &v, farmMedium, 0.03, 0.4)
		return v
	}
	for _, c := range []struct {
		name    string
		v       pond.Vessel
		climate climate
		days    int
		after   func(v *pond.Vessel, led *pond.Ledger)
	}{
		{"empty", func() pond.Vessel {
			g, _ := vessel.NewBox(2, 1, 0.3)
			return standing(g)
		}(), fair, 5, func(v *pond.Vessel, _ *pond.Ledger) {
			if v.WaterKg != 0 || v.DensityGL() != 0 {
				t.Errorf("an empty vessel holds %g kg and %g g/L", v.WaterKg, v.DensityGL())
			}
		}},
		{"drying out", shallow(), climate{clear: 1, airC: 34, swingC: 8, rhPct: 15, windMS: 5}, 20, func(v *pond.Vessel, _ *pond.Ledger) {
			if v.WaterKg > 1 {
				t.Errorf("3 cm did not dry in 20 hot days: %g kg left", v.WaterKg)
			}
		}},
		{"rain into a dry vessel", func() pond.Vessel { v := shallow(); v.WaterKg = 0.01; v.Settle(); return v }(),
			climate{clear: 0.1, airC: 15, rhPct: 95, rain: 2}, 2, func(v *pond.Vessel, _ *pond.Ledger) {
				near(t, "rain caught", v.WaterKg, 2*48*2, 10, "2 mm/h over 48 h on 2 m², less what dries")
			}},
		{"overflow", shallow(), climate{clear: 0.1, airC: 15, rhPct: 95, rain: 5}, 3, func(v *pond.Vessel, led *pond.Ledger) {
			near(t, "full to the rim", v.VolumeL(), v.Shape.CapacityL(), 0.01, "the rim")
			if led[pond.Overflowed].BiomassG >= 0 {
				t.Error("what runs over the rim takes no culture along")
			}
		}},
		{"no culture", func() pond.Vessel { v := shallow(); v.BiomassG = 0; v.Start(); return v }(), fair, 4, func(v *pond.Vessel, led *pond.Ledger) {
			if v.BiomassG != 0 || led[pond.Grown] != (pond.Account{}) {
				t.Error("something grew out of nothing")
			}
		}},
		{"no nitrogen", func() pond.Vessel {
			v := raceway(t, map[string]float64{"NaHCO3": 8, "K2SO4": 1, "KH2PO4": 0.1, "MgSO4.7H2O": 0.2, "FeSO4.7H2O": 0.01})
			return v
		}(), fair, 6, func(v *pond.Vessel, led *pond.Ledger) {
			if led[pond.Grown].BiomassG > 0 {
				t.Errorf("%g g grew without nitrogen", led[pond.Grown].BiomassG)
			}
		}},
		{"no light", raceway(t, zarrouk), climate{airC: 25, swingC: 3, rhPct: 60, windMS: 1}, 20, func(v *pond.Vessel, _ *pond.Ledger) {
			if x := v.DensityGL() / 0.5; !(x > 0.3 && x < 0.8) {
				t.Errorf("20 warm days in the dark leave %.2f of the culture", x)
			}
		}},
		{"hard frost", raceway(t, zarrouk), climate{clear: 0.5, airC: -15, swingC: 5, rhPct: 70, windMS: 2}, 12, func(v *pond.Vessel, _ *pond.Ledger) {
			if v.Heat.WaterC > 0 {
				t.Errorf("twelve days at -15 °C leave water at %.1f °C", v.Heat.WaterC)
			}
		}},
		{"45 °C", raceway(t, zarrouk), climate{clear: 1, airC: 45, swingC: 5, rhPct: 60, windMS: 1}, 8, func(v *pond.Vessel, _ *pond.Ledger) {
			if x := v.DensityGL() / 0.5; x > 0.1 {
				t.Errorf("eight days in water that passes 50 °C leave %.2f of the culture; handbook: 43 °C is the lethal risk", x)
			}
		}},
		{"storm", raceway(t, zarrouk), climate{clear: 0.3, airC: 18, rhPct: 100, windMS: 25, rain: 10}, 3, nil},
	} {
		v := c.v
		w := c.climate.weather(t, june, c.days)
		led := new(pond.Ledger)
		v.Run(june, june.AddDate(0, 0, c.days), w, nil, led, func(at time.Time, s *pond.Seen) {
			sound(t, &v, s, c.name+" at "+at.Format("01-02 15:04"))
		}, nil)
		if c.after != nil {
			c.after(&v, led)
		}
	}
}

// Freezing takes the heat of fusion: 15 cm of water in steady frost stand at the
// melting point for days before they go below it.
func TestFreezing(t *testing.T) {
	v := raceway(t, farmMedium)
	v.Setting.InGround = true
	v.Heat.WaterC = 2
	c := climate{airC: -6, rhPct: 80, windMS: 2}
	w := c.weather(t, june, 6)
	var at0, below time.Time
	v.Run(june, june.AddDate(0, 0, 6), w, nil, nil, func(at time.Time, _ *pond.Seen) {
		if v.Heat.WaterC < 0 && at0.IsZero() {
			at0 = at
		}
		if v.Heat.WaterC < -1 && below.IsZero() {
			below = at
		}
	}, nil)
	if at0.IsZero() {
		t.Fatal("it did not freeze")
	}
	// 150 kg/m² × 333.5 kJ/kg = 50 MJ/m²; at 100 to 200 W/m² that is 3 to 6 days.
	if !below.IsZero() && below.Sub(at0) < 60*time.Hour {
		t.Errorf("15 cm froze through in %v", below.Sub(at0))
	}
}

// Any vessel in any weather under any acts stays sound.
func TestAnyRunIsSound(t *testing.T) {
	media := []map[string]float64{farmMedium, zarrouk, hardMedium, {}, {"NaHCO3": 1}, {"Na2CO3": 20, "NaCl": 30, "NaNO3": 5}}
	rapid.Check(t, func(rt *rapid.T) {
		shape := []func() (*vessel.Geometry, error){
			func() (*vessel.Geometry, error) { return vessel.NewBox(2, 1, 0.3) },
			func() (*vessel.Geometry, error) { return vessel.NewBottle(0.2, 0.3, 0.1, 0.05, 0.05) },
			func() (*vessel.Geometry, error) { return vessel.NewLiner(3, 2, 0, 0, 0.4) },
			func() (*vessel.Geometry, error) { return vessel.NewLyingCylinder(0.3, 1) },
		}[rapid.IntRange(0, 3).Draw(rt, "shape")]
		g, err := shape()
		if err != nil {
			rt.Fatal(err)
		}
		v := standing(g)
		v.Side = g.Kind() == vessel.Bottle
		v.Setting.SetCover(vessel.Cover(rapid.IntRange(0, 2).Draw(rt, "cover")))
		v.Stir.Mixed = rapid.Float64Range(0, 1).Draw(rt, "mixed")
		v.Stir.PistonMH = rapid.Float64Range(0.001, 0.5).Draw(rt, "piston")
		v.Heat.WaterC = rapid.Float64Range(-5, 50).Draw(rt, "tempC")
		v.Start()
		v.Do(&pond.Act{Pour: made(t, rapid.SampledFrom(media).Draw(rt, "medium"), g.CapacityL()*rapid.Float64Range(0, 1.2).Draw(rt, "full"), rapid.Float64Range(0, 40).Draw(rt, "mediumC"))}, nil)
		v.Do(&pond.Act{Pour: pond.Parcel{BiomassG: v.VolumeL() * rapid.Float64Range(0, 3).Draw(rt, "density")}}, nil)
		led := new(pond.Ledger)
		before := v.Holds()
		var seen pond.Seen
		for range 60 {
			o := air.Outside{
				AirC: rapid.Float64Range(-25, 48).Draw(rt, "airC"), WindMS: rapid.Float64Range(0, 20).Draw(rt, "wind"),
				PressureKPa: rapid.Float64Range(60, 104).Draw(rt, "pressure"), RainMMPerH: rapid.SampledFrom([]float64{0, 0, 0, 1, 40}).Draw(rt, "rain"),
				GroundDeepC: 12,
			}
			o.VapourKPa = air.Saturation(o.AirC) * rapid.Float64Range(0.05, 1).Draw(rt, "rh")
			o.LongwaveWM2 = air.Longwave(rapid.Float64Range(0.6, 1).Draw(rt, "sky"), o.AirC)
			if rapid.Bool().Draw(rt, "day") {
				o.CosZenith = rapid.Float64Range(0.01, 1).Draw(rt, "cos")
				o.BeamWM2, o.DiffuseWM2 = o.CosZenith*rapid.Float64Range(0, 1000).Draw(rt, "beam"), rapid.Float64Range(0, 400).Draw(rt, "diffuse")
				o.BeamPAR, o.DiffusePAR = 2.06*o.BeamWM2, 2.06*o.DiffuseWM2
			}
			switch rapid.IntRange(0, 9).Draw(rt, "act") {
			case 0:
				v.Do(&pond.Act{ClothL: rapid.Float64Range(0, 2000).Draw(rt, "cloth"), CakeG: 4}, led)
			case 1:
				v.Do(&pond.Act{DrawL: rapid.Float64Range(0, 2000).Draw(rt, "draw")}, led)
			case 2:
				v.Do(&pond.Act{WaterL: rapid.Float64Range(0, 300).Draw(rt, "water")}, led)
			case 3:
				var salts brine.Totals
				which, mol := rapid.SampledFrom([]brine.Total{brine.Urea, brine.Ammonia, brine.DIC, brine.NO3}).Draw(rt, "salt"), rapid.Float64Range(0, 2).Draw(rt, "mol")
				salts[which] = mol
				if which == brine.NO3 {
					salts[brine.K] = mol
				}
				v.Do(&pond.Act{Salts: salts}, led)
			case 4:
				v.Do(&pond.Act{KeepGL: rapid.Float64Range(0.01, 1).Draw(rt, "keep")}, led)
			case 5:
				v.Do(&pond.Act{FillToM: rapid.Float64Range(0, 0.4).Draw(rt, "fill")}, led)
			}
			for range rapid.IntRange(1, 8).Draw(rt, "steps") {
				v.Step(&o, rapid.SampledFrom([]float64{600, 600, 600, 1, 37}).Draw(rt, "dt"), led, &seen)
				sound(rt, &v, &seen, "after a step")
			}
		}
		sum, after := led.Sum(), v.Holds()
		turn := 0.0
		for l := range led {
			turn += math.Abs(led[l].WaterKg)
		}
		if d := before.WaterKg + sum.WaterKg - after.WaterKg; math.Abs(d) > 1e-9*(before.WaterKg+turn+1) {
			rt.Fatalf("water is off by %g kg", d)
		}
		for k := range after.Mol {
			turn := before.Mol[k] + after.Mol[k]
			for l := range led {
				turn += math.Abs(led[l].Mol[k])
			}
			if d := before.Mol[k] + sum.Mol[k] - after.Mol[k]; math.Abs(d) > 1e-9*turn {
				rt.Fatalf("%v is off by %g mol", brine.Total(k), d)
			}
		}
	})
}

// Acts fall at their moments: a run in one piece and one that is cut at every
// act end alike, and an act at a quarter past is not one at the full hour.
func TestActsAtTheirMoments(t *testing.T) {
	w := fair.weather(t, june, 3)
	at := june.Add(34*time.Hour + 17*time.Minute + 30*time.Second)
	acts := []pond.Act{{At: at, ClothL: 500, CakeG: 4}, {At: at, WaterL: 100}, {At: june.Add(200 * time.Hour), DrawL: 1e6}}
	whole := raceway(t, farmMedium)
	var done []int
	var marks []time.Time
	whole.Run(june, june.AddDate(0, 0, 3), w, acts, nil, func(m time.Time, _ *pond.Seen) { marks = append(marks, m) }, func(i int, d pond.Done) {
		done = append(done, i)
		if i == 0 && !(d.ClothG > 200 && math.Abs(d.ClothL-500) < 1e-9) {
			t.Errorf("the cloth took %g g of %g L", d.ClothG, d.ClothL)
		}
	})
	if len(done) != 2 {
		t.Errorf("acts done: %v, want the two within the run", done)
	}
	cut := false
	for _, m := range marks {
		cut = cut || m.Equal(at)
	}
	if !cut || len(marks) != 3*144+1 {
		t.Errorf("%d steps, cut at the act: %v; want %d and true", len(marks), cut, 3*144+1)
	}
	pieces := raceway(t, farmMedium)
	pieces.Run(june, at, w, acts, nil, nil, nil)
	pieces.Run(at, june.AddDate(0, 0, 3), w, acts, nil, nil, nil)
	if math.Float64bits(pieces.BiomassG) != math.Float64bits(whole.BiomassG) || math.Float64bits(pieces.Heat.WaterC) != math.Float64bits(whole.Heat.WaterC) {
		t.Errorf("in pieces %.17g g, in one %.17g g", pieces.BiomassG, whole.BiomassG)
	}
	hour := raceway(t, farmMedium)
	acts[0].At, acts[1].At = june.Add(34*time.Hour), june.Add(34*time.Hour)
	hour.Run(june, june.AddDate(0, 0, 3), w, acts, nil, nil, nil)
	if math.Float64bits(hour.BiomassG) == math.Float64bits(whole.BiomassG) {
		t.Error("an act 17 minutes earlier changed nothing")
	}
	defer func() {
		if recover() == nil {
			t.Error("a run beyond its weather did not panic")
		}
	}()
	whole.Run(june.AddDate(0, 0, 3), june.AddDate(0, 0, 4), w, nil, nil, nil, nil)
}

// The same run gives the same bits, whatever the solver did before, and a copy
// that is settled goes on as its original.
func TestSameBits(t *testing.T) {
	w := fair.weather(t, june, 6)
	run := func(s *brine.Solver, cut bool) pond.Account {
		v := raceway(t, farmMedium)
		v.Use(s)
		v.Run(june, june.AddDate(0, 0, 3), w, nil, nil, nil, nil)
		v.Settle()
		if cut {
			c := v
			c.Use(brine.New(brine.Pitzer))
			v = c
		}
		v.Run(june.AddDate(0, 0, 3), june.AddDate(0, 0, 6), w, nil, nil, nil, nil)
		return v.Holds()
	}
	used := brine.New(brine.Pitzer)
	tot := brine.Totals{brine.Na: 0.5, brine.DIC: 0.4}
	var water brine.Water
	if err := used.Solve(&tot, 11, &water); err != nil {
		t.Fatal(err)
	}
	a := run(brine.New(brine.Pitzer), false)
	if b := run(used, false); a != b {
		t.Errorf("a used solver: %.17g g, a new one %.17g g", b.BiomassG, a.BiomassG)
	}
	if b := run(brine.New(brine.Pitzer), true); a != b {
		t.Errorf("a settled copy: %.17g g, its original %.17g g", b.BiomassG, a.BiomassG)
	}
}

func TestStepDoesNotAllocate(t *testing.T) {
	w := fair.weather(t, june, 1)
	v := raceway(t, zarrouk)
	var seen pond.Seen
	led := new(pond.Ledger)
	i := 0
	if n := testing.AllocsPerRun(288, func() { v.Step(&w.Outside[i%144], pond.StepS, led, &seen); i++ }); n > 0 {
		t.Errorf("a step allocates %g times", n)
	}
}
