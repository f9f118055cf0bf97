package vessel

import (
	"math"

	"sodalake/science/air"
)

const (
	kelvin = 273.15 // 0 °C [K]
	cpAir  = 1006.0 // heat capacity of air [J/kg/K], ashrae2017 ch. 1
	gasDry = 287.04 // gas constant of dry air [J/kg/K], ashrae2017 ch. 1
	ratioM = 0.622  // molar mass of water vapour over that of dry air [1]

	// lewis is (Sc/Pr)^(−2/3) of water vapour in air, how much better vapour
	// leaves than heat [1]: Sc 0.62, Pr 0.71 at 25 °C.
	// Source: incropera2007, tables A.4 and A.8.
	lewis      = 1.09
	cubeRootPr = 0.892 // Pr^⅓ of air [1]

	stillMS     = 0.1  // air out of doors and in rooms is never stiller than this [m/s]
	smallestM   = 0.01 // a surface is not taken as smaller across: a bottle's neck [m]
	shortestM   = 1    // out of doors a plate is not taken as shorter [m]: see newAirLayer
	laminarRe   = 3e5  // Reynolds number up to which the layer over a plate is laminar [1]
	turbulentRe = 5e5  // and from which it is turbulent [1]
	tunnelMS    = 0.3  // air in a shut tunnel moves, stirred by its cold cover and leaks [m/s], common practice, no source
	lowWind     = 0.6  // wind at the walls of a low vessel over that at 2 m [1]: log law, 0.3 m over short grass
	radiative   = 5.5  // longwave between a wall and its surroundings, linearised [W/m²/K]
	faceInside  = 4.0  // convection on the inner face of a cover [W/m²/K], common practice, no source
)

// airLayer is what the exchange with one body of air needs, worked out once a
// step.
type airLayer struct {
	free    float64 // free coefficient over the cube root of Δθ_v/θ_v [W/m²/K]
	forced2 float64 // square of the forced coefficient [(W/m²/K)²]
	perKPa  float64 // latent over sensible coefficient [K/kPa]
	buoyKPa float64 // lightness of vapour, 0.378 over the station pressure [1/kPa]
}

// draught is the part of the outer wind that moves the air under a cover with
// vents shut, half and open [1]; common practice, no source.
var draught = [3]float64{0, 0.1, 0.2}

// newAirLayer works out the layer over a plate: tempC, pressureKPa and windMS
// are those of the air, lengthM the size of the plate along the wind [m],
// latentJKg the heat of evaporation [J/kg].
//
// Forced convection is that over a flat plate, laminar or turbulent, with a
// straight line between the two:
//
//	Nu = 0.628 Re^½ Pr^⅓      Re ≤ 3·10⁵
//	Nu = 0.035 Re^0.8 Pr^⅓    Re ≥ 5·10⁵
//
// Free convection is that over a warm plate facing up, whatever its size:
//
//	h = 0.14 k (g Δθ_v/(θ_v ν α))^⅓ = C(T) (P/P₀)^⅔ (Δθ_v/θ_v)^⅓
//
// where C is a parabola through 0, 30 and 60 °C and the power a fraction, both
// within 1.3 % from −10 to 60 °C and 50 to 105 kPa.
//
// The wind is that at 2 m. A body of water under a metre across lies in the
// slower air near the ground, so that its plate is not taken as shorter than a
// metre: three pools of 16, 32 and 96 cm side by side then differ as they did
// (paaijmans2008, Hydrol. Process. 22:4789; TestThreePools).
//
// Sources: bechet2011 (Béchet, Shilton, Park, Craggs & Guieysse 2011, Environ.
// Sci. Technol. 45:3702), made for open ponds, with the wind of the station and
// no fitting; constants read in public code that cites it. Over 274 days on a
// raceway it was one of the two best of seven (14 % off, hal-02624986).
// Free: incropera2007 (Incropera et al., Fundamentals of Heat and Mass
// Transfer, 6th ed.), eq. 9.31, with the 0.14 that ryan1974 (Ryan, Harleman &
// Stolzenbach 1974, Water Resour. Res. 10:930) found over warm ponds. Air:
// incropera2007, table A.4, straight lines through 250–350 K, good to 2 %.
func newAirLayer(tempC, pressureKPa, windMS, lengthM, latentJKg float64) airLayer {
	perPressure := 1 / pressureKPa
	dense := pressureKPa * (1 / 101.325) // against the sea's
	k := 0.0243 + 0.000074*tempC
	re := max(windMS, stillMS) * lengthM * dense / (13.3e-6 + 0.095e-6*tempC)
	nusselt := 0.628 * math.Sqrt(re)
	if re > laminarRe {
		share := min((re-laminarRe)/(turbulentRe-laminarRe), 1)
		nusselt += share * (0.035*fourFifths(re) - nusselt)
	}
	h := nusselt * cubeRootPr * k / lengthM
	return airLayer{
		free:    (11.54 + tempC*(-0.0186+0.0001*tempC)) * (1 + 5*dense) / (5 + dense),
		forced2: h * h,
		perKPa:  lewis * ratioM / cpAir * latentJKg * perPressure,
		buoyKPa: (1 - ratioM) * perPressure,
	}
}

