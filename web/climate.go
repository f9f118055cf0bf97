package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"sodalake/farm"
	"sodalake/keeper"
	"sodalake/science/sky"
	"sodalake/words"
)

// climatePage is the form of a place's weather through the year and of what
// stands around it.
type climatePage struct {
	Frame
	ID       string // ULID that the form carries
	HasSite  bool
	Told     bool // there are months already
	Columns  []climateColumn
	Months   []climateMonth
	SunIn    []option
	Skyline  []skylineRow
	Bad      int      // fields that cannot be read
	Problems []string // what no single field can be blamed for
}

type climateColumn struct{ Key, Label, Unit string }

type climateMonth struct {
	Name  string
	Cells []climateCell
}

type climateCell struct {
	Name, Label, Unit, Value, Bad string
}

type skylineRow struct {
	Row, Toward, Height  string
	BadToward, BadHeight string
}

// mmPerInch is exact: NIST SP 811 (2008), appendix B.8.
const mmPerInch = 25.4

// mjPerKWh is exact.
const mjPerKWh = 3.6

// sunUnits are how the sun of a month can be told, the stored one first.
var sunUnits = []string{"mj", "kwh", "hours", "hours_month"}

// climateUnit is the unit in which the form takes a key of a month.
func climateUnit(w *words.Speaker, key string) string {
	switch key {
	case "rain_mm":
		if w.Measures() == words.US {
			return "in"
		}
		return "mm"
	case "rain_days", "ghi_mj_m2_d": // the sun's is chosen above the months
		return ""
	}
	return w.UnitOf(key)
}

// climateShown is a stored value as the form shows it.
func climateShown(w *words.Speaker, key string, x float64) string {
	y := w.Shown(key, x)
	if key == "rain_mm" && w.Measures() == words.US {
		y = x / mmPerInch
	}
	return strconv.FormatFloat(roundTo(y, 4), 'f', -1, 64)
}

// climateStored is a number of the form as it is stored.
func climateStored(w *words.Speaker, site *farm.Site, key, sunIn string, month int, x float64) float64 {
	switch key {
	case "rain_mm":
		if w.Measures() == words.US {
			x *= mmPerInch
		}
	case "ghi_mj_m2_d":
		at := sky.Site{LatDeg: site.LatDeg, LonDeg: site.LonDeg, ElevationM: site.ElevationM}
		switch sunIn {
		case "kwh":
			x *= mjPerKWh
		case "hours":
			x = sky.MonthGlobal(at, month, x)
		case "hours_month":
			x = sky.MonthGlobal(at, month, x/sky.MonthDays(month))
		}
	default:
		x = w.Stored(key, x)
	}
	return roundTo(x, 5)
}

// climate shows the form.
func (s *server) climate(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	p := climatePage{Frame: frame, ID: s.newID(), HasSite: setup.HasSite, Told: len(setup.Site.Normals) == 12}
	values := url.Values{"sun_in": {"mj"}}
	for m := range setup.Site.Normals {
		for _, k := range farm.MonthKeys {
			values.Set(cellName(m, k.Key), climateShown(frame.W, k.Key, *setup.Site.Normals[m].Of(k.Key)))
		}
	}
	if !p.Told {
		values.Set("sun_in", "hours")
	}
	for i, k := range setup.Site.Skyline {
		values.Set(fmt.Sprintf("toward.%d", i+1), strconv.FormatFloat(k.AzimuthDeg, 'f', -1, 64))
		values.Set(fmt.Sprintf("height.%d", i+1), strconv.FormatFloat(k.ElevationDeg, 'f', -1, 64))
	}
	p.fill(values, len(setup.Site.Skyline)+4, nil)
	return s.views.render(w, r, http.StatusOK, "climate", p)
}

// cellName is the name of a month's field, January being 0, as errors of the
// journal name it.
func cellName(month int, key string) string { return fmt.Sprintf("normals.%d.%s", month+1, key) }

