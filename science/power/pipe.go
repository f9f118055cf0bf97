package power

import (
	"math"

	"sodalake/science/num"
)

// Gravity is the standard acceleration of fall [m/s²].
//
// Source: codata2018.
const Gravity = 9.80665

// WaterViscosity returns the kinematic viscosity of water [m²/s] at tempC [°C],
// from
//
//	log10(µ/µ20) = (20 − t)/(t + 96) (1.2364 − 1.37e-3 (20 − t) + 5.7e-6 (20 − t)²)
//
// with µ20 = 1.002 mPa·s and the density 1000 (1 − (t + 288.9414)(t − 3.9863)²/(508929.2 (t + 68.12963))).
// Valid from 0 to 100 °C. A soda medium of 20 g/L is some 3 % more viscous,
// which moves a head by less than 1 %.
//
// Source: kestin1978, eq. 15; density: mccutcheon1993; both from memory.
func WaterViscosity(tempC float64) float64 {
	d := 20 - tempC
	mu := 1.002e-3 * math.Pow(10, d/(tempC+96)*(1.2364-1.37e-3*d+5.7e-6*d*d))
	return mu / waterKgM3(tempC)
}

// waterKgM3 is the density of water [kg/m³].
func waterKgM3(tempC float64) float64 {
	t := tempC
	return 1000 * (1 - (t+288.9414)*(t-3.9863)*(t-3.9863)/(508929.2*(t+68.12963)))
}

// Reynolds returns the Reynolds number [1] of a flow at velocityMS [m/s] through
// diameterM [m] with a kinematic viscosity of viscosityM2S [m²/s].
func Reynolds(velocityMS, diameterM, viscosityM2S float64) float64 {
	return math.Abs(velocityMS) * diameterM / viscosityM2S
}

// The ends of the range between smooth and turbulent flow, in which nothing is
// sure. Common practice, no source.
const laminarTo, turbulentFrom = 2300.0, 4000.0

// Friction returns Darcy's friction factor [1] for the Reynolds number reynolds
// [1] and the roughness over the diameter, roughness [1]: 64/Re below 2300,
//
//	1/√f = −2 log10(ε/3.7 + 2.51/(Re √f))
//
// above 4000, and between them a straight line, since nothing is known there.
//
// Special case: +Inf for a Reynolds number of 0.
//
// Source: colebrook1939, solved by Newton's method from Haaland's form.
func Friction(reynolds, roughness float64) float64 {
	switch {
	case reynolds < laminarTo:
		return 64 / reynolds
	case reynolds < turbulentFrom:
		a, b := 64/laminarTo, colebrook(turbulentFrom, roughness)
		return a + (b-a)*(reynolds-laminarTo)/(turbulentFrom-laminarTo)
	}
	return colebrook(reynolds, roughness)
}

// colebrook solves for x = 1/√f.
func colebrook(re, eps float64) float64 {
	x := 1 / math.Sqrt(Haaland(re, eps))
	for range 20 {
		arg := eps/3.7 + 2.51*x/re
		f := x + 2*math.Log10(arg)
		df := 1 + 2*2.51/(re*arg*math.Ln10)
		step := f / df
		x -= step
		if math.Abs(step) < 1e-14*x {
			break
		}
	}
	return 1 / (x * x)
}

// Haaland returns Darcy's friction factor [1] of turbulent flow in closed form,
// within some 2 % of Colebrook's:
//
//	1/√f = −1.8 log10((ε/3.7)^1.11 + 6.9/Re)
//
// reynolds is Re [1] and roughness is ε, over the diameter [1].
//
// Source: haaland1983.
func Haaland(reynolds, roughness float64) float64 {
	x := -1.8 * math.Log10(math.Pow(roughness/3.7, 1.11)+6.9/reynolds)
	return 1 / (x * x)
}

// Pipe is a straight pipe with its fittings.
type Pipe struct {
	LengthM    float64 // [m]
	DiameterM  float64 // inside [m]
	RoughnessM float64 // of the wall [m]
	Minor      float64 // sum of the loss coefficients of its fittings [1]
}

// VelocityMS returns the velocity of the flow [m/s] at flowM3S [m³/s].
func (p *Pipe) VelocityMS(flowM3S float64) float64 {
	return flowM3S / (math.Pi / 4 * p.DiameterM * p.DiameterM)
}

