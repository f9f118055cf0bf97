package brine

import "math"

// The sizes of the working lists: no water has more.
const (
	maxPairs  = 64
	maxThetas = 32
	maxPsis   = 64
	maxOthers = 16
	maxMoving = 96
)

const debyeB = 1.2 // b of the Debye-Hückel function in Pitzer's equations [kg^½/mol^½]

// pairTerm is one cation with one anion and the values of its parameters at
// the temperature in force.
type pairTerm struct {
	c, a           uint8
	double         bool    // both doubly charged
	b0, b1, b2, cc float64 // cc is C = Cφ / 2√|zz'|
}

// moving is a parameter that changes with temperature, and where its value
// belongs.
type moving struct {
	of    *parameter
	at    uint8   // place in its list
	scale float64 // by which it is multiplied [1]
}

// fewTerm is a parameter of two or three species and its value.
type fewTerm struct {
	i, j, k uint8
	value   float64
}

// pitzer works out activity coefficients for a chosen set of species. The set
// and the temperature are set beforehand; eval only adds and multiplies.
type pitzer struct {
	ions     [NSpecies]uint8 // those present, cations first
	nc, ni   int             // how many cations, how many ions
	pairs    [maxPairs]pairTerm
	np       int
	likes    [maxThetas]fewTerm // theta
	nt       int
	threes   [maxPsis]fewTerm // psi
	ns       int
	neutrals [maxOthers]fewTerm // lambda, and zeta with k set
	nn       int
	moving   [maxMoving]moving
	nm       int
	doubles  bool // a pair of doubly charged ions is present
	mixed    electrostatic
	aphi     float64
	kcl      [3]float64 // β⁰, β¹, Cφ of KCl, for the pH scale
}

// noIon fills the third place of a term of two species.
const noIon = 0xff

// choose makes the working lists for the species that are present.
func (p *pitzer) choose(present *[NSpecies]bool) {
	p.nc, p.ni, p.np, p.nt, p.ns, p.nn, p.nm = 0, 0, 0, 0, 0, 0, 0
	p.doubles, p.mixed = false, electrostatic{}
	for i := Species(0); i < firstNeutral; i++ {
		if !present[i] || aside(i) {
			continue
		}
		p.ions[p.ni] = uint8(i)
		p.ni++
		if i < firstAnion {
			p.nc = p.ni
		}
		if i.Charge() < -2 {
			p.mixed.triple = true
		}
	}
	var seen [NSpecies][NSpecies]uint8 // 1 + place in pairs
	for n := range pairParameters {
		par := &pairParameters[n]
		c, a := par.of[0], par.of[1]
		if c > a {
			c, a = a, c
		}
		if !present[c] || !present[a] {
			continue
		}
		zz := math.Abs(c.Charge() * a.Charge())
		at := seen[c][a]
		if at == 0 {
			double := zz > 3.5 && c.Charge() < 2.5 && a.Charge() > -2.5
			p.pairs[p.np] = pairTerm{c: uint8(c), a: uint8(a), double: double}
			p.doubles = p.doubles || double
			p.np++
			at = uint8(p.np)
			seen[c][a] = at
		}
		if par.kind == beta2 && !p.pairs[at-1].double {
			continue // harvie1984 has no such term for singly charged ions
		}
		m := moving{of: par, at: at - 1, scale: 1}
		if par.kind == cphi {
			m.scale = 1 / (2 * math.Sqrt(zz))
		}
		p.note(m)
	}
	for n := range mixedParameters {
		par := &mixedParameters[n]
		f := fewTerm{i: uint8(par.of[0]), j: uint8(par.of[1]), k: noIon, value: par.a[0]}
		if !present[par.of[0]] || !present[par.of[1]] {
			continue
		}
		m := moving{of: par, scale: 1}
		switch par.kind {
		case theta:
			m.at = uint8(p.nt)
			p.likes[p.nt] = f
			p.nt++
		case lambda:
			m.at = uint8(p.nn)
			p.neutrals[p.nn] = f
			p.nn++
		case psi, zeta:
			if !present[par.of[2]] {
				continue
			}
			f.k = uint8(par.of[2])
			if par.kind == psi {
				m.at = uint8(p.ns)
				p.threes[p.ns] = f
				p.ns++
			} else {
				m.at = uint8(p.nn)
				p.neutrals[p.nn] = f
				p.nn++
			}
		}
		p.note(m)
	}
}

// note sets a parameter's value at 25 °C, and remembers it if it moves.
func (p *pitzer) note(m moving) {
	p.put(&m, m.of.a[0]*m.scale)
	for _, a := range m.of.a[1:] {
		if a != 0 {
			p.moving[p.nm] = m
			p.nm++
			return
		}
	}
}

