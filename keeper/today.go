package keeper

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
	"sodalake/science/num"
	"sodalake/science/sky"
)

// Today is the day list as of a moment; a zero at is now.
func (k *Keeper) Today(ctx context.Context, at time.Time) (Today, error) {
	at = k.moment(at)
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Today{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	p := k.present
	s, zone, _ := site(p)
	out := Today{At: at.In(zone), Farm: s.Name, Zone: zone.String(), Light: a.light, Vessels: []TodayVessel{}, Coming: []Coming{}}
	told := situation(p, a, zone)
	k.lotsInto(told, at)
	k.aroundInto(told, a, at)
	items := advice.List(told)
	for _, spec := range p.Vessels() {
		if spec.Retired {
			continue
		}
		tv := TodayVessel{Vessel: k.vessel(p, a, spec, at), Items: []advice.Item{}, Done: k.done(p, spec.ID, at, zone), Days: []Day{}}
		for _, it := range items {
			if it.Vessel == spec.ID {
				tv.Items = append(tv.Items, it)
			}
		}
		tv.Items = slices.DeleteFunc(tv.Items, func(it advice.Item) bool { return answered(p, &it, tv.Done) })
		if l := a.looks[spec.ID]; l != nil {
			tv.Days, tv.Ready = withSky(l.forecast.Days, a.sky), l.forecast.Ready
		}
		out.Vessels = append(out.Vessels, tv)
	}
	out.Coming = coming(a, items)
	return out, nil
}

// answered reports whether an item was recorded as done today: then it stands
// among what is done.
func answered(p *farm.Present, it *advice.Item, done []Done) bool {
	return slices.ContainsFunc(done, func(d Done) bool { return d.Item == it.ID })
}

// Items returns the whole day list in its order.
func (k *Keeper) Items(ctx context.Context, at time.Time) ([]advice.Item, error) {
	t, err := k.Today(ctx, at)
	if err != nil {
		return nil, err
	}
	items := []advice.Item{}
	for _, v := range t.Vessels {
		items = append(items, v.Items...)
	}
	advice.Sort(items)
	return items, nil
}

func (k *Keeper) moment(at time.Time) time.Time {
	if at.IsZero() {
		return k.now()
	}
	return at
}

// withSky fills in the word for each day's sky.
func withSky(days []Day, words map[string]string) []Day {
	out := slices.Clone(days)
	for i := range out {
		if w, ok := words[out[i].Date]; ok {
			out[i].Sky = w
		}
	}
	return out
}

// Vessels are all vessels in use.
func (k *Keeper) Vessels(ctx context.Context, at time.Time) ([]Vessel, error) {
	at = k.moment(at)
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return nil, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	out := []Vessel{}
	for _, spec := range k.present.Vessels() {
		if !spec.Retired {
			out = append(out, k.vessel(k.present, a, spec, at))
		}
	}
	return out, nil
}

// Vessel is one vessel with its present.
func (k *Keeper) Vessel(ctx context.Context, id string, at time.Time) (Vessel, error) {
	at = k.moment(at)
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Vessel{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	spec, ok := k.present.Vessel(id)
	if !ok {
		return Vessel{}, noVessel(k.present, id)
	}
	return k.vessel(k.present, a, spec, at), nil
}

func noVessel(p *farm.Present, id string) error {
	e := &farm.Error{Code: farm.NotFound, Field: "vessel", Message: fmt.Sprintf("vessel %q is not known", id)}
	for i, v := range p.Vessels() {
		if i == 0 {
			e.Hint = "there are " + v.ID
		} else {
			e.Hint += ", " + v.ID
		}
	}
	return e
}

// Forecast is ten days ahead of one vessel with two weeks of its past.
func (k *Keeper) Forecast(ctx context.Context, id string, at time.Time) (Forecast, error) {
	at = k.moment(at)
	a, err := k.answerAt(ctx, at)
	if err != nil {
		return Forecast{}, err
	}
	k.mu.RLock()
	defer k.mu.RUnlock()
	l := a.looks[id]
	if l == nil {
		return Forecast{}, noVessel(k.present, id)
	}
	f := l.forecast
	f.Days = withSky(f.Days, a.sky)
	return f, nil
}

// vessel assembles one vessel.
func (k *Keeper) vessel(p *farm.Present, a *answer, spec farm.Vessel, at time.Time) Vessel {
	v := Vessel{Spec: spec, Now: Estimate{At: at, Bands: map[Quantity]num.Band{}}, State: Sentence{Key: "state.empty"}}
	l := a.looks[spec.ID]
	if l == nil {
		return v
	}
	v.Now = l.now
	for _, h := range p.OnHold(spec.ID, at) {
		v.Holds = append(v.Holds, "hold."+holdKey(h.Reason))
	}
	v.State, v.Troubles = state(p, l, at), l.troubles
	v.Change = change(p, l, at)
	if r, ok := p.LastReading(spec.ID, "secchi_cm", at.Add(time.Second)); ok {
		x := k.reading(l, &r)
		v.Last = &x
	}
	return v
}

// state is the one sentence that says how a vessel stands.
func state(p *farm.Present, l *look, at time.Time) Sentence {
	r := advice.DefaultRules()
	b := l.now.Bands
	args := map[string]any{
		"density_g_per_l": b[DensityGPerL].Mid, "density_g_per_l_low": b[DensityGPerL].Low, "density_g_per_l_high": b[DensityGPerL].High,
		"ph_25c": b[PH25C].Mid, "ph_25c_low": b[PH25C].Low, "ph_25c_high": b[PH25C].High,
	}
	say := func(key string) Sentence { return Sentence{Key: "state." + key, Args: args} }
	switch {
	case !l.started || l.t.begun.At.IsZero():
		return Sentence{Key: "state.empty"}
	case len(p.OnHold(l.spec.ID, at)) > 0:
		return say("held")
	case l.ammonia.Mid > r.AmmoniaStopMM:
		return say("ammonia")
	case b[TempC].Mid > r.HotC:
		return say("hot")
	case l.carries < 3*math.Max(l.growth.Mid, 0.02) && b[PH25C].Mid > 10.2:
		return say("carbon_short")
	case b[TempC].Mid < r.ColdC && l.spec.Place != "indoors":
		return say("cold")
	case l.spec.Use == "reserve" || l.spec.Use == "starter":
		return say("reserve")
	case l.chance >= 0.5:
		return say("ready")
	case b[DensityGPerL].Mid < 0.15:
		return say("dilute")
	}
	return say("growing")
}

// done is what was recorded today about a vessel.
func (k *Keeper) done(p *farm.Present, vessel string, at time.Time, zone *time.Location) []Done {
	from, _ := farm.DayOf(at, zone)
	out := []Done{}
	for _, e := range p.Timeline(vessel, from, at.Add(time.Second)) {
		if e.Kind.Group != farm.GroupAct && e.Entry.Item == "" {
			continue
		}
		amount, unit := amountOf(&e)
		out = append(out, Done{EntryID: e.Entry.ID, At: e.Entry.At.In(zone), Act: e.Kind.Name, Amount: amount, Unit: unit, By: e.Entry.By, Item: e.Entry.Item})
	}
	return out
}

// amountOf is how much an act moved.
func amountOf(e *farm.Event) (float64, string) {
	if v, ok := e.Body.Number("volume_l"); ok {
		return v, "L"
	}
	if salts := e.Body.Amounts("salts_g"); len(salts) > 0 {
		sum := 0.0
		for _, g := range salts {
			sum += g
		}
		return sum, "g"
	}
	for key, unit := range map[string]string{"mass_g": "g", "shade_pct": "%", "minutes": "min"} {
		if v, ok := e.Body.Number(key); ok {
			return v, unit
		}
	}
	return 0, ""
}

// coming is what the forecast already shows beyond today.
func coming(a *answer, items []advice.Item) []Coming {
	out := []Coming{}
	for _, id := range sortedLooks(a) {
		l := a.looks[id]
		if !l.started || l.spec.Use == "reserve" || l.spec.Use == "starter" {
			continue
		}
		if mid := l.forecast.Ready.Mid; !mid.IsZero() && l.chance < 0.5 {
			out = append(out, Coming{Date: mid.Format(time.DateOnly), Vessel: id, What: Sentence{Key: "coming.ready"}})
		}
		if l.hottest.Mid > advice.DefaultRules().HotC {
			out = append(out, Coming{Date: l.hottestOn.Format(time.DateOnly), Vessel: id, What: Sentence{Key: "coming.hot"}})
		}
	}
	slices.SortStableFunc(out, func(x, y Coming) int {
		if x.Date < y.Date {
			return -1
		}
		if x.Date > y.Date {
			return 1
		}
		return 0
	})
	return out
}

func sortedLooks(a *answer) []string {
	ids := make([]string, 0, len(a.looks))
	for id := range a.looks {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

func sortLimits(l []Limit) {
	slices.SortStableFunc(l, func(a, b Limit) int {
		switch {
		case a.Share > b.Share:
			return -1
		case a.Share < b.Share:
			return 1
		}
		return 0
	})
}

// dayLight is the light of a day with its spread.
func (f *follower) dayLight(w *dayWeather) DayLight {
	day := sky.DayAt(w.from.Add(12*time.Hour), f.weather.site)
	out := DayLight{PAR: Curve{Times: []time.Time{}, Bands: []num.Band{}}, Words: []Sentence{}}
	if !day.Rise.IsZero() {
		out.Sunrise = day.Rise.In(f.weather.zone)
	}
	if !day.Set.IsZero() {
		out.Sunset = day.Set.In(f.weather.zone)
	}
	const every = 3 // half-hours
	x := make([]float64, len(w.draws))
	for i := 0; i+every <= len(w.draws[0].Outside); i += every {
		for d := range w.draws {
			x[d] = 0
			for j := range every {
				o := &w.draws[d].Outside[i+j]
				x[d] += (o.BeamPAR + o.DiffusePAR) / every
			}
		}
		out.PAR.Times = append(out.PAR.Times, w.draws[0].Start.Add(time.Duration(i)*step+every*step/2).In(f.weather.zone))
		out.PAR.Bands = append(out.PAR.Bands, num.BandOf(slices.Clone(x)))
	}
	out.Words = []Sentence{{Key: map[string]string{"bright": "light.clear", "hazy": "light.hazy", "grey": "light.grey", "unknown": "light.unknown"}[f.skyWord(w)]}}
	return out
}

// clearSum is the sum of a cloudless day over its steps [W/m²].
func (w *weathers) clearSum(d *dayWeather) float64 {
	sum := 0.0
	for i := range d.draws[0].Outside {
		t := d.draws[0].Start.Add(time.Duration(i)*step + step/2)
		sum += sky.ClearSky(sky.Position(t, w.site), w.site.ElevationM, sky.DefaultLinke).GHIWM2
	}
	return sum
}
