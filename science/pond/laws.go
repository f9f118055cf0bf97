package pond

import (
	"math"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/vessel"
)

// Bounds of the temperature at which water is solved [°C]: ice stands at its
// melting point, and what is hotter than any pond is not followed.
const coldestC, hottestC = -2.0, 60.0

// chemistry solves the water as it stands. A water that cannot be solved, a
// crust of salt, keeps its last answer: the step must go on.
func (v *Vessel) chemistry() {
	tempC := min(max(v.Heat.WaterC, coldestC), hottestC)
	t := v.Molality()
	if v.solver.SolveNear(&t, tempC, &v.water) != nil {
		if v.water.PH == 0 {
			v.water.PH, v.water.WaterActivity = 7, 1
		}
		return
	}
	v.stepsToPack--
	if v.water.Fresh() {
		v.seeChalk()
		if v.stepsToPack < 0 || math.Abs(tempC-v.packedC) > 8 {
			v.measure(tempC)
		}
	}
}

// pack solves the water and renews the volume that a kilogram of it takes with
// its salts.
func (v *Vessel) pack() {
	tempC := min(max(v.Heat.WaterC, coldestC), hottestC)
	v.packedC, v.dilates, v.chalkPerS = tempC, 0, 0
	v.litresPerKg = 1 / brine.PureWaterDensityKgL(tempC)
	if v.WaterKg < emptyKg {
		return
	}
	t := v.Molality()
	if v.solver.SolveNear(&t, tempC, &v.water) != nil {
		return
	}
	v.seeChalk()
	v.measure(tempC)
}

// measure renews the volume from a water that is solved.
func (v *Vessel) measure(tempC float64) {
	v.stepsToPack, v.packedC = 72, tempC
	v.litresPerKg = brine.LitresPerKgWater(&v.water.Water, tempC)
	v.dilates = brine.PureWaterDensityKgL(tempC)/brine.PureWaterDensityKgL(tempC+1) - 1
}

// icy returns the heat capacity of water under the freezing point [J/K], where
// waterKg is its mass [kg] and tempC its temperature [°C]: the heat of fusion is
// spread over the first degree, so that −0.3 °C is a pond three tenths frozen.
//
// Source: the apparent heat capacity, a common way; 333.5 kJ/kg, ice half the
// heat capacity of water: crc, from memory.
func icy(waterKg, tempC float64) float64 {
	const fusionJKg = 333500
	if tempC > -1 {
		return waterKg * (vessel.WaterJKgK + fusionJKg)
	}
	return waterKg * vessel.WaterJKgK / 2
}

// heater returns the power of the heater [W] in a step of dtS [s]: no more than
// brings water of a heat capacity capacityJK [J/K] to the thermostat.
func (v *Vessel) heater(capacityJK, dtS float64) float64 {
	if v.HeaterW <= 0 || v.Setting.HeatToC <= 0 {
		return v.HeaterW
	}
	return min(v.HeaterW, max(v.Setting.HeatToC-v.Heat.WaterC, 0)*capacityJK/dtS)
}

// glint returns the share of the sunlight in the water that the floor throws
// back out [1], where volume is the water's [L], level its depth [m]. Only the
// visible half of the light comes down through more than a few centimetres of
// water, and of what comes back up the surface lets six tenths out.
//
// Source: optics of clear water; a class A pan comes to 0.14 in all, the
// albedo that rotstayn2006 takes for it, from memory.
func (v *Vessel) glint(volume, level float64, o *air.Outside) float64 {
	const visible, escapes, cosDiffuse = 0.5, 0.6, 0.84
	if o.BeamWM2+o.DiffuseWM2 <= 0 {
		return 0
	}
	tau := v.Growth.Attenuation(v.BiomassG/volume) * level * (2 / cosDiffuse)
	if tau > 9 {
		return 0
	}
	return v.Setting.FloorAlbedo * visible * escapes * math.Exp(-tau)
}

