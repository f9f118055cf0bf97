package model

import (
	"errors"
	"math"
	"testing"

	"sodalake/farm"
	"sodalake/science/brine"
	"sodalake/science/vessel"
)

func box() farm.Vessel {
	return farm.Vessel{ID: "v", Shape: farm.Shape{Kind: "box", LengthM: 2, WidthM: 1, HeightM: 0.3}}
}

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s is %.6g, want %.6g ± %.2g", what, got, want, tol)
	}
}

// What is said of a vessel ends where it belongs.
func TestVessel(t *testing.T) {
	yes := true
	for name, c := range map[string]struct {
		change func(s *farm.Vessel)
		holds  func(s *vessel.Setting, side bool) bool
	}{
		"as described": {func(*farm.Vessel) {}, func(s *vessel.Setting, side bool) bool {
			return s.Cover == vessel.None && !s.Indoors && !s.InGround && !side && s.Shade == 0 && s.WindFactor < 1 && s.WindFactor > 0.5
		}},
		"shade":              {func(s *farm.Vessel) { s.ShadePct = 30 }, func(s *vessel.Setting, _ bool) bool { return math.Abs(s.Shade-0.3) < 1e-12 }},
		"in the ground":      {func(s *farm.Vessel) { s.InGround = &yes }, func(s *vessel.Setting, _ bool) bool { return s.InGround }},
		"film":               {func(s *farm.Vessel) { s.Cover.Kind = "film" }, func(s *vessel.Setting, _ bool) bool { return s.Cover == vessel.Film && s.Vents == vessel.Shut }},
		"tunnel, half":       {func(s *farm.Vessel) { s.Cover.Kind, s.Cover.Vents = "tunnel", "half" }, func(s *vessel.Setting, _ bool) bool { return s.Cover == vessel.Tunnel && s.Vents == vessel.Half }},
		"placed in a tunnel": {func(s *farm.Vessel) { s.Place = "tunnel"; s.Cover.Kind = "none" }, func(s *vessel.Setting, _ bool) bool { return s.Cover == vessel.Tunnel }},
		"an old film": {func(s *farm.Vessel) { s.Cover.Kind, s.Cover.Transmission = "film", 0.6 }, func(s *vessel.Setting, _ bool) bool {
			return math.Abs(s.CoverTransmission-0.6) < 1e-12
		}},
		"indoors": {func(s *farm.Vessel) { s.Place = "indoors"; s.ShadePct = 50 }, func(s *vessel.Setting, _ bool) bool {
			return s.Indoors && s.OnStand && s.WindowTransmission > 0 && math.Abs(s.Shade-0.5) < 1e-12
		}},
		"lit from the side": {func(s *farm.Vessel) { s.Lit = "side" }, func(_ *vessel.Setting, side bool) bool { return side }},
		"a bottle": {func(s *farm.Vessel) {
			s.Shape = farm.Shape{Kind: "bottle", DiameterM: 0.1, HeightM: 0.2, NeckDiameterM: 0.03, ShoulderHeightM: 0.03}
		}, func(_ *vessel.Setting, side bool) bool { return side }},
		"a bottle lit from the top": {func(s *farm.Vessel) {
			s.Shape, s.Lit = farm.Shape{Kind: "bottle", DiameterM: 0.1, HeightM: 0.2, NeckDiameterM: 0.03, ShoulderHeightM: 0.03}, "top"
		}, func(_ *vessel.Setting, side bool) bool { return !side }},
	} {
		spec := box()
		c.change(&spec)
		v, err := Vessel(&spec)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if !c.holds(&v.Setting, v.Side) {
			t.Errorf("%s: side %v, %+v", name, v.Side, v.Setting)
		}
		if v.WaterKg != 0 || !math.IsNaN(v.TapC) {
			t.Errorf("%s: holds %g kg, tap %g °C", name, v.WaterKg, v.TapC)
		}
	}
	bad := box()
	bad.Shape.HeightM = -1
	var fe *farm.Error
	if _, err := Vessel(&bad); !errors.As(err, &fe) || fe.Field != "shape.height_m" {
		t.Errorf("a height of -1 m: %v", err)
	}
}

func TestVents(t *testing.T) {
	s := vessel.DefaultSetting(vessel.Box, vessel.Tunnel)
	for _, w := range []struct {
		word string
		want vessel.Vents
	}{{"open", vessel.Open}, {"half", vessel.Half}, {"ajar", vessel.Half}, {"", vessel.Half}, {"shut", vessel.Shut}} {
		if SetVents(&s, w.word); s.Vents != w.want {
			t.Errorf("%q leaves the vents at %d, want %d", w.word, s.Vents, w.want)
		}
	}
}

// The more it is stirred the more takes part and the quicker gases pass.
func TestStir(t *testing.T) {
	none, all := Stir(farm.Stirring{Kind: "none"}), Stir(farm.Stirring{Kind: "continuous"})
	if all.Mixed != 1 {
		t.Errorf("stirred all day, %g takes part", all.Mixed)
	}
	last := none
	for n := 1.0; n < 20; n++ {
		s := Stir(farm.Stirring{Kind: "hand", TimesPerDay: n})
		if !(s.Mixed > last.Mixed) || s.Mixed > 1 || s.PistonMH < last.PistonMH || s.PistonMH > all.PistonMH {
			t.Errorf("by hand %g times a day: %+v after %+v", n, s, last)
		}
		last = s
	}
	if usual := Stir(farm.Stirring{Kind: "hand"}); usual != Stir(farm.Stirring{Kind: "hand", TimesPerDay: 3}) {
		t.Errorf("by hand, nobody knows how often: %+v", usual)
	}
}

// A medium by its salts, as much as was asked for.
func TestFill(t *testing.T) {
	spec := box()
	v, err := Vessel(&spec)
	if err != nil {
		t.Fatal(err)
	}
	salts := map[string]float64{"NaHCO3": 8, "KNO3": 2, "NaCl": 5}
	if err := Fill(&v, salts, 300, 25); err != nil {
		t.Fatal(err)
	}
	near(t, "volume at the 25 °C it was weighed for, L", v.VolumeL(), 300, 0.1)
	near(t, "sodium, mol", v.Mol[brine.Na], 300*(8/84.007+5/58.443), 0.05) // IUPAC abridged atomic weights
	near(t, "nitrate, mol", v.Mol[brine.NO3], 300*2/101.103, 0.01)
	near(t, "temperature", v.Heat.WaterC, 25, 0)
	cold, _ := Vessel(&spec)
	if err := Fill(&cold, salts, 300, 5); err != nil || !(cold.VolumeL() < 300 && cold.VolumeL() > 298) {
		t.Errorf("the same at 5 °C takes %.2f L, want a little less (%v)", cold.VolumeL(), err)
	}
	for name, c := range map[string]struct {
		salts map[string]float64
		field string
	}{
		"no salt":          {map[string]float64{"Xx": 1}, "salts_g_per_l"},
		"less than none":   {map[string]float64{"NaCl": -1}, "salts_g_per_l.NaCl"},
		"more than can be": {map[string]float64{"NaCl": 5000}, "salts_g_per_l"},
	} {
		w, _ := Vessel(&spec)
		var fe *farm.Error
		if err := Fill(&w, c.salts, 300, 20); !errors.As(err, &fe) || len(fe.Field) < len(c.field) || fe.Field[:len(c.field)] != c.field || fe.Code != farm.Invalid {
			t.Errorf("%s: %v, want an error at %s", name, err, c.field)
		}
		if w.WaterKg != 0 {
			t.Errorf("%s: refused, and yet %g kg are in", name, w.WaterKg)
		}
	}
}
