package sky

import (
	"errors"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/science/air"
)

// invented is a made-up site and a made-up span of hours for tests.
var invented = Site{LatDeg: -21.4, LonDeg: 33.9, ElevationM: 640}

func someHours(n int) *Series {
	s := &Series{Start: time.Date(2026, 2, 10, 0, 0, 0, 0, time.UTC), WindHeightM: 10}
	for i := range n {
		sun := Position(s.Start.Add(time.Duration(i)*time.Hour+30*time.Minute), invented)
		g := ClearSky(sun, invented.ElevationM, 3).GHIWM2 * (0.6 + 0.4*math.Sin(float64(i)/17))
		s.Hours = append(s.Hours, Hour{
			GHIWM2: g, AirC: 24 + 6*math.Sin(float64(i-8)/24*2*math.Pi), RHPct: 55, WindMS: 2.5,
			PressureKPa: math.NaN(), RainMM: 0.2, LongwaveWM2: math.NaN(),
		})
	}
	return s
}

func TestSampleKeepsTheEnergyOfEachHour(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		site := Site{
			LatDeg:     rapid.Float64Range(-90, 90).Draw(rt, "lat"),
			LonDeg:     rapid.Float64Range(-180, 180).Draw(rt, "lon"),
			ElevationM: rapid.Float64Range(0, 3000).Draw(rt, "elevation"),
		}
		s := someHours(30)
		// half past for some, as in time zones that are half an hour off
		s.Start = time.Date(rapid.IntRange(1950, 2100).Draw(rt, "year"), time.Month(rapid.IntRange(1, 12).Draw(rt, "month")), 3,
			0, 30*rapid.IntRange(0, 1).Draw(rt, "half"), 0, 0, time.UTC)
		for i := range s.Hours {
			s.Hours[i].GHIWM2 = rapid.Float64Range(-5, 1300).Draw(rt, "ghi")
		}
		minutes := rapid.SampledFrom([]int{1, 5, 10, 15, 20, 30, 60}).Draw(rt, "step")
		step := time.Duration(minutes) * time.Minute
		out := make([]air.Outside, 30*60/minutes)
		if err := s.Sample(site, Options{}, s.Start, step, out); err != nil {
			rt.Fatal(err)
		}
		per := 60 / minutes
		for h := range s.Hours {
			sum := 0.0
			for _, o := range out[h*per : (h+1)*per] {
				sum += (o.BeamWM2 + o.DiffuseWM2) / float64(per)
			}
			want := math.Max(0, s.Hours[h].GHIWM2)
			if math.Abs(sum-want) > 1e-9*math.Max(1, want) {
				rt.Fatalf("hour %d holds %v, want %v", h, sum, want)
			}
		}
		for i, o := range out {
			mid := Position(s.Start.Add(time.Duration(i)*step+step/2), site)
			if math.Abs(o.CosZenith-mid.CosZenith()) > 2e-6 {
				rt.Fatalf("step %d: cosine %v, the sun stands at %v", i, o.CosZenith, mid.CosZenith())
			}
			if o.CosZenith <= 0 && (o.BeamWM2 > 0 || o.BeamPAR > 0) {
				rt.Fatalf("step %d: beam %v with the sun down", i, o.BeamWM2)
			}
			if o.BeamWM2 > mid.ExtraterrestrialWM2*o.CosZenith || o.BeamWM2 < 0 || o.DiffuseWM2 < 0 {
				rt.Fatalf("step %d: beam %v, diffuse %v, above the air %v", i, o.BeamWM2, o.DiffuseWM2, mid.ExtraterrestrialWM2*o.CosZenith)
			}
		}
	})
}

// A step that does not divide the hour still loses no light over whole hours.
func TestSampleWithAnOddStep(t *testing.T) {
	s := someHours(49)
	step := 7 * time.Minute
	n := 7 * 60 / 7 * 6 // 42 hours
	out := make([]air.Outside, n)
	start := s.Start.Add(3 * time.Hour)
	if err := s.Sample(invented, Options{}, start, step, out); err != nil {
		t.Fatal(err)
	}
	got, want, rain := 0.0, 0.0, 0.0
	for _, o := range out {
		got += (o.BeamWM2 + o.DiffuseWM2) * 7 / 60
		rain += o.RainMMPerH * 7 / 60
	}
	for h := 3; h < 45; h++ {
		want += s.Hours[h].GHIWM2
	}
	check(t, "light of 42 hours", got, want, 1e-9*want, "conservation")
	check(t, "rain of 42 hours", rain, 42*0.2, 1e-9, "conservation")
}

