package pond

import (
	"math"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/vessel"
)

// StepS is the step of the model [s]. Five minutes and one minute agree with
// it within the tolerances of the tests.
const StepS = 600.0

// emptyKg is the water under which a vessel counts as empty [kg]: a wet floor
// has no culture worth following, and no heat capacity to step with.
const emptyKg = 0.05

// daySeconds is the length of a day [s].
const daySeconds = 86400.0

// Stir is how a vessel is moved and how tight it is.
type Stir struct {
	Mixed     float64 // share of the culture that takes part in the mixing [1]
	PistonMH  float64 // gas transfer velocity of a slow gas at 20 °C, k600 [m/h]
	LeakLPerD float64 // through the liner [L/d]
}

// Vessel is one vessel with its laws, ready to step. Copying it copies the
// member of an ensemble; the solver, which only lends its working space, is
// shared until Use gives another.
type Vessel struct {
	State
	Shape    *vessel.Geometry
	Setting  vessel.Setting
	Growth   growth.Model
	Stir     Stir
	Side     bool    // lit through the wall
	TapC     float64 // temperature of top-up water; NaN: that of the vessel [°C]
	AirPPM   float64 // carbon dioxide of the air above [ppm of 1 atm]
	WarmerC  float64 // what the place is warmer than the weather tells [°C]
	UreaPerD float64 // rate at which urea splits [1/d]
	HeaterW  float64 // power of a heater; Setting.HeatToC is its thermostat [W]

	calciumInCells float64 // calcium held by the biomass [mol]
	oxygenRate     float64 // oxygen given off in the last step [mol/g/d]

	// Worked out of the above and renewed by Settle.
	litresPerKg float64 // volume of medium per kilogram of its water at packedC [L/kg]
	packedC     float64 // [°C]
	dilates     float64 // its growth with temperature [1/K]
	stepsToPack int
	chalkPerS   float64 // share of the dissolved calcium that falls out [1/s], of the floor's that dissolves if below 0
	volumeL     float64 // a volume [L]
	levelM      float64 // and the level it stands at [m]
	oxygenSat   saturation
	solver      *brine.Solver
	water       brine.Near
}

// Seen is what a step leaves to look at.
type Seen struct {
	PH        float64 // at the water's temperature [1]
	LevelM    float64 // depth at the lowest point [m]
	VolumeL   float64 // [L]
	DensityGL float64 // dry matter [g/L]
	PAR       float64 // photons that reach the surface or the wall [µmol/m²/s]
	OxygenMgL float64 // dissolved oxygen [mg/L]
	FreeNH3MM float64 // free ammonia [mM]
	HCO3MM    float64 // free bicarbonate [mM]
	Shortest  growth.Nutrient
	Rates     growth.Rates
	Heat      vessel.Exchange
	CutG      float64 // dry matter not grown because a pool ran out [g]
	OverL     float64 // culture lost over the rim [L]
}

// Start makes a vessel ready: it needs Shape, Setting and Growth, and a State
// with its water; the rest has defaults where it is zero.
func (v *Vessel) Start() {
	if v.solver == nil {
		v.solver = brine.New(brine.Pitzer)
	}
	if v.AirPPM == 0 {
		v.AirPPM = 420 // near the present air, common practice, no source
	}
	if v.UreaPerD == 0 {
		v.UreaPerD = growth.UreaRate[1]
	}
	if v.Stir.PistonMH == 0 {
		v.Stir.PistonMH = 0.03 // between 1.5 and 6 cm/h; in soda water it hardly matters
	}
	v.calciumInCells = v.BiomassG * v.Growth.Composition().Ca
	v.Settle()
}

// Use gives the vessel a solver to work with. Vessels that run at once need one
// each; those that run one after the other may share one.
func (v *Vessel) Use(s *brine.Solver) { v.solver = s }

// Settle works out anew what is kept from step to step, so that a run that
// begins here and one that came through here go on alike, to the last bit.
func (v *Vessel) Settle() {
	v.water.Forget()
	v.oxygenSat = saturation{}
	v.volumeL = math.NaN()
	v.pack()
}

// VolumeL returns the volume of the culture [L].
func (v *Vessel) VolumeL() float64 {
	return v.WaterKg * v.litresPerKg * (1 + v.dilates*(v.Heat.WaterC-v.packedC))
}

// DensityGL returns the dry matter [g/L], 0 for an empty vessel.
func (v *Vessel) DensityGL() float64 {
	if volume := v.VolumeL(); volume > 0 {
		return v.BiomassG / volume
	}
	return 0
}

// level returns the depth of a volume [m], which is mostly that of the step
// before.
func (v *Vessel) level(volume float64) float64 {
	if !(math.Abs(volume-v.volumeL) <= 1e-12*volume) { // or no number
		v.volumeL, v.levelM = volume, v.Shape.LevelM(volume)
	}
	return v.levelM
}

