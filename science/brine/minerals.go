package brine

import (
	"fmt"
	"math"
)

// Mineral is a solid that may fall out of the water.
type Mineral int

// The minerals. Calcite and aragonite are both chalk; in soda waters rich in
// magnesium the second is what often forms first.
const (
	Calcite        Mineral = iota // CaCO3
	Aragonite                     // CaCO3
	Brucite                       // Mg(OH)2
	Hydroxyapatite                // Ca5(PO4)3OH
	Struvite                      // MgNH4PO4·6H2O
	NMinerals      int     = iota
)

// solid is how a mineral dissolves: into which species, how many of each, with
// how much hydrogen taken up, and how much water given off.
type solid struct {
	name    string
	ions    [3]Species
	counts  [3]float64
	hydroxy float64 // OH⁻ per formula
	water   float64 // H₂O per formula, beside that of the hydroxide
	totals  [3]Total
	k       [2]law  // log₁₀ of the ion product, by model
	band    float64 // how far the index may be off [1]
	mass    float64 // molar mass [g/mol]
}

// plummerCalcite and plummerAragonite go with the pairs of calcium; the Pitzer
// model has no such pairs and its own constants.
//
// Source: plummer1982, table 1; harvie1984 as refitted in the Pitzer data file
// of the United States Geological Survey's geochemistry code. Brucite,
// hydroxyapatite (written there with H⁺: log K −40.459 for Ca₅(PO₄)₃OH + H⁺)
// and struvite of the same files; ammonium struvite −13.26 of ohlinger1998,
// Water Res. 32:3607.
var (
	plummerCalcite   = analytic(-171.9065, -0.077993, 2839.319, 71.595)
	plummerAragonite = analytic(-171.9773, -0.077993, 2903.293, 71.595)
	brucite          = vantHoff(-10.88, 4.85*kcal)
	apatite          = vantHoff(-40.459, -25.565*kcal) // with H⁺ on the left
	struvite         = vantHoff(-13.26, 0)

	solids = [NMinerals]solid{
		Calcite: {name: "calcite", ions: [3]Species{SpCa, SpCO3}, counts: [3]float64{1, 1}, totals: [3]Total{Ca, DIC},
			k: [2]law{analytic(-67.278, -0.050767, 0, 29.8956), plummerCalcite}, band: 0.15, mass: 100.086},
		Aragonite: {name: "aragonite", ions: [3]Species{SpCa, SpCO3}, counts: [3]float64{1, 1}, totals: [3]Total{Ca, DIC},
			k: [2]law{analytic(-171.8607, -0.077993, 2903.293, 71.595), plummerAragonite}, band: 0.15, mass: 100.086},
		Brucite: {name: "brucite", ions: [3]Species{SpMg}, counts: [3]float64{1}, hydroxy: 2, totals: [3]Total{Mg},
			k: [2]law{brucite, brucite}, band: 0.4, mass: 58.319},
		Hydroxyapatite: {name: "hydroxyapatite", ions: [3]Species{SpCa, SpPO4}, counts: [3]float64{5, 3}, hydroxy: 1, totals: [3]Total{Ca, PO4},
			k: [2]law{apatite, apatite}, band: 2, mass: 502.307},
		Struvite: {name: "struvite", ions: [3]Species{SpMg, SpNH4, SpPO4}, counts: [3]float64{1, 1, 1}, water: 6, totals: [3]Total{Mg, Ammonia, PO4},
			k: [2]law{struvite, struvite}, band: 1, mass: 245.405},
	}
)

// String returns the name of the mineral.
func (m Mineral) String() string {
	if m < 0 || int(m) >= NMinerals {
		return fmt.Sprintf("mineral %d", int(m))
	}
	return solids[m].name
}

// MineralByName returns the mineral with this name, and whether there is one.
func MineralByName(name string) (Mineral, bool) {
	for i := range solids {
		if solids[i].name == name {
			return Mineral(i), true
		}
	}
	return 0, false
}

// Band returns how far a saturation index of this mineral may be off either way
// [1]: solubility products of phosphates differ by one to two units between
// sources, those of chalk hardly.
//
// Source: judgement from the spread between published data files.
func (m Mineral) Band() float64 { return solids[m].band }

