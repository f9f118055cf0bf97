package scenario

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/medium"
	"sodalake/science/pond"
)

// runner is a scenario on its way.
type runner struct {
	f      *File
	v      pond.Vessel
	sky    weather
	res    *Result
	hourly bool
	led    pond.Ledger
	solver *brine.Solver
	fed    brine.Totals // what growth had taken when it was last fed [mol]
	fullM  float64
}

// Run runs a scenario. open opens the weather file that the scenario names;
// hourly asks for rows by the hour too; progress, if not nil, is called after
// every day.
func Run(ctx context.Context, f *File, open func(name string) (io.ReadCloser, error), hourly bool, progress func(day, of int)) (*Result, error) {
	r := &runner{f: f, res: &Result{Notes: []string{}, Cautions: []string{}}, hourly: hourly, solver: brine.New(brine.Pitzer), fullM: f.levelM}
	if err := r.build(); err != nil {
		return nil, err
	}
	if err := r.openWeather(open); err != nil {
		return nil, err
	}
	from := f.start
	for day := range f.Days {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		begin, to := farm.DayOf(from, f.zone)
		if err := r.day(begin, from, to); err != nil {
			return nil, err
		}
		from = to
		if progress != nil {
			progress(day+1, f.Days)
		}
	}
	return r.res, nil
}

// build makes the vessel with its medium and culture.
func (r *runner) build() error {
	f := r.f
	spec, _ := f.Described()
	if f.place == "indoors" && f.Weather.Constant != nil {
		spec.Place = "" // a room that is told: no window, its own air and lamp
	}
	v, err := model.Vessel(&spec)
	if err != nil {
		return err
	}
	if spec.Place == "" && f.place == "indoors" {
		v.Setting.OnStand, v.Setting.InGround = true, false
	}
	p := growth.Default()
	for name, x := range f.Culture.Parameters {
		if err := p.Set(name, x); err != nil {
			return bad("culture.parameters."+name, "%s", err.Error())
		}
	}
	if err := p.Validate(); err != nil {
		var pe *growth.ParamError
		if errors.As(err, &pe) {
			return bad("culture.parameters."+pe.Name, "%s", err.Error())
		}
		return err
	}
	v.Growth = growth.NewModel(p)
	if err := model.Fill(&v, f.Salts(), v.Shape.VolumeL(f.levelM), 20); err != nil {
		return err
	}
	if err := r.bringMedium(&v); err != nil {
		return err
	}
	v.BiomassG = f.Culture.DensityGPerL * v.VolumeL()
	v.Start()
	r.v = v
	r.res.Assumptions = append(r.res.Assumptions,
		"one well mixed body of water; ten-minute steps; parameters of growth: the default set where the scenario names none",
		fmt.Sprintf("the cake takes %d g of medium a gram of dry matter; the rest of the filtrate goes back", cakeWaterGPerG),
		"times of day are local to "+f.zone.String())
	if f.Feed.Rule == "replace" {
		r.res.Assumptions = append(r.res.Assumptions, "feed replaces, once a day, what growth took since: carbon as carbon dioxide, nitrogen as nitrate, and P, K, Mg, S, Ca, Fe as salts")
	}
	if f.Culture.DensityGPerL > 0 && v.Mol[brine.NO3]+v.Mol[brine.Ammonia]+v.Mol[brine.Urea] <= 0 {
		r.res.Notes = append(r.res.Notes, "the medium holds no nitrogen: nothing will grow until it is fed")
	}
	return nil
}

// Described returns the vessel as a farm describes it, and the depth of its
// water [m].
func (f *File) Described() (farm.Vessel, float64) {
	return farm.Vessel{
		ID: "scenario", Shape: f.shape, Place: f.place, ShadePct: f.ShadePct, InGround: f.inGround, Lit: f.lit,
		Cover:    farm.Cover{Kind: f.Cover.Kind, Transmission: f.Cover.Transmission, Vents: f.Cover.Vents},
		Stirring: farm.Stirring{Kind: f.Stirring.Kind, TimesPerDay: f.Stirring.TimesPerDay},
	}, f.levelM
}

// Salts returns the medium by its salts [g/L].
func (f *File) Salts() map[string]float64 {
	if f.Medium.Recipe != "" {
		recipe, _ := medium.Find(f.Medium.Recipe)
		return recipe.SaltsGPerL
	}
	return f.Medium.SaltsGPerL
}

