package medium

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
)

// Limits on nitrogen that is or becomes ammonia.
const (
	// PoolUreaMgL is the most that may stand in the water, as urea [mg/L].
	// Source: common practice among growers, no paper; mendez2012 finds half of
	// the growth gone at 80 mg/L and grazers dead at 60.
	PoolUreaMgL = 60.0
	// DayUreaMgL is the most that may be given in a day, as urea [mg/L].
	// Source: sanchezluna2007, best feed 0.551 mM a day.
	DayUreaMgL = 33.0
	// FreeAmmoniaStopMM is the free ammonia at which nothing alkaline is added
	// and feeding stops [mM]: half of the onset of harm, judgement after
	// converti2006 and mendez2012.
	FreeAmmoniaStopMM = 0.5
	// PondPH is the pH at which a working pond is judged [1], common practice.
	PondPH = 10.0
	// UpperPH is the pH up to which carbon is counted [1], common practice.
	UpperPH = 10.5
)

// Setting is where a medium stands.
type Setting struct {
	TempC     float64 // water [°C]
	DepthM    float64 // mean depth [m]
	PCO2Atm   float64 // carbon dioxide in the air [atm]
	WindMS    float64 // at 2 m [m/s]
	Stirred   bool    // moved by day, or left alone
	Days      float64 // how far the curve goes [d]
	YieldGM2D float64 // growth that is expected, dry [g/m²/d]
	Nitrate   bool    // growth lives on nitrate; else on urea
}

// Plain returns a stirred pond 15 cm deep at 25 °C in clean air.
func Plain() Setting {
	return Setting{TempC: 25, DepthM: 0.15, PCO2Atm: 420e-6, WindMS: 1, Stirred: true, Days: 21, YieldGM2D: 5, Nitrate: true}
}

// Fallen is what a mineral takes out of the water.
type Fallen struct {
	Mineral brine.Mineral
	NowSI   float64 // saturation index as mixed [1]
	NowMgL  float64 // falls out as mixed, if it comes to rest [mg/L]
	PondMgL float64 // falls out by pond pH, if it comes to rest [mg/L]
	Sure    bool    // over its solubility by more than sources differ
}

// Standing is the water after some time in air.
type Standing struct {
	Days float64  // [d]
	PH   num.Band // at 25 °C [1]
}

// Carries is the density that one element lasts for.
type Carries struct {
	Element Element
	GPerL   float64 // dry matter [g/L]
}

// Prediction is what a medium will be.
type Prediction struct {
	Solution    Solution
	Mixed       brine.Water // closed, at the temperature of the setting
	PH25        float64     // as mixed, at 25 °C [1]
	MSCm25      float64     // conductivity at 25 °C [mS/cm]
	Standing    []Standing  // in air, without growth
	OpenPH25    float64     // in balance with the air, at 25 °C [1]
	FallsOut    []Fallen
	ReducedMgL  float64   // ammonium and urea, as urea [mg/L]
	FreeNH3Now  float64   // free ammonia as mixed [mM]
	FreeNH3Pond float64   // at pond pH, when all urea has split [mM]
	Carries     []Carries // element by element, the shortest first
	CarbonFresh float64   // growth until UpperPH from the water as mixed [g/L]
	CarbonOpen  float64   // growth until UpperPH from balance with the air [g/L]
	CarbonDays  num.Band  // days of growth that the fresh carbon lasts [d]
	SodiumGL    float64   // [g/L]
	SaltGL      float64   // all that was weighed in and what the water brought [g/L]
}

// Predict returns what the mix m will be in a setting, for cells of
// composition c, with a solver of the caller's.
//
// The error is an *InputError, or one of brine where no balance is found: no
// number is given then.
func Predict(s *brine.Solver, m *Mix, at Setting, c growth.Composition) (Prediction, error) {
	var p Prediction
	var err error
	if err = at.check(); err != nil {
		return p, err
	}
	if p.Solution, err = m.Dissolve(s); err != nil {
		return p, err
	}
	t := p.Solution.Totals
	if err = s.Solve(&t, at.TempC, &p.Mixed); err != nil {
		return p, err
	}
	if p.PH25, err = s.PHAt25(&t, &p.Mixed); err != nil {
		return p, err
	}
	p.MSCm25 = brine.ConductivityMSCm25(&p.Mixed)
	e := p.Solution.Elements()
	p.ReducedMgL = UreaMgL(e[Reduced])
	p.SodiumGL = e[Sodium] * Sodium.MolarMass()
	p.SaltGL = (p.Solution.DensityKgL - p.Solution.KgWaterPerL) * 1000
	p.FreeNH3Now = 1000 * p.Mixed.Molality(brine.SpNH3) * p.Solution.KgWaterPerL
	if p.FreeNH3Pond, err = freeAtPond(s, &p.Solution, at.TempC); err != nil {
		return p, err
	}
	if p.FallsOut, err = fallsOut(s, &p.Solution, at.TempC); err != nil {
		return p, err
	}
	p.Carries = Ceilings(e, c)
	if p.Standing, p.OpenPH25, err = stand(s, &p.Solution, at); err != nil {
		return p, err
	}
	return p, p.carbon(s, at, c)
}

