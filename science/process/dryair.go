package process

import (
	"fmt"
	"math"

	"sodalake/science/air"
)

// Dryer is the air of a dryer: outside air that is warmed and drawn over the
// trays.
type Dryer struct {
	OutsideC     float64 // temperature outside [°C]
	OutsideRHPct float64 // relative humidity outside [%]
	DryingC      float64 // temperature over the trays [°C]
	PressureKPa  float64 // station pressure [kPa]
	PickUp       float64 // share of what the air could take that it does take [1]
}

// PickUp is the share of what air could take that it takes on its way over trays
// [1], from 0.3 to 0.8: judgement, no source.
const PickUp = 0.5

// Drawn is what a dryer's air can do.
type Drawn struct {
	RatioIn       float64 // water in the air [kg/kg dry air]
	RatioOut      float64 // water in it if it left saturated [kg/kg dry air]
	RHPct         float64 // relative humidity over the trays, coming in [%]
	WetBulbC      float64 // and wet bulb: what a wet strand has [°C]
	AirPerWater   float64 // dry air for a mass of water, at the pick-up [kg/kg]
	HeatPerWaterJ float64 // heat to warm that air, for a mass of water [J/kg]
	LatentJ       float64 // heat that evaporates a mass of water at the wet bulb [J/kg]
	MoistureLow   float64 // least water in the product that this air leaves, by the cautious isotherm [1]
	MoistureHigh  float64 // and by the lenient [1]
}

// Draw returns what the air of a dryer can do. Each kilogram that comes in can
// leave with its water raised to that of saturation at its wet bulb:
//
//	air/water = 1/(p (W_s(T*) − W)),  heat/water = air/water · c_p (T − T₀)
//
// and the driest that a product gets is what stands with the relative humidity
// over the trays, by the band s.
//
// Source: ashrae2017, eq. 33 (wet bulb) and 30 (heat); adiabatic saturation as
// in ch. 1.
func (d Dryer) Draw(s Sorption) (Drawn, error) {
	switch {
	case !(d.OutsideC >= -30 && d.OutsideC <= 60):
		return Drawn{}, bad("outside_c", "", fmt.Sprintf("outside_c %g lies outside −30 to 60", d.OutsideC))
	case !(d.OutsideRHPct >= 0 && d.OutsideRHPct <= 100):
		return Drawn{}, bad("outside_rh_pct", "", fmt.Sprintf("outside_rh_pct %g lies outside 0 to 100", d.OutsideRHPct))
	case !(d.DryingC >= d.OutsideC && d.DryingC <= 90):
		return Drawn{}, bad("drying_c", "the air is warmed, not cooled", fmt.Sprintf("drying_c %g does not lie between the air outside and 90", d.DryingC))
	case !(d.PressureKPa >= 40 && d.PressureKPa <= 110):
		return Drawn{}, bad("pressure_kpa", "", fmt.Sprintf("pressure_kpa %g lies outside 40 to 110", d.PressureKPa))
	case !(d.PickUp > 0 && d.PickUp <= 1):
		return Drawn{}, bad("pick_up", "", fmt.Sprintf("pick_up %g does not lie between 0 and 1", d.PickUp))
	}
	e := air.VapourFromRH(d.OutsideRHPct, d.OutsideC)
	out := Drawn{RatioIn: air.HumidityRatio(e, d.PressureKPa), RHPct: air.RelativeHumidity(e, d.DryingC)}
	out.WetBulbC = air.WetBulb(d.DryingC, e, d.PressureKPa)
	out.RatioOut = air.HumidityRatio(air.Saturation(out.WetBulbC), d.PressureKPa)
	out.AirPerWater = 1 / (d.PickUp * (out.RatioOut - out.RatioIn))
	if !(out.RatioOut-out.RatioIn > 1e-9) {
		out.AirPerWater = math.Inf(1)
	}
	out.HeatPerWaterJ = out.AirPerWater * air.HeatCapacity(out.RatioIn) * (d.DryingC - d.OutsideC)
	if math.IsInf(out.AirPerWater, 1) {
		out.HeatPerWaterJ = math.Inf(1)
	}
	out.LatentJ = air.LatentHeat(out.WetBulbC)
	out.MoistureLow, out.MoistureHigh = s.Moistures(out.RHPct / 100)
	return out, nil
}

// AirTimeS returns how long the air needs to carry a mass of water away [s],
// where waterKg is that water [kg] and flowM3H the flow of air over the trays
// [m³/h]. It is the least time; near the end the paste gives its water more
// slowly than the air could take it.
//
// Special case: +Inf without flow or where the air takes nothing; NaN for
// negative values.
func (d Dryer) AirTimeS(drawn Drawn, waterKg, flowM3H float64) float64 {
	if !(waterKg >= 0 && flowM3H >= 0) {
		return math.NaN()
	}
	if waterKg == 0 {
		return 0
	}
	e := air.VapourFromRatio(drawn.RatioIn, d.PressureKPa)
	dryKgPerM3 := 1 / air.Volume(d.DryingC, e, d.PressureKPa)
	return 3600 * waterKg * drawn.AirPerWater / (flowM3H * dryKgPerM3)
}