// fill puts what is known or was typed into the form, with what is wrong with it
// by the name of the field.
func (p *climatePage) fill(v url.Values, rows int, bad map[string]string) {
	w := p.W
	p.Title, p.Sheet = w.T("climate.title"), "climate.css"
	sunIn := v.Get("sun_in")
	if !slices.Contains(sunUnits, sunIn) {
		sunIn = "mj"
	}
	for _, u := range sunUnits {
		p.SunIn = append(p.SunIn, option{u, w.T("climate.sun_" + u), u == sunIn})
	}
	for _, k := range farm.MonthKeys {
		p.Columns = append(p.Columns, climateColumn{k.Key, w.T("climate." + k.Key), climateUnit(w, k.Key)})
	}
	for m := range 12 {
		month := climateMonth{Name: w.T("climate.month", "month", w.T("month."+[]string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}[m]))}
		for _, c := range p.Columns {
			name := cellName(m, c.Key)
			month.Cells = append(month.Cells, climateCell{Name: name, Label: c.Label, Unit: c.Unit, Value: v.Get(name), Bad: bad[name]})
		}
		p.Months = append(p.Months, month)
	}
	for i := range max(rows, 6) {
		n := strconv.Itoa(i + 1)
		p.Skyline = append(p.Skyline, skylineRow{Row: n, Toward: v.Get("toward." + n), Height: v.Get("height." + n), BadToward: bad["toward."+n], BadHeight: bad["height."+n]})
	}
	p.Bad = len(bad)
}

// writeClimate writes the months and the skyline down with the place. What
// cannot be read is shown at its own field, and then nothing is written.
func (s *server) writeClimate(w http.ResponseWriter, r *http.Request) error {
	frame, setup, err := s.frame(r, "farm", "")
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return formError(err)
	}
	if !setup.HasSite {
		return invalid("site", frame.W.T("setup.begin_lead"), "the place is not written down yet")
	}
	f := r.PostForm
	bad := map[string]string{}
	site := setup.Site
	site.Normals = monthsOf(f, frame.W, &site, bad)
	site.Skyline = skylineOf(f, frame.W, bad)
	if len(bad) == 0 {
		switch e := problemOf(0, keeper.NormalsFit(&site)); {
		case len(site.Normals) == 0:
		case e.Field != "":
			bad[fitField(e.Field)] = strings.TrimSuffix(e.Detail+"; "+e.Hint, "; ")
		}
	}
	if len(bad) == 0 {
		err = s.writeSiteAs(r, f.Get("id"), site)
		if err == nil {
			http.Redirect(w, r, "/farm?said=saved", http.StatusSeeOther)
			return nil
		}
		e, ok := err.(*farm.Error)
		if !ok || e.Code != farm.Invalid {
			return err
		}
		bad[strings.TrimPrefix(e.Field, "body.")] = e.Message
	}
	p := climatePage{Frame: frame, ID: f.Get("id"), HasSite: true, Told: len(setup.Site.Normals) == 12}
	p.fill(f, skylineRows(f), bad)
	for field, text := range bad {
		if !p.shows(field) {
			p.Problems = append(p.Problems, text)
		}
	}
	slices.Sort(p.Problems)
	return s.views.render(w, r, http.StatusUnprocessableEntity, "climate", p)
}

// shows tells whether the form has a field of that name.
func (p *climatePage) shows(field string) bool {
	for _, m := range p.Months {
		for _, c := range m.Cells {
			if c.Name == field {
				return true
			}
		}
	}
	return strings.HasPrefix(field, "toward.") || strings.HasPrefix(field, "height.")
}

// fitField turns a field of science, counted from 0, into one of the journal.
func fitField(field string) string {
	var month int
	var key string
	if n, _ := fmt.Sscanf(field, "monthly[%d].%s", &month, &key); n == 2 {
		return cellName(month, key)
	}
	return field
}

