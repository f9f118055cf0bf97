package sky

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// inventedNormals are twelve made-up months of a made-up southern place.
func inventedNormals() Normals {
	var n Normals
	for m := range n {
		s := math.Cos(2 * math.Pi * float64(m) / 12) // summer in January
		n[m] = UnknownMonth()
		n[m].GHIMJM2D = 19 + 5*s
		n[m].MinC, n[m].MaxC = 15+5*s, 27+5*s
		n[m].RHPct = 60 + 10*s
		n[m].WindMS = 2.2 - 0.4*s
		n[m].RainDays, n[m].RainMM = 6+5*s, 60+50*s
	}
	return n
}

// record is what one sums up of a series, month by month and overall.
type record struct {
	days                             int
	clearness, meanC, rh, wind, span [12]float64
	rainDays, rainMM                 [12]float64 // a year
	spread, next                     float64     // of clearness about its month: deviation, correlation with the next day
	tempSpread, tempNext             float64     // of the daily mean about its month
	tempOn                           float64     // correlation of temperature and clearness
	humidOn                          float64     // correlation of humidity and clearness
	wetClearness                     float64     // mean deviation of clearness on wet days
}

func sumUp(s *Series, site Site) record {
	a := NewAlmanac(site, s.Start, len(s.Hours)/24)
	days := s.days(a)
	var r record
	r.days = len(days)
	var n [12]float64
	for _, d := range days {
		m := d.month
		n[m]++
		r.clearness[m] += d.clearness
		r.meanC[m] += d.meanC
		r.rh[m] += d.rhPct
		r.wind[m] += d.windMS
		r.span[m] += d.rangeK
		if d.rainMM >= wetDayMM {
			r.rainDays[m]++
			r.rainMM[m] += d.rainMM
		}
	}
	for m := range n {
		r.clearness[m] /= n[m]
		r.meanC[m] /= n[m]
		r.rh[m] /= n[m]
		r.wind[m] /= n[m]
		r.span[m] /= n[m]
		r.rainDays[m] *= float64(monthDays[m]) / n[m]
		r.rainMM[m] *= float64(monthDays[m]) / n[m]
	}
	var kk, tt, kt, k1, t1, hh, kh, wet float64
	for i, d := range days {
		k, t := d.clearness-r.clearness[d.month], d.meanC-r.meanC[d.month]
		kk, tt, kt = kk+k*k, tt+t*t, kt+k*t
		h := d.rhPct - r.rh[d.month]
		hh, kh = hh+h*h, kh+k*h
		if d.rainMM >= wetDayMM {
			wet++
			r.wetClearness += k
		}
		if i > 0 {
			p := days[i-1]
			k1 += k * (p.clearness - r.clearness[p.month])
			t1 += t * (p.meanC - r.meanC[p.month])
		}
	}
	N := float64(len(days))
	r.spread, r.next = math.Sqrt(kk/N), k1/kk
	r.tempSpread, r.tempNext = math.Sqrt(tt/N), t1/tt
	r.humidOn = kh / math.Sqrt(kk*hh)
	r.wetClearness /= math.Max(1, wet)
	r.tempOn = kt / math.Sqrt(kk*tt)
	return r
}

// homeMade writes years of hours by a rule that has nothing to do with the
// generator: a seasonal wave with an autoregressive deviation in everything.
func homeMade(site Site, years int, rng *rand.Rand) *Series {
	start := time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
	n := int(start.AddDate(years, 0, 0).Sub(start) / (24 * time.Hour))
	a := NewAlmanac(site, start, n)
	s := &Series{Start: start, Hours: make([]Hour, 24*n), WindHeightM: 10}
	var x, y, w float64
	for d := range a.days {
		season := math.Cos(2 * math.Pi * (a.days[d].yearDay - 15) / 365)
		x = 0.4*x + math.Sqrt(1-0.16)*rng.NormFloat64()
		y = 0.7*y + math.Sqrt(1-0.49)*rng.NormFloat64()
		w = 0.5*w + math.Sqrt(1-0.25)*rng.NormFloat64()
		k := clamp(0.55+0.06*season+0.13*x, 0.06, 0.78)
		tm := 22 + 6*season + 2*(0.4*x+0.9165*y)
		wet := rng.Float64() < 0.3*math.Exp(-x)/1.65
		mm := 0.2 + 7*rng.ExpFloat64()
		for i, h := range a.hoursOf(d) {
			at := 24*d + i - a.first
			if at < 0 || at >= len(s.Hours) {
				continue
			}
			q := Hour{
				GHIWM2:      k * a.days[d].extraMJ * h.share / 3600e-6,
				AirC:        tm + (5+x)*math.Cos(2*math.Pi*(h.solarHour-14)/24),
				RHPct:       clamp(60+5*season-6*x-15*math.Cos(2*math.Pi*(h.solarHour-14)/24)+3*w, 5, 100),
				WindMS:      3 * math.Exp(0.25*w) * (1 + 0.4*math.Cos(2*math.Pi*(h.solarHour-16)/24)),
				PressureKPa: 94.1,
				LongwaveWM2: math.NaN(),
			}
			if wet && i >= 12 && i < 14 {
				q.RainMM = mm / 2
			}
			s.Hours[at] = q
		}
	}
	return s
}

