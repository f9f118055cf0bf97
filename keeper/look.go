package keeper

import (
	"maps"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// seen is the track as a look keeps it, while the track itself goes on.
func (t *track) seen() *track {
	c := *t
	c.verdicts = maps.Clone(t.verdicts)
	return &c
}

// look runs copies of one vessel to the moment and ten days on.
func (f *follower) look(p *farm.Present, t *track, at time.Time) (*look, error) {
	days, err := f.horizon(at)
	if err != nil {
		return nil, err
	}
	l := &look{spec: t.spec, t: t.seen(), ready: readyOf(&t.spec), now: Estimate{At: at, Bands: map[Quantity]num.Band{}}}
	l.forecast = Forecast{Vessel: t.spec.ID, At: at, ReadyGPerL: l.ready, Past: map[Quantity]Curve{}, Ahead: map[Quantity]Curve{}, Days: []Day{}, Limits: []Limit{}, Worth: []Worthwhile{}}
	l.forecast.Weather = f.weatherKey(days)
	if t.holdsNothing() {
		return l, nil
	}
	l.started = true
	e := t.ens.Copy()
	n := len(e.Members)
	since := at.AddDate(0, 0, -14)

	// From the last event to now; the tail of the past is its own.
	tail := past{bands: map[Quantity][]num.Band{}}
	for e.At.Before(at) {
		day, err := f.weather.day(e.At)
		if err != nil {
			return nil, err
		}
		to := day.to
		if at.Before(to) {
			to = at
		}
		var times []time.Time
		for m := day.from; !m.After(to); m = m.Add(pastEvery) {
			if m.After(e.At) {
				times = append(times, m)
			}
		}
		trace := twin.NewTrace(n, times, nil, 1e9)
		e.Advance(to, day.draws, trace)
		tail.add(trace, times)
	}
	l.measure(e)
	l.troubles = troubles(e)
	l.chance = e.Share(func(m *twin.Member) bool { return m.Pond.DensityGL() >= l.ready })
	l.forecast.ReadyNow = l.chance

	// Ten days on, on the copy; at the very first by a few members only, evenly
	// out of all.
	if few := f.few; few > 0 && few < n {
		some := make([]twin.Member, few)
		for i := range some {
			some[i] = e.Members[i*n/few]
		}
		e.Members, n = some, few
	}
	var times []time.Time
	for m := days[0].from; m.Before(at.AddDate(0, 0, horizonDays)); m = m.Add(pastEvery) {
		if m.After(at) {
			times = append(times, m)
		}
	}
	bounds := []time.Time{at}
	for _, d := range days {
		if d.to.After(at) {
			bounds = append(bounds, d.to)
		}
	}
	stands := e.Copy()
	trace := twin.NewTrace(n, times, bounds, l.ready)
	was := make([]float64, n)
	for i := range was {
		was[i] = e.Members[i].Pond.DensityGL()
	}
	end := at.AddDate(0, 0, horizonDays)
	for _, d := range days {
		to := d.to
		if end.Before(to) {
			to = end
		}
		e.Advance(to, d.draws, trace)
	}
	l.ahead(trace, times, bounds, at, was)
	l.worth(p, stands, trace, at)
	for q := range tracedQuantities {
		c := t.past.curve(q, since)
		c.Times = append(append([]time.Time{}, c.Times...), tail.times...)
		c.Bands = append(append([]num.Band{}, c.Bands...), tail.bands[q]...)
		c.Times, c.Bands = append(c.Times, at), append(c.Bands, l.now.Bands[q])
		l.forecast.Past[q] = c
	}
	l.forecast.Past[PH25C] = at25(l.forecast.Past[PH], l.forecast.Past[TempC])
	l.forecast.Ahead[PH25C] = at25(l.forecast.Ahead[PH], l.forecast.Ahead[TempC])
	if k := len(l.forecast.Past[PH25C].Bands); k > 0 {
		l.forecast.Past[PH25C].Bands[k-1] = l.now.Bands[PH25C]
	}
	l.bright = f.brightSoon(t, at, days[0])
	return l, nil
}

// measure fills in the present of a vessel from its ensemble.
func (l *look) measure(e *twin.Ensemble) {
	b := l.now.Bands
	l.now.Known = true
	b[DensityGPerL] = e.Band(func(m *twin.Member) float64 { return m.Pond.DensityGL() })
	b[TempC] = e.Band(func(m *twin.Member) float64 { return m.Pond.Heat.WaterC })
	b[LevelCM] = e.Band(func(m *twin.Member) float64 { return m.Pond.Shape.LevelM(m.Pond.VolumeL()) * 100 })
	b[VolumeL] = e.Band(func(m *twin.Member) float64 { return m.Pond.VolumeL() * l.t.n })
	b[SecchiCM] = e.Band(func(m *twin.Member) float64 { return l.t.own.depth(m) })
	b[PH25C] = e.Solved(25, func(_ *brine.Totals, w *brine.Water, _ *brine.Solver) float64 { return w.PH })
	b[ConductivityM] = e.Solved(25, func(_ *brine.Totals, w *brine.Water, _ *brine.Solver) float64 { return brine.ConductivityMSCm25(w) })
	b[PH] = e.Solved(math.NaN(), func(_ *brine.Totals, w *brine.Water, _ *brine.Solver) float64 { return w.PH })
	shows := brine.New(brine.Pitzer)
	b[PHShown] = e.Band(func(m *twin.Member) float64 { return m.Expect(twin.PH, shows) })
	l.ammonia = e.Solved(math.NaN(), func(_ *brine.Totals, w *brine.Water, _ *brine.Solver) float64 {
		return w.Species[brine.SpNH3] * 1000
	})
	cells := growth.DefaultComposition()
	l.nitrogen = e.Band(func(m *twin.Member) float64 {
		n := m.Pond.Mol[brine.NO3] + m.Pond.Mol[brine.NO2] + m.Pond.Mol[brine.Ammonia] + 2*m.Pond.Mol[brine.Urea]
		return n / cells.N / math.Max(m.Pond.VolumeL(), 1e-9)
	}).Mid
	urea := e.Band(func(m *twin.Member) float64 { return m.Pond.Mol[brine.Urea] + m.Pond.Mol[brine.Ammonia]/2 })
	l.reduced = urea.Mid * l.t.n * 60.056 * 1000 / math.Max(b[VolumeL].Low, 1e-9)
	l.areaM2 = l.t.n * e.Band(func(m *twin.Member) float64 { return m.Pond.Shape.SurfaceM2(m.Pond.Shape.LevelM(m.Pond.VolumeL())) }).Mid
	l.carry = carries(e, &cells)
	l.carbon(e, &cells)
}

// carbonTo is the pH at 25 °C up to which carbon is counted.
const carbonTo = 10.5

// carbon works out how much growth the carbon carries: what can be taken out at
// the alkalinity as it stands until the pH at 25 °C reaches carbonTo, from the
// member nearest the median.
func (l *look) carbon(e *twin.Ensemble, cells *growth.Composition) {
	m := e.Median(func(m *twin.Member) float64 { return m.Pond.Mol[brine.DIC] / math.Max(m.Pond.WaterKg, 1e-9) })
	t := m.Pond.Molality()
	s := brine.New(brine.Pitzer)
	var w brine.Water
	perL := m.Pond.WaterKg / math.Max(m.Pond.VolumeL(), 1e-9)
	at := t
	if s.HoldPH(&at, 25, carbonTo, brine.ByCO2, &w) != nil {
		return
	}
	l.carries = (t[brine.DIC] - at[brine.DIC]) * perL / cells.C
	// A gram of growth takes cells.C; soda brings carbon and alkalinity, so of
	// each mole only 1 - DIC/alkalinity at the upper pH carries growth.
	if alk := at.AlkalinityEqKg(); alk > 0 {
		if free := 1 - at[brine.DIC]/alk; free > 0.05 {
			l.perGram = cells.C / free * 84.007
		}
	}
	if s.Solve(&t, 25, &w) == nil {
		// What the air brings in a day to the area, against 0.1 g/L of growth.
		in := brine.AirExchange(&w, brine.Air{PCO2Atm: 420e-6, LiquidMS: 0.03 / 3600}).CO2MolM2S * 86400 * l.areaM2
		need := 0.1 * cells.C * l.now.Bands[VolumeL].Mid
		if in > 0 {
			l.airDays = need / in
		}
	}
}

// ahead fills in the forecast from its trace; was is the density of each member
// now [g/L].
func (l *look) ahead(trace *twin.Trace, times, bounds []time.Time, at time.Time, was []float64) {
	f := &l.forecast
	for q, k := range tracedQuantities {
		c := Curve{Times: append([]time.Time{at}, times...), Bands: append([]num.Band{l.now.Bands[q]}, trace.Bands(k)...)}
		f.Ahead[q] = c
	}
	if l.chance < 0.5 { // else it is ready now, and no date says more
		f.Ready.Early, f.Ready.Mid, f.Ready.Late = trace.Crossing()
	}
	low, high := trace.Extremes()
	if len(low) > 1 {
		// The coming 24 hours lie in what is left of today and in tomorrow.
		l.dawn, l.noon = lower(low[0], low[1]), higher(high[0], high[1])
		if at.Hour() >= 12 {
			l.noon = high[1]
		}
		if at.Hour() >= 7 {
			l.dawn = low[1]
		}
	}
	for i := range high {
		if i == 0 || high[i].High > l.hottest.High {
			l.hottest, l.hottestOn = high[i], bounds[i]
		}
	}
	density, level, ph := trace.Bands(twin.Density), trace.Bands(twin.LevelCM), trace.Bands(twin.PHHere)
	temp := trace.Bands(twin.TempC)
	for i := 0; i+1 < len(bounds) && len(f.Days) < horizonDays; i++ { // the eleventh is cut off
		noon := midday(bounds[i])
		k := nearest(times, noon)
		if k < 0 {
			continue
		}
		day := Day{
			Date: bounds[i].Format(time.DateOnly), Sky: "unknown", DensityGPerL: density[k], LevelCM: level[k],
			PH25C: shift(ph[k], temp[k].Mid), TempMinC: low[i], TempMaxC: high[i],
			Ready: density[k].Mid >= l.ready,
		}
		if i == 0 {
			day.DensityGPerL, day.PH25C, day.LevelCM = l.now.Bands[DensityGPerL], l.now.Bands[PH25C], l.now.Bands[LevelCM]
			day.Ready = l.chance > 0.5
		}
		f.Days = append(f.Days, day)
	}
	if k := nearest(times, at.AddDate(0, 0, 1)); k >= 0 {
		// Member by member: a thin pond's tomorrow less a thick one's today is no
		// growth.
		grown := slices.Clone(trace.Values(twin.Density, k))
		perDay := 24 / math.Max(times[k].Sub(at).Hours(), 1)
		for i := range grown {
			grown[i] = (grown[i] - was[i]) * perDay
		}
		l.growth = num.BandOf(grown)
		litres := l.now.Bands[VolumeL].Mid
		l.now.Bands[GrowthGPerDay] = num.Band{Low: l.growth.Low * litres, Mid: l.growth.Mid * litres, High: l.growth.High * litres}
	}
	for i, t := range times {
		if t.Sub(at) > 12*time.Hour {
			break
		}
		if temp[i].Mid >= 18 {
			l.warmAt = t
			break
		}
	}
	f.Limits = limits(trace.MeanLimits())
}

// shift brings a pH from the water's temperature to 25 °C: about 0.011 lower for
// every degree colder, a little less when warm. Reckoned from farm water of
// 8 g/L soda at pH 10.3, good to 0.01 between 8 and 35 °C; the present itself
// is solved.
func shift(b num.Band, tempC float64) num.Band {
	d := (tempC - 25) * (0.0106 - 0.00009*(tempC-25))
	return num.Band{Low: b.Low + d, Mid: b.Mid + d, High: b.High + d}
}

// at25 brings a curve of pH to 25 °C by the curve of the water's temperature.
func at25(ph, temp Curve) Curve {
	out := Curve{Times: ph.Times, Bands: make([]num.Band, len(ph.Bands))}
	for i, b := range ph.Bands {
		out.Bands[i] = shift(b, temp.Bands[i].Mid)
	}
	return out
}

func lower(a, b num.Band) num.Band {
	if b.Mid < a.Mid {
		return b
	}
	return a
}

func higher(a, b num.Band) num.Band {
	if b.Mid > a.Mid {
		return b
	}
	return a
}

func midday(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 12, 0, 0, 0, t.Location())
}

