package advice

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"sodalake/science/num"
)

// What must hold for any state of a farm, whatever the rules grow into. Each
// has its number, so that none is lost: 6 stands with the words, 9 with the
// keeper, which alone see what they speak of. All are this farm's own rules of
// care: common practice or judgement, no source but where a limit names one.

// entryOf is what an item would write down.
type entryOf struct {
	VolumeL float64            `json:"volume_l"`
	RefillL float64            `json:"refill_l"`
	SaltsG  map[string]float64 `json:"salts_g"`
}

func written(it *Item) entryOf {
	var e entryOf
	if it.Record != nil {
		_ = json.Unmarshal(it.Record.Body, &e)
	}
	return e
}

func TestFifteenProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyFarm(t)
		checkList(t, s, List(s))
	})
}

// FuzzList lets the fuzzer look for a state that breaks a property.
func FuzzList(f *testing.F) {
	f.Fuzz(rapid.MakeFuzz(func(t *rapid.T) {
		s := anyFarm(t)
		checkList(t, s, List(s))
	}))
}

func checkList(t *rapid.T, s *Situation, items []Item) {
	r := &s.Rules
	for i := range s.Vessels {
		v := &s.Vessels[i]
		var mine []Item
		for _, it := range items {
			if it.Vessel == v.ID {
				mine = append(mine, it)
			}
		}
		ammonia := !v.Smells.At.IsZero() && v.SmellsOf == "ammonia" || v.FreeAmmonia.High > r.AmmoniaStopMM
		reduced := 0.0
		count := 0
		place := map[string]int{}
		for j := range mine {
			it := &mine[j]
			e := written(it)
			place[it.Act] = j + 1
			for salt, g := range e.SaltsG {
				if ammonia && slices.Contains([]string{"NaHCO3", "Na2CO3", "NaOH", "KOH"}, salt) {
					t.Fatalf("1: %s into ammonia", salt)
				}
				if salt == "CO(NH2)2" && v.Volume.Low > 0 {
					reduced += g / v.Volume.Low * 1000
				}
			}
			dose := len(e.SaltsG) > 0 || it.Record != nil && (it.Record.Kind == "topped_up" || it.Record.Kind == "purged" || it.Record.Kind == "split")
			if dose && it.Act != "refresh_reserve" && (v.LevelKnown.IsZero() || s.Now.Sub(v.LevelKnown) > days(r.LevelDays)) {
				t.Fatalf("3: %s with a level of %s", it.Act, v.LevelKnown)
			}
			if dose && v.Volume.Low <= 0 && it.Act != "top_up_water" {
				t.Fatalf("3: %s without a volume", it.Act)
			}
			if it.Act == "harvest" && v.Food && (len(v.Holds) > 0 || !v.LastLook.At.IsZero() && !v.LookPassed) {
				t.Fatalf("4: a harvest for food under a hold")
			}
			if it.Act == "wait" {
				band := it.Reason.Args["early"] != nil || it.Reason.Args["days"] != nil || it.Reason.Key == "reason.wait.held" || it.Reason.Args["until"] != nil || it.Reason.Key == "reason.wait.gone"
				if !band || !slices.ContainsFunc(it.More, func(m Reason) bool { return m.Key == "more.wait.change" }) {
					t.Fatalf("12: wait because %s with %v has no dates, or does not say what would change it", it.Reason.Key, it.Reason.Args)
				}
			}
			if it.Class == Do || it.Class == Wait {
				count++
			}
			if !it.ValidUntil.After(s.Now) {
				t.Fatalf("14: %s of %s does not expire ahead: %s", it.Act, s.Now, it.ValidUntil)
			}
			if it.ValidUntil.After(s.Now.AddDate(0, 1, 0)) {
				t.Fatalf("14: %s stands for more than a month", it.Act)
			}
			if a := it.Amount; a != nil && !(a.Value > 0 && a.Low <= a.Value && a.Value <= a.High) {
				t.Fatalf("%s has the amount %+v", it.Act, *a)
			}
		}
		if reduced > 0 && (reduced+v.ReducedDayMgL > r.UreaDayMgL+1e-6 || reduced+v.ReducedMgL > r.UreaPoolMgL+1e-6) {
			t.Fatalf("2: %g mg/L of urea on %g today and %g standing", reduced, v.ReducedDayMgL, v.ReducedMgL)
		}
		order := []string{"look", "harvest", "feed", "add_carbon"}
		for a := range order {
			for b := a + 1; b < len(order); b++ {
				if place[order[a]] > 0 && place[order[b]] > 0 && place[order[a]] > place[order[b]] {
					t.Fatalf("5: %s stands before %s", order[b], order[a])
				}
			}
		}
		for _, pair := range [][2]string{
			{"shade", "unshade"}, {"top_up_water", "top_up_medium"}, {"feed", "stop_feeding"}, {"vent", "shut"}, {"draw_off", "deepen"}, {"draw_off", "top_up_water"},
			{"purge", "top_up_water"}, {"repair", "top_up_water"}, {"wait", "harvest"}, {"hold_harvest", "harvest"}, {"do_not_inoculate", "scale_up"}, {"hold_harvest", "unshade"},
		} {
			if place[pair[0]] > 0 && place[pair[1]] > 0 {
				t.Fatalf("11: %s and %s in one list", pair[0], pair[1])
			}
		}
		if count > MaxItems {
			t.Fatalf("13: %d items", count)
		}
	}
	accepted(t, s, items)
}