func TestGeneratedYearsAreLikeTheirSource(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty years")
	}
	site := Site{LatDeg: -24, LonDeg: 31, ElevationM: 600}
	src := homeMade(site, 6, rand.New(rand.NewPCG(5, 6)))
	g, err := Estimate(src, site)
	if err != nil {
		t.Fatal(err)
	}
	out := g.Generate(time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC), 30*365, rand.New(rand.NewPCG(7, 8)))
	a, b := sumUp(src, site), sumUp(&out, site)
	const from = "the series that the generator was estimated from"
	w := worst{}
	var wetA, wetB, mmA, mmB float64
	for m := range 12 {
		// Tolerances: three standard errors of thirty Januaries (900 days, of
		// which persistence leaves about half), and what smoothing the year costs.
		w.check(t, "clearness of a month", b.clearness[m], a.clearness[m], 0.02, from)
		w.check(t, "temperature of a month °C", b.meanC[m], a.meanC[m], 0.35, from)
		w.check(t, "range of a month K", b.span[m], a.span[m], 0.5, from)
		w.check(t, "humidity of a month %", b.rh[m], a.rh[m], 1.2, from)
		w.check(t, "wind of a month m/s", b.wind[m], a.wind[m], 0.15, from)
		wetA, wetB, mmA, mmB = wetA+a.rainDays[m], wetB+b.rainDays[m], mmA+a.rainMM[m], mmB+b.rainMM[m]
	}
	w.check(t, "spread of clearness", b.spread, a.spread, 0.05*a.spread, from)
	w.check(t, "clearness of the next day", b.next, a.next, 0.05, from)
	w.check(t, "spread of temperature K", b.tempSpread, a.tempSpread, 0.07*a.tempSpread, from)
	w.check(t, "temperature of the next day", b.tempNext, a.tempNext, 0.06, from)
	w.check(t, "temperature with clearness", b.tempOn, a.tempOn, 0.06, from)
	w.check(t, "humidity with clearness", b.humidOn, a.humidOn, 0.06, from)
	w.check(t, "clearness of wet days", b.wetClearness, a.wetClearness, 0.025, from)
	w.check(t, "wet days a year", wetB, wetA, 0.06*wetA, from)
	w.check(t, "rain a year mm", mmB, mmA, 0.1*mmA, from)
	check(t, "pressure", out.Hours[100].PressureKPa, 94.1, 1e-9, from)
	check(t, "wind height", out.WindHeightM, 10, 0, from)
	for what, d := range w {
		t.Logf("worst %s: %.3g", what, d)
	}
	// the course of the wind: highest at 16 h, by 40 %
	check(t, "course of the wind", math.Hypot(g.windSwing[0], g.windSwing[1]), 0.4, 0.02, "the rule that wrote the series")
	check(t, "hour of the strongest wind", math.Mod(math.Atan2(g.windSwing[1], g.windSwing[0])*12/math.Pi+24, 24), 16, 0.2, "the rule that wrote the series")
}

