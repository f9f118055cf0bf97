package growth

// Composition is what a gram of dry matter takes out of the water and gives
// back when it burns.
type Composition struct {
	C  float64 // carbon [mol/g]
	N  float64 // nitrogen [mol/g]
	P  float64 // phosphorus [mol/g]
	S  float64 // sulphur [mol/g]
	K  float64 // potassium [mol/g]
	Mg float64 // magnesium [mol/g]
	Ca float64 // calcium [mol/g]
	Fe float64 // iron [mol/g]
}

// Molar masses [g/mol], IUPAC abridged standard atomic weights 2021.
const (
	massC, massN, massP, massS     = 12.011, 14.007, 30.974, 32.06
	massK, massMg, massCa, massFe  = 39.098, 24.305, 40.078, 55.845
	massNaHCO3, massNaCl, massNaSO = 84.006, 58.44, 142.04
)

// CompositionFromPercent returns the composition [mol/g] of dry matter with
// the given mass shares: c carbon [%], n nitrogen [%], p phosphorus [%],
// s sulphur [%], k potassium [%], mg magnesium [%], ca calcium [%], fe iron [%].
func CompositionFromPercent(c, n, p, s, k, mg, ca, fe float64) Composition {
	return Composition{
		C: c / 100 / massC, N: n / 100 / massN, P: p / 100 / massP, S: s / 100 / massS,
		K: k / 100 / massK, Mg: mg / 100 / massMg, Ca: ca / 100 / massCa, Fe: fe / 100 / massFe,
	}
}

// DefaultComposition returns C 47, N 10, P 1.0, S 0.8, K 2.0, Mg 0.33, Ca 0.3,
// Fe 0.05 % of dry matter with about 8 % ash, in mol/g.
//
// Source: rounded from the C-mole formula of cornet2009 (from memory) and the
// minerals of animals2023, table 2; ranges C 44–50, N 8–11.5, P 0.7–1.4 %.
func DefaultComposition() Composition {
	return CompositionFromPercent(47, 10, 1.0, 0.8, 2.0, 0.33, 0.3, 0.05)
}

// Alkalinity returns what a gram of new dry matter adds to the alkalinity of
// the water [eq/g], in the explicit conservative form: every conservative ion
// taken up counts with the opposite of its charge,
//
//	n N + P + 2 S − K − 2 Mg − 2 Ca
//
// where nitrogenSign is n: +1 for nitrate, 0 for urea, −1 for ammonium [1].
// It is for checks: water chemistry that carries totals gets the same by
// taking the ions out, and must not add it again.
//
// Source: wolfgladrow2007.
func (c *Composition) Alkalinity(nitrogenSign float64) float64 {
	return nitrogenSign*c.N + c.P + 2*c.S - c.K - 2*c.Mg - 2*c.Ca
}

// Quotient returns the oxygen given off per carbon fixed [mol/mol] by
// cells of the formula CH1.575 O0.459 N0.173:
//
//	(4 + 1.575 − 2·0.459 − 3·0.173 + 8·0.173 s)/4
//
// where nitrateShare is s, the share of the nitrogen taken up as nitrate
// rather than as ammonium or urea [1]: 1.38 for all, 1.03 for none.
//
// Source: degree of reduction, roels1983; formula of cornet2009 (from memory).
func Quotient(nitrateShare float64) float64 {
	const h, o, n = 1.575, 0.459, 0.173
	return (4 + h - 2*o - 3*n + 8*n*nitrateShare) / 4
}
