package lot

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/process"
)

// Plan is the farm's own plan for its lots: which checks must have passed, which
// limits hold, and what it can keep. It is made of settings; what was not chosen
// stands as in Choices.
type Plan struct {
	Required   []string // checks without which no lot is let go, in the order of Checks
	Own        []string // checks that the farm added, by their names; each is required
	LabNeeded  []string // analytes without which no lot is let go
	LabDays    float64  // a laboratory's result of another lot is told for so long [d]
	Limits     string   // whose limits are asked beside the farm's own: a place of assay.Limits, or ""
	LookH      float64  // a look before a harvest is no older [h]
	LookAfterH float64  // a look after it counts against it for so long [h]
	LeastSeen  float64  // filaments that a look must have seen [1]
	SensesH    float64  // smell and colour are no older [h]
	LeastPH    float64  // lowest pH at 25 °C [1]
	PHH        float64  // over so long before the harvest [h]
	Clock      []process.Rule
	Activity   float64 // highest water activity of dried product [1]
	Meter      float64 // what the meter of water activity may be off [1]
	MoisturePc float64 // highest water in dried product [%]
	SellFresh  bool    // fresh paste is sold or given away
	PortionG   float64 // a portion, of dry product [g]
	Rules      string  // how a label rounds: eu or us
	Address    string  // where the trace of a lot is to be found, for the code on the label
	FridgeC    float64 // refrigerator [°C]
	FreezerC   float64 // freezer [°C]
	StoreC     float64 // where dried product stands [°C]
	Dryer      string  // none, sun or powered
	DryerG     float64 // paste that the dryer takes in a day [g]
	DryerGH    float64 // water that its air carries away in an hour; 0: not known [g/h]
	FreezerG   float64 // what the freezer holds [g]
	FridgeG    float64 // fresh paste that is eaten or sold in time [g]
	FreshG     float64 // ordered, fresh [g]
	FrozenG    float64 // ordered, frozen [g]
	DriedG     float64 // ordered, dried [g]
	DrillDays  float64 // a recall is practised that often [d]
	RecallDays float64 // harvests of one culture that lie no further apart are suspected together [d]
	Unread     []string
}

// Choice is one setting of the plan.
type Choice struct {
	Key     string
	Unit    string   // as written; "" for a pure number or a word
	What    string   // one sentence
	Default float64  // in Unit, where it is a number
	Low     float64  // in Unit
	High    float64  // in Unit
	Words   []string // where it is one of a few words; the first is the default
	Text    bool     // free words
	YesNo   bool     // true or false; Default 1 is true
	into    func(*Plan) *float64
	intoS   func(*Plan) *string
}

// Choices are the settings of the plan with their defaults. All defaults are
// judgement, no source, but for what Source of a clock's rule or of a keeping
// says; checks that are required by default are the common practice of the trade.
func Choices() []Choice { return slices.Clone(choices) }

func number(key, unit, what string, low, def, high float64, into func(*Plan) *float64) Choice {
	return Choice{Key: key, Unit: unit, What: what, Low: low, Default: def, High: high, into: into}
}

func word(key, what string, into func(*Plan) *string, words ...string) Choice {
	return Choice{Key: key, What: what, Words: words, intoS: into}
}

