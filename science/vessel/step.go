package vessel

import (
	"math"

	"sodalake/science/air"
	"sodalake/science/optics"
)

// flows are the heats into the water by law [W], or their slopes with its
// temperature [W/K].
type flows struct {
	longwave, sensible, latent, wall, soil, rain float64
}

func (f *flows) sum() float64 {
	return f.longwave + f.sensible + f.latent + f.wall + f.soil + f.rain
}

const (
	thinnestM = 0.001 // water is not taken as thinner than this [m]
	furthestK = 6.0   // furthest that the water may go in one part [K]
	mostParts = 64    // and most parts of a step [1]
)

// scene is all that stays fixed during one step.
type scene struct {
	surface      float64 // water surface [m²]
	activity     float64 // water activity [1]
	glow         float64 // emissivity of the water times σ times its surface [W/K⁴]
	skyWM2       float64 // longwave from above, shade cloth included, cover not [W/m²]
	insideWM2    float64 // sun that comes down on the water [W/m²]
	outC, outKPa float64 // the outer air, or the room's [°C], [kPa]
	wallU, baseU float64 // walls and base in the air [W/K]
	wallW        float64 // sun and cold sky on the walls, as far as the water has it [W]
	wallRestW    float64 // and what of it the air has instead [W]
	steadyW      float64 // sun and heater into the water [W]
	rainW        float64 // heat capacity of the rain per time [W/K]
	rainC        float64 // its temperature [°C]
	latentJKg    float64 // heat of evaporation [J/kg]
	layer        airLayer
	covered      bool

	lift, root             float64 // at the first stage, for the second: see airLayer [1]
	satC, satKPa, satSlope float64 // vapour pressure there: at [°C], [kPa], slope [kPa/K]
}

// Start returns a state to begin with: water and air as given and the ground
// in between water and depth. o is the weather of the moment, waterC the
// temperature of the water [°C].
func (st *Setting) Start(o *air.Outside, waterC float64) Thermal {
	th := Thermal{WaterC: waterC, CoverC: o.AirC, AirC: o.AirC, AirVapourKPa: o.VapourKPa}
	deepC := o.GroundDeepC
	if st.Indoors {
		th.CoverC, th.AirC, th.AirVapourKPa = st.RoomC, st.RoomC, air.VapourFromRH(st.RoomRHPct, st.RoomC)
		deepC = st.RoomC
	}
	const reach = upperLayer + 1.5*lowerLayer
	th.SoilC[0] = waterC + (deepC-waterC)*(upperLayer/2)/reach
	th.SoilC[1] = waterC + (deepC-waterC)*(upperLayer+lowerLayer/2)/reach
	return th
}

