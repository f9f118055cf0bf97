package plan

import (
	"context"
	"fmt"
	"math"

	"sodalake/science/num"
)

// Least densities to begin with, for a vessel in the sun.
const (
	// LeastInSunGL is the least density in full sun [g/L].
	// Source: as DefaultFloorGL.
	LeastInSunGL = 0.3
	// LeastInShadeGL is the least density under a third of shade or more, or
	// behind a window [g/L]. Judgement, no source.
	LeastInShadeGL = 0.12
)

// LeastGL returns the least density to begin with [g/L] under a shade of
// shadePct [%] of full sun: LeastInSunGL without, LeastInShadeGL from 30 %, a
// straight line between.
func LeastGL(shadePct float64) float64 {
	f := min(max(shadePct/30, 0), 1)
	return LeastInSunGL + (LeastInShadeGL-LeastInSunGL)*f
}

// Stage is a vessel on the way up.
type Stage struct {
	Name      string
	CapacityL float64 // most that it holds [L]
	MinFillL  float64 // less does not stir or is too shallow; 0: a fifth of the capacity [L]
	LeastGL   float64 // least density to begin with, under its shade [g/L]
	ShadePct  float64 // shade for the young culture, told with the step [%]
	ReserveL  float64 // culture kept back when it is handed on [L]

	// Grow returns the density [g/L] a day after day, counted from the start, of
	// volumeL [L] at densityGL [g/L] in this vessel.
	Grow func(draw, day int, densityGL, volumeL float64) float64
}

// Scale is a culture that shall become a large one.
type Scale struct {
	Draws     int
	StartL    float64   // culture at hand [L]
	StartGL   []float64 // its density, by draw, or a single one [g/L]
	Stages    []Stage   // the first holds the culture at the start
	TargetL   float64   // volume wanted in the last stage; 0: its capacity [L]
	TargetGL  float64   // density wanted in it; 0 is taken as DefaultReadyGL [g/L]
	MostTimes float64   // by how much a volume may grow at once; 0 is taken as 5 [1]
	MaxDays   int       // after which it is given up; 0 is taken as 250
}

// Step is one handing on, or one filling up in the same vessel.
type Step struct {
	Stage    string
	Same     bool     // filled up where it stands
	PourL    float64  // culture that goes in, or stands there [L]
	MediumL  float64  // medium that is added [L]
	FillL    float64  // what then stands in it [L]
	Day      num.Band // when, from the start; infinite where a draw never gets there [d]
	FromGL   num.Band // density before [g/L]
	StartGL  num.Band // density after [g/L]
	LeastGL  float64  // that it must not begin below [g/L]
	ShadePct float64  // shade for the young culture [%]
	WaitGL   float64  // density of the culture before to wait for [g/L]
	ReserveL float64  // culture kept back from the vessel before [L]
}

// Ladder is a way up.
type Ladder struct {
	Steps   []Step
	Days    num.Band // until the last vessel is ready [d]
	MediumL float64  // medium in all [L]
	EndL    float64  // volume at the end [L]
}

// StuckError says that a culture does not get there, and why.
type StuckError struct {
	Stage     string
	VolumeL   float64 // where it stops [L]
	DensityGL float64 // the density it comes to [g/L]
	Why       string  // "growth": it does not grow there; "gap": the next vessel is too large; "time"
	NeedL     float64 // for a gap: the least the next vessel takes [L]
	CanL      float64 // for a gap: what the culture could fill [L]
}

// Error says it in a line.
func (e *StuckError) Error() string {
	switch e.Why {
	case "gap":
		return fmt.Sprintf("stages: %q fills %.3g L of the next vessel, which wants %.3g L at least", e.Stage, e.CanL, e.NeedL)
	case "growth":
		return fmt.Sprintf("stages: the culture does not grow in %q: it stays at %.2g g/L in %.3g L", e.Stage, e.DensityGL, e.VolumeL)
	}
	return fmt.Sprintf("stages: the culture is still in %q, %.3g L at %.2g g/L, when the days are over", e.Stage, e.VolumeL, e.DensityGL)
}

