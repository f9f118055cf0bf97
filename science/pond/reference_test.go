package pond_test

import (
	"math"
	"testing"

	"sodalake/science/air"
	"sodalake/science/growth"
	"sodalake/science/pond"
)

// The case of scripts/reference_integrator.py: six days of an open pond with
// nothing but sun, sky, air and growth.

func referenceWeather() []air.Outside {
	out := make([]air.Outside, 6*144)
	for i := range out {
		h := (float64(i) + 0.5) / 6
		wave := math.Cos((h - 15) * math.Pi / 12)
		cos := math.Max(0, 0.25+0.7*math.Cos((h-12)*math.Pi/12))
		bright := 0.75 + 0.25*math.Sin(0.9*h/24)
		o := &out[i]
		*o = air.Outside{
			CosZenith: cos, BeamWM2: 800 * bright * math.Pow(cos, 1.15), DiffuseWM2: 110 * math.Sqrt(cos), LongwaveWM2: 340 + 20*wave,
			AirC: 24 + 7*wave, VapourKPa: 1.4, WindMS: 1.5 + 0.8*wave, PressureKPa: 97, GroundDeepC: 24,
		}
		o.BeamPAR, o.DiffusePAR = 2.06*o.BeamWM2, 2.06*o.DiffuseWM2
	}
	return out
}

func referencePond(tb testing.TB) pond.Vessel {
	v := raceway(tb, zarrouk)
	p := growth.Default()
	p.KCarbon, p.AmmoniaOnset, p.AmmoniaHalf = 0, 50, 100 // no chemistry in it
	p.HalfN, p.HalfP, p.HalfK, p.HalfMg, p.HalfS, p.HalfFe = 0, 0, 0, 0, 0, 0
	p.CarbonateFlat, p.ChlorideFlat, p.SulfateFlat = 300, 300, 300
	v.Growth = growth.NewModel(p)
	v.Setting.WallUWM2K, v.Setting.BaseUWM2K, v.Setting.FloorAlbedo = 0, 0, 0
	scale := 1500 / v.WaterKg
	v.WaterKg = 1500
	for k := range v.Mol {
		v.Mol[k] *= scale
	}
	v.Heat.WaterC = 22
	v.Settle()
	v.BiomassG = 0.45 * v.VolumeL()
	v.Start()
	return v
}

func TestReferenceIntegrator(t *testing.T) {
	const source = "scripts/reference_integrator.py: the equations typed anew, LSODA of SciPy 1.10.1 at 1e-11"
	v := referencePond(t)
	w := referenceWeather()
	var seen pond.Seen
	var worstGL, worstC float64
	row := 0
	for i := range w {
		v.Step(&w[i], pond.StepS, nil, &seen)
		if (i+1)%36 != 0 || row >= len(referenceRows) {
			continue
		}
		r := referenceRows[row]
		row++
		worstGL = math.Max(worstGL, math.Abs(v.DensityGL()/r.gl-1))
		worstC = math.Max(worstC, math.Abs(v.Heat.WaterC-r.tempC))
		near(t, "damage", v.Damage, r.damage, 0.004, source)
		near(t, "water, kg", v.WaterKg, r.waterKg, 0.001*1500, source)
	}
	t.Logf("ten-minute step: density off %.3f %%, water off %.3f °C, %d steps", 100*worstGL, worstC, len(w))
	if worstGL > 0.005 || worstC > 0.1 {
		t.Errorf("density off %.3f %%, water off %.3f °C; want 0.5 %% and 0.1 °C (%s)", 100*worstGL, worstC, source)
	}
}

func BenchmarkReferenceCase(b *testing.B) {
	v := referencePond(b)
	w := referenceWeather()
	var seen pond.Seen
	b.ReportAllocs()
	for b.Loop() {
		m := v
		for i := range w {
			m.Step(&w[i], pond.StepS, nil, &seen)
		}
	}
}

// referenceRows are what the script printed.
var referenceRows = []struct{ hour, gl, tempC, waterKg, damage float64 }{
	{6, 0.451746, 17.8242, 1496.298, 0.00000},
	{12, 0.488763, 29.2893, 1488.748, 0.29465},
	{18, 0.550870, 30.2652, 1456.659, 0.04947},
	{24, 0.545155, 21.9717, 1444.692, 0.00958},
	{30, 0.542501, 17.7644, 1441.077, 0.00374},
	{36, 0.582861, 31.3232, 1431.776, 0.32088},
	{42, 0.652757, 31.3438, 1393.953, 0.06122},
	{48, 0.646629, 22.1124, 1381.025, 0.01137},
	{54, 0.643257, 17.7051, 1377.399, 0.00443},
	{60, 0.687859, 31.2817, 1368.038, 0.26090},
	{66, 0.764707, 30.7531, 1331.520, 0.04528},
	{72, 0.757624, 21.6542, 1319.501, 0.00883},
	{78, 0.753333, 17.2806, 1316.252, 0.00361},
	{84, 0.798223, 29.0960, 1308.841, 0.16342},
	{90, 0.874690, 28.8674, 1279.538, 0.02339},
	{96, 0.865226, 20.8070, 1269.684, 0.00515},
	{102, 0.859710, 16.6630, 1267.002, 0.00227},
	{108, 0.900436, 26.3070, 1261.596, 0.09382},
	{114, 0.968898, 26.9362, 1239.631, 0.01458},
	{120, 0.957585, 20.0088, 1231.854, 0.00365},
	{126, 0.951304, 16.1356, 1229.654, 0.00172},
	{132, 0.989651, 25.2885, 1224.853, 0.08699},
	{138, 1.057758, 26.5876, 1204.726, 0.01434},
	{144, 1.046350, 19.7954, 1197.445, 0.00369},
}
