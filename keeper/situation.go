package keeper

import (
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
)

// situation gathers what the day list is made from.
func situation(p *farm.Present, a *answer, zone *time.Location) *advice.Situation {
	s, _, _ := site(p)
	out := &advice.Situation{Now: a.at.In(zone), Site: s.ID, Rules: advice.DefaultRules()}
	for _, spec := range p.Vessels() {
		l := a.looks[spec.ID]
		if l == nil || spec.Retired {
			continue
		}
		out.Vessels = append(out.Vessels, adviceVessel(p, l, a.at, a.checks))
	}
	for _, m := range a.meters {
		if m.Read {
			out.Meters = append(out.Meters, advice.Meter{
				ID: m.ID, Name: m.Name, Checked: advice.Event{ID: m.EntryID, At: m.Checked}, DueDays: float64(m.EveryDays), Failed: m.Result == "failed",
				Bias: math.Max(math.Abs(m.Bias.Low), math.Abs(m.Bias.High)),
			})
		}
	}
	return out
}

// adviceVessel is one vessel as the rules see it.
func adviceVessel(p *farm.Present, l *look, at time.Time, checks []meterCheck) advice.Vessel {
	b := l.now.Bands
	spec := &l.spec
	v := advice.Vessel{
		ID: spec.ID, Name: spec.Name, Started: l.started && !l.t.begun.At.IsZero(),
		Outdoors: spec.Place != "indoors", SideLit: l.t.base.Side, Reserve: spec.Use == "reserve" || spec.Use == "starter",
		Food: spec.Food, ShadePct: l.t.shadePct, Covered: spec.Cover.Kind != "none" && spec.Cover.Kind != "" || spec.Place == "tunnel",
		AreaM2: l.areaM2, FullLevelCM: spec.FullLevelCM, RimCM: l.t.base.Shape.RimM() * 100,
		Level: b[LevelCM], Volume: b[VolumeL], Density: b[DensityGPerL], Growth: l.growth, PH25: b[PH25C], Temp: b[TempC],
		Dawn: l.dawn, Noon: l.noon, Hottest: l.hottest, HottestOn: l.hottestOn, BrightNow: l.bright,
		CarbonCarries: l.carries, CarbonPerGramG: l.perGram, AirDays: l.airDays, NitrogenCarries: l.nitrogen,
		FreeAmmonia: l.ammonia, ReducedMgL: l.reduced, ChanceNow: l.chance, ReadyHere: l.ready,
		Ready: advice.Crossing{Early: l.forecast.Ready.Early, Mid: l.forecast.Ready.Mid, Late: l.forecast.Ready.Late},
		Worth: worthOf(l), Begun: l.t.begun, FeedSalt: feedSalt(p),
	}
	if spec.Count > 1 {
		v.SideLit = true
	}
	if v.Temp.Mid < advice.DefaultRules().ColdC {
		v.WarmAt = l.warmAt
	}
	v.ReserveAge = at.Sub(renewed(p, spec.ID, l.t.begun.At, at)).Hours() / 24
	history(p, l, at, checks, &v)
	for _, h := range p.OnHold(spec.ID, at) {
		v.Holds = append(v.Holds, advice.Held{Event: advice.Event{ID: h.EntryID, At: h.Since}, Why: "reason.hold." + holdKey(h.Reason), Of: holdOf(p, &h)})
	}
	return v
}

// holdKey maps the reasons of holds to those that the list has sentences for.
func holdKey(reason string) string {
	switch reason {
	case "foreign_cells":
		return "foreign"
	case "smell", "quarantined":
		return map[string]string{"smell": "smell", "quarantined": "quarantine"}[reason]
	case "held":
		return "person"
	}
	return "event"
}

// holdOf is what was smelled, or the words of who began a hold.
func holdOf(p *farm.Present, h *farm.Hold) string {
	if e, ok := p.Event(h.EntryID); ok {
		if smell := e.Body.Text("smell"); smell != "" {
			return smell
		}
	}
	return h.Text
}

