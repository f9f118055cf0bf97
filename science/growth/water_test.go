package growth

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.6g, want %.6g ± %g (%s)", what, got, want, tol, source)
	}
}

func TestTemperature(t *testing.T) {
	m := NewModel(Default())
	const src = "Rosso et al. 1993: 1 at the optimum with no slope, 0 at the ends"
	near(t, "g(Topt)", m.Temperature(34), 1, 1e-12, src)
	near(t, "slope at Topt", (m.Temperature(34.01)-m.Temperature(33.99))/0.02, 0, 1e-4, src)
	near(t, "g below Tmin", m.Temperature(3), 0.02, 1e-15, "our floor")
	near(t, "g above Tmax", m.Temperature(50), 0.02, 1e-15, "our floor")
	near(t, "g(46.4)", m.Temperature(46.4), 0.02, 0.01, src)
	// Saturated rates: 2.1 by 60 kJ/mol (Karemore 2020), 2.4 proposed; the fit reaches 2.0.
	near(t, "g(30)/g(20)", m.Temperature(30)/m.Temperature(20), 2.1, 0.15, "Karemore et al. 2020, 60 kJ/mol between 20 and 30 °C")
	near(t, "60 kJ/mol", math.Exp(60000/8.314*(1/293.15-1/303.15)), 2.25, 0.01, "Arrhenius, for the line above")
	p := Default()
	near(t, "gross rate at the optimum", p.MuSat(), 2.4, 0.01, "our fit: 2.4 /d; net 2.14 observed, Kebede 1997")
	if m.Temperature(15) >= m.Temperature(16) || m.Temperature(40) <= m.Temperature(41) {
		t.Error("not rising below and falling above the optimum")
	}
}

func TestLimits(t *testing.T) {
	m := NewModel(Default())
	near(t, "carbon at 3.8 mM", m.Carbon(3.8), 0.6, 0.03, "about 0.6 at pH 10.9 in an 8 g/L farm water, after Belkin & Boussiba 1991")
	near(t, "carbon at K", m.Carbon(3), 0.5, 1e-12, "eq. 8 of the structure")
	near(t, "carbon in fresh medium", m.Carbon(100), 1, 0.001, "eq. 8: a fresh medium does not limit")
	near(t, "carbon, none", m.Carbon(0), 0, 0, "eq. 8")
	near(t, "carbon, without limit", m.Carbon(math.Inf(1)), 1, 0, "eq. 8")
	near(t, "carbon, on both sides of the shortcut", m.Carbon(1e6)-m.Carbon(1.000001e6), 0, 1e-11, "continuous")

	const ammonia = "Microorganisms 2024, 12:1542: IC50 44.4 mg/L NH3"
	near(t, "ammonia at 44.4 mg/L", m.Ammonia(44.4/17.031), 0.5, 0.005, ammonia)
	near(t, "ammonia at onset", m.Ammonia(1), 1, 0, "no effect to 1.0 mM; Converti et al. 2006: 1.7 mM total harmless")
	if f := m.Ammonia(1.7 * 0.55); f < 0.99 { // share 0.55 free at pH 9.5 in brine
		t.Errorf("1.7 mM total at pH 9.5 leaves %g (Converti et al. 2006: no inhibition)", f)
	}

	const oxygen = "Marquez et al. 1995: growth 36 % lower at 1.25 mM (40 mg/L)"
	near(t, "oxygen at 40 mg/L", m.Oxygen(1.25*32), 0.64, 1e-9, oxygen)
	near(t, "oxygen at 2 mg/L", m.Oxygen(2), 1, 0, oxygen)

	const kebede = "Kebede 1997, J. Appl. Phycol. 9: 2.14 /d at 13 g/L, 0.33 /d at 88 g/L in the worst salt (sulfate)"
	near(t, "salt at 13 g/L", m.Salt(13, 0, 0), 1, 0, kebede)
	near(t, "salt at 88 g/L with sulfate", m.Salt(13, 0, 75), 0.33/2.14, 1e-3, kebede)
	if c, h, s := m.Salt(75, 0, 0), m.Salt(0, 75, 0), m.Salt(0, 0, 75); !(c > h && h > s) {
		t.Errorf("order of tolerance %g %g %g, want bicarbonate > chloride > sulfate (%s)", c, h, s, kebede)
	}
	near(t, "Zarrouk's medium", m.Salt(16.8, 1, 1.2), 1, 0, "Zarrouk 1966: its own salts do no harm")
	near(t, "8 g/L farm formula with 5 g/L NaCl", m.Salt(8, 5, 1.2), 1, 0, "common practice, no source")
	const vonshak = "Vonshak et al. 1988, from memory: −25 to −50 % at 0.5–0.75 M NaCl"
	near(t, "0.5 M NaCl", m.Salt(13, 0.5*58.44, 0), 0.75, 0.05, vonshak)
	near(t, "0.75 M NaCl", m.Salt(13, 0.75*58.44, 0), 0.55, 0.08, vonshak)
	if m.Salt(300, 300, 300) != 0 {
		t.Error("salt factor below zero")
	}
	c, h, s := SaltsByAnion(200, 17.11, 7.04)
	near(t, "NaHCO3", c, 16.8, 0.01, "16.8 g/L is 0.2 M")
	near(t, "NaCl", h, 1, 0.001, "58.44 g/mol")
	near(t, "Na2SO4", s, 1, 0.001, "142.04 g/mol")
}

