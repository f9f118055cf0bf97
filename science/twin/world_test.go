package twin

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/sky"
	"sodalake/science/vessel"
)

// The synthetic ponds of the tests stand in invented places with invented
// climates.

const stepTime = pond.StepS * time.Second

// place is an invented place.
type place struct {
	name   string
	site   sky.Site
	start  time.Time // when a season begins there
	airC   float64   // mean air of the year
	gen    sky.Generator
	tunnel bool
}

// normals are twelve invented mean months: a sinusoid of temperature.
func normals(meanC, swingC, rangeK, clearness, rhPct, windMS, rainMM float64) sky.Normals {
	var n sky.Normals
	for i := range n {
		m := sky.UnknownMonth()
		m.MeanC = meanC + swingC*math.Cos(2*math.Pi*(float64(i)-6.5)/12)
		m.MinC, m.MaxC = m.MeanC-rangeK/2, m.MeanC+rangeK/2
		m.Clearness, m.RHPct, m.WindMS, m.RainMM = clearness, rhPct, windMS, rainMM
		n[i] = m
	}
	return n
}

var places = sync.OnceValue(func() []place {
	day := func(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }
	var out []place
	for _, p := range []struct {
		name       string
		lat, elev  float64
		start      time.Time
		n          sky.Normals
		yearMean   float64
		underGlass bool
	}{
		{"dry plateau", 31, 400, day(2031, 4, 10), normals(22, 8, 13, 0.64, 40, 2.5, 8), 22, false},
		{"warm coast", 12, 20, day(2031, 1, 5), normals(26.5, 1.5, 8, 0.55, 75, 3, 60), 26.5, false},
		{"mild valley", 43, 200, day(2031, 5, 15), normals(14.5, 9.5, 11, 0.52, 65, 1.8, 60), 14.5, false},
		{"valley under film", 45, 150, day(2031, 4, 1), normals(12.5, 9.5, 10, 0.47, 70, 1.8, 70), 12.5, true},
	} {
		site := sky.Site{LatDeg: p.lat, ElevationM: p.elev}
		gen, err := sky.FromNormals(p.n, site)
		if err != nil {
			panic(err)
		}
		out = append(out, place{p.name, site, p.start, p.yearMean, gen, p.underGlass})
	}
	return out
})

// draw returns weather drawn at the place.
func (p *place) draw(start time.Time, days int, rng *rand.Rand) *pond.Weather {
	begin := start.Add(-24 * time.Hour)
	s := p.gen.GenerateOn(sky.NewAlmanac(p.site, begin, days+2), rng)
	return p.sample(&s, start, days)
}

// sample brings a series to steps.
func (p *place) sample(s *sky.Series, start time.Time, days int) *pond.Weather {
	n := days * int(24*time.Hour/stepTime)
	w := &pond.Weather{Start: start, Outside: make([]air.Outside, n)}
	light := sky.NewDaylight(p.site, sky.DefaultLinke, s.Start, start, stepTime, n)
	if err := s.SampleOn(light, sky.Options{GroundKnown: true, GroundDeepC: p.airC}, w.Outside); err != nil {
		panic(err)
	}
	return w
}

// draws returns n weathers of the days to come.
func (p *place) draws(start time.Time, days, n int, seed uint64) []*pond.Weather {
	begin := start.Add(-24 * time.Hour)
	al := sky.NewAlmanac(p.site, begin, days+2)
	steps := days * int(24*time.Hour/stepTime)
	light := sky.NewDaylight(p.site, sky.DefaultLinke, begin, start, stepTime, steps)
	out := make([]*pond.Weather, n)
	for i := range out {
		s := p.gen.GenerateOn(al, rand.New(rand.NewPCG(seed, uint64(i))))
		w := &pond.Weather{Start: start, Outside: make([]air.Outside, steps)}
		if err := s.SampleOn(light, sky.Options{GroundKnown: true, GroundDeepC: p.airC}, w.Outside); err != nil {
			panic(err)
		}
		out[i] = w
	}
	return out
}

