package vessel

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Kind is the shape of a vessel.
type Kind uint8

// The shapes. All stand level.
const (
	Box           Kind = iota + 1 // four upright walls: an aquarium, a crate, a framed pond
	Cylinder                      // a round tub, a barrel on its base
	Bottle                        // a round body, a conical shoulder, a narrow neck
	Liner                         // a pond with sloped sides, a frustum of rectangles
	LyingCylinder                 // a barrel or a clear tube on its side
	Raceway                       // two straight channels joined by half circles round a mid wall
	Ellipse                       // an oval tub with upright walls
	Measured                      // level against volume, counted in by the bucket
)

var kindNames = [...]string{
	Box: "box", Cylinder: "cylinder", Bottle: "bottle", Liner: "liner",
	LyingCylinder: "lying_cylinder", Raceway: "raceway", Ellipse: "ellipse", Measured: "measured",
}

// String returns the machine name of the shape.
func (k Kind) String() string {
	if int(k) < len(kindNames) && kindNames[k] != "" {
		return kindNames[k]
	}
	return "unknown"
}

// KindOf returns the shape of a machine name and whether there is one.
func KindOf(name string) (Kind, bool) {
	for k, n := range kindNames {
		if n != "" && n == name {
			return Kind(k), true
		}
	}
	return 0, false
}

// Geometry is the inside of a vessel. Make one with a New function; the zero
// value holds nothing. It is never changed afterwards and may be shared.
//
// A level outside 0…RimM is taken as the nearer end, a volume outside
// 0…CapacityL likewise: what runs over the rim is the caller's to book.
type Geometry struct {
	kind Kind
	rimM float64 // height of the rim over the lowest point of the floor [m]

	// Upright shapes: plan area and outer perimeter. Liner: size of the floor
	// and growth of its sides with height. Bottle: radii and heights.
	a, b, c, d, e float64

	full  float64 // capacity [m³]
	curve *curve  // Measured only
}

// NewBox returns a vessel with a rectangular floor and upright walls. lengthM,
// widthM and heightM are its inner dimensions [m].
func NewBox(lengthM, widthM, heightM float64) (*Geometry, error) {
	var c check
	c.positive("length_m", lengthM)
	c.positive("width_m", widthM)
	c.positive("height_m", heightM)
	if c.err != nil {
		return nil, c.err
	}
	return upright(Box, lengthM*widthM, 2*(lengthM+widthM), heightM), nil
}

// NewCylinder returns a round vessel that stands on its base. diameterM and
// heightM are its inner dimensions [m].
func NewCylinder(diameterM, heightM float64) (*Geometry, error) {
	var c check
	c.positive("diameter_m", diameterM)
	c.positive("height_m", heightM)
	if c.err != nil {
		return nil, c.err
	}
	return upright(Cylinder, math.Pi/4*diameterM*diameterM, math.Pi*diameterM, heightM), nil
}

// NewEllipse returns an oval vessel with upright walls. lengthM and widthM are
// the two axes, end to end inside [m], heightM the height of its rim [m].
func NewEllipse(lengthM, widthM, heightM float64) (*Geometry, error) {
	var c check
	c.positive("length_m", lengthM)
	c.positive("width_m", widthM)
	c.positive("height_m", heightM)
	if c.err != nil {
		return nil, c.err
	}
	long, short := max(lengthM, widthM)/2, min(lengthM, widthM)/2
	m := (1 - short/long) * (1 + short/long) // squared eccentricity
	round := 4 * long * mathext.CompleteE(m) // perimeter of an ellipse
	return upright(Ellipse, math.Pi*long*short, round, heightM), nil
}

// NewRaceway returns a channel that runs round a mid wall: two straights and
// two half circles. lengthM and widthM are measured over all, inside [m],
// midWallM is the thickness of the mid wall, whose ends are round [m], and
// heightM the height of the rim [m]. The straights are lengthM − widthM long.
func NewRaceway(lengthM, widthM, midWallM, heightM float64) (*Geometry, error) {
	var c check
	c.positive("length_m", lengthM)
	c.positive("width_m", widthM)
	c.positive("height_m", heightM)
	c.notNegative("mid_wall_m", midWallM)
	c.atMost("width_m", widthM, "length_m", lengthM)
	c.below("mid_wall_m", midWallM, "width_m", widthM)
	if c.err != nil {
		return nil, c.err
	}
	straight := lengthM - widthM
	channel := (widthM - midWallM) / 2
	// Straights: 2SW. Ends: a full ring between the outer radius w/2 and the
	// mid wall's t/2, π(w² − t²)/4 = πW(w + t)/2.
	area := 2*straight*channel + math.Pi*channel*(widthM+midWallM)/2
	return upright(Raceway, area, 2*straight+math.Pi*widthM, heightM), nil
}

func upright(kind Kind, areaM2, perimeterM, heightM float64) *Geometry {
	return &Geometry{kind: kind, rimM: heightM, a: areaM2, b: perimeterM, full: areaM2 * heightM}
}

