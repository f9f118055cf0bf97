package growth

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// plainRates writes the structure down once more, straight from its equations
// and with the depth means by fine quadrature: dX/dt/X, dD/dt and dq/dt.
func plainRates(p *Params, s State, l Light, e Env) (mu, dD, dq float64) {
	const n = 4000
	refl := func(c float64) float64 { // Fresnel with sines, n = 1.34
		i := math.Acos(c)
		if i < 1e-4 {
			return math.Pow(0.34/2.34, 2)
		}
		w := math.Asin(math.Sin(i) / 1.34)
		rs := math.Pow(math.Sin(i-w)/math.Sin(i+w), 2)
		rp := math.Pow(math.Tan(i-w)/math.Tan(i+w), 2)
		return (rs + rp) / 2
	}
	ib, id := (1-refl(l.CosZenith))*l.Beam, (1-0.0675)*l.Diffuse
	cosW := math.Sqrt(1 - (1-l.CosZenith*l.CosZenith)/(1.34*1.34))
	if l.Side {
		ib, id = 0, l.Beam+l.Diffuse
	}
	k := p.KWater + p.Sigma*s.DensityGL*1000
	ke := k / 0.84
	if ib+id > 0 {
		ke = k * (ib + id) / (ib*cosW + id*0.84)
	}
	t := e.TempC
	g := 0.02
	if t > p.TMin && t < p.TMax {
		den := (p.TOpt - p.TMin) * ((p.TOpt-p.TMin)*(t-p.TOpt) - (p.TOpt-p.TMax)*(p.TOpt+p.TMin-2*t))
		g = math.Max(g, (t-p.TMax)*(t-p.TMin)*(t-p.TMin)/den)
	}
	ik := p.IK * g
	sat, exc, light := 0.0, 0.0, 0.0
	for i := range n { // midpoint rule
		z := (float64(i) + 0.5) / n * l.PathM
		at := (ib + id) * math.Exp(-ke*z)
		sat += (1 - math.Exp(-at/ik)) / n
		exc += math.Max(0, at/ik-p.Threshold) / n
		light += at / n
	}
	f := 1.0
	if !math.IsInf(e.HCO3mM, 1) {
		f = e.HCO3mM * e.HCO3mM / (e.HCO3mM*e.HCO3mM + p.KCarbon*p.KCarbon)
	}
	pr := 0.0864 * p.Yield * ik * p.Sigma * (1 - s.Damage) * math.Min(f, e.Nutrient) * sat
	m := p.Maintenance30 * math.Pow(1.4, (t-30)/10)
	phi := p.NightShare * math.Pow(p.NightRatio, math.Min(1, math.Max(0, (35-t)/10)))
	dark := math.Exp(-(ib + id) / 10)
	burnt := p.KQ * dark * s.NightQ
	mu = pr - m - burnt - p.Bleaching*math.Pow(s.Damage, 4)*light/1000 - 0.3*math.Max(0, e.TempC-43)
	dD = p.DamageRate*exc*(1-s.Damage) - p.RepairRate*g*s.Damage
	dq = phi*pr - s.NightQ*(p.KQ*dark+math.Max(0, pr-m-burnt))
	return mu, dD, dq
}

func TestStepIsTheStructure(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
		p := Default()
		p.Bleaching = f("bleaching", 0, 1)
		s := State{f("density", 0.02, 1), f("damage", 0, 1), f("night", 0, 0.3)}
		l := Light{f("beam", 0, 1800), f("diffuse", 0, 700), f("cos", 0.05, 1), f("path", 0.01, 0.2), rapid.Bool().Draw(t, "side")}
		e := Plain(f("temp", 2, 48))
		e.HCO3mM, e.Nutrient = f("hco3", 0.1, 200), f("nutrient", 0, 1)
		mu, dD, dq := plainRates(&p, s, l, e)
		m := NewModel(p)
		const dt = 1e-9
		after := s
		r := m.Step(&after, &l, &e, dt)
		// Against a midpoint rule of 4000 cells; the state moves in a step of 0.1 ms.
		close := func(what string, got, want, scale float64) {
			if !(math.Abs(got-want) <= 3e-4*scale) {
				t.Fatalf("%s: step %.9g, equations %.9g", what, got, want)
			}
		}
		close("net", r.Net, mu, 1)
		close("damage", (after.Damage-s.Damage)/dt, dD, 1+math.Abs(dD))
		close("night share", (after.NightQ-s.NightQ)/dt, dq, 1+math.Abs(dq))
	})
}