// Sampling a day at a time gives the same as sampling it all.
func TestSampleInParts(t *testing.T) {
	s := someHours(24 * 5)
	whole := make([]air.Outside, 5*144)
	if err := s.Sample(invented, Options{}, s.Start, 10*time.Minute, whole); err != nil {
		t.Fatal(err)
	}
	part := make([]air.Outside, 144)
	for day := range 5 {
		if err := s.Sample(invented, Options{}, s.Start.AddDate(0, 0, day), 10*time.Minute, part); err != nil {
			t.Fatal(err)
		}
		for i, o := range part {
			w := whole[day*144+i]
			if math.Abs(o.BeamWM2-w.BeamWM2) > 1e-3 || math.Abs(o.LongwaveWM2-w.LongwaveWM2) > 1e-3 || math.Abs(o.AirC-w.AirC) > 1e-9 {
				t.Fatalf("day %d step %d: %+v in parts, %+v whole", day, i, o, w)
			}
		}
	}
}

// An hour of clear sky comes out as the clear sky's own course.
func TestSampleFollowsTheClearSky(t *testing.T) {
	s := someHours(24)
	for i := range s.Hours { // hourly means of the model itself, in ten-minute steps
		sum := 0.0
		for k := range 6 {
			at := s.Start.Add(time.Duration(i)*time.Hour + time.Duration(k*10+5)*time.Minute)
			sum += ClearSky(Position(at, invented), invented.ElevationM, 3).GHIWM2 / 6
		}
		s.Hours[i].GHIWM2 = sum
	}
	out := make([]air.Outside, 144)
	if err := s.Sample(invented, Options{}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	for i, o := range out {
		sun := Position(s.Start.Add(time.Duration(i*10+5)*time.Minute), invented)
		want := ClearSky(sun, invented.ElevationM, 3).GHIWM2
		// the trace of twilight takes up to 1 W/m² in the hour of sunrise
		check(t, "clear sky", o.BeamWM2+o.DiffuseWM2, want, 1, "ClearSky at the same moment")
		if want > 500 && o.BeamWM2 < 2*o.DiffuseWM2 {
			t.Errorf("step %d of a clear day: beam %v, diffuse %v", i, o.BeamWM2, o.DiffuseWM2)
		}
		check(t, "photons", o.BeamPAR+o.DiffusePAR, (o.BeamWM2+o.DiffuseWM2)*0.45*4.57, 1e-9, "McCree 1972")
	}
}

func TestSampleOfTheRest(t *testing.T) {
	s := someHours(72)
	out := make([]air.Outside, 72*6)
	if err := s.Sample(invented, Options{}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	o := out[24*6+2] // 25 past the hour, the step's middle
	a, b := s.Hours[23], s.Hours[24]
	u := 0.5 + 25.0/60
	check(t, "air", o.AirC, a.AirC+u*(b.AirC-a.AirC), 1e-9, "straight line between the middles of the hours")
	check(t, "wind", o.WindMS, 2.5*0.748, 0.002, "FAO-56 eq. 47: 0.748 from 10 m")
	check(t, "pressure", o.PressureKPa, 101.325*math.Pow(1-2.25577e-5*640, 5.2559), 1e-9, "ISO 2533")
	for _, o := range out { // in the hour of sunrise too, whatever its light does
		check(t, "rain", o.RainMMPerH, 0.2, 1e-9, "0.2 mm in each hour")
	}
	check(t, "ground", o.GroundDeepC, s.meanAir(), 1e-9, "mean air of the series")
	if rh := air.RelativeHumidity(o.VapourKPa, o.AirC); math.Abs(rh-55) > 1 {
		t.Errorf("humidity %v, want about 55", rh)
	}
	// Longwave: between the clear sky and a black one, both at air temperature.
	for i, o := range out {
		lo, hi := air.Longwave(air.PrataEmissivity(o.AirC, o.VapourKPa), o.AirC), air.Longwave(1, o.AirC)
		if !(o.LongwaveWM2 >= lo-1e-9 && o.LongwaveWM2 <= hi+1e-9) {
			t.Fatalf("step %d: longwave %v outside %v to %v", i, o.LongwaveWM2, lo, hi)
		}
	}
	// The series' own longwave, pressure and a known ground come through.
	for i := range s.Hours {
		s.Hours[i].LongwaveWM2, s.Hours[i].PressureKPa = 321, 94.5
	}
	if err := s.Sample(invented, Options{GroundKnown: true, GroundDeepC: 19}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	check(t, "longwave", out[100].LongwaveWM2, 321, 1e-9, "as given")
	check(t, "pressure", out[100].PressureKPa, 94.5, 1e-9, "as given")
	check(t, "ground", out[100].GroundDeepC, 19, 1e-9, "as given")
}

// Between a cold and a warm saturated hour a straight line of vapour pressure
// would pass above saturation; fog does not hold that much.
func TestSampleIsNeverOversaturated(t *testing.T) {
	s := someHours(24)
	for i := range s.Hours {
		s.Hours[i].RHPct = 100
		s.Hours[i].AirC = 10 + 12*float64(i%2)
	}
	out := make([]air.Outside, 24*12)
	if err := s.Sample(invented, Options{}, s.Start, 5*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	for i, o := range out {
		if o.VapourKPa > air.Saturation(o.AirC)*(1+1e-12) {
			t.Fatalf("step %d: %v kPa at %v °C", i, o.VapourKPa, o.AirC)
		}
	}
}

// Below 3° the hourly split was not made: the light is all diffuse.
func TestLowSunIsDiffuse(t *testing.T) {
	s := someHours(24)
	s.Start = time.Date(2026, 10, 20, 0, 0, 0, 0, time.UTC)
	for i := range s.Hours {
		s.Hours[i].GHIWM2 = 30
	}
	site := Site{LatDeg: 78} // the sun creeps along at 1.5° at noon
	out := make([]air.Outside, 144)
	if err := s.Sample(site, Options{}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	up := 0
	for i, o := range out {
		if o.CosZenith > 0 {
			up++
		}
		if o.BeamWM2 > 0 {
			t.Fatalf("step %d: beam %v with the sun at cosine %v", i, o.BeamWM2, o.CosZenith)
		}
	}
	if up < 10 {
		t.Fatalf("the sun is up for %d steps only", up)
	}
}

// An overcast day between two clear ones: cloud runs straight through the nights.
func TestCloudThroughTheNight(t *testing.T) {
	s := someHours(72)
	for i := range s.Hours {
		at := s.Start.Add(time.Duration(i)*time.Hour + 30*time.Minute)
		s.Hours[i].GHIWM2 = ClearSky(Position(at, invented), invented.ElevationM, 3).GHIWM2
		if i >= 22 && i < 46 {
			s.Hours[i].GHIWM2 *= 0.25
		}
		s.Hours[i].AirC = 20
	}
	out := make([]air.Outside, 72*6)
	if err := s.Sample(invented, Options{}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	clear, black := air.Longwave(air.PrataEmissivity(20, out[0].VapourKPa), 20), air.Longwave(1, 20)
	dusk, dawn := out[16*6].LongwaveWM2, out[28*6].LongwaveWM2 // 18:15 and 6:15 by the sun
	if !(dusk < clear+0.1*(black-clear)) || !(dawn > clear+0.6*(black-clear)) {
		t.Errorf("longwave at dusk %v and dawn %v, between clear %v and black %v", dusk, dawn, clear, black)
	}
	for i := 17 * 6; i < 28*6; i++ {
		if out[i].LongwaveWM2 < out[i-1].LongwaveWM2-1e-9 {
			t.Fatalf("longwave falls in a night that clouds over, step %d", i)
		}
	}
	// without any sun there is nothing to tell it from
	for i := range s.Hours {
		s.Hours[i].GHIWM2 = 0
	}
	s.Start = time.Date(2026, 12, 20, 0, 0, 0, 0, time.UTC)
	if err := s.Sample(Site{LatDeg: 78}, Options{}, s.Start, 10*time.Minute, out); err != nil {
		t.Fatal(err)
	}
	check(t, "polar night", out[50].LongwaveWM2, clear+0.5*(black-clear), 1e-6, "half cloud, common practice, no source")
}

func TestSkyline(t *testing.T) {
	wall := Skyline{{0, 30}, {90, 30}, {180, 30}, {270, 30}}
	check(t, "open sky over a wall all round", wall.Open(), 0.75, 1e-9, "cos² 30° = 3/4")
	check(t, "no skyline", Skyline(nil).Open(), 1, 0, "all open")
	half := Skyline{{0, 0}, {89.999, 0}, {90, 60}, {270, 60}, {270.001, 0}}
	check(t, "half a circle at 60°", half.Open(), 0.5+0.5*0.25, 2e-3, "half of 1 and half of cos² 60°")
	check(t, "height between points", Skyline{{10, 10}, {30, 20}}.Height(20), 15, 1e-9, "middle of a straight line")
	check(t, "height across north", Skyline{{10, 10}, {350, 20}}.Height(0), 15, 1e-9, "middle of a straight line")
	check(t, "one point", Skyline{{10, 12}}.Height(200), 12, 1e-9, "all round")

	s := someHours(24)
	plain, shaded := make([]air.Outside, 144), make([]air.Outside, 144)
	if err := s.Sample(invented, Options{}, s.Start, 10*time.Minute, plain); err != nil {
		t.Fatal(err)
	}
	if err := s.Sample(invented, Options{Skyline: wall}, s.Start, 10*time.Minute, shaded); err != nil {
		t.Fatal(err)
	}
	for i := range plain {
		p, q := plain[i], shaded[i]
		check(t, "diffuse under a skyline", q.DiffuseWM2, 0.75*p.DiffuseWM2, 1e-9, "cos² 30°")
		up := p.CosZenith > 0.5 // sin 30°
		if up && math.Abs(q.BeamWM2-p.BeamWM2) > 1e-9 || !up && q.BeamWM2 > 0 {
			t.Errorf("step %d: beam %v behind a wall of 30°, %v without, cosine %v", i, q.BeamWM2, p.BeamWM2, p.CosZenith)
		}
		if q.LongwaveWM2 < p.LongwaveWM2-1e-9 {
			t.Errorf("step %d: a wall radiates less than the sky", i)
		}
	}
	for _, bad := range []Skyline{{{-1, 0}}, {{10, 91}}, {{20, 1}, {10, 1}}, {{math.NaN(), 1}}} {
		if err := bad.Check(); err == nil {
			t.Errorf("%v passes", bad)
		}
	}
}

func TestSampleRefuses(t *testing.T) {
	s := someHours(48)
	out := make([]air.Outside, 144)
	ten := 10 * time.Minute
	hole := someHours(48)
	hole.Hours[5].RHPct = math.NaN()
	low := someHours(48)
	low.WindHeightM = 0
	for _, r := range []struct {
		what, field string
		err         error
	}{
		{"too early", "weather", s.Sample(invented, Options{}, s.Start.Add(-ten), ten, out)},
		{"too late", "weather", s.Sample(invented, Options{}, s.Start.Add(25*time.Hour), ten, out)},
		{"a hole", "rh_pct", hole.Sample(invented, Options{}, s.Start, ten, out)},
		{"no wind height", "wind_height_m", low.Sample(invented, Options{}, s.Start, ten, out)},
		{"no place", "lat_deg", s.Sample(Site{LatDeg: 100}, Options{}, s.Start, ten, out)},
		{"turbidity", "linke_turbidity", s.Sample(invented, Options{Linke: 0.5}, s.Start, ten, out)},
		{"photons", "par_share", s.Sample(invented, Options{PARShare: 1.5}, s.Start, ten, out)},
		{"ground", "ground_deep_c", s.Sample(invented, Options{GroundKnown: true, GroundDeepC: math.NaN()}, s.Start, ten, out)},
		{"no step", "step", s.Sample(invented, Options{}, s.Start, 0, out)},
		{"skyline", "skyline[0].elevation_deg", s.Sample(invented, Options{Skyline: Skyline{{0, 95}}}, s.Start, ten, out)},
	} {
		var e *InputError
		if !errors.As(r.err, &e) || e.Field != r.field {
			t.Errorf("%s: %v, want an error about %s", r.what, r.err, r.field)
		}
	}
	// a hole outside the span does no harm
	hole.Hours[5].RHPct = 50
	hole.Hours[47].AirC = math.NaN()
	if err := hole.Sample(invented, Options{}, s.Start, ten, out); err != nil {
		t.Error(err)
	}
}

func TestSampleOnDoesNotAllocate(t *testing.T) {
	s := someHours(72)
	out := make([]air.Outside, 144)
	d := NewDaylight(invented, 3, s.Start, s.Start.Add(24*time.Hour), 10*time.Minute, 144)
	if n := testing.AllocsPerRun(20, func() {
		if err := s.SampleOn(d, Options{}, out); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("SampleOn allocates %v times", n)
	}
}

func BenchmarkSampleDay(b *testing.B) {
	s := someHours(72)
	out := make([]air.Outside, 144)
	b.ReportAllocs()
	for b.Loop() {
		if err := s.Sample(invented, Options{}, s.Start.Add(24*time.Hour), 10*time.Minute, out); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSampleOnDay(b *testing.B) {
	s := someHours(72)
	out := make([]air.Outside, 144)
	d := NewDaylight(invented, 3, s.Start, s.Start.Add(24*time.Hour), 10*time.Minute, 144)
	b.ReportAllocs()
	for b.Loop() {
		if err := s.SampleOn(d, Options{}, out); err != nil {
			b.Fatal(err)
		}
	}
}
