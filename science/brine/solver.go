package brine

import "math"

// Model is a way to work out activity coefficients.
type Model uint8

// The two models. Pitzer is the one to use; Pairs is lighter and agrees with
// it within 0.08 in pH in bicarbonate waters up to an ionic strength of 0.3
// mol/kg.
const (
	Pitzer Model = iota // interaction model of harvie1984
	Pairs               // ion pairs with the extended Debye-Hückel equation
)

// String returns the name by which calculators know the model.
func (m Model) String() string {
	if m == Pairs {
		return "pairs"
	}
	return "pitzer"
}

// Solver finds equilibria. It holds working space and the coefficients of the
// last temperature and the last set of species, so one goroutine at a time may
// use it. Its answers depend on its arguments only, never on what it solved
// before.
type Solver struct {
	model     Model
	pitzer    pitzer
	debye     debye
	reactions []reaction // of the model
	present   [NSpecies]bool
	active    [nProducts]uint8 // places in reactions of those that can happen
	na        int
	mask      uint32 // which totals are there; 1<<31 when chosen at all
	tempC     float64
	lnK       [nProducts]float64 // of reactions, at tempC
	lnHenry   float64
	ready     bool // tempC, lnK and the parameters are set
	bal       balance
	lg        [NSpecies]float64
	scale     float64 // MacInnes' term
	lnAw      float64
	strength  float64
}

// New returns a solver for a model.
func New(model Model) *Solver {
	s := &Solver{model: model}
	own := pitzerOnly
	if model == Pairs {
		own = pairsOnly
	}
	s.reactions = append(append(s.reactions, common...), own...)
	return s
}

const chosen = 1 << 31

// maskOf tells which totals are there.
func maskOf(t *Totals) uint32 {
	mask := uint32(chosen)
	for i, x := range t {
		if x > 0 {
			mask |= 1 << i
		}
	}
	return mask
}

// choose sets up the species that can be present in a water with totals t.
func (s *Solver) choose(t *Totals) {
	mask := maskOf(t)
	if mask == s.mask {
		return
	}
	s.mask = mask
	s.ready = false
	p := &s.present
	*p = [NSpecies]bool{SpH: true, SpOH: true, SpCl: true}
	for _, of := range [...]struct {
		total Total
		free  Species
	}{
		{Na, SpNa}, {K, SpK}, {Ca, SpCa}, {Mg, SpMg}, {SO4, SpSO4}, {NO3, SpNO3}, {NO2, SpNO2}, {Ammonia, SpNH4},
		{Urea, SpUrea}, {PO4, SpPO4}, {Borate, SpBOH3}, {EDTA, SpEDTA}, {DIC, SpCO3},
	} {
		if t[of.total] > 0 {
			p[of.free] = true
		}
	}
	p[SpFeEDTA] = t[EDTA] > 0 && t[Iron] > 0
	s.na = 0
	for i := range s.reactions {
		r := &s.reactions[i]
		if (r.a == none || p[r.a]) && (r.b == none || p[r.b]) {
			p[r.makes] = true
			s.active[s.na] = uint8(i)
			s.na++
		}
	}
	if s.model == Pitzer {
		s.pitzer.choose(p)
	}
}

// setTemp sets constants and parameters for a temperature [°C].
func (s *Solver) setTemp(tempC float64) {
	if s.ready && math.Float64bits(s.tempC) == math.Float64bits(tempC) {
		return
	}
	s.ready, s.tempC = true, tempC
	p := powersAt(tempC)
	for _, i := range s.active[:s.na] {
		s.lnK[i] = ln10 * s.reactions[i].k.log10(&p)
	}
	s.lnHenry = ln10 * henry.log10(&p)
	aphi := DebyeHueckelAphi(tempC)
	if s.model == Pitzer {
		s.pitzer.setTemp(tempC, aphi)
	} else {
		s.debye.setTemp(tempC, aphi)
	}
}

// coefficients works out activity coefficients for the molalities m.
func (s *Solver) coefficients(m *[NSpecies]float64) {
	if s.model == Pitzer {
		s.strength, s.lnAw, s.scale = s.pitzer.eval(m, &s.lg)
	} else {
		s.strength, s.lnAw, s.scale = s.debye.eval(m, &s.lg)
	}
}

// guess fills in activity coefficients before any species is known, as Davies
// would have them at ionic strength i [mol/kg].
func (s *Solver) guess(i float64) {
	root := math.Sqrt(i)
	one := -1.17 * (root/(1+root) - 0.2*math.Min(i, 1))
	for sp := range s.lg {
		s.lg[sp] = chargeSquared[sp] * one
	}
	s.lnAw, s.scale, s.strength = -0.02*i, 0, i
}

// fold writes ln of the stability constants in molalities.
func (s *Solver) fold(k *constants) {
	*k = constants{}
	lg := &s.lg
	h := lg[SpH]
	for _, i := range s.active[:s.na] {
		r := &s.reactions[i]
		x := s.lnK[i] + r.nH*h + r.water*s.lnAw - lg[r.makes]
		if r.a != none {
			x += lg[r.a]
		}
		if r.b != none {
			x += lg[r.b]
		}
		k[r.to] = x
	}
	k[ofGammaH] = h + s.scale
	k[ofPCO2] = lg[SpCO2] - s.lnHenry
}

// exponentiate turns logarithms of constants into constants; reactions that
// cannot happen stay at nothing.
func (s *Solver) exponentiate(ln, k *constants) {
	*k = constants{}
	for _, i := range s.active[:s.na] {
		to := s.reactions[i].to
		k[to] = math.Exp(ln[to])
	}
	k[ofGammaH] = math.Exp(ln[ofGammaH])
	k[ofPCO2] = math.Exp(ln[ofPCO2])
}

