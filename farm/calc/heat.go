package calc

import (
	"fmt"
	"math"

	"sodalake/science/air"
	"sodalake/science/power"
	"sodalake/science/vessel"
)

type heatIn struct {
	VolumeL     float64  `json:"volume_l" label:"Volume" unit:"L" min:"0.2" max:"1000000"`
	DepthCM     float64  `json:"depth_cm" label:"Depth of the water" unit:"cm" min:"1" max:"200" default:"18"`
	Place       string   `json:"place" label:"Where it stands" choices:"outdoors|indoors" default:"outdoors"`
	Cover       string   `json:"cover" label:"Cover" choices:"none|film|tunnel" default:"none"`
	TargetC     float64  `json:"target_c" label:"Hold the water at" unit:"°C" min:"5" max:"42" default:"25"`
	NowC        *float64 `json:"now_c" label:"The water is at" unit:"°C" min:"0" max:"45" help:"to tell the time to warm it"`
	AirC        float64  `json:"air_c" label:"Coldest air of the night, or of the room" unit:"°C" min:"-30" max:"45"`
	RHPct       float64  `json:"rh_pct" label:"Humidity of the air" unit:"%" min:"5" max:"100" default:"70"`
	WindMS      float64  `json:"wind_2m_m_s" label:"Wind, at 2 m" unit:"m/s" min:"0" max:"30" default:"1"`
	CloudPct    float64  `json:"cloud_pct" label:"Sky covered by clouds" unit:"%" min:"0" max:"100" default:"0"`
	InGround    bool     `json:"in_ground" label:"Walls in the ground"`
	HeaterW     *float64 `json:"heater_w" label:"Heater" unit:"W" min:"1" max:"1000000" help:"to tell what it holds, and how fast it warms"`
	HoursH      float64  `json:"cold_hours_h" label:"Cold hours of a day" unit:"h" min:"0.5" max:"24" default:"12"`
	PricePerKWh float64  `json:"price_per_kwh" label:"Price of a kilowatt-hour" min:"0" max:"100" default:"0"`
}

type heatCover struct {
	Cover string  `json:"cover" label:"Cover"`
	W     float64 `json:"heater_w" label:"Heater to hold it" unit:"W"`
	KWh   float64 `json:"kwh_per_d" label:"Power a day" unit:"kWh/d"`
}

type heatOut struct {
	HoldW       float64     `json:"hold_w" label:"Heater that holds it through the cold hours" unit:"W"`
	PerM2       float64     `json:"hold_w_per_m2" label:"For a square metre of water" unit:"W/m²"`
	BuyW        float64     `json:"heater_with_margin_w" label:"With a quarter more for wind and doubt" unit:"W"`
	KWhD        float64     `json:"kwh_per_d" label:"Power for the cold hours" unit:"kWh/d"`
	CostD       *float64    `json:"cost_per_d,omitempty" label:"Costs a day"`
	HoldsC      *float64    `json:"heater_holds_c,omitempty" label:"That heater holds at least" unit:"°C"`
	WarmH       *float64    `json:"warm_up_h,omitempty" label:"Time to warm it" unit:"h"`
	WarmKWh     *float64    `json:"warm_up_kwh,omitempty" label:"Power to warm it, losses left out" unit:"kWh"`
	CoolsC      float64     `json:"cools_in_cold_hours_c" label:"Without a heater it falls in the cold hours by" unit:"K"`
	EvaporatesL float64     `json:"evaporates_l_per_cold_hours" label:"It evaporates in the cold hours" unit:"L"`
	Covers      []heatCover `json:"covers" label:"By cover"`
	Told
}

// Heat is the calculator of heaters and covers.
func Heat() *Calculator {
	return Define(About{
		Name: "heat", Title: "Heat or cover?",
		Sentence: "The heater that holds a vessel through a cold night, what a cover spares, and how fast it cools and warms.",
		Equations: []string{
			"heater = longwave to the sky + convection + evaporation + walls + base, in balance at the temperature held",
			"warming: volume x density x heat capacity x degrees / (heater - losses half way)",
		},
		Sources: []Source{
			{"bechet2011", "evaporation and convection: Béchet et al. 2011, Environmental Science & Technology 45:3702"},
			{"prata1996", "clear sky: Prata 1996, Quarterly Journal of the Royal Meteorological Society 122:1127, with clouds after Crawford & Duchon 1999"},
			{"iapws95", "heat of water: Wagner & Pruß 2002 (from memory)"},
		},
		Example: `{"volume_l":1500,"depth_cm":15,"target_c":22,"air_c":6,"wind_2m_m_s":1,"heater_w":1000,"now_c":15}`,
	}, computeHeat)
}

