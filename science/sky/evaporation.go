package sky

import (
	"math"

	"sodalake/science/air"
)

// The constants that FAO-56 fixes.
const (
	faoSolarMJMin    = 0.0820   // solar constant [MJ/m²/min], eq. 21
	faoStefanDay     = 4.903e-9 // Stefan-Boltzmann constant [MJ/K⁴/m²/d], eq. 39
	faoLatentMJKg    = 2.45     // latent heat of water [MJ/kg]
	faoKelvin        = 273.16   // 0 °C as eq. 39 has it [K]
	GrassAlbedo      = 0.23     // share of light that the reference grass reflects [1], fao56 eq. 38
	WaterAlbedo      = 0.08     // share of light that open water reflects over a day [1], mcmahon2013
	angstromOvercast = 0.25     // share of light on a day without sunshine [1], fao56 eq. 35
	angstromSun      = 0.50     // what full sunshine adds to it [1], fao56 eq. 35
)

// DailyExtraterrestrial returns the radiation above the air on the horizontal in
// a day [MJ/m²/d] and the possible hours of sunshine [h]:
//
//	R_a = 24·60/π 0.0820 d_r (ω_s sin φ sin δ + cos φ cos δ sin ω_s)
//
// latDeg is the latitude φ [°], dayOfYear counts from 1 on 1 January [1].
//
// Valid at all latitudes; polar days and nights come out as 24 and 0 hours.
// Within 0.5 % of the exact sun below 60°.
//
// Source: fao56, eq. 21–25, 34.
func DailyExtraterrestrial(latDeg float64, dayOfYear int) (mjM2D, daylightH float64) {
	e := faoSun(latDeg, dayOfYear)
	return e.raMJ, 24 / math.Pi * e.sunsetRad
}

// faoSolar is FAO-56's short almanac of a day.
type faoSolar struct {
	distance, declRad, sunsetRad, raMJ float64
}

func faoSun(latDeg float64, dayOfYear int) faoSolar {
	j := 2 * math.Pi / 365 * float64(dayOfYear)
	dr := 1 + 0.033*math.Cos(j)      // eq. 23
	decl := 0.409 * math.Sin(j-1.39) // eq. 24
	lat := latDeg * (math.Pi / 180)  // eq. 22
	c := -math.Tan(lat) * math.Tan(decl)
	ws := math.Acos(clamp(c, -1, 1)) // eq. 25
	ra := 24 * 60 / math.Pi * faoSolarMJMin * dr *
		(ws*math.Sin(lat)*math.Sin(decl) + math.Cos(lat)*math.Cos(decl)*math.Sin(ws)) // eq. 21
	return faoSolar{dr, decl, ws, math.Max(0, ra)}
}

// GlobalFromSunshine returns the global radiation of a day [MJ/m²/d]:
//
//	R_s = (a + b n/N) R_a
//
// sunH is the sunshine n [h], daylightH the possible sunshine N [h],
// extraterrestrialMJ is R_a [MJ/m²/d], a and b are Ångström's coefficients [1]:
// 0.25 and 0.50 where none were fitted.
//
// Source: fao56, eq. 35.
func GlobalFromSunshine(sunH, daylightH, extraterrestrialMJ, a, b float64) float64 {
	if !(daylightH > 0) {
		return 0
	}
	return (a + b*sunH/daylightH) * extraterrestrialMJ
}

// GlobalFromTemperatures returns the global radiation of a day [MJ/m²/d]:
//
//	R_s = k √(T_max − T_min) R_a
//
// maxC and minC are the day's extremes [°C], extraterrestrialMJ is R_a
// [MJ/m²/d], coefficient is k [1/√K]: 0.16 inland, 0.19 at a coast.
//
// Source: fao56, eq. 50.
func GlobalFromTemperatures(maxC, minC, extraterrestrialMJ, coefficient float64) float64 {
	return coefficient * math.Sqrt(math.Max(0, maxC-minC)) * extraterrestrialMJ
}

// VapourFromExtremes returns the mean vapour pressure of a day [kPa]:
//
//	e_a = (e°(T_min) RH_max/100 + e°(T_max) RH_min/100) / 2
//
// maxC and minC are the day's extremes of temperature [°C], rhMaxPct and
// rhMinPct those of humidity [%].
//
// Source: fao56, eq. 17.
func VapourFromExtremes(maxC, minC, rhMaxPct, rhMinPct float64) float64 {
	return (air.SaturationFAO(minC)*rhMaxPct + air.SaturationFAO(maxC)*rhMinPct) / 200
}

