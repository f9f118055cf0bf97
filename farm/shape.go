package farm

import (
	"encoding/json"
	"strings"
)

// Shape is the form of a vessel with its inner dimensions. Which of them a kind
// needs stands in ShapeKinds; the others are zero.
type Shape struct {
	Kind            string        `json:"kind"`
	LengthM         float64       `json:"length_m,omitempty"`          // [m]
	WidthM          float64       `json:"width_m,omitempty"`           // [m]; of a raceway, both channels with the wall between
	HeightM         float64       `json:"height_m,omitempty"`          // wall from floor to rim [m]; of a bottle, its body below the shoulder
	DiameterM       float64       `json:"diameter_m,omitempty"`        // [m]
	TopLengthM      float64       `json:"top_length_m,omitempty"`      // liner, at the rim [m]
	TopWidthM       float64       `json:"top_width_m,omitempty"`       // liner, at the rim [m]
	BottomLengthM   float64       `json:"bottom_length_m,omitempty"`   // liner, at the floor [m]
	BottomWidthM    float64       `json:"bottom_width_m,omitempty"`    // liner, at the floor [m]
	Slope           float64       `json:"slope,omitempty"`             // liner: run of the wall over its rise [1]
	NeckDiameterM   float64       `json:"neck_diameter_m,omitempty"`   // bottle [m]
	NeckHeightM     float64       `json:"neck_height_m,omitempty"`     // bottle [m]
	ShoulderHeightM float64       `json:"shoulder_height_m,omitempty"` // bottle, between body and neck [m]
	WallM           float64       `json:"wall_m,omitempty"`            // raceway, thickness of the middle wall [m]
	Points          []LevelVolume `json:"points,omitempty"`            // measured: by counting buckets
}

// LevelVolume is one point of a vessel measured by counting buckets.
type LevelVolume struct {
	LevelCM float64 `json:"level_cm"` // depth of the water [cm]
	VolumeL float64 `json:"volume_l"` // what it then holds [L]
}

// ShapeKind says which dimensions a kind of shape has. A dimension is given in
// metres or in centimetres: length_m or length_cm. depth is another word for
// height.
type ShapeKind struct {
	Kind string   `json:"kind"`
	What string   `json:"what"`
	Need []string `json:"need"`          // names without their unit
	May  []string `json:"may,omitempty"` // names without their unit
}

// ShapeKinds is the closed list of shapes.
var ShapeKinds = []ShapeKind{
	{"box", "straight walls, a rectangle seen from above", []string{"length", "width", "height"}, nil},
	{"cylinder", "an upright cylinder", []string{"diameter", "height"}, nil},
	{"bottle", "a cylinder with shoulders and a neck", []string{"diameter", "height"}, []string{"shoulder_height", "neck_diameter", "neck_height"}},
	{"liner", "a rectangular pond with sloping walls", []string{"top_length", "top_width", "height"}, []string{"bottom_length", "bottom_width"}},
	{"measured", "any form, measured by counting buckets", []string{"points"}, nil},
	{"lying_cylinder", "a cylinder on its side", []string{"diameter", "length"}, nil},
	{"raceway", "two straight channels joined by half circles", []string{"length", "width", "height"}, []string{"wall"}},
	{"ellipse", "straight walls, an ellipse seen from above", []string{"length", "width", "height"}, nil},
}

// DecodeShape takes raw, {"kind":"box","length_m":2,...}, apart. Every error
// names its field.
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

// TopM returns the highest level the vessel can hold [m], 0 if its shape does
// not tell.
func (s Shape) TopM() float64 {
	switch s.Kind {
	case "bottle":
		return s.HeightM + s.ShoulderHeightM + s.NeckHeightM
	case "lying_cylinder":
		return s.DiameterM
	case "measured":
		if n := len(s.Points); n > 0 {
			return s.Points[n-1].LevelCM / 100
		}
	}
	return s.HeightM
}

