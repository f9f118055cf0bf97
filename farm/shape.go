package farm

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"sodalake/science/vessel"
)

// Shape is the form of a vessel with its inner dimensions. Which of them a kind
// has stands in ShapeKinds; the others are zero.
type Shape struct {
	Kind            string        `json:"kind"`
	LengthM         float64       `json:"length_m,omitempty"`          // [m]; of a raceway over all
	WidthM          float64       `json:"width_m,omitempty"`           // [m]; of a raceway over all
	HeightM         float64       `json:"height_m,omitempty"`          // from floor to rim [m]; of a bottle its straight body
	DiameterM       float64       `json:"diameter_m,omitempty"`        // [m]
	TopLengthM      float64       `json:"top_length_m,omitempty"`      // liner, at the rim [m]
	TopWidthM       float64       `json:"top_width_m,omitempty"`       // liner, at the rim [m]
	BottomLengthM   float64       `json:"bottom_length_m,omitempty"`   // liner, at the floor [m]
	BottomWidthM    float64       `json:"bottom_width_m,omitempty"`    // liner, at the floor [m]
	Slope           float64       `json:"slope,omitempty"`             // liner: run of the wall over its rise [1]
	ShoulderHeightM float64       `json:"shoulder_height_m,omitempty"` // bottle, between body and neck [m]
	NeckDiameterM   float64       `json:"neck_diameter_m,omitempty"`   // bottle [m]
	NeckHeightM     float64       `json:"neck_height_m,omitempty"`     // bottle [m]
	MidWallM        float64       `json:"mid_wall_m,omitempty"`        // raceway, thickness of the middle wall [m]
	Points          []LevelVolume `json:"points,omitempty"`            // measured: from the floor up
}

// LevelVolume is one point of a vessel measured by counting buckets.
type LevelVolume struct {
	LevelCM float64 `json:"level_cm"` // depth of the water [cm]
	VolumeL float64 `json:"volume_l"` // what it then holds [L]
}

// ShapeKind says which dimensions a kind of shape has, without their unit: each
// is given in metres or in centimetres, length_m or length_cm.
type ShapeKind struct {
	Kind string   `json:"kind"`
	What string   `json:"what"`
	Need []string `json:"need"`
	May  []string `json:"may,omitempty"`
}

// ShapeKinds is the closed list of shapes. depth is another word for height,
// body_diameter and body_height for a bottle's diameter and height. A liner has
// a slope or the two bottom dimensions; a bottle without a neck is an open jar.
var ShapeKinds = []ShapeKind{
	{"box", "straight walls, a rectangle seen from above", []string{"length", "width", "height"}, nil},
	{"cylinder", "an upright cylinder", []string{"diameter", "height"}, nil},
	{"bottle", "a cylinder with shoulders and a neck", []string{"diameter", "height"}, []string{"shoulder_height", "neck_diameter", "neck_height"}},
	{"liner", "a rectangular pond with sloping walls", []string{"top_length", "top_width", "height"}, []string{"bottom_length", "bottom_width", "slope"}},
	{"measured", "any form, measured by counting buckets", []string{"points"}, nil},
	{"lying_cylinder", "a cylinder on its side", []string{"diameter", "length"}, nil},
	{"raceway", "two straight channels joined by half circles", []string{"length", "width", "height"}, []string{"mid_wall"}},
	{"ellipse", "straight walls, an ellipse seen from above", []string{"length", "width", "height"}, nil},
}

// otherWords are further names of dimensions that are taken.
var otherWords = map[string][]string{
	"height": {"depth", "body_height"}, "diameter": {"body_diameter"}, "mid_wall": {"wall"},
}

// DecodeShape takes raw, {"kind":"box","length_m":2,...}, apart. Every error
// names its field. A shape that it returns has a Geometry.
func DecodeShape(raw []byte) (Shape, *Error) {
	canonical, err := canonicalJSON(raw)
	if err != nil {
		return Shape{}, invalid("shape", "shape is not good JSON: %s", err)
	}
	o := openObject("shape", canonical)
	s := o.shape()
	if e := o.close(); e != nil {
		return Shape{}, e
	}
	return s, nil
}

// UnmarshalJSON reads a shape as DecodeShape does.
func (s *Shape) UnmarshalJSON(raw []byte) error {
	got, e := DecodeShape(raw)
	if e != nil {
		return e
	}
	*s = got
	return nil
}

// Geometry returns the shape as the science measures it. The error is an
// *Error that names the dimension.
func (s Shape) Geometry() (*vessel.Geometry, error) {
	g, err := s.geometry()
	if err == nil {
		return g, nil
	}
	var d *vessel.DimensionError
	if errors.As(err, &d) {
		return nil, &Error{Code: Invalid, Field: "shape." + d.Field, Message: "shape." + d.Error(), Hint: d.Hint}
	}
	return nil, invalid("shape", "shape %s", err)
}

