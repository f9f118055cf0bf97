package twin

import (
	"math"
	"math/rand/v2"
	"testing"

	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/sky"
	"sodalake/science/vessel"

	"sodalake/science/air"
)

// sunlit is a made day, repeated: the light of a place or of a lamp, water with
// a daily swing that is warmest at 15:00, one density after the harvest at 08:00.
type sunlit struct {
	latDeg, dayOfYear float64
	noon              float64 // photons at noon [µmol/m²/s]; 0: by kWh
	kWh               float64 // energy of the day [kWh/m²]
	lampH             float64 // a lamp or a wall: hours of a sine day; 0: the sun
	flat              bool    // light constant through those hours
	shade             float64
	tempC, swingC     float64
	nightC            float64 // by how much nights of a lamp are colder
	pathM, gl         float64
	side              bool
	salt              [3]float64 // carbonate, chloride and sulfate salts [g/L]
	scale             float64    // of the clear sky, worked out once
}

// clear is the global radiation of a clear sky at an hour [W/m²], and the cosine
// of the sun's zenith angle.
func (c *sunlit) clear(h float64) (wm2, cos float64) {
	decl := 23.45 * math.Pi / 180 * math.Sin(2*math.Pi*(284+c.dayOfYear)/365) // Cooper 1969
	lat := c.latDeg * math.Pi / 180
	cos = math.Sin(lat)*math.Sin(decl) + math.Cos(lat)*math.Cos(decl)*math.Cos(15*math.Pi/180*(h-12))
	if cos < 0.001 {
		return 0, 0
	}
	return sky.Haurwitz(math.Asin(cos) * 180 / math.Pi), cos
}

// light is what falls on the water at an hour.
func (c *sunlit) light(h float64) growth.Light {
	l := growth.Light{PathM: c.pathM, Side: c.side}
	if c.lampH > 0 {
		if math.Abs(h-12) < c.lampH/2 {
			l.Diffuse, l.CosZenith = c.noon, 1
			if !c.flat {
				l.Diffuse *= math.Cos((h - 12) / c.lampH * math.Pi)
			}
		}
		return l
	}
	g, cos := c.clear(h)
	if cos == 0 {
		return l
	}
	if c.scale == 0 {
		c.scale = 1
		switch {
		case c.kWh > 0:
			sum := 0.0
			for i := range 288 {
				g, _ := c.clear((float64(i) + 0.5) / 12)
				sum += g / 12000
			}
			c.scale = c.kWh / sum
		case c.noon > 0:
			g, _ := c.clear(12)
			c.scale = c.noon / (g * 0.45 * 4.57)
		}
	}
	g *= c.scale
	top := 1367 * (1 + 0.033*math.Cos(2*math.Pi*c.dayOfYear/365)) * cos
	diffuse := sky.DiffuseFraction(g / top)
	par := g * 0.45 * 4.57 * (1 - c.shade)
	l.Beam, l.Diffuse, l.CosZenith = par*(1-diffuse), par*diffuse, cos
	return l
}

// day steps a day from 08:00 and calls watch at each step.
func (c *sunlit) day(m *growth.Model, s *growth.State, watch func(h float64, l *growth.Light, r *growth.Rates)) {
	for i := range 144 {
		h := math.Mod(8+(float64(i)+0.5)/6, 24)
		l := c.light(h)
		e := growth.Plain(c.tempC + c.swingC*math.Cos((h-15)/12*math.Pi))
		if c.nightC > 0 && l.Diffuse == 0 {
			e.TempC = c.tempC - c.nightC
		}
		e.CarbonateGL, e.ChlorideGL, e.SulfateGL = c.salt[0], c.salt[1], c.salt[2]
		r := m.Step(s, &l, &e, 1.0/144)
		if watch != nil {
			watch(h, &l, &r)
		}
	}
}

// yield is the gain of a settled day [g/m²/d].
func (c *sunlit) yield(m *growth.Model) float64 {
	s := growth.State{DensityGL: c.gl}
	for range 10 {
		c.day(m, &s, nil)
		s.DensityGL = c.gl
	}
	c.day(m, &s, nil)
	return (s.DensityGL - c.gl) * c.pathM * 1000
}

