package keeper

import (
	"context"
	"math"
	"runtime"
	"strings"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/num"
	"sodalake/science/plan"
	"sodalake/science/pond"
	"sodalake/science/twin"
)

// planDraws is how many members a plan is found with at most, and roughDraws
// with how many the first, rough one is, whose harvests the second goes by.
const (
	planDraws  = 100
	roughDraws = 24
)

// planned is one vessel as a plan takes it: its members as they stood when the
// plan was begun, which are carried on without the keeper.
type planned struct {
	spec  farm.Vessel
	ens   *twin.Ensemble
	n     float64
	out   PlanOf
	area  float64    // [m²]
	level []num.Band // of the forecast, by day [cm]
	full  float64    // level to fill to [cm]
	busy  bool       // harvested on the first day already

	moments []time.Time // the first is now where the hour of the harvest has gone by
	fed     []float64   // dry matter that is fed back, by day; nil: none [g]
	model   *plan.Ponds
}

// makePlan works a plan out.
func (k *Keeper) makePlan(ctx context.Context, at time.Time, progress func(float64)) (*HarvestPlan, error) {
	told := func(share float64) {
		if progress != nil {
			progress(share)
		}
	}
	out, all, w, err := k.gatherPlan(ctx, at)
	if err != nil {
		return nil, err
	}
	var use []*planned
	for i := range all {
		if all[i].out.Left == "" {
			use = append(use, &all[i])
		}
	}
	moments := make([]time.Time, len(out.Days)+1)
	for d := range out.Days {
		moments[d] = out.Days[d].At
	}
	moments[len(out.Days)] = w.last
	if len(use) > 0 {
		if err := k.search(ctx, out, use, w, moments, told); err != nil {
			return nil, err
		}
	}
	for i := range all {
		out.Vessels = append(out.Vessels, all[i].out)
	}
	told(1)
	return out, nil
}

// planWeather is the weather of a horizon: one whole course for each draw.
type planWeather struct {
	draws []*pond.Weather
	last  time.Time
}

// courses joins the days from one moment to another into whole courses.
func courses(w *weathers, from, to time.Time) (*planWeather, error) {
	var days []*dayWeather
	n := 1
	for at := from; ; {
		day, err := w.day(at)
		if err != nil {
			return nil, err
		}
		days, n = append(days, day), max(n, len(day.draws))
		if at = day.to.Add(time.Hour); !day.to.Before(to) {
			break
		}
	}
	out := &planWeather{draws: make([]*pond.Weather, n), last: to}
	start := days[0].draws[0].Start
	end := days[len(days)-1].draws[0]
	steps := int(end.Start.Sub(start)/step) + len(end.Outside)
	for i := range out.draws {
		course := &pond.Weather{Start: start, Outside: make([]air.Outside, steps)}
		for _, day := range days {
			d := day.draws[i%len(day.draws)]
			copy(course.Outside[d.Start.Sub(start)/step:], d.Outside)
		}
		out.draws[i] = course
	}
	return out, nil
}

