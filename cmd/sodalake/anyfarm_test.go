package main

import (
	"time"

	"pgregory.net/rapid"

	"sodalake/farm/advice"
	"sodalake/science/num"
)

// anyFarm draws a farm in any state that the rules can meet: one vessel of any
// kind, at times a reserve beside it, and what stands around them.
func anyFarm(t *rapid.T) *advice.Situation {
	flip := func(name string) bool { return rapid.Bool().Draw(t, name) }
	one := func(name string, xs ...float64) float64 { return rapid.SampledFrom(xs).Draw(t, name) }
	hours := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	s := &advice.Situation{Now: listDay.Add(hours(one("clock", 0, 0, 4, 9, 14))), Site: "here", Rules: advice.DefaultRules()}
	ago := func(name, id string, h ...float64) advice.Event {
		x := one(name, append(h, 0)...)
		if x == 0 {
			return advice.Event{}
		}
		return advice.Event{ID: id, At: s.Now.Add(-hours(x))}
	}
	ahead := func(name string, d ...float64) time.Time {
		x := one(name, append(d, 0)...)
		if x == 0 {
			return time.Time{}
		}
		return s.Now.Add(hours(24 * x))
	}
	v := anyVessel(t)
	v.Vents, v.Stirring = rapid.SampledFrom([]string{"", "shut", "open"}).Draw(t, "vents"), rapid.SampledFrom([]string{"none", "hand", "continuous"}).Draw(t, "stirring")
	v.Rain, v.RainOn = band(one("rain low", 0, 20), 60, one("rain high", 80, 300)), s.Now.Add(hours(one("rain in", 6, 30)))
	if flip("dry") {
		v.Rain = num.Band{}
	}
	if flip("brimful") {
		v.Level, v.RimCM = band(23.9, 24, 24.1), one("rim", 25, 40, 62)
	}
	if v.FrostOn = ahead("frost", 0.4, 1.5); !v.FrostOn.IsZero() {
		v.AirLow = band(-6, -3, 0)
	}
	if flip("helps") {
		v.Helps = []advice.Help{{Act: "shade", Hottest: band(36, 38, 41)}, {Act: "vent", Hottest: band(35, 37, 39)}, {Act: "deepen", Hottest: band(34, 36, 38)}}
	}
	v.SeasonEnds = ahead("season", 2, 15)
	v.Conductivity, v.MediumSince = band(1, 1.02, 1.05), ago("medium", "m", 24*30, 24*500).At
	if salt := one("salt", 12, 36, 37, 70); true {
		v.Conductivity = band(salt*0.97, salt, salt*1.03)
	}
	v.ConductivityKnown = ago("salt read", "c", 20, 24*90).At
	if flip("loss") {
		kept := one("kept", 0, 0.6, 0.9, 1)
		v.Loss = advice.Loss{Until: ago("loss until", "l", 20), Since: s.Now.Add(-hours(80)), Missing: band(140, 150, 160), Evaporated: band(40, 60, 80), SaltKept: band(kept*0.97, kept, kept*1.02)}
	}
	v.FeedRest = map[string]float64{"K2HPO4": 0.05, "MgSO4.7H2O": 0.02}
	v.FromOutside, v.CleanLooks, v.Quarantined, v.Offspring = ago("outside", "o", 24*4), rapid.IntRange(0, 2).Draw(t, "looks"), flip("quarantined"), flip("offspring")
	if v.Starter = v.Reserve && flip("starter"); v.Starter {
		water := one("water", 0, 12, 24)
		v.Into = &advice.Larger{ID: "big", Name: "Big", FullL: 3000, Outdoors: flip("big outdoors"), Water: band(water, water, water), ChlorineMg: one("chlorine", -1, 0, 0.6)}
	}
	if flip("held") {
		v.Holds = []advice.Held{{Event: ago("hold", "h", 30), Why: "reason.hold." + rapid.SampledFrom([]string{"foreign", "smell", "person", "event"}).Draw(t, "why"), Of: "rotten"}}
	}
	s.Vessels = append(s.Vessels, v)
	if flip("another") {
		w := anyVessel(t)
		w.ID, w.Name, w.Reserve, w.Indoor = "sill", "Sill", true, flip("indoor")
		s.Vessels = append(s.Vessels, w)
	}
	s.Meters = anyMeter(t)
	s.Lots = []advice.Lot{{ID: "l7", Vessel: "pond", OffPond: s.Now.Add(-hours(one("off", 2, 7, 60))), Settled: flip("settled"), Held: flip("lot held")}}
	s.Tools = []advice.Tool{{ID: "cloth", Name: "Cloth", Used: ago("used", "u", 20, 60), Cleaned: ago("cleaned", "c", 10, 300), EveryUse: flip("each"), EveryDays: one("every", 0, 7)}}
	if flip("gauges") {
		s.Instruments = []advice.Instrument{{ID: "scale", Name: "Scale", Checked: ago("checked", "c", 20, 24*90), EveryDays: 30, Failed: flip("scale failed")}}
		s.Meters = nil
	}
	if flip("shelf") {
		s.Needs = []advice.Need{{Of: "soda", Name: "baking soda", LeftG: 300, RateGPD: 60, RunsOut: advice.Crossing{Early: ahead("soda out", 2, 9, 50)}}, {Of: "iron", Name: "iron sulfate", LeftG: 3, RateGPD: 1, RunsOut: advice.Crossing{Early: ahead("iron out", 3, 60)}}}
	}
	switch rapid.IntRange(0, 6).Draw(t, "who is there") {
	case 0:
		s.Absence = advice.Absence{From: s.Now.Add(hours(20)), Until: s.Now.Add(hours(200))}
	case 1:
		s.Absence = advice.Absence{From: s.Now.Add(-hours(20)), Until: s.Now.Add(hours(200))}
	case 2:
		s.Absence = advice.Absence{From: s.Now.Add(-hours(20))}
	case 3:
		s.LastNoted = s.Now.Add(-hours(24 * 8))
	}
	return s
}