func computeHeat(in heatIn) (heatOut, error) {
	var out heatOut
	if in.Place == "indoors" && in.Cover != "none" {
		return out, invalid("cover", "indoors leave it out", "cover %q is for outdoors", in.Cover)
	}
	hold := func(cover string, atC float64) (w, evapKgS float64, err error) {
		v, err := in.body(cover)
		if err != nil {
			return 0, 0, err
		}
		w, evapKgS = v.steady(atC)
		return max(w, 0), evapKgS, nil
	}
	var err error
	var evap float64
	if out.HoldW, evap, err = hold(in.Cover, in.TargetC); err != nil {
		return out, err
	}
	surface := in.VolumeL / 1000 / (in.DepthCM / 100)
	out.PerM2, out.BuyW = out.HoldW/surface, 1.25*out.HoldW
	out.KWhD = out.HoldW * in.HoursH / 1000
	out.EvaporatesL = max(evap, 0) * in.HoursH * 3600
	if in.PricePerKWh > 0 {
		out.CostD = finite(out.KWhD * in.PricePerKWh)
	}
	v, err := in.body(in.Cover)
	if err != nil {
		return out, err
	}
	out.CoolsC = v.cooling(in.TargetC, in.HoursH)
	if in.Place == "outdoors" {
		for _, c := range []string{"none", "film", "tunnel"} {
			w, _, err := hold(c, in.TargetC)
			if err != nil {
				return out, err
			}
			out.Covers = append(out.Covers, heatCover{Cover: c, W: w, KWh: w * in.HoursH / 1000})
		}
	}
	if in.HeaterW != nil {
		// What it holds: the losses rise with the temperature, so by halves.
		lo, hi := in.AirC-10, 60.0
		for range 40 {
			mid := (lo + hi) / 2
			if w, _ := v.steady(mid); w <= *in.HeaterW {
				lo = mid
			} else {
				hi = mid
			}
		}
		out.HoldsC = finite(lo)
	}
	if in.NowC != nil && *in.NowC < in.TargetC {
		kwh := in.VolumeL * 0.997 * vessel.WaterJKgK * (in.TargetC - *in.NowC) / 3.6e6
		out.WarmKWh = finite(kwh)
		if in.HeaterW != nil {
			if net := *in.HeaterW - out.HoldW; net > 0 {
				half, _, err := hold(in.Cover, (in.TargetC+*in.NowC)/2)
				if err != nil {
					return out, err
				}
				out.WarmH = finite(kwh * 1000 / max(*in.HeaterW-half, 1))
			} else {
				out.Cautions = append(out.Cautions, "This heater does not bring it there while it is so cold.")
			}
		}
	}
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("still night: no sun; the air %s °C all through the cold hours", Digits(in.AirC)),
		fmt.Sprintf("a square body of %s cm", Digits(in.DepthCM)),
		"ground as warm as the air and the water in the middle")
	if in.TargetC > 38 {
		out.Cautions = append(out.Cautions, "Above 38 °C a thermostat that sticks kills the culture: act at 40, alarm at 43.")
	}
	if in.Cover != "none" {
		out.Cautions = append(out.Cautions, "A closed cover by day overheats: open it before the sun is high. In a closed tunnel ammonia and carbon dioxide gather: air it before you go in.")
	}
	for _, c := range power.For(power.Water | power.Mains) {
		out.Cautions = append(out.Cautions, c.Text)
	}
	out.Cautions = append(out.Cautions, "A heater needs a thermostat and a cut-out for running dry; bare copper and brass poison the culture.")
	return out, nil
}

// heated is a vessel in a night that does not change.
type heated struct {
	set  vessel.Setting
	body vessel.Body
	out  air.Outside
}

// body sets the vessel up.
func (in *heatIn) body(cover string) (*heated, error) {
	depth := in.DepthCM / 100
	side := math.Sqrt(in.VolumeL / 1000 / depth)
	g, err := vessel.NewBox(side, side, depth*1.2)
	if err != nil {
		return nil, invalid("volume_l", "", "volume_l %g at %g cm: %s", in.VolumeL, in.DepthCM, err)
	}
	kinds := map[string]vessel.Cover{"none": vessel.None, "film": vessel.Film, "tunnel": vessel.Tunnel}
	h := &heated{set: vessel.DefaultSetting(g.Kind(), kinds[cover]), body: vessel.NewBody(g, depth, in.VolumeL*0.997, 0.99)}
	h.set.InGround = in.InGround
	vapour := air.VapourFromRH(in.RHPct, in.AirC)
	h.out = air.Outside{
		AirC: in.AirC, VapourKPa: vapour, WindMS: in.WindMS, PressureKPa: air.Pressure(0), GroundDeepC: (in.AirC + in.TargetC) / 2,
		LongwaveWM2: air.Longwave(air.SkyEmissivity(in.AirC, vapour, in.CloudPct/100), in.AirC),
	}
	if in.Place == "indoors" {
		h.set = vessel.IndoorSetting(g.Kind(), in.AirC, in.RHPct)
		h.out.LongwaveWM2 = air.Longwave(1, in.AirC)
		h.out.WindMS = 0
	}
	return h, nil
}

// steady returns the power [W] that holds the water at atC [°C], and the water
// that evaporates then [kg/s]: the ground takes a few days to come to rest, so
// the water is put back after every step.
func (h *heated) steady(atC float64) (w, evapKgS float64) {
	th := h.set.Start(&h.out, atC)
	const step, settle, count = 600.0, 3 * 144, 144
	for i := range settle + count {
		th.WaterC = atC
		e := h.set.Step(&th, &h.out, &h.body, step)
		if i >= settle {
			w -= e.StoredJ / step / count
			evapKgS += (e.EvaporatedKg - e.CondensedKg) / step / count
		}
	}
	return w, evapKgS
}

// cooling returns by how much the water falls in hours [h] without a heater [K].
func (h *heated) cooling(fromC, hours float64) float64 {
	th := h.set.Start(&h.out, fromC)
	for range int(hours * 6) {
		h.set.Step(&th, &h.out, &h.body, 600)
	}
	return fromC - th.WaterC
}
