package growth

import (
	"fmt"
	"strings"
)

// Name is how a parameter is called in files, its unit and its bounds.
type Name struct {
	Name    string   // with the unit in it: "ik_umol_m2_s"
	Unit    string   // for people: "µmol/m²/s"
	Aliases []string // other spellings that Set takes: the symbol of the structure, the field
	Low     float64  // least value that Validate takes [unit of its quantity]
	High    float64  // greatest value that Validate takes [unit of its quantity]
}

// field is one row of the table of parameters.
type field struct {
	Name, Unit string
	alias      string // separated by blanks
	low, high  float64
	at         func(*Params) *float64
}

// table ties names to fields; nothing changes it.
var table = [...]field{
	{"ik_umol_m2_s", "µmol/m²/s", "I_k", 10, 3000, func(p *Params) *float64 { return &p.IK }},
	{"yield_g_mol", "g/mol", "Y yield", 0.05, 5, func(p *Params) *float64 { return &p.Yield }},
	{"sigma_m2_g", "m²/g", "sigma", 0.005, 2, func(p *Params) *float64 { return &p.Sigma }},
	{"t_min_c", "°C", "T_min", -10, 30, func(p *Params) *float64 { return &p.TMin }},
	{"t_opt_c", "°C", "T_opt", 20, 50, func(p *Params) *float64 { return &p.TOpt }},
	{"t_max_c", "°C", "T_max", 20, 65, func(p *Params) *float64 { return &p.TMax }},
	{"maintenance_30_per_d", "1/d", "m30 maintenance_30", 0, 1, func(p *Params) *float64 { return &p.Maintenance30 }},
	{"night_share", "1", "phi_h phi", 0, 0.95, func(p *Params) *float64 { return &p.NightShare }},
	{"night_ratio", "1", "rho", 0.1, 20, func(p *Params) *float64 { return &p.NightRatio }},
	{"damage_rate_per_d", "1/d", "k_d damage_rate", 0, 1e4, func(p *Params) *float64 { return &p.DamageRate }},
	{"repair_rate_per_d", "1/d", "k_r repair_rate", 0.01, 1e3, func(p *Params) *float64 { return &p.RepairRate }},
	{"threshold", "1", "x_c", 0.05, 200, func(p *Params) *float64 { return &p.Threshold }},
	{"night_burn_per_d", "1/d", "k_q", 0, 100, func(p *Params) *float64 { return &p.KQ }},
	{"water_per_m", "1/m", "k_w k_water", 0, 50, func(p *Params) *float64 { return &p.KWater }},
	{"carbon_half_mm", "mM", "K_C k_carbon", 0, 100, func(p *Params) *float64 { return &p.KCarbon }},
	{"bleaching_per_d", "1/d", "k_b bleaching", 0, 20, func(p *Params) *float64 { return &p.Bleaching }},
	{"ammonia_onset_mm", "mM", "ammonia_onset", 0, 50, func(p *Params) *float64 { return &p.AmmoniaOnset }},
	{"ammonia_half_mm", "mM", "ammonia_half", 0, 100, func(p *Params) *float64 { return &p.AmmoniaHalf }},
	{"oxygen_onset_mg_l", "mg/L", "oxygen_onset", 0, 200, func(p *Params) *float64 { return &p.OxygenOnset }},
	{"oxygen_slope_l_mg", "L/mg", "oxygen_slope", 0, 1, func(p *Params) *float64 { return &p.OxygenSlope }},
	{"carbonate_flat_g_l", "g/L", "carbonate_flat", 0, 300, func(p *Params) *float64 { return &p.CarbonateFlat }},
	{"carbonate_slope_l_g", "L/g", "carbonate_slope", 0, 1, func(p *Params) *float64 { return &p.CarbonateSlope }},
	{"chloride_flat_g_l", "g/L", "chloride_flat", 0, 300, func(p *Params) *float64 { return &p.ChlorideFlat }},
	{"chloride_slope_l_g", "L/g", "chloride_slope", 0, 1, func(p *Params) *float64 { return &p.ChlorideSlope }},
	{"sulfate_flat_g_l", "g/L", "sulfate_flat", 0, 300, func(p *Params) *float64 { return &p.SulfateFlat }},
	{"sulfate_slope_l_g", "L/g", "sulfate_slope", 0, 1, func(p *Params) *float64 { return &p.SulfateSlope }},
	{"half_n_mm", "mM", "half_n K_N", 0, 50, func(p *Params) *float64 { return &p.HalfN }},
	{"half_p_mm", "mM", "half_p K_P", 0, 50, func(p *Params) *float64 { return &p.HalfP }},
	{"half_k_mm", "mM", "half_k K_K", 0, 50, func(p *Params) *float64 { return &p.HalfK }},
	{"half_mg_mm", "mM", "half_mg K_Mg", 0, 50, func(p *Params) *float64 { return &p.HalfMg }},
	{"half_s_mm", "mM", "half_s K_S", 0, 50, func(p *Params) *float64 { return &p.HalfS }},
	{"half_fe_mm", "mM", "half_fe K_Fe", 0, 5, func(p *Params) *float64 { return &p.HalfFe }},
	{"quotient", "mol/mol", "photosynthetic_quotient", 0.5, 2, func(p *Params) *float64 { return &p.Quotient }},
	{"composition_c_mol_g", "mol/g", "", 0.01, 0.06, func(p *Params) *float64 { return &p.Composition.C }},
	{"composition_n_mol_g", "mol/g", "", 0.001, 0.02, func(p *Params) *float64 { return &p.Composition.N }},
	{"composition_p_mol_g", "mol/g", "", 0, 0.005, func(p *Params) *float64 { return &p.Composition.P }},
	{"composition_s_mol_g", "mol/g", "", 0, 0.005, func(p *Params) *float64 { return &p.Composition.S }},
	{"composition_k_mol_g", "mol/g", "", 0, 0.005, func(p *Params) *float64 { return &p.Composition.K }},
	{"composition_mg_mol_g", "mol/g", "", 0, 0.005, func(p *Params) *float64 { return &p.Composition.Mg }},
	{"composition_ca_mol_g", "mol/g", "", 0, 0.005, func(p *Params) *float64 { return &p.Composition.Ca }},
	{"composition_fe_mol_g", "mol/g", "", 0, 0.001, func(p *Params) *float64 { return &p.Composition.Fe }},
}

