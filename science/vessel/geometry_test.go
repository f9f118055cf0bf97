package vessel

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

func must(g *Geometry, err error) *Geometry {
	if err != nil {
		panic(err)
	}
	return g
}

// TestClosedForms sets each shape beside a figure worked by another road than
// the code's.
func TestClosedForms(t *testing.T) {
	type row struct {
		name          string
		g             *Geometry
		level         float64
		volume        float64 // [L]
		surface, wall float64 // [m²]
		tol           float64 // relative
		source        string
	}
	ring := must(NewRaceway(5, 2, 0.1, 0.4))
	liner := must(NewLiner(4, 3, 3, 2, 0.5))
	bottle := must(NewBottle(0.10, 0.20, 0.06, 0.03, 0.04))
	rows := []row{
		{"box", must(NewBox(2, 1, 0.5)), 0.2, 400, 2, 1.2, 1e-12, "2·1·0.2 m³; 2(2+1)·0.2 m²"},
		{"class A pan", must(NewCylinder(1.2065, 0.254)), 0.13, 148.62, 1.14325, 0.49274, 1e-4,
			"US National Weather Service class A pan, 47.5 in by 10 in: π/4 (47.5 in)² = 1772.05 in²"},
		{"circle as ellipse", must(NewEllipse(1.2065, 1.2065, 0.254)), 0.13, 148.62, 1.14325, 0.49274, 1e-4,
			"an ellipse of equal axes is a circle"},
		{"ellipse 10 by 6", must(NewEllipse(10, 6, 1)), 1, 47123.89, 47.12389, 25.526999, 1e-7,
			"π·5·3; perimeter of semi-axes 5 and 3 by the Gauss-Kummer series (see TestEllipsePerimeter)"},
		{"half-full drum", must(NewLyingCylinder(0.6, 0.9)), 0.3, 500 * math.Pi * 0.09 * 0.9, 0.54,
			math.Pi*0.3*0.9 + math.Pi*0.09, 1e-12, "half of πr²l; half the mantle and half of both ends"},
		{"full drum", must(NewLyingCylinder(0.6, 0.9)), 0.6, 1000 * math.Pi * 0.09 * 0.9, 0,
			2*math.Pi*0.3*0.9 + 2*math.Pi*0.09, 1e-12, "πr²l; the whole mantle and both ends"},
		{"drum at a quarter of its height", must(NewLyingCylinder(2, 1)), 0.5, 614.184849, math.Sqrt(3),
			2*math.Pi/3 + 2*0.614184849, 1e-8, "circular segment of unit radius, 120°: π/3 − √3/4 = 0.6141848493"},
		{"raceway", ring, 0.3, 1000 * 0.3 * (math.Pi + 3*2 - 3*0.1 - math.Pi*0.0025), math.Pi + 6 - 0.3 - math.Pi*0.0025,
			0.3 * (6 + 2*math.Pi), 1e-12, "stadium of 3 m straights and 2 m width less the mid wall, itself a stadium of 3 m by 0.1 m"},
		{"liner full", liner, 0.5, 0.5 / 6 * (12 + 6 + 4*3.5*2.5) * 1000, 12, 0, 1e-12,
			"prismatoid rule h/6 (A₀ + A₁ + 4Aₘ)"},
		{"liner half", liner, 0.25, 0.25 / 6 * (6 + 3.5*2.5 + 4*3.25*2.25) * 1000, 3.5 * 2.5, 0, 1e-12,
			"prismatoid rule"},
		{"pyramid upside down", must(NewLiner(3, 3, 0, 0, 2)), 2, 6000, 9, 15, 1e-12,
			"⅓ base · height; four triangles of base 3 and slant √(2² + 1.5²) = 2.5"},
		{"bottle full", bottle, 0.30, 1000 * (math.Pi*0.0025*0.2 + math.Pi*0.06/3*(0.0025+0.05*0.015+0.000225) + math.Pi*0.000225*0.04),
			math.Pi * 0.000225, 2*math.Pi*0.05*0.2 + math.Pi*0.065*math.Hypot(0.06, 0.035) + 2*math.Pi*0.015*0.04, 1e-12,
			"cylinder, frustum of a cone, cylinder"},
	}
	for _, r := range rows {
		if got := r.g.VolumeL(r.level); !near(got, r.volume, r.tol*r.volume) {
			t.Errorf("%s: volume at %g m is %.8g L, want %.8g (%s)", r.name, r.level, got, r.volume, r.source)
		}
		if got := r.g.SurfaceM2(r.level); !near(got, r.surface, r.tol*math.Max(r.surface, 1e-3)) {
			t.Errorf("%s: surface at %g m is %.8g m², want %.8g (%s)", r.name, r.level, got, r.surface, r.source)
		}
		if got := r.g.WallM2(r.level); r.wall > 0 && !near(got, r.wall, r.tol*r.wall) {
			t.Errorf("%s: wall at %g m is %.8g m², want %.8g (%s)", r.name, r.level, got, r.wall, r.source)
		}
	}
}

