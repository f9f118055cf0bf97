package scenario

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"time"

	"sodalake/farm"
)

// File is a scenario as written. Fields that are not known are errors.
type File struct {
	Name     string          `json:"name,omitempty"`
	Note     string          `json:"note,omitempty"`
	Start    string          `json:"start"` // local date, or a moment
	Days     int             `json:"days"`
	Seed     *uint64         `json:"seed,omitempty"` // draws weather days; absent: mean days
	Site     Site            `json:"site"`
	Vessel   json.RawMessage `json:"vessel"`
	Cover    Cover           `json:"cover"`
	ShadePct float64         `json:"shade_pct,omitempty"`
	Stirring Stirring        `json:"stirring"`
	Medium   Medium          `json:"medium"`
	Culture  Culture         `json:"culture"`
	Weather  Weather         `json:"weather"`
	Harvest  Harvest         `json:"harvest"`
	Feed     Rule            `json:"feed"`
	Water    Rule            `json:"water"`

	shape    farm.Shape
	levelM   float64
	place    string
	lit      string
	inGround *bool
	start    time.Time
	zone     *time.Location
}

// Site is where the vessel stands. Constant weather needs no place.
type Site struct {
	LatDeg     *float64 `json:"lat_deg"`
	LonDeg     *float64 `json:"lon_deg"`
	ElevationM float64  `json:"elevation_m"`
	Timezone   string   `json:"timezone"` // absent: UTC
}

// Cover is what stands over it.
type Cover struct {
	Kind         string  `json:"kind"`
	Transmission float64 `json:"transmission,omitempty"`
	Vents        string  `json:"vents,omitempty"`
}

// Stirring is how it is stirred.
type Stirring struct {
	Kind        string  `json:"kind"`
	TimesPerDay float64 `json:"times_per_day,omitempty"`
}

// Medium is what is in it at the start.
type Medium struct {
	Recipe     string             `json:"recipe,omitempty"`
	SaltsGPerL map[string]float64 `json:"salts_g_per_l,omitempty"`
	PH25C      *float64           `json:"ph_25c,omitempty"`   // brought there by carbon dioxide
	PCO2PPM    *float64           `json:"pco2_ppm,omitempty"` // stood in air of this
}

// Culture is what grows in it.
type Culture struct {
	DensityGPerL float64            `json:"density_g_per_l"`
	Parameters   map[string]float64 `json:"parameters,omitempty"`
}

// Weather is one of a file, twelve months or one constant hour.
type Weather struct {
	HourlyCSV   string       `json:"hourly_csv,omitempty"`
	WindHeightM float64      `json:"wind_height_m,omitempty"`
	Monthly     []MonthRow   `json:"monthly,omitempty"`
	Constant    *ConstantRow `json:"constant,omitempty"`
}

// MonthRow is the weather of a month's average day. Either the lowest and the
// highest temperature are given or the mean.
type MonthRow struct {
	GHIMJM2D *float64 `json:"ghi_mj_m2_d"`
	TMinC    *float64 `json:"t_min_c,omitempty"`
	TMaxC    *float64 `json:"t_max_c,omitempty"`
	TMeanC   *float64 `json:"t_mean_c,omitempty"`
	RHPct    *float64 `json:"rh_pct"`
	WindMS   *float64 `json:"wind_m_s"`
	RainMM   float64  `json:"rain_mm,omitempty"`
	RainDays float64  `json:"rain_days,omitempty"`
}

// ConstantRow is weather that stays: a room with a lamp, a test.
type ConstantRow struct {
	GHIWM2       float64  `json:"ghi_w_m2,omitempty"`
	PARUmolM2S   float64  `json:"par_umol_m2_s,omitempty"`
	PhotoperiodH *float64 `json:"photoperiod_h,omitempty"` // hours of light around noon; absent: always
	TAirC        *float64 `json:"t_air_c"`
	RHPct        *float64 `json:"rh_pct,omitempty"` // absent: 60
	WindMS       float64  `json:"wind_m_s"`
	PressureHPa  *float64 `json:"pressure_hpa,omitempty"`
	RainMM       float64  `json:"rain_mm,omitempty"`
	LongwaveWM2  *float64 `json:"longwave_down_w_m2,omitempty"`
}

// Harvest is the rule by which culture is taken.
type Harvest struct {
	Rule         string   `json:"rule"`
	DensityGPerL float64  `json:"density_g_per_l,omitempty"`
	LeaveGPerL   *float64 `json:"leave_g_per_l,omitempty"`
	Fraction     *float64 `json:"fraction,omitempty"`
	Hour         *float64 `json:"hour,omitempty"`
}

// Rule is a rule by its name.
type Rule struct {
	Rule string `json:"rule"`
}

// Read takes a scenario apart and checks it. Every error names its field.
func Read(raw []byte) (*File, error) {
	var f File
	if err := strict("", raw, &f); err != nil {
		return nil, err
	}
	for _, check := range []func() error{f.checkTime, f.checkSite, f.checkVessel, f.checkMedium, f.checkWeather, f.checkRules} {
		if err := check(); err != nil {
			return nil, err
		}
	}
	return &f, nil
}

// strict decodes one JSON object and refuses fields it does not know.
func strict(path string, raw []byte, into any) error {
	dec := json.NewDecoder(bytes.NewReader(raw))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return decodeError(path, err)
	}
	if dec.More() {
		return bad(path, "the scenario has something after its closing brace")
	}
	return nil
}

func decodeError(path string, err error) error {
	var fe *farm.Error
	if errors.As(err, &fe) {
		return fe
	}
	var typ *json.UnmarshalTypeError
	if errors.As(err, &typ) {
		return bad(join(path, typ.Field), "%s cannot be a %s", join(path, typ.Field), typ.Value)
	}
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		name = join(path, strings.Trim(name, `"`))
		return bad(name, "field %q is not known", name)
	}
	return bad(path, "the scenario is not good JSON: %s", strings.TrimPrefix(err.Error(), "json: "))
}

func join(path, field string) string {
	if path == "" || field == "" {
		return path + field
	}
	return path + "." + field
}
