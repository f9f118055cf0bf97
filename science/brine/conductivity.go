package brine

import "math"

// mobility is the molal conductivity of an ion at 25 °C: at infinite dilution,
// and how it falls with ionic strength.
type mobility struct {
	limit float64 // λ° [mS/cm·kg/mol]
	a, b  float64 // A [mS/cm·(kg/mol)^1.5], B [(kg/mol)^½]
}

// mobilities by species; ions without an entry carry by limiting.
//
// The form is that of mccleskey2012, Geochim. Cosmochim. Acta 77:369, eq. 3,
// whose own coefficients are meant for a speciation with pairs of sodium: with
// free ions they fall short of the handbook by 3 % in sodium chloride, 7 % in
// bicarbonate and 12 % in sulfate. So λ° is the handbook's, and A and B were
// fitted here, at 25 °C, to: sodium and potassium chloride and potassium
// nitrate, 0.001 to 1 mol/L, robinson1959, appendix 6.3 (from memory); sodium
// bicarbonate, carbonate, nitrate, sulfate and hydroxide, 0.5 to 5 % by mass,
// crc, Electrical conductivity of aqueous solutions, brought from 20 to 25 °C
// by the temperature coefficients of mccleskey2012; dihydrogen phosphate to
// potassium dihydrogen phosphate of 2 % there. The fit leaves 0.2 % for
// chlorides and up to 3 % for the others. Hydrogen, ammonium, calcium and
// magnesium have the coefficients of mccleskey2012, table 1.
var mobilities = [NSpecies]mobility{
	SpNa:    {50.10, 21.2, 0},
	SpK:     {73.50, 29.1, 0.441},
	SpCl:    {76.35, 80.9, 2.86},
	SpNO3:   {71.46, 148, 6.01},
	SpHCO3:  {44.50, 47.0, 0.927},
	SpCO3:   {138.6, 491, 5.23},
	SpSO4:   {160.0, 378, 3.40},
	SpOH:    {198.3, 70.2, 0.5},
	SpH:     {349.8, 91.0, 0.3},
	SpNH4:   {73.25, 27.19, 0.3},
	SpCa:    {117.91, 210.5, 2.8},
	SpMg:    {106.21, 143.7, 2.1},
	SpH2PO4: {33, 59, 1.5},
	SpHSO4:  {50.98, 76.12, 7},
}

// limiting are the limiting conductivities per mole of the other ions at 25 °C
// [mS/cm·kg/mol].
//
// Source: crc, ionic conductivity and diffusion at infinite dilution (from
// memory); complexes by judgement.
var limiting = [NSpecies]float64{
	SpNO2: 71.8, SpHPO4: 114, SpPO4: 278, SpBOH4: 35, SpMgOH: 40, SpCaOH: 40, SpCaHCO3: 40, SpMgHCO3: 40,
	SpCaH2PO4: 35, SpMgH2PO4: 35, SpCaPO4: 35, SpMgPO4: 35, SpNaSO4: 50, SpKSO4: 55,
	SpH2EDTA: 75, SpHEDTA: 150, SpEDTA: 240, SpNaEDTA: 150, SpKEDTA: 150, SpCaEDTA: 75, SpMgEDTA: 75, SpFeEDTA: 35, SpFeOHEDTA: 75,
}

// ConductivityMSCm25 returns the electrical conductivity that a solved water w
// would have at 25 °C [mS/cm], what a meter with a true compensation shows:
//
//	κ = Σ λᵢ mᵢ,  λᵢ = λ°ᵢ − Aᵢ √I / (1 + Bᵢ √I)
//
// Valid to an ionic strength of about 1 mol/kg, within 3 % of handbook tables.
//
// Source: mccleskey2012, eqs. 1 to 3; ions without coefficients fall off by
// Onsager's law with the denominator 1 + 1.5 √I, robinson1959, eq. 7.36.
//
// Departs: coefficients fitted to handbook tables, see mobilities.
func ConductivityMSCm25(w *Water) float64 {
	root := math.Sqrt(w.IonicStrength)
	var sum float64
	for s, m := range w.Species[:firstNeutral] {
		if m <= 0 {
			continue
		}
		if v := &mobilities[s]; v.limit > 0 {
			sum += m * math.Max(0, v.limit-v.a*root/(1+v.b*root))
			continue
		}
		z := math.Abs(speciesTable[s].charge)
		per := limiting[s] / z // per charge
		per -= (0.229*per + 30.1*z) * root / (1 + 1.5*root)
		sum += m * z * math.Max(0, per)
	}
	return sum
}
