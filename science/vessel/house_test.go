package vessel

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/air"
)

// day is what a vessel did in the last of some equal days.
type day struct {
	waterMax, waterMin float64 // [°C]
	airLift            float64 // air over the water over the outer air, midday mean [K]
	vapourLift         float64 // the same for vapour [kPa]
	evaporated, back   float64 // [mm]
}

func runDays(st Setting, depthM float64, weather func(hour float64) air.Outside) day {
	g := must(NewBox(4, 2, 0.5))
	b := NewBody(g, depthM, g.VolumeL(depthM), 0.99)
	o := weather(0)
	th := st.Start(&o, 22)
	var d day
	for n := range 8 {
		d = day{waterMax: math.Inf(-1), waterMin: math.Inf(1)}
		for i := range 144 {
			hour := (float64(i) + 0.5) / 6
			o := weather(hour)
			e := st.Step(&th, &o, &b, 600)
			if n < 7 {
				continue
			}
			d.waterMax, d.waterMin = math.Max(d.waterMax, th.WaterC), math.Min(d.waterMin, th.WaterC)
			d.evaporated += e.EvaporatedKg / b.SurfaceM2
			d.back += e.CondensedKg / b.SurfaceM2
			if hour > 11 && hour < 15 {
				d.airLift += (th.AirC - o.AirC) / 24
				d.vapourLift += (th.AirVapourKPa - o.VapourKPa) / 24
			}
		}
	}
	return d
}

// TestTunnelByDay holds the air under a tunnel to what growers see: by day, in
// the sun, vents shut, 5 to 15 K warmer than outside and much wetter.
func TestTunnelByDay(t *testing.T) {
	const source = "common practice, no source"
	open := runDays(DefaultSetting(Box, None), 0.2, smoothDay)
	var lifts []float64
	for _, v := range []Vents{Shut, Half, Open} {
		st := DefaultSetting(Box, Tunnel)
		st.Vents = v
		d := runDays(st, 0.2, smoothDay)
		t.Logf("vents %d: air %+.1f K, vapour %+.2f kPa, water %.1f to %.1f °C, %.1f mm/d; in the open %.1f to %.1f °C, %.1f mm/d",
			v, d.airLift, d.vapourLift, d.waterMin, d.waterMax, d.evaporated-d.back, open.waterMin, open.waterMax, open.evaporated)
		lifts = append(lifts, d.airLift)
		if v == Shut {
			if d.airLift < 5 || d.airLift > 15 {
				t.Errorf("vents shut: air %+.1f K over outside at midday, want 5 to 15 (%s)", d.airLift, source)
			}
			if d.vapourLift < 1 {
				t.Errorf("vents shut: vapour %+.2f kPa over outside, want more than 1 (%s: near saturated)", d.vapourLift, source)
			}
		}
		if d.waterMin <= open.waterMin {
			t.Errorf("vents %d: water falls to %.1f °C at night, in the open %.1f", v, d.waterMin, open.waterMin)
		}
		if d.evaporated >= open.evaporated {
			t.Errorf("vents %d: %.1f mm/d evaporate, in the open %.1f", v, d.evaporated, open.evaporated)
		}
	}
	if !(lifts[0] > lifts[1] && lifts[1] > lifts[2] && lifts[2] > 0) {
		t.Errorf("air over outside %.1f, %.1f, %.1f K with vents shut, half, open: want it to fall", lifts[0], lifts[1], lifts[2])
	}
}

func TestFilmSavesWaterAndHeat(t *testing.T) {
	open := runDays(DefaultSetting(Box, None), 0.2, smoothDay)
	film := runDays(DefaultSetting(Box, Film), 0.2, smoothDay)
	t.Logf("film: water %.1f to %.1f °C, %.2f mm/d up, %.2f back; open %.1f to %.1f °C, %.2f mm/d",
		film.waterMin, film.waterMax, film.evaporated, film.back, open.waterMin, open.waterMax, open.evaporated)
	if film.evaporated-film.back > 0.4*open.evaporated {
		t.Errorf("a film with drip lets %.2f mm/d go, the open water %.2f", film.evaporated-film.back, open.evaporated)
	}
	if film.waterMin < open.waterMin+2 {
		t.Errorf("water under film falls to %.1f °C, in the open to %.1f: want 2 K more at least (common practice, no source)", film.waterMin, open.waterMin)
	}
	night := func(hour float64) air.Outside { // no sun at all: everything ends between sky and air
		o := smoothDay(hour)
		o.CosZenith, o.BeamWM2, o.DiffuseWM2 = 0, 0, 0
		return o
	}
	dark := runDays(DefaultSetting(Box, Film), 0.2, night)
	if dark.waterMax > 24 || dark.waterMin < 5 {
		t.Errorf("dark film pond ranges %.1f to %.1f °C between an air of 14 to 30 °C and a cold sky", dark.waterMin, dark.waterMax)
	}
}