// nearest returns the index of the moment nearest t, -1 for none.
func nearest(times []time.Time, t time.Time) int {
	best := -1
	for i := range times {
		if best < 0 || absDur(times[i].Sub(t)) < absDur(times[best].Sub(t)) {
			best = i
		}
	}
	return best
}

// readyOf is the density called ready [g/L].
func readyOf(v *farm.Vessel) float64 {
	if v.Lit == "side" || v.Shape.Kind == "bottle" {
		return 0.6 // a bottle is thin to look through. Common practice, no source
	}
	return 0.5 // common practice, no source
}

// brightSoon reports whether more than 600 µmol/m²/s fall on the culture now or
// in the next three hours. The bound is judgement: cold water is harmed above.
func (f *follower) brightSoon(t *track, at time.Time, day *dayWeather) bool {
	if t.ens == nil || t.ens.Members[0].Pond.Setting.Indoors {
		return false
	}
	set := t.ens.Members[0].Pond.Setting
	draw := day.draws[0]
	for h := range 4 {
		i := int(at.Add(time.Duration(h)*time.Hour).Sub(draw.Start) / step)
		if i < 0 || i >= len(draw.Outside) {
			continue
		}
		var sum float64
		for _, w := range day.draws {
			b, d := set.Light(&w.Outside[i])
			sum += b + d
		}
		if sum/float64(len(day.draws)) > 600 {
			return true
		}
	}
	return false
}

// weatherKey says where the weather of the forecast comes from.
func (f *follower) weatherKey(days []*dayWeather) string {
	if f.weather.guessed {
		return "weather.guessed"
	}
	return "weather.normals"
}

// skyWord calls a day by its light against a clear one: bright over 0.75, hazy
// over 0.5, else grey; unknown where it is only drawn and the draws disagree.
func (f *follower) skyWord(w *dayWeather) string {
	clear := f.weather.clearSum(w)
	if clear <= 0 {
		return "unknown"
	}
	shares := make([]float64, len(w.draws))
	for i, d := range w.draws {
		for j := range d.Outside {
			shares[i] += (d.Outside[j].BeamWM2 + d.Outside[j].DiffuseWM2) / clear
		}
	}
	b := num.BandOf(shares)
	word := func(x float64) string {
		switch {
		case x > 0.75:
			return "bright"
		case x > 0.5:
			return "hazy"
		}
		return "grey"
	}
	if len(w.draws) > 1 && word(b.Low) != word(b.High) {
		return "unknown"
	}
	return word(b.Mid)
}
