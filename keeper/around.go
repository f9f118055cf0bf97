package keeper

import (
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/medium"
	"sodalake/science/num"
)

// ahead2 is what the air brings in the coming two days.
type ahead2 struct {
	rain, airLow num.Band // [mm], [°C]
	rainOn       time.Time
	frostOn      time.Time
}

// skyAhead sums the rain and finds the coldest hour of the coming 48 h over all
// draws.
func skyAhead(days []*dayWeather, at time.Time) ahead2 {
	var out ahead2
	end := at.Add(48 * time.Hour)
	draws := 0
	for _, d := range days {
		draws = max(draws, len(d.draws))
	}
	if draws == 0 {
		return out
	}
	rain, low := make([]float64, draws), make([]float64, draws)
	wettest, coldest := 0.0, math.Inf(1)
	for i := range low {
		low[i] = math.Inf(1)
	}
	for _, day := range days {
		if !day.from.Before(end) {
			break
		}
		fell := 0.0
		for k := range draws {
			w := day.draws[k%len(day.draws)] // a measured day has one weather for all
			for i := range w.Outside {
				t := w.Start.Add(time.Duration(i) * step)
				if t.Before(at) || t.Before(day.from) || !t.Before(day.to) || !t.Before(end) {
					continue
				}
				mm := w.Outside[i].RainMMPerH * step.Hours()
				rain[k] += mm
				fell += mm
				low[k] = math.Min(low[k], w.Outside[i].AirC)
				if w.Outside[i].AirC < coldest {
					coldest, out.frostOn = w.Outside[i].AirC, t
				}
			}
		}
		if fell > wettest {
			wettest, out.rainOn = fell, day.from.Add(12*time.Hour)
			if out.rainOn.Before(at) {
				out.rainOn = at.Add(time.Hour)
			}
		}
	}
	out.rain, out.airLow = num.BandOf(rain), num.BandOf(low)
	return out
}

// aroundInto fills in what the day list knows beside the twins: the weather to
// come, the balance of water and salts, young cultures, instruments, the shelf,
// and who is there. The caller holds k.mu.
func (k *Keeper) aroundInto(s *advice.Situation, a *answer, at time.Time) {
	p := k.present
	here, zone, known := site(p)
	for i := range s.Vessels {
		v := &s.Vessels[i]
		l := a.looks[v.ID]
		v.Indoor, v.Starter, v.Stirring, v.Vents = l.spec.Place == "indoors", l.spec.Use == "starter", l.spec.Stirring.Kind, l.spec.Cover.Vents
		for _, ref := range p.VesselRefs(v.ID, at.AddDate(-1, 0, 0), at.Add(time.Second), "stirred", "vented", "covered") {
			e, ok := p.Event(ref.ID)
			if !ok {
				continue
			}
			if w := e.Body.Text("stirring"); w != "" {
				v.Stirring = w
			}
			if w := e.Body.Text("vents"); w != "" {
				v.Vents = w
			}
			if w := e.Body.Text("cover"); w != "" {
				v.Covered = w != "none"
			}
		}
		for _, ref := range p.VesselRefs(v.ID, at.AddDate(-1, 0, 0), at.Add(time.Second)) {
			if k := farm.KindNamed(ref.Kind); k != nil && (k.Group == farm.GroupReading || k.Group == farm.GroupAct) && ref.At.After(s.LastNoted) {
				s.LastNoted = ref.At
			}
		}
		if v.Outdoors {
			v.Rain, v.RainOn, v.AirLow = a.coming.rain, a.coming.rainOn.In(zone), a.coming.airLow
			if v.FrostOn = a.coming.frostOn; !v.FrostOn.IsZero() {
				v.FrostOn = v.FrostOn.In(zone)
			}
			if known {
				v.SeasonEnds = seasonEnds(here.Normals, at.In(zone), v.Covered)
			}
		}
		v.Conductivity = l.now.Bands[ConductivityM]
		if r, ok := p.LastReading(v.ID, "conductivity_ms_per_cm", at.Add(time.Second)); ok {
			v.ConductivityKnown = r.At
		}
		v.MediumSince = mediumSince(p, v, at)
		v.Loss = lossOf(p, l, v, at)
		young(p, v, at)
	}
	for i := range s.Vessels {
		if v := &s.Vessels[i]; v.Starter && v.Started {
			v.Into = emptyBeside(p, a, s, v, at)
		}
	}
	k.checksInto(s, at)
	k.needsInto(s, a, at)
	s.Absence = absenceOf(p, at.In(zone))
}