// wellStirredMH is the transfer velocity of oxygen in the ponds that the growth
// model was fitted to [m/h]. Their oxygen stands in the fit already, so only
// what a vessel has more than such a pond counts as harm.
//
// Source: judgement; 10 cm/h gives some 25 mg/L over saturation at a peak
// output of 2.6 g of oxygen a square metre and hour.
const wellStirredMH = 0.1

// oxygen returns the quasi-steady dissolved oxygen [mg/L] and the one that the
// growth model is to count [mg/L]: its harm over that in a well stirred pond
// of the same output. The output is that of the last step; saturated is the
// oxygen in balance with the air [mg/L], surface the water's [m²].
func (v *Vessel) oxygen(saturated, surface float64) (is, counts float64) {
	const gramsPerMol = 31.998
	gM2H := v.oxygenRate * v.BiomassG * gramsPerMol / 24 / max(surface, 1e-6)
	is = growth.OxygenSteady(saturated, gM2H, v.Stir.PistonMH, growth.OxygenBubbleMgL)
	if v.Stir.PistonMH >= wellStirredMH {
		return is, 0
	}
	fitted := growth.OxygenSteady(saturated, gM2H, wellStirredMH, growth.OxygenBubbleMgL)
	return is, v.Growth.OxygenFor(v.Growth.Oxygen(is) / max(v.Growth.Oxygen(fitted), 0.05))
}

// poolShare is the most of a pool that growth takes in one step [1]: half, so
// that no pool is ever overdrawn.
const poolShare = 0.5

// allowed returns how much of a gain [g] the pools can feed.
func (v *Vessel) allowed(gain float64) float64 {
	c := v.Growth.Composition()
	m := &v.Mol
	most := func(pool, perG float64) {
		if gain*perG > pool*poolShare {
			gain = max(pool, 0) * poolShare / perG
		}
	}
	most(m[brine.DIC], c.C)
	most(m[brine.Ammonia]+m[brine.NO3]+m[brine.NO2], c.N)
	most(m[brine.PO4], c.P)
	most(m[brine.SO4], c.S)
	most(m[brine.K], c.K)
	most(m[brine.Mg], c.Mg)
	most(m[brine.Iron], c.Fe)
	return gain
}

// exchange adds a gain of dry matter [g] to the cells and takes its elements out
// of the water; a loss gives them back. Nitrogen comes from ammonia first, then
// from nitrite and nitrate, and goes back as ammonia. The ions are taken as
// they are, so the alkalinity follows by itself.
func (v *Vessel) exchange(gain float64, led *Ledger) {
	c := v.Growth.Composition()
	move := func(k brine.Total, mol float64) {
		v.Mol[k] += mol
		if led != nil {
			led[Grown].Mol[k] += mol
		}
	}
	move(brine.DIC, -gain*c.C)
	move(brine.PO4, -gain*c.P)
	move(brine.SO4, -gain*c.S)
	move(brine.K, -gain*c.K)
	move(brine.Mg, -gain*c.Mg)
	move(brine.Iron, -gain*c.Fe)
	calcium := 0.0
	if gain <= 0 {
		move(brine.Ammonia, -gain*c.N)
		calcium = v.calciumInCells * max(gain/v.BiomassG, -1)
	} else {
		need := gain * c.N
		for _, pool := range [...]brine.Total{brine.Ammonia, brine.NO2, brine.NO3} {
			// Half at most, as of all pools: so a trace of each stays, and
			// the water's chemistry keeps its species.
			if mol := min(need, v.Mol[pool]*poolShare); mol > 0 {
				move(pool, -mol)
				need -= mol
			}
		}
		// Calcium is taken while there is some; the cells do without.
		calcium = min(gain*c.Ca, v.Mol[brine.Ca]*poolShare)
	}
	move(brine.Ca, -calcium)
	v.calciumInCells += calcium
	v.BiomassG += gain
	if led != nil {
		led[Grown].BiomassG += gain
		led[Grown].CalciumMol += calcium
	}
}

// add adds an amount [mol] to a total and books it.
func (v *Vessel) add(k brine.Total, mol float64, led *Ledger, law Law) {
	v.Mol[k] += mol
	if led != nil {
		led[law].Mol[k] += mol
	}
}

