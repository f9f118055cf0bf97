package calc

import (
	"encoding/json"
	"strings"

	"sodalake/farm"
)

type volumePoint struct {
	LevelCM float64 `json:"level_cm" label:"Level" unit:"cm" min:"0" max:"1000"`
	VolumeL float64 `json:"volume_l" label:"Poured in until then" unit:"L" min:"0" max:"10000000"`
}

type volumeIn struct {
	Shape           string        `json:"shape" label:"Shape" choices:"box|cylinder|bottle|liner|measured|lying_cylinder|raceway|ellipse"`
	LengthM         *float64      `json:"length_m" label:"Length, inside" unit:"m" min:"0" max:"1000" help:"box, raceway, ellipse, lying cylinder"`
	WidthM          *float64      `json:"width_m" label:"Width, inside" unit:"m" min:"0" max:"1000" help:"box, raceway, ellipse"`
	HeightM         *float64      `json:"height_m" label:"Height, floor to rim" unit:"m" min:"0" max:"100" help:"all but measured and lying cylinder"`
	DiameterM       *float64      `json:"diameter_m" label:"Diameter, inside" unit:"m" min:"0" max:"100" help:"cylinder, bottle, lying cylinder"`
	TopLengthM      *float64      `json:"top_length_m" label:"Length at the rim" unit:"m" min:"0" max:"1000" help:"liner"`
	TopWidthM       *float64      `json:"top_width_m" label:"Width at the rim" unit:"m" min:"0" max:"1000" help:"liner"`
	BottomLengthM   *float64      `json:"bottom_length_m" label:"Length at the floor" unit:"m" min:"0" max:"1000" help:"liner: this and the width, or the slope"`
	BottomWidthM    *float64      `json:"bottom_width_m" label:"Width at the floor" unit:"m" min:"0" max:"1000" help:"liner"`
	Slope           *float64      `json:"slope" label:"Slope of the walls, run over rise" min:"0" max:"20" help:"liner: 1 is 45°"`
	ShoulderHeightM *float64      `json:"shoulder_height_m" label:"Height of the shoulder" unit:"m" min:"0" max:"10" help:"bottle"`
	NeckDiameterM   *float64      `json:"neck_diameter_m" label:"Diameter of the neck" unit:"m" min:"0" max:"10" help:"bottle"`
	NeckHeightM     *float64      `json:"neck_height_m" label:"Height of the neck" unit:"m" min:"0" max:"10" help:"bottle"`
	MidWallM        *float64      `json:"mid_wall_m" label:"Thickness of the middle wall" unit:"m" min:"0" max:"10" help:"raceway"`
	Points          []volumePoint `json:"points" label:"Level and volume while filling" help:"measured: one pair a line, level in cm and litres"`
	LevelCM         *float64      `json:"level_cm" label:"Level of the water" unit:"cm" min:"0" max:"1000" help:"this or the volume"`
	VolumeL         *float64      `json:"volume_l" label:"Volume of the water" unit:"L" min:"0" max:"100000000" help:"instead of the level"`
}

type volumeOut struct {
	VolumeL     float64 `json:"volume_l" label:"Volume" unit:"L"`
	LevelCM     float64 `json:"level_cm" label:"Level" unit:"cm"`
	SurfaceM2   float64 `json:"surface_m2" label:"Surface" unit:"m²"`
	WallM2      float64 `json:"wall_m2" label:"Wetted wall" unit:"m²"`
	MeanDepthCM float64 `json:"mean_depth_cm" label:"Mean depth" unit:"cm"`
	CapacityL   float64 `json:"capacity_l" label:"Full to the rim" unit:"L"`
	LitrePerCM  float64 `json:"litres_per_cm" label:"Litres in a centimetre here" unit:"L"`
	FreeboardCM float64 `json:"freeboard_cm" label:"Rim above the water" unit:"cm"`
	Told
}

