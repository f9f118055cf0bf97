package optics

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// simpson integrates f over 0–1 with n (even) intervals; it is the independent
// quadrature the closed forms are held against.
func simpson(f func(float64) float64, n int) float64 {
	h := 1 / float64(n)
	sum := f(0) + f(1)
	for i := 1; i < n; i++ {
		w := 4.0
		if i%2 == 0 {
			w = 2
		}
		sum += w * f(float64(i)*h)
	}
	return sum * h / 3
}

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g ± %g (%s)", what, got, want, tol, source)
	}
}

func TestFresnelTable(t *testing.T) {
	const kirk = "Kirk, Light and Photosynthesis in Aquatic Ecosystems, table 2.1, reflectance of a flat surface n 1.33, per cent; from memory"
	const formula = "Fresnel's equations at n = 1.333, worked apart"
	for _, r := range []struct {
		deg, want, tol float64
		source         string
	}{
		{0, 0.020, 0.0006, kirk}, {30, 0.021, 0.0006, kirk}, {45, 0.028, 0.0006, kirk}, {60, 0.059, 0.001, kirk},
		{70, 0.133, 0.001, kirk}, {80, 0.347, 0.002, kirk}, {85, 0.583, 0.002, kirk},
		{0, 0.0204, 5e-5, formula}, {20, 0.0206, 5e-5, formula}, {40, 0.0245, 5e-5, formula}, {50, 0.0337, 5e-5, formula},
		{60, 0.0597, 5e-5, formula}, {65, 0.0871, 5e-5, formula}, {70, 0.1335, 5e-5, formula}, {75, 0.2124, 5e-5, formula},
		{80, 0.3479, 5e-5, formula}, {85, 0.5835, 5e-5, formula}, {88, 0.804, 5e-4, formula},
	} {
		near(t, "R", FresnelIndex(math.Cos(r.deg*math.Pi/180), 1.333), r.want, r.tol, r.source)
	}
	// Two angles where the equations need no trigonometry.
	n := WaterIndex
	near(t, "R straight down", Fresnel(1), (n-1)*(n-1)/((n+1)*(n+1)), 1e-15, "normal incidence ((n-1)/(n+1))²")
	brewster := math.Cos(math.Atan(n))
	rs := (n*n - 1) / (n*n + 1)
	near(t, "R at Brewster's angle", Fresnel(brewster), rs*rs/2, 1e-15, "Rp vanishes, Rs = ((n²-1)/(n²+1))²")
	if Fresnel(0) != 1 || Fresnel(-0.3) != 1 || !math.IsNaN(Fresnel(math.NaN())) {
		t.Error("Fresnel at and below the horizon or of NaN")
	}
}

func TestDiffuse(t *testing.T) {
	mean := func(n float64) float64 {
		// ∫ R(c) 2c dc; the substitution c = s² eases the steep end at the horizon.
		return simpson(func(s float64) float64 { c := s * s; return FresnelIndex(c, n) * 4 * c * s }, 20000)
	}
	near(t, "DiffuseReflectance", DiffuseReflectance, mean(WaterIndex), 5e-5, "hemispherical mean by quadrature")
	near(t, "diffuse at n 1.333", mean(1.333), 0.066, 0.001, "0.066, Burt 1953 as cited in ocean optics texts; from memory")
}

func TestRefract(t *testing.T) {
	near(t, "60° at n 1.333", math.Acos(RefractIndex(0.5, 1.333))*180/math.Pi, 40.52, 0.005, "Snell's law: asin(sin 60°/1.333)")
	near(t, "critical angle", math.Acos(RefractIndex(0, 1.333))*180/math.Pi, 48.6, 0.05, "critical angle of water, any optics text")
	near(t, "straight down", Refract(1), 1, 0, "no bending")
}

func TestExponentialIntegral(t *testing.T) {
	const src = "Abramowitz & Stegun, table 5.1 (values from memory, agreeing with the defining series)"
	for _, r := range []struct{ x, want float64 }{
		{0.01, 4.0379295765}, {0.1, 1.8229239584}, {0.5, 0.5597735948}, {1, 0.2193839344},
		{2, 0.0489005107}, {5, 0.001148295591}, {10, 4.156968930e-6},
	} {
		// The printed bound of 5.1.53 is 2e-7; it is reached, and rounds: 2.05e-7.
		near(t, "E1", E1(r.x), r.want, 2.1e-7, src)
		near(t, "Ein", Ein(r.x), r.want+eulerGamma+math.Log(r.x), 2.1e-7, src)
	}
	// The published relative error of 5.1.56 is far below its absolute one.
	near(t, "E1(10)/table", E1(10)/4.156968930e-6, 1, 5e-8, src)
	// Ein by its everywhere-convergent series, sum (-1)^(k+1) x^k/(k k!).
	for _, x := range []float64{1e-6, 1e-4, 9.99e-4, 1.001e-3, 0.03, 0.3, 0.999, 1.001, 3, 8} {
		sum, term := 0.0, 1.0
		for k := 1; k < 80; k++ {
			term *= x / float64(k)
			s := term / float64(k)
			if k%2 == 0 {
				s = -s
			}
			sum += s
		}
		near(t, "Ein", Ein(x), sum, 2.1e-7*math.Min(1, 50*x), "series 5.1.11")
	}
	if !math.IsInf(E1(0), 1) || !math.IsNaN(E1(-1)) || !math.IsNaN(Ein(-1)) || E1(1e4) != 0 || Ein(0) != 0 {
		t.Error("ends of the domain")
	}
}