// Names returns every parameter with its unit, spellings and bounds, in a
// fixed order. The slice is the caller's.
func Names() []Name {
	names := make([]Name, len(table))
	for i := range table {
		f := &table[i]
		names[i] = Name{f.Name, f.Unit, strings.Fields(f.alias), f.low, f.high}
	}
	return names
}

// UnknownNameError says that no parameter has this name.
type UnknownNameError struct {
	Name string // as it was given
	Hint string // the nearest known name, may be empty
}

// Error implements error.
func (e *UnknownNameError) Error() string {
	return fmt.Sprintf("parameter %q: unknown", e.Name)
}

// fold drops what people spell differently: case, blanks and marks.
func fold(s string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '_', '-', ' ', '.':
			return -1
		}
		return r
	}, strings.ToLower(s))
}

// lookup returns the field that name stands for, or nil.
func lookup(name string) *field {
	want := fold(name)
	if want == "" {
		return nil
	}
	for i := range table {
		f := &table[i]
		if fold(f.Name) == want {
			return f
		}
		for _, a := range strings.Fields(f.alias) {
			if fold(a) == want {
				return f
			}
		}
	}
	return nil
}

// Set gives the parameter called name, in any spelling of Names, the value
// [unit of its quantity], as Names gives it. A name that is not known is an
// *UnknownNameError, a value out of bounds a *ParamError; then p is unchanged.
// Values that only together make no sense are found by Validate.
func (p *Params) Set(name string, value float64) error {
	f := lookup(name)
	if f == nil {
		return &UnknownNameError{Name: name, Hint: hint(name)}
	}
	if !(value >= f.low && value <= f.high) {
		return &ParamError{f.Name, value, fmt.Sprintf("is outside %g to %g %s", f.low, f.high, f.Unit), ""}
	}
	*f.at(p) = value
	return nil
}

// Get returns the value [unit of its quantity] of the parameter called
// name, in any spelling of Names, and whether there is one.
func (p *Params) Get(name string) (value float64, ok bool) {
	f := lookup(name)
	if f == nil {
		return 0, false
	}
	return *f.at(p), true
}

// hint returns a known name that begins like the unknown one, or "".
func hint(name string) string {
	want := fold(name)
	for n := len(want); n >= 3; n-- {
		for i := range table {
			if strings.HasPrefix(fold(table[i].Name), want[:n]) {
				return table[i].Name
			}
		}
	}
	return ""
}
