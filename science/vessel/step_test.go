package vessel

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/air"
)

// plain is weather without sun, rain or wind, the sky as warm as the air.
func plain(airC, rhPct float64) air.Outside {
	return air.Outside{
		AirC: airC, VapourKPa: air.VapourFromRH(rhPct, airC), LongwaveWM2: black(airC),
		PressureKPa: 101.325, GroundDeepC: airC,
	}
}

// sheetOfWater is a square metre of water that meets the world only by its
// surface.
func sheetOfWater(depthM float64) (Setting, Body) {
	st := DefaultSetting(Box, None)
	st.OnStand = true
	return st, Body{HeatCapacityJK: depthM * 1000 * WaterJKgK, SurfaceM2: 1, CatchM2: 1, WaterActivity: 1}
}

func anyOutside(t *rapid.T) air.Outside {
	m := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	airC := m("air", -15, 48)
	o := air.Outside{
		AirC: airC, VapourKPa: air.VapourFromRH(m("rh", 2, 100), airC), LongwaveWM2: black(airC) * m("sky", 0.6, 1),
		WindMS: m("wind", 0, 20), PressureKPa: m("pressure", 55, 104), GroundDeepC: m("deep", -5, 30),
		AzimuthDeg: m("azimuth", 0, 360), RainMMPerH: math.Max(0, m("rain", -20, 60)),
	}
	if o.CosZenith = math.Max(0, m("cos", -1, 1)); o.CosZenith > 0 {
		global := o.CosZenith * m("clear", 0.02, 1) * 1200
		split(&o, global, 1361)
	}
	return o
}

func anySetting(t *rapid.T) (Setting, Body) {
	m := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	g := anyGeometry(t)
	st := DefaultSetting(g.Kind(), rapid.SampledFrom([]Cover{None, Film, Tunnel}).Draw(t, "cover"))
	st.Vents = rapid.SampledFrom([]Vents{Shut, Half, Open}).Draw(t, "vents")
	st.Shade = m("shade", 0, 1)
	if rapid.Bool().Draw(t, "indoors") {
		st = IndoorSetting(g.Kind(), m("room", 5, 40), m("room rh", 5, 100))
		st.WindowTransmission, st.WindowView = 0.8, m("view", 0, 1)
	}
	st.OnStand = rapid.Bool().Draw(t, "stand")
	st.ExtraMassKgM2 = m("extra", 0, 60)
	level := m("level", 0.01, 1) * g.RimM()
	b := NewBody(g, level, g.VolumeL(level), m("activity", 0.7, 1))
	b.HeaterW = math.Max(0, m("heater", -300, 300)) * b.SurfaceM2
	return st, b
}

func TestBooksClose(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		st, b := anySetting(t)
		o := anyOutside(t)
		th := st.Start(&o, rapid.Float64Range(0, 45).Draw(t, "water"))
		var sum Exchange
		first := th.WaterC
		capacity := math.Max(b.HeatCapacityJK+st.ExtraMassKgM2*b.SurfaceM2*WaterJKgK, 1*WaterJKgK*b.SurfaceM2) // 1 mm at least
		for range 6 {
			e := st.Step(&th, &o, &b, rapid.SampledFrom([]float64{60, 300, 600}).Draw(t, "dt"))
			parts := e.SolarJ + e.LongwaveJ + e.SensibleJ + e.LatentJ + e.WallJ + e.SoilJ + e.HeaterJ + e.RainJ
			size := math.Abs(e.SolarJ) + math.Abs(e.LongwaveJ) + math.Abs(e.SensibleJ) + math.Abs(e.LatentJ) +
				math.Abs(e.WallJ) + math.Abs(e.SoilJ) + math.Abs(e.HeaterJ) + math.Abs(e.RainJ)
			// 1e-9 of what was carried, and what the last digit of a temperature holds.
			slack := 1e-9*size + 5e-12*capacity
			if !near(parts, e.StoredJ, slack) {
				t.Fatalf("laws carried %.12g J, the water gained %.12g J", parts, e.StoredJ)
			}
			sum.addAll(&e)
		}
		if gained := capacity * (th.WaterC - first); !near(gained, sum.StoredJ, 1e-9*math.Abs(gained)+1e-10*capacity) {
			t.Fatalf("six steps say %.12g J, the thermometer %.12g J", sum.StoredJ, gained)
		}
		if sum.EvaporatedKg < 0 || sum.CondensedKg < 0 || sum.RainKg < 0 {
			t.Fatalf("negative water: %+v", sum)
		}
	})
}

