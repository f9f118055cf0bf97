package calc

import "fmt"

type costItem struct {
	Name   string  `json:"name" label:"What"`
	Amount float64 `json:"amount" label:"Amount in the time" min:"0" max:"1000000000"`
	Price  float64 `json:"price" label:"Price of one" min:"0" max:"1000000000"`
}

type costThing struct {
	Name  string  `json:"name" label:"What"`
	Price float64 `json:"price" label:"Price when bought" min:"0" max:"1000000000"`
	Years float64 `json:"years" label:"Lasts so many years" unit:"a" min:"0.05" max:"100"`
}

type costIn struct {
	Days      float64     `json:"days" label:"For a time of" unit:"d" min:"1" max:"3660" default:"7"`
	DryG      float64     `json:"dry_g" label:"Dry matter harvested in it" unit:"g" min:"0.1" max:"1000000000"`
	SoldPct   float64     `json:"used_pct" label:"Of that, eaten or sold" unit:"%" min:"1" max:"100" default:"100" help:"less what was kept on hold or thrown away"`
	Items     []costItem  `json:"items" label:"Salts, water, bags, tests" kind:"rows" help:"amounts used in the time, in any unit, and the price of one"`
	PowerKWh  float64     `json:"power_kwh" label:"Power" unit:"kWh" min:"0" max:"1000000" default:"0"`
	KWhPrice  float64     `json:"price_per_kwh" label:"Price of a kilowatt-hour" min:"0" max:"10000" default:"0"`
	HoursH    float64     `json:"work_h" label:"Work" unit:"h" min:"0" max:"100000" default:"0"`
	HourPrice float64     `json:"price_per_h" label:"What an hour is worth" min:"0" max:"100000" default:"0"`
	Things    []costThing `json:"things" label:"Vessels, pumps, tools" kind:"rows" help:"price and how many years each lasts"`
	PortionG  float64     `json:"portion_g" label:"A portion" unit:"g" min:"0.1" max:"100" default:"3"`
	Currency  string      `json:"currency,omitempty" label:"Money" help:"as you write it; nothing is converted"`
}

type costPart struct {
	Name     string  `json:"name" label:"What"`
	Cost     float64 `json:"cost" label:"In the time"`
	PerKg    float64 `json:"per_kg_dry" label:"For a kilogram dry"`
	SharePct float64 `json:"share_pct" label:"Of all" unit:"%"`
}

type costOut struct {
	Total      float64    `json:"total" label:"In the time"`
	PerKg      float64    `json:"per_kg_dry" label:"For a kilogram of dry matter used"`
	PerPortion float64    `json:"per_portion" label:"For a portion"`
	NoWork     float64    `json:"per_kg_dry_without_work" label:"For a kilogram, your work not counted"`
	WorkPerKgH float64    `json:"work_h_per_kg" label:"Work for a kilogram" unit:"h"`
	Parts      []costPart `json:"parts" label:"By what"`
	Currency   string     `json:"currency" label:"Money"`
	Told
}

// Cost is the calculator of what a kilogram costs.
func Cost() *Calculator {
	return Define(About{
		Name: "cost", Title: "What does it cost?",
		Sentence: "What a kilogram of dry matter and a portion cost in salts, power, work and worn things.",
		Equations: []string{
			"things: price x days / (years x 365.25)",
			"kilogram: sum / (dry matter x share used)",
		},
		Sources:  []Source{{"", "arithmetic; straight-line wear: common practice, no source"}},
		Cautions: []string{"Tests, labels, insurance and fees that the law asks for before anything is sold belong among the items."},
		Example:  `{"days":7,"dry_g":420,"items":[{"name":"baking soda","amount":2,"price":1.4},{"name":"potassium nitrate","amount":0.3,"price":4}],"power_kwh":3,"price_per_kwh":0.3,"work_h":5,"price_per_h":12,"things":[{"name":"pond and cover","price":600,"years":6}]}`,
	}, computeCost)
}

func computeCost(in costIn) (costOut, error) {
	out := costOut{Currency: in.Currency, Parts: []costPart{}}
	kg := in.DryG / 1000 * in.SoldPct / 100
	add := func(name string, cost float64) {
		if cost > 0 {
			out.Parts = append(out.Parts, costPart{Name: name, Cost: cost})
			out.Total += cost
		}
	}
	for i, it := range in.Items {
		if it.Name == "" {
			return out, invalid(fmt.Sprintf("items.%d.name", i), "", "item %d has no name", i+1)
		}
		add(it.Name, it.Amount*it.Price)
	}
	add("power", in.PowerKWh*in.KWhPrice)
	work := in.HoursH * in.HourPrice
	add("work", work)
	for i, th := range in.Things {
		if th.Name == "" {
			return out, invalid(fmt.Sprintf("things.%d.name", i), "", "thing %d has no name", i+1)
		}
		add(th.Name, th.Price*in.Days/(th.Years*365.25))
	}
	for i := range out.Parts {
		p := &out.Parts[i]
		p.PerKg = p.Cost / kg
		p.SharePct = 100 * p.Cost / out.Total
	}
	out.PerKg, out.NoWork = out.Total/kg, (out.Total-work)/kg
	out.PerPortion = out.PerKg * in.PortionG / 1000
	out.WorkPerKgH = in.HoursH / kg
	out.Assumptions = []string{
		"things wear evenly over their years",
		"all prices in one money and one basis of tax",
	}
	if in.HoursH == 0 {
		out.Assumptions = append(out.Assumptions, "no work was counted")
	}
	if len(in.Things) == 0 {
		out.Assumptions = append(out.Assumptions, "no vessel, pump or tool was counted")
	}
	return out, nil
}
