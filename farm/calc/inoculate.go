package calc

import (
	"context"
	"errors"
	"fmt"
	"math"

	"sodalake/science/plan"
)

type inoculateVessel struct {
	Name      string  `json:"name" label:"Vessel"`
	CapacityL float64 `json:"capacity_l" label:"Holds" unit:"L" min:"0.05" max:"10000000"`
	ShadePct  float64 `json:"shade_pct" label:"Shade, or 100 behind a window" unit:"%" min:"0" max:"100"`
	DepthCM   float64 `json:"depth_cm" label:"Depth for the light" unit:"cm" min:"0" max:"200" help:"0: 15 cm, or 7 for less than 30 L"`
	ReserveL  float64 `json:"reserve_l" label:"Kept back when handed on" unit:"L" min:"0" max:"1000000"`
}

type inoculateIn struct {
	CultureL  float64           `json:"culture_l" label:"Culture at hand" unit:"L" min:"0.01" max:"1000000"`
	DensityGL float64           `json:"density_g_per_l" label:"Its dry matter" unit:"g/L" min:"0.02" max:"10" default:"0.8" help:"a dark bottle 0.6 to 1; the disc tells"`
	TargetL   float64           `json:"target_l" label:"Volume wanted in the end" unit:"L" min:"0.05" max:"10000000"`
	TargetGL  float64           `json:"target_g_per_l" label:"Density wanted in it" unit:"g/L" min:"0.05" max:"3" default:"0.5"`
	ShadePct  float64           `json:"shade_pct" label:"Shade for the young culture" unit:"%" min:"0" max:"100" default:"50" help:"where no vessels are named"`
	Vessels   []inoculateVessel `json:"vessels" label:"Vessels on the way, small to large" kind:"rows" help:"none: steps of up to five-fold are laid out"`
	RatePerD  float64           `json:"growth_per_d" label:"Growth of thin culture" unit:"1/d" min:"0.02" max:"1.5" default:"0.5" help:"warm, bright and shaded 0.5, a window 0.3, cool 0.15"`
	YieldGM2D float64           `json:"yield_g_per_m2_d" label:"Growth of dense culture" unit:"g/m²/d" min:"0.2" max:"40" default:"8" help:"warm and sunny 8 to 12, a window 3"`
	SpreadPct float64           `json:"growth_spread_pct" label:"How sure that is, give or take" unit:"%" min:"0" max:"60" default:"25"`
	MostTimes float64           `json:"most_times" label:"Most that a volume grows at once" min:"1.2" max:"20" default:"5"`
	ReservePc float64           `json:"reserve_pct" label:"Kept back at each step, of the vessel" unit:"%" min:"0" max:"50" default:"10" help:"where no vessels are named"`
}

type inoculateStep struct {
	Vessel   string  `json:"vessel" label:"Into"`
	CultureL float64 `json:"culture_l" label:"Culture" unit:"L"`
	MediumL  float64 `json:"medium_l" label:"New medium" unit:"L"`
	FillL    float64 `json:"fill_l" label:"Makes" unit:"L"`
	WaitGL   float64 `json:"wait_g_per_l" label:"When the culture has come to" unit:"g/L"`
	StartGL  float64 `json:"start_g_per_l" label:"Begins at, or a little above" unit:"g/L"`
	LeastGL  float64 `json:"least_g_per_l" label:"Least to begin at" unit:"g/L"`
	ShadePct float64 `json:"shade_pct" label:"Shade" unit:"%"`
	ReserveL float64 `json:"reserve_l" label:"Keep back" unit:"L"`
	DayLow   float64 `json:"day_low" label:"On day, at the earliest" unit:"d"`
	Day      float64 `json:"day" label:"On day, about" unit:"d"`
	DayHigh  float64 `json:"day_high" label:"On day, at the latest" unit:"d"`
}

type inoculateOut struct {
	NowL      float64         `json:"fills_now_l" label:"Fills at once at most" unit:"L"`
	NeedL     float64         `json:"needs_for_target_l" label:"To fill the target at once it takes" unit:"L"`
	LeastGL   float64         `json:"least_g_per_l" label:"Least density to begin with" unit:"g/L"`
	Steps     []inoculateStep `json:"steps" label:"Steps"`
	DaysLow   float64         `json:"days_low" label:"Ready after, one in ten sooner than" unit:"d"`
	Days      float64         `json:"days" label:"Ready after about" unit:"d"`
	DaysHigh  float64         `json:"days_high" label:"Ready after, one in ten later than" unit:"d"`
	MediumL   float64         `json:"medium_l" label:"New medium in all" unit:"L"`
	OneInFive *float64        `json:"one_to_five_begins_g_per_l,omitempty" label:"One part to five would begin at" unit:"g/L"`
	Told
}