var choices = func() []Choice {
	list := []Choice{
		number("look_before_h", "h", "a look under the microscope before a harvest is no older", 1, 24, 168, func(p *Plan) *float64 { return &p.LookH }),
		number("look_after_h", "h", "a look after the harvest counts against it for so long", 0, 24, 168, func(p *Plan) *float64 { return &p.LookAfterH }),
		number("look_filaments", "", "filaments that a look must have seen", 1, 100, 1e5, func(p *Plan) *float64 { return &p.LeastSeen }),
		number("senses_before_h", "h", "smell and colour before a harvest are no older", 1, 24, 168, func(p *Plan) *float64 { return &p.SensesH }),
		number("ph_least_25c", "", "lowest pH at 25 °C before a harvest", 8, 9.8, 11.5, func(p *Plan) *float64 { return &p.LeastPH }),
		number("ph_before_h", "h", "over so long before the harvest", 1, 48, 336, func(p *Plan) *float64 { return &p.PHH }),
		number("clock_wet_plan_h", "h", "from cloth to dryer or cold: planned", 0.1, 2, 48, nil),
		number("clock_wet_hold_h", "h", "from cloth to dryer or cold: the lot goes on hold", 0.1, 3, 48, nil),
		number("clock_wet_stop_h", "h", "from cloth to dryer or cold: thrown away, or tested before anything else", 0.1, 4, 72, nil),
		number("clock_dryer_plan_h", "h", "in the dryer until it keeps: planned", 0.1, 5, 72, nil),
		number("clock_dryer_hold_h", "h", "in the dryer until it keeps: the lot goes on hold", 0.1, 8, 72, nil),
		number("clock_cold_plan_h", "h", "in the refrigerator, for others: planned", 1, 72, 720, nil),
		number("clock_cold_stop_h", "h", "in the refrigerator: thrown away, or tested before anything else", 1, 168, 720, nil),
		number("activity_most", "", "highest water activity of dried product", 0.1, process.KeepActivity, 0.9, func(p *Plan) *float64 { return &p.Activity }),
		number("activity_meter", "", "what the meter of water activity may be off", 0, 0.02, 0.2, func(p *Plan) *float64 { return &p.Meter }),
		number("moisture_most_pct", "%", "highest water in dried product", 1, 100*process.RejectMoisture, 20, func(p *Plan) *float64 { return &p.MoisturePc }),
		{Key: "sell_fresh", What: "fresh paste is sold or given away", YesNo: true},
		number("portion_g", "g", "a portion of dried product", 0.5, process.AdultPortion, 20, func(p *Plan) *float64 { return &p.PortionG }),
		word("label_rules", "how a label rounds and what it tells", func(p *Plan) *string { return &p.Rules }, "", "eu", "us"),
		{Key: "trace_address", What: "address before a lot's name in the code on its label", Text: true, intoS: func(p *Plan) *string { return &p.Address }},
		word("limits_place", "whose limits are asked beside the farm's own", func(p *Plan) *string { return &p.Limits }, "", "eu", "us", "fr", "cn"),
		{Key: "lab_needed", What: "analytes that must have passed before a lot goes, with commas between", Text: true},
		{Key: "checks_own", What: "checks that the farm adds, each required, with commas between", Text: true},
		number("lab_days", "d", "a laboratory's result of another lot is told for so long", 1, 365, 3650, func(p *Plan) *float64 { return &p.LabDays }),
		number("fridge_c", "°C", "refrigerator", -2, 4, 12, func(p *Plan) *float64 { return &p.FridgeC }),
		number("freezer_c", "°C", "freezer", -40, -18, -5, func(p *Plan) *float64 { return &p.FreezerC }),
		number("store_c", "°C", "where dried product stands", -5, 22, 45, func(p *Plan) *float64 { return &p.StoreC }),
		word("dryer", "what dries", func(p *Plan) *string { return &p.Dryer }, "none", "sun", "powered"),
		number("dryer_g", "g", "paste that the dryer takes in a day", 0, 0, 1e7, func(p *Plan) *float64 { return &p.DryerG }),
		number("dryer_g_per_h", "g/h", "water that the dryer carries away in an hour; 0 where that is not known", 0, 0, 1e6, func(p *Plan) *float64 { return &p.DryerGH }),
		number("freezer_g", "g", "what the freezer holds", 0, 0, 1e7, func(p *Plan) *float64 { return &p.FreezerG }),
		number("fridge_g", "g", "fresh paste that finds an eater in time", 0, 500, 1e6, func(p *Plan) *float64 { return &p.FridgeG }),
		number("order_fresh_g", "g", "ordered, fresh", 0, 0, 1e7, func(p *Plan) *float64 { return &p.FreshG }),
		number("order_frozen_g", "g", "ordered, frozen", 0, 0, 1e7, func(p *Plan) *float64 { return &p.FrozenG }),
		number("order_dried_g", "g", "ordered, dried", 0, 0, 1e7, func(p *Plan) *float64 { return &p.DriedG }),
		number("recall_days", "d", "harvests of one culture that lie no further apart are recalled together", 0, 14, 365, func(p *Plan) *float64 { return &p.RecallDays }),
		number("recall_drill_d", "d", "a recall is practised that often", 30, 365, 1100, func(p *Plan) *float64 { return &p.DrillDays }),
	}
	for _, c := range checkKinds {
		def := 0.0
		if c.required {
			def = 1
		}
		list = append(list, Choice{Key: "require_" + c.key, What: "no lot goes without the check " + c.key, YesNo: true, Default: def})
	}
	return list
}()

