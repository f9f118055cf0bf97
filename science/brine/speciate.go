package brine

import "math"

// constants are the stability constants in molalities, activity coefficients
// and water activity folded in: with them a balance is arithmetic.
type constants [nProducts]float64

// ligand is what one kind of ligand (carbonate, phosphate, sulfate or EDTA)
// looks like at a given acidity: D = Σ dₙ hⁿ counts its forms for one free
// ligand, those with n hydrogens weighted by hⁿ, calcium and magnesium
// included.
type ligand struct {
	total  float64    // mol/kg
	weight float64    // alkalinity of the bare ligand
	bare   [4]float64 // coefficients of hⁿ without calcium and magnesium
	ca, mg [3]float64 // coefficients of hⁿ with one calcium or magnesium
}

// balance is one water whose free hydrogen, calcium and magnesium are sought.
type balance struct {
	lig              [4]ligand // carbonate, phosphate, sulfate, EDTA
	n                int       // how many of them are present
	where            [4]int8   // place in lig of each kind, -1 where absent
	alk              float64   // eq/kg that the forms must add up to
	ammonia, borate  float64
	chelated         float64 // iron held by EDTA
	ca, mg           float64 // totals
	kw, nh3, boh4    float64
	caOH, mgOH, feOH float64
	metals           bool
	h, freeCa        float64
	freeMg           float64
}

const (
	ofCarbonate = iota
	ofPhosphate
	ofSulfate
	ofEDTA
)

// set fills in a balance from the totals t and constants k; free holds the
// shares of sodium and potassium that are not in pairs [1].
func (b *balance) set(t *Totals, k *constants, free *[2]float64) {
	b.n = 0
	b.where = [4]int8{-1, -1, -1, -1}
	b.ca, b.mg = tangible(t[Ca]), tangible(t[Mg])
	b.metals = b.ca > 0 || b.mg > 0
	b.alk = t.AlkalinityEqKg()
	b.ammonia, b.borate = t[Ammonia], t[Borate]
	b.kw, b.nh3, b.boh4 = k[toOH], k[toNH3], k[toBOH4]
	b.caOH, b.mgOH, b.feOH = k[toCaOH], k[toMgOH], k[toFeOHEDTA]
	b.chelated = math.Min(t[Iron], t[EDTA])
	na, ka := t[Na]*free[0], t[K]*free[1]
	if t[DIC] > 0 {
		l := b.add(ofCarbonate)
		l.total, l.weight = t[DIC], 2
		l.bare = [4]float64{1, k[toHCO3], k[toCO2]}
		l.ca = [3]float64{k[toCaCO3], k[toCaHCO3]}
		l.mg = [3]float64{k[toMgCO3], k[toMgHCO3]}
	}
	if t[PO4] > 0 {
		l := b.add(ofPhosphate)
		l.total, l.weight = t[PO4], 2
		l.bare = [4]float64{1, k[toHPO4], k[toH2PO4], k[toH3PO4]}
		l.ca = [3]float64{k[toCaPO4], k[toCaHPO4], k[toCaH2PO4]}
		l.mg = [3]float64{k[toMgPO4], k[toMgHPO4], k[toMgH2PO4]}
	}
	if t[SO4] > 0 {
		l := b.add(ofSulfate)
		l.total, l.weight = t[SO4], 0
		l.bare = [4]float64{1 + na*k[toNaSO4] + ka*k[toKSO4], k[toHSO4]}
		l.ca = [3]float64{k[toCaSO4]}
		l.mg = [3]float64{k[toMgSO4]}
	}
	if y := t[EDTA] - b.chelated; y > 0 {
		l := b.add(ofEDTA)
		l.total, l.weight = y, 2
		l.bare = [4]float64{1 + na*k[toNaEDTA] + ka*k[toKEDTA], k[toHEDTA], k[toH2EDTA]}
		l.ca = [3]float64{k[toCaEDTA]}
		l.mg = [3]float64{k[toMgEDTA]}
	}
}

// tangible returns x, or nothing where x is so little [mol/kg] that a pond
// would not hold one atom of it and the arithmetic would run out of digits.
func tangible(x float64) float64 {
	if x < 1e-30 {
		return 0
	}
	return x
}

func (b *balance) add(kind int) *ligand {
	l := &b.lig[b.n]
	b.where[kind] = int8(b.n)
	b.n++
	return l
}

// residual is how far the three balances are off at the present guess, and how
// each changes with the logarithms of free hydrogen, calcium and magnesium.
type residual struct {
	r [3]float64    // alkalinity missing, calcium missing, magnesium missing [mol/kg]
	j [3][3]float64 // minus their derivatives [mol/kg]
}