// seasonC is the mean air under which open water hardly grows [°C]; under a
// cover the air may be coverK colder. Judgement, no source.
const (
	seasonC = 15
	coverK  = 4
)

// seasonEnds is the first of the coming thirty days on which the mean air of the
// monthly figures falls under what growth needs, while it is falling; zero if
// none does, or if it is under it already.
func seasonEnds(normals []farm.Month, at time.Time, covered bool) time.Time {
	if len(normals) != 12 {
		return time.Time{}
	}
	limit := float64(seasonC)
	if covered {
		limit -= coverK
	}
	mean := func(t time.Time) float64 {
		// From the middle of one month to that of the next.
		x := float64(t.Month()-1) + (float64(t.Day())-15.5)/30.5
		i := int(math.Floor(x))
		m := func(j int) float64 { n := normals[(j+24)%12]; return (n.TMinC + n.TMaxC) / 2 }
		return m(i) + (x-float64(i))*(m(i+1)-m(i))
	}
	if mean(at) <= limit {
		return time.Time{}
	}
	for d := 1; d <= 30; d++ {
		if t := at.AddDate(0, 0, d); mean(t) <= limit {
			return time.Date(t.Year(), t.Month(), t.Day(), 12, 0, 0, 0, t.Location())
		}
	}
	return time.Time{}
}

// mediumSince is since when most of the medium is in use: since the culture was
// put in, or since half of it or more was poured in at once.
func mediumSince(p *farm.Present, v *advice.Vessel, at time.Time) time.Time {
	since := v.Begun.At
	for _, ref := range p.VesselRefs(v.ID, since, at.Add(time.Second), "mixed", "topped_up", "purged") {
		e, _ := p.Event(ref.ID)
		for _, f := range e.Flows {
			if f.To == v.ID && f.What == farm.IsMedium && f.VolumeL >= 0.5*v.Volume.Mid {
				since = e.Entry.At
			}
		}
	}
	return since
}

// Spreads of what a loss stands on: a level is read to levelErrCM, a
// conductivity to conductErr, and the sun takes from open water between the
// ends of sunMMD on a day. Judgement, no source.
const (
	levelErrCM = 0.2
	conductErr = 0.03
)

var sunMMD = num.Band{Low: 1, Mid: 4, High: 9}

// lossOf is what is missing between the last level and one of the two weeks
// before, and how much of the salts, from readings of the conductivity beside
// both. Nothing is said where an act between did not tell its volume.
func lossOf(p *farm.Present, l *look, v *advice.Vessel, at time.Time) advice.Loss {
	levels := believed(p.Readings(v.ID, at.AddDate(0, 0, -14), at.Add(time.Second), "level_cm"))
	if len(levels) < 2 || v.AreaM2 <= 0 {
		return advice.Loss{}
	}
	last := levels[len(levels)-1]
	i := slices.IndexFunc(levels, func(r farm.Reading) bool { return last.At.Sub(r.At) <= 8*24*time.Hour })
	first := levels[i]
	span := last.At.Sub(first.At).Hours() / 24
	if span < 0.5 {
		return advice.Loss{}
	}
	volume := func(cm float64) float64 { return l.t.base.Shape.VolumeL(cm/100) * l.t.n }
	should, salts := volume(first.Value), true
	for _, e := range p.Timeline(v.ID, first.At.Add(time.Millisecond), last.At) {
		for _, f := range e.Flows {
			if f.All || f.ToCM > 0 || f.VolumeL <= 0 {
				return advice.Loss{}
			}
			if f.To == v.ID {
				should += f.VolumeL
				salts = salts && (f.What == farm.IsWater || f.What == farm.IsFiltrate)
			}
			if f.From == v.ID {
				should -= f.VolumeL
			}
		}
		salts = salts && e.Kind.Name != "fed" && e.Kind.Name != "dosed" && e.Kind.Name != "purged"
	}
	missing, err := should-volume(last.Value), 1.28*math.Sqrt2*levelErrCM*v.AreaM2*10 // 80 % of the error of a difference
	share := v.AreaM2 * span
	if l.spec.Place != "outdoors" {
		share *= 0.4 // still or moist air. Judgement, no source
	}
	out := advice.Loss{
		Until: advice.Event{ID: last.EntryID, At: last.At}, Since: first.At,
		Missing:    num.Band{Low: missing - err, Mid: missing, High: missing + err},
		Evaporated: num.Band{Low: sunMMD.Low * share, Mid: sunMMD.Mid * share, High: sunMMD.High * share}, // 1 mm on 1 m² is 1 L
	}
	ecs := believed(p.Readings(v.ID, first.At.Add(-24*time.Hour), last.At.Add(24*time.Hour), "conductivity_ms_per_cm"))
	near := func(t time.Time) (float64, bool) {
		for _, r := range ecs {
			if absDur(r.At.Sub(t)) <= 12*time.Hour && r.At.Before(at.Add(time.Second)) {
				return r.Value, true
			}
		}
		return 0, false
	}
	was, ok1 := near(first.At)
	is, ok2 := near(last.At)
	if salts && ok1 && ok2 && was > 0 && should > 0 {
		// Salts that were drawn off with culture went at the strength of then:
		// what should be there is the water that should be, at that strength.
		kept := is * volume(last.Value) / (was * withoutWater(p, v.ID, first, last, volume(first.Value)))
		e := 1.28 * math.Hypot(math.Sqrt2*conductErr, levelErrCM/math.Max(last.Value, 1))
		out.SaltKept = num.Band{Low: kept * (1 - e), Mid: kept, High: kept * (1 + e)}
	}
	return out
}

