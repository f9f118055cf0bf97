package advice

import (
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"sodalake/science/num"
)

// morning is 07:40 of an invented June day.
var morning = time.Date(2026, 6, 18, 7, 40, 0, 0, time.FixedZone("farm", 0))

// ready is an invented pond that is dark, warm and looked after.
func ready() Vessel {
	ago := func(h float64) time.Time { return morning.Add(-time.Duration(h * float64(time.Hour))) }
	return Vessel{
		ID: "pond", Name: "Pond", Outdoors: true, Food: true, Started: true,
		AreaM2: 10, FullLevelCM: 18, RimCM: 30,
		Level: num.Band{Low: 17.4, Mid: 17.6, High: 17.8}, Volume: num.Band{Low: 1700, Mid: 1760, High: 1800}, LevelKnown: ago(20),
		Density: num.Band{Low: 0.52, Mid: 0.6, High: 0.7}, Growth: num.Band{Low: 0.03, Mid: 0.05, High: 0.07},
		PH25: num.Band{Low: 10.0, Mid: 10.1, High: 10.2}, PHLow48: 10.0, PHKnown: ago(20),
		Temp: num.Band{Low: 20, Mid: 21, High: 22}, Dawn: num.Band{Low: 19, Mid: 20, High: 21}, Noon: num.Band{Low: 29, Mid: 30, High: 31},
		Hottest: num.Band{Low: 29, Mid: 31, High: 33}, HottestOn: morning.Add(72 * time.Hour),
		CarbonCarries: 0.6, CarbonPerGramG: 9, AirDays: 6, NitrogenCarries: 1.5, FeedSalt: "KNO3",
		LastSecchi: Event{"s1", ago(1)}, LastPH: Event{"p1", ago(20)}, LastLevel: Event{"l1", ago(20)}, LastTemp: Event{"t1", ago(1)},
		LastTaken: Event{"h1", ago(120)}, LastLook: Event{"k1", ago(2)}, LookPassed: true, Begun: Event{"i1", ago(1500)},
		ChanceNow: 0.9, ReducedMgL: 2,
	}
}

func list(vs ...Vessel) []Item {
	return List(&Situation{Now: morning, Site: "here", Rules: DefaultRules(), Vessels: vs})
}

func find(items []Item, act string) *Item {
	for i := range items {
		if items[i].Act == act {
			return &items[i]
		}
	}
	return nil
}

func acts(items []Item) []string {
	var out []string
	for _, it := range items {
		out = append(out, it.Act)
	}
	return out
}

func TestHarvestLeavesTheFloor(t *testing.T) {
	items := list(ready())
	h := find(items, "harvest")
	if h == nil {
		t.Fatalf("no harvest for a dark, warm, looked-after pond: %v", acts(items))
	}
	// Exact balance: after taking h litres through the cloth with the filtrate
	// returned, the low tenth of the density must stay at the floor of 0.3.
	v := ready()
	left := v.Density.Low * (1 - h.Amount.Value/v.Volume.Low)
	if left < 0.3-1e-9 {
		t.Errorf("harvest of %g L leaves %g g/L at the low tenth, under the floor of 0.3 (jourdan2014)", h.Amount.Value, left)
	}
	if h.Urgency != Now || h.ValidUntil.Hour() != 10 {
		t.Errorf("a June harvest at 07:40 is %s until %s, want now until 10", h.Urgency, h.ValidUntil)
	}
	if h.Record == nil || h.Record.Kind != "harvested" || h.Record.Item != h.ID {
		t.Errorf("the item does not carry the act that records it: %+v", h.Record)
	}
	if find(items, "look") != nil {
		t.Error("a look two hours ago counts, and is asked for again")
	}
}

