package sky

import (
	"math"
	"time"

	"sodalake/science/air"
)

// SolarConstant is the irradiance at one astronomical unit [W/m²]. Source:
// gueymard2018 (Gueymard 2018, Solar Energy 168:2), 1361.1.
const SolarConstant = 1361.1

// Sun is where the sun stands for one place and moment.
type Sun struct {
	ZenithDeg            float64 // angle from the vertical, without refraction [°]
	AzimuthDeg           float64 // from north, clockwise [°]
	ApparentElevationDeg float64 // height above the horizon, refraction included [°]
	DistanceAU           float64 // earth to sun [AU]
	ExtraterrestrialWM2  float64 // irradiance above the air, normal to the beam [W/m²]
	DeclinationDeg       float64 // topocentric declination [°]
	HourAngleDeg         float64 // topocentric hour angle, west positive [°]
	EquationOfTimeMin    float64 // apparent minus mean solar time [min]
}

// CosZenith returns the cosine of the apparent zenith angle [1], 0 when the sun is down.
func (s Sun) CosZenith() float64 { return math.Max(0, sinDeg(s.ApparentElevationDeg)) }

// Conditions are what the place adds to the astronomy.
type Conditions struct {
	PressureKPa float64 // station pressure, for refraction [kPa]
	TempC       float64 // air temperature, for refraction [°C]
	DeltaTS     float64 // terrestrial time minus universal time [s]
}

// DefaultConditions returns the standard atmosphere at the height of the place,
// 12 °C, and DeltaT of the year.
func DefaultConditions(t time.Time, site Site) Conditions {
	return Conditions{
		PressureKPa: air.Pressure(site.ElevationM),
		TempC:       12,
		DeltaTS:     DeltaT(decimalYear(t)),
	}
}

// Position returns where the sun stands, with DefaultConditions.
//
// Valid for the years −2000 to 6000, within 0.0003° for a known universal time.
// t is taken as universal time (UT1); UTC may be off by 0.9 s, which is 0.004°.
// Leap seconds do not matter.
//
// Special cases: at a pole the azimuth follows from the longitude as anywhere
// else. NaN in the site gives NaN.
//
// Source: redaandreas2008 (Reda & Andreas 2004, Solar Energy 76:577; revised
// 2008, NREL/TP-560-34302).
func Position(t time.Time, site Site) Sun {
	return PositionIn(t, site, DefaultConditions(t, site))
}

// PositionIn returns where the sun stands as Position does, under the given conditions.
func PositionIn(t time.Time, site Site, c Conditions) Sun {
	jd := julianDay(t)
	g := geocentricAt(jd, c.DeltaTS)
	return g.observe(jd, newObserver(site), c)
}

// julianDay returns the Julian day of a moment, counted from its Unix time.
func julianDay(t time.Time) float64 {
	return 2440587.5 + (float64(t.Unix())+float64(t.Nanosecond())*1e-9)/86400
}

// decimalYear returns the year with its fraction, to a month.
func decimalYear(t time.Time) float64 {
	t = t.UTC()
	return float64(t.Year()) + (float64(t.Month())-0.5)/12
}

// DeltaT returns terrestrial minus universal time [s], where year is the
// calendar year with its fraction [1].
//
// Valid for 1900 to 2150; held at the ends outside it. Measured values since
// 2010 run 1–4 s below the polynomial, which moves the sun by less than 0.0001°.
//
// Source: espenakmeeus2006 (Espenak & Meeus 2006, NASA/TP-2006-214141,
// polynomial expressions for ΔT).
func DeltaT(year float64) float64 {
	y := clamp(year, 1900, 2150)
	switch {
	case y < 1920:
		u := y - 1900
		return -2.79 + u*(1.494119+u*(-0.0598939+u*(0.0061966-u*0.000197)))
	case y < 1941:
		u := y - 1920
		return 21.20 + u*(0.84493+u*(-0.076100+u*0.0020936))
	case y < 1961:
		u := y - 1950
		return 29.07 + u*(0.407+u*(-1.0/233+u/2547))
	case y < 1986:
		u := y - 1975
		return 45.45 + u*(1.067+u*(-1.0/260-u/718))
	case y < 2005:
		u := y - 2000
		return 63.86 + u*(0.3345+u*(-0.060374+u*(0.0017275+u*(0.000651814+u*0.00002373599))))
	case y < 2050:
		u := y - 2000
		return 62.92 + u*(0.32217+u*0.005589)
	default:
		u := (y - 1820) / 100
		return -20 + 32*u*u - 0.5628*(2150-y)
	}
}