// put sets the value of a parameter.
func (p *pitzer) put(m *moving, v float64) {
	switch m.of.kind {
	case beta0:
		p.pairs[m.at].b0 = v
	case beta1:
		p.pairs[m.at].b1 = v
	case beta2:
		p.pairs[m.at].b2 = v
	case cphi:
		p.pairs[m.at].cc = v
	case theta:
		p.likes[m.at].value = v
	case psi:
		p.threes[m.at].value = v
	default:
		p.neutrals[m.at].value = v
	}
}

// aside tells whether a species has no place in Pitzer's sums: the EDTA
// complexes, for which nobody has measured interaction parameters.
func aside(s Species) bool { return s >= SpH2EDTA && s <= SpFeOHEDTA }

// basis holds the temperature functions of a parameter.
type basis [6]float64

func basisAt(tempC float64) basis {
	t := tempC + kelvin
	return basis{1, 1/t - 1/refK, math.Log(t / refK), t - refK, t*t - refK*refK, 1/(t*t) - 1/(refK*refK)}
}

// at returns the parameter's value for the basis of a temperature.
func (p *parameter) at(b *basis) float64 {
	v := p.a[0]
	for i := 1; i < 6; i++ {
		v += p.a[i] * b[i]
	}
	return v
}

// kclNumbers are the places of KCl's three parameters in pairParameters.
var kclNumbers = func() (n [3]int) {
	for i := range pairParameters {
		p := &pairParameters[i]
		if p.of[0] == SpCl && p.of[1] == SpK {
			switch p.kind {
			case beta0:
				n[0] = i
			case beta1:
				n[1] = i
			case cphi:
				n[2] = i
			}
		}
	}
	return n
}()

// setTemp fills in the parameters at a temperature [°C], with the Debye-Hückel
// slope aphi [kg^½/mol^½] of that temperature.
func (p *pitzer) setTemp(tempC, aphi float64) {
	b := basisAt(tempC)
	p.aphi = aphi
	for i := range p.moving[:p.nm] {
		m := &p.moving[i]
		p.put(m, m.of.at(&b)*m.scale)
	}
	for i, n := range kclNumbers {
		p.kcl[i] = pairParameters[n].at(&b)
	}
}

// falloff returns g(x) = 2 (1 − (1 + x) e^(−x)) / x² [1], e^(−x) [1] and g's
// slope e^(−x) − g [1], by which second virial coefficients fall with √I.
func falloff(x float64) (g, e, slope float64) {
	e = math.Exp(-x)
	if x < 1e-4 {
		return 1 - 2*x/3, e, -x / 3
	}
	g = 2 * (1 - (1+x)*e) / (x * x)
	return g, e, e - g
}

