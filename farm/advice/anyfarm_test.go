package advice

import (
	"strings"
	"time"

	"pgregory.net/rapid"

	"sodalake/science/num"
)

// band is a spread.
func band(low, mid, high float64) num.Band { return num.Band{Low: low, Mid: mid, High: high} }

// anyVessel draws a vessel in any state that the rules can meet. The command's
// tests draw alike, to hear every sentence.
func anyVessel(t *rapid.T) Vessel {
	flip := func(name string) bool { return rapid.Bool().Draw(t, name) }
	one := func(name string, xs ...float64) float64 { return rapid.SampledFrom(xs).Draw(t, name) }
	spread := func(name string, mids ...float64) num.Band {
		m, w := one(name, mids...), one(name+" spread", 0.01, 0.15, 0.6)
		return band(m*(1-w), m, m*(1+w))
	}
	ago := func(name, id string) Event {
		h := one(name, 0, 1, 20, 60, 200, 1500)
		if h == 0 {
			return Event{}
		}
		return Event{ID: id, At: morning.Add(-time.Duration(h * float64(time.Hour)))}
	}
	ahead := func(name string) time.Time {
		d := one(name, 0, 0.2, 2, 6, 9)
		if d == 0 {
			return time.Time{}
		}
		return morning.Add(time.Duration(d * 24 * float64(time.Hour)))
	}
	v := Vessel{
		ID: "pond", Name: "Pond", Started: true, Outdoors: flip("outdoors"), SideLit: flip("side"), Reserve: flip("reserve"), Food: flip("food"), Covered: flip("covered"),
		ShadePct: one("shade", 0, 40, 60), AreaM2: 10, FullLevelCM: 18, RimCM: 30,
		Level: spread("level", 12, 16, 18), Volume: spread("volume", 500, 1700), LevelKnown: ago("level known", "l").At,
		Density: spread("density", 0.1, 0.25, 0.6, 1.2), Growth: spread("growth", 0.01, 0.06), PH25: spread("ph", 9.2, 10.1, 10.6, 11.2),
		PHLow48: one("low ph", 0, 9.2, 10), PHKnown: ago("ph known", "p").At,
		Temp: spread("temp", 9, 15, 24, 41), Dawn: spread("dawn", 9, 16, 22), Noon: spread("noon", 20, 30, 41), Hottest: spread("hottest", 25, 39, 44),
		HottestOn: morning.Add(48 * time.Hour), WarmAt: ahead("warm at"), BrightNow: flip("bright"),
		CarbonCarries: one("carbon", 0, 0.02, 0.6), CarbonPerGramG: 9, AirDays: one("air", 0, 6), NitrogenCarries: one("nitrogen", -0.01, 0.05, 1.5),
		FreeAmmonia: spread("ammonia", 0.001, 0.4, 2), ReducedMgL: one("reduced", 1, 30, 90), ReducedDayMgL: one("reduced day", 0, 25),
		RemovedG: one("removed", 0, 40, 600), FeedSalt: rapid.SampledFrom([]string{"KNO3", "NaNO3", "CO(NH2)2", "ash"}).Draw(t, "salt"),
		LastFed: ago("fed", "f"), LastTaken: ago("taken", "h"), LastLook: ago("look", "k"), LookPassed: flip("passed"), LastSecchi: ago("secchi", "s"),
		LastPH: ago("last ph", "p"), LastLevel: ago("last level", "l"), LastTemp: ago("last temp", "t"), Begun: ago("begun", "i"),
		Ready: Crossing{Early: ahead("early"), Mid: ahead("mid"), Late: ahead("late")}, ChanceNow: one("chance", 0, 0.3, 0.9, 1), ReserveAge: one("age", 3, 40),
	}
	if share := one("worth", 0, 0.1, 0.6); share > 0 {
		v.Worth = []Worth{{Kind: rapid.SampledFrom([]string{"secchi", "ph", "dry_weight", "optical_density", "level", "temperature", "conductivity"}).Draw(t, "worth of"), Share: share, Last: ago("worth last", "w")}}
	}
	if flip("unstirred") {
		v.Unstirred = ago("still", "u")
	}
	if flip("smells") {
		v.Smells, v.SmellsOf = ago("smell", "x"), rapid.SampledFrom([]string{"ammonia", "rot"}).Draw(t, "of")
	}
	if flip("doubt") {
		kind := rapid.SampledFrom([]string{"secchi/secchi_cm", "ph/ph", "temperature/temp_c", "level/level_cm", "conductivity/conductivity_ms_per_cm", "optical_density/od_750", "dry_weight/dry_weight_g_per_l", "reading/nitrate_mg_per_l"}).Draw(t, "doubted")
		k, q, _ := strings.Cut(kind, "/")
		v.Doubts = []Doubtful{{Event: Event{ID: "d", At: morning.Add(-time.Hour)}, Kind: k, Quantity: q, Value: 7.1, Expected: band(9, 10, 11), Again: rapid.IntRange(0, 3).Draw(t, "again")}}
	}
	return v
}

