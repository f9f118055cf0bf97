package power

import "math"

// ManningVelocity returns the velocity [m/s] of water in an open channel:
//
//	v = R^(2/3) S^(1/2)/n
//
// hydraulicRadiusM is R, area over wetted edge [m], slope is S [1] and manning
// is n [s/m^(1/3)].
//
// Source: chow1959, eq. 5-6, in metric units.
func ManningVelocity(hydraulicRadiusM, slope, manning float64) float64 {
	return math.Cbrt(hydraulicRadiusM*hydraulicRadiusM) * math.Sqrt(slope) / manning
}

// ManningSlope returns the slope of the energy [1] that a velocity of velocityMS
// [m/s] uses up: S = n² v²/R^(4/3), with hydraulicRadiusM [m] and manning
// [s/m^(1/3)].
//
// Source: chow1959, eq. 5-6.
func ManningSlope(velocityMS, hydraulicRadiusM, manning float64) float64 {
	r := math.Cbrt(hydraulicRadiusM)
	return manning * manning * velocityMS * velocityMS / (r * r * r * r)
}

// Roughness of channels, Manning's n.
//
// Source: chisti2016, from memory: smooth plastic 0.010, lined earth 0.012.
const (
	PlasticManning = 0.010 // [s/m^(1/3)]
	EarthManning   = 0.012 // lined earth [s/m^(1/3)]
)

// BendLoss is the loss coefficient of one turn of a raceway by 180° [1].
// From memory; vanes lower it.
const BendLoss = 2.4

// Efficiency of what drives a raceway.
const (
	PaddleEfficiency    = 0.17 // motor, gear and paddle wheel [1]. Source: chisti2016, from memory
	SmallPumpEfficiency = 0.15 // a small immersed pump, wire to water [1]. Common practice, no source
)

// Raceway is a channel in which water goes round.
type Raceway struct {
	WidthM  float64 // of the channel [m]
	DepthM  float64 // of the water [m]
	LoopM   float64 // length of one round along the middle [m]
	Manning float64 // [s/m^(1/3)]
	Bends   float64 // turns by 180° in one round [1]
	BendK   float64 // loss coefficient of one turn; 0 is taken as BendLoss [1]
}

// HydraulicRadiusM returns the area over the wetted edge [m].
func (r *Raceway) HydraulicRadiusM() float64 {
	return r.WidthM * r.DepthM / (r.WidthM + 2*r.DepthM)
}

// Mixing is what it takes to keep a raceway going.
type Mixing struct {
	FlowM3S    float64 // [m³/s]
	FrictionM  float64 // head lost on the straight [m]
	BendsM     float64 // head lost in the turns [m]
	HydraulicW float64 // power given to the water [W]
	InputW     float64 // electric power [W]
	PerM2W     float64 // of it for a square metre [W/m²]
	RoundS     float64 // time of one round [s]
}

// At returns what a velocity of velocityMS [m/s] takes, with an efficiency [1]
// from wire to water and a density of densityKgM3 [kg/m³]:
//
//	h = S L + bends K v²/(2 g),  P = ρ g Q h
//
// Source: chow1959, eq. 5-6.
func (r *Raceway) At(velocityMS, efficiency, densityKgM3 float64) Mixing {
	k := r.BendK
	if k <= 0 {
		k = BendLoss
	}
	m := Mixing{FlowM3S: velocityMS * r.WidthM * r.DepthM}
	m.FrictionM = ManningSlope(velocityMS, r.HydraulicRadiusM(), r.Manning) * r.LoopM
	m.BendsM = r.Bends * k * velocityMS * velocityMS / (2 * Gravity)
	m.HydraulicW = densityKgM3 * Gravity * m.FlowM3S * (m.FrictionM + m.BendsM)
	m.InputW = m.HydraulicW / efficiency
	m.PerM2W = m.InputW / (r.WidthM * r.LoopM)
	m.RoundS = r.LoopM / velocityMS
	return m
}

// VelocityBy returns the velocity [m/s] that inputW [W] of electric power keeps
// up, with an efficiency [1] from wire to water and densityKgM3 [kg/m³]. All the
// losses go by the square of the velocity, so the power goes by its cube.
func (r *Raceway) VelocityBy(inputW, efficiency, densityKgM3 float64) float64 {
	one := r.At(1, efficiency, densityKgM3).InputW
	if !(one > 0) || !(inputW > 0) {
		return 0
	}
	return math.Cbrt(inputW / one)
}

// ChistiW returns the electric power [W] of a paddle wheel by the form for long
// straight channels:
//
//	P = 1.59 A ρ g f² u³/(e d^0.33)
//
// areaM2 is A [m²], hydraulicDiameterM is d, four times the hydraulic radius [m],
// velocityMS is u [m/s], manning is f [s/m^(1/3)], efficiency is e [1] and
// densityKgM3 is ρ [kg/m³]. It leaves out the turns, which in small ponds take
// most: Raceway.At counts them.
//
// Source: chisti2016; the coefficient follows from chow1959, eq. 5-6, as
// 4^(1/3) = 1.587.
func ChistiW(areaM2, hydraulicDiameterM, velocityMS, manning, efficiency, densityKgM3 float64) float64 {
	return 1.59 * areaM2 * densityKgM3 * Gravity * manning * manning * velocityMS * velocityMS * velocityMS / (efficiency * math.Pow(hydraulicDiameterM, 0.33))
}

// Pace is what a velocity does to a culture.
type Pace string

// The paces.
const (
	Settles Pace = "settles" // under 5 cm/s filaments settle or float
	Slow    Pace = "slow"    // 5 to 10 cm/s
	Usual   Pace = "usual"   // 10 to 20 cm/s
	Good    Pace = "good"    // 20 to 30 cm/s
	Harsh   Pace = "harsh"   // above 30 cm/s power runs away and filaments break
)

// PaceOf returns what velocityMS [m/s] does to a culture.
//
// Source: common practice, from memory: 10 to 20 cm/s usual, 20 to 30 good,
// settling below 5.
func PaceOf(velocityMS float64) Pace {
	switch {
	case velocityMS < 0.05:
		return Settles
	case velocityMS < 0.10:
		return Slow
	case velocityMS < 0.20:
		return Usual
	case velocityMS <= 0.30:
		return Good
	}
	return Harsh
}
