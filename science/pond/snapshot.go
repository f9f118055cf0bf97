package pond

// Hidden is what a vessel carries from step to step beside its exported fields:
// with it, and after Settle, a vessel goes on as the one it was taken from, to
// the last bit.
type Hidden struct {
	CalciumInCellsMol float64 // calcium held by the biomass [mol]
	OxygenRate        float64 // oxygen given off in the last step [mol/g/d]
}

// Hidden returns what the vessel carries unseen.
func (v *Vessel) Hidden() Hidden { return Hidden{v.calciumInCells, v.oxygenRate} }

// SetHidden puts it back.
func (v *Vessel) SetHidden(h Hidden) {
	v.calciumInCells, v.oxygenRate = h.CalciumInCellsMol, h.OxygenRate
}
