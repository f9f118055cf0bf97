package medium

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
)

const daySeconds = 86400.0

// breath is one guess of how fast water and air exchange carbon dioxide.
type breath struct {
	velocity float64 // of a gas that does not react [m/s]
	share    float64 // of the flux that the law with reaction gives [1]
}

// breaths are a slow, a middle and a fast guess.
//
// Source: judgement, no source: 1.5 to 6 cm/h for a stirred pond, a third of
// that for water that is left alone, wind adding to the middle and the fast;
// and 25 % either way for the law of hoover1969 and its rate of pinsent1956.
func breaths(at Setting) [3]breath {
	const cmPerH = 0.01 / 3600
	k := [3]float64{1.5 * cmPerH, 3 * cmPerH, 6 * cmPerH}
	if !at.Stirred {
		k = [3]float64{0.5 * cmPerH, 1 * cmPerH, 2 * cmPerH}
	}
	// Open water under wind: k600 = 2.07 + 0.215 u10^1.7 cm/h of colecaraco1998,
	// its first term left out as that of still lakes; u10 is 1.2 times u2 over
	// short grass (a logarithmic profile).
	gust := 0.215 * math.Pow(1.2*at.WindMS, 1.7) * cmPerH
	k[1] += 0.5 * gust
	k[2] += gust
	return [3]breath{{k[0], 0.75}, {k[1], 1}, {k[2], 1.25}}
}

// stand returns the pH at 25 °C of a medium that stands in air without growth,
// day by day with its spread, and the pH that it ends at. The spread is that
// of the transfer velocity alone.
func stand(s *brine.Solver, sol *Solution, at Setting) ([]Standing, float64, error) {
	var w brine.Water
	end := sol.Totals
	if sol.Totals.AlkalinityEqKg() <= 0 {
		return nil, nan, nil // nothing to buffer with: the pH is anyone's guess
	}
	if err := s.OpenTo(&end, at.TempC, at.PCO2Atm, &w); err != nil {
		return nil, nan, err
	}
	open, err := s.PHAt25(&end, &w)
	if err != nil {
		return nil, nan, err
	}
	days := marks(at.Days)
	out := make([]Standing, len(days))
	var runs [3][]float64
	for i, b := range breaths(at) {
		if runs[i], err = drift(s, sol, at, b, days); err != nil {
			return nil, nan, err
		}
	}
	for d := range days {
		lo, mid, hi := runs[0][d], runs[1][d], runs[2][d]
		if lo > hi {
			lo, hi = hi, lo
		}
		out[d] = Standing{Days: days[d], PH: num.Band{Low: lo, Mid: mid, High: hi}}
	}
	return out, open, nil
}

// marks are the days at which the curve is told [d]: close together at first.
func marks(last float64) []float64 {
	out := []float64{0}
	for _, d := range []float64{0.25, 0.5, 1, 2, 3, 5, 7, 10, 14, 21, 28, 42, 60, 90, 120, 180, 240, 300, 365} {
		if d > last {
			break
		}
		out = append(out, d)
	}
	return out
}

// exchange returns how fast air changes the carbon of a water [mol/kg/s].
func exchange(s *brine.Solver, t *brine.Totals, w *brine.Water, at *Setting, b breath, kgPerL float64) (float64, error) {
	if err := s.SolveWarm(t, at.TempC, w); err != nil {
		return 0, err
	}
	x := brine.AirExchange(w, brine.Air{PCO2Atm: at.PCO2Atm, WindMS: at.WindMS, LiquidMS: b.velocity})
	return b.share * x.CO2MolM2S / (1000 * at.DepthM * kgPerL), nil
}

