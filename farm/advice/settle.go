package advice

import "slices"

// opposites are acts that must not stand in one list of a vessel. The first of
// a pair stays.
var opposites = [][2]string{
	{"shade", "unshade"},
	{"stop_feeding", "feed"},
	{"hold_harvest", "harvest"},
	{"draw_off", "deepen"},
	{"draw_off", "top_up_water"}, // room is made for rain, which brings the water
	{"draw_off", "top_up_medium"},
	{"draw_off", "purge"},
	{"repair", "purge"},         // the leak takes the salts
	{"repair", "top_up_water"},  // it would run out again; medium for what leaked
	{"repair", "deepen"},        //
	{"deepen", "top_up_water"},  // one water act
	{"deepen", "top_up_medium"}, //
	{"deepen", "purge"},         //
	{"purge", "top_up_water"},   // it refills to the full mark
	{"purge", "top_up_medium"},  //
	{"top_up_water", "top_up_medium"},
	{"shut", "vent"},       // see clash: heat by day, frost by night
	{"vent", "cover"},      //
	{"harvest", "unshade"}, // what is left is thinner
	{"do_not_inoculate", "scale_up"},
	{"do_not_inoculate", "refresh_reserve"}, // not from this one
	{"quarantine", "scale_up"},
	{"harvest", "wait"},
	{"prepare", "unshade"},
	{"hold_harvest", "unshade"},    // cold or sick: no more light
	{"stop_feeding", "add_carbon"}, // see ammoniaHere; never soda into ammonia
}

// settle takes away what contradicts something that weighs more, and merges
// what is one act.
func settle(items []Item) []Item {
	if i := slices.IndexFunc(items, func(it Item) bool { return it.Act == "harvest" }); i >= 0 {
		for j := range items {
			if items[j].Act != "hold_harvest" {
				continue
			}
			switch items[j].Reason.Key {
			case "reason.cold.now":
				// It is not taken in the cold; the hold says what comes after.
				items[j].More = append(items[j].More, Reason{Key: "more.cold.then", Args: map[string]any{"volume_l": items[i].Amount.Value}})
			case "reason.cold.morning":
				// Taken while it is warm; the morning is met by the shade.
				items[i].More = append(items[i].More, items[j].Reason)
				items[j].Act = ""
			}
		}
	}
	items = slices.DeleteFunc(items, func(it Item) bool { return it.Act == "" })
	for _, pair := range opposites {
		if hasAct(items, pair[0]) {
			items = slices.DeleteFunc(items, func(it Item) bool { return it.Act == pair[1] })
		}
	}
	if !hasAct(items, "harvest") {
		// A look before a harvest falls with it.
		items = slices.DeleteFunc(items, func(it Item) bool {
			return it.Act == "look" && (it.Reason.Key == "reason.look.before" || it.Reason.Key == "reason.look.old")
		})
	}
	items = once(items)
	chain(items)
	return items
}

// once keeps the most urgent of several items that ask for the same entry of
// the same kind with the same act: one shade, one cover, one reading of a kind.
func once(items []Item) []Item {
	best := map[string]int{}
	key := func(it *Item) string {
		k := it.Act
		if it.Act == "take_reading" || it.Act == "check_instrument" || it.Act == "calibrate" {
			if it.Record != nil {
				k += it.Record.Kind
			}
			k += string(it.Class)
		}
		if it.Act == "hold_lot" || it.Act == "look" {
			k = it.ID
		}
		return k
	}
	for i := range items {
		k := key(&items[i])
		if j, seen := best[k]; !seen || rank(&items[i]) < rank(&items[j]) {
			best[k] = i
		}
	}
	var out []Item
	for i := range items {
		if best[key(&items[i])] == i {
			out = append(out, items[i])
		}
	}
	return out
}

// chain: look, harvest, feed, carbon are done in this order, so none is more
// urgent than the one before it.
func chain(items []Item) {
	order := []string{"look", "harvest", "feed", "add_carbon"}
	latest := Now
	for _, act := range order {
		for i := range items {
			it := &items[i]
			if it.Act != act || it.Class != Do {
				continue
			}
			if soonness[it.Urgency] < soonness[latest] {
				it.Urgency = latest
			}
			latest = it.Urgency
		}
	}
}

var soonness = map[Urgency]int{Now: 0, Today: 1, Soon: 2}

func hasAct(items []Item, act string) bool {
	return slices.ContainsFunc(items, func(it Item) bool { return it.Act == act })
}

// harm orders acts by what waiting costs: a culture within hours, the food of
// people, a culture within days, a harvest, growth, ease. Judgement, no source.
var harm = map[string]int{
	"hold_lot": 5, "hold_harvest": 6, "quarantine": 7, "do_not_inoculate": 8, "stop_feeding": 4,
	"repair": 10, "vent": 11, "shade": 12, "draw_off": 13, "cover": 14, "shut": 14, "stir": 15, "deepen": 16, "prepare": 18, "visit": 19,
	"take_reading": 20, "check_instrument": 21, "top_up_water": 24, "top_up_medium": 24,
	"clean": 29, "look": 30, "harvest": 31, "feed": 34, "add_carbon": 35, "scale_up": 36,
	"purge": 40, "refresh_reserve": 42, "unshade": 44, "calibrate": 46, "buy": 48, "wait": 60,
}

// less is the order of the list: stops and holds, what is due now, then the
// harm of waiting.
func less(a, b *Item) int {
	if x, y := rank(a), rank(b); x != y {
		return x - y
	}
	return harm[a.Act] - harm[b.Act]
}