// altered draws a farm twice the same way and changes its first vessel in one
// of the two.
func altered(t *rapid.T, change func(v *Vessel)) (was, is []Item, s *Situation) {
	s = anyFarm(t)
	other := *s
	other.Vessels = slices.Clone(s.Vessels)
	change(&other.Vessels[0])
	// With room for all: an item must not appear only because another fell out
	// of a list of five.
	return wholeList(s), wholeList(&other), &other
}

// wholeList is the list of the first vessel before it is cut to five.
func wholeList(s *Situation) []Item { return settle(forVessel(s, &s.Vessels[0])) }

// amounts are those of doses and harvests, by act.
func amounts(items []Item) map[string]float64 {
	out := map[string]float64{}
	for i := range items {
		switch it := &items[i]; it.Act {
		case "harvest", "feed", "add_carbon", "top_up_water", "top_up_medium", "purge", "scale_up", "deepen":
			out[it.Act] = it.Amount.Value
		}
	}
	return out
}

// instead are water acts of which one may stand in for another.
func instead(act string) bool {
	return slices.Contains([]string{"top_up_water", "top_up_medium", "purge", "deepen"}, act)
}

// 7: at an equal middle a wider spread never enlarges a dose or a harvest.
func TestWiderNeverEnlarges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stretch := rapid.Float64Range(1, 3).Draw(t, "stretch")
		widen := func(b *num.Band) {
			*b = num.Band{Low: b.Mid - (b.Mid-b.Low)*stretch, Mid: b.Mid, High: b.Mid + (b.High-b.Mid)*stretch}
		}
		was, is, _ := altered(t, func(v *Vessel) {
			for _, b := range []*num.Band{&v.Density, &v.Volume, &v.Level, &v.Conductivity, &v.Loss.SaltKept} {
				widen(b)
			}
		})
		narrow := amounts(was)
		for act, x := range amounts(is) {
			if before, there := narrow[act]; (there || !instead(act)) && x > before*(1+1e-9) {
				t.Fatalf("7: %s grows from %g to %g when the spread widens", act, before, x)
			}
		}
	})
}