// feedSalt is what the farm feeds: a setting, else potassium nitrate.
func feedSalt(p *farm.Present) string {
	if s, ok := p.Setting("feed_salt"); ok {
		return strings.Trim(string(s.Value), `"`)
	}
	return "KNO3"
}

// renewed is when a vessel last got new culture or new medium.
func renewed(p *farm.Present, vessel string, begun, at time.Time) time.Time {
	for _, e := range p.Timeline(vessel, begun, at.Add(time.Second)) {
		for _, f := range e.Flows {
			if f.To == vessel && (f.What == farm.IsMedium || f.What == farm.IsCulture) {
				begun = e.Entry.At
			}
		}
	}
	return begun
}

// history walks the vessel's line and fills in what was done and read last.
func history(p *farm.Present, l *look, at time.Time, checks []meterCheck, v *advice.Vessel) {
	line := p.Timeline(v.ID, at.AddDate(0, 0, -60), at.Add(time.Second))
	v.LookPassed = true
	for i := range line {
		e := &line[i]
		ev := advice.Event{ID: e.Entry.ID, At: e.Entry.At}
		switch e.Kind.Name {
		case "fed", "dosed":
			if n := nitrogenOf(e.Body.Amounts("salts_g")); n > 0 {
				v.LastFed = ev
				v.RemovedG = math.Max(v.RemovedG-n/advice.NitrogenShare, 0)
				if at.Sub(ev.At) < 24*time.Hour && v.Volume.Low > 0 {
					v.ReducedDayMgL += ureaOf(e.Body.Amounts("salts_g")) * 1000 / v.Volume.Low
				}
			}
		case "harvested":
			v.LastTaken = ev
			v.RemovedG += removed(e, l)
		case "topped_up", "mixed":
			if e.Entry.Vessel == v.ID {
				if vol, ok := e.Body.Number("level_after_cm"); ok && vol > 0 {
					v.LastLevel, v.LevelKnown = ev, ev.At
				}
			}
		case "inoculated":
			v.LevelKnown = ev.At // the volume was told
		case "stirred":
			v.Unstirred = advice.Event{}
			if e.Body.Text("stirring") == "none" {
				v.Unstirred = ev
			}
		case "event":
			if e.Body.Text("event") == "power_cut" && l.spec.Stirring.Kind == "continuous" && at.Sub(ev.At) < 12*time.Hour {
				v.Unstirred = ev
			}
		}
		if e.Kind.Group == farm.GroupReading {
			lastReading(e, ev, l, at, checks, v)
		}
	}
	if v.LastLevel.At.After(v.LevelKnown) {
		v.LevelKnown = v.LastLevel.At
	}
	slices.SortStableFunc(v.Doubts, func(a, b advice.Doubtful) int { return a.At.Compare(b.At) })
}

func lastReading(e *farm.Event, ev advice.Event, l *look, at time.Time, checks []meterCheck, v *advice.Vessel) {
	if e.Kind.Name == "microscope" {
		v.LastLook = ev
		foreign, counted := e.Body.Number("foreign_seen")
		v.LookPassed = counted && foreign == 0
	}
	for _, r := range e.Readings() {
		if r.Key == "smell" && (r.Word == "ammonia" || r.Word == "rotten") && at.Sub(r.At) < 72*time.Hour {
			v.Smells, v.SmellsOf = ev, map[string]string{"ammonia": "ammonia", "rotten": "rot"}[r.Word]
		} else if r.Key == "smell" && (r.Word == "none" || r.Word == "grassy" || r.Word == "soda") {
			v.Smells, v.SmellsOf = advice.Event{}, ""
		}
		said, followed := l.t.verdicts[r.EntryID+"/"+r.Key]
		if followed && (said.doubt == doubtEmpty || said.doubt == doubtTwice) {
			continue // said where the reading stands; nothing is to be read again
		}
		if followed && said.doubt != "" {
			if at.Sub(r.At) < 48*time.Hour {
				v.Doubts = append(dropKind(v.Doubts, e.Kind.Name), advice.Doubtful{
					Event: ev, Kind: doubtKind(r.Key), Quantity: r.Key, Value: r.Value, Expected: said.expected, Again: said.again,
				})
			}
			continue
		}
		switch r.Key {
		case "secchi_cm", "od_750", "od_680", "od_560", "dry_weight_g_per_l":
			v.LastSecchi = ev
		case "ph":
			v.LastPH, v.PHKnown = ev, r.At
			if at.Sub(r.At) < 48*time.Hour {
				tempC, known := e.Body.Number("temp_c")
				if !known && l.started {
					tempC, known = v.Temp.Mid, true
				}
				ph25 := r.Value
				if r.Instrument != "strip" {
					// A meter that was found to show too much must not hide a low
					// pH; one that shows too little is not corrected upwards here.
					ph25 = math.Min(ph25, trueOf(checks, r.Instrument, r.At, r.Value, 25))
				}
				if known {
					ph25 = shift(num.Band{Mid: ph25}, tempC).Mid
				}
				if v.PHLow48 == 0 || ph25 < v.PHLow48 {
					v.PHLow48 = ph25
				}
			}
		case "level_cm":
			v.LastLevel = ev
		case "temp_c":
			v.LastTemp = ev
		}
		v.Doubts = dropQuantity(v.Doubts, r.Key) // a believed one settles it
	}
}