// anyMeter draws a pH meter that was checked some time, or never.
func anyMeter(t *rapid.T) []Meter {
	m := Meter{ID: "m", Name: "meter", DueDays: 14, Bias: 0.12, Failed: rapid.Bool().Draw(t, "failed")}
	if h := rapid.SampledFrom([]float64{0, 20, 700}).Draw(t, "checked"); h > 0 {
		m.Checked = Event{ID: "c", At: morning.Add(-time.Duration(h) * time.Hour)}
	}
	return []Meter{m}
}

// anyFarm draws a farm in any state that the rules can meet: one vessel of any
// kind, at times a reserve beside it, and what stands around them.
func anyFarm(t *rapid.T) *Situation {
	flip := func(name string) bool { return rapid.Bool().Draw(t, name) }
	one := func(name string, xs ...float64) float64 { return rapid.SampledFrom(xs).Draw(t, name) }
	hours := func(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
	s := &Situation{Now: morning.Add(hours(one("clock", 0, 0, 4, 9, 14))), Site: "here", Rules: DefaultRules()}
	ago := func(name, id string, h ...float64) Event {
		x := one(name, append(h, 0)...)
		if x == 0 {
			return Event{}
		}
		return Event{ID: id, At: s.Now.Add(-hours(x))}
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
		v.Helps = []Help{{Act: "shade", Hottest: band(36, 38, 41)}, {Act: "vent", Hottest: band(35, 37, 39)}, {Act: "deepen", Hottest: band(34, 36, 38)}}
	}
	v.SeasonEnds = ahead("season", 2, 15)
	v.Conductivity, v.MediumSince = band(1, 1.02, 1.05), ago("medium", "m", 24*30, 24*500).At
	if salt := one("salt", 12, 36, 37, 70); true {
		v.Conductivity = band(salt*0.97, salt, salt*1.03)
	}
	v.ConductivityKnown = ago("salt read", "c", 20, 24*90).At
	if flip("loss") {
		kept := one("kept", 0, 0.6, 0.9, 1)
		v.Loss = Loss{Until: ago("loss until", "l", 20), Since: s.Now.Add(-hours(80)), Missing: band(140, 150, 160), Evaporated: band(40, 60, 80), SaltKept: band(kept*0.97, kept, kept*1.02)}
	}
	v.FeedRest = map[string]float64{"K2HPO4": 0.05, "MgSO4.7H2O": 0.02}
	v.FromOutside, v.CleanLooks, v.Quarantined, v.Offspring = ago("outside", "o", 24*4), rapid.IntRange(0, 2).Draw(t, "looks"), flip("quarantined"), flip("offspring")
	if v.Starter = v.Reserve && flip("starter"); v.Starter {
		water := one("water", 0, 12, 24)
		v.Into = &Larger{ID: "big", Name: "Big", FullL: 3000, Outdoors: flip("big outdoors"), Water: band(water, water, water), ChlorineMg: one("chlorine", -1, 0, 0.6)}
	}
	if flip("held") {
		v.Holds = []Held{{Event: ago("hold", "h", 30), Why: "reason.hold." + rapid.SampledFrom([]string{"foreign", "smell", "person", "event"}).Draw(t, "why"), Of: "rotten"}}
	}
	s.Vessels = append(s.Vessels, v)
	if flip("another") {
		w := anyVessel(t)
		w.ID, w.Name, w.Reserve, w.Indoor = "sill", "Sill", true, flip("indoor")
		s.Vessels = append(s.Vessels, w)
	}
	s.Meters = anyMeter(t)
	s.Lots = []Lot{{ID: "l7", Vessel: "pond", OffPond: s.Now.Add(-hours(one("off", 2, 7, 60))), Settled: flip("settled"), Held: flip("lot held")}}
	s.Tools = []Tool{{ID: "cloth", Name: "Cloth", Used: ago("used", "u", 20, 60), Cleaned: ago("cleaned", "c", 10, 300), EveryUse: flip("each"), EveryDays: one("every", 0, 7)}}
	if flip("gauges") {
		s.Instruments = []Instrument{{ID: "scale", Name: "Scale", Checked: ago("checked", "c", 20, 24*90), EveryDays: 30, Failed: flip("scale failed")}}
		s.Meters = nil
	}
	if flip("shelf") {
		s.Needs = []Need{{Of: "soda", Name: "baking soda", LeftG: 300, RateGPD: 60, RunsOut: Crossing{Early: ahead("soda out", 2, 9, 50)}}, {Of: "iron", Name: "iron sulfate", LeftG: 3, RateGPD: 1, RunsOut: Crossing{Early: ahead("iron out", 3, 60)}}}
	}
	switch rapid.IntRange(0, 6).Draw(t, "who is there") {
	case 0:
		s.Absence = Absence{From: s.Now.Add(hours(20)), Until: s.Now.Add(hours(200))}
	case 1:
		s.Absence = Absence{From: s.Now.Add(-hours(20)), Until: s.Now.Add(hours(200))}
	case 2:
		s.Absence = Absence{From: s.Now.Add(-hours(20))}
	case 3:
		s.LastNoted = s.Now.Add(-hours(24 * 8))
	}
	return s
}
