package power_test

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/power"
)

// row is one published value.
type row struct {
	what            string
	got             float64
	want, tolerance float64
	source          string
}

func check(t *testing.T, rows []row) {
	t.Helper()
	for _, r := range rows {
		if !(math.Abs(r.got-r.want) <= r.tolerance) {
			t.Errorf("%s = %.9g, want %.9g ± %.2g (%s)", r.what, r.got, r.want, r.tolerance, r.source)
		}
	}
}

// chedl is a general library of fluid mechanics whose tests carry these values.
const chedl = "tests of the library fluids (Bell, ChEDL), commit 004a5cd6"

func TestFriction(t *testing.T) {
	check(t, []row{
		{"Colebrook at Re 1e5, 1e-4", power.Friction(1e5, 1e-4), 0.018513866077471648, 1e-12, chedl},
		{"smooth at Re 1e5", power.Friction(1e5, 0), 0.01798977308427384, 1e-12, chedl},
		{"Haaland at Re 1e5, 1e-4", power.Haaland(1e5, 1e-4), 0.018265053014793857, 1e-12, chedl},
		{"laminar at Re 128", power.Friction(128, 1e-4), 0.5, 1e-12, chedl},
		// Blasius' law is an approximation of its own, within some 3 % here.
		{"smooth at Re 1e4", power.Friction(1e4, 0), 0.03164, 0.001, "Blasius 1913, by " + chedl},
		// One reading of a chart of the equation, to the four digits it is printed with.
		{"Colebrook at Re 1e5, 1e-3", power.Friction(1e5, 1e-3), 0.0222, 1e-4, "Moody's chart, as commonly read: 0.022; the equation solved by hand here: 0.0222"},
	})
	// 10 kg/s of a liquid of 1000 kg/m3 and 1e-5 Pa s through 0.1 m: 63.434 Pa a
	// metre. That library takes smooth walls.
	p := power.Pipe{LengthM: 1, DiameterM: 0.1}
	check(t, []row{{"pressure lost", p.HeadM(0.01, 1e-8) * 1000 * power.Gravity, 63.43447321097365, 0.01, chedl}})
}

func TestViscosity(t *testing.T) {
	for _, r := range [][3]float64{ // °C, mPa s, kg/m3
		{0, 1.792, 999.84}, {10, 1.306, 999.70}, {20, 1.002, 998.21}, {25, 0.890, 997.05}, {30, 0.798, 995.65}, {40, 0.653, 992.22},
	} {
		want := r[1] / 1000 / r[2]
		if got := power.WaterViscosity(r[0]); math.Abs(got-want) > 0.002*want {
			t.Errorf("viscosity at %g °C = %.5g, want %.5g m²/s within 0.2 %% (CRC handbook of chemistry and physics, tables of water, from memory)", r[0], got, want)
		}
	}
}

func TestPipeLosses(t *testing.T) {
	nu := 1.004e-6 // 20 °C
	a := power.Pipe{LengthM: 50, DiameterM: 0.05, RoughnessM: 1.5e-6}
	b := power.Pipe{LengthM: 20, DiameterM: 0.025, RoughnessM: 1.5e-6}
	const hand = "worked by hand from the formula in another tool (Python), to the digits printed"
	check(t, []row{
		{"velocity, 1 L/s in 50 mm", a.VelocityMS(1e-3), 0.5093, 5e-5, hand},
		{"Reynolds number", power.Reynolds(a.VelocityMS(1e-3), 0.05, nu), 25363, 5, hand},
		{"its friction factor", power.Friction(25363, 3e-5), 0.02451, 5e-6, hand},
		{"head, 1 L/s in 50 m of 50 mm", a.HeadM(1e-3, nu), 0.3242, 1e-4, hand},
		{"head, 0.5 L/s in 20 m of 25 mm", b.HeadM(0.5e-3, nu), 1.0404, 2e-4, hand},
		{"Hazen-Williams, 1 L/s, 50 m, 50 mm, C 150", power.HazenWilliamsM(1e-3, 50, 0.05, 150), 0.3003, 5e-5, hand},
		{"Hazen-Williams, 0.5 L/s, 20 m, 25 mm, C 150", power.HazenWilliamsM(0.5e-3, 20, 0.025, 150), 0.9733, 5e-5, hand},
		{"Hazen-Williams, 10 L/s, 1000 m, 100 mm, C 130", power.HazenWilliamsM(0.01, 1000, 0.1, 130), 19.0345, 5e-4, hand},
		// The public example takes the exponent 4.87; with 4.8704 the flow is 0.026 % smaller.
		{"its inverse: 10 m, 1000 m, 0.3 m, C 130", power.HazenWilliamsFlow(10, 1000, 0.3, 130), 0.12703, 5e-5, "set-up of mathix.co, problem hazen-williams-9d4efc"},
	})
	withBends := a
	withBends.Minor = 4 * 0.9
	v := a.VelocityMS(1e-3)
	check(t, []row{{"four short elbows", withBends.HeadM(1e-3, nu) - a.HeadM(1e-3, nu), 3.6 * v * v / (2 * 9.80665), 1e-9, "K v²/2g; K: EPA/600/R-20/133, table 3.3"}})
}

func TestPipeLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := power.Pipe{
			LengthM: rapid.Float64Range(0.5, 200).Draw(t, "length"), DiameterM: rapid.Float64Range(0.006, 0.2).Draw(t, "diameter"),
			RoughnessM: rapid.Float64Range(0, 3e-4).Draw(t, "roughness"), Minor: rapid.Float64Range(0, 20).Draw(t, "minor"),
		}
		nu := power.WaterViscosity(rapid.Float64Range(0, 45).Draw(t, "temp"))
		q := rapid.Float64Range(1e-6, 5e-3).Draw(t, "flow")
		more := rapid.Float64Range(1.001, 3).Draw(t, "more")
		if a, b := p.HeadM(q, nu), p.HeadM(more*q, nu); !(b > a) {
			t.Fatalf("more flow asks for less head: %g m at %g, %g m at %g m³/s", a, q, b, more*q)
		}
		if back := p.FlowM3S(p.HeadM(q, nu), nu); math.Abs(back-q) > 1e-5*q {
			t.Fatalf("the flow that the head of %g m³/s drives is %g", q, back)
		}
		re := rapid.Float64Range(4000, 1e8).Draw(t, "reynolds")
		eps := rapid.Float64Range(0, 0.05).Draw(t, "relative roughness")
		f := power.Friction(re, eps)
		left, right := 1/math.Sqrt(f), -2*math.Log10(eps/3.7+2.51/(re*math.Sqrt(f)))
		if math.Abs(left-right) > 1e-9*left {
			t.Fatalf("Colebrook's equation does not hold at Re %g, ε %g: %g, %g", re, eps, left, right)
		}
		// Haaland 1983 states 1.4 % over this range.
		if h := power.Haaland(re, eps); math.Abs(h-f) > 0.021*f {
			t.Fatalf("Haaland's form is off by %g at Re %g, ε %g", h/f-1, re, eps)
		}
		w := power.HazenWilliamsM(q, p.LengthM, p.DiameterM, 140)
		if back := power.HazenWilliamsFlow(w, p.LengthM, p.DiameterM, 140); math.Abs(back-q) > 1e-9*q {
			t.Fatalf("Hazen-Williams does not invert: %g, %g", q, back)
		}
	})
}

func TestPumpCurve(t *testing.T) {
	// One point: EPA/600/R-20/133, section 3.1: shutoff 133 % of the design head,
	// most flow twice the design flow.
	one, err := power.NewCurve(power.Point{FlowM3S: 1e-3, HeadM: 3})
	if err != nil {
		t.Fatal(err)
	}
	// Three points of the curve of a public example of that network program:
	// 0, 200; 1000, 100; 3000, 0, in whatever units.
	three, err := power.NewCurve(power.Point{0, 200}, power.Point{1000, 100}, power.Point{3000, 0})
	if err != nil {
		t.Fatal(err)
	}
	const epa = "EPA/600/R-20/133, section 3.1"
	check(t, []row{
		{"shutoff of one point", one.ShutoffM, 4, 1e-12, epa},
		{"most flow of one point", one.MostM3S(), 2e-3, 1e-12, epa},
		{"power of three points", three.Power, math.Ln2 / math.Log(3), 1e-12, "ln(200/100)/ln(3000/1000)"},
		{"first", three.HeadM(0), 200, 1e-9, epa}, {"second", three.HeadM(1000), 100, 1e-9, epa}, {"third", three.HeadM(3000), 0, 1e-9, epa},
		{"half speed, half flow, of three points", three.Slowed(0.5).HeadM(500), 25, 1e-9, "affinity laws: a quarter of 100"},
		{"half speed, no flow", one.Slowed(0.5).ShutoffM, 1, 1e-12, "affinity laws"},
		{"half speed, most flow", one.Slowed(0.5).MostM3S(), 1e-3, 1e-12, "affinity laws"},
	})
	for _, bad := range [][]power.Point{
		{}, {{0, 3}}, {{1e-3, 0}}, {{0, 3}, {1e-3, 3}}, {{0, 3}, {0, 1}}, {{1e-3, 3}, {2e-3, 1}}, {{0, 4}, {1, 3}, {2, 2}, {3, 1}},
		{{0, math.NaN()}, {1, 1}}, {{-1, 4}, {1, 1}}, {{0, 3}, {1e-3, 2}, {2e-3, 2.5}},
	} {
		var in *power.InputError
		if c, err := power.NewCurve(bad...); !errors.As(err, &in) || in.Field != "pump" {
			t.Errorf("points %v are taken: %+v, %v", bad, c, err)
		}
	}
}

