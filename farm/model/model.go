package model

import (
	"errors"
	"math"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/pond"
	"sodalake/science/vessel"
)

// Vessel returns the model of a described vessel, empty. The error is a
// *farm.Error that names the field.
func Vessel(spec *farm.Vessel) (pond.Vessel, error) {
	g, err := spec.Shape.Geometry()
	if err != nil {
		return pond.Vessel{}, err
	}
	v := pond.Vessel{Shape: g, Growth: growth.NewModel(growth.Default()), TapC: math.NaN()}
	v.Setting = Setting(spec, g.Kind())
	v.Stir = Stir(spec.Stirring)
	v.Side = spec.Lit == "side" || spec.Lit == "" && g.Kind() == vessel.Bottle
	return v, nil
}

// roomC and roomRH are the room that an indoor vessel stands in before anybody
// tells. Common practice, no source.
const roomC, roomRH = 21.0, 50.0

// sheltered is the wind over a small vessel behind its rim, near the ground and
// its yard's walls, over that of an open field [1].
//
// Source: judgement; a class A pan at Mono Lake in July 2024 (the figures that
// package vessel's test names) then loses 6.3 mm a day instead of 7.2, where 17
// cm were gone in about a month.
const sheltered = 0.7

// Setting returns where the vessel stands.
func Setting(spec *farm.Vessel, kind vessel.Kind) vessel.Setting {
	cover := vessel.None
	switch {
	case spec.Cover.Kind == "film":
		cover = vessel.Film
	case spec.Cover.Kind == "tunnel", spec.Cover.Kind == "none" && spec.Place == "tunnel", spec.Cover.Kind == "" && spec.Place == "tunnel":
		cover = vessel.Tunnel
	}
	if spec.Place == "indoors" {
		s := vessel.IndoorSetting(kind, roomC, roomRH)
		// A window in the wall of the room: half of its light, a third of the
		// outside seen. Common practice, no source.
		s.WindowTransmission, s.WindowAzimuthDeg, s.WindowView = 0.75, 180, 0.35
		s.Shade = spec.ShadePct / 100
		return s
	}
	s := vessel.DefaultSetting(kind, cover)
	s.WindFactor = sheltered
	if spec.Cover.Transmission > 0 && cover != vessel.None {
		s.CoverTransmission = spec.Cover.Transmission
	}
	SetVents(&s, spec.Cover.Vents)
	s.Shade = spec.ShadePct / 100
	if spec.InGround != nil {
		s.InGround = *spec.InGround
	}
	return s
}

// SetVents sets the vents by their word; an unknown word leaves them.
func SetVents(s *vessel.Setting, word string) {
	switch word {
	case "shut":
		s.Vents = vessel.Shut
	case "half":
		s.Vents = vessel.Half
	case "open":
		s.Vents = vessel.Open
	}
}

// Stir returns how a stirring moves the culture: the share that takes part and
// the gas transfer velocity. By hand n times a day, 1 - exp(-n/2) takes part.
// Judgement, no source, but for the order of the velocities.
func Stir(s farm.Stirring) pond.Stir {
	switch s.Kind {
	case "continuous":
		return pond.Stir{Mixed: 1, PistonMH: 0.1}
	case "hand":
		n := s.TimesPerDay
		if n <= 0 {
			n = 3
		}
		return pond.Stir{Mixed: 1 - math.Exp(-n/2), PistonMH: 0.05}
	}
	return pond.Stir{Mixed: 0.15, PistonMH: 0.02}
}

// Fill puts a medium into an empty vessel: litres of it at a temperature, made
// by weighing salts into water. saltsGPerL are grams per litre of the finished
// medium.
func Fill(v *pond.Vessel, saltsGPerL map[string]float64, litres, tempC float64) error {
	totals, kgPerL, err := Water(saltsGPerL)
	if err != nil {
		return err
	}
	v.WaterKg = litres * kgPerL
	for k := range totals {
		v.Mol[k] = totals[k] * v.WaterKg
	}
	v.Heat.WaterC = tempC
	v.Start()
	return nil
}

// Water returns the totals [mol/kg water] of a medium by its salts and how many
// kilograms of water are in a litre of it.
func Water(saltsGPerL map[string]float64) (brine.Totals, float64, error) {
	t, kgPerL, err := brine.FromSalts(saltsGPerL)
	var se *brine.SaltError
	var ie *brine.InputError
	switch {
	case err == nil:
		return t, kgPerL, nil
	case errors.As(err, &se):
		return t, 0, &farm.Error{Code: farm.Invalid, Field: "salts_g_per_l." + se.Formula, Message: "salts_g_per_l: " + se.Error(), Hint: se.Hint}
	case errors.As(err, &ie):
		return t, 0, &farm.Error{Code: farm.Invalid, Field: "salts_g_per_l." + ie.Field, Message: "salts_g_per_l: " + ie.Error(), Hint: ie.Hint}
	}
	return t, 0, &farm.Error{Code: farm.Invalid, Field: "salts_g_per_l", Message: "salts_g_per_l: " + err.Error()}
}
