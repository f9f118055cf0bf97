package sky

import (
	"fmt"
	"math"
	"sort"
	"time"
)

// Hour is the weather of an hour. NaN stands for a value that is not known.
type Hour struct {
	GHIWM2      float64 // global radiation on the horizontal, mean [W/m²]
	AirC        float64 // air temperature [°C]
	RHPct       float64 // relative humidity over water [%]
	WindMS      float64 // wind at the height of the series [m/s]
	PressureKPa float64 // station pressure, may be unknown [kPa]
	RainMM      float64 // rain in the hour, may be unknown [mm]
	LongwaveWM2 float64 // longwave from the sky, may be unknown [W/m²]
}

// Unknown returns an hour of which nothing is known.
func Unknown() Hour {
	n := math.NaN()
	return Hour{n, n, n, n, n, n, n}
}

// Series is the weather hour by hour: Hours[i] is the mean over the hour that
// begins at Start + i h.
type Series struct {
	Start       time.Time
	Hours       []Hour
	WindHeightM float64 // height of the wind [m]
}

// End returns the moment at which the last hour ends.
func (s *Series) End() time.Time {
	return s.Start.Add(time.Duration(len(s.Hours)) * time.Hour)
}

// maxSpanHours bounds a series to two centuries, so that one wrong stamp cannot
// ask for all the memory.
const maxSpanHours = 200 * 8784

// FromEnds makes a series of rows that are stamped with the end of their hour,
// in any order; hours without a row become Unknown. hourEnds and hours belong
// together; windHeightM is the height of the wind [m].
//
// The error is an *InputError: rows that are not whole hours apart, two for one
// hour, none at all, or more than two centuries.
func FromEnds(hourEnds []time.Time, hours []Hour, windHeightM float64) (*Series, error) {
	if len(hourEnds) != len(hours) {
		panic("sky: as many stamps as hours")
	}
	if len(hours) == 0 {
		return nil, &InputError{Field: "time_utc_end", Why: "no rows"}
	}
	order := make([]int, len(hours))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(a, b int) bool { return hourEnds[order[a]].Before(hourEnds[order[b]]) })
	first, last := hourEnds[order[0]], hourEnds[order[len(order)-1]]
	// Seconds, not a Duration: that overflows at 292 years.
	n := (last.Unix()-first.Unix())/3600 + 1
	if n > maxSpanHours {
		return nil, &InputError{
			Field: "time_utc_end",
			Why:   fmt.Sprintf("the rows run from %s to %s", stamp(first), stamp(last)),
			Hint:  "look for a wrong year in the stamps",
		}
	}
	s := &Series{Start: first.Add(-time.Hour).UTC(), Hours: make([]Hour, n), WindHeightM: windHeightM}
	for i := range s.Hours {
		s.Hours[i] = Unknown()
	}
	prev := -1
	for _, o := range order {
		d := hourEnds[o].Sub(first)
		if d%time.Hour != 0 {
			return nil, &InputError{
				Field: "time_utc_end",
				Why:   fmt.Sprintf("%s is not a whole number of hours after %s", stamp(hourEnds[o]), stamp(first)),
			}
		}
		i := int(d / time.Hour)
		if i == prev {
			return nil, &InputError{Field: "time_utc_end", Why: fmt.Sprintf("two rows for the hour that ends at %s", stamp(hourEnds[o]))}
		}
		s.Hours[i], prev = hours[o], i
	}
	return s, nil
}

func stamp(t time.Time) string { return t.UTC().Format("2006-01-02T15:04Z") }

// Check returns an *InputError that names the field and the stamp (the end of
// its hour) of the first value that no weather on earth has: mostly a wrong unit
// or a sensor's mark for "nothing". Unknown values pass.
func (s *Series) Check() error {
	for i := range s.Hours {
		h := &s.Hours[i]
		for _, r := range [...]struct {
			field     string
			v, lo, hi float64
			hint      string
		}{
			{"ghi_w_m2", h.GHIWM2, -50, 1600, "watts per square metre, as the mean of the hour"},
			{"t_air_c", h.AirC, -90, 60, "degrees Celsius"},
			{"rh_pct", h.RHPct, 0, 110, "per cent, not a fraction"},
			{"wind_m_s", h.WindMS, 0, 90, "metres per second"},
			{"pressure_hpa", 10 * h.PressureKPa, 300, 1100, "the pressure at the station, in hectopascals"},
			{"rain_mm", h.RainMM, 0, 400, "millimetres in the hour"},
			{"longwave_down_w_m2", h.LongwaveWM2, 40, 700, "watts per square metre from the sky"},
		} {
			if r.v < r.lo || r.v > r.hi {
				return &InputError{
					Field: r.field,
					Why: fmt.Sprintf("%g in the hour that ends at %s, must lie between %g and %g",
						r.v, stamp(s.Start.Add(time.Duration(i+1)*time.Hour)), r.lo, r.hi),
					Hint: r.hint,
				}
			}
		}
	}
	return nil
}

