package brine

import "math"

// jCoefficients are the Chebyshev coefficients for the integral J(x), the
// first column for x ≤ 1, the second above.
//
// Source: harvie1981, C. E. Harvie's thesis, as printed in pitzer1991,
// Activity Coefficients in Electrolyte Solutions, 2nd ed., table B-1 of
// chapter 3; from memory, and checked in the tests against the integral.
var jCoefficients = [2][21]float64{
	{
		1.925154014814667, -0.060076477753119, -0.029779077456514, -0.007299499690937,
		0.000388260636404, 0.000636874599598, 0.000036583601823, -0.000045036975204,
		-0.000004537895710, 0.000002937706971, 0.000000396566462, -0.000000202099617,
		-0.000000025267769, 0.000000013522610, 0.000000001229405, -0.000000000821969,
		-0.000000000050847, 0.000000000046333, 0.000000000001943, -0.000000000002563,
		-0.000000000010991,
	},
	{
		0.628023320520852, 0.462762985338493, 0.150044637187895, -0.028796057604906,
		-0.036552745910311, -0.001668087945272, 0.006519840398744, 0.001130378079086,
		-0.000887171310131, -0.000242107641309, 0.000087294451594, 0.000034682122751,
		-0.000004583768938, -0.000003548684306, -0.000000250453880, 0.000000216991779,
		0.000000080779570, 0.000000004558555, -0.000000006944757, -0.000000002849257,
		0.000000000237816,
	},
}

// jIntegral returns J(x) [1] and x·J'(x) [1] of Pitzer's theory for ions of
// like sign and unlike charge:
//
//	J(x) = x/4 − 1 + (1/x) ∫₀^∞ (1 − exp(−(x/y) e^(−y))) y² dy
//
// where x is positive [1].
//
// Source: pitzer1975, J. Solution Chem. 4:249, eq. 26, by the Chebyshev
// series of harvie1981.
func jIntegral(x float64) (j, xj1 float64) {
	var z, xdz float64
	a := &jCoefficients[0]
	if x <= 1 {
		p := math.Pow(x, 0.2)
		z, xdz = 4*p-2, 0.8*p
	} else {
		a = &jCoefficients[1]
		p := math.Pow(x, -0.1)
		z, xdz = (40*p-22)/9, -4*p/9
	}
	var b0, b1, b2, d0, d1, d2 float64
	for k := 20; k >= 0; k-- {
		b2, b1 = b1, b0
		d2, d1 = d1, d0
		b0 = z*b1 - b2 + a[k]
		d0 = b1 + z*d1 - d2
	}
	return x/4 - 1 + (b0-b2)/2, x/4 + xdz*(d0-d2)/2
}

// electrostatic are the unsymmetrical mixing terms of ions with charges 1 and
// 2, 1 and 3, 2 and 3 at one ionic strength.
type electrostatic struct {
	e12, e13, e23 float64 // Eθ [kg/mol]
	d12, d13, d23 float64 // I·dEθ/dI [kg/mol]
	triple        bool    // whether threefold charges are wanted
}

// set works the terms out at ionic strength i [mol/kg] and Debye-Hückel slope
// aphi [kg^½/mol^½]:
//
//	Eθ = (zz'/4I) (J(x_zz') − ½ J(x_zz) − ½ J(x_z'z')),  x_zz' = 6 z z' Aφ √I
//
// Source: pitzer1975, eqs. 14 and 15.
func (e *electrostatic) set(i, aphi float64) {
	*e = electrostatic{triple: e.triple}
	if i < 1e-9 { // the terms multiply molalities as small as this
		return
	}
	u := 6 * aphi * math.Sqrt(i)
	scale := 1 / (4 * i)
	e.e12, e.d12 = mixing(0, u, 2*scale)
	if e.triple {
		e.e13, e.d13 = mixing(1, u, 3*scale)
		e.e23, e.d23 = mixing(2, u, 6*scale)
	}
}

// mixing returns Eθ and I·dEθ/dI [kg/mol] of the charges numbered which, at
// u = 6 Aφ √I [1], where scale is zz'/4I [kg/mol].
func mixing(which int, u, scale float64) (e, ide float64) {
	j, uj := mixedJ(which, u)
	return scale * j, scale * (uj/2 - j)
}

// mixedCharges are the pairs of charges that mix: 1 with 2, 1 with 3, 2 with 3.
var mixedCharges = [3][2]float64{{1, 2}, {1, 3}, {2, 3}}

// exactMixedJ returns J(zz'u) − ½ J(z²u) − ½ J(z'²u) [1] and u times its
// derivative [1].
func exactMixedJ(which int, u float64) (j, uj float64) {
	z, zz := mixedCharges[which][0], mixedCharges[which][1]
	j, uj = jIntegral(z * zz * u)
	ja, ka := jIntegral(z * z * u)
	jb, kb := jIntegral(zz * zz * u)
	return j - (ja+jb)/2, uj - (ka+kb)/2
}

// The tables of exactMixedJ span the ionic strengths of brines; the series
// takes ten times as long.
const (
	jFrom  = 0.04 // u of the first place in the tables [1]
	jTo    = 6.0  // u of the last
	jSteps = 512
	jStep  = (jTo - jFrom) / jSteps
)

// jTable holds, for each pair of charges, value and slope at each place.
var jTable = func() (t [3][jSteps + 1][2]float64) {
	for which := range t {
		for n := range t[which] {
			u := jFrom + jStep*float64(n)
			j, uj := exactMixedJ(which, u)
			t[which][n] = [2]float64{j, uj / u * jStep}
		}
	}
	return t
}()

// mixedJ is exactMixedJ from the tables, by cubic pieces that agree in value
// and slope with the series at each place.
func mixedJ(which int, u float64) (j, uj float64) {
	x := (u - jFrom) / jStep
	if !(x >= 0 && x < jSteps) {
		return exactMixedJ(which, u)
	}
	n := int(x)
	x -= float64(n)
	a, b := &jTable[which][n], &jTable[which][n+1]
	rise := b[0] - a[0]
	p, q := a[1]-rise, rise-b[1]
	y := 1 - x
	j = a[0] + x*rise + x*y*(y*p+x*q)
	slope := rise + (y-x)*(y*p+x*q) + x*y*(q-p)
	return j, slope / jStep * u
}
