package plan

import (
	"context"
	"math"
	"slices"

	"sodalake/science/num"
)

// Act is what is done to a vessel on a day.
type Act struct {
	Day      int
	Share    float64  // part of the volume through the cloth, the filtrate given back [1]
	LitresL  float64  // that part of the median volume [L]
	DryG     num.Band // dry matter taken [g]
	PasteKg  num.Band // as pressed paste [kg]
	BeforeGL num.Band // density before [g/L]
	AfterGL  num.Band // density left [g/L]
	Below    float64  // chance that less than the floor is left [1]
	Why      string   // why nothing is taken on this day, if it is closed
}

// VesselPlan is the plan of one vessel, an Act for each day.
type VesselPlan struct {
	Name string
	Acts []Act
	EndG num.Band // dry matter that stands at the end [g]
}

// Day is what a day asks of the farm.
type Day struct {
	Vessels int      // harvested
	LitresL float64  // through the cloth [L]
	WorkH   float64  // time it takes [h]
	DryG    num.Band // dry matter of all [g]
	PasteKg num.Band // as pressed paste [kg]
	Over    float64  // chance that the drying chain cannot take it all [1]
}

// Outcome is what a way of harvesting comes to.
type Outcome struct {
	DryG        num.Band   // dry matter that was harvested and finds its place [g]
	MeanG       float64    // its mean [g]
	WeekG       []num.Band // the same by weeks, the last perhaps cut short [g]
	WeekReached []float64  // chance that a week brings the amount of a steady aim [1]
	EndG        num.Band   // dry matter that stands at the end [g]
	HarvestDays float64    // days on which anybody harvests, mean [d]
	Visits      float64    // harvests of single vessels, mean [1]
	Below       float64    // chance that any harvest leaves less than the floor [1]
	Over        float64    // chance that any day brings more than the drying chain takes [1]
	SpoiledG    float64    // dry matter that finds no place, mean [g]
	Forbidden   float64    // chance of a harvest on a day that the limits close [1]
}

// Comparison sets the plan beside a habit, draw by draw.
type Comparison struct {
	Name    string
	Habit   Outcome
	GainG   num.Band // harvest of the plan less that of the habit [g]
	MeanG   float64  // its mean [g]
	EndG    float64  // what stands at the end, plan less habit, mean [g]
	AheadBy float64  // share of the draws in which the plan harvests more [1]
}

// Limit is one thing that holds a plan back and what it would bring if it did
// not.
type Limit struct {
	Kind  string  // one of the Limit constants
	GainG float64 // mean dry matter more [g]
}

// What may hold a plan back.
const (
	LimitDays    = "days"    // days on which nobody is there
	LimitTime    = "time"    // hours on the days somebody is there
	LimitCloth   = "cloth"   // litres through the cloth
	LimitPress   = "press"   // paste through the press
	LimitDryer   = "dryer"   // dry matter in the dryer
	LimitFreezer = "freezer" // room and speed of the freezer
	LimitWater   = "water"   // temperature, pH, or a closed vessel
	LimitFloor   = "floor"   // the least density to leave; loosened to a half of it
	LimitGrowth  = "growth"  // the cultures do not grow more
)

// Short says that an aim cannot be reached and what can.
type Short struct {
	WantedG   float64 // dry matter wanted, in seven days for Steady [g]
	PossibleG float64 // mean that is possible, in the worst week for Steady [g]
	Limits    []Limit // what holds it back, the most first
}

// Plan is what is proposed.
type Plan struct {
	Vessels []VesselPlan
	Days    []Day
	Outcome Outcome
	Against []Comparison
	Short   *Short  // nil when the aim is reached
	Limits  []Limit // what holds it back, when asked for or when short
	Score   float64 // what the search made as large as it could [g]
}

// Progress tells how far a plan has come.
type Progress struct {
	Done, Of int
	What     string // "model" or "search"
}