// withoutWater is the volume that would hold the salts that should be there, at
// the strength of the first reading [L]: what stood then, less what was taken
// out, plus what ran back; water brings none.
func withoutWater(p *farm.Present, id string, first, last farm.Reading, litres float64) float64 {
	for _, e := range p.Timeline(id, first.At.Add(time.Millisecond), last.At) {
		for _, f := range e.Flows {
			if f.To == id && f.What == farm.IsFiltrate {
				litres += f.VolumeL
			}
			if f.From == id {
				litres -= f.VolumeL
			}
		}
	}
	return math.Max(litres, 1e-6)
}

func believed(rs []farm.Reading) []farm.Reading {
	return slices.DeleteFunc(rs, func(r farm.Reading) bool { return len(r.Doubts) > 0 || r.Op != "=" && r.Op != "" })
}

// young fills in where a culture came from and how it was looked at since.
func young(p *farm.Present, v *advice.Vessel, at time.Time) {
	for _, h := range p.OnHold(v.ID, at) {
		v.Quarantined = v.Quarantined || h.Reason == "quarantined"
	}
	for _, e := range p.Timeline(v.ID, at.AddDate(0, 0, -14), at.Add(time.Second)) {
		// Without a word on where it came from it may have stood here when the
		// records began.
		if e.Kind.Name == "inoculated" && e.Body.Text("from") == farm.Outside {
			v.FromOutside, v.CleanLooks = advice.Event{ID: e.Entry.ID, At: e.Entry.At}, 0
		}
		if e.Kind.Name == "microscope" {
			if n, counted := e.Body.Number("foreign_seen"); counted && n > 0 {
				v.CleanLooks = 0
			} else if counted && e.Entry.At.After(v.LastClean.Add(20*time.Hour)) {
				v.CleanLooks, v.LastClean = v.CleanLooks+1, e.Entry.At
			}
		}
	}
	for _, link := range p.Offspring(v.ID, at.AddDate(0, 0, -60)) {
		v.Offspring = v.Offspring || link.To != farm.Outside
	}
}