func TestEachRuleSpeaksAndIsSilent(t *testing.T) {
	ago := func(d float64) time.Time { return morning.Add(-days(d)) }
	cases := []struct {
		name    string
		change  func(*Vessel)
		says    []string // acts that must be there
		silent  []string // acts that must not
		because string   // key of the first said act's reason
	}{
		{"dark pond", func(v *Vessel) {}, []string{"harvest"}, []string{"wait", "hold_harvest", "feed", "add_carbon", "shade"}, "reason.harvest.ready"},
		{"no look for a week", func(v *Vessel) { v.LastLook.At = ago(7) }, []string{"look", "harvest"}, nil, "reason.look.old"},
		{"foreign seen", func(v *Vessel) { v.LookPassed = false }, []string{"hold_harvest"}, []string{"harvest", "look"}, "reason.hold.foreign"},
		{"smell of ammonia", func(v *Vessel) { v.Smells, v.SmellsOf = Event{"x", ago(0.1)}, "ammonia"; v.RemovedG = 500 }, []string{"stop_feeding", "hold_harvest"}, []string{"feed", "harvest"}, "reason.stopfeed.smell"},
		{"ammonia foreseen", func(v *Vessel) { v.FreeAmmonia = num.Band{Low: 0.3, Mid: 0.4, High: 0.8}; v.RemovedG = 500 }, []string{"stop_feeding"}, []string{"feed"}, "reason.stopfeed.ammonia"},
		{"low pH for food", func(v *Vessel) { v.PHLow48 = 9.5 }, []string{"hold_harvest"}, []string{"harvest"}, "reason.hold.ph"},
		{"cold bright morning", func(v *Vessel) {
			v.Temp = num.Band{Low: 12, Mid: 13, High: 14}
			v.BrightNow = true
		}, []string{"hold_harvest"}, []string{"harvest"}, "reason.cold.now"},
		{"young in the sun", func(v *Vessel) { v.Density = num.Band{Low: 0.1, Mid: 0.15, High: 0.2}; v.ChanceNow = 0 }, []string{"shade", "wait"}, []string{"harvest"}, "reason.shade.dilute"},
		{"young under shade", func(v *Vessel) {
			v.Density, v.ChanceNow, v.ShadePct = num.Band{Low: 0.1, Mid: 0.15, High: 0.2}, 0, 60
		}, []string{"wait"}, []string{"shade", "harvest"}, "reason.wait.beyond"},
		{"heat to come", func(v *Vessel) { v.Hottest = num.Band{Low: 38, Mid: 40, High: 42} }, []string{"shade"}, nil, "reason.heat.act"},
		{"heat of 43 to come", func(v *Vessel) { v.Hottest = num.Band{Low: 40, Mid: 42, High: 44} }, []string{"shade"}, nil, "reason.heat.alarm"},
		{"after a harvest", func(v *Vessel) { v.RemovedG, v.ChanceNow = 300, 0.1 }, []string{"feed"}, []string{"harvest"}, "reason.feed.replaces"},
		{"nitrogen runs out", func(v *Vessel) { v.NitrogenCarries = 0.05 }, []string{"feed"}, nil, "reason.feed.low"},
		{"carbon runs out", func(v *Vessel) { v.CarbonCarries, v.PH25 = 0.05, num.Band{Low: 10.5, Mid: 10.6, High: 10.7} }, []string{"add_carbon"}, nil, "reason.carbon.short"},
		{"growth has stopped", func(v *Vessel) { v.CarbonCarries, v.PH25 = 0, num.Band{Low: 11, Mid: 11.1, High: 11.2} }, []string{"add_carbon"}, nil, "reason.carbon.stopped"},
		{"level fell", func(v *Vessel) { v.Level = num.Band{Low: 14.8, Mid: 15, High: 15.2} }, []string{"top_up_water"}, nil, "reason.topup.evaporated"},
		{"level old", func(v *Vessel) { v.LevelKnown = ago(9); v.LastLevel.At = ago(9); v.RemovedG = 300 }, []string{"take_reading"}, []string{"feed", "top_up_water"}, "reason.read.level"},
		{"pH slipped", func(v *Vessel) {
			v.Doubts = []Doubtful{{Event: Event{"d", ago(0.1)}, Kind: "ph", Quantity: "ph", Value: 7.1, Expected: num.Band{Low: 10, Mid: 10.1, High: 10.2}}}
		}, []string{"take_reading", "harvest"}, []string{"check_instrument"}, "reason.doubt.ph"},
		{"meter dead", func(v *Vessel) {
			v.Doubts = []Doubtful{{Event: Event{"d", ago(0.1)}, Kind: "ph", Quantity: "ph", Value: 7.1, Again: 3}}
		}, []string{"check_instrument"}, nil, "reason.doubt.ph"},
		{"old reserve", func(v *Vessel) { v.Reserve, v.ReserveAge = true, 40 }, []string{"refresh_reserve"}, []string{"harvest", "wait"}, "reason.reserve.old"},
		{"growing", func(v *Vessel) {
			v.ChanceNow, v.Density = 0.1, num.Band{Low: 0.36, Mid: 0.4, High: 0.45}
			v.Ready = Crossing{Early: morning.Add(days(2)), Mid: morning.Add(days(3)), Late: morning.Add(days(6))}
		}, []string{"wait"}, []string{"harvest", "shade"}, "reason.wait.growing"},
		{"empty", func(v *Vessel) { v.Started = false }, nil, []string{"wait", "harvest", "take_reading"}, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			v := ready()
			c.change(&v)
			items := list(v)
			got := acts(items)
			for i, act := range c.says {
				it := find(items, act)
				if it == nil {
					t.Fatalf("list %v lacks %s", got, act)
				}
				if i == 0 && it.Reason.Key != c.because {
					t.Errorf("%s because %s, want %s", act, it.Reason.Key, c.because)
				}
			}
			for _, act := range c.silent {
				if slices.Contains(got, act) {
					t.Errorf("list %v must not say %s", got, act)
				}
			}
		})
	}
}

