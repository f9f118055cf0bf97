package model

import (
	"math"

	"sodalake/science/brine"
)

// FeedSalts are the salts by which growth is replaced, in the order of
// Fed.SaltG.
var FeedSalts = [...]string{"KNO3", "NaNO3", "KH2PO4", "MgSO4.7H2O", "Na2SO4", "Ca(NO3)2.4H2O", "FeSO4.7H2O"}

// Molar masses of what is fed [g/mol], IUPAC abridged standard atomic weights.
var feedMass = [len(FeedSalts)]float64{101.10, 84.99, 136.09, 246.47, 142.04, 236.15, 278.01}

const massCO2 = 44.009 // [g/mol], likewise

// Fed is what replaces growth.
type Fed struct {
	Totals brine.Totals            // what is stirred in [mol]
	SaltG  [len(FeedSalts)]float64 // as salts [g]
	CO2G   float64                 // carbon dioxide [g]
}

// Grams returns the mass of it all [g].
func (f *Fed) Grams() float64 {
	sum := f.CO2G
	for _, g := range f.SaltG {
		sum += g
	}
	return sum
}

// Replace returns what gives back what growth took [mol]: nitrogen as nitrate,
// phosphate, potassium, magnesium, sulfate, calcium and iron as salts, carbon as
// carbon dioxide. What was given back rather than taken, below zero, counts as
// nothing.
func Replace(took *brine.Totals) Fed {
	need := func(k brine.Total) float64 { return math.Max(took[k], 0) }
	n := need(brine.Ammonia) + need(brine.NO2) + need(brine.NO3)
	p, mg, s, ca, fe, c := need(brine.PO4), need(brine.Mg), need(brine.SO4), need(brine.Ca), need(brine.Iron), need(brine.DIC)
	na2so4 := math.Max(s-mg-fe, 0)
	kno3 := math.Min(math.Max(need(brine.K)-p, 0), n)
	nano3 := math.Max(n-kno3-2*ca, 0)
	var f Fed
	give := &f.Totals
	give[brine.DIC] = c
	give[brine.PO4], give[brine.K] = p, p+kno3 // KH2PO4, KNO3
	give[brine.Mg], give[brine.SO4] = mg, mg+fe+na2so4
	give[brine.Ca] = ca
	give[brine.Iron] = fe // of FeSO4.7H2O; the iron ends as hydroxide
	give[brine.Na] = 2*na2so4 + nano3
	give[brine.NO3] = kno3 + nano3 + 2*ca
	for i, mol := range [len(FeedSalts)]float64{kno3, nano3, p, mg, na2so4, ca, fe} {
		f.SaltG[i] = mol * feedMass[i]
	}
	f.CO2G = c * massCO2
	return f
}