// TestAnyWeather runs a day of any steady weather on any water from a
// half centimetre up: it must settle, not swing or run away. (Thinner water in
// hot dry still air flutters by a degree or two where its vapour just lifts it.)
func TestAnyWeather(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		st, b := anySetting(t)
		b.HeatCapacityJK = math.Max(b.HeatCapacityJK, 5*b.SurfaceM2*WaterJKgK) // 5 mm
		b.HeaterW = 0
		st.ExtraMassKgM2 = 0
		o := anyOutside(t)
		if o.CosZenith < 0.1 { // a low sun on a wall is a matter of its own
			o.CosZenith, o.BeamWM2, o.DiffuseWM2 = 0, 0, 0
		}
		th := st.Start(&o, rapid.Float64Range(0, 45).Draw(t, "water"))
		var last, move, lastMove float64
		swings := 0
		for i := range 144 {
			st.Step(&th, &o, &b, 600)
			for _, v := range []float64{th.WaterC, th.SoilC[0], th.SoilC[1], th.CoverC, th.AirC, th.AirVapourKPa} {
				if math.IsNaN(v) || v < -80 || v > 200 {
					t.Fatalf("step %d: %+v", i, th)
				}
			}
			move = th.WaterC - last
			if i > 12 && move*lastMove < 0 && math.Min(math.Abs(move), math.Abs(lastMove)) > 0.5 {
				if swings++; swings > 2 {
					t.Fatalf("step %d: swings by %g and %g K in steady weather", i, lastMove, move)
				}
			}
			last, lastMove = th.WaterC, move
		}
	})
}

func TestWetBulb(t *testing.T) {
	rows := []struct {
		airC, rhPct, want, tol float64
		source                 string
	}{
		{25, 100, 25, 0.001, "saturated air: nothing to gain either way"},
		{40, 14, 20.0, 0.8, "ASHRAE Fundamentals 2017 ch. 1, example 1: dry bulb 40, wet bulb 20 °C, RH 14 %"},
		{25, 50, 17.89, 0.6, "ASHRAE 2017 ch. 1 by PsychroLib 2.5.0"},
		{30, 80, 27.09, 0.3, "ASHRAE 2017 ch. 1 by PsychroLib 2.5.0"},
		{35, 30, 21.52, 0.8, "ASHRAE 2017 ch. 1 by PsychroLib 2.5.0"},
	}
	// The tolerance is the difference between the wet bulb by definition and that
	// of a bulb whose air exchanges vapour by (Sc/Pr)^⅔ better than heat: the
	// latter lies lower, by up to 8 % of the depression.
	for _, r := range rows {
		st, b := sheetOfWater(0.01)
		st.WaterEmittance = 0 // no radiation
		o := plain(r.airC, r.rhPct)
		o.WindMS = 3
		th := st.Start(&o, 30)
		for range 600 {
			st.Step(&th, &o, &b, 600)
		}
		if !near(th.WaterC, r.want, r.tol) || th.WaterC > r.want+0.01 {
			t.Errorf("dark water in air of %g °C and %g %% settles at %.3f °C, want %g to %g under it (%s)",
				r.airC, r.rhPct, th.WaterC, r.want, r.tol, r.source)
		}
	}
	// In a dark box with walls as warm as the saturated air, with all exchanges on.
	st := DefaultSetting(Box, None)
	g := must(NewBox(2, 1, 0.3))
	b := NewBody(g, 0.2, 400, 1)
	o := plain(25, 100)
	th := st.Start(&o, 12)
	for range 144 * 30 {
		st.Step(&th, &o, &b, 600)
	}
	if !near(th.WaterC, 25, 0.02) {
		t.Errorf("dark box at 25 °C settles at %.3f °C (emissivity 0.96 against a black room leaves nothing else)", th.WaterC)
	}
}

