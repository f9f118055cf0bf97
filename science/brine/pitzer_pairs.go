package brine

// kind tells what an interaction parameter multiplies.
type kind uint8

const (
	beta0  kind = iota // a cation with an anion
	beta1              // the same, falling off with √I
	beta2              // the same for two doubly charged ions
	cphi               // a cation with an anion, three at a time
	theta              // two cations or two anions
	psi                // two cations with an anion or two anions with a cation
	lambda             // a neutral species with an ion or with itself
	zeta               // a neutral species with a cation and an anion
)

// provenance says where a parameter was published.
type provenance uint8

const (
	// usgs: the Pitzer data file of the United States Geological Survey's
	// geochemistry code, which carries harvie1984 with the refits of
	// appelo2015 (Appl. Geochem. 55:62) and plummer1988 (USGS WRI 88-4153).
	usgs provenance = iota
	// hmw: harvie1984, Harvie, Moller & Weare, Geochim. Cosmochim. Acta
	// 48:723, with temperature terms of peiper1982, Peiper & Pitzer, J. Chem.
	// Thermodyn. 14:613.
	hmw
	// mayorga: pitzer1973, Pitzer & Mayorga, J. Phys. Chem. 77:2300, tables
	// I and VI (nitrate, nitrite, ammonium chloride); from memory.
	mayorga
	// thereda: phosphate, THEREDA thermodynamic reference database, 2020.
	thereda
	// likeK: ammonium taken like potassium with bicarbonate and hydroxide, no
	// source. With carbonate it is left without: the free ammonia of published
	// runs, made without any of these, lies close by.
	likeK
)

// parameter is one interaction of two or three species with its course over
// temperature:
//
//	P(T) = a₀ + a₁(1/T − 1/Tᵣ) + a₂ ln(T/Tᵣ) + a₃(T − Tᵣ) + a₄(T² − Tᵣ²) + a₅(1/T² − 1/Tᵣ²)
//
// with T in kelvin and Tᵣ = 298.15 K.
type coef = [6]float64

type parameter struct {
	kind kind
	of   [3]Species // the third only for psi and zeta
	a    coef
	src  provenance
}