// nightLoss is the share of the dry matter at dusk that is gone at dawn [%].
func (c *sunlit) nightLoss(m *growth.Model) float64 {
	s := growth.State{DensityGL: c.gl}
	loss, dusk := 0.0, 0.0
	for range 10 {
		s.DensityGL = c.gl
		c.day(m, &s, func(h float64, l *growth.Light, _ *growth.Rates) {
			if l.Diffuse > 0 && h > 12 {
				dusk = s.DensityGL
			} else if l.Diffuse == 0 && (h < 8 && h > 3) {
				loss = 100 * (1 - s.DensityGL/dusk)
			}
		})
	}
	return loss
}

// until is how many days a start takes to reach a density [d].
func (c *sunlit) until(m *growth.Model, from, to float64) float64 {
	s := growth.State{DensityGL: from}
	days := 0.0
	for days < 40 && s.DensityGL < to {
		was := s.DensityGL
		c.day(m, &s, nil)
		if s.DensityGL >= to {
			return days + math.Log(to/was)/math.Log(s.DensityGL/was)
		}
		days++
	}
	return days
}

// published is one case in print.
type published struct {
	name    string
	assumed string
	unit    string
	of      func(m *growth.Model) float64
	reports [2]float64 // what is reported, as a range
	within  float64    // share by which the middle may miss it
	source  string
}

func months(lat, depth float64, first int, kWh, airC []float64) func(m *growth.Model) float64 {
	mid := []float64{15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349}
	return func(m *growth.Model) float64 {
		sum := 0.0
		for i := range kWh {
			c := sunlit{latDeg: lat, dayOfYear: mid[first+i], kWh: kWh[i], tempC: airC[i] + 3, swingC: math.Min(9, 0.024*kWh[i]*1000/24*math.Pow(0.2/depth, 0.6)), pathM: depth, gl: 0.4}
			sum += c.yield(m)
		}
		return sum / float64(len(kWh))
	}
}