// HeadM returns the head [m] that a flow of flowM3S [m³/s] loses in the pipe and
// its fittings, with a kinematic viscosity of viscosityM2S [m²/s]:
//
//	h = (f L/d + Σ K) v²/(2 g)
//
// Source: colebrook1939 for f.
func (p *Pipe) HeadM(flowM3S, viscosityM2S float64) float64 {
	v := p.VelocityMS(math.Abs(flowM3S))
	if !(v > 0) {
		return 0
	}
	f := Friction(Reynolds(v, p.DiameterM, viscosityM2S), p.RoughnessM/p.DiameterM)
	return (f*p.LengthM/p.DiameterM + p.Minor) * v * v / (2 * Gravity)
}

// HazenWilliamsM returns the head [m] that a flow loses in a straight pipe:
//
//	h = 10.67 L Q^1.852/(C^1.852 d^4.8704)
//
// flowM3S is Q [m³/s], lengthM is L [m], diameterM is d [m] and coefficient is C
// [1]. For water near 15 °C in pipes of 5 cm and more; in thin hoses and slow
// flow HeadM is the better.
//
// Source: epanet2020, table 3.1, in metric units.
func HazenWilliamsM(flowM3S, lengthM, diameterM, coefficient float64) float64 {
	return 10.67 * lengthM * math.Pow(flowM3S/coefficient, 1.852) / math.Pow(diameterM, 4.8704)
}

// HazenWilliamsFlow returns the flow [m³/s] that headM [m] drives through a pipe
// of lengthM [m] and diameterM [m] with the coefficient [1].
//
// Source: as HazenWilliamsM.
func HazenWilliamsFlow(headM, lengthM, diameterM, coefficient float64) float64 {
	return coefficient * math.Pow(headM*math.Pow(diameterM, 4.8704)/(10.67*lengthM), 1/1.852)
}

// FlowM3S returns the flow [m³/s] that a head of headM [m] drives through the
// pipe, with a kinematic viscosity of viscosityM2S [m²/s], to a millionth.
func (p *Pipe) FlowM3S(headM, viscosityM2S float64) float64 {
	if !(headM > 0) {
		return 0
	}
	hi := 1e-6
	for p.HeadM(hi, viscosityM2S) < headM {
		hi *= 2
	}
	q, _ := num.Root(func(q float64) float64 { return p.HeadM(q, viscosityM2S) - headM }, 0, hi, 1e-9*hi)
	return q
}

// Fitting is a named loss coefficient.
type Fitting struct {
	Name string
	K    float64 // [1]
}

// Fittings are loss coefficients of common fittings.
//
// Source: epanet2020, table 3.3; the last two common practice, no source.
var Fittings = []Fitting{
	{"globe valve", 10}, {"angle valve", 5}, {"swing check valve", 2.5}, {"gate valve", 0.2},
	{"short elbow", 0.9}, {"medium elbow", 0.8}, {"long elbow", 0.6}, {"45-degree elbow", 0.4}, {"return bend", 2.2},
	{"tee through", 0.6}, {"tee branch", 1.8}, {"square entrance", 0.5}, {"exit", 1.0},
	{"strainer", 2.0}, {"hose barb", 0.5},
}

// Material is a named wall.
type Material struct {
	Name        string
	RoughnessM  float64 // [m]
	Coefficient float64 // of Hazen and Williams [1]
}

// Materials are walls of pipes.
//
// Source: roughness: moody1944 and epanet2020, table 3.2, from memory; hoses
// common practice, no source.
var Materials = []Material{
	{"plastic", 1.5e-6, 150}, {"smooth hose", 1e-5, 145}, {"ribbed hose", 2e-4, 110}, {"new steel", 4.5e-5, 140}, {"galvanised steel", 1.5e-4, 120},
}

// FittingByName returns the fitting of that name.
func FittingByName(name string) (Fitting, bool) {
	for _, f := range Fittings {
		if f.Name == name {
			return f, true
		}
	}
	return Fitting{}, false
}

// MaterialByName returns the wall of that name.
func MaterialByName(name string) (Material, bool) {
	for _, m := range Materials {
		if m.Name == name {
			return m, true
		}
	}
	return Material{}, false
}
