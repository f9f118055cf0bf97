package twin

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"sodalake/science/brine"
	"sodalake/science/num"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// experiment is many synthetic ponds, each with its truth, a twin that is told
// what a grower would tell, and the same model that is told the acts but no
// readings.
type experiment struct {
	name    string
	ponds   int
	days    int
	members int
	seed    uint64
	noise   bool                                    // the truths have the noise that laws leave out
	law     func(rng *rand.Rand, pond int) law      // nil: the laws of the twin
	scale   func(rng *rand.Rand, pond int) *float64 // logarithm of true over described area; nil: as the twin draws it
	slips   bool                                    // some readings are slips
	normals bool                                    // no weather is measured: the twin has the generator alone
	every   int                                     // days between forecasts
}

// leads are the days ahead at which forecasts are scored.
var leads = []int{0, 1, 3, 7, 10}

// score is what came of the forecasts at one lead.
type score struct {
	n, inside, below, above    int
	twin, open, carried, point float64 // sums of the continuous ranked probability score [g/L]
	width                      float64 // sum of the widths of the 80 % interval over its middle [1]
	err, err2                  float64 // sums of ln(median/truth) and its square
}

func (s *score) add(o *score) {
	s.n += o.n
	s.inside += o.inside
	s.below += o.below
	s.above += o.above
	s.twin += o.twin
	s.open += o.open
	s.carried += o.carried
	s.point += o.point
	s.width += o.width
	s.err += o.err
	s.err2 += o.err2
}

func (s *score) coverage() float64 { return float64(s.inside) / float64(max(s.n, 1)) }

// outcome is what came of an experiment.
type outcome struct {
	leads    []score
	doubted  int // honest readings that were doubted
	honest   int
	slips    []slipped
	readings [NumKinds]int
	fits     [NumKinds]float64 // sums of Fit² at the end of seasons
	fitted   [NumKinds]float64
	ponds    []string
	troubles map[string]int
	example  *example
}

// slipped is what became of one slip.
type slipped struct {
	what     string
	flagged  bool
	moved    float64 // of the mean of the logarithm of density, in its spreads [1]
	distance float64 // of the reading [1]
}

// crps returns the continuous ranked probability score of an ensemble x for the
// truth y, in their unit.
//
//	CRPS = mean |x − y| − ½ mean |x − x'|
//
// Source: gneiting2007 (Gneiting & Raftery 2007, J. Am. Stat. Assoc. 102:359),
// eq. 21.
func crps(x []float64, y float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	n := float64(len(s))
	near, far := 0.0, 0.0
	for i, v := range s {
		near += math.Abs(v - y)
		far += v * (2*float64(i) - n + 1)
	}
	return near/n - far/(n*n)
}

// lognormal is n even quantiles about a median.
func lognormal(median, sd float64, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = median * math.Exp(sd*math.Sqrt2*math.Erfinv(2*(float64(i)+0.5)/float64(n)-1))
	}
	return x
}

// run runs an experiment on all cores; the ponds are independent, so that the
// outcome depends on seeds alone.
func (x *experiment) run(tb testing.TB) outcome {
	outcomes := make([]outcome, x.ponds)
	next := make(chan int)
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range next {
				s := newSeason(tb, x, i)
				s.run()
				outcomes[i] = s.out
			}
		})
	}
	for i := range x.ponds {
		next <- i
	}
	close(next)
	wait.Wait()
	sum := outcome{leads: make([]score, len(leads)), troubles: map[string]int{}}
	for i := range outcomes {
		o := &outcomes[i]
		for l := range o.leads {
			sum.leads[l].add(&o.leads[l])
		}
		sum.doubted += o.doubted
		sum.honest += o.honest
		sum.slips = append(sum.slips, o.slips...)
		for k := range o.readings {
			sum.readings[k] += o.readings[k]
			sum.fits[k] += o.fits[k]
			sum.fitted[k] += o.fitted[k]
		}
		l0, l7 := &o.leads[0], &o.leads[3]
		sum.ponds = append(sum.ponds, fmt.Sprintf("%3d %-18s err0 %+.3f in0 %d/%d err7 %+.3f in7 %d/%d", i, places()[i%4].name, l0.err/float64(max(l0.n, 1)), l0.inside, l0.n, l7.err/float64(max(l7.n, 1)), l7.inside, l7.n))
		for what, n := range o.troubles {
			sum.troubles[what] += n
		}
		if sum.example == nil {
			sum.example = o.example
		}
	}
	return sum
}

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

// weathers is what the twin knows of the time up to now.
func (s *season) past() []*pond.Weather { return []*pond.Weather{s.truth.w} }

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
			s.read(at)
			s.work(at)
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
		s.slip(ReadTemp(math.Round(c)), s.tellNothing)
		s.tell(ReadTemp(math.Round(c*2) / 2))
	}
	if s.due(Level, at, 2, 4) {
		s.level = math.Round(2*(s.truth.expect(Level)+0.25*rng.NormFloat64())) / 2
		s.slip(ReadLevel(s.level*10), s.tellNothing)
		s.tell(ReadLevel(s.level))
	}
	if s.due(Secchi, at, 2, 4) {
		cm := math.Exp(s.truth.expect(Secchi)) + 0.25*rng.NormFloat64()
		cm = max(math.Round(cm*10)/10, 0.3)
		if floor := s.truth.expect(Level) - 0.5; cm > floor {
			s.tell(Reading{Kind: Secchi, Value: math.Log(floor), Sigma: 0.25 / floor, Op: '>', Slip: 4.4})
		} else {
			s.slip(ReadSecchi(cm*10), s.tellNothing)
			s.slip(ReadSecchi(cm/10), s.tellNothing)
			s.tell(ReadSecchi(cm))
			s.secchi = cm
		}
	}
	if s.due(PH, at, 6, 8) {
		s.ph = math.Round(100*(s.truth.expect(PH)+0.04*rng.NormFloat64())) / 100
		s.slip(ReadPH(7, false), s.tellNothing) // a dead meter
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

func (s *season) tellNothing(Verdict) {}

// slip tries a slip on a copy of the twin.
func (s *season) slip(r Reading, then func(Verdict)) {
	if !s.x.slips || s.rng.IntN(6) != 0 {
		return
	}
	c := s.twin.Copy()
	density := func(e *Ensemble) (float64, float64) {
		x := make([]float64, len(e.Members))
		for i := range x {
			x[i] = math.Log(e.Members[i].Pond.DensityGL())
		}
		mean, variance := moments(x)
		return mean, math.Sqrt(variance)
	}
	was, sd := density(c)
	v := c.Assimilate(r)
	now, _ := density(c)
	s.out.slips = append(s.out.slips, slipped{r.Kind.String(), !v.Believed, math.Abs(now-was) / sd, v.Distance})
	then(v)
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

type example struct{}

func rms(x float64) float64 { return math.Sqrt(x) }

// weatherDraws is how many weathers the members live under. An interval between
// two order statistics of n draws holds (n−1)/(n+1) of what it says: 24 draws
// would make 74 % of 80.
const weatherDraws = 60
