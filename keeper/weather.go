package keeper

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"time"

	"sodalake/farm"
	"sodalake/science/air"
	"sodalake/science/pond"
	"sodalake/science/sky"
)

const step = pond.StepS * time.Second

// weathers gives, for every local day, the weathers that the members live
// under: one where it was measured, else one for each draw, the same whenever
// they are asked for.
type weathers struct {
	site    sky.Site
	zone    *time.Location
	gen     sky.Generator
	guessed bool // nobody told the normals
	draws   int
	seed    uint64
	hours   map[int64]sky.Hour // measured or forecast, by hour since 1970
	skyline sky.Skyline

	mu     sync.Mutex
	months map[string][]drawnMonth
	days   map[string]*dayWeather
}

// drawnMonth is one draw of a month with what is known laid over it.
type drawnMonth struct {
	sky.Series
	groundC float64 // ground out of reach of the day: mean air as drawn [°C]
}

// dayWeather is a local day's weathers.
type dayWeather struct {
	from, to time.Time
	draws    []*pond.Weather
	measured bool
}

// newWeathers readies the weather of the farm as of a moment.
func newWeathers(ctx context.Context, p *farm.Present, store farm.Store, now time.Time, draws int, seed uint64) (*weathers, error) {
	s, zone, known := site(p)
	w := &weathers{
		site: sky.Site{LatDeg: s.LatDeg, LonDeg: s.LonDeg, ElevationM: s.ElevationM}, zone: zone, draws: draws, seed: seed,
		hours: map[int64]sky.Hour{}, months: map[string][]drawnMonth{}, days: map[string]*dayWeather{},
	}
	if !known {
		w.site.LatDeg = 30
	}
	for _, at := range s.Skyline {
		w.skyline = append(w.skyline, sky.Ridge{AzimuthDeg: at.AzimuthDeg, ElevationDeg: at.ElevationDeg})
	}
	var err error
	if told, ok := normalsOf(&s); ok {
		w.gen, err = sky.FromNormals(told, w.site)
	}
	if w.guessed = len(s.Normals) != 12 || err != nil; w.guessed {
		// Figures that no month can have are left aside like none: a slip in
		// them must not silence the whole farm.
		if w.gen, err = sky.FromNormals(sky.GuessNormals(w.site), w.site); err != nil {
			return nil, err
		}
	}
	return w, w.gather(ctx, p, store, s.ID, now)
}

// normalsOf returns the months that a site told; false if it told none.
func normalsOf(s *farm.Site) (sky.Normals, bool) {
	var n sky.Normals
	if len(s.Normals) != len(n) {
		return n, false
	}
	for i, m := range s.Normals {
		row := sky.UnknownMonth()
		row.GHIMJM2D, row.MinC, row.MaxC, row.RHPct = m.GHIMJM2D, m.TMinC, m.TMaxC, m.RHPct
		row.WindMS, row.RainMM, row.RainDays = air.WindAt2M(m.WindMS, 10), m.RainMM, m.RainDays
		n[i] = row
	}
	return n, true
}

// gather collects measured and forecast hours out of the weather batches. What
// was measured stands over what was forecast, later forecasts over earlier.
func (w *weathers) gather(ctx context.Context, p *farm.Present, store farm.Store, site string, now time.Time) error {
	from := now.AddDate(0, 0, -2*DefaultDays)
	for _, pass := range []string{"forecast", "measured"} {
		for _, ref := range p.Weather(site) {
			if ref.Made != pass || ref.End.Before(from) || ref.KnownAt().After(now) {
				continue
			}
			e, err := store.Entry(ctx, ref.EntryID)
			if err != nil {
				return err
			}
			b, bad := farm.DecodeBatch(farm.KindNamed("weather"), e.Body)
			if bad != nil || b.Step != time.Hour {
				continue // sampled otherwise than by the hour: left to a later version
			}
			w.take(b)
		}
	}
	return nil
}

// windHeightM is where wind stands in all series; drawn winds stand there by
// themselves, and what was measured elsewhere is brought to it.
const windHeightM = 2

func (w *weathers) take(b farm.Batch) {
	wind := 10.0 // where weather stations have theirs
	if b.WindHeightM > 0 {
		wind = b.WindHeightM
	}
	down := air.WindAt2M(1, wind)
	for i := range b.Rows() {
		hour := b.At(i).Unix() / 3600
		h, ok := w.hours[hour]
		if !ok {
			h = sky.Unknown()
		}
		for _, c := range []struct {
			key    string
			to     *float64
			factor float64
		}{
			{"ghi_w_m2", &h.GHIWM2, 1}, {"t_air_c", &h.AirC, 1}, {"rh_pct", &h.RHPct, 1}, {"wind_m_s", &h.WindMS, down},
			{"rain_mm", &h.RainMM, 1}, {"pressure_hpa", &h.PressureKPa, 0.1}, {"longwave_down_w_m2", &h.LongwaveWM2, 1},
		} {
			if col := b.Columns[c.key]; col != nil && !math.IsNaN(col[i]) {
				*c.to = col[i] * c.factor
			}
		}
		w.hours[hour] = h
	}
}

