package brine

// Water is what the totals of a water amount to at one temperature. It holds
// no pointers: copying it copies everything, the coefficients that SolveWarm
// keeps included.
type Water struct {
	PH             float64           // −log₁₀ of the activity of H⁺ on MacInnes' scale, what a meter reads at TempC [1]
	TempC          float64           // temperature it was solved for [°C]
	IonicStrength  float64           // ionic strength [mol/kg water]
	WaterActivity  float64           // activity of water, dissolved salts only [1]
	AlkalinityEqKg float64           // alkalinity by charge balance [mol/kg water]
	DICMolKg       float64           // dissolved inorganic carbon [mol/kg water]
	PCO2Atm        float64           // pressure of CO₂ it would be in balance with [atm]
	Species        [NSpecies]float64 // molality of each species [mol/kg water]
	LnGamma        [NSpecies]float64 // ln of the activity coefficient, MacInnes' scale, of the species present [1]
	kept           kept
}

// kept is what SolveWarm keeps between calls.
type kept struct {
	ok       bool
	model    Model
	mask     uint32
	totals   Totals     // where the coefficients were worked out
	tempC    float64    // °C
	strength float64    // mol/kg
	lnAw     float64    // ln of the water activity
	free     [2]float64 // shares of sodium and potassium not in pairs
	k        constants  // constants there
	slope    constants  // d ln k / dT [1/K]
	curve    constants  // its change with temperature [1/K²]
}

// Forget drops what SolveWarm keeps, so that its next call starts afresh. Call
// it where a run may be taken up again from its totals alone: both runs then
// go on alike to the last bit.
func (w *Water) Forget() { w.kept.ok = false }

// Molality returns the molality of a species [mol/kg water], 0 for a species
// that does not exist.
func (w *Water) Molality(s Species) float64 {
	if s < 0 || int(s) >= NSpecies {
		return 0
	}
	return w.Species[s]
}

// FreeAmmoniaShare returns the share of all ammonia that is NH₃ [1].
//
// Special case: 0 in a water without ammonia.
func (w *Water) FreeAmmoniaShare() float64 {
	all := w.Species[SpNH3] + w.Species[SpNH4]
	if all <= 0 {
		return 0
	}
	return w.Species[SpNH3] / all
}