// Inoculate is the calculator of how much culture makes how much.
func Inoculate() *Calculator {
	return Define(About{
		Name: "inoculate", Title: "From a bottle to a pond",
		Sentence: "How much culture starts how much medium, in which steps, with which shade, in how many days, and what to keep back.",
		Equations: []string{
			"begins at = culture x density / volume, never below 0.3 g/L in full sun, 0.12 under a third of shade",
			"growth a day = dense/a (1 - exp(-thin a/dense)), a = density x depth x 10 on a square metre",
			"handed on as soon as the mix begins above the least; the soonest way is taken",
			"spread: growth known to so many per cent, 41 cases",
		},
		Sources: []Source{
			{"jourdan2014", "Jourdan, Cultivez votre spiruline, editions 2006 to 2014: five-fold steps, least density, three weeks from a bottle to a pond"},
			{"", "0.12 g/L under shade: judgement, no source; a litre of mature culture to four or five gallons: common practice, no source"},
		},
		Cautions: []string{
			"Pour off and keep a reserve before anything else; powder, tablets and flakes are food, not seed.",
			"Test the water for chlorine first, bring both within 5 °C of each other, pour in the evening, and leave it in shade for the first days.",
			"A culture that smells, has clumps of another colour or strange cells is not poured on: quarantine it.",
		},
		Example: `{"culture_l":1,"density_g_per_l":0.9,"target_l":200}`,
	}, computeInoculate)
}

// draws of the spread of growth: the quantiles of a normal.
const inoculateDraws = 41

func computeInoculate(in inoculateIn) (inoculateOut, error) {
	out := inoculateOut{Steps: []inoculateStep{}}
	stages, err := in.stages()
	if err != nil {
		return out, err
	}
	last := &stages[len(stages)-1]
	if in.TargetL > last.CapacityL*(1+1e-9) {
		return out, invalid("target_l", "", "target_l %g is more than the last vessel holds, %g L", in.TargetL, last.CapacityL)
	}
	for i := range stages {
		s := &stages[i]
		depth := 0.15
		if s.CapacityL < 30 {
			depth = 0.07
		}
		if i > 0 && i-1 < len(in.Vessels) && in.Vessels[i-1].DepthCM > 0 {
			depth = in.Vessels[i-1].DepthCM / 100
		}
		s.Grow = in.grow(depth)
	}
	out.LeastGL = last.LeastGL
	out.NowL = in.CultureL * in.DensityGL / last.LeastGL
	out.NeedL = in.TargetL * last.LeastGL / in.DensityGL
	if in.TargetL <= 6*in.CultureL {
		out.OneInFive = finite(in.DensityGL / 6)
	}
	ladder, err := plan.Up(context.Background(), &plan.Scale{
		Draws: inoculateDraws, StartL: in.CultureL, StartGL: []float64{in.DensityGL}, Stages: stages,
		TargetL: in.TargetL, TargetGL: in.TargetGL, MostTimes: in.MostTimes,
	})
	if err != nil {
		return out, fromPlan(err)
	}
	for _, s := range ladder.Steps {
		name := s.Stage
		if s.Same {
			name += ", filled up"
		}
		out.Steps = append(out.Steps, inoculateStep{
			Vessel: name, CultureL: s.PourL, MediumL: s.MediumL, FillL: s.FillL, WaitGL: s.WaitGL, StartGL: s.WaitGL * s.PourL / s.FillL,
			LeastGL: s.LeastGL, ShadePct: s.ShadePct, ReserveL: s.ReserveL,
			DayLow: bounded(s.Day.Low), Day: bounded(s.Day.Mid), DayHigh: bounded(s.Day.High),
		})
	}
	out.DaysLow, out.Days, out.DaysHigh = bounded(ladder.Days.Low), bounded(ladder.Days.Mid), bounded(ladder.Days.High)
	out.MediumL = ladder.MediumL
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("thin culture grows %s a day, dense culture %s g on a square metre, give or take %s %%", Digits(in.RatePerD), Digits(in.YieldGM2D), Digits(in.SpreadPct)),
		"looked at once a day; poured as soon as it is dense enough",
		"stirred by hand several times a day, fed and warm")
	if len(in.Vessels) == 0 {
		out.Assumptions = append(out.Assumptions, "vessels of one to five each were laid out; name your own to have theirs")
	}
	if in.ShadePct < 30 && len(in.Vessels) == 0 {
		out.Cautions = append(out.Cautions, "Without shade a culture under 0.3 g/L bleaches in the sun: with a third of shade it may begin at less than half of that.")
	}
	return out, nil
}

