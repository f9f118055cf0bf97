package twin

import (
	"math"
	"math/rand/v2"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
)

// Spreads of what is not told by the growth parameters, before any reading:
// standard deviations, of the logarithm where the name begins with ln.
// Judgement, no source, but for the disc and the optical density, which have
// theirs in package growth.
const (
	warmerSD   = 1.2  // what the place is warmer than the weather [°C]
	lnWindSD   = 0.25 // wind over the water
	lnPistonSD = 0.4  // gas transfer velocity
	lnUreaSD   = 0.5  // rate at which urea splits
	phBiasSD   = 0.08 // a cheap meter in sodium brine
	lnScaleSD  = 0.10 // area from what was measured of the shape
	lnWaterSD  = 0.02 // volume of what is poured
	lnSaltSD   = 0.03 // what was weighed in
	lnCarbonSD = 0.02 // carbon, beside the salts as a whole
	GivenSD    = 0.15 // a density that a grower told with a culture
	UnknownSD  = 0.5  // a culture of which no density was told
)

// UnknownGL is the middle of what an untold culture holds [g/L]: dark enough
// to be worth pouring in. Common practice, no source.
const UnknownGL = 0.4

// roughSD is warmerSD where the climate itself is a guess [°C].
const roughSD = 3.5

// Config says how an ensemble is drawn.
type Config struct {
	Members int    // how many
	Draws   int    // how many weathers they live under
	Seed    uint64 // decides all that is random
	Rough   bool   // the climate is guessed: warmth is unsure
	Secchi  *Curve // the grower's own disc; nil: the default constant
	OD      *Curve // the grower's own optical density; nil: the default
}

// newMember draws one possible vessel around a model.
func newMember(base *pond.Vessel, c *Config, id uint64) Member {
	m := Member{Pond: *base, Draw: int(id) % max(c.Draws, 1)}
	m.rng.Seed(c.Seed, id)
	warmerSD := warmerSD
	if c.Rough {
		warmerSD = roughSD
	}
	rng := rand.New(&m.rng)
	n := rng.NormFloat64
	v := &m.Pond
	v.Growth = growth.NewModel(growth.Draw(rng, base.Growth.Params()))
	v.WarmerC += warmerSD * n()
	v.Setting.WindFactor *= math.Exp(lnWindSD * n())
	v.Stir.PistonMH *= math.Exp(lnPistonSD * n())
	v.UreaPerD *= math.Exp(lnUreaSD * n())
	m.LnScale = lnScaleSD * n()
	m.disc = math.Log(growth.SecchiConstant)
	discSD := growth.SecchiConstantSD
	if c.Secchi != nil {
		m.disc, discSD = c.Secchi.LnConstant, c.Secchi.SD
	}
	m.LnSecchi = m.disc + discSD*n()
	m.LnOD = math.Log(growth.ODPerUnit) + growth.ODPerUnitSD*n()
	if c.OD != nil {
		m.LnOD = c.OD.LnConstant + c.OD.SD*n()
	}
	m.PHBias = phBiasSD * n()
	return m
}

// Blur spreads a parcel as far as its amounts are unsure: the water by its
// measure, the salts by the weighing, the dry matter by lnDensitySD [1].
func (m *Member) Blur(p *pond.Parcel, lnDensitySD float64) {
	rng := rand.New(&m.rng)
	n := rng.NormFloat64
	p.WaterKg *= math.Exp(lnWaterSD * n())
	salt := math.Exp(lnSaltSD * n())
	for k := range p.Mol {
		p.Mol[k] *= salt
	}
	p.Mol[brine.DIC] *= math.Exp(lnCarbonSD * n())
	p.BiomassG *= math.Exp(lnDensitySD * n())
}

// Measured returns an amount as this member takes it to have been, in the unit
// it was measured in: amount [any], with lnSD the standard deviation of its
// logarithm [1].
func (m *Member) Measured(amount, lnSD float64) float64 {
	return amount * math.Exp(lnSD*rand.New(&m.rng).NormFloat64())
}

// Noise of the model over a day: what the laws leave out, standard deviations
// for one day, growing with the root of time. Judgement, tuned on synthetic
// ponds that are not those of the proof.
const (
	lnDensityDay = 0.025 // dry matter
	lnYieldDay   = 0.04  // yield factor, drifting
	lnYieldBack  = 0.02  // share by which the drift returns to the strain's own a day
	warmerDay    = 0.15  // what the place is warmer
	lnWaterDay   = 0.003 // water: splashes, a hose, a wet cloth
	lnCarbonDay  = 0.003 // carbon
	phBiasDay    = 0.01  // drift of the meter
	lnSecchiDay  = 0.015 // the disc's constant: filaments, pigment, the light
	lnSecchiBack = 0.004 // share by which it returns to the middle it was drawn about a day: with that drift its spread stays as drawn
)

// unrest is by how much the noise of a day is raised where readings have lately
// lain further from what was expected than the spread allows [1]: the laws leave
// out more of this vessel than of others.
type unrest struct {
	growth float64 // of dry matter and yield
	carbon float64
	warmth float64
	water  float64
}

// calm is the noise as it stands.
var calm = unrest{1, 1, 1, 1}

// stir adds the noise of days [d] to the member.
func (m *Member) stir(days float64, by *unrest) {
	if days <= 0 {
		return
	}
	rng := rand.New(&m.rng)
	root := math.Sqrt(days)
	n := func(sd float64) float64 { return sd * root * rng.NormFloat64() }
	v := &m.Pond
	v.BiomassG *= math.Exp(n(lnDensityDay * by.growth))
	p := v.Growth.Params()
	back := math.Log(growth.Default().Yield/p.Yield) * lnYieldBack * days
	p.Yield *= math.Exp(n(lnYieldDay*by.growth) + back)
	v.Growth = growth.NewModel(p)
	v.WarmerC += n(warmerDay * by.warmth)
	v.WaterKg *= math.Exp(n(lnWaterDay * by.water))
	v.Mol[brine.DIC] *= math.Exp(n(lnCarbonDay * by.carbon))
	m.PHBias += n(phBiasDay)
	m.LnSecchi += n(lnSecchiDay) - lnSecchiBack*days*(m.LnSecchi-m.disc)
}
