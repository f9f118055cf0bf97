package growth

import "math"

// Density is what a reading says of the dry matter: log-normal about a median,
// or, where Below is set, only that the truth lies under the bound.
type Density struct {
	MedianGL float64 // median, or the upper bound [g/L]
	LogSD    float64 // standard deviation of the logarithm [1]
	Below    bool    // one-sided: a disc seen to the floor
}

// Flag marks what spoils a density reading. Flags add with |.
type Flag uint8

// What can be said of a reading.
const (
	Unstirred Flag = 1 << iota // filaments floated or sank: the sample is not the pond
	Chalk                      // a white cloud after hard water or lime
	Greens                     // foreign green cells in the water
	Pale                       // starved or bleached filaments
	LowSun                     // early, late or under a dark sky
)

// flagBias is, for each flag in the order above, by how much the logarithm of
// the density reads too high, and the spread that comes with it.
//
// Source: judgement, no source: signs follow from what each does to the light.
var flagBias = [...]struct{ bias, sd float64 }{
	{0, 0.35},
	{0.25, 0.25},
	{0.20, 0.20},
	{-0.20, 0.20},
	{0.08, 0.10},
}

// spoil moves a density by the flags' biases and widens it.
func (d Density) spoil(flags Flag) Density {
	bias, v := 0.0, d.LogSD*d.LogSD
	for i, f := range flagBias {
		if flags&(1<<i) != 0 {
			bias += f.bias
			v += f.sd * f.sd
		}
	}
	return Density{d.MedianGL * math.Exp(-bias), math.Sqrt(v), d.Below}
}

// LogLikelihood returns how well a density fits the reading, as the logarithm
// of the likelihood up to a constant [1], where densityGL is the supposed dry
// matter [g/L].
//
// Special cases: −Inf for densityGL ≤ 0.
func (d Density) LogLikelihood(densityGL float64) float64 {
	if densityGL <= 0 {
		return math.Inf(-1)
	}
	z := math.Log(densityGL/d.MedianGL) / d.LogSD
	if d.Below {
		return math.Log(max(0.5*math.Erfc(z/math.Sqrt2), 1e-300))
	}
	return -z * z / 2
}

// What a disc on a stick says before the grower's own calibration.
//
// Source: SecchiConstant between the optics of preisendorfer1986 with cornet2009
// (0.9) and handbook points (1.2–1.6; from memory); SecchiConstantSD spans
// 0.9–1.6 as a 10–90 band and more; SecchiReadErrorCM judgement, no source
// (2–3 mm).
const (
	SecchiConstant    = 1.2   // density times depth [g·cm/L]
	SecchiConstantSD  = 0.175 // of its logarithm [1]
	SecchiReadErrorCM = 0.25  // reading error [cm]
)

// DensityFromSecchi returns the dry matter [g/L] at which the disc goes out of
// sight at depthCM [cm], where constant is density times depth [g·cm/L]:
//
//	X = K/d
//
// Special cases: NaN for a depth at or below zero.
//
// Source: as SecchiConstant.
func DensityFromSecchi(depthCM, constant float64) float64 {
	if !(depthCM > 0) {
		return math.NaN()
	}
	return constant / depthCM
}

// SecchiFromDensity returns the depth [cm] at which the disc goes out of sight
// in a culture of densityGL [g/L], where constant is density times depth
// [g·cm/L]. It is the inverse of DensityFromSecchi.
//
// Special cases: NaN for a density at or below zero.
func SecchiFromDensity(densityGL, constant float64) float64 {
	if !(densityGL > 0) {
		return math.NaN()
	}
	return constant / densityGL
}

// Secchi is one reading of the disc with what is known about it.
type Secchi struct {
	DepthCM     float64 // where the disc went out of sight, or the floor [cm]
	ToFloor     bool    // the disc was still seen at the floor
	FiltrateCM  float64 // the same disc in the filtrate, 0 = not taken [cm]
	Constant    float64 // density times depth [g·cm/L]
	ConstantSD  float64 // of its logarithm [1]
	ReadErrorCM float64 // reading error [cm]
	Flags       Flag    // what spoils it
}

// NewSecchi returns a reading at depthCM [cm] with the default constant and
// errors.
func NewSecchi(depthCM float64) Secchi {
	return Secchi{DepthCM: depthCM, Constant: SecchiConstant, ConstantSD: SecchiConstantSD, ReadErrorCM: SecchiReadErrorCM}
}