// geocentric is the sun as seen from the centre of the earth.
type geocentric struct {
	alphaDeg    float64 // right ascension [°]
	deltaDeg    float64 // declination [°]
	distanceAU  float64 // [AU]
	equinoxDeg  float64 // Δψ cos ε, what nutation adds to sidereal time [°]
	meanLongDeg float64 // mean longitude, for the equation of time [°]
}

// series sums the powers of tau of periodic terms.
func series(groups [][]term, tau float64) float64 {
	sum := 0.0
	for i := len(groups) - 1; i >= 0; i-- {
		s := 0.0
		for _, t := range groups[i] {
			s += t.a * math.Cos(t.b+t.c*tau)
		}
		sum = sum*tau + s
	}
	return sum * 1e-8
}

// geocentricAt works through sections 3.1 to 3.10 of the report: from the Julian
// day in universal time to the sun's apparent place.
func geocentricAt(jd, deltaTS float64) geocentric {
	jce := (jd + deltaTS/86400 - 2451545) / 36525 // eq. 5–7
	jme := jce / 10                               // eq. 8

	l := toDeg(series(longitudeTerms[:], jme)) // eq. 9–12
	b := toDeg(series(latitudeTerms[:], jme))
	r := series(distanceTerms[:], jme)
	theta, beta := l+180, -b // eq. 13, 14

	x := [5]float64{ // eq. 15–19
		297.85036 + jce*(445267.111480+jce*(-0.0019142+jce/189474)),
		357.52772 + jce*(35999.050340+jce*(-0.0001603-jce/300000)),
		134.96298 + jce*(477198.867398+jce*(0.0086972+jce/56250)),
		93.27191 + jce*(483202.017538+jce*(-0.0036825+jce/327270)),
		125.04452 + jce*(-1934.136261+jce*(0.0020708+jce/450000)),
	}
	for i := range x {
		x[i] = turn(x[i]) * (math.Pi / 180)
	}
	var psi, eps float64
	for i := range nutationTerms {
		n := &nutationTerms[i]
		arg := n.y[0]*x[0] + n.y[1]*x[1] + n.y[2]*x[2] + n.y[3]*x[3] + n.y[4]*x[4]
		sin, cos := math.Sincos(arg)
		psi += (n.a + n.b*jce) * sin // eq. 20
		eps += (n.c + n.d*jce) * cos // eq. 21
	}
	psi /= 36e6 // eq. 22
	eps /= 36e6 // eq. 23

	u := jme / 10
	eps0 := 84381.448 + u*(-4680.93+u*(-1.55+u*(1999.25+u*(-51.38+u*(-249.67+
		u*(-39.05+u*(7.12+u*(27.87+u*(5.79+u*2.45))))))))) // eq. 24
	obliq := eps0/3600 + eps // eq. 25

	aberr := -20.4898 / (3600 * r)      // eq. 26
	lambda := turn(theta + psi + aberr) // eq. 27

	sinL, cosL := math.Sincos(lambda * (math.Pi / 180))
	sinE, cosE := math.Sincos(obliq * (math.Pi / 180))
	alpha := turn(toDeg(math.Atan2(sinL*cosE-tanDeg(beta)*sinE, cosL)))   // eq. 30
	delta := toDeg(math.Asin(sinDeg(beta)*cosE + cosDeg(beta)*sinE*sinL)) // eq. 31

	m := 280.4664567 + jme*(360007.6982779+jme*(0.03032028+
		jme*(1.0/49931+jme*(-1.0/15300-jme/2000000)))) // eq. A2
	return geocentric{
		alphaDeg: alpha, deltaDeg: delta, distanceAU: r,
		equinoxDeg: psi * cosE, meanLongDeg: turn(m),
	}
}

