package vessel

import (
	"math"

	"sodalake/science/air"
)

// house is the air and the cover over the water in one step: their heat
// balances, solved for the temperature of the cover.
//
//	air:    a₁(T_w − T_a) + a₂(T_c − T_a) + a₃(T_o − T_a) + Q = 0
//	vapour: b₁(e_w − e) + b₃(e_o − e) = b₂(e − e_s(T_c))⁺
//	cover:  sun + longwave from below and outside + a₂(T_a − T_c) + a₄(T_o − T_c)
//	        + condensation − (1 + R) F ε σ T_c⁴ = 0
//
// with R the cover per floor and F the floor area. The vapour is linear in
// e_s(T_c) on either side of the dew point, the air linear in T_c, so that one
// unknown is left. Condensation wets the inner face only, and a cover that would
// evaporate its film counts as dry. What is lost on reflected longwave is left
// out. Dry floor is as warm as the air.
//
// Source: the steady balance of a single-sheet greenhouse, as in businger1963
// (The glasshouse climate, in van Wijk, Physics of Plant Environment), from
// memory. Its coefficients are named where they stand.
type house struct {
	floor     float64 // floor area that goes with this vessel [m²]
	keeps     float64 // emissivity of the cover, 1 − longwave passed [1]
	passes    float64 // longwave passed [1]
	inner     float64 // a₂ [W/K]
	vent      float64 // a₃ [W/K]
	outer     float64 // a₄ [W/K]
	walls     float64 // part of a₁: the vessel's walls in this air [W/K]
	wetInner  float64 // b₂ [W/kPa]
	wetVent   float64 // b₃ [W/kPa]
	gainW     float64 // Q, sun that dry floor and walls give to the air [W]
	coverW    float64 // sun, longwave and air from outside on the cover [W]
	mine      float64 // (1 + R) F ε σ [W/K⁴]
	rest      float64 // ε σ times the dry floor [W/K⁴]
	drips     float64 // condensate that falls back, per heat of condensation [kg/J]
	drippedKg float64 // condensate fallen back in this step [kg]

	airPerWater    float64 // how the air follows the water [1]
	vapourPerWater float64 // and its vapour, film left out [kPa/K]
	coverPerWater  float64 // and the cover [1]

	coverC, coverKPa, coverSlope float64 // vapour pressure at the cover: at [°C], [kPa], slope [kPa/K]
}

func (h *house) set(st *Setting, s *scene, th *Thermal, o *air.Outside, b *Body) {
	// The vessel takes the room of its surface, its foot or its shadow: a
	// bottle has next to no surface.
	plan := max(max(s.surface, b.FloorM2), max(b.WallM2/math.Pi, smallestM*smallestM))
	h.floor = plan
	if st.WaterShare > 0 {
		h.floor /= min(st.WaterShare, 1)
	}
	cover := st.CoverRatio * h.floor
	wind := o.WindMS * st.WindFactor
	h.passes = st.CoverLongwave
	h.keeps = 1 - st.CoverLongwave
	h.inner = cover * faceInside
	h.outer = cover * faceOutside(wind)
	// Ventilation and leaks rise with the wind: half of their figure in still
	// air, all of it at 2 m/s (common practice, no source).
	changes := st.AirChanges[st.opening()] * (0.5 + 0.25*wind)
	heavy := 1000 * o.PressureKPa / (gasDry * (o.AirC + kelvin)) // [kg/m³]
	h.vent = h.floor * st.HeadM * heavy * cpAir * changes / 3600
	h.wetVent = h.vent * s.layer.perKPa / lewis // air is carried whole: heat and vapour alike
	h.wetInner = h.inner * s.layer.perKPa
	h.gainW = (h.floor - plan) * (1 - st.GroundAlbedo) * st.FloorToAir * s.insideWM2
	if st.Cover == Tunnel {
		h.walls = s.wallU + s.baseU
		h.gainW += s.wallRestW
	}
	h.drips = st.CoverDrip / s.latentJKg
	h.mine = (h.floor + cover) * h.keeps * air.StefanBoltzmann
	h.rest = (h.floor - plan) * h.keeps * air.StefanBoltzmann
	h.coverW = h.floor*st.CoverAbsorption*(1-st.Shade)*(o.BeamWM2+o.DiffuseWM2) +
		h.keeps*(h.floor*s.skyWM2+(cover-h.floor)*(s.skyWM2+black(o.AirC))/2) +
		h.outer*s.outC
	h.coverC = th.CoverC
	h.coverKPa, h.coverSlope = saturation(th.CoverC)
}