// weigh works out the residual.
func (b *balance) weigh(out *residual) {
	h, ca, mg := b.h, b.freeCa, b.freeMg
	oh := b.kw / h
	alk, dAlk := oh-h, -(oh + h)
	var dCa, dMg, ca1, caCa, mg1, mgMg, caMg float64 // complexes and slopes
	for i := range b.lig[:b.n] {
		l := &b.lig[i]
		p := &l.bare
		h2 := h * h
		t1, t2, t3 := p[1]*h, p[2]*h2, p[3]*h2*h
		d, d1, d2 := p[0]+t1+t2+t3, t1+2*t2+3*t3, t1+4*t2+9*t3
		var a, a1, c, c1 float64
		if b.metals {
			q := &l.ca
			x1, x2 := q[1]*h, q[2]*h2
			a, a1 = ca*(q[0]+x1+x2), ca*(x1+2*x2)
			d, d1, d2 = d+a, d1+a1, d2+ca*(x1+4*x2)
			q = &l.mg
			x1, x2 = q[1]*h, q[2]*h2
			c, c1 = mg*(q[0]+x1+x2), mg*(x1+2*x2)
			d, d1, d2 = d+c, d1+c1, d2+mg*(x1+4*x2)
		}
		inv := 1 / d
		free := l.total * inv
		mean := d1 * inv // hydrogens per ligand
		alk += l.total * (l.weight - mean)
		dAlk -= free * (d2 - mean*d1)
		if b.metals {
			dCa += free * a
			dMg += free * c
			ca1 += free * (a1 - mean*a)
			mg1 += free * (c1 - mean*c)
			caCa += free * a * (1 - a*inv)
			mgMg += free * c * (1 - c*inv)
			caMg -= free * a * c * inv
		}
	}
	if b.ammonia > 0 {
		nh3 := b.ammonia / (1 + h/b.nh3)
		alk += nh3
		dAlk -= nh3 * (1 - nh3/b.ammonia)
	}
	if b.borate > 0 {
		x := b.borate / (1 + h/b.boh4)
		alk += x
		dAlk -= x * (1 - x/b.borate)
	}
	if b.chelated > 0 {
		fe := b.chelated / (1 + b.feOH/h)
		alk -= fe
		dAlk -= fe * (1 - fe/b.chelated)
	}
	if b.metals {
		caOH, mgOH := ca*b.caOH/h, mg*b.mgOH/h
		alk += caOH + mgOH
		dAlk -= caOH + mgOH
		ca1 -= caOH
		mg1 -= mgOH
		// −∂alk/∂ln ca = ca1 by symmetry, and so on
		*out = residual{
			r: [3]float64{b.alk - alk, b.ca - ca - caOH - dCa, b.mg - mg - mgOH - dMg},
			j: [3][3]float64{
				{dAlk, -ca1, -mg1},
				{ca1, ca + caOH + caCa, caMg},
				{mg1, caMg, mg + mgOH + mgMg},
			},
		}
		return
	}
	out.r[0] = b.alk - alk
	out.j[0][0] = dAlk
}

// Steps of the search.
const (
	maxNewton  = 60   // steps of the joint search [1]
	stepLimit  = 3.0  // longest step in a logarithm [1]
	closeStep  = 1e-7 // a step so short ends the search: the next would be its square
	lowestH    = 1e-17
	highestH   = 15.0
	maxBisect  = 200
	bisectStop = 1e-14
)

// solve finds free hydrogen, calcium and magnesium from the guesses in b. It
// says whether it did.
func (b *balance) solve() bool {
	if !(b.h > lowestH && b.h < highestH) {
		b.h = b.firstGuess()
	}
	if b.metals {
		b.freeCa = within(b.freeCa, b.ca)
		b.freeMg = within(b.freeMg, b.mg)
	} else {
		b.freeCa, b.freeMg = 0, 0
	}
	var x residual
	for range maxNewton {
		b.weigh(&x)
		var du, dv, dw float64
		if b.metals {
			du, dv, dw = b.step(&x)
		} else {
			du = x.r[0] / x.j[0][0]
		}
		longest := math.Abs(du)
		if y := math.Abs(dv); y > longest {
			longest = y
		}
		if y := math.Abs(dw); y > longest {
			longest = y
		}
		if longest < closeStep {
			b.h *= grow(du)
			b.freeCa *= grow(dv)
			b.freeMg *= grow(dw)
			return b.h > lowestH && b.h < highestH
		}
		if longest > stepLimit {
			cut := stepLimit / longest
			du, dv, dw = du*cut, dv*cut, dw*cut
		}
		b.h *= grow(du)
		b.freeCa *= grow(dv)
		b.freeMg *= grow(dw)
		if !(b.h > lowestH && b.h < highestH && b.freeCa < highestH && b.freeMg < highestH) { // or no number
			break
		}
	}
	return b.bisect()
}

