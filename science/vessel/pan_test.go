package vessel

import (
	"math"
	"testing"

	"sodalake/science/air"
)

// panHour is one hour of a mean day.
type panHour struct {
	globalWM2, airC, rhPct, wind10MS, waterC float64
}

// monoDay is the mean day of 13–31 July 2024 of a class A pan beside Mono Lake,
// California (about 38.0° N, 1950 m, local daylight time), every second hour
// from midnight. Mean depth 13 cm, open pan above ground.
//
// Source: mean day worked out from the readings in github.com/annefetrow/
// Mono-Evap-Pan, commit 758f55e6 (University of Michigan, Mono Lake Committee):
// water temperature every 2 minutes, air and humidity at the pan every 5,
// hourly 10 m wind and shortwave of the site, the latter probably modelled.
var monoDay = [12]panHour{
	{0, 13.4, 57, 2.1, 16.8}, {0, 11.4, 62, 2.4, 15.0}, {0, 9.5, 67, 2.6, 13.3}, {5, 9.6, 69, 2.7, 12.3},
	{375, 19.5, 44, 1.6, 15.9}, {732, 24.8, 29, 1.9, 21.7}, {998, 28.6, 19, 2.4, 27.3}, {869, 29.3, 19, 3.5, 29.4},
	{555, 27.9, 22, 4.5, 28.1}, {231, 25.1, 29, 5.2, 24.5}, {3, 20.9, 37, 3.7, 20.9}, {0, 16.4, 48, 2.2, 18.6},
}

// monoAt returns the weather of the mean day at an hour after midnight, by
// straight lines between the hourly means, which are taken to stand half an
// hour after their stamp: the shortwave is then symmetric about the local noon
// (13:03), else it would lead it by half an hour.
func monoAt(hour float64) air.Outside {
	x := math.Mod(hour-0.5+24, 24) / 2
	i := int(x)
	a, b, f := monoDay[i%12], monoDay[(i+1)%12], x-float64(i)
	mix := func(p, q float64) float64 { return p + (q-p)*f }
	global, airC := mix(a.globalWM2, b.globalWM2), mix(a.airC, b.airC)
	cos := cosZenith(38.0, 20.2, hour-13.05)
	o := air.Outside{
		CosZenith: cos, AirC: airC,
		VapourKPa:   air.VapourFromRH(mix(a.rhPct, b.rhPct), airC),
		WindMS:      air.WindAt2M(mix(a.wind10MS, b.wind10MS), 10),
		PressureKPa: air.Pressure(1950),
		GroundDeepC: 19.7, // the mean of the air
	}
	o.LongwaveWM2 = air.Longwave(air.SkyEmissivity(airC, o.VapourKPa, 0), airC)
	split(&o, global, 1322)
	return o
}

// split fills beam and diffuse from the global radiation by the correlation of
// Erbs et al. 1982 (Solar Energy 28:293), where solar is the sun's radiation
// above the air [W/m²].
func split(o *air.Outside, global, solar float64) {
	share := 1.0
	if top := solar * o.CosZenith; top > 20 {
		switch kt := global / top; {
		case kt <= 0.22:
			share = 1 - 0.09*kt
		case kt <= 0.80:
			share = 0.9511 + kt*(-0.1604+kt*(4.388+kt*(-16.638+kt*12.336)))
		default:
			share = 0.165
		}
	}
	o.DiffuseWM2 = share * global
	o.BeamWM2 = global - o.DiffuseWM2
	o.DiffusePAR, o.BeamPAR = 2.06*o.DiffuseWM2, 2.06*o.BeamWM2
}

// cosZenith is the sun over a latitude, with its declination, some hours from
// the local noon; 0 when it is down.
func cosZenith(latDeg, declinationDeg, hoursFromNoon float64) float64 {
	const deg = math.Pi / 180
	return math.Max(0, math.Sin(latDeg*deg)*math.Sin(declinationDeg*deg)+
		math.Cos(latDeg*deg)*math.Cos(declinationDeg*deg)*math.Cos(15*deg*hoursFromNoon))
}

// panRun steps a class A pan through repeated mean days until they repeat, and
// returns the hourly means of the last day and what it exchanged.
func panRun(st Setting, depthM, dtS float64) (hourly [24]float64, sum Exchange, surface float64) {
	g := must(NewCylinder(1.2065, 0.254)) // US National Weather Service class A: 47.5 in by 10 in
	b := NewBody(g, depthM, g.VolumeL(depthM)*0.998, 1)
	o := monoAt(0)
	th := st.Start(&o, 18)
	perHour := int(math.Round(3600 / dtS))
	for day := range 20 {
		hourly, sum = [24]float64{}, Exchange{}
		for i := range 24 * perHour {
			o := monoAt((float64(i) + 0.5) * dtS / 3600)
			before := th.WaterC
			e := st.Step(&th, &o, &b, dtS)
			hourly[i/perHour] += (before + th.WaterC) / 2 / float64(perHour)
			if day == 19 {
				sum.addAll(&e)
			}
		}
	}
	return hourly, sum, b.SurfaceM2
}

// addAll sums two steps.
func (e *Exchange) addAll(x *Exchange) {
	e.LongwaveJ += x.LongwaveJ
	e.SensibleJ += x.SensibleJ
	e.LatentJ += x.LatentJ
	e.WallJ += x.WallJ
	e.SoilJ += x.SoilJ
	e.RainJ += x.RainJ
	e.StoredJ += x.StoredJ
	e.SolarJ += x.SolarJ
	e.HeaterJ += x.HeaterJ
	e.EvaporatedKg += x.EvaporatedKg
	e.CondensedKg += x.CondensedKg
	e.RainKg += x.RainKg
}