// flux works out the heats into the water under the cover, where t is its
// temperature [°C], and moves the air and the cover in th to their balance. The
// slopes are left alone when slope is nil, which is the second stage. It returns
// the condensate that falls back [kg/s].
func (h *house) flux(s *scene, th *Thermal, t float64, f, slope *flows) float64 {
	if slope != nil {
		s.satC = t
		s.satKPa, s.satSlope = saturation(t)
		s.lift = s.layer.lift(t, th.AirC, s.activity*s.satKPa, th.AirVapourKPa)
		s.root = rise(s.lift)
	}
	sat, satSlope := saturationFrom(t, s.satC, s.satKPa, s.satSlope)
	e, de := s.activity*sat, s.activity*satSlope
	tk := t + kelvin
	tk3 := tk * tk * tk
	waterGlow := s.glow * h.keeps * tk3 // of the water's longwave, what the cover keeps, per kelvin

	// The coefficient over the water depends on the air that it makes: twice
	// round at first, then once from where the air is going.
	rounds := 2
	if slope == nil {
		rounds = 1
		th.AirC += h.airPerWater * (t - s.satC)
		th.AirVapourKPa += h.vapourPerWater * (t - s.satC)
		th.CoverC += h.coverPerWater * (t - s.satC)
	}
	var b balance
	for range rounds {
		lift := s.layer.lift(t, th.AirC, e, th.AirVapourKPa)
		s.root = riseFrom(lift, s.lift, s.root)
		s.lift = lift
		b.set(h, s, t, e)
		for range 8 {
			step := b.step(h, s, th.CoverC, waterGlow*tk)
			th.CoverC += step
			if math.Abs(step) < 0.5 { // what is left is a hundredth of it or less
				break
			}
		}
		th.AirC = b.airBase + b.airPerCover*th.CoverC
		th.AirVapourKPa = b.dryKPa - b.condensing*b.perWet
	}

	ck := th.CoverC + kelvin
	ck3 := ck * ck * ck
	f.longwave = s.glow * (h.passes*s.skyWM2*(1/air.StefanBoltzmann) + h.keeps*ck3*ck - tk3*tk)
	f.sensible = b.conv * (th.AirC - t)
	f.latent = b.wet * (th.AirVapourKPa - e)
	wallAirC := s.outC
	if h.walls > 0 {
		wallAirC = th.AirC
	}
	f.wall = s.wallW + (s.wallU+s.baseU)*(wallAirC-t)
	drip := h.drips * b.condensing // [kg/s]
	f.rain = drip * WaterJKgK * (th.CoverC - t)
	if slope == nil {
		return drip
	}

	// How cover, air and vapour follow the water. The film's own warming is
	// left out of the vapour: any Jacobian will do.
	ak := th.AirC + kelvin
	airPerWater := (b.conv + h.walls) * b.perAll
	dryPerWater := b.wet * de * b.perWet
	coverPerWater := (4*waterGlow + (4*h.rest*ak*ak*ak+h.inner)*airPerWater + b.film*dryPerWater) / b.stiff
	airPerWater += b.airPerCover * coverPerWater
	h.airPerWater, h.vapourPerWater, h.coverPerWater = airPerWater, dryPerWater, coverPerWater
	slope.longwave = 4 * s.glow * (h.keeps*ck3*coverPerWater - tk3)
	slope.sensible = b.conv * (airPerWater - 1)
	slope.latent = b.wet * (dryPerWater - de)
	if s.lift > 0 {
		slope.latent += s.layer.quickening(b.coef, s.root, s.lift, th.AirC, de) * min(f.latent, 0)
	}
	slope.wall = -s.wallU - s.baseU
	if h.walls > 0 {
		slope.wall *= 1 - airPerWater
	}
	slope.rain = 0
	return drip
}

// balance is the house at one temperature of the water.
type balance struct {
	coef                 float64 // of convection over the water [W/m²/K]
	conv, wet            float64 // from the water to the air [W/K], [W/kPa]
	perAll, perWet       float64 // one over the sums of both kinds of coefficient [K/W], [kPa/W]
	airBase, airPerCover float64 // air temperature = base + share · cover temperature [°C], [1]
	dryKPa               float64 // vapour if nothing condensed [kPa]
	wetting              float64 // condensation per vapour pressure, when there is any [W/kPa]
	film                 float64 // the same, 0 when there is none [W/kPa]
	condensing           float64 // heat of condensation on the cover [W]
	stiff                float64 // how fast the balance of the cover falls with its temperature [W/K]
}

func (b *balance) set(h *house, s *scene, t, e float64) {
	b.coef = s.layer.coefficient(s.root)
	b.conv = max(s.surface, smallestM*smallestM) * b.coef
	b.wet = b.conv * s.layer.perKPa
	a1 := b.conv + h.walls
	b.perAll = 1 / (a1 + h.inner + h.vent)
	b.airBase = (a1*t + h.vent*s.outC + h.gainW) * b.perAll
	b.airPerCover = h.inner * b.perAll
	b.perWet = 1 / (b.wet + h.wetVent)
	b.dryKPa = (b.wet*e + h.wetVent*s.outKPa) * b.perWet
	b.wetting = h.wetInner / (1 + h.wetInner*b.perWet)
}

// step returns the Newton step for the temperature of the cover c, where
// waterW is the longwave that the water gives to it.
func (b *balance) step(h *house, s *scene, c, waterW float64) float64 {
	airC := b.airBase + b.airPerCover*c
	ak, ck := airC+kelvin, c+kelvin
	ak3, ck3 := ak*ak*ak, ck*ck*ck
	sat, satSlope := saturationFrom(c, h.coverC, h.coverKPa, h.coverSlope)
	b.film, b.condensing = 0, 0
	if b.dryKPa > sat {
		b.film = b.wetting
		b.condensing = b.film * (b.dryKPa - sat)
	}
	gain := h.coverW + waterW + h.rest*ak3*ak - h.mine*ck3*ck + h.inner*(airC-c) - h.outer*c + b.condensing
	b.stiff = 4*(h.mine*ck3-h.rest*ak3*b.airPerCover) + h.inner*(1-b.airPerCover) + h.outer + b.film*satSlope
	step := gain / b.stiff
	b.condensing = max(b.condensing-b.film*satSlope*step, 0)
	return step
}
