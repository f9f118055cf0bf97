package advice

import (
	"encoding/json"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/science/num"
)

// MaxItems is the most items a vessel shows; stops, holds, doubts and cautions
// are not counted.
const MaxItems = 5

// List writes the day list. The order is: stops and holds first, then what is
// due now, then by the harm of waiting; within a vessel look, harvest, feed,
// carbon. No two items of a vessel contradict each other.
func List(s *Situation) []Item {
	lists := make([][]Item, len(s.Vessels))
	var harvests *Vessel
	for i := range s.Vessels {
		v := &s.Vessels[i]
		lists[i] = settle(forVessel(s, v))
		if harvests == nil && hasAct(lists[i], "harvest") {
			harvests = v
		}
	}
	// What the farm needs stands at one of its vessels.
	for _, it := range slices.Concat(holdLots(s), meterDue(s, nil), chores(s, harvests), one(anyReserve(s))) {
		for i := range s.Vessels {
			if s.Vessels[i].ID == it.Vessel {
				lists[i] = append(lists[i], it)
			}
		}
	}
	var all []Item
	for i := range s.Vessels {
		items := bearable(s, &s.Vessels[i], settle(lists[i]))
		Sort(items)
		all = append(all, atMost(items, MaxItems)...)
	}
	Sort(all)
	return all
}

func one(it *Item) []Item {
	if it == nil {
		return nil
	}
	return []Item{*it}
}

// rank orders items over the whole farm.
func rank(it *Item) int {
	r := map[Class]int{Stop: 0, Hold: 1, Doubt: 3, Do: 4, Wait: 8}[it.Class]
	switch it.Urgency {
	case Now:
		if it.Class == Do {
			r = 2
		}
	case Soon:
		if it.Class == Do {
			r = 6
		}
	}
	return r
}

func forVessel(s *Situation, v *Vessel) []Item {
	if !v.Started {
		return nil
	}
	var items []Item
	add := func(it *Item) {
		if it != nil {
			items = append(items, *it)
		}
	}
	stopFeed, holdTake := stopFeeding(s, v), holdHarvest(s, v)
	add(stopFeed)
	add(holdTake)
	add(quarantine(s, v))
	add(doNotInoculate(s, v))
	for _, d := range v.Doubts {
		add(doubtReading(s, v, d))
	}
	add(leak(s, v))
	add(tooHot(s, v))
	add(frost(s, v))
	add(rain(s, v))
	add(coldAndBright(s, v))
	add(stir(s, v))
	add(shadeDilute(s, v))
	add(unshade(s, v))
	add(prepare(s, v))
	add(visit(s, v))
	take := harvest(s, v)
	if take != nil && holdTake == nil {
		add(lookFirst(s, v, take))
		add(take)
	}
	add(topUp(s, v))
	add(purge(s, v))
	if stopFeed == nil {
		add(feed(s, v))
	}
	add(carbon(s, v))
	add(scaleUp(s, v))
	add(reading(s, v, take != nil))
	add(reserve(s, v))
	if take == nil || holdTake != nil {
		add(wait(s, v))
	}
	if seasonNear(s, v) {
		for i := range items {
			if items[i].Act == "harvest" || items[i].Act == "wait" {
				items[i].More = append(items[i].More, Reason{Key: "more.season.ends", Args: map[string]any{"ends": v.SeasonEnds}})
			}
		}
	}
	return items
}

// atMost keeps the first n items that are neither stops, holds nor doubts.
func atMost(items []Item, n int) []Item {
	kept := items[:0]
	count := 0
	for _, it := range items {
		if it.Class == Do || it.Class == Wait {
			if count == n {
				continue
			}
			count++
		}
		kept = append(kept, it)
	}
	return kept
}

// newItem fills what all items share. anchor is the entry that the cause goes
// back to, so that the identifier stays while the cause lasts.
func newItem(v *Vessel, act string, class Class, urgency Urgency, anchor string) *Item {
	if anchor == "" {
		anchor = "start"
	}
	return &Item{
		ID: v.ID + "." + act + "." + anchor, Vessel: v.ID, Act: act,
		Class: class, Urgency: urgency, Confidence: confidence(v), Cautions: []string{},
	}
}

// record makes the entry that records an item as done.
func record(s *Situation, v *Vessel, it *Item, kind string, body map[string]any) {
	raw, err := json.Marshal(body)
	if err != nil {
		panic("advice: body cannot be written: " + err.Error())
	}
	it.Record = &farm.Entry{Site: s.Site, Vessel: v.ID, Kind: kind, V: 1, Body: raw, Item: it.ID}
}

// confidence says on how much the density of v stands: on the width of its
// band, which already carries the number and the age of the readings.
func confidence(v *Vessel) Confidence {
	if v.Density.Low <= 0 {
		return Thin
	}
	switch ratio := v.Density.High / v.Density.Low; {
	case ratio < 1.4:
		return Sure
	case ratio < 2:
		return FairlySure
	}
	return Thin
}

// dose guards every amount that is given to water: the volume must be known
// from a level that is not too old.
func doseable(s *Situation, v *Vessel) bool {
	return v.Volume.Low > 0 && !v.LevelKnown.IsZero() && s.Now.Sub(v.LevelKnown) <= days(s.Rules.LevelDays)
}

// floorOf is the least density to leave in v [g/L].
func floorOf(r *Rules, v *Vessel) float64 {
	if v.Outdoors && v.ShadePct < 30 {
		return r.FloorSunGPerL
	}
	return r.FloorShadeGPerL
}

func readyOf(r *Rules, v *Vessel) float64 {
	if v.ReadyHere > 0 {
		return v.ReadyHere
	}
	return r.ReadyGPerL
}

// downTo rounds x down to two leading digits, so that rounding never crosses a
// limit from below.
func downTo(x float64) float64 { return step(x, math.Floor) }

// nearTo rounds x to two leading digits.
func nearTo(x float64) float64 { return step(x, math.Round) }

func step(x float64, round func(float64) float64) float64 {
	if !(x > 1e-6) || math.IsInf(x, 0) {
		return 0
	}
	unit := math.Pow(10, math.Floor(math.Log10(x))-1)
	// The small push keeps 140/10 from being floored to 13.
	return round(x/unit*(1+1e-12)) * unit
}

func days(d float64) time.Duration { return time.Duration(d * 24 * float64(time.Hour)) }

// endOfDay is the last moment of the farm's day.
func endOfDay(now time.Time) time.Time {
	_, to := farm.DayOf(now, now.Location())
	return to
}

// band returns the three quantiles as arguments with a common prefix.
func bandArgs(args map[string]any, name string, b num.Band) map[string]any {
	args[name], args[name+"_low"], args[name+"_high"] = b.Mid, b.Low, b.High
	return args
}

// Sort puts items into the order of the list.
func Sort(items []Item) {
	slices.SortStableFunc(items, func(a, b Item) int { return less(&a, &b) })
}
