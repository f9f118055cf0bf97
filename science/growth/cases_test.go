package growth

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Published cases. Light, warmth, depth and density were not printed with most
// of them: they are assumed by us as written in each row, and a reasonable
// other choice moves a yield by 10–25 %. The column fit is what our own fit of
// the same structure gave (a second program, so a check of this code); the
// column seen is what the source reports, with the width it deserves.
type row struct {
	name           string
	got            float64
	fit, fitTol    float64 // our fit's value; its tolerance as a share
	seenLo, seenHi float64 // reported by the source, widened as said there
	source         string
}

func (r row) check(t *testing.T) {
	t.Helper()
	if !(math.Abs(r.got-r.fit) <= r.fitTol*math.Abs(r.fit)) {
		t.Errorf("%s: %.4g, our fit gave %.4g ± %.0f %% (%s)", r.name, r.got, r.fit, 100*r.fitTol, r.source)
	}
	if r.seenHi > 0 && !(r.got >= r.seenLo && r.got <= r.seenHi) {
		t.Errorf("%s: %.4g, reported %.4g to %.4g (%s)", r.name, r.got, r.seenLo, r.seenHi, r.source)
	}
	t.Logf("%-44s %8.4g   fit %.4g   reported %.4g–%.4g", r.name, r.got, r.fit, r.seenLo, r.seenHi)
}

const (
	sedeBoker = "Vonshak & Guy 1989, in Techniques and New Developments in Photosynthesis Research (abstract)"
	torzillo  = "Torzillo et al. 1991, Bioresource Technol. 38 (abstract)"
)

func raceway() scene {
	// 30.9° N in July, clear, noon 2100, 29 ± 4 °C, 0.12 m, 0.45 g/L.
	return scene{latDeg: 30.9, dayOfY: 196, noon: 2100, tempC: 29, swingC: 4, pathM: 0.12, heldGL: 0.45}
}

func TestRaceway(t *testing.T) {
	p := Default()
	open := raceway()
	var atNoon, grossNoon, at1100, gross1100, before float64
	bare := open.harvested(p, func(h float64, l *Light, _ *State, r *Rates) {
		if par := l.Beam + l.Diffuse; h > 8 && h < 12.1 { // up to the step that begins at noon
			if par >= 1100 && before < 1100 {
				at1100, gross1100 = r.Damage, r.Gross
			}
			before = par
			atNoon, grossNoon = r.Damage, r.Gross
		}
	})
	net := open
	net.shade = 0.3
	shaded := net.harvested(p, nil)
	for _, r := range []row{
		{"raceway, open, g/m²/d", bare, 11.9, 0.03, 11.5 * 0.8, 11.5 * 1.2, sedeBoker},
		{"raceway, 30 % shade, g/m²/d", shaded, 13.5, 0.03, 14.7 * 0.8, 14.7 * 1.2, sedeBoker},
		{"shaded over open", shaded / bare, 1.14, 0.03, 1.0, 1.28 * 1.12, sedeBoker},
		{"damage at noon", atNoon, 0.42, 0.06, 0.2, 0.45, sedeBoker + "; 25 % or 38 % in two readings of the text"},
		{"photosynthesis at noon over that at 1100", grossNoon / gross1100, 0.79, 0.08, 0.77 * 0.88, 0.77 * 1.12, sedeBoker + "; 84 over 109; the moments of our fit are not noted, hence 8 %"},
	} {
		r.check(t)
	}
	if at1100 > 0.03 {
		t.Errorf("damage at 1100 µmol in the morning %.3f, none reported (%s)", at1100, sedeBoker)
	}
}