// pairParameters are the interactions of one cation with one anion.
var pairParameters = []parameter{
	{beta0, [3]Species{SpBOH4, SpK}, coef{0.035}, usgs},
	{beta0, [3]Species{SpBOH4, SpNa}, coef{-0.0427}, usgs},
	{beta0, [3]Species{SpCO3, SpK}, coef{0.1488, 0, 0, 0.001788}, usgs},
	{beta0, [3]Species{SpCO3, SpNa}, coef{0.0399, 0, 0, 0.00179}, usgs},
	{beta0, [3]Species{SpCa, SpCl}, coef{0.3159, 0, 0, -0.000327, 1.4e-07}, usgs},
	{beta0, [3]Species{SpCa, SpHCO3}, coef{0.4}, usgs},
	{beta0, [3]Species{SpCa, SpHSO4}, coef{0.2145}, usgs},
	{beta0, [3]Species{SpCa, SpNO3}, coef{0.2108}, mayorga},
	{beta0, [3]Species{SpCa, SpOH}, coef{-0.1747}, usgs},
	{beta0, [3]Species{SpCl, SpH}, coef{0.1775, 0, 0, -0.0003081}, usgs},
	{beta0, [3]Species{SpCl, SpK}, coef{0.04808, -758.48, -4.7062, 0.010072, -3.7599e-06}, usgs},
	{beta0, [3]Species{SpCl, SpMg}, coef{0.351, 0, 0, -0.000932, 5.94e-07}, usgs},
	{beta0, [3]Species{SpCl, SpMgOH}, coef{-0.1}, usgs},
	{beta0, [3]Species{SpCl, SpNH4}, coef{0.0522}, mayorga},
	{beta0, [3]Species{SpCl, SpNa}, coef{0.07534, 9598.4, 35.48, -0.058731, 1.798e-05, -500000}, usgs},
	{beta0, [3]Species{SpH, SpHSO4}, coef{0.2065}, usgs},
	{beta0, [3]Species{SpH, SpSO4}, coef{0.0298}, usgs},
	{beta0, [3]Species{SpH2PO4, SpK}, coef{-0.11116}, thereda},
	{beta0, [3]Species{SpH2PO4, SpNa}, coef{-0.0436}, thereda},
	{beta0, [3]Species{SpHCO3, SpK}, coef{0.0296, 0, 0, 0.000996}, usgs},
	{beta0, [3]Species{SpHCO3, SpMg}, coef{0.329}, usgs},
	{beta0, [3]Species{SpHCO3, SpNH4}, coef{0.0296}, likeK},
	{beta0, [3]Species{SpHCO3, SpNa}, coef{0.0277, 0, 0, 0.001}, hmw},
	{beta0, [3]Species{SpHPO4, SpK}, coef{0.05884}, thereda},
	{beta0, [3]Species{SpHPO4, SpNa}, coef{-0.0172}, thereda},
	{beta0, [3]Species{SpHSO4, SpK}, coef{-0.0003}, usgs},
	{beta0, [3]Species{SpHSO4, SpMg}, coef{0.4746}, usgs},
	{beta0, [3]Species{SpHSO4, SpNa}, coef{0.0454}, usgs},
	{beta0, [3]Species{SpK, SpNO3}, coef{-0.0816}, mayorga},
	{beta0, [3]Species{SpK, SpOH}, coef{0.1298}, usgs},
	{beta0, [3]Species{SpK, SpPO4}, coef{0.24164}, thereda},
	{beta0, [3]Species{SpK, SpSO4}, coef{0.0317, 0, 0, 0.000928}, usgs},
	{beta0, [3]Species{SpMg, SpNO3}, coef{0.3671}, mayorga},
	{beta0, [3]Species{SpMg, SpSO4}, coef{0.2135, -951, 0, -0.0234, 2.28e-05}, usgs},
	{beta0, [3]Species{SpNH4, SpOH}, coef{0.1298}, likeK},
	{beta0, [3]Species{SpNO3, SpNa}, coef{0.0068}, mayorga},
	{beta0, [3]Species{SpNa, SpOH}, coef{0.0864, 0, 0, 0.0007}, usgs},
	{beta0, [3]Species{SpNa, SpPO4}, coef{0.15641}, thereda},
	{beta0, [3]Species{SpNa, SpSO4}, coef{0.0273, 0, -5.8, 0.00989, 0, -156300}, usgs},
	{beta0, [3]Species{SpNa, SpNO2}, coef{0.0641}, mayorga},
	{beta0, [3]Species{SpK, SpNO2}, coef{0.0151}, mayorga},
	{beta1, [3]Species{SpBOH4, SpK}, coef{0.14}, usgs},
	{beta1, [3]Species{SpBOH4, SpNa}, coef{0.089}, usgs},
	{beta1, [3]Species{SpCO3, SpK}, coef{1.43, 0, 0, 0.002051}, usgs},
	{beta1, [3]Species{SpCO3, SpNa}, coef{1.389, 0, 0, 0.00205}, usgs},
	{beta1, [3]Species{SpCa, SpCl}, coef{1.614, 0, 0, 0.00763, -8.19e-07}, usgs},
	{beta1, [3]Species{SpCa, SpHCO3}, coef{2.977}, usgs},
	{beta1, [3]Species{SpCa, SpHSO4}, coef{2.53}, usgs},
	{beta1, [3]Species{SpCa, SpNO3}, coef{1.4093}, mayorga},
	{beta1, [3]Species{SpCa, SpOH}, coef{-0.2303}, usgs},
	{beta1, [3]Species{SpCa, SpSO4}, coef{3.546, 0, 0, 0.00577}, usgs},
	{beta1, [3]Species{SpCl, SpH}, coef{0.2945, 0, 0, 0.0001419}, usgs},
	{beta1, [3]Species{SpCl, SpK}, coef{0.2168, 0, -6.895, 0.02262, -9.293e-06, -100000}, usgs},
	{beta1, [3]Species{SpCl, SpMg}, coef{1.65, 0, 0, -0.0109, 2.6e-05}, usgs},
	{beta1, [3]Species{SpCl, SpMgOH}, coef{1.658}, usgs},
	{beta1, [3]Species{SpCl, SpNH4}, coef{0.1918}, mayorga},
	{beta1, [3]Species{SpCl, SpNa}, coef{0.2769, 13770, 46.8, -0.069512, 2e-05, -748230}, usgs},
	{beta1, [3]Species{SpH, SpHSO4}, coef{0.5556}, usgs},
	{beta1, [3]Species{SpH2PO4, SpK}, coef{0.04699}, thereda},
	{beta1, [3]Species{SpH2PO4, SpNa}, coef{-0.03389}, thereda},
	{beta1, [3]Species{SpHCO3, SpK}, coef{0.25, 0, 0, 0.001104}, usgs},
	{beta1, [3]Species{SpHCO3, SpMg}, coef{0.6072}, usgs},
	{beta1, [3]Species{SpHCO3, SpNH4}, coef{0.25}, likeK},
	{beta1, [3]Species{SpHCO3, SpNa}, coef{0.0411, 0, 0, 0.001104}, hmw},
	{beta1, [3]Species{SpHPO4, SpK}, coef{1.06932}, thereda},
	{beta1, [3]Species{SpHPO4, SpNa}, coef{1.2116}, thereda},
	{beta1, [3]Species{SpHSO4, SpK}, coef{0.1735}, usgs},
	{beta1, [3]Species{SpHSO4, SpMg}, coef{1.729}, usgs},
	{beta1, [3]Species{SpHSO4, SpNa}, coef{0.398}, usgs},
	{beta1, [3]Species{SpK, SpNO3}, coef{0.0494}, mayorga},
	{beta1, [3]Species{SpK, SpOH}, coef{0.32}, usgs},
	{beta1, [3]Species{SpK, SpPO4}, coef{5.65323}, thereda},
	{beta1, [3]Species{SpK, SpSO4}, coef{0.756, -15140, -80.3, 0.1091}, usgs},
	{beta1, [3]Species{SpMg, SpNO3}, coef{1.5848}, mayorga},
	{beta1, [3]Species{SpMg, SpSO4}, coef{3.367, -5780, 0, -0.148, 0.0001576}, usgs},
	{beta1, [3]Species{SpNH4, SpOH}, coef{0.32}, likeK},
	{beta1, [3]Species{SpNO3, SpNa}, coef{0.1783}, mayorga},
	{beta1, [3]Species{SpNa, SpOH}, coef{0.253, 0, 0, 0.000134}, usgs},
	{beta1, [3]Species{SpNa, SpPO4}, coef{3.9397}, thereda},
	{beta1, [3]Species{SpNa, SpSO4}, coef{0.956, 2663, 0, 0.01158, 0, -319400}, usgs},
	{beta1, [3]Species{SpNa, SpNO2}, coef{0.1015}, mayorga},
	{beta1, [3]Species{SpK, SpNO2}, coef{0.015}, mayorga},
	{beta2, [3]Species{SpCa, SpCl}, coef{-1.13, 0, 0, -0.0476}, usgs},
	{beta2, [3]Species{SpCa, SpOH}, coef{-5.72}, usgs},
	{beta2, [3]Species{SpCa, SpSO4}, coef{-59.3, 0, 0, -0.443, -3.96e-06}, usgs},
	{beta2, [3]Species{SpMg, SpSO4}, coef{-32.45, 0, -3236, 21.812, -0.018859}, usgs},
	{cphi, [3]Species{SpBOH4, SpNa}, coef{0.0114}, usgs},
	{cphi, [3]Species{SpCO3, SpK}, coef{-0.0015}, usgs},
	{cphi, [3]Species{SpCO3, SpNa}, coef{0.0044}, usgs},
	{cphi, [3]Species{SpCa, SpCl}, coef{0.00014, -57, -0.098, -0.000783, 7.18e-07}, usgs},
	{cphi, [3]Species{SpCa, SpNO3}, coef{-0.02014}, mayorga},
	{cphi, [3]Species{SpCa, SpSO4}, coef{0.114}, usgs},
	{cphi, [3]Species{SpCl, SpH}, coef{0.0008, 0, 0, 6.213e-05}, usgs},
	{cphi, [3]Species{SpCl, SpK}, coef{-0.000788, 91.27, 0.58643, -0.001298, 4.9567e-07}, usgs},
	{cphi, [3]Species{SpCl, SpMg}, coef{0.00651, 0, 0, -0.00025, 2.418e-07}, usgs},
	{cphi, [3]Species{SpCl, SpNH4}, coef{-0.00301}, mayorga},
	{cphi, [3]Species{SpCl, SpNa}, coef{0.00148, -120.5, -0.2081, 0, 1.166e-07, 11121}, usgs},
	{cphi, [3]Species{SpH, SpSO4}, coef{0.0438}, usgs},
	{cphi, [3]Species{SpH2PO4, SpK}, coef{0.0197}, thereda},
	{cphi, [3]Species{SpH2PO4, SpNa}, coef{0.00605}, thereda},
	{cphi, [3]Species{SpHCO3, SpK}, coef{-0.008}, usgs},
	{cphi, [3]Species{SpHCO3, SpNH4}, coef{-0.008}, likeK},
	{cphi, [3]Species{SpHPO4, SpK}, coef{0.00012}, thereda},
	{cphi, [3]Species{SpHPO4, SpNa}, coef{0.00585}, thereda},
	{cphi, [3]Species{SpK, SpNO3}, coef{0.0066}, mayorga},
	{cphi, [3]Species{SpK, SpOH}, coef{0.0041}, usgs},
	{cphi, [3]Species{SpK, SpPO4}, coef{-0.00944}, thereda},
	{cphi, [3]Species{SpK, SpSO4}, coef{0.00818, -625, -3.3, 0.00406}, usgs},
	{cphi, [3]Species{SpMg, SpNO3}, coef{-0.02062}, mayorga},
	{cphi, [3]Species{SpMg, SpSO4}, coef{0.02875, 0, -2.084, 0.011428, -8.228e-06}, usgs},
	{cphi, [3]Species{SpNH4, SpOH}, coef{0.0041}, likeK},
	{cphi, [3]Species{SpNO3, SpNa}, coef{-0.00072}, mayorga},
	{cphi, [3]Species{SpNa, SpOH}, coef{0.0044, 0, 0, -0.0001894}, usgs},
	{cphi, [3]Species{SpNa, SpPO4}, coef{-0.03498}, thereda},
	{cphi, [3]Species{SpNa, SpSO4}, coef{0.003418, -384, 0, -0.0008451, 0, 51770}, usgs},
	{cphi, [3]Species{SpNa, SpNO2}, coef{-0.0049}, mayorga},
	{cphi, [3]Species{SpK, SpNO2}, coef{0.0007}, mayorga},
}