func TestMeet(t *testing.T) {
	// In units in which the circuit is h = 25 + 3600 q² and the pump H = 50 − 1e4 q²,
	// they meet at q = √(25/13600). The circuit is made of fittings alone, so
	// that it is a pure square.
	d := 0.2
	k := 3600 * 2 * power.Gravity * math.Pow(math.Pi/4*d*d, 2)
	c := power.Circuit{StaticM: 25, Pipes: []power.Pipe{{DiameterM: d, Minor: k}}, ViscosityM2S: 1e-6}
	q, h, err := power.Meet(power.Curve{ShutoffM: 50, Drop: 1e4, Power: 2}, &c)
	if err != nil {
		t.Fatal(err)
	}
	want := math.Sqrt(25.0 / 13600)
	check(t, []row{
		{"flow", q, want, 1e-8, "two parabolas, solved by hand"},
		{"head", h, 25 + 3600*want*want, 1e-5, "two parabolas, solved by hand"},
	})
	// Water of 20 °C: 10 L/s up 10 m at one half wants 1957.6 W: P = ρ g Q H/η.
	check(t, []row{{"input", power.InputW(0.01, 10, 0.5, 998.2), 998.2 * 9.80665 * 0.01 * 10 / 0.5, 1e-9, "P = ρ g Q H/η"}})
	check(t, []row{{"turnover", power.TurnoverH(3600, 1e-3), 1, 1e-12, "V/Q"}})
}

func TestAPumpTooWeakNeverMeets(t *testing.T) {
	c := power.Circuit{StaticM: 2.5, Pipes: []power.Pipe{{LengthM: 5, DiameterM: 0.02}}, ViscosityM2S: 1e-6}
	_, _, err := power.Meet(power.Curve{ShutoffM: 2.2, Drop: 1e6, Power: 2}, &c)
	var never *power.NoMeetError
	if !errors.As(err, &never) || never.ShutoffM != 2.2 || never.StaticM != 2.5 {
		t.Fatalf("want the two heights, got %v", err)
	}
	// Equal heights deliver nothing either.
	if _, _, err = power.Meet(power.Curve{ShutoffM: 2.5, Drop: 1e6, Power: 2}, &c); !errors.As(err, &never) {
		t.Fatalf("a pump that just reaches the outlet delivers nothing, got %v", err)
	}
}

func TestMeetIsWhereTheCurvesCross(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pump := power.Curve{ShutoffM: rapid.Float64Range(0.3, 20).Draw(t, "shutoff"), Power: rapid.Float64Range(1, 3).Draw(t, "power")}
		most := rapid.Float64Range(1e-5, 1e-2).Draw(t, "most")
		pump.Drop = pump.ShutoffM / math.Pow(most, pump.Power)
		c := power.Circuit{
			StaticM:      rapid.Float64Range(0, 0.99).Draw(t, "static share") * pump.ShutoffM,
			Pipes:        []power.Pipe{{LengthM: rapid.Float64Range(0.1, 60).Draw(t, "length"), DiameterM: rapid.Float64Range(0.008, 0.1).Draw(t, "diameter"), RoughnessM: 1e-5}},
			ViscosityM2S: 1e-6,
		}
		q, h, err := power.Meet(pump, &c)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(pump.HeadM(q)-h) > 1e-4*pump.ShutoffM {
			t.Fatalf("at %g m³/s the pump gives %g m and the circuit asks for %g", q, pump.HeadM(q), h)
		}
		thinner := c
		thinner.Pipes = []power.Pipe{c.Pipes[0]}
		thinner.Pipes[0].DiameterM *= 0.8
		if less, _, _ := power.Meet(pump, &thinner); less > q*(1+1e-6) {
			t.Fatalf("a thinner pipe carries more: %g over %g m³/s", less, q)
		}
	})
}

