package pond

import (
	"math"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/vessel"
)

// wellStirredMH is the transfer velocity of oxygen in the ponds that the growth
// model was fitted to [m/h]. Their oxygen stands in the fit already, so only
// what a vessel has more than such a pond counts as harm.
//
// Source: judgement; 10 cm/h gives some 25 mg/L over saturation at a peak
// output of 2.6 g of oxygen a square metre and hour.
const wellStirredMH = 0.1

// oxygen returns the quasi-steady dissolved oxygen [mg/L] and the one that the
// growth model is to count [mg/L]: its harm over that in a well stirred pond
// of the same output. The output is that of the last step.
func (v *Vessel) oxygen(o *air.Outside, light *growth.Light, env *growth.Env, midC, surface float64) (is, counts float64) {
	salt := env.CarbonateGL + env.ChlorideGL + env.SulfateGL
	saturation := growth.OxygenSaturation(midC, o.PressureKPa, salt)
	if light.Beam+light.Diffuse <= 0 || v.oxygenRate <= 0 {
		return saturation, saturation
	}
	const gramsPerMol = 31.998
	gM2H := v.oxygenRate * v.BiomassG * gramsPerMol / 24 / max(surface, 1e-6)
	is = growth.OxygenSteady(saturation, gM2H, v.Stir.PistonMH, growth.OxygenBubbleMgL)
	fitted := growth.OxygenSteady(saturation, gM2H, wellStirredMH, growth.OxygenBubbleMgL)
	share := v.Growth.Oxygen(is) / max(v.Growth.Oxygen(fitted), 0.05)
	if share >= 1 {
		return is, 0
	}
	p := v.Growth.Params()
	return is, p.OxygenOnset + (1-share)/p.OxygenSlope
}

// poolShare is the most of a pool that growth takes in one step [1]: half, so
// that no pool is ever overdrawn.
const poolShare = 0.5

// allowed returns how much of a gain [g] the pools can feed.
func (v *Vessel) allowed(gain float64) float64 {
	c := v.cells()
	limit := func(pool, perG float64) {
		if perG > 0 && gain*perG > pool*poolShare {
			gain = pool * poolShare / perG
		}
	}
	limit(max(v.Mol[brine.DIC], 0), c.C)
	limit(v.Mol[brine.Ammonia]+v.Mol[brine.NO3]+v.Mol[brine.NO2], c.N)
	limit(v.Mol[brine.PO4], c.P)
	limit(v.Mol[brine.SO4], c.S)
	limit(v.Mol[brine.K], c.K)
	limit(v.Mol[brine.Mg], c.Mg)
	limit(v.Mol[brine.Iron], c.Fe)
	return gain
}

// exchange adds a gain of dry matter [g] to the cells and takes its elements out
// of the water; a loss gives them back. Nitrogen comes from ammonia first, then
// from nitrite and nitrate, and goes back as ammonia. The ions are taken as
// they are, so the alkalinity follows by itself.
func (v *Vessel) exchange(gain float64, led *Ledger) {
	c := v.cells()
	var d brine.Totals
	d[brine.DIC], d[brine.PO4], d[brine.SO4] = -gain*c.C, -gain*c.P, -gain*c.S
	d[brine.K], d[brine.Mg], d[brine.Iron] = -gain*c.K, -gain*c.Mg, -gain*c.Fe
	need := gain * c.N
	if gain <= 0 {
		d[brine.Ammonia] = -need
		if v.BiomassG > 0 {
			back := v.calciumInCells * min(-gain/v.BiomassG, 1)
			d[brine.Ca] = back
			v.calciumInCells -= back
		}
	} else {
		for _, pool := range [...]brine.Total{brine.Ammonia, brine.NO2, brine.NO3} {
			take := min(need, v.Mol[pool])
			d[pool] -= take
			need -= take
		}
		// Calcium is taken while there is some; the cells do without.
		take := min(gain*c.Ca, v.Mol[brine.Ca]*poolShare)
		d[brine.Ca] = -take
		v.calciumInCells += take
	}
	v.BiomassG += gain
	v.add(&d, led, Grown)
	if led != nil {
		led[Grown].BiomassG += gain
	}
}

// add books d and adds it to the totals.
func (v *Vessel) add(d *brine.Totals, led *Ledger, law Law) {
	for k := range d {
		v.Mol[k] += d[k]
	}
	if led != nil {
		for k := range d {
			led[law].Mol[k] += d[k]
		}
	}
}

// split turns urea into two ammonia and one carbon.
func (v *Vessel) split(dtS float64, led *Ledger) {
	if v.Mol[brine.Urea] <= 0 {
		return
	}
	mol := growth.UreaHydrolysis(v.Mol[brine.Urea], v.UreaPerD, dtS/daySeconds)
	var d brine.Totals
	d[brine.Urea], d[brine.Ammonia], d[brine.DIC] = -mol, 2*mol, mol
	v.add(&d, led, Hydrolysed)
}

// breathe exchanges carbon dioxide with the air above and loses ammonia to it.
func (v *Vessel) breathe(o *air.Outside, midC, surface, dtS float64, led *Ledger) {
	x := brine.AirExchange(&v.water, brine.Air{
		PCO2Atm: v.AirPPM * 1e-6 * o.PressureKPa / 101.325, WindMS: o.WindMS,
		// The transfer velocity of a slow gas moves some 2 % a kelvin: livansky2006.
		LiquidMS: v.Stir.PistonMH / 3600 * math.Exp(0.02*(midC-20)),
	})
	var d brine.Totals
	d[brine.DIC] = max(x.CO2MolM2S*surface*dtS, -0.2*v.Mol[brine.DIC])
	v.add(&d, led, CarbonToAir)
	if v.Mol[brine.Ammonia] > 0 {
		d = brine.Totals{}
		d[brine.Ammonia] = -min(x.NH3MolM2S*surface*dtS, 0.2*v.Mol[brine.Ammonia])
		v.add(&d, led, AmmoniaToAir)
	}
}

// dry is a step of an empty vessel: it takes the temperature of the air and
// gathers the rain that its setting lets in.
func (v *Vessel) dry(o *air.Outside, dtS float64, led *Ledger) {
	v.Heat.WaterC = o.AirC
	if v.Setting.Indoors || v.Setting.Cover != vessel.None || !(o.RainMMPerH > 0) {
		return
	}
	kg := o.RainMMPerH * dtS / 3600 * v.Shape.SurfaceM2(v.Shape.RimM())
	v.put(Parcel{WaterKg: kg, TempC: o.AirC}, led, Rained)
	v.pack()
}

// glint returns the share of the sunlight in the water that the floor throws
// back out [1], where level is the depth [m]. Only the visible half of it comes
// down through more than a few centimetres of water, and of what comes back up
// the surface lets six tenths out.
//
// Source: optics of clear water; a class A pan comes to 0.14 in all, the
// figure of rotstayn2006 (Geophys. Res. Lett. 33:L17715), from memory.
func (v *Vessel) glint(level float64) float64 {
	const visible, escapes, cosDiffuse = 0.5, 0.6, 0.84
	path := 2 * level / cosDiffuse
	tau := v.Growth.Attenuation(v.DensityGL()) * path
	if tau > 12 {
		return 0
	}
	return v.Setting.FloorAlbedo * visible * escapes * math.Exp(-tau)
}