// Volume is the calculator of what a vessel holds.
func Volume() *Calculator {
	return Define(About{
		Name: "volume", Title: "Volume of a vessel",
		Sentence: "How much a vessel of any shape holds at a level, or how high a volume stands in it.",
		Equations: []string{
			"box: l w h; cylinder: pi d^2 h / 4; ellipse: pi l w h / 4",
			"liner (frustum of rectangles): integral of l(z) w(z) over the depth",
			"lying cylinder: L (r^2 acos((r - h)/r) - (r - h) sqrt(2 r h - h^2))",
			"raceway: two straights and two half circles less the middle wall",
			"measured: a smooth rising curve through the points, Fritsch & Carlson 1980",
		},
		Sources: []Source{{"fritschcarlson1980", "Fritsch & Carlson 1980, SIAM Journal on Numerical Analysis 17:238; the other shapes are elementary geometry"}},
		Example: `{"shape":"liner","top_length_m":6,"top_width_m":2.4,"height_m":0.3,"slope":1,"level_cm":18}`,
	}, func(in volumeIn) (volumeOut, error) {
		g, err := in.shape().geometry()
		if err != nil {
			return volumeOut{}, err
		}
		if (in.LevelCM == nil) == (in.VolumeL == nil) {
			return volumeOut{}, invalid("level_cm", "give one of level_cm and volume_l", "level_cm or volume_l is needed, and only one")
		}
		var level float64
		if in.LevelCM != nil {
			level = *in.LevelCM / 100
			if level > g.RimM()*(1+1e-9) {
				return volumeOut{}, invalid("level_cm", "", "level_cm %g is above the rim at %s cm", *in.LevelCM, Digits(g.RimM()*100))
			}
		} else {
			if *in.VolumeL > g.CapacityL()*(1+1e-9) {
				return volumeOut{}, invalid("volume_l", "", "volume_l %g is more than the vessel holds, %s L", *in.VolumeL, Digits(g.CapacityL()))
			}
			level = g.LevelM(*in.VolumeL)
		}
		out := volumeOut{
			VolumeL: g.VolumeL(level), LevelCM: level * 100, SurfaceM2: g.SurfaceM2(level), WallM2: g.WallM2(level),
			MeanDepthCM: g.MeanDepthM(level) * 100, CapacityL: g.CapacityL(), LitrePerCM: g.SurfaceM2(level) * 10,
			FreeboardCM: g.FreeboardM(level) * 100,
		}
		out.Assumptions = []string{"inner dimensions; the vessel stands level; level measured from the lowest point of the floor"}
		out.Cautions = []string{"Standing water drowns children and animals, a hand deep is enough: cover it or fence it."}
		return out, nil
	})
}

// shapeJSON is a shape on its way to the farm's own reader.
type shapeJSON map[string]any

// shape gathers what was given as the farm's shape.
func (in *volumeIn) shape() shapeJSON {
	m := shapeJSON{"kind": in.Shape}
	for key, x := range map[string]*float64{
		"length_m": in.LengthM, "width_m": in.WidthM, "height_m": in.HeightM, "diameter_m": in.DiameterM,
		"top_length_m": in.TopLengthM, "top_width_m": in.TopWidthM, "bottom_length_m": in.BottomLengthM, "bottom_width_m": in.BottomWidthM,
		"slope": in.Slope, "shoulder_height_m": in.ShoulderHeightM, "neck_diameter_m": in.NeckDiameterM, "neck_height_m": in.NeckHeightM, "mid_wall_m": in.MidWallM,
	} {
		if x != nil {
			m[key] = *x
		}
	}
	if len(in.Points) > 0 {
		m["points"] = in.Points
	}
	return m
}

// geometry lets the farm read the shape, so that one reader knows all shapes,
// and takes its word "shape." off the field, which a calculator does not have.
func (m shapeJSON) geometry() (interface {
	VolumeL(float64) float64
	LevelM(float64) float64
	SurfaceM2(float64) float64
	WallM2(float64) float64
	MeanDepthM(float64) float64
	FreeboardM(float64) float64
	CapacityL() float64
	RimM() float64
}, error) {
	raw, err := json.Marshal(m)
	if err != nil {
		return nil, err
	}
	s, e := farm.DecodeShape(raw)
	if e == nil {
		g, err := s.Geometry()
		if err == nil {
			return g, nil
		}
		fe, ok := err.(*farm.Error)
		if !ok {
			return nil, err
		}
		e = fe
	}
	e.Field = strings.TrimPrefix(e.Field, "shape.")
	e.Message = strings.ReplaceAll(e.Message, "shape.", "")
	return nil, e
}
