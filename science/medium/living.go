package medium

import (
	"fmt"
	"math"

	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
)

// Pond is a living water that is to be corrected.
type Pond struct {
	Totals      brine.Totals // [mol/kg water]
	KgWaterPerL float64      // [kg/L]
	VolumeL     float64      // [L]
	TempC       float64      // [°C]
}

// Reading are the readings that a correction stands on.
type Reading struct {
	PH           [2]float64 // two readings, at the water's temperature [1]; 0 is none
	MeterChecked bool       // the meter was checked in a buffer these days
	AmmoniaSmell bool       // the water smells of ammonia
}

// Effect is a correction and what it does, before it is done.
type Effect struct {
	DoseG     float64      // of what is added [g]
	GPerL     float64      // the same for a litre [g/L]
	Before    Sight        // as it stands
	After     Sight        // when it is stirred in
	Steps     int          // how many steps the whole way takes
	StockL    float64      // cold water to dissolve it in, for a caustic [L]
	WarmK     float64      // by how much that warms [°C]
	Wait      num.Band     // days of standing, where that is the way [d]
	SodiumGL  float64      // sodium brought [g/L]
	CarriesGL float64      // growth that the added carbon carries until UpperPH [g/L]
	CO2M3     float64      // gas at room temperature [m³]
	Pond      brine.Totals // the water afterwards [mol/kg water]
}

// Sight is a water in a few figures.
type Sight struct {
	PH         float64 // at its temperature [1]
	PH25       float64 // at 25 °C [1]
	MSCm25     float64 // conductivity at 25 °C [mS/cm]
	FreeNH3MM  float64 // free ammonia [mM]
	CarbonLeft float64 // carbon until UpperPH at constant alkalinity [g/L]
}

// RefusedError is a correction that is not done, and why.
type RefusedError struct {
	Code  string  // "readings", "meter", "ammonia", "step", "too_high", "room", "wrong_way", "out_of_reach"
	Field string  // the input that decides it, as calculators name it
	Text  string  // in one sentence
	Hint  string  // what to do instead
	First float64 // the first step that would be allowed [g], 0 where there is none
}

// Error returns the sentence.
func (e *RefusedError) Error() string { return e.Text }

// Limits of a step.
const (
	CausticStepPH   = 0.2  // [1], judgement, no source
	CausticStepGL   = 0.2  // as caustic soda [g/L], judgement, no source
	AcidStepPH      = 0.3  // [1], judgement, no source
	ReadingsAgreePH = 0.15 // two readings within this agree [1], judgement, no source
	causticHeat     = 44.5 // heat of dissolving caustic soda [kJ/mol], from memory
	// CausticStockGL is how strong caustic is made up before it goes in [g/L],
	// judgement, no source.
	CausticStockGL = 50.0
	// RoomShare is the carbon dioxide in a room's air that a whole cylinder
	// must not pass [1]: the limit for an eight-hour day, osha2023 (from memory).
	RoomShare = 0.005
)

// LivingWater returns the totals [mol/kg water] of a water mixed as sol that has
// since grown and breathed until it reads ph [1] at tempC [°C]: carbon moved, the
// rest stayed. It also returns the share of the mixed carbon that is left [1].
//
// Special case: a pH that carbon cannot make, and a reading that is no pH, are
// a *RefusedError "out_of_reach".
func LivingWater(s *brine.Solver, sol *Solution, ph, tempC float64) (brine.Totals, float64, error) {
	t := sol.Totals
	var w brine.Water
	if err := s.HoldPH(&t, tempC, ph, brine.ByCO2, &w); err != nil {
		return t, 0, &RefusedError{
			Code: "out_of_reach", Field: "ph", Text: fmt.Sprintf("ph %.4g cannot be that of this medium, whatever grew in it", ph),
			Hint: "check the reading in a buffer, and what the medium was made of",
		}
	}
	left := 1.0
	if d := sol.Totals[brine.DIC]; d > 0 {
		left = t[brine.DIC] / d
	}
	return t, left, nil
}