// TestEllipsePerimeter compares with the Gauss-Kummer series, summed here.
func TestEllipsePerimeter(t *testing.T) {
	for _, ab := range [][2]float64{{5, 3}, {1, 1}, {2, 1}, {1, 3}, {1, 0.4}} {
		a, b := ab[0], ab[1]
		h := (a - b) * (a - b) / ((a + b) * (a + b))
		sum, c, hn := 0.0, 1.0, 1.0
		for n := range 400 {
			sum += c * c * hn
			c *= (0.5 - float64(n)) / float64(n+1) // binomial(½, n+1)
			hn *= h
		}
		want := math.Pi * (a + b) * sum
		got := must(NewEllipse(2*a, 2*b, 1)).WallM2(1)
		if !near(got, want, 1e-10*want) {
			t.Errorf("perimeter of semi-axes %g, %g is %.12g, want %.12g (Gauss-Kummer series)", a, b, got, want)
		}
	}
}

// anyGeometry draws a vessel of any shape and any sane size.
func anyGeometry(t *rapid.T) *Geometry {
	m := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	var g *Geometry
	var err error
	switch rapid.SampledFrom([]Kind{Box, Cylinder, Bottle, Liner, LyingCylinder, Raceway, Ellipse, Measured}).Draw(t, "kind") {
	case Box:
		g, err = NewBox(m("l", 0.01, 50), m("w", 0.01, 10), m("h", 0.01, 2))
	case Cylinder:
		g, err = NewCylinder(m("d", 0.01, 20), m("h", 0.01, 3))
	case Bottle:
		d := m("d", 0.02, 1)
		g, err = NewBottle(d, m("h", 0.01, 1), m("shoulder", 0, 0.4), d*m("neck", 0.1, 1), m("neck height", 0, 0.2))
	case Liner:
		l, w := m("l", 0.5, 50), m("w", 0.5, 10)
		g, err = NewLiner(l, w, l*m("bottom l", 0, 1), w*m("bottom w", 0, 1), m("d", 0.05, 2))
	case LyingCylinder:
		g, err = NewLyingCylinder(m("d", 0.02, 3), m("l", 0.05, 20))
	case Raceway:
		w := m("w", 0.3, 10)
		g, err = NewRaceway(w+m("straight", 0, 50), w, w*m("mid", 0, 0.5), m("h", 0.05, 1))
	case Ellipse:
		g, err = NewEllipse(m("l", 0.1, 20), m("w", 0.1, 20), m("h", 0.05, 2))
	default:
		n := rapid.IntRange(1, 12).Draw(t, "marks")
		marks := make([]LevelVolume, n)
		var at LevelVolume
		for i := range marks {
			at.LevelM += m("rise", 0.005, 0.2)
			at.VolumeL += m("bucket", 1, 100)
			marks[i] = at
		}
		g, err = NewMeasured(marks)
	}
	if err != nil {
		t.Fatalf("a sane vessel was refused: %v", err)
	}
	return g
}

func TestLevelAndVolumeInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := anyGeometry(t)
		x := rapid.Float64Range(0, 1).Draw(t, "share") * g.RimM()
		v := g.VolumeL(x)
		back := g.LevelM(v)
		// A trench or a drum has no surface at its lowest line: there the level
		// is only as good as the volume's last digit allows.
		slack := 1e-10*g.RimM() + 1e-12*g.CapacityL()/1000/math.Max(g.SurfaceM2(x), 1e-9)
		if !near(back, x, slack) {
			t.Fatalf("%v: level %.15g m holds %.15g L, which stands at %.15g m", g.Kind(), x, v, back)
		}
		if again := g.VolumeL(back); !near(again, v, 1e-9*g.CapacityL()) {
			t.Fatalf("%v: %.15g L come back as %.15g L", g.Kind(), v, again)
		}
	})
}

func TestVolumeRisesAsItsSurface(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := anyGeometry(t)
		a := rapid.Float64Range(0, 1).Draw(t, "a") * g.RimM()
		b := rapid.Float64Range(0, 1).Draw(t, "b") * g.RimM()
		if a > b {
			a, b = b, a
		}
		if g.VolumeL(b) < g.VolumeL(a) {
			t.Fatalf("%v: volume falls from %.15g L at %g m to %.15g L at %g m", g.Kind(), g.VolumeL(a), a, g.VolumeL(b), b)
		}
		if g.WallM2(b) < g.WallM2(a)*(1-1e-12) {
			t.Fatalf("%v: wetted wall falls from %g to %g m²", g.Kind(), g.WallM2(a), g.WallM2(b))
		}
		// ∫ surface = volume, by Simpson's rule in many small pieces: a derivative
		// would lose digits, an integral keeps them.
		const n = 2000
		step, sum := (b-a)/n, 0.0
		for i := range n {
			lo := a + float64(i)*step
			if g.Kind() == Measured && !(g.SurfaceM2(lo) > 0) {
				t.Fatalf("surface %g m² at %g m between rising marks", g.SurfaceM2(lo), lo)
			}
			sum += step / 6 * (g.SurfaceM2(lo) + 4*g.SurfaceM2(lo+step/2) + g.SurfaceM2(lo+step))
		}
		want := (g.VolumeL(b) - g.VolumeL(a)) / 1000
		tol := 1e-9 * g.CapacityL() / 1000 // Simpson's rule is exact for surfaces up to a square in the level
		switch g.Kind() {
		case Bottle, LyingCylinder: // a square shoulder, the root of a drum: one piece times the widest surface
			tol += 2 * step * math.Max(g.SurfaceM2(g.RimM()/2), g.SurfaceM2(0))
		case Measured: // kinks at the marks
			tol += 2e-3 * g.CapacityL() / 1000
		}
		if !near(sum, want, tol) {
			t.Fatalf("%v: surface from %g to %g m sums to %.9g m³, volume says %.9g", g.Kind(), a, b, sum, want)
		}
	})
}

func TestOutsideTheVessel(t *testing.T) {
	g := must(NewBox(1, 1, 0.5))
	for _, r := range []struct{ got, want float64 }{
		{g.VolumeL(-1), 0}, {g.VolumeL(2), 500}, {g.LevelM(-3), 0}, {g.LevelM(900), 0.5},
		{g.FreeboardM(0.2), 0.3}, {g.FreeboardM(3), 0}, {g.MeanDepthM(0), 0}, {g.MeanDepthM(0.4), 0.4},
	} {
		if !near(r.got, r.want, 1e-12) {
			t.Errorf("got %g, want %g", r.got, r.want)
		}
	}
	for _, g := range []*Geometry{g, must(NewMeasured([]LevelVolume{{0.1, 10}, {0.2, 30}})), must(NewLyingCylinder(1, 1))} {
		if !math.IsNaN(g.VolumeL(math.NaN())) || !math.IsNaN(g.LevelM(math.NaN())) || !math.IsNaN(g.WallM2(math.NaN())) {
			t.Errorf("%v: NaN does not stay NaN", g.Kind())
		}
	}
}