// whole reports whether an hour is known in what a sample needs.
func whole(h *sky.Hour) bool { return !math.IsNaN(h.GHIWM2 + h.AirC + h.RHPct + h.WindMS) }

// day returns the weathers of the local day that t lies in.
func (w *weathers) day(t time.Time) (*dayWeather, error) {
	from, to := farm.DayOf(t, w.zone)
	key := from.Format(time.DateOnly)
	w.mu.Lock()
	defer w.mu.Unlock()
	if have, ok := w.days[key]; ok {
		return have, nil
	}
	month, err := w.month(from)
	if err != nil {
		return nil, err
	}
	start := from.UTC().Truncate(step)
	n := int((to.Sub(start) + step - 1) / step)
	// One hour before and after: temperatures run from hour to hour.
	a, b := start.Add(-time.Hour).Truncate(time.Hour), to.Add(time.Hour)
	allMeasured := true
	for t := a; t.Before(b); t = t.Add(time.Hour) {
		if h, ok := w.hours[t.Unix()/3600]; !ok || !whole(&h) {
			allMeasured = false
			break
		}
	}
	draws := len(month)
	if allMeasured {
		draws = 1
	}
	out := &dayWeather{from: from, to: to, measured: allMeasured}
	light := sky.NewDaylight(w.site, sky.DefaultLinke, month[0].Start, start, step, n)
	for i := range draws {
		pw := &pond.Weather{Start: start, Outside: make([]air.Outside, n)}
		if err := month[i].SampleOn(light, sky.Options{Skyline: w.skyline, GroundKnown: true, GroundDeepC: month[i].groundC}, pw.Outside); err != nil {
			return nil, err
		}
		out.draws = append(out.draws, pw)
	}
	if len(w.days) > 60 {
		clear(w.days) // a run forward needs each day once
	}
	w.days[key] = out
	return out, nil
}

// month returns one series for each draw around the local month of t: drawn
// from the normals, what was measured or forecast laid over it.
//
// The ground keeps to what was drawn: the air of a later day must not reach back
// to the days before it.
func (w *weathers) month(t time.Time) ([]drawnMonth, error) {
	y, m, _ := t.Date()
	key := t.Format("2006-01")
	if have, ok := w.months[key]; ok {
		return have, nil
	}
	begin := time.Date(y, m, 1, 12, 0, 0, 0, w.zone).Add(-12 * time.Hour).UTC().Truncate(time.Hour).Add(-24 * time.Hour)
	end := time.Date(y, m+1, 1, 0, 0, 0, 0, w.zone).Add(25 * time.Hour)
	days := int(end.Sub(begin).Hours()/24) + 1
	almanac := sky.NewAlmanac(w.site, begin, days)
	out := make([]drawnMonth, w.draws)
	for i := range out {
		rng := rand.New(rand.NewPCG(w.seed+uint64(i)<<32, uint64(y*12+int(m))))
		out[i].Series = w.gen.GenerateOn(almanac, rng)
		for h := range out[i].Hours {
			out[i].groundC += out[i].Hours[h].AirC / float64(len(out[i].Hours))
		}
		for h := range out[i].Hours {
			hour := &out[i].Hours[h]
			told, ok := w.hours[out[i].Start.Add(time.Duration(h)*time.Hour).Unix()/3600]
			if !ok {
				continue
			}
			lay(&hour.GHIWM2, told.GHIWM2)
			lay(&hour.AirC, told.AirC)
			lay(&hour.RHPct, told.RHPct)
			lay(&hour.WindMS, told.WindMS)
			lay(&hour.RainMM, told.RainMM)
			lay(&hour.PressureKPa, told.PressureKPa)
			lay(&hour.LongwaveWM2, told.LongwaveWM2)
		}
		out[i].WindHeightM = windHeightM
	}
	if len(w.months) > 24 {
		clear(w.months)
	}
	w.months[key] = out
	return out, nil
}

// lay puts x over what was drawn, if it is known.
func lay(drawn *float64, x float64) {
	if !math.IsNaN(x) {
		*drawn = x
	}
}

// NormalsFit returns an error that names the month and the field where a site's
// months cannot be made weather from, such as more light than reaches the air;
// nil for a site that told none.
func NormalsFit(s *farm.Site) error {
	told, ok := normalsOf(s)
	if !ok {
		return nil
	}
	_, err := sky.FromNormals(told, sky.Site{LatDeg: s.LatDeg, LonDeg: s.LonDeg, ElevationM: s.ElevationM})
	var bad *sky.InputError
	if errors.As(err, &bad) {
		return &farm.Error{Code: farm.Invalid, Field: bad.Field, Message: bad.Why, Hint: bad.Hint}
	}
	return err
}
