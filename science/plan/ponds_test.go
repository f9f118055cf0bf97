package plan_test

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"sodalake/science/air"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/plan"
	"sodalake/science/pond"
	"sodalake/science/sky"
	"sodalake/science/vessel"
)

// An invented place with invented weather.
var (
	place = sky.Site{LatDeg: 29.5, LonDeg: 12.3, ElevationM: 300}
	june  = time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC)
)

// weather makes ten and a half invented days, each with a share of the clear
// sky of its own.
func weather(tb testing.TB, seed uint64, days int) *pond.Weather {
	tb.Helper()
	rng := newRand(seed)
	s := &sky.Series{Start: june.AddDate(0, 0, -1), WindHeightM: 2}
	share := 1.0
	for i := range (days + 3) * 24 {
		at := s.Start.Add(time.Duration(i)*time.Hour + 30*time.Minute)
		if i%24 == 0 {
			share = 0.95
			if rng.Float64() < 0.3 {
				share = 0.2 + 0.4*rng.Float64()
			}
		}
		h := sky.Unknown()
		h.GHIWM2 = share * sky.ClearSky(sky.Position(at, place), place.ElevationM, 3).GHIWM2
		hour := at.Sub(s.Start).Hours() + place.LonDeg/15
		h.AirC, h.RHPct, h.WindMS = 26+6*math.Cos((hour-15)*math.Pi/12), 50, 2
		s.Hours = append(s.Hours, h)
	}
	w := &pond.Weather{Start: june, Outside: make([]air.Outside, (days+1)*144)}
	if err := s.Sample(place, sky.Options{GroundKnown: true, GroundDeepC: 26}, june, pond.StepS*time.Second, w.Outside); err != nil {
		tb.Fatal(err)
	}
	return w
}

// tenPonds are draws of one open pond of 10 m² with 15 cm of medium.
func tenPonds(tb testing.TB, draws, days int) *plan.Ponds {
	tb.Helper()
	g, err := vessel.NewBox(5, 2, 0.3)
	if err != nil {
		tb.Fatal(err)
	}
	t, kg, err := brine.FromSalts(map[string]float64{"NaHCO3": 16.8, "K2HPO4": 0.5, "NaNO3": 2.5, "NaCl": 1, "MgSO4.7H2O": 0.2, "CaCl2.2H2O": 0.04, "K2SO4": 1, "FeSO4.7H2O": 0.01, "Na2EDTA.2H2O": 0.08})
	if err != nil {
		tb.Fatal(err)
	}
	var held brine.Water
	if err := brine.New(brine.Pitzer).HoldPH(&t, 25, 10.2, brine.ByCO2, &held); err != nil {
		tb.Fatal(err)
	}
	rng := newRand(4)
	var vs []pond.Vessel
	var ws []*pond.Weather
	var moments []time.Time
	for d := range days + 1 {
		moments = append(moments, june.Add(time.Duration(24*d+5)*time.Hour))
	}
	litres := g.VolumeL(0.15)
	for w := range draws {
		v := pond.Vessel{Shape: g, Setting: vessel.DefaultSetting(g.Kind(), vessel.None), Growth: growth.NewModel(growth.Draw(rng, growth.Default())), TapC: math.NaN()}
		v.Stir = pond.Stir{Mixed: 1, PistonMH: 0.1}
		v.Heat = vessel.Thermal{WaterC: 25, SoilC: [2]float64{25, 25}, AirC: 25, CoverC: 25, AirVapourKPa: 1.5}
		v.WaterKg = litres * kg
		for k := range t {
			v.Mol[k] = t[k] * v.WaterKg
		}
		v.BiomassG = 0.5 * litres * math.Exp(0.15*rng.NormFloat64())
		v.Start()
		vs = append(vs, v)
		ws = append(ws, weather(tb, uint64(w%10), days))
	}
	return plan.NewPonds(vs, ws, moments, nil)
}