// needed are the fields without which there is no weather; the others can be
// put in place by a model.
var needed = [4]struct {
	name string
	of   func(*Hour) *float64
}{
	{"ghi_w_m2", func(h *Hour) *float64 { return &h.GHIWM2 }},
	{"t_air_c", func(h *Hour) *float64 { return &h.AirC }},
	{"rh_pct", func(h *Hour) *float64 { return &h.RHPct }},
	{"wind_m_s", func(h *Hour) *float64 { return &h.WindMS }},
}

// Bridge fills gaps of up to maxGapHours [h] in radiation, temperature, humidity
// and wind, and returns how many hours got a value that was not measured [1].
//
// Radiation takes the course of the same hours a day before and after, the rest
// a straight line; at the ends of the series the nearest value is carried on.
// Pressure, longwave and rain are bridged alike where some of the gap's
// neighbours are known, rain only with zero and only between dry hours; they
// stay unknown otherwise and are not counted.
//
// The error is an *InputError that names the field and the first stamp (the end
// of its hour) of a longer gap; then nothing is changed.
func (s *Series) Bridge(maxGapHours int) (bridged int, err error) {
	for _, f := range needed {
		for a := 0; a < len(s.Hours); a++ {
			if !math.IsNaN(*f.of(&s.Hours[a])) {
				continue
			}
			b := a
			for b < len(s.Hours) && math.IsNaN(*f.of(&s.Hours[b])) {
				b++
			}
			if b-a > maxGapHours || b-a == len(s.Hours) {
				return 0, &InputError{
					Field: f.name,
					Why: fmt.Sprintf("%d hours without a value from the hour that ends at %s; gaps up to %d hours can be bridged",
						b-a, stamp(s.Start.Add(time.Duration(a+1)*time.Hour)), maxGapHours),
					Hint: "fill the gap from a neighbouring station, or use a shorter span",
				}
			}
			a = b
		}
	}
	filled := make([]bool, len(s.Hours))
	old := make([]float64, len(s.Hours))
	for k, f := range needed {
		for i := range s.Hours {
			old[i] = *f.of(&s.Hours[i])
		}
		eachGap(old, func(a, b int) {
			for i := a; i < b; i++ {
				v := line(old, a, b, i)
				if k == 0 {
					v = likeNeighbourDays(old, a, b, i, v)
				}
				*f.of(&s.Hours[i]) = v
				filled[i] = true
			}
		})
	}
	for _, of := range []func(*Hour) *float64{
		func(h *Hour) *float64 { return &h.PressureKPa },
		func(h *Hour) *float64 { return &h.LongwaveWM2 },
	} {
		for i := range s.Hours {
			old[i] = *of(&s.Hours[i])
		}
		eachGap(old, func(a, b int) {
			if b-a <= maxGapHours {
				for i := a; i < b; i++ {
					*of(&s.Hours[i]) = line(old, a, b, i)
				}
			}
		})
	}
	for i := range s.Hours {
		old[i] = s.Hours[i].RainMM
	}
	eachGap(old, func(a, b int) {
		if b-a <= maxGapHours && a > 0 && b < len(old) && old[a-1] <= 0 && old[b] <= 0 {
			for i := a; i < b; i++ {
				s.Hours[i].RainMM = 0
			}
		}
	})
	for _, f := range filled {
		if f {
			bridged++
		}
	}
	return bridged, nil
}

// eachGap calls do for every run of NaN [a, b).
func eachGap(x []float64, do func(a, b int)) {
	for a := 0; a < len(x); a++ {
		if !math.IsNaN(x[a]) {
			continue
		}
		b := a
		for b < len(x) && math.IsNaN(x[b]) {
			b++
		}
		do(a, b)
		a = b
	}
}

// line returns the value at i inside the gap [a, b) on the straight line between
// its ends, or the nearest end where the other is missing.
func line(x []float64, a, b, i int) float64 {
	switch {
	case a > 0 && b < len(x):
		u := float64(i-a+1) / float64(b-a+1)
		return x[a-1]*(1-u) + x[b]*u
	case a > 0:
		return x[a-1]
	case b < len(x):
		return x[b]
	}
	return math.NaN()
}

// likeNeighbourDays returns the radiation at i inside the gap [a, b): the mean
// of the same hour on the days before and after, or fallback.
func likeNeighbourDays(x []float64, a, b, i int, fallback float64) float64 {
	sum, n := 0.0, 0
	for _, j := range [2]int{i - 24, i + 24} {
		if j >= 0 && j < len(x) && !(j >= a && j < b) && !math.IsNaN(x[j]) {
			sum += x[j]
			n++
		}
	}
	if n == 0 {
		return fallback
	}
	return sum / float64(n)
}
