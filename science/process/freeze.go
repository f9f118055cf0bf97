package process

import (
	"fmt"
	"math"
)

// Shape is the shape of what is frozen.
type Shape string

// The shapes of Plank's equation.
const (
	Slab     Shape = "slab"
	Cylinder Shape = "cylinder"
	Sphere   Shape = "sphere"
)

// Freezing is a piece in a freezer.
type Freezing struct {
	Shape        Shape
	ThicknessMM  float64 // of a slab cooled on both faces, or a diameter [mm]
	DensityKgM3  float64 // ρ [kg/m³]
	LatentJPerKg float64 // heat of freezing of a kilogram λ [J/kg]
	FreezesAtC   float64 // where freezing begins T_F [°C]
	AirC         float64 // of the freezer T_a [°C]
	SurfaceWM2K  float64 // heat transfer to the air h [W/m²/K]
	FrozenWMK    float64 // conductivity of the frozen piece k [W/m/K]
}

// Heat transfer to the air of a home freezer [W/m²/K], chosen so that a slab of
// 1 cm takes 1.5 to 4 h: judgement, no source.
const (
	StillAir = 6.0
	FanAir   = 16.0
)

// iceHeat is the heat of freezing of water [J/kg]. Source: iapws95, rounded.
const iceHeat = 333.5e3

// PasteSlab returns a slab of paste in a freezer: thicknessMM is its thickness
// [mm], solids the share of dry matter [1], airC the air of the freezer [°C] and
// surfaceWM2K the heat transfer to it [W/m²/K]. Density 1050 kg/m³,
// conductivity 1.2 W/m/K and freezing from −1 °C are judgement, no source.
func PasteSlab(thicknessMM, solids, airC, surfaceWM2K float64) Freezing {
	return Freezing{Slab, thicknessMM, 1050, iceHeat * (1 - solids), -1, airC, surfaceWM2K, 1.2}
}

// TimeS returns how long freezing takes [s], from when the piece has come down to
// its freezing point, by Plank's equation:
//
//	t = ρ λ/(T_F − T_a) (P a/h + R a²/k)
//
// with P 1/2, 1/4, 1/6 and R 1/8, 1/16, 1/24 for a slab, a cylinder and a sphere.
// Cooling down before and to the air's temperature after are not in it: a third
// more is common (judgement).
//
// Source: plank1913, in the form of singhheldman2014, eq. 7.3.
func (f Freezing) TimeS() (float64, error) {
	p, r := 0.0, 0.0
	switch f.Shape {
	case Slab:
		p, r = 1.0/2, 1.0/8
	case Cylinder:
		p, r = 1.0/4, 1.0/16
	case Sphere:
		p, r = 1.0/6, 1.0/24
	default:
		return math.NaN(), bad("shape", "slab, cylinder or sphere", fmt.Sprintf("shape %q is not known", f.Shape))
	}
	switch {
	case !(f.ThicknessMM > 0 && f.ThicknessMM <= 1000):
		return math.NaN(), bad("thickness_mm", "", fmt.Sprintf("thickness_mm %g does not lie between 0 and 1000", f.ThicknessMM))
	case !(f.AirC < f.FreezesAtC):
		return math.NaN(), bad("freezer_c", "", fmt.Sprintf("freezer_c %g does not freeze", f.AirC))
	case !(f.DensityKgM3 > 0 && f.LatentJPerKg > 0 && f.SurfaceWM2K > 0 && f.FrozenWMK > 0):
		return math.NaN(), bad("solids_pct", "", "the piece has no density, heat or conductivity")
	}
	a := f.ThicknessMM / 1000
	return f.DensityKgM3 * f.LatentJPerKg / (f.FreezesAtC - f.AirC) * (p*a/f.SurfaceWM2K + r*a*a/f.FrozenWMK), nil // eq. 7.3
}
