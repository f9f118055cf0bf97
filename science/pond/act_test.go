package pond_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
)

// A cloth comes down to the density it is asked for, and its cake takes medium
// along, salts and all, as much as clings to it.
func TestCloth(t *testing.T) {
	v := raceway(t, farmMedium)
	before := v.Holds()
	d := v.Do(&pond.Act{KeepGL: 0.31, CakeG: 4}, nil)
	after := v.Holds()
	near(t, "density left", v.DensityGL(), 0.31, 0.002, "KeepGL; the cake's water makes it a trace denser")
	near(t, "dry matter in the cake", d.ClothG, before.BiomassG-after.BiomassG, 1e-9, "mass balance")
	near(t, "water in the cake", before.WaterKg-after.WaterKg, 4*d.ClothG/1000, 1e-9, "4 g a gram")
	for _, k := range []brine.Total{brine.Na, brine.DIC, brine.NO3} {
		near(t, k.String()+" in the cake", (before.Mol[k]-after.Mol[k])/before.Mol[k], (before.WaterKg-after.WaterKg)/before.WaterKg, 1e-12, "the medium that clings is the medium")
	}
	// By volume, by weight, and never more than there is.
	half := raceway(t, farmMedium)
	if d := half.Do(&pond.Act{ClothL: half.VolumeL() / 2}, nil); math.Abs(d.ClothG-before.BiomassG/2) > 1e-6 {
		t.Errorf("half of the volume gave %g of %g g", d.ClothG, before.BiomassG)
	}
	weighed := raceway(t, farmMedium)
	if d := weighed.Do(&pond.Act{TakeG: 100}, nil); math.Abs(d.ClothG-100) > 1e-9 {
		t.Errorf("weighed 100 g, booked %g", d.ClothG)
	}
	all := raceway(t, farmMedium)
	d = all.Do(&pond.Act{DrawL: 1e9}, nil)
	if all.WaterKg != 0 || all.BiomassG != 0 || math.Abs(d.DrawnL-1500) > 20 {
		t.Errorf("drew %g L, left %g kg and %g g", d.DrawnL, all.WaterKg, all.BiomassG)
	}
	none := raceway(t, farmMedium)
	if d := none.Do(&pond.Act{KeepGL: 5}, nil); d.ClothG != 0 {
		t.Errorf("a cloth made %g g to reach 5 g/L", d.ClothG)
	}
}

// Wind takes ammonia, and a warmer place is warmer.
func TestWindAndWarmth(t *testing.T) {
	run := func(wind, warmer float64) (gone, tempC float64) {
		v := raceway(t, farmMedium)
		v.WarmerC = warmer
		v.BiomassG = 0 // which would eat the ammonia
		v.Mol[brine.Ammonia] = 20
		v.Start()
		led := new(pond.Ledger)
		c := climate{airC: 22, swingC: 4, rhPct: 60, windMS: wind, clear: 0.8}
		w := c.weather(t, june, 2)
		mean := 0.0
		for i := range w.Outside {
			var seen pond.Seen
			v.Step(&w.Outside[i], pond.StepS, led, &seen)
			mean += v.Heat.WaterC / float64(len(w.Outside))
		}
		left := 1 + led[pond.AmmoniaToAir].Mol[brine.Ammonia]/20
		return -math.Log(left) * 0.15 / 2, mean // as a velocity through 15 cm in two days [m/d]
	}
	calm, _ := run(0.2, 0)
	windy, cool := run(5, 0)
	const source = "air film of 3 to 10 m/h by the air-water ratio at 25 °C: 0.05 m/d in still air to 0.2 in wind; computed for this project"
	near(t, "ammonia's velocity in calm, m/d", calm, 0.05, 0.015, source)
	near(t, "ammonia's velocity in wind, m/d", windy, 0.18, 0.05, source)
	if _, warm := run(5, 3); !(warm > cool+0.5 && warm < cool+3) {
		t.Errorf("a place 3 °C warmer has water at %.2f instead of %.2f °C", warm, cool)
	}
}

// What is not stirred floats: part of it is burnt, part is in the dark.
func TestUnstirred(t *testing.T) {
	w := fair.weather(t, june, 5)
	gain := func(mixed float64) float64 {
		v := raceway(t, zarrouk)
		v.Stir.Mixed = mixed
		v.Run(june, june.AddDate(0, 0, 5), w, nil, nil, nil, nil)
		return v.DensityGL() - 0.5
	}
	last := -1.0
	for _, mixed := range []float64{0.1, 0.4, 0.7, 1} {
		g := gain(mixed)
		if g <= last {
			t.Errorf("with %g mixed it gains %.4f g/L, with less %.4f", mixed, g, last)
		}
		last = g
	}
}

// A vessel put together from what is stored of it goes on as the one it was
// taken from, to the last bit.
func TestTakenUpAgain(t *testing.T) {
	w := fair.weather(t, june, 4)
	v := raceway(t, farmMedium)
	v.Stir.PistonMH = 0.03 // so that oxygen counts
	v.Run(june, june.AddDate(0, 0, 2), w, nil, nil, nil, nil)
	again := pond.Vessel{
		State: v.State, Shape: v.Shape, Setting: v.Setting, Growth: growth.NewModel(v.Growth.Params()), Stir: v.Stir, Side: v.Side,
		TapC: v.TapC, AirPPM: v.AirPPM, WarmerC: v.WarmerC, UreaPerD: v.UreaPerD, HeaterW: v.HeaterW,
	}
	again.Use(brine.New(brine.Pitzer))
	again.SetHidden(v.Hidden())
	again.Settle()
	v.Settle()
	v.Run(june.AddDate(0, 0, 2), june.AddDate(0, 0, 4), w, nil, nil, nil, nil)
	again.Run(june.AddDate(0, 0, 2), june.AddDate(0, 0, 4), w, nil, nil, nil, nil)
	if v.State != again.State || v.Hidden() != again.Hidden() {
		t.Errorf("taken up again it ends at %.17g g and %.17g °C, not %.17g g and %.17g °C", again.BiomassG, again.Heat.WaterC, v.BiomassG, v.Heat.WaterC)
	}
}
