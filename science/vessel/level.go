package vessel

import "math"

// VolumeL returns the volume of water [L], where levelM is its depth at the
// lowest point of the floor [m].
func (g *Geometry) VolumeL(levelM float64) float64 { return 1000 * g.volume(g.within(levelM)) }

// LevelM returns the depth at the lowest point of the floor [m], the inverse of
// VolumeL, where volumeL is the volume of water [L]: in closed form for upright
// walls and bottles, else by Newton's method inside a bracket, to about 1e-14
// of the height.
func (g *Geometry) LevelM(volumeL float64) float64 {
	v := volumeL / 1000
	switch {
	case v <= 0:
		return 0
	case v >= g.full:
		return g.rimM
	}
	switch g.kind {
	case Box, Cylinder, Raceway, Ellipse:
		return v / g.a
	case Bottle:
		return g.bottleLevel(v)
	case Liner:
		return g.linerLevel(v)
	case LyingCylinder:
		return g.lyingLevel(v)
	case Measured:
		return g.curve.level(v)
	}
	return math.NaN()
}

// SurfaceM2 returns the area of the water's surface [m²], which is the
// derivative of the volume by the level; levelM is the depth [m].
func (g *Geometry) SurfaceM2(levelM float64) float64 { return g.surface(g.within(levelM)) }

// FloorM2 returns the area of the flat floor [m²]: 0 for a vessel that lies on
// its side, which is all wall.
func (g *Geometry) FloorM2() float64 {
	switch g.kind {
	case LyingCylinder:
		return 0
	default:
		return g.surface(0)
	}
}

// WallM2 returns the wetted area of the outer wall [m²], where levelM is the
// depth [m]. The floor and the mid wall of a raceway, wet on both sides, are
// not in it. For a measured vessel it is that of a round one with the same
// surface at each level: the least it can be.
func (g *Geometry) WallM2(levelM float64) float64 {
	h := g.within(levelM)
	switch g.kind {
	case Box, Cylinder, Raceway, Ellipse:
		return g.b * h
	case Liner:
		// Two trapezoids along the length, leaning with the width's growth,
		// and two along the width.
		return h * ((2*g.a+g.c*h)*math.Hypot(1, g.d/2) + (2*g.b+g.d*h)*math.Hypot(1, g.c/2))
	case LyingCylinder:
		half := wetAngle(h, g.a)
		return 2*half*g.a*g.b + 2*g.a*g.a*segment(half)
	case Bottle:
		wall := 2 * math.Pi * g.a * min(h, g.b)
		if h > g.b {
			r, up := g.bottleRadius(h), min(h-g.b, g.c)
			wall += math.Pi * (g.a + r) * math.Hypot(up, g.a-r)
		}
		if h > g.b+g.c {
			wall += 2 * math.Pi * g.d * (h - g.b - g.c)
		}
		return wall
	case Measured:
		return g.curve.wall(h)
	}
	return math.NaN()
}

// LitWallM2 returns the wetted area of wall that light from the side can enter
// [m²], all round: the whole wall of a standing or lying vessel, 0 for a lined
// pond and a raceway, which have no clear walls; levelM is the depth [m].
// Volume over this area is the mean path from the side.
func (g *Geometry) LitWallM2(levelM float64) float64 {
	switch g.kind {
	case Liner, Raceway:
		return 0
	}
	return g.WallM2(levelM)
}

// volume returns the volume under a level inside the vessel [m³].
func (g *Geometry) volume(h float64) float64 {
	switch g.kind {
	case Box, Cylinder, Raceway, Ellipse:
		return g.a * h
	case Liner:
		return h * (g.a*g.b + h*((g.a*g.d+g.b*g.c)/2+h*g.c*g.d/3))
	case LyingCylinder:
		return g.a * g.a * g.b * segment(wetAngle(h, g.a))
	case Bottle:
		if h <= g.b {
			return math.Pi * g.a * g.a * h
		}
		v := math.Pi * g.a * g.a * g.b
		r, up := g.bottleRadius(h), min(h-g.b, g.c)
		v += math.Pi / 3 * up * (g.a*g.a + g.a*r + r*r) // frustum of a cone
		if h > g.b+g.c {
			v += math.Pi * g.d * g.d * (h - g.b - g.c)
		}
		return v
	case Measured:
		return g.curve.volume(h)
	}
	return math.NaN()
}