// TestFreeConvection sets still air over a wide warm pond beside the law that
// was found over cooling ponds.
func TestFreeConvection(t *testing.T) {
	const source = "Ryan, Harleman & Stolzenbach 1974, Water Resour. Res. 10:930: 2.7 Δθv^⅓ W/m²/mbar, from memory"
	for _, r := range []struct{ waterC, airC, rhPct float64 }{{30, 15, 60}, {40, 20, 50}, {25, 20, 80}, {20, 5, 70}} {
		e, ea := air.Saturation(r.waterC), air.VapourFromRH(r.rhPct, r.airC)
		layer := newAirLayer(r.airC, 101.325, 0, 30, air.LatentHeat(r.waterC))
		got := layer.coefficient(rise(layer.lift(r.waterC, r.airC, e, ea))) * layer.perKPa / 10 // [W/m²/mbar]
		virtual := func(tempC, e float64) float64 { return (tempC + kelvin) / (1 - 0.378*e/101.325) }
		want := 2.7 * math.Cbrt(virtual(r.waterC, e)-virtual(r.airC, ea))
		if !near(got, want, 0.12*want) {
			t.Errorf("still air: water %g, air %g °C: %.3g W/m²/mbar, want %.3g within 12 %% (%s)", r.waterC, r.airC, got, want, source)
		}
	}
	// And the pond as a whole must evaporate with no wind.
	st, b := sheetOfWater(0.2)
	o := plain(15, 60)
	th := st.Start(&o, 30)
	e := st.Step(&th, &o, &b, 600)
	if mm := e.EvaporatedKg * 144; mm < 5 || mm > 20 {
		t.Errorf("warm pond in still air loses %.2f mm/d, want 5 to 20 (%s: 9)", mm, source)
	}
}

// TestWindFunction sets the forced exchange over ponds of some metres beside
// the wind function in common use for open water.
func TestWindFunction(t *testing.T) {
	const source = "Penman 1956, f = 1.313 + 1.381 u₂ mm/d/kPa, as in McMahon et al. 2013, Hydrol. Earth Syst. Sci. 17:1331"
	for _, r := range []struct{ lengthM, wind float64 }{{5, 2}, {5, 3}, {8, 2}, {10, 2}, {10, 3}, {15, 4}} {
		layer := newAirLayer(20, 101.325, r.wind, r.lengthM, 2.45e6)
		// The same temperature above and below: forced convection and the lightness of vapour.
		got := layer.coefficient(rise(layer.lift(20, 20, 2.34, 1.2))) * layer.perKPa / 2.45e6 * 86400
		want := 1.313 + 1.381*r.wind
		if !near(got, want, 0.3*want) {
			t.Errorf("%g m of water at %g m/s: %.2f mm/d/kPa, want %.2f within 30 %% (%s)", r.lengthM, r.wind, got, want, source)
		}
	}
}

func TestSaltEvaporatesLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		st, b := sheetOfWater(0.2)
		o := anyOutside(t)
		water := rapid.Float64Range(5, 40).Draw(t, "water")
		a := rapid.Float64Range(0.75, 0.999).Draw(t, "activity")
		fresh, salt := st.Start(&o, water), st.Start(&o, water)
		e := st.Step(&fresh, &o, &b, 60)
		b.WaterActivity = a
		s := st.Step(&salt, &o, &b, 60)
		if s.EvaporatedKg-s.CondensedKg >= e.EvaporatedKg-e.CondensedKg {
			t.Fatalf("activity %g: %g kg evaporate, pure %g kg", a, s.EvaporatedKg, e.EvaporatedKg)
		}
	})
	// In wind the coefficient is the same for both: the loss follows a·e_s − e.
	st, b := sheetOfWater(1)
	o := plain(25, 50)
	o.WindMS = 12
	th := st.Start(&o, 25)
	fresh := st.Step(&th, &o, &b, 1).EvaporatedKg
	b.WaterActivity = 0.97
	th = st.Start(&o, 25)
	salt := st.Step(&th, &o, &b, 1).EvaporatedKg
	if got := salt / fresh; !near(got, 0.94, 0.005) {
		t.Errorf("activity 0.97 at 50 %% humidity keeps %.4f of the evaporation, want 0.94 ((0.97 − 0.5)/(1 − 0.5))", got)
	}
}

