package pond_test

import (
	"math"
	"testing"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/sky"
	"sodalake/science/vessel"
)

// The tests stand in an invented place with an invented climate.
var (
	place = sky.Site{LatDeg: 29.5, LonDeg: 12.3, ElevationM: 300}
	june  = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
)

// climate is weather made by hand: a clear sky of which a share comes down, the
// air a sinusoid that is warmest at 15:00 local sun time.
type climate struct {
	clear   float64 // share of the clear sky's light [1]
	airC    float64 // mean [°C]
	swingC  float64 // half of the day's range [°C]
	rhPct   float64 // [%]
	windMS  float64 // at 2 m [m/s]
	rain    float64 // steady [mm/h]
	drift   float64 // of the mean over ten days, up and down [°C]
	clouded bool    // light changes from day to day
}

var fair = climate{clear: 0.9, airC: 26, swingC: 6, rhPct: 50, windMS: 2}

// hours makes a series of hours, from a day before to a day after.
func (c climate) hours(start time.Time, days int) *sky.Series {
	s := &sky.Series{Start: start.AddDate(0, 0, -1), WindHeightM: 2}
	for i := range (days + 2) * 24 {
		t := s.Start.Add(time.Duration(i)*time.Hour + 30*time.Minute)
		h := sky.Unknown()
		share := c.clear
		day := float64(i / 24)
		if c.clouded {
			share *= 0.6 + 0.4*math.Sin(day*2.4)*math.Sin(day)
		}
		h.GHIWM2 = share * sky.ClearSky(sky.Position(t, place), place.ElevationM, 3).GHIWM2
		hour := t.Sub(s.Start).Hours() + place.LonDeg/15
		h.AirC = c.airC + c.swingC*math.Cos((hour-15)*math.Pi/12) + c.drift*math.Sin(day/10*2*math.Pi)
		h.RHPct, h.WindMS, h.RainMM = c.rhPct, c.windMS, c.rain
		s.Hours = append(s.Hours, h)
	}
	return s
}

// sampled brings the climate onto steps of any length.
func (c climate) sampled(tb testing.TB, start time.Time, days int, step time.Duration) []air.Outside {
	tb.Helper()
	out := make([]air.Outside, int(time.Duration(days)*24*time.Hour/step))
	s := c.hours(start, days)
	if err := s.Sample(place, sky.Options{GroundKnown: true, GroundDeepC: c.airC}, start, step, out); err != nil {
		tb.Fatal(err)
	}
	return out
}

func (c climate) weather(tb testing.TB, start time.Time, days int) *pond.Weather {
	tb.Helper()
	return &pond.Weather{Start: start, Outside: c.sampled(tb, start, days, pond.StepS*time.Second)}
}

// Media of the tests, in grams per litre of finished medium.
var (
	// farmMedium is the bicarbonate medium of farms: the formula of Jourdan's
	// handbook, from memory, its lime as calcium chloride.
	farmMedium = map[string]float64{
		"NaHCO3": 8, "KNO3": 2, "K2SO4": 1, "NaCl": 5, "NH4H2PO4": 0.1, "MgSO4.7H2O": 0.2,
		"CaCl2.2H2O": 0.04, "FeSO4.7H2O": 0.01,
	}
	// zarrouk is the medium of Zarrouk 1966 without its trace metals.
	zarrouk = map[string]float64{
		"NaHCO3": 16.8, "K2HPO4": 0.5, "NaNO3": 2.5, "NaCl": 1.0, "MgSO4.7H2O": 0.2, "CaCl2.2H2O": 0.04,
		"K2SO4": 1.0, "FeSO4.7H2O": 0.01, "Na2EDTA.2H2O": 0.08, "H3BO3": 0.00286,
	}
)

// made is a parcel of new medium.
func made(tb testing.TB, salts map[string]float64, litres, tempC float64) pond.Parcel {
	tb.Helper()
	t, kg, err := brine.FromSalts(salts)
	if err != nil {
		tb.Fatal(err)
	}
	p := pond.Parcel{WaterKg: litres * kg, TempC: tempC}
	for k := range t {
		p.Mol[k] = t[k] * p.WaterKg
	}
	return p
}

// raceway is an open pond of 10 m² with 15 cm of medium and half a gram per
// litre, its medium at pH 10.2.
func raceway(tb testing.TB, salts map[string]float64) pond.Vessel {
	tb.Helper()
	g, err := vessel.NewBox(5, 2, 0.3)
	if err != nil {
		tb.Fatal(err)
	}
	v := standing(g)
	fill(tb, &v, salts, 0.15, 0.5)
	hold(tb, &v, 10.2)
	return v
}

// standing is an empty vessel in the open.
func standing(g *vessel.Geometry) pond.Vessel {
	v := pond.Vessel{Shape: g, Setting: vessel.DefaultSetting(g.Kind(), vessel.None), Growth: growth.NewModel(growth.Default()), TapC: math.NaN()}
	v.Stir = pond.Stir{Mixed: 1, PistonMH: 0.1}
	v.Heat = vessel.Thermal{WaterC: 25, SoilC: [2]float64{25, 25}, AirC: 25, CoverC: 25, AirVapourKPa: 1.5}
	v.Start()
	return v
}

// fill pours medium in up to a level, with culture of a density.
func fill(tb testing.TB, v *pond.Vessel, salts map[string]float64, levelM, densityGL float64) {
	tb.Helper()
	p := made(tb, salts, v.Shape.VolumeL(levelM), v.Heat.WaterC)
	v.Do(&pond.Act{Pour: p}, nil)
	v.Do(&pond.Act{Pour: pond.Parcel{BiomassG: densityGL * v.VolumeL(), TempC: v.Heat.WaterC}}, nil)
}

// hold brings the water to a pH at 25 °C by carbon dioxide.
func hold(tb testing.TB, v *pond.Vessel, ph25 float64) {
	tb.Helper()
	t := v.Molality()
	var w brine.Water
	if err := brine.New(brine.Pitzer).HoldPH(&t, 25, ph25, brine.ByCO2, &w); err != nil {
		tb.Fatal(err)
	}
	v.Mol[brine.DIC] = t[brine.DIC] * v.WaterKg
	v.Settle()
}

// solved is the vessel's water worked out afresh at a temperature.
func solved(tb testing.TB, v *pond.Vessel, tempC float64) brine.Water {
	tb.Helper()
	t := v.Molality()
	var w brine.Water
	if err := brine.New(brine.Pitzer).Solve(&t, tempC, &w); err != nil {
		tb.Fatal(err)
	}
	return w
}

// near reports a value that is off, with the source of what it should be.
func near(tb testing.TB, what string, got, want, tol float64, source string) {
	tb.Helper()
	if !(math.Abs(got-want) <= tol) {
		tb.Errorf("%s: %.6g, want %.6g ± %.3g (%s)", what, got, want, tol, source)
	}
}