func TestNutrient(t *testing.T) {
	m := NewModel(Default())
	nan := math.NaN()
	rich := Nutrients{NMM: 30, PMM: 3, KMM: 20, MgMM: 0.8, SMM: 7, FeMM: 0.03}
	if f, which := m.Nutrient(&rich); f < 0.97 || which != None {
		t.Errorf("Zarrouk-like medium limited: %g by %v", f, which)
	}
	for _, r := range []struct {
		set  func(*Nutrients)
		want Nutrient
	}{
		{func(c *Nutrients) { c.NMM = 0.05 }, Nitrogen}, {func(c *Nutrients) { c.PMM = 0.005 }, Phosphorus},
		{func(c *Nutrients) { c.KMM = 0.02 }, Potassium}, {func(c *Nutrients) { c.MgMM = 0.01 }, Magnesium},
		{func(c *Nutrients) { c.SMM = 0.01 }, Sulphur}, {func(c *Nutrients) { c.FeMM = 0.0003 }, Iron},
	} {
		c := rich
		r.set(&c)
		f, which := m.Nutrient(&c)
		near(t, r.want.String(), f, 0.5, 1e-12, "Monod 1949: half the rate at the half-saturation")
		if which != r.want {
			t.Errorf("shortest is %v, want %v", which, r.want)
		}
	}
	gone := rich
	gone.PMM, gone.NMM = -1e-9, 0.05
	if f, which := m.Nutrient(&gone); f != 0 || which != Phosphorus {
		t.Errorf("no phosphate: %g by %v", f, which)
	}
	if f, which := m.Nutrient(&Nutrients{nan, nan, nan, nan, nan, nan}); f != 1 || which != None {
		t.Errorf("nothing known: %g by %v, want no limit", f, which)
	}
}

func TestComposition(t *testing.T) {
	c := DefaultComposition()
	const src = "carbon 47 %, nitrogen 10 %, … of dry matter over the atomic weights, worked by hand"
	near(t, "C mmol/g", 1000*c.C, 39.1, 0.05, src)
	near(t, "N mmol/g", 1000*c.N, 7.14, 0.005, src)
	near(t, "P mmol/g", 1000*c.P, 0.323, 0.0005, src)
	near(t, "Fe mmol/g", 1000*c.Fe, 0.00895, 0.00001, src)
	const alk = "Wolf-Gladrow et al. 2007, Mar. Chem. 106, explicit conservative form: +7.14 +0.32 +0.50 −0.51 −0.27 −0.15 eq/kg"
	near(t, "nitrate-fed", 1000*c.Alkalinity(1), 7.0, 0.05, alk)
	near(t, "urea-fed", 1000*c.Alkalinity(0), -0.1, 0.05, alk)
	near(t, "ammonium-fed", 1000*c.Alkalinity(-1), -7.25, 0.05, alk)
	// 2 NO3⁻ + … : nitrate to the level of ammonia frees 2 O2 per N.
	near(t, "quotients", Quotient(1)-Quotient(0), 2*0.173, 1e-12, "NO3⁻ + H2O + 2 H⁺ → NH4⁺ + 2 O2")
	near(t, "quotient of glucose-like matter", (4+2-2*1.0)/4, 1, 0, "CH2O gives one O2 per C")
	near(t, "Quotient(1)", Quotient(1), 1.38, 0.005, "degree of reduction of CH1.575O0.459N0.173, Cornet & Dussap 2009 (from memory)")
	// 1.72 g CO2 per g dry matter.
	near(t, "CO2 fixed per gram", c.C*44.01, 1.72, 0.01, src)
}

func TestUrea(t *testing.T) {
	const src = "first-order decay"
	near(t, "half life", UreaHydrolysis(1, math.Ln2, 1), 0.5, 1e-15, src)
	near(t, "slow start", UreaHydrolysis(4, 0.7, 1e-6)/1e-6, 2.8, 1e-5, src)
	near(t, "all", UreaHydrolysis(4, 0.7, 1000), 4, 1e-12, src)
	for _, v := range [][3]float64{{-1, 1, 1}, {1, -1, 1}, {1, 1, -1}, {0, 1, 1}} {
		near(t, "nothing", UreaHydrolysis(v[0], v[1], v[2]), 0, 0, src)
	}
	near(t, "250 g in 1000 L", 2*UreaHydrolysis(250/60.056, 0.7, 1e6), 8.3, 0.05, "250 g/m³ over 60.06 g/mol, two NH3 each")
	if !(UreaRate[0] < UreaRate[1] && UreaRate[1] < UreaRate[2]) {
		t.Error("UreaRate not in order")
	}
}

