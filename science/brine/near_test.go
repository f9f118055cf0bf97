package brine_test

import (
	"math"
	"testing"

	"sodalake/science/brine"

	"pgregory.net/rapid"
)

// A season of ten-minute steps along tangents: the answers that a pond asks for
// stay by the fresh ones.
func TestNearStaysByFresh(t *testing.T) {
	for name, salts := range map[string]map[string]float64{"full medium": fullMedium, "bicarbonate": {"NaHCO3": 8}} {
		totals := made(t, salts)
		totals[brine.DIC] *= 0.8
		s := brine.New(brine.Pitzer)
		var near brine.Near
		var fresh brine.Water
		var worst float64
		for i := range 144 * 20 {
			day := 2 * math.Pi * float64(i) / 144
			tempC := 22 + 10*math.Sin(day-1) + 3*math.Sin(day/7)
			for j := range totals {
				totals[j] *= 1 + 2e-5 // evaporation
			}
			totals[brine.DIC] *= 1 - 1.5e-3*math.Sin(day) - 1e-4
			totals[brine.NO3] *= 0.9998
			totals[brine.Ammonia] = math.Max(0, 2e-4*math.Sin(day/3)) // comes and goes
			if err := s.SolveNear(&totals, tempC, &near); err != nil {
				t.Fatal(err)
			}
			if err := s.Solve(&totals, tempC, &fresh); err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(near.PH-fresh.PH))
			for _, sp := range []brine.Species{brine.SpHCO3, brine.SpCO3, brine.SpCO2, brine.SpOH, brine.SpNH3, brine.SpNH4} {
				if a, b := near.Species[sp], fresh.Species[sp]; math.Abs(a-b) > 0.015*b {
					t.Fatalf("%s, step %d: species %v is %.6g along the tangent, %.6g fresh", name, i, sp, a, b)
				}
			}
			if sum := near.Species[brine.SpHCO3] + near.Species[brine.SpCO3] + near.Species[brine.SpCO2]; sum > totals[brine.DIC]*(1+1e-9) {
				t.Fatalf("%s: more carbon in its forms than there is", name)
			}
		}
		t.Logf("%s: strays by %.5f at most", name, worst)
		if worst > 0.0025 { // the promise is 0.005
			t.Errorf("%s: pH along the tangent strays by %.4f", name, worst)
		}
		if worst == 0 {
			t.Errorf("%s: the tangent was never followed, the test tests nothing", name)
		}
	}
}

// Steps of any size, and another water thrown in.
func TestNearAnyStep(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := brine.New(brine.Pitzer)
		totals := pondWater(t)
		tempC := rapid.Float64Range(2, 45).Draw(t, "temp")
		var near brine.Near
		var fresh brine.Water
		for range 20 {
			switch rapid.IntRange(0, 6).Draw(t, "what") {
			case 0:
				tempC = math.Min(48, math.Max(1, tempC+rapid.Float64Range(-2, 2).Draw(t, "warmer")))
			case 1:
				totals[brine.DIC] *= rapid.Float64Range(0.99, 1.01).Draw(t, "carbon")
			case 2:
				totals[brine.Na] += rapid.Float64Range(0, 0.002).Draw(t, "caustic")
			case 3:
				totals[brine.NO3] += rapid.Float64Range(0, 0.0005).Draw(t, "nitrate")
			case 4:
				totals[brine.Ammonia] = rapid.Float64Range(0, 0.002).Draw(t, "ammonia")
			case 5:
				for i := range totals {
					totals[i] *= 1.001
				}
			case 6: // as after an act
				totals = pondWater(t)
				near.Forget()
			}
			if err := s.SolveNear(&totals, tempC, &near); err != nil {
				t.Fatal(err)
			}
			if err := s.Solve(&totals, tempC, &fresh); err != nil {
				t.Fatal(err)
			}
			if d := math.Abs(near.PH - fresh.PH); d > 0.005 {
				t.Fatalf("pH along the tangent %.4f, fresh %.4f", near.PH, fresh.PH)
			}
		}
	})
}

// Water without carbon has no tangent and is solved each time; nonsense is seen
// when it is solved, and a forgotten water goes on as a new one.
func TestNearAtTheEdges(t *testing.T) {
	s := brine.New(brine.Pitzer)
	var n brine.Near
	plain := brine.Totals{}
	for i := range 30 {
		if err := s.SolveNear(&plain, 20+float64(i)/10, &n); err != nil {
			t.Fatal(err)
		}
	}
	near(t, "pure water", n.PH, 7.033, 0.01, "half of pKw at 22.9 °C, between 14.167 at 20 and 13.995 at 25 °C: Harned & Owen, from memory")
	bad := made(t, fullMedium)
	bad[brine.DIC] = math.NaN()
	if err := s.SolveNear(&bad, 20, &n); err == nil {
		t.Error("carbon that is no number was solved")
	}
	totals := made(t, fullMedium)
	var anew brine.Near
	for i := range 7 {
		if err := s.SolveNear(&totals, 20+float64(i)/10, &n); err != nil {
			t.Fatal(err)
		}
	}
	n.Forget()
	for i := range 30 {
		tempC := 21 + float64(i)/10
		if err := s.SolveNear(&totals, tempC, &n); err != nil {
			t.Fatal(err)
		}
		if err := s.SolveNear(&totals, tempC, &anew); err != nil {
			t.Fatal(err)
		}
		if math.Float64bits(n.PH) != math.Float64bits(anew.PH) {
			t.Fatalf("step %d: %.17g after Forget, %.17g anew", i, n.PH, anew.PH)
		}
	}
	if allocs := testing.AllocsPerRun(200, func() { totals[brine.DIC] *= 0.999; _ = s.SolveNear(&totals, 22, &n) }); allocs > 0 {
		t.Errorf("SolveNear allocates %g times", allocs)
	}
}

// A film drawn between two a degree apart.
func TestFilmBetween(t *testing.T) {
	for lo := 0.0; lo < 45; lo += 1 {
		a, b := brine.FilmAt(lo), brine.FilmAt(lo+1)
		mid, want := a.Between(&b, lo+0.5), brine.FilmAt(lo+0.5)
		for _, x := range [][2]float64{
			{mid.Diffusivity, want.Diffusivity}, {mid.OwnRate, want.OwnRate}, {mid.Hydroxide, want.Hydroxide},
			{mid.Solubility, want.Solubility}, {mid.Ammonia, want.Ammonia}, {mid.KgPerM3, want.KgPerM3},
		} {
			near(t, "between", x[0]/x[1], 1, 3e-3, "FilmAt itself")
		}
	}
}

// Small steps of a pond's day along the tangent, solving included.
func BenchmarkSolveNearDay(b *testing.B) {
	totals := made(b, fullMedium)
	totals[brine.DIC] *= 0.7
	s := brine.New(brine.Pitzer)
	var n brine.Near
	b.ReportAllocs()
	i := 0
	for b.Loop() {
		i++
		day := 2 * math.Pi * float64(i%144) / 144
		totals[brine.DIC] *= 1 - 3e-4*math.Sin(day)
		if err := s.SolveNear(&totals, 22+5*math.Sin(day-1), &n); err != nil {
			b.Fatal(err)
		}
	}
}