// MolarMass returns the molar mass of the mineral [g/mol].
func (m Mineral) MolarMass() float64 { return solids[m].mass }

// SaturationIndex returns log₁₀ of the ion product over the solubility product
// of a mineral in the water w [1]: above 0 it can fall out, below 0 it would
// dissolve. The temperature is that of w.
//
// Special case: −Inf where one of its constituents is absent.
//
// Source: see solids.
func (s *Solver) SaturationIndex(w *Water, m Mineral) float64 {
	p := powersAt(w.TempC)
	x := &solids[m]
	log := -x.k[s.model].log10(&p)
	for i, n := range x.counts {
		if n == 0 {
			continue
		}
		ion := x.ions[i]
		log += n * (math.Log10(w.Species[ion]) + w.LnGamma[ion]/ln10)
	}
	log += x.water * math.Log10(w.WaterActivity)
	switch {
	case m == Hydroxyapatite: // its constant is written with H⁺ instead of OH⁻
		log += math.Log10(w.WaterActivity) - math.Log10(w.Species[SpH]) - w.LnGamma[SpH]/ln10
	case x.hydroxy > 0:
		log += x.hydroxy * (math.Log10(w.Species[SpOH]) + w.LnGamma[SpOH]/ln10)
	}
	if math.IsNaN(log) {
		return math.Inf(-1)
	}
	return log
}

const (
	indexClose = 1e-6 // saturation index that counts as balance [1]
	fallRounds = 200
)

// Precipitate lets the listed minerals fall out of t, at tempC [°C] and closed
// to air, until none is over its solubility; it takes them from t, fills in w
// and returns what fell of each [mol/kg water]. Where calcite is listed
// aragonite does not form, being the more soluble.
//
// Special cases: as Solve, and a *NoSolutionError when no balance is found; t
// stays as it was on any error.
func (s *Solver) Precipitate(t *Totals, tempC float64, minerals []Mineral, w *Water) ([NMinerals]float64, error) {
	var listed [NMinerals]bool
	for _, m := range minerals {
		if m < 0 || int(m) >= NMinerals {
			return [NMinerals]float64{}, &InputError{Field: "precipitate", Value: float64(m), Reason: "there is no such mineral"}
		}
		listed[m] = true
	}
	if listed[Calcite] {
		listed[Aragonite] = false
	}
	f := falling{s: s, start: *t, tempC: tempC, w: w, listed: listed}
	if err := f.run(); err != nil {
		return [NMinerals]float64{}, err
	}
	*t = f.now
	return f.out, nil
}

// falling is the search for what falls out.
type falling struct {
	s      *Solver
	start  Totals
	now    Totals
	tempC  float64
	w      *Water
	listed [NMinerals]bool
	out    [NMinerals]float64
	si     [NMinerals]float64
}

// at solves the water with out taken from it. No total falls below nothing.
func (f *falling) at(out *[NMinerals]float64) error {
	f.now = f.start
	for m, x := range out {
		for i, n := range solids[m].counts {
			f.now[solids[m].totals[i]] -= n * x
		}
	}
	for i, x := range f.now {
		if x < 0 {
			f.now[i] = 0
		}
	}
	if err := f.s.Solve(&f.now, f.tempC, f.w); err != nil {
		return err
	}
	for m := range f.si {
		f.si[m] = math.Inf(-1)
		if f.listed[m] {
			f.si[m] = f.s.SaturationIndex(f.w, Mineral(m))
		}
	}
	return nil
}

// room returns how much more of a mineral the water could give [mol/kg].
func (f *falling) room(m int) float64 {
	room := math.Inf(1)
	for i, n := range solids[m].counts {
		if n > 0 {
			room = math.Min(room, f.now[solids[m].totals[i]]/n)
		}
	}
	return room
}