func TestGeneratedYearsAreLikeTheirNormals(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty years")
	}
	n := inventedNormals()
	g, err := FromNormals(n, invented)
	if err != nil {
		t.Fatal(err)
	}
	out := g.Generate(time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC), 30*365, rand.New(rand.NewPCG(3, 4)))
	r := sumUp(&out, invented)
	w := worst{}
	for m := range 12 {
		const from = "the normals"
		extra, _ := monthSun(invented, m)
		w.check(t, "clearness of a month", r.clearness[m], n[m].GHIMJM2D/extra, 0.02, from)
		w.check(t, "range of a month K", r.span[m], n[m].MaxC-n[m].MinC, 0.6, from)
		w.check(t, "humidity of a month %", r.rh[m], n[m].RHPct, 1.2, from)
		w.check(t, "wind of a month m/s", r.wind[m], n[m].WindMS, 0.15, from)
		w.check(t, "wet days of a month", r.rainDays[m], n[m].RainDays, 0.12*n[m].RainDays+0.5, from)
		w.check(t, "rain of a month mm", r.rainMM[m], n[m].RainMM, 0.2*n[m].RainMM+5, from)
	}
	w.check(t, "clearness of the next day", r.next, 0.29, 0.04, "Graham et al. 1988, from memory")
	for what, d := range w {
		t.Logf("worst %s: %.3g", what, d)
	}
}

// The mean year has the normals' own months.
func TestMeanYear(t *testing.T) {
	n := inventedNormals()
	s, err := n.Mean(invented, 2028) // a leap year
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Hours) != 366*24 || s.Start.Year() != 2028 {
		t.Fatalf("%d hours from %v", len(s.Hours), s.Start)
	}
	r := sumUp(&s, invented)
	for m := range 12 {
		const from = "the normals"
		extra, _ := monthSun(invented, m)
		check(t, "clearness", r.clearness[m], n[m].GHIMJM2D/extra, 0.004, from)
		check(t, "humidity", r.rh[m], n[m].RHPct, 0.3, from)
		check(t, "wind", r.wind[m], n[m].WindMS, 0.03, from)
		check(t, "range", r.span[m], n[m].MaxC-n[m].MinC, 0.3, from)
		check(t, "rain", r.rainMM[m], n[m].RainMM, 0.02*n[m].RainMM, from)
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := 0; i < 24; i++ { // a day in the middle of July
		c := s.Hours[24*196+i].AirC
		lo, hi = math.Min(lo, c), math.Max(hi, c)
	}
	check(t, "July's lowest", lo, n[6].MinC, 0.3, "the normals")
	check(t, "July's highest", hi, n[6].MaxC, 0.3, "the normals")
}

func TestNormalsSayWhatIsMissing(t *testing.T) {
	for _, r := range []struct {
		field string
		spoil func(*Month)
	}{
		{"monthly[3].ghi_mj_m2_d", func(m *Month) { m.GHIMJM2D = math.NaN() }},
		{"monthly[3].ghi_mj_m2_d", func(m *Month) { m.GHIMJM2D = 45 }},
		{"monthly[3].t_mean_c", func(m *Month) { m.MinC = math.NaN() }},
		{"monthly[3].t_max_c", func(m *Month) { m.MinC, m.MaxC = 30, 20 }},
		{"monthly[3].rh_pct", func(m *Month) { m.RHPct = 120 }},
		{"monthly[3].wind_2m_m_s", func(m *Month) { m.WindMS = -1 }},
		{"monthly[3].rain_days", func(m *Month) { m.RainDays = 40 }},
	} {
		n := inventedNormals()
		r.spoil(&n[3])
		_, err := FromNormals(n, invented)
		var e *InputError
		if !errors.As(err, &e) || e.Field != r.field {
			t.Errorf("%v, want an error about %s", err, r.field)
		}
	}
	if _, err := FromNormals(inventedNormals(), Site{LatDeg: 95}); err == nil {
		t.Error("no place on the earth passes")
	}
	// sunshine and clearness will do for light, and the rest has defaults
	n := inventedNormals()
	for m := range n {
		n[m] = UnknownMonth()
		n[m].SunHours, n[m].MeanC = 7.1, 22
	}
	g, err := FromNormals(n, Site{LatDeg: -(22 + 54.0/60)})
	if err != nil {
		t.Fatal(err)
	}
	k, _, _ := g.Clearness(5)
	check(t, "clearness from sunshine", k, 14.5/25.1, 0.01, fao+", example 10, Rio de Janeiro in May")
}

