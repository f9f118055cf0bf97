package pond

import (
	"sodalake/science/brine"
	"sodalake/science/vessel"
)

// State is what a vessel holds. Amounts are absolute, so that evaporation
// changes no salt and a harvest no concentration by mistake. Alkalinity and pH
// are never stored: they follow from the totals.
type State struct {
	WaterKg  float64        // water [kg]
	BiomassG float64        // dry matter of the living culture [g]
	Damage   float64        // damaged share of the photosystems, 0 to 1 [1]
	NightQ   float64        // share of biomass that will be burnt at night [1]
	Heat     vessel.Thermal // temperatures of water, ground and air under cover
	Mol      brine.Totals   // dissolved totals [mol]
	SolidMol float64        // calcium carbonate lying on the floor [mol]
}

// Parcel is an amount of culture on its way from one vessel to another.
type Parcel struct {
	WaterKg    float64      // water [kg]
	BiomassG   float64      // dry matter [g]
	Damage     float64      // as in State [1]
	NightQ     float64      // as in State [1]
	TempC      float64      // temperature [°C]
	Mol        brine.Totals // dissolved totals [mol]
	CalciumMol float64      // calcium held by the cells, whose share of it varies [mol]
}

// Molality returns the totals per kilogram of water [mol/kg].
func (s *State) Molality() brine.Totals {
	var t brine.Totals
	if s.WaterKg <= 0 {
		return t
	}
	inv := 1 / s.WaterKg
	for i, mol := range s.Mol {
		t[i] = mol * inv
	}
	return t
}

// Scaled returns f times the parcel [1]: six bottles' worth out of one.
func (p Parcel) Scaled(f float64) Parcel {
	p.WaterKg *= f
	p.BiomassG *= f
	p.CalciumMol *= f
	for i := range p.Mol {
		p.Mol[i] *= f
	}
	return p
}

// take removes a share of all that is dissolved or swims [1], books it and
// returns it.
func (v *Vessel) take(share float64, led *Ledger, law Law) Parcel {
	share = min(max(share, 0), 1)
	p := Parcel{
		WaterKg: v.WaterKg * share, BiomassG: v.BiomassG * share, CalciumMol: v.calciumInCells * share,
		Damage: v.Damage, NightQ: v.NightQ, TempC: v.Heat.WaterC,
	}
	v.WaterKg -= p.WaterKg
	v.BiomassG -= p.BiomassG
	v.calciumInCells -= p.CalciumMol
	for i := range v.Mol {
		p.Mol[i] = v.Mol[i] * share
		v.Mol[i] -= p.Mol[i]
	}
	if led != nil {
		led[law].parcel(&p, -1)
	}
	return p
}

// put pours p in and books it: amounts add, temperature mixes by mass, and what
// belongs to the cells mixes by their mass.
func (v *Vessel) put(p *Parcel, led *Ledger, law Law) {
	v.Heat.WaterC = vessel.MixC(v.WaterKg, v.Heat.WaterC, p.WaterKg, p.TempC)
	if b := v.BiomassG + p.BiomassG; b > 0 {
		v.Damage = (v.Damage*v.BiomassG + p.Damage*p.BiomassG) / b
		v.NightQ = (v.NightQ*v.BiomassG + p.NightQ*p.BiomassG) / b
	}
	v.WaterKg += p.WaterKg
	v.BiomassG += p.BiomassG
	v.calciumInCells += p.CalciumMol
	for i := range v.Mol {
		v.Mol[i] += p.Mol[i]
	}
	if led != nil {
		led[law].parcel(p, 1)
	}
}