// VapourFromMeanHumidity returns the mean vapour pressure of a day [kPa]:
//
//	e_a = RH/100 (e°(T_max) + e°(T_min))/2
//
// maxC and minC are the day's extremes [°C], rhPct the mean humidity [%].
//
// Source: fao56, eq. 19.
func VapourFromMeanHumidity(maxC, minC, rhPct float64) float64 {
	return rhPct / 100 * (air.SaturationFAO(maxC) + air.SaturationFAO(minC)) / 2
}

// SoilHeatOfMonth returns the heat that goes into the ground in a month
// [MJ/m²/d]: 0.07 (T_next − T_previous), where previousC and nextC are the mean
// temperatures of the month before and after [°C].
//
// Source: fao56, eq. 43.
func SoilHeatOfMonth(previousC, nextC float64) float64 { return 0.07 * (nextC - previousC) }

// SoilHeatSoFar returns the heat that goes into the ground in a month [MJ/m²/d]
// when the next month is not known: 0.14 (T − T_previous), where previousC and
// meanC are the mean temperatures of the month before and of this one [°C].
//
// Source: fao56, eq. 44.
func SoilHeatSoFar(previousC, meanC float64) float64 { return 0.14 * (meanC - previousC) }

// Hargreaves returns the reference evapotranspiration [mm/d] from temperatures alone:
//
//	0.0023 (T_mean + 17.8) √(T_max − T_min) R_a
//
// maxC and minC are the day's extremes [°C], extraterrestrialMJ is R_a [MJ/m²/d].
//
// Source: fao56, eq. 52.
func Hargreaves(maxC, minC, extraterrestrialMJ float64) float64 {
	return 0.0023 * ((maxC+minC)/2 + 17.8) * math.Sqrt(math.Max(0, maxC-minC)) * extraterrestrialMJ / faoLatentMJKg
}

// DryingDay is what a day must tell before its evaporation can be worked out.
type DryingDay struct {
	LatDeg     float64 // latitude [°]
	ElevationM float64 // height above the sea [m]
	DayOfYear  int     // from 1 on 1 January [1]
	MaxC       float64 // highest air temperature [°C]
	MinC       float64 // lowest air temperature [°C]
	VapourKPa  float64 // mean vapour pressure of the air [kPa]
	WindMS     float64 // mean wind at 2 m [m/s]
	GlobalMJ   float64 // global radiation [MJ/m²/d]
	StoredMJ   float64 // heat that ground or water keeps [MJ/m²/d]
}

// Drying is the evaporation of a day with the figures on the way to it.
type Drying struct {
	MeanC              float64 // mean of the extremes [°C]
	PressureKPa        float64 // station pressure [kPa]
	PsychrometricKPaK  float64 // psychrometric constant [kPa/K]
	SlopeKPaK          float64 // slope of the saturation curve [kPa/K]
	SaturationKPa      float64 // mean of the saturation at both extremes [kPa]
	DeficitKPa         float64 // saturation less vapour pressure [kPa]
	DistanceFactor     float64 // inverse relative distance to the sun [1]
	DeclinationRad     float64 // declination [rad]
	SunsetRad          float64 // hour angle of sunset [rad]
	DaylightH          float64 // possible sunshine [h]
	ExtraterrestrialMJ float64 // radiation above the air [MJ/m²/d]
	ClearMJ            float64 // global radiation of a clear day [MJ/m²/d]
	NetShortMJ         float64 // shortwave kept [MJ/m²/d]
	NetLongMJ          float64 // longwave lost [MJ/m²/d]
	NetMJ              float64 // radiation kept in all [MJ/m²/d]
	EvaporationMM      float64 // water lost [mm/d]
}

