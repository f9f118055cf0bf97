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

// Do changes every member, as an act does.
func (e *Ensemble) Do(act func(i int, m *Member)) {
	e.each(func(i int, m *Member, _ *brine.Solver) { act(i, m) })
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
	e.each(func(i int, m *Member, _ *brine.Solver) {
		m.Pond.Settle()
		var see func(time.Time, *pond.Seen)
		if trace != nil {
			see = trace.watch(i, m)
		}
		m.Pond.Run(from, to, weathers[m.Draw%len(weathers)], nil, nil, see, nil)
		m.stir(days)
	})
	e.At = to
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

// Reading is one reading on the scale of its kind.
type Reading struct {
	Kind  Kind
	Value float64 // on the scale of the kind [unit of the kind]
	Sigma float64 // its own standard deviation, on that scale [unit of the kind]
	Op    byte    // '=', '<' or '>': the truth lies at, below or above Value
	Slip  float64 // range over which a slip may fall, on that scale [unit of the kind]
}

// Verdict is what became of a reading.
type Verdict struct {
	Innovation
	Believed bool
	Expected num.Band // what the members expected, on the scale of the kind
}

// believe is the probability of a slip above which a reading is doubted [1].
const believe = 0.5

// Assimilate corrects the members by a reading, unless it is more likely a slip
// than true: then it is doubted and nothing changes. A reading that only says
// that the truth lies beyond a value corrects the members that lie on the wrong
// side of it.
func (e *Ensemble) Assimilate(r Reading) Verdict {
	n := len(e.Members)
	expected := make([]float64, n)
	e.each(func(i int, m *Member, s *brine.Solver) { expected[i] = m.Expect(r.Kind, s) })
	var v Verdict
	usable := make([]float64, 0, n)
	for _, x := range expected {
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			usable = append(usable, x)
		}
	}
	if len(usable) < n {
		// A vessel that cannot be read that way, an empty one, learns nothing.
		v.Expected = num.BandOf(usable)
		return v
	}
	v.Expected = num.BandOf(slices.Clone(expected))
	v.Innovation = judge(r.Value, r.Sigma, r.Slip, expected)
	if r.Op == '>' || r.Op == '<' {
		mean, sd := v.Innovation.Expected, v.Spread
		away := (mean - r.Value) / math.Max(math.Hypot(sd, r.Sigma), 1e-12)
		if r.Op == '<' {
			away = -away
		}
		if away > 1 { // well on the right side: it tells nothing new
			v.Believed = true
			v.Slip = 0
			return v
		}
	}
	if v.Slip > believe {
		return v
	}
	v.Believed = true
	e.correct(&r, expected)
	return v
}

// correct moves the variables that the reading tells of.
func (e *Ensemble) correct(r *Reading, expected []float64) {
	n := len(e.Members)
	was := make([][numVars]float64, n)
	for i := range e.Members {
		e.Members[i].vector(&was[i])
	}
	columns := make([][]float64, numVars)
	flat := make([]float64, numVars*n)
	for k := range columns {
		columns[k] = flat[k*n : (k+1)*n]
		for i := range was {
			columns[k][i] = was[i][k]
		}
	}
	if r.Kind == Conductivity {
		// What is dissolved in all follows the reading itself: a factor.
		mean, _ := moments(expected)
		for i := range columns[varSalt] {
			columns[varSalt][i] = expected[i] - mean
		}
	}
	assimilate(columns, damps[r.Kind][:], expected, r.Value, r.Sigma)
	if r.Kind == Conductivity {
		mean, _ := moments(expected)
		for i := range columns[varSalt] {
			// Conductivity grows a little less than its salts: 0.85 of the
			// logarithm at 0.2 mol/kg, judgement from the curves of salts.
			columns[varSalt][i] = (columns[varSalt][i] - (expected[i] - mean)) / 0.85
		}
	}
	for i := range e.Members {
		var x [numVars]float64
		for k := range x {
			x[k] = columns[k][i]
		}
		e.Members[i].set(&x, &was[i])
	}
}

// Open widens the variable that a kind of reading tells of by sd on its scale,
// evenly over the members and in an order that is no order of theirs: what two
// agreeing readings have shown to be wrong must be free to move.
func (e *Ensemble) Open(k Kind, sd float64) {
	n := len(e.Members)
	for i := range e.Members {
		// The golden ratio strews the members over (-1, 1) without a draw.
		u := 2*math.Mod(float64(i)*0.6180339887498949+0.5/float64(n), 1) - 1
		m := &e.Members[i]
		switch k {
		case Secchi, OD, DryWeight:
			m.Pond.BiomassG *= math.Exp(1.5 * sd * u)
		case Level:
			f := m.Pond.Shape.VolumeL(max(m.Pond.Shape.LevelM(m.Pond.VolumeL())+1.5*sd*u/100, 0.001)) / max(m.Pond.VolumeL(), 1e-9)
			m.Pond.WaterKg *= f
		case Temp:
			m.Pond.Heat.WaterC += 1.5 * sd * u
		case Nitrate:
			var x, was [numVars]float64
			m.vector(&was)
			x = was
			x[varNitrate] += 1.5 * sd * u
			m.set(&x, &was)
		}
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