// carbon fills in how long the carbon lasts.
func (p *Prediction) carbon(s *brine.Solver, at Setting, c growth.Composition) error {
	p.CarbonDays = num.Band{Low: nan, Mid: nan, High: nan}
	e := p.Solution.Elements()
	if e[Carbon] <= 0 {
		return nil
	}
	var err error
	kg := p.Solution.KgWaterPerL
	if p.CarbonFresh, err = GrowthUntil(s, &p.Solution.Totals, 25, UpperPH, c, at.Nitrate); err != nil {
		return err
	}
	p.CarbonFresh *= kg
	open := p.Solution.Totals
	var w brine.Water
	if err = s.OpenTo(&open, 25, at.PCO2Atm, &w); err == nil && w.PH < UpperPH {
		if p.CarbonOpen, err = GrowthUntil(s, &open, 25, UpperPH, c, at.Nitrate); err != nil {
			return err
		}
		p.CarbonOpen *= kg
	}
	if at.YieldGM2D <= 0 {
		return nil
	}
	p.CarbonDays, err = CarbonDays(s, &p.Solution, at, UpperPH, c)
	return err
}

// CarbonDays returns for how many days [d] a solution that grows and breathes in
// a setting stays under a pH at 25 °C, untilPH [1]; c is the composition of the
// cells. A season's best and worst weeks lie a factor of about 1.6 either way of
// its mean (judgement, no source); the air's help is the middle guess.
//
// Special case: +Inf where the air brings as much as grows.
func CarbonDays(s *brine.Solver, sol *Solution, at Setting, untilPH float64, c growth.Composition) (num.Band, error) {
	var b num.Band
	if err := at.check(); err != nil {
		return b, err
	}
	for _, x := range []struct {
		days   *float64
		factor float64
	}{{&b.Low, 1.6}, {&b.Mid, 1}, {&b.High, 1 / 1.6}} {
		var err error
		if *x.days, err = lasts(s, sol, at, breaths(at)[1], x.factor*at.YieldGM2D, untilPH, c); err != nil {
			return b, err
		}
	}
	return b, nil
}

func (at *Setting) check() error {
	for _, f := range []struct {
		name          string
		x, least, top float64
	}{
		{"temp_c", at.TempC, 0, 50}, {"depth_m", at.DepthM, 0.005, 5}, {"pco2_ppm", at.PCO2Atm * 1e6, 1, 1e5},
		{"wind_2m_m_s", at.WindMS, 0, 40}, {"days", at.Days, 0, 365}, {"yield_g_per_m2_d", at.YieldGM2D, 0, 60},
	} {
		if !(f.x >= f.least) || f.x > f.top {
			return wrong(f.name, "", "%s %.6g must be between %.6g and %.6g", f.name, f.x, f.least, f.top)
		}
	}
	return nil
}

