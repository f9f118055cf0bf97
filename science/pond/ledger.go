package pond

import (
	"sodalake/science/brine"
	"sodalake/science/vessel"
)

// Law is what moved something. Each law books what it carries as it acts.
type Law int

// The laws.
const (
	Poured       Law = iota // water, medium, salts and culture put in by hand
	Drawn                   // culture taken out by hand
	Cloth                   // cake taken by a harvest
	Warmed                  // heat, by the laws of package vessel
	Grown                   // taken up by growth, or given back by loss
	Hydrolysed              // urea turned into ammonia and carbon
	CarbonToAir             // carbon dioxide in or out through the surface
	AmmoniaToAir            // ammonia out through the surface
	FellOut                 // calcium carbonate to the floor, or back
	Evaporated              // water to the air, or dew
	Rained                  // rain
	Leaked                  // through the liner
	Overflowed              // over the rim
	NLaws
)

// Account is what one law moved into the vessel; what left is negative.
type Account struct {
	WaterKg    float64      // water [kg]
	BiomassG   float64      // dry matter [g]
	CalciumMol float64      // calcium held by the cells [mol]
	SolidMol   float64      // calcium carbonate on the floor [mol]
	HeatJ      float64      // heat of the water, counted from 0 °C [J]
	Mol        brine.Totals // dissolved totals [mol]
}

// Ledger is the books of a vessel, one account for each law.
type Ledger [NLaws]Account

// Sum returns what all laws together moved in.
func (l *Ledger) Sum() Account {
	var a Account
	for i := range l {
		a.WaterKg += l[i].WaterKg
		a.BiomassG += l[i].BiomassG
		a.CalciumMol += l[i].CalciumMol
		a.SolidMol += l[i].SolidMol
		a.HeatJ += l[i].HeatJ
		for k := range a.Mol {
			a.Mol[k] += l[i].Mol[k]
		}
	}
	return a
}

// Holds returns what is in the vessel, in the terms of the ledger: the
// difference of two is what the laws booked in between.
func (v *Vessel) Holds() Account {
	return Account{
		WaterKg: v.WaterKg, BiomassG: v.BiomassG, CalciumMol: v.calciumInCells, SolidMol: v.SolidMol,
		HeatJ: v.WaterKg * vessel.WaterJKgK * v.Heat.WaterC, Mol: v.Mol,
	}
}

// parcel books p with a sign.
func (a *Account) parcel(p *Parcel, sign float64) {
	a.WaterKg += sign * p.WaterKg
	a.BiomassG += sign * p.BiomassG
	a.CalciumMol += sign * p.CalciumMol
	a.HeatJ += sign * p.WaterKg * vessel.WaterJKgK * p.TempC
	for k := range a.Mol {
		a.Mol[k] += sign * p.Mol[k]
	}
}