// follow moves ln to next and the constants k with it, and returns the longest
// move.
func (s *Solver) follow(ln, next, k *constants) float64 {
	var longest float64
	for _, i := range s.active[:s.na] {
		to := s.reactions[i].to
		d := next[to] - ln[to]
		if x := math.Abs(d); x > longest {
			longest = x
		} else if x != x {
			return x // not a number
		}
		k[to] *= smallExp(d)
	}
	*ln = *next
	return longest
}

// smallExp returns e^x, to 1e-15 of it, sparing the function where x is small.
func smallExp(x float64) float64 {
	if x > 4e-3 || x < -4e-3 {
		return math.Exp(x)
	}
	return 1 + x*(1+x*(1.0/2+x*(1.0/6+x*(1.0/24+x*(1.0/120)))))
}

const (
	maxRounds  = 60   // rounds of coefficients and species [1]
	freshClose = 2e-7 // error left in ln k, as the last two rounds foretell it, in Solve [1]
	warmClose  = 1e-5 // the same in SolveWarm [1]
)

// rounds goes round species and coefficients until they agree, starting from
// the logarithms ln of the constants: until ln k would move by less than close
// in the next round. It leaves them in ln and k, and the species in w.
func (s *Solver) rounds(t *Totals, ln, k *constants, free *[2]float64, close float64, w *Water) error {
	var next constants
	b := &s.bal
	last := math.Inf(1)
	s.exponentiate(ln, k)
	for n := range maxRounds {
		b.set(t, k, free)
		if !b.solve() {
			return &NoSolutionError{What: "ph", Reason: "no acidity balances the charges", PH: -math.Log10(b.h), Missing: b.alk}
		}
		b.spread(t, k, free, &w.Species)
		if last < 0 { // this was the closing round
			if s.strength > maxStrength {
				return tooStrong(s.strength)
			}
			return nil
		}
		s.coefficients(&w.Species)
		s.fold(&next)
		if n > 8 { // swinging: go half the way
			for i := range next {
				next[i] = (next[i] + ln[i]) / 2
			}
		}
		change := s.follow(ln, &next, k)
		if s.model == Pairs {
			change = math.Max(change, s.share(t, free, w))
		}
		if math.IsNaN(change) {
			break
		}
		if change < close || (n > 0 && change*change < close*last) {
			last = -1
			continue
		}
		last = change
	}
	return &NoSolutionError{What: "ph", Reason: "species and activity coefficients do not settle", PH: -math.Log10(b.h), Missing: last}
}

// share brings the free shares of sodium and potassium up to date and returns
// how far they moved.
func (s *Solver) share(t *Totals, free *[2]float64, w *Water) float64 {
	var moved float64
	for i, of := range [2]struct {
		total Total
		sp    Species
	}{{Na, SpNa}, {K, SpK}} {
		if t[of.total] <= 0 {
			continue
		}
		now := math.Max(w.Species[of.sp]/t[of.total], 1e-3)
		moved = math.Max(moved, math.Abs(now-free[i]))
		free[i] = now
	}
	return moved
}

// Solve works out a water closed to air from its totals t at tempC [°C] and
// fills w in. Activity coefficients are worked out afresh; nothing is
// allocated.
//
// Valid from 0 to 50 °C and up to an ionic strength of about 1.5 mol/kg; it
// computes some way beyond.
//
// Special cases: negative amounts, amounts that are no numbers and water that
// is ice or steam are an *InputError; a balance that is not found is a
// *NoSolutionError. In both cases w is not to be used.
//
// Source: harvie1984 with the constants of plummer1982 (constants.go and
// pitzer_pairs.go name them one by one).
func (s *Solver) Solve(t *Totals, tempC float64, w *Water) error {
	if err := check(t, tempC); err != nil {
		return err
	}
	w.kept.ok = false
	var ln, k constants
	free := [2]float64{1, 1}
	s.choose(t)
	s.setTemp(tempC)
	s.bal.h, s.bal.freeCa, s.bal.freeMg = 0, 0, 0
	s.guess(roughStrength(t))
	s.fold(&ln)
	if err := s.rounds(t, &ln, &k, &free, freshClose, w); err != nil {
		return err
	}
	s.finish(t, tempC, &ln, w)
	return nil
}

// roughStrength guesses the ionic strength [mol/kg].
func roughStrength(t *Totals) float64 {
	strong := t[Na] + t[K] + 4*t[Ca] + 4*t[Mg] + t[Ammonia] + t[Cl] + 4*t[SO4] + t[NO3] + t[NO2] + t[PO4]
	alk := math.Abs(t.AlkalinityEqKg())
	// carbonate instead of bicarbonate counts twice for its charge
	return (strong + alk + math.Max(0, math.Min(alk-t[DIC], t[DIC]))) / 2
}

// finish fills in what follows from the species.
func (s *Solver) finish(t *Totals, tempC float64, ln *constants, w *Water) {
	w.PH = -(math.Log(s.bal.h) + ln[ofGammaH]) / ln10
	w.TempC = tempC
	w.IonicStrength = s.strength
	w.WaterActivity = math.Exp(s.lnAw)
	w.AlkalinityEqKg = t.AlkalinityEqKg()
	w.DICMolKg = t[DIC]
	w.PCO2Atm = w.Species[SpCO2] * math.Exp(ln[ofPCO2])
	for sp := range w.LnGamma {
		w.LnGamma[sp] = 0
		if s.present[sp] {
			w.LnGamma[sp] = s.lg[sp] + speciesTable[sp].charge*s.scale
		}
	}
}