// look sums a water up.
func (p *Pond) look(s *brine.Solver, t *brine.Totals) (Sight, error) {
	var w brine.Water
	var v Sight
	if err := s.Solve(t, p.TempC, &w); err != nil {
		return v, err
	}
	v.PH, v.MSCm25 = w.PH, brine.ConductivityMSCm25(&w)
	v.FreeNH3MM = 1000 * w.Molality(brine.SpNH3) * p.KgWaterPerL
	var err error
	if v.PH25, err = s.PHAt25(t, &w); err != nil {
		return v, err
	}
	left, err := CarbonUntil(s, t, 25, UpperPH)
	if err != nil {
		left = 0
	}
	v.CarbonLeft = left * p.KgWaterPerL * Carbon.MolarMass()
	return v, nil
}

// added returns the water with molKg [mol/kg water] of a salt in it.
func added(t brine.Totals, y *brine.Dissolved, molKg float64) brine.Totals {
	for k, x := range y.Totals {
		t[k] += molKg * x
	}
	return t
}

// Add returns the effect of stirring grams [g] of a salt of that purity [1] into
// the pond.
func (p *Pond) Add(s *brine.Solver, salt string, grams, purity float64) (Effect, error) {
	var e Effect
	d, err := brine.Dissolve(salt)
	if err != nil {
		return e, err
	}
	if err := p.check(); err != nil {
		return e, err
	}
	if e.Before, err = p.look(s, &p.Totals); err != nil {
		return e, err
	}
	e.DoseG, e.GPerL = grams, grams/p.VolumeL
	mol := purity * e.GPerL / d.MolarMass // [mol/L]
	e.Pond = added(p.Totals, &d, mol/p.KgWaterPerL)
	if e.After, err = p.look(s, &e.Pond); err != nil {
		return e, err
	}
	e.SodiumGL = mol * d.Totals[brine.Na] * Sodium.MolarMass()
	e.Steps = 1
	return e, nil
}

func (p *Pond) check() error {
	if !(p.VolumeL > 0) || p.VolumeL > 1e8 {
		return wrong("volume_l", "", "volume_l %.6g must be above 0 and at most 1e8", p.VolumeL)
	}
	if !(p.TempC >= 0) || p.TempC > 50 {
		return wrong("temp_c", "", "temp_c %.6g must be between 0 and 50", p.TempC)
	}
	return nil
}

// dose finds the moles of a salt [mol/kg water] that bring the pond to toPH at
// its temperature.
func (p *Pond) dose(s *brine.Solver, d *brine.Dissolved, toPH float64) (float64, bool) {
	var w brine.Water
	miss := func(mol float64) float64 {
		t := added(p.Totals, d, mol)
		if err := s.Solve(&t, p.TempC, &w); err != nil {
			return nan
		}
		return w.PH - toPH
	}
	most := 0.5
	at0, at1 := miss(0), miss(most)
	if math.IsNaN(at0) || math.IsNaN(at1) || at0*at1 > 0 {
		return 0, false
	}
	x, err := num.Root(miss, 0, most, 1e-9)
	return x, err == nil
}

// guard holds an alkali against ammonia.
func (p *Pond) guard(before *Sight, r Reading) error {
	if r.AmmoniaSmell || before.FreeNH3MM > FreeAmmoniaStopMM {
		return &RefusedError{
			Code: "ammonia", Field: "ammonia_smell", Text: "nothing alkaline goes into water with ammonia: a higher pH frees more of it",
			Hint: "stop feeding, stir, air the place, wait until the smell is gone and read again",
		}
	}
	return nil
}

// Raise returns the effect of bringing the pond to toPH [1] at its temperature
// with soda ash of that purity [1]: DoseG grams of it. It is refused while there
// is ammonia, below what the pond reads, and above 10.5, where a pond lacks
// carbon and not alkali.
func (p *Pond) Raise(s *brine.Solver, toPH, purity float64, r Reading) (Effect, error) {
	return p.raise(s, "Na2CO3", toPH, purity, r)
}