func TestUreaIsCapped(t *testing.T) {
	v := ready()
	v.FeedSalt, v.RemovedG, v.ChanceNow = "CO(NH2)2", 600, 0.1
	f := find(list(v), "feed")
	if f == nil {
		t.Fatal("no feed after 600 g were taken")
	}
	// 600 g dry hold 60 g N, 128.6 g urea; the day's cap is 33 mg/L
	// (Sánchez-Luna et al. 2007) at the low volume of 1700 L: 56.1 g.
	if f.Amount.Value > 56.1 || f.Amount.Value < 50 {
		t.Errorf("urea of %g g, want at most 56.1 and near it", f.Amount.Value)
	}
	v.ReducedDayMgL = 33
	if f := find(list(v), "feed"); f != nil {
		t.Errorf("urea of %g g on top of the day's cap", f.Amount.Value)
	}
}

// draw makes any vessel, sensible or not.
func draw(t *rapid.T) Vessel {
	v := ready()
	band := func(name string, lo, hi float64) num.Band {
		x := []float64{rapid.Float64Range(lo, hi).Draw(t, name), rapid.Float64Range(lo, hi).Draw(t, name), rapid.Float64Range(lo, hi).Draw(t, name)}
		slices.Sort(x)
		return num.Band{Low: x[0], Mid: x[1], High: x[2]}
	}
	at := func(name string) time.Time {
		return morning.Add(-days(rapid.Float64Range(0, 20).Draw(t, name)))
	}
	v.Density = band("density", 0.02, 1.5)
	v.Volume = band("volume", 0, 3000)
	v.Level = band("level", 0, 30)
	v.PH25 = band("ph", 7, 12)
	v.Temp, v.Dawn, v.Noon, v.Hottest = band("temp", 2, 46), band("dawn", 2, 40), band("noon", 2, 46), band("hottest", 2, 46)
	v.FreeAmmonia = band("ammonia", 0, 3)
	v.ReducedMgL, v.ReducedDayMgL = rapid.Float64Range(0, 200).Draw(t, "pool"), rapid.Float64Range(0, 80).Draw(t, "day")
	v.CarbonCarries, v.NitrogenCarries = rapid.Float64Range(-0.2, 2).Draw(t, "carbon"), rapid.Float64Range(-0.2, 2).Draw(t, "nitrogen")
	v.RemovedG = rapid.Float64Range(0, 2000).Draw(t, "removed")
	v.ChanceNow = rapid.Float64Range(0, 1).Draw(t, "chance")
	v.ShadePct = rapid.Float64Range(0, 90).Draw(t, "shade")
	v.FeedSalt = rapid.SampledFrom([]string{"KNO3", "NaNO3", "CO(NH2)2", ""}).Draw(t, "salt")
	v.LookPassed = rapid.Bool().Draw(t, "look")
	v.BrightNow, v.Covered, v.Outdoors, v.Food = rapid.Bool().Draw(t, "bright"), rapid.Bool().Draw(t, "covered"), rapid.Bool().Draw(t, "outdoors"), rapid.Bool().Draw(t, "food")
	v.PHLow48 = rapid.SampledFrom([]float64{0, 8, 9.5, 10.2}).Draw(t, "ph48")
	v.LevelKnown, v.LastLook.At, v.LastSecchi.At, v.LastPH.At = at("level at"), at("look at"), at("secchi at"), at("ph at")
	if rapid.Bool().Draw(t, "smells") {
		v.Smells, v.SmellsOf = Event{"sm", morning}, rapid.SampledFrom([]string{"ammonia", "rot"}).Draw(t, "smell")
	}
	if rapid.Bool().Draw(t, "held") {
		v.Holds = []Held{{Event: Event{"ho", morning}, Why: "reason.hold.quarantine"}}
	}
	return v
}