// writeSiteAs writes the place down as it is to be from now on.
func (s *server) writeSiteAs(r *http.Request, id string, site farm.Site) error {
	body := map[string]any{}
	raw, err := json.Marshal(site)
	if err != nil {
		return err
	}
	if err := json.Unmarshal(raw, &body); err != nil {
		return err
	}
	delete(body, "since")
	return s.describe(r, "site", id, body)
}

// monthsOf reads the months of the form: all of them, or none where every field
// is empty. bad takes what is wrong by the name of the field.
func monthsOf(f url.Values, w *words.Speaker, site *farm.Site, bad map[string]string) []farm.Month {
	typed := 0
	for m := range 12 {
		for _, k := range farm.MonthKeys {
			if strings.TrimSpace(f.Get(cellName(m, k.Key))) != "" {
				typed++
			}
		}
	}
	if typed == 0 {
		return nil
	}
	out := make([]farm.Month, 12)
	for m := range out {
		for _, k := range farm.MonthKeys {
			name := cellName(m, k.Key)
			text := strings.TrimSpace(f.Get(name))
			if text == "" {
				bad[name] = w.T("climate.missing")
				continue
			}
			x, err := plainNumber(k.Key, text)
			if err != nil {
				bad[name] = w.T("climate.no_number")
				continue
			}
			x = climateStored(w, site, k.Key, f.Get("sun_in"), m, x)
			if !k.Hard.Holds(x) {
				bad[name] = w.T("climate.outside", "low", climateShown(w, k.Key, k.Hard.Lo), "high", climateShown(w, k.Key, k.Hard.Hi))
				continue
			}
			*out[m].Of(k.Key) = x
		}
		low := cellName(m, "t_min_c")
		if bad[low] == "" && bad[cellName(m, "t_max_c")] == "" && out[m].TMinC > out[m].TMaxC {
			bad[low] = w.T("climate.crossed")
		}
	}
	return out
}

// skylineRows is how many rows of the skyline a form carries.
func skylineRows(f url.Values) int {
	n := 0
	for n < 360 && f.Has(fmt.Sprintf("toward.%d", n+1)) {
		n++
	}
	return n
}

// skylineOf reads the skyline of the form, in whatever order it was typed.
func skylineOf(f url.Values, w *words.Speaker, bad map[string]string) []farm.SkylineAt {
	var out []farm.SkylineAt
	rowOf := map[float64]string{}
	for i := range skylineRows(f) {
		n := strconv.Itoa(i + 1)
		toward, height := strings.TrimSpace(f.Get("toward."+n)), strings.TrimSpace(f.Get("height."+n))
		if toward == "" && height == "" {
			continue
		}
		az, ok := azimuthOf(toward)
		if !ok {
			bad["toward."+n] = w.T("skyline.no_direction")
		}
		high, err := plainNumber("height", strings.TrimSuffix(height, "°"))
		if err != nil || high < 0 || high > 90 {
			bad["height."+n] = w.T("skyline.no_height")
		}
		if !ok || bad["height."+n] != "" {
			continue
		}
		if other := rowOf[az]; other != "" {
			bad["toward."+n] = w.T("skyline.twice", "row", other)
			continue
		}
		rowOf[az] = n
		out = append(out, farm.SkylineAt{AzimuthDeg: az, ElevationDeg: high})
	}
	slices.SortFunc(out, func(a, b farm.SkylineAt) int {
		if a.AzimuthDeg < b.AzimuthDeg {
			return -1
		}
		return 1
	})
	return out
}

// compass are the sixteen points, clockwise from north.
var compass = []string{"n", "nne", "ne", "ene", "e", "ese", "se", "sse", "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw"}

// azimuthOf reads a direction: degrees from north, clockwise, or a point of the
// compass.
func azimuthOf(text string) (deg float64, ok bool) {
	if i := slices.Index(compass, strings.ToLower(text)); i >= 0 {
		return 22.5 * float64(i), true
	}
	x, err := plainNumber("toward", strings.TrimSuffix(text, "°"))
	return x, err == nil && x >= 0 && x <= 360
}
