package sky

import "math"

// The share of global radiation in 400–700 nm by energy [1] and the photons it
// carries [µmol/J]. Source: mccree1972 (McCree 1972, Agric. Meteorol. 10:443)
// for 4.57, from memory; 0.45 is the usual middle of 0.43 (dry, clear) to 0.50
// (moist, overcast), common practice, no source.
const (
	DefaultPARShare = 0.45
	PhotonsPerJoule = 4.57
)

// PAR returns the photon flux density in 400–700 nm [µmol/m²/s], where wm2 is
// the shortwave radiation of sun and sky [W/m²] and share the part of its energy
// in that band [1].
func PAR(wm2, share float64) float64 { return wm2 * share * PhotonsPerJoule }

// DiffuseFraction returns the diffuse share of global radiation over an hour [1]:
//
//	1 − 0.09 k                                              for k ≤ 0.22
//	0.9511 − 0.1604 k + 4.388 k² − 16.638 k³ + 12.336 k⁴    for k ≤ 0.80
//	0.165                                                   above
//
// clearness is k, global over extraterrestrial radiation on the horizontal [1].
// Special case: 1 for a negative clearness.
//
// Source: erbs1982 (Erbs, Klein & Duffie 1982, Solar Energy 28:293).
func DiffuseFraction(clearness float64) float64 {
	k := clearness
	switch {
	case k <= 0:
		return 1
	case k <= 0.22:
		return 1 - 0.09*k
	case k <= 0.80:
		return 0.9511 + k*(-0.1604+k*(4.388+k*(-16.638+k*12.336)))
	case k > 0.80:
		return 0.165
	}
	return math.NaN()
}

// ExtraterrestrialSpencer returns the irradiance above the air normal to the
// beam [W/m²] from the day of the year alone, within 0.15 %:
//
//	I₀ (1.00011 + 0.034221 cos B + 0.00128 sin B + 0.000719 cos 2B + 0.000077 sin 2B),  B = 2π (d − 1)/365
//
// dayOfYear is d, 1 on 1 January [1]; constantWM2 the solar constant I₀ [W/m²].
//
// Source: spencer1971 (Spencer 1971, Search 2:172).
func ExtraterrestrialSpencer(dayOfYear int, constantWM2 float64) float64 {
	b := 2 * math.Pi * float64(dayOfYear-1) / 365
	return constantWM2 * (1.00011 + 0.034221*math.Cos(b) + 0.00128*math.Sin(b) +
		0.000719*math.Cos(2*b) + 0.000077*math.Sin(2*b))
}

// Plane is a flat surface: a panel, a wall, the side of a jar.
type Plane struct {
	TiltDeg    float64 // from the horizontal: 0 lies flat, 90 stands [°]
	AzimuthDeg float64 // where it faces, from north, clockwise [°]
	Albedo     float64 // share of light that the ground in front reflects [1]
}

// Tilted is the radiation on a plane.
type Tilted struct {
	BeamWM2      float64 // straight from the sun [W/m²]
	SkyWM2       float64 // from the sky [W/m²]
	GroundWM2    float64 // from the ground [W/m²]
	IncidenceDeg float64 // angle between the beam and the plane's normal [°]
}

// GlobalWM2 returns the sum of the three [W/m²].
func (t Tilted) GlobalWM2() float64 { return t.BeamWM2 + t.SkyWM2 + t.GroundWM2 }

// On returns the radiation on a plane in the open, with the sky brighter around
// the sun in proportion to A, the beam's share of what comes in above the air:
//
//	sky = DHI (A cos θ/cos z + (1 − A)(1 + cos β)/2),  A = DNI/I₀
//
// sun is the sun's place; sky holds global, beam and diffuse on the horizontal.
// The angles are those with refraction. Close to the horizon cos z is held at
// 0.01745 (89°).
//
// Source: haydavies1980 (Hay & Davies 1980, Proc. First Canadian Solar Radiation
// Data Workshop), ground after liujordan1963 (Liu & Jordan 1963, Solar Energy 7:53).
func (p Plane) On(sun Sun, sky Clear) Tilted {
	cosB := cosDeg(p.TiltDeg)
	cosZ := sinDeg(sun.ApparentElevationDeg)
	sinZ := cosDeg(sun.ApparentElevationDeg)
	cosI := cosB*cosZ + sinDeg(p.TiltDeg)*sinZ*cosDeg(sun.AzimuthDeg-p.AzimuthDeg)
	cosI = clamp(cosI, -1, 1)
	lit := math.Max(0, cosI)
	if cosZ <= 0 {
		lit = 0
	}
	a := 0.0
	if sun.ExtraterrestrialWM2 > 0 {
		a = clamp(sky.DNIWM2/sun.ExtraterrestrialWM2, 0, 1)
	}
	return Tilted{
		BeamWM2:      sky.DNIWM2 * lit,
		SkyWM2:       sky.DHIWM2 * (a*lit/math.Max(cosZ, 0.01745) + (1-a)*(1+cosB)/2),
		GroundWM2:    sky.GHIWM2 * p.Albedo * (1 - cosB) / 2,
		IncidenceDeg: toDeg(math.Acos(cosI)),
	}
}