// stages are the vessels on the way, the first the one it stands in.
func (in *inoculateIn) stages() ([]plan.Stage, error) {
	stages := []plan.Stage{{Name: "where it stands", CapacityL: in.CultureL, LeastGL: plan.LeastGL(in.ShadePct), ShadePct: in.ShadePct, ReserveL: in.CultureL * in.ReservePc / 100}}
	if len(in.Vessels) > 0 {
		stages[0].ReserveL = in.CultureL * in.ReservePc / 100
		size := in.CultureL
		for i, v := range in.Vessels {
			switch {
			case v.Name == "":
				return nil, invalid(fmt.Sprintf("vessels.%d.name", i), "", "vessel %d has no name", i+1)
			case !(v.CapacityL > size):
				return nil, invalid(fmt.Sprintf("vessels.%d.capacity_l", i), "name them from small to large, above the culture at hand", "vessels: %q holds %g L, not more than the one before it", v.Name, v.CapacityL)
			case v.ReserveL >= v.CapacityL:
				return nil, invalid(fmt.Sprintf("vessels.%d.reserve_l", i), "", "vessels: %q keeps all of it back", v.Name)
			}
			size = v.CapacityL
			stages = append(stages, plan.Stage{Name: v.Name, CapacityL: v.CapacityL, LeastGL: plan.LeastGL(v.ShadePct), ShadePct: v.ShadePct, ReserveL: v.ReserveL})
		}
		return stages, nil
	}
	// Even steps of at most five-fold.
	if in.TargetL <= in.CultureL {
		stages[0].CapacityL = max(in.CultureL, in.TargetL)
		return stages, nil
	}
	times := in.TargetL / in.CultureL
	n := max(int(math.Ceil(math.Log(times)/math.Log(in.MostTimes)-1e-9)), 1)
	for i := 1; i <= n; i++ {
		size := in.CultureL * math.Pow(times, float64(i)/float64(n))
		reserve := size * in.ReservePc / 100
		if i == n {
			reserve = 0
		}
		stages = append(stages, plan.Stage{Name: fmt.Sprintf("a vessel of %s L", Digits(size)), CapacityL: size, LeastGL: plan.LeastGL(in.ShadePct), ShadePct: in.ShadePct, ReserveL: reserve})
	}
	return stages, nil
}

// grow is growth that thins out as the culture shades itself, for a depth [m].
func (in *inoculateIn) grow(depthM float64) func(draw, day int, x, volume float64) float64 {
	return func(draw, _ int, x, _ float64) float64 {
		z := normalQuantile((float64(draw) + 0.5) / inoculateDraws)
		f := math.Exp(z * in.SpreadPct / 100)
		thin, dense, area := in.RatePerD*f, in.YieldGM2D*f, x*depthM*1000
		return x * math.Exp(dense/area*-math.Expm1(-thin*area/dense))
	}
}

// bounded keeps a day that never comes out of JSON's way.
func bounded(day float64) float64 {
	if day < 9999 {
		return day
	}
	return 9999
}

// fromPlan turns an error of the planner into one of the farm.
func fromPlan(err error) error {
	var in *plan.InputError
	var stuck *plan.StuckError
	switch {
	case errors.As(err, &in):
		fields := map[string]string{"start_l": "culture_l", "start_g_per_l": "density_g_per_l"}
		field := in.Field
		if f, ok := fields[field]; ok {
			field = f
		}
		return invalid(field, in.Hint, "%s", in.Reason)
	case errors.As(err, &stuck):
		switch stuck.Why {
		case "gap":
			return invalid("vessels", fmt.Sprintf("put a vessel of about %s L between", Digits(max(stuck.CanL*0.8, stuck.VolumeL*2))), "%s", stuck.Error())
		case "growth":
			return invalid("growth_per_d", "it is too dense, too cold or too dark there, or the density to begin with too high", "%s", stuck.Error())
		}
		return invalid("growth_per_d", "more light and warmth, or more culture to begin with", "%s", stuck.Error())
	}
	return err
}