// publishedCases are outdoor and bench cultures in print. What was not printed
// is assumed as written; a reasonable other choice moves a yield by 10–25 %.
// The defaults were fitted to most of these, so that this is a fit and no
// evidence; what is tested is that members drawn with the correlations keep it.
func publishedCases() []published {
	raceway := sunlit{latDeg: 30.9, dayOfYear: 196, noon: 2100, tempC: 29, swingC: 4, pathM: 0.12, gl: 0.45}
	net := raceway
	net.shade = 0.3
	tube := func(tempC float64) sunlit {
		return sunlit{lampH: 15, noon: 1000, side: true, tempC: tempC, nightC: 7, pathM: 0.024, gl: 1.5}
	}
	t35, t25 := tube(35), tube(25)
	bench := func(tempC float64) sunlit {
		return sunlit{lampH: 12, flat: true, side: true, noon: 250, tempC: tempC, pathM: 0.06, gl: 1}
	}
	b30, b20 := bench(30), bench(20)
	open := func(tempC float64) sunlit {
		return sunlit{latDeg: 30, dayOfYear: 80, noon: 1900, tempC: tempC, swingC: 3, pathM: 0.15, gl: 0.40}
	}
	o20, o32 := open(20), open(32)
	family := sunlit{latDeg: 14, dayOfYear: 110, noon: 1900, tempC: 29, swingC: 3, pathM: 0.30, gl: 0.35}
	bottle := sunlit{lampH: 12.5, noon: 500, side: true, tempC: 27, swingC: 3, pathM: 0.07}
	start := sunlit{latDeg: 35, dayOfYear: 80, noon: 1350, tempC: 25, swingC: 3, pathM: 0.25}
	thin := sunlit{lampH: 48, flat: true, noon: 700, tempC: 35, pathM: 0.03, gl: 0.1}
	salty := thin
	salty.salt = [3]float64{13, 0, 75}
	plain := thin
	plain.salt = [3]float64{13, 0, 0}
	gross := func(c sunlit) func(m *growth.Model) float64 {
		return func(m *growth.Model) float64 {
			s, sum := growth.State{DensityGL: c.gl}, 0.0
			for range 5 {
				sum = 0
				c.day(m, &s, func(_ float64, _ *growth.Light, r *growth.Rates) { s.DensityGL = c.gl; sum += r.Net / 144 })
			}
			return sum
		}
	}
	ratio := func(a, b func(m *growth.Model) float64) func(m *growth.Model) float64 {
		return func(m *growth.Model) float64 { return a(m) / b(m) }
	}
	const (
		vonshak  = "Vonshak & Guy 1989 (abstract)"
		jimenez  = "Jiménez et al. 2003, Aquaculture 217:179 (abstract)"
		torz86   = "Torzillo et al. 1986, Biomass 11:61 (abstract)"
		torz91   = "Torzillo et al. 1991, Bioresource Technol. 38 (abstract)"
		karemore = "Karemore et al. 2020, preprint"
		kebede   = "Kebede 1997, J. Appl. Phycol. 9 (abstract)"
		practice = "common practice, no source"
	)
	return []published{
		{"raceway, open", "30.9° N, July, clear, noon 2100, 29 ± 4 °C, 0.12 m, 0.45 g/L", "g/m²/d", raceway.yield, [2]float64{11.5, 11.5}, 0.3, vonshak},
		{"raceway, 30 % shade", "the same", "g/m²/d", net.yield, [2]float64{14.7, 14.7}, 0.3, vonshak},
		{"shaded over open", "the same", "", ratio(net.yield, raceway.yield), [2]float64{1.28, 1.28}, 0.3, vonshak},
		{"Malaga, February to November", "0.20 m, 0.40 g/L, monthly means of sun, water 3 °C above air", "g/m²/d",
			months(36.7, 0.20, 1, []float64{3.6, 4.9, 5.8, 6.8, 7.5, 7.5, 6.7, 5.3, 3.8, 2.8}, []float64{12.9, 14.7, 16.3, 19.3, 23.0, 25.5, 26.0, 23.5, 19.5, 15.7}),
			[2]float64{8.2, 8.8}, 0.3, jimenez},
		{"Florence, April to October", "0.15 m, 0.40 g/L, the same rule", "g/m²/d",
			months(43.8, 0.15, 3, []float64{4.7, 5.9, 6.6, 6.8, 5.8, 4.3, 2.9}, []float64{13.6, 18.2, 22.1, 25.0, 24.9, 20.8, 16.2}),
			[2]float64{18.0 * 100 / 214, 18.0 * 100 / 214}, 0.3, torz86},
		{"family pond", "14° N, noon 1900, 29 ± 3 °C, 0.30 m, 0.35 g/L", "g/m²/d", family.yield, [2]float64{8, 10}, 0.3, practice},
		{"night loss, grown at 35 °C", "tubes 24 mm by lit wall, 1.5 g/L, nights 7 °C cooler", "%", t35.nightLoss, [2]float64{5, 5}, 0.3, torz91},
		{"night loss, grown at 25 °C", "the same", "%", t25.nightLoss, [2]float64{7.6, 7.6}, 0.3, torz91},
		{"35 over 25 °C", "the same", "", ratio(t35.yield, t25.yield), [2]float64{1.23, 1.23}, 0.3, torz91},
		{"30 over 20 °C on the bench", "250 µmol 12 h, 6 cm, 1 g/L", "", ratio(b30.yield, b20.yield), [2]float64{1.28, 1.28}, 0.3, karemore},
		{"20 over 32 °C in full sun", "noon 1900, 0.15 m, 0.40 g/L; “nearly stopped” taken as a quarter at most", "", ratio(o20.yield, o32.yield), [2]float64{0, 0.25}, 0.3, "Jourdan, handbook 2006–2014"},
		{"greatest net rate", "3 cm, 0.1 g/L, constant 700 µmol, 35 °C, 13 g/L salts", "1/d", gross(plain), [2]float64{2.14, 2.14}, 0.3, kebede},
		{"rate with 75 g/L of sulfates more", "the same, over that; the worst anion, from which the default slope was taken", "", ratio(gross(salty), gross(plain)), [2]float64{0.33 / 2.14, 0.33 / 2.14}, 0.3, kebede},
		{"bottle 1:5, back to 0.6 g/L", "500 µmol noon on the wall, 27 ± 3 °C, path 7 cm", "d", func(m *growth.Model) float64 { return bottle.until(m, 0.12, 0.6) }, [2]float64{4, 5}, 0.3, practice},
		{"pond from 0.3 to 0.5 g/L", "0.25 m, noon 1350, 25 ± 3 °C", "d", func(m *growth.Model) float64 { return start.until(m, 0.3, 0.5) }, [2]float64{4, 7}, 0.3, practice},
	}
}