// smoothDay is the weather of an invented clear summer day at an hour after
// midnight, without the kinks of measured hours.
func smoothDay(hour float64) air.Outside {
	wave := math.Cos((hour - 15) * math.Pi / 12)
	o := plain(22+8*wave, 50)
	o.VapourKPa = 1.4
	o.CosZenith = cosZenith(35, 18, hour-12)
	o.BeamWM2, o.DiffuseWM2 = 800*o.CosZenith, 160*o.CosZenith
	o.BeamPAR, o.DiffusePAR = 2*o.BeamWM2, 2*o.DiffuseWM2
	o.LongwaveWM2 = 0.8 * black(o.AirC)
	o.WindMS = 2 + 1.5*wave
	o.GroundDeepC = 20
	return o
}

// TestStepHalving: five and ten minutes agree within a tenth of a degree all
// day, down to one centimetre of water, under each cover.
func TestStepHalving(t *testing.T) {
	for _, cover := range []Cover{None, Film, Tunnel} {
		for _, depth := range []float64{0.01, 0.03, 0.13, 0.30} {
			st := DefaultSetting(Cylinder, cover)
			g := must(NewCylinder(1.2, 0.5))
			b := NewBody(g, depth, g.VolumeL(depth), 0.99)
			run := func(dt float64) []float64 {
				o := smoothDay(0)
				th := st.Start(&o, 15)
				var out []float64
				for i := range int(3 * 86400 / dt) {
					o := smoothDay((float64(i) + 0.5) * dt / 3600)
					st.Step(&th, &o, &b, dt)
					if math.Mod(float64(i+1)*dt, 600) == 0 {
						out = append(out, th.WaterC)
					}
				}
				return out
			}
			ten, five, tiny := run(600), run(300), run(20)
			worst, exact := 0.0, 0.0
			for i := range ten {
				worst = math.Max(worst, math.Abs(ten[i]-five[i]))
				if i > 6 {
					exact = math.Max(exact, math.Abs(ten[i]-tiny[i]))
				}
			}
			t.Logf("cover %d, %2.0f cm: 10 and 5 min differ by up to %.4f K, 10 min and 20 s by %.4f K", cover, depth*100, worst, exact)
			if worst > 0.1 {
				t.Errorf("cover %d, %g m: 10 and 5 minutes differ by %.3f K, want 0.1 at most", cover, depth, worst)
			}
		}
	}
}

// TestSecondOrder: in steady weather the error falls by four when the step is
// halved. The water stays warmer than the air all the while: where free
// convection sets in, the law itself has a kink.
func TestSecondOrder(t *testing.T) {
	for _, cover := range []Cover{None, Tunnel} {
		st := DefaultSetting(Cylinder, cover)
		g := must(NewCylinder(1.2, 0.5))
		b := NewBody(g, 0.05, g.VolumeL(0.05), 1)
		o := monoAt(21)
		run := func(n int) float64 {
			th := st.Start(&o, 32)
			st.Step(&th, &o, &b, 1) // air and cover settle
			for range n {
				st.Step(&th, &o, &b, 7200/float64(n))
			}
			return th.WaterC
		}
		exact := run(7200)
		e1, e2 := math.Abs(run(6)-exact), math.Abs(run(12)-exact)
		t.Logf("cover %d: 20 min %.2e K, 10 min %.2e K off, ratio %.1f", cover, e1, e2, e1/e2)
		if e1/e2 < 3 {
			t.Errorf("cover %d: halving the step takes the error from %.2e to %.2e K, want a quarter", cover, e1, e2)
		}
	}
}

