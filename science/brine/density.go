package brine

import "math"

// volume is the apparent molar volume of one species over temperature and
// ionic strength, as of appelo2014: a₁ to a₄ and the Born term W give it in
// pure water, å is the ion size in the Debye-Hückel term (0 for anions), and
// i₁ to i₄ the rest of its rise with ionic strength.
type volume struct{ a1, a2, a3, a4, w, size, i1, i2, i3, i4 float64 }

// molarMass [g/mol] of each species, hydration water of B(OH)₄⁻ and of OH in
// complexes included, and its volume.
//
// Source: appelo2014, Appelo, Parkhurst & Post, Geochim. Cosmochim. Acta
// 125:49, with the numbers of the data files of the United States Geological
// Survey's geochemistry code. Species without numbers there take those of a
// like one: nitrite like nitrate, complexes the sum of their parts without an
// ionic strength term (from memory for EDTA and urea: 44 cm³/mol for urea).
var bulk = [NSpecies]struct {
	mass float64
	v    volume
}{
	SpH:        {1.008, volume{}},
	SpNa:       {22.990, volume{2.28, -4.38, -4.1, -0.586, 0.09, 4, 0.3, 52, -3.33e-3, 0.566}},
	SpK:        {39.098, volume{3.322, -1.473, 6.534, -2.712, 9.06e-2, 3.5, 0, 29.7, 0, 1}},
	SpNH4:      {18.039, volume{5.35, 2.345, 3.72, -2.88, 1.55, 2.5, -4.54, 217, 2.344e-2, 0.569}},
	SpCa:       {40.078, volume{-0.3456, -7.252, 6.149, -2.479, 1.239, 5, 1.6, -57.1, -6.12e-3, 1}},
	SpMg:       {24.305, volume{-1.41, -8.6, 11.13, -2.39, 1.332, 5.5, 1.29, -32.9, -5.86e-3, 1}},
	SpMgOH:     {41.312, constantVolume(-24)},
	SpCaOH:     {57.085, constantVolume(-21)},
	SpCaHCO3:   {101.095, volume{30.19, 0.01, 5.75, -2.78, 0.308, 5.4, 0, 0, 0, 1}},
	SpMgHCO3:   {85.322, volume{2.7171, -1.1469, 6.2008, -2.7316, 0.5985, 4, 0, 0, 0, 1}},
	SpCaH2PO4:  {137.065, constantVolume(11)},
	SpMgH2PO4:  {121.292, constantVolume(8)},
	SpOH:       {17.007, volume{-9.66, 28.5, 80, -22.9, 1.89, 0, 1.09, 0, 0, 1}},
	SpCl:       {35.45, volume{4.465, 4.801, 4.325, -2.847, 1.748, 0, -0.331, 20.16, 0, 1}},
	SpSO4:      {96.056, volume{-7.77, 43.17, 176, -51.45, 3.794, 0, 4.97, 20.5, -5.77e-2, 0.45}},
	SpHSO4:     {97.064, volume{8.2, 9.259, 2.1108, -3.1618, 1.1748, 0, -0.3, 15, 0, 1}},
	SpNO3:      {62.004, volume{6.32, 6.78, 0, -3.06, 0.346, 0, 0.93, 0, -0.012, 1}},
	SpNO2:      {46.005, volume{5.5864, 5.859, 3.4472, -3.0212, 1.1847, 0, 0, 0, 0, 1}},
	SpHCO3:     {61.016, volume{9.463, -2.49, -11.92, 0, 1.63, 0, 0, 130, 0, 0.691}},
	SpCO3:      {60.008, volume{8.569, -10.4, -19.38, 3e-4, 4.61, 0, 2.99, 0, -3.23e-2, 0.872}},
	SpH2PO4:    {96.986, volume{5.58, 8.06, 12.2, -3.11, 1.3, 0, 0, 0, 1.62e-2, 1}},
	SpHPO4:     {95.978, volume{3.52, 1.09, 8.39, -2.82, 3.34, 0, 0, 0, 0, 1}},
	SpPO4:      {94.970, volume{1.24, -9.07, 9.31, -2.4, 5.61, 0, 0, 0, -1.41e-2, 1}},
	SpBOH4:     {78.838, constantVolume(22)},
	SpCaPO4:    {135.048, constantVolume(-48)},
	SpMgPO4:    {119.275, constantVolume(-51)},
	SpNaSO4:    {119.046, constantVolume(18)},
	SpKSO4:     {135.154, constantVolume(30)},
	SpH2EDTA:   {290.228, constantVolume(170)},
	SpHEDTA:    {289.220, constantVolume(160)},
	SpEDTA:     {288.212, constantVolume(150)},
	SpNaEDTA:   {311.202, constantVolume(155)},
	SpKEDTA:    {327.310, constantVolume(165)},
	SpCaEDTA:   {328.290, constantVolume(160)},
	SpMgEDTA:   {312.517, constantVolume(155)},
	SpFeEDTA:   {344.057, constantVolume(170)},
	SpFeOHEDTA: {361.064, constantVolume(165)},
	SpCO2:      {44.009, volume{7.29, 0.92, 2.07, -1.23, -1.6, 0, 0, 0, 0, 1}},
	SpNH3:      {17.031, volume{6.69, 2.8, 3.58, -2.88, 1.43, 0, 0, 0, 0, 1}},
	SpUrea:     {60.056, constantVolume(44)},
	SpBOH3:     {61.831, volume{7.0643, 8.8547, 3.5844, -3.1451, -0.2, 0, 0, 0, 0, 1}},
	SpH3PO4:    {97.994, volume{7.47, 12.4, 6.29, -3.29, 0, 0, 0, 0, 0, 1}},
	SpMgCO3:    {84.313, volume{-0.5837, -9.2067, 9.3687, -2.3984, -0.03, 0, 0, 0, 0, 1}},
	SpCaCO3:    {100.086, volume{-0.243, -8.3748, 9.0417, -2.4328, -0.03, 0, 0, 0, 0, 1}},
	SpCaSO4:    {136.134, volume{2.791, -0.9666, 6.13, -2.739, -0.001, 0, 0, 0, 0, 1}},
	SpMgSO4:    {120.361, constantVolume(-7)},
	SpCaHPO4:   {136.056, constantVolume(-10)},
	SpMgHPO4:   {120.283, constantVolume(-13)},
}

