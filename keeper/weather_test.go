package keeper_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"sodalake/keeper"
)

// A farm that told no months gets a guess by its latitude, and is told so;
// anywhere on earth there is an answer.
func TestGuessedWeather(t *testing.T) {
	for _, lat := range []float64{-90, -66.6, -36, 0, 23.4, 51, 66.6, 78, 90} {
		w := newWorld(t, "2026-06-03T09:00:00Z", small)
		w.describe("2026-06-01T08:00:00Z", func(site body) { delete(site, "normals"); site["lat_deg"] = lat; site["timezone"] = "UTC" })
		w.begin("2026-06-01T09:00:00Z")
		f, err := w.k.Forecast(context.Background(), "one", time.Time{})
		if err != nil || f.Weather != "weather.guessed" || len(f.Days) != 10 {
			t.Errorf("at %g degrees: weather %q, %d days, %v", lat, f.Weather, len(f.Days), err)
		}
	}
}

// Months that cannot be (more sun than reaches the air) are left aside: one
// slip in a description must not silence the farm.
func TestMonthsThatCannotBe(t *testing.T) {
	w := newWorld(t, "2026-06-03T09:00:00Z", small)
	w.describe("2026-06-01T08:00:00Z", func(site body) {
		n := normals()
		n[0].GHIMJM2D = 44
		site["normals"] = n
	})
	w.begin("2026-06-01T09:00:00Z")
	f, err := w.k.Forecast(context.Background(), "one", time.Time{})
	if err != nil || f.Weather != "weather.guessed" {
		t.Errorf("with 44 MJ/m² a day in January: weather %q, %v", f.Weather, err)
	}
}

func TestToldWeather(t *testing.T) {
	w := season(t, small)
	f, err := w.k.Forecast(context.Background(), "one", time.Time{})
	if err != nil || f.Weather != "weather.normals" {
		t.Errorf("weather %q, %v; want that of the months", f.Weather, err)
	}
}

// hours is a batch of weather alike in every hour.
func hours(made, start string, n int, airC float64) body {
	col := func(x float64) []float64 {
		c := make([]float64, n)
		for i := range c {
			c[i] = x
		}
		return c
	}
	b := body{
		"source": "mast, invented", "made": made, "start": start, "step_s": 3600, "wind_height_m": 2,
		"columns": body{"ghi_w_m2": col(60), "t_air_c": col(airC), "rh_pct": col(70), "wind_m_s": col(2)},
	}
	if made == "forecast" {
		b["issued_at"] = start
	}
	return b
}

// Weather that begins in the middle of the season changes what came after, and
// nothing else, whenever it comes in.
func TestWeatherFromTheMiddle(t *testing.T) {
	for _, windHeight := range []float64{10, 2} {
		w := season(t, small)
		w.today()
		b := hours("measured", "2026-06-04T20:00:00Z", 30, 30)
		b["wind_height_m"] = windHeight
		e := w.entry("2026-06-06T07:00:00Z", "", "weather", b)
		e.Site = "rock"
		w.write(e)
		w.fresh("weather from the middle")
	}
}

// Wind is brought from the height of its mast to two metres, batch by batch:
// u2 = uz 4.87/ln(67.8 z - 5.42) (FAO Irrigation and Drainage Paper 56, eq. 47),
// so 4 m/s at 10 m dry the pond as 2.99 m/s at 2 m do.
func TestHeightOfWind(t *testing.T) {
	level := func(heightM, windMS float64) float64 {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", nil)
		w.begin("2026-06-01T09:00:00Z")
		b := hours("measured", "2026-05-31T20:00:00Z", 131, 25)
		b["wind_height_m"] = heightM
		wind := b["columns"].(body)["wind_m_s"].([]float64)
		for i := range wind {
			wind[i] = windMS
		}
		e := w.entry("2026-06-06T07:00:00Z", "", "weather", b)
		e.Site = "rock"
		// An hour of another mast, months before: it must not move this one's wind.
		o := w.entry("2026-06-06T07:01:00Z", "", "weather", hours("measured", "2026-03-31T20:00:00Z", 2, 25))
		o.Site = "rock"
		w.write(e, o)
		return w.vessel("one").Now.Bands[keeper.LevelCM].Mid
	}
	high, low, other := level(10, 4), level(2, 4*4.87/math.Log(67.8*10-5.42)), level(2, 4)
	if !near(high, low, 1e-3) || near(high, other, 2e-3) {
		t.Errorf("level after five days of 4 m/s at 10 m %.3f cm, of 2.99 m/s at 2 m %.3f, of 4 m/s at 2 m %.3f: want the first two alike", high, low, other)
	}
}

// What was measured is what the pond lived through: it stands over the months
// and over what was forecast, in whichever order they came in.
func TestMeasuredWeather(t *testing.T) {
	waterC := func(batches ...body) float64 {
		w := newWorld(t, "2026-06-06T07:44:00Z", small)
		w.describe("2026-06-01T08:00:00Z", nil)
		w.begin("2026-06-01T09:00:00Z")
		w.today()
		for i, b := range batches {
			e := w.entry(fmt.Sprintf("2026-06-06T07:0%d:00Z", i), "", "weather", b)
			e.Site = "rock"
			w.write(e)
		}
		w.fresh("weather")
		return w.vessel("one").Now.Bands[keeper.TempC].Mid
	}
	warm, cold := hours("measured", "2026-05-31T20:00:00Z", 131, 30), hours("measured", "2026-05-31T20:00:00Z", 131, 10)
	other := hours("forecast", "2026-05-31T20:00:00Z", 131, 10)
	a, b := waterC(warm), waterC(cold)
	if a < 24 || b > 14 {
		t.Errorf("five even days of 30 and of 10 °C air leave water at %.1f and %.1f °C", a, b)
	}
	for _, order := range [][]body{{warm, other}, {other, warm}} {
		if c := waterC(order...); !near(c, a, 0.01) {
			t.Errorf("with a forecast of 10 °C beside what was measured the water is at %.1f °C, want %.1f", c, a)
		}
	}
	if c := waterC(other); c > 16 {
		t.Errorf("where only a forecast is there it is used: water at %.1f °C", c)
	}
}
