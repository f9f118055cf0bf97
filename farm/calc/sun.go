package calc

import (
	"errors"
	"time"

	"sodalake/farm"
	"sodalake/science/sky"
)

type sunIn struct {
	LatDeg         float64 `json:"lat_deg" label:"Latitude" unit:"°" min:"-90" max:"90" help:"north is positive"`
	LonDeg         float64 `json:"lon_deg" label:"Longitude" unit:"°" min:"-180" max:"180" help:"east is positive"`
	ElevationM     float64 `json:"elevation_m" label:"Height above the sea" unit:"m" min:"-450" max:"6000" default:"0"`
	Time           string  `json:"time" label:"Moment" kind:"time" help:"with its offset, as 2026-06-21T12:00:00Z"`
	LinkeTurbidity float64 `json:"linke_turbidity" label:"Linke turbidity" min:"1" max:"10" default:"3" help:"2 very clean air, 3 clean, 4 to 5 moist or hazy"`
}

type sunOut struct {
	ZenithDeg            float64 `json:"zenith_deg" label:"Angle from overhead, without refraction" unit:"°"`
	AzimuthDeg           float64 `json:"azimuth_deg" label:"Direction from north, clockwise" unit:"°"`
	ApparentElevationDeg float64 `json:"apparent_elevation_deg" label:"Height above the horizon, as seen" unit:"°"`
	ExtraterrestrialWM2  float64 `json:"extraterrestrial_w_m2" label:"Above the air, facing the sun" unit:"W/m²"`
	ClearGHIWM2          float64 `json:"clear_ghi_w_m2" label:"Clear sky, on flat ground" unit:"W/m²"`
	ClearDNIWM2          float64 `json:"clear_dni_w_m2" label:"Clear sky, beam facing the sun" unit:"W/m²"`
	ClearDHIWM2          float64 `json:"clear_dhi_w_m2" label:"Clear sky, from the sky alone" unit:"W/m²"`
	ClearPARUmolM2S      float64 `json:"clear_par_umol_m2_s" label:"Clear sky, light for growth" unit:"µmol/m²/s"`
	Sunrise              string  `json:"sunrise,omitempty" label:"Sunrise"`
	Sunset               string  `json:"sunset,omitempty" label:"Sunset"`
	DayLengthH           float64 `json:"day_length_h" label:"Day length" unit:"h"`
	Told
}

// Sun is the calculator of the sun's place and of clear-sky light.
func Sun() *Calculator {
	return Define(About{
		Name: "sun", Title: "Sun and clear-sky light",
		Sentence: "Where the sun stands and how much light a clear sky gives, for any place and moment.",
		Equations: []string{
			"zenith, azimuth: solar position algorithm, Reda & Andreas 2008",
			"GHI = c1 I0 cos z exp(-c2 m (f1 + f2 (TL - 1))), Ineichen & Perez 2002, eq. 8",
			"air mass m: Kasten & Young 1989",
			"light = GHI x 0.45 x 4.57 µmol/J",
		},
		Sources: []Source{
			{"redaandreas2008", "Reda & Andreas 2004, revised 2008, Solar position algorithm for solar radiation applications, NREL/TP-560-34302"},
			{"ineichenperez2002", "Ineichen & Perez 2002, Solar Energy 73:151"},
			{"kastenyoung1989", "Kasten & Young 1989, Applied Optics 28:4735"},
			{"mccree1972", "McCree 1972, Agricultural Meteorology 10:443 (4.57 µmol/J, from memory)"},
		},
		Cautions: []string{"Never look into the sun, not through an instrument either."},
		Example:  `{"lat_deg":39.742476,"lon_deg":-105.1786,"elevation_m":1830.14,"time":"2003-10-17T12:30:30-07:00"}`,
	}, func(in sunIn) (sunOut, error) {
		t, err := time.Parse(time.RFC3339, in.Time)
		if err != nil {
			return sunOut{}, invalid("time", "write it with its offset, as 2026-06-21T12:00:00Z", "time %q is not a moment", in.Time)
		}
		if y := t.UTC().Year(); y < 1900 || y > 2150 {
			return sunOut{}, invalid("time", "", "time %q lies outside the years 1900 to 2150", in.Time)
		}
		site := sky.Site{LatDeg: in.LatDeg, LonDeg: in.LonDeg, ElevationM: in.ElevationM}
		if err := site.Check(); err != nil {
			return sunOut{}, fromSky(err)
		}
		sun := sky.Position(t, site)
		clear := sky.ClearSky(sun, in.ElevationM, in.LinkeTurbidity)
		day := sky.DayAt(t, site)
		out := sunOut{
			ZenithDeg: sun.ZenithDeg, AzimuthDeg: sun.AzimuthDeg, ApparentElevationDeg: sun.ApparentElevationDeg,
			ExtraterrestrialWM2: sun.ExtraterrestrialWM2,
			ClearGHIWM2:         clear.GHIWM2, ClearDNIWM2: clear.DNIWM2, ClearDHIWM2: clear.DHIWM2,
			ClearPARUmolM2S: sky.PAR(clear.GHIWM2, sky.DefaultPARShare),
			DayLengthH:      day.LengthH,
		}
		if !day.Rise.IsZero() {
			out.Sunrise = day.Rise.In(t.Location()).Format(time.RFC3339)
		}
		if !day.Set.IsZero() {
			out.Sunset = day.Set.In(t.Location()).Format(time.RFC3339)
		}
		out.Assumptions = []string{
			"standard air pressure at this height and 12 °C for refraction",
			"level horizon",
			"Linke turbidity " + Digits(in.LinkeTurbidity) + ", 45 % of the energy in light for growth",
			"times in the offset that was given",
		}
		return out, nil
	})
}

// fromSky turns an input error of the sky into one of the farm.
func fromSky(err error) error {
	var in *sky.InputError
	if errors.As(err, &in) {
		return &farm.Error{Code: farm.Invalid, Field: in.Field, Message: in.Error(), Hint: in.Hint}
	}
	return err
}