// within returns a guess for a free metal between nothing and its total.
func within(guess, total float64) float64 {
	if guess > 0 && guess <= total {
		return guess
	}
	return total / 2
}

// grow returns e^x, by its series where that is exact to 1e-11 of it: the next
// step sees the rest.
func grow(x float64) float64 {
	if x < 0.02 && x > -0.02 {
		return 1 + x*(1+x*(1.0/2+x*(1.0/6+x*(1.0/24))))
	}
	return math.Exp(x)
}

// step solves the three linear equations of Newton's method. A metal that is
// absent keeps still.
func (b *balance) step(x *residual) (du, dv, dw float64) {
	j := &x.j
	r := &x.r
	switch {
	case b.mg <= 0:
		det := j[0][0]*j[1][1] - j[0][1]*j[1][0]
		return (r[0]*j[1][1] - j[0][1]*r[1]) / det, (j[0][0]*r[1] - j[1][0]*r[0]) / det, 0
	case b.ca <= 0:
		det := j[0][0]*j[2][2] - j[0][2]*j[2][0]
		return (r[0]*j[2][2] - j[0][2]*r[2]) / det, 0, (j[0][0]*r[2] - j[2][0]*r[0]) / det
	}
	m00 := j[1][1]*j[2][2] - j[1][2]*j[2][1]
	m01 := j[1][0]*j[2][2] - j[1][2]*j[2][0]
	m02 := j[1][0]*j[2][1] - j[1][1]*j[2][0]
	det := j[0][0]*m00 - j[0][1]*m01 + j[0][2]*m02
	du = (r[0]*m00 - j[0][1]*(r[1]*j[2][2]-j[1][2]*r[2]) + j[0][2]*(r[1]*j[2][1]-j[1][1]*r[2])) / det
	dv = (j[0][0]*(r[1]*j[2][2]-j[1][2]*r[2]) - r[0]*m01 + j[0][2]*(j[1][0]*r[2]-r[1]*j[2][0])) / det
	dw = (j[0][0]*(j[1][1]*r[2]-r[1]*j[2][1]) - j[0][1]*(j[1][0]*r[2]-r[1]*j[2][0]) + r[0]*m02) / det
	return du, dv, dw
}

// firstGuess returns free hydrogen [mol/kg] as if carbonate alone were there.
func (b *balance) firstGuess() float64 {
	if i := b.where[ofCarbonate]; i >= 0 && b.alk > 0 {
		l := &b.lig[i]
		// alk = C (2 + k₁h) / (1 + k₁h + k₂h²)
		p, q, c := b.alk*l.bare[2], (b.alk-l.total)*l.bare[1], b.alk-2*l.total
		if c < 0 {
			root := math.Sqrt(q*q - 4*p*c)
			h := -2 * c / (q + root)
			if q < 0 {
				h = (root - q) / (2 * p)
			}
			if h > b.kw/b.alk && h < highestH {
				return h
			}
		}
	}
	switch {
	case b.alk > 1e-7:
		return b.kw / b.alk
	case b.alk < -1e-7:
		return math.Min(-b.alk, highestH/2)
	}
	return math.Sqrt(b.kw)
}

// bisect is the slow, sure way: alkalinity falls steadily as free hydrogen
// rises, the metals being in balance at each step.
func (b *balance) bisect() bool {
	lo, hi := math.Log(lowestH), math.Log(highestH)
	var x residual
	for range maxBisect {
		u := (lo + hi) / 2
		b.h = math.Exp(u)
		if b.metals && !b.settleMetals(&x) {
			return false
		}
		b.weigh(&x)
		if x.r[0] < 0 { // too much alkalinity: more hydrogen
			lo = u
		} else {
			hi = u
		}
		if hi-lo < bisectStop*40 {
			break
		}
	}
	scale := math.Abs(b.alk) + 2*b.h + 2*b.kw/b.h
	for i := range b.lig[:b.n] {
		scale += 3 * b.lig[i].total
	}
	return math.Abs(x.r[0]) < 1e-9*scale && b.h > 2*lowestH && b.h < highestH/2
}

// settleMetals balances calcium and magnesium at the present acidity. Their
// free parts start at their totals and fall, which cannot overshoot.
func (b *balance) settleMetals(x *residual) bool {
	b.freeCa, b.freeMg = b.ca, b.mg
	for range 400 {
		b.weigh(x)
		var dv, dw float64
		switch {
		case b.mg <= 0:
			dv = x.r[1] / x.j[1][1]
		case b.ca <= 0:
			dw = x.r[2] / x.j[2][2]
		default:
			det := x.j[1][1]*x.j[2][2] - x.j[1][2]*x.j[2][1]
			dv = (x.r[1]*x.j[2][2] - x.j[1][2]*x.r[2]) / det
			dw = (x.j[1][1]*x.r[2] - x.j[2][1]*x.r[1]) / det
		}
		longest := math.Max(math.Abs(dv), math.Abs(dw))
		if math.IsNaN(longest) {
			return false
		}
		if longest > 2 {
			dv, dw = dv*2/longest, dw*2/longest
		}
		b.freeCa *= math.Exp(dv)
		b.freeMg *= math.Exp(dw)
		if longest < 1e-9 {
			return true
		}
	}
	return false
}

