package scenario

import (
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"time"

	"sodalake/farm"
	"sodalake/science/air"
	"sodalake/science/pond"
	"sodalake/science/sky"
)

// weather gives the outside of a day.
type weather struct {
	site   sky.Site
	series *sky.Series
	still  *ConstantRow
	zone   *time.Location
}

// openWeather readies the weather that the scenario names.
func (r *runner) openWeather(open func(name string) (io.ReadCloser, error)) error {
	f := r.f
	r.sky = weather{site: sky.Site{LatDeg: f.Site.LatDeg, LonDeg: f.Site.LonDeg, ElevationM: f.Site.ElevationM}, zone: f.zone}
	switch w := &f.Weather; {
	case w.HourlyCSV != "":
		file, err := open(w.HourlyCSV)
		if err != nil {
			return bad("weather.hourly_csv", "weather.hourly_csv %q cannot be opened: %v", w.HourlyCSV, err)
		}
		defer file.Close()
		series, notes, err := ReadHourly(file)
		if err != nil {
			return err
		}
		series.WindHeightM = w.WindHeightM
		r.sky.series = &series
		r.res.Notes = append(r.res.Notes, notes...)
		r.res.Assumptions = append(r.res.Assumptions, fmt.Sprintf("wind of the weather file at %g m, brought to 2 m; stamps are hour ends in UTC", w.WindHeightM))
	case w.Monthly != nil:
		return r.monthly()
	case w.Constant != nil:
		r.sky.still = w.Constant
		r.res.Assumptions = append(r.res.Assumptions, "constant weather; its light comes evenly from above")
	}
	return nil
}

// monthly makes the days of the scenario from twelve rows.
func (r *runner) monthly() error {
	f := r.f
	var n sky.Normals
	for i, m := range f.Weather.Monthly {
		row := sky.UnknownMonth()
		row.GHIMJM2D, row.MinC, row.MaxC = m.GHIMJM2D, m.TMinC, m.TMaxC
		if m.TMeanC != nil {
			row.MeanC = *m.TMeanC
		}
		row.RHPct, row.RainMM, row.RainDays = m.RHPct, m.RainMM, m.RainDays
		row.WindMS = air.WindAt2M(m.WindMS, f.Weather.WindHeightM)
		n[i] = row
	}
	from := f.start.AddDate(0, 0, -2).UTC().Truncate(time.Hour)
	if f.Seed == nil {
		y0, y1 := from.Year(), f.start.AddDate(0, 0, f.Days+2).Year()
		var all *sky.Series
		for y := y0; y <= y1; y++ {
			s, err := n.Mean(r.sky.site, y)
			if err != nil {
				return fromSky("weather.monthly", err)
			}
			if all == nil {
				all = &s
				continue
			}
			all.Hours = append(all.Hours, s.Hours...)
		}
		r.sky.series = all
		r.res.Assumptions = append(r.res.Assumptions, "mean days of each month, without the spread of real weather; give a seed to draw days")
		return nil
	}
	g, err := sky.FromNormals(n, r.sky.site)
	if err != nil {
		return fromSky("weather.monthly", err)
	}
	s := g.Generate(from, f.Days+5, rand.New(rand.NewPCG(*f.Seed, 1)))
	r.sky.series = &s
	r.res.Assumptions = append(r.res.Assumptions, fmt.Sprintf("days drawn around the months with seed %d", *f.Seed))
	return nil
}

func fromSky(field string, err error) error {
	var in *sky.InputError
	if errors.As(err, &in) {
		return &farm.Error{Code: farm.Invalid, Field: field, Message: field + ": " + in.Error(), Hint: in.Hint}
	}
	return err
}

// day returns the outside of a local day on the grid of the model.
func (w *weather) day(from, to time.Time) (*pond.Weather, error) {
	start := from.UTC().Truncate(pond.StepS * time.Second)
	n := int((to.Sub(start) + pond.StepS*time.Second - 1) / (pond.StepS * time.Second))
	out := &pond.Weather{Start: start, Outside: make([]air.Outside, n)}
	if w.still != nil {
		w.constant(out)
		return out, nil
	}
	if err := w.series.Sample(w.site, sky.Options{}, start, pond.StepS*time.Second, out.Outside); err != nil {
		return nil, fromSky("weather", err)
	}
	return out, nil
}

// constant fills a day with weather that stays.
func (w *weather) constant(out *pond.Weather) {
	c := w.still
	par := c.PARUmolM2S
	if par == 0 {
		par = sky.PAR(c.GHIWM2, sky.DefaultPARShare)
	}
	ghi := c.GHIWM2
	if ghi == 0 {
		ghi = par / (sky.DefaultPARShare * sky.PhotonsPerJoule)
	}
	pressure := air.Pressure(w.site.ElevationM)
	if c.PressureHPa != nil {
		pressure = *c.PressureHPa / 10
	}
	vapour := air.Saturation(c.TAirC) * c.RHPct / 100
	longwave := air.Longwave(1, c.TAirC) // a room or an overcast sky: black at air temperature
	if c.LongwaveWM2 != nil {
		longwave = *c.LongwaveWM2
	}
	for i := range out.Outside {
		o := &out.Outside[i]
		mid := out.Start.Add(time.Duration(float64(i)+0.5) * pond.StepS * time.Second).In(w.zone)
		lit := true
		if c.PhotoperiodH != nil {
			hour := float64(mid.Hour()) + float64(mid.Minute())/60
			lit = math.Abs(hour-12) < *c.PhotoperiodH/2
		}
		*o = air.Outside{AirC: c.TAirC, VapourKPa: vapour, WindMS: c.WindMS, PressureKPa: pressure, LongwaveWM2: longwave, RainMMPerH: c.RainMM / 24, GroundDeepC: c.TAirC}
		if lit {
			o.DiffuseWM2, o.DiffusePAR = ghi, par
		}
	}
}