func (s Shape) geometry() (*vessel.Geometry, error) {
	switch s.Kind {
	case "box":
		return vessel.NewBox(s.LengthM, s.WidthM, s.HeightM)
	case "cylinder":
		return vessel.NewCylinder(s.DiameterM, s.HeightM)
	case "bottle":
		neck := s.NeckDiameterM
		if neck == 0 { // an open jar
			neck = s.DiameterM
		}
		return vessel.NewBottle(s.DiameterM, s.HeightM, s.ShoulderHeightM, neck, s.NeckHeightM)
	case "liner":
		if s.BottomLengthM > 0 || s.BottomWidthM > 0 {
			return vessel.NewLiner(s.TopLengthM, s.TopWidthM, s.BottomLengthM, s.BottomWidthM, s.HeightM)
		}
		return vessel.NewLinerSlope(s.TopLengthM, s.TopWidthM, s.HeightM, s.Slope)
	case "measured":
		points := make([]vessel.LevelVolume, len(s.Points))
		for i, p := range s.Points {
			points[i] = vessel.LevelVolume{LevelM: p.LevelCM / 100, VolumeL: p.VolumeL}
		}
		return vessel.NewMeasured(points)
	case "lying_cylinder":
		return vessel.NewLyingCylinder(s.DiameterM, s.LengthM)
	case "raceway":
		return vessel.NewRaceway(s.LengthM, s.WidthM, s.MidWallM, s.HeightM)
	case "ellipse":
		return vessel.NewEllipse(s.LengthM, s.WidthM, s.HeightM)
	}
	return nil, fmt.Errorf("kind %q is none of %s", s.Kind, strings.Join(shapeNames(), ", "))
}

func (o *object) shape() Shape {
	o.need("kind")
	s := Shape{Kind: o.word("kind", shapeNames())}
	var spec ShapeKind
	for _, k := range ShapeKinds {
		if k.Kind == s.Kind {
			spec = k
		}
	}
	into := map[string]*float64{
		"length": &s.LengthM, "width": &s.WidthM, "height": &s.HeightM, "diameter": &s.DiameterM,
		"top_length": &s.TopLengthM, "top_width": &s.TopWidthM,
		"bottom_length": &s.BottomLengthM, "bottom_width": &s.BottomWidthM,
		"neck_diameter": &s.NeckDiameterM, "neck_height": &s.NeckHeightM,
		"shoulder_height": &s.ShoulderHeightM, "mid_wall": &s.MidWallM,
	}
	for _, name := range spec.Need {
		if name == "points" {
			s.Points = o.points(name)
			continue
		}
		v, ok := o.dimension(name)
		if !ok {
			o.fail(name+"_m", "is missing")
		}
		*into[name] = v
	}
	for _, name := range spec.May {
		if name == "slope" {
			s.Slope, _ = o.number(name, from(0, 100))
			continue
		}
		*into[name], _ = o.dimension(name)
	}
	if o.bad != nil {
		return Shape{}
	}
	switch bottom := s.BottomLengthM > 0 || s.BottomWidthM > 0; {
	case bottom && s.Slope > 0:
		o.fail("slope", "stands beside the bottom's dimensions: say one of them")
	case s.NeckHeightM > 0 && s.NeckDiameterM == 0:
		o.fail("neck_diameter_m", "is missing beside neck_height_m")
	}
	if _, err := s.Geometry(); err != nil && o.bad == nil {
		o.bad = asError(err)
		o.bad.Field = strings.TrimSuffix(o.path, "shape") + o.bad.Field
		o.bad.Message = strings.TrimSuffix(o.path, "shape") + o.bad.Message
	}
	return s
}

// dimension takes the dimension name, or another word for it, in metres or
// centimetres [m].
func (o *object) dimension(name string) (value float64, given bool) {
	found := ""
	for _, word := range append([]string{name}, otherWords[name]...) {
		for _, key := range []string{word + "_m", word + "_cm"} {
			if !o.has(key) {
				o.seen = append(o.seen, key)
				continue
			}
			if found != "" {
				o.fail(key, "stands beside %s: say one of them", found)
				return 0, false
			}
			found = key
			value, given = o.number(key, above(0, 1e6))
			if strings.HasSuffix(key, "_cm") {
				value /= 100
			}
		}
	}
	return value, given
}

func (o *object) points(key string) []LevelVolume {
	var all []LevelVolume
	o.need(key)
	o.list(key, 200, func(i int, raw json.RawMessage) {
		in := openObject(fmt.Sprintf("%s[%d]", o.at(key), i), raw)
		in.need("level_cm")
		in.need("volume_l")
		p := LevelVolume{}
		p.LevelCM, _ = in.number("level_cm", from(0, 1000))
		p.VolumeL, _ = in.number("volume_l", from(0, 1e7))
		o.shut(in)
		all = append(all, p)
	})
	return all
}

func shapeNames() []string {
	names := make([]string, len(ShapeKinds))
	for i, k := range ShapeKinds {
		names[i] = k.Kind
	}
	return names
}

// asError returns err as an *Error, of code Internal if it is none.
func asError(err error) *Error {
	var e *Error
	if errors.As(err, &e) {
		return e
	}
	return &Error{Code: Internal, Message: err.Error()}
}
