package twin

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/num"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// season is one pond of an experiment.
type season struct {
	x     *experiment
	rng   *rand.Rand
	seed  uint64
	place *place
	truth truth
	twin  *Ensemble
	open  *Ensemble

	targetM   float64 // level that is kept
	litres    float64 // described volume at that level
	harvestCM float64 // disc under which is harvested
	share     float64 // of the volume
	fills     bool    // tops up to the level, else by litres
	hasOD     bool
	hasScales bool
	hasSalt   bool
	secchi    float64 // last reading [cm]
	secchiSD  float64
	level     float64 // last reading [cm]
	ph        float64 // last reading
	next      map[Kind]time.Time
	drawn     []*pond.Weather
	watch     func(what string, v Verdict) // nil: nobody watches

	out outcome
}

func newSeason(tb testing.TB, x *experiment, i int) *season {
	seed := x.seed + uint64(i)
	rng := rand.New(rand.NewPCG(seed, 0xfeed))
	s := &season{x: x, rng: rng, seed: seed, place: &places()[i%len(places())], next: map[Kind]time.Time{}}
	s.out = outcome{leads: make([]score, len(leads)), troubles: map[string]int{}}
	p := s.place
	w := p.draw(p.start, x.days+13, rng)

	cover := vessel.None
	if p.tunnel {
		cover = vessel.Tunnel
	}
	base := box(tb, 3*math.Exp(2*rng.Float64()), cover)
	if !p.tunnel {
		base.Setting.Shade = []float64{0, 0.3, 0.5}[rng.IntN(3)]
	}
	if rng.IntN(3) == 0 {
		base.Stir = pond.Stir{Mixed: 0.8, PistonMH: 0.05} // by hand, three times a day
	}
	s.targetM = 0.12 + 0.16*rng.Float64()
	s.litres = base.Shape.VolumeL(s.targetM)
	s.harvestCM, s.share = 1.9+0.9*rng.Float64(), 0.2+0.25*rng.Float64()
	s.fills = rng.IntN(2) == 0
	s.hasOD, s.hasScales, s.hasSalt = rng.IntN(4) == 0, rng.IntN(4) == 0, rng.IntN(3) == 0
	base.Heat = base.Setting.Start(&w.Outside[54], p.airC+2)
	base.Start()
	at := p.start.Add(9 * time.Hour)

	s.truth = truth{at: at, w: w, noise: x.noise, solver: brine.New(brine.Pitzer)}
	s.truth.m = newMember(&base, &Config{Seed: seed ^ 0x7472757468, Members: 1}, 0)
	if x.law != nil {
		s.truth.law = x.law(rng, i)
	}
	if x.scale != nil {
		s.truth.m.LnScale = *x.scale(rng, i)
	}
	s.twin = New(&base, at, Config{Members: x.members, Draws: weatherDraws, Seed: seed ^ 0x7477696e})
	s.open = New(&base, at, Config{Members: x.members / 2, Draws: weatherDraws, Seed: seed ^ 0x7477696e})

	if x.normals {
		s.drawn = p.draws(p.start, x.days+1, weatherDraws, seed^0x77)
	}
	if i == x.show {
		s.out.example = &example{start: p.start}
	}

	// The culture comes in: half of the growers tell a density.
	told, sd := 0.25+0.3*rng.Float64(), GivenSD
	really := told * math.Exp(GivenSD*rng.NormFloat64())
	if rng.IntN(2) == 0 {
		told, sd = UnknownGL, UnknownSD
		really = min(UnknownGL*math.Exp(UnknownSD*rng.NormFloat64()), 1.2)
	}
	parcel := func(gl float64) pond.Parcel {
		pc := poured(s.litres, base.Heat.WaterC)
		pc.BiomassG = gl * s.litres
		return pc
	}
	s.truth.m.Pond.Use(s.truth.solver)
	tp := parcel(really)
	s.truth.m.Blur(&tp, 0)
	s.truth.m.Do(&pond.Act{Pour: tp})
	for _, e := range []*Ensemble{s.twin, s.open} {
		e.Do(func(_ int, m *Member) {
			pc := parcel(told)
			m.Blur(&pc, sd)
			m.Do(&pond.Act{Pour: pc})
		})
	}
	return s
}

