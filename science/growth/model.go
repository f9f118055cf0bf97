package growth

import "math"

// Model is a parameter set made ready to step. It is small, holds no pointer
// and is never changed after NewModel, so it may be copied and shared.
type Model struct {
	p Params

	curve0, curve1 float64 // denominator of the temperature curve, curve0 + curve1·T
	muSat          float64 // gross rate at TOpt in saturating light [1/d]
	sigmaM         float64 // attenuation per density [1/m per g/L]
	ammoniaScale   float64 // 1/(half − onset) [1/mM]
	oxygenPerGain  float64 // oxygen per dry matter gained [mol/g]
	lnNightRatio   float64 // ln rho [1]

	perHalf [Iron]float64 // 1/K of the nutrients in their order [1/mM]
}

// NewModel returns the model of a parameter set that Validate accepts. With
// one that it does not the model returns NaN or nonsense, but does not panic.
func NewModel(p Params) Model {
	a, b := p.TOpt-p.TMin, p.TOpt-p.TMax
	return Model{
		p:             p,
		curve0:        a * (-a*p.TOpt - b*(p.TOpt+p.TMin)),
		curve1:        a * (a + 2*b),
		muSat:         p.MuSat(),
		sigmaM:        1000 * p.Sigma,
		ammoniaScale:  1 / (p.AmmoniaHalf - p.AmmoniaOnset),
		oxygenPerGain: p.Quotient * p.Composition.C,
		lnNightRatio:  math.Log(p.NightRatio),
		perHalf:       [Iron]float64{per(p.HalfN), per(p.HalfP), per(p.HalfK), per(p.HalfMg), per(p.HalfS), per(p.HalfFe)},
	}
}

// per returns 1/half, where nothing is as good as next to nothing [1/mM].
func per(half float64) float64 { return 1 / max(half, 1e-12) }

// Params returns the parameter set the model was made from.
func (m *Model) Params() Params { return m.p }

// Composition returns that of the parameter set.
func (m *Model) Composition() Composition { return m.p.Composition }

// State is what a culture carries from step to step. On dilution and harvest
// Damage and NightQ stay as they are, because both are per unit of biomass.
type State struct {
	DensityGL float64 // dry matter [g/L]
	Damage    float64 // share of the photosystems out of work, 0–1 [1]
	NightQ    float64 // gain of the day still to be burnt at night, per biomass [1]
}

// Light is what falls on the culture at the middle of the step.
type Light struct {
	Beam      float64 // direct photons just above the surface, on the horizontal; side-lit: that the wall lets in [µmol/m²/s]
	Diffuse   float64 // diffuse photons just above the surface; side-lit: that the wall lets in [µmol/m²/s]
	CosZenith float64 // cosine of the sun's zenith angle [1]
	PathM     float64 // depth of the water; side-lit: volume over lit wall area [m]
	Side      bool    // lit through the wall: all light is taken as diffuse
}

// Env is the water at the middle of the step. Nothing in it has a harmless
// zero: start from Plain.
type Env struct {
	TempC       float64 // temperature [°C]
	HCO3mM      float64 // free bicarbonate [mM]
	FreeNH3mM   float64 // free ammonia [mM]
	OxygenMgL   float64 // dissolved oxygen [mg/L]
	CarbonateGL float64 // sodium salts of (bi)carbonate [g/L]
	ChlorideGL  float64 // sodium salts of chloride [g/L]
	SulfateGL   float64 // sodium salts of sulfate [g/L]
	Nutrient    float64 // Liebig's minimum of the other nutrients, 0–1 [1]
	Mixed       float64 // share of the culture that is kept stirred, 0–1 [1]
}

// Plain returns stirred water at tempC [°C] that limits nothing but by its
// temperature.
func Plain(tempC float64) Env {
	return Env{TempC: tempC, HCO3mM: math.Inf(1), Nutrient: 1, Mixed: 1}
}

// Rates are the means of one step. Density after the step is exactly the
// density before it times exp(Net·dt).
type Rates struct {
	Gross       float64 // photosynthesis [1/d]
	Maintenance float64 // maintenance loss [1/d]
	Night       float64 // the day's share burnt in the dark [1/d]
	Bleach      float64 // filaments lost to bleaching [1/d]
	Heat        float64 // HeatDeath [1/d]
	Net         float64 // Gross − Maintenance − Night − Bleach − Heat [1/d]

	LightShare float64 // depth mean of the light response, of its saturation [1]
	FTemp      float64 // Temperature [1]
	FCarbon    float64 // Carbon [1]
	FAmmonia   float64 // Ammonia [1]
	FOxygen    float64 // Oxygen [1]
	FSalt      float64 // Salt [1]
	FNutrient  float64 // Env.Nutrient, clipped to 0–1 [1]
	Damage     float64 // mean share of damaged photosystems [1]

	MeanLight        float64 // depth mean of the light in the culture [µmol/m²/s]
	OxygenMolPerGDay float64 // oxygen given off less oxygen burnt, per dry matter [mol/g/d]
}