// TestClassAPan runs the measured mean day with the defaults of an upright
// cylinder: nothing is tuned to it. The bars are those that the shallow-water
// models in print reach with weather measured on the site: 2 °C by the hour,
// 1 °C by the day.
func TestClassAPan(t *testing.T) {
	const source = "class A pan at Mono Lake, mean day of 13–31 July 2024"
	hourly, sum, surface := panRun(DefaultSetting(Cylinder, None), 0.13, 600)
	var sq, bias float64
	top, bottom := math.Inf(-1), math.Inf(1)
	for i, p := range monoDay {
		d := hourly[2*i] - p.waterC
		sq += d * d / 12
		bias += d / 12
		top, bottom = math.Max(top, hourly[2*i]), math.Min(bottom, hourly[2*i])
		t.Logf("%2d h: %.1f, measured %.1f, off %+.1f °C", 2*i, hourly[2*i], p.waterC, d)
	}
	rmse := math.Sqrt(sq)
	mm := sum.EvaporatedKg / surface
	t.Logf("RMSE %.2f, bias %+.2f, maximum %+.1f, minimum %+.1f °C, evaporation %.2f mm/d", rmse, bias, top-29.4, bottom-12.3, mm)
	day := surface * 86400
	t.Logf("W/m²: sun %.0f, longwave %.0f, convection %.0f, evaporation %.0f, walls %.0f, ground %.0f",
		sum.SolarJ/day, sum.LongwaveJ/day, sum.SensibleJ/day, sum.LatentJ/day, sum.WallJ/day, sum.SoilJ/day)
	if rmse > 2.0 {
		t.Errorf("hourly RMSE %.2f °C, want 2.0 at most (%s)", rmse, source)
	}
	if math.Abs(bias) > 1.0 {
		t.Errorf("daily mean off by %+.2f °C, want 1.0 at most (%s)", bias, source)
	}
	// The pan fell from 17 cm to nothing in about a month: 5 to 7 mm a day.
	if mm < 5 || mm > 8 {
		t.Errorf("evaporation %.1f mm/d, want 5 to 8 (%s: 17 cm gone in about a month)", mm, source)
	}
}

// TestThreePools sets three pools in the ground side by side, under invented
// equatorial weather: the weather of the measurement is not in print, so only
// how they differ is compared.
func TestThreePools(t *testing.T) {
	const source = "Paaijmans et al. 2008, Hydrol. Process. 22:4789: pools of 16, 32 and 96 cm, 4, 16 and 32 cm deep, " +
		"daily range 14.4 to 7.1 K, evaporation 4.2 to 3.7 mm/d, means within 0.7 K and above the air's, Kenya 2005"
	weather := func(hour float64) air.Outside {
		wave := math.Cos((hour - 14.5) * math.Pi / 12)
		o := plain(23+6*wave, 0)
		o.VapourKPa, o.PressureKPa, o.GroundDeepC = 1.9, 88, 24
		o.CosZenith = cosZenith(0, 5, hour-12.3)
		o.BeamWM2, o.DiffuseWM2 = 520*o.CosZenith, 230*o.CosZenith
		o.LongwaveWM2, o.WindMS = 0.87*black(o.AirC), 1.2+0.8*wave
		return o
	}
	type pool struct{ mean, span, mm float64 }
	var pools []pool
	for _, size := range [][2]float64{{0.16, 0.04}, {0.32, 0.16}, {0.96, 0.32}} {
		st := DefaultSetting(Cylinder, None)
		st.InGround = true
		g := must(NewCylinder(size[0], size[1]))
		b := NewBody(g, size[1], g.VolumeL(size[1]), 1)
		o := weather(0)
		th := st.Start(&o, 25)
		var p pool
		for range 30 {
			p = pool{}
			top, bottom := math.Inf(-1), math.Inf(1)
			for i := range 144 {
				o := weather((float64(i) + 0.5) / 6)
				e := st.Step(&th, &o, &b, 600)
				top, bottom = max(top, th.WaterC), min(bottom, th.WaterC)
				p.mean += th.WaterC / 144
				p.mm += e.EvaporatedKg / b.SurfaceM2
			}
			p.span = top - bottom
		}
		t.Logf("pool of %g cm: mean %.1f °C, range %.1f K, %.2f mm/d", 100*size[0], p.mean, p.span, p.mm)
		pools = append(pools, p)
		if p.mean < 23 {
			t.Errorf("pool of %g cm: mean %.1f °C under that of the air, 23 (%s)", 100*size[0], p.mean, source)
		}
	}
	small, large := pools[0], pools[2]
	if got, want := small.span/large.span, 14.4/7.1; !near(got, want, 0.2*want) {
		t.Errorf("ranges differ by %.2f, want %.2f within 20 %% (%s)", got, want, source)
	}
	if got, want := small.mm/large.mm, 4.2/3.7; !near(got, want, 0.1*want) {
		t.Errorf("evaporation differs by %.2f, want %.2f within 10 %% (%s)", got, want, source)
	}
	if math.Abs(small.mean-large.mean) > 1.5 {
		t.Errorf("means differ by %.1f K, want some tenths (%s)", large.mean-small.mean, source)
	}
}