func TestMeasuredMarks(t *testing.T) {
	// A box of 0.5 m², counted in by uneven buckets: all marks on a line, so the
	// curve must be that line.
	g := must(NewMeasured([]LevelVolume{{0.02, 10}, {0.05, 25}, {0.20, 100}, {0.21, 105}}))
	for _, h := range []float64{0, 0.01, 0.04, 0.13, 0.205, 0.21} {
		if got := g.VolumeL(h); !near(got, 500*h, 1e-9) {
			t.Errorf("volume at %g m is %g L, want %g (0.5 m² · level)", h, got, 500*h)
		}
		if got := g.SurfaceM2(h); !near(got, 0.5, 1e-9) {
			t.Errorf("surface at %g m is %g m², want 0.5", h, got)
		}
	}
	// The marks of a cone come back exactly at the marks and within 2 % between.
	var marks []LevelVolume
	for i := 1; i <= 8; i++ {
		h := 0.05 * float64(i)
		marks = append(marks, LevelVolume{h, 1000 * math.Pi / 3 * h * h * h})
	}
	g = must(NewMeasured(marks))
	for _, p := range marks {
		if !near(g.VolumeL(p.LevelM), p.VolumeL, 1e-9) {
			t.Errorf("mark at %g m moved from %g to %g L", p.LevelM, p.VolumeL, g.VolumeL(p.LevelM))
		}
	}
	for h := 0.12; h < 0.4; h += 0.01 {
		want := 1000 * math.Pi / 3 * h * h * h
		if got := g.VolumeL(h); !near(got, want, 0.02*want) {
			t.Errorf("cone at %g m: %g L, want %g within 2 %%", h, got, want)
		}
	}
}

func TestImpossibleVessels(t *testing.T) {
	e := func(_ *Geometry, err error) error { return err }
	nan, inf := math.NaN(), math.Inf(1)
	rows := []struct {
		err   error
		field string
	}{
		{e(NewBox(0, 1, 1)), "length_m"}, {e(NewBox(1, -1, 1)), "width_m"}, {e(NewBox(1, 1, nan)), "height_m"},
		{e(NewBox(inf, 1, 1)), "length_m"}, {e(NewBox(1, 20000, 1)), "width_m"},
		{e(NewCylinder(0, 1)), "diameter_m"}, {e(NewCylinder(1, 0)), "height_m"},
		{e(NewEllipse(0, 1, 1)), "length_m"},
		{e(NewRaceway(2, 3, 0, 1)), "width_m"}, {e(NewRaceway(5, 2, 2, 1)), "mid_wall_m"}, {e(NewRaceway(5, 2, -1, 1)), "mid_wall_m"},
		{e(NewLiner(2, 2, 3, 1, 1)), "bottom_length_m"}, {e(NewLiner(2, 2, 1, 3, 1)), "bottom_width_m"}, {e(NewLiner(2, 2, 1, 1, 0)), "depth_m"},
		{e(NewLinerSlope(2, 2, 1, 1.5)), "slope"}, {e(NewLinerSlope(2, 2, 0, 0)), "depth_m"},
		{e(NewLyingCylinder(1, nan)), "length_m"},
		{e(NewBottle(0.1, 0.2, 0.1, 0.2, 0)), "neck_diameter_m"}, {e(NewBottle(0.1, 0.2, -1, 0.05, 0)), "shoulder_height_m"},
		{e(NewMeasured(nil)), "points"}, {e(NewMeasured([]LevelVolume{{0, 0}})), "points"},
		{e(NewMeasured([]LevelVolume{{0.1, 10}, {0.1, 20}})), "points[1].level_m"},
		{e(NewMeasured([]LevelVolume{{0.1, 10}, {0.2, 10}})), "points[1].volume_l"},
		{e(NewMeasured([]LevelVolume{{0.1, nan}})), "points[0].volume_l"},
	}
	for i, r := range rows {
		var d *DimensionError
		if !errors.As(r.err, &d) || d.Field != r.field {
			t.Errorf("row %d: got %v, want an error on %s", i, r.err, r.field)
			continue
		}
		if s := r.err.Error(); !strings.HasPrefix(s, r.field) || strings.HasSuffix(s, ".") {
			t.Errorf("row %d: message %q", i, s)
		}
	}
	// What is just possible must pass.
	for _, err := range []error{
		e(NewLinerSlope(2, 2, 1, 1)), e(NewRaceway(2, 2, 0, 0.3)), e(NewBottle(0.1, 0.2, 0, 0.1, 0)),
		e(NewMeasured([]LevelVolume{{0, 5}, {0.1, 10}})),
	} {
		if err != nil {
			t.Errorf("refused: %v", err)
		}
	}
}

