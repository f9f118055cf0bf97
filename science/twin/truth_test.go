package twin

import (
	"math"
	"math/rand/v2"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// truth is a synthetic pond: what the twin must guess.
type truth struct {
	m      Member
	at     time.Time
	w      *pond.Weather
	noise  bool // it has the noise that the laws leave out
	law    law  // nil: the laws of the twin
	solver *brine.Solver
}

// law is another law of nature: it is called after every step and may undo what
// a law of the twin has done.
type law interface {
	after(t *truth, before *pond.Vessel, led *pond.Ledger, o *air.Outside, seen *pond.Seen, dtS float64)
}

// advance carries the truth to a moment, with its own loop over the steps.
func (t *truth) advance(to time.Time) {
	if !to.After(t.at) {
		return
	}
	from := t.at
	t.m.Pond.Use(t.solver)
	t.m.Pond.Settle()
	for t.at.Before(to) {
		i := int(t.at.Sub(t.w.Start) / stepTime)
		end := t.w.Start.Add(time.Duration(i+1) * stepTime)
		if end.After(to) {
			end = to
		}
		dt := end.Sub(t.at).Seconds()
		var seen pond.Seen
		if t.law == nil {
			t.m.Pond.Step(&t.w.Outside[i], dt, nil, &seen)
		} else {
			before := t.m.Pond
			var led pond.Ledger
			t.m.Pond.Step(&t.w.Outside[i], dt, &led, &seen)
			t.law.after(t, &before, &led, &t.w.Outside[i], &seen, dt)
		}
		t.at = end
	}
	if t.noise {
		t.m.stir(to.Sub(from).Hours()/24, &calm)
	}
}

// ahead runs a copy of the truth, only its water kept up by daily, and returns
// its density at the moments [g/L].
func (t *truth) ahead(moments []time.Time, daily *pond.Act) []float64 {
	c := *t
	out := make([]float64, len(moments))
	for i, at := range moments {
		// Cut at midnights too, as the twin does.
		for c.at.Before(at) {
			next := midnightAfter(c.at)
			if at.Before(next) {
				next = at
			}
			c.advance(next)
			c.m.Do(daily)
		}
		out[i] = c.m.Pond.DensityGL()
	}
	return out
}

func midnightAfter(t time.Time) time.Time { return t.Truncate(24 * time.Hour).Add(24 * time.Hour) }

// expect is what a perfect instrument would read.
func (t *truth) expect(k Kind) float64 { return t.m.Expect(k, t.solver) }

// otherLight is growth by another light curve: the rate at each depth is a
// hyperbolic tangent of light with instant inhibition above it, and no damaged
// state is carried on; respiration is one part of the gain and one constant.
//
// Source of the form: Jassby & Platt 1976 (Limnol. Oceanogr. 21:540), with the
// inhibition of Platt et al. 1980, from memory. The numbers are chosen so that
// a summer pond gives about what the twin expects of one.
type otherLight struct {
	yield, ik, inhibit float64
}

func newOtherLight(rng *rand.Rand) *otherLight {
	return &otherLight{
		yield: 0.95 * math.Exp(0.12*rng.NormFloat64()), ik: 170 * math.Exp(0.12*rng.NormFloat64()), inhibit: 9000 * math.Exp(0.3*rng.NormFloat64()),
	}
}

func (l *otherLight) after(t *truth, before *pond.Vessel, led *pond.Ledger, o *air.Outside, seen *pond.Seen, dtS float64) {
	v := &t.m.Pond
	if before.BiomassG <= 0 || before.WaterKg < 1 {
		return
	}
	p := before.Growth.Params()
	density := before.BiomassG / seen.VolumeL
	surface := before.Shape.SurfaceM2(before.Shape.LevelM(before.VolumeL()))
	beam, diffuse := before.Setting.Light(o)
	in := 0.93 * (beam + diffuse)
	g := before.Growth.Temperature(v.Heat.WaterC)
	depth := seen.VolumeL / 1000 / surface
	gross := 0.0
	if in > 0 {
		k := 1.25 * (1000*p.Sigma*density + 0.3)
		const parts = 24
		for i := range parts {
			x := in * math.Exp(-k*depth*(float64(i)+0.5)/parts)
			ik := l.ik * (0.3 + 0.7*g)
			gross += math.Tanh(x/ik) * math.Exp(-x/l.inhibit/(0.15+0.85*g)) / parts
		}
		// 0.0864 turns µmol/s into mol/d; the slope in dim light is that of the yield.
		gross *= 0.0864 * l.yield * p.Sigma * l.ik * (0.3 + 0.7*g) * 1.25
		gross *= seen.Rates.FCarbon * seen.Rates.FNutrient * seen.Rates.FAmmonia * seen.Rates.FOxygen * seen.Rates.FSalt
	}
	loss := 0.05*math.Exp((v.Heat.WaterC-30)*0.05) + 0.12*gross
	was, now := led[pond.Grown].BiomassG, before.BiomassG*math.Expm1((gross-loss)*dtS/86400)
	v.BiomassG += now - was
	if was != 0 {
		f := now/was - 1
		for k, mol := range led[pond.Grown].Mol {
			if v.Mol[k]+f*mol > 0.1*v.Mol[k] {
				v.Mol[k] += f * mol
			}
		}
	}
}

// otherHeat is another body of water: one layer with a constant loss to the
// ground, no walls, a sky by Swinbank, and evaporation by the wind function of
// Penman 1956 on the open wind, convection in its proportion.
//
// Source: Swinbank 1963 and Penman 1956 as quoted in handbooks, from memory.
type otherHeat struct {
	wind float64 // factor on the wind function
}

func (h *otherHeat) after(t *truth, before *pond.Vessel, led *pond.Ledger, o *air.Outside, seen *pond.Seen, dtS float64) {
	v := &t.m.Pond
	if before.WaterKg < 1 {
		return
	}
	surface := before.Shape.SurfaceM2(before.Shape.LevelM(before.VolumeL()))
	tc := before.Heat.WaterC
	shade := 1 - before.Setting.Shade
	airC, vapour, wind := o.AirC+before.WarmerC, o.VapourKPa, h.wind*o.WindMS
	sky := 0.7*5.31e-13*math.Pow(airC+273.15, 6) + 0.3*o.LongwaveWM2
	if before.Setting.Cover != vessel.None {
		// Under a film: the air of the twin's own law, still, half of the sky
		// behind a wet sheet at that temperature, three quarters of the light.
		shade *= 0.75
		airC, vapour, wind = v.Heat.AirC, v.Heat.AirVapourKPa, 0.3*h.wind
		sky = 0.5*sky + 0.5*5.67e-8*math.Pow(airC+273.15, 4)
	}
	sun := 0.93 * shade * (o.BeamWM2 + o.DiffuseWM2)
	out := 0.95 * 5.67e-8 * math.Pow(tc+273.15, 4)
	deficit := 0.985*air.Saturation(tc) - vapour
	mmPerDay := (1.313 + 1.381*wind) * deficit
	latent := mmPerDay * 2.45e6 / 86400
	sensible := (1.313 + 1.381*wind) * 0.066 * (tc - airC) * 2.45e6 / 86400
	ground := 6 * (tc - o.GroundDeepC)
	warm := (sun + 0.95*sky - out - latent - sensible - ground) * surface * dtS
	v.Heat.WaterC = math.Min(math.Max(tc+warm/(before.WaterKg*4182), 0), 48)
	v.WaterKg += led[pond.Evaporated].WaterKg*-1 - mmPerDay*surface*dtS/86400
	if v.WaterKg < 1 {
		v.WaterKg = 1
	}
}

// otherAll is both.
type otherAll struct {
	light *otherLight
	heat  *otherHeat
}

func (a *otherAll) after(t *truth, before *pond.Vessel, led *pond.Ledger, o *air.Outside, seen *pond.Seen, dtS float64) {
	a.heat.after(t, before, led, o, seen, dtS)
	a.light.after(t, before, led, o, seen, dtS)
}