// bringMedium moves the fresh medium to the pH or the air it is said to have.
func (r *runner) bringMedium(v *pond.Vessel) error {
	m := &r.f.Medium
	if m.PH25C == nil && m.PCO2PPM == nil {
		return nil
	}
	t := v.Molality()
	var w brine.Water
	var err error
	if m.PH25C != nil {
		err = r.solver.HoldPH(&t, 25, *m.PH25C, brine.ByCO2, &w)
	} else {
		err = r.solver.OpenTo(&t, 25, *m.PCO2PPM*1e-6, &w)
	}
	if err != nil {
		return bad("medium", "medium cannot be brought there: %v", err)
	}
	for k := range t {
		v.Mol[k] = t[k] * v.WaterKg
	}
	v.Start()
	return nil
}

// day runs one local day, which began at begin, from a moment on and writes its
// row.
func (r *runner) day(begin, from, to time.Time) error {
	w, err := r.sky.day(from, to)
	if err != nil {
		return err
	}
	if len(r.res.Days) == 0 {
		r.settle(w, from, to)
	}
	row := DayRow{Date: from.Format(time.DateOnly), TempMinC: math.Inf(1), TempMaxC: math.Inf(-1)}
	before := r.v.BiomassG
	area := r.v.Shape.SurfaceM2(r.v.Shape.LevelM(r.v.VolumeL()))
	var seconds, light, lightS float64
	last := from
	see := func(t time.Time, s *pond.Seen) {
		dt := t.Sub(last).Seconds()
		last = t
		tempC := r.v.Heat.WaterC
		row.TempMinC, row.TempMaxC = math.Min(row.TempMinC, tempC), math.Max(row.TempMaxC, tempC)
		row.TempMeanC += tempC * dt
		seconds += dt
		if s.LevelM > 0 {
			open := math.Min(r.v.Shape.SurfaceM2(s.LevelM), r.v.Shape.SurfaceM2(r.v.Shape.RimM()))
			row.EvaporationMM += (s.Heat.EvaporatedKg - s.Heat.CondensedKg) / math.Max(open, 1e-6)
		}
		if !r.hourly {
			return
		}
		light, lightS = light+s.PAR*dt, lightS+dt
		if t = t.In(r.f.zone); t.Minute() == 0 && t.Second() == 0 {
			r.res.Hours = append(r.res.Hours, HourRow{
				Time: t.Format(time.RFC3339), TempC: round(tempC, 3), DensityGPerL: round(s.DensityGL, 5),
				PH: round(s.PH, 4), PARUmolM2S: round(light/lightS, 2),
			})
			light, lightS = 0, 0
		}
	}
	// The hour is that of the wall, also on the day the clocks change. A day
	// that is begun later than that has no harvest.
	y, m, d := begin.Date()
	h := *r.f.Harvest.Hour
	at := time.Date(y, m, d, int(h), int(math.Mod(h, 1)*60+0.5), 0, 0, r.f.zone)
	switch { // an hour that the clocks leave out
	case at.After(to):
		at = to
	case at.Before(begin):
		at = begin
	}
	if !at.Before(from) {
		r.v.Run(from, at, w, nil, &r.led, see, nil)
		row.HarvestedDryG = r.harvest()
		row.FedG = r.feed()
		if r.f.Water.Rule == "top-up" {
			r.v.Do(&pond.Act{FillToM: r.fullM}, &r.led)
		}
		from = at
	}
	r.v.Run(from, to, w, nil, &r.led, see, nil)

	row.TempMeanC /= math.Max(seconds, 1)
	row.DensityGPerL, row.VolumeL = r.v.DensityGL(), r.v.VolumeL()
	if area > 0 {
		row.ProductivityGPerM2 = (r.v.BiomassG - before + row.HarvestedDryG) / area
	}
	if r.v.WaterKg > 0 {
		t := r.v.Molality()
		var water brine.Water
		if err := r.solver.Solve(&t, 25, &water); err == nil {
			row.PH25C, row.ConductivityMSCM = water.PH, brine.ConductivityMSCm25(&water)
		}
	}
	row.round()
	r.res.Days = append(r.res.Days, row)
	r.warn(&row)
	return nil
}

// settle begins the vessel in its first weather: the water at the mean air of
// the day or a little above freezing, the ground with it.
func (r *runner) settle(w *pond.Weather, from, to time.Time) {
	mean, n := 0.0, 0.0
	for i := range w.Outside {
		if t := w.Start.Add(time.Duration(i) * pond.StepS * time.Second); !t.Before(from) && t.Before(to) {
			mean += w.Outside[i].AirC
			n++
		}
	}
	tempC := math.Max(mean/math.Max(n, 1), 1)
	if r.v.Setting.Indoors {
		tempC = r.v.Setting.RoomC
	}
	first := min(max(int(from.Sub(w.Start)/(pond.StepS*time.Second)), 0), len(w.Outside)-1)
	r.v.Heat = r.v.Setting.Start(&w.Outside[first], tempC)
	r.v.Start()
}