// surface returns the water surface at a level inside the vessel [m²].
func (g *Geometry) surface(h float64) float64 {
	switch g.kind {
	case Box, Cylinder, Raceway, Ellipse:
		return g.a
	case Liner:
		return (g.a + g.c*h) * (g.b + g.d*h)
	case LyingCylinder:
		return 2 * g.b * math.Sqrt(h*(2*g.a-h))
	case Bottle:
		if h <= g.b {
			return math.Pi * g.a * g.a
		}
		r := g.bottleRadius(h)
		return math.Pi * r * r
	case Measured:
		return g.curve.surface(h)
	}
	return math.NaN()
}

// bottleRadius returns the radius at a level above the body [m].
func (g *Geometry) bottleRadius(h float64) float64 {
	if up := h - g.b; up < g.c {
		return g.a + (g.d-g.a)*up/g.c
	}
	return g.d
}

func (g *Geometry) bottleLevel(v float64) float64 {
	body := math.Pi * g.a * g.a * g.b
	if v <= body {
		return v / (math.Pi * g.a * g.a)
	}
	v -= body
	cone := math.Pi / 3 * g.c * (g.a*g.a + g.a*g.d + g.d*g.d)
	if v < cone {
		// The cone's cut off top is similar to the whole: r³ = a³ − 3mV/π with
		// m the shrinking of the radius per height; then height = 3V/π/(a² + ar + r²),
		// which stays exact when the cone is nearly a cylinder (m → 0).
		m := (g.a - g.d) / g.c
		r := math.Cbrt(g.a*g.a*g.a - 3*m*v/math.Pi)
		return min(g.b+3*v/math.Pi/(g.a*g.a+g.a*r+r*r), g.b+g.c)
	}
	return min(g.b+g.c+(v-cone)/(math.Pi*g.d*g.d), g.rimM)
}

func (g *Geometry) linerLevel(v float64) float64 {
	a, b, c := g.a*g.b, (g.a*g.d+g.b*g.c)/2, g.c*g.d/3
	// Each term alone bounds the level from above; the least of the bounds is
	// within a factor of the root, and Newton's method on a convex rising
	// function comes down from there without ever passing it.
	h := g.rimM
	if a > 0 {
		h = min(h, v/a)
	}
	if b > 0 {
		h = min(h, math.Sqrt(v/b))
	}
	if c > 0 {
		h = min(h, math.Cbrt(v/c))
	}
	for range 60 {
		f := h*(a+h*(b+h*c)) - v
		next := h - f/(a+h*(2*b+h*3*c))
		if !(next < h) {
			break
		}
		h = next
	}
	return h
}

// wetAngle returns the half angle of the wetted arc of a lying cylinder
// [radians], where h is the level and r the radius [m].
func wetAngle(h, r float64) float64 {
	// 2 asin √(h/2r) keeps its digits near the floor, where acos(1 − h/r) loses them.
	return 2 * math.Asin(min(1, math.Sqrt(h/(2*r))))
}

// segment returns the area of a circular segment over the squared radius [1],
// where half is half of its angle [radians].
func segment(half float64) float64 {
	if half < 0.1 { // θ − sin θ cos θ = ½(2θ − sin 2θ) by its series, else digits cancel
		x := 2 * half
		x2 := x * x
		return x * x2 / 12 * (1 - x2/20*(1-x2/42*(1-x2/72*(1-x2/110))))
	}
	return half - math.Sin(half)*math.Cos(half)
}

func (g *Geometry) lyingLevel(v float64) float64 {
	want := v / (g.a * g.a * g.b) // θ − sin θ cos θ
	upper := want > math.Pi/2
	if upper { // solve for the air instead: the same segment upside down
		want = math.Pi - want
	}
	lo, hi := 0.0, math.Pi/2
	x := min(math.Cbrt(1.5*want), hi) // θ − sin θ cos θ → ⅔θ³
	for range 60 {
		f := segment(x) - want
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		s := math.Sin(x)
		next := x - f/(2*s*s)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) <= 1e-16*x {
			break
		}
		x = next
	}
	s := math.Sin(x / 2)
	h := 2 * g.a * s * s // r(1 − cos θ)
	if upper {
		return g.rimM - h
	}
	return h
}