// Make finds a plan. The same problem gives the same plan, on any number of
// processors. progress may be nil; it is called now and then, from the goroutine
// that called Make. The error is an *InputError that names the field, or that
// of the context.
//
// An aim that cannot be reached is no error: the plan then is the most that can
// be had, and Short says so. The same goes for a farm on which nothing can be
// harvested at all.
//
// A harvest on a day leaves X(1 − s) of X, s the share of the volume that passes
// the cloth; the model carries it to the next day. A share is allowed while the
// chance to leave less than the floor, and the chance that press, dryer, freezer
// and table together cannot take the paste, are at most Risk each.
func Make(ctx context.Context, p *Problem, progress func(Progress)) (*Plan, error) {
	q, err := p.check()
	if err != nil {
		return nil, err
	}
	s := newSearch(q)
	const rounds = 12
	now := Progress{Of: len(q.Vessels) + rounds, What: "model"}
	tick := func() {
		now.Done = min(now.Done+1, now.Of)
		if progress != nil {
			progress(now)
		}
	}
	if err := s.tabulate(ctx, tick); err != nil {
		return nil, err
	}
	now.What = "search"
	b := s.workers(len(q.Vessels) == 1)
	f, err := s.seek(ctx, b, tick)
	if err != nil {
		return nil, err
	}
	var short *Short
	switch q.Aim.Goal {
	case Fewest:
		wanted := q.Aim.AmountG
		if wanted <= 0 {
			wanted = q.Aim.ShareOf * s.got(f)
		}
		// A thousandth is what the search itself leaves open.
		if got := s.got(f); got < wanted*0.999 {
			short = &Short{WantedG: wanted, PossibleG: got}
		} else if f, err = s.fewest(ctx, f, wanted*0.999, tick); err != nil {
			return nil, err
		}
	case Steady:
		short = s.missed(f)
	}
	out := s.tell(f)
	if short != nil || q.Explain || !(out.Outcome.MeanG > 0) {
		limits, err := s.limits(ctx)
		if err != nil {
			return nil, err
		}
		out.Limits = limits
		if short != nil {
			short.Limits = limits
		}
	}
	out.Short = short
	now.Done = now.Of
	if progress != nil {
		progress(now)
	}
	return out, nil
}

// got is the mean harvest that counts [g].
func (s *search) got(f *farm) float64 {
	sum := 0.0
	for _, g := range s.placed(f.total, s.p.Aim.ByDay) {
		sum += g
	}
	return sum / float64(s.draws)
}

// placed returns by draw what the drying chain takes of the days before until
// [g].
func (s *search) placed(total []float64, until int) []float64 {
	out := make([]float64, s.draws)
	for w := range out {
		room := s.roomG
		for d := range until {
			got, left := s.place(d*s.draws+w, total[d*s.draws+w], room)
			room = left
			out[w] += got
		}
	}
	return out
}

// place returns what of a day's dry matter finds its place, and what room the
// freezer then has.
func (s *search) place(i int, total, room float64) (got, left float64) {
	got = min(total, s.capG[i])
	frost := got - s.chainG[i]
	if !(frost > 0) {
		return got, room
	}
	if frost > room {
		frost = room
		got = s.chainG[i] + frost
	}
	if !math.IsInf(room, 1) {
		room -= frost
	}
	return got, room
}

// missed tells of the week that falls shortest of a steady amount, if more than
// two in a hundred lack.
func (s *search) missed(f *farm) *Short {
	worst := math.Inf(1)
	for wk := range (s.p.Days + 6) / 7 {
		sum := 0.0
		for w := range s.draws {
			sum += s.weekOf(f.total, wk, w)
		}
		have := sum / float64(s.draws) * s.p.Aim.WeekG / s.weekG(wk)
		worst = min(worst, have)
	}
	if worst >= 0.98*s.p.Aim.WeekG {
		return nil
	}
	return &Short{WantedG: s.p.Aim.WeekG, PossibleG: worst}
}

// weekOf is what a week brings in a draw [g].
func (s *search) weekOf(total []float64, week, w int) float64 {
	room, sum := s.roomG, 0.0
	for d := range min(7*week+7, s.p.Days) {
		got, left := s.place(d*s.draws+w, total[d*s.draws+w], room)
		room = left
		if d >= 7*week {
			sum += got
		}
	}
	return sum
}

