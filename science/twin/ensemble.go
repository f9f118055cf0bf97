package twin

import (
	"cmp"
	"math"
	"runtime"
	"slices"
	"sync"
	"time"

	"sodalake/science/brine"
	"sodalake/science/num"
	"sodalake/science/pond"
)

// Ensemble is the estimate of one vessel: several hundred possible ones.
// Members are independent between readings, so they run on all cores; a reading
// corrects them together, on one. What comes out depends on the seed and never
// on the number of cores.
type Ensemble struct {
	Members []Member
	At      time.Time // where all members stand
	fit     [NumKinds]fit
	streaks [NumKinds]streak
	workers []*brine.Solver
}

// New returns an ensemble around a model, all at a moment. It panics without
// members.
func New(base *pond.Vessel, at time.Time, c Config) *Ensemble {
	if c.Members < 1 {
		panic("twin: an ensemble without members")
	}
	e := &Ensemble{At: at, Members: make([]Member, c.Members)}
	for i := range e.Members {
		e.Members[i] = newMember(base, &c, uint64(i))
	}
	return e
}

// Copy returns a copy that may go another way: a checkpoint or a forecast.
func (e *Ensemble) Copy() *Ensemble {
	c := *e
	c.Members = slices.Clone(e.Members)
	c.workers = nil
	return &c
}

// chunk is how many members a worker takes at once.
const chunk = 8

// each calls do for every member, on all cores, with a solver of its own.
func (e *Ensemble) each(do func(i int, m *Member, s *brine.Solver)) {
	cores := min(runtime.GOMAXPROCS(0), (len(e.Members)+chunk-1)/chunk)
	for len(e.workers) < max(cores, 1) {
		e.workers = append(e.workers, brine.New(brine.Pitzer))
	}
	if cores <= 1 {
		for i := range e.Members {
			e.Members[i].Pond.Use(e.workers[0])
			do(i, &e.Members[i], e.workers[0])
		}
		return
	}
	var next struct {
		sync.Mutex
		i int
	}
	var wait sync.WaitGroup
	for c := range cores {
		wait.Go(func() {
			for {
				next.Lock()
				from := next.i
				next.i += chunk
				next.Unlock()
				if from >= len(e.Members) {
					return
				}
				for i := from; i < min(from+chunk, len(e.Members)); i++ {
					e.Members[i].Pond.Use(e.workers[c])
					do(i, &e.Members[i], e.workers[c])
				}
			}
		})
	}
	wait.Wait()
}

// Do changes every member, as an act does. A few members of which the act took
// all that they held, while most held more, were not the true vessel: copies of
// others take their place.
func (e *Ensemble) Do(act func(i int, m *Member)) {
	e.each(func(i int, m *Member, _ *brine.Solver) { act(i, m) })
	e.mend()
}

// Advance carries all members to a moment under their draws of the weather,
// each of which must cover the way. trace, if not nil, writes down what it asks
// for. Days are not mixed: at every call the noise of the time passed is added,
// so callers that want the same answer cut the way at the same moments.
func (e *Ensemble) Advance(to time.Time, weathers []*pond.Weather, trace *Trace) {
	if !to.After(e.At) {
		return
	}
	from := e.At
	days := to.Sub(from).Hours() / 24
	by := e.unrest()
	e.each(func(i int, m *Member, _ *brine.Solver) {
		m.Pond.Settle()
		var see func(time.Time, *pond.Seen)
		if trace != nil {
			see = trace.watch(i, m)
		}
		m.Pond.Run(from, to, weathers[m.Draw%len(weathers)], nil, nil, see, nil)
		m.stir(days, &by)
	})
	e.At = to
	e.mend()
}

// Band returns the spread of a quantity over the members.
func (e *Ensemble) Band(q func(m *Member) float64) num.Band {
	x := make([]float64, len(e.Members))
	for i := range e.Members {
		x[i] = q(&e.Members[i])
	}
	return num.BandOf(x)
}