// problem plans ponds; the model is carried along the way once.
func problem(tb testing.TB, p *plan.Ponds, draws, days int) *plan.Problem {
	tb.Helper()
	v := plan.Vessel{Name: "invented pond", VolumeL: []float64{1500}, FloorGL: 0.3, Grow: p.Grow, Conditions: p.Conditions, SetupH: 0.5, LPerH: 400}
	for w := range draws {
		p.Rebase(w, nil)
		v.StartGL = append(v.StartGL, p.StartGL(w))
	}
	q := &plan.Problem{Days: days, Draws: draws, Vessels: []plan.Vessel{v}, Capacity: unlimited(days), FreezerKg: math.Inf(1), Habits: []plan.Habit{plan.HalfWhenDark()}, Aim: plan.Aim{EndWorth: 0.7}}
	for d := range q.Capacity {
		q.Capacity[d].PresentH, q.Capacity[d].DryerG, q.Capacity[d].FreshKg, q.Capacity[d].FreezeKg = 3, []float64{250}, 0.2, 0.5
	}
	return q
}

// The table and the plan's shares against the full model carried along the plan.
func TestPlanHoldsInThePondItself(t *testing.T) {
	const draws, days = 12, 6
	ponds := tenPonds(t, draws, days)
	p := problem(t, ponds, draws, days)
	out := mustMake(t, p)
	shares := make([]float64, days)
	for d, a := range out.Vessels[0].Acts {
		shares[d] = a.Share
	}
	var end []float64
	full := 0.0
	for w := range draws {
		ponds.Rebase(w, shares)
		for d := range days {
			full += shares[d] * ponds.DensityGL(w, d) * ponds.VolumeL(w) / draws
		}
		end = append(end, ponds.DensityGL(w, days-1))
	}
	// The way along which the model was asked had no harvest: its cells were
	// denser, shaded and less damaged. A tenth is what that may cost; planning
	// again along the plan takes it away.
	if out.Outcome.MeanG < 100 || math.Abs(out.Outcome.MeanG-full) > 0.1*full {
		t.Errorf("the plan expects %.0f g, the ponds give %.0f g", out.Outcome.MeanG, full)
	}
	again := mustMake(t, p)
	full2 := 0.0
	for d, a := range again.Vessels[0].Acts {
		shares[d] = a.Share
	}
	for w := range draws {
		ponds.Rebase(w, shares)
		for d := range days {
			full2 += shares[d] * ponds.DensityGL(w, d) * ponds.VolumeL(w) / draws
		}
	}
	t.Logf("first %.1f g expected, %.1f g given; again %.1f g expected, %.1f g given", out.Outcome.MeanG, full, again.Outcome.MeanG, full2)
	if math.Abs(again.Outcome.MeanG-full2) > 0.03*full2 {
		t.Errorf("planned again along the plan, it expects %.0f g, the ponds give %.0f g", again.Outcome.MeanG, full2)
	}
	for w, x := range end {
		if !(x > 0.15) {
			t.Errorf("draw %d ends at %g g/L", w, x)
		}
	}
	c := ponds.Conditions(0, 2)
	if !(c.TempC > 15 && c.TempC < 40) || math.Abs(c.PH25-10.3) > 0.3 {
		t.Errorf("conditions %+v", c)
	}
}

// Ten days, a hundred draws of the full model, one vessel: all that a plan takes.
func BenchmarkPondPlan(b *testing.B) {
	const draws, days = 100, 10
	ponds := tenPonds(b, draws, days)
	b.ReportAllocs()
	for b.Loop() {
		mustMake(b, problem(b, ponds, draws, days))
	}
}

func ExampleMake() {
	// An invented vessel that grows by 60 mg/L a day, known to a tenth.
	v := plan.Vessel{Name: "tub", VolumeL: []float64{200}, FloorGL: 0.3, Grow: func(_, _ int, x float64) float64 { return x + 0.06 }}
	for w := range 20 {
		v.StartGL = append(v.StartGL, 0.5*(0.85+0.015*float64(w)))
	}
	p := &plan.Problem{Days: 3, Draws: 20, Vessels: []plan.Vessel{v}, Capacity: []plan.Capacity{plan.Unlimited(), plan.Unlimited(), plan.Unlimited()}, FreezerKg: 5}
	p.Capacity[1].PresentH = 0
	p.VisitG = 5
	out, err := plan.Make(context.Background(), p, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range out.Vessels[0].Acts {
		fmt.Printf("day %d: %.0f L, %.1f g, closed: %q\n", a.Day, a.LitresL, a.DryG.Mid, a.Why)
	}
	// Output:
	// day 0: 0 L, 0.0 g, closed: ""
	// day 1: 0 L, 0.0 g, closed: "nobody"
	// day 2: 92 L, 57.0 g, closed: ""
}
