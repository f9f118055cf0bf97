package calc

import (
	"fmt"
	"math"
	"time"

	"sodalake/science/air"
	"sodalake/science/growth"
	"sodalake/science/power"
	"sodalake/science/sky"
	"sodalake/science/vessel"
)

type lightIn struct {
	By          string   `json:"by" label:"Light from" choices:"lamp|window" default:"lamp"`
	PPFD        *float64 `json:"ppfd_umol_m2_s" label:"Lamp: light measured at the culture" unit:"µmol/m²/s" min:"0.1" max:"5000" help:"this, or the watts"`
	AtCM        *float64 `json:"measured_at_cm" label:"Lamp: measured at a distance of" unit:"cm" min:"1" max:"1000" help:"to tell it at another distance"`
	LampW       *float64 `json:"lamp_w" label:"Lamp: power" unit:"W" min:"0.1" max:"20000" help:"as drawn, not 'equivalent'"`
	Efficacy    float64  `json:"efficacy_umol_per_j" label:"Lamp: light for a joule" unit:"µmol/J" min:"0.2" max:"5" default:"2" help:"household LED 1.2 to 1.7, grow LED 2 to 3, fluorescent about 1"`
	BeamDeg     float64  `json:"beam_deg" label:"Lamp: opening of its cone" unit:"°" min:"5" max:"180" default:"120"`
	DistanceCM  *float64 `json:"distance_cm" label:"Lamp: distance to the culture" unit:"cm" min:"1" max:"1000"`
	AreaM2      *float64 `json:"area_m2" label:"Lamp: or spread over" unit:"m²" min:"0.001" max:"10000"`
	HitsPct     float64  `json:"hits_pct" label:"Lamp: of its light, what hits that area" unit:"%" min:"1" max:"100" default:"70"`
	HoursH      float64  `json:"hours_h" label:"Lamp: hours a day" unit:"h" min:"0" max:"24" default:"14"`
	LatDeg      *float64 `json:"lat_deg" label:"Window: latitude" unit:"°" min:"-66" max:"66"`
	Date        string   `json:"date,omitempty" label:"Window: date" kind:"date"`
	AzimuthDeg  float64  `json:"window_azimuth_deg" label:"Window: looks towards" unit:"°" min:"0" max:"360" default:"180" help:"from north, clockwise: 180 is south"`
	GlassPct    float64  `json:"glass_pct" label:"Window: light that its glass lets in" unit:"%" min:"1" max:"100" default:"75"`
	ViewPct     float64  `json:"view_pct" label:"Window: outside seen from the culture" unit:"%" min:"1" max:"100" default:"35" help:"of the half world: on the sill 50, a metre back 20"`
	DensityGL   float64  `json:"density_g_per_l" label:"Density of the culture" unit:"g/L" min:"0.01" max:"5" default:"0.3"`
	PathCM      float64  `json:"path_cm" label:"Depth for the light" unit:"cm" min:"0.5" max:"100" default:"7" help:"lit from above: the depth; a bottle: volume over lit wall, about 7"`
	TempC       float64  `json:"temp_c" label:"Temperature of the water" unit:"°C" min:"5" max:"45" default:"25"`
	PricePerKWh float64  `json:"price_per_kwh" label:"Price of a kilowatt-hour" min:"0" max:"100" default:"0"`
}

type lightOut struct {
	PPFD        float64  `json:"ppfd_umol_m2_s" label:"Light on the culture" unit:"µmol/m²/s"`
	DLI         float64  `json:"dli_mol_m2_d" label:"In a day" unit:"mol/m²/d"`
	GreyDLI     *float64 `json:"grey_dli_mol_m2_d,omitempty" label:"On a grey day" unit:"mol/m²/d"`
	GrowthPct   float64  `json:"growth_pct_per_d" label:"Growth there" unit:"%/d"`
	DoublesD    *float64 `json:"doubles_in_d,omitempty" label:"Doubles in" unit:"d"`
	KWhD        *float64 `json:"kwh_per_d,omitempty" label:"Power" unit:"kWh/d"`
	CostD       *float64 `json:"cost_per_d,omitempty" label:"Costs a day"`
	ForStarterW *float64 `json:"lamp_for_100_umol_w,omitempty" label:"Power for 100 µmol/m²/s there" unit:"W"`
	Told
}