// drift runs the exchange with air for one guess of it and returns the pH at
// 25 °C on each of days. The carbon moves by the midpoint rule, in steps that
// change it by at most 1 %.
func drift(s *brine.Solver, sol *Solution, at Setting, b breath, days []float64) ([]float64, error) {
	var w, w25 brine.Water
	t := sol.Totals
	out := make([]float64, len(days))
	now := 0.0
	for d, day := range days {
		for now < day*daySeconds-1 {
			r, err := exchange(s, &t, &w, &at, b, sol.KgWaterPerL)
			if err != nil {
				return nil, err
			}
			dt := math.Min(day*daySeconds-now, 0.25*daySeconds)
			if r != 0 {
				dt = math.Min(dt, 0.01*t[brine.DIC]/math.Abs(r))
			}
			half := t
			half[brine.DIC] += r * dt / 2
			if r, err = exchange(s, &half, &w, &at, b, sol.KgWaterPerL); err != nil {
				return nil, err
			}
			t[brine.DIC] += r * dt
			now += dt
		}
		if err := s.Solve(&t, 25, &w25); err != nil {
			return nil, err
		}
		out[d] = w25.PH
	}
	return out, nil
}

// lasts returns for how many days [d] a medium that grows yield [g/m²/d] of
// cells and breathes stays under untilPH at 25 °C [1].
//
// Special case: +Inf where the air brings as much as grows, or nothing grows.
func lasts(s *brine.Solver, sol *Solution, at Setting, b breath, yield, untilPH float64, c growth.Composition) (float64, error) {
	const longest, step = 365.0, 0.25 // [d]
	var w, w25 brine.Water
	t := sol.Totals
	perKg := yield / (1000 * at.DepthM * sol.KgWaterPerL) // growth [g/kg/d]
	was := 0.0
	for day := 0.0; day < longest; day += step {
		if err := s.SolveWarm(&t, 25, &w25); err != nil {
			return 0, err
		}
		if w25.PH >= untilPH {
			if day == 0 {
				return 0, nil
			}
			return day - step*(w25.PH-untilPH)/math.Max(w25.PH-was, 1e-9), nil
		}
		was = w25.PH
		for range 4 {
			r, err := exchange(s, &t, &w, &at, b, sol.KgWaterPerL)
			if err != nil {
				return 0, err
			}
			t[brine.DIC] += math.Max(r*step/4*daySeconds, -0.2*t[brine.DIC])
			grown := Grown(t, perKg*step/4, c, at.Nitrate)
			if grown[brine.DIC] <= 0.01*sol.Totals[brine.DIC] {
				return day, nil
			}
			t = grown
		}
	}
	return math.Inf(1), nil
}

// StandUntil returns after how many days [d] of standing in air a water of
// totals t [mol/kg water] in a setting reaches toPH at 25 °C [1], with its
// spread, where kgWaterPerL is the water in a litre of it [kg/L].
//
// Special case: +Inf where it never does, because the air's balance lies
// before it.
func StandUntil(s *brine.Solver, t *brine.Totals, kgWaterPerL, toPH float64, at Setting) (num.Band, error) {
	sol := Solution{Totals: *t, KgWaterPerL: kgWaterPerL}
	at.Days = 365
	curve, _, err := stand(s, &sol, at)
	if err != nil {
		return num.Band{}, err
	}
	never := math.Inf(1)
	band := num.Band{Low: never, Mid: never, High: never}
	if len(curve) == 0 {
		return band, nil
	}
	up := toPH > curve[0].PH.Mid
	cross := func(of func(b num.Band) float64) float64 {
		for i := range curve {
			x := of(curve[i].PH)
			if up && x < toPH || !up && x > toPH {
				continue
			}
			if i == 0 {
				return 0
			}
			a := of(curve[i-1].PH)
			if math.Abs(x-a) < 1e-12 {
				return curve[i].Days
			}
			return curve[i-1].Days + (curve[i].Days-curve[i-1].Days)*(toPH-a)/(x-a)
		}
		return never
	}
	band.Mid = cross(func(b num.Band) float64 { return b.Mid })
	x, y := cross(func(b num.Band) float64 { return b.Low }), cross(func(b num.Band) float64 { return b.High })
	band.Low, band.High = math.Min(x, y), math.Max(x, y)
	return band, nil
}
