package design

import (
	"math"
	"time"

	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// solver is a chemistry solver with room to work in.
type solver struct {
	*brine.Solver
	water brine.Water
}

func newSolver() *solver { return &solver{Solver: brine.New(brine.Pitzer)} }

// bringTo brings a vessel to a pH at 25 °C by carbon dioxide, added or taken.
func (s *solver) bringTo(v *pond.Vessel, ph float64) error {
	t := v.Molality()
	if err := s.HoldPH(&t, 25, ph, brine.ByCO2, &s.water); err != nil {
		return err
	}
	for k := range t {
		v.Mol[k] = t[k] * v.WaterKg
	}
	v.Settle()
	return nil
}

const daysOfYear = 365

// course is one pond through one drawn year, day by day from the midsummer of
// its hemisphere, so that a winter lies whole in it.
type course struct {
	meanC, maxC [daysOfYear]float64 // water [°C]
	densityGL   [daysOfYear]float64 // at the end of the day [g/L]
	harvestG    [daysOfYear]float64 // dry matter taken [g]
	growthG     [daysOfYear]float64 // dry matter gained [g]
	waterKg     [daysOfYear]float64 // topped up [kg]
	coldestC    [daysOfYear]float64 // [°C]
	alive       [daysOfYear]bool    // there is culture at the end of the day

	feedG  [len(model.FeedSalts)]float64 // salts given [g]
	co2G   float64                       // carbon dioxide given [g]
	seedG  float64                       // dry matter put in anew [g]
	seeds  int                           // times it was put in anew
	lost   int                           // day on which it was lost in the cold, -1 if it was not
	emptyD int                           // day on which it was emptied, -1 if it was not
}

// grower carries a pond through its year.
type grower struct {
	p      *Pond
	v      pond.Vessel
	s      *solver
	fullM  float64
	warm   vessel.Setting // without the second film
	cold   vessel.Setting // with it, or the same
	second [13]bool       // by month
	vents  bool           // are worked by hand
	led    pond.Ledger
	took   brine.Totals // what growth had taken when it was last fed [mol]
	volume float64      // at its full level [L]
	c      course

	day         int
	lowC, highC float64
	sumC, sumS  float64
	last        time.Time
	see         func(time.Time, *pond.Seen)
	recent      [7]float64 // mean water of the last days, by day modulo 7 [°C]
	recentHotC  [7]float64 // warmest water likewise [°C]
}

func newGrower(p *Pond, member pond.Vessel, s *solver, second [13]bool) *grower {
	g := &grower{p: p, v: member, s: s, fullM: p.LevelM, second: second, warm: member.Setting, cold: member.Setting}
	g.v.Use(s.Solver)
	g.volume = g.v.Shape.VolumeL(p.LevelM)
	g.vents = p.Vessel.Cover.Vents == ""
	g.cold = secondFilm(g.cold)
	g.see = func(t time.Time, _ *pond.Seen) {
		dt := t.Sub(g.last).Seconds()
		g.last = t
		c := g.v.Heat.WaterC
		g.lowC, g.highC = math.Min(g.lowC, c), math.Max(g.highC, c)
		g.sumC += c * dt
		g.sumS += dt
	}
	g.c.lost, g.c.emptyD = -1, -1
	return g
}

// secondFilm puts one more film over a setting.
func secondFilm(st vessel.Setting) vessel.Setting {
	if st.Cover == vessel.None {
		st.SetCover(vessel.Film)
		return st
	}
	st.CoverTransmission *= secondLight
	st.CoverRatio *= secondLoss
	st.CoverLongwave *= secondLongwave
	st.AirChanges[0] *= secondLeaks
	return st
}

// year runs from start, a local midnight, under a weather that covers it.
func (g *grower) year(w *pond.Weather, start time.Time) *course {
	v := &g.v
	airC := 0.0
	for i := range 144 {
		airC += w.Outside[i].AirC / 144
	}
	v.Heat = v.Setting.Start(&w.Outside[0], math.Max(airC, 1))
	for i := range g.recent {
		g.recent[i], g.recentHotC[i] = airC, airC
	}
	if g.p.EmptyInCold && airC < WakeC || airC < frozenC {
		g.v.BiomassG = 0
		v.Start()
	} else {
		g.seed()
	}
	for g.day = range daysOfYear {
		from := start.AddDate(0, 0, g.day)
		at, to := from.Add(harvestHour*time.Hour), from.AddDate(0, 0, 1)
		g.settings(from.Add(12 * time.Hour).Month())
		g.lowC, g.highC, g.sumC, g.sumS, g.last = math.Inf(1), math.Inf(-1), 0, 0, from
		before, taken := v.BiomassG, 0.0
		v.Run(from, at, w, nil, &g.led, g.see, nil)
		g.c.growthG[g.day] = v.BiomassG - before
		taken = g.morning()
		before = v.BiomassG
		v.Run(at, to, w, nil, &g.led, g.see, nil)
		g.c.growthG[g.day] += v.BiomassG - before
		mean := g.sumC / g.sumS
		g.recent[g.day%7], g.recentHotC[g.day%7] = mean, g.highC
		g.c.meanC[g.day], g.c.maxC[g.day], g.c.coldestC[g.day] = mean, g.highC, g.lowC
		g.c.harvestG[g.day], g.c.densityGL[g.day], g.c.alive[g.day] = taken, v.DensityGL(), v.BiomassG > 0
	}
	return &g.c
}

// settings puts the covers and vents of the day.
func (g *grower) settings(month time.Month) {
	st := &g.v.Setting
	vents := st.Vents
	if g.p.SecondCover && g.second[month] {
		*st = g.cold
	} else {
		*st = g.warm
	}
	if st.Cover == vessel.None {
		return
	}
	if !g.vents {
		st.Vents = g.warm.Vents
		return
	}
	switch hot := g.recentHotC[(g.day+6)%7]; {
	case hot > ventOpenC:
		vents = vessel.Open
	case hot > ventHalfC:
		vents = vessel.Half
	case hot < ventHalfC-3:
		vents = vessel.Shut
	}
	st.Vents = vents
}

// weekC returns the mean of the water over the last seven days [°C].
func (g *grower) weekC() float64 {
	sum := 0.0
	for _, c := range g.recent {
		sum += c
	}
	return sum / 7
}

// morning is what a grower does at the hour of the harvest. It returns the dry
// matter taken [g].
func (g *grower) morning() (takenG float64) {
	v, c := &g.v, &g.c
	week := g.weekC()
	if v.BiomassG <= 0 {
		if week >= WakeC && g.recentHotC[(g.day+6)%7] < growth.HeatActC {
			g.seed()
			c.seeds++
			c.seedG += v.BiomassG
		}
	} else {
		yesterday := g.recent[(g.day+6)%7]
		switch {
		case g.p.EmptyInCold && week < SleepC:
			c.emptyD = g.day
			g.clear()
		case week < SleepC && (v.DensityGL() < deadGL || yesterday < frozenC):
			c.lost = g.day
			g.clear()
		}
	}
	if v.BiomassG > 0 {
		if v.DensityGL() > g.p.ReadyGL {
			takenG = v.Do(&pond.Act{KeepGL: g.p.LeaveGL, CakeG: cakeWaterGPerG}, &g.led).ClothG
		}
		g.carbon()
		if g.day%7 == 0 {
			g.feed()
		}
	}
	if v.Heat.WaterC > 0 {
		c.waterKg[g.day] = v.Do(&pond.Act{FillToM: g.fullM}, &g.led).PouredKg
	}
	return takenG
}

// seed puts culture in, as much as is left after a harvest.
func (g *grower) seed() {
	g.v.BiomassG = g.p.LeaveGL * g.volume
	g.v.Damage, g.v.NightQ = 0, 0
	g.v.Start()
}

// clear takes the culture away.
func (g *grower) clear() {
	g.v.BiomassG = 0
	g.v.Start()
}

// carbon gives carbon dioxide when the pH at 25 °C is high.
func (g *grower) carbon() {
	v := &g.v
	t := v.Molality()
	if g.s.Solve(&t, 25, &g.s.water) != nil || g.s.water.PH <= carbonHigh {
		return
	}
	before := t[brine.DIC]
	if g.s.HoldPH(&t, 25, carbonTo, brine.ByCO2, &g.s.water) != nil || t[brine.DIC] <= before {
		return
	}
	var give brine.Totals
	give[brine.DIC] = (t[brine.DIC] - before) * v.WaterKg
	v.Do(&pond.Act{Salts: give}, &g.led)
	g.c.co2G += give[brine.DIC] * 44.009 // IUPAC abridged standard atomic weights
}

// feed gives back what growth took since the last time, but for carbon, which
// goes by the pH.
func (g *grower) feed() {
	grown := g.led[pond.Grown].Mol
	var took brine.Totals
	for k := range took {
		took[k] = g.took[k] - grown[k]
	}
	g.took = grown
	took[brine.DIC] = 0
	f := model.Replace(&took)
	g.v.Do(&pond.Act{Salts: f.Totals}, &g.led)
	for i, x := range f.SaltG {
		g.c.feedG[i] += x
	}
}