// Solved is Band for what needs the water solved at tempC [°C]; NaN: at its own
// temperature.
func (e *Ensemble) Solved(tempC float64, q func(t *brine.Totals, w *brine.Water, s *brine.Solver) float64) num.Band {
	x := make([]float64, len(e.Members))
	e.each(func(i int, m *Member, s *brine.Solver) {
		x[i] = math.NaN()
		if m.Pond.WaterKg <= 0 {
			return
		}
		t := m.Pond.Molality()
		var w brine.Water
		at := tempC
		if math.IsNaN(at) {
			at = m.Pond.Heat.WaterC
		}
		if s.Solve(&t, at, &w) == nil {
			x[i] = q(&t, &w, s)
		}
	})
	return num.BandOf(x)
}

// Share returns the share of members for which something holds [1].
func (e *Ensemble) Share(holds func(m *Member) bool) float64 {
	n := 0
	for i := range e.Members {
		if holds(&e.Members[i]) {
			n++
		}
	}
	return float64(n) / float64(max(len(e.Members), 1))
}

// Verdict is what became of a reading.
type Verdict struct {
	Innovation
	Believed bool
	Opened   bool     // it was believed because it agrees with the one before, not with the ensemble
	Again    int      // doubted readings of the kind in a row, this one included
	Expected num.Band // what the members expected, on the scale of the kind
}

// believe is the probability of a slip above which a reading is doubted [1].
const believe = 0.5

// expect returns what every member expects to read, and those of them that are
// numbers.
func (e *Ensemble) expect(k Kind) (all, usable []float64) {
	all = make([]float64, len(e.Members))
	e.each(func(i int, m *Member, s *brine.Solver) { all[i] = m.Expect(k, s) })
	usable = make([]float64, 0, len(all))
	for _, x := range all {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			usable = append(usable, x)
		}
	}
	return all, usable
}

// Assimilate corrects the members by a reading, unless it is more likely a slip
// than true: then it is doubted and nothing changes. Short of that a reading is
// weighed by the chance that it is honest, so the doubtful one moves less and
// leaves more spread. A reading that only says that the truth lies beyond a
// value corrects by as much as that tells.
//
// Special cases: a reading that is not Usable, and one of a vessel that cannot
// be read that way, an empty one, is not believed and changes nothing. Where a
// few members cannot be read that way and most can, copies of others take the
// place of the few.
func (e *Ensemble) Assimilate(r Reading) Verdict {
	if !r.Usable() {
		return Verdict{}
	}
	expected, usable := e.expect(r.Kind)
	if len(usable) < len(expected) {
		lost := make([]bool, len(expected))
		for i, x := range expected {
			lost[i] = math.IsNaN(x) || math.IsInf(x, 0)
		}
		if e.replace(lost) {
			expected, usable = e.expect(r.Kind)
		}
	}
	v := Verdict{Expected: num.BandOf(usable)}
	if len(usable) < len(expected) || len(expected) == 0 {
		return v
	}
	var up update
	v.Innovation, up = judge(&r, expected)
	e.note(r.Kind, v.Distance, r.Op)
	if v.Slip > believe {
		return v
	}
	v.Believed = true
	e.correct(r.Kind, expected, up.hedged(v.Slip, v.Spread))
	return v
}

// hedged mixes what an honest reading would do with nothing, by the chance of a
// slip [1]: mean and variance are those of the mixture. spread is the standard
// deviation of what was expected.
func (u update) hedged(slip, spread float64) update {
	if !(spread > 0) {
		return u
	}
	honest := 1 - slip
	move := u.shift / spread
	return update{shift: honest * u.shift, keep: math.Sqrt(honest*u.keep*u.keep + slip + slip*honest*move*move)}
}

// correct moves the variables that the reading tells of.
func (e *Ensemble) correct(k Kind, expected []float64, up update) {
	n := len(e.Members)
	was := make([]vector, n)
	columns := make([][]float64, NumVars)
	flat := make([]float64, int(NumVars)*n)
	for v := range columns {
		columns[v] = flat[v*n : (v+1)*n]
	}
	for i := range e.Members {
		e.Members[i].vector(&was[i])
		for v := range columns {
			columns[v][i] = was[i][v]
		}
	}
	assimilate(columns, damps[k][:], firm[:], expected, up)
	for i := range e.Members {
		var x vector
		for v := range x {
			x[v] = columns[v][i]
		}
		e.Members[i].set(&x, &was[i])
	}
}

// streak is a run of doubted readings of one kind.
type streak struct {
	n     int
	value float64 // the last of them
	off   float64 // how far it lay from what was expected
}