// TestLinerWalls adds up the four walls of an uneven pond from their corners.
func TestLinerWalls(t *testing.T) {
	const tl, tw, bl, bw, depth = 6.0, 3.0, 5.5, 1.0, 0.8
	g := must(NewLiner(tl, tw, bl, bw, depth))
	quad := func(bottom, top, out float64) float64 { // a trapezoid that leans outwards
		return (bottom + top) / 2 * math.Sqrt(depth*depth+out*out)
	}
	want := 2*quad(bl, tl, (tw-bw)/2) + 2*quad(bw, tw, (tl-bl)/2)
	if got := g.WallM2(depth); !near(got, want, 1e-12*want) {
		t.Errorf("walls of the pond %g m², from its corners %g", got, want)
	}
	slope := must(NewLinerSlope(6, 3, 0.8, 0.5))
	if got, want := slope.CapacityL(), must(NewLiner(6, 3, 5.2, 2.2, 0.8)).CapacityL(); !near(got, want, 1e-9) {
		t.Errorf("slope 1 in 2: %g L, by the size of its floor %g L", got, want)
	}
	if got := g.FloorM2(); !near(got, bl*bw, 1e-12) {
		t.Errorf("floor %g m², want %g", got, bl*bw)
	}
}

func TestLitWall(t *testing.T) {
	for _, g := range []*Geometry{must(NewLiner(2, 2, 1, 1, 1)), must(NewRaceway(4, 1, 0, 1))} {
		if g.LitWallM2(0.5) != 0 {
			t.Errorf("%v has clear walls", g.Kind())
		}
	}
	b := must(NewBottle(0.10, 0.20, 0.05, 0.03, 0.02))
	// In the straight part the mean path from the side is volume over wall: d/4.
	if got := b.VolumeL(0.15) / 1000 / b.LitWallM2(0.15); !near(got, 0.025, 1e-12) {
		t.Errorf("path from the side %g m, want d/4", got)
	}
}

// TestBottleInverts goes up a bottle by its shoulder and neck.
func TestBottleInverts(t *testing.T) {
	for _, neck := range []float64{0.02, 0.06, 0.0999999, 0.1} {
		g := must(NewBottle(0.10, 0.20, 0.06, neck, 0.04))
		for h := 0.0; h <= 0.3; h += 0.003 {
			if got := g.LevelM(g.VolumeL(h)); !near(got, h, 1e-12) {
				t.Errorf("neck %g m: level %g comes back as %.15g m", neck, h, got)
			}
		}
	}
}

// TestSegmentJoins: the series and the direct form agree where they meet.
func TestSegmentJoins(t *testing.T) {
	for _, x := range []float64{0.099999999, 0.05, 0.02} {
		direct := x - math.Sin(x)*math.Cos(x)
		if got := segment(x); !near(got, direct, 1e-10*direct) {
			t.Errorf("segment(%g) = %.15g, directly %.15g", x, got, direct)
		}
	}
}

func TestKindNames(t *testing.T) {
	for k := Box; k <= Measured; k++ {
		if got, ok := KindOf(k.String()); !ok || got != k {
			t.Errorf("%v does not come back from its name", k)
		}
	}
	if _, ok := KindOf(""); ok || Kind(0).String() != "unknown" || Kind(99).String() != "unknown" {
		t.Error("a shape that is none has a name")
	}
}

func BenchmarkLevelLiner(b *testing.B) {
	g := must(NewLiner(8, 4, 6, 2, 0.5))
	b.ReportAllocs()
	for b.Loop() {
		sink = g.LevelM(4000)
	}
}

var sink float64