// PlanAt returns the farm's plan as its settings stood at t; a zero t is the
// last word. A setting that says nothing it can mean is left aside and named in
// Unread.
func PlanAt(p *farm.Present, t time.Time) Plan {
	plan := Plan{}
	num, flag := map[string]float64{}, map[string]bool{}
	for i := range choices {
		c := &choices[i]
		v, said := c.read(p, t, &plan)
		switch {
		case c.YesNo:
			flag[c.Key] = v >= 0.5
		case c.intoS != nil:
			*c.intoS(&plan) = said
		case c.Text:
			for _, a := range strings.Split(said, ",") {
				switch a = strings.ToLower(strings.TrimSpace(a)); {
				case a == "":
				case c.Key == "checks_own" && len(a) <= 60 && !slices.Contains(plan.Own, a):
					plan.Own = append(plan.Own, a)
				case c.Key == "lab_needed" && slices.Contains(farm.Analytes, a):
					plan.LabNeeded = append(plan.LabNeeded, a)
				default:
					plan.Unread = append(plan.Unread, c.Key)
				}
			}
		default:
			num[c.Key] = v
			if c.into != nil {
				*c.into(&plan) = v
			}
		}
	}
	for _, c := range checkKinds {
		if flag["require_"+c.key] {
			plan.Required = append(plan.Required, c.key)
		}
	}
	plan.SellFresh = flag["sell_fresh"]
	plan.Clock = rulesOf(num)
	if sites := p.Sites(); plan.Rules == "" {
		plan.Rules = "eu"
		if len(sites) > 0 && sites[0].Measures == "us" {
			plan.Rules = "us"
		}
	}
	return plan
}

// rulesOf are the clock's rules by the settings [h], in rising order whatever
// was typed.
func rulesOf(h map[string]float64) []process.Rule {
	out := process.DefaultRules()
	for i := range out {
		r := &out[i]
		switch r.Where {
		case process.Wet:
			r.PlanS, r.HoldS, r.DiscardS = h["clock_wet_plan_h"]*3600, h["clock_wet_hold_h"]*3600, h["clock_wet_stop_h"]*3600
		case process.Drying:
			r.PlanS, r.HoldS = h["clock_dryer_plan_h"]*3600, h["clock_dryer_hold_h"]*3600
		case process.Cold:
			r.PlanS, r.DiscardS = h["clock_cold_plan_h"]*3600, h["clock_cold_stop_h"]*3600
			r.HoldS = r.DiscardS // past its plan fresh paste is for oneself; past its stop it goes on hold
		}
		r.HoldS = math.Max(r.HoldS, r.PlanS)
		r.DiscardS = math.Max(r.DiscardS, r.HoldS)
	}
	return out
}

// read returns what the farm chose, or the default.
func (c *Choice) read(p *farm.Present, t time.Time, plan *Plan) (float64, string) {
	def := ""
	if len(c.Words) > 0 {
		def = c.Words[0]
	}
	s, ok := p.SettingAt(c.Key, t)
	if !ok {
		return c.Default, def
	}
	var text string
	var x float64
	var is bool
	switch {
	case c.YesNo:
		if json.Unmarshal(s.Value, &is) == nil {
			if is {
				return 1, ""
			}
			return 0, ""
		}
	case c.intoS != nil || c.Text:
		if json.Unmarshal(s.Value, &text) == nil && (len(c.Words) == 0 || slices.Contains(c.Words, text)) {
			return 0, text
		}
	default:
		if json.Unmarshal(s.Value, &x) == nil && x >= c.Low && x <= c.High {
			return x, ""
		}
	}
	plan.Unread = append(plan.Unread, c.Key)
	return c.Default, def
}