// spread fills in the molalities of all species from the solved balance.
func (b *balance) spread(t *Totals, k *constants, free *[2]float64, m *[NSpecies]float64) {
	h, ca, mg := b.h, b.freeCa, b.freeMg
	*m = [NSpecies]float64{}
	m[SpH], m[SpOH] = h, b.kw/h
	m[SpCl], m[SpNO3], m[SpNO2], m[SpUrea] = t[Cl], t[NO3], t[NO2], t[Urea]
	na, ka := t[Na]*free[0], t[K]*free[1]
	m[SpNa], m[SpK] = t[Na], t[K]
	if b.metals {
		m[SpCa], m[SpMg] = ca, mg
		m[SpCaOH], m[SpMgOH] = ca*b.caOH/h, mg*b.mgOH/h
	}
	if b.ammonia > 0 {
		nh3 := b.ammonia / (1 + h/b.nh3)
		m[SpNH3], m[SpNH4] = nh3, nh3*h/b.nh3
	}
	if b.borate > 0 {
		x := b.borate / (1 + h/b.boh4)
		m[SpBOH4], m[SpBOH3] = x, x*h/b.boh4
	}
	if b.chelated > 0 {
		fe := b.chelated / (1 + b.feOH/h)
		m[SpFeEDTA], m[SpFeOHEDTA] = fe, fe*b.feOH/h
	}
	if i := b.where[ofCarbonate]; i >= 0 {
		free := b.freeLigand(i)
		m[SpCO3], m[SpHCO3], m[SpCO2] = free, free*k[toHCO3]*h, free*k[toCO2]*h*h
		m[SpCaCO3], m[SpCaHCO3] = free*ca*k[toCaCO3], free*ca*k[toCaHCO3]*h
		m[SpMgCO3], m[SpMgHCO3] = free*mg*k[toMgCO3], free*mg*k[toMgHCO3]*h
	}
	if i := b.where[ofPhosphate]; i >= 0 {
		free := b.freeLigand(i)
		m[SpPO4], m[SpHPO4], m[SpH2PO4], m[SpH3PO4] = free, free*k[toHPO4]*h, free*k[toH2PO4]*h*h, free*k[toH3PO4]*h*h*h
		m[SpCaPO4], m[SpCaHPO4], m[SpCaH2PO4] = free*ca*k[toCaPO4], free*ca*k[toCaHPO4]*h, free*ca*k[toCaH2PO4]*h*h
		m[SpMgPO4], m[SpMgHPO4], m[SpMgH2PO4] = free*mg*k[toMgPO4], free*mg*k[toMgHPO4]*h, free*mg*k[toMgH2PO4]*h*h
	}
	if i := b.where[ofSulfate]; i >= 0 {
		free := b.freeLigand(i)
		m[SpSO4], m[SpHSO4] = free, free*k[toHSO4]*h
		m[SpCaSO4], m[SpMgSO4] = free*ca*k[toCaSO4], free*mg*k[toMgSO4]
		m[SpNaSO4], m[SpKSO4] = free*na*k[toNaSO4], free*ka*k[toKSO4]
	}
	if i := b.where[ofEDTA]; i >= 0 {
		free := b.freeLigand(i)
		m[SpEDTA], m[SpHEDTA], m[SpH2EDTA] = free, free*k[toHEDTA]*h, free*k[toH2EDTA]*h*h
		m[SpCaEDTA], m[SpMgEDTA] = free*ca*k[toCaEDTA], free*mg*k[toMgEDTA]
		m[SpNaEDTA], m[SpKEDTA] = free*na*k[toNaEDTA], free*ka*k[toKEDTA]
	}
	m[SpNa] -= m[SpNaSO4] + m[SpNaEDTA]
	m[SpK] -= m[SpKSO4] + m[SpKEDTA]
}

// freeLigand returns the bare ligand [mol/kg] at place i.
func (b *balance) freeLigand(i int8) float64 {
	l := &b.lig[i]
	h := b.h
	d := l.bare[0] + h*(l.bare[1]+h*(l.bare[2]+h*l.bare[3])) +
		b.freeCa*(l.ca[0]+h*(l.ca[1]+h*l.ca[2])) + b.freeMg*(l.mg[0]+h*(l.mg[1]+h*l.mg[2]))
	return l.total / d
}