// fourFifths returns x^0.8 for x > 0, within 3·10⁻⁵ of it: a fifth of the
// exponent for a guess of x^−0.2, then two steps of Newton's method on 1/z⁵ − x.
func fourFifths(x float64) float64 {
	z := math.Float64frombits(0x4cb8a89999999800 - math.Float64bits(x)/5)
	for range 2 {
		z2 := z * z
		z *= 1.2 - 0.2*x*z2*z2*z
	}
	return x * z
}

// lift returns Δθ_v/θ_v, by how much the air at the water is lighter than the
// air over it [1]; below 0 when it is heavier. waterC and airC are the two
// temperatures [°C], surfKPa and airKPa the vapour pressures [kPa].
func (a *airLayer) lift(waterC, airC, surfKPa, airKPa float64) float64 {
	over := (waterC + kelvin) * (1 + a.buoyKPa*surfKPa) // T/(1 − 0.378e/P) to first order
	air := (airC + kelvin) * (1 + a.buoyKPa*airKPa)
	return over/air - 1
}

// coefficient returns the coefficient of convection between water and air
// [W/m²/K], forced and free together, where cubeRoot is that of lift [1]:
//
//	h² = h_forced² + h_free²
//
// Source: adams1990 (Adams, Cosler & Helfrich 1990, Water Resour. Res. 26:425).
func (a *airLayer) coefficient(cubeRoot float64) float64 {
	free := a.free * cubeRoot
	return math.Sqrt(a.forced2 + free*free)
}

// gentle is the lift below which free convection dies out in a straight line
// and not as a cube root [1]: 0.3 K. So little of it drives no turbulence, and
// the cube root's upright tangent at 0 would make water flutter there.
const gentle = 0.001

// rise returns the cube root of a lift, 0 when there is none.
func rise(lift float64) float64 {
	if !(lift > gentle) {
		return max(lift, 0) * 100 // gentle^(−⅔)
	}
	// The cube root within 3·10⁻⁵: a third of the exponent for a guess, and one
	// step of Halley's method.
	y := math.Float64frombits(math.Float64bits(lift)/3 + 0x2a9f76fe36d22425)
	y3 := y * y * y
	return y * (y3 + 2*lift) / (2*y3 + lift)
}

// riseFrom returns rise(lift) from the root of a lift near it: one step of
// Halley's method, good to 0.2 % between 0.65 and 1.5 times the old lift and
// the true root outside.
func riseFrom(lift, oldLift, oldRoot float64) float64 {
	if !(lift > gentle && lift > 0.65*oldLift && lift < 1.5*oldLift) {
		return rise(lift)
	}
	return oldRoot * (oldLift + 2*lift) / (2*oldLift + lift)
}

// quickening returns by how much of itself the coefficient h [W/m²/K] grows as the water
// warms by one degree [1/K]: what stops water that free convection cools.
// root and lift are those of now [1], airC is the air's temperature [°C], slope
// that of the vapour pressure [kPa/K].
func (a *airLayer) quickening(h, root, lift, airC, slope float64) float64 {
	free := a.free * root
	share := free * free / (h * h)
	perK := 1/(airC+kelvin) + a.buoyKPa*slope
	return share / 3 * perK / max(lift, gentle)
}

// saturationFrom returns the vapour pressure over water and its slope [kPa],
// [kPa/K] at a temperature near another at which they are known, all in [°C],
// [kPa] and [kPa/K]:
//
//	e/e₀ = exp((s₀/e₀) (T − T₀) T₀/T − 2.7·10⁻⁵ (T − T₀)²)
//
// within 2·10⁻⁴ for four degrees, 10⁻⁵ for one. Further away it is worked out
// anew.
//
// Source: the equation of Clausius and Clapeyron; the square is what the heat
// of evaporation loses with temperature (TestSaturationFrom).
func saturationFrom(tempC, oldC, oldKPa, oldSlope float64) (kPa, slope float64) {
	d := tempC - oldC
	r := oldSlope / oldKPa
	back := (oldC + kelvin) / (tempC + kelvin)
	x := d * (r*back - 2.7e-5*d)
	if !(math.Abs(x) < 0.3) {
		return air.SaturationSlope(tempC)
	}
	e := oldKPa * (1 + x*(1+x/2*(1+x/3*(1+x/4*(1+x/5)))))
	return e, e * (r*back*back - 5.4e-5*d)
}

// faceOutside returns the coefficient of convection on a wall or a cover out of doors
// [W/m²/K], where windMS is the wind along it [m/s].
//
// Source: watmuff1977 (Watmuff, Charters & Proctor 1977), h = 2.8 + 3.0 u, as
// given by duffiebeckman2013, eq. 3.15.1, from memory.
func faceOutside(windMS float64) float64 { return 2.8 + 3.0*windMS }

// saturations is the vapour pressure over water and its slope at every whole
// degree of a pond's life.
var saturations = func() (t [coldest + hottest + 1]struct{ kPa, slope float64 }) {
	for i := range t {
		t[i].kPa, t[i].slope = air.SaturationSlope(float64(i - coldest))
	}
	return t
}()

const coldest, hottest = 40, 80 // below and above 0 °C [K]

// saturation returns the vapour pressure over water and its slope [kPa], [kPa/K]
// at a temperature [°C], drawn from the nearest whole degree.
func saturation(tempC float64) (kPa, slope float64) {
	i := int(tempC + (coldest + 0.5))
	if !(tempC > -coldest && tempC < hottest) {
		return air.SaturationSlope(tempC)
	}
	at := &saturations[i]
	return saturationFrom(tempC, float64(i-coldest), at.kPa, at.slope)
}