func TestEstimateRefuses(t *testing.T) {
	site := Site{LatDeg: -24, LonDeg: 31, ElevationM: 600}
	year := homeMade(site, 1, rand.New(rand.NewPCG(1, 1)))
	short := &Series{Start: year.Start, Hours: year.Hours[:24*200], WindHeightM: 10}
	if _, err := Estimate(short, site); err == nil {
		t.Error("two hundred days pass")
	}
	low := &Series{Start: year.Start, Hours: year.Hours}
	if _, err := Estimate(low, site); err == nil {
		t.Error("no wind height passes")
	}
	if _, err := Estimate(year, Site{LonDeg: 1e9}); err == nil {
		t.Error("no place on the earth passes")
	}
	if _, err := Estimate(year, site); err != nil {
		t.Error(err)
	}
}

// The distribution of daily clearness, against the closed form that its authors'
// successors gave for its one parameter.
func TestClearnessDistribution(t *testing.T) {
	for _, mean := range []float64{0.3, 0.4, 0.5, 0.6, 0.7} {
		q := bendt(mean)
		check(t, "mean", q.mean(), mean, 1e-6, "what was asked for")
		high := 0.6313 + 0.267*mean - 11.9*math.Pow(mean-0.75, 8)
		xi := (high - 0.05) / (high - mean)
		gamma := -1.498 + (1.184*xi-27.182*math.Exp(-1.5*xi))/(high-0.05)
		for _, u := range []float64{0.1, 0.25, 0.5, 0.75, 0.9} {
			want := math.Log((1-u)*math.Exp(gamma*0.05)+u*math.Exp(gamma*high)) / gamma
			check(t, "quantile", q.at(u), want, 0.012, "Bendt et al. 1981 with γ after Herzog 1985, from memory")
		}
		for i := 1; i < knots; i++ {
			if q[i] < q[i-1] {
				t.Errorf("quantiles of %v fall", mean)
			}
		}
		check(t, "rank of a quantile", q.rank(q.at(0.37)), 0.37, 1e-9, "inverse")
	}
}

func TestChain(t *testing.T) {
	// Summed over normal scores, the matrix has the correlation that it was made with.
	p := persistence(0.5)
	xy, xx := 0.0, 0.0
	for i := range p {
		row := 0.0
		for j := range p[i] {
			a, b := normalScore((float64(i)+0.5)/classes), normalScore((float64(j)+0.5)/classes)
			xy += p[i][j] * a * b
			xx += p[i][j] * (a*a + b*b) / 2
			row += p[i][j]
		}
		check(t, "row", row, 1, 1e-9, "probabilities")
	}
	check(t, "correlation", xy/xx, 0.5, 0.03, "what was asked for; classes blur a little")
	// A lopsided matrix comes out with even columns.
	var n [classes][classes]float64
	for i := range n {
		for j := range n[i] {
			n[i][j] = 1 + float64((i*7+j*j)%5)
		}
	}
	sums := evenOut(n)
	for j := range classes {
		col := 0.0
		for i := range classes {
			v := sums[i][j]
			if j > 0 {
				v -= sums[i][j-1]
			}
			if v < 0 {
				t.Fatalf("running sums fall in row %d", i)
			}
			col += v
		}
		check(t, "column", col, 1, 1e-9, "Sinkhorn 1964: a doubly stochastic limit")
	}
}

// A habit that no plain persistence has is learnt from the days themselves.
func TestChainLearns(t *testing.T) {
	g, err := FromNormals(inventedNormals(), invented)
	if err != nil {
		t.Fatal(err)
	}
	var days []measuredDay
	for i := range 600 { // dark, bright, middling, and again
		u := []float64{0.04, 0.96, 0.5}[i%3]
		days = append(days, measuredDay{index: i, clearness: 0.5, u: u, z: normalScore(u)})
	}
	g.fitChain(days)
	// the darkest class is followed by the brightest, as far as 200 days outweigh 24
	if p := 1 - g.chain[0][classes-2]; p < 0.7 {
		t.Errorf("a bright day follows a dark one with %v, want most of the time", p)
	}
}

