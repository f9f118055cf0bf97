package scenario

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/sky"
)

// maxHours bounds a weather file: a century of hours is more than anybody has.
const maxHours = 100 * 8784

// maxGapHours is the longest gap that is bridged.
const maxGapHours = 6

// ReadHourly reads hourly weather: a header with time_utc_end, ghi_w_m2,
// t_air_c, rh_pct, wind_m_s and optionally pressure_hpa, rain_mm and
// longwave_down_w_m2; other columns are left aside. A stamp is the end of its
// hour in UTC. An empty cell is a missing value. Gaps up to six hours are
// bridged and told in notes, longer ones in the needed columns are refused.
func ReadHourly(r io.Reader) (series sky.Series, notes []string, err error) {
	cr := csv.NewReader(bufio.NewReader(r))
	cr.ReuseRecord = true
	cr.FieldsPerRecord = -1
	header, err := cr.Read()
	if err != nil {
		return series, nil, bad("hourly_csv", "the weather file has no header line: %v", err)
	}
	col := map[string]int{}
	for i, h := range header {
		col[strings.TrimSpace(strings.TrimPrefix(h, "\ufeff"))] = i
	}
	for _, need := range []string{"time_utc_end", "ghi_w_m2", "t_air_c", "rh_pct", "wind_m_s"} {
		if _, ok := col[need]; !ok {
			return series, nil, bad("hourly_csv", "the weather file has no column %s", need)
		}
	}
	var first, last time.Time
	line := 1
	for {
		rec, err := cr.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		line++
		if err != nil {
			return series, nil, bad("hourly_csv", "line %d of the weather file cannot be read: %v", line, err)
		}
		cell := func(name string) (string, bool) {
			i, ok := col[name]
			if !ok || i >= len(rec) {
				return "", false
			}
			return strings.TrimSpace(rec[i]), true
		}
		stamp, _ := cell("time_utc_end")
		end, err := parseStamp(stamp)
		if err != nil {
			return series, nil, bad("hourly_csv", "line %d: time_utc_end %q is not a UTC time such as 2020-06-01T13:00Z", line, stamp)
		}
		if first.IsZero() {
			first = end
			series.Start = end.Add(-time.Hour)
		} else if !end.After(last) {
			return series, nil, bad("hourly_csv", "line %d: %s does not come after the line before it", line, stamp)
		}
		gap := end.Sub(first)
		if gap%time.Hour != 0 {
			return series, nil, bad("hourly_csv", "line %d: %s is not a whole number of hours after the first line", line, stamp)
		}
		n := int(gap/time.Hour) + 1
		if n > maxHours {
			return series, nil, bad("hourly_csv", "line %d: the weather file is longer than a century", line)
		}
		for len(series.Hours) < n {
			series.Hours = append(series.Hours, unknownHour())
		}
		h := &series.Hours[n-1]
		last = end
		for _, field := range []struct {
			name   string
			to     *float64
			lo, hi float64
			factor float64
		}{
			{"ghi_w_m2", &h.GHIWM2, -20, 1600, 1}, {"t_air_c", &h.AirC, -70, 65, 1}, {"rh_pct", &h.RHPct, 0, 110, 1},
			{"wind_m_s", &h.WindMS, 0, 80, 1}, {"pressure_hpa", &h.PressureKPa, 400, 1100, 0.1},
			{"rain_mm", &h.RainMM, 0, 500, 1}, {"longwave_down_w_m2", &h.LongwaveWM2, 50, 700, 1},
		} {
			text, there := cell(field.name)
			if !there || text == "" || strings.EqualFold(text, "nan") || strings.EqualFold(text, "na") {
				continue
			}
			x, err := strconv.ParseFloat(text, 64)
			if err != nil || math.IsNaN(x) {
				return series, nil, bad("hourly_csv", "line %d: %s %q is not a number", line, field.name, text)
			}
			if x < field.lo || x > field.hi {
				return series, nil, bad("hourly_csv", "line %d: %s %g lies outside %g to %g", line, field.name, x, field.lo, field.hi)
			}
			*field.to = x * field.factor
		}
		// Thermopiles read a little below zero at night, and hygrometers a
		// little above saturation.
		h.GHIWM2, h.RHPct = math.Max(h.GHIWM2, 0), math.Min(h.RHPct, 100)
	}
	if len(series.Hours) < 24 {
		return series, nil, bad("hourly_csv", "the weather file holds %d hours, less than a day", len(series.Hours))
	}
	bridged, err := series.Bridge(maxGapHours)
	if err != nil {
		return series, nil, bad("hourly_csv", "the weather file has a gap that is too long: %v", err)
	}
	if bridged > 0 {
		notes = append(notes, fmt.Sprintf("%d missing hourly values were bridged from their neighbours", bridged))
	}
	return series, notes, nil
}

func parseStamp(s string) (time.Time, error) {
	for _, layout := range []string{time.RFC3339, "2006-01-02T15:04Z", "2006-01-02 15:04Z", "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05", "2006-01-02 15:04:05"} {
		if t, err := time.Parse(layout, s); err == nil {
			return t.UTC(), nil
		}
	}
	return time.Time{}, errors.New("not a time")
}

func unknownHour() sky.Hour {
	nan := math.NaN()
	return sky.Hour{GHIWM2: nan, AirC: nan, RHPct: nan, WindMS: nan, PressureKPa: nan, RainMM: nan, LongwaveWM2: nan}
}

// bad is an input that cannot be taken.
func bad(field, format string, args ...any) *farm.Error {
	return &farm.Error{Code: farm.Invalid, Field: field, Message: fmt.Sprintf(format, args...)}
}
