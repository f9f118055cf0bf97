package medium

import (
	"math"

	"sodalake/science/brine"
)

// Analysis is what is known of a source water. Zero is not measured, except
// where the fields beside it make it plain that it was.
type Analysis struct {
	HardnessMgL    float64 // calcium and magnesium, as CaCO3 [mg/L]
	CalciumMgL     float64 // [mg/L]
	MagnesiumMgL   float64 // [mg/L]
	SodiumMgL      float64 // [mg/L]
	PotassiumMgL   float64 // [mg/L]
	AlkalinityMeqL float64 // acid taken up down to pH 4.5 [meq/L]
	ChlorideMgL    float64 // [mg/L]
	SulfateMgL     float64 // [mg/L]
	NitrateMgL     float64 // as NO3 [mg/L]
	PhosphateMgL   float64 // as PO4 [mg/L]
	ConductivityMS float64 // at 25 °C [mS/cm]
}

// Water is a source water as the chemistry needs it.
type Water struct {
	PerL    brine.Totals // [mol/L]
	Assumed []string     // what was filled in for what was not measured
}

// Hardness units, in mg/L as CaCO3 [mg/L].
//
// Source: the definitions: a German degree is 10 mg/L of CaO, a French one
// 10 mg/L of CaCO3, an English one a grain in an imperial gallon, and a grain
// in a US gallon; with the IUPAC weights.
const (
	HardnessMmol   = 100.086 // a millimole of calcium and magnesium in a litre
	GermanDegree   = 10 * 100.086 / 56.077
	FrenchDegree   = 10.0
	EnglishDegree  = 64.79891 / 4.54609
	GrainPerGallon = 64.79891 / 3.785411784
)

// HardnessMgL returns the hardness as CaCO3 [mg/L] of a water with calciumMgL
// of calcium [mg/L] and magnesiumMgL of magnesium [mg/L]:
//
//	H = 2.497 Ca + 4.118 Mg
//
// Source: the weights of CaCO3, Ca and Mg.
func HardnessMgL(calciumMgL, magnesiumMgL float64) float64 {
	return HardnessMmol * (calciumMgL/40.078 + magnesiumMgL/24.305)
}

// Prepare turns an analysis into totals whose charges balance. Where only the
// hardness is known, three quarters of it is taken as calcium; where no
// alkalinity is known, the whole hardness is taken as bicarbonate's. What the
// analysis leaves open is closed with sodium or chloride.
//
// The error is an *InputError: a figure that is negative, no number, or beyond
// any water that a medium is mixed from.
//
// Source: the two assumptions are common practice, no source; 10 meq/L for a
// mS/cm, standardmethods1030 (from memory), a rule for checking analyses.
func (a *Analysis) Prepare() (Water, error) {
	var w Water
	t := &w.PerL
	for _, f := range []struct {
		name string
		x    float64
		most float64
	}{
		{"hardness_mg_per_l", a.HardnessMgL, 20000}, {"calcium_mg_per_l", a.CalciumMgL, 20000}, {"magnesium_mg_per_l", a.MagnesiumMgL, 20000},
		{"sodium_mg_per_l", a.SodiumMgL, 50000}, {"potassium_mg_per_l", a.PotassiumMgL, 20000}, {"alkalinity_meq_per_l", a.AlkalinityMeqL, 500},
		{"chloride_mg_per_l", a.ChlorideMgL, 50000}, {"sulfate_mg_per_l", a.SulfateMgL, 50000}, {"nitrate_mg_per_l", a.NitrateMgL, 5000},
		{"phosphate_mg_per_l", a.PhosphateMgL, 5000}, {"conductivity_ms_per_cm", a.ConductivityMS, 100},
	} {
		if !(f.x >= 0) || f.x > f.most {
			return w, wrong(f.name, "", "%s %.6g must be between 0 and %.6g", f.name, f.x, f.most)
		}
	}
	t[brine.Ca], t[brine.Mg] = a.CalciumMgL/40.078/1000, a.MagnesiumMgL/24.305/1000
	if a.HardnessMgL > 0 {
		hard := a.HardnessMgL / HardnessMmol / 1000
		known := t[brine.Ca] + t[brine.Mg]
		switch {
		case a.CalciumMgL > 0 && a.MagnesiumMgL > 0:
			if math.Abs(known-hard) > 0.15*hard {
				return w, wrong("hardness_mg_per_l", "one of the three was misread, or the hardness is in degrees",
					"hardness_mg_per_l %.4g does not fit calcium and magnesium, which make %.4g", a.HardnessMgL, known*HardnessMmol*1000)
			}
		case a.CalciumMgL > 0:
			t[brine.Mg] = max(0, hard-t[brine.Ca])
		case a.MagnesiumMgL > 0:
			t[brine.Ca] = max(0, hard-t[brine.Mg])
		default:
			t[brine.Ca], t[brine.Mg] = 0.75*hard, 0.25*hard
			w.Assumed = append(w.Assumed, "three quarters of the hardness taken as calcium, the rest as magnesium")
		}
	}
	t[brine.Na], t[brine.K] = a.SodiumMgL/22.990/1000, a.PotassiumMgL/39.098/1000
	t[brine.Cl], t[brine.SO4] = a.ChlorideMgL/35.45/1000, a.SulfateMgL/96.056/1000
	t[brine.NO3], t[brine.PO4] = a.NitrateMgL/62.004/1000, a.PhosphateMgL/94.970/1000
	alk := a.AlkalinityMeqL / 1000
	if alk <= 0 {
		alk = 2 * (t[brine.Ca] + t[brine.Mg])
		if alk > 0 {
			w.Assumed = append(w.Assumed, "the whole hardness taken as bicarbonate: its alkalinity was not measured")
		}
	}
	// Water at pH 7 to 8 holds nearly all of its alkalinity as bicarbonate.
	t[brine.DIC] = alk
	if a.ConductivityMS > 0 {
		// A millisiemens is about 10 meq/L of salts; what the rest does not make up is
		// taken as table salt.
		if rest := 0.01*a.ConductivityMS - (2*t[brine.Ca] + 2*t[brine.Mg] + t[brine.Na] + t[brine.K]); rest > 0.0005 {
			t[brine.Na] += rest
			t[brine.Cl] += rest
			w.Assumed = append(w.Assumed, "what the conductivity shows beyond the analysis is taken as table salt")
		}
	}
	missing := alk - t.AlkalinityEqKg() // charge of the metals that are not told
	if missing > 0 {
		t[brine.Na] += missing
	} else {
		t[brine.Cl] -= missing
	}
	if math.Abs(missing) > 0.0005 {
		w.Assumed = append(w.Assumed, "what the analysis leaves open is closed with sodium or chloride")
	}
	return w, nil
}
