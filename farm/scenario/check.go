package scenario

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"sodalake/farm"
	"sodalake/farm/model"
	"sodalake/science/growth"
	"sodalake/science/medium"
)

func within(field string, x, lo, hi float64, unit string) error {
	if math.IsNaN(x) || x < lo || x > hi {
		return bad(field, "%s %g lies outside %g to %g%s", field, x, lo, hi, unit)
	}
	return nil
}

// needed is within for a number that must be there.
func needed(field string, x *float64, lo, hi float64, unit string) error {
	if x == nil {
		return bad(field, "%s is missing", field)
	}
	return within(field, *x, lo, hi, unit)
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
	if f.Weather.Constant != nil { // no sun to place
		zero := 0.0
		for _, at := range []**float64{&f.Site.LatDeg, &f.Site.LonDeg} {
			if *at == nil {
				*at = &zero
			}
		}
	}
	for _, e := range []error{
		needed("site.lat_deg", f.Site.LatDeg, -90, 90, "°"), needed("site.lon_deg", f.Site.LonDeg, -180, 180, "°"),
		within("site.elevation_m", f.Site.ElevationM, -450, 6000, " m"),
	} {
		if e != nil {
			return e
		}
	}
	return nil
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
		return bad("vessel.shape", "vessel.shape is missing or not a word: one of %s", strings.Join(shapeNames(), ", "))
	}
	kind = strings.ReplaceAll(strings.ReplaceAll(strings.ToLower(kind), " ", "_"), "-", "_")
	if other, ok := shapeWords[kind]; ok {
		kind = other
	}
	if err := oneOf("vessel.shape", kind, shapeNames()...); err != nil {
		return err
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
	if raw, ok := parts["lit"]; ok {
		if err := json.Unmarshal(raw, &f.lit); err != nil {
			return bad("vessel.lit", "vessel.lit is not a word")
		}
		if err := oneOf("vessel.lit", f.lit, farm.Lits...); err != nil {
			return err
		}
	}
	for _, k := range []string{"shape", "level_cm", "in_ground", "place", "lit"} {
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
		at := "medium.salts_g_per_l." + salt
		if err := within(at, g, 0, 400, " g/L"); err != nil {
			return err
		}
		if _, _, err := model.Water(map[string]float64{salt: g}); err != nil {
			return ofSalts(at, err)
		}
	}
	if _, _, err := model.Water(f.Medium.SaltsGPerL); err != nil {
		return ofSalts("medium.salts_g_per_l", err)
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
		if err := w.Monthly[i].check(fmt.Sprintf("weather.monthly[%d].", i)); err != nil {
			return err
		}
	}
	if w.Constant != nil {
		return w.Constant.check()
	}
	return nil
}

func (m *MonthRow) check(at string) error {
	if m.TMeanC != nil && m.TMinC == nil && m.TMaxC == nil {
		// The mean alone: a day's swing of 10 K. Common practice, no source.
		lo, hi := *m.TMeanC-5, *m.TMeanC+5
		m.TMinC, m.TMaxC = &lo, &hi
	}
	if e := needed(at+"t_min_c", m.TMinC, -60, 50, " °C"); e != nil {
		return e
	}
	for _, e := range []error{
		needed(at+"t_max_c", m.TMaxC, *m.TMinC, 60, " °C"), needed(at+"ghi_mj_m2_d", m.GHIMJM2D, 0, 45, " MJ/m²/d"),
		needed(at+"rh_pct", m.RHPct, 0, 100, " %"), needed(at+"wind_m_s", m.WindMS, 0, 40, " m/s"),
		within(at+"rain_mm", m.RainMM, 0, 3000, " mm"), within(at+"rain_days", m.RainDays, 0, 31, " d"),
	} {
		if e != nil {
			return e
		}
	}
	if m.TMeanC != nil {
		return within(at+"t_mean_c", *m.TMeanC, *m.TMinC, *m.TMaxC, " °C")
	}
	return nil
}

func (c *ConstantRow) check() error {
	const at = "weather.constant."
	if c.RHPct == nil {
		sixty := 60.0
		c.RHPct = &sixty
	}
	for _, e := range []error{
		needed(at+"t_air_c", c.TAirC, -60, 60, " °C"), needed(at+"rh_pct", c.RHPct, 0, 100, " %"),
		within(at+"ghi_w_m2", c.GHIWM2, 0, 1500, " W/m²"), within(at+"par_umol_m2_s", c.PARUmolM2S, 0, 3000, " µmol/m²/s"),
		within(at+"wind_m_s", c.WindMS, 0, 40, " m/s"), within(at+"rain_mm", c.RainMM, 0, 1000, " mm/d"),
	} {
		if e != nil {
			return e
		}
	}
	for _, o := range []struct {
		name   string
		x      *float64
		lo, hi float64
		unit   string
	}{{"photoperiod_h", c.PhotoperiodH, 0, 24, " h"}, {"pressure_hpa", c.PressureHPa, 400, 1100, " hPa"}, {"longwave_down_w_m2", c.LongwaveWM2, 50, 700, " W/m²"}} {
		if o.x != nil {
			if e := within(at+o.name, *o.x, o.lo, o.hi, o.unit); e != nil {
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

// ofSalts tells an error of the medium at its field.
func ofSalts(field string, err error) error {
	e := bad(field, "medium.%s", err.Error())
	var fe *farm.Error
	if errors.As(err, &fe) {
		e.Hint = fe.Hint
	}
	return e
}

// shapeNames are the words for shapes.
func shapeNames() []string {
	var names []string
	for _, k := range farm.ShapeKinds {
		names = append(names, k.Kind)
	}
	return names
}
