package design

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"runtime"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/science/air"
	"sodalake/science/pond"
	"sodalake/science/sky"
	"sodalake/science/twin"
)

// Run looks at all designs through all drawn years. progress, if not nil, is
// called after each drawn year, one call at a time.
func Run(ctx context.Context, a *Ask, progress func(year, of int)) (*Answer, error) {
	if err := a.check(); err != nil {
		return nil, told(err)
	}
	gen, err := sky.FromNormals(a.Place.Normals, a.Place.Site)
	if err != nil {
		return nil, told(err)
	}
	start := startOf(a.Place.Site)
	var second [13]bool
	for m := range 12 {
		_, _, meanC := gen.Clearness(m + 1)
		second[m+1] = meanC < ColdMonthC
	}
	setup := newSolver()
	members := make([][]twin.Member, len(a.Ponds))
	ponds := make([]pond.Vessel, len(a.Ponds))
	for i := range a.Ponds {
		base, err := a.Ponds[i].basis(setup)
		if err != nil {
			return nil, told(err)
		}
		ponds[i] = base
		members[i] = twin.New(&base, start, twin.Config{Members: a.Years, Draws: a.Years, Seed: a.Seed, Rough: a.Place.Guessed}).Members
	}
	const step = pond.StepS * time.Second
	anchor := start.AddDate(0, 0, -1)
	almanac := sky.NewAlmanac(a.Place.Site, anchor, daysOfYear+3)
	daylight := sky.NewDaylight(a.Place.Site, sky.DefaultLinke, anchor, start, step, 144*daysOfYear)

	courses := make([][]*course, len(a.Ponds))
	for i := range courses {
		courses[i] = make([]*course, a.Years)
	}
	var mu sync.Mutex
	var failed error
	next, done := 0, 0
	work := func() {
		s := newSolver()
		w := pond.Weather{Start: start, Outside: make([]air.Outside, 144*daysOfYear)}
		for {
			mu.Lock()
			y := next
			next++
			stop := failed != nil
			mu.Unlock()
			if y >= a.Years || stop {
				return
			}
			err := ctx.Err()
			if err == nil {
				series := gen.GenerateOn(almanac, rand.New(rand.NewPCG(a.Seed, uint64(y))))
				err = series.SampleOn(daylight, sky.Options{}, w.Outside)
			}
			for i := range a.Ponds {
				if err != nil {
					break
				}
				if err = ctx.Err(); err == nil {
					courses[i][y] = newGrower(&a.Ponds[i], members[i][y].Pond, s, second).year(&w, start)
				}
			}
			mu.Lock()
			if err != nil && failed == nil {
				failed = err
			}
			done++
			if progress != nil && failed == nil {
				progress(done, a.Years)
			}
			mu.Unlock()
		}
	}
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), a.Years) {
		wait.Go(work)
	}
	wait.Wait()
	if failed != nil {
		return nil, told(failed)
	}
	return a.answer(start, ponds, courses), nil
}

// startOf is midnight of the first day of the year that is looked at, by the
// mean time of the place to the full hour: 1 July north of the equator, 1
// January south of it.
func startOf(s sky.Site) time.Time {
	month := time.July
	if s.LatDeg < 0 {
		month = time.January
	}
	return time.Date(2025, month, 1, 0, 0, 0, 0, time.UTC).Add(-time.Duration(math.Round(s.LonDeg/15)) * time.Hour)
}

// told turns the errors of the sky into those of a farm.
func told(err error) error {
	var in *sky.InputError
	if errors.As(err, &in) {
		return &farm.Error{Code: farm.Invalid, Field: in.Field, Message: in.Error(), Hint: in.Hint}
	}
	return err
}
