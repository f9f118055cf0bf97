package pond

import "sodalake/science/brine"

// Law is what moved something. Each law books what it carries as it acts.
type Law int

// The laws, in the order in which a step applies them.
const (
	Poured       Law = iota // water, medium, salts and culture put in by hand
	Drawn                   // culture taken out by hand
	Cloth                   // cake taken by a harvest
	Grown                   // taken up by growth, or given back by loss
	Hydrolysed              // urea turned into ammonia and carbon
	CarbonToAir             // carbon dioxide in or out through the surface
	AmmoniaToAir            // ammonia out through the surface
	Evaporated              // water to the air
	Rained                  // rain
	Overflowed              // over the rim
	Leaked                  // through the liner
	FellOut                 // calcium carbonate to the floor
	Warmed                  // heat by the laws of package vessel
	NLaws
)

// Account is what one law moved into the vessel; what left is negative.
type Account struct {
	WaterKg  float64      // water [kg]
	BiomassG float64      // dry matter [g]
	SolidMol float64      // calcium carbonate on the floor [mol]
	Mol      brine.Totals // dissolved totals [mol]
}

// Ledger is the books of a vessel, one account for each law.
type Ledger [NLaws]Account

// Sum returns what all laws together moved in.
func (l *Ledger) Sum() Account {
	var a Account
	for i := range l {
		a.WaterKg += l[i].WaterKg
		a.BiomassG += l[i].BiomassG
		a.SolidMol += l[i].SolidMol
		for k := range a.Mol {
			a.Mol[k] += l[i].Mol[k]
		}
	}
	return a
}

// parcel books p with a sign.
func (a *Account) parcel(p *Parcel, sign float64) {
	a.WaterKg += sign * p.WaterKg
	a.BiomassG += sign * p.BiomassG
	for k := range a.Mol {
		a.Mol[k] += sign * p.Mol[k]
	}
}
