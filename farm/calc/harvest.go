package calc

import (
	"fmt"
	"math"

	"sodalake/science/growth"
	"sodalake/science/plan"
)

type harvestIn struct {
	DensityGL float64  `json:"density_g_per_l" label:"Dry matter in the culture" unit:"g/L" min:"0.01" max:"10"`
	SpreadPct float64  `json:"spread_pct" label:"How sure that is, give or take" unit:"%" min:"0" max:"80" default:"20" help:"one standard deviation: a disc about 20, own calibration about 10"`
	VolumeL   float64  `json:"volume_l" label:"Volume" unit:"L" min:"0.1" max:"10000000"`
	LitresL   *float64 `json:"litres_l" label:"Take so many litres through the cloth" unit:"L" min:"0" max:"10000000" help:"this, or one of the next three, or none: the most that leaves enough"`
	SharePct  *float64 `json:"share_pct" label:"or this part of the volume" unit:"%" min:"0" max:"100"`
	LeaveGL   *float64 `json:"leave_g_per_l" label:"or down to" unit:"g/L" min:"0.01" max:"10"`
	WantDryG  *float64 `json:"want_dry_g" label:"or so much dry matter" unit:"g" min:"0.01" max:"10000000"`
	ShadePct  float64  `json:"shade_pct" label:"Shade over it" unit:"%" min:"0" max:"95" default:"0"`
	FloorGL   *float64 `json:"floor_g_per_l" label:"Least to leave" unit:"g/L" min:"0.02" max:"5" help:"else 0.3 in full sun, 0.2 under a third of shade or more"`
	RiskPct   float64  `json:"risk_pct" label:"Chance allowed to leave less" unit:"%" min:"0.1" max:"49" default:"10"`
	PasteDry  float64  `json:"paste_dry_pct" label:"Dry share of the pressed paste" unit:"%" min:"5" max:"40" default:"20"`
	DepthCM   *float64 `json:"depth_cm" label:"Depth of the water" unit:"cm" min:"0.5" max:"500" help:"to tell when it is dark again"`
	YieldGM2D *float64 `json:"yield_g_per_m2_d" label:"Growth expected" unit:"g/m²/d" min:"0.1" max:"60" help:"to tell when it is dark again"`
	ReadyGL   float64  `json:"ready_g_per_l" label:"Called dark at" unit:"g/L" min:"0.05" max:"5" default:"0.5"`
	TempC     *float64 `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"0" max:"50"`
	PH25      *float64 `json:"ph_25c" label:"pH, at 25 °C" min:"7" max:"12"`
	NoReserve bool     `json:"no_living_reserve" label:"No living reserve stands behind it"`
}

type harvestOut struct {
	LitresL     float64  `json:"litres_l" label:"Through the cloth, filtrate given back" unit:"L"`
	SharePct    float64  `json:"share_pct" label:"That part of the volume" unit:"%"`
	DryG        float64  `json:"dry_g" label:"Dry matter" unit:"g"`
	DryLowG     float64  `json:"dry_low_g" label:"One in ten lies below" unit:"g"`
	DryHighG    float64  `json:"dry_high_g" label:"One in ten lies above" unit:"g"`
	PasteG      float64  `json:"paste_g" label:"As pressed paste" unit:"g"`
	WaterL      float64  `json:"water_in_paste_l" label:"Medium that leaves with it" unit:"L"`
	LeavesGL    float64  `json:"leaves_g_per_l" label:"Leaves" unit:"g/L"`
	LeavesLowGL float64  `json:"leaves_low_g_per_l" label:"One in ten leaves less than" unit:"g/L"`
	LeavesG     float64  `json:"leaves_g" label:"Leaves in all" unit:"g"`
	SecchiCM    float64  `json:"secchi_cm" label:"Disc then out of sight at" unit:"cm"`
	FloorGL     float64  `json:"floor_g_per_l" label:"Least to leave" unit:"g/L"`
	ChancePct   float64  `json:"chance_below_pct" label:"Chance to leave less than that" unit:"%"`
	MostL       float64  `json:"most_litres_l" label:"Most that keeps that chance" unit:"L"`
	HalfChance  float64  `json:"half_chance_below_pct" label:"Taking half of it would have a chance of" unit:"%"`
	DaysToReady *float64 `json:"days_to_dark,omitempty" label:"Dark again in about" unit:"d"`
	Told
}

// Harvest is the calculator of how much to take and what it leaves.
func Harvest() *Calculator {
	return Define(About{
		Name: "harvest", Title: "How much to take?",
		Sentence: "Litres through the cloth, what they bring and what they leave, with the chance that it is too little.",
		Equations: []string{
			"share s through the cloth, filtrate given back: X after = X (1 - s); dry matter = s X V",
			"X is known to a lognormal spread; chance = P(X (1 - s) < floor)",
			"most: 1 - s = floor / X at the quantile of the chance allowed",
			"dark again: (ready - left) depth x 10 / growth",
		},
		Sources: []Source{
			{"jourdan2014", "Jourdan, Cultivez votre spiruline, editions 2006 to 2014: least density in full sun 0.3 g/L, pH of harvest"},
			{"", "0.2 g/L under shade, 10 % of chance, a disc's 20 %: judgement, no source; half of it whenever dark: common practice, no source"},
		},
		Cautions: []string{
			"Take a harvest for food only after a look under the microscope, with the right smell and colour, and a pH of 9.8 or more for two days: which checks passed, failed or are missing stands with the lot. No figure here says that it may be eaten.",
			"Never filter in full sun; keep the paste cool and start the clock.",
		},
		Example: `{"density_g_per_l":0.65,"volume_l":1800,"depth_cm":18,"yield_g_per_m2_d":6,"shade_pct":30}`,
	}, computeHarvest)
}