// Ceilings returns the density [g/L] that each element in a litre could feed if
// all of it went into cells, the shortest first; a [mol/L] is what the litre
// holds and c the composition of the cells. Elements that are absent stand at
// 0; calcium is left out, since cells do with what any water brings.
func Ceilings(a Amounts, c growth.Composition) []Carries {
	out := []Carries{
		{Carbon, a[Carbon] / c.C}, {Nitrogen, a[Nitrogen] / c.N}, {Phosphorus, a[Phosphorus] / c.P}, {Potassium, a[Potassium] / c.K},
		{Magnesium, a[Magnesium] / c.Mg}, {Sulfur, a[Sulfur] / c.S}, {Iron, a[Iron] / c.Fe},
	}
	for i := range out { // few: by insertion, elements of one height in their order
		for j := i; j > 0 && out[j].GPerL < out[j-1].GPerL; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// Grown takes grams [g/kg water] of cells of composition c out of totals t:
// their carbon, nitrogen and ions. Nitrogen is taken from nitrate if nitrate is
// set, else as urea, which brings half a carbon along for each nitrogen. What
// is not there is not taken.
func Grown(t brine.Totals, grams float64, c growth.Composition, nitrate bool) brine.Totals {
	t[brine.DIC] -= grams * c.C
	if nitrate {
		t[brine.NO3] = max(0, t[brine.NO3]-grams*c.N)
	} else {
		t[brine.DIC] += grams * c.N / 2 // the feed's urea: neither pool moves
	}
	for _, x := range []struct {
		total brine.Total
		per   float64
	}{{brine.PO4, c.P}, {brine.SO4, c.S}, {brine.K, c.K}, {brine.Mg, c.Mg}, {brine.Ca, c.Ca}, {brine.Iron, c.Fe}} {
		t[x.total] = max(0, t[x.total]-grams*x.per)
	}
	return t
}

// GrowthUntil returns the dry matter [g/kg water] that grows in a water of
// totals t [mol/kg water], closed to air, until its pH at tempC [°C] has
// climbed to endPH [1]; c is the composition of the cells, and nitrate says
// whether they live on nitrate, which lifts the alkalinity, or on urea.
//
// Special cases: 0 where the pH is there already, all that the carbon makes where
// it runs out before.
func GrowthUntil(s *brine.Solver, t *brine.Totals, tempC, endPH float64, c growth.Composition, nitrate bool) (float64, error) {
	var w brine.Water
	var failed error
	over := func(grams float64) float64 {
		x := Grown(*t, grams, c, nitrate)
		if x[brine.DIC] <= 0 {
			return 14 - endPH
		}
		if err := s.Solve(&x, tempC, &w); err != nil {
			failed = err
			return nan
		}
		return w.PH - endPH
	}
	if over(0) >= 0 || failed != nil {
		return 0, failed
	}
	most := t[brine.DIC] / c.C
	if !nitrate {
		most = t[brine.DIC] / (c.C - c.N/2)
	}
	if most *= 1 - 1e-6; over(most) < 0 {
		return most, failed // soft water: the carbon ends before the pH gets there
	}
	grams, err := num.Root(over, 0, most, 1e-6*most)
	if failed != nil {
		return 0, failed
	}
	return grams, err
}

// CarbonUntil returns the carbon [mol/kg water] that can leave a water of
// totals t [mol/kg water] at constant alkalinity until its pH at tempC [°C] is
// endPH [1].
//
// Special case: 0 where the pH is there already.
func CarbonUntil(s *brine.Solver, t *brine.Totals, tempC, endPH float64) (float64, error) {
	var w brine.Water
	if err := s.Solve(t, tempC, &w); err != nil {
		return 0, err
	}
	if w.PH >= endPH {
		return 0, nil
	}
	end := *t
	if err := s.HoldPH(&end, tempC, endPH, brine.ByCO2, &w); err != nil {
		return 0, err
	}
	return math.Max(0, t[brine.DIC]-end[brine.DIC]), nil
}

// freeAtPond returns the free ammonia [mM] when all urea has split and growth
// has lifted the pH to that of a pond.
func freeAtPond(s *brine.Solver, sol *Solution, tempC float64) (float64, error) {
	t := sol.Totals
	t[brine.Ammonia] += 2 * t[brine.Urea]
	t[brine.DIC] += t[brine.Urea]
	t[brine.Urea] = 0
	if t[brine.Ammonia] <= 0 {
		return 0, nil
	}
	var w brine.Water
	if err := s.Solve(&t, tempC, &w); err != nil {
		return 0, err
	}
	if w.PH < PondPH {
		at := t
		if err := s.HoldPH(&at, tempC, PondPH, brine.ByCO2, &w); err != nil {
			// Water with too little alkalinity never gets there: judge it as it is.
			if err := s.Solve(&t, tempC, &w); err != nil {
				return 0, err
			}
		}
	}
	return 1000 * w.Molality(brine.SpNH3) * sol.KgWaterPerL, nil
}

var mayFall = []brine.Mineral{brine.Calcite, brine.Brucite, brine.Hydroxyapatite, brine.Struvite}

// fallsOut returns what would fall out as mixed and by pond pH, each mineral by
// itself first: who takes the calcium, chalk or phosphate, is a matter of speed.
func fallsOut(s *brine.Solver, sol *Solution, tempC float64) ([]Fallen, error) {
	var out []Fallen
	var w brine.Water
	pond := sol.Totals
	if err := s.HoldPH(&pond, tempC, PondPH, brine.ByCO2, &w); err != nil {
		pond = sol.Totals
	}
	for _, m := range mayFall {
		f := Fallen{Mineral: m}
		now := sol.Totals
		if err := s.Solve(&now, tempC, &w); err != nil {
			return nil, err
		}
		f.NowSI = s.SaturationIndex(&w, m)
		if math.IsInf(f.NowSI, -1) || math.IsNaN(f.NowSI) {
			continue
		}
		perMol := m.MolarMass() * 1000 * sol.KgWaterPerL
		if f.NowSI > 0 {
			gone, err := s.Precipitate(&now, tempC, []brine.Mineral{m}, &w)
			if err != nil {
				return nil, err
			}
			f.NowMgL = gone[m] * perMol
		}
		later := pond
		gone, err := s.Precipitate(&later, tempC, []brine.Mineral{m}, &w)
		if err != nil {
			return nil, err
		}
		f.PondMgL = gone[m] * perMol
		f.Sure = f.NowSI > m.Band()
		if f.NowMgL > 0.05 || f.PondMgL > 0.05 {
			out = append(out, f)
		}
	}
	return out, nil
}