func (p *Pond) raise(s *brine.Solver, salt string, toPH, purity float64, r Reading) (Effect, error) {
	var e Effect
	if err := p.check(); err != nil {
		return e, err
	}
	before, err := p.look(s, &p.Totals)
	if err != nil {
		return e, err
	}
	if err := p.guard(&before, r); err != nil {
		return e, err
	}
	if !(toPH > before.PH+0.005) {
		return e, &RefusedError{
			Code: "wrong_way", Field: "to_ph", Text: fmt.Sprintf("to_ph %.4g is not above the pH, %.2f", toPH, before.PH),
			Hint: "to lower a pH use carbon dioxide or bicarbonate",
		}
	}
	if toPH > UpperPH {
		return e, &RefusedError{
			Code: "too_high", Field: "to_ph", Text: fmt.Sprintf("to_ph %.4g is above %.1f: a pond climbs there by itself as its carbon runs out", toPH, UpperPH),
			Hint: "a working pond lies between 9.5 and 10.5",
		}
	}
	d, err := brine.Dissolve(salt)
	if err != nil {
		return e, err
	}
	mol, ok := p.dose(s, &d, toPH)
	if !ok {
		return e, &RefusedError{Code: "out_of_reach", Field: "to_ph", Text: fmt.Sprintf("to_ph %.4g is not reached with %s", toPH, salt), Hint: "let it stand in air, or let it grow"}
	}
	return p.Add(s, salt, mol*d.MolarMass*p.KgWaterPerL*p.VolumeL/purity, purity)
}

// Caustic returns the effect of one step of caustic soda of that purity [1]
// towards toPH [1]. It needs two readings that agree and a checked meter, is
// refused while any ammonia, ammonium or urea is in the water, and beyond one
// step: at most CausticStepPH and CausticStepGL, a day apart.
func (p *Pond) Caustic(s *brine.Solver, toPH, purity float64, r Reading) (Effect, error) {
	var e Effect
	switch a, b := r.PH[0], r.PH[1]; {
	case a <= 0 || b <= 0:
		return e, &RefusedError{Code: "readings", Field: "ph_again", Text: "caustic needs two readings of the pH", Hint: "read again after stirring, with the electrode rinsed"}
	case math.Abs(a-b) > ReadingsAgreePH:
		return e, &RefusedError{Code: "readings", Field: "ph_again", Text: fmt.Sprintf("ph_again %.4g and ph %.4g do not agree", b, a), Hint: "check the meter in a buffer and read both again"}
	case !r.MeterChecked:
		return e, &RefusedError{Code: "meter", Field: "meter_checked", Text: "caustic needs a meter that was checked in a buffer", Hint: "a pH 10.01 buffer reads 10.06 at 20 °C and 9.97 at 30 °C"}
	}
	// Any ammonia at all: a tenth of a millimole is what a strip begins to show.
	if n := (p.Totals[brine.Ammonia] + 2*p.Totals[brine.Urea]) * p.KgWaterPerL; r.AmmoniaSmell || n > 1e-4 {
		return e, &RefusedError{
			Code: "ammonia", Field: "ammonia_smell", Text: "no caustic goes into water with ammonia, ammonium or urea: it frees ammonia",
			Hint: "wait until it is eaten, or use soda ash in small amounts once the smell is gone",
		}
	}
	e, err := p.raise(s, "NaOH", toPH, purity, r)
	if err != nil {
		return e, err
	}
	const hair = 1e-9
	rise := toPH - e.Before.PH
	steps := int(math.Ceil(math.Max(rise/CausticStepPH, e.GPerL*purity/CausticStepGL) - hair))
	if steps > 1 {
		first, ferr := p.raise(s, "NaOH", math.Min(toPH, e.Before.PH+CausticStepPH), purity, r)
		if ferr != nil {
			return e, ferr
		}
		g := math.Min(first.DoseG, CausticStepGL/purity*p.VolumeL)
		return Effect{}, &RefusedError{
			Code: "step", Field: "to_ph", First: g,
			Text: fmt.Sprintf("to_ph %.4g takes %.3g g of caustic, %.2g g/L and %.2g pH: more than one safe step of %.1g g/L and %.1g pH", toPH, e.DoseG, e.GPerL, rise, CausticStepGL, CausticStepPH),
			Hint: fmt.Sprintf("split it into %d steps or more: %.3g g first, stirred in; a day later two new readings, and only then the next", steps, g),
		}
	}
	e.StockL = e.DoseG / CausticStockGL
	// 50 g in a litre: heat over the warmth that a kilogram of water takes up.
	e.WarmK = CausticStockGL * purity / 39.997 * causticHeat / 4.18
	return e, nil
}

