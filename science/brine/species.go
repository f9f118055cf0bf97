package brine

import "fmt"

// Species is one form in which a total is found in water.
type Species int

// The species. Ions come first, cations then anions, so that the sums over
// ions run over a block.
const (
	SpH Species = iota
	SpNa
	SpK
	SpNH4
	SpCa
	SpMg
	SpMgOH
	SpCaOH
	SpCaHCO3
	SpMgHCO3
	SpCaH2PO4
	SpMgH2PO4

	SpOH
	SpCl
	SpSO4
	SpHSO4
	SpNO3
	SpNO2
	SpHCO3
	SpCO3
	SpH2PO4
	SpHPO4
	SpPO4
	SpBOH4
	SpCaPO4
	SpMgPO4
	SpNaSO4
	SpKSO4
	SpH2EDTA
	SpHEDTA
	SpEDTA
	SpNaEDTA
	SpKEDTA
	SpCaEDTA
	SpMgEDTA
	SpFeEDTA
	SpFeOHEDTA

	SpCO2
	SpNH3
	SpUrea
	SpBOH3
	SpH3PO4
	SpMgCO3
	SpCaCO3
	SpCaSO4
	SpMgSO4
	SpCaHPO4
	SpMgHPO4
	NSpecies int = iota
)

const (
	firstAnion   = SpOH
	firstNeutral = SpCO2
)

// speciesTable holds name and charge [1] of each species. The names write the
// charge out, as in CO3--.
var speciesTable = [NSpecies]struct {
	name   string
	charge float64
}{
	SpH: {"H+", 1}, SpNa: {"Na+", 1}, SpK: {"K+", 1}, SpNH4: {"NH4+", 1}, SpCa: {"Ca++", 2}, SpMg: {"Mg++", 2},
	SpMgOH: {"MgOH+", 1}, SpCaOH: {"CaOH+", 1}, SpCaHCO3: {"CaHCO3+", 1}, SpMgHCO3: {"MgHCO3+", 1},
	SpCaH2PO4: {"CaH2PO4+", 1}, SpMgH2PO4: {"MgH2PO4+", 1},
	SpOH: {"OH-", -1}, SpCl: {"Cl-", -1}, SpSO4: {"SO4--", -2}, SpHSO4: {"HSO4-", -1}, SpNO3: {"NO3-", -1}, SpNO2: {"NO2-", -1},
	SpHCO3: {"HCO3-", -1}, SpCO3: {"CO3--", -2}, SpH2PO4: {"H2PO4-", -1}, SpHPO4: {"HPO4--", -2}, SpPO4: {"PO4---", -3},
	SpBOH4: {"B(OH)4-", -1}, SpCaPO4: {"CaPO4-", -1}, SpMgPO4: {"MgPO4-", -1}, SpNaSO4: {"NaSO4-", -1}, SpKSO4: {"KSO4-", -1},
	SpH2EDTA: {"H2EDTA--", -2}, SpHEDTA: {"HEDTA---", -3}, SpEDTA: {"EDTA----", -4}, SpNaEDTA: {"NaEDTA---", -3}, SpKEDTA: {"KEDTA---", -3},
	SpCaEDTA: {"CaEDTA--", -2}, SpMgEDTA: {"MgEDTA--", -2}, SpFeEDTA: {"FeEDTA-", -1}, SpFeOHEDTA: {"FeOHEDTA--", -2},
	SpCO2: {"CO2", 0}, SpNH3: {"NH3", 0}, SpUrea: {"CO(NH2)2", 0}, SpBOH3: {"B(OH)3", 0}, SpH3PO4: {"H3PO4", 0},
	SpMgCO3: {"MgCO3", 0}, SpCaCO3: {"CaCO3", 0}, SpCaSO4: {"CaSO4", 0}, SpMgSO4: {"MgSO4", 0}, SpCaHPO4: {"CaHPO4", 0}, SpMgHPO4: {"MgHPO4", 0},
}

// String returns the name of the species with its charge written out.
func (s Species) String() string {
	if s < 0 || int(s) >= NSpecies {
		return fmt.Sprintf("species %d", int(s))
	}
	return speciesTable[s].name
}

// Charge returns the charge of the species [1], negative for an anion, and 0
// for a species that does not exist.
func (s Species) Charge() float64 {
	if s < 0 || int(s) >= NSpecies {
		return 0
	}
	return speciesTable[s].charge
}

// chargeSquared holds the squared charges [1], for the ionic strength.
var chargeSquared = func() (z2 [NSpecies]float64) {
	for i := range z2 {
		z := speciesTable[i].charge
		z2[i] = z * z
	}
	return z2
}()

// ionicStrength returns half the sum of the squared charges times the
// molalities [mol/kg].
func ionicStrength(m *[NSpecies]float64) float64 {
	var even, odd float64 // two sums, so that one need not wait for the other
	for s := 0; s+1 < int(firstNeutral); s += 2 {
		even += chargeSquared[s] * m[s]
		odd += chargeSquared[s+1] * m[s+1]
	}
	const last = firstNeutral - 1
	if firstNeutral%2 == 1 {
		even += chargeSquared[last] * m[last]
	}
	return (even + odd) / 2
}
