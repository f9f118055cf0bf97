package calc

import (
	"fmt"
	"math"

	"sodalake/science/process"
)

type spanRow struct {
	Where string  `json:"where" label:"Where" kind:"text"`
	Hours float64 `json:"h" label:"For" unit:"h"`
	TempC float64 `json:"temp_c" label:"At" unit:"°C"`
}

type keepIn struct {
	Form        string    `json:"form" label:"Kept as" choices:"fresh|fresh-washed|frozen|dried" default:"fresh"`
	StoreC      *float64  `json:"store_c" label:"Store" unit:"°C" min:"-60" max:"60" help:"else 4 fresh, -18 frozen, 20 dried"`
	Way         []spanRow `json:"way" label:"Its way so far: wet, drying, cold, frozen or dry; hours; temperature" kind:"rows" help:"one stretch a line, from the pond on"`
	ThicknessMM *float64  `json:"thickness_mm" label:"Slabs to freeze, thick" unit:"mm" min:"1" max:"500"`
	FreezerC    float64   `json:"freezer_c" label:"Freezer" unit:"°C" min:"-60" max:"-2" default:"-18"`
	Fan         bool      `json:"fan" label:"With a fan"`
	SolidsPct   float64   `json:"solids_pct" label:"Dry matter of the paste" unit:"%" min:"1" max:"60" default:"20"`
	LossHours   *float64  `json:"pigment_hours" label:"Hours that an extract stands" unit:"h" min:"0" max:"20000" help:"for its blue, at 60 °C or cold and dark; not for powder"`
}

type clockRow struct {
	Where   string   `json:"where" label:"stage"`
	SpentH  float64  `json:"spent_h" label:"so far" unit:"h"`
	Due     string   `json:"due" label:"says"`
	NextH   *float64 `json:"next_h,omitempty" label:"next limit in" unit:"h"`
	NextDue string   `json:"next,omitempty" label:"which is"`
	PlanH   *float64 `json:"plan_h" label:"plan" unit:"h"`
	HoldH   *float64 `json:"hold_h" label:"hold" unit:"h"`
	StopH   *float64 `json:"discard_h,omitempty" label:"discard or test" unit:"h"`
}

type exposureRow struct {
	Organism string   `json:"organism" label:"organism"`
	UsedPct  float64  `json:"limit_used_pct" label:"of its limit used" unit:"%"`
	LeftH    *float64 `json:"left_h,omitempty" label:"left at this temperature" unit:"h"`
	Check    string   `json:"check" label:"check"`
}

type keepOut struct {
	DaysLow    *float64      `json:"days_low,omitempty" label:"Keeps at least about" unit:"d"`
	Days       *float64      `json:"days,omitempty" label:"usually" unit:"d"`
	DaysHigh   *float64      `json:"days_high,omitempty" label:"at most about" unit:"d"`
	SellDays   *float64      `json:"sell_days,omitempty" label:"For others no longer than" unit:"d"`
	How        string        `json:"how" label:"Kept so"`
	FreezeH    *float64      `json:"freeze_h,omitempty" label:"A slab freezes in about" unit:"h"`
	FreezeTo   *float64      `json:"freeze_high_h,omitempty" label:"with cooling before and after up to" unit:"h"`
	Clock      []clockRow    `json:"clock" label:"The clock" kind:"rows"`
	Exposure   []exposureRow `json:"exposure" label:"Time at temperatures at which germs grow" kind:"rows"`
	Limits     string        `json:"stage_limits" label:"Stage limits"`
	BlueLeft   *float64      `json:"blue_left_cold_dark_pct,omitempty" label:"Blue left in an extract, cold and dark" unit:"%"`
	BlueLeft60 *float64      `json:"blue_left_60c_pct,omitempty" label:"and at 60 °C" unit:"%"`
	Told
}

// Keep is the calculator of the clock and of keeping.
func Keep() *Calculator {
	return Define(About{
		Name: "keep", Title: "The clock, and how long it keeps",
		Sentence: "Time and temperature so far against named limits, how long fresh, frozen or dried product keeps, and how long a slab takes to freeze.",
		Equations: []string{
			"used = sum of time / limit at that temperature, for each organism",
			"stages: wet (cloth to dryer or cold) plan 2 h, hold 3 h, discard or test 4 h; dryer plan 5 h, hold 8 h; refrigerator up to 5 °C: 3 days for others, 7 days stop",
			"freezing: t = rho lambda/(TF - Ta) (P a/h + R a^2/k), Plank 1913",
			"dried, warmer than 25 °C: life / exp(E/R (1/T0 - 1/T)), E 60, 80 and 100 kJ/mol",
		},
		Sources: []Source{
			{"fda2022", "US FDA, Fish and fishery products hazards and controls guidance, appendix 4 (from memory: check the edition in force; none measured on spirulina)"},
			{"plank1913", "Plank 1913, after Singh & Heldman 2014, chapter 7"},
			{"branyikova", "Brányiková et al., Journal of Applied Phycology (fresh paste)"},
			{"jourdan2014", "Jourdan 2014 (fresh paste)"},
			{"chaiklahan2012", "Chaiklahan, Chirasuwan & Bunnag 2012, Process Biochemistry 47:659 (blue pigment)"},
			{"", "the limits of the stages, the days and their spread: judgement, no source, until a farm has tested its own worst lots"},
		},
		Cautions: []string{
			"Freezing keeps and does not kill. Toxins outlast drying, freezing and 60 °C. Thawed is used the same day and not frozen again.",
			"A clock that is in time says that one check passed. It says nothing of what was in the pond.",
		},
		Example: `{"form":"dried","way":[{"where":"wet","h":1.5,"temp_c":24},{"where":"drying","h":6,"temp_c":42}]}`,
	}, computeKeep)
}

