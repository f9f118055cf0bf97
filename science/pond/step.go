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
	HeaterW  float64 // heat given by a heater [W]

	calciumInCells float64 // calcium held by the biomass [mol]
	oxygenRate     float64 // oxygen given off in the last step [mol/g/d]
	litresPerKg    float64 // volume of medium per kilogram of its water [L/kg]
	stepsToPack    int
	solver         *brine.Solver
	water          brine.Water
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
	v.calciumInCells = v.BiomassG * v.cells().Ca
	v.pack()
}

// Use gives the vessel a solver to work with. Vessels that run at once need one
// each; those that run one after the other may share one.
func (v *Vessel) Use(s *brine.Solver) { v.solver = s }

// Settle forgets what chemistry was kept warm, so that a run that begins here
// and one that came through here go on alike, to the last bit.
func (v *Vessel) Settle() {
	v.water.Forget()
	v.pack()
}

func (v *Vessel) cells() growth.Composition { return v.Growth.Params().Composition }

// pack renews the volume that a kilogram of water takes with its salts.
func (v *Vessel) pack() {
	v.stepsToPack = 12
	if v.WaterKg <= 0 {
		v.litresPerKg = 1
		return
	}
	t := v.Molality()
	if v.solver.SolveWarm(&t, v.Heat.WaterC, &v.water) != nil {
		v.litresPerKg = 1 / brine.PureWaterDensityKgL(v.Heat.WaterC)
		return
	}
	v.litresPerKg = brine.LitresPerKgWater(&v.water, v.Heat.WaterC)
}

// VolumeL returns the volume of the culture [L].
func (v *Vessel) VolumeL() float64 { return v.WaterKg * v.litresPerKg }

// DensityGL returns the dry matter [g/L], 0 for an empty vessel.
func (v *Vessel) DensityGL() float64 {
	if volume := v.VolumeL(); volume > 0 {
		return v.BiomassG / volume
	}
	return 0
}

// Step carries the vessel over dtS [s] under the outside o, which is that of the
// middle of the step. What each law moves is booked in led, if it is not nil;
// what there is to see is left in seen. The order within a step is: chemistry
// as it stands; heat to the middle; light and growth; urea, gases; water.
func (v *Vessel) Step(o *air.Outside, dtS float64, led *Ledger, seen *Seen) {
	*seen = Seen{}
	if v.WaterKg < emptyKg {
		v.dry(o, dtS, led)
		return
	}
	if v.stepsToPack--; v.stepsToPack < 0 {
		v.pack()
	}
	outside := *o
	outside.AirC += v.WarmerC
	volume := v.VolumeL()
	level := v.Shape.LevelM(volume)
	surface := v.Shape.SurfaceM2(level)
	t := v.Molality()

	// Water chemistry. A water that cannot be solved keeps the last answer: the
	// step must go on, and the next one will tell.
	if err := v.solver.SolveWarm(&t, v.Heat.WaterC, &v.water); err != nil && v.water.PH == 0 {
		v.water.PH = 7
	}
	w := &v.water
	seen.PH, seen.VolumeL, seen.LevelM, seen.DensityGL = w.PH, volume, level, v.BiomassG/volume
	perMM := 1000 / v.litresPerKg // mol/kg water to mmol/L
	seen.FreeNH3MM, seen.HCO3MM = w.Species[brine.SpNH3]*perMM, w.Species[brine.SpHCO3]*perMM

	// Heat and evaporation.
	before := v.Heat.WaterC
	body := vessel.NewBody(v.Shape, level, v.WaterKg, w.WaterActivity)
	body.HeaterW = v.HeaterW
	body.FloorGlint = v.glint(level)
	// A vessel with a neck breathes through the neck.
	body.SurfaceM2 = min(body.SurfaceM2, v.Shape.SurfaceM2(v.Shape.RimM()))
	seen.Heat = v.Setting.Step(&v.Heat, &outside, &body, dtS)
	midC := 0.5 * (before + v.Heat.WaterC)

	v.grow(&outside, &t, midC, volume, level, surface, dtS, led, seen)
	v.split(dtS, led)
	v.breathe(&outside, midC, surface, dtS, led)

	// Water to the air, from the sky, over the rim and through the liner. The
	// heat of all that is in the temperature already.
	gone := min(seen.Heat.EvaporatedKg-seen.Heat.CondensedKg, 0.9*v.WaterKg)
	v.WaterKg += seen.Heat.RainKg - gone
	if led != nil {
		led[Evaporated].WaterKg -= gone
		led[Rained].WaterKg += seen.Heat.RainKg
	}
	if v.Stir.LeakLPerD > 0 {
		v.take(v.Stir.LeakLPerD*dtS/daySeconds/v.VolumeL(), led, Leaked)
	}
	if over := v.VolumeL() - v.Shape.CapacityL(); over > 0 {
		v.take(over/v.VolumeL(), led, Overflowed)
		seen.OverL = over
	}
	if final := v.VolumeL(); final > 0 {
		seen.VolumeL, seen.LevelM, seen.DensityGL = final, v.Shape.LevelM(final), v.BiomassG/final
	}
}

// grow is light, growth and what it takes out of the water.
func (v *Vessel) grow(o *air.Outside, t *brine.Totals, midC, volume, level, surface, dtS float64, led *Ledger, seen *Seen) {
	if v.BiomassG <= 0 {
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

	perMM := 1000 / v.litresPerKg
	food := growth.Nutrients{
		NMM: (t[brine.NO3] + t[brine.NO2] + t[brine.Ammonia]) * perMM,
		PMM: t[brine.PO4] * perMM, KMM: t[brine.K] * perMM, MgMM: t[brine.Mg] * perMM,
		SMM: t[brine.SO4] * perMM, FeMM: t[brine.Iron] * perMM,
	}
	env := growth.Env{TempC: midC, HCO3mM: seen.HCO3MM, FreeNH3mM: seen.FreeNH3MM, Mixed: v.Stir.Mixed}
	env.Nutrient, seen.Shortest = v.Growth.Nutrient(&food)
	env.CarbonateGL, env.ChlorideGL, env.SulfateGL = growth.SaltsByAnion(t[brine.DIC]*perMM, t[brine.Cl]*perMM, t[brine.SO4]*perMM)
	seen.OxygenMgL, env.OxygenMgL = v.oxygen(o, &light, &env, midC, surface)

	s := growth.State{DensityGL: v.BiomassG / volume, Damage: v.Damage, NightQ: v.NightQ}
	seen.Rates = v.Growth.Step(&s, &light, &env, dtS/daySeconds)
	v.Damage, v.NightQ = s.Damage, s.NightQ
	gain := v.BiomassG * math.Expm1(seen.Rates.Net*dtS/daySeconds)
	if gain > 0 {
		allowed := v.allowed(gain)
		seen.CutG = gain - allowed
		gain = allowed
	}
	v.exchange(gain, led)
	v.oxygenRate = seen.Rates.OxygenMolPerGDay
}
