package keeper

import (
	"math"
	"time"

	"sodalake/farm"
	"sodalake/farm/advice"
)

// Bounds from which a change is told. Judgement, no source.
const (
	tellDensity = 0.07 // of the density a day before [1]
	tellPH      = 0.15 // of the pH at 25 °C [1]
	tellLevelCM = 0.8  // of the level [cm]
	tellShare   = 0.03 // of the volume, of what was taken or poured in [1]
)

// change says what moved since a day ago, the density first, then what goes with
// it: what was taken and poured, a cold morning, a hot noon, pH and level. It is
// told only where it moved by more than the bounds above; nothing it says is an
// explanation, only what stands side by side.
func change(p *farm.Present, l *look, at time.Time) []Sentence {
	if !l.started || l.t.begun.At.IsZero() {
		return nil
	}
	var out []Sentence
	since := at.Add(-24 * time.Hour)
	if was, ok := dayBefore(l, at); ok && was > 0 {
		is := l.now.Bands[DensityGPerL].Mid
		args := map[string]any{"density_g_per_l": is, "before_g_per_l": was}
		switch {
		case is < was*(1-tellDensity):
			out = append(out, Sentence{Key: "change.thinner", Args: args})
		case is > was*(1+tellDensity):
			out = append(out, Sentence{Key: "change.thicker", Args: args})
		}
	}
	taken, medium, water := 0.0, 0.0, 0.0
	for _, e := range p.Timeline(l.spec.ID, since, at.Add(time.Second)) {
		for _, f := range e.Flows {
			switch {
			case f.From == l.spec.ID && f.To == farm.Cloth:
				taken += f.VolumeL
			case f.To == l.spec.ID && f.What == farm.IsMedium:
				medium += f.VolumeL
			case f.To == l.spec.ID && f.What == farm.IsWater:
				water += f.VolumeL
			}
		}
	}
	least := tellShare * l.now.Bands[VolumeL].Mid
	for _, x := range []struct {
		key    string
		litres float64
	}{{"change.harvested", taken}, {"change.medium", medium}, {"change.water", water}} {
		if x.litres > least {
			out = append(out, Sentence{Key: x.key, Args: map[string]any{"volume_l": x.litres}})
		}
	}
	return append(out, weatherChange(p, l, since, at, water+medium > least || taken > least)...)
}

// weatherChange is what heat, cold and time moved: temperatures, pH and level.
func weatherChange(p *farm.Present, l *look, since, at time.Time, moved bool) []Sentence {
	var out []Sentence
	rules := advice.DefaultRules()
	_, zone, _ := site(p)
	morning := func(t time.Time) bool { h := t.In(zone).Hour(); return h >= 5 && h < 11 }
	if _, low, ok := extremes(l.forecast.Past[TempC], since, morning); ok && low.Mid < rules.ColdC {
		out = append(out, Sentence{Key: "change.cold", Args: map[string]any{"low_c": low.Mid}})
	}
	if high, _, ok := extremes(l.forecast.Past[TempC], since, nil); ok && high.Mid > rules.HotC-2 {
		out = append(out, Sentence{Key: "change.hot", Args: map[string]any{"high_c": high.Mid}})
	}
	step := func(q Quantity) (was, is float64, ok bool) {
		c := l.forecast.Past[q]
		i := nearest(c.Times, since)
		if i < 0 || absDur(c.Times[i].Sub(since)) > 4*time.Hour {
			return 0, 0, false
		}
		return c.Bands[i].Mid, l.now.Bands[q].Mid, true
	}
	if was, is, ok := step(PH25C); ok && math.Abs(is-was) >= tellPH {
		key := "change.ph_up"
		if is < was {
			key = "change.ph_down"
		}
		out = append(out, Sentence{Key: key, Args: map[string]any{"ph_25c": is, "before_ph": was}})
	}
	if was, is, ok := step(LevelCM); ok && !moved && math.Abs(is-was) >= tellLevelCM {
		key := "change.level_up"
		if is < was {
			key = "change.level_down"
		}
		out = append(out, Sentence{Key: key, Args: map[string]any{"by_cm": math.Abs(is - was)}})
	}
	return out
}
