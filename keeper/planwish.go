package keeper

import (
	"errors"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/plan"
)

// PlanWish is what a grower wishes of a plan and what a day can take, from the
// choices of the farm. A limit that was not told is nil; 0 lets nothing through.
type PlanWish struct {
	Goal     string   `json:"goal"`               // one of farm.Goals
	By       string   `json:"by,omitempty"`       // last local date that counts; empty: the horizon
	Past     bool     `json:"past,omitempty"`     // that date has gone by
	WeekG    float64  `json:"week_g,omitempty"`   // dry matter wanted in a week, for steady [g]
	AmountG  float64  `json:"amount_g,omitempty"` // dry matter wanted in all, for fewest [g]; 0: nine tenths of the most
	Weekdays []string `json:"weekdays"`           // days on which somebody is there
	Away     []string `json:"away,omitempty"`     // local dates on which nobody is
	AtH      float64  `json:"at_h"`               // local hour of the harvest [h]
	SetupMin float64  `json:"setup_min"`          // to rig, clean and look, for each vessel [min]
	Risk     float64  `json:"risk"`               // chance allowed for each limit [1]
	HoursH   *float64 `json:"hours_h,omitempty"`
	ClothLH  *float64 `json:"cloth_l_per_h,omitempty"`
	ClothL   *float64 `json:"cloth_l,omitempty"`
	PressKg  *float64 `json:"press_kg,omitempty"`
	DryerG   *float64 `json:"dryer_g,omitempty"`
	FreshKg  *float64 `json:"fresh_kg,omitempty"`
	FreezeKg *float64 `json:"freeze_kg,omitempty"`
	FreezerK *float64 `json:"freezer_kg,omitempty"`
}

// Defaults of a wish. Judgement, no source.
const (
	planAtH      = 7.0  // harvests are made in the morning; handbooks say so
	planSetupMin = 20.0 //
	planRisk     = 0.1  //
	lateH        = 3.0  // so long after the hour a harvest may still begin today [h]
)

// wishOf reads the choices as they hold at a moment.
func wishOf(p *farm.Present, at time.Time) PlanWish {
	text := func(key string) string { s, _ := p.SettingAt(key, at); return s.Text() }
	number := func(key string) *float64 {
		s, ok := p.SettingAt(key, at)
		if !ok {
			return nil
		}
		if x, told := s.Number(); told {
			return &x
		}
		return nil
	}
	or := func(x *float64, other float64) float64 {
		if x == nil {
			return other
		}
		return *x
	}
	w := PlanWish{
		Goal: text("plan_goal"), By: text("plan_by"), WeekG: or(number("plan_week_g"), 0), AmountG: or(number("plan_amount_g"), 0),
		Away: strings.Fields(text("plan_away")), AtH: or(number("plan_at_h"), planAtH), SetupMin: or(number("plan_setup_min"), planSetupMin),
		Risk: or(number("plan_risk"), planRisk), HoursH: number("plan_hours_h"), ClothLH: number("plan_cloth_l_per_h"), ClothL: number("plan_cloth_l"),
		PressKg: number("plan_press_kg"), DryerG: number("plan_dryer_g"), FreshKg: number("plan_fresh_kg"), FreezeKg: number("plan_freeze_kg"),
		FreezerK: number("plan_freezer_kg"), Weekdays: []string{},
	}
	if !slices.Contains(farm.Goals, w.Goal) || w.Goal == "steady" && w.WeekG <= 0 {
		w.Goal = "most"
	}
	switch said := text("plan_weekdays"); said {
	case "none":
	case "":
		w.Weekdays = slices.Clone(farm.Weekdays)
	default:
		w.Weekdays = strings.Fields(said)
	}
	return w
}

// moments are the harvests of the horizon and one after the last: each day at
// the hour of the wish, beginning today unless it is too late for that.
func (w *PlanWish) moments(at time.Time, zone *time.Location) []time.Time {
	y, m, d := at.In(zone).Date()
	minutes := int(math.Round(w.AtH * 60))
	on := func(day int) time.Time { return time.Date(y, m, d+day, 0, minutes, 0, 0, zone) }
	first := 0
	if at.Sub(on(0)).Hours() > lateH {
		first = 1
	}
	out := make([]time.Time, horizonDays+1)
	for i := range out {
		out[i] = on(first + i)
	}
	return out
}

// here reports whether somebody is there on the day of a moment.
func (w *PlanWish) here(t time.Time) bool {
	return slices.Contains(w.Weekdays, farm.Weekdays[t.Weekday()]) && !slices.Contains(w.Away, t.Format(time.DateOnly))
}

// capacity is what the day of a moment can take.
func (w *PlanWish) capacity(t time.Time) plan.Capacity {
	or := func(x *float64) float64 {
		if x == nil {
			return math.Inf(1)
		}
		return *x
	}
	c := plan.Capacity{PresentH: or(w.HoursH), ClothL: or(w.ClothL), PressKg: or(w.PressKg), DryerG: []float64{or(w.DryerG)}, FreezeKg: or(w.FreezeKg), FreshKg: or(w.FreshKg)}
	// What takes paste is there or not: with a dryer told and the rest not, the
	// rest is none, or the dryer would hold nothing back.
	if w.DryerG != nil || w.FreshKg != nil || w.FreezeKg != nil {
		for _, one := range []struct {
			told *float64
			is   *float64
		}{{w.DryerG, &c.DryerG[0]}, {w.FreshKg, &c.FreshKg}, {w.FreezeKg, &c.FreezeKg}} {
			if one.told == nil {
				*one.is = 0
			}
		}
	}
	if !w.here(t) {
		c.PresentH = 0
	}
	return c
}

// freezerKg is the room in the freezer [kg].
func (w *PlanWish) freezerKg() float64 {
	if w.FreezerK == nil {
		return math.Inf(1)
	}
	return *w.FreezerK
}

// aim is what the search makes as large as it can.
//
// What a gram that still stands is worth is judgement: most of a gram where the
// farm goes on, less where a date or a steady amount counts.
func (w *PlanWish) aim(moments []time.Time) plan.Aim {
	a := plan.Aim{Goal: plan.Most, EndWorth: 0.8}
	if w.By != "" {
		last := moments[0].Format(time.DateOnly)
		if w.Past = w.By < last; !w.Past {
			for i, t := range moments[:len(moments)-1] {
				if t.Format(time.DateOnly) <= w.By {
					a.ByDay = i + 1
				}
			}
			if w.By <= moments[len(moments)-2].Format(time.DateOnly) {
				a.EndWorth = 0.4
			}
		}
	}
	switch w.Goal {
	case "steady":
		return plan.Aim{Goal: plan.Steady, WeekG: w.WeekG, EndWorth: 0.4}
	case "fewest":
		a.Goal, a.AmountG = plan.Fewest, w.AmountG
	}
	return a
}

func asFarm(err error, to **farm.Error) bool { return errors.As(err, to) }