// past is what the twin knows of the weather up to now: what was measured, or,
// where nothing is, what the generator draws.
func (s *season) past() []*pond.Weather {
	if s.drawn != nil {
		return s.drawn
	}
	return []*pond.Weather{s.truth.w}
}

// advance carries all three to a moment, cut at midnights.
func (s *season) advance(to time.Time) {
	for s.truth.at.Before(to) {
		next := midnightAfter(s.truth.at)
		if to.Before(next) {
			next = to
		}
		s.truth.advance(next)
		s.twin.Advance(next, s.past(), nil)
		s.open.Advance(next, s.past(), nil)
	}
}

// due reports whether a kind of reading is to be taken, and sets when it will
// be next, between lo and hi days on.
func (s *season) due(k Kind, at time.Time, lo, hi int) bool {
	if at.Before(s.next[k]) {
		return false
	}
	s.next[k] = at.Truncate(24 * time.Hour).Add(time.Duration(lo+s.rng.IntN(hi-lo+1)) * 24 * time.Hour)
	return true
}

// tell gives the twin a reading.
func (s *season) tell(r Reading) Verdict {
	v := s.twin.Tell(r)
	s.out.honest++
	s.out.readings[r.Kind]++
	if s.watch != nil {
		s.watch(r.Kind.String(), v)
	}
	if !v.Believed {
		s.out.doubted++
	}
	return v
}

// do lets an act happen to all: told is what is written down of it, with the
// uncertainty that the twin takes it with.
func (s *season) do(really pond.Act, told func(m *Member) pond.Act) pond.Done {
	s.truth.m.Pond.Use(s.truth.solver)
	d := s.truth.m.Do(&really)
	for _, e := range []*Ensemble{s.twin, s.open} {
		e.Do(func(_ int, m *Member) { a := told(m); m.Do(&a) })
	}
	return d
}

func (s *season) run() {
	end := s.place.start.AddDate(0, 0, s.x.days)
	for day := s.place.start; day.Before(end); day = day.AddDate(0, 0, 1) {
		at := day.Add(9 * time.Hour)
		if d := int(day.Sub(s.place.start).Hours() / 24); d > 0 {
			s.advance(at)
			s.keep(at)
			s.read(at)
			s.keep(at)
			s.work(at)
			s.keep(at)
			if d%s.x.every == s.x.every-1 && !s.x.slips {
				s.forecast(day)
			}
		} else {
			s.read(at)
		}
	}
	for k := range NumKinds {
		if rms, n := s.twin.Fit(k); n > 2 {
			s.out.fits[k] += rms * rms
			s.out.fitted[k]++
		}
	}
	for _, t := range s.twin.Troubles() {
		what := t.What
		if t.Var >= 0 {
			what += " " + t.Var.String()
		} else {
			what += " " + t.Kind.String()
		}
		s.out.troubles[what]++
	}
}

