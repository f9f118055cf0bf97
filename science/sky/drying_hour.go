package sky

import (
	"math"

	"sodalake/science/air"
)

// DryingHour is what an hour must tell before its evaporation can be worked out.
type DryingHour struct {
	LatDeg       float64 // latitude [°]
	ElevationM   float64 // height above the sea [m]
	DayOfYear    int     // from 1 on 1 January [1]
	SolarAngle   float64 // hour angle of the sun at the middle of the hour [rad]
	AirC         float64 // mean air temperature [°C]
	VapourKPa    float64 // mean vapour pressure [kPa]
	WindMS       float64 // mean wind at 2 m [m/s]
	GlobalMJ     float64 // global radiation [MJ/m²/h]
	NightClarity float64 // global over clear-sky radiation to take at night [1]
}

// SolarAngle returns the hour angle of the sun at the middle of a period [rad]:
//
//	ω = π/12 (t + 0.06667 (L_z − L_m) + S_c − 12)
//
// clockH is the standard clock time at the middle t [h], zoneLonDeg the longitude
// of the middle of the time zone, east positive [°], lonDeg that of the place,
// east positive [°], dayOfYear counts from 1 [1].
//
// Source: fao56, eq. 31–33, with longitudes west there.
func SolarAngle(clockH, zoneLonDeg, lonDeg float64, dayOfYear int) float64 {
	b := 2 * math.Pi * float64(dayOfYear-81) / 364                      // eq. 33
	sc := 0.1645*math.Sin(2*b) - 0.1255*math.Cos(b) - 0.025*math.Sin(b) // eq. 32
	return math.Pi / 12 * (clockH + 0.06667*(lonDeg-zoneLonDeg) + sc - 12)
}

// ReferenceET returns the evaporation from well-watered short grass in an hour,
// as mm in that hour, with the figures on the way in MJ/m² and mm per hour.
//
//	ET₀ = (0.408 Δ (R_n − G) + γ 37/(T + 273) u₂ (e° − e_a)) / (Δ + γ (1 + 0.34 u₂))
//
// The ground takes a tenth of the net radiation by day and half of it by night.
//
// Source: fao56, eq. 53, 28–31, 45, 46.
func (h DryingHour) ReferenceET() Drying {
	s := faoSun(h.LatDeg, h.DayOfYear)
	lat := h.LatDeg * (math.Pi / 180)
	half := math.Pi / 24
	w1 := clamp(h.SolarAngle-half, -s.sunsetRad, s.sunsetRad) // eq. 29
	w2 := clamp(h.SolarAngle+half, -s.sunsetRad, s.sunsetRad) // eq. 30
	ra := 12 * 60 / math.Pi * faoSolarMJMin * s.distance *
		((w2-w1)*math.Sin(lat)*math.Sin(s.declRad) +
			math.Cos(lat)*math.Cos(s.declRad)*(math.Sin(w2)-math.Sin(w1))) // eq. 28
	o := Drying{
		MeanC:              h.AirC,
		PressureKPa:        air.PressureFAO(h.ElevationM),
		SlopeKPaK:          air.SlopeFAO(h.AirC),
		SaturationKPa:      air.SaturationFAO(h.AirC),
		DistanceFactor:     s.distance,
		DeclinationRad:     s.declRad,
		SunsetRad:          s.sunsetRad,
		DaylightH:          24 / math.Pi * s.sunsetRad,
		ExtraterrestrialMJ: math.Max(0, ra),
		NetShortMJ:         (1 - GrassAlbedo) * h.GlobalMJ,
	}
	o.PsychrometricKPaK = air.PsychrometricConstant(o.PressureKPa)
	o.DeficitKPa = o.SaturationKPa - h.VapourKPa
	o.ClearMJ = (0.75 + 2e-5*h.ElevationM) * o.ExtraterrestrialMJ
	clarity := h.NightClarity
	if o.ClearMJ > 0 {
		clarity = clamp(h.GlobalMJ/o.ClearMJ, 0.3, 1)
	}
	t := h.AirC + faoKelvin
	o.NetLongMJ = faoStefanDay / 24 * t * t * t * t *
		(0.34 - 0.14*math.Sqrt(math.Max(0, h.VapourKPa))) * (1.35*clarity - 0.35) // eq. 39
	o.NetMJ = o.NetShortMJ - o.NetLongMJ
	ground := 0.1 // eq. 45
	if o.ExtraterrestrialMJ <= 0 {
		ground = 0.5 // eq. 46
	}
	o.EvaporationMM = (0.408*o.SlopeKPaK*(1-ground)*o.NetMJ +
		o.PsychrometricKPaK*37/(h.AirC+273)*h.WindMS*o.DeficitKPa) /
		(o.SlopeKPaK + o.PsychrometricKPaK*(1+0.34*h.WindMS)) // eq. 53
	return o
}