// months are monthly sums of sun [kWh/m²/d] and air temperatures [°C], normals
// from memory. Water: air + 3 °C, swing 0.024 K per W/m² of the day's mean
// times (0.2 m/depth)^0.6, at most 9, all as in our fit.
func months(latDeg, depthM float64, first int, kWh, airC []float64, offsetC float64) []float64 {
	mid := []float64{15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349}
	gains := make([]float64, len(kWh))
	for i := range kWh {
		swing := math.Min(9, 0.024*kWh[i]*1000/24*math.Pow(0.2/depthM, 0.6))
		c := scene{latDeg: latDeg, dayOfY: mid[first+i], totalKWh: kWh[i], tempC: airC[i] + offsetC, swingC: swing, pathM: depthM, heldGL: 0.40}
		gains[i] = c.harvested(Default(), nil)
	}
	return gains
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

func TestOpenPondsByMonth(t *testing.T) {
	malaga := func(offsetC float64) float64 {
		return mean(months(36.7, 0.20, 1, []float64{3.6, 4.9, 5.8, 6.8, 7.5, 7.5, 6.7, 5.3, 3.8, 2.8},
			[]float64{12.9, 14.7, 16.3, 19.3, 23.0, 25.5, 26.0, 23.5, 19.5, 15.7}, offsetC))
	}
	florence := func(offsetC float64) float64 { // t/ha over the 214 days
		return mean(months(43.8, 0.15, 3, []float64{4.7, 5.9, 6.6, 6.8, 5.8, 4.3, 2.9},
			[]float64{13.6, 18.2, 22.1, 25.0, 24.9, 20.8, 16.2}, offsetC)) * 214 / 100
	}
	for _, r := range []row{
		{"Malaga, February to November, g/m²/d", malaga(3), 7.3, 0.03, 8.2 * 0.8, 8.8 * 1.2, "Jiménez et al. 2003, Aquaculture 217:179–190 (abstract: 30–32 t/ha/y)"},
		{"Malaga, water 1 °C above air", malaga(1), 5.7, 0.03, 0, 0, "our fit's own note on the assumed offset"},
		{"Florence, April to October, t/ha", florence(3), 19.1, 0.03, 18 * 0.8, 18 * 1.2, "Torzillo et al. 1986, Biomass 11:61–74 (abstract: 18 t/ha/y)"},
		{"Florence, water 1 °C above air", florence(1), 15.7, 0.03, 0, 0, "our fit's own note on the assumed offset"},
	} {
		r.check(t)
	}
}

func TestFamilyPond(t *testing.T) {
	// 14° N, noon 1900, 29 ± 3 °C, 0.30 m, 0.35 g/L; the day is not said, taken 20 April.
	c := scene{latDeg: 14, dayOfY: 110, noon: 1900, tempC: 29, swingC: 3, pathM: 0.30, heldGL: 0.35}
	row{"family pond, g/m²/d", c.harvested(Default(), nil), 10.7, 0.03, 8 * 0.8, 10 * 1.2,
		"school and family rule, 8–10 g/m²/d; common practice, no source"}.check(t)
}

func TestNightLoss(t *testing.T) {
	// Tubes 24 mm by lit wall, 1.5 g/L after the morning harvest, 15 h of sun with
	// 1000 µmol at noon on the wall, nights 7 °C cooler.
	var loss, gain [2]float64
	for i, tempC := range []float64{35, 25} {
		c := scene{hours: 15, noon: 1000, side: true, tempC: tempC, nightC: 7, pathM: 0.024}
		s := State{DensityGL: 1.5}
		dusk := 0.0
		c.run(Default(), s, settle, 0, func(h float64, l *Light, s *State, _ *Rates) {
			lit := l.Diffuse > 0
			switch {
			case lit && h < 12 && dusk > 0: // first light
				loss[i], gain[i] = 100*(1-s.DensityGL/dusk), s.DensityGL-1.5
				s.DensityGL, dusk = 1.5, 0
			case lit && h > 12:
				dusk = s.DensityGL
			}
		})
	}
	for _, r := range []row{
		{"night loss grown at 35 °C, %", loss[0], 5.1, 0.04, 5 * 0.85, 5 * 1.15, torzillo},
		{"night loss grown at 25 °C, %", loss[1], 7.2, 0.04, 7.6 * 0.85, 7.6 * 1.15, torzillo},
		{"net at 35 over 25 °C", gain[0] / gain[1], 1.29, 0.04, 1.23 * 0.88, 1.23 * 1.12, torzillo},
	} {
		r.check(t)
	}
}

func TestBench(t *testing.T) {
	p := Default()
	ratio := func(par float64) float64 { // 12:12, 6 cm, 1 g/L
		warm := scene{hours: 12, flat: true, side: true, noon: par, tempC: 30, pathM: 0.06, heldGL: 1}
		cool := warm
		cool.tempC = 20
		return warm.harvested(p, nil) / cool.harvested(p, nil)
	}
	best := 0.0
	for par := 200.0; par <= 1400; par += 50 { // thin: 3 cm at 0.1 g/L, constant light
		c := scene{hours: 48, flat: true, noon: par, tempC: 35, pathM: 0.03, heldGL: 0.1}
		best = math.Max(best, c.held(p))
	}
	const karemore = "Karemore et al. 2020, preprint: +28 % from 20 to 30 °C at average outdoor light"
	for _, r := range []row{
		{"30 over 20 °C at 250 µmol", ratio(250), 1.34, 0.03, 1.28 * 0.88, 1.28 * 1.12, karemore},
		{"30 over 20 °C at 120 µmol", ratio(120), 1.10, 0.03, 0, 0, "our fit, for the slope with light"},
		{"30 over 20 °C at 500 µmol", ratio(500), 1.53, 0.03, 0, 0, "our fit, for the slope with light"},
		{"greatest net rate, 1/d", best, 2.27, 0.03, 2.14 * 0.88, 2.14 * 1.12, "Kebede 1997, J. Appl. Phycol. 9: 2.14 /d at 13 g/L salts, turbidostat"},
	} {
		r.check(t)
	}
}

func TestColdPonds(t *testing.T) {
	p := Default()
	at := func(tempC float64) float64 { // equinox, 30° N, noon 1900, ±3 °C, 0.15 m, 0.40 g/L
		c := scene{latDeg: 30, dayOfY: 80, noon: 1900, tempC: tempC, swingC: 3, pathM: 0.15, heldGL: 0.40}
		return c.harvested(p, nil)
	}
	winter := scene{latDeg: 40, dayOfY: 15, noon: 150, tempC: 4, pathM: 0.15}
	left, _ := winter.run(p, State{DensityGL: 0.4}, 30, 0, nil)
	for _, r := range []row{
		{"20 over 32 °C in full sun", at(20) / at(32), 0.16, 0.25, 0.02, 0.25, "Jourdan, handbook 2006–2014: growth nearly stopped at 20 °C; 0.16 is 2.0/12.4 of our fit, ± its day"},
		{"share left after 30 days at 4 °C, dim", left.DensityGL / 0.4, 0.68, 0.03, 0.5, 1, "Falquet 1999: survives 3–5 °C without growth"},
	} {
		r.check(t)
	}
	morning := scene{latDeg: 33, dayOfY: 80, noon: 1700, pathM: 0.12, heldGL: 0.45}
	last := 1.0
	for _, r := range []struct{ tempC, want float64 }{{15, 0.98}, {20, 0.62}, {25, 0.14}, {35, 0.01}} {
		morning.tempC = r.tempC
		got := 0.0
		morning.harvested(p, func(h float64, _ *Light, _ *State, r *Rates) {
			if h > 10 && h < 10.1 { // the step that begins at 10:00
				got = r.Damage
			}
		})
		if math.Abs(got-r.want) > 0.03 {
			t.Errorf("damage at 10:00 at %g °C %.3f, our fit gave %g ± 0.03", r.tempC, got, r.want)
		}
		if got >= last {
			t.Errorf("damage does not fall with warmth to 35 °C (Torzillo & Vonshak 1994, Biomass Bioenergy 6:399–403)")
		}
		last = got
	}
}

func TestStarts(t *testing.T) {
	p := Default()
	// A bottle diluted 1:5 from 0.6 g/L, lit from the side.
	bottle := scene{hours: 12.5, noon: 500, side: true, tempC: 27, swingC: 3, pathM: 0.07}
	_, d := bottle.run(p, State{DensityGL: 0.12}, 30, 0.6, nil)
	row{"bottle 1:5 back to 0.6 g/L, d", d, 5.1, 0.03, 3.5, 5.5, "growers: four to five days; common practice, no source"}.check(t)
	pond := scene{latDeg: 35, dayOfY: 80, noon: 1350, tempC: 25, swingC: 3, pathM: 0.25}
	_, d = pond.run(p, State{DensityGL: 0.3}, 30, 0.5, nil)
	row{"pond from 0.3 to 0.5 g/L, d", d, 5.3, 0.03, 4, 7, "growers: four to seven days; common practice, no source"}.check(t)
}

// TestShape holds the tables of shapes that our fit printed: guards against
// change, not measurements.
func TestShape(t *testing.T) {
	p := Default()
	june := scene{latDeg: 35, dayOfY: 166, noon: 2000, pathM: 0.15, swingC: 3, heldGL: 0.40}
	shades := []float64{0, 0.3, 0.5, 0.7}
	for _, r := range []struct {
		tempC float64
		want  [4]float64
	}{
		{16, [4]float64{-0.2, 0.2, 0.9, 3.3}}, {20, [4]float64{2.4, 4.2, 6.5, 5.8}},
		{24, [4]float64{6.9, 9.7, 9.5, 6.9}}, {28, [4]float64{11.6, 12.9, 11.0, 7.8}},
		{32, [4]float64{13.9, 14.2, 11.7, 8.2}}, {36, [4]float64{12.0, 13.1, 11.1, 7.7}},
		{40, [4]float64{5.3, 7.0, 8.0, 6.0}},
	} {
		for i, s := range shades {
			c := june
			c.tempC, c.shade = r.tempC, s
			got := c.harvested(p, nil)
			if tol := math.Max(0.15, 0.03*r.want[i]); math.Abs(got-r.want[i]) > tol {
				t.Errorf("%g °C, %g shade: %.2f g/m²/d, want %g ± %.2f (our fit, table of shapes)", r.tempC, s, got, r.want[i], tol)
			}
		}
	}
	for _, r := range []struct {
		gl   float64
		want [3]float64 // open, 30 %, 60 % shade
	}{
		{0.05, [3]float64{0.42, 0.81, 0.77}}, {0.1, [3]float64{0.44, 0.72, 0.60}}, {0.2, [3]float64{0.35, 0.47, 0.36}},
		{0.3, [3]float64{0.26, 0.31, 0.23}}, {0.5, [3]float64{0.17, 0.18, 0.13}}, {1.0, [3]float64{0.08, 0.07, 0.05}},
	} {
		for i, s := range []float64{0, 0.3, 0.6} {
			c := june
			c.tempC, c.swingC, c.heldGL, c.shade = 28, 4, r.gl, s
			if got := c.held(p); math.Abs(got-r.want[i]) > 0.01 { // printed to two places
				t.Errorf("%g g/L, %g shade: %.3f /d, want %g ± 0.01 (our fit, table of shapes)", r.gl, s, got, r.want[i])
			}
		}
	}
	// Mornings at 13 °C rising to 27: equinox, noon 1800, assumed by us; the
	// morning shade is 50 %. The order is the point.
	cold := scene{latDeg: 35, dayOfY: 80, noon: 1800, tempC: 20, swingC: 7, pathM: 0.15, heldGL: 0.40}
	half, net := cold, cold
	half.shade, half.shadeTo = 0.5, 10.5
	net.shade = 0.4
	for _, r := range []row{
		{"cold mornings, full sun", cold.harvested(p, nil), 3.9, 0.05, 0, 0, "our fit"},
		{"cold mornings, shaded to 10:30", half.harvested(p, nil), 5.1, 0.05, 0, 0, "our fit"},
		{"cold mornings, 40 % shade", net.harvested(p, nil), 6.8, 0.05, 0, 0, "our fit"},
	} {
		r.check(t)
	}
}

// quantiles returns the 10, 50 and 90 % quantiles of v.
func quantiles(v []float64) (low, mid, high float64) {
	slices.Sort(v)
	at := func(q float64) float64 { return v[int(q*float64(len(v)-1)+0.5)] }
	return at(0.1), at(0.5), at(0.9)
}

// TestDrawnYields holds the spread of yields under correlated draws, as our
// fit printed it, and shows what leaving the correlations out would do.
func TestDrawnYields(t *testing.T) {
	if testing.Short() {
		t.Skip("some thousand pond-days")
	}
	const n = 400
	rng := rand.New(rand.NewPCG(1, 2))
	open, net := raceway(), raceway()
	net.shade = 0.3
	var bare, shaded, ratio, apart []float64
	for range n {
		p := drawStrain(rng, Default())
		b, s := open.harvested(p, nil), net.harvested(p, nil)
		bare, shaded, ratio = append(bare, b), append(shaded, s), append(ratio, s/b)
		q := Default()
		for _, d := range deviations {
			v := lookup(d.Name).at(&q)
			if u := d.SD * rng.NormFloat64(); d.Log {
				*v *= math.Exp(u)
			} else {
				*v += u
			}
		}
		keep(&q)
		apart = append(apart, open.harvested(q, nil))
	}
	// 400 draws leave about 0.2 g/m²/d (0.02 on the ratio) on a 10 or 90 % point.
	for _, r := range []struct {
		name           string
		v              []float64
		low, high, tol float64
	}{
		{"raceway, open", bare, 11.1, 13.6, 0.4},
		{"raceway, shaded", shaded, 12.4, 14.2, 0.4},
		{"shaded over open", ratio, 0.99, 1.17, 0.03},
		{"raceway, drawn without correlations", apart, 5, 18, 2},
	} {
		low, mid, high := quantiles(r.v)
		t.Logf("%-36s 10–50–90: %.3g %.3g %.3g", r.name, low, mid, high)
		if math.Abs(low-r.low) > r.tol || math.Abs(high-r.high) > r.tol {
			t.Errorf("%s: 10–90 %.3g to %.3g, our fit gave %g to %g ± %g", r.name, low, high, r.low, r.high, r.tol)
		}
	}
}
