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
type Member struct {
	Pond     pond.Vessel
	LnSecchi float64 // logarithm of the disc's constant [ln g·cm/L]
	LnOD     float64 // logarithm of dry matter per unit of optical density [ln g/L]
	PHBias   float64 // what the pH meter reads too much [1]
	Draw     int     // which of the weathers it lives under
	rng      rand.PCG
}

// The variables that readings correct, each on the scale on which its spread is
// about normal.
const (
	varDensity   = iota // logarithm of dry matter
	varYield            // logarithm of the yield factor
	varThreshold        // logarithm of the damage threshold
	varNight            // logarithm of the night share
	varSigma            // logarithm of the attenuation
	varSecchi           // logarithm of the disc's constant
	varOD               // logarithm of dry matter per optical density
	varWarmer           // what the place is warmer than the weather
	varTemp             // temperature of the water
	varWater            // logarithm of the water
	varCarbon           // logarithm of inorganic carbon
	varSalt             // logarithm of all that is dissolved
	varPHBias           // bias of the pH meter
	varNitrate          // logarithm of nitrate
	varAmmonia          // logarithm of ammonia and urea
	numVars
)

// Kind is a kind of reading.
type Kind int

// The readings that can be assimilated, with the scale of each.
const (
	Secchi       Kind = iota // logarithm of the depth [ln cm]
	OD                       // logarithm of the optical density [1]
	DryWeight                // logarithm of dry matter [ln g/L]
	PH                       // as the meter shows it [1]
	Temp                     // water [°C]
	Level                    // depth at the lowest point [cm]
	Conductivity             // logarithm [ln mS/cm at 25 °C]
	Nitrate                  // logarithm [ln mM]
	Ammonia                  // logarithm of ammonia and ammonium [ln mM]
	numKinds
)

// damps says, for each kind of reading, which variables it may correct and how
// strongly [1]. A variable that a reading tells nothing of by itself is left
// alone: its sample covariance would be noise. What the growth parameters learn
// follows what the published cases can tell apart.
var damps = [numKinds][numVars]float64{
	Secchi:       {varDensity: 1, varYield: 1, varThreshold: 0.7, varNight: 0.7, varSigma: 0.3, varSecchi: 1},
	OD:           {varDensity: 1, varYield: 1, varThreshold: 0.7, varNight: 0.7, varSigma: 0.3, varSecchi: 1, varOD: 1},
	DryWeight:    {varDensity: 1, varYield: 1, varThreshold: 0.7, varNight: 0.7, varSigma: 0.3, varSecchi: 1, varOD: 1},
	PH:           {varCarbon: 1, varPHBias: 1, varDensity: 0.3, varYield: 0.3},
	Temp:         {varTemp: 1, varWarmer: 1},
	Level:        {varWater: 1},
	Conductivity: {varSalt: 1},
	Nitrate:      {varNitrate: 1},
	Ammonia:      {varAmmonia: 1},
}

// vector writes the member's variables.
func (m *Member) vector(x *[numVars]float64) {
	p := m.Pond.Growth.Params()
	x[varDensity] = math.Log(math.Max(m.Pond.BiomassG, 1e-9))
	x[varYield], x[varThreshold] = math.Log(p.Yield), math.Log(p.Threshold)
	x[varNight], x[varSigma] = math.Log(p.NightShare), math.Log(p.Sigma)
	x[varSecchi], x[varOD], x[varPHBias] = m.LnSecchi, m.LnOD, m.PHBias
	x[varWarmer], x[varTemp] = m.Pond.WarmerC, m.Pond.Heat.WaterC
	x[varWater] = math.Log(math.Max(m.Pond.WaterKg, 1e-9))
	x[varCarbon] = math.Log(math.Max(m.Pond.Mol[brine.DIC], 1e-12))
	x[varSalt] = 0
	x[varNitrate] = math.Log(math.Max(m.Pond.Mol[brine.NO3], 1e-12))
	x[varAmmonia] = math.Log(math.Max(m.Pond.Mol[brine.Ammonia], 1e-12))
}

// bounds of what a correction may do to a parameter, as a factor on the default
// set [1]: what lies beyond is no strain of this organism.
const paramFactor = 3.0

// set makes the member what x says. Amounts follow the water: a level that was
// read lower says that there is less water, not that there is less salt.
func (m *Member) set(x, was *[numVars]float64) {
	v := &m.Pond
	if x[varDensity] != was[varDensity] {
		v.BiomassG = math.Exp(x[varDensity])
	}
	p := v.Growth.Params()
	d := growth.Default()
	changed := false
	for _, c := range [...]struct {
		i      int
		to     *float64
		normal float64
	}{{varYield, &p.Yield, d.Yield}, {varThreshold, &p.Threshold, d.Threshold}, {varNight, &p.NightShare, d.NightShare}, {varSigma, &p.Sigma, d.Sigma}} {
		if x[c.i] != was[c.i] {
			*c.to = min(max(math.Exp(x[c.i]), c.normal/paramFactor), c.normal*paramFactor)
			changed = true
		}
	}
	if changed {
		v.Growth = growth.NewModel(p)
	}
	m.LnSecchi, m.LnOD, m.PHBias = x[varSecchi], x[varOD], x[varPHBias]
	v.WarmerC = min(max(x[varWarmer], -12), 12)
	v.Heat.WaterC = min(max(x[varTemp], -1), 60)
	if x[varWater] != was[varWater] {
		f := math.Exp(x[varWater] - was[varWater])
		v.WaterKg *= f
		// The culture was diluted or thickened by what evaporated or rained
		// unseen: dry matter stays, concentration moves.
	}
	if x[varCarbon] != was[varCarbon] {
		v.Mol[brine.DIC] = math.Exp(x[varCarbon])
	}
	if x[varSalt] != 0 {
		f := math.Exp(x[varSalt])
		for k := range v.Mol {
			v.Mol[k] *= f
		}
	}
	if x[varNitrate] != was[varNitrate] {
		// Nitrate came with sodium or potassium: the alkalinity stays.
		no3 := math.Exp(x[varNitrate])
		v.Mol[brine.Na] += no3 - v.Mol[brine.NO3]
		v.Mol[brine.NO3] = no3
	}
	if x[varAmmonia] != was[varAmmonia] {
		v.Mol[brine.Ammonia] = math.Exp(x[varAmmonia])
	}
}

// Expect returns what the member would read, on the scale of the kind. NaN says
// that it cannot read that.
func (m *Member) Expect(k Kind, solver *brine.Solver) float64 {
	v := &m.Pond
	switch k {
	case Secchi:
		return m.LnSecchi - math.Log(v.DensityGL())
	case OD:
		return math.Log(v.DensityGL()) - m.LnOD
	case DryWeight:
		return math.Log(v.DensityGL())
	case Temp:
		return v.Heat.WaterC
	case Level:
		return v.Shape.LevelM(v.VolumeL()) * 100
	}
	t := v.Molality()
	switch k {
	case Nitrate:
		return math.Log(t[brine.NO3] * 1000)
	case Ammonia:
		return math.Log(t[brine.Ammonia] * 1000)
	}
	var w brine.Water
	if v.WaterKg <= 0 || solver.Solve(&t, v.Heat.WaterC, &w) != nil {
		return math.NaN()
	}
	if k == PH {
		return w.PH + m.PHBias
	}
	return math.Log(brine.ConductivityMSCm25(&w))
}