// Light is the calculator of light by lamp or window.
func Light() *Calculator {
	return Define(About{
		Name: "light", Title: "Is there enough light?",
		Sentence: "Light on the culture from a lamp or through a window, its sum over the day, the growth that it carries and the power that it takes.",
		Equations: []string{
			"lamp in a cone: watts x efficacy / (2 pi (1 - cos(beam/2)) d²); over an area: watts x efficacy x share / area",
			"from a reading: light goes by the square of the distance, a small lamp taken",
			"day: light x hours x 3600 / 1 000 000",
			"window: clear sky on its wall, through glass, as seen from the culture",
			"growth: the program's own model over a day of light and dark",
		},
		Sources: []Source{
			{"ineichenperez2002", "clear sky: Ineichen & Perez 2002, Solar Energy 73:151"},
			{"mccree1972", "4.57 µmol/J of sunlight: McCree 1972, Agricultural Meteorology 10:443 (from memory)"},
			{"", "cone and square of the distance: geometry; efficacies: common practice, no source; 50 to 150 µmol for young cultures: growers' practice"},
		},
		Example: `{"by":"lamp","lamp_w":12,"efficacy_umol_per_j":1.5,"area_m2":0.12}`,
	}, computeLight)
}

func computeLight(in lightIn) (lightOut, error) {
	var out lightOut
	hours := make([]float64, 24) // light by hour [µmol/m²/s]
	if in.By == "window" {
		grey, err := in.window(&out, hours)
		if err != nil {
			return out, err
		}
		out.GreyDLI = finite(grey)
	} else if err := in.lamp(&out, hours); err != nil {
		return out, err
	}
	for _, x := range hours {
		out.DLI += x * 3600 / 1e6
	}
	rate := dayOfGrowth(hours, in.DensityGL, in.PathCM/100, in.TempC)
	out.GrowthPct = 100 * math.Expm1(rate)
	if rate > 0.005 {
		out.DoublesD = finite(math.Ln2 / rate)
	}
	out.Assumptions = append(out.Assumptions,
		fmt.Sprintf("stirred culture of %s g/L, light path %s cm, %s °C, nothing lacking but light", Digits(in.DensityGL), Digits(in.PathCM), Digits(in.TempC)),
		"growth good to a third until own readings correct it")
	switch {
	case in.DensityGL < 0.3 && out.PPFD > 600:
		out.Cautions = append(out.Cautions, "Thin culture in strong light bleaches: shade it, or begin denser.")
	case out.PPFD < 20:
		out.Cautions = append(out.Cautions, "Under about 20 µmol/m²/s it lives from its reserves and grows hardly at all.")
	}
	return out, nil
}

func (in *lightIn) lamp(out *lightOut, hours []float64) error {
	switch {
	case in.PPFD == nil && in.LampW == nil:
		return invalid("lamp_w", "", "lamp_w or ppfd_umol_m2_s is needed")
	case in.PPFD != nil && in.LampW != nil && in.AtCM == nil && (in.DistanceCM != nil || in.AreaM2 != nil):
		return invalid("ppfd_umol_m2_s", "say one of them", "the light is given both measured and by the lamp")
	case in.PPFD != nil:
		out.PPFD = *in.PPFD
		if in.AtCM != nil && in.DistanceCM != nil {
			out.PPFD *= *in.AtCM * *in.AtCM / (*in.DistanceCM * *in.DistanceCM)
			out.Assumptions = append(out.Assumptions, "a lamp small beside its distance; a panel close by falls off less")
		}
	case in.AreaM2 != nil:
		out.PPFD = *in.LampW * in.Efficacy * in.HitsPct / 100 / *in.AreaM2
		out.Assumptions = append(out.Assumptions, "even over the area")
	case in.DistanceCM != nil:
		d := *in.DistanceCM / 100
		out.PPFD = *in.LampW * in.Efficacy / (2 * math.Pi * (1 - math.Cos(in.BeamDeg/2*math.Pi/180)) * d * d)
		out.Assumptions = append(out.Assumptions, "all light within the cone and even in it; a lamp small beside its distance")
	default:
		return invalid("distance_cm", "or area_m2", "distance_cm is needed to tell what a lamp gives")
	}
	left := in.HoursH
	for i := range hours {
		hours[i] = out.PPFD * min(max(left, 0), 1)
		left--
	}
	if in.LampW != nil {
		kwh := *in.LampW * in.HoursH / 1000
		out.KWhD = finite(kwh)
		if in.PricePerKWh > 0 {
			out.CostD = finite(kwh * in.PricePerKWh)
		}
		if out.PPFD > 0 {
			out.ForStarterW = finite(*in.LampW * 100 / out.PPFD)
		}
		out.Assumptions = append(out.Assumptions, fmt.Sprintf("%s µmol for a joule drawn", Digits(in.Efficacy)))
	}
	out.Cautions = append(out.Cautions, "A lamp warms a bottle: read the water's temperature after some hours.")
	for _, c := range power.For(power.Mains) {
		out.Cautions = append(out.Cautions, c.Text)
	}
	return nil
}