// farmMedium is a bicarbonate medium of farms in grams per litre; the formula of
// Jourdan's handbook, from memory, its lime left out.
var farmMedium = map[string]float64{
	"NaHCO3": 8, "NaCl": 5, "KNO3": 2, "K2SO4": 1, "NH4H2PO4": 0.1, "MgSO4.7H2O": 0.2, "FeSO4.7H2O": 0.01,
}

// aged is the medium brought to a pH at which ponds stand, per kilogram of
// water, and the kilograms of water in a litre of it.
var aged = sync.OnceValues(func() (brine.Totals, float64) {
	t, kg, err := brine.FromSalts(farmMedium)
	if err != nil {
		panic(err)
	}
	var w brine.Water
	if err := brine.New(brine.Pitzer).HoldPH(&t, 25, 9.8, brine.ByCO2, &w); err != nil {
		panic(err)
	}
	return t, kg
})

// poured is a parcel of aged medium.
func poured(litres, tempC float64) pond.Parcel {
	t, kg := aged()
	p := pond.Parcel{WaterKg: litres * kg, TempC: tempC}
	for k := range t {
		p.Mol[k] = t[k] * p.WaterKg
	}
	return p
}

// salts dissolves grams of salts.
func salts(grams map[string]float64) brine.Totals {
	var t brine.Totals
	for salt, g := range grams {
		d, err := brine.Dissolve(salt)
		if err != nil {
			panic(err)
		}
		for k := range d.Totals {
			t[k] += d.Totals[k] * g / d.MolarMass
		}
	}
	return t
}

// box is an empty open vessel of an area, its walls 40 cm.
func box(tb testing.TB, areaM2 float64, cover vessel.Cover) pond.Vessel {
	g, err := vessel.NewBox(math.Sqrt(2*areaM2), math.Sqrt(areaM2/2), 0.4)
	if err != nil {
		tb.Fatal(err)
	}
	v := pond.Vessel{Shape: g, Setting: vessel.DefaultSetting(g.Kind(), cover), Growth: growth.NewModel(growth.Default()), TapC: math.NaN()}
	v.Setting.InGround = true
	v.Stir = pond.Stir{Mixed: 1, PistonMH: 0.1}
	if cover == vessel.Tunnel {
		v.Setting.Vents = vessel.Half
	}
	return v
}

// flatWeather is the same day over and over: a sinusoid of light and warmth.
func flatWeather(start time.Time, days int, noonWM2, airC float64) *pond.Weather {
	n := days * int(24*time.Hour/stepTime)
	w := &pond.Weather{Start: start, Outside: make([]air.Outside, n)}
	for i := range w.Outside {
		h := math.Mod((float64(i)+0.5)*pond.StepS/3600, 24)
		o := &w.Outside[i]
		cos := math.Max(0, math.Sin((h-6)/12*math.Pi))
		g := noonWM2 * cos
		o.CosZenith, o.BeamWM2, o.DiffuseWM2 = cos*0.95, 0.7*g, 0.3*g
		o.BeamPAR, o.DiffusePAR = 2.06*o.BeamWM2, 2.06*o.DiffuseWM2
		o.AirC = airC + 5*math.Cos((h-15)/12*math.Pi)
		o.VapourKPa, o.WindMS, o.PressureKPa, o.GroundDeepC = 1.5, 2, 98, airC
		o.LongwaveWM2 = air.Longwave(air.SkyEmissivity(o.AirC, o.VapourKPa, 0.2), o.AirC)
	}
	return w
}

var begins = time.Date(2031, 5, 1, 0, 0, 0, 0, time.UTC)

// started is an ensemble in a box of 10 m², 15 cm of medium at 0.4 g/L, as a
// grower tells it.
func started(tb testing.TB, c Config) *Ensemble {
	base := box(tb, 10, vessel.None)
	w := flatWeather(begins, 1, 800, 25)
	base.Heat = base.Setting.Start(&w.Outside[0], 24)
	base.Start()
	e := New(&base, begins, c)
	e.Do(func(_ int, m *Member) {
		p := poured(1500, 24)
		p.BiomassG = 0.4 * 1500
		m.Blur(&p, GivenSD)
		m.Do(&pond.Act{Pour: p})
	})
	return e
}