// Step moves th forward by one time step and returns what each law carried.
// o is the weather of the moment, best that of the middle of the step, b the
// water, dtS the length of the step [s], ten minutes or less.
//
// The water is one well-mixed body. It takes the sun through shade, cover and
// surface (all of it but Backscatter becomes heat), trades longwave with the
// sky or the cover, heat and vapour with the air, heat through its walls with
// the air and through its base with two layers of soil over a ground of fixed
// temperature, and takes in the rain that falls within its rim, at the air's
// wet-bulb temperature. Evaporation follows the water activity and the station
// pressure; it and convection have a coefficient each, so nothing is divided by
// a difference that may vanish.
//
// Under a cover there is one body of air, small enough to be always in balance:
// it takes heat and vapour from the water and heat from dry floor in the sun,
// and loses them to the cover, on which vapour condenses when the cover is
// below the dew point, and to the outer air by ventilation.
//
// Water that evaporates, rains in or drips is told, not taken: the caller
// changes the mass afterwards and leaves the temperature as it is, which
// already has their heat. An empty vessel takes the temperature of the air.
//
// The step is of second order and damps what is faster than itself; water far
// from its balance takes it in parts of six degrees or less. Water thinner than
// a millimetre is counted as a millimetre. Ice is not modelled.
//
// Source: Rosenbrock method ROS2 with γ = 1 − 1/√2, verwer1999 (Verwer, Spee,
// Blom & Hundsdorfer 1999, SIAM J. Sci. Comput. 20:1456), second order whatever
// the Jacobian. The laws: newAirLayer, coefficient,
// faceOutside, house, ground.
func (st *Setting) Step(th *Thermal, o *air.Outside, b *Body, dtS float64) (e Exchange) {
	var s scene
	st.set(&s, th, o, b)
	if !(b.HeatCapacityJK > 0) {
		th.WaterC, th.CoverC, th.AirC, th.AirVapourKPa = s.outC, s.outC, s.outC, s.outKPa
		return e
	}
	capacity := b.HeatCapacityJK + st.ExtraMassKgM2*b.SurfaceM2*WaterJKgK
	capacity = max(capacity, thinnestM*1000*WaterJKgK*b.SurfaceM2)
	var g ground
	g.set(st, o, b)
	start := th.WaterC
	if s.covered {
		st.under(&s, th, o, b, &g, capacity, dtS, &e)
	} else {
		s.through(th, &g, nil, capacity, dtS, &e)
		th.CoverC, th.AirC, th.AirVapourKPa = s.outC, s.outC, s.outKPa
	}
	e.CapacityJK = capacity
	e.HeaterJ = dtS * b.HeaterW
	e.SolarJ = dtS * (s.steadyW - b.HeaterW)
	e.RainKg = s.rainW * dtS / WaterJKgK
	if vapour := -e.LatentJ / air.LatentHeat((start+th.WaterC)/2); vapour > 0 {
		e.EvaporatedKg = vapour
	} else {
		e.CondensedKg -= vapour
	}
	return e
}

// under steps through with a house over the water.
func (st *Setting) under(s *scene, th *Thermal, o *air.Outside, b *Body, g *ground, capacity, dtS float64, e *Exchange) {
	var h house
	h.set(st, s, th, o, b)
	s.through(th, g, &h, capacity, dtS, e)
	e.CondensedKg = h.drippedKg
}

// through takes one step, or several if the water would go too far in one: thin
// water in sudden sun. h is nil under the sky.
func (s *scene) through(th *Thermal, g *ground, h *house, capacity, dtS float64, e *Exchange) {
	done := s.advance(th, g, h, capacity, dtS, dtS, e)
	for dtS-done > 1e-6*dtS {
		done += s.advance(th, g, h, capacity, dtS-done, dtS, e)
	}
}