// gatherPlan takes what a plan needs out of the keeper: it holds the twins only
// for as long as it takes to copy them.
func (k *Keeper) gatherPlan(ctx context.Context, at time.Time) (*HarvestPlan, []planned, *planWeather, error) {
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return nil, nil, nil, err
	}
	f := k.follow
	f.mu.Lock()
	defer f.mu.Unlock()
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	_, until := marksOf(p, at)
	if err := f.bring(ctx, p, until); err != nil {
		return nil, nil, nil, err
	}
	_, zone, _ := site(p)
	wish := wishOf(p, at)
	moments := wish.moments(at, zone)
	wish.aim(moments) // says whether its date has gone by
	out := &HarvestPlan{At: moments[0], Entry: p.Seq(), Wish: wish, Days: []PlanDay{}, Vessels: []PlanOf{}, Against: []PlanRule{}, Holds: []PlanHold{}, Quick: f.quick}
	for _, t := range moments[:horizonDays] {
		out.Days = append(out.Days, PlanDay{Date: t.Format(time.DateOnly), At: t, Here: wish.here(t)})
	}
	earliest := moments[0]
	if at.Before(earliest) {
		earliest = at
	}
	spared := !livingReserve(p, a, at)
	var all []planned
	for _, spec := range p.Vessels() {
		if spec.Retired {
			continue
		}
		one := planned{spec: spec, out: PlanOf{Vessel: spec.ID, Name: spec.Name, Acts: []PlanAct{}, Spared: spared}}
		t, l := f.tracks[spec.ID], a.looks[spec.ID]
		switch {
		case spec.Use == "reserve" || spec.Use == "starter":
			one.out.Left = "reserve"
		case t == nil || l == nil:
			one.out.Left = "unknown"
		case t.ens == nil || !l.started || l.t.begun.At.IsZero():
			one.out.Left = "empty"
		case spec.Food && len(p.OnHold(spec.ID, at)) > 0:
			one.out.Left = "held"
		default:
			one.ens, one.n = t.ens.Copy(), t.n
			one.area, one.full = l.areaM2, spec.FullLevelCM
			one.out.ShadePc, one.out.FloorGL = t.shadePct, plan.FloorGL(t.shadePct)
			if spec.Place == "indoors" || t.base.Side {
				one.out.FloorGL = plan.ShadedFloorGL
			}
			for i := range l.forecast.Days {
				one.level = append(one.level, l.forecast.Days[i].LevelCM)
			}
			day, _ := farm.DayOf(moments[0], zone)
			for _, e := range p.Timeline(spec.ID, day, at.Add(time.Second)) {
				one.busy = one.busy || e.Kind.Name == "harvested"
			}
			for i := range one.ens.Members {
				if !(one.ens.Members[i].Pond.DensityGL() > 1e-4) {
					one.out.Left = "empty"
				}
			}
			if one.ens.At.Before(earliest) {
				earliest = one.ens.At
			}
		}
		all = append(all, one)
	}
	w, err := courses(f.weather, earliest, moments[horizonDays])
	if err != nil {
		return nil, nil, nil, err
	}
	out.Against = append(out.Against, PlanRule{Rule: "half", Share: plan.HalfWhenDark().Share, AboveGL: plan.DefaultReadyGL})
	if own, ok := ownRule(p, f.tracks, at); ok {
		out.Against = append(out.Against, own)
	}
	for i := range all {
		if all[i].out.Left == "" {
			all[i].out.Acts = make([]PlanAct, horizonDays)
			for d, t := range moments[:horizonDays] {
				all[i].out.Acts[d] = PlanAct{Date: t.Format(time.DateOnly), At: t, FeedSalt: feedSalt(p), Lot: all[i].spec.Food, Forecast: a.sky[t.Format(time.DateOnly)]}
			}
		}
	}
	return out, all, w, nil
}

// members takes draws members evenly out of all and carries them to the first
// moment.
func (v *planned) members(draws int, w *planWeather, moments []time.Time) {
	n := len(v.ens.Members)
	draws = min(draws, n)
	v.moments = append([]time.Time(nil), moments...)
	if v.ens.At.After(moments[0]) {
		v.moments[0] = v.ens.At
	}
	stood, under := make([]pond.Vessel, draws), make([]*pond.Weather, draws)
	spread(draws, func(i int, s *brine.Solver) {
		m := v.ens.Members[i*n/draws]
		course := w.draws[m.Draw%len(w.draws)]
		m.Pond.Use(s)
		m.Pond.Settle()
		m.Pond.Run(v.ens.At, v.moments[0], course, nil, nil, nil, nil)
		stood[i], under[i] = m.Pond, course
	})
	// What goes by evaporation is filled up every day, so that a litre stays a
	// litre; what is taken is fed back on the day of the harvest.
	salt := v.out.Acts[0].FeedSalt
	acts := make([][]pond.Act, draws)
	for i := range acts {
		fill := stood[i].Shape.LevelM(stood[i].VolumeL())
		for d := range horizonDays {
			act := pond.Act{At: v.moments[d].Add(10 * time.Minute), FillToM: fill}
			if v.fed != nil && v.fed[d] > 0 {
				if give, ok := dissolve(map[string]float64{salt: gramsFor(salt, v.fed[d])}, 1/v.n); ok {
					act.Salts = give
				}
			}
			acts[i] = append(acts[i], act)
		}
	}
	v.model = plan.NewPonds(stood, under, v.moments, func(draw int) []pond.Act { return acts[draw] })
}

