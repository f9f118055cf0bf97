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

// Stir is how a vessel is moved.
type Stir struct {
	Mixed     float64 // share of the culture that takes part in the mixing [1]
	PistonMH  float64 // gas transfer velocity for a slow gas, k600 [m/h]
	LeakLPerD float64 // through the liner at the full level [L/d]
}

// Vessel is one vessel with its laws, ready to step. It is a value without
// hidden sharing but for the geometry, which never changes: copying it copies
// the member of an ensemble.
type Vessel struct {
	State
	Shape   *vessel.Geometry
	Setting vessel.Setting
	Growth  growth.Model
	Stir    Stir
	Side    bool               // lit through the wall
	Rain    bool               // rain falls in
	TapC    float64            // temperature of top-up water, NaN: that of the air [°C]
	Air     float64            // carbon dioxide of the air above [ppm of 1 atm]
	HotC    float64            // added to the outside air: what the place is warmer than the weather [°C]
	Cells   growth.Composition // what a gram of new cells takes [mol/g]

	calciumInCells float64 // calcium held by the biomass [mol]
	litresPerKg    float64 // volume of medium per kilogram of its water [L/kg]
	solver         *brine.Solver
	water          brine.Water
	sincePack      int
}

// Seen is what a step leaves to look at.
type Seen struct {
	PH        float64 // at the water's temperature [1]
	LevelM    float64 // [m]
	VolumeL   float64 // [L]
	DensityGL float64 // dry matter [g/L]
	PAR       float64 // photons that reach the surface or the wall [µmol/m²/s]
	OxygenMgL float64 // [mg/L]
	FreeNH3   float64 // free ammonia [mM]
	Shortest  growth.Nutrient
	FNutrient float64 // share of the rate that nutrients allow [1]
	Rates     growth.Rates
	Heat      vessel.Exchange
	Cut       float64 // dry matter not grown because a pool ran out [g]
}