// tell writes a plan down.
func (s *search) tell(f *farm) *Plan {
	p, n := s.p, s.draws
	out := &Plan{Score: f.score}
	vals := make([]float64, n)
	band := func(of func(w int) float64) num.Band {
		for w := range vals {
			vals[w] = of(w)
		}
		return num.BandOf(vals)
	}
	perKg := 1000 * p.PasteDry
	for v, o := range f.own {
		vp := VesselPlan{Name: p.Vessels[v].Name}
		for d, u := range o.u {
			before := o.before[d*n : (d+1)*n]
			a := Act{Day: d, Why: s.why[v][d], BeforeGL: band(func(w int) float64 { return math.Exp(before[w]) })}
			a.AfterGL = a.BeforeGL
			if u > 0 {
				taken := o.taken[d*n : (d+1)*n]
				a.Share, a.LitresL = float64(u)/float64(p.Steps), s.litresOf(v, u)
				a.DryG = band(func(w int) float64 { return taken[w] })
				a.PasteKg = num.Band{Low: a.DryG.Low / perKg, Mid: a.DryG.Mid / perKg, High: a.DryG.High / perKg}
				a.AfterGL = band(func(w int) float64 { return math.Exp(before[w] + s.lnKeep[u]) })
				for w := range n {
					if math.Exp(before[w]+s.lnKeep[u]) < p.Vessels[v].FloorGL*(1-1e-9) {
						a.Below += 1 / float64(n)
					}
				}
			}
			vp.Acts = append(vp.Acts, a)
		}
		vp.EndG = band(func(w int) float64 { return math.Exp(o.end[w]) * s.volume[v][w] })
		out.Vessels = append(out.Vessels, vp)
	}
	for d := range p.Days {
		day := Day{DryG: band(func(w int) float64 { return f.total[d*n+w] })}
		day.PasteKg = num.Band{Low: day.DryG.Low / perKg, Mid: day.DryG.Mid / perKg, High: day.DryG.High / perKg}
		for v, o := range f.own {
			if o.u[d] > 0 {
				day.Vessels++
				day.LitresL += s.litresOf(v, o.u[d])
				day.WorkH += s.hoursOf(v, o.u[d])
			}
		}
		for w := range n {
			if f.total[d*n+w] > s.capG[d*n+w]*(1+1e-9) {
				day.Over += 1 / float64(n)
			}
		}
		out.Days = append(out.Days, day)
	}
	mine := s.played(f)
	out.Outcome = s.outcome(mine)
	for _, h := range p.Habits {
		theirs := s.follow(&h)
		c := Comparison{Name: h.Name, Habit: s.outcome(theirs)}
		a, b := s.placed(mine.total, p.Days), s.placed(theirs.total, p.Days)
		for w := range n {
			c.MeanG += (a[w] - b[w]) / float64(n)
			c.EndG += (mine.end[w] - theirs.end[w]) / float64(n)
			if a[w] > b[w] {
				c.AheadBy += 1 / float64(n)
			}
			vals[w] = a[w] - b[w]
		}
		c.GainG = num.BandOf(vals)
		out.Against = append(out.Against, c)
	}
	return out
}

// played is what any way of harvesting did, draw by draw.
type played struct {
	total     []float64 // dry matter taken, by day and draw [g]
	end       []float64 // dry matter that stands at the end, by draw [g]
	days      []float64 // days with a harvest, by draw
	visits    []float64 // harvests of a vessel, by draw
	below     []bool
	forbidden []bool
}

func (s *search) newPlayed() *played {
	n := s.draws
	return &played{
		total: make([]float64, s.p.Days*n), end: make([]float64, n), days: make([]float64, n), visits: make([]float64, n),
		below: make([]bool, n), forbidden: make([]bool, n),
	}
}