// read takes the readings of a morning, with the errors of a hand, an eye and
// cheap instruments.
func (s *season) read(at time.Time) {
	rng := s.rng
	if s.due(Temp, at, 1, 2) {
		c := s.truth.expect(Temp) + 0.6*rng.NormFloat64()
		s.tell(ReadTemp(math.Round(c*2) / 2))
	}
	if s.due(Level, at, 2, 4) {
		s.level = math.Round(2*(s.truth.expect(Level)+0.25*rng.NormFloat64())) / 2
		s.slip("level, decimal slipped up", ReadLevel(s.level*10))
		s.slip("level, decimal slipped down", ReadLevel(s.level/10))
		s.tell(ReadLevel(s.level))
	}
	if s.due(Secchi, at, 2, 4) {
		cm := math.Exp(s.truth.expect(Secchi)) + 0.25*rng.NormFloat64()
		cm = max(math.Round(cm*10)/10, 0.3)
		if floor := s.truth.expect(Level) - 0.5; cm > floor {
			s.tell(Reading{Kind: Secchi, Value: math.Log(floor), Abs: 0.25, Op: '>', Slip: 4.4})
		} else {
			s.slip("disc, decimal slipped up", ReadSecchi(cm*10))
			s.slip("disc, decimal slipped down", ReadSecchi(cm/10))
			far := 0.92 + 0.5*rng.Float64() // 2.5 to 4.1 times
			s.slip("disc, of a vessel 2.5–4 times as dark", ReadSecchi(max(cm*math.Exp(-far), 0.2)))
			s.slip("disc, of a vessel 2.5–4 times as clear", ReadSecchi(cm*math.Exp(far)))
			s.slip("disc, of a vessel 1.5–2.5 times as clear", ReadSecchi(cm*math.Exp(0.4+0.52*rng.Float64())))
			s.tell(ReadSecchi(cm))
			s.secchi = cm
			if e := s.out.example; e != nil {
				e.readDay, e.readGL = append(e.readDay, at.Sub(e.start).Hours()/24), append(e.readGL, 1.2/cm)
			}
		}
	}
	if s.due(PH, at, 6, 8) {
		s.ph = math.Round(100*(s.truth.expect(PH)+0.04*rng.NormFloat64())) / 100
		s.slip("pH, dead meter at 7.0, three times", ReadPH(7, false), ReadPH(7.02, false), ReadPH(7, false))
		s.slip("pH, meter stuck at 9.0", ReadPH(9, false))
		s.tell(ReadPH(s.ph, false))
	}
	if s.hasOD && s.due(OD, at, 5, 8) {
		od := math.Exp(s.truth.expect(OD)+0.03*rng.NormFloat64()) + 0.02*rng.NormFloat64()
		s.tell(ReadOD(max(od, 0.02)))
	}
	if s.hasScales && s.due(DryWeight, at, 12, 18) {
		s.tell(ReadDryWeight(math.Exp(s.truth.expect(DryWeight) + 0.07*rng.NormFloat64())))
	}
	if s.hasSalt && s.due(Conductivity, at, 6, 8) {
		s.tell(ReadConductivity(math.Exp(s.truth.expect(Conductivity) + 0.02*rng.NormFloat64())))
	}
}

// slip tries slips on a copy of the twin.
func (s *season) slip(what string, readings ...Reading) {
	if !s.x.slips || s.rng.IntN(3) != 0 {
		return
	}
	c := s.twin.Copy()
	was, sd := lnDensity(c)
	worst := slipped{what: what, flagged: true}
	for _, r := range readings {
		v := c.Tell(r)
		worst.flagged = worst.flagged && !v.Believed
	}
	now, _ := lnDensity(c)
	worst.moved = math.Abs(now-was) / sd
	s.out.slips = append(s.out.slips, worst)
}

// work is harvest, feed, soda and water.
func (s *season) work(at time.Time) {
	rng := s.rng
	if s.secchi > 0 && s.secchi < s.harvestCM && rng.IntN(3) > 0 {
		litres := s.share * s.litres
		really := litres * math.Exp(0.05*rng.NormFloat64())
		before := s.truth.m.Pond.DensityGL()
		if rng.Float64() < 0.7 { // the cake is weighed
			cake := before * really / (PressedDry * math.Exp(0.12*rng.NormFloat64()))
			s.tell(ReadCake(cake, litres, false))
		}
		d := s.do(pond.Act{ClothL: really, CakeG: 4}, func(m *Member) pond.Act {
			return pond.Act{ClothL: m.Measured(litres, lnLitresError), CakeG: 4}
		})
		s.secchi = 0 // measured anew before the next
		s.next[Secchi] = at.Truncate(24 * time.Hour).Add(24 * time.Hour)
		g := d.ClothG * math.Exp(0.1*rng.NormFloat64())
		s.feed(map[string]float64{"KNO3": 0.722 * g, "K2HPO4": 0.056 * g, "MgSO4.7H2O": 0.034 * g, "K2SO4": 0.04 * g, "FeSO4.7H2O": 0.003 * g})
	}
	if s.ph > 10.35 {
		s.feed(map[string]float64{"NaHCO3": 1.2 * s.litres})
		s.ph = 0
	}
	if s.level > 0 && s.level < 100*s.targetM-1.5 {
		if s.fills {
			s.do(pond.Act{FillToM: s.targetM + 0.003*rng.NormFloat64()}, func(*Member) pond.Act { return pond.Act{FillToM: s.targetM} })
			s.tell(Reading{Kind: Level, Value: 100 * s.targetM, Sigma: 0.4, Op: '=', Slip: 60})
		} else {
			litres := s.litres * (s.targetM - s.level/100) / s.targetM
			s.do(pond.Act{WaterL: litres * math.Exp(0.05*rng.NormFloat64())}, func(m *Member) pond.Act {
				return pond.Act{WaterL: m.Measured(litres, 0.05)}
			})
		}
		s.level = 0
	}
}