// caseResult is a published case as the members have it.
type caseResult struct {
	published
	band num.Band
}

// runCases runs every case with members drawn around one and the same set.
func runCases(members int) []caseResult {
	rng := rand.New(rand.NewPCG(8100, 1))
	models := make([]growth.Model, members)
	for i := range models {
		models[i] = growth.NewModel(growth.Draw(rng, growth.Default()))
	}
	var out []caseResult
	for _, c := range publishedCases() {
		x := make([]float64, members)
		for i := range models {
			x[i] = c.of(&models[i])
		}
		out = append(out, caseResult{c, num.BandOf(x)})
	}
	return out
}

// check fails where the middle lies further from the report than it may.
func (c *caseResult) check(t *testing.T) {
	t.Helper()
	low, high := c.reports[0]*(1-c.within), c.reports[1]*(1+c.within)
	if !(c.band.Mid >= low && c.band.Mid <= high) {
		t.Errorf("%s: %.3g %s (%.3g to %.3g), reported %.3g to %.3g, allowed %.3g to %.3g (%s)",
			c.name, c.band.Mid, c.unit, c.band.Low, c.band.High, c.reports[0], c.reports[1], low, high, c.source)
	}
}

// TestProofPublishedCases holds the middle of the members against print; all of
// them when the proof is asked for, few otherwise.
func TestProofPublishedCases(t *testing.T) {
	n := 4
	if proof() {
		n = 200
	}
	results := runCases(n)
	shaded := 0
	for i := range results {
		results[i].check(t)
		if results[i].name == "shaded over open" {
			shaded++
			if !(results[i].band.Mid > 1) {
				t.Errorf("the shaded pond yields %.2f of the open one; more is reported (%s)", results[i].band.Mid, results[i].source)
			}
		}
	}
	if shaded != 1 {
		t.Error("the shaded pond was not looked at")
	}
	if proof() {
		report(t).cases = results
	}
}

// panDay is the mean day of 13–31 July 2024 of a class A pan beside Mono Lake,
// California, every second hour from midnight: global [W/m²], air [°C], humidity
// [%], wind at 10 m [m/s], water [°C]. 38.0° N, 1950 m, 13 cm deep.
//
// Source: worked out from the readings in github.com/annefetrow/Mono-Evap-Pan,
// commit 758f55e6; the shortwave there is probably modelled.
var panDay = [12][5]float64{
	{0, 13.4, 57, 2.1, 16.8}, {0, 11.4, 62, 2.4, 15.0}, {0, 9.5, 67, 2.6, 13.3}, {5, 9.6, 69, 2.7, 12.3},
	{375, 19.5, 44, 1.6, 15.9}, {732, 24.8, 29, 1.9, 21.7}, {998, 28.6, 19, 2.4, 27.3}, {869, 29.3, 19, 3.5, 29.4},
	{555, 27.9, 22, 4.5, 28.1}, {231, 25.1, 29, 5.2, 24.5}, {3, 20.9, 37, 3.7, 20.9}, {0, 16.4, 48, 2.2, 18.6},
}