// gramsFor is how much of a salt brings the nitrogen of dryG of dry matter [g].
func gramsFor(salt string, dryG float64) float64 {
	share := nitrogenShare[salt]
	if share == 0 {
		share = nitrogenShare["KNO3"]
	}
	return dryG * advice.NitrogenShare / share
}

// spread calls do for each of n on all processors, with a solver of its own.
func spread(n int, do func(i int, s *brine.Solver)) {
	var wait sync.WaitGroup
	var mu sync.Mutex
	next := 0
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			s := brine.New(brine.Pitzer)
			for {
				mu.Lock()
				i := next
				next++
				mu.Unlock()
				if i >= n {
					return
				}
				do(i, s)
			}
		})
	}
	wait.Wait()
}

// search finds the plan: a rough one by few draws along the vessels as they
// would grow unharvested, and the plan itself along the way of the rough one.
func (k *Keeper) search(ctx context.Context, out *HarvestPlan, use []*planned, w *planWeather, moments []time.Time, told func(float64)) error {
	const roughly = 0.25 // of the time, about [1]
	made, _, err := k.oneSearch(ctx, out, use, w, moments, roughDraws, nil, func(x float64) { told(roughly * x) })
	if err != nil {
		return err
	}
	made, draws, err := k.oneSearch(ctx, out, use, w, moments, planDraws, made, func(x float64) { told(roughly + (1-roughly)*x) })
	if err != nil {
		return err
	}
	out.Draws = draws
	tell(out, use, made)
	return nil
}

// oneSearch finds a plan with so many draws, along the harvests of another.
func (k *Keeper) oneSearch(ctx context.Context, out *HarvestPlan, use []*planned, w *planWeather, moments []time.Time, draws int, along *plan.Plan, told func(float64)) (*plan.Plan, int, error) {
	for _, v := range use {
		draws = min(draws, len(v.ens.Members))
	}
	p := &plan.Problem{
		Days: horizonDays, Draws: draws, FreezerKg: out.Wish.freezerKg(), PasteDry: pasteDry, Risk: out.Wish.Risk, Limits: plan.DefaultLimits(),
		Aim: out.Wish.aim(moments), Explain: along != nil, Seed: k.opt.Seed,
	}
	for _, t := range moments[:horizonDays] {
		p.Capacity = append(p.Capacity, out.Wish.capacity(t))
	}
	if along != nil {
		for _, r := range out.Against {
			h := plan.Habit{Name: r.Rule, Share: r.Share, AboveGL: r.AboveGL}
			if r.Rule == "half" {
				h.AboveGL = 0 // of each vessel its own
			}
			p.Habits = append(p.Habits, h)
		}
	}
	stands := 0.0
	for i, v := range use {
		if err := ctx.Err(); err != nil {
			return nil, 0, err
		}
		var shares []float64
		v.fed = nil
		if along != nil {
			shares, v.fed = make([]float64, horizonDays), make([]float64, horizonDays)
			for d, a := range along.Vessels[i].Acts {
				shares[d], v.fed[d] = a.Share, a.DryG.Mid
			}
		}
		v.members(draws, w, moments)
		spread(draws, func(draw int, _ *brine.Solver) { v.model.Rebase(draw, shares) })
		pv := v.problem(draws)
		if along == nil {
			pv.Nodes = 5 // a rough one
		}
		pv.SetupH = out.Wish.SetupMin / 60
		if out.Wish.ClothLH != nil {
			pv.LPerH = *out.Wish.ClothLH
		}
		stands += median(pv.StartGL) * median(pv.VolumeL) / float64(len(use))
		p.Vessels = append(p.Vessels, pv)
	}
	// A harvest that brings less than one part in twenty of what stands is not
	// worth the cloth. Judgement, no source.
	p.VisitG = 0.05 * stands
	made, err := plan.Make(ctx, p, func(x plan.Progress) { told(float64(x.Done) / float64(max(x.Of, 1))) })
	return made, draws, err
}