// siderealDeg returns the apparent sidereal time at Greenwich [°].
func (g *geocentric) siderealDeg(jd float64) float64 {
	d := jd - 2451545
	c := d / 36525
	// Whole days first, so that the large product keeps its last digits.
	whole, part := math.Modf(d)
	v := 280.46061837 + 360*part + 0.98564736629*(whole+part) + c*c*(0.000387933-c/38710000) // eq. 28
	return turn(v + g.equinoxDeg)                                                            // eq. 29
}

// observer is what a place contributes, worked out once.
type observer struct {
	sinLat, cosLat float64 // [1]
	x, y           float64 // earth's flattening and the height, eq. 34–36 [1]
	lonDeg         float64 // [°]
}

func newObserver(s Site) observer {
	u := math.Atan(0.99664719 * tanDeg(s.LatDeg)) // eq. 34
	sinLat, cosLat := math.Sincos(s.LatDeg * (math.Pi / 180))
	sinU, cosU := math.Sincos(u)
	h := s.ElevationM / 6378140
	return observer{
		sinLat: sinLat, cosLat: cosLat, lonDeg: s.LonDeg,
		x: cosU + h*cosLat,            // eq. 35
		y: 0.99664719*sinU + h*sinLat, // eq. 36
	}
}

// observe works through sections 3.11 to 3.14: from the apparent place to
// angles over a horizon.
func (g *geocentric) observe(jd float64, o observer, c Conditions) Sun {
	h := turn(g.siderealDeg(jd) + o.lonDeg - g.alphaDeg) // eq. 32
	sinH, cosH := math.Sincos(h * (math.Pi / 180))
	sinD, cosD := math.Sincos(g.deltaDeg * (math.Pi / 180))
	sinXi := sinDeg(8.794 / (3600 * g.distanceAU)) // eq. 33

	den := cosD - o.x*sinXi*cosH
	dAlpha := math.Atan2(-o.x*sinXi*sinH, den)                // eq. 37
	dec := math.Atan2((sinD-o.y*sinXi)*math.Cos(dAlpha), den) // eq. 39
	sinT, cosT := math.Sincos(h*(math.Pi/180) - dAlpha)       // eq. 40
	sinDec, cosDec := math.Sincos(dec)
	sinE0 := clamp(o.sinLat*sinDec+o.cosLat*cosDec*cosT, -1, 1)
	e0 := toDeg(math.Asin(sinE0)) // eq. 41
	// eq. 45, multiplied through by cos δ' so that the poles of the sky do no harm
	az := toDeg(math.Atan2(sinT*cosDec, cosT*cosDec*o.sinLat-sinDec*o.cosLat)) + 180

	eot := 4 * halfTurn(g.meanLongDeg-0.0057183-g.alphaDeg+g.equinoxDeg) // eq. A1
	return Sun{
		ZenithDeg:            90 - e0,
		AzimuthDeg:           turn(az),
		ApparentElevationDeg: e0 + refraction(e0, c),
		DistanceAU:           g.distanceAU,
		ExtraterrestrialWM2:  SolarConstant / (g.distanceAU * g.distanceAU),
		DeclinationDeg:       toDeg(dec),
		HourAngleDeg:         halfTurn(h - toDeg(dAlpha)),
		EquationOfTimeMin:    eot,
	}
}

// refraction returns by how much the air lifts the sun [°]; none when its upper
// limb is below the horizon (0.26667° of radius and 0.5667° of refraction).
func refraction(e0 float64, c Conditions) float64 {
	if !(e0 >= -(0.26667 + 0.5667)) {
		return 0
	}
	return c.PressureKPa / 101 * (283 / (273 + c.TempC)) * 1.02 / (60 * tanDeg(e0+10.3/(e0+5.11))) // eq. 42
}