// TestFrozenIsExact: with light, water and density frozen, one long step and
// many short ones are the same, because the step solves D and q exactly.
func TestFrozenIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Default()
		p.Sigma, p.KWater = 0, 20 // the water takes the light: density does not matter
		m := NewModel(p)
		l := Light{Diffuse: rapid.Float64Range(0, 3000).Draw(t, "light"), PathM: 0.1}
		e := Plain(rapid.Float64Range(0, 48).Draw(t, "temp"))
		one := State{0.4, rapid.Float64Range(0, 1).Draw(t, "damage"), rapid.Float64Range(0, 0.3).Draw(t, "night")}
		many := one
		dt := rapid.Float64Range(1e-4, 1).Draw(t, "dt")
		m.Step(&one, &l, &e, dt)
		for range 16 {
			m.Step(&many, &l, &e, dt/16)
		}
		for _, v := range [][2]float64{{one.DensityGL, many.DensityGL}, {one.Damage, many.Damage}, {one.NightQ, many.NightQ}} {
			if math.Abs(v[0]-v[1]) > 1e-10 {
				t.Fatalf("one step %+v, sixteen %+v", one, many)
			}
		}
	})
}

func drawAnything(t *rapid.T) (State, Light, Env, float64) {
	f := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	s := State{math.Exp(f("ln density", -12, 4)), f("damage", 0, 1), f("night", 0, 2)}
	l := Light{f("beam", -10, 2500), f("diffuse", -10, 1500), f("cos", -1, 1), math.Exp(f("ln path", -8, 1.5)), rapid.Bool().Draw(t, "side")}
	e := Env{f("temp", -5, 60), f("hco3", -1, 500), f("nh3", 0, 30), f("o2", 0, 120),
		f("carbonate", 0, 200), f("chloride", 0, 200), f("sulfate", 0, 200), f("nutrient", -0.5, 1.5), f("mixed", -0.2, 1.2)}
	return s, l, e, math.Exp(f("ln dt", -14, 0))
}

func TestStepAlways(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Default()
		p.Bleaching = rapid.Float64Range(0, 2).Draw(t, "bleaching")
		p.DamageRate = rapid.Float64Range(0, 2000).Draw(t, "damage rate")
		p.Threshold = rapid.Float64Range(0.1, 20).Draw(t, "threshold")
		m := NewModel(p)
		s, l, e, dt := drawAnything(t)
		before := s
		r := m.Step(&s, &l, &e, dt)
		for _, v := range []float64{s.DensityGL, s.Damage, s.NightQ, r.Gross, r.Maintenance, r.Night, r.Bleach, r.Net, r.MeanLight, r.OxygenMolPerGDay} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				t.Fatalf("not finite: %+v %+v", s, r)
			}
		}
		for _, v := range []float64{s.Damage, r.Damage, r.LightShare, r.FTemp, r.FCarbon, r.FAmmonia, r.FOxygen, r.FSalt, r.FNutrient} {
			if !(v >= 0 && v <= 1) {
				t.Fatalf("outside 0–1: %+v %+v", s, r)
			}
		}
		if !(s.DensityGL > 0) || s.NightQ < 0 || r.Gross < 0 || r.Maintenance < 0 || r.Night < 0 || r.Bleach < 0 {
			t.Fatalf("negative: %+v %+v", s, r)
		}
		if want := before.DensityGL * math.Exp(r.Net*dt); math.Abs(s.DensityGL/want-1) > 1e-14*(1+math.Abs(r.Net*dt)) {
			t.Fatalf("density %.17g, by its rate %.17g", s.DensityGL, want)
		}
		if l.Beam <= 0 && l.Diffuse <= 0 && r.Gross > 0 {
			t.Fatalf("gains in the dark: %+v", r)
		}
	})
}