func TestChannel(t *testing.T) {
	sdsu := func(b, y, s, n float64) (v, q float64) {
		v = power.ManningVelocity(b*y/(b+2*y), s, n)
		return v, v * b * y
	}
	v1, q1 := sdsu(5, 0.8, 0.0025, 0.015)
	v2, q2 := sdsu(6, 1.6, 0.0025, 0.015)
	v3, q3 := sdsu(5, 1.5, 0.003, 0.015)
	const exam = "San Diego State University, CIVE 530, examinations 2007 and 2008, solutions"
	check(t, []row{
		// They round R to three digits on the way: 0.1 %.
		{"v", v1, 2.387, 0.003, exam}, {"Q", q1, 9.548, 0.01, exam},
		{"v", v2, 3.428, 0.004, exam}, {"Q", q2, 32.91, 0.04, exam},
		{"v", v3, 3.498, 0.004, exam}, {"Q", q3, 26.23, 0.03, exam},
		{"v at R 5, S 0.001, n 0.05", power.ManningVelocity(5, 0.001, 0.05), 1.8493111942973235, 1e-9, chedl},
		{"v at R 0.2859, S 0.005236, n 0.03", power.ManningVelocity(0.2859, 0.005236, 0.03), 1.0467781958118971, 1e-9, chedl},
	})
	const hand = "worked by hand from the formulas in another tool (Python), to the digits printed"
	r := power.Raceway{WidthM: 1, DepthM: 0.20, LoopM: 50, Manning: 0.012, Bends: 2}
	m := r.At(0.25, 0.17, 998)
	s := power.Raceway{WidthM: 1, DepthM: 0.15, LoopM: 50, Manning: 0.010, Bends: 2}
	n := s.At(0.20, 0.17, 998)
	check(t, []row{
		{"R", r.HydraulicRadiusM(), 0.14286, 5e-6, hand},
		{"slope", m.FrictionM / 50, 1.2051e-4, 5e-9, hand},
		{"friction", m.FrictionM * 1000, 6.026, 5e-4, hand},
		{"bends", m.BendsM * 1000, 15.296, 2e-3, hand},
		{"water power", m.HydraulicW, 10.434, 2e-3, hand},
		{"electric power", m.InputW, 61.37, 0.01, hand},
		{"of a square metre", m.PerM2W, 1.227, 5e-4, hand},
		{"at 0.40", r.At(0.25, 0.40, 998).InputW, 26.08, 0.01, hand},
		{"water power of the smaller", n.HydraulicW, 3.920, 2e-3, hand},
		{"electric power of the smaller", n.InputW, 23.06, 0.02, hand},
		{"of a square metre of the smaller", n.PerM2W, 0.461, 5e-4, hand},
	})
	for i, u := range []float64{0.1, 0.2, 0.25, 0.3} {
		want := []float64{1.585, 12.68, 24.77, 42.81}[i]
		got := power.ChistiW(100, 4*0.2/1.4, u, 0.012, 0.17, 998)
		check(t, []row{{"straight form", got, want, 0.002 * want, hand + "; Chisti 2016, form"}})
	}
}

func TestRacewayPowerGoesByTheCube(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := power.Raceway{
			WidthM: rapid.Float64Range(0.3, 10).Draw(t, "width"), DepthM: rapid.Float64Range(0.05, 0.5).Draw(t, "depth"),
			LoopM: rapid.Float64Range(3, 300).Draw(t, "loop"), Manning: rapid.Float64Range(0.008, 0.03).Draw(t, "n"), Bends: 2,
		}
		v := rapid.Float64Range(0.02, 0.6).Draw(t, "v")
		a, b := r.At(v, 0.2, 1000).InputW, r.At(2*v, 0.2, 1000).InputW
		if math.Abs(b/a-8) > 1e-9 {
			t.Fatalf("doubling the velocity multiplies the power by %g, not 8", b/a)
		}
		if back := r.VelocityBy(a, 0.2, 1000); math.Abs(back-v) > 1e-9 {
			t.Fatalf("the power of %g m/s keeps up %g", v, back)
		}
		if s := power.ManningSlope(power.ManningVelocity(0.1, 1e-4, r.Manning), 0.1, r.Manning); math.Abs(s-1e-4) > 1e-15 {
			t.Fatalf("slope and velocity do not invert: %g", s)
		}
	})
}
