package growth

import (
	"math"

	"sodalake/science/optics"
)

// cosDiffuse is the mean cosine of diffuse light below the surface [1]: evenly
// diffuse skylight refracted at index 1.34.
//
// Source: our structure, eq. 1; the integral ∫ w 2c dc = 0.86 of the flux
// would be a little more, 0.84 allows for light scattered by the filaments.
const cosDiffuse = 0.84

// darkLight is the light at which the burning of the night share has fallen
// to 1/e of its rate in the dark [µmol/m²/s].
const darkLight = 10

// column is the light inside the culture, put as one stream.
type column struct {
	under float64 // below the surface [µmol/m²/s]
	tau   float64 // optical depth [1]
}

// column merges beam and diffuse into one path, eqs. 1 and 2 of the structure.
func (m *Model) column(densityGL float64, l *Light) column {
	beam, diffuse := max(l.Beam, 0), max(l.Diffuse, 0)
	tau := m.Attenuation(densityGL) * max(l.PathM, 0)
	if l.Side { // what the wall takes is the caller's business
		return column{beam + diffuse, tau / cosDiffuse}
	}
	diffuse *= 1 - optics.DiffuseReflectance
	if beam <= 0 {
		return column{diffuse, tau / cosDiffuse}
	}
	share, cos := optics.Enter(l.CosZenith) // eq. 1
	beam *= share
	under := beam + diffuse
	if under <= 0 {
		return column{0, tau / cosDiffuse}
	}
	return column{under, tau * under / (beam*cos + diffuse*cosDiffuse)}
}

// Attenuation returns how fast light dies away in the culture [1/m], where
// densityGL is the dry matter [g/L]: eq. 2, straight down.
func (m *Model) Attenuation(densityGL float64) float64 {
	return m.p.KWater + m.sigmaM*max(densityGL, 0)
}

// LightAt returns the light in the culture [µmol/m²/s] at a depth, where
// densityGL is the dry matter [g/L], l is the light above, and depthM is the
// depth below the surface or behind the wall [m].
func (m *Model) LightAt(densityGL float64, l *Light, depthM float64) float64 {
	at := *l
	at.PathM = max(depthM, 0)
	c := m.column(densityGL, &at)
	return c.under * math.Exp(-c.tau)
}

// Step carries s over dtDays [d] and returns the mean rates of that step. The
// structure, with time in days, x = I/I_k(T) and means over depth:
//
//	I_k(T) = I_k g(T), µ_sat = 0.0864 Y σ I_k(T)                          (3)
//	p  = µ_sat (1 − D) f ⟨1 − e^(−x)⟩                                     (4)
//	dD/dt = k_d ⟨max(0, x − x_c)⟩ (1 − D) − k_r g D                       (5)
//	dq/dt = φ p − q (k_q dark + max(0, µ)),  φ = φ_h ρ^c                  (6)
//	dX/dt = µ X,  µ = p − m − k_q dark q − k_b D⁴ ⟨I⟩/1000                (7, 9)
//
// l and e are the light and the water at the middle of the step; f is the
// smaller of Carbon and Env.Nutrient times Ammonia, Oxygen and Salt. D and q
// follow their exact solutions for coefficients frozen over the step, p takes
// the mean of 1 − D, and X grows by exp(Net·dtDays), so nothing here can be
// unstable at any step length. 10 minutes keep X within 0.2 % over six days.
//
// Stirring: the unstirred share 1 − Env.Mixed floats. One optical depth of it
// lies in the full light below the surface and the rest in the dark, which
// takes the same light but saturates and damages sooner; damage stays pooled.
// That is judgement, no source.
//
// Valid for DensityGL > 0, 0 ≤ Damage ≤ 1, NightQ ≥ 0, dtDays ≥ 0; negative
// light counts as none.
//
// Source: our structure, numbered as above; what it was fitted to stands at
// Default. The exponential light response: webb1974; a slow damage state that
// repair works against: han2002.
func (m *Model) Step(s *State, l *Light, e *Env, dtDays float64) Rates {
	var r Rates
	g := m.Temperature(e.TempC)
	r.FTemp = g
	r.FCarbon = m.Carbon(e.HCO3mM)
	r.FAmmonia = m.Ammonia(e.FreeNH3mM)
	r.FOxygen = m.Oxygen(e.OxygenMgL)
	r.FSalt = m.Salt(e.CarbonateGL, e.ChlorideGL, e.SulfateGL)
	r.FNutrient = min(max(e.Nutrient, 0), 1)

	// Temperature moves the saturated rate and I_k together (eq. 3).
	burn, hurt := m.p.KQ, 0.0
	if l.Beam > 0 || l.Diffuse > 0 {
		c := m.column(s.DensityGL, l)
		x0 := c.under / (m.p.IK * g)
		d := optics.DepthMeans(x0, c.tau, m.p.Threshold)
		if e.Mixed < 1 {
			floating(&d, x0, m.p.Threshold, 1-max(e.Mixed, 0))
		}
		burn *= dark(c.under)
		hurt = m.p.DamageRate * d.Excess
		r.LightShare, r.MeanLight = d.Saturation, c.under*d.Light
	}

	// Damage: exact for frozen light (eq. 5).
	rate := hurt + m.p.RepairRate*g
	end := 0.0
	if hurt > 0 {
		end = hurt / rate
	}
	fall, mean := decay(rate * dtDays)
	over := s.Damage - end
	r.Damage = end + over*mean
	s.Damage = end + over*fall
	if r.Damage > 1 || s.Damage > 1 { // the last digit of a sum
		r.Damage, s.Damage = min(r.Damage, 1), min(s.Damage, 1)
	}

	f := min(r.FCarbon, r.FNutrient) * r.FAmmonia * r.FOxygen * r.FSalt
	r.Gross = m.muSat * g * (1 - r.Damage) * f * r.LightShare             // eq. 4
	r.Maintenance = m.p.Maintenance30 * math.Exp((e.TempC-30)*(lnQ10/10)) // eq. 6
	if m.p.Bleaching > 0 {
		r.Bleach = m.p.Bleaching * square(square(r.Damage)) * r.MeanLight / 1000 // eq. 9
	}

	// The day's share: laid by with the gain, burnt in the dark, diluted by
	// growth; exact for frozen rates (eq. 6).
	loss := burn
	if up := r.Gross - r.Maintenance - burn*s.NightQ; up > 0 {
		loss += up
	}
	z := loss * dtDays
	fall, mean = decay(z)
	lay := 0.0 // laid by in the step
	if r.Gross > 0 {
		lay = m.nightShare(e.TempC) * r.Gross * dtDays
	}
	if burn > 0 {
		r.Night = burn * (s.NightQ*mean + lay*rampMean(z, mean))
	}
	s.NightQ = s.NightQ*fall + lay*mean

	r.Heat = HeatDeath(e.TempC)
	r.Net = r.Gross - r.Maintenance - r.Night - r.Bleach - r.Heat // eq. 7, and what heat kills
	r.OxygenMolPerGDay = m.oxygenPerGain * (r.Gross - r.Maintenance - r.Night)
	s.DensityGL *= exp(r.Net * dtDays)
	return r
}