func doubtKind(key string) string {
	switch key {
	case "secchi_cm":
		return "secchi"
	case "ph":
		return "ph"
	case "temp_c":
		return "temperature"
	case "level_cm":
		return "level"
	case "conductivity_ms_per_cm":
		return "conductivity"
	case "dry_weight_g_per_l":
		return "dry_weight"
	}
	if strings.HasPrefix(key, "od_") {
		return "optical_density"
	}
	return "reading"
}

// dropKind keeps one doubt of a kind: the last, which knows how many there were.
func dropKind(ds []advice.Doubtful, kind string) []advice.Doubtful {
	return slices.DeleteFunc(ds, func(d advice.Doubtful) bool { return d.Kind == kind })
}

func dropQuantity(ds []advice.Doubtful, key string) []advice.Doubtful {
	return slices.DeleteFunc(ds, func(d advice.Doubtful) bool { return d.Quantity == key })
}

// removed is the dry matter that a harvest took [g]: as weighed, else from the
// volume and the density the twin had then, or has now.
func removed(e *farm.Event, l *look) float64 {
	if dry, ok := e.Body.Number("dry_g"); ok {
		return dry
	}
	if mass, ok := e.Body.Number("mass_g"); ok {
		return mass * pasteDry
	}
	litres, _ := e.Body.Number("volume_l")
	density := l.now.Bands[DensityGPerL].Mid
	c := l.forecast.Past[DensityGPerL]
	for i, t := range c.Times {
		if t.After(e.Entry.At) {
			break
		}
		density = c.Bands[i].Mid
	}
	return litres * density
}

// nitrogenOf is the nitrogen in salts that were given [g].
func nitrogenOf(saltsG map[string]float64) float64 {
	n := 0.0
	for salt, g := range saltsG {
		n += g * nitrogenShare[salt]
	}
	return n
}

// nitrogenShare is the nitrogen in salts [g/g], from the IUPAC atomic weights.
var nitrogenShare = map[string]float64{
	"KNO3": 14.007 / 101.10, "NaNO3": 14.007 / 84.99, "CO(NH2)2": 28.014 / 60.06, "NH4H2PO4": 14.007 / 115.03,
	"(NH4)2HPO4": 28.014 / 132.06, "NH4NO3": 28.014 / 80.04, "(NH4)2SO4": 28.014 / 132.14, "NH4Cl": 14.007 / 53.49, "Ca(NO3)2.4H2O": 28.014 / 236.15,
}

// ureaOf is the reduced nitrogen in salts that were given, as urea [g].
func ureaOf(saltsG map[string]float64) float64 {
	const ureaPerN = 60.06 / 28.014
	g := saltsG["CO(NH2)2"]
	for _, salt := range []string{"NH4H2PO4", "(NH4)2HPO4", "(NH4)2SO4", "NH4Cl"} {
		g += saltsG[salt] * nitrogenShare[salt] * ureaPerN
	}
	return g + saltsG["NH4NO3"]*14.007/80.04*ureaPerN
}