func computeKeep(in keepIn) (keepOut, error) {
	out := keepOut{Clock: []clockRow{}, Exposure: []exposureRow{}}
	store := map[string]float64{"fresh": 4, "fresh-washed": 4, "frozen": -18, "dried": 20}[in.Form]
	if in.StoreC != nil {
		store = *in.StoreC
	} else {
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("stored at %s °C", Digits(store)))
	}
	for _, k := range process.Keepings() {
		if string(k.Form) != in.Form {
			continue
		}
		out.How = k.How
		out.Assumptions = append(out.Assumptions, "days: "+k.Source)
		days, known := process.Life(k.Form, store)
		if !known {
			out.Cautions = append(out.Cautions, fmt.Sprintf("Nothing is told for %s at %s °C: the figures hold from %s to %s °C.", in.Form, Digits(store), Digits(k.FromC), Digits(k.AtC)))
			continue
		}
		out.DaysLow, out.Days, out.DaysHigh = finite(days.Low), finite(days.Mid), finite(days.High)
		out.SellDays = finite(math.Min(k.SellDays, days.Mid))
	}
	if in.ThicknessMM != nil {
		h := process.StillAir
		if in.Fan {
			h = process.FanAir
		}
		s, err := process.PasteSlab(*in.ThicknessMM, in.SolidsPct/100, in.FreezerC, h).TimeS()
		if err != nil {
			return out, fromProcess(err)
		}
		out.FreezeH, out.FreezeTo = finite(s/3600), finite(s/3600*4/3)
		out.Assumptions = append(out.Assumptions, "both faces of the slab meet the freezer's air, one slab deep")
		if *in.ThicknessMM > 20 {
			out.Cautions = append(out.Cautions, "Flat bags of 2 cm or less freeze in hours; thick ones spend a night on the way.")
		}
		if in.FreezerC > -18 {
			out.Cautions = append(out.Cautions, "Warmer than −18 °C is not what the figures for frozen paste are told for.")
		}
	}
	if in.LossHours != nil {
		f := process.Fadings()
		out.BlueLeft60 = finite(100 * process.Left(f[0].PerS, 3600**in.LossHours))
		out.BlueLeft = finite(100 * process.Left(f[len(f)-1].PerS, 3600**in.LossHours))
	}
	return out, out.clock(in)
}

// clock sums the way up and says which stage limits were passed.
func (out *keepOut) clock(in keepIn) error {
	if len(in.Way) == 0 {
		out.Limits = "missing: no way was noted"
		return nil
	}
	way := make([]process.Span, len(in.Way))
	for i, s := range in.Way {
		way[i] = process.Span{Where: process.Where(s.Where), DurationS: 3600 * s.Hours, TempC: s.TempC}
	}
	rules := process.DefaultRules()
	tallies, exposures, err := process.Clock(way, rules)
	if err != nil {
		return fromProcess(err)
	}
	worst := process.InTime
	order := map[process.Due]int{process.InTime: 0, process.PlanPassed: 1, process.Hold: 2, process.Discard: 3}
	for i, t := range tallies {
		r := rules[i]
		out.Clock = append(out.Clock, clockRow{
			Where: string(t.Where), SpentH: t.SpentS / 3600, Due: string(t.Due), NextH: finite(t.NextS / 3600), NextDue: string(t.NextDue),
			PlanH: finite(r.PlanS / 3600), HoldH: finite(r.HoldS / 3600), StopH: finite(r.DiscardS / 3600),
		})
		if order[t.Due] > order[worst] {
			worst = t.Due
		}
	}
	for _, e := range exposures {
		check := string(process.Passed)
		if e.Used > 1 {
			check = string(process.Failed)
		}
		out.Exposure = append(out.Exposure, exposureRow{Organism: e.Organism, UsedPct: 100 * e.Used, LeftH: finite(e.LeftS / 3600), Check: check})
	}
	switch worst {
	case process.InTime:
		out.Limits = "passed: within them so far"
	case process.PlanPassed:
		out.Limits = "passed, but past the plan: hurry"
	case process.Hold:
		out.Limits = "failed: the lot goes on hold, until a person decides with a written reason; test S. aureus and B. cereus"
	case process.Discard:
		out.Limits = "failed: discard, or test before anything else"
	}
	out.Assumptions = append(out.Assumptions,
		"the limits by organism are those of ready-to-eat seafood; no artisanal dryer keeps three hours over 21 °C to the letter, which is why the stages have limits of their own",
		"time marked cold but warmer than 5 °C counts as wet")
	return nil
}
