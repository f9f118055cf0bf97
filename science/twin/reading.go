package twin

import (
	"math"

	"sodalake/science/growth"
)

// Kind is a kind of reading.
type Kind int

// The readings that can be assimilated, with the scale of each.
const (
	Secchi       Kind = iota // logarithm of the depth [ln cm]
	OD                       // logarithm of the optical density at 750 nm [ln 1]
	DryWeight                // logarithm of dry matter [ln g/L]
	PH                       // as the meter shows it [1]
	Temp                     // water [°C]
	Level                    // depth at the lowest point [cm]
	Conductivity             // logarithm [ln mS/cm at 25 °C]
	Nitrate                  // logarithm [ln mM]
	Ammonia                  // logarithm of ammonia and ammonium [ln mM]
	Cake                     // logarithm of dry matter that a litre left on the cloth [ln g/L]
	Colour                   // logarithm of dry matter as a word tells it [ln g/L]
	MeterCheck               // what a pH meter was found to read too much [1]
	NumKinds
)

var kindNames = [NumKinds]string{
	"secchi", "od", "dry_weight", "ph", "temperature", "level", "conductivity", "nitrate", "ammonia", "cake", "colour", "meter_check",
}

// String returns the name of the kind.
func (k Kind) String() string {
	if k < 0 || k >= NumKinds {
		return "unknown"
	}
	return kindNames[k]
}

// Reading is one reading on the scale of its kind.
type Reading struct {
	Kind  Kind
	Value float64 // on the scale of the kind [unit of the kind]
	Sigma float64 // its own standard deviation, on that scale [unit of the kind]
	Op    byte    // '=', '<' or '>': the truth lies at, below or above Value
	Slip  float64 // range over which a slip may fall, on that scale [unit of the kind]

	// Abs is an error on the unit itself of a kind that is told as a logarithm,
	// beside Sigma [cm, 1 or g/L]: as the truth lies higher it weighs less. It
	// is taken at what the members expect, not at what was read: a reading that
	// falls short by its error would else pass for a worse one than that which
	// errs the other way, and pull the mean.
	Abs float64
}

// at returns the standard deviation of the reading where the middle of what is
// expected is mid, on its scale.
func (r *Reading) at(mid float64) float64 {
	if r.Abs > 0 {
		return math.Hypot(r.Sigma, r.Abs/math.Exp(mid))
	}
	return r.Sigma
}

// Errors of reading, standard deviations; of the logarithm where the name
// begins with ln. Judgement, no source, but where said.
const (
	odError         = 0.02 // of the instrument, in its own unit [1]
	lnODError       = 0.03 // of diluting and pouring
	lnDryError      = 0.07 // salt left, losses, the scales; 0.05 of it as in package growth
	phError         = 0.05 // a cheap meter in sodium brine is good to 0.05–0.1, the rest is PHBias
	stripError      = 0.35 // a paper strip
	tempErrorC      = 0.6  // thermometer and where it hung [°C]
	levelErrorCM    = 0.3  // stick, ripples, a floor not quite level [cm]
	lnSaltError     = 0.03 // meter and its compensation, and what the sum over ions leaves
	lnStripError    = 0.25 // a test strip of nitrate or ammonia, half a step of its scale
	lnDriedError    = 0.06 // dried cake: losses at the cloth, residual water
	lnPressedError  = 0.12 // pressed cake: its dry share is guessed, 20 ± 2.4 %
	lnLitresError   = 0.05 // litres through the cloth by bucket or pump
	lnSlipOfDensity = 4.4  // 80-fold: a decimal slip either way, on the scale of a logarithm
)

// PressedDry is the dry share of pressed cake [1]. Common practice, no source.
const PressedDry = 0.2

// never is a reading that tells nothing.
func never(k Kind) Reading {
	return Reading{Kind: k, Value: math.NaN(), Sigma: math.NaN(), Op: '=', Slip: 1}
}

// Usable reports whether a reading can be assimilated: its numbers are numbers
// and its error is above nothing.
func (r *Reading) Usable() bool {
	return r.Kind >= 0 && r.Kind < NumKinds && !math.IsNaN(r.Value) && !math.IsInf(r.Value, 0) && (r.Sigma > 0 || r.Sigma == 0 && r.Abs > 0) && !math.IsInf(r.Sigma, 0) && r.Slip > 0
}

// Spoiled returns the reading with a bias taken off and its error widened, as a
// flag on it asks: bias is what it reads too much on the scale of its kind
// [unit of the kind], sd the standard deviation that comes with it [unit of the
// kind].
func (r Reading) Spoiled(bias, sd float64) Reading {
	r.Value -= bias
	r.Sigma = math.Hypot(r.Sigma, sd)
	return r
}