// 8: the same state per litre at twice the size takes twice the amounts, before
// they are rounded to two digits.
func TestTwiceTheSize(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		double := func(b *num.Band) { *b = num.Band{Low: 2 * b.Low, Mid: 2 * b.Mid, High: 2 * b.High} }
		was, is, _ := altered(t, func(v *Vessel) {
			double(&v.Volume)
			double(&v.Loss.Missing)
			double(&v.Loss.Evaporated)
			v.AreaM2, v.RemovedG = 2*v.AreaM2, 2*v.RemovedG
			if v.Into != nil {
				into := *v.Into
				into.FullL *= 2
				v.Into = &into
			}
		})
		two := amounts(is)
		for act, x := range amounts(was) {
			if y := two[act]; y < 2*x*0.88 || y > 2*x*1.12 {
				t.Fatalf("8: %s of %g becomes %g at twice the size", act, x, y)
			}
		}
	})
}

// 10: a doubted reading never enlarges a dose or a harvest; it may stop one.
func TestDoubtNeverEnlarges(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		was, is, _ := altered(t, func(v *Vessel) {
			v.Doubts = append(v.Doubts, Doubtful{Event: Event{"d9", morning}, Kind: "secchi", Quantity: "secchi_cm", Value: 0.5, Expected: band(2, 3, 4), Again: 1})
		})
		before := amounts(was)
		for act, x := range amounts(is) {
			if x > before[act]*(1+1e-9) {
				t.Fatalf("10: %s grows from %g to %g by a doubted reading", act, before[act], x)
			}
		}
	})
}

// 15: worse input never yields fewer cautions: what is stopped or held stays so,
// and an item that stays keeps its cautions.
func TestWorseNeverFewerCautions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		worse := rapid.SampledFrom([]string{"colder", "more ammonia", "older reserve", "foreign", "smell"}).Draw(t, "worse")
		was, is, _ := altered(t, func(v *Vessel) {
			x := rapid.Float64Range(0.5, 8).Draw(t, "by")
			switch worse {
			case "colder":
				if v.Temp.Mid > DefaultRules().HotC {
					return // heat that goes is not worse
				}
				for _, b := range []*num.Band{&v.Temp, &v.Dawn} {
					*b = num.Band{Low: b.Low - x, Mid: max(b.Mid-x, 0.5), High: b.High - x}
				}
			case "more ammonia":
				v.FreeAmmonia = num.Band{Low: v.FreeAmmonia.Low + x, Mid: v.FreeAmmonia.Mid + x, High: v.FreeAmmonia.High + x}
			case "older reserve":
				v.ReserveAge += 10 * x
			case "foreign":
				v.LookPassed = false
			case "smell":
				if v.Smells.At.IsZero() {
					v.Smells, v.SmellsOf = Event{"sm", morning}, "ammonia"
				}
			}
		})
		for i := range was {
			it := &was[i]
			if it.Class != Stop && it.Class != Hold || it.Reason.Key == "reason.noinoc.cold" {
				continue
			}
			if !hasAct(is, it.Act) {
				t.Fatalf("15: %s because %s falls away when it is worse: %s", it.Act, it.Reason.Key, worse)
			}
		}
		for i := range is {
			for j := range was {
				a, b := &was[j], &is[i]
				if a.ID != b.ID {
					continue
				}
				for _, c := range a.Cautions {
					if !slices.Contains(b.Cautions, c) {
						t.Fatalf("15: %s loses %s when it is worse: %s", a.Act, c, worse)
					}
				}
			}
		}
	})
}

// The list depends on nothing but the situation: the same twice, and the order
// of the vessels does not change what is said of one.
func TestListIsAFunction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anyFarm(t)
		if !reflect.DeepEqual(List(s), List(s)) {
			t.Fatal("two lists of one situation")
		}
	})
}

// BenchmarkList is the day list of 20 vessels from their forecasts.
func BenchmarkList(b *testing.B) {
	s := usual()
	for i := range 18 {
		v := ready()
		v.ID = "pond" + strings.Repeat("x", i)
		s.Vessels = append(s.Vessels, v)
	}
	b.ReportAllocs()
	for b.Loop() {
		List(s)
	}
}