// eval works out ln γ [1] of every species present from the molalities
// molal [mol/kg], and returns the ionic strength [mol/kg], the logarithm of the
// water activity [1] and what has to be added, times the charge, to put ln γ of
// an ion on MacInnes' scale [1].
//
// Source: harvie1984, eqs. 1 to 6; EDTA complexes by davies1962. The scale is
// that of macinnes1919: the chloride ion is as active as in potassium chloride
// of the same ionic strength.
func (p *pitzer) eval(molal, gamma *[NSpecies]float64) (strength, lnAw, scale float64) {
	// arrays of a power of two, so that places need no checking
	var m, lg [padded]float64
	copy(m[:], molal[:])
	var all float64
	for _, x := range molal {
		all += x
	}
	strength = ionicStrength(molal)
	root := math.Sqrt(strength)
	g1, e1, s1 := falloff(2 * root)
	var g4, e4, s4, g12, e12, s12 float64
	if p.doubles {
		g4, e4, s4 = falloff(1.4 * root)
		g12, e12, s12 = falloff(12 * root)
	}
	p.mixed.set(strength, p.aphi)

	ions := p.ions[:p.ni]
	var byCharge [8]float64 // molality of ions with charge −3 … 3
	for _, s := range ions {
		byCharge[(ionCharge[s]+3)&7] += m[s%padded]
	}
	a3, a2, a1, c1, c2 := byCharge[0], byCharge[1], byCharge[2], byCharge[4], byCharge[5]
	z := 3*a3 + 2*a2 + a1 + c1 + 2*c2

	logTerm := 2 / debyeB * math.Log1p(debyeB*root)
	debye := -p.aphi * (root/(1+debyeB*root) + logTerm)
	osm := -p.aphi * strength * root / (1 + debyeB*root)

	// cations with anions
	var slopes, thirds float64
	for k := range p.pairs[:p.np] {
		t := &p.pairs[k]
		c, a := t.c%padded, t.a%padded
		mc, ma := m[c], m[a]
		var b, slope, bphi float64
		if t.double {
			b = t.b0 + t.b1*g4 + t.b2*g12
			slope = t.b1*s4 + t.b2*s12
			bphi = t.b0 + t.b1*e4 + t.b2*e12
		} else {
			b = t.b0 + t.b1*g1
			slope = t.b1 * s1
			bphi = t.b0 + t.b1*e1
		}
		mm := mc * ma
		slopes += mm * slope
		thirds += mm * t.cc
		zc := z * t.cc
		both := 2*b + zc
		lg[c] += ma * both
		lg[a] += mc * both
		osm += mm * (bphi + zc)
	}
	// like ions
	for k := range p.likes[:p.nt] {
		t := &p.likes[k]
		i, j := t.i%padded, t.j%padded
		mi, mj := m[i], m[j]
		lg[i] += 2 * t.value * mj
		lg[j] += 2 * t.value * mi
		osm += t.value * mi * mj
	}
	for k := range p.threes[:p.ns] {
		t := &p.threes[k]
		i, j, k := t.i%padded, t.j%padded, t.k%padded
		mi, mj, mk := m[i], m[j], m[k]
		x := t.value * mk
		lg[i] += x * mj
		lg[j] += x * mi
		x = t.value * mi * mj
		lg[k] += x
		osm += x * mk
	}
	osm += p.evalNeutrals(&m, &lg)
	// ions of like sign and unlike charge
	x := &p.mixed
	slopes += (c1*c2+a1*a2)*x.d12 + a1*a3*x.d13 + a2*a3*x.d23
	osm += (c1*c2+a1*a2)*(x.e12+x.d12) + a1*a3*(x.e13+x.d13) + a2*a3*(x.e23+x.d23)
	f := debye
	if strength > 0 {
		f += slopes / strength
	}
	// what all ions of one charge have in common
	common := [8]float64{
		9*f + 3*thirds + 2*(a1*x.e13+a2*x.e23), 4*f + 2*thirds + 2*(a1*x.e12+a3*x.e23), f + thirds + 2*(a2*x.e12+a3*x.e13), 0,
		f + thirds + 2*c2*x.e12, 4*f + 2*thirds + 2*c1*x.e12, 0, 0,
	}
	for _, s := range ions {
		gamma[s] = lg[s%padded] + common[(ionCharge[s]+3)&7]
	}
	for s := firstNeutral; int(s) < NSpecies; s++ {
		gamma[s] = lg[s]
	}
	p.davies(root, strength, gamma)

	lnAw = -waterMol * (all + 2*osm)
	// ln γ of KCl alone at this ionic strength
	kcl := debye + strength*(p.kcl[1]*s1+2*(p.kcl[0]+p.kcl[1]*g1)+1.5*strength*p.kcl[2])
	return strength, lnAw, gamma[SpCl] - kcl
}

// padded is the number of species, rounded up to a power of two.
const padded = 64

// ionCharge holds the charges of the species as whole numbers [1].
var ionCharge = func() (z [NSpecies]int8) {
	for i := range z {
		z[i] = int8(speciesTable[i].charge)
	}
	return z
}()

// evalNeutrals adds the interactions of uncharged species to lg [1] and returns
// their part of the osmotic sum [mol/kg].
func (p *pitzer) evalNeutrals(m, lg *[padded]float64) float64 {
	var osm float64
	for k := range p.neutrals[:p.nn] {
		t := &p.neutrals[k]
		i, j := t.i%padded, t.j%padded
		mi, mj := m[i], m[j]
		switch {
		case t.k != noIon:
			k := t.k % padded
			mk := m[k]
			lg[i] += t.value * mj * mk
			lg[j] += t.value * mi * mk
			lg[k] += t.value * mi * mj
			osm += t.value * mi * mj * mk
		case i == j:
			lg[i] += 2 * t.value * mi
			osm += t.value * mi * mi / 2
		default:
			lg[i] += 2 * t.value * mj
			lg[j] += 2 * t.value * mi
			osm += t.value * mi * mj
		}
	}
	return osm
}

// davies fills in ln γ of the EDTA complexes.
//
// Source: davies1962, C. W. Davies, Ion Association, ch. 3. Its linear term is
// held from 0.5 mol/kg on.
func (p *pitzer) davies(root, strength float64, lg *[NSpecies]float64) {
	one := -3 * p.aphi * (root/(1+root) - 0.3*math.Min(strength, 0.5))
	for s := SpH2EDTA; s <= SpFeOHEDTA; s++ {
		lg[s] = chargeSquared[s] * one
	}
}