// Density returns what the reading says:
//
//	X = K (1/d − 1/d_f)
//	var ln X = (s_d/d)² + var ln K, with both depths where there is a filtrate
//
// A filtrate reading takes the cloud of chalk and greens away, so these flags
// then only widen. A filtrate no clearer than the culture leaves a one-sided
// reading.
//
// Special cases: NaN for a depth at or below zero.
//
// Source: propagation of error; constants as SecchiConstant.
func (s *Secchi) Density() Density {
	x := DensityFromSecchi(s.DepthCM, s.Constant)
	rel := s.ReadErrorCM / s.DepthCM
	v := rel*rel + s.ConstantSD*s.ConstantSD
	d := Density{x, math.Sqrt(v), s.ToFloor}
	if !(s.FiltrateCM > 0) || s.ToFloor {
		return d.spoil(s.Flags)
	}
	rest := s.Constant * (1/s.DepthCM - 1/s.FiltrateCM)
	if rest < 0.05*x { // nothing left to measure
		d.Below = true
		return d.spoil(s.Flags &^ (Chalk | Greens))
	}
	inCulture := s.Constant * s.ReadErrorCM / square(s.DepthCM) / rest
	inFiltrate := s.Constant * s.ReadErrorCM / square(s.FiltrateCM) / rest
	v = square(inCulture) + square(inFiltrate) + s.ConstantSD*s.ConstantSD
	for i, f := range flagBias {
		if s.Flags&(Chalk|Greens)&(1<<i) != 0 {
			v += square(f.sd / 2)
		}
	}
	return Density{rest, math.Sqrt(v), false}.spoil(s.Flags &^ (Chalk | Greens))
}

// Optical density at 750 nm, 1 cm.
//
// Source: ODPerUnit karemore2020; ODPerUnitSD spans 0.35–0.8 g/L per unit as
// a 5–95 band.
const (
	ODPerUnit   = 0.50 // dry matter per unit [g/L]
	ODPerUnitSD = 0.25 // of its logarithm [1]
	odReadError = 0.02 // of the reading [1]; judgement, no source
)

// DensityFromOD returns what an optical density says, where od750 is the
// reading at 750 nm through 1 cm [1] (dilute to below about 1 and multiply),
// perUnit is the dry matter per unit [g/L], perUnitSD the standard deviation of
// its logarithm [1], and flags what spoils it.
//
// Special cases: NaN for a reading at or below zero.
//
// Source: as ODPerUnit.
func DensityFromOD(od750, perUnit, perUnitSD float64, flags Flag) Density {
	if !(od750 > 0) {
		return Density{math.NaN(), math.NaN(), false}
	}
	return Density{od750 * perUnit, math.Hypot(odReadError/od750, perUnitSD), false}.spoil(flags &^ LowSun)
}

// DensityFromDryWeight returns what a weighed, washed and dried filter says,
// where dryGL is dry matter [g/L] and weighingGL the error of the weighing
// referred to the volume filtered [g/L]; salt left and losses add 5 %.
//
// Special cases: NaN for a weight at or below zero.
//
// Source: the 5 % judgement, no source; residual salt under 2 %: karemore2020.
func DensityFromDryWeight(dryGL, weighingGL float64, flags Flag) Density {
	if !(dryGL > 0) {
		return Density{math.NaN(), math.NaN(), false}
	}
	return Density{dryGL, math.Hypot(weighingGL/dryGL, 0.05), false}.spoil(flags & Unstirred)
}

// Colour is a grower's word for how dark the culture looks, stirred, in a
// clear glass or from above.
type Colour uint8

// The words in rising order of density.
const (
	ColourClear Colour = iota + 1
	ColourTinged
	ColourLightGreen
	ColourGreen
	ColourDarkGreen
	ColourNearBlack
)

// colours holds word, median [g/L] and the spread of its logarithm [1].
//
// Source: common practice, no source: the words and their order; the figures
// are judgement.
var colours = [...]struct {
	word     string
	gl, logS float64
}{
	{"", math.NaN(), math.NaN()},
	{"clear", 0.02, 0.8},
	{"tinged", 0.06, 0.6},
	{"light green", 0.15, 0.5},
	{"green", 0.30, 0.45},
	{"dark green", 0.55, 0.45},
	{"near black", 1.0, 0.5},
}

// String returns the word.
func (c Colour) String() string {
	if int(c) >= len(colours) {
		return ""
	}
	return colours[c].word
}

// ParseColour returns the colour of a word, and whether it is one.
func ParseColour(word string) (Colour, bool) {
	for c := ColourClear; c <= ColourNearBlack; c++ {
		if fold(word) == fold(colours[c].word) {
			return c, true
		}
	}
	return 0, false
}

// DensityFromColour returns what a colour word says: little. NaN for a word
// that is none; flags is what spoils it.
func DensityFromColour(c Colour, flags Flag) Density {
	if c < ColourClear || c > ColourNearBlack {
		return Density{math.NaN(), math.NaN(), false}
	}
	return Density{colours[c].gl, colours[c].logS, false}.spoil(flags)
}