// agrees reports whether a reading of an error says what the last doubted one
// did: either the same value, or as far from what was expected. What evaporates
// or grows between the two moves the value and leaves the departure.
func (s *streak) agrees(value, off, sigma float64) bool {
	return s.n > 0 && (math.Abs(s.value-value) < 3*sigma || math.Abs(s.off-off) < 3*sigma)
}

// believable are the kinds of which two agreeing readings outweigh the
// ensemble: a stick and a thermometer do not fail the same way twice. A pH meter
// does, and one that counts salts may.
func believable(k Kind) bool { return k != PH && k != Conductivity && k != MeterCheck && k != Colour }

// Tell is Assimilate with a memory: where a second doubted reading in a row
// agrees with the first, within three of its errors, and is of a kind that does
// not fail the same way twice, then the ensemble is wrong; it is opened and
// takes the second. Again says how many doubted ones of the kind stand in a row.
func (e *Ensemble) Tell(r Reading) Verdict {
	if !r.Usable() {
		return e.Assimilate(r)
	}
	v := e.Assimilate(r)
	s := &e.streaks[r.Kind]
	off := r.Value - v.Innovation.Expected
	if !v.Believed && v.Error > 0 && s.agrees(r.Value, off, v.Error) && believable(r.Kind) {
		c := e.Copy()
		c.Open(r.Kind, off)
		if again := c.Assimilate(r); again.Believed {
			e.Members = c.Members
			v.Believed, v.Opened = true, true
		}
	}
	switch {
	case v.Believed:
		*s = streak{}
	case v.Error > 0:
		*s = streak{s.n + 1, r.Value, off}
		v.Again = s.n
	}
	return v
}

// openMost is the most that a level is opened by: a spread of its logarithm [1].
const openMost = 0.7

// Open widens the variables that a kind of reading tells of by off, how far the
// reading lies from what was expected, on its scale [unit of the kind], evenly
// over the members and in an order that is no order of theirs: what two agreeing
// readings have shown to be wrong must be free to move. A level that is wrong may
// have lost water or may have been poured into a vessel of another size; both
// are opened, and later readings tell them apart.
func (e *Ensemble) Open(k Kind, off float64) {
	n := len(e.Members)
	sd := math.Abs(off)
	for i := range e.Members {
		// The golden ratio strews the members over (−1, 1) without a draw; its
		// square does it another way.
		strew := func(step float64) float64 { return 2*math.Mod(float64(i)*step+0.5/float64(n), 1) - 1 }
		wide := 1.5 * sd * strew(0.6180339887498949)
		m := &e.Members[i]
		var was vector
		m.vector(&was)
		x := was
		switch k {
		case Secchi, OD, DryWeight, Cake, Colour:
			x[VarDensity] += wide
		case Level:
			// On the logarithm, so that none runs dry by it.
			g := m.Pond.Shape
			litres := max(m.Pond.VolumeL(), 1e-9)
			level := max(g.LevelM(litres)+off/100, 0.005)
			ln := min(math.Abs(math.Log(max(g.VolumeL(level), 1e-9)/litres)), openMost)
			lost, size := 1.5*ln*strew(0.6180339887498949), -1.5*ln*strew(0.7548776662466927)
			lost = min(lost, size+math.Log(g.VolumeL(g.RimM())/litres)) // not over the rim
			x[VarScale] += size
			for _, v := range []Var{VarWater, VarDensity, VarCarbon, VarSalt} {
				x[v] -= size
			}
			x[VarWater] += lost
		case Temp:
			x[VarTemp] += wide
		case Conductivity:
			x[VarSalt] += wide
			x[VarCarbon] += wide
		case Nitrate:
			x[VarNitrate] += wide
		case Ammonia:
			x[VarAmmonia] += wide
		case PH, MeterCheck:
			x[VarPHBias] += wide
		}
		m.set(&x, &was)
	}
}

// Median returns the member whose quantity is the median.
func (e *Ensemble) Median(q func(m *Member) float64) *Member {
	order := make([]int, len(e.Members))
	x := make([]float64, len(e.Members))
	for i := range order {
		order[i], x[i] = i, q(&e.Members[i])
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(x[a], x[b]) })
	return &e.Members[order[len(order)/2]]
}