// TestSoilAgainstDeepGround compares the two layers under a daily wave at their
// top with a half space.
func TestSoilAgainstDeepGround(t *testing.T) {
	const source = "Carslaw & Jaeger 1959, section 2.6: Y = √(iωkC)"
	st := DefaultSetting(Liner, None)
	st.BaseUWM2K = 1e9 // the wave stands at the top of the soil
	var g ground
	g.set(&st, &air.Outside{}, &Body{FloorM2: 1})
	for _, r := range []struct{ days, size, angle float64 }{{1, 0.15, 5}, {2, 0.2, 6}, {7, 0.2, 8}} {
		w := complex(0, dayRadS/r.days)
		y := w*complex(1/g.perLower, 0) + complex(g.toDeep, 0)
		y = 1/(1/complex(g.inSoil, 0)+1/y) + w*complex(1/g.perUpper, 0)
		y = 1 / (1/complex(g.toSoil, 0) + 1/y)
		want := cmplx.Sqrt(w * complex(st.SoilWMK*st.SoilJM3K, 0))
		ratio := y / want
		angle := cmplx.Phase(ratio) * 180 / math.Pi
		t.Logf("%g d: %.3f of the half space's admittance, %.1f° off", r.days, cmplx.Abs(ratio), angle)
		if !near(cmplx.Abs(ratio), 1, r.size) || !near(angle, 0, r.angle) {
			t.Errorf("wave of %g d: admittance %.3f of the half space at %.1f° (%s)", r.days, cmplx.Abs(ratio), angle, source)
		}
	}
}

func TestHeaterAndRain(t *testing.T) {
	st, b := sheetOfWater(0.1)
	st.WaterEmittance = 0
	o := plain(20, 100)
	b.HeaterW = 100
	th := st.Start(&o, 20)
	e := st.Step(&th, &o, &b, 600)
	if want := 100 * 600 / (100 * 4182.0); !near(th.WaterC-20, want, 0.002) || !near(e.HeaterJ, 60000, 1e-6) {
		t.Errorf("100 W for 10 min on 100 kg warm it by %.5f K and book %g J, want %.5f K and 60 kJ", th.WaterC-20, e.HeaterJ, want)
	}
	b.HeaterW = 0
	o.RainMMPerH = 12
	o.AirC, o.LongwaveWM2 = 15, black(15)
	o.VapourKPa = air.Saturation(15)
	th = st.Start(&o, 20)
	e = st.Step(&th, &o, &b, 600)
	if !near(e.RainKg, 2, 1e-9) || !near(e.RainJ, 2*4182*-5, 2*4182*5*0.03) {
		t.Errorf("12 mm/h for 10 min on 1 m² bring %g kg and %g J, want 2 kg at 15 °C into 20 °C", e.RainKg, e.RainJ)
	}
	// On the dry slopes of a lined pond rain runs in too; into a drum it does not fall.
	pond := must(NewLiner(3, 2, 2, 1, 0.5))
	b = NewBody(pond, 0.1, pond.VolumeL(0.1), 1)
	th = st.Start(&o, 15)
	if e = st.Step(&th, &o, &b, 600); !near(e.RainKg, 12, 1e-9) {
		t.Errorf("12 mm/h for 10 min on a rim of 6 m² bring %g kg, want 12", e.RainKg)
	}
	drum := must(NewLyingCylinder(0.6, 1))
	b = NewBody(drum, 0.3, drum.VolumeL(0.3), 1)
	if e = st.Step(&th, &o, &b, 600); e.RainKg != 0 {
		t.Errorf("it rains %g kg into a lying drum", e.RainKg)
	}
	st.SetCover(Tunnel)
	if e = st.Step(&th, &o, &b, 600); e.RainKg != 0 {
		t.Errorf("it rains %g kg into a tunnel", e.RainKg)
	}
}