// emptyBeside is the next vessel that a starter could fill: empty, to be grown
// in, larger than the starter, the smallest of them.
func emptyBeside(p *farm.Present, a *answer, s *advice.Situation, from *advice.Vessel, at time.Time) *advice.Larger {
	var best *advice.Larger
	for i := range s.Vessels {
		v := &s.Vessels[i]
		l := a.looks[v.ID]
		if v.Started || v.Reserve || v.ID == from.ID {
			continue
		}
		full := 0.8 * l.spec.CapacityL()
		if cm := l.spec.FullLevelCM; cm > 0 {
			full = l.t.base.Shape.VolumeL(cm/100) * l.t.n
		}
		if full < 2*from.Volume.Low || best != nil && best.FullL <= full {
			continue
		}
		best = &advice.Larger{ID: v.ID, Name: v.Name, FullL: full, Outdoors: v.Outdoors, ShadePct: l.spec.ShadePct, ChlorineMg: -1}
		if r, ok := p.LastReading(v.ID, "chlorine_total_mg_per_l", at.Add(time.Second)); ok && at.Sub(r.At) < 14*24*time.Hour {
			best.ChlorineMg = r.Value
		}
		if r, ok := p.LastReading(v.ID, "temp_c", at.Add(time.Second)); ok && at.Sub(r.At) < 24*time.Hour {
			best.Water = num.Band{Low: r.Value - 0.5, Mid: r.Value, High: r.Value + 0.5}
		}
	}
	return best
}

// checksInto fills in the instruments that are checked by the calendar; meters
// for pH stand by themselves.
func (k *Keeper) checksInto(s *advice.Situation, at time.Time) {
	p := k.present
	for _, in := range p.Instruments() {
		if in.Retired || in.EveryDays <= 0 || in.Measures == "ph" {
			continue
		}
		one := advice.Instrument{ID: in.ID, Name: in.Name, EveryDays: float64(in.EveryDays)}
		if t, err := time.ParseInLocation(time.DateOnly, in.LastCheck, s.Now.Location()); err == nil {
			one.Checked = advice.Event{ID: "before", At: t}
		}
		for _, ref := range p.KindRefs("checked", at.AddDate(-3, 0, 0), at.Add(time.Second)) {
			if e, ok := p.Event(ref.ID); ok && e.Body.Text("instrument") == in.ID {
				one.Checked = advice.Event{ID: ref.ID, At: ref.At}
				one.Failed = e.Body.Text("result") == "failed"
			}
		}
		s.Instruments = append(s.Instruments, one)
	}
}

// needsInto fills in what runs out on the shelf, and what a gram of dry matter
// takes along beside its nitrogen.
func (k *Keeper) needsInto(s *advice.Situation, a *answer, at time.Time) {
	var eaters []Eater
	for _, id := range sortedLooks(a) {
		if l := a.looks[id]; l.started && l.spec.Use != "reserve" && !l.spec.Retired {
			eaters = append(eaters, eaterOf(l))
		}
	}
	shelf := ShelfOf(k.present, k.shelfAt(k.present, at), eaters, at)
	for _, n := range shelf.Needs {
		s.Needs = append(s.Needs, advice.Need{
			Of: n.Of, Name: n.Name, LeftG: n.LeftG, RateGPD: n.RateGPerD.Mid,
			RunsOut: advice.Crossing{Early: n.RunsOut.Early, Mid: n.RunsOut.Mid, Late: n.RunsOut.Late},
		})
	}
	rest := map[string]float64{}
	for id, perKg := range feedPerKg(k.present, shelf.Lots) {
		if i, err := medium.Lookup(id, medium.US); err == nil && i.Formula != "" && nitrogenShare[i.Formula] == 0 && perKg > 0 {
			rest[i.Formula] = perKg / 1000
		}
	}
	for i := range s.Vessels {
		s.Vessels[i].FeedRest = rest
	}
}

// absenceOf is a run of three days or more, of those that the farm named as days
// on which nobody is there, that has not passed yet.
func absenceOf(p *farm.Present, at time.Time) advice.Absence {
	set, ok := p.Setting("plan_away")
	if !ok {
		return advice.Absence{}
	}
	var from, to time.Time
	run := advice.Absence{}
	dates := strings.Fields(strings.Trim(string(set.Value), `"`))
	slices.Sort(dates)
	for _, d := range dates {
		t, err := time.ParseInLocation(time.DateOnly, d, at.Location())
		if err != nil {
			continue
		}
		if !t.Equal(to) {
			from = t
		}
		to = t.AddDate(0, 0, 1)
		if !to.Before(from.AddDate(0, 0, 3)) && to.After(at) && (run.From.IsZero() || run.From.Equal(from)) {
			run = advice.Absence{From: from, Until: to}
		}
	}
	return run
}