func (f *falling) run() error {
	if err := f.at(&f.out); err != nil {
		return err
	}
	for range fallRounds {
		// the one farthest over its solubility falls by itself first
		worst := -1
		active := make([]int, 0, NMinerals)
		for m := range f.out {
			if f.out[m] > 0 || f.si[m] > indexClose {
				active = append(active, m)
			}
			if f.si[m] > 0.3 && (worst < 0 || f.si[m] > f.si[worst]) {
				worst = m
			}
		}
		if f.settled(active) {
			return f.at(&f.out)
		}
		var err error
		if worst >= 0 {
			err = f.fall(worst)
		} else {
			err = f.newton(active)
		}
		if err != nil {
			return err
		}
	}
	return &NoSolutionError{What: "precipitate", Reason: "the minerals do not settle", PH: f.w.PH, Missing: f.si[0]}
}

func (f *falling) settled(active []int) bool {
	for _, m := range active {
		if math.Abs(f.si[m]) > indexClose && !(f.out[m] > 0 && f.room(m) < 1e-15) {
			return false
		}
	}
	return true
}

// fall lets one mineral fall to its solubility, the others staying.
func (f *falling) fall(m int) error {
	out := f.out
	most := out[m] + f.room(m)
	err := seek(math.Log(1e-13), 0, func(u float64) (float64, error) { // u is ln of the share left
		f.out = out
		f.out[m] = -most * math.Expm1(u)
		if err := f.at(&f.out); err != nil {
			return 0, err
		}
		return f.si[m], nil
	})
	if nb, ok := err.(*notBracketed); ok {
		// all of it can fall, or none
		f.out = out
		if nb.atLow > 0 {
			f.out[m] = most * (1 - 1e-13)
		} else {
			f.out[m] = 0
		}
		return f.at(&f.out)
	}
	return err
}

// newton moves all active minerals together.
func (f *falling) newton(active []int) error {
	n := len(active)
	var j [NMinerals][NMinerals + 1]float64
	base, room := f.out, [NMinerals]float64{}
	si, before := f.si, f.now
	for _, m := range active {
		room[m] = f.room(m)
	}
	for c, m := range active {
		step := 1e-3 * math.Max(room[m], 1e-14)
		f.out = base
		f.out[m] += step
		if err := f.at(&f.out); err != nil {
			return err
		}
		for r, k := range active {
			j[r][c] = (f.si[k] - si[k]) / step
		}
	}
	for r, k := range active {
		j[r][n] = -si[k]
	}
	if !eliminate(&j, n) {
		f.out = base
		return &NoSolutionError{What: "precipitate", Reason: "two minerals cannot be told apart", PH: f.w.PH, Missing: si[active[0]]}
	}
	// what is not there cannot dissolve: the others settle without it
	for r, m := range active {
		if base[m] == 0 && j[r][n] < 0 && n > 1 {
			f.out = base
			rest := append(append([]int{}, active[:r]...), active[r+1:]...)
			if err := f.at(&f.out); err != nil {
				return err
			}
			return f.newton(rest)
		}
	}
	// no total may lose more than nine tenths, no solid more than there is
	var loss Totals
	cut, gone := 1.0, -1
	for r, m := range active {
		d := j[r][n]
		for i, k := range solids[m].counts {
			loss[solids[m].totals[i]] += k * d
		}
		if base[m]+cut*d < 0 {
			cut, gone = base[m]/-d, m
		}
	}
	for i, x := range loss {
		if most := 0.9 * before[i]; cut*x > most {
			cut, gone = most/x, -1
		}
	}
	f.out = base
	for r, m := range active {
		f.out[m] = math.Max(0, f.out[m]+cut*j[r][n])
	}
	if gone >= 0 {
		f.out[gone] = 0
	}
	return f.at(&f.out)
}

// eliminate solves n linear equations with the right side in column n, and says
// whether it could.
func eliminate(a *[NMinerals][NMinerals + 1]float64, n int) bool {
	for c := range n {
		p := c
		for r := c + 1; r < n; r++ {
			if math.Abs(a[r][c]) > math.Abs(a[p][c]) {
				p = r
			}
		}
		a[c], a[p] = a[p], a[c]
		if a[c][c] == 0 || math.IsNaN(a[c][c]) {
			return false
		}
		for r := range n {
			if r == c {
				continue
			}
			x := a[r][c] / a[c][c]
			for k := c; k <= n; k++ {
				a[r][k] -= x * a[c][k]
			}
		}
	}
	for r := range n {
		a[r][n] /= a[r][r]
	}
	return true
}
