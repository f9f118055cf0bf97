package growth

import "math"

// floorTemp is the least share of the rate that cold or heat leaves; without
// it I_k(T) would be zero and any light infinitely strong.
const floorTemp = 0.02

// Temperature returns the share of the best rate at a temperature [1], never
// below 0.02: the cardinal temperature curve with an inflection,
//
//	g = (T−Tmax)(T−Tmin)² / {(Topt−Tmin)[(Topt−Tmin)(T−Topt) − (Topt−Tmax)(Topt+Tmin−2T)]}
//
// where tempC is T, the temperature of the water [°C].
//
// Special cases: 0.02 outside Tmin to Tmax, NaN for NaN.
//
// Source: rosso1993; bernard2012, eq. 1. Departs: the floor.
func (m *Model) Temperature(tempC float64) float64 {
	if tempC <= m.p.TMin || tempC >= m.p.TMax {
		return floorTemp
	}
	g := (tempC - m.p.TMax) * square(tempC-m.p.TMin) / (m.curve0 + m.curve1*tempC)
	return max(g, floorTemp)
}

// Carbon returns the share of the rate that bicarbonate allows [1]:
//
//	f = h²/(h² + K²)
//
// where hco3MM is h, free bicarbonate [mM]. It is the only term for high pH.
//
// Special cases: 0 for none, 1 for +Inf.
//
// Source: our structure, eq. 8; the band it was set to is that of belkin1991
// (grows well to pH 11.5 while carbon is there).
func (m *Model) Carbon(hco3MM float64) float64 {
	switch {
	case hco3MM <= 0:
		return 0
	case hco3MM > 1e6:
		return 1
	}
	h2 := hco3MM * hco3MM
	return h2 / (h2 + m.p.KCarbon*m.p.KCarbon)
}

// Ammonia returns the share of the rate that free ammonia leaves [1]: all up
// to the onset, half at the half point, and beyond
//
//	f = 1/(1 + ((n − n₀)/(n½ − n₀))²)
//
// where freeNH3MM is n, free NH3 by the activity model of the brine [mM].
//
// Source: half point ammonia2024; the shape is judgement, no source.
func (m *Model) Ammonia(freeNH3MM float64) float64 {
	over := freeNH3MM - m.p.AmmoniaOnset
	if over <= 0 {
		return 1
	}
	return 1 / (1 + square(over*m.ammoniaScale))
}

// Oxygen returns the share of the rate that dissolved oxygen leaves [1]: a
// straight line down from the onset, where oxygenMgL is dissolved oxygen
// [mg/L].
//
// Source: marquez1995.
func (m *Model) Oxygen(oxygenMgL float64) float64 {
	over := oxygenMgL - m.p.OxygenOnset
	if over <= 0 {
		return 1
	}
	return max(0, 1-m.p.OxygenSlope*over)
}

// OxygenFor returns the dissolved oxygen that leaves a share of the rate [mg/L],
// the inverse of Oxygen, where share is that share [1]; the onset for a share of
// 1 and more.
func (m *Model) OxygenFor(share float64) float64 {
	if !(share < 1) || m.p.OxygenSlope <= 0 {
		return m.p.OxygenOnset
	}
	return m.p.OxygenOnset + (1-max(share, 0))/m.p.OxygenSlope
}

// Salt returns the share of the rate that dissolved salts leave [1]: each
// anion is free up to its flat part, and their losses beyond add up. The
// arguments are masses of sodium salts: carbonateGL bicarbonate and carbonate
// [g/L], chlorideGL chloride [g/L], sulfateGL sulfate [g/L].
//
// Source: kebede1997; judgement where Default says so.
func (m *Model) Salt(carbonateGL, chlorideGL, sulfateGL float64) float64 {
	loss := 0.0
	if over := carbonateGL - m.p.CarbonateFlat; over > 0 {
		loss += m.p.CarbonateSlope * over
	}
	if over := chlorideGL - m.p.ChlorideFlat; over > 0 {
		loss += m.p.ChlorideSlope * over
	}
	if over := sulfateGL - m.p.SulfateFlat; over > 0 {
		loss += m.p.SulfateSlope * over
	}
	return max(0, 1-loss)
}

// SaltsByAnion returns the masses of sodium salts that Env wants, carbonate
// (as bicarbonate), chloride and sulfate [g/L], from dissolved inorganic
// carbon dicMM [mM], chloride clMM [mM] and sulfate so4MM [mM]. Potassium
// salts are counted as if they were sodium's.
func SaltsByAnion(dicMM, clMM, so4MM float64) (carbonateGL, chlorideGL, sulfateGL float64) {
	return dicMM * massNaHCO3 / 1000, clMM * massNaCl / 1000, so4MM * massNaSO / 1000
}

// Nutrient names what of the dissolved food is shortest.
type Nutrient uint8

// The nutrients of Liebig's minimum besides carbon.
const (
	None Nutrient = iota
	Nitrogen
	Phosphorus
	Potassium
	Magnesium
	Sulphur
	Iron
)

// String returns the nutrient's name in English.
func (n Nutrient) String() string {
	return [...]string{"none", "nitrogen", "phosphorus", "potassium", "magnesium", "sulphur", "iron"}[n]
}

// Nutrients are the dissolved foods the organism can use. NaN says that one
// is not known and shall not limit.
type Nutrients struct {
	NMM  float64 // nitrate, nitrite, ammonia and twice urea, as nitrogen [mM]
	PMM  float64 // phosphate [mM]
	KMM  float64 // potassium [mM]
	MgMM float64 // magnesium [mM]
	SMM  float64 // sulfate [mM]
	FeMM float64 // iron that stays available [mM]
}

// Nutrient returns the share of the rate that the shortest nutrient allows
// [1] and which one it is, Liebig's minimum over
//
//	c/(c + K)
//
// for the concentrations of c [mM]. None is named while the share is above
// 0.9.
//
// Special cases: 0 for a nutrient at or below zero; one that is NaN is left out.
//
// Source: monod1949; half-saturations as Default says.
func (m *Model) Nutrient(c *Nutrients) (float64, Nutrient) {
	// The least c/(c + K) is where c/K is least; a comparison with NaN is false.
	ratio, which := math.Inf(1), None
	for i, have := range [...]float64{c.NMM, c.PMM, c.KMM, c.MgMM, c.SMM, c.FeMM} {
		if x := have * m.perHalf[i]; x < ratio {
			ratio, which = x, Nitrogen+Nutrient(i)
		}
	}
	switch {
	case ratio <= 0:
		return 0, which
	case math.IsInf(ratio, 1):
		return 1, None
	}
	least := ratio / (ratio + 1)
	if least > 0.9 {
		which = None
	}
	return least, which
}
