package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"

	"pgregory.net/rapid"
)

// A season of ten-minute steps: warm answers stay by the fresh ones.
func TestWarmStaysByFresh(t *testing.T) {
	for _, model := range []brine.Model{brine.Pitzer, brine.Pairs} {
		for name, salts := range map[string]map[string]float64{"full medium": fullMedium, "bicarbonate": {"NaHCO3": 8}} {
			totals := made(t, salts)
			totals[brine.DIC] *= 0.8
			s := brine.New(model)
			var warm, fresh brine.Water
			var worst float64
			for i := range 144 * 20 {
				day := 2 * math.Pi * float64(i) / 144
				tempC := 22 + 10*math.Sin(day-1) + 3*math.Sin(day/7) // swings of 20 °C
				for j := range totals {
					totals[j] *= 1 + 2e-5 // evaporation
				}
				totals[brine.DIC] *= 1 - 1.5e-3*math.Sin(day) - 1e-4
				totals[brine.NO3] *= 0.9998
				if err := s.SolveWarm(&totals, tempC, &warm); err != nil {
					t.Fatal(err)
				}
				if err := s.Solve(&totals, tempC, &fresh); err != nil {
					t.Fatal(err)
				}
				worst = math.Max(worst, math.Abs(warm.PH-fresh.PH))
				if i%500 == 0 {
					balanced(t, &totals, &warm)
					near(t, "pCO2 warm", math.Log(warm.PCO2Atm/fresh.PCO2Atm), 0, 0.02, "fresh solve")
					near(t, "ionic strength warm", warm.IonicStrength, fresh.IonicStrength, 1e-4, "fresh solve")
					near(t, "water activity warm", warm.WaterActivity, fresh.WaterActivity, 2e-4, "fresh solve")
				}
			}
			if worst > 0.0025 { // the promise is 0.005
				t.Errorf("%v, %s: warm pH strays by %.4f", model, name, worst)
			}
			if worst == 0 {
				t.Errorf("%v, %s: nothing was kept, the test tests nothing", model, name)
			}
		}
	}
}

// Steps of any size, and another water thrown in.
func TestWarmAnyStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := brine.New(modelOf(t))
		totals := pondWater(t)
		tempC := rapid.Float64Range(2, 45).Draw(t, "temp")
		var warm, fresh brine.Water
		for range 12 {
			switch rapid.IntRange(0, 4).Draw(t, "what") {
			case 0:
				tempC = math.Min(48, math.Max(1, tempC+rapid.Float64Range(-4, 4).Draw(t, "warmer")))
			case 1:
				totals[brine.DIC] *= rapid.Float64Range(0.95, 1.02).Draw(t, "carbon")
			case 2:
				totals[brine.Na] += rapid.Float64Range(0, 0.02).Draw(t, "caustic")
			case 3:
				totals[brine.NO3] += rapid.Float64Range(0, 0.001).Draw(t, "nitrate")
				totals[brine.Na] += totals[brine.NO3] / 100
			case 4:
				totals = pondWater(t)
			}
			if err := s.SolveWarm(&totals, tempC, &warm); err != nil {
				t.Fatal(err)
			}
			if err := s.Solve(&totals, tempC, &fresh); err != nil {
				t.Fatal(err)
			}
			if d := math.Abs(warm.PH - fresh.PH); d > 0.005 {
				t.Fatalf("warm pH %.4f, fresh %.4f", warm.PH, fresh.PH)
			}
			balanced(t, &totals, &warm)
		}
	})
}

// A copy of a water carries on like the water; after Forget a run goes on as
// one taken up from totals alone.
func TestWarmCanBeTakenUp(t *testing.T) {
	totals := made(t, fullMedium)
	s, other := brine.New(brine.Pitzer), brine.New(brine.Pitzer)
	var w brine.Water
	step := func(s *brine.Solver, w *brine.Water, i int) float64 {
		if err := s.SolveWarm(&totals, 20+0.1*float64(i), w); err != nil {
			t.Fatal(err)
		}
		return w.PH
	}
	for i := range 40 {
		step(s, &w, i)
	}
	copied := w
	for i := 40; i < 60; i++ {
		if a, b := step(s, &w, i), step(other, &copied, i); math.Float64bits(a) != math.Float64bits(b) {
			t.Fatalf("step %d: %.17g and %.17g from a copy", i, a, b)
		}
	}
	w.Forget()
	var anew brine.Water
	for i := 60; i < 80; i++ {
		if a, b := step(s, &w, i), step(other, &anew, i); math.Float64bits(a) != math.Float64bits(b) {
			t.Fatalf("step %d: %.17g after Forget, %.17g anew", i, a, b)
		}
	}
}

// A trace that was not there before is seen at once.
func TestWarmSeesANewcomer(t *testing.T) {
	s := brine.New(brine.Pitzer)
	totals := made(t, map[string]float64{"NaHCO3": 8, "NaOH": 3})
	var w brine.Water
	if err := s.SolveWarm(&totals, 25, &w); err != nil {
		t.Fatal(err)
	}
	totals[brine.Ammonia] = 1e-6
	if err := s.SolveWarm(&totals, 25, &w); err != nil {
		t.Fatal(err)
	}
	near(t, "free share", w.FreeAmmoniaShare(), 0.92, 0.02, generalCode)
}

func TestNothingIsAllocated(t *testing.T) {
	totals := made(t, fullMedium)
	for _, model := range []brine.Model{brine.Pitzer, brine.Pairs} {
		s := brine.New(model)
		var w brine.Water
		i := 0
		for name, f := range map[string]func(){
			"Solve":     func() { i++; _ = s.Solve(&totals, float64(i%40), &w) },
			"SolveWarm": func() { i++; _ = s.SolveWarm(&totals, 20+0.3*float64(i%40), &w) },
			"PHAt25":    func() { w.TempC = 20; _, _ = s.PHAt25(&totals, &w) },
		} {
			if n := testing.AllocsPerRun(100, f); n > 0 {
				t.Errorf("%v %s allocates %g times", model, name, n)
			}
		}
	}
}
