package assay

import "math"

// Chamber is a counting chamber or a slide of known depth.
type Chamber struct {
	Name    string
	DepthMM float64 // [mm]
	AreaMM2 float64 // of its unit square, or of all of it [mm²]
	Source  string
}

// Chambers returns the common counting chambers.
func Chambers() []Chamber {
	return []Chamber{
		{"haemocytometer", 0.1, 1, "standard square of 1 mm, 0.1 mm deep"},
		{"sedgewick-rafter", 1, 1, "50 x 20 x 1 mm, 1000 squares: standardmethods, 10200 F, from memory"},
		{"palmer-maloney", 0.4, math.Pi / 4 * 17.9 * 17.9, "17.9 mm across, 0.4 mm deep, 0.1 mL: standardmethods, 10200 F, from memory"},
	}
}

// FieldArea returns the area that an eyepiece shows [mm²], π/4 (FN/M)²:
// fieldNumberMM is the number FN engraved on the eyepiece [mm], objective the
// magnification M of the objective alone [1].
//
// Special case: NaN unless both are positive.
func FieldArea(fieldNumberMM, objective float64) float64 {
	if !(fieldNumberMM > 0 && objective > 0) {
		return math.NaN()
	}
	d := fieldNumberMM / objective
	return math.Pi / 4 * d * d
}

// ChamberVolume returns the volume that was looked through [mL]:
//
//	V = A D F / 1000 / dilution
//
// areaMM2 is the area of one field or square A [mm²], depthMM its depth D [mm],
// fields how many were counted, F [1], and dilution how many volumes the sample
// was made into (2 for one part and one of water; 0.1 where ten volumes were
// concentrated into one) [1]. A count over it is the concentration in the sample.
//
// Special case: NaN unless all are positive.
//
// Source: standardmethods, 10200 F.
func ChamberVolume(areaMM2, depthMM, fields, dilution float64) float64 {
	if !(areaMM2 > 0 && depthMM > 0 && fields > 0 && dilution > 0) {
		return math.NaN()
	}
	return areaMM2 * depthMM * fields / 1000 / dilution
}