// NewLiner returns a pond with straight sloped sides, a frustum of rectangles.
// topLengthM and topWidthM are its inside at the rim [m], bottomLengthM and
// bottomWidthM at the floor [m], either may be 0 for a trench, depthM is the
// height from floor to rim [m].
func NewLiner(topLengthM, topWidthM, bottomLengthM, bottomWidthM, depthM float64) (*Geometry, error) {
	var c check
	c.positive("top_length_m", topLengthM)
	c.positive("top_width_m", topWidthM)
	c.notNegative("bottom_length_m", bottomLengthM)
	c.notNegative("bottom_width_m", bottomWidthM)
	c.positive("depth_m", depthM)
	c.atMost("bottom_length_m", bottomLengthM, "top_length_m", topLengthM)
	c.atMost("bottom_width_m", bottomWidthM, "top_width_m", topWidthM)
	if c.err != nil {
		return nil, c.err
	}
	g := &Geometry{
		kind: Liner, rimM: depthM, a: bottomLengthM, b: bottomWidthM,
		c: (topLengthM - bottomLengthM) / depthM, // growth of the length with height [1]
		d: (topWidthM - bottomWidthM) / depthM,   // growth of the width with height [1]
	}
	g.full = g.volume(depthM)
	return g, nil
}

// NewLinerSlope returns a pond like NewLiner, told by the slope of its sides:
// slope is run over rise, the same on all four sides [1] (1 is 45°, 0 upright),
// topLengthM and topWidthM are its inside at the rim [m] and depthM its depth [m].
func NewLinerSlope(topLengthM, topWidthM, depthM, slope float64) (*Geometry, error) {
	var c check
	c.positive("top_length_m", topLengthM)
	c.positive("top_width_m", topWidthM)
	c.positive("depth_m", depthM)
	c.notNegative("slope", slope)
	if c.err == nil {
		widest := min(topLengthM, topWidthM) / (2 * depthM)
		if slope > widest {
			c.refuse("slope", slope, "is too flat: the sides would meet above the floor",
				"give the depth at the middle, or the size of the floor")
		}
	}
	if c.err != nil {
		return nil, c.err
	}
	run := 2 * slope * depthM
	return NewLiner(topLengthM, topWidthM, max(topLengthM-run, 0), max(topWidthM-run, 0), depthM)
}

// NewLyingCylinder returns a round vessel that lies level on its side.
// diameterM and lengthM are its inner dimensions [m]; its ends are flat.
func NewLyingCylinder(diameterM, lengthM float64) (*Geometry, error) {
	var c check
	c.positive("diameter_m", diameterM)
	c.positive("length_m", lengthM)
	if c.err != nil {
		return nil, c.err
	}
	r := diameterM / 2
	return &Geometry{kind: LyingCylinder, rimM: diameterM, a: r, b: lengthM, full: math.Pi * r * r * lengthM}, nil
}

// NewBottle returns a round bottle: bodyDiameterM and bodyHeightM are its
// straight part [m], shoulderHeightM the height of the cone from body to neck,
// 0 for a square shoulder [m], neckDiameterM and neckHeightM the neck, whose
// height may be 0 [m].
func NewBottle(bodyDiameterM, bodyHeightM, shoulderHeightM, neckDiameterM, neckHeightM float64) (*Geometry, error) {
	var c check
	c.positive("body_diameter_m", bodyDiameterM)
	c.positive("body_height_m", bodyHeightM)
	c.notNegative("shoulder_height_m", shoulderHeightM)
	c.positive("neck_diameter_m", neckDiameterM)
	c.notNegative("neck_height_m", neckHeightM)
	c.atMost("neck_diameter_m", neckDiameterM, "body_diameter_m", bodyDiameterM)
	if c.err != nil {
		return nil, c.err
	}
	g := &Geometry{
		kind: Bottle, rimM: bodyHeightM + shoulderHeightM + neckHeightM,
		a: bodyDiameterM / 2, b: bodyHeightM, c: shoulderHeightM, d: neckDiameterM / 2, e: neckHeightM,
	}
	g.full = g.volume(g.rimM)
	return g, nil
}

// Kind returns the shape.
func (g *Geometry) Kind() Kind { return g.kind }

// RimM returns the height of the rim over the lowest point of the floor [m].
func (g *Geometry) RimM() float64 { return g.rimM }

// CapacityL returns what the vessel holds to the rim [L].
func (g *Geometry) CapacityL() float64 { return 1000 * g.full }

// FreeboardM returns the height of the rim over the water [m], where levelM is
// the depth at the lowest point [m].
func (g *Geometry) FreeboardM(levelM float64) float64 { return g.rimM - g.within(levelM) }

// MeanDepthM returns volume over surface [m], where levelM is the depth at the
// lowest point [m].
//
// Special case: 0 for an empty vessel.
func (g *Geometry) MeanDepthM(levelM float64) float64 {
	h := g.within(levelM)
	if h == 0 {
		return 0
	}
	return g.volume(h) / g.surface(h)
}

// within clips a level to the vessel; NaN stays NaN.
func (g *Geometry) within(levelM float64) float64 {
	if levelM < 0 {
		return 0
	}
	if levelM > g.rimM {
		return g.rimM
	}
	return levelM
}
