package energy_test

import (
	"errors"
	"math"
	"testing"

	"sodalake/farm"
	"sodalake/farm/energy"
	"sodalake/science/power"
	"sodalake/science/sky"
)

func ask(lat float64) *energy.Ask {
	site := sky.Site{LatDeg: lat}
	return &energy.Ask{
		Site: site, Normals: sky.GuessNormals(site), Years: 6, Seed: 1, PumpW: 5, PumpHours: 8, AlwaysW: 0.3, PanelW: 40, BatteryWh: 144,
		TiltDeg: math.NaN(), AllowedPct: 2, OnePanelW: 20, OneWh: 144,
	}
}

func run(t *testing.T, a *energy.Ask) *energy.Answer {
	t.Helper()
	out, err := energy.Run(a)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// The worst month is that of the low sun: around midwinter of its half of the
// earth. What is wanted is arithmetic: 5 W × 8 h + 0.3 W × 24 h = 47.2 Wh.
func TestWorstMonth(t *testing.T) {
	var sun [2]float64
	defer func() {
		// The panel faces noon in both halves: midwinters are alike but for the
		// sun's distance (7 %) and the draws.
		if math.Abs(sun[0]/sun[1]-1) > 0.2 {
			t.Errorf("%.2f h of full sun in the north's midwinter, %.2f in the south's", sun[0], sun[1])
		}
	}()
	for _, c := range []struct {
		lat    float64
		months []int
	}{{50, []int{11, 12, 1}}, {-50, []int{5, 6, 7}}} {
		out := run(t, ask(c.lat))
		if c.lat > 0 {
			sun[0] = out.Months[out.Worst-1].SunHours
		} else {
			sun[1] = out.Months[out.Worst-1].SunHours
		}
		ok := false
		for _, m := range c.months {
			ok = ok || out.Worst == m
		}
		if !ok || math.Abs(out.DayWh-47.2) > 1e-9 || math.Abs(out.TiltDeg-65) > 1e-9 {
			t.Errorf("at %g° the worst month is %d, want one of %v; %.1f Wh; tilt %.0f°", c.lat, out.Worst, c.months, out.DayWh, out.TiltDeg)
		}
		for m, x := range out.Months {
			if x.SunHours < out.Months[out.Worst-1].SunHours {
				t.Errorf("month %d has less sun than the worst", m+1)
			}
		}
	}
}

// In the greyest week a larger battery never does worse, and a panel that makes
// more than is wanted lasts. The week is under the mean of its month.
func TestGreyWeek(t *testing.T) {
	last := energy.Week{LackPct: 101}
	for _, wh := range []float64{20, 60, 144, 400, 2000} {
		a := ask(50)
		a.PanelW, a.BatteryWh = 15, wh
		out := run(t, a)
		g := out.Have.Grey
		if g.LackPct > last.LackPct+1e-9 {
			t.Errorf("%g Wh lack %.1f %%, a smaller battery %.1f %%", wh, g.LackPct, last.LackPct)
		}
		if g.SunHours > out.Months[out.Worst-1].SunHours {
			t.Errorf("the greyest week has %.2f h of sun, its month %.2f", g.SunHours, out.Months[out.Worst-1].SunHours)
		}
		if g.Lasts != (g.LackPct == 0) || math.Abs(g.WantedWh-47.2) > 1e-6 {
			t.Errorf("%+v", g)
		}
		last = g
	}
	if !last.Lasts { // 2000 Wh carry 47 Wh a day through a week by themselves
		t.Errorf("%+v", last)
	}
}

// The smallest set keeps what was allowed, by a run of its own; one panel fewer
// does not.
func TestSmallest(t *testing.T) {
	a := ask(45)
	out := run(t, a)
	if out.Best == nil {
		t.Fatalf("%+v", out.None)
	}
	b := *a
	b.PanelW, b.BatteryWh = out.Best.PanelW, out.Best.BatteryWh
	if got := run(t, &b).Have.LossPct; got > 2+1e-9 {
		t.Errorf("the smallest set lacks %.3f %%, 2 were allowed", got)
	}
	if b.PanelW -= a.OnePanelW; b.PanelW > 0 {
		if got := run(t, &b).Have.LossPct; got <= 2 {
			t.Errorf("one panel fewer lacks %.3f %% and would do", got)
		}
	}
}

// A pump by the sun runs in the middle of the day, longer in summer, and needs
// less of a battery.
func TestBySun(t *testing.T) {
	a := ask(45)
	a.BySun = true
	out := run(t, a)
	june, december := out.Months[5], out.Months[11]
	if !(june.From < 12 && june.To > 12) || june.To-june.From < december.To-december.From || out.AboveWM2 <= 0 {
		t.Errorf("June %d to %d, December %d to %d, above %.0f W/m²", june.From, june.To, december.From, december.To, out.AboveWM2)
	}
	spread := run(t, ask(45))
	if out.Have.LossPct > spread.Have.LossPct+1e-9 {
		t.Errorf("by the sun lacks %.2f %%, spread over the day %.2f %%", out.Have.LossPct, spread.Have.LossPct)
	}
}

// Through a polar night no small set lasts, and that is said, not failed.
func TestPole(t *testing.T) {
	out := run(t, ask(89))
	if out.Best != nil || out.None == nil || out.Have.Grey.Lasts || out.Months[11].LossPct < 99 {
		t.Errorf("%+v %+v", out.Best, out.Have)
	}
}

func TestRefused(t *testing.T) {
	for field, change := range map[string]func(a *energy.Ask){
		"pump_w": func(a *energy.Ask) { a.PumpW, a.AlwaysW = 0, 0 }, "pump_hours": func(a *energy.Ask) { a.PumpHours = 25 },
		"panel_w": func(a *energy.Ask) { a.PanelW = 0 }, "battery_wh": func(a *energy.Ask) { a.BatteryWh = 0 }, "tilt_deg": func(a *energy.Ask) { a.TiltDeg = 91 },
		"loss_allowed_pct": func(a *energy.Ask) { a.AllowedPct = -1 }, "one_panel_w": func(a *energy.Ask) { a.OnePanelW = 0 }, "years": func(a *energy.Ask) { a.Years = 0 },
	} {
		a := ask(40)
		change(a)
		_, err := energy.Run(a)
		var fe *farm.Error
		if !errors.As(err, &fe) || fe.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

// The greater part of a page: twenty years, a set and the search.
func BenchmarkTwentyYears(b *testing.B) {
	a := ask(45)
	a.Years, a.Kind = 20, power.LithiumIronPhosphate
	b.ReportAllocs()
	for b.Loop() {
		if _, err := energy.Run(a); err != nil {
			b.Fatal(err)
		}
	}
}
