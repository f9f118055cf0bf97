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
	e12, e13, e23    float64 // Eθ [kg/mol]
	d12, d13, d23    float64 // I·dEθ/dI [kg/mol]
	triple           bool    // whether threefold charges are wanted
	strength, slopeA float64 // where they were worked out: I [mol/kg], Aφ
}

// set works the terms out at ionic strength i [mol/kg] and Debye-Hückel slope
// aphi [kg^½/mol^½]:
//
//	Eθ = (zz'/4I) (J(x_zz') − ½ J(x_zz) − ½ J(x_z'z')),  x_zz' = 6 z z' Aφ √I
//
// Source: pitzer1975, eqs. 14 and 15.
func (e *electrostatic) set(i, aphi float64) {
	*e = electrostatic{triple: e.triple, strength: i, slopeA: aphi}
	if i < 1e-9 { // the terms multiply molalities as small as this
		return
	}
	u := 6 * aphi * math.Sqrt(i)
	j1, k1 := jIntegral(u)
	j2, k2 := jIntegral(2 * u)
	j4, k4 := jIntegral(4 * u)
	e.e12, e.d12 = mixing(2, i, j2, j1, j4, k2, k1, k4)
	if !e.triple {
		return
	}
	j3, k3 := jIntegral(3 * u)
	j6, k6 := jIntegral(6 * u)
	j9, k9 := jIntegral(9 * u)
	e.e13, e.d13 = mixing(3, i, j3, j1, j9, k3, k1, k9)
	e.e23, e.d23 = mixing(6, i, j6, j4, j9, k6, k4, k9)
}

// mixing puts three integrals together: zz is the product of the charges [1],
// i the ionic strength [mol/kg], the rest J and x·J' [1].
func mixing(zz, i, j, ja, jb, k, ka, kb float64) (e, ide float64) {
	e = zz / (4 * i) * (j - (ja+jb)/2)
	return e, -e + zz/(8*i)*(k-(ka+kb)/2)
}
