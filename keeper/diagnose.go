package keeper

import (
	"context"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/farm/diagnose"
	"sodalake/science/brine"
	"sodalake/science/growth"
	"sodalake/science/num"
	"sodalake/science/twin"
)

// Diagnosis is what may be behind a vessel that looks wrong.
type Diagnosis struct {
	At      time.Time           `json:"at"`
	Vessel  Vessel              `json:"vessel"`
	Seen    diagnose.Seen       `json:"seen"`  // as it was told
	Facts   map[string]num.Band `json:"facts"` // what the record tells, by the name with its unit
	Element string              `json:"element,omitempty"`
	Finding diagnose.Finding    `json:"finding"`
}

// Diagnose weighs what was told of a vessel together with its record; a zero at
// is now. A vessel that is not known, and a sign or a check that is not, is an
// error of code farm.NotFound or farm.Invalid.
func (k *Keeper) Diagnose(ctx context.Context, id string, seen diagnose.Seen, at time.Time) (Diagnosis, error) {
	at = k.moment(at)
	shelf, err := k.Shelf(ctx, at)
	if err != nil {
		return Diagnosis{}, err
	}
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Diagnosis{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	spec, ok := k.present.Vessel(id)
	if !ok {
		return Diagnosis{}, noVessel(k.present, id)
	}
	_, zone, _ := site(k.present)
	rec := diagnose.Record{Facts: map[string]num.Band{}, Held: len(k.present.OnHold(id, at)) > 0, Food: spec.Food}
	if l := a.looks[id]; l != nil {
		rec.Facts, rec.Element = record(k.present, l, at, zone)
		rec.Reserve = reserve(k.present, a, l, &shelf, at)
	}
	f, err := diagnose.Default().Find(seen, rec)
	if err != nil {
		return Diagnosis{}, err
	}
	return Diagnosis{At: at.In(zone), Vessel: k.vessel(k.present, a, spec, at), Seen: seen, Facts: rec.Facts, Element: rec.Element, Finding: f}, nil
}

// NotedSigns are the signs that the journal holds of the last day of a vessel:
// seen, or looked for and not there.
func (k *Keeper) NotedSigns(_ context.Context, id string, at time.Time) (map[string]bool, error) {
	at = k.moment(at)
	k.mu.RLock()
	defer k.mu.RUnlock()
	if _, ok := k.present.Vessel(id); !ok {
		return nil, noVessel(k.present, id)
	}
	return notedSigns(k.present.Timeline(id, at.Add(-24*time.Hour), at.Add(time.Second))), nil
}

// signWords are the signs that a word of a reading tells. A word that is not
// here tells none; the other signs of its row were looked for and are not there.
var signWords = map[string]map[string]string{
	"smell":    {"ammonia": "smell_ammonia", "rotten": "smell_rotten", "earthy": "smell_earthy", "none": "", "grassy": "", "soda": ""},
	"colour":   {"pale": "pale", "yellow": "yellow", "olive": "olive", "brown": "brown", "milky": "milky", "blue_water": "blue_water", "dark_green": "", "green": "", "blue_green": ""},
	"foam":     {"much": "foam", "none": ""},
	"clumps":   {"many": "clumps", "none": ""},
	"filtrate": {"green": "green_filtrate", "blue": "blue_filtrate", "clear": "", "yellow": ""},
	"animals":  {"flies": "larvae", "larvae": "larvae", "mosquitoes": "larvae", "rotifers": "animals", "mites": "animals", "none": ""},
}

// notedSigns reads signs out of a part of the journal, the latest word last.
func notedSigns(line []farm.Event) map[string]bool {
	out := map[string]bool{}
	for i := range line {
		e := &line[i]
		if e.Kind.Group != farm.GroupReading {
			continue
		}
		for key, words := range signWords {
			said := append(e.Body.List(key), e.Body.Text(key))
			told := false
			for _, w := range said {
				_, is := words[w]
				told = told || is && w != ""
			}
			if !told {
				continue
			}
			for _, sign := range words {
				if sign != "" {
					out[sign] = false
				}
			}
			for _, w := range said {
				if sign := words[w]; sign != "" {
					out[sign] = true
				}
			}
		}
		seen, counted := e.Body.Number("filaments_seen")
		if n, ok := e.Body.Number("foreign_seen"); ok {
			out["foreign_cells"] = n > 0
		}
		if n, ok := e.Body.Number("straight_seen"); ok && counted && seen > 0 {
			out["straight_filaments"] = n > 0.1*seen // the share from which it matters: judgement, no source
		}
		if n, ok := e.Body.Number("broken_seen"); ok && counted && seen > 0 {
			out["broken_filaments"] = n > 0.1*seen
		}
	}
	return out
}

// record gathers the facts of a vessel. What is not known is left out.
func record(p *farm.Present, l *look, at time.Time, zone *time.Location) (facts map[string]num.Band, element string) {
	facts = map[string]num.Band{}
	set := func(id string, x float64) { facts[id] = num.Band{Low: x, Mid: x, High: x} }
	if !l.started || l.t.begun.At.IsZero() {
		return facts, ""
	}
	v := adviceVessel(p, l, at, nil)
	facts["free_ammonia_mm"] = l.ammonia
	facts["salts_ms_per_cm_25c"] = l.now.Bands[ConductivityM]
	if n, ok := l.carry["nitrogen"]; ok {
		facts["nitrogen_carries_g_per_l"] = n
	}
	for _, name := range []string{"phosphorus", "potassium", "magnesium", "sulfur", "iron"} {
		if b, ok := l.carry[name]; ok && (element == "" || b.Mid < facts["other_carries_g_per_l"].Mid) {
			facts["other_carries_g_per_l"], element = b, name
		}
	}
	const days3 = 72 * time.Hour
	if hi, lo, ok := extremes(l.forecast.Past[PH25C], at.Add(-days3), nil); ok {
		facts["ph_25c_high"], facts["ph_25c_low"] = hi, lo
	}
	if hi, _, ok := extremes(l.forecast.Past[TempC], at.Add(-days3), nil); ok {
		facts["water_c_high"] = hi
	}
	sunny := v.ShadePct < 70 // a window and a lamp are light too
	morning := func(t time.Time) bool { h := t.In(zone).Hour(); return h >= 6 && h < 11 }
	if _, lo, ok := extremes(l.forecast.Past[TempC], at.Add(-days3), morning); ok && sunny {
		facts["morning_c_low"] = lo
	}
	if _, lo, ok := extremes(l.forecast.Past[DensityGPerL], at.Add(-96*time.Hour), nil); ok && v.Outdoors && v.ShadePct < 30 {
		facts["bare_density_g_per_l"] = lo
	}
	if len(l.forecast.Limits) > 0 {
		share := map[string]float64{}
		for _, x := range l.forecast.Limits {
			share[x.Key] = 100 * x.Share
		}
		set("damage_share_pct", share["damage"])
		set("light_share_pct", share["light"])
	}
	if was, ok := dayBefore(l, at); ok && was > 0 {
		set("day_change_pct", 100*(l.now.Bands[DensityGPerL].Mid/was-1))
	}
	told(p, l, &v, at, set)
	return facts, element
}

// told are the facts that the journal tells without the twin.
func told(p *farm.Present, l *look, v *advice.Vessel, at time.Time, set func(string, float64)) {
	volume := v.Volume.Mid
	var urea, moved, age float64
	last := l.t.begun.At
	line := p.Timeline(v.ID, l.t.begun.At, at.Add(time.Second))
	for i := range line {
		e := &line[i]
		when := e.Entry.At
		age += when.Sub(last).Hours() / 24
		last = when
		recent := at.Sub(when) < 72*time.Hour
		for _, f := range e.Flows {
			if f.To == v.ID && f.What == farm.IsMedium && f.VolumeL > 0 && volume > 0 {
				age *= volume / (volume + f.VolumeL) // the new water is of no age
			}
			// Harvests and new medium thin it; water does not, it makes up for
			// what evaporated.
			if recent && (f.To == v.ID && f.What == farm.IsMedium || f.From == v.ID && f.To == farm.Cloth) {
				moved += f.VolumeL
			}
		}
		switch {
		case e.Kind.Name == "fed" || e.Kind.Name == "dosed":
			if at.Sub(when) < 5*24*time.Hour && v.Volume.Low > 0 {
				urea += ureaOf(e.Body.Amounts("salts_g")) * 1000 / v.Volume.Low
			}
		case e.Kind.Name == "microscope":
			seen, _ := e.Body.Number("filaments_seen")
			straight, ok1 := e.Body.Number("straight_seen")
			foreign, ok2 := e.Body.Number("foreign_seen")
			if seen > 0 && ok1 && at.Sub(when) < 30*24*time.Hour {
				set("straight_pct", 100*straight/seen)
			}
			if seen > 0 && ok2 && at.Sub(when) < 7*24*time.Hour {
				set("foreign_pct", 100*foreign/(seen+foreign))
			}
		}
	}
	set("medium_age_d", age+at.Sub(last).Hours()/24)
	set("urea_given_mg_per_l", urea)
	if volume > 0 {
		set("taken_share_pct", math.Min(100*moved/volume, 100))
	}
	rain, rained := 0.0, false
	for _, id := range []string{v.ID, ""} {
		for _, r := range p.Readings(id, at.Add(-72*time.Hour), at.Add(time.Second), "rain_mm") {
			rain, rained = rain+r.Value, true
		}
	}
	if rained && v.Outdoors && !v.Covered {
		set("rain_mm", rain)
	}
	for _, r := range p.Readings(v.ID, at.AddDate(0, 0, -7), at.Add(time.Second), "chlorine_free_mg_per_l", "chlorine_total_mg_per_l") {
		set("chlorine_mg_per_l", r.Value)
	}
	switch {
	case !v.Unstirred.At.IsZero():
		set("still_h", at.Sub(v.Unstirred.At).Hours())
	case l.spec.Stirring.Kind == "continuous":
		set("still_h", 0)
	case l.spec.Stirring.Kind == "hand" && l.spec.Stirring.TimesPerDay >= 2:
		set("still_h", 2)
	}
}

// extremes are the highest and the lowest of a curve by its middle since a
// moment, of those times that pass.
func extremes(c Curve, since time.Time, pass func(time.Time) bool) (high, low num.Band, ok bool) {
	for i, t := range c.Times {
		if t.Before(since) || pass != nil && !pass(t) {
			continue
		}
		b := c.Bands[i]
		if !ok || b.Mid > high.Mid {
			high = b
		}
		if !ok || b.Mid < low.Mid {
			low = b
		}
		ok = true
	}
	return high, low, ok
}

// dayBefore is the density a day before [g/L].
func dayBefore(l *look, at time.Time) (float64, bool) {
	c := l.forecast.Past[DensityGPerL]
	i := nearest(c.Times, at.Add(-24*time.Hour))
	if i < 0 || absDur(c.Times[i].Sub(at.Add(-24*time.Hour))) > 4*time.Hour {
		return 0, false
	}
	return c.Bands[i].Mid, true
}

// carries is how much growth each salt in the water still carries, with its
// spread [g/L].
func carries(e *twin.Ensemble, cells *growth.Composition) map[string]num.Band {
	out := map[string]num.Band{}
	for name, x := range map[string]struct {
		need   float64
		totals []brine.Total
	}{
		"nitrogen": {cells.N, []brine.Total{brine.NO3, brine.NO2, brine.Ammonia, brine.Urea, brine.Urea}}, "phosphorus": {cells.P, []brine.Total{brine.PO4}},
		"potassium": {cells.K, []brine.Total{brine.K}}, "magnesium": {cells.Mg, []brine.Total{brine.Mg}}, "sulfur": {cells.S, []brine.Total{brine.SO4}}, "iron": {cells.Fe, []brine.Total{brine.Iron}},
	} {
		out[name] = e.Band(func(m *twin.Member) float64 {
			sum := 0.0
			for _, t := range x.totals {
				sum += m.Pond.Mol[t]
			}
			return sum / x.need / math.Max(m.Pond.VolumeL(), 1e-9)
		})
	}
	return out
}

// reserve is what a vessel could be started again from: of the living reserves
// without a hold the one with most dry matter, and of it all but a fifth, which
// stays behind.
func reserve(p *farm.Present, a *answer, l *look, shelf *Shelf, at time.Time) diagnose.Reserve {
	best := diagnose.Reserve{AgeDays: math.NaN(), CostPerL: math.NaN()}
	const taken = 0.8 // judgement, no source
	for _, id := range sortedLooks(a) {
		r := a.looks[id]
		if id == l.spec.ID || !r.started || r.spec.Retired || r.spec.Use != "reserve" && r.spec.Use != "starter" || len(p.OnHold(id, at)) > 0 {
			continue
		}
		litres, gl := taken*r.now.Bands[VolumeL].Mid, r.now.Bands[DensityGPerL].Mid
		if litres*gl <= best.Litres*best.GPerL {
			continue
		}
		v := adviceVessel(p, r, at, nil)
		best.Vessel, best.Litres, best.GPerL, best.AgeDays = id, litres, gl, v.ReserveAge
		best.Looked = v.LookPassed && !v.LastLook.At.IsZero() && at.Sub(v.LastLook.At) < 14*24*time.Hour
	}
	full := l.spec.FullLevelCM / 100
	if full == 0 {
		full = 0.9 * l.t.base.Shape.RimM()
	}
	best.FillL = l.t.base.Shape.VolumeL(full) * l.t.n
	best.LeastGL = advice.DefaultRules().FloorSunGPerL
	if l.t.shadePct >= 30 || l.spec.Place == "indoors" {
		best.LeastGL = advice.DefaultRules().FloorShadeGPerL
	}
	for _, c := range shelf.Litres {
		if len(c.Missing) == 0 && c.Value > 0 {
			best.CostPerL = c.Value
			break
		}
	}
	return best
}
