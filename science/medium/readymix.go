package medium

import (
	"math"
	"sort"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
)

// ReadyMix is a powder whose content is not told, used by grams to the litre.
type ReadyMix struct {
	GPerL  float64 // as its seller says [g/L]
	PH     float64 // first reading, fresh, at 25 °C [1]; 0 is none
	PHErr  float64 // one standard deviation of it [1]: 0.1 for a checked meter, 0.5 for a strip
	MSCm   float64 // first conductivity at 25 °C [mS/cm]; 0 is none
	MSErr  float64 // one standard deviation, as a share [1]
	WaterM float64 // conductivity of the source water [mS/cm]
}

// Guess is what a ready mix may hold, as far as its readings tell.
type Guess struct {
	SodaGL     num.Band // baking soda and soda ash in a litre, as baking soda [g/L]
	NitrogenMM num.Band // nitrogen of all forms [mM]
	Reduced    num.Band // of a gram of powder, as urea [mg/g]
	CarriesN   num.Band // growth that the nitrogen feeds [g/L]
	CarriesC   num.Band // growth that the carbon feeds, half of it used [g/L]
	CarriesP   num.Band // growth that the phosphorus feeds [g/L]
	MostDayGL  float64  // of the powder, as feed, on one day [g/L]
	MostPoolGL float64  // of the powder, as feed, until a reading shows what became of it [g/L]
	Fits       float64  // share of the guesses that the readings leave [1]: near 0, something is wrong
}

// guesses is how many mixes are drawn.
const guesses = 384

// draws are the shares of a mix by weight: what sellers may put in. Most of any
// such powder is soda; the rest by what growers' recipes hold.
//
// Source: ranges about the published recipes of this package, no source.
var draws = []struct {
	formula   string
	low, high float64 // parts by weight before they are brought to a whole [1]
}{
	{"NaHCO3", 0.35, 0.95}, {"Na2CO3", 0, 0.25}, {"NaNO3", 0, 0.15}, {"KNO3", 0, 0.15}, {"NaCl", 0, 0.3}, {"K2SO4", 0, 0.07},
	{"KH2PO4", 0, 0.03}, {"K2HPO4", 0, 0.03}, {"MgSO4.7H2O", 0, 0.02}, {"CO(NH2)2", 0, 0.012}, {"NH4H2PO4", 0, 0.012},
}

// Guess returns what the powder may hold: a few hundred mixes spread evenly over
// what is likely, each weighed by how well it would read. No reading, no
// narrowing. The feed is capped as if the mix held as much urea and ammonium as
// the worst tenth of what is left, and no less than a tenth of its weight as
// urea would: what is not told may be anything.
//
// Source: bayesian weighing; the prior as at draws.
func (r *ReadyMix) Guess(s *brine.Solver, c growth.Composition) (Guess, error) {
	var g Guess
	if !(r.GPerL > 0) || r.GPerL > 100 {
		return g, wrong("ready_mix_g_per_l", "", "ready_mix_g_per_l %.6g must be above 0 and at most 100", r.GPerL)
	}
	if r.PH != 0 && !(r.PH > 5 && r.PH < 12.5) {
		return g, wrong("ready_mix_ph", "check the reading in a buffer", "ready_mix_ph %.4g is not that of any soda mix", r.PH)
	}
	yields := make([]Yield, len(draws))
	for i, d := range draws {
		in, err := Lookup(d.formula, US)
		if err != nil {
			return g, err
		}
		if yields[i], err = in.Yield(1); err != nil {
			return g, err
		}
	}
	weights := make([]float64, 0, guesses)
	rows := make([][6]float64, 0, guesses)
	sum := 0.0
	for n := range guesses {
		share := oneMix(n)
		var sol Solution
		crystal := 0.0
		for i, y := range yields {
			for k, x := range y.Totals {
				sol.PerL[k] += r.GPerL * share[i] * x
			}
			crystal += r.GPerL * share[i] * y.CrystalG
		}
		if err := sol.settle(s, r.GPerL/1000, crystal/1000); err != nil {
			continue
		}
		w, err := r.weigh(s, &sol)
		if err != nil {
			continue
		}
		e := sol.Elements()
		rows = append(rows, [6]float64{e[Alkalinity] * 84.007, e[Nitrogen] * 1000, UreaMgL(e[Reduced]) / r.GPerL, e[Nitrogen] / c.N, e[Carbon] / c.C / 2, e[Phosphorus] / c.P})
		weights = append(weights, w)
		sum += w
	}
	if len(rows) == 0 {
		return g, wrong("ready_mix_g_per_l", "", "ready_mix_g_per_l %.4g makes no water that is understood", r.GPerL)
	}
	g.Fits = sum / float64(len(rows))
	if sum < 1e-12 { // nothing fits: say so, and give the whole prior
		g.Fits = 0
		for i := range weights {
			weights[i] = 1
		}
	}
	for i, b := range []*num.Band{&g.SodaGL, &g.NitrogenMM, &g.Reduced, &g.CarriesN, &g.CarriesC, &g.CarriesP} {
		*b = weighted(rows, weights, i)
	}
	worst := math.Max(g.Reduced.High, 100)
	g.MostDayGL, g.MostPoolGL = DayUreaMgL/worst, PoolUreaMgL/worst
	return g, nil
}

// weigh returns how likely the readings are for a solution [1].
func (r *ReadyMix) weigh(s *brine.Solver, sol *Solution) (float64, error) {
	var w brine.Water
	if err := s.Solve(&sol.Totals, 25, &w); err != nil {
		return 0, err
	}
	chi := 0.0
	if r.PH > 0 {
		// Nobody reads it in the very first minute: an hour in air lifts it by a tenth.
		d := (r.PH - w.PH - 0.1) / math.Hypot(math.Max(r.PHErr, 0.03), 0.12)
		chi += d * d
	}
	if r.MSCm > 0 {
		k := brine.ConductivityMSCm25(&w) + r.WaterM
		d := math.Log(r.MSCm/k) / math.Hypot(math.Max(r.MSErr, 0.01), 0.03)
		chi += d * d
	}
	return math.Exp(-chi / 2), nil
}

// oneMix returns the n-th mix of the prior [1]: evenly spread by Halton's
// sequence, the same every time.
//
// Source: halton1960.
func oneMix(n int) []float64 {
	primes := [...]int{2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31}
	out := make([]float64, len(draws))
	sum := 0.0
	for i, d := range draws {
		f, x := 1.0, 0.0
		for k := n + 23; k > 0; k /= primes[i] { // the first terms run along a line
			f /= float64(primes[i])
			x += f * float64(k%primes[i])
		}
		out[i] = d.low + (d.high-d.low)*x
		sum += out[i]
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// weighted returns the 10, 50 and 90 % quantiles of column i.
func weighted(rows [][6]float64, weights []float64, i int) num.Band {
	order := make([]int, len(rows))
	total := 0.0
	for j := range order {
		order[j] = j
		total += weights[j]
	}
	sort.Slice(order, func(a, b int) bool { return rows[order[a]][i] < rows[order[b]][i] })
	at := func(p float64) float64 {
		sum := 0.0
		for _, j := range order {
			if sum += weights[j]; sum >= p*total {
				return rows[j][i]
			}
		}
		return rows[order[len(order)-1]][i]
	}
	return num.Band{Low: at(0.1), Mid: at(0.5), High: at(0.9)}
}