// balance works out all that both formulas share.
func (d DryingDay) balance(albedo float64) Drying {
	s := faoSun(d.LatDeg, d.DayOfYear)
	o := Drying{
		MeanC:              (d.MaxC + d.MinC) / 2,                                       // eq. 9
		PressureKPa:        air.PressureFAO(d.ElevationM),                               // eq. 7
		SaturationKPa:      (air.SaturationFAO(d.MaxC) + air.SaturationFAO(d.MinC)) / 2, // eq. 12
		DistanceFactor:     s.distance,
		DeclinationRad:     s.declRad,
		SunsetRad:          s.sunsetRad,
		DaylightH:          24 / math.Pi * s.sunsetRad, // eq. 34
		ExtraterrestrialMJ: s.raMJ,
		ClearMJ:            (0.75 + 2e-5*d.ElevationM) * s.raMJ, // eq. 37
		NetShortMJ:         (1 - albedo) * d.GlobalMJ,           // eq. 38
	}
	o.SlopeKPaK = air.SlopeFAO(o.MeanC)
	o.PsychrometricKPaK = air.PsychrometricConstant(o.PressureKPa)
	o.DeficitKPa = o.SaturationKPa - d.VapourKPa
	cloud := 1.0 // a polar night tells nothing of clouds: take it as clear
	if o.ClearMJ > 0 {
		cloud = clamp(d.GlobalMJ/o.ClearMJ, 0.3, 1) // both limits of asce2005, eq. 18; fao56 sets the upper
	}
	hi, lo := d.MaxC+faoKelvin, d.MinC+faoKelvin
	o.NetLongMJ = faoStefanDay * (hi*hi*hi*hi + lo*lo*lo*lo) / 2 *
		(0.34 - 0.14*math.Sqrt(math.Max(0, d.VapourKPa))) * (1.35*cloud - 0.35) // eq. 39
	o.NetMJ = o.NetShortMJ - o.NetLongMJ // eq. 40
	return o
}

// ReferenceET returns the evaporation from well-watered short grass, with the
// figures on the way:
//
//	ET₀ = (0.408 Δ (R_n − G) + γ 900/(T + 273) u₂ (e_s − e_a)) / (Δ + γ (1 + 0.34 u₂))
//
// Valid for days and for the mean day of a month, from the tropics to about 60°.
//
// Source: fao56, eq. 6. Departs: the clearness in the longwave loss is held at
// 0.3 and above, as in asce2005 (ASCE-EWRI 2005, eq. 18).
func (d DryingDay) ReferenceET() Drying {
	o := d.balance(GrassAlbedo)
	o.EvaporationMM = (0.408*o.SlopeKPaK*(o.NetMJ-d.StoredMJ) +
		o.PsychrometricKPaK*900/(o.MeanC+273)*d.WindMS*o.DeficitKPa) /
		(o.SlopeKPaK + o.PsychrometricKPaK*(1+0.34*d.WindMS)) // eq. 6
	return o
}

// OpenWater returns the evaporation from shallow open water, with the figures
// on the way:
//
//	E = (Δ R_n/λ + γ (1.313 + 1.381 u₂)(e_s − e_a)) / (Δ + γ),  λ = 2.45 MJ/kg
//
// albedo is the share of light that the water reflects over the day [1],
// WaterAlbedo where nothing better is known.
//
// Valid for water that follows the weather day by day; salts lower it (multiply
// the water's vapour pressure by its activity), a warm pond in cold air loses more.
//
// Source: penman1956 (Penman 1956, Trans. Am. Geophys. Union 37:43), in the form
// of mcmahon2013 (McMahon et al. 2013, Hydrol. Earth Syst. Sci. 17:1331, S4);
// the net radiation after fao56, eq. 38–40.
func (d DryingDay) OpenWater(albedo float64) Drying {
	o := d.balance(albedo)
	o.EvaporationMM = PenmanOpenWater(o.NetMJ-d.StoredMJ, o.SlopeKPaK, o.PsychrometricKPaK, d.WindMS, o.DeficitKPa)
	return o
}

// PenmanOpenWater returns the evaporation from open water [mm/d] when the net
// radiation is known, by the formula of DryingDay.OpenWater. netMJ is the
// radiation kept less the heat stored [MJ/m²/d], slopeKPaK the slope of the
// saturation curve [kPa/K], psychrometricKPaK is γ [kPa/K], windMS the wind at
// 2 m [m/s], deficitKPa the saturation deficit of the air [kPa].
//
// Source: penman1956, as above.
func PenmanOpenWater(netMJ, slopeKPaK, psychrometricKPaK, windMS, deficitKPa float64) float64 {
	return (slopeKPaK*netMJ/faoLatentMJKg + psychrometricKPaK*(1.313+1.381*windMS)*deficitKPa) /
		(slopeKPaK + psychrometricKPaK)
}
