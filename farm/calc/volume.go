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
	By              string        `json:"by" label:"Found by" choices:"shape|buckets|salt|titration" default:"shape" help:"its shape and a level; or counting buckets, salt and a conductivity meter in plain water, a titration"`
	Shape           string        `json:"shape,omitempty" label:"Shape" choices:"box|cylinder|bottle|liner|measured|lying_cylinder|raceway|ellipse"`
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
	Buckets         *float64      `json:"buckets" label:"Buckets poured in" min:"0.1" max:"100000" help:"buckets: count them, parts too"`
	BucketL         *float64      `json:"bucket_l" label:"One bucket holds" unit:"L" min:"0.01" max:"1000" help:"buckets: weigh one full, less it empty; a litre is a kilogram"`
	BucketErrPct    float64       `json:"bucket_error_pct" label:"One bucket may be off by" unit:"%" min:"0" max:"30" default:"3"`
	SaltG           *float64      `json:"salt_g" label:"Plain salt stirred in" unit:"g" min:"0.01" max:"10000000" help:"salt: about a gram for each litre you expect"`
	ScaleErrG       float64       `json:"scale_error_g" label:"The scale may be off by" unit:"g" min:"0" max:"10000" default:"1"`
	BeforeMS        *float64      `json:"before_ms_per_cm" label:"Conductivity before, at 25 °C" unit:"mS/cm" min:"0" max:"200" help:"salt: plain water, before any medium goes in"`
	AfterMS         *float64      `json:"after_ms_per_cm" label:"Conductivity afterwards, at 25 °C" unit:"mS/cm" min:"0" max:"200" help:"salt: stirred until it stands still"`
	MeterErrPct     float64       `json:"meter_error_pct" label:"The meter may be off by" unit:"%" min:"0.1" max:"20" default:"1"`
	MeterStepMS     float64       `json:"meter_step_ms_per_cm" label:"Smallest step of the meter" unit:"mS/cm" min:"0" max:"1" default:"0.01"`
	Added           string        `json:"added,omitempty" label:"Stirred in for the titration" choices:"baking soda|soda ash|salt|calcium chloride" help:"titration: baking soda or soda ash with acid, salt with silver nitrate, calcium chloride with EDTA"`
	AddedG          *float64      `json:"added_g" label:"How much of it" unit:"g" min:"0.01" max:"10000000"`
	SampleML        *float64      `json:"sample_ml" label:"Water titrated each time" unit:"mL" min:"0.5" max:"1000"`
	TitrantEqPerL   *float64      `json:"titrant_eq_per_l" label:"Strength of the titrant" unit:"eq/L" min:"0.0001" max:"10" help:"acid of 0.1 mol/L is 0.1; EDTA of 0.01 mol/L is 0.02"`
	BeforeML        *float64      `json:"before_ml" label:"Titrant before" unit:"mL" min:"0" max:"1000"`
	AfterML         *float64      `json:"after_ml" label:"Titrant afterwards" unit:"mL" min:"0" max:"1000"`
	ReadML          float64       `json:"read_ml" label:"It can be read to" unit:"mL" min:"0" max:"5" default:"0.05" help:"half a drop of a dropping bottle is 0.025"`
}

type volumeOut struct {
	VolumeL     float64  `json:"volume_l" label:"Volume" unit:"L"`
	LowL        *float64 `json:"low_l,omitempty" label:"One in ten lies below" unit:"L"`
	HighL       *float64 `json:"high_l,omitempty" label:"One in ten lies above" unit:"L"`
	LevelCM     *float64 `json:"level_cm,omitempty" label:"Level" unit:"cm"`
	SurfaceM2   *float64 `json:"surface_m2,omitempty" label:"Surface" unit:"m²"`
	WallM2      *float64 `json:"wall_m2,omitempty" label:"Wetted wall" unit:"m²"`
	MeanDepthCM *float64 `json:"mean_depth_cm,omitempty" label:"Mean depth" unit:"cm"`
	CapacityL   *float64 `json:"capacity_l,omitempty" label:"Full to the rim" unit:"L"`
	LitrePerCM  *float64 `json:"litres_per_cm,omitempty" label:"Litres in a centimetre here" unit:"L"`
	FreeboardCM *float64 `json:"freeboard_cm,omitempty" label:"Rim above the water" unit:"cm"`
	Told
}

// Volume is the calculator of what a vessel holds.
func Volume() *Calculator {
	return Define(About{
		Name: "volume", Title: "Volume of a vessel",
		Sentence: "How much a vessel of any shape holds at a level, or how high a volume stands in it; or the volume by counting buckets, by salt and a meter, by a titration.",
		Equations: []string{
			"box: l w h; cylinder: pi d^2 h / 4; ellipse: pi l w h / 4",
			"liner (frustum of rectangles): integral of l(z) w(z) over the depth",
			"lying cylinder: L (r^2 acos((r - h)/r) - (r - h) sqrt(2 r h - h^2))",
			"raceway: two straights and two half circles less the middle wall",
			"measured: a smooth rising curve through the points, Fritsch & Carlson 1980",
			"salt: grams over the g/L of NaCl that lift the conductivity so far, McCleskey et al. 2012; plain water only",
			"titration: equivalents stirred in x sample / (strength x rise)",
		},
		Sources: []Source{
			{"fritschcarlson1980", "Fritsch & Carlson 1980, SIAM Journal on Numerical Analysis 17:238; the other shapes are elementary geometry"},
			{"mccleskey2012", "conductivity: McCleskey, Nordstrom, Ryan & Ball 2012, Geochimica et Cosmochimica Acta 77:369"},
		},
		Example: `{"shape":"liner","top_length_m":6,"top_width_m":2.4,"height_m":0.3,"slope":1,"level_cm":18}`,
	}, func(in volumeIn) (volumeOut, error) {
		if in.By != "shape" {
			return in.otherWay()
		}
		if in.Shape == "" {
			return volumeOut{}, invalid("shape", "or find it by buckets, salt or titration", "shape is missing")
		}
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
			VolumeL: g.VolumeL(level), LevelCM: finite(level * 100), SurfaceM2: finite(g.SurfaceM2(level)), WallM2: finite(g.WallM2(level)),
			MeanDepthCM: finite(g.MeanDepthM(level) * 100), CapacityL: finite(g.CapacityL()), LitrePerCM: finite(g.SurfaceM2(level) * 10),
			FreeboardCM: finite(g.FreeboardM(level) * 100),
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