func TestMixC(t *testing.T) {
	for _, r := range []struct{ m, c, am, ac, want float64 }{
		{90, 30, 10, 10, 28}, {0, 5, 10, 12, 12}, {10, 5, 0, 99, 5}, {0, 7, 0, 9, 7},
	} {
		if got := MixC(r.m, r.c, r.am, r.ac); !near(got, r.want, 1e-12) {
			t.Errorf("MixC(%g, %g, %g, %g) = %g, want %g", r.m, r.c, r.am, r.ac, got, r.want)
		}
	}
}

func TestEmptyVesselAndRoom(t *testing.T) {
	st := DefaultSetting(Box, None)
	o := plain(17, 50)
	th := st.Start(&o, 40)
	if e := st.Step(&th, &o, &Body{WaterActivity: 1}, 600); e != (Exchange{}) || !near(th.WaterC, 17, 1e-12) {
		t.Errorf("an empty vessel exchanged %+v and stands at %g °C", e, th.WaterC)
	}
	// A bottle in a room of 22 °C and 50 %: at most a little under the room by
	// evaporation through its neck.
	st = IndoorSetting(Bottle, 22, 50)
	g := must(NewBottle(0.09, 0.20, 0.05, 0.03, 0.03))
	b := NewBody(g, 0.18, g.VolumeL(0.18), 1)
	cold := plain(-10, 80)
	th = st.Start(&cold, 5)
	for range 144 * 3 {
		st.Step(&th, &cold, &b, 600)
	}
	if th.WaterC > 22 || th.WaterC < 19 {
		t.Errorf("a bottle in a room of 22 °C stands at %.2f °C after three days", th.WaterC)
	}
}

func TestStepAllocatesNothing(t *testing.T) {
	for _, cover := range []Cover{None, Film, Tunnel} {
		st, b := sheetOfWater(0.2)
		st.SetCover(cover)
		o := monoAt(12)
		th := st.Start(&o, 20)
		if n := testing.AllocsPerRun(100, func() { st.Step(&th, &o, &b, 600) }); n != 0 {
			t.Errorf("cover %d: %g allocations a step", cover, n)
		}
	}
}

func benchmarkStep(b *testing.B, cover Cover) {
	st := DefaultSetting(Liner, cover)
	g := must(NewLiner(6, 3, 5, 2, 0.5))
	body := NewBody(g, 0.2, g.VolumeL(0.2), 0.99)
	var day [144]air.Outside
	for i := range day {
		day[i] = monoAt((float64(i) + 0.5) / 6)
	}
	th := st.Start(&day[0], 20)
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		st.Step(&th, &day[i], &body, 600)
		if i++; i == len(day) {
			i = 0
		}
	}
	sink = th.WaterC
}

func BenchmarkStepOpen(b *testing.B)   { benchmarkStep(b, None) }
func BenchmarkStepFilm(b *testing.B)   { benchmarkStep(b, Film) }
func BenchmarkStepTunnel(b *testing.B) { benchmarkStep(b, Tunnel) }

func ExampleSetting_Step() {
	g, _ := NewCylinder(1.2, 0.5)
	st := DefaultSetting(Cylinder, None)
	b := NewBody(g, 0.20, g.VolumeL(0.20), 0.99)
	night := air.Outside{
		AirC: 12, VapourKPa: air.VapourFromRH(80, 12), LongwaveWM2: 290,
		WindMS: 1, PressureKPa: 101.3, GroundDeepC: 15,
	}
	th := st.Start(&night, 24)
	var lost Exchange
	for range 6 * 8 { // eight hours of ten-minute steps
		e := st.Step(&th, &night, &b, 600)
		lost.EvaporatedKg += e.EvaporatedKg
	}
	fmt.Printf("%.0f °C in the morning, %.1f kg evaporated\n", th.WaterC, lost.EvaporatedKg)
	// Output: 15 °C in the morning, 1.1 kg evaporated
}