// Step carries the vessel over dtS [s], ten minutes or less, under the outside
// o, which is that of the middle of the step. What each law moves is booked in
// led, if it is not nil; what there is to see is left in seen. The order within
// a step is: chemistry as it stands; heat to the middle; light and growth; urea,
// gases, chalk; water.
func (v *Vessel) Step(o *air.Outside, dtS float64, led *Ledger, seen *Seen) {
	*seen = Seen{}
	if v.WarmerC != 0 {
		warmer := *o
		warmer.AirC += v.WarmerC
		o = &warmer
	}
	if v.WaterKg < emptyKg {
		v.dry(o, dtS, led)
		return
	}
	v.chemistry()
	volume := v.VolumeL()
	level := v.level(volume)
	w := &v.water.Water
	perMM := 1000 * v.WaterKg / volume // mol/kg water to mmol/L
	seen.PH = w.PH
	seen.FreeNH3MM, seen.HCO3MM = w.Species[brine.SpNH3]*perMM, w.Species[brine.SpHCO3]*perMM

	// Heat and evaporation.
	before := v.Heat.WaterC
	body := vessel.NewBody(v.Shape, level, v.WaterKg, w.WaterActivity)
	surface := body.SurfaceM2
	body.SurfaceM2 = min(surface, body.CatchM2) // a vessel with a neck breathes through the neck
	body.FloorGlint = v.glint(volume, level, o)
	if before < 0 {
		body.HeatCapacityJK = icy(v.WaterKg, before)
	}
	body.HeaterW = v.heater(body.HeatCapacityJK, dtS)
	seen.Heat = v.Setting.Step(&v.Heat, o, &body, dtS)
	e := &seen.Heat
	if led != nil {
		joule := e.SolarJ + e.LongwaveJ + e.SensibleJ + e.LatentJ + e.WallJ + e.SoilJ + e.HeaterJ + e.RainJ
		led[Warmed].HeatJ += joule * v.WaterKg * vessel.WaterJKgK / e.CapacityJK
	}
	midC := 0.5 * (before + v.Heat.WaterC)

	v.grow(o, midC, volume, level, surface, dtS, led, seen)
	v.split(dtS, led)
	v.breathe(o, midC, body.SurfaceM2, dtS, led)
	v.chalk(dtS, led)
	v.flow(e, dtS, led, seen)
}

// flow is water to the air, from the sky, through the liner and over the rim.
// The heat of vaporisation and of cold rain is in the temperature already.
func (v *Vessel) flow(e *vessel.Exchange, dtS float64, led *Ledger, seen *Seen) {
	gone := min(e.EvaporatedKg-e.CondensedKg, 0.9*v.WaterKg)
	v.WaterKg += e.RainKg - gone
	if led != nil {
		perKg := vessel.WaterJKgK * v.Heat.WaterC
		led[Evaporated].WaterKg -= gone
		led[Evaporated].HeatJ -= gone * perKg
		led[Rained].WaterKg += e.RainKg
		led[Rained].HeatJ += e.RainKg * perKg
	}
	volume := v.VolumeL()
	if v.Stir.LeakLPerD > 0 && volume > 0 {
		v.take(v.Stir.LeakLPerD*dtS/daySeconds/volume, led, Leaked)
		volume = v.VolumeL()
	}
	if over := volume - v.Shape.CapacityL(); over > 0 {
		v.take(over/volume, led, Overflowed)
		seen.OverL = over
		volume = v.VolumeL()
	}
	if volume > 0 {
		seen.VolumeL, seen.LevelM, seen.DensityGL = volume, v.level(volume), v.BiomassG/volume
	}
}

// grow is light, growth and what it takes out of the water.
func (v *Vessel) grow(o *air.Outside, midC, volume, level, surface, dtS float64, led *Ledger, seen *Seen) {
	if v.BiomassG <= 0 {
		v.oxygenRate = 0
		return
	}
	light := growth.Light{CosZenith: o.CosZenith, Side: v.Side}
	if v.Side {
		light.Diffuse = v.Setting.SideLight(o)
		light.PathM = volume / 1000 / max(v.Shape.LitWallM2(level), 1e-6)
	} else {
		light.Beam, light.Diffuse = v.Setting.Light(o)
		light.PathM = volume / 1000 / max(surface, 1e-6)
	}
	seen.PAR = light.Beam + light.Diffuse

	perL := 1000 / volume // mol to mmol/L
	food := growth.Nutrients{
		NMM: (v.Mol[brine.NO3] + v.Mol[brine.NO2] + v.Mol[brine.Ammonia]) * perL,
		PMM: v.Mol[brine.PO4] * perL, KMM: v.Mol[brine.K] * perL, MgMM: v.Mol[brine.Mg] * perL,
		SMM: v.Mol[brine.SO4] * perL, FeMM: v.Mol[brine.Iron] * perL,
	}
	env := growth.Env{TempC: midC, HCO3mM: seen.HCO3MM, FreeNH3mM: seen.FreeNH3MM, Mixed: v.Stir.Mixed}
	env.Nutrient, seen.Shortest = v.Growth.Nutrient(&food)
	env.CarbonateGL, env.ChlorideGL, env.SulfateGL = growth.SaltsByAnion(v.Mol[brine.DIC]*perL, v.Mol[brine.Cl]*perL, v.Mol[brine.SO4]*perL)
	saturated := v.saturated(midC, o.PressureKPa, env.CarbonateGL+env.ChlorideGL+env.SulfateGL)
	seen.OxygenMgL = saturated
	if seen.PAR > 0 && v.oxygenRate > 0 {
		seen.OxygenMgL, env.OxygenMgL = v.oxygen(saturated, surface)
	}

	s := growth.State{DensityGL: v.BiomassG / volume, Damage: v.Damage, NightQ: v.NightQ}
	seen.Rates = v.Growth.Step(&s, &light, &env, dtS/daySeconds)
	v.Damage, v.NightQ = s.Damage, s.NightQ
	v.oxygenRate = seen.Rates.OxygenMolPerGDay
	gain := v.BiomassG * grown(seen.Rates.Net*dtS/daySeconds)
	if gain > 0 {
		allowed := v.allowed(gain)
		seen.CutG = gain - allowed
		gain = allowed
	}
	v.exchange(gain, led)
}

// grown returns e^x − 1, by its series for the small x of a step.
func grown(x float64) float64 {
	if math.Abs(x) < 0.02 {
		return x * (1 + x*(1.0/2+x*(1.0/6+x*(1.0/24+x*(1.0/120)))))
	}
	return math.Expm1(x)
}
