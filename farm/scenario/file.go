package scenario

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/science/growth"
	"sodalake/science/medium"
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
	inGround *bool
	start    time.Time
	zone     *time.Location
}

// Site is where the vessel stands.
type Site struct {
	LatDeg     float64 `json:"lat_deg"`
	LonDeg     float64 `json:"lon_deg"`
	ElevationM float64 `json:"elevation_m"`
	Timezone   string  `json:"timezone"`
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

// MonthRow is the weather of a month's average day.
type MonthRow struct {
	GHIMJM2D float64  `json:"ghi_mj_m2_d"`
	TMinC    float64  `json:"t_min_c"`
	TMaxC    float64  `json:"t_max_c"`
	TMeanC   *float64 `json:"t_mean_c,omitempty"`
	RHPct    float64  `json:"rh_pct"`
	WindMS   float64  `json:"wind_m_s"`
	RainMM   float64  `json:"rain_mm,omitempty"`
	RainDays float64  `json:"rain_days,omitempty"`
}

// ConstantRow is weather that stays: a room with a lamp, a test.
type ConstantRow struct {
	GHIWM2       float64  `json:"ghi_w_m2,omitempty"`
	PARUmolM2S   float64  `json:"par_umol_m2_s,omitempty"`
	PhotoperiodH *float64 `json:"photoperiod_h,omitempty"` // hours of light around noon; absent: always
	TAirC        float64  `json:"t_air_c"`
	RHPct        float64  `json:"rh_pct"`
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

func within(field string, x, lo, hi float64, unit string) error {
	if math.IsNaN(x) || x < lo || x > hi {
		return bad(field, "%s %g lies outside %g to %g%s", field, x, lo, hi, unit)
	}
	return nil
}

func oneOf(field, got string, known ...string) error {
	if slices.Contains(known, got) {
		return nil
	}
	e := bad(field, "%s %q is not known", field, got)
	e.Hint = "one of " + strings.Join(known, ", ")
	return e
}

func (f *File) checkTime() error {
	zone := f.Site.Timezone
	if zone == "" {
		zone = "UTC"
	}
	loc, err := time.LoadLocation(zone)
	if err != nil {
		return bad("site.timezone", "site.timezone %q is not known", f.Site.Timezone)
	}
	f.zone = loc
	if day, no := time.Parse(time.DateOnly, f.Start); no == nil {
		f.start, _ = farm.DayOf(time.Date(day.Year(), day.Month(), day.Day(), 12, 0, 0, 0, loc), loc)
	} else {
		if f.start, err = time.Parse(time.RFC3339, f.Start); err != nil {
			return bad("start", "start %q is not a date such as 2026-05-01", f.Start)
		}
		f.start = f.start.In(loc).Truncate(10 * time.Minute)
	}
	if f.Days < 1 || f.Days > 3660 {
		return bad("days", "days %d lies outside 1 to 3660", f.Days)
	}
	return nil
}

func (f *File) checkSite() error {
	if err := within("site.lat_deg", f.Site.LatDeg, -90, 90, "°"); err != nil {
		return err
	}
	if err := within("site.lon_deg", f.Site.LonDeg, -180, 180, "°"); err != nil {
		return err
	}
	return within("site.elevation_m", f.Site.ElevationM, -450, 6000, " m")
}

// shapeWords are what people call the shapes.
var shapeWords = map[string]string{
	"upright_cylinder": "cylinder", "sloped_liner_pond": "liner", "liner_pond": "liner", "frustum": "liner",
	"rectangle": "box", "tank": "cylinder", "jar": "bottle",
}

func (f *File) checkVessel() error {
	var parts map[string]json.RawMessage
	if err := json.Unmarshal(f.Vessel, &parts); err != nil || parts == nil {
		return bad("vessel", "vessel is missing or not an object")
	}
	var kind string
	if err := json.Unmarshal(parts["shape"], &kind); err != nil {
		return bad("vessel.shape", "vessel.shape is missing or not a word: one of %s", shapeNames())
	}
	kind = strings.ReplaceAll(strings.ReplaceAll(strings.ToLower(kind), " ", "_"), "-", "_")
	if other, ok := shapeWords[kind]; ok {
		kind = other
	}
	var levelCM float64
	if err := json.Unmarshal(parts["level_cm"], &levelCM); err != nil {
		return bad("vessel.level_cm", "vessel.level_cm is missing or not a number")
	}
	if raw, ok := parts["in_ground"]; ok {
		if err := json.Unmarshal(raw, &f.inGround); err != nil {
			return bad("vessel.in_ground", "vessel.in_ground is neither true nor false")
		}
	}
	f.place = "outdoors"
	if raw, ok := parts["place"]; ok {
		if err := json.Unmarshal(raw, &f.place); err != nil {
			return bad("vessel.place", "vessel.place is not a word")
		}
		if err := oneOf("vessel.place", f.place, farm.Places...); err != nil {
			return err
		}
	}
	for _, k := range []string{"shape", "level_cm", "in_ground", "place"} {
		delete(parts, k)
	}
	parts["kind"], _ = json.Marshal(kind)
	if !hasHeight(parts) && kind != "measured" && kind != "lying_cylinder" {
		// A level alone tells nothing of the rim: give it room for a flood.
		parts["height_cm"], _ = json.Marshal(levelCM*1.5 + 10)
	}
	raw, _ := json.Marshal(parts)
	shape, e := farm.DecodeShape(raw)
	if e != nil {
		e.Field = strings.Replace(e.Field, "shape", "vessel", 1)
		e.Message = strings.Replace(e.Message, "shape.", "vessel.", 1)
		return e
	}
	f.shape, f.levelM = shape, levelCM/100
	g, err := shape.Geometry()
	if err != nil {
		return err
	}
	top := g.RimM() * 100
	if !(levelCM > 0) || levelCM > top*(1+1e-9) {
		return bad("vessel.level_cm", "vessel.level_cm %g lies outside 0 to the rim at %g cm", levelCM, top)
	}
	return nil
}

func hasHeight(parts map[string]json.RawMessage) bool {
	for _, k := range []string{"height_m", "height_cm", "depth_m", "depth_cm"} {
		if _, ok := parts[k]; ok {
			return true
		}
	}
	return false
}

func (f *File) checkMedium() error {
	switch {
	case f.Medium.Recipe != "" && f.Medium.SaltsGPerL != nil:
		return bad("medium", "medium names a recipe and salts: say one of them")
	case f.Medium.Recipe != "":
		if _, ok := medium.Find(f.Medium.Recipe); !ok {
			var names []string
			for _, r := range medium.Recipes() {
				names = append(names, r.Name)
			}
			return oneOf("medium.recipe", f.Medium.Recipe, names...)
		}
	}
	for salt, g := range f.Medium.SaltsGPerL {
		if err := within("medium.salts_g_per_l."+salt, g, 0, 400, " g/L"); err != nil {
			return err
		}
	}
	if p := f.Medium.PH25C; p != nil {
		if err := within("medium.ph_25c", *p, 6, 12.5, ""); err != nil {
			return err
		}
	}
	if p := f.Medium.PCO2PPM; p != nil {
		if err := within("medium.pco2_ppm", *p, 1, 1e6, " ppm"); err != nil {
			return err
		}
	}
	if err := within("culture.density_g_per_l", f.Culture.DensityGPerL, 0, 20, " g/L"); err != nil {
		return err
	}
	p := growth.Default()
	for name, v := range f.Culture.Parameters {
		if err := p.Set(name, v); err != nil {
			e := bad("culture.parameters."+name, "%s", err.Error())
			var pe *growth.ParamError
			if errors.As(err, &pe) {
				e.Hint = pe.Hint
			}
			return e
		}
	}
	return within("shade_pct", f.ShadePct, 0, 100, " %")
}

func (f *File) checkWeather() error {
	w := &f.Weather
	given := 0
	for _, there := range []bool{w.HourlyCSV != "", w.Monthly != nil, w.Constant != nil} {
		if there {
			given++
		}
	}
	if given != 1 {
		return bad("weather", "weather must be one of hourly_csv, monthly, constant; %d are given", given)
	}
	if w.WindHeightM == 0 {
		w.WindHeightM = 10
		if w.Constant != nil {
			w.WindHeightM = 2
		}
	}
	if err := within("weather.wind_height_m", w.WindHeightM, 0.5, 200, " m"); err != nil {
		return err
	}
	if w.Monthly != nil && len(w.Monthly) != 12 {
		return bad("weather.monthly", "weather.monthly has %d rows, not 12", len(w.Monthly))
	}
	for i := range w.Monthly {
		m := &w.Monthly[i]
		at := fmt.Sprintf("weather.monthly[%d].", i)
		if m.TMeanC != nil && m.TMinC == 0 && m.TMaxC == 0 {
			// The mean alone: a day's swing of 10 K. Common practice, no source.
			m.TMinC, m.TMaxC = *m.TMeanC-5, *m.TMeanC+5
		}
		for _, c := range []error{
			within(at+"ghi_mj_m2_d", m.GHIMJM2D, 0, 45, " MJ/m²/d"), within(at+"t_min_c", m.TMinC, -60, 50, " °C"),
			within(at+"t_max_c", m.TMaxC, m.TMinC, 60, " °C"), within(at+"rh_pct", m.RHPct, 0, 100, " %"),
			within(at+"wind_m_s", m.WindMS, 0, 40, " m/s"), within(at+"rain_mm", m.RainMM, 0, 3000, " mm"),
			within(at+"rain_days", m.RainDays, 0, 31, " d"),
		} {
			if c != nil {
				return c
			}
		}
	}
	if c := w.Constant; c != nil {
		for _, e := range []error{
			within("weather.constant.ghi_w_m2", c.GHIWM2, 0, 1500, " W/m²"), within("weather.constant.par_umol_m2_s", c.PARUmolM2S, 0, 3000, " µmol/m²/s"),
			within("weather.constant.t_air_c", c.TAirC, -60, 60, " °C"), within("weather.constant.rh_pct", c.RHPct, 0, 100, " %"),
			within("weather.constant.wind_m_s", c.WindMS, 0, 40, " m/s"), within("weather.constant.rain_mm", c.RainMM, 0, 100, " mm"),
		} {
			if e != nil {
				return e
			}
		}
	}
	return nil
}

func (f *File) checkRules() error {
	def := func(s *string, d string) {
		if *s == "" {
			*s = d
		}
	}
	def(&f.Cover.Kind, "none")
	def(&f.Cover.Vents, "shut")
	def(&f.Stirring.Kind, "continuous")
	def(&f.Harvest.Rule, "none")
	def(&f.Feed.Rule, "none")
	def(&f.Water.Rule, "none")
	if f.Harvest.Hour == nil {
		eight := 8.0
		f.Harvest.Hour = &eight
	}
	for _, e := range []error{
		oneOf("cover.kind", f.Cover.Kind, "none", "film", "tunnel"), oneOf("cover.vents", f.Cover.Vents, "shut", "half", "open"),
		within("cover.transmission", f.Cover.Transmission, 0, 1, ""),
		oneOf("stirring.kind", f.Stirring.Kind, "none", "hand", "continuous"), within("stirring.times_per_day", f.Stirring.TimesPerDay, 0, 1440, " 1/d"),
		oneOf("harvest.rule", f.Harvest.Rule, "above", "fraction", "none"), within("harvest.hour", *f.Harvest.Hour, 0, 23.99, " h"),
		oneOf("feed.rule", f.Feed.Rule, "replace", "none"), oneOf("water.rule", f.Water.Rule, "top-up", "none"),
	} {
		if e != nil {
			return e
		}
	}
	switch f.Harvest.Rule {
	case "above":
		if err := within("harvest.density_g_per_l", f.Harvest.DensityGPerL, 0.01, 20, " g/L"); err != nil {
			return err
		}
		if f.Harvest.LeaveGPerL == nil {
			leave := f.Harvest.DensityGPerL
			f.Harvest.LeaveGPerL = &leave
		}
		return within("harvest.leave_g_per_l", *f.Harvest.LeaveGPerL, 0, f.Harvest.DensityGPerL, " g/L")
	case "fraction":
		if f.Harvest.Fraction == nil {
			return bad("harvest.fraction", "harvest.fraction is missing: the share of the culture that is taken each day")
		}
		return within("harvest.fraction", *f.Harvest.Fraction, 0, 1, "")
	}
	return nil
}

// shapeNames lists the shapes for a message.
func shapeNames() string {
	var names []string
	for _, k := range farm.ShapeKinds {
		names = append(names, k.Kind)
	}
	return strings.Join(names, ", ")
}
