package twin

import (
	"math"
	"math/rand/v2"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
)

// Member is one possible vessel: a model with its own parameters, and what its
// readings would be told with.
//
// The model stands in the vessel as described. A vessel that is really larger
// by exp(LnScale) in plan, at the same depth, behaves as the described one into
// which that much less of everything is put: so acts go through Member.Do,
// which scales what is poured, drawn and taken, and amounts are asked of
// VolumeL, not of Pond.
type Member struct {
	Pond     pond.Vessel
	LnScale  float64 // logarithm of the true area over the described one [1]
	LnSecchi float64 // logarithm of the disc's constant [ln g·cm/L]
	LnOD     float64 // logarithm of dry matter per unit of optical density [ln g/L]
	PHBias   float64 // what the pH meter reads too much [1]
	Draw     int     // which of the weathers it lives under
	disc     float64 // middle that LnSecchi was drawn about
	rng      rand.PCG
}

// VolumeL returns the volume of the culture [L], that of the true vessel.
func (m *Member) VolumeL() float64 { return m.Pond.VolumeL() * math.Exp(m.LnScale) }

// Do applies an act to the true vessel and returns what it moved there. Levels
// and densities in the act are what they are; amounts are scaled to the
// described vessel and what was moved back from it.
func (m *Member) Do(a *pond.Act) pond.Done {
	if m.LnScale == 0 {
		return m.Pond.Do(a, nil)
	}
	f := math.Exp(m.LnScale)
	b := *a
	b.DrawL /= f
	b.ClothL /= f
	b.TakeG /= f
	b.WaterL /= f
	b.Pour = a.Pour.Scaled(1 / f)
	for k := range b.Salts {
		b.Salts[k] /= f
	}
	d := m.Pond.Do(&b, nil)
	d.Drawn = d.Drawn.Scaled(f)
	d.DrawnL *= f
	d.ClothG *= f
	d.ClothL *= f
	d.PouredKg *= f
	return d
}

// Var is one of the variables that readings correct, each on the scale on which
// its spread is about normal.
type Var int

// The variables.
const (
	VarDensity   Var = iota // logarithm of dry matter
	VarYield                // logarithm of the yield factor
	VarThreshold            // logarithm of the damage threshold
	VarNight                // logarithm of the night share
	VarSigma                // logarithm of the attenuation
	VarSecchi               // logarithm of the disc's constant
	VarOD                   // logarithm of dry matter per optical density
	VarWarmer               // what the place is warmer than the weather
	VarWind                 // logarithm of the wind over the water over that told
	VarTemp                 // temperature of the water
	VarWater                // logarithm of the water
	VarScale                // logarithm of the true area over the described one
	VarCarbon               // logarithm of inorganic carbon
	VarSalt                 // logarithm of all else that is dissolved
	VarPHBias               // bias of the pH meter
	VarNitrate              // logarithm of nitrate
	VarAmmonia              // logarithm of ammonia
	NumVars
)

var varNames = [NumVars]string{
	"density", "yield", "threshold", "night_share", "sigma", "secchi_constant", "od_constant", "warmer", "wind", "temperature",
	"water", "scale", "carbon", "salt", "ph_bias", "nitrate", "ammonia",
}

// String returns the name of the variable.
func (v Var) String() string {
	if v < 0 || v >= NumVars {
		return "unknown"
	}
	return varNames[v]
}

// vector is the variables of one member.
type vector [NumVars]float64

// damps says, for each kind of reading, which variables it may correct and how
// strongly [1]. A variable that a reading tells nothing of by itself is left
// alone: its sample covariance would be noise. What the growth parameters learn
// follows what the published cases can tell apart: the yield, the threshold of
// damage, the night share, and the attenuation where the culture is dilute.
var damps = func() [NumKinds]vector {
	density := vector{
		VarDensity: 1, VarYield: 1, VarThreshold: 1, VarNight: 1, VarSigma: 1, VarSecchi: 0.6, VarOD: 1, VarScale: 1, VarWater: 1,
	}
	return [NumKinds]vector{
		Secchi: density, OD: density, DryWeight: density, Cake: density, Colour: density,
		PH:           {VarCarbon: 1, VarPHBias: 1, VarDensity: 0.3, VarYield: 0.3},
		MeterCheck:   {VarPHBias: 1, VarCarbon: 1},
		Temp:         {VarTemp: 1, VarWarmer: 1, VarWind: 1},
		Level:        {VarWater: 1, VarScale: 1, VarWind: 1, VarSalt: 1, VarCarbon: 1, VarDensity: 1},
		Conductivity: {VarSalt: 1, VarCarbon: 1, VarWater: 1, VarScale: 1},
		Nitrate:      {VarNitrate: 1},
		Ammonia:      {VarAmmonia: 1},
	}
}()

// firm says how much of the shrinking of a variable's spread is kept [1]; see
// assimilate. Tuned with the noise of prior.go.
var firm = func() vector {
	var f vector
	for v := range f {
		f[v] = 1
	}
	f[VarYield], f[VarThreshold], f[VarNight], f[VarSigma] = 0.7, 0.7, 0.7, 0.7
	return f
}()