// TestHouseBalances works out the three balances of the house again from the
// state it settled in, in another order.
func TestHouseBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cover := rapid.SampledFrom([]Cover{Film, Tunnel}).Draw(t, "cover")
		st := DefaultSetting(Box, cover)
		st.Vents = rapid.SampledFrom([]Vents{Shut, Half, Open}).Draw(t, "vents")
		g := must(NewBox(3, 1, 0.4))
		b := NewBody(g, 0.2, 600, 0.98)
		o := anyOutside(t)
		th := st.Start(&o, rapid.Float64Range(3, 45).Draw(t, "water"))
		var s scene
		st.set(&s, &th, &o, &b)
		var h house
		h.set(&st, &s, &th, &o, &b)
		water := th.WaterC
		var f, slope flows
		for range 4 { // let the coefficient settle as well
			h.flux(&s, &th, water, &f, &slope)
		}
		drip := h.flux(&s, &th, water, &f, &slope)

		ta, tc, e := th.AirC, th.CoverC, th.AirVapourKPa
		condensing := h.wetInner * math.Max(e-air.Saturation(tc), 0) // [W]
		scale := h.floor * 20                                        // 20 W/m² for the size of things
		cover1 := st.CoverRatio * h.floor
		airBalance := -f.sensible + h.walls*(water-ta) + cover1*faceInside*(tc-ta) + h.vent*(o.AirC-ta) + h.gainW
		// Air of the house for outer air, with the vapour that each holds per heat.
		swap := h.vent / 1006 * 0.622 * s.latentJKg / o.PressureKPa
		wetBalance := -f.latent + swap*(o.VapourKPa-e) - condensing
		eps := 1 - st.CoverLongwave
		below := b.SurfaceM2*st.WaterEmittance*black(water) + (h.floor-b.SurfaceM2)*black(ta)
		sides := (cover1 - h.floor) * (o.LongwaveWM2 + black(o.AirC)) / 2
		coverBalance := st.CoverAbsorption*h.floor*(o.BeamWM2+o.DiffuseWM2) +
			eps*(below+h.floor*o.LongwaveWM2+sides-(h.floor+cover1)*black(tc)) +
			cover1*faceInside*(ta-tc) + cover1*faceOutside(o.WindMS)*(o.AirC-tc) + condensing
		// The cover is solved to 0.05 K and then once more: some thousandths of a kelvin.
		for _, r := range []struct {
			name string
			off  float64
		}{{"air", airBalance}, {"vapour", wetBalance}, {"cover", coverBalance}} {
			if !near(r.off, 0, 0.02*scale) {
				t.Fatalf("balance of the %s is off by %g W on %g m² of floor: %+v", r.name, r.off, h.floor, th)
			}
		}
		if want := st.CoverDrip * condensing / s.latentJKg; !near(drip, want, 0.01*want+0.01*scale/s.latentJKg) {
			t.Fatalf("drip %g kg/s, want %g", drip, want)
		}
		want := b.SurfaceM2 * st.WaterEmittance * (st.CoverLongwave*o.LongwaveWM2 + eps*black(tc) - black(water))
		if !near(f.longwave, want, 1e-6*scale) {
			t.Fatalf("longwave %g W, want %g", f.longwave, want)
		}
	})
}

