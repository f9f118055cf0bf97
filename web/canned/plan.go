package canned

import (
	"context"
	"math"
	"time"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/num"
)

// HarvestPlan is the canned plan, invented; for farms of its own state see
// NewPlan.
func (f *Farm) HarvestPlan(context.Context, time.Time, time.Duration) (keeper.PlanState, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.Fail != nil {
		return keeper.PlanState{}, f.Fail
	}
	if f.Plan != nil {
		return *f.Plan, nil
	}
	if len(f.present.Vessels()) == 0 {
		return keeper.PlanState{Plan: &keeper.HarvestPlan{At: Now, Vessels: []keeper.PlanOf{}}}, nil
	}
	return keeper.PlanState{Plan: harvestPlan()}, nil
}

// Settings are the choices of the canned farm.
func (f *Farm) Settings(context.Context) ([]farm.Setting, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.present.Settings(), nil
}

// NewPlan returns the farm with a plan in another state: "short" cannot reach
// its aim, "waiting" is not worked out yet, "again" is being worked out anew.
func NewPlan(state string) *Farm {
	f := New()
	p := harvestPlan()
	switch state {
	case "short":
		p.Wish.Goal, p.Wish.WeekG, p.Wish.Past, p.Wish.By = "steady", 900, true, "2026-03-01"
		p.Short = &keeper.PlanShort{WantedG: 900, PossibleG: 410}
		p.Holds = []keeper.PlanHold{{Kind: "dryer", GainG: 212}, {Kind: "days", GainG: 88}, {Kind: "growth"}}
		for i := range p.Vessels {
			p.Vessels[i].Spared = true
		}
		p.Days[3].Here = false
		p.Total.SpoiledG, p.Against[0].Closed = 12, 0.4
		f.Plan = &keeper.PlanState{Plan: p}
	case "waiting":
		f.Plan = &keeper.PlanState{Running: true, Progress: 0.37}
	case "again":
		f.Plan = &keeper.PlanState{Plan: p, Old: true, Running: true, Progress: 0.6}
	}
	return f
}

func about(x, share float64) num.Band {
	return num.Band{Low: x * (1 - share), Mid: x, High: x * (1 + share)}
}

// harvestPlan is an invented plan of the canned farm.
func harvestPlan() *keeper.HarvestPlan {
	p := &keeper.HarvestPlan{At: Now, Entry: 100, Draws: 100, Wish: keeper.PlanWish{Goal: "most", Weekdays: farm.Weekdays, AtH: 7, SetupMin: 20, Risk: 0.1}}
	y, m, d := Now.In(Zone).Date()
	for i := range 10 {
		at := time.Date(y, m, d+i, 7, 0, 0, 0, Zone)
		p.Days = append(p.Days, keeper.PlanDay{Date: at.Format(time.DateOnly), At: at, Here: i != 4})
	}
	add := func(id, name string, volume float64, days map[int]float64, density float64, closed map[int]string) {
		v := keeper.PlanOf{Vessel: id, Name: name, FloorGL: 0.2, ShadePc: 30, StandsG: about(volume*0.35, 0.2)}
		for i, day := range p.Days {
			a := keeper.PlanAct{Date: day.Date, At: day.At, FeedSalt: "KNO3", Lot: true, Forecast: []string{"bright", "hazy", "unknown"}[i%3], Why: closed[i]}
			if i == 4 {
				a.Why = "nobody"
			}
			a.BeforeGL = about(density, 0.15)
			if share := days[i]; share > 0 {
				a.Share, a.LitresL = share, volume*share
				a.DryG, a.AfterGL = about(a.LitresL*density, 0.18), about(density*(1-share), 0.16)
				a.PasteG = about(a.DryG.Mid*5, 0.18)
				a.FeedG, a.TopUpL, a.LevelCM, a.Below = a.DryG.Mid*0.72, 40, 18, 0.08
				p.Days[i].Vessels++
				p.Days[i].LitresL += a.LitresL
				p.Days[i].DryG, p.Days[i].PasteKg = about(p.Days[i].DryG.Mid+a.DryG.Mid, 0.18), about(p.Days[i].PasteKg.Mid+a.PasteG.Mid/1000, 0.18)
				p.Total.DryG = about(p.Total.DryG.Mid+a.DryG.Mid, 0.12)
			}
			v.Acts = append(v.Acts, a)
		}
		p.Vessels = append(p.Vessels, v)
	}
	add("lantern-pond", "Lantern pond", 900, map[int]float64{0: 0.5, 3: 0.42, 8: 0.45}, 0.6, nil)
	add("boat-pond", "Boat pond", 1280, map[int]float64{3: 0.35, 9: 0.5}, 0.45, map[int]string{0: "ph_low", 1: "too_cold"})
	p.Vessels = append(p.Vessels, keeper.PlanOf{Vessel: "cistern-tank", Name: "Cistern tank", Left: "held", Acts: []keeper.PlanAct{}}, keeper.PlanOf{Vessel: "sill-bottles", Name: "Sill bottles", Left: "reserve", Acts: []keeper.PlanAct{}})
	p.Days[3].Over = 0.12
	p.Total.Days, p.Total.Below, p.Total.StandsG = 4, 0.14, about(760, 0.15)
	half, own := p.Total, p.Total
	half.DryG, half.Days, half.Below, half.StandsG = about(math.Round(p.Total.DryG.Mid*0.94), 0.2), 5, 0.34, about(820, 0.15)
	own.DryG, own.Days, own.Below, own.StandsG = about(math.Round(p.Total.DryG.Mid*0.7), 0.22), 4, 0, about(1100, 0.15)
	p.Against = []keeper.PlanRule{
		{Rule: "half", Share: 0.5, AboveGL: 0.5, Total: half, GainG: num.Band{Low: -60, Mid: 75, High: 240}, EndG: -60, AheadBy: 0.68},
		{Rule: "own", Share: 0.38, AboveGL: 0.62, Seen: 11, Total: own, GainG: num.Band{Low: 190, Mid: 350, High: 520}, EndG: -340, AheadBy: 0.97, Gain: true},
	}
	p.Holds = []keeper.PlanHold{{Kind: "floor", GainG: 114}, {Kind: "water", GainG: 40}, {Kind: "growth"}}
	return p
}
