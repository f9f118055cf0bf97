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

// weather gives the outside of a day. A series is sampled in blocks of days:
// the sun of the night before and after is then worked out once for all of them.
type weather struct {
	site   sky.Site
	series *sky.Series
	still  *ConstantRow
	room   bool    // constant weather indoors
	windM  float64 // height of a constant wind [m]
	side   float64 // light above over light on the wall, for a vessel lit from the side
	zone   *time.Location
	end    time.Time // of the scenario
	block  pond.Weather
}

// blockDays is how many days are sampled at once.
const blockDays = 30

// openWeather readies the weather that the scenario names.
func (r *runner) openWeather(open func(name string) (io.ReadCloser, error)) error {
	f := r.f
	r.sky = weather{site: sky.Site{LatDeg: *f.Site.LatDeg, LonDeg: *f.Site.LonDeg, ElevationM: f.Site.ElevationM}, zone: f.zone, side: 1, windM: f.Weather.WindHeightM, room: f.place == "indoors"}
	r.sky.end = f.start.AddDate(0, 0, f.Days)
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
		if !r.v.Side {
			r.res.Assumptions = append(r.res.Assumptions, "constant weather; its light comes evenly from above")
			break
		}
		// What falls on a wall out of an even sky, per light from above.
		r.sky.side = 1 / (0.5 + r.v.Setting.GroundAlbedo/2)
		r.res.Assumptions = append(r.res.Assumptions, "constant weather; its light falls on the wall of the vessel all round")
	}
	return nil
}

// Normals returns the twelve months of the scenario, for one whose weather is
// monthly.
func (f *File) Normals() sky.Normals {
	var n sky.Normals
	for i, m := range f.Weather.Monthly {
		row := sky.UnknownMonth()
		row.GHIMJM2D, row.MinC, row.MaxC = *m.GHIMJM2D, *m.TMinC, *m.TMaxC
		if m.TMeanC != nil {
			row.MeanC = *m.TMeanC
		}
		row.RHPct, row.RainMM, row.RainDays = *m.RHPct, m.RainMM, m.RainDays
		row.WindMS = air.WindAt2M(*m.WindMS, f.Weather.WindHeightM)
		n[i] = row
	}
	return n
}

// monthly makes the days of the scenario from twelve rows.
func (r *runner) monthly() error {
	f := r.f
	n := f.Normals()
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

// day returns weather that covers a local day, on the grid of the model.
func (w *weather) day(from, to time.Time) (*pond.Weather, error) {
	const step = pond.StepS * time.Second
	end := w.block.Start.Add(time.Duration(len(w.block.Outside)) * step)
	if len(w.block.Outside) > 0 && !from.Before(w.block.Start) && !to.After(end) {
		return &w.block, nil
	}
	start := from.UTC()
	until := from.AddDate(0, 0, blockDays)
	if w.end.Before(until) {
		until = w.end
	}
	if to.After(until) {
		until = to
	}
	n := int((until.Sub(start) + step - 1) / step)
	if cap(w.block.Outside) < n {
		w.block.Outside = make([]air.Outside, n)
	}
	w.block.Start, w.block.Outside = start, w.block.Outside[:n]
	if w.still != nil {
		w.constant(&w.block)
		return &w.block, nil
	}
	if err := w.series.Sample(w.site, sky.Options{}, start, step, w.block.Outside); err != nil {
		w.block.Outside = w.block.Outside[:0]
		return nil, fromSky("weather", err)
	}
	return &w.block, nil
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
		// Of a lamp only the light itself is told; the sun brings as much again.
		ghi = par / sky.PhotonsPerJoule
		if !w.room {
			ghi /= sky.DefaultPARShare
		}
	}
	pressure := air.Pressure(w.site.ElevationM)
	if c.PressureHPa != nil {
		pressure = *c.PressureHPa / 10
	}
	tempC := *c.TAirC
	vapour := air.Saturation(tempC) * *c.RHPct / 100
	longwave := air.Longwave(1, tempC) // a room or an overcast sky: black at air temperature
	if c.LongwaveWM2 != nil {
		longwave = *c.LongwaveWM2
	}
	par, ghi = par*w.side, ghi*w.side
	wind := air.WindAt2M(c.WindMS, w.windM)
	const step = pond.StepS * time.Second
	for i := range out.Outside {
		o := &out.Outside[i]
		mid := out.Start.Add(time.Duration(i)*step + step/2).In(w.zone)
		lit := true
		if c.PhotoperiodH != nil {
			hour := float64(mid.Hour()) + float64(mid.Minute())/60
			lit = math.Abs(hour-12) < *c.PhotoperiodH/2
		}
		*o = air.Outside{AirC: tempC, VapourKPa: vapour, WindMS: wind, PressureKPa: pressure, LongwaveWM2: longwave, RainMMPerH: c.RainMM / 24, GroundDeepC: tempC}
		if lit {
			o.DiffuseWM2, o.DiffusePAR = ghi, par
		}
	}
}