func (c *Scale) check() (*Scale, error) {
	q := *c
	if q.MostTimes == 0 {
		q.MostTimes = 5
	}
	if q.MaxDays == 0 {
		q.MaxDays = 250
	}
	if q.TargetGL == 0 {
		q.TargetGL = DefaultReadyGL
	}
	switch {
	case q.Draws < 1 || q.Draws > 2000:
		return nil, bad("draws", "", "draws %d does not lie between 1 and 2000", q.Draws)
	case len(q.Stages) == 0:
		return nil, bad("stages", "", "stages: there is no vessel")
	case !(q.MostTimes > 1 && q.MostTimes <= 100):
		return nil, bad("most_times", "", "most_times %g does not lie between 1 and 100", q.MostTimes)
	case !(q.TargetGL > 0) || math.IsInf(q.TargetGL, 0):
		return nil, bad("target_g_per_l", "", "target_g_per_l %g is not above 0", q.TargetGL)
	case q.MaxDays < 1 || q.MaxDays > 2000:
		return nil, bad("max_days", "", "max_days %d does not lie between 1 and 2000", q.MaxDays)
	}
	if err := byDraw(q.StartGL, q.Draws, "start_g_per_l", math.SmallestNonzeroFloat64); err != nil {
		return nil, err
	}
	q.Stages = append([]Stage(nil), q.Stages...)
	for i := range q.Stages {
		s := &q.Stages[i]
		if s.MinFillL == 0 {
			s.MinFillL = s.CapacityL / 5
		}
		field := fmt.Sprintf("stages.%d", i)
		switch {
		case s.Grow == nil:
			return nil, bad(field, "", "stage %q has no model", s.Name)
		case !(s.CapacityL > 0) || math.IsInf(s.CapacityL, 0):
			return nil, bad(field+".capacity_l", "", "stage %q: capacity_l %g is not above 0", s.Name, s.CapacityL)
		case i > 0 && s.CapacityL <= q.Stages[i-1].CapacityL:
			return nil, bad(field+".capacity_l", "put them in the order of their size", "stage %q is not larger than the one before it", s.Name)
		case !(s.LeastGL > 0) || math.IsInf(s.LeastGL, 0):
			return nil, bad(field+".least_g_per_l", "", "stage %q: least_g_per_l %g is not above 0", s.Name, s.LeastGL)
		case !(s.ReserveL >= 0) || s.ReserveL >= s.CapacityL:
			return nil, bad(field+".reserve_l", "", "stage %q: a reserve of %g L leaves nothing to hand on", s.Name, s.ReserveL)
		case !(s.MinFillL > 0 && s.MinFillL <= s.CapacityL):
			return nil, bad(field+".min_fill_l", "", "stage %q: min_fill_l %g does not lie between 0 and its capacity", s.Name, s.MinFillL)
		}
	}
	last := q.Stages[len(q.Stages)-1].CapacityL
	if q.TargetL == 0 {
		q.TargetL = last
	}
	switch {
	case !(q.StartL > 0 && q.StartL <= q.Stages[0].CapacityL*(1+1e-9)):
		return nil, bad("start_l", "", "start_l %g does not lie between 0 and the %g L of the first vessel", q.StartL, q.Stages[0].CapacityL)
	case !(q.TargetL > 0 && q.TargetL <= last*(1+1e-9)):
		return nil, bad("target_l", "", "target_l %g does not lie between 0 and the %g L of the last vessel", q.TargetL, last)
	}
	return &q, nil
}

// move is a step of the plan that is laid for the middle culture.
type move struct {
	stage   int
	same    bool
	pour    float64 // [L]
	fill    float64 // [L]
	wait    float64 // density to wait for [g/L]
	reserve float64 // [L]
}

// Up finds the way up that is ready soonest for a culture that grows as the mean
// of the draws, and tells how the draws spread around it. The volumes are those
// of the plan; each draw waits at every step until it is dense enough. The error
// is an *InputError, a *StuckError or that of the context.
//
// A culture is handed on, or filled up where it stands, when it has come to a
// density H and its mix then begins above the least of the vessel it goes to; of
// several H the one that is soonest ready is taken, a step counting for a
// quarter of a day.
func Up(ctx context.Context, c *Scale) (*Ladder, error) {
	q, err := c.check()
	if err != nil {
		return nil, err
	}
	var best []move
	bestAt := math.Inf(1)
	var stuck error
	for _, hand := range [...]float64{0.25, 0.3, 0.35, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.25, 1.5, 2} {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		moves, days, err := q.lay(hand)
		if err != nil {
			if stuck == nil || hand <= q.TargetGL {
				stuck = err
			}
			continue
		}
		if at := float64(days) + 0.25*float64(len(moves)); at < bestAt {
			best, bestAt = moves, at
		}
	}
	if math.IsInf(bestAt, 1) {
		return nil, stuck
	}
	return q.climb(ctx, best)
}

// middle is the geometric mean of the draws' growth.
func (q *Scale) middle(s *Stage, day int, x, volume float64) float64 {
	sum := 0.0
	for w := range q.Draws {
		sum += math.Log(s.Grow(w, day, x, volume))
	}
	return math.Exp(sum / float64(q.Draws))
}