func (s *search) played(f *farm) *played {
	out, n := s.newPlayed(), s.draws
	copy(out.total, f.total)
	for d := range s.p.Days {
		any := false
		for v, o := range f.own {
			u := o.u[d]
			if u == 0 {
				continue
			}
			any = true
			for w := range n {
				out.visits[w]++
				if math.Exp(o.before[d*n+w]+s.lnKeep[u]) < s.p.Vessels[v].FloorGL*(1-1e-9) {
					out.below[w] = true
				}
			}
		}
		if any {
			for w := range n {
				out.days[w]++
			}
		}
	}
	for v, o := range f.own {
		for w := range n {
			out.end[w] += math.Exp(o.end[w]) * s.volume[v][w]
		}
	}
	return out
}

func (s *search) outcome(pl *played) Outcome {
	p, n := s.p, s.draws
	var out Outcome
	got := s.placed(pl.total, p.Days)
	for w := range n {
		out.MeanG += got[w] / float64(n)
		out.HarvestDays += pl.days[w] / float64(n)
		out.Visits += pl.visits[w] / float64(n)
		taken, over := 0.0, false
		for d := range p.Days {
			taken += pl.total[d*n+w]
			over = over || pl.total[d*n+w] > s.capG[d*n+w]*(1+1e-9)
		}
		out.SpoiledG += (taken - got[w]) / float64(n)
		if over || taken > got[w]*(1+1e-9) {
			out.Over += 1 / float64(n)
		}
		if pl.below[w] {
			out.Below += 1 / float64(n)
		}
		if pl.forbidden[w] {
			out.Forbidden += 1 / float64(n)
		}
	}
	for wk := range (p.Days + 6) / 7 {
		week := make([]float64, n)
		for w := range week {
			week[w] = s.weekOf(pl.total, wk, w)
		}
		if p.Aim.Goal == Steady {
			reached := 0.0
			for _, g := range week {
				if g >= s.weekG(wk)*0.999 {
					reached += 1 / float64(n)
				}
			}
			out.WeekReached = append(out.WeekReached, reached)
		}
		out.WeekG = append(out.WeekG, num.BandOf(week))
	}
	out.DryG, out.EndG = num.BandOf(got), num.BandOf(slices.Clone(pl.end))
	return out
}

// follow plays a habit: each draw by what is seen in it. The habit keeps to the
// hours and the cloth of a day, vessel after vessel, and knows neither floor nor
// limits nor the drying chain.
func (s *search) follow(h *Habit) *played {
	p, n := s.p, s.draws
	out := s.newPlayed()
	x := make([]float64, len(p.Vessels))
	for w := range n {
		for v := range x {
			x[v] = s.start[v][w]
		}
		for d := range p.Days {
			c := &p.Capacity[d]
			hours, litres, any := c.PresentH, c.ClothL, false
			for v := range x {
				ves := &p.Vessels[v]
				above := h.AboveGL
				if above <= 0 {
					above = ves.ReadyGL
				}
				share := 0.0
				if c.PresentH > 0 && (h.Days == nil || h.Days[d]) && x[v] >= math.Log(above) && hours >= ves.SetupH {
					share = min(h.Share, litres/s.litres[v])
					if ves.LPerH > 0 {
						share = min(share, (hours-ves.SetupH)*ves.LPerH/s.litres[v])
					}
				}
				if share > 0 {
					any = true
					out.visits[w]++
					hours -= ves.SetupH
					if ves.LPerH > 0 {
						hours -= share * s.litres[v] / ves.LPerH
					}
					litres -= share * s.litres[v]
					out.total[d*n+w] += share * math.Exp(x[v]) * s.volume[v][w]
					x[v] += math.Log1p(-share)
					out.below[w] = out.below[w] || math.Exp(x[v]) < ves.FloorGL*(1-1e-9)
					switch s.why[v][d] {
					case "", WhyNoLeft, WhyNobody:
					default:
						out.forbidden[w] = true
					}
				}
				x[v] = s.tables[v].after(w, d, x[v])
			}
			if any {
				out.days[w]++
			}
		}
		for v := range x {
			out.end[w] += math.Exp(x[v]) * s.volume[v][w]
		}
	}
	return out
}