func computeHarvest(in harvestIn) (harvestOut, error) {
	var out harvestOut
	given := 0
	for _, there := range []bool{in.LitresL != nil, in.SharePct != nil, in.LeaveGL != nil, in.WantDryG != nil} {
		if there {
			given++
		}
	}
	if given > 1 {
		return out, invalid("litres_l", "say one of them", "of litres_l, share_pct, leave_g_per_l and want_dry_g %d are given", given)
	}
	out.FloorGL = plan.FloorGL(in.ShadePct)
	if in.FloorGL != nil {
		out.FloorGL = *in.FloorGL
	}
	// The lognormal with the same coefficient of variation.
	sd := math.Sqrt(math.Log1p(in.SpreadPct * in.SpreadPct / 1e4))
	quantile := func(p float64) float64 { return in.DensityGL * math.Exp(sd*normalQuantile(p)) }
	most := max(1-out.FloorGL/quantile(in.RiskPct/100), 0)
	if in.NoReserve {
		most = min(most, plan.ReserveShare)
	}
	out.MostL = most * in.VolumeL
	share := most
	switch {
	case in.LitresL != nil:
		if *in.LitresL > in.VolumeL {
			return out, invalid("litres_l", "", "litres_l %g is more than the volume, %g L", *in.LitresL, in.VolumeL)
		}
		share = *in.LitresL / in.VolumeL
	case in.SharePct != nil:
		share = *in.SharePct / 100
	case in.LeaveGL != nil:
		if *in.LeaveGL > in.DensityGL {
			return out, invalid("leave_g_per_l", "", "leave_g_per_l %g is more than there is, %g g/L", *in.LeaveGL, in.DensityGL)
		}
		share = 1 - *in.LeaveGL/in.DensityGL
	case in.WantDryG != nil:
		have := in.DensityGL * in.VolumeL
		if *in.WantDryG > have {
			return out, invalid("want_dry_g", fmt.Sprintf("it holds about %s g in all", Digits(have)), "want_dry_g %g is more than the culture holds", *in.WantDryG)
		}
		share = *in.WantDryG / have
	default:
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("no amount was named: the most that leaves less than the floor with a chance of %s %%", Digits(in.RiskPct)))
	}
	below := func(share float64) float64 {
		if share >= 1 {
			return 100
		}
		if sd == 0 {
			if in.DensityGL*(1-share) < out.FloorGL {
				return 100
			}
			return 0
		}
		return 100 * normalCDF(math.Log(out.FloorGL/(1-share)/in.DensityGL)/sd)
	}
	const tenth = 0.1
	out.SharePct, out.LitresL = 100*share, share*in.VolumeL
	out.DryG = share * in.DensityGL * in.VolumeL
	out.DryLowG, out.DryHighG = share*quantile(tenth)*in.VolumeL, share*quantile(1-tenth)*in.VolumeL
	out.PasteG = out.DryG / (in.PasteDry / 100)
	out.WaterL = (out.PasteG - out.DryG) / 1000
	out.LeavesGL, out.LeavesLowGL = in.DensityGL*(1-share), quantile(tenth)*(1-share)
	out.LeavesG = out.LeavesGL * in.VolumeL
	out.SecchiCM = growth.SecchiFromDensity(max(out.LeavesGL, 0.005), growth.SecchiConstant)
	out.ChancePct, out.HalfChance = below(share), below(0.5)
	out.Assumptions = append(out.Assumptions,
		"stirred before the disc was read and before it is taken",
		"all of the dry matter stays on the cloth; a loose or tired culture lets some through: look at the filtrate",
		fmt.Sprintf("paste of %s %% dry matter", Digits(in.PasteDry)))
	if in.DepthCM != nil && in.YieldGM2D != nil {
		days := max(in.ReadyGL-out.LeavesGL, 0) * *in.DepthCM * 10 / *in.YieldGM2D
		out.DaysToReady = finite(days)
		out.Assumptions = append(out.Assumptions, "growth as expected every day: grey or cold days take longer")
	}
	if out.ChancePct > in.RiskPct+0.5 {
		out.Cautions = append(out.Cautions, fmt.Sprintf("This leaves less than %s g/L with a chance of %s %%: thin culture bleaches in strong light. Take at most %s L, or shade it.", Digits(out.FloorGL), Digits(out.ChancePct), Digits(out.MostL)))
	}
	if in.NoReserve && share > plan.ReserveShare {
		out.Cautions = append(out.Cautions, "Without a living reserve take a third at most.")
	}
	limits := plan.DefaultLimits()
	if in.TempC != nil && *in.TempC < limits.ColdC {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Below %g °C do not harvest: thin culture in cold, bright mornings is harmed.", limits.ColdC))
	}
	if in.TempC != nil && *in.TempC > limits.HotC {
		out.Cautions = append(out.Cautions, fmt.Sprintf("Above %g °C first shade and cool it.", limits.HotC))
	}
	if in.PH25 != nil && *in.PH25 < limits.PHLow {
		out.Cautions = append(out.Cautions, fmt.Sprintf("A pH under %g bars a harvest for food.", limits.PHLow))
	}
	if most <= 0 {
		out.Cautions = append(out.Cautions, "There is nothing to take yet.")
	}
	return out, nil
}

// normalCDF is the chance that a standard normal lies below z.
func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// normalQuantile is its inverse.
func normalQuantile(p float64) float64 { return -math.Sqrt2 * math.Erfcinv(2*p) }