func TestGeneratorProperties(t *testing.T) {
	n := inventedNormals()
	for m := range n { // these fit all latitudes
		n[m].GHIMJM2D, n[m].Clearness = math.NaN(), 0.5
	}
	rapid.Check(t, func(rt *rapid.T) {
		site := Site{
			LatDeg:     rapid.Float64Range(-90, 90).Draw(rt, "lat"),
			LonDeg:     rapid.Float64Range(-180, 180).Draw(rt, "lon"),
			ElevationM: rapid.Float64Range(0, 3000).Draw(rt, "elevation"),
		}
		g, err := FromNormals(n, site)
		if err != nil {
			rt.Fatal(err)
		}
		start := time.Unix(3600*rapid.Int64Range(-175000, 1139000).Draw(rt, "hour"), 0).UTC()
		days := rapid.IntRange(0, 20).Draw(rt, "days")
		seed := rapid.Uint64().Draw(rt, "seed")
		a := g.Generate(start, days, rand.New(rand.NewPCG(seed, 1)))
		b := g.Generate(start, days, rand.New(rand.NewPCG(seed, 1)))
		if len(a.Hours) != 24*days || !a.Start.Equal(start) {
			rt.Fatalf("%d hours from %v, want %d days from %v", len(a.Hours), a.Start, days, start)
		}
		for i, h := range a.Hours {
			o := b.Hours[i] // to the last bit: one binary draws one weather from one seed
			if h.GHIWM2 != o.GHIWM2 || h.AirC != o.AirC || h.RainMM != o.RainMM || h.WindMS != o.WindMS || h.RHPct != o.RHPct {
				rt.Fatalf("hour %d differs between two draws of one seed", i)
			}
			if !(h.GHIWM2 >= 0 && h.GHIWM2 < 1450) || !(h.RHPct >= 0 && h.RHPct <= 100) || !(h.WindMS >= 0) || !(h.RainMM >= 0) || math.IsNaN(h.AirC) {
				rt.Fatalf("hour %d is no weather: %+v", i, h)
			}
			sun := Position(start.Add(time.Duration(i)*time.Hour+30*time.Minute), site)
			if sun.ZenithDeg > 99 && h.GHIWM2 > 1 && math.Abs(site.LatDeg) < 60 {
				rt.Fatalf("hour %d: %v W/m² with the sun at %v° from the zenith", i, h.GHIWM2, sun.ZenithDeg)
			}
		}
	})
}

// Whatever is typed in, there is an error or there is weather.
func TestAnyNormals(t *testing.T) {
	start := time.Date(2026, 1, 30, 5, 30, 0, 0, time.UTC)
	rapid.Check(t, func(rt *rapid.T) {
		odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), 0, -1, 1e300, 0.3, 5, 12, 30, 31, 100})
		n := inventedNormals()
		for m := range n {
			for range rapid.IntRange(0, 2).Draw(rt, "spoilt") {
				v := odd.Draw(rt, "value")
				k := &n[m]
				*[]*float64{&k.GHIMJM2D, &k.SunHours, &k.Clearness, &k.MeanC, &k.MinC, &k.MaxC, &k.RHPct,
					&k.VapourKPa, &k.WindMS, &k.RainDays, &k.RainMM}[rapid.IntRange(0, 10).Draw(rt, "field")] = v
			}
		}
		g, err := FromNormals(n, invented)
		var e *InputError
		if err != nil {
			if !errors.As(err, &e) || e.Field == "" {
				rt.Fatalf("%v names no field", err)
			}
			return
		}
		s := g.Generate(start, 5, rand.New(rand.NewPCG(1, 2)))
		for i, h := range s.Hours {
			if math.IsNaN(h.GHIWM2+h.AirC+h.RHPct+h.WindMS) || math.IsInf(h.GHIWM2+h.AirC+h.WindMS, 0) {
				rt.Fatalf("hour %d: %+v from %+v", i, h, n)
			}
		}
	})
}

func BenchmarkGenerate60Days(b *testing.B) {
	g, err := FromNormals(inventedNormals(), invented)
	if err != nil {
		b.Fatal(err)
	}
	start := time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
	rng := rand.New(rand.NewPCG(1, 2))
	b.ReportAllocs()
	for b.Loop() {
		g.Generate(start, 60, rng)
	}
}

func BenchmarkGenerateOn60Days(b *testing.B) {
	g, err := FromNormals(inventedNormals(), invented)
	if err != nil {
		b.Fatal(err)
	}
	a := NewAlmanac(invented, time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC), 60)
	rng := rand.New(rand.NewPCG(1, 2))
	b.ReportAllocs()
	for b.Loop() {
		g.GenerateOn(a, rng)
	}
}