// lay plans the moves of the middle culture that is handed on at a density.
func (q *Scale) lay(hand float64) (moves []move, days int, err error) {
	stage, volume := 0, q.StartL
	sum := 0.0
	for w := range q.Draws {
		sum += math.Log(at(q.StartGL, w))
	}
	x := math.Exp(sum / float64(q.Draws))
	last := len(q.Stages) - 1
	gap := &StuckError{}
	for day := 0; day <= q.MaxDays; day++ {
		s := &q.Stages[stage]
		if stage == last && volume >= q.TargetL*(1-1e-9) {
			if x >= q.TargetGL {
				return moves, day, nil
			}
		} else if m, ok := q.next(stage, volume, x, hand, gap); ok {
			moves = append(moves, m)
			x *= m.pour / m.fill
			stage, volume = m.stage, m.fill
			s = &q.Stages[stage]
		}
		next := q.middle(s, day, x, volume)
		if !(next > 0) || math.IsInf(next, 0) {
			return nil, 0, bad("grow", "", "the model of stage %q gives %g g/L", s.Name, next)
		}
		if day == q.MaxDays || next <= x*(1+1e-6) && day > 20 {
			e := &StuckError{Stage: s.Name, VolumeL: volume, DensityGL: x, Why: "time"}
			switch {
			case gap.Why != "" && gap.Stage == s.Name:
				e = gap
				e.VolumeL, e.DensityGL = volume, x
			case next <= x*(1+1e-6):
				e.Why = "growth"
			}
			return nil, 0, e
		}
		x = next
	}
	return nil, 0, &StuckError{Stage: q.Stages[stage].Name, VolumeL: volume, DensityGL: x, Why: "time"}
}

// next returns the largest volume that a culture can be brought to now.
func (q *Scale) next(stage int, volume, x, hand float64, gap *StuckError) (move, bool) {
	s := &q.Stages[stage]
	if x < hand {
		return move{}, false
	}
	var m move
	most := func(j int, pour float64) float64 {
		limit := q.Stages[j].CapacityL
		if j == len(q.Stages)-1 {
			limit = q.TargetL
		}
		return min(limit, pour*x/q.Stages[j].LeastGL, pour*q.MostTimes)
	}
	if fill := most(stage, volume); fill >= 1.2*volume || fill > volume*(1+1e-9) && fill >= s.CapacityL*(1-1e-9) {
		m = move{stage: stage, same: true, pour: volume, fill: fill, wait: x}
	}
	if pour := volume - s.ReserveL; pour > 0 {
		for j := stage + 1; j < len(q.Stages); j++ {
			fill := most(j, pour)
			if fill < q.Stages[j].MinFillL*(1-1e-9) {
				if j == stage+1 && (gap.Stage != s.Name || fill > gap.CanL) {
					*gap = StuckError{Stage: s.Name, Why: "gap", NeedL: q.Stages[j].MinFillL, CanL: fill}
				}
				continue
			}
			if fill > m.fill && fill > volume {
				m = move{stage: j, pour: pour, fill: fill, wait: x, reserve: s.ReserveL}
			}
		}
	}
	if m.fill == 0 {
		return m, false
	}
	// A draw must wait until its mix is dense enough, and for the planned density.
	m.wait = max(hand, m.fill*q.Stages[m.stage].LeastGL/m.pour)
	return m, true
}

// never stands for the day of a draw that does not get there, so large that no
// quantile beside it is mistaken for a day [d].
const never = 1e9

// when returns the band of days, infinite where a quantile never comes.
func when(days []float64) num.Band {
	b := num.BandOf(days)
	for _, q := range []*float64{&b.Low, &b.Mid, &b.High} {
		if *q > never/1e4 {
			*q = math.Inf(1)
		}
	}
	return b
}

// climb carries every draw through the moves.
func (q *Scale) climb(ctx context.Context, moves []move) (*Ladder, error) {
	n := q.Draws
	days := make([][]float64, len(moves)+1)
	from, start := make([][]float64, len(moves)), make([][]float64, len(moves))
	for i := range days {
		days[i] = make([]float64, n)
	}
	for i := range moves {
		from[i], start[i] = make([]float64, n), make([]float64, n)
	}
	for w := range n {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		stage, volume, x, done := 0, q.StartL, at(q.StartGL, w), 0
		for i := range days {
			days[i][w] = never
		}
		for i := range moves {
			from[i][w], start[i][w] = math.NaN(), math.NaN()
		}
		for day := 0; day <= 2*q.MaxDays; day++ {
			if done == len(moves) {
				if x >= q.TargetGL {
					days[done][w] = float64(day)
					break
				}
			} else if m := moves[done]; x >= m.wait*(1-1e-9) {
				days[done][w], from[done][w] = float64(day), x
				x *= m.pour / m.fill
				start[done][w] = x
				stage, volume = m.stage, m.fill
				done++
			}
			x = q.Stages[stage].Grow(w, day, x, volume)
		}
	}
	out := &Ladder{Days: when(days[len(moves)]), EndL: q.StartL}
	for i, m := range moves {
		s := &q.Stages[m.stage]
		out.Steps = append(out.Steps, Step{
			Stage: s.Name, Same: m.same, PourL: m.pour, MediumL: m.fill - m.pour, FillL: m.fill,
			Day: when(days[i]), FromGL: num.BandOf(from[i]), StartGL: num.BandOf(start[i]),
			LeastGL: s.LeastGL, ShadePct: s.ShadePct, WaitGL: m.wait, ReserveL: m.reserve,
		})
		out.MediumL += m.fill - m.pour
		out.EndL = m.fill
	}
	return out, nil
}