// lnQ10 is the logarithm of the rise of maintenance over 10 °C, 1.4 [1].
//
// Source: karemore2020, activation energy 27 kJ/mol of dark respiration.
const lnQ10 = 0.336472236621213

// nightShare is φ of eq. 6, the share of the gain that will be burnt at night.
// The published pair covers 25–35 °C only, hence the clip.
func (m *Model) nightShare(tempC float64) float64 {
	switch {
	case tempC >= 35:
		return m.p.NightShare
	case tempC <= 25:
		return m.p.NightShare * m.p.NightRatio
	}
	return m.p.NightShare * math.Exp(m.lnNightRatio*(35-tempC)/10)
}

// dark is 1 in the dark and 0 in the light, with a smooth passage.
func dark(light float64) float64 {
	if light > 36*darkLight { // e^-36 is below the last digit of 1
		return 0
	}
	return math.Exp(-light / darkLight)
}

// decay returns e^(−z) for z ≥ 0 and its mean over 0–z, (1 − e^(−z))/z. For
// small z both come from the [3/3] Padé approximant of the exponential, whose
// relative error is z⁷/100800: below 1e-12 there.
func decay(z float64) (end, mean float64) {
	if z < 0.1 {
		z2 := z * z
		mean = (1 + z2/60) / (1 + z2/10 + z*(0.5+z2/120))
		return 1 - z*mean, mean
	}
	end = math.Exp(-z)
	return end, (1 - end) / z
}

// rampMean returns the mean over a step of what a steady supply of 1 per step
// leaves when it decays by z over the step, (1 − mean)/z with decay's mean.
func rampMean(z, mean float64) float64 {
	if z < 1e-4 { // the difference loses digits
		return 0.5 - z/6
	}
	return (1 - mean) / z
}

// exp returns e^y; for the small y of a step from the same approximant, then
// good to the last digit.
func exp(y float64) float64 {
	if y > -0.02 && y < 0.02 {
		y2 := y * y
		even, odd := 1+y2/10, y*(0.5+y2/120)
		return (even + odd) / (even - odd)
	}
	return math.Exp(y)
}

// floating mixes into the means d of stirred water those of a share that is not
// stirred: one optical depth of it lies in the full light x0, the rest in the
// dark. Its share of a layer of optical depth τ, (1 − e^(−τ))/τ, is the mean
// of the light, so the light taken up is the same as when stirred.
func floating(d *optics.Means, x0, threshold, share float64) {
	up := d.Light
	d.Saturation += share * (up*-math.Expm1(-x0) - d.Saturation)
	d.Excess += share * (up*max(0, x0-threshold) - d.Excess)
}