func TestHeat(t *testing.T) {
	for _, r := range []struct {
		tempC float64
		want  HeatLevel
	}{{39.9, HeatNone}, {40, HeatNone}, {40.1, HeatAct}, {43, HeatAct}, {43.1, HeatAlarm}} {
		if got := HeatOf(r.tempC); got != r.want {
			t.Errorf("HeatOf(%g) = %d, want %d (handbook: 43 °C a lethal risk)", r.tempC, got, r.want)
		}
	}
	near(t, "rate of death at 43 °C", HeatDeath(43), 0, 0, "handbook: a risk, not yet a loss")
	near(t, "left after six hours at 50 °C", math.Exp(-HeatDeath(50)/4), 0.6, 0.03, "judgement beside heatDeathPerK")
	near(t, "two hours at 42.5", HeatHarm(42.5, 2), 5, 1e-12, "time by excess over 40 °C")
	near(t, "cool", HeatHarm(39, 5), 0, 0, "no excess")
}

func TestOxygenSaturation(t *testing.T) {
	// EN 25814:1992 (ISO 5814), solubility L at 101.325 kPa and its correction K
	// per g/kg of salt, both in mg/L: C = L − K·S.
	const en = "EN 25814:1992 (ISO 5814), table of solubility and salt correction"
	for _, r := range []struct{ tempC, l, k, tol float64 }{
		{0, 14.6, 0.0875, 0.05}, {5, 12.8, 0.0739, 0.05}, {10, 11.3, 0.0632, 0.05}, {15, 10.1, 0.0545, 0.05},
		{16, 9.87, 0.0532, 0.01}, {20, 9.09, 0.0475, 0.01}, {25, 8.26, 0.0421, 0.01}, {30, 7.56, 0.0371, 0.01},
	} {
		near(t, "fresh", OxygenSaturation(r.tempC, 101.325, 0), r.l, r.tol, en)
		// K is one chord for all salt, the formula a curve: they meet near 40 g/kg
		// and at 35 differ by up to 0.12 mg/L, one per cent.
		near(t, "sea water", OxygenSaturation(r.tempC, 101.325, 35), r.l-35*r.k, 0.12, en)
	}
	// Other pressures by the standard's own rule, L (P − p_w)/(101.325 − p_w);
	// vapour pressures of water from steam tables.
	near(t, "25 °C, 80 kPa", OxygenSaturation(25, 80, 0), 8.26*(80-3.169)/(101.325-3.169), 0.012, en+", pressure rule; p_w 3.169 kPa")
	near(t, "10 °C, 70 kPa", OxygenSaturation(10, 70, 0), 11.29*(70-1.228)/(101.325-1.228), 0.02, en+", pressure rule; p_w 1.228 kPa")
	near(t, "boiling", OxygenSaturation(40, 5, 0), 0, 0, "no air left above the vapour")
}

func TestOxygenSteady(t *testing.T) {
	const src = "film model, worked by hand"
	near(t, "2.6 g/m²/h at 0.1 m/h", OxygenSteady(8, 2.6, 0.1, 1e9)-8, 26, 1e-9, src)
	near(t, "capped", OxygenSteady(8, 8, 0.1, OxygenBubbleMgL), 40, 0, src)
	near(t, "night", OxygenSteady(8, -0.3, 0.1, OxygenBubbleMgL), 5, 1e-9, src)
	near(t, "never negative", OxygenSteady(8, -3, 0.1, OxygenBubbleMgL), 0, 0, src)
	near(t, "no exchange", OxygenSteady(8, 1, 0, OxygenBubbleMgL), 40, 0, src)
	near(t, "no exchange at night", OxygenSteady(8, -1, 0, OxygenBubbleMgL), 0, 0, src)

	// A pond that gains 10 g/m²/d gives off about 2.6 g O2/m²/h at its peak.
	c := scene{latDeg: 14, dayOfY: 110, noon: 1900, tempC: 29, swingC: 3, pathM: 0.30, heldGL: 0.35}
	peak := 0.0
	gain := c.harvested(Default(), func(_ float64, _ *Light, s *State, r *Rates) {
		peak = math.Max(peak, r.OxygenMolPerGDay*s.DensityGL*1000*c.pathM*32/24)
	})
	near(t, "peak per 10 g/m²/d", peak*10/gain, 2.6, 0.4, "10 g dry at 39.1 mmol C, quotient 1.38, peak near twice the mean of 12 h, worked by hand")
}