// dimension takes name in metres or centimetres [m].
func (o *object) dimension(name string) (float64, bool) {
	meant := above(0, 1000)
	switch {
	case o.has(name+"_m") && o.has(name+"_cm"):
		o.fail(name+"_cm", "stands beside %s_m: say one of them", name)
		return 0, false
	case o.has(name + "_cm"):
		v, ok := o.number(name+"_cm", above(0, 100000))
		return v / 100, ok
	}
	return o.number(name+"_m", meant)
}

func (o *object) shape() Shape {
	s := Shape{Kind: o.word("kind", shapeNames())}
	if s.Kind == "" {
		o.fail("kind", "is missing")
		return Shape{}
	}
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
		"shoulder_height": &s.ShoulderHeightM, "wall": &s.WallM,
	}
	for _, name := range spec.Need {
		switch name {
		case "points":
			s.Points = o.points("points")
		case "height":
			given := "height"
			if !o.has("height_m") && !o.has("height_cm") {
				given = "depth"
			}
			v, ok := o.dimension(given)
			if !ok {
				o.fail("height_m", "is missing")
			}
			s.HeightM = v
		default:
			v, ok := o.dimension(name)
			if !ok {
				o.fail(name+"_m", "is missing")
			}
			*into[name] = v
		}
	}
	for _, name := range spec.May {
		*into[name], _ = o.dimension(name)
	}
	switch s.Kind {
	case "liner":
		s.Slope, _ = o.number("slope", from(0, 20))
		o.liner(&s)
	case "bottle":
		if (s.NeckDiameterM > 0) != (s.ShoulderHeightM > 0) {
			o.fail("neck_diameter_m", "and shoulder_height_m stand only together")
		}
		if s.NeckHeightM > 0 && s.NeckDiameterM == 0 {
			o.need("neck_diameter_m")
		}
		if s.NeckDiameterM > s.DiameterM {
			o.fail("neck_diameter_m", "is wider than the bottle")
		}
	case "raceway":
		if s.LengthM < s.WidthM && o.bad == nil {
			o.fail("length_m", "is less than the width: a raceway is longer than wide")
		}
		if s.WallM >= s.WidthM && o.bad == nil {
			o.fail("wall_m", "leaves no channel")
		}
	}
	return s
}

// liner checks that slope and bottom agree: one of them is given.
func (o *object) liner(s *Shape) {
	bottom := s.BottomLengthM > 0 || s.BottomWidthM > 0
	switch {
	case o.bad != nil:
	case bottom && s.Slope > 0:
		o.fail("slope", "stands beside the bottom's dimensions: say one of them")
	case bottom && (s.BottomLengthM == 0 || s.BottomWidthM == 0):
		o.fail("bottom_length_m", "and bottom_width_m stand only together")
	case bottom && (s.BottomLengthM > s.TopLengthM || s.BottomWidthM > s.TopWidthM):
		o.fail("bottom_length_m", "or bottom_width_m is more than at the rim")
	case 2*s.Slope*s.HeightM > min(s.TopLengthM, s.TopWidthM):
		o.fail("slope", "%s lets the walls meet above the floor", shortNumber(s.Slope))
	}
}

func (o *object) points(key string) []LevelVolume {
	var all []LevelVolume
	o.need(key)
	o.list(key, 200, func(i int, raw json.RawMessage) {
		in := openObject(o.at(key), raw)
		p := LevelVolume{}
		in.need("level_cm")
		in.need("volume_l")
		p.LevelCM, _ = in.number("level_cm", from(0, 1000))
		p.VolumeL, _ = in.number("volume_l", from(0, 1e7))
		o.shut(in)
		if n := len(all); n > 0 && (p.LevelCM <= all[n-1].LevelCM || p.VolumeL <= all[n-1].VolumeL) {
			o.fail(key, "do not rise at point %d", i+1)
		}
		all = append(all, p)
	})
	if len(all) < 2 {
		o.fail(key, "are fewer than two")
	}
	return all
}

func shapeNames() []string {
	names := make([]string, len(ShapeKinds))
	for i, k := range ShapeKinds {
		names[i] = k.Kind
	}
	return names
}

// ShapeNames returns the names of the shapes for a message.
func ShapeNames() string { return strings.Join(shapeNames(), ", ") }