// problem is the vessel as the search wants it.
func (v *planned) problem(draws int) plan.Vessel {
	out := plan.Vessel{
		Name: v.spec.Name, Grow: v.model.Grow, FloorGL: v.out.FloorGL, ReadyGL: readyOf(&v.spec), LeastShare: 0.05,
		MostShare: advice.DefaultRules().MaxShare, // what the day list says too
		NoReserve: v.out.Spared, Closed: make([]string, horizonDays),
	}
	food := v.spec.Food
	out.Conditions = func(draw, day int) plan.Conditions {
		c := v.model.Conditions(draw, day)
		if !food {
			c.PH25 = math.NaN() // nobody eats it
		}
		return c
	}
	for i := range draws {
		out.StartGL = append(out.StartGL, v.model.StartGL(i))
		out.VolumeL = append(out.VolumeL, v.model.VolumeL(i)*v.n)
	}
	if v.busy {
		out.Closed[0] = "done"
	}
	return out
}

// tell puts what the search found into the words of a farm.
func tell(out *HarvestPlan, use []*planned, made *plan.Plan) {
	for d := range made.Days {
		from, to := &made.Days[d], &out.Days[d]
		to.Vessels, to.LitresL, to.WorkH, to.DryG, to.PasteKg, to.Over = from.Vessels, from.LitresL, from.WorkH, from.DryG, from.PasteKg, from.Over
	}
	for i, v := range use {
		from := &made.Vessels[i]
		v.out.StandsG = from.EndG
		poured := 0.0
		for d := range from.Acts {
			a, to := &from.Acts[d], &v.out.Acts[d]
			to.Share, to.LitresL, to.DryG, to.BeforeGL, to.AfterGL, to.Below = a.Share, a.LitresL, a.DryG, a.BeforeGL, a.AfterGL, a.Below
			to.PasteG = num.Band{Low: a.PasteKg.Low * 1000, Mid: a.PasteKg.Mid * 1000, High: a.PasteKg.High * 1000}
			to.Why = strings.TrimSpace(a.Why)
			if a.Share <= 0 {
				to.BeforeGL, to.AfterGL = a.BeforeGL, a.BeforeGL
				continue
			}
			to.FeedG = gramsFor(to.FeedSalt, a.DryG.Mid)
			to.TopUpL, poured = v.topUp(d, a.DryG.Mid, poured)
			to.LevelCM = v.fillTo()
		}
	}
	out.Total = totalOf(&made.Outcome)
	for i := range out.Against {
		c := &made.Against[i]
		r := &out.Against[i]
		r.Total, r.Closed, r.GainG, r.EndG, r.AheadBy = totalOf(&c.Habit), c.Habit.Forbidden, c.GainG, c.EndG, c.AheadBy
		r.Gain = c.GainG.Low > 0 || c.GainG.High < 0
	}
	for _, l := range made.Limits {
		out.Holds = append(out.Holds, PlanHold{l.Kind, l.GainG})
	}
	if s := made.Short; s != nil {
		out.Short = &PlanShort{WantedG: s.WantedG, PossibleG: s.PossibleG}
		if len(s.Limits) > 0 {
			out.Holds = out.Holds[:0]
			for _, l := range s.Limits {
				out.Holds = append(out.Holds, PlanHold{l.Kind, l.GainG})
			}
		}
	}
}

// fillTo is the level that the vessel is filled up to [cm]; 0: not known.
func (v *planned) fillTo() float64 {
	if len(v.level) == 0 {
		return 0
	}
	if v.full > v.level[0].Mid {
		return v.full
	}
	return v.level[0].Mid
}

// topUp is the water that goes in after a harvest on a day [L]: for what the
// forecast lets fall since the start and is not poured yet, and for what left
// with the cake. It returns what is poured by then.
func (v *planned) topUp(d int, dryG, poured float64) (litres, since float64) {
	if d < len(v.level) && v.area > 0 {
		fallen := (v.fillTo() - v.level[d].Mid) / 100 * v.area * 1000
		litres = math.Max(fallen-poured, 0)
	}
	return litres + dryG*cakeWaterGPerG/1000, poured + litres
}

func totalOf(o *plan.Outcome) PlanTotal {
	t := PlanTotal{DryG: o.DryG, WeekG: o.WeekG, WeekReached: o.WeekReached, StandsG: o.EndG, Days: o.HarvestDays, Below: o.Below, Over: o.Over, SpoiledG: o.SpoiledG}
	if t.WeekG == nil {
		t.WeekG = []num.Band{}
	}
	return t
}
