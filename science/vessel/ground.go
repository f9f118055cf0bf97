package vessel

import (
	"math"

	"sodalake/science/air"
)

// Soil layers, chosen so that the two together answer waves of a day to a week
// as deep soil does (TestSoilAgainstDeepGround), in damping depths of the daily
// wave.
const (
	upperLayer = 0.75 // thickness of the upper layer [damping depths]
	lowerLayer = 2.5  // thickness of the lower layer [damping depths]
	dayRadS    = 2 * math.Pi / 86400
)

// triple is a temperature, or a change of it, of water, upper and lower soil.
type triple struct {
	water, upper, lower float64 // [K] or [°C]
}

// ground is the soil under and beside a vessel as two layers over a depth of
// fixed temperature, and the linear part of a step: I − γhJ for water, upper
// and lower layer, a band of three.
//
// Heat runs from the water through the base to the middle of the upper layer,
// to the middle of the lower one, and on to half a layer below it.
type ground struct {
	toSoil, inSoil, toDeep float64 // conductances water–upper–lower–deep [W/K]
	perUpper, perLower     float64 // one over the heat capacities [K/J]
	deepC                  float64 // ground out of reach of the day [°C]

	own           float64 // water row, one over its pivot [1]
	fromUpper     float64 // water row, multiple of the upper row to take off [1]
	upperOwn      float64 // upper row, one over its pivot [1]
	upperFrom     float64 // upper row, element of the water [1]
	fromLower     float64 // upper row, multiple of the lower row to take off [1]
	lowerOwn      float64 // lower row, one over its pivot [1]
	lowerFromNext float64 // lower row, element of the upper [1]
}

// set works out the conductances: none for a vessel on a stand.
func (g *ground) set(st *Setting, o *air.Outside, b *Body) {
	if st.OnStand {
		return
	}
	area := b.FloorM2
	if st.InGround {
		area += b.WallM2
	}
	if !(area > smallestM*smallestM/100) { // a trench has no floor to speak of
		return
	}
	k := st.SoilWMK
	damping := math.Sqrt(2 * k / (st.SoilJM3K * dayRadS)) // of the daily wave [m]
	perDamping := area * k / damping
	g.toSoil = area * 2 * k * st.BaseUWM2K / (2*k + st.BaseUWM2K*upperLayer*damping)
	g.inSoil = perDamping * (2 / (upperLayer + lowerLayer))
	g.toDeep = perDamping * (1 / lowerLayer) // half the layer and as much again below it
	perJK := 1 / (area * damping * st.SoilJM3K)
	g.perUpper, g.perLower = perJK*(1/upperLayer), perJK*(1/lowerLayer)
	g.deepC = o.GroundDeepC
	if st.Indoors {
		g.deepC = st.RoomC // a floor of the house
	}
}

// eliminate prepares solve. gh is γ times the step [s], perJK one over the heat
// capacity of the water [K/J], slope that of all heats into it by its own
// temperature, what goes to the soil included [W/K].
func (g *ground) eliminate(gh, perJK, slope float64) {
	pivot := 1 - gh*perJK*slope
	if g.toSoil == 0 {
		g.own = 1 / pivot
		return
	}
	g.lowerFromNext = -gh * g.inSoil * g.perLower
	g.lowerOwn = 1 / (1 - g.lowerFromNext + gh*g.toDeep*g.perLower)
	g.upperFrom = -gh * g.toSoil * g.perUpper
	upperToLower := -gh * g.inSoil * g.perUpper
	g.fromLower = upperToLower * g.lowerOwn
	g.upperOwn = 1 / (1 - g.upperFrom - upperToLower - g.fromLower*g.lowerFromNext)
	g.fromUpper = -gh * perJK * g.toSoil * g.upperOwn
	g.own = 1 / (pivot - g.fromUpper*g.upperFrom)
}

// solve returns the unknowns for a right-hand side.
func (g *ground) solve(r triple) triple {
	if g.toSoil == 0 {
		return triple{water: r.water * g.own}
	}
	upper := r.upper - g.fromLower*r.lower
	water := (r.water - g.fromUpper*upper) * g.own
	upper = (upper - g.upperFrom*water) * g.upperOwn
	return triple{water, upper, (r.lower - g.lowerFromNext*upper) * g.lowerOwn}
}

// rates returns the changes of the two layers in a time dtS [s] at the
// temperatures y, and passes on that of the water.
func (g *ground) rates(water float64, y triple, dtS float64) triple {
	if g.toSoil == 0 {
		return triple{water: water}
	}
	down := g.inSoil * (y.upper - y.lower)
	return triple{
		water: water,
		upper: dtS * g.perUpper * (g.toSoil*(y.water-y.upper) - down),
		lower: dtS * g.perLower * (down - g.toDeep*(y.lower-g.deepC)),
	}
}