// feed stirs salts in, weighed to 3 %.
func (s *season) feed(grams map[string]float64) {
	t := salts(grams)
	really := t
	for k := range really {
		really[k] *= math.Exp(0.03 * s.rng.NormFloat64())
	}
	s.do(pond.Act{Salts: really}, func(*Member) pond.Act { return pond.Act{Salts: t} })
}

// forecast scores the twin, the model without readings and the last reading,
// each asked now for the days ahead if nothing is done but to keep the level.
func (s *season) forecast(day time.Time) {
	now := s.truth.at
	moments := make([]time.Time, len(leads))
	for i, d := range leads {
		moments[i] = now.AddDate(0, 0, d)
	}
	fill := pond.Act{FillToM: s.targetM}
	truth := s.truth.ahead(moments, &fill)
	draws := s.place.draws(day, 12, weatherDraws, s.seed^uint64(day.Unix()))
	look := func(e *Ensemble) [][]float64 {
		c := e.Copy()
		out := make([][]float64, len(leads))
		for i, at := range moments {
			for c.At.Before(at) {
				next := midnightAfter(c.At)
				if at.Before(next) {
					next = at
				}
				c.Advance(next, draws, nil)
				c.Do(func(_ int, m *Member) { m.Do(&fill) })
			}
			out[i] = make([]float64, len(c.Members))
			for j := range c.Members {
				out[i][j] = c.Members[j].Pond.DensityGL()
			}
		}
		return out
	}
	twin, open := look(s.twin), look(s.open)
	if e := s.out.example; e != nil && e.ahead == nil && now.Sub(e.start) > 40*24*time.Hour {
		for l, at := range moments {
			e.aheadDay, e.aheadIs = append(e.aheadDay, at.Sub(e.start).Hours()/24), append(e.aheadIs, truth[l])
			e.ahead = append(e.ahead, num.BandOf(slices.Clone(twin[l])))
		}
	}
	for l := range leads {
		sc := &s.out.leads[l]
		b := num.BandOf(slices.Clone(twin[l]))
		sc.n++
		switch {
		case truth[l] < b.Low:
			sc.below++
		case truth[l] > b.High:
			sc.above++
		default:
			sc.inside++
		}
		sc.twin += crps(twin[l], truth[l])
		sc.open += crps(open[l], truth[l])
		last := s.lastSecchi()
		sc.carried += crps(lognormal(1.2/last, math.Hypot(0.25/last, 0.175), 60), truth[l])
		sc.point += math.Abs(1.2/last - truth[l])
		sc.width += (b.High - b.Low) / b.Mid
		e := math.Log(b.Mid / truth[l])
		sc.err += e
		sc.err2 += e * e
	}
}

// lastSecchi is the last reading of the disc, however old [cm].
func (s *season) lastSecchi() float64 {
	if s.secchi > 0 {
		s.secchiSD = s.secchi
	}
	if s.secchiSD == 0 {
		return 3 // never read: the middle of an untold culture
	}
	return s.secchiSD
}

// keep adds a point to the picture.
func (s *season) keep(at time.Time) {
	e := s.out.example
	if e == nil {
		return
	}
	e.days = append(e.days, at.Sub(e.start).Hours()/24)
	e.truth = append(e.truth, s.truth.m.Pond.DensityGL())
	e.band = append(e.band, s.twin.Band(func(m *Member) float64 { return m.Pond.DensityGL() }))
}