func TestDepthMeansAgainstQuadrature(t *testing.T) {
	worst := 0.0
	for _, x0 := range []float64{1e-5, 1e-3, 0.1, 0.9, 1.1, 3, 6.3, 8, 10, 30, 200} {
		for _, tau := range []float64{0, 1e-9, 1e-4, 0.01, 0.1, 0.29, 0.31, 1, 3, 10, 30, 100} {
			const xc = 6.2
			at := func(s float64) float64 { return x0 * math.Exp(-tau*s) }
			n := 40000
			got := DepthMeans(x0, tau, xc)
			sat := simpson(func(s float64) float64 { return -math.Expm1(-at(s)) }, n)
			light := simpson(func(s float64) float64 { return math.Exp(-tau * s) }, n)
			near(t, "saturation", got.Saturation, sat, 1e-6, "quadrature")
			near(t, "light", got.Light, light, 1e-8, "quadrature")
			worst = math.Max(worst, math.Abs(got.Saturation-sat))
			// The kink is put on a node: integrate only as deep as the threshold lies.
			deep := 1.0
			if tau > 0 {
				deep = math.Min(1, math.Max(0, math.Log(x0/xc))/tau)
			} else if x0 <= xc {
				deep = 0
			}
			exc := deep * simpson(func(s float64) float64 { return math.Max(0, at(s*deep)-xc) }, n)
			near(t, "excess", got.Excess, exc, 1e-6*math.Max(1, x0), "quadrature")
			near(t, "excess alone", MeanExcess(x0, tau, xc), got.Excess, 1e-12*math.Max(1, x0), "same")
			near(t, "saturation alone", MeanSaturation(x0, tau), got.Saturation, 1e-14, "same")
		}
	}
	t.Logf("largest error of MeanSaturation %.1e", worst)
}

func TestDepthMeansLimits(t *testing.T) {
	// Dim: linear in light. Deep: the saturated layer over tau.
	near(t, "dim", MeanSaturation(1e-6, 2)/1e-6, -math.Expm1(-2)/2, 1e-6, "x → 0: x0(1-e^-τ)/τ")
	near(t, "no depth", MeanSaturation(2, 0), -math.Expm1(-2), 1e-12, "τ → 0: 1-e^-x")
	near(t, "dark", MeanSaturation(0, 2), 0, 0, "no light")
	near(t, "no depth", MeanExcess(8, 0, 6.2), 1.8, 1e-12, "τ → 0")
	near(t, "light", MeanLight(0), 1, 0, "τ → 0")
	// On both sides of where the excess changes to its series.
	for _, r := range []float64{1e-5, 9.99e-4, 1.001e-3} {
		near(t, "excess near the threshold", MeanExcess(6.2*(1+r), 5, 6.2)/(6.2*(r-math.Log1p(r))/5), 1, 1e-7,
			"c(r − ln(1+r))/τ")
	}
}

func TestDepthMeansProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x0 := rapid.Float64Range(0, 1e4).Draw(t, "x0")
		tau := rapid.Float64Range(0, 1e3).Draw(t, "tau")
		xc := rapid.Float64Range(0.1, 50).Draw(t, "xc")
		m := DepthMeans(x0, tau, xc)
		for _, v := range []float64{m.Light, m.Saturation} {
			if !(v >= 0 && v <= 1) {
				t.Fatalf("mean outside 0–1: %+v", m)
			}
		}
		if !(m.Excess >= 0 && m.Excess <= x0) {
			t.Fatalf("excess outside 0–x0: %+v", m)
		}
		// More light gives more of the rate and of the excess, more depth less.
		up := DepthMeans(x0*1.01+1e-3, tau, xc)
		if up.Saturation < m.Saturation-1e-7 || up.Excess < m.Excess-1e-9*x0 {
			t.Fatalf("more light gave less: %+v then %+v", m, up)
		}
		down := DepthMeans(x0, tau*1.01+1e-3, xc)
		if down.Saturation > m.Saturation+1e-6 || down.Light > m.Light+1e-12 {
			t.Fatalf("more depth gave more: %+v then %+v", m, down)
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.Float64Range(0, 1).Draw(t, "c")
		r, w := Fresnel(c), Refract(c)
		share, cosine := Enter(c)
		if math.Abs(share-(1-r)) > 1e-15 || math.Abs(cosine-w) > 1e-15 {
			t.Fatalf("Enter(%g) = %g, %g; want %g, %g", c, share, cosine, 1-r, w)
		}
		if !(r >= 0 && r <= 1) || !(w >= c && w <= 1) {
			t.Fatalf("c %g: R %g, w %g", c, r, w)
		}
	})
}

func BenchmarkFresnel(b *testing.B) {
	b.ReportAllocs()
	c, sum := 0.3, 0.0
	for b.Loop() {
		sum += Fresnel(c)
	}
	sink = sum
}

func BenchmarkDepthMeans(b *testing.B) {
	b.ReportAllocs()
	for _, r := range []struct {
		name    string
		x0, tau float64
	}{{"bright", 10, 7}, {"dim", 0.5, 7}, {"thin", 5, 0.2}} {
		b.Run(r.name, func(b *testing.B) {
			b.ReportAllocs()
			var m Means
			for b.Loop() {
				m = DepthMeans(r.x0, r.tau, 6.2)
			}
			sink = m.Saturation
		})
	}
}

var sink float64