// split turns urea into two ammonia and one carbon.
func (v *Vessel) split(dtS float64, led *Ledger) {
	if v.Mol[brine.Urea] <= 0 {
		return
	}
	mol := growth.UreaHydrolysis(v.Mol[brine.Urea], v.UreaPerD, dtS/daySeconds)
	v.add(brine.Urea, -mol, led, Hydrolysed)
	v.add(brine.Ammonia, 2*mol, led, Hydrolysed)
	v.add(brine.DIC, mol, led, Hydrolysed)
}

// breathe exchanges carbon dioxide with the air above and loses ammonia to it.
func (v *Vessel) breathe(o *air.Outside, midC, surface, dtS float64, led *Ledger) {
	film := filmAt(midC)
	x := film.Exchange(&v.water.Water, brine.Air{
		PCO2Atm: v.AirPPM * 1e-6 * o.PressureKPa / 101.325, WindMS: o.WindMS,
		// The transfer velocity of a slow gas moves some 2 % a kelvin: livansky2006.
		LiquidMS: v.Stir.PistonMH / 3600 * max(1+0.02*(midC-20), 0.5),
	})
	v.add(brine.DIC, max(x.CO2MolM2S*surface*dtS, -0.2*v.Mol[brine.DIC]), led, CarbonToAir)
	if v.Mol[brine.Ammonia] > 0 {
		v.add(brine.Ammonia, -min(x.NH3MolM2S*surface*dtS, 0.2*v.Mol[brine.Ammonia]), led, AmmoniaToAir)
	}
}

// Chalk falls out of water that is this far above saturation (the logarithm)
// [1], of the dissolved calcium so much a day [1/d], less as it nears
// saturation; and what lies there dissolves again as fast. Judgement, no
// source: cultures stand clear above saturation, and clouds take days.
const chalkFrom, chalkPerDay = 0.5, 0.7

// seeChalk works out how fast chalk falls, from a water that is solved.
func (v *Vessel) seeChalk() {
	v.chalkPerS = 0
	if v.Mol[brine.Ca] <= 0 && v.SolidMol <= 0 {
		return
	}
	switch si := v.solver.SaturationIndex(&v.water.Water, brine.Calcite); {
	case si > chalkFrom:
		v.chalkPerS = chalkPerDay / daySeconds * (1 - math.Pow(10, chalkFrom-si))
	case si < 0 && v.SolidMol > 0:
		v.chalkPerS = -chalkPerDay / daySeconds * (1 - math.Pow(10, si))
	}
}

// chalk lets calcium carbonate fall to the floor, or dissolve from it.
func (v *Vessel) chalk(dtS float64, led *Ledger) {
	if v.chalkPerS == 0 {
		return
	}
	var mol float64
	if v.chalkPerS > 0 {
		mol = min(v.chalkPerS*dtS*v.Mol[brine.Ca], 0.5*v.Mol[brine.DIC])
	} else {
		mol = v.chalkPerS * dtS * v.SolidMol
	}
	v.add(brine.Ca, -mol, led, FellOut)
	v.add(brine.DIC, -mol, led, FellOut)
	v.SolidMol += mol
	if led != nil {
		led[FellOut].SolidMol += mol
	}
}

// dry is a step of an empty vessel: it takes the temperature of the air and
// gathers the rain that its setting lets in.
func (v *Vessel) dry(o *air.Outside, dtS float64, led *Ledger) {
	airC := o.AirC
	if v.Setting.Indoors {
		airC = v.Setting.RoomC
	}
	if led != nil {
		led[Warmed].HeatJ += v.WaterKg * vessel.WaterJKgK * (airC - v.Heat.WaterC)
	}
	v.Heat.WaterC = airC
	if v.Setting.Indoors || v.Setting.Cover != vessel.None || !(o.RainMMPerH > 0) {
		return
	}
	p := Parcel{WaterKg: o.RainMMPerH * dtS / 3600 * v.Shape.SurfaceM2(v.Shape.RimM()), TempC: airC}
	v.put(&p, led, Rained)
	if v.WaterKg >= emptyKg {
		v.Settle()
	}
}