// TestSunOnWalls: what falls on an opaque wall is all found again, in the water
// or in the air.
func TestSunOnWalls(t *testing.T) {
	o := smoothDay(9)
	st := DefaultSetting(Box, Tunnel)
	g := must(NewBox(2, 1, 0.5))
	b := NewBody(g, 0.4, g.VolumeL(0.4), 1)
	th := st.Start(&o, 20)
	var s scene
	st.set(&s, &th, &o, &b)
	through, spread, passed := st.pass(o.CosZenith)
	fell := st.WallAbsorb * b.WallM2 * st.around(o.CosZenith, through*o.BeamWM2, spread*o.BeamWM2+passed*o.DiffuseWM2)
	if !near(s.wallW+s.wallRestW, fell, 1e-9*fell) || s.wallW <= 0 || s.wallRestW <= 0 {
		t.Errorf("%g W fell on the walls, %g went in and %g to the air", fell, s.wallW, s.wallRestW)
	}
	dark := st
	dark.WallAbsorb = 0
	run := func(st Setting) Thermal {
		th := st.Start(&o, 20)
		st.Step(&th, &o, &b, 1)
		st.Step(&th, &o, &b, 1)
		return th
	}
	if warm, cool := run(st).AirC, run(dark).AirC; warm < cool+0.3 {
		t.Errorf("air by sunlit walls %.2f °C, by white ones %.2f", warm, cool)
	}
	// In the open: a wall of conductance U takes U/(U + h) of what falls on it.
	st = DefaultSetting(Box, None)
	open, white := st, st
	white.WallAbsorb = 0
	th1, th2 := open.Start(&o, 20), white.Start(&o, 20)
	got := open.Step(&th1, &o, &b, 1).WallJ - white.Step(&th2, &o, &b, 1).WallJ
	outer := radiative + 2.8 + 3.0*lowWind*o.WindMS
	want := 0.5 * b.WallM2 * st.around(o.CosZenith, o.BeamWM2, o.DiffuseWM2) * 100 / (100 + outer)
	if !near(got, want, 0.002*want) {
		t.Errorf("sun through the walls %g J/s, want %g", got, want)
	}
	clear := st
	clear.WallClear = 0.85
	th3 := clear.Start(&o, 20)
	through1 := clear.Step(&th3, &o, &b, 1).SolarJ
	th3 = white.Start(&o, 20)
	through1 -= white.Step(&th3, &o, &b, 1).SolarJ
	if want := 0.85 * b.WallM2 * st.around(o.CosZenith, o.BeamWM2, o.DiffuseWM2); !near(through1, want, 1e-6*want) {
		t.Errorf("sun through clear walls %g W, want %g", through1, want)
	}
}

// TestSunOnWater: what a level sea of a given albedo takes.
func TestSunOnWater(t *testing.T) {
	rows := []struct {
		cos, reflected, tol float64
		source              string
	}{
		{1, 0.0204, 0.001, "Fresnel, n = 1.333, at 0°"},
		{0.5, 0.0597, 0.0015, "Fresnel, n = 1.333, at 60°; here 1.34"},
		{0.2588, 0.2124, 0.003, "Fresnel, n = 1.333, at 75°"},
	}
	for _, r := range rows {
		st, b := sheetOfWater(0.2)
		st.Backscatter = 0
		o := plain(20, 50)
		o.CosZenith, o.BeamWM2 = r.cos, 500
		th := st.Start(&o, 20)
		if got := 1 - st.Step(&th, &o, &b, 1).SolarJ/500; !near(got, r.reflected, r.tol) {
			t.Errorf("beam at cosine %g: %.4f sent back, want %.4f (%s)", r.cos, got, r.reflected, r.source)
		}
		st.Backscatter, o.BeamWM2, o.DiffuseWM2 = 0.02, 0, 500
		if got := 1 - st.Step(&th, &o, &b, 1).SolarJ/500; !near(got, 1-0.98*(1-0.0675), 1e-4) {
			t.Errorf("diffuse light: %.4f sent back, want 0.0675 at the surface and 2 %% of the rest (hemisphere mean of Fresnel, n = 1.34)", got)
		}
	}
}