// panOutside is the weather of that day at an hour, straight between the rows,
// which are means that stand half an hour after their stamp.
func panOutside(hour float64) air.Outside {
	x := math.Mod(hour-0.5+24, 24) / 2
	a, b, f := panDay[int(x)%12], panDay[(int(x)+1)%12], x-math.Floor(x)
	mix := func(k int) float64 { return a[k] + (b[k]-a[k])*f }
	const deg = math.Pi / 180
	cos := math.Max(0, math.Sin(38*deg)*math.Sin(20.2*deg)+math.Cos(38*deg)*math.Cos(20.2*deg)*math.Cos(15*deg*(hour-13.05)))
	o := air.Outside{CosZenith: cos, AirC: mix(1), VapourKPa: air.VapourFromRH(mix(2), mix(1)), WindMS: air.WindAt2M(mix(3), 10), PressureKPa: air.Pressure(1950), GroundDeepC: 19.7}
	o.LongwaveWM2 = air.Longwave(air.SkyEmissivity(o.AirC, o.VapourKPa, 0), o.AirC)
	share := 1.0
	if top := 1322 * cos; top > 20 {
		share = sky.DiffuseFraction(mix(0) / top)
	}
	o.DiffuseWM2 = share * mix(0)
	o.BeamWM2 = mix(0) - o.DiffuseWM2
	return o
}

// panResult is a pan against its readings.
type panResult struct {
	name       string
	rmse, mean float64 // [°C]
	mm         float64 // evaporated [mm/d]
	hourly     [24]float64
}

func runPan(name string, set func(*vessel.Setting)) panResult {
	g, err := vessel.NewCylinder(1.2065, 0.254)
	if err != nil {
		panic(err)
	}
	st := vessel.DefaultSetting(vessel.Cylinder, vessel.None)
	set(&st)
	b := vessel.NewBody(g, 0.13, g.VolumeL(0.13)*0.998, 1)
	o := panOutside(0)
	th := st.Start(&o, 18)
	r := panResult{name: name}
	for day := range 15 {
		r.hourly, r.mm = [24]float64{}, 0
		for i := range 144 {
			o := panOutside((float64(i) + 0.5) / 6)
			before := th.WaterC
			e := st.Step(&th, &o, &b, 600)
			r.hourly[i/6] += (before + th.WaterC) / 12
			r.mm += e.EvaporatedKg / b.SurfaceM2
		}
		_ = day
	}
	for i, p := range panDay {
		d := r.hourly[2*i] - p[4]
		r.rmse += d * d / 12
		r.mean += d / 12
	}
	r.rmse = math.Sqrt(r.rmse)
	return r
}

// TestProofPan runs the pan untuned, as members have their wind, and tuned to it.
func TestProofPan(t *testing.T) {
	plain := runPan("as described", func(*vessel.Setting) {})
	best := plain
	for _, wind := range []float64{0.6, 0.8, 1, 1.2} {
		for _, wall := range []float64{50, 100, 200} {
			for _, extra := range []float64{0, 20, 40} {
				r := runPan("", func(st *vessel.Setting) { st.WindFactor, st.WallUWM2K, st.ExtraMassKgM2 = wind, wall, extra })
				if r.rmse < best.rmse {
					best = r
					best.name = "tuned: wind × " + short(wind) + ", wall " + short(wall) + " W/m²/K, " + short(extra) + " kg/m² of metal as water"
				}
			}
		}
	}
	const source = "class A pan at Mono Lake, mean day of 13–31 July 2024"
	if plain.rmse > 2 || math.Abs(plain.mean) > 1 {
		t.Errorf("pan: hourly RMSE %.2f °C, mean %+.2f °C; 2 and 1 are allowed (%s)", plain.rmse, plain.mean, source)
	}
	if best.rmse > plain.rmse {
		t.Errorf("tuning made it worse: %.2f", best.rmse)
	}
	t.Logf("untuned RMSE %.2f mean %+.2f, %.1f mm/d; %s RMSE %.2f mean %+.2f, %.1f mm/d", plain.rmse, plain.mean, plain.mm, best.name, best.rmse, best.mean, best.mm)
	if proof() {
		report(t).pans = []panResult{plain, best}
	}
}