// vector writes the member's variables.
func (m *Member) vector(x *vector) {
	p := m.Pond.Growth.Params()
	x[VarDensity] = math.Log(math.Max(m.Pond.BiomassG, 1e-9))
	x[VarYield], x[VarThreshold] = math.Log(p.Yield), math.Log(p.Threshold)
	x[VarNight], x[VarSigma] = math.Log(p.NightShare), math.Log(p.Sigma)
	x[VarSecchi], x[VarOD], x[VarPHBias] = m.LnSecchi, m.LnOD, m.PHBias
	x[VarWarmer], x[VarTemp] = m.Pond.WarmerC, m.Pond.Heat.WaterC
	x[VarWind] = math.Log(math.Max(m.Pond.Setting.WindFactor, 1e-3))
	x[VarWater] = math.Log(math.Max(m.Pond.WaterKg, 1e-9))
	x[VarScale] = m.LnScale
	x[VarCarbon] = math.Log(math.Max(m.Pond.Mol[brine.DIC], 1e-12))
	x[VarSalt] = math.Log(math.Max(m.Pond.Mol[brine.Na], 1e-12))
	x[VarNitrate] = math.Log(math.Max(m.Pond.Mol[brine.NO3], 1e-12))
	x[VarAmmonia] = math.Log(math.Max(m.Pond.Mol[brine.Ammonia], 1e-12))
}

// What a correction may do to a variable at most: what lies beyond is no strain
// of this organism and no place that a grower describes. Judgement, no source.
const (
	paramFactor = 3.0  // factor on the default parameter set [1]
	warmerMost  = 12.0 // [°C]
	windFactor  = 5.0  // factor on the wind told [1]
	lnScaleMost = 0.9  // [1]
	phBiasMost  = 1.5  // [1]
)

// parameters are the growth parameters among the variables.
func parameters(p *growth.Params) [4]struct {
	v  Var
	to *float64
} {
	return [4]struct {
		v  Var
		to *float64
	}{{VarYield, &p.Yield}, {VarThreshold, &p.Threshold}, {VarNight, &p.NightShare}, {VarSigma, &p.Sigma}}
}

// set makes the member what x says, where was is what it was. Only what moved
// is touched.
func (m *Member) set(x, was *vector) {
	v := &m.Pond
	if x[VarDensity] != was[VarDensity] {
		v.BiomassG = math.Exp(x[VarDensity])
	}
	p, normal := v.Growth.Params(), growth.Default()
	changed := false
	defaults := parameters(&normal)
	for i, c := range parameters(&p) {
		if x[c.v] != was[c.v] {
			d := *defaults[i].to
			*c.to = min(max(math.Exp(x[c.v]), d/paramFactor), d*paramFactor)
			changed = true
		}
	}
	if changed {
		v.Growth = growth.NewModel(p)
	}
	m.LnSecchi, m.LnOD = x[VarSecchi], x[VarOD]
	m.PHBias = min(max(x[VarPHBias], -phBiasMost), phBiasMost)
	m.LnScale = min(max(x[VarScale], -lnScaleMost), lnScaleMost)
	v.WarmerC = min(max(x[VarWarmer], -warmerMost), warmerMost)
	v.Heat.WaterC = min(max(x[VarTemp], -1), 60)
	if x[VarWind] != was[VarWind] {
		v.Setting.WindFactor = min(max(math.Exp(x[VarWind]), 1/windFactor), windFactor)
	}
	if x[VarWater] != was[VarWater] {
		v.WaterKg *= math.Exp(x[VarWater] - was[VarWater])
	}
	if x[VarCarbon] != was[VarCarbon] {
		v.Mol[brine.DIC] *= math.Exp(x[VarCarbon] - was[VarCarbon])
	}
	if x[VarSalt] != was[VarSalt] {
		f := math.Exp(x[VarSalt] - was[VarSalt])
		for k := range v.Mol {
			if brine.Total(k) != brine.DIC {
				v.Mol[k] *= f
			}
		}
	}
	if x[VarNitrate] != was[VarNitrate] {
		// Nitrate came with sodium or potassium: the alkalinity stays.
		no3 := math.Exp(x[VarNitrate])
		v.Mol[brine.Na] = math.Max(v.Mol[brine.Na]+no3-v.Mol[brine.NO3], 0)
		v.Mol[brine.NO3] = no3
	}
	if x[VarAmmonia] != was[VarAmmonia] {
		v.Mol[brine.Ammonia] = math.Exp(x[VarAmmonia])
	}
}

// Expect returns what the member would read, on the scale of the kind [unit of
// the kind]. NaN says that it cannot read that.
func (m *Member) Expect(k Kind, solver *brine.Solver) float64 {
	v := &m.Pond
	if v.WaterKg <= 0 && k != MeterCheck {
		return math.NaN()
	}
	switch k {
	case Secchi:
		return m.LnSecchi - logOrNaN(v.DensityGL())
	case OD:
		return logOrNaN(v.DensityGL()) - m.LnOD
	case DryWeight, Cake, Colour:
		return logOrNaN(v.DensityGL())
	case Temp:
		return v.Heat.WaterC
	case Level:
		return v.Shape.LevelM(v.VolumeL()) * 100
	case MeterCheck:
		return m.PHBias
	}
	t := v.Molality()
	switch k {
	case Nitrate:
		return logOrNaN(t[brine.NO3] * 1000)
	case Ammonia:
		return logOrNaN(t[brine.Ammonia] * 1000)
	}
	var w brine.Water
	if solver.Solve(&t, v.Heat.WaterC, &w) != nil {
		return math.NaN()
	}
	if k == PH {
		return w.PH + m.PHBias
	}
	return math.Log(brine.ConductivityMSCm25(&w))
}

// logOrNaN returns ln x, NaN for what has none.
func logOrNaN(x float64) float64 {
	if !(x > 0) {
		return math.NaN()
	}
	return math.Log(x)
}