func TestDarkLedger(t *testing.T) {
	// In the dark nothing is gained, and the night share burns exactly what leaves q.
	rapid.Check(t, func(t *rapid.T) {
		m := NewModel(Default())
		s, l, e, dt := drawAnything(t)
		l.Beam, l.Diffuse = 0, 0
		before := s
		r := m.Step(&s, &l, &e, dt)
		if r.Gross > 0 || s.DensityGL >= before.DensityGL {
			t.Fatalf("grew in the dark: %+v", r)
		}
		if math.Abs(r.Night*dt-(before.NightQ-s.NightQ)) > 1e-13 {
			t.Fatalf("burnt %g, taken from q %g", r.Night*dt, before.NightQ-s.NightQ)
		}
	})
}

func TestMonotone(t *testing.T) {
	p := Default()
	p.DamageRate, p.RepairRate = 0, 0.01 // damage frozen
	m := NewModel(p)
	rapid.Check(t, func(t *rapid.T) {
		s, l, e, _ := drawAnything(t)
		brighter := l
		up := rapid.Float64Range(1, 3).Draw(t, "up")
		brighter.Beam, brighter.Diffuse = max(l.Beam, 0)*up, max(l.Diffuse, 0)*up
		a, b := s, s
		low, high := m.Step(&a, &l, &e, 1e-6), m.Step(&b, &brighter, &e, 1e-6)
		// The closed form is good to 1e-6 of the saturated rate.
		if high.Gross < low.Gross-2e-6*m.muSat {
			t.Fatalf("more of the same light gave less: %g then %g", low.Gross, high.Gross)
		}
		// Light falls with depth and with density.
		z := rapid.Float64Range(0, 1).Draw(t, "z")
		here := m.LightAt(s.DensityGL, &l, z)
		if m.LightAt(s.DensityGL, &l, z+0.01) > here || m.LightAt(s.DensityGL*1.1, &l, z) > here {
			t.Fatal("light rises with depth or density")
		}
		// No limit is eased by more of what harms.
		worse := e
		worse.FreeNH3mM *= 1.1
		worse.OxygenMgL *= 1.1
		worse.SulfateGL *= 1.1
		worse.ChlorideGL *= 1.1
		worse.CarbonateGL *= 1.1
		worse.HCO3mM = math.Max(0, worse.HCO3mM) * 0.9
		c := s
		if m.Step(&c, &l, &worse, 1e-6).Gross > low.Gross+1e-12 {
			t.Fatal("worse water gave more")
		}
	})
}

func TestUnstirred(t *testing.T) {
	m := NewModel(Default())
	rapid.Check(t, func(t *rapid.T) {
		s, l, e, _ := drawAnything(t)
		e.Mixed = 1
		still := e
		still.Mixed = 0
		a, b := s, s
		stirred, floating := m.Step(&a, &l, &e, 1e-6), m.Step(&b, &l, &still, 1e-6)
		if floating.LightShare > stirred.LightShare+2e-6 {
			t.Fatalf("floating uses light better: %g against %g", floating.LightShare, stirred.LightShare)
		}
		if floating.MeanLight != stirred.MeanLight { // the same number, not a computed one
			t.Fatal("floating takes up other light")
		}
	})
	// Dim light is used as well either way; full sun much worse when floating.
	light := func(par, mixed float64) float64 {
		s, l, e := State{DensityGL: 0.5}, Light{Diffuse: par, PathM: 0.2}, Plain(30)
		e.Mixed = mixed
		return m.Step(&s, &l, &e, 1e-6).LightShare
	}
	if r := light(5, 0) / light(5, 1); r < 0.99 {
		t.Errorf("dim: floating %g of stirred, want nearly 1: the light taken up is the same", r)
	}
	if r := light(1800, 0) / light(1800, 1); r > 0.5 {
		t.Errorf("full sun: floating %g of stirred, want under half", r)
	}
}

func TestBleaching(t *testing.T) {
	p := Default()
	p.Bleaching = 1
	m := NewModel(p)
	s, l, e := State{DensityGL: 0.1, Damage: 0.8}, Light{Diffuse: 1500, PathM: 0.1}, Plain(30)
	r := m.Step(&s, &l, &e, 1e-9)
	want := math.Pow(0.8, 4) * r.MeanLight / 1000
	if math.Abs(r.Bleach-want) > 1e-6 || r.Bleach < 0.1 {
		t.Errorf("bleaching %g /d, want %g (eq. 9 of the structure)", r.Bleach, want)
	}
	plain := Default()
	if plain.Bleaching != 0 {
		t.Error("bleaching is off by default: no published case speaks to it")
	}
}