// advance moves th forward by leftS, or by as much of it as keeps the water
// within furthestK, and adds the heats that follow the temperature to e. It
// returns how far it went [s].
func (s *scene) advance(th *Thermal, g *ground, h *house, capacity, leftS, stepS float64, e *Exchange) float64 {
	const gamma = 1 - 1/math.Sqrt2
	perJK := 1 / capacity
	y := triple{th.WaterC, th.SoilC[0], th.SoilC[1]}
	var f1, f2, j flows
	var drip1, drip2 float64

	// First stage: (I − γhJ) k₁ = h f(y).
	if h != nil {
		drip1 = h.flux(s, th, y.water, &f1, &j)
	} else {
		s.open(y.water, &f1, &j)
	}
	f1.soil, j.soil = g.toSoil*(y.upper-y.water), -g.toSoil
	slope := j.sum()
	dtS := leftS
	var rate float64
	var k1 triple
	for {
		rate = dtS * perJK
		g.eliminate(gamma*dtS, perJK, slope)
		k1 = g.solve(g.rates(rate*(s.steadyW+f1.sum()), y, dtS))
		if !(math.Abs(k1.water) > furthestK) || dtS*mostParts <= stepS {
			break
		}
		dtS /= 2
	}

	// Second stage: (I − γhJ) k₂ = h f(y + k₁) − 2k₁.
	z := triple{y.water + k1.water, y.upper + k1.upper, y.lower + k1.lower}
	if h != nil {
		drip2 = h.flux(s, th, z.water, &f2, nil)
	} else {
		s.openAgain(z.water, &f2)
	}
	f2.soil = g.toSoil * (z.upper - z.water)
	r := g.rates(rate*(s.steadyW+f2.sum()), z, dtS)
	k2 := g.solve(triple{r.water - 2*k1.water, r.upper - 2*k1.upper, r.lower - 2*k1.lower})

	// y + 3/2 k₁ + 1/2 k₂.
	th.WaterC = y.water + 1.5*k1.water + 0.5*k2.water
	th.SoilC[0] = y.upper + 1.5*k1.upper + 0.5*k2.upper
	th.SoilC[1] = y.lower + 1.5*k1.lower + 0.5*k2.lower

	// What that added to the water is, written out, ½h(f(y) + f(y + k₁)) +
	// ½γh J(k₁ + k₂): book it law by law.
	half := dtS / 2
	dt, du := gamma*(k1.water+k2.water), gamma*(k1.upper+k2.upper)
	if h != nil {
		h.drippedKg += half * (drip1 + drip2)
	}
	e.LongwaveJ += half * (f1.longwave + f2.longwave + j.longwave*dt)
	e.SensibleJ += half * (f1.sensible + f2.sensible + j.sensible*dt)
	e.LatentJ += half * (f1.latent + f2.latent + j.latent*dt)
	e.WallJ += half * (f1.wall + f2.wall + j.wall*dt)
	e.SoilJ += half * (f1.soil + f2.soil + g.toSoil*(du-dt))
	e.RainJ += half * (f1.rain + f2.rain + j.rain*dt)
	e.StoredJ += capacity * (th.WaterC - y.water)
	return dtS
}

// set works out what stays fixed during a step.
func (st *Setting) set(s *scene, th *Thermal, o *air.Outside, b *Body) {
	s.surface, s.activity = b.SurfaceM2, b.WaterActivity
	s.glow = b.SurfaceM2 * st.WaterEmittance * air.StefanBoltzmann
	s.latentJKg = air.LatentHeat(th.WaterC)
	s.steadyW = b.HeaterW
	wind := o.WindMS * st.WindFactor

	var skyWM2, wallSkyWM2, face float64 // longwave from above, what walls miss of it, coefficient on walls
	if st.Indoors {
		s.outC, s.outKPa = st.RoomC, air.VapourFromRH(st.RoomRHPct, st.RoomC)
		skyWM2 = black(st.RoomC)
		face = faceInside
	} else {
		s.outC, s.outKPa = o.AirC, o.VapourKPa
		skyWM2 = o.LongwaveWM2
		glow := black(o.AirC)
		switch {
		case st.Cover == Tunnel:
			face = faceInside
		default:
			face = faceOutside(lowWind * wind)
			wallSkyWM2 = (skyWM2 - glow) / 2 // half of what a wall sees is sky
		}
		if st.Cover == None {
			skyWM2 += st.Shade * (glow - skyWM2) // a cloth stands for its share of the sky
			if o.RainMMPerH > 0 && b.CatchM2 > 0 {
				s.rainW = o.RainMMPerH / 3600 * b.CatchM2 * WaterJKgK
				s.rainC = air.WetBulb(o.AirC, o.VapourKPa, o.PressureKPa)
			}
		}
	}
	s.skyWM2 = skyWM2

	// Sun: what the surface does not send back and the culture does not scatter
	// out warms the water; so does what comes through clear walls.
	side := 0.0
	if o.BeamWM2 > 0 || o.DiffuseWM2 > 0 {
		if !st.Indoors {
			through, spread, passed := st.pass(o.CosZenith)
			diffuse := spread*o.BeamWM2 + passed*o.DiffuseWM2
			beam := through * o.BeamWM2
			s.insideWM2 = beam + diffuse
			s.steadyW += b.SurfaceM2 * (1 - st.Backscatter - b.FloorGlint) *
				(beam*(1-optics.Fresnel(o.CosZenith)) + diffuse*(1-optics.DiffuseReflectance))
			side = st.around(o.CosZenith, beam, diffuse)
		} else {
			side = st.window(o, o.BeamWM2, o.DiffuseWM2)
		}
		s.steadyW += b.WallM2 * st.WallClear * side
	}

	// Walls in the air: a coefficient outside in series with wall and water.
	if !st.InGround {
		outer := radiative + face
		share := st.WallUWM2K / (outer + st.WallUWM2K) // of what falls on the wall, what goes in
		gainW := b.WallM2 * wallSkyWM2
		if st.WallClear == 0 {
			gainW += b.WallM2 * st.WallAbsorb * side
		}
		s.wallU = b.WallM2 * outer * share
		s.wallW = gainW * share
		s.wallRestW = gainW - s.wallW
	}
	if st.OnStand {
		const outer = radiative + faceInside
		s.baseU = b.FloorM2 * outer * st.BaseUWM2K / (outer + st.BaseUWM2K)
	}

	size := math.Sqrt(b.SurfaceM2)
	s.covered = st.Cover != None && !st.Indoors
	switch {
	case st.Indoors:
		s.layer = newAirLayer(s.outC, o.PressureKPa, 0, max(size, smallestM), s.latentJKg)
	case st.Cover == None:
		s.layer = newAirLayer(s.outC, o.PressureKPa, wind, max(size, shortestM), s.latentJKg)
	default:
		inside := draught[st.opening()] * wind
		if st.Cover == Tunnel {
			inside += tunnelMS
		}
		s.layer = newAirLayer(th.AirC, o.PressureKPa, inside, max(size, shortestM), s.latentJKg)
	}
}