// TestPropertiesOfAnyList holds what must be true of the list for any state.
func TestPropertiesOfAnyList(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := draw(t)
		items := list(v)
		r := DefaultRules()
		for i := range items {
			it := &items[i]
			if it.ValidUntil.IsZero() || it.ValidUntil.Before(morning) {
				t.Fatalf("%s does not expire ahead: %s", it.Act, it.ValidUntil)
			}
			if it.Amount != nil && !(it.Amount.Value > 0 && it.Amount.Low <= it.Amount.Value && it.Amount.Value <= it.Amount.High) {
				t.Fatalf("%s has the amount %+v", it.Act, *it.Amount)
			}
			if it.ID == "" || it.Reason.Key == "" {
				t.Fatalf("%s has no identifier or no reason", it.Act)
			}
		}
		held := slices.ContainsFunc(items, func(it Item) bool { return it.Act == "hold_harvest" && !coldHold(it) })
		if held && find(items, "harvest") != nil {
			t.Fatal("a hold does not bar the harvest")
		}
		if find(items, "stop_feeding") != nil && find(items, "feed") != nil {
			t.Fatal("stop feeding and feed in one list")
		}
		if f := find(items, "feed"); f != nil && v.FeedSalt == "CO(NH2)2" {
			dose := f.Amount.Value / v.Volume.Low * 1000
			if dose+v.ReducedDayMgL > r.UreaDayMgL+1e-6 || dose+v.ReducedMgL > r.UreaPoolMgL+1e-6 {
				t.Fatalf("urea passes a cap: dose %g mg/L on %g today and %g standing", dose, v.ReducedDayMgL, v.ReducedMgL)
			}
		}
		if morning.Sub(v.LevelKnown) > days(r.LevelDays) || v.Volume.Low <= 0 {
			for _, act := range []string{"feed", "add_carbon", "top_up_water"} {
				if find(items, act) != nil && !(act == "top_up_water" && v.Volume.Low <= 0) {
					t.Fatalf("%s without a known volume", act)
				}
			}
		}
		count := 0
		for _, it := range items {
			if it.Class == Do || it.Class == Wait {
				count++
			}
		}
		if count > MaxItems {
			t.Fatalf("%d items", count)
		}
		if find(items, "wait") != nil && find(items, "harvest") != nil {
			t.Fatal("wait and harvest in one list")
		}
	})
}

func coldHold(it Item) bool {
	return it.Reason.Key == "reason.cold.now" || it.Reason.Key == "reason.cold.morning"
}

// TestWiderSpreadNeverEnlarges: at an equal middle a wider spread never
// enlarges a dose or a harvest.
func TestWiderSpreadNeverEnlarges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := draw(t)
		w := v
		stretch := rapid.Float64Range(1, 3).Draw(t, "stretch")
		widen := func(b num.Band) num.Band {
			return num.Band{Low: b.Mid - (b.Mid-b.Low)*stretch, Mid: b.Mid, High: b.Mid + (b.High-b.Mid)*stretch}
		}
		w.Density, w.Volume, w.Level = widen(v.Density), widen(v.Volume), widen(v.Level)
		narrow, wide := list(v), list(w)
		for _, it := range wide {
			if it.Amount == nil || it.Act == "look" || it.Act == "shade" {
				continue
			}
			before := find(narrow, it.Act)
			if before == nil {
				if it.Act == "feed" || it.Act == "add_carbon" {
					// Fewer harvest items leave room for others in a list of
					// five; the dose itself must not have grown from nothing.
					continue
				}
				t.Fatalf("%s of %g appears when the spread widens", it.Act, it.Amount.Value)
			}
			if it.Amount.Value > before.Amount.Value*(1+1e-9) {
				t.Fatalf("%s grows from %g to %g when the spread widens", it.Act, before.Amount.Value, it.Amount.Value)
			}
		}
	})
}

// TestScale: the same state per litre with everything doubled doubles amounts,
// before rounding (two leading digits each way).
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := draw(t)
		w := v
		w.Volume = num.Band{Low: 2 * v.Volume.Low, Mid: 2 * v.Volume.Mid, High: 2 * v.Volume.High}
		w.AreaM2, w.RemovedG = 2*v.AreaM2, 2*v.RemovedG
		one, two := list(v), list(w)
		for i := range one {
			a, b := one[i], find(two, one[i].Act)
			if a.Amount == nil || a.Amount.Unit == "%" || a.Amount.Unit == "fields" {
				continue
			}
			if b == nil || b.Amount == nil || math.Abs(b.Amount.Value/a.Amount.Value/2-1) > 0.11 {
				t.Fatalf("%s of %+v becomes %+v at twice the size", a.Act, a.Amount, b)
			}
		}
	})
}

func TestRounding(t *testing.T) {
	for _, c := range []struct{ in, want float64 }{{140, 140}, {149.9, 140}, {0.0567, 0.056}, {1, 1}, {0, 0}, {99.99, 99}} {
		if got := downTo(c.in); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("downTo(%g) = %g, want %g: two leading digits, never up", c.in, got, c.want)
		}
	}
}