// ReadSecchi returns a reading of the disc at depthCM [cm]. What the constant
// is unsure of is a variable of the members, so only the error of the stick
// stands here:
//
//	var ln d = (s_d/d)²,  s_d = 2.5 mm, d as expected
//
// Special case: not Usable for a depth at or below zero, as all readings here
// on a logarithm.
//
// Source: propagation of error; the 2–3 mm are judgement, no source.
func ReadSecchi(depthCM float64) Reading {
	if !(depthCM > 0) {
		return never(Secchi)
	}
	return Reading{Kind: Secchi, Value: math.Log(depthCM), Abs: growth.SecchiReadErrorCM, Op: '=', Slip: lnSlipOfDensity}
}

// ReadOD returns a reading of optical density at 750 nm through 1 cm, od [1].
func ReadOD(od float64) Reading {
	if !(od > 0) {
		return never(OD)
	}
	return Reading{Kind: OD, Value: math.Log(od), Sigma: lnODError, Abs: odError, Op: '=', Slip: 5}
}

// ReadDryWeight returns a weighed filter: dryGL is dry matter [g/L].
func ReadDryWeight(dryGL float64) Reading {
	if !(dryGL > 0) {
		return never(DryWeight)
	}
	return Reading{Kind: DryWeight, Value: math.Log(dryGL), Sigma: lnDryError, Op: '=', Slip: 5}
}

// ReadPH returns what a meter, or a strip, shows: ph [1].
func ReadPH(ph float64, strip bool) Reading {
	sd := phError
	if strip {
		sd = stripError
	}
	return Reading{Kind: PH, Value: ph, Sigma: sd, Op: '=', Slip: 6}
}

// ReadTemp returns a thermometer in the water: tempC [°C].
func ReadTemp(tempC float64) Reading {
	return Reading{Kind: Temp, Value: tempC, Sigma: tempErrorC, Op: '=', Slip: 40}
}

// ReadLevel returns a stick to the lowest point: levelCM is the depth [cm].
func ReadLevel(levelCM float64) Reading {
	return Reading{Kind: Level, Value: levelCM, Sigma: levelErrorCM, Op: '=', Slip: 60}
}

// ReadConductivity returns a conductivity brought to 25 °C: mSCm [mS/cm].
func ReadConductivity(mSCm float64) Reading {
	if !(mSCm > 0) {
		return never(Conductivity)
	}
	return Reading{Kind: Conductivity, Value: math.Log(mSCm), Sigma: lnSaltError, Op: '=', Slip: 4}
}

// ReadNitrate returns a strip of nitrate: mM is its concentration [mM].
func ReadNitrate(mM float64) Reading {
	if !(mM > 0) {
		return never(Nitrate)
	}
	return Reading{Kind: Nitrate, Value: math.Log(mM), Sigma: lnStripError, Op: '=', Slip: 8}
}

// ReadAmmonia returns a strip of ammonia and ammonium: mM is their
// concentration [mM].
func ReadAmmonia(mM float64) Reading {
	if !(mM > 0) {
		return never(Ammonia)
	}
	return Reading{Kind: Ammonia, Value: math.Log(mM), Sigma: lnStripError, Op: '=', Slip: 8}
}

// ReadCake returns what a weighed harvest says of the density of what passed
// the cloth: cakeG is the cake [g], dried to constant mass or, if not, pressed,
// and litres what passed [L].
//
//	X = m·w/V,  var ln X = var ln w + var ln V
//
// where w is the dry share, PressedDry of a pressed cake.
//
// Source: propagation of error; the shares are common practice, no source.
func ReadCake(cakeG, litres float64, dried bool) Reading {
	if !(cakeG > 0) || !(litres > 0) {
		return never(Cake)
	}
	share, sd := 1.0, lnDriedError
	if !dried {
		share, sd = PressedDry, lnPressedError
	}
	return Reading{Kind: Cake, Value: math.Log(cakeG * share / litres), Sigma: math.Hypot(sd, lnLitresError), Op: '=', Slip: 5}
}

// colours are the words for how dark a stirred culture looks, with the dry
// matter that each stands for.
//
// Source: the words are growers', common practice, no source; the figures are
// judgement: pale where a disc is seen to 8 cm, dark where it goes at 2.
var colours = map[string]struct {
	gl, lnSD float64
	op       byte
}{
	"pale":             {0.15, 0.50, '='},
	"green":            {0.30, 0.45, '='},
	"blue_green":       {0.40, 0.50, '='},
	"dark":             {0.55, 0.45, '='},
	"dark_green":       {0.55, 0.45, '='},
	"cannot_see_hand":  {0.30, 0.35, '>'},
	"can_see_the_hand": {0.30, 0.35, '<'},
}

// ReadColour returns what a word for the colour says of the density, wide as it
// is; "cannot_see_hand" says that a hand an arm's joint under the surface (10 cm)
// was out of sight. A word that tells nothing of it (yellow, milky) gives a
// reading that is not Usable.
func ReadColour(word string) Reading {
	c, ok := colours[word]
	if !ok {
		return never(Colour)
	}
	return Reading{Kind: Colour, Value: math.Log(c.gl), Sigma: c.lnSD, Op: c.op, Slip: lnSlipOfDensity}
}
