package process

import (
	"fmt"
	"math"
)

// Cloth is a filter cloth on which a cake builds, so that the culture runs
// slower the more is held back:
//
//	J = J₀ / (1 + g/g½),  g = X V/A
//
// It is the law of cake filtration, dt/dV = μ/(A Δp) (α c V/A + R_m), with
// J₀ = Δp/(μ R_m) and g½ = R_m/α.
//
// Source: ruth1935; geankoplis2003, eq. 14.2-8 and 14.2-13.
type Cloth struct {
	StartLM2H   float64 // flux through the clean cloth J₀ [L/m²/h]
	HalfLoadGM2 float64 // dry matter on a square metre at which the flux is halved g½ [g/m²]
}

// HandRaked is a cloth of 30 to 40 µm under a few centimetres of culture, raked
// by hand: judgement, no source (no published flux was found; 500 L/m²/h on
// the average over a harvest of a kilogram on a square metre). One timed harvest
// of one's own replaces it.
var HandRaked = Cloth{StartLM2H: 1500, HalfLoadGM2: 250}

// TimeS returns how long a volume takes [s]:
//
//	t = q/J₀ (1 + X q/(2 g½)),  q = V/A
//
// volumeL is V [L], areaM2 the cloth A [m²] and densityGL what is held back of a
// litre X [g/L].
//
// Special case: NaN for what is not positive (volume and density may be 0).
//
// Source: geankoplis2003, eq. 14.2-17.
func (c Cloth) TimeS(volumeL, areaM2, densityGL float64) float64 {
	if !c.ok() || !(volumeL >= 0 && areaM2 > 0 && densityGL >= 0) {
		return math.NaN()
	}
	q := volumeL / areaM2
	return 3600 * q / c.StartLM2H * (1 + densityGL*q/(2*c.HalfLoadGM2)) // eq. 14.2-17
}

// FluxLM2H returns the flux when a volume has gone through [L/m²/h], where
// volumeL is that volume [L], areaM2 the cloth [m²] and densityGL what is held
// back of a litre [g/L].
//
// Special case: NaN as for TimeS.
func (c Cloth) FluxLM2H(volumeL, areaM2, densityGL float64) float64 {
	if !c.ok() || !(volumeL >= 0 && areaM2 > 0 && densityGL >= 0) {
		return math.NaN()
	}
	return c.StartLM2H / (1 + densityGL*volumeL/areaM2/c.HalfLoadGM2)
}

// VolumeL returns what goes through in a time [L], where timeS is that time
// [s], areaM2 the cloth [m²] and densityGL what is held back of a litre [g/L].
//
// Special case: NaN as for TimeS.
func (c Cloth) VolumeL(timeS, areaM2, densityGL float64) float64 {
	if !c.ok() || !(timeS >= 0 && areaM2 > 0 && densityGL >= 0) {
		return math.NaN()
	}
	return areaM2 * c.load(timeS, densityGL)
}

// AreaM2 returns the cloth that lets a volume through in a time [m²], where
// volumeL is that volume [L], timeS the time [s] and densityGL what is held back
// of a litre [g/L].
//
// Special case: NaN as for TimeS; +Inf in no time.
func (c Cloth) AreaM2(volumeL, timeS, densityGL float64) float64 {
	if !c.ok() || !(volumeL >= 0 && timeS >= 0 && densityGL >= 0) {
		return math.NaN()
	}
	return volumeL / c.load(timeS, densityGL)
}

// load is the volume through a square metre in a time [L/m²]: the positive root
// of (X/2g½) q² + q = J₀ t, in the form that keeps its digits for a thin cake.
func (c Cloth) load(timeS, densityGL float64) float64 {
	a := densityGL / (2 * c.HalfLoadGM2)
	jt := c.StartLM2H * timeS / 3600
	return 2 * jt / (1 + math.Sqrt(1+4*a*jt))
}

func (c Cloth) ok() bool {
	return c.StartLM2H > 0 && c.HalfLoadGM2 > 0 && !math.IsInf(c.StartLM2H, 0)
}

// Cake is a cloth and a cake by their resistances.
type Cake struct {
	CakeMPerKg   float64 // specific resistance of the cake α [m/kg]
	ClothPerM    float64 // resistance of the cloth R_m [1/m]
	PressureKPa  float64 // what presses Δp [kPa]; 0.1 for each centimetre of culture
	ViscosityPaS float64 // of the liquid μ [Pa·s]
}

// Cloth returns the same as a flux and a load.
//
// Source: geankoplis2003, eq. 14.2-8.
func (k Cake) Cloth() Cloth {
	return Cloth{
		StartLM2H:   1e3 * k.PressureKPa / (k.ViscosityPaS * k.ClothPerM) * 1e3 * 3600, // Δp/(μ R_m) in m/s, then L/m²/h
		HalfLoadGM2: 1e3 * k.ClothPerM / k.CakeMPerKg,
	}
}

// Poured is how much had run through at a time.
type Poured struct {
	TimeS   float64 // since the start [s]
	VolumeL float64 // of filtrate [L]
}

// FitCloth returns the cloth that a harvest showed, by the straight line of t/V
// over V:
//
//	t/V = 3600/(J₀ A) + 3600 X/(2 J₀ g½ A²) V
//
// readings are at least two, areaM2 is the cloth [m²] and densityGL what is held
// back of a litre [g/L]. A line that does not rise, or that meets the axis
// under 0, is no cake that builds: the error says which.
//
// Source: geankoplis2003, eq. 14.2-17 and figure 14.2-3.
func FitCloth(readings []Poured, areaM2, densityGL float64) (Cloth, error) {
	if len(readings) < 2 {
		return Cloth{}, bad("readings", "note litres and minutes twice at least", fmt.Sprintf("readings are %d, and two are the least", len(readings)))
	}
	if !(areaM2 > 0) {
		return Cloth{}, bad("area_m2", "", fmt.Sprintf("area_m2 %g is not positive", areaM2))
	}
	if !(densityGL > 0) {
		return Cloth{}, bad("density_g_per_l", "", fmt.Sprintf("density_g_per_l %g is not positive", densityGL))
	}
	n := float64(len(readings))
	var mv, my float64
	for _, r := range readings {
		if !(r.TimeS > 0 && r.VolumeL > 0) || math.IsInf(r.TimeS, 0) || math.IsInf(r.VolumeL, 0) {
			return Cloth{}, bad("readings", "", "readings hold a time or a volume that is not positive")
		}
		mv, my = mv+r.VolumeL/n, my+r.TimeS/r.VolumeL/n
	}
	var vv, vy float64
	for _, r := range readings {
		d := r.VolumeL - mv
		vv, vy = vv+d*d, vy+d*(r.TimeS/r.VolumeL-my)
	}
	if !(vv > 1e-12*mv*mv) {
		return Cloth{}, bad("readings", "", "readings are all at one volume")
	}
	slope := vy / vv
	start := my - slope*mv
	switch {
	case !(slope > 0):
		return Cloth{}, bad("readings", "was the cloth scraped in between, or the head raised?", "readings do not slow down as the cake builds")
	case !(start > 0):
		return Cloth{}, bad("readings", "note the first litres too", "readings slow down from nothing: a clean cloth would let everything through at once")
	}
	j0 := 3600 / (start * areaM2)
	return Cloth{StartLM2H: j0, HalfLoadGM2: 3600 * densityGL / (2 * j0 * slope * areaM2 * areaM2)}, nil
}
