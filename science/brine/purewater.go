package brine

import "math"

const (
	kelvin   = 273.15      // °C to K
	refK     = 298.15      // reference temperature of the tables [K]
	gasJ     = 8.314462618 // gas constant [J/mol/K], CODATA 2018
	ln10     = math.Ln10
	waterMol = 18.015e-3 // molar mass of water [kg/mol]
	oneAtm   = 1.01325   // one atmosphere [bar]
)

// PureWaterDensityKgL returns the density of air-free water at one atmosphere
// [kg/L]:
//
//	ρ = (999.83952 + 16.945176 t − 7.9870401e-3 t² − 46.170461e-6 t³
//	     + 105.56302e-9 t⁴ − 280.54253e-12 t⁵) / (1 + 16.879850e-3 t)
//
// where tempC is t [°C].
//
// Valid for 0 ≤ tempC ≤ 150; below it extrapolates into supercooled water.
//
// Source: kell1975, J. Chem. Eng. Data 20:97, eq. 16.
func PureWaterDensityKgL(tempC float64) float64 {
	t := tempC
	return 1e-3 * (999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9-280.54253e-12*t))))) /
		(1 + 16.879850e-3*t)
}

// dielectric returns the dielectric constant of water ε [1] and its relative
// change with pressure dlnε/dP [1/bar] at one atmosphere, where tK is the
// temperature [K].
//
// Source: bradley1979, Bradley & Pitzer, J. Phys. Chem. 83:1599, eq. 1 and
// table 1.
func dielectric(tK float64) (eps, dlnEpsDP float64) {
	eps1000 := 342.79 * math.Exp(tK*(-5.0866e-3+9.4690e-7*tK))
	c := -2.0525 + 3115.9/(tK-182.89)
	b := -8032.5 + 4.2142e6/tK + 2.1417*tK
	eps = eps1000 + c*math.Log((b+oneAtm)/(b+1000))
	return eps, c / (b + oneAtm) / eps
}

// DebyeHueckelAphi returns the Debye-Hückel slope for the osmotic coefficient
// of water at one atmosphere [kg^½/mol^½]:
//
//	Aφ = ⅓ √(2π N ρ) (e² / (4π ε₀ ε k T))^(3/2)
//
// where tempC is the temperature [°C].
//
// Source: bradley1979, eq. 2, with the density of kell1975.
func DebyeHueckelAphi(tempC float64) float64 {
	const (
		avogadro  = 6.02214076e23    // CODATA 2018
		charge    = 1.602176634e-19  // C
		boltzmann = 1.380649e-23     // J/K
		vacuum    = 8.8541878128e-12 // F/m
	)
	tK := tempC + kelvin
	eps, _ := dielectric(tK)
	bjerrum := charge * charge / (4 * math.Pi * vacuum * eps * boltzmann * tK) // m
	rho := 1000 * PureWaterDensityKgL(tempC)                                   // kg/m³
	return math.Sqrt(2*math.Pi*avogadro*rho) * bjerrum * math.Sqrt(bjerrum) / 3
}
