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
	UreaAge  float64        // mean age of the urea pool, drives its lag [d]
}

// Parcel is an amount of culture on its way from one vessel to another.
type Parcel struct {
	WaterKg  float64      // water [kg]
	BiomassG float64      // dry matter [g]
	Damage   float64      // as in State [1]
	NightQ   float64      // as in State [1]
	TempC    float64      // temperature [°C]
	Mol      brine.Totals // dissolved totals [mol]
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

// Take removes the share of everything that is dissolved or swims and returns
// it. share is the part of the vessel's volume that leaves [1], 0 to 1.
func (s *State) Take(share float64) Parcel {
	share = min(max(share, 0), 1)
	p := Parcel{
		WaterKg: s.WaterKg * share, BiomassG: s.BiomassG * share, Damage: s.Damage, NightQ: s.NightQ, TempC: s.Heat.WaterC,
	}
	s.WaterKg -= p.WaterKg
	s.BiomassG -= p.BiomassG
	for i := range s.Mol {
		p.Mol[i] = s.Mol[i] * share
		s.Mol[i] -= p.Mol[i]
	}
	return p
}

// Put pours p in: amounts add, temperature mixes by mass, and what belongs to
// the cells mixes by their mass.
func (s *State) Put(p Parcel) {
	if w := s.WaterKg + p.WaterKg; w > 0 {
		s.Heat.WaterC = (s.Heat.WaterC*s.WaterKg + p.TempC*p.WaterKg) / w
	}
	if b := s.BiomassG + p.BiomassG; b > 0 {
		s.Damage = (s.Damage*s.BiomassG + p.Damage*p.BiomassG) / b
		s.NightQ = (s.NightQ*s.BiomassG + p.NightQ*p.BiomassG) / b
	}
	s.WaterKg += p.WaterKg
	s.BiomassG += p.BiomassG
	for i := range s.Mol {
		s.Mol[i] += p.Mol[i]
	}
}

// Scaled returns f times the parcel [1]: six bottles' worth out of one.
func (p Parcel) Scaled(f float64) Parcel {
	p.WaterKg *= f
	p.BiomassG *= f
	for i := range p.Mol {
		p.Mol[i] *= f
	}
	return p
}