// Lower returns the effect of carbon dioxide that brings the pond to toPH [1]: at
// most AcidStepPH down in one step. DoseG is the gas that must dissolve; of gas
// bubbled into shallow water half and more is lost.
func (p *Pond) Lower(s *brine.Solver, toPH float64) (Effect, error) {
	var e Effect
	if err := p.check(); err != nil {
		return e, err
	}
	before, err := p.look(s, &p.Totals)
	if err != nil {
		return e, err
	}
	e.Before = before
	if !(toPH < before.PH-0.005) {
		return e, &RefusedError{Code: "wrong_way", Field: "to_ph", Text: fmt.Sprintf("to_ph %.4g is not below the pH, %.2f", toPH, before.PH), Hint: "to raise a pH use soda ash, or wait"}
	}
	if before.PH-toPH > AcidStepPH+1e-9 {
		return e, &RefusedError{
			Code: "step", Field: "to_ph", Text: fmt.Sprintf("to_ph %.4g is more than %.1f below the pH, %.2f", toPH, AcidStepPH, before.PH),
			Hint: fmt.Sprintf("go to %.2f first, a day at least for each step", before.PH-AcidStepPH),
		}
	}
	t := p.Totals
	var w brine.Water
	if err := s.HoldPH(&t, p.TempC, toPH, brine.ByCO2, &w); err != nil {
		return e, err
	}
	mol := t[brine.DIC] - p.Totals[brine.DIC] // [mol/kg water]
	e.Pond = t
	e.GPerL = mol * p.KgWaterPerL * co2Mol
	e.DoseG, e.Steps = e.GPerL*p.VolumeL, 1
	e.CO2M3 = GasM3(e.DoseG / 1000)
	if e.After, err = p.look(s, &t); err != nil {
		return e, err
	}
	e.CarriesGL = (e.After.CarbonLeft - e.Before.CarbonLeft) / Carbon.MolarMass() / growth.DefaultComposition().C
	return e, nil
}

const co2Mol = 44.009 // mass of a mole of carbon dioxide [g/mol]

// GasM3 returns the volume of kg kilograms of carbon dioxide [kg] at 25 °C and
// one atmosphere [m³].
//
// Source: the ideal gas, 24.465 L/mol.
func GasM3(kg float64) float64 { return kg * 1000 / co2Mol * 24.465e-3 }

// Room returns the share [1] that the whole of a cylinder of kg carbon dioxide
// [kg] makes of the air of a room of m3 [m³], and a *RefusedError where that can
// pass RoomShare.
//
// Source: osha2023 (5000 ppm for an eight-hour day) and NIOSH (3 % for a short time), from
// memory.
func Room(kg, m3 float64) (float64, error) {
	if !(m3 > 0) {
		return nan, &RefusedError{Code: "room", Field: "room_m3", Text: "room_m3 is needed: a cylinder can empty itself into the room", Hint: "length times width times height of the room that the cylinder stands in"}
	}
	share := GasM3(kg) / m3
	if share > RoomShare {
		return share, &RefusedError{
			Code: "room", Field: "cylinder_kg", Text: fmt.Sprintf("cylinder_kg %.4g would make %.2g %% of the air in %.4g m³; %.1f %% is the most", kg, 100*share, m3, 100*RoomShare),
			Hint: fmt.Sprintf("keep it outdoors and lead the gas in by a thin line, with an alarm by the floor; %.0f m³ would hold it", GasM3(kg)/RoomShare),
		}
	}
	return share, nil
}

// Wait returns how long the pond stands in air, without growth, until it reads
// toPH at 25 °C [1].
func (p *Pond) Wait(s *brine.Solver, toPH float64, at Setting) (Effect, error) {
	var e Effect
	if err := p.check(); err != nil {
		return e, err
	}
	var err error
	if e.Before, err = p.look(s, &p.Totals); err != nil {
		return e, err
	}
	e.Wait, err = StandUntil(s, &p.Totals, p.KgWaterPerL, toPH, at)
	e.Pond, e.After = p.Totals, e.Before
	return e, err
}

// Bicarbonate returns the effect of stirring grams [g] of baking soda of that
// purity [1] into the pond, and how much growth its carbon carries.
func (p *Pond) Bicarbonate(s *brine.Solver, grams, purity float64) (Effect, error) {
	e, err := p.Add(s, "NaHCO3", grams, purity)
	if err != nil {
		return e, err
	}
	e.CarriesGL = (e.After.CarbonLeft - e.Before.CarbonLeft) / Carbon.MolarMass() / growth.DefaultComposition().C
	return e, nil
}