// window fills the hours of a clear day and returns the sum of a grey one.
func (in *lightIn) window(out *lightOut, hours []float64) (grey float64, err error) {
	if in.LatDeg == nil {
		return 0, invalid("lat_deg", "", "lat_deg is needed for a window")
	}
	if in.Date == "" {
		return 0, invalid("date", "", "date is needed for a window")
	}
	day, err := time.Parse("2006-01-02", in.Date)
	if err != nil || day.Year() < 1900 || day.Year() > 2150 {
		return 0, invalid("date", "write it as 2026-06-21", "date %q is not a day", in.Date)
	}
	room := vessel.IndoorSetting(vessel.Bottle, 21, 50)
	room.WindowTransmission, room.WindowAzimuthDeg, room.WindowView = in.GlassPct/100, in.AzimuthDeg, in.ViewPct/100
	site := sky.Site{LatDeg: *in.LatDeg}
	peak := 0.0
	for h := range hours {
		sun := sky.Position(day.Add(time.Duration(h)*time.Hour+30*time.Minute), site)
		clear := sky.ClearSky(sun, 0, 3)
		cos := max(sun.CosZenith(), 0)
		o := air.Outside{
			CosZenith: cos, AzimuthDeg: sun.AzimuthDeg, BeamWM2: clear.DNIWM2 * cos, DiffuseWM2: clear.DHIWM2,
			BeamPAR: sky.PAR(clear.DNIWM2*cos, sky.DefaultPARShare), DiffusePAR: sky.PAR(clear.DHIWM2, sky.DefaultPARShare),
		}
		hours[h] = room.SideLight(&o)
		peak = max(peak, hours[h])
		// A fully overcast hour passes a quarter of a clear one, all of it diffuse.
		o.DiffusePAR = sky.PAR(clear.GHIWM2*sky.CloudFactor(8), sky.DefaultPARShare)
		o.BeamPAR, o.BeamWM2 = 0, 0
		grey += room.SideLight(&o) * 3600 / 1e6
	}
	out.PPFD = peak
	out.Assumptions = append(out.Assumptions, "a clear sky and a free view; the brightest hour is told as the light on the culture", "the place's own midday at 12:00")
	if peak > 800 {
		out.Cautions = append(out.Cautions, "Direct noon sun through glass is too much for a thin bottle: a white curtain.")
	}
	return grey, nil
}

// dayOfGrowth is the growth of a day [1/d] under light by hour, by the program's
// own model, from the third day on when damage and the night's loss have
// settled.
func dayOfGrowth(hours []float64, densityGL, pathM, tempC float64) float64 {
	m := growth.NewModel(growth.Default())
	s := growth.State{DensityGL: densityGL}
	env := growth.Plain(tempC)
	rate := 0.0
	for d := range 4 {
		s.DensityGL = densityGL // held, as by a small harvest each morning
		for h := range hours {
			for range 6 {
				m.Step(&s, &growth.Light{Diffuse: hours[h], CosZenith: 1, PathM: pathM, Side: true}, &env, 1.0/144)
			}
		}
		if d > 0 {
			rate = math.Log(s.DensityGL / densityGL)
		}
	}
	return rate
}