// constantVolume is a molar volume [cm³/mol] that nothing changes.
func constantVolume(cm3 float64) volume { return volume{a1: cm3 / 4.184} }

// DensityKgL returns the density of a solved water w [kg/L] at one atmosphere
// and tempC [°C], from the apparent molar volumes V of what is in it:
//
//	ρ = (1000 + Σ mᵢ Mᵢ) / (1000/ρ₀ + Σ mᵢ Vᵢ)   (ρ in g/cm³, M in g/mol)
//	V = 41.84 (0.1 a₁ + 100 a₂/(2600+P) + a₃/(T−228) + 10⁴ a₄/((2600+P)(T−228)) − W Q)
//	    + z²/2 A_v √I/(1 + å B √I) + (i₁ + i₂/(T−228) + i₃(T−228)) I^i₄
//
// Valid from 0 to 50 °C; within 0.001 kg/L of handbook tables up to 5 % by mass
// of common salts.
//
// Source: appelo2014, eqs. 5 to 9; the limiting slope A_v from bradley1979.
func DensityKgL(w *Water, tempC float64) float64 {
	tK := tempC + kelvin
	eps, dLnEps := dielectric(tK)
	rho := PureWaterDensityKgL(tempC)
	const (
		compressibility = 4.56e-5 // of water at 25 °C [1/bar]; it enters the slope only
		gasBar          = 83.14463
	)
	aphi := DebyeHueckelAphi(tempC)
	av := 4 * gasBar * tK * aphi * (1.5*dLnEps - compressibility/2) // cm³ kg^½/mol^1.5
	born := 1e5 * dLnEps / eps                                      // Q, with W in 1e5 cal/mol
	db := 50.29 * math.Sqrt(rho/(eps*tK))
	root := math.Sqrt(w.IonicStrength)
	p, dt := 2600+oneAtm, tK-228
	var mass, vol float64
	for s, m := range w.Species {
		if m <= 0 {
			continue
		}
		v := &bulk[s].v
		x := 41.84 * (0.1*v.a1 + 100*v.a2/p + v.a3/dt + 1e4*v.a4/(p*dt) - v.w*born)
		x += chargeSquared[s] / 2 * av * root / (1 + v.size*db*root)
		if v.i1 != 0 || v.i2 != 0 || v.i3 != 0 {
			x += (v.i1 + v.i2/dt + v.i3*dt) * math.Pow(w.IonicStrength, v.i4)
		}
		mass += m * bulk[s].mass
		vol += m * x
	}
	return (1000 + mass) / (1000/rho + vol)
}
