package scenario

import (
	"math"

	"sodalake/science/brine"
	"sodalake/science/pond"
)

// cakeWaterGPerG is the water that leaves with the pressed cake [g/g dry]:
// pressed to 20 % dry matter. Common practice, no source.
const cakeWaterGPerG = 4

// harvest takes what the rule says and returns the dry matter [g].
func (r *runner) harvest() float64 {
	h := &r.f.Harvest
	a := pond.Act{CakeG: cakeWaterGPerG}
	switch h.Rule {
	case "above":
		if r.v.DensityGL() <= h.DensityGPerL {
			return 0
		}
		a.KeepGL = math.Max(*h.LeaveGPerL, 1e-9)
	case "fraction":
		a.ClothL = *h.Fraction * r.v.VolumeL()
	default:
		return 0
	}
	return r.v.Do(&a, &r.led).ClothG
}

// Molar masses of what is fed [g/mol], IUPAC abridged standard atomic weights.
const (
	massKNO3, massNaNO3, massKH2PO4, massMgSO4, massNa2SO4 = 101.10, 84.99, 136.09, 246.47, 142.04
	massCaNO3, massFeSO4, massCO2                          = 236.15, 278.01, 44.009
)

// feed gives back what growth took since the last feed, as salts and carbon
// dioxide, and returns their mass [g].
func (r *runner) feed() float64 {
	if r.f.Feed.Rule != "replace" {
		return 0
	}
	grown := r.led[pond.Grown].Mol
	need := func(k brine.Total) float64 { return math.Max(r.fed[k]-grown[k], 0) }
	n := need(brine.Ammonia) + need(brine.NO2) + need(brine.NO3)
	p, mg, s, ca, fe, c := need(brine.PO4), need(brine.Mg), need(brine.SO4), need(brine.Ca), need(brine.Iron), need(brine.DIC)
	var give brine.Totals
	give[brine.DIC] = c
	give[brine.PO4], give[brine.K] = p, p // KH2PO4
	give[brine.Mg], give[brine.SO4] = mg, mg
	give[brine.Ca] = ca // Ca(NO3)2.4H2O
	give[brine.Iron] = fe
	give[brine.SO4] += fe // FeSO4.7H2O; the iron ends as hydroxide
	na2so4 := math.Max(s-mg-fe, 0)
	give[brine.SO4] += na2so4
	give[brine.Na] += 2 * na2so4
	kno3 := math.Min(math.Max(need(brine.K)-p, 0), n)
	nano3 := math.Max(n-kno3-2*ca, 0)
	give[brine.K] += kno3
	give[brine.Na] += nano3
	give[brine.NO3] = kno3 + nano3 + 2*ca
	r.fed = grown
	r.v.Do(&pond.Act{Salts: give}, &r.led)
	return kno3*massKNO3 + nano3*massNaNO3 + p*massKH2PO4 + mg*massMgSO4 + na2so4*massNa2SO4 + ca*massCaNO3 + fe*massFeSO4 + c*massCO2
}