// open works out the heats into the water under the sky, and their slopes,
// where t is its temperature [°C].
func (s *scene) open(t float64, f, slope *flows) {
	s.satC = t
	s.satKPa, s.satSlope = saturation(t)
	e := s.activity * s.satKPa
	s.lift = s.layer.lift(t, s.outC, e, s.outKPa)
	s.root = rise(s.lift)
	coef := s.layer.coefficient(s.root)
	h, wet := s.openHeats(t, e, coef, f)
	tk := t + kelvin
	slope.longwave = -4 * s.glow * tk * tk * tk
	slope.sensible = -h
	slope.latent = -wet * s.activity * s.satSlope
	if s.lift > 0 {
		slope.latent += s.layer.quickening(coef, s.root, s.lift, s.outC, s.activity*s.satSlope) * min(f.latent, 0)
	}
	slope.wall = -s.wallU - s.baseU
	slope.rain = -s.rainW
}

// openAgain is open near the temperature of the last call, without slopes.
func (s *scene) openAgain(t float64, f *flows) {
	sat, _ := saturationFrom(t, s.satC, s.satKPa, s.satSlope)
	e := s.activity * sat
	root := riseFrom(s.layer.lift(t, s.outC, e, s.outKPa), s.lift, s.root)
	s.openHeats(t, e, s.layer.coefficient(root), f)
}

// openHeats returns the coefficients of heat [W/K] and of vapour [W/kPa].
func (s *scene) openHeats(t, e, coef float64, f *flows) (h, wet float64) {
	h = s.surface * coef
	wet = h * s.layer.perKPa
	tk := t + kelvin
	tk2 := tk * tk
	f.longwave = s.glow * (s.skyWM2*(1/air.StefanBoltzmann) - tk2*tk2)
	f.sensible = h * (s.outC - t)
	f.latent = wet * (s.outKPa - e)
	f.wall = s.wallW + (s.wallU+s.baseU)*(s.outC-t)
	f.rain = s.rainW * (s.rainC - t)
	return h, wet
}

// black returns the radiation of a black body [W/m²].
func black(tempC float64) float64 {
	t := tempC + kelvin
	return air.StefanBoltzmann * (t * t) * (t * t)
}
