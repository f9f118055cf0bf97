package growth

import "testing"

func benchLight() Light {
	return Light{Beam: 900, Diffuse: 300, CosZenith: 0.8, PathM: 0.2}
}

func benchEnv() Env {
	return Env{TempC: 28, HCO3mM: 80, FreeNH3mM: 0.1, OxygenMgL: 14, CarbonateGL: 8, ChlorideGL: 5, SulfateGL: 1, Nutrient: 0.98, Mixed: 1}
}

func benchStep(b *testing.B, l Light, e Env) {
	m := NewModel(Default())
	b.ReportAllocs()
	for b.Loop() {
		s := State{DensityGL: 0.4, Damage: 0.1, NightQ: 0.02}
		m.Step(&s, &l, &e, 1.0/144)
	}
}

func BenchmarkStepLit(b *testing.B) { benchStep(b, benchLight(), benchEnv()) }

func BenchmarkStepDim(b *testing.B) {
	l := benchLight()
	l.Beam, l.Diffuse = 0, 60
	benchStep(b, l, benchEnv())
}

func BenchmarkStepUnstirred(b *testing.B) {
	e := benchEnv()
	e.Mixed = 0.3
	benchStep(b, benchLight(), e)
}

func BenchmarkStepDark(b *testing.B) {
	l := benchLight()
	l.Beam, l.Diffuse = 0, 0
	e := benchEnv()
	e.TempC = 20
	benchStep(b, l, e)
}

// One pond-day at 10-minute steps with the sun made beforehand.
func BenchmarkPondDay(b *testing.B) {
	c := scene{latDeg: 35, dayOfY: 166, noon: 2000, tempC: 28, swingC: 4, pathM: 0.15, heldGL: 0.4}
	var ls [144]Light
	var es [144]Env
	for i := range ls {
		h := (float64(i) + 0.5) / 6
		ls[i].Beam, ls[i].Diffuse, ls[i].CosZenith = c.sky(h)
		ls[i].PathM = c.pathM
		es[i] = Plain(c.temp(h))
	}
	m := NewModel(Default())
	b.ReportAllocs()
	for b.Loop() {
		s := State{DensityGL: 0.4}
		for i := range ls {
			m.Step(&s, &ls[i], &es[i], 1.0/144)
		}
	}
}
