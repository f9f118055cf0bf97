package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"
)

// What the air feeds a pond, and that stirring hardly matters there.
func TestCarbonFromAir(t *testing.T) {
	const source = "computed for this project in the form of Hoover & Berkshire 1969, 420 ppm, 8 g/L bicarbonate with 5 g/L salt, to be met within 25 %"
	s := brine.New(brine.Pitzer)
	for _, row := range []struct{ ph, tempC, want float64 }{ // mol/m²/d
		{10.0, 25, 0.041}, {10.3, 25, 0.074}, {10.6, 25, 0.110}, {11.0, 25, 0.178},
		{10.0, 30, 0.055}, {10.3, 30, 0.100}, {10.6, 30, 0.149}, {11.0, 30, 0.240},
	} {
		totals := farmWater(t)
		var w brine.Water
		if err := s.HoldPH(&totals, row.tempC, row.ph, brine.ByCO2, &w); err != nil {
			t.Fatal(err)
		}
		var first float64
		for i, cmPerH := range []float64{1.5, 3, 6} {
			x := brine.AirExchange(&w, brine.Air{PCO2Atm: 420e-6, LiquidMS: cmPerH / 100 / 3600})
			day := 86400 * x.CO2MolM2S
			near(t, "mol/m²/d", day, row.want, 0.25*row.want, source)
			if i == 0 {
				first = day
			}
			near(t, "stirred harder", day, first, 0.02*first, "fast reaction: √(D r) does not know k")
		}
	}
	totals := farmWater(t)
	var w brine.Water
	if err := s.HoldPH(&totals, 25, 9.5, brine.ByCO2, &w); err != nil {
		t.Fatal(err)
	}
	for _, cmPerH := range []float64{1.5, 3, 6} {
		day := 86400 * brine.AirExchange(&w, brine.Air{PCO2Atm: 420e-6, LiquidMS: cmPerH / 100 / 3600}).CO2MolM2S
		near(t, "at pH 9.5", day, -0.0315, 0.0105, "computed for this project: the same water loses 0.026 to 0.037 there, within 25 %")
	}
}

func TestAirInBalanceGivesNothing(t *testing.T) {
	s := brine.New(brine.Pitzer)
	totals := farmWater(t)
	var w brine.Water
	if err := s.OpenTo(&totals, 20, 420e-6, &w); err != nil {
		t.Fatal(err)
	}
	air := brine.Air{PCO2Atm: 420e-6, LiquidMS: 1e-5}
	base := brine.AirExchange(&w, air)
	air.PCO2Atm *= 2
	richer := brine.AirExchange(&w, air)
	near(t, "flux in balance over flux", base.CO2MolM2S/richer.CO2MolM2S, 0, 1e-6, "nothing drives it")
	if richer.CO2MolM2S <= 0 {
		t.Error("richer air gives no carbon")
	}
	still := brine.AirExchange(&w, brine.Air{PCO2Atm: 840e-6})
	air.LiquidMS = 3e-7
	slow := brine.AirExchange(&w, air)
	near(t, "still water", still.CO2MolM2S/slow.CO2MolM2S, 1, 0.03, "the limit of slow stirring, before bicarbonate runs short in the film")
}

// Acid water passes carbon dioxide as an unreacting gas.
func TestNoEnhancementInAcid(t *testing.T) {
	totals := brine.Totals{brine.Cl: 1e-4, brine.DIC: 1e-4}
	w := solved(t, brine.New(brine.Pitzer), &totals, 25)
	x := brine.AirExchange(w, brine.Air{PCO2Atm: 420e-6, LiquidMS: 5.0 / 100 / 3600})
	near(t, "enhancement", x.Enhancement, 1, 0.02, "Wanninkhof & Knox 1996: none below pH 6")
	near(t, "flux", x.CO2MolM2S, 5.0/100/3600*(0.0341*420e-6-w.Species[brine.SpCO2])*997, 1e-8, "k (CO2* − CO2)")
}

func TestAmmoniaLeaves(t *testing.T) {
	const source = "computed for this project from a film of air of 3 to 10 m/h and the air-water ratio at 25 °C: 0.05 m/d in a still tunnel to 0.2 in wind"
	near(t, "still", 86400*brine.AmmoniaVelocityMS(25, 0, 0), 0.05, 0.01, source)
	near(t, "wind", 86400*brine.AmmoniaVelocityMS(25, 4, 0), 0.2, 0.02, source)
	if brine.AmmoniaVelocityMS(25, 4, 1e-6) >= brine.AmmoniaVelocityMS(25, 4, 0) {
		t.Error("a film of water does not slow ammonia down")
	}
	totals := made(t, map[string]float64{"NaHCO3": 8, "NaOH": 3, "NH4Cl": 0.2})
	w := solved(t, brine.New(brine.Pitzer), &totals, 25)
	x := brine.AirExchange(w, brine.Air{PCO2Atm: 420e-6, WindMS: 1})
	near(t, "flux", x.NH3MolM2S, brine.AmmoniaVelocityMS(25, 1, 0)*w.Species[brine.SpNH3]*997.05, 1e-10, "velocity times free ammonia")
}

// The ratio of air to water for ammonia behind the velocity.
func TestAmmoniaHenry(t *testing.T) {
	ratio := brine.AmmoniaVelocityMS(25, 0, 0) * 3600 / 3
	near(t, "air over water", ratio, 6.9e-4, 0.4e-4, "Sander 2015, compilation of Henry's constants: 0.59 mol/m³/Pa at 25 °C (from memory)")
	if d := brine.CO2DiffusivityM2S(20) / brine.CO2DiffusivityM2S(25); math.Abs(d-0.874) > 0.01 {
		t.Errorf("diffusivity at 20 over 25 °C is %.3f, want 0.874 (1.67e-9 over 1.91e-9, Jähne et al. 1987, from memory)", d)
	}
}