func TestClothKeepsWarm(t *testing.T) {
	st, b := sheetOfWater(0.2)
	o := plain(15, 60)
	o.LongwaveWM2 = 270
	th := st.Start(&o, 15)
	bare := st.Step(&th, &o, &b, 1).LongwaveJ
	st.Shade = 0.5
	th = st.Start(&o, 15)
	half := st.Step(&th, &o, &b, 1).LongwaveJ
	if !near(half, bare/2, 0.001*math.Abs(bare)) {
		t.Errorf("half a cloth of the air's warmth leaves %g of %g W of longwave loss, want half", half, bare)
	}
}

// TestThinWaterInSun: a millimetre of cold water in a clear tube in full sun is
// a hard start, and comes to a sensible end.
func TestThinWaterInSun(t *testing.T) {
	g := must(NewLyingCylinder(0.06, 1))
	for _, cover := range []Cover{None, Tunnel} {
		st := DefaultSetting(LyingCylinder, cover)
		b := NewBody(g, 0.001, g.VolumeL(0.001), 1)
		o := plain(10, 30)
		o.CosZenith, o.BeamWM2, o.DiffuseWM2, o.WindMS = 1, 1000, 100, 1
		th := st.Start(&o, 1)
		last := th.WaterC
		for i := range 40 {
			st.Step(&th, &o, &b, 600)
			if !(th.WaterC > -5 && th.WaterC < 90) || (i > 4 && math.Abs(th.WaterC-last) > 1) {
				t.Fatalf("cover %d, step %d: %+v after %g °C", cover, i, th, last)
			}
			last = th.WaterC
		}
	}
}

func TestSaturationFrom(t *testing.T) {
	for _, from := range []float64{1, 10, 25, 40, 60} {
		e0, s0 := air.SaturationSlope(from)
		for _, d := range []float64{-8, -4, -1, 0.01, 1, 4, 8} {
			e, s := saturationFrom(from+d, from, e0, s0)
			want, slope := air.SaturationSlope(from + d)
			if !near(e, want, 2e-4*want) || !near(s, slope, 1.5e-3*slope) {
				t.Errorf("from %g to %g °C: %.6g kPa, %.6g kPa/K, want %.6g, %.6g (air.SaturationSlope)", from, from+d, e, s, want, slope)
			}
		}
	}
	for _, r := range []float64{0.3, 0.66, 0.8, 1, 1.3, 1.49, 3} {
		old := 0.02
		if got, want := riseFrom(old*r, old, math.Cbrt(old)), math.Cbrt(old*r); !near(got, want, 2.5e-3*want) {
			t.Errorf("cube root of %g from that of %g: %g, want %g", old*r, old, got, want)
		}
	}
	if riseFrom(-1, 0.02, 0.27) != 0 || riseFrom(0.02, -1, 0) == 0 {
		t.Error("lift and no lift are mixed up")
	}
}

// TestFreeCoefficient holds the parabola and the fraction of newAirLayer to the
// formula they stand for.
func TestFreeCoefficient(t *testing.T) {
	for _, tempC := range []float64{-10, 0, 15, 30, 45, 60} {
		for _, p := range []float64{50, 60, 80, 101.325, 105} {
			thin := 101.325 / p
			nu, alpha := (13.3e-6+0.095e-6*tempC)*thin, (18.9e-6+0.134e-6*tempC)*thin
			want := 0.14 * (0.0243 + 0.000074*tempC) * math.Cbrt(9.81/(nu*alpha))
			layer := newAirLayer(tempC, p, 1, 1, 2.45e6)
			if !near(layer.free, want, 0.013*want) {
				t.Errorf("%g °C, %g kPa: %g, want %g within 1.3 %%", tempC, p, layer.free, want)
			}
		}
	}
	for _, r := range []struct{ tempC, nu, k float64 }{{-23.15, 11.44e-6, 0.0223}, {26.85, 15.89e-6, 0.0263}, {76.85, 20.92e-6, 0.0300}} {
		if got := 13.3e-6 + 0.095e-6*r.tempC; !near(got, r.nu, 0.03*r.nu) {
			t.Errorf("viscosity of air at %g °C: %g, want %g (Incropera et al., table A.4)", r.tempC, got, r.nu)
		}
		if got := 0.0243 + 0.000074*r.tempC; !near(got, r.k, 0.02*r.k) {
			t.Errorf("conductivity of air at %g °C: %g, want %g (Incropera et al., table A.4)", r.tempC, got, r.k)
		}
	}
}
